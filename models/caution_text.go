package models

// cautions are the texts of Cautions. Short forms keep to characters that the
// GSM 7-bit alphabet holds, so that a text message is not doubled in length
// by one accent; the Spanish ones are worded around á, í, ó and ú.
var cautions = []Caution{
	{
		ID: "hot_coolant", Topic: TopicCooling,
		Short: Phrase{
			EN: "Let it go cold first (hours, best overnight): hot coolant burns.",
			ES: "Deje enfriar primero (mejor toda la noche): el refrigerante quema.",
		},
		Long: Phrase{
			EN: "Hot coolant is under pressure and burns. Open the cap, a hose or the bleed screw only when the engine is cold: " +
				"that takes hours, best the next morning. Cover the cap with a rag and turn it to the first stop to let off what is left.",
			ES: "El refrigerante caliente está a presión y quema. Abra el tapón, una manguera o el tornillo de purga solo con el motor frío: " +
				"eso lleva horas, mejor a la mañana siguiente. Cubra el tapón con un trapo y gírelo hasta el primer tope para soltar lo que quede.",
		},
	},
	{
		ID: "glycol_poison", Topic: TopicCooling,
		Short: Phrase{
			EN: "Coolant poisons people and animals: catch it all, wipe up spills.",
			ES: "El refrigerante envenena a gente y animales: no deje nada a mano.",
		},
		Long: Phrase{
			EN: "Ethylene glycol tastes sweet and kills people, dogs and stock in small amounts. Catch all of it, close and label the can, " +
				"wipe and rinse spills, and dispose of it as local rules say; never onto the ground or into a drain. If swallowed, call for medical help at once.",
			ES: "El etilenglicol sabe dulce y mata a personas, perros y ganado en poca cantidad. Recójalo todo, cierre y rotule el recipiente, " +
				"limpie y enjuague lo derramado, y deséchelo según las normas locales; nunca a la tierra ni al desagüe. Si alguien lo traga, pida ayuda médica de inmediato.",
		},
	},
	{
		ID: "eyes_hands", Topic: TopicCooling,
		Short: Phrase{
			EN: "Wear eye protection and gloves.",
			ES: "Use lentes de seguridad y guantes.",
		},
		Long: Phrase{
			EN: "Wear eye protection and gloves: coolant squirts from hoses and bleed screws even when cold.",
			ES: "Use lentes de seguridad y guantes: el refrigerante salta de mangueras y purgas aun en frío.",
		},
	},
	{
		ID: "glycol_exhaust", Topic: TopicCooling,
		Short: Phrase{
			EN: "Keep coolant off a hot exhaust: glycol can catch fire there.",
			ES: "Que no caiga refrigerante en el escape caliente: el glicol puede arder.",
		},
		Long: Phrase{
			EN: "Glycol spilled on a hot exhaust smokes and can catch fire once its water has boiled off. Rinse and dry spills before the engine is run; keep an extinguisher at hand.",
			ES: "El glicol derramado sobre un escape caliente humea y puede arder cuando su agua se evapora. Enjuague y seque antes de arrancar el motor; tenga un extintor a mano.",
		},
	},
	{
		ID: "trapped_air", Topic: TopicCooling,
		Short: Phrase{
			EN: "Bleed it cold with its high point up; check the radiator too, not only the bottle.",
			ES: "Purgue con el motor apagado y sin calor, punto alto arriba; mire el radiador mismo.",
		},
		Long: Phrase{
			EN: "Trapped air makes hot spots and false readings. Put the high point of the system up, bleed cold at the bleed screw if one is fitted " +
				"(new washer if it has one), and check the level in the radiator itself where it has a cap: the bottle can be full over an empty radiator.",
			ES: "El aire atrapado causa puntos calientes y lecturas falsas. Ponga arriba el punto alto del sistema, purgue en frío por el tornillo de purga si lo tiene " +
				"(arandela nueva si la lleva) y compruebe el nivel en el propio radiador si tiene tapón: el depósito puede estar lleno con el radiador vacío.",
		},
	},
	{
		ID: "chemistry", Topic: TopicCooling,
		Short: Phrase{
			EN: "Do not mix coolant types; use the kind the manual names, with distilled water.",
			ES: "No mezcle tipos de refrigerante; use el del manual, con agua destilada.",
		},
		Long: Phrase{
			EN: "Use the kind of coolant that the manual names and do not mix kinds: mixed inhibitors can gel or stop protecting. Dilute with distilled or deionized water only.",
			ES: "Use el tipo de refrigerante que indica el manual y no mezcle tipos: los inhibidores mezclados pueden formar gel o dejar de proteger. Diluya solo con agua destilada o desionizada.",
		},
	},
	{
		ID: "fan_starts", Topic: TopicFan,
		Short: Phrase{
			EN: "The fan can start by itself, engine off too: key out, battery off, hands clear.",
			ES: "El ventilador puede arrancar solo: saque la llave y desconecte la corriente.",
		},
		Long: Phrase{
			EN: "An electric fan can start by itself with the engine off, and belts and clutches grab sleeves and hair. Take the key out and disconnect the battery " +
				"before reaching in; with the engine running keep hands, tools and clothing clear.",
			ES: "Un ventilador eléctrico puede arrancar solo con el motor parado, y correas y embragues atrapan mangas y pelo. Saque la llave y desconecte la batería " +
				"antes de meter las manos; con el motor en marcha mantenga lejos manos, herramientas y ropa.",
		},
	},
	{
		ID: "generator_starts", Topic: TopicGenerator,
		Short: Phrase{
			EN: "It can start by itself and feed back: lock it out, controller off, battery off.",
			ES: "Puede arrancar solo y dar corriente: bloquee el mando y desconecte.",
		},
		Long: Phrase{
			EN: "A standby generator can start by itself at any moment, and a building or a second source can feed back into it. Set the controller to off, open and lock its breaker, " +
				"disconnect the starting battery (and its charger) and check for dead before touching it.",
			ES: "Un generador de reserva puede arrancar solo en cualquier momento, y un edificio u otra fuente puede devolverle corriente. Ponga el mando en apagado, abra y bloquee su interruptor, " +
				"desconecte la batería de arranque (y su cargador) y compruebe que no hay tensión antes de tocarlo.",
		},
	},
	{
		ID: "exhaust_gas", Topic: TopicExhaust,
		Short: Phrase{
			EN: "Run the engine outdoors or with the exhaust piped out: its gas kills.",
			ES: "Eche a andar el motor al aire libre o con extractor: el gas de escape mata.",
		},
		Long: Phrase{
			EN: "Exhaust gas holds carbon monoxide, which cannot be smelled and kills. Run the engine outdoors, clear of windows, or pipe the exhaust out; an open door is not enough.",
			ES: "El gas de escape lleva monóxido de carbono, que no se huele y mata. Eche a andar el motor al aire libre, lejos de ventanas, o saque el escape con un tubo; una puerta abierta no basta.",
		},
	},
	{
		ID: "fuel_fire", Topic: TopicFuel,
		Short: Phrase{
			EN: "Fuel burns: engine cold, no flame or spark, catch it all, extinguisher at hand.",
			ES: "El combustible arde: sin calor, llama ni chispa; recoja todo y tenga un extintor.",
		},
		Long: Phrase{
			EN: "Fuel and its vapor catch fire from a spark. Work on a cold engine, outdoors or well aired, disconnect the battery, let the pressure off as the manual says, catch all of it and keep an extinguisher at hand.",
			ES: "El combustible y su vapor arden con una chispa. Trabaje con el motor frío, al aire libre o con buena ventilación, desconecte la batería, quite la presión como dice el manual, recójalo todo y tenga un extintor a mano.",
		},
	},
	{
		ID: "hot_oil", Topic: TopicOil,
		Short: Phrase{
			EN: "Hot oil burns: drain it warm, not hot. Keep used oil off skin and out of drains.",
			ES: "El aceite caliente quema: drene tibio, no lo toque ni lo tire al desagüe.",
		},
		Long: Phrase{
			EN: "Hot oil and hot metal burn: drain oil warm, not hot, with gloves. Keep used oil off the skin, catch it and hand it in as local rules say.",
			ES: "El aceite y el metal calientes queman: vacíe el aceite tibio, no caliente, con guantes. Evite el contacto del aceite usado con la piel, recójalo y entréguelo según las normas locales.",
		},
	},
	{
		ID: "battery_gas", Topic: TopicBattery,
		Short: Phrase{
			EN: "Battery gas explodes, its acid burns: no spark, eye protection, minus off first.",
			ES: "La carga suelta gas que explota: sin chispas, con lentes; quite primero el negativo.",
		},
		Long: Phrase{
			EN: "A charging battery gives off gas that explodes, and its acid burns skin and eyes. Wear eye protection, allow no spark or flame, take the negative cable off first and put it on last.",
			ES: "Una batería en carga suelta un gas que explota, y su ácido quema la piel y los ojos. Use lentes de seguridad, evite chispas y llamas, quite primero el cable negativo y póngalo el último.",
		},
	},
	{
		ID: "oil_jet", Topic: TopicHydraulic,
		Short: Phrase{
			EN: "Oil under pressure goes through skin: implement down, pressure off; no bare hands.",
			ES: "El aceite hidraulico a alta fuerza atraviesa la piel: implemento abajo, quite la fuerza.",
		},
		Long: Phrase{
			EN: "Hydraulic oil under pressure goes through skin and must be treated by a doctor at once. Lower the bucket or implement, stop the engine, " +
				"work the levers to let the pressure off, and look for leaks with cardboard, never with a hand.",
			ES: "El aceite hidráulico a presión atraviesa la piel y exige un médico de inmediato. Baje la pala o el implemento, pare el motor, " +
				"mueva las palancas para quitar la presión y busque fugas con un cartón, nunca con la mano.",
		},
	},
	{
		ID: "brake_fluid", Topic: TopicBrakes,
		Short: Phrase{
			EN: "Brake fluid harms eyes and paint. Test the brakes before the machine is driven.",
			ES: "El fluido de freno ataca los ojos y la pintura. Pruebe los frenos antes de salir.",
		},
		Long: Phrase{
			EN: "Brake fluid harms eyes, skin and paint, and old or wrong fluid fails when hot. Use new fluid of the kind that the manual names, bleed until no air comes, " +
				"and test the brakes at walking pace before the machine is driven.",
			ES: "El líquido de frenos daña ojos, piel y pintura, y el viejo o equivocado falla en caliente. Use líquido nuevo del tipo que indica el manual, purgue hasta que no salga aire " +
				"y pruebe los frenos a paso de hombre antes de usar la máquina.",
		},
	},
	{
		ID: "support_raised", Topic: TopicRaised,
		Short: Phrase{
			EN: "Prop a raised machine or bed on stands; never work under a jack alone.",
			ES: "Apoye en soportes lo que levante; nunca trabaje debajo de solo un gato.",
		},
		Long: Phrase{
			EN: "Support a raised machine, bed or hood on stands or its own prop on firm level ground before anyone reaches beneath it; a jack or a hydraulic cylinder alone is not a support.",
			ES: "Apoye la máquina, la caja o el cofre levantados en soportes o en su propio puntal, sobre piso firme y parejo, antes de meterse debajo; un gato o un cilindro hidráulico solos no sostienen.",
		},
	},
	{
		ID: "brake_chocks", Topic: TopicRolling,
		Short: Phrase{
			EN: "Level ground, parking brake on, wheels chocked, key out.",
			ES: "Piso parejo, freno de mano puesto, ruedas calzadas, sin llave.",
		},
		Long: Phrase{
			EN: "Park on level ground, set the parking brake, chock the wheels on both sides and take the key out. With the engine running keep it in neutral or park.",
			ES: "Estacione en piso parejo, ponga el freno de estacionamiento, calce las ruedas por ambos lados y saque la llave. Con el motor en marcha déjela en neutral o estacionamiento.",
		},
	},
	{
		ID: "pto_off", Topic: TopicPTO,
		Short: Phrase{
			EN: "PTO off, implement down, wait until everything stands still.",
			ES: "Toma de fuerza apagada, implemento abajo, espere a que todo pare.",
		},
		Long: Phrase{
			EN: "Switch the power take-off off, lower the bucket or implement to the ground and wait until everything stands still before stepping close; a turning shaft takes hold in an instant.",
			ES: "Desconecte la toma de fuerza, baje la pala o el implemento al suelo y espere a que todo pare antes de acercarse; un eje que gira atrapa en un instante.",
		},
	},
	{
		ID: "manual_first", Topic: TopicAny,
		Short: Phrase{
			EN: "The maker's manual and a qualified technician come first.",
			ES: "Ante todo, el manual del fabricante y un técnico calificado.",
		},
		Long: Phrase{
			EN: "The maker's manual and a qualified technician come before any figure here; intervals that ship with this program are common practice to start from, not the maker's.",
			ES: "El manual del fabricante y un técnico calificado están por encima de cualquier cifra de aquí; los intervalos incluidos en este programa son práctica común para empezar, no los del fabricante.",
		},
	},
}
