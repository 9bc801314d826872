package cases

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"soiljoule/materials"
	"soiljoule/physics"
)

// Cautions returns what every output of an expanded case must carry: the
// hazards that the numbers do not clear, then what the view and the model leave
// out of this case, one line each.
func (c *Case) Cautions() []string {
	out := []string{
		"Estimates of heat and current for design review. They clear nothing: local codes and licensed practice decide.",
	}
	out = append(out, c.voltageCaution()...)
	out = append(out,
		c.surfaceCaution(),
		"Steam and hot water under pressure, hot ground near utilities and footings, vapour towards buildings: not assessed here.",
		"Not modelled: dipping layers (run the high and the low log as two cases), fractures, "+c.stillWater()+"buoyant flow, freezing, the 4 % by which water expands.",
	)
	out = append(out, c.rockCaution()...)
	out = append(out, c.flowCautions()...)
	if len(c.Electrodes) > 0 {
		out = append(out, c.lawCaution())
	}
	out = append(out, c.heatCaution()...)
	out = append(out, c.ownCautions()...)
	out = append(out, c.steamCautions()...)
	for _, e := range c.Electrodes {
		if e.Width > 0 || c.View == Axisymmetric {
			out = append(out, "A bore or plate conducts heat and holds water as the layer it stands in.")
			break
		}
	}
	switch {
	case c.View == Plan:
		out = append(out, c.planCautions()...)
	case len(c.Electrodes) == 0:
	case c.View == Section:
		out = append(out, "A section says nothing of what happens between two rods of one row, nor of dry-out at a rod's wall.")
		out = append(out, c.rowCautions()...)
		of := "rows"
		if slices.ContainsFunc(c.Electrodes, func(e Electrode) bool { return e.Width > 0 }) {
			of = "rows and plates"
		}
		out = append(out, c.phaseCautions(of)...)
	default:
		if c.Extent.Rim == "neutral" {
			out = append(out, "An axisymmetric cell stands for one rod against a 0 V rim: the phases' pattern and flow between cells do not appear; current is 2 to 3 % high.")
		}
		out = append(out, c.wallCautions()...)
	}
	if c.Supply.Neutral == "grounded" && len(c.Electrodes) > 0 && !c.onNeutral() {
		out = append(out, "supply.neutral = \"grounded\" changes nothing: no electrode is on the neutral (phase N).")
	}
	out = append(out, c.lateCaution()...)
	out = append(out, c.idleCaution()...)
	out = append(out, c.controlCautions()...)
	out = append(out, c.offCautions()...)
	out = append(out, c.pressureCautions()...)
	out = append(out, c.targetCautions()...)
	out = append(out, c.beyondCautions()...)
	out = append(out, c.goalCautions()...)
	out = append(out, c.freezingCaution()...)
	out = append(out, c.inputCautions()...)
	return append(out, c.unusual()...)
}

// voltageCaution tells the voltage that electrodes reach, wherever power flows.
func (c *Case) voltageCaution() []string {
	const guard = "lethal. Live parts at 50 V or more must be guarded (29 CFR 1910.303(g)(2)(i))."
	if c.Supply.Metered.File != "" && len(c.Electrodes) > 0 {
		return []string{"Electrodes reach the voltage that the metered power asks for, whatever supply.voltage is; a run's summary tells the highest: " + guard}
	}
	volts := 0.0
	settings := c.settings()
	for i := range settings {
		most, _ := c.reached(&settings[i])
		volts = math.Max(volts, most)
	}
	if volts > 0 {
		between := ""
		if most := c.mostBetween(volts); most > volts {
			between = fmt.Sprintf(", %.0f V between two of them", most)
		}
		return []string{fmt.Sprintf("Electrodes reach %.0f V RMS phase to neutral%s: ", volts, between) + guard}
	}
	return nil
}

// surfaceCaution says what is known of the voltages that people meet: those along the
// ground's surface, in the views that have one.
func (c *Case) surfaceCaution() string {
	if len(c.Electrodes) == 0 || c.View != Section && c.View != Axisymmetric {
		return "Step, touch and stray voltages are not computed; a qualified person measures them on site before anyone enters."
	}
	return "Voltages along the ground's surface are for screening only: " + c.SurfaceLeavesOut() +
		". Touch and stray voltages are not computed. A qualified person measures all of them on site before anyone enters; local codes decide."
}

