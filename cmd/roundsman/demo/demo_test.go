package demo

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// fleet gives the demo's fleet under the shipped rules.
func fleet(t testing.TB) (models.FactSet, []models.Rule) {
	t.Helper()
	shipped, err := config.Shipped()
	require.NoError(t, err)
	return Fleet(shipped.Rules), shipped.Rules
}

// today is the day of the demo's round.
func today(t testing.TB) models.Date {
	t.Helper()
	zone, err := time.LoadLocation(TimeZone)
	require.NoError(t, err)
	return models.DateOf(At().In(zone))
}

// histories gives each machine's facts, the readings numbered.
func histories(f models.FactSet) []models.History {
	var out []models.History
	at := map[string]int{}
	for i, m := range f.Machines {
		at[m.ID] = i
		out = append(out, models.History{Machine: m})
	}
	for i, r := range f.Readings {
		r.Row = int64(i + 1)
		h := &out[at[r.Machine]]
		h.Readings = append(h.Readings, r)
	}
	for _, s := range f.Services {
		h := &out[at[s.Machine]]
		h.Services = append(h.Services, s)
	}
	for _, s := range f.Swaps {
		h := &out[at[s.Machine]]
		h.Swaps = append(h.Swaps, s)
	}
	return out
}

// board works out the demo's board and the readings in doubt, as a round does.
func board(t testing.TB) ([]models.Forecast, []models.Doubt) {
	t.Helper()
	f, rules := fleet(t)
	day := today(t)
	all := histories(f)
	number := models.ProfileNumber(day, 0)
	fitter := usage.NewFitter(number)
	for _, h := range all {
		h.AsOf = day.FirstOfMonth().AddDays(-1)
		s := usage.Screen(h)
		fitter.Add(&s)
	}
	profile, err := fitter.Profile()
	require.NoError(t, err)
	book := interval.NewBook(rules)
	var lines []models.Forecast
	var doubts []models.Doubt
	for _, h := range all {
		h.AsOf = day
		s := usage.Screen(h)
		doubts = append(doubts, s.Doubts...)
		lines = append(lines, interval.Forecasts(interval.Input{
			History: h, Rules: book.For(h.Machine), Scale: &s, Use: usage.Fit(&s, profile), Profile: number, Today: day,
		})...)
	}
	return lines, doubts
}

func TestTheRoundIsAtSevenInDenver(t *testing.T) {
	zone, err := time.LoadLocation(TimeZone)
	require.NoError(t, err)
	assert.Equal(t, "2026-11-02T07:00:00-07:00", At().In(zone).Format(time.RFC3339))
}

// TestTheFolderIsGood: it passes every check of an import without a warning,
// written out and read back.
func TestTheFolderIsGood(t *testing.T) {
	f, rules := fleet(t)
	dir := t.TempDir()
	require.NoError(t, folder.Write(context.Background(), dir, f))
	back, report, err := folder.Read(context.Background(), os.DirFS(dir), folder.Options{
		Now: lastDay, Stored: folder.Stored{Rules: models.ByKey(rules, models.Rule.Key)},
	})
	require.NoError(t, err)
	assert.Empty(t, report.Faults.Error())
	assert.Empty(t, report.Warnings.Error())
	assert.Empty(t, report.Repeats)
	assert.Len(t, back.Machines, 24)
	assert.Len(t, back.Owners, 2)
	assert.Len(t, back.Swaps, 1)
	assert.Greater(t, len(back.Readings), 500)
}

// TestEveryStageIsOnTheBoard: a board with something of everything, on which
// most is in order and no machine is a disaster.
func TestEveryStageIsOnTheBoard(t *testing.T) {
	lines, _ := board(t)
	count := map[models.Stage]int{}
	machines := map[models.Stage]map[string]bool{}
	for _, l := range lines {
		count[l.Stage]++
		if machines[l.Stage] == nil {
			machines[l.Stage] = map[string]bool{}
		}
		machines[l.Stage][l.Machine] = true
	}
	t.Log(count)
	for _, stage := range models.Stages() {
		assert.GreaterOrEqual(t, count[stage], 4, stage)
		assert.GreaterOrEqual(t, len(machines[stage]), 2, stage)
	}
	assert.Greater(t, count[models.StageClear], len(lines)/2)
	assert.Less(t, count[models.StageLate]+count[models.StageDue], len(lines)/6)
	assert.Less(t, len(machines[models.StageLate]), 6)

	reasons := map[models.Reason]bool{}
	for _, l := range lines {
		reasons[l.Reason] = true
	}
	for _, want := range []models.Reason{models.ReasonUse, models.ReasonCalendar, models.ReasonNoRecord} {
		assert.True(t, reasons[want], want)
	}
}

