package cooling

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// Sample is one row of a warm-up log.
type Sample struct {
	AtS   float64 `json:"at_s"` // seconds from wherever the log counts
	TempC float64 `json:"temp_c"`
}

// Log is a warm-up log, its samples in the order of time.
type Log struct {
	Samples []Sample
	Missing int      // rows without a temperature
	Ignored []string // columns that were left alone, as the header names them
}

// Bounds of a log.
const (
	maxLogBytes = 64 << 20
	maxFaults   = 50
	minLogC     = -80 // colder and hotter than any sensor circuit shows
	maxLogC     = 300
	maxLogS     = 1e7
)

// Fields by which faults name the two columns that are read.
const (
	columnSeconds = "seconds"
	columnC       = "temp_c"
	columnF       = "temp_f"
)

// ParseLog reads a log with a header row: seconds and the coolant temperature,
// in either order and among others, which are left alone and named. Fields are
// parted by commas, semicolons or tabs; with the latter two a comma may be the
// decimal sign. An empty temperature is a missing sample. Seconds never fall
// from row to row. What is wrong comes back as [models.Faults], each with its
// line, field and remedy; file is the name that they bear.
func ParseLog(file string, data []byte) (Log, error) {
	p := logParser{file: file}
	if len(data) > maxLogBytes {
		p.fault(0, "", "", "is too large", fmt.Sprintf("keep a log under %d MB", maxLogBytes>>20))
		return Log{}, p.faults.Err()
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	r.Comma = partedBy(data)
	p.decimalComma = r.Comma != ','
	for row := 0; len(p.faults) < maxFaults; row++ {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			p.broken(err)
			break
		}
		line, _ := r.FieldPos(0)
		if row == 0 {
			if !p.header(line, fields) {
				return Log{}, p.faults.Err()
			}
			continue
		}
		p.row(line, fields)
	}
	if len(p.faults) >= maxFaults {
		p.fault(0, "", "", "has more faults than are listed", "mend these first")
	}
	if len(p.faults) == 0 && len(p.log.Samples) == 0 {
		p.fault(0, "", "", "holds no sample", "put the header seconds,temp_c on top and one row for each reading below")
	}
	if err := p.faults.Err(); err != nil {
		return Log{}, err
	}
	return p.log, nil
}

// logParser gathers samples and faults.
type logParser struct {
	file         string
	faults       models.Faults
	log          Log
	columns      logColumns
	decimalComma bool
	last         float64 // seconds of the row before
	any          bool
}

func (p *logParser) fault(line int, field, value, problem, remedy string) {
	p.faults = append(p.faults, models.Fault{File: p.file, Line: line, Field: field, Value: value, Problem: problem, Remedy: remedy})
}

// broken reports what the CSV reader could not read.
func (p *logParser) broken(err error) {
	line, problem := 0, "is not readable CSV"
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		line, problem = pe.Line, "is not readable CSV: "+pe.Err.Error()
	}
	p.fault(line, "", "", problem, "write plain rows such as 12.5,84")
}

// header finds the columns.
func (p *logParser) header(line int, fields []string) bool {
	c, faults := columnsOf(fields)
	for _, f := range faults {
		p.fault(line, f.Field, f.Value, f.Problem, f.Remedy)
	}
	p.columns = c
	p.log.Ignored = c.ignored
	return len(faults) == 0
}

