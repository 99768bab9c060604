package main

import (
	"bufio"
	"fmt"
	"strings"
	"time"

	"github.com/mattn/go-runewidth"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/policy"
)

type outboxCmd struct {
	ID       int64    `arg:"" optional:"" help:"Show one message whole, with its tries."`
	State    []string `help:"Only these states: queued, sending, sent, failed, dropped." placeholder:"STATE,..."`
	Limit    int      `help:"The newest so many; 0 is all." default:"50"`
	Withheld bool     `help:"Show the notices that were decided but not sent, and why."`
	Retry    bool     `help:"Try message NO. again at once." xor:"do"`
	Drop     bool     `help:"Take message NO. out of the queue." xor:"do"`
	JSON     bool     `name:"json" help:"Print the messages as JSON."`
}

func (outboxCmd) Help() string {
	return `Shows what went, what waits and why, and what failed. A message is in the outbox before anything is sent, and each try to send it is kept with its outcome.

Example:
  roundsman outbox
  roundsman outbox 17
  roundsman outbox --state queued,failed
  roundsman outbox 17 --retry
  roundsman outbox --withheld`
}

func (cmd outboxCmd) Run(c *call) error {
	f := store.MessageFilter{ID: cmd.ID, Limit: cmd.Limit}
	for _, s := range cmd.State {
		state := models.MessageState(strings.ToLower(strings.TrimSpace(s)))
		switch state {
		case models.MessageQueued, models.MessageSending, models.MessageSent, models.MessageFailed, models.MessageDropped:
			f.States = append(f.States, state)
		default:
			return models.Errorf(models.CodeInvalid, "the states are queued, sending, sent, failed and dropped", "--state %q is no state", s)
		}
	}
	return c.with(func(a *app.App) error {
		switch {
		case cmd.Retry || cmd.Drop:
			return cmd.change(c, a)
		case cmd.Withheld:
			return cmd.withheld(c, a)
		}
		logs, err := a.Store.Messages(c.ctx, f)
		if err != nil {
			return err
		}
		if cmd.ID != 0 && len(logs) == 0 {
			return models.Errorf(models.CodeNotFound, "`roundsman outbox` lists them", "there is no message %d", cmd.ID)
		}
		zone := a.Holder.Manners.Zone
		switch {
		case cmd.JSON:
			return printJSON(c.out, outboxJSON(logs))
		case cmd.ID != 0:
			return drawMessage(c, logs[0], zone)
		}
		return cmd.draw(c, logs, zone)
	})
}

// change tries a message again or takes it out.
func (cmd outboxCmd) change(c *call, a *app.App) error {
	now := models.InstantOf(c.clock.Now())
	if cmd.ID == 0 {
		return models.Errorf(models.CodeInvalid, "give its number, as `roundsman outbox` lists it", "which message?")
	}
	if cmd.Drop {
		if err := a.Store.DropMessage(c.ctx, cmd.ID, now); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "Message %d will not go.\n", cmd.ID)
		return nil
	}
	if err := a.Store.RetryMessage(c.ctx, cmd.ID, now); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "Message %d goes when the service looks next.\n", cmd.ID)
	return nil
}

// messageOf picks one message.
func messageOf(id int64) store.MessageFilter { return store.MessageFilter{ID: id} }

// draw lists messages, one a line.
func (cmd outboxCmd) draw(c *call, logs []store.MessageLog, zone *time.Location) error {
	if len(logs) == 0 {
		_, err := fmt.Fprintln(c.out, "No messages.")
		return err
	}
	width, ok := terminalWidth(c.out)
	if !ok {
		width = 1 << 16
	}
	w := bufio.NewWriter(c.out)
	fmt.Fprintf(w, "%5s  %-8s %-16s  %-5s %-28s  %s\n", "NO.", "STATE", "QUEUED", "BY", "TO", "ABOUT")
	for _, l := range logs {
		m := l.Message
		line := fmt.Sprintf("%5d  %-8s %-16s  %-5s %-28s  %s", m.ID, m.State, localTime(m.QueuedAt, zone), m.Channel,
			runewidth.Truncate(m.Address, 28, "…"), about(l))
		fmt.Fprintln(w, strings.TrimRight(runewidth.Truncate(line, width, "…"), " "))
		if why := waiting(m, zone); why != "" {
			fmt.Fprintf(w, "       %s\n", why)
		}
	}
	return w.Flush()
}

// about says in few words what a message tells.
func about(l store.MessageLog) string {
	if len(l.Notices) == 0 {
		return string(l.Message.Purpose)
	}
	var parts []string
	for _, n := range l.Notices {
		parts = append(parts, fmt.Sprintf("%s %s %s", n.Machine, n.Item, n.Stage))
	}
	return strings.Join(parts, "; ")
}

// waiting says why a message has not gone, or how it ended.
func waiting(m models.Message, zone *time.Location) string {
	switch m.State {
	case models.MessageQueued:
		if m.Why == policy.ReasonMayGo || m.Why == "" {
			return "waits for the service to send it, from " + localTime(m.NotBefore, zone)
		}
		return fmt.Sprintf("waits until %s: %s", localTime(m.NotBefore, zone), m.Why)
	case models.MessageFailed, models.MessageDropped:
		return fmt.Sprintf("%s after %s: %s", m.State, plural(m.Tries, "try", "tries"), m.Why)
	}
	if m.InDoubt {
		return "a try ended without an answer; it may have gone twice"
	}
	return ""
}

