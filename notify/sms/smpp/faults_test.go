package smpp_test

import (
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

// Many texts over links that are cut at random, with refusals for now and for
// good, throttling and answers out of order. What is said sent was taken; what
// is said refused was not; nothing is taken twice but after a doubt.
func TestFaults(t *testing.T) {
	t.Parallel() // it mostly waits
	n := 1500
	if testing.Short() {
		n = 500
	}
	chance := rand.New(rand.NewPCG(1, 2))
	var mu sync.Mutex
	draw := func(bound int) int {
		mu.Lock()
		defer mu.Unlock()
		return chance.IntN(bound)
	}
	center := smsctest.Start(t, smsctest.Plan{
		DropAfter: 97,
		Status: func(m smpp.Message) smpp.Status {
			switch p := draw(1000); {
			case p < 100:
				return smpp.StatusSystemError
			case p < 120:
				return smpp.StatusRejected
			case p < 125:
				return smpp.StatusThrottled
			}
			return smpp.StatusOK
		},
		Delay: func(smpp.Message) time.Duration { return time.Duration(draw(3)) * time.Millisecond },
	})
	c := run(t, config(center.Addr), &memory{})

	type fate struct {
		outcome models.Outcome
		doubts  int
	}
	fates := make([]fate, n)
	var next atomic.Int64
	var work sync.WaitGroup
	for range 10 {
		work.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				text := smpp.Text{Key: fmt.Sprint(i), To: phone, Body: fmt.Sprint("text ", i)}
				for range 100 { // the courier's tries, without its waits
					fates[i].outcome = c.Submit(t.Context(), text).Outcome
					if fates[i].outcome == models.OutcomeDoubt {
						fates[i].doubts++
					}
					if fates[i].outcome == models.OutcomeSent || fates[i].outcome == models.OutcomePermanent {
						break
					}
				}
			}
		})
	}
	work.Wait()

	taken := map[string]int{}
	for _, m := range center.Taken() {
		taken[gsm.Decode(m.Message.Short)]++
	}
	doubts, twice := 0, 0
	for i, f := range fates {
		times := taken[fmt.Sprint("text ", i)]
		doubts += f.doubts
		twice += max(0, times-1)
		assert.LessOrEqual(t, times, 1+f.doubts, "text %d taken %d times after %d doubts", i, times, f.doubts)
		switch f.outcome {
		case models.OutcomeSent:
			assert.GreaterOrEqual(t, times, 1, "text %d is said sent", i)
		case models.OutcomePermanent:
			assert.LessOrEqual(t, times, f.doubts, "text %d is said refused", i)
		default:
			t.Errorf("text %d has no end: %s", i, f.outcome)
		}
	}
	binds, _ := center.Counts()
	assert.Greater(t, binds, n/97/2, "links were cut")
	t.Logf("%d texts over %d links: %d doubts, %d taken twice, none lost", n, binds, doubts, twice)
}

// BenchmarkSubmit measures texts a second over one link, ten at a time.
func BenchmarkSubmit(b *testing.B) {
	center := smsctest.Start(b, smsctest.Plan{})
	c := start(b, config(center.Addr), &memory{})
	b.SetParallelism(5)
	b.ResetTimer()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			if r := c.Submit(b.Context(), smpp.Text{Key: "k", To: phone, Body: "R12 needs oil"}); r.Outcome != models.OutcomeSent {
				b.Error(r.Err)
			}
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "texts/s")
}
