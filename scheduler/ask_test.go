package scheduler_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// silentFleet has machines that were read often until some day and not since,
// with an item that use alone brings due.
func silentFleet(machines int) models.FactSet {
	in := date("2024-01-10")
	set := models.FactSet{
		Owners:   []models.Owner{{ID: "O1", Name: "Juniper Flat"}},
		Contacts: []models.Contact{{ID: "C1", Owner: "O1", Name: "Ada", Role: models.RoleService, Mail: "ada@example.com", MailConsentOn: in}},
		Rules:    []models.Rule{{Kind: "utv", Item: models.ItemBelt, Miles: models.Num(3200), Origin: models.OriginHand}},
	}
	for i := range machines {
		id := fmt.Sprintf("M%d", i+1)
		set.Machines = append(set.Machines, models.Machine{ID: id, Tag: id, Kind: "utv", Owner: "O1", Meters: models.MetersMiles,
			InService: in, MilesStart: models.Num(0)})
		for k := range 12 { // uneven use: the range widens fast
			set.Readings = append(set.Readings, models.Reading{Machine: id, At: in.AddDays(30 * (k + 1)),
				Miles: models.Num(float64(150*(k+1) + (k%3)*(80+5*i))), Source: "owner"})
		}
	}
	return set
}

func readingAsks(t *testing.T, st *store.Store, machines int) (out []models.Notice) {
	var ids []string
	for i := range machines {
		ids = append(ids, fmt.Sprintf("M%d", i+1))
	}
	ns, err := st.NoticesOf(t.Context(), ids)
	require.NoError(t, err)
	for _, n := range ns {
		if n.Subject == models.SubjectReading && !n.Withheld() {
			out = append(out, n)
		}
	}
	return out
}

func TestReadingsAreAskedForWhereTheyTellMostAndNotTooOften(t *testing.T) {
	const machines = 8
	st := openStore(t)
	record(t, st, silentFleet(machines))
	h := runnerOf(st)
	start := date("2025-03-01")
	perWeek := map[int]int{}
	for d := start; d <= start.AddDays(300); d++ {
		tell(t, h, st, d)
	}
	asks := readingAsks(t, st, machines)
	require.NotEmpty(t, asks)
	times := map[string]int{}
	for _, n := range asks {
		times[n.Machine]++
		perWeek[start.DaysTo(models.DateOf(n.DecidedAt.Time().In(denver)))/7]++
		assert.Equal(t, "what the odometer shows", n.Detail)
	}
	for m, n := range times {
		assert.LessOrEqual(t, n, 2, "%s: asked, and asked once more", m)
	}
	for w, n := range perWeek {
		assert.LessOrEqual(t, n, 6, "week %d: at most three machines in seven days", w)
	}

	before := len(asks)
	record(t, st, models.FactSet{Readings: []models.Reading{{Machine: "M1", At: start.AddDays(300), Miles: models.Num(2500), Source: "owner"}}})
	tell(t, h, st, start.AddDays(301))
	assert.Len(t, readingAsks(t, st, machines), before, "a machine that was just read is not asked for")
	require.NoError(t, st.ForgetDerived(t.Context()))
	tell(t, h, st, start.AddDays(302))
	assert.Len(t, readingAsks(t, st, machines), before, "nor is anything asked again because derived rows were thrown away")
}
