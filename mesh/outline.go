package mesh

import (
	"math"
	"slices"
)

// whole is how near to none or all of a cell a share counts as that: what rounding
// leaves of a cell whose side is the outline's.
const whole = 1e-12

// Polygon returns the zone inside an outline, corners (x, z) [m] in either direction,
// the last joined to the first: of each cell the exact share of its area, whatever
// angles the outline has. It must not cross itself. What lies beyond the grid is
// left out. The zone is in the plane of columns and rows, so it is for grids whose
// cells' volumes go by area: sections and plans.
//
// Source: Sutherland & Hodgman, Commun. ACM 17, 32 (1974) (from memory): clipping at
// one edge of the window after the other. Of an outline that is not convex it leaves
// pieces joined by edges that run to and fro along the window, of no area.
func (g *Grid) Polygon(name string, outline [][2]float64) Zone {
	turn := math.Copysign(1, polygonArea(outline, 0, 0))
	var strip, cell, spare [][2]float64
	lastRow := -1
	return g.outlined(name, &edge{corners: outline}, func(i, k int) float64 {
		if k != lastRow {
			lastRow = k
			spare = clip(spare[:0], outline, 1, 1, g.Z[k])
			strip = clip(strip[:0], spare, 1, -1, g.Z[k+1])
		}
		spare = clip(spare[:0], strip, 0, 1, g.X[i])
		cell = clip(cell[:0], spare, 0, -1, g.X[i+1])
		return turn * polygonArea(cell, g.X[i], g.Z[k])
	})
}

// clip appends to dst the part of a polygon on one side of a line across an axis, 0 or
// 1, at a place on it: beyond it where side is 1, before it where side is −1.
func clip(dst, polygon [][2]float64, axis int, side, at float64) [][2]float64 {
	if len(polygon) == 0 {
		return dst
	}
	a := polygon[len(polygon)-1]
	before := side * (a[axis] - at)
	for _, b := range polygon {
		after := side * (b[axis] - at)
		if before < 0 && after > 0 || before > 0 && after < 0 {
			cut := b
			cut[axis] = at
			o := 1 - axis
			cut[o] = a[o] + (b[o]-a[o])*(before/(before-after))
			dst = append(dst, cut)
		}
		if after >= 0 {
			dst = append(dst, b)
		}
		a, before = b, after
	}
	return dst
}

// polygonArea returns the area [m²], below 0 for corners in the one direction, summed
// about a place near the polygon so that no digits are lost far from the origin.
func polygonArea(p [][2]float64, x, z float64) float64 {
	sum := 0.0
	for j, b := range p {
		a := p[(j+len(p)-1)%len(p)]
		sum += (a[0]-x)*(b[1]-z) - (b[0]-x)*(a[1]-z)
	}
	return sum / 2
}

// Circle returns the zone within r [m] of (x, z) [m], of each cell the exact share of
// its area. What lies beyond the grid is left out; see Polygon for which grids.
func (g *Grid) Circle(name string, x, z, r float64) Zone {
	return g.outlined(name, &edge{middle: [2]float64{x, z}, radius: r}, func(i, k int) float64 {
		return discArea(r, g.X[i]-x, g.X[i+1]-x, g.Z[k]-z, g.Z[k+1]-z)
	})
}

// discArea returns the area [m²] that a disc of radius r about the origin has in the
// box from (x0, z0) to (x1, z1): between places where the circle crosses a side's line
// it is bounded above and below by a side or an arc.
func discArea(r, x0, x1, z0, z1 float64) float64 {
	cuts := []float64{x0, x1}
	for _, z := range []float64{z0, z1, 0} {
		if math.Abs(z) <= r {
			x := math.Sqrt((r - z) * (r + z))
			cuts = append(cuts, max(x0, min(x1, x)), max(x0, min(x1, -x)))
		}
	}
	slices.Sort(cuts)
	height := func(x float64) float64 { return math.Sqrt(max(0, (r-x)*(r+x))) }
	area := 0.0
	for j := 1; j < len(cuts); j++ {
		a, b := cuts[j-1], cuts[j]
		middle := (a + b) / 2
		if a == b || math.Abs(middle) >= r {
			continue
		}
		// Under the arc: the chord's trapezium and what the arc rises above it.
		ya, yb := height(a), height(b)
		angle := 2 * math.Asin(min(1, math.Hypot(b-a, yb-ya)/(2*r)))
		arc := (b-a)*(ya+yb)/2 + r*r/2*segment(angle)
		top, bottom := z1*(b-a), z0*(b-a)
		h := height(middle)
		if h < z1 {
			top = arc
		}
		if -h > z0 {
			bottom = -arc
		}
		if min(h, z1) > max(-h, z0) {
			area += top - bottom
		}
	}
	return area
}

// segment returns angle − sin(angle), by its series where the two are near.
func segment(angle float64) float64 {
	if angle > 0.1 {
		return angle - math.Sin(angle)
	}
	q := angle * angle
	return angle * q / 6 * (1 - q/20*(1-q/42*(1-q/72)))
}

// outlined returns the zone within an outline, of cells of which area gives a part [m²].
func (g *Grid) outlined(name string, e *edge, area func(i, k int) float64) Zone {
	all := make([]float64, g.Cells())
	z := Zone{Name: name, I0: g.NX, K0: g.NZ, edge: e}
	for k := range g.NZ {
		for i := range g.NX {
			s := area(i, k) / ((g.X[i+1] - g.X[i]) * (g.Z[k+1] - g.Z[k]))
			switch {
			case !(s > whole):
				continue
			case s > 1-whole:
				s = 1
			}
			all[g.Index(i, k)] = s
			z.I0, z.I1 = min(z.I0, i), max(z.I1, i+1)
			z.K0, z.K1 = min(z.K0, k), max(z.K1, k+1)
		}
	}
	if z.Empty() {
		return Zone{Name: name}
	}
	box := true
	for k := z.K0; k < z.K1; k++ {
		for _, s := range all[g.Index(z.I0, k):g.Index(z.I1, k)] {
			box = box && s == 1
			z.Share = append(z.Share, s)
		}
	}
	if box { // it runs along edges of cells
		z.Share, z.edge = nil, nil
	}
	return z
}
