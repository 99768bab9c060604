// Package app is where everything meets: it opens the store, wires rounds and
// messages to it as the settings say, and starts and stops them in order.
package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/visit"
)

// App is the opened program: the store and all that works on it.
type App struct {
	Settings config.Settings
	Store    *store.Store
	Runner   *scheduler.Runner
	Replier  *scheduler.Replier
	Clock    models.Clock
	Log      *slog.Logger

	Described []config.Described // the settings as the pages show them
	Listening func(base string)  // called when the pages can be reached; nil: nothing

	links *web.Links // of owners; nil where they cannot reach the pages
}

// Options are what New may be told besides the settings.
type Options struct {
	Clock models.Clock // required
	Log   *slog.Logger // nil: none

	Described []config.Described // the settings with their sources, for the pages; may be nil
	MustExist bool               // refuse a database that is not there instead of beginning one
}

// actor is the name under which the program itself records facts.
const actor = "roundsman"

// New opens the store and readies everything; nothing runs and no network is
// touched. The rules that come with the program are recorded in a new store,
// and those of the settings' rules file when the file has changed.
func New(ctx context.Context, s config.Settings, opt Options) (*App, error) {
	if !s.Database.DSN.IsZero() {
		return nil, models.Errorf(models.CodeInvalid, "set database.path to a file instead",
			"database.dsn is set, and this version keeps its facts in a SQLite file only")
	}
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	manners, err := mannersOf(s)
	if err != nil {
		return nil, err
	}
	st, err := store.Open(ctx, s.Database.Path, store.Options{Log: opt.Log, MustExist: opt.MustExist, Zone: manners.Zone})
	if err != nil {
		return nil, err
	}
	a := &App{
		Settings: s, Store: st, Clock: opt.Clock, Log: opt.Log, Described: opt.Described,
		Runner: &scheduler.Runner{Store: st, Notify: manners, Log: opt.Log},
	}
	a.Runner.Visits = &scheduler.Planner{Store: st, Notify: manners, Invite: a.invite}
	a.Replier = &scheduler.Replier{Store: st, Notify: manners, Clock: opt.Clock, Log: opt.Log}
	a.Replier.Days = func(ctx context.Context, at time.Time, machine string, items []string) ([]models.Date, error) {
		p, err := a.Planner(visit.Options{})
		if err != nil {
			return nil, err
		}
		return p.Free(ctx, at, machine, items)
	}
	a.Replier.Jobs = a.Jobs()
	if err := errors.Join(a.loadRules(ctx), a.readyLinks(ctx)); err != nil {
		a.Close()
		return nil, err
	}
	return a, nil
}

// Close closes the store.
func (a *App) Close() error { return a.Store.Close() }

// mannersOf gives the shop's choices about telling.
func mannersOf(s config.Settings) (policy.Settings, error) {
	extra := make(map[models.Date]string, len(s.Shop.ClosedOn))
	for _, d := range s.Shop.ClosedOn {
		extra[d] = "closed"
	}
	days, err := calendar.NewHolidays(s.Shop.Holidays, extra)
	if err != nil {
		return policy.Settings{}, err
	}
	rules := policy.Rules{
		QuietFrom: s.Messages.QuietFrom, QuietTo: s.Messages.QuietTo,
		NoSundays: !s.Messages.OnSundays, Gaps: s.Messages.GapDays, Patience: s.Messages.GiveUp, RestDays: s.Messages.RestDays,
	}
	if !s.Messages.OnHolidays {
		rules.Holidays = calendar.IsHoliday(days)
	}
	return policy.Settings{Zone: s.Shop.TimeZone.Location(), Language: s.Shop.Language, Rules: rules, Desk: shopOf(s).Mail, DeskMobile: s.Shop.AlertMobile, Zones: zones()}, nil
}

// zones looks up each time zone once: the courier asks for one in every
// transaction.
func zones() func(name string) (*time.Location, error) {
	var known sync.Map
	return func(name string) (*time.Location, error) {
		if zone, ok := known.Load(name); ok {
			return zone.(*time.Location), nil
		}
		zone, err := time.LoadLocation(name)
		if err == nil {
			known.Store(name, zone)
		}
		return zone, err
	}
}

// meansRulesFile marks the entries by which the rules file was loaded; their
// note is the file's digest, so that it is loaded when it changes and a rule
// that came by another way since is left alone.
const meansRulesFile = "rules file"

// meansShipped marks the entries by which the shipped rules were loaded, in the
// same way.
const meansShipped = "shipped rules"

// loadShipped records those of the shipped rules of which the store has never
// held one for the same machines and item: all of them in a new store, in an
// older one what the program has learned since. What the shop has changed or
// retired is left alone.
func (a *App) loadShipped(ctx context.Context) error {
	digest := config.ShippedDigest()
	if last, err := a.Store.LastNote(ctx, meansShipped); err != nil || last == digest {
		return err
	}
	shipped, err := config.Shipped()
	if err != nil {
		return err
	}
	rules, err := a.Store.EveryRule(ctx)
	if err != nil {
		return err
	}
	teardowns, err := a.Store.Teardowns(ctx)
	if err != nil {
		return err
	}
	var set models.FactSet
	of := func(r models.Rule) models.RuleKey { r.Kind = models.KindID(r.Kind); return r.Key() }
	held := make(map[models.RuleKey]bool, len(rules))
	for _, r := range rules {
		held[of(r)] = true
	}
	for _, r := range shipped.Rules {
		if !held[of(r)] {
			set.Rules = append(set.Rules, r)
			if len(rules) > 0 {
				a.Log.Info("rule added that came with this version", "kind", r.Kind, "item", r.Item)
			}
		}
	}
	for _, t := range shipped.Teardowns {
		if !slices.ContainsFunc(teardowns, func(have models.Teardown) bool { return have.ID == t.ID && models.KindID(have.Kind) == t.Kind }) {
			set.Teardowns = append(set.Teardowns, t)
		}
	}
	if len(set.Rules)+len(set.Teardowns) == 0 {
		return nil
	}
	_, err = a.Store.Record(ctx, set, a.entry(meansShipped, digest))
	return err
}

// loadRules records the shipped rules that are new, and the rules file where it
// differs from the one loaded last.
func (a *App) loadRules(ctx context.Context) error {
	if err := a.loadShipped(ctx); err != nil {
		return err
	}
	if a.Settings.Rules == "" {
		return nil
	}
	data, err := os.ReadFile(a.Settings.Rules)
	if err != nil {
		return &models.Error{Code: models.CodeUnavailable, Message: "cannot read the rules file", Err: err,
			Remedy: "check the key rules in the settings"}
	}
	digest := config.Digest(data)
	last, err := a.Store.LastNote(ctx, meansRulesFile)
	if err != nil || last == digest {
		return err
	}
	file, err := config.ParseRules(a.Settings.Rules, data)
	if err != nil {
		return err
	}
	_, err = a.RecordRules(ctx, file, digest)
	return err
}

// RecordRules records the rules of a file.
func (a *App) RecordRules(ctx context.Context, file *config.RuleFile, digest string) (models.Recorded, error) {
	set := models.FactSet{Rules: file.Rules, Teardowns: file.Teardowns}
	done, err := a.Store.Record(ctx, set, a.entry(meansRulesFile, digest))
	if err != nil {
		return models.Recorded{}, fmt.Errorf("loading the rules: %w", err)
	}
	return done, nil
}

// entry begins an entry of facts that the program records now.
func (a *App) entry(means, note string) models.Entry {
	return models.Entry{RecordedAt: models.InstantOf(a.Clock.Now()), Actor: actor, Means: means, Note: note}
}
