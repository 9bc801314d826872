package linear

import (
	"math"
	"math/rand/v2"
)

// A ground to solve for: n by n cells, the longest ratio times as long as the
// shortest, which lie at the edges; two plates of one cell's width and n/3 cells'
// height held at ±1, all sides insulated.
type ground struct {
	name  string
	sigma func(n int) func(i, k int) float64 // [S/m]
}

// grounds are the conductivities that a potential is solved for.
func grounds() []ground {
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
	return []ground{
		{"uniform", func(int) func(i, k int) float64 { return func(i, k int) float64 { return 1 } }},
		{"layered", func(n int) func(i, k int) float64 {
			return func(i, k int) float64 { return []float64{1, 10, 0.1, 5, 0.01}[5*k/n] }
		}},
		{"12 × 12 blocks, random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(12)
			return func(i, k int) float64 { return v[k*12/n][i*12/n] }
		}},
		{"blocks of 8 × 8 cells, random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(n/8 + 1)
			return func(i, k int) float64 { return v[k/8][i/8] }
		}},
		{"buried metal, 1:10⁹", func(n int) func(i, k int) float64 {
			return func(i, k int) float64 {
				if k == n/2+3 && i > n/3+5 && i < 2*n/3-5 || i == n/2 && k > n/10 && k < n/4 {
					return 1e7
				}
				return 0.01
			}
		}},
		{"cell by cell random 1:10⁶", func(n int) func(i, k int) float64 {
			v := random(n)
			return func(i, k int) float64 { return v[k][i] }
		}},
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

// plates returns the system of a ground, and its potential with the plates' set.
func plates(n int, ratio float64, sigma func(i, k int) float64) (*System, []float64) {
	s := NewSystem(n, n)
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
