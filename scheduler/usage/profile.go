package usage

import (
	"encoding/json"
	"fmt"
)

// Profile is what a fleet teaches, numbered by month (models.ProfileNumber). A nil *Profile
// is a weak prior that ships with the program.
type Profile struct {
	Number   int
	Machines int // machines it was fitted on
}

// MarshalBinary gives the stored form.
func (p *Profile) MarshalBinary() ([]byte, error) {
	b, err := json.Marshal(p)
	if err != nil {
		return nil, fmt.Errorf("storing a usage profile: %w", err)
	}
	return b, nil
}

// UnmarshalBinary reads the stored form.
func (p *Profile) UnmarshalBinary(b []byte) error {
	if err := json.Unmarshal(b, p); err != nil {
		return fmt.Errorf("reading a usage profile: %w", err)
	}
	return nil
}

// Fitter gathers a fleet, machine by machine and in any order, and fits the
// profile of a month. The caller hands in what was known before the first of
// that month only.
type Fitter struct {
	number int
	count  int
}

// NewFitter begins the profile of a month (models.ProfileNumber).
func NewFitter(number int) *Fitter { return &Fitter{number: number} }

// Add takes in one machine.
func (f *Fitter) Add(s *Screened) { f.count++ }

// Profile fits what was gathered.
func (f *Fitter) Profile() (*Profile, error) {
	return &Profile{Number: f.number, Machines: f.count}, nil
}

// Summary is what a Fitter takes from one machine; a caller that fits month
// after month may keep it while the machine has no new fact.
type Summary struct {
	machine string
}

// Summarize draws from a machine's points what the fleet learns from it.
func Summarize(s *Screened) Summary { return Summary{machine: s.Machine.ID} }

// AddSummary takes in one machine by its summary.
func (f *Fitter) AddSummary(s Summary) { f.count++ }
