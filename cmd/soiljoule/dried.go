package main

import (
	"math"

	"soiljoule/cases"
	"soiljoule/solver/record"
)

// driedText tells when and where the ground first dried out, and what that did to the
// current.
func driedText(line func(string, ...any), c *cases.Case, s *record.Summary) {
	d := s.Dried
	if d == nil {
		return
	}
	u := unitsOf(c)
	second, at := "depth", d.ZM
	if c.View == cases.Plan {
		second, at = "y", d.YM
	}
	by := ""
	if e := driedBeside(c, d.XM, *at); e != "" {
		by = ", beside " + e
	}
	line("First dried out: day %.1f%s, at %s %s, %s %s%s", d.Day, onDate(c, d.Day), across(c), u.length(d.XM), second, u.length(*at), by)
	if p := s.Powers; len(c.Electrodes) > 0 {
		line("  largest current of a rod %.1f A cold, %.1f A the step before, %.1f A at the end", p.FirstA, p.BeforeDriedA, p.LastA)
	}
}

// driedBeside names the electrode nearest to a place [m] within two radii of its axis, or
// the smallest cell's width where that is more; "": none is so near. The second coordinate
// is depth, or y of a plan.
func driedBeside(c *cases.Case, x, z float64) string {
	name, least := "", math.Inf(1)
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		ex, radius := e.X, e.Radius
		switch {
		case c.View == cases.Axisymmetric:
			ex = 0
		case e.Width > 0:
			radius = e.Width / 2
		}
		along := math.Max(0, math.Max(e.Top-z, z-e.Bottom)) // beyond its ends
		if c.View == cases.Plan {
			along = z - e.Y
		}
		if d := math.Hypot(x-ex, along); d <= math.Max(2*radius, c.Mesh.Finest) && d < least {
			name, least = e.Name, d
		}
	}
	return name
}
