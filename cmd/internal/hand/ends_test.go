package hand

import (
	"fmt"
	"math"
	"testing"
)

// TestFiniteRodsAgainstBoundarySolutions: two rows of rods at ±1 V, aligned, a distance
// apart in endless even ground of 1 S/m draw the amperes that a boundary solution of rods
// with flat ends has for them.
// Source: own boundary solutions by rings, converged to 0.01 %, as of the section's row
// correction.
func TestFiniteRodsAgainstBoundarySolutions(t *testing.T) {
	const a = 0.1524
	for _, c := range []struct{ length, spacing, distance, amps float64 }{
		{1.829, 7.391, 2.134, 6.508}, {1.829, 4.267, 4.267, 5.467}, {4.267, 4.267, 3.658, 9.989}, {9.144, 4.267, 4.267, 16.892},
	} {
		rods := []rodsAt{{0, 1}, {c.distance, -1}}
		// What two rods, one of each row, add falls as their distance to the third: beyond k
		// of them the sum is wrong by d²/(4 k² s³), 1e-6 here.
		for k := 1; k < 400; k++ {
			y := float64(k) * c.spacing
			rods = append(rods, rodsAt{y, 2}, rodsAt{math.Hypot(y, c.distance), -2})
		}
		got := c.length * FiniteOverEndless(1, c.length, a, rods)
		// Ends of 1.25 radii are set so that the currents of rods of 12 to 60 radii are
		// within 0.2 % of such solutions; the two parts for the four of that, 0.3 %.
		near(t, fmt.Sprintf("current of rods of %g m", c.length), got, c.amps, 0.005*c.amps)
	}
}

// TestFiniteRodsBecomeEndless: rods of a thousand times their distance draw what endless
// ones do, in every pattern, but for their ends, some ln(s/a) distances of 1000; and five
// times the reach of the sum moves the current of short ones by no more than 1e-4.
func TestFiniteRodsBecomeEndless(t *testing.T) {
	const s, a = 4.0, 0.15
	for _, c := range []struct {
		name string
		z    float64
		rods []rodsAt
	}{
		{"ring, six phases", Ring(s, a, 6), onRing(s, 6)},
		{"ring, three phases", Ring(s, a, 3), onRing(s, 3)},
		{"triangular grid", Triangular(s, a), inRows(s/2, s*math.Sqrt(3), true, 3)},
		{"two poles in rows", Alternating(s, s, a), inRows(s, s, false, 1)},
	} {
		near(t, "finite over endless, "+c.name, FiniteOverEndless(c.z, 1000*s, a, c.rods), 1, 0.003)
	}
	short := FiniteOverEndless(1, 1.8, a, inRows(s/2, s*math.Sqrt(3), true, 3))
	var shells []rodsAt // of whole hexagons, whose sum swings about the limit by half of the last
	sum := 0.0
	for _, n := range []int{59, 60} {
		shells = shells[:0]
		for i := -n; i <= n; i++ {
			for j := -n; j <= n; j++ {
				if k := i + j; k < -n || k > n {
					continue
				}
				w := -0.5
				if (i-j)%3 == 0 {
					w = 1
				}
				shells = append(shells, rodsAt{s * math.Sqrt(float64(i*i+i*j+j*j)), w})
			}
		}
		sum += FiniteOverEndless(1, 1.8, a, shells) / 2
	}
	// The whole hexagons end with a charge left over: 0.3 % between 30 and 60 shells.
	near(t, "a short rod's current, cut off smoothly against hexagons", short, sum, 0.003*sum)
	if inRows(1000, 0.1, false, 6) != nil || !math.IsNaN(FiniteOverEndless(1, 1, 0.2, onRing(s, 6))) {
		t.Error("rows of too many rods, or rods of five radii, must have no factor")
	}
}
