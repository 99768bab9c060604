package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
	"example.org/roundsman/scheduler"
)

type demoCmd struct {
	Dir    string `help:"Folder to build the demo in; a demo that is there already is rebuilt." default:"roundsman-demo"`
	Once   bool   `help:"End after the printing."`
	Listen string `help:"Address on which the pages are served." default:"127.0.0.1:8080" placeholder:"ADDR"`
}

func (demoCmd) Help() string {
	return `Builds an invented shop's fleet in a folder, holds a round at a fixed day, writes the mails and texts into its folder spool, and prints the board and where to look. Nothing leaves the computer. Then it serves the pages, with a one-time log-in for each of three people, until it is told to stop.

Example:
  roundsman demo
  roundsman demo --listen 127.0.0.1:9000
  roundsman demo --once
  roundsman demo --once --dir /tmp/demo`
}

// demoMark is the file that tells a folder of the demo from any other, so that
// a rebuild never clears a folder that holds something else.
const demoMark = "demo.txt"

// demoFile is the demo's database.
const demoFile = "demo.db"

func (cmd demoCmd) Run(c *call) error {
	if err := clearDemo(cmd.Dir); err != nil {
		return err
	}
	s := demoSettings(cmd.Dir)
	at := demo.At()
	a, err := app.New(c.ctx, s, app.Options{Clock: models.ClockFunc(func() time.Time { return at }), Log: c.quiet()})
	if err != nil {
		return err
	}
	err = playDemo(c, a, cmd.Dir, at)
	if err == nil && !cmd.Once {
		err = serveDemo(c, a, cmd.Listen, at.Add(3*time.Hour))
	}
	return errors.Join(err, a.Close())
}

// demoUsers are the three people whom the pages are for.
var demoUsers = []string{"Dana at the service desk", "Tomas, the technician", "Rosa, who manages one owner's fleet"}

// serveDemo serves the pages from a moment of the demo's own time on.
func serveDemo(c *call, a *app.App, listen string, at time.Time) error {
	begun := c.clock.Now()
	a.Clock = models.ClockFunc(func() time.Time { return at.Add(c.clock.Now().Sub(begun)) })
	a.Settings.Web.Listen = listen
	machines, err := a.Store.Machines(c.ctx)
	if err != nil || len(machines) == 0 {
		return errors.Join(err, errors.New("the demo has no machines"))
	}
	if err := a.LoadDemoMorning(c.ctx, at); err != nil {
		return err
	}
	users := []models.User{{Name: "Dana", Role: models.UserDesk}, {Name: "Tomas", Role: models.UserTechnician},
		{Name: "Rosa", Role: models.UserManager, Owner: machines[0].Owner}}
	for i := range users {
		users[i].CreatedAt = models.InstantOf(at)
		if users[i], err = a.Store.AddUser(c.ctx, users[i]); err != nil {
			return err
		}
	}
	var failed error
	ctx, stop := context.WithCancel(c.ctx)
	defer stop()
	a.Listening = func(base string) {
		fmt.Fprintf(c.out, "\nThe pages are open at %s. One-time log-ins:\n", base)
		for i, u := range users {
			link, err := a.OneTimeLogin(ctx, u, base)
			if err != nil {
				failed = err
				stop()
				return
			}
			fmt.Fprintf(c.out, "  %-38s %s\n", demoUsers[i], link)
		}
		fmt.Fprintln(c.out, "Stop it with Ctrl-C.")
	}
	return errors.Join(a.Serve(ctx), failed)
}

// playDemo fills the demo, holds its round, sends the messages and shows all.
func playDemo(c *call, a *app.App, dir string, at time.Time) error {
	if err := a.LoadDemo(c.ctx); err != nil {
		return err
	}
	r, err := a.Runner.RunByHand(c.ctx, at, true)
	if err != nil {
		return err
	}
	sent, err := deliver(c.ctx, a, at.Add(3*time.Hour)) // past everybody's quiet hours
	if err != nil {
		return err
	}
	view, err := scheduler.Board(c.ctx, a.Store, a.Runner.Notify, at)
	if err != nil {
		return err
	}
	width, ok := c.width()
	if !ok {
		width = 110
	}
	b := board{today: r.Today, view: view}
	for _, l := range view.Lines {
		if l.Forecast.Stage == models.StageClear {
			b.hidden++
		} else {
			b.lines = append(b.lines, l)
		}
	}
	b.leaveOutFar()
	fmt.Fprintf(c.out, "%s, Monday %s: the board after the morning round\n\n", demo.ShopName, r.Today.Format("January 2, 2006"))
	if err := b.draw(c.out, width); err != nil {
		return err
	}
	return demoNext(c.out, dir, r, sent)
}

