//dossier:chapter The cost of a solve

package validation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/solver/linear"
)

// conductivities is a kind of ground to solve the potential of: sigma returns, for n by
// n cells, the conductivity of cell (i, k) [S/m].
type conductivities struct {
	name  string
	sigma func(n int) func(i, k int) float64
	held  bool // to the bound of growth
}

// grounds are the kinds whose iterations are counted.
func grounds() []conductivities {
	random := func(n int) [][]float64 {
		rng := rand.New(rand.NewPCG(1, 2))
		v := make([][]float64, n)
		for k := range v {
			v[k] = make([]float64, n)
			for i := range v[k] {
				v[k][i] = math.Pow(10, 6*rng.Float64())
			}
		}
		return v
	}
	return []conductivities{
		{"uniform", func(int) func(i, k int) float64 { return func(i, k int) float64 { return 1 } }, true},
		{"five layers, 1:1000", func(n int) func(i, k int) float64 {
			return func(i, k int) float64 { return []float64{1, 10, 0.1, 5, 0.01}[5*k/n] }
		}, true},
		{"12 × 12 blocks, random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(12)
			return func(i, k int) float64 { return v[k*12/n][i*12/n] }
		}, true},
		{"buried metal, 1:10⁹", func(n int) func(i, k int) float64 {
			return func(i, k int) float64 {
				if k == n/2+3 && i > n/3+5 && i < 2*n/3-5 || i == n/2 && k > n/10 && k < n/4 {
					return 1e7
				}
				return 0.01
			}
		}, true},
		{"blocks of 8 × 8 cells, random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(n/8 + 1)
			return func(i, k int) float64 { return v[k/8][i/8] }
		}, false},
		{"cell by cell, random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(n)
			return func(i, k int) float64 { return v[k][i] }
		}, false},
	}
}

// lengths returns n cell sizes that grow geometrically from both ends to the middle.
func lengths(n int, ratio float64) []float64 {
	h := make([]float64, n)
	for i := range h {
		h[i] = math.Pow(ratio, float64(min(i, n-1-i))/float64((n-1)/2))
	}
	return h
}

// heldPlates returns the system of n by n cells of a ground, the longest ratio times as
// long as the shortest, which lie at the edges, and its potential with two plates of
// one cell's width and n/3 cells' height held at ±1. All sides are insulated.
func heldPlates(n int, ratio float64, sigma func(i, k int) float64) (*linear.System, []float64) {
	s := linear.NewSystem(n, n)
	h := lengths(n, ratio)
	for k := range n {
		for i := range n {
			v := sigma(i, k)
			if i < n-1 {
				s.Across[k*(n-1)+i] = h[k] / (h[i]/2/v + h[i+1]/2/sigma(i+1, k))
			}
			if k < n-1 {
				s.Down[k*n+i] = h[i] / (h[k]/2/v + h[k+1]/2/sigma(i, k+1))
			}
		}
	}
	x := make([]float64, n*n)
	for k := n / 3; k < 2*n/3; k++ {
		for i, v := range map[int]float64{n / 3: 1, 2 * n / 3: -1} {
			s.Held[k*n+i] = true
			x[k*n+i] = v
		}
	}
	return s, x
}

// solveHeldPlates solves from 0 V in the ground to 1e-10 of the first residual, by a
// solver that is set up, and returns the iterations.
func solveHeldPlates(t testing.TB, p *linear.PCG, s *linear.System, x, b []float64) int {
	t.Helper()
	st, err := p.SolveTo(x, s, b, linear.Settings{Tolerance: 1e-10 * p.Residual(x, s, b, nil), MaxIterations: 1000})
	if err != nil {
		t.Fatal(err)
	}
	return st.Iterations
}

// shapes are the ratios of the longest cell to the shortest.
var shapes = []float64{1, 1000}

// TestIterationsDoNotGrow: the iterations that a potential takes to a residual of 1e-10
// grow by less than half from 10⁴ cells to 10⁵, in square cells and in cells up to 1000
// times longer than wide, with layers, with blocks of at least 8 cells whose
// conductivities are random over six decades, and with buried metal.
// Source: multigrid's defining property, convergence that does not depend on the mesh:
// Trottenberg, Oosterlee & Schüller, Multigrid (2001), §1.5 (from memory).
// The bound is the claim. Blocks of cells are the same 12 by 12 on every mesh. Grounds
// that are another on every mesh, whose blocks shrink with the cells, are counted beside
// these and not held.
func TestIterationsDoNotGrow(t *testing.T) { holdIterations(t, 100, 316) }

// holdIterations solves on meshes of n by n cells, and holds the iterations of the last
// to those of the first.
func holdIterations(t *testing.T, n ...int) {
	const source = "multigrid: no growth with the mesh"
	head := []string{"ground", "longest cell to shortest"}
	for _, n := range n {
		head = append(head, fmt.Sprintf("%d × %d cells", n, n))
	}
	head = append(head, "growth", "held")
	var rows [][]string
	for _, g := range grounds() {
		for _, ratio := range shapes {
			row := []string{g.name, fmt.Sprintf("%g", ratio)}
			var took []float64
			for _, n := range n {
				s, x := heldPlates(n, ratio, g.sigma(n))
				p := linear.NewPCG(n, n, nil)
				p.Factor(s)
				took = append(took, float64(solveHeldPlates(t, p, s, x, make([]float64, n*n))))
				row = append(row, fmt.Sprintf("%g", took[len(took)-1]))
			}
			growth := took[len(took)-1] / took[0]
			held := "no"
			if g.held {
				held = "yes"
				hold(t, check{fmt.Sprintf("%s, longest cell %g times the shortest: iterations on %d × %d cells over those on %d × %d", g.name, ratio, n[len(n)-1], n[len(n)-1], n[0], n[0]),
					source, growth, 1, "", 0.5})
			}
			rows = append(rows, append(row, fmt.Sprintf("%.2f", growth), held))
			t.Log(rows[len(rows)-1])
		}
	}
	table(t, "Iterations to a residual of 1e-10", head, rows)
}

// BenchmarkPotential is a solve to 1e-10 from 0 V in the ground, without its set-up.
func BenchmarkPotential(b *testing.B) {
	sides := []int{100, 316, 1000}
	if testing.Short() {
		sides = sides[:2]
	}
	for _, g := range grounds() {
		for _, ratio := range shapes {
			for _, n := range sides {
				b.Run(fmt.Sprintf("%s/ratio=%g/cells=%d", g.name, ratio, n*n), func(b *testing.B) {
					s, start := heldPlates(n, ratio, g.sigma(n))
					team := linear.NewTeam()
					defer team.Close()
					p := linear.NewPCG(n, n, team)
					p.Factor(s)
					x, rhs := make([]float64, n*n), make([]float64, n*n)
					took := 0
					for b.Loop() {
						copy(x, start)
						took = solveHeldPlates(b, p, s, x, rhs)
					}
					b.ReportMetric(float64(took), "iterations")
					b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n*n), "ns/cell")
				})
			}
		}
	}
}
