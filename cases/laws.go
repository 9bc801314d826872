package cases

import (
	"fmt"
	"math"

	"soiljoule/materials"
)

// ofSoil are the layers that a key of soil alone belongs to.
func ofSoil(row any) bool { return row.(*Layer).Kind != "rock" }

const geometricMean = "geometric-mean"

// fillLaw chooses the law of thermal conductivity that is left to the i-th layer's kind.
func (l *loader) fillLaw(i int) {
	y := &l.c.Layers[i]
	if y.ConductivityLaw != "" || l.has("layer", i, "conductivity_law") {
		return // given, or refused already
	}
	y.ConductivityLaw = "cote-konrad"
	if y.Kind == "rock" {
		y.ConductivityLaw = geometricMean
	}
}

// checkLaws refuses what the i-th layer's kind does not have, and ground that would
// conduct heat better dry than as found.
func (l *loader) checkLaws(i int) {
	y := &l.c.Layers[i]
	if y.Kind == "rock" && l.has("layer", i, "texture") {
		l.no("layer", i, "texture", "is no key of rock: only soil has a texture")
	}
	if y.Kind == "soil" && y.ConductivityLaw == geometricMean {
		l.no("layer", i, "conductivity_law", `must be "cote-konrad" or "johansen": geometric-mean is that of rock (kind = "rock")`)
	}
	if y.Kind == "soil" && y.Texture == "peat" && y.ConductivityLaw == "johansen" {
		l.no("layer", i, "texture", `needs conductivity_law = "cote-konrad": Johansen's law is of mineral soil`)
	}
	if l.has("layer", i, "thermal_conductivity_dry") && y.ThermalConductivityDry > y.ThermalConductivity {
		l.no("layer", i, "thermal_conductivity_dry", "must be at most thermal_conductivity, %s W/m/K: water conducts better than the air that takes its place", about(y.ThermalConductivity))
	}
}

// setLaws gives s the layer's kind and law of thermal conductivity.
func (l *Layer) setLaws(s *materials.Soil) {
	s.Texture = map[string]materials.Texture{"sand": materials.TextureSand, "gravel": materials.TextureGravel, "peat": materials.TexturePeat}[l.Texture]
	s.ThermalLaw = map[string]materials.ThermalLaw{"johansen": materials.ThermalJohansen, geometricMean: materials.ThermalGeometricMean}[l.ConductivityLaw]
	if l.Kind == "rock" {
		s.Kind = materials.KindRock
		s.FieldCapacity = 1 // pores so fine hold their water
	}
}

// lawText names the layer's law of thermal conductivity.
func (l *Layer) lawText() string {
	law, _ := l.Soil().LambdaLaw()
	return law
}

// rockCaution says what is left out of rock.
func (c *Case) rockCaution() []string {
	var names []string
	for i := range c.Layers {
		if c.Layers[i].Kind == "rock" {
			names = append(names, fmt.Sprintf("%q", c.Layers[i].Name))
		}
	}
	if names == nil {
		return nil
	}
	return []string{"Rock counts with its primary pores alone (" + list(names, "and") + "): water in fractures, what flows, boils and drains there and the heat it carries, is not modelled. Pores are taken to hold their water above the water table; removable_water and inflow of rock are best run as ranges."}
}

// measured is a range [W/(m·K)] of thermal conductivity as found in handbooks.
type measured struct{ low, high float64 }

// What is measured of ground, widened by 20 % as the tables' own disagreement asks:
// soil from dry clay to dense wet sand, 0.15 (de Vries 1963, as quoted) and 3.8 W/(m·K)
// (Farouki 1982); rock from basalt to quartzose sandstone, 0.52 to 7.79 W/(m·K) (Kersten
// 1949 in the ASHRAE Handbook).
var (
	measuredSoil = measured{0.8 * 0.15, 1.2 * 3.8}
	measuredRock = measured{0.8 * 0.52, 1.2 * 7.79}
)

// Heat capacity of solids without pores [J/(m³·K)], from minerals of 2.0 to organic
// matter of 2.5 MJ/(m³·K), and what a bulk value rounded to two digits adds.
// Source: de Vries 1963, from memory; the margins are a choice.
const (
	leastSolids = 1.8e6
	mostSolids  = 2.6e6
)

// Largest porosity of rock that is no loose ground, and the least of soil for which
// Johansen's dry value is taken as it is: common practice, no source.
const (
	mostRockPorosity  = 0.35
	leastSoilPorosity = 0.2
)

// dryByLaw reports whether the dry conductivity is left to the layer's law, or is its
// value, as in a case that is expanded or written out.
func (l *Layer) dryByLaw() bool {
	given := l.ThermalConductivityDry
	if math.IsNaN(given) {
		return true
	}
	law := l.Soil().LambdaDry()
	return math.Abs(given-law) <= 1e-9*law // of its digits in a file
}

// unusual names properties of layers that lie outside what is measured of such ground.
// They run as they are.
func (c *Case) unusual() []string {
	var out []string
	water := materials.NewWater()
	_, cw := water.Enthalpy(c.Site.Ambient)
	for i := range c.Layers {
		l := &c.Layers[i]
		soil := l.Soil()
		say := func(format string, args ...any) {
			out = append(out, fmt.Sprintf("layer.%s: ", l.Name)+fmt.Sprintf(format, args...))
		}
		if l.Porosity < 1 {
			solids := (l.HeatCapacity - soil.WaterHeld(l.Saturation)*cw) / (1 - l.Porosity)
			if solids < leastSolids || solids > mostSolids {
				say("heat_capacity %.3g MJ/m3/K, less its water's, leaves %.3g MJ/m3/K to the solids, which have %.3g to %.3g: look at porosity and saturation too", l.HeatCapacity/1e6, solids/1e6, leastSolids/1e6, mostSolids/1e6)
			}
		}
		is := measuredSoil
		if l.Kind == "rock" {
			is = measuredRock
		}
		if k := l.ThermalConductivity; k < is.low || k > is.high {
			say("thermal_conductivity %.3g W/m/K lies outside %.2g to %.2g, which is measured of %s", k, is.low, is.high, l.Kind)
		}
		if l.Kind == "rock" && l.Porosity > mostRockPorosity {
			say("porosity %.3g is more than rock has that is not loose ground, %g", l.Porosity, mostRockPorosity)
		}
		if wet, held := soil.Thermal().AtMost(); held {
			why := "look at texture"
			if l.Kind == "rock" {
				why = "look at saturation"
			}
			say("thermal_conductivity %.3g W/m/K at saturation %.3g leads to more than quartz could have when wet; held at %.3g W/m/K: %s", l.ThermalConductivity, l.Saturation, wet, why)
		}
		if soil.DryHeld() && l.Porosity*l.Saturation > 0 && c.Steam.Boiling && l.dryByLaw() {
			say("thermal_conductivity_dry by a law of crushed rock would be above thermal_conductivity, %.3g W/m/K, and is held there: drying then changes nothing; give another, or leave conductivity_law out", l.ThermalConductivity)
		}
		dries := c.Steam.Boiling && l.Porosity*l.Saturation > 0
		if dries && l.Kind == "soil" && l.dryByLaw() && l.Porosity < leastSoilPorosity {
			say("thermal_conductivity_dry is that of a law of soil, not of ground of porosity %.3g: give another, or kind = \"rock\"", l.Porosity)
		}
	}
	return out
}
