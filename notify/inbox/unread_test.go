package inbox

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// besides are sentences that a person may put beside a plain answer and that
// change what is to be done on it, by what they do. Their words are not those
// of the lists of this package: how many of them it happens to know must not
// matter.
var besides = map[string][]string{
	"fault": {
		"the left axle boot has grease all over it", "there is a wet patch where i park it", "the dash lit up like a tree",
		"it lunged hard on the way down", "i can smell something sweet in the cab", "hay un charquito verde donde la estaciono",
		"se le escucha un tronido al frenar", "la banda nueva rechina", "y anda tirando oil", "y la bomba zumba", "the tranny is whirring",
		"she drinks a gallon a week", "had to top it off twice", "le ando echando agua cada rato", "the gauge crept up on the hill",
		"se le prende una lucecita amarilla", "a hose let go", "the seal wept a bit", "trae un silbido", "the needle wandered past the mark",
	},
	"negation": {
		"that is not so", "none of that is true", "it was never the case", "not the way you wrote it", "no fue asi",
		"eso no es cierto", "i never agreed to it", "nothing like before", "ni de chiste", "nobody touched it",
	},
	"rival": {
		"or was it the other way round", "or the one before that", "o al reves", "or thereabouts for the twin", "it might be the reverse",
		"o tal vez era otro dia", "could be i mixed them", "no se si era ese", "whichever of them it was", "one of those two at least",
	},
	"another machine": {
		"the old blue rig still acts ugly", "my cousin's buggy quit", "la otra maquina anda chueca", "the skid steer however coughs",
		"la vieja sigue tronando", "same with the baler which wont fire", "the one in the far barn hisses", "el remolque cojea",
	},
	"hearsay": {
		"my foreman reckons otherwise", "pete swears it aint so", "dice mi compadre que nel pastel", "so the hired hand claims",
		"according to the wife it hums", "segun el chalan quedo floja", "the neighbor told me it clatters", "que dizque ya truena",
	},
	"condition": {
		"provided the bearing shows up", "as long as it stays dry out", "unless the creek floods", "siempre y cuando llueva",
		"assuming dad lets go of it", "if the county plows the road", "si me suelta el patron", "only supposing it survives branding",
		"depending on the weather", "nomas que llegue la refaccion", "once the vet clears out", "until it warmed through",
	},
}

// plain are answers that are taken without a person, by situation of
// testdata/played.
var plain = map[string][]string{
	"check":   {"ok", "All good", "Runs great, thanks", "todo bien", "👍", "No leaks", "it held", "yes"},
	"due":     {"Changed the oil yesterday", "cambié el aceite ayer", "yes please", "no thanks", "Thursday works", "done friday, oil and coolant"},
	"visit":   {"yes", "Works for me", "no", "sí", "that day is fine", "👍"},
	"reading": {"6120 mi 412 h", "6120", "odometer 6120, hours 412", "traigo 6120 millas"},
	"offer":   {"Thursday", "el jueves", "the 3rd works"},
}

// bound are the acts that end or date something, and those by which a person
// says plainly yes or no: nothing that was said beside them and not understood
// may let them through. What else is read (a wish for a day, a sale) goes to
// the desk by itself.
var bound = []Kind{KindOK, KindDone, KindYes, KindNo, KindThanks, KindComeback}

// toDesk are the acts that the desk is told of whatever else is read.
var toDesk = []Kind{KindTrouble, KindComeback, KindDay, KindLater, KindNo, KindSold}

// Whatever people add to a plain answer, and wherever, no check is closed, no
// service dated, nothing agreed, no other value taken, and a person sees it.
func TestWhatIsNotUnderstoodHoldsTheRest(t *testing.T) {
	n := 0
	for situation, answers := range plain {
		a := played{Situation: situation}.before(t)
		for _, answer := range answers {
			alone := Read(answer, a)
			assert.Empty(t, alone.Ask, answer)
			assert.NotEmpty(t, alone.Acts, "%s %s", situation, answer)
			for sort, list := range besides {
				for _, extra := range list {
					for _, text := range woven(answer, extra) {
						n++
						if testing.Short() && n%5 > 0 {
							continue
						}
						if why := loose(alone, sort, Read(text, a)); why != "" {
							t.Errorf("%s, %s: %q: %s", situation, sort, text, why)
						}
					}
				}
			}
		}
	}
}

// woven puts a sentence beside an answer in the ways in which people do.
func woven(answer, extra string) []string {
	capital := strings.ToUpper(extra[:1]) + extra[1:]
	return []string{answer + ", " + extra, answer + ". " + capital, answer + " and " + extra, answer + " " + extra, answer + "\n" + extra,
		capital + ". " + answer, extra + ", " + answer, extra + " but " + answer, answer + " - " + extra, answer + " pero " + extra, capital + "\n" + answer}
}

// loose says what was read too freely. A fault that was understood lets other
// things stand, but for an answer about the repair.
func loose(alone Reply, sort string, r Reply) string {
	understood := r.Person == models.ReasonTrouble || slices.ContainsFunc(r.Acts, func(act Act) bool { return act.Kind == KindTrouble || act.Kind == KindComeback })
	seen := r.Person != "" || r.Ask != nil
	for _, act := range r.Acts {
		seen = seen || slices.Contains(toDesk, act.Kind) || act.Guess // of what is doubted a value is one
		switch {
		case act.Kind == KindComeback && sort == "fault":
		case understood && act.Kind == KindDone, sort == "negation" && act.Kind == KindNo && alone.Acts[0].Kind == KindNo:
		case slices.Contains(bound, act.Kind):
			return string(act.Kind)
		case act.Kind == KindReading && !slices.ContainsFunc(alone.Acts, func(b Act) bool {
			return (!act.Miles.Known || act.Miles == b.Miles) && (!act.Hours.Known || act.Hours == b.Hours)
		}):
			return "another value"
		}
	}
	if !seen {
		return "nobody sees it"
	}
	return ""
}
