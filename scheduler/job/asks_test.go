package job

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// steady is a machine that runs so many miles and hours every day.
type steady struct{ miles, hours float64 }

func (s steady) First(limits []usage.Limit, _ models.Date) usage.Crossing {
	var out usage.Crossing
	for _, l := range limits {
		rate := s.miles
		if l.Meter == models.HourMeter {
			rate = s.hours
		}
		if rate <= 0 {
			continue
		}
		on := day.AddDays(int(l.Target / rate))
		if out.IsZero() || on < out.Likely {
			out = usage.Crossing{Early: on, Likely: on, Late: on, Meter: l.Meter}
		}
	}
	return out
}

// counted is a scale on which meters showed 0 on day.
type counted struct{}

func (counted) Cumulative(_ models.Meter, _ models.Date, shown float64) (float64, bool) {
	return shown, true
}

func ownerCheck(from models.Date) models.Check {
	return models.Check{ID: "9", Job: "1", Turn: 1, Kind: models.CheckOwner, QuestionEN: "Is it right?",
		AfterDays: 7, AfterMiles: models.Num(50), AfterHours: models.Num(5), From: from, FromMiles: models.Num(0), FromHours: models.Num(0)}
}

func TestAskOnWhicheverComesFirst(t *testing.T) {
	c := ownerCheck(day)
	assert.Equal(t, day.AddDays(7), AskOn(c, steady{1, 0.1}, counted{}), "50 miles would take 50 days")
	assert.Equal(t, day.AddDays(2), AskOn(c, steady{25, 0.1}, counted{}), "by miles")
	assert.Equal(t, day.AddDays(5), AskOn(c, steady{1, 1}, counted{}), "by hours")
	assert.Equal(t, day.AddDays(1), AskOn(c, steady{500, 50}, counted{}), "never on the day of the hand-over")
	assert.Equal(t, day.AddDays(7), AskOn(c, nil, nil), "by days alone")
	c.AfterDays = 0
	assert.Equal(t, day.AddDays(50), AskOn(c, steady{1, 0.01}, counted{}))
	c.FromMiles, c.FromHours = models.Number{}, models.Number{}
	assert.Equal(t, day.AddDays(7), AskOn(c, steady{1, 0.1}, counted{}), "a check without any limit that can be reached is not forgotten")
	assert.Zero(t, AskOn(ownerCheck(0), nil, nil), "still at the shop")
	c.Kind = models.CheckBench
	assert.Zero(t, AskOn(c, nil, nil))
}

func asking(today models.Date, told []models.Notice, who ...models.Contact) AskInput {
	return AskInput{
		Owed: []models.OwedCheck{{AskedCheck: models.AskedCheck{Check: ownerCheck(day)},
			Job: models.Job{ID: "1", Complaint: "runs hot on hills"}, Machine: utv}},
		Use: steady{1, 0.1}, Scale: counted{}, Recipients: who, LanguageOf: english, Told: told, Today: today,
		DateOf: func(i models.Instant) models.Date { return models.DateOf(i.Time()) },
	}
}

var ada = models.Contact{ID: "C1", Owner: "O1", Language: "es"}

// send writes what was asked as told on a day.
func send(ns []models.Notice, on models.Date, withheld bool) []models.Notice {
	message := int64(1)
	for i := range ns {
		ns[i].DecidedAt = models.InstantOf(on.In(time.UTC)).Add(12 * time.Hour)
		if !withheld {
			ns[i].Message = &message
		}
	}
	return ns
}

func TestOwnerIsAskedAskedAgainAndThenRung(t *testing.T) {
	due := day.AddDays(7)
	a := OwnerAsks(asking(due.AddDays(-1), nil, ada))
	assert.Empty(t, a.Notices)
	assert.Equal(t, due, a.Next)

	a = OwnerAsks(asking(due, nil, ada))
	require.Len(t, a.Notices, 1)
	n := a.Notices[0]
	assert.Equal(t, models.Notice{Owner: "O1", Contact: "C1", Machine: "M1", Subject: models.SubjectCheck, Item: "9", Cycle: 1,
		Stage: models.StageDue, EarlyOn: due, DueOn: due, LateOn: due, Detail: "runs hot on hills", LastOn: day}, n)
	told := send(a.Notices, due, false)

	a = OwnerAsks(asking(due, told, ada))
	assert.Empty(t, a.Notices, "asked once")
	assert.Equal(t, due.AddDays(3), a.Next)
	assert.Empty(t, a.Ring)

	a = OwnerAsks(asking(due.AddDays(3), told, ada))
	require.Len(t, a.Notices, 1)
	assert.Equal(t, 1, a.Notices[0].Ordinal)
	told = append(told, send(a.Notices, due.AddDays(3), false)...)

	a = OwnerAsks(asking(due.AddDays(5), told, ada))
	assert.Empty(t, a.Notices)
	assert.Equal(t, due.AddDays(6), a.Next)
	a = OwnerAsks(asking(due.AddDays(6), told, ada))
	assert.Empty(t, a.Notices)
	require.Len(t, a.Ring, 1)
	assert.Equal(t, due.AddDays(6), a.Ring[0].Since)
	assert.Zero(t, a.Next)
}

