package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

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

// volume is a volume with its unit as people write it, in liters.
type volume float64

// volumeUnits are liters in each unit that a volume may bear.
var volumeUnits = []struct {
	unit   string
	liters float64
}{{"ml", 0.001}, {"gal", cooling.LitersPerGallon}, {"qt", cooling.LitersPerQuart}, {"pt", cooling.LitersPerPint},
	{"oz", cooling.LitersPerOunce}, {"l", 1}}

// UnmarshalText reads "4", "4 L", "6qt", "1.5gal".
func (v *volume) UnmarshalText(b []byte) error {
	text := strings.ToLower(strings.TrimSpace(string(b)))
	each := 1.0
	for _, u := range volumeUnits {
		if rest, ok := strings.CutSuffix(text, u.unit); ok {
			text, each = strings.TrimSpace(rest), u.liters
			break
		}
	}
	n, err := models.ParseNumber(text)
	if err != nil || !n.Known {
		return fmt.Errorf("%q is not a volume: write a number and a unit, such as 4L, 6qt or 1.5gal", b)
	}
	*v = volume(n.F * each)
	return nil
}

// String gives liters, and quarts beside them.
func (v volume) String() string {
	return fmt.Sprintf("%.2f L (%.2f qt)", float64(v), float64(v)/cooling.LitersPerQuart)
}

// degrees is a temperature with its unit as people write it, in °C.
type degrees struct{ models.Celsius }

// Decode takes the flag's value, which may begin with a minus: kong alone
// would take "--stands -30" for two flags.
func (d *degrees) Decode(ctx *kong.DecodeContext) error {
	if ctx.Scan.Peek().IsEOL() {
		return fmt.Errorf("a temperature is missing, such as -34C or -30F")
	}
	return d.parse(fmt.Sprint(ctx.Scan.Pop().Value))
}

// parse reads "-34", "-34C", "-30F".
func (d *degrees) parse(given string) error {
	text := strings.ToUpper(strings.TrimSpace(given))
	text = strings.ReplaceAll(strings.ReplaceAll(text, "°", ""), "−", "-") // as copied from a manual
	body, fahrenheit := strings.CutSuffix(text, "F")
	if !fahrenheit {
		body = strings.TrimSuffix(body, "C")
	}
	n, err := strconv.ParseFloat(strings.TrimSpace(body), 64)
	if err != nil || strings.Trim(strings.TrimSpace(body), "0123456789.-+") != "" || n < -500 || n > 1000 {
		return fmt.Errorf("%q is not a temperature: write a number and C or F, such as -34C or -30F", given)
	}
	if fahrenheit {
		n = cooling.ToCelsius(n)
	}
	d.Celsius = models.Degrees(n)
	return nil
}

// glycol reads itself from a flag.
type glycol struct{ cooling.Glycol }

// UnmarshalText reads ethylene, eg, propylene or pg.
func (g *glycol) UnmarshalText(b []byte) (err error) {
	g.Glycol, err = cooling.ParseGlycol(string(b))
	return err
}

// byVolume makes a strength.
func (g glycol) byVolume(percent float64) cooling.Strength {
	return cooling.Strength{Glycol: g.Glycol, Percent: percent, Basis: cooling.ByVolume}
}

// glycolFlag is the --glycol of the sums.
type glycolFlag struct {
	Glycol glycol `required:"" help:"Base fluid: ethylene (eg) or propylene (pg); never mixed." placeholder:"KIND"`
}

// jsonFlag is the --json of the bench.
type jsonFlag struct {
	JSON bool `name:"json" help:"Print the result as JSON."`
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
	fmt.Fprintf(w, "%.4g %% %s glycol by %s freezes at %.1f °C (%.0f °F)", s.Percent, s.Glycol, s.Basis, p.FreezeC, p.FreezeF)
	if p.Other != nil {
		fmt.Fprintf(w, "; that is %.3g %% by %s", p.Other.Percent, p.Other.Basis)
	}
	fmt.Fprintln(w, ".")
	if p.BoilC != nil {
		fmt.Fprintf(w, "It boils at %.0f °C (%.0f °F) or above at sea level, without the cap's pressure.\n", *p.BoilC, cooling.ToFahrenheit(*p.BoilC))
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
		fmt.Fprintf(w, "For %.1f °C: at least %.1f %% by %s.\n", cmd.Stands.F, math.Ceil(s.Percent*10-1e-9)/10, s.Basis)
		printProtection(w, p)
	})
}

