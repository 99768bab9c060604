package scheduler

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit/shop"
)

// VisitResult is a visit as one act left it, and whom that was told.
type VisitResult struct {
	Visit   models.Visit
	Machine models.Machine
	Queued  []models.Message // in the outbox
	Untold  []models.Notice  // decided not to be sent, each with its reason
}

// meansPlan marks the entries by which visits are agreed, moved and dropped.
const meansPlan = "plan"

// Keep agrees a machine's planned visit: its day is locked from now on, and the
// owner's people get a message with an invitation. on picks one of several by
// its first day; none where there is only one.
func (p *Planner) Keep(ctx context.Context, at time.Time, m models.Machine, on models.Date, span Span, actor string) (VisitResult, error) {
	plan, err := p.Plan(ctx, at, span)
	if err != nil {
		return VisitResult{}, err
	}
	var found []shop.Stop
	for _, s := range plan.Stops {
		if s.Machine.ID == m.ID && (on == 0 || s.On == on) && s.Standing != shop.StandingAgreed {
			found = append(found, s)
		}
	}
	s, err := oneOf(found, func(s shop.Stop) models.Date { return s.On }, m, "planned and not agreed yet")
	if err != nil {
		return VisitResult{}, err
	}
	was := s.Visit
	v := was
	v.Machine, v.State, v.On, v.Until, v.Bay, v.Minutes, v.Why, v.ByHand = m.ID, models.VisitAgreed, s.On, s.Until, s.Bay, s.Minutes, s.Why, false
	v.Items = models.JoinNames(s.ItemIDs())
	return p.agree(ctx, at, was, v, m, actor)
}

// Move puts a machine's visit on another day, and agrees it there. bay is ""
// for any. A day on which it cannot be gives models.CodeConflict.
func (p *Planner) Move(ctx context.Context, at time.Time, m models.Machine, on, to models.Date, bay string, span Span, actor string) (VisitResult, error) {
	today := models.DateOf(at.In(p.Notify.Zone))
	if to < today {
		return VisitResult{}, models.Errorf(models.CodeInvalid, "pick today or a later day", "%s has passed", to)
	}
	if err := to.CheckAhead(today); err != nil {
		return VisitResult{}, err
	}
	was, err := p.standing(ctx, at, m, on, span)
	if err != nil {
		return VisitResult{}, err
	}
	v := was
	v.State, v.On, v.ByHand, v.Why = models.VisitAgreed, to, true, "the day was picked by hand"
	if v, err = p.place(ctx, v, at, bay); err != nil {
		return VisitResult{}, err
	}
	if was.State == models.VisitAgreed && was.On == v.On && was.Bay == v.Bay {
		return VisitResult{}, models.Errorf(models.CodeConflict, "", "the visit of %s is agreed for %s already", m.Label(), to)
	}
	return p.agree(ctx, at, was, v, m, actor)
}

// Drop takes a recorded visit out. Where its owner was told of it, the message
// takes it out of the calendars too.
func (p *Planner) Drop(ctx context.Context, at time.Time, m models.Machine, on models.Date, why, actor string) (VisitResult, error) {
	today := models.DateOf(at.In(p.Notify.Zone))
	g, err := p.Store.PlanningData(ctx, today)
	if err != nil {
		return VisitResult{}, err
	}
	var found []models.Visit
	for _, v := range g.Visits {
		if v.Machine == m.ID && v.Stands() && (on == 0 || v.On == on) {
			found = append(found, v)
		}
	}
	was, err := oneOf(found, func(v models.Visit) models.Date { return v.On }, m, "planned or agreed and recorded")
	if err != nil {
		return VisitResult{}, err
	}
	v := was
	v.State, v.Why, v.Sequence = models.VisitDropped, why, was.Sequence+1
	c := models.VisitChange{Visit: v}
	if was.State == models.VisitAgreed {
		if err := p.tell(ctx, at, &c, m); err != nil {
			return VisitResult{}, err
		}
	}
	return p.store(ctx, at, c, m, actor)
}

// standing finds the visit of a machine to be moved: a recorded one, else one
// of the plan that nobody was told of yet.
func (p *Planner) standing(ctx context.Context, at time.Time, m models.Machine, on models.Date, span Span) (models.Visit, error) {
	today := models.DateOf(at.In(p.Notify.Zone))
	g, err := p.Store.PlanningData(ctx, today)
	if err != nil {
		return models.Visit{}, err
	}
	var found []models.Visit
	for _, v := range g.Visits {
		if v.Machine == m.ID && v.Stands() && (on == 0 || v.On == on) {
			found = append(found, v)
		}
	}
	if len(found) == 0 {
		plan, err := p.Plan(ctx, at, span)
		if err != nil {
			return models.Visit{}, err
		}
		for _, s := range plan.Stops {
			if s.Machine.ID == m.ID && (on == 0 || s.On == on) {
				found = append(found, models.Visit{Machine: m.ID, On: s.On, Until: s.Until, Bay: s.Bay, Items: models.JoinNames(s.ItemIDs()), Minutes: s.Minutes})
			}
		}
	}
	return oneOf(found, func(v models.Visit) models.Date { return v.On }, m, "planned")
}

