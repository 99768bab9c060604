package interval_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// dated is a forecast with what stages go by.
func dated(early, due, late string) models.Forecast {
	return models.Forecast{Machine: "M1", Item: "oil", Cycle: 2, EarlyOn: date(early), DueOn: date(due), LateOn: date(late),
		GraceDays: 14, LeadDays: 30, Reason: models.ReasonUse}
}

func TestStageOn(t *testing.T) {
	usual := dated("2026-05-20", "2026-06-09", "2026-06-29")
	sharp := dated("2026-06-09", "2026-06-09", "2026-06-09")
	broad := dated("2026-03-01", "2026-06-09", "2026-10-01") // 214 days
	found := sharp
	found.KnownOn = date("2026-07-01")
	brief := dated("2026-05-01", "2026-06-09", "2026-07-09")
	brief.LastOn, brief.LeadDays = date("2026-04-04"), 22 // 66 days before it falls due
	blank := models.Forecast{Reason: models.ReasonNoRecord}
	tests := []struct {
		name   string
		f      models.Forecast
		on     string
		want   models.Stage
		reason models.Reason
		next   string
	}{
		{"long before", usual, "2026-01-01", models.StageClear, models.ReasonUse, "2026-04-20"},
		{"the day before the lead of the early date", usual, "2026-04-19", models.StageClear, models.ReasonUse, "2026-04-20"},
		{"the lead has come", usual, "2026-04-20", models.StageComing, models.ReasonUse, "2026-06-09"},
		{"the day before", usual, "2026-06-08", models.StageComing, models.ReasonUse, "2026-06-09"},
		{"the day has come", usual, "2026-06-09", models.StageDue, models.ReasonOverdueOpen, "2026-06-30"},
		{"grace over, late date not", usual, "2026-06-24", models.StageDue, models.ReasonOverdueOpen, "2026-06-30"},
		{"on the late date", usual, "2026-06-29", models.StageDue, models.ReasonOverdueOpen, "2026-06-30"},
		{"both passed", usual, "2026-06-30", models.StageLate, models.ReasonOverdueOpen, ""},
		{"late date over, grace not", sharp, "2026-06-23", models.StageDue, models.ReasonOverdueOpen, "2026-06-24"},
		{"grace over", sharp, "2026-06-24", models.StageLate, models.ReasonOverdueOpen, ""},
		{"known later: grace from then", found, "2026-07-15", models.StageDue, models.ReasonOverdueOpen, "2026-07-16"},
		{"and over", found, "2026-07-16", models.StageLate, models.ReasonOverdueOpen, ""},
		{"half the interval, sooner than the lead of the early date", brief, "2026-05-06", models.StageClear, models.ReasonUse, "2026-05-07"},
		{"half the interval has come", brief, "2026-05-07", models.StageComing, models.ReasonUse, "2026-06-09"},
		{"too wide", broad, "2026-01-01", models.StageUnsure, models.ReasonWide, "2026-06-09"},
		{"too wide within the lead", broad, "2026-06-01", models.StageUnsure, models.ReasonWide, "2026-06-09"},
		{"too wide, but the day has come", broad, "2026-06-09", models.StageDue, models.ReasonOverdueOpen, "2026-10-02"},
		{"no date", blank, "2026-06-09", models.StageUnsure, models.ReasonNoRecord, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, interval.StageOn(tt.f, date(tt.on)))
			assert.Equal(t, tt.reason, interval.ReasonOn(tt.f, date(tt.on)))
			assert.Equal(t, tt.next, interval.NextLook(tt.f, date(tt.on)).String())
		})
	}
	atWidest := dated("2026-03-01", "2026-06-09", "2026-08-28")
	require.Equal(t, 180, atWidest.EarlyOn.DaysTo(atWidest.LateOn))
	assert.Equal(t, models.StageComing, interval.StageOn(atWidest, date("2026-06-01")), "180 days are not wider than 180")
}

