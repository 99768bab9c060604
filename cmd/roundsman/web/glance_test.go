package web_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// part gives the text of a part of a page, without its tags.
func part(t *testing.T, page, id string) string {
	t.Helper()
	_, after, ok := strings.Cut(page, `<section id="`+id+`">`)
	require.True(t, ok, "the page has no part %q", id)
	body, _, _ := strings.Cut(after, "</section>")
	return strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")), " ")
}

// lateOnBoard gives the machines on which something is late by the board, with
// how many items each, in the board's order.
func (s *testShop) lateOnBoard() (machines []models.Machine, items map[string]int) {
	s.t.Helper()
	v, err := scheduler.Board(s.t.Context(), s.app.Store, s.app.Runner.Notify, s.clock())
	require.NoError(s.t, err)
	items = map[string]int{}
	for _, l := range v.Lines {
		if l.Forecast.Stage != models.StageLate {
			continue
		}
		if items[l.Machine.ID] == 0 {
			machines = append(machines, l.Machine)
		}
		items[l.Machine.ID]++
	}
	return machines, items
}

// The round sheet's first screen names what is late by machine and owner as the
// board has it today, and not as the last round found it, the machines in the
// shop, and the visits of today.
func TestTodayNamesWhatTheDeskNeedsFirst(t *testing.T) {
	s := newShop(t)
	var dana *visitor
	for _, days := range []int{0, 20} {
		s.pass(time.Duration(days) * 24 * time.Hour)
		dana = s.as("Dana") // a log-in ends in the meantime
		late, items := s.lateOnBoard()
		require.NotEmpty(t, late)
		text := part(t, dana.get("/today").body, "late")
		for _, m := range late[:min(len(late), 4)] {
			assert.Contains(t, text, m.Label(), "after %d days", days)
			if n := items[m.ID]; n > 1 {
				assert.Contains(t, text, fmt.Sprintf("and %d more", n-1))
			}
		}
		if len(late) > 4 {
			assert.Contains(t, text, fmt.Sprintf("all %d", len(late)))
		}
	}
	m := s.machineOf(s.ours)
	_, err := s.app.Jobs().Open(t.Context(), scheduler.Act{At: s.clock(), By: "Dana", Means: "test"},
		job.Opening{Machine: m, On: models.DateOf(s.clock().In(s.app.Runner.Notify.Zone)), Complaint: "leaks under the radiator"}, scheduler.TypedMeters{})
	require.NoError(t, err)
	today := models.DateOf(s.clock().In(s.app.Runner.Notify.Zone))
	_, err = s.app.Store.Record(t.Context(), models.FactSet{Visits: []models.Visit{
		{ID: "901", UID: "901@example.com", Machine: m.ID, State: models.VisitAgreed, On: today, Until: today, Items: "coolant"},
		{ID: "902", UID: "902@example.com", Machine: m.ID, State: models.VisitAgreed, On: today.AddDays(1), Until: today.AddDays(1), Items: "hoses"},
		{ID: "903", UID: "903@example.com", Machine: m.ID, State: models.VisitDropped, On: today, Until: today, Items: "cap"}}}, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
	require.NoError(t, err)
	page := dana.get("/today").body
	assert.Contains(t, part(t, page, "inshop"), m.Label()+" leaks under the radiator")
	visits := part(t, page, "visits")
	assert.Contains(t, visits, m.Label()+" coolant")
	for _, other := range []string{"hoses", "cap"} {
		assert.NotContains(t, visits, other)
	}
}

// Where forty machines are late, four are named and all are counted.
func TestTodayStaysShort(t *testing.T) {
	s := newShop(t)
	seed, err := s.app.Store.AllFacts(t.Context())
	require.NoError(t, err)
	late, _ := s.lateOnBoard()
	var set models.FactSet
	for k := range 40 {
		m := late[0]
		m.ID, m.Tag = fmt.Sprintf("copy-%d", k), fmt.Sprintf("C-%d", k)
		set.Machines = append(set.Machines, m)
		for _, v := range seed.Services {
			if v.Machine == late[0].ID {
				v.Machine = m.ID
				set.Services = append(set.Services, v)
			}
		}
		for _, r := range seed.Readings {
			if r.Machine == late[0].ID {
				r.Machine = m.ID
				set.Readings = append(set.Readings, r)
			}
		}
	}
	_, err = s.app.Store.Record(t.Context(), set, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
	require.NoError(t, err)
	now, _ := s.lateOnBoard()
	require.Greater(t, len(now), 40)
	text := part(t, s.as("Dana").get("/today").body, "late")
	assert.Contains(t, text, fmt.Sprintf("all %d", len(now)))
	assert.Equal(t, 4, strings.Count(text, "due since"), text)
}
