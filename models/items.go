package models

import (
	"slices"
	"strings"
)

// Work says what is done when an item's day has come.
type Work string

// Kinds of work.
const (
	WorkChange     Work = "change"     // the part or fluid is renewed
	WorkService    Work = "service"    // cleaned, greased, made ready
	WorkInspection Work = "inspection" // looked at, nothing opened
	WorkTest       Work = "test"       // measured: the result says whether it is to be changed
)

// Item is one thing that is serviced at intervals, as the program knows it. A
// shop may have items of its own; all that is said of one here is then
// unknown, and it is treated with the usual care.
type Item struct {
	ID          string // as files and the store write it
	Name        Phrase // the work: lower case, a noun, reads well after "the", at most 50 characters
	Short       Phrase // one or two words, for pictures and lists
	Work        Work
	Cooling     bool     // belongs to the cooling system, which an air-cooled engine has not
	Opens       bool     // the work opens the coolant circuit, so that it must be bled after
	Spark       bool     // only an engine with spark plugs has it
	OnCondition bool     // changed when a test or a look says so; only a rule of the shop's own gives it a date
	DoneBy      []string // other items whose record counts as this one done
	Passed      Phrase   // a test: what is to be seen, asked before the machine leaves; "" asks nothing
	Means       Phrase   // what an owner has to know of it, in a sentence; "" where the name says it all
	Topics      []Topic  // the cautions that belong beside the work
	Replies     []string // more words by which replies name it, English and Spanish, folded: no accents, no capitals
}

// Items that code has to name. The others stand in the table alone.
const (
	ItemOil              = "oil"
	ItemOilFilter        = "oil_filter"
	ItemFuelFilter       = "fuel_filter"
	ItemPlugs            = "plugs"
	ItemBelt             = "belt"
	ItemAirFilter        = "air_filter"
	ItemGearOil          = "gear_oil"
	ItemGrease           = "grease"
	ItemBattery          = "battery"
	ItemBrakesLook       = "brakes_look"
	ItemCoolant          = "coolant"
	ItemCoolantLook      = "coolant_look"
	ItemThermostat       = "thermostat"
	ItemThermostatChange = "thermostat_change"
	ItemECTSensor        = "ect_sensor"
	ItemECTSensorChange  = "ect_sensor_change"
	ItemCap              = "cap"
	ItemHoses            = "hoses"
	ItemRadiatorLook     = "radiator_look"
	ItemPumpLook         = "pump_look"
	ItemBreakIn          = "break_in"
	ItemLayUp            = "lay_up"

	// ItemFirstInspection is the one line in which all of a machine's items
	// stand of which nothing is known: done once, it makes a record of each.
	ItemFirstInspection = "first_inspection"
)

// Topics of work that several items share.
var (
	opened  = []Topic{TopicCooling, TopicFan, TopicExhaust, TopicRaised}
	running = []Topic{TopicFan, TopicExhaust, TopicRaised}
	drained = []Topic{TopicOil, TopicExhaust, TopicRaised}
)

