package main

import (
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soiljoule/cases"
	"soiljoule/physics"
)

// TestImplausible: a cold current that no rod carries, and a run into which no energy
// came, are told of with what to look at; the sound case has neither.
func TestImplausible(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	write(t, dir, "out.csv", "from_d,to_d\n0,9\n")
	write(t, dir, "none.csv", "time_d,power_kW\n0,0\n9,0\n")
	unlimited := strings.Replace(taps, "current_limit = \"18 A\"\n", "", 1)
	loose := write(t, dir, "loose.toml", unlimited)
	alone := write(t, dir, "alone.toml", taps+"\n[[change]]\nat = \"0 d\"\nelectrode = \"B1\"\non = false\n[[change]]\nat = \"0 d\"\nelectrode = \"C1\"\non = false\n")
	idle := "No energy came in: "
	for _, c := range []struct {
		name, file string
		sets       []string
		run, check string // "" : neither is said
	}{
		{"sound", path, nil, "", ""},
		{"kilovolts", loose, []string{"supply.voltage=20 kV", "time.duration=1 s"}, "A cold, more than 1000 A", "A cold, more than 1000 A"},
		{"no volts", path, []string{"supply.voltage=0 V", "electrode.B1.voltage=0 V"}, idle + "no voltage is set", "No cold power: no voltage is set"},
		{"warm enough", path, []string{"control.setpoint=5 degC"}, idle + "[control] holds the supply off", "No cold power: [control]"},
		{"outage", path, []string{"supply.outages=out.csv"}, idle + "the supply is off by supply.outages", "No cold power: the supply is off by supply.outages"},
		{"one phase on", alone, []string{"time.duration=1 d"}, idle + "all electrodes are off, those that are on are on one phase", "No cold power: all electrodes are off, those that are on are on one phase"},
		{"meter", loose, []string{"supply.metered=none.csv"}, idle + "the metered power of supply.metered is 0", "No cold power: the metered power"},
	} {
		var args []string
		for _, s := range c.sets {
			args = append(args, "--set", s)
		}
		for command, want := range map[string]string{"run": c.run, "check": c.check} {
			words := append([]string{command, c.file}, args...)
			if command == "run" {
				words = append(words, "-q", "--no-figures", "-o", filepath.Join(dir, c.name))
			}
			out := must(t, done, words...).out
			said := strings.Contains(out, "No energy came in") || strings.Contains(out, "No cold power") || strings.Contains(out, "more than 1000 A")
			if want == "" && said || !strings.Contains(out, want) {
				t.Errorf("%s: %s says\n%s\nwant %q", c.name, command, out, want)
			}
		}
	}
}

// TestMeteredVoltageIsTold: a metered drive is not held to supply.voltage, and the cautions
// tell what it reached.
func TestMeteredVoltageIsTold(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", strings.Replace(taps, "current_limit = \"18 A\"\n", "", 1))
	write(t, dir, "power.csv", "time_d,power_kW\n0,3\n9,3\n")
	out := must(t, done, "run", path, "-q", "--no-figures", "-o", filepath.Join(dir, "out"), "--set", "supply.metered=power.csv").out
	for _, want := range []string{"Electrodes reach the voltage that the metered power asks for", "The highest voltage that the metered power asked for was ", "in proportion"} {
		if !strings.Contains(out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, out)
		}
	}
}

