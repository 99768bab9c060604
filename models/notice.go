package models

import (
	"cmp"
	"slices"
)

// StageMoved is the stage of the one correction that is sent when a date told
// in a notice has moved out by more than the lead. It appears in notices
// only; a forecast never has it.
const StageMoved Stage = "moved"

// Subject says what a notice is about.
type Subject string

// Subjects of notices.
const (
	SubjectItem    Subject = "item"    // an item coming, due, late or moved
	SubjectCheck   Subject = "check"   // a follow-up check after a job
	SubjectReading Subject = "reading" // a reading is asked for
	SubjectVisit   Subject = "visit"   // an agreed visit
)

// Notice is a single fact told, or decided not to be told, to one contact.
// Contact, machine, subject, item, cycle, stage and ordinal together are
// unique: whatever is tried again, no notice is written twice.
type Notice struct {
	ID      int64   `gorm:"column:id;primaryKey"`
	Round   int64   `gorm:"column:round"`   // the round that decided it
	Message *int64  `gorm:"column:message"` // the message that carries it; nil: withheld
	Owner   string  `gorm:"column:owner"`
	Contact string  `gorm:"column:contact"` // "" when the owner has nobody to tell
	Machine string  `gorm:"column:machine"`
	Subject Subject `gorm:"column:subject"`
	Item    string  `gorm:"column:item"` // the item, or the number of the check or visit
	Cycle   int     `gorm:"column:cycle"`
	Stage   Stage   `gorm:"column:stage"`
	Ordinal int     `gorm:"column:ordinal"` // 0 the first, 1 the next ask of the same ...

	EarlyOn   Date      `gorm:"column:early_on"` // what was told, kept as told
	DueOn     Date      `gorm:"column:due_on"`
	LateOn    Date      `gorm:"column:late_on"`
	WasOn     Date      `gorm:"column:was_on"` // the date told before, in a correction
	Driver    Driver    `gorm:"column:driver"`
	Reason    Reason    `gorm:"column:reason"` // why it is due
	Detail    string    `gorm:"column:detail"` // of a check, what the repair was about; of a visit and a first inspection, the ids of the items (Names)
	LastOn    Date      `gorm:"column:last_on"`
	LastBy    Grounds   `gorm:"column:last_by"`
	AtMiles   Number    `gorm:"column:at_miles"`
	AtHours   Number    `gorm:"column:at_hours"`
	Remaining Remaining `gorm:"embedded"`

	Why       Reason  `gorm:"column:why"` // why it was sent or withheld
	DecidedAt Instant `gorm:"column:decided_at"`

	Lost    bool   `gorm:"column:lost;->"`     // it went to an address that was dead; known where a round reads it
	LostWhy Reason `gorm:"column:lost_why;->"` // why it was stopped while its message waited; "": it was not

	Waits  bool    `gorm:"column:waits;->"`   // its message waits, and may be written anew; known where a round reads it
	GoneAt Instant `gorm:"column:gone_at;->"` // when its message went; zero: it has not; known where a round reads it
}

// TableName names the table.
func (Notice) TableName() string { return "notices" }

// Withheld says whether the notice was decided but not sent, or sent and known
// to have reached nobody.
func (n Notice) Withheld() bool { return n.Message == nil || n.Lost }

// Told says whether its contact was told it.
func (n Notice) Told() bool { return !n.Withheld() && !n.Waits }

// SameWords says whether two notices tell the same in the same words: they
// differ at most in when and by which round it was decided, and in the days that
// are left, which no message says.
func (n Notice) SameWords(o Notice) bool {
	n.ID, n.Round, n.Message, n.Ordinal, n.Why, n.DecidedAt = o.ID, o.Round, o.Message, o.Ordinal, o.Why, o.DecidedAt
	n.Remaining.Days, n.Lost, n.LostWhy, n.Waits, n.GoneAt = o.Remaining.Days, o.Lost, o.LostWhy, o.Waits, o.GoneAt
	return n == o
}

// Purpose says what a message is for; it picks the template.
type Purpose string

// Purposes of messages.
const (
	PurposeNotices   Purpose = "notices" // items coming, due, late or moved
	PurposeCheck     Purpose = "check"   // did the repair hold
	PurposeReading   Purpose = "reading" // please read the meter
	PurposeVisit     Purpose = "visit"   // an agreed, moved or cancelled visit
	PurposeAnswer    Purpose = "answer"  // an answer to a reply
	PurposeStopped   Purpose = "stopped" // the one confirmation of a STOP
	PurposeStarted   Purpose = "started" // the confirmation of a START
	PurposeHelp      Purpose = "help"    // the answer to HELP
	PurposeShopAlert Purpose = "shop"    // something for the shop itself
	PurposeTest      Purpose = "test"    // roundsman send-test
)

// MessageState says where a message is on its way.
type MessageState string

// States of a message. Sent, failed and dropped are ends.
const (
	MessageQueued  MessageState = "queued"  // waits for its time or for the next try
	MessageSending MessageState = "sending" // a courier holds it until its lease ends
	MessageSent    MessageState = "sent"    // the channel took it
	MessageFailed  MessageState = "failed"  // refused for good, or given up
	MessageDropped MessageState = "dropped" // taken out by a person, a STOP or a newer fact
)

