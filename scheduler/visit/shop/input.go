package shop

import (
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/visit"
)

// Settings are the shop's choices about planning. Money is whole cents.
type Settings struct {
	OpenMin        [7]int // minutes each bay is open, Monday first; 0 is closed
	Bays           int    // bays while none are recorded
	Technicians    int    // people while none are recorded; each works as long as the bays are open
	LaborCents     int64  // one hour of work
	PartsCents     int64  // usual parts of one service that needs any
	TransportCents int64  // one visit, there and back, from a site without its own figure
	DowntimeCents  int64  // one day on which a machine is out of service
	LateCents      int64  // one day late of an ordinary item
	MoveCents      int64  // moving a visit that people were shown
}

// Input is all that a plan is made of.
type Input struct {
	Today models.Date // parts are ordered on it
	From  models.Date // first day of the plan, not before Today
	Days  int         // its length

	Machines     []models.Machine
	Forecasts    []models.Forecast // as of Today, with their stage
	Rules        func(models.Machine) []models.Rule
	Teardowns    []models.Teardown
	PlanningData models.PlanningData
	Holidays     calendar.Holidays // nil: none
	Settings     Settings
	Language     string // of the reasons
}

// Conflict is an agreed visit that cannot be kept, because of something
// recorded since.
type Conflict struct {
	Visit models.Visit
	Why   string
}

// Draft is a planning problem with all that is needed to explain its answer.
type Draft struct {
	Problem   visit.Problem
	Told      []visit.Notified
	Conflicts []Conflict
	Notes     []*models.Error // what of the closures and bays could not be used

	in       Input
	begin    models.Date // day 0 of the problem: From, or the first day of a visit still going on
	machines map[string]models.Machine
	items    map[string]*planItem     // by the problem's item id
	offers   map[string][]models.Rule // by machine: changes that may go with what is apart
	standing []models.Visit           // planned and agreed visits that the plan looks at
	agreed   map[string]models.Visit
	marks    []mark
}

// planItem is an item of the problem with where it comes from.
type planItem struct {
	at       int // its place in Problem.Items
	machine  string
	item     string
	forecast models.Forecast
	rule     models.Rule
	optional bool // it calls no machine in by itself
}

// mark is a span of days on which matching machines may not be out, or the
// shop is closed for a named reason.
type mark struct {
	from, to   int
	site, kind string
	shop       bool // the whole shop is closed
	note       string
}

// itemID names an item of a machine in the problem. Machine ids hold no
// control characters, so that no two pairs share a name.
func itemID(machine, item string) string { return machine + "\t" + item }

// siteOf gives the site from which a machine comes: its own, else its owner's
// place.
func siteOf(m models.Machine) string {
	if m.Site != "" {
		return m.Site
	}
	return m.Owner
}
