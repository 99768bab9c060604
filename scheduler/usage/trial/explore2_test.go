package trial

import (
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"example.org/roundsman/models"
)

func TestExplore2(t *testing.T) {
	if os.Getenv("EXPLORE2") == "" {
		t.Skip()
	}
	f := readFolder(t, *fleetDir)
	ans, _ := Forecast(f.Fleet, f.cases)
	hist := map[string]models.History{}
	for _, h := range f.Histories {
		hist[h.Machine.ID] = h
	}
	type acc struct{ n, abs, signed, below, above, orc float64 }
	tab := map[string]*acc{}
	add := func(k string, e float64, a Answer, tr models.Date, oe float64) {
		if tab[k] == nil {
			tab[k] = &acc{}
		}
		x := tab[k]
		x.n++
		x.abs += math.Abs(e)
		x.signed += e
		x.orc += math.Abs(oe)
		if tr < a.Early {
			x.below++
		}
		if tr > a.Late {
			x.above++
		}
	}
	bucket := func(v float64, cuts ...float64) string {
		for i, c := range cuts {
			if v < c {
				return fmt.Sprintf("%d<%g", i, c)
			}
		}
		return fmt.Sprintf("%d>", len(cuts))
	}
	for _, a := range ans {
		if f.bound[a.Case] == "calendar" {
			continue
		}
		tr := f.truth[a.Case]
		e := float64(a.Due - tr)
		oe := float64(f.informed[a.Case].Due - tr)
		h := hist[a.Machine]
		last := h.Machine.InService
		for _, r := range h.Readings {
			last = max(last, r.At)
		}
		n := len(h.Readings)
		add("all", e, a, tr, oe)
		add("hab "+f.habit[a.Machine], e, a, tr, oe)
		add("stale "+bucket(float64(a.AsOf-last), 15, 45, 90, 180, 365), e, a, tr, oe)
		add("n "+bucket(float64(n), 1, 2, 4, 8, 16, 32), e, a, tr, oe)
		add("hor "+bucket(float64(a.Due-a.AsOf), 0, 30, 90, 180, 270, 365), e, a, tr, oe)
		add("year "+a.AsOf.String()[:4], e, a, tr, oe)
		sw := "no"
		if len(h.Swaps) > 0 {
			sw = "swap"
		}
		add("sw "+sw, e, a, tr, oe)
		add("meters "+string(h.Machine.Meters), e, a, tr, oe)
	}
	var ks []string
	for k := range tab {
		ks = append(ks, k)
	}
	slices.Sort(ks)
	for _, k := range ks {
		x := tab[k]
		fmt.Printf("%-22s n %4.0f mae %5.1f orac %5.1f bias %6.1f  truth<early %4.1f%%  truth>late %4.1f%%\n", k, x.n, x.abs/x.n, x.orc/x.n, x.signed/x.n, 100*x.below/x.n, 100*x.above/x.n)
	}
}
