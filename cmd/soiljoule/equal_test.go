package main

import (
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
)

// customary is a small section in feet and °F; metric is the same in metres and
// °C, with every number an exact multiple, so both must read to the same bits.
const customary = `title = "Twice"
note = "Invented scenario."
view = "section"
[site]
ambient = "59 degF"
elevation = "500 ft"
water_table = "5 ft"
resistivity_at = "77 degF"
[extent]
length = "50 ft"
[surface]
air = "50 degF"
[[layer]]
name = "sand"
bottom = "5 ft"
resistivity = "500 ohm*ft"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.1 MJ/m3/K"
porosity = 0.35
saturation = 0.5
[[layer]]
name = "clay"
resistivity = "50 ohm*ft"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
temperature_coefficient = "0.009 1/degF"
[[target]]
name = "zone"
left = "10 ft"
right = "30 ft"
top = "5 ft"
bottom = "10 ft"
temperature = "95 degF"
share = 0.5
hold = "12 h"
[[array]]
pattern = "triangular"
spacing = "5 yd"
top = "4 ft 6 in"
bottom = "10 ft 6 in"
radius = "6 in"
[supply]
phases = 3
voltage = "200 V"
voltage_basis = "phase to neutral"
power_limit = "60 kW"
[[sensor]]
name = "T1"
x = "20 ft"
depth = "7.5 ft"
[time]
duration = "4 d"
tolerance = "0.36 degF"
[mesh]
finest = "12 in"
`

var metric = strings.NewReplacer(
	`"59 degF"`, `"15 degC"`, `"500 ft"`, `"152.4 m"`, `"77 degF"`, `"25 °C"`, `"50 ft"`, `"15.24 m"`, `"50 degF"`, `"283.15 K"`,
	`"500 ohm*ft"`, `"152.4 ohm*m"`, `"50 ohm*ft"`, `"15.24 ohm*m"`, `"0.009 1/degF"`, `"0.0162 1/K"`,
	`"10 ft"`, `"3.048 m"`, `"30 ft"`, `"9144 mm"`, `"5 ft"`, `"152.4 cm"`, `"95 degF"`, `"35 degC"`,
	`"5 yd"`, `"4.572 m"`, `"4 ft 6 in"`, `"1.3716 m"`, `"10 ft 6 in"`, `"3.2004 m"`, `"6 in"`, `"15.24 cm"`,
	`"20 ft"`, `"6.096 m"`, `"7.5 ft"`, `"2.286 m"`, `"12 h"`, `"0.5 d"`, `"4 d"`, `"96 h"`, `"0.36 degF"`, `"0.2 K"`, `"12 in"`, `"30.48 cm"`,
	`"200 V"`, `"0.2 kV"`, `"60 kW"`, `"60000 W"`,
).Replace(customary)

// TestFeetAndMetres: the same case in feet and °F and in metres and °C gives
// the same folder, byte by byte, case.toml included. (A string of sensors would
// differ in the names of its columns, which quote the depths as written.)
func TestFeetAndMetres(t *testing.T) {
	for _, word := range []string{" ft", "degF", " in\"", "yd"} {
		if strings.Contains(strings.ReplaceAll(metric, "\nnote", ""), word) {
			t.Fatalf("the metric case still has %q in it:\n%s", word, metric)
		}
	}
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	must(t, done, "run", write(t, dir, "us.toml", customary), "--no-figures", "-o", a)
	must(t, done, "run", write(t, dir, "si.toml", metric), "--no-figures", "-o", b)
	sameFolders(t, a, b)
	if x, y := runOf(t, a).CaseHash, runOf(t, b).CaseHash; x != y {
		t.Errorf("the case in feet has the hash %.8s, the same in metres %.8s, want them equal", x, y)
	}
	if !strings.Contains(read(t, a, "summary.txt"), "50 % of zone at 35 °C (95 °F): day ") {
		t.Errorf("the case in feet does not reach its target, so the test compares less than it could:\n%s", read(t, a, "summary.txt"))
	}
}

// TestDeterminism: the same case twice, and on one processor and on two, gives
// the same bytes.
func TestDeterminism(t *testing.T) {
	for _, file := range []string{cell, plates, yard} {
		if file == yard && testing.Short() {
			continue
		}
		dir := t.TempDir()
		first := filepath.Join(dir, "first")
		runInto(t, first, file)
		for _, n := range []int{1, 2} {
			before := runtime.GOMAXPROCS(n)
			out := filepath.Join(dir, "again", string(rune('0'+n)))
			runInto(t, out, file)
			runtime.GOMAXPROCS(before)
			sameFolders(t, first, out)
		}
	}
}

// TestCoresDoNotMatter: runs large enough for their loops to be shared out give the
// same bytes on one processor and on three.
func TestCoresDoNotMatter(t *testing.T) {
	if testing.Short() {
		t.Skip("runs of 20 000 cells")
	}
	for _, c := range []struct {
		file string
		sets []string
	}{
		// Three phases, rows; and water that boils near the rod's wall within a day.
		{yard, []string{"mesh.finest=1.5 in", "time.duration=1 d"}},
		{cell, []string{"mesh.finest=0.7 in", "mesh.growth=1.06", "time.duration=0.5 d", "supply.voltage=250 V"}},
	} {
		if !long && c.file == yard {
			continue
		}
		dir := t.TempDir()
		run := func(processors int) string {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
			out := filepath.Join(dir, strconv.Itoa(processors))
			args := []string{"run", c.file, "-o", out, "--no-figures", "-q"}
			for _, s := range c.sets {
				args = append(args, "--set", s)
			}
			must(t, done, args...)
			return out
		}
		sameFolders(t, run(1), run(3))
	}
}
