package cases

import (
	"fmt"
	"math"

	"soiljoule/physics"
)

// place fills in what a plan's keys leave to each other and every check uses: the
// sides of the boxes round targets and bodies, their depths.
func (c *Case) place() {
	for i := range c.Targets {
		t := &c.Targets[i]
		t.Left, t.Right, t.Front, t.Back = t.figure().box()
		t.Top, t.Bottom = c.Extent.Top, c.Extent.Bottom
	}
	for i := range c.Heats {
		h := &c.Heats[i]
		h.Left, h.Right, h.Front, h.Back = h.figure().box()
		h.Top, h.Bottom = c.Extent.Top, c.Extent.Bottom
	}
	for i := range c.Conductors {
		m := &c.Conductors[i]
		m.Left, m.Right, m.Front, m.Back = m.figure().box()
		m.Top, m.Bottom = c.Extent.Top, c.Extent.Bottom
	}
}

// around returns the sides [m] of the box round all targets, electrodes and bodies of
// set power of a plan.
func (c *Case) around() (left, right, front, back float64) {
	left, right, front, back = inf, -inf, inf, -inf
	note := func(l, r, f, b float64) {
		left, right, front, back = least(left, l), most(right, r), least(front, f), most(back, b)
	}
	for _, t := range c.Targets {
		note(t.Left, t.Right, t.Front, t.Back)
	}
	for _, h := range c.Heats {
		note(h.Left, h.Right, h.Front, h.Back)
	}
	for _, e := range c.Electrodes {
		note(e.X-e.Radius, e.X+e.Radius, e.Y-e.Radius, e.Y+e.Radius)
	}
	return left, right, front, back
}

// ends returns y [m] of the two sides of a plan's modelled ground that Bounds leaves
// out: as given, or the reach beyond zones and electrodes.
func (c *Case) ends() (front, back float64) {
	_, _, front, back = c.sides()
	return front, back
}

// sides returns those of a plan's modelled ground [m]: as given, or the reach beyond zones
// and electrodes, farther where water carries heat there.
func (c *Case) sides() (left, right, front, back float64) {
	r := c.Reach()
	reach := math.Max(r.Heat, r.Potential)
	left, right, front, back = c.around()
	l, rt, f, b := c.planFronts()
	left, right = left-reach-math.Min(l, farthest), right+reach+math.Min(rt, farthest)
	front, back = front-reach-math.Min(f, farthest), back+reach+math.Min(b, farthest)
	for _, m := range c.Conductors {
		// Metal heats nothing: it needs the ground that it bends the current in.
		around := math.Max(m.Right-m.Left, m.Back-m.Front)
		left, right = math.Min(left, m.Left-around), math.Max(right, m.Right+around)
		front, back = math.Min(front, m.Front-around), math.Max(back, m.Back+around)
	}
	for _, d := range []struct {
		at    *float64
		given float64
	}{{&left, c.Domain.Left}, {&right, c.Domain.Right}, {&front, c.Domain.Front}, {&back, c.Domain.Back}} {
		if !math.IsNaN(d.given) {
			*d.at = d.given
		}
	}
	return left, right, front, back
}

// checkPlan checks what a plan asks beside what every view does.
func (l *loader) checkPlan() {
	c := l.c
	if c.Extent.Top >= c.Extent.Bottom {
		l.no("extent", 0, "bottom", "must be below the top, %s", metres(c.Extent.Top))
	}
	l.thin("extent", 0, "bottom", c.Extent.Bottom-c.Extent.Top)
	if d := l.deepest(); c.Extent.Bottom > d {
		l.no("extent", 0, "bottom", "must be within the layers, which end at %s", metres(d))
	}
	switch below := c.Domain.Bottom - c.Extent.Bottom; {
	case below <= 0:
		l.no("domain", 0, "bottom", "must be below extent.bottom, %s", metres(c.Extent.Bottom))
	case below < thinnest*(1-1e-9):
		l.no("domain", 0, "bottom", "leaves %s of ground below extent.bottom; must be at least 1 mm below it", metres(below))
	}
	for i := range c.Targets {
		l.checkFigure("target", i, c.Targets[i].figure())
	}
	for i := range c.Heats {
		l.checkFigure("heat", i, c.Heats[i].figure())
	}
	for i := range c.Conductors {
		l.checkFigure("conductor", i, c.Conductors[i].figure())
	}
	slab := func(section string, i int, top, bottom float64) {
		if c.Extent.Top < c.Extent.Bottom && (bottom <= c.Extent.Top || top >= c.Extent.Bottom) {
			l.no(section, i, "top", "puts the active interval beside the slab, which is from %s to %s: must meet it", metres(c.Extent.Top), metres(c.Extent.Bottom))
		}
	}
	for i, a := range c.Arrays {
		slab("array", i, a.Top, a.Bottom)
		l.checkPattern(i, a)
	}
	for i, e := range c.Electrodes {
		slab("electrode", i, e.Top, e.Bottom)
		if !l.has("electrode", i, "radius") {
			l.no("electrode", i, "radius", "is missing; must be %s", findKey("electrode.radius").kind.wants(findKey("electrode.radius")))
		}
	}
	l.checkPlanDomain()
	if len(l.faults) == 0 {
		l.checkRods()
	}
	if len(l.faults) == 0 {
		l.checkPlanMetalApart()
	}
}

