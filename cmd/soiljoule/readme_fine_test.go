//go:build validate

package main

import "testing"

// TestReadmeShowsVariants: README's numbers of the other demo sites, and of the variants
// whose commands it gives, are what the program prints.
func TestReadmeShowsVariants(t *testing.T) {
	onlyHere(t)
	holdReadme(t, "tank-circle", "supply.power_limit=75 kW",
		readmeLine{`^90 % of silt in the ring .*: (day [0-9.]+)$`, "(%s at 75 kW;"})
	holdReadme(t, "tank-circle", "supply.phases=3",
		readmeLine{`^90 % of silt in the ring .*, ([0-9.]+ %) at the end$`, "three phases: %s after 240 d)"})
	holdReadme(t, "electrode-cell", "",
		readmeLine{`^90 % of silt cell at 95 °C .*: (day [0-9]+)\.`, "90 %% of its cell is at 95 °C on %s"})
	holdReadme(t, "bedrock-bench", "",
		readmeLine{`^(90 % of sandstone at .*: day [0-9.]+)$`, "\n%s "},
		readmeLine{`^  (carried off by water [0-9.]+ %), less`, "\n%s "})
	holdReadme(t, "bedrock-bench", "layer.sandstone.groundwater=0.3 ft/d",
		readmeLine{`^90 % of sandstone at .* ([0-9.]+ %) at the end$`, "(at 0.3 ft/d not in 100 d: %s)"},
		readmeLine{`^  carried off by water ([0-9.]+ %), less`, "(at 0.3 ft/d %s)"})
	holdReadme(t, "warm-zone", "",
		readmeLine{`^90 % of sandy silt at .* ([0-9.]+ % at the end)$`, "not reached in 240 d, %s "},
		readmeLine{`(setpoint .* first reached on day [0-9.]+);`, "\n%s; "},
		readmeLine{`(on for [0-9.]+ % of the time)`, "; %s\n"})
}
