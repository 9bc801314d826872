package physics

import (
	"fmt"
	"math"
	"math/cmplx"

	"soiljoule/mesh"
)

// Body is an electrode: an equipotential at Phase times the supply's voltage.
// Either it fills cells of the grid (a plate, a rod on the axis), or it is a row
// of rods across the section, coupled to its column through Row, or an upright rod in a
// level slab, coupled to the cells about it through Rod; the last leaves Zone empty.
type Body struct {
	Name    string
	Label   string     // its phase as the case writes it, "N" for the neutral
	Phase   complex128 // phasor per volt of supply; 0: the neutral
	Rods    float64    // [-] that the body stands for: current and power of one are 1/Rods
	Zone    mesh.Zone  // the cells it fills, those whose nodes it holds (Whole); for a Row, its levels and the mesh column it is coupled to
	Contact float64    // [Ω·m²] contact resistance of its surface
	Row     *Row       // nil: no row
	Rod     *Rod       // nil: no rod
	// Floating says that no phase feeds it: buried metal, whose net current is 0 and
	// whose potential is found. It fills Zone; Phase is 0.
	Floating bool
}

// fills says whether the body holds the cells of its zone at its potential.
func (b *Body) fills() bool { return b.Row == nil && b.Rod == nil && !b.Zone.Empty() }

// Electric is conservation of charge for RMS phasors, with σ real at mains
// frequency:
//
//	∇·(σ∇Φ) = 0,   q = σ(|∇Re Φ|² + |∇Im Φ|²)
//
// solved per volt of supply: what the bodies are at is Applied, and all of it shares
// one factor. The
// heat of a face is dissipated in its two half-resistances, so the heat of all
// cells equals Re Σ V·I* of the electrodes by algebra.
type Electric struct {
	Balance
	Bodies  []Body
	BodyOf  []int16 // by cell: index into Bodies, −1 for ground
	Couples []Couple
	Rods    []RodCouple
	Ends    *Ends   // the ground above and below a slab, between its rods; nil: Fringe tells of it (JoinEnds)
	Fringe  float64 // [-] without Ends: current and power of finite rods over those of the slab alone; 0: 1
	Outer   bool    // a rim held at 0 V exists
	// Applied is each body's potential [-] per volt of supply, for ImposeTo and the
	// heat; nil: its Phase.
	Applied []complex128
	at      []complex128     // of Applied, by body, for Ends
	slab    float64          // [S/m] σ̂ of the heat last found
	sigma   []float64        // [S/m] that of the last Assemble, the caller's
	closed  []bool           // by cell: of a body or an insert, where none of a row's own drop is
	near    *nearWork        // of the rods
	layers  []*rowLayers     // by body; nil where it is no row
	spans   [][]span         // by row: the cells of bodies
	surface [2][]surfaceFace // of bodies, between columns and between rows, in the grid's order
	corners cornerFactors    // of bodies
	cuts    [2]cutFaces      // as surface
}

// span is columns i0 to i1−1 of a row, a body's.
type span struct{ i0, i1, body int }

// surfaceFace is a face between a body and ground.
type surfaceFace struct {
	face, first, second int // index of the face, cells before and after it
	body                int
	out                 float64 // 1 where the body is before the face, −1 where it is after
}

