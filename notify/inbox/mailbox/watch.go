package mailbox

import (
	"cmp"
	"context"
	"log/slog"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/inbox/bounce"
)

// Bouncer acts on bounces. Bounced comes back with nil only when the report is
// safely stored; the same report may come twice.
type Bouncer interface {
	Bounced(ctx context.Context, r bounce.Report, at models.Instant) error
}

// Watch looks into a source again and again.
type Watch struct {
	Source  Source
	Applier notify.Applier
	Bouncer Bouncer
	Ours    func(ctx context.Context, r models.Reply) (bool, error) // whether a mail is for the program; nil: all are
	Every   time.Duration                                           // between two looks; 0: 1 minute
	Alarm   func(ctx context.Context, why error) error              // is told once of a log-in that is refused, until it works again; nil: nobody is
	Clock   models.Clock
	Log     *slog.Logger
}

// refusedMost is the longest time between two looks while the server refuses
// the log-in: repeated wrong ones lock accounts (common practice, no source).
const refusedMost = time.Hour

// Run looks until the context ends. What fails is logged, and tried again at
// the next look; a refused log-in after longer and longer.
func (w *Watch) Run(ctx context.Context) error {
	every := w.Every
	if every <= 0 {
		every = time.Minute
	}
	last, pause := "", every
	for {
		n, err := w.Look(ctx)
		if ctx.Err() != nil {
			return nil
		}
		if n > 0 {
			w.Log.Info("mail read", "count", n)
		}
		said := text(err)
		if err != nil && said != last { // the same trouble is told once
			w.Log.Warn("reading the inbox", "err", err)
			w.alarm(ctx, err)
		}
		if last = said; models.CodeOf(err) == models.CodeInvalid {
			pause = min(2*pause, max(every, refusedMost))
		} else {
			pause = every
		}
		timer := time.NewTimer(pause)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-timer.C:
		}
	}
}

// alarm tells the shop of what somebody must put right.
func (w *Watch) alarm(ctx context.Context, why error) {
	if w.Alarm == nil || models.CodeOf(why) != models.CodeInvalid {
		return
	}
	if err := w.Alarm(ctx, why); err != nil {
		w.Log.Error("telling that the inbox cannot be read", "err", err)
	}
}

func text(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// Look handles what is new, once, and gives the number of mails handled.
func (w *Watch) Look(ctx context.Context) (int, error) {
	return w.Source.Each(ctx, w.handle)
}

// handle hands a bounce to the bouncer and all else that is for the program to
// the applier, which knows what to do with automatic answers.
func (w *Watch) handle(ctx context.Context, raw []byte) error {
	m := Read(raw, w.Clock.Now())
	if m.Bounce != nil {
		return w.Bouncer.Bounced(ctx, *m.Bounce, m.Reply.ReceivedAt)
	}
	if w.Ours != nil {
		if ours, err := w.Ours(ctx, m.Reply); err != nil || !ours {
			return cmp.Or(err, errNotOurs)
		}
	}
	return w.Applier.Apply(ctx, m.Reply)
}
