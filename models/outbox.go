package models

// Lease is a courier's hold on messages: who holds them, since when and until
// when. A lease that has ended may be taken by anybody.
type Lease struct {
	By   string // unique to one run of one courier
	Now  Instant
	Ends Instant
}

// Claimed is a message that a courier holds, with all that is needed to judge
// and compose it.
type Claimed struct {
	Envelope
	Sharing   []Contact // others with the same number or mail address who stopped it
	Retired   []Channel // over which the contact's address is known to be dead
	Undecided bool      // the contact said what may be a refusal, and nobody has decided yet
	Entry     int64     // the newest entry when the contacts were read
	FirstTry  Instant   // when its first try began; zero: none did
	Failures  int       // tries that ended temporary or in doubt
}

// Verdict is what is to be done with a claimed message.
type Verdict string

// Verdicts.
const (
	VerdictGo   Verdict = "go"   // send it now
	VerdictHold Verdict = "hold" // back into the queue until a later time
	VerdictDrop Verdict = "drop" // it must not go any more
	VerdictLost Verdict = "lost" // somebody else has taken it, or taken it out
)

// Ruling is a verdict with its reason.
type Ruling struct {
	Verdict   Verdict
	Why       Reason
	NotBefore Instant // of a hold
	Address   string  // of a go: where to
	LeaseEnds Instant // of a go: until when the try may take
}

// Ended is a try that has ended and what becomes of its message.
type Ended struct {
	Attempt   Attempt
	State     MessageState // queued for another try, sent, or failed
	NotBefore Instant      // of the next try
	Why       Reason       // of the state
	Dead      bool         // the peer says that there is no such address
}
