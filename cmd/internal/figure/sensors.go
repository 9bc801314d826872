package figure

import (
	"fmt"
	"image/color"
	"strings"
	"unicode"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
	"soiljoule/materials"
)

// mostStrings is how many strings one page carries legibly.
const mostStrings = 6

// stringPanel is one panel of the sensors figure.
type stringPanel struct {
	title  string
	brief  string // for a narrow panel
	labels []string
	names  []string // columns of sensors.csv
}

// sensors draws temperature against days, a panel per string and a line per
// depth. Sensors with a single depth share one panel.
func sensors(f *folder, s style) (*drawing, error) {
	if len(f.c.Sensors) == 0 {
		return nil, fmt.Errorf("the case has no sensors: %w", errNothing)
	}
	in, err := f.readTable("sensors.csv")
	if err != nil {
		return nil, err
	}
	days, err := in.column("time_d")
	if err != nil {
		return nil, err
	}
	panels, left := stringPanels(f.c, s)
	out := &table{file: "sensors.csv"}
	out.add("time_d", days)
	var all [][]float64
	for _, q := range panels {
		cols, err := in.columns(q.names...)
		if err != nil {
			return nil, err
		}
		for i, col := range cols {
			out.add(q.names[i], col)
		}
		all = append(all, cols...)
	}
	target, hasTarget := firstTarget(f.c)
	range_ := all
	if hasTarget {
		range_ = append([][]float64{{target}}, all...)
	}
	lo, hi, ok := bounds(range_...)
	if !ok {
		return nil, fmt.Errorf("sensors.csv: no finite temperature: %w", errNothing)
	}
	y := widen(lo, hi, 5)

	most := 0
	for _, q := range panels {
		most = max(most, len(q.labels))
	}
	columns := 1
	height := vg.Length(200)
	if len(panels) > 1 {
		height = 118
	}
	if len(panels) > 3 {
		columns = 2
	}
	height = max(height, vg.Length(most)*bodySize*1.08+6)
	rows := (len(panels) + columns - 1) / columns
	const titleHeight, gap = vg.Length(20), vg.Length(10)
	total := headHeight + vg.Length(rows)*(titleHeight+height) + tickHeight + lineHeight + f.datesHeight() + footHeight
	var notes []string
	if hasTarget {
		notes = append(notes, "thin line: target, "+s.temperature2(target))
	}
	if left != "" {
		notes = append(notes, left)
	}
	total += vg.Length(len(notes)) * lineHeight

	paint := func(p *pen) {
		p.heading(f, "Temperature at the sensors", daysRange(days), "sensors")
		marks := [2][]tick{y.ticks(s.temperature[0], along(height)), y.ticks(s.temperature[1], along(height))}
		titles := [2]string{"temperature (" + s.temperature[0].name + ")", s.temperature[1].name}
		x0 := margin + p.room(marks[0], titles[0])
		x1 := p.Max.X - margin - p.room(marks[1], titles[1])
		width := (x1 - x0 - vg.Length(columns-1)*gap) / vg.Length(columns)
		for n, sp := range panels {
			row, col := n/columns, n%columns
			top := p.Max.Y - headHeight - titleHeight - vg.Length(row)*(titleHeight+height)
			at := x0 + vg.Length(col)*(width+gap)
			q := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: at, Y: top - height}, Max: vg.Point{X: at + width, Y: top}}, x: daysAxis(days), y: y}
			var room vg.Length
			for _, l := range sp.labels {
				room = max(room, p.width(body, l))
			}
			room += 18
			lastDay := q.x.hi
			q.x.hi = q.x.lo + (q.x.hi-q.x.lo)*float64(width/(width-room))
			title := sp.title
			if p.width(bodyBold, title) > width {
				title = p.fit(bodyBold, sp.brief, width)
			}
			p.text(bodyBold, color.Black, at, top+5, 0, 0, title)
			if hasTarget {
				ty := q.atY(target)
				p.stroke(line(grey(35), 0.8), vg.Point{X: q.Min.X, Y: ty}, vg.Point{X: q.atX(lastDay), Y: ty})
			}
			cols, _ := out.columns(sp.names...)
			var ends []endLabel
			for i, v := range cols {
				part := 1.0
				if len(cols) > 1 {
					part = float64(i) / float64(len(cols)-1)
				}
				st := line(s.ramp.line(part), 1.6, dashes(i)...)
				lines := q.path(days, v)
				for _, l := range lines {
					p.stroke(st, l...)
				}
				if len(lines) > 0 {
					last := lines[len(lines)-1]
					ends = append(ends, endLabel{last[len(last)-1], sp.labels[i], st.Color, i})
				}
			}
			p.endLabels(ends, body, q.Max.X-room+12, q.Min.Y+7, q.Max.Y-7)
			if col == 0 {
				p.left(q, marks[0], titles[0])
			}
			if col == columns-1 || n == len(panels)-1 {
				p.right(q, marks[1], titles[1])
			}
			if n+columns >= len(panels) {
				xTitle := ""
				if row == rows-1 { // the panel above an empty place keeps its ticks only
					xTitle = "days since power on"
				}
				marks := axis{lo: q.x.lo, hi: lastDay}.ticks(plain, across(width-room))
				if xTitle == "" {
					p.below(q, marks, "")
				} else {
					p.belowDays(q, marks, xTitle, f.c.Time.PowerOn)
				}
			}
			p.frame(thin, q.Rectangle)
		}
		for i, note := range notes {
			p.text(body, color.Black, margin, footHeight+4+vg.Length(len(notes)-1-i)*lineHeight, 0, 0, p.fit(body, note, p.Max.X-2*margin))
		}
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// stringPanels arranges the sensors in panels; left names those that do not fit.
func stringPanels(c *cases.Case, s style) (panels []stringPanel, left string) {
	across := "x"
	if c.View == cases.Axisymmetric {
		across = "r"
	}
	var single stringPanel
	var alone cases.Sensor
	for _, sensor := range c.Sensors {
		if len(sensor.Labels) == 1 {
			alone = sensor
			single.labels = append(single.labels, printable(sensor.Labels[0]))
			single.names = append(single.names, sensor.Labels[0]+"_C")
			continue
		}
		q := stringPanel{
			title: fmt.Sprintf("%s, %s = %s", printable(sensor.Name), across, s.length2(sensor.X)),
			brief: fmt.Sprintf("%s, %s = %s %s", printable(sensor.Name), across, short(s.length[0].of(sensor.X)), s.length[0].name),
		}
		for _, l := range sensor.Labels {
			q.labels = append(q.labels, depthLabel(l))
			q.names = append(q.names, l+"_C")
		}
		panels = append(panels, q)
	}
	if len(single.names) > 0 {
		single.title = "single sensors"
		if len(single.names) == 1 {
			second := "y = " + s.length2(alone.Y)
			if c.View != cases.Plan {
				second = "depth " + s.length2(alone.Depths[0])
			}
			single.title = fmt.Sprintf("%s, %s = %s, %s", single.labels[0], across, s.length2(alone.X), second)
		}
		single.brief = single.title
		panels = append(panels, single)
	}
	if len(panels) > mostStrings {
		var names []string
		for _, q := range panels[mostStrings:] {
			name, _, _ := strings.Cut(q.title, ",")
			names = append(names, name)
		}
		left = "not drawn: " + strings.Join(names, ", ")
		panels = panels[:mostStrings]
	}
	return panels, left
}

// depthLabel turns a sensor's label into its depth as written: "T1@10.5ft" into
// "10.5 ft".
func depthLabel(label string) string {
	depth := label[strings.LastIndexByte(label, '@')+1:]
	var b strings.Builder
	var before rune
	for _, r := range printable(depth) {
		if unicode.IsLetter(r) != unicode.IsLetter(before) && before != 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
		before = r
	}
	return b.String()
}

// firstTarget returns the first target's temperature [°C], if it is one number.
func firstTarget(c *cases.Case) (float64, bool) {
	if len(c.Targets) == 0 || c.Targets[0].Boiling || bad(c.Targets[0].Temperature) {
		return 0, false
	}
	return c.Targets[0].Temperature - kelvin, true
}

// kelvin is 0 °C [K].
const kelvin = materials.Celsius
