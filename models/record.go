package models

import "math"

// Counts says what a recording did with facts of one sort.
type Counts struct {
	New       int // written for the first time
	Corrected int // written as a correction of an earlier row
	Same      int // known already, word for word
}

func (c Counts) Changed() bool { return c.New+c.Corrected > 0 }

// Recorded says what Record wrote.
type Recorded struct {
	Owners, Contacts, Machines, Rules, Teardowns Counts
	Readings, ReadingWords, Swaps, Services      Counts
	Standings, Baselines, Releases               Counts
	Jobs, JobLines, Parts                        Counts
	CheckDefs, Checks, CheckAnswers              Counts
	Sites, Bays, Technicians, Closures, Visits   Counts
	Messages, Notices, Attempts                  Counts
	Replies, ReplyActs, ReplyMarks               Counts
	Bounces, Calls                               Counts
	Retired                                      []Rule // that held until now
	MachinesTouched                              int
}

// Changed says whether anything was written.
func (r Recorded) Changed() bool {
	for _, c := range []Counts{r.Owners, r.Contacts, r.Machines, r.Rules, r.Teardowns,
		r.Readings, r.ReadingWords, r.Swaps, r.Services, r.Standings, r.Baselines, r.Releases,
		r.Jobs, r.JobLines, r.Parts, r.CheckDefs, r.Checks, r.CheckAnswers,
		r.Sites, r.Bays, r.Technicians, r.Closures, r.Visits,
		r.Messages, r.Notices, r.Attempts, r.Replies, r.ReplyActs, r.ReplyMarks, r.Bounces, r.Calls} {
		if c.Changed() {
			return true
		}
	}
	return false
}

// Window bounds what is read of the facts.
type Window struct {
	AsOf      Date  // the last day whose facts are in; none: all
	LastEntry int64 // the last entry whose facts are in; 0: all
}

// Entry gives the bound on entries as a number to compare with.
func (w Window) Entry() int64 {
	if w.LastEntry == 0 {
		return math.MaxInt64
	}
	return w.LastEntry
}

// Day gives the bound on dates as a date to compare with.
func (w Window) Day() Date {
	if w.AsOf == 0 {
		return MaxDate
	}
	return w.AsOf
}

// OwnerMachines is an owner with some of its machines, by id.
type OwnerMachines struct {
	Owner    string
	Machines []string
}

// Look is what a round found on some machines and decided to tell: all of it
// is stored, or nothing.
type Look struct {
	Round     int64
	LastEntry int64 // the last entry that was there when the facts were read
	States    []MachineState
	Forecasts []Forecast           // all forecasts of the machines in States
	Doubts    []Doubt              // all doubts of the machines in States
	Notices   []Notice             // withheld ones, without a message
	Letters   []MessageWithNotices // messages with the notices that they carry
}

// MessageWithNotices is a message with the notices that it carries: a new message, or one
// with an ID that waits in the outbox and that more notices join.
type MessageWithNotices struct {
	Message Message
	Notices []Notice
	To      string // the contact's name, where the letter's writer needs it
}

// AskedLatelyDays is how many days a reading that was asked for counts against
// asking the same contact for more.
const AskedLatelyDays = 7

// Person is a contact with what policy must know to decide on a message.
type Person struct {
	Contact     Contact
	Sharing     []Contact // others with the same number or mail address
	Retired     []Channel // whose address is known to be dead
	Unanswered  int       // messages in a row without an answer
	LastSent    Instant   // when the last of them was queued
	AskedLately int       // machines whose reading was asked for within the last AskedLatelyDays
	Waiting     *Message  // a message of notices that waits, not yet composed; more may join it
}

// People are an owner with its contacts.
type People struct {
	Owner  Owner // with only the id where the owner is not recorded
	People []Person
}
