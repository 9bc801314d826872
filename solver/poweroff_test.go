package solver

import (
	"math"
	"testing"

	"soiljoule/physics"
)

// TestPowerOffStopsAllPower: from OffAt on there is no power, whatever changes, a
// thermostat, a meter and electrodes of their own ask for, and where the conductivity
// does not change the energy in is that without times the share of time before, by hand
// 4.3 of 10 d, to rounding; the ledger closes, or Run fails.
func TestPowerOffStopsAllPower(t *testing.T) {
	for name, change := range map[string]func(*Problem){
		"alone": func(*Problem) {},
		"changes": func(p *Problem) {
			p.Supply = append(p.Supply, p.Supply[0])
			p.Supply[1].At = 6 * day
		},
		"thermostat": func(p *Problem) {
			p.Thermostat = &Thermostat{Setpoint: 400, Deadband: 1, Follow: func(s *State) float64 { return s.T[5] }}
		},
		"meter": func(p *Problem) {
			p.Meter = &Meter{Power: func(from, to float64) float64 { return 300 }, Peak: func(from, to float64) (float64, float64) { return 300, from }}
		},
		"own voltage": func(p *Problem) {
			p.Supply[0].Bodies = []BodySetting{{Voltage: 90, CurrentLimit: far}, {Voltage: math.NaN(), CurrentLimit: far}}
		},
	} {
		run := func(off float64) *Report {
			p, _, _ := block(t, 5)
			p.Duration, p.Outputs = 10*day, []float64{10 * day}
			p.OffAt = off
			change(p)
			rep, err := Run(t.Context(), p, each(func(r *Report) {
				// At the end of the step to OffAt the supply has just gone off.
				if past := r.State.Time >= 4.3*day && off > 0; past != r.Cooling.Off() || past && (r.State.Voltage != 0 || r.State.Limit != physics.Off || r.OffAt != 4.3*day) {
					t.Errorf("%s: on day %.3f the voltage is %g V, %q holds it, and the supply is off since day %.9g", name, r.State.Time/day, r.State.Voltage, r.State.Limit, r.OffAt/day)
				}
			}))
			if err != nil {
				t.Fatal(name, err)
			}
			return rep
		}
		whole, part := run(math.NaN()), run(4.3*day)
		if want := 0.43 * whole.Ledger.In; math.Abs(part.Ledger.In-want) > 1e-12*want || want == 0 {
			t.Errorf("%s: with power off on day 4.3 of 10 %.15g J come in, want 0.43 of the %.15g J without", name, part.Ledger.In, whole.Ledger.In)
		}
		if on := part.Switching.OnTime; math.Abs(on-4.3*day) > 1e-6 {
			t.Errorf("%s: the supply was on for %.9g d, want 4.3", name, on/day)
		}
	}
}

// hotBlock is the block made to pass 45 °C, its target the whole of it.
func hotBlock(t *testing.T) (p *Problem, tau float64) {
	p, tau, _ = block(t, 5)
	p.Supply[0].Voltage = 300
	p.Duration = 40 * day
	p.Outputs = []float64{p.Duration}
	p.Settings.Tolerance = 1e-3
	p.Targets[0].Temperature, p.Targets[0].Share = 318.15, 0.5
	return p, tau
}

