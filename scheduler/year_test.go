package scheduler_test

import (
	"cmp"
	"context"
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/interval"
)

// year plays days of a fleet's life: what was read and done comes in on its
// day, a round is held each morning, a courier carries what it says, and every
// third message is answered with a reading.
type year struct {
	t      *testing.T
	st     *store.Store
	run    *scheduler.Runner
	clock  *notifytest.Clock
	post   *notify.Courier
	all    models.FactSet          // of all time
	true   map[string][]meterPoint // by machine: what its meters truly showed, as far as known
	owner  map[string]string       // by machine
	owned  map[string][]string     // by owner
	tells  map[string]*toldContact // by contact
	taking sync.Mutex
	letter map[int64]models.Message // sent today
	replay map[models.Date][]models.Reading
	log    []sentNotice
}

type meterPoint struct {
	on           models.Date
	miles, hours float64
}

// sentNotice is one thing that a contact was told.
type sentNotice struct {
	models.Notice
	on models.Date
}

// toldContact counts what one contact was told.
type toldContact struct {
	machines, messages, things int
	last                       models.Date
}

// postman is a channel that takes everything but what goes to dead addresses.
type postman struct {
	name models.Channel
	y    *year
}

func (p postman) Name() models.Channel                         { return p.name }
func (p postman) Open(context.Context) (notify.Session, error) { return p, nil }
func (p postman) Close() error                                 { return nil }
func (p postman) Send(_ context.Context, o notify.Outgoing) (notify.Receipt, error) {
	if strings.HasPrefix(o.Address, "dead-") {
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomePermanent, Code: "550 5.1.1", Why: models.ReasonNoMailbox, Dead: true}
	}
	p.y.taking.Lock()
	defer p.y.taking.Unlock()
	p.y.letter[o.Message.ID] = o.Message
	return notify.Receipt{Code: "250", PeerID: o.Key}, nil
}

// newYear loads the fleet as it was known on the evening before a day; least
// machines are those of so many owners (0: all).
func newYear(t *testing.T, from models.Date, owners int) *year {
	set, report, err := folder.Read(t.Context(), os.DirFS("testdata/year"), folder.Options{})
	require.NoError(t, err)
	require.Empty(t, report.Faults)
	y := &year{t: t, st: openStore(t), clock: notifytest.NewClock(noon(from.AddDays(-1))), true: map[string][]meterPoint{}, owner: map[string]string{},
		owned: map[string][]string{}, tells: map[string]*toldContact{}, letter: map[int64]models.Message{}, replay: map[models.Date][]models.Reading{}}
	y.run = runnerOf(y.st)
	y.post = notify.New(y.st, y.clock, func(e models.Envelope) (models.Composed, error) {
		return message.Compose(message.Shop{Name: "Roundtop Repair", Phone: "555-0100"}, e)
	}, notify.Options{Shop: y.run.Notify, Sole: true})
	y.post.Add(postman{models.ChannelMail, y}, notify.Limits{})
	y.post.Add(postman{models.ChannelSMS, y}, notify.Limits{})
	y.all = fewer(set, owners)
	for _, m := range y.all.Machines {
		y.owner[m.ID] = m.Owner
		y.owned[m.Owner] = append(y.owned[m.Owner], m.ID)
		y.true[m.ID] = append(y.true[m.ID], meterPoint{m.InService, m.MilesStart.F, m.HoursStart.F})
	}
	for _, s := range y.all.Services {
		y.true[s.Machine] = append(y.true[s.Machine], meterPoint{s.At, s.Miles.F, s.Hours.F})
	}
	for _, ps := range y.true {
		slices.SortFunc(ps, func(a, b meterPoint) int { return cmp.Compare(a.on, b.on) })
	}
	first := y.all
	first.Readings = slices.DeleteFunc(slices.Clone(first.Readings), func(r models.Reading) bool { return r.At >= from })
	first.Services = slices.DeleteFunc(slices.Clone(first.Services), func(s models.Service) bool { return s.At >= from })
	y.record(first, from.AddDays(-1))
	return y
}

