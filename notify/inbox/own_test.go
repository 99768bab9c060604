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
