package linear

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// epsilon is half the distance from 1 to the next number, what rounding may change.
const epsilon = 1.0 / (1 << 53)

// even returns a system of nx by nz free cells, aspect times as wide as high, of equal
// conductivity.
func even(nx, nz int, aspect float64) *System {
	s := NewSystem(nx, nz)
	for f := range s.Across {
		s.Across[f] = 1 / aspect
	}
	for f := range s.Down {
		s.Down[f] = aspect
	}
	return s
}

// noisy multiplies the conductances of s by up to decades powers of ten.
func noisy(rng *rand.Rand, s *System, decades float64) *System {
	for _, g := range [][]float64{s.Across, s.Down} {
		for f := range g {
			g[f] *= math.Pow(10, decades*rng.Float64())
		}
	}
	return s
}

// kind is a system that a cycle must be right for, anchored by a cell held or by some D.
type kind struct {
	name string
	*System
	wide bool // conductances over six decades or more
}

func kinds(rng *rand.Rand, nx, nz int) []kind {
	noise := func(aspect float64) *System { return noisy(rng, even(nx, nz, aspect), 6) }
	hold := func(s *System) *System {
		s.Held[rng.IntN(s.Size())] = true
		return s
	}
	diagonal := func(s *System, least, most float64) *System {
		for c := range s.Diag {
			s.Diag[c] = least * math.Pow(most/least, rng.Float64())
		}
		return s
	}
	all := []kind{
		{"even", diagonal(even(nx, nz, 1), 1e-6, 1e-3), false},
		{"aspect 1:1000", diagonal(even(nx, nz, 1000), 1e-6, 1e-3), false},
		{"aspect 1000:1", diagonal(even(nx, nz, 1e-3), 1e-6, 1e-3), false},
		{"D in every row", diagonal(even(nx, nz, 1), 8, 80), false}, // more than shunted
		{"noise", diagonal(noise(1), 1e-2, 1e2), true},
		{"noise, much D", diagonal(noise(1), 1, 1e7), true},
		{"noise, aspect 1:1000", diagonal(noise(1000), 1e-2, 1e2), true},
	}
	if nx*nz > 1 {
		bare := hold(even(nx, nz, 1))
		bare.Diag = nil
		all = append(all, kind{"no D", bare, false}, kind{"one cell held", hold(noise(1)), true}, kind{"all at once", random(rng, nx, nz), true})
	}
	return all
}

// sizes have one row, one column, and odd and even numbers of them.
var sizes = [][2]int{{1, 1}, {1, 2}, {2, 1}, {1, 17}, {18, 1}, {2, 2}, {3, 3}, {4, 7}, {7, 4}, {5, 9}, {8, 8}, {40, 33}, {33, 40}, {3, 200}, {200, 3}}

// cycle returns M r of a solver that is set up, r being 0 in held cells.
func cycle(p *PCG, r []float64) []float64 {
	copy(p.r, r)
	p.multigrid.Cycle()
	return append([]float64(nil), p.z...)
}

func normal(rng *rand.Rand, s *System) []float64 {
	x := make([]float64, s.Size())
	for c := range x {
		if !s.Held[c] {
			x[c] = rng.NormFloat64()
		}
	}
	return x
}

func dot(x, y []float64) float64 {
	sum := 0.0
	for c, v := range x {
		sum += v * y[c]
	}
	return sum
}

// absolute returns |x| by cell.
func absolute(x []float64) []float64 {
	y := make([]float64, len(x))
	for c, v := range x {
		y[c] = math.Abs(v)
	}
	return y
}

// The cycle M is symmetric, positive definite and 0 in held cells, as conjugate gradients
// ask of it, for random vectors x and y.
// Pivots are sums of positive terms, so each line is solved to some ε of the sizes of
// what it sums; rows relaxed after one another repeat that. A thousand ε of |x|ᵀM|y| is
// room for ten levels of ten operations each, twice over by second visits.
func TestCycleIsSymmetricAndPositive(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	worst := 0.0
	for _, size := range sizes {
		for _, s := range kinds(rng, size[0], size[1]) {
			name := s.name
			p := NewPCG(s.NX, s.NZ, nil)
			p.Factor(s.System)
			for range 3 {
				x, y := normal(rng, s.System), normal(rng, s.System)
				mx, my := cycle(p, x), cycle(p, y)
				for c, held := range s.Held {
					if held && mx[c] != 0 {
						t.Fatalf("%s, %d × %d: the cycle gives %g in held cell %d, want 0", name, s.NX, s.NZ, mx[c], c)
					}
				}
				scale := math.Abs(dot(absolute(x), cycle(p, absolute(y)))) + math.Abs(dot(absolute(y), cycle(p, absolute(x))))
				off := math.Abs(dot(x, my) - dot(y, mx))
				if !(off <= 1000*epsilon*scale) {
					t.Errorf("%s, %d × %d: xᵀMy − yᵀMx is %.3g, want at most 1000 ε of %.3g", name, s.NX, s.NZ, off, scale)
				}
				if scale > 0 {
					worst = math.Max(worst, off/scale/epsilon)
				}
				if e := dot(x, mx); !(e > 0) && dot(x, x) > 0 {
					t.Errorf("%s, %d × %d: xᵀMx is %g, want above 0", name, s.NX, s.NZ, e)
				}
			}
		}
	}
	t.Logf("the largest asymmetry is %.3g ε", worst)
}

