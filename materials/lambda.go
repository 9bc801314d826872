package materials

import (
	"fmt"
	"math"
)

// Kind says what the ground is made of.
type Kind uint8

const (
	KindSoil Kind = iota
	KindRock      // with its primary pores; fractures are not part of it
)

// Texture says how coarse a soil's grains are.
type Texture uint8

const (
	TextureFine   Texture = iota // silt and clay
	TextureGravel                // gravel and coarse sand
	TextureSand                  // medium and fine sand
	TexturePeat                  // organic, fibrous
)

// ThermalLaw chooses how the thermal conductivity rises with saturation.
type ThermalLaw uint8

const (
	ThermalCoteKonrad    ThermalLaw = iota // Kersten number with κ by texture
	ThermalJohansen                        // Kersten number by the logarithm of S, coarse or fine
	ThermalGeometricMean                   // of rock, water and air by their volumes
)

// kersten are the constants of [KerstenCoteKonrad] by texture. κ − 1 stands beside κ
// because the compiler rounds it once, where a subtraction at run time would not.
var kersten = [...]struct {
	kappa, less float64
	name        string
}{
	TextureFine:   {KappaFine, KappaFine - 1, "silt and clay"},
	TextureGravel: {KappaGravel, KappaGravel - 1, "gravel and coarse sand"},
	TextureSand:   {KappaSand, KappaSand - 1, "medium and fine sand"},
	TexturePeat:   {KappaPeat, KappaPeat - 1, "peat"},
}

// grain is the texture by which the laws of soil take the ground: rock under them is
// crushed rock, which conducts as gravel does.
func (s *Soil) grain() Texture {
	if s.Kind == KindRock {
		return TextureGravel
	}
	return s.Texture
}

// DryConductivity is λ_dry [W/(m·K)] of soil for which only the porosity [-] and
// the conductivity as found [W/(m·K)] are known: [DryJohansen] with the density of
// grains of 2700 kg/m³, and not above the value found. The cap acts in pavement,
// for which the formula was not made.
//
// Both laws of mineral soil take it. Côté & Konrad's own formula, [DryCoteKonrad], is
// within 14 % of it at porosities of 0.25 to 0.6, less than Johansen's own ±20 %.
func DryConductivity(porosity, found float64) float64 {
	return min(DryJohansen((1-porosity)*solidsDensity), found)
}

// LambdaDry is λ_dry [W/(m·K)] by the soil's law from its porosity, saturation and
// conductivity as found, not above that:
//
//	mineral soil                   [DryConductivity]
//	peat                           [DryCoteKonrad] with χ = 0.30, η = 0.87
//	crushed rock, Côté & Konrad    [DryCoteKonrad] with χ = 1.70, η = 1.80
//	crushed rock, Johansen         [DryJohansenCrushed]
//	geometric mean                 λ_found (λ_air/λ_water)^(φ S₀)
//
// Sources: those of the formulas; geometric mean as [Thermal].
func (s *Soil) LambdaDry() float64 {
	found, n := s.ThermalConductivity, s.Porosity
	switch {
	case s.ThermalLaw == ThermalGeometricMean:
		return found * math.Pow(airLambda/waterLambda, n*s.Saturation)
	case s.Kind == KindRock:
		return min(s.dryCrushed(), found)
	case s.Texture == TexturePeat:
		return min(DryCoteKonrad(0.30, 0.87, n), found)
	}
	return DryConductivity(n, found)
}

// dryCrushed is λ_dry [W/(m·K)] of crushed rock by the soil's law.
func (s *Soil) dryCrushed() float64 {
	if s.ThermalLaw == ThermalJohansen {
		return DryJohansenCrushed(s.Porosity)
	}
	return DryCoteKonrad(1.70, 1.80, s.Porosity)
}

// DryHeld reports whether [Soil.LambdaDry] of rock under a law of crushed rock is not the
// law's, which would be above the value as found.
func (s *Soil) DryHeld() bool {
	return s.Kind == KindRock && s.ThermalLaw != ThermalGeometricMean && s.dryCrushed() > s.ThermalConductivity
}

// LambdaLaw names the law of λ(S), and dry that of λ_dry where it is left to the law.
func (s *Soil) LambdaLaw() (law, dry string) {
	switch g := kersten[s.grain()]; {
	case s.ThermalLaw == ThermalGeometricMean:
		return "geometric mean of rock, water and air by volume", "the same mean without water"
	case s.ThermalLaw == ThermalJohansen:
		a, size := s.logarithm()
		law = fmt.Sprintf("Johansen (1975), %s, straight to dry below S = %.2g", size, joinOf(a))
	case s.Kind == KindRock:
		law = fmt.Sprintf("Côté & Konrad (2005), crushed rock as gravel, κ = %.2f", g.kappa)
	default:
		law = fmt.Sprintf("Côté & Konrad (2005), %s, κ = %.2f", g.name, g.kappa)
	}
	switch {
	case s.Kind == KindRock && s.ThermalLaw == ThermalJohansen:
		dry = "Johansen (1975) for crushed rock"
	case s.Kind == KindRock:
		dry = "Côté & Konrad (2005) for crushed rock"
	case s.Texture == TexturePeat:
		dry = "Côté & Konrad (2005) for peat"
	default:
		dry = "Johansen (1975)"
	}
	return law, dry + " from porosity, not above the value as found"
}

// logarithm is a of Johansen's Ke = a log₁₀ S + 1, and the size it is for.
func (s *Soil) logarithm() (a float64, size string) {
	if g := s.grain(); g == TextureGravel || g == TextureSand {
		return 0.7, "coarse"
	}
	return 1, "fine"
}