// checkFigure refuses a figure that is none, or none that bounds ground.
func (l *loader) checkFigure(section string, i int, f figure) {
	const which = "a plan needs outline (corners) or center and radius (a circle)"
	outline, center, radius := l.has(section, i, "outline"), l.has(section, i, "center"), l.has(section, i, "radius")
	switch {
	case outline && center:
		l.no(section, i, "center", "must not stand beside outline: %s", which)
	case outline && radius:
		l.no(section, i, "radius", "must not stand beside outline: %s", which)
	case !outline && !center && !radius:
		l.no(section, i, "", "is without a figure: %s", which)
	case !outline && !center:
		l.no(section, i, "center", "is missing; %s", which)
	case !outline && !radius:
		l.no(section, i, "radius", "is missing; %s", which)
	}
	if !outline || f.outline == nil {
		return
	}
	corner := func(n int) input {
		in := input{l: l, path: dotted(l.labels[section][i], "outline"), loc: dotted(findSection(section).loc(i), "outline")}
		list, _ := l.rows[section][i]["outline"].([]any)
		return in.element(n, list[n])
	}
	for _, p := range f.outline {
		if math.IsNaN(p[0]) || math.IsNaN(p[1]) {
			return // refused already
		}
	}
	for n, p := range f.outline {
		q := f.outline[(n+1)%len(f.outline)]
		if math.Hypot(p[0]-q[0], p[1]-q[1]) >= thinnest*(1-1e-9) {
			continue
		}
		if n == len(f.outline)-1 {
			corner(n).refuse("must not be the first corner again: the outline closes by itself; corners must be at least 1 mm apart")
		} else {
			corner(n + 1).refuse("must not be the corner before it again: corners must be at least 1 mm apart")
		}
		return
	}
	left, right, front, back := f.box()
	if a, b := crossing(f.outline); a > 0 {
		corner(b - 1).refuse(fmt.Sprintf("begins a side that meets side %d: the outline must not cross, touch or fold back on itself; give its corners in turn", a))
	} else if f.area() < thinnest*math.Max(right-left, back-front) {
		l.no(section, i, "outline", "bounds no ground to speak of: must be at least 1 mm wide")
	}
}

// checkPattern refuses keys that the pattern of an array does not have, and numbers
// that do not suit it.
func (l *loader) checkPattern(i int, a Array) {
	if a.Pattern == "" {
		return // refused already
	}
	var has []string
	for _, k := range keysOf("array", Plan) {
		if k.suits != nil && k.suits(&a) {
			has = append(has, k.name())
		}
	}
	for _, k := range keysOf("array", Plan) {
		if k.suits != nil && !k.suits(&a) && l.has("array", i, k.name()) {
			l.no("array", i, k.name(), "is no key of this pattern: %s has %s", a.Pattern, list(has, "and"))
		}
	}
	if a.Pattern != "ring" {
		return
	}
	for _, key := range []string{"center", "diameter"} {
		if k := findKey("array." + key); !l.has("array", i, key) {
			l.no("array", i, key, "is missing; must be %s", k.kind.wants(k))
		}
	}
	if phases := l.c.Supply.Phases; phases > 0 && a.Count%poles(phases) != 0 {
		of := fmt.Sprintf("supply.phases is %d", phases)
		if phases == 1 {
			of = "the two poles alternate"
		}
		given := ""
		if !l.has("array", i, "count") {
			given = "is left at " + findKey("array.count").def + "; "
		}
		l.no("array", i, "count", given+"must be a multiple of %d: %s, and they follow each other round the ring", poles(phases), of)
	}
	// Neighbours on the ring, and the one in the middle, must not touch.
	room := a.Diameter * math.Sin(math.Pi/math.Max(2, float64(a.Count)))
	if a.CenterNeutral {
		room = math.Min(room, a.Diameter/2)
	}
	if 2*a.Radius >= room {
		l.no("array", i, "radius", "must be less than half the distance of neighbours, %s", metres(room))
	}
	if a.CenterNeutral && l.c.Supply.Neutral == "floating" {
		l.no("array", i, "center_neutral", `needs supply.neutral = "grounded": a floating neutral is connected to no electrode`)
	}
}

