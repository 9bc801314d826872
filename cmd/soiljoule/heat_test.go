package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
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
	for _, want := range []string{"energy in, set power", "of that set, ring: 2316 kWh", "carries no potential", "Set power: first 26.00 kW, peak 26.00 kW on day 0.00, last 2.000 kW, mean 14.06 kW\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, out)
		}
	}
	if strings.Contains(out, "Loads") || strings.Contains(out, "A of one rod") || strings.Contains(out, "NaN") {
		t.Errorf("the summary of a case without electrodes speaks of rods or says NaN:\n%s", out)
	}
	energy := column(t, a, "history.csv", "energy_in_kWh")
	// 24 × 96.5 kWh and 2 kW for 192 h; twelve digits are written.
	if got, want := energy[len(energy)-1], 24*96.5+2*192; math.Abs(got-want) > 1e-9*want {
		t.Errorf("energy in is %.12g kWh, want %.12g kWh", got, want)
	}
	power := column(t, a, "history.csv", "set_power_kW")
	if first, last := power[0], power[len(power)-1]; first != 26 || last != 2 {
		t.Errorf("the power is %v kW at first and %v kW at last, want 26 and 2", first, last)
	}
	if slices.Max(column(t, a, "history.csv", "power_kW")) != 0 {
		t.Error("a case without electrodes has a power of the supply")
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

// TestPulseIsTold: a pulse of half an hour between two steps is the peak of the
// summary, stands in the history and is drawn; it used to be lost, and the peak lay
// below the mean. By hand: 5 kW for 70 d and 95 kW × 0.04 d / 2 more.
func TestPulseIsTold(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "power.csv", "time_d,power_kW\n0,5\n30,5\n30.02,100\n30.04,5\n70,5\n")
	file := write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "power.csv", 1))
	out := filepath.Join(dir, "out")
	text := must(t, done, "run", file, "-o", out, "--set", "heat.rod.power=0 kW", "--set", "time.duration=70 d", "--set", "mesh.finest=30 cm", "--no-figures").out
	must(t, done, "figures", out, "--only", "supply")
	if want := "Set power: first 5.000 kW, peak 100.0 kW on day 30.02, last 5.000 kW, mean 5.027 kW\n"; !strings.Contains(text, want) {
		t.Errorf("the summary does not say %q:\n%s", want, text)
	}
	var s struct {
		First  float64 `json:"set_power_first_kW"`
		Mean   float64 `json:"set_power_mean_kW"`
		Max    float64 `json:"set_power_max_kW"`
		Day    float64 `json:"set_power_max_day"`
		Energy float64 `json:"set_energy_kWh"`
		All    float64 `json:"energy_in_kWh"`
		Supply float64 `json:"power_max_kW"`
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	want := 5*70*24 + 95*0.04*24/2
	for name, v := range map[string][2]float64{"first": {s.First, 5}, "mean": {s.Mean, want / 70 / 24}, "max": {s.Max, 100}, "day of the max": {s.Day, 30.02},
		"energy": {s.Energy, want}, "energy in": {s.All, want}} {
		if math.Abs(v[0]-v[1]) > 1e-9*v[1] {
			t.Errorf("summary.json has the set power's %s as %.12g, want %.12g", name, v[0], v[1])
		}
	}
	if s.Supply != 0 {
		t.Errorf("power_max_kW of a case without electrodes is %v, want 0", s.Supply)
	}
	if got := slices.Max(column(t, out, "history.csv", "set_power_max_kW")); got != 100 {
		t.Errorf("the largest set_power_max_kW of history.csv is %v, want 100", got)
	}
	if !strings.Contains(read(t, out, "figures", "supply.csv"), "\n30.02,,,,,,,100\n") {
		t.Error("the figure's table does not hold the pulse")
	}
}

// TestWattsBelowAKilowatt: powers below 1 kW are written in watts.
func TestWattsBelowAKilowatt(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "power.csv", "time_d,power_W\n0,0\n1,9\n8,4\n")
	file := write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "power.csv", 1))
	out := filepath.Join(dir, "out")
	short := []string{"--set", "heat.rod.power=0 kW", "--set", "mesh.finest=30 cm"}
	text := must(t, done, append([]string{"run", file, "-o", out, "--no-figures"}, short...)...).out
	must(t, done, "figures", out, "--only", "supply")
	// The mean by hand: (4.5 + 7 × 6.5)/8 = 6.25 W.
	if want := "Set power: first 0 W, peak 9.000 W on day 1.00, last 4.000 W, mean 6.250 W\n"; !strings.Contains(text, want) {
		t.Errorf("the summary does not say %q:\n%s", want, text)
	}
	if svg := read(t, out, "figures", "supply.svg"); !strings.Contains(svg, "W, set") || strings.Contains(svg, "kW, set") {
		t.Error("the figure of some watts is not in watts")
	}
	text = must(t, done, append([]string{"check", file}, short...)...).out
	if !strings.Contains(text, "power.csv, from 0 to 9 W,") || !strings.Contains(text, "mean W/m3") {
		t.Errorf("check does not write some watts in watts:\n%s", text)
	}
	// A supply of some watts: a hundredth of the demo's voltage.
	text = must(t, done, "run", cell, "--set", "supply.voltage=1 V", "--set", "time.duration=1 d", "--set", "mesh.finest=8 in", "--no-figures", "-o", filepath.Join(dir, "cell")).out
	if !regexp.MustCompile(`(?m)^  peak +[0-9.]+ W on day `).MatchString(text) || strings.Contains(text, " kW ") {
		t.Errorf("the loads of some watts are not in watts:\n%s", text)
	}
}

