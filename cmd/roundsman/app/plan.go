package app

import (
	"context"
	"fmt"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/ics"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/visit"
	"example.org/roundsman/scheduler/visit/shop"
)

// Planner readies the planning of downtime as the settings say.
func (a *App) Planner(search visit.Options) (*scheduler.Planner, error) {
	s := a.Settings
	extra := make(map[models.Date]string, len(s.Shop.ClosedOn))
	for _, d := range s.Shop.ClosedOn {
		extra[d] = "closed"
	}
	days, err := calendar.NewHolidays(s.Shop.Holidays, extra)
	if err != nil {
		return nil, err
	}
	p := s.Plan
	choices := shop.Settings{
		Bays: p.Bays, Technicians: p.Technicians, LaborCents: int64(p.LaborCents), PartsCents: int64(p.PartsCents),
		TransportCents: int64(p.TransportCents), DowntimeCents: int64(p.DowntimeCents), LateCents: int64(p.LateCents), MoveCents: int64(p.MoveCents),
	}
	copy(choices.OpenMin[:], p.OpenMinutes)
	return &scheduler.Planner{Store: a.Store, Notify: a.Runner.Notify, Settings: choices, Holidays: days, Search: search, Invite: a.invite}, nil
}

// invite writes the calendar part of a mail on a visit.
func (a *App) invite(v models.Visit, m models.Machine, to models.Contact, lang string, cancel bool, at time.Time) (string, error) {
	e := a.event(v, m, lang, at)
	e.Attendee = ics.Person{Name: to.Name, Mail: to.Mail}
	if cancel {
		return ics.Cancel(e)
	}
	return ics.Invite(e)
}

// event gives a visit as a calendar entry.
func (a *App) event(v models.Visit, m models.Machine, lang string, stamp time.Time) ics.Event {
	s := a.Settings
	from := shopOf(s)
	items := models.ItemNames(v.Items, lang)
	words := models.Phrase{EN: "%s at the shop: %s", ES: "%s en el taller: %s"}
	e := ics.Event{
		UID: v.UID, Sequence: v.Sequence, Stamp: stamp, First: v.On, Last: v.Until, Status: statusOf(v.State),
		Summary: fmt.Sprintf(words.In(lang), m.Label(), headline(v.Items, lang)), Location: s.Shop.Name,
		Organizer:   ics.Person{Name: s.Shop.Name, Mail: from.Mail},
		Description: describe(v, m, items, lang, from),
	}
	if s.Plan.Calendar == "times" {
		e.Start = ics.Local(v.On, s.Plan.BringAt, a.Runner.Notify.Zone)
		e.End = e.Start.Add(time.Duration(max(v.Minutes, 1)) * time.Minute)
		if v.Until > v.On { // nobody knows at what hour of its last day it is done: the whole day
			e.End = ics.Local(v.Until.AddDays(1), models.At(0, 0), a.Runner.Notify.Zone)
		}
	}
	return e
}

// headlineMost is how many items the first line of an entry names.
const headlineMost = 3

// headline names the first items of a visit and counts the rest.
func headline(items models.Names, lang string) string {
	ids := items.List()
	if len(ids) <= headlineMost+1 {
		return models.ItemNames(items, lang)
	}
	more := models.Phrase{EN: "%s and %d more", ES: "%s y %d más"}
	return fmt.Sprintf(more.In(lang), models.ItemNames(models.JoinNames(ids[:headlineMost]), lang), len(ids)-headlineMost)
}

// statusOf says how sure a visit is.
func statusOf(s models.VisitState) ics.Status {
	switch s {
	case models.VisitAgreed:
		return ics.Confirmed
	case models.VisitDropped:
		return ics.Cancelled
	}
	return ics.Tentative
}

// describe gives the lines below a calendar entry. Work on the cooling system
// carries its short cautions.
func describe(v models.Visit, m models.Machine, items, lang string, from message.Shop) string {
	text := models.Phrase{EN: "Work: %s. About %s.", ES: "Trabajo: %s. Unas %s."}
	out := fmt.Sprintf(text.In(lang), items, models.HoursOf(v.Minutes))
	if v.State == models.VisitPlanned {
		out += "\n" + models.Phrase{EN: "Planned, not agreed yet.", ES: "Planeado, aún no acordado."}.In(lang)
	}
	var cooling []string
	for _, item := range v.Items.List() {
		if models.CoolingItem(item) {
			cooling = append(cooling, item)
		}
	}
	for _, c := range models.CautionsForAll(cooling, m) {
		out += "\n" + c.Short.In(lang)
	}
	if from.Phone != "" {
		out += "\n" + from.Name + ", " + from.Phone
	}
	return out
}

// cancelledDays is how long a feed goes on saying that a visit is off.
const cancelledDays = 90

// FeedOf says whose visits a feed holds. The zero value is the whole shop.
type FeedOf struct {
	Owner string // only machines of this owner
	Site  string // only machines kept there
}

// Feed writes the calendar of recorded visits: planned ones as tentative,
// agreed ones as confirmed, and dropped ones as cancelled for a while.
func (a *App) Feed(ctx context.Context, of FeedOf, at time.Time) (string, error) {
	today := models.DateOf(at.In(a.Runner.Notify.Zone))
	g, err := a.Store.PlanningData(ctx, today.AddDays(-cancelledDays))
	if err != nil {
		return "", err
	}
	machines, err := a.Store.Machines(ctx)
	if err != nil {
		return "", err
	}
	byID := make(map[string]models.Machine, len(machines))
	for _, m := range machines {
		byID[m.ID] = m
	}
	entries := make([]int64, len(g.Visits))
	for i, v := range g.Visits {
		entries[i] = v.Entry
	}
	times, err := a.Store.EntryTimes(ctx, entries)
	if err != nil {
		return "", err
	}
	var events []ics.Event
	for _, v := range g.Visits {
		m, known := byID[v.Machine]
		if !known || of.Owner != "" && m.Owner != of.Owner || of.Site != "" && m.Site != of.Site {
			continue
		}
		events = append(events, a.event(v, m, a.Settings.Shop.Language, times[v.Entry].Time()))
	}
	name := a.Settings.Shop.Name
	for _, part := range []string{of.Owner, of.Site} {
		if part != "" {
			name += ", " + part
		}
	}
	return ics.Feed(name, events)
}
