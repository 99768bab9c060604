package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// rulesPage is the data of the service rules.
type rulesPage struct {
	frame
	Groups []ruleGroup
	Text   string // of the rules being edited
	Edit   bool
	Faults []models.Fault
	Faulty string
	May    bool // the viewer may change them
}

// ruleGroup is the rules of one set of machines.
type ruleGroup struct {
	For  string
	Rows []ruleRow
}

// ruleRow is a rule with who brought it and when.
type ruleRow struct {
	models.Rule
	Brought models.Entry
}

// rules shows the rules in force with their source and last change.
func rules(rq *request) error {
	p, all, err := rq.rulesPage()
	if err != nil {
		return err
	}
	if edit := rq.r.URL.Query().Get("edit"); edit != "" && p.May {
		p.Edit = true
		row, err := strconv.ParseInt(edit, 10, 64)
		if err != nil {
			row = 0
		}
		var some []models.Rule
		for _, r := range all {
			if r.Row == row {
				some = append(some, r)
			}
		}
		if len(some) == 0 {
			some = []models.Rule{{Kind: "utv", Item: models.ItemCoolant, Miles: models.Num(6000), Months: 24}}
		}
		p.Text = rq.site.store.RuleText(some)
	}
	return rq.render("rules", p)
}

func (rq *request) rulesPage() (rulesPage, []models.Rule, error) {
	p := rulesPage{frame: rq.frame("Rules"), May: rq.user.Role == models.UserDesk}
	p.Path = "/rules"
	all, err := rq.site.store.Rules(rq.ctx())
	if err != nil {
		return p, nil, err
	}
	ids := make([]int64, len(all))
	for i, r := range all {
		ids[i] = r.Entry
	}
	brought, err := rq.site.store.Entries(rq.ctx(), ids)
	if err != nil {
		return p, nil, err
	}
	for _, r := range all {
		name := strings.TrimSpace(strings.Join([]string{r.Kind, r.Make, r.Model}, " "))
		if r.Machine != "" {
			name = p.T("machine %s", r.Machine)
		}
		if n := len(p.Groups); n == 0 || p.Groups[n-1].For != name {
			p.Groups = append(p.Groups, ruleGroup{For: name})
		}
		g := &p.Groups[len(p.Groups)-1]
		g.Rows = append(g.Rows, ruleRow{Rule: r, Brought: brought[r.Entry]})
	}
	return p, all, nil
}

// saveRules records rules written in the browser, with the checks of the rules
// file.
func saveRules(rq *request) error {
	text := strings.ReplaceAll(rq.r.PostFormValue("text"), "\r\n", "\n")
	found, err := rq.site.store.CheckRules(text)
	if err != nil {
		p, _, perr := rq.rulesPage()
		if perr != nil {
			return perr
		}
		p.Edit, p.Text = true, text
		var faults models.Faults
		var own *models.Error
		switch {
		case errors.As(err, &faults):
			p.Faults = faults
		case errors.As(err, &own) && own.Code == models.CodeInvalid:
			p.Faulty, _ = own.In(rq.lang)
		default:
			return err
		}
		return rq.renderAs(http.StatusUnprocessableEntity, "rules", p)
	}
	for i := range found {
		found[i].Origin = models.OriginHand
	}
	done, err := rq.site.store.RecordRules(rq.ctx(), found, rq.entry("rules page"))
	if err != nil {
		return err
	}
	if !done.Changed() {
		return rq.to("/rules", "nothing")
	}
	var names []string
	for _, r := range found {
		names = append(names, r.Kind+" "+r.Item)
	}
	if err := rq.did("changed rules", strings.Join(names, ", "), ""); err != nil {
		return err
	}
	return rq.to("/rules", "rules")
}
