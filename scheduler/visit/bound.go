package visit

import (
	"fmt"

	"example.org/roundsman/models"
)

// pricesFormat names the form in which Prices are written.
const pricesFormat = "downtime-prices-1"

// Prices are what shared things are priced at, in whole millicents
// (thousandths of a cent), none below 0. Any such prices give a valid lower
// bound, so that whoever holds them can check it with Bound.
type Prices struct {
	Format string           `json:"format"`
	By     string           `json:"by"`              // "machines" or "bays": which of them is planned apart
	Tech   []int64          `json:"tech"`            // by day: a technician minute
	Out    [][]int64        `json:"out,omitempty"`   // by limit and day: a machine out of service
	Minute []BayPrices      `json:"bays,omitempty"`  // by machines: a minute in bays that are alike
	Items  map[string]int64 `json:"items,omitempty"` // by bays: doing an item
	Pairs  []PairPrice      `json:"pairs,omitempty"` // by bays: doing items of one machine together
}

// PairPrice is the price of each two of some items of one machine that a visit
// does together: floor(n/2) times for a visit with n of them, where all plans
// together have floor(len(Items)/2).
type PairPrice struct {
	Items []string `json:"items"`
	Price int64    `json:"price"`
}

// BayPrices are the prices of bays that take the same classes.
type BayPrices struct {
	Bays   []string `json:"bays"`
	Minute []int64  `json:"minute"` // by day
}

// Bound recomputes the lower bound of prices in cents: no plan of the problem
// costs less, moving what was told included. Its errors say which price does
// not fit the problem.
func Bound(p *Problem, told []Notified, prices Prices) (int64, error) {
	if err := p.Validate("problem"); err != nil {
		return 0, err
	}
	by := way(prices.By)
	if prices.Format != pricesFormat || (by != byMachines && by != byBays) {
		return 0, models.Errorf(models.CodeInvalid, "use prices that a plan was given with", "the prices are not of the form %s", pricesFormat)
	}
	b := newBounder(newBoundShop(p, told), by, inTurn)
	if err := b.takePairs(prices.Pairs); err != nil {
		return 0, err
	}
	y := b.newDuals(by)
	if err := b.takePrices(y, prices); err != nil {
		return 0, err
	}
	if err := b.inRange(y); err != nil {
		return 0, err
	}
	return boundCents(b.evaluate(y)), nil
}

// Bounds of prices, in millicents, so that sums stay within 64 bits.
const (
	maxPrice       = 1 << 41 // an item
	maxOutPrice    = 1 << 36 // a machine out for a day
	maxMinutePrice = 1 << 30
	maxPairs       = 1 << 14 // sets of items that have a price
)

// inRange checks prices that came from outside.
func (b *bounder) inRange(y *duals) error {
	for _, part := range []struct {
		of     string
		prices []int64
		most   int64
	}{{"tech", y.tech, maxMinutePrice}, {"out", y.out, maxOutPrice}, {"bays", y.minute, maxMinutePrice}, {"items", y.atom, maxPrice}, {"pairs", y.cut, maxPrice}} {
		for _, v := range part.prices {
			if v < 0 || v > part.most {
				return models.Errorf(models.CodeInvalid, "use the prices that a plan was given with", "a price of %s is %d millicents, not 0 to %d", part.of, v, part.most)
			}
		}
	}
	for i, v := range y.out {
		if v > 0 && int(b.outFree[i]) > len(b.s.p.Machines) {
			return models.Errorf(models.CodeInvalid, "use the prices that a plan was given with", "there is a price on a limit that cannot bind")
		}
	}
	return nil
}

// inTurn is Parallel without anything side by side.
func inTurn(n int, fn func(int)) {
	for i := range n {
		fn(i)
	}
}

// boundCents rounds a bound up to whole cents, which every plan costs.
func boundCents(millicents int64) int64 {
	if millicents <= 0 {
		return 0
	}
	return (millicents + 999) / 1000
}

