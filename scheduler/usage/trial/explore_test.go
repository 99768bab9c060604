package trial

import (
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

func TestExplore(t *testing.T) {
	if os.Getenv("EXPLORE") == "" {
		t.Skip()
	}
	f := readFolder(t, *fleetDir)
	type prof struct{ use, days [12]float64 }
	// month profiles by archetype: short gaps only (<45 days)
	ps := map[string]*prof{}
	own := map[string]*prof{}
	mphCV := []float64{}
	yr := map[string][]float64{}
	for _, h := range f.Histories {
		s := usage.Screen(h)
		a := f.habit[h.Machine.ID]
		if ps[a] == nil {
			ps[a] = &prof{}
		}
		ok := a + " " + h.Machine.Owner
		if own[ok] == nil {
			own[ok] = &prof{}
		}
		m := models.HourMeter
		if !h.Machine.Meters.Has(m) {
			m = models.Odometer
		}
		p := s.Of(m)
		if len(p) < 2 {
			continue
		}
		tot := (p[len(p)-1].Value - p[0].Value) / float64(p[len(p)-1].On-p[0].On+1)
		if tot <= 0 {
			continue
		}
		for i := 1; i < len(p); i++ {
			d := p[i].On - p[i-1].On
			if d <= 0 || d > 45 {
				continue
			}
			for x := p[i-1].On + 1; x <= p[i].On; x++ {
				mo := x.Month() - 1
				for _, q := range []*prof{ps[a], own[ok]} {
					q.use[mo] += (p[i].Value - p[i-1].Value) / float64(d) / tot
					q.days[mo]++
				}
			}
		}
		// mph of services
		if h.Machine.Meters == models.MetersBoth {
			var r []float64
			o, hh := s.Of(models.Odometer), s.Of(models.HourMeter)
			for i := 1; i < len(o); i++ {
				for j := 1; j < len(hh); j++ {
					if hh[j].On == o[i].On && hh[j-1].On == o[i-1].On && hh[j].Value-hh[j-1].Value > 20 && o[i].Shop && o[i-1].Shop {
						r = append(r, math.Log((o[i].Value-o[i-1].Value)/(hh[j].Value-hh[j-1].Value)))
					}
				}
			}
			if len(r) >= 3 {
				mean, v := 0.0, 0.0
				for _, x := range r {
					mean += x / float64(len(r))
				}
				for _, x := range r {
					v += (x - mean) * (x - mean) / float64(len(r)-1)
				}
				mphCV = append(mphCV, math.Sqrt(v))
			}
		}
		// yearly
		_ = yr
	}
	for a, p := range ps {
		fmt.Printf("%-11s", a)
		for i := range p.use {
			fmt.Printf(" %5.2f", p.use[i]/p.days[i])
		}
		fmt.Println()
	}
	keys := []string{}
	for k := range own {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		p := own[k]
		if k[:3] == "res" || k[:3] == "sno" && p.days[0] > 60 || k[:3] == "hun" && p.days[9] > 60 {
			fmt.Printf("%-15s", k)
			for i := range p.use {
				fmt.Printf(" %5.2f", p.use[i]/p.days[i])
			}
			fmt.Printf(" %5.0f\n", p.days[6])
		}
	}
	slices.Sort(mphCV)
	fmt.Println("mph log sd quantiles", mphCV[len(mphCV)/10], mphCV[len(mphCV)/2], mphCV[len(mphCV)*9/10])
}
