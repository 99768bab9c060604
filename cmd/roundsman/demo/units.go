package demo

import "example.org/roundsman/models"

// year is how the hours of a year fall on its months, January first; the
// shares are relative.
type year [12]float64

// The seasons of the two customers' work (invented).
var (
	calvingToGather = year{5, 6, 11, 14, 12, 13, 13, 12, 11, 13, 6, 4}
	haying          = year{3, 3, 5, 9, 10, 16, 20, 17, 9, 6, 4, 3}
	guests          = year{3, 3, 3, 4, 8, 18, 23, 22, 15, 9, 3, 3}
	plowing         = year{21, 19, 15, 6, 5, 6, 6, 6, 5, 7, 11, 20}
	outages         = year{12, 11, 10, 6, 6, 11, 15, 15, 10, 6, 7, 10}
)

// unit says what a machine is and how it is used, read and looked after.
type unit struct {
	id, tag, kind, owner, site string
	make, model                string
	built                      int // model year
	meters                     models.Meters
	cooling                    models.Cooling
	fuel                       models.Fuel
	duty                       models.Duty
	litres, lowest             float64 // of coolant; degrees Celsius it must stand
	since                      string  // first day with this owner
	miles0, hours0             float64 // what the meters showed then, in miles; above 0: bought used
	max                        float64 // highest value of the odometer; 0: not known
	season                     year
	hours                      float64  // run in a year
	pace                       float64  // miles for each hour; 0: hours only
	every                      int      // days from one reading to the next, on average
	source                     string   // of the readings
	slack                      float64  // days from an item's falling due to the visit, on average
	slipped                    string   // from this day on nobody has brought it in; "": it is still brought in
	silent                     string   // no reading from this day on; "": there are
	unrecorded                 []string // items that nobody has written down
	swapped                    string   // day on which the odometer was replaced
	slips                      []slip
}

// slip is a reading gone wrong, the nearest one after a day.
type slip struct {
	on   string
	kind slipKind
	sure models.Standing
}

type slipKind int

const (
	digitsSwapped slipKind = iota // the middle digits of the odometer change places
	tenthsRead                    // the tenths wheel of the hour meter is read as a digit
	tripRead                      // the trip meter is read for the odometer
	falls                         // an old value is entered again
	hoursAsMiles                  // the hours stand in the miles' column
)

func units() []unit {
	all := append(ranchUnits(), lodgeUnits()...)
	for i := range all {
		if all[i].cooling == models.CoolingLiquid {
			all[i].lowest = -35
		}
	}
	return all
}

// sideBySide gives the common parts of a utility side-by-side.
func sideBySide(u unit) unit {
	u.kind, u.make, u.cooling, u.fuel = "utv", "Ostrand", models.CoolingLiquid, models.FuelGas
	if u.litres == 0 {
		u.litres = 5.7
	}
	if u.pace == 0 {
		u.pace = 9.5
	}
	if u.meters == "" {
		u.meters = models.MetersBoth
	}
	return u
}

// quad gives the common parts of a quad.
func quad(u unit) unit {
	u.kind, u.make, u.model, u.fuel = "atv", "Ostrand", "Ridge 450", models.FuelGas
	if u.cooling == "" {
		u.cooling, u.litres = models.CoolingLiquid, 2.8
	}
	if u.pace == 0 {
		u.pace = 8
	}
	if u.meters == "" {
		u.meters = models.MetersMiles
	}
	return u
}

// tractor gives the common parts of a compact tractor.
func tractor(u unit) unit {
	u.kind, u.make, u.cooling, u.fuel, u.meters = "tractor", "Morvane", models.CoolingLiquid, models.FuelDiesel, models.MetersHours
	return u
}

// generator gives the common parts of a generator.
func generator(u unit) unit {
	u.kind, u.make, u.meters, u.season = "generator", "Kilbey", models.MetersHours, outages
	return u
}

