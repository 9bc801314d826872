package cases

import (
	"fmt"
	"math"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// ownVoltages reports whether an electrode has a voltage of its own at some time.
func (c *Case) ownVoltages() bool {
	for i := range c.Electrodes {
		if c.Electrodes[i].Voltage != nil {
			return true
		}
	}
	for i := range c.Arrays {
		if c.Arrays[i].Voltage != nil {
			return true
		}
	}
	for i := range c.Changes {
		if c.Changes[i].Electrode != "" && c.Changes[i].Voltage != nil {
			return true
		}
	}
	return false
}

// mostChanges is how many changes of single electrodes those of arrays may come to.
const mostChanges = 20000

// changesByElectrode returns the changes with each that names an array made one for each
// of its electrodes. The neutral, which is at 0 V, takes of them only that it is
// switched. Of more than mostChanges, which are refused, it makes no more.
func (c *Case) changesByElectrode(electrodes []Electrode, layouts []Layout) []Change {
	if len(layouts) == 0 {
		return c.Changes
	}
	var out []Change
	for _, ch := range c.Changes {
		l := layoutOf(layouts, ch.Electrode)
		if l == nil || len(out) > mostChanges {
			out = append(out, ch)
			continue
		}
		for _, e := range electrodes[l.From:l.To] {
			each := ch
			each.Electrode = e.Name
			if e.Phase == "N" {
				each.Voltage, each.CurrentLimit = nil, nil
			}
			if each.Voltage != nil || each.CurrentLimit != nil || each.On != nil {
				out = append(out, each)
			}
		}
	}
	return out
}

// layoutOf returns the layout of the array of that name, nil where there is none.
func layoutOf(layouts []Layout, name string) *Layout {
	for i := range layouts {
		if layouts[i].Array == name {
			return &layouts[i]
		}
	}
	return nil
}

// asSupply are the settings of n bodies that have nothing of their own.
func asSupply(n int) []solver.BodySetting {
	b := make([]solver.BodySetting, n)
	for i := range b {
		b[i] = solver.BodySetting{Voltage: nan, CurrentLimit: inf}
	}
	return b
}

// ownSettings returns what the electrodes have of their own at power-on, by body; nil:
// nothing.
func (c *Case) ownSettings() []solver.BodySetting {
	var out []solver.BodySetting
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		if e.Voltage == nil && e.CurrentLimit == nil {
			continue
		}
		if out == nil {
			out = asSupply(len(c.Electrodes) + len(c.Conductors))
		}
		if e.Voltage != nil {
			out[i].Voltage = c.Supply.PhaseVoltage(*e.Voltage)
		}
		if e.CurrentLimit != nil {
			out[i].CurrentLimit = *e.CurrentLimit
		}
	}
	return out
}

// reached returns the highest voltage [V] that a connected electrode is set to, phase to
// neutral, and whether one is at the supply's: where none is, that voltage is at no terminal,
// and what the run tells as the supply's is the highest of their own.
func (c *Case) reached(s *solver.Setting) (most float64, asSupply bool) {
	for i := range c.Electrodes {
		own := solver.BodySetting{Voltage: nan}
		if s.Bodies != nil {
			own = s.Bodies[i]
		}
		switch {
		case own.Off || c.Electrodes[i].Phase == "N":
		case math.IsNaN(own.Voltage):
			most, asSupply = math.Max(most, s.Voltage), true
		default:
			most = math.Max(most, own.Voltage)
		}
	}
	return most, asSupply
}

// changeOwn changes what one electrode has of its own.
func (c *Case) changeOwn(own *solver.BodySetting, ch *Change) {
	if ch.Voltage != nil {
		own.Voltage = c.Supply.PhaseVoltage(*ch.Voltage)
	}
	if ch.CurrentLimit != nil {
		own.CurrentLimit = *ch.CurrentLimit
	}
	if ch.On != nil {
		own.Off = !*ch.On
	}
}

