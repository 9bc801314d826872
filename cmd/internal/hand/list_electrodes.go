package hand

import (
	"fmt"
	"math"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/physics"
)

// The inputs that calculations share.
var (
	voltageInput    = input{cases.Input{Name: "voltage", Of: cases.OfVoltage, Unit: "V", High: 50000, Above: true, Default: "100 V", Meaning: "RMS"}, volts}
	farVoltageInput = input{cases.Input{Name: "voltage", Of: cases.OfVoltage, Unit: "V", High: 50000, Above: true, Default: "100 V", Meaning: "RMS, against ground far away"}, volts}
	basisInput      = input{cases.Input{Name: "voltage_basis", Words: []string{neutralBasis, phaseBasis}, Default: neutralBasis, Meaning: "what the voltage is between: the two differ by 1.73, with two poles by 2"}, plainNumber}
	radiusInput     = input{cases.Input{Name: "radius", Of: cases.OfLength, Unit: "m", Low: 0.0001, High: 10, Default: "6 in", Meaning: "of the bore with its conductive fill, not the diameter"}, smallMetres}
	lengthInput     = input{cases.Input{Name: "length", Of: cases.OfLength, Unit: "m", High: 10000, Above: true, Left: "amperes a metre only", Meaning: "active interval of one electrode"}, metres}
	ambientInput    = input{cases.Input{Name: "ambient", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 95, Default: "13 degC", Meaning: "the ground at the start"}, celsius}
	countInput      = input{cases.Input{Name: "count", Of: cases.OfNumber, Low: 0, High: 100000, Above: true, Default: "1", Meaning: "electrodes on the site"}, plainNumber}
	phasesInput     = input{cases.Input{Name: "phases", Wholes: []int{1, 3, 6}, Default: "3", Meaning: "1 is two poles, row by row"}, plainNumber}

	groundInputs = []input{
		{cases.Input{Name: "resistivity", Of: cases.OfResistivity, Unit: "ohm*m", Low: 0.001, High: 1e7, Meaning: "of the ground as found, at resistivity_at"}, ohmMetres},
		{cases.Input{Name: "resistivity_at", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 100, Default: "25 degC", Meaning: "the temperature that the resistivity refers to"}, celsius},
		{cases.Input{Name: "temperature_coefficient", Of: cases.OfPerKelvin, Unit: "1/K", Low: 0, High: 0.04, Default: fmt.Sprint(materials.TemperatureCoeffDefault) + " 1/K", Meaning: "of the linear law"}, perKelvin},
		ambientInput,
		{cases.Input{Name: "hot", Of: cases.OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "100 degC", Meaning: "the ground when it boils"}, celsius},
	}
)

const (
	neutralBasis = "phase to neutral"
	phaseBasis   = "phase to phase"
)

// phaseVoltage is the voltage phase to neutral [V], with two poles from one to the middle.
func phaseVoltage(v *cases.Values, phases int) float64 {
	s := cases.Supply{Phases: phases, VoltageBasis: v.Word("voltage_basis")}
	return s.PhaseVoltage(v.Number("voltage"))
}

// sixOfNeutral is a fault if the voltage of six phases is said to be from phase to phase.
func sixOfNeutral(v *cases.Values) []cases.Fault {
	if v.Number("phases") == 6 && v.Word("voltage_basis") == phaseBasis {
		return []cases.Fault{v.Fault("voltage_basis", `must be "phase to neutral" with six phases, which have five different voltages from phase to phase`)}
	}
	return nil
}

// with appends the inputs of a group.
func with(own []input, shared ...input) []input { return append(own, shared...) }

// sourceOfLaws says where the two temperature laws are from.
const sourceOfLaws = "linear: Hayashi, Environ. Monit. Assess. 96, 119 (2004), 0 to 30 °C, extrapolated; viscosity: Walden's rule (from memory) with IAPWS R12-08"

// conductor is the ground's conductivity by both laws of temperature.
type conductor struct {
	resistivity float64 // [Ω·m] at the reference
	at          float64 // [K] the reference
	linear      *materials.Conductivity
	viscous     *materials.Conductivity
}

