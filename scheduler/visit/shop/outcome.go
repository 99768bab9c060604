package shop

import (
	"cmp"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// Standing says how a stop stands to what people know.
type Standing string

// Standings of a stop.
const (
	StandingAgreed Standing = "agreed" // the owner was told, and it stays
	StandingShown  Standing = "shown"  // people were shown this day
	StandingMoved  Standing = "moved"  // people were shown or told another day
	StandingNew    Standing = "new"
)

// Stop is one visit of the plan for people.
type Stop struct {
	Machine  models.Machine
	Site     string
	Visit    models.Visit // as recorded; without an ID where nobody was told yet
	Standing Standing
	On       models.Date
	Until    models.Date // its last day
	Bay      string
	Items    []StopItem
	Minutes  int // of work, each teardown once
	SavedMin int // minutes saved by taking apart once what is shared
	Why      string
	// Alternatives are other days for the same work, all else as planned, the
	// cheapest first; at most alternativesMost.
	Alternatives []Alternative

	visit visit.Visit
}

// StopItem is one item done at a stop.
type StopItem struct {
	Item     string
	Minutes  int
	Teardown string
	Forecast models.Forecast
}

// Alternative is another day for a stop and what it would cost more; less
// than 0 where the plan can still be bettered.
type Alternative struct {
	On    models.Date
	Bay   string
	Extra int64 // cents
}

// alternativesMost is how many alternatives a stop names.
const alternativesMost = 5

// Left is an item due within the plan that is in no visit.
type Left struct {
	Machine  models.Machine
	Item     string
	Forecast models.Forecast
	Why      string
}

// Outcome is a plan for people.
type Outcome struct {
	From, Until models.Date
	Stops       []Stop // by day, bay and machine
	Left        []Left // the most urgent first
	Conflicts   []Conflict
	Gone        []models.Visit // shown to people and not in the plan any more
	Days        []DayLoad      // each day of the plan
	Cost        int64          // cents
	Bound       int64          // no plan costs less
	Gap         float64
	Optimal     bool // no plan is better, by enumeration: more than Bound proves
	Off         []Off
	Notes       []*models.Error // what of the closures and bays could not be used
}

// Off is a span of days within the plan on which machines cannot be spared.
type Off struct {
	From, Until models.Date
	Site, Kind  string // "" is every site and kind
	Note        string
}

// DayLoad is how full the shop is on a day.
type DayLoad struct {
	On     models.Date
	Open   int    // minutes of all bays or people, whichever are fewer
	Used   int    // minutes
	Closed string // why the shop is closed; "" where it is open or closed every week
}

// Explain gives the plan for people.
func (d *Draft) Explain(plan visit.Plan) Outcome {
	out := Outcome{From: d.in.From, Until: d.in.From.AddDays(d.in.Days - 1), Conflicts: d.Conflicts, Notes: d.Notes,
		Cost: plan.Cost, Bound: plan.Bound, Optimal: plan.Optimal}
	if plan.Cost > 0 {
		out.Gap = float64(plan.Cost-plan.Bound) / float64(plan.Cost)
	}
	t := d.newTable(plan.Visits)
	done := map[string]bool{}
	for _, v := range plan.Visits {
		for _, id := range v.Items {
			done[id] = true
		}
		out.Stops = append(out.Stops, d.stop(t, v))
	}
	slices.SortFunc(out.Stops, func(a, b Stop) int {
		return cmp.Or(cmp.Compare(a.On, b.On), strings.Compare(a.Bay, b.Bay), strings.Compare(a.Machine.Label(), b.Machine.Label()), strings.Compare(a.Machine.ID, b.Machine.ID))
	})
	out.Gone = d.match(out.Stops)
	for i := range out.Stops {
		d.explain(t, &out.Stops[i])
	}
	out.Left = d.left(t, done)
	out.Days = d.loads(t)
	for _, m := range d.marks {
		if from := max(m.from, d.first()); !m.shop && from <= m.to {
			out.Off = append(out.Off, Off{From: d.date(from), Until: d.date(m.to), Site: m.site, Kind: m.kind, Note: m.note})
		}
	}
	return out
}

// stop gives a visit of the plan as a stop, as yet without its reasons.
func (d *Draft) stop(t *table, v visit.Visit) Stop {
	m := d.machines[v.Machine]
	s := Stop{Machine: m, Site: siteOf(m), On: d.date(v.Day), Bay: v.Bay, Standing: StandingNew, visit: v}
	s.Minutes, s.SavedMin = t.minutes(&v)
	last, _ := t.span(v.Day, s.Minutes, nil)
	s.Until = d.date(last)
	for _, id := range v.Items {
		p, it := d.items[id], t.items[id]
		s.Items = append(s.Items, StopItem{Item: p.item, Minutes: it.Work, Teardown: it.Access, Forecast: p.forecast})
	}
	slices.SortFunc(s.Items, func(a, b StopItem) int {
		return cmp.Or(cmp.Compare(a.Forecast.DueOn, b.Forecast.DueOn), strings.Compare(a.Item, b.Item))
	})
	return s
}

// ItemIDs gives the items of a stop.
func (s Stop) ItemIDs() []string {
	ids := make([]string, len(s.Items))
	for i, it := range s.Items {
		ids[i] = it.Item
	}
	return ids
}

// match gives each stop the recorded visit that it goes on from: the agreed
// one whose day it keeps, else one of its machine that shares an item, that of
// the same day first. It gives the visits shown for a day of the plan that
// nothing goes on from.
func (d *Draft) match(stops []Stop) (gone []models.Visit) {
	taken := map[string]bool{}
	give := func(s *Stop, v models.Visit, standing Standing) {
		s.Visit, s.Standing = v, standing
		taken[v.ID] = true
	}
	for i := range stops {
		s := &stops[i]
		if v, ok := d.agreed[stopKey(s.Machine.ID, s.visit.Day)]; ok && v.Bay == s.Bay {
			give(s, v, StandingAgreed)
		}
	}
	for _, sameDay := range []bool{true, false} {
		for i := range stops {
			s := &stops[i]
			if s.Visit.ID != "" {
				continue
			}
			for _, v := range d.standing {
				if v.Machine != s.Machine.ID || taken[v.ID] || sameDay != (v.On == s.On) || !shares(v, s) {
					continue
				}
				standing := StandingMoved
				if sameDay {
					standing = StandingShown
				}
				give(s, v, standing)
				break
			}
		}
	}
	for _, v := range d.standing {
		if v.State == models.VisitPlanned && !taken[v.ID] && d.day(v.On) < d.Problem.Days {
			gone = append(gone, v)
		}
	}
	return gone
}

// shares says whether a recorded visit and a stop have an item in common.
func shares(v models.Visit, s *Stop) bool {
	for _, it := range s.Items {
		if v.Items.Has(it.Item) {
			return true
		}
	}
	return false
}

// loads gives how full the shop is, from the first day that can be planned.
func (d *Draft) loads(t *table) []DayLoad {
	var out []DayLoad
	names := map[int]string{}
	for _, m := range d.marks {
		for day := m.from; m.shop && day <= m.to; day++ {
			if names[day] = m.note; m.note == "" {
				names[day] = "closed"
			}
		}
	}
	for day := d.first(); day < d.Problem.Days; day++ {
		out = append(out, DayLoad{On: d.date(day), Open: min(t.tech[day], t.open[day]*len(d.Problem.Bays)), Used: t.techUsed[day], Closed: names[day]})
	}
	return out
}
