package main

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"soiljoule/cmd/internal/hand"
)

// enough are arguments with which each calculation answers.
var enough = map[string][]string{
	"ring":        {"diameter=30 ft", "length=16 ft", "resistivity=30 ohm*m"},
	"grid":        {"spacing=14 ft", "length=6 ft", "resistivity=25 ohm*m"},
	"rows":        {"distance=12 ft", "spacing=14 ft", "phases=1", "resistivity=25 ohm*m"},
	"rod":         {"bottom=20 ft", "resistivity=50 ohm*m"},
	"resistivity": {"resistivity=25 ohm*m"},
	"loss":        {"thickness=5 ft"},
	"heat-up":     {"power_density=60 W/m3", "thickness=20 ft"},
	"cool-down":   {"thickness=20 ft"},
	"heated-area": {"power=150 kW", "thickness=10 ft"},
	"cover":       {"depth=1 m"},
	"energy":      {},
	"groundwater": {"flow=1 gpm"},
	"boiling":     {"depth=30 ft", "water_table=0 ft"},
}

// TestHandAnswers: each calculation prints inputs in both systems, results, formula,
// source, assumptions and cautions, with volts the electrical one; --json the same as one
// object; --help its inputs; all within a second.
func TestHandAnswers(t *testing.T) {
	for _, name := range hand.Names() {
		args, ok := enough[name]
		if !ok {
			t.Errorf("the test has no arguments for hand %s", name)
			continue
		}
		line := append([]string{"hand", name}, args...)
		started := time.Now()
		o := must(t, done, line...)
		// The owner's wish; here it takes a hundredth of it.
		if d := time.Since(started); d > slower*time.Second {
			t.Errorf("%v took %v, want at most 1 s", line, d)
		}
		for _, want := range []string{"\ninputs\n", "default", "\nresults\n", "\nformula\n", "\nsource  ", "\nassumes  ", "\ndoes not hold  ", "\ncautions\n", "They clear nothing"} {
			if !strings.Contains(o.out, want) {
				t.Errorf("%v does not print %q; it printed\n%s", line, want, o.out)
			}
		}
		if strings.Contains(o.out, " \n") || o.err != "" {
			t.Errorf("%v prints blanks at a line's end, or on stderr %q", line, o.err)
		}
		if volts := strings.Contains(o.out, " V "); volts != strings.Contains(o.out, "lethal") {
			t.Errorf("%v must warn of the voltage if and only if it has one; it printed\n%s", line, o.out)
		}
		d := json.NewDecoder(strings.NewReader(must(t, done, append(line, "--json")...).out))
		d.DisallowUnknownFields()
		var got hand.Answer
		if err := d.Decode(&got); err != nil || d.More() {
			t.Errorf("%v --json does not decode as one object: %v", line, err)
		}
		if got.Name != name || len(got.Inputs) == 0 || len(got.Results) == 0 && got.Table == nil || len(got.Cautions) == 0 {
			t.Errorf("%v --json lacks its name, inputs, results or cautions: %+v", line, got)
		}
		help := must(t, done, "hand", name, "--help").out
		for _, in := range got.Inputs {
			if !strings.Contains(help, "\n"+in.Name+" ") {
				t.Errorf("hand %s --help does not list %s", name, in.Name)
			}
		}
		if list := must(t, done, "hand").out; !strings.Contains(list, "\n  "+name+" ") {
			t.Errorf("hand does not list %s", name)
		}
	}
}

