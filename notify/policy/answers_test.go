package policy

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// A sender who writes every ten minutes for a day, whatever we answer.
func TestAnswersToOneSenderAreBounded(t *testing.T) {
	for _, tt := range []struct {
		name      string
		talk      Talk
		hour, day int
	}{
		{"nothing that could be read", Talk{}, 1, 3},
		{"the same words again", Talk{Did: true, Asks: true, Repeats: true}, 1, 3},
		{"unclear words", Talk{Asks: true}, 3, 6},
		{"something to record each time", Talk{Did: true, Asks: true}, 6, 20},
	} {
		begun := models.InstantOf(time.Date(2026, 6, 10, 8, 0, 0, 0, time.UTC))
		talk, first := tt.talk, 0
		for i := range 6 * 24 {
			talk.At = begun.Add(time.Duration(i) * 10 * time.Minute)
			if !MayAnswer(talk) {
				continue
			}
			talk.Answered = append([]models.Instant{talk.At}, talk.Answered...)
			if i < 6 {
				first++
			}
		}
		assert.Equal(t, tt.hour, first, "%s: in the first hour", tt.name)
		assert.Len(t, talk.Answered, tt.day, "%s: in a day", tt.name)
	}
}