func TestNobodyToAskMeansRinging(t *testing.T) {
	a := OwnerAsks(asking(day.AddDays(7), nil))
	require.Len(t, a.Ring, 1)
	assert.Equal(t, day.AddDays(7), a.Ring[0].Since)
	in := asking(day.AddDays(30), nil, ada)
	in.Owed[0].Answers = []models.CheckAnswer{{Result: models.CheckOK}}
	assert.Equal(t, Asking{}, OwnerAsks(in), "answered")
	in = asking(day.AddDays(30), nil, ada)
	in.Owed[0].Check.Kind = models.CheckBench
	assert.Equal(t, Asking{}, OwnerAsks(in), "the bench asks no owner")
}

func TestAWithheldAskIsTriedAgain(t *testing.T) {
	due := day.AddDays(7)
	told := send(OwnerAsks(asking(due, nil, ada)).Notices, due, true)
	a := OwnerAsks(asking(due.AddDays(1), told, ada))
	require.Len(t, a.Notices, 1)
	assert.Equal(t, 1, a.Notices[0].Ordinal, "the withheld one has taken 0")
}

// However the days are visited, no contact is asked more often than patience
// says, no key comes twice, and in the end somebody rings.
func TestAskingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		who := []models.Contact{ada, {ID: "C2", Owner: "O1"}}[:rapid.IntRange(1, 2).Draw(t, "contacts")]
		var told []models.Notice
		type key struct {
			contact string
			ordinal int
		}
		seen := map[key]bool{}
		today := day
		for range 60 {
			today = today.AddDays(rapid.IntRange(0, 4).Draw(t, "days"))
			a := OwnerAsks(asking(today, told, who...))
			for _, n := range a.Notices {
				k := key{n.Contact, n.Ordinal}
				if seen[k] {
					t.Fatalf("%v twice", k)
				}
				seen[k] = true
			}
			told = append(told, send(a.Notices, today, false)...)
			if b := OwnerAsks(asking(today, told, who...)); len(b.Notices) > 0 {
				t.Fatal("asked twice on one day")
			}
			if len(told) > 2*len(who) {
				t.Fatalf("%d asks", len(told))
			}
		}
		if today > day.AddDays(20) && len(OwnerAsks(asking(today, told, who...)).Ring) != 1 {
			t.Fatal("nobody rings")
		}
	})
}

func TestLapsed(t *testing.T) {
	job := func(state models.JobState, handed models.Date) models.WholeJob {
		return models.WholeJob{Job: models.Job{State: state, HandedOn: handed}}
	}
	old := job(models.JobHanded, day)
	assert.True(t, Lapsed(old, []models.WholeJob{old, job(models.JobHanded, day.AddDays(9))}))
	assert.False(t, Lapsed(old, []models.WholeJob{old, job(models.JobHanded, day), job(models.JobOpen, 0)}))
	assert.False(t, Lapsed(job(models.JobOpen, 0), []models.WholeJob{old}))
}

func TestAbout(t *testing.T) {
	assert.Equal(t, "runs hot", about(models.Job{Complaint: "runs hot", Correction: "x"}, "en"))
	assert.Equal(t, "new belt", about(models.Job{Correction: "new belt"}, "en"))
	assert.Equal(t, "trabajo 7", about(models.Job{ID: "7"}, "es-MX"))
	assert.Len(t, []rune(about(models.Job{Complaint: "a very long complaint that goes on and on and on"}, "en")), 40)
}

func TestAsOf(t *testing.T) {
	w := handedOver(t) // opened day, done day+1, answers at 100 s, handed over day+2
	w = must(t, w)(Reopen(w, Back{On: day.AddDays(9), Words: "back"}))
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{What: "new radiator"}))
	_, ok := AsOf(w, day.AddDays(-1), 0)
	assert.False(t, ok)
	v, ok := AsOf(w, day.AddDays(8), 1000)
	require.True(t, ok)
	assert.Equal(t, models.JobHanded, v.Job.State)
	assert.Equal(t, 1, v.Job.Turn)
	assert.Len(t, v.Lines, 1)
	v, _ = AsOf(w, day.AddDays(9), 1000)
	assert.Equal(t, models.JobReopened, v.Job.State)
	assert.Len(t, v.Lines, 2)

	once := handedOver(t)
	v, _ = AsOf(once, day.AddDays(1), 50)
	assert.Equal(t, models.JobDone, v.Job.State)
	assert.Len(t, OpenBench(v), 5, "the answers came later")
	v, _ = AsOf(once, day, 50)
	assert.Equal(t, models.JobOpen, v.Job.State)
	assert.Empty(t, v.Checks)
	assert.Empty(t, v.Job.Correction)
	v, _ = AsOf(once, day.AddDays(50), 100)
	assert.Equal(t, once, v)
}

func english(models.Contact) string { return "en" }
