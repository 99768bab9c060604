package folder

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// SharedRemedy is what to do about an address that another owner has too.
const SharedRemedy = "write that owner instead, or say that the two share it"

// askShared asks about telephone numbers and mail addresses that a contact of
// another owner has too: mostly the one is the other, though a ranch and its
// foreman may share one. What is on record as shared, and an export that nobody
// has touched, is left alone.
func (in *pass) askShared() {
	if len(in.set.Contacts) == 0 || in.exported("contacts.csv") {
		return
	}
	type holder struct{ contact, owner string }
	held := map[string][]holder{} // by address
	hold := func(c models.Contact) {
		for _, ch := range models.Channels() {
			if a := strings.ToLower(c.Address(ch)); a != "" {
				held[a] = append(held[a], holder{c.ID, c.Owner})
			}
		}
	}
	rows := map[string]bool{}
	for _, c := range in.set.Contacts {
		rows[c.ID] = true
	}
	for _, id := range slices.Sorted(maps.Keys(in.opt.Stored.Contacts)) {
		if !rows[id] {
			hold(in.opt.Stored.Contacts[id])
		}
	}
	for i, c := range in.set.Contacts {
		before := in.opt.Stored.Contacts[c.ID]
		if c.Mistake.Why != "" {
			continue
		}
		for _, ch := range models.Channels() {
			address := c.Address(ch)
			if address == "" || strings.EqualFold(address, before.Address(ch)) && c.Owner == before.Owner {
				continue
			}
			h := held[strings.ToLower(address)]
			if j := slices.IndexFunc(h, func(h holder) bool { return h.owner != c.Owner }); j >= 0 {
				f := models.Fault{File: "contacts.csv", Field: map[models.Channel]string{models.ChannelMail: "mail", models.ChannelSMS: "mobile"}[ch], Value: address, Asks: true,
					Problem: fmt.Sprintf("is that of another owner too: %s (%s)", in.ownerName(h[j].owner), h[j].owner), Remedy: SharedRemedy}
				if lines := in.report.Lines["contacts.csv"]; i < len(lines) {
					f.Line = lines[i]
				}
				in.warn(f)
			}
		}
		hold(c)
	}
}

// ownerName gives the name of an owner of the folder or on record.
func (in *pass) ownerName(id string) string {
	if i := slices.IndexFunc(in.set.Owners, func(o models.Owner) bool { return o.ID == id }); i >= 0 {
		return in.set.Owners[i].Name
	}
	return in.opt.Stored.Owners[id].Name
}
