package message

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// Page is what a template gets: the words and facts of one message.
type Page struct {
	Shop     Shop
	Purpose  models.Purpose
	Lang     string       // "en" or "es"
	Greeting string       // "Hello Ana,"
	Body     string       // the words of an answer or alert; else ""
	Machines []Machine    // in the order to tell them
	Worst    models.Stage // the most urgent stage in the message; "" for none
	Mixed    bool         // not everything in the message stands at that stage
	Count    int          // notices in the message
	Subject  string       // a subject made of machines and stage; "" without machines
	Cautions []string     // of the work on the cooling system, each once; else none
	Cooling  bool         // whether any notice is about work on the cooling system
	Cold     string       // the shortest caution on it, for texts
	Year     int          // in which the message is written; dates of others show theirs
}

// Machine is one machine's part of a message.
type Machine struct {
	Label   string // its tag; "Unit 3" where that is a number only
	About   string // what it is and where; may be ""
	Items   []Item
	Groups  []Item // the same with items of which all else would read alike joined into one
	Cooling bool
	Reads   string // an example of its meter's reading: "6120 mi"; "" where it has no meter
	Meter   models.Meters
}

// Item is one notice in words.
type Item struct {
	Name    string // "coolant change"
	Title   string // the same with a large first letter
	State   string // "due now"
	Stage   models.Stage
	Tone    string // "late", "due", "coming", "moved" or "plain": the look of the state
	When    string // a sentence; may be ""
	Why     string // a sentence; may be ""
	Last    string // a sentence; may be ""
	Short   string // "by Jun 3"
	Weekday string // "Tuesday, June 9, 2026": of a visit
	Left    string // "240 mi"; "" where no meter drives it
	Over    bool   // Left is over the mark and not before it
	Cooling bool
	Notice  models.Notice
}

// First gives the first item.
func (m Machine) First() Item { return m.Items[0] }

// More gives how many items there are besides the first; a question about a
// meter or a repair beside items does not count.
func (m Machine) More() int {
	n := -1
	for _, it := range m.Items {
		if it.Tone != "plain" || m.First().Tone == "plain" {
			n++
		}
	}
	return n
}

// PageHint says what the receiver's own page is for.
func (p Page) PageHint() string { return wordsOf(p.Lang).pageHint() }

// Example gives a reply that the shop could read: "6120 mi" for one machine,
// "R12 6120 mi" where there are several to tell apart; "" where none of them
// has a meter.
func (p Page) Example() string {
	i := slices.IndexFunc(p.Machines, func(m Machine) bool { return m.Reads != "" })
	switch {
	case i < 0:
		return ""
	case len(p.Machines) == 1:
		return p.Machines[i].Reads
	}
	return p.Machines[i].Label + " " + p.Machines[i].Reads
}

// List joins the machines' names, at most n of them: "R12, G3 and 2 more".
func (p Page) List(n int) string { return wordsOf(p.Lang).list(p.labels(n)) }

// Head gives the first n machines (all where there are fewer), and Rest how
// many are left out by it.
func (p Page) Head(n int) []Machine { return p.Machines[:min(n, len(p.Machines))] }

// Rest gives how many machines Head(n) leaves out.
func (p Page) Rest(n int) int { return max(0, len(p.Machines)-n) }

func (p Page) labels(n int) (shown []string, more int) {
	for _, m := range p.Head(n) {
		shown = append(shown, m.Label)
	}
	return shown, p.Rest(n)
}

// newPage puts an envelope into words.
func newPage(s Shop, e models.Envelope) Page {
	lang := languageOf(firstOf(e.Message.Language, e.Contact.Language, e.Owner.Language, s.Language))
	w := wordsOf(lang)
	p := Page{
		Shop: s, Purpose: e.Message.Purpose, Lang: lang, Greeting: w.greeting(e.Contact.Name),
		Body: e.Message.Body, Count: len(e.Notices), Cold: w.coldHint(),
		Year: models.DateOf(e.Message.QueuedAt.Time()).Year(),
	}
	at := map[string]int{}
	for _, n := range e.Notices {
		i, seen := at[n.Machine]
		if !seen {
			i = len(p.Machines)
			at[n.Machine] = i
			p.Machines = append(p.Machines, newMachine(n, e.Machines[n.Machine], w))
		}
		item := newItem(n, e.Machines[n.Machine], s, p)
		p.Machines[i].Items = append(p.Machines[i].Items, item)
		if item.Tone != "plain" && (p.Worst == "" || item.Stage.Rank() < p.Worst.Rank()) {
			p.Worst = item.Stage
		}
	}
	for i := range p.Machines {
		m := &p.Machines[i]
		slices.SortStableFunc(m.Items, byUrgency)
		m.Groups = grouped(m.Items, w)
		p.Mixed = p.Mixed || slices.ContainsFunc(m.Items, func(it Item) bool { return it.Stage != p.Worst })
	}
	p.addCautions(e)
	if len(p.Machines) > 0 {
		p.Subject = w.subject(p)
	}
	return p
}

