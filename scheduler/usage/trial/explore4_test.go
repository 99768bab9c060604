package trial

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"example.org/roundsman/models"
)

func TestExplore4(t *testing.T) {
	if os.Getenv("EXPLORE4") == "" {
		t.Skip()
	}
	f := readFolder(t, *fleetDir)
	r := newRunner(f.Fleet)
	_ = r.refit(models.MustDate(os.Getenv("EXPLORE4")))
	p := r.profile
	var ks []string
	for k := range p.Classes {
		ks = append(ks, k)
	}
	slices.Sort(ks)
	for _, k := range ks {
		c := p.Classes[k]
		fmt.Printf("C %-24s n %3.0f rates %.2f spreads %.1f grain %4.1f mem %.2f pace %.1f w", strings.ReplaceAll(k, "\x1f", "|"), c.Machines, c.Rates, c.Spreads, c.Grain, c.Memory, c.Pace)
		for i, w := range c.Weights {
			if w > 0.05 {
				fmt.Printf(" %d:%.2f", i, w)
			}
		}
		fmt.Println()
	}
	for i, s := range p.Seasons {
		fmt.Printf("S %2d", i)
		for b := 0; b < len(s); b += 2 {
			fmt.Printf(" %.2f", (s[b]+s[b+1])/2)
		}
		fmt.Println()
	}
}

func init() {
	fmt.Sscan(os.Getenv("DEVM"), &devMonths)
}
