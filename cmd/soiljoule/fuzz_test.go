package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"soiljoule/cases"
)

// least is a length that no key refuses as zero.
const least = 0.001

// drawCase draws a case that breaks no rule of a single value, and few of
// several. Its meshes are small: max_cells says so.
func drawCase(data []byte) *drawn {
	c := &drawn{dice: &dice{data: data}, used: map[string]bool{}, beside: map[string]string{}}
	c.usual = []byte{255, 248, 232, 192}[c.upTo(4)]
	// Of the last byte, so that it takes none from the other choices.
	plan := len(data) > 0 && data[len(data)-1]%4 == 3
	late := c.lateDice()
	section := !c.one(2) && !plan
	c.word("title", "Drawn at random")
	if c.one(4) {
		c.word("question", "Does it hold?")
		c.word("note", "Invented scenario.")
	}
	view := "axisymmetric"
	switch {
	case plan:
		view = "plan"
	case section:
		view = "section"
	}
	c.word("view", view)

	duration := c.value(1e-4, 36525, 0.5, 100) // [d]
	dated := c.one(3)
	c.table("time")
	c.quantity("duration", duration, "d")
	if dated {
		c.put("power_on", "2026-05-01")
	}
	c.maybe("tolerance", "K", 0.02, 5, 0.05, 1)

	finest := c.value(0.02, 10, 0.3, 2) // [m]
	c.table("mesh")
	c.quantity("finest", finest, "m")
	c.number("growth", c.value(1.1, 1.3, 1.28, 1.3))
	c.put("max_cells", "3200")
	if view == "axisymmetric" {
		c.maybe("wall", "m", 0.005, 10, 0.05, 0.5)
	}

	c.table("site")
	ambient := c.value(-50, 95, 2, 20)
	c.quantity("ambient", ambient, "degC")
	if c.one(3) {
		c.word("water_table", "none")
	} else {
		c.quantity("water_table", c.value(0, 1000, 0, 6), "m")
	}
	c.maybe("elevation", "m", -500, 6000, 0, 3000)
	c.maybe("resistivity_at", "degC", -5, 100, 10, 30)

	// Layers, and with them how deep everything else may go.
	c.text.WriteString("\n")
	depth, layers := 0.0, 1+c.upTo(4)
	for i := range layers {
		c.table("[layer]")
		c.word("name", fmt.Sprintf("layer %d", i+1))
		if depth += c.length(least, 100, 0.5, 4, 0.5); i < layers-1 || c.one(4) {
			c.quantity("bottom", depth, "m")
		} else {
			depth = math.Max(depth, 10) // it goes on
		}
		c.quantity("resistivity", c.value(1e-3, 1e7, 5, 500), "ohm*m")
		found := c.value(0.01, 20, 0.3, 3)
		c.quantity("thermal_conductivity", found, "W/m/K")
		porosity, saturation := c.value(0, 0.95, 0.05, 0.5), c.value(0, 1, 0.1, 1)
		c.number("porosity", porosity)
		c.number("saturation", saturation)
		// Water alone has some 4.2 MJ/m3/K; now and then it is asked for more.
		water := 4.25 * porosity * saturation
		c.quantity("heat_capacity", math.Min(10, math.Max(c.value(0.05, 10, 1, 3.5), water*c.within(0.98, 1.5))), "MJ/m3/K")
		if c.one(8) {
			c.word("source", "drawn")
		}
		c.maybe("resistivity_at", "degC", -5, 100, 10, 30)
		if c.one(3) {
			c.word("temperature_law", c.either("linear", "viscosity"))
		}
		c.maybe("temperature_coefficient", "1/K", 0, 0.04, 0.01, 0.025)
		c.maybe("saturation_exponent", "", 1, 10, 1.3, 3)
		c.maybe("grain_share", "", 0, 1, 0, 0.5)
		c.maybe("removable_water", "", 0, 1, 0.05, 1)
		c.maybe("residual_conductivity", "", 1e-6, 1, 0.01, 0.5)
		switch c.upTo(6) {
		case 3:
			c.quantity("inflow", c.value(0, 1000, 1e-3, 1), "1/d")
		case 4:
			c.word("inflow", "none")
		case 5:
			c.word("inflow", "unlimited")
		}
		c.maybe("refill_rate", "1/d", 0, 1000, 1e-3, 1)
		c.maybe("dry_saturation", "", 0, 1, 0, 0.2)
		c.drawWetness(late, plan)
		c.maybe("thermal_conductivity_dry", "W/m/K", 0.0001, found, 0.3*found, found)
		if c.one(3) {
			switch c.upTo(5) {
			case 0:
				c.word("kind", "rock")
			case 1:
				c.word("kind", "rock")
				c.word("conductivity_law", c.either("cote-konrad", "johansen", "geometric-mean"))
			case 2:
				c.word("conductivity_law", "johansen")
				c.word("texture", c.either("fine", "sand", "gravel"))
			default:
				c.word("texture", c.either("fine", "sand", "gravel", "peat"))
			}
		}
		if section || plan {
			c.maybe("groundwater", "ft/d", -10, 10, -0.3, 0.3)
		}
		if plan {
			c.maybe("groundwater_direction", "deg", -360, 360, -180, 180)
		}
	}

	interval := func() (top, bottom float64) {
		top = depth * c.length(0, 0.9, 0, 0.6, 0.2)
		return top, top + (depth-top)*c.length(0.01, 1, 0.5, 1, 0.5)
	}
	width := c.length(0.1, 200, 2, 12, 2) // [m] of the first target, or of the cell
	if c.tame() {
		width = math.Max(width, 8*finest)
	}
	c.table("extent")
	risen := depth // how far down steam may be extracted as it rises
	if plan {
		top, bottom := interval()
		risen = top
		interval = func() (float64, float64) { // meets the slab
			return top * c.length(0, 1, 0.5, 1, 0.5), top + (bottom-top)*c.length(0.01, 1, 0.5, 1, 0.5)
		}
		c.quantity("top", top, "m")
		c.quantity("bottom", bottom, "m")
	} else if section {
		c.quantity("length", c.value(least, 10000, 5, 50), "m")
	} else {
		c.quantity("radius", width, "m")
		if c.one(3) {
			c.word("rim", "neutral")
		}
		c.maybe("count", "", 1e-3, 1e5, 1, 40)
	}

	for i := range 1 + c.upTo(5)/2 {
		c.table("[target]")
		c.word("name", fmt.Sprintf("target %d", i+1))
		if plan {
			c.drawFigure(width, float64(i)*width)
		} else {
			top, bottom := interval()
			c.quantity("top", top, "m")
			c.quantity("bottom", bottom, "m")
		}
		if section {
			left := float64(i) * c.length(0, width, 0, width, 1)
			c.quantity("left", left, "m")
			c.quantity("right", left+width*c.length(0.001, 1, 0.5, 1, 0.5), "m")
		} else if !plan && c.one(2) {
			c.quantity("radius", width*c.length(0.01, 1, 0.25, 1, 0.25), "m")
		}
		if c.one(3) {
			c.word("temperature", "boiling")
		} else {
			c.quantity("temperature", c.value(-50, 400, 30, 100), "degC")
		}
		c.maybe("share", "", 1e-6, 1, 0.5, 1)
		c.maybe("hold", "d", 0, 36525, 0, 30)
	}

	heated := c.one(6) // by bodies of set power
	if !heated || !c.one(2) {
		if plan {
			c.drawRods(width, finest, interval)
		} else {
			c.drawElectrodes(section, width, depth, finest, duration, interval)
		}
		for range c.upTo(4) {
			c.table("[change]")
			c.quantity("at", math.Min(36525, duration*c.value(0, 2, 0, 1)), "d")
			if on := c.either("true", "false"); c.used["supply.metered"] {
				c.quantity("voltage", 200, "V") // a metered power is not switched
			} else if c.put("on", on); c.one(2) {
				c.quantity("voltage", c.value(0, 50000, 20, 400), "V")
			}
			if c.one(3) {
				c.word("electrode", c.first)
			} else {
				c.maybe("power_limit", "kW", 1e-6, 1e6, 1, 200)
				c.maybe("kva_limit", "kVA", 1e-6, 1e6, 1, 200)
			}
			c.maybe("current_limit", "A", 1e-6, 1e6, 1, 200)
		}
		c.drawControl()
	}
	if c.first != "" && c.one(4) && plan {
		c.drawPlanMetal(width, finest)
	} else if c.first != "" && c.one(4) {
		c.drawConductors(section, width, finest, interval)
	}
	if heated {
		c.drawHeats(view, width, depth, duration, finest, interval)
	}

	c.table("surface")
	c.drawAir(dated, duration)
	c.maybe("film", "W/m2/K", 1e-6, 1e6, 3, 30)
	c.maybe("cover", "m2*K/W", 0, 1000, 0, 3)
	c.drawRain(duration)

	for i := range c.upTo(3) {
		c.table("[sensor]")
		c.word("name", fmt.Sprintf("string %d", i+1))
		key := "x"
		if !section && !plan {
			key = "r"
		}
		c.quantity(key, width*c.within(0, 1), "m")
		if plan {
			c.quantity("y", width*c.within(0, 1), "m")
		} else if z := c.within(0, depth); c.one(2) {
			c.quantity("depth", z, "m")
		} else {
			c.put("depth", fmt.Sprintf(`["0 m", "%s m"]`, short(z/2+least)))
		}
	}
	if c.one(3) {
		c.table("steam")
		c.put("boiling", c.either("true", "false"))
		c.quantity("vacuum", c.value(0, 110, 0, 60), "kPa")
		c.drawFate(late, risen)
	}
	c.drawWater(late, duration)
	if c.one(3) {
		c.table("domain")
		if (section || plan) && c.one(2) {
			c.quantity("left", -20-c.within(0, 500), "m")
			c.quantity("right", 1000+c.within(0, 500), "m")
		}
		if plan && !c.one(4) {
			c.quantity("front", -20-c.within(0, 500), "m")
			c.quantity("back", 1000+c.within(0, 500), "m")
		}
		if plan && c.one(2) {
			c.quantity("duration", c.value(0.01, 36525, 1, 300), "d")
		}
		if c.one(2) {
			c.quantity("bottom", depth*(1+c.value(1e-3, 3, 0.05, 1)), "m")
		}
		if c.one(2) {
			c.quantity("below", c.value(-50, 400, 5, 20), "degC")
		}
		if (section || plan) && c.one(2) {
			c.quantity("sides", c.value(-50, 400, 5, 20), "degC")
		}
	}
	c.table("output")
	c.quantity("fields_every", math.Max(duration*c.within(0.2, 1), 1e-6), "d")
	if c.one(2) {
		c.put("fields_at", fmt.Sprintf(`["%s d", "0 d"]`, short(duration*c.within(0, 0.9))))
	}
	if c.one(2) {
		c.word("units", "us")
	}
	c.figures = c.one(8)
	return c
}

