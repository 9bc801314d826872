package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// load is one quantity of the supply against days, with its limit.
type load struct {
	name, limit string // columns of the figure's table; "": no limit
	title       string // of the axis
	what        string // the limit's label
	label       string // the curve's own
	x, y        []float64
	// Drawn behind: the metered power that is followed, by its own rows.
	besideX, besideY []float64
	plan             int     // which limit of the plan; -1: none
	scale            float64 // from the column's unit to the axis's
}

// supply draws power, voltage and the largest current of a rod against days, one
// panel each, with the limits in force; what is set has a panel of its own, as no
// limit of the supply holds it.
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
	curves := []load{
		{name: "power_kW", limit: "power_limit_kW", title: "kW", what: "limit", label: "actual", x: days, y: cols[1], plan: 0, scale: 1},
		{name: "voltage_V", limit: "voltage_set_V", title: "V", what: "set", label: "actual", x: days, y: cols[2], plan: 1, scale: 1},
		{name: "current_max_A", limit: "current_limit_A", title: "A, one rod", what: "limit", label: "actual", x: days, y: cols[3], plan: 2, scale: 1},
	}
	if kVA, err := in.column("apparent_kVA"); err == nil {
		curves = append(curves, load{name: "apparent_kVA", limit: "kva_limit_kVA", title: "kVA", what: "limit", label: "actual", x: days, y: kVA, plan: 3, scale: 1})
	}
	for _, c := range curves {
		out.add(c.name, c.y)
	}
	for _, c := range curves {
		v := make([]float64, len(days))
		for r, d := range days {
			v[r] = limits.at(c.plan, d)
		}
		out.add(c.limit, v)
	}

	var metered []float64
	if d := f.c.Delivered(); d != nil {
		metered = make([]float64, len(days))
		for r, t := range days {
			metered[r] = d.At(t*day) / 1e3
		}
		out.add("metered_kW", metered)
		curves[0].label = "at steps"
		curves[0].besideX, curves[0].besideY = setRows(d, days[0], days[len(days)-1])
	}
	switched(curves, limits, metered)
	held, err := f.heldBy()
	if err != nil {
		return nil, err
	}

	title, notes := "Power, voltage and largest rod current", []string{"kW: whole zone. V: RMS, phase to neutral.",
		"Lethal: guard live parts at 50 V or more (29 CFR 1910.303(g)(2)(i))."}
	if f.c.Delivered() != nil {
		notes[0] = "kW: whole zone, metered in grey. V: RMS, phase to neutral."
	}
	if set := f.c.SetPower(); set != nil {
		own := load{name: "set_power_kW", title: "kW, set", label: "set power", plan: -1, scale: 1}
		first, last := days[0], days[len(days)-1]
		own.x, own.y = setRows(set, first, last)
		own.x[0], own.x[len(own.x)-1] = first, last // to the last digit
		curves = append(curves, own)
		notes[0] = "kW: whole zone, set power apart. V: RMS, phase to neutral."
		if len(f.c.Electrodes) == 0 { // neither voltage nor current
			curves = []load{own}
			title, notes = "Set power", []string{"All bodies of set power, as their rows give it."}
		}
		out = withSet(out, own, set)
	}
	if len(f.c.Electrodes) > 0 {
		if f.c.Supply.VoltageBasis == "phase to phase" {
			notes = append(notes, fmt.Sprintf("Phase to phase, as the case has it: %.4g times as many V.", f.c.Supply.BetweenPhases(1)))
		}
		held, err := f.holders()
		if err != nil {
			return nil, err
		}
		notes = append(notes, held...)
	}
	for i := range curves {
		c := &curves[i]
		_, hi, _ := bounds(c.y, c.besideY)
		if strings.HasPrefix(c.title, "kW") && hi > 0 && hi < 1 {
			c.title, c.scale = "W"+c.title[len("kW"):], 1e3
		}
	}
	panels := len(curves)
	const height, gap = vg.Length(92), vg.Length(10)
	strip := held.height()
	total := headHeight + strip + vg.Length(panels)*height + vg.Length(panels-1)*gap + tickHeight + f.datesHeight() + vg.Length(len(notes)+1)*lineHeight + footHeight + 6

	paint := func(p *pen) {
		p.heading(f, title, daysRange(days), "supply")
		axes := make([]axis, panels)
		marks := make([][]tick, panels)
		var room, label vg.Length
		ends := make([][]endLabel, panels)
		off := make([]string, panels)
		values := make([][]float64, panels)
		for i, c := range curves {
			values[i] = scaled(c.y, c.scale)
			lo, hi, _ := bounds(values[i], scaled(c.besideY, c.scale))
			if math.IsInf(lo, 0) {
				lo, hi = 0, 0
			}
			last := math.NaN()
			if c.plan >= 0 {
				// A limit far above what was used would press the line flat: then it
				// is told, not drawn.
				_, top, ok := bounds(scaled(limits.values[c.plan], c.scale))
				if ok && (top <= 3*hi || hi <= 0) {
					hi = max(hi, top)
				} else if ok {
					off[i] = fmt.Sprintf("limit %s, above", short(top))
				}
				last = c.scale * limits.at(c.plan, days[len(days)-1])
			}
			least := 1.0
			if c.scale > 1 {
				least = min(least, hi) // some milliwatts
			}
			axes[i] = fromZero(lo, hi, least)
			marks[i] = axes[i].ticks(plain, 5)
			room = max(room, p.room(marks[i], c.title))
			if off[i] == "" && !math.IsNaN(last) {
				ends[i] = append(ends[i], endLabel{text: c.what + " " + short(last), color: color.Black})
				label = max(label, p.width(body, ends[i][0].text))
			}
			label = max(label, p.width(body, c.label))
		}
		label = max(label, held.width(p))
		x0, x1 := margin+room, p.Max.X-margin-label-14
		held.draw(p, x0, x1, daysAxis(days), s.ramp.line(0.5))
		for i, c := range curves {
			top := p.Max.Y - headHeight - strip - vg.Length(i)*(height+gap)
			q := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top - height}, Max: vg.Point{X: x1, Y: top}}, x: daysAxis(days), y: axes[i]}
			if c.plan >= 0 && off[i] == "" {
				for _, l := range limits.path(q, c.plan, c.scale) {
					p.clipped(q.Rectangle, line(color.Black, 1.1, 5, 3), l)
				}
			}
			for _, l := range q.path(c.besideX, scaled(c.besideY, c.scale)) {
				p.clipped(q.Rectangle, line(grey(60), 0.8), l)
			}
			st := line(s.ramp.line(0.75), 1.8)
			lines := q.path(c.x, values[i])
			for _, l := range lines {
				p.stroke(st, l...)
			}
			if len(ends[i]) > 0 {
				ends[i][0].at = vg.Point{X: q.Max.X, Y: q.atY(c.scale * limits.at(c.plan, days[len(days)-1]))}
			}
			if len(lines) > 0 {
				l := lines[len(lines)-1]
				ends[i] = append(ends[i], endLabel{l[len(l)-1], c.label, st.Color, 1})
			}
			p.endLabels(ends[i], body, q.Max.X+13, q.Min.Y+7, q.Max.Y-5)
			if off[i] != "" {
				w := p.width(body, off[i])
				p.boxed(body, vg.Rectangle{Min: vg.Point{X: q.Min.X + 5, Y: q.Max.Y - 18}, Max: vg.Point{X: q.Min.X + 9 + w, Y: q.Max.Y - 3}}, off[i])
			}
			p.left(q, marks[i], "")
			p.turned(body, color.Black, margin+bodySize/2, (q.Min.Y+q.Max.Y)/2, c.title)
			daysMarks := q.x.ticks(plain, across(q.Max.X-q.Min.X))
			if i == panels-1 {
				p.belowDays(q, daysMarks, "days since power on", f.c.Time.PowerOn)
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

// scaled returns values in another unit.
func scaled(v []float64, by float64) []float64 {
	if by == 1 {
		return v
	}
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = by * x
	}
	return out
}

