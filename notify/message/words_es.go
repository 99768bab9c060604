package message

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// spanish is Spanish as written in the United States and Mexico.
type spanish struct{}

var (
	spanishMonths = [...]string{"enero", "febrero", "marzo", "abril", "mayo", "junio",
		"julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}
	spanishDays = [...]string{"domingo", "lunes", "martes", "miércoles", "jueves", "viernes", "sábado"}
)

func (spanish) monthDay(d models.Date) string {
	_, m, day := d.Civil()
	return fmt.Sprintf("%d de %s", day, spanishMonths[m-1])
}

func (s spanish) date(d models.Date) string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%s de %d", s.monthDay(d), d.Year())
}

func (spanish) day(d models.Date, year int) string {
	return models.ShortDay(d, "es", d.Year() != year)
}

func (spanish) greeting(name string) string {
	if name == "" {
		return "Hola:"
	}
	return "Hola, " + name + ":"
}

func (spanish) stage(s models.Stage) string {
	switch s {
	case models.StageLate:
		return "atrasado"
	case models.StageDue:
		return "toca ahora"
	case models.StageComing:
		return "se acerca"
	case models.StageMoved:
		return "puede esperar"
	}
	return string(s)
}

func (s spanish) between(from, to models.Date) string {
	if from.Year() == to.Year() {
		return fmt.Sprintf("entre el %s y el %s", s.monthDay(from), s.date(to))
	}
	return fmt.Sprintf("entre el %s y el %s", s.date(from), s.date(to))
}

func (s spanish) when(n models.Notice) string {
	exact := !ranged(n)
	about := "hacia el " + s.date(n.DueOn)
	if exact {
		about = "el " + s.date(n.DueOn)
	}
	var out string
	switch {
	case n.DueOn.IsZero():
		return ""
	case n.Stage == models.StageLate:
		return "Tocaba " + about + "."
	case n.Stage == models.StageMoved && !n.WasOn.IsZero():
		out = fmt.Sprintf("Le dijimos el %s; según sus últimas lecturas ahora toca %s", s.date(n.WasOn), about)
	case n.Stage == models.StageDue:
		out = "La fecha llegó " + about
	default:
		out = "Toca " + about
	}
	if !exact {
		out += ", lo más probable " + s.between(n.EarlyOn, n.LateOn)
	}
	return out + "."
}

func (s spanish) shortWhen(n models.Notice, year int) string {
	switch {
	case n.Stage == models.StageLate:
		return "atrasado"
	case n.Stage == models.StageDue || n.DueOn.IsZero():
		return "toca ahora"
	case n.Stage == models.StageMoved:
		return "puede esperar al " + s.day(n.DueOn, year)
	}
	return "antes del " + s.day(n.DueOn, year)
}

func (spanish) why(left, mark string, over bool) string {
	switch {
	case over && mark != "":
		return fmt.Sprintf("Aprox. %s por encima de la marca de %s.", left, mark)
	case over:
		return fmt.Sprintf("Aprox. %s por encima del límite.", left)
	case mark != "":
		return fmt.Sprintf("Faltan aprox. %s para llegar a %s.", left, mark)
	}
	return fmt.Sprintf("Faltan aprox. %s.", left)
}

func (s spanish) byCalendar(n models.Notice) string {
	switch {
	case n.Reason == models.ReasonSeason:
		return "Conviene hacerlo antes de que empiece la temporada."
	case n.Remaining.Days.Known && n.Remaining.Days.F < 0:
		return fmt.Sprintf("Por calendario, marque lo que marque el medidor: venció hace %s.", s.days(-n.Remaining.Days.F))
	case n.Remaining.Days.Known && n.Remaining.Days.F > 0:
		return fmt.Sprintf("Por calendario, marque lo que marque el medidor: plazo restante, %s.", s.days(n.Remaining.Days.F))
	}
	return "Por calendario, marque lo que marque el medidor."
}

func (spanish) days(f float64) string {
	if d := whole(f); d != "1" {
		return d + " días"
	}
	return "1 día"
}

func (s spanish) weekday(d models.Date) string {
	return spanishDays[d.Weekday()] + " " + s.date(d)
}

