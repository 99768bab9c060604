package app

import (
	"context"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// pageFacts are the facts as a page needs them at once: forecasts lean on the
// profile of the last round, as those on the fleet page do, and none is fitted
// or looked for while somebody waits. A round that is due to fit the next one
// does so in its own time. It is for one page only.
type pageFacts struct {
	*store.Store
	today  models.Date
	number int // of the last round's profile
}

// ProfileInForce gives the last round's profile as that of the present month.
func (f *pageFacts) ProfileInForce(ctx context.Context, at models.Instant) (models.Profile, bool, error) {
	p, ok, err := f.Store.ProfileInForce(ctx, at)
	f.number = p.Number
	p.Number = max(p.Number, models.ProfileNumber(f.today, 0))
	return p, ok, err
}

// LoadProfile gives the last round's profile under the number asked for.
func (f *pageFacts) LoadProfile(ctx context.Context, number int) (models.Profile, bool, error) {
	if f.number == 0 { // no round has been held yet
		return f.Store.LoadProfile(ctx, number)
	}
	p, ok, err := f.Store.LoadProfile(ctx, f.number)
	p.Number = number
	return p, ok, err
}

// ReadingsBefore counts nothing: whether the history has grown enough for
// another profile is for the next round to see.
func (f *pageFacts) ReadingsBefore(context.Context, models.Date, int64) (int64, error) { return 0, nil }

// facts gives the facts for one page.
func (p pageStore) facts() *pageFacts {
	return &pageFacts{Store: p.Store, today: models.DateOf(p.a.Clock.Now().In(p.a.Runner.Notify.Zone))}
}