// drawElectrodes writes the supply, and an array or electrodes by hand.
func (c *drawn) drawElectrodes(section bool, width, depth, finest, duration float64, interval func() (top, bottom float64)) {
	phases := []int{1, 3, 6}[c.upTo(3)]
	letters := "ABCDEF"[:max(2, phases)]
	c.table("supply")
	c.put("phases", strconv.Itoa(phases))
	c.quantity("voltage", c.value(0, 50000, 20, 400), "V")
	basis := "phase to neutral"
	if phases < 6 && c.one(2) {
		basis = "phase to phase"
	}
	c.word("voltage_basis", basis)
	c.maybe("power_limit", "kW", 1e-6, 1e6, 1, 200)
	c.maybe("current_limit", "A", 1e-6, 1e6, 1, 200)
	c.maybe("kva_limit", "kVA", 1e-6, 1e6, 1, 200)
	switch c.upTo(6) {
	case 4:
		c.beside["outages.csv"] = c.drawOutages(duration)
		c.word("outages", "outages.csv")
	case 5:
		c.beside["metered.csv"] = c.series("time_h,power_kW", duration, 24, func() float64 { return c.value(0, 1e6, 0.1, 50) })
		c.word("metered", "metered.csv")
		c.maybe("delivered_share", "", 1e-3, 1, 0.8, 1)
	}
	switch c.upTo(6) {
	case 4:
		c.word("off", "held")
	case 5:
		c.quantity("off", duration*c.value(0.01, 2, 0.3, 0.9), "d")
	}
	grounded := c.one(3)
	if grounded {
		c.word("neutral", "grounded")
	}

	array := func() {
		c.table("[array]")
		c.word("pattern", c.either("triangular", "rectangular"))
		spacing := c.value(0.5, 100, 2, 6)
		if section {
			spacing = math.Min(spacing, width/2)
		}
		if c.tame() {
			spacing = math.Max(spacing, 2.5*finest)
		}
		c.quantity("spacing", spacing, "m")
		top, bottom := interval()
		c.quantity("top", top, "m")
		c.quantity("bottom", bottom, "m")
		c.quantity("radius", math.Min(c.value(least, 10, 0.02, 0.3), math.Min(spacing/7, width/3)), "m")
		if c.one(4) {
			c.maybe("voltage", "V", 0, 50000, 20, 400)
		}
		c.first = c.either("E", "E1")
		if c.one(3) {
			c.word("name", "R")
			c.first = "R1"
		}
		c.maybe("outboard", "m", 0, 20, 0, 3)
	}
	if c.one(3) {
		array()
	} else if section {
		x := c.within(-2, 2)
		for i := range 2 + c.upTo(3) {
			c.table("[electrode]")
			c.word("name", fmt.Sprintf("rod %d", i+1))
			c.first = "rod 1"
			phase := string(letters[i%len(letters)])
			if grounded && c.one(5) {
				phase = "N"
			} else {
				c.drawOwn()
			}
			c.word("phase", phase)
			top, bottom := interval()
			c.quantity("top", top, "m")
			c.quantity("bottom", bottom, "m")
			if size := c.value(least, 2, 0.02, 0.3); c.one(3) {
				x += size/2 + 0.001
				c.quantity("x", x, "m")
				c.quantity("width", size, "m")
				x += size / 2
			} else {
				x += size + 0.001
				c.quantity("x", x, "m")
				c.quantity("radius", size, "m")
				c.quantity("rod_spacing", math.Min(1000, size*c.value(6.3, 1e4, 10, 60)), "m")
				c.maybe("rod_offset", "m", -1000, 1000, 0, 5)
				x += size
			}
			c.maybe("contact_resistance", "ohm*m2", 0, 1e6, 0.01, 10)
			gap := c.length(least, 50, 1, 4, 1)
			if c.tame() {
				gap = math.Max(gap, 2*finest)
			}
			x += gap
		}
	} else {
		// One below the other on the axis.
		at := 0.0
		for i := range 1 + c.upTo(3) {
			c.table("[electrode]")
			c.word("name", fmt.Sprintf("rod %d", i+1))
			c.first = "rod 1"
			c.word("phase", string(letters[i%len(letters)]))
			c.drawOwn()
			top := at + (depth-at)*c.value(0, 0.5, 0.02, 0.3)
			at = top + (depth-top)*c.value(0.01, 1, 0.1, 0.6)
			c.quantity("top", top, "m")
			c.quantity("bottom", at, "m")
			c.quantity("radius", math.Min(c.value(least, 10, 0.02, 0.3), width/3), "m")
			c.maybe("contact_resistance", "ohm*m2", 0, 1e6, 0.01, 10)
			if at >= depth*(1-1e-6) {
				break
			}
			at += (depth - at) * 0.01
		}
	}
}

