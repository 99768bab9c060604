package cooling

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// State says what a sensor's circuit shows.
type State string

// States of a circuit.
const (
	StateGood    State = "good"    // a temperature that coolant can have
	StateOpen    State = "open"    // broken wire or connector off: reads coldest
	StateShort   State = "short"   // touching wires or ground: reads hottest
	StateSuspect State = "suspect" // an end of a scale, or a temperature to look at twice
	StateBeyond  State = "beyond"  // outside the rows of the sensor's table: a guess by the curve
)

// Reading is a temperature as a circuit gives it.
type Reading struct {
	State State    `json:"state"`
	TempC *float64 `json:"temp_c"` // nil unless good or suspect
	Why   string   `json:"why"`
}

// read makes a reading of a temperature.
func read(s State, c float64, why string) Reading { return Reading{State: s, TempC: &c, Why: why} }

// Temperatures that a coolant sensor seldom shows rightly. Common practice,
// no source.
const (
	doubtColdC = -25 // colder than most air in which an engine is started
	doubtHotC  = 115 // near where coolant boils without its cap
)

// believed judges a temperature that its circuit could give.
func believed(c float64) Reading {
	switch {
	case c <= doubtColdC:
		return read(StateSuspect, c, "believe it only before a cold start in air that cold; else look for a poor contact")
	case c >= doubtHotC:
		return read(StateSuspect, c, "near where coolant boils without its cap: stop the engine and let it go cold before you look for a poor ground")
	}
	return read(StateGood, c, "a temperature that coolant has")
}

// ReadOhm tells what a resistance measured at a sensor means: a temperature,
// or an open or shorted circuit. Beyond -50 °C and +160 °C a resistance tells
// of the circuit (common practice, no source); infinite is what a meter shows
// with nothing connected.
func ReadOhm(curve Curve, ohm float64) Reading {
	const coldestC, hottestC = -50, 160
	switch {
	case math.IsNaN(ohm) || ohm < 0:
		return Reading{State: StateSuspect, Why: "that is not a resistance"}
	case math.IsInf(ohm, 1):
		return Reading{State: StateOpen, Why: "no connection"}
	case ohm == 0:
		return Reading{State: StateShort, Why: "no resistance at all"}
	}
	c, err := curve.TempC(ohm)
	if err == nil && c >= coldestC && c <= hottestC {
		got := believed(c)
		if f, ok := curve.(Fitted); ok && got.State == StateGood && !f.covers(c) {
			return read(StateBeyond, c, f.beyond())
		}
		return got
	}
	// Outside its range compare with an end that the curve still knows.
	if cold, e := curve.Ohm(0); e == nil && ohm > cold {
		return Reading{State: StateOpen, Why: "more resistance than a sensor has at its coldest"}
	}
	if hot, e := curve.Ohm(80); e == nil && ohm < hot {
		return Reading{State: StateShort, Why: "less resistance than a sensor has at its hottest"}
	}
	if err != nil {
		return Reading{State: StateSuspect, Why: err.Error()}
	}
	return read(StateSuspect, c, "at the end of the sensor's range")
}

// Divider is a sensor from signal to ground under a pull-up resistor, as in
// most control units.
type Divider struct {
	SupplyV   float64 `json:"supply_v"`
	PullUpOhm float64 `json:"pull_up_ohm"`
}

// Ohm gives the resistance behind a signal voltage; the supply itself gives
// an infinite one. It refuses voltages outside 0 to the supply.
func (d Divider) Ohm(volts float64) (float64, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	if !(volts >= 0 && volts <= d.SupplyV) {
		return 0, refuse(RefusedInput, "check the meter's ground and the supply", "%.4g V is outside 0 to %.4g V", volts, d.SupplyV)
	}
	if volts == d.SupplyV {
		return math.Inf(1), nil
	}
	return d.PullUpOhm * volts / (d.SupplyV - volts), nil
}

func (d Divider) check() error {
	if !(d.SupplyV > 0 && d.SupplyV <= 48) || !(d.PullUpOhm > 0) || math.IsInf(d.PullUpOhm, 0) {
		return refuse(RefusedInput, "take both from the wiring diagram; often 5 V", "a divider of %.4g V and %.4g ohm cannot be", d.SupplyV, d.PullUpOhm)
	}
	return nil
}

