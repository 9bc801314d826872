package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

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

// heatLine goes round bodies of set power.
var heatLine = line(color.Black, 1.2, 1.5, 2)

// heatMark outlines a body of set power: dotted, as it may be ground like the rest, and
// empty, as the temperatures in it are part of the answer. Of several, what lies within
// another or where two meet is left out.
func (p *pen) heatMark(list ...vg.Rectangle) {
	edges := outlineOfAll(list)
	for _, st := range []draw.LineStyle{line(color.White, 2.2), heatLine} {
		for _, e := range edges {
			p.stroke(st, e[0], e[1])
		}
	}
}

// outlineOfAll returns the sides, level ones first, of the figure that boxes cover
// together.
func outlineOfAll(list []vg.Rectangle) (edges [][2]vg.Point) {
	var xs, ys []vg.Length
	for _, r := range list {
		xs, ys = append(xs, r.Min.X, r.Max.X), append(ys, r.Min.Y, r.Max.Y)
	}
	for _, v := range []*[]vg.Length{&xs, &ys} {
		slices.Sort(*v)
		// Sides that meet are equal to rounding, far below a dot.
		*v = slices.CompactFunc(*v, func(a, b vg.Length) bool { return math.Abs(float64(a-b)) < 0.01 })
	}
	covered := func(i, k int) bool {
		if i < 0 || k < 0 || i >= len(xs)-1 || k >= len(ys)-1 {
			return false
		}
		x, y := (xs[i]+xs[i+1])/2, (ys[k]+ys[k+1])/2
		return slices.ContainsFunc(list, func(r vg.Rectangle) bool { return x > r.Min.X && x < r.Max.X && y > r.Min.Y && y < r.Max.Y })
	}
	// A side runs on as long as the same of its two cells is covered.
	run := func(n int, side func(i int) int, edge func(from, to int)) {
		for i := 0; i < n; i++ {
			from, s := i, side(i)
			for i+1 < n && side(i+1) == s {
				i++
			}
			if s != 0 {
				edge(from, i+1)
			}
		}
	}
	differ := func(a, b bool) int {
		switch {
		case a && !b:
			return 1
		case b && !a:
			return -1
		}
		return 0
	}
	for k := range ys {
		run(len(xs)-1, func(i int) int { return differ(covered(i, k), covered(i, k-1)) }, func(a, b int) {
			edges = append(edges, [2]vg.Point{{X: xs[a], Y: ys[k]}, {X: xs[b], Y: ys[k]}})
		})
	}
	for i := range xs {
		run(len(ys)-1, func(k int) int { return differ(covered(i, k), covered(i-1, k)) }, func(a, b int) {
			edges = append(edges, [2]vg.Point{{X: xs[i], Y: ys[a]}, {X: xs[i], Y: ys[b]}})
		})
	}
	return edges
}

// metalIn returns buried metal as far as it lies in the window; false: nowhere.
func (f *folder) metalIn(m cases.Conductor, w box) (cases.Heat, bool) {
	b := f.metalBox(m)
	b = box{max(b.left, w.left), min(b.right, w.right), max(b.top, w.top), min(b.bottom, w.bottom)}
	return cases.Heat{Left: b.left, Right: b.right, InnerRadius: b.left, Radius: b.right, Top: b.top, Bottom: b.bottom}, b.left < b.right && b.top < b.bottom
}
