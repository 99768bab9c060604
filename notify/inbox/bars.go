package inbox

import "example.org/roundsman/models"

// care says what in the words of a clause keeps what it says from being a
// plain fact.
type care uint32

const (
	unread     care = 1 << iota // words of which nothing is known
	questioned                  // it is a question
	turned                      // "but", "until", "if": what is said does not stand as it is
	doubted                     // "maybe", "I guess": the sender is not sure
	hearsay                     // somebody else says it
	outside                     // it is about something else than a machine of the sender's
	pointed                     // it is about a machine that is only pointed at
	denial                      // a "not" of which it is not plain what it denies
	coming                      // it tells of what is to come
	theirs                      // it tells of what the shop or somebody did
	metered                     // it speaks of a meter
	opined                      // "I think"
	bySelf                      // the sender does it
	lately                      // it has just been done
	iffy                        // "if", "unless"
	corrected                   // it takes something back
	brief                       // it tells how long something lasted

	soft = turned | doubted | hearsay | outside | pointed | denial
)

// is says whether a clause has any of some cares.
func (c clause) is(any care) bool { return c.care&any != 0 }

// bar is what keeps an act of a kind from being taken: something in the words
// that say it, or anywhere in the reply. What is kept goes to a person, for the
// reason given.
type bar struct {
	clause, reply care
	why           models.Reason
}

// bars is the one list of what may be taken beside words that nobody read, and
// beside a "not", an "if", a question or hearsay. What closes a check, dates
// work, agrees or refuses by a bare word, or only thanks, needs a reply that was
// read to its last word. What goes to the desk anyway, or stands by its own
// figure, needs its own clause; the rest of the reply is then for a person
// (reply).
var bars = map[Kind]bar{
	KindOK:       {reply: unread | questioned | soft | iffy, why: models.ReasonMore},
	KindYes:      {reply: unread | questioned | soft | iffy, why: models.ReasonMore},
	KindNo:       {reply: unread | questioned | soft | iffy, why: models.ReasonMore},
	KindThanks:   {reply: unread | denial | iffy},
	KindDone:     {clause: unread | questioned | soft | theirs | coming | opined, reply: unread | denial | doubted | hearsay | iffy, why: models.ReasonMore},
	KindDay:      {clause: unread | turned | hearsay | denial | outside, reply: hearsay | iffy, why: models.ReasonWantsDay},
	KindLater:    {clause: theirs | denial, why: models.ReasonMore},
	KindSold:     {clause: questioned | coming | hearsay | denial | iffy, reply: iffy, why: models.ReasonMore},
	KindTrouble:  {clause: questioned | pointed | hearsay | denial | iffy | corrected, why: models.ReasonTrouble},
	KindComeback: {clause: questioned | pointed | hearsay | denial | iffy | corrected, why: models.ReasonTrouble},
	KindHelp:     {reply: outside, why: models.ReasonQuestion},
	KindReading:  {clause: hearsay | outside, why: models.ReasonMore},
}

// barred says whether something keeps an act of a kind from being taken, and
// lays it before a person then.
func (r *reader) barred(kind Kind, g group, all clause) bool {
	b := bars[kind]
	if !g.is(b.clause) && !all.is(b.reply) {
		return false
	}
	if b.why != "" {
		r.drop(b.why)
	}
	return true
}
