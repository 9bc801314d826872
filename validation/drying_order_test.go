//go:build validate

//dossier:chapter Orders of convergence

package validation

import "testing"

// TestOrderInTimeThroughBoilingToTheEnd: the order in time holds through thirty days
// of boiling. Thirty days of the electrode cell, in steps of a day and in steps halved
// five times.
// Source: as TestOrderInTimeThroughBoiling.
func TestOrderInTimeThroughBoilingToTheEnd(t *testing.T) {
	k := kinks{30, 30, 5, []string{"mesh.finest=4 in"}}
	fine := k.hold(t, "boiling-order-month", "through boiling for thirty days")
	if cells, steps := k.begun(fine); cells < 80 || steps < 25 {
		t.Errorf("in %d days %d cells came to boil in %d of %d steps, want at least 80 cells in 25 steps", k.days, cells, steps, k.first)
	}
}

// TestOrderInTimeThroughDryOut: through dry-out the order in time is near two,
// unevenly. The same cell without inflow: its wall dries ring by ring, the power falls
// to a third, and each ring that dries changes where the heat goes. In steps of 12
// hours and in steps halved five times. What is found: the mean order is that of
// boiling, each halving's own is less even.
// Source: as TestOrderInTimeThroughBoiling.
func TestOrderInTimeThroughDryOut(t *testing.T) {
	k := kinks{30, 60, 5, []string{"mesh.finest=4 in", "mesh.wall=4 in", "layer.silt.inflow=none"}}
	fine := k.hold(t, "drying-order", "through dry-out")
	t.Logf("%d cells dried", fine.dried)
	if fine.dried < 60 {
		t.Errorf("%d cells dried in %d days, want at least 60", fine.dried, k.days)
	}
	first, last := fine.seen[0].power, fine.seen[len(fine.seen)-1].power
	if last > first/3 {
		t.Errorf("the power fell from %.4g to %.4g W, want to less than a third: else the wall did not dry", first, last)
	}
}
