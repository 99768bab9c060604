package policy

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
)

// recipientRoles is the order in which roles are asked: the first role that
// somebody has gets the notices. Operators get none.
var recipientRoles = [...]models.Role{models.RoleService, models.RoleOwner, models.RoleManager}

// Recipients gives the contacts of an owner who get notices, in the order of
// their ids: those for service, else the owner's own, else the managers. The
// result is empty where there is neither; the reason is then models.ReasonNobody.
// Contacts of other owners are passed over.
func Recipients(owner models.Owner, contacts []models.Contact) []models.Contact {
	for _, role := range recipientRoles {
		var found []models.Contact
		for _, c := range contacts {
			if c.Owner == owner.ID && c.Role == role {
				found = append(found, c)
			}
		}
		if len(found) > 0 {
			slices.SortStableFunc(found, func(a, b models.Contact) int { return cmp.Compare(a.ID, b.ID) })
			return found
		}
	}
	return nil
}

// Escalates says whether a notice of stage next is worth telling to a contact
// who has been told the stages in sent during the same cycle of the same
// machine and item. Coming, due and late are told once each and only in that
// order, for a milder one after a sharper one is no news. A correction
// (models.StageMoved) is told once, and only to somebody who was told a date;
// it ends the cycle, so nothing follows it. No other stage is ever told.
func Escalates(sent []models.Stage, next models.Stage) bool {
	if slices.Contains(sent, models.StageMoved) {
		return false
	}
	told := len(models.Stages())
	for _, s := range sent {
		if tellable(s) {
			told = min(told, s.Rank())
		}
	}
	if next == models.StageMoved {
		return told < len(models.Stages())
	}
	return tellable(next) && next.Rank() < told
}

// tellable says whether a stage makes notices.
func tellable(s models.Stage) bool {
	return s == models.StageComing || s == models.StageDue || s == models.StageLate
}