// items is the catalogue, in the order in which a sheet shows it: the cooling
// system first. What is known of an item is written here and nowhere else.
var items = []Item{
	{ID: ItemCoolant, Name: Phrase{"coolant change", "cambio de refrigerante"}, Short: Phrase{"coolant", "refrigerante"},
		Work: WorkChange, Cooling: true, Opens: true, Topics: opened,
		Replies: []string{"coolant", "antifreeze", "refrigerante", "anticongelante"}},
	{ID: ItemCoolantLook, Name: Phrase{"coolant level and condition inspection", "inspección del refrigerante: nivel y estado"},
		Short: Phrase{"coolant level", "nivel de refrigerante"}, Work: WorkInspection, Cooling: true, Topics: []Topic{TopicCooling, TopicFan},
		Replies: []string{"coolant level", "coolant inspection", "nivel de refrigerante"}},
	{ID: ItemThermostat, Name: Phrase{"thermostat test", "prueba del termostato"}, Short: Phrase{"thermostat test", "prueba del termostato"},
		Work: WorkTest, Cooling: true, DoneBy: []string{ItemThermostatChange}, Passed: Phrase{
			"Warm-up log from a cold start: the thermostat seen to open, and at the temperature that the manual gives?",
			"Registro desde arranque en frío: ¿se vio abrir el termostato, y a la temperatura que da el manual?"}, Means: Phrase{
			"A test, not a change: a log from a cold start shows whether it opens; it is changed only if it fails.",
			"Es una prueba, no un cambio: un registro desde frío muestra si abre; se cambia solo si falla."}, Topics: []Topic{TopicCooling, TopicFan, TopicExhaust},
		Replies: []string{"thermostat", "termostato"}},
	{ID: ItemThermostatChange, Name: Phrase{"thermostat change", "cambio del termostato"}, Short: Phrase{"new thermostat", "termostato nuevo"},
		Work: WorkChange, Cooling: true, Opens: true, OnCondition: true, Topics: opened,
		Replies: []string{"new thermostat", "termostato nuevo", "cambio de termostato"}},
	{ID: ItemECTSensor, Name: Phrase{"coolant temp sensor test", "prueba del sensor de temperatura"},
		Short: Phrase{"sensor test", "prueba del sensor"}, Work: WorkTest, Cooling: true, DoneBy: []string{ItemECTSensorChange}, Passed: Phrase{
			"Cold, after a night: the coolant temperature sensor reads what the air is, within a few degrees?",
			"En frío, tras una noche: ¿el sensor de temperatura marca lo mismo que el aire, con pocos grados de diferencia?"}, Means: Phrase{
			"A test, not a change: cold, it must read what the air is; it is changed only if it fails.",
			"Es una prueba, no un cambio: en frío debe marcar lo mismo que el aire; se cambia solo si falla."},
		Topics: []Topic{TopicCooling, TopicFan, TopicExhaust}, Replies: []string{"coolant sensor", "temp sensor", "temperature sensor", "sensor de temperatura"}},
	{ID: ItemECTSensorChange, Name: Phrase{"coolant temp sensor change", "cambio del sensor de temperatura"},
		Short: Phrase{"new sensor", "sensor nuevo"}, Work: WorkChange, Cooling: true, Opens: true, OnCondition: true, Topics: opened,
		Replies: []string{"new coolant sensor", "new temp sensor", "new temperature sensor", "sensor de temperatura nuevo"}},
	{ID: ItemCap, Name: Phrase{"pressure cap change", "cambio del tapón de presión"}, Short: Phrase{"cap", "tapón"},
		Work: WorkChange, Cooling: true, Topics: opened, Replies: []string{"cap", "radiator cap", "tapon"}},
	{ID: ItemHoses, Name: Phrase{"coolant hose and clamp change", "cambio de mangueras y abrazaderas"}, Short: Phrase{"hoses", "mangueras"},
		Work: WorkChange, Cooling: true, Opens: true, Topics: opened, Replies: []string{"hose", "hoses", "manguera", "mangueras"}},
	{ID: ItemRadiatorLook, Name: Phrase{"radiator fin and fan inspection", "inspección del radiador y del ventilador"},
		Short: Phrase{"radiator", "radiador"}, Work: WorkInspection, Cooling: true, Topics: []Topic{TopicCooling, TopicFan},
		Replies: []string{"radiator", "radiador"}},
	{ID: ItemPumpLook, Name: Phrase{"coolant pump inspection", "inspección de la bomba de refrigerante"}, Short: Phrase{"coolant pump", "bomba de agua"},
		Work: WorkInspection, Cooling: true, Topics: opened, Replies: []string{"water pump", "coolant pump", "bomba de agua"}},
	{ID: ItemFirstInspection, Name: Phrase{"first inspection", "primera inspección"}, Short: Phrase{"first look", "primera revisión"},
		Work: WorkInspection, Topics: []Topic{TopicCooling, TopicFan, TopicExhaust, TopicRaised}, Replies: []string{"first inspection", "primera inspeccion"}},
	{ID: ItemBreakIn, Name: Phrase{"break-in service", "servicio de asentamiento"}, Short: Phrase{"break-in", "asentamiento"},
		Work: WorkService, Topics: running, Replies: []string{"asentamiento"}},
	{ID: ItemOil, Name: Phrase{"engine oil change", "cambio de aceite del motor"}, Short: Phrase{"oil", "aceite"},
		Work: WorkChange, Topics: drained, Replies: []string{"oil", "oil change", "engine oil", "aceite"}},
	{ID: ItemOilFilter, Name: Phrase{"oil filter change", "cambio del filtro de aceite"}, Short: Phrase{"oil filter", "filtro de aceite"},
		Work: WorkChange, Topics: drained, Replies: []string{"oil filter", "and filter", "y filtro", "filtro de aceite"}},
	{ID: ItemAirFilter, Name: Phrase{"air filter service", "servicio del filtro de aire"}, Short: Phrase{"air filter", "filtro de aire"},
		Work: WorkService, Topics: []Topic{TopicFan}, Replies: []string{"air filter", "filtro de aire"}},
	{ID: ItemFuelFilter, Name: Phrase{"fuel filter change", "cambio del filtro de combustible"}, Short: Phrase{"fuel filter", "filtro de combustible"},
		Work: WorkChange, Topics: []Topic{TopicFuel}, Replies: []string{"fuel filter", "filtro de combustible", "filtro de gasolina"}},
	{ID: ItemPlugs, Name: Phrase{"spark plug change", "cambio de bujías"}, Short: Phrase{"plugs", "bujías"},
		Work: WorkChange, Spark: true, Topics: []Topic{TopicFan}, Replies: []string{"plugs", "spark plug", "spark plugs", "bujia", "bujias"}},
	{ID: "valves", Name: Phrase{"valve clearance inspection", "inspección de la holgura de válvulas"}, Short: Phrase{"valves", "válvulas"},
		Work: WorkInspection, Topics: []Topic{TopicFan},
		Replies: []string{"valves", "valve clearance", "valve adjustment", "valvulas", "ajuste de valvulas"}},
	{ID: ItemBelt, Name: Phrase{"drive belt change", "cambio de la banda de transmisión"}, Short: Phrase{"belt", "banda"},
		Work: WorkChange, Topics: running, Replies: []string{"belt", "drive belt", "correa", "banda"}},
	{ID: ItemGearOil, Name: Phrase{"gear oil change", "cambio de aceite de engranajes"}, Short: Phrase{"gear oil", "aceite de engranajes"},
		Work: WorkChange, Topics: []Topic{TopicOil, TopicRaised}, Replies: []string{"gear oil", "diff oil", "aceite de engranajes"}},
	{ID: "hyd_oil", Name: Phrase{"hydraulic oil change", "cambio de aceite hidráulico"}, Short: Phrase{"hydraulic oil", "aceite hidráulico"},
		Work: WorkChange, Topics: []Topic{TopicOil, TopicHydraulic, TopicRaised},
		Replies: []string{"hydraulic oil", "hydraulic fluid", "aceite hidraulico"}},
	{ID: "hyd_filter", Name: Phrase{"hydraulic filter change", "cambio del filtro hidráulico"}, Short: Phrase{"hydraulic filter", "filtro hidráulico"},
		Work: WorkChange, Topics: []Topic{TopicOil, TopicHydraulic, TopicRaised}, Replies: []string{"hydraulic filter", "filtro hidraulico"}},
	{ID: ItemGrease, Name: Phrase{"greasing", "engrase"}, Short: Phrase{"grease", "engrase"},
		Work: WorkService, Topics: []Topic{TopicRaised}, Replies: []string{"grease", "greased", "engrase", "engrasada"}},
	{ID: "boots_look", Name: Phrase{"drive boot inspection", "inspección de los cubrepolvos"}, Short: Phrase{"drive boots", "cubrepolvos"},
		Work: WorkInspection, Topics: []Topic{TopicRaised}, Replies: []string{"drive boots", "cv boots", "axle boots", "fuelles", "guardapolvos", "cubrepolvos"}},
	{ID: "bearings_look", Name: Phrase{"wheel bearing inspection", "inspección de los baleros de rueda"}, Short: Phrase{"wheel bearings", "baleros"},
		Work: WorkInspection, Topics: []Topic{TopicRaised}, Replies: []string{"wheel bearing", "wheel bearings", "rodamientos", "baleros", "balero"}},
	{ID: ItemBattery, Name: Phrase{"battery test", "prueba de la batería"}, Short: Phrase{"battery", "batería"},
		Work: WorkTest, Topics: []Topic{TopicBattery}, Replies: []string{"battery", "bateria"}},
	{ID: ItemBrakesLook, Name: Phrase{"brake inspection", "inspección de frenos"}, Short: Phrase{"brakes", "frenos"},
		Work: WorkInspection, Topics: []Topic{TopicRaised}, Replies: []string{"brakes", "frenos"}},
	{ID: "brake_fluid", Name: Phrase{"brake fluid change", "cambio de líquido de frenos"}, Short: Phrase{"brake fluid", "líquido de frenos"},
		Work: WorkChange, Topics: []Topic{TopicBrakes, TopicRaised}, Replies: []string{"brake fluid", "liquido de frenos"}},
	{ID: ItemLayUp, Name: Phrase{"winter lay-up", "preparación para el invierno"}, Short: Phrase{"lay-up", "guarda de invierno"},
		Work: WorkService, Topics: []Topic{TopicFuel, TopicBattery, TopicExhaust}, Replies: []string{"winterized", "winterizing"}},
	{ID: "wake_up", Name: Phrase{"wake-up after winter", "puesta en marcha tras el invierno"}, Short: Phrase{"wake-up", "puesta en marcha"},
		Work: WorkService, Topics: []Topic{TopicFuel, TopicBattery, TopicFan, TopicExhaust}, Replies: []string{"spring service"}},
}