// fewer keeps the machines of some owners, of all sizes.
func fewer(set models.FactSet, owners int) models.FactSet {
	if owners == 0 {
		return set
	}
	size := map[string]int{}
	for _, m := range set.Machines {
		size[m.Owner]++
	}
	kept := map[int]int{}
	keep := map[string]bool{}
	for _, o := range set.Owners {
		if n := size[o.ID]; n < 40 && len(keep) < owners && kept[n] < (owners+3)/4 {
			kept[n]++
			keep[o.ID] = true
		}
	}
	machine := map[string]bool{}
	for _, m := range set.Machines {
		machine[m.ID] = keep[m.Owner]
	}
	set.Owners = slices.DeleteFunc(set.Owners, func(o models.Owner) bool { return !keep[o.ID] })
	set.Contacts = slices.DeleteFunc(set.Contacts, func(c models.Contact) bool { return !keep[c.Owner] })
	set.Machines = slices.DeleteFunc(set.Machines, func(m models.Machine) bool { return !machine[m.ID] })
	set.Readings = slices.DeleteFunc(set.Readings, func(r models.Reading) bool { return !machine[r.Machine] })
	set.Services = slices.DeleteFunc(set.Services, func(s models.Service) bool { return !machine[s.Machine] })
	return set
}

func (y *year) record(set models.FactSet, on models.Date) {
	set.Release("test")
	_, err := y.st.Record(y.t.Context(), set, models.Entry{RecordedAt: models.InstantOf(noon(on)), Actor: "test", Means: "test"})
	require.NoError(y.t, err)
}

// meter gives what a machine's meters showed on a day, between what is known
// around it.
func (y *year) meter(machine string, on models.Date) (miles, hours float64) {
	ps := y.true[machine]
	i, _ := slices.BinarySearchFunc(ps, on, func(p meterPoint, d models.Date) int { return cmp.Compare(p.on, d) })
	switch {
	case i == 0:
		return ps[0].miles, ps[0].hours
	case i == len(ps):
		return ps[i-1].miles, ps[i-1].hours
	}
	a, b := ps[i-1], ps[i]
	share := float64(a.on.DaysTo(on)) / float64(max(1, a.on.DaysTo(b.on)))
	return a.miles + share*(b.miles-a.miles), a.hours + share*(b.hours-a.hours)
}

// play plays the days from one to another.
func (y *year) play(from, to models.Date) {
	byDay := map[models.Date]models.FactSet{}
	for _, r := range y.all.Readings {
		set := byDay[r.At]
		set.Readings = append(set.Readings, r)
		byDay[r.At] = set
	}
	for _, s := range y.all.Services {
		set := byDay[s.At]
		set.Services = append(set.Services, s)
		byDay[s.At] = set
	}
	for on := from; on <= to; on = on.AddDays(1) {
		morning := on.In(denver).Add(7 * time.Hour)
		y.clock.Set(morning)
		_, err := y.run.Run(y.t.Context(), on.String(), morning)
		require.NoError(y.t, err)
		y.clock.Set(noon(on))
		if _, _, day := on.Civil(); day == 1 || on == to { // before messages go, since what is lost then is for the next round
			assert.Empty(y.t, y.forgotten(on), "on %s", on)
		}
		y.carry(on)
		today := byDay[on]
		today.Readings = append(today.Readings, y.replay[on]...)
		if len(today.Readings)+len(today.Services) > 0 {
			y.record(today, on)
		}
	}
}

// carry sends what waits and looks at what went.
func (y *year) carry(on models.Date) {
	clear(y.letter)
	_, err := y.post.Drain(y.t.Context())
	require.NoError(y.t, err)
	for _, id := range slices.Sorted(maps.Keys(y.letter)) {
		m := y.letter[id]
		logs, err := y.st.Messages(y.t.Context(), store.MessageFilter{ID: id})
		require.NoError(y.t, err)
		c := y.tells[m.Contact]
		if c == nil {
			c = &toldContact{machines: len(y.owned[m.Owner])}
			y.tells[m.Contact] = c
		}
		c.messages, c.things, c.last = c.messages+1, c.things+len(logs[0].Notices), on
		for _, n := range logs[0].Notices {
			y.log = append(y.log, sentNotice{n, on})
		}
		y.answer(m, logs[0].Notices, on.AddDays(2))
	}
}

// answer lets every third message be answered with the readings it asks for,
// else with one of the first machine it names.
func (y *year) answer(m models.Message, ns []models.Notice, on models.Date) {
	h := fnv.New32a()
	fmt.Fprint(h, m.Contact, m.QueuedAt)
	if h.Sum32()%3 != 0 || len(ns) == 0 {
		return
	}
	var about []string
	for _, n := range ns {
		if n.Subject == models.SubjectReading {
			about = append(about, n.Machine)
		}
	}
	if len(about) == 0 {
		about = []string{ns[0].Machine}
	}
	for _, id := range about {
		i := slices.IndexFunc(y.all.Machines, func(m models.Machine) bool { return m.ID == id })
		miles, hours := y.meter(id, on)
		r := models.Reading{Machine: id, At: on, Source: "owner"}
		if y.all.Machines[i].Meters.Has(models.Odometer) {
			r.Miles = models.Num(float64(int(miles)))
		}
		if y.all.Machines[i].Meters.Has(models.HourMeter) {
			r.Hours = models.Num(float64(int(hours)))
		}
		y.replay[on] = append(y.replay[on], r)
	}
}

