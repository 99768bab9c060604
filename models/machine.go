package models

import (
	"strings"
	"unicode"
)

// Meter is which of a machine's two meters is meant.
type Meter string

// The meters. An odometer shows miles or kilometers, as the machine says.
const (
	Odometer  Meter = "miles"
	HourMeter Meter = "hours"
)

// Meters says which meters a machine has.
type Meters string

// Sets of meters, as in machines.csv.
const (
	MetersMiles  Meters = "miles"
	MetersKM     Meters = "km"
	MetersHours  Meters = "hours"
	MetersBoth   Meters = "both"
	MetersBothKM Meters = "both_km"
	MetersNone   Meters = "none" // serviced by the calendar alone
)

// MeterSets lists every set of meters.
func MeterSets() []Meters {
	return []Meters{MetersMiles, MetersKM, MetersHours, MetersBoth, MetersBothKM, MetersNone}
}

// Has says whether the set holds a meter.
func (m Meters) Has(meter Meter) bool {
	if meter == HourMeter {
		return m == MetersHours || m == MetersBoth || m == MetersBothKM
	}
	return m != MetersHours && m != MetersNone && m != ""
}

// Metric says whether the odometer shows kilometers.
func (m Meters) Metric() bool { return m == MetersKM || m == MetersBothKM }

// Unit gives the unit that a meter shows: mi, km or h.
func (m Meters) Unit(meter Meter) string {
	switch {
	case meter == HourMeter:
		return "h"
	case m.Metric():
		return "km"
	}
	return "mi"
}

// KilometersPerMile is exact: the international mile is 1609.344 m (1959
// agreement; NIST SP 811, appendix B.8).
const KilometersPerMile = 1.609344

// Miles gives what an odometer shows in miles.
func (m Meters) Miles(shown float64) float64 {
	if m.Metric() {
		return shown / KilometersPerMile
	}
	return shown
}

// Shown gives what the odometer shows for a distance in miles.
func (m Meters) Shown(miles float64) float64 {
	if m.Metric() {
		return miles * KilometersPerMile
	}
	return miles
}

// Duty says how hard a machine is worked.
type Duty string

// Duties. Severe is dust, mud, towing, short cold trips, long idling.
const (
	DutyNormal Duty = "normal"
	DutySevere Duty = "severe"
)

// Cooling says how an engine is cooled; "" is not known.
type Cooling string

// Kinds of cooling.
const (
	CoolingLiquid Cooling = "liquid"
	CoolingAir    Cooling = "air"
)

// Fuel says what an engine burns; "" is not known.
type Fuel string

// Fuels.
const (
	FuelGas    Fuel = "gas"
	FuelDiesel Fuel = "diesel"
)

// Machine is one customer machine. Meter values are what the meter shows, so
// miles columns of a machine with a kilometer odometer hold kilometers.
type Machine struct {
	Fact
	ID            string  `gorm:"column:machine"` // the shop's own id
	Tag           string  `gorm:"column:tag"`     // unit number painted on its side; see TagKey
	Kind          string  `gorm:"column:kind"`    // the shop's own word: utv, atv, generator ...
	Owner         string  `gorm:"column:owner"`
	Meters        Meters  `gorm:"column:meters"`
	InService     Date    `gorm:"column:in_service"`  // first day with this owner
	MilesStart    Number  `gorm:"column:miles_start"` // odometer on that day; above 0: bought used
	HoursStart    Number  `gorm:"column:hours_start"`
	MilesMax      Number  `gorm:"column:miles_max"` // highest value the odometer can show: 9999.9 is followed by 0.0
	Make          string  `gorm:"column:make"`
	Model         string  `gorm:"column:model"`
	Year          int     `gorm:"column:year"` // model year; 0 is not known
	Serial        string  `gorm:"column:serial"`
	Duty          Duty    `gorm:"column:duty"` // "" is normal
	Site          string  `gorm:"column:site"`
	CoolantLitres Number  `gorm:"column:coolant_litres"` // the whole system's content
	LowestC       Celsius `gorm:"column:lowest_c"`       // lowest temperature it must stand
	Cooling       Cooling `gorm:"column:cooling"`
	Fuel          Fuel    `gorm:"column:fuel"`

	// BooksSince is the first day from which the shop's record of the machine is
	// whole: the day on which it was first recorded, unless the shop says another.
	BooksSince Date `gorm:"column:books_since"`

	Mistake Retracted `gorm:"embedded" json:"mistake,omitzero"`
}

// TableName names the table.
func (Machine) TableName() string { return "machines" }

// Start gives what a meter showed on the day the machine came into service.
func (m Machine) Start(meter Meter) Number {
	if meter == HourMeter {
		return m.HoursStart
	}
	return m.MilesStart
}

// BoughtUsed says whether one of the meters the machine has had run before it
// came to this owner; known is false while a start is unknown and none is
// above zero.
func (m Machine) BoughtUsed() (used, known bool) {
	known = true
	for _, meter := range []Meter{Odometer, HourMeter} {
		if !m.Meters.Has(meter) {
			continue
		}
		start := m.Start(meter)
		if start.F > 0 {
			return true, true
		}
		known = known && start.Known
	}
	return false, known
}

// TagKey is what no two machines that are here share: an owner and a tag, in
// the form in which tags are compared.
type TagKey struct{ Owner, Tag string }

// TagKey gives the machine's; its Tag is "" where there is none.
func (m Machine) TagKey() TagKey { return TagKey{m.Owner, plainTag(m.Tag)} }

// plainTag gives the form in which tags are compared, as replies do: letters
// and digits, whatever their case, accents, blanks and dashes.
func plainTag(tag string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.In(r, unicode.So, unicode.Mn) {
			return r
		}
		return -1
	}, foldName(tag))
}

// RefuseTwin refuses to let a machine be at an owner where another that is here
// has its tag.
func RefuseTwin(m Machine, owner string, others []Machine, standings map[string]MachineStanding) error {
	m.Owner = owner
	for _, o := range others {
		if o.ID != m.ID && m.TagKey().Tag != "" && o.TagKey() == m.TagKey() && standings[o.ID].InCare() {
			return Errorf(CodeConflict, "give one of the two another tag first: `roundsman machine change id:"+m.ID+" --tag TAG`",
				"machine %s of owner %s has the tag %s too", o.ID, owner, o.Tag)
		}
	}
	return nil
}

// Label gives the name by which people know the machine: its tag, or its id
// where there is none.
func (m Machine) Label() string {
	if m.Tag != "" {
		return m.Tag
	}
	return m.ID
}
