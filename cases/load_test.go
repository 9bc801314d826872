package cases

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// mustParse returns the case of a text that has no faults.
func mustParse(t *testing.T, text string, sets ...string) *Case {
	t.Helper()
	c, err := Parse("yard.toml", []byte(text), "testdata", sets)
	if err != nil {
		t.Fatalf("faults in a case that should have none:\n%v", err)
	}
	return c
}

// equalBits compares two values field by field; NaN equals NaN.
func equalBits(a, b reflect.Value) bool {
	switch a.Kind() {
	case reflect.Float64:
		return math.Float64bits(a.Float()) == math.Float64bits(b.Float()) || math.IsNaN(a.Float()) && math.IsNaN(b.Float())
	case reflect.Struct:
		if t, ok := a.Interface().(time.Time); ok {
			return t.Equal(b.Interface().(time.Time))
		}
		for i := range a.NumField() {
			if !equalBits(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !equalBits(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	case reflect.Pointer:
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return equalBits(a.Elem(), b.Elem())
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// sameCase fails unless the two cases are equal but for the file's name.
func sameCase(t *testing.T, got, want *Case) {
	t.Helper()
	g, w := *got, *want
	g.File, w.File = "", ""
	if !equalBits(reflect.ValueOf(g), reflect.ValueOf(w)) {
		t.Errorf("cases differ:\n%+v\n%+v", g, w)
	}
}

// full gives every key of a section a value other than its default.
const full = `title = "Every \"key\" \\ of a section"
question = "Ω?"
note = "Invented scenario.\n\tTwo lines."
view = "section"
site.ambient = "13 degC"
site.water_table = "2.1336 m"
site.elevation = "100 m"
site.resistivity_at = "20 degC"
extent.length = "10 m"
surface = { air = "air.csv", film = "10 W/m2/K", cover = "0.1 m2*K/W", infiltration = "rain.csv" }
target = [
  { name = "zone", left = "1 m", right = "9 m", top = "2 m", bottom = "4 m", temperature = "boiling", share = "95 %", hold = "30.1 d" },
  { name = "core", left = "3 m", right = "7 m", top = "2.5 m", bottom = "3.5 m", temperature = "95 degC" },
]
[[layer]]
name = "sand"
bottom = "3 m"
resistivity = "150 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.1 MJ/m3/K"
porosity = "35 %"
saturation = 0.5
source = "choice, no source"
resistivity_at = "10 degC"
temperature_law = "viscosity"
temperature_coefficient = "0.02 1/K"
saturation_exponent = 1.7
grain_share = 0.1
removable_water = 0.4
residual_conductivity = 0.02
inflow = "0.02 1/d"
refill_rate = "0.3 1/h"
dry_saturation = 0.01
field_capacity = 0.7
steam_barrier = false
thermal_conductivity_dry = "0.4 W/m/K"
kind = "soil"
conductivity_law = "johansen"
texture = "sand"
groundwater = "-0.02 ft/d"
[[layer]]
name = "clay 2"
resistivity = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "2345678.912 J/m3/K"
porosity = 0.45
saturation = 1
inflow = "unlimited"
[[array]]
pattern = "rectangular"
spacing = "3 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
name = "R"
voltage = "90 V"
outboard = "1 m"
[[electrode]]
name = "P1"
phase = "N"
top = "5 m"
bottom = "6 m"
x = "5.333333333333333 m"
width = "0.1 m"
contact_resistance = "0.01 ohm*m2"
[[electrode]]
name = "P2"
phase = "A"
top = "5 m"
bottom = "6 m"
x = "8 m"
radius = "0.1 m"
rod_spacing = "2 m"
rod_offset = "1 m"
voltage = "140 V"
current_limit = "25 A"
[[conductor]]
name = "pipe"
left = "10 m"
right = "10.5 m"
top = "1 m"
bottom = "1.5 m"
[[heat]]
name = "drum"
power = "1.5 kW"
left = "1 m"
right = "2.0000001 m"
top = "4.5 m"
bottom = "4.9 m"
thermal_conductivity = "40 W/m/K"
heat_capacity = "3.6 MJ/m3/K"
[supply]
phases = 3
voltage = "130 V"
voltage_basis = "phase to neutral"
power_limit = "150.3 kW"
current_limit = "30 A"
neutral = "grounded"
off = 2026-05-31
[[change]]
at = 2026-05-20T14:30:00.25
voltage = "0 V"
[[change]]
at = "3 d"
power_limit = "1 kW"
current_limit = "2 A"
on = false
[[change]]
at = "40 d"
electrode = "P2"
voltage = "120 V"
[[sensor]]
name = "T1"
x = "4 m"
depth = ["7 ft 6 in", "2.5 m"]
[[sensor]]
name = "T2"
x = "5 m"
depth = ["1 m"]
[[sensor]]
name = "T3"
x = "6 m"
depth = "1 m"
[steam]
boiling = true
vacuum = "5 inHg"
fate = "rising"
top = "1 ft"
bottom = "3 ft"
capture_share = "80 %"
[[water_added]]
electrode = "R"
rate = "0.3 gpm"
[[water_added]]
electrode = "P1"
rate = "1.1 L/min"
temperature = "40.1 degF"
from = "3 h"
to = 2026-05-20
[time]
duration = "70 d"
power_on = 2026-05-01T14:00:00
tolerance = "0.5 degF"
[domain]
left = "-30 m"
right = "40 m"
bottom = "30 m"
below = "13 degC"
sides = "12 degC"
[mesh]
finest = "2 in"
growth = 1.15
max_cells = 200000
[output]
fields_every = "2 d"
fields_at = ["0.5 d", 2026-05-03]
units = "us"
`

// fullPlan gives every key that a plan alone has.
var fullPlan = strings.Replace(strings.Replace(strings.Replace(soundPlan, "[supply]", "[supply]\nneutral = \"grounded\"", 1), "saturation = 1.0", "saturation = 1.0\ngroundwater = \"0.1 ft/d\"\ngroundwater_direction = \"-30 deg\"", 1), "[[electrode]]", `[[array]]
name = "R"
pattern = "ring"
center = ["-4 ft", "25 m"]
diameter = "30 ft"
count = 9
center_neutral = true
top = "2 m"
bottom = "3.5 m"
radius = "15 cm"
[[heat]]
name = "strip"
power = "1 kW"
outline = [["0 m", "0 m"], ["3 m", "0 m"], ["1.1 m", "1 ft"]]
[[heat]]
name = "spot"
power = "2 kW"
center = ["4 m", "3 m"]
radius = "1 m"
[[conductor]]
name = "drum"
center = ["4 m", "20 m"]
radius = "1.5 m"
[[conductor]]
name = "pipe"
outline = [["-5 m", "35 m"], ["20 m", "35 m"], ["20 m", "36 m"], ["-5 m", "36 m"]]
[domain]
left = "-20 m"
right = "30 m"
front = "-10.1 m"
back = "40 m"
bottom = "9 m"
duration = "90 d"
sides = "11 degC"
below = "12 degC"
[[electrode]]`, 1)

// TestRoundTrip: a case written and read again is the same, bit by bit.
func TestRoundTrip(t *testing.T) {
	section, err := Template("section")
	if err != nil {
		t.Fatal(err)
	}
	cell, err := Template("axisymmetric")
	if err != nil {
		t.Fatal(err)
	}
	monthly := strings.Replace(strings.Replace(sound, `"53.6 degF"`, `["1 degC","2 degC","3 degC","4 degC","5 degF","6 degC","7 degC","8 degC","9 degC","10 degC","11 degC","12 degC"]`, 1),
		"[time]", "[time]\npower_on = 2026-05-01", 1)
	plan, err := Template("plan")
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"plan": plan, "full plan": fullPlan, "sound": sound, "cell": soundAxis, "full": full, "heated": heated, "monthly": monthly, "section": section, "axisymmetric": cell} {
		t.Run(name, func(t *testing.T) {
			c := mustParse(t, text)
			var b bytes.Buffer
			if err := c.WriteTOML(&b); err != nil {
				t.Fatal(err)
			}
			again := mustParse(t, b.String())
			sameCase(t, again, c)
			var b2 bytes.Buffer
			if err := again.WriteTOML(&b2); err != nil {
				t.Fatal(err)
			}
			if b.String() != b2.String() {
				t.Errorf("written again it differs:\n%s\n%s", b.String(), b2.String())
			}
		})
	}
}

// TestRoundTripComputed: electrodes that the program worked out have numbers of
// full length; they come back with the same bits too.
func TestRoundTripComputed(t *testing.T) {
	c := mustParse(t, sound)
	for i := range c.Electrodes {
		c.Electrodes[i].X = math.Sqrt(float64(3*i+2)) * 3
		c.Electrodes[i].RodSpacing = math.Sqrt(3) * 14 * Foot
	}
	var b bytes.Buffer
	if err := c.WriteTOML(&b); err != nil {
		t.Fatal(err)
	}
	sameCase(t, mustParse(t, b.String()), c)
}

// TestRoundTripExpanded: so does a case whose arrays became electrodes.
func TestRoundTripExpanded(t *testing.T) {
	for _, view := range views {
		text, err := Template(view)
		if err != nil {
			t.Fatal(err)
		}
		c, _ := mustParse(t, text).Expand()
		var b bytes.Buffer
		if err := c.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		sameCase(t, mustParse(t, b.String()), c)
	}
}

// TestFeetAndMetres: one case in customary units and in SI has equal bits, so
// its results have too.
func TestFeetAndMetres(t *testing.T) {
	metric := strings.NewReplacer(
		`"55.4 degF"`, `"13 degC"`, `"53.6 degF"`, `"12 degC"`, `"203 degF"`, `"95 °C"`,
		`"7 ft"`, `"2.1336 m"`, `"90 ft"`, `"27.432 m"`, `"8 ft"`, `"2.4384 m"`, `"15 ft"`, `"457.2 cm"`, `"75 ft"`, `"22.86 m"`,
		`"13 ft"`, `"3.9624 m"`, `"20 ft"`, `"6.096 m"`, `"30 ft"`, `"9.144 m"`, `"6 in"`, `"0.1524 m"`, `"24 ft"`, `"7.3152 m"`,
		`"22 ft"`, `"6705.6 mm"`, `["4 ft", "8 ft"]`, `["1.2192 m", "2.4384 m"]`, `"70 d"`, `"1680 h"`).Replace(sound)
	if strings.Contains(metric, " ft\"") || strings.Contains(metric, "degF") {
		t.Fatal("the metric case still has customary units")
	}
	us, si := mustParse(t, sound), mustParse(t, metric)
	us.Sensors[0].Labels, si.Sensors[0].Labels = nil, nil // named after the depths as written
	sameCase(t, us, si)
}

// TestFull: the values of a file with every key, spot by spot.
func TestFull(t *testing.T) {
	c := mustParse(t, full)
	seen := func(name string, got, want any) {
		t.Helper()
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s = %v, want %v", name, got, want)
		}
	}
	seen("labels", c.Sensors[0].Labels, []string{"T1@7ft6in", "T1@2.5m"})
	seen("label of a list of one", c.Sensors[1].Labels, []string{"T2@1m"})
	seen("label of one depth", c.Sensors[2].Labels, []string{"T3"})
	seen("depths", c.Sensors[0].Depths, []float64{2.286, 2.5})
	seen("boiling", c.Targets[0].Boiling, true)
	seen("field capacity", c.Layers[0].FieldCapacity, 0.7)
	seen("field capacity left out", math.IsNaN(c.Layers[1].FieldCapacity), true)
	seen("interval of extraction", c.Steam, Steam{Boiling: true, Fate: "rising", Vacuum: round13(5 * InchOfHg), Top: 0.3048, Bottom: 0.9144, CaptureShare: 0.8})
	seen("water added, its temperature and end left out", c.WaterAdded[0], WaterAdded{Electrode: "R", Rate: round13(0.3 * Gallon / 60), Temperature: c.Site.Ambient, To: inf})
	seen("rate of water added", c.WaterAdded[1].Rate, round13(1.1e-3/60))
	seen("times of water added", []float64{c.WaterAdded[1].From, c.WaterAdded[1].To}, []float64{3 * hour, 18*day + 10*hour})
	seen("inflow", c.Layers[0].Inflow, Inflow{InflowRate, round13(0.02 / 86400)})
	seen("inflow", c.Layers[1].Inflow, Inflow{Kind: InflowUnlimited})
	seen("layer's own reference", c.Layers[0].ResistivityAt, 283.15)
	seen("the site's reference", c.Layers[1].ResistivityAt, 293.15)
	seen("changes in order", []float64{c.Changes[0].At, c.Changes[1].At}, []float64{3 * day, 19*day + 1800.25})
	seen("change that leaves the voltage", c.Changes[0].Voltage == nil && !*c.Changes[0].On, true)
	seen("fields in order", c.Output.FieldsAt, []float64{0.5 * day, 34 * hour})
	seen("power on", c.Time.PowerOn, time.Date(2026, 5, 1, 14, 0, 0, 0, time.UTC))
	seen("power off", c.Supply.Off, Off{At: 29*day + 10*hour})
	seen("air", c.Surface.Air.Series, []AirPoint{{0, 283.15}, {30 * day, 293.15}})
	seen("infiltration", c.Surface.Infiltration.Series, []RainPoint{{0, 0}, {10 * day, round13(0.1 * 0.0254 / day)}, {20 * day, round13(0.1 * 0.0254 / day)}})
	seen("groundwater", c.Layers[0].Groundwater, round13(-0.02*0.3048/day))
	seen("below", c.Domain.Below, Edge{Temperature: 286.15})
	seen("tolerance", c.Time.Tolerance, round13(0.5*5/9))
}

// TestEveryKeyGiven: the full case above and an axisymmetric one give every key
// of the schema, so the round trip covers all.
func TestEveryKeyGiven(t *testing.T) {
	given := map[string]bool{}
	for _, text := range []string{full, fullPlan, heated, soundAxis, controlled, meteredCase, "target.radius = 1\nextent.rim = 1\nextent.count = 1\nsensor.r = 1\nmesh.wall = 1\nconductor.radius = 1\nconductor.inner_radius = 1"} {
		for _, p := range locate(text).places {
			given[strings.Join(p.names, ".")] = true
		}
	}
	for _, k := range schema {
		if !given[k.path] {
			t.Errorf("%s is in no test case", k.path)
		}
	}
}

// TestSets: --set by name, by number, of a table that occurs once, into a
// missing section, as text or TOML.
func TestSets(t *testing.T) {
	c := mustParse(t, sound, "layer.clay.porosity=0.4", "layer[1].porosity=30 %", "mesh.finest=6 in", "supply.voltage=\"120 V\"",
		"title=A = B", "sensor.T1.depth=[\"1 ft\"]", "time.power_on=2026-05-01", "layer.sand.porosity = 0.2")
	if c.Layers[1].Porosity != 0.4 || c.Layers[0].Porosity != 0.2 || c.Mesh.Finest != 0.1524 || c.Supply.Voltage != 120 ||
		c.Title != "A = B" || c.Sensors[0].Labels[0] != "T1@1ft" || c.Time.PowerOn.Year() != 2026 {
		t.Errorf("--set gave %+v", c)
	}
	// One array, which has no name: its key alone says which, as does the name that its
	// electrodes have by default.
	for _, path := range []string{"array.spacing", "array.E.spacing", "array[1].spacing"} {
		if c := mustParse(t, soundArray, path+"=15 ft"); math.Abs(c.Arrays[0].Spacing-4.572) > 1e-12 {
			t.Errorf("--set %s=15 ft gives a spacing of %g m, want 4.572", path, c.Arrays[0].Spacing)
		}
	}
}

// TestNamesWithADot: a sensor may be named for a depth, beside one whose name its own
// goes on from; --set finds each by its whole name.
func TestNamesWithADot(t *testing.T) {
	more := "[[sensor]]\nname = \"x15z9.5\"\nx = \"15 m\"\ndepth = [\"9.5 m\"]\n[[sensor]]\nname = \"x15z9\"\nx = \"15 m\"\ndepth = \"9 m\"\n"
	c := mustParse(t, sound+more, "sensor.x15z9.5.x=14 m", "sensor.x15z9.x=13 m", "sensor.x15z9.depth=8 m")
	if long, short := c.Sensors[1], c.Sensors[2]; long.X != 14 || long.Labels[0] != "x15z9.5@9.5m" || short.X != 13 || short.Depths[0] != 8 {
		t.Errorf("--set of sensors x15z9.5 and x15z9 gave %+v", c.Sensors)
	}
}

// TestFilesRefused: what is no case file at all gives one line.
func TestFilesRefused(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, c := range []struct{ path, want string }{
		{filepath.Join(dir, "none.toml"), "there is no file " + filepath.Join(dir, "none.toml")},
		{dir, dir + " is a folder, not a file"},
		{write("empty.toml", []byte(" \n\r\n")), "empty.toml: is empty; `soiljoule new section` prints a case to start from"},
		{write("bom.toml", []byte("\ufeff")), "bom.toml: is empty"},
		{write("nul.toml", []byte("a = 1\n\x00")), "nul.toml: is not a text file (it holds NUL bytes)"},
		{write("utf8.toml", []byte("a = 1\nb = '\xff'")), "utf8.toml:2: is not text in UTF-8"},
		{write("large.toml", bytes.Repeat([]byte("# \n"), mostBytes/3+1)), "large.toml: is larger than 4 MiB; a case file is a short text"},
		{write("deep.toml", []byte("a = "+strings.Repeat("[", 1<<20))), "deep.toml: has brackets or keys nested deeper than 8"},
		{write("dots.toml", []byte(strings.Repeat("a.", 1<<20)+"a = 1")), "dots.toml: has brackets or keys nested deeper than 8"},
		{write("tables.toml", []byte("a = "+strings.Repeat("{a=", 1<<20))), "tables.toml: has brackets or keys nested deeper than 8"},
	} {
		_, err := Load(c.path, nil)
		var faults Faults
		if !errors.As(err, &faults) || len(faults) != 1 || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Load(%s) gave\n%v\nwant one fault with\n%s", c.path, err, c.want)
		}
	}
}

// TestManyFaults: a hostile file is told a bounded number of faults, soon.
func TestManyFaults(t *testing.T) {
	var b strings.Builder
	for i := range 90000 {
		b.WriteString("k")
		b.WriteString(strings.Repeat("x", i%7))
		b.WriteString(strings.TrimLeft(strings.Repeat("0", 6)+string(rune('a'+i%26)), ""))
		b.WriteString(digits(float64(i)))
		b.WriteString(" = 1\n")
	}
	_, err := Parse("many.toml", []byte(b.String()), "", nil)
	var faults Faults
	if !errors.As(err, &faults) || len(faults) != mostFaults+1 {
		t.Errorf("90000 unknown keys gave %d faults, want %d and a last word", len(faults), mostFaults)
	}
	rows := strings.Repeat("[[electrode]]\n", mostRows+1)
	if _, err := Parse("rows.toml", []byte(sound+rows), "", nil); err == nil || !strings.Contains(err.Error(), "must be at most 2000") {
		t.Errorf("2001 electrodes gave %v, want a fault that names the limit", err)
	}
}

// TestSchema: each declaration holds together.
func TestSchema(t *testing.T) {
	seen := map[string]bool{}
	for i := range schema {
		k := &schema[i]
		if seen[k.path] {
			t.Errorf("%s is declared twice", k.path)
		}
		seen[k.path] = true
		if findSection(k.section()) == nil {
			t.Errorf("%s has no section", k.path)
		}
		if k.meaning == "" {
			t.Errorf("%s has no meaning", k.path)
		}
		ways := 0
		for _, way := range []bool{k.required, k.def != "", k.left != ""} {
			if way {
				ways++
			}
		}
		if ways != 1 {
			t.Errorf("%s must be required, or have a default, or say what leaving it out means; it has %d of these", k.path, ways)
		}
		if q, ok := k.kind.(quantity); ok {
			if _, ok := q.dim.find(k.unit); !ok {
				t.Errorf("%s has its range in %s, which is no %s", k.path, k.unit, q.dim.name)
			}
		}
		if k.def != "" { // a default obeys its own rules
			l := &loader{c: &Case{}, pos: locate("")}
			s := findSection(k.section())
			row := any(nil)
			if s.many {
				row = s.add(l.c)
			} else {
				row = s.rows(l.c)[0]
			}
			if l.absent(k, row); len(l.faults) > 0 {
				t.Errorf("the default of %s is refused: %v", k.path, l.faults)
			}
		}
	}
}

// TestKeys: every key and every unit is listed; an unknown section is refused.
func TestKeys(t *testing.T) {
	var all, markdown, units bytes.Buffer
	if err := errors.Join(WriteKeys(&all, ""), WriteKeysMarkdown(&markdown), WriteKeys(&units, "units")); err != nil {
		t.Fatal(err)
	}
	for i := range schema {
		if k := &schema[i]; !strings.Contains(all.String(), "\n"+k.name()+" ") || !strings.Contains(markdown.String(), "`"+k.name()+"`") {
			t.Errorf("%s is not listed", k.path)
		}
	}
	for _, d := range dimensions {
		if !strings.Contains(units.String(), d.name) {
			t.Errorf("%s is not listed", d.name)
		}
	}
	for i := range sections {
		name := sections[i].name
		if name == "" {
			name = "top"
		}
		var one bytes.Buffer
		if err := WriteKeys(&one, name); err != nil || one.Len() == 0 {
			t.Errorf("WriteKeys(%s) wrote %d bytes, %v", name, one.Len(), err)
		}
	}
	err := WriteKeys(&all, "layr")
	if want := "section layr: unknown; nearest is layer;"; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("WriteKeys(layr) gave %v, want %q…", err, want)
	}
}

// FuzzParse: any bytes and any --set give a case or faults, never a panic; and
// a case writes itself so that it reads back the same.
func FuzzParse(f *testing.F) {
	for _, s := range append([]string{full, fullPlan}, locateSeeds...) {
		f.Add(s, "layer[1].porosity=0.4")
	}
	for _, b := range slices.Concat(brokenFiles, brokenPlans) {
		text := sound
		if b.base != "" {
			text = b.base
		}
		for _, e := range b.edits {
			text = strings.Replace(text, e.old, e.new, 1)
		}
		f.Add(text, strings.Join(b.sets, ""))
	}
	f.Fuzz(func(t *testing.T, text, set string) {
		var sets []string
		if set != "" {
			sets = []string{set}
		}
		c, err := Parse("fuzz.toml", []byte(text), "testdata", sets)
		if err != nil {
			var faults Faults
			if !errors.As(err, &faults) || len(faults) == 0 {
				t.Fatalf("error without faults: %v", err)
			}
			for _, fault := range faults {
				if s := fault.String(); strings.ContainsAny(s, "\n\r\x00") {
					t.Fatalf("fault on more than one line: %q", s)
				}
			}
			return
		}
		var b bytes.Buffer
		if err := c.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		again, err := Parse("again.toml", b.Bytes(), "testdata", nil)
		if err != nil {
			t.Fatalf("the written case has faults:\n%v\n%s", err, b.String())
		}
		if c.Surface.Air.File != "" {
			c.Surface.Air.File = baseName(c.Surface.Air.File)
		}
		sameCase(t, again, c)
	})
}
