package main

// planCmd gathers what has to do with the downtime plan.
type planCmd struct {
	Solve planSolveCmd `cmd:"" help:"Solve a planning problem from a file in the exchange format."`
}

func (planCmd) Help() string {
	return `Which machine stops on which day in which bay, what is done at each stop, and why.

Example:
  roundsman plan solve problem.json --out plan.json --budget 10s`
}
