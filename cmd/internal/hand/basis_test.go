package hand

import (
	"math"
	"strings"
	"testing"
)

// TestVoltageBasis: a voltage from phase to phase is √3 times that to the neutral, from pole
// to pole twice that to the middle, and the same either way from a case that says which.
func TestVoltageBasis(t *testing.T) {
	for _, c := range []struct {
		name  string
		args  []string
		times float64
	}{
		{"grid", []string{"spacing=14 ft"}, math.Sqrt(3)},
		{"ring", []string{"diameter=30 ft", "phases=3"}, math.Sqrt(3)},
		{"rows", []string{"distance=12 ft", "spacing=14 ft"}, math.Sqrt(3)},
		{"rows", []string{"distance=12 ft", "spacing=14 ft", "phases=1"}, 2},
	} {
		amps := func(more ...string) float64 {
			a, err := Find(c.name).WorkOut(nil, append(append([]string{"resistivity=25 ohm*m", "length=6 ft", "voltage=130 V"}, c.args...), more...))
			if err != nil {
				t.Fatal(err)
			}
			return *a.Table.Rows[0].Values[2]
		}
		// Answers have twelve digits, so a ratio is off by 1e-11 at most.
		near(t, c.name+", phase to neutral over phase to phase", amps()/amps("voltage_basis=phase to phase"), c.times, 1e-11*c.times)
	}
	_, err := Find("ring").WorkOut(nil, []string{"diameter=30 ft", "resistivity=25 ohm*m", "voltage_basis=phase to phase"})
	if err == nil || !strings.Contains(err.Error(), "five different voltages") {
		t.Errorf("six phases from phase to phase end with %v", err)
	}
}
