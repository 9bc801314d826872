package cases

import "math"

// checkElectrodes refuses electrodes and arrays that cannot stand in the ground by themselves, and
// a case without any.
func (l *loader) checkElectrodes() {
	interval := func(section string, i int, top, bottom float64) {
		if top >= bottom {
			l.no(section, i, "bottom", "must be below the top, %s", metres(top))
		}
		l.thin(section, i, "bottom", bottom-top)
		if d := l.deepest(); bottom > d {
			l.no(section, i, "bottom", "must be within the layers, which end at %s", metres(d))
		}
	}
	for i, a := range l.c.Arrays {
		interval("array", i, a.Top, a.Bottom)
		l.thin("array", i, "radius", a.Radius)
		if 2*a.Radius >= a.Spacing {
			l.no("array", i, "radius", "must be less than half the spacing, %s", metres(a.Spacing))
		}
	}
	for i, e := range l.c.Electrodes {
		interval("electrode", i, e.Top, e.Bottom)
		l.thin("electrode", i, "radius", e.Radius)
		l.thin("electrode", i, "width", e.Width)
	}
	if l.tree["array"] == nil && l.tree["electrode"] == nil && l.tree["heat"] == nil {
		l.absence("[[electrode]]", "is missing; at least one [[array]], [[electrode]] or [[heat]] is needed")
	}
}

// has reports whether the i-th row of a section gives a key.
func (l *loader) has(section string, i int, key string) bool {
	if i >= len(l.rows[section]) {
		return false
	}
	_, ok := l.rows[section][i][key]
	return ok
}

// checkRows checks what a section asks of its electrodes.
func (l *loader) checkRows() {
	const which = "a section needs radius and rod_spacing (a row of rods) or width (a plate)"
	for i, e := range l.c.Electrodes {
		rods := l.has("electrode", i, "radius") || l.has("electrode", i, "rod_spacing")
		plate := l.has("electrode", i, "width")
		switch {
		case rods && plate:
			l.no("electrode", i, "width", "must not stand beside radius or rod_spacing: %s", which)
		case plate:
		case !rods:
			l.no("electrode", i, "", "is without a shape: %s", which)
		case !l.has("electrode", i, "radius"):
			l.no("electrode", i, "radius", "is missing; %s", which)
		case !l.has("electrode", i, "rod_spacing"):
			l.no("electrode", i, "rod_spacing", "is missing; %s", which)
		case e.RodSpacing <= 2*math.Pi*e.Radius:
			// A row is modelled as a sheet with the resistance that its rods
			// add; from this spacing down they would add less than none.
			l.no("electrode", i, "rod_spacing", "must be > 2π × radius, %s", metres(2*math.Pi*e.Radius))
		}
	}
	for j, b := range l.c.Electrodes {
		for i, a := range l.c.Electrodes[:j] {
			if samePlace(a, b) {
				l.no("electrode", j, "x", "%s", clash(l.labels["electrode"][i], a, b))
				break
			}
		}
	}
}

// samePlace reports whether two electrodes of a section overlap.
func samePlace(a, b Electrode) bool {
	// Bores of aligned rows overlap within the sum of their radii; those of shifted
	// rows stand apart, but their rows are one column of the mesh all the same.
	return overlap(a, b) && math.Abs(a.X-b.X) < a.Radius+a.Width/2+b.Radius+b.Width/2
}

// clash says what is wrong with b at the place of a.
func clash(label string, a, b Electrode) string {
	if a.Phase == b.Phase {
		return "two electrodes at the same place: overlaps " + label
	}
	return "is the place of " + label + ": a row carries one phase: in a section, rods of different phases in one row would be one sheet carrying their sum"
}

// rowsSound reports whether all is known that makes arrays into rows.
func (l *loader) rowsSound() bool {
	c := l.c
	if len(c.Targets) == 0 || !(c.Targets[0].Left < c.Targets[0].Right) || c.Supply.Phases == 0 {
		return false
	}
	for _, a := range c.Arrays {
		if a.Name == "" || a.Pattern == "" || a.Pattern == "ring" || !(a.Spacing > 0 && a.Radius > 0 && a.Outboard >= 0 && a.Top < a.Bottom) {
			return false
		}
	}
	for _, e := range c.Electrodes {
		if e.Name == "" || e.Phase == "" || !(e.Top < e.Bottom) || math.IsNaN(e.X+e.Radius+e.Width) {
			return false
		}
	}
	return true
}

