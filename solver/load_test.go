package solver

import (
	"math"
	"testing"
)

// TestLoadBeforeASwitch: where the supply goes off on day 2, the report of that day has
// beside the zeros that hold from then on what the electrodes took until then: to the bit
// what a run that ends there has, for its steps are the same ones.
func TestLoadBeforeASwitch(t *testing.T) {
	p := section(t, 2, far)
	whole, err := Run(t.Context(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	v := whole.State.Voltage
	want := whole.State.Power * v * v

	p = section(t, 2.5, far)
	s := p.Supply[0]
	s.At, s.On = 2*day, false
	p.Supply = append(p.Supply, s)
	p.Outputs = []float64{2.5 * day}
	most, seen := 0.0, false
	if _, err = Run(t.Context(), p, each(func(r *Report) {
		if r.State.Time != 2*day {
			most = math.Max(most, r.State.Power*r.State.Voltage*r.State.Voltage)
			return
		}
		seen = true
		if r.State.Voltage != 0 || r.Before.Power != want || !(r.Before.Power > most) || !(r.Before.Current > 0) || !(r.Before.Apparent >= r.Before.Power) {
			t.Errorf("on day 2 the supply is at %g V, and just before it gave %+v, want 0 V and %.17g W, more than the %.6g W of any row", r.State.Voltage, r.Before, want, most)
		}
	})); err != nil || !seen {
		t.Fatalf("day 2 seen: %v, error %v", seen, err)
	}
}

// TestMeterNeedsAtTheEnd: under a constant metered power the current of a rod in ground
// that warms is largest at the run's end, I = √(P G) with G growing, and is told so: the
// last row's, and no row's is above it.
func TestMeterNeedsAtTheEnd(t *testing.T) {
	p := section(t, 3, far)
	p.Meter = &Meter{Power: func(from, to float64) float64 { return 20e3 }, Peak: func(from, to float64) (float64, float64) { return 20e3, from }}
	last, most := 0.0, 0.0
	rep, err := Run(t.Context(), p, each(func(r *Report) {
		last = 0
		for b, i := range r.State.Current {
			last = math.Max(last, math.Hypot(real(i), imag(i))*r.State.Voltage/p.Electric.Bodies[b].Rods)
		}
		most = math.Max(most, last)
	}))
	if err != nil {
		t.Fatal(err)
	}
	// The need is √(P/G) times what flows per volt, the row a product of the same numbers.
	if got := rep.Need.Current; math.Abs(got.Most-most) > 1e-12*most || got.At != 3*day || last != most {
		t.Errorf("the most of a rod's current is told as %.12g A on day %.4g; the rows have at most %.12g A, the last %.12g A", got.Most, got.At/day, most, last)
	}
}
