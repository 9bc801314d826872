package cases

import (
	"fmt"
	"math"

	"soiljoule/mesh"
)

// column returns the sides [m] of the mesh column that a row of rods is coupled
// to: mesh.finest wide and centred on the row, or, where a target's side runs
// through the row, beside that side towards the middle of the electrodes, so
// that a mirror image stays one.
func (c *Case) column(e *Electrode) (left, right float64) {
	w := c.Mesh.Finest
	for _, t := range c.Targets {
		for _, side := range []float64{t.Left, t.Right} {
			if math.Abs(side-e.X) < w/2*(1-1e-9) {
				if c.middle() >= e.X {
					return side, side + w
				}
				return side - w, side
			}
		}
	}
	return e.X - w/2, e.X + w/2
}

// middle returns x [m] halfway between the outermost electrodes.
func (c *Case) middle() float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range c.Electrodes {
		lo, hi = math.Min(lo, e.X), math.Max(hi, e.X)
	}
	return (lo + hi) / 2
}

// Bounds returns the sides of the modelled ground [m]: as given, or the reach
// beyond zones and electrodes.
func (c *Case) Bounds() (left, right, bottom float64) {
	r := c.Reach()
	given := func(dst *float64, v float64) {
		if !math.IsNaN(v) {
			*dst = v
		}
	}
	if c.View == Plan {
		left, right, _, _ = c.sides()
		bottom = c.Extent.Bottom + math.Max(r.Heat, thinnest) + math.Min(c.planFrontDown(), farthest)
		given(&bottom, c.Domain.Bottom)
		return left, right, bottom
	}
	left, right, bottom = math.Inf(1), math.Inf(-1), 0
	for _, t := range c.Targets {
		left, right, bottom = math.Min(left, t.Left), math.Max(right, t.Right), math.Max(bottom, t.Bottom)
	}
	for _, e := range c.Electrodes {
		left, right = math.Min(left, e.X-e.Width/2), math.Max(right, e.X+e.Width/2)
		bottom = math.Max(bottom, e.Bottom)
	}
	for _, h := range c.Heats {
		left, right, bottom = math.Min(left, h.Left), math.Max(right, h.Right), math.Max(bottom, h.Bottom)
	}
	back, on, down := c.fronts(bottom)
	reach := r.Heat
	if c.View == Axisymmetric {
		reach = math.Max(r.Heat, r.Potential)
	}
	left, right, bottom = left-reach-math.Min(back, farthest), right+reach+math.Min(on, farthest), bottom+reach+math.Min(down, farthest)
	if c.View == Section && r.Potential > 0 {
		left, right, bottom = math.Min(left, r.Middle-r.Potential), math.Max(right, r.Middle+r.Potential), math.Max(bottom, r.Potential)
	}
	for _, m := range c.Conductors {
		// Metal heats nothing: it needs the ground that it bends the current in.
		around := math.Max(m.Right-m.Left, m.Bottom-m.Top)
		left, right, bottom = math.Min(left, m.Left-around), math.Max(right, m.Right+around), math.Max(bottom, m.Bottom+around)
	}
	if c.View == Axisymmetric {
		left, right = 0, c.Extent.Radius
	}
	if c.View == Section {
		given(&left, c.Domain.Left)
		given(&right, c.Domain.Right)
	}
	given(&bottom, c.Domain.Bottom)
	return left, right, bottom
}

