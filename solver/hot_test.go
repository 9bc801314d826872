package solver

import (
	"errors"
	"strings"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// TestRunawayEnds: ground that does not boil and conducts the better the hotter it
// is runs away at a held voltage. The run ends with a line that says so, its last
// report below the limit, not after ever shorter steps to a million degrees.
func TestRunawayEnds(t *testing.T) {
	p := cell(t, 30, 0)
	for k := range p.Ground.Stores {
		p.Ground.Stores[k].BoilingPoint = far
	}
	p.Supply[0].Voltage = 2000
	reports := 0
	report, err := Run(t.Context(), p, each(func(*Report) { reports++ }))
	if !errors.Is(err, ErrHot) {
		t.Fatalf("a run away of the temperature ended with %v after %d steps, want %v", err, reports, ErrHot)
	}
	for c, v := range report.State.T {
		if v > hottest {
			t.Errorf("the last report has %.4g K in cell %d, want at most %.4g K", v, c, hottest)
		}
	}
}

// TestTooHotIsNamed: the error says what grew too hot and what can be done: ground
// melts, a solid heater does not; without electrodes there is no limit to set.
func TestTooHotIsNamed(t *testing.T) {
	electrodes := cell(t, 30, 0)
	for k := range electrodes.Ground.Stores {
		electrodes.Ground.Stores[k].BoilingPoint = far
	}
	electrodes.Supply[0].Voltage = 2000
	heated := func(solid bool) *Problem {
		g := mesh.NewSection([]float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}, 1)
		p := dry(t, g, 1)
		p.Duration = 100 * day
		p.Imposed = make([]float64, g.Cells())
		p.Imposed[4] = 1e5
		if solid {
			p.Ground.Insert(physics.Insert{Name: "drum", Zone: mesh.Zone{I0: 1, I1: 2, K0: 1, K1: 2}, Conductivity: 20, Capacity: 3e6})
		}
		return p
	}
	for _, c := range []struct {
		name      string
		p         *Problem
		want, not []string
	}{
		{"ground between electrodes", electrodes, []string{"the ground", "melted", "lower the voltage", "set a limit"}, []string{"set power"}},
		{"ground under set power", heated(false), []string{"the ground", "melted", "lower the set power"}, []string{"voltage", "limit"}},
		{"a solid body", heated(true), []string{`"drum", a body of set power,`, "lower its power"}, []string{"the ground", "melted", "limit", "voltage"}},
	} {
		_, err := Run(t.Context(), c.p, nil)
		if !errors.Is(err, ErrHot) {
			t.Errorf("%s that grows too hot ends with %v, want %v", c.name, err, ErrHot)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %q", c.name, err, w)
			}
		}
		for _, w := range c.not {
			if strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q says %q", c.name, err, w)
			}
		}
	}
}
