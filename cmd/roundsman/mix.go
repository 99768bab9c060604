package main

import (
	"fmt"
	"io"
	"math"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// mixCmd holds the coolant sums.
type mixCmd struct {
	Protect mixProtectCmd `cmd:"" help:"What a mixture stands."`
	Need    mixNeedCmd    `cmd:"" help:"How strong a mixture must be for a temperature."`
	Adjust  mixAdjustCmd  `cmd:"" help:"What to drain and add to get from one strength to another."`
	Buy     mixBuyCmd     `cmd:"" help:"What to buy after a drain, in whole containers."`
	Rounds  mixRoundsCmd  `cmd:"" help:"How much old coolant each drain-and-fill round leaves."`
	Change  mixChangeCmd  `cmd:"" help:"The way from one coolant chemistry to another."`
}

func (mixCmd) Help() string {
	return `Coolant sums for the bench. Strengths are percent by volume, as on the label: concentrate counts as 100, premix mostly as 50, water as 0. Volumes may bear a unit: L (when there is none), ml, qt, gal, pt, oz (US). Temperatures may bear C (when there is none) or F. What no table answers is refused.

Example:
  roundsman mix protect --glycol ethylene --percent 50
  roundsman mix need --glycol propylene --stands -20F
  roundsman mix adjust --glycol ethylene --system 10 --now 30 --want 50 --fill 100 --drain 4
  roundsman mix buy --glycol ethylene --system 6qt --drained 4qt --want 50 --product 50 --container 1gal`
}

// benched is a result with the cautions that belong beside it.
type benched[T any] struct {
	Result   T                `json:"result"`
	Cautions []models.Caution `json:"cautions"`
}

// show prints a result as JSON, or as text with the cautions in short below.
func show[T any](c *call, asJSON bool, result T, cautions []models.Caution, text func(w io.Writer)) error {
	if asJSON {
		return printJSON(c.out, benched[T]{result, cautions})
	}
	text(c.out)
	fmt.Fprintln(c.out)
	for _, k := range cautions {
		fmt.Fprintf(c.out, "! %s\n", k.Short.EN)
	}
	return nil
}

// coolantCautions go with every sum: somebody is about to open the system.
func coolantCautions() []models.Caution {
	return models.CautionsOn(models.TopicCooling, models.TopicFan, models.TopicAny)
}

type mixProtectCmd struct {
	glycolFlag
	jsonFlag
	Percent float64 `required:"" help:"Percent of glycol." placeholder:"N"`
	Basis   string  `help:"How the percent is counted: volume or mass." default:"volume"`
}

func (mixProtectCmd) Help() string {
	return `Says at what temperature a mixture freezes and, where a source gives it, boils.

Example:
  roundsman mix protect --glycol ethylene --percent 50`
}

func (cmd mixProtectCmd) Run(c *call) error {
	basis, err := cooling.ParseBasis(cmd.Basis)
	if err != nil {
		return err
	}
	p, err := cooling.Protect(cooling.Strength{Glycol: cmd.Glycol.Glycol, Percent: cmd.Percent, Basis: basis})
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, p, coolantCautions(), func(w io.Writer) { printProtection(w, p) })
}

func printProtection(w io.Writer, p cooling.Protection) {
	s := p.Strength
	fmt.Fprintf(w, "%.4g %% %s glycol by %s freezes at %s", s.Percent, s.Glycol, s.Basis, temperature(p.FreezeC))
	if p.Other != nil {
		fmt.Fprintf(w, "; that is %.3g %% by %s", p.Other.Percent, p.Other.Basis)
	}
	fmt.Fprintln(w, ".")
	if p.BoilC != nil {
		fmt.Fprintf(w, "It boils at %.0f °F (%.0f °C) or above at sea level, without the cap's pressure.\n", cooling.ToFahrenheit(*p.BoilC), *p.BoilC)
	} else {
		fmt.Fprintf(w, "Boiling: %s.\n", p.BoilWhy)
	}
	for _, n := range p.Notes {
		fmt.Fprintf(w, "- %s\n", n)
	}
	fmt.Fprintf(w, "Source: %s.\n", p.Source)
	if p.BoilC != nil {
		fmt.Fprintf(w, "        %s.\n", cooling.BoilSource)
	}
}

type mixNeedCmd struct {
	glycolFlag
	jsonFlag
	Stands degrees `required:"" help:"Lowest temperature it must stand, such as -30C or -22F." placeholder:"TEMP"`
	Basis  string  `help:"How to count the percent: volume or mass." default:"volume"`
}

func (mixNeedCmd) Help() string {
	return `Says how strong a mixture must be so that it does not freeze at a temperature.

Example:
  roundsman mix need --glycol propylene --stands -20F`
}

func (cmd mixNeedCmd) Run(c *call) error {
	basis, err := cooling.ParseBasis(cmd.Basis)
	if err != nil {
		return err
	}
	s, err := cooling.StrengthFor(cmd.Glycol.Glycol, cmd.Stands.F, basis)
	if err != nil {
		return err
	}
	p, err := cooling.Protect(s)
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, p, coolantCautions(), func(w io.Writer) {
		fmt.Fprintf(w, "For %s: at least %.1f %% by %s.\n", temperature(cmd.Stands.F), math.Ceil(s.Percent*10-1e-9)/10, s.Basis)
		printProtection(w, p)
	})
}

