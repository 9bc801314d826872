package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// edgeFromAbove returns the edge of a body of the case in the plan of the layout, whose
// window is w: an outline or a circle, in a section its box b all along.
func (f *folder) edgeFromAbove(q panel, w box, outline [][2]float64, center [2]float64, radius float64, b box) []vg.Point {
	switch f.c.View {
	case cases.Section:
		outline = [][2]float64{{b.left, w.top}, {b.right, w.top}, {b.right, w.bottom}, {b.left, w.bottom}}
	case cases.Axisymmetric:
		outline, center, radius = nil, [2]float64{}, b.right
	}
	return outlineOf(q, outline, center, radius)
}

// fromAbove draws the plan of the layout and returns the labels it wrote.
func (p *pen) fromAbove(f *folder, q panel, rods []siteRod, w box) (labels []placed) {
	edge := func(outline [][2]float64, center [2]float64, radius float64, b box) []vg.Point {
		return f.edgeFromAbove(q, w, outline, center, radius, b)
	}
	if f.c.View == cases.Axisymmetric {
		p.clipped(q.Rectangle, line(grey(50), 0.8, 6, 3), outlineOf(q, nil, [2]float64{}, f.c.Extent.Radius))
	}
	var lines []vg.Rectangle // along the targets' edges, which labels leave whole if they can
	for n := len(f.c.Targets) - 1; n >= 0; n-- {
		t := &f.c.Targets[n]
		if f.c.View == cases.Axisymmetric && math.IsNaN(t.Radius) {
			continue
		}
		width := vg.Length(0.9)
		if n == 0 {
			width = 2
		}
		outline := edge(t.Outline, t.Center, t.Radius, f.targetBox(*t, nil))
		p.clipped(q.Rectangle, line(color.Black, width), outline)
		for _, at := range resample(outline, 4) {
			lines = append(lines, around(at, 1))
		}
	}
	for i := range f.c.Heats {
		h := &f.c.Heats[i]
		b := f.heatBox(*h)
		p.clipped(q.Rectangle, heatLine, edge(h.Outline, h.Center, h.Radius, b))
		if f.c.View == cases.Axisymmetric && b.left > 0 {
			p.clipped(q.Rectangle, heatLine, outlineOf(q, nil, [2]float64{}, b.left))
		}
	}
	metal := f.metalFromAbove(q, w)
	var taken []vg.Rectangle
	for _, m := range metal {
		p.metalFigure(q.Rectangle, m.corners)
		taken = append(taken, m.taken()...)
	}
	if f.c.View == cases.Plan {
		for _, sensor := range f.c.Sensors {
			if at, in := q.place(sensor.X, sensor.Y); in {
				p.cross(at)
				taken = append(taken, around(at, 4))
			}
		}
	}
	// Marks of neighbours do not touch.
	half := max(2, min(5.5, 0.3*(q.atX(f.apart())-q.atX(0))))
	var marks []vg.Rectangle
	var bores []boreNames // by mark: elements of one bore are named together
	for i, r := range rods {
		at, _ := q.place(r.x, r.y)
		if r.e.Width > 0 {
			side := max(1.5, (q.atX(r.e.Width)-q.atX(0))/2)
			plate := vg.Rectangle{Min: vg.Point{X: at.X - side, Y: q.Min.Y}, Max: vg.Point{X: at.X + side, Y: q.Max.Y}}
			p.electrodeMark(plate)
			at.Y = (q.Min.Y + q.Max.Y) / 2
		}
		reach := half
		if f.takesWater(r.e) {
			reach = 1.35*half + 1.5 // round the corners of a triangle
			p.ring(at, reach)
		}
		p.phaseShape(r.e.Phase, at, half)
		taken = append(taken, around(at, reach))
		// A row is named at its last rod.
		if i+1 < len(rods) && rods[i+1].e == r.e {
			continue
		}
		n := slices.Index(marks, around(at, reach))
		if n < 0 {
			n = len(marks)
			marks, bores = append(marks, around(at, reach)), append(bores, boreNames{})
		}
		bores[n].add(r.e)
	}
	names := boreTexts(bores)
	// The fullest names for which there is room at all marks.
	const mostNamed = 300 // names of so many would not be found
	for n := range names {
		if len(marks) > mostNamed {
			break
		}
		if !p.clearOf(marks, names[n], half) {
			continue
		}
		list := p.labelsAt(body, marks, names[n], q.Rectangle, slices.Concat(taken, lines))
		if len(list) < len(marks) {
			list = p.labelsAt(body, marks, names[n], q.Rectangle, taken)
		}
		if len(list) == len(marks) {
			labels = list
			break
		}
	}
	for _, l := range labels {
		taken = append(taken, l.at)
	}
	if f.c.View != cases.Section { // there the section names it
		list := p.metalNames(metal, q.Rectangle, slices.Concat(taken, lines))
		if more := p.metalNames(metal, q.Rectangle, taken); len(more) > len(list) {
			list = more
		}
		for _, l := range list {
			labels, taken = append(labels, l), append(taken, l.at)
		}
	}
	if f.c.View == cases.Plan {
		labels = append(labels, p.sensorLabels(f, q, slices.Concat(taken, lines))...)
	}
	for _, l := range labels {
		p.boxed(body, l.at, l.text)
	}
	return labels
}

