package main

import (
	"fmt"
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
