package physics

import (
	"math"
	"slices"

	"soiljoule/mesh"
)

// corner is an exterior corner of a conductor, drawn as a box of cells: one of the
// four cells that meet there is the conductor's, three are ground. Close to it the
// potential is that of the conductor plus a multiple of
//
//	u = r^(2/3)·sin(2φ/3),   0 ≤ φ ≤ 3π/2 from one face of the conductor to the other
//
// whose gradient grows without bound as r^(−1/3). A two-point flux misses it by a
// share that does not fall with the cell at the corner: the current converges as
// h^(4/3) only. So each face near a corner is given the conductance that carries u
// exactly, G·κ,
//
//	κ = |v(end 2) − v(end 1)|·d / (A·|u(Q) − u(P)|),   v = r^(2/3)·cos(2φ/3)
//
// v is conjugate to u, so its difference between the face's ends is the flux of u
// through it; A is the distance of the ends, P and Q the nodes on either side, or the
// face itself on a conductor's, and d their distance. κ depends on the mesh alone and
// tends to 1 as h²/r². The gradient of u has one sign along each axis, so κ > 0.
//
// Away from a corner the field is another, but that round the end of a plate, r^(1/2),
// asks for a κ that differs from 1 in the same way and by more, (1/2)·(3/2) to
// (1/3)·(4/3). So the nearest corner's is kept out to half way to the next conductor,
// be it an image beyond an edge of the grid. In an axisymmetric view that is within a
// radius, over which a corner is a plane one bent round. Boundaries of layers are not
// looked at: where one runs through a corner itself the exponent is not 2/3, and κ takes
// away part of the error only.
//
// Source: Williams, J. Appl. Mech. 19, 526 (1952), Jackson, Classical
// Electrodynamics, §2.11 (both from memory) for u.
type corner struct {
	x, z   float64 // [m]
	sx, sz float64 // [-] ±1: the conductor lies on this side in x and in z
	reach  float64 // [m] κ is applied to faces whose middles are closer
}

// cornerFactors is κ of the faces of a grid near corners.
type cornerFactors struct {
	across, down faceFactors
}

// faceFactors is κ by face of one direction, in the grid's order.
type faceFactors struct {
	start  []int32 // by row of the grid, and their end: index of its first face in face
	face   []int32
	factor []float64 // [-] κ
}

// applyCorners multiplies by κ the conductances of the faces in rows k0 to k1−1 and
// below each.
func (e *Electric) applyCorners(k0, k1 int) {
	apply := func(g []float64, f *faceFactors) {
		if len(f.face) == 0 {
			return
		}
		for j := f.start[k0]; j < f.start[k1]; j++ {
			g[f.face[j]] *= f.factor[j]
		}
	}
	apply(e.Across, &e.corners.across)
	apply(e.Down, &e.corners.down)
}

// findCorners returns the corners of conductors at which κ is known, in row order. A
// conductor that reaches the edge of the grid goes on beyond it and has no corner
// there. One beside an insert, or diagonally across from another conductor, has a
// singularity of another exponent and is left out; so is one with contact resistance,
// whose current density is bounded by voltage over resistance, and so are those of a
// conductor whose outline runs through cells: they are stairs, and no corners of it.
func (e *Electric) findCorners() []corner {
	g := e.Grid
	var out []corner
	for k := 1; k < g.NZ; k++ {
		for i := 1; i < g.NX; i++ {
			closed, at := 0, 0
			for q := range 4 {
				if e.closed[g.Index(i-1+q%2, k-1+q/2)] {
					closed++
					at = q
				}
			}
			if closed != 1 {
				continue
			}
			ci, ck := i-1+at%2, k-1+at/2
			b := e.BodyOf[g.Index(ci, ck)]
			if b < 0 || e.Bodies[b].Contact > 0 || e.Bodies[b].Zone.Cut() {
				continue
			}
			c := corner{x: g.X[i], z: g.Z[k], sx: float64(2*(at%2) - 1), sz: float64(2*(at/2) - 1)}
			c.reach = e.cornerReach(c, ci, ck)
			out = append(out, c)
		}
	}
	return out
}

