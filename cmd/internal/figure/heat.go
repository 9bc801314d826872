package figure

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// heatBox returns the box of a body of set power in the plane of the view.
func (f *folder) heatBox(h cases.Heat) box {
	if f.c.View == cases.Axisymmetric {
		return box{h.InnerRadius, h.Radius, h.Top, h.Bottom}
	}
	if f.c.View == cases.Plan {
		return box{h.Left, h.Right, h.Front, h.Back}
	}
	return box{h.Left, h.Right, h.Top, h.Bottom}
}

// heatRectangle is a body on the page, wide and high enough to be seen.
func (f *folder) heatRectangle(h cases.Heat, q panel) vg.Rectangle {
	const least = vg.Length(3)
	b := f.heatBox(h)
	r := vg.Rectangle{Min: vg.Point{X: q.atX(b.left), Y: q.atY(b.bottom)}, Max: vg.Point{X: q.atX(b.right), Y: q.atY(b.top)}}
	r.Max.X = max(r.Max.X, r.Min.X+least)
	r.Min.Y = min(r.Min.Y, r.Max.Y-least)
	return r
}

// heatMark outlines r as a body of set power: dotted, as it may be ground like the
// rest, and empty, as the temperatures in it are part of the answer.
func (p *pen) heatMark(r vg.Rectangle) {
	p.frame(line(color.White, 2.4), r)
	p.frame(line(color.Black, 1.3, 2, 1.5), r)
}

// metalIn returns buried metal as far as it lies in the window; false: nowhere.
func (f *folder) metalIn(m cases.Conductor, w box) (cases.Heat, bool) {
	b := f.metalBox(m)
	b = box{max(b.left, w.left), min(b.right, w.right), max(b.top, w.top), min(b.bottom, w.bottom)}
	return cases.Heat{Left: b.left, Right: b.right, InnerRadius: b.left, Radius: b.right, Top: b.top, Bottom: b.bottom}, b.left < b.right && b.top < b.bottom
}

// metalMark fills r as buried metal.
func (p *pen) metalMark(r vg.Rectangle) {
	p.fill(color.Black, r)
	p.frame(line(color.White, 0.8), r)
}