func (spanish) unrecorded(items int) (state, line string) {
	return models.Unrecorded(items, "es"), "Los revisamos cuando venga. Si sabe cuándo se hizo alguno, díganoslo."
}

func (s spanish) asked(n models.Notice) (name, state, line string) {
	switch n.Subject {
	case models.SubjectReading:
		return "lectura del medidor", "le preguntamos", "Díganos qué marca ahora el medidor y las fechas serán más exactas."
	case models.SubjectCheck:
		name = "seguimiento"
		if n.Detail != "" {
			name = "seguimiento: " + n.Detail
		}
		return name, "le preguntamos", `¿Sigue bien la reparación? Conteste "bien" o cuéntenos qué nota.`
	case models.SubjectVisit:
		name = "visita al taller"
		if n.Detail != "" {
			name += ": " + n.Detail
		}
		switch {
		case n.DueOn.IsZero():
			return name, "cancelada", "La visita queda cancelada. Conteste o llame para fijar otro día."
		case !n.WasOn.IsZero():
			return name, "cambia de día", fmt.Sprintf("Pasa del %s al %s.", s.weekday(n.WasOn), s.weekday(n.DueOn))
		}
		return name, "acordada", fmt.Sprintf("Le esperamos el %s.", s.weekday(n.DueOn))
	}
	return "", "", ""
}

func (s spanish) last(n models.Notice, since bool) string {
	switch {
	case n.LastOn.IsZero():
		return "No tenemos constancia de que se haya hecho."
	case since:
		return fmt.Sprintf("En servicio desde el %s; desde entonces no consta en nuestros registros.", s.date(n.LastOn))
	}
	switch n.LastBy {
	case models.GroundsLooked:
		return fmt.Sprintf("Revisado el %s.", s.date(n.LastOn))
	case models.GroundsMonth:
		return fmt.Sprintf("Última vez: hacia %s de %d.", spanishMonths[n.LastOn.Month()-1], n.LastOn.Year())
	case models.GroundsYear:
		return fmt.Sprintf("Última vez: hacia %d.", n.LastOn.Year())
	}
	return fmt.Sprintf("Última vez: %s.", s.date(n.LastOn))
}

func (s spanish) fitted(on models.Date) string {
	if on.IsZero() {
		return ""
	}
	return fmt.Sprintf("Puesto desde el %s.", s.date(on))
}

func (spanish) unit(d models.Driver) string { return english{}.unit(d) }

func (spanish) list(items []string, more int) string {
	if more > 0 {
		items = append(items[:len(items):len(items)], strconv.Itoa(more)+" más")
	}
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	last := items[len(items)-1]
	and := " y "
	if l := strings.ToLower(last); strings.HasPrefix(l, "i") || strings.HasPrefix(l, "hi") {
		and = " e "
	}
	return strings.Join(items[:len(items)-1], ", ") + and + last
}

func (s spanish) subject(p Page) string {
	if len(p.Machines) == 1 {
		m := p.Machines[0]
		if len(m.Items) == 1 {
			return fmt.Sprintf("%s: %s, %s", m.Label, m.Items[0].Name, m.Items[0].State)
		}
		return fmt.Sprintf("%s: %d servicios, %s", m.Label, len(m.Items), s.stage(p.Worst))
	}
	return fmt.Sprintf("Servicio para %s: %s", s.list(p.labels(3)), s.stage(p.Worst))
}

// stopHint keeps the English words that carriers look for beside the Spanish.
func (spanish) stopHint() string { return "ALTO para terminar. " + stopWords }

func (spanish) pageHint() string {
	return "Sus máquinas, una lectura o un día, en su propia página (no la pase):"
}

func (spanish) coldHint() string { return "Abrir solo en frío." }

func (spanish) label(m models.Machine) string { return labelled(m, "Unidad") }

func (spanish) about(m models.Machine) string {
	s := machineName(m)
	switch {
	case s == "":
		s = kindWord(m.Kind)
	case m.Kind != "":
		s += " (" + kindWord(m.Kind) + ")"
	}
	if m.Site != "" {
		s += ", en " + m.Site
	}
	return strings.TrimPrefix(s, ", ")
}
