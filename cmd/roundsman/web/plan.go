package web

import (
	"cmp"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit/shop"
)

// planPage is the data of the downtime plan.
type planPage struct {
	frame
	Working  bool // the plan of the present facts is being worked out
	Failed   bool
	Months   []planMonth
	Left     []shop.Left
	LeftAll  int
	Closures []models.Closure
	Sites    []string // that the viewer may close
	Kinds    []string
	Desk     bool
	Feed     string
	Cost     int64
	Gap      float64
	Optimal  bool
	Notes    []string
}

// planMonth is one month of the plan: its picture, and its stops.
type planMonth struct {
	Name    string
	First   models.Date
	Stops   []planStop
	Picture template.HTML
}

// planStop is a stop with what it is told by.
type planStop struct {
	shop.Stop
	Owner  models.Owner
	Agreed bool
}

// plan shows the downtime plan.
func plan(rq *request) error {
	p, err := rq.planPage()
	if err != nil {
		return err
	}
	if p.Working && p.Tried == "" { // nobody's words are taken from under them
		rq.w.Header().Set("Refresh", "3")
	}
	return rq.render("plan", p)
}

func (rq *request) planPage() (planPage, error) {
	p := planPage{frame: rq.frame("Downtime"), Desk: rq.user.Role == models.UserDesk}
	p.Path = "/plan"
	st, ctx := rq.site.store, rq.ctx()
	entry, err := st.LastEntry(ctx)
	if err != nil {
		return p, err
	}
	made, fresh, err := rq.site.plans.get(ctx, planKey{rq.today(), entry}, rq.now)
	if err != nil {
		rq.site.Log.Error("planning failed", "err", err)
		p.Failed = true
	}
	p.Working = !fresh && err == nil
	if p.Closures, err = st.ClosuresFrom(ctx, rq.today()); err != nil {
		return p, err
	}
	if err := rq.planChoices(&p); err != nil {
		return p, err
	}
	p.Feed = "/calendar/" + rq.site.links.feeds().Make(rq.scope.owner, models.InstantOf(rq.now.Truncate(24*time.Hour)))
	if rq.site.PublicURL != "" {
		p.Feed = strings.TrimSuffix(rq.site.PublicURL, "/") + p.Feed
	}
	if made == nil {
		return p, nil
	}
	if p.Desk {
		p.Cost, p.Gap, p.Optimal = made.Cost, made.Gap, made.Optimal
	}
	for _, n := range made.Notes {
		words, _ := n.In(p.Lang)
		p.Notes = append(p.Notes, words)
	}
	for _, s := range made.Stops {
		if rq.scope.sees(s.Machine) {
			p.add(s, made.Owners[s.Machine.Owner])
		}
	}
	for _, l := range made.Left {
		if rq.scope.sees(l.Machine) {
			if p.LeftAll++; len(p.Left) < 30 {
				p.Left = append(p.Left, l)
			}
		}
	}
	p.draw(made.Outcome, rq.scope.sees)
	return p, nil
}

// planChoices fills what the viewer may close: a manager the sites of the own
// machines and nothing else.
func (rq *request) planChoices(p *planPage) error {
	page, err := rq.scope.page(rq.ctx(), models.FleetFilter{Limit: 2000})
	if err != nil {
		return err
	}
	for _, l := range page.Lines {
		site := l.Machine.Site
		if site == "" {
			site = l.Machine.Owner
		}
		if !slices.Contains(p.Sites, site) {
			p.Sites = append(p.Sites, site)
		}
		if !slices.Contains(p.Kinds, l.Machine.Kind) {
			p.Kinds = append(p.Kinds, l.Machine.Kind)
		}
	}
	slices.Sort(p.Sites)
	slices.Sort(p.Kinds)
	p.Closures = slices.DeleteFunc(p.Closures, func(c models.Closure) bool {
		return !p.Desk && c.Sort != models.ClosureShop && !slices.Contains(p.Sites, c.Site)
	})
	return nil
}

