package cases

import (
	"fmt"
	"math"

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

// mostFree is how many electrodes and conductors may float, be switched off or have a
// current limit of their own, and mostFreeBytes how much memory their responses may
// take: two fields of the mesh each.
const (
	mostFree      = 200
	mostFreeBytes = 8 << 30
)

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
			text += " It goes through the whole thickness of the slab, and current goes as far as the figure's own sides; no current heats the cells whose middles are in it, and figures show these, in steps. Metal that reaches above or below the slab, or leaves the modelled ground, carries potential with it: left out."
		case Section:
			text += " Of a pipe that runs on out of the section, or across electrodes of other depths and places, this is one place only: what it carries from elsewhere is left out."
		default:
			text += " Metal that leaves the cell, to other cells or out of the site, carries potential with it: left out."
		}
		out = append(out, text, "Potentials of buried metal are against the supply's neutral, for screening: touch and stray voltages at pipes, valves and fences are measured on site. The current that it picks up in one place and gives off in another is for screening too, no less than any cut through it passes: what it does to the metal is not computed.")
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
