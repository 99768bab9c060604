package job

import (
	"slices"

	"example.org/roundsman/models"
)

// act is something that may be done with a job.
type act string

const (
	actWork     act = "take lines and parts"
	actDone     act = "be done"
	actHandOver act = "be handed over"
	actReopen   act = "be reopened"
	actWithdraw act = "be withdrawn"
	actAmend    act = "be corrected"
	actBench    act = "take an answer at the bench"
	actOwner    act = "take an owner's answer"
)

// rules say in which states an act may be done.
var rules = map[act][]models.JobState{
	actWork:     {models.JobOpen, models.JobReopened, models.JobDone},
	actDone:     {models.JobOpen, models.JobReopened},
	actHandOver: {models.JobDone},
	actReopen:   {models.JobHanded},
	actWithdraw: {models.JobOpen},
	actAmend:    {models.JobOpen, models.JobReopened, models.JobDone, models.JobHanded},
	actBench:    {models.JobOpen, models.JobReopened, models.JobDone},
	actOwner:    {models.JobHanded},
}

// may refuses an act that a job's state does not allow, and says what does.
func may(j models.Job, a act) error {
	if slices.Contains(rules[a], j.State) {
		return nil
	}
	return models.Errorf(models.CodeConflict, remedy(j, a), "job %s is %s and cannot %s", j.ID, j.State, a)
}

// remedy says what may be done instead.
func remedy(j models.Job, a act) string {
	switch {
	case j.State == models.JobWithdrawn:
		return "open a new job"
	case j.State == models.JobHanded && (a == actWork || a == actDone):
		return "if its complaint came back, reopen it with `roundsman job back`; else open a new job"
	case j.State == models.JobHanded && a == actHandOver:
		return "there is nothing left to do"
	case j.State == models.JobHanded && a == actWithdraw, j.State == models.JobDone && a == actWithdraw:
		return "its services are recorded; correct its words with `roundsman job amend`"
	case j.State == models.JobReopened && a == actWithdraw:
		return "have it done with what was found, even if that is nothing"
	case j.State == models.JobDone && a == actDone:
		return "hand it over with `roundsman job handover`"
	case a == actHandOver:
		return "say first what was done, with `roundsman job done`"
	case a == actOwner:
		return "owners are asked after the hand-over"
	case a == actBench:
		return "the machine has left the shop; what its owner says is told with `roundsman job back`"
	}
	return "it has not been handed over: go on with it"
}
