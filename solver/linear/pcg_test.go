package linear

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// random returns a system with conductances over six decades, some held cells
// and one block.
func random(rng *rand.Rand, nx, nz int) *System {
	s := NewSystem(nx, nz)
	for f := range s.Across {
		s.Across[f] = math.Pow(10, -3+6*rng.Float64())
	}
	for f := range s.Down {
		s.Down[f] = math.Pow(10, -3+6*rng.Float64())
	}
	for c := range s.Diag {
		if rng.IntN(10) == 0 {
			s.Diag[c] = rng.Float64()
		}
		s.Held[c] = rng.IntN(15) == 0
	}
	s.Held[0] = true
	var b Block
	for c := nx; c < nx*nz && len(b.Cells) < 3; c += 5 {
		if !s.Held[c] {
			b.Cells = append(b.Cells, c)
		}
	}
	n := len(b.Cells)
	b.Y = make([]float64, n*n)
	for i := range n {
		for j := range n {
			b.Y[i*n+j] = -0.2
		}
		b.Y[i*n+i] = 1
	}
	s.Blocks = []Block{b}
	return s
}

// The answer is that of gonum's dense Cholesky on the same matrix, built column
// by column from the operator's free rows. Tolerance: the residual bound 1e-12 and
// the dense solve's n·ε, both magnified by the condition number of the free
// matrix, which gonum reports.
func TestSolveMatchesDenseCholesky(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		s := random(rng, 7, 6)
		var free []int
		for c, held := range s.Held {
			if !held {
				free = append(free, c)
			}
		}
		n := len(free)
		dense := mat.NewSymDense(n, nil)
		e, col := make([]float64, s.Size()), make([]float64, s.Size())
		for j, c := range free {
			e[c] = 1
			s.ApplyTo(col, e)
			e[c] = 0
			for i := range j + 1 {
				dense.SetSym(i, j, col[free[i]])
			}
		}
		b := make([]float64, s.Size())
		rhs := mat.NewVecDense(n, nil)
		for j, c := range free {
			b[c] = rng.NormFloat64()
			rhs.SetVec(j, b[c])
		}
		var chol mat.Cholesky
		if !chol.Factorize(dense) {
			t.Fatal("the free matrix is not positive definite")
		}
		want := mat.NewVecDense(n, nil)
		if err := chol.SolveVecTo(want, rhs); err != nil {
			t.Fatal(err)
		}
		x := make([]float64, s.Size())
		p := NewPCG(7, 6, nil)
		p.Factor(s)
		// Rounding bounds the attainable residual by ε·|A||x|.
		floor := 1e-15 * mat.Norm(dense, 2) * mat.Norm(want, 2)
		if _, err := p.SolveTo(x, s, b, Settings{Tolerance: math.Max(1e-12, floor*10), MaxIterations: 2000}); err != nil {
			t.Fatal(err)
		}
		// Error in the energy norm is bounded by |r|/√λmin; in the 2-norm by cond·ε·10.
		tol := 100 * chol.Cond() * 2.2e-16 * mat.Norm(want, 2)
		for j, c := range free {
			if d := math.Abs(x[c] - want.AtVec(j)); d > tol {
				t.Errorf("SolveTo differs from dense Cholesky by %.3g at cell %d, want at most %.3g", d, c, tol)
			}
		}
		for c, held := range s.Held {
			if held && x[c] != 0 {
				t.Errorf("SolveTo changed held cell %d to %g", c, x[c])
			}
		}
	}
}

// A warm solve allocates nothing.
func TestSolveAllocatesNothing(t *testing.T) {
	s := random(rand.New(rand.NewPCG(5, 6)), 30, 20)
	p := NewPCG(30, 20, nil)
	b, x := make([]float64, 600), make([]float64, 600)
	for c := range b {
		b[c] = math.Sin(float64(c))
	}
	set := Settings{Tolerance: 1e-6, MaxIterations: 5000}
	if n := testing.AllocsPerRun(5, func() {
		clear(x)
		p.Factor(s)
		if _, err := p.SolveTo(x, s, b, set); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("Factor and SolveTo made %g allocations, want 0", n)
	}
}
