package materials

import (
	"math"
	"sync"
)

const (
	// Gravity is the standard acceleration of free fall g [m/s²].
	// Source: ISO 80000-3; ISO 2533.
	Gravity = 9.80665

	// RhoWater is the constant density of liquid water ρ_w [kg/m³] in every
	// balance of mass and in every water column: that of 20 °C. The true density
	// falls by 4 % to 100 °C ([LiquidDensity]), and that is neglected.
	RhoWater = 998.2

	// Celsius is 0 °C [K].
	Celsius = 273.15
)

// LiquidDensity is the density [kg/m³] of liquid water on the saturation line at T [K].
//
// Source: IAPWS R7-97(2012), regions 1 and 4. Range 273.15 to 623.15 K; used here
// to 453.15 K. NaN below 273.15 K.
func LiquidDensity(T float64) float64 {
	v, _, _ := Region1(SaturationPressure(T), T)
	return 1 / v
}

// LiquidEnthalpy is the enthalpy h′ [J/kg] of liquid water on the saturation line
// at T [K], counted from the liquid at the triple point.
//
// Source and range as [LiquidDensity].
func LiquidEnthalpy(T float64) float64 {
	_, h, _ := Region1(SaturationPressure(T), T)
	return h
}

// VapourEnthalpy is the enthalpy h″ [J/kg] of steam on the saturation line at
// T [K], counted from the liquid at the triple point.
//
// Source: IAPWS R7-97(2012), regions 2 and 4. Range as [LiquidDensity].
func VapourEnthalpy(T float64) float64 {
	_, h := Region2(SaturationPressure(T), T)
	return h
}

// LatentHeat is h″ − h′ [J/kg] at T [K]. Source and range as [VapourEnthalpy].
func LatentHeat(T float64) float64 { return VapourEnthalpy(T) - LiquidEnthalpy(T) }

// AirPressure is the pressure [Pa] of the standard atmosphere at an elevation
// z [m] above sea level:
//
//	p = p₀ (1 − βH/T₀)^(g/(βR)),  H = r z/(r + z)
//
// with p₀ = 101 325 Pa, T₀ = 288.15 K, β = 0.0065 K/m, R = 287.05287 J/(kg·K),
// r = 6 356 766 m. Weather moves it by some ±2 % (common practice).
//
// Source: ISO 2533:1975, from memory. Range −2 to 11 km; outside the equation is
// evaluated as it stands.
func AirPressure(z float64) float64 {
	const p0, t0, lapse, gasAir, radius = 101325, 288.15, 0.0065, 287.05287, 6356766
	geopotential := radius * z / (radius + z)
	return p0 * math.Pow(1-lapse*geopotential/t0, Gravity/(lapse*gasAir))
}

// TableMin and TableMax bound the tables of [Water] [K]: 0 and 180 °C.
const (
	TableMin = Celsius
	TableMax = Celsius + curveCells
)

// curveCells is the number of cells of a curve, each 1 K wide.
const curveCells = 180

// curve is a function of temperature on 0 to 180 °C: a cubic per kelvin that
// takes value and slope at both its ends (Hermite), so the whole is C¹.
type curve struct {
	c [curveCells][4]float64 // value and derivatives' coefficients in u = T − node [K], rising order
}

// newCurve tables f. Slopes come from a five-point difference over ±0.2 K, whose
// error f⁗′·(0.1 K)⁴/30 is far below that of the cubic itself.
func newCurve(f func(T float64) float64) curve {
	const d = 0.1
	var out curve
	at := func(i int) (value, slope float64) {
		T := TableMin + float64(i)
		return f(T), (8*(f(T+d)-f(T-d)) - (f(T+2*d) - f(T-2*d))) / (12 * d)
	}
	f0, s0 := at(0)
	for i := range out.c {
		f1, s1 := at(i + 1)
		rise := f1 - f0
		out.c[i] = [4]float64{f0, s0, 3*rise - 2*s0 - s1, s0 + s1 - 2*rise}
		f0, s0 = f1, s1
	}
	return out
}

// at gives value and slope at T [K]. Outside the table the curve is a straight
// line with the slope of its end. NaN gives NaN.
func (k *curve) at(T float64) (f, dfdT float64) {
	u := T - TableMin
	in := u
	if !(in > 0) { // also NaN, which must not reach the index
		in = 0
	} else if in > curveCells {
		in = curveCells
	}
	i := min(uint(in), curveCells-1)
	c := &k.c[i]
	x := in - float64(i)
	dfdT = c[1] + x*(2*c[2]+3*x*c[3])
	return c[0] + x*(c[1]+x*(c[2]+x*c[3])) + dfdT*(u-in), dfdT
}

// Water is the liquid on the saturation line as fast tables, for the loops over cells. It
// is immutable once made, so any number of goroutines may read it.
//
// Each quantity is cubic within a kelvin and C¹ throughout. Between 0 and 180 °C it
// differs from the equations by less than 1e-3 J/kg (enthalpy) and 1e-8 relative
// (fluidity); the tests measure it. Outside, the straight line of the end's slope goes
// on: ground near the surface may be colder in winter (no ice: water stays liquid), and
// dried ground may be hotter, where it holds no water that would count.
type Water struct {
	liquid, fluid curve
}

// NewWater returns the tables, which all share: they are computed, by some 1800
// evaluations of the equations, when they are first asked for.
func NewWater() *Water { return water() }

var water = sync.OnceValue(func() *Water {
	// The differences at 0 °C reach 0.2 K below it, where the equations go on
	// smoothly (supercooled liquid), hence saturationPressure without its range.
	liquid := func(T float64) (v, h float64) {
		v, h, _ = Region1(saturationPressure(T), T)
		return v, h
	}
	return &Water{
		liquid: newCurve(func(T float64) float64 {
			_, h := liquid(T)
			return h
		}),
		fluid: newCurve(func(T float64) float64 {
			v, _ := liquid(T)
			return 1 / Viscosity(1/v, T)
		}),
	}
})

// Enthalpy gives h_w [J/kg] of saturated liquid water at T [K] and its derivative
// along the saturation line [J/(kg·K)]; strictly rising. See [LiquidEnthalpy].
func (w *Water) Enthalpy(T float64) (h, dhdT float64) { return w.liquid.at(T) }

// EnthalpyCubic gives the cubic that Enthalpy is over the kelvin round T [K],
//
//	h_w(node + x) = c₀ + c₁x + c₂x² + c₃x³,  0 ≤ x ≤ 1
//
// in J/kg and kelvin; nil outside the table.
func (w *Water) EnthalpyCubic(T float64) (c *[4]float64, node float64) {
	u := T - TableMin
	if !(u >= 0 && u < curveCells) {
		return nil, 0
	}
	i := min(uint(u), curveCells-1)
	return &w.liquid.c[i], TableMin + float64(i)
}

// Fluidity gives 1/μ [1/(Pa·s)] of saturated liquid water at T [K] and its
// derivative [1/(Pa·s·K)]; strictly rising. Below 0 °C its straight line reaches
// zero near −30 °C: a law built on it needs a floor. See [Viscosity], at the density of
// [LiquidDensity].
func (w *Water) Fluidity(T float64) (f, dfdT float64) { return w.fluid.at(T) }
