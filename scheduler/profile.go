package scheduler

import (
	"context"
	"fmt"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/usage"
)

// A second profile is fitted within a month when the history before that
// month has grown by more than this since the first, as when a shop loads its
// books: forecasts should not wait for the next month to learn from them.
const (
	refitGrowth = 1.2 // times the readings that the profile was made of
	refitSlack  = 50  // readings besides
)

// profileRef says which profile is in force and what it is made of: the facts
// dated before the first of its month and entered no later than LastEntry.
// From these two numbers the same profile can be made again at any time.
type profileRef struct {
	Number    int
	LastEntry int64
}

// profileFor works out which profile a round on a day must use. last is the
// newest entry.
func profileFor(ctx context.Context, st Store, at models.Instant, today models.Date, last int64) (profileRef, error) {
	first := models.ProfileNumber(today, 0)
	inForce, ok, err := st.ProfileInForce(ctx, at)
	if err != nil {
		return profileRef{}, err
	}
	if !ok || inForce.Number < first {
		return profileRef{Number: first, LastEntry: last}, nil
	}
	ref := profileRef{Number: inForce.Number, LastEntry: inForce.LastEntry}
	if last == ref.LastEntry || ref.Number%100 == 99 {
		return ref, nil
	}
	month := today.FirstOfMonth()
	then, err := st.ReadingsBefore(ctx, month, ref.LastEntry)
	if err != nil {
		return profileRef{}, err
	}
	now, err := st.ReadingsBefore(ctx, month, last)
	if err != nil {
		return profileRef{}, err
	}
	if float64(now) > refitGrowth*float64(then)+refitSlack {
		return profileRef{Number: ref.Number + 1, LastEntry: last}, nil
	}
	return ref, nil
}

// loadProfile gives a profile from the store, or fits it anew.
func loadProfile(ctx context.Context, st Store, ref profileRef) (p *usage.Profile, stored bool, err error) {
	row, ok, err := st.LoadProfile(ctx, ref.Number)
	if err != nil {
		return nil, false, err
	}
	if ok && row.LastEntry == ref.LastEntry {
		p := new(usage.Profile)
		if err := p.UnmarshalBinary(row.Body); err == nil {
			return p, true, nil
		} // one of an older program's form is fitted anew
	}
	p, err = fitProfile(ctx, st, ref)
	return p, false, err
}

// fitProfile fits a profile from the facts that it is made of.
func fitProfile(ctx context.Context, facts Facts, ref profileRef) (*usage.Profile, error) {
	fitter := usage.NewFitter(ref.Number)
	win := models.Window{AsOf: models.ProfileMonth(ref.Number).AddDays(-1), LastEntry: ref.LastEntry}
	err := facts.EachHistory(ctx, win, func(h models.History) error {
		s := usage.Screen(h)
		fitter.Add(&s)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("fitting profile %d: %w", ref.Number, err)
	}
	p, err := fitter.Profile()
	if err != nil {
		return nil, fmt.Errorf("fitting profile %d: %w", ref.Number, err)
	}
	return p, nil
}

// keepProfile loads or fits a round's profile and stores it when it is new.
func keepProfile(ctx context.Context, st Store, ref profileRef) (*usage.Profile, error) {
	p, stored, err := loadProfile(ctx, st, ref)
	if err != nil || stored {
		return p, err
	}
	body, err := p.MarshalBinary()
	if err != nil {
		return nil, fmt.Errorf("storing profile %d: %w", ref.Number, err)
	}
	err = st.SaveProfile(ctx, models.Profile{Number: ref.Number, LastEntry: ref.LastEntry, Body: body})
	return p, err
}

// ProfileAt gives the profile that forecasts asked for at a time lean on: the
// one in force, or the one that a round held then would fit.
func ProfileAt(ctx context.Context, st Store, n policy.Settings, at time.Time) (Profile, error) {
	last, err := st.LastEntry(ctx)
	if err != nil {
		return Profile{}, err
	}
	ref, err := profileFor(ctx, st, models.InstantOf(at), models.DateOf(at.In(n.Zone)), last)
	if err != nil {
		return Profile{}, err
	}
	fit, _, err := loadProfile(ctx, st, ref)
	return Profile{ref.Number, fit}, err
}

// LastProfile gives the profile of the last round, as a page needs it at once:
// none is fitted while somebody waits, and whether another is due is for the
// next round to see. Before the first round it is that of ProfileAt.
func LastProfile(ctx context.Context, st Store, n policy.Settings, at time.Time) (Profile, error) {
	row, ok, err := st.ProfileInForce(ctx, models.InstantOf(at))
	if err != nil {
		return Profile{}, err
	}
	if !ok {
		return ProfileAt(ctx, st, n, at)
	}
	fit, _, err := loadProfile(ctx, st, profileRef{Number: row.Number, LastEntry: row.LastEntry})
	return Profile{row.Number, fit}, err
}