// demoNext says what came of the round and what to try.
func demoNext(w io.Writer, dir string, r models.Round, sent int) error {
	_, err := fmt.Fprintf(w, `
The round looked at %s and told %s in %s; %s withheld.
Sent: %s, as files in %s

Try next, in the folder of the demo, where its shop's settings lie:
  cd %s
`, plural(r.Looked, "machine", "machines"), plural(r.Notices, "notice", "notices"), plural(r.Messages, "message", "messages"),
		plural(r.Withheld, "notice", "notices"), plural(sent, "message", "messages"), filepath.Join(dir, "spool"), dir)
	if err != nil {
		return err
	}
	at := " --at " + r.Today.String()
	for _, next := range []struct{ args, shows string }{
		{"due" + at, "the board again"},
		{"sheet U-6" + at, "a machine before a job"},
		{"plan" + at, "what stops when, and why"},
		{"outbox", "what went, and to whom"},
		{"outbox --withheld", "who was not told, and why"},
		{"export books", "all of it as CSV files"},
	} {
		fmt.Fprintf(w, "  roundsman %-26s  %s\n", next.args, next.shows)
	}
	_, err = fmt.Fprintln(w, "\nThe fleet, its owners and their machines are invented.")
	return err
}

// deliver sends everything that is due at a time.
func deliver(ctx context.Context, a *app.App, at time.Time) (sent int, err error) {
	courier, release, err := a.Courier(models.ClockFunc(func() time.Time { return at }))
	if err != nil {
		return 0, err
	}
	tally, err := courier.Drain(ctx)
	return tally.Sent, errors.Join(err, release())
}

// demoSettings are the defaults with the demo's shop and folder.
func demoSettings(dir string) config.Settings {
	s := config.Defaults()
	s.Shop.Name, s.Shop.Phone, s.Shop.MailFrom = demo.ShopName, demo.ShopPhone, demo.ShopMail
	if z, err := config.ParseZone(demo.TimeZone); err == nil {
		s.Shop.TimeZone = z
	}
	s.Database.Path = filepath.Join(dir, demoFile)
	s.Mail.Spool = filepath.Join(dir, "spool")
	s.SMS.Spool = s.Mail.Spool
	return s
}

// clearDemo readies the demo's folder: a new one, an empty one, or one with an
// earlier demo, of which the database and the spool are taken away. Any other
// folder is refused.
func clearDemo(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		return &models.Error{Code: models.CodeInvalid, Message: "cannot build the demo in " + dir, Err: err, Remedy: "name another folder with --dir"}
	case len(entries) > 0:
		if _, err := os.Stat(filepath.Join(dir, demoMark)); err != nil {
			return models.Errorf(models.CodeInvalid, "name an empty or new folder with --dir", "%s holds something that is not a demo", dir)
		}
		old, err := filepath.Glob(filepath.Join(dir, demoFile+"*"))
		if err != nil {
			return fmt.Errorf("clearing the demo: %w", err)
		}
		for _, path := range append(old, filepath.Join(dir, "spool")) {
			if err := os.RemoveAll(path); err != nil {
				return fmt.Errorf("clearing the demo: %w", err)
			}
		}
	}
	if err := private.Folder(dir); err != nil {
		return fmt.Errorf("making the demo's folder: %w", err)
	}
	const mark = "An invented fleet to try Roundsman on. `roundsman demo` rebuilds demo.db, roundsman.toml and spool in this folder.\n"
	if err := os.WriteFile(filepath.Join(dir, demoMark), []byte(mark), private.FileMode); err != nil {
		return fmt.Errorf("making the demo's folder: %w", err)
	}
	return writeDemoSettings(dir)
}
