package trial

import (
	"fmt"
	"os"
	"testing"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

func TestExplore3(t *testing.T) {
	w := os.Getenv("EXPLORE3")
	if w == "" {
		t.Skip()
	}
	f := readFolder(t, *fleetDir)
	n := 0
	for _, h := range f.Histories {
		if f.habit[h.Machine.ID] != w || len(h.Readings) < 14 {
			continue
		}
		n++
		if n%4 != 0 || n > 40 {
			continue
		}
		s := usage.Screen(h)
		m := models.HourMeter
		if !h.Machine.Meters.Has(m) {
			m = models.Odometer
		}
		p := s.Of(m)
		fmt.Printf("%s %s %s %s:", h.Machine.ID, h.Machine.Kind, h.Owner.Type, m)
		k := 0
		for i := 1; i < len(p); i++ {
			if p[i].On-p[k].On < 20 && i < len(p)-1 {
				continue
			}
			fmt.Printf(" %s+%d:%.2f", p[k].On.String()[2:7], p[i].On-p[k].On, (p[i].Value-p[k].Value)/float64(p[i].On-p[k].On))
			k = i
		}
		fmt.Println()
	}
}
