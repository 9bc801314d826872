package physics

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"soiljoule/mesh"
)

// TestEvenFieldBesideASlant: beside the slanting side of a body, on uneven cells, an even
// field across the side keeps its current in no cell: as far from the side as the nodes
// are, it is a solution of the discrete law. So it is to a side along the rows that runs
// anywhere between nodes.
// By algebra: each face carries σA times the field along it. Tolerance: some hundred
// roundings of the current of a face.
func TestEvenFieldBesideASlant(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	const n = 24
	for trial := range 8 {
		g := mesh.NewPlan(randomEdges(rng, -1, n), randomEdges(rng, 2, n), 3)
		x, z := g.X[n/2]+0.1*rng.Float64(), g.Z[n/2]+0.1*rng.Float64()
		sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
		if trial == 0 {
			sin, cos = 1, 0
		}
		const far = 100.0
		at := func(along, into float64) [2]float64 {
			return [2]float64{x - along*sin + into*cos, z + along*cos + into*sin}
		}
		e := electric(t, g, nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: g.Polygon("", [][2]float64{at(-far, 0), at(far, 0), at(far, far), at(-far, far)})})
		phi, net := make([]float64, g.Cells()), make([]float64, g.Cells())
		for c := range phi {
			if e.BodyOf[c] < 0 {
				phi[c] = (g.XC[c%n]-x)*cos + (g.ZC[c/n]-z)*sin
			}
		}
		for j := range e.cuts {
			for _, f := range e.cuts[j].list {
				if f.distance < 2*nearestCut*0.1 { // that least way makes a field of its own
					t.Fatalf("trial %d: a node is %g m from the side, too near to tell", trial, f.distance)
				}
			}
		}
		if len(e.cuts[0].list)+len(e.cuts[1].list) < n/2 {
			t.Fatalf("trial %d: %d and %d faces are cut, too few to tell", trial, len(e.cuts[0].list), len(e.cuts[1].list))
		}
		e.NetTo(net, phi)
		for c, i := range net {
			if k := c / n; e.BodyOf[c] >= 0 || c%n == 0 || c%n == n-1 || k == 0 || k == n-1 {
				continue
			}
			if math.Abs(i) > 1e-13*3*0.2*far {
				t.Errorf("trial %d: cell (%d, %d) beside a slant keeps %.3g A of a field of 1 V/m, want 0", trial, c%n, c/n, i)
			}
		}
	}
}

// TestOutlineOnEdgesIsStairs: a figure whose sides are edges of cells has the conductances
// of boxes: one that is a box the same to the last bit, an L to the rounding of half a cell.
func TestOutlineOnEdgesIsStairs(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 44))
	const n = 16
	g := mesh.NewPlan(randomEdges(rng, 0, n), randomEdges(rng, 0, n), 1)
	box := func(contact float64, i0, i1, k0, k1 int) Body {
		return Body{Name: "A", Phase: 1, Rods: 1, Contact: contact, Zone: mesh.Zone{I0: i0, I1: i1, K0: k0, K1: k1}}
	}
	at := func(i, k int) [2]float64 { return [2]float64{g.X[i], g.Z[k]} }
	drawn := box(0, 0, 0, 0, 0)
	drawn.Zone = g.Polygon("", [][2]float64{at(3, 4), at(9, 4), at(9, 12), at(3, 12)})
	a, b := electric(t, g, nil, box(0, 3, 9, 4, 12)), electric(t, g, nil, drawn)
	if !slices.Equal(a.Across, b.Across) || !slices.Equal(a.Down, b.Down) {
		t.Error("the conductances round a box drawn by its corners are not those of the box")
	}
	drawn.Contact = 0.3 // which has no corner either way
	drawn.Zone = g.Polygon("", [][2]float64{at(3, 4), at(9, 4), at(9, 7), at(5, 7), at(5, 12), at(3, 12)})
	a, b = electric(t, g, nil, box(0.3, 3, 9, 4, 7), box(0.3, 3, 5, 7, 12)), electric(t, g, nil, drawn)
	if len(b.cuts[0].list) == 0 {
		t.Fatal("an L has no cut face")
	}
	for j, pair := range [2][2][]float64{{a.Across, b.Across}, {a.Down, b.Down}} {
		for f, want := range pair[0] {
			if got := pair[1][f]; math.Abs(got-want) > 1e-12*want {
				t.Errorf("face %d of direction %d beside an L has %g S, that beside two boxes %g S", f, j, got, want)
			}
		}
	}
}

// TestCutsByRows: conductances beside an outline are the same however rows are shared out,
// and a node next to the outline has one that is large, positive and finite.
func TestCutsByRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(45, 46))
	const n = 20
	g := mesh.NewPlan(randomEdges(rng, 0, n), randomEdges(rng, 0, n), 1)
	// The node left of the disc is 1e-7 m from it, and its own is a tenth of a cell inside.
	i, k := 6, 9
	disc := g.Circle("", g.XC[i]+1e-7+0.6, g.ZC[k], 0.6)
	e := electric(t, g, nil, Body{Name: "A", Phase: 1, Rods: 1, Zone: disc})
	across, down := slices.Clone(e.Across), slices.Clone(e.Down)
	sigma := unit(g.Cells())
	for _, k := range []int{13, 2, 19, 0, 7} { // out of order, one row or more each
		e.AssembleRows(sigma, k, min(k+6, n))
	}
	if !slices.Equal(across, e.Across) || !slices.Equal(down, e.Down) {
		t.Error("conductances beside an outline depend on how rows are shared out")
	}
	got := across[k*(n-1)+i]
	if want := (g.Z[k+1] - g.Z[k]) / (nearestCut * (g.XC[i+1] - g.XC[i])); math.Abs(got-want) > 1e-12*want {
		t.Errorf("a node 0.1 µm from a disc has %g S to it, want %g S of the least way", got, want)
	}
}
