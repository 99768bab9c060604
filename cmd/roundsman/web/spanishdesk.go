package web

// spanishDesk holds the words of the round sheet, of what waits to be sent, and of
// taking in.
var spanishDesk = map[string]string{
	"as read here":                     "los leídos aquí",
	"More, rarely needed":              "Más, casi nunca hace falta",
	"not read: hour meter":             "sin leer: horómetro",
	"not read: odometer in miles":      "sin leer: odómetro en millas",
	"not read: odometer in kilometers": "sin leer: odómetro en kilómetros",
	"not read: miles and hours":        "sin leer: millas y horas",
	"not read: kilometers and hours":   "sin leer: kilómetros y horas",
	"%s more to call after these.":     "%s llamadas más después de estas.",
	"%s more wait behind these.":       "%s más esperan detrás de estos.",
	"No item is written down as done: add a line for each above, else no interval begins anew.": "No se anotó ningún trabajo hecho: añada una línea por cada uno arriba; si no, ningún intervalo empieza de nuevo.",
	"To answer":        "Por contestar",
	"to answer":        "por contestar",
	"in the shop":      "en el taller",
	"visits today":     "visitas hoy",
	"did not arrive":   "no llegaron",
	"all %s":           "todo: %s",
	"Late":             "Atrasado",
	"Nothing is late.": "No hay nada atrasado.",
	"due since %s":     "toca desde el %s",
	"No job is open.":  "No hay ningún trabajo abierto.",
	"Visits today":     "Visitas de hoy",
	"No visit today.":  "Hoy no hay visitas.",
	"not agreed":       "sin acordar",
	"It goes first as soon as the hours allow; its line says when.": "Sale primero en cuanto lo permitan las horas; su línea dice cuándo.",
	"It goes now.":          "Sale ahora.",
	"It would not go again": "No saldría otra vez",
	"goes now":              "sale ahora",
	"will not go":           "no saldrá",
}
