package solver

import (
	"errors"
	"testing"
)

// TestRunawayEnds: ground that does not boil and conducts the better the hotter it
// is runs away at a held voltage. The run ends with a line that says so, its last
// report below the limit, not after ever shorter steps to a million degrees.
func TestRunawayEnds(t *testing.T) {
	p := cell(t, 30, 0)
	for k := range p.Ground.Stores {
		p.Ground.Stores[k].BoilingPoint = far
	}
	for c := range p.Ground.BoilingPoint {
		p.Ground.BoilingPoint[c] = far
	}
	p.Supply[0].Voltage = 2000
	reports := 0
	report, err := Run(t.Context(), p, each(func(*Report) { reports++ }))
	if !errors.Is(err, ErrHot) {
		t.Fatalf("a run away of the temperature ended with %v after %d steps, want %v", err, reports, ErrHot)
	}
	for c, v := range report.State.T {
		if v > hottest {
			t.Errorf("the last report has %.4g K in cell %d, want at most %.4g K", v, c, hottest)
		}
	}
}
