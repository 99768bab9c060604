package cooling_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

func TestParseLog(t *testing.T) {
	want := []cooling.Sample{{AtS: 0, TempC: 20}, {AtS: 1.5, TempC: 21}, {AtS: 4, TempC: -40}}
	for name, text := range map[string]string{
		"plain":              "seconds,temp_c\n0,20\n1.5,21\n4,-40\n",
		"fahrenheit":         "seconds,temp_f\n0,68\n1.5,69.8\n4,-40\n",
		"turned about":       "temp_c,seconds\n20,0\n21,1.5\n-40,4\n",
		"others beside it":   "Row,Time (s),Coolant Temperature (°C),Intake Temp (°C)\n1,0,20,18\n2,1.5,21,18\n3,4,-40,18\n",
		"semicolons":         "seconds;temp_c\n0;20\n1,5;21,0\n4;-40\n",
		"tabs, milliseconds": "time ms\tect f\n0\t68\n1500\t69.8\n4000\t-40\n",
		"mark, CRLF, blanks": "\ufeffSeconds , Temp_C\r\n0, 20\r\n1.5 ,21.0\r\n\r\n 4,-40.00",
	} {
		got, err := cooling.ParseLog("log.csv", []byte(text))
		require.NoError(t, err, name)
		require.Len(t, got.Samples, 3, name)
		for i, s := range got.Samples {
			assert.Equal(t, want[i].AtS, s.AtS, name)
			assert.InDelta(t, want[i].TempC, s.TempC, 1e-9, name)
		}
		assert.Zero(t, got.Missing)
	}
	got, err := cooling.ParseLog("log.csv", []byte("seconds,temp_c\n0,20\n1,\n2,22\n"))
	require.NoError(t, err)
	assert.Equal(t, 1, got.Missing)
	assert.Len(t, got.Samples, 2)
}

// Every fault is told at once, with its line, field and remedy.
func TestParseLogFaults(t *testing.T) {
	for _, tc := range []struct{ text, want string }{
		{"", "log.csv: holds no sample; put the header seconds,temp_c on top and one row for each reading below"},
		{"seconds,temp_c\n", "log.csv: holds no sample; put the header seconds,temp_c on top and one row for each reading below"},
		{"row,temp_c\n0,1\n", "log.csv:1: seconds column is missing; the header is seconds,temp_c or seconds,temp_f"},
		{"seconds,time,coolant\n0,1,2\n", "log.csv:1: seconds \"time\" is a second column of time; keep one\n" +
			"log.csv:1: column \"coolant\" does not say whether it is in °C or °F; name it temp_c or temp_f"},
		{"seconds\n0\n", "log.csv:1: temp_c or temp_f column is missing; the header is seconds,temp_c or seconds,temp_f"},
		{"seconds,temp_c,temp_f\n0,1,2\n", "log.csv:1: column \"temp_f\" is a second temperature column; keep one, named temp_c or temp_f"},
		{"seconds,temp_c\n0,twenty\n-1,21\n2;22\n3,900\n,5\n5,1e2\n", strings.Join([]string{
			`log.csv:2: temp_c "twenty" is not a number; write a plain number with a decimal point, such as 84.5`,
			`log.csv:3: seconds "-1" is outside 0 to 1e+07; check the logger's units`,
			`log.csv:4: has 1 fields where the header has 2; write one value for each column; with commas between columns a decimal point, no decimal comma`,
			`log.csv:5: temp_c "900" is outside -80 to 300; check the logger's units`,
			`log.csv:6: seconds is empty; every row needs its second; only a temperature may be missing`,
			`log.csv:7: temp_c "1e2" is not a number; write a plain number with a decimal point, such as 84.5`,
		}, "\n")},
		{"seconds,temp_c\n5,20\n4.9,21\n", `log.csv:3: seconds "4.9" comes before the row above; put the rows in the order of time`},
		{"seconds,temp_f\n0,\"7\n", "log.csv:2: is not readable CSV: extraneous or missing \" in quoted-field; write plain rows such as 12.5,84"},
	} {
		_, err := cooling.ParseLog("log.csv", []byte(tc.text))
		assert.EqualError(t, err, tc.want)
		assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	}
	_, err := cooling.ParseLog("log.csv", []byte("seconds,temp_c\n"+strings.Repeat("x,y\n", 500)))
	var fs models.Faults
	require.ErrorAs(t, err, &fs)
	assert.Len(t, fs, 51, "a hopeless file does not fill the screen")
}

