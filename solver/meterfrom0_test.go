package solver

import (
	"math"
	"testing"

	"soiljoule/physics"
)

// TestMeterThatBeginsAtZeroIsNotOff: of a meter that rises from 0, falls to 0 on day 2, has
// nothing till day 3 and then touches 0 once more, what is told to hold the voltage from a
// time on is the meter, but where its rows have no power there and after; and the time for
// which the supply is on is that of the steps in which the rows have energy.
func TestMeterThatBeginsAtZeroIsNotOff(t *testing.T) {
	p := cell(t, 5, far)
	m := newMetered(wave{[]float64{0, day, 2 * day, 3 * day, 3.5 * day, 4 * day, 4.5 * day, 5 * day}, []float64{0, 2e4, 0, 0, 2e4, 0, 2e4, 2e4}})
	p.Meter = m.meter()
	for i := 1; i < 40; i++ { // steps end at its rows, and at each eighth of a day
		p.Turns = append(p.Turns, float64(i)*day/8)
	}
	on, before, began, off := 0.0, 0.0, false, 0
	last, err := Run(t.Context(), p, each(func(r *Report) {
		now := r.State.Time
		if m.until(now) > m.until(before) {
			on += now - before
		}
		want := physics.Metered
		if now >= 2*day && now < 3*day {
			want, off = physics.Off, off+1
		}
		began = began || now == 0 && m.at(0) == 0
		if r.State.Limit != want || r.Setting.Bodies != nil {
			t.Errorf("on day %.4f, at %.4g W, %q holds the voltage, want %q", now/day, m.at(now), r.State.Limit, want)
		}
		if v := math.Sqrt(m.at(now) / r.State.Power); math.Abs(r.State.Voltage-v) > 1e-9*v {
			t.Errorf("on day %.4f the voltage is %g V, want %g V", now/day, r.State.Voltage, v)
		}
		before = now
	}))
	if err != nil {
		t.Fatal(err)
	}
	if !began || off < 2 {
		t.Errorf("began at 0: %v, told off %d times; the test asks less than it says", began, off)
	}
	// Days 0 to 2 and 3 to 5; a sum of some hundred steps.
	if math.Abs(on-4*day) > 1e-6 || math.Abs(last.Switching.OnTime-on) > 1e-6 {
		t.Errorf("on for %.9g d, by the meter's rows %.9g d, want 4 d", last.Switching.OnTime/day, on/day)
	}
}
