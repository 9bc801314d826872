package physics

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// edges returns n+1 edges from 0 to length whose cells grow by a factor from one to
// the next.
func edges(n int, length, growth float64) []float64 {
	out, h := []float64{0}, 1.0
	for range n {
		out = append(out, out[len(out)-1]+h)
		h *= growth
	}
	for i := range out {
		out[i] *= length / out[n]
	}
	return out
}

// layered is level ground of the given conductivities [W/(m·K)] down to the bottoms [m],
// wet, and boiling if asked.
func layered(t *testing.T, g *mesh.Grid, boiling bool, bottoms, lambda []float64) *Ground {
	t.Helper()
	var soils []*materials.Soil
	for i, l := range lambda {
		soils = append(soils, &materials.Soil{Name: fmt.Sprint("layer ", i+1), Resistivity: 20, ResistivityAt: 298.15, SaturationExponent: 2, ResidualConductivity: 0.05,
			Porosity: 0.4, Saturation: 0.8, DrySaturation: 0.05, ThermalConductivity: l, ThermalConductivityDry: l / 3, HeatCapacity: 2.8e6})
	}
	gr, err := NewGround(g, Site{Ambient: 285.15, AirPressure: 101325, WaterTable: 1, Boiling: boiling}, materials.NewWater(), soils, append(bottoms, math.Inf(1)),
		func(int, float64) WaterSupply { return WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// sampled is a field's values at a grid's nodes.
func sampled(g *mesh.Grid, f func(x, z float64) float64) []float64 {
	out := make([]float64, g.Cells())
	for k, z := range g.ZC {
		for i, x := range g.XC {
			out[g.Index(i, k)] = f(x, z)
		}
	}
	return out
}

// TestReadingIsExactForCubics: in one layer a cubic across times a cubic down is read
// as it is, to the edges. Each rises or falls throughout, so that no bound is met.
// Rounding of some hundred products of numbers up to 1e4: 1e-9.
func TestReadingIsExactForCubics(t *testing.T) {
	g := mesh.NewSection(edges(14, 9, 1.15), edges(12, 7, 1.2), 1)
	gr := layered(t, g, false, nil, []float64{1.5})
	f := func(x, z float64) float64 { return (1 + x + 0.2*x*x + 0.04*x*x*x) * (300 - 9*z - z*z - 0.1*z*z*z) }
	field := sampled(g, f)
	for _, x := range []float64{0, 0.1, 1.7, g.XC[5], g.X[6], 6.3, 9} {
		for _, z := range []float64{0, 0.05, 1.1, g.ZC[4], g.Z[7], 5.2, 7} {
			if got, want := gr.Reading(x, z).Temperature(field), f(x, z); math.Abs(got-want) > 1e-9 {
				t.Errorf("a cubic in x and z reads %.12g at (%.3g, %.3g) m, want %.12g", got, x, z, want)
			}
		}
	}
}

// TestReadingFollowsAKink: a field that is straight in each layer with one flux through
// all of them is read as it is on, beside and between the boundaries, in layers of
// eight cells, of one and of two. Rounding: 1e-11 of temperatures below 1e3.
func TestReadingFollowsAKink(t *testing.T) {
	z := append(edges(8, 3, 1.1), 3.4, 3.6, 4.1)
	for i := range 8 {
		z = append(z, 4.1+0.3*float64(i+1))
	}
	g := mesh.NewSection(edges(9, 5, 1.2), z, 1)
	bottoms, lambda := []float64{3, 3.4, 4.1}, []float64{1.2, 0.3, 2.2, 1.0}
	gr := layered(t, g, false, bottoms, lambda)
	const flux = 40.0 // [W/m²] upwards
	f := func(x, z float64) float64 {
		v, top := 300+3*x, 0.0
		for l, b := range append(bottoms, math.Inf(1)) {
			v += flux / lambda[l] * math.Max(0, math.Min(z, b)-top)
			top = b
		}
		return v
	}
	field := sampled(g, f)
	for _, z := range []float64{0, 0.2, 2.9, 2.999, 3, 3.001, 3.1, 3.2, 3.3, 3.4, 3.45, 3.55, 3.9, 4.1, 4.11, 4.3, 6.5} {
		for _, x := range []float64{0, 2.3, 5} {
			if got, want := gr.Reading(x, z).Temperature(field), f(x, z); math.Abs(got-want) > 1e-11*want {
				t.Errorf("a field of one flux through four layers reads %.14g K at (%g, %g) m, want %.14g K", got, x, z, want)
			}
		}
	}
}

// TestReadingIsOfFourthOrder: a smooth field across a boundary of conductivity three to
// one, with one flux through it, is read to fourth order in the cells, at the surface
// too, where the cubic goes on beyond the nodes; bilinearly to second.
// Of the largest error at 40 × 80 places 3.7 and more is asked from 40 to 80 cells: the
// next term of the error is a cell's share smaller, and the places catch its peak to a
// few per cent.
func TestReadingIsOfFourthOrder(t *testing.T) {
	f := func(x, z float64) float64 {
		v := math.Sin(0.9 * (z - 2)) // λ = 1
		if z > 2 {
			v = 0.9/3*math.Sin(z-2) + 0.4*(math.Cos(z-2)-1) // λ = 3
		}
		return 300 + (20*v+15)*math.Cos(0.7*x)
	}
	read := func(gr *Ground, x, z float64, field []float64) float64 { return gr.Reading(x, z).Temperature(field) }
	for _, c := range []struct {
		name        string
		top, bottom float64
		by          func(gr *Ground, x, z float64, field []float64) float64
		low, high   float64
	}{
		{"between nodes", 0.3, 3.6, read, 3.7, 4.3},
		{"at the surface", 0, 0, read, 3.7, 4.3},
		{"bilinearly", 0.3, 1.6, func(gr *Ground, x, z float64, field []float64) float64 { return gr.Grid.At(field, x, z) }, 1.7, 2.3},
	} {
		var errs []float64
		for _, n := range []int{20, 40, 80} {
			z := edges(n, 2, 1)
			for _, e := range edges(n, 2, math.Pow(1.2, 20/float64(n)))[1:] {
				z = append(z, 2+e)
			}
			g := mesh.NewSection(edges(2*n, 4, 1), z, 1)
			gr := layered(t, g, false, []float64{2}, []float64{1, 3})
			field, worst := sampled(g, f), 0.0
			for i := range 40 {
				for j := range 80 {
					x, z := 0.31+0.0761*float64(i), c.top+(c.bottom-c.top)*float64(j)/79
					worst = math.Max(worst, math.Abs(c.by(gr, x, z, field)-f(x, z)))
				}
			}
			errs = append(errs, worst)
		}
		if got := math.Log2(errs[1] / errs[2]); got < c.low || got > c.high {
			t.Errorf("a smooth field read %s has errors of %.3g K on 20, 40 and 80 cells, order %.2f, want from %g to %g", c.name, errs, got, c.low, c.high)
		}
	}
}

// TestReadingRoundAnAxis: a field even in r, as every smooth one is round an axis, is
// read to fourth order at the axis too; 1 and r² are exact there.
func TestReadingRoundAnAxis(t *testing.T) {
	g := mesh.NewAxisymmetric(edges(12, 3, 1.2), edges(6, 4, 1), 1)
	gr := layered(t, g, false, nil, []float64{1.5})
	f := func(r, z float64) float64 { return 300 + 2*z - 5*r*r }
	field := sampled(g, f)
	for _, r := range []float64{0, 0.01, g.XC[0], g.X[1], 0.1, g.XC[1], 0.3, 1.9} {
		if got, want := gr.Reading(r, 1.3).Temperature(field), f(r, 1.3); math.Abs(got-want) > 1e-10 {
			t.Errorf("300 + 2z − 5r² reads %.12g at r = %.3g m, want %.12g", got, r, want)
		}
	}
}

// TestReadingIsSymmetric: a mirrored field on a mirrored grid reads the same at
// mirrored places, to rounding.
func TestReadingIsSymmetric(t *testing.T) {
	half := edges(9, 5, 1.25)
	var x []float64
	for i := range half {
		x = append(x, 5-half[len(half)-1-i])
	}
	for _, e := range half[1:] {
		x = append(x, 5+e)
	}
	g := mesh.NewSection(x, edges(8, 4, 1.2), 1)
	gr := layered(t, g, false, []float64{1.7}, []float64{1, 2})
	field := sampled(g, func(x, z float64) float64 { return 300 + 30*math.Exp(-math.Abs(x-5))*math.Sin(3*(x-5)*(x-5))*(1+z) })
	for i := range 101 {
		at := 0.05 * float64(i)
		for _, z := range []float64{0, 0.9, 1.7, 2.2, 4} {
			if a, b := gr.Reading(5-at, z).Temperature(field), gr.Reading(5+at, z).Temperature(field); math.Abs(a-b) > 1e-10 {
				t.Errorf("a mirrored field reads %.13g and %.13g at %g m to either side of its middle, depth %g m", a, b, at, z)
			}
		}
	}
}

// TestReadingNeverPassesBoiling: in ground that boils the reading is not above the
// boiling point anywhere, and where it does boil it is the bilinear one; a peak that
// ground below boiling has between nodes is cut there.
func TestReadingNeverPassesBoiling(t *testing.T) {
	site := Site{AirPressure: 101325, WaterTable: 1}
	g := mesh.NewSection(edges(30, 6, 1), edges(24, 6, 1.03), 1)
	gr := layered(t, g, true, []float64{2}, []float64{1, 2})
	for name, f := range map[string]func(x, z float64) float64{
		"a plateau with steep sides": func(x, z float64) float64 { return 800 - 200*math.Abs(x-3) - 100*math.Abs(z-3) },
		"a peak just below it":       func(x, z float64) float64 { return 376 - 20*(x-2.9)*(x-2.9) },
	} {
		field := make([]float64, g.Cells())
		for c, v := range sampled(g, f) {
			field[c] = math.Min(v, gr.Store(c).BoilingPoint)
			if name != "a plateau with steep sides" {
				field[c] = math.Min(v, gr.Store(c).BoilingPoint-0.02)
			}
		}
		for i := range 121 {
			for j := range 121 {
				x, z := 0.05*float64(i), 0.05*float64(j)
				got := gr.Reading(x, z).Temperature(field)
				// The water table's kink lies within a cell: the rows' points are joined straight.
				if most := materials.SaturationTemperature(site.Pressure(z)) + 0.1; got > most {
					t.Errorf("%s reads %.4f K at (%g, %g) m, above the boiling point", name, got, x, z)
				}
				c := g.Index(g.Column(x), g.Row(z))
				if got > math.Max(gr.Grid.At(field, x, z), gr.boilingAt(z, g.Row(z)))+1e-9 {
					t.Errorf("%s reads %.4f K at (%g, %g) m, above both the boiling point of the rows and the bilinear reading", name, got, x, z)
				}
				if field[c] >= gr.Store(c).BoilingPoint && got != g.At(field, x, z) {
					t.Errorf("%s reads %.6f K at (%g, %g) m, in a cell that boils, want the bilinear %.6f K", name, got, x, z, g.At(field, x, z))
				}
			}
		}
	}
}

// TestReadingMakesNoFalsePeak: between nodes of a step, of a front and of a spike the
// reading stays within the nodes' values, which a cubic alone would pass by a sixteenth
// of the step.
func TestReadingMakesNoFalsePeak(t *testing.T) {
	g := mesh.NewSection(edges(20, 10, 1), edges(4, 2, 1), 1)
	gr := layered(t, g, false, nil, []float64{1})
	for name, f := range map[string]func(x float64) float64{
		"a step":  func(x float64) float64 { return 285 + math.Copysign(0.5, x-5.01) },
		"a front": func(x float64) float64 { return 285 + math.Exp(-8*x) },
		"a spike": func(x float64) float64 { return 285 + math.Max(0, 1-2*math.Abs(x-5.25)) },
	} {
		field := sampled(g, func(x, _ float64) float64 { return f(x) })
		low, high := field[0], field[0]
		for _, v := range field {
			low, high = math.Min(low, v), math.Max(high, v)
		}
		for i := range 941 {
			x := 0.3 + 0.01*float64(i)
			if got := gr.Reading(x, 1).Temperature(field); got < low-1e-9 || got > high+1e-9 {
				t.Errorf("%s reads %.6f K at x = %.3g m, want it from %.6f to %.6f K, its nodes'", name, got, x, low, high)
			}
		}
	}
}

// TestReadingBesideAnInsert: through a slab of another conductivity, with one flux
// across, ground and slab are read as they are on both sides of its faces.
func TestReadingBesideAnInsert(t *testing.T) {
	g, gr := bar(t)
	f := func(x float64) float64 {
		const flux = 60.0
		return 300 + flux*(math.Min(x, 0.4)/1.5+math.Max(0, math.Min(x, 0.6)-0.4)/40+math.Max(0, x-0.6)/1.5)
	}
	field := sampled(g, func(x, _ float64) float64 { return f(x) })
	for _, x := range []float64{0, 0.02, 0.31, 0.38, 0.4, 0.41, 0.5, 0.59, 0.6, 0.61, 0.7, 0.97, 1} {
		if got, want := gr.Reading(x, 0.5).Temperature(field), f(x); math.Abs(got-want) > 1e-10 {
			t.Errorf("a bar with a slab in it reads %.13g K at x = %g m, want %.13g K", got, x, want)
		}
	}
}

// TestReadingOutside: beyond the ground the reading is that at the nearest edge.
func TestReadingOutside(t *testing.T) {
	g := mesh.NewSection(edges(8, 4, 1.2), edges(6, 3, 1.1), 1)
	gr := layered(t, g, false, nil, []float64{1})
	field := sampled(g, func(x, z float64) float64 { return 300 + x - 2*z })
	for _, p := range [][4]float64{{-1, 1, 0, 1}, {9, 1, 4, 1}, {2, 5, 2, 3}, {-1, 7, 0, 3}} {
		if got, want := gr.Reading(p[0], p[1]).Temperature(field), 300+p[2]-2*p[3]; math.Abs(got-want) > 1e-10 {
			t.Errorf("the reading at (%g, %g) m is %.12g K, want that at (%g, %g) m, %.12g K", p[0], p[1], got, p[2], p[3], want)
		}
	}
}
