package usage

import (
	"math"

	"example.org/roundsman/models"
)

// Summary is what a Fitter takes from one machine: its use between readings.
// A caller that fits month after month may keep it while the machine has no
// new fact.
type Summary struct {
	machine, kind, ownerType, owner string

	gaps     []gap
	odometer bool    // hours are inferred from miles by the usual pace
	miles    float64 // run between the first and last day on which both were read
	hours    float64
}

// gap is the use between two successive points.
type gap struct {
	from, to float64 // Rata Die numbers
	use      float64 // hours of activity
	noise    float64 // variance of use for guesses at its ends; 0: read exactly
}

// weight gives how much a gap tells by what it would if its ends had been read
// exactly, where use comes in counts of some hours: 1 for those.
func (g gap) weight(grain float64) float64 {
	if g.noise == 0 {
		return 1
	}
	own := math.Max(g.use, grain) * grain
	return own / (own + g.noise)
}

// basePace is the speed in miles an hour of the meter that stands in where
// nothing is known of a kind's (common practice, no source).
const basePace = 10

// Summarize draws from a machine's points what the fleet learns from it.
func Summarize(s *Screened) Summary {
	m := Summary{machine: s.Machine.ID, kind: models.KindID(s.Machine.Kind), ownerType: s.Owner.Type, owner: s.Machine.Owner}
	t := newTrack(s, basePace)
	m.gaps = t.gaps()
	mi, hr := s.Of(models.Odometer), s.Of(models.HourMeter)
	m.odometer = len(hr) < 2
	if len(mi) > 1 && len(hr) > 1 {
		from, to := max(mi[0].On, hr[0].On), min(mi[len(mi)-1].On, hr[len(hr)-1].On)
		if to > from {
			m.miles = valueOn(mi, to) - valueOn(mi, from)
			m.hours = valueOn(hr, to) - valueOn(hr, from)
		}
	}
	return m
}

// gaps gives the use between successive points.
func (t *track) gaps() []gap {
	if t.n() < 2 {
		return nil
	}
	out := make([]gap, 0, t.n()-1)
	for i := 1; i < t.n(); i++ {
		out = append(out, gap{t.days[i-1], t.days[i], t.act[i] - t.act[i-1], t.spread[i-1]*t.spread[i-1] + t.spread[i]*t.spread[i]})
	}
	return out
}

func (t *track) n() int { return len(t.days) }

// classKey names the class of a machine: its kind and its owner's type.
func classKey(kind, ownerType string) string { return kind + "\x1f" + ownerType }
