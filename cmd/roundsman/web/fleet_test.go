package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// worstOn gives the most urgent stage of each machine on the board at the
// shop's time.
func (s *testShop) worstOn() map[string]models.Stage {
	s.t.Helper()
	board, err := scheduler.Board(s.t.Context(), s.app.Store, s.app.Runner.Notify, s.clock())
	require.NoError(s.t, err)
	worst := map[string]models.Stage{}
	for _, l := range board.Lines {
		if had, ok := worst[l.Machine.ID]; !ok || l.Forecast.Stage.Rank() < had.Rank() {
			worst[l.Machine.ID] = l.Forecast.Stage
		}
	}
	return worst
}

var (
	fleetHead = regexp.MustCompile(`href="/machines/([^"]+)">[^<]*</a> <span class="what">[^<]*</span> <span class="stage (\w+)">`)
	sheetHead = regexp.MustCompile(`<h1>[^<]*<span class="stage (\w+)">`)
	counted   = regexp.MustCompile(`href="/fleet\?stage=(\w+)">\w+ <b>(\d+)</b>`)
)

// listed gives the stage of each machine on the pages of the fleet.
func (v *visitor) listed() map[string]models.Stage {
	v.t.Helper()
	stages := map[string]models.Stage{}
	for n := 1; ; n++ {
		page := v.get("/fleet?page=" + strconv.Itoa(n))
		require.Equal(v.t, http.StatusOK, page.code)
		found := fleetHead.FindAllStringSubmatch(page.body, -1)
		for _, m := range found {
			id, err := url.PathUnescape(m[1])
			require.NoError(v.t, err)
			stages[id] = models.Stage(m[2])
		}
		if len(found) == 0 {
			return stages
		}
	}
}

// TestListBoardAndSheetAgree on every machine's stage, on days on which no round
// was held and right after a fact: what came due since the last round is due in
// the list, on Today and on the sheet as it is on the board.
func TestListBoardAndSheetAgree(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	agree := func(when string) map[string]models.Stage {
		want := s.worstOn()
		got := dana.listed()
		for id, stage := range want {
			assert.Equal(t, stage, got[id], "%s, the list: %s", when, id)
		}
		assert.Equal(t, len(want), len(got), when)
		counts := map[models.Stage]int{}
		for _, stage := range want {
			counts[stage]++
		}
		for _, m := range counted.FindAllStringSubmatch(dana.get("/today").body, -1) {
			assert.Equal(t, strconv.Itoa(counts[models.Stage(m[1])]), m[2], "%s, Today: %s", when, m[1])
		}
		return want
	}
	before := agree("after the round")

	s.pass(20 * 24 * time.Hour)
	dana = s.as("Dana")
	after := agree("twenty days later")
	moved := ""
	for id, stage := range after {
		if stage != before[id] {
			moved = id
			sheet := sheetHead.FindStringSubmatch(dana.get("/machines/" + url.PathEscape(id)).body)
			require.NotNil(t, sheet, id)
			assert.Equal(t, string(stage), sheet[1], "the sheet: %s", id)
		}
	}
	require.NotEmpty(t, moved, "some machine has come due")

	today := models.DateOf(s.clock().In(s.app.Runner.Notify.Zone))
	m, err := s.app.Store.FindMachine(t.Context(), moved)
	require.NoError(t, err)
	_, err = s.app.Care().Change(t.Context(), m, scheduler.Standing{State: models.StandsLaidUp, Until: today.AddDays(200)}, scheduler.By{At: s.clock(), Actor: "Sam", Means: "test"})
	require.NoError(t, err)
	agree("laid up")
	words := "laid up until " + today.AddDays(200).String()
	for _, path := range []string{"/fleet?find=" + url.QueryEscape(m.ID), "/machines/" + url.PathEscape(m.ID)} {
		assert.Contains(t, dana.get(path).body, words, path)
	}
	board, err := scheduler.Board(t.Context(), s.app.Store, s.app.Runner.Notify, s.clock())
	require.NoError(t, err)
	for _, l := range board.Of(m.Owner).Lines {
		if l.Machine.ID == m.ID {
			assert.Equal(t, models.StandsLaidUp, l.Standing.State)
		}
	}
	assert.Empty(t, board.Of("nobody").Lines)
}

// TestFindByTelephone finds an owner's machines by the number of one of its
// people, in whatever way it is written, and nobody else's.
func TestFindByTelephone(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	_, err := s.app.Store.Record(t.Context(), models.FactSet{Contacts: []models.Contact{{ID: "ada", Owner: s.his, Name: "Ada", Role: models.RoleService, Mobile: "+19705550187"}}},
		models.Entry{RecordedAt: models.InstantOf(s.clock()), Actor: "Sam", Means: "test"})
	require.NoError(t, err)
	m := s.machineOf(s.his)
	for _, typed := range []string{"(970) 555-0187", "970-555-0187", "970.555.0187", "+1 970 555 0187", "9705550187", "555-0187", "555 0187"} {
		assert.Contains(t, dana.get("/fleet?find="+url.QueryEscape(typed)).body, `"/machines/`+url.PathEscape(m.ID)+`"`, typed)
	}
	assert.NotContains(t, dana.get("/fleet?find="+url.QueryEscape("(970) 555-0199")).body, `"/machines/`+url.PathEscape(m.ID)+`"`)
	assert.NotContains(t, s.as("Rosa").get("/fleet?find="+url.QueryEscape("(970) 555-0187")).body, `"/machines/`+url.PathEscape(m.ID)+`"`, "another owner's manager")
	assert.Contains(t, dana.get("/today").body, `action="/fleet" role="search"`)
}