// forgotten lists the items that are coming, due or late, or may be due unseen,
// and of which nobody was told, nobody knows why not, and nobody is to call.
func (y *year) forgotten(on models.Date) (out []string) {
	fs, err := y.st.Forecasts(y.t.Context(), nil)
	require.NoError(y.t, err)
	fs = slices.DeleteFunc(fs, func(f models.Forecast) bool {
		may := interval.MayBeDueFrom(f, policy.JoinDays, policy.TurnDays)
		return f.Stage.Rank() > models.StageComing.Rank() && (may == 0 || may > on)
	})
	list, _, err := scheduler.Calls(y.t.Context(), y.st, y.run.Notify, noon(on), 0)
	require.NoError(y.t, err)
	ns, err := y.st.NoticesOf(y.t.Context(), slices.Sorted(maps.Keys(y.owner)))
	require.NoError(y.t, err)
	type cycle struct {
		machine, item string
		n             int
	}
	known := map[cycle]bool{}
	for _, n := range ns {
		k := cycle{n.Machine, n.Item, n.Cycle}
		if n.Stage == models.StageMoved {
			k.n++
		}
		known[k] = known[k] || n.Message != nil && !n.Lost || n.Message == nil && n.Why != ""
	}
	for _, f := range fs {
		called := slices.ContainsFunc(list, func(o models.ToCall) bool { return o.Owner.ID == y.owner[f.Machine] })
		if !called && !known[cycle{f.Machine, f.Item, f.Cycle}] {
			out = append(out, fmt.Sprintf("%s of %s, %s, due %s", f.Item, f.Machine, f.Stage, f.DueOn))
		}
	}
	return out
}

// unreached lists the contacts whose mail address is dead, who got no text
// instead though something is open, and whom nobody is to call.
func (y *year) unreached(on models.Date) (out []string) {
	list, _, err := scheduler.Calls(y.t.Context(), y.st, y.run.Notify, noon(on), 0)
	require.NoError(y.t, err)
	fs, err := y.st.Forecasts(y.t.Context(), nil)
	require.NoError(y.t, err)
	for _, c := range y.all.Contacts {
		open := slices.ContainsFunc(fs, func(f models.Forecast) bool {
			return y.owner[f.Machine] == c.Owner && f.Stage.Rank() <= models.StageComing.Rank()
		})
		called := slices.ContainsFunc(list, func(o models.ToCall) bool { return o.Owner.ID == c.Owner })
		if strings.HasPrefix(c.Mail, "dead-") && open && y.tells[c.ID] == nil && !called {
			out = append(out, c.ID)
		}
	}
	return out
}

// TestAYearOfMessages plays a year of a shop. The bounds are what it measures,
// with a little room; before messages were gathered they were, in the same
// order, 10.7, 59.3 and 242.0 messages a year, and 185 items twice in a message,
// 519 stages told again, 554 corrections, 34 of them to days that had passed.
// Of what fell due 87 % was told by then; with the lead held to a third of the
// interval, and nothing gathered, 80 %; gathered, with the lead counted from the
// likely date, 77 %, from the early date 83 %; it is 88 % (and 84 % a week or a
// sixth of the interval before, once 75 %) since a message takes along what may
// fall due before the next.
func TestAYearOfMessages(t *testing.T) {
	from, to, owners := date("2019-01-01"), date("2019-12-31"), 0
	if testing.Short() {
		to, owners = date("2019-03-15"), 12
	}
	y := newYear(t, from, owners)
	y.play(from, to)
	f := y.figures(from, to)
	t.Log("\n" + f.String())
	assert.Zero(t, f.twice, "an item stands once in a message")
	assert.Zero(t, f.toPast, "nothing is corrected to a day that has passed")
	assert.Zero(t, f.again, "no stage is told again without a service between")
	assert.Empty(t, y.unreached(to))
	if testing.Short() {
		return
	}
	assert.LessOrEqual(t, f.average(1), 5.5)
	assert.LessOrEqual(t, f.average(5), 16.5)
	assert.LessOrEqual(t, f.average(40), 45.0)
	assert.LessOrEqual(t, f.corrections, 170)
	assert.GreaterOrEqual(t, float64(f.told)/float64(f.due), 0.88)
	assert.GreaterOrEqual(t, float64(f.inTime)/float64(f.due), 0.83)
}
