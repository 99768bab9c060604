package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"reflect"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

// Exit codes.
const (
	exitDone    = 0
	exitFailed  = 1
	exitInput   = 2 // the call or its input was wrong; nothing changed
	exitPartial = 3 // done, but some of the input was refused
)

// host is what the operating system gives a command.
type host struct {
	args      []string
	env       []string
	in        io.Reader
	out, errs io.Writer
	clock     models.Clock
	columns   int // of the terminal behind out; 0: ask it
}

// commands is the command line.
type commands struct {
	Config string `help:"Settings file (default: roundsman.toml here, else the built-in defaults)." placeholder:"FILE"`
	DB     string `name:"db" help:"Database file (default: from the settings, else roundsman.db here)." placeholder:"FILE"`

	Version kong.VersionFlag `help:"Print version and commit."`

	Demo     demoCmd     `cmd:"" help:"Build a small invented fleet, hold a round and show what comes of it."`
	Serve    serveCmd    `cmd:"" help:"Run the service: rounds, messages and pages."`
	Round    roundCmd    `cmd:"" help:"Hold one round now."`
	Withdraw withdrawCmd `cmd:"" help:"Take back what was recorded of a machine and never was."`
	Import   importCmd   `cmd:"" help:"Load a folder of CSV files, whole or nothing."`
	Export   exportCmd   `cmd:"" help:"Write everything into a folder of CSV files."`
	Due      dueCmd      `cmd:"" help:"Show the board: what falls due, the most urgent first."`
	Forecast forecastCmd `cmd:"" help:"Forecast cases as of past days, from what was known then."`
	Owner    ownerCmd    `cmd:"" help:"Owners: write down, correct, list."`
	Contact  contactCmd  `cmd:"" help:"The people at owners: write down, correct, list."`
	Machine  machineCmd  `cmd:"" help:"Machines: write down, correct, list."`
	Reading  readingCmd  `cmd:"" help:"Record one meter reading."`
	Standing standingCmd `cmd:"" help:"Say where a machine stands: in use, laid up, sold, gone, scrapped."`
	Swap     swapCmd     `cmd:"" help:"Record that a meter was replaced."`
	Baseline baselineCmd `cmd:"" help:"Say how a machine's items stood when you took it on."`
	Release  releaseCmd  `cmd:"" help:"Let owners be told of machines, or hold that back."`
	Job      jobCmd      `cmd:"" help:"Jobs: open, work, hand over."`
	Check    checkCmd    `cmd:"" help:"Follow-up checks at the bench and by the owner."`
	Sheet    sheetCmd    `cmd:"" help:"Tell everything about one machine before a job, on one page."`
	Outbox   outboxCmd   `cmd:"" help:"Show messages: what went, what waits and why, what failed."`
	Reply    replyCmd    `cmd:"" help:"Take in an answer to a message; list those that wait for a person."`
	SendTest sendTestCmd `cmd:"" help:"Send one test message and say what the peer answered."`
	User     userCmd     `cmd:"" help:"Add, list and remove who may log in to the pages."`
	Settings settingsCmd `cmd:"" help:"Check or show the settings."`
	Rules    rulesCmd    `cmd:"" help:"Check, load or show service rules."`
	Mix      mixCmd      `cmd:"" help:"Coolant sums: protection, what to drain, add and buy."`
	Warmup   warmupCmd   `cmd:"" help:"Judge a log of the coolant sensor while an engine warms up."`
	Sensor   sensorCmd   `cmd:"" help:"Read a coolant sensor: ohms, volts or an OBD answer to degrees and back."`
	Plan     planCmd     `cmd:"" help:"Plan downtime: which machine stops when, and why."`
}

// call is one run of a command: what the host gives and what all commands
// share.
type call struct {
	host
	ctx  context.Context
	opts *commands

	rehearsed bool // there is no shop: the command plays in one that is thrown away
}

// errPartial ends a command with exit code 3; everything has been said.
var errPartial = errors.New("some of the input was refused")

