package config

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"

	"example.org/roundsman/models"
)

// RuleFile is what a rules file says.
type RuleFile struct {
	Rules     []models.Rule     // in the order of the file
	Teardowns []models.Teardown // in the order of the file
	Warnings  models.Faults     // what is worth a look though it can be taken
}

// ruleRow is one [[rule]] of a file.
type ruleRow struct {
	Kind         string          `toml:"kind" max:"40"`
	Make         string          `toml:"make" max:"60"`
	Model        string          `toml:"model" max:"60"`
	Machine      string          `toml:"machine" max:"60"`
	Item         string          `toml:"item" max:"40" check:"id"`
	Miles        models.Number   `toml:"miles" min:"1" max:"1000000"`
	Hours        models.Number   `toml:"hours" min:"1" max:"100000"`
	Months       int             `toml:"months" min:"1" max:"240"`
	FirstMiles   models.Number   `toml:"first_miles" min:"1" max:"1000000"`
	FirstHours   models.Number   `toml:"first_hours" min:"1" max:"100000"`
	FirstMonths  int             `toml:"first_months" min:"1" max:"240"`
	SevereFactor models.Number   `toml:"severe_factor" min:"0.1" max:"1"`
	LeadDays     int             `toml:"lead_days" min:"1" max:"365"`
	PartsDays    int             `toml:"parts_days" min:"0" max:"365"`
	By           models.MonthDay `toml:"by"`
	Teardown     string          `toml:"teardown" max:"40" check:"id"`
	WorkMin      int             `toml:"work_min" min:"0" max:"10000"`
	AccessMin    int             `toml:"access_min" min:"0" max:"10000"`
	Note         string          `toml:"note" max:"200"`
}

// teardownRow is one [[teardown]] of a file.
type teardownRow struct {
	Kind      string `toml:"kind" max:"40"`
	Teardown  string `toml:"teardown" max:"40" check:"id"`
	AccessMin int    `toml:"access_min" min:"0" max:"10000"`
}

var (
	ruleSchema     = newSchema(reflect.TypeFor[ruleRow](), "rule")
	teardownSchema = newSchema(reflect.TypeFor[teardownRow](), "teardown")
)

// LoadRules reads a rules file; see ParseRules. A file that cannot be read is
// a models.Error.
func LoadRules(path string, readFile ReadFile) (*RuleFile, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, &models.Error{Code: models.CodeUnavailable, Message: "cannot read the rules file", Err: err,
			Remedy: "check the key rules in the settings, or leave it out for the rules that come with the program"}
	}
	return ParseRules(path, data)
}

// ShopRules gives the rules that the settings name: those of the rules file,
// or those that come with the program where none is named.
func (l *Loaded) ShopRules(readFile ReadFile) (*RuleFile, error) {
	if l.Rules == "" {
		return Shipped()
	}
	return LoadRules(l.Rules, readFile)
}

// ParseRules reads a rules file: [[rule]] and [[teardown]] tables. All that
// is wrong with it comes back as models.Faults. Rules have the origin
// models.OriginFile.
func ParseRules(file string, data []byte) (*RuleFile, error) {
	root, faults := parseTOML(file, data)
	r := &ruleReader{file: file, faults: faults, rules: map[models.RuleKey]int{}, teardowns: map[models.Teardown]int{}}
	for _, key := range root.keys {
		e := root.entries[key]
		switch {
		case key != "rule" && key != "teardown":
			r.fault(e.at, key, "", "is not known", "write tables of [[rule]] and [[teardown]]")
		case e.value.kind != unstable.ArrayTable:
			r.fault(e.at, key, "", "is not a list of tables", "write [["+key+"]] with two brackets before each one")
		default:
			for _, t := range e.value.tables {
				r.table(key, t)
			}
		}
	}
	r.minutes()
	if len(r.faults) == 0 {
		r.faults = crossCheck(file, data)
	}
	slices.SortStableFunc(r.faults, byPlace)
	slices.SortStableFunc(r.out.Warnings, byPlace)
	if err := r.faults.Err(); err != nil {
		return nil, err
	}
	return &r.out, nil
}

// ruleReader collects the rules of a file.
type ruleReader struct {
	file      string
	faults    models.Faults
	out       RuleFile
	at        []place                 // of the rules in out
	rules     map[models.RuleKey]int  // lines
	teardowns map[models.Teardown]int // lines, by kind and id
}

func (r *ruleReader) fault(at place, key, val, problem, remedy string) {
	r.faults = append(r.faults, models.Fault{File: r.file, Line: at.line, Column: at.column,
		Field: key, Value: val, Problem: problem, Remedy: remedy})
}

func (r *ruleReader) table(key string, t *table) {
	if key == "teardown" {
		var row teardownRow
		b := newBinder(teardownSchema, r.file, &row)
		b.table(t)
		r.faults = append(r.faults, b.faults...)
		r.teardown(row, t, b)
		return
	}
	var row ruleRow
	b := newBinder(ruleSchema, r.file, &row)
	b.table(t)
	r.faults = append(r.faults, b.faults...)
	r.rule(row, t, b)
}

