package visit

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func small(t testing.TB) Problem {
	p, err := Decode(readSmall(t), "two-bays.json")
	require.NoError(t, err)
	return p
}

// TestAlternativesCostWhatTheySay moves each visit to each of its other days:
// the plan stays feasible and costs exactly the extra cents.
func TestAlternativesCostWhatTheySay(t *testing.T) {
	p := small(t)
	plan, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 2000})
	require.NoError(t, err)
	which := make([]int, len(plan.Visits))
	for i := range which {
		which[i] = i
	}
	moves := 0
	for i, s := range Explain(&p, plan.Visits, nil, which, 100) {
		require.Equal(t, plan.Visits[i].Machine == "m2" && plan.Visits[i].Day == 3, s.Locked)
		for _, a := range s.Alternatives {
			moved := slices.Clone(plan.Visits)
			moved[i].Day, moved[i].Bay = a.Day, a.Bay
			rep := Check(&p, moved)
			require.Empty(t, rep.Broken)
			require.Equal(t, plan.Cost+a.Cents, rep.Cost.Total())
			require.GreaterOrEqual(t, a.Cents, int64(0), "the plan is the optimum, see TestOptimumEqualsMIP")
			moves++
		}
	}
	require.Positive(t, moves)
}

func TestExplainCountsSharedTeardowns(t *testing.T) {
	p := small(t)
	visits := []Visit{{"m3", 4, "b2", []string{"i6", "i7", "i8"}}, {"m2", 3, "b1", []string{"i4"}}}
	require.Empty(t, Check(&p, visits).Broken)
	s := Explain(&p, visits, nil, []int{0}, 3)[0]
	require.Equal(t, 120+75+35+45, s.Minutes)
	require.Equal(t, 45, s.Saved, "i6 and i7 share the cover")
	require.Equal(t, []ItemStory{{"i6", 0, 0, -1}, {"i7", 8, 570, -1}, {"i8", 14, 1207, -1}}, s.Items)
	require.Len(t, s.Alternatives, 3)
}

func TestUnfittedSaysWhy(t *testing.T) {
	p := small(t)
	latest := -1
	p.Items = append(p.Items,
		Item{ID: "gone", Machine: "m1", Earliest: -30, Due: -9, Latest: &latest, Work: 30, Interval: 90, Skip: 9000},
		Item{ID: "vast", Machine: "m1", Due: 3, Work: 90000, Interval: 90, Skip: 90000},
		Item{ID: "far", Machine: "m1", Due: 40, Work: 30, Interval: 90, Skip: 900},
		Item{ID: "trifle", Machine: "m1", Due: 4, Work: 30, Interval: 90, Skip: 50})
	got := map[string]Reason{}
	for _, l := range Unfitted(&p, p.Locked) {
		got[l.Item] = l.Reason
	}
	require.Equal(t, map[string]Reason{"gone": ReasonNoDay, "vast": ReasonTooLong, "far": ReasonLater, "trifle": ReasonCheaper,
		"i1": ReasonCapacity, "i2": ReasonCapacity, "i3": ReasonCapacity, "i5": ReasonCapacity, "i6": ReasonCapacity,
		"i7": ReasonCapacity, "i8": ReasonCapacity}, got)
}

// TestToldDaysAreKept changes one fact after the days were told: without a
// price on moving more is moved than with one.
func TestToldDaysAreKept(t *testing.T) {
	p := small(t)
	before, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 2000})
	require.NoError(t, err)
	var told []Told
	for _, v := range before.Visits {
		told = append(told, Told{v.Machine, v.Day, 5000})
	}
	p.Closed = append(p.Closed, before.Visits[0].Day)
	p.TechOff = append(p.TechOff, [3]int{before.Visits[0].Day, before.Visits[0].Day, 720})
	kept, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 2000, Told: told})
	require.NoError(t, err)
	require.Empty(t, Check(&p, kept.Visits).Broken)
	require.Equal(t, moved(kept.Visits, told), kept.Moved)
	loose, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 2000})
	require.NoError(t, err)
	require.LessOrEqual(t, kept.Moved, moved(loose.Visits, told))
	require.LessOrEqual(t, loose.Cost, kept.Cost)
	require.LessOrEqual(t, kept.Bound, kept.Cost+kept.Moved)

	_, err = Solve(context.Background(), p, Options{Told: []Told{{"m77", 3, 100}}})
	require.ErrorContains(t, err, "is not an id in machines")
}

func TestSolveStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p := small(t)
	plan, err := Solve(ctx, p, Options{Steps: 1 << 40})
	require.NoError(t, err)
	require.Empty(t, Check(&p, plan.Visits).Broken)
}

// TestNeedBecomesItem checks the figures of DEVELOPERS.md by hand.
func TestNeedBecomesItem(t *testing.T) {
	start := models.MustDate("2027-03-01")
	n := Need{ID: "m1/coolant", Machine: "m1", DueOn: start.AddDays(20), Interval: 100, Work: 60, Teardown: "top", Value: 9000, Late: 700, Alone: 8000}
	it := n.Item(start, 90)
	require.Equal(t, Item{ID: "m1/coolant", Machine: "m1", Earliest: -20, Due: 20, Work: 60, Access: "top", Interval: 100, Value: 9000, Late: 700, Skip: 105000}, it)

	n.EarlyOn, n.LateOn, n.LatestOn, n.PartsOn = start.AddDays(-5), start.AddDays(40), start.AddDays(30), start.AddDays(6)
	it = n.Item(start, 90)
	// 45 days from the 10th to the 90th percentile: s = 17.557, s/sqrt(2 pi) = 7.004 days.
	require.Equal(t, int64(1400), it.Late)
	require.Equal(t, 30, *it.Latest)
	require.Equal(t, 6, it.Lead)

	require.Equal(t, int64(2000), n.Item(start, 20).Skip, "due after the plan: a quarter of a visit of its own")
}

// TestLateness follows the steps of the format: 1 a day for days 1-7, 2 for
// 8-14, 4 after.
func TestLateness(t *testing.T) {
	for days, want := range map[int]int64{0: 0, 1: 1, 7: 7, 8: 9, 14: 21, 15: 25, 40: 125} {
		require.Equal(t, want, lateness(days), days)
	}
}
