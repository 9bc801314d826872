package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// saturation draws which share of the pores holds water, at the start, midway and at the
// end: in the plane of the view, or seen from above. Each cell has its own value, as what
// dries and what a layer holds end at once.
func saturation(f *folder, s style) (*drawing, error) {
	g, err := f.readGrid()
	if err != nil {
		return nil, err
	}
	w, err := f.window(g)
	if err != nil {
		return nil, err
	}
	saved, err := f.saved("saturation", "-")
	if err != nil {
		return nil, err
	}
	fields, err := f.readFields(spacedEntries(saved, mostPanels, *saved[0].Days, false), g)
	if err != nil {
		return nil, err
	}
	out := &table{file: "saturation.csv"}
	cells := f.cellsIn(g, w, out)
	const seen = 0.02 // of a band of 0.05
	moves := false
	first := pick(fields[0].v, cells)
	for _, one := range fields {
		v := pick(one.v, cells)
		for n := range v {
			moves = moves || math.Abs(v[n]-first[n]) > seen
		}
		out.add("day_"+dayName(one.time), v)
	}
	if !moves {
		return nil, fmt.Errorf("no ground dries or wets: %w", errNothing)
	}
	days := daysOf(fields)
	if f.c.View == cases.Plan {
		return f.saturationPlan(s, g, w, fields, out, days), nil
	}
	return f.saturationSection(s, g, w, fields, out, days), nil
}

// cellwise returns the value of the cell that holds a place.
func (g *grid) cellwise(v []float64) func(x, z float64) float64 {
	return func(x, z float64) float64 { return v[cellAt(g.z, z)*len(g.xc)+cellAt(g.x, x)] }
}

const saturationBands = 20

// drier returns the colour of a saturation: dark where it is dry, as hot ground is dark.
func (r *ramp) drier() func(v float64) color.RGBA {
	var shades [saturationBands]color.RGBA
	for i := range shades {
		shades[i] = r.at(1 - (float64(i)+0.5)/saturationBands).rgba()
	}
	return func(v float64) color.RGBA {
		return shades[int(min(saturationBands-1, max(0, math.Floor(v*saturationBands+1e-9))))]
	}
}

// saturationBar draws the scale of saturation.
func (p *pen) saturationBar(s style, r vg.Rectangle) {
	q, shade := panel{Rectangle: r, x: axis{lo: 0, hi: 1}}, s.ramp.drier()
	for i := range saturationBands {
		a, e := float64(i)/saturationBands, float64(i+1)/saturationBands
		p.fill(shade(a), vg.Rectangle{Min: vg.Point{X: q.atX(a), Y: r.Min.Y}, Max: vg.Point{X: q.atX(e), Y: r.Max.Y}})
	}
	p.frame(thin, r)
	for i := 0; i <= saturationBands; i += saturationBands / 5 {
		v := float64(i) / saturationBands
		p.stroke(thin, vg.Point{X: q.atX(v), Y: r.Min.Y - tickLength}, vg.Point{X: q.atX(v), Y: r.Max.Y})
		p.text(body, color.Black, q.atX(v), r.Min.Y-tickLength-3, 0.5, 1, number(100*v, 20))
	}
	p.text(body, color.Black, r.Max.X+22, r.Min.Y-tickLength-3, 0, 1, "% of pores")
}

const saturationBarHeight = vg.Length(14)

func saturationBarAt(p *pen, x0 vg.Length) vg.Rectangle {
	y := footHeight + lineHeight + 6
	return vg.Rectangle{Min: vg.Point{X: x0, Y: y}, Max: vg.Point{X: p.Max.X - 130, Y: y + saturationBarHeight}}
}

// saturationSection draws the panels of a section or round an axis.
func (f *folder) saturationSection(s style, g *grid, w box, fields []field, out *table, days string) *drawing {
	lay := arrange(w, len(fields), s.stripWidth(f.layerBands(w.top, w.bottom)))
	title, letter := "Water in the pores", "x"
	if f.c.View == cases.Axisymmetric {
		letter = "r"
	}
	bottom := tickHeight + lineHeight + s.keysHeight(f, w) + lineHeight + saturationBarHeight + lineHeight + 8 + footHeight
	total := headHeight + tickHeight + lay.height + bottom
	paint := func(p *pen) {
		p.heading(f, title, days, "saturation")
		yAxis, xAxis := axis{lo: w.top, hi: w.bottom, down: true}, axis{lo: w.left, hi: w.right}
		x0 := margin + p.room(yAxis.ticks(s.length[0], along(lay.panelHeight)), "depth")
		top := p.Max.Y - headHeight - tickHeight
		bands := f.layerBands(w.top, w.bottom)
		var last panel
		for n, one := range fields {
			q := lay.panel(n, x0, top)
			q.x, q.y = xAxis, yAxis
			titleGap := lay.titleGap
			if n == 0 { // above the upper axis
				titleGap = tickHeight + 2
			}
			p.text(bodyBold, color.Black, q.Min.X, q.Max.Y+titleGap, 0, 0, dateName(one.time, f.c.Time.PowerOn, lay.stacked))
			p.bands(q, w, g.cellwise(one.v), s.ramp.drier())
			p.inGround(f, q, bands, w, one.time)
			lay.axes(p, s, q, n, len(fields), bands)
			last = q
		}
		y := last.Min.Y - tickHeight
		note := fmt.Sprintf("%s in %s, above in %s. %s.", letter, s.length[0].name, s.length[1].name, lay.exaggerationText())
		p.text(body, color.Black, margin, y, 0, 1, p.fit(body, note, p.Max.X-2*margin))
		p.keys(p.groundKeys(f, s, w), margin, y-lineHeight-8, p.Max.X-2*margin)
		p.saturationBar(s, saturationBarAt(p, x0))
	}
	return &drawing{pageWidth, total, paint, out}
}

// saturationPlan draws the panels of a plan.
func (f *folder) saturationPlan(s style, g *grid, w box, fields []field, out *table, days string) *drawing {
	t := tile(w, len(fields))
	bottom := tickHeight + 2*lineHeight + s.planKeysHeight(f) + lineHeight + saturationBarHeight + lineHeight + 8 + footHeight
	total := headHeight + tickHeight + t.total() + bottom
	paint := func(p *pen) {
		p.heading(f, "Water in the pores, seen from above", days, "saturation")
		x0 := margin + p.room(axis{lo: w.top, hi: w.bottom}.ticks(s.length[0], along(t.height)), "y")
		var last panel
		for n, one := range fields {
			q := t.panel(n, x0, p.Max.Y-headHeight-tickHeight, w)
			t.date(p, f, q, n, one.time)
			p.bands(q, w, g.cellwise(one.v), s.ramp.drier())
			p.planWithPhases(f, q)
			t.axes(p, s, q, n, len(fields))
			last = q
		}
		y := last.Min.Y - tickHeight
		notes := [2]string{"Below and left in " + s.length[0].name + ", above and right in " + s.length[1].name + ".", f.slabNote(s)}
		p.planFoot(f, s, y, notes)
		p.saturationBar(s, saturationBarAt(p, x0))
	}
	return &drawing{pageWidth, total, paint, out}
}