// drawOutages draws the rows of a file of outages.
func (c *drawn) drawOutages(duration float64) string {
	var b strings.Builder
	b.WriteString("from_h,to_d\n")
	at := -duration * c.within(0, 0.2)
	for range 1 + c.upTo(4) {
		from := at + duration*c.within(0, 0.3)
		at = from + duration*c.within(0.001, 0.2)
		fmt.Fprintf(&b, "%.12g,%.12g\n", from*24, at)
	}
	return b.String()
}

// drawControl writes a thermostat, every fourth time.
func (c *drawn) drawControl() {
	if c.used["supply.metered"] || !c.one(4) {
		return
	}
	c.table("control")
	c.quantity("setpoint", c.value(-50, 400, 20, 90), "degC")
	c.maybe("deadband", "K", 0.05, 100, 0.1, 3)
	if c.one(2) {
		c.word("follow", c.either("mean", "coldest"))
	}
}

// drawOwn writes what an electrode may have of its own.
func (c *drawn) drawOwn() {
	if c.one(4) {
		c.maybe("voltage", "V", 0, 50000, 20, 400)
		c.maybe("current_limit", "A", 1e-6, 1e6, 1, 200)
	}
}

// drawConductors writes buried metal.
func (c *drawn) drawConductors(section bool, width, finest float64, interval func() (top, bottom float64)) {
	for i := range 1 + c.upTo(2) {
		c.table("[conductor]")
		c.word("name", fmt.Sprintf("pipe %d", i+1))
		finest := 1.001 * finest // what is written is rounded
		top, bottom := interval()
		c.quantity("top", top, "m")
		c.quantity("bottom", math.Max(bottom, top+finest), "m")
		if size := math.Max(finest, c.length(least, 5, 0.5, 2, 0.5)); section {
			left := -9 - 12*float64(i)
			c.quantity("left", left, "m")
			c.quantity("right", left+math.Min(size, math.Max(2, finest)), "m")
		} else {
			inner := width * (0.34 + 0.36*float64(i))
			c.quantity("inner_radius", inner, "m")
			c.quantity("radius", inner+math.Max(width*0.05, finest), "m")
		}
	}
}

