package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"os"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// daysMap draws when the ground of a plan reached what the first target has to: bands
// and lines of equal days, hatched where it was not reached.
func daysMap(f *folder, s style) (*drawing, error) {
	if f.c.View != cases.Plan {
		return nil, fmt.Errorf("the view is no plan: %w", errNothing)
	}
	g, saved, w, err := f.plane()
	if err != nil {
		return nil, err
	}
	v, err := f.readField("days_to_target.npy", g)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("fields/days_to_target.npy: %w: %w", os.ErrNotExist, errNothing)
	}
	if err != nil {
		return nil, err
	}
	var sum summary
	if err := f.readJSON("summary.json", &sum); err != nil {
		return nil, err
	}
	out := &table{file: "days.csv"}
	cells := f.cellsIn(g, w, out)
	shown := pick(v, cells)
	out.add("days_to_target", shown)
	b, some := dayBands(shown)
	n := g.nodes(v)
	at := func(x, y float64) float64 {
		if bad(v[cellAt(g.z, y)*len(g.xc)+cellAt(g.x, x)]) {
			return math.NaN()
		}
		return n.among(x, y)
	}

	end := *saved[len(saved)-1].Days
	t := f.c.Targets[0]
	title := "Days until the ground boils"
	if target, ok := firstTarget(f.c); ok {
		title = "Days until the ground is at " + s.temperature2(target)
	}
	q0 := tile(w, 1)
	const barHeight = vg.Length(14)
	bottom := tickHeight + 2*lineHeight + s.daysKeysHeight(f) + lineHeight + footHeight
	if some {
		bottom += barHeight + 2*lineHeight
	}
	total := headHeight + tickHeight + q0.total() + bottom

	paint := func(p *pen) {
		p.heading(f, title, "up to day "+short(end), "days")
		room := p.room(axis{lo: w.top, hi: w.bottom}.ticks(s.length[0], along(q0.height)), "y")
		x0 := margin + room
		q := q0.panel(0, x0, p.Max.Y-headHeight, w)
		if some {
			p.bands(q, w, at, func(d float64) color.RGBA { return b.early(&s.ramp, b.band(d)).rgba() })
		}
		p.hatchWhere(q.Rectangle, func(c vg.Point) bool { return bad(at(q.backX(c.X), q.backY(c.Y))) })
		var curves []curve
		for i := 1; some && i < len(b.levels)-1; i++ {
			var parts [][]vg.Point
			for _, l := range n.isolines(b.levels[i]) {
				pts := make([]vg.Point, len(l))
				for j, c := range l {
					pts[j] = vg.Point{X: q.atX(c[0]), Y: q.atY(c[1])}
				}
				parts = append(parts, clipTo(q.Rectangle, pts)...)
			}
			for _, part := range parts {
				p.stroke(line(b.early(&s.ramp, i).ink(), 0.6), part...)
			}
			if len(parts) > 0 {
				curves = append(curves, curve{parts, short(b.levels[i])})
			}
		}
		taken := f.planMarks(q)
		p.drawPlan(f, q)
		for _, l := range p.phaseLabels(f, q, taken) {
			p.halo(bodyBold, l.at, l.text)
			taken = append(taken, l.at)
		}
		if len(curves) > 0 {
			curves[0].text = "day " + curves[0].text
		}
		boxes, _ := p.placeLabels(curves, body, q.Rectangle, taken)
		for i, r := range boxes {
			if r != (vg.Rectangle{}) {
				p.boxed(body, r, curves[i].text)
			}
		}
		for _, l := range p.sensorLabels(f, q, append(taken, boxes...)) {
			p.halo(body, l.at, l.text)
		}
		q0.axes(p, s, q, 0, 1)
		y := q.Min.Y - tickHeight
		answer := fmt.Sprintf("%s %% of %s: ", short(100*t.Share), printable(t.Name))
		if sum.DaysToTarget != nil {
			answer += "day " + short(*sum.DaysToTarget) + "."
		} else {
			answer += "not reached in " + short(end) + " d."
		}
		for i, note := range []string{answer, f.slabNote(s)} {
			p.text(body, color.Black, margin, y-vg.Length(i)*lineHeight, 0, 1, p.fit(body, note, p.Max.X-2*margin))
		}
		p.keys(p.daysKeys(f, s), margin, y-2*lineHeight-8, p.Max.X-2*margin)
		if some {
			p.dayScale(s, vg.Rectangle{Min: vg.Point{X: x0, Y: footHeight + 2*lineHeight}, Max: vg.Point{X: p.Max.X - 110, Y: footHeight + 2*lineHeight + barHeight}}, b)
		}
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// among is the bilinear value at (x, z) of those of the four nodes round it that have
// one.
func (n nodes) among(x, z float64) float64 {
	i, wx := bracket(n.x, x)
	k, wz := bracket(n.z, z)
	sum, weight := 0.0, 0.0
	for dk, a := range []float64{1 - wz, wz} {
		for di, b := range []float64{1 - wx, wx} {
			if a*b == 0 {
				continue
			}
			if v := n.v[(k+dk)*len(n.x)+i+di]; !bad(v) {
				sum, weight = sum+a*b*v, weight+a*b
			}
		}
	}
	return sum / weight
}

// cellAt returns the index of the cell between ascending edges that holds v; beyond
// them the first or last.
func cellAt(edges []float64, v float64) int {
	i, _ := bracket(edges, v)
	return min(i, len(edges)-2)
}

// backX and backY are the places [m] of a point of the page.
func (q panel) backX(x vg.Length) float64 {
	return q.x.lo + float64((x-q.Min.X)/(q.Max.X-q.Min.X))*(q.x.hi-q.x.lo)
}

func (q panel) backY(y vg.Length) float64 {
	return q.y.lo + float64((y-q.Min.Y)/(q.Max.Y-q.Min.Y))*(q.y.hi-q.y.lo)
}

// dayBands covers the days given with bands of one round width; false: there are none.
func dayBands(days []float64) (bandScale, bool) {
	lo, hi, ok := bounds(days)
	if !ok {
		return bandScale{}, false
	}
	d := max(step(hi-lo, 9), 1e-3) // a minute and a half
	first, last := math.Floor(lo/d+1e-9), math.Ceil(hi/d-1e-9)
	b := bandScale{step: d}
	for j := first; j <= max(last, first+1); j++ {
		b.levels = append(b.levels, j*d)
	}
	return b, true
}

// early is shade with what is early, so hot for long, dark.
func (b bandScale) early(r *ramp, n int) lab {
	return r.at(1 - (float64(n)+0.5)/float64(len(b.levels)-1))
}

// dayScale draws the bands of days as a bar.
func (p *pen) dayScale(s style, r vg.Rectangle, b bandScale) {
	n := len(b.levels) - 1
	q := panel{Rectangle: r, x: axis{lo: b.levels[0], hi: b.levels[n]}}
	for i := range n {
		p.fill(b.early(&s.ramp, i).rgba(), vg.Rectangle{Min: vg.Point{X: q.atX(b.levels[i]), Y: r.Min.Y}, Max: vg.Point{X: q.atX(b.levels[i+1]), Y: r.Max.Y}})
	}
	p.frame(thin, r)
	every := max(1, int(math.Ceil(44/(float64(r.Max.X-r.Min.X)/float64(n)))))
	for i := 0; i <= n; i += every {
		x := q.atX(b.levels[i])
		p.stroke(thin, vg.Point{X: x, Y: r.Min.Y - tickLength}, vg.Point{X: x, Y: r.Max.Y})
		p.text(body, color.Black, x, r.Min.Y-tickLength-3, 0.5, 1, number(b.levels[i], b.step))
	}
	p.text(body, color.Black, r.Max.X+22, r.Min.Y-tickLength-3, 0, 1, "days")
}

// hatchWhere draws rising lines over those parts of r that in names.
func (p *pen) hatchWhere(r vg.Rectangle, in func(vg.Point) bool) {
	const pitch, fine = vg.Length(7), vg.Length(1)
	st := line(grey(45), 0.6)
	w, h := r.Max.X-r.Min.X, r.Max.Y-r.Min.Y
	for c := -w; c < h; c += pitch {
		var from, to vg.Point
		open := false
		end := func() {
			if open {
				p.stroke(st, from, to)
			}
			open = false
		}
		for x := vg.Length(0); x <= w; x += fine {
			at := vg.Point{X: r.Min.X + x, Y: r.Min.Y + c + x}
			if at.Y < r.Min.Y || at.Y > r.Max.Y || !in(at) {
				end()
				continue
			}
			if !open {
				from, open = at, true
			}
			to = at
		}
		end()
	}
}

// daysKeys are a plan's keys and that of ground that was not reached.
func (p *pen) daysKeys(f *folder, s style) []key {
	return append(p.planKeys(f, s), key{func(r vg.Rectangle) {
		p.hatchWhere(shrink(r, 1), func(vg.Point) bool { return true })
		p.frame(thin, shrink(r, 1))
	}, "not reached"})
}

// daysKeysHeight is keysHeight for the keys of days.
func (s style) daysKeysHeight(f *folder) vg.Length {
	p := &pen{fonts: s.fonts}
	return vg.Length(p.keyRows(p.daysKeys(f, s), pageWidth-2*margin)) * (lineHeight + 2)
}
