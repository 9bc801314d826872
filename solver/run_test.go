package solver

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"soiljoule/physics"
)

// TestWarmStepAllocates: a step allocates nothing, of a cell or of a section with rows,
// boiling and drying or not.
func TestWarmStepAllocates(t *testing.T) {
	for _, c := range []struct {
		name string
		p    *Problem
		warm int
	}{
		{"a cell that is still cold", cell(t, 60, far), 5},
		{"a cell whose wall boils", cell(t, 60, far), 40},
		{"a cell whose wall dries", cell(t, 60, 0), 60},
		{"a section", section(t, 60, far), 10},
	} {
		r := begun(t, c.p)
		steps(t, r, c.warm)
		before := r.stats.Potentials
		if got := testing.AllocsPerRun(12, func() { steps(t, r, 1) }); got != 0 {
			t.Errorf("a step of %s on day %.2f allocates %.1f times, want 0", c.name, r.state.Time/day, got)
		}
		if r.stats.Potentials == before {
			t.Errorf("no step of %s on day %.2f solved for the potential: the test sees less than it says", c.name, r.state.Time/day)
		}
	}
}

// TestLimitsHold: at every recorded step the power of all and the current of one
// rod are within their limits, each reaches its limit, and the energy booked in
// a step is no more than the limit allows.
func TestLimitsHold(t *testing.T) {
	// What the cell takes at most without limits: a limit just below is met late and
	// by little, which a test far above would miss.
	var mostPower, mostCurrent float64
	if _, err := Run(t.Context(), cell(t, 12, far), each(func(r *Report) {
		v := r.State.Voltage
		mostPower = math.Max(mostPower, r.State.Power*v*v)
		mostCurrent = math.Max(mostCurrent, cmplx.Abs(r.State.Current[0])*v/10) // ten rods
	})); err != nil {
		t.Fatal(err)
	}
	// The voltage is the limit divided by what a volt draws, the power twice that:
	// some roundings of 1e-16 each. 1e-9 is the promise.
	const tol = 1e-9
	for _, c := range []struct {
		name    string
		p       *Problem
		power   float64 // [W]
		current float64 // [A]
		by, and physics.Limit
	}{
		{name: "cell, power", p: cell(t, 12, far), power: 60e3, current: far, by: physics.PowerLimit},
		{name: "cell, power, drying", p: cell(t, 12, 0), power: 60e3, current: far, by: physics.PowerLimit},
		{name: "cell, power just below the most", p: cell(t, 12, far), power: 0.998 * mostPower, current: far, by: physics.PowerLimit},
		{name: "cell, current just below the most", p: cell(t, 12, far), power: far, current: 0.998 * mostCurrent, by: physics.CurrentLimit},
		{name: "cell, current", p: cell(t, 12, far), power: far, current: 50, by: physics.CurrentLimit},
		{name: "section, power", p: section(t, 8, far), power: 200e3, current: far, by: physics.PowerLimit},
		{name: "section, current", p: section(t, 8, far), power: far, current: 55, by: physics.CurrentLimit},
		// Where the ground conducts better at a power held, V falls and I rises.
		{name: "cell, first one and then the other", p: cell(t, 12, far), power: 60e3, current: 50, by: physics.PowerLimit, and: physics.CurrentLimit},
	} {
		c.p.Supply[0].PowerLimit, c.p.Supply[0].CurrentLimit = c.power, c.current
		met := map[physics.Limit]int{}
		var before, energy float64
		_, err := Run(t.Context(), c.p, each(func(r *Report) {
			s := r.State
			v := s.Voltage
			power, most := s.Power*v*v, 0.0
			for b, i := range s.Current {
				most = math.Max(most, cmplx.Abs(i)*v/c.p.Electric.Bodies[b].Rods)
			}
			if power > c.power*(1+tol) {
				t.Errorf("%s: day %.4f has %.12g W, limit %.12g W", c.name, s.Time/day, power, c.power)
			}
			if most > c.current*(1+tol) {
				t.Errorf("%s: day %.4f has %.12g A in one rod, limit %.12g A", c.name, s.Time/day, most, c.current)
			}
			if v > r.Setting.Voltage*(1+tol) {
				t.Errorf("%s: day %.4f has %.12g V, set %.12g V", c.name, s.Time/day, v, r.Setting.Voltage)
			}
			at := map[physics.Limit]float64{physics.PowerLimit: power / c.power, physics.CurrentLimit: most / c.current, physics.NoLimit: v / r.Setting.Voltage}[s.Limit]
			if math.Abs(at-1) > tol {
				t.Errorf("%s: day %.4f says that %q holds it, and stands at %.10f of it", c.name, s.Time/day, s.Limit, at)
			}
			met[s.Limit]++
			if dt := s.Time - before; dt > 0 && r.Ledger.In-energy > c.power*dt*(1+tol) {
				t.Errorf("%s: the step to day %.4f books %.12g J, the limit allows %.12g J", c.name, s.Time/day, r.Ledger.In-energy, c.power*dt)
			}
			before, energy = s.Time, r.Ledger.In
		}))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if met[c.by] == 0 || met[physics.NoLimit] == 0 || c.and != physics.NoLimit && met[c.and] == 0 {
			t.Errorf("%s: steps by limit are %v, want some held by %q %q and some free: the test sees less than it says", c.name, met, c.by, c.and)
		}
	}
}

