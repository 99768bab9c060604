package cooling

import (
	"example.org/roundsman/models"
)

// Verdict is what a warm-up log says.
type Verdict string

// Verdicts. Only the first is no fault; unsure is not one either.
const (
	Healthy   Verdict = "healthy"
	ColdJump  Verdict = "cold_jump"  // reads far colder than a warm engine can be, and comes back: intermittent circuit
	HotJump   Verdict = "hot_jump"   // reads far hotter than an engine can be, and comes back: intermittent short
	StepJump  Verdict = "step_jump"  // moves faster than metal and water can: intermittent circuit or shifted reading
	Noisy     Verdict = "noisy"      // wanders from second to second by more than coolant does: poor contact or interference
	Open      Verdict = "open"       // reads coldest and stays there: open circuit
	Short     Verdict = "short"      // reads hottest and stays there: shorted circuit
	StuckOpen Verdict = "stuck_open" // never reaches regulation: thermostat that does not close
	Hot       Verdict = "hot"        // rises past the fan without a knee: thermostat closed, or air or no coolant
	FanAbsent Verdict = "fan_absent" // regulates, then rises past the fan's temperature and is not brought down
	Unsure    Verdict = "unsure"     // too little in the log to say
)

// Options are what the machine's manual says; what is absent is not judged.
type Options struct {
	OpensC models.Celsius // temperature at which the thermostat begins to open
	FanOnC models.Celsius // temperature at which the fan comes on
}

// check refuses figures that no engine has.
func (o Options) check() error {
	for _, v := range []struct {
		name      string
		c         models.Celsius
		low, high float64
	}{{"thermostat", o.OpensC, 40, 130}, {"fan", o.FanOnC, 40, 150}} {
		if v.c.Known && !(v.c.F >= v.low && v.c.F <= v.high) {
			return refuse(RefusedInput, "take it from the machine's manual, in °C", "%.4g °C is no %s temperature", v.c.F, v.name)
		}
	}
	return nil
}

// Finding is a verdict with what it rests on. It never says that a part is
// bad: it says what the log resembles, what else could cause it and what to
// measure next.
type Finding struct {
	Verdict     Verdict       `json:"verdict"`
	AtS         models.Number `json:"at_s"` // second at which it showed; unknown where it is no one moment
	Evidence    []string      `json:"evidence"`
	Codes       []string      `json:"codes"` // SAE J2012 codes that it resembles
	OtherCauses []string      `json:"other_causes"`
	MeasureNext []string      `json:"measure_next"`
	Also        []Verdict     `json:"also"`       // what else the log shows
	NotJudged   []string      `json:"not_judged"` // what could not be judged, and why
	Seen        Seen          `json:"seen"`
}

// Seen sums a log up.
type Seen struct {
	Samples   int           `json:"samples"`
	FromS     float64       `json:"from_s"`
	ToS       float64       `json:"to_s"`
	IntervalS float64       `json:"interval_s"` // the usual time between samples
	LowestC   float64       `json:"lowest_c"`
	HighestC  float64       `json:"highest_c"`
	ReachedS  models.Number `json:"reached_s"` // when it first came up to the thermostat's temperature
	FanCycles int           `json:"fan_cycles"`
	NoiseC    float64       `json:"noise_c"` // standard deviation from sample to sample about its own course
}

// words are the lasting texts of a verdict; common practice, no source,
// except the codes (SAE J2012, see CodeName).
type words struct{ codes, causes, measure []string }

// firstCauses come before any part: they are cheap to look at and common.
var firstCauses = []string{
	"a loose, wet or corroded connector at the sensor",
	"a bad engine or sensor ground",
	"low coolant or trapped air, so that the sensor hangs in steam",
}