// NewElectric returns the charge law on a grid with the given bodies. rim holds
// the outermost faces of an axisymmetric grid at 0 V. It fails where bodies
// overlap or touch, where rows are too close for their correction, or where rods do not
// suit the cells (coupleRods). inserts are those of the ground: a row's correction leaves
// them out, and a rod's current.
func NewElectric(g *mesh.Grid, bodies []Body, rim bool, inserts ...Insert) (*Electric, error) {
	e := &Electric{Balance: newBalance(g), Bodies: bodies, BodyOf: make([]int16, g.Cells()),
		closed: make([]bool, g.Cells()), spans: make([][]span, g.NZ), Outer: rim}
	if len(bodies) > math.MaxInt16 {
		return nil, fmt.Errorf("%d electrodes are more than %d", len(bodies), math.MaxInt16)
	}
	for c := range e.BodyOf {
		e.BodyOf[c] = -1
	}
	for b := range bodies {
		if !bodies[b].fills() {
			continue
		}
		bodies[b].Zone = bodies[b].Zone.Whole(g)
		for _, c := range bodies[b].Zone.Cells(g) {
			if o := e.BodyOf[c]; o >= 0 {
				return nil, fmt.Errorf("electrodes %q and %q overlap", bodies[o].Name, bodies[b].Name)
			}
			e.BodyOf[c] = int16(b)
		}
		for z, k := bodies[b].Zone, bodies[b].Zone.K0; k < z.K1; k++ {
			for i := z.I0; i < z.I1; i++ {
				switch n := len(e.spans[k]) - 1; {
				case z.Weight(i, k) == 0:
				case n >= 0 && e.spans[k][n].i1 == i && e.spans[k][n].body == b:
					e.spans[k][n].i1++
				default:
					e.spans[k] = append(e.spans[k], span{i, i + 1, b})
				}
			}
		}
	}
	if err := e.findSurface(); err != nil {
		return nil, err
	}
	e.findCuts()
	if rim {
		e.Exchanges = []Exchange{{Name: Rim, Cell: g.Right.Cell, G: make([]float64, len(g.Right.Cell))}}
	}
	for c, b := range e.BodyOf {
		e.closed[c] = b >= 0
	}
	for i := range inserts {
		for _, c := range inserts[i].Zone.Cells(g) {
			e.closed[c] = e.closed[c] || inserts[i].Zone.Contains(c%g.NX, c/g.NX)
		}
	}
	e.corners = e.newCornerFactors()
	if err := e.couple(); err != nil {
		return nil, err
	}
	if err := e.coupleRods(inserts); err != nil {
		return nil, err
	}
	return e, nil
}

// findSurface lists the faces between bodies and ground. It fails where bodies of
// different phases touch, or a floating one touches another.
func (e *Electric) findSurface() error {
	g := e.Grid
	note := func(list *[]surfaceFace, face, first, second int) error {
		x, y := int(e.BodyOf[first]), int(e.BodyOf[second])
		switch {
		case x >= 0 && y >= 0:
			if !e.together(x, y) {
				return fmt.Errorf("electrodes %q and %q touch", e.Bodies[x].Name, e.Bodies[y].Name)
			}
		case x >= 0:
			*list = append(*list, surfaceFace{face, first, second, x, 1})
		case y >= 0:
			*list = append(*list, surfaceFace{face, first, second, y, -1})
		}
		return nil
	}
	for k := range g.NZ {
		if len(e.spans[k]) == 0 {
			continue
		}
		for i := range g.NX - 1 {
			c := g.Index(i, k)
			if err := note(&e.surface[0], k*(g.NX-1)+i, c, c+1); err != nil {
				return err
			}
		}
	}
	for k := range g.NZ - 1 {
		if len(e.spans[k]) == 0 && len(e.spans[k+1]) == 0 {
			continue
		}
		for i := range g.NX {
			c := g.Index(i, k)
			if err := note(&e.surface[1], c, c, c+g.NX); err != nil {
				return err
			}
		}
	}
	return nil
}

// HasImaginary says whether any body's phasor has an imaginary part: without,
// one real solve is enough.
func (e *Electric) HasImaginary() bool {
	for _, b := range e.Bodies {
		if imag(b.Phase) != 0 {
			return true
		}
	}
	return false
}

// Assemble sets the conductances for conductivity sigma [S/m], which it keeps and only
// reads: HeatTo needs it as it is here. A face between ground and a body has the
// ground's half-resistance, or that as far as the outline of a body that has one (cutFace),
// and the body's contact resistance; inside a body there is no face.
func (e *Electric) Assemble(sigma []float64) error {
	e.AssembleRows(sigma, 0, e.Grid.NZ)
	return e.AssembleRest(sigma)
}

// AssembleRows is the part of Assemble that is done for some rows and the faces below
// each, see Balance for such methods; AssembleRest is what is left once all rows are
// done.
func (e *Electric) AssembleRows(sigma []float64, k0, k1 int) {
	g := e.Grid
	for k := k0; k < k1; k++ {
		row := e.acrossRow(k)
		acrossHarmonic(row, rowOf(sigma, g.NX, k), g, g.Height[k])
		for _, s := range e.spans[k] {
			for i := max(s.i0-1, 0); i < min(s.i1, g.NX-1); i++ {
				c := g.Index(i, k)
				row[i] = e.besideBody(g.Outline[i+1]*g.Height[k], g.Across.Before[i], g.Across.After[i], sigma, c, c+1)
			}
		}
		if k == g.NZ-1 {
			break
		}
		row = e.downRow(k)
		downHarmonic(row, rowOf(sigma, g.NX, k), rowOf(sigma, g.NX, k+1), g, k)
		for _, spans := range [2][]span{e.spans[k], e.spans[k+1]} {
			for _, s := range spans {
				for i := s.i0; i < s.i1; i++ {
					c := g.Index(i, k)
					row[i] = e.besideBody(g.Plan[i], g.Down.Before[k], g.Down.After[k], sigma, c, c+g.NX)
				}
			}
		}
	}
	e.applyCuts(sigma, k0, k1)
	e.applyCorners(k0, k1)
}