// A log that parses has rising seconds and plain temperatures, and can be
// judged without a panic; everything else is faults with a line of their own.
func FuzzParseLog(f *testing.F) {
	for _, s := range []string{"time;ect c;x\n0;20,5;\n1;21;7\n", "time ms\tcoolant f\n0\t68\n", "seconds,temp_c\n0,20\n1,21\n", "temp_f,seconds\n68,0\n,1\n", "seconds,temp_c\n0,\"1\n2\",3\n", "\ufeff\n\n,,,"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := cooling.ParseLog("log.csv", data)
		if err != nil {
			var fs models.Faults
			require.ErrorAs(t, err, &fs)
			for _, v := range fs {
				require.NotEmpty(t, v.Problem)
				require.NotEmpty(t, v.Remedy)
			}
			return
		}
		for i, s := range got.Samples {
			require.False(t, math.IsNaN(s.TempC) || s.TempC < -81 || s.TempC > 301)
			require.True(t, i == 0 || s.AtS >= got.Samples[i-1].AtS)
		}
		_, err = cooling.Judge(got.Samples, cooling.Options{OpensC: models.Degrees(82), FanOnC: models.Degrees(96)})
		require.NoError(t, err)
	})
}

// ramp makes a log from corners (second, °C), straight between them.
func ramp(every float64, corners ...cooling.Sample) []cooling.Sample {
	var out []cooling.Sample
	for at := corners[0].AtS; at <= corners[len(corners)-1].AtS; at += every {
		k := 1
		for k < len(corners)-1 && corners[k].AtS < at {
			k++
		}
		a, b := corners[k-1], corners[k]
		out = append(out, cooling.Sample{AtS: at, TempC: a.TempC + (b.TempC-a.TempC)*(at-a.AtS)/(b.AtS-a.AtS)})
	}
	return out
}

// onceCold sets one sample to -27 °C.
func onceCold(s []cooling.Sample, i int) []cooling.Sample {
	s[i].TempC = -27
	return s
}

// flicker drops every fourth sample from 400 s on by 15 °C.
func flicker(s []cooling.Sample) []cooling.Sample {
	for i := range s {
		if s[i].AtS >= 400 && i%4 == 0 {
			s[i].TempC -= 15
		}
	}
	return s
}

// Logs drawn by hand, as a technician would tell of them. Common practice,
// no source.
func TestJudgeByHand(t *testing.T) {
	manual := cooling.Options{OpensC: models.Degrees(82), FanOnC: models.Degrees(96)}
	warm := []cooling.Sample{{AtS: 0, TempC: 15}, {AtS: 400, TempC: 83}, {AtS: 700, TempC: 95}, {AtS: 730, TempC: 97}, {AtS: 800, TempC: 90},
		{AtS: 950, TempC: 97}, {AtS: 1020, TempC: 90}}
	dropout := ramp(1, warm...)
	for i := 600; i < 606; i++ {
		dropout[i].TempC = -27 // a warm engine that shows minus 27 and comes back
	}
	for _, tc := range []struct {
		name string
		log  []cooling.Sample
		o    cooling.Options
		want cooling.Verdict
		at   float64 // about; negative: none
		code string
	}{
		{"warms, regulates, fan cycles", ramp(1, warm...), manual, cooling.Healthy, 375, ""},
		{"minus 27 on a warm engine", dropout, manual, cooling.ColdJump, 600, "P0119"},
		{"typed in by hand, a reading a minute", ramp(60, warm...), manual, cooling.Healthy, 375, ""},
		{"minus 27 once, typed in by hand", onceCold(ramp(60, warm...), 10), manual, cooling.ColdJump, 600, "P0119"},
		{"many short dropouts", flicker(ramp(5, warm...)), manual, cooling.Noisy, 380, "P0119"},
		{"unplugged", ramp(1, cooling.Sample{AtS: 0, TempC: -40}, cooling.Sample{AtS: 120, TempC: -40}), manual, cooling.Open, 0, "P0118"},
		{"grounded", ramp(1, cooling.Sample{AtS: 0, TempC: 215}, cooling.Sample{AtS: 120, TempC: 215}), manual, cooling.Short, 0, "P0117"},
		{"levels off at 58", ramp(2, cooling.Sample{TempC: 10}, cooling.Sample{AtS: 300, TempC: 50}, cooling.Sample{AtS: 500, TempC: 57}, cooling.Sample{AtS: 1200, TempC: 58}),
			manual, cooling.StuckOpen, 470, "P0128"},
		{"straight through to 118", ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 600, TempC: 118}), manual, cooling.Hot, 520, "P0217"},
		{"bends, then creeps past the fan", ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 350, TempC: 83}, cooling.Sample{AtS: 420, TempC: 83}, cooling.Sample{AtS: 1100, TempC: 108}),
			manual, cooling.FanAbsent, 880, "P0480"},
		{"ends on the way", ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 240, TempC: 60}), manual, cooling.Unsure, -1, ""},
		{"does not move", ramp(1, cooling.Sample{TempC: 22}, cooling.Sample{AtS: 600, TempC: 22.4}), manual, cooling.Unsure, -1, ""},
		{"deep winter start is not an open circuit", ramp(1, cooling.Sample{TempC: -37}, cooling.Sample{AtS: 200, TempC: -5}), manual, cooling.Unsure, -1, ""},
		{"no manual, regulates", ramp(1, warm...), cooling.Options{}, cooling.Healthy, 950, ""},
		{"no manual, past 115", ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 600, TempC: 122}), cooling.Options{}, cooling.Hot, 560, "P0217"},
		{"three readings", ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 1, TempC: 15}), manual, cooling.Unsure, -1, ""},
	} {
		got, err := cooling.Judge(tc.log, tc.o)
		require.NoError(t, err, tc.name)
		if !assert.Equal(t, tc.want, got.Verdict, "%s: %v", tc.name, got.Evidence) {
			continue
		}
		require.NotEmpty(t, got.Evidence, tc.name)
		if tc.at >= 0 {
			require.True(t, got.AtS.Known, tc.name)
			assert.InDelta(t, tc.at, got.AtS.F, 25, tc.name)
		}
		if tc.code != "" {
			assert.Contains(t, got.Codes, tc.code, tc.name)
			require.GreaterOrEqual(t, len(got.OtherCauses), 3, tc.name)
			assert.Contains(t, got.OtherCauses[0], "connector", tc.name)
			assert.Contains(t, got.OtherCauses[1], "ground", tc.name)
			assert.Contains(t, got.OtherCauses[2], "low coolant", tc.name)
			assert.NotEmpty(t, got.MeasureNext, tc.name)
		} else {
			assert.Empty(t, got.Codes, tc.name)
		}
	}
}