// verdictWords gives the texts of each verdict.
var verdictWords = map[Verdict]words{
	Healthy: {
		measure: []string{"before a cold start, after hours of standing: the reading against the air's temperature; an offset shows there and nowhere in a log", "resistance at the unplugged sensor, cold and hot, against the manual's table"},
	},
	ColdJump: {
		codes:   []string{"P0119", "P0118"},
		causes:  []string{"a wire broken inside its insulation that opens when it shakes or warms", "a sensor that opens inside when warm", "an empty frame from the logger (-40 °C is a raw zero)"},
		measure: []string{"wiggle the connector and the harness while watching the reading", "resistance at the unplugged sensor, cold and hot, against the manual's table", "voltage drop of the sensor ground with the engine running"},
	},
	HotJump: {
		codes:   []string{"P0119", "P0117"},
		causes:  []string{"a signal wire rubbed through that touches ground when it shakes", "a sensor that shorts inside when warm", "an unanswered frame from the logger (215 °C is a raw 255)"},
		measure: []string{"wiggle the connector and the harness while watching the reading", "resistance from the signal wire to ground, unplugged at both ends, while the harness is moved", "resistance at the unplugged sensor, cold and hot, against the manual's table"},
	},
	StepJump: {
		codes:   []string{"P0119", "P0116"},
		causes:  []string{"a rubbed wire that touches another", "a sensor that shifts when warm", "a supply that moves when the fan or the charging starts"},
		measure: []string{"resistance at the unplugged sensor, cold and hot, against the manual's table", "the true temperature beside the sensor with an infrared or contact thermometer", "sensor supply and ground while switching fan and lamps"},
	},
	Noisy: {
		codes:   []string{"P0119", "P0116"},
		causes:  []string{"ignition or charging noise on an unshielded or badly grounded wire", "a sensor that breaks up inside", "coolant that boils or foams around the sensor"},
		measure: []string{"voltage drop of the sensor ground with the engine running", "the reading with the engine off and the key on: noise that stops is noise from the engine", "resistance at the unplugged sensor while it is tapped and warmed"},
	},
	Open: {
		codes:   []string{"P0118", "P0115"},
		causes:  []string{"a connector that is off", "a broken signal or ground wire", "a sensor open inside"},
		measure: []string{"bridge the unplugged connector: the reading must swing to hottest", "resistance at the unplugged sensor against the manual's table", "continuity of signal and ground to the control unit"},
	},
	Short: {
		codes:   []string{"P0117", "P0115"},
		causes:  []string{"a signal wire rubbed through to ground", "a sensor shorted inside", "an engine that really is that hot: feel for heat before touching"},
		measure: []string{"unplug the sensor: the reading must swing to coldest", "resistance at the unplugged sensor against the manual's table", "resistance from the signal wire to ground, unplugged at both ends"},
	},
	StuckOpen: {
		codes:   []string{"P0128", "P0125", "P0126"},
		causes:  []string{"a thermostat held open by dirt, or none fitted", "a fan that runs all the time", "a sensor that reads low", "a very cold day at idle or a long downhill: try again under load"},
		measure: []string{"the upper hose by hand thermometer: it must stay cool until the thermostat opens", "the true temperature beside the sensor with an infrared or contact thermometer", "the thermostat in a pot of water with a thermometer, once it is out"},
	},
	Hot: {
		codes:   []string{"P0217", "P0116"},
		causes:  []string{"air locked in the head or the hoses", "a thermostat that stays closed", "a coolant pump that does not turn or move coolant", "a blocked radiator", "combustion gas in the coolant"},
		measure: []string{"stop the engine and let it go cold, then the level in the radiator itself", "both radiator hoses by thermometer: a cold lower hose means no flow", "bleed it cold, then run the log again", "combustion gas at the filler with a test fluid"},
	},
	FanAbsent: {
		codes:   []string{"P0217", "P0480"},
		causes:  []string{"a blown fuse or relay of the fan", "a fan switch or sensor that does not call", "a seized or unplugged fan motor", "mud or grass in the radiator", "a fan temperature in the manual for another model"},
		measure: []string{"does the fan turn when the temperature is above the manual's figure (hands off)", "supply at the fan's plug when it should run", "the fan straight on a battery, away from the blades", "the radiator's face for mud, from both sides"},
	},
	Unsure: {
		measure: []string{"a log from stone cold until the fan has cycled twice or 20 minutes have passed", "the opening temperature of the thermostat and the fan's, from the manual"},
	},
}

// dress gives a finding its lasting texts.
func dress(f Finding) Finding {
	w := verdictWords[f.Verdict]
	f.Codes = append([]string{}, w.codes...)
	f.MeasureNext = append([]string{}, w.measure...)
	f.OtherCauses = []string{}
	if len(w.causes) > 0 {
		f.OtherCauses = append(append(f.OtherCauses, firstCauses...), w.causes...)
	}
	if f.Also == nil {
		f.Also = []Verdict{}
	}
	if f.NotJudged == nil {
		f.NotJudged = []string{}
	}
	if f.Evidence == nil {
		f.Evidence = []string{}
	}
	return f
}
