package smsctest

import (
	"fmt"
	"net"
	"strconv"
	"sync"
	"time"

	"example.org/roundsman/notify/sms/smpp"
)

// session is one link of the center.
type session struct {
	c     *Center
	conn  net.Conn
	bound bool // under c.mu

	mu      sync.Mutex
	next    uint32
	waiting map[uint32]chan smpp.Status
}

func (s *session) serve() {
	defer func() {
		s.c.mu.Lock()
		delete(s.c.links, s)
		s.c.mu.Unlock()
		_ = s.conn.Close()
	}()
	for {
		p, err := smpp.ReadPDU(s.conn, 0)
		if err != nil {
			return
		}
		switch p.Command {
		case smpp.BindTransceiver, smpp.BindReceiver, smpp.BindTransmitter:
			s.bind(p)
		case smpp.SubmitSM:
			if !s.submit(p) {
				return
			}
		case smpp.QuerySM:
			s.query(p)
		case smpp.EnquireLink:
			if !s.c.current().NoEnquire {
				s.reply(p, smpp.StatusOK, nil)
			}
		case smpp.Unbind:
			s.reply(p, smpp.StatusOK, nil)
			return
		default:
			s.response(p)
		}
	}
}

func (s *session) bind(p smpp.PDU) {
	b, err := smpp.DecodeBind(p.Body)
	plan := s.c.current()
	switch {
	case err != nil:
		s.reply(p, smpp.StatusBindFailed, nil)
		return
	case plan.Password != "" && b.Password != plan.Password:
		s.reply(p, smpp.StatusPassword, nil)
		return
	}
	s.c.mu.Lock()
	s.bound = true
	s.c.binds++
	s.c.mu.Unlock()
	s.reply(p, smpp.StatusOK, smpp.IDBody("testcenter"))
}

// submit handles one submit_sm; false when the plan has the link cut.
func (s *session) submit(p smpp.PDU) bool {
	m, err := smpp.DecodeMessage(p.Body)
	if err != nil {
		s.reply(p, smpp.StatusMessageLength, nil)
		return true
	}
	plan := s.c.current()
	status, throttled := smpp.StatusOK, s.c.throttle(plan.Rate)
	switch {
	case !s.isBound():
		status = smpp.StatusBindState
	case throttled:
		status = smpp.StatusThrottled
	case plan.Status != nil:
		status = plan.Status(m)
	}
	if status != smpp.StatusOK {
		s.later(plan, m, func() { s.reply(p, status, nil) })
		return true
	}
	id, n := s.c.take(m)
	if plan.Receipts && m.Registered&0x03 == 1 {
		s.c.work.Go(func() {
			time.Sleep(plan.ReceiptDelay)
			s.receipt(plan, id, m)
		})
	}
	if plan.DropAfter > 0 && n%plan.DropAfter == 0 {
		return false
	}
	if !plan.Mute {
		s.later(plan, m, func() { s.reply(p, smpp.StatusOK, smpp.IDBody(id)) })
	}
	return true
}

func (s *session) isBound() bool {
	s.c.mu.Lock()
	defer s.c.mu.Unlock()
	return s.bound
}

// later runs f at once, or after the plan's delay beside the other requests.
func (s *session) later(plan Plan, m smpp.Message, f func()) {
	if plan.Delay == nil {
		f()
		return
	}
	d := plan.Delay(m)
	s.c.work.Go(func() {
		time.Sleep(d)
		f()
	})
}

// throttle counts a submit and says whether it is one too many this second.
func (c *Center) throttle(rate int) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.submits++
	if rate <= 0 {
		return false
	}
	if c.recent >= rate {
		return true
	}
	c.recent++
	time.AfterFunc(time.Second, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.recent--
	})
	return false
}

// take accepts a message.
func (c *Center) take(m smpp.Message) (id string, n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.number++
	id = strconv.FormatUint(c.number, 16)
	c.taken = append(c.taken, Taken{ID: id, Message: m})
	return id, len(c.taken)
}

func (s *session) query(p smpp.PDU) {
	q, err := smpp.DecodeQuery(p.Body)
	if err != nil {
		s.reply(p, smpp.StatusMessageLength, nil)
		return
	}
	for _, t := range s.c.Taken() {
		if t.ID == q.ID {
			body, err := smpp.QueryResult{ID: q.ID, State: stateOf(s.c.current())}.Encode()
			if err != nil {
				s.reply(p, smpp.StatusSystemError, nil)
				return
			}
			s.reply(p, smpp.StatusOK, body)
			return
		}
	}
	s.reply(p, smpp.StatusQueryFailed, nil)
}

func stateOf(plan Plan) smpp.State {
	if plan.State == 0 {
		return smpp.StateDelivered
	}
	return plan.State
}

// receipt sends the fate of a message, over this link or another.
func (s *session) receipt(plan Plan, id string, m smpp.Message) {
	words := map[smpp.State]string{smpp.StateDelivered: "DELIVRD", smpp.StateUndeliverable: "UNDELIV",
		smpp.StateExpired: "EXPIRED", smpp.StateRejected: "REJECTD"}
	shown := id
	if plan.IDs == DecimalInText {
		if n, err := strconv.ParseUint(id, 16, 64); err == nil {
			shown = fmt.Sprintf("%010d", n)
		}
	}
	state := stateOf(plan)
	r := smpp.Message{Source: m.Dest, Dest: m.Source, ESMClass: smpp.ESMReceipt,
		Short: []byte("id:" + shown + " sub:001 dlvrd:001 submit date:2611250830 done date:2611250831 stat:" +
			words[state] + " err:000 text:.")}
	if plan.IDs == SameIDs {
		r.TLVs = smpp.TLVs{smpp.TextTLV(smpp.TagReceiptedMessageID, id),
			smpp.Uint8TLV(smpp.TagMessageState, byte(state))}
	}
	if ref, ok := m.TLVs.Uint(smpp.TagUserMessageReference); ok {
		r.TLVs = append(r.TLVs, smpp.Uint16TLV(smpp.TagUserMessageReference, uint16(ref)))
	}
	// A center offers a receipt again until it is taken.
	for range 50 {
		if st, err := s.c.Send(r, time.Second); err == nil && st == smpp.StatusOK {
			return
		}
		s.c.mu.Lock()
		closed := s.c.closed
		s.c.mu.Unlock()
		if closed {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func (s *session) reply(p smpp.PDU, status smpp.Status, body []byte) {
	s.write(smpp.PDU{Command: p.Command.Response(), Status: status, Sequence: p.Sequence, Body: body})
}

func (s *session) write(p smpp.PDU) {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, _ = s.conn.Write(p.Append(nil)) // a lost link shows at the next read
}

func (s *session) ask(p smpp.PDU, patience time.Duration) (smpp.Status, error) {
	answer := make(chan smpp.Status, 1)
	s.mu.Lock()
	s.next++
	p.Sequence = s.next
	s.waiting[p.Sequence] = answer
	s.mu.Unlock()
	s.write(p)
	select {
	case st := <-answer:
		return st, nil
	case <-time.After(patience):
		return 0, fmt.Errorf("no answer to %s", p.Command)
	}
}

func (s *session) response(p smpp.PDU) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if ch := s.waiting[p.Sequence]; ch != nil {
		delete(s.waiting, p.Sequence)
		ch <- p.Status
	}
}
