//go:build validate

//dossier:chapter Boiling

package validation

import (
	"fmt"
	"math"
	"testing"
)

// TestDryingFrontIsOfFirstOrder: a front between unlike sides is off by a share of a
// cell, so its error goes as the cell's size: 100, 200 and 400 cells passed.
// Source: as TestDryingFrontIntoColdGround.
// Tolerance: the share is a mean over the cells passed, of which the first few, where
// the front crosses a cell faster than heat does, differ: a drift of the order by the
// logarithm of their number, and the time steps' own error. Within 0.3 of 1, and each
// error within the bound of its mesh.
func TestDryingFrontIsOfFirstOrder(t *testing.T) {
	for _, i := range []int{0, len(dryings) - 1} {
		s := dryings[i].similar()
		var misses curve
		misses.Label = s.name
		for _, n := range []int{100, 200, 400} {
			r := s.run(t, n)
			misses.X, misses.Y = append(misses.X, 1/float64(n)), append(misses.Y, math.Abs(r.front-reach))
			hold(t, check{fmt.Sprintf("front after %d cells, %s", n, s.name), "Neumann, Carslaw & Jaeger 1959 sec. 11.2", r.front, reach, "m", math.Min(0.01*reach, s.bound(1/float64(n), reach))})
		}
		hold(t, check{fmt.Sprintf("order of the front's error, 100 to 400 cells, %s", s.name), "first order: half a cell's way", order(misses.Y[0], misses.Y[2]) / 2, 1, "", 0.3})
		draw(t, fmt.Sprintf("front-fine-%d", i), "Drying front at 1 m, "+s.name, "cell [m]", "error [m]", true, misses)
	}
}
