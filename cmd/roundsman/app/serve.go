package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/sms/gateway"
	"example.org/roundsman/scheduler"
)

// hookPath is where a text gateway posts to.
const hookPath = "/hooks/text"

// stopWithin is how long open requests may take when the service stops.
const stopWithin = 5 * time.Second

// listen serves requests until the context ends. told is called with the
// address once requests are taken.
func listen(ctx context.Context, addr string, h http.Handler, log *slog.Logger, told func(addr string)) error {
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", addr)
	if err != nil {
		return &models.Error{Code: models.CodeUnavailable, Message: "cannot listen on " + addr, Err: err,
			Remedy: "set web.listen to another address, or end the program that uses it"}
	}
	server := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	told(l.Addr().String())
	select {
	case err := <-failed:
		return fmt.Errorf("serving on %s: %w", addr, err)
	case <-ctx.Done():
		within, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer cancel()
		if err := server.Shutdown(within); err != nil {
			return errors.Join(err, server.Close())
		}
		return nil
	}
}

// RoundWorkers gives how many machines a round works out at once while pages are
// served: half of the processors, so that nobody waits for a page meanwhile.
func RoundWorkers() int { return max(1, runtime.NumCPU()/2) }

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
	pages, err := a.Pages(ctx, courier.Wake)
	if err != nil {
		return err
	}
	defer pages.Close()
	a.Runner.Workers = RoundWorkers()
	held, err := a.Care().Held(ctx)
	if err != nil {
		return err
	}
	if line := held.String(); line != "" {
		a.Log.Warn(line, "held", held.Machines, "machines", held.Of)
	}
	rounds := &scheduler.Service{
		Runner: a.Runner, Times: a.Settings.Rounds.At, MaxAge: time.Duration(a.Settings.Rounds.MaxDays) * 24 * time.Hour,
		Clock: a.Clock, Log: a.Log, Held: courier.Wake,
	}
	begun := make(chan struct{})
	rounds.Begun = func() { close(begun) }
	told := ctx
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return rounds.Run(ctx) })
	g.Go(func() error {
		select { // what waited while the service was off is written anew by the round that was missed
		case <-begun:
			return courier.Run(ctx)
		case <-ctx.Done():
			return nil
		}
	})
	if answers != nil {
		g.Go(func() error { return answers.Run(ctx) })
	}
	if texts.run != nil {
		g.Go(func() error { return texts.run(ctx) })
	}
	hooks := map[string]http.Handler{}
	if texts.hook != nil {
		hooks[hookPath] = texts.hook
		if a.Settings.SMS.Gateway.Sign == string(gateway.InPath) {
			hooks[hookPath+"/{secret}"] = texts.hook
		}
	}
	g.Go(func() error {
		return listen(ctx, a.Settings.Web.Listen, pages.Handler(hooks), a.Log, func(addr string) {
			a.Log.Info("pages", "address", baseOf(addr))
			if a.Listening != nil {
				a.Listening(baseOf(addr))
			}
		})
	})
	a.Log.Info("service started", "db", a.Store.Path(), "zone", a.Runner.Notify.Zone.String(), "rounds", a.Settings.Rounds.At)
	err = g.Wait()
	if told.Err() != nil && errors.Is(err, context.Canceled) {
		err = nil // told to stop while a part was still waiting to begin
	}
	a.Log.Info("service stopped")
	return err
}
