package scheduler

import (
	"cmp"
	"context"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
)

// Urgency is how soon a person must look at a reply (common practice, no
// source).
type Urgency string

// Urgencies, the most urgent first.
const (
	UrgencyNow   Urgency = "now"   // a machine is not as it should be
	UrgencyToday Urgency = "today" // a person waits for an answer, or all of it is still to be read
	UrgencyLater Urgency = "later" // the shop's own records
)

var urgencies = []Urgency{UrgencyNow, UrgencyToday, UrgencyLater}

// In gives the word for it in a language.
func (u Urgency) In(lang string) string {
	return map[Urgency]models.Phrase{UrgencyNow: {EN: "now", ES: "ya"}, UrgencyToday: {EN: "today", ES: "hoy"}, UrgencyLater: {EN: "later", ES: "después"}}[u].In(lang)
}

// whenToLook gives how soon a person must look for a reason; others can wait
// until today's work is done.
var whenToLook = map[models.Reason]Urgency{
	models.ReasonTrouble: UrgencyNow, models.ReasonComeback: UrgencyNow,
	models.ReasonUnread: UrgencyToday, models.ReasonMore: UrgencyToday, models.ReasonQuestion: UrgencyToday, models.ReasonAsksCall: UrgencyToday,
	models.ReasonNoMore: UrgencyToday, models.ReasonTwice: UrgencyToday, models.ReasonDays: UrgencyToday, models.ReasonCallsOff: UrgencyToday,
	models.ReasonContrary: UrgencyToday, models.ReasonClosed: UrgencyToday, models.ReasonWantsDay: UrgencyToday, models.ReasonAgrees: UrgencyToday,
	models.ReasonCancel: UrgencyToday, models.ReasonAttached: UrgencyToday,
}

// UrgencyOf says how soon a person must look at a reply: by why it waits, and at
// once where a fault was read from it.
func UrgencyOf(l models.ReplyLog) Urgency {
	if slices.ContainsFunc(l.Acts, func(a models.ReplyAct) bool {
		return a.Act == string(inbox.KindTrouble) || a.Act == string(inbox.KindComeback)
	}) {
		return UrgencyNow
	}
	return cmp.Or(whenToLook[l.Reply.Person], UrgencyLater)
}

// Undoable says whether a reply brought facts that Undo takes back.
func Undoable(l models.ReplyLog) bool {
	return slices.ContainsFunc(l.Acts, func(a models.ReplyAct) bool {
		switch inbox.Kind(a.Act) {
		case inbox.KindReading, inbox.KindDone, inbox.KindOK, inbox.KindComeback:
			return a.Machine != ""
		}
		return a.Act == "reopened"
	})
}

// Replies is what Waiting reads.
type Replies interface {
	Replies(ctx context.Context, waiting bool, limit int) ([]models.ReplyLog, error)
}

// Waiting gives the replies that wait for a person, at most limit (0: all): the
// most urgent first, and of equals the one that waits longest.
func Waiting(ctx context.Context, st Replies, limit int) ([]models.ReplyLog, error) {
	logs, err := st.Replies(ctx, true, limit)
	slices.SortStableFunc(logs, func(a, b models.ReplyLog) int {
		return cmp.Or(cmp.Compare(slices.Index(urgencies, UrgencyOf(a)), slices.Index(urgencies, UrgencyOf(b))),
			cmp.Compare(a.Reply.ReceivedAt, b.Reply.ReceivedAt), cmp.Compare(a.Reply.ID, b.Reply.ID))
	})
	return logs, err
}
