//dossier:chapter Plans

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

// enters returns the currents [A per volt of supply] that enter and leave a body through
// the faces of its cells.
func enters(s *solver.State, e *physics.Electric, body int) (in, out float64) {
	g := e.Grid
	add := func(conductance float64, a, b int) {
		switch x, y := int(e.BodyOf[a]) == body, int(e.BodyOf[b]) == body; {
		case x == y:
			return
		case x:
			a, b = b, a
		}
		if i := conductance * (s.Re[a] - s.Re[b]); i > 0 {
			in += i
		} else {
			out -= i
		}
	}
	for k := range g.NZ {
		for i := range g.NX {
			c := g.Index(i, k)
			if i+1 < g.NX {
				add(e.Across[k*(g.NX-1)+i], c, c+1)
			}
			if k+1 < g.NZ {
				add(e.Down[c], c, c+g.NX)
			}
		}
	}
	return in, out
}

// onAxis returns the potential of each column [m] beyond from on the line y = 0, by cubics
// between the nodes of the column, the first few of them.
func onAxis(g *mesh.Grid, phi []float64, from float64, columns int) (x, v []float64) {
	line := make([]float64, g.NZ)
	for i := 0; i < g.NX && len(x) < columns; i++ {
		if g.XC[i] <= from {
			continue
		}
		for k := range line {
			line[k] = phi[g.Index(i, k)]
		}
		x, v = append(x, g.XC[i]), append(v, along(g.ZC, line, 0))
	}
	return x, v
}

// slopeAt returns the slope at x[0] of the polynomial through places and values.
func slopeAt(x, v []float64) float64 {
	sum := 0.0
	for i := 1; i < len(x); i++ {
		w := (v[i] - v[0]) / (x[i] - x[0])
		for j := 1; j < len(x); j++ {
			if j != i {
				w *= (x[0] - x[j]) / (x[i] - x[j])
			}
		}
		sum += w
	}
	return sum
}

