package materials

import "math"

// temperatureFloor bounds f_T from below [-]. Both laws are made for 15 °C and
// up; run far below that they would reach zero near −28 °C and turn negative.
// Ground so cold is frozen, which no law here describes: the floor only keeps the
// operator positive.
const temperatureFloor = 0.05

// saturationLaw is f_S with the exponents that need no power function set apart.
type saturationLaw uint8

const (
	saturationNone   saturationLaw = iota // found dry: f_S = 1
	saturationOne                         // n = 1
	saturationTwo                         // n = 2
	saturationAnyExp                      // n > 1
)

// Conductivity is one soil's electrical conductivity,
//
//	σ(T, S) = σ_found · f_T(min(T, T_b)) · f_S(S)   [S/m]
//
// f_T is one of
//
//	linear     1 + a (T − T_ref)
//	viscosity  μ(T_ref)/μ(T)
//
// and not below 0.05. Above 30 °C both are extrapolations; they differ (2.4
// against 3.2 from 25 to 100 °C). Above the boiling point T_b the pore water is
// going, and f_T stays what it was at T_b.
// Source: linear, Hayashi, Environ. Monit. Assess. 96:119, 2004, abstract: natural
// waters from 0 to 30 °C rise by 0.0175 to 0.0198 of σ(25 °C) per kelvin, 0.0187 on
// average; viscosity, Walden's rule, from memory, with IAPWS R12-08.
//
// f_S takes pore water and grain surfaces together, with s = S/S₀ relative to the
// saturation found and g the share of the surfaces:
//
//	law(s) = (1 − g) sⁿ + g sⁿ⁻¹
//	f_S    = res + (1 − res) (law(s) − law(s_dry)) / (1 − law(s_dry)),  s ≥ s_dry
//
// so that f_S is 1 as found, falls without a jump to the residual res at S_dry,
// and stays there below it. Wetter than found (s > 1) the same law goes on, to full
// pores; S above 1, which a cell may hold for a step, counts as 1.
// A soil found at or below S_dry has f_S = 1.
// Source: Waxman & Smits, SPE J. 8(2), 1968, from memory, whose σ ∝ Sⁿ(σ_w + B·Q_v/S)
// it is, scaled to the state found; the straight scaling to the residual is a
// choice. Range S_dry ≤ S ≤ 1.
//
// At n = 1 the surface term is constant and drops out of the scaling: f_S is then
// straight whatever g, also at g = 1, where the formula would be 0/0.
type Conductivity struct {
	found float64 // σ as found [S/m]

	law    TemperatureLaw
	a, b   float64 // linear: f_T = b + a T, a in 1/K
	ref    float64 // viscosity: 1/fluidity at T_ref [Pa·s]
	fluid  *Water
	shape  saturationLaw
	perS0  float64 // 1/S₀
	sDry   float64 // S_dry/S₀
	n1     float64 // n − 1
	g      float64
	spread float64 // (1 − res)/(1 − law(s_dry))
}

// Conductivity prepares the soil's conductivity; w is kept and only read.
func (s *Soil) Conductivity(w *Water) *Conductivity {
	ref, _ := w.Fluidity(s.ResistivityAt)
	c := &Conductivity{
		found: 1 / s.Resistivity,
		law:   s.TemperatureLaw,
		a:     s.TemperatureCoeff,
		b:     1 - s.TemperatureCoeff*s.ResistivityAt,
		ref:   1 / ref,
		fluid: w,
		n1:    s.SaturationExponent - 1,
		g:     s.GrainShare,
	}
	if s.Saturation <= max(s.DrySaturation, leastSaturation) {
		return c
	}
	c.perS0 = 1 / s.Saturation
	c.sDry = s.DrySaturation * c.perS0
	switch s.SaturationExponent {
	case 1:
		c.shape, c.g = saturationOne, 0
	case 2:
		c.shape = saturationTwo
	default:
		c.shape = saturationAnyExp
	}
	c.spread = (1 - s.ResidualConductivity) / (1 - c.relative(c.sDry))
	return c
}

// relative is law(s) = sⁿ⁻¹ ((1 − g) s + g).
func (c *Conductivity) relative(s float64) float64 {
	mix := (1-c.g)*s + c.g
	switch c.shape {
	case saturationOne:
		return s
	case saturationTwo:
		return s * mix
	}
	return math.Pow(s, c.n1) * mix
}

// FactorT is f_T [-] at T [K], boiling point Tb [K].
func (c *Conductivity) FactorT(T, Tb float64) float64 {
	T = min(T, Tb)
	if c.law == LawLinear {
		return max(c.b+c.a*T, temperatureFloor)
	}
	f, _ := c.fluid.Fluidity(T)
	return max(f*c.ref, temperatureFloor)
}

// FactorS is f_S [-] at saturation S [-].
func (c *Conductivity) FactorS(S float64) float64 {
	if c.shape == saturationNone {
		return 1
	}
	return 1 - c.spread*(1-c.relative(max(min(S, 1)*c.perS0, c.sDry)))
}

// Sigma is σ [S/m] at T [K], saturation S [-] and boiling point Tb [K].
func (c *Conductivity) Sigma(T, S, Tb float64) float64 {
	return c.found * c.FactorT(T, Tb) * c.FactorS(S)
}

// SigmaTo sets dst to σ [S/m] at T [K], saturation S [-] and boiling point Tb [K],
// cell by cell as [Conductivity.Sigma] does. The three have one length; dst may be S
// itself.
func (c *Conductivity) SigmaTo(dst, T, S []float64, Tb float64) {
	n := len(dst)
	if len(T) != n || len(S) != n {
		panic("materials: SigmaTo: slice lengths differ")
	}
	// One pass a factor, so that each law is chosen once a field and not once a cell.
	switch c.shape {
	case saturationNone:
		for i := range dst {
			dst[i] = 1
		}
	case saturationOne:
		for i, s := range S {
			dst[i] = 1 - c.spread*(1-max(min(s, 1)*c.perS0, c.sDry))
		}
	case saturationTwo:
		for i, s := range S {
			s = max(min(s, 1)*c.perS0, c.sDry)
			dst[i] = 1 - c.spread*(1-s*((1-c.g)*s+c.g))
		}
	case saturationAnyExp:
		for i, s := range S {
			s = max(min(s, 1)*c.perS0, c.sDry)
			dst[i] = 1 - c.spread*(1-math.Pow(s, c.n1)*((1-c.g)*s+c.g))
		}
	}
	if c.law == LawLinear {
		for i, T := range T {
			dst[i] *= c.found * max(c.b+c.a*min(T, Tb), temperatureFloor)
		}
	} else {
		for i, T := range T {
			f, _ := c.fluid.Fluidity(min(T, Tb))
			dst[i] *= c.found * max(f*c.ref, temperatureFloor)
		}
	}
}
