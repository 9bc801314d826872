package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// flowing returns the layer through which most groundwater flows, and where to on the site
// plan [rad, counter-clockwise from +x]; nil: through none. In a plan only layers of the
// slab count.
func (f *folder) flowing() (most *cases.Layer, to float64) {
	top := 0.0
	for i := range f.c.Layers {
		l := &f.c.Layers[i]
		// The last layer has no lower face.
		in := f.c.View != cases.Plan || top < f.c.Extent.Bottom && (i == len(f.c.Layers)-1 || l.Bottom > f.c.Extent.Top)
		if in && l.Groundwater != 0 && (most == nil || math.Abs(l.Groundwater) > math.Abs(most.Groundwater)) {
			most = l
		}
		top = l.Bottom
	}
	if most == nil {
		return nil, 0
	}
	if f.c.View == cases.Plan {
		to = most.GroundwaterDirection
	}
	if most.Groundwater < 0 {
		to += math.Pi
	}
	return most, to
}

// flowArrow draws where groundwater flows, about a place.
func (p *pen) flowArrow(at vg.Point, to float64) {
	const half, barb = vg.Length(13), vg.Length(6)
	way := func(angle float64, length vg.Length) vg.Point {
		sin, cos := math.Sincos(angle)
		return vg.Point{X: length * vg.Length(cos), Y: length * vg.Length(sin)}
	}
	tip := at.Add(way(to, half))
	p.stroke(line(color.Black, 1.6), at.Sub(way(to, half)), tip)
	for _, side := range []float64{2.6, -2.6} {
		p.stroke(line(color.Black, 1.6), tip, tip.Add(way(to+side, barb)))
	}
}
