package physics

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Between tabled ratios of how much better the ground beyond a slab conducts than as found,
// what rods draw in all is what the same rods draw in layers of that very ratio; at tabled
// ratios, and beyond the first and the last, it is the table's own.
// Source: layers with the ground beyond the slab multiplied, solved by themselves.
// Tolerances, a choice: 0.4 % of currents of at least a tenth of the largest, a fifth of the
// 2 % that electrodes of a plan are held to (TestFringeByElectrode), and 0.25 % of the power,
// a quarter of its 1 % there. Straight lines from one table to the next, in 1/√outside, are
// 1.9 and 1.5 % off. At a tabled ratio 1e-9, rounding (TestEndsInUniformGround).
// The network takes no less than the slab, to rounding.
func TestEndsBetweenOutsides(t *testing.T) {
	const s, a, top = 4.2672, 0.1524, 2.0
	rods, _ := threeRings(s, a)
	rng := rand.New(rand.NewPCG(3, 4))
	worst, worstPower := 0.0, 0.0
	for _, length := range []float64{0.43 * s, 2 * s} {
		for _, ground := range [][]Stratum{
			even,
			{{top, 0.1}, {math.Inf(1), 1}},
			{{top, 1}, {top + length, 0.1}, {math.Inf(1), 1}},
			{{top, 0.3}, {top + length/2, 1}, {top + length, 3}, {math.Inf(1), 0.3}},
		} {
			phases := every(len(rods), 3)
			e, err := NewEnds(rods, phases, ground, top, length, top, length)
			if err != nil {
				t.Fatal(err)
			}
			if err := e.tabulate(); err != nil {
				t.Fatal(err)
			}
			for _, outside := range []float64{0.02, 0.125, 0.15, 0.177, 0.25, 0.3, 0.354, 0.43, 0.6, 0.707, 0.85, 1, 1.2, 1.414, 1.7, 2, 2.4, 2.83, 3.4, 4, 9} {
				held := math.Min(math.Max(outside, outsides[0]), outsides[len(outsides)-1])
				bar, powerBar := 4e-3, 2.5e-3
				for _, tabled := range outsides {
					if held == tabled {
						bar, powerBar = 1e-9, 1e-9
					}
				}
				st, err := newStrata(rods, phases, besideSlab(ground, top, top+length, held/e.found, 1/e.found), top, length)
				if err != nil {
					t.Fatal(err)
				}
				e.SetOutside(outside)
				if !e.whole.set(e.series) {
					t.Fatalf("outside %g leaves no network", outside)
				}
				for draw, v := range [][]complex128{phases, drawn(rng, len(rods))} {
					want, err := lineCurrents(st.matrix(), v)
					if err != nil {
						t.Fatal(err)
					}
					got, largest := make([]complex128, len(rods)), 0.0
					e.whole.currentsTo(got, v)
					for _, i := range want {
						largest = math.Max(largest, cmplx.Abs(i))
					}
					off := 0.0
					for i, w := range want {
						if own := cmplx.Abs(w); own > 0.1*largest {
							off = math.Max(off, cmplx.Abs(got[i]-w)/own)
						}
					}
					through := make([]complex128, len(rods))
					e.slab.currentsTo(through, v)
					if least := powerOf(v, through); powerOf(v, got) < least*(1-1e-9) {
						t.Errorf("rods %.3g m long in %v, outside %g: the whole takes %.10g of the slab's power, want no less", length, ground, outside, powerOf(v, got)/least)
					}
					power := powerOf(v, got)/powerOf(v, want) - 1
					if bar > 1e-3 {
						worst, worstPower = math.Max(worst, off), math.Max(worstPower, math.Abs(power))
					}
					if off > bar || math.Abs(power) > powerBar {
						t.Errorf("rods %.3g m long in %v, outside %g, potentials %d: currents are %.3g off, power %.3g; want %g and %g", length, ground, outside, draw, off, power, bar, powerBar)
					}
				}
			}
		}
	}
	t.Logf("between tabled ratios currents are %.3g off at most, power %.3g", worst, worstPower)
}
