package job

import "example.org/roundsman/models"

// AsOf gives a job as it stood on a day, from its newest version: what is
// dated later is left out. at is the end of that day. ok is false when the job
// had not been opened. Of a turn that has ended since only what was done is
// known, not the days on which that was.
func AsOf(w models.WholeJob, on models.Date, at models.Instant) (models.WholeJob, bool) {
	j := w.Job
	if j.OpenedOn > on {
		return models.WholeJob{}, false
	}
	if j.BackOn > on {
		j.Turn, j.State = max(1, j.Turn-1), models.JobHanded
		j.DoneOn, j.HandedOn, j.BackOn, j.Note = 0, 0, 0, ""
	}
	if j.HandedOn > on {
		j.State, j.HandedOn, j.HandedBy, j.OverrideWhy, j.OverrideBy = models.JobDone, 0, "", "", ""
	}
	if j.DoneOn > on {
		j.State, j.DoneOn, j.DoneBy, j.Cause, j.Correction = models.JobOpen, 0, "", "", ""
		if j.Turn > 1 {
			j.State = models.JobReopened
		}
	}
	out := models.WholeJob{Job: j}
	for _, l := range w.Lines {
		if l.Turn <= j.Turn {
			out.Lines = append(out.Lines, l)
		}
	}
	for _, p := range w.Parts {
		if p.Turn <= j.Turn {
			out.Parts = append(out.Parts, p)
		}
	}
	for _, a := range w.Checks {
		if a.Check.Turn > j.Turn || (j.DoneOn == 0 && j.State.Begun()) && a.Check.Turn == j.Turn {
			continue
		}
		kept := models.AskedCheck{Check: a.Check}
		for _, s := range a.Answers {
			if s.At <= at {
				kept.Answers = append(kept.Answers, s)
			}
		}
		out.Checks = append(out.Checks, kept)
	}
	return out, true
}
