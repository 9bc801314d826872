package main

import (
	"math"
	"slices"
)

// lateDice returns dice of the same bytes from their end, so that what is drawn with them
// moves no other choice.
func (d *dice) lateDice() *dice {
	data := slices.Clone(d.data)
	slices.Reverse(data)
	return &dice{data: data, at: 1, usual: d.usual}
}

// drawWetness writes what a layer keeps of its water, and whether it stops steam.
func (c *drawn) drawWetness(late *dice, plan bool) {
	if late.one(4) {
		c.number("field_capacity", math.Max(1e-6, late.value(0, 1, 0.3, 0.9)))
	}
	if !plan && late.one(6) {
		c.put("steam_barrier", late.either("false", "true"))
	}
}

// drawFate writes where steam goes, and where it is extracted as it rises: between the
// surface and a depth [m].
func (c *drawn) drawFate(late *dice, depth float64) {
	c.word("fate", late.either("extracted", "rising"))
	if depth < 4*least || late.one(2) {
		return
	}
	top := depth * late.within(0, 0.7)
	c.quantity("top", top, "m")
	c.quantity("bottom", top+math.Max(2*least, (depth-top)*late.within(0, 0.99)), "m")
	if late.one(2) {
		c.number("capture_share", late.value(0, 1, 0.5, 1))
	}
}

// drawWater writes water added at the first electrode, one time in three.
func (c *drawn) drawWater(late *dice, duration float64) {
	if c.first == "" || !late.one(3) {
		return
	}
	for range 1 + late.upTo(2) {
		c.table("[water_added]")
		c.word("electrode", c.first)
		c.quantity("rate", late.value(0, 10000, 0.05, 5), "L/min")
		// Left out, water is as the ground, which may be ice.
		if !late.one(4) {
			c.quantity("temperature", late.value(0, 180, 2, 60), "degC")
		}
		from := 0.0
		if late.one(2) {
			from = math.Min(36000, duration*late.within(0, 0.8))
			c.quantity("from", from, "d")
		}
		if late.one(2) {
			c.quantity("to", math.Min(36525, from+math.Max(1e-3, duration*late.within(0, 0.5))), "d")
		}
	}
}
