package figure

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// mostProfiles is how many dates a family of profiles holds.
const mostProfiles = 7

// profiles draws temperature against depth at one place, a line per date; in a plan
// against x and y.
func profiles(f *folder, s style) (*drawing, error) {
	if f.c.View == cases.Plan {
		return planProfiles(f, s)
	}
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	fields, err := f.readFields(spacedEntries(saved, mostProfiles, *saved[0].Days, false), g)
	if err != nil {
		return nil, err
	}
	at, why := f.profilePlace(g, w)

	// One row beyond the window on either side, so that lines run through.
	k0, k1 := 0, len(g.zc)
	for k0+1 < k1 && g.zc[k0+1] <= w.top {
		k0++
	}
	for k1-1 > k0 && g.zc[k1-2] >= w.bottom {
		k1--
	}
	depth := g.zc[k0:k1]
	out := &table{file: "profiles.csv"}
	out.add("depth_m", depth)
	var lines [][]float64
	for _, one := range fields {
		v := g.column(one.v, at)[k0:k1]
		lines = append(lines, v)
		out.add("day_"+dayName(one.time)+"_C", v)
	}
	boils, err := f.boilingCurves(g, fields, func(v []float64) []float64 { return g.column(v, at)[k0:k1] })
	if err != nil {
		return nil, err
	}
	target, hasTarget := firstTarget(f.c)
	range_ := slices.Clone(lines)
	for _, b := range boils {
		out.add(b.column, b.values)
		range_ = append(range_, b.values)
	}
	tables := f.tableLines(fields, w)
	if hasTarget {
		range_ = append(range_, []float64{target})
	}
	lo, hi, ok := bounds(range_...)
	if !ok {
		lo, hi = 0, 1
	}
	xAxis := widen(lo, hi, 5)
	// Room for a label on the first, upright line.
	xAxis.lo -= 0.07 * (hi - lo)
	yAxis := axis{lo: w.top, hi: w.bottom, down: true}

	const height = vg.Length(255)
	letter := "x"
	if f.c.View == cases.Axisymmetric {
		letter = "r"
	}
	title := "Temperature at " + letter + " = " + s.length2(at) + ", " + why
	days := spanOf(fields)
	total := headHeight + tickHeight + height + tickHeight + lineHeight + s.keysHeight(f, w, (*pen)(nil).boilingKeys(boils)...) + footHeight + 6

	paint := func(p *pen) {
		p.heading(f, title, days, "profiles")
		marks := [2][]tick{yAxis.ticks(s.length[0], along(height)), yAxis.ticks(s.length[1], along(height))}
		titles := [2]string{"depth (" + s.length[0].name + ")", s.length[1].name}
		x0 := margin + p.room(marks[0], titles[0])
		x1 := p.Max.X - margin - p.room(marks[1], titles[1])
		top := p.Max.Y - headHeight - tickHeight
		whole := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top - height}, Max: vg.Point{X: x1, Y: top}}, x: xAxis, y: yAxis}
		q := whole
		q.Min.X += groundWidth
		bands := f.layerBands(w.top, w.bottom)
		for _, b := range bands {
			p.fill(bandColor(b), vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: q.atY(b.bottom)}, Max: vg.Point{X: q.Max.X, Y: q.atY(b.top)}})
		}
		strip := whole.Rectangle
		strip.Max.X = q.Min.X - 16
		if len(bands) > 0 {
			p.ground(whole, strip, bands)
		}
		// Electrodes stand in their own lane between the layers and the lines.
		lane := vg.Rectangle{Min: vg.Point{X: strip.Max.X, Y: q.Min.Y}, Max: vg.Point{X: q.Min.X, Y: q.Max.Y}}
		in := func(top, bottom float64) (vg.Rectangle, bool) {
			z0, z1 := max(top, w.top), min(bottom, w.bottom)
			return vg.Rectangle{Min: vg.Point{X: lane.Min.X + 5, Y: q.atY(z1)}, Max: vg.Point{X: lane.Max.X - 5, Y: q.atY(z0)}}, z0 < z1
		}
		// Metal beside the rest, so that neither hides the other.
		aside := vg.Length(0)
		for _, m := range f.c.Conductors {
			if h, ok := f.metalIn(m, w); ok {
				if r, ok := in(h.Top, h.Bottom); ok {
					aside = 3
					r.Min.X, r.Max.X = lane.Max.X-5.5, lane.Max.X-1.5
					p.metalMark(r)
				}
			}
		}
		lane.Min.X, lane.Max.X = lane.Min.X-aside, lane.Max.X-aside
		for _, e := range f.c.Electrodes {
			if r, ok := in(e.Top, e.Bottom); ok {
				p.bore(f, &e, r)
			}
		}
		var heats []vg.Rectangle
		for _, h := range f.c.Heats {
			if r, ok := in(h.Top, h.Bottom); ok {
				heats = append(heats, r)
			}
		}
		p.heatMark(heats...)
		for _, l := range tables {
			y, ink := q.atY(l.depth), color.Color(grey(30))
			if len(tables) > 1 {
				ink = s.ramp.line(l.part)
			}
			p.stroke(line(ink, 0.9, 8, 3, 2, 3), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
			p.waterMark(vg.Point{X: q.Max.X - 9, Y: y})
		}
		// The target as a box: its depths, from its temperature up.
		t := f.c.Targets[0]
		left := q.Min.X
		if hasTarget {
			left = q.atX(target)
		}
		y0, y1 := q.atY(min(t.Bottom, w.bottom)), q.atY(max(t.Top, w.top))
		p.frame(line(color.Black, 1.8), vg.Rectangle{Min: vg.Point{X: left, Y: y0}, Max: vg.Point{X: q.Max.X, Y: y1}})
		for _, y := range []vg.Length{y0, y1} {
			p.stroke(line(color.Black, 0.7), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: left, Y: y})
		}
		p.steamWays(f, q)

		var curves []curve
		add := func(v []float64, text string) [][]vg.Point {
			// Depth runs down the page: the series is drawn as (temperature, depth).
			path := q.path(v, depth)
			var inside [][]vg.Point
			for _, l := range path {
				inside = append(inside, clipTo(q.Rectangle, l)...)
			}
			curves = append(curves, curve{inside, text})
			return inside
		}
		for i, v := range lines {
			for _, l := range add(v, short(fields[i].time)) {
				p.stroke(line(s.ramp.line(partOf(i, len(lines))), 1.8), l...)
			}
		}
		curves[0].text = "day " + curves[0].text
		for _, b := range boils {
			ink := color.Color(color.Black)
			if b.part >= 0 {
				ink = s.ramp.line(b.part)
			}
			for _, l := range add(b.values, b.text) {
				p.stroke(line(ink, 1.4, 5, 3), l...)
			}
		}
		// Labels keep off the straight lines: those of the target, the water table.
		taken := []vg.Rectangle{{Min: vg.Point{X: left, Y: y0}, Max: vg.Point{X: left, Y: y1}}}
		straight := []vg.Length{y0, y1}
		if from, to, ok := f.extraction(w.top, w.bottom); ok {
			straight = append(straight, q.atY(from), q.atY(to))
		}
		for _, z := range f.barriers(w.top, w.bottom) {
			straight = append(straight, q.atY(z)+barrierWidth/2)
		}
		for _, l := range tables {
			straight = append(straight, q.atY(l.depth))
		}
		for _, y := range straight {
			taken = append(taken, vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: y}, Max: vg.Point{X: q.Max.X, Y: y}})
		}
		boxes, _ := p.placeLabels(curves, body, q.Rectangle, taken)
		for i, r := range boxes {
			if r != (vg.Rectangle{}) {
				p.boxed(body, r, curves[i].text)
			}
		}

		p.left(whole, marks[0], titles[0])
		p.right(q, marks[1], titles[1])
		p.below(q, xAxis.ticks(s.temperature[0], across(q.Max.X-q.Min.X)), "temperature ("+s.temperature[0].name+")")
		p.above(q, xAxis.ticks(s.temperature[1], across(q.Max.X-q.Min.X)), s.temperature[1].name)
		p.frame(thin, q.Rectangle)
		p.keys(append(p.groundKeys(f, s, w), p.boilingKeys(boils)...), margin, q.Min.Y-tickHeight-lineHeight-14, p.Max.X-2*margin)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}
