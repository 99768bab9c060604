package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
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
func Calls(ctx context.Context, st Store, m policy.Settings, at time.Time) ([]Call, error) {
	owed, err := st.OwedChecks(ctx, nil, models.CheckOwner)
	if err != nil || len(owed) == 0 {
		return nil, err
	}
	ids := make([]string, len(owed)) // by machine already
	for i, o := range owed {
		ids[i] = o.Machine.ID
	}
	p, err := ProfileAt(ctx, st, m, at)
	if err != nil {
		return nil, err
	}
	es, err := evaluationsOf(ctx, st, m, p, slices.Compact(ids), at)
	if err != nil {
		return nil, err
	}
	var out []Call
	for _, e := range es {
		for _, r := range e.Ring {
			out = append(out, Call{Owner: e.People.Owner, Contacts: contactsOf(e.People), Check: r.Check, Since: r.Since})
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
