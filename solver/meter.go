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

// Need is what a metered power has asked of the supply: the largest voltage, and when
// it first passed what the setting allows.
type Need struct {
	Voltage, VoltageAt               float64 // [V] phase to neutral; [s]
	PastVoltage, PastPower           float64 // [s]; NaN: never
	PastCurrent, PastApparent        float64
	conductance, perVolt, apparently float64 // [W/V²], [A/V] of one rod, [VA/V²] at the state
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
	Need
	now         float64 // [W] at the stage being solved, or at the state
	start       float64 // [W] at the state, as its rates have it
	mean, slope float64 // [W]
	misplaced   float64 // [J]
	rates       rates   // the state's, moved to the power that the step begins with
}

func newMeter(m *Meter, cells int, boils bool) meter {
	never := math.NaN()
	k := meter{Meter: m, Need: Need{PastVoltage: never, PastPower: never, PastCurrent: never, PastApparent: never}}
	if m != nil {
		k.rates = newRates(cells, boils)
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
func (m *meter) drive(n *State) {
	n.Voltage, n.Limit = 0, physics.Off
	if m.now > 0 {
		n.Limit = physics.Metered
		if v := math.Sqrt(m.now / n.Power); !math.IsInf(v, 0) && !math.IsNaN(v) {
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
	m.stage(0)
	r.predictPower(r.state)
	r.jump(r.first, r.scratch, r.power)
	r.state.Voltage, r.state.Limit = voltage, limit
}

// meterMisplaced adds what the line has misplaced to the residual of the error
// estimate, where the electrodes put their heat.
func (r *run) meterMisplaced() {
	m := &r.meter
	if m.Meter == nil || m.misplaced == 0 {
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
	before := m.Need
	m.conductance, m.perVolt, m.apparently = n.Power, r.rodCurrent(n), r.apparent(n)
	if r.off() {
		return nil
	}
	watts, at := m.Peak(n.Time-dt, n.Time)
	if watts <= 0 {
		return nil
	}
	u := 1.0
	if dt > 0 {
		u = (at - n.Time + dt) / dt
	}
	line := func(a, b float64) float64 { return a + u*(b-a) }
	v := math.Sqrt(watts / line(before.conductance, m.conductance))
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return fmt.Errorf("t = %.6g d: no voltage brings the metered %.4g W into ground that takes %.3g W per volt squared", n.Time/86400, watts, n.Power)
	}
	if v > m.Voltage {
		m.Voltage, m.VoltageAt = v, at
	}
	past := func(first *float64, value, limit float64) {
		if math.IsNaN(*first) && value > limit*(1+1e-9) {
			*first = at
		}
	}
	s := &r.setting
	past(&m.PastVoltage, v, s.Voltage)
	past(&m.PastPower, watts, s.PowerLimit)
	past(&m.PastCurrent, v*line(before.perVolt, m.perVolt), s.CurrentLimit)
	if s.ApparentLimit > 0 {
		past(&m.PastApparent, v*v*line(before.apparently, m.apparently), s.ApparentLimit)
	}
	return nil
}
