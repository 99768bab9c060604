package sheet

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
)

// itemsInHand gives the items of the work in hand: those of the job's lines
// and of the call. Where there are none and the complaint speaks of the
// cooling system, that will be opened: guessed is true.
func (b *builder) itemsInHand(hand *models.WholeJob) (items []string, guessed bool) {
	items = slices.Clone(b.Items)
	said := b.Complaint
	if hand != nil {
		opened := false
		for _, l := range job.LinesOf(*hand, hand.Job.Turn) {
			if l.Item != "" && !slices.Contains(items, l.Item) {
				items = append(items, l.Item)
			}
			opened = opened || l.Cooling && l.Item == ""
		}
		if opened && !slices.ContainsFunc(items, models.CoolingItem) {
			items = append(items, models.ItemCoolant)
		}
		if hand.Job.Complaint != "" {
			said = hand.Job.Complaint
		}
	}
	if len(items) == 0 && b.m.Cooling != models.CoolingAir && speaksOfCooling(said) {
		return []string{models.ItemCoolant}, true
	}
	return items, false
}

// speaksOfCooling says whether a complaint points at the cooling system.
func speaksOfCooling(text string) bool {
	for _, w := range job.Words(text) {
		switch w {
		case "hot", "runs cold", "coolant", "radiator", "thermostat", "hose":
			return true
		}
	}
	return false
}

// reach lists what is worth doing while a teardown is open, and what else is
// due. Where no work is in hand, what is late, due or coming opens its own.
func (b *builder) reach(items []string, guessed bool) {
	forecasts := map[string]models.Forecast{}
	for _, f := range b.Forecasts {
		forecasts[f.Item] = f
	}
	open := map[string]bool{} // teardowns
	for _, r := range b.Rules {
		f, known := forecasts[r.Item]
		if r.Teardown != "" && (slices.Contains(items, r.Item) || len(items) == 0 && known && tells(f.Stage)) {
			open[r.Teardown] = true
		}
	}
	groups := map[string]*Within{}
	offers := b.offers()
	for _, r := range b.Rules {
		f, known := forecasts[r.Item]
		offer, offered := offers[r.Item]
		inHand := slices.Contains(items, r.Item) && !guessed
		if open[r.Teardown] {
			w := groups[r.Teardown]
			if w == nil {
				w = &Within{Teardown: r.Teardown, AccessMin: b.access(r), Guessed: guessed}
				groups[r.Teardown] = w
			}
			w.AccessMin = max(w.AccessMin, b.access(r))
			switch {
			case inHand:
				w.InHand = append(w.InHand, r.Item)
			case known && b.worth(f):
				w.Items = append(w.Items, b.item(r, f))
			case offered:
				w.Items = append(w.Items, offer)
			}
			continue
		}
		if offer.Reason == models.ReasonTestFailed && !inHand {
			b.sheet.Due = append(b.sheet.Due, offer)
			continue
		}
		if known && !inHand && (tells(f.Stage) || b.openQuestion(f)) {
			b.sheet.Due = append(b.sheet.Due, b.item(r, f))
		}
	}
	if f, known := forecasts[models.ItemFirstInspection]; known && !slices.Contains(items, f.Item) {
		i := b.item(models.Rule{Item: f.Item}, f)
		i.Name += ": " + models.Unrecorded(len(f.Items.List()), b.Language)
		b.sheet.Due = append(b.sheet.Due, i)
	}
	for _, w := range groups {
		if len(w.Items) == 0 {
			continue
		}
		if len(w.Items) == 1 && len(w.InHand) == 0 && !guessed { // nothing to share it with
			b.sheet.Due = append(b.sheet.Due, w.Items[0])
			continue
		}
		slices.SortStableFunc(w.Items, byUrgency)
		for i := range w.Items {
			// Where nothing in hand opens it, the first item pays for that.
			if len(w.InHand) > 0 || guessed || i > 0 {
				w.Items[i].SavesMin = w.AccessMin
				w.SavesMin += w.AccessMin
			}
		}
		b.sheet.Within = append(b.sheet.Within, *w)
	}
	slices.SortFunc(b.sheet.Within, func(x, y Within) int {
		return cmp.Or(byUrgency(x.Items[0], y.Items[0]), cmp.Compare(x.Teardown, y.Teardown))
	})
	slices.SortStableFunc(b.sheet.Due, byUrgency)
}