// checkAllRows checks the rows that arrays become in a section, together with
// those by hand.
func (l *loader) checkAllRows() {
	c := l.c
	n := 0.0
	sound := true
	for i, a := range c.Arrays {
		distance, inRow, _ := a.Rows(c.Supply.Phases)
		if 2*a.Radius >= a.Spacing {
			sound = false // and refused
		} else if inRow <= 2*math.Pi*a.Radius {
			sound = false
			l.no("array", i, "radius", "must be < the rod spacing in a row / 2π, %s", metres(inRow/(2*math.Pi)))
		}
		n += (c.Targets[0].Right-c.Targets[0].Left+2*a.Outboard)/distance + 1
		if n > mostRows {
			l.no("array", i, "spacing", "gives more than %d rows of electrodes", mostRows)
			return
		}
	}
	if !sound {
		return
	}
	x, layouts := c.Expand()
	type from struct {
		section string
		row     int
	}
	var origin []from
	for i := range c.Electrodes {
		origin = append(origin, from{"electrode", i})
	}
	for i, y := range layouts {
		for range y.Rows {
			origin = append(origin, from{"array", i})
		}
	}
	// The columns that rows are coupled to and plates fill, but for what the mesh takes
	// for one face.
	columns := make([]struct{ left, right float64 }, len(x.Electrodes))
	near := 1e-6 * x.Mesh.Finest
	for i := range columns {
		e := &x.Electrodes[i]
		columns[i].left, columns[i].right = e.X-e.Width/2, e.X+e.Width/2
		if e.Width == 0 {
			columns[i].left, columns[i].right = x.column(e)
		}
	}
	names, phases := map[string]bool{}, map[string]bool{}
	for j, b := range x.Electrodes {
		phases[b.Phase] = true
		if names[b.Name] && origin[j].section == "array" {
			l.no(origin[j].section, origin[j].row, "name", "gives an electrode a name that another has, %s", b.Name)
			return
		}
		names[b.Name] = true
		for i, a := range x.Electrodes[:j] {
			switch byHand := origin[i].section == "electrode" && origin[j].section == "electrode"; {
			case samePlace(a, b) && byHand: // refused with their own values
			case samePlace(a, b):
				l.no(origin[j].section, origin[j].row, "", "its electrode %s %s", b.Name, clash(a.Name, a, b))
				return
			case overlap(a, b) && columns[i].right > columns[j].left+near && columns[j].right > columns[i].left+near:
				key := map[string]string{"electrode": "x", "array": "spacing"}[origin[j].section]
				l.no(origin[j].section, origin[j].row, key, "puts %s and %s, %s apart, in one column of the mesh; make mesh.finest smaller", a.Name, b.Name, metres(math.Abs(b.X-a.X)))
				return
			}
		}
	}
	if len(phases) == 1 && len(c.Arrays) > 0 && !l.c.ownVoltages() {
		l.no("array", 0, "spacing", "no return path: one row fits the first target, so all electrodes are on one phase and no current flows")
	}
}

// overlap reports whether two electrodes share a depth.
func overlap(a, b Electrode) bool { return a.Top < b.Bottom && b.Top < a.Bottom }

// checkAxis checks what an axisymmetric view asks of its electrodes.
func (l *loader) checkAxis() {
	c := l.c
	for i := range c.Arrays {
		if i > 0 {
			l.no("array", i, "", "is one too many: an axisymmetric view takes one rod of one [[array]]")
		}
	}
	if len(c.Arrays) == 0 && !l.has("extent", 0, "radius") {
		l.no("extent", 0, "radius", "is missing; without an [[array]] the outer edge must be given")
	}
	type rod struct {
		Electrode
		label string
	}
	var rods []rod
	for _, a := range c.Arrays {
		rods = append(rods, rod{Electrode{Top: a.Top, Bottom: a.Bottom}, "the array's rod"})
		if a.Radius >= c.Extent.Radius {
			l.no("array", 0, "radius", "must be less than extent.radius, %s", metres(c.Extent.Radius))
		}
	}
	rods = rods[:min(len(rods), 1)]
	for i, e := range c.Electrodes {
		if !l.has("electrode", i, "radius") {
			l.no("electrode", i, "radius", "is missing; must be %s", findKey("electrode.radius").kind.wants(findKey("electrode.radius")))
		}
		if e.Radius >= c.Extent.Radius {
			l.no("electrode", i, "radius", "must be less than extent.radius, %s", metres(c.Extent.Radius))
		}
		for _, r := range rods {
			if overlap(r.Electrode, e) {
				l.no("electrode", i, "top", "all stand on the axis: must not overlap %s, which is from %s to %s", r.label, metres(r.Top), metres(r.Bottom))
				break
			}
		}
		rods = append(rods, rod{e, l.labels["electrode"][i]})
	}
	for i, s := range c.Sensors {
		if s.X > c.Extent.Radius {
			l.no("sensor", i, "r", "must be within extent.radius, %s", metres(c.Extent.Radius))
		}
	}
}
