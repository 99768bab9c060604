package inbox

import "slices"

// stretch is what stands in a clause between two signs, or an "and" or "but".
type stretch struct {
	from, to int
	care     care
	unknown  int  // words of which nothing is known
	idle     bool // nothing was read from it, but perhaps a doubt
	weighs   bool // it has words that may turn what is said beside it
	doubts   bool
	negates  bool
	item     bool
	day      bool
	figure   bool
	sense    bool
	said     bool // an idiom was read that says nothing
	words    int  // of which nothing was read
}

// weigh finds what keeps a clause from being a plain fact. A stretch whose words
// are known one by one, and from which nothing was read, counts as unread where
// they have some weight: "a hose let go", "or the one before that".
func (p parsed) weigh(c *clause) {
	for from := c.from; from < c.to; {
		to := from
		for to < c.to && !p.parts(to) {
			to++
		}
		s := p.stretch(c, from, to)
		switch {
		case s.item && s.idle && p.aside(s):
			c.items = p.without(c, s)
			s.care, s.unknown = 0, 0
		case p.forgiven(c, s):
			s.care &= metered | lately | bySelf
			s.unknown = 0
		case s.idle && s.words > 0 && s.words < 3 && someWords[at(p.ts, from)]: // "no leaks. well, one"
			s.unknown++
		case s.idle && (s.weighs || s.doubts && s.words > 1):
			s.unknown++
			s.care &^= denial // it may deny what stands beside it, or nothing
		}
		if s.unknown > 0 {
			s.care |= unread
		}
		if to < c.to {
			s.care |= p.word(to, to)
		}
		c.unknown, c.care = c.unknown+s.unknown, c.care|s.care
		from = to + 1
	}
}

// parts says whether a token parts two stretches.
func (p parsed) parts(i int) bool {
	t := p.ts[i]
	return t.kind == tokWeak || t.kind == tokStrong || t.kind == tokAsk || t.kind == tokWord && (t.text == "and" || t.text == "y" || butWords[t.text])
}

// stretch looks at the words from one token to another.
func (p parsed) stretch(c *clause, from, to int) stretch {
	s := stretch{from: from, to: to, idle: true}
	name := named(p.text, p.ts, from, to) || named(p.text, p.ts, c.from, c.to)
	run, weighs := 0, false // words in a row from which nothing was read
	for i := from; i < to; i++ {
		t := p.ts[i]
		s.care |= p.word(i, from)
		_, item := p.items[i]
		_, day := p.days[i]
		s.item, s.day = s.item || item, s.day || day
		s.figure = s.figure || t.kind == tokNumber
		s.sense = s.sense || len(p.senses[i]) > 0 && !slices.Contains(p.senses[i], senseDoubt)
		s.said = s.said || t.used && t.kind == tokWord && !item && !day && unitWords[t.text] == UnitNone
		switch {
		case item:
			run++
			continue
		case t.used && t.hint:
			s.doubts = true
			continue
		case t.used || t.kind == tokNumber:
			s.idle = false
			if weighs && run > 3 {
				s.unknown++
			}
			run, weighs = 0, false
			continue
		}
		run, s.words = run+1, s.words+1
		s.doubts, s.negates = s.doubts || doubtWords[t.text], s.negates || negators[t.text]
		weighs = weighs || weighty[t.text] || partWords[t.text] || negators[t.text] || turnWords[t.text] || ifWords[t.text] || askWords[t.text]
		s.weighs = s.weighs || weighs
		if (t.kind == tokOther || t.kind == tokWord && !known(t.text)) && !name && !p.introduced(i) {
			s.unknown++
		}
	}
	if weighs && run > 3 && !s.idle {
		s.unknown++
	}
	return s
}

// introduced says whether a word stands where a name does and is written as one.
func (p parsed) introduced(i int) bool {
	lead := nameLeads[at(p.ts, i-1)] || at(p.ts, i-1) == "de" && (at(p.ts, i-2) == "saludos" || at(p.ts, i-2) == "parte")
	return lead && capital(p.text.words(p.ts[i].from, p.ts[i].to))
}

