package physics

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"soiljoule/mesh"
)

// randomEdges returns n+1 edges from x on, by cells of 0.1 to 0.2 m.
func randomEdges(rng *rand.Rand, x float64, n int) []float64 {
	e := []float64{x}
	for range n {
		e = append(e, e[len(e)-1]+0.1+0.1*rng.Float64())
	}
	return e
}

func unit(n int) []float64 {
	s := make([]float64, n)
	for c := range s {
		s[c] = 1
	}
	return s
}

func electric(t testing.TB, g *mesh.Grid, inserts []Insert, bodies ...Body) *Electric {
	t.Helper()
	e, err := NewElectric(g, bodies, false, inserts...)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Assemble(unit(g.Cells())); err != nil {
		t.Fatal(err)
	}
	return e
}

// TestCornerFieldIsExact: in ground round a conductor's corner, in each of the four
// ways it may lie, on unequal cells, the nodes' values of u = r^(2/3)·sin(2φ/3) are a
// solution of the discrete law: no cell within reach keeps any current, and what the
// conductor's faces take is the difference of v. By algebra: the fluxes round a cell
// are differences of v that cancel in turn. Tolerance: some hundred roundings of the
// largest flux.
func TestCornerFieldIsExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	const n = 32
	for trial := range 8 {
		g := mesh.NewSection(randomEdges(rng, -1, n), randomEdges(rng, 2, n), 1)
		z := mesh.Zone{I0: 18, I1: n, K0: 15, K1: n}
		c := corner{x: g.X[18], z: g.Z[15], sx: 1, sz: 1}
		if trial%2 == 1 {
			z.I0, z.I1, c.x, c.sx = 0, 14, g.X[14], -1
		}
		if trial/2%2 == 1 {
			z.K0, z.K1, c.z, c.sz = 0, 16, g.Z[16], -1
		}
		e := electric(t, g, nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: z})
		found := e.findCorners()
		if len(found) != 1 || found[0].x != c.x || found[0].z != c.z || found[0].sx != c.sx || found[0].sz != c.sz {
			t.Fatalf("trial %d: corners are %+v, want one like %+v", trial, found, c)
		}
		u, net := make([]float64, g.Cells()), make([]float64, g.Cells())
		for cell := range u {
			if e.BodyOf[cell] < 0 {
				u[cell], _, _ = c.functions(g.XC[cell%n], g.ZC[cell/n], 1)
			}
		}
		e.NetTo(net, u)
		within := func(x, z float64) bool { return point{c.x, c.z}.to(point{x, z}) < 0.99*found[0].reach }
		checked := 0
		across, down := e.corners.across.face, e.corners.down.face
		// Of a face left out, κ is within negligible of 1.
		kept := func(faces []int32, f int) bool { return slices.Contains(faces, int32(f)) }
		for k := 1; k < n-1; k++ {
			for i := 1; i < n-1; i++ {
				cell := g.Index(i, k)
				if !kept(across, k*(n-1)+i-1) || !kept(across, k*(n-1)+i) || !kept(down, cell-n) || !kept(down, cell) {
					continue
				}
				if e.BodyOf[cell] >= 0 || !within(g.X[i], g.ZC[k]) || !within(g.X[i+1], g.ZC[k]) || !within(g.XC[i], g.Z[k]) || !within(g.XC[i], g.Z[k+1]) {
					continue
				}
				checked++
				if math.Abs(net[cell]) > 1e-14 {
					t.Errorf("trial %d: cell (%d, %d) keeps %.3g A of the corner's field, want 0 within 1e-14", trial, i, k, net[cell])
				}
			}
		}
		if checked < 100 {
			t.Errorf("trial %d: only %d cells are within reach of the corner", trial, checked)
		}
	}
}

// TestKappaFallsAsTheCellSquared: κ > 0, and on equal squares 1 apart from a multiple of
// (h/r)². The first term of a face's flux less its two-point one is −h²/12·u_xxx, which
// for u is at most 7·(4/9)·u_x/r², the factor 7 being that of sin(7φ/3) over sin(φ/3)
// along the conductor; terms in (h/r)⁴ add some tenth from r = 4h on.
func TestKappaFallsAsTheCellSquared(t *testing.T) {
	const n, h = 40, 0.1
	edges := make([]float64, n+1)
	for i := range edges {
		edges[i] = h * float64(i)
	}
	g := mesh.NewSection(edges, edges, 1)
	e := electric(t, g, nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: mesh.Zone{I0: 20, I1: n, K0: 20, K1: n}})
	c := point{g.X[20], g.Z[20]}
	bound := func(face int32, kappa float64, p point) {
		r := c.to(p)
		if kappa <= 0 || r > 4*h && math.Abs(kappa-1) > 0.29*h*h/(r*r) {
			t.Errorf("κ of face %d at %.3g m from the corner is 1%+.3g, want within %.3g of 1", face, r, kappa-1, 0.29*h*h/(r*r))
		}
	}
	for j, f := range e.corners.across.face {
		bound(f, e.corners.across.factor[j], point{g.X[int(f)%(n-1)+1], g.ZC[int(f)/(n-1)]})
	}
	for j, f := range e.corners.down.face {
		bound(f, e.corners.down.factor[j], point{g.XC[int(f)%n], g.Z[int(f)/n+1]})
	}
	if len(e.corners.across.face) < 200 {
		t.Errorf("κ is found for %d faces, want some for each quarter of ground", len(e.corners.across.face))
	}
}