const day = 86400.0 // [s]

// mostSet is how many parts of time a set power is drawn in: more than a page has
// dots across. Of a part with more rows, the first, least, largest and last are drawn.
const mostSet = 2000

// setRows returns a set power [kW] between two days by its own rows, so that no pulse
// is lost between steps.
func setRows(set *cases.SetPower, from, to float64) (days, kilowatts []float64) {
	rows := set.Rows(from*day, to*day)
	add := func(r cases.PowerPoint) {
		days, kilowatts = append(days, r.Time/day), append(kilowatts, r.Power/1e3)
	}
	if len(rows) <= 4*mostSet {
		for _, r := range rows {
			add(r)
		}
		return days, kilowatts
	}
	part := func(r cases.PowerPoint) int { return int(mostSet * (r.Time/day - from) / (to - from)) }
	for i := 0; i < len(rows); {
		low, high, j := i, i, i
		for ; j < len(rows) && part(rows[j]) == part(rows[i]); j++ {
			if rows[j].Power < rows[low].Power {
				low = j
			}
			if rows[j].Power > rows[high].Power {
				high = j
			}
		}
		last := -1
		for _, k := range []int{i, min(low, high), max(low, high), j - 1} {
			if k > last {
				add(rows[k])
				last = k
			}
		}
		i = j
	}
	return days, kilowatts
}

