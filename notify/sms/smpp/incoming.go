package smpp

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"golang.org/x/text/encoding/charmap"

	"example.org/roundsman/notify/message/gsm"
)

// Values of data_coding (section 5.2.19).
const (
	codingDefault  = 0x00
	codingIA5      = 0x01
	codingOctets   = 0x02
	codingLatin1   = 0x03
	codingOctets2  = 0x04
	codingCyrillic = 0x06
	codingHebrew   = 0x07
	codingUCS2     = 0x08
)

// Incoming is a text that came in, whole or, where the rest never came, what
// there is of it.
type Incoming struct {
	ID       string // of this offer of it: another text with the same words has another
	From, To string // E.164 with the plus where the center says enough
	Text     string
	Binary   bool // not a text; Text is then empty
	Partial  bool // parts are missing; each gap reads "[...]"
}

// LateAnswer is the center's answer to a submit that had already ended in
// doubt.
type LateAnswer struct {
	Key    string // of the Text
	PeerID string
	Status Status
	Last   bool // it is the text's last part, whose receipt stands for all
}

// Handler takes what comes in. Each method returns nil only when the thing
// is safely stored; an error makes the center offer it again later (but for
// late answers, which come once). The same thing may come twice.
type Handler interface {
	Incoming(context.Context, Incoming) error
	Receipt(context.Context, Receipt) error
	Late(context.Context, LateAnswer) error
}

// inboxRoom bounds the requests of the center that wait to be handled.
const inboxRoom = 256

// inbox takes the center's requests off the link's reader, so that answers
// to our own never wait for a handler.
type inbox struct {
	c     *Client
	name  string // of the link, by chance
	queue chan PDU

	answered []offered // the last ones, nothing was heard from the center since
}

// offered is a text that was stored and answered.
type offered struct {
	from Address
	body string
	id   string
	at   time.Time // just before the answer
}

// keptOffers is how long the center may take to offer again what it got no
// answer for.
const keptOffers = 10 * time.Minute

func newInbox(c *Client) *inbox {
	return &inbox{c: c, name: rand.Text()[:16], queue: make(chan PDU, inboxRoom)}
}

// doubt remembers what was answered on a link that was lost before anything
// more was heard: the center may offer it once more.
func (c *Client) doubt(answered []offered, heard time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, o := range answered {
		if !o.at.Before(heard) {
			c.unsure[o.from] = append(c.unsure[o.from], o)
		}
	}
}

// again gives the id of a text that is offered once more after its link was
// lost; "" for a new one. A sender's first text that is none ends the doubt
// about him.
func (c *Client) again(from Address, body string) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, o := range c.unsure[from] {
		if o.body == body && c.cfg.Clock.Now().Sub(o.at) < keptOffers {
			c.unsure[from] = slices.Delete(c.unsure[from], i, i+1)
			return o.id
		}
	}
	delete(c.unsure, from)
	return ""
}

// take is called by the link's reader for each request of the peer.
func (in *inbox) take(l *link, p PDU) {
	switch p.Command {
	case EnquireLink:
		in.answer(l, p, StatusOK)
	case Unbind:
		in.answer(l, p, StatusOK)
		l.fail(fmt.Errorf("%w: the center took leave", errLinkLost))
	case DeliverSM, DataSM:
		select {
		case in.queue <- p:
		default:
			in.answer(l, p, StatusTemporary)
		}
	case AlertNotification: // has no answer (section 4.12)
	default:
		_ = l.write(PDU{Command: GenericNack, Status: StatusCommandID, Sequence: p.Sequence})
	}
}

func (in *inbox) answer(l *link, p PDU, s Status) {
	resp := PDU{Command: p.Command.Response(), Status: s, Sequence: p.Sequence}
	if p.Command == DeliverSM || p.Command == DataSM {
		resp.Body = IDBody("") // message_id is unused here and must be empty (section 4.6.2)
	}
	if err := l.write(resp); err != nil {
		l.fail(fmt.Errorf("%w: %w", errLinkLost, err))
	}
}

