package cooling

import (
	"fmt"

	"example.org/roundsman/models"
)

// Reasons of refusals.
const (
	RefusedRange     models.Reason = "outside the table"      // no published value there; none is made up
	RefusedSource    models.Reason = "no sourced value"       // nobody trustworthy has published one
	RefusedMixture   models.Reason = "two kinds of glycol"    // ethylene and propylene glycol are never mixed here
	RefusedBasis     models.Reason = "volume is not mass"     // percent by volume and by mass are not the same
	RefusedInput     models.Reason = "not a possible figure"  // negative, not a number, larger than the whole
	RefusedReach     models.Reason = "cannot be reached"      // no amount of that fluid gets there
	RefusedRounds    models.Reason = "too many rounds"        // a drain gets too little out
	RefusedPoints    models.Reason = "points do not fit"      // too few, equal, or not falling with temperature
	RefusedTester    models.Reason = "tester for other fluid" // an ethylene scale misreads propylene
	RefusedTooStrong models.Reason = "stronger than needed"   // adding that fluid moves it the wrong way
)

// Refusal says that a question has no honest answer, why, and what to do
// instead. It counts as [models.CodeInvalid].
type Refusal struct {
	Reason  models.Reason `json:"reason"`
	Message string        `json:"message"`
	Remedy  string        `json:"remedy,omitempty"`
}

// Error gives the message and the remedy on one line.
func (r *Refusal) Error() string {
	if r.Remedy == "" {
		return r.Message
	}
	return r.Message + "; " + r.Remedy
}

// Unwrap gives the same as an error of the domain, so that every face of the
// program knows how to show it.
func (r *Refusal) Unwrap() error {
	return &models.Error{Code: models.CodeInvalid, Message: r.Message, Remedy: r.Remedy}
}

// refuse makes a Refusal; the message takes a format.
func refuse(reason models.Reason, remedy, format string, args ...any) *Refusal {
	return &Refusal{Reason: reason, Remedy: remedy, Message: fmt.Sprintf(format, args...)}
}

// shorten keeps a foreign text short in a message.
func shorten(s string) string { return models.Shorten(s, 40) }