// withSet adds the set power to the table of the history: rows of its own where it
// turns, in which the history's columns are empty.
func withSet(of *table, own load, set *cases.SetPower) *table {
	days := of.cols[0]
	out := &table{file: of.file}
	for _, name := range of.names {
		out.add(name, nil)
	}
	out.add(own.name, nil)
	row := func(d float64, from int) {
		for c := range of.cols {
			v := math.NaN()
			if from >= 0 {
				v = of.cols[c][from]
			}
			out.cols[c] = append(out.cols[c], v)
		}
		n := len(of.cols)
		out.cols[0][len(out.cols[0])-1] = d
		out.cols[n] = append(out.cols[n], set.At(d*day)/1e3)
	}
	for i, j := 0, 0; i < len(days) || j < len(own.x); {
		if i < len(days) && (j == len(own.x) || days[i] <= own.x[j]) {
			if j < len(own.x) && own.x[j] == days[i] {
				j++
			}
			row(days[i], i)
			i++
			continue
		}
		row(own.x[j], -1)
		j++
	}
	return out
}

// plan holds the limits in force [kW, V, A, kVA] from each day of days on; NaN: none.
type plan struct {
	days   []float64
	own    []float64 // [d] on which single electrodes are switched or set
	values [4][]float64
	end    float64 // [d] last day of the history
}

// planned lists the supply's settings and their changes up to the last day, and when
// single electrodes have changes.
func planned(c *cases.Case, days []float64) (*plan, error) {
	finite := func(v float64) float64 {
		if bad(v) {
			return math.NaN()
		}
		return v
	}
	l := &plan{end: days[len(days)-1]}
	for i := range c.Changes {
		if ch := &c.Changes[i]; ch.Electrode != "" {
			l.own = append(l.own, ch.At/day)
		}
	}
	slices.Sort(l.own)
	for i, s := range c.Settings() {
		at := s.At / day
		switch {
		case i == 0:
			at = min(0, days[0])
		case at < l.days[len(l.days)-1]:
			return nil, errors.New("the case's changes are not in order of time")
		case at > l.end:
			return l, nil
		}
		l.days = append(l.days, at)
		if !s.On || s.Outage {
			s.Voltage = 0
		}
		if s.ApparentLimit == 0 {
			s.ApparentLimit = math.NaN()
		}
		for i, v := range []float64{s.PowerLimit / 1000, s.Voltage, s.CurrentLimit, s.ApparentLimit / 1000} {
			l.values[i] = append(l.values[i], finite(v))
		}
	}
	return l, nil
}

// at returns limit i on a day: the last set on it or before.
func (l *plan) at(i int, day float64) float64 {
	n := sort.Search(len(l.days), func(n int) bool { return l.days[n] > day })
	return l.values[i][max(0, n-1)]
}

// among says whether a day, as the history has it in 12 digits, is one of days, which
// rise.
func among(days []float64, day float64) bool {
	n := sort.SearchFloat64s(days, day*(1-1e-11))
	return n < len(days) && days[n] <= day*(1+1e-11)
}

// path returns limit i, in the unit of the axis, as steps on the page.
func (l *plan) path(q panel, i int, scale float64) [][]vg.Point {
	var x, y []float64
	for n, d := range l.days {
		next := l.end
		if n+1 < len(l.days) {
			next = l.days[n+1]
		}
		x = append(x, d, next)
		y = append(y, scale*l.values[i][n], scale*l.values[i][n])
	}
	return q.path(x, y)
}
