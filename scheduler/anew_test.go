package scheduler_test

import (
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/scheduler"
)

// busyFleet has one owner with two contacts and four machines that run 20 miles
// a day and are read every ten days, with oil due every 1,000 miles.
func busyFleet(upTo models.Date) models.FactSet {
	in := upTo.AddDays(-100)
	set := models.FactSet{
		Owners: []models.Owner{{ID: "O1", Name: "Juniper Flat"}, {ID: "O2", Name: "Cedar Rim"}},
		Contacts: []models.Contact{
			{ID: "C1", Owner: "O1", Name: "Ada", Role: models.RoleService, Mail: "ada@example.com", MailConsentOn: in},
			{ID: "C2", Owner: "O1", Name: "Bo", Role: models.RoleService, Mail: "bo@example.com", MailConsentOn: in},
			{ID: "C3", Owner: "O2", Name: "Cy", Role: models.RoleService, Mail: "cy@example.com", MailConsentOn: in},
		},
		Rules: []models.Rule{{Kind: "utv", Item: models.ItemOil, Miles: models.Num(1000), Origin: models.OriginHand}},
	}
	for id, owner := range map[string]string{"M1": "O1", "M2": "O1", "M3": "O1", "M4": "O2"} {
		set.Machines = append(set.Machines, models.Machine{ID: id, Tag: "U" + id[1:], Kind: "utv", Owner: owner, Meters: models.MetersMiles,
			InService: in, MilesStart: models.Num(0)})
		set.Services = append(set.Services, models.Service{Machine: id, Item: models.ItemOil, At: in, Miles: models.Num(0)})
		for day := 10; day <= 40; day += 10 {
			set.Readings = append(set.Readings, models.Reading{Machine: id, At: in.AddDays(day), Miles: models.Num(float64(20 * day)), Source: "owner"})
		}
	}
	return set
}

