package cooling_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

var quadManual = cooling.Options{OpensC: models.Degrees(82), FanOnC: models.Degrees(96)}

// warmUp is a healthy log at an interval: up in 400 s, the fan three times.
func warmUp(every float64) []cooling.Sample {
	return ramp(every, cooling.Sample{AtS: 0, TempC: 15}, cooling.Sample{AtS: 400, TempC: 83}, cooling.Sample{AtS: 700, TempC: 95},
		cooling.Sample{AtS: 730, TempC: 97}, cooling.Sample{AtS: 800, TempC: 90}, cooling.Sample{AtS: 950, TempC: 97}, cooling.Sample{AtS: 1020, TempC: 90})
}

func judged(t *testing.T, s []cooling.Sample, o cooling.Options) cooling.Finding {
	t.Helper()
	f, err := cooling.Judge(s, o)
	require.NoError(t, err)
	return f
}

// A short that comes and goes is told from a broken wire by where the reading
// went, not by the way back. Common practice, no source; 215 °C is what SAE
// J1979's coolant byte shows at 0xFF.
func TestShortThatComesAndGoes(t *testing.T) {
	for _, at := range []int{5, 200, 600, 1000} {
		for _, lasts := range []int{1, 4, 20} {
			s := warmUp(1)
			for i := at; i < min(at+lasts, len(s)-3); i++ {
				s[i].TempC = 215
			}
			got := judged(t, s, quadManual)
			assert.Equal(t, cooling.HotJump, got.Verdict, "for %d s at %d s: %v", lasts, at, got.Evidence)
			assert.Contains(t, got.Codes, "P0117")
			assert.NotContains(t, got.Codes, "P0118", "that is an open circuit")
		}
	}
	begins := warmUp(1)
	for i := range 20 {
		begins[i].TempC = 215 // the log was switched on while it touched
	}
	assert.Equal(t, cooling.HotJump, judged(t, begins, quadManual).Verdict)
}

// Rows written by hand at uneven times, in Fahrenheit, with two dips.
func TestUnevenRows(t *testing.T) {
	log, err := cooling.ParseLog("hand.csv", []byte("seconds,temp_f\n0,61\n45,76\n60,82\n150,110\n155,-20\n158,112\n240,139\n330,166\n341,169\n420,182\n500,186\n512,-20\n520,187\n640,192\n700,203\n760,194\n"))
	require.NoError(t, err)
	got := judged(t, log.Samples, quadManual)
	assert.Equal(t, cooling.ColdJump, got.Verdict, "%v", got.Evidence)
	assert.InDelta(t, 155, got.AtS.F, 1)
}

// Noise is named from about 1.2 °C on, and what a logger's grain makes is not
// noise: both sides of the limit.
func TestNoise(t *testing.T) {
	noisy := func(sigma, grain float64, from int) cooling.Verdict {
		r := rand.New(rand.NewPCG(3, 5))
		s := warmUp(1)
		for i := from; i < len(s); i++ {
			s[i].TempC += sigma * r.NormFloat64()
		}
		if grain > 0 {
			for i := range s {
				s[i].TempC = grain * float64(int(s[i].TempC/grain+0.5))
			}
		}
		return judged(t, s, quadManual).Verdict
	}
	for _, sigma := range []float64{1.5, 2.5, 5, 7} {
		assert.Equal(t, cooling.Noisy, noisy(sigma, 0, 0), "%g °C", sigma)
		assert.Equal(t, cooling.Noisy, noisy(sigma, 1, 500), "%g °C from the middle on", sigma)
	}
	for _, sigma := range []float64{0, 0.3, 0.6, 0.9} {
		assert.Equal(t, cooling.Healthy, noisy(sigma, 1, 0), "%g °C", sigma)
	}
}

// A logger that hung and went on is no fault of the sensor; a step without a
// course that leads there is.
func TestFrozenLogger(t *testing.T) {
	hung := warmUp(1)
	for i := 100; i < 180; i++ {
		hung[i].TempC = hung[100].TempC
	}
	got := judged(t, hung, quadManual)
	assert.Equal(t, cooling.Healthy, got.Verdict, "%v", got.Evidence)
	assert.Contains(t, strings.Join(got.NotJudged, "; "), "100 to 179 s: the logger repeated one value")

	back := warmUp(1)
	for i := 180; i < len(back); i++ {
		back[i].TempC -= 20 // against its course
	}
	for i := 100; i < 180; i++ {
		back[i].TempC = back[100].TempC
	}
	assert.NotEqual(t, cooling.Healthy, judged(t, back, quadManual).Verdict)

	for _, c := range []float64{30, 62, 89} {
		still := ramp(1, cooling.Sample{TempC: c}, cooling.Sample{AtS: 1200, TempC: c})
		got := judged(t, still, quadManual)
		assert.Equal(t, cooling.Unsure, got.Verdict, "%g °C all the time: %v", c, got.Evidence)
	}
}