// TestCornersOfMirrorImages: a section and its mirror image have the same κ to the last
// bit, and within a section that is its own mirror image so have the two halves. Edges
// at binary fractions, whose differences are exact.
func TestCornersOfMirrorImages(t *testing.T) {
	half := []float64{0, 0.125, 0.25, 0.375, 0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3.25, 4, 5}
	x := make([]float64, 0, 2*len(half)-1)
	for i := len(half) - 1; i > 0; i-- {
		x = append(x, -half[i])
	}
	x = append(x, half...)
	z := []float64{0, 0.5, 1, 1.25, 1.5, 1.75, 2, 2.25, 2.5, 3, 4}
	g := mesh.NewSection(x, z, 1)
	e := electric(t, g, nil,
		Body{Name: "1", Phase: 1, Rods: 1, Zone: g.Box("", -1.25, -1, 1, 2.25)},
		Body{Name: "2", Phase: 1, Rods: 1, Zone: g.Box("", 1, 1.25, 1, 2.25)},
		Body{Name: "3", Phase: -1, Rods: 1, Zone: g.Box("", -0.125, 0.125, 1.5, 1.75)})
	if n := len(e.findCorners()); n != 12 {
		t.Fatalf("%d corners, want 12", n)
	}
	kappa := func(f *faceFactors, faces int) []float64 {
		out := unit(faces)
		for j, face := range f.face {
			out[face] = f.factor[j]
		}
		return out
	}
	across, down := kappa(&e.corners.across, len(e.Across)), kappa(&e.corners.down, len(e.Down))
	for f, k := range across {
		row, i := f/(g.NX-1), f%(g.NX-1)
		if m := across[row*(g.NX-1)+g.NX-2-i]; m != k {
			t.Errorf("κ of face %d of row %d is %v, of its mirror image %v", i, row, k, m)
		}
	}
	for f, k := range down {
		row, i := f/g.NX, f%g.NX
		if m := down[row*g.NX+g.NX-1-i]; m != k {
			t.Errorf("κ of the face below column %d, row %d is %v, of its mirror image %v", i, row, k, m)
		}
	}
}

// TestCornersOfALargerMesh: κ has no dimension: on a mesh twice as large it is the same
// to the last bit.
func TestCornersOfALargerMesh(t *testing.T) {
	rng := rand.New(rand.NewPCG(35, 36))
	x, z := randomEdges(rng, 0, 16), randomEdges(rng, 0, 16)
	var factors [2]cornerFactors
	for i := range factors {
		factors[i] = electric(t, mesh.NewSection(slices.Clone(x), slices.Clone(z), 1), nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: mesh.Zone{I0: 6, I1: 8, K0: 5, K1: 9}}).corners
		for j := range x {
			x[j], z[j] = 2*x[j], 2*z[j]
		}
	}
	if !slices.Equal(factors[0].across.factor, factors[1].across.factor) || !slices.Equal(factors[0].down.factor, factors[1].down.factor) {
		t.Errorf("κ differs on a mesh twice as large")
	}
}

