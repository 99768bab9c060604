package visit

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

const smallFile = "testdata/plan/two-bays.json"

func readSmall(t testing.TB) []byte {
	t.Helper()
	b, err := os.ReadFile(smallFile)
	require.NoError(t, err)
	return b
}

func TestDecodeRefuses(t *testing.T) {
	whole := string(readSmall(t))
	for _, c := range []struct{ name, old, new, field, problem, remedy string }{
		{"not JSON", `"days": 21,`, `"days": 21`, "", "not JSON", "one JSON document"},
		{"wrong format", "downtime-plan-1", "downtime-plan-9", "format", "not a format", "downtime-plan-1"},
		{"a text for a number", `"days": 21`, `"days": "three weeks"`, "days", "not a whole number", "write a whole number"},
		{"half a minute", `"work": 60`, `"work": 60.5`, "items.work", "not a whole number", "write a whole number"},
		{"no such date", "2027-04-05", "2027-04-31", "", "not a date", ""},
		{"misspelled key inside", `"latest"`, `"lastest"`, "lastest", "not a key", "spelling"},
		{"misspelled key at the top", `"blackouts"`, `"blackout"`, "blackout", "not a key", "spelling"},
		{"six weekdays", `"open_min": [480, 480,`, `"open_min": [480,`, "open_min", "6 numbers", "7 numbers"},
		{"unknown class of a machine", `"class": "utv", "site": "ranch"`, `"class": "tank", "site": "ranch"`, "machines[0].class", "not an id in classes", "add it to classes"},
		{"unknown class of a bay", `"classes": ["utv"]`, `"classes": ["boat"]`, "bays[1].classes[0]", "not an id in classes", "add it"},
		{"unknown machine of an item", `"machine": "m2", "earliest"`, `"machine": "m9", "earliest"`, "items[3].machine", "not an id in machines", "add it"},
		{"two alike", `"id": "m2"`, `"id": "m1"`, "machines[1].id", "already the id of entry 0", "an id of its own"},
		{"no interval", `"interval": 180`, `"interval": 0`, "items[0].interval", "outside 1", "within that range"},
		{"negative money", `"late": 900`, `"late": -900`, "items[0].late", "outside 0", "within that range"},
		{"days turned round", `"from": 10, "to": 12`, `"from": 12, "to": 10`, "blackouts[0].to", "comes before from", "from first"},
		{"lock in a blackout", `"day": 3`, `"day": 10`, "locked[0]", "blackout from day 10 to 12", "free the lock"},
		{"lock on a closed day", `"day": 3`, `"day": 5`, "locked[0]", "closed", "free the lock"},
		{"lock in the wrong bay", `"day": 3, "bay": "b1"`, `"day": 3, "bay": "b2"`, "locked[0]", "does not take class", "free the lock"},
		{"lock of another's item", `"items": ["i4"]`, `"items": ["i1"]`, "locked[0]", "belongs to m1", "free the lock"},
		{"lock of nothing", `"items": ["i4"]`, `"items": []`, "locked[0].items", "is empty", "take the lock out"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, whole, c.old)
			_, err := Decode([]byte(strings.Replace(whole, c.old, c.new, 1)), "two-bays.json")
			var faults models.Faults
			require.ErrorAs(t, err, &faults)
			require.Equal(t, models.CodeInvalid, models.CodeOf(err))
			f := faults[0]
			require.Equal(t, "two-bays.json", f.File)
			require.Equal(t, c.field, f.Field, f.String())
			require.Contains(t, f.Problem, c.problem)
			require.Contains(t, f.Remedy, c.remedy)
		})
	}
}

func TestDecodeTellsTheLine(t *testing.T) {
	_, err := Decode([]byte("{\n\"format\": \"downtime-plan-1\",\n\"days\": true}"), "x.json")
	var faults models.Faults
	require.ErrorAs(t, err, &faults)
	require.Equal(t, 3, faults[0].Line)
}

func TestDecodeLeavesLabelsAlone(t *testing.T) {
	whole := string(readSmall(t))
	p, err := Decode([]byte(strings.Replace(whole, `"days"`, `"family": "ranch", "load": 0.85, "days"`, 1)), "x.json")
	require.NoError(t, err)
	require.Equal(t, 21, p.Days)
	require.Equal(t, "2027-04-05", p.Start.String())
	require.Equal(t, 0, p.weekday(0), "5 April 2027 is a Monday")
}

func FuzzDecode(f *testing.F) {
	for _, name := range []string{"two-bays.json", "one-bay.json"} {
		b, err := os.ReadFile(filepath.Join("testdata/plan", name))
		require.NoError(f, err)
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Decode(b, "fuzz.json")
		if err != nil {
			return
		}
		require.NoError(t, p.Validate("fuzz.json"))
		require.Empty(t, Check(&p, p.Locked).Broken, "what is agreed can be kept")
	})
}
