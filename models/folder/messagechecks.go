package folder

import "example.org/roundsman/models"

// checkMessage refuses a message whose end does not go with its state: one
// that waits is sent.
func checkMessage(in *pass, r *line, v *models.Message) {
	if v.Key != "" {
		in.messages[v.Key] = true
	}
	in.needOwner(r, v.Owner)
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
	in.needOwner(r, v.Owner)
	in.needMessage(r, v.MessageKey)
}

func checkReply(in *pass, r *line, v *models.Reply) {
	if v.Key != "" {
		in.replies[v.Key] = true
	}
	in.needOwner(r, v.Owner)
}

// needMessage refuses a message that nobody knows.
func (in *pass) needMessage(r *line, key string) {
	switch {
	case key == "" || in.messages[key] || in.broken["messages.csv"]:
	case in.opt.KnownMessage != nil && in.opt.KnownMessage(key):
	default:
		r.fault("message", "is not in messages.csv", "add the message there or correct the key")
	}
}

// needReply refuses a reply that nobody knows.
func (in *pass) needReply(r *line, key string) {
	switch {
	case key == "" || in.replies[key] || in.broken["replies.csv"]:
	case in.opt.KnownReply != nil && in.opt.KnownReply(key):
	default:
		r.fault("reply", "is not in replies.csv", "add the reply there or correct the key")
	}
}
