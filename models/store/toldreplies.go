package store

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
)

// putReplies writes replies. They end the silence of their owners, whose
// machines are looked at again.
func (t *toldWriter) putReplies(rs []models.Reply) error {
	rs = sorted(rs, func(a, b models.Reply) int {
		return cmp.Or(cmp.Compare(a.ReceivedAt, b.ReceivedAt), cmp.Compare(a.Key, b.Key))
	})
	var owners []string
	err := putEach(t.tx, "replies", rs, nil, itself[models.Reply], func(r models.Reply, row int64) error {
		if tally(&t.done.Replies, row) && r.Owner != "" {
			owners = append(owners, r.Owner)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return t.touchOwners(owners)
}

// putActs writes what was done on replies. A reply is recorded with all of
// it, so that the rows of one are counted from the first.
func (t *toldWriter) putActs(as []models.KeyedAct) (err error) {
	if t.replies, err = t.rowsOfKeys("replies", keysOf(as, func(a models.KeyedAct) string { return a.ReplyKey })); err != nil {
		return err
	}
	if t.messages, err = t.rowsOfKeys("messages", keysOf(as, func(a models.KeyedAct) string { return a.MessageKey })); err != nil {
		return err
	}
	as = sorted(as, func(a, b models.KeyedAct) int {
		return cmp.Or(cmp.Compare(t.replies[a.ReplyKey], t.replies[b.ReplyKey]), cmp.Compare(a.Number, b.Number))
	})
	type count struct {
		Reply int64
		N     int
	}
	had, err := list[count](t.tx.Raw("SELECT reply, count(*) AS n FROM reply_acts GROUP BY reply"), "counting what was done on replies")
	if err != nil {
		return err
	}
	known := models.ByKey(had, func(c count) int64 { return c.Reply })
	fresh := slices.DeleteFunc(slices.Clone(as), func(a models.KeyedAct) bool { return a.Number <= known[t.replies[a.ReplyKey]].N })
	t.done.ReplyActs.Same += len(as) - len(fresh)
	return putEach(t.tx, "what was done on replies", fresh, nil,
		func(a models.KeyedAct) (*models.ReplyAct, error) {
			a.Reply, a.Message = t.replies[a.ReplyKey], rowOf(t.messages, a.MessageKey)
			return &a.ReplyAct, nil
		}, counting[models.KeyedAct](&t.done.ReplyActs))
}

func (t *toldWriter) putMarks(ks []models.KeyedMark) (err error) {
	if t.replies, err = t.rowsOfKeys("replies", keysOf(ks, func(k models.KeyedMark) string { return k.ReplyKey })); err != nil {
		return err
	}
	ks = sorted(ks, func(a, b models.KeyedMark) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(t.replies[a.ReplyKey], t.replies[b.ReplyKey]),
			cmp.Compare(a.By, b.By), cmp.Compare(a.Note, b.Note))
	})
	return putEach(t.tx, "marks on replies", ks, []string{"reply", "at", "by_whom", "note"},
		func(k models.KeyedMark) (*models.ReplyMark, error) {
			k.Reply = t.replies[k.ReplyKey]
			return &k.ReplyMark, nil
		}, counting[models.KeyedMark](&t.done.ReplyMarks))
}

// putBounces writes reports that messages did not arrive. Where an address is
// dead, another way is looked for.
func (t *toldWriter) putBounces(bs []models.Bounce) error {
	bs = sorted(bs, func(a, b models.Bounce) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Key, b.Key)) })
	return putEach(t.tx, "bounces", bs, nil, itself[models.Bounce], func(b models.Bounce, row int64) error {
		if !tally(&t.done.Bounces, row) || b.Fate != models.FateDead {
			return nil
		}
		ids, err := machinesAt(t.tx, b.Channel, b.Address)
		for _, id := range ids {
			t.touched[id] = true
		}
		return err
	})
}

func (t *toldWriter) putCalls(cs []models.Call) error {
	cs = sorted(cs, func(a, b models.Call) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Owner, b.Owner), cmp.Compare(a.By, b.By), cmp.Compare(a.Note, b.Note))
	})
	var owners []string
	err := putEach(t.tx, "calls", cs, []string{"owner", "at", "by_whom", "reached", "note", "again_on"}, itself[models.Call],
		func(c models.Call, row int64) error {
			if tally(&t.done.Calls, row) {
				owners = append(owners, c.Owner)
			}
			return nil
		})
	if err != nil {
		return err
	}
	return t.touchOwners(owners)
}
