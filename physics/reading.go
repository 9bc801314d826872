package physics

import (
	"math"

	"soiljoule/mesh"
)

// Reading is the temperature at one place between the nodes of a grid. The ground is
// cut into pieces in which the field is smooth: its layers, and where there are
// inserts, what lies outside and inside of their faces. Within a piece the reading is
// the cubic through four places, down and then across, so its error is of fourth order
// in the cells where bilinear reading has h²/8·∂²T/∂z². A piece's end at a layer's
// boundary is one of the places: its temperature T_f is where the cubics of both sides
// carry one flux,
//
//	λ₁ p₁′(z_f) = λ₂ p₂′(z_f),  p₁(z_f) = p₂(z_f) = T_f,
//
// each through T_f and the three nearest nodes of its side; with one node a side it is
// T_f = (a₁T₁ + a₂T₂)/(a₁ + a₂), a = 2λ/Δz. λ is that of the ground as found: ground
// that dried out and cooled again conducts otherwise.
//
// A piece of fewer nodes is read at a lower order, one next to an insert linearly, and
// across an electrode's face, where the Joule heat jumps, the error is of second order.
// Between the outermost node and the ground's surface or edge the piece goes on; beyond
// the edge the reading is that at the edge. In a level grid z is y, and the slab is one
// piece but for its inserts. Round an axis the field is even in r: the
// nodes next to it are mirrored, at −r.
//
// The cubic does not go beyond the two places beside it by more than the parabola of
// twice the lesser of the curvatures of its two halves: a field that dies away from node
// to node, by whatever ratio, is then never read beyond its end. Where a node that it uses is
// at the boiling point, where the field has corners, the reading is bilinear, and never above
// the boiling point of ground that is not dry.
//
// Source: Lagrange's and Newton's forms of the interpolating polynomial, Abramowitz &
// Stegun (1964), §25.2 (from memory); the bound after Suresh & Huynh, J. Comput. Phys.
// 136, 83 (1997) (from memory).
type Reading struct {
	ground *Ground
	grid   *mesh.Grid
	x, z   float64 // [m]
	across line    // over columns
	down   []line  // by column that across uses: over its rows

	cells []int // that the reading uses and that can boil
	rows  []int // of those
	row   int   // of the place; −1: it lies in an insert
}

// plateauMargin is how near to the boiling point a cell counts as boiling [K].
const plateauMargin = 0.01

// Reading returns the reading at (x, z) [m].
func (g *Ground) Reading(x, z float64) *Reading {
	r := g.reading(x, z, 3)
	for _, c := range r.uses() {
		if g.InInsert(c) {
			r = g.reading(x, z, 1)
			break
		}
	}
	for _, c := range r.uses() {
		if !math.IsInf(g.Store(c).BoilingPoint, 1) {
			r.cells, r.rows = append(r.cells, c), append(r.rows, g.Row(c))
		}
	}
	return r
}

// reading is Reading with polynomials of a degree, 1 or 3.
func (g *Ground) reading(x, z float64, degree int) *Reading {
	m := g.Grid
	x = math.Min(math.Max(x, m.X[0]), m.X[m.NX])
	z = math.Min(math.Max(z, m.Z[0]), m.Z[m.NZ])
	i, k := m.Column(x), m.Row(z)
	r := &Reading{ground: g, grid: m, x: x, z: z, row: -1}
	r.across = newLine(m.X, m.XC, x, i, degree, m.Cylindrical && m.X[0] == 0,
		func(i int) (int, float64) { return g.asFound(i, k) })
	for i := r.across.first; i <= r.across.last; i++ {
		r.down = append(r.down, newLine(m.Z, m.ZC, z, k, degree, false,
			func(k int) (int, float64) { return g.asFound(i, k) }))
	}
	if !g.InInsert(m.Index(i, k)) {
		r.row = k
	}
	return r
}

// asFound returns what lies in column i and row k, a number that neighbours of one
// piece share, and its thermal conductivity as found [W/(m·K)].
func (g *Ground) asFound(i, k int) (piece int, lambda float64) {
	for j := len(g.Inserts) - 1; j >= 0; j-- {
		if b := &g.Inserts[j]; b.Zone.Contains(i, k) {
			return len(g.Soils) + j, b.Conductivity
		}
	}
	l := g.Layer[k]
	return l, g.thermal[l].Lambda(g.Soils[l].Saturation)
}

// boilingAt returns the boiling point [K] at depth z [m] in row k: straight between the
// rows' nodes, as the bilinear reading of boiling ground is.
func (g *Ground) boilingAt(z float64, k int) float64 {
	other := k + 1
	if z < g.Grid.ZC[k] {
		other = k - 1
	}
	tb := g.Stores[k].BoilingPoint
	if other < 0 || other >= g.Grid.NZ || math.IsInf(tb, 1) {
		return tb
	}
	u := (z - g.Grid.ZC[k]) / (g.Grid.ZC[other] - g.Grid.ZC[k])
	return tb + u*(g.Stores[other].BoilingPoint-tb)
}

// uses returns the cells that the reading uses.
func (r *Reading) uses() []int {
	var out []int
	for n := range r.down {
		for k := r.down[n].first; k <= r.down[n].last; k++ {
			out = append(out, r.grid.Index(r.across.first+n, k))
		}
	}
	return out
}

