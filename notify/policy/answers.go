package policy

import (
	"time"

	"example.org/roundsman/models"
)

// Talk is what bears on whether somebody who wrote gets an answer by the
// program. The confirmations of STOP and START, and the answer to HELP, are not
// asked about here.
type Talk struct {
	At       models.Instant
	Answered []models.Instant // when the last answers to the sender were queued
	Did      bool             // something was recorded of what was written
	Asks     bool             // it could be read in part, or something is to be asked back
	Repeats  bool             // the sender has written the very same lately, as programs do
}

// bounds is how many answers a sender gets within an hour and within a day.
type bounds struct{ hour, day int }

// MayAnswer bounds the answers to one sender: a program that answers without
// saying so (RFC 3834, 2, asks it to say so, and us to answer it seldom) must
// not be talked with. What says nothing that could be read, or the same again,
// is answered once an hour and three times a day; a person who is asked back or
// whose words were recorded more often (common practice, no source).
func MayAnswer(t Talk) bool {
	most := bounds{1, 3}
	switch {
	case t.Repeats:
	case t.Did:
		most = bounds{10, models.MostAnswers}
	case t.Asks:
		most = bounds{3, 6}
	}
	within := func(d time.Duration) (n int) {
		for _, at := range t.Answered {
			if t.At.Time().Sub(at.Time()) < d {
				n++
			}
		}
		return n
	}
	return within(time.Hour) < most.hour && within(24*time.Hour) < most.day
}
