package solver

import (
	"fmt"
	"math"
)

// Thermostat switches the supply off above Setpoint + Deadband, and on again below
// Setpoint − Deadband. It starts on, unless the temperature it follows is above the
// upper threshold already.
type Thermostat struct {
	Setpoint, Deadband float64 // [K]
	// Follow returns the temperature [K] that is followed. It is continuous in the
	// state's T, and allocates nothing.
	Follow func(*State) float64
}

// Switching is what the switching of the supply has come to.
type Switching struct {
	Switches int     // of the thermostat, either way
	OnTime   float64 // [s] for which the supply was on: planned, no outage, thermostat on, a meter not at 0
	Reached  float64 // [s] when the followed temperature first reached the setpoint; NaN: not yet
}

// MostSwitches is how many times a thermostat may switch in a run. Each takes some ten
// steps, and each step a row of every table that a recorder keeps.
const MostSwitches = 10000

// missed is by how much a step may end beyond a threshold [K].
const missed = 0.01

// thermostat is the run's. Its thresholds are events: a step that ends beyond one by
// more than missed is tried again, shortened by the secant between what lies before the
// threshold and what lies beyond, until it does not.
type thermostat struct {
	*Thermostat
	Switching
	off      bool
	followed float64 // [K] at the state

	// The lengths of step [s] between which the threshold is met, and by how much the
	// ends lie beyond it [K]; to.dt = 0: it is not sought.
	from, to attempt
	next     float64 // [s] the length to try
	tries    int
}

// attempt is a length of step and by how much its end lies beyond a threshold.
type attempt struct{ dt, beyond float64 }

// newControls makes thermostat and meter ready.
func (r *run) newControls() {
	r.thermostat = thermostat{Thermostat: r.problem.Thermostat, Switching: Switching{Reached: math.NaN()}}
	if r.charge != nil {
		r.meter = newMeter(r.problem.Meter, r.problem)
	}
}

// beginControl puts both at the start of the run.
func (r *run) beginControl() {
	r.meter.begin()
	h := &r.thermostat
	if h.Thermostat == nil {
		return
	}
	h.followed = h.Follow(r.state)
	h.off = h.followed > h.Setpoint+h.Deadband
	if h.followed >= h.Setpoint {
		h.Reached = 0
	}
}

// beyond returns by how much a followed temperature lies beyond the threshold at which
// the thermostat switches next [K].
func (h *thermostat) beyond(followed float64) float64 {
	if h.off {
		return h.Setpoint - h.Deadband - followed
	}
	return followed - h.Setpoint - h.Deadband
}

// toCrossing returns the length of the next try [s]: that proposed, or less where a
// threshold is sought.
func (r *run) toCrossing(proposed float64) float64 {
	if h := &r.thermostat; h.to.dt > 0 && h.next < proposed {
		r.control.tried = h.next
		return h.next
	}
	return proposed
}

// passes says whether the step tried must be tried again, shorter, as it ends too far
// beyond a threshold of the thermostat.
func (r *run) passes(dt float64) bool {
	h := &r.thermostat
	if h.Thermostat == nil || r.cooling.Off() {
		return false
	}
	end := attempt{dt, h.beyond(h.Follow(r.next))}
	switch {
	case end.beyond > missed:
		if h.to.dt == 0 || dt <= h.from.dt {
			h.from = attempt{0, h.beyond(h.followed)}
		}
		h.to = end
	case end.beyond < 0 && h.to.dt > 0 && dt == h.next:
		h.from = end
	default:
		return false
	}
	h.tries++
	width := h.to.dt - h.from.dt
	// What a try finds may jump where it is one potential longer: then no length meets
	// the threshold, and the ends are as near as times are told apart.
	if width <= shortest || width <= 1e-12*r.state.Time {
		return false
	}
	share := (missed/2 - h.from.beyond) / (h.to.beyond - h.from.beyond)
	if h.tries > 6 {
		share = 0.5
	}
	h.next = h.from.dt + width*math.Min(math.Max(share, 0.02), 0.98)
	return true
}

// controlled follows the step just taken, of dt [s], and switches the thermostat where
// it ended at a threshold.
func (r *run) controlled(dt float64) error {
	if r.charge != nil && !r.off() && !r.meter.idle() {
		r.thermostat.OnTime += dt
	}
	if err := r.meterNeeds(dt); err != nil {
		return err
	}
	h := &r.thermostat
	if h.Thermostat == nil || r.cooling.Off() {
		return nil
	}
	before, now := h.followed, h.Follow(r.state)
	if math.IsNaN(h.Reached) && now >= h.Setpoint {
		h.Reached = between(r.state.Time-dt, r.state.Time, before, now, h.Setpoint)
	}
	h.followed = now
	h.from, h.to, h.tries = attempt{}, attempt{}, 0
	if h.beyond(now) < 0 {
		return nil
	}
	if h.Switches++; h.Switches > MostSwitches {
		return fmt.Errorf("the thermostat has switched %d times by t = %.6g d: widen its deadband of %.3g K, or follow what warms more slowly", MostSwitches, r.state.Time/86400, h.Deadband)
	}
	if r.charge != nil && h.off && r.charge.feed == nil { // else switchBy solves
		// The ground has cooled since the potential was last of use.
		if err := r.solvePotential(r.state); err != nil {
			return err
		}
		r.charge.take()
		r.show(r.state)
	}
	return r.switchBy(func() { h.off = !h.off })
}
