package physics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"soiljoule/mesh"
)

// steps returns an axis of n cells about size h, of which each differs from the one before
// by a factor between 1/growth and growth.
func steps(rng *rand.Rand, n int, h, growth float64) axis {
	a := axis{edges: []float64{0}}
	for i := range n {
		a.edges = append(a.edges, a.edges[i]+h)
		a.nodes = append(a.nodes, a.edges[i]+h/2)
		h *= math.Pow(growth, 2*rng.Float64()-1)
	}
	return a
}

// A source in a single cell has Peaceman's radius: 0.198 h where cells are square, 0.14
// times their diagonal where they are oblong.
// Source: Peaceman, SPE J. 18(3), 1978, and 23(3), 1983, 0.28·√(Δx² + Δy²)/2 (from memory).
// Both are e^(−γ)/4 times the diagonal, the Green's function of the square lattice being
// −(ln r + γ + 3/2 ln 2)/(2π) far away, so the bar for the digits of 0.1404 is 0.03 %, and
// 0.1 % for the oblong, whose patch ends at as many cells (patchMargin).
func TestOneCellHasPeacemansRadius(t *testing.T) {
	const gamma = 0.5772156649015329
	for _, c := range []struct{ hx, hz float64 }{{1, 1}, {1, 2}, {3, 1}} {
		rng := rand.New(rand.NewPCG(1, 1))
		x, z := steps(rng, 21, c.hx, 1), steps(rng, 21, c.hz, 1)
		k := &kernel{x: x, z: z, rod: &Rod{X: x.nodes[10], Y: z.nodes[10], Radius: 0.1}, i0: 10, k0: 10, ni: 1, nk: 1, w: []float64{1}, h: math.Max(c.hx, c.hz)}
		got, want := k.radius(20), math.Exp(-gamma)/4*math.Hypot(c.hx, c.hz)
		if math.Abs(got/want-1) > 1e-3 {
			t.Errorf("effective radius of a cell of %g × %g m is %.5f m, want %.5f", c.hx, c.hz, got, want)
		}
		if c.hx == c.hz && math.Abs(got-0.1985) > 0.0002 {
			t.Errorf("effective radius of a square cell is %.5f h, want 0.1985", got)
		}
	}
}

// radius returns R of Rod, for a kernel of any number of cells.
func (k *kernel) radius(margin float64) float64 {
	p := newPatch(k, margin)
	p.load(k.w, func(x, z float64) float64 { return -math.Log(math.Hypot(x, z)) / (2 * math.Pi) })
	p.solve()
	mean := 0.0
	for c, w := range k.w {
		mean += w * p.phi[p.cell(c)]
	}
	return math.Exp(-2 * math.Pi * mean)
}

// The weights are a smooth rod's: none negative, 1 in all, about its axis, as wide in x as
// in z and not askew, wherever it stands in cells of any shape; and what they leave to Z is
// positive definite however small or large the rod is beside them.
// Tolerance: rounding, 1e-9 of the kernel's width and its square.
func TestKernelMoments(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 100 {
		aspect, growth := math.Pow(4, 2*rng.Float64()-1), 1+0.3*rng.Float64()
		x, z := steps(rng, 40, 1, growth), steps(rng, 40, aspect, growth)
		r := &Rod{X: x.nodes[18] + rng.Float64(), Y: z.nodes[18] + aspect*rng.Float64(), Radius: math.Pow(10, 2.8*rng.Float64()-2)}
		k := newKernel(x, z, r, smooth)
		sum, dx, dz, xx, zz, xz := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
		for c, w := range k.w {
			if w < 0 {
				t.Fatalf("rod of radius %g in cells of 1 × %g: weight %g", r.Radius, aspect, w)
			}
			u, v := x.node(k.i0+c%k.ni)-r.X, z.node(k.k0+c/k.ni)-r.Y
			sum, dx, dz, xx, zz, xz = sum+w, dx+w*u, dz+w*v, xx+w*u*u, zz+w*v*v, xz+w*u*v
		}
		if math.Abs(sum-1) > 1e-9 || math.Hypot(dx, dz) > 1e-9*k.reach || math.Hypot(xx-zz, xz) > 1e-9*k.reach*k.reach {
			t.Fatalf("rod of radius %g in cells of 1 × %g: sum %.12g, middle (%.3g, %.3g), second moments %.6g, %.6g, %.3g", r.Radius, aspect, sum, dx, dz, xx, zz, xz)
		}
		if m := k.missing(); !positive3(m) {
			t.Fatalf("rod of radius %g in cells of 1 × %g, growth %g: T − S = %.4g is not positive definite", r.Radius, aspect, growth, m)
		}
	}
}

