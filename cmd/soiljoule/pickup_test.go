package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// coldThrough is what check tells of the current through the first buried metal [A].
func coldThrough(t *testing.T, path string, set ...string) float64 {
	t.Helper()
	args := []string{"check", path, "--json"}
	for _, s := range set {
		args = append(args, "--set", s)
	}
	var got struct {
		Conductors []struct {
			ThroughA float64 `json:"through_A"`
		}
	}
	if err := json.Unmarshal([]byte(must(t, done, args...).out), &got); err != nil || len(got.Conductors) != 1 {
		t.Fatalf("check tells of buried metal %+v (%v)", got, err)
	}
	return got.Conductors[0].ThroughA
}

// TestCurrentThroughMetalIsTold: check, electrodes.csv, summary.json and summary.txt tell one
// current that buried metal picks up and gives off: cold what check says, at most that of the
// largest row, which is no electrode's current of history.csv; nothing while all is off; and
// it goes with the voltage and the length of a section.
// Tolerance: twelve digits are written, and of another length the solve's rounding.
func TestCurrentThroughMetalIsTold(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "taps.toml", taps)
	out := filepath.Join(dir, "out")
	cold := coldThrough(t, path)
	if doubled := coldThrough(t, path, "extent.length=40 m"); math.Abs(doubled/cold-2) > 1e-8 {
		t.Errorf("twice as long a pipe picks up %.12g A, one %.12g A", doubled, cold)
	}
	// C1's own limit is no part of what goes with the voltage.
	free := []string{"electrode.C1.current_limit=900 A"}
	one, two := coldThrough(t, path, free...), coldThrough(t, path, append(free, "supply.voltage=240 V", "electrode.B1.voltage=160 V")...)
	if math.Abs(two/one-2) > 1e-8 {
		t.Errorf("at twice the voltage the pipe picks up %.12g A, at once %.12g A", two, one)
	}
	ran := must(t, done, "run", path, "-o", out, "-q", "--no-figures", "--set", "control.setpoint=14 degC", "--set", "control.deadband=0.5 K")
	table := func(name string) [][]string {
		rows, err := csv.NewReader(strings.NewReader(read(t, out, name))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return rows[1:]
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var first, most, day float64
	stopped := 0
	for i, r := range table("electrodes.csv") {
		if r[1] != "pipe" {
			continue
		}
		amps := number(r[4])
		if i < 4 {
			first = amps
		}
		if amps > most*(1+1e-9) {
			most, day = amps, number(r[0])
		}
		if number(r[3]) == 0 {
			stopped++
		}
		if (amps == 0) != (number(r[3]) == 0) || amps < 0 {
			t.Errorf("day %s: the pipe is at %s V and picks up %s A", r[0], r[3], r[4])
		}
	}
	if stopped == 0 {
		t.Error("the supply is never off: the test asks less than it says")
	}
	for _, h := range table("history.csv") {
		largest := 0.0
		for _, r := range table("electrodes.csv") {
			if r[0] == h[0] && r[2] != "-" {
				largest = math.Max(largest, number(r[4]))
			}
		}
		if number(h[3]) != largest {
			t.Errorf("day %s: history.csv has %s A at most, the electrodes %g", h[0], h[3], largest)
		}
	}
	var summary struct {
		Conductors []struct {
			First float64 `json:"through_first_A"`
			Max   float64 `json:"through_max_A"`
			Day   float64 `json:"through_max_day"`
		}
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &summary); err != nil || len(summary.Conductors) != 1 {
		t.Fatalf("summary.json tells of buried metal %+v (%v)", summary, err)
	}
	for what, pair := range map[string][2]float64{
		"cold, check":        {cold, first},
		"cold, summary.json": {summary.Conductors[0].First, first},
		"most, summary.json": {summary.Conductors[0].Max, most},
		"its day":            {1 + summary.Conductors[0].Day, 1 + day},
	} {
		if math.Abs(pair[0]/pair[1]-1) > 1e-10 {
			t.Errorf("%s: %.12g, want that of electrodes.csv, %.12g", what, pair[0], pair[1])
		}
	}
	want := fmt.Sprintf("gives off in another %.3g A RMS cold, at most %.3g A on day %.1f, over all of ", first, most, day)
	if !strings.Contains(ran.out, want) {
		t.Errorf("the summary does not say %q:\n%s", want, ran.out)
	}
	if checked := must(t, done, "check", path).out; !strings.Contains(checked, fmt.Sprintf(" %.3g\nA through: ", cold)) {
		t.Errorf("check does not say %.3g A through the pipe:\n%s", cold, checked)
	}
}

// TestCurrentThroughMetalOfACell: of a ring of metal round the rod of one cell, check tells
// the current of one cell, however many there are, and less than the rod gives.
// Tolerance: the solve's rounding.
func TestCurrentThroughMetalOfACell(t *testing.T) {
	text := read(t, "../../cases", "electrode-cell.toml") + "\n[[conductor]]\nname = \"ring\"\ninner_radius = \"1 m\"\nradius = \"1.3 m\"\ntop = \"3 m\"\nbottom = \"4 m\"\n"
	path := write(t, t.TempDir(), "cell.toml", text)
	one, many := coldThrough(t, path, "extent.count=1"), coldThrough(t, path)
	if !(one > 1 && one < 55) || math.Abs(many/one-1) > 1e-9 {
		t.Errorf("a ring round a rod of 55 A picks up %.12g A in one cell, and %.12g A in each of 32", one, many)
	}
}
