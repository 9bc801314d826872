//dossier:chapter Conduction

package validation

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// romberg integrates f from a to b by Simpson's rule and its extrapolations, halving
// until two rows agree within tol of the larger of 1 and the integral.
func romberg(t *testing.T, f func(float64) float64, a, b, tol float64) float64 {
	t.Helper()
	h := b - a
	row := []float64{h / 2 * (f(a) + f(b))}
	for n := 1; n < 1<<20; n *= 2 {
		sum := 0.0
		for i := range n {
			sum += f(a + h*(float64(i)+0.5))
		}
		h /= 2
		next := []float64{row[0]/2 + h*sum}
		for j := 0; j < len(row) && j < 8; j++ {
			next = append(next, next[j]+(next[j]-row[j])/(math.Pow(4, float64(j+1))-1))
		}
		last, before := next[len(next)-1], row[len(row)-1]
		if n >= 32 && math.Abs(last-before) <= tol*math.Max(1, math.Abs(last)) {
			return last
		}
		row = next
	}
	t.Fatalf("the quadrature from %g to %g has not settled to %g", a, b, tol)
	return 0
}

// strip is the share of a unit's spread that is left at x after it stood evenly
// between from and to, s = 2√(αt) of spreading: ½[erf((to − x)/s) − erf((from − x)/s)].
func strip(x, from, to, s float64) float64 {
	if s == 0 { // the limit: half on an edge
		switch {
		case x == from || x == to:
			return 0.5
		case x > from && x < to:
			return 1
		}
		return 0
	}
	return 0.5 * (math.Erf((to-x)/s) - math.Erf((from-x)/s))
}

// agedStrips is what a body that is heated evenly at a rate of 1 K a second, from a time
// ago to another, has left at a point: the product of strips integrated over the age,
//
//	∫ X(τ) Y(τ) Z(τ) dτ,
//
// to 1e-10 of it. With τ = u² the integrand is smooth, edges and corners included.
// Source: Carslaw & Jaeger (1959), §1.15 and §10.2 (from memory).
func agedStrips(t *testing.T, youngest, oldest float64, product func(s float64) float64) float64 {
	t.Helper()
	scale := oldest - youngest
	return scale * romberg(t, func(u float64) float64 {
		return 2 * u / scale * product(2*math.Sqrt(diffusivity)*u)
	}, math.Sqrt(youngest), math.Sqrt(oldest), 1e-11)
}

// TestRectangleFormulaGivesTheTable: the quadrature by which the rectangles below are
// judged gives the table's box, which is three-dimensional and out of reach of a
// section (A10), and with faces far away the table's slab (A4, A5, A5i).
// Tolerance: ten printed digits, and the quadrature's own 1e-10.
// Source: testdata/analytic_values.csv, A4, A5, A5i, A10.
func TestRectangleFormulaGivesTheTable(t *testing.T) {
	const q, time, far = 100.0, 100 * day, 1e3
	slab := func(z, image float64) func(s float64) float64 {
		return func(s float64) float64 {
			return strip(0, -far, far, s) * (strip(z, 2, 8, s) + image*strip(-z, 2, 8, s))
		}
	}
	box := func(x, y, z, image float64) func(s float64) float64 {
		return func(s float64) float64 {
			return strip(x, -5, 5, s) * strip(y, -5, 5, s) * (strip(z, 2, 8, s) + image*strip(-z, 2, 8, s))
		}
	}
	const a10, a5 = "box 10x10 m plan, 2-8 m deep, q=100 W/m3, t=100 d, point ", ", source 2-8 m, q=100 W/m3, t=100 d"
	for _, c := range []struct {
		id, name string
		product  func(s float64) float64
	}{
		{"A10", a10 + "(0,0,5), infinite medium", box(0, 0, 5, 0)},
		{"A10", a10 + "(0,0,5), fixed-T surface", box(0, 0, 5, -1)},
		{"A10", a10 + "(5,5,5), fixed-T surface, corner edge", box(5, 5, 5, -1)},
		{"A4", "x=0.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", slab(5, 0)},
		{"A4", "x=3.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", slab(8, 0)},
		{"A5", "fixed-T surface, z=1.0 m" + a5, slab(1, -1)},
		{"A5", "fixed-T surface, z=10.0 m" + a5, slab(10, -1)},
		{"A5i", "insulated surface, z=0.0 m" + a5, slab(0, 1)},
		{"A5i", "insulated surface, z=5.0 m" + a5, slab(5, 1)},
	} {
		want, unit, where := closedForm(t, c.id, c.name)
		hold(t, check{"quadrature of the product of strips, " + c.id + ", " + c.name, where, q / capacity * agedStrips(t, 0, time, c.product), want, unit, (5e-10 + 1e-10) * want})
	}
}