// tells says whether a stage asks for work.
func tells(s models.Stage) bool {
	return s == models.StageLate || s == models.StageDue || s == models.StageComing
}

// worth says whether an item within reach is worth doing now: it is due or
// coming, nobody knows when it was done, or not too much of its interval is
// left.
func (b *builder) worth(f models.Forecast) bool {
	if tells(f.Stage) || b.openQuestion(f) {
		return true
	}
	if f.DueOn == 0 || f.LastOn == 0 {
		return false
	}
	return f.InReach(b.Today)
}

// farAhead is from how many days ahead an unsure date is nobody's worry yet.
const farAhead = 365

// openQuestion says whether an unsure item is worth a look now.
func (b *builder) openQuestion(f models.Forecast) bool {
	return f.Stage == models.StageUnsure && (f.DueOn == 0 || b.Today.DaysTo(f.DueOn) <= farAhead)
}

// access gives the minutes that a rule's teardown takes, there and back.
func (b *builder) access(r models.Rule) int {
	if r.AccessMin > 0 {
		return r.AccessMin
	}
	best := 0
	for _, t := range b.Teardowns {
		if t.ID == r.Teardown && (models.KindID(t.Kind) == models.KindID(b.m.Kind) || t.Kind == "" && best == 0) {
			best = t.AccessMin
		}
	}
	return best
}

// offers gives the changes of parts on condition, by item: those that may be
// made while it is apart, and those whose test failed since the last change.
func (b *builder) offers() map[string]Item {
	out := map[string]Item{}
	for _, r := range models.Offered(b.Rules, b.Forecasts, b.Today) {
		out[r.Item] = b.item(r, models.Forecast{Reason: models.ReasonOnCondition})
	}
	for _, r := range b.Rules {
		for _, test := range models.Items() {
			if slices.Contains(test.DoneBy, r.Item) && b.failed(test.ID, r.Item) {
				out[r.Item] = b.item(r, models.Forecast{Reason: models.ReasonTestFailed})
			}
		}
	}
	return out
}

// failed says whether the newest answer to the check of a test is "not ok" and
// the part was not changed on that day or since.
func (b *builder) failed(test, change string) bool {
	bad, on := false, models.Date(0)
	for _, w := range b.Jobs {
		for _, a := range w.Checks {
			if last, ok := a.Last(); ok && a.Check.Def == job.PassedCheck(test) && began(w.Job) >= on {
				bad, on = last.Result == models.CheckBad, began(w.Job)
			}
		}
	}
	return bad && !slices.ContainsFunc(b.History.Services, func(s models.Service) bool { return s.Item == change && s.At >= on })
}

func (b *builder) item(r models.Rule, f models.Forecast) Item {
	i := Item{
		Item: r.Item, Name: models.ItemName(r.Item, b.Language), Stage: f.Stage, EarlyOn: f.EarlyOn, DueOn: f.DueOn, LateOn: f.LateOn, LateOpen: f.LateOpen,
		Reason: f.Reason, WorkMin: r.WorkMin, PartsDays: r.PartsDays, LastOn: f.LastOn, TeardownID: r.Teardown,
	}
	if f.DueOn != 0 {
		i.DaysEarly = b.Today.DaysTo(f.DueOn)
	}
	return i
}

// byUrgency puts the most urgent first; what has no date comes last within
// its stage.
func byUrgency(x, y Item) int {
	day := func(d models.Date) models.Date {
		if d == 0 {
			return models.MaxDate
		}
		return d
	}
	return cmp.Or(cmp.Compare(x.Stage.Rank(), y.Stage.Rank()), cmp.Compare(day(x.DueOn), day(y.DueOn)), models.CompareItems(x.Item, y.Item))
}
