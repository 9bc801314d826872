package figure

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// tableOn returns the depth of the water table [m] on a day; +Inf: none.
func (f *folder) tableOn(day float64) float64 { return f.c.TableAt(day * 86400) }

// tableShows reports whether the water table is within a window at any time of the run.
func (f *folder) tableShows(w box) bool {
	least, _, most, _ := f.c.TableRange()
	return most > w.top && least < w.bottom
}

// boilingOn returns the boiling point [°C] of each cell on a day, from that at the start,
// nil: none. The run saves that at the start; where water table or vacuum change, it is
// worked out again from the case.
func (f *folder) boilingOn(g *grid, start []float64, day float64) []float64 {
	if start == nil || !f.c.PressureVaries() {
		return start
	}
	out := slices.Clone(start)
	for k, z := range g.zc {
		if f.c.View == cases.Plan {
			z = (f.c.Extent.Top + f.c.Extent.Bottom) / 2
		}
		tb := f.c.BoilingPoint(z, day*86400) - kelvin
		for i := range g.xc {
			if c := k*len(g.xc) + i; !bad(start[c]) {
				out[c] = tb
			}
		}
	}
	return out
}

// boilingMost returns the highest boiling point [°C] of each cell on the days of the
// fields.
func (f *folder) boilingMost(g *grid, start []float64, fields []field) []float64 {
	if start == nil || !f.c.PressureVaries() {
		return start
	}
	most := slices.Clone(start)
	for _, one := range fields {
		for c, v := range f.boilingOn(g, start, one.time) {
			most[c] = max(most[c], v) // NaN stays
		}
	}
	return most
}

// boilingCurve is a profile of the boiling point.
type boilingCurve struct {
	values []float64 // [°C]
	text   string    // its label
	column string    // of the table
	part   float64   // of the days shown, whose colour it takes; below 0: of all, black
}

// boilingCurves returns the profiles that values makes of the boiling points on the days
// of the fields: one where they do not change, else one for each day on which they are
// others than before.
func (f *folder) boilingCurves(g *grid, fields []field, values func([]float64) []float64) ([]boilingCurve, error) {
	start, err := f.boiling(g)
	if err != nil || start == nil {
		return nil, err
	}
	if !f.c.PressureVaries() {
		return []boilingCurve{{values(start), "boiling", "boiling_C", -1}}, nil
	}
	var out []boilingCurve
	var before [2]float64
	for i, one := range fields {
		now := [2]float64{f.tableOn(one.time), f.c.VacuumAt(one.time * 86400)}
		if i > 0 && now == before {
			continue
		}
		before = now
		v := values(f.boilingOn(g, start, one.time))
		out = append(out, boilingCurve{v, "boiling, day " + short(one.time), "boiling_day_" + dayName(one.time) + "_C", partOf(i, len(fields))})
	}
	return out, nil
}

// boilingKeys is the entry for curves that have the colours of their days.
func (p *pen) boilingKeys(curves []boilingCurve) []key {
	if len(curves) == 0 || curves[0].part < 0 {
		return nil
	}
	return []key{{func(r vg.Rectangle) {
		y := (r.Min.Y + r.Max.Y) / 2
		p.stroke(line(color.Black, 1.4, 5, 3), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
	}, "boiling, in the colour of its day"}}
}

// partOf returns where the i-th of n days stands among them, from 0 to 1; of one alone 1.
func partOf(i, n int) float64 {
	if n == 1 {
		return 1
	}
	return float64(i) / float64(n-1)
}

// tableLine is the water table of a day.
type tableLine struct {
	depth, part float64
}

// tableLines returns the water tables of the days of the fields within a window, each
// once.
func (f *folder) tableLines(fields []field, w box) []tableLine {
	var out []tableLine
	for i, one := range fields {
		z := f.tableOn(one.time)
		if z > w.top && z < w.bottom && !slices.ContainsFunc(out, func(l tableLine) bool { return l.depth == z }) {
			out = append(out, tableLine{z, partOf(i, len(fields))})
		}
	}
	return out
}
