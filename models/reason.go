package models

import "strings"

// Reason is the named reason of a forecast, stage, decision, doubt or try. It
// is stored and logged as its code, which is its English words too; In gives
// the words that people are shown. Nothing else in the program writes a
// reason's words: what is not in this file is what the other side said.
type Reason string

// Of forecasts and stages.
const (
	ReasonUse            Reason = "by its use"                // meters reach the limit first
	ReasonCalendar       Reason = "by the calendar"           // months reach the limit first
	ReasonSeason         Reason = "before the season"         // the rule's day of the year comes first
	ReasonOnCondition    Reason = "on condition"              // a part that may be changed while it is apart anyway
	ReasonTestFailed     Reason = "its test failed"           // a part that is to be changed
	ReasonNoRecord       Reason = "no record"                 // never known to be done, and bought used or of unknown past
	ReasonWide           Reason = "range too wide"            // too few readings to tell
	ReasonCoolingUnknown Reason = "cooling not known"         // ask whether it has coolant at all
	ReasonNoLimit        Reason = "no limit applies"          // no meter of the machine meets a limit of the rule
	ReasonOverdueOpen    Reason = "passed, not reported done" // the date has come and no service is known
)

// Of decisions to tell, to wait or not to tell.
const (
	ReasonMayGo        Reason = "may go"                          // at the time asked
	ReasonQuiet        Reason = "quiet hours"                     // held until they end
	ReasonSunday       Reason = "Sunday"                          // held until Monday's first decent hour
	ReasonHoliday      Reason = "holiday"                         // held until the day after
	ReasonGap          Reason = "last message not answered"       // held until a growing gap has passed
	ReasonNeverAllowed Reason = "no hour is allowed"              // quiet hours and closed days leave no time within a year
	ReasonNobody       Reason = "nobody to tell"                  // the owner has no contact that gets notices
	ReasonNoConsent    Reason = "no consent"                      // neither for the preferred channel nor for the other
	ReasonNoAddress    Reason = "no address"                      // no mail address and no mobile number, or none that is alive
	ReasonStopped      Reason = "stopped by the contact"          // STOP or an unsubscribe is in force
	ReasonCallList     Reason = "no answer, on the call list"     // messages in a row were not answered
	ReasonWantsCall    Reason = "wants to be called"              // the contact prefers the phone
	ReasonCameBack     Reason = "the last message did not arrive" // refused, sent back or reported undelivered; the address rests
	ReasonNoAnswer     Reason = "a question was not answered"     // an owner check, asked as often as is decent
	ReasonWeek         Reason = "one message a week is enough"    // what is open is gathered for the next
	ReasonMonth        Reason = "nothing due soon, one message a month is enough"
	ReasonAlong        Reason = "can wait, goes along with the next message"
	ReasonRhythm       Reason = "waits for the day that the contact chose"
	ReasonTold         Reason = "already told" // this stage or a more urgent one was told in this cycle
)

// Of what is not told because of where the machine stands.
const (
	ReasonNotTheirs Reason = "it has another owner now"
	ReasonLeft      Reason = "out of the shop's care" // sold to somebody unknown, gone or scrapped
	ReasonLaidUp    Reason = "laid up"
	ReasonHeldBack  Reason = "held back until released"
	ReasonDone      Reason = "done since, or found fine"         // before the message went
	ReasonCorrected Reason = "what it counts from was corrected" // before the message went
	ReasonAnew      Reason = "written anew by what is known now" // before the message went; what it tells is told so
	ReasonOvertaken Reason = "no longer so by what is known now" // before the message went
	ReasonAtShop    Reason = "the machine is at the shop"        // before the message went
)

// Of what a person did with a message, or an import.
const (
	ReasonHeldByHand    Reason = "held by hand"
	ReasonRetriedByHand Reason = "tried again by hand"
	ReasonDroppedByHand Reason = "taken out by hand"
	ReasonTakenBack     Reason = "its round was taken back" // held for a time that had not come
	ReasonMistake       Reason = "its contact was written down by mistake"
	ReasonToldAlready   Reason = "told already" // loaded, and all that it tells is recorded as told
)

