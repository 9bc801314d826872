package physics

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// rained is bare with rain of a capacity W [W/(m²·K)] down to a water table [m], under a slab
// of a thickness [m] that conducts 2 W/(m·K), on ground that was at 0 K.
func rained(duration, thickness, w, table float64, above, below []Slice, b HeatBoundary) *Columns {
	b.Caps = NewCaps(thickness, duration, above, below)
	for _, s := range above {
		b.Caps.Top += s.Thickness
	}
	if b.Air == nil {
		b.Air = func(float64) float64 { return 0 }
	}
	h := NewHeat(mesh.NewPlan([]float64{0, 1}, []float64{0, 1}, thickness), b)
	h.SetAir(0, 0)
	h.Columns.joinRow([]float64{2}, 0)
	h.Columns.carryRain(&Flow{heat: 1, t0: 0})
	h.Columns.Start(make([]float64, h.Columns.Size()), &CapRates{Face: [2][]float64{{0}, {0}}, Drain: []float64{0}, Join: []float64{0}}, 0)
	h.Columns.setRain(Rain{w, table})
	return h.Columns
}

// TestRainUpAColumnIsExact: in a steady state a column under rain, film and cover takes from
// a face that is 50 K warmer than the air, by conduction, what the exponential profile says,
// at a capacity of the rain from a hundredth of what the ground conducts to a hundred times it.
//
// With z down from the surface and R(z) the resistance of the ground above, constant layer
// by layer, T = A + B e^{W R(z)}, and at the surface h (T_air − T_s) + W T_air = W A.
// Source: Bredehoeft & Papadopulos, Water Resour. Res. 1, 325 (1965) (from memory), with R for z/λ.
//
// The scheme is exact; 60 steps over 40 times what diffuses leave rounding, of terms up to W T.
func TestRainUpAColumnIsExact(t *testing.T) {
	layers := []Slice{{2, 1.2, 2e6}, {0.01, 0.1, 1e5}, {0.3, 1.7, 2.1e6}}
	const film, cover, warm = 8.0, 0.4, 50.0
	const last = 40 * 2.3 * 2.3 / 4e-7
	soil := 2/1.2 + 0.01/0.1 + 0.3/1.7
	h := 1 / (cover + 1/film)
	for _, share := range []float64{0.01, 0.3, 1, 5, 100} {
		w := share / soil
		c := rained(last, 1e-9, w, math.Inf(1), layers, []Slice{{1, 2, 2e6}}, HeatBoundary{Film: film, Cover: cover})
		_, r := atRest(c, warm, 0, last)
		// T_s = A + B, T_air = 0: W A = −h (A + B), A + B e^{W R} = 50 K; conducted upward at the
		// face W B e^{WR}.
		b := warm / (math.Exp(w*soil) - h/(w+h))
		want := w * b * math.Exp(w*soil)
		got := r.Face[upper][0] + w*warm
		if !(math.Abs(got-want) <= 1e-7*want) {
			t.Errorf("W R = %g: the face gives %.10g W/m² upward by conduction, want %.10g W/m²", share, got, want)
		}
		// What the surface loses is what the rain has not taken with it: h T_s.
		_, surface, _ := c.Totals()
		if want := h * b * w / (w + h); !(math.Abs(surface-want) <= 1e-7*w*warm) {
			t.Errorf("W R = %g: the surface loses %.10g W/m², want %.10g W/m²", share, surface, want)
		}
	}
}

