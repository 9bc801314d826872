package figure

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// mostPanels is how many dates the section figure shows.
const mostPanels = 3

// section draws the temperature in the plane of the view at a few dates, all in
// one scale. Wide ground stands in panels one above the other, narrow ground
// side by side.
func section(f *folder, s style) (*drawing, error) {
	if f.c.View == cases.Plan {
		return nil, fmt.Errorf("the view is a plan: %w", errNothing)
	}
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	// The start is one even temperature; its panel would be empty.
	if len(saved) > 1 && *saved[0].Days <= 0 {
		saved = saved[1:]
	}
	// Thirds of the span from power-on, not from the first field saved.
	fields, err := f.readFields(spacedEntries(saved, mostPanels, 0, true), g)
	if err != nil {
		return nil, err
	}

	out := &table{file: "section.csv"}
	cells := f.cellsIn(g, w, out)
	var shown [][]float64
	for _, one := range fields {
		v := pick(one.v, cells)
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
	if top, ok := f.hottestWet(f.boilingMost(g, boil, fields), cells); ok && top < hi {
		b = newBands(lo, top, s).opened(hi)
	}

	lay := arrange(w, len(fields), s.stripWidth(f.layerBands(w.top, w.bottom)))
	title := "Temperature in the section"
	if f.c.View == cases.Axisymmetric {
		title = "Temperature around one electrode"
		if len(f.c.Electrodes) == 0 {
			title = "Temperature around set power"
		}
	}
	days := daysOf(fields)
	const barHeight = vg.Length(14)
	bottom := tickHeight + lineHeight + s.keysHeight(f, w, (*pen)(nil).targetKeys(f, s)...) + lineHeight + barHeight + 3*lineHeight + footHeight
	total := headHeight + tickHeight + lay.height + bottom

	paint := func(p *pen) {
		p.heading(f, title, days, "section")
		yAxis := axis{lo: w.top, hi: w.bottom, down: true}
		xAxis := axis{lo: w.left, hi: w.right}
		x0 := margin + p.room(yAxis.ticks(s.length[0], along(lay.panelHeight)), "depth")
		top := p.Max.Y - headHeight - tickHeight
		bands := f.layerBands(w.top, w.bottom)
		// Isotherms carry both units where every label of every panel stays clear of
		// other lines; else the first only, and the bar gives the other.
		panels := make([]panel, len(fields))
		lines := make([][]isotherm, len(fields))
		long := true
		for n, one := range fields {
			panels[n] = lay.panel(n, x0, top)
			panels[n].x, panels[n].y = xAxis, yAxis
			lines[n] = isotherms(f.goalOf(g, f.boilingOn(g, boil, one.time)), panels[n], g.nodes(one.v), b)
			_, clear := p.placeLabels(named(lines[n], s, true), body, panels[n].Rectangle, f.marks(panels[n], w, one.time))
			long = long && clear
		}
		var last panel
		for n, one := range fields {
			q := panels[n]
			titleGap := lay.titleGap
			if n == 0 { // above the upper axis, which only the first panel has if stacked
				titleGap = tickHeight + 2
			}
			p.text(bodyBold, color.Black, q.Min.X, q.Max.Y+titleGap, 0, 0, dateName(one.time, f.c.Time.PowerOn, lay.stacked))
			p.heat(f, s, q, g.nodes(one.v), b, bands, w, lines[n], one.time)
			reached := len(lines[n]) > 0 && lines[n][0].target && len(lines[n][0].lines) > 0
			p.nameIsotherms(named(lines[n], s, long), reached, q, f.marks(q, w, one.time))
			lay.axes(p, s, q, n, len(fields), bands)
			last = q
		}
		letter := "x"
		if f.c.View == cases.Axisymmetric {
			letter = "r"
		}
		y := last.Min.Y - tickHeight
		note := fmt.Sprintf("%s in %s, above in %s. %s.", letter, s.length[0].name, s.length[1].name, lay.exaggerationText())
		if long {
			note += fmt.Sprintf(" Isotherms in %s (%s).", s.temperature[0].name, s.temperature[1].name)
		} else {
			note += " Isotherms in " + s.temperature[0].name + "."
		}
		p.text(body, color.Black, margin, y, 0, 1, p.fit(body, note, p.Max.X-2*margin))
		p.keys(append(p.groundKeys(f, s, w), p.targetKeys(f, s)...), margin, y-lineHeight-8, p.Max.X-2*margin)
		bar := vg.Rectangle{Min: vg.Point{X: x0, Y: footHeight + 2*lineHeight}, Max: vg.Point{X: p.Max.X - 110, Y: footHeight + 2*lineHeight + barHeight}}
		p.scale(s, bar, b)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// dateName names a panel: the day, and with power-on known its date if there is
// room.
func dateName(t float64, powerOn time.Time, wide bool) string {
	name := "day " + short(t)
	if wide && !powerOn.IsZero() {
		name += ", " + powerOn.Add(time.Duration(t*24*float64(time.Hour))).Format("2006-01-02")
	}
	return name
}

// daysOf lists the days of the fields, for a subtitle: "days 1, 2, 3".
func daysOf(fields []field) string {
	if len(fields) == 1 {
		return "day " + short(fields[0].time)
	}
	text := make([]string, len(fields))
	for i, one := range fields {
		text[i] = short(one.time)
	}
	return "days " + strings.Join(text, ", ")
}

// spanOf tells the days of the fields by the first and the last: "days 1 to 3".
func spanOf(fields []field) string {
	if len(fields) == 1 {
		return daysOf(fields)
	}
	return "days " + short(fields[0].time) + " to " + short(fields[len(fields)-1].time)
}

// layout is how the panels of the section stand on the page.
type layout struct {
	stacked                 bool
	panelWidth, panelHeight vg.Length
	height                  vg.Length // all panels with their titles
	titleGap                vg.Length // from a panel's top to its title
	pitch                   vg.Length // from panel to panel
	exaggeration            float64   // vertical scale over horizontal
}

// stripWidth is the room for the names of layers beside panels, groundWidth at most.
func (s style) stripWidth(bands []layerBand) vg.Length {
	p, w := &pen{fonts: s.fonts}, vg.Length(0)
	for _, b := range bands {
		w = max(w, p.width(body, b.name)+38) // frame, gaps and the other unit's axis
	}
	return min(w, groundWidth)
}

// arrange fits n panels that show w beside a strip so wide: one above the other or side by
// side, as they are nearer to true scale.
func arrange(w box, n int, strip vg.Length) layout {
	// What is left of the page between the axes and the names of the layers.
	inner := 280 + groundWidth - strip
	above, beside := panels(w, n, inner, true), panels(w, n, inner, false)
	off := func(l layout) float64 { return math.Abs(math.Log(l.exaggeration)) }
	if off(above) > off(beside)+1e-9 {
		return beside
	}
	return above
}

// panels fits n panels that show w into a width.
func panels(w box, n int, inner vg.Length, stacked bool) layout {
	wide, deep := w.right-w.left, w.bottom-w.top
	l := layout{stacked: stacked}
	least, most := 100.0, 170.0
	if l.stacked {
		l.panelWidth = inner
	} else {
		least, most = 150, 320
		const gap = vg.Length(12)
		l.panelWidth = min(150, (inner-vg.Length(n-1)*gap)/vg.Length(n))
		l.pitch = l.panelWidth + gap
	}
	trueHeight := float64(l.panelWidth) * deep / wide
	l.exaggeration = exaggerate(trueHeight, least, most)
	l.panelHeight = vg.Length(l.exaggeration * trueHeight)
	const titleHeight = vg.Length(20)
	if l.stacked {
		l.pitch = l.panelHeight + titleHeight
		l.height = vg.Length(n) * l.pitch
		l.titleGap = 5
	} else {
		l.height = l.panelHeight + titleHeight
		l.titleGap = tickHeight + 2
	}
	return l
}

// exaggerate returns by what a height is stretched to come between least and most: a
// round value, none if the page allows it.
func exaggerate(height, least, most float64) float64 {
	for _, e := range []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1} {
		if h := e * height; h >= least && h <= most {
			return e
		}
	}
	return most / height
}

// panel returns the n-th panel; x0 is the left side, top the upper edge.
func (l layout) panel(n int, x0, top vg.Length) panel {
	x, y := x0, top-20
	if l.stacked {
		y -= vg.Length(n) * l.pitch
	} else {
		x += vg.Length(n) * l.pitch
	}
	return panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x, Y: y - l.panelHeight}, Max: vg.Point{X: x + l.panelWidth, Y: y}}}
}