// Ended says whether nothing more will happen to the message by itself.
func (s MessageState) Ended() bool {
	return s == MessageSent || s == MessageFailed || s == MessageDropped
}

// Message is what goes to one contact over one channel. Its text is composed
// when it is first claimed and kept, so that every try sends the same.
type Message struct {
	ID        int64    `gorm:"column:id;primaryKey"`
	Key       string   `gorm:"column:key"` // unique and stable; the Message-ID is made of it
	Round     int64    `gorm:"column:round"`
	Owner     string   `gorm:"column:owner"`
	Contact   string   `gorm:"column:contact"` // "" for the shop itself
	Channel   Channel  `gorm:"column:channel"`
	Address   string   `gorm:"column:address"`
	Purpose   Purpose  `gorm:"column:purpose"`
	Language  string   `gorm:"column:language"`
	Urgent    bool     `gorm:"column:urgent"` // goes at once, quiet hours or not: answers to STOP and HELP
	Body      string   `gorm:"column:body"`   // the words of an answer or alert, before composing
	InReplyTo string   `gorm:"column:in_reply_to"`
	Composed  Composed `gorm:"embedded"`

	State     MessageState `gorm:"column:state"`
	Why       Reason       `gorm:"column:why"` // of the state, for people: "quiet hours", "mailbox full" ...
	QueuedAt  Instant      `gorm:"column:queued_at"`
	NotBefore Instant      `gorm:"column:not_before"`
	Tries     int          `gorm:"column:tries"`
	InDoubt   bool         `gorm:"column:in_doubt"` // a try ended without our knowing whether it was taken
	LeaseBy   string       `gorm:"column:lease_by"`
	LeaseEnds Instant      `gorm:"column:lease_ends"`
	EndedAt   Instant      `gorm:"column:ended_at"`
	PeerID    string       `gorm:"column:peer_id"`    // the peer's own id of the message, for receipts
	ReceiptAt Instant      `gorm:"column:receipt_at"` // when the peer reported its fate
	Receipt   string       `gorm:"column:receipt"`    // what it reported: delivered, undelivered ...
}

// TableName names the table.
func (Message) TableName() string { return "messages" }

// Composed is a message's words as sent.
type Composed struct {
	Subject  string `gorm:"column:subject_line"` // mail only
	Text     string `gorm:"column:text"`
	HTML     string `gorm:"column:html"`     // mail only
	Calendar string `gorm:"column:calendar"` // mail only: an iCalendar part
	Segments int    `gorm:"column:segments"` // SMS only
}

// IsZero says whether nothing has been composed yet.
func (c Composed) IsZero() bool { return c.Text == "" }

// Outcome says how one try to send ended.
type Outcome string

// Outcomes of a try.
const (
	OutcomeSent      Outcome = "sent"
	OutcomeTemporary Outcome = "temporary" // try again later
	OutcomePermanent Outcome = "permanent" // this message to this address will never go
	OutcomeDoubt     Outcome = "doubt"     // the line was lost before the answer; it may have been taken
	OutcomeDown      Outcome = "down"      // the channel itself does not work; the message is not to blame
)

// Attempt is one try to send a message, written once.
type Attempt struct {
	ID        int64   `gorm:"column:id;primaryKey"`
	Message   int64   `gorm:"column:message"`
	Number    int     `gorm:"column:number"` // 1 the first
	StartedAt Instant `gorm:"column:started_at"`
	EndedAt   Instant `gorm:"column:ended_at"`
	Outcome   Outcome `gorm:"column:outcome"`
	Code      string  `gorm:"column:code"` // the peer's code: "450 4.2.2", "0x58"
	Why       Reason  `gorm:"column:why"`
	PeerID    string  `gorm:"column:peer_id"`
}

// TableName names the table.
func (Attempt) TableName() string { return "attempts" }

// Envelope is a message with all that is needed to compose it.
type Envelope struct {
	Message  Message
	Contact  Contact // zero for a message to the shop itself
	Owner    Owner
	Notices  []Notice           // in the order to tell them: machine, urgency, item
	Machines map[string]Machine // those of the notices, by id
	First    bool               // the first message ever to this address on this channel
}

// SortToTell sorts notices machine by machine, the machine with the most
// urgent one first, then by urgency and item.
func SortToTell(ns []Notice) {
	most := map[string]int{}
	for _, n := range ns {
		if rank, ok := most[n.Machine]; !ok || n.Stage.Rank() < rank {
			most[n.Machine] = n.Stage.Rank()
		}
	}
	slices.SortFunc(ns, func(a, b Notice) int {
		return cmp.Or(
			cmp.Compare(most[a.Machine], most[b.Machine]), cmp.Compare(a.Machine, b.Machine),
			cmp.Compare(a.Stage.Rank(), b.Stage.Rank()), cmp.Compare(a.Item, b.Item), cmp.Compare(a.ID, b.ID))
	})
}