// work handles the requests one after the other, and now and then looks for
// texts whose other parts never came.
func (in *inbox) work(ctx context.Context, l *link) {
	tick := time.NewTicker(max(in.c.cfg.PartsWait/4, time.Millisecond))
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-l.done:
			return
		case <-tick.C:
			if err := in.c.sweep(ctx); err != nil {
				in.c.cfg.Log.Warn("parts of incoming texts", "err", err)
			}
		case p := <-in.queue:
			in.handle(ctx, l, p)
		}
	}
}

func (in *inbox) handle(ctx context.Context, l *link, p PDU) {
	decode := DecodeMessage
	if p.Command == DataSM {
		decode = decodeData
	}
	m, err := decode(p.Body)
	if err != nil {
		in.c.cfg.Log.Warn("unreadable message from the text message center", "err", err)
		in.answer(l, p, StatusBadTLVs)
		return
	}
	o := offered{from: m.Source, body: string(p.Body), id: in.c.again(m.Source, string(p.Body))}
	if o.id == "" {
		o.id = fmt.Sprintf("%s-%d", in.name, p.Sequence)
	}
	if err := in.c.deliver(ctx, m, o.id); err != nil {
		in.c.cfg.Log.Warn("incoming message not stored", "err", err)
		in.answer(l, p, StatusTemporary)
		return
	}
	heard := l.lastHeard()
	// Before it is written: what the center sends once it has the answer may be
	// heard before this goroutine goes on, and shows that it has it.
	o.at = in.c.cfg.Clock.Now()
	in.answer(l, p, StatusOK)
	in.answered = append(slices.DeleteFunc(in.answered, func(o offered) bool { return o.at.Before(heard) }), o)
}

// deliver hands a message with an id to the handler: as a receipt, as a text, or kept
// as a part until the others are there.
func (c *Client) deliver(ctx context.Context, m Message, id string) error {
	from, to := m.Source.Number(c.cfg.Country), m.Dest.Number(c.cfg.Country)
	data := m.UserData()
	concat, split := sar(m.TLVs)
	if m.ESMClass&ESMHeader != 0 {
		h, ok, body, err := gsm.ParseHeader(data)
		if err == nil {
			data = body
		}
		if ok {
			concat, split = h, true
		}
	}
	if !split {
		text, ok := c.text(m.DataCoding, data)
		if r, is := receiptOf(m, text, from); is {
			return c.handler.Receipt(ctx, r)
		}
		return c.handler.Incoming(ctx, Incoming{ID: id, From: from, To: to, Text: text, Binary: !ok})
	}
	f := Fragment{
		FragmentKey: FragmentKey{From: from, To: to, Ref: concat.Ref, Wide: concat.Wide, Total: int(concat.Total)},
		Seq:         int(concat.Seq), Coding: m.DataCoding, Data: data, At: c.cfg.Clock.Now(),
	}
	if err := c.cfg.Fragments.Keep(ctx, f); err != nil {
		return fmt.Errorf("keeping a part: %w", err)
	}
	all, err := c.cfg.Fragments.All(ctx)
	if err != nil {
		return fmt.Errorf("reading parts: %w", err)
	}
	if set := byKey(all)[f.FragmentKey]; len(set) == f.Total {
		return c.complete(ctx, set, id)
	}
	return nil
}

// sar reads the concatenation that some centers give in parameters instead of
// a header (sections 5.3.2.22 to 5.3.2.24).
func sar(ts TLVs) (gsm.Concat, bool) {
	ref, ok1 := ts.Uint(TagSARMsgRefNum)
	total, ok2 := ts.Uint(TagSARTotalSegments)
	seq, ok3 := ts.Uint(TagSARSegmentSeqnum)
	if !ok1 || !ok2 || !ok3 || total < 1 || total > gsm.MaxParts || seq < 1 || seq > total {
		return gsm.Concat{}, false
	}
	return gsm.Concat{Ref: uint16(ref), Wide: true, Total: uint8(total), Seq: uint8(seq)}, true
}

// byKey gathers parts into texts, each in order and each number once.
func byKey(all []Fragment) map[FragmentKey][]Fragment {
	out := map[FragmentKey][]Fragment{}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Seq < all[j].Seq })
	for _, f := range all {
		set := out[f.FragmentKey]
		if n := len(set); n == 0 || set[n-1].Seq != f.Seq {
			out[f.FragmentKey] = append(set, f)
		}
	}
	return out
}

