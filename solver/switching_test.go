package solver

import (
	"math"
	"sort"
	"strings"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// block is dry ground of 4 by 0.5 m and 1 m along, between plates at its ends on two
// of three phases, whose conductivity does not change: C = 2e6 J/(m³·K), λ = 2 W/(m·K),
// nothing lost but through the film, to air at 15 °C. All columns being alike, its mean
// temperature follows
//
//	C V dT/dt = P − K (T − T_air)
//
// whatever flows between them, by the sum of the columns' balances.
func block(t *testing.T, film float64) (p *Problem, tau, loss float64) {
	t.Helper()
	x := []float64{0, 0.25, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 3.75, 4}
	g := mesh.NewSection(x, []float64{0, 0.5}, 1)
	p = dry(t, g, film)
	e, err := physics.NewElectric(g, []physics.Body{{Name: "1", Label: "A", Phase: physics.Phasor(3, "A"), Rods: 1, Zone: g.Box("", 0, 0.25, 0, 0.5)},
		{Name: "2", Label: "B", Phase: physics.Phasor(3, "B"), Rods: 1, Zone: g.Box("", 3.75, 4, 0, 0.5)}}, false)
	if err != nil {
		t.Fatal(err)
	}
	p.Electric = e
	p.Supply = []Setting{{Voltage: 200, PowerLimit: far, CurrentLimit: far, On: true}}
	resistance := 1/film + 0.25/2 // [m²·K/W] of the film and the half cell
	return p, 2e6 * 0.5 * resistance, 4 / resistance
}

// mean returns the block's mean temperature [K].
func (r *Report) mean() float64 { return r.Targets[0].Mean }

// TestOutageStopsAllPower: in an outage there is no power at all, and where the
// conductivity does not change the energy in is that without outages times the share of
// time without them: by hand 7.5 of 10 d, to rounding; the ledger closes, or Run fails.
func TestOutageStopsAllPower(t *testing.T) {
	run := func(supply func(Setting) []Setting) (in float64) {
		p, _, _ := block(t, 5)
		p.Duration, p.Outputs = 10*day, []float64{10 * day}
		p.Supply = supply(p.Supply[0])
		before, out := 0.0, false
		rep, err := Run(t.Context(), p, each(func(r *Report) {
			if out && r.Ledger.In != before {
				t.Errorf("the step to day %.3f, in an outage, has %g J in", r.State.Time/day, r.Ledger.In-before)
			}
			before, out = r.Ledger.In, r.Setting.Outage
			if out && (r.State.Voltage != 0 || r.State.Limit != physics.Outage) {
				t.Errorf("on day %.3f, in an outage, the voltage is %g V and %q holds it", r.State.Time/day, r.State.Voltage, r.State.Limit)
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		if on := rep.Switching.OnTime; math.Abs(on-10*day) > 1e-6 && math.Abs(on-7.5*day) > 1e-6 {
			t.Errorf("the supply was on for %.9g d, want 10 or 7.5", on/day)
		}
		return rep.Ledger.In
	}
	whole := run(func(s Setting) []Setting { return []Setting{s} })
	parts := run(func(s Setting) []Setting {
		out := []Setting{s}
		for _, at := range []float64{2 * day, 3 * day, 7 * day, 8.5 * day} {
			s.At, s.Outage = at, !s.Outage
			out = append(out, s)
		}
		return out
	})
	if want := 0.75 * whole; math.Abs(parts-want) > 1e-12*want || whole == 0 {
		t.Errorf("with outages %.15g J come in, want 0.75 of the %.15g J without", parts, whole)
	}
}

// TestThermostatPeriod: the block heats from the lower to the upper threshold in
// τ ln((T* − low)/(T* − high)), T* = T_air + P/K, and cools back in
// τ ln((high − T_air)/(low − T_air)); each switch lies 0 to 0.01 K past its threshold.
// Source: Newton's law of cooling, integrated.
// The two ends of a time are each met to 0.01 K, and the steps err by some of their
// tolerance of 1e-3 K: 0.02 K at the slowest rate of the swing.
func TestThermostatPeriod(t *testing.T) {
	for _, fixed := range []float64{0, 0.21 * day} {
		p, tau, loss := block(t, 5)
		p.Duration = 60 * day
		p.Settings.Tolerance, p.Settings.FixedStep = 1e-3, fixed
		const air, set, band = 288.15, 10.0, 1.0
		p.Thermostat = &Thermostat{Setpoint: air + set, Deadband: band, Follow: func(s *State) float64 {
			sum, v := 0.0, 0.0
			for c, vol := range p.Ground.Grid.Volume {
				sum, v = sum+vol*s.T[c], v+vol
			}
			return sum / v
		}}
		var at []float64
		var rise float64 // [K] of T* over the air
		last, err := Run(t.Context(), p, each(func(r *Report) {
			if r.State.Time == 0 {
				rise = r.State.Power * r.State.Voltage * r.State.Voltage / loss
			}
			if n := r.Switching.Switches; n > len(at) {
				at = append(at, r.State.Time)
				past := r.mean() - air - set - band
				if n%2 == 0 {
					past = air + set - band - r.mean()
				}
				if past < 0 || past > 0.01 {
					t.Errorf("switch %d on day %.3f lies %.5f K past its threshold, want 0 to 0.01", n, r.State.Time/day, past)
				}
				if off := r.State.Limit == physics.Setpoint; off != (n%2 == 1) || off != (r.State.Voltage == 0) {
					t.Errorf("after switch %d the supply is at %g V and %q holds it", n, r.State.Voltage, r.State.Limit)
				}
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		if rise < 13 {
			t.Fatalf("the block settles %.3g K above the air: it does not swing", rise)
		}
		up, down := tau*math.Log((rise-set+band)/(rise-set-band)), tau*math.Log((set+band)/(set-band))
		want := tau * math.Log(rise/(rise-set-band)) // the first switch, from the air's temperature
		slowest := math.Min(rise-set-band, set-band) / tau
		if math.Abs(at[0]-want) > 0.02/slowest {
			t.Errorf("the first switch is on day %.5f, want %.5f", at[0]/day, want/day)
		}
		for i := 1; i < len(at); i++ {
			want := down
			if i%2 == 0 {
				want = up
			}
			if got := at[i] - at[i-1]; math.Abs(got-want) > 0.02/slowest {
				t.Errorf("switch %d comes %.5f d after the one before, want %.5f ± %.5f d", i+1, got/day, want/day, 0.02/slowest/day)
			}
		}
		// The setpoint is reached on the way; a line over a step bends by less than 1e-3 K.
		reached := tau * math.Log(rise/(rise-set))
		if math.Abs(last.Switching.Reached-reached) > 0.02/slowest {
			t.Errorf("the setpoint is first reached on day %.5f, want %.5f", last.Switching.Reached/day, reached/day)
		}
		t.Logf("%d switches in %d steps, %d redone; up %.4f d, down %.4f d", len(at), last.Stats.Steps, last.Stats.Redone, up/day, down/day)
		if len(at) < 10 {
			t.Errorf("%d switches, want ten or more", len(at))
		}
		on := 0.0
		for i, a := range at {
			if i%2 == 0 {
				on += a
			} else {
				on -= a
			}
		}
		if len(at)%2 == 0 {
			on += p.Duration
		}
		if got := last.Switching.OnTime; math.Abs(got-on) > 1e-9*on {
			t.Errorf("the supply was on for %.9g d, its switches say %.9g d", got/day, on/day)
		}
	}
}

// TestThermostatInRealGround: where the ground's conductivity rises with temperature, and
// boils beside the rod, each switch still lies 0 to 0.01 K past its threshold, the supply
// is on only where plan, outage and thermostat say so, and a try that does not stand
// leaves no trace.
func TestThermostatInRealGround(t *testing.T) {
	alone(t)
	for _, c := range []struct {
		p         *Problem
		set, band float64 // [°C]
	}{{cell(t, 40, far), 60, 2}, {section(t, 60, far), 30, 0.05}} {
		p := c.p
		zone := p.Targets[0].Zone
		cells, volume := zone.Cells(p.Ground.Grid), zone.Volume(p.Ground.Grid)
		p.Thermostat = &Thermostat{Setpoint: c.set + 273.15, Deadband: c.band, Follow: func(s *State) float64 {
			sum := 0.0
			for _, c := range cells {
				sum += p.Ground.Grid.Volume[c] * s.T[c]
			}
			return sum / volume
		}}
		first := p.Supply[0]
		stop, outage, on := first, first, first
		stop.At, stop.On = 20*day, false
		outage.At, outage.Outage = 21*day, true
		on.At = 22 * day
		p.Supply = []Setting{first, stop, outage, on}
		switches, off := 0, false
		last, err := Run(t.Context(), p, each(func(r *Report) {
			if n := r.Switching.Switches; n > switches {
				switches, off = n, !off
				past := r.mean() - p.Thermostat.Setpoint - c.band
				if !off {
					past = p.Thermostat.Setpoint - c.band - r.mean()
				}
				if past < 0 || past > 0.01 {
					t.Errorf("switch %d on day %.3f lies %.5f K past its threshold, want 0 to 0.01", n, r.State.Time/day, past)
				}
				if !off && r.State.SolvedAt != r.State.Time {
					t.Errorf("on day %.4f the supply is switched on with a potential of day %.4f", r.State.Time/day, r.State.SolvedAt/day)
				}
			}
			want := physics.NoLimit
			switch {
			case !r.Setting.On:
				want = physics.Off
			case r.Setting.Outage:
				want = physics.Outage
			case off:
				want = physics.Setpoint
			}
			if r.State.Limit != want || (r.State.Voltage == 0) != (want != physics.NoLimit) {
				t.Errorf("on day %.3f %q holds the voltage at %g V, want %q", r.State.Time/day, r.State.Limit, r.State.Voltage, want)
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d switches in %d steps, %d redone, %d refused, %d potentials", switches, last.Stats.Steps, last.Stats.Redone, last.Stats.Refused(), last.Stats.Potentials)
		if switches < 5 || last.Stats.Redone > 4*switches {
			t.Errorf("%d switches and %d steps redone, want five switches or more, and at most four tries each", switches, last.Stats.Redone)
		}
	}
}

// TestThermostatEnds: ground that swings without end ends a run when it has switched
// MostSwitches times, and says what to do.
func TestThermostatEnds(t *testing.T) {
	alone(t)
	p, _, _ := block(t, 1000)
	p.Duration = 36525 * day
	p.Supply[0].Voltage = 3e3
	p.Thermostat = &Thermostat{Setpoint: 308.15, Deadband: 0.05, Follow: func(s *State) float64 { return s.T[5] }}
	last, err := Run(t.Context(), p, nil)
	if err == nil || !strings.Contains(err.Error(), "widen its deadband of 0.05 K") {
		t.Fatalf("after %d switches in %d steps, on day %.4g, the run ends with %v", last.Switching.Switches, last.Stats.Steps, last.State.Time/day, err)
	}
	t.Logf("%d steps, %d redone, up to day %.4g", last.Stats.Steps, last.Stats.Redone, last.State.Time/day)
	if per := float64(last.Stats.Steps+last.Stats.Redone) / MostSwitches; per > 20 {
		t.Errorf("a switch takes %.1f steps, want at most 20", per)
	}
}

// metered is a wave with the energy up to each row: its means cost the same for ten
// rows and for ten thousand.
type metered struct {
	wave
	sum []float64
}

func newMetered(w wave) metered {
	m := metered{w, make([]float64, len(w.t))}
	for i := 1; i < len(w.t); i++ {
		m.sum[i] = m.sum[i-1] + (w.t[i]-w.t[i-1])*(w.q[i-1]+w.q[i])/2
	}
	return m
}

func (m metered) until(t float64) float64 {
	i := max(sort.SearchFloat64s(m.t, t)-1, 0)
	return m.sum[i] + (t-m.t[i])*(m.q[i]+m.at(t))/2
}

func (m metered) meter() *Meter {
	return &Meter{
		Power: func(from, to float64) float64 {
			if to <= from {
				return m.at(from)
			}
			return (m.until(to) - m.until(from)) / (to - from)
		},
		Peak: func(from, to float64) (watts, at float64) {
			watts, at = m.at(from), from
			for i := sort.SearchFloat64s(m.t, from); i < len(m.t) && m.t[i] <= to; i++ {
				if m.q[i] > watts {
					watts, at = m.q[i], m.t[i]
				}
			}
			return watts, at
		},
	}
}

// fiveMinutes is a daily swing with noise, by rows of five minutes, off for two days.
func fiveMinutes(days, kilowatts float64) metered {
	w := wave{}
	noise := uint32(1)
	for i := range int(days*288) + 1 {
		s := 300 * float64(i)
		noise = noise*1664525 + 1013904223
		q := 1e3 * kilowatts * (1 + 0.2*math.Sin(2*math.Pi*s/day) + 0.3*(float64(noise)/math.MaxUint32-0.5))
		if s > 10*day && s < 12*day {
			q = 0
		}
		w.t, w.q = append(w.t, s), append(w.q, q)
	}
	return newMetered(w)
}

// TestMeteredEnergy: the ledger of a rod that boils, over steps of a day and more, holds
// the energy of the meter's five-minute rows: their trapezoids, to 1e-9; and the voltage
// is at no step beyond what the largest row needs.
func TestMeteredEnergy(t *testing.T) {
	const days = 40
	for _, inflow := range []float64{far, 0} {
		p := cell(t, days, inflow)
		p.Settings.Tolerance = 1
		m := fiveMinutes(days, 30)
		p.Meter = m.meter()
		longest, before, boiled := 0.0, 0.0, false
		rep, err := Run(t.Context(), p, each(func(r *Report) {
			longest, before = math.Max(longest, r.State.Time-before), r.State.Time
			boiled = boiled || r.SteamRate > 0
			power, want := r.State.Power*r.State.Voltage*r.State.Voltage, m.at(r.State.Time)
			if math.Abs(power-want) > 1e-9*30e3 {
				t.Errorf("on day %.4f the power is %.9g W, the meter has %.9g W", r.State.Time/day, power, want)
			}
			if by := map[bool]physics.Limit{true: physics.Metered, false: physics.Off}[want > 0]; r.State.Limit != by {
				t.Errorf("on day %.4f, at %g W, %q holds the voltage, want %q", r.State.Time/day, want, r.State.Limit, by)
			}
			if in, want := r.Ledger.In, m.until(r.State.Time); math.Abs(in-want) > 1e-9*want {
				t.Errorf("on day %.4f %.12g J are in, the meter's rows have %.12g J", r.State.Time/day, in, want)
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d steps of up to %.2f d, %d potentials; at most %.4g V on day %.3f", rep.Stats.Steps, longest/day, rep.Stats.Potentials, rep.Need.Voltage.Most, rep.Need.Voltage.At/day)
		if longest < day || !boiled {
			t.Errorf("the longest step is %.3g d, boiled: %v; the test asks less than it says", longest/day, boiled)
		}
	}
}

// TestMeterNeeds: of a power that rises to 2 kW on day 3 in ground of one conductance G
// the largest voltage is √(2000/G) then, and what the setting allows is passed within the
// step after it is: by hand, of √(1000/G), 1 kW, the current at 1 kW and 2/√3 kVA, on the
// way up. The block's plates stand on two of three phases: its apparent power is 2/√3 of
// its power.
func TestMeterNeeds(t *testing.T) {
	p, _, _ := block(t, 5)
	p.Duration = 6 * day
	p.Meter = newMetered(wave{[]float64{0, 3 * day, 6 * day}, []float64{0, 2e3, 0}}).meter()
	start, err := Start(p)
	if err != nil {
		t.Fatal(err)
	}
	g := start.State.Power
	v := math.Sqrt(1e3 / g)
	current := 1e3 / (math.Sqrt(3) * v) // P = √3 V I between two phases
	p.Supply[0] = Setting{Voltage: v, PowerLimit: 1e3, CurrentLimit: current, ApparentLimit: 2e3 / math.Sqrt(3), On: true}
	steps := []float64{}
	last, err := Run(t.Context(), p, each(func(r *Report) { steps = append(steps, r.State.Time) }))
	if err != nil {
		t.Fatal(err)
	}
	end := 0.0 // of the step that passes 1.5 d
	for _, s := range steps {
		if s > 1.5*day {
			end = math.Min(s, 3*day)
			break
		}
	}
	n := last.Need
	for _, c := range []struct {
		name string
		got  Asked
		want float64
	}{{"voltage", n.Voltage, math.Sqrt2 * v}, {"power", n.Power, 2e3}, {"current", n.Current, math.Sqrt2 * current}, {"apparent power", n.Apparent, 4e3 / math.Sqrt(3)}} {
		// The potential is solved to 1e-7; a conductance is wrong by its square at most.
		if math.Abs(c.got.Most-c.want) > 1e-9*c.want || c.got.At != 3*day || c.got.Past != end {
			t.Errorf("the most of the %s is %.12g on day %.6g, past its setting on day %.6g; want %.12g on day 3, day %.6g", c.name, c.got.Most, c.got.At/day, c.got.Past/day, c.want, end/day)
		}
	}
}

// TestMeteredDriveIsSecondOrder: the block's mean under a metered power of
// sin², against the closed form of TestChangingPowerIsSecondOrder.
func TestMeteredDriveIsSecondOrder(t *testing.T) {
	const power, period = 500.0, 10 * day
	omega := 2 * math.Pi / period
	var errs []float64
	for _, n := range []int{32, 64, 128, 256} {
		p, tau, loss := block(t, 5)
		p.Duration = 0.7 * period
		p.Settings = Settings{FixedStep: p.Duration / float64(n), Tolerance: 1e-6}
		integral := func(s float64) float64 { return power * (s - math.Sin(omega*s)/omega) / 2 }
		p.Meter = &Meter{
			Power: func(from, to float64) float64 {
				if to <= from {
					return power * (1 - math.Cos(omega*from)) / 2
				}
				return (integral(to) - integral(from)) / (to - from)
			},
			Peak: func(from, to float64) (watts, at float64) { return power, to },
		}
		rep, err := Run(t.Context(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		s := p.Duration
		k := complex(1/tau, omega)
		e := complex(math.Cos(omega*s)-math.Exp(-s/tau), math.Sin(omega*s))
		want := power / (2 * loss * tau) * (tau*-math.Expm1(-s/tau) - real(e/k))
		errs = append(errs, math.Abs(rep.mean()-288.15-want))
	}
	// The band of 0.15 is for the next term of the error.
	for i := 2; i < len(errs); i++ {
		if order := math.Log2(errs[i-1] / errs[i]); math.Abs(order-2) > 0.15 {
			t.Errorf("the observed order is %.3f (errors %.3g K), want 2 ± 0.15", order, errs)
		}
	}
}

// TestMeteredPulsesAreNotSteppedOver: a power on for an hour in twelve, that a line over
// a day misplaces: in halves of days it is the same. A run that looked only at means and
// slopes would miss that each pulse warms the block by 36 K and that the end lies in the
// middle of one. Steps shorten until what is misplaced warms it by no more than the
// tolerance. All of a step's energy being in by its end, what is misplaced does not pile
// up: the end is that of a run with 1/50 of the tolerance, to within the tolerance.
func TestMeteredPulsesAreNotSteppedOver(t *testing.T) {
	w := wave{}
	for h := range 241 {
		q := 0.0
		if h%12 == 6 {
			q = 4e4
		}
		w.t, w.q = append(w.t, 3600*float64(h), 3600*float64(h)+3599), append(w.q, q, q)
	}
	end := func(tolerance float64) (float64, int) {
		p, _, _ := block(t, 20)
		p.Duration, p.Meter = 9.27*day, newMetered(w).meter()
		p.Settings.Tolerance = tolerance
		rep, err := Run(t.Context(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return rep.mean(), rep.Stats.Steps
	}
	want, _ := end(0.002)
	got, n := end(0.1)
	t.Logf("%d steps, %.4f K at the end, %.4f K with a fiftieth of the tolerance", n, got, want)
	if math.Abs(got-want) > 0.1 {
		t.Errorf("the mean ends at %.3f K, want %.3f ± 0.1 K (%d steps)", got, want, n)
	}
}

// TestApparentLimitHolds: the block's plates stand on two of three phases, so that its
// apparent power is 2/√3 of its power: it is what the limit allows, and the power √3/2 of
// that. In a cell against a rim at 0 V current and voltage are in phase: a limit in kVA
// does there what the same in kW does. Six rows of three phases take more kVA than kW.
func TestApparentLimitHolds(t *testing.T) {
	p, _, _ := block(t, 5)
	p.Duration = day
	p.Supply[0].ApparentLimit = 100
	if _, err := Run(t.Context(), p, each(func(r *Report) {
		if got, want := r.State.Power*r.State.Voltage*r.State.Voltage, 100*math.Sqrt(3)/2; math.Abs(got-want) > 1e-9*want || r.State.Limit != physics.ApparentLimit {
			t.Errorf("on day %.3f the power is %.12g W and %q holds it, want %.12g W and kva", r.State.Time/day, got, r.State.Limit, want)
		}
	})); err != nil {
		t.Fatal(err)
	}
	ends := func(set func(*Setting)) (in float64, by physics.Limit) {
		p := cell(t, 12, far)
		set(&p.Supply[0])
		last, err := Run(t.Context(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return last.Ledger.In, last.State.Limit
	}
	kW, byPower := ends(func(s *Setting) { s.PowerLimit = 60e3 })
	kVA, byApparent := ends(func(s *Setting) { s.ApparentLimit = 60e3 })
	if math.Abs(kW-kVA) > 1e-9*kW || byPower != physics.PowerLimit || byApparent != physics.ApparentLimit {
		t.Errorf("under 60 kVA %.12g J come in, held by %q, under 60 kW %.12g J, held by %q: want the same, kva and power", kVA, byApparent, kW, byPower)
	}
	p = section(t, 8, far)
	p.Supply[0].ApparentLimit = 200e3
	held := 0
	if _, err := Run(t.Context(), p, each(func(r *Report) {
		v2 := r.State.Voltage * r.State.Voltage
		s := physics.ApparentPower(p.Electric.Bodies, nil, r.State.Current) * v2
		if s > 200e3*(1+1e-9) || s < r.State.Power*v2*(1-1e-12) {
			t.Errorf("on day %.3f the apparent power is %.12g VA and the power %.12g W, want at most 200 kVA, and no less than the power", r.State.Time/day, s, r.State.Power*v2)
		}
		if r.State.Limit == physics.ApparentLimit {
			held++
			if math.Abs(s-200e3) > 1e-9*200e3 {
				t.Errorf("on day %.3f the limit is said to hold at %.12g VA", r.State.Time/day, s)
			}
		}
	})); err != nil {
		t.Fatal(err)
	}
	if held == 0 {
		t.Error("the limit never holds: the test sees less than it says")
	}
}

// TestControlledStepsLeaveNoTrace: tries of a metered drive and of a thermostat that do
// not stand change nothing, and a run goes on from there to the same bits; a warm step of
// either allocates nothing.
func TestControlledStepsLeaveNoTrace(t *testing.T) {
	for name, made := range map[string]func() *Problem{
		"a metered drive": func() *Problem {
			p := cell(t, 40, 0)
			p.Meter = fiveMinutes(40, 30).meter()
			return p
		},
		"a metered drive beside set power": func() *Problem {
			p := swinging(t, cell(t, 40, far))
			p.Meter = fiveMinutes(40, 30).meter()
			return p
		},
		"a thermostat": func() *Problem {
			p := cell(t, 40, far)
			p.Thermostat = &Thermostat{Setpoint: 330, Deadband: 1, Follow: func(s *State) float64 { return s.T[p.Ground.Grid.Index(6, p.Ground.Grid.Row(3))] }}
			return p
		},
	} {
		plain, tried := begun(t, made()), begun(t, made())
		for range 6 {
			steps(t, plain, 7)
			steps(t, tried, 7)
			before := snap(tried)
			for _, factor := range []float64{30, 1, 0.1} {
				_, _ = tried.step(factor * tried.control.dt)
				if d := before.differs(snap(tried)); d != "" {
					t.Fatalf("%s: on day %.3f a step that was tried at %g times the planned length and not taken has changed %s", name, tried.state.Time/day, factor, d)
				}
			}
		}
		if d := snap(plain).differs(snap(tried)); d != "" {
			t.Errorf("%s: on day %.3f a run with tries in between differs in %s from one without", name, plain.state.Time/day, d)
		}
		if got := testing.AllocsPerRun(12, func() { steps(t, plain, 1) }); got != 0 {
			t.Errorf("a step of %s allocates %.1f times, want 0", name, got)
		}
	}
}
