package job

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestWords(t *testing.T) {
	for text, want := range map[string][]string{
		"It overheats when climbing":              {"hot", "climb"},
		"Runs HOT, boils over on hills":           {"hot", "hill"},
		"won't start when cold":                   {"no start", "cold"},
		"La máquina se calienta en subida":        {"hot", "subida"},
		"No arranca por la mañana":                {"no start", "manana"},
		"leaks coolant at the radiator hose":      {"leak", "coolant", "radiator", "hose"},
		"pierde refrigerante":                     {"leak", "coolant"},
		"check engine light on":                   {"warning light"},
		"":                                        nil,
		"the machine is a machine and it does so": nil,
	} {
		got := Words(text)
		assert.Equal(t, want, got, text)
	}
}

// heldOut are pairs written after the weights were set, and not used to set
// them.
var heldOut = []struct {
	earlier, later string
	alike          bool
}{
	{"coolant boiling out of the bottle", "steam from under the hood, temp light", true},
	{"loud whine from the transmission", "gearbox noisy in high", true},
	{"will not start after sitting a week", "cranks but doesn't fire", true},
	{"radiator hose dripping", "drips coolant at the hose clamp", true},
	{"loses power uphill", "sluggish, won't pull the trailer", true},
	{"steering shakes at speed", "front end vibrates", true},
	{"fan never comes on", "fan not working", true},
	{"fuga de aceite en el motor", "leaking oil again", true},
	{"oil change", "fuel leak at the filter", false},
	{"clutch slips", "battery dead after two days", false},
	{"rear brakes grind", "grinding from the winch", false},
	{"check engine light", "seat torn", false},
	{"smells of fuel", "smells of coolant", false},
	{"cv boot torn", "tire torn", false},
	{"generator surges under load", "won't start below freezing", false},
	{"overheats pulling a trailer", "trailer plug dead", false},
}

// The matching is a help and not a verdict: it should find most likenesses
// and seldom cry wolf.
func TestComplaintsNotUsedWhileBuilding(t *testing.T) {
	missed, wolf := 0, 0
	for _, p := range heldOut {
		past := []Earlier{{Whole: models.WholeJob{Job: models.Job{ID: "7", State: models.JobHanded, Complaint: p.earlier, OpenedOn: day.AddDays(-90)}}}}
		got := Alike(Complaint{Text: p.later}, past, day, models.Number{})
		if p.alike && len(got) == 0 {
			missed++
			t.Logf("missed: %q after %q", p.later, p.earlier)
		}
		if !p.alike && len(got) > 0 {
			wolf++
			t.Logf("cried wolf: %q after %q: %v", p.later, p.earlier, got[0].Why)
		}
	}
	assert.LessOrEqual(t, missed, 2)
	assert.LessOrEqual(t, wolf, 1)
}

// Pairs of complaints as shops write them (invented), with whether a
// technician would call the second a possible comeback of the first.
var pairs = []struct {
	earlier, later string
	alike          bool
}{
	{"runs hot on long climbs", "overheats when idling, fan does not come on", true},
	{"overheating", "temp light comes on", true},
	{"boils over", "se calienta mucho", true},
	{"pierde refrigerante", "loses coolant", true},
	{"leaks coolant at the water pump", "puddle of antifreeze under it", true},
	{"won't start", "hard to start in the morning", true},
	{"no crank, battery dead", "doesn't start", true},
	{"stalls at idle", "dies when idling", true},
	{"squeals on takeoff, belt slipping", "belt slips under load", true},
	{"grinding noise from front axle", "front axle makes noise", true},
	{"brakes squeak", "squealing brakes", true},
	{"smokes on startup", "blue smoke", true},
	{"no heat, runs cold", "never warms up", true},
	{"sputters and misfires", "runs rough", true},
	{"temp gauge jumps around", "gauge reads wrong, sensor?", true},
	{"leaks oil", "leaks coolant", false},
	{"brakes squeak", "belt squeals", false},
	{"runs hot", "won't start", false},
	{"front axle noise", "runs rough", false},
	{"annual service", "overheats", false},
	{"winch does not pull", "loses coolant", false},
	{"stalls at idle", "leaks oil at the drain", false},
	{"flat tire", "battery dead", false},
	{"no heat, runs cold", "overheats on hills", false},
	{"steering pulls left", "brakes pull left", false},
	{"headlight out", "fuel smell", false},
	{"", "overheats", false},
	{"overheats", "", false},
}

