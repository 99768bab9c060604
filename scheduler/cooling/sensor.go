package cooling

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// kelvin is 0 °C in kelvin, exact (SI Brochure, 9th edition, section 2.3.1).
const kelvin = 273.15

// Limits of what a coolant sensor is asked for, degrees Celsius: below and
// above them a reading tells of the circuit and not of coolant.
const (
	sensorMinC = -60
	sensorMaxC = 200
)

// Curve is a negative temperature coefficient sensor: resistance falls as
// temperature rises. Both directions refuse what lies outside its range.
type Curve interface {
	TempC(ohm float64) (float64, error)
	Ohm(tempC float64) (float64, error)
}

// Point is one row of a sensor's table, from the maker's manual or measured.
type Point struct {
	TempC float64 `json:"temp_c"`
	Ohm   float64 `json:"ohm"`
}

// SteinhartHart is 1/T = A + B ln R + C (ln R)^3, T in kelvin and R in ohm
// (Steinhart and Hart, Deep-Sea Research 15, 1968, 497-503).
type SteinhartHart struct {
	A float64 `json:"a"`
	B float64 `json:"b"`
	C float64 `json:"c"`
}

// TempC gives the temperature of a resistance. It refuses resistances that
// are not above 0 and temperatures outside sensorMinC to sensorMaxC.
func (s SteinhartHart) TempC(ohm float64) (float64, error) {
	if err := checkOhm(ohm); err != nil {
		return 0, err
	}
	l := math.Log(ohm)
	inverse := s.A + l*(s.B+s.C*l*l)
	if !(inverse > 0) || s.B+3*s.C*l*l <= 0 {
		return 0, outsideSensor(ohm)
	}
	return checkSensorC(1/inverse-kelvin, ohm)
}