// SurfaceLeavesOut says what is not in the voltages along the ground's surface that a
// run of the case tells.
func (c *Case) SurfaceLeavesOut() string {
	out := "bare metal, casings, pipes and wet ground are left out"
	if len(c.Conductors) > 0 {
		out = "other metal than the named and wet ground are left out"
	}
	switch {
	case c.View == Axisymmetric:
		return "one rod's alone; its neighbours' phases, " + out
	case slices.ContainsFunc(c.Electrodes, func(e Electrode) bool { return e.RodSpacing > 0 }):
		return "rods of a row are averaged along it, and the step is larger near a rod that reaches close to the surface; " + out
	}
	return out
}

// freezingCaution names what begins or is held below 0 °C, which no law here follows.
func (c *Case) freezingCaution() []string {
	var cold []string
	note := func(what string, kelvin float64) {
		if kelvin < materials.Celsius-1e-6 {
			first, second := c.order(temperatures("%.4g", kelvin))
			cold = append(cold, what+" ("+first+", "+second+")")
		}
	}
	note("the ground at the start", c.Site.Ambient)
	note("the air", c.coldestAir())
	if !c.Domain.Below.Insulated {
		note("domain.below", c.Domain.Below.Temperature)
	}
	if c.View != Axisymmetric && !c.Domain.Sides.Insulated {
		note("domain.sides", c.Domain.Sides.Temperature)
	}
	if cold == nil {
		return nil
	}
	return []string{"Below " + c.toldTemperature("%.4g", materials.Celsius) + ": " + list(cold, "and") + ". Ground below that is computed as if its water were liquid: freezing is not modelled, so the heat that ice takes to melt and its resistivity are left out."}
}

// coldestAir returns the lowest air temperature of the run [K].
func (c *Case) coldestAir() float64 {
	if a := c.Surface.Air.Monthly; len(a) > 0 {
		return slices.Min(a)
	}
	low := math.Min(c.airAt(0), c.airAt(c.Time.Duration))
	for _, p := range c.Surface.Air.Series {
		if p.Time > 0 && p.Time < c.Time.Duration {
			low = math.Min(low, p.Temperature)
		}
	}
	return low
}

// inputCautions names input that runs but is likely not what was meant.
func (c *Case) inputCautions() []string {
	var out []string
	for _, l := range c.Layers {
		if l.Bottom > c.Site.WaterTable && l.Saturation < 0.98 {
			out = append(out, fmt.Sprintf("Layer %q reaches below the water table but is found at saturation %.3g: its resistivity and heat capacity are taken at that.", l.Name, l.Saturation))
		}
	}
	if s := c.Surface.Air.Series; len(s) > 0 {
		if end := s[len(s)-1].Time; end < c.Time.Duration*(1-1e-9) {
			out = append(out, fmt.Sprintf("The rows of surface.air end on day %.4g: the last one holds on to day %.4g.", end/86400, c.Time.Duration/86400))
		}
	}
	if c.View == Plan { // electrodes that miss the slab are refused
		return out
	}
	heated := false
	for _, e := range c.Electrodes {
		t := c.Targets[0]
		heated = heated || e.Top < t.Bottom && e.Bottom > t.Top
	}
	for _, h := range c.Heats {
		t := c.Targets[0]
		heated = heated || h.Top < t.Bottom && h.Bottom > t.Top
	}
	if !heated {
		what := "electrode"
		if len(c.Heats) > 0 {
			what = "electrode and no body of set power"
		}
		out = append(out, fmt.Sprintf("No %s reaches into the depths of %q.", what, c.Targets[0].Name))
	}
	return out
}

// lawCaution says which laws of conductivity the layers follow, and that both are
// extrapolated above 30 °C.
func (c *Case) lawCaution() string {
	linear, viscosity := 0, 0
	for i := range c.Layers {
		if c.Layers[i].TemperatureLaw == "viscosity" {
			viscosity++
		} else {
			linear++
		}
	}
	which := "linear in temperature"
	switch {
	case linear == 0:
		which = "that of the water's viscosity"
	case viscosity > 0:
		which = fmt.Sprintf("linear in %d layers, that of the water's viscosity in %d", linear, viscosity)
	}
	return "Electrical conductivity rises by a law measured up to " + c.told("86 °F", "30 °C") + " and extrapolated beyond, here " + which +
		": from " + c.told("77 to 212 °F", "25 to 100 °C") + " the linear law gives 2.4 times at 0.0187 1/K, viscosity 3.2. Run both."
}