// spectrum returns the least and the greatest eigenvalue of M A on free cells, those of
// Lᵀ M L, A = L Lᵀ.
func spectrum(t *testing.T, s *System) (least, greatest float64) {
	t.Helper()
	p := NewPCG(s.NX, s.NZ, nil)
	p.Factor(s)
	var free []int
	for c, held := range s.Held {
		if !held {
			free = append(free, c)
		}
	}
	n := len(free)
	a, m := mat.NewSymDense(n, nil), mat.NewDense(n, n, nil)
	e, col := make([]float64, s.Size()), make([]float64, s.Size())
	scale := make([]float64, n)
	for j, c := range free {
		e[c] = 1
		s.ApplyTo(col, e)
		z := cycle(p, e)
		e[c] = 0
		scale[j] = math.Sqrt(col[c])
		for i, d := range free {
			m.Set(i, j, z[d])
			if i <= j {
				a.SetSym(i, j, col[d])
			}
		}
	}
	sym := mat.NewSymDense(n, nil)
	for j := range n {
		for i := range j + 1 {
			f := scale[i] * scale[j]
			a.SetSym(i, j, a.At(i, j)/f)
			sym.SetSym(i, j, (m.At(i, j)+m.At(j, i))/2*f)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		t.Fatal("the matrix is not positive definite")
	}
	var l mat.TriDense
	chol.LTo(&l)
	var half, whole mat.Dense
	half.Mul(sym, &l)
	whole.Mul(l.T(), &half)
	for j := range n {
		for i := range j + 1 {
			sym.SetSym(i, j, (whole.At(i, j)+whole.At(j, i))/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, false) {
		t.Fatal("no eigenvalues")
	}
	values := eigen.Values(nil)
	return values[0], values[len(values)-1]
}

// The eigenvalues of M A, all of them, are positive: M is positive definite, and not on
// the vectors that were tried only. On ground as even as this they lie close to 1: a
// condition of 2 lets conjugate gradients divide the error by 34 in two iterations
// (Chebyshev, (√κ−1)/(√κ+1) each).
// Source: dense eigenvalues by gonum.
func TestCycleSpectrum(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	small := [][2]int{{9, 8}, {8, 9}, {3, 40}, {40, 3}, {16, 15}}
	if testing.Short() {
		small = small[:2]
	}
	for _, size := range small {
		for _, s := range kinds(rng, size[0], size[1]) {
			if s.wide {
				continue // more decades than dense eigenvalues resolve
			}
			least, greatest := spectrum(t, s.System)
			t.Logf("%s, %d × %d: eigenvalues %.4g to %.4g", s.name, s.NX, s.NZ, least, greatest)
			if !(least > 0) || greatest/least > 2 {
				t.Errorf("%s, %d × %d: eigenvalues of M A are %.4g to %.4g, want them positive and within a factor of 2", s.name, s.NX, s.NZ, least, greatest)
			}
		}
	}
}

// The cycle solves exactly where what it leaves out is nothing: one row, one column, rows
// or columns that touch no other. A line is solved by L D Lᵀ, and of a column every other
// cell is eliminated, with Schur's complement as the coarse matrix.
// The residual that rounding leaves in a cell is some ε of |A||x| there (Higham, Accuracy
// and Stability of Numerical Algorithms, 2nd ed., §9.6, from memory: 4 ε or so for
// L D Lᵀ of such a matrix); a level of elimination adds as much: 12 levels of 8 ε.
func TestCycleIsExactOnLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	anchor := func(s *System) *System { // each row and column, little
		for c := range s.Diag {
			if rng.IntN(3) == 0 || c%s.NX == 0 || c/s.NX == 0 {
				s.Diag[c] = 1e-3 * rng.Float64()
			}
			s.Held[c] = rng.IntN(20) == 0
		}
		return s
	}
	rows, columns := noisy(rng, even(60, 50, 1), 6), noisy(rng, even(60, 50, 1), 6)
	clear(rows.Down)
	clear(columns.Across)
	for _, kind := range []struct {
		name string
		*System
	}{
		{"one cell", even(1, 1, 1)}, {"two cells of a column", noisy(rng, even(1, 2, 1), 6)},
		{"one row", noisy(rng, even(500, 1, 1), 6)}, {"one column", noisy(rng, even(1, 500, 1), 6)},
		{"rows apart", rows}, {"columns apart", columns},
	} {
		name, s := kind.name, kind.System
		anchor(s)
		s.Held[0] = s.Size() > 1
		p := NewPCG(s.NX, s.NZ, nil)
		p.Factor(s)
		r := normal(rng, s)
		z := cycle(p, r)
		az, size := make([]float64, s.Size()), make([]float64, s.Size())
		s.ApplyTo(az, z)
		sizeTo(size, s, z)
		worst := 0.0
		for c := range r {
			if s.Held[c] {
				continue
			}
			off := math.Abs(r[c]-az[c]) / size[c] / epsilon
			worst = math.Max(worst, off)
			if !(off <= 100) {
				t.Errorf("%s: the cycle leaves a residual of %.3g ε of |A||x| in cell %d, want at most 100", name, off, c)
				break
			}
		}
		t.Logf("%s: the largest residual is %.3g ε of |A||x|", name, worst)
	}
}

// sizeTo sets dst to |A||x|.
func sizeTo(dst []float64, s *System, x []float64) {
	nx := s.NX
	for c := range dst {
		dst[c] = s.Diag[c] * math.Abs(x[c])
	}
	face := func(a, b int, g float64) {
		v := g * (math.Abs(x[a]) + math.Abs(x[b]))
		dst[a] += v
		dst[b] += v
	}
	for k := range s.NZ {
		for i := range nx - 1 {
			face(k*nx+i, k*nx+i+1, s.Across[k*(nx-1)+i])
		}
	}
	for c, g := range s.Down {
		face(c, c+nx, g)
	}
}

// iterations solves for a random right side to 1e-10 of it.
func iterations(t *testing.T, s *System) (took, levels int) {
	t.Helper()
	p := NewPCG(s.NX, s.NZ, nil)
	p.Factor(s)
	b := normal(rand.New(rand.NewPCG(17, 18)), s)
	x := make([]float64, len(b))
	st, err := p.SolveTo(x, s, b, Settings{Tolerance: 1e-10 * math.Sqrt(dot(b, b)), MaxIterations: 200})
	if err != nil {
		t.Fatal(err)
	}
	return st.Iterations, p.multigrid.used
}

// Iterations do not grow with the cells: from all levels smaller than few, on 20 by 20,
// by half as many again at most. The grounds that a potential is solved for are held to
// the same up to 10⁶ cells in package validation.
func TestIterationsStay(t *testing.T) {
	for _, aspect := range []float64{1, 1000, 1e-3} {
		build := func(n int) *System {
			s := even(n, n, aspect)
			for k := n / 3; k < 2*n/3; k++ {
				s.Held[k*n+n/3] = true
			}
			return s
		}
		first, _ := iterations(t, build(20))
		for _, n := range []int{40, 81, 160, 319} {
			if took, _ := iterations(t, build(n)); 2*took > 3*first {
				t.Errorf("aspect %g: %d iterations on %d × %d cells, want at most half as many again as the %d on 20 × 20", aspect, took, n, n, first)
			}
		}
	}
}

// Where every row is tied to the held more than shunted times as strongly as to its
// neighbours the hierarchy ends at once, and relaxing rows does. Half of them solved for
// the others, Gauss and Seidel's error falls by (1+shunted)² = 16 a sweep at least, so M A
// has eigenvalues of 15/16 to 1 and conjugate gradients, with κ = 16/15, divide the error
// by 62 each: 1e-10 in its energy takes 6 (Chebyshev); one more for the residual's norm,
// whose ratio to that is up to √cond A = √(1+2/shunted), and one for chance.
func TestShuntedRowsNeedNoCoarseGrid(t *testing.T) {
	tied := func(share float64, n int) *System {
		s := even(n, n, 1)
		for c := range s.Diag {
			rows := 2.0
			if k := c / n; k == 0 || k == n-1 {
				rows = 1
			}
			s.Diag[c] = share * rows
		}
		return s
	}
	for _, n := range []int{20, 100, 317} {
		took, levels := iterations(t, tied(shunted, n))
		if levels != 1 || took > 8 {
			t.Errorf("%d × %d cells, rows tied to the held %d times as much as to others: %d levels and %d iterations, want 1 and at most 8", n, n, shunted, levels, took)
		}
		if took, levels := iterations(t, tied(0.99*shunted, n)); levels < 2 || took > 8 {
			t.Errorf("%d × %d cells, rows tied a little less: %d levels and %d iterations, want more than 1 level and at most 8 iterations", n, n, levels, took)
		}
		if took, levels := iterations(t, tied(0.01, n)); levels < 3 || took > 8 {
			t.Errorf("%d × %d cells, rows tied little: %d levels and %d iterations, want more than 2 levels and at most 8 iterations", n, n, levels, took)
		}
	}
}

// A set-up is a function of the matrix alone: what was factored before leaves no trace,
// however many levels it used.
func TestFactorForgets(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	systems := kinds(rng, 40, 33)
	used := NewPCG(40, 33, nil)
	for _, before := range systems {
		for _, s := range systems {
			used.Factor(before.System)
			used.Factor(s.System)
			fresh := NewPCG(40, 33, nil)
			fresh.Factor(s.System)
			if r := normal(rng, s.System); !equalBits(cycle(used, r), cycle(fresh, r)) {
				t.Errorf("the cycle for %q differs after a set-up for %q", s.name, before.name)
			}
		}
	}
}

func equalBits(a, b []float64) bool {
	for c, v := range a {
		if math.Float64bits(v) != math.Float64bits(b[c]) {
			return false
		}
	}
	return len(a) == len(b)
}
