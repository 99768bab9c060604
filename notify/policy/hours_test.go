package policy

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// The offsets and days of change are those of tzdata 2025b, as the tables of
// zdump show them. A contact's own hours narrow the shop's and never widen
// them (47 CFR 64.1200(c)(1), for calls and texts that solicit: from 08:00 to
// 21:00 where the called person is).
func TestHoldsUntilTheRightMinute(t *testing.T) {
	tests := []struct {
		name, zone string
		now        string // UTC
		from, to   string // the contact's own quiet hours
		want       string // UTC; with a star where the shop has no quiet hours
		why        models.Reason
	}{
		{"one second before eight", "America/Denver", "2026-06-10T13:59:59Z", "", "", "2026-06-10T14:00:00Z", models.ReasonQuiet},
		{"eight sharp goes", "America/Denver", "2026-06-10T14:00:00Z", "", "", "2026-06-10T14:00:00Z", models.ReasonMayGo},
		{"one second before twenty goes", "America/Denver", "2026-06-11T01:59:59Z", "", "", "2026-06-11T01:59:59Z", models.ReasonMayGo},
		{"twenty sharp holds", "America/Denver", "2026-06-11T02:00:00Z", "", "", "2026-06-11T14:00:00Z", models.ReasonQuiet},
		{"the night the clocks go forward is short", "America/New_York", "2026-03-08T02:00:00Z", "", "", "2026-03-08T12:00:00Z", models.ReasonQuiet},
		{"the night the clocks go back is long", "America/New_York", "2026-11-01T01:00:00Z", "", "", "2026-11-01T13:00:00Z", models.ReasonQuiet},
		{"a release time in the gap is its end", "America/New_York", "2026-03-08T05:00:00Z", "22:00", "02:30", "2026-03-08T07:00:00Z*", models.ReasonQuiet},
		{"a repeated release time is its first", "America/New_York", "2026-11-01T04:00:00Z", "22:00", "01:30", "2026-11-01T05:30:00Z*", models.ReasonQuiet},
		{"St John's, half an hour off", "America/St_Johns", "2026-01-15T11:29:59Z", "", "", "2026-01-15T11:30:00Z", models.ReasonQuiet},
		{"St John's in summer", "America/St_Johns", "2026-07-15T09:00:00Z", "", "", "2026-07-15T10:30:00Z", models.ReasonQuiet},
		{"Auckland is a day ahead", "Pacific/Auckland", "2026-01-15T18:59:59Z", "", "", "2026-01-15T19:00:00Z", models.ReasonQuiet},
		{"Auckland in winter", "Pacific/Auckland", "2026-07-15T19:59:00Z", "", "", "2026-07-15T20:00:00Z", models.ReasonQuiet},
		{"Lord Howe, half an hour of summer time", "Australia/Lord_Howe", "2026-10-03T12:00:00Z", "", "", "2026-10-03T21:00:00Z", models.ReasonQuiet},
		{"Kathmandu", "Asia/Kathmandu", "2026-05-01T01:00:00Z", "", "", "2026-05-01T02:15:00Z", models.ReasonQuiet},
		{"into a leap day", "America/Chicago", "2028-02-29T03:00:00Z", "", "", "2028-02-29T14:00:00Z", models.ReasonQuiet},
		{"over a leap day", "America/Chicago", "2028-03-01T03:00:00Z", "", "", "2028-03-01T14:00:00Z", models.ReasonQuiet},
		{"a contact's own hours", "America/Denver", "2026-06-10T18:00:00Z", "11:30", "13:15", "2026-06-10T19:15:00Z", models.ReasonQuiet},
		{"only the morning is the contact's own", "America/Denver", "2026-06-10T14:00:00Z", "", "09:30", "2026-06-10T15:30:00Z", models.ReasonQuiet},
		{"a contact's evening after the shop's", "America/Denver", "2026-06-11T02:00:00Z", "22:00", "06:00", "2026-06-11T14:00:00Z", models.ReasonQuiet},
		{"a contact's evening before the shop's", "America/Denver", "2026-06-11T00:30:00Z", "18:00", "10:00", "2026-06-11T16:00:00Z", models.ReasonQuiet},
		{"a contact's day that follows the shop's night", "America/Denver", "2026-06-11T02:00:00Z", "07:00", "19:00", "2026-06-12T01:00:00Z", models.ReasonQuiet},
		{"a contact without quiet hours in a shop with them", "America/Denver", "2026-06-10T09:00:00Z", "00:00", "00:00", "2026-06-10T14:00:00Z", models.ReasonQuiet},
		{"no quiet hours", "America/Denver", "2026-06-10T09:00:00Z", "00:00", "00:00", "2026-06-10T09:00:00Z*", models.ReasonMayGo},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := both()
			var err error
			c.QuietFrom, err = models.ParseTimeOfDay(tt.from)
			require.NoError(t, err)
			c.QuietTo, err = models.ParseTimeOfDay(tt.to)
			require.NoError(t, err)
			now, err := time.Parse(time.RFC3339, tt.now)
			require.NoError(t, err)
			var rules Rules
			want, anyHour := strings.CutSuffix(tt.want, "*")
			if anyHour {
				rules.QuietFrom, rules.QuietTo = models.At(0, 0), models.At(0, 0)
			}
			got := Decide(Ask{Now: now, Contact: c, Zone: zone(t, tt.zone), Rules: rules})
			require.True(t, got.Send)
			assert.Equal(t, want, got.NotBefore.UTC().Format(time.RFC3339))
			assert.Equal(t, tt.why, got.Why)

			urgent := Decide(Ask{Now: now, Contact: c, Zone: zone(t, tt.zone), Urgent: true})
			assert.Equal(t, now, urgent.NotBefore)
		})
	}
}

