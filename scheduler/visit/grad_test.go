package visit

import (
	"math/rand/v2"
	"path/filepath"
	"testing"
)

func TestGradTrial(t *testing.T) {
	if *instances == "" {
		t.Skip()
	}
	p := readInstance(t, filepath.Join(*instances, *only+".json"))
	s := newShop(&p, nil)
	b := newBounder(s, way(*byWay), sideBySide)
	a := newAscent(b, 1)
	rng := rand.New(rand.NewPCG(1, 2))
	for i, v := range a.x {
		a.y.all[i] = int64(v)
		if a.scale[i] > 0 {
			a.y.all[i] += int64(a.scale[i] * 2 * rng.Float64())
		}
	}
	v0 := b.evaluate(a.y)
	b.gradient(a.grad)
	g0 := append([]float64{}, a.grad...)
	bad := 0
	for i := range a.x {
		if a.scale[i] == 0 {
			continue
		}
		h := int64(2)
		a.y.all[i] += h
		v1 := b.evaluate(a.y)
		a.y.all[i] -= h
		if d := float64(v1-v0) / float64(h); d > g0[i]+0.01 || d < g0[i]-1e3 && i%10 == 0 {
			bad++
			if bad < 15 {
				t.Logf("T %d grad %g diff %g (tech %d out %d atom %d minute %d item %d trip %d)", i, g0[i], d, len(a.y.tech), len(a.y.out), len(a.y.atom), len(a.y.minute), len(a.y.item), len(a.y.trip))
			}
		}
	}
	t.Logf("T bad %d of %d, v0 %d", bad, len(a.x), v0/1000)
}

func TestPeek(t *testing.T) {
	if *instances == "" {
		t.Skip()
	}
	p := readInstance(t, filepath.Join(*instances, *only+".json"))
	s := newShop(&p, nil)
	b := newBounder(s, way(*byWay), sideBySide)
	a := newAscent(b, 576485000)
	for range 400 {
		a.round()
	}
	for i, v := range a.bestX {
		a.y.all[i] = int64(v)
	}
	v := b.evaluate(a.y)
	b.gradient(a.grad)
	t.Logf("T best %d v %d", a.best/1000, v/1000)
	nt, no := len(a.y.tech), len(a.y.out)
	for d := range nt {
		if s.open[d] > 0 {
			t.Logf("T day %d open %d tech %d price %d use %d | minute price %d use %d room %d", d, s.open[d], b.techFree[d], a.y.tech[d], b.use.tech[d], a.y.minute[d], b.use.minute[d], b.kindRoom[d])
		}
	}
	for i, v := range a.y.out[:no] {
		if v > 0 || a.grad[nt+i] > 0 {
			t.Logf("T limit %d day %d price %d use %d of %d scale %g", i/s.days, i%s.days, v, b.use.out[i], b.outFree[i], a.scale[nt+i])
		}
	}
}
