package hand

import (
	"fmt"
	"math"

	"soiljoule/cases"
)

var (
	thicknessInput = input{cases.Input{Name: "thickness", Of: cases.OfLength, Unit: "m", Low: 0.01, High: 1000, Meaning: "of the heated zone"}, metres}
	conductInput   = input{cases.Input{Name: "thermal_conductivity", Of: cases.OfConductivity, Unit: "W/m/K", Low: 0.01, High: 20, Default: "2.1 W/m/K", Meaning: "of the ground"}, heatConduction}
	capacityInput  = input{cases.Input{Name: "heat_capacity", Of: cases.OfHeatCapacity, Unit: "MJ/m3/K", Low: 0.05, High: 10, Default: "2.8 MJ/m3/K", Meaning: "of the ground, water included"}, heatStore}
	timeInput      = input{cases.Input{Name: "time", Of: cases.OfTime, Unit: "d", Low: 0.01, High: 36525, Default: "90 d", Meaning: "from power-on"}, inDays}
	powerInput     = input{cases.Input{Name: "power", Of: cases.OfPower, Unit: "kW", High: 1e6, Above: true, Meaning: "into the zone, held"}, kilowatts}
	hotInput       = input{cases.Input{Name: "temperature", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "100 degC", Meaning: "to be reached"}, celsius}
)

// mostTime is the longest time that is told [s].
const mostTime = 36525 * days

// usualTimes are the times of a table [s].
var usualTimes = []float64{10 * days, 20 * days, 30 * days, 60 * days, 90 * days, 120 * days, 180 * days, 365 * days}

func diffusivity(v *cases.Values) float64 {
	return v.Number("thermal_conductivity") / v.Number("heat_capacity")
}

// fourier is αt/H² [-] at a time.
func fourier(v *cases.Values, t float64) float64 {
	h := v.Number("thickness")
	return diffusivity(v) * t / (h * h)
}

// warmer is a fault if the temperature of an input is not above that of another.
func warmer(v *cases.Values, name, above string) []cases.Fault {
	if v.Number(name) <= v.Number(above) {
		return []cases.Fault{v.Fault(name, fmt.Sprintf("must be above %s, %.4g degC", above, v.Number(above)-zeroC))}
	}
	return nil
}

var slabAssumes = []string{"a level zone, wide against its thickness, heated evenly; ground of the same kind above and below, without end"}

var slabFails = []string{"where the surface is nearer than about 3√(αt), where the ground above or below conducts otherwise or takes current itself, at the zone's sides"}

const slabSource = "slab source averaged over the slab: Carslaw & Jaeger (1959), §2.11 and §10.2, superposed (section numbers from memory)"

