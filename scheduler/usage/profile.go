package usage

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
)

// Profile is what a fleet teaches, numbered by month (models.ProfileNumber). A
// nil *Profile stands for a weak prior that ships with the program.
type Profile struct {
	Number   int `json:"number"`
	Machines int `json:"machines"` // machines it was fitted on

	Seasons [][bins + 1]float64 `json:"seasons"` // operational days since new year at each bin's start
	Fleet   classFit            `json:"fleet"`
	Kinds   map[string]classFit `json:"kinds"`
	Classes map[string]classFit `json:"classes"` // by classKey
	Owners  map[string]ownerFit `json:"owners"`

	seasons []season // Seasons, made ready
}

// classFit is what machines of one class have in common.
type classFit struct {
	Machines float64   `json:"machines"` // how many were seen
	Weights  []float64 `json:"weights"`  // of the seasons, sum 1
	Rates    []float64 `json:"rates"`    // by season: hours of activity a day, of the mean machine
	Spreads  []float64 `json:"spreads"`  // by season: shape of the gamma of rates among machines
	Grain    float64   `json:"grain"`    // hours: variance by mean of the use in a span
	Memory   []float64 `json:"memory"`   // weights of the memories, sum 1
	Pace     float64   `json:"pace"`     // miles for an hour of the meter
}

// ownerFit is what the machines of one owner have in common.
type ownerFit struct {
	Machines float64   `json:"machines"`
	Weights  []float64 `json:"weights"` // of the seasons, summed over its machines
	Busier   float64   `json:"busier"`  // log of its machines' use by that of their classes, drawn to 0
}

// shipped is the weak prior for a fleet that is not known at all: an hour of
// use every third day, give or take a factor of three, in any season (common
// practice, no source).
func shipped() *Profile {
	p := &Profile{}
	sd := seeds()
	for _, s := range sd {
		p.Seasons = append(p.Seasons, s.cum)
	}
	w := make([]float64, len(sd))
	for i := range w {
		w[i] = 0.6 / float64(len(sd)-1)
	}
	w[0] = 0.4
	rates, spreads := make([]float64, len(sd)), make([]float64, len(sd))
	for i := range w {
		rates[i], spreads[i] = 0.5, 1.2
	}
	p.Fleet = classFit{Weights: w, Rates: rates, Spreads: spreads, Grain: 4,
		Memory: []float64{0.15, 0.08, 0.04, 0.02, 0.57, 0.10, fastShare}, Pace: basePace}
	p.ready()
	return p
}

// ready makes the seasons' clocks.
func (p *Profile) ready() {
	p.seasons = make([]season, len(p.Seasons))
	for i, v := range p.Seasons {
		p.seasons[i] = season{cum: v}
	}
}

// class gives the fit of a machine's class, or of the nearest that is known.
func (p *Profile) class(kind, ownerType string) *classFit {
	if c, ok := p.Classes[classKey(kind, ownerType)]; ok {
		return &c
	}
	if c, ok := p.Kinds[kind]; ok {
		return &c
	}
	return &p.Fleet
}

// MarshalBinary gives the stored form.
func (p *Profile) MarshalBinary() ([]byte, error) {
	b, err := json.Marshal(p)
	if err != nil {
		return nil, fmt.Errorf("storing a usage profile: %w", err)
	}
	return b, nil
}

// UnmarshalBinary reads the stored form. What does not fit together is an
// error, as after a change of the form between versions; the profile is then
// left as it was, and the caller fits it anew.
func (p *Profile) UnmarshalBinary(b []byte) error {
	var q Profile
	if err := json.Unmarshal(b, &q); err != nil {
		return fmt.Errorf("reading a usage profile: %w", err)
	}
	if err := q.check(); err != nil {
		return fmt.Errorf("reading a usage profile: %w", err)
	}
	q.ready()
	*p = q
	return nil
}

// errProfile says that the parts of a profile do not fit together.
var errProfile = errors.New("its parts do not fit together")

// check looks whether the parts fit together.
func (p *Profile) check() error {
	if len(p.Seasons) == 0 {
		return errProfile
	}
	for _, s := range p.Seasons {
		for i := range bins {
			if !(s[i] >= 0 && s[i+1] > s[i] && s[i+1] <= 2*yearDays) {
				return errProfile
			}
		}
	}
	ok := p.Fleet.fits(len(p.Seasons))
	for _, group := range []map[string]classFit{p.Kinds, p.Classes} {
		for _, c := range group {
			ok = ok && c.fits(len(p.Seasons))
		}
	}
	for _, o := range p.Owners {
		ok = ok && len(o.Weights) == len(p.Seasons) && o.Machines > 0 && math.Abs(o.Busier) < 20
	}
	if !ok {
		return errProfile
	}
	return nil
}

// fits says whether a class is one of so many seasons, with figures in bounds.
func (c *classFit) fits(seasons int) bool {
	if len(c.Weights) != seasons || len(c.Rates) != seasons || len(c.Spreads) != seasons || len(c.Memory) != len(memories) {
		return false
	}
	within := func(x []float64, lo, hi float64) bool {
		for _, v := range x {
			if !(v >= lo && v <= hi) {
				return false
			}
		}
		return true
	}
	return within(c.Weights, 0, 1) && maxOf(c.Weights) > 1e-2 && within(c.Rates, 1e-9, 1e9) && within(c.Spreads, 1e-3, 1e6) &&
		within(c.Memory, 0, 1) && maxOf(c.Memory) > 0 && within([]float64{c.Grain, c.Pace}, 1e-6, 1e9)
}
