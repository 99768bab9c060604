package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/usage"
)

// Call is an owner check that nobody answered, though it was asked as often
// as is decent or could be asked of nobody: somebody of the shop is to ring.
type Call struct {
	Owner    models.Owner
	Contacts []models.Contact // all of the owner, those who get notices first
	Check    models.OwedCheck
	Since    models.Date
}

// Calls gives the calls that are to be made at a time about checks, the
// longest owed first. It stores nothing.
func Calls(ctx context.Context, st Store, m NotifySettings, at time.Time) ([]Call, error) {
	today := models.DateOf(at.In(m.Zone))
	all, err := st.OwedChecks(ctx, nil, models.CheckOwner)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	owed := map[string][]models.OwedCheck{}
	var ids, owners []string
	for _, o := range all {
		if len(owed[o.Machine.ID]) == 0 {
			ids, owners = append(ids, o.Machine.ID), append(owners, o.Machine.Owner)
		}
		owed[o.Machine.ID] = append(owed[o.Machine.ID], o)
	}
	slices.Sort(owners)
	people, err := st.People(ctx, slices.Compact(owners), today)
	if err != nil {
		return nil, err
	}
	told, err := toldOf(ctx, st, ids)
	if err != nil {
		return nil, err
	}
	pr, err := profileAt(ctx, st, models.InstantOf(at), today)
	if err != nil {
		return nil, err
	}
	hs, err := st.Histories(ctx, ids, models.Window{AsOf: today})
	if err != nil {
		return nil, err
	}
	var out []Call
	for _, h := range hs {
		p := people[h.Machine.Owner]
		screened := usage.Screen(h)
		asking := job.OwnerAsks(job.AskInput{
			Owed: owed[h.Machine.ID], Use: usage.Fit(&screened, pr.fit), Scale: &screened, Recipients: recipientsOf(p),
			Language: m.Language, Told: told[h.Machine.ID], Today: today,
			DateOf: func(i models.Instant) models.Date { return models.DateOf(i.Time().In(m.Zone)) },
		})
		for _, r := range asking.Ring {
			out = append(out, Call{Owner: p.Owner, Contacts: contactsOf(p), Check: r.Check, Since: r.Since})
		}
	}
	slices.SortStableFunc(out, func(a, b Call) int { return cmp.Compare(a.Since, b.Since) })
	return out, nil
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
