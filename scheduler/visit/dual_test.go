package visit

import (
	"flag"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var byWay = flag.String("way", "bays", "")

func TestDualTrial(t *testing.T) {
	if *instances == "" {
		t.Skip()
	}
	files, _ := filepath.Glob(filepath.Join(*instances, "*.json*"))
	best := map[string]int64{"pub-S1-shop": 260688, "pub-S2-resort": 761383, "pub-S3-ranch": 576485, "pub-S4-shop": 1526946, "pub-S5-resort": 1187975,
		"pub-M1-shop": 1853035, "pub-M2-resort": 3763351, "pub-M3-ranch": 4453699, "pub-M4-shop": 7600659, "pub-M5-resort": 4204925,
		"pub-L1-shop": 6177578, "pub-L2-resort": 13551868, "pub-L3-ranch": 13219875, "pub-L4-shop": 29851559, "pub-L5-resort": 12062228,
		"pub-XL1-resort": 79354722, "pub-XXL1-ranch": 709849539}
	for _, f := range files {
		if !strings.Contains(f, *only) {
			continue
		}
		p := readInstance(t, f)
		s := newShop(&p, nil)
		b := newBounder(s, way(*byWay), sideBySide)
		ub := best[p.Name]
		if ub == 0 {
			ub = 300000000
		}
		a := newAscent(b, ub*1000)
		defer func() { t.Logf("x %v", a.x[len(a.y.tech)+len(a.y.out):][:30]) }()
		began := time.Now()
		for i := 0; time.Since(began) < *budget; i++ {
			v := a.round()
			if *byWay == "machines" && i < 60 {
				t.Logf("R %d %d theta %g", i, v/1000, a.theta)
			}
			if i&(i-1) == 0 {
				t.Logf("T %s %d %v best %d theta %g gap %.2f%%", p.Name, i, time.Since(began).Milliseconds(), a.best/1000, a.theta, 100*float64(ub*1000-a.best)/float64(ub*1000))
			}
		}
		t.Logf("END %s grain %d rounds %d best %d theta %g gap %.2f%%", p.Name, b.grain, a.rounds, a.best/1000, a.theta, 100*float64(ub*1000-a.best)/float64(ub*1000))
	}
}