// drawHeats writes bodies of set power, beside the electrodes.
func (c *drawn) drawHeats(view string, width, depth, duration, finest float64, interval func() (top, bottom float64)) {
	for i := range 1 + c.upTo(2) {
		c.table("[heat]")
		c.word("name", fmt.Sprintf("heater %d", i+1))
		if view == "plan" {
			c.drawFigure(width, -width*float64(i))
			c.drawPower(i, duration)
			continue
		}
		top, bottom := interval()
		finest := 1.001 * finest // what is written is rounded
		if c.tame() {
			top = math.Max(0, math.Min(top, depth-finest))
		}
		c.quantity("top", top, "m")
		c.quantity("bottom", math.Max(bottom, top+finest), "m")
		if size := math.Max(finest, c.length(least, 5, 0.5, 2, 0.5)); view == "section" {
			left := -12 - 12*float64(i)
			c.quantity("left", left, "m")
			c.quantity("right", left+size, "m")
		} else {
			inner := width * (0.4 + 0.3*float64(i))
			c.quantity("inner_radius", inner, "m")
			c.quantity("radius", inner+math.Min(width*0.28, math.Max(width*0.2, finest)), "m")
		}
		if c.one(3) {
			c.quantity("thermal_conductivity", c.value(0.01, 1e6, 1, 50), "W/m/K")
			c.quantity("heat_capacity", c.value(0.001, 10, 1, 4), "MJ/m3/K")
		}
		c.drawPower(i, duration)
	}
}

