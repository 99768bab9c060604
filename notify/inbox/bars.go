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

// unread counts a word of which nothing is known.
func (c *clause) unread() {
	c.unknown++
	c.care |= unread
}

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

// heed counts as unread what a stretch between signs, or a run of four words,
// says of which nothing was read though its words are known one by one: "a hose
// let go", "or the one before that". Small talk has no such words.
func (c *clause) heed(ts []token, items map[int]string) {
	idle, weighs, doubts, run := true, false, false, 0
	for i := c.from; i <= c.to; i++ {
		_, item := items[i]
		ends := i == c.to || ts[i].kind == tokWeak || ts[i].kind == tokStrong || ts[i].kind == tokAsk || ts[i].text == "and" || ts[i].text == "y" || butWords[ts[i].text]
		reads := !ends && !item && (ts[i].used && !ts[i].hint || ts[i].kind == tokNumber)
		switch {
		case ends || reads:
			if weighs && (run > 3 || ends && idle) || doubts && idle && run > 1 {
				c.unread()
			}
			idle, weighs, doubts, run = ends, false, false, 0
		case item:
			run++
		case ts[i].hint:
			doubts = true
		default:
			w := ts[i].text
			doubts = doubts || doubtWords[w]
			run, weighs = run+1, weighs || weighty[w] || partWords[w] || negators[w] || turnWords[w] || ifWords[w] || askWords[w]
		}
	}
}

// weighty words make a choice, point at another thing, or tell of a change.
var weighty = wordSet("or o u either neither which whichever other others otro otra otros otras that those ese esa eso aquel this esto let lets got went gone came back again still todavia same old viejo vieja")
