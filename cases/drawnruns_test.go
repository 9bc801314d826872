package cases

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"

	"soiljoule/solver"
)

// held follows a run and holds what each accepted step must keep.
type held struct {
	*solver.Problem
	hold     func(what string, got, bar float64)
	switches int
	in       float64 // [J] at the step before
	hottest  float64 // [K] there
	bounds   [2]float64
}

func (h *held) Record(r *solver.Report) error {
	s, set, first := r.State, &r.Setting, r.State.Time == 0
	const closed = 1e-9
	h.hold("share of the energy that is missing", math.Abs(r.Ledger.Share()), closed)
	h.hold("share of the water that is missing", math.Abs(r.Ledger.Water.Share()), closed)
	if h.Meter == nil { // whose power is followed, whatever limits say
		h.hold("power over its limit", s.Power*s.Voltage*s.Voltage/set.PowerLimit, 1+closed)
		for b, i := range s.Current {
			body, amps := &h.Electric.Bodies[b], cmplx.Abs(i)*s.Voltage/h.Electric.Bodies[b].Rods
			if !body.Floating {
				h.hold("current of a rod over the limit of all", amps/set.CurrentLimit, 1+closed)
			}
			if set.Bodies != nil && !body.Floating && !math.IsInf(set.Bodies[b].CurrentLimit, 1) {
				h.hold("current of a rod over its own limit", amps/set.Bodies[b].CurrentLimit, 1.001)
			}
		}
	}
	if !set.On || set.Outage {
		h.hold("voltage while off", s.Voltage, 0)
	}
	if s.SolvedAt == s.Time && s.Power > 1e-9 {
		net, heat, most := -s.Rim, 0.0, 0.0
		for _, i := range s.Current {
			net += i
			most = math.Max(most, cmplx.Abs(i))
		}
		for _, q := range s.Joule {
			heat += q
		}
		h.hold("sum of currents over the largest", cmplx.Abs(net)/most, closed)
		h.hold("volts times amperes less heat, over it", math.Abs(s.Power/(heat*(1+h.Electric.Beyond()))-1), 1e-8)
	}
	if c := h.Thermostat; c != nil && r.Switching.Switches != h.switches {
		h.hold("kelvins by which a threshold is passed where the supply switches", math.Abs(c.Follow(s)-c.Setpoint)-c.Deadband, 0.01+1e-9)
		h.switches = r.Switching.Switches
	}
	hottest := slices.Max(s.T)
	h.hold("kelvins below all that cools", h.bounds[0]-slices.Min(s.T), 0.01)
	if !first && r.Ledger.In == h.in {
		h.hold("kelvins by which a peak rises without power", hottest-max(h.hottest, h.bounds[1]), 0.01)
	}
	h.in, h.hottest = r.Ledger.In, hottest
	return nil
}

// TestDrawnRuns: whatever the lot draws, by whatever it is driven — limits of all and of
// one, taps and switches of one electrode, changes, outages, a setpoint, a meter, power off
// for good — and whatever water its ground holds, boils and lets by, at each step the
// ledgers of energy and of water close, no limit is passed, an outage is one, a setpoint is
// passed by no more than the hundredth of a kelvin told; without power no peak rises, and
// nothing is ever colder than ground and air; a meter's energy is followed to 0.1 %; and a
// run that stops half-way and goes on ends as one without a break, to the bit.
// Source: conservation, the maximum principle, the program's promises.
// Tolerances: 1e-9 for what closes by algebra, heat against V·I to what the ledger is
// allowed; limits of one electrode 0.1 %, as they are met where the potential is solved;
// peaks a tenth of the step's tolerance of 0.1 K: the steps are L-stable and of second order,
// and so not monotone where the power jumps.
func TestDrawnRuns(t *testing.T) {
	if !runsDrawn {
		t.Skip("make validate runs what the lot draws")
	}
	ran, seen := 0, map[string]int{}
	seeds := []uint64{79, 197, 391} // a setpoint; limits of one
	for seed := range uint64(14 * draws) {
		seeds = append(seeds, seed)
	}
	for _, seed := range seeds {
		dir := t.TempDir()
		c := drawRun(t, seed, dir)
		make := func() *solver.Problem {
			p, err := c.build(dir)
			if err != nil {
				if _, ok := err.(Faults); !ok {
					t.Errorf("seed %d: %v\n%s", seed, err, c.text())
				}
				return nil // metal by a rod or thinner than a cell
			}
			return p
		}
		p := make()
		if p == nil {
			continue
		}
		said := map[string]bool{}
		hold := func(what string, got, bar float64) {
			seen[what]++
			if !(got <= bar) && !said[what] {
				said[what] = true
				t.Errorf("seed %d, %s: %s: %.10g, want %.10g at most\n%s", seed, c.view, what, got, bar, c.text())
			}
		}
		h := &held{Problem: p, hold: hold, bounds: [2]float64{min(c.ambient, c.air) + 273.15, max(c.ambient, c.air) + 273.15}}
		r, err := solver.Run(t.Context(), p, h)
		switch {
		case errors.Is(err, solver.ErrHot) || err != nil && strings.Contains(err.Error(), "driven by the others"):
			continue // dry ground melts; TestDrawnOwnLimits
		case err != nil:
			t.Errorf("seed %d, %s: %v\n%s", seed, c.view, err, c.text())
			continue
		}
		ran++
		if m := p.Meter; m != nil {
			end := p.Duration
			if p.OffAt > 0 {
				end = min(end, p.OffAt)
			}
			hold("energy in over the meter's, less 1", math.Abs(r.Ledger.In/(m.Power(0, end)*end)-1), 1e-3)
		}
		half := make()
		half.Duration = half.Duration / 2
		for _, at := range half.Outputs {
			if at > 0 && at < p.Duration {
				half.Duration = at
			}
		}
		b, err := solver.Run(t.Context(), half, nil)
		if err != nil {
			t.Fatalf("seed %d, to half: %v", seed, err)
		}
		b, err = solver.Resume(t.Context(), make(), b.Snapshot, nil)
		if err != nil {
			t.Fatalf("seed %d, from half on: %v", seed, err)
		}
		if !slices.Equal(b.State.T, r.State.T) || !slices.Equal(b.State.W, r.State.W) || !slices.Equal(b.State.Current, r.State.Current) || b.Ledger.In != r.Ledger.In {
			t.Errorf("seed %d: a run that goes on from half-way differs from one without a break\n%s", seed, c.text())
		}
	}
	if ran < 10*draws || len(seen) < 12 {
		t.Errorf("%d problems ran, and %d things were held: the lot is worth little", ran, len(seen))
	}
}

