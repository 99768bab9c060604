package web

import (
	"example.org/roundsman/models"
	"slices"
	"strconv"
)

// addClosure records days on which machines cannot be spared, or the shop is
// closed.
func addClosure(rq *request) error {
	p := planPage{frame: rq.frame("Downtime"), Desk: rq.user.Role == models.UserDesk}
	if err := rq.planChoices(&p); err != nil {
		return err
	}
	c, err := rq.closureOf(p)
	if err != nil {
		return rq.again("closure", err, plan)
	}
	if _, err := rq.site.store.Record(rq.ctx(), models.FactSet{Closures: []models.Closure{c}}, rq.entry("plan page")); err != nil {
		return err
	}
	if err := rq.did("closed days", c.Site, p.closure(c)); err != nil {
		return err
	}
	return rq.to("/plan", "closure")
}

// closureOf reads the form of a closure. p says what the viewer may close.
func (rq *request) closureOf(p planPage) (c models.Closure, err error) {
	c = models.Closure{Sort: models.ClosureSort(rq.value("sort")), Site: clip(rq.value("site"), 200), Kind: clip(rq.value("kind"), 100)}
	if c.Note, err = rq.text("note", 120); err != nil {
		return c, err
	}
	if c.From, err = rq.dateOr("from", 0); err != nil {
		return c, err
	}
	if c.To, err = rq.dateOr("to", c.From); err != nil {
		return c, err
	}
	if c.From == 0 || c.To < c.From || c.From.DaysTo(c.To) > 400 {
		return c, models.Errorf(models.CodeInvalid, "give the first and the last day", "those are no days from one to another")
	}
	switch c.Sort {
	case models.ClosureBlack:
	case models.ClosureLimit:
		if c.MaxOut, err = strconv.Atoi(rq.value("most")); err != nil || c.MaxOut < 0 || c.MaxOut > 1000 {
			return c, models.Errorf(models.CodeInvalid, "write a whole number", "how many may be out at once?")
		}
	case models.ClosureShop:
		c.Site, c.Kind = "", ""
		if !p.Desk {
			return c, errNotYours
		}
	default:
		return c, models.Errorf(models.CodeInvalid, "pick one of the choices", "that closes nothing")
	}
	if !p.Desk && !slices.Contains(p.Sites, c.Site) {
		return c, errNotThere
	}
	return c, nil
}

// retireClosure takes a closure back.
func retireClosure(rq *request) error {
	p := planPage{frame: rq.frame("Downtime"), Desk: rq.user.Role == models.UserDesk}
	var err error
	if p.Closures, err = rq.site.store.ClosuresFrom(rq.ctx(), rq.today()); err != nil {
		return err
	}
	if err := rq.planChoices(&p); err != nil {
		return err
	}
	i := slices.IndexFunc(p.Closures, func(c models.Closure) bool { return c.ID == rq.r.PathValue("id") })
	if i < 0 || !p.Desk && p.Closures[i].Sort == models.ClosureShop {
		return errNotThere
	}
	c := p.Closures[i]
	c.Retired = true
	if _, err := rq.site.store.Record(rq.ctx(), models.FactSet{Closures: []models.Closure{c}}, rq.entry("plan page")); err != nil {
		return err
	}
	if err := rq.did("opened days again", c.ID, p.closure(c)); err != nil {
		return err
	}
	return rq.to("/plan", "closure")
}
