package figure

import (
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// tiles is how the equal panels of a plan stand on the page, true to scale.
type tiles struct {
	columns, rows int
	width, height vg.Length // of a panel
}

// The room that panels of a plan may take, between them, and above each for its title.
const (
	tilesAcross, tilesDown = vg.Length(372), vg.Length(430)
	tileGap, tileTitle     = vg.Length(12), vg.Length(20)
)

// tile arranges at most n panels that show w: of one column of three, two of two and
// three of one, that whose panels are largest.
func tile(w box, n int) tiles {
	var best tiles
	for _, columns := range []int{1, 2, 3} {
		c := min(columns, n)
		r := min((n+c-1)/c, []int{3, 2, 1}[columns-1])
		scale := min(float64((tilesAcross-vg.Length(c-1)*tileGap)/vg.Length(c))/(w.right-w.left), float64(tilesDown/vg.Length(r)-tileTitle)/(w.bottom-w.top))
		if width := vg.Length(scale * (w.right - w.left)); width > best.width*(1+1e-9) {
			best = tiles{c, r, width, vg.Length(scale * (w.bottom - w.top))}
		}
	}
	return best
}

func (t tiles) total() vg.Length { return vg.Length(t.rows) * (t.height + tileTitle) }

// panel returns the n-th panel, row by row; x0 is the left side, top the upper edge.
func (t tiles) panel(n int, x0, top vg.Length, w box) panel {
	x := x0 + vg.Length(n%t.columns)*(t.width+tileGap)
	y := top - vg.Length(n/t.columns)*(t.height+tileTitle) - tileTitle
	return panel{vg.Rectangle{Min: vg.Point{X: x, Y: y - t.height}, Max: vg.Point{X: x + t.width, Y: y}},
		axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom}}
}

// axes draws the axes of the n-th of count panels: y beside the first and last column,
// x under the last of each column and over the first row, each with the other unit on
// the far side.
func (t tiles) axes(p *pen, s style, q panel, n, count int) {
	ticks := max(1, int((q.Max.X-q.Min.X)/40))
	if n%t.columns == 0 {
		p.left(q, q.y.ticks(s.length[0], along(t.height)), "y ("+s.length[0].name+")")
	}
	if n%t.columns == t.columns-1 || n == count-1 {
		p.right(q, q.y.ticks(s.length[1], along(t.height)), s.length[1].name)
	}
	if n+t.columns >= count {
		p.below(q, q.x.ticks(s.length[0], ticks), "")
	}
	if n < t.columns {
		p.above(q, q.x.ticks(s.length[1], ticks), "")
	}
	p.frame(thin, q.Rectangle)
}

// date writes a panel's day, and its date where one panel has the whole width, above it.
func (t tiles) date(p *pen, f *folder, q panel, n int, day float64) {
	gap := vg.Length(5)
	if n < t.columns { // above the upper axis
		gap = tickHeight + 2
	}
	p.text(bodyBold, color.Black, q.Min.X, q.Max.Y+gap, 0, 0, dateName(day, f.c.Time.PowerOn, t.columns == 1))
}

// planWithPhases draws the plan over a panel's field, the phases beside the electrodes.
func (p *pen) planWithPhases(f *folder, q panel) {
	labels := p.phaseLabels(f, q, f.planMarks(q))
	p.drawPlan(f, q)
	for _, l := range labels {
		p.halo(bodyBold, l.at, l.text)
	}
}

// planFoot writes two notes from y downwards, and the keys, and more, below them.
func (p *pen) planFoot(f *folder, s style, y vg.Length, notes [2]string, more ...key) {
	for i, note := range notes {
		p.text(body, color.Black, margin, y-vg.Length(i)*lineHeight, 0, 1, p.fit(body, note, p.Max.X-2*margin))
	}
	p.keys(append(p.planKeys(f, s), more...), margin, y-2*lineHeight-8, p.Max.X-2*margin)
}

