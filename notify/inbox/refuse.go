package inbox

import (
	"slices"
	"strings"
	"unicode"

	"example.org/roundsman/models"
)

// wish says how plainly a text wishes to end the messages.
type wish uint8

const (
	refusedNot   wish = iota
	refusedMaybe      // a person must decide; nothing goes meanwhile
	refused
)

// refusal finds the wish to get no more messages, by any reasonable wording
// and wherever it stands (47 CFR 64.1200(a)(10); FCC, 89 FR 15756).
func refusal(f folded, a Asked) wish {
	names := 0
	left := slices.DeleteFunc(wordsOf(f.text), func(w string) bool {
		name := len(w) > 1 && !fillers[w] && !negators[w] && !trade(w) && !refuseWords[w]
		if name {
			names++
		}
		return name || softWords[w] && w != "ya" || w == "here" || w == "this" || w == "is"
	})
	if names <= 4 {
		switch strings.Join(left, " ") {
		case "no more", "no mas", "ya no mas":
			return refused
		case "ya no", "stop it", "enough", "ya basta":
			if strings.Contains(f.text, "good enough") {
				return refusedNot
			}
			return refusedMaybe
		}
	}
	if names > 0 {
		if ws := slices.DeleteFunc(wordsOf(f.text), func(w string) bool { return softWords[w] }); len(ws) == 1 && nearStop(ws[0]) {
			return refusedMaybe // "stpo", "unsuscribe"
		}
	}
	out := refusedNot
	parts := sentences(f.text)
	for n, part := range parts {
		ws := wordsOf(part)
		w := commanded(ws, a)
		if w == refused && slices.ContainsFunc(ws, func(w string) bool { return weakStops[w] }) && slices.ContainsFunc(parts, func(o string) bool {
			return o != parts[n] && slices.ContainsFunc(wordsOf(o), trade)
		}) {
			if w = refusedMaybe; strings.Contains(part, "cancel") {
				continue // "sold it, cancel": what is to end is the visit
			}
		}
		if w < refused {
			w = max(w, worded(ws, a))
		}
		out = max(out, w)
	}
	if out == refusedNot {
		out = max(worded(wordsOf(f.text), a), shouted(f))
	}
	return out
}

// nearStop says whether a word that nobody knows is a slip of the thumb away
// from a command to stop.
func nearStop(w string) bool {
	if known(w) || trade(w) || strings.ContainsFunc(w, isDigit) {
		return false
	}
	return slices.Contains(swaps("stop"), w) || models.Nearest(w, []string{"stop", "parar"}, 1) != "" || models.Nearest(w, []string{"unsubscribe"}, 2) != ""
}

// sentences cuts a text at line ends and signs.
func sentences(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool {
		return r == '\n' || r == '.' || r == '!' || r == ';' || r == ',' || r == '(' || r == ')' || r == ':'
	})
}

// wordsOf gives the words of a text with letters that are drawn out or written
// apart put together: "stoppp", "s t o p", "s-t-o-p".
func wordsOf(s string) []string {
	var out []string
	apart := ""
	end := func() {
		if len(apart) > 2 {
			out = append(out, apart)
		} else {
			for _, r := range apart {
				out = append(out, string(r))
			}
		}
		apart = ""
	}
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !isDigit(r) }) {
		if len(w) == 1 && w[0] >= 'a' && w[0] <= 'z' {
			apart += w
			continue
		}
		end()
		out = append(out, drawn(w))
	}
	end()
	return out
}

// drawn takes letters that are repeated at the end or thrice away.
func drawn(w string) string {
	for _, stop := range []string{"stop", "alto", "arret", "pare", "quit", "end"} {
		if rest, ok := strings.CutPrefix(w, stop); ok && rest != "" && strings.Trim(rest, stop[len(stop)-1:]) == "" {
			return stop
		}
	}
	return w
}

// commanded finds a command that stands by itself, but for polite words,
// names and numbers around it.
func commanded(ws []string, a Asked) wish {
	at, n, names := -1, 0, 0
	weak := false
	for i := 0; i < len(ws); i++ {
		w := ws[i]
		switch {
		case i+1 < len(ws) && (w == "opt" && ws[i+1] == "out" || w == "stop" && ws[i+1] == "all"):
			at, n = i, n+1
			i++
		case hardStops[w]:
			if at >= 0 && n > 0 && !hardStops[ws[i-1]] && !softWords[ws[i-1]] {
				return refusedNot
			}
			at, n = i, n+1
		case weakStops[w]:
			at, n, weak = i, n+1, true
		case softWords[w]:
		case isNumber(w), slices.ContainsFunc(a.Machines, func(k Known) bool { return slices.Contains(k.names(), w) }):
		case stopFollowers[w] && at >= 0, trade(w), messageWords[w], fillers[w] || negators[w] || turnWords[w]:
			return refusedNot
		default:
			names++
		}
	}
	switch {
	case n == 0:
		return refusedNot
	case weak && (names > 0 || len(ws) > 3 || slices.Contains(ws, "i") || slices.Contains(ws, "you")):
		return refusedNot
	case names > 4:
		return refusedNot
	}
	return refused
}

