package linear

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoConvergence is wrapped by SolveTo when the iterations run out.
var ErrNoConvergence = errors.New("no convergence")

// Settings says when a solve ends.
type Settings struct {
	// Tolerance is the largest allowed norm of the residual, √(Σ r_c²/Over_c).
	Tolerance     float64
	Over          []float64 // by cell, above 0; nil: 1
	MaxIterations int
}

// Stats tells how a solve went.
type Stats struct {
	Iterations int
	Residual   float64 // the norm that Settings defines, at the end
}

// PCG solves systems of one size by conjugate gradients, preconditioned with a
// Multigrid cycle. It owns its workspace: a solve allocates nothing. The hierarchy is
// kept until the next Factor, and serves nearby matrices too.
type PCG struct {
	multigrid  *Multigrid
	r, z, p, q []float64
	sum        []float64 // by row, so that sums do not depend on who made them
	nx, nz     int
	team       *Team
	serves     *System

	// What the loops over rows work on.
	system                             *System
	x, b, over                         []float64
	alpha, beta                        float64
	doResidual, doApply, doStep, doDot func(from, to int)
	doTurn, doNorm                     func(from, to int)
}

// NewPCG returns a solver for systems of nx by nz cells, which shares its loops among
// the team; nil: works alone.
func NewPCG(nx, nz int, team *Team) *PCG {
	n := nx * nz
	v := func() []float64 { return make([]float64, n) }
	s := &PCG{r: v(), z: v(), p: v(), q: v(), sum: make([]float64, nz), nx: nx, nz: nz, team: team}
	s.multigrid = NewMultigrid(nx, nz, s.z, s.r, team)
	s.doResidual, s.doApply, s.doStep, s.doDot, s.doTurn, s.doNorm =
		s.residualRows, s.applyRows, s.stepRows, s.dotRows, s.turnRows, s.normRows
	return s
}

// Factor sets the preconditioner up for a.
func (s *PCG) Factor(a *System) {
	if a.NX != s.nx || a.NZ != s.nz {
		panic(fmt.Sprintf("linear: %d × %d cells in a solver of %d × %d", a.NX, a.NZ, s.nx, s.nz))
	}
	s.multigrid.Factor(a)
	s.serves = a
}

// Workspace returns a field that solves overwrite, and that the caller may use between
// them.
func (s *PCG) Workspace() []float64 { return s.q }

// Serves returns the system that Factor was last called for, nil: none.
func (s *PCG) Serves() *System { return s.serves }

// SolveTo improves x, an estimate of the solution of A x = b on the free cells
// of a, until the residual's norm is within the tolerance; x is untouched on
// held cells, whose values enter the residual as given. Factor must have been
// called for a or for a matrix near it with the same held cells.
func (s *PCG) SolveTo(x []float64, a *System, b []float64, set Settings) (Stats, error) {
	st := Stats{Residual: s.Residual(x, a, b, set.Over)}
	if st.Residual <= set.Tolerance {
		return st, nil
	}
	s.beta = 0
	rz := s.precondition()
	clear(s.p)
	s.rows(s.doTurn)
	for st.Iterations < set.MaxIterations {
		s.rows(s.doApply)
		pq := s.total() + a.addBlocks(s.q, s.p, 1)
		a.mask(s.q)
		if !(pq > 0) { // rounding at the end, or NaN from the caller
			break
		}
		s.alpha = rz / pq
		s.rows(s.doStep)
		st.Iterations++
		if st.Residual = math.Sqrt(s.total()); st.Residual <= set.Tolerance {
			return st, nil
		}
		next := s.precondition()
		s.beta = next / rz
		rz = next
		s.rows(s.doTurn)
	}
	return st, fmt.Errorf("%w in %d iterations: residual %.3g, want %.3g", ErrNoConvergence, st.Iterations, st.Residual, set.Tolerance)
}

