package folder

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

func checkOwner(in *pass, r *line, v *models.Owner) {
	in.lookalike(r, "owner", v.ID)
	in.owners[v.ID] = true
	if v.Name == "" {
		v.Name = v.ID
	}
}

func checkMachine(in *pass, r *line, v *models.Machine) {
	if _, again := in.machines[v.ID]; !again && v.ID != "" {
		in.machines[v.ID] = machineRow{kind: v.Kind, meters: v.Meters}
		in.kinds[models.KindID(v.Kind)] = true
	}
	in.lookalike(r, "machine", v.ID)
	if in.hasOwners {
		in.needOwner(r, "owner", v.Owner)
	} else {
		in.owners[v.Owner] = true // also that of a faulty row, for the contacts' sake
		in.lookalike(r, "owner", v.Owner)
	}
	milesWidth := r.guess(v.Meters, models.Odometer, "miles_start", &v.MilesStart)
	hoursWidth := r.guess(v.Meters, models.HourMeter, "hours_start", &v.HoursStart)
	onMeter(r, v.ID, v.Meters, models.Odometer, "miles_start", v.MilesStart)
	onMeter(r, v.ID, v.Meters, models.HourMeter, "hours_start", v.HoursStart)
	onMeter(r, v.ID, v.Meters, models.Odometer, "miles_max", v.MilesMax)
	in.askStart(r, *v)
	if v.MilesMax.Known && v.MilesStart.F > v.MilesMax.F {
		r.fault("miles_start", "is above miles_max", "correct the one or the other")
	}
	if (milesWidth.Known || hoursWidth.Known) && v.InService == 0 && r.clean("in_service") {
		r.fault("in_service", "is empty, and what the meters showed then is a guess", "write the day of the guess, or move the guess to readings.csv")
	}
	in.guessed(r, v.ID, v.InService, &v.MilesStart, &v.HoursStart, milesWidth, hoursWidth)
	_, here := in.machines[v.Tag]
	_, stored := in.opt.Stored.Machines[v.Tag]
	now, known := in.opt.Stored.Machines[v.ID]
	switch {
	case (here || stored) && v.Tag != v.ID && now.Tag == v.Tag:
		r.warn("tag", "is the id of another machine", "name that one id:"+v.Tag+", and this one by its own id or owner/tag")
	case (here || stored) && v.Tag != v.ID:
		r.ask("tag", "is the id of another machine", "name that one id:"+v.Tag+", and this one by its own id or owner/tag")
	case !known && in.storedTags()[v.ID] && v.Tag != v.ID:
		r.ask("machine", "is the tag of another machine", "name this one id:"+v.ID+", and that one by its own id or owner/tag")
	}
}

// storedTags gives the tags of the machines on record.
func (in *pass) storedTags() map[string]bool {
	if in.tags == nil {
		in.tags = map[string]bool{}
		for _, m := range in.opt.Stored.Machines {
			in.tags[m.Tag] = true
		}
	}
	return in.tags
}

// makeOwners makes the owners whom machines.csv names where there is no
// owners.csv, each named by its id.
func makeOwners(in *pass, _ bool) {
	if in.hasOwners {
		return
	}
	made := map[string]bool{}
	for _, m := range in.set.Machines {
		id := m.Owner
		if made[id] {
			continue
		}
		made[id] = true
		if _, known := in.opt.Stored.Owners[id]; known {
			continue
		}
		in.set.Owners = append(in.set.Owners, models.Owner{ID: id, Name: id})
	}
}

// needOwner refuses an owner whom nobody knows.
func (in *pass) needOwner(r *line, field, id string) {
	_, known := in.opt.Stored.Owners[id]
	if id == "" || in.owners[id] || known {
		return
	}
	near := models.Nearest(id, slices.Concat(slices.Sorted(maps.Keys(in.owners)), slices.Sorted(maps.Keys(in.opt.Stored.Owners))), 2)
	if near != "" {
		near = "; perhaps " + near + " is meant"
	}
	switch {
	case in.hasOwners && !in.broken["owners.csv"]:
		r.fault(field, "is not in owners.csv", "add the owner there or correct the id"+near)
	case !in.hasOwners && !in.broken["machines.csv"]:
		r.fault(field, "has no machine in machines.csv", "correct the id, or add an owners.csv with the owner in it"+near)
	}
}

