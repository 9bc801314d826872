package figure

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"image/color"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// ErrTaken is wrapped by Layout's error where a file of that name is no layout's.
var ErrTaken = errors.New("is there and was not drawn by this program; name another figure")

// Layout draws the electrodes of an expanded case as on the site, from above and in a
// section, as far as its view knows, and writes path, which ends in .png, and beside it
// the same as .svg and the electrodes as .csv. hash is that of the case's text. It
// returns the paths of the files written. A .svg or .csv that is there already and is
// no layout's stays as it is, and the error wraps ErrTaken.
func Layout(path, hash string, c *cases.Case, opt Options) ([]string, error) {
	stem := strings.TrimSuffix(path, ".png")
	f := &folder{c: c, hash: hash[:min(8, len(hash))], finished: true}
	units := opt.Units
	if units == "" {
		units = c.Output.Units
	}
	s := newStyle(units)
	name := filepath.Base(stem)
	for ext, own := range map[string]string{".csv": strings.Join(layoutColumns, ",") + "\n", ".svg": footerData(name)} {
		data, err := os.ReadFile(stem + ext)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if !bytes.Contains(data, []byte(own)) {
			return nil, fmt.Errorf("%s %w", stem+ext, ErrTaken)
		}
	}
	d, err := layoutOf(f, s, name)
	if err != nil {
		return nil, err
	}
	return d.write(stem, s, dpi)
}

// siteLayout is the layout among the figures of a run.
func siteLayout(f *folder, s style) (*drawing, error) { return layoutOf(f, s, "layout") }

// Sizes of the layout's panels.
const (
	layoutWidth  = vg.Length(250)
	layoutHeight = vg.Length(330) // at most, of the plan
)