// word gives what one word tells of how what stands around it is to be taken;
// from is where its stretch begins.
func (p parsed) word(i, from int) (out care) {
	ts, t := p.ts, p.ts[i]
	for _, v := range []struct {
		so   bool
		care care
	}{
		{p.denied[i] && !t.used && !refusalWords[t.text], denial},
		{slices.Contains(p.senses[i], senseFault) && elsewhere(ts, i+1), outside},
		{slices.Contains(p.senses[i], senseDoubt), doubted},
		{foreignWords[t.text], outside},
		{another(ts, i), pointed},
		{meterWords[t.text] || unitWords[t.text] != UnitNone, metered},
		{thinkWords[t.text], opined},
		{selfWords[t.text] || t.text == "do" && doLeads[at(ts, i-1)] && pronouns[at(ts, i+1)] || t.text == "doing" && pronouns[at(ts, i+1)], bySelf},
		{lasted(ts, i), brief},
		{latelyWords[t.text], lately},
		{correctWords[t.text], corrected},
		{ifWords[t.text] && !t.used, iffy},
		{futureWords[t.text] && !t.used && !p.notOnce(i, from), coming},
		{theirWords[t.text] && !t.used, theirs},
		{turnWords[t.text] && !t.used && !p.notOnce(i, from), turned},
		{doubtWords[t.text] && !t.used, doubted},
		{sayWords[t.text] && !meterWords[at(ts, i-1)] && !theirWords[at(ts, i+1)] && !(p.opens(from, i) && figureAhead(ts, i)), hearsay},
	} {
		if v.so && t.kind == tokWord {
			out |= v.care
		}
	}
	return out
}

// notOnce says whether a "once" ends what is denied: "didnt overheat once".
func (p parsed) notOnce(i, from int) bool {
	if at(p.ts, i) != "once" || at(p.ts, i+1) != "" && at(p.ts, i+1) != "since" {
		return false
	}
	for k := from; k < i; k++ {
		if negators[at(p.ts, k)] {
			return true
		}
	}
	return false
}

// opens says whether nothing but small talk stands before a token in its
// stretch.
func (p parsed) opens(from, i int) bool {
	for k := from; k < i; k++ {
		if !leadWords[at(p.ts, k)] {
			return false
		}
	}
	return true
}

// without gives the items of a clause but for those that a stretch puts aside.
func (p parsed) without(c *clause, s stretch) (out []string) {
	for i := c.from; i < c.to; i++ {
		if it, ok := p.items[i]; ok && (i < s.from || i >= s.to) {
			out = append(out, it)
		}
	}
	return out
}

// forgiven says whether the words of a stretch that nobody knows can change
// nothing: what the sender did with the machine, a day that is plainly proposed,
// a meter that was not looked at.
func (p parsed) forgiven(c *clause, s stretch) bool {
	switch {
	case len(c.figures) > 0 && !s.figure && !s.sense && !s.day && p.has(s, unitWordsOf) && (s.negates || s.doubts || s.said):
		return true // "de horas no me fije"
	case s.idle && c.has(sense(KindNo)) && c.has(sense(KindThanks)) && s.care&(outside|pointed|iffy|corrected|turned) == 0:
		return s.words <= 8 && p.has(s, doers) && p.has(s, doing) // "nah gracias, mi primo does all that for free"
	case s.unknown == 0 || s.weighs || s.doubts || s.negates || s.item || s.care&(hearsay|outside|pointed|iffy|corrected|turned) != 0:
		return false
	case s.day:
		return s.unknown <= 4 && !p.counts(s) && (p.has(s, proposals) || c.has(sense(KindYes)))
	}
	if s.idle && c.when.number > 0 && !c.when.vague && p.engaged(s) {
		return p.timed(c, s) // "the 4th, first thing, i have a check station at noon"
	}
	return s.idle && s.unknown <= 4 && (p.uses(s) || p.weathers(s) || at(p.ts, s.from) == "soy" && s.words <= 5)
}

// engaged says whether a stretch tells what else the sender has to do.
func (p parsed) engaged(s stretch) bool {
	one, two := at(p.ts, s.from), at(p.ts, s.from+1)
	return one == "tengo" || (one == "i" || one == "we") && (two == "have" || two == "got" || two == "gotta") || one == "ive" && two == "got"
}

// timed says whether a clause names a time of day outside a stretch: its day is
// meant for coming.
func (p parsed) timed(c *clause, s stretch) bool {
	for i := c.from; i < c.to; i++ {
		if i >= s.from && i < s.to {
			continue
		}
		if w := at(p.ts, i); earlyWords[w] || w == "first" && at(p.ts, i+1) == "thing" || w == "primera" && at(p.ts, i+1) == "hora" || p.ts[i].kind == tokClock {
			return true
		}
	}
	return false
}

// weathers says whether a stretch tells of the weather or the light, and of
// nothing else that nobody knows.
func (p parsed) weathers(s stretch) bool {
	if w := at(p.ts, s.from); w != "its" && w != "esta" && w != "ta" && w != "too" && w != "muy" && w != "so" {
		return false
	}
	for i := s.from; i < s.to; i++ {
		if w := at(p.ts, i); !weatherWords[w] && !known(w) || partWords[w] {
			return false
		}
	}
	return p.has(s, weatherWords)
}

