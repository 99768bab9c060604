package inbox

import (
	"strings"

	"example.org/roundsman/models"
)

// sense is what a phrase says. Most are kinds of acts.
type sense string

const (
	senseMore   sense = "no more messages"
	senseCall   sense = "call"
	senseAll    sense = "all of it"
	senseNot    sense = "not"
	senseFault  sense = "fault" // names a fault; with a "not" before it, its absence
	senseGood   sense = "good"  // says that all is well; with a "not" before it, the contrary
	senseUnfit  sense = "automatic"
	senseWants  sense = "wants" // asks the shop for something
	senseMeter  sense = "meter" // tells of a changed or broken meter
	senseDoubt  sense = "unsure"
	senseBut    sense = "except" // of all machines but one
	senseCancel sense = "cancel" // an appointment is called off, or a day refused
)

// phrases lists, by sense, ways to say it in English and Spanish, folded: no
// accents, no apostrophes. A phrase is matched word by word, the longest
// first.
var phrases = map[sense][]string{
	sense(KindComeback): {
		"its back", "it is back", "it came back", "came back", "its come back", "has come back", "is back again", "back again",
		"same problem", "same thing", "same issue", "still the same", "doing it again", "did it again", "does it again",
		"still doing it", "still does it", "still leaking", "still leaks", "still overheating", "still overheats", "still hot",
		"still running hot", "still runs hot", "still broken", "leaking again", "overheating again", "hot again", "not fixed",
		"didnt fix it", "did not fix it", "didnt hold", "did not hold", "problem returned", "it returned", "still not right", "still happening",
		"happening again", "started again", "volvio", "volvio a fallar", "volvio el problema", "otra vez lo mismo", "lo mismo", "sigue igual",
		"sigue goteando", "sigue fallando", "sigue calentando", "sigue calentandose", "todavia gotea", "todavia falla", "regreso el problema",
		"otra vez", "no quedo bien", "no se arreglo", "sigue mal", "sigue tirando", "aun gotea",
	},
	senseFault: {
		"not running right", "not running well", "isnt running right", "running rough", "runs rough", "runs bad", "running bad", "not right",
		"not good", "not ok", "not okay", "no good", "not great", "acting up", "acted up", "acts up", "problem", "problems", "trouble", "issue", "issues",
		"overheating", "overheats", "overheated", "overheat", "running hot", "runs hot", "ran hot", "getting hot", "gets hot", "temp light", "steaming", "steam",
		"leak", "leaks", "leaking", "leaked", "dripping", "drips", "puddle", "smoke", "smoking", "smokes", "wont start", "will not start", "doesnt start",
		"wouldnt start", "not starting", "wont run", "died", "dies", "dead", "stalls", "stalling", "stalled", "quit running", "quit on me", "shut down", "shuts off",
		"shut off", "noise", "noisy", "knocking", "squealing", "squeaks", "grinding", "warning light", "check engine", "engine light", "broken", "broke",
		"broke down", "breaks down", "not working", "doesnt work", "wont go", "engine blew", "blew up", "blew", "blown", "burned up", "burnt", "on fire", "caught fire", "it quit", "no power", "loses power", "lost power", "vibrates", "shaking", "stuck",
		"low coolant", "coolant low", "coolant was low", "coolant is low", "low on coolant", "was low again", "little hot", "bit hot", "too hot", "worse", "fan runs all the time", "fan never stops", "light came on", "light is on", "light on", "low on oil", "low oil", "oil low", "oil is low", "burning oil", "using oil", "losing coolant", "loses coolant", "code", "misfire", "misfiring", "backfires", "smells", "burning smell", "flat tire",
		"no anda bien", "no funciona", "no arranca", "no prende", "no enciende", "no camina bien", "anda mal", "falla", "fallando", "fallado", "fallo", "fuga", "fugas",
		"gotea", "goteando", "pierde", "tira agua", "tira aceite", "tira refrigerante", "se calienta", "calienta", "calentando", "calentado", "calento", "calentar", "recalienta", "sobrecalienta",
		"se apaga", "se apago", "humo", "ruido", "problema", "problemas", "roto", "rota", "descompuesto", "descompuesta", "se descompuso", "no esta bien",
		"no va bien", "no corre bien", "se paro", "vibra", "no jala",
	},
	senseGood: {
		"ok", "okay", "all good", "good", "fine", "great", "perfect", "runs great", "running great", "runs good", "runs fine", "running fine",
		"running good", "runs well", "running well", "works", "works great", "working great", "works fine", "works good", "working", "working fine",
		"held", "it held", "holding", "holding up", "has held", "fixed", "no complaints", "like new", "like a champ", "a ok", "all set", "still running", "still runs", "not come back", "hasnt come back", "havent come back", "didnt come back", "never came back", "did not come back", "no ha vuelto", "no volvio", "solid", "excellent",
		"bien", "todo bien", "muy bien", "anda bien", "va bien", "funciona bien", "funciona", "perfecto", "excelente", "quedo bien", "aguanto",
		"sin novedad", "de maravilla", "camina bien", "trabaja bien", "esta bien", "listo y bien", "vale", "dale", "de acuerdo",
	},
	sense(KindDone): {
		"done", "all done", "did it", "did that", "got it done", "had it done", "took care of it", "taken care of", "already did", "already done", "changed", "replaced",
		"swapped out", "serviced", "completed", "finished", "just did", "we did", "i did", "did the", "was done", "been done", "changed it", "did them",
		"hecho", "ya esta hecho", "ya lo hice", "ya se hizo", "lo hicimos", "ya lo hicimos", "ya quedo", "lo cambie", "cambie", "cambiamos", "cambiado", "cambiada",
		"se cambio", "se le cambio", "ya se le cambio", "se le hizo", "le cambiaron", "cambiaron", "le cambie", "le cambiamos", "listo", "hicimos", "ya se cambio", "hice",
	},
	sense(KindSold): {
		"sold", "sold it", "sold that", "we sold", "traded", "traded in", "traded it", "traded it in", "no longer have", "dont have it anymore", "dont own",
		"no longer own", "got rid of", "scrapped", "junked", "totaled", "gave it away", "dont have that one anymore", "stolen", "got stolen", "was stolen", "machine is gone", "unit is gone", "that one is gone",
		"vendi", "vendido", "vendida", "la vendi", "lo vendi", "la vendimos", "lo vendimos", "vendimos", "ya no la tengo", "ya no lo tengo", "ya no la tenemos",
		"ya no lo tenemos", "se vendio", "robaron", "robada", "robado",
	},
	sense(KindWrongNumber): {
		"wrong number", "wrong person", "wrong guy", "who is this", "whos this", "not my number", "dont know who this is", "have the wrong", "got the wrong",
		"i dont have a machine", "doesnt work here", "no longer works here", "no longer with us", "doesnt work for us", "ya no trabaja aqui", "ya no trabaja con nosotros", "numero equivocado", "se equivoco de numero", "equivocado", "quien es", "no soy yo", "no conozco",
	},
	sense(KindLater): {
		"almost done", "will be done", "should be done", "to be done", "be done", "getting done", "being done", "will get done", "getting it done", "later", "not now", "not yet", "not right now", "not today", "busy", "too busy", "another time", "remind me", "ask me again", "hold off", "wait until", "wait till",
		"maybe later", "after season", "when i get back", "out of town", "mas tarde", "despues", "luego", "ahora no", "todavia no", "aun no", "mas adelante", "ocupado", "estamos ocupados",
		"recuerdame", "otro dia", "cuando pueda", "when i can", "will do", "soon", "pronto", "will check", "ill check", "will look", "will get it", "will get you", "will send", "ill send", "ill get you", "ill text", "havent used it", "havent run it", "havent ran it", "havent driven it", "not used", "not being used", "not in use", "hasnt moved", "havent moved", "parked", "in storage", "winter storage", "put away", "closed for the season", "guardada", "guardado", "havent had time", "havent had a chance", "no la he usado", "no lo he usado", "no lo hemos usado", "no la hemos usado", "no he tenido tiempo", "get to it", "voy a ver", "lo reviso", "let me check", "ill look",
	},
	sense(KindYes): {"yes", "yep", "yeah", "yup", "sure", "correct", "thats right", "that is right", "its right", "it is right", "affirmative", "si", "claro", "correcto", "asi es", "exacto", "exactly", "confirmed", "confirmo", "yes please", "si por favor"},
	sense(KindNo):  {"no", "nope", "nah", "negative", "incorrect", "thats wrong", "no thanks", "no gracias", "incorrecto", "para nada"},
	sense(KindThanks): {
		"thanks", "thank you", "thx", "ty", "thank u", "got it", "will do thanks", "10 4", "roger", "copy", "copy that", "noted", "understood", "gracias", "muchas gracias",
		"enterado", "entendido", "recibido", "anotado", "mil gracias",
	},
	senseMore: {
		"stop texting", "stop messaging", "stop sending", "stop these", "stop the texts", "stop bothering", "no more texts", "no more messages", "quit texting", "dont text",
		"do not text", "dont message", "take me off", "remove me", "remove my number", "leave me alone", "unsubscribe me", "opt me out", "stop please", "please stop", "stop it", "unsubscribe", "how do i stop", "stop getting", "stop receiving",
		"no me escriban", "no me manden", "no me envien", "dejen de", "no mas mensajes", "quitenme", "borrenme", "ya no me manden", "deje de",
	},
	senseCall: {
		"call me", "please call", "give me a call", "can you call", "ring me", "need to talk", "call us", "llamame", "llameme", "me llama", "llamenme", "por favor llame", "me puede llamar", "marcame",
	},
	senseWants: {
		"need", "needs", "i want", "we want", "can you", "could you", "would you", "when can", "how much", "how long", "please send", "come get", "pick it up",
		"necesito", "necesita", "necesitamos", "ocupo", "ocupamos", "quiero", "queremos", "pueden", "puede", "podrian", "cuanto cuesta", "cuando pueden",
	},
	senseMeter: {
		"new meter", "new odometer", "new hour meter", "new speedo", "meter replaced", "replaced the meter", "changed the meter", "swapped the meter", "new cluster", "replaced the cluster",
		"meter broke", "meter is broken", "meter broken", "meter quit", "meter stopped", "meter is dead", "meter dead", "meter doesnt work", "meter isnt working", "meter not working", "odometer broken",
		"odometer is broken", "odometer doesnt work", "odometer quit", "odometer stopped", "speedo broke", "speedo is broken", "gauge is dead", "display is dead", "screen is dead",
		"medidor nuevo", "odometro nuevo", "horometro nuevo", "no sirve el odometro", "no sirve el horometro", "no sirve el medidor", "no funciona el odometro", "no funciona el horometro", "no funciona el medidor",
		"odometro descompuesto", "horometro descompuesto", "se descompuso el medidor", "cambie el medidor",
	},
	senseBut: {"except", "except for", "but not", "other than", "all but", "everything but", "besides", "excepto", "menos la", "menos el", "salvo"},
	senseCancel: {
		"cancel", "canceled", "cancelled", "call it off", "reschedule", "postpone", "no need", "dont need it", "not needed", "not doing it", "not interested", "no hace falta", "no es necesario", "no lo necesito", "cant make it", "cant make", "cant do", "wont make it", "wont be able", "not able to",
		"doesnt work for", "wont work for", "wont work", "doesnt work for me", "cancelar", "cancela", "cancelen", "cambiar la cita", "no puedo", "no podemos", "no me sirve", "posponer",
	},
	senseDoubt: {"no change", "no changes", "sin cambios", "not sure", "im not sure", "dont know", "i dont know", "no idea", "idk", "no se", "no estoy seguro", "quien sabe"},
	senseAll:   {"all of it", "all of them", "everything", "both", "all three", "all the work", "todo", "todos", "todas", "ambos", "ambas", "los dos", "las dos", "everything on it"},
	senseNot:   {"no", "not", "isnt", "aint", "never", "without", "no more", "doesnt", "hasnt", "havent", "didnt", "dont", "wasnt", "stopped", "quit", "sin", "nunca", "ya no", "nada de", "dejo de", "zero", "no se", "no se ha", "no se han", "ya no se", "no ha vuelto a", "no volvio a"},
	senseUnfit: {
		"out of office", "automatic reply", "auto reply", "autoreply", "im driving", "driving with", "i am driving", "cant talk right now whats up", "respuesta automatica", "fuera de la oficina",
		"sent from do not disturb", "do not disturb while driving",
	},
}