// need refuses a name in a field that no row of a file has and nobody knows.
func (in *pass) need(r *line, field, file, name, what string) {
	switch {
	case name == "" || in.named[rowName{file, name}] || in.broken[file]:
	case in.opt.Known != nil && in.opt.Known(file, name):
	default:
		r.fault(field, "is not in "+file, "add the "+field+" there or correct the "+what)
	}
}

func (in *pass) needJob(r *line, id string)      { in.need(r, "job", "jobs.csv", id, "number") }
func (in *pass) needMessage(r *line, key string) { in.need(r, "message", "messages.csv", key, "key") }
func (in *pass) needReply(r *line, key string)   { in.need(r, "reply", "replies.csv", key, "key") }

// needMachine gives what is known of a machine and refuses one that nobody
// knows; false: nothing is known of it.
func (in *pass) needMachine(r *line, id string) (machineRow, bool) {
	if id == "" {
		return machineRow{}, false
	}
	if m, ok := in.machines[id]; ok {
		return m, true
	}
	if m, ok := in.opt.Stored.Machines[id]; ok {
		known := machineRow{kind: m.Kind, meters: m.Meters}
		in.machines[id] = known
		return known, true
	}
	if !in.broken["machines.csv"] {
		r.fault("machine", "is not in machines.csv", "add the machine there or correct the id")
	}
	return machineRow{}, false
}

// onMeter refuses a value for a meter that the machine does not have.
func onMeter(r *line, id string, has models.Meters, meter models.Meter, field string, v models.Number) {
	if !v.Known || has == "" || has.Has(meter) {
		return
	}
	r.fault(field, fmt.Sprintf("is for a meter that machine %s does not have (%s)", models.Shorten(id, maxID), describeMeters(has)),
		"empty the cell, or correct meters in machines.csv")
}

// describeMeters says which meters a machine has.
func describeMeters(has models.Meters) string {
	var words []string
	switch {
	case has == models.MetersNone:
		return "it has none"
	case has.Metric():
		words = append(words, "an odometer in kilometers")
	case has.Has(models.Odometer):
		words = append(words, "an odometer in miles")
	}
	if has.Has(models.HourMeter) {
		words = append(words, "an hour meter")
	}
	return "it has " + strings.Join(words, " and ")
}

// guess reads a meter's cell that is no plain number and gives how far the
// value may be off; not known for a value that was read exactly.
func (r *line) guess(has models.Meters, meter models.Meter, field string, v *models.Number) (width models.Number) {
	text := r.cell(field)
	if v.Known || text == "" || !r.clean(field) {
		return width
	}
	got, err := models.ParseMeterValue(text, meter, has.Metric())
	if err != nil {
		r.fault(field, err.Error(), guessHint)
		return width
	}
	*v = got.Number
	return got.Width
}

// meterValues looks at a row's machine and what it says of the meters. The
// widths are those of guesses.
func (in *pass) meterValues(r *line, id string, miles, hours *models.Number) (milesWidth, hoursWidth models.Number) {
	m, ok := in.needMachine(r, id)
	milesWidth, hoursWidth = r.guess(m.meters, models.Odometer, "miles", miles), r.guess(m.meters, models.HourMeter, "hours", hours)
	if !ok {
		return milesWidth, hoursWidth
	}
	onMeter(r, id, m.meters, models.Odometer, "miles", *miles)
	onMeter(r, id, m.meters, models.HourMeter, "hours", *hours)
	return milesWidth, hoursWidth
}

// askStart asks about meters to begin with that are more than the machine can
// have run. Those on record are left alone; what is read later is for the
// screening to doubt.
func (in *pass) askStart(r *line, v models.Machine) {
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		start := v.Start(meter)
		shown := start.F
		if meter == models.Odometer {
			shown = v.Meters.Miles(shown)
		}
		if why := v.Reach(meter).Beyond(shown, v.InService); why != "" && start != in.opt.Stored.Machines[v.ID].Start(meter) {
			r.ask(string(meter)+"_start", "is "+string(why), "see whether a digit is too many, or the unit another")
		}
	}
}

