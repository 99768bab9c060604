package models

import (
	"errors"
	"time"
)

// RoundState says how far a round is.
type RoundState string

// States of a round.
const (
	RoundRunning RoundState = "running"
	RoundDone    RoundState = "done"
	RoundFailed  RoundState = "failed" // ended with an error; machines not looked at stay owed
)

// ErrSlotHeld says that the round of a slot has been held.
var ErrSlotHeld = errors.New("a slot's round is held once")

// Round is one pass over all that may have changed. Its slot is unique, so
// that an appointed round is held once, however often it is tried.
type Round struct {
	ID         int64      `gorm:"column:id;primaryKey"`
	Slot       string     `gorm:"column:slot"`  // "2026-03-08 07:00 America/Denver", or "by hand" and a time
	At         Instant    `gorm:"column:at"`    // the time for which it is held
	Today      Date       `gorm:"column:today"` // the shop's date at that time
	StartedAt  Instant    `gorm:"column:started_at"`
	FinishedAt Instant    `gorm:"column:finished_at"`
	State      RoundState `gorm:"column:state"`
	LastEntry  int64      `gorm:"column:last_entry"` // the last entry that was there when it began
	Profile    int        `gorm:"column:profile"`    // the profile in force; the first round with a number fitted it
	Looked     int        `gorm:"column:looked"`     // machines looked at
	Changed    int        `gorm:"column:changed"`    // items whose stage changed
	Notices    int        `gorm:"column:notices"`    // notices decided to be sent
	Withheld   int        `gorm:"column:withheld"`   // notices decided not to be sent
	Messages   int        `gorm:"column:messages"`
	Failed     int        `gorm:"column:failed"` // machines that could not be worked out
	Note       string     `gorm:"column:note"`

	// ByClock says that At is the time of the clock, which goes on whatever
	// rounds were once played ahead of it; it is not stored.
	ByClock bool `gorm:"-"`
}

// MayLieAhead is how far a round may lie ahead of the clock without anything
// being wrong: computers' clocks and zones differ.
const MayLieAhead = 24 * time.Hour

// TakenBack says what taking back rounds did.
type TakenBack struct {
	Rounds  int64 `json:"rounds"`
	Notices int64 `json:"notices"` // that count as not told now
	Dropped int64 `json:"dropped"` // messages that waited
	Sent    int64 `json:"sent"`    // messages that had been sent and stay so
}

// Add counts a look among what the round did; messages is how many new ones it
// brought.
func (r *Round) Add(l Look, messages int) {
	r.Looked += l.Looked
	r.Failed += l.Failed
	r.Changed += l.Changed
	r.Withheld += len(l.Notices)
	r.Messages += messages
	for _, letter := range l.Letters {
		r.Notices += len(letter.Notices)
	}
}

// TableName names the table.
func (Round) TableName() string { return "rounds" }

// MachineState is what the last round left to know when a machine must be
// looked at again. It is derived; a missing row means "look".
type MachineState struct {
	Machine  string `gorm:"column:machine;primaryKey"`
	NextLook Date   `gorm:"column:next_look"` // none: a new fact has come, look at once
	Touched  int64  `gorm:"column:touched"`   // the last entry with a fact that concerns the machine
	Profile  int    `gorm:"column:profile"`   // the profile its forecasts were made with
	Waits    bool   `gorm:"column:waits"`     // something is withheld: look again whenever its owner is looked at
}

// TableName names the table.
func (MachineState) TableName() string { return "machine_states" }

// Profile is the fitted usage of classes, owners and seasons that forecasts
// lean on: refitted on the first of each month from the facts dated before
// that day and entered no later than LastEntry. It is derived.
type Profile struct {
	Number    int    `gorm:"column:number;primaryKey"` // see ProfileNumber
	LastEntry int64  `gorm:"column:last_entry"`
	Body      []byte `gorm:"column:body"` // the usage package's own form
}

// TableName names the table.
func (Profile) TableName() string { return "profiles" }

// ProfileNumber gives the number of the month's nth profile (n from 0 to 99):
// yyyymmnn. A month has a second profile only when much new history has come
// in since the first, as when a shop loads its books.
func ProfileNumber(on Date, n int) int {
	y, m, _ := on.Civil()
	return (y*100+int(m))*100 + n
}

// ProfileMonth gives the first day of the month of a profile number.
func ProfileMonth(number int) Date {
	ym := number / 100
	return NewDate(ym/100, time.Month(ym%100), 1)
}

// Doubt is a reading that the screening leaves out, with its reason. It is
// derived.
type Doubt struct {
	Machine string `gorm:"column:machine;primaryKey"`
	Reading int64  `gorm:"column:reading;primaryKey"` // the reading's row
	Meter   Meter  `gorm:"column:meter;primaryKey"`
	Reason  Reason `gorm:"column:reason"`
	Likely  Number `gorm:"column:likely"` // what the meter probably showed, where one slip explains it
}

// TableName names the table.
func (Doubt) TableName() string { return "doubts" }
