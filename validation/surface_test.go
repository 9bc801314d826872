//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// overground solves the potential at one volt and returns the surface's reading, its
// phasors per volt, and each body's current [A].
func overground(t *testing.T, gr *physics.Ground, bodies []physics.Body, rim bool) (*physics.SurfacePotential, []complex128, []complex128) {
	t.Helper()
	e, err := physics.NewElectric(gr.Grid, bodies, rim)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Start(&solver.Problem{Ground: gr, Electric: e,
		Heat:    physics.NewHeat(gr.Grid, physics.HeatBoundary{Film: 10, Air: func(float64) float64 { return 293.15 }}),
		Watched: mesh.Zone{I1: gr.Grid.NX, K1: gr.Grid.NZ}, Duration: 1,
		Supply: []solver.Setting{{Voltage: 1, PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1), On: true}}})
	if err != nil {
		t.Fatal(err)
	}
	s := physics.NewSurfacePotential(gr, e)
	phi := make([]complex128, len(s.X))
	s.PotentialTo(phi, r.State)
	return s, phi, r.State.Current
}

// squareBars returns a section of 1 S/m with square bars of side w whose middles lie at depth
// d and at the places x, on a mesh whose cells are f times those of f = 1.
func squareBars(t *testing.T, w, d float64, x []float64, phase []complex128, f float64) (*physics.Ground, []physics.Body) {
	t.Helper()
	const reach = 4000
	grade := func(marks ...mesh.Mark) []float64 {
		e, err := mesh.Grade(marks, math.Pow(1.2, f), 100000)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	xm := []mesh.Mark{{At: x[0] - reach, Size: far}, {At: x[len(x)-1] + reach, Size: far}}
	for _, v := range x {
		xm = append(xm, mesh.Mark{At: v - w/2, Size: w / 2 * f}, mesh.Mark{At: v + w/2, Size: w / 2 * f})
	}
	g := mesh.NewSection(grade(xm...), grade(mesh.Mark{At: 0, Size: far}, mesh.Mark{At: d - w/2, Size: w / 2 * f}, mesh.Mark{At: d + w/2, Size: w / 2 * f}, mesh.Mark{At: reach, Size: far}), 1)
	var bodies []physics.Body
	for i, v := range x {
		bodies = append(bodies, physics.Body{Name: fmt.Sprint("bar ", i), Label: "A", Phase: phase[i], Rods: 1, Zone: g.Box("", v-w/2, v+w/2, d-w/2, d+w/2)})
	}
	return ground(t, g, []float64{far}, []float64{1}), bodies
}

// TestSurfaceOverTwoLines: the potential along the surface above two bars of opposite
// current, and the step voltage over a metre, are those of two line sources with their
// images. Bars of 5 cm, 3 m deep and 6 m apart, in a half-space of 1 S/m:
//
//	V(x) = (ρI′/π)·ln(r₂/r₁),   r² = (x − x_j)² + d²
//
// with the model's own current I′ [A/m].
// Source: method of images; a line's potential −(ρI′/2π)·ln r, twice at an insulating
// surface.
//
// Tolerance: 0.2 % of the largest on this mesh, a quarter of that with cells of half the
// size and half the growth, as the scheme is of second order, and what does not fall with
// the cells: a bar of a square's equivalent radius 0.59·w is polarised by the field of the
// other and of the images as a cylinder is, which moves the potential by (0.59·w/d)² = 1e-4
// of itself. Edges at 4 km add 6·x/4000² of a share. The step reads chords where the
// potential bends, in cells of up to h = 0.5 m: h²/8 of a curvature below V/d², 0.35 % of
// the largest potential or 0.9 % of the largest step, and a quarter with half the cells.
func TestSurfaceOverTwoLines(t *testing.T) {
	const w, d, apart = 0.05, 3.0, 6.0
	x := []float64{-apart / 2, apart / 2}
	for _, c := range []struct {
		f         float64
		name      string
		tol, step float64 // shares of the largest
	}{{1, "growth 1.2", 2e-3, 9e-3}, {0.5, "half the cells, growth √1.2", 5e-4 + 1e-4, 2.3e-3}} {
		gr, bodies := squareBars(t, w, d, x, []complex128{1, -1}, c.f)
		s, phi, current := overground(t, gr, bodies, false)
		strength := real(current[0]) / math.Pi
		want := func(at float64) float64 { return strength * math.Log(math.Hypot(at-x[1], d)/math.Hypot(at-x[0], d)) }
		most, worst, worstStep := 0.0, 0.0, 0.0
		got, formula := curve{Label: "program", Points: true}, curve{Label: "two lines and their images"}
		step := make([]float64, len(s.X))
		s.StepTo(step, phi)
		mostStep := 0.0
		for i, at := range s.X {
			if math.Abs(at) > 15 {
				continue
			}
			most, worst = math.Max(most, math.Abs(want(at))), math.Max(worst, math.Abs(real(phi[i])-want(at)))
			wanted := math.Abs(want(at+1) - want(at))
			mostStep, worstStep = math.Max(mostStep, wanted), math.Max(worstStep, math.Abs(step[i]-wanted))
			got.X, got.Y = append(got.X, at), append(got.Y, real(phi[i]))
			formula.X, formula.Y = append(formula.X, at), append(formula.Y, want(at))
		}
		hold(t, check{"largest error along the surface above two bars, of its largest potential, " + c.name, "method of images", worst / most, 0, "", c.tol})
		hold(t, check{"largest error of the step voltage there, of the largest step, " + c.name, "method of images", worstStep / mostStep, 0, "", c.step})
		// The closed form's steepest metre lies midway between the bars.
		high, from := s.MaxStep(phi)
		hold(t, check{"largest step voltage above two bars, " + c.name, "method of images", high, math.Abs(want(0.5) - want(-0.5)), "V", c.step * mostStep})
		hold(t, check{"where it starts", "symmetry", from, -0.5, "m", 0.3}) // the top of the closed form is flat: 0.3 m lower it by 0.5 %
		if c.f == 1 {
			draw(t, "surface-two-lines", "Potential along the surface above two bars, per volt", "x [m]", "potential [-]", false, formula, got)
		}
	}
}

// TestSurfaceOverAPointAndARod: the potential along the surface above a small body
// falls as that of a point source with its image, and far from a rod that
// reaches the surface as that of a line source of the rod's length.
//
//	V(r) = ρI/2π · 1/√(r² + d²),   V(r) = ρI/2πL · arsinh(L/r)
//
// Both are compared as differences from the potential at the first place, or at
// the last of those compared: the rim at 4 km is held at 0 V, which lowers the whole
// surface alike, by ρI/2π · 1/4 km.
// Source: method of images; the line source is Dwight's, Trans. AIEE 55, 1319 (1936)
// (from memory).
//
// Tolerance, of V at the first place: 0.3 % on cells that grow by 1.2, as of the current
// of rods in this chapter, twice, for the potential and for the current it is compared
// by. The small body, as high as wide, 0.1 m at 4 m, has second moments that differ from a
// ball's by less than (a/d)² = 2e-4. The rod's current is denser at its end, which moves
// its mean square depth, L²/3, by a tenth or less, as of its 5 % excess of charge there:
// a tenth of L²/6r², 0.07 % at r = 5L.
func TestSurfaceOverAPointAndARod(t *testing.T) {
	const reach = 4000
	mark := func(at, size float64) mesh.Mark { return mesh.Mark{At: at, Size: size} }
	for _, c := range []struct {
		name           string
		a, top, bottom float64
		from, to       float64 // [m] compared
		shape          func(r float64) float64
	}{
		{"a body of 0.1 m, 4 m deep", 0.05, 3.95, 4.05, 0, 20, func(r float64) float64 { return 1 / math.Hypot(r, 4) }},
		{"a rod of 3 m from the surface", 0.1, 0, 3, 15, 60, func(r float64) float64 { return math.Asinh(3/r) / 3 }},
	} {
		zm := []mesh.Mark{mark(0, far), mark(c.bottom, c.a/4), mark(reach, far)}
		if c.top > 0 {
			zm = append(zm, mark(c.top, c.a/4))
		}
		g := mesh.NewAxisymmetric(graded(t, mark(0, far), mark(c.a, c.a/4), mark(reach, far)), graded(t, zm...), 1)
		s, phi, current := overground(t, ground(t, g, []float64{far}, []float64{1}),
			[]physics.Body{{Name: "body", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("body", 0, c.a, c.top, c.bottom)}}, true)
		strength := real(current[0]) / (2 * math.Pi)
		var shift, first, worst float64
		seen := false
		for i, r := range s.X {
			if r < c.from || r > c.to {
				continue
			}
			want := strength * c.shape(r)
			if !seen {
				seen, shift, first = true, real(phi[i])-want, want
			}
			worst = math.Max(worst, math.Abs(real(phi[i])-shift-want))
		}
		hold(t, check{"largest error along the surface, of its potential at the first place, over " + c.name, "method of images", worst / first, 0, "", 6e-3})
		hold(t, check{"potential at that place, above " + c.name, "method of images", (first + shift) / first, 1, "", 6e-3 + 1/(reach*c.shape(c.from))})
		if c.top == 0 {
			hold(t, check{"potential where the rod reaches the surface", "its own", real(phi[0]), 1, "V/V", 1e-15})
		}
	}
}

// TestSurfaceIsAsSymmetricAsTheArray: three bars A, B, A give a profile that is its own
// mirror image, and step voltages that are it with their feet exchanged; turning all
// phases alike changes neither.
// Source: symmetry; one phase is any other's by choice of the clock.
// Tolerance: 1e-9 of the largest. The potential's residual is 1e-10 of what the
// electrodes drive; a turned phasor is solved in other parts, each to that.
func TestSurfaceIsAsSymmetricAsTheArray(t *testing.T) {
	x := []float64{-4, 0, 4}
	phase := []complex128{physics.Phasor(3, "A"), physics.Phasor(3, "B"), physics.Phasor(3, "A")}
	gr, bodies := squareBars(t, 0.2, 2, x, phase, 1)
	s, phi, _ := overground(t, gr, bodies, false)
	n := len(phi)
	step := make([]float64, n)
	s.StepTo(step, phi)
	most, _ := s.MaxPotential(phi)
	mostStep, from := s.MaxStep(phi)
	worst := 0.0
	for i := range n {
		worst = math.Max(worst, math.Abs(cmplx.Abs(phi[i])-cmplx.Abs(phi[n-1-i])))
	}
	hold(t, check{"profile less its mirror image, of its largest", "symmetry", worst / most, 0, "", 1e-9})
	mirrored := make([]complex128, n)
	for i := range n {
		mirrored[i] = phi[n-1-i]
	}
	back, at := s.MaxStep(mirrored)
	hold(t, check{"largest step of the mirror image", "symmetry", back, mostStep, "V/V", 1e-9 * mostStep})
	if math.Abs(math.Abs(from+0.5)-math.Abs(at+0.5)) > 1e-6 { // the middle of the step, on one side or the other
		t.Errorf("the largest step starts at %v m and its mirror image's at %v m, want middles as far from 0", from, at)
	}

	turn := cmplx.Rect(1, 0.7)
	for i := range bodies {
		bodies[i].Phase *= turn
	}
	s, turned, _ := overground(t, gr, bodies, false)
	turnedStep := make([]float64, n)
	s.StepTo(turnedStep, turned)
	worst, worstStep := 0.0, 0.0
	for i := range n {
		worst = math.Max(worst, math.Abs(cmplx.Abs(turned[i])-cmplx.Abs(phi[i])))
		worstStep = math.Max(worstStep, math.Abs(turnedStep[i]-step[i]))
	}
	hold(t, check{"change of the profile as all phases turn, of its largest", "choice of the clock", worst / most, 0, "", 1e-9})
	hold(t, check{"change of the step voltages, of the largest", "choice of the clock", worstStep / mostStep, 0, "", 1e-9})
}
