package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
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
	across_ := "x_m"
	if f.c.View == cases.Axisymmetric {
		across_ = "r_m"
	}
	var cells []int
	var xs, zs []float64
	for k, z := range g.zc {
		for i, x := range g.xc {
			if g.x[i+1] > w.left && g.x[i] < w.right && g.z[k+1] > w.top && g.z[k] < w.bottom {
				cells = append(cells, k*len(g.xc)+i)
				xs, zs = append(xs, x), append(zs, z)
			}
		}
	}
	out.add(across_, xs)
	out.add("depth_m", zs)
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
	if top, ok := f.hottestWet(f.boilingMost(g, boil, fields), cells); ok && top < hi {
		b = newBands(lo, top, s).opened(hi)
	}

	lay := arrange(w, len(fields))
	title := "Temperature in the section"
	if f.c.View == cases.Axisymmetric {
		title = "Temperature around one electrode"
		if len(f.c.Electrodes) == 0 {
			title = "Temperature around set power"
		}
	}
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
	const barHeight = vg.Length(14)
	bottom := tickHeight + lineHeight + s.keysHeight(f, w) + lineHeight + barHeight + 3*lineHeight + footHeight
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
		p.keys(p.groundKeys(f, s, w), margin, y-lineHeight-8, p.Max.X-2*margin)
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

// layout is how the panels of the section stand on the page.
type layout struct {
	stacked                 bool
	panelWidth, panelHeight vg.Length
	height                  vg.Length // all panels with their titles
	titleGap                vg.Length // from a panel's top to its title
	pitch                   vg.Length // from panel to panel
	exaggeration            float64   // vertical scale over horizontal
}

