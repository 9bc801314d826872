package hand

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"soiljoule/cases"
)

// atStart returns the case as it is at power-on, of which alone hand reads the supply: with
// the changes of day 0 in the supply and the arrays, and without the arrays that they switch
// off where others are on.
func atStart(c *cases.Case) *cases.Case {
	out := *c
	out.Arrays = slices.Clone(c.Arrays)
	out.Changes, out.WaterAdded = nil, nil // of arrays that may be gone
	off := arraysOff(c)
	for i := range c.Changes {
		ch := &c.Changes[i]
		if ch.At > 0 {
			continue
		}
		for j := range out.Arrays {
			if out.Arrays[j].Name == ch.Electrode && ch.Voltage != nil {
				out.Arrays[j].Voltage = ch.Voltage
			}
		}
		if ch.Electrode != "" {
			continue
		}
		if ch.Voltage != nil {
			out.Supply.Voltage = *ch.Voltage
		}
		if ch.PowerLimit != nil {
			out.Supply.PowerLimit = *ch.PowerLimit
		}
	}
	if len(off) < len(out.Arrays) {
		out.Arrays = slices.DeleteFunc(out.Arrays, func(a cases.Array) bool { return slices.Contains(off, a.Name) })
	}
	return &out
}

// arraysOff names the arrays that are switched off at power-on.
func arraysOff(c *cases.Case) []string {
	var off []string
	for i := range c.Arrays {
		on := true
		for j := range c.Changes {
			if ch := &c.Changes[j]; ch.At == 0 && ch.Electrode == c.Arrays[i].Name && ch.On != nil {
				on = *ch.On
			}
		}
		if !on {
			off = append(off, c.Arrays[i].Name)
		}
	}
	return off
}

// supplyInputs are what a calculation may take from a case's supply.
var supplyInputs = []string{"voltage", "power_density", "power"}

// note says of an answer which of a case's settings it has used, where others follow or it
// leaves something out.
func (a *Answer) note(c *cases.Case) {
	taken := func(names ...string) bool {
		return slices.ContainsFunc(a.Inputs, func(in Input) bool { return in.From == "case" && slices.Contains(names, in.Name) })
	}
	if a.Name == "groundwater" && c.View == cases.Plan && taken("flux") {
		l := c.SlabWater()
		a.Notes = append(a.Notes, fmt.Sprintf("the flux is that of the slab, its layers' mean as vectors, towards %.4g° counter-clockwise from +x; the face is the target's width across it, %s, times the slab's thickness",
			l.GroundwaterDirection*180/math.Pi, bothLengths(acrossFlow(&c.Targets[0], l.GroundwaterDirection))))
	}
	if !taken(supplyInputs...) {
		return
	}
	if c.Supply.Metered.File != "" {
		a.Notes = append(a.Notes, "supply.metered drives the run: neither this voltage nor a limit does")
	}
	on, single, later, first, out := true, 0, 0, 0.0, c.Supply.Outages.Spans
	for i := range c.Changes {
		ch := &c.Changes[i]
		switch {
		case ch.At > 0:
			if later++; later == 1 { // in order of time
				first = ch.At
			}
		case ch.Electrode == "":
			if ch.On != nil {
				on = *ch.On
			}
		case !slices.ContainsFunc(c.Arrays, func(y cases.Array) bool { return y.Name == ch.Electrode }):
			single++
		}
	}
	off, rods := arraysOff(c), taken("voltage")
	switch {
	case !on || len(c.Arrays) > 0 && len(off) == len(c.Arrays):
		a.Notes = append(a.Notes, "a [[change]] has this switched off at power-on: worked out as if it were on")
	case len(off) > 0 && rods:
		a.Notes = append(a.Notes, "left out, as a [[change]] has it switched off at power-on: array "+strings.Join(off, ", "))
	}
	if len(out) > 0 && out[0].From <= 0 && out[0].To > 0 {
		a.Notes = append(a.Notes, "an outage has the supply off at power-on: worked out as if it were on")
	}
	if single > 0 && rods {
		a.Notes = append(a.Notes, fmt.Sprintf("%d [[change]] of single electrodes at power-on left out: all rods are taken alike", single))
	}
	if later > 0 {
		a.Notes = append(a.Notes, fmt.Sprintf("the supply is that of power-on; %d [[change]] from day %.4g on not read: `soiljoule check` lists them", later, first/days))
	}
}

// bothLengths writes a length [m] in both customs.
func bothLengths(m float64) string { return fmt.Sprintf("%.4g m (%.4g ft)", m, m/foot) }

// acrossFlow returns how wide [m] a plan's target is across a direction [rad] from +x.
func acrossFlow(t *cases.Target, direction float64) float64 {
	if len(t.Outline) == 0 {
		return 2 * t.Radius
	}
	sin, cos := math.Sincos(direction)
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range t.Outline {
		y := p[1]*cos - p[0]*sin
		least, most = math.Min(least, y), math.Max(most, y)
	}
	return most - least
}
