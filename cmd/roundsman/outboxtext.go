package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/mattn/go-runewidth"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// draw lists messages, one a line.
func (cmd outboxCmd) draw(c *call, a *app.App, logs []store.MessageLog) error {
	zone := a.Runner.Notify.Zone
	if len(logs) == 0 {
		_, err := fmt.Fprintln(c.out, "No messages.")
		return err
	}
	width, ok := c.width()
	if !ok {
		width = 1 << 16
	}
	labels, err := machineLabels(c, a)
	if err != nil {
		return err
	}
	become, err := prospects(c, a, logs)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(c.out)
	fmt.Fprintf(w, "%5s  %-8s %-16s  %-5s %-28s  %s\n", "NO.", "STATE", "QUEUED", "BY", "TO", "ABOUT")
	for _, l := range logs {
		m := l.Message
		line := fmt.Sprintf("%5d  %-8s %-16s  %-5s %-28s  %s", m.ID, m.State, localTime(m.QueuedAt, zone), channelWord(m.Channel),
			runewidth.Truncate(m.Address, 28, "…"), about(l, labels))
		fmt.Fprintln(w, strings.TrimRight(runewidth.Truncate(line, width, "…"), " "))
		if why := waiting(m, become[m.ID], zone); why != "" {
			fmt.Fprintf(w, "       %s\n", why)
		}
	}
	return w.Flush()
}

// purposeWords say what messages without notices are for.
var purposeWords = map[models.Purpose]string{
	models.PurposeAnswer:    "answer to a reply",
	models.PurposeShopAlert: "word to the service desk",
	models.PurposeStopped:   "confirms STOP",
	models.PurposeStarted:   "confirms START",
	models.PurposeHelp:      "answer to HELP",
	models.PurposeTest:      "test",
}

// about says in few words what a message tells: "U-6: 9 late; U-4: 4 due,
// 4 coming; 30: battery test due".
func about(l store.MessageLog, labels map[string]string) string {
	if len(l.Notices) == 0 {
		return cmp.Or(purposeWords[l.Message.Purpose], string(l.Message.Purpose))
	}
	var parts []string
	for _, t := range tellings(l.Notices) {
		var stages []string
		for _, s := range t.stages {
			what := fmt.Sprint(len(s.names))
			if len(s.names) == 1 && (len(t.stages) == 1 || s.stage == "asked" || s.stage == "") {
				what = s.names[0]
			}
			stages = append(stages, strings.TrimSpace(what+" "+string(s.stage)))
		}
		parts = append(parts, labelOf(labels, t.machine)+": "+strings.Join(stages, ", "))
	}
	return strings.Join(parts, "; ")
}

// telling is what a message tells of one machine.
type telling struct {
	machine string
	stages  []stageNames // the most urgent first
}

// stageNames are the things of a machine that stand at one stage, in words;
// checks and readings are "asked", visits stand at none.
type stageNames struct {
	stage models.Stage
	names []string
}

// tellings puts notices together by machine and stage, the most urgent first.
func tellings(notices []models.Notice) []telling {
	sorted := slices.Clone(notices)
	slices.SortStableFunc(sorted, func(a, b models.Notice) int { return cmp.Compare(a.Stage.Rank(), b.Stage.Rank()) })
	var out []telling
	for _, n := range sorted {
		i := slices.IndexFunc(out, func(t telling) bool { return t.machine == n.Machine })
		if i < 0 {
			i = len(out)
			out = append(out, telling{machine: n.Machine})
		}
		t := &out[i]
		stage := n.Stage
		switch n.Subject {
		case models.SubjectCheck, models.SubjectReading:
			stage = "asked"
		case models.SubjectVisit:
			stage = ""
		}
		if k := len(t.stages); k == 0 || t.stages[k-1].stage != stage {
			t.stages = append(t.stages, stageNames{stage: stage})
		}
		last := &t.stages[len(t.stages)-1]
		last.names = append(last.names, noticeName(n))
	}
	return out
}

