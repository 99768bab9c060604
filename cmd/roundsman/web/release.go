package web

import (
	"net/url"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// showHeld is how many machines the page of what is held back names.
const showHeld = 200

// releasePage names the machines that are held back, to be picked, with what
// their release would tell.
type releasePage struct {
	frame
	Held    scheduler.Held
	Rows    []heldRow
	All     int // machines that are meant by "all"
	Letters []scheduler.PreviewLetter
	Untold  int // notices that would not go even then
	Owner   models.Owner
}

// Rest counts the machines that are not named.
func (p releasePage) Rest() int { return p.All - len(p.Rows) }

// Action is where the page's form goes.
func (p releasePage) Action() string {
	if p.Owner.ID == "" {
		return "/release"
	}
	return "/release?owner=" + url.QueryEscape(p.Owner.ID)
}

// heldRow is a machine that is held back.
type heldRow struct {
	Machine models.Machine
	Owner   models.Owner
	First   []models.Notice // what would be told first
	More    int             // things that would be told besides
	Why     models.Reason   // why nothing would be told even then; "": nothing is due
}

func release(rq *request) error {
	p := releasePage{frame: rq.frame("Today")}
	p.Title, p.Path = p.T("Held back"), "/release"
	var err error
	if p.Held, err = rq.site.care.Held(rq.ctx()); err != nil {
		return err
	}
	owner := rq.r.URL.Query().Get("owner")
	machines, err := rq.heldBack(owner)
	if err != nil {
		return err
	}
	p.All, machines = len(machines), machines[:min(len(machines), showHeld)]
	would, err := rq.site.care.Preview(rq.ctx(), machines, rq.now)
	if err != nil {
		return err
	}
	p.Letters, p.Untold = would.Letters, len(would.Withheld)
	owners := []string{owner}
	for _, m := range machines {
		owners = append(owners, m.Owner)
	}
	n, err := rq.names(rq.ctx(), nil, owners)
	if err != nil {
		return err
	}
	p.Owner = n.owners[owner]
	for _, m := range machines {
		row := heldRow{Machine: m, Owner: n.owners[m.Owner]}
		row.First, row.More, row.Why = would.First(m.ID)
		p.Rows = append(p.Rows, row)
	}
	return rq.render("release", p)
}

// heldBack gives the machines in care of which a release would let people be
// told: those that are not released, or, where the shop as a whole is held
// back, those that are.
func (rq *request) heldBack(owner string) ([]models.Machine, error) {
	machines, err := rq.site.care.InCare(rq.ctx(), owner)
	if err != nil {
		return nil, err
	}
	said, err := rq.site.care.Releases(rq.ctx())
	if err != nil {
		return nil, err
	}
	shop := said[""].State == models.HeldBack
	return slices.DeleteFunc(machines, func(m models.Machine) bool { return (said[m.ID].State == models.Released) != shop }), nil
}

// changeRelease releases the machines that were ticked, or all that the page
// is about; it holds the shop back, or lets go of that.
func changeRelease(rq *request) error {
	hold, shop := rq.value("hold") == "yes", rq.value("shop") == "yes"
	state := models.Released
	if hold {
		state = models.HeldBack
	}
	var machines []models.Machine
	if !hold && !shop {
		var err error
		if machines, err = rq.heldBack(rq.r.URL.Query().Get("owner")); err != nil {
			return err
		}
		if rq.value("all") != "yes" {
			picked := rq.r.PostForm["machine"]
			machines = slices.DeleteFunc(machines, func(m models.Machine) bool { return !slices.Contains(picked, m.ID) })
			if len(picked) == 0 {
				return rq.again("release", models.Errorf(models.CodeInvalid, "tick the machines, or all of them", "no machine is ticked"), release)
			}
		}
	}
	if _, err := rq.site.care.Release(rq.ctx(), machines, hold || shop, state, "", rq.by()); err != nil {
		return err
	}
	labels := make([]string, len(machines))
	for i, m := range machines {
		labels[i] = m.ID
	}
	if err := rq.did("released machines", models.Shorten(strings.Join(labels, " "), 200), string(state)); err != nil {
		return err
	}
	return rq.to("/release", "care")
}

// sampleRelease fills every part of its page.
func sampleRelease(l string) any {
	rows := []heldRow{{Machine: sampleUnit, Owner: sampleOwned, First: sampleLetter().Tells[0].Items, More: 2}, {Machine: sampleUnit, Owner: sampleOwned, Why: models.ReasonNoConsent}}
	return releasePage{frame: sampleTried(l, "release"), Held: scheduler.Held{Machines: 3, Of: 9}, Untold: 2, Owner: sampleOwned, Rows: rows, All: 3,
		Letters: []scheduler.PreviewLetter{{Contact: samplePhone, Owner: sampleOwned, Words: models.Composed{Subject: "x", Text: "y"},
			MessageWithNotices: models.MessageWithNotices{Message: models.Message{Channel: models.ChannelMail, Address: "a@example.com", NotBefore: 1}}}}}
}
