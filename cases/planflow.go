package cases

import (
	"fmt"
	"math"
)

// slabFlux returns the Darcy flux of a plan's slab along x and y [m/s]: those of its
// layers, which flow side by side, as vectors and by thickness.
func (c *Case) slabFlux() (x, y float64) {
	flows := false
	for i := range c.Layers {
		flows = flows || c.Layers[i].Groundwater != 0
	}
	if !flows {
		return 0, 0
	}
	for _, p := range c.slabParts() {
		// Degrees come in 13 digits: what is meant to be along an axis has no flux
		// across it.
		sin, cos := math.Sincos(p.layer.GroundwaterDirection)
		for _, part := range []*float64{&sin, &cos} {
			if math.Abs(*part) < 1e-11 {
				*part = 0
			}
		}
		x += p.share * p.layer.Groundwater * cos
		y += p.share * p.layer.Groundwater * sin
	}
	return x, y
}

// SlabWater returns the groundwater of a plan's slab as one layer's, averaged over its
// layers, with its direction; a flux of 0 where none flows.
func (c *Case) SlabWater() Layer {
	x, y := c.slabFlux()
	if x == 0 && y == 0 {
		return Layer{}
	}
	l := c.slab()
	l.Groundwater, l.GroundwaterDirection = math.Hypot(x, y), math.Atan2(y, x)
	return l
}

// planFronts returns how far water carries a front of heat during the run [m] towards
// each side of a plan.
func (c *Case) planFronts() (left, right, front, back float64) {
	l := c.SlabWater()
	travel := l.Front(c.Site.Ambient) * c.Time.Duration
	sin, cos := math.Sincos(l.GroundwaterDirection)
	return math.Max(0, -travel*cos), math.Max(0, travel*cos), math.Max(0, -travel*sin), math.Max(0, travel*sin)
}

// planFlowCautions is flowCautions of a plan.
func (c *Case) planFlowCautions() []string {
	inSlab := map[*Layer]bool{}
	var above, beside, out []string
	for _, p := range c.slabParts() {
		inSlab[p.layer] = true
		if p.layer.Groundwater != 0 && p.top < c.Site.WaterTable {
			above = append(above, fmt.Sprintf("%q", p.layer.Name))
		}
	}
	for i := range c.Layers {
		if l := &c.Layers[i]; l.Groundwater != 0 && !inSlab[l] {
			beside = append(beside, fmt.Sprintf("%q", l.Name))
		}
	}
	if l := c.SlabWater(); l.Groundwater != 0 {
		out = append(out, fmt.Sprintf("Groundwater is a Darcy flux given by layer, averaged over the slab as vectors by thickness to %.3g m/d towards %.4g° counter-clockwise from +x, even over the plan and constant in time: %s", l.Groundwater*day, l.GroundwaterDirection*180/math.Pi, unturned))
	}
	out = append(out, aboveTable(above)...)
	if beside != nil {
		out = append(out, fmt.Sprintf("Groundwater is given for %s, outside the slab: it is left out; none flows in the ground above and below.", list(beside, "and")))
	}
	return out
}
