package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"testing"
)

// TestPeakBeforeTheSupplyGoesOff: a rod in ground that warms takes most just before its
// supply goes off, in a step whose row of the history has the zeros that hold from then on.
// The summary has the peak of the same run ended there, and no less.
func TestPeakBeforeTheSupplyGoesOff(t *testing.T) {
	dir := t.TempDir()
	peaks := func(name string, sets ...string) (p struct {
		KW   float64 `json:"power_max_kW"`
		Amps float64 `json:"current_max_A"`
	}) {
		out := filepath.Join(dir, name)
		// The modelled ground follows from the duration where it is not given.
		runInto(t, out, cell, append(sets, "--set", "domain.bottom=40 ft")...)
		if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &p); err != nil {
			t.Fatal(err)
		}
		return p
	}
	want := peaks("until", "--set", "time.duration=1.3 d")
	got := peaks("off", "--set", "supply.off=1.3 d")
	// The time of a planned end is met to rounding, and the potential is solved for anew at
	// the end of a run: to 1e-7 of its scale, and the heating until then to what is left of
	// the tolerance between solves, some parts in 1e4 of the power.
	if math.Abs(got.KW-want.KW) > 1e-3*want.KW || math.Abs(got.Amps-want.Amps) > 1e-3*want.Amps {
		t.Errorf("with the supply off from day 1.3 the peaks are %+v, want those of the run to that day, %+v", got, want)
	}
}
