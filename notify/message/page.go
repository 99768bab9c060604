package message

import (
	"cmp"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Page is what a template gets: the words and facts of one message.
type Page struct {
	Shop     Shop
	Purpose  models.Purpose
	Lang     string       // "en" or "es"
	Greeting string       // "Hello Ana,"
	Owner    string       // whose machines these are; may be ""
	Body     string       // the words of an answer or alert; else ""
	Machines []Machine    // the most urgent first
	Sections []Section    // the same by stage, the most urgent first
	Worst    models.Stage // the most urgent stage in the message; "" for none
	Lead     string       // what it is about, in one sentence; "" without machines
	Subject  string       // the same for a subject
	Texts    int          // how many text messages it may take
	Single   bool         // the lead says all but what Lines say of one item
	Brief    bool         // there are so many machines that they are told by stage
	Checks   bool         // whether it asks if a repair has held
	Coming   bool         // whether a visit in it is still to come
	Cautions []string     // of the work on the cooling system that is to be done, at most three; else none
	Cold     string       // the shortest of them, for texts; "" where there is no such work to do
	Year     int          // in which the message is written; dates of others show theirs

	words words
}

// A subject of an alert is its first sentence, in characters at least and at most.
const (
	subjectLeast = 20
	subjectMost  = 78
)

// briefFrom is how many machines make a mail brief.
const briefFrom = 5

// Machine is one machine's part of a message.
type Machine struct {
	Label  string // its tag; "Unit 3" where that is a number only
	About  string // what it is and where; may be ""
	Site   string // where alone; may be ""
	Items  []Item // the most urgent first, questions last
	Groups []Item // the same with items of which all else would read alike joined into one
	Reads  string // an example of its meter's reading: "6120 mi"; "" where it has no meter

	words words
	news  bool // in a section: it stands in no section before it
}

// Item is one notice in words.
type Item struct {
	Name    string // "coolant change"
	Title   string // the same with a large first letter
	Short   string // in one or two words: "coolant"; all of a visit
	State   string // "due by June 14, 2026"; "" of a question
	Day     string // that of the state, short: "Jun 14"; of a question, that of the last reading or the repair; may be ""
	Stage   models.Stage
	Lines   []string // sentences on it, the most needed first; may be none
	Rest    string   // " (about 240 mi to go)", "" where no meter drives it; of a visit " (coolant, hoses)"
	Plain   bool     // a question or a visit, and no item that falls due
	Cooling bool     // work on the cooling system that is to be done
	Notice  models.Notice

	date      string // the day in full
	condition string // ", on condition" of a part that no date alone has changed
}

// First gives the first item.
func (m Machine) First() Item { return m.Items[0] }

// due gives the items that fall due; where there are none, all.
func (m Machine) due() []Item {
	if i := slices.IndexFunc(m.Items, func(it Item) bool { return it.Plain }); i > 0 {
		return m.Items[:i]
	}
	return m.Items
}

// Told tells in a text what falls due, at most so many items by name: "oil,
// hoses overdue since Apr 2, 1 more". full calls them by their whole names.
func (m Machine) Told(most int, full bool) string {
	items := m.due()
	told := alike(items[:min(most, len(items))], func(it Item, names []string) string {
		return strings.Join(names, ", ") + m.words.say(" ", ": ") + m.words.state(it.Stage, it.Day, len(names)) + it.condition
	}, full)
	if more := len(items) - most; more > 0 {
		told += ", " + m.words.more(more)
	}
	return told
}

// Line tells the items of one section in one line: "oil, hoses since Apr 2;
// coolant since May 1".
func (m Machine) Line() string {
	if m.First().Plain {
		return strings.Join(m.First().Lines, " ")
	}
	return alike(m.Items, func(it Item, names []string) string {
		return strings.Join(names, ", ") + m.words.when(it.Stage, it.Day) + it.condition
	}, false)
}

// alike joins what is said of items, said once of those in a row that stand at
// the same stage since the same day.
func alike(items []Item, say func(it Item, names []string) string, full bool) string {
	var parts, names []string
	for i, it := range items {
		name := it.Short
		if full {
			name = it.Name
		}
		names = append(names, name)
		if i+1 < len(items) && items[i+1].Stage == it.Stage && items[i+1].Day == it.Day && items[i+1].condition == it.condition {
			continue
		}
		parts = append(parts, say(it, names))
		names = nil
	}
	return strings.Join(parts, "; ")
}

// PageHint says what the receiver's own page is for.
func (p Page) PageHint() string { return p.words.pageHint() }

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
func (p Page) List(n int) string {
	var names []string
	for _, m := range p.Machines[:min(n, len(p.Machines))] {
		names = append(names, m.Label)
	}
	return p.words.list(names, max(0, len(p.Machines)-n))
}

// newPage puts an envelope into words, with names no longer than the limits.
func newPage(s Shop, e models.Envelope, most limits) Page {
	w := wordsOf(cmp.Or(e.Message.Language, e.Contact.Language, e.Owner.Language, s.Language))
	p := Page{
		Shop: s, Purpose: purposeOf(e), Lang: string(w), Greeting: w.greeting(e.Contact.Name), Owner: e.Owner.Name,
		Body: e.Message.Body, Year: models.DateOf(e.Message.QueuedAt.Time()).Year(), words: w,
	}
	at := map[string]int{}
	for _, n := range e.Notices {
		i, seen := at[n.Machine]
		if !seen {
			i = len(p.Machines)
			at[n.Machine] = i
			p.Machines = append(p.Machines, newMachine(n, e.Machines[n.Machine], w, most))
		}
		item := newItem(n, e.Machines[n.Machine], s, p)
		if !item.Plain {
			item.Short = cutTo(item.Short, most.item)
		}
		p.Machines[i].Items = append(p.Machines[i].Items, item)
		p.Checks = p.Checks || n.Subject == models.SubjectCheck
		p.Coming = p.Coming || n.Subject == models.SubjectVisit && !n.DueOn.IsZero()
		if !item.Plain && (p.Worst == "" || item.Stage.Rank() < p.Worst.Rank()) {
			p.Worst = item.Stage
		}
	}
	for i := range p.Machines {
		m := &p.Machines[i]
		slices.SortStableFunc(m.Items, byUrgency)
		m.Groups = grouped(m.Items, w)
	}
	slices.SortStableFunc(p.Machines, func(a, b Machine) int { return byUrgency(a.First(), b.First()) })
	p.Brief, p.Texts = len(p.Machines) >= briefFrom, 1
	if len(p.Machines) > 1 || p.Purpose == models.PurposeAnswer {
		p.Texts = 2
	}
	p.addSections()
	p.addCautions()
	switch {
	case p.Purpose == models.PurposeShopAlert:
		first, _, _ := strings.Cut(p.Body, "\n")
		if s, _, more := strings.Cut(first, ". "); more && len(s) > subjectLeast {
			first = s
		}
		p.Subject = models.Shorten(first, subjectMost)
	case len(p.Machines) > 0:
		p.addLead()
	}
	return p
}

// purposeOf gives the purpose in whose words a message is written. One that
// tells of machines is written by what it tells in the end: notices that came
// while it waited may have joined it.
func purposeOf(e models.Envelope) models.Purpose {
	p := cmp.Or(e.Message.Purpose, models.PurposeNotices)
	if !needsNotices(p) || len(e.Notices) == 0 {
		return p
	}
	return models.PurposeOf(e.Notices)
}

// byUrgency puts the most urgent item first, and within a stage what fell or
// falls due first; what is not about an item comes last, in its own order.
func byUrgency(a, b Item) int {
	switch {
	case a.Plain && b.Plain:
		return 0
	case a.Plain:
		return 1
	case b.Plain:
		return -1
	}
	return cmp.Or(cmp.Compare(a.Stage.Rank(), b.Stage.Rank()), cmp.Compare(a.Notice.DueOn, b.Notice.DueOn))
}

// newMachine puts a machine into words for its first notice.
func newMachine(n models.Notice, m models.Machine, w words, most limits) Machine {
	if m.ID == "" {
		m.ID = n.Machine
	}
	out := Machine{Label: cutWithin(w.label(m), most.machine), About: w.about(m), Site: m.Site, words: w}
	switch {
	case m.Meters == models.MetersNone:
	case m.Meters == models.MetersHours || n.Driver == models.DriverHours:
		out.Reads = "412.5 " + unit(models.DriverHours)
	case m.Meters.Metric():
		out.Reads = "9850 " + unit(models.DriverKM)
	default:
		out.Reads = "6120 " + unit(models.DriverMiles)
	}
	return out
}

// newItem puts a notice into words.
func newItem(n models.Notice, m models.Machine, s Shop, p Page) Item {
	it := Item{Notice: n, Stage: n.Stage, Plain: true}
	switch {
	case n.Subject != models.SubjectItem && n.Subject != "":
		it.asked(s, p)
	case n.Item == models.ItemFirstInspection && n.DueOn.IsZero():
		var line string
		it.Name = models.ItemName(n.Item, p.Lang)
		it.Short, it.Cooling = it.Name, slices.ContainsFunc(models.Names(n.Detail).List(), models.CoolingItem)
		it.State, line = p.words.unrecorded(len(models.Names(n.Detail).List()))
		it.Lines = []string{line}
	default:
		it.falls(m, s, p)
	}
	it.Title = sentence(it.Name)
	return it
}

// asked puts a question or a visit into words.
func (it *Item) asked(s Shop, p Page) {
	n, w := it.Notice, p.words
	if !n.LastOn.IsZero() {
		it.Day = w.day(n.LastOn, p.Year)
	}
	switch n.Subject {
	case models.SubjectReading:
		it.Name, it.Lines = w.say("meter reading", "lectura del medidor"), []string{w.readingAsk(it.Day)}
	case models.SubjectCheck:
		it.Name, it.Lines = w.checkOn(n), []string{w.checkAsk()}
	case models.SubjectVisit:
		var line string
		it.Name = w.say("shop visit", "cita en el taller")
		it.State, line, it.Short = w.visit(n, s.BringAt, p.Year)
		it.Lines = []string{line}
		if n.Detail != "" {
			work := models.ItemNames(models.Names(n.Detail), p.Lang)
			if n.DueOn.IsZero() {
				work = w.say("It was for: %s.", "Era para: %s.", work)
			} else {
				work = w.say("To do: %s.", "Trabajo: %s.", work)
			}
			it.Lines = append(it.Lines, work)
			it.Rest = " (" + w.work(n.Detail, 3) + ")"
		}
	}
}

// falls puts an item that falls due into words.
func (it *Item) falls(m models.Machine, s Shop, p Page) {
	n, w := it.Notice, p.words
	known := models.ItemOf(n.Item)
	if known.OnCondition && n.Stage == models.StageLate { // a part that works is not overdue
		it.Stage = models.StageDue
	}
	it.Plain = false
	it.Name, it.Short = known.Name.In(p.Lang), known.Short.In(p.Lang)
	it.Cooling = known.Cooling && it.Stage != models.StageMoved
	if !n.DueOn.IsZero() {
		it.Day, it.date = w.day(n.DueOn, p.Year), w.date(n.DueOn)
	}
	it.State = w.state(it.Stage, it.date, 1)
	left, mark, over, ok := driven(n, s)
	if ok && !over && left != "" && it.Stage.Rank() <= models.StageDue.Rank() {
		left, mark = "", "" // its likely day has come all the same: no "to go" beside "due"
	}
	why := w.why(left, mark, over)
	if it.Rest = w.rest(left, over); !ok {
		why = w.byCalendar(n)
	}
	last := w.last(n, !m.InService.IsZero() && n.LastOn == m.InService)
	if known.OnCondition && n.LastBy == models.GroundsDone {
		last = w.fitted(n.LastOn)
	}
	means := known.Means.In(p.Lang)
	if known.OnCondition {
		it.condition, means = w.say(", on condition", ", según su estado"), w.onCondition()
		it.State += it.condition
	}
	if n.Stage == models.StageComing && models.Wide(n.EarlyOn, n.LateOn) {
		maybe := w.say(", maybe sooner", ", quizá antes")
		it.condition += maybe
		it.State += maybe
	}
	if it.Stage == models.StageMoved { // nothing is to be done: no more than the news
		why, last, means = "", "", ""
	}
	for _, line := range []string{means, w.likely(n), strings.TrimSpace(why + " " + last)} {
		if line != "" {
			it.Lines = append(it.Lines, line)
		}
	}
}

// grouped joins items of which all but the name reads alike into one with a
// list of names: nobody reads the same lines six times.
func grouped(items []Item, w words) []Item {
	var out []Item
	names := map[int][]string{}
	for _, it := range items {
		i := slices.IndexFunc(out, func(o Item) bool {
			return !it.Plain && !o.Plain && o.State == it.State && slices.Equal(o.Lines, it.Lines)
		})
		if i < 0 {
			i = len(out)
			out = append(out, it)
		}
		names[i] = append(names[i], it.Name)
		out[i].Cooling = out[i].Cooling || it.Cooling
	}
	for i, all := range names {
		if n := len(all); n > 1 {
			out[i].Name = w.list(all, 0)
			out[i].Title, out[i].State = sentence(out[i].Name), w.state(out[i].Stage, out[i].date, n)+out[i].condition
		}
	}
	return out
}
