package scheduler

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// CareStore is what Care needs of a store.
type CareStore interface {
	Owners(ctx context.Context) ([]models.Owner, error)
	Machines(ctx context.Context) ([]models.Machine, error)
	CareByOwner(ctx context.Context) ([]models.OwnerCare, error)
	Rules(ctx context.Context) ([]models.Rule, error)
	History(ctx context.Context, machine string, win models.Window) (models.History, error)
	Releases(ctx context.Context) (map[string]models.Release, error)
	Standings(ctx context.Context) (map[string]models.MachineStanding, error)
	Record(ctx context.Context, set models.FactSet, by models.Entry) (models.Recorded, error)
}

// Care keeps which machines the shop looks after, and how: where each stands,
// its meters, what was known of it at first, and whether its owner is told.
// Every act is one transaction, and what it silences is silent with it.
type Care struct {
	Store CareStore
	Zone  *time.Location // the shop's
}

// By is who does an act and when.
type By struct {
	At    time.Time
	Actor string
	Means string // by what way: "page", "command" ...
}

func (b By) entry() models.Entry {
	return models.Entry{RecordedAt: models.InstantOf(b.At), Actor: b.Actor, Means: b.Means}
}

func (c Care) today(b By) models.Date { return models.DateOf(b.At.In(c.Zone)) }

// Standing is a change of a machine's standing that is asked for.
type Standing struct {
	State models.StandingState
	On    models.Date // none: today
	Until models.Date // of laid_up
	To    string      // of sold: the id of an owner who is known
	ToNew string      // of sold: the name of an owner who is not
	Note  string
}

// Change records where a machine stands from a day on. One that is sold to an
// owner the shop knows, or takes on with ToNew, belongs to that owner from then
// on; its history stays with it. It gives the machine as it is now.
func (c Care) Change(ctx context.Context, m models.Machine, s Standing, by By) (models.Machine, error) {
	today := c.today(by)
	if s.On == 0 {
		s.On = today
	}
	h, err := c.Store.History(ctx, m.ID, models.Window{})
	if err != nil {
		return m, err
	}
	if err := allowed(m, h.Standing(), s, today); err != nil {
		return m, err
	}
	if err := c.tagFree(ctx, m, s); err != nil {
		return m, err
	}
	set := models.FactSet{ByHand: true, Standings: []models.MachineStanding{{Machine: m.ID, On: s.On, State: s.State, Until: s.Until, NewOwner: s.To, By: by.Actor, Note: s.Note}}}
	if s.State == models.StandsSold && (s.To != "" || s.ToNew != "") {
		buyer, err := c.buyer(ctx, s)
		if err != nil {
			return m, err
		}
		if buyer.ID == m.Owner {
			return m, models.Errorf(models.CodeConflict, "name another owner", "%s belongs to %s already", m.Label(), m.Owner)
		}
		if s.ToNew != "" {
			set.Owners = []models.Owner{buyer}
		}
		m.Owner = buyer.ID
		set.Standings[0].NewOwner = buyer.ID
		set.Machines = []models.Machine{m}
	}
	_, err = c.Store.Record(ctx, set, by.entry())
	return m, err
}

// tagFree refuses to bring a machine to an owner, or back, where its tag is that
// of another by now.
func (c Care) tagFree(ctx context.Context, m models.Machine, s Standing) error {
	standings, err := c.Store.Standings(ctx)
	if err != nil {
		return err
	}
	after := models.MachineStanding{State: s.State, NewOwner: s.To}
	if !after.InCare() || s.To == "" && standings[m.ID].InCare() {
		return nil
	}
	machines, err := c.Store.Machines(ctx)
	if err != nil {
		return err
	}
	return models.RefuseTwin(m, cmp.Or(s.To, m.Owner), machines, standings)
}

// allowed refuses a change that cannot be.
func allowed(m models.Machine, now models.MachineStanding, s Standing, today models.Date) error {
	if err := s.Until.CheckAhead(today); err != nil {
		return err
	}
	laidUp := s.State == models.StandsLaidUp
	switch {
	case s.On > today:
		return models.Errorf(models.CodeInvalid, "give today or an earlier day", "%s is still to come", s.On)
	case s.On < now.On:
		return models.Errorf(models.CodeConflict, "give that day or a later one", "where %s stands is recorded as of %s already", m.Label(), now.On)
	case laidUp && s.Until <= today:
		return models.Errorf(models.CodeInvalid, "say until when with a day that is still to come", "a machine is laid up until a day")
	case !laidUp && s.Until != 0:
		return models.Errorf(models.CodeInvalid, "leave the day out, or lay the machine up", "only a machine that is laid up has a day until which it is")
	case s.State != models.StandsSold && (s.To != "" || s.ToNew != ""):
		return models.Errorf(models.CodeInvalid, "leave the owner out, or say that it was sold", "only a machine that was sold has a new owner")
	case s.To != "" && s.ToNew != "":
		return models.Errorf(models.CodeInvalid, "name one of the two", "a machine is sold to an owner you know or to a new one")
	case s.State == models.StandsInUse && (now.State == "" || now.State == models.StandsInUse || now.State == models.StandsSold && now.InCare()):
		return models.Errorf(models.CodeConflict, "", "%s is in use already", m.Label())
	case !laidUp && s.State == now.State && !now.InCare():
		return models.Errorf(models.CodeConflict, "", "%s is out of the shop's care already", m.Label())
	}
	return nil
}