// shortestTested is the least length of rods, as a share of their spacing in the row,
// at which the row correction is held against three dimensions (validation).
const shortestTested = 0.23

// wholeRods returns the rods that a row's element is part of: elements of one bore
// that touch and share a phase have no ends between them, here as in the row
// correction.
func (c *Case) wholeRods(e *Electrode) Electrode {
	const touch = 1e-9 // [m] the same depth, written in two units
	phasor := func(e *Electrode) complex128 { return physics.Phasor(c.Supply.Phases, e.Phase) }
	out := *e
	for grown := true; grown; {
		grown = false
		for i := range c.Electrodes {
			o := &c.Electrodes[i]
			if o.Width > 0 || phasor(o) != phasor(e) || o.X != e.X || o.RodSpacing != e.RodSpacing || o.RodOffset != e.RodOffset || o.Radius != e.Radius {
				continue
			}
			if o.Top < out.Top && o.Bottom >= out.Top-touch {
				out.Top, grown = o.Top, true
			}
			if o.Bottom > out.Bottom && o.Top <= out.Bottom+touch {
				out.Bottom, grown = o.Bottom, true
			}
		}
	}
	return out
}

// betterGround returns how many times as well as beside the rods of a row the ground
// as found conducts beyond a layer's boundary at which they end, within half their
// radius; 0: less than 1.5 times. Held against three dimensions, their current is 4 %
// low at twice and 16 % low at five times (validation, rods whose ends lie on a better
// layer).
func (c *Case) betterGround(e *Electrode) float64 {
	most := 0.0
	for i := range c.Layers[:len(c.Layers)-1] {
		above, below, at := &c.Layers[i], &c.Layers[i+1], c.Layers[i].Bottom
		near := func(end float64) bool { return math.Abs(end-at) < e.Radius/2 }
		if near(e.Bottom) {
			most = math.Max(most, above.Resistivity/below.Resistivity)
		}
		if near(e.Top) {
			most = math.Max(most, below.Resistivity/above.Resistivity)
		}
	}
	if most < 1.5 {
		return 0
	}
	return most
}

// rowCautions names rows outside the range in which the row correction was
// tested.
func (c *Case) rowCautions() []string {
	var out []string
	short := 0
	worst := math.Inf(1)
	plates, ends := 0, 0
	better, bore := 0.0, math.Inf(1)
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		if e.Width > 0 {
			plates++
			continue
		}
		bore = math.Min(bore, 2*e.Radius)
		rods := c.wholeRods(e)
		if e.Top > rods.Top {
			continue // told of with its topmost element
		}
		if ratio := (rods.Bottom - rods.Top) / e.RodSpacing; ratio < shortestTested {
			short++
			worst = math.Min(worst, ratio)
		}
		if times := c.betterGround(&rods); times > 0 {
			ends++
			better = math.Max(better, times)
		}
	}
	if short > 0 {
		out = append(out, fmt.Sprintf("%d rows have rods shorter than %g of their spacing in the row (%.3f): beyond the range in which the row correction was tested.", short, shortestTested, worst))
	}
	if ends > 0 {
		text := fmt.Sprintf("%d rows have rods that end on a boundary to ground that conducts better, here up to %.3g times as well: their flat ends draw from it, and the current here is low, by 4 %% where it conducts twice as well and by 16 %% at five times", ends, better)
		if better > 5*(1+1e-9) {
			text += "; beyond five it is not known by how much"
		}
		out = append(out, text+".")
	}
	if fine := c.Mesh.Finest; fine > bore*(1+1e-9) {
		out = append(out, fmt.Sprintf("Cells at the electrodes, %s, are wider than the bore, %s: compare with a run at half mesh.finest.", c.length(fine), c.length(bore)))
	}
	if plates > 0 {
		out = append(out, fmt.Sprintf("%d electrodes are plates that run on out of the page, without row correction: a row of rods at the same voltage draws about half the current or less.", plates))
	}
	spacing := 0.0
	for _, e := range c.Electrodes {
		if e.RodSpacing > 0 {
			if spacing > 0 && math.Abs(e.RodSpacing-spacing) > 1e-6*spacing {
				return append(out, "Rows of unlike rod spacing: their rods' effect on each other beyond that of sheets is left out.")
			}
			spacing = e.RodSpacing
		}
	}
	return out
}

