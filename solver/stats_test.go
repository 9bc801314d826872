package solver

import (
	"testing"

	"soiljoule/materials"
)

// TestRoundingDoesNotFreeze: ground at 0 °C throughout, an ambient that a case may
// have, was said to have frozen for the rounding of its temperatures.
func TestRoundingDoesNotFreeze(t *testing.T) {
	p := cell(t, 1, 0)
	r := newRun(p)
	defer r.done()
	if err := r.begin(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		below  float64 // [K] of 0 °C
		frozen int
	}{{1e-10, 0}, {0.01, p.Ground.Grid.Cells()}} {
		for i := range r.state.T {
			r.state.T[i] = materials.TableMin - c.below
		}
		r.stats = Stats{}
		r.countExtremes()
		if got := r.stats.Below0C; got != c.frozen {
			t.Errorf("ground %g K below 0 °C: %d cells counted as frozen, want %d", c.below, got, c.frozen)
		}
	}
}
