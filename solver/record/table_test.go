package record

import (
	"math"
	"testing"
)

// TestNum: twelve digits, and no "-0" of an electrode on the neutral, whose power is its
// current times 0 V.
func TestNum(t *testing.T) {
	for v, want := range map[float64]string{math.Copysign(0, -1): "0", -1.5: "-1.5", 1.0 / 3: "0.333333333333", -1e-300: "-1e-300"} {
		if got := num(v); got != want {
			t.Errorf("%g is written as %s, want %s", v, got, want)
		}
	}
}