// stopWords opt out when they are the whole of a message (47 CFR
// 64.1200(a)(10) names the English ones; the Spanish ones and START's are
// common practice, no source).
var stopWords = []string{"stop", "quit", "end", "revoke", "opt out", "optout", "cancel", "unsubscribe", "stopall", "stop all",
	"alto", "parar", "baja", "cancelar"}

var startWords = []string{"start", "unstop", "resume", "subscribe", "iniciar", "empezar", "alta", "comenzar"}

var helpWords = []string{"help", "info", "ayuda", "informacion"}

// letters that answer only when they are the whole of a message.
var letterWords = map[string]sense{"k": senseGood, "kk": senseGood, "y": sense(KindYes), "ya": sense(KindYes), "n": sense(KindNo), "right": sense(KindYes)}

// bridges may stand between a "not" and what it denies.
var bridges = wordSet("any see seen more longer sign signs of had has have been a the it got mas hay ha tiene se le ningun ninguna senal problem running that is so far even coolant oil water refrigerante aceite agua")

// denials before a "stopped" or "quit" turn it round again.
var denials = wordSet("wont didnt not never doesnt hasnt havent cant will wouldnt")

// kindWords maps words for kinds of machines to the shop's usual words.
var kindWords = map[string]string{
	"side by side": "utv", "sxs": "utv", "utv": "utv", "buggy": "utv", "atv": "atv", "quad": "atv", "four wheeler": "atv", "4 wheeler": "atv", "cuatrimoto": "atv", "cuatri": "atv",
	"tractor": "tractor", "generator": "generator", "genset": "generator", "gen": "generator", "generador": "generator", "planta de luz": "generator",
	"mower": "mower", "podadora": "mower", "pump": "pump", "bomba": "pump",
}

