package scheduler

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/usage"
)

// Runner holds rounds.
type Runner struct {
	Store  Store
	Notify policy.Settings
	Log    *slog.Logger
	Visits interface { // tells of visits that were held back; nil: nobody does
		TellReleased(ctx context.Context, at time.Time) error
		// WouldTell gives what TellReleased would tell, if machines were released.
		WouldTell(ctx context.Context, at time.Time, release []string) ([]models.VisitChange, error)
	}
	Workers  int                   // machines worked out at once; 0: 2
	Progress func(done, total int) // called now and then while machines are looked at; may be nil
}

// batchMachines is about how many machines a round holds in memory and writes
// in one transaction. Machines of one owner are never split, so that an
// owner's notices gather in one message.
const batchMachines = 250

// roundLock is the name of the lock that lets one process hold rounds.
const roundLock = "round"

// ErrRoundHeld says that another process holds a round at this moment.
var ErrRoundHeld = &models.Error{Code: models.CodeUnavailable,
	Message: "another round is being held at this moment", Remedy: "wait for it to end"}

// Run holds the round of a slot at a time. A slot is held once: the second
// time gives models.CodeConflict. A round that was killed is taken up where
// it stood; what was stored before is not done twice. A machine that cannot
// be worked out is counted in the round's Failed and stays to be looked at;
// the others go on.
func (h *Runner) Run(ctx context.Context, slot string, at time.Time) (models.Round, error) {
	return h.run(ctx, slot, at, true)
}

func (h *Runner) run(ctx context.Context, slot string, at time.Time, byClock bool) (r models.Round, err error) {
	unlock, ok, err := h.Store.TryLock(roundLock)
	if err != nil {
		return models.Round{}, err
	}
	if !ok {
		return models.Round{}, ErrRoundHeld
	}
	defer func() { err = errors.Join(err, unlock()) }()

	today := models.DateOf(at.In(h.Notify.Zone))
	r, err = h.Store.BeginRound(ctx, models.Round{
		Slot: slot, At: models.InstantOf(at), Today: today, StartedAt: models.InstantOf(at), ByClock: byClock,
	})
	if err != nil {
		return models.Round{}, err
	}
	// A round that was killed is taken up for its own day (r.Today), but what
	// it tells is told from now on.
	l, err := h.pass(ctx, r, at)
	if err == nil {
		err = l.all(ctx)
		r = l.round
	}
	if err == nil && h.Visits != nil {
		err = h.Visits.TellReleased(ctx, at)
	}
	r.State, r.FinishedAt = models.RoundDone, models.InstantOf(at)
	if err != nil {
		r.State, r.Note = models.RoundFailed, models.Shorten(err.Error(), 500)
		if ctx.Err() != nil { // stopped, not broken: leave it to be taken up
			return r, err
		}
	}
	if ferr := h.Store.FinishRound(ctx, r); ferr != nil {
		return r, errors.Join(err, ferr)
	}
	if err == nil {
		h.Log.Info("round held", "round", r.ID, "slot", r.Slot, "looked", r.Looked, "changed", r.Changed,
			"notices", r.Notices, "withheld", r.Withheld, "messages", r.Messages, "failed", r.Failed)
	}
	return r, err
}

// DryRun works out what a round at a time would tell, and stores nothing.
// With machines to be released it works out what their release would tell:
// those alone, as if they were released.
func (h *Runner) DryRun(ctx context.Context, at time.Time, release []models.OwnerMachines) (models.Round, []models.Look, error) {
	last, err := h.Store.LastEntry(ctx)
	if err != nil {
		return models.Round{}, nil, err
	}
	r := models.Round{Slot: "dry run", At: models.InstantOf(at), LastEntry: last,
		Today: models.DateOf(at.In(h.Notify.Zone))}
	l, err := h.pass(ctx, r, at)
	if err != nil {
		return r, nil, err
	}
	l.dry, l.release = true, release
	if err = l.all(ctx); err == nil && h.Visits != nil {
		err = l.visits(ctx, at)
	}
	return l.round, l.looks, err
}

// visits adds to a dry run what would be told of visits that were held back.
func (l *pass) visits(ctx context.Context, at time.Time) error {
	var release []string
	for _, o := range l.release {
		release = append(release, o.Machines...)
	}
	changes, err := l.Visits.WouldTell(ctx, at, release)
	for _, c := range changes {
		look := models.Look{Letters: c.Letters, Notices: c.Untold}
		l.round.Add(look, len(c.Letters))
		l.looks = append(l.looks, look)
	}
	return err
}

// pass readies a round's pass over the machines.
func (h *Runner) pass(ctx context.Context, r models.Round, at time.Time) (*pass, error) {
	ref := profileRef{Number: r.Profile, LastEntry: r.LastEntry}
	var err error
	if r.Profile == 0 {
		if ref, err = profileFor(ctx, h.Store, r.At, r.Today, r.LastEntry); err != nil {
			return nil, err
		}
	}
	var p *usage.Profile
	if r.ID == 0 {
		p, _, err = loadProfile(ctx, h.Store, ref)
	} else {
		if err = h.Store.SetRoundProfile(ctx, r.ID, ref.Number); err == nil {
			p, err = keepProfile(ctx, h.Store, ref)
		}
	}
	if err != nil {
		return nil, err
	}
	r.Profile = ref.Number
	workers := h.Workers
	if workers <= 0 {
		workers = defaultWorkers
	}
	return &pass{Runner: h, round: r, profile: Profile{ref.Number, p}, workers: workers,
		teller: teller{notify: h.Notify, round: r, now: at}}, nil
}

// lastHeld gives the time of the newest finished round that does not lie ahead
// of the clock, zero for none.
func (h *Runner) lastHeld(ctx context.Context, now time.Time) (time.Time, error) {
	r, ok, err := h.Store.LastRound(ctx, models.InstantOf(now.Add(models.MayLieAhead)))
	if err != nil || !ok {
		return time.Time{}, err
	}
	return r.At.Time(), nil
}

// RunByHand holds a round at a time because somebody asks for it, although
// one may have been held at that very time: facts may have come in since. One
// that was killed is taken up. byClock says that at is the time of the clock.
func (h *Runner) RunByHand(ctx context.Context, at time.Time, byClock bool) (r models.Round, err error) {
	slot := HandSlot(at)
	for n := 2; ; n++ {
		if r, err = h.run(ctx, slot, at, byClock); !errors.Is(err, models.ErrSlotHeld) {
			return r, err
		}
		slot = fmt.Sprintf("%s, no. %d", HandSlot(at), n)
	}
}

// HandSlot names the first round that is held by hand at a time.
func HandSlot(at time.Time) string {
	return fmt.Sprintf("by hand %s", at.UTC().Format(time.RFC3339))
}
