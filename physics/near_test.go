package physics

import (
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/mesh"
)

// rodIn returns the law of one rod in the middle of 24 × 24 cells about 1 m, of x and z,
// and its couple.
func rodIn(t *testing.T, rng *rand.Rand, growth, radius float64) (*Electric, *RodCouple) {
	t.Helper()
	x, z := steps(rng, 24, 1, growth), steps(rng, 24, math.Pow(3, 2*rng.Float64()-1), growth)
	r := &Rod{X: x.nodes[12] + rng.Float64()*(x.nodes[13]-x.nodes[12]), Y: z.nodes[12] + rng.Float64()*(z.nodes[13]-z.nodes[12]), Radius: radius}
	e, err := NewElectric(mesh.NewSection(x.edges, z.edges, 2), []Body{{Name: "E", Phase: 1, Rods: 1, Rod: r}}, false)
	if err != nil {
		t.Fatal(err)
	}
	return e, &e.Rods[0]
}

// In even ground what is near a rod changes neither weights nor Z, at any place, in cells of
// any shape.
// Source: Ψ is 1, x and y there, and the moments of both kernels are those. Tolerance:
// rounding through matrices of some 1000 cells, 1e-9.
func TestNearLeavesEvenGround(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 20 {
		e, r := rodIn(t, rng, 1.15, math.Pow(10, 1.5*rng.Float64()-1.3))
		sigma := make([]float64, e.Grid.Cells())
		for c := range sigma {
			sigma[c] = 0.04
		}
		if err := e.Assemble(sigma); err != nil {
			t.Fatal(err)
		}
		for m, even := range r.about.even {
			largest, worst := 0.0, 0.0
			for j, w := range even {
				largest, worst = math.Max(largest, math.Abs(w)), math.Max(worst, math.Abs(r.Part[m][j]-w))
			}
			if worst > 1e-9*largest {
				t.Errorf("moment %d in even ground: a weight changes by %.3g of the largest", m, worst/largest)
			}
		}
		z := make([]float64, len(r.Y))
		for i, m := range r.about.missing {
			z[i] = m / 0.04
		}
		invert3(z)
		if math.Abs(r.Y[0]/z[0]-1) > 1e-9 {
			t.Errorf("admittance in even ground: %.12g, from even ground's own %.12g", r.Y[0], z[0])
		}
	}
}

// In any ground, up to 1 : 10⁶ from cell to cell, weights of a rod's current are none
// negative and 1 in all, Y is positive definite, and grows as σ does; and an assembly
// allocates nothing.
// Tolerance: rounding times the contrast, 1e-6.
func TestNearInAnyGround(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	alone := 0
	const tries = 60
	for n := range tries {
		e, r := rodIn(t, rng, 1.15, math.Pow(10, 1.5*rng.Float64()-1.3))
		sigma, decades := make([]float64, e.Grid.Cells()), 6*rng.Float64()
		for c := range sigma {
			sigma[c] = math.Pow(10, -decades*rng.Float64())
			if n%2 == 0 { // dry about the rod
				d := math.Hypot(e.Grid.XC[c%e.Grid.NX]-e.Bodies[0].Rod.X, e.Grid.ZC[c/e.Grid.NX]-e.Bodies[0].Rod.Y)
				sigma[c] = math.Pow(10, -decades*math.Exp(-d*d/4))
			}
		}
		if err := e.Assemble(sigma); err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for j, w := range r.Part[0] {
			if sum += w; !(w >= 0) {
				t.Fatalf("ground of %.1f decades: weight %g in place %d", decades, w, j)
			}
		}
		if math.Abs(sum-1) > 1e-6 || !positive3(r.Y) {
			t.Fatalf("ground of %.1f decades: weights sum to %.9g, Y = %.4g", decades, sum, r.Y)
		}
		if r.near != nil && !r.near.renew(r, sigma, e.closed, r.about.followTo(r.Part, sigma), 2, e.near) {
			alone++
		}
		if err := e.Assemble(sigma); err != nil {
			t.Fatal(err)
		}
		y := r.Y[0]
		for c := range sigma {
			sigma[c] *= 3
		}
		if err := e.Assemble(sigma); err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Y[0]/y-3) > 1e-6 {
			t.Errorf("ground that conducts 3 times as well: admittance %.9g times", r.Y[0]/y)
		}
		if n == 0 {
			if k := testing.AllocsPerRun(5, e.assembleRods); k > 0 {
				t.Errorf("an assembly of rods allocates %g times", k)
			}
		}
	}
	t.Logf("of %d grounds %d leave no positive Z", tries, alone)
	if alone > tries/10 {
		t.Errorf("of %d grounds %d leave no positive Z, want a tenth at most", tries, alone)
	}
}

// Weights of a ground and its mirror image are mirror images.
// Source: symmetry. Tolerance: rounding, 1e-9.
func TestNearIsSymmetric(t *testing.T) {
	edges := make([]float64, 21)
	for i := range edges {
		edges[i] = float64(i)
	}
	g := mesh.NewSection(edges, edges, 1)
	part := func(x float64, sigma func(i, k int) float64) map[int]float64 {
		e, err := NewElectric(g, []Body{{Name: "E", Phase: 1, Rods: 1, Rod: &Rod{X: x, Y: 10.2, Radius: 0.2}}}, false)
		if err != nil {
			t.Fatal(err)
		}
		s := make([]float64, g.Cells())
		for c := range s {
			s[c] = sigma(c%g.NX, c/g.NX)
		}
		if err := e.Assemble(s); err != nil {
			t.Fatal(err)
		}
		out := map[int]float64{-1: e.Rods[0].Y[0]}
		for j, c := range e.Rods[0].Cell {
			out[c] = e.Rods[0].Part[0][j]
		}
		return out
	}
	ground := func(i, k int) float64 { return 1 + float64((7*i+3*k)%5) }
	one := part(9.7, ground)
	two := part(20-9.7, func(i, k int) float64 { return ground(g.NX-1-i, k) })
	for c, w := range one {
		m := c
		if c >= 0 {
			m = c/g.NX*g.NX + g.NX - 1 - c%g.NX
		}
		if math.Abs(two[m]-w) > 1e-9*math.Abs(one[-1]) {
			t.Errorf("cell %d: %.12g, in the mirror image %.12g", c, w, two[m])
		}
	}
}
