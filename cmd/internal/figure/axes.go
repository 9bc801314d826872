package figure

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Sizes on a page 6.5 in wide. Printed 3.25 in wide, everything is half: text of
// 14 points becomes 7, the least that reads well.
const (
	pageWidth = 6.5 * vg.Inch
	bodySize  = vg.Length(14)
	titleSize = vg.Length(17)
	footSize  = vg.Length(13)

	margin     = vg.Length(6)
	headHeight = vg.Length(50) // title and subtitle
	footHeight = vg.Length(36)
	lineHeight = vg.Length(16) // from label to label
	tickLength = vg.Length(4)
	tickHeight = vg.Length(20) // tick, gap and a row of tick labels
)

// pen draws on a page. It knows its fonts, so it measures as it draws.
type pen struct {
	draw.Canvas
	fonts *font.Cache
}

// face is a size and a weight of the one typeface.
type face struct {
	size vg.Length
	bold bool
}

var (
	body     = face{bodySize, false}
	bodyBold = face{bodySize, true}
)

func (p *pen) face(f face) font.Face {
	d := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if f.bold {
		d.Weight = xfont.WeightBold
	}
	return p.fonts.Lookup(d, f.size)
}

// width measures a line of text.
func (p *pen) width(f face, s string) vg.Length {
	ff := p.face(f)
	return ff.Width(s)
}

// text writes s with its point (alignX, alignY) at (x, y): alignX 0 is its left
// end, 1 its right; alignY 0 is its baseline, 1 the top of its capitals.
func (p *pen) text(f face, c color.Color, x, y vg.Length, alignX, alignY float64, s string) {
	if s == "" {
		return
	}
	p.SetColor(c)
	const capitals = 0.72 // height of capitals over size, Liberation Sans
	x -= vg.Length(alignX) * p.width(f, s)
	y -= vg.Length(alignY*capitals) * f.size
	p.FillString(p.face(f), vg.Point{X: x, Y: y}, s)
}

// turned writes s upwards, centred on (x, y).
func (p *pen) turned(f face, c color.Color, x, y vg.Length, s string) {
	p.Push()
	p.Translate(vg.Point{X: x, Y: y})
	p.Rotate(math.Pi / 2)
	p.text(f, c, 0, 0, 0.5, 0.5, s)
	p.Pop()
}

// boxed writes s centred on a white ground, to be read on top of lines.
func (p *pen) boxed(f face, r vg.Rectangle, s string) {
	p.fill(color.White, r)
	c := r.Min.Add(r.Max).Scale(0.5)
	p.text(f, color.Black, c.X, c.Y, 0.5, 0.5, s)
}

// fit shortens s with an ellipsis until it is at most w wide.
func (p *pen) fit(f face, s string, w vg.Length) string {
	if p.width(f, s) <= w {
		return s
	}
	runes := []rune(s)
	for n := len(runes) - 1; n > 0; n-- {
		if t := strings.TrimRight(string(runes[:n]), " ") + "…"; p.width(f, t) <= w {
			return t
		}
	}
	return "…"
}

