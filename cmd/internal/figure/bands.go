package figure

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// bandScale is the scale of filled contours.
type bandScale struct {
	levels []float64 // [°C] edges of the bands, at round values of the first unit
	step   float64   // between them, in the first unit
	open   bool      // the last band holds all that is hotter as well
}

// hottestWet returns the temperature [°C] above which a cell of the picture is
// dry ground that need not be told apart: a little over the boiling points and
// the target. Dry ground at an electrode may be so hot that bands up to it would
// leave all the rest in one colour.
func (f *folder) hottestWet(boil []float64, cells []int) (float64, bool) {
	if boil == nil {
		return 0, false
	}
	var shown []float64
	for _, cell := range cells {
		shown = append(shown, boil[cell])
	}
	_, top, ok := bounds(shown)
	if target, is := firstTarget(f.c); is {
		top = max(top, target)
	}
	return top + 2, ok // so that boiling ground stays below the next round value
}

// opened adds a band for all that is hotter, up to hi °C, unless the bands
// reach it already.
func (b bandScale) opened(hi float64) bandScale {
	n := len(b.levels) - 1
	if hi <= b.levels[n] {
		return b
	}
	b.levels = append(b.levels, 2*b.levels[n]-b.levels[n-1])
	b.open = hi > b.levels[n+1]
	return b
}

// newBands covers [lo, hi] °C with bands of one round width.
func newBands(lo, hi float64, s style) bandScale {
	u := s.temperature[0]
	a, z := u.of(lo), u.of(hi)
	// Under a degree, differences are not worth a band; and ground of one
	// temperature is cool, so light.
	d := max(step(z-a, 11), 1)
	z = max(z, a+5*d)
	first, last := math.Floor(a/d+1e-9), math.Ceil(z/d-1e-9)
	last = max(last, first+1)
	b := bandScale{step: d}
	for j := first; j <= last; j++ {
		b.levels = append(b.levels, u.back(j*d))
	}
	return b
}

// band returns which band holds v.
func (b bandScale) band(v float64) int {
	n := len(b.levels) - 1
	t := (v - b.levels[0]) / (b.levels[n] - b.levels[0]) * float64(n)
	return max(0, min(n-1, int(math.Floor(t+1e-9))))
}

// shade returns the colour of a band.
func (b bandScale) shade(r *ramp, n int) lab {
	return r.at((float64(n) + 0.5) / float64(len(b.levels)-1))
}

// bands fills a panel with the bands of a field.
func (p *pen) bands(q panel, w box, value func(x, z float64) float64, shade func(v float64) color.RGBA) {
	const dots = 3 // a point, as fine as the PNG
	width, height := int(math.Round(float64(q.Max.X-q.Min.X)*dots)), int(math.Round(float64(q.Max.Y-q.Min.Y)*dots))
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	for py := range height {
		down := (float64(py) + 0.5) / float64(height)
		if !q.y.down {
			down = 1 - down
		}
		z := w.top + down*(w.bottom-w.top)
		for px := range width {
			x := w.left + (float64(px)+0.5)/float64(width)*(w.right-w.left)
			c := color.RGBA{255, 255, 255, 255}
			if v := value(x, z); !bad(v) {
				c = shade(v)
			}
			img.SetRGBA(px, py, c)
		}
	}
	p.DrawImage(q.Rectangle, img)
}

// shader returns the colour of a value of the scale.
func (b bandScale) shader(r *ramp) func(v float64) color.RGBA {
	shades := make([]color.RGBA, len(b.levels)-1)
	for i := range shades {
		shades[i] = b.shade(r, i).rgba()
	}
	return func(v float64) color.RGBA { return shades[b.band(v)] }
}

// scale draws the bands as a bar, with both units.
func (p *pen) scale(s style, r vg.Rectangle, b bandScale) {
	n := len(b.levels) - 1
	q := panel{Rectangle: r, x: axis{lo: b.levels[0], hi: b.levels[n]}}
	every := max(1, int(math.Ceil(44/(float64(r.Max.X-r.Min.X)/float64(n)))))
	first, last, sign := 0, n, ""
	if b.open {
		// The last band has no end to name, and its start must be named.
		last, sign = n-1, "≥ "
		first = last % every
	}
	for i := range n {
		p.fill(b.shade(&s.ramp, i).rgba(), vg.Rectangle{Min: vg.Point{X: q.atX(b.levels[i]), Y: r.Min.Y}, Max: vg.Point{X: q.atX(b.levels[i+1]), Y: r.Max.Y}})
	}
	p.frame(thin, r)
	for i := first; i <= last; i += every {
		before := ""
		if i == last {
			before = sign
		}
		x := q.atX(b.levels[i])
		p.stroke(thin, vg.Point{X: x, Y: r.Min.Y - tickLength}, vg.Point{X: x, Y: r.Max.Y + tickLength})
		p.text(body, color.Black, x, r.Min.Y-tickLength-3, 0.5, 1, before+number(s.temperature[0].of(b.levels[i]), b.step))
		p.text(body, color.Black, x, r.Max.Y+tickLength+3, 0.5, 0, before+number(math.Round(s.temperature[1].of(b.levels[i])), 1))
	}
	x := r.Max.X + 22
	p.text(body, color.Black, x, r.Min.Y-tickLength-3, 0, 1, s.temperature[0].name)
	p.text(body, color.Black, x, r.Max.Y+tickLength+3, 0, 0, s.temperature[1].name)
}
