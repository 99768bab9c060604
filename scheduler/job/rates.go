package job

import (
	"cmp"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// z95 is the 97.5th percentile of the standard normal distribution.
const z95 = 1.959963984540054

// wilson gives the 95 % score interval of a proportion of k in n (n >= 1,
// 0 <= k <= n): E. B. Wilson, J. Amer. Stat. Assoc. 22 (1927) 209-212;
// Newcombe, Statistics in Medicine 17 (1998) 857-872, method 3. Without a
// trial it is 0 to 1.
func wilson(k, n int) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	p, m, z2 := float64(k)/float64(n), float64(n), z95*z95
	mid := p + z2/(2*m)
	half := z95 * math.Sqrt(p*(1-p)/m+z2/(4*m*m))
	low, high = (mid-half)/(1+z2/m), (mid+half)/(1+z2/m)
	if k == 0 { // exact, whatever rounding leaves
		low = 0
	}
	if k == n {
		high = 1
	}
	return low, high
}

// By is what comebacks are counted by.
type By string

// Ways of counting.
const (
	ByItem       By = "item"
	ByPart       By = "part"
	ByTechnician By = "technician"
)

// Rate is how often work of one item, part or technician came back.
type Rate struct {
	Name string  `json:"name"`
	Jobs int     `json:"jobs"` // turns of jobs whose outcome is known
	Back int     `json:"back"`
	Rate float64 `json:"rate"`
	Low  float64 `json:"low"` // 95 % interval
	High float64 `json:"high"`
}

// repair is the name under which repairs, which are no item, are counted.
const repair = "repair"

// heldDays is after how many days without news a repair counts as held
// (common practice, no source).
const heldDays = 30

// Rates counts how often work came back, the worst first: by the lower end of
// the interval, so that one comeback in one job does not lead. A turn of a
// job counts once its outcome is known: it came back (reopened, or named by a
// later job), its owner said that it held, or 30 days have gone by.
func Rates(jobs []models.WholeJob, by By, today models.Date) []Rate {
	again := map[string]bool{} // jobs that a later one names
	for _, w := range jobs {
		if w.Job.BackOf != "" && w.Job.State != models.JobWithdrawn {
			again[w.Job.BackOf] = true
		}
	}
	count := map[string]*Rate{}
	for _, w := range jobs {
		for turn := 1; turn <= w.Job.Turn; turn++ {
			back, known := outcome(w, turn, again[w.Job.ID], today)
			if !known {
				continue
			}
			for _, name := range namesIn(w, turn, by) {
				r := count[name]
				if r == nil {
					r = &Rate{Name: name}
					count[name] = r
				}
				r.Jobs++
				if back {
					r.Back++
				}
			}
		}
	}
	out := make([]Rate, 0, len(count))
	for _, r := range count {
		r.Rate = float64(r.Back) / float64(r.Jobs)
		r.Low, r.High = wilson(r.Back, r.Jobs)
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b Rate) int {
		return cmp.Or(cmp.Compare(b.Low, a.Low), cmp.Compare(b.Rate, a.Rate), cmp.Compare(b.Jobs, a.Jobs), cmp.Compare(a.Name, b.Name))
	})
	return out
}

// outcome says whether the work of a turn came back, where that is known.
func outcome(w models.WholeJob, turn int, again bool, today models.Date) (back, known bool) {
	j := w.Job
	switch {
	case j.State == models.JobWithdrawn:
		return false, false
	case turn < j.Turn:
		return true, true
	case j.State != models.JobHanded:
		return false, false
	case again:
		return true, true
	case j.HandedOn.DaysTo(today) >= heldDays:
		return false, true
	}
	for _, a := range w.Checks {
		if last, ok := a.Last(); ok && a.Check.Kind == models.CheckOwner && a.Check.Turn == turn && last.Result == models.CheckOK {
			return false, true
		}
	}
	return false, false
}

// namesIn gives what a turn counts for, each once.
func namesIn(w models.WholeJob, turn int, by By) []string {
	var out []string
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	if by == ByPart {
		for _, p := range PartsOf(w, turn) {
			if p.Number != "" {
				add(p.Number)
			} else {
				add(p.Name)
			}
		}
		return out
	}
	for _, l := range LinesOf(w, turn) {
		switch {
		case by == ByTechnician && l.By != "":
			add(l.By)
		case by == ByTechnician && turn == w.Job.Turn:
			add(w.Job.DoneBy)
		case by == ByItem && l.Item == "":
			add(repair)
		case by == ByItem:
			add(l.Item)
		}
	}
	return out
}
