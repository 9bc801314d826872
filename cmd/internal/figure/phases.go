package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// phaseCount is a phase and how many rods of the picture stand on it.
type phaseCount struct {
	phase string
	rods  int
}

// phaseLegend counts the rods of each phase.
func (f *folder) phaseLegend(rods []siteRod) []phaseCount {
	var out []phaseCount
	for _, one := range f.c.PhaseCounts() {
		n := phaseCount{phase: one.Phase}
		for _, r := range rods {
			if r.e.Phase == one.Phase && r.n == 0 {
				n.rods += r.of
			}
		}
		out = append(out, n)
	}
	return out
}

// legendRows is how many lines the legend takes.
func (f *folder) legendRows(list []phaseCount) int {
	rows := len(list) + 2
	if l, _ := f.flowing(); l != nil {
		rows += 5
	}
	return rows
}

// legend names the marks of the phases, gives the plan's scale [pt/m] and tells where
// groundwater flows.
func (p *pen) legend(f *folder, s style, x, top vg.Length, scale float64, list []phaseCount) {
	y := top - 8
	for _, one := range list {
		p.phaseShape(one.phase, vg.Point{X: x + 6, Y: y}, 5)
		name := "phase " + one.phase
		if one.phase == "N" {
			name = "neutral"
		}
		p.text(body, color.Black, x+17, y, 0, 0.5, fmt.Sprintf("%s: %d", name, one.rods))
		y -= lineHeight
	}
	u := s.length[0]
	most := 80 / scale * u.factor // the bar's length at most, in the first unit
	length := step(most, 1)
	if length > most {
		length = step(most/2, 1)
		if length > most {
			length /= 2
		}
	}
	w := vg.Length(length / u.factor * scale)
	y -= 6
	p.stroke(line(color.Black, 2), vg.Point{X: x, Y: y}, vg.Point{X: x + w, Y: y})
	for _, at := range []vg.Length{x, x + w} {
		p.stroke(thin, vg.Point{X: at, Y: y - 4}, vg.Point{X: at, Y: y + 4})
	}
	p.text(body, color.Black, x, y-8, 0, 1, short(length)+" "+u.name)
	if l, to := f.flowing(); l != nil {
		y -= 3 * lineHeight
		p.flowArrow(vg.Point{X: x + 13, Y: y - 2}, to)
		room := p.Max.X - margin - x
		p.text(body, color.Black, x+33, y-2, 0, 0.5, p.fit(body, "groundwater", room-33))
		u := s.pair(metre, foot)[0]
		p.text(body, color.Black, x, y-lineHeight-2, 0, 0.5, short(u.of(math.Abs(l.Groundwater)*day))+" "+u.name+"/d")
		p.text(body, color.Black, x, y-2*lineHeight-2, 0, 0.5, p.fit(body, "in "+printable(l.Name), room))
	}
}

// phaseShape is the mark of an electrode on a phase, told apart by shape and filling.
func (p *pen) phaseShape(phase string, at vg.Point, half vg.Length) {
	corners := map[string]int{"A": 0, "B": 4, "C": 3, "D": 0, "E": 4, "F": 3, "N": 0}[phase]
	fill := map[string]color.Color{"A": color.Black, "B": color.White, "C": grey(60), "D": color.White, "E": color.Black, "F": color.White, "N": color.White}[phase]
	path := vg.Path{}
	if corners == 0 {
		path.Move(at.Add(vg.Point{X: half}))
		path.Arc(at, half, 0, 2*math.Pi)
	} else {
		turn, reach := math.Pi/4, half*1.2
		if corners == 3 {
			turn, reach = math.Pi/2, half*1.35
		}
		for i := range corners {
			sin, cos := math.Sincos(turn + 2*math.Pi*float64(i)/float64(corners))
			c := at.Add(vg.Point{X: reach * vg.Length(cos), Y: reach * vg.Length(sin)})
			if i == 0 {
				path.Move(c)
			} else {
				path.Line(c)
			}
		}
	}
	path.Close()
	p.SetColor(fill)
	p.Fill(path)
	p.SetLineStyle(line(color.Black, 1))
	p.Stroke(path)
	if phase == "N" {
		d := half * 0.7
		p.stroke(line(color.Black, 1), at.Add(vg.Point{X: -d, Y: -d}), at.Add(vg.Point{X: d, Y: d}))
		p.stroke(line(color.Black, 1), at.Add(vg.Point{X: -d, Y: d}), at.Add(vg.Point{X: d, Y: -d}))
	}
}
