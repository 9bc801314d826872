package figure

import (
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// The units of a step voltage, which reaches this package as volts over one metre.
var (
	voltPerMetre = unit{"V/m", 1, 0}
	voltPerFoot  = unit{"V/ft", cases.Foot, 0}
)

// aboveGround is the voltages along the ground's surface at one time.
type aboveGround struct {
	day        float64
	x          []float64 // [m]
	volts      []float64 // [V]
	step       []float64 // [V] over one metre, from there on
	most, from int       // places of the largest potential and of the start of the largest step
}

// surface draws the voltage along the ground's surface and, below it, the step
// voltage, on that day of the fields on which the largest step was.
func surface(f *folder, s style) (*drawing, error) {
	across_ := "x_m"
	switch f.c.View {
	case cases.Section:
	case cases.Axisymmetric:
		across_ = "r_m"
	default:
		return nil, fmt.Errorf("the view is a plan: %w", errNothing)
	}
	if len(f.c.Electrodes) == 0 {
		return nil, fmt.Errorf("the case has no electrodes: %w", errNothing)
	}
	in, err := f.readTable("surface.csv")
	if err != nil {
		return nil, err
	}
	cols, err := in.columns("time_d", across_, "potential_V", "step_V_per_m")
	if err != nil {
		return nil, err
	}
	g := worstDay(cols).shown(f)
	if len(g.x) < 2 || !(g.x[0] < g.x[len(g.x)-1]) {
		return nil, fmt.Errorf("surface.csv: day %s has no two places: %w", short(g.day), errNothing)
	}
	out := &table{file: "surface.csv"}
	days := make([]float64, len(g.x))
	for i := range days {
		days[i] = g.day
	}
	out.add("time_d", days)
	out.add(across_, g.x)
	out.add("potential_V", g.volts)
	out.add("step_V_per_m", g.step)

	perLength := [2]unit{voltPerMetre, voltPerFoot}
	if s.length[0] == foot {
		perLength = [2]unit{voltPerFoot, voltPerMetre}
	}
	const high, low, lane = vg.Length(120), vg.Length(100), vg.Length(30)
	measure := &pen{fonts: s.fonts}
	letter := across_[:1]
	notes := append([]string{fmt.Sprintf("Screening only. RMS from the supply's neutral; a step is from %s to %s + 1 m.", letter, letter)},
		measure.wrap(body, sentence(f.c.SurfaceLeavesOut()), pageWidth-2*margin)...)
	notes = append(notes, measure.wrap(body, "Far from the electrodes the potential is what the ground has against a floating neutral: it need not be 0.", pageWidth-2*margin)...)
	notes = append(notes, "A qualified person measures on site before anyone enters.")
	total := headHeight + tickHeight + high + lane + low + tickHeight + vg.Length(len(notes)+1)*lineHeight + 16 + footHeight

	paint := func(p *pen) {
		p.heading(f, "Voltage along the ground surface", "day "+short(g.day), "surface")
		top := [2]vg.Length{p.Max.Y - headHeight - tickHeight}
		top[1] = top[0] - high - lane
		// Room above the largest for its label.
		yAxes := [2]axis{fromZero(0, 1.2*g.volts[g.most], 1), fromZero(0, 1.25*g.step[g.from], 0.5)}
		titles := [2]string{"V", "step, " + perLength[0].name}
		marks := [2][]tick{yAxes[0].ticks(plain, 5), yAxes[1].ticks(perLength[0], 4)}
		right := yAxes[1].ticks(perLength[1], 4)
		x0 := margin + max(p.room(marks[0], titles[0]), p.room(marks[1], titles[1]))
		x1 := p.Max.X - margin - p.room(right, perLength[1].name)
		xAxis := axis{lo: g.x[0], hi: g.x[len(g.x)-1]}
		if f.c.View == cases.Axisymmetric {
			xAxis.lo = 0
		}
		count := max(1, int((x1-x0)/40))
		var panels [2]panel
		for i, height := range [2]vg.Length{high, low} {
			panels[i] = panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top[i] - height}, Max: vg.Point{X: x1, Y: top[i]}}, x: xAxis, y: yAxes[i]}
		}
		strip := vg.Rectangle{Min: vg.Point{X: x0, Y: panels[1].Max.Y}, Max: vg.Point{X: x1, Y: panels[0].Min.Y}}
		stands, named := p.phaseMarks(f, panels[0], strip)
		for _, at := range stands {
			for _, q := range panels {
				p.stroke(line(grey(75), 0.6), vg.Point{X: at, Y: q.Min.Y}, vg.Point{X: at, Y: q.Max.Y})
			}
		}
		st := line(s.ramp.line(0.75), 1.8)
		for i, one := range []struct {
			y    []float64
			at   int
			text string
		}{{g.volts, g.most, short(g.volts[g.most]) + " V"}, {g.step, g.from, short(perLength[0].of(g.step[g.from])) + " " + perLength[0].name}} {
			q := panels[i]
			for _, l := range q.path(g.x, one.y) {
				p.stroke(st, l...)
			}
			tip := vg.Point{X: q.atX(g.x[one.at]), Y: q.atY(one.y[one.at])}
			p.dot(tip, 2.6)
			half := p.width(body, one.text)/2 + 3
			middle := max(q.Min.X+half, min(q.Max.X-half, tip.X))
			p.boxed(body, vg.Rectangle{Min: vg.Point{X: middle - half, Y: tip.Y + 4}, Max: vg.Point{X: middle + half, Y: tip.Y + 16}}, one.text)
			p.left(q, marks[i], "")
			p.turned(body, color.Black, margin+bodySize/2, (q.Min.Y+q.Max.Y)/2, titles[i])
			p.frame(thin, q.Rectangle)
		}
		p.right(panels[1], right, perLength[1].name)
		p.above(panels[0], xAxis.ticks(s.length[1], count), "")
		p.below(panels[1], xAxis.ticks(s.length[0], count), "")
		y := panels[1].Min.Y - tickHeight
		p.text(body, color.Black, margin, y, 0, 1, fmt.Sprintf("%s in %s, above in %s.", letter, s.length[0].name, s.length[1].name))
		phase, text := "", "electrode"
		if named {
			phase, text = "A", "electrode and its phase"
		}
		p.keys([]key{{func(r vg.Rectangle) { p.phaseMark(r.Min.Add(r.Max).Scale(0.5), phase) }, text}}, (x0+x1)/2, y-6, p.Max.X)
		for i, note := range notes {
			p.text(body, color.Black, margin, y-vg.Length(i+1)*lineHeight-8, 0, 1, note)
		}
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// sentence begins text with a capital and ends it with a point.
func sentence(text string) string {
	if text == "" || text[0] < 'a' || text[0] > 'z' {
		return text + "."
	}
	return string(text[0]-'a'+'A') + text[1:] + "."
}

