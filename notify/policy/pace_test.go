package policy_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

func TestTurn(t *testing.T) {
	today := models.MustDate("2026-05-20") // a Wednesday
	in := func(days int) models.Date { return today.AddDays(days) }
	coming := policy.Open{DueOn: in(30), By: in(23)}
	far := policy.Open{DueOn: in(90)}
	tests := []struct {
		name string
		pace policy.Pace
		open []policy.Open
		want policy.Turn
	}{
		{"nothing open", policy.Pace{Last: in(-90)}, nil, policy.Turn{}},
		{"the first message ever", policy.Pace{}, []policy.Open{coming}, policy.Turn{Now: true}},
		{"a week after the last", policy.Pace{Last: in(-7)}, []policy.Open{coming}, policy.Turn{Now: true}},
		{"within the week", policy.Pace{Last: in(-3)}, []policy.Open{coming}, policy.Turn{Why: models.ReasonWeek, Again: in(4)}},
		{"within the week, and in time today only", policy.Pace{Last: in(-3)}, []policy.Open{far, {DueOn: in(1), By: today}}, policy.Turn{Now: true}},
		{"within the week, in time until before its end", policy.Pace{Last: in(-3)}, []policy.Open{{DueOn: in(9), By: in(2)}}, policy.Turn{Why: models.ReasonWeek, Again: in(2)}},
		{"within the week, pressing", policy.Pace{Last: in(-1)}, []policy.Open{{Pressing: true}}, policy.Turn{Now: true}},
		{"within the week, late and told before", policy.Pace{Last: in(-1)}, []policy.Open{{Late: true, DueOn: in(-30)}}, policy.Turn{Why: models.ReasonWeek, Again: in(6)}},
		{"nothing due within two months", policy.Pace{Last: in(-10)}, []policy.Open{far, {}}, policy.Turn{Why: models.ReasonMonth, Again: in(20)}},
		{"a month later", policy.Pace{Last: in(-30)}, []policy.Open{far}, policy.Turn{Now: true}},
		{"goes along only", policy.Pace{Last: in(-30)}, []policy.Open{{DueOn: in(-4), From: in(10)}}, policy.Turn{Why: models.ReasonAlong, Again: in(10)}},
		{"the first message ever waits for no company", policy.Pace{}, []policy.Open{{DueOn: in(40), From: in(10)}}, policy.Turn{Now: true}},
		{"goes along with what goes", policy.Pace{Last: in(-30)}, []policy.Open{{DueOn: in(-4), From: in(10)}, coming}, policy.Turn{Now: true}},
		{"a message waits", policy.Pace{Last: in(-1), Joins: true}, []policy.Open{far}, policy.Turn{Now: true}},
		{"resting without an answer", policy.Pace{Last: in(-1), Rest: in(2)}, []policy.Open{{Pressing: true}}, policy.Turn{Why: models.ReasonGap, Again: in(2)}},
		{"monthly", policy.Pace{Last: in(-10), Rhythm: models.RhythmMonthly}, []policy.Open{coming}, policy.Turn{Why: models.ReasonRhythm, Again: models.MustDate("2026-06-01")}},
		{"monthly, but missed by then", policy.Pace{Last: in(-10), Rhythm: models.RhythmMonthly}, []policy.Open{{DueOn: in(7), By: in(5)}}, policy.Turn{Why: models.ReasonRhythm, Again: in(5)}},
		{"monthly, but late", policy.Pace{Last: in(-10), Rhythm: models.RhythmMonthly}, []policy.Open{{Late: true, DueOn: in(-30)}}, policy.Turn{Now: true}},
		{"monthly, but asked for", policy.Pace{Last: in(-1), Rhythm: models.RhythmMonthly}, []policy.Open{{Pressing: true}}, policy.Turn{Now: true}},
		{"weekly", policy.Pace{Last: in(-10), Rhythm: models.RhythmWeekly}, []policy.Open{far}, policy.Turn{Now: true}},
		{"on Fridays", policy.Pace{Last: in(-10), Rhythm: "friday"}, []policy.Open{coming}, policy.Turn{Why: models.ReasonRhythm, Again: in(2)}},
		{"on Wednesdays", policy.Pace{Last: in(-10), Rhythm: "wednesday"}, []policy.Open{coming}, policy.Turn{Now: true}},
		{"on Wednesdays, and told of something late yesterday", policy.Pace{Last: in(-1), Rhythm: "wednesday"}, []policy.Open{coming}, policy.Turn{Why: models.ReasonRhythm, Again: in(7)}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.pace.Today = today
			assert.Equal(t, tt.want, tt.pace.Turn(tt.open))
		})
	}
}

// TestNothingOpenIsForgotten plays days on which things open: each is told by
// the day on which it still comes in time, all are told in the end, whatever
// waits has a reason and a day to come, and one who is not pressed hears from
// us at most once a week.
func TestNothingOpenIsForgotten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := models.MustDate("2026-01-01")
		p := policy.Pace{Rhythm: rapid.SampledFrom(append(models.Rhythms(), "")).Draw(t, "rhythm")}
		opens := map[models.Date][]policy.Open{}
		for range rapid.IntRange(0, 30).Draw(t, "things") {
			on := start.AddDays(rapid.IntRange(0, 300).Draw(t, "opens"))
			o := policy.Open{DueOn: on.AddDays(rapid.IntRange(-60, 90).Draw(t, "due"))}
			switch rapid.IntRange(0, 4).Draw(t, "sort") {
			case 0:
				o.Pressing = true
			case 1:
				o.Late = true
			case 2:
				o.By = on.AddDays(rapid.IntRange(0, 60).Draw(t, "in time"))
			case 3:
				o.From = on.AddDays(rapid.IntRange(0, 60).Draw(t, "alone"))
			}
			opens[on] = append(opens[on], o)
		}
		var open []policy.Open
		again := models.Date(0)
		for p.Today = start; p.Today < start.AddDays(500); p.Today++ {
			open = append(open, opens[p.Today]...)
			if len(opens[p.Today]) == 0 && p.Today < again {
				continue // as rounds do: nobody looks before the day
			}
			turn := p.Turn(open)
			forced := false
			for _, o := range open {
				forced = forced || o.Pressing || o.By == p.Today
				require.True(t, o.By == 0 || p.Today <= o.By, "told in time")
			}
			if turn.Now {
				least := 7
				if p.Rhythm != "" && p.Rhythm != models.RhythmWeekly && p.Rhythm != models.RhythmMonthly {
					least = 4 // a day of the week keeps that much from what could not wait for it
				}
				require.True(t, forced || p.Last == 0 || p.Last.DaysTo(p.Today) >= least, "at most once a week")
				p.Last, open, again = p.Today, nil, 0
				continue
			}
			require.False(t, forced)
			if len(open) > 0 {
				require.NotEmpty(t, turn.Why)
				require.True(t, turn.Why.Gathers())
				require.Greater(t, turn.Again, p.Today)
			}
			again = turn.Again
		}
		require.Empty(t, open)
	})
}
