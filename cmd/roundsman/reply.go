package main

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"io"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/scheduler"
)

type replyCmd struct {
	atFlag
	sureFlag
	From string `help:"Number or mail address that it came from." placeholder:"NUMBER"`
	Text string `help:"What it says; - reads standard input." placeholder:"TEXT"`
	List bool   `help:"List the replies that wait for a person."`
	All  bool   `help:"With --list: list all replies."`
	Done int64  `help:"Mark a reply as dealt with." placeholder:"NO."`
	Undo int64  `help:"Take back what was recorded from a reply: readings, work, answers to checks." placeholder:"NO."`
	Note string `help:"With --done: what was done; with --undo: why." placeholder:"TEXT"`
	JSON bool   `name:"json" help:"Print what was done as JSON."`
}

func (replyCmd) Help() string {
	return `Takes in an answer as if it had come by text or mail: a meter reading, "done last week", "it's back", STOP. What it says is recorded, the sender gets an answer, and what cannot be read waits for a person; then the command ends with 3.

--list puts first what a person must see first: a machine that is not as it should be (now), then what somebody waits for (today). --undo takes back in one act what was recorded from a reply; a refusal of messages stays, ` + "`roundsman contact stop --lift`" + ` lifts it.

Acts that --json lists: reading (what a meter shows), done (work, with its day), ok (it runs well, the repair held), back (a repaired fault has returned), trouble (something is wrong), day (a day is named), agree and decline (yes and no to what was told or offered), later (not before a day, or no time named), sold, stop, start, help, thanks, wrong number; besides, asked back (a question went to the sender), reopened (a job is open again) and automatic (no person wrote it).

Example:
  roundsman reply --from +12025550123 --text "R12 6120"
  roundsman reply --list
  roundsman reply --undo 7 --note "that was another machine"
  roundsman reply --done 7 --note "called back"`
}

func (cmd replyCmd) Run(c *call) error {
	switch {
	case cmd.Done != 0:
		return c.with(func(a *app.App) error {
			return a.Store.MarkReply(c.ctx, models.ReplyMark{Reply: cmd.Done, At: models.InstantOf(c.clock.Now()), By: userName(), Note: cmd.Note})
		})
	case cmd.Undo != 0:
		return c.with(func(a *app.App) error { return cmd.undo(c, a) })
	case cmd.List:
		return c.with(func(a *app.App) error { return cmd.list(c, a) })
	}
	l, err := c.settings()
	if err != nil {
		return err
	}
	ch, from, err := senderOf("--from", cmd.From, l.Settings.Shop.Country)
	if err != nil {
		return err
	}
	if cmd.Text == "-" {
		data, err := io.ReadAll(io.LimitReader(c.in, 1<<20))
		if err != nil {
			return fmt.Errorf("reading the reply: %w", err)
		}
		cmd.Text = string(data)
	}
	if strings.TrimSpace(cmd.Text) == "" {
		return models.Errorf(models.CodeInvalid, "add --text with what it says", "the reply has no text")
	}
	return c.with(func(a *app.App) error {
		at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
		if err != nil {
			return err
		}
		if err := cmd.aheadOf(c.clock, at); err != nil {
			return err
		}
		sum := sha256.Sum256([]byte(cmd.Text))
		key := fmt.Sprintf("hand/%s/%d/%x", from, c.clock.Now().UnixNano(), sum[:6])
		a.Replier.Log = c.quiet()
		r := models.Reply{Key: key, ReceivedAt: models.InstantOf(at), Channel: ch, From: from, Text: cmd.Text}
		if err := a.Replier.Apply(c.ctx, r); err != nil {
			return err
		}
		logs, err := a.Store.Replies(c.ctx, false, 1)
		if err != nil {
			return err
		}
		if err := cmd.tell(c, a, logs[0]); err != nil {
			return err
		}
		if logs[0].Reply.Person != "" {
			return errPartial
		}
		return nil
	})
}

// senderOf reads a mail address or telephone number; what names the flag or
// argument for whom it is wrong.
func senderOf(what, from, country string) (models.Channel, string, error) {
	if strings.Contains(from, "@") {
		if !models.ValidMail(from) {
			return "", "", models.Errorf(models.CodeInvalid, models.MailRemedy, "%s %q is not a mail address", what, from)
		}
		return models.ChannelMail, from, nil
	}
	number, err := phone.Parse(from, country)
	if err != nil {
		return "", "", models.Errorf(models.CodeInvalid, models.MobileRemedy+"; or a mail address", "%s %q %v", what, from, err)
	}
	return models.ChannelSMS, number, nil
}

// tell says what was done on a reply, and where it stays for a person how to
// go on.
func (cmd replyCmd) tell(c *call, a *app.App, l models.ReplyLog) error {
	if cmd.JSON {
		return printJSON(c.out, replyJSON(l))
	}
	labels, err := machineLabels(c, a)
	if err != nil {
		return err
	}
	for _, act := range l.Acts {
		fmt.Fprintln(c.out, actWords(act, labels))
	}
	if l.Reply.Person != "" {
		fmt.Fprintf(c.out, "Waits for a person: %s (no. %d; `roundsman reply --done %d` once it is dealt with).\n", l.Reply.Person, l.Reply.ID, l.Reply.ID)
	}
	if len(l.Acts) == 0 && l.Reply.Person == "" {
		fmt.Fprintln(c.out, "Nothing to do.")
	}
	return nil
}

