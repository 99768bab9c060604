package ics

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

var update = flag.Bool("update", false, "write the golden files anew")

var stamp = time.Date(2026, 5, 20, 15, 4, 5, 0, time.UTC)

func coolant() Event {
	return Event{
		UID: "visit-12-0a1b2c@roundsman", Sequence: 1, Stamp: stamp,
		First: models.MustDate("2026-06-09"), Last: models.MustDate("2026-06-10"),
		Summary:     "R12 at the shop: coolant, hoses, thermostat",
		Description: "Juniper Creek Service expects R12 on Tuesday, June 9, 2026.\nWork: coolant; hoses, thermostat; about 3 h.\nPlease bring it cold: hot coolant burns — and a pressurized cap too.",
		Location:    "Bay 2; Juniper Creek Service", Status: Confirmed,
		Organizer: Person{Name: "Juniper Creek Service", Mail: "desk@example.com"},
		Attendee:  Person{Name: `Ana "Anita" O'Reyes, ranch`, Mail: "ana@example.org"},
	}
}

// golden compares a text with a file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func feedEvents() []Event {
	tentative := coolant()
	tentative.UID, tentative.Sequence, tentative.Status = "visit-13-0d@roundsman", 0, Tentative
	tentative.First, tentative.Last = models.MustDate("2026-06-11"), models.MustDate("2026-06-11")
	gone := coolant()
	gone.UID, gone.Sequence, gone.Status = "visit-14-0e@roundsman", 3, Cancelled
	timed := coolant()
	timed.UID = "visit-15-0f@roundsman"
	denver, _ := time.LoadLocation("America/Denver")
	timed.Start = Local(models.MustDate("2026-11-02"), models.At(8, 0), denver)
	timed.End = timed.Start.Add(150 * time.Minute)
	return []Event{coolant(), tentative, gone, timed}
}

func TestGolden(t *testing.T) {
	invite, err := Invite(coolant())
	require.NoError(t, err)
	golden(t, "invite.ics", invite)
	dropped := coolant()
	dropped.Sequence = 2
	cancel, err := Cancel(dropped)
	require.NoError(t, err)
	golden(t, "cancel.ics", cancel)
	feed, err := Feed("Visits of Mesa Verde Ranch", feedEvents())
	require.NoError(t, err)
	golden(t, "feed.ics", feed)
	assert.Contains(t, feed, "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n", "RFC 7986, 5.7")
	empty, err := Feed("Nobody", nil)
	require.NoError(t, err)
	assert.Contains(t, empty, "METHOD:PUBLISH\r\n")
	assert.NotContains(t, empty, "VEVENT")
}

// unfolded gives the logical lines of a calendar, as RFC 5545, 3.1 has them
// read, after checking what it asks of the physical ones.
func unfolded(t require.TestingT, cal string) []string {
	require.True(t, strings.HasSuffix(cal, "\r\n"))
	var out []string
	for _, l := range strings.Split(strings.TrimSuffix(cal, "\r\n"), "\r\n") {
		require.LessOrEqual(t, len(l), 75, "octets of a line, its end not counted: RFC 5545, 3.1")
		require.True(t, utf8.ValidString(l), "no character is split: %q", l)
		require.NotContains(t, l, "\n")
		require.NotContains(t, l, "\r")
		if rest, ok := strings.CutPrefix(l, " "); ok {
			require.NotEmpty(t, out)
			out[len(out)-1] += rest
			continue
		}
		out = append(out, l)
	}
	return out
}

// property gives the value of the first line of a property.
func property(lines []string, name string) string {
	for _, l := range lines {
		if v, ok := strings.CutPrefix(l, name+":"); ok {
			return v
		}
		if rest, ok := strings.CutPrefix(l, name+";"); ok {
			_, v, _ := strings.Cut(rest, ":")
			return v
		}
	}
	return ""
}

// The fold of RFC 5545, 3.1: the pieces of its example read as one line.
func TestUnfoldIsThatOfTheStandard(t *testing.T) {
	got := unfolded(t, "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n")
	assert.Equal(t, []string{"DESCRIPTION:This is a long description that exists on a long line."}, got)
}

// Escapes of RFC 5545, 3.3.11: the location in the example of section 4.
func TestEscapes(t *testing.T) {
	e := coolant()
	e.Location = "The Big Hotel, Atlanta, Georgia; \\room\n 7"
	cal, err := Invite(e)
	require.NoError(t, err)
	assert.Equal(t, `The Big Hotel\, Atlanta\, Georgia\; \\room 7`, property(unfolded(t, cal), "LOCATION"))
	assert.Contains(t, property(unfolded(t, cal), "DESCRIPTION"), `2026.\nWork: coolant\; hoses\, thermostat`)
	assert.Contains(t, strings.Join(unfolded(t, cal), "\n"), "ATTENDEE;CN=Ana Anita O’Reyes ranch;")
}

