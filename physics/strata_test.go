package physics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// The modified Bessel functions have the values of tables, and the two kinds keep their
// Wronskian x(I₀K₁ + I₁K₀) = 1.
// Source: Abramowitz & Stegun (1964), tables 9.8 and 9.11 (from memory). Tolerance: 2e-7,
// what the polynomials beyond 2 are good to.
func TestModifiedBesselFunctions(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func(float64) float64
		x    float64
		want float64
	}{
		{"I0", besselI0, 1, 1.2660658778}, {"I0", besselI0, 5, 27.239871824}, {"I1", besselI1, 1, 0.5651591040},
		{"K0", besselK0, 0.1, 2.4270690247}, {"K0", besselK0, 1, 0.4210244382}, {"K0", besselK0, 3, 0.03473950439},
		{"K1", besselK1, 1, 0.6019072302}, {"K1", besselK1, 3, 0.04015643113},
	} {
		if got := c.f(c.x); math.Abs(got/c.want-1) > 2e-7 {
			t.Errorf("%s(%g) = %.10g, want %.10g", c.name, c.x, got, c.want)
		}
	}
	for x := 1e-6; x < 200; x *= 1.3 {
		if w := x * (besselI0(x)*besselK1(x) + besselI1(x)*besselK0(x)); math.Abs(w-1) > 4e-7 {
			t.Errorf("x(I₀K₁ + I₁K₀) at %g is %.9f, want 1", x, w)
		}
	}
}

// Means over rings are those of points, for rings wide and narrow, with a hole and without,
// and pass from the logarithm to the closed form without a step.
// Source: the mean by Gauss's rule over both radii, cut at r = r′, where K₀(κ|r − r′|)
// averaged over the angle has a kink. Tolerance: 2e-6 of the mean: (κb)² is left out
// of the logarithm, up to κb = 1e-3.
func TestRingMeans(t *testing.T) {
	for _, c := range [][2]float64{{0, 0.15}, {0.07, 0.1}, {0.14, 0.15}, {0.15, 0.15}} {
		a, b := c[0], c[1]
		last := 0.0                                        // κb times the mean of K₀ among themselves
		for _, kb := range []float64{599, 601, 800, 1e4} { // no number holds I₀ of more than 713
			small, large, own := ringMeans(kb/b, a, b, 1)
			if !(small > 0 && large >= 0 && own > 0) || math.IsInf(small, 0) || own > 0.51/kb {
				t.Errorf("ring of %g to %g m, κb = %g: means of I₀ %g, of K₀ %g, among themselves %g", a, b, kb, small, large, own)
			}
			if kb == 601 && math.Abs(own*kb/last-1) > 0.02 {
				t.Errorf("ring of %g to %g m: K₀ among themselves goes from %g to %g where κb passes 600", a, b, last/599, own)
			}
			last = own * kb
		}
		for _, kb := range []float64{1e-5, 0.9e-3, 1.1e-3, 0.03, 1, 7, 50} {
			kappa := kb / b
			over := func(lo, hi float64, f func(r float64) float64) float64 { // ∫ r f dr, crowded at lo
				return quad.Fixed(func(x float64) float64 {
					r := lo + (hi-lo)*x*x*x
					return r * f(r) * (hi - lo) * 3 * x * x
				}, 0, 1, 60, quad.Legendre{}, 0)
			}
			area := (b*b - a*a) / 2
			mean := func(f func(r float64) float64) float64 {
				if a == b {
					return f(b)
				}
				return over(a, b, f) / area
			}
			i0 := func(r float64) float64 { return besselI0(kappa * r) }
			k0 := func(r float64) float64 { return besselK0(kappa * r) }
			own := mean(func(r float64) float64 {
				if a == b {
					return i0(b) * k0(b)
				}
				return (k0(r)*over(a, r, i0) + i0(r)*over(r, b, k0)) / area
			})
			small, large, self := ringMeans(kappa, a, b, 1)
			for _, v := range []struct {
				name      string
				got, want float64
			}{{"I₀", small, mean(i0)}, {"K₀", large, mean(k0)}, {"K₀ among themselves", self, own}} {
				if math.Abs(v.got/v.want-1) > 2e-6 {
					t.Errorf("ring of %g to %g m, κb = %g: mean of %s %.9g, by points %.9g", a, b, kb, v.name, v.got, v.want)
				}
			}
		}
	}
}

