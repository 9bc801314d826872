package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// planProfiles draws temperature along x and along y through the middle of a plan's
// first target, a line per date.
func planProfiles(f *folder, s style) (*drawing, error) {
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	fields, err := f.readFields(spacedEntries(saved, mostProfiles, *saved[0].Days, false), g)
	if err != nil {
		return nil, err
	}
	t := f.c.Targets[0]
	cuts := []cut{
		{letter: "x", other: "y", at: (t.Front + t.Back) / 2, places: inside(g.xc, w.left, w.right), whole: axis{lo: w.left, hi: w.right}},
		{letter: "y", other: "x", at: (t.Left + t.Right) / 2, places: inside(g.zc, w.top, w.bottom), whole: axis{lo: w.top, hi: w.bottom}},
	}
	var all [][]float64
	for i := range cuts {
		c := &cuts[i]
		along := func(v []float64) []float64 {
			n := nodes{g.xc, g.zc, v}
			out := make([]float64, len(c.places))
			for j, u := range c.places {
				out[j] = n.at(c.xy(u))
			}
			return out
		}
		for _, one := range fields {
			c.lines = append(c.lines, along(one.v))
		}
		all = append(all, c.lines...)
		if c.boil, err = f.boilingCurves(g, fields, along); err != nil {
			return nil, err
		}
		for _, b := range c.boil {
			all = append(all, b.values)
		}
	}
	out := &table{file: "profiles.csv"}
	var xs, ys []float64
	for _, c := range cuts {
		for _, u := range c.places {
			x, y := c.xy(u)
			xs, ys = append(xs, x), append(ys, y)
		}
	}
	out.add("x_m", xs)
	out.add("y_m", ys)
	for n, one := range fields {
		out.add("day_"+dayName(one.time)+"_C", append(slices.Clone(cuts[0].lines[n]), cuts[1].lines[n]...))
	}
	for n, b := range cuts[0].boil { // the slab boils at one temperature, so both cuts have the same days
		out.add(b.column, append(slices.Clone(b.values), cuts[1].boil[n].values...))
	}
	target, hasTarget := firstTarget(f.c)
	if hasTarget {
		all = append(all, []float64{target})
	}
	lo, hi, ok := bounds(all...)
	if !ok {
		lo, hi = 0, 1
	}
	yAxis := widen(lo, hi, 5)
	span := yAxis.hi - yAxis.lo
	yAxis.lo, yAxis.hi = yAxis.lo-0.1*span, yAxis.hi+0.06*span // a lane for the electrodes, room for a label
	days := spanOf(fields)
	const height, title = vg.Length(175), vg.Length(20)
	notes := []string{"thick bar: " + printable(t.Name)}
	if hasTarget {
		notes[0] += "; thin line: target, " + s.temperature2(target)
	}
	if len(f.c.Electrodes) > 0 {
		notes = append(notes, "white marks: electrodes that the line meets")
		if some, _ := f.watered(); some {
			notes[len(notes)-1] += "; with rungs: water added"
		}
	}
	total := headHeight + vg.Length(len(cuts))*(title+2*tickHeight+height+lineHeight) + vg.Length(len(notes))*lineHeight + footHeight + 4

	paint := func(p *pen) {
		p.heading(f, "Temperature through the middle of the target", days, "profiles")
		marks := [2][]tick{yAxis.ticks(s.temperature[0], along(height)), yAxis.ticks(s.temperature[1], along(height))}
		titles := [2]string{"temperature (" + s.temperature[0].name + ")", s.temperature[1].name}
		top := p.Max.Y - headHeight
		for _, c := range cuts {
			p.text(bodyBold, color.Black, margin, top-14, 0, 0, "along "+c.letter+" at "+c.other+" = "+s.length2(c.at))
			q := panel{vg.Rectangle{Min: vg.Point{X: margin + p.room(marks[0], titles[0]), Y: top - title - tickHeight - height},
				Max: vg.Point{X: p.Max.X - margin - p.room(marks[1], titles[1]), Y: top - title - tickHeight}}, c.whole, yAxis}
			p.cutPanel(f, s, q, c, fields)
			p.left(q, marks[0], titles[0])
			p.right(q, marks[1], titles[1])
			p.below(q, q.x.ticks(s.length[0], across(q.Max.X-q.Min.X)), c.letter+" ("+s.length[0].name+")")
			p.above(q, q.x.ticks(s.length[1], across(q.Max.X-q.Min.X)), s.length[1].name)
			p.frame(thin, q.Rectangle)
			top -= title + 2*tickHeight + height + lineHeight
		}
		for i, note := range notes {
			p.text(body, color.Black, margin, top-vg.Length(i)*lineHeight-4, 0, 1, p.fit(body, note, p.Max.X-2*margin))
		}
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// cut is a straight line through a plan, along one coordinate.
type cut struct {
	letter, other string
	at            float64   // [m] the other coordinate
	places        []float64 // [m] along it
	whole         axis
	lines         [][]float64 // [°C] by date
	boil          []boilingCurve
}

// xy returns the place that lies at u along the cut [m].
func (c *cut) xy(u float64) (x, y float64) {
	if c.letter == "x" {
		return u, c.at
	}
	return c.at, u
}

// inside returns the values of an ascending list from lo to hi, and one more on either
// side, so that lines run through.
func inside(list []float64, lo, hi float64) []float64 {
	a, b := 0, len(list)
	for a+1 < b && list[a+1] <= lo {
		a++
	}
	for b-1 > a && list[b-2] >= hi {
		b--
	}
	return list[a:b]
}

// cutPanel draws the temperatures along a cut, with the parts of it in the first target
// and the electrodes that it meets.
func (p *pen) cutPanel(f *folder, s style, q panel, c cut, fields []field) {
	lane := q.Min.Y + 9
	var taken []vg.Rectangle
	for _, part := range chords(f.c.Targets[0], c) {
		a, b := max(part[0], q.x.lo), min(part[1], q.x.hi)
		if a >= b {
			continue
		}
		p.stroke(line(color.Black, 3), vg.Point{X: q.atX(a), Y: lane}, vg.Point{X: q.atX(b), Y: lane})
		for _, u := range []float64{a, b} {
			p.stroke(line(grey(60), 0.6), vg.Point{X: q.atX(u), Y: q.Min.Y}, vg.Point{X: q.atX(u), Y: q.Max.Y})
		}
	}
	for _, e := range f.c.Electrodes {
		off, u := e.Y-c.at, e.X
		if c.letter == "y" {
			off, u = e.X-c.at, e.Y
		}
		if math.Abs(off) <= e.Radius && u >= q.x.lo && u <= q.x.hi {
			half := q.rodRadius(e)
			taken = append(taken, vg.Rectangle{Min: vg.Point{X: q.atX(u) - half, Y: lane - 7}, Max: vg.Point{X: q.atX(u) + half, Y: lane + 7}})
			p.bore(f, &e, taken[len(taken)-1])
		}
	}
	if target, ok := firstTarget(f.c); ok {
		y := q.atY(target)
		p.stroke(line(grey(35), 0.8), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		taken = append(taken, vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: y}, Max: vg.Point{X: q.Max.X, Y: y}})
	}
	var curves []curve
	add := func(v []float64, text string) [][]vg.Point {
		var in [][]vg.Point
		for _, l := range q.path(c.places, v) {
			in = append(in, clipTo(q.Rectangle, l)...)
		}
		curves = append(curves, curve{in, text})
		return in
	}
	for i, v := range c.lines {
		for _, l := range add(v, short(fields[i].time)) {
			p.stroke(line(s.ramp.line(partOf(i, len(c.lines))), 1.8), l...)
		}
	}
	curves[0].text = "day " + curves[0].text
	for _, b := range c.boil {
		ink := color.Color(color.Black)
		if b.part >= 0 {
			ink = s.ramp.line(b.part)
		}
		for _, l := range add(b.values, b.text) {
			p.stroke(line(ink, 1.4, 5, 3), l...)
		}
	}
	boxes, _ := p.placeLabels(curves, body, q.Rectangle, taken)
	for i, r := range boxes {
		if r != (vg.Rectangle{}) {
			p.boxed(body, r, curves[i].text)
		}
	}
}

// chords returns the parts of a cut that lie in a target [m].
func chords(t cases.Target, c cut) [][2]float64 {
	a, b := 0, 1 // along the cut, across it
	if c.letter == "y" {
		a, b = 1, 0
	}
	if t.Outline == nil {
		if half := t.Radius*t.Radius - (c.at-t.Center[b])*(c.at-t.Center[b]); half > 0 {
			return [][2]float64{{t.Center[a] - math.Sqrt(half), t.Center[a] + math.Sqrt(half)}}
		}
		return nil
	}
	var ends []float64
	for i, u := range t.Outline {
		v := t.Outline[(i+1)%len(t.Outline)]
		// Of two sides that meet on the cut one counts, so ends come in pairs.
		if (u[b] > c.at) != (v[b] > c.at) {
			ends = append(ends, u[a]+(c.at-u[b])/(v[b]-u[b])*(v[a]-u[a]))
		}
	}
	slices.Sort(ends)
	var out [][2]float64
	for i := 0; i+1 < len(ends); i += 2 {
		out = append(out, [2]float64{ends[i], ends[i+1]})
	}
	return out
}
