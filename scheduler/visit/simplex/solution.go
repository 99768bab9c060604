package simplex

import "slices"

// Try gives c·x after at most some pivots from here with further columns barred,
// and leaves the programme as it is: where the bars break the solution, no
// solution is above that.
func (p *LP) Try(barred []int, pivots int, floor float64) float64 {
	q := *p
	q.basis, q.inBase, q.barred = slices.Clone(p.basis), slices.Clone(p.inBase), slices.Clone(p.barred)
	q.slack, q.x, q.dual, q.alpha = slices.Clone(p.slack), slices.Clone(p.x), slices.Clone(p.dual), slices.Clone(p.alpha)
	q.full = nil
	q.inv = make([][]float64, len(p.inv))
	flat := make([]float64, len(p.inv)*len(p.inv))
	for i := range p.inv {
		q.inv[i] = flat[i*len(p.inv) : (i+1)*len(p.inv)]
		copy(q.inv[i], p.inv[i])
	}
	for _, j := range barred {
		q.barred[j] = true
	}
	q.Solve(pivots, floor)
	return q.Objective()
}

// Column gives the coefficients of a column.
func (p *LP) Column(col int) []Entry { return p.cols[col] }

// Duals gives the price of each row at the last solution.
func (p *LP) Duals() []float64 { return p.dual }

// Values writes the value of each column.
func (p *LP) Values() []float64 {
	x := make([]float64, len(p.cols))
	for i, j := range p.basis {
		if j >= 0 {
			x[j] = max(0, p.x[i])
		}
	}
	return x
}

// Objective gives c·x.
func (p *LP) Objective() float64 {
	sum := 0.0
	for i, j := range p.basis {
		if j >= 0 {
			sum += p.cost[j] * p.x[i]
		}
	}
	return sum
}
