package shop

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// explain finds the other days of a stop and says why it has its own.
func (d *Draft) explain(t *table, s *Stop) {
	v := &s.visit
	work, _ := t.minutes(v)
	t.book(v, -1)
	lo, hi := t.window(v)
	last, _ := t.span(v.Day, work, nil)
	own := t.cost(v, v.Day, last)
	var free []int // days on which it would fit, its own among them
	for day := lo; day <= hi; day++ {
		if bay, last, ok := t.anyBay(v, day, work); ok {
			free = append(free, day)
			if day != v.Day {
				s.Alternatives = append(s.Alternatives, Alternative{On: d.date(day), Bay: bay, Extra: t.cost(v, day, last) - own})
			}
		}
	}
	t.book(v, 1)
	slices.SortStableFunc(s.Alternatives, func(a, b Alternative) int {
		return cmp.Or(cmp.Compare(a.Extra, b.Extra), cmp.Compare(distance(a.On, s.On), distance(b.On, s.On)))
	})
	s.Alternatives = s.Alternatives[:min(len(s.Alternatives), alternativesMost)]
	s.Why = strings.Join(append([]string{d.whyDay(t, s, lo, hi, free)}, d.whyTogether(s)...), "; ")
}

func distance(a, b models.Date) int { return max(a.DaysTo(b), b.DaysTo(a)) }

// anyBay finds a bay in which a visit can be on a day.
func (t *table) anyBay(v *visit.Visit, day, work int) (bay string, last int, ok bool) {
	for i := range t.d.Problem.Bays {
		b := &t.d.Problem.Bays[i]
		if last, ok := t.fits(v, day, b, work); ok {
			return b.ID, last, true
		}
	}
	return "", 0, false
}

// whyDay says why a stop is on its day and no other.
func (d *Draft) whyDay(t *table, s *Stop, lo, hi int, free []int) string {
	day, lead := s.visit.Day, s.Items[0]
	due := d.day(lead.Forecast.DueOn)
	after := slices.ContainsFunc(free, func(f int) bool { return f > day })
	before := slices.ContainsFunc(free, func(f int) bool { return f < day })
	m := t.machines[s.visit.Machine]
	late := d.say("it is overdue", "ya está vencido")
	if models.ItemOf(lead.Item).OnCondition {
		late = d.say("its day has passed", "ya pasó su fecha")
	}
	afterNote, isAfter := d.nextTo(m, day, -1, free)
	switch {
	case s.Standing == StandingAgreed && s.Visit.ByHand:
		return d.say("agreed, the day was picked by hand", "acordada, el día se eligió a mano")
	case s.Standing == StandingAgreed:
		return d.say("agreed with the owner", "acordada con el dueño")
	case isAfter && !before:
		return d.say("first open day after ", "primer día libre después de ") + afterNote
	case !after && d.isBar(t, s, hi):
		return d.say("last open day before the season", "último día libre antes de la temporada")
	case !before && d.parts(t, s, lo) && day > d.first():
		return d.say("first open day with its parts here", "primer día libre con las piezas aquí")
	case due < d.first() && !before:
		return d.say("first day with room, as ", "primer día con lugar, porque ") + late
	case due < d.first():
		return d.say("soon, as ", "pronto, porque ") + late
	}
	if note, ok := d.nextTo(m, day, 1, free); ok {
		return d.say("last open day before ", "último día libre antes de ") + note
	}
	if isAfter && due <= day {
		return d.say("first open day after ", "primer día libre después de ") + afterNote
	}
	switch {
	case day == due:
		return d.say("the day it falls due", "el día en que toca")
	case day < due && !slices.ContainsFunc(free, func(f int) bool { return f > day && f <= due }):
		return d.say("nearest day with room before it falls due", "el día con lugar más cercano antes de que toque")
	case day > due && !slices.ContainsFunc(free, func(f int) bool { return f >= due && f < day }):
		return d.say("first day with room after it falls due", "primer día con lugar después de que toca")
	case len(s.Items) > 1 && day < due:
		return d.say("early enough for all that is done together", "a tiempo para todo lo que se hace junto")
	case len(s.Items) > 1:
		return d.say("the best day for all that is done together", "el mejor día para todo lo que se hace junto")
	case day < due:
		return d.say("a little early, as that costs least", "un poco antes, que es lo que menos cuesta")
	}
	return d.say("a little late, as that costs least", "un poco después, que es lo que menos cuesta")
}

// isBar says whether a hard bar ends the days of a stop.
func (d *Draft) isBar(t *table, s *Stop, hi int) bool {
	for _, id := range s.visit.Items {
		if it := t.items[id]; it.Latest != nil && *it.Latest == hi {
			return true
		}
	}
	return false
}

// parts says whether parts begin the days of a stop.
func (d *Draft) parts(t *table, s *Stop, lo int) bool {
	for _, id := range s.visit.Items {
		if it := t.items[id]; it.Lead == lo && it.Lead > it.Earliest {
			return true
		}
	}
	return false
}

// nextTo says whether the next days in a direction, up to the next one with
// room, hold a named span on which the machine cannot be spared or the shop is
// closed for longer than a weekend.
func (d *Draft) nextTo(m *visit.Machine, day, step int, free []int) (note string, ok bool) {
	for _, k := range d.marks {
		if k.note == "" || k.to-k.from < 2 || !k.shop && (k.site != "" && k.site != m.Site || k.kind != "" && k.kind != m.Class) {
			continue
		}
		edge := k.from
		if step < 0 {
			edge = k.to
		}
		gap := (edge - day) * step
		if gap <= 0 {
			continue
		}
		between := slices.ContainsFunc(free, func(f int) bool { return (f-day)*step > 0 && (f-day)*step < gap })
		if !between && gap <= 7 {
			return k.note, true
		}
	}
	return "", false
}

