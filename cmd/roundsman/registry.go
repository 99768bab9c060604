package main

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

type ownerCmd struct {
	Add      ownerAddCmd      `cmd:"" help:"Write down an owner."`
	Change   ownerChangeCmd   `cmd:"" help:"Correct an owner."`
	Withdraw ownerWithdrawCmd `cmd:"" help:"Take back an owner that was written down by mistake, with its people."`
	List     ownerListCmd     `cmd:"" help:"List the owners."`
}

type contactCmd struct {
	Add      contactAddCmd      `cmd:"" help:"Write down a person at an owner."`
	Change   contactChangeCmd   `cmd:"" help:"Correct a person."`
	Stop     contactStopCmd     `cmd:"" help:"Record that a person wants no more messages, or lift that."`
	Withdraw contactWithdrawCmd `cmd:"" help:"Take back a person who was written down by mistake."`
	List     contactListCmd     `cmd:"" help:"List the people, and the owners without any."`
}

type machineCmd struct {
	Add      machineAddCmd      `cmd:"" help:"Write down a machine; with a new owner and a person in one go."`
	Change   machineChangeCmd   `cmd:"" help:"Correct a machine."`
	Withdraw machineWithdrawCmd `cmd:"" help:"Take back a machine that was written down by mistake."`
	List     machineListCmd     `cmd:"" help:"List the machines."`
}

// The flags below are the columns of the import folder's files, which say what
// may stand in them; a flag that is not given is not known, or stays as it is.

type ownerFlags struct {
	Type     *string `col:"type" help:"The shop's own word: ranch, resort, private ..." clears:"" placeholder:"WORD"`
	TimeZone *string `col:"time_zone" help:"IANA name (default: the shop's)." clears:"" placeholder:"ZONE"`
	Language *string `col:"language" help:"en or es (default: the shop's)." clears:"" placeholder:"LANG"`
}

type contactFlags struct {
	Role       *string `col:"role" help:"owner, manager, service or operator: notices go to service contacts, to the owner where there is none." placeholder:"ROLE"`
	Mobile     *string `col:"mobile" help:"Telephone number, as the shop's country writes it or with + and the country code." clears:"" placeholder:"NUMBER"`
	Mail       *string `col:"mail" help:"Mail address." clears:"" placeholder:"ADDRESS"`
	Prefers    *string `col:"prefers" help:"mail, sms or phone (is called, not written to)." clears:"" placeholder:"WAY"`
	Agrees     *string `col:"agrees" help:"Ways to which the person agrees today: mail, sms or both." placeholder:"WAY,..."`
	ConsentHow *string `col:"consent_how" help:"How that was said: in person, by phone, on a form ..." placeholder:"TEXT"`
}

type contactMoreFlags struct {
	QuietFrom *string `col:"quiet_from" help:"No messages from this time on (default: the shop's)." clears:"" placeholder:"HH:MM"`
	QuietTo   *string `col:"quiet_to" help:"... to this one." clears:"" placeholder:"HH:MM"`
	Rhythm    *string `col:"rhythm" help:"How often what can wait is told: weekly, monthly or a day of the week (default: as seldom as the machines allow)." clears:"" placeholder:"RHYTHM"`
	TimeZone  *string `col:"time_zone" help:"IANA name (default: the owner's)." clears:"" placeholder:"ZONE"`
	Language  *string `col:"language" help:"en or es (default: the owner's)." clears:"" placeholder:"LANG"`
}