// spot is a named place in a section.
type spot struct {
	name string
	x, z float64 // [m]
}

// read returns a field's value at a place, cubic along x and then along z. An x or z of
// 0 is a mirror or the surface: there the cubic reaches half a cell beyond its nodes.
func (p spot) read(g *mesh.Grid, field []float64) float64 {
	column := make([]float64, g.NZ)
	for k := range column {
		column[k] = along(g.XC, field[k*g.NX:(k+1)*g.NX], p.x)
	}
	return along(g.ZC, column, p.z)
}

// planeAxis is an axis of cells twice the demo's finest, growing by 1.2, and for f < 1
// the same with cells f times as long.
func planeAxis(t *testing.T, f, end float64, finestAt ...float64) []float64 {
	t.Helper()
	marks := []mesh.Mark{{At: 0, Size: math.Inf(1)}, {At: end, Size: math.Inf(1)}}
	for _, x := range finestAt {
		marks = append(marks, mesh.Mark{At: x, Size: 2 * demoFinest * f})
	}
	e, err := mesh.Grade(marks, math.Pow(demoGrowth, f), 10000)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// The rectangle of the tests: 10 m wide and 6 m high, its middle at x = 0, where a
// mirror stands for its other half.
const (
	rectWidth  = 5.0 // [m] half of it
	rectHeight = 3.0 // [m] half of it
	// Ground beyond, insulated at its end: the image that the end makes stands 18 m
	// and more from all spots, 3.4 diffusion lengths 2√(αt) at 100 d, and adds at most
	// 2 i²erfc(3.4) of the heat, 6e-8.
	rectFar   = 10.0 // [m]
	rectImage = 6e-8 // [-]
)

// TestHeatedRectangle: a heated rectangle warms as the product solution, in endless
// ground and below a surface. 10 × 6 m heated at 100 W/m³ for 100 days, endless along
// the section's own normal: in endless ground, 2 to 8 m below a held surface, and the
// same below an insulated one,
//
//	T = (q/C) ∫ X [Z(z) ∓ Z(−z)] dτ,
//
// at its centre, its sides, its corners and outside.
// Source: Carslaw & Jaeger (1959), §1.15 and §10.2 (from memory): product solution,
// images; numbers by quadrature, held to the table above.
// Tolerance: Richardson's on three meshes, see refined. The order on the two finer
// ones must lie within the 0.5 of 2 that let it use its safety factor of 1.25.
func TestHeatedRectangle(t *testing.T) {
	if few < 20 {
		t.Skip("takes seconds: under make validate")
	}
	const q, time = 100.0, 100 * day
	const scale = q * time / capacity // [K] without loss
	for _, c := range []struct {
		name        string
		boundary    physics.HeatBoundary
		top, bottom float64 // of the source [m]
		image       float64
		spots       []spot
		across      float64 // [m] depth of the profile across
	}{
		// A mirror at z = 0 for the lower half; the image is that half.
		{"in endless ground", insulated, 0, rectHeight, 1, []spot{
			{"centre", 0, 0}, {"middle of a side", rectWidth, 0}, {"middle of the top", 0, rectHeight},
			{"corner", rectWidth, rectHeight}, {"2 m beside", rectWidth + 2, 0}, {"2 m from the corner both ways", rectWidth + 2, rectHeight + 2}}, 0},
		{"below a held surface", heldSurface, 2, 8, -1, belowSurface, 5},
		{"below an insulated surface", insulated, 2, 8, 1, belowSurface, 5},
	} {
		exact := func(x, z float64) float64 {
			return q / capacity * agedStrips(t, 0, time, func(w float64) float64 {
				return strip(x, -rectWidth, rectWidth, w) * (strip(z, c.top, c.bottom, w) + c.image*strip(-z, c.top, c.bottom, w))
			})
		}
		var sizes []float64
		var found [][]float64
		profile := curve{Label: "program, cells from 0.07 m", Points: true}
		got := refined(t, 1e-3*scale, func(f float64) []float64 {
			marks := []float64{c.bottom}
			if c.top > 0 {
				marks = append(marks, c.top)
			}
			g := mesh.NewSection(planeAxis(t, f, rectWidth+rectFar, rectWidth), planeAxis(t, f, c.bottom+rectFar, marks...), 1)
			zone := g.Box("rectangle", 0, rectWidth, c.top, c.bottom)
			run := conduction{grid: g, boundary: c.boundary, imposed: heated(g, zone, q), zone: zone, duration: time, tolerance: 30 * stepTolerance(f, scale)}
			rep, _ := run.run(t)
			u := rises(rep.State)
			var out []float64
			for _, s := range c.spots {
				out = append(out, s.read(g, u))
			}
			if f == 0.5 {
				for _, x := range g.XC {
					profile.X, profile.Y = append(profile.X, x), append(profile.Y, spot{x: x, z: c.across}.read(g, u))
				}
			}
			sizes, found = append(sizes, 2*demoFinest*f), append(found, out)
			return out
		})
		got.names = [2]string{"cells from 0.14 m", "half of them"}
		var errors [][]float64 // by spot and mesh
		for i, s := range c.spots {
			want := exact(s.x, s.z)
			got.hold(t, i, fmt.Sprintf("heated rectangle %s, %s", c.name, s.name), "product solution, Carslaw & Jaeger 1959 sec. 1.15, 10.2", want, "K", 1e-9*want+rectImage*scale)
			errors = append(errors, nil)
			for _, v := range found {
				errors[i] = append(errors[i], math.Abs(v[i]-want))
			}
		}
		var worst [3]float64
		for _, e := range errors {
			for j := range worst {
				worst[j] = math.Max(worst[j], e[j])
			}
		}
		hold(t, check{"order of the largest error over the spots, heated rectangle " + c.name, "two-point fluxes, second order", order(worst[1], worst[2]), 2, "", 0.5})

		formula := curve{Label: "product solution"}
		for x := 0.0; x <= rectWidth+rectFar; x += 0.25 {
			formula.X, formula.Y = append(formula.X, x), append(formula.Y, exact(x, c.across))
		}
		file := "rectangle-" + strings.ReplaceAll(c.name, " ", "-")
		draw(t, file, "Heated rectangle "+c.name+", 100 d at 100 W/m³, through its centre", "distance from the centre [m]", "temperature rise [K]", false, formula, profile)
		var lines []curve
		for i, s := range c.spots {
			lines = append(lines, curve{Label: s.name, X: sizes, Y: errors[i]})
		}
		draw(t, file+"-order", "Heated rectangle "+c.name+": error at named places", "finest cell [m]", "error [K]", true, lines...)
	}
}

var belowSurface = []spot{
	{"centre", 0, 5}, {"middle of a side", rectWidth, 5}, {"upper corner", rectWidth, 2}, {"lower corner", rectWidth, 8},
	{"1 m above the upper edge", 0, 1}, {"2 m beside", rectWidth + 2, 5}, {"2 m below", 0, 10}}

// pulse is a section with ground between a plate at x = 0, a mirror, and a plate
// behind x = length, from the top to depth, heated evenly for a while and then left.
// Ground below depth conducts a millionth of the current. The ground starts where a
// case does, at its ambient: a hot body is one that was heated fast, and the solution
// is that of the pulse, not of its limit.
type pulse struct {
	x, z          []float64 // [m] edges; the first of x is the mirror
	length, depth float64   // [m]
	rise          float64   // [K] given to the body
	lasts         float64   // [s]
	after         float64   // [s] from the middle of the pulse to the end
	tolerance     float64   // [K]
}

// run returns the grid without its plate and the rises at the end.
func (p *pulse) run(t *testing.T) (*mesh.Grid, []float64) {
	t.Helper()
	const resistivity = 50.0
	x := append([]float64{p.x[0] - plateWidth}, p.x...)
	g := mesh.NewSection(x, p.z, 1)
	zone := g.Box("body", p.x[0], p.x[0]+p.length, 0, p.depth)
	plate := mesh.Zone{Name: "mirror", I1: 1, K1: zone.K1}
	behind := mesh.Zone{Name: "behind", I0: zone.I1, I1: zone.I1 + 1, K1: zone.K1}
	e, err := physics.NewElectric(g, []physics.Body{{Name: "mirror", Phase: 1, Rods: 1, Zone: plate}, {Name: "behind", Rods: 1, Zone: behind}}, false)
	if err != nil {
		t.Fatal(err)
	}
	// q = V²/(L²ρ) and q·lasts = C·rise.
	volts := p.length * math.Sqrt(resistivity*capacity*p.rise/p.lasts)
	c := conduction{grid: g, boundary: insulated, zone: zone, duration: p.after + p.lasts/2, tolerance: p.tolerance}
	problem := c.problem(t)
	problem.Ground = layered(t, g, []materials.Soil{plainSoil(conductivity, capacity, resistivity, 0), plainSoil(conductivity, capacity, 1e6*resistivity, 0)}, []float64{p.depth, math.Inf(1)})
	problem.Electric, problem.Supply = e, on(volts)
	problem.Supply = append(problem.Supply, solver.Setting{At: p.lasts, PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1)})
	rep, err := solver.Run(context.Background(), problem, nil)
	if err != nil {
		t.Fatal(err)
	}
	u := rises(rep.State)
	bare := mesh.NewSection(p.x, p.z, 1)
	var out []float64
	for k := range g.NZ {
		out = append(out, u[k*g.NX+1:(k+1)*g.NX]...)
	}
	return bare, out
}

