package models

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"strings"
)

// In gives the error's message and remedy in a language (BCP 47). A remedy
// that is not spoken in it is left out.
func (e *Error) In(language string) (message, remedy string) {
	if !Spanish(language) {
		return e.Message, e.Remedy
	}
	format, args := e.format, e.args
	if format == "" {
		format = e.Message
	}
	es, ok := refusalsInSpanish[format]
	if !ok {
		return e.Message, refusalsInSpanish[e.Remedy]
	}
	if len(args) > 0 {
		es = fmt.Sprintf(es, spoken(args, language)...)
	}
	return es, refusalsInSpanish[e.Remedy]
}

// In gives a fault's problem and remedy in a language (BCP 47). A remedy that is
// not spoken in it is left out.
func (f Fault) In(language string) (problem, remedy string) {
	if !Spanish(language) {
		return f.Problem, f.Remedy
	}
	problem, whose, named := strings.Cut(f.Problem, ": ")
	if problem = cmp.Or(refusalsInSpanish[problem], problem); named {
		problem += ": " + whose
	}
	return problem, refusalsInSpanish[f.Remedy]
}

// RefusalInSpanish says whether a message, its format or a remedy has its
// Spanish words.
func RefusalInSpanish(words string) bool { return refusalsInSpanish[words] != "" }

// spoken gives the arguments of a message in a language: what has words in it
// says them, and of the rest what refusalsInSpanish knows.
func spoken(args []any, language string) []any {
	out := make([]any, len(args))
	for i, a := range args {
		out[i] = a
		var inner *Error
		err, failed := a.(error)
		known := func(text string) {
			if es := refusalsInSpanish[text]; es != "" && Spanish(language) {
				out[i] = es
			}
		}
		switch v := a.(type) {
		case interface{ In(string) string }:
			out[i] = v.In(language)
		default:
			switch {
			case failed && errors.As(err, &inner):
				out[i], _ = inner.In(language)
			case failed:
				known(err.Error())
			case reflect.TypeOf(a) != nil && reflect.TypeOf(a).Kind() == reflect.String:
				known(fmt.Sprint(a))
			}
		}
	}
	return out
}

