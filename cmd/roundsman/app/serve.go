package app

import (
	"context"
	"errors"
	"time"

	"golang.org/x/sync/errgroup"

	"example.org/roundsman/scheduler"
)

// Serve runs the service until the context ends: rounds at the shop's
// appointed times, and the courier. It comes back when all has stopped; the
// error is nil after an orderly stop.
func (a *App) Serve(ctx context.Context) (err error) {
	courier, release, err := a.Courier(a.Clock)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	rounds := &scheduler.Service{
		Holder: a.Holder, Times: a.Settings.Rounds.At, MaxAge: time.Duration(a.Settings.Rounds.MaxDays) * 24 * time.Hour,
		Clock: a.Clock, Log: a.Log, Held: courier.Wake,
	}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return rounds.Run(ctx) })
	g.Go(func() error { return courier.Run(ctx) })
	a.Log.Info("service started", "db", a.Store.Path(), "zone", a.Holder.Manners.ZoneName, "rounds", a.Settings.Rounds.At)
	err = g.Wait()
	a.Log.Info("service stopped")
	return err
}