// buyer gives the owner to whom a machine is sold.
func (c Care) buyer(ctx context.Context, s Standing) (models.Owner, error) {
	owners, err := c.Store.Owners(ctx)
	if err != nil {
		return models.Owner{}, err
	}
	known := models.ByKey(owners, func(o models.Owner) string { return o.ID })
	if s.To != "" {
		o, ok := known[s.To]
		if !ok {
			return o, models.Errorf(models.CodeNotFound, models.Meant(s.To, slices.Sorted(maps.Keys(known)), "give the id of an owner, or take on a new one by name"), "there is no owner %q", s.To)
		}
		return o, nil
	}
	id := slug(s.ToNew)
	for n := 2; known[id].ID != ""; n++ {
		id = slug(s.ToNew) + strconv.Itoa(n)
	}
	return models.Owner{ID: id, Name: s.ToNew}, nil
}

// slug makes an id of a name: its letters and digits in lower case.
func slug(name string) string {
	id := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127 {
			return r
		}
		return -1
	}, strings.ToLower(name))
	if id == "" {
		return "owner"
	}
	return id
}

// MeterSwap is a change of meter as somebody tells it.
type MeterSwap struct {
	Meter models.Meter
	On    models.Date // none: today
	Old   string      // what the old meter showed last, as typed; "" is not known
	New   string      // what the new one began with
	Sure  bool        // it is right, however it looks
}

// swap reads what was typed.
func (t MeterSwap) swap(m models.Machine) (models.Swap, error) {
	s := models.Swap{Machine: m.ID, Meter: t.Meter, At: t.On}
	for _, v := range []struct {
		text string
		into *models.Number
	}{{t.Old, &s.OldValue}, {t.New, &s.NewValue}} {
		value, err := models.ParseMeterValue(v.text, t.Meter, m.Meters.Metric())
		if err == nil && value.Width.Known {
			err = errors.New("is a guess")
		}
		if err != nil {
			return s, models.Errorf(models.CodeInvalid, "write what the meter showed, such as 5120.4, or leave out what is not known",
				"%s %q %v", t.Meter, models.Shorten(v.text, 40), err)
		}
		*v.into = value.Number
	}
	return s, nil
}

// Swap records that a meter was replaced at the end of a day. What the old one
// is said to have shown is screened as a reading is: a value that does not fit
// comes back as a *models.DoubtfulReading, and one of which somebody is sure is
// a confirmed reading too.
func (c Care) Swap(ctx context.Context, m models.Machine, t MeterSwap, by By) (models.Swap, error) {
	today := c.today(by)
	if t.On == 0 {
		t.On = today
	}
	s, err := t.swap(m)
	if err == nil {
		err = c.maySwap(m, s, today)
	}
	if err != nil {
		return s, err
	}
	h, err := c.Store.History(ctx, m.ID, models.Window{})
	if err != nil {
		return s, err
	}
	for _, o := range h.Swaps {
		if o.Meter == s.Meter && o.At == s.At {
			return s, models.Errorf(models.CodeConflict, "`roundsman withdraw "+m.Label()+"` takes the wrong one back", "that meter of %s was replaced on %s already", m.Label(), s.At)
		}
	}
	if !s.OldValue.Known && !t.Sure {
		return s, models.Errorf(models.CodeDoubtful, "write it, or say that nobody knows it (--sure)", "nothing says what the old meter of %s showed last", m.Label())
	}
	set := models.FactSet{ByHand: true, Swaps: []models.Swap{s}}
	switch doubt := doubtSwap(h, s); {
	case doubt == nil:
	case !t.Sure:
		return s, doubt
	default:
		r := valueOn(s.At, s.Meter, s.OldValue)
		r.Machine, r.Standing = m.ID, models.StandingConfirmed
		set.Readings = []models.Reading{r}
	}
	_, err = c.Store.Record(ctx, set, by.entry())
	return s, err
}

