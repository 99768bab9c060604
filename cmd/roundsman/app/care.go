package app

import (
	"context"
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// Care keeps which machines the shop looks after, and how.
func (a *App) Care() scheduler.Care {
	return scheduler.Care{Store: a.Store, Zone: a.Runner.Notify.Zone}
}

// PreviewRelease works out what the release of machines would tell, word for
// word, and stores nothing.
func (a *App) PreviewRelease(ctx context.Context, machines []models.Machine, at time.Time) (scheduler.ReleasePreview, error) {
	var out scheduler.ReleasePreview
	byOwner := map[string][]string{}
	named := map[string]models.Machine{}
	for _, m := range machines {
		byOwner[m.Owner] = append(byOwner[m.Owner], m.ID)
		named[m.ID] = m
	}
	owners := make([]models.OwnerMachines, 0, len(byOwner))
	for o, ids := range byOwner {
		owners = append(owners, models.OwnerMachines{Owner: o, Machines: ids})
	}
	slices.SortFunc(owners, func(x, y models.OwnerMachines) int { return strings.Compare(x.Owner, y.Owner) })
	if len(owners) == 0 {
		return out, nil
	}
	_, looks, err := a.Runner.DryRun(ctx, at, owners)
	if err != nil {
		return out, err
	}
	templates, err := a.templates()
	if err != nil {
		return out, err
	}
	for _, l := range looks {
		out.Withheld = append(out.Withheld, l.Notices...)
		for _, letter := range l.Letters {
			p := scheduler.PreviewLetter{MessageWithNotices: letter}
			if p.Contact, _, err = a.Store.Contact(ctx, letter.Message.Contact); err != nil {
				return out, err
			}
			of, err := a.Store.OwnersOf(ctx, []string{letter.Message.Owner})
			if err != nil {
				return out, err
			}
			if len(of) == 1 {
				p.Owner = of[0]
			}
			e := models.Envelope{Message: letter.Message, Contact: p.Contact, Owner: p.Owner, Notices: letter.Notices, Machines: named, First: true}
			models.SortToTell(e.Notices)
			if p.Words, err = templates.Compose(shopOf(a.Settings), e); err != nil {
				return out, err
			}
			out.Letters = append(out.Letters, p)
		}
	}
	return out, nil
}
