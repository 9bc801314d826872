//dossier:chapter Orders of convergence

package validation

import (
	"context"
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// meshOrder is the observed order between two meshes of so many cells along an
// axis.
func meshOrder(coarse, fine float64, coarseCells, fineCells int) float64 {
	return math.Log(coarse/fine) / math.Log(float64(fineCells)/float64(coarseCells))
}

// sinePower is 100 W/m³ · sin(πx/a) sin(πz/b) in a box a × b, integrated over each
// cell [W]. With all four sides held at T₀ its temperature is, at any time,
//
//	T − T₀ = (q/κC) (1 − e^(−κt)) sin(πx/a) sin(πz/b),  κ = απ²(1/a² + 1/b²)
//
// Source: an eigenfunction of the Laplacian; Salari & Knupp, SAND2000-1444 (2000),
// on solutions made for tests.
func sinePower(g *mesh.Grid) []float64 {
	a, b := g.X[g.NX], g.Z[g.NZ]
	part := func(e []float64, i int, l float64) float64 {
		return l / math.Pi * (math.Cos(math.Pi*e[i]/l) - math.Cos(math.Pi*e[i+1]/l))
	}
	w := make([]float64, g.Cells())
	for k := range g.NZ {
		for i := range g.NX {
			w[g.Index(i, k)] = 100 * part(g.X, i, a) * part(g.Z, k, b)
		}
	}
	return w
}

// boxHeld holds all four sides of a section at T₀.
func boxHeld() physics.HeatBoundary {
	b := heldSurface
	b.Below = physics.Held{On: true, Temperature: atStart}
	b.Sides = b.Below
	return b
}

// steps of an L-stable method so long that only the steady state is left.
const (
	toSteady    = 40 // κt: e^(−40) is left
	steadySteps = 60
)

// equalEdges returns the edges of n equal cells from 0 to l [m].
func equalEdges(l float64, n int) []float64 {
	e := make([]float64, n+1)
	for i := range e {
		e[i] = l * float64(i) / float64(n)
	}
	return e
}

// TestConductionIsSecondOrderInSpace: steady conduction is second order in space. The
// steady sine in a 6 × 4.5 m box, on equal cells and on cells that grow from one
// corner by 1.4, refined three times (to 1.04); largest error over all nodes.
// Source: an eigenfunction; Salari & Knupp, SAND2000-1444 (2000).
func TestConductionIsSecondOrderInSpace(t *testing.T) {
	const a, b = 6.0, 4.5
	kappa := diffusivity * math.Pi * math.Pi * (1/(a*a) + 1/(b*b))
	for _, c := range []struct {
		name  string
		edges func(f, l float64) []float64
	}{
		// As many cells along x as along z would make the errors of power and of
		// conduction cancel to the last digit.
		{"equal cells", func(f, l float64) []float64 { return equalEdges(l, int(math.Round(l/(0.75*f)))) }},
		{"graded cells", func(f, l float64) []float64 {
			e, err := mesh.Grade([]mesh.Mark{{At: 0, Size: 0.02 * l * f}, {At: l, Size: math.Inf(1)}}, math.Pow(1.4, f), 1000)
			if err != nil {
				t.Fatal(err)
			}
			return e
		}},
	} {
		var errs []float64
		var cells []int
		for _, f := range []float64{1, 0.5, 0.25, 0.125} {
			g := mesh.NewSection(c.edges(f, a), c.edges(f, b), 1)
			run := conduction{grid: g, boundary: boxHeld(), imposed: sinePower(g), zone: mesh.Zone{I1: g.NX, K1: g.NZ},
				duration: toSteady / kappa, fixed: toSteady / kappa / steadySteps, tolerance: 1e-4}
			rep, _ := run.run(t)
			worst := 0.0
			for cell, u := range rises(rep.State) {
				x, z := g.XC[cell%g.NX], g.ZC[cell/g.NX]
				worst = math.Max(worst, math.Abs(u-100/(kappa*capacity)*math.Sin(math.Pi*x/a)*math.Sin(math.Pi*z/b)))
			}
			errs, cells = append(errs, worst), append(cells, g.NX)
		}
		t.Logf("%s: %v along x, largest errors %.3g K", c.name, cells, errs)
		n := len(errs) - 1
		// The next term of the error is O(h²) smaller, so the last order is off by less
		// than a tenth where the one before it is by less than 0.4; whole numbers of
		// cells add 0.02.
		hold(t, check{"order of conduction in space, " + c.name, "eigenfunction of the Laplacian", meshOrder(errs[n-1], errs[n], cells[n-1], cells[n]), 2, "", 0.1})
	}
}

// TestConductionIsSecondOrderInSpaceRoundAnAxis: steady conduction round an axis is
// second order in space on graded cells. q J₀(βr/R), β the first zero of J₀, in a
// cylinder of 5 m whose rim is held: T − T₀ = (q/κC) J₀(βr/R), κ = αβ²/R², when
// steady; on cells that grow from the axis by 1.4, refined three times.
// Source: Carslaw & Jaeger (1959), §7.6 (from memory); β from tables of zeros.
func TestConductionIsSecondOrderInSpaceRoundAnAxis(t *testing.T) {
	var errs []float64
	var cells []int
	for _, f := range []float64{1, 0.5, 0.25, 0.125} {
		r, err := mesh.Grade([]mesh.Mark{{At: 0, Size: 0.02 * bessel * f}, {At: bessel, Size: math.Inf(1)}}, math.Pow(1.4, f), 1000)
		if err != nil {
			t.Fatal(err)
		}
		errs, cells = append(errs, besselError(t, r)), append(cells, len(r)-1)
	}
	t.Logf("%v along r, largest errors %.3g K", cells, errs)
	n := len(errs) - 1
	hold(t, check{"order of conduction in space round an axis, graded cells", "eigenfunction of the Laplacian", meshOrder(errs[n-1], errs[n], cells[n-1], cells[n]), 2, "", 0.1})
}

// TestEqualRingsLoseALogarithm: on n equal rings the error at the axis is h² ln n,
// not h². Two-point fluxes with logarithmic distances are exact for ln r and so
// (h/r)²/12 too small for the r² of a field that is smooth at the axis, T ≈ T(0) −
// qr²/(4k); summed over rings, ∫(h²/12r²)(qr/2k)dr: n² × error grows by
// qR²/(24k)·ln 2 each time n doubles.
// Source: the scheme's truncation error; the field as above.
func TestEqualRingsLoseALogarithm(t *testing.T) {
	var scaled []float64
	for _, n := range []int{8, 16, 32, 64} {
		scaled = append(scaled, float64(n*n)*besselError(t, equalEdges(bessel, n)))
	}
	for i := 1; i < len(scaled); i++ {
		// What the sum over the outer rings differs from the integral is O(1/n²) and
		// fades; the bar is that of the orders, 0.1 in 2.
		want := 100 * bessel * bessel / (24 * conductivity) * math.Ln2
		hold(t, check{fmt.Sprintf("growth of n² × error round an axis, doubling %d", i), "truncation of logarithmic distances", scaled[i] - scaled[i-1], want, "K", 0.05 * want})
	}
}

const bessel = 5.0 // [m] radius of the cylinder with the Bessel mode

// besselError returns the largest error over all nodes of the steady Bessel mode
// on the rings given [K].
func besselError(t *testing.T, r []float64) float64 {
	t.Helper()
	const beta = 2.404825557695773
	kappa := diffusivity * beta * beta / (bessel * bessel)
	g := mesh.NewAxisymmetric(r, []float64{0, 1}, 1)
	w := make([]float64, g.Cells())
	for i := range w {
		// ∫J₀(βr/R) r dr = (R/β) r J₁(βr/R)
		w[i] = 100 * 2 * math.Pi * bessel / beta * (r[i+1]*math.J1(beta*r[i+1]/bessel) - r[i]*math.J1(beta*r[i]/bessel))
	}
	b := insulated
	b.Sides = physics.Held{On: true, Temperature: atStart}
	run := conduction{grid: g, boundary: b, imposed: w, zone: mesh.Zone{I1: g.NX, K1: 1}, duration: toSteady / kappa, fixed: toSteady / kappa / steadySteps, tolerance: 1e-4}
	rep, _ := run.run(t)
	worst := 0.0
	for i, u := range rises(rep.State) {
		worst = math.Max(worst, math.Abs(u-100/(kappa*capacity)*math.J0(beta*g.XC[i]/bessel)))
	}
	return worst
}

// halvings are numbers of equal steps.
var halvings = []int{4, 8, 16, 32, 64}

// TestConductionIsSecondOrderInTime: conduction is second order in time. The sine
// between two held faces on 16 equal cells of height h, against the scheme's own rate
// of decay, so that no error of the mesh mixes in: on equal cells with faces held half
// a cell away the sine is an eigenvector, κ_h = (4α/h²) sin²(πh/2L), and
//
//	T − T₀ = (q_c/κ_h C) (1 − e^(−κ_h t)),  q_c the cell's mean power
//
// Source: von Neumann's analysis, common practice.
func TestConductionIsSecondOrderInTime(t *testing.T) {
	const depth, n = 4.0, 16
	z := equalEdges(depth, n)
	g := downward(z)
	h := depth / n
	kappa := 4 * diffusivity / (h * h) * math.Pow(math.Sin(math.Pi*h/(2*depth)), 2)
	w := make([]float64, n)
	for i := range w {
		w[i] = 100 * depth / math.Pi * (math.Cos(math.Pi*z[i]/depth) - math.Cos(math.Pi*z[i+1]/depth))
	}
	var errs []float64
	for _, steps := range halvings {
		b := heldSurface
		b.Below = physics.Held{On: true, Temperature: atStart}
		c := conduction{grid: g, boundary: b, imposed: w, zone: mesh.Zone{I1: 1, K1: n}, duration: 2 / kappa, fixed: 2 / kappa / float64(steps), tolerance: 1e-6}
		rep, _ := c.run(t)
		worst := 0.0
		for i, u := range rises(rep.State) {
			worst = math.Max(worst, math.Abs(u-w[i]/h/(kappa*capacity)*-math.Expm1(-2)))
		}
		errs = append(errs, worst)
	}
	holdOrders(t, "order of conduction in time", "the scheme's own eigenvalue", errs, 2, 0.1)
}

// TestChangingAirIsSecondOrderInTime: changing air is second order in time. One cell
// below air that warms evenly at R, the air taken at each stage's own time:
//
//	T − T₀ = R [t − τ(1 − e^(−t/τ))],  τ = C d (1/h + d/2k) for a cell of height d
//
// Source: Newton's law of cooling, integrated.
func TestChangingAirIsSecondOrderInTime(t *testing.T) {
	const depth, film, rate = 1.0, 5.0, 40 / (20 * day)
	const tau = capacity * depth * (1/film + depth/2/conductivity)
	const duration = 2 * tau
	want := rate * (duration - tau*-math.Expm1(-duration/tau))
	var errs []float64
	for _, steps := range halvings {
		g := downward([]float64{0, depth})
		b := physics.HeatBoundary{Film: film, Air: func(time float64) float64 { return atStart + rate*time }}
		c := conduction{grid: g, boundary: b, zone: mesh.Zone{I1: 1, K1: 1}, duration: duration, fixed: duration / float64(steps), tolerance: 1e-6}
		rep, _ := c.run(t)
		errs = append(errs, math.Abs(rises(rep.State)[0]-want))
	}
	holdOrders(t, "order in time below air that warms", "Newton's law of cooling", errs, 2, 0.1)
}

// holdOrders holds the order of each halving of the step.
func holdOrders(t *testing.T, claim, source string, errs []float64, want, band float64) {
	t.Helper()
	t.Logf("%s: errors %.3g K", claim, errs)
	for i := 1; i < len(errs); i++ {
		hold(t, check{fmt.Sprintf("%s, halving %d", claim, i), source, order(errs[i-1], errs[i]), want, "", band})
	}
}

// TestCoupledHeatIsSecondOrderInTime: heat of a potential that follows σ(T) is second
// order in time. Ground between plates whose σ rises with T, potential solved anew in
// each stage, against the exponential of TestGroundBetweenPlatesWarmsAsAnExponential.
// Source: ordinary differential equation.
func TestCoupledHeatIsSecondOrderInTime(t *testing.T) {
	var errs []float64
	for _, steps := range halvings {
		errs = append(errs, math.Abs(runaway(t, steps)-math.Expm1(1)/runawayCoefficient))
	}
	holdOrders(t, "order of coupled heat in time", "exponential warming", errs, 2, 0.1)
}

// twoPlates is a section 6 m × 5 m with two plates 3 m high, layered ground, σ
// linear in T and no boiling, a surface film, and the current through a contact
// resistance at one plate. It warms by some 40 K.
func twoPlates(t *testing.T, steps int, tolerance float64) *solver.Problem {
	t.Helper()
	g := mesh.NewSection(equalEdges(6, 24), equalEdges(5, 20), 1)
	top, bottom := plainSoil(1.5, 2.2e6, 80, 0.0187), plainSoil(2, capacity, 25, 0.0187)
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		[]*materials.Soil{&top, &bottom}, []float64{2, math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	e, err := physics.NewElectric(g, []physics.Body{
		{Name: "left", Phase: 1, Rods: 1, Zone: g.Box("left", 1, 1.25, 1, 4), Contact: 2},
		{Name: "right", Phase: -1, Rods: 1, Zone: g.Box("right", 4.75, 5, 1, 4)},
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	duration := 40 * day
	return &solver.Problem{Ground: gr, Electric: e, Heat: physics.NewHeat(g, physics.HeatBoundary{Film: 5, Air: constantAir(atStart)}),
		Supply: on(60), Watched: mesh.Zone{I1: g.NX, K1: g.NZ}, Duration: duration,
		Settings: solver.Settings{FixedStep: duration / float64(steps), Tolerance: tolerance, MaxCoupled: 100}}
}

// TestCoupledSectionIsSecondOrderInTime: a coupled section is second order in time.
// Fields of twoPlates at steps halved four times; the difference of two successive
// solutions, in the mean square over all cells, falls as the square of the step.
// Source: none outside: the order is what the method of Hosea & Shampine (1996)
// promises; differences of successive solutions stand for errors.
func TestCoupledSectionIsSecondOrderInTime(t *testing.T) {
	var before []float64
	var diffs []float64
	for _, steps := range append([]int{}, append(halvings, 128)...) {
		p := twoPlates(t, steps, 1e-5)
		rep, err := solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		u := rises(rep.State)
		if before != nil {
			sum := 0.0
			for c := range u {
				sum += (u[c] - before[c]) * (u[c] - before[c])
			}
			diffs = append(diffs, math.Sqrt(sum/float64(len(u))))
		}
		before = u
	}
	holdOrders(t, "order of a coupled section in time", "TR-BDF2, differences of successive steps", diffs, 2, 0.1)
}
