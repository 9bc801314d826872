package physics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestMirroredKernel: a rod and its mirror image, also on an edge of a cell, on a node, or
// where the ellipse ends on one, have mirrored boxes, weights and fields, however sizes
// and places of cells round.
// Source: symmetry of the equations.
// Weights are sums of some 16 products: 1e-14. The fields' moments are solved to 1e-9 of
// what goes in, and are of the order of 1, or of 1/h².
func TestMirroredKernel(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	for trial := range 60 {
		h := 0.1 + 0.4*rng.Float64()
		x := axis{}
		for i := range 61 {
			x.edges = append(x.edges, float64(i-30)*h+0.3)
		}
		x.nodes = middlesOf(x.edges)
		m := turned(x)
		at := func() float64 { // at an eighth of a cell, so that one in eight is on an edge, or on a node
			return float64(rng.IntN(64)-32)*h/8 + 0.3
		}
		r := Rod{X: at(), Y: at(), Radius: h * []float64{0.1, 0.3, 0.5, 1, 1.5}[trial%5]}
		mirror := r
		mirror.X = -r.X
		a, b := newKernel(x, x, &r, smooth), newKernel(m, x, &mirror, smooth)
		if a.ni != b.ni || a.nk != b.nk || a.k0 != b.k0 || a.i0+a.ni+b.i0 != len(x.nodes) {
			t.Fatalf("rod %v in cells of %g: the box is %d by %d from %d, %d on, its image's %d by %d from %d, %d on", r, h, a.ni, a.nk, a.i0, a.k0, b.ni, b.nk, b.i0, b.k0)
		}
		for c, w := range a.w {
			if d := c/a.ni*a.ni + a.ni - 1 - c%a.ni; math.Abs(w-b.w[d]) > 1e-14 {
				t.Fatalf("rod %v in cells of %g: the weight of cell %d is %g, of its image %g", r, h, c, w, b.w[d])
			}
		}
		if trial%10 == 0 {
			of, image := a.missing(), b.missing()
			for i, v := range of {
				sign := 1.0
				if i%moments == 1 != (i/moments == 1) {
					sign = -1 // a dipole along x, seen by another moment
				}
				if math.Abs(v-sign*image[i]) > 1e-8*math.Max(1, 1/(h*h)) {
					t.Errorf("rod %v in cells of %g: moment %d is %.12g, of its image %.12g", r, h, i, v, image[i])
				}
			}
		}
	}
}

func middlesOf(edges []float64) (nodes []float64) {
	for i := range len(edges) - 1 {
		nodes = append(nodes, (edges[i]+edges[i+1])/2)
	}
	return nodes
}

// turned is an axis's mirror image in 0.
func turned(a axis) (m axis) {
	for i := range a.edges {
		m.edges = append(m.edges, -a.edges[len(a.edges)-1-i])
	}
	m.nodes = middlesOf(m.edges)
	return m
}