var unescape = strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\;`, ";", `\,`, ",")

// Whatever stands in the texts, the lines are sound and the texts come back.
func TestAnyTextComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := coolant()
		e.Summary = rapid.String().Draw(t, "summary")
		e.Description = rapid.String().Draw(t, "description")
		e.Attendee.Name = rapid.String().Draw(t, "name")
		cal, err := Invite(e)
		require.NoError(t, err)
		ls := unfolded(t, cal)
		assert.Equal(t, line(e.Summary), unescape.Replace(property(ls, "SUMMARY")))
		if lines(e.Description) != "" {
			assert.Equal(t, lines(e.Description), unescape.Replace(property(ls, "DESCRIPTION")))
		}
		assert.Equal(t, "mailto:ana@example.org", strings.TrimPrefix(property(ls, "ATTENDEE"), ""))
		begin, end := 0, 0
		for _, l := range ls {
			if l == "BEGIN:VEVENT" {
				begin++
			}
			if l == "END:VEVENT" {
				end++
			}
		}
		assert.Equal(t, [2]int{1, 1}, [2]int{begin, end}, "no text makes an entry of its own")
	})
}

// RFC 5545, 3.3.5: a repeated time is its first occurrence, a missing one is
// read with the offset before the gap. The first two are its own examples.
func TestLocalTimes(t *testing.T) {
	for _, tc := range []struct{ zone, day, clock, want string }{
		{"America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30:00Z"},
		{"America/New_York", "2007-03-11", "02:30", "2007-03-11T07:30:00Z"},
		{"America/New_York", "2026-03-08", "02:30", "2026-03-08T07:30:00Z"},
		{"America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30:00Z"},
		{"America/Denver", "2026-03-07", "08:00", "2026-03-07T15:00:00Z"},
		{"America/Denver", "2026-03-08", "08:00", "2026-03-08T14:00:00Z"},
		{"America/Denver", "2026-10-31", "08:00", "2026-10-31T14:00:00Z"},
		{"America/Denver", "2026-11-01", "08:00", "2026-11-01T15:00:00Z"},
		{"Australia/Sydney", "2026-10-04", "02:30", "2026-10-03T16:30:00Z"}, // 03:30 AEDT
		{"Asia/Kolkata", "2026-06-01", "08:00", "2026-06-01T02:30:00Z"},
		{"UTC", "2026-06-01", "", "2026-06-01T00:00:00Z"},
	} {
		loc, err := time.LoadLocation(tc.zone)
		require.NoError(t, err)
		clock, err := models.ParseTimeOfDay(tc.clock)
		require.NoError(t, err)
		got := Local(models.MustDate(tc.day), clock, loc)
		assert.Equal(t, tc.want, got.UTC().Format(time.RFC3339), "%s %s %s", tc.zone, tc.day, tc.clock)
	}
	assert.True(t, Local(0, models.At(8, 0), time.UTC).IsZero())
}

// An appointment at eight keeps its hour on the wall across every change of
// the clocks, and a whole day stays that day.
func TestDaysKeepTheirHourAcrossDST(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	require.NoError(t, err)
	for d := models.MustDate("2026-01-01"); d < models.MustDate("2027-01-01"); d++ {
		e := coolant()
		e.Start = Local(d, models.At(8, 0), denver)
		e.End = e.Start.Add(time.Hour)
		cal, err := Invite(e)
		require.NoError(t, err)
		at, err := time.Parse("20060102T150405Z", property(unfolded(t, cal), "DTSTART"))
		require.NoError(t, err)
		assert.Equal(t, d.String()+" 08:00", at.In(denver).Format("2006-01-02 15:04"))
		e.Start, e.First, e.Last = time.Time{}, d, d
		cal, err = Invite(e)
		require.NoError(t, err)
		assert.Equal(t, d.Format("20060102"), property(unfolded(t, cal), "DTSTART"))
		assert.Equal(t, d.AddDays(1).Format("20060102"), property(unfolded(t, cal), "DTEND"))
	}
}

func TestWhatNoCalendarCouldTake(t *testing.T) {
	for name, spoil := range map[string]func(*Event){
		"UID": func(e *Event) { e.UID = " " }, "sequence": func(e *Event) { e.Sequence = -1 },
		"time of writing": func(e *Event) { e.Stamp = time.Time{} }, "organizer": func(e *Event) { e.Organizer = Person{} },
		"attendee": func(e *Event) { e.Attendee = Person{} }, "status": func(e *Event) { e.Status = "" },
		"no days": func(e *Event) { e.Last = e.First.AddDays(-1) },
		"after":   func(e *Event) { e.Start, e.End = stamp, stamp },
	} {
		e := coolant()
		spoil(&e)
		_, err := Invite(e)
		assert.ErrorContains(t, err, name)
	}
	_, err := Feed("twice", []Event{coolant(), coolant()})
	assert.ErrorContains(t, err, "twice")
}