// whyTogether says when the items are due, and what they share.
func (d *Draft) whyTogether(s *Stop) []string {
	out := []string{d.dueWords(s.Items[0])}
	var sharing, other []string
	for _, it := range s.Items[1:] {
		name := models.ItemName(it.Item, d.in.Language)
		if it.Teardown != "" && slices.ContainsFunc(s.Items, func(o StopItem) bool { return o.Item != it.Item && o.Teardown == it.Teardown }) {
			sharing = append(sharing, name)
		} else {
			other = append(other, name)
		}
	}
	if len(sharing) > 0 {
		say := d.few(sharing, models.Phrase{EN: "shares the teardown", ES: "comparte el desarme"}, models.Phrase{EN: "share the teardown", ES: "comparten el desarme"}, models.Phrase{EN: "items share teardowns", ES: "servicios comparten el desarme"})
		if s.SavedMin > 0 {
			say += d.say(", saves ", ", ahorra ") + models.HoursOf(s.SavedMin)
		}
		out = append(out, say)
	}
	if len(other) > 0 {
		same := models.Phrase{EN: "done in the same stop", ES: "en la misma parada"}
		out = append(out, d.few(other, same, same, models.Phrase{EN: "more done in the same stop", ES: "más en la misma parada"}))
	}
	for _, f := range d.in.Forecasts {
		if f.Machine == s.Machine.ID && f.Item == models.ItemFirstInspection {
			out = append(out, models.ItemName(f.Item, d.in.Language)+d.say(" with it: ", " a la vez: ")+models.Unrecorded(len(f.Items.List()), d.in.Language))
		}
	}
	var offers []string
	for _, r := range d.offers[s.Machine.ID] {
		if slices.ContainsFunc(s.Items, func(it StopItem) bool { return it.Teardown == r.Teardown }) {
			offers = append(offers, models.ItemName(r.Item, d.in.Language))
		}
	}
	if len(offers) > 0 {
		out = append(out, d.few(offers, models.Phrase{EN: "can go with it", ES: "puede ir con ello"}, models.Phrase{EN: "can go with it", ES: "pueden ir con ello"}, models.Phrase{EN: "changes can go with it", ES: "cambios pueden ir con ello"}))
	}
	return out
}

// say gives a text in the language of the plan.
func (d *Draft) say(en, es string) string { return models.Phrase{EN: en, ES: es}.In(d.in.Language) }

// few names one or two things and what is said of them, and counts more.
func (d *Draft) few(names []string, one, two, many models.Phrase) string {
	switch len(names) {
	case 1:
		return names[0] + " " + one.In(d.in.Language)
	case 2:
		return models.Listed(names, d.say("and", "y")) + " " + two.In(d.in.Language)
	}
	return fmt.Sprintf("%d %s", len(names), many.In(d.in.Language))
}

// dueWords says when an item falls due: "coolant due Jun 3".
func (d *Draft) dueWords(it StopItem) string {
	days := d.in.Today.DaysTo(it.Forecast.DueOn)
	day := models.ShortDay(it.Forecast.DueOn, d.in.Language, days > 300 || days < -300)
	return models.ItemName(it.Item, d.in.Language) + d.say(" due ", ", para el ") + day
}

// left gives the items due within the plan that are in no visit, each with
// what keeps it out.
func (d *Draft) left(t *table, done map[string]bool) []Left {
	var out []Left
	for i := range d.Problem.Items {
		it := &d.Problem.Items[i]
		p := d.items[it.ID]
		if done[it.ID] || p.optional {
			continue
		}
		out = append(out, Left{Machine: d.machines[p.machine], Item: p.item, Forecast: p.forecast, Why: d.whyLeft(t, it)})
	}
	slices.SortFunc(out, func(a, b Left) int {
		return cmp.Or(cmp.Compare(a.Forecast.DueOn, b.Forecast.DueOn), strings.Compare(a.Machine.ID, b.Machine.ID), strings.Compare(a.Item, b.Item))
	})
	return out
}

// whyLeft says what keeps an item out of the plan.
func (d *Draft) whyLeft(t *table, it *visit.Item) string {
	v := visit.Visit{Machine: it.Machine, Items: []string{it.ID}}
	work, _ := t.minutes(&v)
	m := t.machines[it.Machine]
	lo, hi := t.window(&v)
	open, ends, spared, bay := false, false, false, false
	for i := range d.Problem.Bays {
		bay = bay || takes(&d.Problem.Bays[i], m.Class)
	}
	for day := lo; day <= hi; day++ {
		if t.open[day] == 0 {
			continue
		}
		open = true
		last, ok := t.span(day, work, nil)
		ends = ends || ok
		black := false
		for on := day; on <= last; on++ {
			black = black || t.black(m, on)
		}
		spared = spared || ok && !black
		if _, last, ok := t.anyBay(&v, day, work); ok && t.cost(&v, day, last)+d.transport(m.Site) < it.Skip {
			return d.say("the search did not come to it; give it longer", "la búsqueda no llegó hasta aquí; dele más tiempo")
		}
	}
	switch {
	case !bay:
		return d.say("no bay takes a ", "ninguna bahía admite: ") + m.Class
	case !open:
		return d.say("no open day within its dates", "ningún día abierto entre sus fechas")
	case !ends:
		return d.say("its work does not end within the plan", "el trabajo no termina dentro del plan")
	case !spared:
		return d.say("the machine cannot be spared on any of its days", "no se puede prescindir de la máquina en ninguno de sus días")
	}
	return d.say("no room: bays, people or limits are taken by what matters more", "no hay lugar: lo que importa más ocupa bahías, gente o límites")
}