func newConductor(v *cases.Values) *conductor {
	w := materials.NewWater()
	soil := materials.Soil{Resistivity: v.Number("resistivity"), ResistivityAt: v.Number("resistivity_at"),
		TemperatureCoeff: v.Number("temperature_coefficient"), SaturationExponent: 1}
	c := &conductor{resistivity: soil.Resistivity, at: soil.ResistivityAt, linear: soil.Conductivity(w)}
	soil.TemperatureLaw = materials.LawViscosity
	c.viscous = soil.Conductivity(w)
	return c
}

// state is the ground at one temperature by one law.
type state struct {
	label       string
	temperature float64 // [K]
	resistivity float64 // [Ω·m]
}

// states are the ground as its resistivity was given, cold and hot, by both laws.
func (c *conductor) states(v *cases.Values) []state {
	out := []state{{"as given", c.at, c.resistivity}}
	for _, t := range []struct {
		label string
		T     float64
	}{{"ambient", v.Number("ambient")}, {"hot", v.Number("hot")}} {
		out = append(out,
			state{t.label + ", linear law", t.T, c.resistivity / c.linear.FactorT(t.T, math.Inf(1))},
			state{t.label + ", viscosity law", t.T, c.resistivity / c.viscous.FactorT(t.T, math.Inf(1))})
	}
	return out
}

// array is electrodes alike, each with its share of the ground.
type array struct {
	impedance float64 // V/(ρI′) [-]
	area      float64 // [m²] of plan, one electrode's
	count     float64
	voltage   float64  // [V] phase to neutral
	nearest   float64  // [m] to the nearest electrode
	pattern   []rodsAt // the electrodes as one of them sees them; nil: too many
	between   []result
}

// loads are the currents and powers of an array at each state of the ground.
func (a *array) loads(v *cases.Values) results {
	voltage, length, radius := a.voltage, v.Number("length"), v.Number("radius")
	r := results{volts: voltage, values: a.between}
	r.values = append(r.values, result{"V/(ρI′)", a.impedance, plainNumber})
	r.columns = []column{{"", celsius}, {"resistivity", ohmMetres}, {"current", amperesAMetre}, {"power", wattsAMetre}, {"over its ground", perVolume},
		{"one", amperes}, {"one", ohms}, {"one", kilowatts}, {"all", kilowatts}}
	for _, s := range newConductor(v).states(v) {
		current := voltage / (a.impedance * s.resistivity)
		one := current * length
		r.rows = append(r.rows, row{s.label, []float64{s.temperature, s.resistivity, current, voltage * current, voltage * current / a.area,
			one, voltage / one, voltage * one, voltage * one * a.count}})
	}
	if math.IsNaN(length) { // without a length nothing is known of one rod
		r.columns = r.columns[:5]
		for i := range r.rows {
			r.rows[i].values = r.rows[i].values[:5]
		}
	} else if more := FiniteOverEndless(a.impedance, length, radius, a.pattern); !math.IsNaN(more) {
		r.values = append(r.values, result{"finite rods over endless ones", more, plainNumber})
		if more > 1.02 {
			r.notes = append(r.notes, fmt.Sprintf("rods %.3g times as long as their distance draw more than this: with what leaves past their ends, left out here, amperes and kilowatts are %.3g times as much in even ground (own sum over rods of finite length, in endless ground; less near the surface, otherwise in layers)", length/a.nearest, more))
		}
	} else if length < 5*a.nearest {
		r.notes = append(r.notes, fmt.Sprintf("rods %.3g times as long as their distance draw more than this: current past the ends is left out", length/a.nearest))
	}
	if radius > a.nearest/10 {
		r.notes = append(r.notes, fmt.Sprintf("the radius is %.2g of the distance; line electrodes are meant below a tenth", radius/a.nearest))
	}
	return r
}

// touching is a fault if electrodes of the radius touch at the nearest distance [m].
func touching(v *cases.Values, nearest float64) []cases.Fault {
	if v.Number("radius") >= nearest/2 {
		return []cases.Fault{v.Fault("radius", fmt.Sprintf("must be below half the distance of the electrodes, %.4g m", nearest))}
	}
	return nil
}