// trade says whether a word has a meaning here that makes a sentence of a
// command beside it: "engine stop", "stop leaking".
func trade(w string) bool {
	return len(sayings[w]) > 0 || len(works[w]) > 0 || len(kinds[w]) > 0 || partWords[w] || weekdays[w] != 0 || months[w] != 0 || unitWords[w] != UnitNone || foreignWords[w] || askWords[w]
}

// worded finds a refusal in a sentence: a word that ends something, and
// messages as that which is to end.
func worded(ws []string, a Asked) wish {
	text := " " + strings.Join(ws, " ") + " "
	has := func(list []string) bool {
		return slices.ContainsFunc(list, func(p string) bool { return strings.Contains(text, " "+p+" ") })
	}
	found := refusedNot
	if has(notRefusals) {
		return refusedNot
	}
	if has(clearRefusals) {
		found = refused
	} else if has(unclearRefusals) {
		found = refusedMaybe
	}
	for i, w := range ws {
		if found == refusedNot && (w == "stop" || w == "quit") && (i == 0 || !negators[ws[i-1]] && ws[i-1] != "it") && bothers(ws[i+1:]) {
			found = refusedMaybe
		}
		if found == refused || !refuseWords[w] {
			continue
		}
		if i > 0 && w != "no" && (negators[ws[i-1]] || i > 1 && negators[ws[i-2]]) && w != "more" && ws[i-1] != "no" && ws[i-1] != "ya" {
			continue // "don't stop texting"
		}
		who := 0 // perhaps a name: "stop sending Luis these"
		for k := i + 1; k < len(ws) && k <= i+5; k++ {
			if messageWords[ws[k]] || who > 0 && (ws[k] == "these" || ws[k] == "this" || ws[k] == "estos") {
				found = refused
				if who > 0 {
					return refusedMaybe
				}
				break
			}
			if who == 0 && k > i+1 && !fillers[ws[k]] && !trade(ws[k]) && !refuseBridges[ws[k]] {
				who++
				continue
			}
			if !refuseBridges[ws[k]] && !slices.ContainsFunc(a.Machines, func(m Known) bool { return slices.Contains(m.names(), ws[k]) }) {
				break
			}
		}
	}
	if found != refused {
		return found
	}
	if slices.ContainsFunc(ws, func(w string) bool {
		return conditionWords[w] || slices.ContainsFunc(a.Machines, func(k Known) bool { return slices.Contains(k.names(), w) })
	}) {
		return refusedMaybe // "don't text me on sundays", "stop U7 reminders"
	}
	return found
}

// bothers knows what somebody is asked to stop doing to the sender, whatever
// it is: "checking up on me".
func bothers(ws []string) bool {
	if len(ws) < 2 || !strings.HasSuffix(ws[0], "ing") || len(sayings[ws[0]]) > 0 || partWords[ws[0]] || ws[0] == "running" || ws[0] == "working" || ws[0] == "going" || ws[0] == "charging" {
		return false
	}
	return slices.ContainsFunc(ws[1:min(len(ws), 5)], func(w string) bool { return w == "me" || w == "us" })
}

// shouted finds a STOP in capitals among words that have none: what it is
// about a person decides, unless the words say it.
func shouted(f folded) wish {
	capitals, small := false, false
	for i, w := range strings.FieldsFunc(f.original, func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch {
		case w == "STOP" || w == "ALTO" || w == "ARRET" || w == "ARRÊT" || w == "UNSUBSCRIBE":
			capitals = true
		case strings.ToLower(w) == w || i > 0 && len(w) > 3 && strings.ToUpper(w) != w:
			small = true
		}
	}
	if capitals && small {
		return refusedMaybe
	}
	return refusedNot
}

// Words that refuse by themselves, also beside a name; ARRET is Canada's
// (common practice, no source).
var hardStops = wordSet("stop stopall unsubscribe unsub optout revoke alto parar pare parele parenle paren arret desuscribir cancelarsuscripcion 🛑")

// weakStops refuse only where they are all that is said.
var weakStops = wordSet("quit end baja basta cancelar cancel")

// softWords may stand around a command and change nothing.
var softWords = wordSet(`please pls plz por favor porfavor now ok okay k thanks thank thx you u ty gracias muchas already just immediately asap hey hi hello hola
 yes yeah yep im i we said sir maam guys folks all sorry today so kindly right away ya ahora ahorita dije digo les dude man bro reply text txt send
 good morning afternoon evening buenos buenas dias tardes noches y and señor senor senora amigo regards sincerely cheers lol`)

// stopFollowers behind a command make a sentence of it.
var stopFollowers = wordSet("by at in on it for after before when if leaking running light sign watch lamp bath off over there near through")

