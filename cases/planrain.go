package cases

import (
	"fmt"
	"math"
	"slices"
)

// planFrontDown returns how far rain carries a front of heat down below a plan's slab [m]
// while its ground is laid out for, not beyond the water table where that stays.
func (c *Case) planFrontDown() float64 {
	v := 0.0
	for i := range c.Layers {
		v = math.Max(v, c.Surface.Infiltration.Mean(c.span())*carries(c.Site.Ambient)/c.Layers[i].HeatCapacity)
	}
	if v == 0 {
		return 0
	}
	return math.Min(v*c.span(), math.Max(0, slices.Max(c.tables())-c.Extent.Bottom))
}

// rainStrength returns W b/λ of the slab at the mean rate over the run: how much the rain
// bends the temperatures in it.
func (c *Case) rainStrength() float64 {
	slab := c.slab()
	return c.Surface.Infiltration.Mean(c.Time.Duration) * carries(c.Site.Ambient) * (c.Extent.Bottom - c.Extent.Top) / slab.ThermalConductivity
}

// strongRain is from which on rain bends the temperatures in a slab too much for a plan.
const strongRain = 2

// planRainCautions says what a plan makes of rain.
func (c *Case) planRainCautions() []string {
	if _, most := c.Surface.Infiltration.Range(c.Time.Duration); !(most > 0) {
		return nil
	}
	tables := c.tables()
	middle := (c.Extent.Top + c.Extent.Bottom) / 2
	low, high := slices.Min(tables), slices.Max(tables)
	where := "through the ground above the slab, the slab and the ground below to the water table, where it leaves"
	switch {
	case high < middle && low > c.Extent.Top:
		where = "through the ground above the slab, where it leaves, as the water table is above the slab's middle; it does not come to the slab"
	case high < middle:
		where = "through the ground above the slab to the water table, where it leaves; it does not come to the slab"
	case math.IsInf(high, 1):
		where = "through the ground above the slab, the slab and the ground below, where it leaves"
	case low < middle:
		where += ", or while the slab's middle lies below that through the ground above it alone"
	}
	text := fmt.Sprintf("Infiltration goes straight down %s. It is everywhere at the rate of the surface: bodies, covers and boiling do not turn it. Its heat capacity is that of water at ambient.", where)
	if high >= middle {
		text += " What has dried in the slab takes of it, as water at ambient: its heat goes on down."
	}
	out := []string{text}
	if p := c.rainStrength(); p > strongRain && high >= middle {
		out = append(out, fmt.Sprintf("The infiltration is strong for a slab so thick: it carries %.2g times what a slab of %s conducts. Until temperatures have settled under it the slab's mean may be some 3 %% low at 2.5 times, 10 %% at 10: compare a section.", p, c.length(c.Extent.Bottom-c.Extent.Top)))
	}
	return append(out, c.rainEnds()...)
}

// turns returns the times [s] at which steps are to end: stepEnds, and in a plan the rows of
// infiltration, for its columns are not part of the error that a step is held to. Of more
// than mostTurns these are left out: a step takes its mean then.
func (c *Case) turns() []float64 {
	ends := c.stepEnds()
	if c.View != Plan {
		return ends
	}
	all := slices.Clone(ends)
	for _, row := range c.Surface.Infiltration.Series {
		if row.Time > 0 && row.Time < c.Time.Duration {
			all = append(all, row.Time)
		}
	}
	if len(all) > mostTurns {
		return ends
	}
	slices.Sort(all)
	return slices.Compact(all)
}
