package cases

import (
	"strings"
	"testing"
)

// TestTargetsBeyondElectrodes: ground of a target where no electrode is near is named, with
// the place and the distances (worked out by hand); targets among electrodes are not.
func TestTargetsBeyondElectrodes(t *testing.T) {
	rows := []Electrode{{X: 0, Top: 2, Bottom: 6}, {X: 4, Top: 2, Bottom: 6}, {X: 8, Top: 2, Bottom: 6}}
	square := []Electrode{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 0, Y: 4}, {X: 4, Y: 4}}
	outlined := [2]float64{nan, nan}
	for name, of := range map[string]struct {
		c    Case
		want string // "": none
	}{
		"section among":    {Case{View: Section, Electrodes: rows, Targets: []Target{{Left: 0, Right: 8, Top: 2.2, Bottom: 6.1}}}, ""},
		"section too deep": {Case{View: Section, Electrodes: rows, Targets: []Target{{Left: 0, Right: 8, Top: 2, Bottom: 10}}}, "in the 50 % of its thickness above and below"},
		"cell too shallow": {Case{View: Axisymmetric, Electrodes: rows[:1], Targets: []Target{{Radius: 2, Top: 0, Bottom: 5}}}, "in the 40 % of its thickness"},
		// The rows reach 4 m out on either side: 8 of 20 m are farther.
		"section too wide": {Case{View: Section, Electrodes: rows, Targets: []Target{{Left: 0, Right: 20, Top: 2, Bottom: 6}}}, "in the 40 % of its width"},
		"section of heat":  {Case{View: Section, Electrodes: rows, Heats: []Heat{{}}, Targets: []Target{{Left: 0, Right: 20, Top: 2, Bottom: 6}}}, ""},
		"plan among":       {Case{View: Plan, Electrodes: square, Targets: []Target{{Outline: [][2]float64{{-2, -2}, {6, -2}, {6, 6}, {-2, 6}}, Center: outlined}}}, ""},
		// (7, 8) is 3 m across and 4 m along from (4, 4).
		"plan too wide": {Case{View: Plan, Electrodes: square, Targets: []Target{{Outline: [][2]float64{{0, 0}, {4, 0}, {7, 8}}, Center: outlined}}}, "reaches to x 7 m (22.97 ft), y 8 m (26.25 ft), which is 5 m (16.4 ft) from the nearest electrode, where no electrode is farther than 4 m"},
		// A circle's point at 270° is (2, −7), √(2² + 7²) from the two electrodes in front.
		"circle": {Case{View: Plan, Electrodes: square, Targets: []Target{{Center: [2]float64{2, 1}, Radius: 8}}}, "y -7 m (-22.97 ft), which is 7.28 m"},
	} {
		of.c.Targets[0].Name = "zone"
		got := strings.Join(of.c.beyondCautions(), "\n")
		if (of.want == "") != (got == "") || !strings.Contains(got, of.want) || strings.Count(got, "\n") > 0 {
			t.Errorf("%s: the cautions are %q, want %q", name, got, of.want)
		}
	}
}