// worstDay picks the day with the largest step voltage from the columns time, place,
// potential and step of surface.csv; without any, the first.
func worstDay(cols [][]float64) aboveGround {
	days, step := cols[0], cols[3]
	worst := 0
	for r, v := range step {
		if !bad(v) && v > 0 && (bad(step[worst]) || v > step[worst]) {
			worst = r
		}
	}
	from, to := worst, worst+1
	for from > 0 && days[from-1] == days[worst] {
		from--
	}
	for to < len(days) && days[to] == days[worst] {
		to++
	}
	return aboveGround{day: days[worst], x: cols[1][from:to], volts: cols[2][from:to], step: step[from:to]}
}

// shown leaves out the ends of a section where both voltages stay below 2 % of their
// largest, but for electrodes, and rows without numbers.
func (g aboveGround) shown(f *folder) aboveGround {
	out := aboveGround{day: g.day}
	for i := range g.x {
		if !bad(g.x[i]) && !bad(g.volts[i]) && !bad(g.step[i]) {
			out.x, out.volts, out.step = append(out.x, g.x[i]), append(out.volts, g.volts[i]), append(out.step, g.step[i])
		}
	}
	for i := range out.x {
		if out.volts[i] > out.volts[out.most] {
			out.most = i
		}
		if out.step[i] > out.step[out.from] {
			out.from = i
		}
	}
	if f.c.View == cases.Axisymmetric || len(out.x) == 0 || out.volts[out.most] <= 0 {
		return out
	}
	left, right := math.Inf(1), math.Inf(-1)
	for _, e := range f.c.Electrodes {
		b := f.electrodeBox(e)
		left, right = min(left, b.left-1), max(right, b.right+1)
	}
	const least = 0.02
	flat := func(i int) bool {
		return (out.x[i] < left || out.x[i] > right) && out.volts[i] < least*out.volts[out.most] && out.step[i] < least*out.step[out.from]
	}
	a, b := 0, len(out.x)
	for a < out.most && a < out.from && flat(a+1) {
		a++
	}
	for b-1 > out.most && b-1 > out.from && flat(b-2) {
		b--
	}
	out.x, out.volts, out.step = out.x[a:b], out.volts[a:b], out.step[a:b]
	out.most, out.from = out.most-a, out.from-a
	return out
}

// phaseMarks marks where electrodes stand, in the strip between the panels, with their
// phases if there is room for all, and returns where on the page.
func (p *pen) phaseMarks(f *folder, q panel, strip vg.Rectangle) (at []vg.Length, named bool) {
	var places []float64 // [m]
	phases := map[float64]string{}
	for _, e := range f.c.Electrodes {
		x := e.X // 0 round an axis
		if x < q.x.lo || x > q.x.hi {
			continue
		}
		was, there := phases[x]
		switch {
		case !there:
			places, phases[x] = append(places, x), e.Phase
		case was != e.Phase:
			phases[x] = "" // elements of one bore on several phases
		}
	}
	slices.Sort(places)
	named = true
	for i, x := range places {
		at = append(at, q.atX(x))
		named = named && (i == 0 || at[i]-at[i-1] >= 17)
	}
	for i, x := range places {
		label := phases[x]
		if !named {
			label = ""
		}
		p.phaseMark(vg.Point{X: at[i], Y: (strip.Min.Y + strip.Max.Y) / 2}, label)
	}
	return at, named
}

// phaseMark is an electrode's mark with its phase in it, or narrow without.
func (p *pen) phaseMark(at vg.Point, phase string) {
	half := vg.Point{X: 3, Y: 8}
	if phase != "" {
		half.X = 8
	}
	p.electrodeMark(vg.Rectangle{Min: at.Sub(half), Max: at.Add(half)})
	p.text(body, color.Black, at.X, at.Y, 0.5, 0.5, phase)
}
