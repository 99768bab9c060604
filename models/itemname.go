package models

import "strings"

// itemWords is what an item is called, as the work to be done: lower case,
// a noun, short enough for a text message.
type itemWords struct{ en, es string }

// itemNames holds the words of every item the program knows. "Inspection" is
// used for the looks because "check" means a follow-up check after a job.
var itemNames = map[string]itemWords{
	ItemOil:          {"engine oil change", "cambio de aceite del motor"},
	ItemOilFilter:    {"oil filter change", "cambio del filtro de aceite"},
	ItemFuelFilter:   {"fuel filter change", "cambio del filtro de combustible"},
	ItemPlugs:        {"spark plug change", "cambio de bujías"},
	ItemBelt:         {"drive belt change", "cambio de la correa de transmisión"},
	ItemAirFilter:    {"air filter service", "servicio del filtro de aire"},
	ItemGearOil:      {"gear oil change", "cambio de aceite de engranajes"},
	ItemGrease:       {"greasing", "engrase"},
	ItemBattery:      {"battery test", "prueba de la batería"},
	ItemBrakesLook:   {"brake inspection", "inspección de frenos"},
	ItemCoolant:      {"coolant change", "cambio de refrigerante"},
	ItemCoolantLook:  {"coolant level and condition inspection", "inspección del refrigerante: nivel y estado"},
	ItemThermostat:   {"thermostat change", "cambio del termostato"},
	ItemECTSensor:    {"coolant temperature sensor change", "cambio del sensor de temperatura del refrigerante"},
	ItemCap:          {"pressure cap change", "cambio del tapón de presión"},
	ItemHoses:        {"coolant hose and clamp change", "cambio de mangueras y abrazaderas"},
	ItemRadiatorLook: {"radiator fin and fan inspection", "inspección del radiador y del ventilador"},
	ItemPumpLook:     {"coolant pump inspection", "inspección de la bomba de refrigerante"},
	ItemBreakIn:      {"break-in service", "servicio de asentamiento"},
}

// KnownItems lists the ids of the items that the program knows by name, in
// the order in which a sheet shows them: cooling system first.
func KnownItems() []string {
	return []string{
		ItemCoolant, ItemCoolantLook, ItemThermostat, ItemECTSensor, ItemCap,
		ItemHoses, ItemRadiatorLook, ItemPumpLook,
		ItemBreakIn, ItemOil, ItemOilFilter, ItemAirFilter, ItemFuelFilter,
		ItemPlugs, ItemBelt, ItemGearOil, ItemGrease, ItemBattery, ItemBrakesLook,
	}
}

// ItemName gives what an item is called in a language (BCP 47; "es" and its
// regions are Spanish, everything else English): a noun in lower case that
// reads well after "the". An item that the program does not know is the
// shop's own word with its underscores turned to spaces.
func ItemName(item, lang string) string {
	w, known := itemNames[item]
	if !known {
		return strings.ReplaceAll(item, "_", " ")
	}
	if Spanish(lang) {
		return w.es
	}
	return w.en
}

// Spanish says whether a BCP 47 language tag is Spanish: "es", "es-MX",
// "es-419" in any case.
func Spanish(lang string) bool {
	primary, _, _ := strings.Cut(strings.ReplaceAll(lang, "_", "-"), "-")
	return strings.EqualFold(primary, "es")
}