// arrange fits n panels that show w.
func arrange(w box, n int) layout {
	wide, deep := w.right-w.left, w.bottom-w.top
	// What is left of the page between the axes and the names of the layers.
	const inner = vg.Length(280)
	l := layout{stacked: wide >= 1.5*deep}
	least, most := 100.0, 170.0
	if l.stacked {
		l.panelWidth = inner
	} else {
		least, most = 190, 320
		const gap = vg.Length(12)
		l.panelWidth = min(120, (inner-vg.Length(n-1)*gap)/vg.Length(n))
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
	for _, e := range []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20, 0.75, 0.5, 0.25, 0.2, 0.1} {
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

// bandScale is the scale of filled contours.
type bandScale struct {
	levels []float64 // [°C] edges of the bands, at round values of the first unit
	step   float64   // between them, in the first unit
	open   bool      // the last band holds all that is hotter as well
}

// hottestWet returns the temperature [°C] above which a cell of the picture is
// dry ground that need not be told apart: a little over the boiling points and
// the target. Dry ground at an electrode may be so hot that bands up to it would
// leave all the rest in one colour.
func (f *folder) hottestWet(boil []float64, cells []int) (float64, bool) {
	if boil == nil {
		return 0, false
	}
	var shown []float64
	for _, cell := range cells {
		shown = append(shown, boil[cell])
	}
	_, top, ok := bounds(shown)
	if target, is := firstTarget(f.c); is {
		top = max(top, target)
	}
	return top + 2, ok // so that boiling ground stays below the next round value
}

// opened adds a band for all that is hotter, up to hi °C, unless the bands
// reach it already.
func (b bandScale) opened(hi float64) bandScale {
	n := len(b.levels) - 1
	if hi <= b.levels[n] {
		return b
	}
	b.levels = append(b.levels, 2*b.levels[n]-b.levels[n-1])
	b.open = hi > b.levels[n+1]
	return b
}

// newBands covers [lo, hi] °C with bands of one round width.
func newBands(lo, hi float64, s style) bandScale {
	u := s.temperature[0]
	a, z := u.of(lo), u.of(hi)
	// Under a degree, differences are not worth a band; and ground of one
	// temperature is cool, so light.
	d := max(step(z-a, 11), 1)
	z = max(z, a+5*d)
	first, last := math.Floor(a/d+1e-9), math.Ceil(z/d-1e-9)
	last = max(last, first+1)
	b := bandScale{step: d}
	for j := first; j <= last; j++ {
		b.levels = append(b.levels, u.back(j*d))
	}
	return b
}

// band returns which band holds v.
func (b bandScale) band(v float64) int {
	n := len(b.levels) - 1
	t := (v - b.levels[0]) / (b.levels[n] - b.levels[0]) * float64(n)
	return max(0, min(n-1, int(math.Floor(t+1e-9))))
}

// shade returns the colour of a band.
func (b bandScale) shade(r *ramp, n int) lab {
	return r.at((float64(n) + 0.5) / float64(len(b.levels)-1))
}

// isotherm is a line of one temperature [°C] in a panel.
type isotherm struct {
	level  float64
	lines  [][]vg.Point
	target bool // what the first target has to reach; level is NaN for boiling
	band   int  // the band above it, for its shade
}

// goal is what the first target has to reach: a temperature, or boiling.
type goal struct {
	level float64 // [°C]; NaN for boiling and for none
	boil  *nodes  // [°C] the boiling point, for boiling
}

func (f *folder) goalOf(g *grid, boil []float64) goal {
	if v, ok := firstTarget(f.c); ok {
		return goal{level: v}
	}
	if f.c.Targets[0].Boiling && boil != nil {
		n := g.nodes(boil)
		return goal{math.NaN(), &n}
	}
	return goal{level: math.NaN()}
}

// isotherms returns a panel's lines: the target's temperature or the boiling
// front first, then the edges of the bands.
func isotherms(to goal, q panel, n nodes, b bandScale) []isotherm {
	at := func(n nodes, level float64) [][]vg.Point {
		var parts [][]vg.Point
		for _, l := range n.isolines(level) {
			pts := make([]vg.Point, len(l))
			for i, c := range l {
				pts[i] = vg.Point{X: q.atX(c[0]), Y: q.atY(c[1])}
			}
			parts = append(parts, clipTo(q.Rectangle, pts)...)
		}
		return parts
	}
	var list []isotherm
	switch {
	case to.boil != nil:
		// Boiling ground holds its boiling point to round-off, so the front lies
		// a little below.
		const below = 0.01 // [K]
		list = append(list, isotherm{math.NaN(), at(n.minus(*to.boil), -below), true, 0})
	case !bad(to.level):
		list = append(list, isotherm{to.level, at(n, to.level), true, b.band(to.level)})
	}
	for i := 1; i < len(b.levels)-1; i++ {
		if math.Abs(b.levels[i]-to.level) < 1e-6 {
			continue
		}
		list = append(list, isotherm{b.levels[i], at(n, b.levels[i]), false, i})
	}
	return list
}

// named picks the isotherms that carry a label, every second and the target's,
// and writes it, with both units if long.
func named(list []isotherm, s style, long bool) []curve {
	var curves []curve
	for _, l := range list {
		if len(l.lines) == 0 || !l.target && l.band%2 == 1 {
			continue
		}
		// Beside the target's own line, a near one needs no name.
		if list[0].target && !l.target && math.Abs(l.level-list[0].level) < 4 {
			continue
		}
		text := short(s.temperature[0].of(l.level))
		switch {
		case bad(l.level):
			text = "boiling"
		case long:
			text += " (" + number(math.Round(s.temperature[1].of(l.level)), 1) + ")"
		}
		curves = append(curves, curve{l.lines, text})
	}
	return curves
}

// nameIsotherms writes the labels; where electrodes leave no room for the first,
// beside its line if it is the target's (target), else over the electrodes.
func (p *pen) nameIsotherms(curves []curve, target bool, q panel, taken []vg.Rectangle) {
	boxes, _ := p.placeLabels(curves, body, q.Rectangle, taken)
	if len(boxes) > 0 && boxes[0] == (vg.Rectangle{}) {
		if r, ok := p.besideLine(curves[0], q.Rectangle, taken); target && ok {
			p.boxed(body, r, curves[0].text)
			curves = curves[1:]
			boxes, _ = p.placeLabels(curves, body, q.Rectangle, append(slices.Clone(taken), r))
		} else {
			boxes, _ = p.placeLabels(curves, body, q.Rectangle, nil)
		}
	}
	for i, r := range boxes {
		if r != (vg.Rectangle{}) {
			p.boxed(body, r, curves[i].text)
		}
	}
}

// besideLine finds a box for a curve's label that starts at the curve and reaches
// to the right, at about half its height: the curve may be too near the panel's
// left side or an electrode for a label centred on it.
func (p *pen) besideLine(c curve, bounds vg.Rectangle, taken []vg.Rectangle) (best vg.Rectangle, ok bool) {
	var samples []vg.Point
	low, high := bounds.Max.Y, bounds.Min.Y
	for _, l := range c.lines {
		samples = append(samples, resample(l, 3)...)
	}
	for _, s := range samples {
		low, high = min(low, s.Y), max(high, s.Y)
	}
	w, half := p.width(body, c.text)+4, vg.Length(bodySize*0.36+2)
	off := math.Inf(1)
	for _, s := range samples {
		r := vg.Rectangle{Min: vg.Point{X: s.X - 3, Y: s.Y - half}, Max: vg.Point{X: s.X - 3 + w, Y: s.Y + half}}
		free := r.Min.X >= bounds.Min.X && r.Max.X <= bounds.Max.X-2 && r.Min.Y >= bounds.Min.Y+2 && r.Max.Y <= bounds.Max.Y-2
		for _, t := range taken {
			free = free && !overlap(r, t, 0)
		}
		if d := math.Abs(float64(s.Y - (low+high)/2)); free && d < off {
			best, off, ok = r, d, true
		}
	}
	return best, ok
}

// marks returns where a panel's electrodes, bodies of set power, buried metal and its
// water-table sign of a day stand.
func (f *folder) marks(q panel, w box, day float64) []vg.Rectangle {
	var list []vg.Rectangle
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
	if z := f.tableOn(day); z > w.top && z < w.bottom {
		tip := vg.Point{X: q.Min.X + 8, Y: q.atY(z)}
		list = append(list, vg.Rectangle{Min: tip.Add(vg.Point{X: -7, Y: -2}), Max: tip.Add(vg.Point{X: 7, Y: 11})})
	}
	return list
}

// electrodeRectangle is an electrode on the page, wide enough to be seen.
func (f *folder) electrodeRectangle(e cases.Electrode, q panel) vg.Rectangle {
	const least = vg.Length(4)
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

// bands fills a panel with the bands of a field.
func (p *pen) bands(q panel, w box, value func(x, z float64) float64, shade func(v float64) color.RGBA) {
	const dots = 3 // a point, as fine as the PNG
	width, height := int(math.Round(float64(q.Max.X-q.Min.X)*dots)), int(math.Round(float64(q.Max.Y-q.Min.Y)*dots))
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	for py := range height {
		down := (float64(py) + 0.5) / float64(height)
		if !q.y.down {
			down = 1 - down
		}
		z := w.top + down*(w.bottom-w.top)
		for px := range width {
			x := w.left + (float64(px)+0.5)/float64(width)*(w.right-w.left)
			c := color.RGBA{255, 255, 255, 255}
			if v := value(x, z); !bad(v) {
				c = shade(v)
			}
			img.SetRGBA(px, py, c)
		}
	}
	p.DrawImage(q.Rectangle, img)
}

// isothermLines strokes a panel's lines, the target's last and on white.
func (p *pen) isothermLines(s style, b bandScale, lines []isotherm) {
	for _, l := range lines {
		for _, part := range l.lines {
			if !l.target {
				p.stroke(line(b.shade(&s.ramp, l.band).ink(), 0.5), part...)
			}
		}
	}
	for _, l := range lines {
		for _, part := range l.lines {
			if l.target {
				p.stroke(line(color.White, 2.6), part...)
				p.stroke(line(color.Black, 1.4, 4, 2), part...)
			}
		}
	}
}

// shader returns the colour of a value of the scale.
func (b bandScale) shader(r *ramp) func(v float64) color.RGBA {
	shades := make([]color.RGBA, len(b.levels)-1)
	for i := range shades {
		shades[i] = b.shade(r, i).rgba()
	}
	return func(v float64) color.RGBA { return shades[b.band(v)] }
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
		tip := vg.Point{X: q.Min.X + 8, Y: q.atY(z)}
		p.stroke(line(color.White, 1.8), vg.Point{X: q.Min.X, Y: tip.Y}, vg.Point{X: q.Max.X, Y: tip.Y})
		p.stroke(line(color.Black, 0.8, 8, 3, 2, 3), vg.Point{X: q.Min.X, Y: tip.Y}, vg.Point{X: q.Max.X, Y: tip.Y})
		p.waterMark(tip)
	}
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
	for _, h := range f.c.Heats {
		p.heatMark(f.heatRectangle(h, q))
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

// scale draws the bands as a bar, with both units.
func (p *pen) scale(s style, r vg.Rectangle, b bandScale) {
	n := len(b.levels) - 1
	q := panel{Rectangle: r, x: axis{lo: b.levels[0], hi: b.levels[n]}}
	every := max(1, int(math.Ceil(44/(float64(r.Max.X-r.Min.X)/float64(n)))))
	first, last, sign := 0, n, ""
	if b.open {
		// The last band has no end to name, and its start must be named.
		last, sign = n-1, "≥ "
		first = last % every
	}
	for i := range n {
		p.fill(b.shade(&s.ramp, i).rgba(), vg.Rectangle{Min: vg.Point{X: q.atX(b.levels[i]), Y: r.Min.Y}, Max: vg.Point{X: q.atX(b.levels[i+1]), Y: r.Max.Y}})
	}
	p.frame(thin, r)
	for i := first; i <= last; i += every {
		before := ""
		if i == last {
			before = sign
		}
		x := q.atX(b.levels[i])
		p.stroke(thin, vg.Point{X: x, Y: r.Min.Y - tickLength}, vg.Point{X: x, Y: r.Max.Y + tickLength})
		p.text(body, color.Black, x, r.Min.Y-tickLength-3, 0.5, 1, before+number(s.temperature[0].of(b.levels[i]), b.step))
		p.text(body, color.Black, x, r.Max.Y+tickLength+3, 0.5, 0, before+number(math.Round(s.temperature[1].of(b.levels[i])), 1))
	}
	x := r.Max.X + 22
	p.text(body, color.Black, x, r.Min.Y-tickLength-3, 0, 1, s.temperature[0].name)
	p.text(body, color.Black, x, r.Max.Y+tickLength+3, 0, 0, s.temperature[1].name)
}
