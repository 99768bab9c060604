package web

import (
	"strconv"

	"example.org/roundsman/models"
)

// settingsPage is the data of the settings.
type settingsPage struct {
	frame
	Settings []Setting
	Users    []models.User
	Owners   map[string]string
}

// settings shows the settings in force with where each comes from, and who may
// log in. They are changed in the file, and with the program's own commands.
func settings(rq *request) error {
	p := settingsPage{frame: rq.frame("Settings"), Settings: rq.site.Settings, Owners: map[string]string{}}
	var err error
	if p.Users, err = rq.site.store.Users(rq.ctx()); err != nil {
		return err
	}
	var ids []string
	for _, u := range p.Users {
		if u.Owner != "" {
			ids = append(ids, u.Owner)
		}
	}
	k, err := rq.names(rq.ctx(), nil, ids)
	if err != nil {
		return err
	}
	for id, o := range k.owners {
		p.Owners[id] = o.Name
	}
	return rq.render("settings", p)
}

// trailPage is the data of the audit trail.
type trailPage struct {
	frame
	Traces []models.AuditEntry
	Older  int64 // to begin the next page before; 0: there is none
}

const traceLines = 60

// trail shows who did what.
func trail(rq *request) error {
	before, err := strconv.ParseInt(rq.r.URL.Query().Get("before"), 10, 64)
	if err != nil {
		before = 0
	}
	p := trailPage{frame: rq.frame("Who did what")}
	if p.Traces, err = rq.site.store.Traces(rq.ctx(), before, traceLines); err != nil {
		return err
	}
	if len(p.Traces) == traceLines {
		p.Older = p.Traces[traceLines-1].ID
	}
	return rq.render("trail", p)
}
