package scheduler

import (
	"context"

	"example.org/roundsman/models"
)

// Facts is what a round reads of the facts.
type Facts interface {
	// Histories gives the facts of machines within a window, by machine.
	Histories(ctx context.Context, machines []string, win models.Window) ([]models.History, error)
	// EachHistory gives every machine's facts within a window, by machine.
	EachHistory(ctx context.Context, win models.Window, fn func(models.History) error) error
	// NextFacts gives the date of the first fact of each machine after a day.
	NextFacts(ctx context.Context, machines []string, after models.Date) (map[string]models.Date, error)
	// Rules gives the rules that hold.
	Rules(ctx context.Context) ([]models.Rule, error)
	// People gives owners with their contacts.
	People(ctx context.Context, owners []string, today models.Date) (map[string]models.People, error)
	// NoticesOf gives all notices on machines, in the order of writing.
	NoticesOf(ctx context.Context, machines []string) ([]models.Notice, error)
	// OwedChecks gives the open checks of a kind on machines.
	OwedChecks(ctx context.Context, machines []string, kind models.CheckKind) ([]models.OwedCheck, error)
	// JobsInHand gives the jobs for which machines are at the shop, at most so
	// many (below 0: all); nil is every machine.
	JobsInHand(ctx context.Context, machines []string, limit int) ([]models.WholeJob, error)
	// Tellable gives what bears on whether people may be told of machines, by id.
	Tellable(ctx context.Context, machines []string) (map[string]models.Tellable, error)
	// LastEntry gives the number of the newest entry of facts.
	LastEntry(ctx context.Context) (int64, error)
	// ReadingsBefore counts readings and services dated before a day and
	// entered no later than an entry (0: any).
	ReadingsBefore(ctx context.Context, day models.Date, lastEntry int64) (int64, error)
}

// Profiles keeps the fitted profiles and which of them rounds have used.
type Profiles interface {
	ProfileInForce(ctx context.Context, at models.Instant) (models.Profile, bool, error)
	LoadProfile(ctx context.Context, number int) (models.Profile, bool, error)
	SaveProfile(ctx context.Context, p models.Profile) error
	SetRoundProfile(ctx context.Context, round int64, number int) error
}

// Rounds keeps the rounds and what they found.
type Rounds interface {
	// TryLock takes a lock that ends with the process.
	TryLock(name string) (unlock func() error, ok bool, err error)
	BeginRound(ctx context.Context, r models.Round) (models.Round, error)
	FinishRound(ctx context.Context, r models.Round) error
	LastRound(ctx context.Context, upTo models.Instant) (models.Round, bool, error)
	RoundAhead(ctx context.Context, after models.Instant) (models.Round, bool, error)
	UnfinishedRound(ctx context.Context) (models.Round, bool, error)
	// ToLook gives the machines that a round must look at, by owner, with
	// those of the same owners of which something waits, or falls due up to soon.
	ToLook(ctx context.Context, today, soon models.Date, profile int) ([]models.OwnerMachines, error)
	// Forecasts gives the stored forecasts of machines.
	Forecasts(ctx context.Context, machines []string) ([]models.Forecast, error)
	// SaveLook keeps a look and counts it in its round, which it gives.
	SaveLook(ctx context.Context, l models.Look) (models.Round, error)
}

// Store is all that a round needs of a store.
type Store interface {
	Facts
	Profiles
	Rounds
}