// A fast logger that counts whole seconds: a dropout of three tenths of a
// second is not blurred into its second.
func TestWholeSecondsKeepADrop(t *testing.T) {
	s := warmUp(0.1)
	for i := 6003; i < 6006; i++ {
		s[i].TempC = -40
	}
	for i := range s {
		s[i].AtS = float64(int(s[i].AtS + 1e-9))
	}
	got := judged(t, s, quadManual)
	assert.Equal(t, cooling.ColdJump, got.Verdict, "%v", got.Evidence)
	assert.Equal(t, -40.0, got.Seen.LowestC)
}

// While the highest reading stands at the end nothing is level: a healthy
// engine on a cold day pauses on its way. The courses are those of healthy
// cars in winter, drawn after published logs (Karlsruhe Institute of
// Technology, automotive OBD-II data set), rounded.
func TestAPauseIsNoFault(t *testing.T) {
	pausing := ramp(1, cooling.Sample{TempC: -1}, cooling.Sample{AtS: 300, TempC: 26}, cooling.Sample{AtS: 480, TempC: 43}, cooling.Sample{AtS: 600, TempC: 49},
		cooling.Sample{AtS: 720, TempC: 50}, cooling.Sample{AtS: 840, TempC: 58}, cooling.Sample{AtS: 900, TempC: 59}, cooling.Sample{AtS: 1020, TempC: 57},
		cooling.Sample{AtS: 1260, TempC: 58}, cooling.Sample{AtS: 1320, TempC: 61}, cooling.Sample{AtS: 1440, TempC: 64})
	for end := 30; end < len(pausing); end += 30 {
		got := judged(t, pausing[:end], cooling.Options{OpensC: models.Degrees(87), FanOnC: models.Degrees(100)})
		assert.Equal(t, cooling.Unsure, got.Verdict, "cut at %d s: %v", end, got.Evidence)
	}
}

// The limits of a stuck-open thermostat from both sides.
func TestStuckOpenLimits(t *testing.T) {
	// A clean rise toward an end: after so many of its time constants.
	law := func(end, tau, seconds float64) cooling.Verdict {
		var s []cooling.Sample
		c := 10.0
		for at := 0.0; at <= seconds; at++ {
			s = append(s, cooling.Sample{AtS: at, TempC: c})
			c += (end - c) / tau
		}
		return judged(t, s, quadManual).Verdict
	}
	assert.Equal(t, cooling.StuckOpen, law(60, 200, 900))
	assert.Equal(t, cooling.Unsure, law(60, 200, 330), "too early: the way is not seen")
	assert.Equal(t, cooling.StuckOpen, law(74, 150, 1200), "8 °C below it")
	assert.Equal(t, cooling.Healthy, law(78, 150, 1200), "4 °C below it: thermostats differ by that much")

	// An uneven rise: only a long stay is believed.
	stay := func(seconds float64) cooling.Verdict {
		return judged(t, ramp(1, cooling.Sample{TempC: 10}, cooling.Sample{AtS: 100, TempC: 12}, cooling.Sample{AtS: 300, TempC: 58},
			cooling.Sample{AtS: 300 + seconds, TempC: 58.4}), quadManual).Verdict
	}
	assert.Equal(t, cooling.Unsure, stay(300))
	assert.Equal(t, cooling.StuckOpen, stay(800))

	// A restart that comes down, with the engine at work, and stays down.
	down := ramp(1, cooling.Sample{TempC: 70}, cooling.Sample{AtS: 300, TempC: 50}, cooling.Sample{AtS: 700, TempC: 49})
	assert.Equal(t, cooling.StuckOpen, judged(t, down, quadManual).Verdict)
	assert.Equal(t, cooling.Unsure, judged(t, down[:350], quadManual).Verdict)
}

// A healthy finding names the highest that the log shows, not a smoothed one.
func TestHighestIsWhatWasShown(t *testing.T) {
	s := warmUp(1)
	s[730].TempC = 99
	got := judged(t, s, quadManual)
	require.Equal(t, cooling.Healthy, got.Verdict)
	assert.Contains(t, strings.Join(got.Evidence, "; "), "highest 99.0 °C")
}
