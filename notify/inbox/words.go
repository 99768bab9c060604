package inbox

import (
	"slices"
	"strings"
)

// The words below bear on how a clause is taken, one by one, folded: no
// accents, no apostrophes. What people mean by them is common practice, no
// source.

// wordSet makes a set of words that are written with spaces between.
func wordSet(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(s) {
		out[w] = true
	}
	return out
}

// hasWord says whether a text has one of a set's words.
func hasWord(text string, set map[string]bool) bool {
	return slices.ContainsFunc(wordsOf(fold(text)), func(w string) bool { return set[w] })
}

var (
	// negators deny what follows in their clause; enders ("stopped leaking")
	// do so for a fault.
	negators = wordSet("cero no not never none nor nothing isnt aint doesnt dont didnt hasnt havent wasnt werent wont cant couldnt wouldnt without zero sin nunca nada ni tampoco ningun ninguna neither arent cannot")
	enders   = wordSet("stopped stop quit quits dejo ceased")
	// bridges may stand between a "not" and what it denies.
	bridges = wordSet("de un una any see seen more longer sign signs of had has have been a the it got mas hay ha han tiene se le les me ningun ninguna senal problem running that is so far even coolant oil water refrigerante aceite agua vuelto volvio a been getting being be one single ya real very too so really muy tan")
	// butWords begin a clause that bears on the one before.
	butWords = wordSet("but pero however though although except aunque tho sino")
	// turnWords make of a good word, a day or a fact something else.
	turnWords = wordSet("casi apenas barely hardly mostly mean but pero however though although except unless until till til otherwise only almost nearly aunque excepto salvo menos hasta when whenever once cuando mientras besides tho used supposedly lest sino except accept nomas")
	// doubtWords say that the sender is not sure.
	doubtWords = wordSet(" maybe guess guessing might perhaps possibly hope hopefully probably prob suppose supposed swear sure unsure     quizas quiza talvez supongo espero   dicen")
	// selfWords say that the sender does the work.
	selfWords = wordSet("myself ourselves mismo mismos")
	// latelyWords say that work has just been done.
	latelyWords = wordSet("just acabo acabamos ahorita recien now")
	// doLeads before a "do" say the same: "going to do it saturday".
	doLeads = wordSet("to ill gonna will well")
	// thinkWords make a figure a rough one and work done an opinion.
	thinkWords = wordSet("think believe reckon creo figured figure")
	// ifWords say that it may not be so.
	ifWords = wordSet("if unless until till hasta whether")
	// correctWords take back what was said before them.
	correctWords = wordSet("digo quise wait scratch actually meant mean correction oops esperate espera perdon perdona equivoque instead mejor")
	// nameLeads stand before a person's name.
	nameLeads = wordSet("hey hi hello hola dear thanks gracias soy tell dile don dona senor senora mr mrs ms is with con to al ask for thank uncle tio")
	// sayWords tell what somebody else says, but for a meter.
	sayWords = wordSet("says said say told tells claims heard swears dice dijo dicen dijeron conto thinks")
	// meterWords speak of a meter, or are what one does.
	meterWords = wordSet("tenia traia meter odo odometer odometro speedo speedometer clock dash gauge reads reading read shows showing show marca marcan trae traia lleva tiene anda medidor horometro reloj tablero screen display says its it  one turned counter sits sitting esta en dice")
	// futureWords tell of what is to come.
	futureWords = wordSet("will ill  gonna going next would should by when until till once voy    hasta cuando tomorrow planning plan  hit hits reaches due wait espero vaya  every each")
	// theirWords tell of what the shop, or somebody, did.
	theirWords = wordSet("you u  yall  youd your ustedes usted they he she told charged guys")
	// foreignWords speak of something else than a machine.
	foreignWords = wordSet("bus pit old viejo vieja previous bus pit  truck pickup car trailer traila boat troca camioneta carro trailers neighbor neighbors vecino invoice factura  cheque   pague dollars bucks dog dogs kibbles  wifes")
	// partWords name parts and places of a machine that say nothing by themselves.
	partWords = wordSet("engine motor machine hose hoses radiator radiador needle aguja light belt tire tires brake brakes headlight winch fan water coolant oil gas fuel bed cab seat steering clutch gear reverse idle choke throttle temp temps")
	// paperWords before a figure say that it is no meter's; streetWords behind.
	paperWords  = wordSet("invoice inv bill order po ticket check chk cheque acct account serial zip box room gate code codes codigo highway hwy route rt ste suite apt ext extension call text cell phone tel factura orden calle carretera  telefono celular address paid owe charged charge total cost price pin year model modelo trip parcial")
	streetWords = wordSet("st street main rd road ave avenue lane ln drive dr hwy highway county blvd kibbles head cows acres cattle bales dollars bucks pesos")
	// boundWords before a figure make it a limit.
	boundWords = wordSet("under over below above past less least most beyond menos arriba abajo debajo")
	// roughWords make a value or day an approximate one; afterRough behind it.
	roughWords = wordSet("about round around approx approximately roughly almost nearly ish maybe like circa aproximadamente aprox unos unas casi como cerca bout abt prob probably somewhere near nearabouts close ballpark guess guessing think believe reckon figure creo calculo aproximado alrededor tirandole   say quizas andar")
	afterRough = wordSet("feria change ish  guess approx approximately aproximadamente roughly pico think ballpark guessing algo aprox maybe creo")
	// runWords before a distance or time make it one that was run since, where
	// no meter can show it: "ran it 50 miles", "after 20 miles".
	runWords = wordSet(" for after  only ran drove put first last every within por despues otras otros durante meti next    extra additional")
	// sinceWords behind a distance or time make it one that was run.
	sinceWords = wordSet("since more further extra later this ago desde mas adicionales away from apart ")
	// clockWords before a small figure make it a time of day.
	clockWords = wordSet("at by before around until till las")
	// gaugeWords before a figure say that it is of another gauge.
	gaugeWords = wordSet("temp temps temperature temperatura psi pressure presion volts voltage")
	// otherUnits follow figures that are not of a meter.
	otherUnits = wordSet("day days week weeks wk wks month months year years yr yrs minute minutes min mins times degrees degree deg psi gallons gallon gal quarts quart qt lbs pounds dollars bucks volts volt v amps rpm mph percent acres people guys dias dia semanas semana meses mes ano anos minutos grados galones litros liters pesos libras vacas head bales oclock below vueltas inch inches ft feet mm")

	// What a question begins or ends with.
	leadWords = wordSet("ver a hey hi hello hola and so ok okay um uh oh well pues y oiga oigan buenas buenos dias tardes also tambien no yes que")
	askWords  = wordSet(" what whats when whens where  why whys how hows who whos which       cuanto cuantos cuanta adonde  whose")
	askVerbs  = wordSet("do does did is are was were will would should could can have has had isnt arent dont didnt am may shall puedo puede pueden podemos podria hay")
	pronouns  = wordSet("r12 i you u we they he she it this that there yall  folks guys the my your u")
	tagWords  = wordSet(" didnt  dont  isnt  wont  cant  arent   doesnt wasnt couldnt wouldnt huh")

	// startWordsOf begin a sentence behind a "no" that is an answer.
	startWordsOf = wordSet("it its theres there that thats the this still just i im ive id we were everything runs running works thanks thank all its  still your you he she they my our is sir sorry need perdon son es si todo gracias quedo")

	// fillers say nothing that matters here.
	fillers = wordSet(`pendientes mija mijo porfa porfis porfavor bro bruh maquinita dado mileage millaje green red blue yellow black white gray grey orange brown verde roja rojo azul amarilla amarillo negra negro blanca blanco  reminder reminders checking heads trail ride rides riding rode plow plowed plowing hauled haul used use using driven drive hunting camp season yet gave send sent  asap alright cuz cause bc  about hers his their ones yourself ourself sure able ready set  picked pick dropping picking see seeing looking wondering wanted want wants  friend buddy mechanic ranch outfit crew hand hands kiddo kids grandson granddad grandpa grandma  mornings afternoons evenings tonight everyday weekly monthly daily weekends  hoy  ayer anoche manana semana mes dia fin finde temprano tarde rato ratito ratos cada todo todos toda todas  claro bueno buena seria sera estara estare podria gustaria paso pasar pasamos recoger entregar dejar dejo dejamos mandar mando mandamos subir bajar traer  jefa patron don dona  muchacho muchachos muchacha plebe raza  atentamente abrazo bendiciones bendito dios ojala id looked same w floor acomoda conviene suit suits yard yarda rancho casa home house barn pasture road town place apunten anoten anote apunte para pa nuevo nueva  tractor quad sxs said tell told wife husband son daughter boy kid kids dad mom papa mama esposa esposo hijo hija hermano brother neighbor cousin primo compadre  little big small  young first second third other early late soon long short whole half part top bottom front side inside outside away around near far  got getting goes comes came coming bringing brought taking took makes made making stays stayed kept keep keeps starts started works worked went being  because so than such many much lots lot few several some any every none nobody somebody anybody everybody anything something everything  thing things way ways bit lil kinda sorta pretty totally honestly actually literally definitely  snow rain cold weather mud ice wind winter summer fall spring morning night evening noon elk cows cattle hay fence feeding work job trip  mas menos bien mucho poca poco solamente nomas tambien entonces asi luego aqui alla donde como cuando porque quien  hace hacer haciendo hizo hago dar doy ver veo vi saber sabe anda ando andamos estamos estoy estaba fue fueron era eran ir  pasado rato momento vez veces parte lado arriba abajo adentro afuera ahora frio calor nieve lluvia vacas  usted ustedes joven amiga compa vato primo carnal gracias saludos yet start end stop better anytime sometime meant correction oops m parked wait doin once sometimes whichever whatever any anyway okay stuff cool thru through me mine someone nope uno mi ni a an the is are at on in it its and of to for with this that these my our i im we ive were he she they you your u me us
 now today currently just has have had got get reads read reading shows show showing says say meter miles mile hours hour been be was am will ill do does did
 hi hello hey good morning mornin afternoon evening sir maam please pls sorry fyi there here yes ok and or all one ones from as by out up down right left
 new current total machine unit units number rig machines thing guy guys thanks thank ur well too also very quite
 el la los las un una unos es esta estan en de del con y e o que por para mi mis nuestro nuestra su al lo le les se yo nosotros tiene tengo tenemos marca marcan lleva va trae traia
 van dice hoy ahora ya hola buenos buenas dias tardes noches favor maquina unidad equipo numero medidor son hay muy mas tambien solo senor senora amigo jefe a ahorita pues oiga oigan compa
 before after since last antes desde time day days week weeks month months boss man bud buddy mate can could folks yall
 looks look like bring take come see put running run runs ran go went around what did does checked check great nice sounds mucho see you k kk myself ourselves got give
 each every seems seem feels appears theyre theyve youre hes shes them whole lot either both hasta apenas acabo
 so far still anymore ever any more now really pretty back again oh um uh hmm ha haha lol jaja jajaja etc dear hon let lets know am pm sharp early late oclock noon
 drop off leave pick up book schedule appointment cita slot spot shop office over rain shine same 
 best work doing real nothing drove driving pulling hauling ranch hill hills grade mountain since then que tal ahi alli aqui pa pal nada mismo misma ese esa esos este estos eso esto mande llevo traigo llevamos bajo subo lleva llevarla llevarlo traerla traerlo llevar traer puedo podemos
 hr hrs mi reporte tempranito temprano tarde manana hora horas quedo queda salio otra vez tu sus asi 
 bye r open opens close closed abren abierto cierran trabajo btw quick fast quickly rapido rapidos rapida help helping fixing asking checking reminding reminder heads appreciate appreciated uncle aunt tio tia honey compadre comadre jale chamba pronto atencion servicio turnaround works weekend holiday engine motor sept year years ago while couple few bit little update info odometer odo clock dash
 yours truly regards sincerely cheers saludos atte atentamente cordially respectfully atentos`)
)
