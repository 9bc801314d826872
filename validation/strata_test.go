//dossier:chapter Electrodes and rows

package validation

import (
	"math"
	"testing"

	"soiljoule/physics"
)

// TestRodsInStrata: the modes of depth, by which a plan knows what its rods carry beyond the
// slab, give rods of finite length in level layers the current that boundary elements give:
// in even ground, in a layer that the rods fill, with ground five and ten times better or
// worse beyond their flat ends, and with a boundary across them or near.
// Source: boundary elements in three dimensions with flat ends, layers by images (Tagg;
// Sunde), rods_reference_test.go. Tolerance: 0.6 %. What the modes lack falls with the
// height of the levels at the rods' ends, where current crowds at the edge: halving them
// takes 0.4 % from the worst of these, and what is left would be as much again; that rows
// here are 51 rods long and there endless, and boundary elements on four panels a radius,
// is within 0.15 %.
func TestRodsInStrata(t *testing.T) {
	const s, a, d = 4.267, 0.1524, 3.7
	for _, c := range []site{
		{"even ground", even(1), 2, 4, s, a, d, 2},
		{"rods that fill a layer of 0.2 in 1 S/m", layersOf([]int{4, 12}, 1, 0.2, 1), 2, 4, s, a, d, 2},
		{"rods that fill a layer of 0.1 in 1 S/m", layersOf([]int{4, 12}, 1, 0.1, 1), 2, 4, s, a, d, 2},
		{"rods that fill a layer of 1 in 0.2 S/m", layersOf([]int{4, 12}, 0.2, 1, 0.2), 2, 4, s, a, d, 2},
		{"rods that fill a layer of 1 in 0.1 S/m", layersOf([]int{4, 12}, 0.1, 1, 0.1), 2, 4, s, a, d, 2},
		{"rods within a layer of 1 in 0.2 S/m", layersOf([]int{2, 14}, 0.2, 1, 0.2), 2, 4, s, a, d, 2},
		{"rods in 0.2 that end 0.5 m above 1 S/m", layersOf([]int{13}, 0.2, 1), 2, 4, s, a, d, 2},
		{"rods half in 0.2, half in 1 S/m", layersOf([]int{8}, 0.2, 1), 2, 4, s, a, d, 2},
		{"rods half as long that fill a layer of 0.2 in 1 S/m", layersOf([]int{4, 8}, 1, 0.2, 1), 2, 2, s, a, d, 2},
	} {
		y := array{earth: c.earth, top: c.top, length: c.length, a: c.a, s: c.s, cells: 4, x: []float64{0, c.d}, offset: []float64{0, 0}, phase: []float64{1, -1}}
		want := y.currents(t)[0]
		var rods []physics.Rod
		var phase []complex128
		const half = 25
		for i := -half; i <= half; i++ {
			rods = append(rods, physics.Rod{X: 0, Y: float64(i) * c.s, Radius: c.a}, physics.Rod{X: c.d, Y: float64(i) * c.s, Radius: c.a})
			phase = append(phase, 1, -1)
		}
		var strata []physics.Stratum
		for i, sigma := range c.earth.sigma {
			bottom := math.Inf(1)
			if i < len(c.earth.bottom) {
				bottom = float64(c.earth.bottom[i]) * c.earth.unit
			}
			strata = append(strata, physics.Stratum{Bottom: bottom, Conductivity: sigma})
		}
		got, err := physics.FiniteCurrents(rods, phase, strata, c.top, c.length)
		if err != nil {
			t.Fatal(err)
		}
		hold(t, check{"current of a rod, " + c.name, "boundary elements in three dimensions", real(got[2*half]), want, "A", 6e-3 * want})
	}
}
