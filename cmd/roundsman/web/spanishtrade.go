package web

// spanishTrade are words that the facts hold: of the trade, of what was done on a
// reply, and of places.
var spanishTrade = map[string]string{
	// Words of the trade that the facts hold.
	"late": "atrasado", "due": "toca ahora", "coming": "se acerca", "unsure": "dudoso", "clear": "al día",
	"item": "servicio", "check": "comprobación", "reading": "lectura", "visit": "visita",
	"mail": "correo", "sms": "texto", "notices": "avisos", "answer": "respuesta", "stopped": "baja", "started": "alta", "help": "ayuda",
	"shop": "para el taller", "test": "prueba",
	"queued": "en espera", "sending": "saliendo", "sent": "enviado", "failed": "fallido", "dropped": "sacado",
	"open": "abierto", "done": "hecho", "handed over": "entregado", "reopened": "reabierto", "withdrawn": "retirado",
	"ok": "bien", "not fitted": "no lo lleva",
	"owner": "dueño", "manager": "encargado", "service": "servicio", "operator": "operador",
	"desk": "mostrador", "technician": "técnico",
	"agreed": "acordada", "planned": "planeada", "shown": "mostrada", "moved": "movida", "new": "nueva",
	"shipped": "del programa", "rules file": "archivo de reglas", "items.csv": "items.csv", "by hand": "a mano",
	"comeback": "volvió la falla", "back": "volvió la falla", "agree": "de acuerdo", "decline": "no acepta", "stop": "baja", "day": "día",

	// What was done on a reply, and places of work.
	"trouble": "falla", "asked back": "se preguntó", "automatic": "automática", "oil drain": "vaciado de aceite",

	// What refusals say where nobody knows more.
	"This link does not work any more. Ask the shop for a new one.": "Este enlace ya no sirve. Pida otro al taller.",
	"The pages are not served under this name.":                     "Las páginas no se sirven con este nombre.",
	"There is no such page, or it is not yours to see.":             "Esa página no existe, o no es para usted.",
	"The books cannot be opened at this moment. Try again.":         "Los libros no se pueden abrir en este momento. Pruebe otra vez.",
	"Something went wrong here. It has been written down.":          "Algo falló aquí. Queda anotado.",
}