// Temperature returns the reading [K] of temperatures t [K] by cell, at the time that the
// ground was last set to.
func (r *Reading) Temperature(t []float64) float64 {
	for j, c := range r.cells {
		if t[c] >= r.ground.Stores[r.rows[j]].BoilingPoint-plateauMargin {
			return r.grid.At(t, r.x, r.z)
		}
	}
	var columns [4]float64 // a cubic's; a straight line's are two, or beside an insert three
	for n := range r.down {
		columns[n] = r.down[n].value(t, r.across.first+n, r.grid.NX)
	}
	v := r.across.value(columns[:], -r.across.first, 1)
	if r.row < 0 {
		return v
	}
	return math.Min(v, r.ground.boilingAt(r.z, r.row))
}

// line reads a field at a place on a line of nodes from up to four places of one
// piece of it.
type line struct {
	at          float64   // [m] the place
	places      []float64 // [m] increasing
	terms       [][]term  // what makes the value at each of them
	pair        int       // the place lies between this one of places and the next, or beyond
	first, last int       // nodes that terms use
}

// term is a node's share in a value.
type term struct {
	node   int
	weight float64
}

// newLine returns the line through cells of edges and nodes [m] that reads at a place in
// cell j, by a polynomial of a degree, 1 or 3. even: the field is even about 0, the
// first edge. found returns the piece that a cell belongs to and its conductivity.
func newLine(edges, nodes []float64, at float64, j, degree int, even bool, found func(int) (int, float64)) line {
	piece, _ := found(j)
	in := func(i int) bool {
		if i < 0 || i >= len(nodes) {
			return false
		}
		p, _ := found(i)
		return p == piece
	}
	a, b := j, j // of the piece's cells those that may count
	for in(a-1) && j-a < degree {
		a--
	}
	for in(b+1) && b-j < degree {
		b++
	}

	l := line{at: at}
	add := func(place float64, terms ...term) {
		l.places, l.terms = append(l.places, place), append(l.terms, terms)
	}
	switch {
	case even && a == 0:
		for i := b; i >= 0; i-- {
			add(-nodes[i], term{i, 1})
		}
	case a > 0 && !in(a-1):
		add(edges[a], end(edges, nodes, a, degree, found)...)
	}
	for i := a; i <= b; i++ {
		add(nodes[i], term{i, 1})
	}
	if b < len(nodes)-1 && !in(b+1) {
		add(edges[b+1], end(edges, nodes, b+1, degree, found)...)
	}

	// Of these the degree+1 with the place in the middle, or next to it at an end.
	n := len(l.places)
	for l.pair < n-2 && l.places[l.pair+1] <= at {
		l.pair++
	}
	low := max(0, min(l.pair-(degree-1)/2, n-degree-1))
	high := min(n, low+degree+1)
	l.places, l.terms, l.pair = l.places[low:high], l.terms[low:high], l.pair-low

	l.first, l.last = j, j
	for _, terms := range l.terms {
		for _, t := range terms {
			l.first, l.last = min(l.first, t.node), max(l.last, t.node)
		}
	}
	return l
}

// end returns what makes the value at the edge before node e, between two pieces:
// polynomials through that value and up to degree nodes of either side carry one flux.
func end(edges, nodes []float64, e, degree int, found func(int) (int, float64)) []term {
	f := edges[e]
	var out []term
	rise := 0.0 // of the flux out of both sides' nodes with the value at the edge
	side := func(from, step int) {
		piece, lambda := found(from)
		var at []int
		for i := from; i >= 0 && i < len(nodes) && len(at) < degree; i += step {
			if p, _ := found(i); p != piece {
				break
			}
			at = append(at, i)
		}
		// The derivative at f, towards the other side, of the polynomial through f and at.
		lambda *= -float64(step)
		for _, i := range at {
			rise += lambda / (f - nodes[i])
			w := lambda / (f - nodes[i])
			for _, o := range at {
				if o != i {
					w *= (f - nodes[o]) / (nodes[i] - nodes[o])
				}
			}
			out = append(out, term{i, w})
		}
	}
	side(e-1, -1)
	side(e, 1)
	for n := range out {
		out[n].weight /= rise
	}
	return out
}

// value reads a field whose node n is field[offset + n·stride].
func (l *line) value(field []float64, offset, stride int) float64 {
	var v [4]float64
	for p, terms := range l.terms {
		for _, t := range terms {
			v[p] += t.weight * field[offset+t.node*stride]
		}
	}
	n := len(l.places)
	if n == 1 {
		return v[0]
	}
	s, x, j := l.places, l.at, l.pair
	straight := v[j] + (x-s[j])*(v[j+1]-v[j])/(s[j+1]-s[j])
	if n == 2 {
		return straight
	}
	// curve is half the curvature about place p.
	curve := func(p int) float64 {
		return ((v[p+1]-v[p])/(s[p+1]-s[p]) - (v[p]-v[p-1])/(s[p]-s[p-1])) / (s[p+1] - s[p-1])
	}
	bow := (x - s[j]) * (x - s[j+1])
	first, second, third := curve(1), 0.0, 0.0 // of Newton's form
	second = first
	if n == 4 {
		second = curve(2)
		third = (second - first) / (s[3] - s[0])
	}
	cubic := straight
	switch j {
	case 0:
		cubic += bow * (first + (x-s[2])*third)
	case 1:
		cubic += bow * (first + (x-s[0])*third)
	default:
		cubic += bow * (second + (x-s[1])*third)
	}
	least := 0.0
	if first*second > 0 {
		least = math.Copysign(math.Min(math.Abs(first), math.Abs(second)), first)
	}
	parabola := straight + 2*least*bow
	low := math.Min(math.Min(v[j], v[j+1]), math.Min(straight, parabola))
	high := math.Max(math.Max(v[j], v[j+1]), math.Max(straight, parabola))
	return math.Min(math.Max(cubic, low), high)
}
