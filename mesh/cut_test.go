package mesh

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestWholeHoldsNodes: the whole of a figure has the cells whose nodes it holds, and no
// others, at any place in uneven cells; whole again it is the same.
// By definition: the distance from the middle of a circle, and for a square turned by 45°
// the sum of the distances along the axes.
func TestWholeHoldsNodes(t *testing.T) {
	g := uneven()
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		x, z, r := 104+4*rng.Float64(), -296+4*rng.Float64(), 0.5+3*rng.Float64()
		for name, c := range map[string]struct {
			zone   Zone
			inside func(dx, dz float64) bool
		}{
			"circle": {g.Circle("", x, z, r), func(dx, dz float64) bool { return math.Hypot(dx, dz) <= r }},
			"square": {g.Polygon("", [][2]float64{{x + r, z}, {x, z + r}, {x - r, z}, {x, z - r}}), func(dx, dz float64) bool { return math.Abs(dx)+math.Abs(dz) <= r }},
		} {
			whole := c.zone.Whole(g)
			again := whole.Whole(g)
			for k := range g.NZ {
				for i := range g.NX {
					want := 0.0
					if c.inside(g.XC[i]-x, g.ZC[k]-z) {
						want = 1
					}
					if got := whole.Weight(i, k); got != want || again.Weight(i, k) != got {
						t.Errorf("the whole of a %s of %g m about (%g, %g) has %g of the cell (%d, %d), and its whole %g; want %g", name, r, x, z, got, i, k, again.Weight(i, k), want)
					}
				}
			}
			if !whole.Empty() && !whole.Cut() {
				t.Errorf("the whole of a %s is not cut", name)
			}
		}
	}
}

// TestToOutline: how far it is from a node outside to an outline is where halving the way
// between the nodes finds that inside begins; of an outline that is not convex, the first
// such place.
// Source: bisection, to 1e-12 of a way of a metre, with a rule of its own for what is inside.
func TestToOutline(t *testing.T) {
	g := uneven()
	star := make([][2]float64, 10) // about (105.1, −294.2)
	for j := range star {
		sin, cos := math.Sincos(2*math.Pi*float64(j)/10 + 0.2)
		r := []float64{3.7, 1.9}[j%2]
		star[j] = [2]float64{105.1 + r*cos, -294.2 + r*sin}
	}
	// A place is inside a polygon where the angles under which its sides are seen sum to a turn.
	turned := func(x, z float64) bool {
		sum := 0.0
		for j, p := range star {
			q := star[(j+1)%len(star)]
			a, b, c, d := p[0]-x, p[1]-z, q[0]-x, q[1]-z
			sum += math.Atan2(a*d-b*c, a*c+b*d)
		}
		return math.Abs(sum) > math.Pi
	}
	for name, c := range map[string]struct {
		zone   Zone
		inside func(x, z float64) bool
	}{
		"circle": {g.Circle("", 105.1, -294.2, 2.9), func(x, z float64) bool { return math.Hypot(x-105.1, z+294.2) < 2.9 }},
		"star":   {g.Polygon("", star), turned},
	} {
		whole := c.zone.Whole(g)
		faces := 0
		for k := 1; k < g.NZ-1; k++ {
			for i := 1; i < g.NX-1; i++ {
				if whole.Weight(i, k) > 0 {
					continue
				}
				for _, step := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
					p, q := i+step[0], k+step[1]
					if whole.Weight(p, q) == 0 {
						continue
					}
					faces++
					dx, dz := g.XC[p]-g.XC[i], g.ZC[q]-g.ZC[k]
					at := func(u float64) bool { return c.inside(g.XC[i]+u*dx, g.ZC[k]+u*dz) }
					lo, hi := 0.0, 1.0
					for u := 0.01; u < 1; u += 0.01 {
						if at(u) {
							hi = u
							break
						}
						lo = u
					}
					for range 50 {
						if m := (lo + hi) / 2; at(m) {
							hi = m
						} else {
							lo = m
						}
					}
					want := hi * math.Hypot(dx, dz)
					if got := whole.ToOutline(g, g.Index(i, k), g.Index(p, q)); math.Abs(got-want) > 1e-11 {
						t.Errorf("from the node (%d, %d) toward (%d, %d) a %s is %.15g m away, want %.15g m", i, k, p, q, name, got, want)
					}
				}
			}
		}
		if faces < 8 {
			t.Errorf("a %s has %d faces, too few to tell", name, faces)
		}
	}
}

// TestNodeOnAnOutline: a node on an outline is inside it on all sides, whatever the rounding.
func TestNodeOnAnOutline(t *testing.T) {
	e := []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6}
	g := NewPlan(e, e, 1)
	z := g.Polygon("", [][2]float64{{0.15, 0.05}, {0.45, 0.05}, {0.45, 0.35}, {0.15, 0.35}}).Whole(g)
	if z.Share != nil || z.I0 != 1 || z.I1 != 5 || z.K0 != 0 || z.K1 != 4 || !z.Cut() {
		t.Errorf("a square with nodes on its sides has columns %d to %d and rows %d to %d, shares %v", z.I0, z.I1, z.K0, z.K1, z.Share)
	}
	if d := z.ToOutline(g, g.Index(0, 1), g.Index(1, 1)); math.Abs(d-0.1) > 1e-15 {
		t.Errorf("from a node to the next, on the outline, it is %g m, want 0.1 m", d)
	}
}
