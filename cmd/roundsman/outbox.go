package main

import (
	"fmt"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

type outboxCmd struct {
	ID       int64    `arg:"" optional:"" help:"Show one message whole, with its tries."`
	State    []string `help:"Only these states: queued, sending, sent, failed, dropped." placeholder:"STATE,..."`
	Limit    int      `help:"The newest so many; 0 is all." default:"50"`
	Withheld bool     `help:"Show the notices that were decided but not sent, and why."`
	Calls    bool     `help:"List whom to call instead: who could not be written to or does not answer, and has something due."`
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
  roundsman outbox --withheld
  roundsman outbox --calls`
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
		case cmd.Calls:
			return cmd.calls(c, a)
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
		switch {
		case cmd.JSON:
			return printJSON(c.out, outboxJSON(logs))
		case cmd.ID != 0:
			return drawMessage(c, a, logs[0])
		}
		return cmd.draw(c, a, logs)
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
	r, err := a.Outbox().SendNow(c.ctx, cmd.ID, c.clock.Now())
	if err != nil {
		return err
	}
	if r.Verdict == models.VerdictHold {
		fmt.Fprintf(c.out, "Message %d goes from %s on: %s.\n", cmd.ID, localTime(r.NotBefore, a.Runner.Notify.Zone), r.Why)
		return nil
	}
	fmt.Fprintf(c.out, "Message %d goes when the service looks next.\n", cmd.ID)
	return nil
}

// messageOf picks one message.
func messageOf(id int64) store.MessageFilter { return store.MessageFilter{ID: id} }

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
	ReceiptAt models.Instant      `json:"receipt_at"`
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
			InDoubt: m.InDoubt, Receipt: m.Receipt, ReceiptAt: m.ReceiptAt, Segments: m.Composed.Segments, Subject: m.Composed.Subject,
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
