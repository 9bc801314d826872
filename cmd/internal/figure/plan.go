package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// planMap draws the temperature in the slab of a plan at a few dates, all in one scale and
// true to scale, with each electrode's phase. Wide ground stands in panels one above
// the other, narrow ground side by side.
func planMap(f *folder, s style) (*drawing, error) {
	if f.c.View != cases.Plan {
		return nil, fmt.Errorf("the case is no plan: %w", errNothing)
	}
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	if len(saved) > 1 && *saved[0].Days <= 0 { // one even temperature
		saved = saved[1:]
	}
	fields, err := f.readFields(spacedEntries(saved, mostPanels, 0, true), g)
	if err != nil {
		return nil, err
	}
	out := &table{file: "plan.csv"}
	var cells []int
	var xs, ys []float64
	for k, y := range g.zc {
		for i, x := range g.xc {
			if g.x[i+1] > w.left && g.x[i] < w.right && g.z[k+1] > w.top && g.z[k] < w.bottom {
				cells = append(cells, k*len(g.xc)+i)
				xs, ys = append(xs, x), append(ys, y)
			}
		}
	}
	out.add("x_m", xs)
	out.add("y_m", ys)
	var shown [][]float64
	for _, one := range fields {
		v := make([]float64, len(cells))
		for n, cell := range cells {
			v[n] = one.v[cell]
		}
		shown = append(shown, v)
		out.add("day_"+dayName(one.time)+"_C", v)
	}
	lo, hi, ok := bounds(shown...)
	if !ok {
		return nil, fmt.Errorf("no finite temperature: %w", errNothing)
	}
	boil, err := f.boiling(g)
	if err != nil {
		return nil, err
	}
	b := newBands(lo, hi, s)
	if top, ok := f.hottestWet(boil, cells); ok && top < hi {
		b = newBands(lo, top, s).opened(hi)
	}
	goal := f.goalOf(g, boil)
	days := "days"
	for i, one := range fields {
		if i > 0 {
			days += ","
		}
		days += " " + short(one.time)
	}
	if len(fields) == 1 {
		days = "day " + short(fields[0].time)
	}

	lay := arrangePlan(w, len(fields))
	const barHeight, keyHeight = vg.Length(14), lineHeight + 4
	bottom := tickHeight + 2*lineHeight + keyHeight + barHeight + 3*lineHeight + footHeight
	total := headHeight + tickHeight + lay.height + bottom

	paint := func(p *pen) {
		p.heading(f, "Temperature in the slab, seen from above", days, "plan")
		xAxis, yAxis := axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom}
		count := max(1, int((lay.panelWidth)/40))
		marks := [2][]tick{yAxis.ticks(s.length[0], along(lay.panelHeight)), yAxis.ticks(s.length[1], along(lay.panelHeight))}
		titles := [2]string{"y (" + s.length[0].name + ")", s.length[1].name}
		x0 := margin + p.room(marks[0], titles[0])
		top := p.Max.Y - headHeight - tickHeight
		var last panel
		for n, one := range fields {
			q := lay.panel(n, x0, top)
			q.x, q.y = xAxis, yAxis
			lines := isotherms(goal, q, g.nodes(one.v), b)
			gap := lay.titleGap
			if n == 0 {
				gap = tickHeight + 2
			}
			p.text(bodyBold, color.Black, q.Min.X, q.Max.Y+gap, 0, 0, dateName(one.time, f.c.Time.PowerOn, lay.stacked))
			p.planPanel(f, s, q, g.nodes(one.v), b, w, lines)
			if lay.stacked || n == 0 {
				p.left(q, marks[0], titles[0])
				p.above(q, xAxis.ticks(s.length[1], count), "")
			}
			if lay.stacked || n == len(fields)-1 {
				p.right(q, marks[1], titles[1])
			}
			if !lay.stacked || n == len(fields)-1 {
				p.below(q, xAxis.ticks(s.length[0], count), "")
			}
			last = q
		}
		y := last.Min.Y - tickHeight
		note := fmt.Sprintf("x in %s, above in %s. True to scale.", s.length[0].name, s.length[1].name)
		p.text(body, color.Black, margin, y, 0, 1, p.fit(body, note, p.Max.X-2*margin))
		p.keys(p.planKeys(f, s, w, lines(f, b)), margin, y-lineHeight-8, p.Max.X-2*margin)
		bar := vg.Rectangle{Min: vg.Point{X: x0, Y: footHeight + 2*lineHeight}, Max: vg.Point{X: p.Max.X - 110, Y: footHeight + 2*lineHeight + barHeight}}
		p.scale(s, bar, b)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// lines reports whether a line of what the target has to reach can stand in a panel.
func lines(f *folder, b bandScale) bool {
	t, ok := firstTarget(f.c)
	return f.c.Targets[0].Boiling || ok && t > b.levels[0] && t < b.levels[len(b.levels)-1]
}

// arrangePlan fits n panels that show w, true to scale.
func arrangePlan(w box, n int) layout {
	const inner, gap, highest, titleHeight = vg.Length(360), vg.Length(12), 260.0, vg.Length(20)
	wide, deep := w.right-w.left, w.bottom-w.top
	l := layout{stacked: wide >= 1.5*deep, exaggeration: 1, panelWidth: inner, titleGap: tickHeight + 2}
	if !l.stacked {
		l.panelWidth = (inner - vg.Length(n-1)*gap) / vg.Length(n)
	}
	l.panelWidth = min(l.panelWidth, vg.Length(highest*wide/deep))
	l.panelHeight = vg.Length(float64(l.panelWidth) * deep / wide)
	if l.stacked {
		l.titleGap, l.pitch = 5, l.panelHeight+titleHeight
		l.height = vg.Length(n) * l.pitch
	} else {
		l.pitch = l.panelWidth + gap
		l.height = l.panelHeight + titleHeight
	}
	return l
}

// planPanel draws one panel: bands, isotherms, targets, bodies of set power,
// electrodes.
func (p *pen) planPanel(f *folder, s style, q panel, n nodes, b bandScale, w box, lines []isotherm) {
	const dots = 3 // a point, as fine as the PNG
	width, height := int(math.Round(float64(q.Max.X-q.Min.X)*dots)), int(math.Round(float64(q.Max.Y-q.Min.Y)*dots))
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	shades := make([]color.RGBA, len(b.levels)-1)
	for i := range shades {
		shades[i] = b.shade(&s.ramp, i).rgba()
	}
	for py := range height {
		y := w.bottom - (float64(py)+0.5)/float64(height)*(w.bottom-w.top)
		for px := range width {
			x := w.left + (float64(px)+0.5)/float64(width)*(w.right-w.left)
			c := color.RGBA{255, 255, 255, 255}
			if v := n.at(x, y); !bad(v) {
				c = shades[b.band(v)]
			}
			img.SetRGBA(px, py, c)
		}
	}
	p.DrawImage(q.Rectangle, img)
	for _, l := range lines {
		for _, part := range l.lines {
			if l.target {
				p.stroke(line(color.White, 2.6), part...)
				p.stroke(line(color.Black, 1.4, 4, 2), part...)
			}
		}
	}
	figure := func(outline [][2]float64, center [2]float64, radius float64) []vg.Point {
		if outline == nil {
			const sides = 90
			for i := range sides {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / sides)
				outline = append(outline, [2]float64{center[0] + radius*cos, center[1] + radius*sin})
			}
		}
		var pts []vg.Point
		for i := range len(outline) + 1 {
			c := outline[i%len(outline)]
			pts = append(pts, vg.Point{X: q.atX(c[0]), Y: q.atY(c[1])})
		}
		return pts
	}
	for i, t := range f.c.Targets {
		wide := vg.Length(1.8)
		if i > 0 {
			wide = 0.9
		}
		for _, part := range clipTo(q.Rectangle, figure(t.Outline, t.Center, t.Radius)) {
			p.stroke(line(color.White, wide+1.4), part...)
			p.stroke(line(color.Black, wide), part...)
		}
	}
	for _, h := range f.c.Heats {
		for _, part := range clipTo(q.Rectangle, figure(h.Outline, h.Center, h.Radius)) {
			p.stroke(line(color.White, 2.4), part...)
			p.stroke(line(color.Black, 1.3, 2, 1.5), part...)
		}
	}
	for _, m := range f.c.Conductors {
		p.metalFigure(q.Rectangle, figure(m.Outline, m.Center, m.Radius))
	}
	// Letters where a disc large enough for one leaves its neighbours free.
	nearest := math.Inf(1)
	for _, d := range f.c.Nearest() {
		nearest = math.Min(nearest, d)
	}
	radius := vg.Length(6.5)
	room := vg.Length(nearest/(w.right-w.left)) * (q.Max.X - q.Min.X)
	lettered := room > 2*radius
	if !lettered {
		radius = max(1.5, min(3, room/3))
	}
	for _, e := range f.c.Electrodes {
		at := vg.Point{X: q.atX(e.X), Y: q.atY(e.Y)}
		p.disc(at, radius)
		if lettered {
			p.text(face{10, false}, color.Black, at.X, at.Y, 0.5, 0.5, e.Phase)
		}
	}
	p.frame(thin, q.Rectangle)
}