// AssembleRest ends what AssembleRows began.
func (e *Electric) AssembleRest(sigma []float64) error {
	e.sigma = sigma
	if e.Outer {
		x := &e.Exchanges[0]
		f := &e.Grid.Right
		for i, c := range f.Cell {
			x.G[i] = f.Area[i] * sigma[c] / f.Distance[i]
			if e.BodyOf[c] >= 0 {
				x.G[i] = 0
			}
		}
	}
	e.assembleRods()
	return e.assembleCouples()
}

// besideBody returns the conductance of a face between cells a and b of which one at
// least is a body's: its own half-resistance is 0, and its contact resistance is added
// to the ground's.
func (e *Electric) besideBody(area, before, after float64, sigma []float64, a, b int) float64 {
	switch x, y := e.BodyOf[a], e.BodyOf[b]; {
	case x < 0:
		return area / (before/sigma[a] + e.Bodies[y].Contact)
	case y < 0:
		return area / (after/sigma[b] + e.Bodies[x].Contact)
	}
	return 0
}

// ImposeTo sets phi to the bodies' potentials in their cells and rhs to the
// currents that rows and rods drive into theirs, per volt of supply, for the part of the
// potentials applied that part takes, real or imaginary. Other cells of phi are left as the
// estimate they are.
func (e *Electric) ImposeTo(phi, rhs []float64, part func(complex128) float64) {
	clear(rhs)
	for k, spans := range e.spans {
		for _, s := range spans {
			fill(rowOf(phi, e.Grid.NX, k)[s.i0:s.i1], part(e.applied(s.body)))
		}
	}
	for _, k := range e.Couples {
		n := len(k.Cell)
		for i, c := range k.Cell {
			for j, r := range k.row {
				rhs[c] += k.Y[i*n+j] * part(e.applied(k.Body[r]))
			}
		}
	}
	for i := range e.Rods {
		r := &e.Rods[i]
		for m, weight := range r.Part {
			v := r.Y[m] * part(e.applied(r.Body))
			for j, c := range r.Cell {
				rhs[c] += weight[j] * v
			}
		}
	}
}

// HeatTo sets q to the Joule heat by cell [W] and current to the bodies'
// currents [A], both at one volt of supply, for the solved phasor re + i·im; im is
// nil where no body has an imaginary part. It returns the power at the electrodes,
// Re Σ V·I* [W], and the current that leaves through the rim.
func (e *Electric) HeatTo(q []float64, current []complex128, re, im []float64) (power float64, rim complex128) {
	e.HeatRows(q, re, im, 0, e.Grid.NZ)
	return e.HeatRest(q, current, re, im)
}

// HeatRows is the part of HeatTo that is done for some rows of q, see Balance for such
// methods; HeatRest is what is left once all rows are done. The heat of a row's cells
// sums that of their faces to the left, to the right, above and below, in this order.
func (e *Electric) HeatRows(q, re, im []float64, k0, k1 int) {
	if k0 >= k1 {
		return
	}
	nx := e.Grid.NX
	here := rowOf(q, nx, k0)
	clear(here)
	if k0 > 0 {
		e.heatBelow(nil, here, re, im, k0-1)
	}
	for k := k0; k < k1; k++ {
		e.heatWithin(here, re, im, k)
		var below []float64
		if k+1 < k1 {
			below = rowOf(q, nx, k+1)
		}
		if k+1 < e.Grid.NZ {
			e.heatBelow(here, below, re, im, k)
		}
		here = below
	}
	if e.Outer {
		x := &e.Exchanges[0]
		for i, to := x.within(nx, k0, k1); i < to; i++ {
			c := x.Cell[i]
			q[c] += x.G[i] * square(re[c], imagAt(im, c))
		}
	}
}