// grid marks every face that must be a cell edge and grades the cells between.
func (c *Case) grid() (*mesh.Grid, error) {
	if c.View == Plan {
		return c.planGrid()
	}
	left, right, bottom := c.Bounds()
	fine := c.Mesh.Finest
	any := math.Inf(1)
	x := []mesh.Mark{{At: left, Size: any}, {At: right, Size: any}}
	z := []mesh.Mark{{At: 0, Size: 4 * fine}, {At: bottom, Size: any}}
	add := func(m *[]mesh.Mark, size float64, at ...float64) {
		first, last := (*m)[0].At, (*m)[1].At
		for _, a := range at {
			if a > first && a < last {
				*m = append(*m, mesh.Mark{At: a, Size: size})
			}
		}
	}
	for _, t := range c.Targets {
		add(&z, fine, t.Top, t.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, t.Radius)
		} else {
			add(&x, fine, t.Left, t.Right)
		}
	}
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		add(&z, fine, e.Top, e.Bottom)
		switch {
		case c.View == Axisymmetric:
			add(&x, c.wallCell(e), e.Radius)
		case e.Width > 0:
			add(&x, fine, e.X-e.Width/2, e.X+e.Width/2)
		default:
			a, b := c.column(e)
			add(&x, fine, a, b)
		}
	}
	for _, h := range c.Heats {
		add(&z, fine, h.Top, h.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, h.InnerRadius, h.Radius)
		} else {
			add(&x, fine, h.Left, h.Right)
		}
	}
	for _, m := range c.Conductors {
		add(&z, fine, m.Top, m.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, m.InnerRadius, m.Radius)
		} else {
			add(&x, fine, m.Left, m.Right)
		}
	}
	for _, l := range c.Layers {
		add(&z, 2*fine, l.Bottom)
	}
	add(&z, any, c.tables()...) // the boiling point has a kink there
	xe, err := mesh.Grade(x, c.Mesh.Growth, c.Mesh.MaxCells)
	if err != nil {
		return nil, c.tooMany(err)
	}
	ze, err := mesh.Grade(z, c.Mesh.Growth, c.Mesh.MaxCells)
	// Whatever the fate, which a run that goes on may change.
	if s := &c.Steam; err == nil && s.interval() && !(onEdge(ze, s.Top) && onEdge(ze, s.Bottom)) {
		add(&z, 2*fine, s.Top, s.Bottom)
		ze, err = mesh.Grade(z, c.Mesh.Growth, c.Mesh.MaxCells)
	}
	if err != nil {
		return nil, c.tooMany(err)
	}
	if n := (len(xe) - 1) * (len(ze) - 1); n > c.Mesh.MaxCells {
		return nil, c.tooMany(fmt.Errorf("%d × %d = %d cells", len(xe)-1, len(ze)-1, n))
	}
	if c.View == Axisymmetric {
		return mesh.NewAxisymmetric(xe, ze, c.Extent.Count), nil
	}
	return mesh.NewSection(xe, ze, c.Extent.Length), nil
}

// edgeWithin [m] is how near to a cell edge a depth counts as on it: to the last of the
// digits in which edges are told.
const edgeWithin = 1e-5

// onEdge says whether a depth [m] is one of the edges.
func onEdge(edges []float64, at float64) bool {
	return math.Abs(edges[mesh.EdgeAt(edges, at)]-at) <= edgeWithin
}

func (c *Case) tooMany(err error) error {
	return fmt.Errorf("mesh.max_cells = %d: %w; allow more, or make mesh.finest (%.3g m) larger", c.Mesh.MaxCells, err, c.Mesh.Finest)
}

// box returns a target's zone; with a margin [m] the box round it, grown by that on
// all sides.
func (c *Case) box(g *mesh.Grid, t Target, margin float64) mesh.Zone {
	switch {
	case c.View == Plan && margin > 0:
		return g.Box(t.Name, t.Left-margin, t.Right+margin, t.Front-margin, t.Back+margin)
	case c.View == Plan:
		return planZone(g, t.Name, t.figure())
	}
	if c.View == Axisymmetric {
		return g.Box(t.Name, 0, t.Radius+margin, t.Top-margin, t.Bottom+margin)
	}
	return g.Box(t.Name, t.Left-margin, t.Right+margin, t.Top-margin, t.Bottom+margin)
}

// margin is one spacing of the electrodes [m].
func (c *Case) margin() float64 {
	if c.View == Plan {
		return math.Max(c.Mesh.Finest, c.farthestNeighbour())
	}
	m := c.widestGap()
	for _, e := range c.Electrodes {
		m = math.Max(m, e.RodSpacing/math.Sqrt(3))
	}
	if c.View == Axisymmetric {
		m = c.Extent.Radius
	}
	return m
}