// complete joins the parts of a text, hands it on and forgets the parts.
func (c *Client) complete(ctx context.Context, set []Fragment, id string) error {
	in := Incoming{ID: id, From: set[0].From, To: set[0].To}
	var text strings.Builder
	next := 1
	for i := 0; i < len(set); {
		if set[i].Seq != next {
			text.WriteString("[...]")
			in.Partial = true
		}
		// Neighbors are joined before they are read: a careless sender may have
		// cut a pair or an escape in two.
		var data []byte
		j := i
		for ; j < len(set) && set[j].Coding == set[i].Coding && set[j].Seq == set[i].Seq+j-i; j++ {
			data = append(data, set[j].Data...)
		}
		s, ok := c.text(set[i].Coding, data)
		in.Binary = in.Binary || !ok
		text.WriteString(s)
		next = set[j-1].Seq + 1
		i = j
	}
	if next <= set[0].Total {
		text.WriteString("[...]")
		in.Partial = true
	}
	in.Text = text.String()
	if err := c.handler.Incoming(ctx, in); err != nil {
		return err
	}
	return c.cfg.Fragments.Forget(ctx, set[0].FragmentKey)
}

// sweep hands on texts whose last part came longer than PartsWait ago, as far
// as they came.
func (c *Client) sweep(ctx context.Context) error {
	all, err := c.cfg.Fragments.All(ctx)
	if err != nil || len(all) == 0 {
		return err
	}
	var errs []error
	for _, set := range byKey(all) {
		newest := set[0].At
		for _, f := range set {
			if f.At.After(newest) {
				newest = f.At
			}
		}
		if c.cfg.Clock.Now().Sub(newest) >= c.cfg.PartsWait || len(set) == set[0].Total {
			errs = append(errs, c.complete(ctx, set, rand.Text()))
		}
	}
	return errors.Join(errs...)
}

// text reads octets by their data_coding; false where they are no text.
func (c *Client) text(coding byte, data []byte) (string, bool) {
	if coding&0xF0 == 0xF0 { // GSM message class: bit 2 tells octets from septets
		coding = codingDefault | coding&0x04
	}
	switch coding {
	case codingIA5:
		if !c.cfg.IA5IsGSM && printable(data) {
			return string(data), true
		}
		return gsm.Decode(data), true
	case codingLatin1:
		s, err := charmap.ISO8859_1.NewDecoder().Bytes(data)
		return string(s), err == nil
	case codingCyrillic:
		s, err := charmap.ISO8859_5.NewDecoder().Bytes(data)
		return string(s), err == nil
	case codingHebrew:
		s, err := charmap.ISO8859_8.NewDecoder().Bytes(data)
		return string(s), err == nil
	case codingUCS2:
		return gsm.DecodeUCS2(data), true
	case codingOctets, codingOctets2:
		return "", false
	default:
		return gsm.Decode(data), true
	}
}

// printable says whether octets can be plain ASCII text; IA5 in which control
// codes stand is GSM septets under a wrong name.
func printable(data []byte) bool {
	return bytes.IndexFunc(data, func(r rune) bool {
		return r > '~' || r < ' ' && r != '\n' && r != '\r' && r != '\t'
	}) < 0
}

// lateAnswer hands on an answer that came after its submit had ended in
// doubt. It runs beside the link's reader, which must not wait; Run waits for
// it.
func (c *Client) lateAnswer(key string, part, parts int, p PDU) {
	id, err := decodeID(p.Body)
	if err != nil {
		id = ""
	}
	if p.Status == StatusOK {
		c.keepTaken(key, part+1, parts)
	}
	c.background.Go(func() {
		ctx, cancel := context.WithTimeout(context.Background(), c.cfg.Patience)
		defer cancel()
		late := LateAnswer{Key: key, PeerID: id, Status: p.Status, Last: part+1 == parts}
		if err := c.handler.Late(ctx, late); err != nil {
			c.cfg.Log.Warn("late answer not stored", "key", key, "err", err)
		}
	})
}