var lineAssumes = []string{"line electrodes, far thinner than their distance, in endless even ground; per metre of rod, as if no current left past the ends",
	"the whole ground at one temperature; no drying at the wall"}

func ringCalculation() *Calculation {
	return &Calculation{
		Name: "ring", Title: "current and power of six electrodes on a ring",
		inputs: with(with([]input{
			{cases.Input{Name: "diameter", Of: cases.OfLength, Unit: "m", High: 1000, Above: true, Meaning: "of the ring, through the electrodes' axes"}, metres},
			{cases.Input{Name: "phases", Wholes: []int{3, 6}, Default: "6", Meaning: "6: each 60° on; 3: A B C A B C"}, plainNumber},
		}, radiusInput, lengthInput, voltageInput, basisInput), groundInputs...),
		formula: []string{"six phases    I′ = 2πV/(ρ ln(2√3 R/a))", "three phases  I′ = 2πV/(ρ ln((√3/2) R/a))", "power 6 V I′; per volume over the hexagon of the electrodes, (3√3/2)R²"},
		source:  "superposition of line currents (textbook); temperature " + sourceOfLaws,
		assumes: lineAssumes,
		fails:   []string{"where the rods are shorter than about five distances, in layers, or with electrodes or grounded metal nearby", "the middle: three phases on six heat it hardly at all, whatever the mean"},
		check: func(v *cases.Values) []cases.Fault {
			return append(touching(v, v.Number("diameter")/2), sixOfNeutral(v)...)
		},
		work: func(v *cases.Values) results {
			radius, phases := v.Number("diameter")/2, int(v.Number("phases"))
			voltage := phaseVoltage(v, phases)
			a := array{voltage: voltage, impedance: Ring(radius, v.Number("radius"), phases), area: RingArea(radius) / 6, count: 6, nearest: radius, pattern: onRing(radius, phases)}
			if phases == 6 {
				a.between = []result{{"between neighbours", voltage, volts}, {"between opposite ones", 2 * voltage, volts}}
			} else {
				a.between = []result{{"phase to phase", math.Sqrt(3) * voltage, volts}}
			}
			return a.loads(v)
		},
		fill: ringOf,
	}
}

func gridCalculation() *Calculation {
	return &Calculation{
		Name: "grid", Title: "current and power of an interior electrode of a triangular three-phase grid",
		inputs: with(with([]input{
			{cases.Input{Name: "spacing", Of: cases.OfLength, Unit: "m", High: 1000, Above: true, Meaning: "nearest neighbours"}, metres},
		}, radiusInput, lengthInput, countInput, voltageInput, basisInput), groundInputs...),
		formula: []string{"I′ = 2πV/(ρ ln(c s/a)),  c = 2√3π/Γ(1/3)³ = 0.5660", "power V I′; per volume over one electrode's hexagon, (√3/2)s²"},
		source:  "lattice of line currents: rows of one phase as sheets and harmonics, summed here; the form with Γ agrees to all digits; temperature " + sourceOfLaws,
		assumes: lineAssumes,
		fails:   []string{"where the rods are shorter than about five spacings, or in layers", "the outermost electrodes, which have neighbours on one side only"},
		check: func(v *cases.Values) []cases.Fault {
			return touching(v, v.Number("spacing"))
		},
		work: func(v *cases.Values) results {
			s := v.Number("spacing")
			a := array{voltage: phaseVoltage(v, 3), impedance: Triangular(s, v.Number("radius")), area: math.Sqrt(3) / 2 * s * s, count: v.Number("count"), nearest: s, pattern: inRows(s/2, math.Sqrt(3)*s, true, 3)}
			a.between = []result{{"phase to phase", math.Sqrt(3) * a.voltage, volts}, {"c of ln(c s/a)", TriangularFactor(), plainNumber}}
			return a.loads(v)
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := rodsOf(c)
			if f == nil {
				return nil, why
			}
			if a := &c.Arrays[0]; a.Pattern != "triangular" || c.Supply.Phases != 3 {
				return nil, fmt.Sprintf("its array is %s with %d phases", a.Pattern, c.Supply.Phases)
			}
			f["spacing"] = c.Arrays[0].Spacing
			return f, ""
		},
	}
}