// run parses a command line, runs the command and gives the exit code.
func run(ctx context.Context, h host) (code int) {
	var cli commands
	exited := -1
	parser, err := kong.New(&cli,
		kong.Name("roundsman"),
		kong.Description("Keeps a repair shop's rounds: tracks customers' machines by miles and hours, works out what service falls due, tells their owners in time.\n\nExit codes: 0 done; 1 something failed; 2 the call or its input was wrong, nothing changed; 3 done, but some of the input was refused."),
		kong.Vars{"version": version()},
		kong.Help(help),
		kong.Writers(h.out, h.errs),
		kong.Exit(func(c int) { exited = c; panic(exitPanic{}) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.ShortUsageOnError(),
	)
	if err != nil {
		fmt.Fprintln(h.errs, "roundsman:", err)
		return exitFailed
	}
	defer func() { // kong leaves through Exit after --help
		if p := recover(); p != nil {
			if _, ok := p.(exitPanic); !ok {
				panic(p)
			}
			code = exited
		}
	}()
	parsed, err := parser.Parse(h.args)
	if err != nil {
		fmt.Fprintf(h.errs, "roundsman: %v; `roundsman --help` lists the commands, and each has its own --help\n", err)
		return exitInput
	}
	if err := emptyFlag(parsed); err != nil {
		return exitCode(h.errs, err)
	}
	err = parsed.Run(&call{host: h, ctx: ctx, opts: &cli})
	if err != nil && ctx.Err() != nil && models.CodeOf(err) == models.CodeInternal {
		err = ctx.Err() // the database tells in many ways that it was interrupted
	}
	return exitCode(h.errs, err)
}

// version says which program this is: its version and the commit it was built
// from, as far as the build tells.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "roundsman, built without a version"
	}
	commit, changed := "not known", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", changed since"
		}
	}
	return fmt.Sprintf("roundsman %s, commit %s%s, %s", info.Main.Version, commit, changed, info.GoVersion)
}

// help prints a command's help; that of a command which does something without
// another word shows the flags of what it does.
func help(o kong.HelpOptions, ctx *kong.Context) error {
	if n := ctx.Selected(); n != nil && n.DefaultCmd != nil {
		n.Flags = append(n.Flags, n.DefaultCmd.Flags...)
	}
	return kong.DefaultHelpPrinter(o, ctx)
}

// emptyFlag refuses a flag that is given without a value: a script whose
// variable is not set must not mean "now" or "all". Flags with the tag
// clears:"" take one, since it empties what is recorded.
func emptyFlag(ctx *kong.Context) error {
	for _, p := range ctx.Path {
		if p.Flag == nil || p.Flag.Tag.Has("clears") {
			continue
		}
		v := reflect.Indirect(p.Flag.Target)
		if v.Kind() == reflect.String && v.String() == "" {
			return models.Errorf(models.CodeInvalid, "write a value, or leave it out", "--%s is empty", p.Flag.Name)
		}
	}
	return nil
}

// exitPanic unwinds out of kong when it wants to exit.
type exitPanic struct{}

// exitCode tells an error and gives the exit code that it means.
func exitCode(errs io.Writer, err error) int {
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errPartial):
		return exitPartial
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errs, "roundsman: stopped")
		return exitFailed
	}
	var faults models.Faults
	if errors.As(err, &faults) {
		for _, f := range faults {
			fmt.Fprintln(errs, f.String())
		}
		return exitInput
	}
	fmt.Fprintln(errs, "roundsman:", strings.ReplaceAll(err.Error(), "\n", "; "))
	switch models.CodeOf(err) {
	case models.CodeInvalid, models.CodeNotFound, models.CodeUnclear, models.CodeConflict, models.CodeDoubtful:
		return exitInput
	}
	return exitFailed
}

// settings loads the settings in force.
func (c *call) settings() (*config.Loaded, error) {
	l, err := config.Load(c.opts.Config, c.env, os.ReadFile)
	if err != nil {
		return nil, err
	}
	if c.opts.DB != "" {
		l.Settings.Database.Path = c.opts.DB
	}
	return l, nil
}

// with opens everything but the network on the shop that is there, runs fn and
// closes it. Where there is none it is refused: a command in a wrong folder
// must not show an empty shop.
func (c *call) with(fn func(a *app.App) error) error { return c.on(fn, true) }

// withMachine is with for what concerns one machine, by its id, its tag, or
// owner/tag.
func (c *call) withMachine(name string, fn func(a *app.App, m models.Machine) error) error {
	return c.with(func(a *app.App) error {
		m, err := a.Store.FindMachine(c.ctx, name)
		if err != nil {
			return err
		}
		return fn(a, m)
	})
}

// begin is with for the commands that may be a shop's first.
func (c *call) begin(fn func(a *app.App) error) error { return c.on(fn, false) }

// newFlag is for commands that write and may be a shop's first, but are mostly
// called where there is one: in a wrong folder they must not begin a second.
type newFlag struct {
	New bool `help:"Begin a new shop where there is none."`
}

func (f newFlag) open(c *call, fn func(a *app.App) error) error {
	if f.New {
		return c.first(fn)
	}
	return c.with(fn)
}

