package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// ringOfSix is six electrodes on a circle of 30 ft in even ground, far from any edge.
const ringOfSix = `title = "Ring"
view  = "plan"
site.ambient = "25 degC"
site.water_table = "none"
extent = { top = "8 ft", bottom = "24 ft" }
surface.air = "12 degC"
[[layer]]
name = "silt"
resistivity = "30 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.42
saturation = 1
[[target]]
name = "circle"
center = ["0 ft", "0 ft"]
radius = "15 ft"
temperature = "boiling"
[[array]]
pattern = "ring"
center = ["0 ft", "0 ft"]
diameter = "30 ft"
top = "8 ft"
bottom = "24 ft"
radius = "0.5 ft"
[[heat]]
name = "spot"
power = "300 W"
center = ["0 ft", "0 ft"]
radius = "3 ft"
[[sensor]]
name = "T1"
x = "3 ft"
y = "-4 ft"
[supply]
phases = 6
voltage = "100 V"
voltage_basis = "phase to neutral"
[time]
duration = "3 d"
[domain]
left = "-60 m"
right = "60 m"
front = "-60 m"
back = "60 m"
`

// TestCheckPlan: check of a plan counts its electrodes by phase, tells their places and
// distances, and has the closed form of a ring beside the model's currents:
//
//	I = 2πσℓV f/ln(2√3 R/a) for six phases, 2πσℓV f/ln((√3/2) R/a) for three,
//
// f the fringe factor of the model. Source: superposition of line sources. The model
// leaves out (a/D)⁴, below 1e-5 here, and has the edge at 60 m, (R/60)⁶ or with three
// phases (R/60)⁶ too of the same; its cells are a fifteenth of the distance, where rods
// are held to 0.5 %.
func TestCheckPlan(t *testing.T) {
	for phases, log := range map[int]float64{6: 2 * math.Sqrt(3) * 30, 3: math.Sqrt(3) / 2 * 30} {
		text := strings.Replace(ringOfSix, "phases = 6", "phases = "+string(rune('0'+phases)), 1)
		path := write(t, t.TempDir(), "ring.toml", text)
		var r checked
		if err := json.Unmarshal([]byte(must(t, done, "check", path, "--json").out), &r); err != nil {
			t.Fatal(err)
		}
		p := r.Plan
		if p == nil || len(p.Phases) != phases || p.Phases[0].Count != 6/phases || math.Abs(p.NearestLeastM-4.572) > 1e-9 || math.Abs(p.NearestMostM-4.572) > 1e-9 {
			t.Fatalf("%d phases: the plan is told as %+v, want %d phases of equal number, 4.572 m apart", phases, p, phases)
		}
		if !(p.Fringe > 1) {
			t.Errorf("%d phases: the current of rods of 4.9 m is %.4g times the slab's, want more", phases, p.Fringe)
		}
		want := 2 * math.Pi / 30 * 4.8768 * 100 * p.Fringe / math.Log(log)
		for _, e := range r.Electrodes {
			if !(math.Abs(e.ClosedA/want-1) < 1e-6) {
				t.Errorf("%d phases: the closed form of %s is %.6g A, want %.6g", phases, e.Name, e.ClosedA, want)
			}
			if !(math.Abs(e.ModelA/want-1) < 0.005) {
				t.Errorf("%d phases: %s carries %.5g A in the model, want %.5g within 0.5 %%", phases, e.Name, e.ModelA, want)
			}
		}
		if e := r.Electrodes[1]; math.Hypot(e.XM-2.286, e.YM-2.286*math.Sqrt(3)) > 1e-9 {
			t.Errorf("the second electrode stands at %g, %g, want 60° round a circle of 4.572 m", e.XM, e.YM)
		}
		if m := r.Mesh; m.FrontM != -60 || m.BackM != 60 {
			t.Errorf("the plan is from %g to %g m along, want -60 to 60", m.FrontM, m.BackM)
		}
	}
	path := write(t, t.TempDir(), "ring.toml", ringOfSix)
	out := must(t, done, "check", path).out
	for _, want := range []string{"slab    2.44–7.32 m (8–24 ft)", "array E: ring of 6 electrodes, 9.144 m (30 ft) across", "phases  A 1 (", "nearest neighbours 4.572 m (15 ft) to 4.572 m (15 ft) apart",
		"closed form: ring of endless rods in uniform ground, I = 2πV·Σ(ℓ/ρ)/ln(3.464 R/a)", "from -60 m (-196.9 ft) to 60 m (196.9 ft) along"} {
		if !strings.Contains(out, want) {
			t.Errorf("check does not print %q:\n%s", want, out)
		}
	}
}

