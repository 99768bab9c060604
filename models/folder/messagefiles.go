package folder

import "example.org/roundsman/models"

// What was told and answered. Messages and replies have keys, by which the
// other files name them. HTML is left out: it is made again from the words;
// and so is a courier's hold on a message.

const remedyKey = "leave it as an export gives it"

func messagesFile() *file[models.Message] {
	type T = models.Message
	return &file[T]{
		name: "messages.csv",
		columns: []column[T]{
			need("key", key(remedyKey), func(v *T) *string { return &v.Key }),
			opt("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			opt("contact", key("write the id of the contact, or nothing for the shop itself"), func(v *T) *string { return &v.Contact }),
			need("channel", choice(models.ChannelMail, models.ChannelSMS), func(v *T) *models.Channel { return &v.Channel }),
			opt("address", said[string]("write the address or number"), func(v *T) *string { return &v.Address }),
			need("purpose", choice(models.Purposes()...), func(v *T) *models.Purpose { return &v.Purpose }),
			opt("language", language, func(v *T) *string { return &v.Language }),
			opt("urgent", yes, func(v *T) *bool { return &v.Urgent }),
			need("state", choice(models.MessageStates()...), func(v *T) *models.MessageState { return &v.State }),
			opt("why", said[models.Reason]("write why it is in that state"), func(v *T) *models.Reason { return &v.Why }),
			need("queued_at", instant, func(v *T) *models.Instant { return &v.QueuedAt }),
			opt("not_before", anyInstant, func(v *T) *models.Instant { return &v.NotBefore }),
			opt("ended_at", instant, func(v *T) *models.Instant { return &v.EndedAt }),
			opt("tries", whole(0, 1_000_000), func(v *T) *int { return &v.Tries }),
			opt("in_doubt", yes, func(v *T) *bool { return &v.InDoubt }),
			opt("peer_id", said[string](remedyKey), func(v *T) *string { return &v.PeerID }),
			opt("receipt_at", instant, func(v *T) *models.Instant { return &v.ReceiptAt }),
			opt("receipt", said[string]("write what the peer reported"), func(v *T) *string { return &v.Receipt }),
			opt("in_reply_to", key(remedyKey), func(v *T) *string { return &v.InReplyTo }),
			opt("body", words("write the words of the answer or alert"), func(v *T) *string { return &v.Body }),
			opt("subject", said[string]("write the subject as sent"), func(v *T) *string { return &v.Composed.Subject }),
			opt("text", words("write the words as sent"), func(v *T) *string { return &v.Composed.Text }),
			opt("segments", whole(0, 1_000), func(v *T) *int { return &v.Composed.Segments }),
			opt("calendar", calendarPart, func(v *T) *string { return &v.Composed.Calendar }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Messages },
		same:  func(v T) T { return T{Key: v.Key} },
		clash: duplicate{"key", "is on line %d already, with other cells", remedyTwice},
		check: checkMessage,
	}
}

func noticesFile() *file[models.KeyedNotice] {
	type T = models.KeyedNotice
	stages := append(models.Stages(), models.StageMoved)
	return &file[T]{
		name: "notices.csv",
		columns: []column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("subject", choice(models.Subjects()...), func(v *T) *models.Subject { return &v.Subject }),
			col("item", id("write the item, or the number of the check or visit"), func(v *T) *string { return &v.Item }),
			col("cycle", whole(0, 1_000_000), func(v *T) *int { return &v.Cycle }),
			col("stage", choice(stages...), func(v *T) *models.Stage { return &v.Stage }),
			col("contact", key("write the id of the contact, or nothing where there was nobody"), func(v *T) *string { return &v.Contact }),
			col("ordinal", whole(0, 1_000_000), func(v *T) *int { return &v.Ordinal }),
			need("decided_at", instant, func(v *T) *models.Instant { return &v.DecidedAt }),
			col("message", key("write the key of the message, as in messages.csv, or nothing for one that was not sent"), func(v *T) *string { return &v.MessageKey }),
			opt("why", said[models.Reason]("write why it was sent or not"), func(v *T) *models.Reason { return &v.Why }),
			opt("stopped", said[models.Reason]("write why it was stopped while its message waited, or nothing"), func(v *T) *models.Reason { return &v.Stopped }),
			opt("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			opt("early_on", anyDay, func(v *T) *models.Date { return &v.EarlyOn }),
			opt("due_on", anyDay, func(v *T) *models.Date { return &v.DueOn }),
			opt("late_on", anyDay, func(v *T) *models.Date { return &v.LateOn }),
			opt("was_on", anyDay, func(v *T) *models.Date { return &v.WasOn }),
			opt("driver", choice(models.DriverMiles, models.DriverKM, models.DriverHours, models.DriverCalendar), func(v *T) *models.Driver { return &v.Driver }),
			opt("reason", said[models.Reason]("write why it was due"), func(v *T) *models.Reason { return &v.Reason }),
			opt("detail", said[string]("write what was told beside"), func(v *T) *string { return &v.Detail }),
			opt("last_on", anyDay, func(v *T) *models.Date { return &v.LastOn }),
			opt("last_by", choice(models.GroundsLooked, models.GroundsMonth, models.GroundsYear), func(v *T) *models.Grounds { return &v.LastBy }),
			opt("at_miles", balance, func(v *T) *models.Number { return &v.AtMiles }),
			opt("at_hours", balance, func(v *T) *models.Number { return &v.AtHours }),
			opt("left_miles", balance, func(v *T) *models.Number { return &v.Remaining.Miles }),
			opt("left_km", balance, func(v *T) *models.Number { return &v.Remaining.KM }),
			opt("left_hours", balance, func(v *T) *models.Number { return &v.Remaining.Hours }),
			opt("left_days", balance, func(v *T) *models.Number { return &v.Remaining.Days }),
		},
		rows: func(f *models.FactSet) *[]T { return &f.Notices },
		same: func(v T) T {
			return T{Notice: models.Notice{Machine: v.Machine, Subject: v.Subject, Item: v.Item, Cycle: v.Cycle,
				Stage: v.Stage, Contact: v.Contact, Ordinal: v.Ordinal}}
		},
		clash: duplicate{"machine", "was told that on line %d already, with other cells", remedyTwice},
		check: checkNotice,
	}
}

func attemptsFile() *file[models.KeyedAttempt] {
	type T = models.KeyedAttempt
	return &file[T]{
		name: "attempts.csv",
		columns: []column[T]{
			need("message", key("write the key of the message, as in messages.csv"), func(v *T) *string { return &v.MessageKey }),
			need("number", whole(1, 1_000_000), func(v *T) *int { return &v.Number }),
			need("started_at", instant, func(v *T) *models.Instant { return &v.StartedAt }),
			opt("ended_at", instant, func(v *T) *models.Instant { return &v.EndedAt }),
			need("outcome", choice(models.Outcomes()...), func(v *T) *models.Outcome { return &v.Outcome }),
			opt("code", said[string]("write the peer's code"), func(v *T) *string { return &v.Code }),
			opt("why", said[models.Reason]("write why it ended so"), func(v *T) *models.Reason { return &v.Why }),
			opt("peer_id", said[string](remedyKey), func(v *T) *string { return &v.PeerID }),
		},
		rows: func(f *models.FactSet) *[]T { return &f.Attempts },
		same: func(v T) T {
			return T{Attempt: models.Attempt{Number: v.Number}, MessageKey: v.MessageKey}
		},
		clash: duplicate{"number", "of that message is on line %d already, with other cells", remedyTwice},
		check: func(in *pass, r *line, v *T) { in.needMessage(r, v.MessageKey) },
	}
}

func repliesFile() *file[models.Reply] {
	type T = models.Reply
	return &file[T]{
		name: "replies.csv",
		columns: []column[T]{
			need("key", key(remedyKey), func(v *T) *string { return &v.Key }),
			need("received_at", instant, func(v *T) *models.Instant { return &v.ReceivedAt }),
			need("channel", choice(models.ChannelMail, models.ChannelSMS), func(v *T) *models.Channel { return &v.Channel }),
			col("sender", said[string]("write the number or address that it came from"), func(v *T) *string { return &v.From }),
			opt("recipient", said[string]("write the number or address that it went to"), func(v *T) *string { return &v.To }),
			opt("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			opt("contact", key("write the id of the contact"), func(v *T) *string { return &v.Contact }),
			opt("subject", said[string]("write the subject"), func(v *T) *string { return &v.Subject }),
			col("text", words("write what came"), func(v *T) *string { return &v.Text }),
			opt("automatic", yes, func(v *T) *bool { return &v.Automatic }),
			opt("answers_to", key(remedyKey), func(v *T) *string { return &v.AnswersTo }),
			opt("question", words(remedyKey), func(v *T) *string { return &v.Question }),
			opt("person", said[models.Reason]("write why a person must look"), func(v *T) *models.Reason { return &v.Person }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Replies },
		same:  func(v T) T { return T{Key: v.Key} },
		clash: duplicate{"key", "is on line %d already, with other cells", remedyTwice},
		check: checkReply,
	}
}

func replyActsFile() *file[models.KeyedAct] {
	type T = models.KeyedAct
	return &file[T]{
		name: "reply_acts.csv",
		columns: []column[T]{
			need("reply", key("write the key of the reply, as in replies.csv"), func(v *T) *string { return &v.ReplyKey }),
			need("number", whole(1, 1_000_000), func(v *T) *int { return &v.Number }),
			need("act", said[string]("write what was done"), func(v *T) *string { return &v.Act }),
			opt("machine", id("write the machine's id"), func(v *T) *string { return &v.Machine }),
			opt("detail", said[string]("write more about it, for people"), func(v *T) *string { return &v.Detail }),
			opt("message", key("write the key of the message that answers, as in messages.csv"), func(v *T) *string { return &v.MessageKey }),
			opt("at", instant, func(v *T) *models.Instant { return &v.At }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.ReplyActs },
		same:  func(v T) T { return T{ReplyKey: v.ReplyKey, Number: v.Number} },
		clash: duplicate{"number", "of that reply is on line %d already, with other cells", remedyTwice},
		check: func(in *pass, r *line, v *T) {
			in.needReply(r, v.ReplyKey)
			in.needMessage(r, v.MessageKey)
		},
	}
}

func replyMarksFile() *file[models.KeyedMark] {
	type T = models.KeyedMark
	return &file[T]{
		name: "reply_marks.csv",
		columns: []column[T]{
			need("reply", key("write the key of the reply, as in replies.csv"), func(v *T) *string { return &v.ReplyKey }),
			need("at", instant, func(v *T) *models.Instant { return &v.At }),
			opt("by", said[string]("write who has dealt with it"), func(v *T) *string { return &v.By }),
			opt("note", said[string]("write what was done"), func(v *T) *string { return &v.Note }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.ReplyMarks },
		check: func(in *pass, r *line, v *T) { in.needReply(r, v.ReplyKey) },
	}
}

func bouncesFile() *file[models.Bounce] {
	type T = models.Bounce
	return &file[T]{
		name: "bounces.csv",
		columns: []column[T]{
			need("key", key(remedyKey), func(v *T) *string { return &v.Key }),
			need("at", instant, func(v *T) *models.Instant { return &v.At }),
			need("channel", choice(models.ChannelMail, models.ChannelSMS), func(v *T) *models.Channel { return &v.Channel }),
			need("address", said[string]("write the address or number"), func(v *T) *string { return &v.Address }),
			need("fate", choice(models.Fates()...), func(v *T) *models.BounceKind { return &v.Fate }),
			opt("code", said[string]("write the report's code"), func(v *T) *string { return &v.Code }),
			opt("words", said[string]("write the server's words"), func(v *T) *string { return &v.Words }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Bounces },
		same:  func(v T) T { return T{Key: v.Key} },
		clash: duplicate{"key", "is on line %d already, with other cells", remedyTwice},
	}
}

func callsFile() *file[models.Call] {
	type T = models.Call
	return &file[T]{
		name: "calls.csv",
		columns: []column[T]{
			need("owner", id("write the id of the owner"), func(v *T) *string { return &v.Owner }),
			need("at", instant, func(v *T) *models.Instant { return &v.At }),
			opt("by", said[string]("write who called"), func(v *T) *string { return &v.By }),
			col("reached", yes, func(v *T) *bool { return &v.Reached }),
			opt("note", said[string]("write what was said"), func(v *T) *string { return &v.Note }),
			opt("again_on", anyDay, func(v *T) *models.Date { return &v.AgainOn }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Calls },
		check: func(in *pass, r *line, v *T) { in.needOwner(r, "owner", v.Owner) },
	}
}
