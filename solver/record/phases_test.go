package record

import (
	"math"
	"testing"

	"soiljoule/physics"
	"soiljoule/solver"
)

// TestPhaseCurrents: the current of a phase is the sum of its electrodes' as phasors, the
// largest phase is told cold and at most, and one just before a switch counts. By hand: 3 + 4i
// A of two rods a quarter of a turn apart are 5 A.
func TestPhaseCurrents(t *testing.T) {
	e := &physics.Electric{Bodies: []physics.Body{{Label: "A", Rods: 1}, {Label: "B", Rods: 1}, {Label: "A", Rods: 1}, {Label: "-", Rods: 1, Floating: true}, {Label: "N", Rods: 1}}}
	var s Summary
	tell := func(days, volts float64, before solver.Load, current ...complex128) {
		s.stepPhases(&solver.Report{State: &physics.State{Time: days * day, Voltage: volts, Current: current}, Before: before}, e)
	}
	hold := func(when string, first, most float64, a, b string, on float64) {
		t.Helper()
		// Sums of whole numbers and a root: to rounding.
		if math.Abs(s.PhaseFirstA-first) > 1e-12 || math.Abs(s.PhaseMaxA-most) > 1e-12 || s.Powers.PhaseFirst != a || s.Powers.PhasePeak != b || s.Powers.PhasePeakDay != on {
			t.Errorf("%s: %g A of %s cold, at most %g A of %s on day %g; want %g A of %s, %g A of %s on day %g", when,
				s.PhaseFirstA, s.Powers.PhaseFirst, s.PhaseMaxA, s.Powers.PhasePeak, s.Powers.PhasePeakDay, first, a, most, b, on)
		}
	}
	tell(0, 2, solver.Load{}, 3, 4, 4i, 9, 1)
	hold("cold", 10, 10, "A", "A", 0)
	tell(1, 2, solver.Load{Line: 12, LineOf: 1}, 3, 6, 3i, 9, 1)
	hold("a phase alone is more", 10, 12, "A", "B", 1)
	tell(2, 0, solver.Load{Line: 30, LineOf: 4}, 3, 6, 3i, 9, 15)
	hold("off from now on", 10, 30, "A", "N", 2)
	tell(3, 2, solver.Load{Line: 30 * (1 + 1e-12), LineOf: 0}, 3, 6, 3i, 9, 15)
	hold("no more than rounding", 10, 30, "A", "N", 2)
}