// layoutOf draws the layout; name is that of its files.
func layoutOf(f *folder, s style, name string) (*drawing, error) {
	if len(f.c.Targets) == 0 {
		return nil, fmt.Errorf("the case has no target: %w", errNothing)
	}
	w, cut := f.siteBox()
	depth := f.siteDepth()
	wide := w.right - w.left
	scale := min(float64(layoutWidth)/wide, float64(layoutHeight)/(w.bottom-w.top)) // [pt/m] of the plan
	planHeight := vg.Length(scale * (w.bottom - w.top))
	trueHeight := float64(layoutWidth) / wide * depth
	stretch := exaggerate(trueHeight, 110, 190)
	sectionHeight := vg.Length(stretch * trueHeight)

	rods := f.siteRods(w)
	legend := f.phaseLegend(rods)
	// The plan's neighbour on the page may be the taller.
	beside := max(planHeight, vg.Length(len(legend)+2)*lineHeight)
	notes := []string{f.layoutCount(rods), "Section: true to scale."}
	if cut > 0 {
		notes = append(notes, fmt.Sprintf("Seen from above: the first %s of %s.", s.length2(w.bottom), s.length2(cut)))
	}
	if stretch != 1 {
		notes[1] = "Section: depths stretched × " + short(stretch) + "."
	}
	if r := f.bores(); r > 0 {
		notes[1] += " Marks from above are not to size."
	}
	if text := f.metalBeyond(w); text != "" {
		notes = append(notes, text)
	}
	keysHeight := func() vg.Length {
		p := &pen{fonts: s.fonts}
		return vg.Length(p.keyRows(p.layoutKeys(f, s, depth), pageWidth-2*margin)) * (lineHeight + 2)
	}()
	total := headHeight + 2*tickHeight + beside + 2*tickHeight + 4 + sectionHeight + tickHeight + lineHeight +
		keysHeight + vg.Length(len(notes))*lineHeight + footHeight + 8

	paint := func(p *pen) {
		p.heading(f, "Layout of the site", f.layoutSubject(), name)
		yAxis, zAxis := axis{lo: w.top, hi: w.bottom}, axis{lo: 0, hi: depth, down: true}
		zMarks := [2][]tick{zAxis.ticks(s.length[0], along(sectionHeight)), zAxis.ticks(s.length[1], along(sectionHeight))}
		yMarks := [2][]tick{yAxis.ticks(s.length[0], along(planHeight)), yAxis.ticks(s.length[1], along(planHeight))}
		zTitle, yTitle := "depth ("+s.length[0].name+")", "y ("+s.length[0].name+")"
		x0 := margin + max(p.room(zMarks[0], zTitle), p.room(yMarks[0], yTitle))
		top := p.Max.Y - headHeight
		p.text(bodyBold, color.Black, margin, top-14, 0, 0, "from above")
		top -= 2 * tickHeight
		q := panel{vg.Rectangle{Min: vg.Point{X: x0, Y: top - planHeight}, Max: vg.Point{X: x0 + vg.Length(scale*wide), Y: top}},
			axis{lo: w.left, hi: w.right}, yAxis}
		ticks := max(1, int((q.Max.X-q.Min.X)/40))
		p.fromAbove(f, q, rods, w)
		p.left(q, yMarks[0], yTitle)
		p.right(q, yMarks[1], s.length[1].name)
		p.below(q, q.x.ticks(s.length[0], ticks), "")
		p.above(q, q.x.ticks(s.length[1], ticks), "")
		p.frame(thin, q.Rectangle)
		p.legend(s, q.Max.X+p.room(yMarks[1], s.length[1].name)+12, top, scale, legend)

		top -= beside + tickHeight
		p.text(bodyBold, color.Black, margin, top-14, 0, 0, f.layoutSection())
		top -= tickHeight + 4
		z := panel{vg.Rectangle{Min: vg.Point{X: x0, Y: top - sectionHeight}, Max: vg.Point{X: x0 + layoutWidth, Y: top}}, q.x, zAxis}
		p.throughSite(f, z, w, rods)
		p.left(z, zMarks[0], zTitle)
		p.right(z, zMarks[1], s.length[1].name)
		across := "x (" + s.length[0].name + ")"
		p.below(z, z.x.ticks(s.length[0], max(1, int((z.Max.X-z.Min.X)/40))), across)
		strip := z.Rectangle
		strip.Min.X = z.Max.X + p.room(zMarks[1], s.length[1].name) + 4
		strip.Max.X = p.Max.X - margin
		if bands := f.layerBands(0, depth); len(bands) > 0 {
			p.ground(z, strip, bands)
		}
		p.frame(thin, z.Rectangle)
		y := z.Min.Y - tickHeight - lineHeight - 12
		p.keys(p.layoutKeys(f, s, depth), margin, y, p.Max.X-2*margin)
		for i, note := range notes {
			p.text(body, color.Black, margin, footHeight+4+vg.Length(len(notes)-1-i)*lineHeight, 0, 0, p.fit(body, note, p.Max.X-2*margin))
		}
	}
	return &drawing{pageWidth, total, paint, electrodeTable{f.c}}, nil
}