// Ohm gives the resistance at a temperature: the real root of the cubic in
// ln R, found by bisection between 0.01 ohm and 100 Mohm.
func (s SteinhartHart) Ohm(tempC float64) (float64, error) {
	if !(tempC >= sensorMinC && tempC <= sensorMaxC) {
		return 0, outsideC(tempC)
	}
	inverse := 1 / (tempC + kelvin)
	low, high := math.Log(1e-2), math.Log(1e8)
	if s.C < 0 { // the cubic turns back beyond these
		turn := math.Sqrt(max(s.B, 0) / (-3 * s.C))
		low, high = max(low, -turn), min(high, turn)
	}
	at := func(l float64) float64 { return s.A + l*(s.B+s.C*l*l) - inverse }
	if !(at(low) <= 0 && at(high) >= 0) {
		return 0, outsideC(tempC)
	}
	for range 200 { // bisection: slow, sure, and exact to the last bit
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			break
		}
		if at(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Exp(high), nil
}

// FitSteinhartHart fits the three constants: through three points exactly,
// by least squares in 1/T through more. It refuses fewer than three points,
// equal temperatures, and points whose resistance does not fall.
func FitSteinhartHart(points []Point) (SteinhartHart, error) {
	sorted, err := falling(points, 3)
	if err != nil {
		return SteinhartHart{}, err
	}
	x := mat.NewDense(len(sorted), 3, nil)
	y := mat.NewVecDense(len(sorted), nil)
	for i, p := range sorted {
		l := math.Log(p.Ohm)
		x.SetRow(i, []float64{1, l, l * l * l})
		y.SetVec(i, 1/(p.TempC+kelvin))
	}
	var c mat.VecDense
	if err := c.SolveVec(x, y); err != nil {
		return SteinhartHart{}, refuse(RefusedPoints, "give points further apart", "the points do not settle three constants")
	}
	fit := SteinhartHart{A: c.AtVec(0), B: c.AtVec(1), C: c.AtVec(2)}
	for _, p := range sorted {
		if l := math.Log(p.Ohm); fit.B+3*fit.C*l*l <= 0 {
			return SteinhartHart{}, refuse(RefusedPoints, "check the points for a slip; use a beta fit for two points",
				"no falling curve goes through these points")
		}
	}
	return fit, nil
}

// Beta is R = R0 exp(B (1/T - 1/T0)), temperatures in kelvin.
type Beta struct {
	R0Ohm float64 `json:"r0_ohm"`
	T0C   float64 `json:"t0_c"`
	BetaK float64 `json:"beta_k"` // kelvin
}

// TempC gives the temperature of a resistance.
func (b Beta) TempC(ohm float64) (float64, error) {
	if err := checkOhm(ohm); err != nil {
		return 0, err
	}
	inverse := 1/(b.T0C+kelvin) + math.Log(ohm/b.R0Ohm)/b.BetaK
	if !(inverse > 0) {
		return 0, outsideSensor(ohm)
	}
	return checkSensorC(1/inverse-kelvin, ohm)
}

// Ohm gives the resistance at a temperature.
func (b Beta) Ohm(tempC float64) (float64, error) {
	if !(tempC >= sensorMinC && tempC <= sensorMaxC) {
		return 0, outsideC(tempC)
	}
	return b.R0Ohm * math.Exp(b.BetaK*(1/(tempC+kelvin)-1/(b.T0C+kelvin))), nil
}

// FitBeta fits beta by least squares of ln R on 1/T; R0 is the fit's value at
// the first point's temperature. It needs two points.
func FitBeta(points []Point) (Beta, error) {
	sorted, err := falling(points, 2)
	if err != nil {
		return Beta{}, err
	}
	var n, sx, sy float64
	for _, p := range sorted {
		n, sx, sy = n+1, sx+1/(p.TempC+kelvin), sy+math.Log(p.Ohm)
	}
	var sxx, sxy float64
	for _, p := range sorted {
		dx := 1/(p.TempC+kelvin) - sx/n
		sxx += dx * dx
		sxy += dx * (math.Log(p.Ohm) - sy/n)
	}
	b := Beta{T0C: points[0].TempC, BetaK: sxy / sxx}
	b.R0Ohm = math.Exp(sy/n + b.BetaK*(1/(b.T0C+kelvin)-sx/n))
	return b, nil
}

// Fitted is a curve that knows from which rows it was fitted. It answers
// beyond them too; ReadOhm marks that.
type Fitted struct {
	Curve
	MinC, MaxC float64
}

// beyondC is how far past its outer rows a fitted curve is still believed, °C.
// Common practice, no source.
const beyondC = 10

// FitCurve fits a curve to the rows of a sensor's table: beta through two,
// Steinhart-Hart through more.
func FitCurve(points []Point) (Fitted, error) {
	sorted, err := falling(points, 2)
	if err != nil {
		return Fitted{}, err
	}
	f := Fitted{MinC: sorted[0].TempC, MaxC: sorted[len(sorted)-1].TempC}
	if len(sorted) < 3 {
		f.Curve, err = FitBeta(points)
	} else {
		f.Curve, err = FitSteinhartHart(points)
	}
	return f, err
}

func (f Fitted) covers(c float64) bool { return c >= f.MinC-beyondC && c <= f.MaxC+beyondC }

func (f Fitted) beyond() string {
	return fmt.Sprintf("a guess: the rows of the table reach from %.4g to %.4g °C; add one near it", f.MinC, f.MaxC)
}

// AtTemp gives the resistance to expect at a temperature, and its state.
func (f Fitted) AtTemp(tempC float64) (ohm float64, r Reading, err error) {
	if ohm, err = f.Ohm(tempC); err != nil {
		return 0, Reading{}, err
	}
	if !f.covers(tempC) {
		return ohm, read(StateBeyond, tempC, f.beyond()), nil
	}
	return ohm, read(StateGood, tempC, "by the curve"), nil
}

// falling sorts points by temperature and refuses those that are too few, out
// of range, or whose resistance does not fall as temperature rises.
func falling(points []Point, atLeast int) ([]Point, error) {
	if len(points) < atLeast {
		return nil, refuse(RefusedPoints, "read more rows of the sensor's table, far apart", "%d points are too few, %d are needed", len(points), atLeast)
	}
	sorted := append([]Point(nil), points...)
	sort.Slice(sorted, func(i, j int) bool { return sorted[i].TempC < sorted[j].TempC })
	for i, p := range sorted {
		if !(p.TempC >= sensorMinC && p.TempC <= sensorMaxC) {
			return nil, outsideC(p.TempC)
		}
		if err := checkOhm(p.Ohm); err != nil {
			return nil, err
		}
		if i > 0 && (p.TempC == sorted[i-1].TempC || p.Ohm >= sorted[i-1].Ohm) {
			return nil, refuse(RefusedPoints, "check the figures: a coolant sensor's resistance falls as it warms",
				"%.6g ohm at %.4g °C does not lie below %.6g ohm at %.4g °C", p.Ohm, p.TempC, sorted[i-1].Ohm, sorted[i-1].TempC)
		}
	}
	return sorted, nil
}

// checkOhm refuses resistances that are no figure above 0.
func checkOhm(ohm float64) error {
	if !(ohm > 0) || math.IsInf(ohm, 0) {
		return refuse(RefusedInput, "measure at the sensor, unplugged; 0 is a short, no reading is an open circuit",
			"%.6g ohm is not a resistance that tells a temperature", ohm)
	}
	return nil
}

// checkSensorC refuses temperatures that no coolant has.
func checkSensorC(c, ohm float64) (float64, error) {
	if !(c >= sensorMinC && c <= sensorMaxC) {
		return 0, outsideSensor(ohm)
	}
	return c, nil
}

func outsideSensor(ohm float64) error {
	return refuse(RefusedRange, "look for a broken or touching wire before believing it",
		"%.6g ohm means no temperature from %d to %d °C on this sensor", ohm, sensorMinC, sensorMaxC)
}

func outsideC(c float64) error {
	return refuse(RefusedRange, "give a temperature that coolant can have", "%.4g °C is outside %d to %d °C", c, sensorMinC, sensorMaxC)
}