func (r *ruleReader) teardown(row teardownRow, t *table, b *binder) {
	for _, need := range []struct{ key, remedy string }{
		{"teardown.kind", "name the kind of machine"},
		{"teardown.teardown", "name what comes apart"},
		{"teardown.access_min", "write the minutes that it takes, there and back"},
	} {
		if !has(b.where, need.key) && !t.damaged {
			r.fault(t.at, need.key, "", "is missing", need.remedy)
		}
	}
	if row.Kind == "" || row.Teardown == "" {
		return
	}
	key := models.Teardown{Kind: row.Kind, ID: row.Teardown}
	if first, twice := r.teardowns[key]; twice {
		r.fault(t.at, "teardown", row.Kind+" "+row.Teardown, fmt.Sprintf("stands in this file twice, first on line %d", first), "keep one of them")
		return
	}
	r.teardowns[key] = t.at.line
	key.AccessMin = row.AccessMin
	r.out.Teardowns = append(r.out.Teardowns, key)
}

func (r *ruleReader) rule(row ruleRow, t *table, b *binder) {
	m := row.model()
	broken := map[string]bool{}
	b.markBroken(b.faults, broken)
	whole := len(b.faults) == 0 && !t.damaged // else what seems to be missing may stand there
	if row.Item == "" && !broken["rule.item"] && !t.damaged {
		r.fault(t.at, "rule.item", "", "is missing", "name what is serviced, for example coolant")
	}
	if (row.Make == "") != (row.Model == "") && whole {
		missing := "rule.make"
		if row.Model == "" {
			missing = "rule.model"
		}
		r.fault(t.at, missing, "", "is missing", "make and model go together; leave both out for all machines of a kind")
	}
	if row.Kind == "" && row.Make == "" && row.Model == "" && row.Machine == "" && whole {
		r.fault(t.at, "rule", "", "is for no machine", "name a kind, a make and model, or a machine")
	}
	if m.NeverDue() && whole {
		r.fault(t.at, "rule", row.Item, "has no limit, so that it never falls due", "write miles, hours, months or by")
	}
	if row.Teardown == "" && row.AccessMin > 0 {
		r.fault(b.where["rule.access_min"], "rule.access_min", fmt.Sprint(row.AccessMin), "is set without a teardown",
			"name what comes apart behind teardown, or add the minutes to work_min")
	}
	if row.Item == "" {
		return
	}
	if first, twice := r.rules[m.Key()]; twice {
		r.fault(t.at, "rule", row.target(), fmt.Sprintf("stands in this file twice, first on line %d", first), "keep one of them")
		return
	}
	r.rules[m.Key()] = t.at.line
	r.out.Rules = append(r.out.Rules, m)
	r.at = append(r.at, t.at)
}

// minutes warns of teardowns whose minutes are not known or said twice
// differently.
func (r *ruleReader) minutes() {
	known := map[models.Teardown]int{}
	for _, t := range r.out.Teardowns {
		known[models.Teardown{Kind: t.Kind, ID: t.ID}] = t.AccessMin
	}
	for i, m := range r.out.Rules {
		if m.Teardown == "" {
			continue
		}
		min, ok := known[models.Teardown{Kind: m.Kind, ID: m.Teardown}]
		w := models.Fault{File: r.file, Line: r.at[i].line, Column: r.at[i].column, Field: "rule.teardown", Value: m.Teardown}
		switch {
		case !ok && m.AccessMin == 0:
			w.Problem = "has no minutes, so that sharing it saves nothing"
			w.Remedy = "write access_min here, or a [[teardown]] for the kind"
		case ok && m.AccessMin != 0 && m.AccessMin != min:
			w.Problem = fmt.Sprintf("takes %d minutes here and %d in its [[teardown]]", m.AccessMin, min)
			w.Remedy = "leave access_min out here, unless this machine differs"
		default:
			continue
		}
		r.out.Warnings = append(r.out.Warnings, w)
	}
}

// target says what a rule is for, for people.
func (row ruleRow) target() string {
	who := cmp.Or(row.Machine, row.Make)
	if row.Machine == "" && row.Make != "" {
		who = row.Make + " " + row.Model
	}
	if row.Kind != "" && who != "" {
		who = row.Kind + " " + who
	}
	return cmp.Or(who, row.Kind) + " " + row.Item
}

// model gives the row as a rule.
func (row ruleRow) model() models.Rule {
	return models.Rule{
		Kind: row.Kind, Make: row.Make, Model: row.Model, Machine: row.Machine, Item: models.ItemID(row.Item),
		Miles: row.Miles, Hours: row.Hours, Months: row.Months,
		FirstMiles: row.FirstMiles, FirstHours: row.FirstHours, FirstMonths: row.FirstMonths,
		SevereFactor: row.SevereFactor, LeadDays: row.LeadDays, PartsDays: row.PartsDays, By: row.By,
		Teardown: row.Teardown, WorkMin: row.WorkMin, AccessMin: row.AccessMin,
		Origin: models.OriginFile, Note: row.Note,
	}
}
