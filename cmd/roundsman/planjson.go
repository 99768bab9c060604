package main

import (
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/visit/shop"
)

// The plan for a script. Money is whole cents.
type (
	planDoc struct {
		From      models.Date    `json:"from"`
		Until     models.Date    `json:"until"`
		Cost      int64          `json:"cost_cents"`
		Bound     int64          `json:"bound_cents"`
		Gap       float64        `json:"gap"`
		Optimal   bool           `json:"optimal"` // by enumeration
		Steps     int64          `json:"steps"`
		Visits    []planVisit    `json:"visits"`
		Left      []planLeft     `json:"left"`
		Conflicts []planConflict `json:"conflicts"`
		Days      []planDay      `json:"days"`
		Notes     []string       `json:"notes"`
	}
	planVisit struct {
		Visit        string            `json:"visit"` // its number; "" where it is not recorded
		UID          string            `json:"uid"`
		Machine      string            `json:"machine"`
		Tag          string            `json:"tag"`
		Owner        string            `json:"owner"`
		Site         string            `json:"site"`
		Standing     shop.Standing     `json:"standing"`
		Day          models.Date       `json:"day"`
		Until        models.Date       `json:"until"`
		WasOn        models.Date       `json:"was_on"`
		Bay          string            `json:"bay"`
		Minutes      int               `json:"minutes"`
		SavedMin     int               `json:"saved_min"`
		Items        []planItemDoc     `json:"items"`
		Why          string            `json:"why"`
		Alternatives []planAlternative `json:"alternatives"`
	}
	planItemDoc struct {
		Item     string      `json:"item"`
		Minutes  int         `json:"minutes"`
		Teardown string      `json:"teardown"`
		EarlyOn  models.Date `json:"early_on"`
		DueOn    models.Date `json:"due_on"`
		LateOn   models.Date `json:"late_on"`
	}
	planAlternative struct {
		Day   models.Date `json:"day"`
		Bay   string      `json:"bay"`
		Extra int64       `json:"extra_cents"`
	}
	planLeft struct {
		Machine string      `json:"machine"`
		Tag     string      `json:"tag"`
		Item    string      `json:"item"`
		DueOn   models.Date `json:"due_on"`
		Why     string      `json:"why"`
	}
	planConflict struct {
		Visit   string      `json:"visit"`
		Machine string      `json:"machine"`
		Day     models.Date `json:"day"`
		Why     string      `json:"why"`
	}
	planDay struct {
		Day    models.Date `json:"day"`
		Open   int         `json:"open_min"`
		Used   int         `json:"used_min"`
		Closed string      `json:"closed,omitempty"`
	}
)

func planJSON(p scheduler.Plan) planDoc {
	doc := planDoc{From: p.From, Until: p.Until, Cost: p.Cost, Bound: p.Bound, Gap: p.Gap, Optimal: p.Optimal, Steps: p.Steps,
		Visits: []planVisit{}, Left: []planLeft{}, Conflicts: []planConflict{}, Days: []planDay{}, Notes: []string{}}
	for _, n := range p.Notes {
		doc.Notes = append(doc.Notes, n.Message)
	}
	for _, s := range p.Stops {
		v := planVisit{Visit: s.Visit.ID, UID: s.Visit.UID, Machine: s.Machine.ID, Tag: s.Machine.Tag, Owner: s.Machine.Owner, Site: s.Site,
			Standing: s.Standing, Day: s.On, Until: s.Until, Bay: s.Bay, Minutes: s.Minutes, SavedMin: s.SavedMin, Why: s.Why,
			Items: []planItemDoc{}, Alternatives: []planAlternative{}}
		if s.Standing == shop.StandingMoved {
			v.WasOn = s.Visit.On
		}
		for _, it := range s.Items {
			f := it.Forecast
			v.Items = append(v.Items, planItemDoc{it.Item, it.Minutes, it.Teardown, f.EarlyOn, f.DueOn, f.LateOn})
		}
		for _, a := range s.Alternatives {
			v.Alternatives = append(v.Alternatives, planAlternative{a.On, a.Bay, a.Extra})
		}
		doc.Visits = append(doc.Visits, v)
	}
	for _, l := range p.Left {
		doc.Left = append(doc.Left, planLeft{l.Machine.ID, l.Machine.Tag, l.Item, l.Forecast.DueOn, l.Why})
	}
	for _, c := range p.Conflicts {
		doc.Conflicts = append(doc.Conflicts, planConflict{c.Visit.ID, c.Visit.Machine, c.Visit.On, c.Why})
	}
	for _, d := range p.Days {
		doc.Days = append(doc.Days, planDay{d.On, d.Open, d.Used, d.Closed})
	}
	return doc
}
