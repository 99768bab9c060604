package inbox

// Faults that are put together of a part and what ails it, or of a loss and
// what is lost, in either language or both: "the brakes still grind", "anda
// tirando oil". What people mean by them is common practice, no source.
var (
	faultParts = wordSet(`brake brakes freno frenos belt belts banda correa clutch embrague tire tires llanta llantas wheel wheels rueda ruedas bearing bearings balero baleros
 shock shocks axle axles boot seat asiento door puerta winch throttle acelerador cable steering direccion horn claxon headlight headlights faro faros light lights luz luces starter marcha
 battery bateria pump bomba fan ventilador hose hoses manguera chain cadena pto blade blades navajas hitch mirror switch key llave gauge shifter reverse reversa transmission tranny transmision alternator alternador`)
	ails = wordSet(`grind grinds grinding squeal squeals squealing squeak squeaks stick sticks sticking slip slips slipping rub rubs rubbing spongy mushy stiff loose wobbly wobbles noisy floppy sloppy shot weak torn
 ripped cracked burst busted broken bent worn rusty leaky leaking leaks jammed stuck locked flickers flicker flickering dim fail fails failed failing whine whines hum hums buzz buzzes clunk clunks pop pops popped fell
 rechina rechinan rechinando truena truenan tronando floja flojo flojas flojos ponchada ponchado ponchadas rota roto rotas quemado quemada quemadas fundido fundida fundidas atorado atorada trabado trabada chilla chillan chillando patina
 zumba zumban vibra brinca cascabelea`)
	losses = wordSet(`tira tirando tiraba bota botando suelta soltando avienta aventando escupe escupiendo pierde perdiendo chorrea chorreando gotea goteando escurre escurriendo saca sacando loses losing lost leaks leaking leaked drips dripping
 pukes puking spits spitting spews spewing drinks drinking burns burning seeps seeping weeps weeping drops dropping spraying pisses pissing dumps dumping`)
	fluids      = wordSet(`oil aceite coolant antifreeze anticongelante refrigerante water agua gas gasolina fuel diesel combustible fluid liquido smoke humo steam vapor grease grasa`)
	faultBridge = wordSet("is are was were s the a an el la lo los las un una my mi its still now just really all some more mucho mucha much muy bien puro pura esta estan anda andan sigue siguen todavia se keeps keep started starts got gets been has have of de brand new nueva nuevo left right front rear back")
)

// pairAt gives how many tokens at i tell of a fault by two words that make one
// together; 0 for none.
func pairAt(ts []token, i int) int {
	for _, pair := range [][2]map[string]bool{{faultParts, ails}, {losses, fluids}, {ails, faultParts}} {
		if !pair[0][at(ts, i)] || ts[i].used {
			continue
		}
		for k := i + 1; k < i+5 && k < len(ts) && ts[k].kind == tokWord && !ts[k].used; k++ {
			if pair[1][at(ts, k)] {
				return k + 1 - i
			}
			if !faultBridge[at(ts, k)] {
				break
			}
		}
	}
	return 0
}

// saidAt gives what is said at token i, the longest first.
func saidAt(ts []token, i int) []entry {
	list := sayings.at(ts, i)
	if n := pairAt(ts, i); n > 0 && (len(list) == 0 || len(list[0].words) < n) {
		words := make([]string, n)
		for k := range words {
			words[k] = at(ts, i+k)
		}
		list = append([]entry{{words: words, sense: senseFault}}, list...)
	}
	return list
}
