// Package visit plans downtime: which machine stops on which day in which
// bay, and which service items are done at each stop.
//
// Items that share a teardown are done together, the capacity of bays and
// technicians and the limits on machines out of service are never exceeded,
// and the cost is made as small as the budget allows. Every plan comes with a
// lower bound on the cost of any plan, which can be recomputed from stored
// prices (see Bound), so that the gap printed beside a plan is honest.
//
// Times of work are whole minutes, money whole cents, dates whole day numbers
// (0 is the first day of the horizon). The package is pure: no clock, no
// goroutine, no global randomness. The caller says when the budget is spent
// and how to run things side by side, and neither changes the result of a
// given seed and number of steps.
package visit
