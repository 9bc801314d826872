package solver

import (
	"math"
	"math/rand/v2"
	"testing"
)

// mostGrowth is how much longer than the last a planned step may be.
const mostGrowth = 1.3

// leastShare is the smallest share of the planned length that a step between two
// distant stops may have: a step is halved at worst, and the plan has grown by
// the limit of 1.3 when the second half comes.
const leastShare = 1 / (2 * mostGrowth)

// TestControlLeavesNoSlivers: whatever the errors, planned steps grow by at most
// 1.3 a step, and no step before a stop is a sliver.
func TestControlLeavesNoSlivers(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		k := newControl(Settings{Tolerance: 0.1}, 1e5)
		k.start(1e-3 * rnd.Float64())
		now, stop := 0.0, 0.0
		for range 60 {
			if now >= stop {
				stop = now + k.dt*(1+20*rnd.Float64()) // stops further apart than one step
			}
			before := k.dt
			dt := k.propose(now, stop)
			if dt > before*(1+2e-9) { // the slack by which the last step may reach its stop
				t.Fatalf("planned %.6g s, proposed %.6g s", before, dt)
			}
			if dt < leastShare*before*(1-1e-9) && stop-now > before { // rounding
				t.Fatalf("planned %.6g s with %.6g s to the stop, proposed a sliver of %.6g s", before, stop-now, dt)
			}
			if now+dt > stop*(1+1e-12) {
				t.Fatalf("proposed %.17g s from %.17g s, which passes the stop at %.17g s", dt, now, stop)
			}
			size := math.Exp(2*rnd.NormFloat64() - 1)
			if rnd.IntN(20) == 0 {
				if ok := k.shorten(); ok != (k.dt >= shortest) || k.dt != dt/2 {
					t.Fatalf("a step of %.3g s that could not be solved is followed by one of %.3g s (%v), want half of it, down to %g s", dt, k.dt, ok, shortest)
				}
				continue
			}
			ok := k.accept(norm{rms: size * 0.1})
			if ok != (size <= 1) {
				t.Fatalf("an error of %.3g tolerances was accepted: %v", size, ok)
			}
			switch {
			case !ok && (k.dt >= dt || k.dt < cutLimit*dt*(1-1e-12)): // rounding
				t.Fatalf("after a refused step of %.6g s the next is %.6g s, want it shorter, to a fifth at most", dt, k.dt)
			case ok && k.dt > mostGrowth*before*(1+3e-9): // the slack above
				t.Fatalf("the plan grows from %.6g s to %.6g s, by more than %g", before, k.dt, mostGrowth)
			}
			if ok {
				now += dt
				if math.Abs(now-stop) <= 1e-9*stop {
					now = stop
				}
			}
		}
	}
}

// TestControlRefusesNaN: an error that is no number is refused and cuts the step.
func TestControlRefusesNaN(t *testing.T) {
	k := newControl(Settings{Tolerance: 0.1}, 1e5)
	k.start(1e-3)
	dt := k.propose(0, 1e6)
	if k.accept(norm{rms: math.NaN()}) || k.dt != dt*cutLimit {
		t.Errorf("a step with NaN for its error was accepted or the next is %.3g s, want it refused and cut to %.3g s", k.dt, dt*cutLimit)
	}
	if k.accept(norm{rms: 0.01, max: 1.01}) {
		t.Errorf("a step that misses ten tolerances in one cell was accepted")
	}
}

// TestStepsGrowSlowly: in real runs, with outputs and taps in between, the plan
// grows by at most 1.3 a step, and steps are no slivers.
func TestStepsGrowSlowly(t *testing.T) {
	alone(t)
	for _, p := range []*Problem{cell(t, 12, far), cell(t, 12, 0), section(t, 12, far)} {
		for d := 1.0; d < 12; d += 1.37 {
			p.Outputs = append(p.Outputs, d*day)
		}
		p.Outputs = append(p.Outputs[1:], p.Outputs[0])
		s := p.Supply[0]
		s.At, s.Voltage = 7.5*day, 150
		p.Supply = append(p.Supply, s)
		r := begun(t, p)
		stop := 0.0 // the last stop passed
		for r.state.Time < p.Duration {
			from, plan, next := r.state.Time, r.control.dt, r.nextStop()
			refused := r.stats.Refused()
			steps(t, r, 1)
			dt := r.state.Time - from
			if r.control.dt > mostGrowth*plan*(1+3e-9) { // the slack of the last step to a stop
				t.Errorf("on day %.3f the planned step grows from %.6g s to %.6g s, by more than %g", from/day, plan, r.control.dt, mostGrowth)
			}
			if least := leastShare * math.Min(plan, next-stop); r.stats.Refused() == refused && dt < least*(1-1e-6) { // stops are met to 1e-9 of the time
				t.Errorf("the step from day %.5f is %.6g s long, with %.6g s planned and stops %.6g s apart: a sliver", from/day, dt, plan, next-stop)
			}
			if r.state.Time == next {
				stop = next
			}
		}
		if r.state.Time != p.Duration {
			t.Errorf("the run ends at %.17g s, want exactly %.17g s", r.state.Time, p.Duration)
		}
	}
}

// TestFixedStep: a fixed step is taken as it is and none is refused.
func TestFixedStep(t *testing.T) {
	p := cell(t, 1, far)
	p.Settings.FixedStep = 3600
	before := 0.0
	last, err := Run(t.Context(), p, each(func(r *Report) {
		// 24 sums of 3600 s are exact in binary.
		if d := r.State.Time - before; r.Stats.Steps > 0 && d != 3600 {
			t.Errorf("a step of %.17g s was taken, want the fixed 3600 s", d)
		}
		before = r.State.Time
	}))
	if err != nil || last.Stats.Steps != 24 || last.Stats.Refused() != 0 {
		t.Errorf("a day in fixed hours took %d steps and refused %d (%v), want 24 and none", last.Stats.Steps, last.Stats.Refused(), err)
	}
}
