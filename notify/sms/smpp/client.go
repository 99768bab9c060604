package smpp

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"sync"
	"time"

	"example.org/roundsman/models"
)

// Config says how to reach a center and how to treat it. Zero durations and
// counts take the default given beside them.
type Config struct {
	Addr       string      // host:port
	TLS        *tls.Config // nil: no TLS
	SystemID   string      // the account, at most 15 octets
	Password   string      // at most 8 octets
	SystemType string      // at most 12 octets, often empty
	Source     string      // sender of our texts: +number, short code or up to 11 letters
	Country    string      // calling code put before national numbers that come in: "1"

	Window       int           // requests under way at once; 10
	MaxRate      float64       // texts a second, 0: as fast as the center takes them
	Patience     time.Duration // for an answer; 30 s
	BindWait     time.Duration // how long a submit waits for a session; 10 s
	EnquireEvery time.Duration // silence after which a sign of life is asked; 30 s
	BackoffFirst time.Duration // before the second connection try; 1 s, doubled each time
	BackoffMost  time.Duration // longest wait between tries; 2 min
	RefusedFirst time.Duration // before the next try after a refused log-in; 1 min, doubled each time
	RefusedMost  time.Duration // longest wait after a refused log-in; 1 h
	PartsWait    time.Duration // how long parts of an incoming text wait for the rest; 15 min
	Validity     time.Duration // how long the center tries to deliver; 0: the center's own

	Receipts  bool      // ask for a receipt
	IA5IsGSM  bool      // data_coding 1 holds GSM septets, as some centers send
	Fragments Fragments // keeps parts of incoming texts; nil: in memory

	MaxPDU int // 0: maxPDULen
	Clock  models.Clock
	Log    *slog.Logger // nil: none
}

func (c Config) withDefaults() Config {
	set := func(d *time.Duration, v time.Duration) {
		if *d <= 0 {
			*d = v
		}
	}
	set(&c.Patience, 30*time.Second)
	set(&c.BindWait, 10*time.Second)
	set(&c.EnquireEvery, 30*time.Second)
	set(&c.BackoffFirst, time.Second)
	set(&c.BackoffMost, 2*time.Minute)
	set(&c.RefusedFirst, time.Minute)
	set(&c.RefusedMost, time.Hour)
	set(&c.PartsWait, 15*time.Minute)
	if c.Window <= 0 {
		c.Window = 10
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Fragments == nil {
		c.Fragments = NewMemoryFragments()
	}
	return c
}

// Client keeps a session with one center. Its methods may be called from
// several goroutines.
type Client struct {
	cfg     Config
	handler Handler
	pace    *pacer
	window  chan struct{}

	background sync.WaitGroup // handlers that run outside a session

	mu      sync.Mutex
	link    *link                 // nil while not bound
	unsure  map[Address][]offered // texts whose answer the center may not have got, by sender
	partial map[string]int        // parts taken of texts that then failed, by key
	bound   chan struct{}         // closed while bound
	lastErr error
	ended   bool
}

// New makes a client; Run starts it. The clock must be given.
func New(cfg Config, handler Handler) (*Client, error) {
	cfg = cfg.withDefaults()
	if cfg.Clock == nil {
		return nil, errors.New("smpp: no clock is given")
	}
	if handler == nil {
		return nil, errors.New("smpp: no handler is given")
	}
	bind := Bind{SystemID: cfg.SystemID, Password: cfg.Password, SystemType: cfg.SystemType}
	if _, err := bind.Encode(); err != nil {
		return nil, fmt.Errorf("smpp: %w", err)
	}
	if _, err := sourceAddress(cfg.Source); err != nil {
		return nil, fmt.Errorf("smpp: sender: %w", err)
	}
	return &Client{
		cfg: cfg, handler: handler, pace: newPacer(cfg.MaxRate, cfg.Clock),
		window: make(chan struct{}, cfg.Window), bound: make(chan struct{}),
		partial: map[string]int{}, unsure: map[Address][]offered{},
	}, nil
}

// Run connects, binds and stays bound until the context ends, when it takes
// leave of the center and gives nil. A lost link is made anew, with growing
// waits. While the center refuses the account the waits are longer, for
// repeated wrong log-ins lock accounts, and Up gives an error of
// models.CodeInvalid. A client runs once.
func (c *Client) Run(ctx context.Context) error {
	defer c.background.Wait()
	defer c.setEnded()
	wait := c.cfg.BackoffFirst
	for ctx.Err() == nil {
		held, err := c.serve(ctx)
		if ctx.Err() != nil {
			return nil
		}
		first, most := c.cfg.BackoffFirst, c.cfg.BackoffMost
		var status *StatusError
		if errors.As(err, &status) && status.Status.Class() == ClassSettings {
			first, most = c.cfg.RefusedFirst, c.cfg.RefusedMost
			e := models.Errorf(models.CodeInvalid, "check the account and password of the text message center",
				"the text message center at %s refuses the log-in: %s", c.cfg.Addr, status.Status)
			e.Err, err = err, e
		}
		if wait = max(wait, first); held {
			wait = first
		}
		c.note(err)
		c.cfg.Log.Warn("text message center", "addr", c.cfg.Addr, "err", err, "next_try_in", wait)
		if !sleep(ctx, wait) {
			return nil
		}
		wait = min(2*wait, most)
	}
	return nil
}

// serve holds one session from connecting to its end; held says whether it
// was ever bound.
func (c *Client) serve(ctx context.Context) (held bool, err error) {
	conn, err := c.dial(ctx)
	if err != nil {
		return false, fmt.Errorf("connecting to the text message center: %w", err)
	}
	in := newInbox(c)
	l := newLink(conn, c.cfg.Clock, c.cfg.MaxPDU, c.cfg.Patience, in.take)
	l.onEnd = c.dropLink
	var running sync.WaitGroup
	defer func() { c.doubt(in.answered, l.lastHeard()) }() // after all that works on the link has ended
	defer running.Wait()
	defer l.fail(errLinkLost)
	running.Go(l.read)

	body, err := Bind{SystemID: c.cfg.SystemID, Password: c.cfg.Password,
		SystemType: c.cfg.SystemType, Version: 0x34}.Encode()
	if err != nil {
		return false, err
	}
	if _, err := l.ask(ctx, BindTransceiver, body, nil); err != nil {
		return false, fmt.Errorf("binding: %w", err)
	}
	if !c.setLink(l) {
		return false, l.cause()
	}
	work, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	running.Go(func() { in.work(work, l) })
	running.Go(func() { l.keepAlive(work, c.cfg.EnquireEvery) })
	c.cfg.Log.Info("bound to the text message center", "addr", c.cfg.Addr)

	select {
	case <-l.done:
		return true, l.cause()
	case <-ctx.Done():
	}
	c.dropLink() // no new submits; those under way get their answers
	c.leave(ctx, l)
	return true, ctx.Err()
}

// leave waits for the answers still owed, within the patience, and unbinds.
func (c *Client) leave(ctx context.Context, l *link) {
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), c.cfg.Patience)
	defer cancel()
	for range c.cfg.Window {
		select {
		case c.window <- struct{}{}:
			defer func() { <-c.window }()
		case <-l.done:
			return
		case <-last.Done():
			l.fail(context.DeadlineExceeded)
			return
		}
	}
	l.close(last)
}

