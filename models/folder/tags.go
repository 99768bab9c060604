package folder

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// bearer is a machine that is here, as it is or will be on record.
type bearer struct {
	models.Machine
	row int // among those of machines.csv; -1: it is on record and not in the folder
}

const remedyTwin = "give one of the two another tag, or say first that the other was sold, scrapped or is gone"

// refuseTwins refuses a tag that two machines of one owner bear while both are
// here. It looks when all files are read, since standings.csv says who is
// here. Twins that are on record already, and those of an export that nobody
// has touched, are only warned of, so that an old shop can still load its own.
func (in *pass) refuseTwins() {
	first := map[models.TagKey]bearer{}
	for _, b := range in.bearers() {
		key := b.TagKey()
		twin, taken := first[key]
		if !taken {
			first[key] = b
			continue
		}
		row := max(b.row, twin.row)
		if row < 0 {
			continue
		}
		other := twin
		if row != b.row {
			other = b
		}
		f := models.Fault{
			File: "machines.csv", Line: in.report.Lines["machines.csv"][row], Field: "tag", Value: in.set.Machines[row].Tag,
			Problem: "is that of another machine of the same owner: " + other.ID,
			Remedy:  remedyTwin,
		}
		if in.recordedTwins(b.ID, twin.ID) || in.exported("machines.csv") {
			in.warn(f)
			continue
		}
		in.fault(f)
	}
}

// bearers gives the machines with a tag that are here once the folder is taken,
// those on record and not in it first.
func (in *pass) bearers() (out []bearer) {
	said := map[string]models.History{}
	for i, s := range in.set.Standings {
		if s.Why == "" {
			s.Row = int64(1)<<40 + int64(i) // said after what is on record
			h := said[s.Machine]
			h.Standings = append(h.Standings, s)
			said[s.Machine] = h
		}
	}
	put := func(m models.Machine, row int) {
		h, stored := said[m.ID], in.opt.Stored.Standings[m.ID]
		if stored.State != "" {
			h.Standings = append(h.Standings, stored)
		}
		if old, known := in.opt.Stored.Machines[m.ID]; known && stored.State == models.StandsSold && stored.NewOwner == old.Owner {
			m.Owner = old.Owner // the folder lags behind the sale
		}
		if m.TagKey().Tag != "" && m.Mistake.Why == "" && h.Standing().InCare() {
			out = append(out, bearer{m, row})
		}
	}
	rows := map[string]bool{}
	for _, m := range in.set.Machines {
		rows[m.ID] = true
	}
	for _, id := range slices.Sorted(maps.Keys(in.opt.Stored.Machines)) {
		if !rows[id] {
			put(in.opt.Stored.Machines[id], -1)
		}
	}
	for i, m := range in.set.Machines {
		put(m, i)
	}
	return out
}

// recordedTwins says whether two machines are twins on record.
func (in *pass) recordedTwins(a, b string) bool {
	s := in.opt.Stored
	x, y := s.Machines[a], s.Machines[b]
	return x.ID != "" && x.TagKey() == y.TagKey() && s.Standings[a].InCare() && s.Standings[b].InCare()
}

// exported says whether an export wrote a file as it stands.
func (in *pass) exported(name string) bool {
	own, asked := in.own[name]
	if !asked && in.fsys != nil {
		sums, err := fs.ReadFile(in.fsys, sumsFile)
		if err == nil {
			data, derr := fs.ReadFile(in.fsys, name)
			own = derr == nil && slices.Contains(strings.Split(string(sums), "\n"), sumLine(sha256.Sum256(data), name))
		}
		in.own[name] = own
	}
	return own
}

// sumLine is the line of a file in an export's list.
func sumLine(sum [sha256.Size]byte, name string) string { return fmt.Sprintf("%x  %s", sum, name) }