// checkRings refuses in other views what only a plan can carry.
func (l *loader) checkRings() {
	for i, a := range l.c.Arrays {
		switch {
		case a.Pattern == "ring" && l.c.View == Section:
			l.no("array", i, "pattern", "cannot be carried by a section, whose rows run on out of the page; use view = \"plan\", or an axisymmetric case with a [[heat]] ring of the same power")
		case a.Pattern == "ring":
			l.no("array", i, "pattern", "cannot be carried by an axisymmetric view: round the axis its phases disappear; use view = \"plan\", or here a [[heat]] ring of the same power")
		}
	}
}

// checkSpacing asks for the spacing of a grid.
func (l *loader) checkSpacing() {
	for i, a := range l.c.Arrays {
		if k := findKey("array.spacing"); !l.has("array", i, "spacing") && (a.Pattern == "triangular" || a.Pattern == "rectangular") {
			l.no("array", i, "spacing", "is missing; must be %s", k.kind.wants(k))
		}
	}
}

// checkPlanDomain checks the sides of a plan's modelled ground.
func (l *loader) checkPlanDomain() {
	d := l.c.Domain
	if d.Front >= d.Back {
		l.no("domain", 0, "back", "must be beyond front, y = %s", metres(d.Front))
	}
	if d.Left >= d.Right || d.Front >= d.Back {
		return
	}
	left, right, front, back := l.c.around()
	for _, a := range l.c.Arrays {
		if reach := a.Radius + a.Diameter/2; a.Pattern == "ring" {
			left, right = least(left, a.Center[0]-reach), most(right, a.Center[0]+reach)
			front, back = least(front, a.Center[1]-reach), most(back, a.Center[1]+reach)
		} else if reach := a.Radius + a.Outboard; len(l.c.Targets) > 0 {
			t := &l.c.Targets[0]
			left, right = least(left, t.Left-reach), most(right, t.Right+reach)
			front, back = least(front, t.Front-reach), most(back, t.Back+reach)
		}
	}
	all := "of all targets, electrodes and heats; they"
	if len(l.c.Conductors) > 0 {
		all = "of all targets, electrodes, heats and conductors; they"
	}
	for _, m := range l.c.Conductors {
		left, right, front, back = least(left, m.Left), most(right, m.Right), least(front, m.Front), most(back, m.Back)
	}
	if left <= d.Left {
		l.no("domain", 0, "left", "must be left %s begin at x = %s", all, metres(left))
	}
	if right >= d.Right {
		l.no("domain", 0, "right", "must be right %s end at x = %s", all, metres(right))
	}
	if front <= d.Front {
		l.no("domain", 0, "front", "must be before the front %s begin at y = %s", all, metres(front))
	}
	if back >= d.Back {
		l.no("domain", 0, "back", "must be beyond the back %s end at y = %s", all, metres(back))
	}
	for i, s := range l.c.Sensors {
		if s.X < d.Left || s.X > d.Right {
			l.no("sensor", i, "x", "must be within domain.left and domain.right")
		}
		if s.Y < d.Front || s.Y > d.Back {
			l.no("sensor", i, "y", "must be within domain.front and domain.back")
		}
	}
}

