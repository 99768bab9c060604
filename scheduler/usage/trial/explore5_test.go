package trial

import (
	"fmt"
	"os"
	"testing"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

func TestExplore5(t *testing.T) {
	if os.Getenv("EXPLORE5") == "" {
		t.Skip()
	}
	f := readFolder(t, *fleetDir)
	fp := map[string]int{}
	nfp, nmiss := 0, 0
	for _, h := range f.Histories {
		s := usage.Screen(h)
		d := map[int64]models.Doubt{}
		for _, x := range s.Doubts {
			d[x.Reading] = x
		}
		seen := map[string]bool{}
		for _, r := range h.Readings {
			k := dirtKey(h.Machine.ID, r.At, r.Miles, r.Hours)
			if seen[k] {
				continue
			}
			seen[k] = true
			kind, dirty := f.dirt[k]
			x, doubted := d[r.Row]
			if !dirty && doubted {
				fp[string(x.Reason)+" "+string(x.Meter)+" "+string(h.Machine.Meters)+" src "+r.Source]++
				nfp++
				if nfp%12 == 0 || f.habit[h.Machine.ID] == "new" {
					fmt.Printf("FP %s %s %s %s %s src %s: %s likely %s\n", h.Machine.ID, f.habit[h.Machine.ID], r.At, r.Miles, r.Hours, r.Source, x.Reason, x.Likely)
				}
			}
			if dirty && !doubted && kind != "copy" && kind != "late_date" && kind != "duplicate" {
				nmiss++
				if nmiss%2 == 0 {
					fmt.Printf("MISS %s %s %s %s %s %s %s src %s\n", kind, h.Machine.ID, f.habit[h.Machine.ID], h.Machine.Meters, r.At, r.Miles, r.Hours, r.Source)
				}
			}
		}
	}
	for k, n := range fp {
		fmt.Println("FPR", n, k)
	}
}