// oneOf gives the only one, or says which there are.
func oneOf[T any](found []T, day func(T) models.Date, m models.Machine, what string) (one T, err error) {
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return one, models.Errorf(models.CodeNotFound, "`roundsman plan` lists what is planned", "no visit of %s is %s", m.Label(), what)
	}
	var days []string
	for _, f := range found {
		days = append(days, day(f).String())
	}
	slices.Sort(days)
	return one, models.Errorf(models.CodeUnclear, "say which with --on DATE", "%s has %d visits that are %s: %s",
		m.Label(), len(found), what, strings.Join(days, ", "))
}

// agree stores a visit as agreed and tells it. was is the version that it
// replaces, without an ID for a new one.
func (p *Planner) agree(ctx context.Context, at time.Time, was, v models.Visit, m models.Machine, actor string) (VisitResult, error) {
	v.WasOn = 0
	if was.ID != "" {
		v.Sequence = was.Sequence + 1
		if was.State == models.VisitAgreed && was.On != v.On { // people were told another day
			v.WasOn = was.On
		}
	}
	c := models.VisitChange{Visit: v}
	if err := p.tell(ctx, at, &c, m); err != nil {
		return VisitResult{}, err
	}
	return p.store(ctx, at, c, m, actor)
}

// store writes one change and what tells it.
func (p *Planner) store(ctx context.Context, at time.Time, c models.VisitChange, m models.Machine, actor string) (VisitResult, error) {
	told := VisitResult{Machine: m, Untold: c.Untold}
	compose := func(v models.Visit, l *models.MessageWithNotices) error {
		if p.Invite == nil || l.Message.Channel != models.ChannelMail {
			return nil
		}
		to := models.Contact{ID: l.Message.Contact, Mail: l.Message.Address, Name: l.To}
		part, err := p.Invite(v, m, to, l.Message.Language, v.State == models.VisitDropped, at)
		if err != nil {
			return fmt.Errorf("writing an invitation: %w", err)
		}
		l.Message.Composed.Calendar = part
		return nil
	}
	after, err := p.Store.ChangeVisits(ctx, []models.VisitChange{c}, compose,
		models.Entry{RecordedAt: models.InstantOf(at), Actor: actor, Means: meansPlan})
	if err != nil {
		return VisitResult{}, err
	}
	told.Visit = after[0]
	for _, l := range c.Letters {
		told.Queued = append(told.Queued, l.Message)
	}
	return told, nil
}

// Post records a plan as what people are shown: its visits get numbers and
// calendar entries of their own, and moving one later has its price. Agreed
// visits are left as they are. It gives how many visits were written; a plan
// that is recorded already writes none.
func (p *Planner) Post(ctx context.Context, at time.Time, plan Plan, actor string) (int, error) {
	var changes []models.VisitChange
	for _, s := range plan.Stops {
		if s.Visit.State == models.VisitAgreed {
			continue
		}
		v := s.Visit
		v.Machine, v.State, v.On, v.Until, v.Bay, v.Minutes, v.Why = s.Machine.ID, models.VisitPlanned, s.On, s.Until, s.Bay, s.Minutes, s.Why
		v.Items = models.JoinNames(s.ItemIDs())
		if v.ID != "" {
			if s.Visit.On != v.On {
				v.WasOn = s.Visit.On
			}
			if sameVisit(s.Visit, v) {
				continue
			}
			v.Sequence++
		}
		changes = append(changes, models.VisitChange{Visit: v})
	}
	gone := func(v models.Visit, why string) {
		v.State, v.Why = models.VisitDropped, why
		v.Sequence++
		changes = append(changes, models.VisitChange{Visit: v})
	}
	for _, v := range plan.Gone {
		gone(v, "not in the plan any more")
	}
	for _, v := range plan.ground.Visits {
		if v.State == models.VisitPlanned && v.On < plan.From {
			gone(v, "its day passed and it was not agreed")
		}
	}
	if len(changes) == 0 {
		return 0, nil
	}
	after, err := p.Store.ChangeVisits(ctx, changes, nil, models.Entry{RecordedAt: models.InstantOf(at), Actor: actor, Means: meansPlan})
	return len(after), err
}

// sameVisit says whether two versions stand for the same in a calendar.
func sameVisit(a, b models.Visit) bool {
	return a.On == b.On && a.Until == b.Until && a.Bay == b.Bay && a.Items == b.Items && a.State == b.State && a.Minutes == b.Minutes
}