type mixAdjustCmd struct {
	glycolFlag
	jsonFlag
	System  volume   `required:"" help:"What the whole system holds." placeholder:"VOL"`
	Low     volume   `help:"How much is missing now." placeholder:"VOL"`
	Now     *float64 `help:"Percent in it now." xor:"now" placeholder:"N"`
	Freezes degrees  `help:"Instead of --now: the freeze point that a tester shows." xor:"now" placeholder:"TEMP"`
	Tester  *glycol  `help:"The glycol that the tester's scale is made for (default: that of --glycol)." placeholder:"KIND"`
	Want    *float64 `help:"Percent wanted." xor:"want" placeholder:"N"`
	Stands  degrees  `help:"Instead of --want: the lowest temperature it must stand." xor:"want" placeholder:"TEMP"`
	Fill    float64  `help:"Percent of what is poured in: concentrate 100, premix 50, water 0." default:"100" placeholder:"N"`
	Drain   volume   `help:"What one drain gets out (default: everything)." placeholder:"VOL"`
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
	})
}

type mixBuyCmd struct {
	glycolFlag
	jsonFlag
	System    volume   `required:"" help:"What the whole system holds." placeholder:"VOL"`
	Drained   volume   `required:"" help:"What came out and goes in again." placeholder:"VOL"`
	Old       *float64 `help:"Percent of what stayed in (default: as wanted)." placeholder:"N"`
	Want      float64  `help:"Percent wanted." default:"50" placeholder:"N"`
	Product   float64  `required:"" help:"Percent in the container: concentrate 100, premix 50." placeholder:"N"`
	Container volume   `help:"What one container holds." default:"1gal" placeholder:"VOL"`
	Spare     volume   `help:"To keep for topping up." placeholder:"VOL"`
}

func (cmd mixBuyCmd) Run(c *call) error {
	got, err := cooling.Buy(cooling.Purchase{SystemL: float64(cmd.System), DrainedL: float64(cmd.Drained), Old: cmd.Old, Want: cmd.Want,
		Product: cmd.Glycol.byVolume(cmd.Product), ContainerL: float64(cmd.Container), SpareL: float64(cmd.Spare)})
	if err != nil {
		return err
	}
	return show(c, cmd.JSON, got, coolantCautions(), func(w io.Writer) {
		fmt.Fprintf(w, "Buy %s of %.4g %% (%s each).\n", plural(got.Containers, "container", "containers"), cmd.Product, cmd.Container)
		fmt.Fprintf(w, "Fill %s at %.3g %%: %s from the container", volume(got.FillL), got.FillPercent, volume(got.ProductL))
		if got.WaterL > 0.005 {
			fmt.Fprintf(w, " and %s of distilled water", volume(got.WaterL))
		}
		fmt.Fprintf(w, "; %s is left over.\n", volume(got.LeftOverL))
	})
}

type mixRoundsCmd struct {
	jsonFlag
	System volume  `required:"" help:"What the whole system holds." placeholder:"VOL"`
	Drain  volume  `required:"" help:"What one drain gets out." placeholder:"VOL"`
	Left   float64 `help:"Percent of the old coolant that may stay." default:"5" placeholder:"N"`
}

// mixRounds is the result of mix rounds.
type mixRounds struct {
	Rounds int       `json:"rounds"`
	Left   []float64 `json:"left"` // fraction of the old coolant after each
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
	System volume  `required:"" help:"What the whole system holds." placeholder:"VOL"`
	Drain  volume  `required:"" help:"What one drain gets out." placeholder:"VOL"`
	From   string  `required:"" help:"Old chemistry, as on its label." placeholder:"NAME"`
	To     string  `required:"" help:"New chemistry, as on its label." placeholder:"NAME"`
	Old    glycol  `required:"" help:"Old base fluid: ethylene (eg) or propylene (pg)." placeholder:"KIND"`
	New    glycol  `required:"" help:"New base fluid." placeholder:"KIND"`
	Want   float64 `help:"Percent wanted at the end." default:"50" placeholder:"N"`
	Left   float64 `help:"Percent of the old coolant that may stay." default:"5" placeholder:"N"`
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
