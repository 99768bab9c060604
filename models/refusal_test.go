package models

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestRefusalsKeepTheirVerbs: a format and its Spanish take the same arguments.
func TestRefusalsKeepTheirVerbs(t *testing.T) {
	verbs := regexp.MustCompile(`%[a-z]`)
	for en, es := range refusalsInSpanish {
		assert.Equal(t, verbs.FindAllString(en, -1), verbs.FindAllString(es, -1), en)
	}
}

func TestRefusalsSpeakSpanish(t *testing.T) {
	m := Machine{ID: "m1", Tag: "R12", Meters: MetersMiles}
	for _, tt := range []struct {
		err             *Error
		message, remedy string
	}{
		{Errorf(CodeInvalid, "pick one that it has", "%s has no such meter (its meters: %s)", "R12", MetersMiles), "R12 no tiene ese medidor (tiene: odómetro)", "elija uno que tenga"},
		{Errorf(CodeConflict, "open a new job", "job %s is %s and cannot %s", "7", JobHanded, "be done"), "el trabajo 7 está entregado y no se puede dar por hecho", "abra un trabajo nuevo"},
		{Errorf(CodeInvalid, "English 5", "%s %q %v", Odometer, "x", ErrNotANumber), `odómetro "x" no es un número`, ""},
		{&Error{Code: CodeConflict, Message: "it is recorded already"}, "ya está registrado", ""},
		{(&DoubtfulReading{Machine: m, Meter: Odometer, Shown: Num(61200), Reason: ReasonExtraDigit, Likely: Num(6120)}).Unwrap().(*Error),
			"61200 mi de R12 es dudoso: sobra una cifra (probablemente marcaba 6120)", ""},
	} {
		message, remedy := tt.err.In("es-MX")
		assert.Equal(t, tt.message, message)
		assert.Equal(t, tt.remedy, remedy)
		message, _ = tt.err.In("en")
		assert.Equal(t, tt.err.Message, message)
	}
}