// TestRainThroughASlabIsExact: a slab heated evenly between layers, in rain that leaves below
// at the end of the ground, has in a steady state the mean temperature of λT″ − W T′ + s = 0
// solved through all layers.
//
// Source: that equation's solution T = A + B e^{Wz/λ} + s z/W in the slab, A + B e^{WR} above
// and T constant below, where no more heat comes; matched at the faces in T and flux. The
// surface's own T_s follows from h (T_air − T_s) + W T_air. By conservation all that is put
// in leaves at the surface and with the water.
func TestRainThroughASlabIsExact(t *testing.T) {
	const lambda, thick, film, air = 2.0, 3.0, 8.0, 3.0
	const last = 400 * 5 * 5 / 4e-7
	for _, w := range []float64{1e-3, 0.02, 0.5, 3} {
		above, below := []Slice{{1.5, 1.2, 2e6}}, []Slice{{0.5, 1, 2e6}}
		c := rained(last, thick, w, math.Inf(1), above, below, HeatBoundary{Film: film, Air: func(float64) float64 { return air }})
		const s = 10.0 // [W/m³]
		// At the slab's bottom T′ = 0: what is put in goes up by conduction, or with the water. So
		// B = −(sλ/W²) e^{−P}, and F = λT′ at its top.
		p := w * thick / lambda
		curve := -s * lambda / (w * w) * math.Exp(-p)
		mean := curve*math.Expm1(p)/p - curve + s*thick/(2*w) // over the top's
		f := -s * lambda / w * math.Expm1(-p)
		// Above: T = A + B e^{WR}, W B e^{WR} = f, and at the surface h (T_air − A − B) + W T_air = W A.
		r := 1.5 / 1.2
		b := f / w * math.Exp(-w*r)
		a := (film*(air-b) + w*air) / (film + w)
		want := a + b*math.Exp(w*r) + mean

		tc, rates := atRest(c, math.NaN(), s*thick, last)
		if !(math.Abs(tc-want) <= 1e-6*(want+s*thick/w)) {
			t.Errorf("W b/λ = %.3g: the slab's mean is %.10g K, want %.10g K", p, tc, want)
		}
		_, surface, _ := c.Totals()
		in, out := c.Rained(&rates)
		if missing := s*thick + in - surface - out; !(math.Abs(missing) <= 1e-7*(s*thick+in)) {
			t.Errorf("W b/λ = %.3g: of %g + %g W/m² %g leave at the surface and %g with the water", p, s*thick, in, surface, out)
		}
	}
}

// atRest returns the temperature of a slab that is held at one [K] or, that being NaN, heated by
// q [W/m²], and its rates, after implicit steps over a duration [s] from 0 K.
func atRest(c *Columns, held, q, duration float64) (float64, CapRates) {
	now, next := make([]float64, c.Size()), make([]float64, c.Size())
	r0, r1 := c.NewRates(), c.NewRates()
	rain := c.rain.Rain
	c.Start(now, &r0, 0)
	c.setRain(rain)
	tc, before := []float64{0}, 0.0
	c.Rerain([]float64{0}, now, tc, &r0)
	h := duration / 60
	for range 60 {
		c.Factor(&r1, h)
		copy(next, now) // blended with itself: T* = T
		c.KnownRows(next, now, &r0, 1, 0, 1)
		c.OutsideRows(next, &r1, 0, 1)
		a, b := &c.sides[upper], &c.sides[lower]
		const store = 2e6 * 3
		if tc[0] = held; math.IsNaN(held) {
			tc[0] = (store/h*before + q + a.conductance[0]*a.outside[0] + b.conductance[0]*b.outside[0]) / (store/h + a.conductance[0] + b.conductance[0])
		}
		before = tc[0]
		c.CloseRows(next, &r1, tc, 0, 0, 1)
		now, next, r0, r1 = next, now, r1, r0
	}
	return tc[0], r0
}