// heatWithin puts the heat of the faces between the cells of row k before what q
// holds, the row's heat from above.
func (e *Electric) heatWithin(q, re, im []float64, k int) {
	g := e.Grid
	conductance := e.acrossRow(k)
	n := len(conductance)
	before, after := g.Across.Before[:n], g.Across.After[:n]
	sigma, body := rowOf(e.sigma, g.NX, k), rowOf(e.BodyOf, g.NX, k)
	re = rowOf(re, g.NX, k)
	if im != nil {
		im = rowOf(im, g.NX, k)
	}
	west := 0.0
	for i, gf := range conductance {
		east, next := 0.0, 0.0
		if gf != 0 {
			heat := gf * square(re[i]-re[i+1], imagAt(im, i)-imagAt(im, i+1))
			share := shareOfFirst(before[i], after[i], sigma[i], sigma[i+1], body[i], body[i+1])
			east, next = heat*share, heat*(1-share)
		}
		q[i] = west + east + q[i]
		west = next
	}
	q[n] = west + q[n]
}

// heatBelow adds to upper, row k, its share of the heat of the faces below it, and sets
// lower, the next row, to its own; nil: not wanted.
func (e *Electric) heatBelow(upper, lower, re, im []float64, k int) {
	g := e.Grid
	nx := g.NX
	before, after := g.Down.Before[k], g.Down.After[k]
	base := k * nx
	sigma, body := e.sigma[base:base+2*nx], e.BodyOf[base:base+2*nx]
	re = re[base : base+2*nx]
	if im != nil {
		im = im[base : base+2*nx]
	}
	for i, gf := range e.downRow(k) {
		first, second := 0.0, 0.0
		if gf != 0 {
			heat := gf * square(re[i]-re[i+nx], imagAt(im, i)-imagAt(im, i+nx))
			share := shareOfFirst(before, after, sigma[i], sigma[i+nx], body[i], body[i+nx])
			first, second = heat*share, heat*(1-share)
		}
		if upper != nil {
			upper[i] += first
		}
		if lower != nil {
			lower[i] = second
		}
	}
}

// shareOfFirst returns the share of a face's heat that goes to the cell before it: that
// of its half-resistance; next to a body all goes to the ground.
func shareOfFirst(before, after, first, second float64, x, y int16) float64 {
	if x&y >= 0 { // a body's index is not negative
		if x < 0 {
			return 1
		}
		return 0
	}
	ra, rb := before/first, after/second
	return ra / (ra + rb)
}

func square(x, y float64) float64 { return x*x + y*y }

// imagAt returns the imaginary part in cell c, 0 where there is none.
func imagAt(im []float64, c int) float64 {
	if im == nil {
		return 0
	}
	return im[c]
}

// HeatRest ends what HeatRows began: rows of rods, rods, currents and power. Currents
// and power are those of finite rods; q is the slab's alone, dealt as short rods heat it
// (Ends), and the rest of the power is Beyond times as much.
func (e *Electric) HeatRest(q []float64, current []complex128, re, im []float64) (power float64, rim complex128) {
	e.surfaceCurrents(current, re, im)
	if e.Outer {
		for i, c := range e.Exchanges[0].Cell {
			g := e.Exchanges[0].G[i]
			rim += complex(g*re[c], g*imagAt(im, c))
		}
	}
	e.coupleHeat(q, current, re, im)
	e.rodHeat(q, current, re, im)
	e.beyond(current)
	if e.Ends != nil {
		v := e.potentials()
		e.slab = e.Ends.Sigma(v, current)
		e.Ends.AddTo(current, v, e.slab)
		e.Ends.deal(q, v, e.Rods)
	}
	for b := range e.Bodies {
		power += real(e.applied(b) * cmplx.Conj(current[b]))
	}
	return power, rim
}

// Phasor returns the unit phasor of phase "A" to "F" in a supply of 1 (two
// poles), 3 or 6 phases, and 0 for the neutral "N".
func Phasor(phases int, name string) complex128 {
	if name == "N" {
		return 0
	}
	i := int(name[0] - 'A')
	switch {
	case phases == 1:
		return complex(1-2*float64(i), 0)
	case i == 0:
		return 1
	}
	s, c := math.Sincos(-2 * math.Pi * float64(i) / float64(phases))
	if phases == 6 && i == 3 {
		return -1
	}
	return complex(c, s)
}