// siteBox is the site as seen from above: targets, electrodes, bodies of set power and
// buried metal with a margin; in a section out of the page as well, cut where that is long: then
// whole is how long it is [m], else 0.
func (f *folder) siteBox() (w box, whole float64) {
	w = box{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	grow := func(b box) {
		w = box{min(w.left, b.left), max(w.right, b.right), min(w.top, b.top), max(w.bottom, b.bottom)}
	}
	if f.c.View == cases.Axisymmetric {
		r := f.c.Extent.Radius
		for _, t := range f.c.Targets {
			if !math.IsNaN(t.Radius) {
				r = max(r, t.Radius)
			}
		}
		grow(box{-r, r, -r, r})
	} else {
		for _, t := range f.c.Targets {
			grow(f.targetBox(t, nil))
		}
		for _, e := range f.c.Electrodes {
			grow(f.electrodeBox(e))
		}
		for _, h := range f.c.Heats {
			grow(f.heatBox(h))
		}
		rest := w
		for _, m := range f.c.Conductors {
			if b, near := f.metalNear(m, rest); near {
				grow(b)
			}
		}
	}
	pad := max(0.3, 0.08*(w.right-w.left))
	if f.c.View == cases.Plan {
		pad = max(1.5, 0.12*max(w.right-w.left, w.bottom-w.top)) // as in window
	}
	w.left, w.right, w.top, w.bottom = w.left-pad, w.right+pad, w.top-pad, w.bottom+pad
	if f.c.View == cases.Section {
		w.top, w.bottom = 0, f.c.Extent.Length
		if most := 1.3 * (w.right - w.left); w.bottom > most {
			whole, w.bottom = w.bottom, most
		}
	}
	return w, whole
}

// siteDepth is how deep the section is drawn [m].
func (f *folder) siteDepth() float64 {
	deep := 0.0
	for _, t := range f.c.Targets {
		deep = max(deep, t.Bottom)
	}
	for _, e := range f.c.Electrodes {
		deep = max(deep, e.Bottom)
	}
	for _, h := range f.c.Heats {
		deep = max(deep, h.Bottom)
	}
	for _, m := range f.c.Conductors {
		deep = max(deep, m.Bottom)
	}
	return 1.15*deep + 0.5
}

// siteRod is one rod, or a row of plate, as seen from above.
type siteRod struct {
	e    *cases.Electrode
	x, y float64
	n    int // of the row, from 0
	of   int // rods in the row that lie in the picture
}

// siteRods returns where the electrodes stand. Of a section's rows those rods that lie
// in w; a row of more than mostRow is told by its first and last.
func (f *folder) siteRods(w box) []siteRod {
	var out []siteRod
	for i := range f.c.Electrodes {
		e := &f.c.Electrodes[i]
		switch {
		case f.c.View == cases.Axisymmetric:
			out = append(out, siteRod{e, 0, 0, 0, 1})
		case f.c.View == cases.Plan || e.RodSpacing == 0:
			out = append(out, siteRod{e, e.X, e.Y, 0, 1})
		default:
			first := e.RodOffset - math.Floor(e.RodOffset/e.RodSpacing)*e.RodSpacing
			count := math.Floor((w.bottom-first)/e.RodSpacing+1e-9) + 1
			if count < 1 {
				continue
			}
			const mostRow = 60 // a page has no more dots to tell them apart
			for n, step := 0.0, max(1, (count-1)/mostRow); n < count; n += step {
				out = append(out, siteRod{e, e.X, first + math.Round(n)*e.RodSpacing, int(math.Round(n)), int(min(count, 1e9))})
			}
		}
	}
	return out
}

// apart is how far electrodes stand apart at least [m]: in a section, rows from rows
// and rods in a row.
func (f *folder) apart() float64 {
	least := math.Inf(1)
	if f.c.View == cases.Plan {
		for _, d := range f.c.Nearest() {
			least = min(least, d)
		}
		return least
	}
	var at []float64
	for i := range f.c.Electrodes {
		e := &f.c.Electrodes[i]
		at = append(at, e.X)
		if e.RodSpacing > 0 {
			least = min(least, e.RodSpacing)
		}
	}
	slices.Sort(at)
	for i := 1; i < len(at); i++ {
		if d := at[i] - at[i-1]; d > 1e-6 { // else elements of one bore
			least = min(least, d)
		}
	}
	return least
}

// bores returns the largest radius of a rod [m].
func (f *folder) bores() float64 {
	r := 0.0
	for _, e := range f.c.Electrodes {
		r = max(r, e.Radius)
	}
	return r
}

// layoutSubject says what the picture is of, for the subtitle.
func (f *folder) layoutSubject() string {
	switch f.c.View {
	case cases.Axisymmetric:
		return "one cell of " + short(f.c.Extent.Count)
	case cases.Section:
		return "section, its rows as rods"
	}
	return "plan"
}

// layoutSection names the second panel.
func (f *folder) layoutSection() string {
	if f.c.View == cases.Axisymmetric {
		return "through the axis"
	}
	return "from the front, all electrodes"
}

// layoutCount tells how many electrodes there are.
func (f *folder) layoutCount(rods []siteRod) string {
	n := len(f.c.Electrodes)
	if n == 0 {
		return "No electrodes."
	}
	if f.c.View != cases.Section {
		if n == 1 {
			return "1 electrode."
		}
		return fmt.Sprintf("%d electrodes.", n)
	}
	model, rows := 0.0, 0
	for i := range f.c.Electrodes {
		if s := f.c.Electrodes[i].RodSpacing; s > 0 {
			model += f.c.Extent.Length / s
			rows++
		}
	}
	if rows == 0 {
		return fmt.Sprintf("%d plates.", n)
	}
	text := fmt.Sprintf("%d rows", rows)
	if plates := n - rows; plates > 0 {
		text += fmt.Sprintf(" and %d plates", plates)
	}
	return text + fmt.Sprintf("; the section counts %s rods in its length.", short(model))
}

// phaseCount is a phase and how many rods of the picture stand on it.
type phaseCount struct {
	phase string
	rods  int
}

// phaseLegend counts the rods of each phase.
func (f *folder) phaseLegend(rods []siteRod) []phaseCount {
	var out []phaseCount
	for _, one := range f.c.PhaseCounts() {
		n := phaseCount{phase: one.Phase}
		for _, r := range rods {
			if r.e.Phase == one.Phase && r.n == 0 {
				n.rods += r.of
			}
		}
		out = append(out, n)
	}
	return out
}

// legend names the marks of the phases and gives the plan's scale [pt/m].
func (p *pen) legend(s style, x, top vg.Length, scale float64, list []phaseCount) {
	y := top - 8
	for _, one := range list {
		p.phaseShape(one.phase, vg.Point{X: x + 6, Y: y}, 5)
		name := "phase " + one.phase
		if one.phase == "N" {
			name = "neutral"
		}
		p.text(body, color.Black, x+17, y, 0, 0.5, fmt.Sprintf("%s: %d", name, one.rods))
		y -= lineHeight
	}
	u := s.length[0]
	most := 80 / scale * u.factor // the bar's length at most, in the first unit
	length := step(most, 1)
	if length > most {
		length = step(most/2, 1)
		if length > most {
			length /= 2
		}
	}
	w := vg.Length(length / u.factor * scale)
	y -= 6
	p.stroke(line(color.Black, 2), vg.Point{X: x, Y: y}, vg.Point{X: x + w, Y: y})
	for _, at := range []vg.Length{x, x + w} {
		p.stroke(thin, vg.Point{X: at, Y: y - 4}, vg.Point{X: at, Y: y + 4})
	}
	p.text(body, color.Black, x, y-8, 0, 1, short(length)+" "+u.name)
}

// phaseShape is the mark of an electrode on a phase, told apart by shape and filling.
func (p *pen) phaseShape(phase string, at vg.Point, half vg.Length) {
	corners := map[string]int{"A": 0, "B": 4, "C": 3, "D": 0, "E": 4, "F": 3, "N": 0}[phase]
	fill := map[string]color.Color{"A": color.Black, "B": color.White, "C": grey(60), "D": color.White, "E": color.Black, "F": color.White, "N": color.White}[phase]
	path := vg.Path{}
	if corners == 0 {
		path.Move(at.Add(vg.Point{X: half}))
		path.Arc(at, half, 0, 2*math.Pi)
	} else {
		turn, reach := math.Pi/4, half*1.2
		if corners == 3 {
			turn, reach = math.Pi/2, half*1.35
		}
		for i := range corners {
			sin, cos := math.Sincos(turn + 2*math.Pi*float64(i)/float64(corners))
			c := at.Add(vg.Point{X: reach * vg.Length(cos), Y: reach * vg.Length(sin)})
			if i == 0 {
				path.Move(c)
			} else {
				path.Line(c)
			}
		}
	}
	path.Close()
	p.SetColor(fill)
	p.Fill(path)
	p.SetLineStyle(line(color.Black, 1))
	p.Stroke(path)
	if phase == "N" {
		d := half * 0.7
		p.stroke(line(color.Black, 1), at.Add(vg.Point{X: -d, Y: -d}), at.Add(vg.Point{X: d, Y: d}))
		p.stroke(line(color.Black, 1), at.Add(vg.Point{X: -d, Y: d}), at.Add(vg.Point{X: d, Y: -d}))
	}
}

// fromAbove draws the plan of the layout.
func (p *pen) fromAbove(f *folder, q panel, rods []siteRod, w box) {
	edge := func(outline [][2]float64, center [2]float64, radius float64, b box) []vg.Point {
		switch f.c.View {
		case cases.Section:
			outline = [][2]float64{{b.left, w.top}, {b.right, w.top}, {b.right, w.bottom}, {b.left, w.bottom}}
		case cases.Axisymmetric:
			outline, center, radius = nil, [2]float64{}, b.right
		}
		return outlineOf(q, outline, center, radius)
	}
	if f.c.View == cases.Axisymmetric {
		p.clipped(q.Rectangle, line(grey(50), 0.8, 6, 3), outlineOf(q, nil, [2]float64{}, f.c.Extent.Radius))
	}
	for n := len(f.c.Targets) - 1; n >= 0; n-- {
		t := &f.c.Targets[n]
		if f.c.View == cases.Axisymmetric && math.IsNaN(t.Radius) {
			continue
		}
		width := vg.Length(0.9)
		if n == 0 {
			width = 2
		}
		p.clipped(q.Rectangle, line(color.Black, width), edge(t.Outline, t.Center, t.Radius, f.targetBox(*t, nil)))
	}
	for i := range f.c.Heats {
		h := &f.c.Heats[i]
		b := f.heatBox(*h)
		p.clipped(q.Rectangle, line(color.Black, 1.3, 2, 1.5), edge(h.Outline, h.Center, h.Radius, b))
		if f.c.View == cases.Axisymmetric && b.left > 0 {
			p.clipped(q.Rectangle, line(color.Black, 1.3, 2, 1.5), outlineOf(q, nil, [2]float64{}, b.left))
		}
	}
	p.metalFromAbove(f, q, edge)
	var taken []vg.Rectangle
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
	var names [3][]string
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
		marks = append(marks, around(at, reach))
		for n, text := range []string{r.e.Name + " " + r.e.Phase, r.e.Name, r.e.Phase} {
			names[n] = append(names[n], printable(text))
		}
	}
	// The fullest names for which there is room at all marks.
	const mostNamed = 300 // names of so many would not be found
	for n := range names {
		if len(marks) > mostNamed {
			break
		}
		if !p.clearOf(marks, names[n], half) {
			continue
		}
		if list := p.labelsAt(body, marks, names[n], q.Rectangle, taken); len(list) == len(marks) {
			for _, l := range list {
				p.boxed(body, l.at, l.text)
				taken = append(taken, l.at)
			}
			break
		}
	}
	if f.c.View == cases.Plan {
		for _, l := range p.sensorLabels(f, q, taken) {
			p.boxed(body, l.at, l.text)
		}
	}
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
func (p *pen) throughSite(f *folder, q panel, w box, rods []siteRod) {
	bands := f.layerBands(0, q.y.hi)
	for i, b := range bands {
		p.fill(bandColor(b), vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: q.atY(b.bottom)}, Max: vg.Point{X: q.Max.X, Y: q.atY(b.top)}})
		if i > 0 {
			p.stroke(line(grey(40), 0.6), vg.Point{X: q.Min.X, Y: q.atY(b.top)}, vg.Point{X: q.Max.X, Y: q.atY(b.top)})
		}
	}
	if z := f.c.Site.WaterTable; z > 0 && z < q.y.hi {
		y := q.atY(z)
		p.stroke(line(grey(30), 0.9, 8, 3, 2, 3), vg.Point{X: q.Min.X, Y: y}, vg.Point{X: q.Max.X, Y: y})
		p.waterMark(vg.Point{X: q.Max.X - 9, Y: y})
	}
	on := func(left, right, top, bottom float64) vg.Rectangle {
		return vg.Rectangle{Min: vg.Point{X: q.atX(max(left, w.left)), Y: q.atY(bottom)}, Max: vg.Point{X: q.atX(min(right, w.right)), Y: q.atY(top)}}
	}
	p.metalThrough(f, q, on)
	for i := range f.c.Heats {
		h := &f.c.Heats[i]
		b := f.heatBox(*h)
		if f.c.View == cases.Axisymmetric && b.left == 0 {
			b.left = -b.right
		}
		p.heatMark(on(b.left, b.right, h.Top, h.Bottom))
		if f.c.View == cases.Axisymmetric && b.left > 0 { // the other side of the ring
			p.heatMark(on(-b.right, -b.left, h.Top, h.Bottom))
		}
	}
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
		p.frame(line(color.Black, width), on(left, right, t.Top, t.Bottom))
	}
	p.steamWays(f, q)
	for i := range f.c.Electrodes {
		e := &f.c.Electrodes[i]
		half := max(e.Radius, e.Width/2)
		r := on(e.X-half, e.X+half, e.Top, e.Bottom)
		const least = vg.Length(3)
		if c := (r.Min.X + r.Max.X) / 2; r.Max.X-r.Min.X < least {
			r.Min.X, r.Max.X = c-least/2, c+least/2
		}
		p.bore(f, e, r)
	}
	if f.c.View != cases.Plan {
		for _, sensor := range f.c.Sensors {
			for _, z := range sensor.Depths {
				if at := (vg.Point{X: q.atX(sensor.X), Y: q.atY(z)}); at.X >= q.Min.X && at.X <= q.Max.X && z <= q.y.hi {
					p.cross(at)
				}
			}
		}
	}
}