// TestDrawnRunsAreInvariant: four times the voltage on sixteen times the resistivity warms
// the ground alike; so does it whichever phase is called A and in whatever order electrodes
// are listed; and a supply that begins a week later does so a week later.
// Source: q = σE²; the equations know neither names nor dates, where ground and air are as
// one before. Tolerances: powers of two are exact; names and order change roundings, by
// which the last digit of a step's length moves and with it what its error is, some
// hundredths of a tolerance of 0.1 K; a later start has its steps elsewhere, where one cell
// may be off by ten tolerances and the target's mean, that thousands of cells share, by one.
func TestDrawnRunsAreInvariant(t *testing.T) {
	if !runsDrawn {
		t.Skip("make validate runs what the lot draws")
	}
	ran := 0
	for seed := range uint64(10 * draws) {
		dir := t.TempDir()
		c := drawRun(t, seed, dir)
		c.air = c.ambient
		if strings.Contains(c.supply, "metered") || strings.Contains(c.supply, "outages") || strings.Contains(c.supply, "off =") || strings.Contains(c.surface, "infiltration") {
			continue // of their own dates
		}
		for i := range c.rods {
			c.rods[i].limit = nan
		}
		run := func(c *lot) (*solver.Report, error) {
			p, err := c.build(dir)
			if err != nil {
				return nil, err
			}
			return solver.Run(t.Context(), p, nil)
		}
		a, err := run(c)
		if err != nil {
			continue
		}
		ran++
		compare := func(what string, d *lot, one, mean float64) {
			b, err := run(d)
			if err != nil {
				t.Errorf("seed %d, %s: %s: %v", seed, c.view, what, err)
				return
			}
			worst := 0.0
			for i, v := range b.State.T {
				worst = math.Max(worst, math.Abs(v-a.State.T[i]))
			}
			if m := b.Targets[0].Mean - a.Targets[0].Mean; !(worst <= one) || !(math.Abs(m) <= mean) {
				t.Errorf("seed %d, %s: %s: a cell ends %.3g K off, the target's mean %.3g K, want %.3g and %.3g at most\n%s", seed, c.view, what, worst, m, one, mean, d.text())
			}
		}
		if !strings.Contains(c.supply, "current_limit") && !slices.ContainsFunc(c.changes, func(h lotChange) bool { return strings.Contains(h.what, "voltage") }) {
			d := c.clone()
			d.voltage *= 4
			for i := range d.rods {
				d.rods[i].voltage *= 4
				d.rods[i].contact *= 16
			}
			for i := range d.layers {
				d.layers[i].resistivity *= 16
			}
			compare("four times the voltage on sixteen times the resistivity", d, 0, 0)
		}
		if c.view != Axisymmetric {
			compare("phases called otherwise", c.nextPhases(), 0.05, 0.01)
		}
		compare("electrodes listed backwards", c.backwards(), 0.05, 0.01)
		if c.view != Plan { // whose columns are laid out for the duration
			d := c.clone()
			d.shift = 7
			d.days += d.shift
			compare("a week later", d, 1, 0.1)
		}
	}
	if ran < 3*draws {
		t.Errorf("%d problems ran: the lot is worth little", ran)
	}
}
