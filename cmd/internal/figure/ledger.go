package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// ledgerTerms are the bands of the ledger from the bottom up. Lightness
// alternates so that neighbours part in grey; each also has its own hatch.
// With fates, steam is told by where it left.
func ledgerTerms(fates bool) []ledgerTerm {
	steam := []ledgerTerm{{"steam_out_kWh", "steam out", "steam in", lab{58, -8, -28}, none}}
	if fates {
		steam = []ledgerTerm{
			{"captured_kWh", "steam captured", "steam in", lab{58, -8, -28}, none},
			{"surface_kWh", "steam at surface", "steam in", lab{70, -8, -22}, falling},
			{"held_kWh", "steam held", "steam in", lab{46, -6, -20}, upright},
		}
	}
	return slices.Concat([]ledgerTerm{
		{"stored_target_kWh", "stored in target", "taken from target", lab{38, 40, 25}, none},
		{"stored_outside_kWh", "stored outside", "taken from outside", lab{80, 14, 40}, rising},
	}, steam, []ledgerTerm{
		{"loss_surface_kWh", "lost at surface", "gained at surface", lab{92, -2, -6}, upright},
		{"loss_below_kWh", "lost below", "gained below", lab{45, 0, 0}, none},
		{"loss_sides_kWh", "lost at sides", "gained at sides", lab{82, 0, 0}, falling},
		{"carried_by_water_kWh", "taken by water", "brought by water", lab{30, 0, -30}, none},
	})
}

// steamFate returns the heat of the steam by where it left, at the days of the ledger; nil
// where all of it left in one way, or the folder does not say.
func (f *folder) steamFate(days []float64) (*table, error) {
	t, err := f.readTable("steam.csv")
	if err != nil {
		return nil, err
	}
	at, err := t.column("time_d")
	if err != nil {
		return nil, err
	}
	cols, err := t.columns("captured_kWh", "surface_kWh", "held_kWh")
	if err != nil {
		return nil, err
	}
	ways := 0
	for _, v := range cols {
		if lo, hi, ok := bounds(v); ok && max(-lo, hi) > 0 {
			ways++
		}
	}
	if ways < 2 {
		return nil, nil
	}
	if !slices.Equal(at, days) {
		return nil, errors.New("steam.csv: its days are not those of balance.csv")
	}
	return t, nil
}

type ledgerTerm struct {
	column, text string
	gained       string // the text where the term is negative
	color        lab
	hatch        hatch
}

// hatch is a pattern of thin lines over a band.
type hatch int

const (
	none hatch = iota
	rising
	upright
	falling
)

