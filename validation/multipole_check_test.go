//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/physics"
)

// ringOf returns six cylinders of radius a on a circle of radius r, of six phases or of
// three, with a neutral in the middle if asked.
func ringOf(r, a float64, phases int, neutral bool) []cylinder {
	var out []cylinder
	for i := range 6 {
		sin, cos := math.Sincos(math.Pi / 3 * float64(i))
		out = append(out, cylinder{x: r * cos, y: r * sin, a: a, v: physics.Phasor(phases, string(rune('A'+i%phases)))})
	}
	if neutral {
		out = append(out, cylinder{a: a})
	}
	return out
}

// pairOf returns two cylinders d apart at ±1 V, on a line at an angle to x.
func pairOf(d, a, angle float64) []cylinder {
	sin, cos := math.Sincos(angle)
	return []cylinder{{x: -d / 2 * cos, y: -d / 2 * sin, a: a, v: 1}, {x: d / 2 * cos, y: d / 2 * sin, a: a, v: -1}}
}

// triangleOf returns the cylinders of a triangular three-phase lattice of spacing s within
// radius spacings.
func triangleOf(s, a, radius float64) []cylinder {
	var out []cylinder
	n := int(radius) + 1
	for j := -n; j <= n; j++ {
		for i := -2 * n; i <= 2*n; i++ {
			x, y := float64(i)+float64(j)/2, float64(j)*math.Sqrt(3)/2
			if math.Hypot(x, y) < radius+0.01 {
				out = append(out, cylinder{x: x * s, y: y * s, a: a, v: physics.Phasor(3, string(rune('A'+((i-j)%3+3)%3)))})
			}
		}
	}
	return out
}

func fieldOf(t *testing.T, order int, rods []cylinder) *multipoles {
	t.Helper()
	p := &multipoles{rods: append([]cylinder(nil), rods...), order: order}
	p.solve(t)
	return p
}

// TestMultipolesOfTwoCylinders: the multipole method gives the current between two
// cylinders.
// Source: 2πσ/acosh(D/2a) at ±1 V, bipolar coordinates (Smythe, Static and Dynamic
// Electricity, from memory). Tolerance: the series of the neighbour converges as
// (a/(D−a))^m; with twelve terms 2e-9 at D = 6a and less beyond, and 1e-5 at D = 3.5a.
func TestMultipolesOfTwoCylinders(t *testing.T) {
	for _, c := range []struct{ d, tol float64 }{{3.5, 1e-5}, {6, 1e-8}, {10, 1e-10}, {28, 1e-10}} {
		want := math.Pi / math.Acosh(c.d/2) * 2
		got := real(fieldOf(t, 12, pairOf(c.d, 1, 0.3)).current(0))
		hold(t, check{fmt.Sprintf("current between two cylinders %g radii apart, multipoles", c.d), "2πσ/acosh(D/2a)", got, want, "A/m", c.tol * want})
	}
}

// TestMultipolesConverge: currents of rings and of a lattice change by less than 1e-6 from
// five to ten multipoles at spacings of ten radii.
// Source: refinement; the next term of a neighbour's series is (1/9)^6 = 2e-6 of its field,
// of which the sixth multipole makes a change in current smaller by as much again.
func TestMultipolesConverge(t *testing.T) {
	for name, rods := range map[string][]cylinder{"ring, six phases": ringOf(10, 1, 6, true), "ring, three phases": ringOf(10, 1, 3, false), "lattice": triangleOf(10, 1, 2)} {
		coarse, fine := fieldOf(t, 5, rods), fieldOf(t, 10, rods)
		var sum complex128
		for j := range rods {
			sum += fine.current(j)
			if e := cmplx.Abs(coarse.current(j) - fine.current(j)); e > 1e-6*cmplx.Abs(fine.current(0)) {
				t.Errorf("%s, rod %d: five multipoles differ by %.2g A/m", name, j, e)
			}
		}
		if cmplx.Abs(sum) > 1e-12*cmplx.Abs(fine.current(0)) {
			t.Errorf("%s: currents sum to %g", name, sum)
		}
	}
}

// TestMultipolesInAField: a cylinder that nothing feeds has twice the field at its flanks,
// and stands at the potential of the field at its axis; two of them far apart act on each
// other as dipoles: along the line between them the field at one rises by 2a²/D² of itself
// by the other's moment, less across.
// Source: Jackson, Classical Electrodynamics, §2 (conducting cylinder in a uniform field,
// from memory); the dipole's field E a²·(2 cos²θ − 1)/D² (own derivation). Tolerance of the
// pair (a/D)³, which the next order has: D = 20 a.
func TestMultipolesInAField(t *testing.T) {
	one := multipoles{rods: []cylinder{{x: 3, y: 1, a: 0.5, floating: true}}, field: [2]float64{2, 0}, order: 3}
	one.solve(t)
	dx, dy := one.at(3.5, 1)
	hold(t, check{"field at the flank of a floating cylinder over the field far away", "2", cmplx.Abs(dx) / 2, 2, "-", 1e-10})
	hold(t, check{"field along the wall there", "0", cmplx.Abs(dy), 0, "V/m", 1e-10})
	hold(t, check{"potential of the floating cylinder", "−E·x at its axis", real(one.rods[0].v), -6, "V", 1e-10})

	const d = 20.0
	pair := multipoles{rods: []cylinder{{x: 0, a: 1, floating: true}, {x: d, a: 1, floating: true}}, field: [2]float64{1, 0}, order: 6}
	pair.solve(t)
	moment := real(pair.u[1]) // of (a/r) cos θ: a·E
	hold(t, check{"dipole of one of two floating cylinders in line with the field", "1 + (a/D)²", moment, 1 + 1/(d*d), "E·a", 1 / (d * d * d)})
}

