//dossier:chapter Heat carried by water

//go:build validate

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// besselK0 is the modified Bessel function of the second kind, of order 0.
//
//	K₀(x) = ∫₀^∞ exp(−x cosh u) du
//
// Source: Abramowitz & Stegun (1964), 9.6.24 (from memory). The trapezoidal rule on a
// function that is even and analytic is exact to e^(−π²/step).
func besselK0(x float64) float64 {
	const step = 0.1
	sum := math.Exp(-x) / 2
	for u := step; x*math.Cosh(u) < 700+x; u += step {
		sum += math.Exp(-x * math.Cosh(u))
	}
	return sum * step
}

// TestMovingLineSource: a line of heat in water that flows past it keeps a steady plume.
// T − T₀ = q′/(2πλ) exp(vx/2α) K₀(vr/2α).
// Source: Carslaw & Jaeger (1959), §10.7 (from memory).
func TestMovingLineSource(t *testing.T) {
	const v = 1.6e-6                                      // [m/s] so that 2α/v is 1 m
	const power = 2 * math.Pi * conductivity * little / 2 // [W/m] of the half above the plane of symmetry
	at := [][2]float64{{-1, 0}, {1, 0}, {4, 0}, {1, 1}, {0, 2}}
	// Rises are told over q′/2πλ. Upstream the plume falls to a seventh in a metre, so three
	// times the bar of fields that only spread.
	got := refined(t, 3e-3, func(f float64) []float64 {
		edges := func(a, b float64, marks ...float64) []float64 {
			m := []mesh.Mark{{At: a, Size: math.Inf(1)}, {At: b, Size: math.Inf(1)}}
			for _, x := range marks {
				m = append(m, mesh.Mark{At: x, Size: 0.15 * f})
			}
			e, err := mesh.Grade(m, math.Pow(1.2, f), 1000)
			if err != nil {
				t.Fatal(err)
			}
			return e
		}
		// Heat goes upstream as e^(−2|x|) and no further: e^(−12) of it reaches the inlet,
		// and e^(−16) comes back from the end. 8 m beside the line K₀(8) is 1e-4 of it.
		g := mesh.NewSection(edges(-6, 12, -1, -0.075*f, 0.075*f, 1, 4), edges(0, 8, 0), 1)
		w := make([]float64, g.Cells())
		w[g.Index(g.Column(0), 0)] = power
		c := conduction{grid: g, boundary: insulated, imposed: w, zone: mesh.Zone{I1: g.NX, K1: g.NZ}, duration: 2400 * day, fixed: 200 * day, tolerance: 1e-4 * little}
		across := make([]float64, g.NZ)
		for k := range across {
			across[k] = fluxFor(v)
		}
		u := rises(finished(t, c.flowing(t, physics.Flow{Across: across})).State)
		var out []float64
		for _, p := range at {
			column := make([]float64, g.NX)
			for i := range column {
				line := make([]float64, g.NZ)
				for k := range line {
					line[k] = u[g.Index(i, k)]
				}
				column[i] = along(g.ZC, line, p[1])
				if p[1] == 0 {
					column[i] = atCentre(g.ZC, line)
				}
			}
			out = append(out, along(g.XC, column, p[0])/little)
		}
		return out
	})
	for i, p := range at {
		r := math.Hypot(p[0], p[1])
		got.hold(t, i, fmt.Sprintf("rise at x = %g m, %g m beside a line source in flowing water", p[0], p[1]), "Carslaw & Jaeger 1959 §10.7", math.Exp(p[0])*besselK0(r), "-", 0)
	}
}

// TestFlowIsSecondOrderInSpace: heat carried by water is second order in space where the
// front is smooth, at cell Péclet numbers vΔx/D of 0.1, 1 and 10 on the coarsest of four
// meshes, on equal and on graded cells, and no cell is warmer than the inlet or colder
// than the ground was.
// Source: Ogata & Banks (1961), USGS Professional Paper 411-A (from memory).
func TestFlowIsSecondOrderInSpace(t *testing.T) {
	const length, v = 10.0, 2e-7
	for _, graded := range []bool{false, true} {
		for _, peclet := range []float64{0.1, 1, 10} {
			var errs []float64
			var cells []int
			low, high := 0.0, 0.0
			meshes := []int{40, 80, 160, 320}
			if peclet < 10 {
				meshes = meshes[:3]
			}
			for _, n := range meshes {
				d := v * length / 40 / peclet
				z := equalEdges(length, n)
				if graded {
					for i, x := range z { // cells from 0.55 to 1.45 times the mean
						z[i] = x - 0.45*length/(2*math.Pi)*math.Sin(2*math.Pi*x/length)
					}
				}
				f := 40 / float64(n)
				duration := 0.4 * length / v
				if spread := 2 * math.Sqrt(d*duration); spread > length/4 {
					duration = length * length / (64 * d)
				}
				g, u := inletColumn(t, z, v, d, duration, 4*stepTolerance(f, little))
				sum := 0.0
				for i, got := range u {
					sum += g.Height[i] * math.Abs(got-continuousInlet(g.ZC[i], duration, v, d))
					low, high = math.Min(low, got), math.Max(high, got)
				}
				errs, cells = append(errs, sum/length), append(cells, n)
			}
			t.Logf("Péclet %g, graded %v: %v cells, mean errors %.3g", peclet, graded, cells, errs)
			// Van Albada's mean is that of the slopes before and after, to second order of
			// their difference; where T bends most, at the front's ends, it is less, and the
			// orders come to 2 from both sides. With 10 on the coarsest mesh the front is as
			// wide as three of its cells and eleven of the finest's: the mean of the last two
			// orders is closer than either.
			n := len(errs) - 1
			name := fmt.Sprintf("Péclet %g, graded %v", peclet, graded)
			hold(t, check{"order of flow in space, " + name, "Ogata & Banks 1961", meshOrder(errs[n-2], errs[n], cells[n-2], cells[n]), 2, "", 0.2})
			// What a step may be wrong by, in the coarsest mesh's time steps.
			most := 4 * stepTolerance(1, little) / little
			hold(t, check{"coldest cell above the ground as it was, " + name, "no new extrema", math.Min(0, low), 0, "-", most})
			hold(t, check{"warmest cell above the inlet, " + name, "no new extrema", math.Max(0, high-1), 0, "-", most})
		}
	}
}