// TestHotSlabCools: a hot slab cools as the closed form says. A slab 6 m thick, made
// 80 K hotter within a day by a current through it and then left for 200 days in
// endless ground,
//
//	T = (ΔT/τ) ∫ ½[erf((L − x)/s) + erf((L + x)/s)] dτ over the pulse's ages,
//
// and the table's values, which are the limit of a pulse without length: counted from
// its middle a pulse differs from it by τ²/24 of the second derivative, with that of
// t^(−½) less than 3/4 t⁻² of 80 K: 6e-5 K.
// Source: Carslaw & Jaeger (1959), §2.2 (from memory); values A6.
func TestHotSlabCools(t *testing.T) {
	const rise, lasts, after, far = 80.0, day, 200 * day, 26.0
	const limit = lasts * lasts / 24 * 0.75 / (after * after) * rise // [K]
	// The plate at the mirror holds heat of its own, and its cell has no source.
	const plate = rise * plateWidth / rectHeight // [K]
	spots := []float64{0, 3, 5}
	got := refined(t, 1e-3*rise, func(f float64) []float64 {
		p := pulse{x: demoAxis(t, f, rectHeight+far, rectHeight), z: []float64{0, 1}, length: rectHeight, depth: 1, rise: rise, lasts: lasts, after: after, tolerance: 10 * stepTolerance(f, rise)}
		g, u := p.run(t)
		var out []float64
		for _, x := range spots {
			out = append(out, along(g.XC, u, x))
		}
		return out
	})
	for i, name := range []string{"x=0.0 m, half-thickness 3 m, 80 K, t=200 d", "x=3.0 m, half-thickness 3 m, 80 K, t=200 d", "x=5.0 m, half-thickness 3 m, 80 K, t=200 d"} {
		want, unit, where := closedForm(t, "A6", name)
		got.hold(t, i, name, where, want, unit, limit+plate)
		want = rise / lasts * agedStrips(t, after-lasts/2, after+lasts/2, func(s float64) float64 { return strip(spots[i], -rectHeight, rectHeight, s) })
		got.hold(t, i, name+", a day's pulse", where, want, unit, plate)
	}
}

