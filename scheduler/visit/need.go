package visit

import (
	"math"

	"example.org/roundsman/models"
)

// Need is one service item of a machine as the forecast sees it.
type Need struct {
	ID, Machine string
	EarlyOn     models.Date // 10th percentile of the day on which it falls due
	DueOn       models.Date // 50th
	LateOn      models.Date // 90th
	LatestOn    models.Date // a hard bar: a season's opening, an owner's wish; none: no bar
	PartsOn     models.Date // when its parts come; none: at hand
	Interval    int         // days between two services, at least 1
	Work        int         // minutes, without access
	Teardown    string      // "" needs none
	Value       int64       // cents: parts and labor of doing it once
	Late        int64       // cents a day late
	Alone       int64       // cents of a visit of its own later, for what is due after the plan
}

// Figures of how a need becomes an item. The first is the project's rule; the
// others are common practice, no source.
const (
	earlyShare = 0.4                // of the interval, before the due day
	skipDays   = 150                // days of lateness that skipping what is due counts as
	laterShare = 0.25               // of a visit of its own: mostly it will share one
	decile     = 1.2815515655446004 // standard normal quantile of 0.9
)

// Item makes a planning item of a need for a plan that starts on a day.
//
//   - It may be done from 0.4 of its interval before it is due.
//   - When a due day is not sure, doing the item on its likeliest day already
//     means some lateness: with a spread of s days (half the range of the
//     10th to the 90th percentile, over 1.28), s/sqrt(2 pi) days on average,
//     the mean of what lies above 0 of a normal law. Lateness therefore
//     costs Late * (1 + that/7): a week of mean lateness doubles it.
//   - Skipping it costs 150 days' lateness when it is due within the plan,
//     else a quarter of a visit of its own.
func (n Need) Item(start models.Date, days int) Item {
	interval := max(1, n.Interval)
	due := start.DaysTo(n.DueOn)
	spread := 0.0
	if !n.EarlyOn.IsZero() && !n.LateOn.IsZero() {
		spread = max(0, float64(n.EarlyOn.DaysTo(n.LateOn))) / (2 * decile)
	}
	mean := spread / math.Sqrt(2*math.Pi)
	it := Item{ID: n.ID, Machine: n.Machine, Earliest: due - int(math.Round(earlyShare*float64(interval))), Due: due, Work: n.Work,
		Access: n.Teardown, Interval: interval, Value: n.Value, Late: int64(math.Round(float64(n.Late) * (1 + mean/7)))}
	if !n.LatestOn.IsZero() {
		latest := start.DaysTo(n.LatestOn)
		it.Latest = &latest
	}
	if !n.PartsOn.IsZero() {
		it.Lead = max(0, start.DaysTo(n.PartsOn))
	}
	it.Skip = min(MaxMoney, skipDays*it.Late)
	if due >= days {
		it.Skip = int64(math.Round(laterShare * float64(n.Alone)))
	}
	return it
}
