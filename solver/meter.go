package solver

import (
	"fmt"
	"math"

	"soiljoule/physics"
)

// Meter drives the supply by a metered power: the voltage at every stage of a step is
// what makes the power at the electrodes that of the meter, but for what the setting
// switches off. No limit is applied: Need tells which would have been passed, the
// setting's voltage among them.
type Meter struct {
	// Power returns the mean power at the electrodes between two times [s], or where
	// they are one, the power then [W], ≥ 0. Means of adjoining intervals add up.
	Power func(from, to float64) float64
	// Peak returns the largest power between two times [s] and when it is.
	Peak func(from, to float64) (watts, at float64)
}

// Need is what a metered power has asked of the supply.
type Need struct {
	Voltage  Asked // [V] phase to neutral
	Power    Asked // [W]
	Current  Asked // [A] of one rod
	Apparent Asked // [VA]

	// At the state, per volt or volt squared.
	conductance, perVolt, apparent float64 // [W/V²], [A/V], [VA/V²]
}

// Asked is the most of one quantity, when that was [s], and when it first passed what
// the setting allows [s]; NaN: never.
type Asked struct{ Most, At, Past float64 }

// note takes one value at a time [s], and what the setting allows of it.
func (a *Asked) note(value, limit, at float64) {
	if value > a.Most {
		a.Most, a.At = value, at
	}
	if math.IsNaN(a.Past) && value > limit*(1+1e-9) {
		a.Past = at
	}
}

// meter is the run's. Over a step the power is a line,
//
//	P(τ) = mean + slope·(τ − ½),  0 ≤ τ ≤ 1
//
// with the exact mean of the meter's, so that the step's quadrature, exact for a line,
// brings in the meter's energy. The slope is that of the halves' own energies, held to
// where the line falls to 0 at an end. What the line puts at the wrong time within the
// step goes to the error estimate.
type meter struct {
	*Meter
	need        Need
	now         float64 // [W] at the stage being solved, or at the state
	start       float64 // [W] at the state, as its rates have it
	mean, slope float64 // [W]
	misplaced   float64 // [J]
	rates       rates   // the state's, moved to the power that the step begins with
}

// newMeter returns the meter of a run, which does nothing where m is nil.
func newMeter(m *Meter, p *Problem) meter {
	none := Asked{Past: math.NaN()}
	k := meter{Meter: m, need: Need{Voltage: none, Power: none, Current: none, Apparent: none}}
	if m != nil {
		k.rates = newRates(p)
	}
	return k
}

func (m *meter) begin() {
	if m.Meter != nil {
		m.now = m.Power(0, 0)
		m.start = m.now
	}
}

// drive sets the voltage that makes the power the meter's.
func (m *meter) drive(n *State) { drive(n, m.now) }

// showMeter sets the voltage to the meter's own at the state's time, for what is recorded: the
// line's end is not that of a power that swings within the step. What is recorded as holding
// the voltage holds from then on: a power that only leaves 0 there is not off.
func (r *run) showMeter() {
	if r.meter.Meter == nil || r.off() {
		return
	}
	n := r.state
	drive(n, r.meter.Power(n.Time, n.Time))
	if r.meter.Power(n.Time+soon, n.Time+soon) > 0 {
		n.Limit = physics.Metered
	}
	if k := r.charge; k != nil && k.feed != nil {
		k.feed.bind(n)
	}
}

// soon [s] is how long a metered power must stay at 0 to be off.
const soon = 1.0

// idle says whether the meter has no power over the step just taken.
func (m *meter) idle() bool { return m.Meter != nil && m.mean == 0 }

// drive sets the voltage of a state that makes the power at the electrodes so many watts; 0 where
// no finite one does.
func drive(n *State, power float64) {
	n.Voltage, n.Limit = 0, physics.Off
	if power > 0 {
		n.Limit = physics.Metered
		if v := math.Sqrt(power / n.Power); !math.IsInf(v, 0) && !math.IsNaN(v) {
			n.Voltage = v
		}
	}
}

