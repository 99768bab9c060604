package scheduler

import (
	"context"
	"log/slog"
	"time"

	"github.com/robfig/cron/v3"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// heartbeat is how often the service looks whether a round is owed. It is a
// period, not a time of the wall clock: which rounds are owed is worked out
// from the rounds held, so a beat that is missed or doubled costs nothing.
const heartbeat = "@every 30s"

// Service holds rounds at the shop's appointed local times until it is
// stopped. A round missed while the machine slept or was off is made up once.
type Service struct {
	Runner *Runner
	Times  []models.TimeOfDay // the shop's local times
	MaxAge time.Duration      // an appointed round older than this is not made up; 0: any age
	Clock  models.Clock
	Log    *slog.Logger
	Held   func() // called after a round was held; may be nil
	Begun  func() // called once a missed round has been made up, or none was owed; may be nil

	ahead int64 // the round ahead of the clock that has been told of
}

// Run beats until the context ends, then waits for a round that is being held.
func (s *Service) Run(ctx context.Context) error {
	c := cron.New(cron.WithLocation(time.UTC),
		cron.WithChain(cron.SkipIfStillRunning(cron.DiscardLogger), cron.Recover(cronLog{s.Log})))
	if _, err := c.AddFunc(heartbeat, func() { s.beat(ctx) }); err != nil {
		return err
	}
	s.beat(ctx)
	if s.Begun != nil {
		s.Begun()
	}
	c.Start()
	<-ctx.Done()
	<-c.Stop().Done()
	return nil
}

// beat holds the round that is owed, if any. An error is logged here and
// nowhere else: the next beat tries again.
func (s *Service) beat(ctx context.Context) {
	if _, _, err := s.RunOwed(ctx); err != nil && ctx.Err() == nil {
		s.Log.Error("round not held", "err", err)
	}
}

// RunOwed holds the appointed round that is owed at this moment; held is
// false when none is.
func (s *Service) RunOwed(ctx context.Context) (r models.Round, held bool, err error) {
	now := s.Clock.Now()
	if err := s.tellAhead(ctx, now); err != nil {
		return models.Round{}, false, err
	}
	last, err := s.Runner.lastHeld(ctx, now)
	if err != nil {
		return models.Round{}, false, err
	}
	slot, ok := calendar.Owed(s.Times, s.Runner.Notify.Zone, last, now, s.MaxAge)
	if !ok {
		return models.Round{}, false, nil
	}
	r, err = s.Runner.Run(ctx, slot.Key(), now)
	if models.CodeOf(err) == models.CodeConflict && r.ID == 0 { // not begun
		s.Log.Info("round held elsewhere", "slot", slot.Key(), "why", err.Error())
		return models.Round{}, false, nil
	}
	if err == nil && s.Held != nil {
		s.Held()
	}
	return r, err == nil, err
}

// tellAhead says once, and loudly, that a round lies ahead of the clock. The
// service goes by its clock all the same: which of the two is right is for a
// person to say.
func (s *Service) tellAhead(ctx context.Context, now time.Time) error {
	r, ok, err := s.Runner.Store.RoundAhead(ctx, models.InstantOf(now.Add(models.MayLieAhead)))
	if err != nil || !ok || r.ID == s.ahead {
		return err
	}
	s.ahead = r.ID
	s.Log.Error("a round has been held for a time that has not come; rounds go on by the clock, and what that one told is not told again",
		"round", r.ID, "at", r.At, "now", models.InstantOf(now),
		"remedy", "if the clock is right, take it back with `roundsman round --take-back`; else set the clock")
	return nil
}

// cronLog lets cron's Recover log a panic with the keys of the program.
type cronLog struct{ log *slog.Logger }

func (l cronLog) Info(msg string, kv ...any) { l.log.Debug(msg, kv...) }

func (l cronLog) Error(err error, msg string, kv ...any) {
	l.log.Error("round broke off", append(kv, "err", err)...)
}
