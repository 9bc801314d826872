package cases

import (
	"strings"
	"testing"
)

// sound is a section without faults; the tables below break one thing each.
// Its lines are counted from the first, so the numbers below can be checked.
const sound = `title = "Broken yard"
note = "Invented scenario."
view = "section"
[site]
ambient = "55.4 degF"
water_table = "7 ft"
[extent]
length = "90 ft"
[surface]
air = "53.6 degF"
[[layer]]
name = "sand"
bottom = "8 ft"
resistivity = "150 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.1 MJ/m3/K"
porosity = 0.35
saturation = 0.5
[[layer]]
name = "clay"
resistivity = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
left = "15 ft"
right = "75 ft"
top = "8 ft"
bottom = "13 ft"
temperature = "203 degF"
[[electrode]]
name = "E1"
phase = "A"
x = "20 ft"
top = "8 ft"
bottom = "13 ft"
radius = "6 in"
rod_spacing = "24 ft"
[[electrode]]
name = "E2"
phase = "B"
x = "30 ft"
top = "8 ft"
bottom = "13 ft"
radius = "6 in"
rod_spacing = "24 ft"
[supply]
phases = 3
voltage = "130 V"
voltage_basis = "phase to neutral"
[[sensor]]
name = "T1"
x = "22 ft"
depth = ["4 ft", "8 ft"]
[time]
duration = "70 d"
`

// soundAxis is the same for an axisymmetric view.
const soundAxis = `title = "Broken cell"
note = "Invented scenario."
view = "axisymmetric"
[site]
ambient = "13 degC"
water_table = "none"
[extent]
radius = "2 m"
[surface]
air = "12 degC"
[[layer]]
name = "clay"
resistivity = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
top = "2 m"
bottom = "4 m"
temperature = "boiling"
[[electrode]]
name = "E1"
phase = "A"
top = "2 m"
bottom = "4 m"
radius = "15 cm"
[supply]
phases = 1
voltage = "130 V"
voltage_basis = "phase to neutral"
[time]
duration = "70 d"
`

// soundPlan is a plan: a target by its corners, one by a circle, two electrodes.
const soundPlan = `title = "Broken plan"
note = "Invented scenario."
view = "plan"
[site]
ambient = "13 degC"
water_table = "none"
[extent]
top = "2 m"
bottom = "4 m"
[surface]
air = "12 degC"
[[layer]]
name = "clay"
resistivity = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
outline = [
  ["0 m", "0 m"],
  ["9 m", "0 m"],
  ["9 m", "6 m"],
  ["0 m", "6 m"],
]
temperature = "boiling"
[[target]]
name = "core"
center = ["4 m", "3 m"]
radius = "2 m"
temperature = "90 degC"
[[electrode]]
name = "E1"
phase = "A"
x = "2 m"
y = "3 m"
top = "2 m"
bottom = "4 m"
radius = "15 cm"
[[electrode]]
name = "E2"
phase = "B"
x = "7 m"
y = "3 m"
top = "2 m"
bottom = "4 m"
radius = "15 cm"
[[sensor]]
name = "T1"
x = "4 m"
y = "3 m"
[supply]
phases = 3
voltage = "130 V"
voltage_basis = "phase to neutral"
[time]
duration = "70 d"
`

// soundGrid is the same with an array in place of the electrodes by hand.
var soundGrid = soundPlan[:strings.Index(soundPlan, "[[electrode]]")] + `[[array]]
pattern = "triangular"
spacing = "3 m"
top = "2 m"
bottom = "4 m"
radius = "15 cm"
` + soundPlan[strings.Index(soundPlan, "[[sensor]]"):]

// soundArray is sound with an array in place of the electrodes by hand.
var soundArray = sound[:strings.Index(sound, "[[electrode]]")] + `[[array]]
pattern = "triangular"
spacing = "14 ft"
top = "8 ft"
bottom = "13 ft"
radius = "6 in"
` + sound[strings.Index(sound, "[supply]"):]

// minimal has a title and a view.
const minimal = `title = "Broken"
view = "section"
`

// edit replaces old, which must occur, by new in the sound case.
type edit struct{ old, new string }

// broken is one broken file and the exact text that is printed for it.
type broken struct {
	name  string
	base  string // sound if empty
	edits []edit
	sets  []string
	want  string
}

// parseBroken returns what Parse prints for the case, "" for no fault.
func parseBroken(t *testing.T, b broken) string {
	t.Helper()
	text := b.base
	if text == "" {
		text = sound
	}
	for _, e := range b.edits {
		if !strings.Contains(text, e.old) {
			t.Fatalf("%s: the sound case has no %q", b.name, e.old)
		}
		text = strings.Replace(text, e.old, e.new, 1)
	}
	_, err := Parse("yard.toml", []byte(text), "testdata", b.sets)
	if err == nil {
		return ""
	}
	return err.Error()
}

// TestSound: the cases that the tables break have no fault themselves.
func TestSound(t *testing.T) {
	for _, base := range []string{sound, soundArray, soundAxis, soundPlan, soundGrid} {
		if got := parseBroken(t, broken{base: base}); got != "" {
			t.Errorf("a sound case has faults:\n%s", got)
		}
	}
}

// TestBroken: each broken file prints exactly this.
func TestBroken(t *testing.T) {
	for _, b := range brokenFiles {
		t.Run(b.name, func(t *testing.T) {
			if got, want := parseBroken(t, b), strings.TrimSpace(b.want); got != want {
				t.Errorf("printed\n%s\nwant\n%s", got, want)
			}
		})
	}
}
