package folder

import "example.org/roundsman/models"

// checkJob completes the state of a job from its dates where it is not given,
// and refuses dates that do not go with it.
func checkJob(in *pass, r *line, v *models.Job) {
	in.meterValues(r, v.Machine, &v.Miles, &v.Hours)
	in.named[rowName{r.file, v.ID}] = true
	v.Turn = max(v.Turn, 1)
	if v.State == "" && r.clean("state", "done_on", "handed_on") {
		switch {
		case v.HandedOn != 0:
			v.State = models.JobHanded
		case v.DoneOn != 0:
			v.State = models.JobDone
		case v.BackOn != 0:
			v.State = models.JobReopened
		default:
			v.State = models.JobOpen
		}
	}
	if !r.clean("state", "turn", "opened_on", "done_on", "handed_on", "back_on", "override_why", "override_by") {
		return
	}
	done, handed := v.DoneOn != 0, v.HandedOn != 0
	switch {
	case v.State == models.JobHanded && !handed:
		r.fault("handed_on", "is empty, and the job is handed over", "write the day of the hand-over")
	case v.State != models.JobHanded && handed:
		r.fault("handed_on", "is given, and the job is "+string(v.State), "correct the state, or empty the cell")
	case v.State == models.JobDone && !done:
		r.fault("done_on", "is empty, and the job is done", "write the day on which the work was done")
	case v.State == models.JobReopened && v.BackOn == 0:
		r.fault("back_on", "is empty, and the job is reopened", "write the day on which it came back")
	case v.State == models.JobReopened && v.Turn < 2:
		r.fault("turn", "is the first, and the job is reopened", "write 2 or more")
	case done && v.DoneOn < v.OpenedOn:
		r.fault("done_on", "is before the job was opened", "correct the one or the other")
	case handed && done && v.HandedOn < v.DoneOn:
		r.fault("handed_on", "is before the work was done", "correct the one or the other")
	case (v.OverrideWhy == "") != (v.OverrideBy == ""):
		r.fault("override_by", "and override_why go together", "give the reason and the name, or neither")
	}
}

func checkJobLine(in *pass, r *line, v *models.JobLine) {
	in.needJob(r, v.Job)
	v.Turn = max(v.Turn, 1)
	v.Withdrawn = v.Withdrawn || v.TakenWhy != ""
	if v.Item == "" && v.What == "" && r.clean("item", "what") {
		r.fault("", "says neither an item nor what was repaired", "write the one or the other, or take the row out")
	}
}

func checkPart(in *pass, r *line, v *models.Part) {
	in.needJob(r, v.Job)
	v.Turn = max(v.Turn, 1)
	v.Withdrawn = v.Withdrawn || v.TakenWhy != ""
	if v.Name == "" && v.Number == "" && r.clean("name", "number") {
		r.fault("", "says neither what it is nor its number", "write the one or the other, or take the row out")
	}
}

func checkCheckDef(_ *pass, r *line, v *models.CheckDef) {
	if v.QuestionEN == "" && !v.Retired && r.clean("question_en", "retired") {
		r.fault("question_en", "is empty", "write the question in English, or mark the definition as retired")
	}
}

func checkCheck(in *pass, r *line, v *models.Check) {
	in.needJob(r, v.Job)
	v.Turn = max(v.Turn, 1)
	in.named[rowName{r.file, v.ID}] = true
}

func checkCheckAnswer(in *pass, r *line, v *models.CheckAnswer) {
	in.need(r, "check", "checks.csv", v.Check, "number")
}
