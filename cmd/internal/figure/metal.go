package figure

import (
	"cmp"
	"image/color"
	"math"
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
// would make the rest of the site, w, small, so no farther beyond it than a third of what
// that is wide or long. What lies farther off is drawn nowhere: false.
func (f *folder) metalNear(m cases.Conductor, w box) (box, bool) {
	b, reach := f.metalBox(m), max(w.right-w.left, w.bottom-w.top)/3
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

// metalLeast is the least size of buried metal drawn as it is: what is smaller both ways
// is a diamond, a shape that no phase has.
const metalLeast = vg.Length(16)

// metalSeen is buried metal on the page.
type metalSeen struct {
	name    string
	corners []vg.Point
	at      vg.Rectangle // round all corners
	small   bool         // drawn as a diamond, not to size
}

// taken is where its ink is, in small boxes.
func (m metalSeen) taken() []vg.Rectangle {
	var list []vg.Rectangle
	for _, l := range append(stripes(m.corners, stripePitch), append(slices.Clone(m.corners), m.corners[0])) {
		for _, at := range append(resample(l, 3), l...) {
			list = append(list, around(at, 0.3))
		}
	}
	return list
}

// diamond returns the corners of the mark of small metal.
func diamond(at vg.Point) []vg.Point {
	const half = vg.Length(7.5)
	return []vg.Point{at.Add(vg.Point{X: half}), at.Add(vg.Point{Y: half}), at.Add(vg.Point{X: -half}), at.Add(vg.Point{Y: -half})}
}

// boundsOf returns the box round some points.
func boundsOf(pts []vg.Point) vg.Rectangle {
	r := vg.Rectangle{Min: pts[0], Max: pts[0]}
	for _, at := range pts {
		r.Min.X, r.Min.Y = min(r.Min.X, at.X), min(r.Min.Y, at.Y)
		r.Max.X, r.Max.Y = max(r.Max.X, at.X), max(r.Max.Y, at.Y)
	}
	return r
}

// metalFromAbove returns buried metal as it is drawn in the plan of the layout, whose
// window is w.
func (f *folder) metalFromAbove(q panel, w box) (out []metalSeen) {
	for _, m := range f.c.Conductors {
		b := f.metalBox(m)
		corners := f.edgeFromAbove(q, w, m.Outline, m.Center, m.Radius, b)
		if f.c.View == cases.Axisymmetric && b.left > 0 { // a ring, cut where it begins
			hole := outlineOf(q, nil, [2]float64{}, b.left)
			slices.Reverse(hole)
			corners = append(corners, hole...)
		}
		one := metalSeen{name: printable(m.Name), corners: clipFigure(q.Rectangle, corners)}
		if len(one.corners) == 0 {
			continue
		}
		if one.at = boundsOf(one.corners); one.at.Max.X-one.at.Min.X < metalLeast && one.at.Max.Y-one.at.Min.Y < metalLeast {
			one.small = true
			one.corners = diamond(one.at.Min.Add(one.at.Max).Scale(0.5))
			one.at = boundsOf(one.corners)
		}
		out = append(out, one)
	}
	return out
}

// metalThrough fills buried metal in the section of the layout and returns it as drawn;
// on is a box of the ground on the page.
func (p *pen) metalThrough(f *folder, q panel, on func(left, right, top, bottom float64) vg.Rectangle) (out []metalSeen) {
	for _, m := range f.c.Conductors {
		b := f.metalBox(m)
		fill := func(left, right float64) {
			r := on(left, right, m.Top, m.Bottom)
			p.metalFigure(q.Rectangle, cornersOf(r))
			out = append(out, metalSeen{printable(m.Name), cornersOf(r), r, false})
		}
		switch {
		case b.right <= q.x.lo || b.left >= q.x.hi: // beside the picture
		case f.c.View == cases.Plan: // somewhere before or behind what else stands there
			p.metalBehind(on(b.left, b.right, m.Top, m.Bottom))
		case f.c.View != cases.Axisymmetric:
			fill(b.left, b.right)
		case b.left == 0:
			fill(-b.right, b.right)
		default:
			fill(b.left, b.right)
			fill(-b.right, -b.left)
		}
	}
	return out
}

// metalBehind outlines r as buried metal somewhere before or behind what else stands
// there, to be seen through.
func (p *pen) metalBehind(r vg.Rectangle) {
	for _, l := range stripes(cornersOf(r), 2*stripePitch) {
		p.stroke(line(color.Black, 0.7), l...)
	}
	p.frame(line(color.Black, 0.8), r)
}

// metalText names buried metal in a figure's keys.
const metalText = "buried metal"

// metalKeys are the entries for buried metal seen from above: seen is what is drawn.
func (p *pen) metalKeys(f *folder, seen []metalSeen) []key {
	var list []key
	if slices.ContainsFunc(seen, func(m metalSeen) bool { return !m.small }) {
		list = append(list, key{func(r vg.Rectangle) { p.metalMark(shrink(r, 2)) }, metalText})
	}
	if slices.ContainsFunc(seen, func(m metalSeen) bool { return m.small }) {
		list = append(list, key{func(r vg.Rectangle) { p.metalFigure(r, diamond(r.Min.Add(r.Max).Scale(0.5))) }, "small buried metal"})
	}
	if f.c.View == cases.Plan && len(seen) > 0 {
		list = append(list, key{func(r vg.Rectangle) { p.metalBehind(shrink(r, 1)) }, "metal from the front"})
	}
	return list
}

// metalNames finds a place for the name of each piece of metal, those of one name once.
func (p *pen) metalNames(seen []metalSeen, bounds vg.Rectangle, taken []vg.Rectangle) (out []placed) {
	busy := slices.Clone(taken)
	for _, m := range seen {
		if slices.ContainsFunc(out, func(o placed) bool { return o.text == m.name }) {
			continue
		}
		if r, ok := p.labelBeside(body, m.at, m.name, bounds, busy); ok {
			out, busy = append(out, placed{m.name, r}), append(busy, r)
		}
	}
	return out
}

func cornersOf(r vg.Rectangle) []vg.Point {
	return []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}}
}

