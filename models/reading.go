package models

import "strings"

// Reading is one look at a machine's meters on one day. At least one value is
// known. Values are what the meter showed.
type Reading struct {
	Fact
	Machine string `gorm:"column:machine"`
	At      Date   `gorm:"column:at"`
	Miles   Number `gorm:"column:miles"` // kilometers on a machine with a kilometer odometer
	Hours   Number `gorm:"column:hours"`
	Source  string `gorm:"column:source"` // the shop's own word: owner, rental, shop, dealer, text, mail ...
	Width   Number `gorm:"column:width"`  // of a guess: how far its one value may be off on either side, in the meter's unit; unknown: it was read exactly

	// Standing is what a person has said of the reading since; it is loaded
	// with the reading and lives in rows of its own.
	Standing Standing `gorm:"column:standing;->;-:migration"`
	Withdrawn
}

// TableName names the table.
func (Reading) TableName() string { return "readings" }

// Value gives what the reading says of a meter.
func (r Reading) Value(meter Meter) Number {
	if meter == HourMeter {
		return r.Hours
	}
	return r.Miles
}

// SourceShop marks readings taken by the shop, which are trusted most.
const SourceShop = "shop"

// Standing is what a person has said of a reading that was doubted.
type Standing string

// Standings. "" means nobody has said anything.
const (
	StandingConfirmed Standing = "confirmed" // it is right, whatever it looks like
	StandingWithdrawn Standing = "withdrawn" // it is wrong; leave it out
)

// ReadingReview is a person's word on a reading, written once; the last counts.
type ReadingReview struct {
	Fact
	Reading  int64    `gorm:"column:reading"` // the reading's row
	Standing Standing `gorm:"column:standing"`
	Why      string   `gorm:"column:why"`
}

// TableName names the table.
func (ReadingReview) TableName() string { return "reading_words" }

// Swap is the replacement of a meter at the end of a day.
type Swap struct {
	Fact
	Machine  string `gorm:"column:machine"`
	At       Date   `gorm:"column:at"`
	Meter    Meter  `gorm:"column:meter"`
	OldValue Number `gorm:"column:old_value"` // what the old meter showed last
	NewValue Number `gorm:"column:new_value"` // what the new one began with; unknown is 0
	Withdrawn
}

// TableName names the table.
func (Swap) TableName() string { return "swaps" }

// Service is one item done on a machine. A meter value in it is a shop
// reading too.
type Service struct {
	Fact
	Machine string `gorm:"column:machine"`
	Item    string `gorm:"column:item"`
	At      Date   `gorm:"column:at"`
	Miles   Number `gorm:"column:miles"`
	Hours   Number `gorm:"column:hours"`
	Withdrawn
}

// TableName names the table.
func (Service) TableName() string { return "services" }

// Value gives what the service says of a meter.
func (s Service) Value(meter Meter) Number {
	if meter == HourMeter {
		return s.Hours
	}
	return s.Miles
}

// Celsius is a temperature in degrees Celsius that may be unknown and may be
// below zero.
type Celsius struct{ Number }

// Degrees gives a known temperature.
func Degrees(c float64) Celsius { return Celsius{Num(c)} }

// History is all that is known of one machine on a day: the facts dated up to
// and with AsOf, in any order.
type History struct {
	Machine  Machine
	Owner    Owner // may be zero; its type helps where the machine tells little yet
	Readings []Reading
	Swaps    []Swap
	Services []Service

	Standings []MachineStanding
	Baselines []Baseline // the last word on each item

	AsOf Date // the last day whose facts are in; none: all facts
}

// ParseCelsius reads a decimal number of degrees that may have a minus; "" is
// not known. Below absolute zero (-273.15) is ErrNotANumber.
func ParseCelsius(s string) (Celsius, error) {
	n, err := ParseNumber(strings.TrimPrefix(s, "-"))
	if err != nil {
		return Celsius{}, err
	}
	if strings.HasPrefix(s, "-") {
		n.F = -n.F
	}
	if n.F < -273.15 || s == "-" {
		return Celsius{}, ErrNotANumber
	}
	return Celsius{n}, nil
}

// Release lets owners be told of every machine of the set.
func (s *FactSet) Release(by string) {
	for _, m := range s.Machines {
		s.Releases = append(s.Releases, Release{Machine: m.ID, State: Released, By: by})
	}
}

// FactSet is a set of facts to be recorded together, as from one import
// folder: whole or nothing.
type FactSet struct {
	// ByHand says that a person says all this now: what was taken back and is
	// said again counts again, while a folder that is loaded again brings
	// nothing back.
	ByHand bool

	Owners    []Owner
	Contacts  []Contact
	Machines  []Machine
	Rules     []Rule // with Origin set
	Teardowns []Teardown
	Readings  []Reading // a Standing in one is a person's word on it
	Swaps     []Swap
	Services  []Service
	Standings []MachineStanding
	Baselines []Baseline
	Releases  []Release

	Jobs         []Job
	JobLines     []JobLine
	Parts        []Part
	CheckDefs    []CheckDef
	Checks       []Check
	CheckAnswers []CheckAnswer

	Sites       []Site
	Bays        []Bay
	Technicians []Technician
	Closures    []Closure
	Visits      []Visit

	// What was told and answered. Messages and replies have keys of their own;
	// the numbers of rows mean nothing here.
	Messages   []Message
	Notices    []KeyedNotice
	Attempts   []KeyedAttempt
	Replies    []Reply
	ReplyActs  []KeyedAct
	ReplyMarks []KeyedMark
	Bounces    []Bounce
	Calls      []Call
}