// disc fills a circle as an electrode: white in a black outline.
func (p *pen) disc(at vg.Point, radius vg.Length) {
	path := vg.Path{}
	path.Move(at.Add(vg.Point{X: radius}))
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	p.SetColor(color.White)
	p.Fill(path)
	p.SetLineStyle(line(color.Black, 1))
	p.Stroke(path)
}

// metalFigure fills a closed figure as buried metal, as far as it lies in a panel.
func (p *pen) metalFigure(in vg.Rectangle, corners []vg.Point) {
	for _, side := range []func(v vg.Point) float64{
		func(v vg.Point) float64 { return float64(v.X - in.Min.X) },
		func(v vg.Point) float64 { return float64(in.Max.X - v.X) },
		func(v vg.Point) float64 { return float64(v.Y - in.Min.Y) },
		func(v vg.Point) float64 { return float64(in.Max.Y - v.Y) },
	} {
		corners = within(corners, side)
	}
	if len(corners) == 0 {
		return
	}
	path := vg.Path{}
	path.Move(corners[0])
	for _, c := range corners[1:] {
		path.Line(c)
	}
	path.Close()
	p.SetColor(color.Black)
	p.Fill(path)
	p.SetLineStyle(line(color.White, 0.8))
	p.Stroke(path)
}

