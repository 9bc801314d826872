package cases

import (
	"fmt"
	"math"
)

// Layout is how an array stands in a view: what `check` prints for comparison
// with the site plan.
type Layout struct {
	Array       string
	Rows        int     // section: rows across
	RowDistance float64 // [m]
	RodSpacing  float64 // [m] in a row
	RodsPerRow  float64
	CellRadius  float64 // [m] axisymmetric: the circle of equal area
	Interleaved bool    // every other row is shifted by half a spacing
	Rods        int     // plan: electrodes
	From, To    int     // its electrodes among those of the expanded case: From ≤ i < To
}

// cellRadius returns the radius [m] of the circle whose area is one electrode's
// share of the array's: s·√(√3/2π) = 0.525 s for a triangular one, s/√π for a
// rectangular one.
func (a *Array) cellRadius() float64 {
	if a.Pattern == "triangular" {
		return a.Spacing * math.Sqrt(math.Sqrt(3)/(2*math.Pi))
	}
	return a.Spacing / math.Sqrt(math.Pi)
}

// Rows returns the distance between the rows of the array that carry one phase
// each in a section, the rod spacing in them, and whether every other row is
// shifted by half a spacing. In a triangular array of three (or six) phases the
// rows along nearest neighbours hold all phases, so the rows of one phase run
// across them: √3·spacing from rod to rod, spacing/2 apart. With two poles the
// rows along nearest neighbours alternate.
func (a *Array) Rows(phases int) (distance, spacing float64, shifted bool) {
	switch {
	case a.Pattern != "triangular":
		return a.Spacing, a.Spacing, false
	case phases == 1:
		return a.Spacing * math.Sqrt(3) / 2, a.Spacing, true
	default:
		return a.Spacing / 2, a.Spacing * math.Sqrt(3), true
	}
}

// Expand returns a copy of the case in which arrays have become electrodes: in
// a section rows that carry one phase each, as many as fit between the first
// target's sides grown by outboard, centred; in an axisymmetric view the one rod
// on the axis, with the extent's radius filled in; in a plan the rods of a ring, or of
// a grid that fills the first target grown by outboard. Changes of an array, and water added
// at it, become those of its electrodes. Defaults that depend on the rest of the case are
// filled in too, so the copy is the case as understood. It also returns how each array was
// laid out.
func (c *Case) Expand() (*Case, []Layout) {
	out := *c
	out.Electrodes = append([]Electrode(nil), c.Electrodes...)
	out.Arrays = nil
	var layouts []Layout
	for i := range c.Arrays {
		a := &c.Arrays[i]
		l := Layout{Array: a.Name, From: len(out.Electrodes)}
		switch c.View {
		case Plan:
			rods := a.rodsOf(c.Targets[0].figure(), c.Supply.Phases)
			l.Rods = len(rods)
			out.Electrodes = append(out.Electrodes, rods...)
		case Axisymmetric:
			l.CellRadius = a.cellRadius()
			if math.IsNaN(out.Extent.Radius) {
				out.Extent.Radius = l.CellRadius
			}
			out.Electrodes = append(out.Electrodes, Electrode{Name: a.Name + "1", Phase: "A", Top: a.Top, Bottom: a.Bottom, Radius: a.Radius})
		default:
			l.RowDistance, l.RodSpacing, l.Interleaved = a.Rows(c.Supply.Phases)
			left, right := c.Targets[0].Left-a.Outboard, c.Targets[0].Right+a.Outboard
			l.Rows = int(math.Floor((right-left)/l.RowDistance+1e-9)) + 1
			l.RodsPerRow = c.Extent.Length / l.RodSpacing
			phases := c.Supply.Phases
			if phases == 1 {
				phases = 2
			}
			for j := range l.Rows {
				e := Electrode{Name: fmt.Sprintf("%s%d", a.Name, j+1), Phase: string(rune('A' + j%phases)),
					Top: a.Top, Bottom: a.Bottom, Radius: a.Radius, RodSpacing: l.RodSpacing,
					X: (left+right)/2 + (float64(j)-float64(l.Rows-1)/2)*l.RowDistance}
				if l.Interleaved && j%2 == 1 {
					e.RodOffset = l.RodSpacing / 2
				}
				out.Electrodes = append(out.Electrodes, e)
			}
		}
		l.To = len(out.Electrodes)
		for j := l.From; j < l.To; j++ {
			if e := &out.Electrodes[j]; e.Phase != "N" {
				e.Voltage = a.Voltage
			}
		}
		layouts = append(layouts, l)
	}
	out.Changes = c.changesByElectrode(out.Electrodes, layouts)
	out.WaterAdded = c.addedByElectrode(out.Electrodes, layouts)
	out.fillDerived()
	return &out, layouts
}

// fillDerived fills in the defaults that depend on the rest of the case: dry
// conductivities by their law, the whole cell as target, the modelled ground.
func (c *Case) fillDerived() {
	c.Layers = append([]Layer(nil), c.Layers...)
	for i := range c.Layers {
		c.Layers[i].ThermalConductivityDry = c.Layers[i].Soil().ThermalConductivityDry
	}
	if c.View == Axisymmetric {
		c.Targets = append([]Target(nil), c.Targets...)
		for i := range c.Targets {
			if math.IsNaN(c.Targets[i].Radius) {
				c.Targets[i].Radius = c.Extent.Radius
			}
		}
	}
	left, right, bottom := c.Bounds()
	if c.View != Axisymmetric {
		c.Domain.Left, c.Domain.Right = left, right
	}
	if c.View == Plan {
		c.Domain.Front, c.Domain.Back = c.ends()
	}
	c.Domain.Bottom = bottom
}
