package hand

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/physics"
)

// TestRingDrawsWhatItsLineCurrentsDo: six electrodes on a ring, six phases or three,
// draw what the potentials of their line currents add up to.
// Source: superposition of line currents, summed here; analytic_values.csv A20, by a
// matrix of thin electrodes, for six phases.
func TestRingDrawsWhatItsLineCurrentsDo(t *testing.T) {
	for _, c := range []struct{ radius, a float64 }{{2.5, 0.15}, {5, 0.15}, {4.572, 0.1524}, {0.4, 0.01}} {
		for _, phases := range []int{3, 6} {
			sum := -math.Log(c.a)
			for k := 1; k < 6; k++ {
				apart := 2 * c.radius * math.Sin(math.Pi*float64(k)/6)
				sum -= math.Log(apart) * math.Cos(2*math.Pi*float64(k)/float64(phases))
			}
			want := sum / (2 * math.Pi)
			// Rounding of some ten logarithms of order one.
			near(t, fmt.Sprintf("Ring(%g, %g, %d)", c.radius, c.a, phases), Ring(c.radius, c.a, phases), want, 1e-14)
			closed := math.Log(map[int]float64{6: 2 * math.Sqrt(3), 3: math.Sqrt(3) / 2}[phases]*c.radius/c.a) / (2 * math.Pi)
			near(t, fmt.Sprintf("Ring(%g, %g, %d) in closed form", c.radius, c.a, phases), Ring(c.radius, c.a, phases), closed, 1e-14)
		}
	}
	for _, radius := range []float64{2.5, 5} {
		want := analytic(t, "A20", fmt.Sprintf("6 line electrodes on a ring of radius %g m, radius 0.15 m, 6-phase: total power per length / (sigma V_ph^2)", radius))
		near(t, "power of the ring per length, σ and V²", 6/Ring(radius, 0.15, 6), want, tenDigits(want))
	}
	if !math.IsNaN(Ring(2.5, 0.15, 1)) {
		t.Error("Ring of one phase must be NaN")
	}
}

// TestRingAgreesWithOwnArithmetic: the 30 ft ring of 6 in electrodes in 30 Ω·m draws
// 4.51 A/m per 100 V, 22 A on 16 ft, and its mean power by diameter is as worked out.
// Source: own arithmetic, for 20, 25, 30, 35, 40 ft 122.8, 74.7, 49.8, 35.4, 26.4 W/m³ per
// (100 V)² and for three phases at 30 ft 71.0, 43 % more; half a unit of the last digit.
func TestRingAgreesWithOwnArithmetic(t *testing.T) {
	const a, rho, volt = 0.5 * foot, 30.0, 100.0
	mean := func(diameter float64, phases int) float64 {
		radius := diameter * foot / 2
		return 6 * volt * volt / (rho * Ring(radius, a, phases)) / RingArea(radius)
	}
	near(t, "current per metre [A/m]", volt/(rho*Ring(15*foot, a, 6)), 4.51, 0.005)
	near(t, "current on 16 ft [A]", volt/(rho*Ring(15*foot, a, 6))*16*foot, 22, 0.5)
	for i, want := range []float64{122.8, 74.7, 49.8, 35.4, 26.4} {
		near(t, fmt.Sprintf("mean power at %d ft [W/m³]", 20+5*i), mean(float64(20+5*i), 6), want, 0.05)
	}
	near(t, "mean power of three phases [W/m³]", mean(30, 3), 71.0, 0.05)
	near(t, "three phases over six", mean(30, 3)/mean(30, 6), 1.43, 0.005)
}

// TestTriangularFactor: the factor c of a triangular three-phase grid is what the
// potentials of the lattice's line currents add up to, and 2√3π/Γ(1/3)³; the row formula
// of a section gives it too.
// Source: the lattice sum Σ −ln r · cos(phase), here with a smooth cut-off; the Γ form
// was found from the product, so it holds the digits of either against the other.
func TestTriangularFactor(t *testing.T) {
	c := TriangularFactor()
	// Rounding of thirty terms.
	near(t, "TriangularFactor", c, 2*math.Sqrt(3)*math.Pi/math.Pow(math.Gamma(1.0/3), 3), 1e-14)
	near(t, "TriangularFactor against trade arithmetic", c, 0.566, 0.0005)

	// ln c = −Σ' cos(phase) ln r · e^(−(r/R)⁴). What the cut-off changes is smooth but for
	// r⁴ ln r/R⁴ at the origin, so the error falls as R⁻⁴: 16 times from R to 2R.
	lattice := func(reach float64) float64 {
		n, sum := int(3*reach), 0.0
		for i := -n; i <= n; i++ {
			for j := -n; j <= n; j++ {
				x, y := float64(i)+float64(j)/2, float64(j)*math.Sqrt(3)/2
				if r := math.Hypot(x, y); r > 0 {
					// Electrode (i, j) is of phase (i − j) mod 3: no nearest neighbour shares it.
					sum += math.Log(r) * math.Cos(2*math.Pi*float64(i-j)/3) * math.Exp(-math.Pow(r/reach, 4))
				}
			}
		}
		return math.Exp(-sum)
	}
	e1, e2 := lattice(6)-c, lattice(12)-c
	if ratio := e1 / e2; !(ratio > 12 && ratio < 20) {
		t.Errorf("the lattice sum nears TriangularFactor with errors %.3g and %.3g at reach 6 and 12, want a ratio of 16 ± 4", e1, e2)
	}
	near(t, "TriangularFactor against the lattice sum", c, lattice(12)-(lattice(6)-lattice(12))/15, 1e-6)

	const s, a = 4.2672, 0.1524
	// Sixty rows of harmonics: e^(−2π·60·d/s_row) is far below rounding.
	near(t, "Triangular against the rows of a section", Triangular(s, a), physics.RowsImpedance(s/2, s*math.Sqrt(3), a, true, 3), 1e-12)
	near(t, "Triangular", Triangular(s, a), math.Log(0.566*s/a)/(2*math.Pi), 0.0005/0.566/(2*math.Pi))
}