// For which a person must look at a reply.
const (
	ReasonUnread       Reason = "not understood"
	ReasonMore         Reason = "says more than was read"
	ReasonQuestion     Reason = "asks something"
	ReasonAsksCall     Reason = "asks for a call"
	ReasonNoMore       Reason = "seems to want no more messages"
	ReasonTwice        Reason = "still unclear after asking back"
	ReasonNoMachine    Reason = "no machine of the sender fits"
	ReasonNoMeter      Reason = "the machine has no such meter"
	ReasonMeterChanged Reason = "tells of a changed or broken meter"
	ReasonDays         Reason = "names more than one day"
	ReasonCallsOff     Reason = "calls something off, or refuses a day"
	ReasonContrary     Reason = "says two things that do not go together"
	ReasonNotAPerson   Reason = "an automatic answer"
	ReasonUnfit        Reason = "not a text"
	ReasonAttached     Reason = "something is attached" // a picture of a meter, say: it is in the mailbox
	ReasonStranger     Reason = "from nobody we know"
	ReasonTrouble      Reason = "something is wrong with a machine"
	ReasonComeback     Reason = "a repair did not hold"
	ReasonClosed       Reason = "answers a check that is closed"
	ReasonSold         Reason = "a machine is gone"
	ReasonMisdialed    Reason = "the number is somebody else's"
	ReasonWantsDay     Reason = "names a day"
	ReasonAgrees       Reason = "agrees to what is due, and wants a day"
	ReasonCancel       Reason = "CANCEL may mean a visit"
)

// For which a reading is doubted.
const (
	ReasonFalls       Reason = "falls without a swap"
	ReasonLeaps       Reason = "leaps beyond its use"
	ReasonImpossible  Reason = "more use than a day holds"
	ReasonSwapped     Reason = "two digits swapped"
	ReasonExtraDigit  Reason = "a digit too many"
	ReasonMissing     Reason = "a digit missing"
	ReasonPastSwap    Reason = "more than the replaced meter showed last"
	ReasonNeverRuns   Reason = "more than such a machine ever runs"
	ReasonNotPassed   Reason = "more hours than have passed since it was built"
	ReasonMilesInBox  Reason = "more hours than such a machine can have, perhaps miles"
	ReasonWrongDigit  Reason = "one digit wrong"
	ReasonTenths      Reason = "tenths read as a digit"
	ReasonKilometers  Reason = "kilometers entered as miles"
	ReasonMiles       Reason = "miles entered as kilometers"
	ReasonHoursInBox  Reason = "hours entered as miles"
	ReasonTrip        Reason = "trip meter entered"
	ReasonOverMaximum Reason = "more than the meter can show"
	ReasonBefore      Reason = "before the machine came"
)

// Of tries to send, whatever the channel.
const (
	ReasonSent         Reason = "taken by the peer"
	ReasonUnknownEnd   Reason = "no answer, it may have been taken"
	ReasonKilled       Reason = "the program ended during the try, it may have been taken"
	ReasonSettled      Reason = "taken by the peer, as it said when asked again"
	ReasonSettledLate  Reason = "taken by the peer, as it said later"
	ReasonReturned     Reason = "it was taken and came back"     // what was said of it may follow
	ReasonUndelivered  Reason = "it was taken and not delivered" // what was said of it may follow
	ReasonDown         Reason = "the channel does not answer"
	ReasonGivenUp      Reason = "given up"
	ReasonNotComposed  Reason = "its words could not be written"
	ReasonStoppedEarly Reason = "stopped before it was sent"
)