// TestRunPlan: a plan runs from its file to a folder, with its ledger closed, a column
// for its sensor, and figures.
func TestRunPlan(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "ring.toml", ringOfSix)
	out := must(t, done, "run", path, "-o", dir+"/out", "-q", "--no-figures").out
	for _, want := range []string{"energy in, set power included", "circle at the end: mean", ", y "} {
		if !strings.Contains(out, want) {
			t.Errorf("the summary does not say %q:\n%s", want, out)
		}
	}
	if strings.Contains(out, ", depth ") {
		t.Errorf("the summary of a plan tells a depth of its coldest place:\n%s", out)
	}
	if head := strings.SplitN(read(t, dir+"/out/sensors.csv"), "\n", 2)[0]; head != "time_d,T1_C" {
		t.Errorf("sensors.csv has the columns %q, want time_d,T1_C", head)
	}
	var s struct {
		Error *float64 `json:"balance_error_share"`
	}
	if err := json.Unmarshal([]byte(read(t, dir+"/out/summary.json")), &s); err != nil || s.Error == nil || !(math.Abs(*s.Error) < 1e-8) {
		t.Errorf("the ledger's share of error is %v (%v), want below 1e-8", s.Error, err)
	}
	// What the folder holds as understood runs again.
	must(t, done, "check", dir+"/out/case.toml")
}

// TestPlanMetalIsTold: a plan with a drum and groundwater, of which an electrode is
// switched off on day 1, tells of the drum's potential in check, folder, summary and figure, and of the
// water in check; the case as understood runs to the same.
func TestPlanMetalIsTold(t *testing.T) {
	if !long {
		t.Skip("runs a plan twice and draws it")
	}
	text := strings.Replace(ringOfSix, "[[sensor]]", "[[conductor]]\nname = \"drum\"\ncenter = [\"7 ft\", \"1 ft\"]\nradius = \"2 ft\"\n[[sensor]]", 1)
	text = strings.Replace(text, "saturation = 1\n", "saturation = 1\ngroundwater = \"0.1 ft/d\"\ngroundwater_direction = \"120 deg\"\n", 1)
	text = strings.Replace(text, "[[heat]]", "[[change]]\nat = \"1 d\"\nelectrode = \"E4\"\non = false\n[[heat]]", 1)
	text = strings.Replace(text, "radius = \"3 ft\"", "radius = \"1.5 ft\"", 1) // not over the drum
	dir := t.TempDir()
	path := write(t, dir, "drum.toml", text)
	out := filepath.Join(dir, "out")
	ran := must(t, done, "run", path, "-o", out, "-q")
	if !strings.Contains(ran.out, "Buried metal drum: cold ") || !strings.Contains(ran.out, "carried off by water") {
		t.Errorf("the summary does not tell of drum and water:\n%s", ran.out)
	}
	largest, drums, off := 0.0, 0, 0
	rows := strings.Split(strings.TrimSpace(read(t, out, "electrodes.csv")), "\n")[1:]
	values := func(row string) (day, volts, amps float64, cells []string) {
		cells = strings.Split(row, ",")
		for i, v := range map[int]*float64{0: &day, 3: &volts, 4: &amps} {
			var err error
			if *v, err = strconv.ParseFloat(cells[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		return day, volts, amps, cells
	}
	for _, row := range rows {
		_, _, amps, _ := values(row)
		largest = math.Max(largest, amps)
	}
	for _, row := range rows {
		switch day, volts, amps, cells := values(row); {
		case cells[1] == "drum":
			drums++
			if cells[2] != "-" || !(volts > 0.1 && volts < 100) || !(amps > 0) || cells[5] != "0" {
				t.Errorf("day %g: the drum, phase %q, is at %g V with %g A", day, cells[2], volts, amps)
			}
		case cells[1] == "E4" && day >= 1:
			off++
			if cells[6] != "off" || amps > 1e-9*largest {
				t.Errorf("day %g: E4 passes %g A, held by %q", day, amps, cells[6])
			}
		}
	}
	if drums == 0 || off == 0 {
		t.Errorf("electrodes.csv has %d rows of the drum and %d of an electrode that is off", drums, off)
	}
	if svg := read(t, out, "figures", "plan.svg"); !strings.Contains(svg, "buried metal") {
		t.Error("the map does not show the buried metal")
	}
	checked := must(t, done, "check", path).out
	for _, want := range []string{"buried metal", "\ndrum ", "times its area", "groundwater in silt: Darcy flux", "towards 120° counter-clockwise from +x", "groundwater, mean of its layers"} {
		if !strings.Contains(checked, want) {
			t.Errorf("check does not say %q:\n%s", want, checked)
		}
	}
	again := filepath.Join(dir, "again")
	must(t, done, "run", filepath.Join(out, "case.toml"), "-o", again, "-q", "--no-figures")
	if read(t, out, "electrodes.csv") != read(t, again, "electrodes.csv") {
		t.Error("the case as understood runs to other electrodes")
	}
}
