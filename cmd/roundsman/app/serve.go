package app

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"example.org/roundsman/scheduler"
)

// hookPath is where a text gateway posts to.
const hookPath = "/hooks/text"

// stopWithin is how long open requests may take when the service stops.
const stopWithin = 5 * time.Second

// listen serves requests until the context ends.
func listen(ctx context.Context, addr string, h http.Handler) error {
	server := &http.Server{Addr: addr, Handler: h, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: 30 * time.Second, MaxHeaderBytes: 32 << 10}
	failed := make(chan error, 1)
	go func() { failed <- server.ListenAndServe() }()
	select {
	case err := <-failed:
		return fmt.Errorf("listening on %s: %w", addr, err)
	case <-ctx.Done():
		within, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer cancel()
		return server.Shutdown(within)
	}
}

// Serve runs the service until the context ends: rounds at the shop's
// appointed times, the courier, and what comes in. It comes back when all has stopped; the
// error is nil after an orderly stop.
func (a *App) Serve(ctx context.Context) (err error) {
	texts, err := a.texts(a.Clock)
	if err != nil {
		return err
	}
	answers, err := a.mailbox()
	if err != nil {
		return err
	}
	courier, release, err := a.courierWith(a.Clock, texts)
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
	if answers != nil {
		g.Go(func() error { return answers.Run(ctx) })
	}
	if texts.run != nil {
		g.Go(func() error { return texts.run(ctx) })
	}
	if texts.hook != nil {
		mux := http.NewServeMux()
		mux.Handle("POST "+hookPath, texts.hook)
		g.Go(func() error { return listen(ctx, a.Settings.Web.Listen, mux) })
	}
	a.Log.Info("service started", "db", a.Store.Path(), "zone", a.Holder.Manners.ZoneName, "rounds", a.Settings.Rounds.At)
	err = g.Wait()
	a.Log.Info("service stopped")
	return err
}