// first is begin for a command that writes all or nothing: a shop that it began
// and left without a word is thrown away, so that a wrong folder stays one.
func (c *call) first(fn func(a *app.App) error) error {
	l, err := c.settings()
	if err != nil {
		return err
	}
	db := l.Settings.Database.Path
	if _, err := os.Stat(db); !errors.Is(err, fs.ErrNotExist) {
		return c.begin(fn)
	}
	before, _ := filepath.Glob(db + "*") // a pattern that is none matches nothing
	silent := false
	err = c.begin(func(a *app.App) error {
		was, err := a.Store.LastEntry(c.ctx)
		if err != nil {
			return err
		}
		failed := fn(a)
		is, err := a.Store.LastEntry(c.ctx)
		silent = failed != nil && err == nil && is == was
		return failed
	})
	if !silent {
		return err
	}
	made, _ := filepath.Glob(db + "*")
	for _, path := range made {
		if !slices.Contains(before, path) {
			err = errors.Join(err, os.Remove(path))
		}
	}
	return err
}

// rehearse is with for a command that leaves nothing behind: where there is no
// shop it plays in one that is thrown away.
func (c *call) rehearse(fn func(a *app.App) error) error {
	l, err := c.settings()
	if err != nil {
		return err
	}
	if _, err := os.Stat(l.Settings.Database.Path); !errors.Is(err, fs.ErrNotExist) {
		return c.with(fn)
	}
	dir, err := os.MkdirTemp("", "roundsman-")
	if err != nil {
		return fmt.Errorf("making a place to rehearse in: %w", err)
	}
	c.opts.DB, c.rehearsed = filepath.Join(dir, "rehearsal.db"), true
	return errors.Join(c.on(fn, false), os.RemoveAll(dir))
}

func (c *call) on(fn func(a *app.App) error, mustExist bool) error {
	l, err := c.settings()
	if err != nil {
		return err
	}
	a, err := app.New(c.ctx, l.Settings, app.Options{Clock: c.clock, Log: c.logger(l.Settings), Described: l.Describe(), MustExist: mustExist})
	if err != nil {
		return err
	}
	return errors.Join(fn(a), a.Close())
}

// logger logs to standard error as the settings say.
func (c *call) logger(s config.Settings) *slog.Logger {
	var level slog.Level
	if err := level.UnmarshalText([]byte(s.Log.Level)); err != nil {
		level = slog.LevelInfo
	}
	opts := &slog.HandlerOptions{Level: level}
	if s.Log.Format == "json" {
		return slog.New(slog.NewJSONHandler(c.errs, opts))
	}
	return slog.New(slog.NewTextHandler(c.errs, opts))
}

// quiet is a logger for commands that say themselves what they did: warnings
// and errors only.
func (c *call) quiet() *slog.Logger {
	return slog.New(slog.NewTextHandler(c.errs, &slog.HandlerOptions{Level: slog.LevelError}))
}

// atFlag is the --at of commands in which time matters.
type atFlag struct {
	At string `help:"Play the command at another time: a date (YYYY-MM-DD, at noon in the shop) or an RFC 3339 time." placeholder:"TIME"`
}

// sureFlag is for commands with --at that write.
type sureFlag struct {
	Sure bool `help:"An --at of more than a day ahead is meant."`
}

// aheadOf refuses a time far ahead of the clock: what is written for it cannot
// be told apart from a slip later.
func (f sureFlag) aheadOf(clock models.Clock, at time.Time) error {
	if now := clock.Now(); at.After(now.Add(models.MayLieAhead)) && !f.Sure {
		return models.Errorf(models.CodeDoubtful, "look at the date, play it on a copy, or add --sure if it is meant; nothing was done",
			"--at %s lies more than a day ahead of the clock, which shows %s", at.Format(time.RFC3339), now.Format(time.RFC3339))
	}
	return nil
}

// time gives the time at which the command plays: now, or that of --at.
func (f atFlag) time(clock models.Clock, zone *time.Location) (time.Time, error) {
	if f.At == "" {
		return clock.Now(), nil
	}
	if d, err := models.ParseDate(f.At); err == nil {
		return d.In(zone).Add(12 * time.Hour), nil
	}
	t, err := time.Parse(time.RFC3339, f.At)
	if err != nil || t.Year() < 1 || t.Year() > 9999 {
		return time.Time{}, models.Errorf(models.CodeInvalid, "write a date such as 2026-03-31, or a time such as 2026-03-31T07:00:00-06:00",
			"--at %q is not a time", f.At)
	}
	return t, nil
}