func TestClosedDays(t *testing.T) {
	july4 := func(d models.Date) bool { return d == models.MustDate("2026-07-04") } // a Saturday
	saturday := time.Date(2026, 7, 4, 16, 0, 0, 0, time.UTC)                        // 10:00 in Denver
	sunday := saturday.AddDate(0, 0, 1)
	tests := []struct {
		name  string
		now   time.Time
		rules Rules
		want  string
		why   models.Reason
	}{
		{"every day by default", sunday, Rules{}, "2026-07-05T10:00:00-06:00", models.ReasonMayGo},
		{"no Sundays", sunday, Rules{NoSundays: true}, "2026-07-06T08:00:00-06:00", models.ReasonSunday},
		{"a holiday", saturday, Rules{Holidays: july4}, "2026-07-05T08:00:00-06:00", models.ReasonHoliday},
		{"a holiday and then a Sunday", saturday, Rules{Holidays: july4, NoSundays: true}, "2026-07-06T08:00:00-06:00", models.ReasonHoliday},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Decide(Ask{Now: tt.now, Contact: both(), Zone: denver(t), Rules: tt.rules})
			assert.Equal(t, tt.want, got.NotBefore.In(denver(t)).Format(time.RFC3339))
			assert.Equal(t, tt.why, got.Why)
		})
	}
	never := Decide(Ask{Now: sunday, Contact: both(), Zone: denver(t),
		Rules: Rules{Holidays: func(models.Date) bool { return true }}})
	assert.False(t, never.Send)
	assert.Equal(t, models.ReasonNeverAllowed, never.Why)
	c := both()
	c.QuietFrom, c.QuietTo = models.At(7, 0), models.At(21, 0)
	never = Decide(Ask{Now: sunday, Contact: c, Zone: denver(t)})
	assert.Equal(t, models.ReasonNeverAllowed, never.Why, "the shop's night and the contact's day leave no moment")
}

func TestZoneAndLanguageAreTheContactsFirst(t *testing.T) {
	owner := models.Owner{TimeZone: "America/Chicago", Language: "es"}
	shop := Settings{Zone: denver(t), Language: "fr"}
	for _, tt := range []struct {
		contact, owner, want string
	}{
		{"Pacific/Auckland", "America/Chicago", "Pacific/Auckland"},
		{"", "America/Chicago", "America/Chicago"},
		{"", "", "America/Denver"},
		{"Nowhere/Land", "America/Chicago", "America/Chicago"},
		{"Nowhere/Land", "Neither/Here", "America/Denver"},
		{"", "Neither/Here", "America/Denver"},
	} {
		got := shop.ZoneOf(models.Contact{TimeZone: tt.contact}, models.Owner{TimeZone: tt.owner})
		assert.Equal(t, tt.want, got.String(), "%+v", tt)
	}
	assert.Equal(t, time.UTC, Settings{}.ZoneOf(models.Contact{TimeZone: "Nowhere/Land"}, models.Owner{}))
	assert.Equal(t, "en", shop.LanguageOf(models.Contact{Language: "en"}, owner))
	assert.Equal(t, "es", shop.LanguageOf(models.Contact{}, owner))
	assert.Equal(t, "fr", shop.LanguageOf(models.Contact{}, models.Owner{}))
}
