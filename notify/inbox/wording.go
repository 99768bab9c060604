package inbox

import (
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// Name gives the name by which people know a machine.
type Name func(id string) string

// maxOffered bounds the machines or items that a question names.
const maxOffered = 5

// Wording gives the words in which a question is asked back in the language
// of the sender (BCP 47), short enough for one text. They tell how to answer,
// since Read takes just such answers.
func (q Question) Wording(lang string, label Name) string {
	es := models.Spanish(lang)
	switch q.Kind {
	case AskMachine:
		names := make([]string, 0, len(q.Machines))
		for _, id := range q.Machines {
			names = append(names, label(id))
		}
		said := ""
		if q.Value.Known {
			said = " " + models.Grouped(q.Value.F)
		}
		if es {
			return fmt.Sprintf("¿De qué máquina es%s: %s? Responda con su número.", said, offered(names, "o"))
		}
		return fmt.Sprintf("Which machine is that%s for: %s? Reply with its number.", said, offered(names, "or"))
	case AskMeter:
		if es {
			return fmt.Sprintf("%s: ¿%s son millas u horas?", label(q.Act.Machine), models.Grouped(q.Value.F))
		}
		return fmt.Sprintf("%s: is %s miles or hours?", label(q.Act.Machine), models.Grouped(q.Value.F))
	case AskDay:
		var days []string
		for _, d := range q.Days {
			days = append(days, models.NamedDay(d, lang))
		}
		if es {
			return fmt.Sprintf("Podemos recibir %s el %s. ¿Cuál le queda?", label(q.Act.Machine), offered(days, "o"))
		}
		return fmt.Sprintf("We can take %s on %s. Which suits you?", label(q.Act.Machine), offered(days, "or"))
	case AskWhen:
		work := make([]string, 0, len(q.Act.Items))
		for _, it := range q.Act.Items {
			work = append(work, models.ItemName(it, lang))
		}
		if es {
			return fmt.Sprintf("%s, %s: ¿qué día se hizo? Responda con el día, como \"ayer\" o \"20 nov\".", label(q.Act.Machine), models.Listed(work, "y"))
		}
		return fmt.Sprintf("%s, %s: on what day was it done? Reply with the day, like \"yesterday\" or \"Nov 20\".", label(q.Act.Machine), models.Listed(work, "and"))
	case AskItem:
		names := make([]string, 0, len(q.Items))
		for _, it := range q.Items {
			names = append(names, models.ItemName(it, lang))
		}
		if es {
			return fmt.Sprintf("%s: ¿qué se hizo: %s? Responda con el trabajo, o \"todo\".", label(q.Act.Machine), offered(names, "o"))
		}
		return fmt.Sprintf("%s: what was done: %s? Reply with the work, or \"everything\".", label(q.Act.Machine), offered(names, "or"))
	}
	return q.valueWords(es, label(q.Act.Machine))
}

// valueWords asks about a value that is doubted.
func (q Question) valueWords(es bool, label string) string {
	unit := map[bool]string{false: "hours", true: "horas"}[es]
	if q.Meter == models.Odometer {
		unit = map[bool]string{false: "on the odometer", true: "en el odómetro"}[es]
	}
	value := models.Grouped(q.Value.F)
	if !q.Likely.Known {
		if es {
			return fmt.Sprintf("%s: ¿%s %s es correcto? Responda \"sí\" o el número correcto.", label, value, unit)
		}
		return fmt.Sprintf("%s: is %s %s right? Reply \"yes\" or the right number.", label, value, unit)
	}
	if near(q.Likely.F, q.Value.F) {
		if es {
			return fmt.Sprintf("%s: ¿quiso decir %s %s? Responda \"sí\" o el número correcto.", label, value, unit)
		}
		return fmt.Sprintf("%s: did you mean %s %s? Reply \"yes\" or the right number.", label, value, unit)
	}
	likely := models.Grouped(q.Likely.F)
	if es {
		return fmt.Sprintf("%s: %s no parece correcto. ¿Quiso decir %s %s? Responda \"sí\" o el número correcto.", label, value, likely, unit)
	}
	return fmt.Sprintf("%s: %s does not look right. Did you mean %s %s? Reply \"yes\" or the right number.", label, value, likely, unit)
}

// offered lists names: "a, b or c"; of many only the first.
func offered(names []string, or string) string {
	if len(names) > maxOffered {
		return strings.Join(names[:maxOffered], ", ") + " ..."
	}
	return models.Listed(names, or)
}

// Thanks gives the words that confirm what was recorded, "" when nothing was.
// on gives the day of an act, which work done names: it may have been another.
func Thanks(acts []Act, machines map[string]models.Machine, lang string, on func(Act) models.Date) string {
	var parts []string
	for _, a := range acts {
		m := machines[a.Machine]
		switch a.Kind {
		case KindReading:
			parts = append(parts, m.Label()+" "+shown(a, m))
		case KindDone:
			for _, item := range a.Items {
				parts = append(parts, m.Label()+" "+models.ItemName(item, lang)+" ("+models.NamedDay(on(a), lang)+")")
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	if models.Spanish(lang) {
		return "Gracias, anotado: " + strings.Join(parts, ", ") + "."
	}
	return "Thank you, noted: " + strings.Join(parts, ", ") + "."
}

// shown writes the values of a reading with their units.
func shown(a Act, m models.Machine) string {
	var parts []string
	if a.Miles.Known {
		unit := " mi"
		if m.Meters.Metric() {
			unit = " km"
		}
		parts = append(parts, a.Miles.String()+unit)
	}
	if a.Hours.Known {
		parts = append(parts, a.Hours.String()+" h")
	}
	return strings.Join(parts, ", ")
}
