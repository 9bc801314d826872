package cases

import (
	"fmt"
	"math"

	"soiljoule/mesh"
)

func (m *Conductor) figure() figure { return figure{m.Outline, m.Center, m.Radius} }

// Area returns the area of the figure of buried metal of a plan [m²].
func (m *Conductor) Area() float64 { return m.figure().area() }

// planMetal returns the cells of a plan's slab that buried metal fills: those whose nodes
// lie in its figure, through the whole thickness.
func (c *Case) planMetal(g *mesh.Grid, m *Conductor) (mesh.Zone, error) {
	zone := planZone(g, m.Name, m.figure()).Whole(g)
	if zone.Empty() {
		return zone, fmt.Errorf("conductor.%s: holds the middle of no cell; make it larger, or mesh.finest smaller", m.Name)
	}
	return zone, nil
}

// strip is how wide [m] the figure is, taken as a strip w wide and ℓ long of its area
// and its circumference, ℓw and 2(ℓ + w); a figure rounder than a square counts as one
// of its circumference, a circle with its diameter.
func (f figure) strip() float64 {
	if f.outline == nil {
		return 2 * f.radius
	}
	half := 0.0
	for i, p := range f.outline {
		q := f.outline[(i+1)%len(f.outline)]
		half += math.Hypot(q[0]-p[0], q[1]-p[1]) / 2
	}
	// The smaller root of w² − half·w + area, without the difference of near numbers.
	area := f.area()
	return 2 * area / (half + math.Sqrt(math.Max(0, half*half-4*area)))
}

// from returns how far [m] the place x, y is from the figure, 0 inside it.
func (f figure) from(x, y float64) float64 {
	if f.outline == nil {
		return math.Max(0, math.Hypot(x-f.center[0], y-f.center[1])-f.radius)
	}
	if f.holds(x, y, 0) {
		return 0
	}
	near := inf
	for i, p := range f.outline {
		near = math.Min(near, fromSide(x, y, p, f.outline[(i+1)%len(f.outline)]))
	}
	return near
}

// gap returns how far [m] two figures are apart, 0 where they meet; where the boxes round
// them are farther apart than far, how far those are.
func (f figure) gap(o figure, far float64) float64 {
	l1, r1, n1, b1 := f.box()
	l2, r2, n2, b2 := o.box()
	if d := math.Hypot(math.Max(0, math.Max(l2-r1, l1-r2)), math.Max(0, math.Max(n2-b1, n1-b2))); d > far {
		return d
	}
	switch {
	case f.outline == nil:
		return math.Max(0, o.from(f.center[0], f.center[1])-f.radius)
	case o.outline == nil:
		return math.Max(0, f.from(o.center[0], o.center[1])-o.radius)
	}
	near := inf
	for i, p := range f.outline {
		for j, q := range o.outline {
			if meet(p, f.outline[(i+1)%len(f.outline)], q, o.outline[(j+1)%len(o.outline)]) {
				return 0
			}
			if i == 0 {
				near = math.Min(near, f.from(q[0], q[1]))
			}
		}
		near = math.Min(near, o.from(p[0], p[1]))
	}
	return near
}

// checkPlanMetalApart refuses buried metal of a plan that meets other metal, a body of set
// power or the ground over which an electrode's current is spread. It needs sound values.
func (l *loader) checkPlanMetalApart() {
	if len(l.c.Conductors) == 0 {
		return
	}
	x, _ := l.c.Expand()
	fine := x.Mesh.Finest
	for i := range x.Conductors {
		own := x.Conductors[i].figure()
		for j := range x.Conductors[:i] {
			// Cells that are neighbours and each of one have nodes a cell apart, so the figures
			// are no more: with two, at least one node of ground is between.
			if d := own.gap(x.Conductors[j].figure(), 2*fine); d < 2*fine*(1-1e-9) {
				l.no("conductor", i, "", "is %s from %s: two that touch are one conductor; leave a gap of twice mesh.finest, %s", metres(d), l.labels["conductor"][j], metres(2*fine))
				break
			}
		}
		for k := range x.Heats {
			if own.gap(x.Heats[k].figure(), 0) <= 0 {
				l.no("conductor", i, "", "meets %s: two bodies must not", l.labels["heat"][k])
				break
			}
		}
		for j := range x.Electrodes {
			e := &x.Electrodes[j]
			// A rod's current is dealt to cells as far as two beyond a circle of this radius,
			// and a cell whose node is in the figure reaches up to half of one, or √½, beyond it.
			room := math.Max(e.Radius, fine/2) + 3*fine
			if d := own.from(e.X, e.Y); d < room*(1-1e-9) {
				l.no("conductor", i, "", "is %s from the middle of electrode %s, over whose surroundings its current is spread: must be %s away, or mesh.finest smaller; metal that touches an electrode is part of it", metres(d), e.Name, metres(room))
				break
			}
		}
	}
}
