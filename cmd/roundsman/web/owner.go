package web

import (
	"cmp"
	"net/http"
	"strconv"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
)

// ownerView is the data of the page behind an owner's link.
type ownerView struct {
	frame
	Link    string
	Contact models.Contact
	Owner   models.Owner
	Tel     string
	Find    string
	Rows    []ownerRow
	More    int // machines that are not shown
	Stopped bool
	Ending  bool // it was opened to stop messages
}

// ownerRow is one of the owner's machines.
type ownerRow struct {
	fleetRow
	Form  readingForm
	Visit *models.Visit // the next one; nil: none
	Days  []models.Date // other days that could be had
}

// Form gives the form for a reading of one row.
func (v ownerView) Form(r ownerRow) readingForm {
	f := r.Form
	f.Machine = r.Machine.ID
	return f
}

// ownerShows is how many machines the page behind a link shows at once.
const ownerShows = 30

// linkContact gives the contact whom a link was given. Links that are altered,
// expired, withdrawn or made up are refused in the same words.
func (rq *request) linkContact() (models.Contact, error) {
	from := network(rq.address())
	if rq.site.openings.full(from, rq.now) {
		return models.Contact{}, errTooMany
	}
	bad := func() (models.Contact, error) {
		rq.site.openings.count(from, rq.now)
		return models.Contact{}, errDeadLink
	}
	id, given, ok := rq.site.links.Read(rq.r.PathValue("link"), rq.instant())
	if !ok {
		return bad()
	}
	until, err := rq.site.store.LinksWithdrawn(rq.ctx(), id)
	if err != nil {
		return models.Contact{}, err
	}
	if given <= until {
		return bad()
	}
	c, ok, err := rq.site.store.Contact(rq.ctx(), id)
	if err != nil {
		return models.Contact{}, err
	}
	if !ok || c.Owner == "" {
		return bad()
	}
	// From here on the viewer is this owner's contact and nobody else, whoever
	// may be logged in in the same browser.
	rq.user, rq.token = models.User{}, ""
	rq.scope = scope{store: rq.site.store, country: rq.site.Country, owner: c.Owner}
	k, err := rq.names(rq.ctx(), nil, []string{c.Owner})
	if err != nil {
		return models.Contact{}, err
	}
	rq.lang = policy.Settings{Language: rq.site.Language}.LanguageOf(c, k.owners[c.Owner])
	if models.Spanish(rq.lang) {
		rq.lang = "es"
	} else {
		rq.lang = "en"
	}
	return c, nil
}

// ownerPage shows an owner's machines. It changes nothing: mail scanners open
// links too.
func ownerPage(rq *request) error {
	c, err := rq.linkContact()
	if err != nil {
		return err
	}
	v, err := rq.ownerView(c)
	if err != nil {
		return err
	}
	return rq.render("owner", v)
}

func (rq *request) ownerView(c models.Contact) (ownerView, error) {
	v := ownerView{frame: rq.frame("Your machines"), Link: rq.r.PathValue("link"), Contact: c, Tel: rq.site.Phone,
		Ending: strings.HasSuffix(rq.r.URL.Path, "/stop"),
		Find:   clip(rq.r.URL.Query().Get("find"), 80)}
	k, err := rq.names(rq.ctx(), nil, []string{c.Owner})
	if err != nil {
		return v, err
	}
	v.Owner = k.owners[c.Owner]
	page, err := rq.scope.page(rq.ctx(), models.FleetFilter{Find: v.Find, Limit: ownerShows})
	if err != nil {
		return v, err
	}
	v.More = page.Total - len(page.Lines)
	shown := fleetPage{frame: v.frame}
	if err := rq.fillRows(&shown, page.Lines); err != nil {
		return v, err
	}
	ids := make([]string, len(page.Lines))
	for i, l := range page.Lines {
		ids[i] = l.Machine.ID
	}
	visits, err := rq.site.store.VisitsOf(rq.ctx(), ids, rq.today())
	if err != nil {
		return v, err
	}
	next := map[string]*models.Visit{}
	for i, w := range visits {
		if w.Stands() && next[w.Machine] == nil {
			next[w.Machine] = &visits[i]
		}
	}
	for _, r := range shown.Rows {
		m := r.Machine
		v.Rows = append(v.Rows, ownerRow{fleetRow: r, Form: formFor(m, "/o/"+v.Link+"/reading", rq.today()),
			Visit: next[m.ID], Days: rq.site.plans.days(m.ID, rq.today())})
	}
	_, mailStop := c.Consent(models.ChannelMail)
	_, smsStop := c.Consent(models.ChannelSMS)
	v.Stopped = (c.Mail == "" || mailStop != 0) && (c.Mobile == "" || smsStop != 0)
	return v, nil
}

// linked gives the contact of a link and the machine that the form names.
func (rq *request) linked() (models.Contact, models.Machine, error) {
	c, err := rq.linkContact()
	if err != nil {
		return c, models.Machine{}, err
	}
	m, err := rq.scope.machine(rq.ctx(), rq.value("machine"))
	return c, m, err
}

