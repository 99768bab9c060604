package inbox

import "example.org/roundsman/models"

// Asked is what is known of the sender of a reply when it is read.
type Asked struct {
	Today    models.Date // the day on which the reply came, where the sender is
	Language string      // the sender's (BCP 47)

	Purpose  models.Purpose // of the last message to the sender; "" for none
	Machines []Known        // the sender's machines
	About    []string       // ids of the machines of the last message, in its order
	Days     []models.Date  // of the visits that the last message told
	Pending  *Question      // the question asked back in the last message; nil for none
	Subject  string         // of a mail: where its text says nothing, that does
	Sent     string         // words of the last message, which a reply may repeat
}

// Known is a machine that a reply may be about.
type Known struct {
	Machine models.Machine
	Miles   Span // as the odometer shows it
	Hours   Span
	Items   []string // items that the last message told of this machine
	Check   string   // number of the owner check that waits for an answer; "" for none
}

// Span is what a meter is believed to show on the day of the reply. Values
// from Least to Most need no question; unknown bounds bar nothing.
type Span struct {
	Least, Likely, Most models.Number
	Last                models.Number // the last accepted reading
	LastOn              models.Date
}

// Kind says what an act is.
type Kind string

// Kinds of acts.
const (
	KindReading     Kind = "reading"      // what a meter shows: Miles, Hours, On
	KindOK          Kind = "ok"           // it runs well; the repair held; or only "ok"
	KindComeback    Kind = "back"         // a repaired fault has returned
	KindTrouble     Kind = "trouble"      // something is wrong
	KindDone        Kind = "done"         // work was done: Items, On, and the meter where given
	KindDay         Kind = "day"          // a day is named for a visit: On
	KindLater       Kind = "later"        // not before On (none: no time is named)
	KindYes         Kind = "agree"        // yes to what was asked
	KindNo          Kind = "decline"      // no to it
	KindSold        Kind = "sold"         // the machine is gone
	KindWrongNumber Kind = "wrong number" // the sender is somebody else
	KindStop        Kind = "stop"
	KindStart       Kind = "start"
	KindHelp        Kind = "help"
	KindThanks      Kind = "thanks" // nothing is to be done
)

// Answers says whether an act of the kind answers an open owner check.
func (k Kind) Answers() bool { return k == KindOK || k == KindComeback || k == KindTrouble }

// Act is one thing that a reply says.
type Act struct {
	Kind    Kind
	Machine string        // id; "" where it is about none in particular
	Miles   models.Number // what the odometer shows
	Hours   models.Number
	On      models.Date // of the reading, work or visit; none: not said
	Sure    bool        // the sender has confirmed a value that was doubted
	About   bool        // "about 6100", "last week": the value or day is rough
	Guess   bool        // the value is one, as wide as models.Guessed has it
	Items   []string    // of work done
	Check   string      // of an answer to a check
	Cancel  bool        // of a STOP by the word CANCEL, which may mean a visit
	Words   string      // the words it was read from, as they were written
}

// Reply is what a text was read as. Acts hold whatever else is so. Where all
// three are empty there was nothing to read.
type Reply struct {
	Acts   []Act
	Ask    *Question     // to be asked back, once
	Person models.Reason // why a person must look; "" if none must
}

// QuestionKind says what is asked back.
type QuestionKind string

// Kinds of questions.
const (
	AskMachine QuestionKind = "machine" // which machine is meant
	AskMeter   QuestionKind = "meter"   // miles or hours
	AskValue   QuestionKind = "value"   // is the value right
	AskItem    QuestionKind = "item"    // which work was done
	AskDay     QuestionKind = "day"     // which of the days offered suits
	AskWhen    QuestionKind = "when"    // on what day work was done
)

// Question is what is asked back and what the answer is for.
type Question struct {
	Kind     QuestionKind
	Act      Act           // what was read so far
	Machines []string      // AskMachine: candidates, by id
	Value    models.Number // AskMachine, AskMeter and AskValue: the figure as given
	Unit     Unit          // the unit given with it
	Meter    models.Meter  // AskValue
	Likely   models.Number // AskValue: what it probably is; unknown: no idea
	Items    []string      // AskItem: candidates
	Days     []models.Date // AskDay: the days offered
}

// Unit is a unit of a meter that a text names.
type Unit string

// Units.
const (
	UnitNone  Unit = ""
	UnitMiles Unit = "mi"
	UnitKM    Unit = "km"
	UnitHours Unit = "h"
)

// machine finds a machine by id.
func (a Asked) machine(id string) (Known, bool) {
	for _, k := range a.Machines {
		if k.Machine.ID == id {
			return k, true
		}
	}
	return Known{}, false
}

// span gives what is known of one of a machine's meters.
func (k Known) span(m models.Meter) Span {
	if m == models.HourMeter {
		return k.Hours
	}
	return k.Miles
}
