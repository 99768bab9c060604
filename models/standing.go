package models

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
)

// StandingState says whether a machine is worked with and in the shop's care.
type StandingState string

// States of a machine.
const (
	StandsInUse    StandingState = "in_use"   // also: back after one of the others
	StandsLaidUp   StandingState = "laid_up"  // until a day, from which it is in use again by itself
	StandsSold     StandingState = "sold"     // to NewOwner, in whose hands it is in use; to nobody known: out of the shop's care
	StandsGone     StandingState = "gone"     // out of the shop's care, for whatever reason
	StandsScrapped StandingState = "scrapped" // there is no such machine any more
)

// StandingStates lists every state of a machine.
func StandingStates() []StandingState {
	return []StandingState{StandsInUse, StandsLaidUp, StandsSold, StandsGone, StandsScrapped}
}

// MachineStanding is one change of a machine's standing, written once. The one
// with the latest day holds, of several on a day the one written last. A
// machine without any is in use.
type MachineStanding struct {
	Fact
	Machine  string        `gorm:"column:machine"`
	On       Date          `gorm:"column:on_day"` // the first day that it holds
	State    StandingState `gorm:"column:state"`
	Until    Date          `gorm:"column:until_on"`  // of laid_up: the first day on which it is in use again
	NewOwner string        `gorm:"column:new_owner"` // of sold: the owner from On; "" is nobody the shop knows
	By       string        `gorm:"column:said_by"`
	Note     string        `gorm:"column:note"`
	Withdrawn
}

// TableName names the table.
func (MachineStanding) TableName() string { return "standings" }

// InCare says whether the shop still looks after the machine.
func (s MachineStanding) InCare() bool {
	switch s.State {
	case StandsSold:
		return s.NewOwner != ""
	case StandsGone, StandsScrapped:
		return false
	}
	return true
}

// LaidUpUntil gives the day until which the machine is laid up, as seen on a
// day; none where it is not.
func (s MachineStanding) LaidUpUntil(day Date) Date {
	if s.State == StandsLaidUp && day < s.Until {
		return s.Until
	}
	return 0
}

// AsOf gives the standing as seen on a day: what was laid up until that day is
// in use again.
func (s MachineStanding) AsOf(day Date) MachineStanding {
	if s.State == StandsLaidUp && s.LaidUpUntil(day) == 0 {
		s.State, s.On, s.Until = StandsInUse, s.Until, 0
	}
	return s
}

// Word gives the state as a word; what was never said is in use.
func (s MachineStanding) Word() string { return string(cmp.Or(s.State, StandsInUse)) }

// Standing gives the standing that holds at the end of the history; zero where
// nothing was ever said, which is in use.
func (h History) Standing() MachineStanding {
	if len(h.Standings) == 0 {
		return MachineStanding{}
	}
	return slices.MaxFunc(h.Standings, func(a, b MachineStanding) int {
		if a.On != b.On {
			return int(a.On - b.On)
		}
		return int(a.Row - b.Row)
	})
}

// ReleaseState says whether owners may be told of a machine by the program.
type ReleaseState string

// States of a release. What was never released is held back.
const (
	Released ReleaseState = "released"
	HeldBack ReleaseState = "held"
)

// Release is a person's word that owners may be told of a machine, or that
// they may not; the last one counts. Machine "" is the shop as a whole, which
// can be held back and holds everything back with it.
type Release struct {
	Fact
	Machine string       `gorm:"column:machine"`
	State   ReleaseState `gorm:"column:state"`
	By      string       `gorm:"column:said_by"`
	Note    string       `gorm:"column:note"`
	Withdrawn
}

// TableName names the table.
func (Release) TableName() string { return "releases" }

// Tellable is what bears on whether an owner's people may be told of a
// machine at all, whoever they are.
type Tellable struct {
	Owner    string // whose the machine is
	Standing MachineStanding
	Released bool // the machine is, and the shop is not held back
}

// OwnerCare counts an owner's machines in the shop's care.
type OwnerCare struct {
	Owner    string
	Machines int
	Held     int // that nobody has released, or that are held back
}

