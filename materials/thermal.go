package materials

import "math"

// κ [-] of [KerstenCoteKonrad] for unfrozen ground: gravel and coarse sand, medium and
// fine sand, silty and clayey soils, and peat.
// Source: Côté & Konrad, Can. Geotech. J. 42:443, 2005, as read in public model code.
const (
	KappaGravel = 4.60
	KappaSand   = 3.55
	KappaFine   = 1.90
	KappaPeat   = 0.60
)

// Conductivities [W/(m·K)] of what fills the pores, about 0 to 20 °C.
// Source: water, Johansen 1975, as in Peters-Lidard et al. 1998; air, public model code.
const (
	waterLambda = 0.57
	airLambda   = 0.024
)

// quartzLambda is the conductivity [W/(m·K)] of quartz grains, the best conductor of
// the common minerals. Source: Johansen 1975, as in Peters-Lidard et al. 1998.
const quartzLambda = 7.7

// solidsDensity is the density of soil grains [kg/m³]. Source: common practice.
const solidsDensity = 2700

// SolidsJohansen is the conductivity [W/(m·K)] of soil grains of which the share
// q [-] is quartz:
//
//	λ_s = 7.7^q · λ_o^(1−q),  λ_o = 2.0 for q > 0.2, else 3.0
//
// Source: Johansen 1975, as in Peters-Lidard et al. 1998; λ_o = 3.0 from memory.
// Range 0 to 1.
func SolidsJohansen(q float64) float64 {
	other := 3.0
	if q > 0.2 {
		other = 2.0
	}
	return math.Pow(quartzLambda, q) * math.Pow(other, 1-q)
}

// SaturatedJohansen is the conductivity [W/(m·K)] of saturated, unfrozen soil of
// porosity n [-] whose grains conduct solids [W/(m·K)]:
//
//	λ_sat = λ_s^(1−n) · 0.57ⁿ
//
// Source: Johansen 1975, as in Peters-Lidard et al. 1998. Range 0 to 20 °C.
func SaturatedJohansen(solids, n float64) float64 {
	return math.Pow(solids, 1-n) * math.Pow(waterLambda, n)
}

// DryJohansen is the conductivity [W/(m·K)] of dry natural soil of dry density
// ρ_d [kg/m³], grains of 2700 kg/m³:
//
//	λ_dry = (0.135 ρ_d + 64.7)/(2700 − 0.947 ρ_d)
//
// Source: Johansen 1975, as in Peters-Lidard et al. 1998; ±20 %.
func DryJohansen(density float64) float64 {
	return (0.135*density + 64.7) / (2700 - 0.947*density)
}

// DryCoteKonrad is the conductivity [W/(m·K)] of dry soil of porosity n [-]:
//
//	λ_dry = χ 10^(−ηn)
//
// χ [W/(m·K)] and η [-] are 0.75 and 1.20 for natural mineral soils, 1.70 and 1.80 for
// crushed rock, 0.30 and 0.87 for peat.
// Source: Côté & Konrad 2005; mineral soils as read in public model code, the others
// from memory.
func DryCoteKonrad(chi, eta, n float64) float64 { return chi * math.Pow(10, -eta*n) }

// DryJohansenCrushed is the conductivity [W/(m·K)] of dry crushed rock of porosity n [-]:
//
//	λ_dry = 0.039 n^−2.2
//
// Source: Johansen 1975, from memory; ±25 %. +Inf at n = 0.
func DryJohansenCrushed(n float64) float64 { return 0.039 * math.Pow(n, -2.2) }

// KerstenCoarse is the Kersten number Ke [-] of coarse unfrozen soil:
//
//	Ke = 0.7 log₁₀ S + 1
//
// Source: Johansen 1975; Farouki 1981; from memory. Range S > 0.05; below it the
// formula goes on, down to 0.
func KerstenCoarse(S float64) float64 { return max(0.7*math.Log10(S)+1, 0) }

// KerstenFine is the Kersten number Ke [-] of fine unfrozen soil:
//
//	Ke = log₁₀ S + 1
//
// Source: Johansen 1975; Farouki 1981; from memory. Range S > 0.1, where it is 0;
// and 0 below.
func KerstenFine(S float64) float64 { return max(math.Log10(S)+1, 0) }

// KerstenCoteKonrad is the Kersten number Ke [-]:
//
//	Ke = κS/(1 + (κ − 1)S)
//
// Smooth, 0 at S = 0 and 1 at S = 1. S below 0 counts as 0.
// Source: Côté & Konrad 2005, as read in public model code. Range 0 to 1.
func KerstenCoteKonrad(kappa, S float64) float64 {
	S = max(S, 0)
	return kappa * S / (1 + (kappa-1)*S)
}

// MixKersten is λ = λ_dry + (λ_sat − λ_dry) Ke [W/(m·K)].
// Source: Johansen 1975, as in Peters-Lidard et al. 1998.
func MixKersten(dry, saturated, ke float64) float64 { return dry + (saturated-dry)*ke }
