package folder

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/roundsman/models"
)

// id is the shop's own short name of something. One with characters that nobody
// sees is refused, since it is not the id it looks like; what is on record so, or
// in an export that nobody has touched, is only warned of.
func id(hint string) codec[string] { return visible(word[string](maxID, hint)) }

func visible(c codec[string]) codec[string] {
	plain := c.parse
	c.parse = func(in *pass, cell string) (string, *problem) {
		v, bad := plain(in, cell)
		i := strings.IndexFunc(v, invisible)
		if bad != nil || i < 0 {
			return v, bad
		}
		r, _ := utf8.DecodeRuneInString(v[i:])
		return v, &problem{what: fmt.Sprintf("holds a character that cannot be seen (%U)", r), remedy: "type the cell anew",
			taken: in.onRecord(v) || in.exported(in.file)}
	}
	return c
}

// seen gives the characters of a text that can be seen.
func seen(s string) string {
	return strings.Map(func(r rune) rune {
		if invisible(r) {
			return -1
		}
		return r
	}, s)
}

// onRecord says whether an owner, machine or contact has an id.
func (in *pass) onRecord(id string) bool {
	_, owner := in.opt.Stored.Owners[id]
	_, machine := in.opt.Stored.Machines[id]
	_, contact := in.opt.Stored.Contacts[id]
	return owner || machine || contact
}

// invisible says whether a character has no width of its own: zero-width
// blanks, marks of byte order and of direction (Unicode's category Cf).
func invisible(r rune) bool { return unicode.Is(unicode.Cf, r) }

// itemID is an item by its id or a name for it. A word that names none is an
// item of the shop's own.
func itemID(hint string) codec[string] {
	c := id(hint)
	plain := c.parse
	c.parse = func(in *pass, cell string) (string, *problem) {
		v, bad := plain(in, cell)
		if named, ok := models.ItemNamed(v, in.ownItems...); ok {
			v = named
		}
		return v, bad
	}
	return c
}

// lookalike warns of an id that differs from an earlier one only in what
// people overlook: the case of letters and characters that cannot be seen.
func (in *pass) lookalike(r *line, field, id string) {
	plain := field + "\x00" + strings.ToLower(seen(id))
	first, known := in.plainIDs[plain]
	switch {
	case id == "":
	case !known:
		in.plainIDs[plain] = plainID{id, r.rec.line}
	case first.id != id:
		r.warn(field, fmt.Sprintf("looks like %q of line %d and is not the same", first.id, first.line), "write both alike, if they are one")
	}
}
