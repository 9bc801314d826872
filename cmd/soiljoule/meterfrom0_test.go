package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestMeterThatBeginsAtZero: a metered power that rises from 0 kW at power-on is told as
// metered from the first row of electrodes.csv on, of an electrode with a voltage of its own
// too, and the figure has no time off; check says why there is no cold power. One that stays at
// 0 for a day is off till then.
func TestMeterThatBeginsAtZero(t *testing.T) {
	dir := t.TempDir()
	ramp := write(t, dir, "ramp.csv", "time_d,power_kW\n0,0\n4,10\n")
	late := write(t, dir, "late.csv", "time_d,power_kW\n0,0\n1,0\n4,10\n")
	alike := write(t, dir, "alike.toml", strings.NewReplacer("current_limit = \"18 A\"\n", "", "voltage = \"80 V\"\n", "").
		Replace(taps[:strings.Index(taps, "[[change]]")]+taps[strings.Index(taps, "[time]"):]))
	own := write(t, dir, "own.toml", strings.Replace(taps, "current_limit = \"18 A\"\n", "", 1))
	by := func(path, meter string) (first []string, svg string) {
		out := filepath.Join(t.TempDir(), "out")
		must(t, done, "run", path, "--set", "supply.metered="+meter, "-o", out, "--no-figures", "-q")
		must(t, done, "figures", out, "--only", "supply")
		for _, row := range strings.Split(strings.TrimSpace(read(t, out, "electrodes.csv")), "\n")[1:] {
			if f := strings.Split(row, ","); f[0] == "0" && f[2] != "-" {
				first = append(first, f[6])
			}
		}
		return first, read(t, out, "figures", "supply.svg")
	}
	for _, path := range []string{alike, own} {
		first, svg := by(path, ramp)
		if strings.Join(first, " ") != "metered metered metered" || strings.Contains(svg, ">off<") {
			t.Errorf("%s, from 0 kW: the first rows are limited by %q, the figure says off: %v", filepath.Base(path), first, strings.Contains(svg, ">off<"))
		}
		first, svg = by(path, late)
		if strings.Join(first, " ") != "off off off" || !strings.Contains(svg, ">off<") {
			t.Errorf("%s, 0 kW for a day: the first rows are limited by %q, the figure says off: %v", filepath.Base(path), first, strings.Contains(svg, ">off<"))
		}
		said := must(t, done, "check", path, "--set", "supply.metered="+ramp).out
		if !strings.Contains(said, "No cold power: the metered power of supply.metered begins at 0.") || !strings.Contains(said, "cold power 0.0 kW at 0 V RMS phase to neutral, as metered, no limit applied") {
			t.Errorf("%s: check says\n%s", filepath.Base(path), said)
		}
	}
}
