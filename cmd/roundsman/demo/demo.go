// Package demo invents a shop's customers: a ranch and a lodge with two dozen
// machines, the people who answer for them, and three years of what their
// meters showed and what was done to them. It is a pure generator: the same
// rules give the same folder on every machine and day.
//
// All names, makes, addresses and numbers are invented; addresses lie under
// example.com and example.org, numbers between 555-0100 and 555-0199.
package demo

import (
	"slices"
	"time"

	"example.org/roundsman/models"
)

// The invented shop.
const (
	ShopName  = "Cottonwood Power"
	ShopPhone = "+1 970 555 0100"
	ShopMail  = "service@cottonwood.example.com"
	TimeZone  = "America/Denver" // of the shop and of both its customers
)

// At is the time of the demo's round: 2 November 2026, a Monday, at 07:00 in
// Denver, a day after the clocks went back (UTC-7).
func At() time.Time { return time.Date(2026, time.November, 2, 14, 0, 0, 0, time.UTC) }

// lastDay is the last day of which anything is known.
var lastDay = models.NewDate(2026, time.October, 31)

// seed makes the fleet. Another gives another fleet of the same machines.
const seed = 20261031

// Fleet gives the facts of the invented fleet, serviced by the rules of a
// rule book, as a shop with two bays would: visits in spring and autumn, more
// for hard-worked machines, and some that have slipped. No reading is later
// than 2026-10-31.
func Fleet(rules []models.Rule) models.FactSet {
	f := models.FactSet{Owners: owners(), Contacts: contacts()}
	for i, u := range units() {
		s := simulate(u, rules, uint64(i))
		f.Machines = append(f.Machines, s.machine)
		f.Readings = append(f.Readings, s.readings...)
		f.Services = append(f.Services, s.services...)
		f.Swaps = append(f.Swaps, s.swaps...)
	}
	byDay := func(a, b models.Reading) int { return int(a.At) - int(b.At) }
	slices.SortStableFunc(f.Readings, byDay)
	return f
}