// TestRingOfSix: what the multipoles say of a ring of six is what superposed line currents
// say: the voltage of a phase, half of the power outside the circle, the density in the
// middle.
// Source: own derivations. Line currents I_k = I e^(−iπk/3) on the corners of a hexagon of
// radius R: the potential at rod 0 is −ρI/(2πL)·Σ cos(πk/3) ln r_k, with r_0 = a, two
// neighbours at R, two at √3R and one at 2R: −[ln a + ln R − ln √3R − ln 2R], so
// V = ρI ln(2√3 R/a)/(2πL). Inversion in the circle, z → R²/z̄, takes the lines to themselves
// and inside to outside, and leaves Dirichlet's integral as it is: half of the power is
// outside. In the middle Σ I_k e_k/(2πσLR) has the components 3I and −3iI, so
// σ|E|² = 18I²/(4π²σL²R²), and the power 6VI over πR²L is 6I² ln(…)/(2π²σL²R²): the ratio is
// 3/(2 ln(2√3R/a)). Three phases on the same six: opposite rods are at one potential, and
// nothing flows in the middle.
// Tolerance: cylinders differ from lines by the dipoles that they bear in each other's
// field, 2πa²·I/(2πR) times a number of order one, whose own field in a ring is (a/R)² of
// that of the lines for each: 3·(a/R)² of the current, of the density and of the half, 0.33 %.
func TestRingOfSix(t *testing.T) {
	const a, r = 0.1524, 30 * 0.1524
	ring := fieldOf(t, 8, ringOf(r, a, 6, false))
	log := math.Log(2 * math.Sqrt(3) * r / a)
	const tol = 3 * a * a / (r * r)
	hold(t, check{"phase voltage over current of a ring of six", "ln(2√3 R/a)/(2πσL), own derivation", 1 / cmplx.Abs(ring.current(0)), log / (2 * math.Pi), "Ω·S", tol * log / (2 * math.Pi)})

	density := ring.density(0, 0)
	mean := ring.power() / (math.Pi * r * r)
	hold(t, check{"power density in the middle of a ring of six over the mean of the circle", "1.5/ln(2√3 R/a), own derivation", density / mean, 1.5 / log, "-", tol * 1.5 / log})
	three := fieldOf(t, 8, ringOf(r, a, 3, false))
	hold(t, check{"power density in the middle, three phases", "0, by symmetry", three.density(0, 0), 0, "W/m³", 1e-20 * three.power()})

	// Power inside the circle: what its own ground takes, outside all cylinders.
	inside := 0.0
	const rings, rays = 400, 720
	for i := range rings {
		rho := r * (float64(i) + 0.5) / rings
		for j := range rays {
			sin, cos := math.Sincos(2 * math.Pi * (float64(j) + 0.5) / rays)
			within := false
			for _, c := range ring.rods {
				within = within || math.Hypot(rho*cos-c.x, rho*sin-c.y) < c.a
			}
			if !within {
				inside += ring.density(rho*cos, rho*sin) * rho * (r / rings) * (2 * math.Pi / rays)
			}
		}
	}
	// The points stand 1 by 4 cm apart: a cylinder's edge cuts one in ten of those within
	// two radii, where a tenth of the power is, at random: 0.1 % at most.
	hold(t, check{"share of the power inside the circle of a ring of six", "half, inversion, own derivation", inside / ring.power(), 0.5, "-", 0.5 * (tol + 1e-3)})
}

// TestTriangularLatticeRadius: in an endless triangular three-phase lattice of spacing s a
// rod has V = ρI′ ln(0.566 s/a)/(2π).
// Source: own lattice sum; 0.566 from sums over 37 to 91 electrodes, good to 0.3 %.
// Phases are a character of the lattice, so currents are as the voltages, and
// ln(c s) = −Σ cos θ_j ln r_j over all others. The sum is taken with a factor
// (1 + u + u²/2 + u³/6)·exp(−u), u = (r/w)²: being flat to the seventh order at the rod
// and smooth further out, it changes the sum by a multiple of (s/w)⁸, 2e-9 at w = 12 s.
func TestTriangularLatticeRadius(t *testing.T) {
	radius := func(w float64) float64 {
		sum := 0.0
		n := int(9 * w)
		for j := -n; j <= n; j++ {
			for i := -2 * n; i <= 2*n; i++ {
				x, y := float64(i)+float64(j)/2, float64(j)*math.Sqrt(3)/2
				r2 := x*x + y*y
				if u := r2 / (w * w); u > 0 && u < 50 {
					sum -= math.Cos(2*math.Pi*float64((i-j)%3)/3) * math.Log(r2) / 2 * (1 + u + u*u/2 + u*u*u/6) * math.Exp(-u)
				}
			}
		}
		return math.Exp(sum)
	}
	got := radius(12)
	if e := math.Abs(radius(18) - got); e > 1e-7 {
		t.Errorf("radius %.12f s with w = 12 s, %.2g away with 18 s", got, e)
	}
	hold(t, check{"effective radius of a triangular three-phase lattice", "0.566 s, sums over electrodes", got, 0.566, "s", 0.003 * 0.566})
	z := physics.RowsImpedance(0.5, math.Sqrt(3), 0.01, true, 3)
	hold(t, check{"the same by rows of the lattice", "the lattice sum", 0.01 * math.Exp(2*math.Pi*z), got, "s", 1e-6})
}
