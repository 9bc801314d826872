package linear

import (
	"fmt"
	"math"
)

// GMRES solves (A + N) x = b, A a symmetric System without blocks and N what makes it
// unsymmetric, as heat that water carries: the generalised method of minimal residuals,
// each direction preconditioned by the Multigrid cycle for A. Where N is skew and A⁻¹N
// has eigenvalues up to ±iκ, an iteration leaves some κ/(1 + √(1 + κ²)) of the residual.
// A solve allocates nothing, and does not depend on the number of workers.
// Source: Saad & Schultz, SIAM J. Sci. Stat. Comput. 7, 856 (1986); the rate of
// Concus, Golub & Widlund for a skew part (both from memory).
type GMRES struct {
	pcg  *PCG
	more func(dst, x []float64)

	basis        [][]float64 // orthonormal in Σ u_c v_c/over_c
	upper        [][]float64 // the triangular matrix, by column
	cos, sin, to []float64

	system     *System
	x, b, over []float64
	u, v       []float64 // what a loop over rows works on
	factor     float64
	doProduct, doResidual, doApply, doAxpy,
	doDot, doScale, doAdd func(from, to int)
}

// NewGMRES returns a solver that uses the fields and the team of p, and begins anew
// every depth iterations. more adds N x to dst, where A x is already.
func NewGMRES(p *PCG, depth int, more func(dst, x []float64)) *GMRES {
	s := &GMRES{pcg: p, more: more}
	for j := range depth + 1 {
		s.basis = append(s.basis, make([]float64, p.nx*p.nz))
		s.upper = append(s.upper, make([]float64, j+1))
	}
	s.cos, s.sin, s.to = make([]float64, depth), make([]float64, depth), make([]float64, depth+1)
	s.doProduct, s.doResidual, s.doApply, s.doAxpy, s.doDot, s.doScale, s.doAdd =
		s.productRows, s.residualRows, s.applyRows, s.axpyRows, s.dotRows, s.scaleRows, s.addRows
	return s
}

// SolveTo does what PCG's does, for A + N: x is 0 on held cells, and Factor of the PCG
// must have been called for a or for a matrix near it with the same held cells.
func (s *GMRES) SolveTo(x []float64, a *System, b []float64, set Settings) (Stats, error) {
	p := s.pcg
	s.system, s.x, s.b, s.over = a, x, b, set.Over
	var st Stats
	for {
		s.v = s.basis[0]
		p.rows(s.doProduct)
		s.more(s.v, s.x)
		p.rows(s.doResidual)
		a.mask(s.v)
		st.Residual = s.norm(s.v)
		if !(st.Residual > set.Tolerance) { // NaN, from the caller, too
			return st, nil
		}
		if st.Iterations >= set.MaxIterations {
			return st, fmt.Errorf("%w in %d iterations: residual %.3g, want %.3g", ErrNoConvergence, st.Iterations, st.Residual, set.Tolerance)
		}
		s.scale(s.basis[0], 1/st.Residual)
		s.to[0] = st.Residual
		n := 0
		for n < len(s.cos) && st.Iterations < set.MaxIterations && math.Abs(s.to[n]) > set.Tolerance {
			if !s.extend(n) {
				break
			}
			n++
			st.Iterations++
		}
		if n == 0 { // the cycle gives nothing new
			return st, fmt.Errorf("%w in %d iterations: residual %.3g, want %.3g", ErrNoConvergence, st.Iterations, st.Residual, set.Tolerance)
		}
		s.take(n)
	}
}

// extend makes the direction of number n, and the residual that it leaves, to[n+1].
// false: it lies in those there are.
func (s *GMRES) extend(n int) bool {
	p := s.pcg
	copy(p.r, s.basis[n])
	p.multigrid.Cycle()
	s.v = s.basis[n+1]
	p.rows(s.doApply)
	s.more(s.v, p.z)
	s.system.mask(s.v)
	before := s.norm(s.v)
	h := s.upper[n]
	for i := range n + 1 {
		s.u = s.basis[i]
		p.rows(s.doDot)
		h[i] = p.total()
		s.factor = -h[i]
		p.rows(s.doAxpy)
	}
	left := s.norm(s.v)
	for i := range n {
		h[i], h[i+1] = s.cos[i]*h[i]+s.sin[i]*h[i+1], s.cos[i]*h[i+1]-s.sin[i]*h[i]
	}
	r := math.Hypot(h[n], left)
	if !(r > 1e-14*before) {
		return false
	}
	s.cos[n], s.sin[n] = h[n]/r, left/r
	h[n] = r
	s.to[n], s.to[n+1] = s.cos[n]*s.to[n], -s.sin[n]*s.to[n]
	if left > 0 {
		s.scale(s.v, 1/left)
	}
	return true
}

// take adds to x what is best of the first n directions.
func (s *GMRES) take(n int) {
	p := s.pcg
	for j := n - 1; j >= 0; j-- {
		for i := j + 1; i < n; i++ {
			s.to[j] -= s.upper[i][j] * s.to[i]
		}
		s.to[j] /= s.upper[j][j]
	}
	clear(p.r)
	s.v = p.r
	for j := range n {
		s.u, s.factor = s.basis[j], s.to[j]
		p.rows(s.doAxpy)
	}
	p.multigrid.Cycle()
	p.rows(s.doAdd)
}

func (s *GMRES) norm(v []float64) float64 {
	s.u, s.v = v, v
	s.pcg.rows(s.doDot)
	return math.Sqrt(s.pcg.total())
}

func (s *GMRES) scale(v []float64, factor float64) {
	s.v, s.factor = v, factor
	s.pcg.rows(s.doScale)
}

// productRows sets v = A x.
func (s *GMRES) productRows(from, to int) { s.system.applyRows(s.v, s.x, nil, from, to) }

// residualRows sets v = b − v, held cells apart.
func (s *GMRES) residualRows(from, to int) {
	p := s.pcg
	for k := from; k < to; k++ {
		v, b := p.row(s.v, k), p.row(s.b, k)
		for i := range v {
			v[i] = b[i] - v[i]
		}
	}
}

// applyRows sets v = A z, z what the cycle gave.
func (s *GMRES) applyRows(from, to int) { s.system.applyRows(s.v, s.pcg.z, nil, from, to) }

// dotRows sets sum to u·v.
func (s *GMRES) dotRows(from, to int) {
	p := s.pcg
	for k := from; k < to; k++ {
		u, v := p.row(s.u, k), p.row(s.v, k)
		t := 0.0
		if s.over != nil {
			over := p.row(s.over, k)
			for i := range v {
				t += u[i] * v[i] / over[i]
			}
		} else {
			for i := range v {
				t += u[i] * v[i]
			}
		}
		p.sum[k] = t
	}
}

// axpyRows adds to v the factor times u.
func (s *GMRES) axpyRows(from, to int) {
	p, f := s.pcg, s.factor
	for k := from; k < to; k++ {
		u, v := p.row(s.u, k), p.row(s.v, k)
		for i := range v {
			v[i] += f * u[i]
		}
	}
}

// scaleRows multiplies v by the factor.
func (s *GMRES) scaleRows(from, to int) {
	p, f := s.pcg, s.factor
	for k := from; k < to; k++ {
		v := p.row(s.v, k)
		for i := range v {
			v[i] *= f
		}
	}
}

// addRows adds z to x.
func (s *GMRES) addRows(from, to int) {
	p := s.pcg
	for k := from; k < to; k++ {
		x, z := p.row(s.x, k), p.row(p.z, k)
		for i := range x {
			x[i] += z[i]
		}
	}
}