// Items gives the catalogue in the order in which a sheet shows it.
func Items() []Item { return slices.Clone(items) }

// KnownItems lists the ids of the catalogue, in its order.
func KnownItems() []string {
	out := make([]string, len(items))
	for i := range items {
		out[i] = items[i].ID
	}
	return out
}

// place gives where an id stands in the catalogue; behind all for an item of
// the shop's own.
func place(id string) int {
	if i := slices.IndexFunc(items, func(it Item) bool { return it.ID == id }); i >= 0 {
		return i
	}
	return len(items)
}

// ItemOf gives what is known of an item. Of one of the shop's own that is its
// id in words; it is treated as a change that may reach under the machine with
// the engine running.
func ItemOf(id string) Item {
	if i := place(id); i < len(items) {
		return items[i]
	}
	words := strings.ReplaceAll(id, "_", " ")
	return Item{ID: id, Name: Phrase{EN: words}, Short: Phrase{EN: words}, Work: WorkChange, Topics: running}
}

// CompareItems orders items as a sheet shows them, the shop's own last.
func CompareItems(a, b string) int {
	if d := place(a) - place(b); d != 0 {
		return d
	}
	return strings.Compare(a, b)
}

// ItemName gives what the work on an item is called in a language (BCP 47;
// "es" and its regions are Spanish, everything else English).
func ItemName(id, lang string) string { return ItemOf(id).Name.In(lang) }