// localTime writes a moment in the shop's zone.
func localTime(i models.Instant, zone *time.Location) string {
	if i.IsZero() {
		return "-"
	}
	return i.Time().In(zone).Format("2006-01-02 15:04")
}

// drawMessage shows one message whole.
func drawMessage(c *call, l store.MessageLog, zone *time.Location) error {
	m := l.Message
	w := bufio.NewWriter(c.out)
	fmt.Fprintf(w, "Message %d, %s by %s to %s (contact %s), queued %s\n", m.ID, m.State, m.Channel, m.Address, m.Contact, localTime(m.QueuedAt, zone))
	if why := waiting(m, zone); why != "" {
		fmt.Fprintln(w, why)
	}
	for _, n := range l.Notices {
		fmt.Fprintf(w, "  tells: %s %s %s, due %s (%s)\n", n.Machine, n.Item, n.Stage, n.DueOn, n.Why)
	}
	for _, a := range l.Attempts {
		fmt.Fprintf(w, "  try %d at %s: %s %s %s\n", a.Number, localTime(a.EndedAt, zone), a.Outcome, a.Code, a.Why)
	}
	if !m.Composed.IsZero() {
		if m.Composed.Subject != "" {
			fmt.Fprintf(w, "\nSubject: %s\n", m.Composed.Subject)
		}
		fmt.Fprintf(w, "\n%s\n", m.Composed.Text)
	}
	return w.Flush()
}

// withheld lists notices that were decided but not sent.
func (cmd outboxCmd) withheld(c *call, a *app.App) error {
	ns, err := a.Store.WithheldNotices(c.ctx, max(cmd.Limit, 1))
	if err != nil {
		return err
	}
	if cmd.JSON {
		rows := make([]noticeRow, 0, len(ns))
		for _, n := range ns {
			rows = append(rows, noticeJSON(n))
		}
		return printJSON(c.out, rows)
	}
	if len(ns) == 0 {
		_, err := fmt.Fprintln(c.out, "No notice was withheld.")
		return err
	}
	for _, n := range ns {
		who := n.Contact
		if who == "" {
			who = "owner " + n.Owner
		}
		fmt.Fprintf(c.out, "%s  %s: %s %s %s, due %s: %s\n", localTime(n.DecidedAt, a.Holder.Manners.Zone), who, n.Machine, n.Item, n.Stage, n.DueOn, n.Why)
	}
	return nil
}

type noticeRow struct {
	Owner   string         `json:"owner"`
	Contact string         `json:"contact"`
	Machine string         `json:"machine"`
	Subject models.Subject `json:"subject"`
	Item    string         `json:"item"`
	Cycle   int            `json:"cycle"`
	Stage   models.Stage   `json:"stage"`
	DueOn   models.Date    `json:"due_on"`
	Why     models.Reason  `json:"why"`
	Decided models.Instant `json:"decided_at"`
}

func noticeJSON(n models.Notice) noticeRow {
	return noticeRow{n.Owner, n.Contact, n.Machine, n.Subject, n.Item, n.Cycle, n.Stage, n.DueOn, n.Why, n.DecidedAt}
}

type attemptRow struct {
	Number  int            `json:"number"`
	EndedAt models.Instant `json:"ended_at"`
	Outcome models.Outcome `json:"outcome"`
	Code    string         `json:"code,omitempty"`
	Why     models.Reason  `json:"why,omitempty"`
}

type messageRow struct {
	ID        int64               `json:"id"`
	Key       string              `json:"key"`
	State     models.MessageState `json:"state"`
	Why       models.Reason       `json:"why"`
	Owner     string              `json:"owner"`
	Contact   string              `json:"contact"`
	Channel   models.Channel      `json:"channel"`
	Address   string              `json:"address"`
	Purpose   models.Purpose      `json:"purpose"`
	QueuedAt  models.Instant      `json:"queued_at"`
	NotBefore models.Instant      `json:"not_before"`
	EndedAt   models.Instant      `json:"ended_at"`
	InDoubt   bool                `json:"in_doubt"`
	Receipt   string              `json:"receipt,omitempty"`
	Segments  int                 `json:"segments,omitempty"`
	Subject   string              `json:"subject,omitempty"`
	Text      string              `json:"text,omitempty"`
	Notices   []noticeRow         `json:"notices"`
	Attempts  []attemptRow        `json:"attempts"`
}

func outboxJSON(logs []store.MessageLog) []messageRow {
	rows := make([]messageRow, 0, len(logs))
	for _, l := range logs {
		m := l.Message
		r := messageRow{
			ID: m.ID, Key: m.Key, State: m.State, Why: m.Why, Owner: m.Owner, Contact: m.Contact, Channel: m.Channel,
			Address: m.Address, Purpose: m.Purpose, QueuedAt: m.QueuedAt, NotBefore: m.NotBefore, EndedAt: m.EndedAt,
			InDoubt: m.InDoubt, Receipt: m.Receipt, Segments: m.Composed.Segments, Subject: m.Composed.Subject,
			Text: m.Composed.Text, Notices: []noticeRow{}, Attempts: []attemptRow{},
		}
		for _, n := range l.Notices {
			r.Notices = append(r.Notices, noticeJSON(n))
		}
		for _, a := range l.Attempts {
			r.Attempts = append(r.Attempts, attemptRow{a.Number, a.EndedAt, a.Outcome, a.Code, a.Why})
		}
		rows = append(rows, r)
	}
	return rows
}
