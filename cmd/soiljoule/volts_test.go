package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestVoltsInTheCasesBasis: where a case gives its voltages from phase to phase, check and
// summary tell them so as well: √3 times those to the neutral with three phases, twice with
// two poles; and the caution tells the largest between two electrodes. By hand.
func TestVoltsInTheCasesBasis(t *testing.T) {
	for _, c := range []struct {
		phases, basis, caution string
		times                  float64
	}{
		{"3", "phase to phase", "Electrodes reach 58 V RMS phase to neutral, 100 V between two of them: lethal", math.Sqrt(3)},
		{"1", "phase to phase", "Electrodes reach 50 V RMS phase to neutral, 100 V between two of them: lethal", 2},
		{"3", "phase to neutral", "Electrodes reach 100 V RMS phase to neutral, 173 V between two of them: lethal", 0},
		{"6", "phase to neutral", "Electrodes reach 100 V RMS phase to neutral, 200 V between two of them: lethal", 0},
	} {
		text := strings.Replace(strings.Replace(ringOfSix, "phases = 6", "phases = "+c.phases, 1), "phase to neutral", c.basis, 1)
		out := must(t, done, "check", write(t, t.TempDir(), "ring.toml", text)).out
		if !strings.Contains(out, c.caution) {
			t.Errorf("%s phases, %s: check lacks the caution %q", c.phases, c.basis, c.caution)
		}
		told := fmt.Sprintf("at %.4g V RMS phase to neutral (100 V phase to phase), limits included\n", 100/c.times)
		if c.times == 0 {
			told = "at 100 V RMS phase to neutral, limits included\n"
		}
		if !strings.Contains(out, told) {
			t.Errorf("%s phases, %s: check lacks %q:\n%s", c.phases, c.basis, told, out)
		}
		if c.phases != "3" {
			continue
		}
		path := write(t, t.TempDir(), "ring.toml", text)
		summary := must(t, done, "run", path, "-o", path+".out", "--no-figures", "-q", "--set", "time.duration=1 h", "--set", "mesh.finest=3 ft").out
		if has := strings.Contains(summary, "A at 57.74 V (100 V phase to phase)\n"); has != (c.times > 0) {
			t.Errorf("%s: the summary tells volts from phase to phase: %v, want %v\n%s", c.basis, has, c.times > 0, summary)
		}
	}
}

// TestCheckTellsWhatHoldsBack: with a power limit of a quarter of what the ring would take
// the voltage is half, and check tells from what. Currents go with the voltage.
func TestCheckTellsWhatHoldsBack(t *testing.T) {
	path := write(t, t.TempDir(), "ring.toml", ringOfSix)
	kilowatts := func(out string) float64 {
		m := regexp.MustCompile(`cold power ([0-9.]+) kW`).FindStringSubmatch(out)
		if m == nil {
			t.Fatalf("no cold power in\n%s", out)
		}
		v, _ := strconv.ParseFloat(m[1], 64)
		return v
	}
	free := kilowatts(must(t, done, "check", path).out)
	out := must(t, done, "check", path, "--set", fmt.Sprintf("supply.power_limit=%g kW", free/4)).out
	want := regexp.MustCompile(`at (50|49\.9\d|50\.0\d) V RMS phase to neutral, limits included: held back by the power limit from 100 V and ([0-9.]+) kW\n`)
	m := want.FindStringSubmatch(out)
	if m == nil {
		t.Fatalf("check of a quarter of the power does not tell what holds it:\n%s", out)
	}
	// Printed to 0.1 kW both.
	if v, _ := strconv.ParseFloat(m[2], 64); math.Abs(v-free) > 0.11 {
		t.Errorf("check tells %g kW without the limit, want %g", v, free)
	}
}
