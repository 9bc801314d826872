package solver

import "fmt"

// estimate returns the local error of the step in kelvin: the difference to the
// third-order formula, of the heat that came in (a boiling cell's T shows none),
// filtered by the stage's own matrix: the difference alone grows with a part's stiffness, though
// the method has damped it there. Source: Hosea & Shampine, as step.go (from memory).
func (r *run) estimate() (norm, error) {
	r.rows(r.do.mistake)
	for c, q := range r.sources.misplaced {
		r.residual[c] += q / r.loop.h
	}
	r.meterMisplaced()
	if err := r.heatStep(1e-3*r.set.Tolerance, false); err != nil {
		return norm{}, fmt.Errorf("error estimate: %w", err)
	}
	r.rows(r.do.shown)
	return r.watched(r.delta), nil
}

// mistakeRows sets residual to the difference of the two formulas in the heat that came in, over
// the stage's length [W].
func (r *run) mistakeRows(k0, k1 int) {
	h, dt := r.loop.h, r.loop.dt
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		r.residual[c] = r.volume[c] * (r.mistake[c] + dt*est2*r.rate2.heat[c]) / h
	}
}

// shownRows sets delta of boiling cells to their error as it would warm them.
func (r *run) shownRows(k0, k1 int) {
	h := r.loop.h
	for k := k0; k < k1; k++ {
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for c := run.From; c < run.To; c++ {
				if r.heatSystem.Held[c] {
					r.delta[c] = r.residual[c] * h / (r.volume[c] * capacity)
				}
			}
		}
	}
}
