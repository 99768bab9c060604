package inbox

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a mailer repeats of our own words, with no mark at all, is not what the
// sender says; nor is a signature, or a notice of the mail system.
func TestOurOwnWordsAreNotTheSenders(t *testing.T) {
	a := situation(t, "check")
	a.Sent = "Hill Shop: Is R12 running well since the coolant work?\nReply \"ok\", or tell us what is wrong: \"it's back, leaks again\".\nThank you"
	for _, text := range []string{
		"ok\n\nIs R12 running well since the coolant work?\nReply \"ok\", or tell us what is wrong: \"it's back, leaks again\".",
		"ok\nHill Shop: Is R12 running well since the coolant work?\n> Reply \"ok\", or tell us what is wrong: \"it's back, leaks again\".",
		"ok\n\nRay Miller\nQuill Creek Ranch, PO Box 6120",
		"ok\nThanks,\nRay Miller",
		"ok\nConfidential: if this leaks, stop reading and delete it.",
	} {
		assert.Equal(t, "ok R12 check=7", write(Read(text, a)), text)
	}
	assert.Equal(t, "back R12 check=7", write(Read("it's back", a)), "the sender's own words stay, like ours or not")
}

// What stands below a name is left out only where it can tell of nothing: a
// fault, a meter or a refusal below it is read, or seen by a person.
func TestSignatures(t *testing.T) {
	a := situation(t, "check")
	for _, below := range []string{
		"BROCK", "N.", "The Haskells", "- Brock", "Curt Vandermeer | Six Mile Ranch | PO Box 738", "Dell Ostrander\nDistrict Wildlife Officer, Badge 6118",
		"Lupita Barraza | Office Manager | 1207 W. 3rd St", "Lupita Barraza\nOffice, Barraza & Hijos Fencing\n970.555.0129", "Efraín Montoya\nTel. 970 555 0136",
		"Pilar Quintana\nVineyard Manager\nCold Ditch Vineyards, 4120 County Road 6\n(970) 555-0117 ext 406", "Ing. Rebeca Salcido\nViñedo Tres Álamos, Km 14",
	} {
		assert.Equal(t, "ok R12 check=7", write(Read("ok\n\n"+below, a)), below)
		assert.Equal(t, "ok R12 check=7", write(Read("ok\nGracias,\n"+below, a)), below)
	}
	for _, below := range []string{
		"Leaks Again", "BROCK\nit lunged hard on the way down", "Ray Miller\nR12 6120", "Ray Miller\n6120", "Ray Miller\nThe belt squeals", "Ray Miller\nSTOP", "Maybe Not",
		"Ray Miller\n\nPS one hose drips",
	} {
		assert.NotEqual(t, "ok R12 check=7", write(Read("ok\n\n"+below, a)), below)
	}
}
