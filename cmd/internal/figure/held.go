package figure

import (
	"encoding/csv"
	"errors"
	"fmt"
	"image/color"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// heldNames are what may hold or drive the supply, in the order drawn, and how they are
// called.
var heldNames = []struct{ name, label string }{
	{"power", "kW limit"}, {"current", "A limit"}, {"kva", "kVA limit"}, {"setpoint", "setpoint"}, {"outage", "outage"}, {"off", "off"}, {someOff, someOff}, {"metered", "metered"},
}

// someOff is what "off" is called while other electrodes are on.
const someOff = "some off"

// held is by what the supply was held or driven, and when.
type held struct {
	bars []heldBar
}

// heldBar is one of the names and the spans of days in which it was in force.
type heldBar struct {
	name, label string
	spans       [][2]float64
}

// heldBy reads limited_by of the electrodes' table: what a row says holds up to the
// next time. A folder without that table has none.
func (f *folder) heldBy() (*held, error) {
	const file = "electrodes.csv"
	in, err := os.Open(filepath.Join(f.dir, file))
	if errors.Is(err, os.ErrNotExist) {
		return &held{}, nil
	}
	if err != nil {
		return nil, fileError(file, err)
	}
	defer in.Close()
	r := csv.NewReader(in)
	r.Comment, r.ReuseRecord = '#', true
	header, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	at, by, phase := slices.Index(header, "time_d"), slices.Index(header, "limited_by"), slices.Index(header, "phase")
	if at < 0 || by < 0 {
		return nil, fmt.Errorf("%s: no columns time_d and limited_by", file)
	}
	h := &held{}
	now := -1.0 // the day of the rows read
	var here []string
	on := false // an electrode, at that time
	close := func(next float64) {
		for _, name := range here {
			if name == "off" && on {
				name = someOff
			}
			h.span(name, now, next)
		}
		here, on = here[:0], false
	}
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		t, err := strconv.ParseFloat(row[at], 64)
		if err != nil || bad(t) {
			line, _ := r.FieldPos(at)
			return nil, fmt.Errorf("%s:%d: time_d = %s: must be a number", file, line, row[at])
		}
		if t != now {
			close(t)
			now = t
		}
		on = on || row[by] != "off" && (phase < 0 || row[phase] != "-" && row[phase] != "N") // metal and the neutral are not switched
		if name := row[by]; name != "" && !slices.Contains(here, name) {
			here = append(here, string([]byte(name))) // the record is used again
		}
	}
	close(now)
	rank := func(name string) int {
		for i := range heldNames {
			if heldNames[i].name == name {
				return i
			}
		}
		return len(heldNames)
	}
	slices.SortStableFunc(h.bars, func(a, b heldBar) int { return rank(a.name) - rank(b.name) })
	return h, nil
}

// span adds a span of a name, to the one before it where they meet.
func (h *held) span(name string, from, to float64) {
	i := slices.IndexFunc(h.bars, func(b heldBar) bool { return b.name == name })
	if i < 0 {
		label := name
		for _, n := range heldNames {
			if n.name == name {
				label = n.label
			}
		}
		i = len(h.bars)
		h.bars = append(h.bars, heldBar{name: name, label: label})
	}
	b := &h.bars[i]
	if n := len(b.spans); n > 0 && b.spans[n-1][1] == from {
		b.spans[n-1][1] = to
		return
	}
	b.spans = append(b.spans, [2]float64{from, to})
}

// height is what the bars take above the panels.
func (h *held) height() vg.Length {
	if len(h.bars) == 0 {
		return 0
	}
	return vg.Length(len(h.bars))*lineHeight + 6
}

// width is that of the longest label.
func (h *held) width(p *pen) vg.Length {
	var w vg.Length
	for _, b := range h.bars {
		w = max(w, p.width(body, b.label))
	}
	return w
}

// draw draws the bars below the heading, from x0 to x1, over an axis of days.
func (h *held) draw(p *pen, x0, x1 vg.Length, days axis, c color.Color) {
	for i, b := range h.bars {
		top := p.Max.Y - headHeight - vg.Length(i)*lineHeight
		q := panel{Rectangle: vg.Rectangle{Min: vg.Point{X: x0, Y: top - 11}, Max: vg.Point{X: x1, Y: top - 3}}, x: days}
		p.frame(line(grey(80), 0.5), q.Rectangle)
		for _, s := range b.spans {
			// As wide as a line at least: a stop of an hour is seen.
			a, e := q.atX(s[0]), q.atX(s[1])
			p.fill(c, vg.Rectangle{Min: vg.Point{X: a, Y: q.Min.Y}, Max: vg.Point{X: max(e, min(a+0.8, x1)), Y: q.Max.Y}})
		}
		p.text(body, color.Black, x1+13, q.Min.Y, 0, 0, b.label)
	}
}

// switched makes curves of the supply fall and rise at once where it or a single electrode
// is switched, by whatever, or a setting begins: a row of the history has what holds from its
// time on, so a line to it from the row before would be a slope of the step's length. A
// metered power [kW], nil where none is followed, has its own slopes: only where the supply
// goes off under it does it fall at once, and where single electrodes are switched voltage
// and current jump while it goes on.
func switched(curves []load, settings *plan, metered []float64) {
	volts := curves[1].y
	jumps := func(i, r int) bool {
		on, was := volts[r] != 0, volts[r-1] != 0
		if day := curves[i].x[r]; metered == nil {
			return on != was || among(settings.days, day)
		} else {
			return was && !on && metered[r] > 0 || curves[i].name != "power_kW" && among(settings.own, day)
		}
	}
	for i := range curves {
		c := &curves[i]
		var x, y []float64
		for r := range c.y {
			if r > 0 && jumps(i, r) {
				x, y = append(x, c.x[r]), append(y, c.y[r-1])
			}
			x, y = append(x, c.x[r]), append(y, c.y[r])
		}
		c.x, c.y = x, y
	}
}
