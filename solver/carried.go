package solver

import (
	"errors"
	"fmt"

	"soiljoule/solver/linear"
)

// Heat that water carries makes the stage's matrix unsymmetric: to V/(h dT/de) and the
// conductances comes N, the derivative of what water takes from each cell. Newton's
// method stays, with N exact but for the water's heat capacity, and each of its linear
// systems is solved by GMRES, preconditioned with the cycle for the symmetric part. A
// wave k has the ratio of the two parts
//
//	v k / (1/h + α k²) ≤ κ = v √(h/α)/2,  v = q ρ_w c_w/C the speed of a heat front
//
// at k = 1/√(αh). An iteration leaves κ/(1 + √(1 + κ²)) of the residual: 0.05 where a
// slow flow has a κ of 0.1, 0.9 where a fast one in long steps has 10. Solves with the
// symmetric part alone, with N on the right side, would leave κ and diverge from 1 on.

// carriedDepth is the number of iterations after which GMRES restarts: it keeps one field for
// each, in a run in which water carries heat.
const carriedDepth = 20

// mostCarried is the largest number of iterations of a solve. Where they run out the step is
// refused and a shorter one tried, for which κ is smaller.
const mostCarried = 400

// forRound returns the share [-] of its residual down to which the linear system of a round of
// Newton's method is solved. Where water carries heat an iteration costs more than another
// round: with 1e-2 runs at 0.05 to 5 ft/d take 15 to 20 % less time than with 1e-4.
func (r *run) forRound() float64 {
	if r.rising != nil || r.heat.Moves() {
		return 1e-2
	}
	return 1e-4
}

// unsymmetricStep is heatStep where water carries heat or steam does.
func (r *run) unsymmetricStep(tolerance float64, lifting bool) error {
	b := r.residual
	if r.rising != nil {
		r.rising.lifting = lifting
		if lifting {
			b = r.liftedResidual()
		}
	}
	set := r.heatSettings(tolerance)
	set.MaxIterations = mostCarried
	st, err := r.gmres.SolveTo(r.delta, r.heatSystem, b, set)
	r.stats.HeatIterations += st.Iterations
	if errors.Is(err, linear.ErrNoConvergence) {
		r.stats.RefusedHeat++
		return fmt.Errorf("%w: heat carried by water or steam: %w", errRefused, err)
	}
	return err
}

// unsymmetric adds N x to dst, at the temperatures of the stage, where the symmetric
// part's product is already.
func (r *run) unsymmetric(dst, x []float64) {
	r.loop.dst, r.loop.x = dst, x
	if r.heat.Moves() {
		r.rows(r.do.carried)
	}
	if r.rising != nil && r.rising.lifting {
		r.lift(dst)
		r.rows(r.do.liftMatrix)
	}
}

func (r *run) carriedLoop(k0, k1 int) { r.carriedRows(r.loop.dst, r.loop.x, k0, k1) }

// carriedRows adds what water carries to rows of dst.
func (r *run) carriedRows(dst, x []float64, k0, k1 int) {
	r.heat.CarriedRows(dst, r.next.T, x, k0, k1)
}

// bringRows adds to the residual what water brings more to boiling cells where the
// others change by delta.
func (r *run) bringRows(k0, k1 int) {
	n, row := r.grid.NX, r.scratch
	clear(row[k0*n : k1*n])
	r.carriedRows(row, r.delta, k0, k1)
	for c := k0 * n; c < k1*n; c++ {
		if r.heatSystem.Held[c] {
			r.residual[c] -= row[c]
		}
	}
}
