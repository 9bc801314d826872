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
	// Tolerance is the largest allowed norm of the residual, √(Σ w_c r_c²), in
	// the units that Weight gives it.
	Tolerance     float64
	Weight        []float64 // w by cell; nil: 1
	MaxIterations int
}

// Stats tells how a solve went.
type Stats struct {
	Iterations int
	Residual   float64 // the norm that Settings defines, at the end
}

// PCG solves systems of one size by conjugate gradients, preconditioned with a
// relaxed modified incomplete factorisation of the five-point matrix. It owns
// its workspace: a solve allocates nothing. The factor is kept until the next
// Factor, and serves nearby matrices too.
type PCG struct {
	inverse    []float64 // 1/d of the factorisation (D+L) D⁻¹ (D+Lᵀ)
	gx, gz     []float64 // its off-diagonals, zero beside held cells
	r, z, p, q []float64
	nx, nz     int
}

// NewPCG returns a solver for systems of nx by nz cells.
func NewPCG(nx, nz int) *PCG {
	n := nx * nz
	v := func() []float64 { return make([]float64, n) }
	return &PCG{inverse: v(), gx: v(), gz: v(), r: v(), z: v(), p: v(), q: v(), nx: nx, nz: nz}
}

// relaxation is the share of dropped fill that the factor adds to its diagonal.
// 1 keeps row sums and gives the best growth of iterations with cells, but is
// fragile beside held cells; a little less is robust.
// Source: Axelsson & Lindskog, Numer. Math. 48, 479 (1986) (from memory).
const relaxation = 0.97

// Factor computes the incomplete factor of s:
//
//	d_c = a_c − Σ_previous g (g + ω g′)/d,   g′ the previous cell's other later face
func (s *PCG) Factor(a *System) {
	nx, nz := a.NX, a.NZ
	if nx != s.nx || nz != s.nz {
		panic(fmt.Sprintf("linear: factor of %d × %d cells in a solver of %d × %d", nx, nz, s.nx, s.nz))
	}
	d := s.inverse // first the whole diagonal, then d, at last 1/d
	copy(d, a.Diag)
	for k := range nz {
		for i := range nx {
			c := k*nx + i
			s.gx[c], s.gz[c] = 0, 0
			if i < nx-1 {
				g := a.Across[k*(nx-1)+i]
				d[c] += g
				d[c+1] += g
				if !a.Held[c] && !a.Held[c+1] {
					s.gx[c] = g
				}
			}
			if k < nz-1 {
				g := a.Down[c]
				d[c] += g
				d[c+nx] += g
				if !a.Held[c] && !a.Held[c+nx] {
					s.gz[c] = g
				}
			}
		}
	}
	for _, b := range a.Blocks {
		for j, c := range b.Cells {
			d[c] += b.Y[j*len(b.Cells)+j]
		}
	}
	for c := range d {
		if a.Held[c] {
			d[c] = 0 // its inverse is 0 too, which keeps it 0 in every solve
			continue
		}
		full := d[c]
		if c%nx > 0 {
			w := c - 1
			d[c] -= s.gx[w] * (s.gx[w] + relaxation*s.gz[w]) * d[w]
		}
		if c >= nx {
			n := c - nx
			d[c] -= s.gz[n] * (s.gz[n] + relaxation*s.gx[n]) * d[n]
		}
		if d[c] < 1e-3*full { // lost to rounding or to a block's off-diagonals
			d[c] = full
		}
		d[c] = 1 / d[c]
	}
}

// precondition sets z = M⁻¹ r and returns r·z.
func (s *PCG) precondition() float64 {
	nx := s.nx
	r, z := s.r, s.z
	for c := range z {
		sum := r[c]
		if c > 0 {
			sum += s.gx[c-1] * z[c-1] // gx is 0 at the end of a row
		}
		if c >= nx {
			sum += s.gz[c-nx] * z[c-nx]
		}
		z[c] = sum * s.inverse[c]
	}
	dot := 0.0
	for c := len(z) - 1; c >= 0; c-- {
		sum := s.gx[c] * at(z, c+1)
		sum += s.gz[c] * at(z, c+nx)
		z[c] += sum * s.inverse[c]
		dot += r[c] * z[c]
	}
	return dot
}

func at(v []float64, c int) float64 {
	if c < len(v) {
		return v[c]
	}
	return 0
}

// SolveTo improves x, an estimate of the solution of A x = b on the free cells
// of a, until the residual's norm is within the tolerance; x is untouched on
// held cells, whose values enter the residual as given. Factor must have been
// called for a or for a matrix near it with the same held cells.
func (s *PCG) SolveTo(x []float64, a *System, b []float64, set Settings) (Stats, error) {
	a.ResidualTo(s.r, b, x)
	norm := s.norm(set.Weight)
	st := Stats{Residual: norm}
	if norm <= set.Tolerance {
		return st, nil
	}
	rz := s.precondition()
	copy(s.p, s.z)
	for st.Iterations < set.MaxIterations {
		a.ApplyTo(s.q, s.p)
		pq := 0.0
		for c, held := range a.Held {
			if held {
				s.q[c] = 0
			}
			pq += s.p[c] * s.q[c]
		}
		if !(pq > 0) { // rounding at the end, or NaN from the caller
			break
		}
		alpha := rz / pq
		for c := range x {
			x[c] += alpha * s.p[c]
			s.r[c] -= alpha * s.q[c]
		}
		st.Iterations++
		if st.Residual = s.norm(set.Weight); st.Residual <= set.Tolerance {
			return st, nil
		}
		next := s.precondition()
		beta := next / rz
		rz = next
		for c := range s.p {
			s.p[c] = s.z[c] + beta*s.p[c]
		}
	}
	return st, fmt.Errorf("%w in %d iterations: residual %.3g, want %.3g", ErrNoConvergence, st.Iterations, st.Residual, set.Tolerance)
}

func (s *PCG) norm(w []float64) float64 {
	sum := 0.0
	if w == nil {
		for _, r := range s.r {
			sum += r * r
		}
	} else {
		for c, r := range s.r {
			sum += w[c] * r * r
		}
	}
	return math.Sqrt(sum)
}
