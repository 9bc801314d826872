package cases

import "math"

// sliver is a thickness [m] that is none: faces written in feet and in metres meet but
// for their last digits.
const sliver = 1e-9

// Part is what lies of a layer between two depths.
type Part struct {
	Layer       *Layer
	Top, Bottom float64 // [m] of the part
}

// Thickness returns the part's [m].
func (p *Part) Thickness() float64 { return p.Bottom - p.Top }

// Parts returns the layers between two depths [m], each as far as it lies between them,
// from the top down. The last one ends at its own bottom.
func (c *Case) Parts(top, bottom float64) []Part {
	var out []Part
	above := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		p := Part{l, math.Max(above, top), math.Min(l.Bottom, bottom)}
		above = l.Bottom
		if p.Thickness() > 0 {
			out = append(out, p)
		}
	}
	return out
}
