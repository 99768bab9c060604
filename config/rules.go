package config

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"

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
	Miles        *float64        `toml:"miles" min:"1" max:"1000000"`
	Hours        *float64        `toml:"hours" min:"1" max:"100000"`
	Months       int             `toml:"months" min:"1" max:"240"`
	FirstMiles   *float64        `toml:"first_miles" min:"1" max:"1000000"`
	FirstHours   *float64        `toml:"first_hours" min:"1" max:"100000"`
	FirstMonths  int             `toml:"first_months" min:"1" max:"240"`
	SevereFactor *float64        `toml:"severe_factor" min:"0.1" max:"1"`
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

// ruleTables is a rules file as it is written.
type ruleTables struct {
	Teardowns []teardownRow `toml:"teardown"`
	Rules     []ruleRow     `toml:"rule"`
}

var (
	rulesSchema    = newRulesSchema()
	ruleSchema     = newSchema(reflect.TypeFor[ruleRow](), "rule")
	teardownSchema = newSchema(reflect.TypeFor[teardownRow](), "teardown")
)

func newRulesSchema() *schema {
	s := newSchema(reflect.TypeFor[ruleTables](), "")
	s.hint = "write tables of [[rule]] and [[teardown]]"
	return s
}

// LoadRules reads a rules file; see ParseRules. A file that cannot be read is
// a models.Error.
func LoadRules(path string, readFile ReadFile) (*RuleFile, error) {
	data, err := readFile(path)
	if err != nil {
		return nil, &models.Error{Code: models.CodeUnavailable, Message: "cannot read the rules file", Err: err,
			Remedy: "check its path and who may read it"}
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
	var rows *ruleTables
	d := decode(rulesSchema, file, data, func() any {
		rows = &ruleTables{}
		return rows
	})
	for i, row := range rows.Teardowns {
		d.limits(teardownSchema, reflect.ValueOf(row), fmt.Sprintf("teardown[%d]", i))
	}
	for i, row := range rows.Rules {
		d.limits(ruleSchema, reflect.ValueOf(row), fmt.Sprintf("rule[%d]", i))
	}
	r := &ruleReader{document: d, damaged: d.damaged(), rules: map[models.RuleKey]int{}, teardowns: map[models.Teardown]int{}}
	for i, row := range rows.Teardowns {
		r.teardown(row, fmt.Sprintf("teardown[%d]", i))
	}
	for i, row := range rows.Rules {
		r.rule(row, fmt.Sprintf("rule[%d]", i))
	}
	r.minutes()
	slices.SortStableFunc(r.faults, byPlace)
	slices.SortStableFunc(r.out.Warnings, byPlace)
	if err := r.faults.Err(); err != nil {
		return nil, err
	}
	return &r.out, nil
}

// ruleReader collects the rules of a file.
type ruleReader struct {
	*document
	damaged   map[int]bool // lines of tables in which something has a fault
	out       RuleFile
	at        []place                 // of the rules in out
	rules     map[models.RuleKey]int  // lines
	teardowns map[models.Teardown]int // lines, by kind and id
}

func (r *ruleReader) teardown(row teardownRow, path string) {
	at := r.tables[path]
	for _, need := range []struct{ key, remedy string }{
		{"kind", "name the kind of machine"},
		{"teardown", "name what comes apart"},
		{"access_min", "write the minutes that it takes, there and back"},
	} {
		if !has(r.spots, path+"."+need.key) && !r.damaged[at.line] {
			r.fault(at, "teardown."+need.key, "", "is missing", need.remedy)
		}
	}
	if row.Kind == "" || row.Teardown == "" {
		return
	}
	key := models.Teardown{Kind: row.Kind, ID: row.Teardown}
	if first, twice := r.teardowns[key]; twice {
		r.fault(at, "teardown", row.Kind+" "+row.Teardown, fmt.Sprintf("stands in this file twice, first on line %d", first), "keep one of them")
		return
	}
	r.teardowns[key] = at.line
	key.AccessMin = row.AccessMin
	r.out.Teardowns = append(r.out.Teardowns, key)
}

func (r *ruleReader) rule(row ruleRow, path string) {
	m, at := row.model(), r.tables[path]
	if !r.damaged[at.line] {
		r.complete(row, m, at)
	}
	if row.Teardown == "" && row.AccessMin > 0 {
		r.fault(r.spots[path+".access_min"].key, "rule.access_min", fmt.Sprint(row.AccessMin), "is set without a teardown",
			"name what comes apart behind teardown, or add the minutes to work_min")
	}
	if row.Item == "" {
		return
	}
	if first, twice := r.rules[m.Key()]; twice {
		r.fault(at, "rule", row.target(), fmt.Sprintf("stands in this file twice, first on line %d", first), "keep one of them")
		return
	}
	r.rules[m.Key()] = at.line
	r.out.Rules = append(r.out.Rules, m)
	r.at = append(r.at, at)
}

// complete tells what a rule lacks.
func (r *ruleReader) complete(row ruleRow, m models.Rule, at place) {
	if row.Item == "" {
		r.fault(at, "rule.item", "", "is missing", "name what is serviced, for example coolant")
	}
	switch {
	case row.Make != "" && row.Model == "":
		r.fault(at, "rule.model", "", "is missing", "make and model go together; leave both out for all machines of a kind")
	case row.Model != "" && row.Make == "":
		r.fault(at, "rule.make", "", "is missing", "make and model go together; leave both out for all machines of a kind")
	case row.Kind == "" && row.Make == "" && row.Machine == "":
		r.fault(at, "rule", "", "is for no machine", "name a kind, a make and model, or a machine")
	}
	if m.NeverDue() {
		r.fault(at, "rule", row.Item, "has no limit, so that it never falls due", "write miles, hours, months or by")
	}
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
	if id, ok := models.ItemNamed(row.Item); ok {
		row.Item = id
	}
	return models.Rule{
		Kind: row.Kind, Make: row.Make, Model: row.Model, Machine: row.Machine, Item: row.Item,
		Miles: number(row.Miles), Hours: number(row.Hours), Months: row.Months,
		FirstMiles: number(row.FirstMiles), FirstHours: number(row.FirstHours), FirstMonths: row.FirstMonths,
		SevereFactor: number(row.SevereFactor), LeadDays: row.LeadDays, PartsDays: row.PartsDays, By: row.By,
		Teardown: row.Teardown, WorkMin: row.WorkMin, AccessMin: row.AccessMin,
		Origin: models.OriginFile, Note: row.Note,
	}
}

// number gives a figure of a file, nil being one that is not there.
func number(f *float64) models.Number {
	if f == nil {
		return models.Number{}
	}
	return models.Num(*f)
}
