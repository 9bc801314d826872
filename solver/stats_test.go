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

// TestFirstDried: the time and place at which a cell dried out first stay those, however
// many dry later or before it in the grid's order.
func TestFirstDried(t *testing.T) {
	p := cell(t, 20, 1e9)
	r := newRun(p)
	defer r.done()
	if err := r.begin(); err != nil {
		t.Fatal(err)
	}
	g := p.Ground.Grid
	var wet []int // cells with water to lose
	for c := range r.state.W {
		if s := p.Ground.Store(c); s.Found > s.Dry && !p.Ground.InInsert(c) {
			wet = append(wet, c)
		}
	}
	if len(wet) < 3 {
		t.Fatalf("%d cells can dry out, want 3", len(wet))
	}
	for i, c := range []int{wet[1], wet[0], wet[2]} {
		r.state.Time = float64(5 + i)
		r.state.W[c] = p.Ground.Store(c).Dry
		r.countExtremes()
	}
	x, z := g.XC[wet[1]%g.NX], g.ZC[wet[1]/g.NX]
	if s := r.stats; s.Dried != 3 || s.DriedAt != 5 || s.DriedX != x || s.DriedZ != z {
		t.Errorf("%d cells dried out, first at %g s, %g, %g m, want 3, at 5 s, %g, %g m", s.Dried, s.DriedAt, s.DriedX, s.DriedZ, x, z)
	}
}
