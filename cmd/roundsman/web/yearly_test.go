package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/sheet"
)

// What is due before a day of the year is told of the same last day by the
// board, the sheet, the page, a mail and a text, the whole year round, west and
// east of Greenwich, in the morning and in the evening.
func TestEveryFaceSaysTheSameDayOfTheYear(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"America/Los_Angeles", "Asia/Kathmandu", "Pacific/Kiritimati"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			place, err := config.ParseZone(name)
			require.NoError(t, err)
			s := emptyShop(t, func(set *config.Settings) { set.Shop.TimeZone = place })
			zone := s.app.Runner.Notify.Zone
			facts := models.FactSet{
				Owners: []models.Owner{{ID: "o1", Name: "Juniper Flat"}},
				Contacts: []models.Contact{
					{ID: "c1", Owner: "o1", Name: "Ada", Role: models.RoleService, Prefers: models.ChannelMail, Mail: "ada@example.com", MailConsentOn: models.MustDate("2025-01-05")},
					{ID: "c2", Owner: "o1", Name: "Bo", Role: models.RoleService, Prefers: models.ChannelSMS, Mobile: "+12125550100", SMSConsentOn: models.MustDate("2025-01-05")}},
				Machines: []models.Machine{{ID: "m1", Tag: "R1", Kind: "sled", Owner: "o1", Meters: models.MetersHours, InService: models.MustDate("2020-01-01"), BooksSince: models.MustDate("2025-01-01")}},
			}
			for m := time.January; m <= time.December; m++ {
				facts.Rules = append(facts.Rules, models.Rule{Kind: "sled", Item: fmt.Sprintf("look%d", m), By: models.MonthDay{Month: m, Day: 15}, Origin: models.OriginHand})
				facts.Services = append(facts.Services, models.Service{Machine: "m1", Item: fmt.Sprintf("look%d", m), At: models.NewDate(2025, m, 14)})
			}
			_, err = s.app.Store.Record(t.Context(), facts, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
			require.NoError(t, err)
			for m := time.January; m <= time.December; m++ {
				due := models.NewDate(2026, m, 14)
				hour := 9 + 11*int(m%2) // 09:00 or 20:00
				at := time.Date(2026, m, 1, hour, 0, 0, 0, zone)
				s.pass(at.Sub(s.clock()))
				item := fmt.Sprintf("look%d", m)

				v, err := scheduler.Board(t.Context(), s.app.Store, s.app.Runner.Notify, at)
				require.NoError(t, err)
				told := 0
				for _, l := range v.Lines {
					if l.Forecast.Item == item {
						told++
						assert.Equal(t, due, l.Forecast.DueOn, "the board, %s", item)
						assert.Equal(t, "by "+due.Format("January 2")+" each year; last done 2025-"+due.Format("01-02"), l.Forecast.Detail)
					}
				}
				assert.Equal(t, 1, told)

				got, err := s.app.Sheet(t.Context(), "m1", at, app.Planned{})
				require.NoError(t, err)
				assert.Contains(t, sheet.Text(got, s.app.SheetLayout()), due.String(), "the sheet, %s", item)

				page := s.as("Dana").get("/machines/m1").body
				assert.Contains(t, page, models.ShortDay(due, "en", false), "the page, %s", item)
				assert.NotContains(t, page, due.Format("January")+" 15", "the page, %s", item)

				would, err := s.app.PreviewRelease(t.Context(), facts.Machines, at)
				require.NoError(t, err)
				require.Len(t, would.Letters, 2, item)
				for _, l := range would.Letters {
					assert.Regexp(t, "by ("+due.Format("January")+"|"+due.Format("Jan")+") 14", l.Words.Text, "the %s, %s", l.Message.Channel, item)
				}

				_, err = s.app.Store.Record(t.Context(), models.FactSet{Services: []models.Service{{Machine: "m1", Item: item, At: due.AddDays(-14)}}},
					models.Entry{RecordedAt: models.InstantOf(at), Actor: "test", Means: "test"})
				require.NoError(t, err)
			}
		})
	}
}
