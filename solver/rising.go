package solver

import "soiljoule/physics"

// Steam that rises is part of a stage's heat: what a boiling cell gets goes up as steam
// to the first cell above that takes it. In each round of Newton's method the columns are
// swept from below, and so is what the round adds: with L the derivative of the sweep,
// the heat q that boiling cells get more comes to others as L q. The system for those is
//
//	(A − L G) δT = r + L r_b
//
// A that without steam, r the residual, r_b that of boiling cells, G δT what flows to
// them where the others' temperatures change. It is not symmetric, and solved by GMRES.
type rising struct {
	*physics.Ascent
	lifted  []float64 // [W] by cell, of a sweep
	right   []float64 // [W] r + L r_b
	net     []float64 // [kg/m³] steam that leaves each cell less what comes to it, in the step
	lifting bool      // the system being solved has steam in it
}

func newRising(g *physics.Ground) *rising {
	v := func() []float64 { return make([]float64, g.Grid.Cells()) }
	return &rising{Ascent: g.NewAscent(), lifted: v(), right: v(), net: v()}
}

// columnsOf shares a loop over the grid's columns among the team, where steam lets it.
func (r *run) columnsOf(do func(i0, i1 int)) {
	if r.rising.Barred() {
		do(0, r.grid.NX)
		return
	}
	r.team.Rows(r.grid.NX, r.grid.NZ, 8, do)
}

// rise is respond where steam rises.
func (r *run) rise() { r.columnsOf(r.do.rise) }

func (r *run) riseColumns(i0, i1 int) {
	r.ground.Rise(r.rising.Ascent, r.responses(), r.next.E, r.wStar, r.loop.h, i0, i1)
}

// lift sets lifted to what the sweep brings to cells below their boiling point of q [W].
func (r *run) lift(q []float64) {
	r.loop.x = q
	r.columnsOf(r.do.lift)
}

func (r *run) liftColumns(i0, i1 int) {
	r.ground.Lift(r.rising.Ascent, r.rising.lifted, r.loop.x, r.next.T, i0, i1)
}

// liftedResidual returns r + L r_b.
func (r *run) liftedResidual() []float64 {
	r.lift(r.residual)
	for c, q := range r.residual {
		r.rising.right[c] = q + r.rising.lifted[c]
	}
	return r.rising.right
}

// lower takes from the e of cells below their boiling point what steam brings them more
// after a round: their temperatures have it already.
func (r *run) lower() {
	r.lift(r.residual)
	r.rows(r.do.lower)
}

// lowerRows is lower for some rows.
func (r *run) lowerRows(k0, k1 int) {
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		if !r.heatSystem.Held[c] {
			r.next.E[c] -= r.loop.h / r.volume[c] * r.rising.lifted[c]
		}
	}
}

// liftMatrixRows adds to dst what steam takes away by its sweep: dst of a boiling cell,
// whose own change is none, is less what flows to it.
func (r *run) liftMatrixRows(k0, k1 int) {
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		if !r.heatSystem.Held[c] {
			r.loop.dst[c] += r.rising.lifted[c]
		}
	}
}

// moment is how long the rates of steam are looked at where the heat jumps [s]: short
// against any step, long against rounding.
const moment = 1

// momentOf sets the steam of rates at the state to what follows from their heat.
func (r *run) momentOf(f *rates) {
	if len(r.drowned) == 0 {
		r.keepOut()
		defer func() { r.letIn(); r.drowned = r.drowned[:0] }()
	}
	copy(r.next.T, r.state.T)
	copy(r.wStar, r.state.W)
	for c, q := range f.heat {
		r.next.E[c] = r.state.E[c] + moment*q
	}
	h := r.loop.h
	r.loop.rates, r.loop.h = f, moment
	r.respond()
	f.boiling = r.boilingAt(f, moment)
	r.rows(r.do.sum)
	r.loop.h = h
	r.dropOver(f, r.next.T, moment)
}
