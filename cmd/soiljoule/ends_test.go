package main

import (
	"encoding/json"
	"strings"
	"testing"
)

// TestHandOfFiniteRodsBesideASection: in even ground, far below the surface, a row in the
// middle of sixteen draws what `hand grid` has for endless rods times its factor for finite
// ones: two sums over the same rods, one of sheets with a correction for the row's own, one
// of the rods' pieces in space.
func TestHandOfFiniteRodsBesideASection(t *testing.T) {
	if testing.Short() {
		t.Skip("checks two wide sections")
	}
	for _, c := range []struct{ spacing, top, bottom, right string }{{"14 ft", "57.5 ft", "63.5 ft", "105 ft"}, {"20 ft", "51.5 ft", "69.5 ft", "150 ft"}} {
		file := write(t, t.TempDir(), "even.toml", strings.NewReplacer("SPACING", c.spacing, "TOP", c.top, "BOTTOM", c.bottom, "RIGHT", c.right).Replace(evenRows))
		a := byHandOf(t, "grid", "--case", file)
		want := coldAmps(t, a) * value(t, a, "finite rods over endless ones")
		var m checked
		if err := json.Unmarshal([]byte(must(t, done, "check", file, "--json").out), &m); err != nil {
			t.Fatal(err)
		}
		// Of three phases the middle rows of two draw alike, the third, next to a mirror of
		// the pattern, 5 % less; the row correction is within 1.3 % in even ground, the mesh
		// of half a foot within 0.5 %, the two parts of a rod 0.3 %.
		middle := m.Electrodes[len(m.Electrodes)/2]
		near(t, "spacing "+c.spacing+", cold A of "+middle.Name, middle.ModelA, want, 0.021*want)
	}
}

const evenRows = `title = "Rows in even ground"
view = "section"
[site]
ambient = "25 degC"
water_table = "0 ft"
[extent]
length = "60 ft"
[surface]
air = "54 degF"
[[layer]]
name = "silt"
resistivity = "25 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.40
saturation = 1.0
[[target]]
name = "zone"
left = "0 ft"
right = "RIGHT"
top = "TOP"
bottom = "BOTTOM"
temperature = "203 degF"
[[array]]
pattern = "triangular"
spacing = "SPACING"
top = "TOP"
bottom = "BOTTOM"
radius = "6 in"
[supply]
phases = 3
voltage = "100 V"
voltage_basis = "phase to neutral"
[time]
duration = "70 d"
[mesh]
finest = "6 in"
[domain]
bottom = "130 ft"
`