// drawPower writes the power of the i-th body, one or a series.
func (c *drawn) drawPower(i int, duration float64) {
	power := func() float64 { return c.value(0, 1e6, 0.1, 50) }
	if c.one(2) {
		c.quantity("power", power(), "kW")
		return
	}
	head, factor := "time_d,power_kW", 1.0
	switch c.upTo(3) {
	case 1:
		head, factor = "time_h,power_W", 24
	case 2:
		head, factor = "time_s,power_kW", 86400
	}
	name := fmt.Sprintf("power-%d.csv", i+1)
	c.beside[name] = c.series(head, duration, factor, power)
	c.word("power", name)
}

// series draws the rows of a series file: times from before the start, which are
// given in days and written in head's unit, and values.
func (c *drawn) series(head string, duration, perDay float64, value func() float64) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	at := -duration * c.within(0, 0.5)
	for range 1 + c.upTo(12) {
		fmt.Fprintf(&b, "%.12g,%.6g\n", at*perDay, value())
		at += 1e-5 + duration*c.within(0, 0.3)
	}
	if at = math.Max(at, duration*1.01); !c.one(8) {
		fmt.Fprintf(&b, "%.12g,%.6g\n", at*perDay, value())
	}
	return b.String()
}

// drawAir writes surface.air in one of its three forms.
func (c *drawn) drawAir(dated bool, duration float64) {
	temperature := func() float64 { return c.value(-90, 60, -10, 30) }
	switch form := c.upTo(3); {
	case form == 1 && dated:
		var months []string
		for range 12 {
			months = append(months, strconv.Quote(short(temperature())+" degC"))
		}
		c.put("air", "["+strings.Join(months, ", ")+"]")
	case form == 2:
		head, shift, factor := "air_C", 0.0, 1.0
		switch c.upTo(3) {
		case 1:
			head, shift, factor = "air_F", 32, 1.8
		case 2:
			head, shift = "air_K", 273.15
		}
		c.beside["air.csv"] = c.series("time_d,"+head, duration, 1, func() float64 { return temperature()*factor + shift })
		c.word("air", "air.csv")
	default:
		c.quantity("air", temperature(), "degC")
	}
}