// within returns the part of a closed figure where side is not negative.
// Source: Sutherland & Hodgman, Commun. ACM 17, 32 (1974) (from memory).
func within(corners []vg.Point, side func(v vg.Point) float64) []vg.Point {
	var out []vg.Point
	for i, b := range corners {
		a := corners[(i+len(corners)-1)%len(corners)]
		from, to := side(a), side(b)
		if from < 0 != (to < 0) {
			out = append(out, a.Add(b.Sub(a).Scale(vg.Length(from/(from-to)))))
		}
		if to >= 0 {
			out = append(out, b)
		}
	}
	return out
}

// planKeys are the entries for a plan's marks; reached: the target's line among them.
func (p *pen) planKeys(f *folder, s style, w box, reached bool) []key {
	var list []key
	if len(f.c.Electrodes) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.disc(r.Min.Add(r.Max).Scale(0.5), 5) }, "electrode, phase"})
	}
	if len(f.c.Heats) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.heatMark(shrink(r, 1)) }, "set power"})
	}
	if slices.ContainsFunc(f.c.Conductors, func(m cases.Conductor) bool { _, ok := f.metalIn(m, w); return ok }) {
		list = append(list, key{func(r vg.Rectangle) { p.metalMark(shrink(r, 2)) }, "buried metal"})
	}
	t := f.c.Targets[0]
	list = append(list, key{func(r vg.Rectangle) { p.frame(line(color.Black, 1.8), shrink(r, 1)) }, printable(t.Name)})
	if reached {
		text := "boiling"
		if v, ok := firstTarget(f.c); ok {
			text = s.temperature2(v)
		}
		list = append(list, key{func(r vg.Rectangle) {
			y := (r.Min.Y + r.Max.Y) / 2
			p.stroke(line(color.Black, 1.4, 4, 2), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
		}, text})
	}
	return list
}
