package web

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// shownFacts bounds the facts that a machine's page offers to take back.
const shownFacts = 20

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
	why := clip(strings.TrimSpace(rq.value("why")), 200)
	if why == "" {
		return models.Errorf(models.CodeInvalid, "write why in a few words", "nothing says why it is taken back")
	}
	f, err := rq.site.store.Withdraw(rq.ctx(), m.ID,
		models.Withdrawal{Sort: models.FactSort(rq.r.PathValue("sort")), Taken: row, Why: why, By: rq.user.Name}, rq.entry("withdraw"))
	if err != nil {
		return err
	}
	if err := rq.did("took back a "+string(f.Sort), m.ID, f.Words(m)+": "+why); err != nil {
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