// Balance corrects x, after SolveTo of the same system, by a multiple of its free part
// and a constant on free cells, so that over those x·r and Σ r are 0 to rounding, r the
// residual: energy and flux then balance however far the solve went. For charge these
// say that the heat is Σ V·I and that the currents sum to 0.
func (s *PCG) Balance(x []float64) {
	a := s.system
	// Galerkin's condition for u = x and v = 1, both 0 in held cells: the projection of
	// the residual on A u, A v. p holds u, and A u and A v share q in turn.
	copy(s.p, x)
	a.mask(s.p)
	s.rows(s.doApply)
	uu := s.total() + a.addBlocks(s.q, s.p, 1)
	uv, vv, ur, vr := 0.0, 0.0, 0.0, 0.0
	for c, held := range a.Held {
		if !held {
			uv += s.q[c]
			ur += s.p[c] * s.r[c]
			vr += s.r[c]
			s.p[c] = 1
		}
	}
	s.rows(s.doApply)
	vv = s.total() + a.addBlocks(s.q, s.p, 1)
	// Where x is a constant, or nothing holds the ground, one of the two will do.
	f, g := 0.0, 0.0
	if det := uu*vv - uv*uv; det > 1e-12*uu*vv {
		f, g = (ur*vv-vr*uv)/det, (vr*uu-ur*uv)/det
	} else if uu > 0 {
		f = ur / uu
	}
	for c, held := range a.Held {
		if !held {
			x[c] += f*x[c] + g
		}
	}
}

// Residual returns the norm of b − A x on free cells, √(Σ r_c²/over_c); over nil: 1.
func (s *PCG) Residual(x []float64, a *System, b, over []float64) float64 {
	s.system, s.x, s.b, s.over = a, x, b, over
	s.rows(s.doResidual)
	a.addBlocks(s.r, x, -1)
	a.mask(s.r)
	s.rows(s.doNorm)
	return math.Sqrt(s.total())
}

func (s *PCG) rows(do func(from, to int)) { s.team.Rows(s.nz, s.nx, 1, do) }

// total returns the sum over the rows, in their order.
func (s *PCG) total() float64 {
	t := 0.0
	for _, v := range s.sum {
		t += v
	}
	return t
}

// precondition sets z = M⁻¹ r and returns r·z.
func (s *PCG) precondition() float64 {
	s.multigrid.Cycle()
	s.rows(s.doDot)
	return s.total()
}

func (s *PCG) row(v []float64, k int) []float64 { return v[k*s.nx : k*s.nx+s.nx] }

// residualRows sets r = b − A x, blocks and held cells apart.
func (s *PCG) residualRows(from, to int) {
	s.system.applyRows(s.r, s.x, nil, from, to)
	for k := from; k < to; k++ {
		r, b := s.row(s.r, k), s.row(s.b, k)
		for i := range r {
			r[i] = b[i] - r[i]
		}
	}
}

// applyRows sets q = A p and sum to p·q, blocks apart.
func (s *PCG) applyRows(from, to int) { s.system.applyRows(s.q, s.p, s.sum, from, to) }

// normRows sets sum to Σ r²/over.
func (s *PCG) normRows(from, to int) {
	for k := from; k < to; k++ {
		r := s.row(s.r, k)
		t := 0.0
		if s.over != nil {
			over := s.row(s.over, k)
			for i, v := range r {
				t += v * v / over[i]
			}
		} else {
			for _, v := range r {
				t += v * v
			}
		}
		s.sum[k] = t
	}
}

// stepRows goes along p, and sets sum for the norm.
func (s *PCG) stepRows(from, to int) {
	alpha := s.alpha
	for k := from; k < to; k++ {
		x, r, p, q := s.row(s.x, k), s.row(s.r, k), s.row(s.p, k), s.row(s.q, k)
		for i := range x {
			x[i] += alpha * p[i]
			r[i] -= alpha * q[i]
		}
	}
	s.normRows(from, to)
}

// dotRows sets sum to r·z.
func (s *PCG) dotRows(from, to int) {
	for k := from; k < to; k++ {
		r, z := s.row(s.r, k), s.row(s.z, k)
		t := 0.0
		for i, v := range r {
			t += v * z[i]
		}
		s.sum[k] = t
	}
}

// turnRows sets the next direction, p = z + β p.
func (s *PCG) turnRows(from, to int) {
	beta := s.beta
	for k := from; k < to; k++ {
		p, z := s.row(s.p, k), s.row(s.z, k)
		for i := range p {
			p[i] = z[i] + beta*p[i]
		}
	}
}