// BarredWhy gives the reason why the people of an owner are not told of a
// machine on a day, "" where they may be.
func BarredWhy(t Tellable, owner string, today Date) Reason {
	switch {
	case !t.Standing.InCare():
		return ReasonLeft
	case t.Owner != owner:
		return ReasonNotTheirs
	case t.Standing.LaidUpUntil(today) != 0:
		return ReasonLaidUp
	case !t.Released:
		return ReasonHeldBack
	}
	return ""
}

// BaselineState is what is known of an item before the program kept its books.
type BaselineState string

// States of a baseline.
const (
	BaselineDone    BaselineState = "done"    // about on DoneOn, or about at a meter value
	BaselineFine    BaselineState = "fine"    // looked at on the day that it was said, and fine
	BaselineUnknown BaselineState = "unknown" // nobody knows: it belongs to the first inspection
)

// Baseline says how an item of a machine stood when the shop took it on. The
// last word on an item counts; a service recorded later outweighs it.
type Baseline struct {
	Fact
	Machine    string        `gorm:"column:machine"`
	Item       string        `gorm:"column:item"`
	On         Date          `gorm:"column:on_day"` // the day on which it was said
	State      BaselineState `gorm:"column:state"`
	DoneOn     Date          `gorm:"column:done_on"`     // of done: the likely day; none: only a meter value is known
	DoneWithin int           `gorm:"column:done_within"` // days by which DoneOn may be off, either way
	Miles      Number        `gorm:"column:miles"`       // of done: about what the odometer showed, in its own unit
	Hours      Number        `gorm:"column:hours"`
	By         string        `gorm:"column:said_by"`
	Withdrawn
}

// Since gives the day from which an item counts by what was said: that on which
// it was likely done, or on which the word was given where that is not known.
func (b Baseline) Since() Date {
	if b.State == BaselineDone && b.DoneOn != 0 {
		return b.DoneOn
	}
	return b.On
}

// Grounds says what is known of the last time that an item was done.
type Grounds string

// Grounds of a date. What hangs on a look or a guess is never late.
const (
	GroundsDone   Grounds = ""       // recorded, or said to the day
	GroundsLooked Grounds = "looked" // looked at and found fine, not done
	GroundsMonth  Grounds = "month"  // done about that month
	GroundsYear   Grounds = "year"   // done about that year
)

// monthWithin is how many days a day may be off that still names a month.
const monthWithin = 31

// Grounds gives what a date counts from that hangs on what was said.
func (b Baseline) Grounds() Grounds {
	switch {
	case b.State == BaselineFine:
		return GroundsLooked
	case b.State != BaselineDone || b.DoneOn != 0 && b.DoneWithin == 0:
		return GroundsDone
	case b.DoneWithin > monthWithin:
		return GroundsYear
	}
	return GroundsMonth
}

// TableName names the table.
func (Baseline) TableName() string { return "baselines" }

// Value gives what the baseline says of a meter.
func (b Baseline) Value(meter Meter) Number {
	if meter == HourMeter {
		return b.Hours
	}
	return b.Miles
}

// standingWords are the states in words.
var standingWords = map[StandingState]Phrase{
	StandsInUse:    {"in use", "en uso"},
	StandsLaidUp:   {"laid up until %s", "guardada hasta %s"},
	StandsSold:     {"sold", "vendida"},
	StandsGone:     {"gone", "ya no está"},
	StandsScrapped: {"scrapped", "desguazada"},
}

// StandingWords says where a machine stands in a language.
func StandingWords(s MachineStanding, lang string) string {
	words := standingWords[StandingState(s.Word())].In(lang)
	if s.State == StandsLaidUp {
		return strings.Replace(words, "%s", s.Until.String(), 1)
	}
	if s.NewOwner != "" {
		words += Phrase{" to ", " a "}.In(lang) + s.NewOwner
	}
	return words
}

// Unrecorded says in a language for how many items a first inspection stands.
func Unrecorded(items int, lang string) string {
	if items == 1 {
		return Phrase{"1 item without a record", "1 servicio sin registro"}.In(lang)
	}
	return strconv.Itoa(items) + Phrase{" items without a record", " servicios sin registro"}.In(lang)
}
