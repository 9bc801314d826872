package mesh

import (
	"math"
	"math/rand/v2"
	"testing"
)

// uneven is a grid of unequal cells, far from the origin.
func uneven() *Grid {
	edges := func(from float64, n int) []float64 {
		rng := rand.New(rand.NewPCG(uint64(n), 2))
		e := []float64{from}
		for range n {
			e = append(e, e[len(e)-1]+0.1+0.4*rng.Float64())
		}
		return e
	}
	return NewPlan(edges(100, 40), edges(-300, 50), 3)
}

// TestPolygonVolume: an outline's zone has its area times the thickness, convex or not,
// in either direction of its corners. By the shoelace formula. Each of some 2000 cells
// has an area that is right to a few roundings of a cell's own.
func TestPolygonVolume(t *testing.T) {
	g := uneven()
	shapes := map[string][][2]float64{
		"rotated square": {{106, -298}, {110, -294}, {106, -290}, {102, -294}},
		"arrow":          {{102, -297}, {106, -290}, {110, -297}, {106, -294.5}},
		"comb":           {{101, -298}, {101, -290}, {102.1, -290}, {102.1, -297}, {103.3, -297}, {103.3, -290}, {104.7, -290.2}, {104.4, -297.1}, {106, -290}, {107, -298}},
		"needle":         {{101, -298}, {109.7, -290.01}, {109.7, -290}},
		"in one cell":    {{g.X[3] + 0.01, g.Z[4] + 0.01}, {g.X[3] + 0.05, g.Z[4] + 0.01}, {g.X[3] + 0.02, g.Z[4] + 0.09}},
	}
	for name, corners := range shapes {
		want := 0.0
		for j, b := range corners {
			a := corners[(j+len(corners)-1)%len(corners)]
			want += ((a[0]-100)*(b[1]+300) - (b[0]-100)*(a[1]+300)) / 2
		}
		back := make([][2]float64, len(corners))
		for j := range corners {
			back[len(corners)-1-j] = corners[j]
		}
		for _, c := range [][][2]float64{corners, back} {
			z := g.Polygon(name, c)
			if got, want := z.Volume(g), 3*math.Abs(want); math.Abs(got-want) > 1e-12*math.Max(want, 1) {
				t.Errorf("%s: volume is %.16g m³, want %.16g m³ within 1e-12 of it", name, got, want)
			}
			for _, s := range z.Share {
				if !(s >= 0 && s <= 1) {
					t.Errorf("%s: a cell has a share of %g", name, s)
				}
			}
		}
	}
}

// TestPolygonShares: shares of cells on a comb's teeth are those of points drawn in
// them. By definition of area: of n points a share p lies inside within four standard
// deviations √(p(1−p)/n) ≤ 1/(2√n).
func TestPolygonShares(t *testing.T) {
	g := NewPlan([]float64{0, 1, 2.5, 3}, []float64{0, 0.5, 2}, 1)
	outline := [][2]float64{{0.2, 0.1}, {0.7, 1.9}, {1.2, 0.3}, {1.9, 1.6}, {2.8, 0.2}, {2.6, 1.95}, {0.3, 1.97}}
	z := g.Polygon("comb", outline)
	rng := rand.New(rand.NewPCG(1, 2))
	const n = 20000
	for k := range g.NZ {
		for i := range g.NX {
			in := 0
			for range n {
				x, y := g.X[i]+(g.X[i+1]-g.X[i])*rng.Float64(), g.Z[k]+(g.Z[k+1]-g.Z[k])*rng.Float64()
				odd := false
				for j, b := range outline {
					a := outline[(j+len(outline)-1)%len(outline)]
					if (a[1] > y) != (b[1] > y) && x < a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]) {
						odd = !odd
					}
				}
				if odd {
					in++
				}
			}
			if got, want := z.Weight(i, k), float64(in)/n; math.Abs(got-want) > 2/math.Sqrt(n) {
				t.Errorf("cell (%d, %d) has a share of %.4f inside, want %.4f of %d points within %.4f", i, k, got, want, n, 2/math.Sqrt(n))
			}
		}
	}
}

