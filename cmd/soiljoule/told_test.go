package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// hotTaps is the section of taps without limits of their own, above the water table, with
// steam that rises, water added, and little water to lose.
var hotTaps = strings.NewReplacer("current_limit = \"18 A\"\n", "", "voltage = \"80 V\"\n", "", "voltage = \"120 V\"", "voltage = \"480 V\"",
	"water_table = \"2 m\"", "water_table = \"none\"", "saturation = 1.0\n", "saturation = 1.0\nremovable_water = 0.05\n",
	"finest = \"25 cm\"", "finest = \"50 cm\"", "duration = \"4 d\"", "duration = \"6 d\"",
	"[time]", "[steam]\nfate = \"rising\"\ntop = \"0.5 m\"\nbottom = \"1 m\"\n[[water_added]]\nelectrode = \"A1\"\nrate = \"0.2 L/min\"\ntemperature = \"20 degC\"\n[time]").
	Replace(taps[:strings.Index(taps, "[[change]]")] + taps[strings.Index(taps, "[time]"):])

// printed returns the kilowatt-hours of the rows of a summary's ledger, by name.
func printed(t *testing.T, text string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, m := range regexp.MustCompile(`(?m)^  (\S.*?) +(-?[\d.]+) +-?[\d.]+ %$`).FindAllStringSubmatch(text, -1) {
		v, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		out[m[1]] = v
	}
	return out
}

// TestRowsComeToTheEnergyIn: the rows that summary.txt prints of where the heat went come
// to what came in, of a case without groundwater whose added water carries heat off too.
// Each of the nine rows is rounded by half a kilowatt-hour at most.
func TestRowsComeToTheEnergyIn(t *testing.T) {
	dir := t.TempDir()
	for _, v := range []struct {
		name, text string
		sets       []string
	}{
		{"hot.toml", hotTaps, []string{"domain.bottom=10 m"}}, // where what drains leaves it, in time
		{"cold.toml", hotTaps, []string{"supply.voltage=120 V", "site.water_table=1 m", "water_added[1].rate=2 L/min"}},
	} {
		args := []string{"run", write(t, dir, v.name, v.text), "-o", filepath.Join(dir, v.name+"-out"), "--no-figures", "-q"}
		for _, s := range v.sets {
			args = append(args, "--set", s)
		}
		text := must(t, done, args...).out
		rows := printed(t, text)
		in := rows["energy in, at the electrodes"] + rows["brought by water added"]
		out := 0.0
		for _, name := range []string{"stored in zone", "stored outside", "taken out as steam", "lost at the surface", "lost below", "lost at the sides", "carried off by water"} {
			if _, ok := rows[name]; !ok {
				t.Errorf("%s: no row %q:\n%s", v.name, name, text)
			}
			out += rows[name]
		}
		if !(in > 1000) || math.Abs(in-out) > 4.5 {
			t.Errorf("%s: rows come to %g kWh, %g kWh came in:\n%s", v.name, out, in, text)
		}
		if rows["carried off by water"] == 0 || !strings.Contains(text, "  carried off by water ") || !strings.Contains(text, ", less what water brought") {
			t.Errorf("%s: the test sees no heat that water carries off:\n%s", v.name, text)
		}
	}
}