// planView draws the temperature of a plan's slab, seen from above, at a few dates, all in
// one scale of temperature and all true to scale.
func planView(f *folder, s style) (*drawing, error) {
	if f.c.View != cases.Plan {
		return nil, fmt.Errorf("the view is no plan: %w", errNothing)
	}
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	// The start is one even temperature; its panel would be empty.
	if len(saved) > 1 && *saved[0].Days <= 0 {
		saved = saved[1:]
	}
	t := tile(w, min(len(saved), 4))
	fields, err := f.readFields(spacedEntries(saved, t.columns*t.rows, 0, true), g)
	if err != nil {
		return nil, err
	}
	out := &table{file: "plan.csv"}
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
	days := daysOf(fields)
	const barHeight = vg.Length(14)
	bottom := tickHeight + 2*lineHeight + s.planKeysHeight(f, (*pen)(nil).targetKeys(f, s)...) + lineHeight + barHeight + 3*lineHeight + footHeight
	total := headHeight + tickHeight + t.total() + bottom

	paint := func(p *pen) {
		p.heading(f, "Temperature seen from above", days, "plan")
		room := p.room(axis{lo: w.top, hi: w.bottom}.ticks(s.length[0], along(t.height)), "y")
		x0, top := margin+room, p.Max.Y-headHeight-tickHeight
		panels, lines, taken := make([]panel, len(fields)), make([][]isotherm, len(fields)), make([][]vg.Rectangle, len(fields))
		long := true
		for n, one := range fields {
			panels[n] = t.panel(n, x0, top, w)
			lines[n] = isotherms(f.goalOf(g, f.boilingOn(g, boil, one.time)), panels[n], g.nodes(one.v), b)
			taken[n] = f.planMarks(panels[n])
			for _, l := range p.phaseLabels(f, panels[n], taken[n]) {
				taken[n] = append(taken[n], l.at)
			}
			_, clear := p.placeLabels(named(lines[n], s, true), body, panels[n].Rectangle, taken[n])
			long = long && clear
		}
		for n, one := range fields {
			q := panels[n]
			t.date(p, f, q, n, one.time)
			p.bands(q, w, g.nodes(one.v).at, b.shader(&s.ramp))
			p.isothermLines(s, b, lines[n])
			p.planWithPhases(f, q)
			reached := len(lines[n]) > 0 && lines[n][0].target && len(lines[n][0].lines) > 0
			for _, l := range p.nameIsotherms(named(lines[n], s, long), reached, q, taken[n]) {
				taken[n] = append(taken[n], l.at)
			}
			if n == 0 { // they stand where they stood
				for _, l := range p.sensorLabels(f, q, taken[n]) {
					p.halo(body, l.at, l.text)
				}
			}
			t.axes(p, s, q, n, len(fields))
		}
		y := panels[len(panels)-1].Min.Y - tickHeight
		notes := [2]string{"Isotherms in " + s.temperature[0].name, f.slabNote(s)}
		if long {
			notes[0] += " (" + s.temperature[1].name + ")"
		}
		notes[0] += ". Below and left in " + s.length[0].name + ", above and right in " + s.length[1].name + "."
		p.planFoot(f, s, y, notes, p.targetKeys(f, s)...)
		p.scale(s, vg.Rectangle{Min: vg.Point{X: x0, Y: footHeight + 2*lineHeight}, Max: vg.Point{X: p.Max.X - 110, Y: footHeight + 2*lineHeight + barHeight}}, b)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// slabNote says what slab a plan shows.
func (f *folder) slabNote(s style) string {
	u, v := s.length[0], s.length[1]
	top, bottom := f.c.Extent.Top, f.c.Extent.Bottom
	return fmt.Sprintf("True to scale. Slab from %s to %s %s deep (%s to %s %s).", short(u.of(top)), short(u.of(bottom)), u.name, short(v.of(top)), short(v.of(bottom)), v.name)
}

// cellsIn lists the cells that reach into w, and adds where they are to the table.
func (f *folder) cellsIn(g *grid, w box, out *table) []int {
	across, along := "x_m", "depth_m"
	switch f.c.View {
	case cases.Axisymmetric:
		across = "r_m"
	case cases.Plan:
		along = "y_m"
	}
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
	out.add(across, xs)
	out.add(along, ys)
	return cells
}

// pick returns the values of some cells.
func pick(v []float64, cells []int) []float64 {
	out := make([]float64, len(cells))
	for n, c := range cells {
		out[n] = v[c]
	}
	return out
}

// outlineOf returns a figure's edge on the page, closed: through its corners, or round
// its middle.
func outlineOf(q panel, corners [][2]float64, center [2]float64, radius float64) []vg.Point {
	var pts []vg.Point
	for _, c := range corners {
		pts = append(pts, vg.Point{X: q.atX(c[0]), Y: q.atY(c[1])})
	}
	if corners == nil {
		const parts = 180
		for n := range parts {
			sin, cos := math.Sincos(2 * math.Pi * float64(n) / parts)
			pts = append(pts, vg.Point{X: q.atX(center[0] + radius*cos), Y: q.atY(center[1] + radius*sin)})
		}
	}
	return append(pts, pts[0])
}

// drawPlan draws what stands in a plan: targets, the first thick, bodies of set power,
// sensors and electrodes.
func (p *pen) drawPlan(f *folder, q panel) {
	for n := len(f.c.Targets) - 1; n >= 0; n-- {
		t := &f.c.Targets[n]
		edge := outlineOf(q, t.Outline, t.Center, t.Radius)
		white, black := 2.4, 0.9
		if n == 0 {
			white, black = 3.4, 2
		}
		p.clipped(q.Rectangle, line(color.White, vg.Length(white)), edge)
		p.clipped(q.Rectangle, line(color.Black, vg.Length(black)), edge)
	}
	for i := range f.c.Heats {
		h := &f.c.Heats[i]
		edge := outlineOf(q, h.Outline, h.Center, h.Radius)
		p.clipped(q.Rectangle, line(color.White, 2.2), edge)
		p.clipped(q.Rectangle, heatLine, edge)
	}
	for i := range f.c.Conductors {
		m := &f.c.Conductors[i]
		p.metalFigure(q.Rectangle, outlineOf(q, m.Outline, m.Center, m.Radius))
	}
	for _, sensor := range f.c.Sensors {
		if at, in := q.place(sensor.X, sensor.Y); in {
			p.cross(at)
		}
	}
	for _, e := range f.c.Electrodes {
		if at, in := q.place(e.X, e.Y); in {
			if f.takesWater(&e) {
				p.ring(at, f.rodReach(e, q))
			}
			p.rodMark(at, q.rodRadius(e))
		}
	}
}

// place returns where a place [m] is on the page, and whether it is in the panel.
func (q panel) place(x, y float64) (vg.Point, bool) {
	return vg.Point{X: q.atX(x), Y: q.atY(y)}, x >= q.x.lo && x <= q.x.hi && y >= q.y.lo && y <= q.y.hi
}

// rodRadius is the radius of an electrode on the page, large enough to be seen.
func (q panel) rodRadius(e cases.Electrode) vg.Length {
	const least = vg.Length(2)
	return max(least, q.atX(e.Radius)-q.atX(0))
}

// rodReach is how far an electrode's mark reaches, with its ring if it has one.
func (f *folder) rodReach(e cases.Electrode, q panel) vg.Length {
	if f.takesWater(&e) {
		return q.rodRadius(e) + ringGap
	}
	return q.rodRadius(e)
}

// rodMark draws an electrode from above: as electrodeMark, round.
func (p *pen) rodMark(at vg.Point, radius vg.Length) {
	edge := p.disc(color.White, at, radius)
	p.SetLineStyle(line(color.Black, 1))
	p.Stroke(edge)
}

// cross draws a sensor from above.
func (p *pen) cross(at vg.Point) {
	const arm = vg.Length(3.5)
	for _, st := range []struct {
		c     color.Color
		width vg.Length
		arm   vg.Length
	}{{color.White, 3, arm + 1}, {color.Black, 1.2, arm}} {
		p.stroke(line(st.c, st.width), at.Add(vg.Point{X: -st.arm}), at.Add(vg.Point{X: st.arm}))
		p.stroke(line(st.c, st.width), at.Add(vg.Point{Y: -st.arm}), at.Add(vg.Point{Y: st.arm}))
	}
}

// halo writes s in the middle of r, black in a white rim, to be read on every shade.
func (p *pen) halo(f face, r vg.Rectangle, s string) {
	c := r.Min.Add(r.Max).Scale(0.5)
	const rim = vg.Length(1.1)
	for n := range 8 {
		sin, cos := math.Sincos(math.Pi / 4 * float64(n))
		p.text(f, color.White, c.X+rim*vg.Length(cos), c.Y+rim*vg.Length(sin), 0.5, 0.5, s)
	}
	p.text(f, color.Black, c.X, c.Y, 0.5, 0.5, s)
}

// planMarks returns where the electrodes, sensors and buried metal of a plan stand in a
// panel.
func (f *folder) planMarks(q panel) []vg.Rectangle {
	var list []vg.Rectangle
	for _, e := range f.c.Electrodes {
		if at, in := q.place(e.X, e.Y); in {
			list = append(list, around(at, f.rodReach(e, q)+0.5))
		}
	}
	for _, sensor := range f.c.Sensors {
		if at, in := q.place(sensor.X, sensor.Y); in {
			list = append(list, around(at, 3.5))
		}
	}
	for _, m := range f.c.Conductors {
		if corners := clipFigure(q.Rectangle, outlineOf(q, m.Outline, m.Center, m.Radius)); len(corners) > 0 {
			list = append(list, metalSeen{corners: corners}.taken()...)
		}
	}
	return list
}

func around(at vg.Point, half vg.Length) vg.Rectangle {
	d := vg.Point{X: half, Y: half}
	return vg.Rectangle{Min: at.Sub(d), Max: at.Add(d)}
}

// placed is a label and its box.
type placed struct {
	text string
	at   vg.Rectangle
}

// phaseLabels finds a place for each electrode's phase, at its mark or, in one of a
// large bore, in it; without room there is none. Where electrodes stand close, letters
// would hide the ground between them: then none has one.
func (p *pen) phaseLabels(f *folder, q panel, taken []vg.Rectangle) []placed {
	const apart = 36
	for _, d := range f.c.Nearest() {
		if float64(q.atX(d)-q.atX(0)) < apart {
			return nil
		}
	}
	var marks []vg.Rectangle
	var texts []string
	for _, e := range f.c.Electrodes {
		if at, in := q.place(e.X, e.Y); in {
			marks, texts = append(marks, around(at, f.rodReach(e, q))), append(texts, e.Phase)
		}
	}
	return p.labelsAt(bodyBold, marks, texts, q.Rectangle, taken)
}

// sensorLabels finds a place for each sensor's name.
func (p *pen) sensorLabels(f *folder, q panel, taken []vg.Rectangle) []placed {
	var marks []vg.Rectangle
	var texts []string
	for _, sensor := range f.c.Sensors {
		if at, in := q.place(sensor.X, sensor.Y); in {
			marks, texts = append(marks, around(at, 3.5)), append(texts, printable(sensor.Name))
		}
	}
	// A name that is as near to another's mark would be taken for that one's.
	const apart = vg.Length(4)
	return slices.DeleteFunc(p.labelsAt(body, marks, texts, q.Rectangle, taken), func(l placed) bool {
		near := 0
		for _, m := range marks {
			if overlap(l.at, m, apart) {
				near++
			}
		}
		return near > 1
	})
}

// labelsAt finds a box for each mark's label, in the mark if it holds it, else right,
// left, above or below, or at a corner: inside bounds, clear of what is taken and of
// each other. A label without room is left out.
func (p *pen) labelsAt(f face, marks []vg.Rectangle, texts []string, bounds vg.Rectangle, taken []vg.Rectangle) []placed {
	var out []placed
	busy := append([]vg.Rectangle(nil), taken...)
	for i, m := range marks {
		half := vg.Point{X: p.width(f, texts[i]) / 2, Y: f.size * 0.37}
		mid, reach := m.Min.Add(m.Max).Scale(0.5), (m.Max.X-m.Min.X)/2
		if math.Hypot(float64(half.X), float64(half.Y)) <= float64(reach)-1 {
			out = append(out, placed{texts[i], vg.Rectangle{Min: mid.Sub(half), Max: mid.Add(half)}})
			continue
		}
		if r, ok := p.labelBeside(f, m, texts[i], bounds, busy); ok {
			busy = append(busy, r)
			out = append(out, placed{texts[i], r})
		}
	}
	return out
}

// labelBeside finds a box for a mark's label beside it, as labelsAt.
func (p *pen) labelBeside(f face, m vg.Rectangle, text string, bounds vg.Rectangle, busy []vg.Rectangle) (vg.Rectangle, bool) {
	half := vg.Point{X: p.width(f, text) / 2, Y: f.size * 0.37}
	mid, reach := m.Min.Add(m.Max).Scale(0.5), m.Max.Sub(m.Min).Scale(0.5)
	dx, dy := reach.X+half.X+1.5, reach.Y+half.Y+1.5
	for _, way := range []vg.Point{{X: dx}, {X: -dx}, {Y: dy}, {Y: -dy}, {X: dx, Y: dy}, {X: -dx, Y: dy}, {X: dx, Y: -dy}, {X: -dx, Y: -dy}} {
		r := vg.Rectangle{Min: mid.Add(way).Sub(half), Max: mid.Add(way).Add(half)}
		free := r.Min.X > bounds.Min.X+1 && r.Max.X < bounds.Max.X-1 && r.Min.Y > bounds.Min.Y+1 && r.Max.Y < bounds.Max.Y-1
		for _, t := range busy {
			if !free {
				break
			}
			free = !overlap(r, t, 1)
		}
		if free {
			return r, true
		}
	}
	return vg.Rectangle{}, false
}

// planKeys are the entries for the marks of a plan.
func (p *pen) planKeys(f *folder, s style) []key {
	middle := func(r vg.Rectangle) vg.Point { return r.Min.Add(r.Max).Scale(0.5) }
	var list []key
	watered, all := f.watered()
	if len(f.c.Electrodes) > 0 && !all {
		list = append(list, key{func(r vg.Rectangle) { p.rodMark(middle(r), 4) }, "electrode"})
	}
	if watered {
		list = append(list, key{func(r vg.Rectangle) {
			p.ring(middle(r), 3+ringGap)
			p.rodMark(middle(r), 3)
		}, "electrode, water added"})
	}
	if len(f.c.Sensors) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.cross(middle(r)) }, "sensor"})
	}
	if len(f.c.Heats) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.heatMark(shrink(r, 1)) }, "set power"})
	}
	if len(f.c.Conductors) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.metalMark(shrink(r, 2)) }, metalText})
	}
	list = append(list, key{func(r vg.Rectangle) { p.frame(line(color.Black, 2), shrink(r, 1)) }, f.targetText(s)})
	if len(f.c.Targets) > 1 {
		list = append(list, key{func(r vg.Rectangle) { p.frame(line(color.Black, 0.9), shrink(r, 1)) }, "other targets"})
	}
	return list
}

// planKeysHeight is keysHeight for a plan's keys, and more.
func (s style) planKeysHeight(f *folder, more ...key) vg.Length {
	p := &pen{fonts: s.fonts}
	return vg.Length(p.keyRows(append(p.planKeys(f, s), more...), pageWidth-2*margin)) * (lineHeight + 2)
}
