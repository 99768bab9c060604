package folder

import "example.org/roundsman/models"

// checkMessage refuses a message whose end does not go with its state: one
// that waits is sent.
func checkMessage(in *pass, r *line, v *models.Message) {
	in.named[rowName{r.file, v.Key}] = true
	in.needOwner(r, "owner", v.Owner)
	if !r.clean("state", "ended_at") {
		return
	}
	switch over := v.State.Ended(); {
	case over && v.EndedAt.IsZero():
		r.fault("ended_at", "is empty, and the message is "+string(v.State), "write when it was")
	case !over && !v.EndedAt.IsZero():
		r.fault("ended_at", "is given, and the message is "+string(v.State), "correct the state, or empty the cell")
	}
}

func checkNotice(in *pass, r *line, v *models.KeyedNotice) {
	in.needMachine(r, v.Machine)
	in.needOwner(r, "owner", v.Owner)
	in.needMessage(r, v.MessageKey)
}

func checkReply(in *pass, r *line, v *models.Reply) {
	in.named[rowName{r.file, v.Key}] = true
	in.needOwner(r, "owner", v.Owner)
}
