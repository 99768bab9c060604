package scheduler

import (
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// UntoldOwner is an owner with machines in the shop's care of which nobody can
// be told by message, with why.
type UntoldOwner struct {
	Owner models.Owner
	Why   models.Reason // nobody there, no consent, or no address
}

// UntoldOwners gives the owners, by id, with machines in care and without
// anybody who may be written to, for a reason that the shop can mend: not those
// who want none, or would rather be called.
func UntoldOwners(ctx context.Context, st CallStore, s policy.Settings, at time.Time) ([]UntoldOwner, error) {
	care, err := st.CareByOwner(ctx)
	if err != nil {
		return nil, err
	}
	var owners []string
	for _, o := range care {
		owners = append(owners, o.Owner)
	}
	people, err := st.People(ctx, owners, models.DateOf(at.In(s.Zone)))
	if err != nil {
		return nil, err
	}
	var out []UntoldOwner
	for _, id := range owners {
		why := whyUntold(s, at, people[id])
		if slices.Contains([]models.Reason{models.ReasonNobody, models.ReasonNoConsent, models.ReasonNoAddress}, why) {
			out = append(out, UntoldOwner{people[id].Owner, why})
		}
	}
	return out, nil
}

// whyUntold gives the reason why none of an owner's people may be written to,
// that of the first of them; "" where somebody may.
func whyUntold(s policy.Settings, at time.Time, p models.People) (why models.Reason) {
	to := recipientsOf(p)
	if len(to) == 0 {
		return models.ReasonNobody
	}
	for _, one := range p.People {
		if !slices.ContainsFunc(to, func(c models.Contact) bool { return c.ID == one.Contact.ID }) {
			continue
		}
		// A visit is told whatever was left unanswered.
		_, d := Address(s, at, p.Owner, one, models.Message{Purpose: models.PurposeVisit})
		if d.Send {
			return ""
		}
		if why == "" {
			why = d.Why
		}
	}
	return why
}