// TestSettings: steps end exactly on outputs and on changes of the supply, none
// passes over one, and in a planned stop there is no power at all.
func TestSettings(t *testing.T) {
	for _, p := range []*Problem{cell(t, 4, far), section(t, 4, far)} {
		stop, on, tap := 2.1*day, 2.6*day, 1.3*day
		p.Supply = []Setting{
			{At: 0, Voltage: 130, PowerLimit: far, CurrentLimit: far, On: true},
			{At: tap, Voltage: 160, PowerLimit: far, CurrentLimit: far, On: true},
			{At: stop, Voltage: 160, PowerLimit: far, CurrentLimit: far},
			{At: on, Voltage: 100, PowerLimit: far, CurrentLimit: 40, On: true},
		}
		p.Outputs = []float64{0.5 * day, 1.9999 * day, 2 * day, 2.3 * day, 4 * day}
		var times, outputs []float64
		var atStop, atOn float64
		_, err := Run(t.Context(), p, each(func(r *Report) {
			now := r.State.Time
			times = append(times, now)
			if r.Output {
				outputs = append(outputs, now)
			}
			want := p.Supply[0]
			for _, s := range p.Supply {
				if s.At <= now {
					want = s
				}
			}
			if !reflect.DeepEqual(r.Setting, want) {
				t.Errorf("on day %.4f the setting in force is %+v, want %+v", now/day, r.Setting, want)
			}
			off := now >= stop && now < on
			switch {
			case off && (r.State.Voltage != 0 || r.State.Limit != physics.Off):
				t.Errorf("on day %.4f, in a planned stop, the voltage is %g V and the limit %q, want 0 and off", now/day, r.State.Voltage, r.State.Limit)
			case !off && r.State.Limit == physics.NoLimit && r.State.Voltage != want.Voltage:
				t.Errorf("on day %.4f the voltage is %g V, want the setting's %g V", now/day, r.State.Voltage, want.Voltage)
			}
			switch now {
			case stop:
				atStop = r.Ledger.In
			case on:
				atOn = r.Ledger.In
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		if atStop == 0 || atOn != atStop {
			t.Errorf("the energy in is %.17g J when a planned stop begins and %.17g J when it ends, want the same bits", atStop, atOn)
		}
		stops := append([]float64{tap, stop, on}, p.Outputs...)
		for _, s := range stops {
			if !slices.Contains(times, s) {
				t.Errorf("no step ends exactly on day %g, want one: it is an output or a change of the supply", s/day)
			}
		}
		for i := 1; i < len(times); i++ {
			for _, s := range stops {
				if times[i-1] < s && s < times[i] {
					t.Errorf("the step from day %.6f to %.6f passes over day %.6f", times[i-1]/day, times[i]/day, s/day)
				}
			}
		}
		if want := append([]float64{0}, p.Outputs...); !slices.Equal(outputs, want) {
			t.Errorf("fields are wanted at %v s, want the start and the outputs %v s", outputs, want)
		}
	}
}

// snapshot is what a refused step must leave.
type snapshot struct {
	state         State
	last, before  solution
	heat          []float64
	steam, inflow []float64
	water, vapour []float64
	flows         flows
	ledger        Ledger
}

func snap(r *run) snapshot {
	state := *r.state
	state.T, state.E, state.W = slices.Clone(state.T), slices.Clone(state.E), slices.Clone(state.W)
	state.Current, state.Potential, state.Caps = slices.Clone(state.Current), slices.Clone(state.Potential), slices.Clone(state.Caps)
	state.Pickup = slices.Clone(state.Pickup)
	solved := func(s *solution) solution {
		d := *s
		d.re, d.im, d.joule, d.current = slices.Clone(s.re), slices.Clone(s.im), slices.Clone(s.joule), slices.Clone(s.current)
		return d
	}
	return snapshot{state, solved(r.charge.last), solved(r.charge.before),
		slices.Clone(r.rate0.heat), slices.Clone(r.rate0.steam), slices.Clone(r.rate0.inflow), slices.Clone(r.rate0.water), slices.Clone(r.rate0.vapour), r.rate0.flows, r.ledger}
}

// differs names the first part of two snapshots that does not have the same
// bits, "" for none.
func (a snapshot) differs(b snapshot) string {
	potential := func(x, y *solution) bool {
		return !slices.Equal(x.re, y.re) || !slices.Equal(x.im, y.im) || !slices.Equal(x.joule, y.joule) ||
			!slices.Equal(x.current, y.current) || x.power != y.power || x.time != y.time
	}
	x, y := &a.state, &b.state
	switch {
	case !slices.Equal(x.T, y.T):
		return "the state's T"
	case !slices.Equal(x.E, y.E):
		return "the state's E"
	case x.Potential != nil && y.Potential != nil && !slices.Equal(x.Potential, y.Potential):
		return "the bodies' potentials"
	case !slices.Equal(x.Pickup, y.Pickup):
		return "what buried metal picks up"
	case !slices.Equal(x.Caps, y.Caps):
		return "the columns"
	case !slices.Equal(x.W, y.W):
		return "the state's W"
	case x.Power != y.Power || !slices.Equal(x.Current, y.Current):
		return "the state's power"
	case x.Time != y.Time || x.Voltage != y.Voltage || x.Limit != y.Limit:
		return "the state's time or voltage"
	case potential(&a.last, &b.last):
		return "the last potential"
	case potential(&a.before, &b.before):
		return "the potential before the last"
	}
	switch {
	case !slices.Equal(a.heat, b.heat):
		return "the rate of heat"
	case !slices.Equal(a.steam, b.steam) || !slices.Equal(a.inflow, b.inflow) || !slices.Equal(a.water, b.water) || !slices.Equal(a.vapour, b.vapour):
		return "the rates of water"
	case a.flows != b.flows:
		return "the flows"
	case ledgerDiffers(a.ledger, b.ledger):
		return "the ledger"
	}
	return ""
}

func ledgerDiffers(a, b Ledger) bool {
	return a.In != b.In || a.StoredTarget != b.StoredTarget || a.StoredOutside != b.StoredOutside || a.SteamOut != b.SteamOut ||
		a.LossSurface != b.LossSurface || a.Residual != b.Residual || a.Steam != b.Steam || a.Water != b.Water || a.Zone != b.Zone
}

// TestRefusedStepLeavesNoTrace: tries that do not stand leave state and rates as
// they were, and a run goes on from there to the same bits as without them.
func TestRefusedStepLeavesNoTrace(t *testing.T) {
	for _, make := range []func() *Problem{
		func() *Problem { return cell(t, 60, far) }, func() *Problem { return cell(t, 60, 0) },
		func() *Problem { return section(t, 60, far) },
		func() *Problem { return swinging(t, cell(t, 60, far)) }, func() *Problem { return swinging(t, cell(t, 60, 0)) },
	} {
		plain, tried := begun(t, make()), begun(t, make())
		for range 6 {
			steps(t, plain, 7)
			steps(t, tried, 7)
			before := snap(tried)
			for _, factor := range []float64{30, 1, 0.1} {
				// Whether such a step can be solved does not matter: it is not taken.
				_, _ = tried.step(factor * tried.control.dt)
				if d := before.differs(snap(tried)); d != "" {
					t.Fatalf("on day %.3f a step that was tried at %g times the planned length and not taken has changed %s", tried.state.Time/day, factor, d)
				}
			}
		}
		steps(t, plain, 3)
		steps(t, tried, 3)
		if d := snap(plain).differs(snap(tried)); d != "" {
			t.Errorf("on day %.3f a run with tries in between differs in %s from one without", tried.state.Time/day, d)
		}
	}
}

// swinging adds a set power at the rod's wall, where the ground boils first. The line
// that a try lays over it begins elsewhere than the last step ended, the farther the
// longer the try: it can take away more than what boils there.
func swinging(t *testing.T, p *Problem) *Problem {
	t.Helper()
	rng := rand.New(rand.NewPCG(3, 4))
	w := wave{t: []float64{0}, q: []float64{0}}
	for w.t[len(w.t)-1] < p.Duration {
		w.t = append(w.t, w.t[len(w.t)-1]+day*rng.ExpFloat64()/20)
		w.q = append(w.q, 12e3*(rng.Float64()-0.45))
	}
	p.Varying = w.source(p.Ground.Grid.Index(3, p.Ground.Grid.Row(4.4)))
	return p
}

// TestRefusedTriesClipSteam: a try whose set power begins so low that a cell's steam
// ends with it leaves the state's own rates their steam.
func TestRefusedTriesClipSteam(t *testing.T) {
	alone(t)
	for _, inflow := range []float64{far, 0} {
		r := begun(t, swinging(t, cell(t, 60, inflow)))
		clipped := 0
		for range 50 {
			steps(t, r, 3)
			for _, factor := range []float64{30, 1, 0.1} {
				before := snap(r)
				_, _ = r.step(factor * r.control.dt)
				if d := before.differs(snap(r)); d != "" {
					t.Fatalf("on day %.3f a step that was tried at %g times the planned length and not taken has changed %s", r.state.Time/day, factor, d)
				}
				for c, f := range r.rate0.steam {
					if f > 0 && r.first.steam[c] == 0 {
						clipped++
					}
				}
			}
		}
		if clipped == 0 {
			t.Errorf("with an inflow of %g 1/s no try ends a cell's steam: the test asks less than it says", inflow)
		}
	}
}

// TestStepsAreRefused: where a wall dries some steps are refused, so that the
// test above has real cases; they stay below a sixth of those taken.
func TestStepsAreRefused(t *testing.T) {
	last, err := Run(t.Context(), cell(t, 60, 0), nil)
	if err != nil {
		t.Fatal(err)
	}
	// Wall cells of a third of the bore dry one at a time, each a jump of the
	// current that the controller must find: 26 of 224 here.
	if n, of := last.Stats.Refused(), last.Stats.Steps; n == 0 || n > of/6 {
		t.Errorf("a cell that dries has %d steps refused and %d taken, want some and at most a sixth", n, of)
	}
}

// TestOpenLedgerIsAnError: a term that does not belong to the step opens the
// ledger, and the error names what is open.
func TestOpenLedgerIsAnError(t *testing.T) {
	alone(t)
	inside := func(r *run) int { return r.targets[0].cells[len(r.targets[0].cells)/2] }
	outside := func(r *run) int { return len(r.volume) - 1 }
	for _, c := range []struct {
		name   string
		tamper func(*run)
		want   string // in the error; "": none
	}{
		{"nothing", func(*run) {}, ""},
		// 1e-12 of a flow is below the 1e-8 of the energy in that may be missing.
		{"the power by 1e-12", func(r *run) { r.rate2.flows.power *= 1 + 1e-12 }, ""},
		{"the power at the electrodes", func(r *run) { r.rate2.flows.power *= 1.001 }, "are missing, share "},
		{"the power at an earlier stage", func(r *run) { r.rate1.power *= 1.001 }, "are missing, share "},
		{"the loss at the surface", func(r *run) { r.rate1.surface *= 2 }, "are missing, share "},
		{"a temperature in the target", func(r *run) { r.next.T[inside(r)] += 0.1 }, "term: stored in the target"},
		{"a temperature outside it", func(r *run) { r.next.T[outside(r)] += 0.1 }, "term: stored in the ground"},
		{"a temperature that is no number", func(r *run) { r.next.T[inside(r)] = math.NaN() }, "term: stored in the target"},
		{"the target's own Joule heat", func(r *run) { r.rate2.flows.zoneJoule *= 1.001 }, "the target's own ledger"},
		{"the flux through the target's top", func(r *run) { r.rate2.flows.zone.Top += 1e3 }, "the target's own ledger"},
		{"the steam", func(r *run) { r.rate2.boiling.steamHeat.Captured *= 1.5 }, "are missing"},
		{"the inflow", func(r *run) { r.rate2.boiling.inflow += 1e-3 }, "kg of water are missing"},
	} {
		r := begun(t, cell(t, 60, far))
		steps(t, r, 60)
		dt := r.control.propose(r.state.Time, r.nextStop())
		if _, err := r.step(dt); err != nil {
			t.Fatal(err)
		}
		if r.rate2.steam == nil || r.rate2.boiling.steamHeat.Captured == 0 {
			t.Fatal("no cell boils where the test needs one")
		}
		c.tamper(r)
		err := r.take(dt)
		if c.want == "" {
			if err != nil {
				t.Errorf("the ledger is open where %s was changed: %v", c.name, err)
			}
			continue
		}
		if !errors.Is(err, ErrLedger) || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "t = ") {
			t.Errorf("where %s was changed the step returned %v, want an error that wraps ErrLedger, begins with the time and says %q", c.name, err, c.want)
		}
	}
}

// TestLedgerCloses: at every step the terms add up, the target's own and the
// water's too, and two ends that are known otherwise agree: the heat stored in a
// sum over the cells, the steam times its enthalpy.
func TestLedgerCloses(t *testing.T) {
	for _, p := range []*Problem{cell(t, 20, far), cell(t, 20, 0), cell(t, 20, 3e-7), section(t, 10, far)} {
		g := p.Ground
		worst, boiled := 0.0, 0.0
		_, err := Run(t.Context(), p, each(func(r *Report) {
			l := r.Ledger
			sum := l.StoredTarget + l.StoredOutside + l.SteamOut + l.LossSurface + l.LossBelow + l.LossSides + l.CarriedByWater
			if scale := math.Max(l.In, 1); math.Abs(l.In+l.WaterIn-sum-l.Residual) > 1e-12*scale { // a sum of eight terms, each rounded at 1e-16 of the largest
				t.Errorf("day %.3f: in %.10g J, out %.10g J and residual %.3g J do not add up", r.State.Time/day, l.In, sum, l.Residual)
			}
			stored, water := 0.0, 0.0
			for c, v := range g.Grid.Volume {
				stored += v * r.State.E[c]
				water += v * (r.State.W[c] - g.Stores[g.Row(c)].Found)
			}
			// The state's E is booked from fluxes, the ledger's from T and W: they part by
			// the rounding of T(E), 1e-11 K of some 100 K a step, times up to 300 steps.
			if d := math.Abs(stored - l.StoredTarget - l.StoredOutside); d > 1e-8*math.Max(l.In, 1e6) {
				t.Errorf("day %.3f: the state stores %.12g J, the ledger %.12g J", r.State.Time/day, stored, l.StoredTarget+l.StoredOutside)
			}
			if d := math.Abs(water - l.Water.Stored); d > 1e-9*math.Max(l.Steam, 1) { // sums of the same terms in another order
				t.Errorf("day %.3f: the ground has %.12g kg more water, the ledger %.12g kg", r.State.Time/day, water, l.Water.Stored)
			}
			worst = math.Max(worst, math.Abs(l.Share()))
			boiled = l.Steam
		}))
		if err != nil {
			t.Fatal(err)
		}
		// The loop allows 1e-8; rounding alone gives what is seen here, 1e-11.
		if worst > 1e-9 {
			t.Errorf("the ledger's largest residual is %.2g of its scale, want at most 1e-9", worst)
		}
		if boiled == 0 {
			t.Error("nothing boiled, so the test sees less than it says")
		}
	}
}

// TestCancelled: a run that is cancelled returns the context's error and the
// last accepted step, which it has recorded.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	var recorded []float64
	last, err := Run(ctx, cell(t, 60, far), each(func(r *Report) {
		recorded = append(recorded, r.State.Time)
		if r.Stats.Steps == 5 {
			cancel()
		}
	}))
	if !errors.Is(err, context.Canceled) || len(recorded) != 6 || last.State.Time != recorded[5] || last.Stats.Steps != 5 {
		t.Errorf("a run cancelled in its fifth step returned %v after %d records and %d steps, want the context's error, six and five", err, len(recorded), last.Stats.Steps)
	}
}

// TestRecorderFails: the error of a recorder ends the run as it is.
func TestRecorderFails(t *testing.T) {
	full := errors.New("disk full")
	last, err := Run(t.Context(), cell(t, 60, far), recorder(func(r *Report) error {
		if r.Stats.Steps == 3 {
			return full
		}
		return nil
	}))
	if !errors.Is(err, full) || last.Stats.Steps != 3 {
		t.Errorf("a recorder that failed in the third step made Run return %v after %d steps, want its error after three", err, last.Stats.Steps)
	}
}

type recorder func(*Report) error

func (f recorder) Record(r *Report) error { return f(r) }

// TestTwoRunsShareNothing: two runs of one problem, interleaved, give the bits of
// each alone.
func TestTwoRunsShareNothing(t *testing.T) {
	alone := begun(t, section(t, 60, far))
	a, b := begun(t, section(t, 60, far)), begun(t, section(t, 60, 0))
	for range 20 {
		steps(t, alone, 1)
		steps(t, a, 1)
		steps(t, b, 1)
	}
	if d := snap(alone).differs(snap(a)); d != "" {
		t.Errorf("a run stepped beside another differs in %s from one alone", d)
	}
}
