package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver/record"
)

// TestWaterTextTellsWhatMoved: each mass with its name as gallons and cubic metres, and
// nothing of those that are zero.
func TestWaterTextTellsWhatMoved(t *testing.T) {
	boiled := 0.25
	c := &cases.Case{Targets: []cases.Target{{Name: "silt"}}, Output: cases.Output{Units: "us"}}
	tell := func(w record.WaterSummary) string {
		var b strings.Builder
		waterText(func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }, c, &record.Summary{WaterSummary: w})
		return b.String()
	}
	if got := tell(record.WaterSummary{}); got != "" {
		t.Errorf("where no water moves summary.txt says %q", got)
	}
	// 1000 gal are 3.785411784 m³ (NIST SP 811).
	const gallons = 3.785411784e-3 * materials.RhoWater // [kg]
	got := tell(record.WaterSummary{SteamCapturedKg: 1000 * gallons, CondensedKg: 10 * gallons, PoreVolumesBoiled: &boiled,
		AddedKg: 600 * gallons, WaterStoredKg: -400 * gallons, WaterResidualShare: -2e-12})
	want := `  as water: 1000 gal (3.785 m3) captured, 10 gal (0.03785 m3) condensed in the ground
  0.25 pore volumes of silt boiled, less what condensed there
Water: in 600 gal (2.271 m3) added at electrodes; out 1000 gal (3.785 m3) as steam; the ground holds 400 gal (1.514 m3) less; ledger closes to 2e-12
`
	if got != want {
		t.Errorf("summary.txt says\n%swant\n%s", got, want)
	}
}

// TestSummaryTellsTheHeatOfWaterAdded: water that is warmer than the ground brings heat, and
// what the full ground has no room for takes it to the groundwater: both have their rows, so
// that the rows of the ledger make up what came in, to the digits printed, though no water
// flows.
func TestSummaryTellsTheHeatOfWaterAdded(t *testing.T) {
	dir := t.TempDir()
	text, err := os.ReadFile(yard)
	if err != nil {
		t.Fatal(err)
	}
	path := write(t, dir, "warm.toml", string(text)+"\n[[water_added]]\nelectrode = \"E\"\nrate = \"1 gpm\"\ntemperature = \"40 degC\"\n")
	out := must(t, done, "run", path, "--no-figures", "-q", "-o", filepath.Join(dir, "out"), "--set", "mesh.finest=24 in", "--set", "time.duration=1 d").out
	in, gone := 0.0, 0.0
	for line := range strings.Lines(out) {
		f := strings.Fields(line)
		if len(f) < 4 || f[len(f)-1] != "%" || !strings.HasPrefix(line, "  ") || strings.HasPrefix(line, "    ") {
			continue
		}
		kWh, err := strconv.ParseFloat(f[len(f)-3], 64)
		switch name := strings.Join(f[:len(f)-3], " "); {
		case err != nil:
		case strings.HasPrefix(name, "energy in"), name == "brought by water added":
			in += kWh
		default:
			gone += kWh
		}
	}
	if !strings.Contains(out, "brought by water added") || !strings.Contains(out, "carried off by water") || math.Abs(in-gone) > 8*0.5 { // eight whole numbers
		t.Errorf("the rows bring %g kWh and take %g kWh:\n%s", in, gone, out)
	}
	var s record.Summary
	if err := json.Unmarshal([]byte(read(t, dir, "out/summary.json")), &s); err != nil || s.ZoneLossWaterKWh == nil {
		t.Errorf("summary.json does not tell the heat that water carries off the target (%v)", err)
	}
}
