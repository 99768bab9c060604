package mailbox

import (
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
	Every   time.Duration // between two looks; 0: 1 minute
	Clock   models.Clock
	Log     *slog.Logger
}

// Run looks until the context ends. What fails is logged, and tried again at
// the next look.
func (w *Watch) Run(ctx context.Context) error {
	every := w.Every
	if every <= 0 {
		every = time.Minute
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	last := ""
	for {
		n, err := w.Look(ctx)
		switch said := text(err); {
		case ctx.Err() != nil:
			return nil
		case err != nil && said != last: // the same trouble is told once
			w.Log.Warn("reading the inbox", "err", err)
			last = said
		case err == nil:
			last = ""
		}
		if n > 0 {
			w.Log.Info("mail read", "count", n)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
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

// handle hands a bounce to the bouncer and all else to the applier, which
// knows what to do with automatic answers.
func (w *Watch) handle(ctx context.Context, raw []byte) error {
	m := Read(raw, w.Clock.Now())
	if m.Bounce != nil {
		return w.Bouncer.Bounced(ctx, *m.Bounce, m.Reply.ReceivedAt)
	}
	return w.Applier.Apply(ctx, m.Reply)
}
