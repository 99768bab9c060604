package cooling

import (
	"math"
	"sort"
	"strings"
)

// Glycol is the base fluid of a coolant.
type Glycol string

// The base fluids. They are never mixed in one sum.
const (
	Ethylene  Glycol = "ethylene"
	Propylene Glycol = "propylene"
)

// ParseGlycol reads ethylene or eg, propylene or pg, in any case.
func ParseGlycol(s string) (Glycol, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "ethylene", "eg":
		return Ethylene, nil
	case "propylene", "pg":
		return Propylene, nil
	}
	return "", refuse(RefusedInput, "write ethylene or propylene; the label or the maker's manual says which",
		"%q is not a glycol known here", s)
}

// Basis says how a strength is counted.
type Basis string

// Bases. Coolant for engines is labeled by volume.
const (
	ByVolume Basis = "volume"
	ByMass   Basis = "mass"
)

// ParseBasis reads volume or mass; "" is volume.
func ParseBasis(s string) (Basis, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "", "volume", "vol":
		return ByVolume, nil
	case "mass", "weight":
		return ByMass, nil
	}
	return "", refuse(RefusedInput, "write volume or mass", "%q is not a way to count percent", s)
}

// Strength is how much glycol a mixture holds. Percent by volume and percent
// by mass are different numbers for one mixture, so the basis goes with it.
type Strength struct {
	Glycol  Glycol  `json:"glycol"`
	Percent float64 `json:"percent"` // of pure glycol, 0..100
	Basis   Basis   `json:"basis"`
}

// rows gives the glycol's table.
func (g Glycol) rows() ([]freezeRow, error) {
	switch g {
	case Ethylene:
		return ethyleneFreeze, nil
	case Propylene:
		return propyleneFreeze, nil
	}
	return nil, refuse(RefusedInput, "say ethylene or propylene", "%q is not a glycol known here", string(g))
}

// percent reads the row on a basis.
func (r freezeRow) percent(b Basis) float64 {
	if b == ByMass {
		return r.mass
	}
	return r.vol
}

// checkBasis refuses a basis that is neither.
func checkBasis(b Basis) error {
	if b != ByVolume && b != ByMass {
		return refuse(RefusedBasis, "say volume or mass", "%q is not a way to count percent", string(b))
	}
	return nil
}

// isPercent says whether p is a figure from 0 to 100.
func isPercent(p float64) bool { return p >= 0 && p <= 100 }

// between interpolates linearly.
func between(x, x0, x1, y0, y1 float64) float64 {
	if x1 == x0 {
		return y0
	}
	return y0 + (y1-y0)*(x-x0)/(x1-x0)
}

// tableEdge is what lies beyond the last row of both tables.
const tableEdge = "use a mixture of 40 to 60 %; beyond the table freezing gets worse again toward pure glycol, and heat transfer falls"

// FreezeC gives the temperature at which ice begins to form, by straight
// lines between the rows of the table (tableSource). It refuses strengths
// outside 0 to 57.8 % by volume (ethylene), 60 % (propylene, and both by mass).
func (s Strength) FreezeC() (float64, error) {
	rows, err := s.Glycol.rows()
	if err != nil {
		return 0, err
	}
	if err := checkBasis(s.Basis); err != nil {
		return 0, err
	}
	if !isPercent(s.Percent) {
		return 0, refuse(RefusedInput, "give percent of glycol, from 0 to 100", "%.4g %% is not a strength", s.Percent)
	}
	last := rows[len(rows)-1].percent(s.Basis)
	if s.Percent > last {
		return 0, refuse(RefusedRange, tableEdge, "no freezing point is tabulated for %.4g %% %s glycol by %s: the table ends at %.4g %%",
			s.Percent, s.Glycol, s.Basis, last)
	}
	i := sort.Search(len(rows), func(i int) bool { return rows[i].percent(s.Basis) >= s.Percent })
	if i == 0 {
		return rows[0].c, nil
	}
	a, b := rows[i-1], rows[i]
	return between(s.Percent, a.percent(s.Basis), b.percent(s.Basis), a.c, b.c), nil
}

// StrengthFor gives the weakest mixture of the table that does not freeze
// above a temperature: the inverse of FreezeC. It refuses temperatures above
// 0 and below the table's last row.
func StrengthFor(g Glycol, freezeC float64, b Basis) (Strength, error) {
	rows, err := g.rows()
	if err != nil {
		return Strength{}, err
	}
	if err := checkBasis(b); err != nil {
		return Strength{}, err
	}
	last := rows[len(rows)-1]
	switch {
	case math.IsNaN(freezeC) || freezeC > 0:
		return Strength{}, refuse(RefusedRange, "give the lowest temperature it must stand, 0 °C or below",
			"%.4g °C asks for no freeze protection", freezeC)
	case freezeC < last.c:
		return Strength{}, refuse(RefusedRange, "park it warmer, drain it, or ask the maker of the coolant",
			"no %s glycol mixture of the table stands %.4g °C: it ends at %.4g °C", g, freezeC, last.c)
	}
	i := sort.Search(len(rows), func(i int) bool { return rows[i].c <= freezeC })
	if i == 0 {
		return Strength{Glycol: g, Basis: b}, nil
	}
	r, q := rows[i-1], rows[i]
	return Strength{Glycol: g, Basis: b, Percent: between(freezeC, r.c, q.c, r.percent(b), q.percent(b))}, nil
}