// squareLattice returns the potential at cell (m, n) of a unit source in cell (0, 0) of an
// endless lattice of square cells, which far away is −ln(r)/(2π):
//
//	φ(0, 0) = (γ + 3/2 ln 2)/(2π),   φ(0, 0) − φ(m, n) = R(m, n)/2
//	R(m, n) = 1/π ∫ (1 − e^(−|m|α) cos nβ)/sinh α dβ over 0 … π,   cosh α + cos β = 2
//
// Source: Atkinson & van Steenwijk, Am. J. Phys. 67, 486 (1999), resistance between nodes of
// a lattice of unit resistors (from memory; R(1, 0) = 1/2 and R(1, 1) = 2/π check it).
func squareLattice(m, n int) float64 {
	const points, gamma = 2000, 0.5772156649015329
	r := 0.0
	for i := range points { // the integrand is even and smooth: midpoints converge fast
		beta := math.Pi * (float64(i) + 0.5) / points
		alpha := math.Acosh(2 - math.Cos(beta))
		r += (1 - math.Exp(-math.Abs(float64(m))*alpha)*math.Cos(float64(n)*beta)) / math.Sinh(alpha) / points
	}
	return (gamma+1.5*math.Ln2)/(2*math.Pi) - r/2
}

// A rod far thinner than its square cell has the same effective radius, 1.1675 h, at any
// place in it, to 0.1 %, and it is that of the lattice without end.
// Source: squareLattice. Tolerance: 2e-4, what the patch leaves (TestPatchMargin).
func TestEffectiveRadiusAtAnyOffset(t *testing.T) {
	for _, c := range []struct {
		m, n int
		want float64
	}{{1, 0, 0.5}, {1, 1, 2 / math.Pi}} {
		if got := 2 * (squareLattice(0, 0) - squareLattice(c.m, c.n)); math.Abs(got-c.want) > 1e-6 {
			t.Fatalf("R(%d, %d) = %.8f, want %.8f", c.m, c.n, got, c.want)
		}
	}
	var phi [8][8]float64
	for m := range phi {
		for n := range phi {
			phi[m][n] = squareLattice(m, n)
		}
	}
	rng := rand.New(rand.NewPCG(5, 6))
	x := steps(rng, 60, 1, 1)
	for range 20 {
		k := newKernel(x, x, &Rod{X: 30 + rng.Float64(), Y: 30 + rng.Float64(), Radius: 0.01}, smooth)
		mean := 0.0
		for c, v := range k.w {
			for d, w := range k.w {
				i, j := c%k.ni-d%k.ni, c/k.ni-d/k.ni
				mean += v * w * phi[max(i, -i)][max(j, -j)]
			}
		}
		got, want := k.radius(patchMargin), math.Exp(-2*math.Pi*mean)
		if math.Abs(got/want-1) > 2e-4 || math.Abs(got/1.1675-1) > 1e-3 {
			t.Errorf("R = %.5f h at (%.3f, %.3f), the endless lattice has %.5f", got, k.rod.X-30, k.rod.Y-30, want)
		}
	}
}