// guessed makes readings of guesses in a row whose values are not kept as
// guesses there, and takes them out of it.
func (in *pass) guessed(r *line, machine string, at models.Date, miles, hours *models.Number, milesWidth, hoursWidth models.Number) {
	for _, g := range []struct {
		width models.Number
		value *models.Number
		into  func(*models.Reading) *models.Number
	}{
		{milesWidth, miles, func(v *models.Reading) *models.Number { return &v.Miles }},
		{hoursWidth, hours, func(v *models.Reading) *models.Number { return &v.Hours }},
	} {
		if !g.width.Known {
			continue
		}
		v := models.Reading{Machine: machine, At: at, Source: models.SourceShop, Width: g.width}
		*g.into(&v), *g.value = *g.value, models.Number{}
		if !r.wrong {
			const file = "readings.csv" // where it stands on no line
			in.set.Readings, in.report.Lines[file] = append(in.set.Readings, v), append(in.report.Lines[file], 0)
		}
	}
}

func checkReading(in *pass, r *line, v *models.Reading) {
	milesWidth, hoursWidth := in.meterValues(r, v.Machine, &v.Miles, &v.Hours)
	for _, w := range []models.Number{milesWidth, hoursWidth} {
		if w.Known && !v.Width.Known {
			v.Width = w
		}
	}
	if !v.Miles.Known && !v.Hours.Known && r.clean("miles", "hours") {
		r.fault("", "gives neither miles nor hours", "write what the meter showed, or take the row out")
	}
	if v.Width.Known && v.Miles.Known && v.Hours.Known {
		r.fault("width", "would be of miles and hours at once", "write the two on rows of their own, each with its width")
	}
}

func checkSwap(in *pass, r *line, v *models.Swap) {
	m, ok := in.needMachine(r, v.Machine)
	if ok && m.meters != "" && v.Meter != "" && !m.meters.Has(v.Meter) {
		r.fault("meter", fmt.Sprintf("is a meter that machine %s does not have (%s)", v.Machine, describeMeters(m.meters)),
			"correct the meter, or meters in machines.csv")
	}
	if r.wrong {
		return
	}
	key := swapDay{v.Machine, v.At, v.Meter}
	if before, again := in.swaps[key]; again {
		r.warn("meter", fmt.Sprintf("was changed on that day by line %d already", before), "see whether both rows are meant")
		return
	}
	in.swaps[key] = r.rec.line
}

func checkService(in *pass, r *line, v *models.Service) {
	milesWidth, hoursWidth := in.meterValues(r, v.Machine, &v.Miles, &v.Hours)
	in.guessed(r, v.Machine, v.At, &v.Miles, &v.Hours, milesWidth, hoursWidth)
	if len(in.opt.Stored.Rules) == 0 || v.Item == "" || in.items[v.Item] || in.lostItems[v.Item] {
		return
	}
	in.lostItems[v.Item] = true
	remedy := "correct the item, or add a rule for it to items.csv"
	if near := models.NearItems(v.Item); len(near) > 0 && !slices.Contains(near, v.Item) {
		remedy = "if you mean " + models.Listed(near, "or") + ", write that; else add a rule for it to items.csv"
		r.slip("item", "has no rule, so nothing falls due from it", remedy)
		return
	}
	r.warn("item", "has no rule, so nothing falls due from it", remedy)
}

func checkRule(in *pass, r *line, v *models.Rule) {
	v.Origin = models.OriginFolder
	if !v.Retired {
		in.likelySlip(r, v)
	}
	in.ruleFor(*v)
	if (v.Make == "") != (v.Model == "") && r.clean("make", "model") {
		field, other := "make", "model"
		if v.Make == "" {
			field, other = other, field
		}
		r.fault(field, "stands without a "+other, "give both or neither")
	}
	if v.Kind == "" && v.Model == "" && v.Machine == "" && r.clean("kind", "make", "model", "machine") {
		r.fault("kind", "is empty", "say for which kind, which make and model, or which machine the rule is")
	}
	if v.Machine != "" {
		m, ok := in.needMachine(r, v.Machine)
		if ok && v.Kind != "" && m.kind != "" && models.KindID(v.Kind) != models.KindID(m.kind) {
			r.fault("kind", fmt.Sprintf("is not that of machine %s, which is a %s", v.Machine, m.kind), "correct the kind or leave it empty")
		}
	}
	if every := 30 * v.Months; v.LeadDays > every && every > 0 {
		r.warn("lead_days", "is longer than the interval", "write fewer days than the months have")
	}
	limits := []string{"miles", "hours", "months", "first_miles", "first_hours", "first_months", "by"}
	if v.NeverDue() && !v.Retired && r.clean(limits...) {
		r.fault("", "has no limit", "give at least one of miles, hours, months or by, or write yes under retired to take the rule away")
	}
}

