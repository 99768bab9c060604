package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// sensorCmd reads a coolant sensor by its own table.
type sensorCmd struct {
	jsonFlag
	Point  []string `help:"A row of the sensor's table, TEMP=OHM, from the manual; two at least, three fit better." placeholder:"TEMP=OHM"`
	Ohm    *float64 `help:"Resistance measured at the unplugged sensor." xor:"ask" placeholder:"N"`
	Temp   degrees  `help:"Temperature for which to give the resistance." xor:"ask" placeholder:"TEMP"`
	Volts  *float64 `help:"Signal voltage, with --supply and --pull-up." xor:"ask" placeholder:"N"`
	Supply float64  `help:"Supply of the sensor circuit in volts." default:"5" placeholder:"N"`
	PullUp float64  `name:"pull-up" help:"Pull-up resistor in ohms, from the wiring diagram." placeholder:"N"`
	Frame  string   `help:"Answer to OBD service 01 PID 05, such as \"41 05 7B\"." xor:"ask" placeholder:"HEX"`
}

func (sensorCmd) Help() string {
	return `Turns a coolant sensor's resistance, signal voltage or OBD answer into a temperature, or a temperature into the resistance to expect, and recognizes an open or shorted circuit. The curve comes from rows of the sensor's table: a beta curve through two, Steinhart-Hart through more.

Example:
  roundsman sensor --point 20=2500 --point 80=320 --ohm 1200
  roundsman sensor --point 20=2500 --point 80=320 --point 100=190 --volts 3.1 --pull-up 1000
  roundsman sensor --frame "41 05 7B"`
}

// sensorJSON is an answer for a script.
type sensorJSON struct {
	cooling.Reading
	Ohm models.Number `json:"ohm"`
}

func (cmd sensorCmd) Run(c *call) error {
	got, err := cmd.answer()
	if err != nil {
		return err
	}
	if cmd.JSON {
		return printJSON(c.out, got)
	}
	printSensor(c.out, got)
	return nil
}

func (cmd sensorCmd) answer() (out sensorJSON, err error) {
	if cmd.Frame != "" {
		out.Reading, err = cooling.ParseFrame(cmd.Frame)
		return out, err
	}
	curve, err := cmd.curve()
	if err != nil {
		return out, err
	}
	switch {
	case cmd.Ohm != nil:
		out.Reading, out.Ohm = cooling.ReadOhm(curve, *cmd.Ohm), models.Num(*cmd.Ohm)
	case cmd.Volts != nil:
		d := cooling.Divider{SupplyV: cmd.Supply, PullUpOhm: cmd.PullUp}
		ohm, err := d.Ohm(*cmd.Volts)
		if err != nil {
			return out, err
		}
		if !math.IsInf(ohm, 0) {
			out.Ohm = models.Num(ohm)
		}
		if out.Reading, err = cooling.ReadVolts(curve, d, *cmd.Volts); err != nil {
			return out, err
		}
	case cmd.Temp.Known:
		ohm, reading, err := curve.AtTemp(cmd.Temp.F)
		if err != nil {
			return out, err
		}
		out.Reading, out.Ohm = reading, models.Num(ohm)
	default:
		return out, models.Errorf(models.CodeInvalid, "add --ohm, --volts, --temp or --frame", "nothing is asked")
	}
	return out, nil
}

// curve fits the sensor's curve to the rows given.
func (cmd sensorCmd) curve() (cooling.Fitted, error) {
	var points []cooling.Point
	for _, text := range cmd.Point {
		temp, ohm, _ := strings.Cut(text, "=")
		var d degrees
		n, err := models.ParseNumber(strings.TrimSpace(ohm))
		if d.parse(temp) != nil || err != nil || !n.Known {
			return cooling.Fitted{}, models.Errorf(models.CodeInvalid, "write the temperature, = and ohms, such as 20=2500", "--point %q is not a row of a table", text)
		}
		points = append(points, cooling.Point{TempC: d.F, Ohm: n.F})
	}
	if len(points) == 0 {
		return cooling.Fitted{}, models.Errorf(models.CodeInvalid, "add two rows or more of the sensor's table, such as --point 20=2500 --point 80=320",
			"the sensor's curve is not known")
	}
	return cooling.FitCurve(points)
}

func printSensor(w io.Writer, got sensorJSON) {
	if got.TempC != nil {
		fmt.Fprint(w, temperature(*got.TempC))
	} else {
		fmt.Fprintf(w, "%s circuit", got.State)
	}
	if got.Ohm.Known {
		fmt.Fprintf(w, ", %.4g ohm", got.Ohm.F)
	}
	if got.TempC != nil {
		fmt.Fprintf(w, ": %s, %s.\n", got.State, got.Why)
	} else {
		fmt.Fprintf(w, ": %s.\n", got.Why)
	}
}
