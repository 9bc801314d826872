package solver

import (
	"context"
	"math"
	"runtime"
	"slices"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// streaming lets rain fall on a problem, and where it is a section groundwater flow, to
// the right in the clay and to the left in the sand.
func streaming(p *Problem) *Problem {
	g := p.Ground.Grid
	f := physics.Flow{Rain: func(from, to float64) float64 { return 2e-8 * (1 + math.Sin((from+to)/day)) }}
	if !g.Cylindrical {
		f.Across = make([]float64, g.NZ)
		for k := range f.Across {
			f.Across[k] = []float64{-2e-7, 6e-7}[p.Ground.Layer[k]]
		}
	}
	p.Heat.Carry(p.Ground, f)
	return p
}

// TestFlowingStepAllocates: a step of ground through which water flows allocates
// nothing, boiling or not.
func TestFlowingStepAllocates(t *testing.T) {
	for _, p := range []*Problem{streaming(section(t, 60, far)), streaming(cell(t, 60, 0))} {
		r := begun(t, p)
		for _, warm := range []int{10, 30} {
			steps(t, r, warm)
			if got := testing.AllocsPerRun(12, func() { steps(t, r, 1) }); got != 0 {
				t.Errorf("a step on day %.2f allocates %.1f times, want 0", r.state.Time/day, got)
			}
		}
	}
}

// TestFlowingTriesLeaveNoTrace: steps that are tried and not taken change no bit of a
// run whose ground water flows through.
func TestFlowingTriesLeaveNoTrace(t *testing.T) {
	plain, tried := begun(t, streaming(section(t, 60, far))), begun(t, streaming(section(t, 60, far)))
	for range 4 {
		steps(t, plain, 7)
		steps(t, tried, 7)
		before := snap(tried)
		for _, factor := range []float64{30, 1, 0.1} {
			_, _ = tried.step(factor * tried.control.dt)
			if d := before.differs(snap(tried)); d != "" {
				t.Fatalf("on day %.3f a step that was not taken has changed %s", tried.state.Time/day, d)
			}
		}
	}
	steps(t, plain, 3)
	steps(t, tried, 3)
	if d := snap(plain).differs(snap(tried)); d != "" {
		t.Errorf("on day %.3f a run with tries in between differs in %s from one without", tried.state.Time/day, d)
	}
}

// TestFlowingLedgerCloses: with rain, groundwater and boiling the ledger of the ground and
// that of the zone close at every step to what rounding leaves.
func TestFlowingLedgerCloses(t *testing.T) {
	for _, c := range []struct {
		p     *Problem
		least float64 // of the energy in, that water carries from the zone; rain does not reach that of the cell
	}{{streaming(section(t, 12, far)), 0.005}, {streaming(cell(t, 12, 0)), 0}} {
		worst, boiled := 0.0, 0.0
		last, err := Run(context.Background(), c.p, each(func(r *Report) {
			l := &r.Ledger
			worst = math.Max(worst, math.Abs(l.Share()))
			if l.scale > 0 {
				worst = math.Max(worst, math.Abs(l.Zone.Residual)/l.scale)
			}
			boiled = l.Steam
		}))
		if err != nil {
			t.Fatal(err)
		}
		l := &last.Ledger
		t.Logf("water brings %.4g, carries off %.4g and %.4g from the zone, of %.4g J in; worst residual %.2g", l.WaterIn, l.CarriedByWater, l.Zone.Water, l.In, worst)
		if worst > 1e-10 { // T(E) is found to 1e-11 K, in some hundred steps
			t.Errorf("the largest residual is %.2g of the ledger, want at most 1e-10", worst)
		}
		if boiled == 0 || l.WaterIn == 0 || l.CarriedByWater == 0 || !(l.Zone.Water >= c.least*l.In) {
			t.Errorf("%.3g kg boil, water brings %.3g J, carries off %.3g J and %.3g J from the zone: the test sees less than it says", boiled, l.WaterIn, l.CarriedByWater, l.Zone.Water)
		}
	}
}

// warmed is dry ground of 90 by 10n cells of 0.1 m, in whose middle heat is set, and
// through which water flows at q [m/s].
func warmed(t *testing.T, n int, q float64) *Problem {
	t.Helper()
	even := func(n int) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			e[i] = 0.1 * float64(i)
		}
		return e
	}
	g := mesh.NewSection(even(90), even(10*n), 1)
	p := dry(t, g, 10)
	p.Imposed = make([]float64, g.Cells())
	for k := 20; k < 10*n-20; k++ {
		for i := 30; i < 60; i++ {
			p.Imposed[g.Index(i, k)] = 0.5
		}
	}
	across := make([]float64, g.NZ)
	for k := 10; k < 10*n-10; k++ {
		across[k] = q
	}
	p.Heat.Carry(p.Ground, physics.Flow{Across: across, Rain: func(from, to float64) float64 { return 1e-8 }})
	p.Duration = 40 * day
	return p
}

// TestFlowDoesNotKnowItsWorkers: one, two and three processors give the same bytes, on
// a grid that is large enough to be shared.
func TestFlowDoesNotKnowItsWorkers(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first []float64
	var ledger Ledger
	for n := 1; n <= 3; n++ {
		runtime.GOMAXPROCS(n)
		r := begun(t, warmed(t, 7, 3e-7))
		steps(t, r, 6)
		if n == 1 {
			first, ledger = slices.Clone(r.state.T), r.ledger
			continue
		}
		if !slices.Equal(first, r.state.T) || ledger != r.ledger {
			t.Errorf("%d processors give other bytes than one", n)
		}
	}
}

// TestFastFlowIsSolved: long steps of fast flow, κ = v √(h/α)/2 of 10, are solved and
// not refused: an iteration leaves κ/(1 + √(1 + κ²)) = 0.90 of the residual there, so that
// a round to a hundredth takes 44, and no more than twice that, for GMRES begins anew.
func TestFastFlowIsSolved(t *testing.T) {
	for _, q := range []float64{1e-6, 3e-5} {
		p := warmed(t, 5, q)
		p.Settings.FixedStep = 4 * day
		rep, err := Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		s := rep.Stats
		v := q * materials.RhoWater * 4190 / 2e6
		t.Logf("κ = %.3g: %d steps, %d rounds of Newton's method, %d iterations", v*math.Sqrt(dd*4*day/1e-6)/2, s.Steps, s.Newton, s.HeatIterations)
		if most := 88 * s.Newton; s.HeatIterations > most {
			t.Errorf("%d rounds take %d iterations at %.1g m/s, want at most %d", s.Newton, s.HeatIterations, q, most)
		}
		if s.Refused() != 0 {
			t.Errorf("%d steps are refused at %.1g m/s, want none", s.Refused(), q)
		}
	}
}
