package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// taps is an invented section of three rows, of which one has a tap and one a limit of
// their own, and of a pipe; one is switched off on day 1.
const taps = `title = "Taps"
note = "Invented scenario."
view = "section"
site = { ambient = "12 degC", water_table = "2 m" }
extent = { length = "20 m" }
surface.air = "10 degC"
mesh = { finest = "25 cm", growth = 1.3 }
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.4 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
left = "0 m"
right = "9 m"
top = "2 m"
bottom = "4 m"
temperature = "60 degC"
[[electrode]]
name = "A1"
phase = "A"
x = "1 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
rod_spacing = "4 m"
[[electrode]]
name = "B1"
phase = "B"
x = "4 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
rod_spacing = "4 m"
voltage = "80 V"
[[electrode]]
name = "C1"
phase = "C"
x = "7 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
rod_spacing = "4 m"
current_limit = "18 A"
[[conductor]]
name = "pipe"
left = "2 m"
right = "2.5 m"
top = "0.5 m"
bottom = "1 m"
[supply]
phases = 3
voltage = "120 V"
voltage_basis = "phase to neutral"
[[change]]
at = "1 d"
electrode = "B1"
on = false
[[change]]
at = "3 d"
electrode = "B1"
on = true
[time]
duration = "4 d"
`

// TestTapsAreTold: the folder and what is printed tell of each electrode by itself: its
// voltage, what holds it, and the potential of the pipe; figures take them.
func TestTapsAreTold(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	out := filepath.Join(dir, "out")
	ran := must(t, done, "run", path, "-o", out, "-q", "--no-figures")
	must(t, done, "figures", out, "--only", "supply,section")
	for _, want := range []string{"C1 held back alone by its own current limit first on day 0.0", "Buried metal pipe: cold "} {
		if !strings.Contains(ran.out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, ran.out)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(read(t, out, "electrodes.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	largest := 0.0
	for _, r := range rows[1:] {
		largest = math.Max(largest, number(r[4]))
	}
	for _, r := range rows[1:] {
		day, name, phase, volts, amps, by := number(r[0]), r[1], r[2], number(r[3]), number(r[4]), r[6]
		off := day >= 1 && day < 3
		switch name {
		case "A1":
			if volts != 120 || by != "" {
				t.Errorf("day %g: A1 is at %g V, held by %q", day, volts, by)
			}
		case "B1":
			if off && (by != "off" || amps > 1e-9*largest || volts <= 0 || volts >= 120) || !off && (by != "" || math.Abs(volts-80) > 1e-9) {
				t.Errorf("day %g: B1 is at %g V with %g A, held by %q", day, volts, amps, by)
			}
		case "C1":
			// Between solutions of the potential its own voltage stays: what the power may then
			// be wrong by, 1e-3, the current may pass the limit by.
			most := 18 * (1 + 1e-3)
			if day == 0 || day == 4 {
				most = 18 * (1 + 1e-9)
			}
			if amps > most || by == "own current" && volts >= 120 || by != "own current" && volts != 120 {
				t.Errorf("day %g: C1 is at %g V with %g A, held by %q", day, volts, amps, by)
			}
		case "pipe":
			if phase != "-" || !(amps > 0) || number(r[5]) != 0 || volts <= 0 || by != "" {
				t.Errorf("day %g: the pipe, phase %q, is at %g V with %g A, held by %q", day, phase, volts, amps, by)
			}
		}
	}
	// Electrodes' powers times their rods are the whole, in the order of history.csv.
	history, err := csv.NewReader(strings.NewReader(read(t, out, "history.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range history[1:] {
		sum := 0.0
		for _, r := range rows[1+4*i : 1+4*i+3] {
			sum += number(r[5]) * 20 / 4
		}
		if kW := number(h[1]); math.Abs(sum-kW) > 1e-9*kW {
			t.Errorf("day %s: the electrodes take %.12g kW and the whole is %.12g kW", h[0], sum, kW)
		}
	}
	var summary struct {
		Conductors []struct {
			Name  string
			First float64 `json:"potential_first_V"`
			Max   float64 `json:"potential_max_V"`
		}
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &summary); err != nil {
		t.Fatal(err)
	}
	if c := summary.Conductors; len(c) != 1 || c[0].Name != "pipe" || !(c[0].First > 0 && c[0].Max >= c[0].First) {
		t.Errorf("summary.json tells of buried metal %+v", c)
	}
	if svg := read(t, out, "figures", "supply.svg"); !strings.Contains(svg, "Held by a limit of their own: C1.") {
		t.Error("the figure of the supply does not name the electrode that its own limit holds")
	}
	if svg := read(t, out, "figures", "section.svg"); !strings.Contains(svg, "buried metal") {
		t.Error("the section does not show the buried metal")
	}

	checked := must(t, done, "check", path)
	for _, want := range []string{"  B1: own voltage 80 V RMS phase to neutral; cold at 80 V", "  C1: own current limit 18 A a rod; cold at ", "buried metal", "\npipe "} {
		if !strings.Contains(checked.out, want) {
			t.Errorf("check does not say %q:\n%s", want, checked.out)
		}
	}
	again := filepath.Join(dir, "again")
	must(t, done, "run", filepath.Join(out, "case.toml"), "-o", again, "-q", "--no-figures")
	if read(t, out, "electrodes.csv") != read(t, again, "electrodes.csv") {
		t.Error("the case as understood runs to other electrodes")
	}
}

// TestWhoMeetsTheLimit: where the supply's current limit holds, summary and figure name the
// electrode that it holds at.
func TestWhoMeetsTheLimit(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	out := filepath.Join(dir, "out")
	ran := must(t, done, "run", path, "-o", out, "-q", "--no-figures", "--set", "supply.current_limit=15 A")
	must(t, done, "figures", out, "--only", "supply")
	rows, err := csv.NewReader(strings.NewReader(read(t, out, "electrodes.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	name, most := "", 0.0
	for _, r := range rows[1:5] { // cold, where it holds from the start
		if v, _ := strconv.ParseFloat(r[4], 64); v > most {
			name, most = r[1], v
		}
	}
	if math.Abs(most-15) > 1e-9 {
		t.Fatalf("cold, the largest current is %g A: the test asks less than it says", most)
	}
	if want := "held back by the current limit first on day 0.0, at " + name; !strings.Contains(ran.out, want) {
		t.Errorf("the summary does not say %q:\n%s", want, ran.out)
	}
	if svg := read(t, out, "figures", "supply.svg"); !strings.Contains(svg, "Current limit first met at "+name+", on day 0.0.") {
		t.Errorf("the figure does not name %s", name)
	}
}
