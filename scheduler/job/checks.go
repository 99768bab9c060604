package job

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Groups of work that a definition may name beside items.
const (
	groupCooling = "cooling" // any line that opens the cooling system
	groupRepair  = "repair"  // any repair, and any job with a complaint
)

// Figures of the owner's check that comes with the program: a week or 50
// miles, or 5 hours (50 miles at 10 miles an hour). Common practice, no source.
const (
	ownerDays  = 7
	ownerMiles = 50
	ownerHours = 5
)

// shipped are the checks that come with the program: common practice, no
// source; the maker's manual comes first. A shop replaces or retires one by a
// definition of its own with the same id.
var shipped = []models.CheckDef{
	{
		ID: "cooling_bled", Kind: models.CheckBench, Items: groupCooling,
		QuestionEN: "Cold, high point of the system up: bled at the bleed screw (if fitted) until coolant comes without air?",
		QuestionES: "En frío, punto alto del sistema arriba: ¿purgado por el tornillo de purga (si lo tiene) hasta salir sin aire?",
	},
	{
		ID: "cooling_washer", Kind: models.CheckBench, Items: groupCooling, IfFitted: true,
		QuestionEN: "Bleed screw or drain plug opened: new crush washer fitted, if it has one?",
		QuestionES: "Tornillo de purga o tapón abierto: ¿arandela nueva, si la lleva?",
	},
	{
		ID: "cooling_fan", Kind: models.CheckBench, Items: groupCooling,
		QuestionEN: "Warmed to operating temperature: fan seen to cycle on and off?",
		QuestionES: "Calentado a temperatura de trabajo: ¿se vio encender y apagar el ventilador?",
	},
	{
		ID: "cooling_level", Kind: models.CheckBench, Items: groupCooling + " " + models.ItemCap,
		QuestionEN: "Cooled right down (hours, best the next morning), cap on, run once more as a closed system, cold again: " +
			"level at the cold mark, in the radiator and not only the bottle?",
		QuestionES: "Enfriado del todo (horas, mejor a la mañana siguiente), con el tapón puesto, otra marcha en circuito cerrado y otra vez frío: " +
			"¿nivel en la marca de frío, en el radiador y no solo en la botella?",
	},
	{
		ID: "cooling_drip", Kind: models.CheckBench, Items: groupCooling + " " + models.ItemCap,
		QuestionEN: "No drip at hoses, clamps, screw and drain, warm and cold?",
		QuestionES: "¿Sin goteo en mangueras, abrazaderas, tornillo y drenaje, caliente y frío?",
	},
	{
		ID: "cooling_held", Kind: models.CheckOwner, Items: groupCooling + " " + models.ItemCap,
		QuestionEN: "Is it running right, and is the coolant still at the cold mark?",
		QuestionES: "¿Anda bien, y sigue el refrigerante en la marca de frío?",
		AfterDays:  ownerDays, AfterMiles: models.Num(ownerMiles), AfterHours: models.Num(ownerHours),
	},
	{
		ID: "repair_held", Kind: models.CheckOwner, Items: groupRepair,
		QuestionEN: "Is it running right, or has the trouble come back?",
		QuestionES: "¿Anda bien, o volvió la falla?",
		AfterDays:  ownerDays, AfterMiles: models.Num(ownerMiles), AfterHours: models.Num(ownerHours),
	},
}

// PassedCheck gives the id of the check that asks whether an item's test was
// passed.
func PassedCheck(item string) string { return item + "_passed" }

// withTests adds the checks of the catalogue's tests to the shipped ones.
func withTests() []models.CheckDef {
	out := slices.Clone(shipped)
	for _, it := range models.Items() {
		if it.Passed != (models.Phrase{}) {
			out = append(out, models.CheckDef{ID: PassedCheck(it.ID), Kind: models.CheckBench, Items: it.ID, QuestionEN: it.Passed.EN, QuestionES: it.Passed.ES})
		}
	}
	return out
}

// Defs gives the definitions of checks in force: those that come with the
// program, in their order, then the shop's own. One of the shop's with the
// same id takes the place of a shipped one; a retired one holds no more.
func Defs(own []models.CheckDef) []models.CheckDef {
	byID := make(map[string]models.CheckDef, len(own))
	for _, d := range own {
		byID[d.ID] = d
	}
	var out []models.CheckDef
	add := func(d models.CheckDef) {
		if !d.Retired {
			out = append(out, d)
		}
	}
	for _, d := range withTests() {
		if o, ok := byID[d.ID]; ok {
			delete(byID, d.ID)
			d = o
		}
		add(d)
	}
	for _, d := range own {
		if _, left := byID[d.ID]; left {
			add(d)
		}
	}
	return out
}

// follows says whether a check follows from some lines of a job.
func follows(d models.CheckDef, j models.Job, lines []models.JobLine) bool {
	items := strings.Fields(d.Items)
	if slices.Contains(items, groupRepair) && j.Complaint != "" {
		return true
	}
	for _, l := range lines {
		switch {
		case l.Item != "" && slices.Contains(items, l.Item),
			l.Item == "" && slices.Contains(items, groupRepair),
			l.Cooling && slices.Contains(items, groupCooling):
			return true
		}
	}
	return false
}