// checkRods checks all electrodes of a plan, those of arrays too. It needs sound
// values.
func (l *loader) checkRods() {
	c := l.c
	n := len(c.Electrodes)
	var zone figure
	if len(c.Targets) > 0 {
		zone = c.Targets[0].figure()
	}
	type from struct {
		section string
		row     int
	}
	var origin []from
	for i := range c.Electrodes {
		origin = append(origin, from{"electrode", i})
	}
	all := append([]Electrode(nil), c.Electrodes...)
	for i := range c.Arrays {
		a := &c.Arrays[i]
		if a.Pattern != "ring" && a.places(zone) > mostPlaces {
			l.no("array", i, "spacing", "gives more than %d places in the box round the first target; a plan takes at most %d electrodes", mostPlaces, mostRods)
			return
		}
		rods := a.rodsOf(zone, c.Supply.Phases)
		if len(rods) == 0 {
			l.no("array", i, "spacing", "gives no electrode within the first target's figure grown by outboard")
		}
		if n += len(rods); n > mostRods {
			key := map[bool]string{true: "count", false: "spacing"}[a.Pattern == "ring"]
			l.no("array", i, key, "makes %d electrodes in all; a plan takes at most %d", n, mostRods)
			return
		}
		for range rods {
			origin = append(origin, from{"array", i})
		}
		all = append(all, rods...)
	}
	names, phases := map[string]bool{}, map[string]bool{}
	for j, b := range all {
		phases[b.Phase] = true
		if names[b.Name] && origin[j].section == "array" {
			l.no("array", origin[j].row, "name", "gives an electrode a name that another has, %s", b.Name)
			return
		}
		names[b.Name] = true
		for _, a := range all[:j] {
			if d := math.Hypot(a.X-b.X, a.Y-b.Y); d <= (a.Radius+b.Radius)*(1+1e-9) {
				at := origin[j]
				key := map[string]string{"electrode": "x", "array": ""}[at.section]
				what := ""
				if at.section == "array" {
					what = "its electrode " + b.Name + " "
				}
				if stacked := d < 1e-6 && (a.Top != b.Top || a.Bottom != b.Bottom); stacked {
					l.no(at.section, at.row, key, "%sstands above or below %s: a plan has one interval; leave one of %s and %s out, or use a section", what, a.Name, a.Name, b.Name)
					return
				}
				l.no(at.section, at.row, key, "%sstands %s from %s: must be farther than the sum of their radii, %s", what, metres(d), a.Name, metres(a.Radius+b.Radius))
				return
			}
		}
	}
	if len(phases) == 1 && !c.ownVoltages() {
		at := origin[len(origin)-1]
		key, why := "phase", "all electrodes are on one phase"
		if at.section == "array" { // a grid of few places: a ring has all phases
			key, why = "spacing", fmt.Sprintf("the case has %s in all, on one phase", counted(len(all), "electrode"))
		}
		l.no(at.section, at.row, key, "no return path: %s, so no current flows", why)
	}
}

// planCautions says what a plan leaves out of this case.
func (c *Case) planCautions() []string {
	out := []string{
		"A plan is one level slab, alike from top to bottom: temperatures, boiling point and pressure are those of its middle, and what its top or bottom reaches first or last does not appear.",
		"The ground above and below the slab takes heat straight up and down, column by column: none flows sideways there, its properties stay as found. " +
			c.capBoiling(),
	}
	out = append(out, c.slabCaution()...)
	if len(c.Electrodes) == 0 {
		return out
	}
	out = append(out, "Potentials are those of a slab between insulators; nothing is said of those at the surface.")
	out = append(out, c.fringeCautions()...)
	other := 0
	for _, e := range c.Electrodes {
		if math.Abs(e.Top-c.Extent.Top) > 1e-6 || math.Abs(e.Bottom-c.Extent.Bottom) > 1e-6 {
			other++
		}
	}
	if other > 0 {
		have, their := "electrodes have", "they feed the whole thickness of the slab all the same, and their mean interval counts only in what they carry beyond it"
		if other == 1 {
			have, their = "electrode has", "it feeds the whole thickness of the slab all the same, and its interval counts only in the mean of what all carry beyond it"
		}
		out = append(out, fmt.Sprintf("%d %s another active interval than the slab, %s to %s: %s. Choose extent.top and extent.bottom as the active interval, or run a section for the ends.",
			other, have, c.length(c.Extent.Top), c.length(c.Extent.Bottom), their))
	}
	out = append(out, c.cellCaution()...)
	out = append(out, c.ringCaution()...)
	out = append(out, c.phaseCautions("electrodes")...)
	return out
}

