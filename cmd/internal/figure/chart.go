package figure

import (
	"image/color"
	"time"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
	"soiljoule/materials"
)

// The units of masses and of water. Condensate is told as liquid water of the model's
// density.
var (
	kilogram = unit{"kg", 1, 0}
	pound    = unit{"lb", 1 / cases.Pound, 0}
	cubic    = unit{"m³", 1 / materials.RhoWater, 0}
	gallon   = unit{"gal", 1 / (cases.Gallon * materials.RhoWater), 0}
)

// rate returns the unit of a rate in kg/h: a mass an hour, gallons a minute.
func (u unit) rate() unit {
	if u == gallon {
		return unit{"gpm", u.factor / 60, 0}
	}
	return unit{u.name + "/h", u.factor, 0}
}

// pair puts the unit of the figure's own system first.
func (s style) pair(si, us unit) [2]unit {
	if s.length[0] == foot {
		return [2]unit{us, si}
	}
	return [2]unit{si, us}
}

// thousands returns a unit of a thousand of it.
func (u unit) thousands() unit {
	if u == kilogram {
		return unit{"t", u.factor / 1000, 0}
	}
	return unit{"1000 " + u.name, u.factor / 1000, 0}
}

// crowded is the quantity [kg] from which on units are taken by the thousand: larger
// numbers would crowd the axes.
const crowded = 2e4

// largest returns the largest size in traces.
func largest(list []trace) float64 {
	top := 0.0
	for _, t := range list {
		if lo, hi, ok := bounds(t.y); ok {
			top = max(top, -lo, hi)
		}
	}
	return top
}

// trace is one line of a chart, with the label at its end.
type trace struct {
	column, text string
	x, y         []float64
	width        vg.Length
	shade        float64 // of the ramp's lines, 0 to 1
	dash         int
	part         bool        // of the first
	ink          color.Color // nil: the ramp's
}

// some returns the traces that are not zero throughout: beside the largest value of all,
// a billionth is rounding.
func some(list []trace) []trace {
	top := largest(list)
	var kept []trace
	for _, t := range list {
		if largest([]trace{t}) > 1e-9*top {
			kept = append(kept, t)
		}
	}
	return kept
}

// stairs returns rates that are means over the step which ends at each time as the steps
// that they are.
func stairs(days, mean []float64) (x, y []float64) {
	for i := 1; i < len(days); i++ {
		x = append(x, days[i-1], days[i])
		y = append(y, mean[i], mean[i])
	}
	return x, y
}

// chart is a panel of traces: values on the left in the first unit, and on the right in
// the others, one axis beyond the other.
type chart struct {
	title  string // above the panel
	units  []unit
	traces []trace
	y      axis
	height vg.Length
}

// span sets the axis to hold all traces and zero.
func (c *chart) span(least float64) {
	var all [][]float64
	for _, t := range c.traces {
		all = append(all, t.y)
	}
	lo, hi, ok := bounds(all...)
	if !ok {
		lo, hi = 0, 0
	}
	c.y = fromZero(lo, hi, least)
}

func (c *chart) ticks(n int) []tick { return c.y.ticks(c.units[n], along(c.height)) }

// rooms returns the widths that the axes of charts take, left and right, and that of the
// widest label.
func (p *pen) rooms(list []chart) (left, right, label vg.Length) {
	for i := range list {
		c := &list[i]
		left = max(left, p.room(c.ticks(0), ""), p.width(body, c.units[0].name)+tickLength+2)
		beyond := vg.Length(0)
		for n := 1; n < len(c.units); n++ {
			beyond += p.unitRoom(c, n)
		}
		right = max(right, beyond)
		for _, t := range c.traces {
			label = max(label, p.width(body, t.text))
		}
	}
	return left, right, label
}

// unitRoom is the width that the n-th unit's axis takes on the right, its name above it.
func (p *pen) unitRoom(c *chart, n int) vg.Length {
	const gap = vg.Length(10)
	return max(p.room(c.ticks(n), ""), p.width(body, c.units[n].name)+2) + gap
}

// charts draws panels one below the other from top down, over one axis of days since from,
// which may be unknown. Labels stand inside the panels, right of the last day, as the right side belongs to the other
// units.
func (p *pen) charts(s style, list []chart, days axis, below string, from time.Time, top vg.Length) {
	left, right, label := p.rooms(list)
	label += 18
	x0, x1 := margin+left, p.Max.X-margin-right
	last := days.hi
	days.hi = days.lo + (days.hi-days.lo)*float64((x1-x0)/(x1-x0-label))
	for n := range list {
		c := &list[n]
		top -= chartTitle
		q := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top - c.height}, Max: vg.Point{X: x1, Y: top}}, x: days, y: c.y}
		if c.y.lo < 0 {
			p.stroke(thin, vg.Point{X: q.Min.X, Y: q.atY(0)}, vg.Point{X: q.atX(last), Y: q.atY(0)})
		}
		var ends []endLabel
		for rank, t := range c.traces {
			ink := t.ink
			if ink == nil {
				ink = s.ramp.line(t.shade)
			}
			st := line(ink, t.width, dashes(t.dash)...)
			lines := q.path(t.x, t.y)
			for _, l := range lines {
				p.stroke(st, l...)
			}
			if len(lines) > 0 {
				l := lines[len(lines)-1]
				ends = append(ends, endLabel{l[len(l)-1], t.text, st.Color, rank})
			}
		}
		p.endLabels(ends, body, q.Max.X-label+13, q.Min.Y+7, q.Max.Y-6)
		above := q.Max.Y + 9 // clear of a number at the very top
		p.text(bodyBold, color.Black, q.Min.X, above, 0, 0, c.title)
		p.text(body, color.Black, q.Min.X-tickLength-2, above, 1, 0, c.units[0].name)
		p.left(q, c.ticks(0), "")
		beyond := q
		for u := 1; u < len(c.units); u++ {
			if u > 1 {
				p.stroke(thin, vg.Point{X: beyond.Max.X, Y: q.Min.Y}, vg.Point{X: beyond.Max.X, Y: q.Max.Y})
			}
			p.right(beyond, c.ticks(u), "")
			p.text(body, color.Black, beyond.Max.X+2, above, 0, 0, c.units[u].name)
			beyond.Max.X += p.unitRoom(c, u)
		}
		marks := axis{lo: days.lo, hi: last}.ticks(plain, across(q.atX(last)-q.Min.X))
		if n == len(list)-1 {
			p.belowDays(q, marks, below, from)
		} else {
			for _, m := range marks {
				p.stroke(thin, vg.Point{X: q.atX(m.v), Y: q.Min.Y}, vg.Point{X: q.atX(m.v), Y: q.Min.Y + tickLength})
			}
		}
		p.frame(thin, q.Rectangle)
		top -= c.height + chartGap
	}
}

// Between panels, and above each for its title and the names of its units.
const chartGap, chartTitle = vg.Length(6), vg.Length(24)

// chartsHeight is what charts take on a page, axis of days included.
func chartsHeight(list []chart) vg.Length {
	h := tickHeight + lineHeight - chartGap
	for i := range list {
		h += chartTitle + list[i].height + chartGap
	}
	return h
}

// notes writes lines above the footer.
func (p *pen) notes(list []string) {
	for i, text := range list {
		p.text(body, color.Black, margin, footHeight+6+vg.Length(len(list)-1-i)*lineHeight, 0, 0, p.fit(body, text, p.Max.X-2*margin))
	}
}
