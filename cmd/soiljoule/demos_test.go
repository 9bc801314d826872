package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// TestDemosRun: every case file that comes with the program is checked without a word on
// stderr and runs, coarsely and for three days, to its end, with a ledger that closes and a
// first line that answers for its target. The command in each file's head is its own.
func TestDemosRun(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every case file")
	}
	files, err := filepath.Glob("../../cases/*.toml")
	if err != nil || len(files) < 7 {
		t.Fatalf("there are %d case files (%v), want at least seven", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".toml")
		if head := read(t, file); !strings.Contains(head, "go run ./cmd/soiljoule run cases/"+name+".toml") {
			t.Errorf("%s does not say how to run it", file)
		}
		if o := must(t, done, "check", file); o.err != "" {
			t.Errorf("check of %s wrote %q on stderr, want nothing", file, o.err)
		}
		dir := filepath.Join(t.TempDir(), name)
		ran := runInto(t, dir, file, "--json")
		var s struct {
			EnergyIn float64  `json:"energy_in_kWh"`
			Open     float64  `json:"balance_error_share"`
			Cautions []string `json:"cautions"`
		}
		if err := json.Unmarshal([]byte(ran.out), &s); err != nil {
			t.Fatalf("%s: run --json does not decode: %v", file, err)
		}
		// Fluxes cross faces once out and once in: what is open is rounding of their sums.
		if !(s.EnergyIn > 0) || !(math.Abs(s.Open) < 1e-9) || len(s.Cautions) == 0 {
			t.Errorf("%s: %g kWh went in, the ledger is open by %g of it, with %d cautions; want heat, a closed ledger and cautions", file, s.EnergyIn, s.Open, len(s.Cautions))
		}
		if text := read(t, dir, "summary.txt"); !strings.Contains(strings.SplitN(text, "\n", 2)[0], " % of ") {
			t.Errorf("%s: the summary begins with %.80q, want the share of its target", file, text)
		}
	}
}

// TestStackedElements: in the bedrock bench the upper elements are off and float, pass no
// current and have no resistance to tell; with their switch closed and a tap of 160 V they
// are at that, the lower ones at the supply's 280 V.
func TestStackedElements(t *testing.T) {
	const bench = "../../cases/bedrock-bench.toml"
	list := func(sets ...string) checked {
		args := []string{"check", bench, "--json", "--set", "mesh.finest=12 in", "--set", "supply.power_limit=900 kW"}
		for _, s := range sets {
			args = append(args, "--set", s)
		}
		var c checked
		if err := json.Unmarshal([]byte(must(t, done, args...).out), &c); err != nil {
			t.Fatal(err)
		}
		return c
	}
	off, both := list(), list("change[1].on=true", "array.U.voltage=160 V")
	upper, lower := 0, 0
	for i, e := range off.Electrodes {
		on := both.Electrodes[i]
		switch e.Name[0] {
		case 'U':
			upper++
			// Their potentials make the currents nought to the rounding of the lower ones' 20 A.
			if !(e.ModelA < 1e-9) || e.ModelOhm != 0 || e.Own == nil || !e.Own.Off {
				t.Errorf("%s is off and has %g A, %g ohm, own %+v; want no current and no resistance", e.Name, e.ModelA, e.ModelOhm, e.Own)
			}
			if on.Own == nil || on.Own.Off || on.Own.TapV == nil || *on.Own.TapV != 160 || !(math.Abs(on.Own.VoltageV-160) < 1e-9) || !(on.ModelA > 1) {
				t.Errorf("%s on its tap has %g A and own %+v, want a current at 160 V", on.Name, on.ModelA, on.Own)
			}
		case 'L':
			lower++
			if on.Own != nil || !(math.Abs(on.ModelA*on.ModelOhm-280) < 1e-9) {
				t.Errorf("%s has %g V by A times ohm and own %+v, want the supply's 280 V", on.Name, on.ModelA*on.ModelOhm, on.Own)
			}
		}
	}
	if upper != 7 || lower != 7 {
		t.Errorf("there are %d upper and %d lower elements, want 7 and 7", upper, lower)
	}
}