// layoutKeys are the entries for the marks of the layout.
func (p *pen) layoutKeys(f *folder, s style, depth float64) []key {
	list := p.boreKeys(f, "electrode in section")
	if z := f.c.Site.WaterTable; z > 0 && z < depth {
		list = append(list, key{func(r vg.Rectangle) {
			p.waterMark(vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: r.Min.Y + 2})
		}, "water table"})
	}
	list = append(list, p.wayKeys(f, 0, depth)...)
	if f.c.View == cases.Axisymmetric {
		list = append(list, key{func(r vg.Rectangle) {
			y := (r.Min.Y + r.Max.Y) / 2
			p.stroke(line(grey(50), 0.8, 6, 3), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
		}, "edge of the cell"})
	}
	for _, k := range p.planKeys(f, s) {
		if k.text != "electrode" {
			list = append(list, k)
		}
	}
	return list
}

// layoutColumns heads the table of electrodes.
var layoutColumns = []string{"electrode", "phase", "x_m", "y_m", "top_m", "bottom_m", "radius_m", "rod_spacing_m", "width_m"}

// electrodeTable is the electrodes of a case, a row each: of a row of rods, y is that of
// its first one; empty is what an electrode has not.
type electrodeTable struct{ c *cases.Case }

func (t electrodeTable) csv() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(layoutColumns)
	num := func(v float64, there bool) string {
		if !there || bad(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'g', 10, 64)
	}
	for i := range t.c.Electrodes {
		e := &t.c.Electrodes[i]
		y := e.Y
		if t.c.View == cases.Section {
			y = e.RodOffset
		}
		w.Write([]string{printable(e.Name), e.Phase, num(e.X, true), num(y, e.Width == 0), num(e.Top, true), num(e.Bottom, true),
			num(e.Radius, e.Radius > 0), num(e.RodSpacing, e.RodSpacing > 0), num(e.Width, e.Width > 0)})
	}
	w.Flush() // to memory: no error
	return b.Bytes()
}
