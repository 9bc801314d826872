package solver

import (
	"math"
	"testing"

	"soiljoule/physics"
)

// TestMeteredElectrodesAddUp: with electrodes that are not all as the supply, what each is
// told to take adds up to the meter's power at every step, also where a step's line of power
// ends at 0 and the meter's is above, or the other way round; and what holds it is the
// meter, or the meter's own zero where that lasts.
//
// Heat is power to the ledger's tolerance, 1e-8, a step's power is a line between two such,
// and V² then scales it to the meter's: 1e-7 of the meter's largest row is ten times that.
func TestMeteredElectrodesAddUp(t *testing.T) {
	p := fed(t, 12)
	for i := range p.Supply {
		p.Supply[i].Bodies[3].CurrentLimit = far
	}
	// Two hours on, one off, and days without: lines of steps end above and below the rows.
	w := wave{}
	for i := range 12 * 8 {
		q := 9e3 * float64(i%3+1)
		if i%3 == 2 || i/8%4 == 3 {
			q = 0
		}
		w.t, w.q = append(w.t, float64(i)*3*3600), append(w.q, q)
	}
	w.t, w.q = append(w.t, 12*day), append(w.q, 9e3)
	m := newMetered(w)
	p.Meter = m.meter()
	p.Settings.Tolerance = 1
	zeros, fedRows := 0, 0
	_, err := Run(t.Context(), p, each(func(r *Report) {
		n, want, sum := r.State, m.at(r.State.Time), 0.0
		by := physics.Metered
		if want == 0 {
			zeros++
			if m.at(r.State.Time+soon) == 0 {
				by = physics.Off
			}
		} else {
			fedRows++
		}
		for b := range n.Fed {
			if n.Bound[b] != physics.Off {
				sum += n.Fed[b] * n.Voltage * n.Voltage
			}
			off := r.Setting.Bodies[b].Off
			switch got := n.Bound[b]; {
			case p.Electric.Bodies[b].Floating && got != physics.NoLimit,
				!p.Electric.Bodies[b].Floating && off && got != physics.Off,
				!p.Electric.Bodies[b].Floating && !off && got != by:
				t.Errorf("on day %.4f, at %g W, %q holds %q", n.Time/day, want, got, p.Electric.Bodies[b].Name)
			}
		}
		if math.Abs(sum-want) > 1e-7*18e3 {
			t.Errorf("on day %.4f the electrodes take %.9g W, the meter has %.9g W", n.Time/day, sum, want)
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if zeros == 0 || fedRows == 0 {
		t.Errorf("%d steps end on no power and %d on some; the test asks less than it says", zeros, fedRows)
	}
}
