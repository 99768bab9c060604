package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// warmupCmd judges a warm-up log.
type warmupCmd struct {
	jsonFlag
	Log   string  `arg:"" help:"CSV with the columns seconds and temp_c or temp_f, others beside them are left alone; - reads standard input." placeholder:"LOG.csv"`
	Opens degrees `help:"Temperature at which the thermostat begins to open, from the manual; without it that part is not judged." placeholder:"TEMP"`
	FanOn degrees `help:"Temperature at which the fan comes on, from the manual; without it that part is not judged." placeholder:"TEMP"`
}

func (warmupCmd) Help() string {
	return `Reads a log of the coolant sensor while an engine warms up, from any logger or typed in by hand, and says what it resembles: healthy, cold_jump, hot_jump, step_jump, noisy, open, short, stuck_open, hot, fan_absent or unsure. It says what showed and when, the trouble codes that it resembles, what else could cause it and what to measure next. It does not say that a part is bad.

Example:
  roundsman warmup log.csv --opens 82C --fan-on 96C
  roundsman warmup log.csv --opens 180F --json`
}

// maxLogFile bounds what is read of a log, in bytes.
const maxLogFile = 64<<20 + 1

func (cmd warmupCmd) Run(c *call) error {
	data, err := cmd.read(c.in)
	if err != nil {
		return err
	}
	log, err := cooling.ParseLog(cmd.Log, data)
	if err != nil {
		return err
	}
	f, err := cooling.Judge(log.Samples, cooling.Options{OpensC: cmd.Opens.Celsius, FanOnC: cmd.FanOn.Celsius})
	if err != nil {
		return err
	}
	cautions := models.CautionsOn(models.TopicCooling, models.TopicFan, models.TopicExhaust, models.TopicAny)
	if cmd.JSON {
		return printJSON(c.out, warmupJSON{f, log.Missing, append([]string{}, log.Ignored...), cautions})
	}
	cmd.print(c.out, f, log)
	fmt.Fprintln(c.out)
	for _, k := range cautions {
		fmt.Fprintf(c.out, "! %s\n", k.Short.EN)
	}
	return nil
}

// warmupJSON is a finding for a script.
type warmupJSON struct {
	cooling.Finding
	Missing  int              `json:"missing"` // rows without a temperature
	Ignored  []string         `json:"ignored"` // columns left alone
	Cautions []models.Caution `json:"cautions"`
}

// read gives the log's bytes.
func (cmd warmupCmd) read(in io.Reader) ([]byte, error) {
	if cmd.Log != "-" {
		f, err := os.Open(cmd.Log)
		if err != nil {
			return nil, models.Errorf(models.CodeInvalid, "give the path of a CSV file", "the log cannot be opened: %v", err)
		}
		defer f.Close() // read only: nothing to lose
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, maxLogFile))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", cmd.Log, err)
	}
	return data, nil
}

// verdictHeads say a verdict in a few words.
var verdictHeads = map[cooling.Verdict]string{
	cooling.Healthy:   "healthy: nothing that a warm-up shows points to a fault",
	cooling.ColdJump:  "cold_jump: an intermittent sensor circuit, not a cold engine",
	cooling.HotJump:   "hot_jump: a sensor circuit that shorts now and then, not a hot engine",
	cooling.StepJump:  "step_jump: the reading moves faster than metal and water can",
	cooling.Noisy:     "noisy: the reading wanders more than coolant can",
	cooling.Open:      "open: the sensor circuit reads its coldest end",
	cooling.Short:     "short: the sensor circuit reads its hottest end",
	cooling.StuckOpen: "stuck_open: it never reaches regulation",
	cooling.Hot:       "hot: it rises past the fan as if no coolant moved",
	cooling.FanAbsent: "fan_absent: it regulates, but the fan was not seen to bring it down",
	cooling.Unsure:    "unsure: the log does not show enough",
}

func (cmd warmupCmd) print(w io.Writer, f cooling.Finding, log cooling.Log) {
	fmt.Fprintln(w, verdictHeads[f.Verdict])
	if f.AtS.Known {
		fmt.Fprintf(w, "Showed at %.0f s.\n", f.AtS.F)
	}
	list := func(head string, lines []string) {
		if len(lines) == 0 {
			return
		}
		fmt.Fprintf(w, "\n%s\n", head)
		for _, l := range lines {
			fmt.Fprintf(w, "- %s\n", l)
		}
	}
	list("Evidence", f.Evidence)
	var also []string
	for _, v := range f.Also {
		also = append(also, verdictHeads[v])
	}
	list("It also shows", also)
	var codes []string
	for _, code := range f.Codes {
		name, _ := cooling.CodeName(code)
		codes = append(codes, strings.TrimSpace(code+" "+name))
	}
	list("Resembles", codes)
	list("What else could cause it; look here first", f.OtherCauses)
	list("Measure next", f.MeasureNext)
	list("Not judged", f.NotJudged)
	fmt.Fprintf(w, "\n%s from %.0f to %.0f s, every %.3g s", plural(f.Seen.Samples, "sample", "samples"), f.Seen.FromS, f.Seen.ToS, f.Seen.IntervalS)
	if log.Missing > 0 {
		fmt.Fprintf(w, " (%d without a temperature)", log.Missing)
	}
	fmt.Fprintf(w, "; %s to %s; fan seen %s.\n", temperature(f.Seen.LowestC), temperature(f.Seen.HighestC), plural(f.Seen.FanCycles, "time", "times"))
	if len(log.Ignored) > 0 {
		fmt.Fprintf(w, "Columns left alone: %s.\n", strings.Join(log.Ignored, ", "))
	}
}
