package figure

import (
	"image/color"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// metalBox is buried metal in the plane of the view.
func (f *folder) metalBox(m cases.Conductor) box {
	return f.heatBox(cases.Heat{Left: m.Left, Right: m.Right, Front: m.Front, Back: m.Back, Radius: m.Radius, InnerRadius: m.InnerRadius, Top: m.Top, Bottom: m.Bottom})
}

// metalNear is the box of metal in the layout as far as it is drawn: a pipe that runs on
// would make the rest of the site, w, small, so no farther beyond it than it is wide or
// long. What lies farther off is drawn nowhere: false.
func (f *folder) metalNear(m cases.Conductor, w box) (box, bool) {
	b, reach := f.metalBox(m), max(w.right-w.left, w.bottom-w.top)
	if f.c.View == cases.Section {
		b.top, b.bottom = w.top, w.bottom // out of the page it goes through all
	}
	b = box{max(b.left, w.left-reach), min(b.right, w.right+reach), max(b.top, w.top-reach), min(b.bottom, w.bottom+reach)}
	return b, b.left < b.right && b.top <= b.bottom
}

// metalBeyond names the buried metal that the layout's window w leaves out; "" for none.
func (f *folder) metalBeyond(w box) string {
	var names []string
	for _, m := range f.c.Conductors {
		if b := f.metalBox(m); f.c.View != cases.Axisymmetric && (b.right <= w.left || b.left >= w.right || f.c.View == cases.Plan && (b.bottom <= w.top || b.top >= w.bottom)) {
			names = append(names, printable(m.Name))
		}
	}
	if names == nil {
		return ""
	}
	return "Buried metal beyond the picture: " + strings.Join(names, ", ") + "."
}

// metalFromAbove fills buried metal in the plan of the layout; edge outlines a body of
// the case as seen from above.
func (p *pen) metalFromAbove(f *folder, q panel, edge func(outline [][2]float64, center [2]float64, radius float64, b box) []vg.Point) {
	for _, m := range f.c.Conductors {
		b := f.metalBox(m)
		corners := edge(m.Outline, m.Center, m.Radius, b)
		if f.c.View == cases.Axisymmetric && b.left > 0 { // a ring, cut where it begins
			hole := outlineOf(q, nil, [2]float64{}, b.left)
			slices.Reverse(hole)
			corners = append(corners, hole...)
		}
		p.metalFigure(q.Rectangle, corners)
	}
}

// metalThrough fills buried metal in the section of the layout; on is a box of the ground
// on the page.
func (p *pen) metalThrough(f *folder, q panel, on func(left, right, top, bottom float64) vg.Rectangle) {
	for _, m := range f.c.Conductors {
		b := f.metalBox(m)
		fill := func(left, right float64) {
			r := on(left, right, m.Top, m.Bottom)
			p.metalFigure(q.Rectangle, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}})
		}
		switch {
		case b.right <= q.x.lo || b.left >= q.x.hi: // beside the picture
		case f.c.View == cases.Plan: // somewhere before or behind what else stands there
			r := on(b.left, b.right, m.Top, m.Bottom)
			p.fill(grey(60), r)
			p.frame(line(color.Black, 0.8), r)
		case f.c.View != cases.Axisymmetric:
			fill(b.left, b.right)
		case b.left == 0:
			fill(-b.right, b.right)
		default:
			fill(b.left, b.right)
			fill(-b.right, -b.left)
		}
	}
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
	p.SetLineStyle(line(color.White, 2.4))
	p.Stroke(path)
	p.SetColor(color.Black)
	p.Fill(path)
	p.SetLineStyle(line(color.Black, 0.8)) // so that a pipe thinner than that is seen
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