// TestHotRectangleCools: a hot rectangle cools as the product of two hot strips. a
// rectangle of 10 × 6 m in endless ground, made 80 K hotter within a day by a current
// through it and left for 100 days: the product of two such strips,
//
//	T = (ΔT/τ) ∫ X Z dτ over the pulse's ages.
//
// The ground below and beside conducts a millionth as well, and a field as strong as
// the rectangle's reaches some metres into it: 1e-6 of the heat strays, 1e-5 is
// allowed, which also covers the ends of the ground, ½ erfc(3.4) = 8e-7.
// Source: Carslaw & Jaeger (1959), §1.15 and §2.2 (from memory).
// Tolerance: Richardson's on three meshes, see refined; the plate; what strays.
func TestHotRectangleCools(t *testing.T) {
	const rise, lasts, after = 80.0, day, 100 * day
	const other = rise * (plateWidth/rectWidth + 1e-5) // [K]
	spots := []spot{{"centre", 0, 0}, {"middle of a side", rectWidth, 0}, {"middle of the top", 0, rectHeight}, {"corner", rectWidth, rectHeight}, {"2 m beside", rectWidth + 2, 0}}
	got := refined(t, 1e-3*rise, func(f float64) []float64 {
		p := pulse{x: planeAxis(t, f, rectWidth+rectFar, rectWidth), z: planeAxis(t, f, rectHeight+rectFar, rectHeight), length: rectWidth, depth: rectHeight,
			rise: rise, lasts: lasts, after: after, tolerance: 30 * stepTolerance(f, rise)}
		g, u := p.run(t)
		var out []float64
		for _, s := range spots {
			out = append(out, s.read(g, u))
		}
		return out
	})
	got.names = [2]string{"cells from 0.14 m", "half of them"}
	for i, s := range spots {
		want := rise / lasts * agedStrips(t, after-lasts/2, after+lasts/2, func(w float64) float64 {
			return strip(s.x, -rectWidth, rectWidth, w) * strip(s.z, -rectHeight, rectHeight, w)
		})
		got.hold(t, i, "rectangle that was 80 K hotter 100 d ago, "+s.name, "product of two strips, Carslaw & Jaeger 1959 sec. 1.15, 2.2", want, "K", 1e-9*want+other)
	}
}
