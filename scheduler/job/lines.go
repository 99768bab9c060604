package job

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Work is one thing done, to be written down as a line.
type Work struct {
	Item    string // "" for a repair
	What    string // the repair, or a remark on the item
	By      string
	Minutes int   // 0: not known
	Cooling *bool // whether the cooling system was opened; nil: by the item, or by the words of a repair
}

// AddLine writes down a thing done. On a job that is done already its service
// is recorded, and its checks are set, at once.
func AddLine(w models.WholeJob, m models.Machine, defs []models.CheckDef, k Work) (models.JobChange, error) {
	if err := may(w.Job, actWork); err != nil {
		return models.JobChange{}, err
	}
	if err := words("line", &k.What); err != nil {
		return models.JobChange{}, err
	}
	switch {
	case k.Item == "" && k.What == "":
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "name an item, or say what was repaired", "the line says nothing")
	case k.Item != "" && !models.Fits(k.Item, m):
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "correct the machine's cooling or fuel if that is wrong",
			"%s has no %s (cooling: %s; fuel: %s)", m.Label(), models.ItemName(k.Item, ""), orUnknown(string(m.Cooling)), orUnknown(string(m.Fuel)))
	case k.Minutes < 0:
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "give minutes from 0", "%d minutes cannot be", k.Minutes)
	}
	l := models.JobLine{Job: w.Job.ID, Turn: w.Job.Turn, Item: k.Item, What: k.What, By: k.By, Minutes: k.Minutes}
	l.Cooling = OpensCooling(k.Item, k.What)
	if k.Cooling != nil {
		l.Cooling = *k.Cooling
	}
	l.Cooling = l.Cooling && m.Cooling != models.CoolingAir
	c := models.JobChange{Job: w.Job, Lines: []models.JobLine{l}}
	if w.Job.State == models.JobDone {
		c.Services = services(w.Job, c.Lines)
		c.Checks = checksAfter(w, m, defs, c.Lines)
	}
	return c, nil
}

func orUnknown(s string) string {
	if s == "" {
		return "not known"
	}
	return s
}

// coolingWords are the words, without blanks and accents, by which a repair
// shows that it opens the cooling system, in English and Spanish.
var coolingWords = []string{
	"coolant", "antifreeze", "radiator", "thermostat", "waterpump", "headgasket", "heatercore", "freezeplug",
	"refrigerante", "anticongelante", "radiador", "termostato", "bombadeagua", "juntadeculata",
}

// OpensCooling says whether a line opens the cooling system: an item that
// does, or a repair whose words say so. Looking at it does not open it, and a
// new cap lets in no air that bleeding would have to get out.
func OpensCooling(item, what string) bool {
	if item != "" {
		return models.ItemOf(item).Opens
	}
	plain := strings.Join(tokens(what), "")
	return slices.ContainsFunc(coolingWords, func(w string) bool { return strings.Contains(plain, w) })
}

// AddPart writes down a part that was fitted.
func AddPart(w models.WholeJob, p models.Part) (models.JobChange, error) {
	if err := may(w.Job, actWork); err != nil {
		return models.JobChange{}, err
	}
	for _, t := range []*string{&p.Name, &p.Number, &p.Maker, &p.Place} {
		if err := words("part", t); err != nil {
			return models.JobChange{}, err
		}
	}
	if p.Name == "" && p.Number == "" {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "give its number or say what it is", "the part has no number and no name")
	}
	if p.Qty.Known && p.Qty.F <= 0 {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "give a quantity above 0", "a quantity of %s cannot be", p.Qty)
	}
	if p.Line != 0 {
		if _, err := lineOf(w, p.Line); err != nil {
			return models.JobChange{}, err
		}
	}
	p.Equivalents = equivalents(p.Equivalents)
	p.Job, p.Turn = w.Job.ID, w.Job.Turn
	return models.JobChange{Job: w.Job, Parts: []models.Part{p}}, nil
}

// equivalents brings a list of part numbers into the form in which it is
// kept: parted by ", ", each once.
func equivalents(list string) string {
	var out []string
	seen := map[string]bool{}
	for _, n := range strings.FieldsFunc(list, func(r rune) bool { return r == ',' || r == ';' }) {
		n = strings.Join(strings.Fields(n), " ")
		if n != "" && !seen[n] {
			seen[n] = true
			out = append(out, n)
		}
	}
	return strings.Join(out, ", ")
}

// lineOf finds a line that was not withdrawn.
func lineOf(w models.WholeJob, n int) (models.JobLine, error) {
	for _, l := range w.Lines {
		if l.Line == n && !l.Withdrawn {
			return l, nil
		}
	}
	return models.JobLine{}, models.Errorf(models.CodeNotFound, "`roundsman job show "+w.Job.ID+"` lists its lines", "job %s has no line %d", w.Job.ID, n)
}

// DropLine takes out a line that was entered by mistake or not done after
// all. Once the job is done an item's service is recorded, and the line stays.
func DropLine(w models.WholeJob, n int) (models.JobChange, error) {
	if err := may(w.Job, actWork); err != nil {
		return models.JobChange{}, err
	}
	l, err := lineOf(w, n)
	if err != nil {
		return models.JobChange{}, err
	}
	if l.Turn != w.Job.Turn || (w.Job.State == models.JobDone && l.Item != "") {
		return models.JobChange{}, models.Errorf(models.CodeConflict, "say in the correction what was not done", "the service of line %d is recorded", n)
	}
	l.Withdrawn = true
	return models.JobChange{Job: w.Job, Lines: []models.JobLine{l}}, nil
}

// DropPart takes out a part that was entered by mistake.
func DropPart(w models.WholeJob, n int) (models.JobChange, error) {
	if err := may(w.Job, actWork); err != nil {
		return models.JobChange{}, err
	}
	for _, p := range w.Parts {
		if p.Part == n && !p.Withdrawn {
			p.Withdrawn = true
			return models.JobChange{Job: w.Job, Parts: []models.Part{p}}, nil
		}
	}
	return models.JobChange{}, models.Errorf(models.CodeNotFound, "`roundsman job show "+w.Job.ID+"` lists its parts", "job %s has no part %d", w.Job.ID, n)
}

// LinesOf gives the lines of a turn that were not withdrawn; turn 0 is every
// turn.
func LinesOf(w models.WholeJob, turn int) []models.JobLine {
	var out []models.JobLine
	for _, l := range w.Lines {
		if !l.Withdrawn && (turn == 0 || l.Turn == turn) {
			out = append(out, l)
		}
	}
	return out
}

// PartsOf gives the parts of a turn that were not withdrawn; turn 0 is every
// turn.
func PartsOf(w models.WholeJob, turn int) []models.Part {
	var out []models.Part
	for _, p := range w.Parts {
		if !p.Withdrawn && (turn == 0 || p.Turn == turn) {
			out = append(out, p)
		}
	}
	return out
}
