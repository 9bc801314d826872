//dossier:chapter Identities and symmetries

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
	"soiljoule/solver/linear"
)

// solved is a potential per volt on a grid, with what its solver left.
type solved struct {
	electric     *physics.Electric
	re, im, heat []float64
	current      []complex128
	power        float64
	rim          complex128
	residual     [2]float64 // 2-norm of what the solver left, by part
	missing      float64    // Σ φ·r over both parts: by what V·I exceeds the heat
}

// solvePotential solves the charge law for σ by cell to a relative residual.
func solvePotential(t *testing.T, e *physics.Electric, sigma []float64, tolerance float64) *solved {
	t.Helper()
	g := e.Grid
	n := g.Cells()
	s := &solved{electric: e, heat: make([]float64, n), current: make([]complex128, len(e.Bodies))}
	if err := e.Assemble(sigma); err != nil {
		t.Fatal(err)
	}
	sys := linear.NewSystem(g.NX, g.NZ)
	sys.Across, sys.Down = e.Across, e.Down
	e.DiagonalTo(sys.Diag)
	for c, b := range e.BodyOf {
		sys.Held[c] = b >= 0
	}
	for _, c := range e.Couples {
		sys.Blocks = append(sys.Blocks, linear.Block{Cells: c.Cell, Y: c.Y})
	}
	pcg := linear.NewPCG(g.NX, g.NZ, nil)
	pcg.Factor(sys)
	rhs, left := make([]float64, n), make([]float64, n)
	for j, part := range []func(complex128) float64{func(z complex128) float64 { return real(z) }, func(z complex128) float64 { return imag(z) }} {
		phi := make([]float64, n)
		e.ImposeTo(phi, rhs, part)
		sys.ResidualTo(left, rhs, phi)
		if _, err := pcg.SolveTo(phi, sys, rhs, linear.Settings{Tolerance: tolerance * norm2(left), MaxIterations: 50000}); err != nil {
			t.Fatal(err)
		}
		sys.ResidualTo(left, rhs, phi)
		s.residual[j] = norm2(left)
		for c, v := range phi {
			s.missing += v * left[c] // 0 in bodies
		}
		if j == 0 {
			s.re = phi
		} else {
			s.im = phi
		}
	}
	s.power, s.rim = e.HeatTo(s.heat, s.current, s.re, s.im)
	return s
}

func norm2(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum)
}

func total(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}

// sixDecades returns n conductivities between 1e-4 and 100 S/m, evenly in the
// logarithm.
func sixDecades(rng *rand.Rand, n int) []float64 {
	s := make([]float64, n)
	for c := range s {
		s[c] = math.Pow(10, -4+6*rng.Float64())
	}
	return s
}

