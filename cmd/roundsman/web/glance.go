package web

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
)

// showGlance is how many lines each part of the round sheet's first screen has.
const showGlance = 4

// glance is the first screen of the round sheet: what a service desk wants to
// know before the door opens. Each part names the first few and counts all.
type glance struct {
	Late      []lateSlip // the longest overdue first
	LateAll   int
	Jobs      []jobSlip // those that came back first, then the oldest
	JobsAll   int
	Visits    []visitSlip
	VisitsAll int
}

// LateRest, JobsRest and VisitsRest count what is not shown.
func (g glance) LateRest() int   { return g.LateAll - len(g.Late) }
func (g glance) JobsRest() int   { return g.JobsAll - len(g.Jobs) }
func (g glance) VisitsRest() int { return g.VisitsAll - len(g.Visits) }

// What is to be answered on the first screen, at most: complaints that came
// back, answers, and messages that did not arrive.
const (
	glanceBack    = 2
	glanceReplies = 3
	glanceFailed  = 2
)

// Glimpse gives what is to be answered as far as the first screen names it.
func (p todayPage) Glimpse() todayPage {
	p.Back, p.Replies, p.Failed = p.Back[:min(len(p.Back), glanceBack)], p.Replies[:min(len(p.Replies), glanceReplies)], p.Failed[:min(len(p.Failed), glanceFailed)]
	return p
}

// DecideRest counts what is to be decided and not named there.
func (p todayPage) DecideRest() int {
	g := p.Glimpse()
	return p.Decide() - len(g.Back) - len(g.Replies) - len(g.Failed)
}

// lateSlip is a machine with what is late on it, the longest overdue first.
type lateSlip struct {
	models.FleetLine
	Items []string
}

// First gives the item that was due first, More how many others are late.
func (s lateSlip) First() string { return append(s.Items, "")[0] }
func (s lateSlip) More() int     { return max(0, len(s.Items)-1) }

// visitSlip is a visit of today.
type visitSlip struct {
	Visit   models.Visit
	Machine models.Machine
	Owner   models.Owner
}

// Brief gives the beginning of what somebody wrote.
func (g glance) Brief(text string) string {
	return models.Shorten(strings.Join(strings.Fields(text), " "), 60)
}

// glanceOf puts the first screen together from a page of the machines on which
// something is late and the jobs in hand.
func (rq *request) glanceOf(ctx context.Context, late models.FleetPage, inHand []jobSlip) (glance, error) {
	g := glance{LateAll: late.Stages[models.StageLate], JobsAll: len(inHand), Jobs: inHand[:min(len(inHand), showGlance)]}
	ids := make([]string, len(late.Lines))
	for i, l := range late.Lines {
		ids[i] = l.Machine.ID
	}
	fs, err := rq.site.store.Forecasts(ctx, ids)
	if err != nil {
		return g, err
	}
	slices.SortStableFunc(fs, func(a, b models.Forecast) int { return cmp.Compare(a.DueOn, b.DueOn) })
	items := map[string][]string{}
	for _, f := range fs {
		if f.Stage == models.StageLate {
			items[f.Machine] = append(items[f.Machine], f.Item)
		}
	}
	for _, l := range late.Lines {
		g.Late = append(g.Late, lateSlip{l, items[l.Machine.ID]})
	}
	visits, err := rq.site.store.VisitsOn(ctx, rq.today())
	if err != nil {
		return g, err
	}
	g.VisitsAll, visits = len(visits), visits[:min(len(visits), showGlance)]
	machines := make([]string, len(visits))
	for i, v := range visits {
		machines[i] = v.Machine
	}
	n, err := rq.names(ctx, machines, nil)
	if err != nil {
		return g, err
	}
	for _, v := range visits {
		m := n.machines[v.Machine]
		g.Visits = append(g.Visits, visitSlip{v, m, n.owners[m.Owner]})
	}
	return g, nil
}

// jobsInHand gives the jobs for which machines are at the shop, those that came
// back first.
func (rq *request) jobsInHand(ctx context.Context) ([]jobSlip, error) {
	jobs, err := rq.site.store.JobsInHand(ctx, nil, 200)
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(jobs))
	for i, w := range jobs {
		ids[i] = w.Job.Machine
	}
	n, err := rq.names(ctx, ids, nil)
	if err != nil {
		return nil, err
	}
	out := make([]jobSlip, len(jobs))
	for i, w := range jobs {
		m := n.machines[w.Job.Machine]
		out[i] = jobSlip{Job: w.Job, Machine: m, Owner: n.owners[m.Owner]}
		for _, k := range job.OpenBench(w) {
			out[i].Bench++
			if _, answered := k.Last(); answered {
				out[i].Bad++
			}
		}
	}
	return out, nil
}