// TestWhatIsACorner: where three of four cells that meet are ground and the fourth a
// conductor's without contact resistance.
func TestWhatIsACorner(t *testing.T) {
	g := mesh.NewSection([]float64{0, 1, 2, 3, 4, 5, 6, 7, 8}, []float64{0, 1, 2, 3, 4, 5, 6, 7, 8}, 1)
	body := func(i0, i1, k0, k1 int, contact float64) Body {
		return Body{Name: "A", Phase: 1, Rods: 1, Contact: contact, Zone: mesh.Zone{I0: i0, I1: i1, K0: k0, K1: k1}}
	}
	for _, c := range []struct {
		name    string
		bodies  []Body
		inserts []Insert
		want    int
	}{
		{"a box in ground", []Body{body(3, 5, 3, 5, 0)}, nil, 4},
		{"a box with contact resistance", []Body{body(3, 5, 3, 5, 0.1)}, nil, 0},
		{"a box at the surface", []Body{body(3, 5, 0, 5, 0)}, nil, 2},
		{"a box in a corner of the section", []Body{body(0, 2, 0, 5, 0)}, nil, 1},
		{"a box across the section", []Body{body(0, 8, 3, 5, 0)}, nil, 0},
		{"two boxes side by side, one conductor", []Body{body(2, 4, 3, 5, 0), body(4, 6, 3, 5, 0)}, nil, 4},
		{"two boxes as an L", []Body{body(2, 4, 1, 5, 0), body(4, 6, 3, 5, 0)}, nil, 5},
		{"two boxes that touch at a corner", []Body{body(2, 4, 1, 3, 0), body(4, 6, 3, 5, 0)}, nil, 6},
		{"a box on an insert as wide", []Body{body(3, 5, 3, 5, 0)}, []Insert{{Zone: mesh.Zone{I0: 3, I1: 5, K0: 5, K1: 7}}}, 2},
	} {
		e := electric(t, g, c.inserts, c.bodies...)
		if got := len(e.findCorners()); got != c.want {
			t.Errorf("%s has %d corners, want %d", c.name, got, c.want)
		}
		for _, f := range [2]*faceFactors{&e.corners.across, &e.corners.down} {
			for _, k := range f.factor {
				if !(k > 0) || math.IsInf(k, 1) {
					t.Errorf("%s has a κ of %v", c.name, k)
				}
			}
		}
	}
}

// TestReachOfCorners: half way to another conductor, to an edge of the grid, half way to
// the image beyond it, unless the conductor goes on to it, and to the other side of a rod.
func TestReachOfCorners(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	box := func(name string, phase complex128, i0, i1, k0, k1 int) Body {
		return Body{Name: name, Phase: phase, Rods: 1, Zone: mesh.Zone{I0: i0, I1: i1, K0: k0, K1: k1}}
	}
	for _, c := range []struct {
		name   string
		g      *mesh.Grid
		bodies []Body
		want   float64
	}{
		{"3 m below the surface", mesh.NewSection(x, x, 1), []Body{box("A", 1, 4, 6, 3, 4)}, 3},
		{"from the surface, 4 m from the left", mesh.NewSection(x, x, 1), []Body{box("A", 1, 4, 5, 0, 4)}, 4},
		{"the same in two pieces", mesh.NewSection(x, x, 1), []Body{box("A", 1, 4, 5, 0, 2), box("A2", 1, 4, 5, 2, 4)}, 4},
		{"2 m from a plate of its own phase", mesh.NewSection(x, x, 1), []Body{box("A", 1, 4, 5, 0, 4), box("A2", 1, 6, 8, 0, 9)}, 1},
		{"2 m from another phase", mesh.NewSection(x, x, 1), []Body{box("A", 1, 4, 5, 0, 4), box("B", -1, 6, 8, 0, 9)}, 1},
		{"a rod of radius 2 m", mesh.NewAxisymmetric(x, x, 1), []Body{box("A", 1, 0, 2, 0, 4)}, 2},
	} {
		e := electric(t, c.g, nil, c.bodies...)
		if got := e.findCorners()[0].reach; got != c.want {
			t.Errorf("a corner %s has a reach of %v m, want %v", c.name, got, c.want)
		}
	}
}

// TestCornersKeepHeatOfFaces: the heat of all cells is Σ G|ΔΦ|² over faces with the
// corners' G, for any potential; the tolerance is rounding of some thousand terms.
func TestCornersKeepHeatOfFaces(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 34))
	g := mesh.NewSection(randomEdges(rng, 0, 20), randomEdges(rng, 0, 20), 1)
	e := electric(t, g, nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: mesh.Zone{I0: 3, I1: 4, K0: 5, K1: 12}}, Body{Name: "B", Phase: -1, Rods: 1, Zone: mesh.Zone{I0: 14, I1: 16, K0: 5, K1: 12}})
	phi, q := make([]float64, g.Cells()), make([]float64, g.Cells())
	for c := range phi {
		phi[c] = rng.NormFloat64()
		if b := e.BodyOf[c]; b >= 0 {
			phi[c] = real(e.Bodies[b].Phase)
		}
	}
	e.HeatTo(q, make([]complex128, 2), phi, make([]float64, g.Cells()))
	got, want := 0.0, 0.0
	for _, v := range q {
		got += v
	}
	for k := range g.NZ {
		for i := range g.NX {
			c := g.Index(i, k)
			if i < g.NX-1 {
				want += e.Across[k*(g.NX-1)+i] * math.Pow(phi[c+1]-phi[c], 2)
			}
			if k < g.NZ-1 {
				want += e.Down[c] * math.Pow(phi[c+g.NX]-phi[c], 2)
			}
		}
	}
	if math.Abs(got-want) > 1e-12*want {
		t.Errorf("the cells take %v W, the faces give %v, want the same within 1e-12", got, want)
	}
}