// TestHandFromCase: with --case every demo gives what its numbers allow and says why not
// the rest; JSON too; one calculation takes the case's numbers, arguments first.
func TestHandFromCase(t *testing.T) {
	for _, file := range []string{yard, cell, plates} {
		o := must(t, done, "hand", "--case", file)
		for _, want := range []string{"loss: share", "boiling: ", "ring: not from this case: ", "cautions"} {
			if !strings.Contains(o.out, want) {
				t.Errorf("hand --case %s does not print %q", file, want)
			}
		}
		var s hand.Sheet
		if err := json.Unmarshal([]byte(must(t, done, "hand", "--json", "--case", file).out), &s); err != nil {
			t.Errorf("hand --case %s --json does not decode: %v", file, err)
		}
		if n := len(s.Calculations) + len(s.Without); n != len(hand.Names()) {
			t.Errorf("hand --case %s tells of %d calculations, want all %d", file, n, len(hand.Names()))
		}
	}
	o := must(t, done, "hand", "loss", "--case", yard, "time=30 d").out
	for _, want := range []string{"thickness             1.524 m      5 ft                  from the case", "time                  30 d\n"} {
		if !strings.Contains(o, want) {
			t.Errorf("hand loss --case %s time=30 d does not print %q; it printed\n%s", yard, want, o)
		}
	}
}

// TestHandRefuses: wrong arguments end with 2, all faults at once in the shape of a case's,
// and nothing on stdout.
func TestHandRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		want []string // the lines on stderr
	}{
		{[]string{"rin"}, []string{`soiljoule hand: unknown calculation "rin": must be one of ring, grid, rows, rod, resistivity, loss, heat-up, cool-down, heated-area, cover, energy, groundwater, boiling`}},
		{[]string{"--json"}, []string{"soiljoule hand: --json wants a calculation or --case FILE"}},
		{[]string{"--case", "nowhere.toml"}, []string{"nowhere.toml"}},
		{[]string{"loss", "--colour"}, []string{"-colour"}},
		{[]string{"ring", "diametre=30 ft", "radius=4", "voltage=1,000 V", "phases=5", "resistivity=0.04 S/m", "x", "radius=6 in"}, []string{
			"hand ring: diametre: unknown input; nearest is diameter; inputs are diameter, phases, radius, length, voltage, voltage_basis, resistivity, resistivity_at, temperature_coefficient, ambient, hot",
			`hand ring: radius = 4: needs its unit: write "4 ft" or "4 m"`,
			`hand ring: voltage = 1,000 V: must have a point for decimals`,
			"hand ring: phases = 5: must be 3 or 6",
			`hand ring: resistivity = 0.04 S/m: is a conductivity; its reciprocal is the resistivity: write "25 ohm*m"`,
			`hand ring: x: is no input: write name=value, such as diameter="12 ft"`,
			"hand ring: radius = 6 in: is given twice",
			`hand ring: diameter: is missing; must be a length with its unit`,
		}},
		{[]string{"grid", "spacing=1 ft", "radius=6 in", "resistivity=25 ohm*m"}, []string{"hand grid: radius = 6 in: must be below half the distance of the electrodes, 0.3048 m"}},
		{[]string{"rows", "spacing=10 m", "distance=0.5 m", "resistivity=25 ohm*m"}, []string{"hand rows: distance = 0.5 m: must be at least a tenth of the spacing, 1 m"}},
		{[]string{"rod", "top=9 ft", "bottom=8 ft", "resistivity=25 ohm*m"}, []string{"hand rod: bottom = 8 ft: must be at least 1 cm below top"}},
		{[]string{"boiling", "depth=1 m", "water_table=dry"}, []string{`hand boiling: water_table = dry: must be a length with its unit, such as "12 ft" or "12 m", or "none"`}},
		{[]string{"boiling", "depth=1 m", "water_table=none", "vacuum=100 kPa", "elevation=6000 m"}, []string{"hand boiling: vacuum = 100 kPa: leaves no pressure"}},
		{[]string{"heat-up", "power_density=60 W/m3", "thickness=5 ft", "temperature=10 degC"}, []string{"hand heat-up: temperature = 10 degC: must be above ambient, 13 degC"}},
		{[]string{"cool-down", "thickness=5 ft", "until=12 degC"}, []string{"hand cool-down: until = 12 degC: must be above ambient, 13 degC"}},
		{[]string{"groundwater"}, []string{"hand groundwater: flux: is missing, as is flow"}},
		{[]string{"groundwater", "flux=0.1 ft/d", "flow=1 gpm"}, []string{"hand groundwater: flow = 1 gpm: must not be given together with flux"}},
		{[]string{"groundwater", "flow=1 gpm", "area=1 m2"}, []string{"hand groundwater: area = 1 m2: goes with flux, not with flow"}},
		{[]string{"cover", "depth=1 ft", "pavement=2 ft"}, []string{"hand cover: pavement = 2 ft: must not be thicker than the depth"}},
		{[]string{"energy", "porosity=40"}, []string{"hand energy: porosity = 40: must be between 0 and 0.95 (a fraction; 40 % is 0.4)"}},
		{[]string{"energy", "volume=3 m2"}, []string{"hand energy: volume = 3 m2: is an area; must be a volume in m3, yd3 or ft3"}},
		{[]string{"loss", "thickness="}, []string{`hand loss: thickness = "": must be a length`}},
		{[]string{"loss", "thickness=2026-05-01"}, []string{"hand loss: thickness = 2026-05-01: must be a length"}},
		{[]string{"loss", "thickness=" + strings.Repeat("[", 5000)}, []string{"hand loss: thickness = " + strings.Repeat("[", 80) + "…: is too long"}},
	} {
		o := must(t, wrong, append([]string{"hand"}, c.args...)...)
		if n := strings.Count(o.err, "\n"); n != len(c.want) {
			t.Errorf("hand %v told %d faults, want %d:\n%s", c.args, n, len(c.want), o.err)
		}
		lines := strings.Split(strings.TrimSuffix(o.err, "\n"), "\n")
		if o.out != "" {
			t.Errorf("hand %v wrote %q on stdout, want nothing", c.args, o.out)
		}
		for i, want := range c.want {
			if i >= len(lines) || !strings.Contains(lines[i], want) {
				t.Errorf("hand %v said\n%s\nwant as line %d %q", c.args, o.err, i+1, want)
				break
			}
		}
	}
}

