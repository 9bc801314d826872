package solver

import (
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/physics"
)

// shortRods is slab with a ring of six rods and one in its middle, three phases, as long as
// the slab is thick: on day 0 electrode 2 has a tap of its own and 4 a limit, from day 2 on 5
// is off as well, on days 4 and 5 all but the first, and then all are as the supply.
func shortRods(t testing.TB, days float64) *Problem {
	t.Helper()
	const thickness, radius = 3.0, 0.1
	p := slab(t, 24, 20, days, far)
	var rods []physics.Rod
	var bodies []physics.Body
	for i := range 7 {
		sin, cos := math.Sincos(math.Pi / 3 * float64(i))
		if i == 6 {
			sin, cos = 0, 0
		}
		rods = append(rods, physics.Rod{X: 6.1 + 2.7*cos, Y: 4.9 + 2.7*sin, Radius: radius})
	}
	for i := range rods {
		label := string(rune('A' + i%3))
		bodies = append(bodies, physics.Body{Name: string(rune('1' + i)), Label: label, Phase: physics.Phasor(3, label), Rods: 1, Rod: &rods[i]})
	}
	bodies[3].Contact = 0.5
	e, err := physics.NewElectric(p.Ground.Grid, bodies, false)
	if err != nil {
		t.Fatal(err)
	}
	phase := make([]complex128, len(bodies))
	for i := range bodies {
		phase[i] = bodies[i].Phase
	}
	ends, err := physics.NewEnds(rods, phase, []physics.Stratum{{Bottom: 2.3, Conductivity: 0.02}, {Bottom: far, Conductivity: 0.05}}, 2.3, thickness, 2.3, thickness)
	if err != nil {
		t.Fatal(err)
	}
	ends.Spread()
	if err := e.JoinEnds(ends); err != nil {
		t.Fatal(err)
	}
	p.Electric = e
	caps := physics.NewCaps(thickness, days*day, []physics.Slice{{Thickness: 2.3, Conductivity: 1.2, Capacity: 2e6}}, []physics.Slice{{Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})
	caps.Passing = ends.Passing
	caps.Conducts = func(_, t float64) float64 { return 1 + 0.0187*(t-283.15) }
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 283.15 }, Caps: caps})
	at := func(from float64, change func(b []BodySetting)) {
		s := p.Supply[0]
		s.At, s.Bodies = from*day, own(7, change)
		p.Supply = append(p.Supply, s)
	}
	p.Supply[0].Voltage = 100
	at(0, func(b []BodySetting) { b[1].Voltage, b[3].CurrentLimit = 60, 20 })
	at(2, func(b []BodySetting) { b[1].Voltage, b[3].CurrentLimit, b[4].Off = 60, 20, true })
	at(4, func(b []BodySetting) {
		for i := range b[1:] {
			b[1+i].Off = true
		}
	})
	at(6, func([]BodySetting) {})
	p.Supply = p.Supply[1:]
	return p
}