// Of mail servers (RFC 3463 section 3, RFC 5321 section 4.2.3).
const (
	ReasonBadAddress         Reason = "not a mail address"
	ReasonLineLost           Reason = "the line was lost before the mail was handed over"
	ReasonMailLogin          Reason = "the mail server does not accept our sender or login"
	ReasonNoServer           Reason = "the mail server does not answer"
	ReasonNoTLS              Reason = "the mail server offers no encryption that can be trusted"
	ReasonMailBusy           Reason = "the mail server is closing or too busy"
	ReasonMailSettings       Reason = "the mail settings are not usable"
	ReasonShopAddress        Reason = "the shop's mail address is not one"
	ReasonBounceAddress      Reason = "the address for bounces is not one"
	ReasonAnswerAddress      Reason = "the address for answers is not one"
	ReasonPublicAddress      Reason = "the public address is not an https one"
	ReasonNoMailbox          Reason = "no such mailbox"
	ReasonNoMailboxOrRefused Reason = "no such mailbox, or refused"
	ReasonNoDomain           Reason = "no such mail domain"
	ReasonAddressUnclear     Reason = "the address is not clear"
	ReasonAddressRefused     Reason = "the address is not accepted"
	ReasonMailboxMoved       Reason = "the mailbox has moved"
	ReasonMailboxElsewhere   Reason = "the mailbox is elsewhere"
	ReasonMailboxClosed      Reason = "the mailbox does not take mail"
	ReasonMailboxDisabled    Reason = "the mailbox is disabled"
	ReasonMailboxFull        Reason = "the mailbox is full"
	ReasonMailboxBusy        Reason = "the mailbox is busy"
	ReasonMailTooLong        Reason = "the mail is too long for the mailbox"
	ReasonMailTooBig         Reason = "the mail is too big"
	ReasonMailList           Reason = "the mailing list cannot be expanded"
	ReasonServerFull         Reason = "the mail server is full"
	ReasonServerError        Reason = "the mail server had an error"
	ReasonServerLogin        Reason = "the mail server's login does not work now"
	ReasonServerNotNow       Reason = "the server cannot do that now"
	ReasonServerPuzzled      Reason = "the server did not understand"
	ReasonSystemFull         Reason = "the mail system is full"
	ReasonSystemClosed       Reason = "the mail system takes no mail now"
	ReasonSystemLacks        Reason = "the mail system lacks a feature"
	ReasonSystemSetup        Reason = "the mail system is set up wrongly"
	ReasonSystemBusy         Reason = "the mail system is too busy"
	ReasonHostSilent         Reason = "no answer from the recipient's host"
	ReasonHostConnection     Reason = "bad connection to the recipient's host"
	ReasonHostUnreached      Reason = "no way to the recipient's host"
	ReasonDirectorySilent    Reason = "the address book does not answer"
	ReasonMailLoop           Reason = "the mail goes round in a circle"
	ReasonMailExpired        Reason = "the mail could not be delivered in time"
	ReasonManyRecipients     Reason = "too many recipients"
	ReasonContentRefused     Reason = "the mail's content is not accepted"
	ReasonRulesRefused       Reason = "refused by the recipient's rules"
	ReasonDomainClosed       Reason = "the domain takes no mail"
	ReasonRefused            Reason = "refused"
	ReasonRefusedNow         Reason = "refused for now"
)

// Of services for texts; what they say themselves may follow.
const (
	ReasonCenterTook       Reason = "taken by the text message center"
	ReasonBadNumber        Reason = "not a phone number"
	ReasonTextTooLong      Reason = "text too long"
	ReasonCenterUnreached  Reason = "text message center not reached"
	ReasonCenterLogin      Reason = "the text message center refuses our account or sender"
	ReasonCenterSilent     Reason = "no answer from the text message center"
	ReasonUnwritable       Reason = "cannot be written for the text message center"
	ReasonGatewayTook      Reason = "taken by the text gateway"
	ReasonGatewayUnreached Reason = "text gateway not reached"
	ReasonGatewaySilent    Reason = "no answer from the text gateway"
	ReasonGatewayLogin     Reason = "the text gateway refuses the log-in"
	ReasonGatewayAddress   Reason = "the text gateway is not at that address"
	ReasonGatewayBusy      Reason = "text gateway busy"
	ReasonGatewayRefused   Reason = "refused by the text gateway"
	ReasonGatewayTemplate  Reason = "the gateway template cannot write the message"
)

