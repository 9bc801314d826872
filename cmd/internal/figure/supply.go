package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// supply draws power, voltage and the largest current of a rod against days, one
// panel each, with the limits in force.
func supply(f *folder, s style) (*drawing, error) {
	in, err := f.readTable("history.csv")
	if err != nil {
		return nil, err
	}
	cols, err := in.columns("time_d", "power_kW", "voltage_V", "current_max_A")
	if err != nil {
		return nil, err
	}
	days := cols[0]
	limits, err := planned(f.c, days)
	if err != nil {
		return nil, err
	}
	out := &table{file: "supply.csv"}
	out.add("time_d", days)
	names := []string{"power_kW", "voltage_V", "current_max_A"}
	for i, name := range names {
		out.add(name, cols[i+1])
	}
	for i, name := range []string{"power_limit_kW", "voltage_set_V", "current_limit_A"} {
		v := make([]float64, len(days))
		for r, d := range days {
			v[r] = limits.at(i, d)
		}
		out.add(name, v)
	}

	// Set power alone has neither voltage nor current.
	panels, title, notes := 3, "Power, voltage and largest rod current", []string{"kW: whole zone. V: RMS, phase to neutral.",
		"Lethal: guard live parts at 50 V or more (29 CFR 1910.303(g)(2)(i))."}
	if len(f.c.Heats) > 0 {
		notes[0] = "kW: whole zone, set power included. V: RMS, phase to neutral."
	}
	if len(f.c.Electrodes) == 0 && len(f.c.Heats) > 0 {
		panels, title, notes = 1, "Power", []string{"kW: all bodies of set power."}
	}
	const height, gap = vg.Length(92), vg.Length(10)
	total := headHeight + vg.Length(panels)*height + vg.Length(panels-1)*gap + tickHeight + vg.Length(len(notes)+1)*lineHeight + footHeight + 6
	titles := []string{"kW", "V", "A, one rod"}
	what := []string{"limit", "set", "limit"}

	paint := func(p *pen) {
		p.heading(f, title, daysRange(days), "supply")
		var axes [3]axis
		var marks [3][]tick
		var room, label vg.Length
		ends := make([][]endLabel, 3)
		off := [3]string{}
		for i := range panels {
			lo, hi, _ := bounds(cols[i+1])
			if math.IsInf(lo, 0) {
				lo, hi = 0, 0
			}
			// A limit far above what was used would press the line flat: then it
			// is told, not drawn.
			_, top, ok := bounds(limits.values[i])
			if ok && (top <= 3*hi || hi <= 0) {
				hi = max(hi, top)
			} else if ok {
				off[i] = fmt.Sprintf("limit %s, above", short(top))
			}
			least := 1.0
			if panels == 1 && hi > 0 {
				least = min(least, hi) // a rod of some watts
			}
			axes[i] = fromZero(lo, hi, least)
			marks[i] = axes[i].ticks(plain, 5)
			room = max(room, p.room(marks[i], titles[i]))
			last := limits.at(i, days[len(days)-1])
			if off[i] == "" && !math.IsNaN(last) {
				ends[i] = append(ends[i], endLabel{text: what[i] + " " + short(last), color: color.Black})
				label = max(label, p.width(body, ends[i][0].text))
			}
			label = max(label, p.width(body, "actual"))
		}
		x0, x1 := margin+room, p.Max.X-margin-label-14
		for i := range panels {
			top := p.Max.Y - headHeight - vg.Length(i)*(height+gap)
			q := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top - height}, Max: vg.Point{X: x1, Y: top}}, x: daysAxis(days), y: axes[i]}
			if off[i] == "" {
				for _, l := range limits.path(q, i) {
					p.clipped(q.Rectangle, line(color.Black, 1.1, 5, 3), l)
				}
			}
			st := line(s.ramp.line(0.75), 1.8)
			lines := q.path(days, cols[i+1])
			for _, l := range lines {
				p.stroke(st, l...)
			}
			if len(ends[i]) > 0 {
				ends[i][0].at = vg.Point{X: q.Max.X, Y: q.atY(limits.at(i, days[len(days)-1]))}
			}
			if len(lines) > 0 {
				l := lines[len(lines)-1]
				ends[i] = append(ends[i], endLabel{l[len(l)-1], "actual", st.Color, 1})
			}
			p.endLabels(ends[i], body, q.Max.X+13, q.Min.Y+7, q.Max.Y-5)
			if off[i] != "" {
				w := p.width(body, off[i])
				p.boxed(body, vg.Rectangle{Min: vg.Point{X: q.Min.X + 5, Y: q.Max.Y - 18}, Max: vg.Point{X: q.Min.X + 9 + w, Y: q.Max.Y - 3}}, off[i])
			}
			p.left(q, marks[i], "")
			p.turned(body, color.Black, margin+bodySize/2, (q.Min.Y+q.Max.Y)/2, titles[i])
			daysMarks := q.x.ticks(plain, across(q.Max.X-q.Min.X))
			if i == panels-1 {
				p.below(q, daysMarks, "days since power on")
			} else {
				for _, m := range daysMarks {
					x := q.atX(m.v)
					p.stroke(thin, vg.Point{X: x, Y: q.Min.Y}, vg.Point{X: x, Y: q.Min.Y + tickLength})
				}
			}
			p.frame(thin, q.Rectangle)
		}
		for i, note := range notes {
			p.text(body, color.Black, margin, footHeight+6+vg.Length(len(notes)-1-i)*lineHeight, 0, 0, note)
		}
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// plan holds the limits in force [kW, V, A] from each day of days on; NaN: none.
type plan struct {
	days   []float64
	values [3][]float64
	end    float64 // [d] last day of the history
}

// planned lists the supply's settings and their changes up to the last day.
func planned(c *cases.Case, days []float64) (*plan, error) {
	finite := func(v float64) float64 {
		if bad(v) {
			return math.NaN()
		}
		return v
	}
	const day = 86400.0
	power, voltage, current := c.Supply.PowerLimit, c.Supply.Voltage, c.Supply.CurrentLimit
	on := true
	l := &plan{end: days[len(days)-1]}
	add := func(at float64) {
		l.days = append(l.days, at)
		set := 0.0
		if on {
			set = c.Supply.PhaseVoltage(voltage) // as in history.csv
		}
		for i, v := range []float64{power / 1000, set, current} {
			l.values[i] = append(l.values[i], finite(v))
		}
	}
	add(min(0, days[0]))
	for _, ch := range c.Changes {
		at := ch.At / day
		if at < l.days[len(l.days)-1] {
			return nil, errors.New("the case's changes are not in order of time")
		}
		if at > l.end {
			break
		}
		if ch.PowerLimit != nil {
			power = *ch.PowerLimit
		}
		if ch.Voltage != nil {
			voltage = *ch.Voltage
		}
		if ch.CurrentLimit != nil {
			current = *ch.CurrentLimit
		}
		if ch.On != nil {
			on = *ch.On
		}
		add(at)
	}
	return l, nil
}

// at returns limit i on a day: the last set on it or before.
func (l *plan) at(i int, day float64) float64 {
	v := l.values[i][0]
	for n, d := range l.days {
		if d <= day {
			v = l.values[i][n]
		}
	}
	return v
}

// path returns limit i as steps on the page.
func (l *plan) path(q panel, i int) [][]vg.Point {
	var x, y []float64
	for n, d := range l.days {
		next := l.end
		if n+1 < len(l.days) {
			next = l.days[n+1]
		}
		x = append(x, d, next)
		y = append(y, l.values[i][n], l.values[i][n])
	}
	return q.path(x, y)
}