// byUrgency puts the most urgent item first, and within a stage what fell or
// falls due first; what is not about an item comes last, in its own order.
func byUrgency(a, b Item) int {
	switch {
	case a.Tone == "plain" && b.Tone == "plain":
		return 0
	case a.Tone == "plain":
		return 1
	case b.Tone == "plain":
		return -1
	}
	return cmp.Or(cmp.Compare(a.Stage.Rank(), b.Stage.Rank()), cmp.Compare(a.Notice.DueOn, b.Notice.DueOn))
}

func firstOf(texts ...string) string {
	for _, s := range texts {
		if s != "" {
			return s
		}
	}
	return ""
}

// newMachine puts a machine into words for its first notice.
func newMachine(n models.Notice, m models.Machine, w words) Machine {
	if m.ID == "" {
		m.ID = n.Machine
	}
	out := Machine{Label: w.label(m), About: w.about(m), Meter: m.Meters}
	switch {
	case m.Meters == models.MetersNone:
	case m.Meters == models.MetersHours || n.Driver == models.DriverHours:
		out.Reads = "412.5 " + w.unit(models.DriverHours)
	case m.Meters.Metric():
		out.Reads = "9850 " + w.unit(models.DriverKM)
	default:
		out.Reads = "6120 " + w.unit(models.DriverMiles)
	}
	return out
}

func newItem(n models.Notice, m models.Machine, s Shop, p Page) Item {
	w := wordsOf(p.Lang)
	known := models.ItemOf(n.Item)
	if known.OnCondition && n.Stage == models.StageLate { // a part that works is not overdue
		n.Stage = models.StageDue
	}
	it := Item{Notice: n, Stage: n.Stage, Tone: "plain"}
	if n.Subject != models.SubjectItem && n.Subject != "" {
		it.Name, it.State, it.When = w.asked(n)
		it.Title, it.Short = sentence(it.Name), it.State
		it.Weekday = w.weekday(n.DueOn)
		return it
	}
	if n.Item == models.ItemFirstInspection && n.DueOn.IsZero() {
		it.Name = models.ItemName(n.Item, p.Lang)
		it.State, it.When = w.unrecorded(len(models.Names(n.Detail).List()))
		it.Title, it.Short, it.Cooling = sentence(it.Name), it.State, true
		return it
	}
	it.Name = known.Name.In(p.Lang)
	it.Title = sentence(it.Name)
	it.State, it.When, it.Short = w.stage(n.Stage), w.when(n), w.shortWhen(n, p.Year)
	it.When = strings.TrimSpace(it.When + " " + known.Means.In(p.Lang))
	it.Tone = string(n.Stage)
	it.Cooling = known.Cooling
	left, mark, over, ok := driven(n, s, w)
	if ok {
		it.Why, it.Left, it.Over = w.why(left, mark, over), left, over
	} else {
		it.Why = w.byCalendar(n)
	}
	if known.OnCondition && n.LastBy == models.GroundsDone {
		it.Last = w.fitted(n.LastOn)
	} else {
		it.Last = w.last(n, !m.InService.IsZero() && n.LastOn == m.InService)
	}
	return it
}

// grouped joins items that share their state, date, reason and last service
// into one with a list of names: nobody reads the same four lines six times.
func grouped(items []Item, w words) []Item {
	type key struct{ tone, state, when, why, last, weekday string }
	var out []Item
	names := map[key][]string{}
	at := map[key]int{}
	for _, it := range items {
		k := key{it.Tone, it.State, it.When, it.Why, it.Last, it.Weekday}
		if it.Tone == "plain" { // checks, readings and visits each have words of their own
			k.when += "/" + strconv.Itoa(len(out))
		}
		i, seen := at[k]
		if !seen {
			i = len(out)
			at[k] = i
			out = append(out, it)
		}
		names[k] = append(names[k], it.Name)
		out[i].Cooling = out[i].Cooling || it.Cooling
	}
	for k, i := range at {
		if len(names[k]) > 1 {
			out[i].Name = w.list(names[k], 0)
			out[i].Title = sentence(out[i].Name)
		}
	}
	return out
}

// addCautions adds the cautions of all work on the cooling system, each once,
// in their short form and their usual order.
func (p *Page) addCautions(e models.Envelope) {
	wanted := map[string]bool{}
	for i := range p.Machines {
		m := &p.Machines[i]
		var cooling []string
		for _, it := range m.Items {
			if it.Cooling {
				cooling = append(cooling, it.Notice.Item)
			}
		}
		if len(cooling) == 0 {
			continue
		}
		m.Cooling, p.Cooling = true, true
		for _, c := range models.CautionsForAll(cooling, e.Machines[m.Items[0].Notice.Machine]) {
			wanted[c.ID] = true
		}
	}
	for _, c := range models.Cautions() {
		if wanted[c.ID] {
			p.Cautions = append(p.Cautions, c.Short.In(p.Lang))
		}
	}
}
