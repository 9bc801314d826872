package cases

import (
	"fmt"
	"math"
	"sort"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// heats puts the solid bodies into the ground and spreads each body's power evenly
// over its volume: what is constant as watts by cell, what is a series as a source.
func (c *Case) heats(ground *physics.Ground) (constant []float64, varying solver.Source, err error) {
	type fed struct {
		powerSum
		cells []int
		share []float64 // [-] of the body's volume, by cell
	}
	var series []fed
	g := ground.Grid
	for i := range c.Heats {
		h := &c.Heats[i]
		zone := c.heatZone(g, h)
		if zone.Empty() { // places nearer than a billionth of the ground are one
			return nil, nil, fmt.Errorf("heat.%s: is too thin for modelled ground of this size; make the body thicker, or domain smaller", h.Name)
		}
		if h.Solid() {
			ground.Insert(physics.Insert{Name: h.Name, Zone: zone, Conductivity: h.ThermalConductivity, Capacity: h.HeatCapacity})
		}
		f := fed{powerSum: newPowerSum(&h.Power), cells: zone.Cells(g)}
		whole := zone.Volume(g)
		volume := zone.Volumes(g)
		for _, cell := range f.cells {
			f.share = append(f.share, volume[cell]/whole)
		}
		if len(h.Power.Series) > 0 {
			series = append(series, f)
			continue
		}
		if constant == nil {
			constant = make([]float64, g.Cells())
		}
		for j, cell := range f.cells {
			constant[cell] += h.Power.Constant * f.share[j]
		}
	}
	if series == nil {
		return constant, nil, nil
	}
	return constant, func(dst []float64, from, to float64) {
		for i := range series {
			f := &series[i]
			q := f.mean(from, to)
			for j, cell := range f.cells {
				dst[cell] += q * f.share[j]
			}
		}
	}, nil
}

// heatZone returns the cells of a body.
func (c *Case) heatZone(g *mesh.Grid, h *Heat) mesh.Zone {
	if c.View == Plan {
		return planZone(g, h.Name, h.figure())
	}
	if c.View == Axisymmetric {
		return g.Box(h.Name, h.InnerRadius, h.Radius, h.Top, h.Bottom)
	}
	return g.Box(h.Name, h.Left, h.Right, h.Top, h.Bottom)
}

// Volume returns the volume of the body on the site [m³]: over extent.length, of all
// extent.count of them, or through the slab.
func (c *Case) Volume(h *Heat) float64 {
	if c.View == Plan {
		return h.figure().area() * (h.Bottom - h.Top)
	}
	if c.View == Axisymmetric {
		return c.Extent.Count * math.Pi * (h.Radius - h.InnerRadius) * (h.Radius + h.InnerRadius) * (h.Bottom - h.Top)
	}
	return c.Extent.Length * (h.Right - h.Left) * (h.Bottom - h.Top)
}

// Area returns the area of a plan's target [m²].
func (t *Target) Area() float64 { return t.figure().area() }

// Energy returns the heat [J] that a power gives between two times [s].
func (p *Power) Energy(from, to float64) float64 {
	if len(p.Series) == 0 {
		return p.Constant * (to - from)
	}
	s := newPowerSum(p)
	return s.until(to) - s.until(from)
}

// Range returns the least and the largest power [W] between power-on and end [s].
func (p *Power) Range(end float64) (least, most float64) {
	if len(p.Series) == 0 {
		return p.Constant, p.Constant
	}
	s := newPowerSum(p)
	least, most = s.at(0), s.at(0)
	note := func(q float64) { least, most = math.Min(least, q), math.Max(most, q) }
	note(s.at(end))
	for _, row := range p.Series {
		if row.Time >= 0 && row.Time <= end {
			note(row.Power)
		}
	}
	return least, most
}

// powerSum is a series with the heat given up to each row, so that the mean over
// any time is exact for its lines and costs the same for ten rows and a million.
type powerSum struct {
	rows []PowerPoint
	sum  []float64 // [J] from the first row
}

// newPowerSum returns a series of powers with its integral, by the trapezia between its rows.
func newPowerSum(p *Power) powerSum {
	s := powerSum{rows: p.Series, sum: make([]float64, len(p.Series))}
	for i := 1; i < len(s.rows); i++ {
		a, b := s.rows[i-1], s.rows[i]
		s.sum[i] = s.sum[i-1] + (b.Time-a.Time)*(a.Power+b.Power)/2
	}
	return s
}

// row returns the last row at or before t; -1: t is before all.
func (s *powerSum) row(t float64) int {
	return sort.Search(len(s.rows), func(i int) bool { return s.rows[i].Time > t }) - 1
}

// at returns the power [W] at t [s], level beyond the rows.
func (s *powerSum) at(t float64) float64 {
	switch i := s.row(t); {
	case i < 0:
		return s.rows[0].Power
	case i == len(s.rows)-1:
		return s.rows[i].Power
	default:
		a, b := s.rows[i], s.rows[i+1]
		return a.Power + (b.Power-a.Power)*(t-a.Time)/(b.Time-a.Time)
	}
}

// until returns the heat [J] given between the first row and t [s].
func (s *powerSum) until(t float64) float64 {
	i := s.row(t)
	if i < 0 {
		return s.rows[0].Power * (t - s.rows[0].Time)
	}
	return s.sum[i] + (t-s.rows[i].Time)*(s.rows[i].Power+s.at(t))/2
}

// mean returns the mean power [W] between two times [s], at one time the power.
func (s *powerSum) mean(from, to float64) float64 {
	if to <= from {
		return s.at(from)
	}
	return (s.until(to) - s.until(from)) / (to - from)
}

// checkHeats refuses bodies of set power that cannot be.
func (l *loader) checkHeats() {
	c := l.c
	for i := range c.Heats {
		h := &c.Heats[i]
		if c.View == Plan {
			l.thin("heat", i, "radius", h.Radius)
			l.checkSpan("heat", i, "power", h.Power.Series, "the body")
			continue // the slab's depths; its figure is checked with the targets'
		}
		if h.Top >= h.Bottom {
			l.no("heat", i, "bottom", "must be below the top, %s", metres(h.Top))
		}
		if d := l.deepest(); h.Bottom > d {
			l.no("heat", i, "bottom", "must be within the layers, which end at %s", metres(d))
		}
		if c.View == Section && h.Left >= h.Right {
			l.no("heat", i, "right", "must be right of left, %s", metres(h.Left))
		}
		if k := findKey("heat.radius"); c.View == Axisymmetric && !l.has("heat", i, "radius") {
			l.no("heat", i, "radius", "is missing; must be %s", k.kind.wants(k))
		}
		if c.View == Axisymmetric && h.InnerRadius >= h.Radius {
			l.no("heat", i, "inner_radius", "must be less than the radius, %s", metres(h.Radius))
		}
		if h.Radius > c.Extent.Radius {
			l.no("heat", i, "radius", "must be within extent.radius, %s", metres(c.Extent.Radius))
		}
		l.checkThickness(i, h)
		for _, pair := range [][2]string{{"thermal_conductivity", "heat_capacity"}, {"heat_capacity", "thermal_conductivity"}} {
			if l.has("heat", i, pair[0]) && !l.has("heat", i, pair[1]) {
				l.no("heat", i, pair[1], "is missing; a solid body needs it beside %s", pair[0])
			}
		}
		l.checkSpan("heat", i, "power", h.Power.Series, "the body")
	}
	if !l.needsSupply() {
		if l.tree["supply"] != nil {
			l.no("supply", 0, "", "feeds nothing: the case has neither [[electrode]] nor [[array]]; [[heat]] needs no supply")
		}
		if len(c.Changes) > 0 {
			l.no("change", 0, "", "changes nothing: the case has no supply; a [[heat]] takes its power against time from a CSV")
		}
	}
}

// checkThickness refuses a body thinner than a cell.
func (l *loader) checkThickness(i int, h *Heat) {
	fine := l.c.Mesh.Finest
	thin := func(key string, size float64) {
		// The difference of two places has their rounding.
		if size > 0 && size < fine*(1-1e-9) {
			l.no("heat", i, key, "makes the body %s thick, thinner than the smallest cell: must be at least mesh.finest, %s, or make that smaller", metres(size), metres(fine))
		}
	}
	thin("bottom", h.Bottom-h.Top)
	if l.c.View == Section {
		thin("right", h.Right-h.Left)
	} else {
		thin("radius", h.Radius-h.InnerRadius)
	}
}

// checkSpan refuses a series that does not tell the power of the whole run: beyond
// its rows any value would be a guess.
func (l *loader) checkSpan(section string, i int, key string, series []PowerPoint, what string) {
	n := len(series)
	if n == 0 {
		return
	}
	if first := series[0].Time; first > 0 {
		l.no(section, i, key, "begins on day %s; must begin at power-on, day 0, or before (with a row of 0 where %s is off)", about(first/day), what)
	}
	if last, end := series[n-1].Time, l.c.Time.Duration; last < end*(1-1e-9) {
		l.no(section, i, key, "ends on day %s; must go on to time.duration, day %s (with a row of 0 where %s is off)", about(last/day), about(end/day), what)
	}
}

// overlap reports whether two bodies share ground.
func (c *Case) overlap(a, b *Heat) bool {
	down := math.Max(b.Top-a.Bottom, a.Top-b.Bottom)
	across := math.Max(b.Left-a.Right, a.Left-b.Right)
	if c.View == Axisymmetric {
		across = math.Max(b.InnerRadius-a.Radius, a.InnerRadius-b.Radius)
	}
	// Faces written in feet and in metres meet but for their last digits.
	return math.Max(down, across) < -1e-9
}

// checkHeatsApart refuses bodies that take the place of each other, of an electrode,
// or of the column of the mesh that stands for a row of them. It needs sound values.
func (l *loader) checkHeatsApart() {
	if len(l.c.Heats) == 0 {
		return
	}
	x, _ := l.c.Expand()
	l.checkFacesApart(x)
	for i := range x.Heats {
		for j := range x.Heats[:i] {
			if x.overlap(&x.Heats[i], &x.Heats[j]) {
				l.no("heat", i, "", "overlaps %s: two bodies of set power must not", l.labels["heat"][j])
				break
			}
		}
		for _, e := range x.Electrodes {
			room := &Heat{Left: e.X - e.Width/2, Right: e.X + e.Width/2, Radius: e.Radius, Top: e.Top, Bottom: e.Bottom}
			near := ""
			if x.View == Section && e.Width == 0 {
				half := math.Max(e.Radius, x.Mesh.Finest)
				left, right := x.column(&e)
				room.Left, room.Right = math.Min(left, e.X-half), math.Max(right, e.X+half)
				near = fmt.Sprintf(", or comes nearer to its row than mesh.finest, %s, or reaches the column of the mesh that stands for it", metres(x.Mesh.Finest))
			}
			if x.overlap(&x.Heats[i], room) {
				l.no("heat", i, "", "overlaps electrode %s%s", e.Name, near)
				break
			}
		}
	}
}

// checkFacesApart refuses bodies whose sides the mesh would take for one place: those
// nearer than a billionth of the ground, which only a section can be wide enough for.
func (l *loader) checkFacesApart(x *Case) {
	if x.View != Section {
		return
	}
	left, right, _ := x.Bounds()
	for i := range x.Heats {
		if size := x.Heats[i].Right - x.Heats[i].Left; size <= 1e-9*(right-left) {
			l.no("heat", i, "right", "makes the body %s thick, too thin for modelled ground of %s: must be more than a billionth of that; make the body thicker, or domain smaller", metres(size), metres(right-left))
		}
	}
}

// heatCaution says what bodies of set power leave out.
func (c *Case) heatCaution() []string {
	if len(c.Heats) == 0 {
		return nil
	}
	names, solid := make([]string, 0, len(c.Heats)), make([]string, 0, len(c.Heats))
	for i := range c.Heats {
		names = append(names, c.Heats[i].Name)
		if c.Heats[i].Solid() {
			solid = append(solid, c.Heats[i].Name)
		}
	}
	out := []string{fmt.Sprintf("Set power (%s) is put in as given: it carries no potential and no current, answers to no supply limit, and does not fall where the ground dries, as an electrode's would.", enumerate(names))}
	if len(solid) > 0 {
		out = append(out, fmt.Sprintf("Solid bodies (%s) hold no water and are electrical insulators; where they lie in a target their volume counts to it.", enumerate(solid)))
	}
	return out
}

// enumerate joins names, the first few of many.
func enumerate(names []string) string {
	const most = 6
	if len(names) > most {
		names = append(append([]string(nil), names[:most-1]...), fmt.Sprintf("%d more", len(names)-most+1))
	}
	return list(names, "and")
}
