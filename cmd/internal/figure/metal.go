package figure

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

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
