package cases

import (
	"fmt"
	"math"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// conductors returns the bodies of buried metal: in an axisymmetric view one in each cell,
// in a section all of extent.length of it.
func (c *Case) conductors(g *mesh.Grid) ([]physics.Body, error) {
	var out []physics.Body
	for i := range c.Conductors {
		m := &c.Conductors[i]
		zone, cells := g.Box(m.Name, m.Left, m.Right, m.Top, m.Bottom), 1.0
		switch c.View {
		case Axisymmetric:
			cells = c.Extent.Count
			zone = g.Box(m.Name, m.InnerRadius, m.Radius, m.Top, m.Bottom)
		case Plan:
			var err error
			if zone, err = c.planMetal(g, m); err != nil {
				return nil, err
			}
		}
		if zone.Empty() { // places nearer than a billionth of the ground are one
			return nil, fmt.Errorf("conductor.%s: is too thin for modelled ground of this size; make it thicker, or domain smaller", m.Name)
		}
		out = append(out, physics.Body{Name: m.Name, Label: "-", Rods: cells, Zone: zone, Floating: true})
	}
	return out, nil
}

// checkReached refuses conductors that no electrode and no rim at 0 V reaches through
// ground, as where metal and insulating bodies shut them in: they have no potential. It
// refuses as well more bodies of potentials to be found than memory has room for.
func (c *Case) checkReached(e *physics.Electric) error {
	if e == nil {
		return nil
	}
	if len(c.Conductors) > 0 {
		of, rim := e.Pieces()
		reached := map[int]bool{rim: rim >= 0}
		for i := range c.Electrodes {
			reached[of[i]] = true
		}
		for i := range c.Conductors {
			if !reached[of[len(c.Electrodes)+i]] {
				return fmt.Errorf("conductor.%s: touches no ground that an electrode reaches, so it has no potential; leave it out", c.Conductors[i].Name)
			}
		}
	}
	if n, cells := len(c.freeNames())+len(c.Conductors), e.Grid.Cells(); float64(n)*16*float64(cells) > mostFreeBytes {
		return fmt.Errorf("mesh: %d electrodes and conductors that float, are switched off or have a current limit of their own need 16 bytes each in every one of %d cells, more than %d GiB; make them fewer, or mesh.finest larger",
			n, cells, mostFreeBytes>>30)
	}
	return nil
}

// checkConductors refuses buried metal that cannot be.
func (l *loader) checkConductors() {
	c := l.c
	for i := range c.Conductors {
		m := &c.Conductors[i]
		if c.View == Plan { // see checkPlan
			l.thinMetal(i, map[bool]string{true: "radius", false: "outline"}[m.Outline == nil], m.figure().strip())
			continue
		}
		if m.Top >= m.Bottom {
			l.no("conductor", i, "bottom", "must be below the top, %s", metres(m.Top))
		}
		if d := l.deepest(); m.Bottom > d {
			l.no("conductor", i, "bottom", "must be within the layers, which end at %s", metres(d))
		}
		l.thinMetal(i, "bottom", m.Bottom-m.Top)
		switch c.View {
		case Section:
			if m.Left >= m.Right {
				l.no("conductor", i, "right", "must be right of left, %s", metres(m.Left))
			}
			l.thinMetal(i, "right", m.Right-m.Left)
		case Axisymmetric:
			if k := findKey("conductor.radius"); !l.has("conductor", i, "radius") {
				l.no("conductor", i, "radius", "is missing; must be %s", k.kind.wants(k))
			}
			if m.InnerRadius >= m.Radius {
				l.no("conductor", i, "inner_radius", "must be less than the radius, %s", metres(m.Radius))
			}
			if m.Radius >= c.Extent.Radius {
				l.no("conductor", i, "radius", "must be less than extent.radius, %s", metres(c.Extent.Radius))
			}
			l.thinMetal(i, "radius", m.Radius-m.InnerRadius)
		}
	}
	if len(c.Conductors) > 0 && l.tree["array"] == nil && l.tree["electrode"] == nil {
		l.no("conductor", 0, "", "carries nothing: the case has neither [[electrode]] nor [[array]]")
	}
}

// thinMetal refuses a conductor thinner than a cell.
func (l *loader) thinMetal(i int, key string, size float64) {
	// The difference of two places has their rounding.
	if fine := l.c.Mesh.Finest; size > 0 && size < fine*(1-1e-9) {
		l.no("conductor", i, key, "makes it %s thick, thinner than the smallest cell: must be at least mesh.finest, %s, or make that smaller", metres(size), metres(fine))
	}
}

// room is a box of ground [m].
type room struct{ left, right, top, bottom float64 }

// meets reports whether two boxes overlap or touch.
func (a room) meets(b room) bool {
	gap := math.Max(math.Max(b.top-a.bottom, a.top-b.bottom), math.Max(b.left-a.right, a.left-b.right))
	// Faces written in feet and in metres meet but for their last digits.
	return gap <= 1e-9
}

// overlaps reports whether two boxes share ground.
func (a room) overlaps(b room) bool {
	return math.Max(math.Max(b.top-a.bottom, a.top-b.bottom), math.Max(b.left-a.right, a.left-b.right)) < -1e-9
}

func (c *Case) conductorRoom(m *Conductor) room {
	if c.View == Axisymmetric {
		return room{m.InnerRadius, m.Radius, m.Top, m.Bottom}
	}
	return room{m.Left, m.Right, m.Top, m.Bottom}
}

// checkConductorsApart refuses conductors that meet each other, an electrode or the column
// of the mesh that stands for a row, or that lie in a body of set power. It needs sound
// values.
func (l *loader) checkConductorsApart() {
	if len(l.c.Conductors) == 0 {
		return
	}
	x, _ := l.c.Expand()
	for i := range x.Conductors {
		for j := range x.Electrodes {
			if x.Electrodes[j].Name == x.Conductors[i].Name {
				l.no("conductor", i, "name", "must be unique; an electrode is %s too, and both have rows in electrodes.csv", x.Conductors[i].Name)
				break
			}
		}
		own := x.conductorRoom(&x.Conductors[i])
		for j := range x.Conductors[:i] {
			if own.meets(x.conductorRoom(&x.Conductors[j])) {
				l.no("conductor", i, "", "meets %s: two that touch are one conductor; leave a gap of mesh.finest", l.labels["conductor"][j])
				break
			}
		}
		for k := range x.Heats {
			h := &x.Heats[k]
			there := room{h.Left, h.Right, h.Top, h.Bottom}
			if x.View == Axisymmetric {
				there = room{h.InnerRadius, h.Radius, h.Top, h.Bottom}
			}
			if own.overlaps(there) {
				l.no("conductor", i, "", "overlaps %s: two bodies must not", l.labels["heat"][k])
				break
			}
		}
		for j := range x.Electrodes {
			e := &x.Electrodes[j]
			there, near := room{e.X - e.Width/2, e.X + e.Width/2, e.Top, e.Bottom}, ""
			switch {
			case x.View == Axisymmetric:
				there.left, there.right = 0, e.Radius
			case e.Width == 0:
				half := math.Max(e.Radius, x.Mesh.Finest)
				left, right := x.column(e)
				there.left, there.right = math.Min(left, e.X-half), math.Max(right, e.X+half)
				near = fmt.Sprintf(", or comes nearer to its row than mesh.finest, %s, or reaches the column of the mesh that stands for it", metres(x.Mesh.Finest))
			}
			if own.meets(there) {
				l.no("conductor", i, "", "meets electrode %s%s: metal that touches an electrode is part of it", e.Name, near)
				break
			}
		}
	}
}