func lossCalculation() *Calculation {
	return &Calculation{
		Name: "loss", Title: "share of its heat that a thin zone loses to the ground above and below",
		inputs:  []input{thicknessInput, conductInput, capacityInput, timeInput},
		formula: []string{"lost = 8√F · [i³erfc(0) − i³erfc(1/(2√F))],  F = αt/H²,  α = λ/C", "0.752 √F while small"},
		source:  slabSource, assumes: slabAssumes, fails: append(slabFails, "once the zone boils: steam takes heat, and the zone no longer warms"),
		work: func(v *cases.Values) results {
			f := fourier(v, v.Number("time"))
			lost := LossShare(f)
			r := results{values: []result{
				{"share lost", lost, percent}, {"heat needed over heat without loss", 1 / KeptShare(f), plainNumber},
				{"rise at an edge over that in the middle", SlabRise(0.5, f) / SlabRise(0, f), plainNumber},
				{"αt/H²", f, plainNumber}, {"reach of the heat, 3√(αt)", 3 * math.Sqrt(diffusivity(v)*v.Number("time")), metres}},
				columns: []column{{"time", inDays}, {"lost", percent}, {"heat over that without loss", plainNumber}, {"edge over middle", plainNumber}}}
			for _, t := range usualTimes {
				f := fourier(v, t)
				r.rows = append(r.rows, row{"", []float64{t, LossShare(f), 1 / KeptShare(f), SlabRise(0.5, f) / SlabRise(0, f)}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := slabOf(c)
			if f != nil {
				f["time"] = c.Time.Duration
			}
			return f, why
		},
	}
}

func heatUpCalculation() *Calculation {
	return &Calculation{
		Name: "heat-up", Title: "days to heat a zone at a constant power per volume, with its losses",
		inputs: []input{
			{cases.Input{Name: "power_density", Of: cases.OfPowerDensity, Unit: "W/m3", Low: 0.001, High: 1e6, Meaning: "of the zone, held"}, perVolume},
			thicknessInput, hotInput, ambientInput, conductInput, capacityInput},
		formula: []string{"mean rise = (q t/C) · (1 − lost(αt/H²)),  lost as in `loss`", "without loss t = C ΔT/q"},
		source:  slabSource, assumes: append([]string{"power constant from the start; no water boils on the way"}, slabAssumes...),
		fails: append(slabFails, "below or near the boiling point of the ground, where steam takes its share"),
		check: func(v *cases.Values) []cases.Fault { return warmer(v, "temperature", "ambient") },
		work: func(v *cases.Values) results {
			q, c, h, rise := v.Number("power_density"), v.Number("heat_capacity"), v.Number("thickness"), v.Number("temperature")-v.Number("ambient")
			t := HeatUpTime(q, c, diffusivity(v), h, rise)
			bare := c * rise / q
			f := fourier(v, t)
			r := results{columns: []column{{"time", inDays}, {"mean", celsius}, {"middle", celsius}, {"edge", celsius}, {"lost", percent}, {"heat put in", heatPerVolume}}}
			if t > mostTime {
				r.values = []result{{"days to the mean", math.NaN(), inDays}}
				r.notes = append(r.notes, "not in 100 years at this power")
			} else {
				r.values = []result{{"days to the mean", t, inDays}, {"share lost by then", LossShare(f), percent},
					{"heat put in by then", q * t, heatPerVolume}, {"middle then", v.Number("ambient") + q*t/c*SlabRise(0, f), celsius},
					{"edge then", v.Number("ambient") + q*t/c*SlabRise(0.5, f), celsius}}
			}
			r.values = append(r.values, result{"days without loss", bare, inDays}, result{"warming at the start, per day", q / c * days, kelvins})
			for _, t := range usualTimes {
				f := fourier(v, t)
				mean := q * t / c * KeptShare(f)
				amb := v.Number("ambient")
				r.rows = append(r.rows, row{"", []float64{t, amb + mean, amb + q*t/c*SlabRise(0, f), amb + q*t/c*SlabRise(0.5, f), LossShare(f), q * t}})
				if mean > rise { // beyond the question
					break
				}
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := slabOf(c)
			if f == nil {
				return nil, why
			}
			volume, _ := volumeOf(c)
			if math.IsInf(c.Supply.PowerLimit, 1) {
				return nil, "it has no supply.power_limit to hold"
			}
			f["power_density"], f["ambient"], f["temperature"] = c.Supply.PowerLimit/volume, c.Site.Ambient, targetTemperature(c)
			return f, ""
		},
	}
}

func coolDownCalculation() *Calculation {
	return &Calculation{
		Name: "cool-down", Title: "days of cooling of a hot zone after power-off",
		inputs: []input{thicknessInput,
			{cases.Input{Name: "temperature", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "100 degC", Meaning: "of the zone at power-off"}, celsius},
			{cases.Input{Name: "until", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "40 degC", Meaning: "mean of the zone to wait for"}, celsius},
			ambientInput, conductInput, capacityInput},
		formula: []string{"mean rise/rise at start = erf(x) − (1 − e^(−x²))/(x√π),  x = H/(2√(αt))"},
		source:  "hot slab in endless ground, Carslaw & Jaeger (1959), §2.2 (from memory), averaged over the slab",
		assumes: []string{"at power-off the zone is hot throughout and the ground round it as found", "ground of the same kind without end; conduction alone"},
		fails:   []string{"months of heating have warmed the ground round the zone: it then cools more slowly than this", "a zone near the surface, or with water flowing through, cools faster; one that boiled holds less water and cools as it refills"},
		check: func(v *cases.Values) []cases.Fault {
			return append(warmer(v, "until", "ambient"), warmer(v, "temperature", "until")...)
		},
		work: func(v *cases.Values) results {
			amb, start, h := v.Number("ambient"), v.Number("temperature")-v.Number("ambient"), v.Number("thickness")
			t := CoolDownTime(diffusivity(v), h, (v.Number("until")-amb)/start)
			r := results{values: []result{{"days until the mean is there", t, inDays}},
				columns: []column{{"time", inDays}, {"mean", celsius}, {"middle", celsius}, {"edge", celsius}}}
			if t > mostTime {
				r.values[0].value = math.NaN()
				r.notes = append(r.notes, "not in 100 years")
			}
			for _, t := range append([]float64{1 * days, 7 * days}, append(usualTimes[2:], 2*365*days)...) {
				f := fourier(v, t)
				r.rows = append(r.rows, row{"", []float64{t, amb + start*CoolingMean(f), amb + start*CoolingRise(0, f), amb + start*CoolingRise(0.5, f)}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := slabOf(c)
			if f != nil {
				f["ambient"], f["temperature"] = c.Site.Ambient, targetTemperature(c)
			}
			return f, why
		},
	}
}

func heatedAreaCalculation() *Calculation {
	return &Calculation{
		Name: "heated-area", Title: "area of a layer that a constant heat rate keeps hot, with conduction above and below",
		inputs: []input{powerInput, thicknessInput,
			{cases.Input{Name: "layer_heat_capacity", Of: cases.OfHeatCapacity, Unit: "MJ/m3/K", Low: 0.05, High: 10, Default: "2.8 MJ/m3/K", Meaning: "of the layer, water included"}, heatStore},
			{cases.Input{Name: "thermal_conductivity", Of: cases.OfConductivity, Unit: "W/m/K", Low: 0.01, High: 20, Default: "2.1 W/m/K", Meaning: "of the ground above and below"}, heatConduction},
			{cases.Input{Name: "heat_capacity", Of: cases.OfHeatCapacity, Unit: "MJ/m3/K", Low: 0.05, High: 10, Default: "2.8 MJ/m3/K", Meaning: "of the ground above and below"}, heatStore},
			hotInput, ambientInput, timeInput},
		formula: []string{"A = Q M H/(4 λ C ΔT) · G(t_D),  t_D = 4 λ C t/(M H)²", "G = e^(t_D) erfc(√t_D) + 2√(t_D/π) − 1;  share kept G/t_D"},
		source:  "Marx & Langenheim, Trans. AIME 216, 312 (1959), from memory",
		assumes: []string{"the heat goes into ever more of the layer, each part held at the temperature once hot; one temperature across the layer", "no conduction along the layer; ground above and below without end"},
		fails:   []string{"where heat is put in everywhere at once, as by electrodes all over the zone (use `heat-up`); near the surface"},
		check:   func(v *cases.Values) []cases.Fault { return warmer(v, "temperature", "ambient") },
		work: func(v *cases.Values) results {
			rise := v.Number("temperature") - v.Number("ambient")
			at := func(t float64) (area, share float64) {
				return HeatedArea(v.Number("power"), rise, v.Number("thickness"), v.Number("layer_heat_capacity"), v.Number("thermal_conductivity"), v.Number("heat_capacity"), t)
			}
			area, share := at(v.Number("time"))
			r := results{values: []result{{"heated area", area, squareMetres}, {"share of the heat in the layer", share, percent},
				{"without loss", v.Number("power") * v.Number("time") / (v.Number("layer_heat_capacity") * v.Number("thickness") * rise), squareMetres}},
				columns: []column{{"time", inDays}, {"heated area", squareMetres}, {"kept", percent}}}
			for _, t := range usualTimes {
				area, share := at(t)
				r.rows = append(r.rows, row{"", []float64{t, area, share}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := slabOf(c)
			if f == nil {
				return nil, why
			}
			if math.IsInf(c.Supply.PowerLimit, 1) {
				return nil, "it has no supply.power_limit to hold"
			}
			f["power"], f["layer_heat_capacity"], f["ambient"], f["temperature"], f["time"] = c.Supply.PowerLimit, f["heat_capacity"], c.Site.Ambient, targetTemperature(c), c.Time.Duration
			return f, ""
		},
	}
}

func coverCalculation() *Calculation {
	return &Calculation{
		Name: "cover", Title: "steady heat loss through the surface, by cover",
		inputs: []input{
			{cases.Input{Name: "depth", Of: cases.OfLength, Unit: "m", High: 1000, Above: true, Meaning: "of the hot ground below the surface"}, metres},
			hotGroundInput(),
			{cases.Input{Name: "thermal_conductivity", Of: cases.OfConductivity, Unit: "W/m/K", Low: 0.01, High: 20, Default: "1.5 W/m/K", Meaning: "of the ground between"}, heatConduction},
			{cases.Input{Name: "pavement", Of: cases.OfLength, Unit: "m", Low: 0, High: 10, Default: "0 in", Meaning: "thickness of pavement, part of the depth"}, smallMetres},
			{cases.Input{Name: "pavement_conductivity", Of: cases.OfConductivity, Unit: "W/m/K", Low: 0.01, High: 20, Default: "0.9 W/m/K", Meaning: "of the pavement"}, heatConduction},
			{cases.Input{Name: "cover", Of: cases.OfInsulation, Unit: "m2*K/W", Low: 0, High: 1000, Default: "0 m2*K/W", Meaning: "thermal resistance laid on top"}, resistance},
			{cases.Input{Name: "film", Of: cases.OfFilm, Unit: "W/m2/K", Low: 0.1, High: 1e6, Default: "12 W/m2/K", Meaning: "heat exchange between ground and air"}, filmRate},
			{cases.Input{Name: "air", Of: cases.OfTemperature, Unit: "degC", Low: -90, High: 60, Default: "15 degC", Meaning: "above"}, celsius}},
		formula: []string{"q = ΔT/(1/h + R + Σ d/λ)"},
		source:  "conduction in series (textbook)",
		assumes: []string{"steady: the ground between has taken up what it stores, after about depth²/α"},
		fails:   []string{"before that, when more goes into the ground and less comes out; with rain, or steam that condenses under the cover"},
		check: func(v *cases.Values) []cases.Fault {
			var faults []cases.Fault
			if v.Number("pavement") > v.Number("depth") {
				faults = append(faults, v.Fault("pavement", "must not be thicker than the depth"))
			}
			return append(faults, warmer(v, "temperature", "air")...)
		},
		work: func(v *cases.Values) results {
			layers := (v.Number("depth")-v.Number("pavement"))/v.Number("thermal_conductivity") + v.Number("pavement")/v.Number("pavement_conductivity")
			difference := v.Number("temperature") - v.Number("air")
			q := SurfaceLoss(difference, v.Number("film"), v.Number("cover"), layers)
			r := results{values: []result{{"loss", q, wattsASquare}, {"surface of the cover", v.Number("air") + q/v.Number("film"), celsius},
				{"resistance of the ground between", layers, resistance}},
				columns: []column{{"cover", resistance}, {"loss", wattsASquare}}}
			for _, R := range []float64{0, 0.5, 1, 2, 3} {
				r.rows = append(r.rows, row{"", []float64{R, SurfaceLoss(difference, v.Number("film"), R, layers)}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			top, _, ok := zoneOf(c)
			if !ok {
				return nil, noZone
			}
			if top == 0 {
				return nil, "its target reaches the surface"
			}
			resist := 0.0
			for _, p := range c.Parts(0, top) {
				resist += p.Thickness() / p.Layer.ThermalConductivity
			}
			return filled{"depth": top, "temperature": targetTemperature(c), "thermal_conductivity": top / resist, "cover": c.Surface.Cover, "film": c.Surface.Film, "air": meanAir(c)}, ""
		},
	}
}

func hotGroundInput() input {
	in := hotInput
	in.Meaning = "of the hot ground"
	return in
}
