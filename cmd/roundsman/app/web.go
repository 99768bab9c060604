package app

import (
	"context"
	"crypto/rand"
	"net"
	"strings"
	"time"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/sheet"
	"example.org/roundsman/scheduler/visit"
)

// pageStore is what the pages read and write: the store, and what is worked
// out from it.
type pageStore struct {
	*store.Store
	a     *App
	fleet *scheduler.Fleet
	wake  func()
}

// Fleet gives a page of the fleet as of today.
func (p pageStore) Fleet(ctx context.Context, f models.FleetFilter) (models.FleetPage, error) {
	return p.fleet.Page(ctx, f)
}

// Sheet makes the sheet of a machine as known now.
func (p pageStore) Sheet(ctx context.Context, machine, language string) (sheet.Sheet, error) {
	return p.a.sheet(ctx, scheduler.LastProfile, machine, p.a.Clock.Now(), Planned{Language: language})
}

// Chart gives a machine's use with its range.
func (p pageStore) Chart(ctx context.Context, machine string, meter models.Meter, lang string) (picture.Usage, error) {
	return p.a.chart(ctx, scheduler.LastProfile, machine, meter, p.a.Clock.Now(), lang)
}

// Calls gives the owners who are to be called now.
func (p pageStore) Calls(ctx context.Context, limit int) ([]models.ToCall, int, error) {
	return scheduler.Calls(ctx, p.Store, p.a.Runner.Notify, p.a.Clock.Now(), limit)
}

// UntoldOwners gives the owners of whose machines nobody can be told.
func (p pageStore) UntoldOwners(ctx context.Context) ([]scheduler.UntoldOwner, error) {
	return scheduler.UntoldOwners(ctx, p.Store, p.a.Runner.Notify, p.a.Clock.Now())
}

// FindItem gives the item that a person means.
func (p pageStore) FindItem(ctx context.Context, said string) (string, error) {
	return p.a.FindItem(ctx, said)
}

// Feed gives the calendar of an owner's visits, or of the whole shop's.
func (p pageStore) Feed(ctx context.Context, owner string) (string, error) {
	return p.a.Feed(ctx, FeedOf{Owner: owner}, p.a.Clock.Now())
}

// Wake has the courier look at the queue now.
func (p pageStore) Wake() {
	if p.wake != nil {
		p.wake()
	}
}

// RuleText gives rules in the form of the rules file.
func (p pageStore) RuleText(rules []models.Rule) string { return string(config.WriteRules(rules, nil)) }

// CheckRules reads a text in the form of the rules file.
func (p pageStore) CheckRules(text string) ([]models.Rule, error) {
	f, err := config.ParseRules("rules", []byte(text))
	if err != nil {
		return nil, err
	}
	return f.Rules, nil
}

// RecordRules records rules.
func (p pageStore) RecordRules(ctx context.Context, rules []models.Rule, by models.Entry) (models.Recorded, error) {
	return p.Record(ctx, models.FactSet{Rules: rules}, by)
}

// planSteps bounds the search for a plan behind the pages.
const planSteps = 400

// Pages readies the pages. wake has the courier look at its queue; nil does
// nothing.
func (a *App) Pages(ctx context.Context, wake func()) (*web.Site, error) {
	key, err := a.linkKey(ctx)
	if err != nil {
		return nil, err
	}
	planner, err := a.Planner(visit.Options{Seed: 1, Steps: planSteps})
	if err != nil {
		return nil, err
	}
	s := a.Settings
	o := web.Options{
		Shop: s.Shop.Name, Phone: s.Shop.Phone, Zone: a.Runner.Notify.Zone, Language: s.Shop.Language,
		Distance: shopOf(s).Distance, Celsius: s.Shop.Units.Temperature == "c", Liters: s.Shop.Units.Volume == "l",
		PublicURL: s.Web.PublicURL, LinkKey: key, PlanDays: s.Plan.Days, Country: s.Shop.Country, Clock: a.Clock, Log: a.Log,
	}
	for _, d := range a.Described {
		o.Settings = append(o.Settings, web.Setting{Key: d.Key, Value: d.Value, Source: d.Source})
	}
	return web.New(web.Ports{Store: pageStore{a.Store, a, &scheduler.Fleet{Store: a.Store, Notify: a.Runner.Notify, Clock: a.Clock}, wake}, Jobs: a.Jobs(), Owners: a.Replier, Plans: planner, Readings: a.Readings(), Registry: a.Registry(), Outbox: a.Outbox(), Care: pageCare{a.Care(), a.Store, a}}, o)
}

// pageCare is what the pages need to keep machines.
type pageCare struct {
	scheduler.Care
	*store.Store
	a *App
}

// Release is Care's: the store has one of its own for messages.
func (p pageCare) Release(ctx context.Context, machines []models.Machine, shop bool, state models.ReleaseState, note string, by scheduler.By) (int, error) {
	return p.Care.Release(ctx, machines, shop, state, note, by)
}

// Preview works out what the release of machines would tell.
func (p pageCare) Preview(ctx context.Context, machines []models.Machine, at time.Time) (scheduler.ReleasePreview, error) {
	return p.a.PreviewRelease(ctx, machines, at)
}

// linkKey gives the secret that signs owners' links; a new store gets one.
func (a *App) linkKey(ctx context.Context) ([]byte, error) {
	fresh := make([]byte, 32)
	rand.Read(fresh) // it never fails: it ends the program instead
	return a.Store.WebKey(ctx, "links", fresh)
}

// pageOf gives the address of the own page of a message's contact; "" where
// owners cannot reach the pages, or the message is for the shop.
func (a *App) pageOf(m models.Message) string {
	if a.links == nil || m.Contact == "" || m.Purpose == models.PurposeShopAlert {
		return ""
	}
	return strings.TrimSuffix(a.Settings.Web.PublicURL, "/") + "/o/" + a.links.Make(m.Contact, m.QueuedAt)
}

// stopLink gives the address at which one POST ends the mails of a message's
// contact; "" where there is none that mail programs take (RFC 8058, 3.1: https).
func (a *App) stopLink(m models.Message) string {
	page := a.pageOf(m)
	if !strings.HasPrefix(page, "https://") {
		return ""
	}
	return page + "/stop"
}

// readyLinks readies owners' links where owners can reach the pages.
func (a *App) readyLinks(ctx context.Context) error {
	if a.Settings.Web.PublicURL == "" {
		return nil
	}
	key, err := a.linkKey(ctx)
	if err != nil {
		return err
	}
	links, err := web.NewLinks(key)
	a.links = &links
	return err
}

// passDays is how long a one-time log-in can be used, in days.
const passDays = 3

// OneTimeLogin makes a log-in that works once, and gives its address.
func (a *App) OneTimeLogin(ctx context.Context, u models.User, base string) (string, error) {
	secret, digest := web.NewSecret()
	ends := models.InstantOf(a.Clock.Now()).Add(passDays * 24 * time.Hour)
	if err := a.Store.AddPass(ctx, models.LoginToken{Token: digest, User: u.ID, EndsAt: ends}); err != nil {
		return "", err
	}
	return strings.TrimSuffix(base, "/") + "/enter/" + secret, nil
}

// BaseURL gives the address under which the pages are reached: the public one,
// or that on which they listen.
func (a *App) BaseURL() string {
	if a.Settings.Web.PublicURL != "" {
		return a.Settings.Web.PublicURL
	}
	return baseOf(a.Settings.Web.Listen)
}

// baseOf gives the address of pages that listen somewhere.
func baseOf(listen string) string {
	host, port, err := net.SplitHostPort(listen)
	if err != nil {
		return "http://" + listen
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port)
}
