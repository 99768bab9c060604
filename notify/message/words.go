package message

import (
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// words is a language, "en" or "es": all that is more than a template can do.
// The two stand side by side, so that neither says what the other does not.
// Spanish is that of Mexico and the United States, without words that would
// have to agree with an item in gender.
type words string

// wordsOf gives the words of a language (BCP 47): Spanish, else English.
func wordsOf(tag string) words {
	if models.Spanish(tag) {
		return "es"
	}
	return "en"
}

// say fills in the words of the language.
func (w words) say(en, es string, with ...any) string {
	return fmt.Sprintf(models.Phrase{EN: en, ES: es}.In(string(w)), with...)
}

var spanishMonths = [...]string{"enero", "febrero", "marzo", "abril", "mayo", "junio",
	"julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}

// date writes a date in full: "June 3, 2026", "3 de junio de 2026".
func (w words) date(d models.Date) string {
	if w == "es" {
		return fmt.Sprintf("%s de %d", w.monthDay(d), d.Year())
	}
	return d.Format("January 2, 2006")
}

func dayOf(d models.Date) int {
	_, _, day := d.Civil()
	return day
}

// monthDay writes a date in full without its year.
func (w words) monthDay(d models.Date) string {
	if w == "es" {
		return fmt.Sprintf("%d de %s", dayOf(d), spanishMonths[d.Month()-1])
	}
	return d.Format("January 2")
}

// day writes a date short: "Jun 3", and the year where it is another than that
// of the message.
func (w words) day(d models.Date, year int) string {
	return models.ShortDay(d, string(w), d.Year() != year)
}

// weekday writes a date with its day of the week: "Tuesday, June 9, 2026".
func (w words) weekday(d models.Date) string {
	return models.Weekday(d, string(w)) + w.say(", ", " ") + w.date(d)
}

// shortWeekday writes it short: "Tue Jun 9", "mar 9 jun".
func (w words) shortWeekday(d models.Date, year int) string {
	return models.ShortWeekday(d, string(w)) + " " + w.day(d, year)
}

// at writes an hour behind a day: " at 8am", " a las 8:00"; "" for none.
func (w words) at(t models.TimeOfDay) string {
	if t.IsZero() {
		return ""
	}
	h, m := t.Minutes()/60, t.Minutes()%60
	if w == "es" {
		if h == 1 {
			return fmt.Sprintf(" a la %d:%02d", h, m)
		}
		return fmt.Sprintf(" a las %d:%02d", h, m)
	}
	half := "am"
	if h >= 12 {
		half = "pm"
	}
	h = (h+11)%12 + 1
	if m == 0 {
		return fmt.Sprintf(" at %d%s", h, half)
	}
	return fmt.Sprintf(" at %d:%02d%s", h, m, half)
}

// greeting begins a mail; "" is nobody by name.
func (w words) greeting(name string) string {
	if name == "" {
		return w.say("Hello,", "Hola:")
	}
	return w.say("Hello %s,", "Hola, %s:", name)
}

// stage names a stage for headings and counts: "5 overdue".
func (w words) stage(s models.Stage) string {
	switch s {
	case models.StageLate:
		return w.say("overdue", "con atraso")
	case models.StageDue:
		return w.say("due now", "para hacer ya")
	case models.StageComing:
		return w.say("coming up", "por venir")
	case models.StageMoved:
		return w.say("can wait", "sin prisa")
	}
	return string(s)
}

// section heads what stands at a stage, or asks or tells of one subject.
func (w words) section(s models.Stage, of models.Subject) string {
	switch of {
	case models.SubjectReading:
		return w.say("meter now", "medidor ahora")
	case models.SubjectCheck:
		return w.say("has the repair held?", "¿quedó bien la reparación?")
	case models.SubjectVisit:
		return w.say("shop visits", "citas en el taller")
	case models.SubjectItem:
		return w.say("first inspection", "primera inspección")
	}
	return w.stage(s)
}

// when says since, by or until when a stage holds; "" without a day.
func (w words) when(s models.Stage, day string) string {
	switch {
	case day == "":
		return ""
	case s == models.StageLate || s == models.StageDue:
		return w.say(" since %s", " desde el %s", day)
	case s == models.StageMoved:
		return w.say(" until %s", " hasta el %s", day)
	}
	return w.say(" by %s", " para el %s", day)
}

// state says a stage with its day as a predicate of so many things: "due by
// Jun 3".
func (w words) state(s models.Stage, day string, things int) string {
	due := "toca"
	if things > 1 {
		due = "tocan"
	}
	when := w.when(s, day)
	switch {
	case s == models.StageLate:
		return w.say("overdue", "con atraso") + when
	case s == models.StageMoved && day != "":
		return w.say("can wait", "no "+due) + when
	case s == models.StageMoved:
		return w.say("can wait", "sin prisa")
	case day == "":
		return w.say("due now", due+" ya")
	}
	return w.say("due", due) + when
}

// between words a range; the year stands once where both ends share it.
func (w words) between(from, to models.Date) string {
	first := w.date(from)
	if from.Year() == to.Year() {
		first = w.monthDay(from)
	}
	return w.say("between %s and %s", "entre el %s y el %s", first, w.date(to))
}

// likely is a sentence on the range of a date, or on the date told before.
func (w words) likely(n models.Notice) string {
	switch {
	case n.Stage == models.StageMoved && !n.WasOn.IsZero():
		return w.say("We had told you %s; by what we know now there is more time.", "Le habíamos dicho el %s; con lo que sabemos ahora, hay más tiempo.", w.date(n.WasOn))
	case n.Stage == models.StageComing && models.Wide(n.EarlyOn, n.LateOn):
		return w.say("We do not know its use well: it may fall %s. What its meters show now would tell.",
			"No conocemos bien su uso: puede caer %s. Lo que marcan sus medidores lo diría.", w.between(n.EarlyOn, n.LateOn))
	case n.Stage == models.StageComing && ranged(n):
		return w.say("By its use it may fall %s.", "Por el uso que lleva puede caer %s.", w.between(n.EarlyOn, n.LateOn))
	}
	return ""
}

// why is a sentence on what drives a date: the meter, and what is left of it.
func (w words) why(left, mark string, over bool) string {
	switch {
	case left == "" && mark == "":
		return ""
	case left == "":
		return w.say("It is due at %s, and about there.", "Toca en %s, y por ahí anda.", mark)
	case over && mark != "":
		return w.say("About %s over: it was due at %s.", "Se pasó como %s: tocaba en %s.", left, mark)
	case over:
		return w.say("About %s over.", "Se pasó como %s.", left)
	case mark != "":
		return w.say("About %s to go until %s.", "Le quedan como %s: toca en %s.", left, mark)
	}
	return w.say("About %s to go.", "Le quedan como %s.", left)
}

// rest is what is left of a limit, in parentheses behind a date in a text.
func (w words) rest(left string, over bool) string {
	switch {
	case left == "":
		return ""
	case over:
		return w.say(" (about %s over)", " (se pasó por %s)", left)
	}
	return w.say(" (about %s to go)", " (le quedan %s)", left)
}

// byCalendar is the sentence where no meter drives a date. It counts no days:
// those have passed when the message is read.
func (w words) byCalendar(n models.Notice) string {
	if n.Reason == models.ReasonSeason {
		return w.say("It belongs before the season begins.", "Conviene hacerlo antes de que empiece la temporada.")
	}
	return w.say("By the calendar, whatever the meter says.", "Va por calendario, marque lo que marque el medidor.")
}

// onCondition says of a part that no date alone has it changed.
func (w words) onCondition() string {
	return w.say("Changed on condition: we test it first, and change it only if it fails.",
		"Se cambia según su estado: primero probamos la pieza y solo se cambia si falla.")
}

// last says when an item was last done; since: it is the day on which the
// machine came into service.
func (w words) last(n models.Notice, since bool) string {
	switch {
	case n.LastOn.IsZero():
		return w.say("We have no record of it being done.", "No tenemos registro de que se haya hecho.")
	case since:
		return w.say("In service since %s; we have no record of it since.", "En uso desde el %s; desde entonces no tenemos registro.", w.date(n.LastOn))
	}
	switch n.LastBy {
	case models.GroundsLooked:
		return w.say("Looked over %s.", "Lo revisamos el %s.", w.date(n.LastOn))
	case models.GroundsMonth:
		return w.say(n.LastOn.Format("Last done about January 2006."), fmt.Sprintf("Última vez: por %s de %d.", spanishMonths[n.LastOn.Month()-1], n.LastOn.Year()))
	case models.GroundsYear:
		return w.say(n.LastOn.Format("Last done about 2006."), n.LastOn.Format("Última vez: por 2006."))
	}
	return w.say("Last done %s.", "Última vez: %s.", w.date(n.LastOn))
}

// fitted says since when a part is in the machine; "" where that is not known.
func (w words) fitted(on models.Date) string {
	if on.IsZero() {
		return ""
	}
	return w.say("In the machine since %s.", "Puesto desde el %s.", w.date(on))
}

// unrecorded words the first inspection.
func (w words) unrecorded(items int) (state, line string) {
	return models.Unrecorded(items, string(w)),
		w.say("We look at them when it comes in. If you know when one was last done, tell us.",
			"Los revisamos cuando venga. Si sabe cuándo se hizo alguno, díganos.")
}

// checkOn names a check: what the repair was, and when it left the shop.
func (w words) checkOn(n models.Notice) string {
	name := w.say("follow-up", "seguimiento")
	if !n.LastOn.IsZero() {
		name += w.say(" on the repair of %s", " de la reparación del %s", w.date(n.LastOn))
	}
	if n.Detail != "" {
		name += ": " + n.Detail
	}
	return name
}

// readingAsk asks for a reading; day is that of the last one, or "".
func (w words) readingAsk(day string) string {
	if day != "" {
		day = w.say(" Our last reading is of %s.", " La última lectura que tenemos es del %s.", day)
	}
	return w.say("Tell us what it shows now, and the dates get sharper.", "Díganos cuánto marca ahora y las fechas salen más exactas.") + day
}

// checkAsk is the question of a check.
func (w words) checkAsk() string {
	return w.say(`Has it held? Reply "ok", or tell us what you notice. If it runs hot: stop, let it go cold, call us.`,
		`¿Ha quedado bien? Conteste "bien", o díganos qué nota. Si se calienta: apague, deje enfriar y llámenos.`)
}

// visit words a visit to the shop: what stands, and the same short for a text.
func (w words) visit(n models.Notice, bring models.TimeOfDay, year int) (state, long, short string) {
	hour := w.at(bring)
	stay := ""
	on, was := w.shortWeekday(n.DueOn, year)+hour, ""
	if n.LateOn > n.DueOn {
		stay = w.say(" It stays until %s.", " Se queda hasta el %s.", w.weekday(n.LateOn))
		on += w.say(", until %s", ", hasta el %s", w.shortWeekday(n.LateOn, year))
	}
	if !n.WasOn.IsZero() {
		was = w.shortWeekday(n.WasOn, year)
	}
	switch {
	case n.DueOn.IsZero():
		day := ""
		if was != "" {
			day = w.say(" on %s", " la del %s", w.weekday(n.WasOn))
			was = w.say(" on %s", " del %s", was)
		}
		return w.say("canceled", "cancelada"), w.say("The one%s is canceled.", "Queda cancelada%s.", day),
			w.say("shop visit%s is canceled", "la cita%s queda cancelada", was)
	case was != "":
		return w.say("moved", "cambia de día"),
			w.say("It moves from %s to %s%s.%s", "Pasa del %s al %s%s.%s", w.weekday(n.WasOn), w.weekday(n.DueOn), hour, stay),
			w.say("shop visit moves from %s to %s", "la cita pasa del %s al %s", was, on)
	}
	return w.say("agreed", "acordada"), w.say("We expect it on %s%s.%s", "La esperamos el %s%s.%s", w.weekday(n.DueOn), hour, stay),
		w.say("shop visit %s", "cita en el taller el %s", on)
}

// work names the items of a visit in short, at most so many.
func (w words) work(items string, most int) string {
	var names []string
	for _, id := range models.Names(items).List() {
		names = append(names, models.ItemOf(id).Short.In(string(w)))
	}
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return strings.Join(names[:most], ", ") + ", " + w.more(len(names)-most)
}

// list joins names: "a, b and 2 more".
func (w words) list(names []string, more int) string {
	if more > 0 {
		names = append(names[:len(names):len(names)], w.more(more))
	}
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := names[len(names)-1]
	and := w.say("and", "y")
	if l := strings.ToLower(last); w == "es" && (strings.HasPrefix(l, "i") || strings.HasPrefix(l, "hi")) {
		and = "e"
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + and + " " + last
}

// more counts what is not named.
func (w words) more(n int) string { return w.say("%d more", "%d más", n) }

// machines counts machines.
func (w words) machines(n int) string { return w.say("%d machines", "%d máquinas", n) }

// coldHint is the shortest caution on the cooling system.
func (w words) coldHint() string {
	return w.say("Cooling: open only cold.", "Radiador: abrir solo en frío.")
}

// stopHint ends the first text to a number: the words that carriers look for,
// which Read knows in Spanish too (ALTO, AYUDA), or where nobody reads answers a
// call to the phone before it.
func (w words) stopHint(oneWay bool) string {
	if oneWay {
		return w.say("To end these texts, call us", "Para la baja, llámenos")
	}
	return w.say("HELP for help, STOP to end", "HELP: ayuda. STOP: baja")
}

// pageHint stands before the address of the receiver's own page.
func (w words) pageHint() string {
	return w.say("Your machines, a reading or a day, on a page of your own (do not pass it on):",
		"Sus máquinas, una lectura o un día, en su propia página (no la comparta):")
}

// label gives a machine's tag, after a word for it where the tag is a mere
// number, which reads like a count in a sentence.
func (w words) label(m models.Machine) string {
	tag := m.Label()
	if tag != "" && strings.Trim(tag, "0123456789") == "" {
		return w.say("Unit ", "Unidad ") + tag
	}
	return tag
}

// about says what a machine is, besides its tag, and where.
func (w words) about(m models.Machine) string {
	s, kind := machineName(m), ""
	if m.Kind != "" {
		kind = models.KindName(m.Kind, string(w))
	}
	switch {
	case s == "":
		s = kind
	case kind != "":
		s += " (" + kind + ")"
	}
	if m.Site != "" {
		s += w.say(", at ", ", en ") + m.Site
	}
	return strings.TrimPrefix(s, ", ")
}
