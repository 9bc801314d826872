package cases

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestRingCaution: of six electrodes on a ring in three phases opposite ones are alike, so
// the middle takes no power; in six phases it takes some; the same with one more on the
// neutral in the middle, which is no part of the ring; with that one elsewhere it is no
// ring. By hand.
func TestRingCaution(t *testing.T) {
	for _, c := range []struct {
		phases  int
		neutral []float64 // x of electrodes on the neutral
		want    string
	}{
		{3, nil, "whose middle takes no power"},
		{6, nil, "power falls from them towards its middle"},
		{3, []float64{10}, "whose middle takes no power"},
		{6, []float64{10}, "power falls from them towards its middle"},
		{6, []float64{11}, ""},
	} {
		k := &Case{View: Plan, Supply: Supply{Phases: c.phases}}
		for i, x := range c.neutral { // the first of all
			k.Electrodes = append(k.Electrodes, Electrode{Name: fmt.Sprint("N", i), Phase: "N", X: x, Y: -3})
		}
		for i := range 6 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 3)
			k.Electrodes = append(k.Electrodes, Electrode{Name: fmt.Sprint("E", i), Phase: string(rune('A' + i%c.phases)), X: 10 + 4*cos, Y: -3 + 4*sin})
		}
		got := strings.Join(k.ringCaution(), "")
		if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%d phases, neutrals at x = %v: %q, want %q in it", c.phases, c.neutral, got, c.want)
		}
	}
}
