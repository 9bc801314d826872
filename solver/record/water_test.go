package record

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"soiljoule/materials"
	"soiljoule/physics"
	"soiljoule/solver"
)

// wet is the bench with pores, full of water.
func wet(t *testing.T) *solver.Problem {
	t.Helper()
	p := bench(t)
	soil := &materials.Soil{Name: "silt", Resistivity: 25, ResistivityAt: 283.15, SaturationExponent: 2,
		Porosity: 0.4, Saturation: 1, ThermalConductivity: 1.6, ThermalConductivityDry: 1, HeatCapacity: 2.9e6}
	g, err := physics.NewGround(p.Ground.Grid, physics.Site{Ambient: 283.15, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		[]*materials.Soil{soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	p.Ground = g
	return p
}

// steaming is a report at two days, of a gallon a minute of condensate in three ways.
func steaming(p *solver.Problem) *solver.Report {
	s := physics.NewState(p.Ground.Grid.Cells(), 0)
	p.Ground.Start(s)
	s.Time = 2 * day
	const gallons = 231 * 0.0254 * 0.0254 * 0.0254 / 60 * materials.RhoWater // [kg/s] one a minute: 231 in³ (NIST SP 811)
	return &solver.Report{State: s, SteamRate: gallons, Condensing: 0.5 / 3600,
		Steam: solver.SteamFate{Captured: 0.6 * gallons, Surface: 0.3 * gallons, Held: 0.1 * gallons},
		Ledger: solver.Ledger{Steam: 1000, SteamMass: solver.SteamFate{Captured: 600, Surface: 300, Held: 100},
			SteamOut: 1000 * kWh, SteamHeat: solver.SteamFate{Captured: 610 * kWh, Surface: 300 * kWh, Held: 90 * kWh},
			Condensed: 40, CondensedLatent: 25 * kWh, CondensedOutside: 20 * kWh, ZoneBoiled: 6 * materials.RhoWater,
			Water: solver.WaterLedger{Recharge: 700, Rain: 50, Added: 200, Stored: -60, Steam: 1000, ToGroundwater: 9, Residual: 1}}}
}

// TestSteamAndWaterTables: each column holds its own number of the report, in its unit.
func TestSteamAndWaterTables(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	p := wet(t)
	f, err := Create(plan(dir), p)
	if err != nil {
		t.Fatal(err)
	}
	r := steaming(p)
	if err := f.Record(r); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	row := func(name string) map[string]float64 {
		lines := strings.Split(strings.TrimSpace(text(t, dir, name)), "\n")
		names, cells := strings.Split(lines[0], ","), strings.Split(lines[1], ",")
		if len(lines) != 2 || len(names) != len(cells) {
			t.Fatalf("%s has %d lines, %d names and %d cells; want a head and a row as long", name, len(lines), len(names), len(cells))
		}
		out := map[string]float64{}
		for i, n := range names {
			if out[n], err = strconv.ParseFloat(cells[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		return out
	}
	hold := func(name string, got, want map[string]float64) {
		t.Helper()
		if len(got) != len(want) {
			t.Errorf("%s has %d columns, want %d", name, len(got), len(want))
		}
		for column, v := range want {
			// Twelve digits are written; the conversions add roundings of 1e-16.
			if g, ok := got[column]; !ok || math.Abs(g-v) > 1e-11*math.Abs(v) {
				t.Errorf("%s: %s = %v, want %v", name, column, got[column], v)
			}
		}
	}
	// 231 in³ are 3.785411784 l (NIST SP 811), each of the model's density; a pound is
	// 0.45359237 kg exactly. The target, 2 × 3 × 10 m, holds 60 · 0.4 m³.
	const perHour = 3.785411784e-3 * 60 * materials.RhoWater
	hold("steam.csv", row("steam.csv"), map[string]float64{"time_d": 2, "steam_kg_per_h": perHour, "condensate_gpm": 1, "steam_kg": 1000,
		"captured_kg_per_h": 0.6 * perHour, "surface_kg_per_h": 0.3 * perHour, "held_kg_per_h": 0.1 * perHour, "condensing_kg_per_h": 0.5,
		"captured_kg": 600, "surface_kg": 300, "held_kg": 100, "condensed_kg": 40, "steam_lb_per_h": perHour / 0.45359237,
		"pore_volumes_boiled": 0.25, "captured_kWh": 610, "surface_kWh": 300, "held_kWh": 90, "condensed_outside_kWh": 20})
	hold("water.csv", row("water.csv"), map[string]float64{"time_d": 2, "recharge_kg": 700, "rain_kg": 50, "added_kg": 200,
		"steam_kg": 1000, "to_groundwater_kg": 9, "stored_kg": -60, "residual_kg": 1})

	var sum map[string]any
	if err := json.Unmarshal([]byte(text(t, dir, "summary.json")), &sum); err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]float64{"steam_kg": 1000, "steam_captured_kg": 600, "steam_surface_kg": 300, "steam_held_kg": 100,
		"steam_captured_kWh": 610, "steam_surface_kWh": 300, "steam_held_kWh": 90, "condensed_kg": 40, "condensed_latent_kWh": 25,
		"condensed_outside_kWh": 20, "pore_volumes_boiled": 0.25, "recharge_kg": 700, "rain_kg": 50, "added_kg": 200,
		"to_groundwater_kg": 9, "water_stored_kg": -60, "water_residual_share": 1e-3} {
		if got, ok := sum[key].(float64); !ok || math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("summary.json: %s = %v, want %v", key, sum[key], want)
		}
	}
}

// TestNoPoresNoPoreVolumes: ground without pores has an empty cell and null, and a ledger
// in which no water moves is closed, its rounding included.
func TestNoPoresNoPoreVolumes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	if s := ran(t, plan(dir)); s.PoreVolumesBoiled != nil || s.WaterResidualShare != 0 {
		t.Errorf("dry ground: pore volumes %v, share missing of the water %g; want none and 0", s.PoreVolumesBoiled, s.WaterResidualShare)
	}
	lines := strings.Split(strings.TrimSpace(text(t, dir, "steam.csv")), "\n")
	at := -1
	for i, n := range strings.Split(lines[0], ",") {
		if n == "pore_volumes_boiled" {
			at = i
		}
	}
	if at < 0 || strings.Split(lines[1], ",")[at] != "" {
		t.Errorf("steam.csv of dry ground has the row %s, want an empty pore_volumes_boiled", lines[1])
	}
	f := &Folder{pores: 24000}
	l := &solver.Ledger{Water: solver.WaterLedger{Stored: 1e-10, Residual: -1e-10}}
	// A part in a thousand of 24 t is 24 kg; the roundings are of 1e-28.
	if got, want := f.waterSummary(l).WaterResidualShare, -1e-10/24; math.Abs(got-want) > 1e-24 {
		t.Errorf("rounding of 1e-10 kg in ground that holds 24 t is told as a share of %g, want %g", got, want)
	}
}