type machineFlags struct {
	Tag           *string `col:"tag" help:"Unit number painted on its side." clears:"" placeholder:"TAG"`
	Kind          *string `col:"kind" help:"utv, atv, tractor, pump, generator ..." placeholder:"KIND"`
	Meters        *string `col:"meters" help:"miles, km, hours, both, both_km or none (default: those of which a reading is given; name them where none was read)." placeholder:"METERS"`
	Make          *string `col:"make" help:"Make." clears:"" placeholder:"NAME"`
	Model         *string `col:"model" help:"Model." clears:"" placeholder:"NAME"`
	Year          *string `col:"year" help:"Model year." clears:"" placeholder:"YEAR"`
	Serial        *string `col:"serial" help:"Serial number." clears:"" placeholder:"TEXT"`
	Cooling       *string `col:"cooling" help:"liquid or air." clears:"" placeholder:"WAY"`
	Fuel          *string `col:"fuel" help:"gas or diesel." clears:"" placeholder:"FUEL"`
	Duty          *string `col:"duty" help:"normal or severe." clears:"" placeholder:"DUTY"`
	Site          *string `col:"site" help:"Where it is kept." clears:"" placeholder:"SITE"`
	InService     *string `col:"in_service" help:"First day with this owner." clears:"" placeholder:"DATE"`
	MilesStart    *string `col:"miles_start" help:"What the odometer showed on that day; above 0: bought used." clears:"" placeholder:"N"`
	HoursStart    *string `col:"hours_start" help:"What the hour meter showed on that day." clears:"" placeholder:"N"`
	BooksSince    *string `col:"books_since" help:"First day from which your record of it is whole." placeholder:"DATE"`
	MilesMax      *string `col:"miles_max" help:"Highest value the odometer can show." clears:"" placeholder:"N"`
	CoolantLitres *string `col:"coolant_litres" help:"What the cooling system holds, in liters." clears:"" placeholder:"N"`
	LowestC       *string `col:"lowest_c" help:"Coldest that it must stand, in °C." clears:"" placeholder:"N"`
}

type todayFlags struct {
	Miles *string `col:"miles" help:"What the odometer shows today." placeholder:"N"`
	Hours *string `col:"hours" help:"What the hour meter shows today." placeholder:"N"`
}

// rightFlag is the answer to what is asked about.
type rightFlag struct {
	Sure bool `help:"What is asked about is right, however it looks."`
}

// cellsOf gives the flags that were given as cells of their columns; fixed
// holds columns and what stands in them, in turn.
func cellsOf(flags []any, fixed ...string) folder.Cells {
	cells := folder.Cells{}
	for _, f := range flags {
		v := reflect.ValueOf(f)
		for i := range v.NumField() {
			if text, ok := v.Field(i).Interface().(*string); ok && text != nil {
				cells[v.Type().Field(i).Tag.Get("col")] = *text
			}
		}
	}
	for i := 0; i < len(fixed); i += 2 {
		if fixed[i+1] != "" {
			cells[fixed[i]] = fixed[i+1]
		}
	}
	return cells
}

// take adds or changes what a command says, and tells it.
func (c *call) take(a *app.App, change bool, in scheduler.Intake, asJSON bool) error {
	do, verb := a.Registry().Add, "Wrote down"
	if change {
		do, verb = a.Registry().Change, "Changed"
	}
	got, err := do(c.ctx, scheduler.Act{At: c.clock.Now(), By: userName(), Means: "desk"}, in)
	var faults models.Faults
	if errors.As(err, &faults) && slices.ContainsFunc(faults, func(f models.Fault) bool { return f.Asks }) {
		fmt.Fprintln(c.errs, faults)
		return models.Errorf(models.CodeOf(err), "correct it, or say that it is right (--sure)", "nothing was recorded")
	}
	if err != nil {
		return err
	}
	for _, n := range got.Notes {
		fmt.Fprintln(c.errs, "note:", n)
	}
	said := map[string]folder.Cells{}
	var words []string
	if in.Owner != nil && !got.KnownOwner {
		words = append(words, fmt.Sprintf("owner %s (%s)", got.Owner.Name, got.Owner.ID))
	}
	if got.Owner.ID != "" {
		said["owner"] = folder.OwnerCells(got.Owner)
	}
	if got.Contact.ID != "" {
		words = append(words, fmt.Sprintf("contact %s (%s)", got.Contact.Name, got.Contact.ID))
		said["contact"] = folder.ContactCells(got.Contact)
	}
	if got.Machine.ID != "" {
		words = append(words, fmt.Sprintf("machine %s (%s) of %s", got.Machine.Label(), got.Machine.ID, got.Machine.Owner))
		said["machine"] = folder.MachineCells(got.Machine)
	}
	if got.Job != "" {
		words = append(words, "job "+got.Job)
		said["job"] = folder.Cells{"job": got.Job, "complaint": in.Complaint}
	}
	switch {
	case asJSON:
		return printJSON(c.out, said)
	case !got.Changed:
		fmt.Fprintln(c.out, "Nothing new.")
	default:
		fmt.Fprintf(c.out, "%s %s.\n", verb, strings.Join(words, ", "))
	}
	return nil
}

type ownerAddCmd struct {
	Name string `arg:"" help:"Name of the owner."`
	ID   string `help:"The shop's own id (default: made of the name)." placeholder:"ID"`
	ownerFlags
	newFlag
	JSON bool `name:"json" help:"Print what was written down as JSON."`
}