// Whatever a verdict says, it never orders a part, and its codes have names.
func TestVerdictsNeverOrderAPart(t *testing.T) {
	for _, tc := range madeFindings(t) {
		for _, line := range append(append(append([]string{}, tc.Evidence...), tc.OtherCauses...), tc.MeasureNext...) {
			assert.NotContains(t, strings.ToLower(line), "replace")
		}
		for _, code := range tc.Codes {
			_, ok := cooling.CodeName(code)
			assert.True(t, ok, code)
		}
	}
}

// madeFindings judges one made-up log of each verdict.
func madeFindings(t *testing.T) []cooling.Finding {
	t.Helper()
	var out []cooling.Finding
	for k, want := range verdicts {
		l := draw(newRand(99, k), want)
		f, err := cooling.Judge(l.log, l.options)
		require.NoError(t, err)
		out = append(out, f)
	}
	return out
}

// A fast logger that writes whole seconds repeats them; that is no fault, and
// the verdict is the same.
func TestRepeatedSeconds(t *testing.T) {
	var b strings.Builder
	b.WriteString("seconds,temp_c\n")
	for _, s := range ramp(0.2, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 400, TempC: 84}, cooling.Sample{AtS: 700, TempC: 85}) {
		fmt.Fprintf(&b, "%.0f,%.1f\n", math.Floor(s.AtS), s.TempC)
	}
	log, err := cooling.ParseLog("log.csv", []byte(b.String()))
	require.NoError(t, err)
	got, err := cooling.Judge(log.Samples, cooling.Options{OpensC: models.Degrees(82)})
	require.NoError(t, err)
	assert.Equal(t, cooling.Healthy, got.Verdict)
	assert.InDelta(t, 0.2, got.Seen.IntervalS, 1e-9)
}

// An engine that overheats behind a jumping sensor is told of both.
func TestJumpHidesNoOverheating(t *testing.T) {
	log := ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 600, TempC: 118})
	for i := 300; i < 304; i++ {
		log[i].TempC = -40
	}
	got, err := cooling.Judge(log, cooling.Options{OpensC: models.Degrees(82), FanOnC: models.Degrees(96)})
	require.NoError(t, err)
	assert.Equal(t, cooling.ColdJump, got.Verdict)
	assert.Equal(t, []cooling.Verdict{cooling.Hot}, got.Also)
}

// What the manual does not say is not judged, and that is said.
func TestNotJudged(t *testing.T) {
	log := ramp(1, cooling.Sample{TempC: 15}, cooling.Sample{AtS: 350, TempC: 83}, cooling.Sample{AtS: 420, TempC: 83}, cooling.Sample{AtS: 1100, TempC: 108})
	got, err := cooling.Judge(log, cooling.Options{OpensC: models.Degrees(82)})
	require.NoError(t, err)
	assert.Equal(t, cooling.Healthy, got.Verdict)
	assert.Equal(t, []string{"fan: the temperature at which it comes on was not given",
		"a sensor that reads a few degrees off throughout, or answers slowly: no warm-up log shows that"}, got.NotJudged)
	assert.Contains(t, got.MeasureNext[0], "against the air's temperature", "what could show it")
	stuck := ramp(2, cooling.Sample{TempC: 10}, cooling.Sample{AtS: 300, TempC: 50}, cooling.Sample{AtS: 500, TempC: 57}, cooling.Sample{AtS: 1200, TempC: 58})
	got, err = cooling.Judge(stuck, cooling.Options{FanOnC: models.Degrees(96)})
	require.NoError(t, err)
	assert.NotEqual(t, cooling.StuckOpen, got.Verdict)
	assert.Contains(t, fmt.Sprint(got.NotJudged), "thermostat: its opening temperature was not given")
	_, err = cooling.Judge(stuck, cooling.Options{OpensC: models.Degrees(180)})
	requireRefused(t, err, cooling.RefusedInput)
}