// drawRain writes surface.infiltration, every third time, in one of its two forms.
func (c *drawn) drawRain(duration float64) {
	if !c.one(3) {
		return
	}
	rate := func() float64 { return c.value(0, 40, 0, 0.2) } // [in/d]
	if c.one(2) {
		c.quantity("infiltration", rate(), "in/d")
		return
	}
	head, factor := "infiltration_in_per_d", 1.0
	switch c.upTo(3) {
	case 1:
		head, factor = "infiltration_mm_per_d", 25.4
	case 2:
		head, factor = "infiltration_m_per_s", 0.0254/86400
	}
	c.beside["infiltration.csv"] = c.series("time_d,"+head, duration, 1, func() float64 { return rate() * factor })
	c.word("infiltration", "infiltration.csv")
}

// mostSteps is how many steps a drawn case may take, refused ones included. Steps
// follow what happens: some hundred for a heating, fifty a year where the air has
// seasons, and every wall cell that dries adds some ten.
const mostSteps = 50000

// longest is how long a drawn case may run before it is interrupted, as by a user:
// what it leaves must be whole all the same. It must then end within a step, and a
// step of 3200 cells takes milliseconds.
const longest = 4 * time.Second

// runDrawn runs a drawn case as a user would and looks into every file that it
// leaves. It returns what was said.
func runDrawn(t *testing.T, c *drawn) outcome {
	t.Helper()
	text := c.text.String()
	dir := t.TempDir()
	path := write(t, dir, "drawn.toml", text)
	for name, rows := range c.beside {
		write(t, dir, name, rows)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer time.AfterFunc(longest, cancel).Stop()
	defer cancel()
	started := time.Now()
	var stdout, stderr bytes.Buffer
	out := filepath.Join(dir, "out")
	args := []string{"run", path, "-o", out, "-q"}
	if !c.figures {
		args = append(args, "--no-figures")
	}
	code := run(ctx, args, &stdout, &stderr)
	o := outcome{code, stdout.String(), strings.ReplaceAll(stderr.String(), dir+"/", "")}
	if took := time.Since(started); took > 10*longest {
		t.Fatalf("the run took %v though it was interrupted after %v: %s\n%s", took, longest, o.err, text)
	}
	// check takes what run takes, refuses what it refuses, and writes JSON, which no
	// number that is none would let it.
	checked := call(t, "check", path, "--json")
	// What cannot be solved cold fails in both.
	if checked.code == failed && o.code != failed {
		t.Fatalf("check fails with %q and run ends with %d\n%s", checked.err, o.code, text)
	}
	if refused := checked.code == wrong; refused != (o.code == wrong) || strings.ReplaceAll(checked.err, dir+"/", "") != o.err && refused {
		t.Fatalf("check ended with %d and says %q, run with %d and %q\n%s", checked.code, checked.err, o.code, o.err, text)
	}
	switch o.code {
	case wrong:
		if _, err := os.Stat(out); err == nil {
			t.Fatalf("a refused case left a folder; it said %s\n%s", o.err, text)
		}
	case failed:
		// A run that ends early says when, where the ground melts, or what it could
		// not solve; anything else is a fault of the program.
		if !strings.Contains(o.err, "t = ") || strings.Contains(o.err, "ledger is open") {
			t.Fatalf("the run failed: %s\n%s", o.err, text)
		}
		if checked.code == failed { // before anything was recorded
			break
		}
		wholeFolder(t, out, text)
	case done, interrupted:
		wholeFolder(t, out, text)
	default:
		t.Fatalf("exit code %d: %s\n%s", o.code, o.err, text)
	}
	if o.err == "" || strings.Contains(o.err+o.out, "NaN") {
		t.Fatalf("the run says on stderr %q and on stdout\n%s\n%s", o.err, o.out, text)
	}
	return o
}

// seeds are the drawn cases of every test run.
const seeds = 24

// seed returns the i-th of endless random bytes.
func seed(i uint64) []byte {
	r := rand.New(rand.NewPCG(i, 7))
	data := make([]byte, 352)
	for k := 0; k < len(data); k += 8 {
		binary.LittleEndian.PutUint64(data[k:], r.Uint64())
	}
	return data
}

// FuzzRun: whatever case its bytes draw, with any keys at any values that they
// allow, the whole program neither panics nor hangs nor writes a number that is
// none, and either its ledger is closed or it says why there is no result.
func FuzzRun(f *testing.F) {
	n := seeds
	if testing.Short() {
		n = 4
	}
	for i := range n {
		f.Add(seed(uint64(i)))
	}
	// A layer a millimetre thick, one electrode alone, whose power is rounding and may be below 0, and water added as warm
	// as ground that is above its boiling point as found.
	for _, i := range []uint64{20961, 30776, 40953} {
		f.Add(seed(i))
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) { runDrawn(t, drawCase(data)) })
}