// fit lays the line over a step of dt [s] from t, and finds the energy that it has
// misplaced when a quarter, a half or three quarters of the step are over.
func (m *meter) fit(t, dt float64) {
	var quarter [4]float64
	for i := range quarter {
		quarter[i] = m.Power(t+dt*float64(i)/4, t+dt*float64(i+1)/4)
	}
	m.mean = (quarter[0] + quarter[1] + quarter[2] + quarter[3]) / 4
	m.slope = quarter[2] + quarter[3] - quarter[0] - quarter[1]
	m.slope = math.Min(math.Max(m.slope, -2*m.mean), 2*m.mean)
	m.misplaced = 0
	given := 0.0 // by the meter
	for i, q := range quarter[:3] {
		given += dt / 4 * q
		tau := float64(i+1) / 4
		if d := given - dt*tau*(m.mean+m.slope*(tau-1)/2); math.Abs(d) > math.Abs(m.misplaced) {
			m.misplaced = d
		}
	}
}

// stage sets now to the line at τ [-].
func (m *meter) stage(tau float64) {
	if m.Meter != nil {
		m.now = math.Max(0, m.mean+m.slope*(tau-0.5)) // the line may end at 0 but for rounding
	}
}

// settle makes the end of the step the start of the next.
func (m *meter) settle() { m.start = m.now }

// setMeter lays the meter's power over a step of dt [s], and finds the rates that the
// step begins with, from those that the sources have left.
func (r *run) setMeter(dt float64) {
	m := &r.meter
	if m.Meter == nil {
		return
	}
	m.fit(r.state.Time, dt)
	if r.first == &r.rate0 {
		m.rates.copyFrom(&r.rate0)
		r.first = &m.rates
	}
	// The state's own voltage stays: it is that of the step before.
	voltage, limit := r.state.Voltage, r.state.Limit
	m.now = m.start
	r.predictPower(r.state)
	copy(r.scratch, r.power)
	fringe := r.fringe()
	m.stage(0)
	r.predictPower(r.state)
	r.jump(r.first, r.scratch, r.power)
	r.jumpFringe(r.first, fringe)
	r.state.Voltage, r.state.Limit = voltage, limit
}

// meterMisplaced adds what the line has misplaced to the residual of the error
// estimate, where the electrodes put their heat.
func (r *run) meterMisplaced() {
	m := &r.meter
	if m.Meter == nil || m.misplaced == 0 || r.off() {
		return
	}
	_, b := r.charge.newest()
	if !(b.power > 0) {
		return
	}
	by := m.misplaced / r.loop.h / b.power
	for c, q := range b.joule {
		r.residual[c] += by * q
	}
}

// meterNeeds follows what the meter asks of the supply, over the step just taken or at
// the start, dt = 0. The ground's conductance is a line over the step.
func (r *run) meterNeeds(dt float64) error {
	m := &r.meter
	if m.Meter == nil {
		return nil
	}
	n := r.state
	before := m.need
	m.need.conductance, m.need.perVolt, m.need.apparent = n.Power, r.rodCurrent(n), r.apparent(n)
	if r.off() {
		return nil
	}
	watts, at := m.Peak(n.Time-dt, n.Time)
	if err := r.need(&before, watts, at, dt); err != nil {
		return err
	}
	// Of a power that falls or stays the largest is at the step's start; what the ground has
	// come to by its end may ask for more, of current as it warms, of voltage as it dries.
	return r.need(&before, m.Power(n.Time, n.Time), n.Time, dt)
}

// need notes what a power [W] at a time [s] of the step of dt [s] just taken asks for;
// before is what was known at its start.
func (r *run) need(before *Need, watts, at, dt float64) error {
	if watts <= 0 {
		return nil
	}
	m, n, u := &r.meter, r.state, 1.0
	if dt > 0 {
		u = (at - n.Time + dt) / dt
	}
	line := func(a, b float64) float64 { return a + u*(b-a) }
	v := math.Sqrt(watts / line(before.conductance, m.need.conductance))
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return fmt.Errorf("t = %.6g d: no voltage brings the metered %.4g W into ground that takes %.3g W per volt squared", n.Time/86400, watts, n.Power)
	}
	set := &r.setting
	apparent := math.Inf(1)
	if set.ApparentLimit > 0 {
		apparent = set.ApparentLimit
	}
	m.need.Voltage.note(v, set.Reference(), at)
	m.need.Power.note(watts, set.PowerLimit, at)
	m.need.Current.note(v*line(before.perVolt, m.need.perVolt), set.CurrentLimit, at)
	m.need.Apparent.note(v*v*line(before.apparent, m.need.apparent), apparent, at)
	return nil
}
