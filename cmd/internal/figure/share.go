package figure

import (
	"fmt"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// share draws the percent of each target's volume at or above its temperature
// against days: the first target from every step, others at the saved fields.
func share(f *folder, s style) (*drawing, error) {
	if len(f.c.Targets) == 0 {
		return nil, fmt.Errorf("the case has no target: %w", errNothing)
	}
	in, err := f.readTable("history.csv")
	if err != nil {
		return nil, err
	}
	cols, err := in.columns("time_d", "share_at_target")
	if err != nil {
		return nil, err
	}
	var sum summary
	if err := f.readJSON("summary.json", &sum); err != nil {
		return nil, err
	}
	days := cols[0]
	first := percent(cols[1])
	if _, _, ok := bounds(first); !ok {
		return nil, fmt.Errorf("history.csv: no finite share_at_target: %w", errNothing)
	}
	out := &table{file: "share.csv"}
	out.add("time_d", days)
	out.add("share_1_percent", first)

	// Other targets have rows of their own, at the times of the saved fields: in
	// any row the cells of the other kind stay empty.
	others, at, err := f.otherShares()
	if err != nil {
		return nil, err
	}
	if len(others) > 0 {
		blank := make([]float64, len(at))
		for i := range blank {
			blank[i] = math.NaN()
		}
		merged := &table{file: out.file}
		merged.add("time_d", append(append([]float64(nil), days...), at...))
		merged.add("share_1_percent", append(append([]float64(nil), first...), blank...))
		for n, o := range others {
			empty := make([]float64, len(days))
			for i := range empty {
				empty[i] = math.NaN()
			}
			merged.add(fmt.Sprintf("share_%d_percent", n+2), append(empty, o...))
		}
		out = merged
	}

	const height = vg.Length(225)
	total := headHeight + height + tickHeight + lineHeight + f.datesHeight() + footHeight + 8
	t := f.c.Targets[0]
	title := "Share of the target at its temperature"
	many := len(f.c.Targets) > 1
	if v, ok := firstTarget(f.c); ok {
		title = "Share of the target at " + s.temperature2(v) + " or above"
	} else if t.Boiling {
		title = "Share of the target at its boiling point"
	}
	if many {
		title = "Share of each target at its temperature"
	}

	paint := func(p *pen) {
		p.heading(f, title, daysRange(days), "share")
		q := panel{x: daysAxis(days), y: axis{lo: 0, hi: 112}}
		marks := []tick{}
		for v := 0.0; v <= 100; v += 20 {
			marks = append(marks, tick{v, number(v, 20)})
		}
		axisTitle := "share of the volume (%)"
		const widest = vg.Length(110)
		var names []string
		var room vg.Length
		for _, o := range f.c.Targets {
			name, own := printable(o.Name), ""
			if many {
				own = s.targetTemperature(o)
				name += ","
			}
			name, own = p.fit(body, name, widest), p.fit(body, own, widest)
			room = max(room, p.width(body, name), p.width(body, own))
			if many {
				name += "\n" + own
			}
			names = append(names, name)
		}
		room += 14
		q.Rectangle = vg.Rectangle{
			Min: vg.Point{X: margin + p.room(marks, axisTitle), Y: p.Max.Y - headHeight - height},
			Max: vg.Point{X: p.Max.X - margin - room, Y: p.Max.Y - headHeight},
		}
		p.left(q, marks, axisTitle)
		p.belowDays(q, q.x.ticks(plain, across(q.Max.X-q.Min.X)), "days since power on", f.c.Time.PowerOn)

		type threshold struct {
			level float64
			day   *float64
			own   bool
		}
		list := []threshold{{50, sum.Days50, false}, {90, sum.Days90, false}, {100, sum.Days100, false}}
		own := 100 * t.Share
		found := false
		for i := range list {
			if math.Abs(list[i].level-own) < 0.05 {
				list[i].own, found = true, true
			}
		}
		if !found && own > 0 && own < 100 {
			list = append(list, threshold{own, sum.DaysToTarget, true})
		}
		for _, h := range list {
			st := line(grey(45), 0.7, 4, 3)
			if h.own {
				st = line(color.Black, 1.2, 4, 3)
			}
			p.stroke(st, vg.Point{X: q.Min.X, Y: q.atY(h.level)}, vg.Point{X: q.Max.X, Y: q.atY(h.level)})
		}

		var ends []endLabel
		main := line(s.ramp.line(0.95), 2.2)
		for _, l := range q.path(days, first) {
			p.stroke(main, l...)
			ends = append(ends[:0], endLabel{l[len(l)-1], names[0], main.Color, 0})
		}
		for n, o := range others {
			st := line(s.ramp.line(0.2+0.3*float64(n%2)), 1.6, dashes(n+1)...)
			var last *vg.Point
			for _, l := range q.path(at, o) {
				p.stroke(st, l...)
				for _, c := range l {
					p.fill(st.Color, vg.Rectangle{Min: c.Sub(vg.Point{X: 2, Y: 2}), Max: c.Add(vg.Point{X: 2, Y: 2})})
				}
				last = &l[len(l)-1]
			}
			if last != nil {
				ends = append(ends, endLabel{*last, names[n+1], st.Color, n + 1})
			}
		}
		p.endLabels(ends, body, q.Max.X+13, q.Min.Y+7, q.Max.Y-7)

		for _, h := range list {
			if h.day != nil {
				p.dot(vg.Point{X: q.atX(*h.day), Y: q.atY(h.level)}, 3)
			}
		}
		// The target's own share is named first, so that it has the best place.
		sort.SliceStable(list, func(i, j int) bool { return list[i].own && !list[j].own })
		var taken []vg.Rectangle
		for _, h := range list {
			if h.day != nil {
				c := vg.Point{X: q.atX(*h.day), Y: q.atY(h.level)}
				taken = append(taken, vg.Rectangle{Min: c.Sub(vg.Point{X: 3, Y: 3}), Max: c.Add(vg.Point{X: 3, Y: 3})})
			}
		}
		var lines []vg.Point
		for _, l := range q.path(days, first) {
			lines = append(lines, resample(l, 3)...)
		}
		ofFirst := len(lines) // up to here the first target's
		var levels []float64
		for _, h := range list {
			levels = append(levels, h.level)
		}
		for _, o := range others {
			for _, l := range q.path(at, o) {
				lines = append(lines, resample(l, 3)...)
			}
		}
		for _, h := range list {
			f, text := body, " %: not reached"
			if h.own {
				f = bodyBold
			}
			cross := q.Max.X
			if h.day != nil {
				text = " %: day " + short(*h.day)
				cross = q.atX(*h.day)
			}
			text = short(h.level) + text
			rows := [][]string{{text}}
			if many {
				// Whose it is; in two rows if it is too long for one.
				name := p.fit(f, printable(t.Name), 100) + ","
				rows = [][]string{{name + " " + text}, {name, text}, {name + " " + text}}
			}
			for n, row := range rows {
				// The last time over the other targets' curves.
				over := lines
				if n == 2 {
					over = lines[:ofFirst]
				}
				if p.threshold(f, row, q, h.level, cross, over, levels, &taken) {
					break
				}
			}
		}
		p.frame(thin, q.Rectangle)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// threshold writes the rows of a label at the line of a level where they hide
// neither a point of lines nor a box taken, and takes that place; it reports
// false if there is none.
func (p *pen) threshold(f face, rows []string, q panel, level float64, cross vg.Length, lines []vg.Point, levels []float64, taken *[]vg.Rectangle) bool {
	const pitch = vg.Length(14)
	var w vg.Length
	for _, s := range rows {
		w = max(w, p.width(f, s))
	}
	h := pitch * vg.Length(len(rows)) / 2
	y := q.atY(level)
	above, below := y+2+h, y-2-h
	// Before the crossing above the line, after it below, where the curve is
	// not; then the other way round. Over another threshold's line if need be,
	// never over a curve or a label.
	places := []vg.Point{{X: q.Min.X + 5, Y: above}, {X: cross + 10, Y: below}, {X: q.Max.X - w - 5, Y: above}, {X: q.Min.X + 5, Y: below}}
	for try := range 2 * len(places) {
		at := places[try%len(places)]
		r := vg.Rectangle{Min: vg.Point{X: at.X - 2, Y: at.Y - h}, Max: vg.Point{X: at.X + w + 2, Y: at.Y + h}}
		free := r.Min.X >= q.Min.X && r.Max.X <= q.Max.X && r.Min.Y >= q.Min.Y && r.Max.Y <= q.Max.Y
		for _, o := range *taken {
			free = free && !overlap(r, o, 0)
		}
		for _, c := range lines {
			free = free && !overlap(r, vg.Rectangle{Min: c, Max: c}, 2)
		}
		for _, v := range levels {
			o := vg.Rectangle{Min: vg.Point{X: q.Min.X, Y: q.atY(v)}, Max: vg.Point{X: q.Max.X, Y: q.atY(v)}}
			free = free && (try >= len(places) || !overlap(r, o, 0))
		}
		if !free {
			continue
		}
		*taken = append(*taken, r)
		for i, s := range rows {
			top := r.Max.Y - pitch*vg.Length(i)
			p.boxed(f, vg.Rectangle{Min: vg.Point{X: r.Min.X, Y: top - pitch}, Max: vg.Point{X: r.Min.X + p.width(f, s) + 4, Y: top}}, s)
		}
		return true
	}
	return false
}

func percent(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = 100 * v[i]
	}
	return out
}

// targetTemperature writes what a target has to reach.
func (s style) targetTemperature(t cases.Target) string {
	if t.Boiling {
		return "boiling"
	}
	return s.temperature2(t.Temperature - kelvin)
}

// otherShares returns the percent of the second and later targets' volumes at or
// above their temperatures at the saved fields, whose days it returns as well.
func (f *folder) otherShares() (shares [][]float64, days []float64, err error) {
	if len(f.c.Targets) < 2 {
		return nil, nil, nil
	}
	g, err := f.readGrid()
	if err != nil {
		return nil, nil, err
	}
	saved, err := f.temperatures()
	if err != nil {
		return nil, nil, err
	}
	boil, err := f.boiling(g)
	if err != nil {
		return nil, nil, err
	}
	start := boil
	shares = make([][]float64, len(f.c.Targets)-1)
	for _, e := range saved {
		v, err := f.readField(e.File, g)
		if err != nil {
			return nil, nil, err
		}
		days = append(days, *e.Days)
		boil = f.boilingOn(g, start, *e.Days)
		for n, t := range f.c.Targets[1:] {
			weigh := f.weights(t, g)
			var all, hot float64
			for k := range g.zc {
				for i := range g.xc {
					part := weigh(i, k)
					if part == 0 {
						continue
					}
					all += part
					cell := k*len(g.xc) + i
					limit := t.Temperature - kelvin
					if t.Boiling {
						limit = math.NaN()
						if boil != nil {
							limit = boil[cell]
						}
					}
					// A boiling cell holds its boiling point to round-off.
					if v[cell] >= limit-1e-6 {
						hot += part
					}
				}
			}
			shares[n] = append(shares[n], 100*hot/all) // NaN, so a gap, for a target outside the mesh
		}
	}
	return shares, days, nil
}