func (ownerAddCmd) Help() string {
	return `Writes down whom machines belong to. "machine add" takes an owner, a person and a machine in one go.

Example:
  roundsman owner add "Juniper Flat Ranch" --type ranch`
}

func (cmd ownerAddCmd) Run(c *call) error {
	return cmd.open(c, func(a *app.App) error {
		return c.take(a, false, scheduler.Intake{Owner: cellsOf([]any{cmd.ownerFlags}, "owner", cmd.ID, "name", cmd.Name)}, cmd.JSON)
	})
}

type ownerChangeCmd struct {
	ID   string `arg:"" help:"Id of the owner."`
	Name string `help:"Its name from now on." placeholder:"NAME"`
	ownerFlags
	JSON bool `name:"json" help:"Print the owner as JSON."`
}

func (ownerChangeCmd) Help() string {
	return `Corrects an owner. What is not named stays; an empty value clears.

Example:
  roundsman owner change juniper-flat-ranch --name "Juniper Flat" --language es`
}

func (cmd ownerChangeCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		return c.take(a, true, scheduler.Intake{Owner: cellsOf([]any{cmd.ownerFlags}, "owner", cmd.ID, "name", cmd.Name)}, cmd.JSON)
	})
}

type contactAddCmd struct {
	Owner string `arg:"" help:"Id or name of the owner."`
	Name  string `arg:"" help:"Name of the person."`
	ID    string `help:"The shop's own id (default: made of owner and name)." placeholder:"ID"`
	contactFlags
	contactMoreFlags
	rightFlag
	JSON bool `name:"json" help:"Print what was written down as JSON."`
}

func (contactAddCmd) Help() string {
	return `Writes down a person at an owner. Nobody is written to without having agreed: --agrees says to what, --consent-how how.

Example:
  roundsman contact add juniper-flat-ranch "Ada Reyes" --mobile "(970) 555-0110" --agrees sms --consent-how "in person"
  roundsman contact add juniper-flat-ranch "Bo Lund" --role manager --mobile "970 555 0111" --prefers phone`
}

func (cmd contactAddCmd) Run(c *call) error {
	if cmd.Role == nil {
		role := string(models.RoleOwner)
		cmd.Role = &role
	}
	return c.with(func(a *app.App) error {
		owner, err := a.Store.FindOwner(c.ctx, cmd.Owner)
		if err != nil {
			return err
		}
		return c.take(a, false, scheduler.Intake{Sure: cmd.Sure, Contact: cellsOf([]any{cmd.contactFlags, cmd.contactMoreFlags},
			"owner", owner.ID, "contact", cmd.ID, "name", cmd.Name)}, cmd.JSON)
	})
}

type contactChangeCmd struct {
	ID   string `arg:"" help:"Id of the person (contact list shows it)."`
	Name string `help:"The name from now on." placeholder:"NAME"`
	contactFlags
	contactMoreFlags
	rightFlag
	JSON bool `name:"json" help:"Print the person as JSON."`
}

func (contactChangeCmd) Help() string {
	return `Corrects a person. What is not named stays; an empty value clears. A stop that the person asked for stays in force; only a START from there, or ` + "`roundsman contact stop --lift`" + `, lifts it.

Example:
  roundsman contact change juniper-flat-ranch/ada-reyes --mobile "970 555 0112" --prefers phone`
}

func (cmd contactChangeCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		return c.take(a, true, scheduler.Intake{Sure: cmd.Sure, Contact: cellsOf([]any{cmd.contactFlags, cmd.contactMoreFlags}, "contact", cmd.ID, "name", cmd.Name)}, cmd.JSON)
	})
}

type contactStopCmd struct {
	ID   string   `arg:"" help:"Id of the person (contact list shows it)."`
	Way  []string `help:"mail, sms or both (default: every way over which messages go there)." enum:"mail,sms" placeholder:"WAY,..."`
	Why  string   `help:"What the person said, or how you know." placeholder:"TEXT"`
	Lift bool     `help:"Let messages go again: the person wants them, or the stop was recorded in error."`
	By   string   `help:"Who says so (default: the name of the log-in here)." placeholder:"NAME"`
	JSON bool     `name:"json" help:"Print the person as JSON."`
}