// row reads one sample.
func (p *logParser) row(line int, fields []string) {
	if len(fields) == 1 && strings.TrimSpace(fields[0]) == "" {
		return // a line of blanks
	}
	if len(fields) != p.columns.count {
		p.fault(line, "", "", fmt.Sprintf("has %d fields where the header has %d", len(fields), p.columns.count),
			"write one value for each column; with commas between columns a decimal point, no decimal comma")
		return
	}
	c := p.columns
	at, ok := p.number(line, columnSeconds, fields[c.seconds], 0, maxLogS/c.unitS)
	if !ok {
		return
	}
	at *= c.unitS
	if p.any && at < p.last {
		p.fault(line, columnSeconds, strings.TrimSpace(fields[c.seconds]), "comes before the row above",
			"put the rows in the order of time")
		return
	}
	p.last, p.any = at, true
	text := strings.TrimSpace(fields[c.temp])
	if text == "" {
		p.log.Missing++
		return
	}
	low, high, name := float64(minLogC), float64(maxLogC), columnC
	if c.fahrenheit {
		low, high, name = ToFahrenheit(low), ToFahrenheit(high), columnF
	}
	temp, ok := p.number(line, name, text, low, high)
	if !ok {
		return
	}
	if c.fahrenheit {
		temp = ToCelsius(temp)
	}
	p.log.Samples = append(p.log.Samples, Sample{AtS: at, TempC: temp})
}

// number reads a plain decimal number within bounds.
func (p *logParser) number(line int, field, text string, low, high float64) (float64, bool) {
	text = strings.TrimSpace(text)
	if text == "" {
		p.fault(line, field, "", "is empty", "every row needs its second; only a temperature may be missing")
		return 0, false
	}
	plain, figures := strings.Trim(text, "0123456789.-") == "" && len(text) <= 40, text
	if p.decimalComma && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		figures = strings.Replace(text, ",", ".", 1)
		plain = strings.Trim(figures, "0123456789.-") == "" && len(text) <= 40
	}
	v, err := strconv.ParseFloat(figures, 64)
	if !plain || err != nil || math.IsNaN(v) {
		p.fault(line, field, text, "is not a number", "write a plain number with a decimal point, such as 84.5")
		return 0, false
	}
	if v < low || v > high {
		p.fault(line, field, text, fmt.Sprintf("is outside %g to %g", low, high), "check the logger's units")
		return 0, false
	}
	return v, true
}

// tidy gives the samples that are figures, in the order of time and each
// instant once, rounded to a thousandth of a degree so that a log in
// Fahrenheit and the same in Celsius meet every limit alike.
func tidy(samples []Sample) []Sample {
	in := make([]Sample, 0, len(samples))
	for _, s := range samples {
		if math.IsNaN(s.TempC) || math.IsInf(s.TempC, 0) || math.IsNaN(s.AtS) || math.IsInf(s.AtS, 0) {
			continue
		}
		in = append(in, Sample{AtS: s.AtS, TempC: math.Round(s.TempC*1000) / 1000})
	}
	slices.SortStableFunc(in, func(a, b Sample) int { return cmp.Compare(a.AtS, b.AtS) })
	if coarseStamps(in) {
		spread(in)
		return in
	}
	out := in[:0]
	for i := 0; i < len(in); {
		sum, j := 0.0, i
		for ; j < len(in) && in[j].AtS == in[i].AtS; j++ {
			sum += in[j].TempC
		}
		out = append(out, Sample{AtS: in[i].AtS, TempC: math.Round(sum/float64(j-i)*1000) / 1000})
		i = j
	}
	return out
}

// coarseStamps says whether a logger wrote most instants more than once: a
// fast one that counts whole seconds.
func coarseStamps(s []Sample) bool {
	instants := 0
	for i := range s {
		if i == 0 || s[i].AtS != s[i-1].AtS {
			instants++
		}
	}
	return instants > 1 && len(s) >= 2*instants
}

// spread sets samples of one stamp evenly over the time to the next, in the
// order of the rows, so that a drop of a tenth of a second stays one.
func spread(s []Sample) {
	usual := (s[len(s)-1].AtS - s[0].AtS) / float64(len(s)-1)
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j].AtS == s[i].AtS {
			j++
		}
		step := usual
		if j < len(s) {
			step = (s[j].AtS - s[i].AtS) / float64(j-i)
		}
		from := s[i].AtS
		for k := i; k < j; k++ {
			s[k].AtS = from + float64(k-i)*min(step, 1/float64(j-i))
		}
		i = j
	}
}
