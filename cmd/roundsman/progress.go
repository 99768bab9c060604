package main

import (
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
)

// progress shows how far long work is, on a terminal only; in a pipe it is
// silent.
type progress struct {
	w     io.Writer
	show  bool
	title string
	bar   *progressbar.ProgressBar
}

func (c *call) progress() *progress {
	_, ok := terminalWidth(c.errs)
	return &progress{w: c.errs, show: ok}
}

// step shows that done of total is done under a title; a new title begins a
// new bar.
func (p *progress) step(title string, done, total int64) {
	if !p.show || total <= 0 {
		return
	}
	if p.bar == nil || p.title != title {
		p.end()
		p.title = title
		p.bar = progressbar.NewOptions64(total, progressbar.OptionSetWriter(p.w),
			progressbar.OptionSetDescription(title), progressbar.OptionSetWidth(24),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(),
			progressbar.OptionSetPredictTime(false))
	}
	_ = p.bar.Set64(done) // a bar that cannot be drawn is no reason to stop the work
}

// end takes the bar away.
func (p *progress) end() {
	if p.bar != nil {
		_ = p.bar.Clear()
		p.bar = nil
	}
}
