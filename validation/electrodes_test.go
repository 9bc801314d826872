//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// ground returns dry inert ground of one conductivity by depth [S/m], for tests
// of the potential alone.
func ground(t *testing.T, g *mesh.Grid, bottoms, sigma []float64) *physics.Ground {
	t.Helper()
	var soils []*materials.Soil
	for _, s := range sigma {
		soils = append(soils, &materials.Soil{Name: "ground", Resistivity: 1 / s, ResistivityAt: 293.15, SaturationExponent: 2,
			ThermalConductivity: 1, ThermalConductivityDry: 1, HeatCapacity: 2e6})
	}
	gr, err := physics.NewGround(g, physics.Site{Ambient: 293.15, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(), soils, bottoms,
		func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// cold solves the potential at one volt and returns each body's current [A].
func cold(t *testing.T, gr *physics.Ground, bodies []physics.Body, rim bool) []complex128 {
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
	return r.State.Current
}

func graded(t *testing.T, marks ...mesh.Mark) []float64 {
	t.Helper()
	e, err := mesh.Grade(marks, 1.2, 100000)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

var far = math.Inf(1)

// TestRodInHalfSpace: a rod that reaches the surface draws the current that fine
// finite elements and Dwight's formula say. The current of a rod that reaches the
// surface.
// Sources: a fine axisymmetric solution with quadratic elements to 60 m and a
// matched far field (bar 0.5 %; the longest rod's value less sure); Dwight,
// Trans. AIEE 55, 1319 (1936), R = ρ/(2πL)·(ln(4L/a) − 1), which assumes an even
// current along the rod and is 1.7 to 2.6 % low in current at these lengths.
func TestRodInHalfSpace(t *testing.T) {
	const a = 0.1524
	for _, c := range []struct{ length, want float64 }{{1.83, 4.111}, {5.5, 8.901}, {12, 16.139}} {
		// The far edge is held at 0 V at 4 km: the potential there, 1/(2πR) a
		// volt-metre, is below 0.04 % of the rod's.
		r := graded(t, mesh.Mark{At: 0, Size: a / 10}, mesh.Mark{At: a, Size: a / 20}, mesh.Mark{At: 4000, Size: far})
		z := graded(t, mesh.Mark{At: 0, Size: 0.05}, mesh.Mark{At: c.length, Size: a / 20}, mesh.Mark{At: 4000, Size: far})
		g := mesh.NewAxisymmetric(r, z, 1)
		got := real(cold(t, ground(t, g, []float64{far}, []float64{1}),
			[]physics.Body{{Name: "rod", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("rod", 0, a, 0, c.length)}}, true)[0])
		hold(t, check{fmt.Sprintf("current of a %.4g m rod in a half-space of 1 S/m at 1 V", c.length),
			"fine quadratic elements, design value", got, c.want, "A", 0.005 * c.want})
		dwight := 2 * math.Pi * c.length / (math.Log(4*c.length/a) - 1)
		hold(t, check{fmt.Sprintf("the same above Dwight's formula, %.4g m", c.length), "Dwight 1936", got / dwight, 1.02, "", 0.01})
	}
}

// rows returns a section of endless extent with rows of rods and the current of
// one rod in each at 1 V per unit phasor.
func rows(t *testing.T, top, length, s, a float64, x, offset []float64, phase []complex128, bottoms, sigma []float64, depth float64) []complex128 {
	t.Helper()
	const w, reach = 0.0762, 400
	bottom := top + length
	xm := []mesh.Mark{{At: x[0] - reach, Size: far}, {At: x[len(x)-1] + reach, Size: far}}
	for _, v := range x {
		xm = append(xm, mesh.Mark{At: v - w/2, Size: w}, mesh.Mark{At: v + w/2, Size: w})
	}
	zm := []mesh.Mark{{At: 0, Size: far}, {At: top, Size: w / 2}, {At: bottom, Size: w / 2}, {At: depth, Size: far}}
	if top == 0 {
		zm = zm[1:]
	}
	for _, b := range bottoms {
		if !math.IsInf(b, 1) {
			zm = append(zm, mesh.Mark{At: b, Size: w})
		}
	}
	g := mesh.NewSection(graded(t, xm...), graded(t, zm...), s) // one rod a row
	var bodies []physics.Body
	for i, v := range x {
		bodies = append(bodies, physics.Body{Name: fmt.Sprint("row ", i), Label: "A", Phase: phase[i], Rods: 1,
			Zone: g.Box("", v-w/2, v+w/2, top, bottom),
			Row:  &physics.Row{X: v, Spacing: s, Offset: offset[i], Radius: a, Top: top, Bottom: bottom}})
	}
	return cold(t, ground(t, g, bottoms, sigma), bodies, false)
}

// finiteRows is two rows of finite rods, [m] and [A]: a boundary solution of the project's own, converged to 0.01 %.
var finiteRows = []struct{ length, s, d, want float64 }{
	{1.829, 7.391, 2.134, 6.508}, {1.829, 4.267, 4.267, 5.467}, {4.267, 4.267, 3.658, 9.989}, {9.144, 4.267, 4.267, 16.892},
}

// TestFiniteRowsAgainstThreeDimensions: two rows of finite rods draw what a solution
// in three dimensions says. Two rows of finite rods, aligned, at +1 and −1 V in
// uniform infinite ground of 1 S/m.
// Source: a boundary solution in three dimensions with flat ends (rings, own,
// converged to 0.01 %). Tolerance 2 %, as in TestFiniteRowsOfManyShapes, where the bar
// of the project is 4 %.
func TestFiniteRowsAgainstThreeDimensions(t *testing.T) {
	const a = 0.1524
	for _, c := range finiteRows {
		got := cmplx.Abs(rows(t, 400, c.length, c.s, a, []float64{0, c.d}, []float64{0, 0}, []complex128{1, -1}, []float64{far}, []float64{1}, 800)[0])
		hold(t, check{fmt.Sprintf("current of a rod %.4g m long, %.4g m apart in two rows %.4g m apart", c.length, c.s, c.d),
			"three-dimensional boundary solution with flat ends", got, c.want, "A", 0.02 * c.want})
	}
}

// pieces returns the current of one rod of a row at +1 V beside a row at −1 V
// 4 m away, rods 5 m apart, active between the given depths, each stretch
// between neighbouring depths an element of its own, in ground down to floor.
func pieces(t *testing.T, floor float64, depths ...float64) float64 {
	t.Helper()
	const a, s, w = 0.1524, 5.0, 0.0762
	x := []float64{0, 4}
	xm := []mesh.Mark{{At: -60, Size: far}, {At: 64, Size: far}}
	for _, v := range x {
		xm = append(xm, mesh.Mark{At: v - w/2, Size: w}, mesh.Mark{At: v + w/2, Size: w})
	}
	zm := []mesh.Mark{{At: 0, Size: far}, {At: floor, Size: far}}
	for d := depths[0]; d <= depths[len(depths)-1]+1e-9; d += 0.0625 { // one mesh for every way to cut
		zm = append(zm, mesh.Mark{At: d, Size: far})
	}
	g := mesh.NewSection(graded(t, xm...), graded(t, zm...), s)
	var bodies []physics.Body
	for i, v := range x {
		for j := range depths[1:] {
			top, bottom := depths[j], depths[j+1]
			bodies = append(bodies, physics.Body{Name: fmt.Sprint(i, j), Label: "A", Phase: complex(1-2*float64(i), 0), Rods: 1,
				Zone: g.Box("", v-w/2, v+w/2, top, bottom),
				Row:  &physics.Row{X: v, Spacing: s, Radius: a, Top: top, Bottom: bottom}})
		}
	}
	sum := 0.0
	for b, i := range cold(t, ground(t, g, []float64{far}, []float64{1}), bodies, false) {
		if bodies[b].Phase == 1 {
			sum += real(i)
		}
	}
	return sum
}

// TestRodCutIntoElements: a rod cut into elements of one potential draws what the
// whole rod draws: nothing has changed in the ground. Tolerance: the potential's
// residual, 1e-10 of the current, and as much again for the sum.
// Source: symmetry.
func TestRodCutIntoElements(t *testing.T) {
	whole := pieces(t, 80, 8, 11)
	hold(t, check{"current of a rod cut in two", "the same rod whole", pieces(t, 80, 8, 9.5, 11), whole, "A", 1e-8 * whole})
	hold(t, check{"current of a rod cut in four", "the same rod whole", pieces(t, 80, 8, 8.5, 9.5, 10, 11), whole, "A", 1e-8 * whole})
}

// TestRodAtSurfaceIsHalfARod: a rod from the surface down draws half of what a
// rod twice as long draws deep in the ground: the surface is a plane of symmetry.
// The two grounds are each other's halves, cell by cell, so what differs is the
// potential's residual, 1e-10, the row's sum over images, cut after 200 pairs with an
// error of order 200⁻⁴, and the deep rod's image 160 m away, which bends the shape of
// its current by (6/160)²/8 = 2e-4, a thing that the current follows in second order;
// 1e-6 covers them.
// Source: the method of images.
func TestRodAtSurfaceIsHalfARod(t *testing.T) {
	deep := pieces(t, 160, 77, 83)
	hold(t, check{"current of a 3 m rod from the surface, twice", "a 6 m rod deep down", 2 * pieces(t, 80, 0, 3), deep, "A", 1e-6 * deep})
}
