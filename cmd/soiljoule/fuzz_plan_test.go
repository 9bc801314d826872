package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// drawFigure writes where a target or a body lies in a plan, some way along y: corners
// in turn round a middle, so that the outline does not cross itself, or a circle.
func (c *drawn) drawFigure(width, along float64) {
	x, y := width*c.within(0.3, 0.7), along+width*c.within(0.3, 0.7)
	size := func() float64 { return width * c.length(0.01, 1, 0.3, 0.6, 0.3) }
	if c.one(2) {
		c.put("center", fmt.Sprintf(`["%s m", "%s m"]`, short(x), short(y)))
		c.quantity("radius", size(), "m")
		return
	}
	n := 3 + c.upTo(5)
	var corners []string
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + c.within(0, 0.8)) / float64(n))
		r := size()
		corners = append(corners, fmt.Sprintf(`["%s m", "%s m"]`, short(x+r*cos), short(y+r*sin)))
	}
	c.put("outline", "["+strings.Join(corners, ", ")+"]")
}

// drawPlanMetal writes buried metal of a plan, beyond the electrodes, some of it a strip
// about as thick as a cell.
func (c *drawn) drawPlanMetal(width, finest float64) {
	along := 3*width + 25
	for i := range 1 + c.upTo(2) {
		c.table("[conductor]")
		c.word("name", fmt.Sprintf("pipe %d", i+1))
		size := math.Max(1.001*finest, width*c.length(0.01, 0.5, 0.1, 0.3, 0.2))
		if c.one(2) {
			c.put("center", fmt.Sprintf(`["%s m", "%s m"]`, short(width*c.within(0, 1)), short(along+size)))
			c.quantity("radius", size, "m")
		} else {
			left, right, front, back := short(-size), short(width+size), short(along), short(along+math.Max(1.001*finest, size*c.within(0, 0.2)))
			c.put("outline", fmt.Sprintf(`[["%[1]s m", "%[3]s m"], ["%[2]s m", "%[3]s m"], ["%[2]s m", "%[4]s m"], ["%[1]s m", "%[4]s m"]]`, left, right, front, back))
		}
		along += 2*size + 3*finest
	}
}

// drawRods writes the supply of a plan, and an array or electrodes by hand.
func (c *drawn) drawRods(width, finest float64, interval func() (top, bottom float64)) {
	phases := []int{1, 3, 6}[c.upTo(3)]
	letters := "ABCDEF"[:max(2, phases)]
	c.table("supply")
	c.put("phases", strconv.Itoa(phases))
	c.quantity("voltage", c.value(0, 50000, 20, 400), "V")
	c.word("voltage_basis", "phase to neutral")
	c.maybe("power_limit", "kW", 1e-6, 1e6, 1, 200)
	grounded := c.one(3)
	if grounded {
		c.word("neutral", "grounded")
	}
	shape := func(radius float64) {
		top, bottom := interval()
		c.quantity("top", top, "m")
		c.quantity("bottom", math.Max(bottom, top+0.002), "m")
		c.quantity("radius", radius, "m")
	}
	if c.one(3) {
		for i := range 2 + c.upTo(5) {
			c.table("[electrode]")
			c.word("name", fmt.Sprintf("rod %d", i+1))
			c.word("phase", string(letters[i%len(letters)]))
			c.quantity("x", width*(float64(i)+c.within(0, 0.5))/6, "m")
			c.quantity("y", width*c.within(0, 1), "m")
			shape(math.Min(c.value(least, 10, 0.02, 0.3), width/30))
			c.maybe("contact_resistance", "ohm*m2", 0, 1e6, 0.01, 10)
			c.drawOwn()
		}
		c.first = "rod 1"
		return
	}
	c.table("[array]")
	c.first = "E1"
	if c.one(2) {
		c.word("pattern", "ring")
		c.put("center", fmt.Sprintf(`["%s m", "%s m"]`, short(width*c.within(0.3, 0.7)), short(width*c.within(0.3, 0.7))))
		diameter := width * c.length(0.05, 2, 0.3, 1, 0.3)
		c.quantity("diameter", diameter, "m")
		if c.one(2) {
			c.put("count", strconv.Itoa(len(letters)*(1+c.upTo(3))))
		}
		if grounded && c.one(2) {
			c.put("center_neutral", "true")
		}
		shape(math.Max(least, math.Min(c.value(least, 10, 0.02, 0.3), diameter/20)))
		return
	}
	c.word("pattern", c.either("triangular", "rectangular"))
	spacing := math.Min(1000, math.Max(c.value(0.5, 100, 2, 6), width/8))
	c.quantity("spacing", spacing, "m")
	c.maybe("outboard", "m", 0, 20, 0, 3)
	shape(math.Min(c.value(least, 10, 0.02, 0.3), spacing/3))
}
