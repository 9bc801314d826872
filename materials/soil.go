package materials

import (
	"errors"
	"fmt"
)

// TemperatureLaw chooses how conductivity rises with temperature.
type TemperatureLaw uint8

const (
	LawLinear    TemperatureLaw = iota // f_T = 1 + a (T − T_ref)
	LawViscosity                       // f_T = μ(T_ref)/μ(T) of liquid water
)

// String gives the law's name.
func (l TemperatureLaw) String() string {
	switch l {
	case LawLinear:
		return "linear"
	case LawViscosity:
		return "viscosity"
	}
	return fmt.Sprintf("TemperatureLaw(%d)", uint8(l))
}

// Values for a soil that is not told otherwise; the case file's defaults are these.
const (
	TemperatureCoeffDefault     = 0.0187 // [1/K] Hayashi 2004, mean of natural waters (0.0175 to 0.0198); 0.018 to 0.022 near 25 °C in Keller & Frischknecht 1966 (from memory)
	SaturationExponentDefault   = 2.0    // [-] Archie 1942, clean sand and sandstone, from memory
	ResidualConductivityDefault = 0.05   // [-] choice
	DrySaturationDefault        = 0.05   // [-] choice
)

// leastSaturation is the saturation as found [-] below which no law scales from it: the
// ground counts as found without water.
const leastSaturation = 1e-9

// Soil is one layer's constants. All but the named laws' coefficients are as
// found on site, at the porosity and saturation given.
type Soil struct {
	Name   string // of the layer
	Source Source // of its numbers

	Resistivity          float64        // [Ω·m] as found, at ResistivityAt; > 0
	ResistivityAt        float64        // [K] temperature to which Resistivity refers
	TemperatureLaw       TemperatureLaw // of the conductivity
	TemperatureCoeff     float64        // a [1/K] of the linear law; ≥ 0
	SaturationExponent   float64        // n [-]; ≥ 1
	GrainShare           float64        // g [-] share of grain-surface conduction as found; 0 to 1
	ResidualConductivity float64        // [-] share of the conductivity as found that is left at DrySaturation; 0 to 1
	Porosity             float64        // φ [-]; 0 to 1
	Saturation           float64        // S₀ [-] share of the pores that holds water, as found; 0 to 1
	DrySaturation        float64        // S_dry [-] at which boiling has dried the soil; 0 to 1
	FieldCapacity        float64        // [-] saturation that does not drain above the water table; 0: as found
	SteamBarrier         bool           // steam does not rise into it

	Kind                   Kind       // soil or rock
	Texture                Texture    // of a soil
	ThermalLaw             ThermalLaw // of λ(S)
	ThermalConductivity    float64    // [W/(m·K)] as found; > 0
	ThermalConductivityDry float64    // [W/(m·K)] without water; 0 means by LambdaDry
	HeatCapacity           float64    // C [J/(m³·K)] of the bulk as found, water included; > 0
}

// ErrHeatCapacity says that a soil's heat capacity is below that of its own water.
var ErrHeatCapacity = errors.New("heat capacity must exceed that of the water found in it")

// WaterHeld is the liquid water W = φ S ρ_w [kg/m³ of ground] at saturation S [-].
func (s *Soil) WaterHeld(S float64) float64 { return s.Porosity * S * RhoWater }

// SolidsCapacity is the heat capacity of the ground without its water
// [J/(m³·K)], which the enthalpy of the water then adds to:
//
//	C_s = C − W₀ c_w(T₀),  W₀ = φ S₀ ρ_w
//
// with c_w the slope of [Water.Enthalpy] at the ambient T0 [K], so that solids and
// water together have the capacity given at T₀. The error wraps [ErrHeatCapacity]
// if C_s ≤ 0.
func (s *Soil) SolidsCapacity(w *Water, T0 float64) (float64, error) {
	_, cw := w.Enthalpy(T0)
	held := s.WaterHeld(s.Saturation) * cw
	solids := s.HeatCapacity - held
	if !(solids > 0) {
		return 0, fmt.Errorf("soil %q: heat capacity %.4g J/(m3 K), its water alone %.4g: %w", s.Name, s.HeatCapacity, held, ErrHeatCapacity)
	}
	return solids, nil
}
