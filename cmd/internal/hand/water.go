package hand

import (
	"math"

	"soiljoule/materials"
)

// Pressure is the absolute pressure [Pa] in the pores at a depth [m], in ground with
// its water table at a depth [m] (+Inf: none), at an elevation [m] above sea level,
// under an applied vacuum [Pa]:
//
//	p = p_air(elevation) − vacuum + ρ_w g · max(depth − table, 0)
//
// Source: hydrostatics; air as [materials.AirPressure].
func Pressure(depth, table, elevation, vacuum float64) float64 {
	return materials.AirPressure(elevation) - vacuum + materials.RhoWater*materials.Gravity*math.Max(depth-table, 0)
}

// BoilingPoint is the temperature [K] at which water boils under [Pressure].
// Source: IAPWS R7-97(2012), region 4. NaN below 611 Pa and above 22.064 MPa.
func BoilingPoint(depth, table, elevation, vacuum float64) float64 {
	return materials.SaturationTemperature(Pressure(depth, table, elevation, vacuum))
}

// WaterHeat is the heat [J/m³ of water] that warms water from one temperature to
// another [K], both 0 to 350 °C: ρ_w · (h_w(to) − h_w(from)).
// Source: IAPWS R7-97(2012), with the constant ρ_w of [materials.RhoWater].
func WaterHeat(from, to float64) float64 {
	return materials.RhoWater * (materials.LiquidEnthalpy(to) - materials.LiquidEnthalpy(from))
}

// Need is the heat that a cubic metre of ground takes [J/m³].
type Need struct {
	Warm    float64 // warming ground with its water
	Latent  float64 // boiling a share of its water
	Replace float64 // warming the cold water that replaces what boiled, if it does
	Water   float64 // [kg/m³] boiled
}

// GroundNeed is the heat to warm ground from one temperature to another [K] and to
// boil the share removed [-] of its pore water there: heat capacity C [J/(m³·K)],
// porosity φ [-], saturation S [-]:
//
//	warm = C ΔT,  latent = w (h_v − h_w)(T),  replace = w (h_w(T) − h_w(T₀)),  w = φ S ρ_w removed
//
// Source: energy balance; IAPWS R7-97(2012) for the enthalpies. C is taken constant.
func GroundNeed(capacity, from, to, porosity, saturation, removed float64) Need {
	w := porosity * saturation * materials.RhoWater * removed
	return Need{
		Warm:    capacity * (to - from),
		Latent:  w * materials.LatentHeat(to),
		Replace: w * (materials.LiquidEnthalpy(to) - materials.LiquidEnthalpy(from)),
		Water:   w,
	}
}