// noticeName says what one notice is about.
func noticeName(n models.Notice) string {
	switch n.Subject {
	case models.SubjectItem, "":
		return models.ItemName(n.Item, "en")
	case models.SubjectReading:
		return "meter reading"
	case models.SubjectVisit:
		if n.DueOn.IsZero() {
			return "visit canceled"
		}
		return "visit on " + n.DueOn.String()
	}
	return string(n.Subject) + " " + n.Item
}

// machineLabels gives the name painted on each machine, by id.
func machineLabels(c *call, a *app.App) (map[string]string, error) {
	machines, err := a.Store.Machines(c.ctx)
	if err != nil {
		return nil, err
	}
	labels := make(map[string]string, len(machines))
	for _, m := range machines {
		labels[m.ID] = m.Label()
	}
	return labels, nil
}

// labelOf gives a machine's name, or its id where it has none.
func labelOf(labels map[string]string, id string) string { return cmp.Or(labels[id], id) }

// channelWord says a channel as people do.
func channelWord(ch models.Channel) string {
	if ch == models.ChannelSMS {
		return "text"
	}
	return string(ch)
}

// prospects says what becomes of those messages that wait.
func prospects(c *call, a *app.App, logs []store.MessageLog) (map[int64]models.Ruling, error) {
	var ids []int64
	for _, l := range logs {
		if l.Message.State == models.MessageQueued {
			ids = append(ids, l.Message.ID)
		}
	}
	return a.Outbox().Prospects(c.ctx, ids, c.clock.Now())
}

// waiting says what becomes of a message that waits, or how it ended.
func waiting(m models.Message, becomes models.Ruling, zone *time.Location) string {
	switch m.State {
	case models.MessageQueued:
		switch {
		case becomes.Verdict == models.VerdictDrop:
			return fmt.Sprintf("will not go: %s", becomes.Why)
		case becomes.Verdict == models.VerdictHold && becomes.Why != models.ReasonMayGo && becomes.Why != "":
			return fmt.Sprintf("waits until %s: %s", localTime(becomes.NotBefore, zone), becomes.Why)
		}
		return "waits for the service to send it, from " + localTime(m.NotBefore, zone)
	case models.MessageFailed, models.MessageDropped:
		if m.Tries == 0 {
			return fmt.Sprintf("%s: %s", m.State, m.Why)
		}
		return fmt.Sprintf("%s after %s: %s", m.State, plural(m.Tries, "try", "tries"), m.Why)
	}
	var end []string
	if m.Receipt != "" {
		end = append(end, m.Receipt+", as was reported at "+localTime(m.ReceiptAt, zone))
	}
	if m.InDoubt {
		end = append(end, "a try ended without an answer; it may have gone twice")
	}
	return strings.Join(end, "; ")
}

// localTime writes a moment in the shop's zone.
func localTime(i models.Instant, zone *time.Location) string {
	if i.IsZero() {
		return "-"
	}
	return i.Time().In(zone).Format("2006-01-02 15:04")
}

// drawMessage shows one message whole.
func drawMessage(c *call, a *app.App, l store.MessageLog) error {
	labels, err := machineLabels(c, a)
	if err != nil {
		return err
	}
	become, err := prospects(c, a, []store.MessageLog{l})
	if err != nil {
		return err
	}
	m, zone := l.Message, a.Runner.Notify.Zone
	width, ok := c.width()
	if !ok {
		width = 100
	}
	w := bufio.NewWriter(c.out)
	fmt.Fprintf(w, "Message %d by %s to %s (%s): %s\n", m.ID, channelWord(m.Channel), m.Address, cmp.Or(m.Contact, "no contact of ours"), m.State)
	fmt.Fprintf(w, "  queued %s\n", localTime(m.QueuedAt, zone))
	for _, t := range l.Attempts {
		fmt.Fprintf(w, "  try %d  %s  %s: %s\n", t.Number, localTime(t.EndedAt, zone), t.Outcome, attemptWords(t))
	}
	if why := waiting(m, become[m.ID], zone); why != "" {
		fmt.Fprintln(w, "  "+why)
	}
	for _, t := range tellings(l.Notices) {
		drawTelling(w, t, labels, width)
	}
	if !m.Composed.IsZero() {
		if m.Composed.Subject != "" {
			fmt.Fprintf(w, "\nSubject: %s\n", m.Composed.Subject)
		}
		fmt.Fprintf(w, "\n%s\n", m.Composed.Text)
	}
	return w.Flush()
}

