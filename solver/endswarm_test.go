package solver

import (
	"context"
	"math"
	"testing"
)

// warmEnded is shortRods all alike and on, from day 2 to 3 off, with rain or without.
func warmEnded(t testing.TB, days float64, wet bool) *Problem {
	t.Helper()
	p := shortRods(t, days)
	p.Supply = p.Supply[len(p.Supply)-1:]
	p.Supply[0].At, p.Supply[0].Voltage = 0, 100
	off, on := p.Supply[0], p.Supply[0]
	off.At, off.Voltage, on.At = 2*day, 0, 3*day
	p.Supply = append(p.Supply, off, on)
	if wet {
		rainedOn(p, showers)
	}
	return p
}

// TestGroundBeyondASlabWarms: while the ground above and below a plan's slab warms, its rods
// feel it (Ends.SetOutside), with rain on the plan and without, and with power off for a day:
// the ledger closes at every row; what cells and the ground beyond take is what the electrodes
// give; over what the slab conducts, rods draw more than as found where the ground beyond
// conducts better by then, and less where it has gained less than the slab; a step that is not taken leaves no trace; and a run that ends while the power is off, or with
// it on, and goes on leaves bit by bit what the unbroken one leaves.
// Source: conservation of energy; Rayleigh's monotonicity (from memory) for more current where
// ground conducts better. Tolerances: the ledger to 1e-11 and power to 1e-10, as in
// TestCurrentsBeyondASlab; 1e-9 in rain, the bar of TestRainOnAPlanIsBooked.
func TestGroundBeyondASlabWarms(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a plan many times over")
	}
	const days = 4.0
	for _, wet := range []bool{false, true} {
		bar := 1e-11
		if wet {
			bar = 1e-9
		}
		p := warmEnded(t, days, wet)
		n, whole := 0, 0.0
		last, err := Run(t.Context(), p, each(func(r *Report) {
			s := r.State
			if l := math.Abs(r.Ledger.Share()); !(l < bar) {
				t.Errorf("rain %v, day %.4f: the ledger misses %.3g", wet, s.Time/day, l)
			}
			if s.SolvedAt != s.Time || s.Power == 0 {
				return
			}
			n++
			if h := heatIs(s) * (1 + p.Electric.Beyond()); math.Abs(h/s.Power-1) > 1e-10 {
				t.Errorf("rain %v, day %.4f: cells and what is beyond take %.12g W/V², the bodies give %.12g", wet, s.Time/day, h, s.Power)
			}
			whole = s.Power / p.Electric.Slab()
		}))
		if err != nil {
			t.Fatal(err)
		}
		r, plain := begun(t, warmEnded(t, days, wet)), begun(t, warmEnded(t, days, wet))
		if r.charge.outside != 1 {
			t.Errorf("rain %v: ground beyond conducts %.4g times as found at the start, want 1", wet, r.charge.outside)
		}
		cold := r.charge.last.power / r.charge.last.slab
		least, most := math.Inf(1), 0.0
		for r.state.Time < days*day {
			if day := r.state.Time / day; day > 0.5 && day < 1 || day > 2.2 && day < 2.6 { // with power on, and off
				before := snap(r)
				_, _ = r.step(10 * r.control.dt)
				outside := r.charge.outside // of the state, which each try finds anew
				_, _ = r.step(0.1 * r.control.dt)
				if d := before.differs(snap(r)); d != "" || r.charge.outside != outside {
					t.Fatalf("rain %v, day %.3f: a step that was not taken has changed %s, outside from %.9g to %.9g", wet, day, d, outside, r.charge.outside)
				}
			}
			steps(t, r, 1)
			steps(t, plain, 1)
			if d := snap(plain).differs(snap(r)); d != "" || r.charge.outside != plain.charge.outside {
				t.Fatalf("rain %v, day %.3f: a run with tries in between differs in %s, outside %.9g against %.9g", wet, r.state.Time/day, d, r.charge.outside, plain.charge.outside)
			}
			least, most = math.Min(least, r.charge.outside), math.Max(most, r.charge.outside)
		}
		t.Logf("rain %v: %d solutions, outside %.3f to %.3f, power over the slab's conductivity %.4g, cold %.4g, ledger %.2g", wet, n, least, most, whole, cold, last.Ledger.Share())
		if n < 4 || !(most > least*1.03) {
			t.Errorf("rain %v: %d solutions, outside %.4f to %.4f: the test sees less than it says", wet, n, least, most)
		}
		if (r.charge.outside-1)*(whole-cold) < 0 {
			t.Errorf("rain %v: ground beyond conducts %.4f times as well over the slab's as found, and rods draw %.5g m in all against %.5g", wet, r.charge.outside, whole, cold)
		}
		for _, at := range []float64{1, 2.5} {
			if wet && at == 1 {
				continue
			}
			broken := func() *Problem { return warmEnded(t, days, wet) }
			one, err := Run(context.Background(), until(broken(), at, days), nil)
			if err != nil {
				t.Fatal(err)
			}
			two, err := Run(context.Background(), until(broken(), at), nil)
			if err != nil {
				t.Fatal(err)
			}
			two, err = Resume(context.Background(), until(broken(), at, days), copied(two.Snapshot), nil)
			if err != nil {
				t.Fatal(err)
			}
			if d := unlike(one.Snapshot, two.Snapshot); d != "" {
				t.Errorf("rain %v: a run broken on day %g ends otherwise in %s", wet, at, d)
			}
		}
	}
}