// TestGathering: alone at half the lead, or a week before its end; along with others from what comes first of
// 60 days or a third of the interval, the early date being within 30 days, and
// coming.
func TestGathering(t *testing.T) {
	of := func(early, last string, lead int) models.Forecast {
		f := dated(early, "2026-06-09", "2026-06-29")
		f.LastOn, f.LeadDays = date(last), lead
		return f
	}
	season := of("2026-06-09", "2026-04-10", 30)
	season.Reason = models.ReasonSeason
	wide := dated("2026-03-01", "2026-06-09", "2026-10-01")
	tests := []struct {
		name         string
		f            models.Forecast
		alone, joins string
	}{
		{"sharp, a year", of("2026-06-09", "2025-06-09", 30), "2026-05-25", "2026-04-10"},
		{"unsure, a year", of("2026-04-20", "2025-06-09", 30), "2026-04-05", "2026-03-21"},
		{"sharp, 60 days", of("2026-06-09", "2026-04-10", 20), "2026-05-30", "2026-05-10"},
		{"unsure, 60 days", of("2026-05-20", "2026-04-10", 20), "2026-05-20", "2026-04-30"},
		{"a day of the year", season, "2026-05-25", "2026-04-10"},
		{"early as the last service", of("2026-04-10", "2026-04-10", 20), "2026-05-20", "2026-04-30"},
		{"too wide, which makes no message", wide, "", "2026-02-09"},
		{"sharp, 24 days", of("2026-06-09", "2026-05-16", 8), "2026-06-02", "2026-05-24"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.joins, interval.JoinsFrom(tt.f, 60, 30).String())
			if tt.alone != "" {
				assert.Equal(t, tt.alone, interval.AloneFrom(tt.f).String())
			}
		})
	}
	rapid.Check(t, func(t *rapid.T) {
		f := anyForecast(t)
		f.LastOn = f.EarlyOn.AddDays(-rapid.IntRange(0, 300).Draw(t, "since"))
		f.LeadDays = min(f.LeadDays, max(1, f.LastOn.DaysTo(f.DueOn)/3))
		f.Reason = models.ReasonUse
		alone := interval.AloneFrom(f)
		require.LessOrEqual(t, alone, f.DueOn.AddDays(-f.LeadDays/4), "before it comes too late")
		if joins := interval.JoinsFrom(f, 60, 30); joins != 0 {
			if !models.Wide(f.EarlyOn, f.LateOn) {
				require.LessOrEqual(t, joins, alone)
			}
			require.LessOrEqual(t, joins.DaysTo(f.DueOn), max(1, f.LastOn.DaysTo(f.DueOn)*2/3, f.LeadDays))
			require.Equal(t, map[bool]models.Stage{false: models.StageComing, true: models.StageUnsure}[models.Wide(f.EarlyOn, f.LateOn)], interval.StageOn(f, min(alone, f.DueOn-1)))
		}
	})
}

// anyForecast draws a forecast with dates in order.
func anyForecast(t *rapid.T) models.Forecast {
	f := models.Forecast{EarlyOn: date("2026-01-01").AddDays(rapid.IntRange(0, 300).Draw(t, "early"))}
	f.DueOn = f.EarlyOn.AddDays(rapid.IntRange(0, 200).Draw(t, "to due"))
	f.LateOn = f.DueOn.AddDays(rapid.IntRange(0, 500).Draw(t, "to late"))
	f.LeadDays = rapid.IntRange(1, 120).Draw(t, "lead")
	f.GraceDays = rapid.IntRange(14, 60).Draw(t, "grace")
	if rapid.Bool().Draw(t, "known") {
		f.KnownOn = f.DueOn.AddDays(rapid.IntRange(0, 90).Draw(t, "known after"))
	}
	return f
}

// A stage stays between looks, changes at each, and only grows more urgent.
func TestStageIsConstantBetweenLooks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := anyForecast(t)
		today := date("2025-10-01").AddDays(rapid.IntRange(0, 900).Draw(t, "today"))
		next := interval.NextLook(f, today)
		end := next
		if end.IsZero() {
			end = today.AddDays(1500)
		} else {
			require.Greater(t, next, today)
			require.NotEqual(t, interval.StageOn(f, today), interval.StageOn(f, next))
		}
		for d := today; d < end; d++ {
			require.Equal(t, interval.StageOn(f, today), interval.StageOn(f, d), "on %s", d)
		}
		last := models.StageClear
		for d := date("2025-10-01"); d < date("2029-01-01"); d += 3 {
			s := interval.StageOn(f, d)
			require.LessOrEqual(t, s.Rank(), max(last.Rank(), models.StageUnsure.Rank()))
			if interval.Tells(last) {
				require.LessOrEqual(t, s.Rank(), last.Rank())
			}
			last = s
		}
		require.Equal(t, models.StageLate, last, "late always comes")
	})
}