// clearOf reports whether each text is shorter than its mark is from the nearest other,
// so that nobody takes it for that one's.
func (p *pen) clearOf(marks []vg.Rectangle, texts []string, half vg.Length) bool {
	for i, a := range marks {
		room := math.Inf(1)
		for j, b := range marks {
			if d := a.Min.Sub(b.Min); j != i && (d != vg.Point{}) {
				room = min(room, math.Hypot(float64(d.X), float64(d.Y)))
			}
		}
		if float64(p.width(body, texts[i])+2*half) > room {
			return false
		}
	}
	return true
}

// throughSite draws the section of the layout: layers, targets, electrodes.
func (p *pen) throughSite(f *folder, q panel, w box) {
	bands := f.layerBands(0, q.y.hi)
	for i, b := range bands {
		p.fill(bandColor(b), vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: q.atY(b.bottom)}, Max: vg.Point{X: q.Max.X, Y: q.atY(b.top)}})
		if i > 0 {
			p.stroke(line(grey(40), 0.6), vg.Point{X: q.Min.X, Y: q.atY(b.top)}, vg.Point{X: q.Max.X, Y: q.atY(b.top)})
		}
	}
	var taken []vg.Rectangle // by what a name must not hide
	if z := f.c.Site.WaterTable; z > 0 && z < q.y.hi {
		y := q.atY(z)
		p.stroke(line(grey(30), 0.9, 8, 3, 2, 3), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
	}
	on := func(left, right, top, bottom float64) vg.Rectangle {
		return vg.Rectangle{Min: vg.Point{X: q.atX(max(left, w.left)), Y: q.atY(bottom)}, Max: vg.Point{X: q.atX(min(right, w.right)), Y: q.atY(top)}}
	}
	metal := p.metalThrough(f, q, on)
	var heats []vg.Rectangle
	for i := range f.c.Heats {
		h := &f.c.Heats[i]
		b := f.heatBox(*h)
		if f.c.View == cases.Axisymmetric && b.left == 0 {
			b.left = -b.right
		}
		heats = append(heats, on(b.left, b.right, h.Top, h.Bottom))
		if f.c.View == cases.Axisymmetric && b.left > 0 { // the other side of the ring
			heats = append(heats, on(-b.right, -b.left, h.Top, h.Bottom))
		}
	}
	p.heatMark(heats...)
	for n := len(f.c.Targets) - 1; n >= 0; n-- {
		t := &f.c.Targets[n]
		left, right := t.Left, t.Right
		if f.c.View == cases.Axisymmetric {
			right = t.Radius
			if math.IsNaN(right) {
				right = f.c.Extent.Radius
			}
			left = -right
		}
		width := vg.Length(0.9)
		if n == 0 {
			width = 2
		}
		r := on(left, right, t.Top, t.Bottom)
		p.frame(line(color.Black, width), r)
		for _, at := range resample(append(cornersOf(r), r.Min), 4) {
			taken = append(taken, around(at, 1))
		}
	}
	p.steamWays(f, q)
	if z := f.c.Site.WaterTable; z > 0 && z < q.y.hi {
		p.waterMark(vg.Point{X: q.Max.X - 9, Y: q.atY(z)})
	}
	for i := range f.c.Electrodes {
		e := &f.c.Electrodes[i]
		half := max(e.Radius, e.Width/2)
		r := on(e.X-half, e.X+half, e.Top, e.Bottom)
		const least = vg.Length(3)
		if c := (r.Min.X + r.Max.X) / 2; r.Max.X-r.Min.X < least {
			r.Min.X, r.Max.X = c-least/2, c+least/2
		}
		p.bore(f, e, r)
		taken = append(taken, r)
	}
	if f.c.View != cases.Plan {
		for _, sensor := range f.c.Sensors {
			for _, z := range sensor.Depths {
				if at := (vg.Point{X: q.atX(sensor.X), Y: q.atY(z)}); at.X >= q.Min.X && at.X <= q.Max.X && z <= q.y.hi {
					p.cross(at)
					taken = append(taken, around(at, 4))
				}
			}
		}
		for _, m := range metal {
			taken = append(taken, m.taken()...)
		}
		for _, l := range p.metalNames(metal, q.Rectangle, taken) {
			p.boxed(body, l.at, l.text)
		}
	}
}