type mixAdjustCmd struct {
	glycolFlag
	jsonFlag
	System  volume   `required:"" help:"What the whole system holds, such as 6qt or 5.7L." placeholder:"VOL"`
	Low     volume   `help:"How much is missing now." placeholder:"VOL"`
	Now     *float64 `help:"Percent in it now." xor:"now" placeholder:"N"`
	Freezes degrees  `help:"Instead of --now: the freeze point that a tester shows." xor:"now" placeholder:"TEMP"`
	Tester  *glycol  `help:"The glycol that the tester's scale is made for (default: that of --glycol)." placeholder:"KIND"`
	Want    *float64 `help:"Percent wanted." xor:"want" placeholder:"N"`
	Stands  degrees  `help:"Instead of --want: the lowest temperature it must stand." xor:"want" placeholder:"TEMP"`
	Fill    float64  `help:"Percent of what is poured in: concentrate 100 (default), premix 50, water 0." default:"100" placeholder:"N"`
	Drain   volume   `help:"What one drain gets out (default: everything)." placeholder:"VOL"`
}

func (mixAdjustCmd) Help() string {
	return `Says what to drain and what to add, drain by drain where one does not suffice. A tester gives the freeze point: name the glycol of its scale.

Example:
  roundsman mix adjust --glycol ethylene --system 10L --now 30 --want 50 --fill 100 --drain 4L
  roundsman mix adjust --glycol ethylene --system 6qt --freezes -10F --stands -34F`
}

func (cmd mixAdjustCmd) Run(c *call) error {
	a := cooling.Adjustment{SystemL: float64(cmd.System), LowL: float64(cmd.Low), DrainMaxL: float64(cmd.Drain), Fill: cmd.Glycol.byVolume(cmd.Fill)}
	switch {
	case cmd.Now != nil:
		a.Now = cmd.Glycol.byVolume(*cmd.Now)
	case cmd.Freezes.Known:
		scale := cmd.Glycol
		if cmd.Tester != nil {
			scale = *cmd.Tester
		}
		s, err := cooling.FromTester(cmd.Glycol.Glycol, scale.Glycol, cmd.Freezes.F)
		if err != nil {
			return err
		}
		a.Now = s
	default:
		return models.Errorf(models.CodeInvalid, "add --now PERCENT, or --freezes TEMP from a tester", "what is in it now is not given")
	}
	switch {
	case cmd.Want != nil:
		a.Want = *cmd.Want
	case cmd.Stands.Known:
		s, err := cooling.StrengthFor(cmd.Glycol.Glycol, cmd.Stands.F, cooling.ByVolume)
		if err != nil {
			return err
		}
		a.Want = s.Percent
	default:
		return models.Errorf(models.CodeInvalid, "add --want PERCENT, or --stands TEMP", "what is wanted is not given")
	}
	got, err := cooling.Adjust(a)
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, got, coolantCautions(), func(w io.Writer) {
		if len(got.Steps) == 0 {
			fmt.Fprintf(w, "It is %.4g %% already: nothing to do.\n", a.Want)
			return
		}
		fmt.Fprintf(w, "From %.3g %% to %.3g %% with a fill of %.4g %%:\n", a.Now.Percent, a.Want, a.Fill.Percent)
		for i, s := range got.Steps {
			fmt.Fprintf(w, "%d. ", i+1)
			if s.DrainL > 0 {
				fmt.Fprintf(w, "drain %s, ", volume(s.DrainL))
			}
			fmt.Fprintf(w, "add %s", volume(s.FillL))
			if s.WaterL > 0.005 {
				fmt.Fprintf(w, " and distilled water %s", volume(s.WaterL))
			}
			fmt.Fprintf(w, "; run it warm to mix, let it go cold: %.1f %%\n", s.Percent)
		}
		for _, n := range got.Notes {
			fmt.Fprintf(w, "- %s\n", n)
		}
	})
}

type mixBuyCmd struct {
	glycolFlag
	jsonFlag
	System    volume   `required:"" help:"What the whole system holds, such as 6qt or 5.7L." placeholder:"VOL"`
	Drained   volume   `required:"" help:"What came out and goes in again." placeholder:"VOL"`
	Old       *float64 `help:"Percent of what stayed in (default: as wanted)." placeholder:"N"`
	Want      float64  `help:"Percent wanted (default: 50)." default:"50" placeholder:"N"`
	Product   float64  `required:"" help:"Percent in the container: concentrate 100, premix 50." placeholder:"N"`
	Container volume   `help:"What one container holds (default: 1gal)." default:"1gal" placeholder:"VOL"`
	Spare     volume   `help:"To keep for topping up." placeholder:"VOL"`
}

func (mixBuyCmd) Help() string {
	return `Says how many containers to buy for what came out, how much water goes with it, and what is left over.

Example:
  roundsman mix buy --glycol ethylene --system 6qt --drained 4qt --want 50 --product 50 --container 1gal`
}