// fringeCautions says what current above and below the slab counts for, and where the heat
// of short rods is taken to lie.
func (c *Case) fringeCautions() []string {
	ends, f, err := c.fringe()
	if err != nil || ends == nil {
		return nil
	}
	if len(c.Electrodes) > mostFringed {
		return c.oneFactorCautions(f)
	}
	out := []string{
		fmt.Sprintf("Current of rods of finite length spreads above and below the slab, in the layers as found: with all of them fed, power is %.3g times the slab's and current %s times by electrode. It is worked out anew for what is on, at what voltage, and for how the slab and the ground above and below conduct by then, each as a whole.", f.Factor, spread(f.Least, f.Most)),
		"Short rods heat the slab more near them and less midway between them, and part of what they add heats the ground above and below. Pattern and part are those of the ground as found with all electrodes fed, whatever is switched, warms or dries later.",
	}
	if len(c.Conductors) > 0 {
		out = append(out, "Metal in the ground passes no current above and below the slab, and where the heat of short rods lies is as without it.")
	}
	return out
}

// oneFactorCautions is fringeCautions of more electrodes than mostFringed, of which one
// factor is taken.
func (c *Case) oneFactorCautions(f physics.Fringe) []string {
	out := []string{fmt.Sprintf("Current of rods of finite length spreads above and below the slab: of more than %d electrodes all currents and the power are %.3g times the slab's, as of the %d nearest to the middle, all fed, in the layers as found, where single ones have %s times. That factor stays as it is when the ground warms or dries.", mostFringed, f.Factor, mostFringed, spread(f.Least, f.Most))}
	if f.Factor <= 1 {
		return out
	}
	out = append(out, "Of so many electrodes the slab is heated as by rods without end, and all that short ones add heats the ground above and below: places midway between short rods stay colder than this plan says. Run a part of the field for these.")
	if c.fedUnalike() {
		out = append(out, "Of so many electrodes that factor stays so through the run: while some are switched off or have a voltage of their own it is another. Fewer electrodes far apart fringe more.")
	}
	return out
}

// spread tells a range of two numbers, or the one that they show as.
func spread(low, high float64) string {
	a, b := fmt.Sprintf("%.3g", low), fmt.Sprintf("%.3g", high)
	if a == b {
		return a
	}
	return a + " to " + b
}

// capBoiling says what boils above and below a plan's slab.
func (c *Case) capBoiling() string {
	if !c.Steam.Boiling {
		return "Nothing boils there."
	}
	return "Heat beyond the boiling point of its own depth boils there, to the first order of a step, and water at ambient comes in for the steam whatever the layer's inflow: such ground never dries."
}

// fedUnalike reports whether electrodes are switched off alone or have voltages of their
// own at some time.
func (c *Case) fedUnalike() bool {
	for i := range c.Changes {
		if ch := &c.Changes[i]; ch.Electrode != "" && ch.On != nil && !*ch.On {
			return true
		}
	}
	return c.ownVoltages()
}

// tooNearPlan is TooNear of a plan.
func (c *Case) tooNearPlan(r Reach) []string {
	left, right, bottom := c.Bounds()
	front, back := c.ends()
	l, rr, f, b := c.around()
	var out []string
	say := func(side string, room, reach float64, why string) {
		if short := reach - room; short > 1e-9*reach {
			out = append(out, fmt.Sprintf("%s: %s beyond zone and electrodes, %s less than %s", side, c.toldLength("%.2f", room), c.toldLength("%.2f", short), why))
		}
	}
	const heat, potential = "3√(αt)", "what keeps the part that insulated sides take of the power below 1 %"
	down := c.planFrontDown()
	say("domain.bottom", bottom-c.Extent.Bottom, r.Heat, heat)
	say("domain.bottom", bottom-c.Extent.Bottom, carriedTo(r.Heat, down), fmt.Sprintf("3√(αt) and the %s that rain carries a front of heat", c.toldLength("%.4g", down)))
	toLeft, toRight, toFront, toBack := c.planFronts()
	for _, side := range []struct {
		key          string
		room, travel float64
	}{{"domain.left", l - left, toLeft}, {"domain.right", right - rr, toRight}, {"domain.front", f - front, toFront}, {"domain.back", back - b, toBack}} {
		say(side.key, side.room, r.Heat, heat)
		say(side.key, side.room, r.Potential, potential)
		say(side.key, side.room, carriedTo(r.Heat, side.travel), fmt.Sprintf("3√(αt) and the %s that water carries a front of heat", c.toldLength("%.4g", side.travel)))
	}
	return out
}
