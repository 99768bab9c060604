package web

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// carePage is where the desk says how a machine stands, what was known of it at
// first, and whether its owner is told.
type carePage struct {
	frame
	M        models.Machine
	Standing models.MachineStanding
	Released bool
	ShopHeld bool
	Owners   []models.Owner // to whom it may be sold
	People   []deskForm     // whether each of the owner's people is written to, and that to be changed
	Lines    []scheduler.BaselineLine
}

// Where says where the machine stands.
func (p carePage) Where() string { return models.StandingWords(p.Standing, p.Lang) }

// Say says what is known of an item.
func (p carePage) Say(l scheduler.BaselineLine) string { return l.Words(p.Lang) }

// Has says whether the machine has a meter.
func (p carePage) Has(meter string) bool { return p.M.Meters.Has(models.Meter(meter)) }

func care(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	p, err := rq.carePage(m)
	if err != nil {
		return err
	}
	return rq.render("care", p)
}

func (rq *request) carePage(m models.Machine) (carePage, error) {
	p := carePage{frame: rq.frame("Machines"), M: m}
	p.Title, p.Path = m.Label(), carePath(m)
	standings, err := rq.site.care.Standings(rq.ctx())
	if err != nil {
		return p, err
	}
	releases, err := rq.site.care.Releases(rq.ctx())
	if err != nil {
		return p, err
	}
	p.Standing = standings[m.ID].AsOf(rq.today())
	p.Released, p.ShopHeld = releases[m.ID].State == models.Released, releases[""].State == models.HeldBack
	owners, err := rq.site.care.Owners(rq.ctx())
	if err != nil {
		return p, err
	}
	cs, err := rq.site.store.ContactsOf(rq.ctx(), []string{m.Owner})
	if err != nil {
		return p, err
	}
	for _, c := range cs {
		p.People = append(p.People, p.stopForm(c, p.Path))
	}
	p.Owners = slices.DeleteFunc(owners, func(o models.Owner) bool { return o.ID == m.Owner })
	p.Lines, err = rq.site.care.BaselineOf(rq.ctx(), m, rq.lang)
	return p, err
}

func carePath(m models.Machine) string { return "/machines/" + escape(m.ID) + "/care" }

// by says who acts with a page.
func (rq *request) by() scheduler.By {
	return scheduler.By{At: rq.now, Actor: rq.user.Name, Means: "page"}
}

// changeCare does one of the acts of the page.
func changeCare(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	what := ""
	switch rq.r.PathValue("act") {
	case "standing":
		what, err = rq.changeStanding(m)
	case "swap":
		what, err = rq.swapMeter(m)
	case "baseline":
		what, err = rq.sayBaseline(m)
	case "release":
		state := models.Released
		if rq.value("hold") == "yes" {
			state = models.HeldBack
		}
		what = string(state)
		_, err = rq.site.care.Release(rq.ctx(), []models.Machine{m}, false, state, "", rq.by())
	default:
		return errNoPage
	}
	if err != nil {
		return rq.again(rq.r.PathValue("act"), err, care)
	}
	if err := rq.did("changed where a machine stands", m.ID, rq.r.PathValue("act")+" "+what); err != nil {
		return err
	}
	return rq.to(carePath(m), "care")
}

func (rq *request) changeStanding(m models.Machine) (string, error) {
	s := scheduler.Standing{State: models.StandingState(rq.value("state"))}
	if !slices.Contains(models.StandingStates(), s.State) {
		return "", models.Errorf(models.CodeInvalid, "pick one of the choices", "that is no state of a machine")
	}
	var err error
	if s.On, err = rq.dateOr("on", 0); err != nil {
		return "", err
	}
	if s.State == models.StandsLaidUp {
		if s.Until, err = rq.dateOr("until", 0); err != nil {
			return "", err
		}
	}
	if s.State == models.StandsSold {
		s.To = rq.value("to")
		if s.ToNew, err = rq.text("to_new", 120); err != nil {
			return "", err
		}
	}
	if s.Note, err = rq.text("note", 200); err != nil {
		return "", err
	}
	_, err = rq.site.care.Change(rq.ctx(), m, s, rq.by())
	return string(s.State), err
}

func (rq *request) swapMeter(m models.Machine) (string, error) {
	on, err := rq.dateOr("on", 0)
	if err != nil {
		return "", err
	}
	s, err := rq.site.care.Swap(rq.ctx(), m, scheduler.MeterSwap{Meter: models.Meter(rq.value("meter")), On: on,
		Old: rq.value("old"), New: rq.value("new"), Sure: rq.value("sure") == "yes"}, rq.by())
	return string(s.Meter), err
}

// sayBaseline takes what was ticked of each item; what was left alone stays as
// it was.
func (rq *request) sayBaseline(m models.Machine) (string, error) {
	lines, err := rq.site.care.BaselineOf(rq.ctx(), m, rq.lang)
	if err != nil {
		return "", err
	}
	var said []models.Baseline
	var words []string
	for _, l := range lines {
		what := rq.value("said." + l.Item)
		if what == "done" {
			what = "done:" + rq.value("about."+l.Item)
		}
		if what == "" {
			continue
		}
		b, err := models.ParseBaseline(l.Item, what, m)
		if err != nil {
			return "", err
		}
		said = append(said, b)
		words = append(words, l.Item+"="+what)
	}
	if len(said) == 0 {
		return "", models.Errorf(models.CodeInvalid, "say something of an item at least", "nothing was ticked")
	}
	_, err = rq.site.care.Baseline(rq.ctx(), m, said, rq.value("sure") == "yes", rq.by())
	return strings.Join(words, " "), err
}

// sampleCare fills every part of its page.
func sampleCare(l string) any {
	return carePage{frame: sampleTried(l, "swap"), M: sampleUnit, Standing: models.MachineStanding{State: models.StandsLaidUp, Until: sampleDay, Note: "x", By: "Pat", On: sampleDay},
		People: []deskForm{sampleFrame(l).stopForm(samplePhone, "/x")}, Released: true, ShopHeld: true, Owners: []models.Owner{sampleOwned}, Lines: []scheduler.BaselineLine{{Item: models.ItemCoolant, Name: "coolant change"}}}
}