func TestComplaintsThatLookAlike(t *testing.T) {
	for _, p := range pairs {
		past := []Earlier{{Whole: models.WholeJob{Job: models.Job{ID: "7", State: models.JobHanded, Complaint: p.earlier, OpenedOn: day.AddDays(-90)}}}}
		got := Alike(Complaint{Text: p.later}, past, day, models.Number{})
		assert.Equal(t, p.alike, len(got) > 0, "%q after %q: %v", p.later, p.earlier, got)
		if len(got) > 0 {
			assert.NotEmpty(t, got[0].Why, "a match says why")
		}
	}
}

func TestCodesCount(t *testing.T) {
	past := func(codes models.FaultCodes) []Earlier {
		return []Earlier{{Whole: models.WholeJob{Job: models.Job{ID: "7", State: models.JobHanded, Complaint: "warning light", Codes: codes, OpenedOn: day.AddDays(-10)}}}}
	}
	match := func(c Complaint, p []Earlier) []string {
		for _, m := range Alike(c, p, day, models.Number{}) {
			return m.Why
		}
		return nil
	}
	assert.Equal(t, []string{"same code P0128"}, match(Complaint{Codes: "P0128"}, past("P0217, P0128")))
	assert.Nil(t, match(Complaint{Codes: "P0116"}, past("P0118")), "a family alone is not enough")
	assert.Equal(t, []string{"both say warning light", "codes of one family, P0118 and P0116"},
		match(Complaint{Text: "warning light, gauge jumps", Codes: "P0116"}, past("P0118")))
	assert.Equal(t, []string{"both say warning light", "codes of one family, SPN 110 FMI 3 and SPN 110 FMI 4"},
		match(Complaint{Text: "warning light", Codes: "SPN 110 FMI 4"}, past("SPN 110 FMI 3")))
}

func TestWhatWasDoneThenCountsToo(t *testing.T) {
	past := []Earlier{{Whole: models.WholeJob{Job: models.Job{ID: "7", State: models.JobHanded, Complaint: "annual service",
		Cause: "thermostat stuck", Correction: "thermostat changed", OpenedOn: day.AddDays(-10)}}}}
	got := Alike(Complaint{Text: "thermostat stuck"}, past, day, models.Number{})
	require.Len(t, got, 1)
	assert.Contains(t, got[0].Why[0], "what was done then names thermostat")
}

func TestWindowOfComebacks(t *testing.T) {
	at := func(daysAgo int, miles models.Number) []Earlier {
		return []Earlier{{Miles: miles, Whole: models.WholeJob{Job: models.Job{ID: "7", State: models.JobHanded, Complaint: "overheats", OpenedOn: day.AddDays(-daysAgo)}}}}
	}
	found := func(e []Earlier, miles models.Number) bool {
		return len(Alike(Complaint{Text: "runs hot"}, e, day, miles)) > 0
	}
	none := models.Number{}
	assert.True(t, found(at(365, none), none), "2025-06-01 is twelve months before 2026-06-01")
	assert.False(t, found(at(366, none), none))
	assert.True(t, found(at(800, models.Num(3000)), models.Num(4000)), "within 1,000 miles, however long ago")
	assert.False(t, found(at(800, models.Num(2999)), models.Num(4000)))
	assert.True(t, found(at(30, models.Num(0)), models.Num(9000)), "within 12 months, however far it has run")
	gone := at(10, none)
	gone[0].Whole.Job.State = models.JobWithdrawn
	assert.False(t, found(gone, none))
	assert.False(t, found(at(-5, none), none), "not a later job")
}

// Newcombe (1998), table I, method 3 (from memory); 6 of 32 and its limits are
// from a worked example in R (rstudio-pubs 1367507); 50 of 100 and 1 of 10 are
// what SciPy's binomtest gives with method "wilson", as a public test quotes.
func TestWilsonAgainstPublishedValues(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
		tolerance float64
	}{
		{81, 263, 0.2553, 0.3662, 5e-5},
		{15, 148, 0.0624, 0.1605, 5e-5},
		{0, 20, 0.0000, 0.1611, 5e-5},
		{1, 29, 0.0061, 0.1718, 5e-5},
		{6, 32, 0.08889545, 0.35309155, 5e-9},
		{50, 100, 0.4038, 0.5962, 5e-5},
		{1, 10, 0.0179, 0.4042, 5e-5},
	} {
		low, high := wilson(c.k, c.n)
		assert.InDelta(t, c.low, low, c.tolerance, "%d of %d", c.k, c.n)
		assert.InDelta(t, c.high, high, c.tolerance, "%d of %d", c.k, c.n)
	}
	low, high := wilson(0, 0)
	assert.Equal(t, []float64{0, 1}, []float64{low, high})
}