func (cmd mixBuyCmd) Run(c *call) error {
	got, err := cooling.Buy(cooling.Purchase{SystemL: float64(cmd.System), DrainedL: float64(cmd.Drained), Old: cmd.Old, Want: cmd.Want,
		Product: cmd.Glycol.byVolume(cmd.Product), ContainerL: float64(cmd.Container), SpareL: float64(cmd.Spare)})
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, got, coolantCautions(), func(w io.Writer) {
		fmt.Fprintf(w, "Buy %s of %.4g %%, %s each.\n", plural(got.Containers, "container", "containers"), cmd.Product, cmd.Container)
		fmt.Fprintf(w, "Fill %s at %.3g %%: %s from the container", volume(got.FillL), got.FillPercent, volume(got.ProductL))
		if got.WaterL > 0.005 {
			fmt.Fprintf(w, " and %s of distilled water", volume(got.WaterL))
		}
		fmt.Fprintf(w, "; %s is left over.\n", volume(got.LeftOverL))
	})
}

type mixRoundsCmd struct {
	jsonFlag
	System volume  `required:"" help:"What the whole system holds, such as 6qt or 5.7L." placeholder:"VOL"`
	Drain  volume  `required:"" help:"What one drain gets out." placeholder:"VOL"`
	Left   float64 `help:"Percent of the old coolant that may stay (default: 5)." default:"5" placeholder:"N"`
}

// mixRounds is the result of mix rounds.
type mixRounds struct {
	Rounds int       `json:"rounds"`
	Left   []float64 `json:"left"` // fraction of the old coolant after each
}

func (mixRoundsCmd) Help() string {
	return `Says how often to drain and fill, as each drain leaves some of the old coolant in the block, and what is left after each round.

Example:
  roundsman mix rounds --system 5qt --drain 3qt
  roundsman mix rounds --system 5qt --drain 3qt --left 2`
}

func (cmd mixRoundsCmd) Run(c *call) error {
	n, err := cooling.RoundsTo(float64(cmd.System), float64(cmd.Drain), cmd.Left/100)
	if err != nil {
		return err
	}
	left, err := cooling.Dilute(float64(cmd.System), float64(cmd.Drain), n)
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, mixRounds{n, left}, coolantCautions(), func(w io.Writer) {
		fmt.Fprintf(w, "%s of %s out of %s.\n", plural(n, "round", "rounds"), cmd.Drain, cmd.System)
		printLeft(w, left)
	})
}

func printLeft(w io.Writer, left []float64) {
	for i, f := range left {
		fmt.Fprintf(w, "after round %d: %.1f %% of the old coolant is left\n", i+1, 100*f)
	}
}

type mixChangeCmd struct {
	jsonFlag
	System volume  `required:"" help:"What the whole system holds, such as 6qt or 5.7L." placeholder:"VOL"`
	Drain  volume  `required:"" help:"What one drain gets out." placeholder:"VOL"`
	From   string  `required:"" help:"Old chemistry, as on its label." placeholder:"NAME"`
	To     string  `required:"" help:"New chemistry, as on its label." placeholder:"NAME"`
	Old    glycol  `required:"" help:"Old base fluid: ethylene (eg) or propylene (pg)." placeholder:"KIND"`
	New    glycol  `required:"" help:"New base fluid." placeholder:"KIND"`
	Want   float64 `help:"Percent wanted at the end (default: 50)." default:"50" placeholder:"N"`
	Left   float64 `help:"Percent of the old coolant that may stay (default: 5)." default:"5" placeholder:"N"`
}

func (mixChangeCmd) Help() string {
	return `Says how to get from one coolant chemistry to another without mixing them: by rounds with the new coolant, or by a flush with water and a last stronger fill.

Example:
  roundsman mix change --system 5qt --drain 3qt --from IAT --to OAT --old ethylene --new ethylene`
}

func (cmd mixChangeCmd) Run(c *call) error {
	got, err := cooling.ChangeChemistry(cooling.Change{SystemL: float64(cmd.System), DrainL: float64(cmd.Drain), From: cmd.From, To: cmd.To,
		Old: cmd.Old.Glycol, New: cmd.New.Glycol, Want: cmd.Want, LeftFrac: cmd.Left / 100})
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, got, coolantCautions(), func(w io.Writer) {
		if got.Rounds > 0 {
			fmt.Fprintf(w, "From %s to %s: %s of %s.\n", cmd.From, cmd.To, plural(got.Rounds, "drain", "drains"), cmd.Drain)
			printLeft(w, got.Left)
			fmt.Fprintf(w, "Each round with the new coolant at %.4g %%: %s of it.\n", cmd.Want, volume(got.FreshL))
		}
		if got.Water != nil {
			fmt.Fprintf(w, "Or flush with distilled water, %s, and fill last %s at %.3g %%.\n",
				volume(got.Water.WaterL), volume(got.Water.LastL), got.Water.LastPercent)
		}
		for _, line := range got.Warnings {
			fmt.Fprintf(w, "- %s\n", line)
		}
	})
}