// TestSetPowerBesideElectrodes: the loads are the supply's, as no limit holds what is
// set; that is told beside them, and the ledger's energy is the sum of both.
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
	for _, want := range []string{"energy in, set power included", "\n    of that set power ", "A of one rod", "\nSet power: first 3.000 kW", "no part of the loads above"} {
		if !strings.Contains(out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, out)
		}
	}
	a, b := column(t, with, "history.csv", "power_kW"), column(t, without, "history.csv", "power_kW")
	if a[0] != b[0] {
		t.Errorf("3 kW of set power move the supply's first power from %v to %v kW", b[0], a[0])
	}
	for _, kW := range column(t, with, "history.csv", "set_power_kW") {
		if kW != 3 {
			t.Errorf("history.csv has %v kW of set power, want 3", kW)
		}
	}
	var s struct {
		Mean   float64 `json:"power_mean_kW"`
		Max    float64 `json:"power_max_kW"`
		Set    float64 `json:"set_energy_kWh"`
		Energy float64 `json:"energy_in_kWh"`
	}
	if err := json.Unmarshal([]byte(read(t, with, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	// 3 kW for two days; the ledger and a product round to 1e-12, and history.csv to its
	// twelve digits.
	if s.Set != 144 || math.Abs(s.Energy-s.Mean*48-144) > 1e-9*s.Energy || math.Abs(s.Max-slices.Max(a)) > 1e-11*s.Max {
		t.Errorf("summary.json has %v kWh of set power of %v kWh in, a mean of %v kW and at most %v kW of the supply; want 144 kWh, the mean of the rest and at most %v kW",
			s.Set, s.Energy, s.Mean, s.Max, slices.Max(a))
	}
	limited := must(t, done, append([]string{"run", file, "-o", filepath.Join(dir, "limited"), "--set", "supply.power_limit=10 kW", "--set", "extent.count=32"}, short...)...)
	if got := slices.Max(column(t, filepath.Join(dir, "limited"), "history.csv", "power_kW")); got > 10*(1+1e-9) {
		t.Errorf("with a limit of 10 kW the supply's power is %v kW:\n%s", got, limited.out)
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

// TestFrozenGroundIsCounted: a run of ground below 0 °C says that freezing is left out,
// and of how many cells; one of warm ground says neither.
func TestFrozenGroundIsCounted(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "power.csv", ringSeries)
	file := write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "power.csv", 1))
	args := func(name, ambient string) []string {
		return []string{"run", file, "-o", filepath.Join(dir, name), "--no-figures", "--set", "site.ambient=" + ambient, "--set", "time.duration=1 d", "--set", "mesh.finest=30 cm"}
	}
	cold := must(t, done, args("cold", "-20 degC")...).out
	var counted struct {
		Cells int `json:"cells"`
		Below int `json:"cells_below_0C"`
	}
	if err := json.Unmarshal([]byte(read(t, filepath.Join(dir, "cold"), "run.json")), &counted); err != nil {
		t.Fatal(err)
	}
	if counted.Below < counted.Cells/2 || counted.Below > counted.Cells {
		t.Errorf("of %d cells of ground at -20 °C, %d are counted as below 0 °C, want most of them", counted.Cells, counted.Below)
	}
	for _, want := range []string{"Below 0 °C (32 °F): the ground at the start (-20 °C, -4 °F).", "as if its water were liquid",
		fmt.Sprintf("Up to %d of %d cells were below 0 °C (32 °F): computed as if their water were liquid", counted.Below, counted.Cells)} {
		if !strings.Contains(cold, want) {
			t.Errorf("the summary of ground at -20 °C does not say %q:\n%s", want, cold)
		}
	}
	if warm := must(t, done, args("warm", "5 degC")...).out; strings.Contains(warm, "elow 0 °C") {
		t.Errorf("the summary of ground at 5 °C speaks of frost:\n%s", warm)
	}
}
