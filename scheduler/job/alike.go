package job

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// Complaint is what is said about a machine, with the codes read off it.
type Complaint struct {
	Text  string
	Codes models.FaultCodes
}

// Earlier is an earlier job with the true distance at it, where that is known.
type Earlier struct {
	Whole models.WholeJob
	Miles models.Number // cumulative, in miles
}

// Match is an earlier job whose complaint a new one looks like.
type Match struct {
	Job        models.Job
	Score      float64 // 0.5 to 1
	Why        []string
	Days       int           // since the earlier work
	MilesSince models.Number // where both distances are known
}

// The window in which a like complaint may be a comeback: 12 months or 1,000
// miles, whichever is the longer.
const (
	windowMonths = 12
	windowMiles  = 1000
)

// Weights of words and codes, and the score from which a match is told. They
// were set by hand on invented pairs, which the tests hold.
const (
	weightSymptom = 2.0
	weightSystem  = 1.5
	weightOther   = 0.6
	otherFault    = 0.5 // times, where both name symptoms, or both name places, and share none
	outcomeShare  = 0.6 // of a match with what was found or done, beside the complaint itself
	sameCode      = 0.6 // added for the same trouble code
	codeFamily    = 0.3 // added for one of the same circuit or parameter
	tellFrom      = 0.5
)

// Alike gives the earlier jobs that a complaint looks like, the likest first:
// those within the window before a day and distance (cumulative miles) whose
// words or codes agree. Each says why.
func Alike(c Complaint, earlier []Earlier, on models.Date, miles models.Number) []Match {
	mine := Words(c.Text)
	var out []Match
	for _, e := range earlier {
		j := e.Whole.Job
		if j.State == models.JobWithdrawn || j.At() > on {
			continue
		}
		m := Match{Job: j, Days: j.At().DaysTo(on)}
		if miles.Known && e.Miles.Known {
			m.MilesSince = models.Num(max(0, miles.F-e.Miles.F))
		}
		near := m.MilesSince.Known && m.MilesSince.F <= windowMiles
		if !near && j.At() < calendar.AddMonths(on, -windowMonths) {
			continue
		}
		m.Score, m.Why = likeness(mine, c.Codes, e.Whole)
		if m.Score >= tellFrom {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b Match) int {
		return cmp.Or(cmp.Compare(b.Score, a.Score), cmp.Compare(a.Days, b.Days), cmp.Compare(a.Job.ID, b.Job.ID))
	})
	return out
}

// likeness scores a complaint against an earlier job from 0 to 1, with the
// reasons.
func likeness(mine []string, codes models.FaultCodes, w models.WholeJob) (float64, []string) {
	j := w.Job
	score, shared := similar(mine, Words(j.Complaint))
	var why []string
	if len(shared) > 0 {
		why = append(why, "both say "+strings.Join(shared, ", "))
	}
	outcome := j.Cause + " " + j.Correction
	for _, l := range LinesOf(w, 0) {
		outcome += " " + l.Title("")
	}
	if s, same := similar(mine, Words(outcome)); s*outcomeShare > score {
		score, why = s*outcomeShare, []string{"what was done then names " + strings.Join(same, ", ")}
	}
	add, reason := likeCodes(codes.List(), j.Codes.List())
	if add > 0 {
		score += add
		why = append(why, reason)
	}
	return math.Min(1, score), why
}

// similar gives the cosine of two sets of words, weighed by what they tell,
// and the words that they share.
func similar(a, b []string) (float64, []string) {
	var sum, na, nb float64
	var shared []string
	type tally struct{ a, b, both int }
	kinds := map[kind]tally{}
	for _, w := range a {
		g, k := weightOf(w)
		na += g
		t := kinds[k]
		t.a++
		if slices.Contains(b, w) {
			sum += g
			shared = append(shared, w)
			t.both++
		}
		kinds[k] = t
	}
	for _, w := range b {
		g, k := weightOf(w)
		nb += g
		t := kinds[k]
		t.b++
		kinds[k] = t
	}
	if sum == 0 {
		return 0, nil
	}
	score := sum / math.Sqrt(na*nb)
	for _, k := range []kind{symptom, system} {
		if t := kinds[k]; t.a > 0 && t.b > 0 && t.both == 0 {
			score *= otherFault
		}
	}
	return score, shared
}

// likeCodes compares trouble codes: the same one, or one of the same family,
// which are the first four places of SAE J2012 (P011x are the coolant
// temperature's circuits) or the parameter number of SAE J1939.
func likeCodes(a, b []string) (float64, string) {
	for _, x := range a {
		if slices.Contains(b, x) {
			return sameCode, "same code " + x
		}
	}
	for _, x := range a {
		for _, y := range b {
			if family(x) == family(y) {
				return codeFamily, "codes of one family, " + y + " and " + x
			}
		}
	}
	return 0, ""
}

func family(code string) string {
	if spn, _, ok := strings.Cut(code, " FMI "); ok {
		return spn
	}
	return code[:min(4, len(code))]
}