// In gives the same mixture's strength on another basis, by the table's own
// pairs of volume and mass. It refuses strengths outside the table.
func (s Strength) In(b Basis) (Strength, error) {
	if err := checkBasis(b); err != nil {
		return Strength{}, err
	}
	if _, err := s.FreezeC(); err != nil {
		return Strength{}, err
	}
	rows, err := s.Glycol.rows()
	if err != nil {
		return Strength{}, err
	}
	i := sort.Search(len(rows), func(i int) bool { return rows[i].percent(s.Basis) >= s.Percent })
	out := Strength{Glycol: s.Glycol, Basis: b}
	if i > 0 {
		r, q := rows[i-1], rows[i]
		out.Percent = between(s.Percent, r.percent(s.Basis), q.percent(s.Basis), r.percent(b), q.percent(b))
	}
	return out, nil
}

// BoilSource says where the one boiling point comes from.
const BoilSource = "ASTM D4985-10, scope 1.1: boiling protection to at least 108 °C (226 °F) at 40 to 60 vol % of concentrate or 50 vol % predilute"

// BoilC gives the least boiling point at sea level without a cap, where a
// published one exists: 108 °C for ethylene glycol at 50 % by volume
// (BoilSource). Everything else is refused with the reason.
func (s Strength) BoilC() (float64, error) {
	if s.Glycol == Ethylene && s.Basis == ByVolume && math.Abs(s.Percent-50) <= 0.5 {
		return 108, nil
	}
	return 0, refuse(RefusedSource, "take it from the coolant's own data sheet",
		"a sourced boiling point is at hand for ethylene glycol at 50 %% by volume only, not for %.4g %% %s glycol by %s",
		s.Percent, s.Glycol, s.Basis)
}

// Protection is all that is said of one mixture.
type Protection struct {
	Strength Strength  `json:"strength"`
	FreezeC  float64   `json:"freeze_c"`
	FreezeF  float64   `json:"freeze_f"`
	BoilC    *float64  `json:"boil_c"`             // nil: see BoilWhy
	BoilWhy  string    `json:"boil_why,omitempty"` // why there is no boiling point
	Other    *Strength `json:"other_basis"`        // the same mixture on the other basis
	Source   string    `json:"source"`
	Notes    []string  `json:"notes"`
}

// protectionNotes go with every protection; common practice, no source.
var protectionNotes = []string{
	"a freeze point says nothing about the corrosion inhibitor: that ages by time and use",
	"a tester has a scale for one glycol: an ethylene scale misreads propylene glycol",
	"mix with distilled or deionized water only",
}

// Protect gives the protection of a mixture, or refuses.
func Protect(s Strength) (Protection, error) {
	c, err := s.FreezeC()
	if err != nil {
		return Protection{}, err
	}
	p := Protection{Strength: s, FreezeC: c, FreezeF: ToFahrenheit(c), Source: tableSource, Notes: protectionNotes}
	if boil, err := s.BoilC(); err != nil {
		p.BoilWhy = err.Error()
	} else {
		p.BoilC = &boil
	}
	other := ByMass
	if s.Basis == ByMass {
		other = ByVolume
	}
	if o, err := s.In(other); err == nil {
		p.Other = &o
	}
	if s.Basis == ByVolume {
		p.Notes = append(strengthNotes(s.Percent), protectionNotes...)
	}
	return p, nil
}

// strengthNotes warns of a strength by volume that coolants are not made for.
func strengthNotes(percent float64) []string {
	if percent >= 40 && percent <= 60 {
		return nil
	}
	notes := []string{"outside 40 to 60 % by volume, the range for which ASTM D3306 and D6210 vouch for corrosion protection"}
	if percent > 60 { // common practice, no source; the freezing tables show the turn
		notes = append(notes, "above 60 % it carries heat worse, and from about 70 % on it freezes sooner again")
	}
	return notes
}

// FromTester gives the strength by volume that a tester's freezing point
// means. The tester's scale must be made for the glycol in the system.
func FromTester(system, scale Glycol, freezeC float64) (Strength, error) {
	if system != scale {
		return Strength{}, refuse(RefusedTester, "use a tester or a scale made for "+string(system)+" glycol, or a refractometer with both scales",
			"a scale for %s glycol misreads %s glycol", scale, system)
	}
	return StrengthFor(system, freezeC, ByVolume)
}

// ToFahrenheit turns degrees Celsius into degrees Fahrenheit, exactly
// (NIST SP 811, appendix B.8).
func ToFahrenheit(c float64) float64 { return c*1.8 + 32 }

// ToCelsius turns degrees Fahrenheit into degrees Celsius.
func ToCelsius(f float64) float64 { return (f - 32) / 1.8 }

// Liters in the customary units, exact (NIST SP 811, appendix B.8; the US
// gallon is 231 cubic inches).
const (
	LitersPerGallon = 3.785411784
	LitersPerQuart  = LitersPerGallon / 4
	LitersPerPint   = LitersPerGallon / 8
	LitersPerOunce  = LitersPerGallon / 128
)
