package scheduler

import (
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/interval"
)

// lastTold finds the newest notice in which a forecast's cycle was told to
// anybody.
func lastTold(told []models.Notice, f models.Forecast) (models.Notice, bool) {
	for i := len(told) - 1; i >= 0; i-- {
		n := told[i]
		if sameCycle(n, f) && n.Told() && n.Stage != models.StageMoved {
			return n, true
		}
	}
	return models.Notice{}, false
}

// asTold gives a forecast as a notice told it.
func asTold(n models.Notice) models.Forecast {
	return models.Forecast{Machine: n.Machine, Item: n.Item, Cycle: n.Cycle, Stage: n.Stage, DueOn: n.DueOn, LateOn: n.LateOn}
}

// heard lists the stages that a contact was told in a forecast's cycle. One that
// began with a correction has been told as coming, and as whatever the one
// before was.
func (t *teller) heard(told []models.Notice, contact string, f models.Forecast) (stages []models.Stage) {
	before := f
	before.Cycle--
	corrected := false
	for _, n := range told {
		if n.Contact != contact || !n.Told() {
			continue
		}
		switch {
		case sameCycle(n, f):
			stages = append(stages, n.Stage)
		case n.Stage == models.StageMoved && sameCycle(n, before):
			corrected = true
		}
	}
	if corrected {
		earlier := t.heard(told, contact, before)
		earlier = slices.DeleteFunc(earlier, func(s models.Stage) bool { return s == models.StageMoved })
		stages = append(append(stages, models.StageComing), earlier...)
	}
	return stages
}

func sameCycle(n models.Notice, f models.Forecast) bool {
	return n.Subject == models.SubjectItem && n.Item == f.Item && n.Cycle == f.Cycle
}

// uncorrected gives the date that a contact was told in the cycle before a
// forecast's, where others have been told that it moved and this one has not,
// though it still needs to be.
func (t *teller) uncorrected(e *Evaluation, f models.Forecast, contact string) (was models.Date, ok bool) {
	before := f
	before.Cycle--
	if !slices.ContainsFunc(e.Notices, func(n models.Notice) bool { return ends(n) && sameCycle(n, before) }) ||
		!policy.Escalates(t.heard(e.Notices, contact, before), models.StageMoved) {
		return 0, false
	}
	own := slices.DeleteFunc(slices.Clone(e.Notices), func(n models.Notice) bool { return n.Contact != contact })
	told, ok := lastTold(own, before)
	return told.DueOn, ok && interval.Moved(asTold(told), before)
}

// ends says whether a notice is a correction that ended its cycle: one that only
// waits for company, or for its message to go, has not yet.
func ends(n models.Notice) bool {
	waits := n.Waits || n.Message == nil && n.Why.Gathers() ||
		slices.Contains([]models.Reason{models.ReasonAnew, models.ReasonOvertaken, models.ReasonAtShop}, n.LostWhy)
	return n.Subject == models.SubjectItem && n.Stage == models.StageMoved && !waits
}

// corrections counts, by item, the cycles of a machine that ended with a
// correction.
func corrections(told []models.Notice) map[string]int {
	type cycle struct {
		item string
		n    int
	}
	seen := map[cycle]bool{}
	out := map[string]int{}
	for _, n := range told {
		c := cycle{n.Item, n.Cycle}
		if ends(n) && !seen[c] {
			seen[c] = true
			out[n.Item]++
		}
	}
	return out
}

// sameKey says whether two notices differ in their ordinal at most.
func sameKey(a, b models.Notice) bool {
	return a.Contact == b.Contact && a.Machine == b.Machine && a.Subject == b.Subject &&
		a.Item == b.Item && a.Cycle == b.Cycle && a.Stage == b.Stage
}

// ordinal counts the notices of the same key that were written before: those
// withheld.
func ordinal(told []models.Notice, n models.Notice) int {
	count := 0
	for _, o := range told {
		if sameKey(o, n) {
			count++
		}
	}
	return count
}

// fresh gives the notices to be written as withheld for a reason: those that
// were not withheld for the same reason the last time.
func fresh(ns []models.Notice, why models.Reason, es []*Evaluation) []models.Notice {
	told := make(map[string][]models.Notice, len(es))
	for _, e := range es {
		told[e.Machine().ID] = e.Notices
	}
	var out []models.Notice
	for _, n := range ns {
		var last models.Reason
		for _, old := range told[n.Machine] {
			if sameKey(old, n) {
				last = old.Why
			}
		}
		if last != why {
			n.Why = why
			out = append(out, n)
		}
	}
	return out
}
