package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

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

// String gives quarts, and liters beside them.
func (v volume) String() string {
	return fmt.Sprintf("%.2f qt (%.2f L)", float64(v)/cooling.LitersPerQuart, float64(v))
}

// temperature writes degrees Fahrenheit, and Celsius beside them.
func temperature(celsius float64) string {
	return fmt.Sprintf("%.0f °F (%.1f °C)", cooling.ToFahrenheit(celsius), celsius)
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