// joinOf is the saturation [-] at which the tangent of a log₁₀ S + 1 runs through the
// origin: there a log₁₀ S + 1 = a/ln 10.
func joinOf(a float64) float64 { return math.Pow(10, 1/math.Ln10-1/a) }

// lambdaShape is the form of λ(S).
type lambdaShape uint8

const (
	lambdaConstant    lambdaShape = iota // found without water
	lambdaHyperbola                      // Côté & Konrad
	lambdaLogarithm                      // Johansen
	lambdaExponential                    // geometric mean
)

// Thermal is one soil's thermal conductivity [W/(m·K)] by its law,
//
//	Kersten number    λ(S) = λ_dry + (λ_found − λ_dry) Ke(S)/Ke(S₀)
//	geometric mean    λ(S) = λ_dry (λ_found/λ_dry)^(S/S₀)
//
// the value found at the saturation found, λ_dry at S = 0. Ke is [KerstenCoteKonrad]
// with κ by texture; or Johansen's logarithm ([KerstenCoarse], [KerstenFine]), which
// would reach 0 at a saturation of 0.04 or 0.1, where ground found that dry could not
// be scaled: below the point where its tangent runs through the origin, S = 0.10
// (coarse) or 0.27 (fine), Ke is that tangent. With [Soil.LambdaDry] the geometric
// mean is that of rock, water and air by their volumes,
//
//	λ(S) = λ_rock^(1−φ) λ_water^(φS) λ_air^(φ(1−S))
//
// Wetter than found, λ is not above that of full pores between quartz grains,
// [SaturatedJohansen], or the value found if that is higher: a value found at a low S₀
// is far from the wet one, which is then uncertain. S counts as 0 below 0 and as 1
// above 1. Ground found without water keeps its value.
//
// Source: Johansen 1975; Côté & Konrad 2005; geometric mean, Woodside & Messmer, J.
// Appl. Phys. 32:1699, 1961, from memory. Range 0 ≤ S ≤ 1; λ does not change with
// temperature (water's own rises by a tenth from 20 to 100 °C).
type Thermal struct {
	shape lambdaShape
	dry   float64 // [W/(m·K)]
	most  float64 // [W/(m·K)]
	rise  float64 // (λ_found − λ_dry)/Ke(S₀) [W/(m·K)], of the hyperbola times κ
	less  float64 // κ − 1 [-]
	a     float64 // [-] of the logarithm, to the base e
	join  float64 // saturation [-] below which the logarithm's tangent holds
	slope float64 // of that tangent [-]
	power float64 // ln(λ_found/λ_dry)/S₀ [-]
}

// Thermal prepares the soil's thermal conductivity.
func (s *Soil) Thermal() *Thermal {
	found := s.ThermalConductivity
	if s.Saturation < leastSaturation {
		return &Thermal{dry: found}
	}
	dry := s.ThermalConductivityDry
	if dry == 0 {
		dry = s.LambdaDry()
	}
	c := &Thermal{dry: dry, most: max(found, SaturatedJohansen(quartzLambda, s.Porosity))}
	switch s.ThermalLaw {
	case ThermalGeometricMean:
		c.shape, c.power = lambdaExponential, math.Log(found/dry)/s.Saturation
	case ThermalJohansen:
		a, _ := s.logarithm()
		c.shape, c.a, c.join = lambdaLogarithm, a/math.Ln10, joinOf(a)
		c.slope = c.a / c.join
		c.rise = (found - dry) / c.logarithm(s.Saturation)
	default:
		g := kersten[s.grain()]
		c.shape, c.less = lambdaHyperbola, g.less
		c.rise = g.kappa * (found - dry) / KerstenCoteKonrad(g.kappa, s.Saturation)
	}
	return c
}

// logarithm is Johansen's Ke(S) with its tangent, S from 0 to 1.
func (c *Thermal) logarithm(S float64) float64 {
	if S < c.join {
		return c.slope * S
	}
	return c.a*math.Log(S) + 1
}

// within is S between 0 and 1.
func within(S float64) float64 { return min(max(S, 0), 1) }

// Lambda is λ [W/(m·K)] at saturation S [-].
func (c *Thermal) Lambda(S float64) float64 {
	S = within(S)
	switch c.shape {
	case lambdaHyperbola:
		return min(c.dry+c.rise*S/(1+c.less*S), c.most)
	case lambdaLogarithm:
		return min(c.dry+c.rise*c.logarithm(S), c.most)
	case lambdaExponential:
		return min(c.dry*math.Exp(c.power*S), c.most)
	}
	return c.dry
}

// AtMost is the highest λ [W/(m·K)] that the law gives, and whether that is where it is
// held and not where it leads.
func (c *Thermal) AtMost() (lambda float64, held bool) {
	lambda = c.Lambda(1)
	free := *c
	free.most = math.Inf(1)
	return lambda, lambda < free.Lambda(1)
}

// LambdaTo sets dst to λ [W/(m·K)] at saturation S [-]. The two have one length.
func (c *Thermal) LambdaTo(dst, S []float64) {
	if len(S) != len(dst) {
		panic("materials: LambdaTo: slice lengths differ")
	}
	switch c.shape {
	case lambdaConstant:
		for i := range dst {
			dst[i] = c.dry
		}
	case lambdaHyperbola:
		for i, s := range S {
			s = within(s)
			dst[i] = min(c.dry+c.rise*s/(1+c.less*s), c.most)
		}
	case lambdaLogarithm:
		for i, s := range S {
			dst[i] = min(c.dry+c.rise*c.logarithm(within(s)), c.most)
		}
	case lambdaExponential:
		for i, s := range S {
			dst[i] = min(c.dry*math.Exp(c.power*within(s)), c.most)
		}
	}
}
