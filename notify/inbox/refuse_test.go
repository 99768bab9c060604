package inbox

import (
	"math/rand/v2"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// held says whether a reply ends messages, or holds them until a person decides.
func held(r Reply) (stopped, waits bool) {
	for _, a := range r.Acts {
		stopped = stopped || a.Kind == KindStop
	}
	return stopped, r.Person == models.ReasonNoMore
}

// clearWishes end messages at once; wording from 47 CFR 64.1200(a)(10) and 89
// FR 15756 ("any reasonable means"), the rest as people write.
var clearWishes = []string{
	"STOP", "stop", "please stop", "stop please", "stop texting", "stop texting me", "please stop texting me", "no more texts", "no more messages", "Stop now", "STOP STOP",
	"I said STOP", "ALTO para terminar", "STOP to end", "pare", "no más", "STOP 4512", "ok stop", "unsubscribe", "UNSUBSCRIBE", "opt out", "optout", "stopall", "revoke", "ARRET", "Alto", "parar",
	"take me off your list", "take me off this list please", "remove me", "remove my number", "please remove me from your list", "delete my number", "lose my number", "leave me alone", "quit texting me",
	"do not text me", "dont text me anymore", "don't text this number again", "no me manden mensajes", "ya no me manden mensajes", "ya no me escriban", "no quiero más mensajes", "déjenme en paz", "quítenme de la lista",
	"bórrenme de la lista", "párenle con los textos", "dejen de mandar mensajes", "denme de baja", "how do i unsubscribe", "how do i stop these", "cancel these texts", "I don't want these texts", "no more of these please", "stop sending me messages", "stop emailing me", "unsubscribe me please", "stop. thanks", "STOP!!!", "s t o p", "stopppp", "Stop messaging",
}

// unclearWishes may be one.
var unclearWishes = []string{
	"stop it", "enough already", "I never signed up", "who gave you my number", "too many texts", "tired of these", "I'd rather not hear from you", "ya basta", "these texts are getting old",
	"stop sending Luis these", "no texts on sundays please, stop texting on sundays", "ya no", "don't text me while I'm driving",
}

// notWishes hold such words and are none.
var notWishes = []string{
	"can you stop by", "I'll stop by friday", "engine quits when hot", "it quit", "cancel my tuesday appointment", "it won't stop leaking", "stopped leaking", "the dripping stopped", "end of the week", "at the end of the road",
	"bus stop", "the stop light is out", "didn't get your text", "got no text from you", "I got your message", "no message from you yet", "don't stop reminding me", "the brake won't stop it", "la bajo el lunes", "está parada la máquina", "text me friday", "no leaks", "stopped at 6120", "dont need it till friday", "para el lunes",
	"end", "quit smoking on me again",
}

func TestRefusals(t *testing.T) {
	for _, name := range []string{"one", "notice", "check", "visit", "none", "value?", "spanish"} {
		a := situation(t, name)
		for _, text := range clearWishes {
			stopped, _ := held(Read(text, a))
			assert.True(t, stopped, "%s: %q: %s", name, text, write(Read(text, a)))
		}
		for _, text := range unclearWishes {
			stopped, waits := held(Read(text, a))
			assert.True(t, waits && !stopped, "%s: %q: %s", name, text, write(Read(text, a)))
		}
		for _, text := range notWishes[:len(notWishes)-2] {
			stopped, waits := held(Read(text, a))
			assert.False(t, stopped || waits, "%s: %q: %s", name, text, write(Read(text, a)))
		}
	}
	stopped, _ := held(Read("", Asked{Subject: "STOP", Today: situation(t, "one").Today}))
	assert.True(t, stopped, "our List-Unsubscribe makes a mail of a subject alone")
}

// A thousand edits of each refusal that change nothing of what it says all hold.
func TestEditedRefusalsHold(t *testing.T) {
	edits := 1000
	if testing.Short() {
		edits = 50
	}
	rng := rand.New(rand.NewPCG(11, 64))
	a := situation(t, "notice")
	for _, text := range clearWishes {
		for range edits {
			edited := edit(rng, text)
			stopped, waits := held(Read(edited, a))
			if !stopped && !waits {
				t.Errorf("%q, edited to %q: %s", text, edited, write(Read(edited, a)))
				break
			}
		}
	}
}

// edit changes case, spaces and signs, and puts names, polite words and emoji
// before and behind.
func edit(rng *rand.Rand, s string) string {
	pick := func(list ...string) string { return list[rng.IntN(len(list))] }
	switch rng.IntN(4) {
	case 0:
		s = strings.ToUpper(s)
	case 1:
		s = strings.ToLower(s)
	case 2:
		s = strings.Map(func(r rune) rune {
			if rng.IntN(2) == 0 {
				return unicode.ToUpper(r)
			}
			return unicode.ToLower(r)
		}, s)
	}
	s = strings.ReplaceAll(s, " ", strings.Repeat(" ", 1+rng.IntN(3)))
	s += pick("", "", ".", "!", "!!!", " .", "...", " 🙏", "😡", " 🛑", ",", "\n", " :(")
	s = pick("", "", "", " ", "Hi, ", "Hello. ", "ok ", "Please ", "Ray Miller here. ", "Ray Miller: ", "Hey guys, ", "Hola, ", "\n", "🛑 ", "Sir, ", "This is Nora Bell. ") + s
	return s + pick("", "", "", " thanks", " Thank you", "\n-- Ray", "\nRay Miller", " - Nora Bell", "\n\nNora Bell\nQuill Creek Ranch", " gracias", " please", "\nSent from my phone", " 👎")
}
