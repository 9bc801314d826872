package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// rises reports whether steam rises in the ground.
func (f *folder) rises() bool { return f.c.Steam.Boiling && f.c.Steam.Fate == "rising" }

// extraction returns the depths [m] between top and bottom at which the interval begins
// and ends where rising steam is extracted, as far as it reaches there; false: nowhere.
func (f *folder) extraction(top, bottom float64) (from, to float64, ok bool) {
	from, to = max(f.c.Steam.Top, top), min(f.c.Steam.Bottom, bottom) // NaN: no interval
	return from, to, f.rises() && from < to
}

// barriers returns the depths [m] between top and bottom of the lower faces of layers that
// rising steam does not enter from below.
func (f *folder) barriers(top, bottom float64) []float64 {
	var list []float64
	for i := range f.c.Layers {
		// The last layer has no lower face.
		if l := &f.c.Layers[i]; l.SteamBarrier && f.rises() && i < len(f.c.Layers)-1 && l.Bottom > top && l.Bottom < bottom {
			list = append(list, l.Bottom)
		}
	}
	return list
}

// takesWater reports whether water is added at an electrode.
func (f *folder) takesWater(e *cases.Electrode) bool {
	return slices.ContainsFunc(f.c.WaterAdded, func(w cases.WaterAdded) bool {
		return w.Electrode == e.Name && w.Rate > 0 && w.From < f.c.Time.Duration
	})
}

// steamWays draws into a panel whose height shows depths where rising steam is extracted
// and what it does not pass.
func (p *pen) steamWays(f *folder, q panel) {
	if from, to, ok := f.extraction(q.y.lo, q.y.hi); ok {
		p.extractionMark(vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: q.atY(to)}, Max: vg.Point{X: q.Max.X, Y: q.atY(from)}},
			from == f.c.Steam.Top, to == f.c.Steam.Bottom)
	}
	for _, z := range f.barriers(q.y.lo, q.y.hi) {
		p.barrierMark(q.Min.X, q.Max.X, min(q.atY(z), q.Max.Y-barrierWidth))
	}
}

// extractionMark draws the ends of the interval of extraction that lie in r as combs whose
// teeth point into it: they cover little of what is between.
func (p *pen) extractionMark(r vg.Rectangle, top, bottom bool) {
	const pitch = vg.Length(7)
	tooth := min(4, (r.Max.Y-r.Min.Y)/3)
	comb := func(y, to vg.Length) {
		for _, st := range []struct {
			c     color.Color
			width vg.Length
		}{{color.White, 2.2}, {color.Black, 0.8}} {
			p.stroke(line(st.c, st.width), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
			for x := r.Min.X + pitch/2; x < r.Max.X; x += pitch {
				p.stroke(line(st.c, st.width), vg.Point{X: x, Y: y}, vg.Point{X: x, Y: y + to})
			}
		}
	}
	if top {
		comb(r.Max.Y, -tooth)
	}
	if bottom {
		comb(r.Min.Y, tooth)
	}
}

// barrierWidth is how thick a barrier is drawn.
const barrierWidth = vg.Length(4)

// barrierMark draws a barrier from x0 to x1 above its lower face at y: a black bar with a
// broken white core, beside the solid frame of a target that may begin there.
func (p *pen) barrierMark(x0, x1, y vg.Length) {
	y += barrierWidth/2 + 0.6
	a, b := vg.Point{X: x0, Y: y}, vg.Point{X: x1, Y: y}
	p.stroke(line(color.White, barrierWidth+1.2), a, b)
	p.stroke(line(color.Black, barrierWidth), a, b)
	p.stroke(line(color.White, barrierWidth-2.2, 5, 5), a, b)
}

// bore marks an electrode in a panel of depths, with rungs if water is added at it.
func (p *pen) bore(f *folder, e *cases.Electrode, r vg.Rectangle) {
	p.electrodeMark(r)
	if f.takesWater(e) {
		p.rungs(r)
	}
}

// rungs marks an electrode at which water is added.
func (p *pen) rungs(r vg.Rectangle) {
	const pitch = vg.Length(4.5)
	for y := r.Max.Y - pitch; y > r.Min.Y+1; y -= pitch {
		p.stroke(line(color.Black, 1.6), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
	}
}

// ring marks an electrode seen from above at which water is added.
func (p *pen) ring(at vg.Point, radius vg.Length) {
	path := vg.Path{}
	path.Move(at.Add(vg.Point{X: radius}))
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	for _, st := range []struct {
		c     color.Color
		width vg.Length
	}{{color.White, 3}, {color.Black, 1.2}} {
		p.SetLineStyle(line(st.c, st.width))
		p.Stroke(path)
	}
}

// ringGap is from an electrode's mark to its ring.
const ringGap = vg.Length(2.6)

// watered reports whether water is added at any electrode, or at all of them.
func (f *folder) watered() (some, all bool) {
	all = len(f.c.Electrodes) > 0
	for i := range f.c.Electrodes {
		takes := f.takesWater(&f.c.Electrodes[i])
		some, all = some || takes, all && takes
	}
	return some, all
}

// boreKeys are the entries for electrodes in a panel of depths, named so.
func (p *pen) boreKeys(f *folder, name string) []key {
	var list []key
	at := func(r vg.Rectangle) vg.Rectangle {
		c := r.Min.Add(r.Max).Scale(0.5)
		return vg.Rectangle{Min: vg.Point{X: c.X - 3, Y: r.Min.Y}, Max: vg.Point{X: c.X + 3, Y: r.Max.Y}}
	}
	some, all := f.watered()
	if len(f.c.Electrodes) > 0 && !all {
		list = append(list, key{func(r vg.Rectangle) { p.electrodeMark(at(r)) }, name})
	}
	if some {
		list = append(list, key{func(r vg.Rectangle) { p.electrodeMark(at(r)); p.rungs(at(r)) }, name + ", water added"})
	}
	return list
}

// wayKeys are the entries for what steamWays draws between two depths [m].
func (p *pen) wayKeys(f *folder, top, bottom float64) []key {
	var list []key
	if _, _, ok := f.extraction(top, bottom); ok {
		list = append(list, key{func(r vg.Rectangle) { p.extractionMark(shrink(r, 1), true, true) }, "steam extracted"})
	}
	if len(f.barriers(top, bottom)) > 0 {
		list = append(list, key{func(r vg.Rectangle) {
			p.barrierMark(r.Min.X, r.Max.X, (r.Min.Y+r.Max.Y-barrierWidth)/2)
		}, "steam barrier"})
	}
	return list
}