// aside says whether a stretch says of work only that it is not done: "coolant
// not yet", "nomas falta lo del anticongelante".
func (p parsed) aside(s stretch) bool {
	if p.has(s, dueWords) {
		return s.words <= 5
	}
	last := s.from
	for i := range p.items {
		if i >= s.from && i < s.to {
			last = max(last, i)
		}
	}
	for i := last + 1; i < s.to; i++ {
		if w := at(p.ts, i); !p.ts[i].used && !putOffWords[w] && !notDone[w] {
			return false
		}
	}
	return s.negates
}

// has says whether a stretch has one of some words.
func (p parsed) has(s stretch, words map[string]bool) bool {
	for i := s.from; i < s.to; i++ {
		if words[at(p.ts, i)] {
			return true
		}
	}
	return false
}

// counts says whether a stretch has a number that was not read.
func (p parsed) counts(s stretch) bool {
	for i := s.from; i < s.to; i++ {
		if t := p.ts[i]; !t.used && (t.kind == tokNumber || t.kind == tokOther || numerals[t.text].value > 1) {
			return true
		}
	}
	return false
}

// uses says whether a stretch tells what the sender did with the machine, and
// no word that nobody knows tells of the machine itself.
func (p parsed) uses(s stretch) bool {
	who, did, away := false, false, false
	for i := s.from; i < s.to; i++ {
		w := at(p.ts, i)
		who = who || i < s.from+2 && senders[w] || i == s.from && tookWords[w] && tookWhat[at(p.ts, i+1)]
		did = did || useWords[w] && who || ownUses[w]
		away = away || w == "in" || w == "en" || w == "at" || w == "down"
		if n := numerals[w].kind; n != 0 && n != 'y' && w != "a" {
			if next := at(p.ts, i+1); spans[next] > 0 || otherUnits[next] {
				continue // "tres dias"
			}
			return false
		}
		if p.ts[i].used || known(w) || ownUses[w] {
			if tellers[w] {
				return false
			}
			continue
		}
		if !did && !(who && away) || predicates[at(p.ts, i-1)] || partWords[at(p.ts, i-1)] {
			return false
		}
	}
	return did || who && away
}

var (
	// weighty words make a choice, point at another thing, or tell of a change.
	weighty = wordSet("or o u either neither which whichever other others otro otra otros otras that those ese esa eso aquel this esto let lets got went gone came back again still todavia same old viejo vieja stop had")
	// someWords alone take back a part of what was said.
	someWords = wordSet("one two few couple some sometimes mostly kinda sorta una uno unos unas algunas algunos")
	// senders begin what somebody tells of himself; useWords are what one does with
	// a machine, ownUses are both in one Spanish word.
	senders  = wordSet("ando estoy andamos estamos i ive im we weve been just yo nosotros")
	useWords = wordSet("drove drive driven driving rode ride ridden riding ran run running hauled hauling haul pulled pulling pull plowed plowing plow used using use worked working took taking hunted hunting moved moving carried carrying climbed")
	ownUses  = wordSet("traje trajimos anduve anduvimos maneje manejamos usamos jale jalamos subi subimos cargue cargamos lleve llevamos arree arreamos trabaje trabajamos")
	// predicates lead to what is said of the machine.
	predicates = wordSet("it its she shes he hes they this that thing machine is was are were be been got gets feels felt sounds sounded seems started starts keeps kept lo se esta anda estaba traia")
	// tellers lead to what was wrong on the way.
	tellers = wordSet("with con without sin home tow towed had apart mechanic mecanico shop taller dealer")
	// tookWords begin what was done with the machine, where it is named behind them.
	tookWords = wordSet("took drove rode hauled used pulled plowed worked")
	tookWhat  = wordSet("it her him this that the")
	// doers and doing: somebody else does the work.
	doers = wordSet("primo cousin son hijo brother hermano dad papa father uncle tio nephew sobrino cunado husband esposo neighbor vecino buddy compadre wife esposa boy kid mecanico mechanic")
	doing = wordSet("does do hace hacen doing takes arregla")
	// earlyWords name a time of day; weatherWords the weather and the light.
	earlyWords   = wordSet("early morning temprano tempranito noon mediodia afternoon tarde")
	weatherWords = wordSet("dark pitch black cold freezing raining rainy snowing snowy muddy windy dusty foggy oscuro lloviendo nevando helando lodoso nublado")
	// proposals name a day to come by, whatever else stands beside it.
	proposals = wordSet("lets bring bringing take taking drop dropping book pencil schedule put see paso pasamos llevo llevamos traigo apunteme apuntame apunten anoteme agendeme echeme echenme dejo dejamos bajo caigo")
	// dueWords and notDone say of work that it is still to be done.
	dueWords = wordSet("falta faltan pending pendiente pendientes left remains")
	notDone  = wordSet("le movido tocado touched started done hecho no not isnt hasnt havent yet been done it aun todavia lo la he hemos")
	// unitWordsOf name a meter.
	unitWordsOf = wordSet("h hr hrs hour hours hora horas mi mile miles milla millas odometer odometro horometro hourmeter")
)