// A message that waited for five days while the mail server was dead, or
// refused all, goes as one to each contact, in the words of the day on which it
// goes; what it no longer tells says why.
func TestWhatWaitedIsWrittenAnewBeforeItGoes(t *testing.T) {
	for name, dead := range map[string]bool{"no server": true, "a server that refuses for now": false} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			begin := date("2026-06-01") // a Monday; the fleet's 40th day, and 800 miles
			st := openStore(t)
			record(t, st, busyFleet(begin.AddDays(60)))
			h := runnerOf(st)
			clock := notifytest.NewClock(noon(begin))
			var refuses atomic.Bool
			refuses.Store(true)
			server := mailtest.Start(t, mailtest.Options{Fault: func(string) mailtest.Fault {
				if refuses.Load() {
					return mailtest.Temp
				}
				return ""
			}})
			port := server.Port
			if dead {
				port = 1 // nobody listens there
			}
			courier := func(port int) *notify.Courier {
				c := notify.New(st, clock, func(e models.Envelope) (models.Composed, error) {
					return message.Compose(message.Shop{Name: "Roundtop Repair", Phone: "555-0100"}, e)
				}, notify.Options{Shop: h.Notify, Sole: true})
				c.Add(mail.New(mail.Server{Host: server.Host, Port: port, Roots: server.TLS, Hello: "shop.example.org", Timeout: time.Minute},
					&mail.Writer{Name: "Roundtop Repair", Address: "shop@example.org", Clock: clock}), notify.Limits{})
				return c
			}
			day := func(n, port int) {
				clock.Set(begin.AddDays(n).In(denver).Add(7 * time.Hour))
				_, err := h.Run(t.Context(), scheduler.HandSlot(clock.Now()), clock.Now())
				require.NoError(t, err)
				clock.Set(noon(begin.AddDays(n)))
				_, err = courier(port).Drain(t.Context())
				require.NoError(t, err)
			}
			read := func(id string, on models.Date, miles float64) {
				record(t, st, models.FactSet{Readings: []models.Reading{{Machine: id, At: on, Miles: models.Num(miles), Source: "owner"}}})
			}
			day(0, port)
			read("M1", begin.AddDays(1), 980) // due in a day, sooner than was thought
			read("M2", begin.AddDays(2), 805) // much later
			read("M2", begin.AddDays(4), 806) // it stands still
			record(t, st, models.FactSet{Services: []models.Service{{Machine: "M3", Item: models.ItemOil, At: begin.AddDays(3), Miles: models.Num(860)}}})
			for n := 1; n < 5; n++ {
				day(n, port)
			}
			require.Empty(t, server.Taken())
			refuses.Store(false)
			day(5, server.Port)

			got := map[string]string{}
			for _, m := range server.Taken() {
				assert.Empty(t, got[m.To], "one message to %s", m.To)
				got[m.To] = m.Data
			}
			require.Len(t, got, 3)
			ns, err := st.NoticesOf(t.Context(), []string{"M1", "M2", "M3", "M4"})
			require.NoError(t, err)
			told := map[[2]string]models.Notice{}
			for _, n := range ns {
				k := [2]string{n.Contact, n.Machine}
				switch {
				case n.Told():
					assert.Zero(t, told[k].ID, "%s stands once in what %s was told", n.Machine, n.Contact)
					told[k] = n
				case n.Message != nil:
					assert.NotEmpty(t, n.LostWhy, "%s to %s, %s: it says why it was not told", n.Machine, n.Contact, n.Stage)
				default:
					assert.NotEmpty(t, n.Why)
				}
			}
			fs, err := st.Forecasts(t.Context(), nil)
			require.NoError(t, err)
			for _, f := range fs {
				for _, c := range []string{"C1", "C2", "C3"} {
					n, was := told[[2]string{c, f.Machine}]
					if was {
						assert.Equal(t, []models.Date{f.EarlyOn, f.DueOn, f.LateOn}, []models.Date{n.EarlyOn, n.DueOn, n.LateOn}, "%s was told the newest dates of %s", c, f.Machine)
						assert.Equal(t, f.Stage, n.Stage, "%s of %s", f.Machine, c)
					}
				}
			}
			for _, mail := range []string{got["ada@example.com"], got["bo@example.com"]} {
				assert.Contains(t, mail, "U1")
				assert.NotContains(t, mail, "U3", "its oil was changed meanwhile")
			}
			assert.True(t, strings.Contains(got["cy@example.com"], "U4"))
			logs, err := st.Messages(t.Context(), store.MessageFilter{States: []models.MessageState{models.MessageQueued, models.MessageSending}})
			require.NoError(t, err)
			assert.Empty(t, logs, "nothing waits any more")
		})
	}
}

// Where a correction goes to one contact while another of the same owner is left
// alone for some days, that one gets it then: both end with the same newest word.
func TestACorrectionReachesWhoHadToWait(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	bo := set.Contacts[0]
	bo.ID, bo.Name, bo.Mail = "C2", "Bo", "bo@example.com"
	set.Contacts = append(set.Contacts, bo)
	record(t, st, set)
	h := runnerOf(st)
	assert.Equal(t, 4, tell(t, h, st, date("2026-02-20")).Notices, "both are told: coming")
	set.Rules[0].Months = 24
	record(t, st, models.FactSet{Rules: set.Rules})
	_, err := st.QueueMessage(t.Context(), models.Message{Key: "more", Owner: "O1", Contact: "C2", Channel: models.ChannelMail, Address: bo.Mail,
		Purpose: models.PurposeNotices, State: models.MessageSent, QueuedAt: models.InstantOf(noon(date("2026-03-01")))})
	require.NoError(t, err)
	last := func(contact string) (n models.Notice) {
		for _, o := range notices(t, st) {
			if o.Contact == contact && o.Machine == "M1" && o.Told() {
				n = o
			}
		}
		return n
	}
	for on := date("2026-03-02"); on <= date("2026-03-10"); on++ {
		tell(t, h, st, on)
		switch {
		case on >= date("2026-03-08"):
			assert.Equal(t, models.StageMoved, last("C2").Stage, "on %s", on)
			fallthrough
		case on >= date("2026-03-03"):
			assert.Equal(t, models.StageMoved, last("C1").Stage, "on %s", on)
		}
	}
	assert.Equal(t, date("2027-03-10"), last("C1").DueOn)
	assert.Equal(t, last("C1").DueOn, last("C2").DueOn)
	fs, err := st.Forecasts(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.Equal(t, 2, fs[0].Cycle)
}
