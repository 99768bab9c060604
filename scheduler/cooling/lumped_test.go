package cooling_test

import (
	"math"
	"math/rand/v2"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// lumped is a second, simpler model that shares nothing with engine: one
// body, everything in degrees per second, a thermostat without lag and a fan
// with a slow start, and work that wanders at random.

type lumped struct {
	heat, wander     float64 // °C/s at work 1; size of its wandering
	lossPerS         float64 // share of the excess over ambient lost through the block
	openPerS         float64 // through the radiator at full opening, standing air
	fanPerS          float64 // more with the fan
	ambient, opens   float64
	span             float64
	fanOn, fanBand   float64
	temp, work, fan  float64
	seconds          float64
	stuck            float64 // opening held by a fault; negative: works
	fanDead, fanCall bool
	downFrom, downTo float64 // a downhill: little heat
}

func (m *lumped) step(r *rand.Rand, dt float64) {
	m.work += (1-m.work)*dt/60 + m.wander*r.NormFloat64()*dt
	heat := m.heat * max(m.work, 0.1)
	if m.seconds >= m.downFrom && m.seconds < m.downTo {
		heat *= 0.25
	}
	open := min(max((m.temp-m.opens)/m.span, 0), 1)
	if m.stuck >= 0 {
		open = m.stuck
	}
	if m.temp >= m.fanOn {
		m.fanCall = true
	} else if m.temp < m.fanOn-m.fanBand {
		m.fanCall = false
	}
	target := 0.0
	if m.fanCall && !m.fanDead {
		target = 1
	}
	m.fan += (target - m.fan) * dt / 4
	m.temp += dt * (heat - (m.lossPerS+open*(m.openPerS+m.fan*m.fanPerS))*(m.temp-m.ambient))
	m.seconds += dt
}

// newLumped draws a working engine.
func newLumped(r *rand.Rand) *lumped {
	m := &lumped{ambient: between(r, -30, 42), opens: between(r, 65, 95), span: between(r, 4, 10), stuck: -1, work: 1,
		heat: between(r, 0.06, 0.5), wander: pick(r, 0, 0.01, 0.03)}
	m.fanOn = m.opens + between(r, 8, 18)
	m.fanBand = between(r, 3, 8)
	excess := m.fanOn - m.ambient
	m.lossPerS = m.heat / (excess * between(r, 1.5, 4))
	m.openPerS = between(r, 0.4, 1.2) * (m.heat/excess - m.lossPerS)
	m.fanPerS = between(r, 1, 3) * m.heat / excess
	m.temp = m.ambient
	if r.IntN(4) == 0 {
		m.temp = max(m.ambient, between(r, 35, m.opens-3))
	}
	if r.IntN(4) == 0 {
		m.downFrom = between(r, 200, 1000)
		m.downTo = m.downFrom + between(r, 60, 200)
	}
	return m
}

// drawLumped makes one case of a verdict on the second model.
func drawLumped(r *rand.Rand, want cooling.Verdict) labeled {
	for {
		m := newLumped(r)
		truth, ok := m.truth(r, want)
		if !ok {
			continue
		}
		o := cooling.Options{OpensC: models.Degrees(m.opens), FanOnC: models.Degrees(m.fanOn)}
		return labeled{want: want, log: logged(r, truth, pick(r, 0.2, 0.5, 1, 2, 5), want), options: o}
	}
}

func (m *lumped) truth(r *rand.Rand, want cooling.Verdict) ([]float64, bool) {
	out := []float64{m.temp}
	peak, reached := m.temp, -1.0
	run := func(limit float64, stop func() bool) {
		for m.seconds < limit && !stop() {
			m.step(r, tick)
			out = append(out, m.temp)
			peak = max(peak, m.temp)
			if reached < 0 && m.temp >= m.opens+1 {
				reached = m.seconds
			}
		}
	}
	switch want {
	case cooling.StuckOpen:
		m.stuck = between(r, 0.3, 1)
		m.openPerS = m.heat / (max(m.opens-between(r, 10, 45)-m.ambient, 12) * m.stuck)
		run(between(r, 1500, 2400), never)
		return out, peak < m.opens-7 && m.downFrom == 0 && math.Abs(m.temp-out[0]) > 6
	case cooling.Hot:
		m.stuck, m.downFrom = between(r, 0, 0.01), 1e9
		stop := m.fanOn + between(r, 10, 25)
		run(2400, func() bool { return m.temp >= stop })
		return out, m.temp >= m.fanOn+9
	case cooling.FanAbsent:
		m.fanDead, m.downFrom = true, 1e9
		run(2400, func() bool { return m.temp >= 125 })
		return out, peak >= m.fanOn+6 && m.temp > peak-2
	case cooling.Unsure:
		stop := between(r, m.temp, m.opens-8)
		run(2400, func() bool { return m.temp >= stop })
		return out, stop-out[0] > 8 && m.temp >= stop && m.seconds > 30 && (m.downFrom == 0 || m.seconds < m.downFrom)
	case cooling.Healthy:
		hold := between(r, 180, 900)
		run(2400, func() bool { return reached >= 0 && m.seconds-reached > hold })
		return out, reached >= 0 && m.seconds-reached > hold
	default:
		run(between(r, 200, 1400), never)
		return out, m.temp > m.ambient+30 && m.temp > 45
	}
}