// TestCurrentsBeyondASlab: through taps, limits and switching of single electrodes of a
// plan, and with no current at all, what flows above and below the slab is part of every
// electrode's current: that of one switched off is 0 in all, an own limit is held by all of
// it, the currents sum to 0, and the heat of the cells and beyond is the power of the
// electrodes. The ledger, of which what is beyond is stored in the columns, closes.
// Source: Kirchhoff, conservation of energy. Tolerances: 1e-9 is the solver's own at shown
// potentials (TestOpenBodies, TestOwnLimit); heat and power to 1e-10 alike, the ledger to
// 1e-11, rounding of some hundred steps.
func TestCurrentsBeyondASlab(t *testing.T) {
	p := shortRods(t, 8)
	n, limited, least, most, in := 0, 0, math.Inf(1), 0.0, 0.0
	last, err := Run(t.Context(), p, each(func(r *Report) {
		s, day := r.State, r.State.Time/day
		if l := math.Abs(r.Ledger.Share()); !(l < 1e-11) {
			t.Errorf("day %.4f: the ledger misses %.3g", day, l)
		}
		if day >= 4 && day < 6 {
			if math.Abs(s.Power) > 1e-12 {
				t.Errorf("day %.4f: with one electrode on %.3g W/V² are drawn", day, s.Power)
			}
			if in != 0 && r.Ledger.In > in*(1+1e-12) {
				t.Errorf("day %.4f: with one electrode on %.3g J come in", day, r.Ledger.In-in)
			}
			in = r.Ledger.In
			return
		}
		largestOf, sum := largest(s)
		if cmplx.Abs(sum) > 1e-9*largestOf {
			t.Errorf("day %.4f: the currents sum to %.3g of the largest", day, cmplx.Abs(sum)/largestOf)
		}
		if i := cmplx.Abs(s.Current[4]); day >= 2 && day < 4 && i > 1e-9*largestOf {
			t.Errorf("day %.4f: electrode 5 is off and passes %.3g of the largest current", day, i/largestOf)
		}
		if s.SolvedAt != s.Time {
			return
		}
		n++
		beyond := s.Power/heatIs(s) - 1
		least, most = math.Min(least, beyond), math.Max(most, beyond)
		if h := heatIs(s) * (1 + p.Electric.Beyond()); math.Abs(h/s.Power-1) > 1e-10 {
			t.Errorf("day %.4f: cells and what is beyond take %.12g W/V², the bodies give %.12g", day, h, s.Power)
		}
		if s.Bound[3] == physics.OwnLimit {
			limited++
			if i := cmplx.Abs(s.Current[3]) * s.Voltage; math.Abs(i/20-1) > 1e-9 {
				t.Errorf("day %.4f: electrode 4 passes %.12g A with a limit of 20 A", day, i)
			}
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d solutions, %d limited; beyond %.3f to %.3f of the slab's heat; ledger %.2g", n, limited, least, most, last.Ledger.Share())
	if n < 6 || limited < 3 || !(least > 0.05 && most > 1.02*least) {
		t.Errorf("%d solutions, %d limited, beyond %.3f to %.3f of the slab's heat: the test sees less than it says", n, limited, least, most)
	}
}

// TestStepsWithCurrentsBeyondASlab: a warm step of a plan with short rods and bodies of
// their own allocates nothing, a step that is not taken leaves no trace, and the number of
// processors changes no byte.
func TestStepsWithCurrentsBeyondASlab(t *testing.T) {
	for _, days := range []float64{1, 3} {
		plain, tried := begun(t, shortRods(t, 60)), begun(t, shortRods(t, 60))
		for plain.state.Time < days*day {
			steps(t, plain, 1)
			steps(t, tried, 1)
		}
		before := snap(tried)
		for _, factor := range []float64{10, 0.1} {
			_, _ = tried.step(factor * tried.control.dt)
			if d := before.differs(snap(tried)); d != "" {
				t.Fatalf("day %g: a step that was not taken has changed %s", days, d)
			}
		}
		steps(t, plain, 2)
		steps(t, tried, 2)
		if d := snap(plain).differs(snap(tried)); d != "" {
			t.Errorf("day %g: a run with tries in between differs in %s from one without", days, d)
		}
	}
	r := begun(t, shortRods(t, 60))
	for r.state.Time < 7*day {
		steps(t, r, 1)
	}
	before := r.stats.Potentials
	if got := testing.AllocsPerRun(8, func() { steps(t, r, 1) }); got != 0 {
		t.Errorf("a step on day %.2f allocates %.1f times, want 0", r.state.Time/day, got)
	}
	own := shortRods(t, 60)
	own.Supply = own.Supply[:2]
	r = begun(t, own)
	for r.state.Time < 3*day {
		steps(t, r, 1)
	}
	if got := testing.AllocsPerRun(8, func() { steps(t, r, 1) }); got != 0 || r.stats.Potentials == before {
		t.Errorf("a step with bodies of their own on day %.2f allocates %.1f times, want 0", r.state.Time/day, got)
	}
	sameOnProcessors(t, 12, func() *Problem { return shortRods(t, 60) })
}