// TestRainCrossesWhatLiesAboveTheTable: rain leaves at the temperature of the last node whose
// middle is not below the table, or at the slab's lower face, and where the table lies above
// all of it, it brings and takes nothing. By definition.
func TestRainCrossesWhatLiesAboveTheTable(t *testing.T) {
	above, below := []Slice{{1, 1.2, 2e6}}, []Slice{{2, 1, 2e6}}
	const w, air = 2.0, 5.0
	for _, x := range []struct {
		table           float64
		enters, crosses bool
	}{{0, false, false}, {0.5, true, false}, {2.4, true, false}, {2.6, true, true}, {4.001, true, true}, {5, true, true}, {math.Inf(1), true, true}} {
		c := rained(10*testDay, 3, w, x.table, above, below, HeatBoundary{Film: 10, Air: func(float64) float64 { return air }})
		now, r := make([]float64, c.Size()), c.NewRates()
		rain := c.rain.Rain
		c.Start(now, &r, 0)
		c.setRain(rain)
		for j := range now {
			now[j] = 10 + float64(j)
		}
		cells, change := []float64{40}, []float64{0}
		c.Rerain(change, now, cells, &r)
		in, out := c.Rained(&r)
		if want := map[bool]float64{true: w * air}[x.enters]; in != want {
			t.Errorf("table at %g m: rain brings %g W, want %g W", x.table, in, want)
		}
		want := 0.0
		switch up, down := c.Profile(now, 0, 0); {
		case !x.enters:
		case !x.crosses:
			z := c.top
			for j, dz := range c.sides[upper].size {
				if z -= dz / 2; z <= x.table {
					want = w * up[j]
					break
				}
				z -= dz / 2
			}
		case x.table < c.top+c.thickness+c.sides[lower].size[0]/2:
			want = r.Drain[0]
		default:
			z := c.top + c.thickness
			for j, dz := range c.sides[lower].size {
				if z += dz / 2; z > x.table {
					break
				}
				want = w * down[j]
				z += dz / 2
			}
		}
		if math.Abs(out-want) > 1e-12*math.Abs(want) {
			t.Errorf("table at %g m: rain takes %.15g W, want %.15g W", x.table, out, want)
		}
		through, gone := c.RainedThrough(mesh.Zone{I1: 1, K1: 1})
		if (through != 0) != x.crosses || (gone != 0) != x.crosses {
			t.Errorf("table at %g m: rain carries %g and %g W through the slab's faces, want some: %v", x.table, through, gone, x.crosses)
		}
	}
}

// TestSlabShapeTendsToTheParabola: m and n are 1/6 and 1/2 without rain, those of a parabola,
// and go from their series to their closed forms without a jump. The series' next term is
// P⁴/30240, the closed form loses 1e-16/P² to rounding.
func TestSlabShapeTendsToTheParabola(t *testing.T) {
	if m, n := slabShape(0); m != 1./6 || n != 0.5 {
		t.Errorf("without rain m = %g and n = %g, want 1/6 and 1/2", m, n)
	}
	m0, n0 := slabShape(0.05 * (1 - 1e-13))
	m1, n1 := slabShape(0.05)
	if math.Abs(m1-m0) > 1e-9 || math.Abs(n1-n0) > 1e-9 {
		t.Errorf("m goes from %.12g to %.12g and n from %.12g to %.12g", m0, m1, n0, n1)
	}
	for _, p := range []float64{10, 600, 1e5} {
		if m, n := slabShape(p); math.Abs(m*p*p-1) > 0.01 || math.Abs(n*p-1) > 0.01 {
			t.Errorf("P = %g: m = %g and n = %g, want 1/P² and 1/P", p, m, n)
		}
	}
}

// TestStrongestRainStaysFinite: the rain of 40 in/d through layers that hardly conduct, and a
// slab without ground above or below, gives finite temperatures between those of air and
// face. By monotone exchanges.
func TestStrongestRainStaysFinite(t *testing.T) {
	w := 40 * 0.0254 / 86400 * materials.RhoWater * 4190
	sheet := []Slice{{0.5, 0.01, 1e5}, {1, 20, 3e6}}
	for _, x := range []struct {
		above, below []Slice
		held         bool
	}{{sheet, sheet, false}, {sheet, sheet, true}, {nil, nil, false}, {nil, nil, true}, {sheet, nil, true}, {nil, sheet, false}} {
		c := rained(30*testDay, 3, w, math.Inf(1), x.above, x.below, HeatBoundary{Film: 12, Below: Held{x.held, 0}, Air: func(float64) float64 { return 20 }})
		tc, _ := atRest(c, math.NaN(), 0, 30*testDay)
		if !(tc > -1e-9 && tc < 20+1e-6) {
			t.Errorf("%v: the slab is at %g K, want between 0 and 20 K", x, tc)
		}
	}
}
