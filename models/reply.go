package models

import (
	"errors"
	"strings"
)

// Reply is one incoming message, kept as it came. It is written once.
type Reply struct {
	ID         int64   `gorm:"column:id;primaryKey"`
	Key        string  `gorm:"column:key"` // unique: the peer's id of it, or one made of what came
	ReceivedAt Instant `gorm:"column:received_at"`
	Channel    Channel `gorm:"column:channel"`
	From       string  `gorm:"column:sender"`    // number or mail address
	To         string  `gorm:"column:recipient"` // ours
	Subject    string  `gorm:"column:subject"`   // mail only
	Text       string  `gorm:"column:text"`
	Automatic  bool    `gorm:"column:automatic"`  // an automatic answer (RFC 3834); nothing is done on it
	AnswersTo  string  `gorm:"column:answers_to"` // Message-ID or key of the message that it answers, where it says so

	Owner    string `gorm:"column:owner"`    // of the sender; "" is not known
	Contact  string `gorm:"column:contact"`  // the sender; "" is not known
	Question string `gorm:"column:question"` // what was asked back, as JSON; "" for nothing
	Person   Reason `gorm:"column:person"`   // why a person must look; "" if none must
}

// TableName names the table.
func (Reply) TableName() string { return "replies" }

// attachedMark begins the line on a reply that says what is attached to it.
const attachedMark = "[attached: "

// WithAttached adds to a reply's words what is attached to it.
func WithAttached(words string, attached []string) string {
	if len(attached) == 0 {
		return words
	}
	return strings.TrimSpace(words + "\n" + attachedMark + strings.Join(attached, ", ") + "]")
}

// Words gives what the sender wrote, and whether something is attached, which
// no program reads.
func (r Reply) Words() (words string, attached bool) {
	if i := strings.LastIndex(r.Text, attachedMark); i >= 0 && strings.HasSuffix(r.Text, "]") && !strings.Contains(r.Text[i:], "\n") {
		return strings.TrimSpace(r.Text[:i]), true
	}
	return r.Text, false
}

// ReplyAct is one thing that was done on a reply, written once.
type ReplyAct struct {
	ID      int64   `gorm:"column:id;primaryKey"`
	Reply   int64   `gorm:"column:reply"`
	Act     string  `gorm:"column:act"` // reading, done, stop, back ...
	Machine string  `gorm:"column:machine"`
	Detail  string  `gorm:"column:detail"`  // for people
	Message *int64  `gorm:"column:message"` // the message that answers or alerts; nil: none
	At      Instant `gorm:"column:at"`
}

// TableName names the table.
func (ReplyAct) TableName() string { return "reply_acts" }

// ReplyLog is a reply with what was done on it.
type ReplyLog struct {
	Reply Reply
	Acts  []ReplyAct
	Mark  *ReplyMark // the last; nil: nobody has marked it
}

// ReplyMark is a person's word that a reply has been dealt with, written once.
type ReplyMark struct {
	ID    int64   `gorm:"column:id;primaryKey"`
	Reply int64   `gorm:"column:reply"`
	At    Instant `gorm:"column:at"`
	By    string  `gorm:"column:by_whom"`
	Note  string  `gorm:"column:note"`
}

// TableName names the table.
func (ReplyMark) TableName() string { return "reply_marks" }

// Sender is what is known of the sender of a reply.
type Sender struct {
	Contacts []Contact // all with that number or address, by id
	Owners   []Owner   // of the contacts
	Machines []Machine // of the owners, by id
	Last     *Message  // the last message sent to that number or address; nil: none
	Notices  []Notice  // of Last
	Question string    // asked back with the last reply and not answered since, as JSON
	AskedAt  Instant   // when it was
	Answered []Instant // when the last automatic answers went there, at most MostAnswers, the newest first
	Replies  []Reply   // the last that a person sent from there, at most MostAnswers, the newest first
}

// MostAnswers is how many automatic answers a sender gets in a day at most.
const MostAnswers = 20

// AppliedReply is what is recorded on one reply: all of it or nothing.
type AppliedReply struct {
	Reply    Reply
	Facts    FactSet     // readings, services
	Contacts []Contact   // new versions, with stops set or cleared
	Changes  []JobChange // of jobs whose owner checks it answers
	Acts     []ReplyAct
	Messages []Message // answers and alerts to queue
}

// ErrReplyKnown says that a reply with that key has been recorded.
var ErrReplyKnown = errors.New("the reply is recorded already")