// A liner a millimetre thick, alike or not, leaves currents and what passes the planes of the
// ends finite, and one that conducts as the ground about it leaves them as they are.
// Source: linearity, as TestStrataThatAreAlike. Tolerance 1e-3 for what the levels of a liner
// move.
func TestThinLiners(t *testing.T) {
	rods, phase := []Rod{{0, 0, 0.22}, {1.5, 4.2, 0.15}}, []complex128{1, -1}
	pass := func(strata []Stratum) (up, down float64) {
		s, err := newStrata(rods, phase, strata, 6, 1)
		if err != nil {
			t.Fatal(err)
		}
		current, err := lineCurrents(s.matrix(), phase)
		if err != nil {
			t.Fatal(err)
		}
		power := s.passing(current)
		return power[s.modes.wall[0]], power[s.modes.wall[1]]
	}
	up, down := pass([]Stratum{{2, 1}, {math.Inf(1), 1}})
	for _, liner := range []float64{1, 1e-9, 1e9} {
		u, d := pass([]Stratum{{2, 1}, {2.001, liner}, {math.Inf(1), 1}})
		if !(u > 0 && d > 0) || math.IsInf(u, 0) || math.IsInf(d, 0) {
			t.Errorf("with a liner of %g S/m %g W go up and %g W down", liner, u, d)
		}
		if liner == 1 && (math.Abs(u/up-1) > 1e-3 || math.Abs(d/down-1) > 1e-3) {
			t.Errorf("with a liner as the ground %g W go up and %g W down, %g and %g without", u, d, up, down)
		}
	}
}

// Layers that are all alike are even ground, a boundary far below the rods is none, and
// what stands in ground twice as good draws twice the current.
// Source: linearity. Tolerance: 1e-9, rounding of the modes, where the levels are the same;
// 1e-3 where a boundary moves them, a quarter of what they are good to.
func TestStrataThatAreAlike(t *testing.T) {
	rods, phase, middle := twoRows(4.267, 3.7)
	current := func(s ...Stratum) float64 {
		i, err := FiniteCurrents(rods, phase, s, 2, 4)
		if err != nil {
			t.Fatal(err)
		}
		return real(i[middle])
	}
	inf := math.Inf(1)
	even := current(Stratum{inf, 1})
	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		{"three layers alike", current(Stratum{1, 1}, Stratum{4.1, 1}, Stratum{inf, 1}), even, 1e-3},
		{"twice as good", current(Stratum{inf, 2}), 2 * even, 1e-9},
		{"another layer 60 spacings down", current(Stratum{250, 1}, Stratum{inf, 9}), even, 1e-3},
		{"a layer of no height", current(Stratum{3, 1}, Stratum{3, 50}, Stratum{inf, 1}), current(Stratum{3, 1}, Stratum{inf, 1}), 1e-9},
	} {
		if math.Abs(c.got/c.want-1) > c.tol {
			t.Errorf("%s: %.10g A, want %.10g", c.name, c.got, c.want)
		}
	}
}

// Levels meet the edges asked for, are as fine as asked at the marks, and nowhere higher
// than a growth of endGrowth allows.
func TestLevels(t *testing.T) {
	forced, marks := []float64{0, 1.5, 2, 6, 6.01, 300}, []float64{2, 6}
	e := levels(forced, marks, 0.01, 2, 6, 0.25)
	at := 0
	for i := range len(e) - 1 {
		for at < len(forced) && forced[at] < e[i]+1e-12 {
			if forced[at] < e[i]-1e-12 {
				t.Fatalf("no level begins at %g m", forced[at])
			}
			at++
		}
		h, near := e[i+1]-e[i], math.Inf(1)
		for _, m := range marks {
			near = min(near, math.Abs(e[i]-m), math.Abs(e[i+1]-m))
		}
		if limit := 1.2 * (0.01 + 0.3*(near+h/2)); !(h > 0 && h <= limit) {
			t.Errorf("level %g to %g m is %g m high, want at most %g m", e[i], e[i+1], h, limit)
		}
		if e[i] >= 2 && e[i+1] <= 6 && h > 0.26 {
			t.Errorf("level %g to %g m along the rods is %g m high, want at most 0.25 m", e[i], e[i+1], h)
		}
	}
}