// drawTelling writes what is told of one machine, a line for each stage.
func drawTelling(w io.Writer, t telling, labels map[string]string, width int) {
	for i, s := range t.stages {
		label := ""
		if i == 0 {
			label = labelOf(labels, t.machine)
		}
		head := "  " + cell(label, tagWidth) + "  " + cell(string(s.stage), 6) + "  "
		indent := runewidth.StringWidth(head)
		for _, line := range models.Wrap("", "", strings.Join(s.names, ", "), width-indent) {
			fmt.Fprintln(w, head+line)
			head = strings.Repeat(" ", indent)
		}
	}
}

// spoolCode is what the spool folder answers to a try.
const spoolCode = "written"

// attemptWords says what the other side answered to a try.
func attemptWords(t models.Attempt) string {
	switch {
	case t.Code == spoolCode:
		return "written as a file into the spool folder"
	case t.Code == "":
		return string(t.Why)
	}
	return strings.TrimSpace(t.Code + ", " + string(t.Why))
}

// withheld lists notices that were decided but not sent, those of one person
// with one reason together.
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
	labels, err := machineLabels(c, a)
	if err != nil {
		return err
	}
	width, ok := c.width()
	if !ok {
		width = 100
	}
	if err := cmd.calls(c, a); err != nil {
		return err
	}
	w := bufio.NewWriter(c.out)
	fmt.Fprintln(w)
	for len(ns) > 0 {
		first := ns[0]
		var same, rest []models.Notice
		for _, n := range ns {
			if n.DecidedAt == first.DecidedAt && n.Contact == first.Contact && n.Owner == first.Owner && n.Why == first.Why {
				same = append(same, n)
			} else {
				rest = append(rest, n)
			}
		}
		ns = rest
		fmt.Fprintf(w, "%s  %s: %s\n", localTime(first.DecidedAt, a.Runner.Notify.Zone), cmp.Or(first.Contact, "owner "+first.Owner), first.Why)
		for _, t := range tellings(same) {
			drawTelling(w, t, labels, width)
		}
	}
	return w.Flush()
}

type callRow struct {
	Owner    string        `json:"owner"`
	Why      models.Reason `json:"why"`
	Machines int           `json:"machines"`
	Stage    models.Stage  `json:"stage"`
	DueOn    models.Date   `json:"due_on"`
	Checks   []string      `json:"checks"`
	Contacts []string      `json:"contacts"`
}

// calls lists the owners who are to be called, the most urgent first.
func (cmd outboxCmd) calls(c *call, a *app.App) error {
	list, total, err := scheduler.Calls(c.ctx, a.Store, a.Runner.Notify, c.clock.Now(), cmd.Limit)
	if err != nil {
		return err
	}
	rows := make([]callRow, len(list))
	for i, o := range list {
		rows[i] = callRow{o.Owner.ID, o.Why, o.Machines, o.Worst, o.DueOn, []string{}, []string{}}
		for _, r := range o.Checks {
			rows[i].Checks = append(rows[i].Checks, r.Check.Check.ID)
		}
		for _, k := range o.Contacts {
			rows[i].Contacts = append(rows[i].Contacts, k.ID)
		}
		if cmd.JSON {
			continue
		}
		fmt.Fprintf(c.out, "%s: call %s\n  %s, %s %s from %s\n", cmp.Or(o.Owner.Name, o.Owner.ID), numbers(o.Contacts),
			o.Why, plural(o.Machines, "machine", "machines"), o.Worst, o.DueOn)
		for _, r := range o.Checks {
			fmt.Fprintf(c.out, "  did the repair of %s hold? (check %s)\n", r.Check.Machine.Label(), r.Check.Check.ID)
		}
	}
	switch {
	case cmd.JSON:
		return printJSON(c.out, rows)
	case total == 0:
		fmt.Fprintln(c.out, "Nobody is to be called.")
	case total > len(list):
		fmt.Fprintf(c.out, "%d more; --limit 0 lists all.\n", total-len(list))
	}
	return nil
}