// checksAfter gives the checks that follow from some lines of a job's present
// turn and are not set yet. The owner is asked the general question after
// repairs only where no sharper one is asked: two are not answered.
func checksAfter(w models.WholeJob, m models.Machine, defs []models.CheckDef, lines []models.JobLine) []models.Check {
	asked := false
	had := map[string]bool{}
	for _, a := range w.Checks {
		if a.Check.Turn == w.Job.Turn {
			had[a.Check.Def] = true
			asked = asked || a.Check.Kind == models.CheckOwner
		}
	}
	var out []models.Check
	for _, general := range []bool{false, true} {
		for _, d := range defs {
			owner := d.Kind == models.CheckOwner
			if (owner && d.Items == groupRepair) != general || (general && asked) || had[d.ID] || !follows(d, w.Job, lines) {
				continue
			}
			asked = asked || owner
			out = append(out, checkOf(d, w.Job, m))
		}
	}
	return out
}

// checkOf makes a check of a definition, with the limits that the machine's
// meters can reach.
func checkOf(d models.CheckDef, j models.Job, m models.Machine) models.Check {
	c := models.Check{
		Job: j.ID, Turn: j.Turn, Kind: d.Kind, Def: d.ID, QuestionEN: d.QuestionEN, QuestionES: d.QuestionES,
		IfFitted: d.IfFitted, AfterDays: d.AfterDays,
	}
	if m.Meters.Has(models.Odometer) {
		c.AfterMiles = d.AfterMiles
	}
	if m.Meters.Has(models.HourMeter) {
		c.AfterHours = d.AfterHours
	}
	return c
}

// AddCheck sets a check by hand. An owner's check set after the hand-over
// counts from the hand-over.
func AddCheck(w models.WholeJob, c models.Check) (models.JobChange, error) {
	a := actBench
	if c.Kind == models.CheckOwner {
		a = actAmend
	}
	if err := may(w.Job, a); err != nil {
		return models.JobChange{}, err
	}
	for _, t := range []*string{&c.QuestionEN, &c.QuestionES} {
		if err := words("question", t); err != nil {
			return models.JobChange{}, err
		}
	}
	if c.QuestionEN == "" {
		c.QuestionEN = c.QuestionES
	}
	if c.QuestionEN == "" {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "say what is to be checked", "the check asks nothing")
	}
	if c.Kind == models.CheckOwner && c.AfterDays <= 0 && !c.AfterMiles.Known && !c.AfterHours.Known {
		c.AfterDays = ownerDays
	}
	c.Job, c.Turn = w.Job.ID, w.Job.Turn
	if c.Kind == models.CheckOwner && w.Job.State == models.JobHanded {
		c.From, c.FromMiles, c.FromHours = w.Job.HandedOn, w.Job.Miles, w.Job.Hours
	}
	return models.JobChange{Job: w.Job, Checks: []models.Check{c}}, nil
}

// Reply is an answer to a check.
type Reply struct {
	At     models.Instant
	On     models.Date // the same moment as a date in the shop
	Result models.CheckResult
	Words  string
	By     string
}

// Answer takes an answer to a check. An owner's "not ok" reopens the job; the
// change then holds its next turn, and the shop is to be told at once.
func Answer(w models.WholeJob, id string, r Reply) (models.JobChange, error) {
	i := slices.IndexFunc(w.Checks, func(a models.AskedCheck) bool { return a.Check.ID == id })
	if i < 0 {
		return models.JobChange{}, models.Errorf(models.CodeNotFound, "`roundsman check list` lists the open ones", "job %s has no check %s", w.Job.ID, id)
	}
	c := w.Checks[i].Check
	if err := words("answer", &r.Words); err != nil {
		return models.JobChange{}, err
	}
	if c.Turn != w.Job.Turn {
		return models.JobChange{}, models.Errorf(models.CodeConflict, "answer the checks of the present attempt",
			"check %s is of an earlier attempt at job %s", id, w.Job.ID)
	}
	if r.Result == models.CheckNotFitted && !c.IfFitted {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "say ok or not ok",
			"check %s is not about something that may be missing", id)
	}
	a := models.CheckAnswer{Check: id, At: r.At, Result: r.Result, Words: r.Words, By: r.By}
	if last, ok := w.Checks[i].Last(); ok { // the order of answers is that of their times
		a.At = max(a.At, last.At+1)
	}
	if c.Kind == models.CheckBench {
		if err := may(w.Job, actBench); err != nil {
			return models.JobChange{}, err
		}
		return models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{a}}, nil
	}
	if err := may(w.Job, actOwner); err != nil {
		return models.JobChange{}, err
	}
	change := models.JobChange{Job: w.Job}
	if r.Result == models.CheckBad {
		var err error
		if change, err = Reopen(w, Back{On: r.On, By: r.By, Words: r.Words}); err != nil {
			return models.JobChange{}, err
		}
	}
	change.Answers = []models.CheckAnswer{a}
	return change, nil
}

// CameBack says whether a change reopens a job.
func CameBack(before models.WholeJob, c models.JobChange) bool {
	return c.Job.State == models.JobReopened && before.Job.State == models.JobHanded
}