// TestHandTakesAnyText: any text in any argument gives an answer or faults of one line each.
func TestHandTakesAnyText(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	bits := []string{"=", "==", " ", "", "1", "-1", "1e999", "nan", "inf", "none", "12 ft", "7 ft 6 in", "true", "[1,2]", "{a=1}", "\"", "'''", "\n", "\x00", "\xff", "#", "°", "ft", "/", "−5 °C", "1/0 m", "0 m", "--", "é", "3 phases", "1979-05-27T07:32:00Z", strings.Repeat("9", 400)}
	for _, name := range hand.Names() {
		for range 60 {
			args := append([]string{"hand", name}, enough[name]...)
			for range 1 + rng.IntN(3) {
				at := 2 + rng.IntN(len(args)-1)
				word := bits[rng.IntN(len(bits))]
				if at < len(args) {
					head, _, _ := strings.Cut(args[at], "=")
					args[at] = head + "=" + word + bits[rng.IntN(len(bits))]
				} else if word != "--" && !strings.HasPrefix(word, "-") {
					args = append(args, word+bits[rng.IntN(len(bits))])
				}
			}
			o := call(t, args...)
			if o.code != done && o.code != wrong {
				t.Fatalf("%q ended with %d", args, o.code)
			}
			if o.code == wrong {
				for line := range strings.Lines(o.err) {
					if !strings.HasPrefix(line, "hand "+name+": ") && !strings.HasPrefix(line, "soiljoule hand: ") {
						t.Fatalf("%q said %q, want a fault in the shape of the others", args, line)
					}
				}
			}
		}
	}
}

// TestReadmeShowsHand: the example in README is what the program prints.
func TestReadmeShowsHand(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	want := must(t, done, "hand", "loss", "thickness=5 ft").out
	if !strings.Contains(string(readme), want) {
		t.Errorf("README.md does not hold what `soiljoule hand loss \"thickness=5 ft\"` prints:\n%s", want)
	}
}
