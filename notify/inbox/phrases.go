package inbox

import (
	"strings"

	"example.org/roundsman/models"
)

// sense is what a phrase says. Most are kinds of acts.
type sense string

const (
	senseCall   sense = "call"
	senseAll    sense = "all of it"
	senseUnwell sense = "unwell" // of a machine a fault, of a day a no
	senseSaid   sense = "said"   // an idiom that changes nothing
	senseFault  sense = "fault"  // names a fault; with a "not" before it, its absence
	senseGood   sense = "good"   // says that all is well; with a "not" before it, the contrary
	senseUnfit  sense = "automatic"
	senseWants  sense = "wants" // asks the shop for something
	senseMeter  sense = "meter" // tells of a changed or broken meter
	senseDoubt  sense = "unsure"
	senseNone   sense = "no such machine" // the machine of the message is not there
	senseBut    sense = "except"          // of all machines but one
	senseCancel sense = "cancel"          // an appointment is called off, or a day refused
)

// phrases lists, by sense, ways to say it in English and Spanish, folded: no
// accents, no apostrophes. A phrase is matched word by word, the longest
// first.
var phrases = map[sense][]string{
	sense(KindComeback): {"still tirando", "sigue tirando anticongelante", "sigue tirando aceite", "sigue chorreando", "sigue hirviendo", "se sigue calentando", "sigue sobrecalentando", "volvio la gotera", "volvio la fuga", "otra vez la misma", "de nuevo lo mismo", "anda igual", "quedo igual", "esta igual", "igual que antes", "no le hicieron nada", "no quedo", "still pukes", "still puking", "still spews", "still boils", "still boiling", "still drops", "still weeps", "still seeps", "still seeping", "still heating", "still heats", "still weeping", "still hissing", "still clunking", "still making", "still makes", "still acting", "still acts", "still wont", "still dead", "still bad", "still low", "puddle again", "puddle is back", "leak is back", "leaks back", "noise is back", "smell is back", "light came back", "light is back on", "under it again", "happened again", "happens again", "hot again", "boiled over again", "boils over again", "steaming again", "dripping again", "puked again", "smoking again", "same ol same ol", "same story", "same old story", "same old", "nothing changed", "no better", "isnt any better", "not any better", "back to its old tricks", "at it again", "doing that thing again", "did the same", "back to leaking", "back to overheating", "ha vuelto", "han vuelto",
		"same dang thing", "same old thing", "doing the same", "same leak", "still drips", "still dripping", "still gets hot", "still getting hot", "still losing coolant", "still steaming", "still smoking", "overheating again", "overheats again", "boiling over again", "puking again", "leaks again", "leaking coolant again", "por lo mismo", "sigue calentandose", "sigue tirando agua", "sigue con lo mismo", "sigue haciendo lo mismo", "volvio a tirar", "volvio a calentarse", "volvio a gotear", "se volvio a calentar", "calentando otra vez", "se esta calentando otra vez", "leaking otra vez", "gotea otra vez", "todavia se calienta", "todavia tira", "todavia calienta",
		"its back", "it is back", "it came back", "came back", "its come back", "has come back", "is back again", "back again",
		"same problem", "same thing", "same issue", "still the same", "doing it again", "did it again", "does it again",
		"still doing it", "still does it", "still leaking", "still leaks", "still overheating", "still overheats", "still hot",
		"still running hot", "still runs hot", "still broken", "leaking again", "not fixed",
		"didnt fix it", "did not fix it", "didnt hold", "did not hold", "problem returned", "it returned", "still not right", "still happening",
		"happening again", "started again", "volvio", "volvio a fallar", "volvio el problema", "otra vez lo mismo", "lo mismo", "sigue igual",
		"sigue goteando", "sigue fallando", "sigue calentando", "todavia gotea", "todavia falla", "regreso el problema",
		"no quedo bien", "no se arreglo", "sigue mal", "sigue tirando", "aun gotea",
	},
	senseFault: {"jala chueco", "jala chueca", "calentarse", "calenton", "calentones", "couldnt be worse", "could not be worse", "gotten hot", "got hot", "get hot", "a tirar", "a gotear", "a calentarse", "a calentar", "a flat", "is flat", "no se oye", "sits higher", "runs higher", "smells sweet", "no le entra", "no le agarra", "no le prende", "let go", "gave way", "running funny", "runs funny", "acting funny", "sounds funny", "smells funny", "smells hot", "not happy", "sputters", "sputtering", "sputter", "hiccups", "hiccuping", "coughs", "coughing", "missing", "skipping", "skips", "bogging", "lurches", "jerks", "jerking", "bucking", "bucks", "hesitates", "hesitation", "chugging", "chugs", "lugging", "whirring", "whirs", "hum", "ticking", "tick", "ticks", "clicking", "clicks", "hissing", "hisses", "popping", "pops", "banging", "clanking", "clanks", "howls", "howling", "groaning", "groans", "scraping", "rubbing", "slips", "slipping", "slipped", "grinds", "seized", "seized up", "locked up", "locks up", "froze up", "frozen", "cracked", "crack", "torn", "tore", "ripped", "frayed", "busted", "bust", "bent", "snapped", "came loose", "is loose", "came off", "fell off", "hanging", "worn out", "wore out", "shredded", "stripped", "rusted", "corroded", "plugged", "clogged", "kinked", "collapsed", "swollen", "bulging", "wont hold", "wont stop", "wont quit", "wont turn", "wont start", "wont move", "wont budge", "wont fire", "wont rev", "wont pull", "wont shut off", "wont engage", "wont go", "wont go into reverse", "no reverse", "no spark", "no start", "no fire", "no crank", "no brakes", "no lights work", "no hay freno", "sin frenos", "sin fuerza", "no fuerza", "le falta fuerza", "no tiene fuerza", "no power", "down on power", "lost power", "losing power", "weak", "sluggish", "gutless", "dog slow", "cuts out", "cut out", "cutting out", "quits", "quit", "conked out", "crapped out", "gave out", "gave up", "kicked the bucket", "is toast", "kaput", "done for", "not turning over", "battery dead", "dead battery", "wont take a charge", "green stuff", "green puddle", "puddle of", "drops of", "drop of", "spots under", "spot under", "spewing", "spews", "spraying", "sprays", "squirting", "squirts", "gushing", "pouring out", "pours out", "weeping", "weeps", "seeping", "seeps", "seep", "oozing", "oozes", "dribbling", "foaming", "milky", "chocolate milk", "sludge", "gurgling", "gurgles", "hot as hell", "hotter than", "hotter", "heats up", "heating up", "heated up", "heating", "cooking", "cooked", "boiling", "boils", "boil", "boiled", "temp goes up", "temp is up", "temp went up", "temp is high", "runs high", "running high", "running too hot", "gauge goes up", "gauge climbs", "gauge pegs", "gauge pegged", "needle goes up", "needle in the red", "needle went up", "idiot light", "red light", "yellow light", "lights up", "light comes on", "lights came on", "light flashing", "flashing", "blinking", "beeping", "beeps", "throws a code", "threw a code", "throwing a code", "limp mode", "limped", "se ahoga", "se traba", "se trabo", "se atora", "se atoro", "se patina", "patina", "patea", "cascabelea", "se jala", "jalonea", "se tironea", "cabecea", "se muere", "se murio", "se chispo", "trono", "se trono", "truena", "se quebro", "quebrado", "quebrada", "se rompio", "reventada", "reventado", "se revento", "se safo", "se zafo", "floja", "flojo", "se aflojo", "se pico", "picada", "picado", "podrida", "podrido", "hierve", "hirvio", "hirviendo", "esta hirviendo", "se sube la temperatura", "sube la temperatura", "sube mucho", "se dispara la aguja", "se prende el foco", "se prendio el foco", "prendio el foco", "prende el foco", "foco prendido", "foco rojo", "foco amarillo", "gotera", "goteo", "mancha", "manchas", "charquito", "chorro", "chorreando", "se tira", "se le tira", "tira anticongelante", "tirando anticongelante", "tirando liquido", "tira liquido", "pierde agua", "pierde anticongelante", "perdiendo", "se le va el agua", "se le acaba el agua", "saca humo", "sacando humo", "avienta humo", "huele feo", "huele raro", "suena feo", "suena raro", "suena mal", "hace ruido", "haciendo ruido", "ruidito", "ruidajo", "rechinido", "golpeteo", "golpea", "matraqueo", "matraquea", "no frena", "no carga", "no da", "no quiere", "no quiere prender", "no quiere arrancar", "no agarra", "no entra", "no levanta", "no sube", "no sirve", "no trabaja", "no camina", "se descompone", "dando guerra", "da guerra", "esta fallando", "anda fallando", "anda rara", "anda raro", "anda chueca", "peor", "murio", "muerta", "muerto", "wont even start", "wont even turn over", "doesnt even start", "is empty", "was empty", "empty again", "esta vacio", "vacio otra vez", "coolant loss", "loss of coolant", "water loss", "dado lata", "da lata", "dando lata", "dio lata", "engine quits", "motor quits", "engine quit", "it quits", "quits on me", "engine dies", "engine stops", "overheateando",
		"needle climbs", "needle climes", "runs warm", "running warm", "boiling over", "boiled over", "boils over", "puking coolant", "puking", "lost coolant", "loses water", "losing water", "low again", "below the mark", "under the mark", "coolant is down", "oil light", "temp light came on", "light is back", "white smoke", "blowing smoke", "blowing white smoke", "clunk", "clunking", "clunks", "squeals", "squealing", "squeal", "screeching", "rattle", "rattles", "rattling", "whining", "whine", "wobble", "wobbles", "wont idle", "wont shift", "wont go into", "wont turn over", "wont crank", "wont stay running", "hard to start", "bogs down", "surging", "overheats", "red line", "in the red", "hit the red", "pegged", "hot antifreeze", "no quedo", "raya roja", "aguja sube", "se sube la aguja", "echarle agua", "le falta agua", "falta refrigerante", "bajo de agua", "bajo de refrigerante", "tirando agua", "tirando aceite", "tirando refrigerante", "chorrea", "escurre", "esta tirando", "se queda tirada", "se quedo tirada", "no da marcha", "ni prende", "ni arranca", "apagando", "tronando", "rechina", "rechinando", "zumba", "huele a", "echa humo", "echando humo", "se esta calentando", "se me apaga", "se jalonea", "se atasca", "charco", "smells like", "soaking wet", "wet spot", "drip", "not charging", "wont charge", "stopped working", "quit working", "no heat", "gets warm", "temps up", "temp climbs", "temp climbing",
		"not running right", "not running well", "isnt running right", "running rough", "runs rough", "runs bad", "running bad", "not right",
		"acting up", "acted up", "acts up", "problem", "problems", "trouble", "issue", "issues",
		"overheating", "overheated", "overheat", "running hot", "runs hot", "ran hot", "getting hot", "gets hot", "temp light", "steaming", "steam",
		"leak", "leaks", "leaking", "leaked", "dripping", "drips", "puddle", "smoke", "smoking", "smokes", "will not start", "doesnt start",
		"wouldnt start", "not starting", "wont run", "died", "dies", "dead", "stalls", "stalling", "stalled", "quit running", "quit on me", "shut down", "shuts off",
		"shut off", "noise", "noisy", "knocking", "squeaks", "grinding", "warning light", "check engine", "engine light", "broken", "broke",
		"broke down", "breaks down", "not working", "doesnt work", "engine blew", "blew up", "blew", "blown", "burned up", "burnt", "on fire", "caught fire", "it quit", "loses power", "vibrates", "shaking", "stuck",
		"low coolant", "coolant low", "coolant was low", "coolant is low", "low on coolant", "was low again", "little hot", "bit hot", "too hot", "worse", "fan runs all the time", "fan never stops", "light came on", "light is on", "light on", "low on oil", "low oil", "oil low", "oil is low", "burning oil", "using oil", "losing coolant", "loses coolant", "code", "misfire", "misfiring", "backfires", "smells", "burning smell", "flat tire",
		"no anda bien", "no funciona", "no arranca", "no prende", "no enciende", "no camina bien", "anda mal", "falla", "fallando", "fallado", "fallo", "fuga", "fugas",
		"gotea", "goteando", "pierde", "tira agua", "tira aceite", "tira refrigerante", "se calienta", "calienta", "calentando", "calentado", "calento", "calentar", "recalienta", "sobrecalienta",
		"se apaga", "se apago", "humo", "ruido", "problema", "problemas", "roto", "rota", "descompuesto", "descompuesta", "se descompuso", "no esta bien",
		"no va bien", "no corre bien", "se paro", "vibra", "no jala",
	},
	senseUnwell: {"not good", "no good", "not ok", "not okay", "not great", "no bueno", "no es bueno", "not well", "bad", "mal"},
	senseGood: {"needle never budged", "al puro centavo", "nada de calentarse", "never left the middle", "never left center", "needle never left the middle", "stayed in the middle", "stays dead center", "stayed dead center", "ni parece la misma", "no parece la misma", "parece otra", "parece nueva", "parece nuevecita", "mucho mejor", "dead quiet", "not hot", "jala bien suave", "bien suave", "jalando bien", "jalando muy bien", "ni una gota", "ninguna gota", "no huele", "ya no huele", "runs like a champ", "ran like a champ", "like a champ", "runs like a raped ape", "runs like a deer", "like a scalded dog", "like a swiss watch", "like a sewing machine", "como relojito", "como reloj", "como un reloj", "como avion", "como seda", "de diez", "al tiro", "quedo al tiro", "esta al tiro", "anda al tiro", "bien chida", "quedo chida", "quedo chido", "quedo bien chida", "quedo padre", "quedo suave", "quedo fina", "fina", "al puro cien", "al millon", "al 1000", "machin", "jala machin", "bien machin", "jalando de lujo", "jalando machin", "jalando al cien", "jala de lujo", "a todo mecate", "como nuevecita", "nuevecita", "ni una falla", "ninguna falla", "ningun problema", "cero problemas", "cero fallas", "no ha fallado", "no ha dado lata", "no da lata", "no me ha dado lata", "no se calienta", "no se ha calentado", "ya no se calienta", "ya no calienta", "ya no tira", "ya no gotea", "no gotea", "no tira nada", "no tira", "bien seco", "todo seco", "sequito", "todo tranquilo", "todo chido", "todo fine", "todo good", "todo al cien", "todo excelente", "todo perfecto", "couldnt ask for better", "couldnt be better", "couldnt ask for more", "cant complain", "no complaint", "not a problem since", "not a single problem", "no problems", "zero problems", "zero issues", "no issues", "no trouble", "not a hiccup", "no hiccups", "never a hiccup", "without a hitch", "no hitches", "without a hiccup", "stays in the middle", "needle in the middle", "needle stays in the middle", "right in the middle", "temp is good", "temps are good", "temp stays good", "temps stay good", "temp steady", "temps steady", "holds steady", "holding steady", "steady", "steady as a rock", "rock solid", "rock steady", "cool as a cucumber", "cool as ice", "sweet as can be", "runs sweet", "sounds sweet", "sounds good", "sounds great", "sounds healthy", "happy camper", "happy as a clam", "happy", "pleased", "tickled", "tickled pink", "very pleased", "well pleased", "satisfied", "impressed", "running like new", "runs better", "running better", "much better", "way better", "night and day", "tip top", "in tip top shape", "top shape", "good shape", "great shape", "hunky dory", "peachy", "just peachy", "a1", "a 1", "10 out of 10", "ten out of ten", "10 10", "aces", "dandy", "fine and dandy", "ship shape", "right as rain", "good as gold", "gold", "golden", "were good", "we are good", "were golden", "starts right up", "starts every time", "fires right up", "fires up", "starts first try", "starts on the first", "starts easy", "starts great", "starts good", "prende luego luego", "prende a la primera", "arranca a la primera", "prende bien", "arranca bien", "no leaks", "no leak", "no drips", "not leaking", "hasnt leaked", "hasnt missed a beat", "not missed a beat", "doing its job", "does its job", "does the job", "handled it", "handled it fine", "handles it fine", "never better", "no news is good news", "problem solved", "problem gone", "fixed it", "you fixed it", "yall fixed it", "good job fixing", "all clear", "all systems go", "in the green", "no more puddles", "no more leaks", "no more leak", "no more steam", "no more smoke", "puddle is gone", "leak is gone", "smell is gone", "noise is gone", "light is off", "light went off", "light stayed off", "bueno para nada de problemas", "camina de lujo", "camina como nueva", "anda como nueva", "anda de lujo", "anda muy bien", "anda perfecto", "anda perfecta", "trabaja muy bien", "trabaja perfecto", "funciona perfecto", "funciona muy bien", "va de lujo", "va perfecto", "va perfecta", "all is well", "alls well", "all well", "you guys rock", "you rock", "no light", "no lights", "no warning light", "no warning lights",
		"runs like a top", "like a top", "like a dream", "like a charm", "like a clock", "like a watch", "purrs", "purring", "runs like new", "ran great", "ran good", "ran fine", "ran well", "doing good", "doing great", "doing fine", "doing well", "doing real good", "running perfect", "runs perfect", "runs smooth", "running smooth", "smooth", "awesome", "couldnt be happier", "could not be better", "no complaints", "better than new", "better than ever", "good as new", "good to go", "not a drop", "not one drop", "bone dry", "dry as a bone", "stays cool", "staying cool", "runs cool", "running cool", "nice and cool", "spot on", "on the money", "flawless", "running strong", "real good", "very good", "so good", "pretty good", "love it", "happy with it", "very happy", "como nueva", "como nuevo", "al cien", "al 100", "de lujo", "chulada", "de pelos", "a toda madre", "a todo dar", "jala bien", "jala al cien", "jalando", "jala", "va muy bien", "anda al cien", "sin problema", "sin problemas", "sin falla", "sin fallas", "sin queja", "ninguna queja", "contento", "contenta", "suavecita", "como si nada", "ni se siente", "wonderful", "fantastic", "super", "beautiful", "amazing", "thumbs up", "mejor que nunca", "todo en orden", "quedo perfecta", "quedo perfecto", "quedo de lujo", "quedo como nueva", "quedo muy bien", "quedo al cien", "works like a charm", "runs a treat", "good here", "fine here", "good over here", "no se ha vuelto a calentar", "never ran better", "never run better", "same as new", "not fallado",
		"ok", "okay", "all good", "good", "fine", "great", "perfect", "runs great", "running great", "runs good", "runs fine", "running fine",
		"running good", "runs well", "running well", "works", "works great", "working great", "works fine", "works good", "working", "working fine",
		"held", "it held", "holding", "holding up", "has held", "fixed", "like new", "a ok", "all set", "still running", "still runs", "not come back", "hasnt come back", "havent come back", "didnt come back", "never came back", "did not come back", "solid", "excellent",
		"bien", "todo bien", "muy bien", "anda bien", "va bien", "funciona bien", "funciona", "perfecto", "excelente", "quedo bien", "aguanto",
		"sin novedad", "de maravilla", "camina bien", "trabaja bien", "esta bien", "listo y bien", "vale", "dale", "de acuerdo",
	},
	sense(KindDone): {
		"se lo di", "se la di", "ya se lo di", "le di", "le dimos", "le eche", "le echamos", "eche", "echamos", "ya le eche", "le meti", "ya se lo eche", "ya se la eche", "se lo eche", "se la eche", "ya le di", "le pusimos", "filled it up", "greased", "greased it", "knocked it out", "knocked out", "wrapped up", "handled it", "got that done", "got them done", "did both", "took care of that", "all taken care of", "crossed off", "ya los hice", "ya las hice", "los hice", "ya le cambiamos", "mandamos cambiar", "ya se los cambie", "got her done", "gave it new", "gave it fresh", "slapped in", "threw in a", "threw a new", "took care of", "put in a new", "put a new", "put new", "installed", "dropped the oil", "swapped", "swapped the", "switched out", "flushed", "drained and filled", "topped off and changed", "ya le cambie", "ya lo cambie", "ya la cambie", "ya se lo hice", "se lo cambie", "se la cambie", "le puse", "ya le puse", "ya le hice", "le hice", "ya le hicimos", "le hicimos", "ya esta", "ya lo cambiamos", "ya quedo listo", "engrase", "ya engrase",
		"done", "all done", "did it", "did that", "got it done", "had it done", "took care of it", "taken care of", "already did", "already done", "changed", "replaced",
		"swapped out", "serviced", "completed", "finished", "just did", "we did", "i did", "did the", "was done", "been done", "changed it", "did them",
		"hecho", "ya esta hecho", "ya lo hice", "ya se hizo", "lo hicimos", "ya lo hicimos", "ya quedo", "lo cambie", "cambie", "cambiamos", "cambiado", "cambiada",
		"se cambio", "se le cambio", "ya se le cambio", "se le hizo", "le cambiaron", "cambiaron", "le cambie", "le cambiamos", "listo", "hicimos", "ya se cambio", "hice",
	},
	sense(KindSold): {
		"sold the machine", "sold her", "sold him", "went down the road", "auctioned", "sold at auction", "traded off", "traded for", "la cambiamos por", "lo cambiamos por", "la vendi", "ya no es mia", "ya no es mio", "ya no es de nosotros", "ya no es nuestra", "ya no es nuestro", "la vendio", "dont own it", "dont own r12", "belongs to somebody else", "isnt mine anymore", "not mine anymore", "isnt ours", "not ours anymore",
		"sold", "sold it", "sold that", "we sold", "traded", "traded in", "traded it", "traded it in", "no longer have", "dont have it anymore", "dont own",
		"no longer own", "got rid of", "scrapped", "junked", "totaled", "gave it away", "dont have that one anymore", "stolen", "got stolen", "was stolen", "machine is gone", "unit is gone", "that one is gone",
		"vendi", "vendido", "vendida", "lo vendi", "la vendimos", "lo vendimos", "vendimos", "ya no la tengo", "ya no lo tengo", "ya no la tenemos",
		"ya no lo tenemos", "se vendio", "robaron", "robada", "robado",
	},
	sense(KindWrongNumber): {
		"dont have any r12", "aqui no es", "no tengo ninguna maquina", "numero incorrecto", "no conozco a",
		"wrong number", "wrong person", "wrong guy", "wrong phone", "wrong cell", "no tengo ninguna", "no tengo ningun", "yo no tengo", "dont own any machine", "dont own a machine", "dont own anything like", "never owned one", "never owned a machine", "mixed up with", "new number", "numero nuevo", "just got this number", "not my number", "dont know who this is",
		"i dont have a machine", "doesnt work here", "no longer works here", "no longer with us", "doesnt work for us", "ya no trabaja aqui", "ya no trabaja con nosotros", "numero equivocado", "se equivoco de numero", "equivocado", "no soy yo",
	},
	sense(KindLater): {"te paso el mileage", "le paso el mileage", "les paso el mileage", "te paso el millaje", "le paso el millaje", "les paso el millaje", "te paso las millas", "le paso las millas", "les paso las millas", "te paso las horas", "le paso las horas", "les paso las horas", "te paso el numero", "le paso el numero", "les paso el numero", "te paso los numeros", "le paso los numeros", "les paso los numeros", "te paso el dato", "le paso el dato", "les paso el dato", "can wait", "puede esperar", "pueden esperar", "ask me", "check with me", "try me again", "check back", "hit me up", "catch me", "ask again", "ask tomorrow", "get back to me", "tantito", "deme chanza", "dame chanza", "deme chance", "dame chance", "aguanteme", "aguantame", "me aguanta", "espereme", "ahorita le digo", "orita le digo", "ahorita veo", "al rato le mando", "luego le mando", "le mando al rato", "no he podido", "havent got to it", "havent gotten to it", "havent got around", "havent gotten around", "didnt get to it", "not there right now", "im not home", "not at home", "cant see it from here", "away till", "when im back", "when i get home", "when i get there", "once im home", "once im back", "haven't had it out", "havent had it out", "havent taken it out", "havent tried it", "havent started it", "havent used her", "not had it out", "havent had a chance", "no la he sacado", "no lo he sacado", "no la he prendido", "no la he probado", "no lo he probado", "todavia no la uso", "todavia no la pruebo", "aun no la uso", "cuando llegue", "llegando a casa", "llegando al rancho", "ando fuera", "give me a minute", "give me a sec", "give me a few", "give me a day", "gimme a minute", "gimme a day", "too soon to tell", "too early to tell", "too soon to say", "cant get to it until", "cant get to it till", "cant get to it", "cant until", "not until", "cant till", "not till", "no hasta", "no puedo hasta", "cant do it until",
		"let you know", "ill let you know", "let ya know", "will let you know", "get back to you", "get back with you", "ill see", "we will see", "well see", "let me see", "let me look", "deja veo", "dejeme ver", "deja checo", "lo checo", "la checo", "le digo", "les digo", "le aviso", "les aviso", "te aviso", "yo le aviso", "yo les aviso", "le hablo", "les hablo", "le llamo", "ask me later", "try me", "some other time", "not this week", "not this month", "cant right now", "after calving", "after harvest", "after hunting season", "after the holidays", "after branding", "despues de la cosecha", "leave it to you", "luego le", "luego les", "ahorita no", "hold on", "in a bit", "in a while", "al rato", "mas al rato", "working on it", "meters later", "text you later", "hit you up later", "send it later", "ill do it", "do it myself", "doing it myself", "hacerlo yo", "lo hago yo", "lo hago yo mismo", "se lo hago yo",
		"almost done", "will be done", "should be done", "to be done", "be done", "getting done", "being done", "will get done", "getting it done", "later", "not now", "not yet", "not right now", "not today", "busy", "too busy", "another time", "remind me", "ask me again", "hold off", "wait until", "wait till",
		"maybe later", "after season", "when i get back", "out of town", "mas tarde", "despues", "luego", "ahora no", "todavia no", "aun no", "mas adelante", "ocupado", "estamos ocupados",
		"recuerdame", "otro dia", "cuando pueda", "when i can", "will do", "soon", "pronto", "will check", "ill check", "will look", "will get it", "will get you", "will send", "ill send", "ill get you", "ill text", "havent used it", "havent run it", "havent ran it", "havent driven it", "not used", "not being used", "not in use", "hasnt moved", "havent moved", "parked", "in storage", "winter storage", "put away", "closed for the season", "guardada", "guardado", "havent had time", "no la he usado", "no lo he usado", "no lo hemos usado", "no la hemos usado", "no he tenido tiempo", "get to it", "voy a ver", "lo reviso", "let me check", "ill look",
	},
	sense(KindYes): {"sobres", "andale", "andale pues", "arre", "jalo", "fierro", "va", "ahi le llego", "ahi le llegamos", "ahi le caemos", "le caigo", "ahi los veo", "ahi los miro", "los miro", "los veo", "nos miramos ahi", "ahi nos miramos", "ahi estamos", "ahi andamos", "ahi ando", "ahi voy a estar", "ahi vamos a estar", "de una", "cuenten conmigo", "cuente conmigo", "me acomoda", "si me acomoda", "si me queda", "me sirve", "si me sirve", "ese dia puedo", "ese dia esta bien", "esta perfecto", "quedamos", "quedamos en eso", "yep yep", "you betcha", "you got it", "sure thing", "sure does", "sure will", "okey dokey", "okie dokie", "righto", "roger that", "im in", "were in", "count us in", "pencil me in", "put me down", "put us down", "sign me up for", "lock it in", "ill take that", "well take it", "we will take it", "ill have it there", "well have it there", "ill bring it", "well bring it", "ill drop it off", "will drop it off", "that day works", "that day is good", "that day is fine", "works fine", "works good", "still works", "good with us", "fine with us", "suits us", "suits fine", "suits me fine", "suits", "see ya", "see ya tuesday", "see you tuesday", "see you", "well see you", "works on my end", "perfect see you", "mhm", "uh huh", "yessum", "yes indeed", "indeed", "aye", "nos miramos",
		"ok that works", "that works", "works for me", "works for us", "works great", "that will work", "thatll work", "that will do", "thatll do", "see you then", "see ya then", "see you there", "see ya there", "ill be there", "well be there", "we will be there", "i will be there", "will be there", "be there", "sounds good", "sounds great", "sounds fine", "sounds perfect", "ill take it", "book it", "book me", "go ahead", "lets do it", "lets do that", "you bet", "for sure", "absolutely", "of course", "definitely", "ok with me", "fine with me", "fine by me", "good with me", "good by me", "works", "suits me", "that suits", "thats fine", "thats good", "that is fine", "thats perfect", "thats great", "thats ok", "perfecto", "dale", "sale", "orale", "simon", "ahi estare", "ahi estaremos", "ahi nos vemos", "alli nos vemos", "nos vemos", "me parece bien", "esta bien", "por supuesto", "claro que si", "de acuerdo", "confirmado", "ten four", "10 four", "all right", "alright", "yessir", "yes sir", "yes maam", "will do that", "count me in", "count on it", "me queda bien", "me queda perfecto", "si puedo", "si va", "va que va", "ahi le caigo", "no problem", "no problemo", "sin problema", "correct", "right on", "deal", "gotcha", "k see you", "yes", "yep", "yeah", "yup", "sure", "thats right", "that is right", "its right", "it is right", "affirmative", "si", "claro", "correcto", "asi es", "exacto", "exactly", "confirmed", "confirmo", "yes please", "si por favor"},
	sense(KindNo): {"ese dia no", "ese dia no puedo", "ese dia no la hago", "ese dia no la armo", "ese dia no alcanzo", "no la hago ese dia", "no la armo",
		"no sir", "no maam", "not that day", "none of those", "none of them", "none of these", "neither", "neither one", "not any of those", "ninguno", "ninguno de esos", "ninguna", "nel", "nop", "nombre", "no way", "not really", "nope", "nah", "negative", "incorrect", "thats wrong", "no thanks", "no gracias", "incorrecto", "para nada"},
	sense(KindThanks): {"that was quick", "that was fast", "quick work", "fast work", "que rapido", "que rapidos", "buena idea", "good idea", "tan buena gente", "buena gente", "siempre tan buena gente",
		"the best", "love it", "love that", "buena onda", "cumplidos",
		"happy thanksgiving", "merry christmas", "happy holidays", "happy new year", "feliz navidad", "feliz dia de gracias", "feliz dia de accion de gracias", "felices fiestas", "feliz ano", "feliz ano nuevo", "happy turkey day", "god bless you", "god bless yall", "dios los bendiga", "dios lo bendiga", "dios le bendiga", "dios les bendiga", "dios se lo pague", "dios te bendiga", "que dios los bendiga", "bendiciones", "saludos a todos", "saludos a la familia", "yay", "yahoo", "woohoo", "woo hoo", "yeehaw", "hooray", "hallelujah", "awesome thanks", "cool", "cool beans", "nice", "neat", "good deal", "good to know", "good to hear", "good news", "great news", "thats great news", "buena noticia", "buenas noticias", "que bueno", "que bien", "que chido", "chido", "padrisimo", "excelente trabajo", "buen jale", "que buen jale", "son los mejores", "son lo maximo", "son lo mejor", "es lo mejor", "es un chingon", "son unos chingones", "bien chingon", "muy buen trabajo", "lifesaver", "life saver", "lifesavers", "saved my bacon", "saved my week", "saved my day", "saved my butt", "saved our bacon", "saved our season", "saved me", "me sacaron del apuro", "me saco del apuro", "me salvaron", "me salvo", "you guys are great", "you guys are awesome", "yall are great", "yall are the best", "yall rock", "ur the best", "you all are great", "bless your hearts", "bless yall", "hats off", "kudos", "props", "atta boy", "attaboy", "way to go", "well done", "top notch", "first rate", "first class", "outstanding", "tip of the hat", "owe you one", "owe you a beer", "owe yall a beer", "i owe you", "beer is on me", "coming to get it", "coming to get her", "coming now", "omw", "en camino", "voy en camino", "ahi voy por ella", "ahorita voy", "ahorita vamos", "ya vamos", "vamos en camino", "ahorita paso", "ahorita pasamos", "al rato paso", "paso al rato", "paso manana", "mando al", "ahorita mando", "mando a alguien", "mandamos por ella", "ahi caigo", "ya le caigo", "be over", "be by", "be down", "will be by", "swing by", "ill swing by", "well swing by", "well be by", "well grab it", "well get it", "ill get it", "ill come get it", "will grab it", "will get it", "be there shortly", "headed that way", "headed over", "heading that way", "heading your way", "much obliged", "obliged", "mucho gracias", "thanks yall", "thanks guys", "thanks man", "thanks bud", "thanks for letting me know", "thanks for the reminder", "thanks for the heads up", "ok cool", "ok sounds good", "fyi", "tenkiu", "tenquiu", "le agradecemos", "les agradezco", "agradecido", "agradecida", "agradecidos", "appreciate it", "appreciate you", "appreciate that", "much appreciated", "thank you so much", "thanks so much", "many thanks", "bless you", "god bless", "mil gracias", "se agradece", "muy amable", "muy amables", "le agradezco", "handy", "you guys are the best", "youre the best", "best in the county", "nice work", "good work", "good job", "great job", "great work", "nice job", "buen trabajo", "best wrench work in the valley", "🙏", "❤️", "thank u", "thanks a lot", "thanks a million", "thanks again", "ok thank you", "muchisimas gracias", "gracias a ustedes", "on my way", "on our way", "heading over", "be right there", "will pick it up", "ill pick it up", "ill grab it", "ill be by", "we will be by", "ya voy", "ahi voy", "voy por ella", "vamos por ella", "paso por ella", "pasamos por ella", "mando por ella",
		"thanks", "thank you", "thx", "ty", "got it", "will do thanks", "10 4", "roger", "copy", "copy that", "noted", "understood", "gracias", "muchas gracias",
		"enterado", "entendido", "recibido", "anotado",
	},
	senseCall: {
		"nobody called", "no one called", "never called", "never called me back", "nobody called me back", "didnt call me back", "waiting on a call", "no me llamaron", "nadie me llamo", "nadie llamo", "nunca me llamaron", "no me han llamado", "call back", "calls back", "call me back", "give me a ring", "give us a call", "hableme", "hablame", "me habla", "me marca", "me marcan", "hable me", "llameme al",
		"call me", "please call", "give me a call", "can you call", "ring me", "need to talk", "call us", "llamame", "llameme", "me llama", "llamenme", "por favor llame", "me puede llamar", "marcame",
	},
	senseWants: {
		"for sale",
		"please check", "please look", "check the", "look at the", "take a look", "have a look", "revise", "revisen", "chequen",
		"i need", "we need", "what would you charge", "what do you charge", "whats it cost", "what does it cost", "do you have", "do you folks", "do y'all", "do yall", "is there", "are you", "did you", "have you", "will you", "como cuanto", "cuanto", "me pueden", "nos pueden", "puedes", "podria", "vengan", "manden", "send someone", "order one", "order me",
		"need", "needs", "i want", "we want", "can you", "could you", "would you", "when can", "how much", "how long", "please send", "come get", "pick it up",
		"necesito", "necesita", "necesitamos", "ocupo", "ocupamos", "quiero", "queremos", "pueden", "puede", "podrian", "cuanto cuesta", "cuando pueden",
	},
	senseMeter: {
		"unhooked", "disconnected", "desconectado", "is off by", "off by", "se atrasa",
		"hour meter went blank", "meter went blank", "new dash", "whole new dash", "dash is dead", "meter is blank", "new display", "replaced the dash", "tablero nuevo", "cambiaron el tablero", "odometer died", "odometer dead", "hour meter died", "hour meter quit", "no jala el odometro", "no marca nada",
		"new meter", "new odometer", "new hour meter", "new speedo", "meter replaced", "replaced the meter", "changed the meter", "swapped the meter", "new cluster", "replaced the cluster",
		"meter broke", "meter is broken", "meter broken", "meter quit", "meter stopped", "meter stopped working", "meter is dead", "meter dead", "meter doesnt work", "meter isnt working", "meter not working", "odometer broken",
		"odometer is broken", "odometer doesnt work", "odometer quit", "odometer stopped", "speedo broke", "speedo is broken", "gauge is dead", "display is dead", "screen is dead",
		"medidor nuevo", "odometro nuevo", "horometro nuevo", "no sirve el odometro", "no sirve el horometro", "no sirve el medidor", "no funciona el odometro", "no funciona el horometro", "no funciona el medidor",
		"odometro descompuesto", "horometro descompuesto", "se descompuso el medidor", "cambie el medidor",
	},
	senseBut: {"except", "except for", "but not", "other than", "all but", "everything but", "besides", "excepto", "menos la", "menos el", "salvo"},
	senseCancel: {
		"have to work", "got to work", "gotta work", "im working", "tengo que trabajar", "tengo trabajo", "trabajo ese dia", "have court", "in court",
		"have to bail", "gotta bail", "gonna bail", "need to bail", "not interested", "doesnt suit", "does not suit", "doesnt work", "does not work", "doesnt fit", "isnt good", "wont do", "wont suit", "cant do it", "cant do that", "cant that day", "cant bring", "cant get it", "cant get there", "cant come", "cant be there", "cant get away", "not gonna make", "not going to make", "wont be there", "nobody here", "isnt going anywhere", "no me queda", "no me acomoda", "no me conviene", "no se puede", "no puedo ese dia", "no voy a poder", "no alcanzo", "no llego", "no la puedo llevar", "no lo puedo llevar", "no podre", "no podria", "no va a poder", "ya no voy", "no voy", "no quiero la cita", "dont want it", "dont want to", "dont bother", "not this time", "rather not", "pass on", "ill pass", "call off", "scratch that", "cant do tuesday", "have to skip", "need to move", "need to change", "move it", "push it back",
		"cancel", "canceled", "cancelled", "call it off", "reschedule", "postpone", "no need", "dont need it", "not needed", "not doing it", "no hace falta", "no es necesario", "no lo necesito", "cant make it", "cant make", "cant do", "wont make it", "wont be able", "not able to",
		"doesnt work for", "wont work for", "wont work", "doesnt work for me", "cancelar", "cancela", "cancelen", "cambiar la cita", "no puedo", "no podemos", "no me sirve", "posponer",
	},
	senseDoubt: {"yeah right", "tal vez", "a lo mejor", "puede que", "no se", "no se si", "could be", "might be", "may be", "last i looked", "last i checked", "last time i looked", "la ultima vez", "for all i know", "no change", "no changes", "sin cambios", "not sure", "im not sure", "dont know", "i dont know", "no idea", "idk", "no estoy seguro", "quien sabe"},
	senseAll:   {"all of it", "all of them", "everything", "both", "all three", "all the work", "todo", "todos", "todas", "ambos", "ambas", "los dos", "las dos", "everything on it"},
	sense(KindHelp): {"what even is this", "what the heck is this", "what the hell is this", "what in the world is this", "who even is this", "quien habla", "quien eres", "quien escribe", "de parte de quien", "who are you", "who r u", "who r you", "whos this", "que es esto", "de que se trata esto",
		"why do you need to know", "why do you want to know", "why are you asking", "why you asking", "why you need", "what is this for", "whats this for", "what are these", "whats this about", "para que quieren saber", "para que quiere saber", "para que es esto", "de que se trata", "who sent this", "who is it", "quienes son", "de donde me hablan", "de donde son", "who is this", "who dis", "who is texting me", "quien es", "quien manda", "who this", "whats this number", "what is this number",
	},
	senseNone: {"youve reached", "you have reached", "you reached"},
	senseSaid: {"fat thumb", "fat thumbed it", "fat fingered it", "pasted the wrong thing", "wrong thing", "wrong button", "dedazo", "fue dedazo", "code for", "gate code", "code to the gate", "si dios quiere", "dios mediante", "primero dios", "god willing", "if god willing", "lord willing", "good lord willing", "para que lo apunten", "para que lo anoten", "nomas para que lo apunten", "bad road", "bad roads", "bad two track", "bad trail", "bad trails", "bad weather", "bad country", "todo se me pasa", "todo se me olvida", "se me pasa todo", "va en", "va para", "va por las", "just so you have it", "just so you know", "for your records", "para su registro", "came back from", "came back home", "came home", "new phone", "asi ya no se me pasa", "ya no se me pasa", "ni me acuerdo", "no me acuerdo", "por fin", "at last", "cambio y fuera", "over and out", "btw", "a ver", "no me fije", "no lo vi", "de memoria", "from memory", "le eche agua", "eche agua", "le eche mas agua", "le puse agua", "how yall doing", "hope all is well", "hope youre well", "hope you are well", "hope youre doing well", "hope yall are well", "hope this helps", "espero esten bien", "espero que esten bien", "espero se encuentren bien", "toco madera", "fingers crossed", "fat fingers", "fat thumbs", "fat finger", "good catch", "buen ojo", "on the nose", "on the dot", "exactos", "exactas", "even", "right on the money", "i didnt see no hours", "error mio", "fue error mio", "me equivoque", "mi error", "my mistake", "my fault", "whoops", "oops", "sorry about that", "sorry bout that", "hit it twice", "typo", "no hurry", "no rush", "sin prisa", "whenever", "cuando gusten", "have a blessed day", "have a good weekend", "have a good evening", "have a great day", "que tengan buen dia", "que tenga buen dia", "que esten bien", "que este bien", "cuidense", "cuidese", "take care", "take it easy", "stay warm", "stay safe", "talk soon", "love you", "sent from my phone", "my bad", "ha vuelto a", "han vuelto a", "vuelto a", "cant wait till", "cant wait until", "cant wait",
		"so far", "as of now", "for now", "right now", "at the moment", "as of today", "hasta ahora", "hasta ahorita", "hasta el momento", "por ahora", "si se puede", "if possible", "if you can", "first thing", "if thats ok", "if that works", "si no es molestia",
		"no worries", "knock on wood", "by the way", "even better", "not bad", "nada mal", "no pues", "how are you", "como esta", "y pico", "from here", "at all", "no nothing", "none at all", "ni nada", "none", "por la manana", "en la manana", "de la manana", "por la tarde", "en la tarde",
		"have a good day", "have a good one", "have a nice day", "buen dia", "feliz dia", "happy thanksgiving", "if you need anything", "if i remember right", "to be exact", "give or take",
	},
	senseUnfit: {
		"i am away", "im away", "away from the office", "away from my desk", "will be away", "on vacation", "limited access to email", "will respond", "will reply when", "thank you for your email", "thank you for your message", "thank you for contacting",
		"estoy fuera", "fuera de oficina", "vacaciones", "no estare disponible", "ausente", "reply stop to", "text stop to",
		"out of office", "automatic reply", "auto reply", "autoreply", "im driving", "driving with", "i am driving", "cant talk right now whats up", "respuesta automatica", "fuera de la oficina",
		"sent from do not disturb", "do not disturb while driving",
	},
}

// stopWords opt out when they are the whole of a message (47 CFR
// 64.1200(a)(10) names the English ones; the Spanish ones and START's are
// common practice, no source).
var stopWords = []string{"stop", "quit", "end", "revoke", "opt out", "optout", "cancel", "unsubscribe", "stopall", "stop all",
	"alto", "parar", "baja", "cancelar", "arret"}

var startWords = []string{"start", "unstop", "resume", "subscribe", "iniciar", "empezar", "alta", "comenzar"}

var helpWords = []string{"help", "info", "ayuda", "informacion", "help please", "ayuda por favor"}

// letters that answer only when they are the whole of a message.
var letterWords = map[string]sense{"k": senseGood, "kk": senseGood, "y": sense(KindYes), "ya": sense(KindYes), "n": sense(KindNo), "right": sense(KindYes)}

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

// dictionary finds phrases by their first word, the longest first.
type dictionary map[string][]entry

// entry is one phrase and what it says.
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

// buildSayings takes the phrases by sense.
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

// buildKinds takes the words for kinds of machines.
func buildKinds() dictionary {
	d := dictionary{}
	for p, v := range kindWords {
		d.add(p, "", v)
	}
	d.sort()
	return d
}