// targetCautions names targets above the boiling point.
func (c *Case) targetCautions() []string {
	if !c.Steam.Boiling {
		return nil
	}
	var out []string
	for _, t := range c.Targets {
		if t.Boiling {
			continue
		}
		depth, where := t.Top, "at its top"
		if c.View == Plan {
			depth, where = (c.Extent.Top+c.Extent.Bottom)/2, "in the slab's middle, which stands for all of it"
		}
		tb, leastAt, most, at := c.BoilingRange(depth)
		if tb < t.Temperature && t.Temperature <= most {
			out = append(out, fmt.Sprintf("Target %q at %s lies above the least boiling point %s, %s on day %.4g: while water boils at less, it is reached and kept only in ground that is dry.",
				t.Name, c.toldTemperature("%.1f", t.Temperature), where, c.toldTemperature("%.1f", tb), leastAt/day))
		}
		when := ""
		if most > tb {
			tb, when = most, fmt.Sprintf(" at the highest, on day %.4g", at/day)
		}
		if t.Temperature > tb {
			out = append(out, fmt.Sprintf("Target %q at %s lies above the boiling point %s, %s%s: there it is reached only once the ground is dry.",
				t.Name, c.toldTemperature("%.1f", t.Temperature), where, c.toldTemperature("%.1f", tb), when))
		}
	}
	return out
}

// TooNear names the sides of the modelled ground that are nearer than the reach
// of heat or of current, by how much, and what that may do to currents and voltages.
func (c *Case) TooNear() []string {
	run := *c
	run.Domain.Duration = nan // of the run itself, whatever its ground is laid out for
	c = &run
	r := c.Reach()
	left, right, bottom := c.Bounds()
	if c.View == Plan {
		return c.tooNearPlan(r)
	}
	low, l, rr := 0.0, math.Inf(1), math.Inf(-1)
	for _, t := range c.Targets {
		low, l, rr = math.Max(low, t.Bottom), math.Min(l, t.Left), math.Max(rr, t.Right)
	}
	for _, e := range c.Electrodes {
		low, l, rr = math.Max(low, e.Bottom), math.Min(l, e.X-e.Width/2), math.Max(rr, e.X+e.Width/2)
	}
	for _, h := range c.Heats {
		low, l, rr = math.Max(low, h.Bottom), math.Min(l, h.Left), math.Max(rr, h.Right)
	}
	var out []string
	back, on, down := c.fronts(low)
	say := func(side string, room, travel float64) {
		for _, want := range []struct {
			reach float64
			why   string
		}{{r.Heat, "3√(αt)"}, {carriedTo(r.Heat, travel), fmt.Sprintf("3√(αt) and the %s that water carries a front of heat", c.toldLength("%.4g", travel))}} {
			if short := want.reach - room; short > 1e-9*want.reach {
				out = append(out, fmt.Sprintf("%s: %s beyond zone and electrodes, %s less than %s", side, c.toldLength("%.2f", room), c.toldLength("%.2f", short), want.why))
			}
		}
	}
	say("domain.bottom", bottom-low, down)
	if c.View == Axisymmetric {
		if room := bottom - low; r.Potential-room > 1e-9*r.Potential {
			out = append(out, fmt.Sprintf("domain.bottom: %s beyond zone and electrodes, %s less than the field of the rods asks: twice their length, or extent.radius where that is more", c.toldLength("%.2f", room), c.toldLength("%.2f", r.Potential-room)))
		}
		return out
	}
	say("domain.left", l-left, back)
	say("domain.right", right-rr, on)
	for _, edge := range []struct {
		side, from  string
		away, share float64
	}{
		{"domain.bottom", "below the surface", bottom, bottomShare},
		{"domain.left", "from the middle of the electrodes", r.Middle - left, sideShare},
		{"domain.right", "from the middle of the electrodes", right - r.Middle, sideShare},
	} {
		if short := r.Potential - edge.away; r.Potential > 0 && short > 1e-9*r.Potential {
			off := edgeError(edge.share, r.Potential, edge.away)
			out = append(out, fmt.Sprintf("%s: %s %s, %s less than the field of all electrodes together asks: closed there, it may put voltages along the surface off by some %.2g %% of the largest, and currents of the outer electrodes by some %.2g %%",
				edge.side, c.toldLength("%.2f", edge.away), edge.from, c.toldLength("%.2f", short), 100*off, 10*off))
		}
	}
	return out
}

