package solver

import (
	"math"
	"sort"
)

// beginPressure sets what pressure decides to what holds at time t [s], at which a step
// begins.
func (r *run) beginPressure(t float64) {
	r.ground.Begin(t)
	if r.columns != nil {
		r.columns.Begin(t)
	}
}

// nextTurn returns the next of the problem's turns [s]; +Inf: there is none.
func (r *run) nextTurn() float64 {
	turns := r.problem.Turns
	if i := sort.Search(len(turns), func(i int) bool { return turns[i] > r.state.Time }); i < len(turns) {
		return turns[i]
	}
	return math.Inf(1)
}