// wrap breaks s at spaces into at most three lines of width w; what is still too
// long is cut.
func (p *pen) wrap(f face, s string, w vg.Length) []string {
	var lines []string
	for _, word := range strings.Fields(s) {
		n := len(lines)
		if n > 0 && (p.width(f, lines[n-1]+" "+word) <= w || n == 3) {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	for i := range lines {
		lines[i] = p.fit(f, lines[i], w)
	}
	return lines
}

func (p *pen) fill(c color.Color, r vg.Rectangle) {
	p.SetColor(c)
	p.Fill(r.Path())
}

func (p *pen) stroke(s draw.LineStyle, pts ...vg.Point) {
	if len(pts) < 2 || s.Width <= 0 {
		return
	}
	p.SetLineStyle(s)
	path := make(vg.Path, 0, len(pts))
	path.Move(pts[0])
	for _, q := range pts[1:] {
		path.Line(q)
	}
	p.Stroke(path)
}

func (p *pen) dot(at vg.Point, radius vg.Length) { p.disc(color.Black, at, radius) }

// disc fills a circle, and returns it.
func (p *pen) disc(c color.Color, at vg.Point, radius vg.Length) vg.Path {
	path := vg.Path{}
	path.Move(at.Add(vg.Point{X: radius}))
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	p.SetColor(c)
	p.Fill(path)
	return path
}

func (p *pen) frame(s draw.LineStyle, r vg.Rectangle) {
	p.SetLineStyle(s)
	p.Stroke(r.Path())
}

// clipped strokes lines as far as they lie in r.
func (p *pen) clipped(r vg.Rectangle, s draw.LineStyle, lines ...[]vg.Point) {
	c := draw.Canvas{Canvas: p.Canvas.Canvas, Rectangle: r}
	for _, l := range lines {
		if len(l) > 1 {
			for _, part := range c.ClipLinesXY(l) {
				p.stroke(s, part...)
			}
		}
	}
}

// line is a line style; dashes in points.
func line(c color.Color, width vg.Length, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: width, Dashes: dashes}
}

// dashes returns the n-th dash pattern of a set; the first is solid.
func dashes(n int) []vg.Length {
	set := [][]vg.Length{nil, {7, 3}, {2, 2}, {9, 3, 2, 3}, {4, 4}, {12, 3}}
	return set[n%len(set)]
}

// caution stands under every figure: a figure travels without its summary.
const caution = "Estimate for review. Local codes and licensed practice decide."

// heading writes title and subtitle, and below the figure the caution and the
// footer. A long case title is cut, never the days.
func (p *pen) heading(f *folder, title, days, name string) {
	inner := p.Max.X - 2*margin
	big := face{titleSize, true}
	for big.size > bodySize && p.width(big, title) > inner {
		big.size -= 0.5
	}
	p.text(big, color.Black, margin, p.Max.Y-20, 0, 0, p.fit(big, title, inner))
	caseTitle, rest := f.subtitle(days)
	caseTitle = p.fit(body, caseTitle, inner-p.width(body, rest))
	p.text(body, color.Black, margin, p.Max.Y-38, 0, 0, caseTitle+rest)
	foot := face{footSize, false}
	p.text(foot, grey(30), p.Max.X-margin, margin+16, 1, 0, caution)
	p.text(foot, grey(30), p.Max.X-margin, margin, 1, 0, f.footer(name))
}

// axis is the range of one coordinate. With down set, it grows downward.
type axis struct {
	lo, hi float64
	down   bool
}

// part is where v lies between the axis's lower or left end and its other end.
func (a axis) part(v float64) float64 {
	t := (v - a.lo) / (a.hi - a.lo)
	if a.down {
		return 1 - t
	}
	return t
}

// panel is a rectangle of the page with two axes.
type panel struct {
	vg.Rectangle
	x, y axis
}

func (q panel) atX(v float64) vg.Length {
	return q.Min.X + vg.Length(q.x.part(v))*(q.Max.X-q.Min.X)
}

func (q panel) atY(v float64) vg.Length {
	return q.Min.Y + vg.Length(q.y.part(v))*(q.Max.Y-q.Min.Y)
}

// path maps a series to lines on the page, parted where a value is missing.
func (q panel) path(x, y []float64) [][]vg.Point {
	var lines [][]vg.Point
	var now []vg.Point
	for i := range x {
		if bad(x[i]) || bad(y[i]) {
			if len(now) > 0 {
				lines, now = append(lines, now), nil
			}
			continue
		}
		now = append(now, vg.Point{X: q.atX(x[i]), Y: q.atY(y[i])})
	}
	if len(now) > 0 {
		lines = append(lines, now)
	}
	return lines
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

// tick is one mark of an axis, v in the axis's own (SI-side) unit.
type tick struct {
	v     float64
	label string
}

// step returns the least of 1, 2, 5 × 10ⁿ that parts span into at most n.
func step(span float64, n int) float64 {
	if !(span > 0) || math.IsInf(span, 0) || n < 1 {
		return 1
	}
	base := math.Pow(10, math.Floor(math.Log10(span/float64(n))))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*base*float64(n) >= span*(1-1e-9) {
			return m * base
		}
	}
	return 10 * base
}

// ticks returns at most about n marks of the axis at round values of u.
func (a axis) ticks(u unit, n int) []tick {
	lo, hi := u.of(a.lo), u.of(a.hi)
	d := step(hi-lo, n)
	var marks []tick
	for j := math.Ceil(lo/d - 1e-9); j*d <= hi+1e-9*d; j++ {
		marks = append(marks, tick{u.back(j * d), number(j*d, d)})
	}
	return marks
}

// number writes v to the digits of step d, thousands parted by a space.
func number(v, d float64) string {
	digits := max(0, int(math.Ceil(-math.Log10(d)-1e-9)))
	if v == 0 {
		v = 0 // no minus before zero
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if math.Abs(v) < 10000 {
		return s
	}
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0 && whole[i-1] != '-'; i -= 3 {
		whole = whole[:i] + " " + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	return whole
}

// across and along are how many ticks a length carries without crowding.
func across(w vg.Length) int { return max(1, int(w/30)) }
func along(h vg.Length) int  { return max(1, int(h/20)) }

// room returns the width that a vertical axis needs for ticks, labels and title.
func (p *pen) room(marks []tick, title string) vg.Length {
	var w vg.Length
	for _, t := range marks {
		w = max(w, p.width(body, t.label))
	}
	w += tickLength + 4
	if title != "" {
		w += bodySize + 4
	}
	return w
}

var thin = line(color.Black, 0.7)

// left draws a panel's left axis.
func (p *pen) left(q panel, marks []tick, title string) {
	for _, t := range marks {
		y := q.atY(t.v)
		p.stroke(thin, vg.Point{X: q.Min.X - tickLength, Y: y}, vg.Point{X: q.Min.X, Y: y})
		p.text(body, color.Black, q.Min.X-tickLength-2, y, 1, 0.5, t.label)
	}
	if title != "" {
		p.turned(body, color.Black, q.Min.X-p.room(marks, title)+bodySize/2, (q.Min.Y+q.Max.Y)/2, title)
	}
}

// right draws a panel's right axis.
func (p *pen) right(q panel, marks []tick, title string) {
	for _, t := range marks {
		y := q.atY(t.v)
		p.stroke(thin, vg.Point{X: q.Max.X, Y: y}, vg.Point{X: q.Max.X + tickLength, Y: y})
		p.text(body, color.Black, q.Max.X+tickLength+2, y, 0, 0.5, t.label)
	}
	if title != "" {
		p.turned(body, color.Black, q.Max.X+p.room(marks, title)-bodySize/2, (q.Min.Y+q.Max.Y)/2, title)
	}
}

// below draws a panel's lower axis; a title stands under it.
func (p *pen) below(q panel, marks []tick, title string) {
	every := p.apart(q, marks, 3)
	for i, t := range marks {
		x := q.atX(t.v)
		p.stroke(thin, vg.Point{X: x, Y: q.Min.Y - tickLength}, vg.Point{X: x, Y: q.Min.Y})
		if i%every == 0 {
			p.text(body, color.Black, x, q.Min.Y-tickLength-3, 0.5, 1, t.label)
		}
	}
	if title != "" {
		p.text(body, color.Black, (q.Min.X+q.Max.X)/2, q.Min.Y-tickHeight-1, 0.5, 1, title)
	}
}

// apart returns of how many ticks across a panel one has its label, so that labels are at
// least gap apart.
func (p *pen) apart(q panel, marks []tick, gap vg.Length) int {
	every := 1
	for i := every; i < len(marks); i += every {
		a, b := marks[i-every], marks[i]
		if q.atX(b.v)-q.atX(a.v) < (p.width(body, a.label)+p.width(body, b.label))/2+gap {
			every++
			i = 0 // from the first pair again
		}
	}
	return every
}

// above draws a panel's upper axis, its title at the right end of the same row.
func (p *pen) above(q panel, marks []tick, title string) {
	end := q.Max.X + margin
	if title != "" {
		end -= margin + p.width(body, title)
		p.text(body, color.Black, q.Max.X, q.Max.Y+tickLength+3, 1, 0, title)
	}
	for _, t := range marks {
		x := q.atX(t.v)
		p.stroke(thin, vg.Point{X: x, Y: q.Max.Y}, vg.Point{X: x, Y: q.Max.Y + tickLength})
		if x+p.width(body, t.label)/2 < end {
			p.text(body, color.Black, x, q.Max.Y+tickLength+3, 0.5, 0, t.label)
		}
	}
}

// widen returns an axis that holds [lo, hi] with a little air, even if the two
// are equal.
func widen(lo, hi, least float64) axis {
	if span := hi - lo; span < least {
		middle := (lo + hi) / 2
		lo, hi = middle-least/2, middle+least/2
	}
	pad := 0.04 * (hi - lo)
	return axis{lo: lo - pad, hi: hi + pad}
}

// fromZero returns an axis from zero to just above hi; from below lo if that is
// negative. least is the span where there is nothing to show.
func fromZero(lo, hi, least float64) axis {
	lo, hi = min(lo, 0), max(hi, 0)
	if hi-lo < least {
		hi = lo + least
	}
	pad := 0.05 * (hi - lo)
	if lo < 0 {
		lo -= pad
	}
	return axis{lo: lo, hi: hi + pad}
}

// daysAxis returns the axis of days for a time column.
func daysAxis(t []float64) axis {
	lo, hi, _ := bounds(t)
	lo = min(lo, 0)
	if hi <= lo {
		hi = lo + 1
	}
	return axis{lo: lo, hi: hi}
}

// daysRange writes the days of a time column, as "day 0 to 70".
func daysRange(t []float64) string {
	return fmt.Sprintf("day %s to %s", short(t[0]), short(t[len(t)-1]))
}

// key is an entry of the row that explains marks that carry no label.
type key struct {
	mark func(r vg.Rectangle) // draws the sample in r
	text string
}

// keys writes the row of entries from x on, with y its middle, in lines of at
// most w; it returns how many lines it took.
func (p *pen) keys(list []key, x, y, w vg.Length) int {
	const sample, gap = vg.Length(16), vg.Length(14)
	rows, at := 1, x
	for _, k := range list {
		need := sample + 4 + p.width(body, k.text)
		if at > x && at+need > x+w {
			rows++
			at = x
			y -= lineHeight + 2
		}
		if k.mark != nil {
			k.mark(vg.Rectangle{Min: vg.Point{X: at, Y: y - 6}, Max: vg.Point{X: at + sample, Y: y + 6}})
			p.text(body, color.Black, at+sample+4, y, 0, 0.5, k.text)
		}
		at += need + gap
	}
	return rows
}

// keysHeight is the height that the keys of the ground, and more, will take on a page of
// width w, before there is a canvas to draw on.
func (s style) keysHeight(f *folder, w box, more ...key) vg.Length {
	p := &pen{fonts: s.fonts}
	return vg.Length(p.keyRows(append(p.groundKeys(f, s, w), more...), pageWidth-2*margin)) * (lineHeight + 2)
}

// keyRows counts the lines that keys would take.
func (p *pen) keyRows(list []key, w vg.Length) int {
	blank := make([]key, len(list))
	for i := range list {
		blank[i].text = list[i].text
	}
	return p.keys(blank, 0, 0, w)
}