func ranchUnits() []unit {
	list := []unit{
		sideBySide(unit{id: "QC-01", tag: "U-1", model: "Corral 700", built: 2023, since: "2023-11-06", hours: 110, every: 31, duty: models.DutySevere}),
		sideBySide(unit{id: "QC-02", tag: "U-2", model: "Corral 700", built: 2023, since: "2023-11-06", hours: 150, every: 27,
			slips: []slip{{on: "2026-06-10", kind: digitsSwapped}}}),
		sideBySide(unit{id: "QC-03", tag: "U-3", model: "Corral 900 Crew", built: 2024, since: "2024-03-11", hours: 210, every: 24, litres: 7.1}),
		sideBySide(unit{id: "QC-04", tag: "U-4", model: "Corral 900 Crew", built: 2024, since: "2024-03-11", hours: 170, every: 29, slipped: "2026-08-20", litres: 7.1}),
		sideBySide(unit{id: "QC-05", tag: "U-5", model: "Corral 700", built: 2019, since: "2024-01-15", hours: 95, every: 40,
			miles0: 6420.3, hours0: 702.5, unrecorded: []string{models.ItemThermostat, models.ItemECTSensor, models.ItemHoses}}),
		sideBySide(unit{id: "QC-06", tag: "U-6", model: "Corral 700", built: 2021, since: "2023-12-01", hours: 120, every: 33,
			miles0: 3105.8, hours0: 322.1, silent: "2026-03-10", slipped: "2026-04-20"}),
		quad(unit{id: "QC-11", tag: "Q-1", built: 2024, since: "2024-04-02", hours: 90, every: 38, meters: models.MetersBoth}),
		quad(unit{id: "QC-12", tag: "Q-2", built: 2020, since: "2023-11-20", hours: 105, every: 35, miles0: 9121.4, max: 9999.9}),
		quad(unit{id: "QC-13", tag: "Q-3", built: 2024, since: "2024-04-02", hours: 60, every: 52, cooling: models.CoolingAir,
			slips: []slip{{on: "2026-08-01", kind: tripRead}}}),
		tractor(unit{id: "QC-21", tag: "T-1", model: "35 Loader", built: 2022, since: "2023-11-06", hours0: 388.2, hours: 230, every: 30, season: haying, litres: 6.4}),
		tractor(unit{id: "QC-22", tag: "T-2", model: "35 Loader", built: 2024, since: "2024-02-19", hours: 190, every: 36, slipped: "2026-08-25", season: haying, litres: 6.4,
			slips: []slip{{on: "2026-07-05", kind: tenthsRead}}}),
		tractor(unit{id: "QC-23", tag: "T-3", model: "50 Utility", built: 2025, since: "2025-05-06", hours: 170, every: 34, season: haying, litres: 8.2}),
		generator(unit{id: "QC-31", tag: "G-1", model: "12 Standby", built: 2023, since: "2023-11-06", hours: 60, every: 60,
			cooling: models.CoolingLiquid, fuel: models.FuelGas, litres: 4.6, site: "well house"}),
		generator(unit{id: "QC-32", tag: "G-2", model: "7 Portable", built: 2024, since: "2024-05-13", hours: 45, every: 75,
			cooling: models.CoolingAir, fuel: models.FuelGas, site: "line camp"}),
	}
	for i := range list {
		u := &list[i]
		u.owner, u.source, u.slack = ranch, "owner", 12
		if u.site == "" {
			u.site = "home place"
		}
		if u.season == (year{}) {
			u.season = calvingToGather
		}
	}
	return list
}

func lodgeUnits() []unit {
	list := []unit{
		sideBySide(unit{id: "MH-01", tag: "1", model: "Corral 900 Crew", built: 2024, since: "2024-05-01", hours: 130, every: 21, litres: 7.1}),
		sideBySide(unit{id: "MH-02", tag: "2", model: "Corral 900 Crew", built: 2024, since: "2024-05-01", hours: 145, every: 19, litres: 7.1,
			swapped: "2025-06-14"}),
		sideBySide(unit{id: "MH-03", tag: "3", model: "Corral 900 Crew", built: 2024, since: "2024-05-01", hours: 125, every: 22, litres: 7.1,
			slips: []slip{{on: "2025-08-20", kind: falls, sure: models.StandingWithdrawn}}}),
		sideBySide(unit{id: "MH-04", tag: "4", model: "Corral 700", built: 2025, since: "2025-05-12", hours: 150, every: 20,
			slips: []slip{{on: "2026-09-15", kind: hoursAsMiles}}}),
		sideBySide(unit{id: "MH-05", tag: "5", model: "Corral 700 Métrico", built: 2023, since: "2024-05-01", hours: 110, every: 25,
			meters: models.MetersBothKM, miles0: 871.2, hours0: 94.6}),
		quad(unit{id: "MH-11", tag: "11", built: 2024, since: "2024-05-20", hours: 85, every: 26}),
		quad(unit{id: "MH-12", tag: "12", built: 2024, since: "2024-05-20", hours: 95, every: 28}),
		quad(unit{id: "MH-13", tag: "13", built: 2024, since: "2024-05-20", hours: 40, every: 95, silent: "2026-06-20"}),
		tractor(unit{id: "MH-21", tag: "20", model: "25 Compact", built: 2024, since: "2024-09-03", hours: 150, every: 30, season: plowing, litres: 5.2}),
		generator(unit{id: "MH-31", tag: "30", model: "25 Prime", built: 2021, since: "2023-11-13", hours0: 1240.5, hours: 310, every: 24,
			cooling: models.CoolingLiquid, fuel: models.FuelDiesel, litres: 9.5}),
	}
	for i := range list {
		u := &list[i]
		u.owner, u.source, u.slack = lodge, "rental", 7
		u.site = "lodge yard"
		if u.season == (year{}) {
			u.season = guests
		}
	}
	return list
}
