package solver

import (
	"context"
	"regexp"
	"strconv"
	"testing"
)

// TestCouplingRefusalNamesWhatFailed: a stage whose potential and heat disagree in
// one cell more than they may, though not over all, says so: its message holds the
// number that was too large. It once gave the mean alone, which was within its bar.
func TestCouplingRefusalNamesWhatFailed(t *testing.T) {
	refused := 0
	for _, tolerance := range []float64{0.1, 1, 3, 10} {
		p := cell(t, 10, 0)
		p.Settings = Settings{FixedStep: day / 4, Tolerance: tolerance, MaxCoupled: 1}
		_, err := Run(context.Background(), p, nil)
		if err == nil {
			continue
		}
		refused++
		m := regexp.MustCompile(`disagree by (\S+) K rms, (\S+) K in one cell, after 1 rounds`).FindStringSubmatch(err.Error())
		if m == nil {
			t.Errorf("tolerance %g K: Run ended with %q, want the disagreement in the mean and in one cell", tolerance, err)
			continue
		}
		rms, err1 := strconv.ParseFloat(m[1], 64)
		most, err2 := strconv.ParseFloat(m[2], 64)
		// Three digits are printed, so a number just above its bar may print as the bar.
		if err1 != nil || err2 != nil || rms < 0.1*tolerance && most < tolerance {
			t.Errorf("tolerance %g K: the message gives %s K rms and %s K in one cell, want one above its bar of %g and %g K", tolerance, m[1], m[2], 0.1*tolerance, tolerance)
		}
	}
	if refused == 0 {
		t.Error("no run of a drying cell in steps of six hours with one potential a stage was refused, want some")
	}
}
