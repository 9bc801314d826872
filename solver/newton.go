package solver

import (
	"fmt"
	"math"

	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// When Newton's method ends: choices. What converges takes a few rounds.
const (
	mostShort  = 100 // [heatTolerance] that a single cell may be short of
	thinRounds = 6   // rounds after which it may be short of more: a very thin cell keeps the rounding of its fluxes
	mostRounds = 25  // rounds after which the step is refused
)

// solveHeat finds the stage's temperatures for the heat in r.power, by Newton's
// method on the heat e that each cell would hold if no steam left:
//
//	V (e − E*)/h = Σ G (T_n − T) + Q,   T = T(e) of Store.Respond
//
// A boiling cell has dT/de = 0: its T is held while the others' stay a symmetric
// system. Cells switch on e, never on T. e is kept in r.next.E.
func (r *run) solveHeat() error {
	if r.columns != nil {
		r.rows(r.do.outside)
	}
	r.loop.rates = &r.rate2
	for round := 0; ; round++ {
		r.respond()
		r.rows(r.do.residual)
		sum, most := r.totals()
		short := norm{math.Sqrt(sum / r.totalVolume), most}
		r.stats.Newton++
		if short.rms <= r.heatTolerance && (short.max <= mostShort*r.heatTolerance || round >= thinRounds) {
			return nil
		}
		if math.IsNaN(short.rms) || round == mostRounds {
			r.stats.RefusedHeat++
			return fmt.Errorf("%w: heat and boiling did not settle in %d rounds: %.3g K left", errRefused, round, short.rms)
		}
		if err := r.heatStep(math.Max(0.1*r.heatTolerance, r.forRound()*short.rms), r.rising != nil); err != nil {
			return fmt.Errorf("heat: %w", err)
		}
		r.rows(r.do.update)
		if r.rising != nil {
			r.lower()
		}
	}
}

// assemble sets the conductances of heat for water w.
func (r *run) assemble(w []float64) {
	r.ground.SaturationTo(r.scratch, w)
	r.rows(r.do.assemble)
	r.stiff = true
}

func (r *run) assembleRows(k0, k1 int) {
	b := <-r.buffers
	r.heat.AssembleRows(r.ground, r.scratch, b, k0, k1)
	r.buffers <- b
}

// heatStep sets delta to what the heat matrix gives for the residual, to within a
// tolerance [K]; lifting: what boiling cells get goes up as steam.
func (r *run) heatStep(tolerance float64, lifting bool) error {
	r.rows(r.do.linearise)
	changed, held := r.totals()
	r.held = held > 0
	if changed > 0 || r.stiff || r.pcg.Serves() != r.heatSystem {
		r.pcg.Factor(r.heatSystem)
		r.stiff = false
	}
	clear(r.delta)
	lifting = lifting && r.held
	if lifting || r.heat.Moves() {
		return r.unsymmetricStep(tolerance, lifting)
	}
	st, err := r.pcg.SolveTo(r.delta, r.heatSystem, r.residual, r.heatSettings(tolerance))
	r.stats.HeatIterations += st.Iterations
	return err
}

// heatSettings ends a solve within a tolerance [K]: a residual of r warms its cell by
// h r/(V C), over the volume an rms of no more than h √(Σ r²/V)/(least C · √volume).
func (r *run) heatSettings(tolerance float64) linear.Settings {
	return linear.Settings{Tolerance: tolerance * r.leastCapacity * math.Sqrt(r.totalVolume) / r.loop.h, Over: r.volume, MaxIterations: 5000}
}

// respond sets T, W and dT/de from e, and how much steam and inflow the stage has by then,
// per volume, in the arrays of r.loop.rates that close turns into rates.
func (r *run) respond() {
	if r.rising != nil {
		r.rise()
		return
	}
	r.rows(r.do.respond)
}

func (r *run) respondRows(k0, k1 int) {
	r.ground.RespondRows(r.responses(), r.next.E, r.wStar, r.loop.h, k0, k1)
}

func (r *run) responses() physics.Responses {
	n, f := r.next, r.loop.rates
	return physics.Responses{T: n.T, W: n.W, Steam: f.steam, Inflow: f.inflow, Over: r.over, Taken: f.vapour, Slope: r.slope}
}

// residualRows sets residual to the heat [W] by which each cell's equation is not met yet,
// and, by row, part to the sum of V ΔT² [m³·K²] and most to the largest ΔT [K], with ΔT what
// the residual would warm a cell by in the stage.
func (r *run) residualRows(k0, k1 int) {
	h := r.loop.h
	r.heat.NetRows(r.residual, r.next.T, k0, k1)
	for k := k0; k < k1; k++ {
		res, v, p := r.row(r.residual, k), r.row(r.volume, k), r.row(r.power, k)
		star, e := r.row(r.eStar, k), r.row(r.next.E, k)
		sum, most := 0.0, 0.0
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for i := run.From - k*r.grid.NX; i < run.To-k*r.grid.NX; i++ {
				res[i] += v[i]*(star[i]-e[i])/h + p[i]
				t := res[i] * h / (v[i] * capacity)
				sum += v[i] * t * t
				most = max(most, math.Abs(t))
			}
		}
		r.part[k], r.most[k] = sum, most
	}
}

// lineariseRows sets the diagonal and the held cells of the heat matrix from dT/de, and, by
// row, part to how many cells are held now and were not, or the other way round, or have a
// diagonal that has changed by more than 1 % (so little does not slow the solver, while
// setting it up anew costs some iterations), and most to 1 where a cell is held.
func (r *run) lineariseRows(k0, k1 int) {
	sys, h := r.heatSystem, r.loop.h
	diag := r.scratch
	r.heat.DiagonalRows(diag, k0, k1)
	for k := k0; k < k1; k++ {
		changed, some := 0, 0.0
		for c := k * r.grid.NX; c < (k+1)*r.grid.NX; c++ {
			s := r.slope[c]
			held := s == 0
			if held != sys.Held[c] {
				sys.Held[c] = held
				changed++
			}
			if held {
				some = 1
			}
			d := diag[c]
			if s > 0 {
				d += r.volume[c] / (s * h)
			}
			if math.Abs(d-sys.Diag[c]) > 0.01*d {
				changed++
			}
			sys.Diag[c] = d
		}
		r.part[k], r.most[k] = float64(changed), some
	}
}

// updateRows adds what delta means for e: delta over dT/de, or, in a boiling cell, whose T
// stays, its residual and what its neighbours' delta sends it.
func (r *run) updateRows(k0, k1 int) {
	sys, h := r.heatSystem, r.loop.h
	if r.heat.Moves() {
		r.bringRows(k0, k1)
	}
	for k := k0; k < k1; k++ {
		for c := k * r.grid.NX; c < (k+1)*r.grid.NX; c++ {
			if s := r.slope[c]; s > 0 {
				r.next.E[c] += r.delta[c] / s
			} else {
				r.residual[c] += sys.Inflow(c, r.delta)
				r.next.E[c] += h / r.volume[c] * r.residual[c]
			}
		}
	}
}
