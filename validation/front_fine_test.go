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
// Tolerance: each error within the bound of its mesh; the order within 0.3 of 1, a
// choice: the share is a mean over the cells passed, of which the first few, where the
// front crosses a cell faster than heat does, differ, and it still drifts.
func TestDryingFrontIsOfFirstOrder(t *testing.T) {
	for _, c := range []struct {
		file string
		of   *drying
	}{{"front-fine-boiling", &dryings[0]}, {"front-fine-freezing", &dryings[len(dryings)-1]}} {
		s := c.of.similar()
		var misses curve
		misses.Label = s.name
		for _, n := range []int{100, 200, 400} {
			r := s.run(t, n)
			misses.X, misses.Y = append(misses.X, 1/float64(n)), append(misses.Y, math.Abs(r.front-reach))
			hold(t, check{fmt.Sprintf("front after %d cells, %s", n, s.name), "Neumann, Carslaw & Jaeger 1959 sec. 11.2", r.front, reach, "m", math.Min(0.01*reach, s.bound(1/float64(n), reach))})
		}
		hold(t, check{fmt.Sprintf("order of the front's error, 100 to 400 cells, %s", s.name), "first order: half a cell's way", order(misses.Y[0], misses.Y[2]) / 2, 1, "", 0.3})
		draw(t, c.file, "Drying front at 1 m, "+s.name, "cell [m]", "error [m]", true, misses)
	}
}
