// Package simplex solves linear programmes: make c·x as large as can be where
// A·x <= b and x >= 0. It is the revised simplex method with a dense inverse of
// the basis (Dantzig and Orchard-Hays 1954, "The product form for the inverse
// in the simplex method"; Lemke 1954 for the dual one), made for programmes
// with up to about a thousand rows to which columns and rows are added again
// and again: each solution begins where the last one ended.
//
// Right sides must not be negative, so that x = 0 is a solution and there is
// no first phase. They are widened by up to a millionth, each by another
// amount, since many vertices of packing programmes are one point otherwise
// (Charnes 1952, "Optimality and degeneracy in linear programming"); values and
// duals are those of the widened programme. All is done in one fixed order:
// the same programme gives the same solution.
package simplex

import "math"

// Entry is a coefficient of a column in a row.
type Entry struct {
	Row  int
	Coef float64
}

// LP is a linear programme and its present basis.
type LP struct {
	rhs    []float64 // widened
	cost   []float64
	cols   [][]Entry
	basis  []int // by row: the column in the basis; -1-r: the slack of row r
	inBase []bool
	barred []bool // by column: held at 0
	slack  []bool // by row: is its slack in the basis
	inv    [][]float64
	x      []float64 // by row: value of its basic column
	dual   []float64
	pivots int
	fresh  int // pivots since the inverse was made anew
	alpha  []float64
	full   []int32
}

// New makes a programme of rows with the given right sides, none below 0, and
// no columns.
func New(rhs []float64) *LP {
	p := &LP{}
	for _, b := range rhs {
		p.AddRow(b, nil)
	}
	return p
}

const (
	tiny    = 1e-9 // a pivot or a gain below it counts as none
	widest  = 1e-6 // of right sides
	renewal = 400  // pivots after which the inverse is made anew
)

// AddColumn adds a column at value 0 and gives its number.
func (p *LP) AddColumn(cost float64, entries []Entry) int {
	p.cols, p.cost, p.inBase = append(p.cols, entries), append(p.cost, cost), append(p.inBase, false)
	p.barred = append(p.barred, false)
	return len(p.cols) - 1
}

// Bar holds a column at 0 or lets it go again.
func (p *LP) Bar(col int, bar bool) { p.barred[col] = bar }

// AddRow adds a row; coef gives the coefficients of the columns that there are,
// nil for none. The present solution may break it until Solve is called.
func (p *LP) AddRow(rhs float64, coef func(col int) float64) int {
	r := len(p.rhs)
	// Another amount for each row: the golden section spreads them evenly.
	_, part := math.Modf(float64(r+1) * 0.6180339887498949)
	p.rhs = append(p.rhs, rhs+widest*(0.5+part/2))
	row := make([]float64, r+1, 2*(r+1))
	row[r] = 1
	for i := range p.inv {
		p.inv[i] = append(p.inv[i], 0)
	}
	if coef != nil {
		for j := range p.cols {
			if c := coef(j); c != 0 {
				p.cols[j] = append(p.cols[j], Entry{r, c})
			}
		}
		for i, j := range p.basis {
			if j < 0 {
				continue
			}
			if c := coef(j); c != 0 {
				for k, v := range p.inv[i] {
					row[k] -= c * v
				}
			}
		}
	}
	p.inv = append(p.inv, row)
	p.basis, p.slack = append(p.basis, -1-r), append(p.slack, true)
	value := 0.0
	for k, v := range row {
		value += v * p.rhs[k]
	}
	p.x, p.dual, p.alpha = append(p.x, value), append(p.dual, 0), append(p.alpha, 0)
	return r
}

// Solve goes to the best solution; false when most pivots did not suffice, or
// rounding kept it from going on. While broken rows are repaired the duals
// prove that no solution is above c·x: below floor that is enough, and Solve
// comes back early.
func (p *LP) Solve(most int, floor float64) bool {
	p.price()
	for end := p.pivots + most; p.pivots < end; {
		if p.fresh >= renewal {
			if !p.renew() {
				return false
			}
			p.price()
		}
		moved, ok := p.repair()
		if !ok {
			return false
		}
		if moved && p.Objective() < floor {
			p.price()
			return true
		}
		if !moved {
			if moved, ok = p.improve(); !ok || !moved {
				p.price()
				return ok
			}
		}
	}
	return false
}

// price works out the duals of the basis.
func (p *LP) price() {
	clear(p.dual)
	for i, j := range p.basis {
		if j < 0 || p.cost[j] == 0 {
			continue
		}
		c := p.cost[j]
		for k, v := range p.inv[i] {
			p.dual[k] += c * v
		}
	}
}

// ReducedCost gives what a column of some cost would gain at the duals.
func (p *LP) ReducedCost(cost float64, entries []Entry) float64 {
	for _, e := range entries {
		cost -= e.Coef * p.dual[e.Row]
	}
	return cost
}

func (p *LP) isBarred(col int) bool { return col >= 0 && p.barred[col] }