// reasonsInSpanish holds every reason's Spanish words.
var reasonsInSpanish = map[Reason]string{
	ReasonUse:            "por su uso",
	ReasonCalendar:       "por calendario",
	ReasonSeason:         "antes de la temporada",
	ReasonOnCondition:    "según su estado",
	ReasonTestFailed:     "no pasó la prueba",
	ReasonNoRecord:       "sin registro",
	ReasonWide:           "margen demasiado ancho",
	ReasonCoolingUnknown: "no se sabe si lleva refrigerante",
	ReasonNoLimit:        "ningún límite vale",
	ReasonOverdueOpen:    "pasó y no consta hecho",

	ReasonMayGo:        "puede salir",
	ReasonQuiet:        "horas de silencio",
	ReasonSunday:       "domingo",
	ReasonHoliday:      "festivo",
	ReasonGap:          "el último mensaje no tuvo respuesta",
	ReasonNeverAllowed: "ninguna hora está permitida",
	ReasonNobody:       "no hay a quién avisar",
	ReasonNoConsent:    "sin consentimiento",
	ReasonNoAddress:    "sin dirección",
	ReasonStopped:      "el contacto pidió la baja",
	ReasonWantsCall:    "prefiere que le llamen",
	ReasonCameBack:     "el último mensaje no llegó",
	ReasonNoAnswer:     "una pregunta quedó sin respuesta",
	ReasonCallList:     "sin respuesta, en la lista de llamadas",
	ReasonWeek:         "basta un mensaje por semana",
	ReasonMonth:        "nada vence pronto, basta un mensaje al mes",
	ReasonAlong:        "puede esperar, va con el próximo mensaje",
	ReasonRhythm:       "espera el día que eligió el contacto",
	ReasonTold:         "ya avisado",

	ReasonNotTheirs: "ahora es de otro dueño",
	ReasonLeft:      "ya no está al cuidado del taller",
	ReasonLaidUp:    "guardada por la temporada",
	ReasonHeldBack:  "retenido hasta su liberación",
	ReasonCorrected: "se corrigió aquello de lo que cuenta",
	ReasonDone:      "hecho desde entonces, o visto bien",
	ReasonAnew:      "escrito de nuevo con lo que se sabe ahora",
	ReasonOvertaken: "ya no es así, según lo que se sabe ahora",
	ReasonAtShop:    "la máquina está en el taller",

	ReasonHeldByHand:    "retenido a mano",
	ReasonRetriedByHand: "reintentado a mano",
	ReasonDroppedByHand: "sacado a mano",
	ReasonTakenBack:     "su ronda se anuló",
	ReasonMistake:       "su contacto se anotó por error",
	ReasonToldAlready:   "ya estaba avisado",

	ReasonUnread:       "no se entendió",
	ReasonMore:         "dice más de lo que se leyó",
	ReasonQuestion:     "pregunta algo",
	ReasonAsksCall:     "pide una llamada",
	ReasonNoMore:       "parece que no quiere más mensajes",
	ReasonTwice:        "sigue sin estar claro tras preguntar",
	ReasonNoMachine:    "ninguna máquina de quien escribe encaja",
	ReasonNoMeter:      "la máquina no tiene ese medidor",
	ReasonMeterChanged: "habla de un medidor cambiado o roto",
	ReasonDays:         "nombra más de un día",
	ReasonCallsOff:     "cancela algo o rechaza un día",
	ReasonContrary:     "dice dos cosas que no van juntas",
	ReasonNotAPerson:   "una respuesta automática",
	ReasonUnfit:        "no es un texto",
	ReasonAttached:     "trae algo adjunto",
	ReasonStranger:     "de nadie que conozcamos",
	ReasonTrouble:      "algo le pasa a una máquina",
	ReasonComeback:     "una reparación no aguantó",
	ReasonClosed:       "contesta una comprobación cerrada",
	ReasonSold:         "una máquina ya no está",
	ReasonMisdialed:    "el número es de otra persona",
	ReasonWantsDay:     "nombra un día",
	ReasonAgrees:       "acepta lo que toca y quiere un día",
	ReasonCancel:       "CANCELAR puede ser una visita",

	ReasonFalls:       "baja sin cambio de medidor",
	ReasonLeaps:       "salta más de lo que se usa",
	ReasonImpossible:  "más uso del que cabe en un día",
	ReasonSwapped:     "dos cifras cambiadas",
	ReasonExtraDigit:  "sobra una cifra",
	ReasonMissing:     "falta una cifra",
	ReasonPastSwap:    "más de lo último que marcó el medidor cambiado",
	ReasonNeverRuns:   "más de lo que una máquina así llega a andar",
	ReasonNotPassed:   "más horas de las que han pasado desde que se fabricó",
	ReasonMilesInBox:  "más horas de las que una máquina así puede tener, quizá millas",
	ReasonWrongDigit:  "una cifra mal",
	ReasonTenths:      "décimas leídas como cifra",
	ReasonKilometers:  "kilómetros puestos como millas",
	ReasonMiles:       "millas puestas como kilómetros",
	ReasonHoursInBox:  "horas puestas como millas",
	ReasonTrip:        "se leyó el parcial",
	ReasonOverMaximum: "más de lo que el medidor marca",
	ReasonBefore:      "de antes de llegar la máquina",

	ReasonSent:         "recibido por el otro lado",
	ReasonUnknownEnd:   "sin respuesta, puede que se haya recibido",
	ReasonKilled:       "el programa terminó durante el intento, puede que se haya recibido",
	ReasonSettled:      "recibido, según dijo al preguntarle otra vez",
	ReasonSettledLate:  "recibido, según dijo más tarde",
	ReasonReturned:     "se recibió y fue devuelto",
	ReasonUndelivered:  "se recibió y no se entregó",
	ReasonDown:         "el canal no responde",
	ReasonGivenUp:      "abandonado",
	ReasonNotComposed:  "no se pudo escribir su texto",
	ReasonStoppedEarly: "parado antes de enviarse",

	ReasonBadAddress:         "no es una dirección de correo",
	ReasonLineLost:           "la línea se cortó antes de entregar el correo",
	ReasonMailLogin:          "el servidor de correo no acepta nuestro remitente o acceso",
	ReasonNoServer:           "el servidor de correo no responde",
	ReasonNoTLS:              "el servidor de correo no ofrece un cifrado fiable",
	ReasonMailBusy:           "el servidor de correo cierra o está ocupado",
	ReasonMailSettings:       "los ajustes de correo no sirven",
	ReasonShopAddress:        "la dirección de correo del taller no es válida",
	ReasonBounceAddress:      "la dirección para devoluciones no es válida",
	ReasonAnswerAddress:      "la dirección para respuestas no es válida",
	ReasonPublicAddress:      "la dirección pública no es https",
	ReasonNoMailbox:          "no existe ese buzón",
	ReasonNoMailboxOrRefused: "no existe ese buzón, o lo rechaza",
	ReasonNoDomain:           "no existe ese dominio de correo",
	ReasonAddressUnclear:     "la dirección no es clara",
	ReasonAddressRefused:     "no se acepta la dirección",
	ReasonMailboxMoved:       "el buzón se ha mudado",
	ReasonMailboxElsewhere:   "el buzón está en otro sitio",
	ReasonMailboxClosed:      "el buzón no acepta correo",
	ReasonMailboxDisabled:    "el buzón está desactivado",
	ReasonMailboxFull:        "el buzón está lleno",
	ReasonMailboxBusy:        "el buzón está ocupado",
	ReasonMailTooLong:        "el correo es demasiado largo para el buzón",
	ReasonMailTooBig:         "el correo es demasiado grande",
	ReasonMailList:           "no se puede repartir la lista de correo",
	ReasonServerFull:         "el servidor de correo está lleno",
	ReasonServerError:        "el servidor de correo tuvo un error",
	ReasonServerLogin:        "el acceso al servidor de correo no funciona ahora",
	ReasonServerNotNow:       "el servidor no puede hacerlo ahora",
	ReasonServerPuzzled:      "el servidor no entendió",
	ReasonSystemFull:         "el sistema de correo está lleno",
	ReasonSystemClosed:       "el sistema de correo no acepta correo ahora",
	ReasonSystemLacks:        "al sistema de correo le falta una función",
	ReasonSystemSetup:        "el sistema de correo está mal configurado",
	ReasonSystemBusy:         "el sistema de correo está ocupado",
	ReasonHostSilent:         "el servidor del destinatario no responde",
	ReasonHostConnection:     "mala conexión con el servidor del destinatario",
	ReasonHostUnreached:      "no hay camino al servidor del destinatario",
	ReasonDirectorySilent:    "el directorio de direcciones no responde",
	ReasonMailLoop:           "el correo da vueltas en círculo",
	ReasonMailExpired:        "el correo no se pudo entregar a tiempo",
	ReasonManyRecipients:     "demasiados destinatarios",
	ReasonContentRefused:     "no se acepta el contenido del correo",
	ReasonRulesRefused:       "rechazado por las reglas del destinatario",
	ReasonDomainClosed:       "el dominio no acepta correo",
	ReasonRefused:            "rechazado",
	ReasonRefusedNow:         "rechazado por ahora",

	ReasonCenterTook:       "recibido por el centro de mensajes",
	ReasonBadNumber:        "no es un número de teléfono",
	ReasonTextTooLong:      "texto demasiado largo",
	ReasonCenterUnreached:  "no se alcanza el centro de mensajes",
	ReasonCenterLogin:      "el centro de mensajes rechaza nuestra cuenta o remitente",
	ReasonCenterSilent:     "el centro de mensajes no responde",
	ReasonUnwritable:       "no se puede escribir para el centro de mensajes",
	ReasonGatewayTook:      "recibido por el servicio de textos",
	ReasonGatewayUnreached: "no se alcanza el servicio de textos",
	ReasonGatewaySilent:    "el servicio de textos no responde",
	ReasonGatewayLogin:     "el servicio de textos rechaza el acceso",
	ReasonGatewayAddress:   "el servicio de textos no está en esa dirección",
	ReasonGatewayBusy:      "servicio de textos ocupado",
	ReasonGatewayRefused:   "rechazado por el servicio de textos",
	ReasonGatewayTemplate:  "la plantilla del servicio no puede escribir el mensaje",
}

// CallReasons lists the reasons of what was withheld for which somebody is to
// call the owner instead.
func CallReasons() []Reason {
	return []Reason{ReasonNobody, ReasonNoConsent, ReasonNoAddress, ReasonStopped, ReasonCallList, ReasonWantsCall, ReasonCameBack}
}

// Gathers says whether what was withheld for the reason only waits to be told
// together with more: it is decided anew on a day that is known.
func (r Reason) Gathers() bool {
	switch r {
	case ReasonWeek, ReasonMonth, ReasonAlong, ReasonRhythm, ReasonGap:
		return true
	}
	return false
}

// In gives a reason's words in a language (BCP 47). What the other side said
// after a colon stays as it said it, unless it is a reason too.
func (r Reason) In(language string) string {
	if !Spanish(language) {
		return string(r)
	}
	if es, ok := reasonsInSpanish[r]; ok {
		return es
	}
	if first, rest, ok := strings.Cut(string(r), ": "); ok {
		return Reason(first).In(language) + ": " + Reason(rest).In(language)
	}
	return string(r)
}
