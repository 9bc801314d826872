//dossier:chapter Conduction

package validation

import (
	"context"
	"encoding/csv"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// The ground of the closed forms: k = 2 W/(m·K), ρc = 2.5e6 J/(m³·K), no water.
const (
	conductivity = 2.0    // [W/(m·K)]
	capacity     = 2.5e6  // [J/(m³·K)]
	diffusivity  = 8e-7   // [m²/s]
	atStart      = 283.15 // [K] the ground at the start
	day          = 86400.0
)

// The demo case's mesh: finest cells and growth from cell to cell.
const (
	demoFinest = 0.07 // [m]
	demoGrowth = 1.2
)

// conduction is a problem of heat alone: a grid, what meets it at its edges, and
// a power that is set.
type conduction struct {
	grid      *mesh.Grid
	soil      materials.Soil // zero: the ground of the closed forms
	boundary  physics.HeatBoundary
	imposed   []float64 // [W] by cell
	zone      mesh.Zone // treatment zone, and where the time error is measured
	duration  float64   // [s]
	tolerance float64   // [K]
	fixed     float64   // [s] step; 0: adaptive
}

// plainSoil is a soil without water.
func plainSoil(k, c, resistivity, coefficient float64) materials.Soil {
	return materials.Soil{Name: "plain", Resistivity: resistivity, ResistivityAt: atStart, TemperatureCoeff: coefficient,
		SaturationExponent: 2, ThermalConductivity: k, HeatCapacity: c}
}

// plainGround fills a grid with one soil; boiling is off.
func plainGround(t *testing.T, g *mesh.Grid, s materials.Soil) *physics.Ground {
	t.Helper()
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		[]*materials.Soil{&s}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

func (c *conduction) problem(t *testing.T) *solver.Problem {
	t.Helper()
	if c.soil.HeatCapacity == 0 {
		c.soil = plainSoil(conductivity, capacity, 50, 0)
	}
	if c.boundary.Air == nil {
		c.boundary.Air = constantAir(atStart)
	}
	return &solver.Problem{
		Ground: plainGround(t, c.grid, c.soil), Heat: physics.NewHeat(c.grid, c.boundary), Imposed: c.imposed,
		Targets: []solver.Target{{Zone: c.zone, Temperature: 1e4, Share: 1}}, Watched: c.zone, Duration: c.duration,
		Settings: solver.Settings{Tolerance: c.tolerance, FixedStep: c.fixed},
	}
}

// run returns the last report, and fails the test where the run does.
func (c *conduction) run(t *testing.T) (*solver.Report, *solver.Problem) {
	t.Helper()
	p := c.problem(t)
	rep, err := solver.Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return rep, p
}

func constantAir(T float64) func(float64) float64 { return func(float64) float64 { return T } }

// insulated is a surface that lets nothing through, heldSurface one at the air's
// temperature: film coefficients of 0 and ∞.
var (
	insulated   = physics.HeatBoundary{}
	heldSurface = physics.HeatBoundary{Film: math.Inf(1)}
)

// demoAxis returns the demo's axis, with cells f times as long everywhere: size and
// ln(growth) both scale, so halving f halves every cell.
func demoAxis(t *testing.T, f, end float64, finestAt ...float64) []float64 {
	t.Helper()
	marks := []mesh.Mark{{At: 0, Size: math.Inf(1)}, {At: end, Size: math.Inf(1)}}
	for _, x := range finestAt {
		marks = append(marks, mesh.Mark{At: x, Size: demoFinest * f})
	}
	e, err := mesh.Grade(marks, math.Pow(demoGrowth, f), 10000)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// meshes is what refined found: values on the demo's mesh, or another, and on one
// of half its cells, each with a bound on its error in the values' unit.
type meshes struct {
	demo, half       []float64
	demoTol, halfTol float64
	names            [2]string
}

// refined runs a case on a mesh of the demo's finest cells and growth (f = 1), and
// on meshes with cells half and a quarter as long. The step's tolerance goes as f³,
// so steps, of local order 3, go as f, and one extrapolation covers space and time.
//
// The bounds are Richardson's, with the largest difference over all values so that
// one where errors happen to cancel does not set it: error of a mesh = 4/3 × its
// difference to the next finer one for the formal order 2; times a safety factor of
// 1.25 (Roache, J. Fluids Eng. 133(11), 2011, 115501). That is a bound only where the
// order is seen, so it is held: differences that fall by 3 to 16/3 where order 2 falls
// by 4. Where a share s of the coarse difference is of order 1, the fine one is
// (1 − s)/4 + s/2 of it and the half mesh's error (1 − s)/3 + s, which 1.25·4/3 times
// the fine one bounds up to s = 1/3, a fall by 3. The other end is as far off, 4/3
// times. With half the demo's cells the bound is also never wider
// than bar, 0.1 % of the scale. With the demo's own it is what it is: where cells
// grow by g one after another without end, the distance of two nodes is
// 1 + (ln g)²/6 times what the gradient at their face asks for, and ground seems to
// conduct 0.5 % less.
func refined(t *testing.T, bar float64, run func(f float64) []float64) meshes {
	t.Helper()
	m := meshes{demo: run(1), half: run(0.5), names: [2]string{"demo's cells", "half of them"}}
	quarter := run(0.25)
	var coarse, fine float64
	for i := range m.demo {
		coarse = math.Max(coarse, math.Abs(m.demo[i]-m.half[i]))
		fine = math.Max(fine, math.Abs(m.half[i]-quarter[i]))
	}
	const safety = 1.25
	m.demoTol, m.halfTol = safety*4/3*coarse, math.Min(bar, safety*4/3*fine)
	t.Logf("observed order %.2f", order(coarse, fine))
	if p := order(coarse, fine); !(math.Abs(p-2) <= order(4, 3)) {
		t.Errorf("meshes of cells 1, 1/2 and 1/4 as long differ by %.3g and %.3g, order %.3f, want 2 within %.3f", coarse, fine, p, order(4, 3))
	}
	return m
}

// hold holds value i against want, on both meshes. rounding is what want's own
// digits leave open.
func (m meshes) hold(t *testing.T, i int, claim, source string, want float64, unit string, rounding float64) {
	t.Helper()
	hold(t, check{claim + ", " + m.names[0], source, m.demo[i], want, unit, m.demoTol + rounding})
	hold(t, check{claim + ", " + m.names[1], source, m.half[i], want, unit, m.halfTol + rounding})
}

// holdClosedForms holds values from number first on against rows of one id.
func (m meshes) holdClosedForms(t *testing.T, id string, first int, names ...string) {
	t.Helper()
	for i, name := range names {
		want, unit, source := closedForm(t, id, name)
		m.hold(t, first+i, name, source, want, unit, 1e-9*math.Abs(want)) // ten printed digits
	}
}

// stepTolerance is the local error [K] allowed on a mesh of cells f times the
// demo's, for a temperature scale [K].
func stepTolerance(f, scale float64) float64 { return 1e-4 * scale * f * f * f }

// closedForms returns the rows of testdata/analytic_values.csv below their head.
func closedForms(t *testing.T) [][]string {
	t.Helper()
	f, err := os.Open("testdata/analytic_values.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// closedForm returns a value of testdata/analytic_values.csv by its id and case.
func closedForm(t *testing.T, id, name string) (value float64, unit, source string) {
	t.Helper()
	for _, row := range closedForms(t) {
		if row[0] == id && row[1] == name {
			v, err := strconv.ParseFloat(row[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v, row[2], row[7]
		}
	}
	t.Fatalf("testdata/analytic_values.csv has no row %s, %q", id, name)
	return 0, "", ""
}

// along returns the value at x of a field known at increasing nodes, by the cubic
// through the four nearest: its error, of fourth order, is far below the
// scheme's.
func along(nodes, field []float64, x float64) float64 {
	first := 0
	for first < len(nodes)-4 && nodes[first+2] < x {
		first++
	}
	sum := 0.0
	for i := first; i < first+4; i++ {
		w := field[i]
		for j := first; j < first+4; j++ {
			if j != i {
				w *= (x - nodes[j]) / (nodes[i] - nodes[j])
			}
		}
		sum += w
	}
	return sum
}

// atCentre returns the value at 0 of a field that is even about it, by the
// parabola through the first two nodes; its error is of fourth order.
func atCentre(nodes, field []float64) float64 {
	a, b := nodes[0]*nodes[0], nodes[1]*nodes[1]
	return field[0] - (field[1]-field[0])*a/(b-a)
}

// rises returns T − T₀ by cell.
func rises(s *solver.State) []float64 {
	out := make([]float64, len(s.T))
	for c, t := range s.T {
		out[c] = t - atStart
	}
	return out
}

// downward is a column one cell wide, 1 m² in plan, with edges z.
func downward(z []float64) *mesh.Grid { return mesh.NewSection([]float64{0, 1}, z, 1) }

// heated returns q [W/m³] in the cells of a zone, in watts by cell.
func heated(g *mesh.Grid, z mesh.Zone, q float64) []float64 {
	w := make([]float64, g.Cells())
	for _, c := range z.Cells(g) {
		w[c] = q * g.Volume[c]
	}
	return w
}

// The iterated integrals of the error function's complement.
// Source: Carslaw & Jaeger (1959), Conduction of Heat in Solids, 2nd ed., appendix II (from memory).
func ierfc(x float64) float64  { return math.Exp(-x*x)/math.Sqrt(math.Pi) - x*math.Erfc(x) }
func i2erfc(x float64) float64 { return (math.Erfc(x) - 2*x*ierfc(x)) / 4 }
func i3erfc(x float64) float64 { return (ierfc(x) - 2*x*i2erfc(x)) / 6 }

// TestHalfSpaceFollowsAStepOfSurfaceTemperature: a half-space follows a step of its
// surface's temperature as the error function. T(x, t) = ΔT erfc(x/2√(αt)).
// Source: Carslaw & Jaeger (1959), §2.5 (from memory); values of
// testdata/analytic_values.csv, A1.
func TestHalfSpaceFollowsAStepOfSurfaceTemperature(t *testing.T) {
	const step = 80.0
	got := refined(t, 1e-3*step, func(f float64) []float64 {
		g := downward(demoAxis(t, f, 20, 0)) // 7 diffusion lengths 2√(αt): erfc(7) = 4e-23
		c := conduction{grid: g, boundary: heldSurface, zone: g.Box("zone", 0, 1, 0, 5), duration: 30 * day, tolerance: stepTolerance(f, step)}
		c.boundary.Air = constantAir(atStart + step)
		rep, _ := c.run(t)
		u := rises(rep.State)
		return []float64{along(g.ZC, u, 1), along(g.ZC, u, 2), along(g.ZC, u, 5)}
	})
	got.holdClosedForms(t, "A1", 0, "x=1.0 m, t=30 d, surface step 80 K", "x=2.0 m, t=30 d, surface step 80 K", "x=5.0 m, t=30 d, surface step 80 K")
}

// TestHalfSpaceUnderConstantFlux: a half-space under a constant flux warms as the
// integrated error function. T(x, t) = (2F/k) √(αt) ierfc(x/2√(αt)). Power set in the
// uppermost cells is a flux through their upper faces: the balance of a cell cannot
// tell the two apart.
// Source: Carslaw & Jaeger (1959), §2.9 (from memory); values A2.
func TestHalfSpaceUnderConstantFlux(t *testing.T) {
	const flux, scale = 100.0, 81.0 // [W/m²], [K] the rise of the surface
	got := refined(t, 1e-3*scale, func(f float64) []float64 {
		g := downward(demoAxis(t, f, 20, 0))
		w := make([]float64, g.Cells())
		w[0] = flux
		c := conduction{grid: g, boundary: insulated, imposed: w, zone: g.Box("zone", 0, 1, 0, 5), duration: 30 * day, tolerance: stepTolerance(f, scale)}
		rep, _ := c.run(t)
		u := rises(rep.State)
		// The surface from the first node and the flux.
		return []float64{u[0] + flux*g.ZC[0]/conductivity, along(g.ZC, u, 1), along(g.ZC, u, 3)}
	})
	got.holdClosedForms(t, "A2", 0, "x=0.0 m, t=30 d, flux 100 W/m2", "x=1.0 m, t=30 d, flux 100 W/m2", "x=3.0 m, t=30 d, flux 100 W/m2")
}

// TestSlabBetweenHeldWalls: a slab between walls taken at once to another temperature
// follows its Fourier series. A slab whose two faces are taken at once to another
// temperature. The series is that of a slab that cools; counted from the walls'
// temperature, one that is warmed by them is the same.
// Source: Carslaw & Jaeger (1959), §3.3-3.4 (from memory); values A11.
func TestSlabBetweenHeldWalls(t *testing.T) {
	const step = 80.0
	centre := func(f, days float64) []float64 {
		g := mesh.NewSection(demoAxis(t, f, 6, 0, 6), []float64{0, 1}, 1)
		c := conduction{grid: g, boundary: insulated, zone: g.Box("zone", 0, 6, 0, 1), duration: days * day, tolerance: stepTolerance(f, step)}
		c.boundary.Sides = physics.Held{On: true, Temperature: atStart + step}
		rep, _ := c.run(t)
		left := make([]float64, g.NX)
		for i, u := range rises(rep.State) {
			left[i] = step - u
		}
		return []float64{along(g.XC, left, 3), along(g.XC, left, 1)}
	}
	got := refined(t, 1e-3*step, func(f float64) []float64 {
		early, late := centre(f, 10), centre(f, 100)
		return []float64{early[0], late[0], late[1]}
	})
	got.holdClosedForms(t, "A11", 0, "6 m slab from 80 K, faces at 0, x=3.0 m, t=10 d", "6 m slab from 80 K, faces at 0, x=3.0 m, t=100 d", "6 m slab from 80 K, faces at 0, x=1.0 m, t=100 d")
}

// TestHeatedSlabInEndlessGround: a heated slab in endless ground warms, and warms the
// ground beside, as the closed form says. A slab 6 m thick at 100 W/m³, across the
// section.
//
//	inside   T = (qt/C) [1 − 2 i²erfc((L−x)/s) − 2 i²erfc((L+x)/s)],  s = 2√(αt)
//	outside  T = (2qt/C) [i²erfc((x−L)/s) − i²erfc((x+L)/s)]
//
// Source: Carslaw & Jaeger (1959), §2.11 and §10.2, superposed (from memory); values A4.
func TestHeatedSlabInEndlessGround(t *testing.T) {
	const q, half, middle = 100.0, 3.0, 28.0 // 25 m of ground beyond: 4.8 s, i²erfc(4.8) = 1e-12
	const scale = q * 100 * day / capacity   // [K] without loss
	got := refined(t, 1e-3*scale, func(f float64) []float64 {
		g := mesh.NewSection(demoAxis(t, f, 2*middle, middle-half, middle+half), []float64{0, 1}, 1)
		zone := g.Box("slab", middle-half, middle+half, 0, 1)
		c := conduction{grid: g, boundary: insulated, imposed: heated(g, zone, q), zone: zone, duration: 100 * day, tolerance: stepTolerance(f, scale)}
		rep, _ := c.run(t)
		u := rises(rep.State)
		z := rep.Ledger.Zone
		return []float64{along(g.XC, u, middle), along(g.XC, u, middle+half), along(g.XC, u, middle+5), rep.Targets[0].Mean - atStart,
			scale * z.Stored / z.Joule, scale * (1 - z.Sides/z.Joule)}
	})
	got.holdClosedForms(t, "A4", 0, "x=0.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", "x=3.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", "x=5.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d")
	// The mean three times: of the field, from the ledger's store and from its flux.
	mean := "mean over |x|<3 m, t=100 d"
	got.holdClosedForms(t, "A4m", 3, mean, mean, mean)
}

// TestThinZoneLosesWhatTheCurveSays: a thin zone loses the share of its heat that the
// curve says. The share of a slab's heat that has left it, at several αt/H² of one
// heated slab of thickness H = 1 m, from the zone's ledger and from the fields.
//
//	lost = (4√(αt)/L) [i³erfc(0) − i³erfc(L/√(αt))],  L = H/2
//
// Source: as A4, averaged over the slab; shares 7.52, 23.71, 47.11, 57.94, 77.89,
// 83.75 % computed with mpmath.
func TestThinZoneLosesWhatTheCurveSays(t *testing.T) {
	const thick, q, reach = 3.0, 100.0, 90.0 // 9.5 √(αt) at the end: i²erfc(4.7) = 1e-12
	at := []float64{0.01, 0.1, 0.5, 1, 5, 10}
	want := []float64{7.52, 23.71, 47.11, 57.94, 77.89, 83.75}
	const scale = q * thick * thick / conductivity // [K] αt/H² = 1, without loss
	run := func(f float64) []float64 {
		g := mesh.NewSection([]float64{0, 1}, demoAxis(t, f, 2*reach+thick, reach, reach+thick), 1)
		zone := g.Box("slab", 0, 1, reach, reach+thick)
		// The shortest time has a hundredth of the scale, and the time error must
		// suit it.
		c := conduction{grid: g, boundary: insulated, imposed: heated(g, zone, q), zone: zone, tolerance: stepTolerance(f, scale/100)}
		p := c.problem(t)
		for _, x := range at {
			p.Outputs = append(p.Outputs, x*thick*thick/diffusivity)
		}
		p.Duration = p.Outputs[len(at)-1]
		ledger, field := []float64{}, []float64{}
		if _, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
			if !r.Output || r.State.Time == 0 {
				return
			}
			z := r.Ledger.Zone
			ledger = append(ledger, 100*(1-z.Stored/z.Joule))
			field = append(field, 100*(1-(r.Targets[0].Mean-atStart)*capacity/(q*r.State.Time)))
		})); err != nil {
			t.Fatal(err)
		}
		return append(ledger, field...)
	}
	// The project's bar is 0.2 percentage points; the values have two decimals.
	got := refined(t, 0.2-0.005, run)
	for i, x := range at {
		claim := fmt.Sprintf("share of a slab's heat lost at αt/H² = %g", x)
		got.hold(t, i, claim+", zone's ledger", "slab source averaged over the slab (A4)", want[i], "%", 0.005)
		got.hold(t, len(at)+i, claim+", field", "slab source averaged over the slab (A4)", want[i], "%", 0.005)
	}
}

// recorder makes a function a solver.Recorder.
type recorder func(*solver.Report)

func (f recorder) Record(r *solver.Report) error {
	f(r)
	return nil
}

// TestHeatedSlabBelowTheSurface: a heated slab below a held or an insulated surface
// warms as the slab with its image. 2 to 8 m deep at 100 W/m³, below a surface held at
// the ground's temperature or insulated: the slab less or plus its image. The flux out
// of the held surface is 2q√(αt) [ierfc(z₁/s) − ierfc(z₂/s)], and its integral 8q√α
// t^(3/2) [i³erfc(z₁/s) − i³erfc(z₂/s)], since ∫τ^(n/2) iⁿerfc(z/2√(ατ))dτ = 4
// t^(n/2+1) iⁿ⁺²erfc(z/2√(αt)).
// Source: as A4 with an image; values A5, A5i and A5f.
func TestHeatedSlabBelowTheSurface(t *testing.T) {
	const q, top, bottom = 100.0, 2.0, 8.0
	const scale = q * 100 * day / capacity
	s := 2 * math.Sqrt(diffusivity*100*day)
	slab := func(f float64, b physics.HeatBoundary) (*solver.Report, *solver.Problem) {
		g := downward(demoAxis(t, f, 33, 0, top, bottom))
		zone := g.Box("slab", 0, 1, top, bottom)
		c := conduction{grid: g, boundary: b, imposed: heated(g, zone, q), zone: zone, duration: 100 * day, tolerance: stepTolerance(f, scale)}
		return c.run(t)
	}
	var flux, lost [3]float64
	level := 0
	got := refined(t, 1e-3*scale, func(f float64) []float64 {
		held, p := slab(f, heldSurface)
		free, _ := slab(f, insulated)
		g, u, v := p.Ground.Grid, rises(held.State), rises(free.State)
		flux[level] = p.Heat.Outflow(physics.Surface, held.State.T)
		lost[level] = held.Ledger.LossSurface
		level++
		return []float64{along(g.ZC, u, 1), along(g.ZC, u, 5), along(g.ZC, u, 10), atCentre(g.ZC, v), along(g.ZC, v, 1), along(g.ZC, v, 5)}
	})
	const where = ", source 2-8 m, q=100 W/m3, t=100 d"
	got.holdClosedForms(t, "A5", 0, "fixed-T surface, z=1.0 m"+where, "fixed-T surface, z=5.0 m"+where, "fixed-T surface, z=10.0 m"+where)
	got.holdClosedForms(t, "A5i", 3, "insulated surface, z=0.0 m"+where, "insulated surface, z=1.0 m"+where, "insulated surface, z=5.0 m"+where)

	// The same extrapolation for flux and loss, as one number each.
	want, unit, source := closedForm(t, "A5f", "heat flux out of the fixed-T surface, t=100 d")
	level = 0
	got = refined(t, 1e-3*want, func(float64) []float64 { level++; return flux[level-1 : level] })
	got.hold(t, 0, "heat flux out of the fixed-T surface, t=100 d", source, want, unit, 1e-9*want)
	want = 8 * q * math.Sqrt(diffusivity) * math.Pow(100*day, 1.5) * (i3erfc(top/s) - i3erfc(bottom/s))
	level = 0
	got = refined(t, 1e-3*want, func(float64) []float64 { level++; return lost[level-1 : level] })
	got.hold(t, 0, "heat lost through the fixed-T surface in 100 d, by the ledger", "integral of the flux A5f", want, "J/m2", 0)
}

// TestHeatedCylinder: the centre of a heated cylinder warms as the closed form says.
// The centre line of a tall cylinder of radius 5 m at 100 W/m³,
//
//	T = (q/C) [t (1 − e^(−b/t)) + b E₁(b/t)],  b = a²/(4α)
//
// Source: Carslaw & Jaeger (1959), §10.3, superposed (from memory); values A9.
func TestHeatedCylinder(t *testing.T) {
	const q, radius = 100.0, 5.0
	days := []float64{30, 100, 300}
	const scale = q * 300 * day / capacity
	got := refined(t, 1e-3*552, func(f float64) []float64 { // of the rise at the end
		g := mesh.NewAxisymmetric(demoAxis(t, f, 50, 0, radius), []float64{0, 1}, 1) // 45 m beyond: 9.9 √(αt) at the end
		zone := g.Box("cylinder", 0, radius, 0, 1)
		c := conduction{grid: g, boundary: insulated, imposed: heated(g, zone, q), zone: zone, tolerance: stepTolerance(f, scale/10)}
		p := c.problem(t)
		p.Outputs = []float64{days[0] * day, days[1] * day}
		p.Duration = days[2] * day
		var out []float64
		if _, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
			if r.Output && r.State.Time > 0 {
				out = append(out, atCentre(g.XC, rises(r.State)))
			}
		})); err != nil {
			t.Fatal(err)
		}
		return out
	})
	const what = "centre of cylinder radius 5 m, q=100 W/m3, "
	got.holdClosedForms(t, "A9", 0, what+"t=30 d", what+"t=100 d", what+"t=300 d")
}

// TestLineSource: 300 W/m along an axis, T = (q′/4πk) E₁(r²/4αt), as a column of
// radius a = 0.01 m. Its field outside is the mean of E₁ over its disc,
// E₁ + (a²/8)∇²E₁ + …, and ∇²E₁ ≤ 1/(αt): 1.4e-4 K more than the line's here.
// Source: Carslaw & Jaeger (1959), §10.4 (from memory); values A7.
func TestLineSource(t *testing.T) {
	const power, radius, scale = 300.0, 0.01, 73.3
	const finite = power / (4 * math.Pi * conductivity) * radius * radius / (8 * diffusivity * 30 * day)
	got := refined(t, 1e-3*scale, func(f float64) []float64 {
		e, err := mesh.Grade([]mesh.Mark{{At: 0, Size: radius * f / 2}, {At: radius, Size: radius * f / 2}, {At: 20, Size: math.Inf(1)}}, math.Pow(demoGrowth, f), 10000)
		if err != nil {
			t.Fatal(err)
		}
		g := mesh.NewAxisymmetric(e, []float64{0, 1}, 1)
		source := g.Box("source", 0, radius, 0, 1)
		w := heated(g, source, power/source.Volume(g))
		c := conduction{grid: g, boundary: insulated, imposed: w, zone: g.Box("zone", 0, 3, 0, 1), duration: 30 * day, tolerance: stepTolerance(f, scale)}
		rep, _ := c.run(t)
		u := rises(rep.State)
		// Near the axis the field is a parabola of ln r.
		ln := make([]float64, g.NX)
		for i, r := range g.XC {
			ln[i] = math.Log(r)
		}
		return []float64{along(ln, u, math.Log(0.1)), along(ln, u, 0), along(ln, u, math.Log(3))}
	})
	got.demoTol += finite
	got.halfTol += finite
	got.holdClosedForms(t, "A7", 0, "r=0.1 m, 300 W/m, t=30 d", "r=1.0 m, 300 W/m, t=30 d", "r=3.0 m, 300 W/m, t=30 d")
}

// TestDemoMeshIsFineEnough: the demo's own mesh and tolerance are within 0.1 % of the
// rise without losses. On the demo case's own rows, with the default time tolerance,
// the zone of that case heated evenly for 70 days below a held surface and above an
// insulated bottom is everywhere within 0.1 % of the rise without losses of the closed
// form: the project's bar. Images of the slab stand at ±z_c + 2nD with signs ±(−1)ⁿ, D
// the depth of the bottom.
//
// The largest error is q h²/(8k) in the zone's largest cells, h = 0.19 m: there the
// scheme's value lies that much above the node's, as summing the fluxes of even
// heating over cells shows. Against the peak, a third of the rise without losses, it
// is 0.28 %.
// Source: as A5.
func TestDemoMeshIsFineEnough(t *testing.T) {
	c, err := cases.Load("../cases/paved-yard.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	demo, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	const q, duration, scale = 50.0, 70 * day, 50 * 70 * day / capacity
	g := downward(demo.Ground.Grid.Z)
	box := demo.Targets[0].Zone
	zone := mesh.Zone{Name: "zone", I1: 1, K0: box.K0, K1: box.K1}
	run := conduction{grid: g, boundary: heldSurface, imposed: heated(g, zone, q), zone: zone, duration: duration}
	rep, _ := run.run(t)
	top, bottom, depth := g.Z[zone.K0], g.Z[zone.K1], g.Z[g.NZ]
	half, middle := (bottom-top)/2, (bottom+top)/2
	peak, worst := 0.0, 0.0
	for k, u := range rises(rep.State) {
		want := 0.0
		for n := -3; n <= 3; n++ {
			sign, z := 1-2*math.Abs(float64(n%2)), g.ZC[k]-2*float64(n)*depth
			want += sign * (heatedSlab(q, half, z-middle, duration) - heatedSlab(q, half, z+middle, duration))
		}
		peak, worst = math.Max(peak, want), math.Max(worst, math.Abs(u-want))
	}
	t.Logf("%d rows, the zone in %d; peak %.1f K, without losses %.1f K", g.NZ, zone.K1-zone.K0, peak, scale)
	hold(t, check{"largest error on the demo's rows, zone heated 70 d below a held surface", "slab and images (A5)", worst, 0, "K", 1e-3 * scale})
}

// heatedSlab is the closed form A4 at x from the middle of a slab of half-thickness
// l, T − T₀ [K].
func heatedSlab(q, l, x, time float64) float64 {
	s := 2 * math.Sqrt(diffusivity*time)
	x = math.Abs(x)
	if x < l {
		return q * time / capacity * (1 - 2*i2erfc((l-x)/s) - 2*i2erfc((l+x)/s))
	}
	return 2 * q * time / capacity * (i2erfc((x-l)/s) - i2erfc((x+l)/s))
}

// accounts says of each id of testdata/analytic_values.csv how many rows it has, and
// which test holds the program to them or why this model cannot be held to them.
var accounts = map[string]struct {
	rows   int
	test   string // holds all rows of the id, but for those of beyondAlone
	beyond string // why none can be held
}{
	"A1":   {3, "TestHalfSpaceFollowsAStepOfSurfaceTemperature", ""},
	"A2":   {3, "TestHalfSpaceUnderConstantFlux", ""},
	"A3":   {3, "TestSurfaceFilm", ""},
	"A4":   {3, "TestHeatedSlabInEndlessGround", ""},
	"A4m":  {1, "TestHeatedSlabInEndlessGround", ""},
	"A5":   {3, "TestHeatedSlabBelowTheSurface", ""},
	"A5i":  {3, "TestHeatedSlabBelowTheSurface", ""},
	"A5f":  {1, "TestHeatedSlabBelowTheSurface", ""},
	"A6":   {3, "TestHotSlabCools", ""},
	"A7":   {3, "TestLineSource", ""},
	"A8":   {3, "TestBuriedRod", ""},
	"A9":   {3, "TestHeatedCylinder", ""},
	"A10":  {3, "", "a box in three dimensions: a section has two; its quadrature is held to these rows by TestRectangleFormulaGivesTheTable"},
	"A11":  {3, "TestSlabBetweenHeldWalls", ""},
	"A12":  {3, "TestCoaxialSteadyTemperature", ""},
	"A12p": {1, "TestCoaxialPower", ""},
	"A13":  {3, "TestDryingFrontMoves", ""},
	"A14":  {3, "TestWaterCarriesAFront", ""},
	"A15":  {3, "TestWarmWaterThroughAPlan", ""},
	"A16":  {3, "", "a zone that grows as steam is driven in: steam is only extracted in this model"},
	"A16e": {3, "", "as A16; the loss of a heated layer is held by TestThinZoneLosesWhatTheCurveSays"},
	"A17":  {1, "", "the radius that stands for one cell of a plan: here a rod is spread over a kernel of several, whose radius is found on the mesh as it is (TestRodsOfAPlan)"},
	"A18":  {3, "", "the radius that stands for one cell of a plan: here a rod is spread over a kernel of several, whose radius is found on the mesh as it is (TestRodsOfAPlan)"},
	"A19":  {3, "TestBarsAgainstLineElectrodes", ""}, // but for the row below
	"A20":  {3, "TestBarsAgainstLineElectrodes", ""},
	"A21":  {3, "", "an approximation for rock above and below that is not meshed: this model meshes it"},
}

// beyondAlone are single rows that the test of their id leaves out, and why.
var beyondAlone = map[string]string{
	"two parallel cylinders, spacing 1.0 m, radius 0.2 m: conductance per length / sigma": "a square bar stands for the cylinder, and is not one where its side is a third of the spacing",
}

// TestEveryTabledValueIsAccountedFor: each row of testdata/analytic_values.csv is held
// by a test that exists and asks for its id, or cannot be represented, with a reason. A
// row or an id more than the accounts know fails, and so does an account that has lost
// its rows or its test.
// Source: testdata/analytic_values.csv.
func TestEveryTabledValueIsAccountedFor(t *testing.T) {
	ids := idsAskedFor(t)
	found, alone := map[string]int{}, 0
	var rows [][]string
	for _, row := range closedForms(t) {
		id := row[0]
		found[id]++
		a, known := accounts[id]
		switch {
		case !known:
			t.Errorf("testdata/analytic_values.csv: %s, %q: no test and no reason, want one of the two", id, row[1])
			continue
		case (a.test == "") == (a.beyond == ""):
			t.Errorf("the account of %s has test %q and reason %q, want one of the two", id, a.test, a.beyond)
		case a.test != "" && !ids[a.test][id]:
			t.Errorf("%s is said to hold %s of testdata/analytic_values.csv, but there is no such test or it does not ask for that id", a.test, id)
		}
		verdict := "held by " + a.test
		if reason, left := beyondAlone[row[1]]; left {
			alone++
			verdict = "not representable here: " + reason
		} else if a.test == "" {
			verdict = "not representable here: " + a.beyond
		}
		rows = append(rows, []string{id, row[1], row[3] + " " + row[2], verdict})
	}
	for _, id := range slices.Sorted(maps.Keys(accounts)) {
		if found[id] != accounts[id].rows {
			t.Errorf("testdata/analytic_values.csv has %d rows of %s, the account has %d", found[id], id, accounts[id].rows)
		}
	}
	if alone != len(beyondAlone) {
		t.Errorf("testdata/analytic_values.csv has %d of the %d rows that are left out alone", alone, len(beyondAlone))
	}
	table(t, "Every tabled closed form.", []string{"id", "case", "value", "verdict"}, rows)
}

// idsAskedFor returns, by test of this folder, the ids that stand in it as text.
func idsAskedFor(t *testing.T) map[string]map[string]bool {
	t.Helper()
	files, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]bool{}
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || !strings.HasPrefix(f.Name.Name, "Test") {
				continue
			}
			ids := map[string]bool{}
			ast.Inspect(f, func(n ast.Node) bool {
				if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
					if s, err := strconv.Unquote(l.Value); err == nil {
						ids[s] = true
					}
				}
				return true
			})
			out[f.Name.Name] = ids
		}
	}
	return out
}

// The formulas written here give the table's digits, so they may stand where the
// table has no row.
func TestHeatedSlabFormulaGivesTheTable(t *testing.T) {
	for name, x := range map[string]float64{"x=0.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d": 0, "x=3.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d": 3, "x=5.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d": 5} {
		want, _, _ := closedForm(t, "A4", name)
		// Half a unit of the last of ten digits.
		if got := heatedSlab(100, 3, x, 100*day); math.Abs(got-want) > 5e-10*want+5e-8 {
			t.Errorf("heatedSlab gives %.10g K at %s, want %.10g", got, name, want)
		}
	}
}