// conductors returns the bodies of buried metal.
func (c *Case) conductors(g *mesh.Grid) ([]physics.Body, error) {
	var out []physics.Body
	for i := range c.Conductors {
		m := &c.Conductors[i]
		zone := g.Box(m.Name, m.Left, m.Right, m.Top, m.Bottom)
		switch c.View {
		case Axisymmetric:
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
		out = append(out, physics.Body{Name: m.Name, Label: "-", Rods: 1, Zone: zone, Floating: true})
	}
	return out, nil
}

// mostFree is how many electrodes and conductors may float, be switched off or have a
// current limit of their own, and mostFreeBytes how much memory their responses may
// take: two fields of the mesh each.
const (
	mostFree      = 200
	mostFreeBytes = 8 << 30
)

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

// freeNames returns the electrodes that are switched off or have a limit of their own at
// some time.
func (c *Case) freeNames() map[string]bool {
	names := map[string]bool{}
	for i := range c.Electrodes {
		if c.Electrodes[i].CurrentLimit != nil {
			names[c.Electrodes[i].Name] = true
		}
	}
	for i := range c.Changes {
		if ch := &c.Changes[i]; ch.Electrode != "" && (ch.CurrentLimit != nil || ch.On != nil) {
			names[ch.Electrode] = true
		}
	}
	return names
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

// checkOwn refuses settings of single electrodes that mean nothing.
func (l *loader) checkOwn() {
	c := l.c
	for i := range c.Electrodes {
		if c.Electrodes[i].Phase != "N" {
			continue
		}
		for _, key := range []string{"voltage", "current_limit"} {
			if l.has("electrode", i, key) {
				l.no("electrode", i, key, "must not be given for the neutral, which is at 0 V")
			}
		}
	}
	for i := range c.Changes {
		for _, key := range []string{"power_limit", "kva_limit"} {
			if c.Changes[i].Electrode != "" && l.has("change", i, key) {
				l.no("change", i, key, "must not stand beside electrode: it is of the whole supply")
			}
		}
	}
}

// checkOwnApart refuses changes of electrodes that are not there, and settings of its own
// for an electrode that touches another of its phase: the two are one conductor. Names
// and places of an array's electrodes need sound values.
func (l *loader) checkOwnApart() {
	c := l.c
	if l.tree["electrode"] == nil && l.tree["array"] == nil {
		return // said where changes and supply are
	}
	sound := len(l.faults) == 0
	x := c
	var layouts []Layout
	if sound {
		x, layouts = c.Expand()
	}
	at := map[string]int{}
	for i := range x.Electrodes {
		at[x.Electrodes[i].Name] = i
	}
	own := map[int]func(format string, args ...any){} // by electrode: refuses what it has of its own
	once := func(section string, i int, key string) func(format string, args ...any) {
		said := false // of the many electrodes of an array
		return func(format string, args ...any) {
			if !said {
				l.no(section, i, key, format, args...)
			}
			said = true
		}
	}
	for i := range c.Electrodes {
		for _, key := range []string{"current_limit", "voltage"} {
			if l.has("electrode", i, key) {
				own[i] = once("electrode", i, key)
			}
		}
	}
	for i, a := range layouts {
		refuse := once("array", i, "voltage")
		for k := a.From; k < a.To && l.has("array", i, "voltage"); k++ {
			if x.Electrodes[k].Phase != "N" {
				own[k] = refuse
			}
		}
	}
	for i := range c.Changes {
		name := c.Changes[i].Electrode
		if name == "" {
			continue
		}
		refuse := once("change", i, "electrode")
		j, there := at[name]
		if a := layoutOf(layouts, name); a != nil {
			if there {
				refuse("is the name of an electrode and of an array; name one of them otherwise")
			}
			for k := a.From; k < a.To; k++ {
				if own[k] == nil {
					own[k] = refuse
				}
			}
			continue
		}
		switch {
		case !there && (sound || len(c.Arrays) == 0):
			of := ""
			if n := len(c.Arrays); n > 0 {
				of = "; or of an array, for all of its electrodes: " + listArrays(c)
			}
			refuse("must be the name of an electrode; there %s%s", listNames(x), of)
		case !there:
		case x.Electrodes[j].Phase == "N" && (c.Changes[i].Voltage != nil || c.Changes[i].CurrentLimit != nil):
			refuse("is the neutral, which is at 0 V: it can be switched off or on alone")
		case own[j] == nil:
			own[j] = refuse
		}
	}
	if len(layouts) > 0 && len(x.Changes) > mostChanges {
		l.no("change", 0, "", "is one of more than %d changes of single electrodes that the changes of arrays come to; make them fewer, or change the supply", mostChanges)
	}
	if n := len(x.freeNames()) + len(x.Conductors); n > mostFree {
		section := "electrode"
		switch {
		case len(c.Conductors) > 0:
			section = "conductor"
		case len(c.Electrodes) == 0:
			section = "change"
		}
		l.no(section, 0, "", "is one of %d electrodes and conductors that float, are switched off or have a current limit of their own; must be at most %d", n, mostFree)
	}
	if !sound {
		return
	}
	for i := range x.Electrodes {
		refuse := own[i]
		if refuse == nil {
			continue
		}
		for j := range x.Electrodes {
			if i != j && x.joined(&x.Electrodes[i], &x.Electrodes[j]) {
				refuse("%s touches electrode %s of the same phase, so the two are one conductor and share voltage and switch; leave a gap between them", x.Electrodes[i].Name, x.Electrodes[j].Name)
				break
			}
		}
	}
}

// listArrays names the arrays of a case.
func listArrays(c *Case) string {
	names := make([]string, 0, len(c.Arrays))
	for i := range c.Arrays {
		names = append(names, c.Arrays[i].Name)
	}
	return enumerate(names)
}

// listNames names the electrodes of a case, a few of many.
func listNames(c *Case) string {
	names := make([]string, 0, len(c.Electrodes))
	for i := range c.Electrodes {
		names = append(names, c.Electrodes[i].Name)
	}
	if len(names) == 1 {
		return "is " + names[0]
	}
	return "are " + enumerate(names)
}

// joined reports whether two electrodes are one conductor: of one phase, and touching.
func (c *Case) joined(a, b *Electrode) bool {
	if a.Phase != b.Phase {
		return false
	}
	switch {
	case c.View == Plan: // rods that touch are refused
		return false
	case c.View == Axisymmetric:
		return room{0, a.Radius, a.Top, a.Bottom}.meets(room{0, b.Radius, b.Top, b.Bottom})
	case a.Width > 0 && b.Width > 0:
		return room{a.X - a.Width/2, a.X + a.Width/2, a.Top, a.Bottom}.meets(room{b.X - b.Width/2, b.X + b.Width/2, b.Top, b.Bottom})
	}
	return a.X == b.X && a.RodSpacing == b.RodSpacing && a.RodOffset == b.RodOffset && a.Radius == b.Radius && a.Top <= b.Bottom+1e-9 && b.Top <= a.Bottom+1e-9
}

// ownCautions says what is left out of buried metal and of electrodes of their own.
func (c *Case) ownCautions() []string {
	var out []string
	if n := len(c.Conductors); n > 0 {
		names := make([]string, 0, n)
		for i := range c.Conductors {
			names = append(names, c.Conductors[i].Name)
		}
		text := fmt.Sprintf("Buried metal (%s) is bare and at one potential, and passes no net current. Not modelled: its coating, corrosion, cathodic protection, and that it conducts heat better than the ground, as which it is taken.", enumerate(names))
		switch c.View {
		case Plan:
			text += " It goes through the whole thickness of the slab, and fills the cells that lie at least half in its figure: slants and arcs are stairs. Metal that reaches above or below the slab, or leaves the modelled ground, carries potential with it: left out."
		case Section:
			text += " Of a pipe that runs on out of the section, or across electrodes of other depths and places, this is one place only: what it carries from elsewhere is left out."
		default:
			text += " Metal that leaves the cell, to other cells or out of the site, carries potential with it: left out."
		}
		out = append(out, text, "Potentials of buried metal are against the supply's neutral, for screening: touch and stray voltages at pipes, valves and fences are measured on site.")
	}
	off := false
	for i := range c.Changes {
		ch := &c.Changes[i]
		off = off || ch.Electrode != "" && ch.On != nil && !*ch.On
	}
	if off {
		out = append(out, "An electrode that is switched off alone is not dead: it floats at the potential of the ground around it, while the others are on.")
	}
	return out
}
