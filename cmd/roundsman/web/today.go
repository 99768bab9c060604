package web

import (
	"fmt"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// How many of each sort the round sheet shows.
const (
	showCalls   = 12
	showLetters = 12
	showReplies = 20
	mostReplies = 1000 // that are counted
	failedDays  = 14
	graphDays   = 28
)

// todayPage is the data of the round sheet: who needs a message, a call or a
// decision today, why, and what the service has done about it.
type todayPage struct {
	frame
	glance
	Round      models.Round // the last one held; zero: none yet
	Ahead      models.Round // one that was held for a time that has not come; zero: none
	Stages     []stageCount
	Behind     bool // some stages are those of the last round
	Replies    []replySlip
	RepliesAll int
	Back       []jobSlip // complaints that came back and are not done
	Calls      []models.ToCall
	CallsAll   int
	Nobody     []scheduler.UntoldOwner // some of them
	NobodyMore int
	Letters    []messageRow
	LettersAll int
	Failed     []messageRow
	FailedAll  int
	Graph      graph
	Held       scheduler.Held
	Tomorrow   models.Date
	NextWeek   models.Date
}

// Decide counts what only a person can do today.
func (p todayPage) Decide() int { return p.Answers() + p.FailedAll }

// Answers counts the answers and complaints among them.
func (p todayPage) Answers() int { return p.RepliesAll + len(p.Back) }

// CallsRest and LettersRest count what is not shown.
func (p todayPage) CallsRest() int   { return p.CallsAll - len(p.Calls) }
func (p todayPage) LettersRest() int { return p.LettersAll - len(p.Letters) }

// Gone says whether the sender tells of a machine that was sold or is gone: the
// desk then says where it stands.
func (s replySlip) Gone() bool { return s.Reply.Person == models.ReasonSold }

// replySlip is a reply that waits for a person.
type replySlip struct {
	Reply models.Reply
	Who   string
	Owner models.Owner
	Acts  []models.ReplyAct
	About []models.Machine

	Urgency  scheduler.Urgency
	Undoable bool // it brought facts that one act takes back
}

// jobSlip is a job in a list.
type jobSlip struct {
	Job     models.Job
	Machine models.Machine
	Owner   models.Owner
	Bench   int // open checks before hand-over
	Bad     int // of those, what was found not ok
}

// messageRow is a message.
type messageRow struct {
	Message models.Message
	Who     string
	Owner   models.Owner
	Tells   []tellLine
	Becomes models.Ruling // as things stand, of one that has not gone
}

// Later says that the message goes, and not now; Never that it will not.
func (m messageRow) Later() bool { return m.Becomes.Verdict == models.VerdictHold }
func (m messageRow) Never() bool { return m.Becomes.Verdict == models.VerdictDrop }

// tellLine is what a message tells of one machine.
type tellLine struct {
	Machine models.Machine
	Items   []models.Notice
}

// today shows the round sheet.
func today(rq *request) error {
	st, ctx := rq.site.store, rq.ctx()
	p := todayPage{frame: rq.frame("Today"), Tomorrow: rq.today().AddDays(1), NextWeek: rq.today().AddDays(7)}
	var err error
	soon := rq.instant().Add(models.MayLieAhead)
	if p.Round, _, err = st.LastRound(ctx, soon); err != nil {
		return err
	}
	if p.Ahead, _, err = st.RoundAhead(ctx, soon); err != nil {
		return err
	}
	fleet, err := rq.scope.page(ctx, models.FleetFilter{Stage: models.StageLate, Limit: showGlance})
	if err != nil {
		return err
	}
	p.Behind = fleet.Behind
	for _, s := range []models.Stage{models.StageLate, models.StageDue, models.StageComing, models.StageUnsure} {
		p.Stages = append(p.Stages, stageCount{Stage: s, N: fleet.Stages[s], Path: "/fleet?stage=" + string(s)})
	}
	waiting, all, err := st.Letters(ctx, 0, showLetters)
	if err != nil {
		return err
	}
	p.LettersAll = all
	failed, all, err := st.Letters(ctx, models.InstantOf(rq.now.AddDate(0, 0, -failedDays)), showLetters)
	if err != nil {
		return err
	}
	p.FailedAll = all
	calls, err := rq.callList(p.Round, all)
	if err != nil {
		return err
	}
	p.Held, p.Calls, p.CallsAll, p.Nobody = calls.held, calls.list, calls.total, calls.nobody
	p.NobodyMore = max(0, len(p.Nobody)-showCalls)
	p.Nobody = p.Nobody[:len(p.Nobody)-p.NobodyMore]
	replies, err := scheduler.Waiting(ctx, st, mostReplies)
	if err != nil {
		return err
	}
	p.RepliesAll = len(replies)
	replies = replies[:min(len(replies), showReplies)]
	names, err := rq.namesFor(ctx, append(slices.Clone(waiting), failed...), replies)
	if err != nil {
		return err
	}
	p.Letters, p.Failed = names.slips(waiting), names.slips(failed)
	if err := rq.prospects(p.Letters, p.Failed); err != nil {
		return err
	}
	for _, r := range replies {
		p.Replies = append(p.Replies, names.reply(r))
	}
	inHand, err := rq.jobsInHand(ctx)
	if err != nil {
		return err
	}
	for _, j := range inHand {
		if j.Job.State == models.JobReopened {
			p.Back = append(p.Back, j)
		}
	}
	if p.glance, err = rq.glanceOf(ctx, fleet, inHand); err != nil {
		return err
	}
	days, err := st.SentByDay(ctx, rq.today().AddDays(-graphDays))
	if err != nil {
		return err
	}
	p.Graph = p.frame.graph(days)
	return rq.render("today", p)
}

// callList gives the call list, of whom nobody can be told, and what is held
// back. It is worked out from the whole fleet, so the last one is kept until a
// fact, a round or a message that failed may have changed it.
func (rq *request) callList(last models.Round, failed int) (*madeCalls, error) {
	entry, err := rq.site.store.LastEntry(rq.ctx())
	if err != nil {
		return nil, err
	}
	c := &rq.site.calls
	key := callKey{rq.today(), entry, last.ID, failed}
	kept := c.last.Load()
	if kept != nil && kept.key == key {
		return kept, nil
	}
	if !c.working.TryLock() {
		if kept != nil { // somebody else's page works it out: the last one will do
			return kept, nil
		}
		c.working.Lock()
	}
	defer c.working.Unlock()
	made := &madeCalls{key: key}
	both, ctx := errgroup.WithContext(rq.ctx()) // each reads a part of the whole fleet
	both.Go(func() (err error) {
		made.list, made.total, err = rq.site.store.Calls(ctx, showCalls)
		return err
	})
	both.Go(func() (err error) {
		if made.nobody, err = rq.site.store.UntoldOwners(ctx); err == nil {
			made.held, err = rq.site.care.Held(ctx)
		}
		return err
	})
	if err := both.Wait(); err != nil {
		return nil, err
	}
	c.last.Store(made)
	return made, nil
}

// keptCalls is the last call list.
type keptCalls struct {
	working sync.Mutex
	last    atomic.Pointer[madeCalls]
}

// madeCalls is a call list with what it was made from.
type madeCalls struct {
	key    callKey
	list   []models.ToCall
	total  int
	nobody []scheduler.UntoldOwner
	held   scheduler.Held
}

type callKey struct {
	day    models.Date
	entry  int64
	round  int64
	failed int
}

// prospects adds what becomes of messages.
func (rq *request) prospects(parts ...[]messageRow) error {
	var ids []int64
	for _, rows := range parts {
		for _, m := range rows {
			ids = append(ids, m.Message.ID)
		}
	}
	become, err := rq.site.outbox.Prospects(rq.ctx(), ids, rq.now)
	if err != nil {
		return err
	}
	for _, rows := range parts {
		for i := range rows {
			rows[i].Becomes = become[rows[i].Message.ID]
		}
	}
	return nil
}

// changeMessage sends a waiting message at the next allowed moment, holds it,
// or takes it out.
func changeMessage(rq *request) error {
	id, err := strconv.ParseInt(rq.r.PathValue("id"), 10, 64)
	if err != nil {
		return errNoPage
	}
	st, about := rq.site.store, rq.r.PathValue("id")
	switch rq.r.PathValue("act") {
	case "send":
		r, err := rq.site.outbox.SendNow(rq.ctx(), id, rq.now)
		if err != nil {
			return rq.again("send "+about, err, today)
		}
		st.Wake()
		if err := rq.did("sent a message now", about, ""); err != nil {
			return err
		}
		if r.Verdict == models.VerdictHold {
			return rq.to("/today", "later")
		}
		return rq.to("/today", "sent")
	case "hold":
		until, err := rq.dateOr("until", rq.today().AddDays(1))
		if err == nil && (until <= rq.today() || until > rq.today().AddDays(60)) {
			err = models.Errorf(models.CodeInvalid, "pick a day from tomorrow on, at most 60 days ahead", "it cannot be held until %s", until)
		}
		if err != nil {
			return rq.again("hold "+about, err, today)
		}
		if err := st.HoldMessage(rq.ctx(), id, models.InstantOf(until.In(rq.site.Zone).Add(8*time.Hour))); err != nil {
			return err
		}
		if err := rq.did("held a message", about, until.String()); err != nil {
			return err
		}
		return rq.to("/today", "held")
	case "drop":
		if err := st.DropMessage(rq.ctx(), id, rq.instant()); err != nil {
			return err
		}
		if err := rq.did("took a message out", about, ""); err != nil {
			return err
		}
		return rq.to("/today", "dropped")
	}
	return errNoPage
}

// dateOr gives a date of the form, or d where none is given.
func (rq *request) dateOr(name string, d models.Date) (models.Date, error) {
	s := rq.value(name)
	if s == "" {
		return d, nil
	}
	v, err := models.ParseDate(s)
	if err != nil {
		return 0, models.Errorf(models.CodeInvalid, "pick a day", "%q is not a date", models.Shorten(s, 30))
	}
	return v, v.CheckAhead(rq.today())
}

// recordCall writes down a call to an owner.
func recordCall(rq *request) error {
	owner := rq.value("owner")
	ms, err := rq.site.store.Fleet(rq.ctx(), models.FleetFilter{Owner: owner, Limit: 1})
	if err != nil {
		return err
	}
	if owner == "" || ms.Total == 0 {
		return errNotThere
	}
	note, err := rq.text("note", 500)
	var again models.Date
	if err == nil {
		again, err = rq.dateOr("again", 0)
	}
	if err != nil {
		return rq.again("call "+owner, err, today)
	}
	reached := rq.value("reached") == "yes"
	if !reached && again == 0 {
		again = rq.today().AddDays(1)
	}
	err = rq.site.store.RecordCall(rq.ctx(), models.Call{At: rq.instant(), Owner: owner, By: rq.user.Name, Reached: reached,
		Note: note, AgainOn: again}, rq.entry("call"))
	if err != nil {
		return err
	}
	if err := rq.did("recorded a call", owner, note); err != nil {
		return err
	}
	return rq.to("/today", "called")
}

// undoReply takes back what was recorded from a reply.
func undoReply(rq *request) error {
	id, err := strconv.ParseInt(rq.r.PathValue("id"), 10, 64)
	if err != nil {
		return errNoPage
	}
	why, err := rq.text("why", 200)
	var taken []models.TakenFact
	if err == nil {
		taken, err = rq.site.owners.Undo(rq.ctx(), rq.act(), id, why)
	}
	if err != nil {
		return rq.again("undo "+rq.r.PathValue("id"), err, today)
	}
	for _, f := range taken {
		if err := rq.did("took back a "+string(f.Sort), f.Machine, fmt.Sprintf("reply %d: %s", id, f.Withdrawn.Why)); err != nil {
			return err
		}
	}
	return rq.to("/today#reply-"+rq.r.PathValue("id"), "withdrawn")
}

// markReply marks a reply as dealt with.
func markReply(rq *request) error {
	id, err := strconv.ParseInt(rq.r.PathValue("id"), 10, 64)
	if err != nil {
		return errNoPage
	}
	note, err := rq.text("note", 500)
	if err != nil {
		return rq.again("reply "+rq.r.PathValue("id"), err, today)
	}
	err = rq.site.store.MarkReply(rq.ctx(), models.ReplyMark{Reply: id, At: rq.instant(), By: rq.user.Name, Note: note})
	if err != nil {
		return err
	}
	if err := rq.did("dealt with a reply", rq.r.PathValue("id"), note); err != nil {
		return err
	}
	return rq.to("/today", "marked")
}
