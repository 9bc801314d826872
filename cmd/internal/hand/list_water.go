package hand

import (
	"fmt"

	"soiljoule/cases"
	"soiljoule/materials"
)

func energyCalculation() *Calculation {
	return &Calculation{
		Name: "energy", Title: "heat to warm a volume of ground and to boil a share of its water",
		inputs: []input{
			{cases.Input{Name: "volume", Of: cases.OfVolume, Unit: "m3", High: 1e9, Above: true, Default: "1 yd3", Meaning: "of the treatment zone"}, cubicMetres},
			hotInput, ambientInput, capacityInput,
			{cases.Input{Name: "porosity", Of: cases.OfShare, Low: 0, High: 0.95, Default: "0.4", Meaning: "share of the volume that is pores"}, percent},
			{cases.Input{Name: "saturation", Of: cases.OfShare, Low: 0, High: 1, Default: "1", Meaning: "share of the pores that is water"}, percent},
			{cases.Input{Name: "removable_water", Of: cases.OfShare, Low: 0, High: 1, Default: "0.3", Meaning: "share of the pore water that is boiled"}, percent}},
		formula: []string{"warm = C ΔT;  latent = w (h_v − h_w)(T);  replace = w (h_w(T) − h_w(T₀));  w = φ S ρ_w · removable", "replace only where cold water comes in for what boils (below the water table)"},
		source:  "energy balance; enthalpies IAPWS R7-97(2012); ρ_w = 998.2 kg/m3 held constant, as in a run",
		assumes: []string{"heat capacity constant from cold to hot; the whole volume at one temperature; the steam leaves the ground"},
		fails:   []string{"it leaves out all losses: a thin zone needs several times this (`loss`)"},
		check:   func(v *cases.Values) []cases.Fault { return warmer(v, "temperature", "ambient") },
		work: func(v *cases.Values) results {
			n := GroundNeed(v.Number("heat_capacity"), v.Number("ambient"), v.Number("temperature"), v.Number("porosity"), v.Number("saturation"), v.Number("removable_water"))
			volume := v.Number("volume")
			r := results{values: []result{{"water boiled", n.Water, massPerVolume}},
				columns: []column{{"per volume", heatPerVolume}, {"all of it", energyKWh}}}
			for _, x := range []struct {
				label string
				heat  float64
			}{{"warming", n.Warm}, {"boiling", n.Latent}, {"warming water that replaces it", n.Replace}, {"without replacement", n.Warm + n.Latent}, {"with replacement", n.Warm + n.Latent + n.Replace}} {
				r.rows = append(r.rows, row{x.label, []float64{x.heat, x.heat * volume}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := slabOf(c)
			if f == nil {
				return nil, why
			}
			volume, _ := volumeOf(c)
			top, bottom, _ := zoneOf(c)
			var thick, pores, water, removed float64
			for _, p := range c.Parts(top, bottom) {
				thick += p.Thickness()
				pores += p.Thickness() * p.Layer.Porosity
				water += p.Thickness() * p.Layer.Porosity * p.Layer.Saturation
				removed += p.Thickness() * p.Layer.Porosity * p.Layer.Saturation * p.Layer.RemovableWater
			}
			have := filled{"volume": volume, "temperature": targetTemperature(c), "ambient": c.Site.Ambient, "heat_capacity": f["heat_capacity"], "porosity": pores / thick}
			if pores > 0 {
				have["saturation"] = water / pores
			}
			if water > 0 {
				have["removable_water"] = removed / water
			}
			return have, ""
		},
	}
}

func groundwaterCalculation() *Calculation {
	return &Calculation{
		Name: "groundwater", Title: "heat that flowing water takes, from a flux through a face or from a flow",
		inputs: []input{
			{cases.Input{Name: "flux", Of: cases.OfWaterFlux, Unit: "ft/d", Low: 0, High: 1000, Left: "then flow", Meaning: "Darcy flux: not the seepage velocity, which is larger by 1/porosity"}, waterFlux},
			{cases.Input{Name: "area", Of: cases.OfArea, Unit: "m2", High: 1e7, Above: true, Left: "1 m2", Meaning: "of the zone's face that the flux enters"}, squareMetres},
			{cases.Input{Name: "flow", Of: cases.OfFlow, Unit: "gpm", Low: 0, High: 1e6, Left: "flux times area", Meaning: "in place of flux and area"}, waterFlow},
			{cases.Input{Name: "ambient", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 95, Default: "15 degC", Meaning: "the water that comes in"}, celsius},
			{cases.Input{Name: "temperature", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "100 degC", Meaning: "the water that leaves"}, celsius}},
		formula: []string{"P = u A ρ_w (h_w(T) − h_w(T₀))"},
		source:  "energy balance; enthalpy IAPWS R7-97(2012), ρ_w = 998.2 kg/m3",
		assumes: []string{"all the water leaves at the temperature of the zone: the most that it can take"},
		fails:   []string{"where the flux is so slow that conduction warms the water on its way, or the cold front stays outside the zone"},
		check: func(v *cases.Values) []cases.Fault {
			faults := warmer(v, "temperature", "ambient")
			switch {
			case !v.Given("flow") && !v.Given("flux"):
				faults = append(faults, v.Fault("flux", `is missing, as is flow: give one, such as "0.1 ft/d" or "1 gpm"`))
			case v.Given("flow") && v.Given("flux"):
				faults = append(faults, v.Fault("flow", "must not be given together with flux"))
			case v.Given("flow") && v.Given("area"):
				faults = append(faults, v.Fault("area", "goes with flux, not with flow"))
			}
			return faults
		},
		work: func(v *cases.Values) results {
			heat := WaterHeat(v.Number("ambient"), v.Number("temperature"))
			r := results{}
			flow := v.Number("flow")
			if v.Given("flux") {
				area := v.Number("area")
				if !v.Given("area") {
					area = 1
				}
				flow = v.Number("flux") * area
				r.values = append(r.values, result{"heat per area of the face", v.Number("flux") * heat, wattsASquare})
			}
			r.values = append(r.values, result{"flow", flow, waterFlow}, result{"power taken", flow * heat, kilowatts}, result{"heat taken in a day", flow * heat * days, energyKWh},
				result{"heat per volume of water", heat, measure{"kWh/m3", "kWh/1000 gal", 1 / kWh, 0, gpm * 60 * 1000 / kWh, 0}})
			r.columns = []column{{"flux", waterFlux}, {"per area of the face", wattsASquare}}
			for _, u := range []float64{0.01, 0.03, 0.1, 0.3, 1} {
				r.rows = append(r.rows, row{"", []float64{u * foot / days, u * foot / days * heat}})
			}
			return r
		},
		fill: waterOf,
	}
}

func boilingCalculation() *Calculation {
	return &Calculation{
		Name: "boiling", Title: "boiling point of water at a depth",
		inputs: []input{
			{cases.Input{Name: "depth", Of: cases.OfLength, Unit: "m", Low: 0, High: 2000, Meaning: "below the surface"}, metres},
			{cases.Input{Name: "water_table", Of: cases.OfLength, Word: "none", Unit: "m", Low: 0, High: 1000, Meaning: "depth of the water table"}, metres},
			{cases.Input{Name: "elevation", Of: cases.OfLength, Unit: "m", Low: -500, High: 6000, Default: "0 ft", Meaning: "above sea level"}, metres},
			{cases.Input{Name: "vacuum", Of: cases.OfPressure, Unit: "kPa", Low: 0, High: 100, Default: "0 inHg", Meaning: "applied to the ground, below air pressure"}, pascals}},
		formula: []string{"T_sat(p),  p = p_air(elevation) − vacuum + ρ_w g · max(depth − table, 0)"},
		source:  "IAPWS R7-97(2012), region 4; air ISO 2533 (from memory); ρ_w = 998.2 kg/m3",
		assumes: []string{"fresh water alone, pores open to the air above the water table"},
		fails:   []string{"with a separate liquid phase, which boils together with water at less; in salt water; weather moves the air's pressure by some 2 % (0.6 °C)"},
		check: func(v *cases.Values) []cases.Fault {
			if p := Pressure(0, 0, v.Number("elevation"), v.Number("vacuum")); p < 1000 {
				return []cases.Fault{v.Fault("vacuum", fmt.Sprintf("leaves no pressure: must be at most %.4g kPa, 1 kPa below that of the air", (materials.AirPressure(v.Number("elevation"))-1000)/1e3))}
			}
			return nil
		},
		work: func(v *cases.Values) results {
			table, elevation, vacuum := v.Number("water_table"), v.Number("elevation"), v.Number("vacuum")
			r := results{values: []result{
				{"boiling point", BoilingPoint(v.Number("depth"), table, elevation, vacuum), celsius},
				{"pressure there", Pressure(v.Number("depth"), table, elevation, vacuum), pascals},
				{"air pressure", materials.AirPressure(elevation), pascals}},
				columns: []column{{"depth", metres}, {"boils at", celsius}, {"pressure", pascals}}}
			for _, feet := range []float64{0, 5, 10, 20, 30, 40, 50, 60, 80, 100} {
				z := feet * foot
				r.rows = append(r.rows, row{"", []float64{z, BoilingPoint(z, table, elevation, vacuum), Pressure(z, table, elevation, vacuum)}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			_, bottom, ok := zoneOf(c)
			if !ok {
				return nil, noZone
			}
			return filled{"depth": bottom, "water_table": c.Site.WaterTable, "elevation": c.Site.Elevation, "vacuum": c.Steam.Vacuum}, ""
		},
	}
}
