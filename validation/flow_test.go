//dossier:chapter Heat carried by water

package validation

import (
	"context"
	"fmt"
	"math"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// little is a rise of temperature [K] over which water's heat capacity stands still, to
// 2e-5 of its mean: closed forms of flow have it constant.
const little = 0.1

// fluxFor returns the Darcy flux [m/s] whose heat front moves at v [m/s] through ground of
// the closed forms between its start and a little rise,
//
//	q = v C/(ρ_w c_w)
func fluxFor(v float64) float64 {
	h0, _ := tables.Enthalpy(atStart)
	h1, _ := tables.Enthalpy(atStart + little)
	return v * capacity / (materials.RhoWater * (h1 - h0) / little)
}

var tables = materials.NewWater()

// flowing is a problem of heat alone through whose ground water flows.
func (c *conduction) flowing(t *testing.T, f physics.Flow) *solver.Problem {
	t.Helper()
	p := c.problem(t)
	p.Heat.Carry(p.Ground, f)
	return p
}

// raining is a constant rate [m/s].
func raining(q float64) func(from, to float64) float64 {
	return func(float64, float64) float64 { return q }
}

// finished returns a problem's last report.
func finished(t *testing.T, p *solver.Problem) *solver.Report {
	t.Helper()
	rep, err := solver.Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return rep
}

// inletColumn returns rises over the little one in a column into which water flows from
// above, held at that rise.
func inletColumn(t *testing.T, z []float64, v, d, duration, tolerance float64) (*mesh.Grid, []float64) {
	t.Helper()
	g := downward(z)
	c := conduction{grid: g, soil: plainSoil(d*capacity, capacity, 50, 0), boundary: heldSurface,
		zone: mesh.Zone{I1: 1, K1: g.NZ}, duration: duration, tolerance: tolerance}
	c.boundary.Air = constantAir(atStart + little)
	rep := finished(t, c.flowing(t, physics.Flow{Rain: raining(fluxFor(v))}))
	u := rises(rep.State)
	for i := range u {
		u[i] /= little
	}
	return g, u
}

// continuousInlet is the rise, over that of its inlet, of a half-space into which water
// carries heat at v [m/s] and where heat spreads by d [m²/s].
//
//	½ [erfc((x − vt)/2√(Dt)) + exp(vx/D) erfc((x + vt)/2√(Dt))]
//
// Source: Ogata & Banks (1961), USGS Professional Paper 411-A (from memory).
func continuousInlet(x, t, v, d float64) float64 {
	w := 2 * math.Sqrt(d*t)
	second := 0.0
	if y := (x + v*t) / w; y < 20 {
		second = math.Exp(v*x/d) * math.Erfc(y)
	} else { // erfc's asymptote, within 1/(2y²) of it
		second = math.Exp(v*x/d-y*y) / (y * math.Sqrt(math.Pi)) * (1 - 1/(2*y*y))
	}
	return (math.Erfc((x-v*t)/w) + second) / 2
}

// TestWaterCarriesAFront: water that flows into cool ground warms it as Ogata and Banks
// say, with the heat that its own conduction spreads. T/ΔT = ½ [erfc((x − vt)/2√(Dt)) +
// exp(vx/D) erfc((x + vt)/2√(Dt))], v = qρ_w c_w/C.
// Source: Ogata & Banks (1961), USGS Professional Paper 411-A; values A14.
func TestWaterCarriesAFront(t *testing.T) {
	for _, c := range []struct {
		days  float64
		depth []float64
		names map[int]string // rows of the table, by depth
	}{
		{100, []float64{2, 5}, map[int]string{0: "x=2.0 m, t=100 d, thermal velocity 2e-7 m/s, D=8e-7 m2/s", 1: "x=5.0 m, t=100 d, thermal velocity 2e-7 m/s, D=8e-7 m2/s"}},
		{365, []float64{5, 10, 15}, map[int]string{1: "x=10.0 m, t=365 d, thermal velocity 2e-7 m/s, D=8e-7 m2/s"}},
	} {
		got := refined(t, 1e-3, func(f float64) []float64 {
			// 60 m are 5 diffusion lengths 2√(Dt) beyond the front: erfc(5) = 2e-12.
			g, u := inletColumn(t, demoAxis(t, f, 60, append([]float64{0}, c.depth...)...), 2e-7, diffusivity, c.days*day, stepTolerance(f, little)/10)
			var out []float64
			for _, x := range c.depth {
				out = append(out, along(g.ZC, u, x))
			}
			return out
		})
		for i, x := range c.depth {
			formula := continuousInlet(x, c.days*day, 2e-7, diffusivity)
			if name, tabled := c.names[i]; tabled {
				want, _, source := closedForm(t, "A14", name)
				hold(t, check{"the formula written here, " + name, source, formula, want, "-", 1e-9}) // ten printed digits
				got.holdClosedForms(t, "A14", i, name)
				continue
			}
			got.hold(t, i, fmt.Sprintf("x=%g m, t=%g d, thermal velocity 2e-7 m/s", x, c.days), "Ogata & Banks 1961", formula, "-", 0)
		}
	}
}

// levelGrid is a grid of n by m equal cells of 0.25 m, 1 m along.
func levelGrid(n, m int) *mesh.Grid {
	return mesh.NewSection(equalEdges(0.25*float64(n), n), equalEdges(0.25*float64(m), m), 1)
}

// evenFlux is one flux in every row.
func evenFlux(g *mesh.Grid, q float64) []float64 {
	out := make([]float64, g.NZ)
	for k := range out {
		out[k] = q
	}
	return out
}

// TestFlowCarriesOffWhatIsPutIn: in a strip that nothing else leaves, steady water takes
// out the heat that is put in, and a gallon a minute from 15 to 100 °C takes 22.4 kW:
// 6.309e-5 m³/s of 998.2 kg/m³ by 419.1 − 63.0 kJ/kg (steam tables, from memory, at
// 1 bar to their last digits: 0.1 kJ/kg of 356 in each).
// Source: conservation of energy; steam tables, from memory.
func TestFlowCarriesOffWhatIsPutIn(t *testing.T) {
	const gallonsPerMinute, power = 3.785411784e-3 / 60, 22.4e3
	for _, back := range []float64{1, -1} {
		g := levelGrid(24, 6)
		zone := g.Box("zone", 2, 4, 0, 1.5)
		c := conduction{grid: g, boundary: insulated, imposed: heated(g, zone, power/zone.Volume(g)), zone: zone, duration: 2000 * day, fixed: 50 * day, tolerance: 1e-4}
		p := c.problem(t)
		p.Ground = wetGround(t, g, 288.15)
		p.Heat = physics.NewHeat(g, physics.HeatBoundary{Air: constantAir(288.15)})
		p.Heat.Carry(p.Ground, physics.Flow{Across: evenFlux(g, back*gallonsPerMinute/1.5)})
		var carried, in, zoneWater, joule [2]float64
		rep, err := solver.Run(context.Background(), p, everyReport(func(r *solver.Report) {
			shift := func(v *[2]float64, x float64) { v[0], v[1] = v[1], x }
			shift(&carried, r.Ledger.CarriedByWater)
			shift(&in, r.Ledger.In)
			z := r.Ledger.Zone
			shift(&zoneWater, z.Water+z.Top+z.Bottom+z.Sides)
			shift(&joule, z.Joule)
		}))
		if err != nil {
			t.Fatal(err)
		}
		rate := func(v [2]float64) float64 { return v[1] - v[0] }
		// What is still stored in the last of 40 steps, of some ten times the water's
		// passage each: the solver's 1e-8 K of 85.
		hold(t, check{fmt.Sprintf("heat that water carries off over heat put in, flux %+g", back), "conservation of energy", rate(carried) / rate(in), 1, "-", 1e-8})
		hold(t, check{fmt.Sprintf("heat that leaves the zone over heat put in, flux %+g", back), "conservation of energy", rate(zoneWater) / rate(joule), 1, "-", 1e-8})
		last := g.NX - 1
		if back < 0 {
			last = 0
		}
		// 22.4 for 22.43 kW is 0.1 K.
		hold(t, check{fmt.Sprintf("a gallon a minute, heated from 15 °C by 22.4 kW, flux %+g", back), "steam tables, from memory", rep.State.T[last] - materials.Celsius, 100, "°C", 0.2})
	}
}

// wetGround is ground of porosity 0.4 full of water, that does not boil.
func wetGround(t *testing.T, g *mesh.Grid, ambient float64) *physics.Ground {
	t.Helper()
	s := plainSoil(conductivity, capacity, 50, 0)
	s.Porosity, s.Saturation, s.ThermalConductivityDry = 0.4, 1, 0.4
	gr, err := physics.NewGround(g, physics.Site{Ambient: ambient, AirPressure: 101325, WaterTable: 0}, tables,
		[]*materials.Soil{&s}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// everyReport calls a function for every report.
type everyReport func(*solver.Report)

func (f everyReport) Record(r *solver.Report) error { f(r); return nil }

// pulsed is a row of n cells of 0.25 m in which the cells from a to b are warmed by the
// little rise within the first 0.01 of the duration, and water flows at v [m/s] while
// heat spreads by d [m²/s]. It returns the rises over the little one, and the report.
func pulsed(t *testing.T, n, a, b int, shape func(x float64) float64, v, d, duration, tolerance float64) (*mesh.Grid, []float64, *solver.Report) {
	t.Helper()
	g := mesh.NewSection(equalEdges(50, n), []float64{0, 1}, 1)
	c := conduction{grid: g, soil: plainSoil(d*capacity, capacity, 50, 0), boundary: insulated, zone: mesh.Zone{I1: n, K1: 1}, duration: duration, tolerance: tolerance}
	p := c.flowing(t, physics.Flow{Across: []float64{fluxFor(v)}})
	on := 0.01 * duration
	p.Varying = func(dst []float64, from, to float64) {
		share := 0.0 // of the time from to to
		switch {
		case to > from:
			share = math.Max(0, math.Min(to, on)-from) / (to - from)
		case from < on:
			share = 1
		}
		for i := a; i < b; i++ {
			dst[i] += share * little * shape(g.XC[i]) * capacity * g.Volume[i] / on
		}
	}
	p.Outputs = []float64{on}
	rep := finished(t, p)
	u := rises(rep.State)
	for i := range u {
		u[i] /= little
	}
	return g, u, rep
}

// TestPulseKeepsItsHeatAndItsPace: a pulse of heat in flowing water keeps its heat, and
// its centre moves at v = qρ_w c_w/C. A face's temperature is that of the cell before and
// half the mean of two slopes; summed over a row the slopes of a plain mean cancel, so
// that the pace is exact but for what the limiter takes off at the top, of third order
// in Δx over the pulse's width.
// Source: conservation of energy; the first moment of the equation.
func TestPulseKeepsItsHeatAndItsPace(t *testing.T) {
	const v, d, duration = 1e-6, 1e-7, 250 * day
	bell := func(x float64) float64 { return math.Exp(-(x - 10) * (x - 10) / 8) }
	var off []float64
	for _, n := range []int{100, 200, 400} {
		g, u, rep := pulsed(t, n, 0, n, bell, v, d, duration, 1e-4*little)
		heat, moment := 0.0, 0.0
		for i, x := range u {
			heat += x * g.Volume[i]
			moment += x * g.Volume[i] * g.XC[i]
		}
		l := rep.Ledger
		// Sums of 1e3 steps and cells, each rounded to 1e-16 of the heat; T found to
		// 1e-11 K of a tenth.
		hold(t, check{fmt.Sprintf("heat kept by a pulse on %d cells, over that put in", n), "conservation of energy", (l.StoredTarget + l.CarriedByWater) / l.In, 1, "-", 1e-9})
		// It was put in, evenly, over the first hundredth.
		off = append(off, moment/heat-10-0.995*duration*v)
	}
	t.Logf("centre off by %.3g m after %.3g m", off, duration*v)
	// 22 m in steps whose error is 1e-4 of the rise: a thousandth of the pulse's 2 m.
	hold(t, check{"place of the centre of a pulse, 22 m on", "first moment of the equation", off[2], 0, "m", 2e-3})
	if !(math.Abs(off[2]) < math.Abs(off[0])/2) {
		t.Errorf("the centre is off by %.3g m on 100, 200 and 400 cells, want it to fall", off)
	}
}

// TestSquarePulseStaysWithinItsBounds: a square pulse carried by water that spreads no
// heat gets no warmer anywhere than it was, nor any cell colder than the ground, and it
// stays much sharper than with the cell before alone, whose own spreading is that of a
// diffusivity vΔx/2.
// Source: maximum principle; the modified equation of upwind differences (Hirt, J.
// Comput. Phys. 2, 339 (1968), from memory).
func TestSquarePulseStaysWithinItsBounds(t *testing.T) {
	const v, d, duration, n = 1e-6, 1e-13, 200 * day, 200
	square := func(x float64) float64 { return 1 }
	g, u, rep := pulsed(t, n, 20, 60, square, v, d, duration, 1e-3*little)
	high, low := 0.0, 0.0
	limited, upwind := 0.0, 0.0
	first := 20*0.25 + 0.995*v*duration
	for i, x := range u {
		high, low = math.Max(high, x), math.Min(low, x)
		exact := 0.0
		if g.XC[i] > first && g.XC[i] < first+10 {
			exact = 1
		}
		limited += math.Abs(x-exact) * 0.25
		w := 2 * math.Sqrt(v*0.25/2*duration)
		upwind += math.Abs((math.Erf((g.XC[i]-first)/w)-math.Erf((g.XC[i]-first-10)/w))/2-exact) * 0.25
	}
	t.Logf("%d steps; from %.6g to %.6g; off by %.3g m, upwind alone by %.3g m", rep.Stats.Steps, low, 1+(high-1), limited, upwind)
	// A step's own error is up to ten tolerances in one cell, and tends to both signs.
	hold(t, check{"warmest cell of a square pulse", "maximum principle", math.Max(1, high), 1, "of its rise", 1e-2})
	hold(t, check{"coldest cell beside a square pulse", "maximum principle", low, 0, "of its rise", 1e-2})
	if !(limited < upwind/2) {
		t.Errorf("a square pulse is off by %.3g m, upwind alone by %.3g m, want less than half", limited, upwind)
	}
}

// TestFlowTurns: water that flows across a square grid and water that flows down it, on
// the grid turned by 90°, warm the same cells alike; so do both at once.
// Source: symmetry.
func TestFlowTurns(t *testing.T) {
	e := make([]float64, 21)
	for i := range e { // cells that grow
		e[i] = 4 * math.Pow(float64(i)/20, 1.3)
	}
	run := func(across, down float64, heat [2]int) *solver.State {
		g := mesh.NewSection(e, e, 1)
		w := make([]float64, g.Cells())
		w[g.Index(heat[0], heat[1])] = 200
		c := conduction{grid: g, boundary: insulated, imposed: w, zone: mesh.Zone{I1: 20, K1: 20}, duration: 60 * day, fixed: 2 * day, tolerance: 1e-3}
		return finished(t, c.flowing(t, physics.Flow{Across: evenFlux(g, across), Down: down})).State
	}
	const q = 2e-7
	for _, c := range []struct{ across, down float64 }{{q, 0}, {-q, 0}, {q, q / 3}, {-q, q / 3}} {
		a, b := run(c.across, c.down, [2]int{8, 12}), run(c.down, c.across, [2]int{12, 8})
		worst, most := 0.0, 0.0
		for k := range 20 {
			for i := range 20 {
				worst = math.Max(worst, math.Abs(a.T[k*20+i]-b.T[i*20+k]))
				most = math.Max(most, a.T[k*20+i]-atStart)
			}
		}
		// A solve is left at 1e-4 of the tolerance, twice a step, for 30 steps, and a small
		// cell may lie ten times above the rms.
		hold(t, check{fmt.Sprintf("flux across %+.1g and down %+.1g m/s, turned, of %.3g K", c.across, c.down, most), "symmetry", worst, 0, "K", 6e-5})
	}
}

// TestRainOverWarmGround: rain through a column over warm ground bends its steady
// temperature. (T − T₀)/(T_L − T₀) = (exp(βz/L) − 1)/(exp β − 1), β = ρ_w c_w q L/λ.
// Source: Bredehoeft & Papadopulos, Water Resour. Res. 1, 325 (1965) (from memory).
func TestRainOverWarmGround(t *testing.T) {
	const length = 5.0
	for _, beta := range []float64{0.5, 3, 10} {
		var errs []float64
		for _, n := range []int{20, 40, 80} {
			g := downward(equalEdges(length, n))
			b := heldSurface
			b.Below = physics.Held{On: true, Temperature: atStart + little}
			c := conduction{grid: g, boundary: b, zone: mesh.Zone{I1: 1, K1: n}, duration: 4000 * day, fixed: 200 * day, tolerance: 1e-6}
			v := beta * diffusivity / length
			u := rises(finished(t, c.flowing(t, physics.Flow{Rain: raining(fluxFor(v))})).State)
			worst := 0.0
			for i, x := range u {
				worst = math.Max(worst, math.Abs(x/little-math.Expm1(beta*g.ZC[i]/length)/math.Expm1(beta)))
			}
			errs = append(errs, worst)
		}
		t.Logf("β = %g: largest errors %.3g of the rise", beta, errs)
		// On the last two meshes; the next term is of the order of βΔx/L, an eighth at most.
		hold(t, check{fmt.Sprintf("order of the temperature under rain, β = %g", beta), "Bredehoeft & Papadopulos 1965", order(errs[1], errs[2]), 2, "", 0.2})
		hold(t, check{fmt.Sprintf("temperature under rain, β = %g, 80 cells, largest error", beta), "Bredehoeft & Papadopulos 1965", errs[2], 0, "of the rise", 1.25 * 4. / 3 * errs[1] / 4 * 1.3})
	}
}

// TestMoreGroundwaterTakesLonger: on the paved yard 0.05 ft/d of groundwater through sand
// and silt delays the target of 90 %, and with 0.2 ft/d it is not reached while the run
// lasts: the upstream edge of the silt stays cool as far as a front of heat comes,
// 0.07 ft a day at 0.05 ft/d, 4 of 60 ft when the target is due. One dimension has no such
// edge; a crude estimate there is 0.7 d at 0.05 ft/d.
// Source: balance of heat; a target that is not reached is later than any day.
func TestMoreGroundwaterTakesLonger(t *testing.T) {
	var days []float64
	for _, q := range []float64{0, 0.05, 0.2} {
		c, err := cases.Load("../cases/paved-yard.toml", []string{"mesh.finest=6 in", "time.duration=66 d",
			fmt.Sprintf("layer.silt.groundwater=%g ft/d", q), fmt.Sprintf("layer.sand fill.groundwater=%g ft/d", q)})
		if err != nil {
			t.Fatal(err)
		}
		x, _ := c.Expand()
		p, err := x.Build()
		if err != nil {
			t.Fatal(err)
		}
		rep := finished(t, p)
		target := p.Targets[0]
		at := solver.Quantile(rep.Targets[0].Crossing, target.Zone.Cells(p.Ground.Grid), p.Ground.Grid.Volume, target.Share) / day
		if math.IsNaN(at) {
			at = math.Inf(1)
		}
		t.Logf("%g ft/d: 90 %% on day %.2f, %.1f %% at the end", q, at, 100*rep.Targets[0].Share)
		days = append(days, at)
	}
	if !(days[0] < days[1] && days[1] < days[2]) {
		t.Errorf("with 0, 0.05 and 0.2 ft/d the target is reached on days %.4g, want them to rise", days)
	}
}
