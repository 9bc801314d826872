package main

import (
	"strings"
	"testing"
)

// TestCheckTellsRain: rain is told as gauges have it, in the units that come first; an inch is
// 25.4 mm.
func TestCheckTellsRain(t *testing.T) {
	path := write(t, t.TempDir(), "taps.toml", taps)
	for units, want := range map[string]string{"si": "infiltration: mean 25.4 mm/d (1 in/d)", "us": "infiltration: mean 1 in/d (25.4 mm/d)"} {
		if out := must(t, done, "check", path, "--set", "surface.infiltration=1 in/d", "--set", "output.units="+units).out; !strings.Contains(out, want) {
			t.Errorf("check with output.units = %s does not say %q:\n%s", units, want, out)
		}
	}
}