// actWords says one thing that was done on a reply: "U-6: reading, 660 h on
// 2026-10-31".
func actWords(act models.ReplyAct, labels map[string]string) string {
	words, detail := cmp.Or(actNames[act.Act], act.Act), act.Detail
	if act.Act == replyAskedBack {
		words, detail = "asked back "+askedBack[detail], ""
	}
	if detail != "" {
		words += ", " + detail
	}
	if act.Machine != "" {
		return labelOf(labels, act.Machine) + ": " + words
	}
	return strings.ToUpper(words[:1]) + words[1:]
}

// actNames say acts whose own word says too little.
var actNames = map[string]string{
	string(inbox.KindDay):      "names a day",
	string(inbox.KindLater):    "wants it later",
	string(inbox.KindOK):       "all is well",
	string(inbox.KindComeback): "it came back",
	string(inbox.KindTrouble):  "something is wrong",
	string(inbox.KindYes):      "agrees",
	string(inbox.KindNo):       "declines",
	string(inbox.KindStop):     "STOP",
	string(inbox.KindStart):    "START",
	string(inbox.KindHelp):     "HELP, answered",
}

// replyAskedBack is the act of a reply that was answered with a question;
// askedBack says what is asked, by the kind of the question.
const replyAskedBack = "asked back"

var askedBack = map[string]string{
	string(inbox.AskMachine): "which machine is meant",
	string(inbox.AskMeter):   "whether it is miles or hours",
	string(inbox.AskValue):   "whether the figure is right",
	string(inbox.AskItem):    "which work was done",
	string(inbox.AskDay):     "which day suits",
	string(inbox.AskWhen):    "when it was done",
}

func (cmd replyCmd) list(c *call, a *app.App) error {
	var logs []models.ReplyLog
	var err error
	if cmd.All {
		logs, err = a.Store.Replies(c.ctx, false, listedReplies)
	} else {
		logs, err = scheduler.Waiting(c.ctx, a.Store, 0)
	}
	if err != nil {
		return err
	}
	logs = logs[:min(len(logs), listedReplies)]
	if cmd.JSON {
		rows := make([]replyRow, 0, len(logs))
		for _, l := range logs {
			rows = append(rows, replyJSON(l))
		}
		return printJSON(c.out, rows)
	}
	if len(logs) == 0 {
		if cmd.All {
			fmt.Fprintln(c.out, "No replies.")
			return nil
		}
		fmt.Fprintln(c.out, "No reply waits for a person.")
	}
	for _, l := range logs {
		r := l.Reply
		fmt.Fprintf(c.out, "%4d  %s  %s %s: %q\n", r.ID, localTime(r.ReceivedAt, a.Runner.Notify.Zone), r.From, r.Contact, models.Shorten(r.Text, 200))
		if r.Person != "" {
			fmt.Fprintf(c.out, "      %s: %s\n", scheduler.UrgencyOf(l), r.Person)
		}
	}
	return nil
}

// listedReplies bounds the replies that a list shows.
const listedReplies = 200

// undo takes back what was recorded from a reply.
func (cmd replyCmd) undo(c *call, a *app.App) error {
	taken, err := a.Replier.Undo(c.ctx, scheduler.Act{At: c.clock.Now(), By: userName(), Means: "command"}, cmd.Undo, cmd.Note)
	if err != nil {
		return err
	}
	if cmd.JSON {
		facts := make([]models.MachineFact, len(taken))
		for i, f := range taken {
			facts[i] = f.MachineFact
		}
		return printJSON(c.out, factsJSON(nil, facts...))
	}
	ms, err := a.Store.Machines(c.ctx)
	if err != nil {
		return err
	}
	machines := models.ByKey(ms, func(m models.Machine) string { return m.ID })
	for _, f := range taken {
		m := machines[f.Machine]
		fmt.Fprintf(c.out, "%s: took back the %s of %s (%s).\n", m.Label(), f.Sort.In("en"), f.At, f.Words(m))
		for _, kept := range f.Kept("en") {
			fmt.Fprintln(c.out, kept)
		}
	}
	return nil
}

type replyActRow struct {
	Act     string `json:"act"`
	Machine string `json:"machine,omitempty"`
	Detail  string `json:"detail,omitempty"`
}

type replyRow struct {
	ID         int64          `json:"id"`
	ReceivedAt models.Instant `json:"received_at"`
	Channel    models.Channel `json:"channel"`
	From       string         `json:"from"`
	Contact    string         `json:"contact"`
	Text       string         `json:"text"`
	Person     models.Reason  `json:"person"`
	Urgency    string         `json:"urgency"`
	AskedBack  bool           `json:"asked_back"`
	Acts       []replyActRow  `json:"acts"`
	Handled    bool           `json:"handled"`
}

// urgencyOf says how soon a person must look at a reply; "" where none must.
func urgencyOf(l models.ReplyLog) string {
	if l.Reply.Person == "" {
		return ""
	}
	return string(scheduler.UrgencyOf(l))
}

func replyJSON(l models.ReplyLog) replyRow {
	r := l.Reply
	row := replyRow{ID: r.ID, ReceivedAt: r.ReceivedAt, Channel: r.Channel, From: r.From, Contact: r.Contact, Text: r.Text,
		Person: r.Person, Urgency: urgencyOf(l), AskedBack: r.Question != "", Acts: []replyActRow{}, Handled: l.Mark != nil}
	for _, a := range l.Acts {
		row.Acts = append(row.Acts, replyActRow{a.Act, a.Machine, a.Detail})
	}
	return row
}
