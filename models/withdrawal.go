package models

import (
	"fmt"
	"strconv"
	"strings"
)

// Withdrawn is the reason for which a fact was taken back, and who said so;
// "" while it stands. It is loaded with the fact and lives in a row of its own.
type Withdrawn struct {
	Why string `gorm:"column:withdrawn;->;-:migration" json:"Withdrawn"`
	By  string `gorm:"column:withdrawn_by;->;-:migration" json:"WithdrawnBy"`
}

// Retracted is the reason for which an owner, a contact or a machine that was
// written down by mistake was taken back, and who said so; "" while it stands.
// It is written with a version of its own.
type Retracted struct {
	Why string `gorm:"column:withdrawn" json:"withdrawn"`
	By  string `gorm:"column:withdrawn_by" json:"withdrawn_by"`
}

// FactSort says what kind of fact may be taken back by its row.
type FactSort string

// The sorts. Whole jobs, visits and rules have a number or name of their own
// and are taken back by a new version; a refusal is lifted (see
// scheduler.Replier).
const (
	SortReading  FactSort = "reading"
	SortService  FactSort = "service"
	SortSwap     FactSort = "swap"
	SortStanding FactSort = "standing"
	SortBaseline FactSort = "baseline"
	SortRelease  FactSort = "release"
	SortLine     FactSort = "line"   // of a job, with the service that came of it
	SortPart     FactSort = "part"   // of a job
	SortAnswer   FactSort = "answer" // to a check
)

// Sorts that are taken back by a version of their own (see Retracted), and
// those that may stand in the way of that.
const (
	SortOwner   FactSort = "owner"
	SortContact FactSort = "contact"
	SortMachine FactSort = "machine"
	SortJob     FactSort = "job"
	SortVisit   FactSort = "visit"
	SortMessage FactSort = "message"
	SortRule    FactSort = "rule"
)

// sortWords are the sorts in words.
var sortWords = map[FactSort]Phrase{
	SortReading:  {"reading", "lectura"},
	SortService:  {"service", "servicio"},
	SortSwap:     {"change of meter", "cambio de medidor"},
	SortStanding: {"standing", "situación"},
	SortBaseline: {"first word on an item", "dato inicial"},
	SortRelease:  {"release", "liberación"},
	SortLine:     {"line of a job", "renglón de trabajo"},
	SortPart:     {"part of a job", "refacción de trabajo"},
	SortAnswer:   {"answer to a check", "respuesta a una revisión"},
	SortOwner:    {"owner", "dueño"},
	SortContact:  {"contact", "contacto"},
	SortMachine:  {"machine", "máquina"},
	SortJob:      {"job", "trabajo"},
	SortVisit:    {"visit", "visita"},
	SortMessage:  {"message that went out", "mensaje que salió"},
	SortRule:     {"rule of its own", "regla propia"},
}

// SortCount is how many facts of a sort there are.
type SortCount struct {
	Sort FactSort
	N    int
}

// SortCounts is what hangs on something.
type SortCounts []SortCount

// In names them in a language: "service (2), job (1)".
func (c SortCounts) In(lang string) string {
	out := make([]string, len(c))
	for i, s := range c {
		out[i] = fmt.Sprintf("%s (%d)", s.Sort.In(lang), s.N)
	}
	return strings.Join(out, ", ")
}

// In gives the sort's words in a language.
func (s FactSort) In(lang string) string { return sortWords[s].In(lang) }

// Withdrawal takes back a fact; it is written once.
type Withdrawal struct {
	Fact
	Sort  FactSort `gorm:"column:sort"`
	Taken int64    `gorm:"column:fact"` // the row of the fact that is taken back
	Why   string   `gorm:"column:why"`  // for people; never empty
	By    string   `gorm:"column:by_whom"`
}

// TableName names the table.
func (Withdrawal) TableName() string { return "withdrawals" }

// MachineFact is a fact of a machine as a list shows it.
type MachineFact struct {
	Sort      FactSort `gorm:"column:sort"`
	Row       int64    `gorm:"column:id"`
	Machine   string   `gorm:"column:machine"`
	At        Date     `gorm:"column:at"`
	Item      string   `gorm:"column:item"`   // of a service, baseline or line
	What      string   `gorm:"column:what"`   // a state, a result, or the meter of a swap, as they are stored
	Detail    string   `gorm:"column:detail"` // as it was written: a source, a repair, a part, a question, a day
	Miles     Number   `gorm:"column:miles"`
	Hours     Number   `gorm:"column:hours"`
	Withdrawn `gorm:"embedded"`
}

