package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/sbinet/npyio"

	"soiljoule/cases"
)

// wholeFolder fails for a number that is none in any file of a results folder,
// for a ledger that is open and for steps without end.
func wholeFolder(t *testing.T, dir, text string) {
	t.Helper()
	if _, err := cases.Load(filepath.Join(dir, "case.toml"), nil); err != nil {
		t.Fatalf("the case that the folder holds is refused: %v\n%s", err, text)
	}
	dry := strings.Contains(text, "boiling = false") // then nothing has a boiling point
	for _, name := range files(t, dir) {
		switch filepath.Ext(name) {
		case ".csv":
			rows, err := csv.NewReader(strings.NewReader(read(t, dir, name))).ReadAll()
			if err != nil {
				t.Fatalf("%s does not read: %v\n%s", name, err, text)
			}
			for i, row := range rows {
				for j, cell := range row {
					if v, err := strconv.ParseFloat(cell, 64); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
						t.Fatalf("%s holds %s in row %d, column %s\n%s", name, cell, i, rows[0][j], text)
					}
				}
			}
			if name == "balance.csv" {
				closed(t, rows, zoneKelvin(t, dir), text)
			}
		case ".npy":
			if strings.HasPrefix(name, "mesh/") && !strings.Contains(name, "edges") {
				continue // whole numbers
			}
			f, err := os.Open(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			var field []float64
			err = npyio.Read(f, &field)
			f.Close()
			if err != nil {
				t.Fatalf("%s does not read: %v\n%s", name, err, text)
			}
			for i, v := range field {
				never := math.IsNaN(v) && (strings.HasPrefix(name, "fields/days_to_target") || strings.HasPrefix(name, "state/target") || name == "fields/boiling_point.npy" && dry)
				// What ground that never boils has to reach, where the target is to boil.
				beyond := math.IsInf(v, 1) && strings.HasPrefix(name, "state/target") && strings.HasSuffix(name, ".wanted.npy")
				if math.IsInf(v, 0) && !beyond || math.IsNaN(v) && !never {
					t.Fatalf("%s holds %g at %d\n%s", name, v, i, text)
				}
			}
		}
	}
	if s := runOf(t, dir); s.Steps+s.Refused > mostSteps {
		t.Fatalf("%d steps and %d refused, want at most %d together\n%s", s.Steps, s.Refused, mostSteps, text)
	}
}

// zoneKelvin returns the heat [kWh] that warms the first target by 1 K at the
// largest capacity that a layer can have, 10 MJ/m3/K.
func zoneKelvin(t *testing.T, dir string) float64 {
	t.Helper()
	var s struct {
		Volume float64 `json:"target_volume_m3"`
	}
	if err := json.Unmarshal([]byte(read(t, dir, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	return s.Volume * 10 / 3.6
}

// closed fails unless every row of the ledger adds up to within 1e-8 of the
// largest of energy in, change stored and 1 K in the zone, as the program
// promises; and, as each of nine terms is printed to twelve digits, within half a
// unit of the last digit of each.
func closed(t *testing.T, rows [][]string, kelvin float64, text string) {
	t.Helper()
	for i, row := range rows[1:] {
		v := map[string]float64{}
		largest := 0.0
		for j, h := range rows[0] {
			if x, err := strconv.ParseFloat(row[j], 64); err == nil {
				v[h] = x
				if strings.HasSuffix(h, "_kWh") {
					largest = math.Max(largest, math.Abs(x))
				}
			}
		}
		got := v["energy_in_kWh"] + v["water_in_kWh"]
		for _, h := range []string{"stored_target", "stored_outside", "steam_out", "loss_surface", "loss_below", "loss_sides", "carried_by_water"} {
			got -= v[h+"_kWh"]
		}
		scale := math.Max(math.Max(v["energy_in_kWh"], math.Abs(v["stored_target_kWh"]+v["stored_outside_kWh"])), kelvin)
		if tol := 1e-8*scale + 9*5e-12*largest; math.Abs(got) > tol {
			t.Fatalf("row %d of the ledger misses %.3g kWh, want at most %.3g\n%s", i+1, got, tol, text)
		}
	}
}
