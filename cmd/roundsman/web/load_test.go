package web_test

import (
	"context"
	"flag"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

var (
	loadMachines = flag.Int("machines", 240, "machines of the fleet in TestPagesUnderLoad")
	loadSeconds  = flag.Int("seconds", 2, "how long TestPagesUnderLoad asks for pages")
	loadRate     = flag.Int("rate", 50, "pages asked for in a second")
	loadMost     = flag.Duration("most", 0, "99th percentile that TestPagesUnderLoad allows for each page; 0: any")
	loadRounds   = flag.Bool("rounds", true, "hold rounds meanwhile")
	loadKeep     = flag.String("keep", "", "database file of TestPagesUnderLoad to build once and use again")
)

// grow fills a store with copies of the demo's fleet, each with owners of its
// own.
func grow(t *testing.T, a *app.App, machines int) {
	t.Helper()
	require.NoError(t, a.LoadDemo(t.Context()))
	seed, err := a.Store.AllFacts(t.Context())
	require.NoError(t, err)
	for k := 1; k*len(seed.Machines) < machines; k++ {
		var set models.FactSet
		id := func(s string) string { return fmt.Sprintf("%s.%d", s, k) }
		for _, o := range seed.Owners {
			o.ID, o.Name = id(o.ID), fmt.Sprintf("%s %d", o.Name, k)
			set.Owners = append(set.Owners, o)
		}
		for _, c := range seed.Contacts {
			c.ID, c.Owner = id(c.ID), id(c.Owner)
			if c.Mail != "" {
				c.Mail = fmt.Sprintf("c%d.%s", k, c.Mail)
			}
			if c.Mobile != "" {
				c.Mobile = fmt.Sprintf("+1970555%04d", k%10000)
			}
			set.Contacts = append(set.Contacts, c)
		}
		for _, m := range seed.Machines {
			m.ID, m.Owner, m.Tag = id(m.ID), id(m.Owner), fmt.Sprintf("%s-%d", m.Tag, k)
			set.Machines = append(set.Machines, m)
		}
		for _, r := range seed.Readings {
			r.Machine = id(r.Machine)
			set.Readings = append(set.Readings, r)
		}
		for _, v := range seed.Services {
			v.Machine = id(v.Machine)
			set.Services = append(set.Services, v)
		}
		set.Release("test")
		_, err := a.Store.Record(t.Context(), set, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
		require.NoError(t, err)
	}
}

// TestPagesUnderLoad asks for pages at a steady rate, whether the ones before
// have been answered or not, while a round looks at every machine:
//
//	go test ./cmd/roundsman/web -run TestPagesUnderLoad -v -machines 10000 -seconds 30 -most 50ms -timeout 30m
func TestPagesUnderLoad(t *testing.T) {
	dir := t.TempDir()
	set := settings(dir)
	if *loadKeep != "" {
		set.Database.Path = *loadKeep
	}
	_, missing := os.Stat(set.Database.Path)
	now := demo.At().Add(3 * time.Hour)
	a, err := app.New(t.Context(), set, app.Options{Clock: models.ClockFunc(func() time.Time { return now })})
	require.NoError(t, err)
	defer func() { require.NoError(t, a.Close()) }()
	if missing != nil {
		began := time.Now()
		grow(t, a, *loadMachines)
		_, err := a.Runner.Run(t.Context(), scheduler.HandSlot(demo.At()), demo.At())
		require.NoError(t, err)
		hash, err := hashed()
		require.NoError(t, err)
		_, err = a.Store.AddUser(t.Context(), models.User{Name: "Dana", Role: models.UserDesk, Hash: hash, CreatedAt: 1})
		require.NoError(t, err)
		t.Logf("built %s in %s", filepath.Base(set.Database.Path), time.Since(began).Round(time.Second))
	}
	a.Runner.Workers = app.RoundWorkers()
	pages, err := a.Pages(t.Context(), nil)
	require.NoError(t, err)
	defer pages.Close()
	srv := httptest.NewServer(pages.Handler(nil))
	defer srv.Close()
	dana := (&testShop{t: t, srv: srv}).as("Dana")
	dana.client.Transport = &http.Transport{MaxIdleConnsPerHost: 64}
	kinds := askedPages(t, a)

	// The rounds that go on meanwhile look at every machine each: a rule for
	// all kinds changes before each of them.
	ctx, stop := context.WithCancel(t.Context())
	var round sync.WaitGroup
	round.Go(func() {
		if !*loadRounds {
			return
		}
		for n := 0; ctx.Err() == nil; n++ {
			at := now.Add(time.Duration(n) * time.Minute)
			rule := models.Rule{Item: "wash", Months: 12 + n%2, Origin: models.OriginHand}
			if _, err := a.Store.Record(ctx, models.FactSet{Rules: []models.Rule{rule}}, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"}); err != nil {
				return
			}
			if _, err := a.Runner.Run(ctx, scheduler.HandSlot(at), at); err != nil {
				return
			}
		}
	})
	took := ask(t, dana, kinds, *loadRate, time.Duration(*loadSeconds)*time.Second)
	stop()
	round.Wait()
	for _, k := range kinds {
		v := took[k.name]
		require.NotEmpty(t, v, k.name)
		slices.Sort(v)
		p99 := v[(len(v)*99+99)/100-1]
		t.Logf("%-10s %5d times  median %8s  99 %% %8s  most %8s", k.name, len(v), v[len(v)/2].Round(100*time.Microsecond),
			p99.Round(100*time.Microsecond), v[len(v)-1].Round(100*time.Microsecond))
		if *loadMost > 0 {
			assert.LessOrEqual(t, p99, *loadMost, k.name)
		}
	}
}

// asked is one kind of page with the addresses that are asked for in turn.
type asked struct {
	name  string
	paths []string
}

func askedPages(t *testing.T, a *app.App) []asked {
	t.Helper()
	all, err := a.Store.Fleet(t.Context(), models.FleetFilter{Limit: 200})
	require.NoError(t, err)
	require.NotEmpty(t, all.Lines)
	kinds := []asked{{"today", []string{"/today"}}, {"fleet", nil}, {"search", nil}, {"machine", nil}, {"shop", []string{"/shop"}}, {"rules", []string{"/rules"}}}
	for i := range 40 {
		l := all.Lines[i*len(all.Lines)/40]
		kinds[1].paths = append(kinds[1].paths, fmt.Sprintf("/fleet?page=%d", 1+i*all.Total/800), "/fleet?stage=due", "/fleet?owner="+url.QueryEscape(l.Owner.ID))
		kinds[2].paths = append(kinds[2].paths, "/fleet?find="+url.QueryEscape(l.Machine.Tag), "/fleet?find=generator+ranch")
		kinds[3].paths = append(kinds[3].paths, "/machines/"+url.PathEscape(l.Machine.ID))
	}
	return kinds
}

// ask asks for pages of each kind in turn at a steady rate and gives how long
// each took.
func ask(t *testing.T, v *visitor, kinds []asked, rate int, d time.Duration) map[string][]time.Duration {
	t.Helper()
	var mu sync.Mutex
	var wait sync.WaitGroup
	took := map[string][]time.Duration{}
	tick := time.NewTicker(time.Second / time.Duration(rate))
	defer tick.Stop()
	for n := range int(d.Seconds()) * rate {
		k := kinds[n%len(kinds)]
		path := k.paths[n/len(kinds)%len(k.paths)]
		<-tick.C
		wait.Go(func() {
			req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, v.base+path, nil)
			if !assert.NoError(t, err) {
				return
			}
			began := time.Now()
			a := v.do(req)
			lasted := time.Since(began)
			assert.Equal(t, http.StatusOK, a.code, path)
			mu.Lock()
			defer mu.Unlock()
			took[k.name] = append(took[k.name], lasted)
		})
	}
	wait.Wait()
	return took
}
