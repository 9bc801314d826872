package figure

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// powerMap draws the power density in a plan's slab when power first flows and when it
// last does, of the fields saved, in bands that go by decades.
func powerMap(f *folder, s style) (*drawing, error) {
	if f.c.View != cases.Plan {
		return nil, fmt.Errorf("the view is no plan: %w", errNothing)
	}
	g, err := f.readGrid()
	if err != nil {
		return nil, err
	}
	w, err := f.window(g)
	if err != nil {
		return nil, err
	}
	saved, err := f.saved("power_density", "W/m3")
	if err != nil {
		return nil, err
	}
	out := &table{file: "power.csv"}
	cells := f.cellsIn(g, w, out)
	var fields []field
	// first is the first field with power in the window, of list.
	first := func(list []entry) error {
		for _, e := range list {
			one, err := f.readFields([]entry{e}, g)
			if err != nil {
				return err
			}
			if _, hi, ok := bounds(pick(one[0].v, cells)); ok && hi > 0 {
				if len(fields) == 0 || one[0].time > fields[0].time {
					fields = append(fields, one[0])
				}
				return nil
			}
		}
		return nil
	}
	if err := first(saved); err != nil {
		return nil, err
	}
	slices.Reverse(saved)
	if err := first(saved); err != nil {
		return nil, err
	}
	if len(fields) == 0 {
		return nil, fmt.Errorf("no power in any field saved: %w", errNothing)
	}
	top := 0.0
	for _, one := range fields {
		v := pick(one.v, cells)
		_, hi, _ := bounds(v)
		top = max(top, hi)
		out.add("day_"+dayName(one.time)+"_W_per_m3", v)
	}
	levels := decades(top)
	shade := func(v float64) color.RGBA {
		i := sort.SearchFloat64s(levels, math.Nextafter(v, math.Inf(1))) // levels at or below v
		return s.ramp.at((float64(min(i, len(levels)-1)) + 0.5) / float64(len(levels))).rgba()
	}
	t := tile(w, len(fields))
	days := "day " + short(fields[0].time)
	if len(fields) > 1 {
		days = "days " + short(fields[0].time) + " and " + short(fields[1].time)
	}
	const barHeight = vg.Length(14)
	bottom := tickHeight + 2*lineHeight + s.planKeysHeight(f) + lineHeight + barHeight + 2*lineHeight + footHeight
	total := headHeight + tickHeight + t.total() + bottom

	paint := func(p *pen) {
		p.heading(f, "Power density seen from above", days, "power")
		x0 := margin + p.room(axis{lo: w.top, hi: w.bottom}.ticks(s.length[0], along(t.height)), "y")
		var last panel
		for n, one := range fields {
			q := t.panel(n, x0, p.Max.Y-headHeight-tickHeight, w)
			t.date(p, f, q, n, one.time)
			p.bands(q, w, g.nodes(one.v).at, shade)
			p.planWithPhases(f, q)
			t.axes(p, s, q, n, len(fields))
			last = q
		}
		y := last.Min.Y - tickHeight
		notes := [2]string{"At the first and the last saved field with power. 1 W/m³ is 0.0283 W/ft³.", f.slabNote(s)}
		p.planFoot(f, s, y, notes)
		r := vg.Rectangle{Min: vg.Point{X: x0, Y: footHeight + 2*lineHeight}, Max: vg.Point{X: p.Max.X - 60, Y: footHeight + 2*lineHeight + barHeight}}
		// One more band than levels inside: the first holds all that is less.
		bar := panel{Rectangle: r, x: axis{lo: 0, hi: float64(len(levels))}}
		var marks []tick
		for i := range levels {
			below := math.Nextafter(levels[i], 0)
			p.fill(shade(below), vg.Rectangle{Min: vg.Point{X: bar.atX(float64(i)), Y: r.Min.Y}, Max: vg.Point{X: bar.atX(float64(i + 1)), Y: r.Max.Y}})
			if i < len(levels)-1 {
				p.stroke(thin, vg.Point{X: bar.atX(float64(i + 1)), Y: r.Min.Y}, vg.Point{X: bar.atX(float64(i + 1)), Y: r.Max.Y})
				marks = append(marks, tick{float64(i + 1), number(levels[i], levels[i])})
			}
		}
		p.below(bar, marks, "")
		p.frame(thin, r)
		p.text(body, color.Black, r.Max.X+8, r.Min.Y-tickLength-3, 0, 1, "W/m³")
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// decades returns ten levels of 1, 2, 5 × 10ⁿ, the last at top or above it.
func decades(top float64) []float64 {
	n := int(math.Floor(math.Log10(top)))*3 - 1 // below top, whatever the rounding of the logarithm
	level := func(n int) float64 {
		third := ((n % 3) + 3) % 3
		return []float64{1, 2, 5}[third] * math.Pow(10, float64((n-third)/3))
	}
	for level(n) < top*(1-1e-9) {
		n++
	}
	var out []float64
	for i := n - 9; i <= n; i++ {
		out = append(out, level(i))
	}
	return out
}
