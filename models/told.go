package models

// What was told and answered names its rows by keys in a FactSet, not by the
// numbers of one store, so that it can be loaded into another.

// KeyedNotice is a notice with the key of the message that carries it.
type KeyedNotice struct {
	Notice
	MessageKey string `gorm:"column:message_key"` // "": withheld
	Stopped    Reason `gorm:"column:stopped"`     // why it was stopped while its message waited; "": it was not
}

// KeyedAttempt is an attempt with the key of its message.
type KeyedAttempt struct {
	Attempt
	MessageKey string `gorm:"column:message_key"`
}

// KeyedAct is what was done on a reply, with the keys of the reply and of the
// message that answers or alerts.
type KeyedAct struct {
	ReplyAct
	ReplyKey   string `gorm:"column:reply_key"`
	Number     int    `gorm:"column:number"` // 1 the first that was done on the reply
	MessageKey string `gorm:"column:message_key"`
}

// KeyedMark is a mark on a reply with the key of the reply.
type KeyedMark struct {
	ReplyMark
	ReplyKey string `gorm:"column:reply_key"`
}

// Subjects lists every subject of notices.
func Subjects() []Subject {
	return []Subject{SubjectItem, SubjectCheck, SubjectReading, SubjectVisit}
}

// Purposes lists every purpose of messages.
func Purposes() []Purpose {
	return []Purpose{PurposeNotices, PurposeCheck, PurposeReading, PurposeVisit, PurposeAnswer,
		PurposeStopped, PurposeStarted, PurposeHelp, PurposeShopAlert, PurposeTest}
}

// OfRound says whether messages of the purpose are decided on by rounds; the
// others come of what a person did or wrote.
func (p Purpose) OfRound() bool {
	return p == PurposeNotices || p == PurposeCheck || p == PurposeReading
}

// PurposeOf gives the purpose of a message by the notices in it, at least one:
// that of checks, readings or visits where it is about nothing else.
func PurposeOf(ns []Notice) Purpose {
	only := ns[0].Subject
	for _, n := range ns {
		if n.Subject != only {
			return PurposeNotices
		}
	}
	switch only {
	case SubjectCheck:
		return PurposeCheck
	case SubjectReading:
		return PurposeReading
	case SubjectVisit:
		return PurposeVisit
	}
	return PurposeNotices
}

// MessageStates lists the states in which a message can be kept; one that a
// courier holds is kept as waiting.
func MessageStates() []MessageState {
	return []MessageState{MessageQueued, MessageSent, MessageFailed, MessageDropped}
}

// Outcomes lists every outcome of a try.
func Outcomes() []Outcome {
	return []Outcome{OutcomeSent, OutcomeTemporary, OutcomePermanent, OutcomeDoubt, OutcomeDown}
}

// Fates lists every fate of an address.
func Fates() []BounceKind { return []BounceKind{FateSoft, FateRefuse, FateDead} }
