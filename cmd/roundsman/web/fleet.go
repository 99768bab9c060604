package web

import (
	"net/url"
	"strconv"
	"unicode/utf8"

	"example.org/roundsman/models"
)

// Machines on a page of the fleet, and the widths of its strips in pixels.
const (
	pageSize   = 20
	wideStrip  = 980
	smallStrip = 350
)

// fleetPage is the data of a page of machines with their strips.
type fleetPage struct {
	frame
	Find       string
	Picked     models.Stage
	Owner      string
	OwnerName  string
	Rows       []fleetRow
	Total      int
	From, To   int // of the rows shown, from 1
	Stages     []stageCount
	All        int
	Prev, Next string // addresses; "": there is none
	Behind     bool   // some stages are those of the last round
}

// fleetRow is one machine.
type fleetRow struct {
	models.FleetLine
	Strip, Small strip
	Soon         []models.Forecast // what comes first, for who reads words
}

// stageCount is a stage with its number of machines and the address of the
// page that shows them.
type stageCount struct {
	Stage models.Stage
	N     int
	Path  string
	Here  bool
}

// fleet shows a page of machines.
func fleet(rq *request) error {
	q := rq.r.URL.Query()
	p := fleetPage{frame: rq.frame("Machines"), Find: clip(q.Get("find"), 80), Picked: stageNamed(q.Get("stage")), Owner: clip(q.Get("owner"), 200)}
	number, err := strconv.Atoi(q.Get("page"))
	if err != nil || number < 1 || number > 1_000_000 {
		number = 1
	}
	filter := models.FleetFilter{Owner: p.Owner, Stage: p.Picked, Find: p.Find, Limit: pageSize, Offset: (number - 1) * pageSize}
	page, err := rq.scope.page(rq.ctx(), filter)
	if err != nil {
		return err
	}
	if err := rq.fillRows(&p, page.Lines); err != nil {
		return err
	}
	p.Total, p.From, p.To, p.Behind = page.Total, filter.Offset+1, filter.Offset+len(p.Rows), page.Behind
	at := func(stage models.Stage, number int) string {
		v := url.Values{}
		for name, value := range map[string]string{"find": p.Find, "stage": string(stage), "owner": p.Owner} {
			if value != "" {
				v.Set(name, value)
			}
		}
		if number > 1 {
			v.Set("page", strconv.Itoa(number))
		}
		if len(v) == 0 {
			return "/fleet"
		}
		return "/fleet?" + v.Encode()
	}
	for _, s := range append([]models.Stage{""}, models.Stages()...) {
		n := page.Stages[s]
		if s == "" {
			for _, more := range page.Stages {
				p.All += more
			}
			n = p.All
		}
		p.Stages = append(p.Stages, stageCount{Stage: s, N: n, Path: at(s, 1), Here: s == p.Picked})
	}
	if number > 1 {
		p.Prev = at(p.Picked, number-1)
	}
	if p.To < p.Total {
		p.Next = at(p.Picked, number+1)
	}
	if p.Owner != "" && len(p.Rows) > 0 {
		p.OwnerName = p.Rows[0].Owner.Name
	}
	return rq.render("fleet", p)
}

// fillRows draws the strips of machines.
func (rq *request) fillRows(p *fleetPage, lines []models.FleetLine) error {
	ids := make([]string, len(lines))
	for i, l := range lines {
		ids[i] = l.Machine.ID
	}
	st, ctx := rq.site.store, rq.ctx()
	fs, err := st.Forecasts(ctx, ids)
	if err != nil {
		return err
	}
	visits, err := st.VisitsOf(ctx, ids, rq.today())
	if err != nil {
		return err
	}
	closures, err := st.ClosuresFrom(ctx, rq.today())
	if err != nil {
		return err
	}
	due := map[string][]models.Forecast{}
	for _, f := range fs {
		due[f.Machine] = append(due[f.Machine], f)
	}
	planned := map[string][]models.Visit{}
	for _, v := range visits {
		planned[v.Machine] = append(planned[v.Machine], v)
	}
	for _, l := range lines {
		in := stripOf{Forecasts: due[l.Machine.ID], Visits: planned[l.Machine.ID], Closures: touching(closures, l.Machine), Width: wideStrip}
		row := fleetRow{FleetLine: l, Strip: p.strip(in)}
		in.Width = smallStrip
		row.Small = p.strip(in)
		p.Rows = append(p.Rows, row)
	}
	return nil
}

// stageNamed gives the stage of a name, "" for any other word.
func stageNamed(s string) models.Stage {
	for _, v := range models.Stages() {
		if s == string(v) {
			return v
		}
	}
	return ""
}

// clip cuts a text of an address to at most n bytes of whole characters.
func clip(s string, n int) string {
	if len(s) > n {
		s = s[:n]
	}
	for !utf8.ValidString(s) {
		s = s[:len(s)-1]
	}
	return s
}
