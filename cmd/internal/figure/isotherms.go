package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

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

// nameIsotherms writes the labels and returns them. The first is the target's, if target:
// where there is no room for it on its line it stands beside it. Of the others those that
// would hide the target's line or two more are left out: the scale names the bands too.
func (p *pen) nameIsotherms(curves []curve, target bool, q panel, taken []vg.Rectangle) (labels []placed) {
	boxes, _ := p.placeLabels(curves, body, q.Rectangle, taken)
	if len(boxes) > 0 && boxes[0] == (vg.Rectangle{}) && target {
		r, _ := p.besideLine(curves[0], q.Rectangle, taken)
		rest, _ := p.placeLabels(curves[1:], body, q.Rectangle, append(slices.Clone(taken), r))
		boxes = append([]vg.Rectangle{r}, rest...)
	}
	for i, r := range boxes {
		if r == (vg.Rectangle{}) || !(i == 0 && target) && hidesOthers(curves, i, r, target) {
			continue
		}
		p.boxed(body, r, curves[i].text)
		labels = append(labels, placed{curves[i].text, r})
	}
	return labels
}

// hidesOthers reports whether a box lies over two curves other than the i-th, or over the
// first if it is the target's.
func hidesOthers(curves []curve, i int, r vg.Rectangle, target bool) bool {
	hidden := 0
	for j, c := range curves {
		if j != i && slices.ContainsFunc(c.lines, func(l []vg.Point) bool { return len(clipTo(r, l)) > 0 }) {
			hidden++
			if j == 0 && target {
				return true
			}
		}
	}
	return hidden > 1
}

// targetKeys is the entry for the line of the target's temperature, or of boiling.
func (p *pen) targetKeys(f *folder, s style) []key {
	text := "boiling"
	if v, ok := firstTarget(f.c); ok {
		text = short(s.temperature[0].of(v)) + " " + s.temperature[0].name
	} else if !f.c.Targets[0].Boiling {
		return nil
	}
	return []key{{func(r vg.Rectangle) {
		y := (r.Min.Y + r.Max.Y) / 2
		p.targetLine(vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
	}, text}}
}

// targetLine strokes the line of the target's temperature.
func (p *pen) targetLine(pts ...vg.Point) {
	p.stroke(line(color.White, 2.6), pts...)
	p.stroke(line(color.Black, 1.4, 4, 2), pts...)
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
				p.targetLine(part...)
			}
		}
	}
}