// refusalsInSpanish holds the Spanish words of what people are refused with, by
// the English format, with the same verbs in the same order; and those of
// remedies, and of words that stand in them.
var refusalsInSpanish = map[string]string{
	// Readings and meters.
	"%s %s of %s is doubtful: %s":                                             "%s %s de %s es dudoso: %s",
	"%s %s of %s is doubtful: %s (it probably showed %s)":                     "%s %s de %s es dudoso: %s (probablemente marcaba %s)",
	"no value is given":                                                       "no se dio ningún valor",
	"write what the odometer or the hour meter shows":                         "escriba lo que marca el odómetro o el horómetro",
	`write what the meter shows, such as 6120.4, or "about 6100" for a guess`: `escriba lo que marca el medidor, por ejemplo 6120.4, o "about 6100" si es aproximado`,
	"%s %q %v":        "%s %q %v",
	"%q %v":           "%q %v",
	"is not a number": "no es un número",
	"is negative":     "es negativo",
	"is too large":    "es demasiado grande",
	"is a guess":      "es aproximado",
	"is in a unit that the meter does not show": "está en una unidad que el medidor no marca",
	"miles":                                 "odómetro",
	"hours":                                 "horómetro",
	"none":                                  "ninguno",
	"both":                                  "odómetro y horómetro",
	"%s has no such meter (its meters: %s)": "%s no tiene ese medidor (tiene: %s)",
	"a reading is of today or earlier":      "una lectura es de hoy o de antes",
	"%s lies after today, %s":               "%s es después de hoy, %s",
	"%s lies more than %d years ahead":      "para el %s faltan más de %d años",
	"write what the meter showed, such as 5120.4, or leave out what is not known": "escriba lo que marcaba el medidor, por ejemplo 5120.4, o deje vacío lo que no se sabe",
	"that meter of %s was replaced on %s already":                                 "ese medidor de %s ya se cambió el %s",
	"pick one that it has":                "elija uno que tenga",
	"write what it showed":                "escriba lo que marcaba",
	"the odometer of %s shows %s at most": "el odómetro de %s marca %s como máximo",

	// Where a machine stands, and what was known of it.
	"name another owner":                                         "elija otro dueño",
	"machine %s of owner %s has the tag %s too":                  "la máquina %s del dueño %s tiene también el número %s",
	"%s belongs to %s already":                                   "%s ya es de %s",
	"give today or an earlier day":                               "ponga hoy o un día anterior",
	"%s is still to come":                                        "el %s aún no llega",
	"give that day or a later one":                               "ponga ese día o uno posterior",
	"where %s stands is recorded as of %s already":               "la situación de %s ya está anotada desde el %s",
	"say until when with a day that is still to come":            "diga hasta cuándo, con un día que aún no llega",
	"a machine is laid up until a day":                           "una máquina se guarda hasta un día",
	"leave the day out, or lay the machine up":                   "quite el día, o guarde la máquina",
	"only a machine that is laid up has a day until which it is": "solo una máquina guardada tiene un día hasta el que lo está",
	"leave the owner out, or say that it was sold":               "quite el dueño, o diga que se vendió",
	"only a machine that was sold has a new owner":               "solo una máquina vendida tiene dueño nuevo",
	"name one of the two":                                        "elija uno de los dos",
	"a machine is sold to an owner you know or to a new one":     "una máquina se vende a un dueño conocido o a uno nuevo, no a los dos",
	"%s is in use already":                                       "%s ya está en uso",
	"%s is out of the shop's care already":                       "%s ya no está al cuidado del taller",
	"give a later day":                                           "ponga un día posterior",
	"%s came on %s":                                              "%s llegó el %s",
	"give a day that has come":                                   "ponga un día que ya llegó",
	"%s: %s is still to come":                                    "%s: el %s aún no llega",
	"give a value of a meter that it has":                        "dé el valor de un medidor que tenga",
	"%s: %s has no such meter (its meters: %s)":                  "%s: %s no tiene ese medidor (tiene: %s)",
	"write it in the unit that the meter shows":                  "escríbalo en la unidad que marca el medidor",
	"%s=%s %v (meters of %s: %s)":                                "%s=%s %v (medidores de %s: %s)",
	"%s=%s is not understood":                                    "%s=%s no se entiende",
	"write fine, unknown, done:2025-05 (or a day or a year), done:1500mi, done:400h, or done:2025-05@1500mi": "escriba cuándo se hizo: 2025-05 (o un día o un año), 1500mi, 400h, o 2025-05@1500mi",
	"pick one of the choices":           "elija una de las opciones",
	"that is no state of a machine":     "una máquina no puede estar así",
	"say something of an item at least": "diga algo de al menos un servicio",
	"nothing was ticked":                "no se marcó nada",
	"write why in a few words":          "escriba por qué en pocas palabras",
	"nothing says why it is taken back": "no dice por qué se anula",
	"it is withdrawn already: %s":       "ya está anulado: %s",

	// What stands in a field.
	"is empty":                                        "está vacío",
	"is not one of the words for it":                  "no es ninguna de sus palabras",
	"is not a date":                                   "no es una fecha",
	"is out of range":                                 "está fuera de lo posible",
	"is not a telephone number":                       "no es un número de teléfono",
	"has more than a number in it":                    "tiene más que un número",
	"has no country code":                             "no tiene código de país",
	"has no area code":                                "no tiene código de área",
	"has too few digits":                              "tiene pocos dígitos",
	"has too many digits":                             "tiene demasiados dígitos",
	"is not a plain mail address":                     "no es una dirección de correo",
	"is not a language tag":                           "no es un idioma",
	"is not a time of day":                            "no es una hora",
	"is not a time zone":                              "no es una zona horaria",
	"holds a line break or another control character": "tiene un salto de línea u otro carácter de control",
	"is still to come":                                "aún no llega",
	"write a language tag such as en or es":           "elija en o es",
	"write the shop's own id of the machine":          "escriba el número del taller para la máquina",
	"write owner, manager, service or operator":       "elija dueño, encargado, servicio u operador",
	"write miles, km, hours, both, both_km or none":   "elija uno de los medidores",
	"is not a whole number":                           "no es un número entero",
	"is " + string(ReasonNeverRuns):                   "es más de lo que una máquina así anda nunca",
	MobileRemedy:                                      "escríbalo con el código de área, o con + y el código de país, por ejemplo +12125550100",
	"write mail, sms or phone":                        "elija correo, texto o llamada",
	"write normal or severe":                          "elija normal o severo",
	"write liquid or air":                             "elija líquida o por aire",
	"write gas or diesel":                             "elija gasolina o diésel",
	"write YYYY-MM-DD, for example 2026-03-31":        "escriba AAAA-MM-DD, por ejemplo 2026-03-31",
	"write an IANA name, for example America/Denver":  "escriba un nombre IANA, por ejemplo America/Denver",
	"write what the meter shows, 0 or more, as a plain number such as 1234.5":        "escriba lo que marca el medidor, 0 o más, como 1234.5",
	"write a plain number above 0, or leave the cell empty for not known":            "escriba un número mayor que 0, o déjelo vacío si no se sabe",
	"write degrees Celsius from -100 to 100, for example -30":                        "escriba grados Celsius de -100 a 100, por ejemplo -30",
	"write the shop's own word, for example utv":                                     "escriba la palabra del taller, por ejemplo utv",
	"write the owner's name":                                                         "escriba el nombre del dueño",
	"write the person's name":                                                        "escriba el nombre de la persona",
	"say how consent was given: in person, by phone, on a form ...":                  "diga cómo dio su consentimiento: en persona, por teléfono, en un formulario ...",
	"an absence names the technician %q, whom nobody knows":                          "una ausencia nombra al técnico %q, a quien nadie conoce",
	"days from %s to %s are about site %q and kind %q, of which there is no machine": "los días del %s al %s son del sitio %q y del tipo %q, de los que no hay ninguna máquina",

	"is not known": "no se conoce",
	"is that of another machine of the same owner":                                               "es la de otra máquina del mismo dueño",
	"give one of the two another tag, or say first that the other was sold, scrapped or is gone": "ponga otro número a una de las dos, o diga antes que la otra se vendió, se fue al deshuesadero o ya no está",
	"is taken": "ya existe",

	// What a person says.
	"say in a few words what the person said": "diga en pocas palabras lo que dijo la persona",
	"say in a few words what was wrong":       "diga en pocas palabras qué estaba mal",
	"nothing that reply %d brought stands":    "ya no queda nada de lo que trajo la respuesta %d",
	"there is no reply %d":                    "no hay respuesta %d",
	"nothing says why":                        "no dice por qué",
	"nothing is stopped there":                "ahí no hay ninguna baja",
	"no message goes there as it is: it is stopped already, or there is no such address": "ahí no sale ningún mensaje: ya está de baja, o no hay tal dirección",

	// Jobs and checks.
	"job %s is %s and cannot %s":  "el trabajo %s está %s y no se puede %s",
	"open":                        "abierto",
	"done":                        "hecho",
	"handed over":                 "entregado",
	"reopened":                    "reabierto",
	"withdrawn":                   "anulado",
	"have work added":             "añadirle trabajo",
	"be done":                     "dar por hecho",
	"be handed over":              "entregar",
	"be reopened":                 "reabrir",
	"be withdrawn":                "anular",
	"be corrected":                "corregir",
	"take an answer at the bench": "contestar una comprobación del taller",
	"take an owner's answer":      "anotar una respuesta del dueño",
	"open a new job":              "abra un trabajo nuevo",
	"there is nothing left to do": "no queda nada por hacer",
	"have it done with what was found, even if that is nothing": "délo por hecho con lo que se halló, aunque no sea nada",
	"name a job of the same machine":                            "elija un trabajo de la misma máquina",
	"job %s is of another machine (%s)":                         "el trabajo %s es de otra máquina (%s)",
	"go on with that job":                                       "siga con ese trabajo",
	"job %s is %s: nothing can have come back of it":            "el trabajo %s está %s: nada suyo puede haber vuelto",
	"say it shorter":                                            "dígalo más corto",
	"the %s has %d characters; at most %d fit":                  "el texto (%s) tiene %d caracteres; caben %d como máximo",
	"that has %d characters; at most %d fit":                    "eso tiene %d caracteres; caben %d como máximo",
	"complaint":                                                 "queja",
	"cause":                                                     "causa",
	"correction":                                                "corrección",
	"add a line for each thing done, or say what the correction was":          "añada un renglón por cada cosa hecha, o diga cuál fue la corrección",
	"nothing is written down as done in job %s":                               "no hay nada anotado como hecho en el trabajo %s",
	"give the day on which the work was done":                                 "ponga el día en que se hizo el trabajo",
	"%s is before job %s began, on %s":                                        "el %s es antes de que empezara el trabajo %s, el %s",
	"give the day of the hand-over":                                           "ponga el día de la entrega",
	"%s is before the work of job %s was done, on %s":                         "el %s es antes de que se hiciera el trabajo %s, el %s",
	"add the name of the one who decides it":                                  "añada el nombre de quien lo decide",
	"handing job %s over with %d checks before hand-over open needs a name":   "entregar el trabajo %s con %d comprobaciones previas abiertas pide un nombre",
	"job %s cannot be handed over while a check before hand-over is open: %s": "el trabajo %s no se puede entregar con una comprobación previa abierta: %s",
	"a check before hand-over is open":                                        "hay una comprobación previa a la entrega abierta",
	"answer it first, or give the reason and your name":                       "contéstela primero, o dé el motivo y su nombre",
	"give the day on which it came back":                                      "ponga el día en que volvió",
	"%s is before job %s was handed over, on %s":                              "el %s es antes de que se entregara el trabajo %s, el %s",
	"say why":                                                "diga por qué",
	"withdrawing job %s needs a reason":                      "anular el trabajo %s pide un motivo",
	"say what is to be checked":                              "diga qué hay que comprobar",
	"the check asks nothing":                                 "la comprobación no pregunta nada",
	"answer the checks of the present attempt":               "conteste las comprobaciones del intento actual",
	"check %s is of an earlier attempt at job %s":            "la comprobación %s es de un intento anterior del trabajo %s",
	"say ok or not ok":                                       "diga si está bien o no está bien",
	"check %s is not about something that may be missing":    "la comprobación %s no trata de algo que pueda faltar",
	"name an item, or say what was repaired":                 "elija un servicio, o diga qué se reparó",
	"the line says nothing":                                  "el renglón no dice nada",
	"correct the machine's cooling or fuel if that is wrong": "corrija la refrigeración o el combustible de la máquina si están mal",
	"%s has no %s (cooling: %s; fuel: %s)":                   "%s no lleva %s (refrigeración: %s; combustible: %s)",
	"liquid":                                                 "líquida",
	"air":                                                    "por aire",
	"gas":                                                    "gasolina",
	"diesel":                                                 "diésel",
	"give minutes from 0":                                    "ponga minutos desde 0",
	"%d minutes cannot be":                                   "%d minutos no puede ser",
	"give its number or say what it is":                      "dé su número o diga qué es",
	"the part has no number and no name":                     "la refacción no tiene número ni nombre",
	"give a quantity above 0":                                "ponga una cantidad mayor que 0",
	"a quantity of %s cannot be":                             "una cantidad de %s no puede ser",
	"say in the correction what was not done":                "diga en la corrección qué no se hizo",
	"the service of line %d is recorded":                     "el servicio del renglón %d ya está registrado",
	"there is no item %q":                                    "no hay ningún servicio %q",
	"%q may be more than one item":                           "%q puede ser más de un servicio",
	"leave it empty where there is none":                     "déjelo vacío si no hay",
	"write whole minutes":                                    "escriba minutos enteros",
	"%q are no minutes":                                      "%q no son minutos",
	"write how many":                                         "escriba cuántas",
	"press one of the buttons":                               "toque uno de los botones",
	"no answer was given":                                    "no se dio ninguna respuesta",

	// The plan and its visits.
	"the visit cannot be on %s: %s":                         "la visita no puede ser el %s: %s",
	"pick today or a later day":                             "elija hoy o un día posterior",
	"%s has passed":                                         "el %s ya pasó",
	"the visit of %s is agreed for %s already":              "la visita de %s ya está acordada para el %s",
	"%s has %d visits that are %s: %s":                      "%s tiene %d visitas (%s): %s",
	"planned":                                               "planeadas",
	"planned and not agreed yet":                            "planeadas y aún sin acordar",
	"planned or agreed and recorded":                        "planeadas o acordadas y anotadas",
	"a visit that was dropped does not come back":           "una visita que se quitó no vuelve",
	"plan a new one":                                        "planee una nueva",
	"a plan of %d days cannot be made":                      "no se puede hacer un plan de %d días",
	"begin today or later":                                  "empiece hoy o después",
	"a plan cannot begin on %s, before today, %s":           "un plan no puede empezar el %s, antes de hoy, %s",
	"set plan.open_minutes":                                 "ajuste plan.open_minutes",
	"the shop is open on no day of the week":                "el taller no abre ningún día de la semana",
	"give the first and the last day":                       "ponga el primer y el último día",
	"those are no days from one to another":                 "eso no va de un día a otro",
	"write a whole number":                                  "escriba un número entero",
	"look at it again":                                      "mírelo otra vez",
	"the plan has changed: no such visit is in it any more": "el plan cambió: esa visita ya no está en él",
	"how many may be out at once?":                          "¿cuántas pueden faltar a la vez?",
	"that closes nothing":                                   "eso no cierra nada",
	"tick the machines, or all of them":                     "marque las máquinas, o todas",
	"no machine is ticked":                                  "no hay ninguna máquina marcada",
	"pick one of the days":                                  "elija uno de los días",
	"pick a day":                                            "elija un día",
	"no day was picked":                                     "no se eligió ningún día",
	"settle that first":                                     "arregle eso primero",
	"message %d would not go: %s":                           "el mensaje %d no saldría: %s",
	"pick a day from tomorrow on, at most 60 days ahead":    "elija un día desde mañana, a 60 días como máximo",
	"it cannot be held until %s":                            "no se puede retener hasta el %s",
	"%q is not a date":                                      "%q no es una fecha",

	// Users and forms.
	"go back and send it again":                                                                      "vuelva atrás y envíelo otra vez",
	"the form could not be read":                                                                     "no se pudo leer el formulario",
	"a few words that nobody would guess are easy to remember":                                       "unas pocas palabras que nadie adivine se recuerdan bien",
	"a password has %d characters or more, and at most %d bytes":                                     "una contraseña tiene %d caracteres o más, y %d bytes como máximo",
	"choose what kind of machine it is":                                                              "elija qué clase de máquina es",
	"write the first day from which your record of the machine is whole; today begins it anew":       "escriba el primer día desde el que su registro de la máquina está completo; hoy lo empieza de nuevo",
	"write what the meter showed when the machine came; a reading that is wrong is taken back first": "escriba lo que marcaba el medidor cuando llegó la máquina; una lectura mala se anula primero",
	"choose one of the two":                                                                          "elija uno de los dos",
	"the pages do not speak that language":                                                           "las páginas no hablan ese idioma",
	"give a name of 1 to 60 characters":                                                              "ponga un nombre de 1 a 60 caracteres",
	"%q cannot be a user's name":                                                                     "%q no puede ser el nombre de un usuario",
	"write desk, technician or manager":                                                              "escriba desk, technician o manager",
	"%q is no role":                                                                                  "%q no es un papel",
	"name the owner":                                                                                 "diga el dueño",
	"a manager is one owner's":                                                                       "un encargado lo es de un dueño",
	"leave the owner out, or make it a manager":                                                      "quite el dueño, o póngalo de encargado",
	"a %s is nobody's in particular":                                                                 "un %s no es de nadie en particular",
	"it is recorded already":                                                                         "ya está registrado",
	"facts are written once":                                                                         "lo anotado no se cambia",
	"record a correction":                                                                            "anote una corrección",
	"the order of a job's states forbids it":                                                         "el orden de los estados de un trabajo no lo permite",
	"a job goes from open to done to handed over, and then perhaps to reopened":                      "un trabajo pasa de abierto a hecho y a entregado, y quizá después a reabierto",
	"it names something that is not recorded":                                                        "nombra algo que no está registrado",

	"is that of another owner too":                                                      "es también de otro dueño",
	"write that owner instead, or say that the two share it":                            "ponga ese dueño, o diga que los dos lo comparten",
	"is that of somebody there already":                                                 "es de alguien que ya está allí",
	"leave the person out, change that contact, or give this one an address of its own": "quite a la persona, cambie ese contacto, o dé a este una dirección propia",

	"%s has machines: %s":                                                    "%s tiene máquinas: %s",
	"take those back first, or say whose they are now":                       "anule primero esas, o diga de quién son ahora",
	"%s seems to have asked for no more messages":                            "parece que %s pidió no recibir más mensajes",
	"record it first, or mark the reply as done":                             "anótelo primero, o marque la respuesta como vista",
	"more is recorded of %s than was typed with it: %s":                      "de %s consta más de lo que se anotó con ella: %s",
	"take that back first, or say that it was sold, is gone or was scrapped": "anule eso primero, o diga que se vendió, que ya no está o que se desguazó",

	"nothing says what the old meter of %s showed last": "nada dice qué marcaba al final el medidor viejo de %s",
	"is the id of another machine":                      "es el id de otra máquina",
	"is the tag of another machine":                     "es el número de otra máquina",

	"makes items late that were not":                         "hace que se atrasen servicios que no lo estaban",
	"see whether the day, the meters and the kind are right": "mire si el día, los medidores y el tipo son correctos",

	// What is asked about where machines and people are written down.
	"is " + string(ReasonNotPassed):                        "es más horas de las que han pasado desde que se fabricó",
	"is " + string(ReasonMilesInBox):                       "es más horas de las que una máquina así puede tener, quizá millas",
	"see whether a digit is too many, or the unit another": "mire si sobra una cifra, o si es otra unidad",
}
