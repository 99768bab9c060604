package smpp

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"sync"
	"time"

	"example.org/roundsman/models"
)

// Errors of a session.
var (
	// errNotSent is given for a request of which the peer can have got no
	// whole PDU: it was certainly not taken.
	errNotSent = errors.New("the request was not sent")
	// ErrNoAnswer is given for a request that went out and whose answer never
	// came: it may have been taken.
	ErrNoAnswer = errors.New("the request was sent and no answer came")
	// errLinkLost is the end of a session that nobody asked for.
	errLinkLost = errors.New("the link to the message center was lost")
)

// link is one connection to a center, from bind to unbind.
type link struct {
	conn     net.Conn
	clock    models.Clock
	limit    int           // longest PDU taken
	patience time.Duration // for an answer, and for a write

	writeMu sync.Mutex

	mu      sync.Mutex
	next    uint32
	waiting map[uint32]chan PDU
	late    map[uint32]func(PDU) // answers that came after their time
	heard   time.Time
	err     error         // why the link ended
	done    chan struct{} // closed when it ended

	incoming func(*link, PDU) // requests of the peer; must not block
	onEnd    func()           // called once, before those who wait are woken
}

func newLink(conn net.Conn, clock models.Clock, limit int, patience time.Duration, incoming func(*link, PDU)) *link {
	return &link{
		conn: conn, clock: clock, limit: limit, patience: patience, incoming: incoming, onEnd: func() {},
		waiting: map[uint32]chan PDU{}, late: map[uint32]func(PDU){},
		heard: clock.Now(), done: make(chan struct{}),
	}
}

// read takes PDUs off the connection until it ends, and hands answers to
// those who wait for them.
func (l *link) read() {
	for {
		p, err := ReadPDU(l.conn, l.limit)
		if err != nil {
			if errors.Is(err, errLength) {
				// Where the next PDU begins can no longer be known: say so and go.
				_ = l.write(PDU{Command: GenericNack, Status: StatusCommandLength})
			}
			l.fail(fmt.Errorf("%w: %w", errLinkLost, err))
			return
		}
		l.mu.Lock()
		l.heard = l.clock.Now()
		var wait chan PDU
		var late func(PDU)
		if p.Command.IsResponse() {
			wait, late = l.waiting[p.Sequence], l.late[p.Sequence]
			delete(l.waiting, p.Sequence)
			delete(l.late, p.Sequence)
		}
		l.mu.Unlock()
		switch {
		case wait != nil:
			wait <- p // has room for one
		case late != nil:
			late(p)
		case !p.Command.IsResponse():
			l.incoming(l, p)
		}
	}
}

// fail ends the link, once; those who wait are woken by done.
func (l *link) fail(err error) {
	l.mu.Lock()
	first := l.err == nil
	if first {
		l.err = err
	}
	l.mu.Unlock()
	if !first {
		return
	}
	l.onEnd()
	_ = l.conn.Close() // the link is over either way
	close(l.done)
}

// lastHeard gives when anything came from the peer last.
func (l *link) lastHeard() time.Time {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.heard
}

// cause gives why the link ended, nil while it stands.
func (l *link) cause() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.err
}

// write sends one PDU whole. An error means that not all of it left.
func (l *link) write(p PDU) error {
	l.writeMu.Lock()
	defer l.writeMu.Unlock()
	if err := l.conn.SetWriteDeadline(l.clock.Now().Add(l.patience)); err != nil {
		return err
	}
	_, err := l.conn.Write(p.Append(nil))
	return err
}

// ask sends a request and waits for its answer: until the context ends or
// the link's patience does. The error is errNotSent or ErrNoAnswer (with
// its cause) or a *StatusError. The function late, where given, gets the
// answer that comes when nobody waits for it any more.
func (l *link) ask(ctx context.Context, cmd Command, body []byte, late func(PDU)) (PDU, error) {
	if err := ctx.Err(); err != nil {
		return PDU{}, fmt.Errorf("%w: %w", errNotSent, err)
	}
	wait := make(chan PDU, 1)
	l.mu.Lock()
	if l.err != nil {
		l.mu.Unlock()
		<-l.done
		return PDU{}, fmt.Errorf("%w: %w", errNotSent, l.cause())
	}
	seq := l.freeSequence()
	l.waiting[seq] = wait
	l.mu.Unlock()

	if err := l.write(PDU{Command: cmd, Sequence: seq, Body: body}); err != nil {
		l.forget(seq, nil)
		l.fail(fmt.Errorf("%w: %w", errLinkLost, err))
		<-l.done
		return PDU{}, fmt.Errorf("%w: %w", errNotSent, err)
	}
	patience := time.NewTimer(l.patience)
	defer patience.Stop()
	select {
	case p := <-wait:
		return l.answer(cmd, p)
	case <-ctx.Done():
		return l.giveUp(cmd, seq, wait, late, ctx.Err())
	case <-patience.C:
		return l.giveUp(cmd, seq, wait, late, context.DeadlineExceeded)
	case <-l.done:
		return l.giveUp(cmd, seq, wait, nil, l.cause())
	}
}

// giveUp takes an answer that came at the last moment, or leaves the request.
func (l *link) giveUp(cmd Command, seq uint32, wait chan PDU, late func(PDU), cause error) (PDU, error) {
	l.forget(seq, late)
	select {
	case p := <-wait:
		return l.answer(cmd, p)
	default:
		return PDU{}, fmt.Errorf("%w: %w", ErrNoAnswer, cause)
	}
}

func (l *link) answer(cmd Command, p PDU) (PDU, error) {
	switch {
	case p.Status != StatusOK:
		return p, &StatusError{Command: cmd, Status: p.Status}
	case p.Command != cmd.Response():
		l.fail(fmt.Errorf("%w: %s was answered by %s", errLinkLost, cmd, p.Command))
		return p, fmt.Errorf("%w: answered by %s", ErrNoAnswer, p.Command)
	}
	return p, nil
}

// maxLate bounds the requests whose late answers are remembered.
const maxLate = 1000

func (l *link) forget(seq uint32, late func(PDU)) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if _, waits := l.waiting[seq]; waits && late != nil && len(l.late) < maxLate {
		l.late[seq] = late
	}
	delete(l.waiting, seq)
}

// freeSequence gives the next number that no request uses; l.mu is held.
func (l *link) freeSequence() uint32 {
	for {
		l.next = l.next%maxSequence + 1
		if _, used := l.waiting[l.next]; !used && l.late[l.next] == nil {
			return l.next
		}
	}
}

// keepAlive asks for a sign of life when nothing was heard for the given
// time, and ends the link when none comes (section 4.11).
func (l *link) keepAlive(ctx context.Context, every time.Duration) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-l.done:
			return
		case <-tick.C:
		}
		l.mu.Lock()
		quiet := l.clock.Now().Sub(l.heard)
		l.mu.Unlock()
		if quiet < every/2 {
			continue
		}
		if _, err := l.ask(ctx, EnquireLink, nil, nil); errors.Is(err, ErrNoAnswer) && ctx.Err() == nil {
			l.fail(fmt.Errorf("%w: no sign of life: %w", errLinkLost, err))
			return
		}
	}
}

// close takes leave of the peer (section 4.2) and ends the link.
func (l *link) close(ctx context.Context) {
	_, _ = l.ask(ctx, Unbind, nil, nil) // the link ends either way
	l.fail(io.EOF)
}