// unitWords maps words to units.
var unitWords = map[string]Unit{
	"mi": UnitMiles, "mile": UnitMiles, "miles": UnitMiles, "mls": UnitMiles, "milage": UnitMiles, "mileage": UnitMiles, "odometer": UnitMiles, "odo": UnitMiles,
	"milla": UnitMiles, "millas": UnitMiles, "millaje": UnitMiles, "km": UnitKM, "kms": UnitKM, "kilometers": UnitKM, "kilometres": UnitKM, "kilometros": UnitKM, "kilometraje": UnitKM, "kilometro": UnitKM,
	"h": UnitHours, "hr": UnitHours, "hrs": UnitHours, "hour": UnitHours, "hours": UnitHours, "hs": UnitHours, "hora": UnitHours, "horas": UnitHours, "hourmeter": UnitHours, "horometro": UnitHours,
}

// introWords come before a bare number that names a machine.
var introWords = wordSet("unit units machine number no num # rig mach unidad maquina numero equipo num nro")

// otherUnits follow figures that are not of a meter.
var otherUnits = wordSet("day days week weeks wk wks month months year years yr yrs minute minutes min mins times degrees degree deg psi gallons gallon gal quarts quart qt lbs pounds dollars bucks volts volt v amps rpm mph percent acres people guys dias dia semanas semana meses mes ano anos minutos grados galones litros liters pesos libras")

