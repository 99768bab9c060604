package models

import (
	"math"
	"reflect"
)

// Counts says what a recording did with facts of one sort.
type Counts struct {
	New       int `json:"new"`       // written for the first time
	Corrected int `json:"corrected"` // written as a correction of an earlier row
	Same      int `json:"same"`      // known already, word for word
}

func (c Counts) Changed() bool { return c.New+c.Corrected > 0 }

// Recorded says what Record wrote, by the names of the folder's files.
type Recorded struct {
	Owners       Counts `json:"owners"`
	Contacts     Counts `json:"contacts"`
	Machines     Counts `json:"machines"`
	Rules        Counts `json:"items"`
	Teardowns    Counts `json:"teardowns"`
	Readings     Counts `json:"readings"`
	ReadingWords Counts `json:"reading_words"`
	Swaps        Counts `json:"swaps"`
	Services     Counts `json:"services"`
	Withdrawals  Counts `json:"withdrawals"`
	Standings    Counts `json:"standings"`
	Baselines    Counts `json:"baselines"`
	Releases     Counts `json:"releases"`
	Jobs         Counts `json:"jobs"`
	JobLines     Counts `json:"job_lines"`
	Parts        Counts `json:"parts"`
	CheckDefs    Counts `json:"check_defs"`
	Checks       Counts `json:"checks"`
	CheckAnswers Counts `json:"check_answers"`
	Sites        Counts `json:"sites"`
	Bays         Counts `json:"bays"`
	Technicians  Counts `json:"technicians"`
	Closures     Counts `json:"closures"`
	Visits       Counts `json:"visits"`
	Messages     Counts `json:"messages"`
	Notices      Counts `json:"notices"`
	Attempts     Counts `json:"attempts"`
	Replies      Counts `json:"replies"`
	ReplyActs    Counts `json:"reply_acts"`
	ReplyMarks   Counts `json:"reply_marks"`
	Bounces      Counts `json:"bounces"`
	Calls        Counts `json:"calls"`

	Entry           int64    `json:"-"` // by which it was written; 0: nothing was
	Retired         []Rule   `json:"-"` // that held until now
	Changes         []Change `json:"-"` // of what is counted as corrected
	MachinesTouched int      `json:"machines_touched"`
}

// Change is a fact as it was until a recording and as it is since; both are
// values of one type.
type Change struct{ Was, Is any }

// ByName gives the counts by the names of the folder's files without ".csv".
func (r Recorded) ByName() map[string]Counts {
	out := map[string]Counts{}
	v := reflect.ValueOf(r)
	for i := range v.NumField() {
		if c, ok := v.Field(i).Interface().(Counts); ok {
			out[v.Type().Field(i).Tag.Get("json")] = c
		}
	}
	return out
}

// Changed says whether anything was written.
func (r Recorded) Changed() bool {
	for _, c := range r.ByName() {
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
	Today     Date  // the day of which it is
	LastEntry int64 // the last entry that was there when the facts were read
	Looked    int   // machines looked at
	Failed    int   // those of them that could not be worked out
	Changed   int   // items whose stage changed
	States    []MachineState
	Forecasts []Forecast           // all forecasts of the machines in States
	Doubts    []Doubt              // all doubts of the machines in States
	Notices   []Notice             // withheld ones, without a message
	Letters   []MessageWithNotices // messages with the notices that they carry
	Stops     []Stop               // what is taken out of messages that wait
}

// Stop takes a notice out of its message, which waits to go.
type Stop struct {
	Notice Notice
	Why    Reason
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
	Sharing     []Contact           // others with the same number or mail address
	Retired     []Channel           // whose address is known to be dead
	CameBack    map[Channel]Instant // when the last message there failed, where none has arrived since
	Undecided   bool                // said what may be a refusal, and nobody has decided yet
	Unanswered  int                 // messages in a row without an answer
	LastSent    Instant             // when the last of them went, or was queued
	LastTold    Instant             // when the last message of a round to it went, or was queued, that did not fail or come back
	AskedLately int                 // machines whose reading was asked for within the last AskedLatelyDays
	Waiting     *Message            // a message of a round that waits and may be written anew; more may join it
}

// People are an owner with its contacts.
type People struct {
	Owner  Owner // with only the id where the owner is not recorded
	People []Person
}