// threePhase returns bodies in a 40 × 40 section: two plates, one of a single cell,
// one of them with a contact resistance; and four rows, two of them close enough to
// feel each other's rods and side by side in depth, one with a contact resistance.
func threePhase(t *testing.T) *physics.Electric {
	t.Helper()
	g := mesh.NewSection(equalEdges(10, 40), equalEdges(10, 40), 5)
	row := func(name, phase string, x, offset, top, bottom, contact float64) physics.Body {
		i := g.Column(x)
		return physics.Body{Name: name, Phase: physics.Phasor(3, phase), Rods: 2, Contact: contact,
			Zone: g.Box(name, g.X[i], g.X[i+1], top, bottom),
			Row:  &physics.Row{X: g.XC[i], Spacing: 2.5, Offset: offset, Radius: 0.1, Top: top, Bottom: bottom}}
	}
	e, err := physics.NewElectric(g, []physics.Body{
		{Name: "plate", Phase: physics.Phasor(3, "A"), Rods: 1, Zone: g.Box("plate", 1, 1.25, 2, 6), Contact: 0.5},
		{Name: "cell", Phase: physics.Phasor(3, "B"), Rods: 1, Zone: g.Box("cell", 8, 8.25, 3, 3.25)},
		row("row 1", "B", 3.1, 0, 2, 6, 0),
		row("row 2", "C", 4.1, 1.25, 3, 7, 0.2), // 1 m from row 1: 0.4 of the spacing
		row("row 3", "A", 6.1, 0, 2, 6, 0),
		row("row 4", "C", 9.1, 0.5, 1, 8, 0),
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// TestVoltsTimesAmperesIsHeat: Re Σ V·I* of the electrodes equals the heat of all
// cells, on σ drawn over six decades in a 40 × 40 section with plates, a single
// cell, rows with their corrections, mutual terms and contact resistances, three
// phases.
//
// The heat is φ*Aφ over all cells, bodies included, and V·I the bodies' part of it;
// so V·I exceeds the heat by Σ φ*r over the free cells, r what the solver left, and
// with that counted only rounding is left, whatever the residual: some 10⁴ products
// of relative error ε = 1.1e-16, of either sign, and conductances to poor cells next
// to good ones whose sum loses up to two digits: √1e4 × 100 ε = 1e-12 of the heat.
// Uncounted it is at most |φ||r|, and with a residual of 1e-10 far below the ledger's
// 1e-8.
// Source: Tellegen's theorem (from memory); the bound derived here.
func TestVoltsTimesAmperesIsHeat(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	e := threePhase(t)
	for trial := range 5 {
		for _, tolerance := range []float64{1e-4, 1e-10} {
			s := solvePotential(t, e, sixDecades(rng, e.Grid.Cells()), tolerance)
			heat := total(s.heat)
			claim := fmt.Sprintf("V·I less heat as a share of it, ground %d, residual %.0g", trial+1, tolerance)
			hold(t, check{claim + ", what the solver left counted", "Tellegen's theorem", (s.power - heat - s.missing) / heat, 0, "", 1e-12})
			if tolerance == 1e-10 {
				hold(t, check{claim, "Tellegen's theorem", (s.power - heat) / heat, 0, "", 1e-8})
			}
			for c, q := range s.heat {
				if !(q >= 0) {
					t.Errorf("ground %d: heat of cell %d is %g W, want none below 0", trial+1, c, q)
				}
			}
		}
	}
}

// TestRunBooksVoltsTimesAmperes: a run books volts times amperes as heat. The same
// through the solver's own start, in ground of layers.
// Source: Tellegen's theorem.
func TestRunBooksVoltsTimesAmperes(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	e := threePhase(t)
	var soils []*materials.Soil
	bottoms := e.Grid.Z[1:]
	for _, s := range sixDecades(rng, e.Grid.NZ) {
		soil := plainSoil(conductivity, capacity, 1/s, 0)
		soils = append(soils, &soil)
	}
	gr, err := physics.NewGround(e.Grid, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		soils, bottoms, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	b := insulated
	b.Air = constantAir(atStart)
	rep, err := solver.Start(&solver.Problem{Ground: gr, Electric: e, Heat: physics.NewHeat(e.Grid, b), Supply: on(1),
		Watched: mesh.Zone{I1: e.Grid.NX, K1: e.Grid.NZ}, Duration: 1})
	if err != nil {
		t.Fatal(err)
	}
	heat := total(rep.State.Joule)
	sum := complex(0, 0)
	scale := 0.0
	for _, i := range rep.State.Current {
		sum += i
		scale += cmplx.Abs(i)
	}
	// Ten times the default residual of the potential, 1e-10, as for every budget.
	hold(t, check{"V·I less heat as a share of it, layers over six decades", "Tellegen's theorem", (rep.State.Power - heat) / heat, 0, "", 1e-9})
	hold(t, check{"net current as a share of all, layers over six decades", "Kirchhoff", cmplx.Abs(sum) / scale, 0, "", 1e-9})
}

// TestFloatingSupplyHasNoNetCurrent: in an insulated box the currents of all
// electrodes sum to zero, whatever the ground: rows of A sum to zero, so ΣI is the
// sum of the residual, at most √n |r|; rounding as above. Lifting all electrodes by
// one voltage moves no current, only potentials.
// Source: Kirchhoff's law; the bound derived here.
func TestFloatingSupplyHasNoNetCurrent(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	e := threePhase(t)
	for trial := range 3 {
		sigma := sixDecades(rng, e.Grid.Cells())
		s := solvePotential(t, e, sigma, 1e-11)
		sum, size := complex(0, 0), 0.0
		for _, i := range s.current {
			sum += i
			size += cmplx.Abs(i)
		}
		bound := math.Sqrt(float64(e.Grid.Cells())) * math.Hypot(s.residual[0], s.residual[1])
		hold(t, check{fmt.Sprintf("net current as a share of all, ground %d", trial+1), "Kirchhoff's law", cmplx.Abs(sum) / size, 0, "", bound/size + 1e-13})

		lift := complex(0.7, -0.4)
		before := append([]complex128(nil), s.current...)
		for b := range e.Bodies {
			e.Bodies[b].Phase += lift
		}
		lifted := solvePotential(t, e, sigma, 1e-11)
		for b := range e.Bodies {
			e.Bodies[b].Phase -= lift
		}
		worst := 0.0
		for b := range before {
			worst = math.Max(worst, cmplx.Abs(before[b]-lifted.current[b]))
		}
		// A body's current is V·A φ with the field of one volt on it alone, which lies
		// within 0 and 1: its error is at most √n |r| of either solve.
		other := math.Sqrt(float64(e.Grid.Cells())) * math.Hypot(lifted.residual[0], lifted.residual[1])
		hold(t, check{fmt.Sprintf("largest change of a current when the neutral is lifted, share of all, ground %d", trial+1), "design: nothing changes", worst / size, 0, "", (bound+other)/size + 1e-13})
	}
}

// TestMirrorImageGivesMirrorImage: a coupled section and its mirror image, stepped
// alike, give mirrored fields.
//
// Sums run in another order and solves stop elsewhere: a heat solve leaves 1e-4 of
// the tolerance, rms over all cells, in each of two stages of a step, and a coupled
// stage agrees to 0.1 of it; with feedback below a factor e over the run, steps ×
// 2 × 0.1 × e.
// Source: none needed: the equations know no left and right.
func TestMirrorImageGivesMirrorImage(t *testing.T) {
	const steps, tolerance = 20, 1e-6
	run := func(mirror bool) (*solver.Report, *mesh.Grid) {
		x, err := mesh.Grade([]mesh.Mark{{At: 0, Size: 0.3}, {At: 2, Size: 0.1}, {At: 8, Size: 0.5}}, demoGrowth, 1000)
		if err != nil {
			t.Fatal(err)
		}
		place := func(v float64) float64 { return v }
		if mirror {
			place = func(v float64) float64 { return 8 - v }
			m := make([]float64, len(x))
			for i := range x {
				m[i] = 8 - x[len(x)-1-i]
			}
			x = m
		}
		g := mesh.NewSection(x, equalEdges(5, 20), 1)
		box := func(a, b, top, bottom float64) mesh.Zone {
			a, b = place(a), place(b)
			return g.Box("", math.Min(a, b), math.Max(a, b), top, bottom)
		}
		top, bottom := plainSoil(1.5, 2.2e6, 80, 0.0187), plainSoil(2, capacity, 25, 0.0187)
		gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
			[]*materials.Soil{&top, &bottom}, []float64{2, math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
		if err != nil {
			t.Fatal(err)
		}
		i := mesh.EdgeAt(x, place(5.5))
		e, err := physics.NewElectric(g, []physics.Body{
			{Name: "plate", Phase: physics.Phasor(3, "A"), Rods: 1, Zone: box(1.8, 2, 1, 4)},
			{Name: "row", Phase: physics.Phasor(3, "B"), Rods: 1, Zone: mesh.Zone{I0: i - map[bool]int{true: 1}[mirror], I1: i + 1 - map[bool]int{true: 1}[mirror], K0: 4, K1: 16},
				Row: &physics.Row{X: x[i], Spacing: 2, Radius: 0.1, Top: 1, Bottom: 4}},
		}, false)
		if err != nil {
			t.Fatal(err)
		}
		h := physics.NewHeat(g, physics.HeatBoundary{Film: 5, Air: constantAir(atStart), Sides: physics.Held{On: true, Temperature: atStart}})
		rep, err := solver.Run(context.Background(), &solver.Problem{Ground: gr, Electric: e, Heat: h, Supply: on(60), Watched: mesh.Zone{I1: g.NX, K1: g.NZ}, Duration: 40 * day,
			Settings: solver.Settings{FixedStep: 40 * day / steps, Tolerance: tolerance, MaxCoupled: 100}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return rep, g
	}
	a, g := run(false)
	b, _ := run(true)
	worst, phi, peak := 0.0, 0.0, 0.0
	for k := range g.NZ {
		for i := range g.NX {
			c, m := g.Index(i, k), g.Index(g.NX-1-i, k)
			worst = math.Max(worst, math.Abs(a.State.T[c]-b.State.T[m]))
			phi = math.Max(phi, math.Hypot(a.State.Re[c]-b.State.Re[m], a.State.Im[c]-b.State.Im[m]))
			peak = math.Max(peak, a.State.T[c]-atStart)
		}
	}
	hold(t, check{fmt.Sprintf("largest difference to the mirror image, peak %.0f K", peak), "symmetry of the equations", worst, 0, "K", steps * 2 * 0.1 * tolerance * math.E})
	// σ moves by 1.87 % per kelvin and the potential by less than that of its volt.
	hold(t, check{"largest difference of potential to the mirror image", "symmetry of the equations", phi, 0, "per volt", 0.0187*steps*2*0.1*tolerance*math.E + 1e-8})
}

// TestConductionAddsUp: two powers together warm the ground by the sum of what each
// does alone, on a graded section with film, held sides and layers, at equal steps.
// Each heat solve leaves 1e-4 of the tolerance, rms over cells, and a hundred times
// that in one cell; three runs of so many steps and two stages each.
// Source: linearity of the heat equation.
func TestConductionAddsUp(t *testing.T) {
	const steps, tolerance = 25, 1e-6
	g := mesh.NewSection(demoAxis(t, 2, 12, 3, 7), demoAxis(t, 2, 9, 0, 4), 1)
	run := func(w []float64) []float64 {
		b := physics.HeatBoundary{Film: 5, Cover: 0.3, Sides: physics.Held{On: true, Temperature: atStart}}
		c := conduction{grid: g, boundary: b, imposed: w, zone: mesh.Zone{I1: g.NX, K1: g.NZ}, duration: 50 * day, fixed: 50 * day / steps, tolerance: tolerance}
		rep, _ := c.run(t)
		return rises(rep.State)
	}
	first, second := heated(g, g.Box("", 3, 7, 1, 4), 60), heated(g, g.Box("", 5, 9, 2, 6), 35)
	both := make([]float64, len(first))
	for c := range both {
		both[c] = first[c] + second[c]
	}
	u, v, sum := run(first), run(second), run(both)
	worst, peak := 0.0, 0.0
	for c := range sum {
		worst = math.Max(worst, math.Abs(sum[c]-u[c]-v[c]))
		peak = math.Max(peak, sum[c])
	}
	hold(t, check{fmt.Sprintf("two powers together less each alone, peak %.0f K", peak), "linearity", worst, 0, "K", 3 * 2 * steps * 100 * 1e-4 * tolerance})
}