// likelySlip warns of an item or kind that nobody has used before and that is
// written nearly like one that the program knows.
func (in *pass) likelySlip(r *line, v *models.Rule) {
	if near := models.NearItems(v.Item); len(near) > 0 && !in.items[v.Item] && !slices.Contains(models.KnownItems(), v.Item) {
		r.slip("item", "is taken as an item of your own", "if you mean "+models.Listed(near, "or")+
			", write that, and take this one away with a row that says yes under retired")
	}
	if near := models.NearKind(v.Kind); near != "" && !in.kinds[models.KindID(v.Kind)] {
		r.slip("kind", "is taken as a kind of your own", "if you mean "+near+", write that, and take this rule away with a row that says yes under retired")
	}
}

// warnOfKinds names the kinds of machines.csv for which there is no rule, each
// once: nothing ever falls due on such a machine.
func warnOfKinds(in *pass, _ bool) {
	warnOfModels(in)
	if len(in.opt.Stored.Rules) == 0 {
		return
	}
	rules := slices.AppendSeq(slices.Clone(in.set.Rules), maps.Values(in.opt.Stored.Rules))
	told := map[string]bool{}
	for i, m := range in.set.Machines {
		holds := func(r models.Rule) bool { return !r.Retired && r.Fits(m) }
		kind := models.KindID(m.Kind)
		if told[kind] || m.Mistake.Why != "" || slices.ContainsFunc(rules, holds) {
			continue
		}
		told[kind] = true
		remedy := "add rules for it to items.csv, or write a kind that has some: " + kindsWithRules(rules)
		if near := models.NearKind(kind); near != "" {
			in.report.Slips++
			remedy = "if you mean " + near + ", write that; else " + remedy
		}
		in.warn(models.Fault{
			File: "machines.csv", Line: in.report.Lines["machines.csv"][i], Field: "kind", Value: m.Kind,
			Problem: "has no rules, so that nothing falls due on such a machine",
			Remedy:  remedy,
		})
	}
}

// warnOfModels names the rules of items.csv that are for a model of which there
// is no machine. Those on record are left alone.
func warnOfModels(in *pass) {
	machines := slices.AppendSeq(slices.Clone(in.set.Machines), maps.Values(in.opt.Stored.Machines))
	for i, r := range in.set.Rules {
		_, known := in.opt.Stored.Rules[r.Key()]
		if what, remedy := r.ForNobody(machines); what != "" && !known {
			in.report.Slips++
			in.warn(models.Fault{File: "items.csv", Line: in.report.Lines["items.csv"][i], Field: "model", Value: r.Model, Problem: what, Remedy: remedy})
		}
	}
}

// kindsWithRules lists the kinds that rules name.
func kindsWithRules(rules []models.Rule) string {
	var kinds []string
	for _, r := range rules {
		if r.Kind != "" && !r.Retired {
			kinds = append(kinds, models.KindID(r.Kind))
		}
	}
	slices.Sort(kinds)
	return strings.Join(slices.Compact(kinds), ", ")
}

func checkContact(in *pass, r *line, v *models.Contact) {
	in.needOwner(r, "owner", v.Owner)
	if v.ID == "" && r.clean("contact") {
		v.ID = derivedID(*v)
	}
	if !r.clean("mail", "mobile", "prefers") {
		return
	}
	switch {
	case v.Mail == "" && v.Mobile == "":
		r.warn("name", "has neither a mail address nor a number and can get no messages", "add one when it is known")
	case (v.Prefers == models.ChannelSMS || v.Prefers == models.ChannelPhone) && v.Mobile == "":
		r.warn("prefers", "is a channel without an address", "add a mobile number")
	case v.Prefers == models.ChannelMail && v.Mail == "":
		r.warn("prefers", "is a channel without an address", "add a mail address")
	}
}

// maxContactID is the longest id of a contact, in characters: what an owner's
// id, a slash and a name make together.
const maxContactID = 2*maxID + 1

// derivedID gives the id of a contact without one of its own: the owner's id,
// a slash and the name.
func derivedID(v models.Contact) string {
	name := models.PlainID(v.Name, maxID)
	if name == "" {
		name = "contact"
	}
	return v.Owner + "/" + name
}

// contactID makes the column of the ids write the derived id where a contact
// has none.
func contactID(c column[models.Contact]) column[models.Contact] {
	format := c.format
	c.format = func(v *models.Contact) string {
		if v.ID == "" {
			return derivedID(*v)
		}
		return format(v)
	}
	return c
}
