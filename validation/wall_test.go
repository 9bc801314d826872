//dossier:chapter Boiling

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// wallRun is what the electrode cell showed in fifteen days, while its wall dries.
type wallRun struct {
	fall, rise float64 // [-] largest of the current in one step, of what it was; rise: below 0.9 of its peak
	driest     float64 // [-] saturation of any cell at any step, over dry_saturation
	first      float64 // [d] when the first cell was dry
	stats      solver.Stats
	peak, end  float64 // [A] of one rod
}

func dryingWall(t *testing.T, inflow string, wall float64) wallRun {
	t.Helper()
	c, err := cases.Load("../cases/electrode-cell.toml", []string{"layer.silt.inflow=" + inflow, "time.duration=15 d", fmt.Sprintf("mesh.wall=%g in", wall)})
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	w := wallRun{driest: math.Inf(1), first: math.NaN()}
	last, err := solver.Run(t.Context(), p, recorder(func(r *solver.Report) {
		s := r.State
		i := math.Hypot(real(s.Current[0]), imag(s.Current[0])) * s.Voltage / p.Electric.Bodies[0].Rods
		if w.end > 0 {
			w.fall = math.Max(w.fall, 1-i/w.end)
			if w.end < 0.9*w.peak {
				w.rise = math.Max(w.rise, i/w.end-1)
			}
		}
		w.end, w.peak = i, math.Max(w.peak, i)
		for cell, held := range s.W {
			if dry := p.Ground.Store(cell).Dry; dry > 0 {
				w.driest = math.Min(w.driest, held/dry)
			}
		}
		if r.Stats.Dried > 0 && math.IsNaN(w.first) {
			w.first = s.Time / day
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	w.stats = last.Stats
	return w
}

// TestDryingWallIsSmooth: as the wall of a rod dries ring by ring the current falls with
// each, in steps that halve as the rings do; no cell holds less than its dry saturation,
// the current does not rise again, and a step in fifty or fewer is refused.
// Source: refinement of the mesh; that a thinner ring is a smaller share of the resistance
// between rod and rim follows from the logarithm of its radii.
func TestDryingWallIsSmooth(t *testing.T) {
	if testing.Short() {
		t.Skip("some hundred steps of a thousand cells, four times")
	}
	for _, inflow := range []string{"none", "0.02 1/d"} {
		coarse, fine := dryingWall(t, inflow, 1.2), dryingWall(t, inflow, 0.6)
		for i, w := range []wallRun{coarse, fine} {
			t.Logf("inflow %s, wall cells of %s in: %d steps, %d refused; dry from day %.2f; falls by at most %.2f %%, rises by %.3f %%; %.2f A at the end",
				inflow, []string{"1.2", "0.6"}[i], w.stats.Steps, w.stats.Refused(), w.first, 100*w.fall, 100*w.rise, w.end)
		}
		if !(fine.driest >= 1-1e-12) {
			t.Errorf("inflow %s: a cell is down to %.15g of its dry saturation, want no less than all of it", inflow, fine.driest)
		}
		// Two rings for one, each half of the fall; which step ends where in a ring is
		// worth a third of that.
		hold(t, check{"largest fall of the current in one step as the wall dries, rings of a tenth of the bore over rings of a fifth, inflow " + inflow, "ln of a ring's radii", fine.fall / coarse.fall, 0.5, "", 0.17})
		hold(t, check{"largest fall of the current in one step, rings of a tenth of the bore, inflow " + inflow, "common practice, no source", fine.fall, 0, "", 0.06})
		// Past its peak what the ground beyond gives by warming is at most what the linear
		// law has for the tolerance of a step, 0.0187/K × 0.1 K.
		hold(t, check{"largest rise of the current in one step past its peak, inflow " + inflow, "temperature coefficient × tolerance", fine.rise, 0, "", 0.0187 * 0.1})
		if refused := fine.stats.Refused(); 50*refused > fine.stats.Steps {
			t.Errorf("inflow %s: %d of %d steps are refused, want one in fifty at most", inflow, refused, fine.stats.Steps)
		}
		if math.IsNaN(fine.first) || fine.end > 60 {
			t.Errorf("inflow %s: dry from day %g, %.3g A at the end: the wall has not dried", inflow, fine.first, fine.end)
		}
	}
}
