package scheduler

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// ReleasePreview is what the release of machines would tell at a time.
type ReleasePreview struct {
	Letters  []PreviewLetter
	Withheld []models.Notice // that would not go even then, each with its reason
}

// First gives what would be told of a machine first: the notices of the stage
// and day that come first, and how many others there are; where none would go,
// why. No reason: nothing is due.
func (p ReleasePreview) First(machine string) (first []models.Notice, more int, why models.Reason) {
	for _, l := range p.Letters {
		of := slices.DeleteFunc(slices.Clone(l.Notices), func(n models.Notice) bool { return n.Machine != machine })
		if len(of) == 0 {
			continue
		}
		order := func(a, b models.Notice) int {
			return cmp.Or(cmp.Compare(a.Stage.Rank(), b.Stage.Rank()), cmp.Compare(a.DueOn, b.DueOn), cmp.Compare(a.Subject, b.Subject))
		}
		slices.SortStableFunc(of, order)
		for _, n := range of {
			if order(n, of[0]) == 0 {
				first = append(first, n)
			}
		}
		return first, len(of) - len(first), ""
	}
	for _, n := range p.Withheld {
		if n.Machine == machine {
			return nil, 0, n.Why
		}
	}
	return nil, 0, ""
}

// PreviewLetter is one message in the words in which it would go.
type PreviewLetter struct {
	models.MessageWithNotices
	Contact models.Contact
	Owner   models.Owner
	Words   models.Composed
}

// BaselineLine is what is known of one item of a machine.
type BaselineLine struct {
	Item       string               `json:"item"`
	Name       string               `json:"name"`
	Said       models.BaselineState `json:"said,omitempty"` // when the books began
	DoneOn     models.Date          `json:"done_on"`
	DoneWithin int                  `json:"done_within_days"`
	Miles      models.Number        `json:"miles"`
	Hours      models.Number        `json:"hours"`
	SaidOn     models.Date          `json:"said_on"`
	LastOn     models.Date          `json:"last_on"` // the last recorded service
}

// Words says it for people.
func (l BaselineLine) Words(lang string) string {
	p := func(en, es string) string { return models.Phrase{EN: en, ES: es}.In(lang) }
	switch {
	case l.LastOn > l.SaidOn:
		return p("done on ", "hecho el ") + l.LastOn.String()
	case l.Said == models.BaselineFine:
		return p("looked fine on ", "se vio bien el ") + l.SaidOn.String()
	case l.Said == models.BaselineDone:
		var parts []string
		if l.DoneOn != 0 {
			parts = append(parts, l.DoneOn.String())
		}
		if l.Miles.Known {
			parts = append(parts, l.Miles.String())
		}
		if l.Hours.Known {
			parts = append(parts, l.Hours.String()+" h")
		}
		return p("done about ", "hecho hacia ") + strings.Join(parts, ", ")
	}
	return p("not known", "no se sabe")
}

// BaselineOf gives what is known of each item that a machine has a rule for,
// in the order of a sheet.
func (c Care) BaselineOf(ctx context.Context, m models.Machine, lang string) ([]BaselineLine, error) {
	h, err := c.Store.History(ctx, m.ID, models.Window{})
	if err != nil {
		return nil, err
	}
	rules, err := c.Store.Rules(ctx)
	if err != nil {
		return nil, err
	}
	said := map[string]models.Baseline{}
	for _, b := range h.Baselines {
		said[b.Item] = b
	}
	var out []BaselineLine
	for _, r := range interval.Resolve(rules, m) {
		b := said[r.Item]
		l := BaselineLine{Item: r.Item, Name: models.ItemName(r.Item, lang), Said: b.State, DoneOn: b.DoneOn, DoneWithin: b.DoneWithin,
			Miles: b.Miles, Hours: b.Hours, SaidOn: b.On}
		for _, s := range h.Services {
			if models.CountsFor(s.Item, r.Item) {
				l.LastOn = max(l.LastOn, s.At)
			}
		}
		out = append(out, l)
	}
	slices.SortFunc(out, func(x, y BaselineLine) int { return models.CompareItems(x.Item, y.Item) })
	return out, nil
}

// InCare gives the machines in the shop's care, by id: those of an owner, or
// of all.
func (c Care) InCare(ctx context.Context, owner string) ([]models.Machine, error) {
	ms, err := c.Store.Machines(ctx)
	if err != nil {
		return nil, err
	}
	standings, err := c.Store.Standings(ctx)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(ms, func(m models.Machine) bool {
		return !standings[m.ID].InCare() || owner != "" && m.Owner != owner
	}), nil
}