// repair takes a step of the dual simplex where a row is broken or a barred
// column is above 0.
func (p *LP) repair() (moved, ok bool) {
	out, least, sign := -1, -widest/10, 1.0
	for i, v := range p.x {
		if v < least {
			out, least, sign = i, v, 1
		} else if -v < least && p.isBarred(p.basis[i]) {
			out, least, sign = i, -v, -1
		}
	}
	if out < 0 {
		return false, true
	}
	row := p.inv[out]
	in, found, best, pivot, gain := 0, false, math.Inf(1), 0.0, 0.0
	try := func(j int, a, d float64) {
		if a >= -tiny || d > 1e-7 {
			return // what gains already is left to improve, lest the two undo each other
		}
		if ratio := min(d, 0) / a; ratio < best-tiny || (ratio < best+tiny && a < pivot) {
			in, found, best, pivot, gain = j, true, min(best, ratio), a, d
		}
	}
	for j, entries := range p.cols {
		if p.inBase[j] || p.barred[j] {
			continue
		}
		a := 0.0
		for _, e := range entries {
			a += row[e.Row] * e.Coef
		}
		try(j, sign*a, p.ReducedCost(p.cost[j], entries))
	}
	for r, basic := range p.slack {
		if !basic {
			try(-1-r, sign*row[r], min(0, -p.dual[r]))
		}
	}
	if !found {
		return false, false
	}
	p.pivot(out, in, gain)
	return true, true
}

// improve takes a step of the primal simplex: the column that gains most a
// unit comes in.
func (p *LP) improve() (moved, ok bool) {
	in, found, best := 0, false, 1e-7
	for j, entries := range p.cols {
		if p.inBase[j] || p.barred[j] {
			continue
		}
		if d := p.ReducedCost(p.cost[j], entries); d > best {
			in, found, best = j, true, d
		}
	}
	for r, basic := range p.slack {
		if !basic && -p.dual[r] > best {
			in, found, best = -1-r, true, -p.dual[r]
		}
	}
	if !found {
		return false, true
	}
	p.column(in)
	out, least := -1, math.Inf(1)
	for i, a := range p.alpha {
		if a < 0 && p.isBarred(p.basis[i]) {
			a = -a // it stays at 0
		}
		if a <= tiny {
			continue
		}
		if ratio := max(0, p.x[i]) / a; out < 0 || ratio < least-tiny || (ratio < least+tiny && a > math.Abs(p.alpha[out])) {
			out, least = i, min(least, ratio)
		}
	}
	if out < 0 {
		return false, false // no bound: a column without rows
	}
	p.pivot(out, in, best)
	return true, true
}

// column works out a column in terms of the basis.
func (p *LP) column(in int) {
	if in < 0 {
		for i := range p.inv {
			p.alpha[i] = p.inv[i][-1-in]
		}
		return
	}
	for i, row := range p.inv {
		a := 0.0
		for _, e := range p.cols[in] {
			a += row[e.Row] * e.Coef
		}
		p.alpha[i] = a
	}
}

// pivot brings a column into the basis at a row; gain is its reduced cost, by
// which the duals move along the row.
func (p *LP) pivot(out, in int, gain float64) {
	p.column(in)
	if j := p.basis[out]; j >= 0 {
		p.inBase[j] = false
	} else {
		p.slack[-1-j] = false
	}
	if p.basis[out] = in; in >= 0 {
		p.inBase[in] = true
	} else {
		p.slack[-1-in] = true
	}
	row := p.inv[out]
	scale := 1 / p.alpha[out]
	for k := range row {
		row[k] *= scale
	}
	p.x[out] *= scale
	for k, v := range row {
		p.dual[k] += gain * v
	}
	p.full = p.full[:0] // where the row is not 0: mostly few places
	for k, v := range row {
		if v != 0 {
			p.full = append(p.full, int32(k))
		}
	}
	for i, a := range p.alpha {
		if i == out || a == 0 {
			continue
		}
		to := p.inv[i]
		for _, k := range p.full {
			to[k] -= a * row[k]
		}
		p.x[i] -= a * p.x[out]
	}
	p.pivots++
	p.fresh++
}

// renew makes the inverse anew (Gauss and Jordan, with the largest pivot of
// each column), so that rounding does not add up; false when the basis has
// become singular.
func (p *LP) renew() bool {
	m := len(p.rhs)
	old := append([]int{}, p.basis...)
	for i := range m {
		clear(p.inv[i])
		p.inv[i][i] = 1
		p.basis[i] = -1 - i
	}
	free := make([]bool, m)
	for i := range free {
		free[i] = true
	}
	copy(p.x, p.rhs)
	for _, j := range old {
		if j < 0 {
			free[-1-j] = false
		}
	}
	pivots := p.pivots
	for _, j := range old {
		if j < 0 {
			continue
		}
		p.column(j)
		out := -1
		for i, ok := range free {
			if ok && (out < 0 || math.Abs(p.alpha[i]) > math.Abs(p.alpha[out])) {
				out = i
			}
		}
		if out < 0 || math.Abs(p.alpha[out]) < tiny {
			return false
		}
		free[out] = false
		p.pivot(out, j, 0)
	}
	p.pivots, p.fresh = pivots, 0
	return true
}
