package linear

import (
	"math"
	"math/rand/v2"
	"testing"
)

// ranked returns blocks of rank three over squares of cells that overlap, and the same
// ones by cell.
func ranked(rng *rand.Rand, nx int, at ...int) (parts, dense []Block) {
	for _, c := range at {
		b := Block{Part: make([][]float64, 3), Y: []float64{2, 0.1, 0.2, 0.1, 1, 0.3, 0.2, 0.3, 1.5}}
		for i := range 16 {
			b.Cells = append(b.Cells, c+i/4*nx+i%4)
			b.Part[0] = append(b.Part[0], rng.Float64())
			b.Part[1] = append(b.Part[1], rng.Float64()-0.5)
			b.Part[2] = append(b.Part[2], rng.Float64()-0.5)
		}
		n := len(b.Cells)
		d := Block{Cells: b.Cells, Y: make([]float64, n*n)}
		for i := range n {
			for j := range n {
				for m := range 3 {
					for k := range 3 {
						d.Y[i*n+j] += b.Part[m][i] * b.Y[m*3+k] * b.Part[k][j]
					}
				}
			}
		}
		parts, dense = append(parts, b), append(dense, d)
	}
	return parts, dense
}

// Blocks that have a rank do what the same blocks do cell by cell, though they share
// cells: A x and x·A x agree to rounding, and so do the solutions, to the tolerance.
func TestRankedBlocks(t *testing.T) {
	const nx, nz = 30, 24
	rng := rand.New(rand.NewPCG(11, 12))
	parts, dense := ranked(rng, nx, 3*nx+4, 5*nx+6, 5*nx+7, 15*nx+20)
	s := even(nx, nz, 1)
	x, rhs := make([]float64, nx*nz), make([]float64, nx*nz)
	for c := range x {
		x[c] = rng.NormFloat64()
		rhs[c] = rng.NormFloat64()
	}
	var applied, solved [2][]float64
	var energy [2]float64
	for i, b := range [2][]Block{parts, dense} {
		s.Blocks = b
		applied[i], solved[i] = make([]float64, nx*nz), make([]float64, nx*nz)
		s.ApplyTo(applied[i], x)
		energy[i] = s.addBlocks(make([]float64, nx*nz), x, -1)
		p := NewPCG(nx, nz, nil)
		p.Factor(s)
		st, err := p.SolveTo(solved[i], s, rhs, Settings{Tolerance: 1e-10, MaxIterations: 300})
		if err != nil {
			t.Fatal(err)
		}
		// Only the blocks hold the ground, by four times three vectors that the
		// preconditioner takes for a diagonal: some three iterations for each, and what the
		// ground alone takes.
		if i == 0 && st.Iterations > 50 {
			t.Errorf("%d iterations with blocks by parts, want at most 50", st.Iterations)
		}
	}
	if e := math.Abs(energy[0] - energy[1]); e > 1e-12*energy[1] {
		t.Errorf("x·B x = %.15g by parts, %.15g by cells", energy[0], energy[1])
	}
	for c := range x {
		if e := math.Abs(applied[0][c] - applied[1][c]); e > 1e-12*(1+math.Abs(applied[1][c])) {
			t.Fatalf("A x in cell %d is %.15g by parts, %.15g by cells", c, applied[0][c], applied[1][c])
		}
		// The residual over the least eigenvalue, which is about the blocks' sum over cells, 0.1.
		if e := math.Abs(solved[0][c] - solved[1][c]); e > 1e-8 {
			t.Fatalf("solution in cell %d is %.12g by parts, %.12g by cells", c, solved[0][c], solved[1][c])
		}
	}
}

// A solve with blocks that have a rank allocates nothing either.
func TestRankedBlocksAllocateNothing(t *testing.T) {
	const nx, nz = 40, 40
	s := even(nx, nz, 1)
	s.Blocks, _ = ranked(rand.New(rand.NewPCG(13, 14)), nx, 3*nx+4, 5*nx+6)
	b, x := make([]float64, nx*nz), make([]float64, nx*nz)
	b[7] = 1
	p := NewPCG(nx, nz, nil)
	if n := testing.AllocsPerRun(5, func() {
		clear(x)
		p.Factor(s)
		if _, err := p.SolveTo(x, s, b, Settings{Tolerance: 1e-6, MaxIterations: 300}); err != nil {
			t.Fatal(err)
		}
		p.Balance(x)
	}); n != 0 {
		t.Errorf("Factor, SolveTo and Balance made %g allocations, want 0", n)
	}
}