// cornerReach returns how far [m] the corner of the conductor in column i and row k is
// the nearest thing: half the distance to another conductor, or to the conductor's own
// image beyond an edge of the grid; round an axis, the distance to that.
func (e *Electric) cornerReach(c corner, i, k int) float64 {
	g := e.Grid
	body := int(e.BodyOf[g.Index(i, k)])
	same := func(i, k int) bool {
		b := e.BodyOf[g.Index(i, k)]
		return b >= 0 && e.together(int(b), body)
	}
	own := mesh.Zone{I0: i, I1: i + 1, K0: k, K1: k + 1} // with what it touches of its phase
	for own.I0 > 0 && same(own.I0-1, k) {
		own.I0--
	}
	for own.I1 < g.NX && same(own.I1, k) {
		own.I1++
	}
	for own.K0 > 0 && same(i, own.K0-1) {
		own.K0--
	}
	for own.K1 < g.NZ && same(i, own.K1) {
		own.K1++
	}
	reach := math.Inf(1)
	if own.I0 > 0 { // else the conductor goes on beyond the edge
		reach = math.Min(reach, c.x-g.X[0])
	}
	if own.I1 < g.NX {
		reach = math.Min(reach, g.X[g.NX]-c.x)
	}
	if own.K0 > 0 {
		reach = math.Min(reach, c.z-g.Z[0])
	}
	if own.K1 < g.NZ {
		reach = math.Min(reach, g.Z[g.NZ]-c.z)
	}
	if g.Cylindrical {
		reach = math.Min(reach, c.x)
	}
	for b := range e.Bodies {
		o := e.Bodies[b].Zone
		if !e.Bodies[b].fills() || e.together(b, body) && o.I0 <= own.I1 && o.I1 >= own.I0 && o.K0 <= own.K1 && o.K1 >= own.K0 {
			continue
		}
		dx := math.Max(0, math.Max(g.X[o.I0]-c.x, c.x-g.X[o.I1]))
		dz := math.Max(0, math.Max(g.Z[o.K0]-c.z, c.z-g.Z[o.K1]))
		reach = math.Min(reach, math.Hypot(dx, dz)/2)
	}
	return reach
}

// functions returns u and v at (x, z) [m] with r in units of length [m], and whether the
// point is outside the conductor's quarter of the plane or on its faces.
func (c *corner) functions(x, z, length float64) (u, v float64, ok bool) {
	a, b := c.sx*(x-c.x)/length, c.sz*(z-c.z)/length // the conductor has a > 0 and b > 0
	phi := math.Atan2(-a, b)
	if phi < 0 {
		phi += 2 * math.Pi
	}
	r := math.Cbrt(a*a + b*b) // r^(2/3)
	sin, cos := math.Sincos(2 * phi / 3)
	return r * sin, r * cos, a <= 0 || b <= 0
}

// point is a place in the plane [m].
type point struct{ x, z float64 }

func (p point) to(q point) float64 { return math.Hypot(q.x-p.x, q.z-p.z) }

// kappa returns κ of the face between two ends, with p and q on either side of it;
// false where a point of it is inside the conductor's quarter of the plane. Lengths are
// counted in d, so that κ is the same to the last bit on a mesh twice as large.
func (c *corner) kappa(end1, end2, p, q point) (float64, bool) {
	d := p.to(q)
	_, v1, ok1 := c.functions(end1.x, end1.z, d)
	_, v2, ok2 := c.functions(end2.x, end2.z, d)
	up, _, okp := c.functions(p.x, p.z, d)
	uq, _, okq := c.functions(q.x, q.z, d)
	return math.Abs(v2-v1) * d / (end1.to(end2) * math.Abs(uq-up)), ok1 && ok2 && okp && okq
}