// axes draws the axes of the n-th of count panels, with the layers beside the last of
// those that stand side by side: the first unit left and below, the second right and
// above, across once per column.
func (l layout) axes(p *pen, s style, q panel, n, count int, bands []layerBand) {
	if l.stacked || n == 0 {
		p.left(q, q.y.ticks(s.length[0], along(l.panelHeight)), "depth ("+s.length[0].name+")")
	}
	if l.stacked || n == count-1 {
		marks := q.y.ticks(s.length[1], along(l.panelHeight))
		p.right(q, marks, s.length[1].name)
		strip := q.Rectangle
		strip.Min.X = q.Max.X + p.room(marks, s.length[1].name) + 4
		strip.Max.X = p.Max.X - margin
		if len(bands) > 0 {
			p.ground(q, strip, bands)
		}
	}
	ticks := max(1, int((q.Max.X-q.Min.X)/40))
	if !l.stacked || n == count-1 {
		p.below(q, q.x.ticks(s.length[0], ticks), "")
	}
	if !l.stacked || n == 0 {
		p.above(q, q.x.ticks(s.length[1], ticks), "")
	}
}

func (l layout) exaggerationText() string {
	if l.exaggeration == 1 {
		return "True to scale"
	}
	return "Vertical scale × " + short(l.exaggeration)
}

// marks returns where a panel's electrodes, bodies of set power, buried metal and its
// water-table sign of a day stand.
func (f *folder) marks(q panel, w box, day float64) []vg.Rectangle {
	list := f.standing(q, w)
	if z := f.tableOn(day); z > w.top && z < w.bottom {
		list = append(list, waterBox(f.waterTip(q, q.atY(z), list)))
	}
	return list
}

