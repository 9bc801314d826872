package main

import (
	"bytes"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// Colours that the commonest forms of colour blindness keep apart, with dashes and
// shapes that a grey print keeps apart. Source: Okabe & Ito, Color Universal Design
// (2008), from memory.
var (
	colours = []color.RGBA{{0, 114, 178, 255}, {213, 94, 0, 255}, {0, 158, 115, 255}, {204, 121, 167, 255}, {86, 180, 233, 255}, {110, 110, 110, 255}, {230, 159, 0, 255}, {0, 0, 0, 255}}
	dashes  = [][]vg.Length{nil, {6, 2}, {2, 2}, {8, 2, 2, 2}, {10, 3}, {1, 2}}
	shapes  = []draw.GlyphDrawer{draw.CircleGlyph{}, draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.PlusGlyph{}, draw.CrossGlyph{}, draw.RingGlyph{}, draw.PyramidGlyph{}, draw.BoxGlyph{}}
)

const (
	width, height = 5.2 * vg.Inch, 3.7 * vg.Inch
	dpi           = 150
)

// sans is the face of every text in a figure.
func sans(size font.Length) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
}

// png draws the figure, its legend in a strip of its own below the axes.
func (f figure) png() ([]byte, error) {
	p := plot.New()
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = f.Title, f.X, f.Y
	for _, t := range []*text.Style{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle} {
		t.Font = sans(9)
	}
	for _, t := range []*text.Style{&p.X.Tick.Label, &p.Y.Tick.Label} {
		t.Font = sans(8)
	}
	p.Add(plotter.NewGrid())
	legend := plot.NewLegend()
	legend.TextStyle.Font = sans(8)
	legend.Left, legend.Top = true, true
	legend.XOffs, legend.Padding = 40, 1.5
	for i, c := range f.Curves {
		xy, err := c.points(f.Log)
		if err != nil {
			return nil, err
		}
		if len(xy) == 0 {
			continue // nothing of it lies on logarithmic axes
		}
		if c.Points {
			s, err := plotter.NewScatter(xy)
			if err != nil {
				return nil, err
			}
			s.GlyphStyle = draw.GlyphStyle{Color: colours[i%len(colours)], Radius: 2.4, Shape: shapes[i%len(shapes)]}
			p.Add(s)
			legend.Add(c.Label, s)
			continue
		}
		l, err := plotter.NewLine(xy)
		if err != nil {
			return nil, err
		}
		l.Color, l.Width, l.Dashes = colours[i%len(colours)], 1.3, dashes[i%len(dashes)]
		p.Add(l)
		legend.Add(c.Label, l)
	}
	if p.X.Min > p.X.Max {
		return nil, fmt.Errorf("it has no point that can be drawn")
	}
	if f.Log {
		for _, a := range []*plot.Axis{&p.X, &p.Y} {
			a.Scale, a.Tick.Marker = plot.LogScale{}, decades{}
			if a.Max < 1.3*a.Min {
				a.Min, a.Max = a.Min/1.3, a.Max*1.3
			}
			a.Min, a.Max = a.Min/1.1, a.Max*1.1
		}
	}
	strip := 9*vg.Length(len(f.Curves)) + 16
	canvas := vgimg.NewWith(vgimg.UseWH(width, height+strip), vgimg.UseDPI(dpi))
	page := draw.New(canvas)
	p.Draw(draw.Crop(page, 4, -10, strip, -4))
	legend.Draw(draw.Crop(page, 4, -4, 2, -height-4))
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// points returns the curve's points; logarithmic axes show the size of a value, and
// cannot show a zero.
func (c curve) points(logarithmic bool) (plotter.XYs, error) {
	if len(c.X) != len(c.Y) {
		return nil, fmt.Errorf("curve %q has %d x and %d y", c.Label, len(c.X), len(c.Y))
	}
	var xy plotter.XYs
	for i := range c.X {
		x, y := c.X[i], c.Y[i]
		if logarithmic {
			x, y = math.Abs(x), math.Abs(y)
			if x == 0 || y == 0 {
				continue
			}
		}
		if !finite(x) || !finite(y) {
			return nil, fmt.Errorf("curve %q has a point at (%g, %g)", c.Label, x, y)
		}
		xy = append(xy, plotter.XY{X: x, Y: y})
	}
	return xy, nil
}

// decades ticks a logarithmic axis at its powers of ten, with a number at each, and
// where there are few of them at 2 and 5 times each too.
type decades struct{}

func (decades) Ticks(lo, hi float64) []plot.Tick {
	span := math.Log10(hi / lo)
	every := int(math.Ceil(span / 7))
	var ticks []plot.Tick
	for e := int(math.Floor(math.Log10(lo))); e <= int(math.Ceil(math.Log10(hi))); e++ {
		for _, m := range []float64{1, 2, 5} {
			v := m * math.Pow(10, float64(e))
			if v < lo || v > hi || (m != 1 && every > 1) {
				continue
			}
			label := ""
			if m == 1 && e%max(every, 1) == 0 || span < 2 {
				label = fmt.Sprintf("%.3g", v)
			}
			ticks = append(ticks, plot.Tick{Value: v, Label: label})
		}
	}
	return ticks
}
