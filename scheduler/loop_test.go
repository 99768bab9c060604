package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// A program that answers each of our mails without saying that it is one gets
// at most one answer an hour and three a day.
func TestAProgramIsNotTalkedWith(t *testing.T) {
	for _, words := range []string{
		"I am out of the office until Monday. For urgent matters reply to this mail.",
		"Thank you for your message! M1 is important to us. Your number is 2150.",
		"We have received your request.",
		"is it done yet?",
	} {
		k := newTalk(t)
		for i := range 48 {
			r := models.Reply{Key: words + time.Duration(i).String(), ReceivedAt: models.InstantOf(k.at.Add(time.Duration(i) * 10 * time.Minute)),
				Channel: models.ChannelSMS, From: ada, Text: words}
			require.NoError(t, k.p.Apply(t.Context(), r))
		}
		logs, err := k.st.Messages(t.Context(), store.MessageFilter{})
		require.NoError(t, err)
		var answered []models.Instant
		for _, l := range logs {
			if l.Message.Purpose == models.PurposeAnswer {
				answered = append(answered, l.Message.QueuedAt)
			}
		}
		assert.LessOrEqual(t, len(answered), 3, "in eight hours: %s", words)
		for i := 1; i < len(answered); i++ {
			assert.GreaterOrEqual(t, answered[i].Time().Sub(answered[i-1].Time()), time.Hour, words)
		}
	}
}

// A person who writes several things in a row is answered each time.
func TestAPersonWhoWritesSeveralThingsIsAnswered(t *testing.T) {
	k := newTalk(t)
	for _, words := range []string{"M1 2150 mi", "M1 215 hours", "M2 was changed today"} {
		before := len(k.answers())
		k.says(words)
		assert.Greater(t, len(k.answers()), before, words)
	}
}