// standing returns where a panel's electrodes, bodies of set power and buried metal stand.
func (f *folder) standing(q panel, w box) (list []vg.Rectangle) {
	for _, e := range f.c.Electrodes {
		list = append(list, f.electrodeRectangle(e, q))
	}
	for _, h := range f.c.Heats {
		list = append(list, f.heatRectangle(h, q))
	}
	for _, m := range f.c.Conductors {
		if h, ok := f.metalIn(m, w); ok {
			list = append(list, f.heatRectangle(h, q))
		}
	}
	return list
}

// waterBox is what the water-table sign takes.
func waterBox(tip vg.Point) vg.Rectangle {
	return vg.Rectangle{Min: tip.Add(vg.Point{X: -7, Y: -2}), Max: tip.Add(vg.Point{X: 7, Y: 11})}
}

// waterTip is where the sign of a water table at y stands in a panel: as far left as it
// hides nothing, or there anyway.
func (f *folder) waterTip(q panel, y vg.Length, taken []vg.Rectangle) vg.Point {
	for x := q.Min.X + 8; x < q.Max.X-8; x += 4 {
		tip := vg.Point{X: x, Y: y}
		if r := shrink(waterBox(tip), 1); !slices.ContainsFunc(taken, func(t vg.Rectangle) bool { return overlap(r, t, 0) }) {
			return tip
		}
	}
	return vg.Point{X: q.Min.X + 8, Y: y}
}

// electrodeRectangle is an electrode on the page, wide enough to be seen.
func (f *folder) electrodeRectangle(e cases.Electrode, q panel) vg.Rectangle {
	const widest, narrowest = vg.Length(4), vg.Length(2.4)
	// Of rows that stand close, the ground between them is to be seen too.
	least := min(widest, max(narrowest, 0.3*vg.Length(f.rowsApart())*(q.Max.X-q.Min.X)/vg.Length(q.x.hi-q.x.lo)))
	b := f.electrodeBox(e)
	r := vg.Rectangle{Min: vg.Point{X: q.atX(b.left), Y: q.atY(b.bottom)}, Max: vg.Point{X: q.atX(b.right), Y: q.atY(b.top)}}
	if r.Max.X-r.Min.X < least {
		c := (r.Min.X + r.Max.X) / 2
		r.Min.X, r.Max.X = c-least/2, c+least/2
	}
	if r.Min.X < q.Min.X { // on the axis
		r.Min.X, r.Max.X = q.Min.X, q.Min.X+(r.Max.X-r.Min.X)
	}
	return r
}

// heat draws one panel: bands, isotherms, layers, the water table of its day, target,
// electrodes.
func (p *pen) heat(f *folder, s style, q panel, n nodes, b bandScale, bands []layerBand, w box, lines []isotherm, day float64) {
	p.bands(q, w, n.at, b.shader(&s.ramp))
	p.isothermLines(s, b, lines)
	p.inGround(f, q, bands, w, day)
}

// inGround draws what stands in a panel of the section: layers, the water table of its
// day, the target, bodies and electrodes.
func (p *pen) inGround(f *folder, q panel, bands []layerBand, w box, day float64) {
	for _, band := range bands[min(1, len(bands)):] {
		y := q.atY(band.top)
		p.stroke(line(color.White, 1.6), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		p.stroke(line(color.Black, 0.6), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
	}
	if z := f.tableOn(day); z > w.top && z < w.bottom {
		y := q.atY(z)
		p.stroke(line(color.White, 1.8), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		p.stroke(line(color.Black, 0.8, 8, 3, 2, 3), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
	}
	var heats []vg.Rectangle
	for _, h := range f.c.Heats {
		heats = append(heats, f.heatRectangle(h, q))
	}
	p.heatMark(heats...)
	t := f.c.Targets[0]
	x0, x1 := t.Left, t.Right
	if f.c.View == cases.Axisymmetric {
		x0, x1 = w.left, min(w.right, t.Radius)
		if math.IsNaN(t.Radius) {
			x1 = w.right
		}
	}
	zone := vg.Rectangle{Min: vg.Point{X: q.atX(max(x0, w.left)), Y: q.atY(min(t.Bottom, w.bottom))}, Max: vg.Point{X: q.atX(min(x1, w.right)), Y: q.atY(max(t.Top, w.top))}}
	p.frame(line(color.White, 3.2), zone)
	p.frame(line(color.Black, 1.8), zone)
	p.steamWays(f, q)
	if z := f.tableOn(day); z > w.top && z < w.bottom {
		p.waterMark(f.waterTip(q, q.atY(z), f.standing(q, w)))
	}
	for _, m := range f.c.Conductors {
		if h, ok := f.metalIn(m, w); ok {
			p.metalMark(f.heatRectangle(h, q))
		}
	}
	for _, e := range f.c.Electrodes {
		p.bore(f, &e, f.electrodeRectangle(e, q))
	}
	p.frame(thin, q.Rectangle)
}