// TestDiscInAUniformField: buried metal of a plan, a floating disc in a uniform field E,
// bends it as a conducting cylinder does,
//
//	φ = −E x (1 − a²/r²),   2E at its flank, 4Ea in through one half
//
// wherever in the cells its middle stands: potentials at nodes, the current that it passes
// on, its own potential and the field at its flank, the worst of ten places.
// Source: as discField.
// Tolerances, with the cells h. A node beside the wall lies θh from it, 0 < θ ≤ 1, and its
// cell's balance misses h²(θx − θz)/2 of the second derivative, 2E/a at most there: h²E/a,
// which its four conductances or more answer by h²/4 of E/a. Beyond it what is missed goes
// as h²/24 of the fourth derivatives. So h²/4; and at a quarter of the radius 1 % of Ea,
// which README's limits tell. The current through one half is Σ of all of it, to the same
// share at most, and so is the disc's own potential. The field at the flank is the slope of
// the cubic through the wall and three nodes that are a cell or more away, whose remainder
// is up to 12 (h/a)³ of 2E, 2.3 % at an eighth: 3 %. The mean field from the wall to a
// quarter of the radius is off by h²/4 over that way. Of orders the worst place, another
// from mesh to mesh, decides: 2 ± 0.4.
func TestDiscInAUniformField(t *testing.T) {
	const source = "conducting cylinder, Jackson, Rayleigh"
	places := append(offsets(8), [2]float64{}, [2]float64{0.31, 0})
	head := []string{"cells [a]", "potential at a node [% of E a]", "current through one half [%]", "field at the flank [%]", "own potential [% of E a]"}
	var rows [][]string
	var errs [2][]float64
	for _, h := range []float64{1. / 4, 1. / 8, 1. / 16} {
		var field, half, flank, mean, own, net, heat float64
		for _, p := range places {
			s, e := discBetweenPlates(t, h, p)
			g, v := e.Grid, real(s.Potential[2])
			for c, phi := range s.Re {
				if x, y := g.XC[c%g.NX], g.ZC[c/g.NX]; e.BodyOf[c] < 0 && math.Hypot(x, y) < 3 {
					field = math.Max(field, math.Abs(phi-discField(x, y)))
				}
			}
			in, out := enters(s, e, 2)
			half = math.Max(half, math.Abs((in+out)/8-1))
			x, u := onAxis(g, s.Re, 1+h, 3)
			flank = math.Max(flank, math.Abs(slopeAt(append([]float64{1}, x...), append([]float64{v}, u...))/-2-1))
			x, u = onAxis(g, s.Re, 1, 8)
			mean = math.Max(mean, math.Abs((v-along(append([]float64{1}, x...), append([]float64{v}, u...), 1.25))/0.25-1.8))
			own = math.Max(own, math.Abs(v))
			net = math.Max(net, cmplx.Abs(s.Current[2])/cmplx.Abs(s.Current[0]))
			q := 0.0
			for _, w := range s.Joule {
				q += w
			}
			heat = math.Max(heat, math.Abs(q/s.Power-1))
		}
		of := fmt.Sprintf(" of a floating disc, the worst of %d places, cells of %g a", len(places), h)
		bar := h * h / 4
		hold(t, check{"error of the potential at a node within three radii" + of, source, field, 0, "E a", math.Min(bar, 0.01)})
		hold(t, check{"error of the current in through one half" + of, source, half, 0, "of 4Ea", bar})
		hold(t, check{"error of its own potential" + of, "symmetry", own, 0, "E a", bar})
		hold(t, check{"error of the mean field from the flank to 1.25 a, 1.8 E" + of, source, mean, 0, "E", bar / 0.25})
		if h == 1./8 {
			hold(t, check{"error of the field at the flank" + of, "2E", flank, 0, "of 2E", 0.03})
		}
		hold(t, check{"net current, over the plates'," + of, "no phase feeds it", net, 0, "-", 1e-9})
		hold(t, check{"heat of all cells off Σ V·I, share" + of, "Tellegen", heat, 0, "-", 1e-9})
		errs[0], errs[1] = append(errs[0], field), append(errs[1], half)
		percent := func(x float64) string { return fmt.Sprintf("%.2g", 100*x) }
		rows = append(rows, []string{fmt.Sprint(h), percent(field), percent(half), percent(flank), percent(own)})
	}
	table(t, "Errors of a floating disc in a uniform field of a plan, the worst of ten places in the cells", head, rows)
	for i, what := range []string{"potential beside a disc", "current through a half of it"} {
		hold(t, check{"mean order over two halvings, " + what, "second order", order(errs[i][0], errs[i][2]) / 2, 2, "", 0.4})
	}
}

