package solver

import "math"

// CoolTo are the temperatures [K] to which the first target is followed down, 40 and
// 30 °C.
var CoolTo = [2]float64{313.15, 303.15}

// Cooling is how the first target cools once the supply is off for good. It is all that
// a run remembers of that.
type Cooling struct {
	At float64 // [s] when the supply went off for good; NaN: not yet
	// Since At, until the mean and the hottest cell were at or below CoolTo, from when on
	// they stayed there [s]; NaN: not yet. Between the ends of a step a line is taken.
	Mean, Hottest [2]float64

	Time, LastMean, LastHottest float64 // [s], [K] of the last step followed
}

// newCooling returns the cooling of a supply that has not gone off.
func newCooling() Cooling {
	never := math.NaN()
	return Cooling{At: never, Mean: [2]float64{never, never}, Hottest: [2]float64{never, never}}
}

// Off says whether the supply is off for good.
func (c *Cooling) Off() bool { return !math.IsNaN(c.At) }

// follow takes the target's mean and hottest cell [K] at time t [s].
func (c *Cooling) follow(t, mean, hottest float64) {
	for i, limit := range CoolTo {
		c.note(&c.Mean[i], t, c.LastMean, mean, limit)
		c.note(&c.Hottest[i], t, c.LastHottest, hottest, limit)
	}
	c.Time, c.LastMean, c.LastHottest = t, mean, hottest
}

// note sets after, a time since At [s], by a temperature [K] that was before at Time and is now
// at t [s], and by the limit that it is to stay below.
func (c *Cooling) note(after *float64, t, before, now, limit float64) {
	switch {
	case !c.Off() || now > limit:
		*after = math.NaN()
	case math.IsNaN(*after):
		*after = math.Max(0, between(c.Time, t, before, now, limit)-c.At)
	}
}

// late is the longest time [s] by which a step may end after the supply was due to go off;
// after lateTries tries it ends where it does.
const (
	late      = 60
	lateTries = 8
)

// offEvent is the search for the end of the hold within the step being tried.
type offEvent struct {
	next  float64 // [s] the length to try; 0: none is sought
	tries int
}

// offDue returns when the supply goes off for good as far as that is known [s]; +Inf: it
// is not, or it has.
func (r *run) offDue() float64 {
	p, due := r.problem, math.Inf(1)
	if r.cooling.Off() {
		return due
	}
	if p.OffAt > 0 {
		due = p.OffAt
	}
	if p.OffWhenHeld && len(r.targets) > 0 {
		if k := r.targets[0]; !math.IsNaN(k.since) {
			due = math.Min(due, k.since+k.target.Hold)
		}
	}
	return due
}

// toOff returns the length of the next try [s]: that proposed, or less where the end of
// the hold is sought.
func (r *run) toOff(proposed float64) float64 {
	if e := &r.offEvent; e.next > 0 && e.next < proposed {
		r.control.tried = e.next
		return e.next
	}
	return proposed
}

// passesOff says whether the step tried must be tried again, shorter: the target's share
// is reached in it, and the hold is over in it too. A hold that ends in a later step is
// one of that step's stops.
func (r *run) passesOff(dt float64) bool {
	if !r.problem.OffWhenHeld || r.cooling.Off() || len(r.targets) == 0 || !math.IsNaN(r.targets[0].since) {
		return false
	}
	k, e := r.targets[0], &r.offEvent
	since, ok := k.wouldHaveSince(r.state, r.next)
	if due := since + k.target.Hold; ok && due < r.next.Time-late && e.tries < lateTries {
		e.tries++
		e.next = math.Max(shortest, due-r.state.Time+late/2)
		return e.next < dt
	}
	return false
}

// goOff switches the supply off for good where that is due.
func (r *run) goOff() error {
	r.offEvent = offEvent{}
	if r.state.Time < r.offDue() {
		return nil
	}
	return r.switchBy(func() { r.cooling.At = r.state.Time })
}