// metalMark fills r as buried metal.
func (p *pen) metalMark(r vg.Rectangle) { p.metalFigure(r, cornersOf(r)) }

// stripePitch is from stripe to stripe of buried metal.
const stripePitch = vg.Length(5.5)

// metalFigure fills a closed figure as buried metal, as far as it lies in a panel: black,
// so that a thin pipe is seen on every shade, and where it is wide enough with white
// stripes, which no electrode has.
func (p *pen) metalFigure(in vg.Rectangle, corners []vg.Point) {
	corners = clipFigure(in, corners)
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
	const narrow = vg.Length(6)
	if r := boundsOf(corners); min(r.Max.X-r.Min.X, r.Max.Y-r.Min.Y) > narrow {
		for _, l := range stripes(corners, stripePitch) {
			p.stroke(line(color.White, 1.1), l...)
		}
	}
	p.SetLineStyle(line(color.Black, 0.8)) // so that a pipe thinner than that is seen
	p.Stroke(path)
}

// stripes returns the parts of lines rising to the right that lie in a closed figure,
// pitch apart from one to the next, the first half of it from the figure's lower right.
func stripes(corners []vg.Point, pitch vg.Length) (list [][]vg.Point) {
	across := func(at vg.Point) float64 { return float64(at.Y-at.X) / math.Sqrt2 }
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range corners {
		lo, hi = min(lo, across(c)), max(hi, across(c))
	}
	for level := lo + float64(pitch)/2; level < hi; level += float64(pitch) {
		var at []vg.Point
		for i, b := range corners {
			a := corners[(i+len(corners)-1)%len(corners)]
			u, v := across(a)-level, across(b)-level
			if u < 0 != (v < 0) {
				at = append(at, a.Add(b.Sub(a).Scale(vg.Length(u/(u-v)))))
			}
		}
		slices.SortFunc(at, func(a, b vg.Point) int { return cmp.Compare(a.X, b.X) })
		for i := 1; i < len(at); i += 2 {
			list = append(list, []vg.Point{at[i-1], at[i]})
		}
	}
	return list
}

// clipFigure returns the part of a closed figure that lies in a box.
func clipFigure(in vg.Rectangle, corners []vg.Point) []vg.Point {
	for _, side := range []func(v vg.Point) float64{
		func(v vg.Point) float64 { return float64(v.X - in.Min.X) },
		func(v vg.Point) float64 { return float64(in.Max.X - v.X) },
		func(v vg.Point) float64 { return float64(v.Y - in.Min.Y) },
		func(v vg.Point) float64 { return float64(in.Max.Y - v.Y) },
	} {
		corners = within(corners, side)
	}
	return corners
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
