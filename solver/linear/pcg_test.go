package linear

import (
	"errors"
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

// A warm set-up, solve and balance allocate nothing, alone or in a team.
func TestSolveAllocatesNothing(t *testing.T) {
	const nx, nz = 240, 140 // loops are shared
	s := noisy(rand.New(rand.NewPCG(5, 6)), even(nx, nz, 1), 2)
	s.Held[0] = true
	s.Blocks = []Block{{Cells: []int{5, 900}, Y: []float64{1, -0.2, -0.2, 1}}}
	b, x := make([]float64, nx*nz), make([]float64, nx*nz)
	for c := range b {
		b[c] = math.Sin(float64(c))
	}
	set := Settings{Tolerance: 1e-2, MaxIterations: 5000}
	for name, team := range map[string]*Team{"alone": nil, "two workers": teamOf(t, 2)} {
		p := NewPCG(nx, nz, team)
		if n := testing.AllocsPerRun(5, func() {
			clear(x)
			p.Factor(s)
			if _, err := p.SolveTo(x, s, b, set); err != nil {
				t.Fatal(err)
			}
			p.Balance(x)
		}); n != 0 {
			t.Errorf("%s: Factor, SolveTo and Balance made %g allocations, want 0", name, n)
		}
	}
}

// After Balance x·r and Σ r over free cells are 0, however little was solved, with held
// values and without, r being computed anew.
// r is rounded to some ε of |A||x| + |b| in each cell, and the two corrections to as much
// of what they sum: 20 ε of Σ |x| (|A||x| + |b|), and of Σ (|A||x| + |b|).
func TestBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for _, size := range sizes {
		for _, kind := range kinds(rng, size[0], size[1]) {
			name, s := kind.name, kind.System
			if s.Diag == nil {
				s.Diag = make([]float64, s.Size())
			}
			for _, tolerance := range []float64{1e-1, 1e-3, 1e-8} {
				b, x := normal(rng, s), make([]float64, s.Size())
				for c, held := range s.Held {
					if held {
						x[c] = rng.NormFloat64()
					}
				}
				held := append([]float64(nil), x...)
				p := NewPCG(s.NX, s.NZ, nil)
				p.Factor(s)
				if _, err := p.SolveTo(x, s, b, Settings{Tolerance: tolerance * p.Residual(x, s, b, nil), MaxIterations: 500}); err != nil {
					t.Fatalf("%s, %d × %d: %v", name, s.NX, s.NZ, err)
				}
				p.Balance(x)
				r, size := make([]float64, len(x)), make([]float64, len(x))
				s.ResidualTo(r, b, x)
				sizeTo(size, s, x)
				xr, sum, xrSize, sumSize := 0.0, 0.0, 0.0, 0.0
				for c, v := range r {
					if s.Held[c] {
						if x[c] != held[c] {
							t.Fatalf("%s, %d × %d: Balance changed held cell %d", name, s.NX, s.NZ, c)
						}
						continue
					}
					terms := size[c] + math.Abs(b[c])
					xr, xrSize = xr+x[c]*v, xrSize+math.Abs(x[c])*terms
					sum, sumSize = sum+v, sumSize+terms
				}
				if !(math.Abs(xr) <= 20*epsilon*xrSize) {
					t.Errorf("%s, %d × %d, solved to %g: x·r is %.3g after Balance, want within 20 ε of %.3g", name, s.NX, s.NZ, tolerance, xr, xrSize)
				}
				if !(math.Abs(sum) <= 20*epsilon*sumSize) {
					t.Errorf("%s, %d × %d, solved to %g: Σ r is %.3g after Balance, want within 20 ε of %.3g", name, s.NX, s.NZ, tolerance, sum, sumSize)
				}
			}
		}
	}
}

// Balance of a solve that is done changes nothing but rounding: what it adds is of the
// residual's size.
func TestBalanceOfASolution(t *testing.T) {
	s := even(50, 40, 1)
	s.Held[0] = true
	b := normal(rand.New(rand.NewPCG(9, 10)), s)
	p := NewPCG(50, 40, nil)
	p.Factor(s)
	x := make([]float64, len(b))
	if _, err := p.SolveTo(x, s, b, Settings{Tolerance: 1e-11 * math.Sqrt(dot(b, b)), MaxIterations: 100}); err != nil {
		t.Fatal(err)
	}
	before := append([]float64(nil), x...)
	p.Balance(x)
	// |A⁻¹| of a square held in one corner is below its cells times the ladder's resistance:
	// 2000 cells, some 5 Ω each; times a residual of 1e-11 |b|.
	bound := 1e4 * 1e-11 * math.Sqrt(dot(b, b))
	for c := range x {
		if d := math.Abs(x[c] - before[c]); d > bound {
			t.Fatalf("Balance moved cell %d of a solution by %.3g, want at most %.3g", c, d, bound)
		}
	}
}

// A solver refuses a system of another size, and says so.
func TestFactorRefusesAnotherSize(t *testing.T) {
	defer func() {
		if got, want := recover(), "linear: 3 × 2 cells in a solver of 2 × 3"; got != want {
			t.Errorf("Factor for another size panics with %v, want %q", got, want)
		}
	}()
	NewPCG(2, 3, nil).Factor(even(3, 2, 1))
}

// A solve that runs out of iterations says so and leaves what it has.
func TestNoConvergence(t *testing.T) {
	s := random(rand.New(rand.NewPCG(1, 3)), 30, 20)
	b := normal(rand.New(rand.NewPCG(1, 4)), s)
	p := NewPCG(30, 20, nil)
	p.Factor(s)
	st, err := p.SolveTo(make([]float64, len(b)), s, b, Settings{Tolerance: 1e-9, MaxIterations: 2})
	if !errors.Is(err, ErrNoConvergence) || st.Iterations != 2 || !(st.Residual > 1e-9) {
		t.Errorf("a solve of two iterations ends with %+v, %v; want 2 iterations, a residual above 1e-9 and %v", st, err, ErrNoConvergence)
	}
}
