package web

import (
	"net/http"
	"slices"

	"example.org/roundsman/models"
)

// route is one address: who may use it and what it does.
type route struct {
	pattern string
	roles   []models.UserRole // nil: everybody, logged in or not
	do      func(*request) error
}

// Who may use an address.
var (
	anyone   []models.UserRole // also who is not logged in
	everyone = models.UserRoles()
	desk     = []models.UserRole{models.UserDesk}
	crew     = []models.UserRole{models.UserDesk, models.UserTechnician}
	planners = []models.UserRole{models.UserDesk, models.UserManager}
)

// routes lists every address of the pages.
var routes = []route{
	{"GET /static/{file}", anyone, static},
	{"GET /login", anyone, loginPage},
	{"POST /login", anyone, login},
	{"POST /logout", everyone, logout},
	{"GET /enter/{pass}", anyone, enterPage},
	{"POST /enter/{pass}", anyone, enter},
	{"POST /language", everyone, language},

	{"GET /{$}", everyone, home},
	{"GET /today", desk, today},
	{"POST /messages/{id}/{act}", desk, changeMessage},
	{"POST /calls", desk, recordCall},
	{"POST /replies/{id}", desk, markReply},
	{"POST /replies/{id}/undo", desk, undoReply},

	{"GET /fleet", everyone, fleet},
	{"GET /machines/{id}", everyone, machine},
	{"GET /machines/{id}/edit", desk, machineDesk},
	{"POST /machines/{id}/edit", desk, changeMachine},
	{"POST /machines/{id}/mistake", desk, machineMistake},
	{"GET /intake", desk, intake},
	{"POST /intake", desk, takeIn},
	{"GET /owners/{owner}", desk, ownerDesk},
	{"POST /owners/{owner}", desk, changeOwner},
	{"POST /owners/{owner}/contacts", desk, changeContact},
	{"POST /owners/{owner}/stop", desk, stopContact},
	{"POST /owners/{owner}/mistake", desk, ownerMistake},
	{"POST /machines/{id}/reading", everyone, enterReading},
	{"POST /machines/{id}/jobs", crew, openJob},
	{"POST /machines/{id}/withdraw/{sort}/{row}", crew, withdraw},
	{"GET /machines/{id}/care", desk, care},
	{"POST /machines/{id}/care/{act}", desk, changeCare},
	{"GET /release", desk, release},
	{"POST /release", desk, changeRelease},

	{"GET /shop", crew, shopFloor},
	{"GET /jobs/{id}", crew, jobPage},
	{"POST /jobs/{id}/{act}", crew, changeJob},
	{"POST /jobs/{id}/checks/{check}", crew, answerCheck},

	{"GET /machines/{id}/use.svg", everyone, chart},

	{"GET /plan", planners, plan},
	{"POST /plan/{act}", planners, changePlan},
	{"POST /closures", planners, addClosure},
	{"POST /closures/{id}/retire", planners, retireClosure},
	{"GET /calendar/{link}", anyone, calendarFeed},

	{"GET /rules", crew, rules},
	{"POST /rules", desk, saveRules},
	{"GET /settings", desk, settings},
	{"GET /trail", desk, trail},

	{"GET /o/{link}", anyone, ownerPage},
	{"POST /o/{link}/reading", anyone, ownerReading},
	{"POST /o/{link}/back", anyone, ownerBack},
	{"POST /o/{link}/day", anyone, ownerDay},
	{"GET /o/{link}/stop", anyone, ownerPage}, // where people open what mail programs post to (RFC 8058)
	{"POST /o/{link}/stop", anyone, ownerStop},
	{"POST /owners/{owner}/withdraw", desk, withdrawLinks},
}

// may says whether a role may use the route.
func (r route) may(role models.UserRole) bool { return slices.Contains(r.roles, role) }

// static serves an embedded file.
func static(rq *request) error {
	a, ok := rq.site.static[rq.r.PathValue("file")]
	if !ok {
		return errNoPage
	}
	h := rq.w.Header()
	h.Set("Content-Type", a.kind)
	h.Set("Cache-Control", "public, max-age=3600")
	h.Set("ETag", a.etag)
	if rq.r.Header.Get("If-None-Match") == a.etag {
		rq.w.WriteHeader(http.StatusNotModified)
		return nil
	}
	_, err := rq.w.Write(a.body)
	return err
}

// home leads everybody to where their day begins.
func home(rq *request) error {
	switch rq.user.Role {
	case models.UserDesk:
		return rq.to("/today", "")
	case models.UserTechnician:
		return rq.to("/shop", "")
	}
	return rq.to("/fleet", "")
}
