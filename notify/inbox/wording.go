package inbox

import (
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// Name gives the name by which people know a machine.
type Name func(id string) string

// Wording gives the words in which a question is asked back, short enough for
// one text.
func (q Question) Wording(lang string, name Name) string {
	es := models.Spanish(lang)
	pick := func(en, spanish string) string {
		if es {
			return spanish
		}
		return en
	}
	switch q.Kind {
	case AskMachine:
		what := pick("that", "eso")
		if q.Value.Known {
			what = strings.TrimSpace(q.Value.String() + " " + string(q.Unit))
		}
		return fmt.Sprintf(pick("Which machine is %s for: %s? Please answer with its number.", "¿De qué máquina es %s: %s? Responda con su número, por favor."),
			what, listed(q.Machines, name, lang))
	case AskMeter:
		return fmt.Sprintf(pick("Is %s on %s miles or hours?", "¿%s en %s son millas u horas?"), q.Value, name(q.Act.Machine))
	case AskValue:
		if q.Likely.Known {
			return fmt.Sprintf(pick("%s for %s does not fit what we know. Is it %s? Please send what the meter shows.",
				"%s en %s no coincide con lo que sabemos. ¿Es %s? Envíe lo que marca el medidor, por favor."), q.Value, name(q.Act.Machine), q.Likely)
		}
		return fmt.Sprintf(pick("%s for %s does not fit what we know. Is it right? Please answer yes, or send what the meter shows.",
			"%s en %s no coincide con lo que sabemos. ¿Es correcto? Responda sí, o envíe lo que marca el medidor."), q.Value, name(q.Act.Machine))
	default:
		items := make([]string, len(q.Items))
		for i, id := range q.Items {
			items[i] = models.ItemName(id, lang)
		}
		return fmt.Sprintf(pick("Thank you. Which of these was done on %s: %s?", "Gracias. ¿Qué se hizo en %s: %s?"),
			name(q.Act.Machine), strings.Join(items, ", "))
	}
}

func listed(ids []string, name Name, lang string) string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = name(id)
	}
	if n := len(names); n > 1 {
		or := " or "
		if models.Spanish(lang) {
			or = " o "
		}
		return strings.Join(names[:n-1], ", ") + or + names[n-1]
	}
	return strings.Join(names, "")
}

// Thanks gives the words that confirm what was recorded, "" when nothing was.
func Thanks(acts []Act, machines map[string]models.Machine, lang string) string {
	var parts []string
	for _, a := range acts {
		m := machines[a.Machine]
		switch a.Kind {
		case KindReading:
			parts = append(parts, m.Label()+" "+shown(a, m))
		case KindDone:
			for _, item := range a.Items {
				parts = append(parts, m.Label()+" "+models.ItemName(item, lang))
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