// newCornerFactors returns κ of the faces within reach of a corner, each from the
// corner nearest to its middle.
func (e *Electric) newCornerFactors() cornerFactors {
	var out cornerFactors
	corners := e.findCorners()
	if len(corners) == 0 {
		return out
	}
	g := e.Grid
	for k := range g.NZ {
		out.across.addRow(corners, g.X[1:g.NX], g.ZC[k], k*(g.NX-1), func(i int) (end1, end2, p, q point, ok bool) {
			x, a, b := g.X[i+1], g.Index(i, k), g.Index(i+1, k)
			p, q = point{g.XC[i], g.ZC[k]}, point{g.XC[i+1], g.ZC[k]}
			if e.BodyOf[a] >= 0 {
				p.x = x
			}
			if e.BodyOf[b] >= 0 {
				q.x = x
			}
			return point{x, g.Z[k]}, point{x, g.Z[k+1]}, p, q, e.conforms(a, b)
		})
	}
	for k := range g.NZ - 1 {
		out.down.addRow(corners, g.XC, g.Z[k+1], k*g.NX, func(i int) (end1, end2, p, q point, ok bool) {
			z, a, b := g.Z[k+1], g.Index(i, k), g.Index(i, k+1)
			p, q = point{g.XC[i], g.ZC[k]}, point{g.XC[i], g.ZC[k+1]}
			if e.BodyOf[a] >= 0 {
				p.z = z
			}
			if e.BodyOf[b] >= 0 {
				q.z = z
			}
			return point{g.X[i], z}, point{g.X[i+1], z}, p, q, e.conforms(a, b)
		})
	}
	for _, f := range []*faceFactors{&out.across, &out.down} {
		for len(f.start) <= g.NZ { // nothing lies below the last row
			f.start = append(f.start, int32(len(f.face)))
		}
		f.face, f.factor = slices.Clip(f.face), slices.Clip(f.factor)
	}
	return out
}

// conforms says whether the face between two cells lies in ground or between ground
// and a conductor without contact resistance: of an insert's, of contact and of a
// conductor's own faces the two-point conductance is not that of ground alone.
func (e *Electric) conforms(a, b int) bool {
	for _, c := range [2]int{a, b} {
		if o := e.BodyOf[c]; e.closed[c] && (o < 0 || e.Bodies[o].Contact > 0) {
			return false
		}
	}
	return e.BodyOf[a] < 0 || e.BodyOf[b] < 0
}

// negligible is how little κ may differ from 1 to be left out, on a fine mesh nearly
// everywhere: κ − 1 falls as h²/r², and 1e-5 of a conductance is less than the error of
// any face that is kept.
const negligible = 1e-5

// addRow appends κ of a row of faces, whose middles stand at x and z [m] and whose
// first has the index first.
func (f *faceFactors) addRow(corners []corner, x []float64, z float64, first int, face func(i int) (end1, end2, p, q point, ok bool)) {
	// Mirror images must be treated alike though their coordinates are rounded: what
	// is within a billionth of a reach is outside, and of corners as near as that to
	// each other the larger κ counts.
	const near = 1e-9
	f.start = append(f.start, int32(len(f.face)))
	var inRow []*corner
	for j := range corners {
		if c := &corners[j]; math.Abs(z-c.z) < c.reach {
			inRow = append(inRow, c)
		}
	}
	if len(inRow) == 0 {
		return
	}
	for i := range x {
		best, kappa := math.Inf(1), 1.0
		var end1, end2, p, q point
		read, ok := false, true
		for _, c := range inRow {
			r := point{c.x, c.z}.to(point{x[i], z})
			if r >= c.reach*(1-near) || r > best*(1+near) {
				continue
			}
			if !read {
				end1, end2, p, q, ok = face(i)
				read = true
			}
			if !ok {
				break
			}
			k, valid := c.kappa(end1, end2, p, q)
			if !valid {
				continue
			}
			if r >= best*(1-near) {
				k = math.Max(k, kappa)
			}
			best, kappa = math.Min(r, best), k
		}
		if math.Abs(kappa-1) > negligible {
			f.face = append(f.face, int32(first+i))
			f.factor = append(f.factor, kappa)
		}
	}
}
