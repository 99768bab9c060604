package models

import (
	"slices"
	"strings"
)

// Names is a list of ids as one text, parted by ", ": "coolant, hoses".
type Names string

// JoinNames makes a list of ids, each once, in the order given.
func JoinNames(ids []string) Names {
	var out []string
	for _, id := range ids {
		if id = strings.TrimSpace(id); id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return Names(strings.Join(out, ", "))
}

// List gives the ids one by one.
func (n Names) List() []string {
	if n == "" {
		return nil
	}
	return strings.Split(string(n), ", ")
}

// Has says whether the list holds an id.
func (n Names) Has(id string) bool { return slices.Contains(n.List(), id) }

// Site is a place where machines are kept and from which they come to the
// shop. A machine without a site is kept at its owner's own place, whose id as
// a site is the owner's.
type Site struct {
	Fact
	ID             string `gorm:"column:site"` // as machines name it
	Name           string `gorm:"column:name"`
	TransportCents Number `gorm:"column:transport_cents"` // there and back, for one visit; not known: the shop's usual figure
	Retired        bool   `gorm:"column:retired"`
}

// TableName names the table.
func (Site) TableName() string { return "sites" }

// Bay is a place in the shop where one machine at a time is worked on.
type Bay struct {
	Fact
	ID      string `gorm:"column:bay"`
	Name    string `gorm:"column:name"`
	Kinds   Names  `gorm:"column:kinds"` // kinds of machine that it takes; "" takes every kind
	Retired bool   `gorm:"column:retired"`
}

// TableName names the table.
func (Bay) TableName() string { return "bays" }

// Technician is somebody who works on machines, with the minutes of each
// weekday on which that person does.
type Technician struct {
	Fact
	ID      string `gorm:"column:technician"`
	Name    string `gorm:"column:name"`
	Mon     int    `gorm:"column:mon"` // minutes, 0..1440
	Tue     int    `gorm:"column:tue"`
	Wed     int    `gorm:"column:wed"`
	Thu     int    `gorm:"column:thu"`
	Fri     int    `gorm:"column:fri"`
	Sat     int    `gorm:"column:sat"`
	Sun     int    `gorm:"column:sun"`
	Retired bool   `gorm:"column:retired"`
}

// TableName names the table.
func (Technician) TableName() string { return "technicians" }

// Week gives the minutes of each weekday, Monday first.
func (t Technician) Week() [7]int {
	return [7]int{t.Mon, t.Tue, t.Wed, t.Thu, t.Fri, t.Sat, t.Sun}
}

// ClosureSort says what a closure closes.
type ClosureSort string

// Sorts of closures.
const (
	ClosureShop  ClosureSort = "closed"   // the shop is closed
	ClosureBlack ClosureSort = "blackout" // no matching machine may be out of service
	ClosureLimit ClosureSort = "limit"    // at most MaxOut matching machines may be out at once
	ClosureAway  ClosureSort = "away"     // a technician is away
)

// ClosureSorts lists every sort.
func ClosureSorts() []ClosureSort {
	return []ClosureSort{ClosureShop, ClosureBlack, ClosureLimit, ClosureAway}
}

// Closure bounds what may be planned on the days From..To: the shop is closed,
// machines cannot be spared, or a technician is away.
type Closure struct {
	Fact
	ID         string      `gorm:"column:closure"` // "": numbered by the store
	Sort       ClosureSort `gorm:"column:sort"`
	From       Date        `gorm:"column:from_on"`
	To         Date        `gorm:"column:to_on"`
	Site       string      `gorm:"column:site"`       // blackouts and limits: "" matches every site
	Kind       string      `gorm:"column:kind"`       // blackouts and limits: "" matches every kind
	MaxOut     int         `gorm:"column:max_out"`    // limits
	Technician string      `gorm:"column:technician"` // away
	Note       string      `gorm:"column:note"`       // why, for people: "hunting season"
	Retired    bool        `gorm:"column:retired"`
}

// TableName names the table.
func (Closure) TableName() string { return "closures" }

// VisitState says how far a visit is agreed.
type VisitState string

// States of a visit.
const (
	VisitPlanned VisitState = "planned" // people were shown the day; it may still move, at a price
	VisitAgreed  VisitState = "agreed"  // the owner was told; it does not move by itself
	VisitDropped VisitState = "dropped" // it will not be
)

// VisitStates lists every state.
func VisitStates() []VisitState { return []VisitState{VisitPlanned, VisitAgreed, VisitDropped} }

// Visit is one planned stop of a machine at the shop. Its history is its
// versions; Sequence grows with each version that changes what stands in
// people's calendars (RFC 5545, 3.8.7.4), and UID never changes.
type Visit struct {
	Fact
	ID       string     `gorm:"column:visit"` // "": numbered by the store
	UID      string     `gorm:"column:uid"`   // of its calendar entry, unique in the world
	Sequence int        `gorm:"column:sequence"`
	Machine  string     `gorm:"column:machine"`
	State    VisitState `gorm:"column:state"`
	On       Date       `gorm:"column:on_day"`   // its first day
	Until    Date       `gorm:"column:until_on"` // its last day
	Bay      string     `gorm:"column:bay"`
	Items    Names      `gorm:"column:items"`
	Minutes  int        `gorm:"column:minutes"` // of work, teardowns included
	WasOn    Date       `gorm:"column:was_on"`  // the day before the last move; none: never moved
	Why      string     `gorm:"column:why"`     // why this day, or why it was dropped, in words
	ByHand   bool       `gorm:"column:by_hand"` // a person chose the day
}

// TableName names the table.
func (Visit) TableName() string { return "visits" }

// Stands says whether the visit is to be.
func (v Visit) Stands() bool { return v.State == VisitPlanned || v.State == VisitAgreed }

// PlanningData is what visits are planned on: the latest versions of everything that
// opens, closes and limits.
type PlanningData struct {
	Sites       []Site
	Bays        []Bay
	Technicians []Technician
	Closures    []Closure
	Visits      []Visit // those that stand, and those dropped
}

// VisitChange is a new version of a visit with the messages that tell it. A
// visit without an ID is new; one with an ID must carry the Row of the version
// that it replaces.
type VisitChange struct {
	Visit   Visit
	Letters []MessageWithNotices // their notices' Item and Cycle are filled in by the store
	Untold  []Notice             // decided not to be sent, in the same way
}

// VisitVersion is one version of a visit with the entry that brought it.
type VisitVersion struct {
	Visit Visit
	Entry Entry
}
