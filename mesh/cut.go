package mesh

import "math"

// edge is the outline of a zone that need not run along the edges of cells: corners in
// turn, or a circle where there are none.
type edge struct {
	corners [][2]float64 // [m]
	middle  [2]float64   // [m]
	radius  float64      // [m]
}

// holds says whether a place [m] is inside or no more than near [m] from the outline.
func (e *edge) holds(place [2]float64, near float64) bool {
	if e.corners == nil {
		return math.Hypot(place[0]-e.middle[0], place[1]-e.middle[1]) <= e.radius+near
	}
	inside := false
	for j, p := range e.corners {
		q := e.corners[(j+1)%len(e.corners)]
		dx, dz := q[0]-p[0], q[1]-p[1]
		u := 0.0
		if square := dx*dx + dz*dz; square > 0 {
			u = max(0, min(1, ((place[0]-p[0])*dx+(place[1]-p[1])*dz)/square))
		}
		if math.Hypot(place[0]-p[0]-u*dx, place[1]-p[1]-u*dz) <= near {
			return true
		}
		if x, meets := across(p, q, 0, place[1]); meets && place[0] < x {
			inside = !inside
		}
	}
	return inside
}

// across returns where the side from p to q meets the line along an axis, 0 or 1, at a
// place on the other, and whether it does: of two sides that meet there, one does.
func across(p, q [2]float64, axis int, at float64) (float64, bool) {
	o := 1 - axis
	if (p[o] > at) == (q[o] > at) {
		return 0, false
	}
	return p[axis] + (at-p[o])/(q[o]-p[o])*(q[axis]-p[axis]), true
}

// along returns how far [m] it is from a place outside to the outline, straight along an
// axis, 0 or 1, to a place inside: as far as there where rounding finds no outline between.
func (e *edge) along(axis int, from, to [2]float64) float64 {
	way := to[axis] - from[axis]
	least, sign := math.Abs(way), math.Copysign(1, way)
	meet := func(x float64) {
		if d := sign * (x - from[axis]); d >= 0 {
			least = min(least, d)
		}
	}
	at := from[1-axis]
	if e.corners == nil {
		aside := at - e.middle[1-axis]
		meet(e.middle[axis] - sign*math.Sqrt(max(0, (e.radius-aside)*(e.radius+aside))))
		return least
	}
	for j, p := range e.corners {
		if x, meets := across(p, e.corners[(j+1)%len(e.corners)], axis, at); meets {
			meet(x)
		}
	}
	return least
}

// Cut says whether the zone's outline may run through cells.
func (z Zone) Cut() bool { return z.edge != nil }

// Whole returns the zone of the cells whose nodes this one's outline holds, all of each,
// as ToOutline asks for; Share is nil where they make up a box. A zone that is not cut is
// its own whole.
func (z Zone) Whole(g *Grid) Zone {
	if z.edge == nil {
		return z
	}
	out := Zone{Name: z.Name, I0: z.I1, I1: z.I0, K0: z.K1, K1: z.K0, edge: z.edge}
	inside := make([]float64, (z.I1-z.I0)*(z.K1-z.K0))
	n := 0
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			// A node on the outline is inside, whatever its rounding, so that mirror images
			// have the same cells.
			near := 1e-9 * min(g.X[i+1]-g.X[i], g.Z[k+1]-g.Z[k])
			if w := z.Weight(i, k); w == 1 || w > 0 && z.edge.holds([2]float64{g.XC[i], g.ZC[k]}, near) {
				inside[(k-z.K0)*(z.I1-z.I0)+i-z.I0] = 1
				out.I0, out.I1 = min(out.I0, i), max(out.I1, i+1)
				out.K0, out.K1 = min(out.K0, k), max(out.K1, k+1)
				n++
			}
		}
	}
	if n == 0 {
		return Zone{Name: z.Name}
	}
	if n == (out.I1-out.I0)*(out.K1-out.K0) {
		return out
	}
	for k := out.K0; k < out.K1; k++ {
		row := inside[(k-z.K0)*(z.I1-z.I0):]
		out.Share = append(out.Share, row[out.I0-z.I0:out.I1-z.I0]...)
	}
	return out
}

// ToOutline returns how far [m] it is from the node of a cell outside a cut zone's whole to
// its outline, straight to the node of a neighbour that is of it: 0 to their distance.
func (z Zone) ToOutline(g *Grid, outside, inside int) float64 {
	axis := 0
	if outside%g.NX == inside%g.NX {
		axis = 1
	}
	node := func(c int) [2]float64 { return [2]float64{g.XC[c%g.NX], g.ZC[c/g.NX]} }
	return z.edge.along(axis, node(outside), node(inside))
}
