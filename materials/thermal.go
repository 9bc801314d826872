package materials

import "math"

// KappaFine is κ [-] of [KerstenCoteKonrad] for silty and clayey soils, unfrozen:
// the one this package's λ(S) uses. Others, unfrozen: gravel and coarse sand 4.60,
// medium and fine sand 3.55, peat 0.60.
// Source: Côté & Konrad, Can. Geotech. J. 42:443, 2005, as read in public model code.
const KappaFine = 1.90

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
	return math.Pow(7.7, q) * math.Pow(other, 1-q)
}

// SaturatedJohansen is the conductivity [W/(m·K)] of saturated, unfrozen soil of
// porosity n [-] whose grains conduct solids [W/(m·K)]:
//
//	λ_sat = λ_s^(1−n) · 0.57ⁿ
//
// Source: Johansen 1975, as in Peters-Lidard et al. 1998. Range 0 to 20 °C.
func SaturatedJohansen(solids, n float64) float64 {
	return math.Pow(solids, 1-n) * math.Pow(0.57, n)
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
// χ [W/(m·K)] and η [-] are 0.75 and 1.20 for natural mineral soils.
// Source: Côté & Konrad 2005, as read in public model code.
func DryCoteKonrad(chi, eta, n float64) float64 { return chi * math.Pow(10, -eta*n) }

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

// DryConductivity is λ_dry [W/(m·K)] of ground for which only the porosity [-] and
// the conductivity as found [W/(m·K)] are known: [DryJohansen] with the density of
// grains of 2700 kg/m³, and not above the value found. The cap acts in pavement
// and rock, for which the formula was not made.
func DryConductivity(porosity, found float64) float64 {
	return min(DryJohansen((1-porosity)*solidsDensity), found)
}

// Thermal is one soil's thermal conductivity,
//
//	λ(S) = λ_dry + (λ_found − λ_dry) Ke(S)/Ke(S₀)   [W/(m·K)]
//
// Ke of [KerstenCoteKonrad] with κ = [KappaFine]: the value found at the
// saturation found, λ_dry at S = 0. A soil found without water keeps its value.
// Source: Johansen 1975; Côté & Konrad 2005. Range 0 ≤ S ≤ 1; λ does not change
// with temperature (water's own rises by a tenth from 20 to 100 °C). A value found
// at low S₀ is far from the wet one, so the wet one is then uncertain.
type Thermal struct {
	dry  float64 // [W/(m·K)]
	rise float64 // κ (λ_found − λ_dry)/Ke(S₀) [W/(m·K)]
}

// Thermal prepares the soil's thermal conductivity.
func (s *Soil) Thermal() *Thermal {
	if s.Saturation <= 0 {
		return &Thermal{dry: s.ThermalConductivity}
	}
	dry := s.ThermalConductivityDry
	if dry == 0 {
		dry = DryConductivity(s.Porosity, s.ThermalConductivity)
	}
	return &Thermal{
		dry:  dry,
		rise: KappaFine * (s.ThermalConductivity - dry) / KerstenCoteKonrad(KappaFine, s.Saturation),
	}
}

// Lambda is λ [W/(m·K)] at saturation S [-].
func (c *Thermal) Lambda(S float64) float64 {
	S = max(S, 0)
	return c.dry + c.rise*S/(1+(KappaFine-1)*S)
}

// LambdaTo sets dst to λ [W/(m·K)] at saturation S [-]. The two have one length.
func (c *Thermal) LambdaTo(dst, S []float64) {
	if len(S) != len(dst) {
		panic("materials: LambdaTo: slice lengths differ")
	}
	for i := range dst {
		dst[i] = c.Lambda(S[i])
	}
}