func TestCapped(t *testing.T) {
	far := dated("2026-05-20", "2026-06-09", "2031-01-01")
	asked := date("2026-01-01")
	assert.Equal(t, date("2027-02-05"), interval.Capped(far, asked, interval.LateHorizon).LateOn)
	assert.Equal(t, date("2031-01-01"), far.LateOn, "the forecast itself stays")
	farDue := dated("2027-05-20", "2028-06-09", "2031-01-01")
	assert.Equal(t, date("2028-06-09"), interval.Capped(farDue, asked, interval.LateHorizon).LateOn, "never before due_on")
	near := dated("2026-05-20", "2026-06-09", "2026-06-29")
	assert.Equal(t, near, interval.Capped(near, asked, interval.LateHorizon))
	assert.Equal(t, models.Forecast{}, interval.Capped(models.Forecast{}, asked, interval.LateHorizon))
	rapid.Check(t, func(t *rapid.T) {
		f := anyForecast(t)
		asked := date("2025-10-01").AddDays(rapid.IntRange(0, 900).Draw(t, "asked"))
		c := interval.Capped(f, asked, interval.LateHorizon)
		require.Equal(t, []models.Date{f.EarlyOn, f.DueOn}, []models.Date{c.EarlyOn, c.DueOn}, "they never move with the day asked")
		require.LessOrEqual(t, c.DueOn, c.LateOn)
		require.LessOrEqual(t, c.LateOn, f.LateOn)
		require.True(t, c.LateOn == c.DueOn || c.LateOn <= asked.AddDays(400))
	})
}

func TestMoved(t *testing.T) {
	told := dated("2026-05-20", "2026-06-09", "2026-06-29")
	told.Stage, told.LastOn = models.StageComing, date("2025-12-09")
	tests := []struct {
		name   string
		change func(told, now *models.Forecast)
		want   bool
	}{
		{"not at all", func(_, _ *models.Forecast) {}, false},
		{"out by more than the lead, but what to do stays the same", func(_, now *models.Forecast) { now.DueOn = date("2026-07-20") }, false},
		{"out by a quarter of the interval", func(_, now *models.Forecast) { now.DueOn = date("2026-08-08") }, false},
		{"out by more", func(_, now *models.Forecast) { now.DueOn = date("2026-08-10") }, true},
		{"out by more, within the range that was told", func(told, now *models.Forecast) { told.LateOn, now.DueOn = date("2026-08-10"), date("2026-08-10") }, false},
		{"out by more, and coming all the same", func(_, now *models.Forecast) { now.DueOn, now.Stage = date("2026-08-10"), models.StageComing }, false},
		{"in", func(_, now *models.Forecast) { now.DueOn = date("2026-04-01") }, false},
		{"out, told as late", func(told, now *models.Forecast) { told.Stage, now.DueOn = models.StageLate, date("2026-09-01") }, true},
		{"out, told nothing", func(told, now *models.Forecast) { told.Stage, now.DueOn = models.StageUnsure, date("2026-09-01") }, false},
		{"done since", func(_, now *models.Forecast) { now.Cycle, now.DueOn = 3, date("2027-06-09") }, false},
		{"the rule's own lead", func(_, now *models.Forecast) { now.LeadDays, now.DueOn = 90, date("2026-09-01") }, false},
		{"no date any more", func(_, now *models.Forecast) { now.DueOn = 0 }, false},
		{"another item", func(_, now *models.Forecast) { now.Item, now.DueOn = "belt", date("2026-09-01") }, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			told, now := told, told
			now.Stage = models.StageClear
			tt.change(&told, &now)
			assert.Equal(t, tt.want, interval.Moved(told, now))
		})
	}
}
