package main

import (
	"fmt"
	"math"

	"soiljoule/cases"
	"soiljoule/materials"
)

// boilRow is the boiling point at one place, at power-on and at its least and highest
// during the run.
type boilRow struct {
	Place    string  `json:"place"`
	DepthM   float64 `json:"depth_m"`
	StartC   float64 `json:"at_power_on_C"`
	LeastC   float64 `json:"least_C"`
	LeastDay float64 `json:"least_on_day"`
	MostC    float64 `json:"most_C"`
	MostDay  float64 `json:"most_on_day"`
}

// boils lists the boiling points at the ends of the first target, in a plan in the
// slab's middle, and where there is a water table at that of power-on, the
// highest and the deepest.
func (r *checked) boils(c *cases.Case) {
	if !c.Steam.Boiling {
		return
	}
	add := func(place string, z float64) {
		least, leastAt, most, mostAt := c.BoilingRange(z)
		r.Boils = append(r.Boils, boilRow{place, z, c.BoilingPoint(z, 0) - materials.Celsius,
			least - materials.Celsius, leastAt / 86400, most - materials.Celsius, mostAt / 86400})
	}
	if t := &c.Targets[0]; c.View == cases.Plan {
		add("the slab's middle", (c.Extent.Top+c.Extent.Bottom)/2)
	} else {
		add("the top of "+t.Name, t.Top)
		add("the bottom of "+t.Name, t.Bottom)
	}
	start := c.TableAt(0)
	if math.IsInf(start, 1) {
		return
	}
	add("the water table of power-on", start)
	high, highAt, low, lowAt := c.TableRange()
	if high < start {
		add(fmt.Sprintf("the highest water table, of day %.4g", highAt/86400), high)
	}
	if low > start {
		add(fmt.Sprintf("the deepest water table, of day %.4g", lowAt/86400), low)
	}
}

// printBoils lists them.
func (r *checked) printBoils(line func(string, ...any), u units) {
	for _, b := range r.Boils {
		text := fmt.Sprintf("water boils at %s at %s, %s deep", u.tenths(b.StartC), b.Place, u.length(b.DepthM))
		if b.MostC > b.LeastC {
			text = fmt.Sprintf("water boils at %s on day 0, between %s on day %.4g and %s on day %.4g, at %s, %s deep",
				u.tenths(b.StartC), u.tenths(b.LeastC), b.LeastDay, u.tenths(b.MostC), b.MostDay, b.Place, u.length(b.DepthM))
		}
		line("%s", text)
	}
}