// takePrices fills duals from stored prices.
func (b *bounder) takePrices(y *duals, prices Prices) error {
	days := b.s.days
	fits := func(what string, have, want int) error {
		if have == want {
			return nil
		}
		return models.Errorf(models.CodeInvalid, "use the prices of this very problem", "there are %d prices for %s, not %d", have, what, want)
	}
	if err := fits("technicians", len(prices.Tech), days); err != nil {
		return err
	}
	if err := fits("limits", len(prices.Out), len(b.s.p.Limits)); err != nil {
		return err
	}
	copy(y.tech, prices.Tech)
	for k, row := range prices.Out {
		if err := fits(fmt.Sprintf("limits[%d]", k), len(row), days); err != nil {
			return err
		}
		copy(y.out[k*days:], row)
	}
	if b.by == byMachines {
		if err := fits("bays", len(prices.Minute), len(b.s.kinds)); err != nil {
			return err
		}
		for k := range prices.Minute {
			if err := fits(fmt.Sprintf("bays[%d]", k), len(prices.Minute[k].Minute), days); err != nil {
				return err
			}
			copy(y.minute[k*days:], prices.Minute[k].Minute)
		}
		return nil
	}
	b.eachAtom(func(at int, _ atomRef, item string) { y.atom[at] = prices.Items[item] })
	for i := range prices.Pairs {
		y.cut[i] = prices.Pairs[i].Price
	}
	return nil
}

// takePairs takes the sets of items that are priced.
func (b *bounder) takePairs(pairs []PairPrice) error {
	refuse := func(i int, problem string) error {
		return models.Errorf(models.CodeInvalid, "use the prices of this very problem", "pairs[%d] %s", i, problem)
	}
	if len(pairs) == 0 {
		return nil
	}
	if b.by != byBays || len(pairs) > maxPairs {
		return refuse(0, "has a price that cannot be")
	}
	refs := map[string]atomRef{}
	b.eachAtom(func(_ int, ref atomRef, item string) { refs[item] = ref })
	cuts := make([]cut, len(pairs))
	for i, p := range pairs {
		for n, id := range p.Items {
			ref, ok := refs[id]
			switch c := &cuts[i]; {
			case !ok:
				return refuse(i, fmt.Sprintf("names %q, which no visit does", id))
			case n > 0 && ref.unit != c.unit:
				return refuse(i, "names items of two machines")
			case c.set&ref.bit != 0:
				return refuse(i, fmt.Sprintf("names %q twice", id))
			default:
				c.unit, c.set = ref.unit, c.set|ref.bit
			}
		}
	}
	b.setCuts(cuts)
	return nil
}

// atomRef names an atom.
type atomRef struct {
	unit int32
	bit  uint32
}

// eachAtom goes through the atoms of a shop made for bounds, each of which is
// one item.
func (b *bounder) eachAtom(fn func(at int, ref atomRef, item string)) {
	at := 0
	for u := range b.s.units {
		for i := range b.s.units[u].atoms {
			fn(at, atomRef{int32(u), 1 << i}, b.s.p.Items[b.s.units[u].atoms[i].items[0]].ID)
			at++
		}
	}
}

// givePrices writes duals as prices.
func (b *bounder) givePrices(y *duals) Prices {
	days := b.s.days
	out := Prices{Format: pricesFormat, By: string(b.by), Tech: append([]int64{}, y.tech...)}
	for k := range b.s.p.Limits {
		out.Out = append(out.Out, append([]int64{}, y.out[k*days:(k+1)*days]...))
	}
	if b.by == byMachines {
		for k := range b.s.kinds {
			bp := BayPrices{Minute: append([]int64{}, y.minute[k*days:(k+1)*days]...)}
			for _, bay := range b.s.kinds[k].bays {
				bp.Bays = append(bp.Bays, b.s.p.Bays[bay].ID)
			}
			out.Minute = append(out.Minute, bp)
		}
		return out
	}
	out.Items = map[string]int64{}
	pairs := make([]PairPrice, len(y.cut))
	b.eachAtom(func(at int, ref atomRef, item string) {
		if y.atom[at] != 0 {
			out.Items[item] = y.atom[at]
		}
		for i, c := range b.cuts {
			if c.unit == ref.unit && c.set&ref.bit != 0 {
				pairs[i].Items = append(pairs[i].Items, item)
			}
		}
	})
	for i := range pairs {
		if pairs[i].Price = y.cut[i]; y.cut[i] != 0 {
			out.Pairs = append(out.Pairs, pairs[i])
		}
	}
	return out
}
