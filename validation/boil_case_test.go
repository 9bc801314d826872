//dossier:chapter Boiling

package validation

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// boilCase is a block of 5 × 2 × 3 m, closed but for a surface that lets a few hundredths
// of a per cent through, all of it in a body of set power. Its 0.4 of pores are full and
// hold 998.2 kg/m³: a plateau boils 0.95 of that away.
const boilCase = `
title = "Boiling block"
view = "section"
site = { ambient = "10 degC", elevation = "0 ft", water_table = "none" }
extent.length = "3 m"
surface = { air = "10 degC", film = "1 W/m2/K", cover = "1000 m2*K/W" }
domain = { left = "-1 mm", right = "5001 mm", bottom = "2001 mm" }
mesh.finest = "0.5 m"
time.duration = "%g d"
[[layer]]
name = "wet"
resistivity = "50 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.4
saturation = 1.0
inflow = "none"
[[target]]
name = "block"
left = "0 m"
right = "5 m"
top = "0 m"
bottom = "2 m"
temperature = "boiling"
share = 1.0
[[heat]]
name = "block"
left = "0 m"
right = "5 m"
top = "0 m"
bottom = "2 m"
power = "%g kW"
[[sensor]]
name = "middle"
x = "2.5 m"
depth = "1 m"
`

// tablesOf runs a case and returns the tables of its results folder by file and column.
func tablesOf(t *testing.T, text string, names ...string) map[string]map[string][]float64 {
	t.Helper()
	c, err := cases.Parse("case.toml", []byte(text), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	plan := record.Plan{Dir: filepath.Join(t.TempDir(), "out"), Version: "test", Case: []byte(text)}
	for _, s := range c.Sensors {
		for j, z := range s.Depths {
			plan.Sensors = append(plan.Sensors, record.Sensor{Label: s.Labels[j], X: s.X, Z: z})
		}
	}
	for _, g := range c.Targets {
		plan.Targets = append(plan.Targets, g.Name)
	}
	f, err := record.Create(plan, p)
	if err != nil {
		t.Fatal(err)
	}
	last, err := solver.Run(t.Context(), p, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(last, true, c.Cautions(), func(*record.Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string][]float64{}
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(plan.Dir, name))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		out[name] = map[string][]float64{}
		for i, col := range rows[0] {
			for _, row := range rows[1:] {
				v, err := strconv.ParseFloat(row[i], 64)
				if err != nil {
					v = math.NaN()
				}
				out[name][col] = append(out[name][col], v)
			}
		}
	}
	return out
}

// TestCaseOfCondensate: a case of 142 kW of set power on its plateau has one US gallon
// of condensate a minute in its steam.csv, within a percent: 3.7854 L/min × 998.2 kg/m³ ×
// 2256.5 kJ/kg = 142.1 kW; its kilograms an hour are the power over the latent heat; and
// the plateau lasts the latent heat of the water that can go over the power. 142 is
// printed to three digits, ±0.35 %, and the surface lets 0.001 of it through at most.
// Source: arithmetic with IAPWS R7-97(2012); the gallon is 231 cubic inches.
func TestCaseOfCondensate(t *testing.T) {
	const power = 142e3                       // [W]
	const volume = 30.0                       // [m³]
	warm := volume * 2.9e6 * 91 / power / day // [d] the bulk capacity grows by a percent up to there
	plateau := 0.95 * 0.4 * 998.2 * volume * latentHeat / power / day
	got := tablesOf(t, fmt.Sprintf(boilCase, 1.05*(warm+plateau), power/1e3), "steam.csv", "sensors.csv", "balance.csv")
	steam, sensor := got["steam.csv"], got["sensors.csv"]
	days := steam["time_d"]
	on := 0
	for i, d := range days {
		if d < 1.1*warm || d > warm+0.9*plateau {
			continue
		}
		on++
		if gpm := steam["condensate_gpm"][i]; !(math.Abs(gpm-1) <= 0.01) {
			t.Errorf("on day %.4g the case of 142 kW boils %.6g gpm, want 1.0 within a percent", d, gpm)
		}
	}
	if on < 5 {
		t.Fatalf("%d rows of steam.csv lie on the plateau, want 5", on)
	}
	i := 0
	for days[i] < warm+plateau/2 {
		i++
	}
	hold(t, check{"condensate of a case of 142 kW, half way through its plateau", iapws, steam["condensate_gpm"][i], 1.0, "gpm", 0.01})
	hold(t, check{"steam of a case of 142 kW, half way through its plateau", iapws, steam["steam_kg_per_h"][i], power / latentHeat * 3600, "kg/h", 0.002 * power / latentHeat * 3600})
	for name, v := range sensor {
		if name == "time_d" {
			continue
		}
		first, last := math.NaN(), math.NaN()
		for i, T := range v {
			if math.Abs(T-(boilsAt-273.15)) < 0.01 {
				if math.IsNaN(first) {
					first = sensor["time_d"][i]
				}
				last = sensor["time_d"][i]
			}
		}
		t.Logf("%s: from day %.4g to %.4g in %d rows", name, first, last, len(v))
		hold(t, check{"plateau of a case fed at a constant power per volume", iapws, last - first, plateau, "d", 0.01 * plateau})
	}
}
