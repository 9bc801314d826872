package main

import (
	"bytes"
	"errors"
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// drawn are the lines of the figure: the benchmarks whose names begin and end so.
var drawn = []struct {
	label, begins, ends string
}{
	{"a cycle", "Cycle/", "/procs=1"},
	{"a set-up", "Factor/", "/procs=1"},
	{"a potential from cold, uniform ground", "Potential/uniform/ratio=1/", ""},
	{"a potential from cold, 12 × 12 blocks 1:10⁶, cells to 1:1000", "Potential/12_×_12_blocks,_random_1:10⁶/ratio=1000/", ""},
	{"a step, four plates", "Step/four-plates/", "/procs=1"},
	{"the run, four plates", "Run/four-plates/", "/procs=1"},
	{"the run, four plates, two processors", "Run/four-plates/", "/procs=2"},
}

// Colours that the commonest forms of colour blindness keep apart, with shapes that a
// grey print keeps apart. Source: Okabe & Ito, Color Universal Design (2008), from
// memory.
var (
	colours = []color.RGBA{{0, 114, 178, 255}, {213, 94, 0, 255}, {0, 158, 115, 255}, {204, 121, 167, 255}, {86, 180, 233, 255}, {230, 159, 0, 255}, {110, 110, 110, 255}}
	shapes  = []draw.GlyphDrawer{draw.CircleGlyph{}, draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.PlusGlyph{}, draw.CrossGlyph{}, draw.RingGlyph{}, draw.BoxGlyph{}}
)

// figure draws time against cells on logarithmic axes, with a line in proportion to the
// cells through each first point.
func (r *results) figure() ([]byte, error) {
	p := plot.New()
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = "Time against cells; dashed: in proportion to the cells", "cells [-]", "time [s]"
	sans := func(size font.Length) font.Font {
		return font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	}
	for _, t := range []*text.Style{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle} {
		t.Font = sans(9)
	}
	for _, t := range []*text.Style{&p.X.Tick.Label, &p.Y.Tick.Label} {
		t.Font = sans(8)
	}
	p.X.Scale, p.Y.Scale = plot.LogScale{}, plot.LogScale{}
	p.X.Tick.Marker, p.Y.Tick.Marker = plot.LogTicks{Prec: -1}, plot.LogTicks{Prec: -1}
	p.Add(plotter.NewGrid())
	legend := plot.NewLegend()
	legend.TextStyle.Font = sans(8)
	legend.Left, legend.Top, legend.XOffs, legend.Padding = true, true, 40, 1.5
	for i, d := range drawn {
		var xy plotter.XYs
		for _, v := range r.all {
			if n := v.cells(); n > 0 && strings.HasPrefix(v.name, d.begins) && strings.HasSuffix(v.name, d.ends) {
				xy = append(xy, plotter.XY{X: n, Y: v.seconds()})
			}
		}
		if len(xy) == 0 {
			continue
		}
		line, points, err := plotter.NewLinePoints(xy)
		if err != nil {
			return nil, err
		}
		line.Color, line.Width = colours[i], 1.3
		points.GlyphStyle = draw.GlyphStyle{Color: colours[i], Radius: 2.4, Shape: shapes[i]}
		first, last := xy[0], xy[len(xy)-1]
		even, err := plotter.NewLine(plotter.XYs{first, {X: last.X, Y: first.Y * last.X / first.X}})
		if err != nil {
			return nil, err
		}
		even.Color, even.Width, even.Dashes = colours[i], 0.6, []vg.Length{2, 2}
		p.Add(even, line, points)
		legend.Add(d.label, line, points)
	}
	if p.X.Min > p.X.Max {
		return nil, errors.New("none of the benchmarks that the figure draws came")
	}
	const width, height, dpi = 5.2 * vg.Inch, 3.9 * vg.Inch, 150
	strip := 9*vg.Length(len(drawn)) + 16
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
