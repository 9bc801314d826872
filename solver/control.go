package solver

import "math"

// control proposes the length of steps. It remembers the last error, which keeps
// a row of cells that begin to boil one after another from making it hunt.
// Source: Gustafsson, Lundh & Söderlind, BIT 28, 270 (1988); Hairer & Wanner
// (1996), Solving Ordinary Differential Equations II, §IV.2 (from memory).
type control struct {
	tolerance float64 // [K]
	fixed     float64 // [s] 0: adaptive
	dt        float64 // [s] next
	longest   float64
	last      float64 // error of the last accepted step over the tolerance
	refused   bool    // the last try was
	tried     float64
}

const (
	growthLimit = 1.3  // from step to step
	least       = 1e-2 // [-] error over the tolerance: a smaller one says nothing of the step's length and counts as this, so the next grows by growthLimit
	cutLimit    = 0.2  // a refused step is cut to no less than this
	shortest    = 1e-3 // [s]
	safety      = 0.85 // of the length that would meet the tolerance: common practice, no source

	// The longest step [s], a week: while the ground warms evenly the local error says little,
	// and what many long steps add up to shows in comparisons with closed forms. Under a set
	// power that changes it is a day, the commonest of its periods: each quarter of a longer
	// step may hold whole periods, and so show nothing of them. Neither depends on how long
	// the run is, so that a run that is made longer takes the same steps.
	longest         = 7 * 86400.0
	longestSetPower = 86400.0
)

func newControl(s Settings, longest float64) control {
	return control{tolerance: s.Tolerance, fixed: s.FixedStep, longest: longest}
}

// newControl returns the control of the run's steps, yet to be started.
func (r *run) newControl() control {
	if r.sources.varying != nil {
		return newControl(r.set, longestSetPower)
	}
	return newControl(r.set, longest)
}

// start sets the first step to warm the zone by half the tolerance, at rate [K/s].
func (k *control) start(rate float64) {
	k.dt = k.longest
	if rate > 0 {
		k.dt = math.Min(k.dt, 0.5*k.tolerance/rate)
	}
	k.last = 1
}

// restart is start after a jump of the rates, which never lengthens the step.
func (k *control) restart(rate float64) {
	dt := k.dt
	k.start(rate)
	k.dt = math.Min(dt, k.dt)
}

// propose returns the length of the next step from time t, which does not pass
// stop and leaves no sliver before it.
func (k *control) propose(t, stop float64) float64 {
	dt := k.dt
	if k.fixed > 0 {
		dt = k.fixed
	}
	left := stop - t
	switch {
	case left <= dt*(1+1e-9):
		dt = left
	case k.fixed == 0 && left < 2*dt:
		dt = left / 2
	}
	k.tried = dt
	return dt
}

// accept says whether a step with this error e stands, and sets the length of the next. With
// size e over the tolerance, last that of the step before, and a local error of third order,
//
//	next = 0.85 Δt size^(−0.7/3) last^(0.4/3)
//
// or after a refusal 0.85 Δt size^(−1/3). Source: the PI control of the type's docstring, with
// the exponents that Hairer & Wanner recommend.
func (k *control) accept(e norm) bool {
	if k.fixed > 0 {
		return true
	}
	size := math.Max(e.size()/k.tolerance, least)
	if !(size <= 1) {
		k.refused = true
		k.dt = k.tried * math.Max(cutLimit, safety*math.Pow(size, -1.0/3))
		if math.IsNaN(size) {
			k.dt = k.tried * cutLimit
		}
		return false
	}
	f := safety * math.Pow(size, -0.7/3) * math.Pow(k.last, 0.4/3)
	if k.refused {
		f = math.Min(f, 1)
	}
	// A step cut short by a stop says nothing against the longer one planned.
	next := k.tried * math.Min(growthLimit, math.Max(cutLimit, f))
	if k.tried < k.dt*(1-1e-9) && f >= 1 {
		next = math.Max(next, k.dt)
	}
	k.dt = math.Min(next, k.longest)
	k.last, k.refused = size, false
	return true
}

// shorten halves the step after one that could not be solved; false: no shorter.
func (k *control) shorten() bool {
	k.refused = true
	k.dt = k.tried / 2
	return !k.stuck()
}

func (k *control) stuck() bool { return k.dt < shortest }