// maySwap refuses a change of meter that cannot be.
func (c Care) maySwap(m models.Machine, s models.Swap, today models.Date) error {
	switch {
	case !m.Meters.Has(s.Meter):
		return models.Errorf(models.CodeInvalid, "pick one that it has", "%s has no such meter (its meters: %s)", m.Label(), m.Meters)
	case s.At > today:
		return models.Errorf(models.CodeInvalid, "give today or an earlier day", "%s is still to come", s.At)
	case s.At < m.InService:
		return models.Errorf(models.CodeInvalid, "give a later day", "%s came on %s", m.Label(), m.InService)
	case s.Meter == models.Odometer && m.MilesMax.Known && max(s.OldValue.F, s.NewValue.F) > m.MilesMax.F:
		return models.Errorf(models.CodeInvalid, "write what it showed", "the odometer of %s shows %s at most", m.Label(), m.MilesMax)
	}
	return nil
}

// Release lets owners be told of machines, or holds that back. shop holds the
// shop back as a whole, or lets go of that; it releases no machine. It gives
// how many words were new.
func (c Care) Release(ctx context.Context, machines []models.Machine, shop bool, state models.ReleaseState, note string, by By) (int, error) {
	set := models.FactSet{ByHand: true}
	add := func(id string) {
		set.Releases = append(set.Releases, models.Release{Machine: id, State: state, By: by.Actor, Note: note})
	}
	now, err := c.Store.Releases(ctx)
	if err != nil {
		return 0, err
	}
	if shop && now[""].State != state && (state == models.HeldBack || now[""].State == models.HeldBack) {
		add("")
	}
	for _, m := range machines {
		if now[m.ID].State != state {
			add(m.ID)
		}
	}
	if len(set.Releases) == 0 {
		return 0, nil
	}
	_, err = c.Store.Record(ctx, set, by.entry())
	return len(set.Releases), err
}

// Held is how much of a shop is held back.
type Held struct {
	Shop     bool // all of it
	Machines int  // that nobody has released, or that are held back
	Of       int  // machines in the shop's care
}

// Held says what is held back. Machines that have left do not count.
func (c Care) Held(ctx context.Context) (Held, error) {
	owners, err := c.Store.CareByOwner(ctx)
	if err != nil {
		return Held{}, err
	}
	said, err := c.Store.Releases(ctx)
	if err != nil {
		return Held{}, err
	}
	out := Held{Shop: said[""].State == models.HeldBack}
	for _, o := range owners {
		out.Machines, out.Of = out.Machines+o.Held, out.Of+o.Machines
	}
	return out, nil
}

// String says it in one line, "" where nothing is held back.
func (h Held) String() string {
	switch {
	case h.Shop:
		return "the shop is held back: nothing goes to owners until `roundsman release --shop`"
	case h.Machines == 0:
		return ""
	case h.Machines == h.Of:
		return "nothing goes to owners: no machine is released yet; `roundsman release --all --dry-run` shows what would go"
	}
	return strconv.Itoa(h.Machines) + " of " + strconv.Itoa(h.Of) + " machines are held back and their owners are not told; `roundsman release --all --dry-run` shows what would go"
}

// Baseline records how items of a machine stood when the shop took it on.
// Their machine, day and author are filled in. A meter value that does not fit
// comes back as a *models.DoubtfulReading, unless somebody is sure.
func (c Care) Baseline(ctx context.Context, m models.Machine, bs []models.Baseline, sure bool, by By) (models.Counts, error) {
	today := c.today(by)
	h, err := c.Store.History(ctx, m.ID, models.Window{})
	if err != nil {
		return models.Counts{}, err
	}
	for i := range bs {
		b := &bs[i]
		b.Machine, b.By = m.ID, by.Actor
		if b.On == 0 {
			b.On = today
		}
		switch {
		case b.DoneOn > today:
			return models.Counts{}, models.Errorf(models.CodeInvalid, "give a day that has come", "%s: %s is still to come", b.Item, b.DoneOn)
		case b.Miles.Known && !m.Meters.Has(models.Odometer), b.Hours.Known && !m.Meters.Has(models.HourMeter):
			return models.Counts{}, models.Errorf(models.CodeInvalid, "give a value of a meter that it has", "%s: %s has no such meter (its meters: %s)", b.Item, m.Label(), m.Meters)
		}
		if doubt := doubtBaseline(h, *b); doubt != nil && !sure {
			return models.Counts{}, doubt
		}
	}
	done, err := c.Store.Record(ctx, models.FactSet{ByHand: true, Baselines: bs}, by.entry())
	return done.Baselines, err
}
