package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// TestCheckOfALateStart: where the supply is off at power-on, check gives the cold loads of the
// day on which power first flows. They are those of the same case on from power-on, as ground as
// found is the same, and of half the voltage half the amperes, by Ohm's law. What never is on has
// none, nor what a meter lets rise from 0, of which the day is told.
func TestCheckOfALateStart(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "out.csv", "from_d,to_d\n0,2\n")
	write(t, dir, "two.csv", "from_d,to_d\n0,1\n1,2\n") // the second goes on where the first ends
	write(t, dir, "all.csv", "from_d,to_d\n0,90\n")
	write(t, dir, "late.csv", "time_d,power_kW\n0,0\n1,0\n4,10\n90,10\n")
	text := read(t, filepath.FromSlash(yard))
	path := write(t, dir, "yard.toml", text)
	staged := write(t, dir, "staged.toml", text+"\n[[change]]\nat = \"0 d\"\non = false\n[[change]]\nat = \"3 d\"\non = true\nvoltage = \"65 V\"\n")
	words := func(command, file string, sets ...string) []string {
		out := []string{command, file, "--set", "mesh.finest=24 in", "--set", "time.power_on=2028-02-28"}
		for _, s := range sets {
			out = append(out, "--set", s)
		}
		return out
	}
	loads := func(file string, sets ...string) (r checked) {
		if err := json.Unmarshal([]byte(must(t, done, append(words("check", file, sets...), "--json")...).out), &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	on := loads(path)
	if on.ColdKW <= 0 || on.ColdDay != 0 {
		t.Fatalf("on from power-on the cold power is %g kW, on day %g", on.ColdKW, on.ColdDay)
	}
	for _, c := range []struct {
		name, file string
		sets       []string
		day, times float64 // when, and the amperes over those at power-on
		says       []string
	}{
		{"an outage", path, []string{"supply.outages=out.csv"}, 2, 1, []string{", when power first flows, on day 2.0 (2028-03-01)\n",
			"No power at power-on: the supply is off by supply.outages. It first flows on day 2.0 (2028-03-01): "}},
		{"two outages", path, []string{"supply.outages=two.csv"}, 2, 1, []string{"on day 2.0 (2028-03-01)\n"}},
		{"switched on later", staged, nil, 3, 0.5, []string{"at 65 V RMS phase to neutral, limits included, when power first flows, on day 3.0 (2028-03-02)\n", "No power at power-on: the supply is off by a [[change]]. "}},
		{"never on", path, []string{"supply.outages=all.csv"}, 0, 0, []string{"No cold power: the supply is off by supply.outages.\n"}},
		{"metered from 0", path, []string{"supply.metered=late.csv"}, 0, 0, []string{"No cold power: the metered power of supply.metered is 0; it first rises from 0 on day 1.0 (2028-02-29).\n"}},
	} {
		got := loads(c.file, c.sets...)
		if got.ColdDay != c.day {
			t.Errorf("%s: cold_day is %g, want %g", c.name, got.ColdDay, c.day)
		}
		// The potential is solved to 1e-7 of its right side, whose error is a hundredfold at the
		// electrodes at most (solver.Settings).
		for i, e := range got.Electrodes {
			if want := c.times * on.Electrodes[i].ModelA; math.Abs(e.ModelA-want) > 1e-5*on.Electrodes[i].ModelA {
				t.Errorf("%s: electrode %s takes %.6g A cold, want %.6g", c.name, e.Name, e.ModelA, want)
			}
		}
		if want := c.times * c.times * on.ColdKW; math.Abs(got.ColdKW-want) > 1e-5*on.ColdKW {
			t.Errorf("%s: the cold power is %.6g kW, want %.6g", c.name, got.ColdKW, want)
		}
		said := must(t, done, words("check", c.file, c.sets...)...).out
		for _, want := range c.says {
			if !strings.Contains(said, want) {
				t.Errorf("%s: check does not say %q:\n%s", c.name, want, said)
			}
		}
	}
}

// TestLateStartThatCannotBeHeld: a current limit of one electrode that cannot be held once the
// supply is on leaves check without cold loads, with the reason, not without an answer.
func TestLateStartThatCannotBeHeld(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	write(t, dir, "out.csv", "from_d,to_d\n0,0.5\n")
	said := must(t, done, "check", path, "--set", "supply.outages=out.csv", "--set", "electrode.B1.current_limit=1 A").out
	for _, want := range []string{"No cold power: the supply is off by supply.outages; what it takes from day 0.5 on cannot be told, as cold loads of ground as found: ", "cannot be held in ground as found: "} {
		if !strings.Contains(said, want) {
			t.Errorf("check does not say %q:\n%s", want, said)
		}
	}
}
