package cases

import (
	"fmt"
	"math"
	"slices"
)

// wallCells is how many cells a bore's radius is to hold where the ground beside it may
// dry out: the wall dries ring by ring, and the current steps with each.
const wallCells = 10

// mayDry reports whether ground beside an electrode may dry out: it boils, and nothing
// replaces all of the water that leaves.
func (c *Case) mayDry(e *Electrode) bool {
	if !c.Steam.Boiling {
		return false
	}
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		from, to := math.Max(top, e.Top), math.Min(l.Bottom, e.Bottom)
		top = l.Bottom
		if from >= to {
			continue
		}
		at := c.tables()
		if from < slices.Max(at) && !math.IsInf(l.inflow(false), 1) || to > slices.Min(at) && !math.IsInf(l.inflow(true), 1) {
			return true
		}
	}
	return false
}

// wallCell returns the largest cell [m] at the wall of an electrode on the axis.
func (c *Case) wallCell(e *Electrode) float64 {
	wall := c.Mesh.Wall
	if math.IsNaN(wall) {
		if !c.mayDry(e) {
			return c.Mesh.Finest
		}
		wall = e.Radius / wallCells
	}
	return math.Min(c.Mesh.Finest, wall)
}

// wallCautions names electrodes on the axis whose wall may dry in cells too large for it.
func (c *Case) wallCautions() []string {
	var out []string
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		if w := c.wallCell(e); c.mayDry(e) && w > e.Radius/wallCells*(1+1e-9) {
			out = append(out, fmt.Sprintf("The ground at electrode %s may dry out, and its wall cells of %s are larger than a tenth of the bore, %s: current steps as the wall dries cell by cell; make mesh.wall smaller.", e.Name, c.toldLength("%.3g", w), c.toldLength("%.3g", e.Radius/wallCells)))
		}
	}
	return out
}
