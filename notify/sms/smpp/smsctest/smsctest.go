// Package smsctest is a short message center for tests: a server on loopback
// that speaks SMPP 3.4 and misbehaves as told. It is never linked into the
// program.
package smsctest

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"sync"
	"testing"
	"time"

	"example.org/roundsman/notify/sms/smpp"
)

// IDStyle says how the center writes message ids in its receipts, whose
// answers give them in lower-case hexadecimal.
type IDStyle int

// Styles.
const (
	SameIDs       IDStyle = iota // the same id in the parameter 0x001E
	TextIDs                      // the same id in the receipt's text only
	DecimalInText                // in the text only, written in decimal
)

// Plan says how the center behaves. The zero Plan takes everything at once.
type Plan struct {
	Password string      // wanted at bind; "" takes any
	TLS      *tls.Config // nil: none

	Status    func(m smpp.Message) smpp.Status   // answer to a submit; nil: StatusOK
	Delay     func(m smpp.Message) time.Duration // before the answer; answers may so change order
	Rate      int                                // submits a second; more are throttled; 0: no bound
	DropAfter int                                // the link is cut after each so many taken submits, unanswered; 0: never
	Mute      bool                               // submits are taken and never answered

	Receipts     bool
	ReceiptDelay time.Duration
	State        smpp.State // what receipts report; 0: delivered
	IDs          IDStyle
	NoEnquire    bool // signs of life are not answered
}

// Taken is a message that the center accepted.
type Taken struct {
	ID      string
	Message smpp.Message
}

// Center is a running center.
type Center struct {
	Addr string

	ln   net.Listener
	work sync.WaitGroup

	mu      sync.Mutex
	plan    Plan
	taken   []Taken
	links   map[*session]bool
	number  uint64
	submits int
	binds   int
	recent  int // submits taken within the last second
	closed  bool
}

// Start starts a center that ends with the test.
func Start(t testing.TB, plan Plan) *Center {
	t.Helper()
	c, err := New(plan)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// New starts a center on a free port of 127.0.0.1.
func New(plan Plan) (*Center, error) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("test center: %w", err)
	}
	addr := ln.Addr().String()
	if plan.TLS != nil {
		ln = tls.NewListener(ln, plan.TLS)
	}
	c := &Center{Addr: addr, ln: ln, plan: plan, links: map[*session]bool{}, number: 0x1A2B3C00}
	c.work.Go(c.accept)
	return c, nil
}

// Close cuts all links and ends the center.
func (c *Center) Close() {
	c.mu.Lock()
	c.closed = true
	c.mu.Unlock()
	_ = c.ln.Close()
	c.Cut()
	c.work.Wait()
}

// Cut cuts every link; clients may come back.
func (c *Center) Cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for s := range c.links {
		_ = s.conn.Close()
	}
}

// Change changes the plan from now on.
func (c *Center) Change(f func(*Plan)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	f(&c.plan)
}

// Taken lists the messages accepted so far.
func (c *Center) Taken() []Taken {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]Taken(nil), c.taken...)
}

// Counts gives how many binds succeeded and how many submits came, taken or
// not.
func (c *Center) Counts() (binds, submits int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.binds, c.submits
}

// Bound says how many links are bound.
func (c *Center) Bound() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := 0
	for s := range c.links {
		if s.bound {
			n++
		}
	}
	return n
}

// ErrNoLink is given where nobody is bound.
var ErrNoLink = errors.New("nobody is bound to the test center")

// Send sends a message to the bound client and gives the status of its
// answer.
func (c *Center) Send(m smpp.Message, patience time.Duration) (smpp.Status, error) {
	body, err := m.Encode()
	if err != nil {
		return 0, err
	}
	return c.SendPDU(smpp.PDU{Command: smpp.DeliverSM, Body: body}, patience)
}

// SendPDU sends any request to the bound client and gives the status of its
// answer.
func (c *Center) SendPDU(p smpp.PDU, patience time.Duration) (smpp.Status, error) {
	s := c.anyLink()
	if s == nil {
		return 0, ErrNoLink
	}
	return s.ask(p, patience)
}

func (c *Center) anyLink() *session {
	c.mu.Lock()
	defer c.mu.Unlock()
	for s := range c.links {
		if s.bound {
			return s
		}
	}
	return nil
}

func (c *Center) accept() {
	for {
		conn, err := c.ln.Accept()
		if err != nil {
			return
		}
		s := &session{c: c, conn: conn, waiting: map[uint32]chan smpp.Status{}}
		c.mu.Lock()
		if c.closed {
			c.mu.Unlock()
			_ = conn.Close()
			return
		}
		c.links[s] = true
		c.mu.Unlock()
		c.work.Go(s.serve)
	}
}

func (c *Center) current() Plan {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.plan
}