// TestAlternatingRows: the short formula of alternating rows is off the sum over all
// rows by what the nearest rows' harmonics add, and gives the worked row cluster.
// Source: physics.RowsImpedance, held to a lattice of line currents in its own test; own
// arithmetic: a cluster of 7 rows of 21 gave 6.87 A/m against 6.83 by formula, 0.6 %.
func TestAlternatingRows(t *testing.T) {
	for _, c := range []struct{ d, s, a float64 }{{4.2672, 4.2672, 0.1524}, {3.6881, 4.2672, 0.1524}, {10, 5, 0.1}} {
		got, want := Alternating(c.d, c.s, c.a), physics.RowsImpedance(c.d, c.s, c.a, false, 1)
		q := math.Exp(-2 * math.Pi * c.d / c.s)
		// The nearest rows add −ln(1 − q)/π by phase −1; the next are q smaller.
		near(t, fmt.Sprintf("Alternating(%g, %g, %g)", c.d, c.s, c.a), got, want-math.Log1p(-q)/math.Pi, 2*q*q)
	}
}

// TestRods: the resistance of a rod from the surface, and buried.
// Source: electrical.csv, rows rod: worked by formula to seven digits; by quadrature of
// the mean potential; a deep cylinder; a fine solution of 4.111, 8.901 and 16.139 A per V and
// S/m from the surface to 1.83, 5.5 and 12 m, a = 0.1524 m.
func TestRods(t *testing.T) {
	worked := map[string]float64{}
	for _, r := range referenceTable(t, "electrical.csv") {
		if r[0] == "rod" && (strings.HasPrefix(r[1], "worked") || strings.HasPrefix(r[1], "check")) {
			worked[r[1]+" "+strings.TrimSpace(r[4])] = num(t, r[2])
		}
	}
	want := func(key string) float64 {
		v, ok := worked[key]
		if !ok {
			t.Fatalf("electrical.csv has no row %q", key)
		}
		return v
	}
	for key, got := range map[string]float64{
		"worked: R rho=100 ohm m, L=3.0 m, a=0.008 m":   SurfaceRod(100, 3, 0.008),
		"worked: R rho=10 ohm m, L=3.048 m, a=0.0127 m": SurfaceRod(10, 3.048, 0.0127),
		"worked: R rho=50 ohm m, L=10 m, a=0.15 m":      SurfaceRod(50, 10, 0.15),
		"worked: deep cylinder rho=50, L=6, a=0.15":     SurfaceRod(50, 3, 0.15) / 2, // two halves side by side
	} {
		near(t, key, got, want(key), 0.5e-6+1e-12)
	}
	for key, c := range map[string]struct{ rho, l, a float64 }{
		"check: R by mean potential of a uniform line current (exact integral) rho=100, L=3.0, a=0.008": {100, 3, 0.008},
		"check: R by mean potential of a uniform line current (exact integral) rho=50, L=10, a=0.15":    {50, 10, 0.15},
	} {
		near(t, key, BuriedRod(c.rho, 0, c.l, c.a), want(key), 0.5e-6+1e-12)
		near(t, "BuriedRod from the surface over SurfaceRod", BuriedRod(c.rho, 0, c.l, c.a)/SurfaceRod(c.rho, c.l, c.a), 1, c.a/c.l)
	}
	// Far below the surface the image adds ρ over 4π times its distance 2z; the second
	// order of L/2z is 1e-6 of that, the rounding of differences of 2000 ln 2000 more.
	image := 50 / (4 * math.Pi * 2006)
	near(t, "BuriedRod far down", BuriedRod(50, 1000, 1006, 0.15), (SurfaceRod(50, 3, 0.15)/2)+50/(2*math.Pi*6)*0.15/6+image, 1e-3*image+50/(2*math.Pi*6)*0.15*0.15/36)
	for _, c := range []struct{ l, fine float64 }{{1.83, 4.111}, {5.5, 8.901}, {12, 16.139}} {
		low := 1 - 1/SurfaceRod(1, c.l, 0.1524)/c.fine
		if low < 0.0165 || low > 0.0265 {
			t.Errorf("SurfaceRod of %g m draws %.2f %% less than the fine solution, want 1.7 to 2.6 %%", c.l, 100*low)
		}
	}
}