func (contactStopCmd) Help() string {
	return `Records that a person wants no more messages, as a STOP from there would: it holds at once for everybody with that number or address, and what waits for it is dropped. Lifting it needs a reason too, and gives no consent that was not there.

Example:
  roundsman contact stop juniper-flat-ranch/ada-reyes --way sms --why "said on the phone: no more texts"
  roundsman contact stop juniper-flat-ranch/ada-reyes --lift --why "was about another Ada"`
}

func (cmd contactStopCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		r := scheduler.Refusal{Contact: cmd.ID, Lift: cmd.Lift, Why: cmd.Why}
		for _, way := range cmd.Way {
			r.Ways = append(r.Ways, models.Channel(way))
		}
		who := whoFlags{By: cmd.By}.act(c)
		who.Means = "desk"
		now, err := a.Replier.Refuse(c.ctx, who, r)
		switch {
		case err != nil:
			return err
		case cmd.JSON:
			return printJSON(c.out, folder.ContactCells(now))
		case cmd.Lift:
			fmt.Fprintf(c.out, "Messages go to %s (%s) again, as far as it agreed to them.\n", now.Name, now.ID)
		default:
			fmt.Fprintf(c.out, "No more messages go to %s (%s) that way; what waited is dropped.\n", now.Name, now.ID)
		}
		return nil
	})
}

type machineAddCmd struct {
	Owner    string `help:"Id or name of a known owner." placeholder:"OWNER" xor:"owner"`
	NewOwner string `help:"Name of a new owner." placeholder:"NAME" xor:"owner"`
	Contact  string `help:"Name of a person there; the flags below say how to reach it." placeholder:"NAME"`
	contactFlags
	ID string `help:"The shop's own id (default: made of owner and tag)." placeholder:"ID"`
	machineFlags
	todayFlags
	newFlag
	Complaint string `help:"What is wrong with it, in its owner's own words: opens a job." placeholder:"TEXT"`
	rightFlag
	JSON bool `name:"json" help:"Print what was written down as JSON."`
}

func (machineAddCmd) Help() string {
	return `Writes down a machine, and with it a new owner, a person there and what the meters show: all of it or nothing.

Example:
  roundsman machine add --new-owner "Juniper Flat" --contact "Ada Reyes" --mobile "(970) 555-0110" --agrees sms --consent-how "in person" --tag R12 --kind utv --miles 1500 --hours 92
  roundsman machine add --owner juniper-flat --tag G1 --kind generator --hours 410 --complaint "runs hot after an hour"`
}

func (cmd machineAddCmd) Run(c *call) error {
	return cmd.open(c, func(a *app.App) error {
		in := scheduler.Intake{Machine: cellsOf([]any{cmd.machineFlags}, "machine", cmd.ID), Reading: cellsOf([]any{cmd.todayFlags}), Complaint: strings.TrimSpace(cmd.Complaint), Sure: cmd.Sure}
		switch {
		case cmd.NewOwner != "":
			in.Owner = folder.Cells{"name": cmd.NewOwner}
		case cmd.Owner != "":
			o, err := a.Store.FindOwner(c.ctx, cmd.Owner)
			if err != nil {
				return err
			}
			in.Owner = folder.Cells{"owner": o.ID}
		default:
			return models.Errorf(models.CodeInvalid, "add --owner with a known owner, or --new-owner with a name", "nobody says whose machine it is")
		}
		in.Contact = cellsOf([]any{cmd.contactFlags}, "name", cmd.Contact)
		switch {
		case len(in.Contact) == 0:
			in.Contact = nil
		case cmd.Contact == "":
			return models.Errorf(models.CodeInvalid, "add --contact with the person's name", "nobody says whose number or address it is")
		case in.Contact["role"] == "":
			in.Contact["role"] = string(models.RoleOwner)
		}
		return c.take(a, false, in, cmd.JSON)
	})
}

type machineChangeCmd struct {
	Machine string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	machineFlags
	rightFlag
	JSON bool `name:"json" help:"Print the machine as JSON."`
}

func (machineChangeCmd) Help() string {
	return `Corrects a machine. What is not named stays; an empty value clears.

Example:
  roundsman machine change R12 --tag R14 --duty severe
  roundsman machine change R12 --site ""`
}

func (cmd machineChangeCmd) Run(c *call) error {
	return c.withMachine(cmd.Machine, func(a *app.App, m models.Machine) error {
		return c.take(a, true, scheduler.Intake{Sure: cmd.Sure, Machine: cellsOf([]any{cmd.machineFlags}, "machine", m.ID)}, cmd.JSON)
	})
}