// TestEccentricCylinders: a round electrode within a round tank of metal, not in its middle,
// drives the current of two eccentric cylinders,
//
//	I = 2πσV / acosh((a² + b² − e²)/(2ab))
//
// per metre of thickness, wherever in the cells both stand; V·I is the heat of all cells, and
// what leaves the one enters the other.
// Source: Smythe, Static and Dynamic Electricity, §4 (from memory).
// Tolerance: the potential beside a wall is off by h²/4 of E/a at most, as beside the disc
// above, to both signs: as if the walls were moved by half of that, h²/8a and h²/8b, which
// changes I by (h²/8)(1/a² + 1/b²)/acosh(…). Order 2 ± 0.3. The tank is drawn by 2000
// corners, and is 1e-6 of its radius smaller.
func TestEccentricCylinders(t *testing.T) {
	const a, b, off = 1.0, 2.5, 0.6
	tall := math.Acosh((a*a + b*b - off*off) / (2 * a * b))
	want := 2 * math.Pi / tall
	// Round a square beyond the ground, in to the tank's wall, round it, and back.
	outline := [][2]float64{{5, 0}, {5, -5}, {-5, -5}, {-5, 5}, {5, 5}, {5, 0}}
	for j := range 2001 {
		sin, cos := math.Sincos(2 * math.Pi * float64(j%2000) / 2000)
		outline = append(outline, [2]float64{-off + b*cos, b * sin})
	}
	var errs []float64
	for _, h := range []float64{1. / 4, 1. / 8, 1. / 16} {
		var worst, sum, heat float64
		for _, p := range offsets(8) {
			var x, y []float64
			for i := -4 / h; i <= 4/h; i++ {
				x, y = append(x, (i+p[0])*h), append(y, (i+p[1])*h)
			}
			g := mesh.NewPlan(x, y, 1)
			s := started(t, ground(t, g, []float64{far}, []float64{1}), []physics.Body{
				{Name: "rod", Label: "A", Phase: 1, Rods: 1, Zone: g.Circle("", 0, 0, a)},
				{Name: "tank", Label: "N", Rods: 1, Zone: g.Polygon("", outline)}}, false, 1, nil)
			worst = math.Max(worst, math.Abs(real(s.Current[0])/want-1))
			sum = math.Max(sum, cmplx.Abs(s.Current[0]+s.Current[1])/want)
			q := 0.0
			for _, w := range s.Joule {
				q += w
			}
			heat = math.Max(heat, math.Abs(q/s.Power-1))
		}
		of := fmt.Sprintf(" of eccentric cylinders, the worst of 8 places, cells of %g a", h)
		hold(t, check{"error of the current" + of, "Smythe §4", worst, 0, "of it", h * h / 8 * (1/(a*a) + 1/(b*b)) / tall})
		hold(t, check{"sum of the currents" + of, "Kirchhoff", sum, 0, "of one", 1e-9})
		hold(t, check{"heat of all cells off Σ V·I, share" + of, "Tellegen", heat, 0, "-", 1e-9})
		errs = append(errs, worst)
	}
	for i := range 2 {
		hold(t, check{fmt.Sprintf("order of the current of eccentric cylinders, halving %d", i+1), "second order", order(errs[i], errs[i+1]), 2, "", 0.3})
	}
}

// TestBarAskew: a floating square bar, turned and beside the cells' edges, adds to the
// current between plates what it does when it stands straight: a square's polarizability
// is the same in all directions.
// Source: as TestBarInAUniformField.
// Tolerance: its sides are where they are, but of the field at its corners, r^(−1/3), cells
// miss a share that goes as (h/side)^(4/3), with a factor of the order of 1. Taken for whole
// cells it would be up to h/2 too wide on every side, which is 2h/side of what it adds.
func TestBarAskew(t *testing.T) {
	const size, side = 8.0, 1.0
	c := math.Pow(math.Gamma(0.25), 2) / (4 * math.Pow(math.Pi, 1.5)) * side
	f := math.Pi * c * c / (size * size)
	want := 2 * f / (1 - f)
	for _, turn := range []float64{0, 0.3, math.Pi / 4} {
		for _, n := range []float64{4, 16} {
			h := side / n
			z := []float64{0}
			for i := 1.0; i*h <= size; i++ {
				z = append(z, i*h)
			}
			x := append(append([]float64{-h}, z...), size+h)
			g := mesh.NewPlan(x, z, 1)
			worst := 0.0
			for _, p := range offsets(4) {
				var corners [][2]float64
				for q := range 4 {
					sin, cos := math.Sincos(turn + math.Pi/4 + float64(q)*math.Pi/2)
					corners = append(corners, [2]float64{size/2 + p[0]*h + side/math.Sqrt2*cos, size/2 + p[1]*h + side/math.Sqrt2*sin})
				}
				s := started(t, ground(t, g, []float64{far}, []float64{1}), []physics.Body{
					{Name: "left", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("", -h, 0, 0, size)},
					{Name: "right", Label: "N", Rods: 1, Zone: g.Box("", size, size+h, 0, size)},
					{Name: "bar", Label: "-", Rods: 1, Floating: true, Zone: g.Polygon("", corners)}}, false, 1, nil)
				worst = math.Max(worst, math.Abs((real(s.Current[0])-1)/want-1))
			}
			hold(t, check{fmt.Sprintf("error of what a floating square bar adds, turned by %.2g rad, the worst of 4 places, cells of 1/%g of its side", turn, n), "Rayleigh 1892, logarithmic capacity of the square", worst, 0, "of it", math.Pow(h/side, 4./3)})
		}
	}
}
