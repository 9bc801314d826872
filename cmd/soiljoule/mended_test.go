package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestKeysOfNothing: an empty word is a section like another, not a panic.
func TestKeysOfNothing(t *testing.T) { must(t, done, "keys", "") }

// TestHelpOfACommand: asking for help is no error.
func TestHelpOfACommand(t *testing.T) {
	for _, flag := range []string{"-h", "--help"} {
		if o := must(t, done, "run", flag); o.out != usage {
			t.Errorf("run %s prints %q, want the usage", flag, o.out)
		}
	}
}

// TestUnknownFigure: a figure that does not exist is a wrong command.
func TestUnknownFigure(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	runInto(t, out, cell)
	if o := must(t, wrong, "figures", out, "--only", "profile"); !strings.Contains(o.err, "must be of sensors, profiles") {
		t.Errorf("figures --only profile says %q", o.err)
	}
}

// TestNoPlaceForResults: a folder that cannot be replaced as a whole is refused
// before the run, not after it.
func TestNoPlaceForResults(t *testing.T) {
	path, err := filepath.Abs(cell)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for _, dir := range []string{".", "/"} {
		o := must(t, wrong, "run", path, "-o", dir, "-q")
		if o.out != "" || strings.Count(o.err, "\n") != 1 {
			t.Errorf("run -o %s says %q and prints %q, want one line and nothing", dir, o.err, o.out)
		}
	}
}

// TestColdLineUnderALimit: the cold kilowatts, amperes and volts of the summary
// belong to each other, as the first rows of the histories say.
func TestColdLineUnderALimit(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	o := runInto(t, out, cell, "--set", "supply.power_limit=20 kW")
	first := strings.Split(strings.Split(read(t, out, "history.csv"), "\n")[1], ",")
	v, err := strconv.ParseFloat(first[2], 64)
	if err != nil {
		t.Fatal(err)
	}
	var cold string
	for _, line := range strings.Split(o.out, "\n") {
		if strings.HasPrefix(line, "  cold") {
			cold = line
		}
	}
	if want := fmt.Sprintf("at %.4g V", v); v >= 130 || !strings.HasSuffix(cold, want) {
		t.Errorf("the cold line is %q, want it to end in %q, below the set 130 V", cold, want)
	}
}

// TestColdLineOfALateStart: where no power flows at power-on, by an outage or as metered, the
// summary gives no cold load of 0 kW, as if that were what cold ground takes.
func TestColdLineOfALateStart(t *testing.T) {
	for name, rows := range map[string]string{"outages": "from_d,to_d\n0,2\n", "metered": "time_d,power_kW\n0,0\n2,9\n9,9\n"} {
		path := write(t, t.TempDir(), name+".csv", rows)
		o := runInto(t, filepath.Join(t.TempDir(), "out"), cell, "--set", "supply."+name+"="+path, "--set", "time.duration=4 d", "--set", "mesh.finest=3 in")
		if !strings.Contains(o.out, "  cold     none: no power at power-on\n") || !strings.Contains(o.out, "  apparent at most ") {
			t.Errorf("with %s from power-on on, the loads are\n%s", name, o.out)
		}
	}
}

// TestShallowBoilingIsRemembered: ground that boiled near the surface is named
// though the power went off and it cooled.
func TestShallowBoilingIsRemembered(t *testing.T) {
	sets := []string{"--set", "array[1].top=2 ft", "--set", "time.duration=60 d", "--set", "mesh.finest=3 in", "--set", "supply.voltage=300 V"}
	on := runInto(t, filepath.Join(t.TempDir(), "on"), cell, sets...)
	text := read(t, cell)
	text += "\n[[change]]\nat = \"30 d\"\non = false\n"
	path := write(t, t.TempDir(), "off.toml", text)
	off := runInto(t, filepath.Join(t.TempDir(), "off"), path, sets...)
	for name, o := range map[string]outcome{"on": on, "off at day 30": off} {
		if !strings.Contains(o.out, "steam may break out") {
			t.Errorf("power %s: the summary does not say that the ground boiled near the surface", name)
		}
	}
}

// TestAirFileOfAnyName: the air temperatures are copied under a name of their
// own, whatever theirs was.
func TestAirFileOfAnyName(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "history.csv", "time_d,air_C\n0,4\n9,9\n")
	text := strings.Replace(must(t, done, "new", "axisymmetric").out, `air  = "12 degC"`, `air = "history.csv"`, 1)
	path := write(t, dir, "site.toml", text)
	out := filepath.Join(dir, "out")
	must(t, done, "run", path, "--set", "mesh.finest=8 in", "--set", "time.duration=3 d", "--no-figures", "-o", out)
	must(t, done, "check", filepath.Join(out, "case.toml"))
}

// TestOrderOfElectrodesDoesNotMatter: the modelled ground is the same however the
// file lists its rows.
func TestOrderOfElectrodesDoesNotMatter(t *testing.T) {
	text := read(t, "../../cases/paved-yard.toml")
	a := strings.Index(text, "[[array]]")
	b := strings.Index(text, "[supply]")
	row := func(name, phase, x string) string {
		return fmt.Sprintf("[[electrode]]\nname = %q\nphase = %q\nx = %q\ntop = \"7.5 ft\"\nbottom = \"13.5 ft\"\nradius = \"6 in\"\nrod_spacing = \"14 ft\"\n", name, phase, x)
	}
	p, q, r := row("P", "A", "20 ft"), row("Q", "B", "40 ft"), row("R", "C", "60 ft")
	dir := t.TempDir()
	var meshes []string
	for i, rows := range []string{p + q + r, p + r + q} {
		path := write(t, dir, fmt.Sprint(i, ".toml"), text[:a]+rows+text[b:])
		var c struct{ Mesh json.RawMessage }
		if err := json.Unmarshal([]byte(must(t, done, "check", path, "--json").out), &c); err != nil {
			t.Fatal(err)
		}
		meshes = append(meshes, string(c.Mesh))
	}
	if meshes[0] != meshes[1] {
		t.Errorf("with the rows in another order the mesh is\n%s\nafter\n%s", meshes[1], meshes[0])
	}
}
