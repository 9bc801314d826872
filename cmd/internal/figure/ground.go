package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// groundWidth is what the layers' names and the lane of electrodes take beside a
// panel.
const groundWidth = vg.Length(110)

// ground draws the layers between depths top and bottom as shaded bands with
// their names in r, whose height shows q's depths.
func (p *pen) ground(q panel, r vg.Rectangle, bands []layerBand) {
	for _, b := range bands {
		p.fill(bandColor(b), vg.Rectangle{Min: vg.Point{X: r.Min.X, Y: q.atY(b.bottom)}, Max: vg.Point{X: r.Max.X, Y: q.atY(b.top)}})
	}
	for _, b := range bands[1:] {
		p.stroke(line(grey(40), 0.6), vg.Point{X: r.Min.X, Y: q.atY(b.top)}, vg.Point{X: r.Max.X, Y: q.atY(b.top)})
	}
	p.layerNames(q, r, bands)
	p.frame(thin, r)
}

// layerNames writes the names, in several lines where they are long. With no room
// for all, they are first cut to a line each, then the thinnest layers go without.
func (p *pen) layerNames(q panel, r vg.Rectangle, bands []layerBand) {
	const gap = bodySize * 1.05
	left := r.Min.X + 4
	labels := append([]layerBand(nil), bands...)
	for wrap := true; ; {
		var want []vg.Length
		var lines []string
		var owner []layerBand
		for _, b := range labels {
			parts := []string{p.fit(body, b.name, r.Max.X-left-8)}
			if wrap && parts[0] != b.name {
				// Only in a layer that holds all its lines, so that names never mix.
				if all := p.wrap(body, b.name, r.Max.X-left-8); vg.Length(len(all))*gap <= q.atY(b.top)-q.atY(b.bottom) {
					parts = all
				}
			}
			for i, part := range parts {
				middle := q.atY((b.top + b.bottom) / 2)
				want = append(want, middle+gap*(vg.Length(len(parts)-1)/2-vg.Length(i)))
				lines, owner = append(lines, part), append(owner, b)
			}
		}
		ys, ok := spread(want, gap, r.Min.Y+7, r.Max.Y-7)
		switch {
		case ok || len(labels) < 2:
			for i, text := range lines {
				x := left
				if math.Abs(float64(ys[i]-want[i])) > 4 {
					p.stroke(line(grey(40), 0.6), vg.Point{X: r.Min.X, Y: want[i]}, vg.Point{X: x + 4, Y: ys[i]})
					x += 6
				}
				// A thin layer's name lies over its neighbours' edges.
				p.fill(bandColor(owner[i]), vg.Rectangle{Min: vg.Point{X: x - 1, Y: ys[i] - 6}, Max: vg.Point{X: x + p.width(body, text) + 1, Y: ys[i] + 6}})
				p.text(body, color.Black, x, ys[i], 0, 0.5, text)
			}
			return
		case wrap:
			wrap = false
		default:
			thinnest := 0
			for i, b := range labels {
				if b.bottom-b.top < labels[thinnest].bottom-labels[thinnest].top {
					thinnest = i
				}
			}
			labels = append(labels[:thinnest], labels[thinnest+1:]...)
		}
	}
}

func bandColor(b layerBand) color.Color {
	if b.odd {
		return grey(91)
	}
	return grey(98)
}

// electrodeMark fills r as an electrode: white in a black outline, to stand out
// from every shade.
func (p *pen) electrodeMark(r vg.Rectangle) {
	p.fill(color.White, r)
	p.frame(line(color.Black, 1), r)
}

// waterMark draws the water-table sign, a triangle on its tip, at tip.
func (p *pen) waterMark(tip vg.Point) {
	path := vg.Path{}
	path.Move(tip)
	path.Line(tip.Add(vg.Point{X: -5, Y: 8}))
	path.Line(tip.Add(vg.Point{X: 5, Y: 8}))
	path.Close()
	p.SetColor(color.White)
	p.Fill(path)
	p.SetLineStyle(line(color.Black, 1))
	p.Stroke(path)
}

// targetText names the first target and what it is to reach.
func (f *folder) targetText(s style) string {
	text := printable(f.c.Targets[0].Name)
	switch t, ok := firstTarget(f.c); {
	case ok:
		text += ", target " + s.temperature2(t)
	case f.c.Targets[0].Boiling:
		text += ", target boiling"
	}
	return text
}

// groundKeys are the entries for the marks that every picture of the ground uses.
func (p *pen) groundKeys(f *folder, s style, w box) []key {
	list := p.boreKeys(f, "electrode")
	if len(f.c.Heats) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.heatMark(shrink(r, 1)) }, "set power"})
	}
	if slices.ContainsFunc(f.c.Conductors, func(m cases.Conductor) bool { _, ok := f.metalIn(m, w); return ok }) {
		list = append(list, key{func(r vg.Rectangle) { p.metalMark(shrink(r, 2)) }, metalText})
	}
	if len(f.c.Targets) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.frame(line(color.Black, 1.8), shrink(r, 1)) }, f.targetText(s)})
	}
	if f.tableShows(w) {
		list = append(list, key{func(r vg.Rectangle) {
			p.waterMark(vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: r.Min.Y + 2})
		}, "water table"})
	}
	return append(list, p.wayKeys(f, w.top, w.bottom)...)
}

func shrink(r vg.Rectangle, d vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: r.Min.X + d, Y: r.Min.Y + d}, Max: vg.Point{X: r.Max.X - d, Y: r.Max.Y - d}}
}

// profilePlace is where the profiles are taken: x or r [m], and in words why.
func (f *folder) profilePlace(g *grid, w box) (at float64, why string) {
	if f.c.View == cases.Axisymmetric && len(f.c.Electrodes) == 0 && len(f.c.Targets) > 0 {
		return f.targetBox(f.c.Targets[0], g).right / 2, "middle of the target"
	}
	if f.c.View == cases.Axisymmetric {
		rod, edge := 0.0, g.x[len(g.x)-1]
		for _, e := range f.c.Electrodes {
			rod = max(rod, e.Radius)
		}
		return (rod + edge) / 2, "halfway from rod to edge"
	}
	t := f.targetBox(f.c.Targets[0], g)
	middle := (t.left + t.right) / 2
	// A row of electrodes often stands in the very middle, and a profile through
	// the hottest ground says nothing of the rest: step halfway to the next row.
	near, other := math.Inf(1), math.Inf(1)
	for _, e := range f.c.Electrodes {
		if math.Abs(e.X-middle) < math.Abs(near-middle) {
			near = e.X
		}
	}
	for _, e := range f.c.Electrodes {
		if math.Abs(e.X-near) > 1e-6 && math.Abs(e.X-middle) < math.Abs(other-middle) {
			other = e.X
		}
	}
	if math.IsInf(other, 0) || math.Abs(near-middle) >= 0.25*math.Abs(other-near) {
		return middle, "middle of the target"
	}
	return (near + other) / 2, "between electrodes"
}