// TestSummaryTellsOfDryingOut: the first day and place at which ground dried out, beside
// which electrode, in summary.txt and summary.json alike, and the current of that day
// between the rows of history.csv.
func TestSummaryTellsOfDryingOut(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	text := must(t, done, "run", write(t, dir, "hot.toml", hotTaps), "-o", out, "--no-figures", "-q").out
	var s struct {
		Day     *float64                        `json:"first_dried_day"`
		X       *float64                        `json:"first_dried_x_m"`
		Z       *float64                        `json:"first_dried_z_m"`
		Targets map[string]record.TargetSummary `json:"targets"`
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	if s.Day == nil || s.X == nil || s.Z == nil {
		t.Fatalf("summary.json does not tell of drying out:\n%s", text)
	}
	// Rods at 1, 4 and 7 m, from 2 to 4 m.
	if beside := map[float64]string{1: "A1", 4: "B1", 7: "C1"}[math.Round(*s.X)]; math.Abs(*s.X-math.Round(*s.X)) > 0.5 ||
		!strings.Contains(text, fmt.Sprintf("First dried out: day %.1f, at x %s, depth %s, beside %s\n", *s.Day, units{}.length(*s.X), units{}.length(*s.Z), beside)) {
		t.Errorf("dried out at %g, %g m on day %g is told as\n%s", *s.X, *s.Z, *s.Day, text)
	}
	days := column(t, out, "history.csv", "time_d")
	at := 0
	for at < len(days)-1 && days[at] < *s.Day-1e-9 { // twelve digits of it
		at++
	}
	if math.Abs(days[at]-*s.Day) > 1e-9 {
		t.Errorf("it dried out on day %g, which is no row of history.csv", *s.Day)
	}
	amps := column(t, out, "history.csv", "current_max_A")
	want := fmt.Sprintf("  largest current of a rod %.1f A cold, %.1f A the step before, %.1f A at the end\n", amps[0], amps[at-1], amps[len(amps)-1])
	if !strings.Contains(text, want) {
		t.Errorf("summary.txt does not say %q:\n%s", want, text)
	}
	if z := s.Targets["zone"]; !(z.ShareMax >= z.ShareAtEnd && z.ShareMax > 0) {
		t.Errorf("the largest share is %g on day %g, at the end %g", z.ShareMax, z.ShareMaxDay, z.ShareAtEnd)
	}
	if text := must(t, done, "run", write(t, dir, "cold.toml", hotTaps), "--set", "time.duration=1 h", "-o", out, "--force", "--no-figures", "-q").out; strings.Contains(text, "First dried out") || strings.Contains(read(t, out, "summary.json"), "first_dried") ||
		!strings.Contains(text, "No steam came to the interval of extraction, 0.5–1 m (1.64–3.28 ft): no ground boiled.") {
		t.Errorf("of an hour's run the summary says\n%s", text)
	}
}

// TestDriedBeside: the nearest electrode within two radii, or a cell.
func TestDriedBeside(t *testing.T) {
	c := &cases.Case{View: cases.Section, Mesh: cases.Mesh{Finest: 0.05}, Electrodes: []cases.Electrode{
		{Name: "P", X: 1, Width: 0.4, Top: 1, Bottom: 3}, {Name: "R", X: 1.7, Radius: 0.2, Top: 1, Bottom: 3}}}
	for _, v := range []struct {
		x, z float64
		want string
	}{{1.3, 2, "P"}, {1.36, 2, "R"}, {1.45, 2, "R"}, {2.2, 2, ""}, {1.7, 3.3, "R"}, {1.7, 3.5, ""}} {
		if got := driedBeside(c, v.x, v.z); got != v.want {
			t.Errorf("at %g, %g m it is beside %q, want %q", v.x, v.z, got, v.want)
		}
	}
	c.Mesh.Finest = 0.8
	if got := driedBeside(c, 2.2, 2); got != "R" {
		t.Errorf("a cell of 0.8 m from R it is beside %q", got)
	}
}

// TestAnswerTellsTheLargestShare: where a target had come further than it is at the end.
func TestAnswerTellsTheLargestShare(t *testing.T) {
	c := &cases.Case{}
	target := &cases.Target{Name: "zone", Share: 0.9, Boiling: true}
	for _, v := range []struct {
		most, end float64
		want      string
	}{
		{0.85, 0.2, "90 % of zone boiling: not reached in 70 d, at most 85.0 % on day 40.0, 20.0 % at the end"},
		{0.21, 0.2005, "90 % of zone boiling: not reached in 70 d, 20.1 % at the end"},
	} {
		if got := answer(c, target, record.TargetSummary{ShareAtEnd: v.end, ShareMax: v.most, ShareMaxDay: 40}, 70); got != v.want {
			t.Errorf("the answer is %q, want %q", got, v.want)
		}
	}
}

// TestGrouped: digits as asked, no exponent of large numbers, groups from ten thousand on.
func TestGrouped(t *testing.T) {
	for _, v := range []struct {
		v      float64
		digits int
		want   string
	}{{23644, 4, "23 640"}, {1234567, 4, "1 235 000"}, {-23644, 4, "-23 640"}, {9999.6, 4, "10 000"}, {1234.4, 4, "1234"}, {1234.4, 3, "1230"}, {999.96, 4, "1000"}, {0.25, 3, "0.25"}, {0, 4, "0"}, {123456, 4, "123 500"}} {
		if got := grouped(v.v, v.digits); got != v.want {
			t.Errorf("%g to %d digits is %q, want %q", v.v, v.digits, got, v.want)
		}
	}
}

// TestIntervalCaution: said of an interval that could take steam and took none.
func TestIntervalCaution(t *testing.T) {
	for _, v := range []struct {
		what   string
		steam  cases.Steam
		ledger solver.Ledger
		want   string
	}{
		{"nothing", cases.Steam{Boiling: true, Fate: "rising", Top: 1, Bottom: 2, CaptureShare: 1}, solver.Ledger{}, "no ground boiled"},
		{"steam that condensed", cases.Steam{Boiling: true, Fate: "rising", Top: 1, Bottom: 2, CaptureShare: 1}, solver.Ledger{Condensed: 5}, "condensed below"},
		{"steam elsewhere", cases.Steam{Boiling: true, Fate: "rising", Top: 1, Bottom: 2, CaptureShare: 1}, solver.Ledger{SteamMass: solver.SteamFate{Held: 1}}, "elsewhere"},
		{"steam captured", cases.Steam{Boiling: true, Fate: "rising", Top: 1, Bottom: 2, CaptureShare: 1}, solver.Ledger{SteamMass: solver.SteamFate{Captured: 1}}, ""},
		{"a share of none", cases.Steam{Boiling: true, Fate: "rising", Top: 1, Bottom: 2}, solver.Ledger{}, ""},
		{"no interval", cases.Steam{Boiling: true, Fate: "rising", CaptureShare: 1}, solver.Ledger{}, ""},
		{"steam extracted", cases.Steam{Boiling: true, Fate: "extracted", Top: 1, Bottom: 2, CaptureShare: 1}, solver.Ledger{}, ""},
	} {
		r := &solver.Report{Ledger: v.ledger}
		r.Stats.Steps = 1
		got := strings.Join(intervalCaution(&cases.Case{Steam: v.steam}, r), "\n")
		if (got == "") != (v.want == "") || !strings.Contains(got, v.want) {
			t.Errorf("of %s is said %q, want %q", v.what, got, v.want)
		}
	}
}

// TestCheckTellsWhatLayersKeep: check tells when the supply goes off for good, and what a
// layer keeps of water and conductivity, in text where it is not the program's own choice.
func TestCheckTellsWhatLayersKeep(t *testing.T) {
	path := write(t, t.TempDir(), "taps.toml", taps)
	sets := []string{"--set", "supply.off=2 d", "--set", "layer.clay.kind=rock", "--set", "layer.clay.saturation=0.8", "--set", "site.water_table=none", "--set", "layer.clay.removable_water=0.2",
		"--set", "layer.clay.residual_conductivity=0.1"}
	text := must(t, done, append([]string{"check", path}, sets...)...).out
	for _, want := range []string{"  day 2  supply off for good\n", "  are rock: clay\n", "  keep up to 1 of their pores full against draining: clay\n", "  can lose 0.2 of their water to boiling: clay\n", "  keep 0.1 of their conductivity when dry: clay\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("check does not say %q:\n%s", want, text)
		}
	}
	var c checked
	if err := json.Unmarshal([]byte(must(t, done, append([]string{"check", path, "--json"}, sets...)...).out), &c); err != nil {
		t.Fatal(err)
	}
	if l := c.Layers[0]; l.Kind != "rock" || l.FieldCapacity != 1 || l.Removable != 0.2 || l.Residual != 0.1 || c.Off == nil || *c.Off.Day != 2 || c.Off.Held {
		t.Errorf("check --json tells the layer %+v and the supply off %+v", l, c.Off)
	}
	text = must(t, done, "check", path).out
	for _, not := range []string{"supply off", "  are ", "  keep ", "  can lose "} {
		if strings.Contains(text, not) {
			t.Errorf("check says %q of a case that has only the program's choices:\n%s", not, text)
		}
	}
	if text := must(t, done, "check", path, "--set", "supply.off=held").out; !strings.Contains(text, "supply off for good when the first target is held\n") {
		t.Errorf("check does not say when:\n%s", text)
	}
}
