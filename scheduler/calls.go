package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// CallStore is what working out the call list needs of a store.
type CallStore interface {
	Store
	Untold(ctx context.Context, today models.Date, why []models.Reason) ([]models.Untold, error)
	LastCalls(ctx context.Context) (map[string]models.Call, error)
	CareByOwner(ctx context.Context) ([]models.OwnerCare, error)
}

// Calls gives the owners who are to be called at a time, the most urgent
// first, at most limit (0: all), with the number of all. It stores nothing. An
// owner who was reached is left out until something new comes, and one who was
// not until the day agreed.
func Calls(ctx context.Context, st CallStore, s policy.Settings, at time.Time, limit int) (list []models.ToCall, total int, err error) {
	today := models.DateOf(at.In(s.Zone))
	c := caller{today: today, zone: s.Zone, byOwner: map[string]*models.ToCall{}, newest: map[string]models.Instant{}, machines: map[[2]string]bool{}}
	if c.last, err = st.LastCalls(ctx); err != nil {
		return nil, 0, err
	}
	untold, err := st.Untold(ctx, today, models.CallReasons())
	if err != nil {
		return nil, 0, err
	}
	for _, u := range untold {
		c.add(u)
	}
	if err := c.addChecks(ctx, st, s, at); err != nil {
		return nil, 0, err
	}
	for _, o := range c.byOwner {
		list = append(list, *o)
	}
	slices.SortFunc(list, func(a, b models.ToCall) int {
		return cmp.Or(cmp.Compare(a.Worst.Rank(), b.Worst.Rank()), cmp.Compare(a.DueOn, b.DueOn), cmp.Compare(a.Owner.ID, b.Owner.ID))
	})
	total = len(list)
	if limit > 0 {
		list = list[:min(limit, total)]
	}
	owners := make([]string, len(list))
	for i, o := range list {
		owners[i] = o.Owner.ID
	}
	people, err := st.People(ctx, owners, today)
	if err != nil {
		return nil, 0, err
	}
	for i, o := range list {
		p := people[o.Owner.ID]
		list[i].Owner, list[i].Contacts = p.Owner, contactsOf(p)
	}
	return list, total, nil
}

// caller puts a call list together.
type caller struct {
	today    models.Date
	zone     *time.Location
	last     map[string]models.Call // by owner
	byOwner  map[string]*models.ToCall
	newest   map[string]models.Instant // of what is to be said, by owner
	machines map[[2]string]bool        // owner and machine
}

// settled says whether a call to an owner has dealt with what was to be said
// from a moment on.
func (c *caller) settled(owner string, since models.Instant) bool {
	call, called := c.last[owner]
	switch {
	case !called:
		return false
	case call.AgainOn != 0:
		return call.AgainOn > c.today
	}
	return call.Reached && call.At >= since
}

// add puts what an owner was not told on the list; nil where a call settled it.
func (c *caller) add(u models.Untold) *models.ToCall {
	if c.settled(u.Owner, u.DecidedAt) {
		return nil
	}
	o := c.byOwner[u.Owner]
	if o == nil {
		o = &models.ToCall{Owner: models.Owner{ID: u.Owner}, Worst: u.Stage, DueOn: u.DueOn}
		if call, called := c.last[u.Owner]; called {
			o.Last = &call
		}
		c.byOwner[u.Owner] = o
	}
	if cmp.Or(cmp.Compare(u.Stage.Rank(), o.Worst.Rank()), cmp.Compare(u.DueOn, o.DueOn)) < 0 {
		o.Worst, o.DueOn = u.Stage, u.DueOn
	}
	if o.Why == "" || u.DecidedAt > c.newest[u.Owner] {
		o.Why, c.newest[u.Owner] = u.Why, u.DecidedAt
	}
	if about := [2]string{u.Owner, u.Machine}; !c.machines[about] {
		c.machines[about] = true
		o.Machines++
	}
	return o
}

// addChecks puts the owner checks that nobody answered on the list.
func (c *caller) addChecks(ctx context.Context, st Store, s policy.Settings, at time.Time) error {
	owed, err := st.OwedChecks(ctx, nil, models.CheckOwner)
	if err != nil || len(owed) == 0 {
		return err
	}
	ids := make([]string, len(owed)) // by machine already
	for i, o := range owed {
		ids[i] = o.Machine.ID
	}
	p, err := LastProfile(ctx, st, s, at)
	if err != nil {
		return err
	}
	es, err := evaluationsOf(ctx, st, s, p, slices.Compact(ids), at)
	if err != nil {
		return err
	}
	for i := range es {
		for _, r := range es[i].Ring {
			m := es[i].Machine()
			if o := c.add(models.Untold{Owner: m.Owner, Machine: m.ID, Stage: models.StageDue, DueOn: r.Since, Why: models.ReasonNoAnswer,
				DecidedAt: models.InstantOf(r.Since.In(c.zone))}); o != nil {
				o.Checks = append(o.Checks, r)
			}
		}
	}
	return nil
}

// contactsOf gives an owner's contacts, those who get notices first.
func contactsOf(p models.People) []models.Contact {
	out := recipientsOf(p)
	for _, c := range p.People {
		if !slices.ContainsFunc(out, func(o models.Contact) bool { return o.ID == c.Contact.ID }) {
			out = append(out, c.Contact)
		}
	}
	return out
}
