package cases

import (
	"fmt"
	"math"
)

// SlabWater returns what a plan's groundwater takes of its slab as one layer: the Darcy
// flux and its direction, those of its layers, which flow side by side, as vectors and by
// thickness; heat capacity and porosity.
func (c *Case) SlabWater() Layer {
	var out Layer
	var x, y, most float64
	for _, p := range c.inSlab() {
		q := p.share * p.layer.Groundwater
		sin, cos := math.Sincos(p.layer.GroundwaterDirection)
		x, y, most = x+q*cos, y+q*sin, most+math.Abs(q)
		out.HeatCapacity += p.share * p.layer.HeatCapacity
		out.Porosity += p.share * p.layer.Porosity
	}
	// Degrees come in 13 digits: what is meant to cancel, or to be along an axis, does
	// but for those.
	for _, v := range []*float64{&x, &y} {
		if math.Abs(*v) < 1e-11*most {
			*v = 0
		}
	}
	out.Groundwater, out.GroundwaterDirection = math.Hypot(x, y), math.Atan2(y, x)
	return out
}

// slabFlux returns the Darcy flux of a plan's slab along x and y [m/s].
func (c *Case) slabFlux() (x, y float64) {
	l := c.SlabWater()
	return l.along()
}

// along returns the layer's Darcy flux along x and y [m/s].
func (l *Layer) along() (x, y float64) {
	sin, cos := math.Sincos(l.GroundwaterDirection)
	for _, v := range []*float64{&sin, &cos} {
		if math.Abs(*v) < 1e-11 {
			*v = 0
		}
	}
	return l.Groundwater * cos, l.Groundwater * sin
}

// planFronts returns how far water carries a front of heat during the run [m] towards
// each side of a plan.
func (c *Case) planFronts() (left, right, front, back float64) {
	l := c.SlabWater()
	travel := l.Front(c.Site.Ambient) * c.span()
	sin, cos := math.Sincos(l.GroundwaterDirection)
	return math.Max(0, -travel*cos), math.Max(0, travel*cos), math.Max(0, -travel*sin), math.Max(0, travel*sin)
}

// planFlowCautions is flowCautions of a plan.
func (c *Case) planFlowCautions() []string {
	inSlab := map[*Layer]bool{}
	var above, beside, out []string
	for _, p := range c.inSlab() {
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
		out = append(out, fmt.Sprintf("Groundwater is a Darcy flux given by layer, averaged over the slab as vectors by thickness to %s towards %.4g° counter-clockwise from +x, even over the plan and constant in time: %s", c.told(fmt.Sprintf("%.3g ft/d", l.Groundwater*day/Foot), fmt.Sprintf("%.3g m/d", l.Groundwater*day)), l.GroundwaterDirection*180/math.Pi, unturned))
	}
	out = append(out, aboveTable(above)...)
	if beside != nil {
		out = append(out, fmt.Sprintf("Groundwater is given for %s, outside the slab: it is left out; none flows in the ground above and below.", list(beside, "and")))
	}
	return append(out, c.planRainCautions()...)
}