func (c *Client) dial(ctx context.Context) (net.Conn, error) {
	d := &net.Dialer{Timeout: c.cfg.Patience}
	if c.cfg.TLS == nil {
		return d.DialContext(ctx, "tcp", c.cfg.Addr)
	}
	limit, cancel := context.WithTimeout(ctx, c.cfg.Patience)
	defer cancel()
	return (&tls.Dialer{NetDialer: d, Config: c.cfg.TLS}).DialContext(limit, "tcp", c.cfg.Addr)
}

// setLink makes a bound link the one to submit over, until it ends; false
// when it has ended already.
func (c *Client) setLink(l *link) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if l.cause() != nil {
		return false
	}
	c.link, c.lastErr = l, nil
	close(c.bound)
	return true
}

// dropLink takes the link out of use.
func (c *Client) dropLink() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.link != nil {
		c.link = nil
		c.bound = make(chan struct{})
	}
}

func (c *Client) note(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.lastErr = err
}

func (c *Client) setEnded() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.ended {
		c.ended = true
		close(c.bound) // wakes those who wait for a session that will not come
	}
}

// Up says whether the client is bound; where it is not, err is why, nil
// before the first try has ended.
func (c *Client) Up() (bound bool, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.link != nil, c.lastErr
}

// Await waits until the client is bound, at most BindWait, and gives the
// reason where it is not.
func (c *Client) Await(ctx context.Context) error {
	_, err := c.session(ctx)
	return err
}

// session waits for the link within BindWait.
func (c *Client) session(ctx context.Context) (*link, error) {
	limit := time.NewTimer(c.cfg.BindWait)
	defer limit.Stop()
	for {
		c.mu.Lock()
		l, bound, ended, last := c.link, c.bound, c.ended, c.lastErr
		c.mu.Unlock()
		switch {
		case l != nil:
			return l, nil
		case ended:
			return nil, errors.Join(errors.New("the client has ended"), last)
		}
		select {
		case <-bound:
		case <-limit.C:
			return nil, errors.Join(errors.New("there is no session with the text message center"), last)
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// sleep waits; false when the context ended first.
func sleep(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return ctx.Err() == nil
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}