// TestTheSlipsAreDoubted: each spoilt reading is found, but the one that
// somebody has withdrawn, which is left out unasked.
func TestTheSlipsAreDoubted(t *testing.T) {
	_, doubts := board(t)
	f, _ := fleet(t)
	doubted := map[string]bool{}
	for _, d := range doubts {
		doubted[d.Machine] = true
	}
	spoilt, withdrawn := 0, 0
	for _, u := range units() {
		for _, p := range u.slips {
			if p.sure == "" {
				assert.True(t, doubted[u.id], u.id)
				spoilt++
			}
		}
	}
	for _, r := range f.Readings {
		if r.Standing == models.StandingWithdrawn {
			assert.Equal(t, "MH-03", r.Machine)
			withdrawn++
		}
	}
	assert.Equal(t, 4, spoilt)
	assert.Equal(t, 1, withdrawn)
	assert.False(t, doubted["MH-03"])
}

func TestItIsTheSameEachTime(t *testing.T) {
	a, rules := fleet(t)
	assert.Equal(t, a, Fleet(rules))
}

// TestThePeople: one reads Spanish, one likes texts, one has stopped them, and
// all addresses and numbers are such as nobody has (RFC 2606 for example.com
// and example.org; 555-0100 to 555-0199 are kept for fiction, from memory).
func TestThePeople(t *testing.T) {
	var spanish, texts, stopped int
	for _, c := range contacts() {
		if c.Mail != "" {
			assert.True(t, models.ValidMail(c.Mail), c.Mail)
			assert.Regexp(t, `example\.(com|org)$`, c.Mail)
		}
		if c.Mobile != "" {
			assert.True(t, models.ValidMobile(c.Mobile), c.Mobile)
			assert.Regexp(t, `^\+1\d{3}55501\d\d$`, c.Mobile)
		}
		switch {
		case c.Language == "es":
			spanish++
		case !c.SMSStopOn.IsZero():
			stopped++
		case c.Prefers == models.ChannelSMS && c.Role == models.RoleService:
			texts++
			assert.False(t, c.SMSConsentOn.IsZero())
		}
	}
	assert.Equal(t, []int{1, 1, 1}, []int{spanish, texts, stopped})
}

// TestTheSeasonsAreBelievable: haying tractors run most in summer, the one that
// plows most in winter.
func TestTheSeasonsAreBelievable(t *testing.T) {
	shipped, err := config.Shipped()
	require.NoError(t, err)
	for i, u := range units() {
		s := simulate(u, shipped.Rules, uint64(i))
		ran := func(from, to string) float64 {
			at := func(d string) float64 { return s.hours[s.first.DaysTo(models.MustDate(d))] }
			return at(to) - at(from)
		}
		summer, winter := ran("2025-06-01", "2025-09-01"), ran("2025-12-01", "2026-03-01")
		switch u.season {
		case haying, guests:
			assert.Greater(t, summer, 1.5*winter, u.id)
		case plowing:
			assert.Greater(t, winter, 1.5*summer, u.id)
		}
		assert.InEpsilon(t, u.hours, ran("2025-10-31", "2026-10-31"), 0.35, u.id)
	}
}

// TestMetersRunForward: apart from the slips, the swap and the turn of an
// odometer, no meter falls.
func TestMetersRunForward(t *testing.T) {
	for _, h := range histories(func() models.FactSet { f, _ := fleet(t); return f }()) {
		falls := 0
		for i := 1; i < len(h.Readings); i++ {
			a, b := h.Readings[i-1], h.Readings[i]
			assert.Less(t, a.At, b.At)
			if b.Miles.Known && b.Miles.F < a.Miles.Or(0)-1 || b.Hours.Known && b.Hours.F < a.Hours.Or(0)-1 {
				falls++
			}
		}
		allowed := len(h.Swaps)
		for _, u := range units() {
			if u.id == h.Machine.ID {
				allowed += len(u.slips)
			}
		}
		if h.Machine.MilesMax.Known {
			allowed++
		}
		assert.LessOrEqual(t, falls, allowed, h.Machine.ID)
		assert.LessOrEqual(t, h.Readings[len(h.Readings)-1].At, lastDay)
	}
}

func TestSwapDigits(t *testing.T) {
	assert.InDelta(t, 4215.3, swapDigits(4125.3), 0)
	assert.InDelta(t, 2423.3, swapDigits(4223.3), 0)
	assert.InDelta(t, 51.2, swapDigits(51.2), 0)
}
