package record

import (
	"testing"

	"soiljoule/physics"
)

// TestLargestCurrentNamesTheFirst: of rods whose currents are alike but for rounding the
// first in the case's order is named, and the current is the largest of all; one that is
// more by more than that is named itself, and what is off or has no current is not. By hand:
// two rods share a body's current, and an open body's is rounding.
func TestLargestCurrentNamesTheFirst(t *testing.T) {
	bodies := []physics.Body{{Name: "P", Rods: 1}, {Name: "Q", Rods: 1}, {Name: "R", Rods: 2}, {Name: "M", Rods: 1, Floating: true}}
	for _, c := range []struct {
		amps [4]float64 // of the bodies, at 1 V
		name string
		most float64
	}{
		{[4]float64{3, 3, 6, 0}, "P", 3},
		{[4]float64{3, 3 * (1 + 5e-10), 6 * (1 + 9e-10), 0}, "P", 3 * (1 + 9e-10)},
		{[4]float64{3, 3 * (1 + 5e-10), 6 * (1 + 12e-10), 0}, "Q", 3 * (1 + 12e-10)},
		{[4]float64{3, 3, 6 * (1 + 1e-8), 9}, "R", 3 * (1 + 1e-8)},
		{[4]float64{0, 2, 1, 0}, "Q", 2},
		{[4]float64{}, "", 0},
	} {
		s := &physics.State{Voltage: 1}
		for _, i := range c.amps {
			s.Current = append(s.Current, complex(i, 0))
		}
		if amps, name := largest(s, bodies); name != c.name || amps != c.most {
			t.Errorf("of currents %v A the largest of a rod is %.12g A of %q, want %.12g A of %q", c.amps, amps, name, c.most, c.name)
		}
	}
}
