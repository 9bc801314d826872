package solver

import (
	"errors"
	"testing"

	"soiljoule/solver/linear"
)

// TestUnsolvedPotentialIsAnError: a solve that does not come to its tolerance is an
// error when the tolerance is tightened for the ledger too, as at the first: its heat
// would belong to no potential.
func TestUnsolvedPotentialIsAnError(t *testing.T) {
	solve := func(share float64) (*run, error) {
		r := newRun(section(t, 1, far))
		t.Cleanup(r.done)
		r.ground.Start(r.state)
		r.setting = r.settingAt(0)
		r.state.Time = 1 // neither the start nor a stop: what is shown there is solved better
		// The first tolerance asks for no iteration, those after it for some.
		r.set.Potential, r.mostIterations = 2, 0
		r.set.LedgerTolerance = share
		return r, r.solvePotential(r.state)
	}
	if r, err := solve(far); err != nil || r.stats.PotentialIterations != 0 {
		t.Fatalf("the first tolerance takes %d iterations and ends with %v, want none and no error", r.stats.PotentialIterations, err)
	}
	if _, err := solve(-1); !errors.Is(err, linear.ErrNoConvergence) {
		t.Errorf("a potential that is not solved to the tightened tolerance ends with %v, want %v", err, linear.ErrNoConvergence)
	}
}

// TestTightening: from any tolerance of a run the tenths of it end at the tightest,
// not beside it, and take as many solves as there are tenths.
func TestTightening(t *testing.T) {
	for _, c := range []struct {
		from float64
		want int
	}{{1e-8, 6}, {1e-9, 5}, {1e-10, 4}, {1e-11, 3}, {1e-12, 2}, {1e-13, 1}, {5e-12, 3}, {1.5e-14, 1}, {1e-14, 0}, {1e-15, 0}} {
		n, tol := 0, c.from
		for ; tol > tightest && n < 100; n++ {
			tol = tighter(tol)
		}
		if n != c.want || tol != min(c.from, tightest) {
			t.Errorf("from %g it takes %d steps to %g, want %d to %g", c.from, n, tol, c.want, min(c.from, tightest))
		}
	}
}
