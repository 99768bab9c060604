package cooling_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// engine is a two-body model of a liquid-cooled engine for made-up logs: the
// block with its coolant, and the radiator with its own, joined by a wax
// thermostat. Heat goes in J, capacities in J/K, conductances in W/K.
type engine struct {
	block, radiator    float64 // heat capacities
	ambient            float64
	opens, span        float64 // thermostat: begins to open, and is fully open so much higher
	waxS               float64 // lag of the wax
	flow               float64 // conductance between the bodies at full opening
	leak               float64 // share of it that passes a closed thermostat
	blockLoss          float64 // block to air
	still, fan, ram    float64 // radiator to air: standing, with fan, driving
	fanOn, fanOff      float64
	sensorS            float64 // lag of the sensor
	idle               float64 // heat to coolant at idle, W
	load               []leg
	stuck              float64 // opening held by a fault; negative: works
	fanDead            bool
	blockC, radiatorC  float64 // at the start
	sensorC            float64
	wax                float64
	fanRuns            bool
	elapsed, truthPeak float64
}

// leg is a stretch of work.
type leg struct {
	seconds, heat float64 // heat in multiples of idle
	moving        bool
}

// now gives the leg at a time; the last one goes on.
func (e *engine) now() leg {
	t := e.elapsed
	for _, l := range e.load {
		if t < l.seconds {
			return l
		}
		t -= l.seconds
	}
	return e.load[len(e.load)-1]
}

