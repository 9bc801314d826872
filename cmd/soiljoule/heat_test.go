package main

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// ring is an invented case of set power alone: a ring fed by a series, and a solid
// rod on the axis.
const ring = `title = "Ring"
note = "Invented scenario."
view = "axisymmetric"
site = { ambient = "12 degC", water_table = "3 m" }
extent = { radius = "8 m", count = 2 }
surface.air = "10 degC"
mesh = { finest = "20 cm", growth = 1.3 }
[[layer]]
name = "clay"
resistivity = "15 ohm*m"
thermal_conductivity = "1.4 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
radius = "3 m"
top = "3 m"
bottom = "5 m"
temperature = "60 degC"
[[heat]]
name = "ring"
power = "FILE"
inner_radius = "2 m"
radius = "2.5 m"
top = "3 m"
bottom = "5 m"
[[heat]]
name = "rod"
power = "2 kW"
radius = "0.3 m"
top = "2 m"
bottom = "4 m"
thermal_conductivity = "40 W/m/K"
heat_capacity = "3.5 MJ/m3/K"
[time]
duration = "8 d"
`

// ringSeries gives 24 kW for four days, then none: by hand, 24 × 96 kWh, plus half
// an hour of the fall.
const ringSeries = "time_h,power_kW\n0,24\n96,24\n97,0\n192,0\n"

// column returns one column of a CSV in a results folder.
func column(t *testing.T, dir, file, name string) []float64 {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(read(t, dir, file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := slices.Index(rows[0], name)
	if at < 0 {
		t.Fatalf("%s has no column %s; it has %v", file, name, rows[0])
	}
	var out []float64
	for _, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[at], 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

// TestSetPowerAlone: a case of set power has no supply, books what its series gives,
// says what set power leaves out, draws its figures without volts, and its folder
// runs again by itself.
func TestSetPowerAlone(t *testing.T) {
	dir := t.TempDir()
	series := write(t, dir, "power.csv", ringSeries)
	file := write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "power.csv", 1))
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")

	out := must(t, done, "check", file).out
	for _, want := range []string{"set power", "power.csv, from 0 to 24 kW", "2–2.5 m", "a solid with its own", "no potential, no current"} {
		if !strings.Contains(out, want) {
			t.Errorf("check does not say %q:\n%s", want, out)
		}
	}
	for _, no := range []string{"cold power", "A a rod", "closed form", "0 V rim"} {
		if strings.Contains(out, no) {
			t.Errorf("check of a case without electrodes says %q", no)
		}
	}
	must(t, done, "check", file, "--json")

	out = must(t, done, "run", file, "-o", a).out
	for _, want := range []string{"energy in, set power", "of that set, ring: 2316 kWh", "carries no potential", "Loads, set power"} {
		if !strings.Contains(out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, out)
		}
	}
	if strings.Contains(out, "A of one rod") || strings.Contains(out, "NaN") {
		t.Errorf("the summary of a case without electrodes speaks of rods or says NaN:\n%s", out)
	}
	energy := column(t, a, "history.csv", "energy_in_kWh")
	// 24 × 96.5 kWh and 2 kW for 192 h; twelve digits are written.
	if got, want := energy[len(energy)-1], 24*96.5+2*192; math.Abs(got-want) > 1e-9*want {
		t.Errorf("energy in is %.12g kWh, want %.12g kWh", got, want)
	}
	power := column(t, a, "history.csv", "power_kW")
	if first, last := power[0], power[len(power)-1]; first != 26 || last != 2 {
		t.Errorf("the power is %v kW at first and %v kW at last, want 26 and 2", first, last)
	}
	for _, name := range []string{"supply.png", "section.png", "profiles.png", "ledger.png", "share.png"} {
		if !slices.Contains(files(t, a), "figures/"+name) {
			t.Errorf("no figure %s: %v", name, files(t, a))
		}
	}
	if svg := read(t, a, "figures", "supply.svg"); strings.Contains(svg, "Lethal") || strings.Contains(svg, "largest rod") {
		t.Error("the figure of set power speaks of volts and amperes")
	}
	if err := os.Remove(series); err != nil {
		t.Fatal(err)
	}
	must(t, done, "run", filepath.Join(a, "case.toml"), "-o", b)
	sameFolders(t, a, b)
}

// TestSetPowerBesideElectrodes: the power of the site is the electrodes' and the set
// one together, and the ledger's energy is their sum.
func TestSetPowerBesideElectrodes(t *testing.T) {
	dir := t.TempDir()
	text := must(t, done, "new", "axisymmetric").out + `
[[heat]]
name = "ring"
power = "3 kW"
inner_radius = "1 m"
radius = "1.5 m"
top = "4 m"
bottom = "5 m"
`
	file := write(t, dir, "site.toml", text)
	with, without := filepath.Join(dir, "with"), filepath.Join(dir, "without")
	short := []string{"--set", "mesh.finest=8 in", "--set", "time.duration=2 d", "--no-figures"}
	out := must(t, done, append([]string{"run", file, "-o", with}, short...)...).out
	must(t, done, append([]string{"run", file, "-o", without, "--set", "heat.ring.power=0 kW"}, short...)...)
	if !strings.Contains(out, "energy in, set power included") || !strings.Contains(out, "A of one rod") {
		t.Errorf("the summary does not tell of both:\n%s", out)
	}
	a, b := column(t, with, "history.csv", "power_kW"), column(t, without, "history.csv", "power_kW")
	if math.Abs(a[0]-b[0]-3) > 1e-9 {
		t.Errorf("3 kW of set power raise the first power from %v to %v kW", b[0], a[0])
	}
}

// TestSeriesByAbsolutePath: a series named by its whole path is copied into the
// folder as well; the path used to be sought below the case's folder once it had
// been read.
func TestSeriesByAbsolutePath(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	power := write(t, elsewhere, "meter.csv", ringSeries)
	air := write(t, elsewhere, "spring.csv", "time_d,air_C\n0,4\n9,9\n")
	text := strings.Replace(strings.Replace(ring, "FILE", power, 1), `"10 degC"`, strconv.Quote(air), 1)
	file := write(t, dir, "ring.toml", text)
	out := filepath.Join(dir, "out")
	must(t, done, "run", file, "--no-figures", "-o", out)
	if got := read(t, out, "heat-1.csv"); got != ringSeries {
		t.Errorf("heat-1.csv holds\n%s", got)
	}
	must(t, done, "check", filepath.Join(out, "case.toml"))
}

// TestStaleSeriesGoes: with --force a folder keeps no series of the run before, and
// all that the user put there.
func TestStaleSeriesGoes(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "power.csv", ringSeries)
	file := write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "power.csv", 1))
	out := filepath.Join(dir, "out")
	must(t, done, "run", file, "--no-figures", "-o", out)
	write(t, out, "heat-notes.csv", "mine\n")
	must(t, done, "run", file, "--no-figures", "--force", "-o", out, "--set", "heat.ring.power=5 kW")
	got := files(t, out)
	if slices.Contains(got, "heat-1.csv") || !slices.Contains(got, "heat-notes.csv") {
		t.Errorf("after a run without a series the folder holds %v; want heat-notes.csv and no heat-1.csv", got)
	}
}