// TestOwnLimitIsPlain: an electrode that its own limit holds, or that is off, has no
// resistance of its own in check; no net current passes it or buried metal when off, to
// the last digit; a limit that cannot be held is told of without the solver's words.
func TestOwnLimitIsPlain(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	checked := must(t, done, "check", path).out
	for _, line := range strings.Split(checked, "\n") {
		f := strings.Fields(line)
		if len(f) < 8 || f[0] != "A1" && f[0] != "C1" {
			continue
		}
		if ohm := f[len(f)-2]; (ohm == "-") != (f[0] == "C1") {
			t.Errorf("check says %q: C1 alone is held by its own limit", line)
		}
	}
	out := filepath.Join(dir, "out")
	must(t, done, "run", path, "-o", out, "-q", "--no-figures")
	dead := 0
	for _, row := range strings.Split(read(t, out, "electrodes.csv"), "\n") {
		f := strings.Split(row, ",")
		if len(f) != 7 || f[2] != "-" && f[6] != "off" {
			continue
		}
		dead++
		// Of metal the current is that which it passes on.
		if f[2] != "-" && f[4] != "0" || f[5] != "0" {
			t.Errorf("electrodes.csv has %q, want no net current and no power", row)
		}
	}
	if dead == 0 {
		t.Error("no row is of the pipe or of an electrode that is off")
	}
	o := must(t, failed, "run", path, "-o", filepath.Join(dir, "none"), "-q", "--no-figures", "--set", "electrode.C1.current_limit=0.1 A")
	if strings.Contains(o.err, "step refused") || strings.Contains(o.err, "cannot be held") || !strings.Contains(o.err, `electrode "C1" passes `) {
		t.Errorf("a limit that cannot be held ends with %q", o.err)
	}
	low := ownRow{VoltageV: 5.9, LimitedBy: string(physics.OwnLimit), full: 120}
	if text := low.text(); !strings.Contains(text, "under 5 % of its 120 V") {
		t.Errorf("at 5.9 of 120 V check says %q", text)
	}
	low.VoltageV = 6.1
	if text := low.text(); strings.Contains(text, "under") {
		t.Errorf("at 6.1 of 120 V check says %q", text)
	}
}

// TestRoundingIsNotTold: places that are 0 but for rounding are 0, and a time is told in
// the unit that it fills.
func TestRoundingIsNotTold(t *testing.T) {
	u := units{}
	for _, c := range []struct{ got, want string }{
		{u.length(-2.22e-16), "0 m (0 ft)"}, {u.length(math.Copysign(0, -1)), "0 m (0 ft)"}, {u.length(-1e-3), "-0.001 m (-0.003281 ft)"},
		{u.between(math.Copysign(0, -1), 1), "0–1 m (0–3.28 ft)"},
		{seconds(0.31), "0.31 s"}, {seconds(89), "89 s"}, {seconds(300), "5 min"}, {seconds(5399), "90 min"}, {seconds(7200), "2 h"}, {seconds(86400 * 5), "5 d"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// TestNoSharesOfNothing: a run that takes no power has no shares of the rounding that its
// electrodes leave.
func TestNoSharesOfNothing(t *testing.T) {
	dir := t.TempDir()
	off := ""
	for _, name := range []string{"B1", "C1"} {
		off += "\n[[change]]\nat = \"0 d\"\nelectrode = \"" + name + "\"\non = false\n"
	}
	path := write(t, dir, "alone.toml", taps+off)
	out := must(t, done, "run", path, "-q", "--no-figures", "-o", filepath.Join(dir, "out"), "--set", "time.duration=1 d").out
	for _, line := range strings.Split(out, "\n") {
		if strings.Contains(line, "energy in, at the electrodes") && !strings.HasSuffix(line, " -") || strings.Contains(line, "loss share") {
			t.Errorf("a run that takes nothing tells %q, want no share", line)
		}
	}
}

// TestDaysHaveDates: where the case has power_on, the loads' days in the summary have the
// dates that a log would have; without it none.
func TestDaysHaveDates(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	run := func(name string, more ...string) string {
		words := append([]string{"run", path, "-q", "--no-figures", "-o", filepath.Join(dir, name)}, more...)
		return must(t, done, words...).out
	}
	// Power-on is the evening before a leap day: two days later is that of 1 March, and 2.3 days
	// later past its midnight (by the calendar).
	dated := run("dated", "--set", "time.power_on=2028-02-28T18:00:00")
	for _, of := range []string{"  peak ", "  apparent ", "Ground surface"} {
		for _, line := range strings.Split(dated, "\n") {
			if strings.HasPrefix(line, of) && strings.Contains(line, "on day") && !strings.Contains(line, " (2028-0") {
				t.Errorf("with time.power_on, %q has a day without its date", line)
			}
		}
	}
	if plain := run("plain"); strings.Contains(plain, " (20") {
		t.Errorf("without time.power_on the summary has a date:\n%s", plain)
	}
	for _, at := range []struct {
		day  float64
		want string
	}{{0, "day 0.0 (2028-02-28)"}, {1, "day 1.0 (2028-02-29)"}, {2.3, "day 2.3 (2028-03-02)"}} {
		c := &cases.Case{Time: cases.Time{PowerOn: time.Date(2028, 2, 28, 18, 0, 0, 0, time.UTC)}}
		if got := theDay(c, at.day); got != at.want {
			t.Errorf("day %g of a run from 2028-02-28 18:00 is told as %q, want %q", at.day, got, at.want)
		}
	}
}
