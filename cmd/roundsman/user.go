package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"golang.org/x/term"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/models"
)

type userCmd struct {
	Add    userAddCmd    `cmd:"" help:"Add somebody who logs in to the pages."`
	Pass   userPassCmd   `cmd:"" help:"Make a one-time log-in, or set a password."`
	List   userListCmd   `cmd:"" help:"List who may log in."`
	Remove userRemoveCmd `cmd:"" help:"Remove somebody and end all sessions."`
}

type userAddCmd struct {
	Name     string `arg:"" help:"Name to log in with."`
	Role     string `help:"desk (everything), technician (machines, jobs, checks) or manager (one owner's machines)." enum:"desk,technician,manager" default:"desk"`
	Owner    string `help:"The owner whose manager it is: an id." placeholder:"OWNER"`
	Language string `help:"Language of the pages (default: the shop's)." enum:"en,es," default:""`
	newFlag
}

func (userAddCmd) Help() string {
	return `Adds a user and prints a one-time log-in: an address that lets that user in once and lets a password be set.

Example:
  roundsman user add Pat
  roundsman user add Lee --role technician
  roundsman user add Ada --role manager --owner O1 --language es`
}

func (cmd userAddCmd) Run(c *call) error {
	return cmd.open(c, func(a *app.App) error {
		u, err := a.Store.AddUser(c.ctx, models.User{Name: strings.TrimSpace(cmd.Name), Role: models.UserRole(cmd.Role), Owner: cmd.Owner,
			Language: cmd.Language, CreatedAt: models.InstantOf(c.clock.Now())})
		if err != nil {
			return err
		}
		if err := traceUser(c, a, "added a user", u.Name); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "%s may log in as %s.\n", u.Name, u.Role)
		return printLogin(c, a, u)
	})
}

// printLogin makes and prints a one-time log-in.
func printLogin(c *call, a *app.App, u models.User) error {
	link, err := a.OneTimeLogin(c.ctx, u, a.BaseURL())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "One-time log-in, for three days (keep it as a password):\n  %s\n", link)
	return err
}

func traceUser(c *call, a *app.App, what, about string) error {
	return a.Store.AddTrace(c.ctx, models.AuditEntry{At: models.InstantOf(c.clock.Now()), Who: userName(), From: "command line", What: what, About: about})
}

type userPassCmd struct {
	Name string `arg:"" help:"Name of the user."`
	Set  bool   `help:"Set a password instead: it is asked for, or read as a line of standard input."`
}

func (userPassCmd) Help() string {
	return `Prints a one-time log-in for a user who has lost the password, or sets a new one.

Example:
  roundsman user pass Pat
  roundsman user pass Pat --set`
}

func (cmd userPassCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		u, ok, err := a.Store.UserNamed(c.ctx, cmd.Name)
		if err != nil {
			return err
		}
		if !ok {
			return models.Errorf(models.CodeNotFound, "`roundsman user list` lists them", "there is no user %q", cmd.Name)
		}
		if !cmd.Set {
			if err := traceUser(c, a, "made a one-time log-in", u.Name); err != nil {
				return err
			}
			return printLogin(c, a, u)
		}
		password, err := askPassword(c)
		if err != nil {
			return err
		}
		if err := web.CheckPassword(password); err != nil {
			return err
		}
		hash, err := web.HashPassword(password, 0)
		if err != nil {
			return err
		}
		if err := a.Store.SetPassword(c.ctx, u.Name, hash); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "The password of %s is set.\n", u.Name)
		return traceUser(c, a, "set a password", u.Name)
	})
}

// askPassword reads a password without showing it, or a line where nobody is
// at a terminal.
func askPassword(c *call) (string, error) {
	if f, ok := c.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprint(c.errs, "New password: ")
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(c.errs)
		if err != nil {
			return "", fmt.Errorf("reading the password: %w", err)
		}
		return string(b), nil
	}
	b, err := io.ReadAll(io.LimitReader(c.in, 1000))
	if err != nil && !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("reading the password: %w", err)
	}
	line, _, _ := strings.Cut(string(b), "\n")
	return strings.TrimSuffix(line, "\r"), nil
}

type userListCmd struct {
	JSON bool `name:"json" help:"Print the users as JSON."`
}

func (userListCmd) Help() string {
	return `Lists who may log in to the pages.

Example:
  roundsman user list`
}

// userJSON is a user for a script.
type userJSON struct {
	Name     string          `json:"name"`
	Role     models.UserRole `json:"role"`
	Owner    string          `json:"owner,omitempty"`
	Password bool            `json:"password"` // one is set
}

func (cmd userListCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		users, err := a.Store.Users(c.ctx)
		if err != nil {
			return err
		}
		rows := make([]userJSON, len(users))
		for i, u := range users {
			rows[i] = userJSON{u.Name, u.Role, u.Owner, u.Hash != ""}
		}
		if cmd.JSON {
			return printJSON(c.out, rows)
		}
		if len(rows) == 0 {
			fmt.Fprintln(c.out, "Nobody may log in yet: `roundsman user add NAME` adds the first.")
			return nil
		}
		w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(w, "NAME\tROLE\tOWNER\tPASSWORD")
		for _, r := range rows {
			set := "none yet"
			if r.Password {
				set = "set"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", r.Name, r.Role, r.Owner, set)
		}
		return w.Flush()
	})
}

type userRemoveCmd struct {
	Name string `arg:"" help:"Name of the user."`
}

func (userRemoveCmd) Help() string {
	return `Removes a user: whoever is logged in under that name is out at once. What the user did stays in the trail.

Example:
  roundsman user remove Pat`
}

func (cmd userRemoveCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		if err := a.Store.RemoveUser(c.ctx, cmd.Name, models.InstantOf(c.clock.Now())); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "%s is out.\n", cmd.Name)
		return traceUser(c, a, "removed a user", cmd.Name)
	})
}
