package physics

import (
	"fmt"
	"math"
	"math/cmplx"

	"soiljoule/mesh"
)

// Body is an electrode: an equipotential at Phase times the supply's voltage.
// Either it fills cells of the grid (a plate, a rod on the axis), or it is a row
// of rods across the section, coupled to its column through Row.
type Body struct {
	Name    string
	Label   string     // its phase as the case writes it, "N" for the neutral
	Phase   complex128 // phasor per volt of supply; 0: the neutral
	Rods    float64    // [-] that the body stands for: current and power of one are 1/Rods
	Zone    mesh.Zone  // the cells it fills, or for a Row, its levels and the mesh column it is coupled to
	Contact float64    // [Ω·m²] contact resistance of its surface
	Row     *Row       // nil: fills Zone
}

// Electric is conservation of charge for RMS phasors, with σ real at mains
// frequency:
//
//	∇·(σ∇Φ) = 0,   q = σ(|∇Re Φ|² + |∇Im Φ|²)
//
// solved per volt of supply, as all electrodes' voltages share one factor. The
// heat of a face is dissipated in its two half-resistances, so the heat of all
// cells equals Re Σ V·I* of the electrodes by algebra.
type Electric struct {
	Balance
	Bodies  []Body
	BodyOf  []int // by cell: index into Bodies, −1 for ground
	Couples []Couple
	Outer   bool // a rim held at 0 V exists
	sigma   []float64
	closed  []bool       // by cell: of a body or an insert, where none of a row's own drop is
	layers  []*rowLayers // by body; nil where it is no row
}

// NewElectric returns the charge law on a grid with the given bodies. rim holds
// the outermost faces of an axisymmetric grid at 0 V. It fails where bodies
// overlap or touch, or where rows are too close for their correction. inserts are
// those of the ground: a row's correction leaves them out.
func NewElectric(g *mesh.Grid, bodies []Body, rim bool, inserts ...Insert) (*Electric, error) {
	e := &Electric{Balance: newBalance(g), Bodies: bodies, BodyOf: make([]int, g.Cells()),
		sigma: make([]float64, g.Cells()), closed: make([]bool, g.Cells()), Outer: rim}
	for c := range e.BodyOf {
		e.BodyOf[c] = -1
	}
	for b := range bodies {
		if bodies[b].Row != nil {
			continue
		}
		for _, c := range bodies[b].Zone.Cells(g) {
			if o := e.BodyOf[c]; o >= 0 {
				return nil, fmt.Errorf("electrodes %q and %q overlap", bodies[o].Name, bodies[b].Name)
			}
			e.BodyOf[c] = b
		}
	}
	for _, f := range []*mesh.FaceFamily{&g.Across, &g.Down} {
		for i, a := range f.First {
			x, y := e.BodyOf[a], e.BodyOf[f.Second[i]]
			if x >= 0 && y >= 0 && x != y && bodies[x].Phase != bodies[y].Phase {
				return nil, fmt.Errorf("electrodes %q and %q touch", bodies[x].Name, bodies[y].Name)
			}
		}
	}
	if rim {
		e.Exchanges = []Exchange{{Name: Rim, Cell: g.Right.Cell, G: make([]float64, len(g.Right.Cell))}}
	}
	for c, b := range e.BodyOf {
		e.closed[c] = b >= 0
	}
	for i := range inserts {
		for _, c := range inserts[i].Zone.Cells(g) {
			e.closed[c] = true
		}
	}
	if err := e.couple(); err != nil {
		return nil, err
	}
	return e, nil
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

// Assemble sets the conductances for conductivity sigma [S/m]. A face between
// ground and a body has the ground's half-resistance and the body's contact
// resistance; inside a body there is no face.
func (e *Electric) Assemble(sigma []float64) error {
	copy(e.sigma, sigma)
	e.assembleFaces(e.Across, &e.Grid.Across)
	e.assembleFaces(e.Down, &e.Grid.Down)
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
	return e.assembleCouples()
}

func (e *Electric) assembleFaces(g []float64, f *mesh.FaceFamily) {
	for i := range g {
		a, b := f.First[i], f.Second[i]
		ra, rb := e.halves(f, i, a, b)
		if ra == 0 && rb == 0 {
			g[i] = 0
		} else {
			g[i] = f.Area[i] / (ra + rb)
		}
	}
}

// halves returns the two half-resistances of a face [Ω·m²]; a body's own is 0,
// and its contact resistance is added to the ground's, which takes all its heat.
func (e *Electric) halves(f *mesh.FaceFamily, i, a, b int) (ra, rb float64) {
	x, y := e.BodyOf[a], e.BodyOf[b]
	if x < 0 {
		ra = f.Before[i] / e.sigma[a]
		if y >= 0 {
			ra += e.Bodies[y].Contact
		}
	}
	if y < 0 {
		rb = f.After[i] / e.sigma[b]
		if x >= 0 {
			rb += e.Bodies[x].Contact
		}
	}
	return ra, rb
}

// ImposeTo sets phi to the bodies' potentials in their cells and rhs to the
// currents that rows drive into theirs, per volt of supply, for the part of the
// phasors that part takes, real or imaginary. Other cells of phi are left as the
// estimate they are.
func (e *Electric) ImposeTo(phi, rhs []float64, part func(complex128) float64) {
	clear(rhs)
	for c, b := range e.BodyOf {
		if b >= 0 {
			phi[c] = part(e.Bodies[b].Phase)
		}
	}
	for _, k := range e.Couples {
		n := len(k.Cell)
		for i, c := range k.Cell {
			for j, r := range k.row {
				rhs[c] += k.Y[i*n+j] * part(e.Bodies[k.Body[r]].Phase)
			}
		}
	}
}

// HeatTo sets q to the Joule heat by cell [W] and current to the bodies'
// currents [A], both at one volt of supply, for the solved phasor re + i·im. It
// returns the power at the electrodes, Re Σ V·I* [W], and the current that
// leaves through the rim.
func (e *Electric) HeatTo(q []float64, current []complex128, re, im []float64) (power float64, rim complex128) {
	clear(q)
	clear(current)
	e.faceHeat(q, current, re, im, e.Across, &e.Grid.Across)
	e.faceHeat(q, current, re, im, e.Down, &e.Grid.Down)
	if e.Outer {
		for i, c := range e.Exchanges[0].Cell {
			g := e.Exchanges[0].G[i]
			q[c] += g * (re[c]*re[c] + im[c]*im[c])
			rim += complex(g*re[c], g*im[c])
		}
	}
	e.coupleHeat(q, current, re, im)
	for b := range e.Bodies {
		power += real(e.Bodies[b].Phase * cmplx.Conj(current[b]))
	}
	return power, rim
}

func (e *Electric) faceHeat(q []float64, current []complex128, re, im, g []float64, f *mesh.FaceFamily) {
	for i, gf := range g {
		if gf == 0 {
			continue
		}
		a, b := f.First[i], f.Second[i]
		dre, dim := re[a]-re[b], im[a]-im[b]
		heat := gf * (dre*dre + dim*dim)
		switch x, y := e.BodyOf[a], e.BodyOf[b]; {
		case x < 0 && y < 0:
			ra, rb := f.Before[i]/e.sigma[a], f.After[i]/e.sigma[b]
			share := ra / (ra + rb)
			q[a] += heat * share
			q[b] += heat * (1 - share)
		case x >= 0 && y < 0:
			q[b] += heat
			current[x] += complex(gf*dre, gf*dim)
		case x < 0:
			q[a] += heat
			current[y] -= complex(gf*dre, gf*dim)
		}
	}
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