// add puts a stop into its month.
func (p *planPage) add(s shop.Stop, o models.Owner) {
	first := s.On.FirstOfMonth()
	n := len(p.Months) - 1
	if n < 0 || p.Months[n].First != first {
		name := p.Month(first.Month()) + " " + strconv.Itoa(first.Year())
		p.Months = append(p.Months, planMonth{Name: name, First: first})
		n++
	}
	p.Months[n].Stops = append(p.Months[n].Stops, planStop{Stop: s, Owner: o, Agreed: s.Standing == shop.StandingAgreed})
}

// draw makes each month's picture of the stops that the viewer sees; how full
// the shop is, is the desk's to know.
func (p *planPage) draw(made shop.Outcome, sees func(models.Machine) bool) {
	owners := map[string]string{}
	for _, m := range p.Months {
		for _, s := range m.Stops {
			owners[s.Owner.ID] = s.Owner.Name
		}
	}
	made.Stops = slices.DeleteFunc(slices.Clone(made.Stops), func(s shop.Stop) bool { return !sees(s.Machine) })
	made.Off = slices.DeleteFunc(slices.Clone(made.Off), func(o shop.Off) bool { return !p.Desk && o.Site != "" && !slices.Contains(p.Sites, o.Site) })
	made.Days = slices.Clone(made.Days)
	for i := range made.Days {
		if !p.Desk {
			made.Days[i].Used = 0
		}
	}
	strip := picture.StripOf("", made, func(site string) string { return cmp.Or(owners[site], site) },
		func(s shop.Stop) string { return p.Items(models.JoinNames(s.ItemIDs())) })
	strip.Language = p.Lang
	for i, t := range strip.Tags {
		strip.Tags[i].Link = "#day-" + t.From.String()
	}
	for i, m := range p.Months {
		// The picture escapes every text in it.
		p.Months[i].Picture = template.HTML(strip.Month(m.First, m.Name))
	}
}

// Closure says what a closure closes.
func (f frame) Closure(c models.Closure) string { return f.closure(c) }

// changePlan agrees a visit, moves it, or drops it.
func changePlan(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.value("machine"))
	if err != nil {
		return err
	}
	on, err := rq.dateOr("on", 0)
	if err != nil {
		return err
	}
	span := rq.site.plans.span
	said := ""
	act := rq.r.PathValue("act")
	switch act {
	case "keep":
		_, err = rq.site.plans.planner.Keep(rq.ctx(), rq.now, m, on, span, rq.user.Name)
		said = "kept"
	case "move":
		var to models.Date
		if to, err = rq.dateOr("to", 0); err == nil && to == 0 {
			to, err = rq.dateOr("other", 0)
		}
		if err == nil && to == 0 {
			err = models.Errorf(models.CodeInvalid, "pick a day", "no day was picked")
		}
		if err == nil {
			_, err = rq.site.plans.planner.Move(rq.ctx(), rq.now, m, on, to, "", span, rq.user.Name)
		}
		said = "moved"
	case "drop":
		var why string
		if why, err = rq.text("why", 300); err == nil {
			_, err = rq.site.plans.planner.Drop(rq.ctx(), rq.now, m, on, why, rq.user.Name)
		}
		said = "off"
	default:
		return errNoPage
	}
	if models.CodeOf(err) == models.CodeNotFound { // the facts, and the plan with them, went on
		err = models.Errorf(models.CodeConflict, "look at it again", "the plan has changed: no such visit is in it any more")
	}
	if err != nil {
		return rq.again(act+" "+m.ID+" "+on.String(), err, plan)
	}
	rq.site.store.Wake()
	if err := rq.did("changed the plan: "+act, m.ID, rq.value("on")+" "+rq.value("to")); err != nil {
		return err
	}
	return rq.to("/plan", said)
}