func rowsCalculation() *Calculation {
	return &Calculation{
		Name: "rows", Title: "current and power of a rod in rows that carry one phase each",
		inputs: with(with([]input{
			{cases.Input{Name: "distance", Of: cases.OfLength, Unit: "m", High: 1000, Above: true, Meaning: "from row to row"}, metres},
			{cases.Input{Name: "spacing", Of: cases.OfLength, Unit: "m", High: 1000, Above: true, Meaning: "from rod to rod in a row"}, metres},
			{cases.Input{Name: "rows", Words: []string{"aligned", "staggered"}, Default: "aligned", Meaning: "staggered: every other row shifted by half a spacing"}, plainNumber},
			phasesInput,
		}, radiusInput, lengthInput, countInput, voltageInput, basisInput), groundInputs...),
		formula: []string{"V = ρI′ [d/(n s) + ln(s/(2πa))/(2π) + other rows' harmonics]", "n = 4 with two poles, 3 with three phases, 1 with six; two poles: V from a pole to the middle"},
		source:  "rows of line sources as sheets and harmonics (Gradshteyn & Ryzhik 8.526, from memory), as in a section's row correction; temperature " + sourceOfLaws,
		assumes: append([]string{"endless rows, phase after phase"}, lineAssumes...),
		fails:   []string{"where the rods are shorter than about five spacings, or in layers", "the outermost rows, whose current leaves on one side"},
		check: func(v *cases.Values) []cases.Fault {
			d, s := v.Number("distance"), v.Number("spacing")
			if d < s/10 {
				return []cases.Fault{v.Fault("distance", fmt.Sprintf("must be at least a tenth of the spacing, %.4g m", s/10))}
			}
			return append(touching(v, nearestOfRows(v)), sixOfNeutral(v)...)
		},
		work: func(v *cases.Values) results {
			d, s, phases := v.Number("distance"), v.Number("spacing"), int(v.Number("phases"))
			radius, voltage := v.Number("radius"), phaseVoltage(v, phases)
			a := array{voltage: voltage, impedance: physics.RowsImpedance(d, s, radius, v.Word("rows") == "staggered", phases), area: d * s, count: v.Number("count"), nearest: nearestOfRows(v), pattern: inRows(d, s, v.Word("rows") == "staggered", phases)}
			switch phases {
			case 1:
				a.between = []result{{"pole to pole", 2 * voltage, volts}, {"V/(ρI′) without the other rows' harmonics", Alternating(d, s, radius), plainNumber}}
			case 3:
				a.between = []result{{"phase to phase", math.Sqrt(3) * voltage, volts}}
			default:
				a.between = []result{{"between neighbouring phases", voltage, volts}, {"between opposite ones", 2 * voltage, volts}}
			}
			return a.loads(v)
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := rodsOf(c)
			if f == nil {
				return nil, why
			}
			if c.View == cases.Plan {
				return nil, "the electrodes of a plan are in no rows of one phase each"
			}
			distance, spacing, shifted := c.Arrays[0].Rows(c.Supply.Phases)
			f["distance"], f["spacing"], f["phases"], f["rows"] = distance, spacing, c.Supply.Phases, "aligned"
			if shifted {
				f["rows"] = "staggered"
			}
			return f, ""
		},
	}
}

// nearestOfRows is the distance [m] between the nearest rods of rows.
func nearestOfRows(v *cases.Values) float64 {
	d, s := v.Number("distance"), v.Number("spacing")
	if v.Word("rows") == "staggered" {
		d = math.Hypot(d, s/2)
	}
	return math.Min(d, s)
}

