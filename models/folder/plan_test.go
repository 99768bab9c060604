package folder

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// anyPlan draws what visits are planned on, and visits of a folder's machines.
func anyPlan(t *rapid.T, f *models.FactSet) {
	f.Sites = several(t, 2, func(v *models.Site, n int) { v.ID, v.Name = v.ID+fmt.Sprint("s", n), v.Name+"n" },
		func(v models.Site) string { return v.ID })
	f.Bays = several(t, 2, func(v *models.Bay, n int) { v.ID += fmt.Sprint("b", n) }, func(v models.Bay) string { return v.ID })
	f.Technicians = several(t, 2, func(v *models.Technician, n int) { v.ID += fmt.Sprint("t", n) },
		func(v models.Technician) string { return v.ID })
	f.Closures = several(t, 4, func(v *models.Closure, n int) {
		v.ID = rapid.SampledFrom([]string{"", fmt.Sprint("c", n)}).Draw(t, "id")
		v.Sort = rapid.SampledFrom(models.ClosureSorts()).Draw(t, "sort")
		v.From = max(v.From, firstDay)
		v.To = max(v.To, v.From)
		if v.Sort != models.ClosureLimit {
			v.MaxOut = 0
		}
		if v.Sort == models.ClosureShop || v.Sort == models.ClosureAway {
			v.Site, v.Kind = "", ""
		}
		if v.Technician = ""; v.Sort == models.ClosureAway {
			v.Technician = "sam"
		}
	}, func(v models.Closure) models.Closure {
		if v.ID != "" {
			return models.Closure{ID: v.ID}
		}
		return v
	})
	f.Visits = several(t, 3, func(v *models.Visit, n int) {
		v.Machine = rapid.SampledFrom(f.Machines).Draw(t, "machine").ID
		v.ID, v.UID = v.ID+fmt.Sprint("v", n), v.UID+fmt.Sprint("u", n)
		v.On = max(v.On, firstDay)
		v.Until = max(v.Until, v.On)
	}, func(v models.Visit) string { return v.ID })
}

func TestPlanFilesAreCompleted(t *testing.T) {
	f, report := readAll(t, onDisk(map[string]string{"machines.csv": baseMachines,
		"sites.csv":       "site,name,transport_cents\nnorth,North barn,4500\n",
		"bays.csv":        "bay,kinds\nlift,\"utv,  atv, utv\"\nyard,\n",
		"technicians.csv": "technician,mon,tue,wed,thu,fri\nsam,480,480,480,480,300\n",
		"closures.csv": "sort,from,to,site,kind,max_out,technician,note\n" +
			"closed,2030-12-24,,,,,,Christmas\nblackout,2030-07-01,2030-08-31,north,utv,,,season\nlimit,2030-07-01,2030-08-31,,,2,,\naway,2030-07-01,2030-07-14,,,,sam,\n",
		"visits.csv": "visit,uid,machine,state,on,until,bay,items\n1,u1,M1,Agreed,2030-06-01,,lift,\"coolant,hoses\"\n",
	}), Options{Now: today})
	require.Empty(t, texts(report.Faults), "days to come are no fault here")
	assert.Equal(t, models.Names("utv, atv"), f.Bays[0].Kinds)
	assert.Equal(t, models.MustDate("2030-12-24"), f.Closures[0].To)
	assert.Equal(t, 2, f.Closures[2].MaxOut)
	assert.Equal(t, [7]int{480, 480, 480, 480, 300}, f.Technicians[0].Week())
	v := f.Visits[0]
	assert.Equal(t, v.On, v.Until)
	assert.Equal(t, models.VisitAgreed, v.State)
	assert.Equal(t, []string{"coolant", "hoses"}, v.Items.List())
}

func TestFaultsOfThePlan(t *testing.T) {
	closure := func(s string) map[string]string {
		return map[string]string{"closures.csv": "sort,from,to,site,kind,max_out,technician\n" + s + "\n"}
	}
	visit := func(s string) map[string]string {
		return map[string]string{"visits.csv": "visit,uid,machine,state,on,until,bay,items\n" + s + "\n"}
	}
	for want, files := range map[string]map[string]string{
		"is before from":                     closure("closed,2025-02-02,2025-02-01,,,,"),
		"is empty, and somebody is away":     closure("away,2025-02-02,,,,,"),
		"technician \"sam\" does not go":     closure("closed,2025-02-02,,,,,sam"),
		"max_out \"3\" does not go with":     closure("blackout,2025-02-02,,,,3,"),
		"site \"north\" does not go with":    closure("closed,2025-02-02,,north,,,"),
		"kind \"utv\" does not go with":      closure("away,2025-02-02,,,utv,,sam"),
		"is not one of the words for it":     closure("holiday,2025-02-02,,,,,"),
		"is not in machines.csv":             visit("1,u,M9,agreed,2025-02-02,,1,oil"),
		"is before on":                       visit("1,u,M1,agreed,2025-02-02,2025-02-01,1,oil"),
		"uid is empty":                       visit("1,,M1,agreed,2025-02-02,,1,oil"),
		"items \",\" names nothing":          visit("1,u,M1,agreed,2025-02-02,,1,\",\""),
		"is out of range":                    {"technicians.csv": "technician,mon,tue,wed,thu,fri\nsam,1441,,,,\n"},
		"is not a whole number":              {"technicians.csv": "technician,mon,tue,wed,thu,fri\nsam,8h,,,,\n"},
		"is on line 2 already, with other":   {"bays.csv": "bay,kinds\nlift,utv\nlift,atv\n"},
		"transport_cents \"12.5\" is out of": {"sites.csv": "site,name,transport_cents\nnorth,North,12.5\n"},
	} {
		files["machines.csv"] = baseMachines
		_, report := readAll(t, onDisk(files), Options{Now: today})
		assert.Contains(t, strings.Join(texts(report.Faults), "\n"), want)
	}
}