// TakenFact is a fact that was taken back, and what that cannot undo.
type TakenFact struct {
	MachineFact
	Sent     int64  // messages about its machine that went out since it was recorded
	Visits   int64  // visits that it took out of the plan, and that stay out
	Reopened bool   // the job that the answer opened again stays open
	Job      string // that goes on saying that a service was done; "": none
	Line     int64  // the row of its line
	Checks   int    // open checks of that job
}

// factWords are the states and results that a fact may have, in words.
var factWords = map[string]Phrase{
	string(Released): {"released", "liberada"}, string(HeldBack): {"held back", "retenida"},
	string(BaselineDone): {"done", "hecho"}, string(BaselineFine): {"looked fine", "se veía bien"}, string(BaselineUnknown): {"not known", "no se sabe"},
	string(StandsInUse): {"in use", "en uso"}, string(StandsLaidUp): {"laid up", "guardada"}, string(StandsSold): {"sold", "vendida"},
	string(StandsGone): {"gone", "ya no está"}, string(StandsScrapped): {"scrapped", "desguazada"},
	string(CheckOK): {"ok", "bien"}, string(CheckBad): {"not ok", "no está bien"}, string(CheckNotFitted): {"not fitted", "no lo tiene"},
	string(Odometer): {"odometer", "odómetro"}, string(HourMeter): {"hour meter", "horómetro"},
}

// Title says what the fact is in a language, without the meters.
func (f MachineFact) Title(lang string) string {
	var parts []string
	if f.Item != "" {
		parts = append(parts, ItemName(f.Item, lang))
	}
	if f.What != "" {
		parts = append(parts, factWords[f.What].In(lang))
	}
	if f.Detail != "" {
		parts = append(parts, f.Detail)
	}
	return strings.Join(parts, ", ")
}

// Words says on one line what the fact is, in English.
func (f MachineFact) Words(m Machine) string {
	unit := " mi"
	if m.Meters.Metric() {
		unit = " km"
	}
	var parts []string
	if title := f.Title("en"); title != "" {
		parts = append(parts, title)
	}
	if f.Miles.Known {
		parts = append(parts, f.Miles.String()+unit)
	}
	if f.Hours.Known {
		parts = append(parts, f.Hours.String()+" h")
	}
	return strings.Join(parts, ", ")
}

// Kept says in a language what taking the fact back does not undo, a sentence
// each.
func (t TakenFact) Kept(lang string) (out []string) {
	if t.Sent > 0 {
		out = append(out, Phrase{"What went out about the machine since it was recorded stays with whoever got it; messages: ",
			"Lo que salió sobre la máquina desde entonces se queda con quien lo recibió; mensajes: "}.In(lang)+strconv.FormatInt(t.Sent, 10)+".")
	}
	if t.Visits > 0 {
		out = append(out, Phrase{"Visits that it took out of the plan stay out and are to be planned anew: ",
			"Las visitas que quitó del plan siguen fuera y hay que planearlas de nuevo: "}.In(lang)+strconv.FormatInt(t.Visits, 10)+".")
	}
	if t.Reopened {
		out = append(out, Phrase{"The job that it opened again stays open.", "El trabajo que reabrió sigue abierto."}.In(lang))
	}
	if t.Job != "" {
		out = append(out, fmt.Sprintf(Phrase{"Job %s goes on saying that it was done: take back its line-%d too; its words are corrected with the job.",
			"El trabajo %s sigue diciendo que se hizo: anule también su renglón line-%d; sus palabras se corrigen con el trabajo."}.In(lang), t.Job, t.Line))
	}
	if t.Checks > 0 {
		out = append(out, fmt.Sprintf(Phrase{"Checks of that job stay open: %d.", "Revisiones de ese trabajo que siguen abiertas: %d."}.In(lang), t.Checks))
	}
	return out
}

// ServedTwice is a service that stands beside another of the same item on the
// same day: probably one service and its correction.
type ServedTwice struct {
	Machine string
	Item    string
	At      Date
	Earlier int64 // the number of the one written first
	Miles   Number
	Hours   Number // what that one says of the meters
}