// ItemNames puts a list of items into words of a language.
func ItemNames(items Names, lang string) string {
	var names []string
	for _, id := range items.List() {
		names = append(names, ItemName(id, lang))
	}
	return strings.Join(names, ", ")
}

// CoolingItem says whether an item belongs to the cooling system.
func CoolingItem(id string) bool { return ItemOf(id).Cooling }

// Fits says whether an item can be serviced on a machine at all: no coolant
// in an air-cooled engine, no spark plugs in a diesel.
func Fits(id string, m Machine) bool {
	it := ItemOf(id)
	return !(it.Cooling && m.Cooling == CoolingAir) && !(it.Spark && m.Fuel == FuelDiesel)
}

// CountsFor says whether a record of one item counts as another done: an item
// for itself, and the change of a part for its test.
func CountsFor(recorded, id string) bool {
	return recorded == id || slices.Contains(ItemOf(id).DoneBy, recorded)
}

// EarlyShare is how much of an interval may be left when an item is done early
// so that what comes apart for another need not come apart twice. Common
// practice, no source.
const EarlyShare = 0.4

// InReach says whether so little of a forecast's interval is left on a day that
// the item may be done together with others.
func (f Forecast) InReach(today Date) bool {
	return float64(today.DaysTo(f.DueOn)) <= EarlyShare*float64(f.LastOn.DaysTo(f.DueOn))
}

// Offered gives the rules, of those of a machine, for the change of parts that
// are changed on condition and have no date of their own: what may be changed
// while it is apart anyway, but not soon after its test was passed or it was
// changed.
func Offered(rules []Rule, forecasts []Forecast, today Date) []Rule {
	var out []Rule
	for _, r := range rules {
		if !ItemOf(r.Item).OnCondition || r.Teardown == "" || slices.ContainsFunc(forecasts, func(f Forecast) bool {
			fresh := f.LastOn != 0 && f.DueOn != 0 && !f.InReach(today)
			return f.Item == r.Item || fresh && CountsFor(r.Item, f.Item)
		}) {
			continue
		}
		out = append(out, r)
	}
	return out
}