// ledger draws where the energy goes: stacked areas of the balance's terms, and
// the energy that came in as a line, which they reach if the balance closes.
func ledger(f *folder, s style) (*drawing, error) {
	in, err := f.readTable("balance.csv")
	if err != nil {
		return nil, err
	}
	supplied, err := in.columns("time_d", "energy_in_kWh", "water_in_kWh")
	if err != nil {
		return nil, err
	}
	days := supplied[0]
	energy := make([]float64, len(days))
	for i := range energy {
		energy[i] = supplied[1][i] + supplied[2][i]
	}
	fate, err := f.steamFate(days)
	if err != nil {
		return nil, err
	}
	terms := ledgerTerms(fate != nil)
	values := make([][]float64, len(terms))
	for n, t := range terms {
		from := in
		if fate != nil && slices.Contains(fate.names, t.column) {
			from = fate
		}
		if values[n], err = from.column(t.column); err != nil {
			return nil, err
		}
		for i, v := range values[n] {
			if bad(v) {
				return nil, fmt.Errorf("%s: %s at day %s is not a number", from.file, t.column, dayName(days[i]))
			}
		}
	}
	if _, _, ok := bounds(energy); !ok {
		return nil, fmt.Errorf("balance.csv: no finite energy_in_kWh: %w", errNothing)
	}
	lows, highs, gains := stack(values, len(days))
	down, up := gains[len(gains)-1], highs[len(highs)-1]
	out := &table{file: "ledger.csv"}
	out.add("time_d", days)
	out.add("energy_and_water_in_kWh", energy)
	for n, t := range terms {
		out.add(t.column, values[n])
	}
	var sum summary
	if err := f.readJSON("summary.json", &sum); err != nil {
		return nil, err
	}
	lo, hi, _ := bounds(up, down, energy)
	y := fromZero(lo, hi, 1)
	// A gain that is over at the end has its name under its line.
	last := len(days) - 1
	passed, deepest := -1, 0
	for n := range terms {
		for i, v := range values[n] {
			if values[n][last] >= 0 && v < -0.01*(hi-lo) && (passed < 0 || v < values[passed][deepest]) {
				passed, deepest = n, i
			}
		}
	}
	if passed >= 0 {
		y.lo -= 0.08 * (y.hi - y.lo)
	}

	const height = vg.Length(235)
	noteHeight := lineHeight + 2
	through := ""
	if f.c.View == cases.Plan && sum.ZoneTop != nil && sum.ZoneBottom != nil && sum.ZoneSides != nil {
		through = "out of the target: above " + amount(*sum.ZoneTop) + ", below " + amount(*sum.ZoneBottom) + ", at its sides " + amount(*sum.ZoneSides) + " kWh"
		noteHeight += lineHeight
	}
	condensed := ""
	if v := sum.CondensedOutside; v != nil && *v >= 1 {
		condensed = "of this already, condensed outside the target: " + amount(*v) + " kWh"
		noteHeight += lineHeight
	}
	total := headHeight + height + tickHeight + lineHeight + f.datesHeight() + noteHeight + footHeight + 6
	final := energy[len(energy)-1]

	paint := func(p *pen) {
		p.heading(f, "Where the energy goes", daysRange(days), "ledger")
		marks := y.ticks(plain, along(height))
		axisTitle := "energy since power on (kWh)"
		share := func(v float64) string {
			if math.Abs(final) < 1e-9 {
				return ""
			}
			percent := 100 * v / final
			if math.Abs(percent) < 0.5 && v != 0 {
				return " <1 %"
			}
			return fmt.Sprintf(" %.0f %%", percent+0) // + 0: no minus before zero
		}
		texts := make([]string, len(terms)+1)
		texts[len(terms)] = "energy in"
		shown := make([]bool, len(terms))
		room := p.width(bodyBold, texts[len(terms)])
		for n, t := range terms {
			a, b, _ := bounds(values[n])
			// A term that is no part of this case, as water where none flows.
			shown[n] = math.Max(math.Abs(a), math.Abs(b)) > 1e-6*math.Max(hi-lo, 1e-6)
			texts[n] = t.text + share(values[n][last])
			if values[n][last] < 0 {
				texts[n] = t.gained + share(-values[n][last])
			}
			if shown[n] {
				room = max(room, p.width(body, texts[n]))
			}
		}
		room += 16 + 14 // leader and swatch
		q := panel{x: daysAxis(days), y: y}
		q.Rectangle = vg.Rectangle{
			Min: vg.Point{X: margin + p.room(marks, axisTitle), Y: p.Max.Y - headHeight - height},
			Max: vg.Point{X: p.Max.X - margin - room, Y: p.Max.Y - headHeight},
		}
		var ends []endLabel
		var used []int
		for n, t := range terms {
			if !shown[n] {
				continue
			}
			p.area(q, days, lows[n], highs[n], t)
			middle := (lows[n][last] + highs[n][last]) / 2
			if values[n][last] < 0 {
				middle = gains[n][last]
			}
			ends = append(ends, endLabel{vg.Point{X: q.Max.X, Y: q.atY(middle)}, texts[n], color.Black, n})
			used = append(used, n)
		}
		for n := range terms {
			if a, _, _ := bounds(values[n]); a > -0.002*(hi-lo) {
				continue
			}
			below := slices.Clone(gains[n])
			for i, v := range values[n] {
				if v >= 0 && i > 0 {
					below[i] = math.NaN() // nothing gained, no line
				}
			}
			for _, l := range q.path(days, below) {
				p.gain(n, l...)
			}
		}
		if passed >= 0 {
			text := terms[passed].gained
			half := p.width(body, text)/2 + 4
			x := max(q.Min.X+half, min(q.Max.X-half, q.atX(days[deepest])))
			p.text(body, color.Black, x, q.atY(gains[passed][deepest])-4, 0.5, 1, text)
		}
		st := line(color.Black, 2)
		for _, l := range q.path(days, energy) {
			p.stroke(line(color.White, 3.4), l...)
			p.stroke(st, l...)
		}
		negative := func(n int) bool { return values[n][last] < 0 }
		p.ledgerLabels(ends, used, terms, negative, q, q.atY(final), texts[len(terms)])
		if y.lo < 0 {
			p.stroke(thin, vg.Point{X: q.Min.X, Y: q.atY(0)}, vg.Point{X: q.Max.X, Y: q.atY(0)})
		}
		p.left(q, marks, axisTitle)
		p.belowDays(q, q.x.ticks(plain, across(q.Max.X-q.Min.X)), "days since power on", f.c.Time.PowerOn)
		p.frame(thin, q.Rectangle)
		note := "in all " + amount(final) + " kWh"
		if sum.EnergyPerM3 != nil && sum.EnergyPerYd3 != nil {
			a := number(math.Round(*sum.EnergyPerM3), 1) + " kWh/m³"
			b := number(math.Round(*sum.EnergyPerYd3), 1) + " kWh/yd³"
			if s.length[0] == foot {
				a, b = b, a
			}
			note += "; " + a + " (" + b + ") of target"
		}
		p.notes(slices.DeleteFunc([]string{note, condensed, through}, func(s string) bool { return s == "" }))
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// stack returns the bands of the ledger. Ground warmed by summer air gives a
// negative loss, which is a gain: gains are drawn down from zero, each from the
// one before it, gains[n] being the lower end of that of term n. The bands of
// what is positive are stacked on the last, so that their height is all that
// came in and their top the energy supplied.
func stack(values [][]float64, steps int) (lows, highs, gains [][]float64) {
	down := make([]float64, steps)
	for _, v := range values {
		for i := range down {
			down[i] += min(0, v[i])
		}
		gains = append(gains, slices.Clone(down))
	}
	up := down
	for _, v := range values {
		lows = append(lows, slices.Clone(up))
		for i := range up {
			up[i] += max(0, v[i])
		}
		highs = append(highs, slices.Clone(up))
	}
	return lows, highs, gains
}

// gain strokes the line of a gain.
func (p *pen) gain(n int, pts ...vg.Point) {
	p.stroke(line(color.Black, 1.6, dashes(2+n)...), pts...)
}

// ledgerLabels writes the bands' labels right of the panel, each with a sample
// of its band, or of its line if negative, and that of the line on top.
func (p *pen) ledgerLabels(ends []endLabel, used []int, terms []ledgerTerm, negative func(int) bool, q panel, lineY vg.Length, lineText string) {
	want := []vg.Length{}
	for _, e := range ends {
		want = append(want, e.at.Y)
	}
	// The line is the sum: its label stays above those of its parts.
	want = append(want, max(lineY, lineY+4)+8)
	ys, _ := spread(want, bodySize*1.12, q.Min.Y+7, q.Max.Y-5)
	x := q.Max.X + 14
	for i, e := range ends {
		p.stroke(line(grey(30), 0.7), e.at, vg.Point{X: x - 2, Y: ys[i]})
		r := vg.Rectangle{Min: vg.Point{X: x, Y: ys[i] - 5}, Max: vg.Point{X: x + 11, Y: ys[i] + 5}}
		if n := used[i]; negative(n) {
			p.gain(n, vg.Point{X: x, Y: ys[i]}, vg.Point{X: x + 13, Y: ys[i]})
		} else {
			sample := panel{Rectangle: r, x: axis{lo: 0, hi: 1}, y: axis{lo: 0, hi: 1}}
			p.area(sample, []float64{0, 1}, []float64{0, 0}, []float64{1, 1}, terms[n])
			p.frame(line(color.Black, 0.5), r)
		}
		p.text(body, color.Black, x+15, ys[i], 0, 0.5, e.text)
	}
	last := ys[len(ys)-1]
	p.stroke(line(color.Black, 1.2), vg.Point{X: q.Max.X, Y: lineY}, vg.Point{X: x - 2, Y: last})
	p.text(bodyBold, color.Black, x, last, 0, 0.5, lineText)
}

// area fills the band between low and high with a term's colour and hatch, and
// edges it in white to part it from its neighbours.
func (p *pen) area(q panel, x, low, high []float64, t ledgerTerm) {
	n := len(x)
	if n < 2 {
		return
	}
	var outline, upper []vg.Point
	for i := range n {
		upper = append(upper, vg.Point{X: q.atX(x[i]), Y: q.atY(high[i])})
	}
	outline = append(outline, upper...)
	for i := n - 1; i >= 0; i-- {
		outline = append(outline, vg.Point{X: q.atX(x[i]), Y: q.atY(low[i])})
	}
	p.SetColor(t.color.rgba())
	path := vg.Path{}
	path.Move(outline[0])
	for _, c := range outline[1:] {
		path.Line(c)
	}
	path.Close()
	p.Fill(path)
	p.hatched(q, x, low, high, t)
	p.stroke(line(color.White, 0.8), upper...)
}

// hatched draws a band's hatch, cut at the band's edges by sampling each line.
func (p *pen) hatched(q panel, x, low, high []float64, t ledgerTerm) {
	if t.hatch == none {
		return
	}
	at := func(px vg.Length, v []float64) vg.Length {
		day := q.x.lo + float64((px-q.Min.X)/(q.Max.X-q.Min.X))*(q.x.hi-q.x.lo)
		i, w := bracket(x, day)
		y := v[i]
		if w > 0 {
			y = (1-w)*v[i] + w*v[i+1]
		}
		return q.atY(y)
	}
	st := line(grey(35), 0.5)
	const pitch, fine = vg.Length(6), vg.Length(1)
	if t.hatch == upright {
		for px := q.Min.X + pitch/2; px < q.Max.X; px += pitch {
			if a, b := at(px, low), at(px, high); b-a > 0.5 {
				p.stroke(st, vg.Point{X: px, Y: a}, vg.Point{X: px, Y: b})
			}
		}
		return
	}
	slope := vg.Length(1)
	if t.hatch == falling {
		slope = -1
	}
	w, h := q.Max.X-q.Min.X, q.Max.Y-q.Min.Y
	for c := -(w + h); c < w+h; c += pitch * 1.3 {
		var from, to vg.Point
		open := false
		for px := q.Min.X; px <= q.Max.X; px += fine {
			y := q.Min.Y + c + slope*(px-q.Min.X)
			if y >= at(px, low) && y <= at(px, high) {
				if !open {
					from, open = vg.Point{X: px, Y: y}, true
				}
				to = vg.Point{X: px, Y: y}
				continue
			}
			if open {
				p.stroke(st, from, to)
				open = false
			}
		}
		if open {
			p.stroke(st, from, to)
		}
	}
}