func BenchmarkStrata(b *testing.B) {
	var rods []Rod
	for _, o := range triangle(4.2672, 0.1524, 8) {
		rods = append(rods, *o.Rod)
	}
	b.ReportMetric(float64(len(rods)), "rods")
	for b.Loop() {
		if _, err := newStrata(rods, every(len(rods), 3), []Stratum{{1.5, 0.1}, {6, 0.3}, {math.Inf(1), 1}}, 2, 4); err != nil {
			b.Fatal(err)
		}
	}
}

// What passes the planes of two rods' ends and what heats the ground between these planes
// is all their power, in even ground, in layers, and where the rods end on better ground;
// in even ground far below the surface as much goes up as down, and where what lies above
// lets nothing through, nothing goes up.
// Source: conservation of energy, the heat between the planes summed from the field itself,
// round one rod, outside its wall and on its side of the mirror plane. Tolerance 2 %: the
// levels of the ends and the two tables, 0.5 % each, 180 × 300 places, 0.3 %.
func TestPowerPastRodsEnds(t *testing.T) {
	const d, a, length = 4.0, 0.15, 3.0
	rods := []Rod{{0, 0, a}, {d, 0, a}}
	phase := []complex128{-1, 1}
	endless, err := EndlessCurrents(rods, phase)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		strata []Stratum
		top    float64
	}{
		{"even ground", []Stratum{{math.Inf(1), 1}}, 200},
		{"near the surface", []Stratum{{math.Inf(1), 1}}, 0.5},
		{"five times better beyond", []Stratum{{2, 5}, {5, 1}, {math.Inf(1), 5}}, 2},
		{"layers across", []Stratum{{1, 0.2}, {3, 1}, {4.4, 0.3}, {math.Inf(1), 2}}, 2},
		{"nothing above", []Stratum{{2, 1e-9}, {math.Inf(1), 1}}, 2},
	} {
		s, err := newStrata(rods, phase, c.strata, c.top, length)
		if err != nil {
			t.Fatal(err)
		}
		current, err := lineCurrents(s.matrix(), phase)
		if err != nil {
			t.Fatal(err)
		}
		whole := 2 * real(current[1])
		power := s.passing(current)
		up, down := power[s.modes.wall[0]], power[s.modes.wall[1]]
		field := s.newDensity(current, endless)
		field.table(300 * d)
		within := 0.0
		const turns, steps = 180, 300
		grow := math.Log(300*d/a) / steps
		for n := range steps {
			r := a * math.Exp((float64(n)+0.5)*grow)
			for m := range turns {
				sin, cos := math.Sincos(2 * math.Pi * (float64(m) + 0.5) / turns)
				x, y := d+r*cos, r*sin
				if x < d/2 {
					continue
				}
				e := complex(x/(x*x+y*y), y/(x*x+y*y))*endless[0] + complex(cos/r, sin/r)*endless[1]
				within += 2 * field.ratio(x, y) * length * squared(e) / (4 * math.Pi * math.Pi) * r * r * grow * 2 * math.Pi / turns
			}
		}
		t.Logf("%s: of %.4g W %.4g go up, %.4g down, %.4g heat the slab: %+.2f %%", c.name, whole, up, down, within, 100*((up+down+within)/whole-1))
		if math.Abs((up+down+within)/whole-1) > 0.02 {
			t.Errorf("%s: of %.5g W %.5g go up, %.5g down and %.5g heat the slab", c.name, whole, up, down, within)
		}
		if c.top == 200 && math.Abs(up/down-1) > 1e-3 {
			t.Errorf("%.6g W go up and %.6g W down", up, down)
		}
		if c.name == "nothing above" && up > 1e-6*down {
			t.Errorf("%.6g W go up into ground that does not conduct, %.6g W down", up, down)
		}
	}
}
