package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// wet is the section of taps with steam that rises, a barrier that one row crosses, and
// water added at two rows.
var wet = strings.NewReplacer("[[layer]]", "[[layer]]\nname = \"cap\"\nbottom = \"1.5 m\"\nresistivity = \"40 ohm*m\"\nthermal_conductivity = \"1.4 W/m/K\"\nheat_capacity = \"3.0 MJ/m3/K\"\nporosity = 0.4\nsaturation = 0.9\nsteam_barrier = true\n[[layer]]",
	"[time]", `[steam]
fate = "rising"
top = "0.5 m"
bottom = "1 m"
capture_share = 0.8
[[water_added]]
electrode = "A1"
rate = "2 L/min"
temperature = "20 degC"
[[water_added]]
electrode = "C1"
rate = "2 L/min"
temperature = "20 degC"
[[water_added]]
electrode = "C1"
rate = "1 gpm"
from = "1 d"
to = "2 d"
[time]`).Replace(taps)

// TestCheckTellsSteamAndWater: check says where steam goes, which electrodes a barrier
// opens at, and what water is added, a rod and in all: five rods 4 m apart stand in each
// row of 20 m. To boil a kilogram from 20 °C takes 2676 − 84 kJ at 100 °C and as much at
// 101 °C, 2677 − 84 (steam tables, from memory).
func TestCheckTellsSteamAndWater(t *testing.T) {
	path := write(t, t.TempDir(), "wet.toml", wet)
	text := must(t, done, "check", path, "--set", "electrode.B1.top=1.4 m", "--set", "supply.power_limit=1 kW").out
	for _, want := range []string{
		"steam: rises and condenses in ground below its boiling point; of what comes to 0.5–1 m (1.64–3.28 ft) or forms there 80 % is extracted, what else does not condense comes out at the surface\n",
		"  steam barrier cap, 0–1.5 m (0–4.92 ft): steam spreads beneath and rises at B1\n",
		"water added at A1, C1: 2 L/min (0.528 gpm) a rod, 10 rods, 20 L/min (5.28 gpm) in all, at 20 °C (68 °F), day 0 to the end; to boil all of it takes 86",
		"water added at C1: 3.79 L/min (1 gpm) a rod, 5 rods, 18.9 L/min (5 gpm) in all, at 12 °C (53.6 °F), day 1 to 2; to boil all of it takes 82",
		"To boil all of the water added takes 169", // both from day 1 on
	} {
		if !strings.Contains(text, want) {
			t.Errorf("check does not say %q:\n%s", want, text)
		}
	}
	var c checked
	if err := json.Unmarshal([]byte(must(t, done, "check", path, "--json").out), &c); err != nil {
		t.Fatal(err)
	}
	if c.Steam == nil || c.Steam.Fate != "rising" || *c.Steam.Capture != 0.8 || len(c.Steam.Barriers) != 1 || c.Steam.Barriers[0].Openings != nil || len(c.Added) != 2 {
		t.Fatalf("check --json tells steam %+v and water %+v", c.Steam, c.Added)
	}
	if got, want := c.Added[0].BoilKW, 20*0.9982/60*(2677-84); math.Abs(got-want) > 1 { // of steam's half a kJ/kg
		t.Errorf("to boil 20 L/min from 20 °C takes %.5g kW, want %.5g", got, want)
	}
	dry := write(t, t.TempDir(), "dry.toml", wet[:strings.Index(wet, "[[water_added]]")]+wet[strings.LastIndex(wet, "[time]"):])
	for _, v := range []struct{ file, set, want string }{
		{path, "steam.fate=extracted", "steam: extracted where it forms\n"},
		{dry, "steam.boiling=false", "steam: none, boiling is off\n"},
		{path, "electrode.B1.top=2 m", "there is no opening: what does not condense is held\n"},
	} {
		if text := must(t, done, "check", v.file, "--set", v.set).out; !strings.Contains(text, v.want) {
			t.Errorf("check with %s does not say %q:\n%s", v.set, v.want, text)
		}
	}
}

// TestCheckTellsWaterBesideASlab: of water at a rod of a plan that reaches beyond the slab
// by half its length, half is in the slab.
func TestCheckTellsWaterBesideASlab(t *testing.T) {
	text, err := cases.Template("plan")
	if err != nil {
		t.Fatal(err)
	}
	c, err := cases.Parse("plan.toml", []byte(text), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	half := (c.Extent.Bottom - c.Extent.Top) / 2
	rod := fmt.Sprintf("\n[[water_added]]\nelectrode = %q\nrate = \"1 L/min\"\n", c.Arrays[0].Name)
	path := write(t, t.TempDir(), "plan.toml", text+rod)
	out := must(t, done, "check", path, "--set", fmt.Sprintf("array.%s.top=%.12g m", c.Arrays[0].Name, c.Extent.Top+half),
		"--set", fmt.Sprintf("array.%s.bottom=%.12g m", c.Arrays[0].Name, c.Extent.Bottom+half)).out
	for _, want := range []string{"in all, 50 % of it in the slab, at", "23 electrodes with water added reach beyond the slab: what goes out there is left out"} {
		if !strings.Contains(out, want) {
			t.Errorf("check does not say %q:\n%s", want, out)
		}
	}
}

// TestSummaryTellsWhereSteamWent: the lines of a ledger made by hand.
func TestSummaryTellsWhereSteamWent(t *testing.T) {
	c := &cases.Case{Steam: cases.Steam{Boiling: true, Fate: "rising"}, Targets: []cases.Target{{Name: "zone"}}}
	l := &solver.Ledger{Steam: 600, SteamMass: solver.SteamFate{Captured: 300, Surface: 200, Held: 100}, SteamHeat: solver.SteamFate{Captured: 3.6e8, Surface: 7.2e6},
		Condensed: 50, CondensedLatent: 3.6e7, CondensedOutside: 1.8e7, Water: solver.WaterLedger{Recharge: 40, Rain: 7, Added: 8, Steam: 600, ToGroundwater: 9, Stored: -554}}
	told := func(l *solver.Ledger) string {
		var b strings.Builder
		steamRows(func(name string, joule float64) { fmt.Fprintf(&b, "%s: %g kWh\n", name, joule/3.6e6) }, c, l)
		return b.String() + strings.Join(steamCautionsOf(l), "\n")
	}
	for _, v := range []struct {
		what, want string
		ledger     *solver.Ledger
	}{
		{"all", `  of that captured: 100 kWh
  of that at the surface: 2 kWh
200 kg of steam came out at the surface: hot ground and vapour there are not assessed.
100 kg of steam came to the end of the ground under a barrier, and left the model there: on site it would find another way, or gain pressure.`, l},
		{"nothing", "", &solver.Ledger{}},
	} {
		if got := told(v.ledger); got != v.want {
			t.Errorf("of %s the summary says\n%s\nwant\n%s", v.what, got, v.want)
		}
	}
	c.Steam.Fate = "extracted"
	l = &solver.Ledger{Steam: 600, SteamMass: solver.SteamFate{Captured: 600}, SteamHeat: solver.SteamFate{Captured: 3.6e8}, Water: solver.WaterLedger{Recharge: 600, Steam: 600}}
	if got := told(l); got != "" {
		t.Errorf("of steam that is extracted where it forms the summary says more than before:\n%s", got)
	}
}
