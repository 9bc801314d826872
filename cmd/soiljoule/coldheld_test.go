package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestCheckSaysWhatHoldsItCold: check names the limit that holds the cold supply back, and
// from what, which is as its limits and currents have it; a metered supply has none applied.
func TestCheckSaysWhatHoldsItCold(t *testing.T) {
	meter := write(t, t.TempDir(), "meter.csv", "time_d,power_kW\n0,50\n90,50\n")
	for _, c := range []struct{ set, want string }{
		{"supply.power_limit=1000 kW", "at 130 V RMS phase to neutral, limits included"},
		{"supply.power_limit=50 kW", "cold power 50.0 kW at "},
		{"supply.power_limit=50 kW", "held back by the power limit from 130 V"},
		{"supply.current_limit=9 A", "held back by the current limit from 130 V"},
		{"supply.kva_limit=40 kVA", "held back by the kVA limit from 130 V"},
		{"supply.metered=" + meter, "as metered, no limit applied"},
	} {
		if got := must(t, done, "check", filepath.FromSlash(yard), "--set", "mesh.finest=12 in", "--set", c.set).out; !strings.Contains(got, c.want) {
			t.Errorf("with %s check does not say %q:\n%s", c.set, c.want, got)
		}
	}
}