// NearFaces names faces that nearly coincide, as a target's top written to the
// centimetre beside a layer written in feet: the mesh must then be finer there
// than mesh.finest asks, for no reason that the ground has.
func (c *Case) NearFaces() []string {
	if c.View == Plan {
		return nil // its mesh leaves out edges that nearly coincide: zones weigh their cells
	}
	type face struct {
		key string
		at  float64
	}
	var down, across []face
	for _, l := range c.Layers {
		down = append(down, face{"layer." + l.Name + ".bottom", l.Bottom})
	}
	for _, t := range c.Targets {
		down = append(down, face{"target." + t.Name + ".top", t.Top}, face{"target." + t.Name + ".bottom", t.Bottom})
		if c.View == Section {
			across = append(across, face{"target." + t.Name + ".left", t.Left}, face{"target." + t.Name + ".right", t.Right})
		} else {
			across = append(across, face{"target." + t.Name + ".radius", t.Radius})
		}
	}
	for _, e := range c.Electrodes {
		down = append(down, face{"electrode." + e.Name + ".top", e.Top}, face{"electrode." + e.Name + ".bottom", e.Bottom})
		switch {
		case c.View == Axisymmetric:
			across = append(across, face{"electrode." + e.Name + ".radius", e.Radius})
		case e.Width > 0:
			across = append(across, face{"electrode." + e.Name + ", left side", e.X - e.Width/2}, face{"electrode." + e.Name + ", right side", e.X + e.Width/2})
		}
	}
	for _, h := range c.Heats {
		down = append(down, face{"heat." + h.Name + ".top", h.Top}, face{"heat." + h.Name + ".bottom", h.Bottom})
		if c.View == Section {
			across = append(across, face{"heat." + h.Name + ".left", h.Left}, face{"heat." + h.Name + ".right", h.Right})
		} else {
			across = append(across, face{"heat." + h.Name + ".inner_radius", h.InnerRadius}, face{"heat." + h.Name + ".radius", h.Radius})
		}
	}
	for _, m := range c.Conductors {
		down = append(down, face{"conductor." + m.Name + ".top", m.Top}, face{"conductor." + m.Name + ".bottom", m.Bottom})
		if c.View == Section {
			across = append(across, face{"conductor." + m.Name + ".left", m.Left}, face{"conductor." + m.Name + ".right", m.Right})
		} else {
			across = append(across, face{"conductor." + m.Name + ".inner_radius", m.InnerRadius}, face{"conductor." + m.Name + ".radius", m.Radius})
		}
	}
	for _, z := range c.tables() {
		down = append(down, face{"site.water_table", z})
	}
	if s := &c.Steam; s.interval() {
		down = append(down, face{"steam.top", s.Top}, face{"steam.bottom", s.Bottom})
	}
	if c.View == Axisymmetric {
		across = append(across, face{"extent.radius", c.Extent.Radius})
	}
	var out []string
	for _, faces := range [][]face{down, across} {
		slices.SortStableFunc(faces, func(a, b face) int { return cmp.Compare(a.at, b.at) })
		for i := 1; i < len(faces); i++ {
			a, b := faces[i-1], faces[i]
			if gap := b.at - a.at; gap > 1e-6 && gap < c.Mesh.Finest/4 {
				out = append(out, fmt.Sprintf("%s and %s are %s apart: the mesh follows both", a.key, b.key, c.told(fmt.Sprintf("%.3g in", 12*gap/Foot), fmt.Sprintf("%.3g mm", 1e3*gap))))
			}
		}
	}
	return out
}