// runWords before a distance or time make it one that was run since, where no
// meter can show it: "ran it 50 miles", "after 20 miles".
var runWords = wordSet("for after another only ran drove put first last every within por despues otras otros durante")

// sinceWords behind a distance or time make it one that was run.
var sinceWords = wordSet("since more further extra later this ago desde mas adicionales")

// othersWords speak of machines that are not named.
var othersWords = wordSet("others other rest otros otras demas resto")

// clockWords before a small figure make it a time of day.
var clockWords = wordSet("at by before around until till las")

// gaugeWords before a figure say that it is of another gauge.
var gaugeWords = wordSet("temp temps temperature temperatura psi pressure presion volts voltage year model modelo code codigo")

// roughWords make a value or day an approximate one.
var roughWords = wordSet("about around approx approximately roughly almost nearly ish maybe like circa aproximadamente aprox unos unas casi como cerca")

// fillers say nothing that matters here.
var fillers = wordSet(`a an the is are at on in it its and of to for with this that these my our i im we ive were we're he she they you your u me us
 now today currently just has have had got get reads read reading shows show showing says say meter miles mile hours hour been be was am will ill do does did so far
 hi hello hey good morning afternoon evening sir maam please pls sorry fyi there here still yes no ok and then or but all one ones from as by out off up down right left
 new current total machine unit units number rig machines thing guy guys thanks thank ur hope well too also only again back still really pretty very quite over under
 el la los las un una unos es esta estan en de del con y e o que por para mi mis nuestro nuestra su al lo le les se yo nosotros tiene tengo tenemos marca marcan lleva va
 van dice hoy ahora ya hola buenos buenas dias tardes noches favor maquina unidad equipo numero medidor son hay muy mas pero tambien solo senor senora amigo jefe a ahorita
 till until before after since last next antes hasta desde work works time day days week weeks month months boss man bud buddy mate can could would should think guess
 looks look like its bring take come see ya'll yall ready put running run runs ran going go goes went about around who what when did does hasta apenas acabo checked check just anymore ever yet any more better instead great nice sounds mucho mas nada see you next morning k kk myself ourselves got give couldnt cant each every seems seem feels appears theyre theyve youre hes shes those them whole lot rest either others other`)

func wordSet(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(s) {
		out[w] = true
	}
	return out
}

// dictionary finds phrases by their first word, the longest first.
type dictionary map[string][]entry

type entry struct {
	words []string
	sense sense
	value string // of items and kinds
}

// Dictionaries made once of the lists above and never changed.
var (
	sayings = buildSayings()
	works   = buildWorks()
	kinds   = buildKinds()
)

func buildSayings() dictionary {
	d := dictionary{}
	for s, list := range phrases {
		for _, p := range list {
			d.add(p, s, "")
		}
	}
	d.sort()
	return d
}

// buildWorks takes the words for work from the catalogue of items: what lists
// and questions call them, and what else people say.
func buildWorks() dictionary {
	d := dictionary{}
	for _, it := range models.Items() {
		for _, words := range append([]string{it.Name.EN, it.Name.ES}, it.Replies...) {
			var plain []string
			for _, t := range lex(fold(words), false) {
				plain = append(plain, t.text)
			}
			d.add(strings.Join(plain, " "), "", it.ID)
		}
	}
	d.sort()
	return d
}

func buildKinds() dictionary {
	d := dictionary{}
	for p, v := range kindWords {
		d.add(p, "", v)
	}
	d.sort()
	return d
}