// accepted says whether the program takes a drawn case: it is read, and its problem
// built.
func accepted(t *testing.T, c *drawn) bool {
	t.Helper()
	dir := t.TempDir()
	path := write(t, dir, "drawn.toml", c.text.String())
	for name, rows := range c.beside {
		write(t, dir, name, rows)
	}
	read, err := cases.Load(path, nil)
	if err != nil {
		return false
	}
	whole, _ := read.Expand()
	_, err = whole.Build()
	return err == nil
}

// TestDrawnCasesUseEveryKey: the cases that FuzzRun draws leave no key out, counting
// those alone that the program takes: half of them or more, of the seeds too, since a
// refused case says nothing of a run.
func TestDrawnCasesUseEveryKey(t *testing.T) {
	if !long {
		t.Skip("draws thousands of cases: make validate does")
	}
	var list bytes.Buffer
	if err := cases.WriteKeysMarkdown(&list); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	const most = 300
	taken := 0
	for i := range most {
		c := drawCase(seed(uint64(i)))
		if accepted(t, c) {
			taken++
			for key := range c.used {
				used[key] = true
			}
		}
		if n := i + 1; (n == seeds || n == most) && 2*taken < n {
			t.Errorf("of %d drawn cases the program takes %d, want half of them or more", n, taken)
		}
	}
	t.Logf("%d of %d drawn cases are taken", taken, most)
	section := ""
	for _, line := range strings.Split(list.String(), "\n")[2:] {
		columns := strings.SplitN(line, "|", 4)
		if len(columns) < 4 {
			continue
		}
		if s := strings.Trim(columns[1], " `[]"); s != "" {
			section = s + "."
		}
		if key := strings.TrimPrefix(section+strings.Trim(columns[2], " `"), "top."); !used[key] {
			t.Errorf("no drawn case has the key %s", key)
		}
	}
}
