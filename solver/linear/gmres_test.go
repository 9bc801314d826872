package linear

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// drift is what flows along the rows of a grid, from each cell what it holds times q.
type drift struct {
	nx int
	q  float64
}

func (d drift) add(dst, x []float64) {
	for k := range len(x) / d.nx {
		for c := k*d.nx + 1; c < (k+1)*d.nx; c++ {
			dst[c] -= d.q * x[c-1]
			dst[c-1] += d.q * x[c-1]
		}
	}
}

// TestUnsymmetricSolveMatchesDense: the answer is that of gonum's dense LU on the same
// matrix, whether or not GMRES must begin anew. The residual is 1e-10 of b's, magnified
// by the condition number, which gonum reports.
func TestUnsymmetricSolveMatchesDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, depth := range []int{3, 40} {
		for range 10 {
			const nx, nz = 7, 6
			s := NewSystem(nx, nz)
			for f := range s.Across {
				s.Across[f] = rng.Float64()
			}
			for f := range s.Down {
				s.Down[f] = rng.Float64()
			}
			for c := range s.Diag {
				s.Diag[c] = 0.1 + rng.Float64()
				s.Held[c] = rng.IntN(15) == 0
			}
			flow := drift{nx, 2 * rng.Float64()}
			n := nx * nz
			a := mat.NewDense(n, n, nil)
			b, e, column := make([]float64, n), make([]float64, n), make([]float64, n)
			for j := range n {
				if s.Held[j] {
					a.Set(j, j, 1)
					continue
				}
				b[j] = rng.NormFloat64()
				e[j] = 1
				s.ApplyTo(column, e)
				flow.add(column, e)
				s.mask(column)
				a.SetCol(j, column)
				e[j] = 0
			}
			var want mat.VecDense
			if err := want.SolveVec(a, mat.NewVecDense(n, b)); err != nil {
				t.Fatal(err)
			}
			p := NewPCG(nx, nz, nil)
			p.Factor(s)
			got := make([]float64, n)
			size := math.Sqrt(mat.Dot(mat.NewVecDense(n, b), mat.NewVecDense(n, b)))
			st, err := NewGMRES(p, depth, flow.add).SolveTo(got, s, b, Settings{Tolerance: 1e-10 * size, MaxIterations: 1000})
			if err != nil {
				t.Fatal(err)
			}
			tol := mat.Cond(a, 2) * 1e-10 * mat.Norm(&want, 2)
			for c, x := range got {
				if !(math.Abs(x-want.AtVec(c)) <= tol) {
					t.Errorf("depth %d: x[%d] = %.12g after %d iterations, want %.12g within %.2g", depth, c, x, st.Iterations, want.AtVec(c), tol)
				}
			}
		}
	}
}

// TestSkewRate: where what is not symmetric is skew, with eigenvalues up to ±iκ against
// the symmetric part, GMRES leaves κ/(1 + √(1 + κ²)) of the residual in an iteration and
// not more than 5 % above, which is what the cycle is not exact by.
// Source: Concus & Golub (1976), Widlund (1978), from memory.
func TestSkewRate(t *testing.T) {
	const nx = 400
	rng := rand.New(rand.NewPCG(7, 8))
	for _, kappa := range []float64{0.5, 2, 5} {
		// Central differences of q ∂/∂x against 1/h + α k²: the ratio is largest where
		// α k² is 1/h, and is q/2 there with both 1 on a grid of unit cells, to the
		// discrete sine's (kΔx)²/12.
		s := NewSystem(nx, 1)
		const long = 0.01 // 1/h: waves of 60 cells
		for f := range s.Across {
			s.Across[f] = 1
		}
		for c := range s.Diag {
			s.Diag[c] = long
		}
		q := 2 * kappa * math.Sqrt(long)
		skew := func(dst, x []float64) {
			for c := range nx {
				if c > 0 {
					dst[c] -= q / 2 * x[c-1]
				}
				if c < nx-1 {
					dst[c] += q / 2 * x[c+1]
				}
			}
		}
		b := make([]float64, nx)
		for c := range b {
			b[c] = rng.NormFloat64()
		}
		p := NewPCG(nx, 1, nil)
		p.Factor(s)
		x := make([]float64, nx)
		g := NewGMRES(p, 200, skew)
		st, err := g.SolveTo(x, s, b, Settings{Tolerance: 1e-8, MaxIterations: 200})
		if err != nil {
			t.Fatal(err)
		}
		size := math.Sqrt(mat.Dot(mat.NewVecDense(nx, b), mat.NewVecDense(nx, b)))
		got := math.Pow(st.Residual/size, 1/float64(st.Iterations))
		want := kappa / (1 + math.Sqrt(1+kappa*kappa))
		t.Logf("κ = %g: %d iterations, %.3f each, want %.3f", kappa, st.Iterations, got, want)
		if got > want*1.05 {
			t.Errorf("with κ = %g an iteration leaves %.4g of the residual, want at most %.4g", kappa, got, want*1.05)
		}
	}
}