// TestPowerOffWhenHeld: the supply goes off when the hold is over, to a minute where that
// lies in the step in which the share is reached and else to rounding; a share that an
// outage loses starts the hold anew.
func TestPowerOffWhenHeld(t *testing.T) {
	for _, c := range []struct {
		name   string
		hold   float64
		outage bool
		fixed  float64
	}{{name: "no hold"}, {name: "no hold, equal steps", fixed: 0.37 * day}, {name: "two minutes", hold: 120}, {name: "a day and a bit", hold: 1.3 * day}, {name: "lost and won again", hold: 3 * day, outage: true}} {
		p, _ := hotBlock(t)
		p.Targets[0].Hold = c.hold
		p.Settings.FixedStep = c.fixed
		free, err := Run(t.Context(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		reached := free.Targets[0].Held - c.hold
		if c.outage {
			a, b := p.Supply[0], p.Supply[0]
			a.At, a.Outage, b.At = reached+day, true, reached+4*day
			p.Supply = append(p.Supply, a, b)
		}
		p.OffWhenHeld = true
		lost := false
		last, err := Run(t.Context(), p, each(func(r *Report) {
			lost = lost || r.State.Time > reached+day && math.IsNaN(r.OffAt) && r.Targets[0].Share < 0.5
		}))
		if err != nil {
			t.Fatal(err)
		}
		held := last.Targets[0].Held
		most := 1e-9 * held
		if c.hold < 200 {
			most = late
		}
		if late := last.OffAt - held; !(late >= -1e-9*held && late <= most) {
			t.Errorf("%s: off on day %.6f, %.3g s after the hold's end on day %.6f, want at most %.3g s", c.name, last.OffAt/day, late, held/day, most)
		}
		if lost != c.outage || c.outage && last.OffAt < reached+4*day+c.hold {
			t.Errorf("%s: the share was lost: %v, want %v; off on day %.3f, power back on day %.3f", c.name, lost, c.outage, last.OffAt/day, reached/day+4)
		}
		// The share of the run without is that of the same states but for its longer
		// steps: ten tolerances at the rate of some 8 K a day there are some minutes. An
		// equal step of 0.37 d is a line of its own.
		within := 900.0
		if c.fixed > 0 {
			within = c.fixed / 4
		}
		if !c.outage && math.Abs(held-free.Targets[0].Held) > within {
			t.Errorf("%s: held on day %.6f, without power off on day %.6f", c.name, held/day, free.Targets[0].Held/day)
		}
		t.Logf("%s: reached on day %.4f, off on day %.6f, %d steps", c.name, reached/day, last.OffAt/day, last.Stats.Steps)
	}

	// A target that is held from the start: no power at all.
	p, _ := hotBlock(t)
	p.Targets[0].Temperature, p.OffWhenHeld = 280, true
	last, err := Run(t.Context(), p, nil)
	if err != nil || last.OffAt != 0 || last.Ledger.In != 0 {
		t.Errorf("held from the start: off at %g s, %g J in, %v; want neither", last.OffAt, last.Ledger.In, err)
	}
}

// TestCoolingDays: once off, the block's mean falls as exp(−t/τ) to its air, and is down
// to 40 and 30 °C after τ ln((T_off − T_air)/(T − T_air)).
// Source: Newton's law of cooling, integrated.
// A line over a step of Δt misses an exponential by Δt²/8τ of time at most; the steps'
// errors of 1e-3 K add up to ten of them, at 15 K/τ the slowest.
func TestCoolingDays(t *testing.T) {
	p, tau := hotBlock(t)
	p.OffAt = 8 * day
	p.Duration = 60 * day
	p.Outputs = []float64{p.Duration}
	var at, hottest, step, before float64
	last, err := Run(t.Context(), p, each(func(r *Report) {
		if r.State.Time == p.OffAt {
			at, hottest = r.mean(), r.Targets[0].Max
		}
		if r.Cooling.Off() && r.mean() > 300 {
			step = math.Max(step, r.State.Time-before)
		}
		before = r.State.Time
	}))
	if err != nil {
		t.Fatal(err)
	}
	const air = 288.15
	for i, to := range CoolTo {
		want := tau * math.Log((at-air)/(to-air))
		tol := step*step/8/tau + 0.01*tau/15
		if got := last.Cooling.Mean[i]; !(math.Abs(got-want) <= tol) {
			t.Errorf("the mean is down to %.2f K %.5f d after power-off, want %.5f ± %.5f d", to, got/day, want/day, tol/day)
		}
		// The hottest of the cells, none colder than the mean, follows as the block evens out.
		if got := last.Cooling.Hottest[i]; !(got >= last.Cooling.Mean[i] && got < last.Cooling.Mean[i]+tau*math.Log((hottest-air)/(at-air))) {
			t.Errorf("the hottest cell is down to %.2f K %.5f d after power-off, the mean after %.5f d", to, got/day, last.Cooling.Mean[i]/day)
		}
	}
	t.Logf("%.2f K at power-off, hottest %.2f K; longest step %.3f d of τ = %.2f d; %.3f and %.3f d", at, hottest, step/day, tau/day, last.Cooling.Mean[0]/day, last.Cooling.Mean[1]/day)

	// Set power that goes on may warm it again: the days are those after which it stayed.
	c := Cooling{At: 100, Time: 100, LastMean: 320, LastHottest: 320}
	never := math.NaN()
	c.Mean, c.Hottest = [2]float64{never, never}, [2]float64{never, never}
	c.follow(110, 310, 316)
	c.follow(120, 318, 316)
	c.follow(130, 308.15, 313.15)
	// 318 to 308.15 K passes 313.15 K after 4.85/9.85 of the ten seconds.
	if got, want := c.Mean[0], 20+10*4.85/9.85; math.Abs(got-want) > 1e-9 || math.Abs(c.Hottest[0]-30) > 1e-9 || !math.IsNaN(c.Mean[1]) {
		t.Errorf("after warming again the mean stays below 40 °C from %v s on, want %v; hottest %v, want 30; below 30 °C %v, want NaN", got, want, c.Hottest[0], c.Mean[1])
	}
}

// TestPowerOffAllocatesNothing: a warm step before and after the supply went off does not.
func TestPowerOffAllocatesNothing(t *testing.T) {
	p := cell(t, 400, far)
	p.OffAt, p.OffWhenHeld = 12*day, true
	p.Targets[0].Temperature = 1e4
	r := begun(t, p)
	steps(t, r, 8)
	for _, off := range []bool{false, true} {
		for off && !r.cooling.Off() {
			steps(t, r, 1)
		}
		steps(t, r, 2)
		potentials := r.stats.Potentials
		if n := testing.AllocsPerRun(3, func() { steps(t, r, 1) }); n != 0 || r.cooling.Off() != off {
			t.Errorf("a step with the supply off: %v (%v) allocates %v times", off, r.cooling.Off(), n)
		}
		if off && r.stats.Potentials != potentials {
			t.Errorf("%d potentials are solved for with the supply off for good", r.stats.Potentials-potentials)
		}
	}
}
