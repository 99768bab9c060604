package web

import (
	"strings"

	"example.org/roundsman/models"
)

// graph is the picture of messages over the last weeks: a column a day, what
// was sent full, what waits open, what failed hatched.
type graph struct {
	Width, Height, Base int
	Columns             []column
	Days                []label
	Most                int
	Sent, Failed        int
	Words               string
}

// column is one day's messages.
type column struct {
	X, Width            int
	Sent, Waits, Failed int // heights in pixels
	SentY, WaitY, FailY int
	Text                string
}

// Measures of the picture in pixels.
const (
	graphWide = 12
	graphHigh = 56
)

// graph draws the messages of the days up to today.
func (f frame) graph(days map[models.Date]map[models.MessageState]int) graph {
	g := graph{Width: (graphDays + 1) * graphWide, Height: graphHigh + 18, Base: graphHigh, Most: 1}
	for _, d := range days {
		n := 0
		for _, v := range d {
			n += v
		}
		g.Most = max(g.Most, n)
	}
	var said []string
	for i := range graphDays + 1 {
		d := f.Today.AddDays(i - graphDays)
		v := days[d]
		sent, failed, waits := v[models.MessageSent], v[models.MessageFailed], v[models.MessageQueued]+v[models.MessageSending]
		g.Sent, g.Failed = g.Sent+sent, g.Failed+failed
		high := func(n int) int {
			if n == 0 {
				return 0
			}
			return max(2, n*(graphHigh-4)/g.Most)
		}
		c := column{X: i*graphWide + 1, Width: graphWide - 3, Sent: high(sent), Failed: high(failed), Waits: high(waits)}
		c.SentY = g.Base - c.Sent
		c.FailY = c.SentY - c.Failed
		c.WaitY = c.FailY - c.Waits
		if sent+failed+waits > 0 {
			c.Text = f.T("%s: %d sent, %d waiting, %d failed", f.Day(d), sent, waits, failed)
			said = append(said, c.Text)
			g.Columns = append(g.Columns, c)
		}
		if i%7 == 0 && i < graphDays {
			g.Days = append(g.Days, label{i * graphWide, f.Day(d)})
		}
	}
	g.Words = strings.Join(said, "; ")
	return g
}