// ReadVolts tells what a signal voltage means. Within 2 % of the supply it is
// open, within 1 % of ground shorted (common practice, no source).
func ReadVolts(curve Curve, d Divider, volts float64) (Reading, error) {
	ohm, err := d.Ohm(volts)
	if err != nil {
		return Reading{}, err
	}
	switch {
	case volts >= 0.98*d.SupplyV:
		return Reading{State: StateOpen, Why: "the signal stands at the supply"}, nil
	case volts <= 0.01*d.SupplyV:
		return Reading{State: StateShort, Why: "the signal stands at ground"}, nil
	}
	return ReadOhm(curve, ohm), nil
}

// FromByte reads the coolant byte of SAE J1979 service 01 PID 0x05: °C is the
// byte less 40. Both ends of the scale are suspect: 0x00 is what an open
// sensor or an empty frame shows, 0xFF a short.
func FromByte(b byte) Reading {
	c := float64(b) - 40
	switch b {
	case 0x00:
		return read(StateSuspect, c, "-40 °C is also what an open sensor or an empty frame shows")
	case 0xFF:
		return read(StateSuspect, c, "215 °C is also what a shorted sensor or an unanswered frame shows")
	}
	return believed(c)
}

// ParseFrame reads the answer to service 01 PID 0x05 as a tool prints it:
// "41 05 7B", in any case and with or without blanks, alone or with the header
// and the check byte or padding of its bus ("7E8 03 41 05 7B", "18DAF110 03 41
// 05 7B", "48 6B 10 41 05 7B 84"; ISO 15765-4, ISO 14230-4 and ISO 9141-2,
// from memory).
func ParseFrame(text string) (Reading, error) {
	const remedy = "write the whole answer, for example 41 05 7B"
	m := frameForm.FindStringSubmatch(strings.ToUpper(strings.Join(strings.Fields(text), "")))
	if m == nil {
		return Reading{}, refuse(RefusedInput, remedy, "%q does not answer service 01 PID 05 with one data byte", shorten(text))
	}
	v, err := strconv.ParseUint(m[1]+m[2], 16, 8) // one of the two is empty
	if err != nil {
		return Reading{}, refuse(RefusedInput, remedy, "%q is not hexadecimal", shorten(text))
	}
	return FromByte(byte(v)), nil
}

// frameForm is a coolant answer: bare; behind a CAN identifier of 11 or 29
// bits and the length 3, padded or not; or behind three header bytes and before
// one check byte.
var frameForm = regexp.MustCompile(`^(?:|(?:7E[0-9A-F]|18DAF1[0-9A-F]{2})03)4105([0-9A-F]{2})(?:(?:00|55|AA|CC|FF){4})?$|^[0-9A-F]{6}4105([0-9A-F]{2})[0-9A-F]{2}$`)

// codeNames are names of trouble codes in the words of SAE J2012, as in the
// public list of the python-OBD project (obd/codes.py); P0480 is from memory.
var codeNames = map[string]string{
	"P0115": "Engine Coolant Temperature Circuit",
	"P0116": "Engine Coolant Temperature Circuit Range/Performance",
	"P0117": "Engine Coolant Temperature Circuit Low",
	"P0118": "Engine Coolant Temperature Circuit High",
	"P0119": "Engine Coolant Temperature Circuit Intermittent",
	"P0125": "Insufficient Coolant Temperature for Closed Loop Fuel Control",
	"P0126": "Insufficient Coolant Temperature for Stable Operation",
	"P0128": "Coolant Thermostat (Coolant Temperature Below Thermostat Regulating Temperature)",
	"P0217": "Engine Coolant Over Temperature Condition",
	"P0480": "Cooling Fan 1 Control Circuit",
}

// CodeName gives the SAE J2012 name of a code that verdicts name; ok is false
// for all others.
func CodeName(code string) (name string, ok bool) {
	name, ok = codeNames[strings.ToUpper(strings.TrimSpace(code))]
	return name, ok
}
