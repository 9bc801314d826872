package solver

import (
	"math"

	"soiljoule/physics"
)

// Load is what the electrodes take at a moment.
type Load struct {
	Power    float64 // [W] of all
	Current  float64 // [A] the largest of one rod
	Apparent float64 // [VA] of all, physics.ApparentPower

	// Line is the largest current of a phase [A], all its bodies together, LineOf its first body
	// (-1: there is none): physics.LineCurrent.
	Line   float64
	LineOf int
}

// load returns the load of a state.
func (r *run) load(n *State) Load {
	v := n.Voltage
	line, of := physics.LineCurrent(r.charge.law.Bodies, n.Current)
	return Load{n.Power * v * v, r.rodCurrent(n) * v, r.apparent(n) * v * v, line * v, of}
}

// off says whether the supply is switched off, by whatever.
func (r *run) off() bool {
	return r.cooling.Off() || !r.setting.On || r.setting.Outage || r.thermostat.off
}

// decided sets the state's voltage where it is not for limits to say: 0 where the
// supply is off, and what a meter asks for. on means planned, no outage, and not
// switched off by the thermostat.
func (r *run) decided(n *State) bool {
	switch {
	case r.cooling.Off() || !r.setting.On:
		n.Voltage, n.Limit = 0, physics.Off
	case r.setting.Outage:
		n.Voltage, n.Limit = 0, physics.Outage
	case r.thermostat.off:
		n.Voltage, n.Limit = 0, physics.Setpoint
	case r.meter.Meter != nil:
		r.meter.drive(n)
	default:
		return false
	}
	return true
}

// apparentWithin lowers the state's voltage to what the limit of apparent power allows.
func (r *run) apparentWithin(n *State) {
	most := r.setting.ApparentLimit
	if !(most > 0) {
		return
	}
	if s := r.apparent(n); s*n.Voltage*n.Voltage > most {
		n.Voltage, n.Limit = math.Sqrt(most/s), physics.ApparentLimit
	}
}

// apparent returns the apparent power of all bodies per volt squared [VA/V²].
func (r *run) apparent(n *State) float64 {
	return physics.ApparentPower(r.charge.law.Bodies, n.Potential, n.Current)
}
