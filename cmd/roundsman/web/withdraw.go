package web

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// shownFacts bounds the facts that a machine's page offers to take back at once.
const shownFacts = 30

// writtenDown fills in the part of the machine's facts that the address asks
// for.
func (rq *request) writtenDown(ctx context.Context, p *machinePage) error {
	part := func(n int) string { return fmt.Sprintf("%s?facts=%d#facts", p.Path, n) }
	n, err := strconv.Atoi(rq.r.URL.Query().Get("facts"))
	if err != nil || n < 1 || n > 10_000 {
		n = 1
	}
	facts, err := rq.site.store.FactsOf(ctx, p.M.ID, (n-1)*shownFacts, shownFacts+1)
	if err != nil {
		return err
	}
	if n > 1 {
		p.Newer = part(n - 1)
	}
	if len(facts) > shownFacts {
		facts, p.Older = facts[:shownFacts], part(n+1)
	}
	first := slices.IndexFunc(facts, func(f models.MachineFact) bool { return f.Sort == models.SortBaseline })
	if first < 0 {
		first = len(facts)
	}
	p.Facts, p.FirstWords = facts[:first], facts[first:]
	return nil
}

// TakeBack gives the address at which a fact of the page's machine is taken back.
func (p machinePage) TakeBack(f models.MachineFact) string {
	return fmt.Sprintf("%s/withdraw/%s/%d", p.Path, f.Sort, f.Row)
}

// FactWords says what a fact is.
func (p machinePage) FactWords(f models.MachineFact) string {
	words, title := f.Sort.In(p.Lang), f.Title(p.Lang)
	if title == "" {
		return words
	}
	return words + ": " + title
}

// takeForm is the form that takes a fact back, with what was typed before where
// it was refused.
type takeForm struct {
	Fact  models.MachineFact
	Typed string
	refusal
}

// Take gives an empty form for a fact.
func (p machinePage) Take(f models.MachineFact) takeForm { return takeForm{Fact: f} }

// withdraw takes back a fact of a machine that never was.
func withdraw(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	row, err := strconv.ParseInt(rq.r.PathValue("row"), 10, 64)
	if err != nil {
		return errNoPage
	}
	taken := models.Withdrawal{Sort: models.FactSort(rq.r.PathValue("sort")), Taken: row, By: rq.user.Name}
	if taken.Why, err = rq.text("why", 200); err == nil && taken.Why == "" {
		err = models.Errorf(models.CodeInvalid, "write why in a few words", "nothing says why it is taken back")
	}
	var f models.TakenFact
	if err == nil {
		f, err = rq.site.store.Withdraw(rq.ctx(), m.ID, taken, rq.entry("withdraw"))
	}
	if err != nil {
		return rq.takeRefused(m, taken, err)
	}
	if err := rq.did("took back a "+string(f.Sort), m.ID, f.Words(m)+": "+taken.Why); err != nil {
		return err
	}
	if kept := f.Kept(rq.lang); len(kept) > 0 {
		p, err := rq.machinePage(rq.ctx(), m)
		if err != nil {
			return err
		}
		p.Said = strings.Join(append([]string{p.T("It is taken back and counts nowhere any more.")}, kept...), " ")
		return rq.render("machine", p)
	}
	return rq.to("/machines/"+escape(m.ID), "withdrawn")
}

// takeRefused shows a machine with the form of a fact that was not taken back.
func (rq *request) takeRefused(m models.Machine, taken models.Withdrawal, refusal error) error {
	facts, err := rq.site.store.FactsOf(rq.ctx(), m.ID, 0, -1)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(facts, func(f models.MachineFact) bool { return f.Sort == taken.Sort && f.Row == taken.Taken })
	if i < 0 {
		return refusal
	}
	form := takeForm{Fact: facts[i], Typed: clip(rq.value("why"), 200)}
	if err := form.refused(refusal, rq.lang); err != nil {
		return err
	}
	p, err := rq.machinePage(rq.ctx(), m)
	if err != nil {
		return err
	}
	p.Taking = &form
	status, _, _ := statusOf(refusal, rq.lang)
	return rq.renderAs(status, "machine", p)
}