// The limits are where the score test just rejects: |p-x| = z sqrt(x(1-x)/n).
func TestWilsonInvertsTheScoreTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		low, high := wilson(k, n)
		p := float64(k) / float64(n)
		if !(0 <= low && low <= p && p <= high && high <= 1) {
			t.Fatalf("%d of %d: %g..%g", k, n, low, high)
		}
		for _, x := range []float64{low, high} {
			if x == 0 || x == 1 {
				continue
			}
			if z := math.Abs(p-x) / math.Sqrt(x*(1-x)/float64(n)); math.Abs(z-1.959964) > 1e-4 {
				t.Fatalf("%d of %d at %g: z = %g", k, n, x, z)
			}
		}
		mirrorLow, mirrorHigh := wilson(n-k, n)
		if math.Abs(mirrorLow-(1-high)) > 1e-12 || math.Abs(mirrorHigh-(1-low)) > 1e-12 {
			t.Fatalf("%d of %d is not the mirror of %d", k, n, n-k)
		}
	})
}

func TestRates(t *testing.T) {
	job := func(id string, turn int, state models.JobState, handedDaysAgo int, backOf string, lines ...models.JobLine) models.WholeJob {
		return models.WholeJob{Job: models.Job{ID: id, Turn: turn, State: state, HandedOn: day.AddDays(-handedDaysAgo), BackOf: backOf, DoneBy: "Lee"},
			Lines: lines, Parts: []models.Part{{Turn: 1, Number: "N-" + lines[0].Item}}}
	}
	line := func(turn int, item, by string) models.JobLine { return models.JobLine{Turn: turn, Item: item, By: by} }
	said := job("5", 1, models.JobHanded, 3, "", line(1, "belt", "Pat"))
	said.Checks = []models.AskedCheck{{Check: models.Check{Kind: models.CheckOwner, Turn: 1}, Answers: []models.CheckAnswer{{Result: models.CheckOK}}}}
	jobs := []models.WholeJob{
		job("1", 2, models.JobHanded, 40, "", line(1, "belt", "Pat"), line(2, "belt", "Kim"), line(2, "oil", "")), // came back once, then held
		job("2", 1, models.JobHanded, 60, "", line(1, "belt", "Pat"), line(1, "belt", "Pat")),                     // named by 3
		job("3", 1, models.JobOpen, 0, "2", line(1, "belt", "Pat")),                                               // not known yet
		job("4", 1, models.JobHanded, 3, "", line(1, "belt", "Pat")),                                              // too fresh
		said,
		job("6", 1, models.JobWithdrawn, 90, "4", line(1, "belt", "Pat")),
		job("7", 1, models.JobHanded, 90, "", models.JobLine{Turn: 1, What: "welded the guard", By: "Pat", Withdrawn: true}, line(1, "oil", "")),
	}
	byItem := Rates(jobs, ByItem, day)
	require.Len(t, byItem, 2)
	assert.Equal(t, "belt", byItem[0].Name)
	assert.Equal(t, []int{4, 2}, []int{byItem[0].Jobs, byItem[0].Back}, "turn 1 of 1 and job 2 came back; turn 2 of 1 and job 5 held")
	low, high := wilson(2, 4)
	assert.Equal(t, []float64{0.5, low, high}, []float64{byItem[0].Rate, byItem[0].Low, byItem[0].High})
	assert.Equal(t, []int{2, 0}, []int{byItem[1].Jobs, byItem[1].Back})
	names := map[string]string{}
	for _, r := range Rates(jobs, ByTechnician, day) {
		names[r.Name] = fmt.Sprintf("%d/%d", r.Back, r.Jobs)
	}
	assert.Equal(t, map[string]string{"Pat": "2/3", "Kim": "0/1", "Lee": "0/2"}, names)
	parts := Rates(jobs, ByPart, day)
	assert.Equal(t, "N-belt", parts[0].Name)
	assert.Equal(t, []int{3, 2}, []int{parts[0].Jobs, parts[0].Back})
}