// The patch is large enough: on one three times as wide ln R changes by less than 1e-3, and
// S of the dipole by as little, in uneven cells of 1:1 to 1:4. That is 0.05 % of the current
// of a rod whose ln(D/a) is 2.
func TestPatchMargin(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 12 {
		aspect := math.Pow(4, 2*rng.Float64()-1)
		x, z := steps(rng, 60, 1, 1.2), steps(rng, 60, aspect, 1.2)
		k := newKernel(x, z, &Rod{X: x.nodes[30], Y: z.nodes[30] + 0.3*aspect, Radius: 0.5}, smooth)
		got, want := k.moments(patchMargin), k.moments(3*patchMargin)
		if e := 2 * math.Pi * math.Abs(got[0]-want[0]); e > 1e-3 {
			t.Errorf("cells of 1 × %.3g: ln R changes by %.2g", aspect, e)
		}
		for _, i := range []int{4, 8} {
			if e := math.Abs(got[i]/want[i] - 1); e > 1e-3 {
				t.Errorf("cells of 1 × %.3g: S_%d changes by a share of %.2g", aspect, i, e)
			}
		}
	}
}

// An axis goes on beyond its ends as its mirror image.
func TestAxisFolds(t *testing.T) {
	a := axis{[]float64{1, 2, 4, 8}, []float64{1.5, 3, 6}}
	for i, w := range map[int]float64{-4: -8, -3: -4, -2: -1, -1: 0.5, 0: 1.5, 2: 6, 3: 10, 4: 13, 5: 14.5, 6: 15.5} {
		if got := a.node(i); math.Abs(got-w) > 1e-12 {
			t.Errorf("node %d stands at %g, want %g", i, got, w)
		}
	}
	if i := a.before(-0.9, 2); i != -2 {
		t.Errorf("before(−0.9) = %d, want −2", i)
	}
}

// Rods that touch, that reach beyond the ground, that stand beside a body in cells or an
// insert, or that are a thousand cells across are refused by name; kernels that overlap are
// not.
func TestRodsRefused(t *testing.T) {
	e := make([]float64, 41)
	for i := range e {
		e[i] = float64(i) / 2
	}
	g := mesh.NewSection(e, e, 1)
	rod := func(name string, x, y, a float64) Body {
		return Body{Name: name, Phase: 1, Rods: 1, Rod: &Rod{x, y, a}}
	}
	for _, c := range []struct {
		name   string
		bodies []Body
		want   []string // in the error; nil: none
	}{
		{"touching", []Body{rod("E1", 5, 5, 0.2), rod("E2", 5.39, 5, 0.2)}, []string{`"E1"`, `"E2"`, "touch"}},
		{"at one place", []Body{rod("E1", 5, 5, 0.2), rod("E2", 5, 5, 0.1)}, []string{`"E1"`, `"E2"`}},
		{"beyond the edge", []Body{rod("E1", 0.1, 5, 0.2)}, []string{`"E1"`, "beyond"}},
		{"beside a plate", []Body{rod("E1", 5.3, 5, 0.2), {Name: "pipe", Rods: 1, Zone: g.Box("", 6, 7, 0, 20)}}, []string{`electrode "E1" and "pipe" are closer than the cells show: the current of "E1" is spread over 1.05 m to either side; use smaller cells`}},
		{"beside an insert", []Body{rod("E1", 13.5, 5, 0.2)}, []string{`"E1"`, `"vault"`}},
		{"near", []Body{rod("E1", 5, 5, 0.2), rod("E2", 5.5, 5, 0.2), rod("E3", 0.21, 19.7, 0.2)}, nil},
	} {
		_, err := NewElectric(g, c.bodies, false, Insert{Name: "vault", Zone: g.Box("", 14, 15, 0, 20)})
		if (err == nil) != (c.want == nil) {
			t.Errorf("%s: error %v", c.name, err)
		}
		for _, w := range c.want {
			if !strings.Contains(fmt.Sprint(err), w) {
				t.Errorf("%s: %v does not say %s", c.name, err, w)
			}
		}
	}
	thin := make([]float64, 2001)
	for i := range thin {
		thin[i] = float64(i) / 1000
	}
	if _, err := NewElectric(mesh.NewSection(thin, []float64{0, 1, 2}, 1), []Body{rod("E1", 1, 1, 0.1)}, false); err == nil || !strings.Contains(err.Error(), `"E1"`) {
		t.Errorf("a rod in cells of 1 mm by 1 m: error %v", err)
	}
}