func rodCalculation() *Calculation {
	return &Calculation{
		Name: "rod", Title: "resistance and current of one rod alone against ground far away",
		inputs: with(with([]input{
			{cases.Input{Name: "top", Of: cases.OfLength, Unit: "m", Low: 0, High: 10000, Default: "0 ft", Meaning: "upper end of the active interval"}, metres},
			{cases.Input{Name: "bottom", Of: cases.OfLength, Unit: "m", High: 10000, Above: true, Meaning: "lower end of the active interval"}, metres},
		}, radiusInput, farVoltageInput), groundInputs...),
		formula: []string{"from the surface  R = ρ/(2πL) · (ln(4L/a) − 1)", "buried, t to b    R = ρ/(4πL²) · {2f(L) − 2f(0) + f(2b) − 2f(t + b) + f(2t)},  f(u) = u asinh(u/a) − √(u² + a²)"},
		source:  "Dwight, Trans. AIEE 55, 1319 (1936); mean potential with the image in the surface, Sunde, Earth Conduction Effects (1949); both from memory; temperature " + sourceOfLaws,
		assumes: []string{"even ground, the surface lets no current through, current leaves evenly along the rod, the return is far away"},
		fails:   []string{"the current is 1.7 to 2.6 % low against a fine solution, for rods from the surface, 1.8 to 12 m long, 0.15 m in radius", "in layers, or with other electrodes within a few lengths"},
		check: func(v *cases.Values) []cases.Fault {
			l := v.Number("bottom") - v.Number("top")
			if l < 0.01 {
				return []cases.Fault{v.Fault("bottom", "must be at least 1 cm below top")}
			}
			if v.Number("radius") > l/5 {
				return []cases.Fault{v.Fault("radius", fmt.Sprintf("must be at most a fifth of the rod's length, %.4g m", l/5))}
			}
			return nil
		},
		work: func(v *cases.Values) results {
			top, bottom, radius, voltage := v.Number("top"), v.Number("bottom"), v.Number("radius"), v.Number("voltage")
			r := results{volts: voltage, columns: []column{{"", celsius}, {"resistivity", ohmMetres}, {"resistance", ohms}, {"current", amperes}, {"current", amperesAMetre}, {"power", kilowatts}}}
			for _, s := range newConductor(v).states(v) {
				ohm := SurfaceRod(s.resistivity, bottom, radius)
				if top > 0 {
					ohm = BuriedRod(s.resistivity, top, bottom, radius)
				}
				r.rows = append(r.rows, row{s.label, []float64{s.temperature, s.resistivity, ohm, voltage / ohm, voltage / ohm / (bottom - top), voltage * voltage / ohm}})
			}
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			f, why := rodsOf(c)
			if f == nil {
				return nil, why
			}
			f["voltage"] = c.Supply.PhaseVoltage(f["voltage"].(float64))
			delete(f, "voltage_basis")
			delete(f, "length")
			delete(f, "count")
			f["top"], f["bottom"] = c.Arrays[0].Top, c.Arrays[0].Bottom
			return f, ""
		},
	}
}

func resistivityCalculation() *Calculation {
	return &Calculation{
		Name: "resistivity", Title: "resistivity of ground against temperature, by two laws",
		inputs:  groundInputs,
		formula: []string{"linear     ρ = ρ_ref/(1 + a (T − T_ref))", "viscosity  ρ = ρ_ref · μ(T)/μ(T_ref)"},
		source:  sourceOfLaws,
		assumes: []string{"pores stay as wet as found, no boiling"},
		fails:   []string{"both are extrapolations above 30 °C; at 100 °C they differ by a third"},
		work: func(v *cases.Values) results {
			c := newConductor(v)
			r := results{columns: []column{{"", celsius}, {"linear", ohmMetres}, {"viscosity", ohmMetres}, {"σ/σ_ref linear", plainNumber}, {"viscosity", plainNumber}}}
			at := func(label string, T float64) {
				lin, vis := c.linear.FactorT(T, math.Inf(1)), c.viscous.FactorT(T, math.Inf(1))
				r.rows = append(r.rows, row{label, []float64{T, c.resistivity / lin, c.resistivity / vis, lin, vis}})
			}
			at("as given", c.at)
			at("ambient", v.Number("ambient"))
			for _, T := range []float64{25, 50, 75} {
				at("", T+zeroC)
			}
			at("hot", v.Number("hot"))
			return r
		},
		fill: func(c *cases.Case) (filled, string) {
			top, bottom, ok := zoneOf(c)
			if !ok {
				return nil, noZone
			}
			return groundOf(c, top, bottom), ""
		},
	}
}