// TestOutlineOnEdges: an outline along cell edges is a box and no shares; one beyond
// the grid is cut off there, and one outside of it is empty. By definition.
func TestOutlineOnEdges(t *testing.T) {
	g := uneven()
	z := g.Polygon("box", [][2]float64{{g.X[3], g.Z[7]}, {g.X[9], g.Z[7]}, {g.X[9], g.Z[12]}, {g.X[3], g.Z[12]}})
	if z.Share != nil || z.Cut() || z.I0 != 3 || z.I1 != 9 || z.K0 != 7 || z.K1 != 12 {
		t.Errorf("an outline along edges is %+v, want the box of columns 3 to 9 and rows 7 to 12 without shares", z)
	}
	wide := [][2]float64{{0, -1000}, {1000, -1000}, {1000, 1000}, {0, 1000}}
	if z := g.Polygon("all", wide); z.Share != nil || z.I0 != 0 || z.I1 != g.NX || z.K0 != 0 || z.K1 != g.NZ {
		t.Errorf("an outline beyond the grid is columns %d to %d and rows %d to %d, want all", z.I0, z.I1, z.K0, z.K1)
	}
	for _, z := range []Zone{g.Polygon("none", [][2]float64{{0, 0}, {1, 0}, {0, 1}}), g.Circle("none", 0, 0, 5), g.Polygon("line", [][2]float64{{101, -299}, {103, -299}})} {
		if !z.Empty() || z.Volume(g) != 0 || len(z.Cells(g)) != 0 {
			t.Errorf("a zone of nothing, %s, has cells: %+v", z.Name, z)
		}
	}
}

// TestCircleVolume: a circle's zone has πr² times the thickness, whether it covers
// many cells, lies in one or is cut off by the grid's edge through its centre, and
// each cell's share is that of a polygon of many corners.
// A polygon of n corners on the circle lacks 2π²/(3n²) of its area, and of a cell of side
// h no more than its sagitta, r(2π/n)²/8, along 2h.
func TestCircleVolume(t *testing.T) {
	g := uneven()
	for _, c := range []struct{ x, y, r, share float64 }{
		{106, -294, 3.3, 1}, {105.123, -293.77, 0.61, 1}, {g.XC[4], g.ZC[4], 0.04, 1}, {100, -294, 2, 0.5}, {100, -300, 4, 0.25},
		{g.X[7], g.Z[9], 1, 1},
	} {
		z := g.Circle("circle", c.x, c.y, c.r)
		if got, want := z.Volume(g), 3*math.Pi*c.r*c.r*c.share; math.Abs(got-want) > 1e-12*want {
			t.Errorf("a circle of %g m about (%g, %g) has %.16g m³, want %.16g m³ within 1e-12 of it", c.r, c.x, c.y, got, want)
		}
		const n = 20000
		var outline [][2]float64
		for j := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(j) / n)
			outline = append(outline, [2]float64{c.x + c.r*cos, c.y + c.r*sin})
		}
		p := g.Polygon("polygon", outline)
		for k := range g.NZ {
			for i := range g.NX {
				const least = 0.1 // [m] of a cell
				if d := z.Weight(i, k) - p.Weight(i, k); math.Abs(d) > 1e-11+c.r*math.Pow(2*math.Pi/n, 2)/8*2/least {
					t.Errorf("cell (%d, %d) of a circle of %g m has a share %g above that of a polygon of %d corners", i, k, c.r, d, n)
				}
			}
		}
	}
}

// TestWhole: the whole of a zone has the cells whose nodes are inside, all of each, in the
// smallest box; an edge through the middle of cells counts on either side.
func TestWhole(t *testing.T) {
	e := []float64{0, 1, 2, 3, 4, 5}
	g := NewPlan(e, e, 1)
	if z := g.Polygon("", [][2]float64{{0.6, 1}, {3.5, 1}, {3.5, 3.3}, {0.6, 3.3}}).Whole(g); z.Share != nil || z.I0 != 1 || z.I1 != 4 || z.K0 != 1 || z.K1 != 3 {
		t.Errorf("the whole of a rectangle is columns %d to %d, rows %d to %d, shares %v", z.I0, z.I1, z.K0, z.K1, z.Share)
	}
	z := g.Polygon("", [][2]float64{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 2.4}, {0, 2.4}}).Whole(g)
	if z.I1 != 3 || z.K1 != 2 || z.Weight(0, 0) != 1 || z.Weight(2, 0) != 1 || z.Weight(0, 1) != 1 || z.Weight(1, 1) != 0 || z.Volume(g) != 4 {
		t.Errorf("the whole of an L is to column %d and row %d, of %g m³, with shares %v", z.I1, z.K1, z.Volume(g), z.Share)
	}
	if z := g.Circle("", 2, 2, 0.5).Whole(g); !z.Empty() {
		t.Errorf("a circle over the corners of four cells has the cells %v", z.Cells(g))
	}
}