// refuseWords end something; messageWords are what is sent.
var (
	refuseWords = wordSet(`stop quit cease end no dont not cancel remove delete erase unsubscribe discontinue halt kill drop enough
 stopping without hate deje dejen dejar dejenme paren pare parenle parele basta quiten quitenme quitame quiteme borren borrenme borrame borreme eliminen cancelen saquen saquenme saqueme never nunca ya`)
	refuseBridges = wordSet(`me us my the these those this your any all more mas de con los las sus estos esos a se lo le les to on want need wish like getting get receive receiving
 you ever even please send sending sent gimme giving with of from being be getting anymore mandarme mandar manden mande mandando enviar envien enviando escribiendo recibir quiero queremos querer necesito
 damn dang stupid darn freaking automated auto robot annoying such kind types text service reminder por favor me dejen nos tantos mis su esta esa quiera por`)
	messageWords = wordSet(`texts texting text txts txting txt messages messaging message msgs msg sms emails emailing email mails mail mailing notifications notification reminders reminding
 reminder notices alerts spam spamming contacting contact bothering bother harassing pestering writing bugging list mensajes mensaje mensajitos textos texto escriban escriba escribiendo escribir manden mande mandando
 envien avisos recordatorios correos molestando molesten molestar notificaciones lista textear texteen texteando spamear mensajear subscription suscripcion contacten number`)
)

// clearRefusals and unclearRefusals are refusals that no pattern gives;
// notRefusals look like one.
var (
	clearRefusals = []string{"opt out", "opt me out", "unsubscribe me", "unsubscribe", "leave me alone", "leave us alone", "lose my number", "lose this number", "take me off", "take us off", "take my number off", "take this number off", "get me off",
		"remove me", "remove us", "delete me", "remove my number", "delete my number", "remove this number", "delete this number", "quit sending me", "stop sending me", "stop sending these", "stop sending this", "stop these", "stop the texts", "stop this texting",
		"stop with the texts", "no more texts", "no more messages", "no more of these", "no more emails", "how do i stop", "how do i unsubscribe", "how do i get off", "stop getting these", "stop receiving", "dont send me any more", "do not send me any more", "dont send me anything",
		"do not contact", "dont contact", "do not text", "dont text", "dont message me", "do not message", "dont email me", "do not email", "dont write me", "dont want these", "dont want to get these", "dont want to receive", "want no more", "not want these",
		"no mas mensajes", "no mas textos", "ya no me manden", "ya no me escriban", "no me manden", "no me escriban", "no me envien", "no me mande", "no me escriba", "no quiero mas", "no quiero recibir", "no quiero mensajes", "quitenme", "quitenme de ahi", "quiteme de ahi", "sacame de ahi", "bajenme", "bajeme", "take this off my phone", "borrenme", "quiteme", "borreme",
		"quitame", "borrame", "saqueme", "saquenme", "sacame", "denme de baja", "deme de baja", "dame de baja", "darme de baja", "dejen de", "deje de mandar", "deje de escribir", "dejenme en paz", "ya no mas", "stop texting", "quit texting", "stop messaging", "quit messaging", "stop emailing", "stop contacting", "stop bothering", "i revoke", "cancel these texts", "cancel the texts", "end these texts", "turn off these", "turn these off", "turn off the texts",
		"please stop", "stop please", "stop now", "i said stop", "stop this", "stop already", "already said stop", "told you to stop", "asked you to stop", "stop to end", "alto para terminar", "stop para terminar", "stop to opt out"}
	unclearRefusals = []string{"want out", "let me out", "stop it", "knock it off", "cut it out", "enough already", "rather not hear", "not hear from", "dont want to hear", "never signed up", "didnt sign up", "did not sign up", "never asked for", "didnt ask for these", "who gave you", "how did you get my number", "where did you get my number", "robot text", "robo text", "spam", "too many texts", "too many messages",
		"sick of these", "tired of these", "fed up", "getting old", "so annoying", "is annoying", "are annoying", "quit it", "leave me be", "ya basta", "ya estuvo", "me tienen harto", "me tienen harta", "harto de", "harta de", "cansado de", "quien les dio mi numero", "de donde sacaron mi numero",
		"muchos mensajes", "tantos mensajes", "not interested in", "dont need these", "dont need notes", "dont need reminders", "no need for reminders", "dont need your", "quit bugging", "stop bugging", "quit asking", "stop asking", "no me interesa", "no molesten", "no me molesten", "hear from the shop", "hear from you", "block you", "blocking you", "blocking this", "bloquear", "report you"}
	notRefusals = []string{"dont stop sending", "dont stop texting", "dont stop these", "dont stop the", "do not stop sending", "do not stop texting", "do not stop the", "never stop sending", "dont quit sending", "dont quit texting", "no dejen de mandar", "no dejen de escribir", "no dejen de avisar", "no deje de mandar", "no deje de avisar", "hate to be a bother", "hate to bother", "dont want to be a bother", "no es molestia", "not to bother", "stop that dog", "stop the dog", "stop barking", "wont stop it", "cant stop it", "doesnt stop it", "didnt stop it", "will stop it", "to stop it", "make it stop", "no text", "no message", "no messages yet", "got no", "get no", "off the schedule", "off the calendar", "off the lift"}
)

// conditionWords make a refusal one of some days or people only.
var conditionWords = wordSet("after despues emergency emergencies emergencia urgent while when during before until till sunday sundays saturday saturdays weekend weekends night nights early late domingo domingos noche noches temprano him her luis them wife husband hijo esposa esposo about unless except but sino pero mientras cuando driving calf work")