// ownerReading takes a reading from an owner.
func ownerReading(rq *request) error {
	c, m, err := rq.linked()
	if err != nil {
		return err
	}
	by := models.Entry{RecordedAt: rq.instant(), Actor: c.ID, Means: "link", Note: "reading"}
	form, said, err := rq.takeReading(m, formFor(m, "/o/"+rq.r.PathValue("link")+"/reading", rq.today()), sourceOwner, by)
	if err != nil {
		return err
	}
	if said == "" {
		v, err := rq.ownerView(c)
		if err != nil {
			return err
		}
		for i := range v.Rows {
			if v.Rows[i].Machine.ID == m.ID {
				v.Rows[i].Form = form
			}
		}
		return rq.renderAs(http.StatusUnprocessableEntity, "owner", v)
	}
	if err := rq.trace(c.Name, "entered a reading by link", m.ID, form.Shown[0]+" "+form.Shown[1]); err != nil {
		return err
	}
	return rq.to("/o/"+rq.r.PathValue("link"), "thanks")
}

// say hands what the contact of a link says to the one place that acts on what
// owners say.
func (rq *request) say(c models.Contact, text string, stops []models.Channel, act inbox.Act) error {
	ch := models.ChannelMail
	if c.Mail == "" {
		ch = models.ChannelSMS
	}
	secret, _ := NewSecret()
	act.Words = text
	_, err := rq.site.owners.Act(rq.ctx(), scheduler.Said{
		Reply: models.Reply{Key: "link/" + secret[:16], ReceivedAt: rq.instant(), Channel: ch, From: c.Address(ch), Text: text, Contact: c.ID},
		Acts:  []inbox.Act{act}, Stops: stops, Actor: c.ID, Means: "link",
	})
	if err != nil {
		return err
	}
	rq.site.store.Wake()
	return nil
}

// ownerBack takes the news that a complaint came back. Where the owner is asked
// about a repair of that machine, it is the answer and reopens the job.
func ownerBack(rq *request) error {
	c, m, err := rq.linked()
	if err != nil {
		return err
	}
	text, err := rq.text("words", 500)
	if err != nil {
		return rq.again("back "+m.ID, err, ownerPage)
	}
	if err := rq.say(c, cmp.Or(text, "it's back"), nil, inbox.Act{Kind: inbox.KindComeback, Machine: m.ID}); err != nil {
		return err
	}
	if err := rq.trace(c.Name, "said by link that it is back", m.ID, text); err != nil {
		return err
	}
	return rq.to("/o/"+rq.r.PathValue("link"), "back")
}

// ownerDay takes the day on which an owner would bring a machine. The shop
// confirms it.
func ownerDay(rq *request) error {
	c, m, err := rq.linked()
	if err != nil {
		return err
	}
	day, err := rq.dateOr("day", 0)
	if err == nil && (day < rq.today() || day > rq.today().AddDays(400)) {
		err = models.Errorf(models.CodeInvalid, "pick one of the days", "no day was picked")
	}
	if err != nil {
		return rq.again("day "+m.ID, err, ownerPage)
	}
	if err := rq.say(c, day.String(), nil, inbox.Act{Kind: inbox.KindDay, Machine: m.ID, On: day}); err != nil {
		return err
	}
	if err := rq.trace(c.Name, "picked a day by link", m.ID, day.String()); err != nil {
		return err
	}
	return rq.to("/o/"+rq.r.PathValue("link"), "day")
}

// ownerStop ends messages to the contact: all, or mail alone where a mail
// program asks for it with one POST (RFC 8058, 3.2), which is answered without
// leading on.
func ownerStop(rq *request) error {
	c, err := rq.linkContact()
	if err != nil {
		return err
	}
	stops := models.Channels()
	oneClick := rq.r.PostFormValue("List-Unsubscribe") == "One-Click"
	if oneClick {
		stops = []models.Channel{models.ChannelMail}
	}
	if err := rq.say(c, "STOP (by the link)", stops, inbox.Act{Kind: inbox.KindStop}); err != nil {
		return err
	}
	if err := rq.trace(c.Name, "stopped messages by link", c.ID, ""); err != nil {
		return err
	}
	if !oneClick {
		return rq.to("/o/"+rq.r.PathValue("link"), "stopped")
	}
	v, err := rq.ownerView(c)
	if err != nil {
		return err
	}
	v.Said = v.T("You get no more messages from us.")
	return rq.render("owner", v)
}

// withdrawLinks makes the links of an owner's contacts count no more.
func withdrawLinks(rq *request) error {
	owner := rq.r.PathValue("owner")
	cs, err := rq.site.store.ContactsOf(rq.ctx(), []string{owner})
	if err != nil {
		return err
	}
	for _, c := range cs {
		if err := rq.site.store.WithdrawLinks(rq.ctx(), c.ID, rq.instant(), rq.user.Name); err != nil {
			return err
		}
	}
	if err := rq.did("withdrew links", owner, strconv.Itoa(len(cs))); err != nil {
		return err
	}
	return rq.to(ownPath(rq.value("next")), "withdrew")
}
