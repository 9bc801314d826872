package cases

import (
	"math"
	"strings"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// twinCell and twinPlan are wiredSection in the other views: layers, bodies, supply and
// times of the same names and numbers, as far as the view has them, so that a reading of
// the section that knows no view holds there too.
var (
	twinCell = twin(`view = "axisymmetric"`, `radius = "4 m"`, "2 m", [3]string{
		"top = \"2 m\"\nbottom = \"4 m\"",
		"phase = \"A\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"0.15 m\"",
		"phase = \"B\"\ntop = \"6 m\"\nbottom = \"7 m\"\nradius = \"0.15 m\""},
		"radius = \"1.5 m\"\ninner_radius = \"1 m\"\ntop = \"2.5 m\"\nbottom = \"3 m\"\nthermal_conductivity = \"40 W/m/K\"\nheat_capacity = \"3.6 MJ/m3/K\"")
	// The slab lies in the sand.
	twinPlan = strings.Replace(twin(`view = "plan"`, "top = \"2 m\"\nbottom = \"4 m\"", "none", [3]string{
		`outline = [["0 m", "0 m"], ["9 m", "0 m"], ["9 m", "6 m"], ["0 m", "6 m"]]`,
		"phase = \"A\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"0.1 m\"\nx = \"2 m\"\ny = \"3 m\"",
		"phase = \"B\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"0.1 m\"\nx = \"6 m\"\ny = \"3 m\""},
		`outline = [["0 m", "12 m"], ["3 m", "12 m"], ["3 m", "15 m"], ["0 m", "15 m"]]`), `bottom = "2.5 m"`, `bottom = "5 m"`, 1)
)

// twin returns wiredSection in another view, with the shapes of its target, of its two
// electrodes and of its body of set power.
func twin(view, extent, table string, shapes [3]string, heat string) string {
	layers := wiredSection[strings.Index(wiredSection, "[surface]"):strings.Index(wiredSection, "[[target]]")]
	return "title = \"Twin\"\n" + view + "\n[site]\nambient = \"10 degC\"\nwater_table = \"" + table + "\"\n[extent]\n" + extent + "\n" + layers +
		"[[target]]\nname = \"zone\"\ntemperature = \"60 degC\"\n" + shapes[0] +
		"\n[[electrode]]\nname = \"P\"\n" + shapes[1] + "\n[[electrode]]\nname = \"R\"\n" + shapes[2] +
		"\n[[heat]]\nname = \"drum\"\npower = \"2 kW\"\n" + heat + "\n" + wiredSection[strings.Index(wiredSection, "[supply]"):]
}

// viewOf returns the view of a base.
func viewOf(base string) View {
	for _, v := range views {
		if strings.Contains(base, "view = \""+v+"\"") {
			return View(v)
		}
	}
	return ""
}

// carried returns the entries of the section for the keys that have none of their own in
// another view, to be read there.
func carried(all []wired) []wired {
	own := map[string]bool{}
	for _, w := range all {
		own[w.key+" "+string(viewOf(w.base))] = true
	}
	var out []wired
	for _, base := range []string{twinCell, twinPlan} {
		view := viewOf(base)
		for _, w := range all {
			if !findKey(w.key).in(view) || own[w.key+" "+string(view)] || notWiredIn[w.key+" "+string(view)] != "" {
				continue
			}
			switch w.base {
			case wiredSection:
				w.base = base
			case watered(wiredSection, "R"):
				w.base = watered(base, "R")
			default:
				continue
			}
			out = append(out, w)
		}
	}
	return out
}

// notWiredIn are the keys that do not arrive in the problem of one view alone, and why.
var notWiredIn = map[string]string{
	"array.outboard axisymmetric": "one rod is taken, whatever stands beside it",
}

// capLoss returns, of a plan's columns at their start in ground of a temperature [K],
// what leaves them at the surface and below [W/m²], at a time [s].
func capLoss(p *solver.Problem, kelvin, at float64) (surface, below float64) {
	c := p.Heat.Columns
	p.Heat.SetAir(at, 0)
	nodes, r := make([]float64, c.Size()), c.NewRates()
	s := make([]float64, p.Ground.Grid.Cells())
	w := physics.NewState(len(s), 0)
	p.Ground.Start(w)
	p.Ground.SaturationTo(s, w.W)
	p.Heat.Assemble(p.Ground, s)
	c.Start(nodes, &r, kelvin)
	_, surface, below = c.Totals()
	area := 0.0
	for _, v := range p.Ground.Grid.Volume {
		area += v / p.Ground.Grid.Outline[0]
	}
	return surface / area, below / area
}

// capEnds returns the temperatures [K] beyond the two ends of a plan's columns, and the
// conductances there [W/(m²·K)]: what leaves is linear in the ground's temperature. NaN:
// the end is insulated.
func capEnds(p *solver.Problem, at float64) (air, below, surfaceG, belowG float64) {
	s0, b0 := capLoss(p, 300, at)
	s1, b1 := capLoss(p, 310, at)
	surfaceG, belowG = (s1-s0)/10, (b1-b0)/10
	return 300 - s0/surfaceG, 300 - b0/belowG, surfaceG, belowG
}

func capAir(at float64) reading {
	return func(p *solver.Problem) float64 { air, _, _, _ := capEnds(p, at); return air }
}

// capAbove is aboveGround of a plan: less half the uppermost node's.
func capAbove(lambda float64) reading {
	return func(p *solver.Problem) float64 {
		_, _, g, _ := capEnds(p, 0)
		above, _ := p.Heat.Columns.Nodes()
		return 1/g - above[len(above)-1]/2/lambda
	}
}

// wiredViews holds keys to their place in the views other than the section, where it is
// not the same.
func wiredViews() []wired {
	level, cell, casing := wiredPlan, wiredCell, wiredCasing
	array := wiredCell[:strings.Index(wiredCell, "[[electrode]]")] + "[[array]]\npattern = \"triangular\"\nspacing = \"4 m\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"0.15 m\"\n" + wiredCell[strings.Index(wiredCell, "[supply]"):]
	array = strings.Replace(array, "[extent]\nradius = \"2.5 m\"\n", "", 1)
	grid := strings.Replace(wiredPlan, "pattern = \"ring\"\ncenter = [\"20 m\", \"14 m\"]\ndiameter = \"6 m\"", "pattern = \"rectangular\"\nspacing = \"3 m\"", 1)
	away := []string{"electrode.P.y=-14 m", "electrode.Q.y=-14 m"}
	rate := addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.Rate })
	edge, litre := sideOf("right", ofAll), 998.2e-3/60
	bodies := func(p *solver.Problem) float64 { return float64(len(p.Electric.Bodies)) }
	const d = 86400.0
	rounding := 1e-9 // of flows near 300 K over conductances near 10 W/(m²·K), each to 1e-13
	return []wired{
		// The circle of equal area: 0.525 spacings of a triangular array, 1/√π of a rectangular one.
		{key: "array.pattern", base: array, set: "array[1].pattern=rectangular", what: "outer edge [m]", got: edge, want: 4 / math.Sqrt(math.Pi)},
		{key: "array.spacing", base: array, set: "array[1].spacing=5 m", what: "outer edge [m]", got: edge, want: 5 * math.Sqrt(math.Sqrt(3)/(2*math.Pi))},
		{key: "array.top", base: array, set: "array[1].top=1.5 m", what: "top [m]", got: sideOf("top", ofPlate), want: 1.5},
		{key: "array.bottom", base: array, set: "array[1].bottom=5 m", what: "bottom [m]", got: sideOf("bottom", ofPlate), want: 5},
		{key: "array.radius", base: array, set: "array[1].radius=0.2 m", what: "radius [m]", got: sideOf("right", ofPlate), want: 0.2},
		{key: "array.voltage", base: array, set: "array[1].voltage=70 V", what: "tap of the rod [V]", got: ownOf(0, 0, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70},
		{key: "electrode.bottom", base: cell, set: "electrode.E.bottom=5 m", what: "bottom of the rod [m]", got: sideOf("bottom", ofPlate), want: 5},
		{key: "conductor.top", base: casing, set: "conductor.casing.top=4.5 m", what: "top [m]", got: sideOf("top", ofMetal), want: 4.5},
		{key: "conductor.bottom", base: casing, set: "conductor.casing.bottom=7 m", what: "bottom [m]", got: sideOf("bottom", ofMetal), want: 7},
		{key: "water_added.electrode", base: watered(wiredPair, "E"), set: "water_added[1].electrode=F", what: "depth that water goes to on the mean [m]", got: soughtAt(true), want: 5.5, tol: 1e-12},
		{key: "water_added.electrode", base: watered(level, "P"), set: "water_added[1].electrode=Q", what: "x that water goes to on the mean [m]", got: soughtAt(false), want: 6, tol: rounding},
		{key: "water_added.rate", base: watered(cell, "E"), with: []string{"extent.count=12"}, set: "water_added[1].rate=3 L/min", what: "water at twelve rods [kg/s]", got: rate, want: 12 * 3 * litre},
		{key: "domain.bottom", base: cell, set: "domain.bottom=12 m", what: "bottom [m]", got: sideOf("bottom", ofAll), want: 12},
		{key: "mesh.finest", base: cell, set: "mesh.finest=0.25 m", what: "height of a row of the ring, of 0.5 m [m]", got: func(p *solver.Problem) float64 {
			g := p.Ground.Grid
			k := mesh.EdgeAt(g.Z, 2.5)
			return g.Z[k+1] - g.Z[k]
		}, want: 0.25},

		// Under 101.3 kPa and 2 m of water, 120.9 kPa, it boils at 105.0 °C (steam tables, from memory).
		{key: "site.water_table", base: level, set: "site.water_table=1 m", what: "boiling point in the slab's middle [K]", got: func(p *solver.Problem) float64 { return p.Ground.BoilingPoint(0) }, want: 378.2, tol: 0.1},
		{key: "surface.air", base: level, set: "surface.air=3 degC", what: "air above the columns [K]", got: capAir(0), want: 276.15, tol: rounding},
		{key: "surface.air", base: level, set: "surface.air=air.csv", what: "air of a series on day 15 [K]", got: capAir(15 * d), want: 288.15, tol: rounding},
		{key: "time.power_on", base: level, with: []string{wiredMonths, "time.power_on=2026-01-16T12:00:00"}, set: "time.power_on=2026-07-16T12:00:00", what: "air at power-on [K]", got: capAir(0), want: 280.15, tol: rounding},
		{key: "surface.film", base: level, set: "surface.film=5 W/m2/K", what: "resistance above ground [m²·K/W]", got: capAbove(1.2), want: 0.2, tol: rounding},
		{key: "surface.cover", base: level, set: "surface.cover=2 m2*K/W", what: "resistance above ground [m²·K/W]", got: capAbove(1.2), want: 2 + 1/12., tol: rounding},
		{key: "domain.below", base: level, set: "domain.below=5 degC", what: "temperature held below the columns [K]", got: func(p *solver.Problem) float64 { _, below, _, _ := capEnds(p, 0); return below }, want: 278.15, tol: rounding},
		{key: "domain.bottom", base: level, set: "domain.bottom=11 m", what: "length of the columns below the slab [m]", got: func(p *solver.Problem) float64 {
			_, below := p.Heat.Columns.Nodes()
			sum := 0.0
			for _, dz := range below {
				sum += dz
			}
			return sum
		}, want: 11 - 4, tol: rounding},
		// Half of sand's 1.5 and half of clay's 1.2 W/(m·K), side by side.
		{key: "layer.bottom", base: twinPlan, set: "layer.sand.bottom=3 m", what: "conductivity of the slab [W/(m·K)]", got: soilOf(0, func(s *materials.Soil) float64 { return s.ThermalConductivity }), want: 1.35},
		{key: "layer.inflow", base: twinPlan, set: "layer.sand.inflow=0.432 1/d", what: "inflow [1/s]", got: storeOf(0, func(s *physics.Store) float64 { return s.Inflow / s.Pores }), want: 5e-6},
		{key: "layer.inflow", base: twinPlan, set: "layer.sand.inflow=unlimited", what: "unlimited inflow", got: storeOf(0, func(s *physics.Store) float64 { return one(math.IsInf(s.Inflow, 1)) }), want: 1},
		{key: "layer.refill_rate", base: twinPlan, with: []string{"layer.sand.inflow=unlimited"}, set: "layer.sand.refill_rate=0.432 1/d", what: "refill [1/s]", got: storeOf(0, func(s *physics.Store) float64 { return s.Refill / s.Pores }), want: 5e-6},
		// A grid of 3 m in 9 m by 6 m has 4 × 3 electrodes, with 3 m more all round 6 × 5 but for the
		// corners, which are 4.2 m away. The two by hand stand apart.
		{key: "array.outboard", base: grid, with: away, set: "array.R.outboard=3 m", what: "electrodes", got: bodies, want: 6*5 - 4 + 2},
		{key: "array.pattern", base: grid, with: away, set: "array.R.pattern=triangular", what: "rows along nearest neighbours apart [m]", got: func(p *solver.Problem) float64 {
			first := p.Electric.Bodies[2].Rod.Y
			for b := 3; ; b++ {
				if y := p.Electric.Bodies[b].Rod.Y; y > first+1e-9 {
					return y - first
				}
			}
		}, want: 3 * math.Sqrt(3) / 2},
		{key: "array.voltage", base: level, set: "array.R.voltage=70 V", what: "tap of the ring's first [V]", got: ownOf(0, 2, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70},
		// Of rods of 2.5 and 3 m two metres are in the slab.
		{key: "array.top", base: watered(level, "R1"), set: "array.R.top=1.5 m", what: "water in the slab [kg/s]", got: rate, want: 0.8 * 2 * litre},
		{key: "array.bottom", base: watered(level, "R1"), set: "array.R.bottom=5 m", what: "water in the slab [kg/s]", got: rate, want: 2 / 3. * 2 * litre},
		{key: "electrode.bottom", base: watered(level, "P"), set: "electrode.P.bottom=5 m", what: "water in the slab [kg/s]", got: rate, want: 2 / 3. * 2 * litre},
		{key: "electrode.contact_resistance", base: level, set: "electrode.P.contact_resistance=0.03 ohm*m2", what: "of the rod [Ω·m²]", got: bodyOf(0, func(_ *solver.Problem, b *physics.Body) float64 { return b.Contact }), want: 0.03},
		{key: "water_added.rate", base: watered(level, "P"), set: "water_added[1].rate=3 L/min", what: "water at a rod [kg/s]", got: rate, want: 3 * litre},
	}
}