// step moves the model on by dt seconds.
func (e *engine) step(dt float64) {
	l := e.now()
	e.wax += (e.blockC - e.wax) * dt / e.waxS
	open := min(max((e.wax-e.opens)/e.span, 0), 1)
	if e.stuck >= 0 {
		open = e.stuck
	}
	open = max(open, e.leak)
	if e.blockC >= e.fanOn {
		e.fanRuns = true
	} else if e.blockC <= e.fanOff {
		e.fanRuns = false
	}
	ua := e.still
	if e.fanRuns && !e.fanDead {
		ua = max(ua, e.fan)
	}
	if l.moving {
		ua = max(ua, e.ram)
	}
	across := open * e.flow * (e.blockC - e.radiatorC)
	e.blockC += dt / e.block * (l.heat*e.idle - across - e.blockLoss*(e.blockC-e.ambient))
	e.radiatorC += dt / e.radiator * (across - ua*(e.radiatorC-e.ambient))
	e.sensorC += (e.blockC - e.sensorC) * dt / e.sensorS
	e.elapsed += dt
	e.truthPeak = max(e.truthPeak, e.blockC)
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// newEngine draws a working engine: from a small quad to a compact tractor,
// from deep winter to desert, idling, working or driving with a downhill.
func newEngine(r *rand.Rand) *engine {
	e := &engine{block: between(r, 8e3, 60e3), ambient: between(r, -30, 45), stuck: -1}
	e.opens = between(r, 65, 92)
	e.fanOn = max(e.opens+between(r, 6, 20), 78)
	e.fanOff = e.fanOn - between(r, 3, 8)
	e.span = between(r, 7, 12)
	e.waxS = between(r, 4, 20)
	e.radiator = e.block * between(r, 0.12, 0.4)
	e.flow = e.block * between(r, 0.015, 0.05)
	e.leak = pick(r, 0.0, 0, between(r, 0, 0.01))
	e.sensorS = between(r, 1, 8)
	e.idle = e.block * between(r, 0.05, 0.25)
	e.blockLoss = e.idle / (max(e.opens+30-e.ambient, 100) * between(r, 1.1, 2.5))
	head := e.fanOn - e.ambient
	e.still = between(r, 0.25, 1.1) * e.idle / head
	e.fan = e.still + between(r, 1.3, 3)*e.idle/head
	e.ram = between(r, 4, 9) * e.idle / (e.opens + 4 - e.ambient)
	e.load = []leg{{seconds: 1e9, heat: 1}}
	switch r.IntN(3) {
	case 1: // work at a stand: the fan must hold it
		e.load = nil
		for range 8 {
			e.load = append(e.load, leg{seconds: between(r, 40, 200), heat: between(r, 0.8, 1.3)})
		}
	case 2: // drive, with a downhill in between
		e.load = []leg{{seconds: between(r, 20, 120), heat: 1}}
		for range 8 {
			e.load = append(e.load, leg{seconds: between(r, 40, 240), heat: between(r, 1.2, 2), moving: true})
		}
		e.load = append(e.load, leg{seconds: between(r, 60, 240), heat: between(r, 0.2, 0.6), moving: true},
			leg{seconds: 200, heat: 2, moving: true})
	}
	e.blockC = e.ambient + between(r, 0, 2)
	e.radiatorC = e.ambient
	if r.IntN(4) == 0 { // a warm restart
		e.blockC = max(e.ambient, between(r, 40, e.opens-2))
		e.radiatorC = e.ambient + between(r, 0.2, 0.9)*(e.blockC-e.ambient)
	}
	e.wax, e.sensorC, e.truthPeak = e.blockC, e.blockC, e.blockC
	return e
}

const tick = 0.1 // seconds of the model

// run lets the model go on until it says stop, or for so many seconds, and
// gives the true reading at each tick.
func (e *engine) run(seconds float64, stop func() bool) []float64 {
	out := []float64{e.sensorC}
	for e.elapsed < seconds {
		e.step(tick)
		out = append(out, e.sensorC)
		if stop() {
			break
		}
	}
	return out
}

// labeled is a made-up log with its truth.
type labeled struct {
	note    string
	want    cooling.Verdict
	log     []cooling.Sample
	options cooling.Options
}

func never() bool { return false }

// afterReaching stops so many seconds after the block first came to a level.
func (e *engine) afterReaching(level, seconds float64) func() bool {
	reached := -1.0
	return func() bool {
		if reached < 0 && e.blockC >= level {
			reached = e.elapsed
		}
		return reached >= 0 && e.elapsed-reached >= seconds
	}
}

// draw makes one case of a verdict; it tries again where the drawn engine
// cannot show the fault (a fan that is never needed cannot be missed).
func draw(r *rand.Rand, want cooling.Verdict) labeled {
	for {
		e := newEngine(r)
		truth, ok := e.truth(r, want)
		if !ok {
			continue
		}
		o := cooling.Options{OpensC: models.Degrees(math.Round(e.opens)), FanOnC: models.Degrees(math.Round(e.fanOn))}
		if want != cooling.FanAbsent && want != cooling.Hot && r.IntN(8) == 0 {
			o.FanOnC = models.Celsius{}
		}
		every := pick(r, 0.2, 0.5, 1, 1, 2, 5)
		return labeled{note: fmt.Sprintf("legs %d leak %.4f start %.0f amb %.0f teq %.0f every %.1f", len(e.load), max(e.stuck, e.leak), truth[0], e.ambient, e.ambient+e.idle/e.blockLoss, every), want: want, log: logged(r, truth, every, want), options: o}
	}
}

// truth lets an engine run so that it shows a verdict.
func (e *engine) truth(r *rand.Rand, want cooling.Verdict) ([]float64, bool) {
	switch want {
	case cooling.StuckOpen:
		e.stuck = between(r, 0.35, 1)
		e.still = between(r, 1, 2) * e.idle / max(e.opens-between(r, 9, 45)-e.ambient, 12)
		truth := e.run(between(r, 1500, 2400), never)
		peak := 0.0
		for _, v := range truth[len(truth)/3:] {
			peak = max(peak, v)
		}
		drift := truth[len(truth)-1] - truth[len(truth)*3/4]
		return truth, peak < e.opens-8 && math.Abs(drift) < 3 && math.Abs(truth[len(truth)-1]-truth[0]) > 6
	case cooling.Hot:
		e.stuck = pick(r, 0.0, 0, between(r, 0, 0.004)) // a bleed valve lets a little through
		truth := e.run(2400, e.afterReaching(e.fanOn+between(r, 9, 25), between(r, 0, 20)))
		return truth, e.blockC >= e.fanOn+8
	case cooling.FanAbsent:
		e.fanDead = true
		truth := e.run(between(r, 1200, 2400), e.afterReaching(125, 0))
		return truth, e.truthPeak >= e.fanOn+6 && e.blockC > e.truthPeak-1.5
	case cooling.Unsure:
		truth := e.run(2400, e.afterReaching(between(r, e.blockC+5, e.opens-7), 0))
		return truth, e.blockC < e.opens-6 && len(truth) < 20000 && len(truth) > 300 && e.blockC-truth[0] > 4
	case cooling.Healthy:
		truth := e.run(2400, e.afterReaching(e.opens+1, between(r, 180, 900)))
		return truth, e.truthPeak >= e.opens+0.5 && e.elapsed < 2390
	default: // the circuit's faults lie over a healthy engine
		truth := e.run(between(r, 200, 1400), never)
		return truth, e.blockC > e.ambient+30 && e.blockC > 45
	}
}

// logged turns the truth into a log: sampled, disturbed, noisy, rounded, with
// samples missing.
func logged(r *rand.Rand, truth []float64, every float64, want cooling.Verdict) []cooling.Sample {
	n := int(every/tick + 0.5)
	var s []cooling.Sample
	from := between(r, 0, 50)
	for i := 0; i < len(truth); i += n {
		s = append(s, cooling.Sample{AtS: from + float64(i)*tick, TempC: truth[i]})
	}
	disturb(r, s, want)
	sigma := pick(r, 0, 0.1, 0.3, 0.6)
	grain := pick(r, 0, 0.1, 0.5, 1, 1)
	missing := pick(r, 0, 0, 0.02, 0.06)
	var out []cooling.Sample
	for _, v := range s {
		if want != cooling.ColdJump && want != cooling.HotJump && want != cooling.StepJump && r.Float64() < missing {
			continue
		}
		v.TempC += sigma * r.NormFloat64()
		if grain > 0 {
			v.TempC = math.Round(v.TempC/grain) * grain
		}
		out = append(out, v)
	}
	if r.IntN(3) == 0 { // a logger in Fahrenheit, in whole or tenth degrees
		grain := pick(r, 0.1, 1)
		for i := range out {
			out[i].TempC = cooling.ToCelsius(math.Round(cooling.ToFahrenheit(out[i].TempC)/grain) * grain)
		}
	}
	return out
}

// disturb lays a fault of the sensor's circuit over the samples.
func disturb(r *rand.Rand, s []cooling.Sample, want cooling.Verdict) {
	at := func(low, high float64) int { return int(between(r, low, high) * float64(len(s))) }
	set := func(from, to int, f func(c float64) float64) {
		for i := max(from, 0); i < min(to, len(s)); i++ {
			s[i].TempC = f(s[i].TempC)
		}
	}
	every := s[1].AtS - s[0].AtS
	lasting := func(low, high float64) int { return max(1, int(between(r, low, high)/every)) }
	switch want {
	case cooling.ColdJump:
		cold := between(r, -40, -12)
		k := at(0.6, 0.9)
		for range 1 + r.IntN(4) {
			to := k + lasting(0.3, 20)
			set(k, min(to, len(s)-2), func(float64) float64 { return cold })
			k = to + lasting(3, 60)
		}
	case cooling.HotJump:
		k := at(0.3, 0.9)
		hot := pick(r, 215.0, 215, between(r, 142, 215))
		for range 1 + r.IntN(4) {
			to := k + lasting(0.3, 20)
			set(k, min(to, len(s)-2), func(float64) float64 { return hot })
			k = to + lasting(3, 60)
		}
	case cooling.Noisy:
		sigma, from := between(r, 2.2, 7), 0
		if r.IntN(2) == 0 {
			from = at(0.1, 0.5) // it breaks up as it warms
		}
		set(from, len(s), func(c float64) float64 { return c + sigma*r.NormFloat64() })
	case cooling.StepJump:
		shift := between(r, 13, 35) * pick(r, -1.0, 1)
		k := at(0.5, 0.9)
		if shift < 0 && s[k].TempC+shift < s[0].TempC+8 {
			shift = -shift
		}
		to := len(s)
		if r.IntN(2) == 0 {
			to = k + lasting(1, 60)
		}
		set(k, to, func(c float64) float64 { return c + shift })
	case cooling.Open:
		k := 0
		if r.IntN(2) == 0 {
			k = min(at(0.3, 0.9), len(s)-lasting(20, 30)-5)
		}
		cold := pick(r, -40.0, -40, between(r, -50, -38))
		set(k, len(s), func(float64) float64 { return cold })
	case cooling.Short:
		k := 0
		if r.IntN(2) == 0 {
			k = min(at(0.3, 0.9), len(s)-lasting(20, 30)-5)
		}
		hot := pick(r, 215.0, 150, between(r, 130, 215))
		set(k, len(s), func(float64) float64 { return hot })
	}
}
