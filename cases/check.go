package cases

import (
	"fmt"
	"math"
	"strings"

	"soiljoule/materials"
)

// check refuses what no single value shows: values that contradict each other.
// A number that was missing or refused is NaN here and a text "", and every
// comparison below is false for NaN, so that one slip gives one fault.
func (l *loader) check() {
	if l.c.View == Plan {
		l.c.place()
	}
	l.checkNames()
	l.checkLayers()
	l.checkFlow()
	l.checkTargets()
	l.checkElectrodes()
	l.checkSpacing()
	if l.c.View != Plan {
		l.checkRings()
	}
	l.checkHeats()
	l.checkConductors()
	if l.c.View == Section {
		l.checkRows()
	}
	if l.c.View == Axisymmetric {
		l.checkAxis()
	}
	l.checkPressure()
	l.checkSupply()
	l.checkControl()
	l.checkOwn()
	l.checkReturnPath()
	l.checkSensors()
	l.checkDomain()
	l.checkOutput()
	if l.c.View == Section && l.rowsSound() {
		l.checkAllRows()
	}
	if l.c.View == Plan {
		l.checkPlan()
	}
	if len(l.faults) == 0 && l.c.View != Plan { // in a plan bodies are ground, their powers add
		l.checkHeatsApart()
		l.checkConductorsApart()
	}
	l.checkSteam()
	l.checkOwnApart()
	l.checkShorts()
	l.checkChangesApart()
	l.checkWaterAdded()
	if len(l.faults) == 0 {
		l.checkMeteredReturn()
		l.checkIntervalWithin()
		l.checkSensorsWithin()
	}
}

// no refuses the value of a key in the i-th row of a section.
func (l *loader) no(section string, i int, key, format string, args ...any) {
	s := findSection(section)
	loc, label, given := s.loc(i), s.loc(i), ""
	if i < len(l.labels[section]) {
		label = l.labels[section][i]
	}
	if i < len(l.rows[section]) {
		if raw, ok := l.rows[section][i][key]; ok {
			given = l.given(dotted(loc, key), raw)
		}
	}
	path := dotted(label, key)
	if key == "name" {
		path = dotted(loc, key)
	}
	if key == "" {
		path = label
	}
	l.fault(dotted(loc, key), path, given, fmt.Sprintf(format, args...))
}

// element is the i-th value (from 0) of a list in a section that occurs once.
func (l *loader) element(section, key string, i int) input {
	in := input{l: l, path: dotted(section, key), loc: dotted(section, key)}
	list, _ := l.rows[section][0][key].([]any)
	return in.element(i, list[i])
}

// metres writes a length worked out here, in both customs.
func metres(x float64) string {
	x = unrounded(x)
	return about(x) + " m (" + about(x/Foot) + " ft)"
}

// unrounded returns a length [m] without what is only the rounding of places, nor the
// sign of a zero.
func unrounded(m float64) float64 {
	if math.Abs(m) < 1e-9 {
		return 0
	}
	return m
}

// checkNames refuses names that two of a kind have, or that messages could not tell apart.
func (l *loader) checkNames() {
	unique := func(section string, n int, nameOf func(int) string) {
		seen := map[string]int{}
		for i := 0; i < n; i++ {
			name := nameOf(i)
			if first, ok := seen[name]; ok && name != "" {
				l.no(section, i, "name", "must be unique; %s[%d] is %s too", section, first+1, name)
				continue
			}
			seen[name] = i
		}
	}
	c := l.c
	unique("layer", len(c.Layers), func(i int) string { return c.Layers[i].Name })
	unique("target", len(c.Targets), func(i int) string { return c.Targets[i].Name })
	unique("array", len(c.Arrays), func(i int) string { return c.Arrays[i].Name })
	unique("electrode", len(c.Electrodes), func(i int) string { return c.Electrodes[i].Name })
	unique("heat", len(c.Heats), func(i int) string { return c.Heats[i].Name })
	unique("conductor", len(c.Conductors), func(i int) string { return c.Conductors[i].Name })
	unique("sensor", len(c.Sensors), func(i int) string { return c.Sensors[i].Name })

	// sensor.a.x is the place of the sensor a: none may be named a.x beside it.
	sensors := map[string]bool{}
	for _, s := range c.Sensors {
		sensors[s.Name] = s.Name != ""
	}
	for i, s := range c.Sensors {
		dot := strings.LastIndexByte(s.Name, '.')
		if dot >= 0 && sensors[s.Name[:dot]] && findKey("sensor."+s.Name[dot+1:]) != nil {
			l.no("sensor", i, "name", "would read as the key %s of the sensor %s; name one of them otherwise", s.Name[dot+1:], s.Name[:dot])
		}
	}

	arrays := map[string]bool{}
	for _, a := range c.Arrays {
		arrays[a.Name] = a.Name != ""
	}
	for i, e := range c.Electrodes {
		stem := strings.TrimRight(e.Name, "0123456789")
		if stem != e.Name && arrays[stem] {
			l.no("electrode", i, "name", "is a name that array %s gives its own electrodes; name the array or this one otherwise", stem)
		}
	}
}

func (l *loader) checkLayers() {
	above := 0.0
	for i, y := range l.c.Layers {
		l.checkCapacity(i)
		l.checkLaws(i)
		switch {
		case math.IsInf(y.Bottom, 1) && i < len(l.c.Layers)-1:
			l.no("layer", i, "bottom", "is missing; only the last layer may omit it")
			l.unordered = true
		case y.Bottom <= above:
			l.no("layer", i, "bottom", "must be below the bottom of the layer above, %s", metres(above))
			l.unordered = true
		case y.Bottom > above:
			above = y.Bottom
		}
	}
}

// checkCapacity refuses a layer whose heat capacity is below its water's.
func (l *loader) checkCapacity(i int) {
	soil, ambient := l.c.Layers[i].Soil(), l.c.Site.Ambient
	held := soil.WaterHeld(soil.Saturation)
	// The water's law takes a while to set up: first what its capacity never
	// passes [J/(kg·K)]. Where a value is missing this is false.
	if most := 5000.0; !(soil.HeatCapacity <= held*most && ambient > 0) {
		return
	}
	water := materials.NewWater()
	if _, err := soil.SolidsCapacity(water, ambient); err != nil {
		_, c := water.Enthalpy(ambient)
		l.no("layer", i, "heat_capacity", "must be above that of the water found in it, %s MJ/m3/K: it is the bulk's, water included", about(held*c/1e6))
	}
}

// deepest returns the bottom of the last layer; +Inf where the layers are in
// no order, as a check against it would only repeat that.
func (l *loader) deepest() float64 {
	n := len(l.c.Layers)
	if n == 0 || l.unordered {
		return inf
	}
	return l.c.Layers[n-1].Bottom
}

// thinnest is the least size [m] of a body or a target: the mesh takes places
// nearer than a billionth of the ground, which is at most 2e5 m wide, for one.
const thinnest = 1e-3

// thin refuses the key of a body or target that is smaller than any cell.
func (l *loader) thin(section string, i int, key string, size float64) {
	if size > 0 && size < thinnest*(1-1e-9) {
		l.no(section, i, key, "makes it %s thick; must be at least 1 mm", metres(size))
	}
}

func (l *loader) checkTargets() {
	for i, t := range l.c.Targets {
		l.thin("target", i, "radius", t.Radius)
		if l.c.View == Plan {
			continue // the slab's depths
		}
		if t.Top >= t.Bottom {
			l.no("target", i, "bottom", "must be below the top, %s", metres(t.Top))
		}
		l.thin("target", i, "bottom", t.Bottom-t.Top)
		if l.c.View == Section {
			l.thin("target", i, "right", t.Right-t.Left)
		}
		if d := l.deepest(); t.Bottom > d {
			l.no("target", i, "bottom", "must be within the layers, which end at %s", metres(d))
		}
		if l.c.View == Section && t.Left >= t.Right {
			l.no("target", i, "right", "must be right of left, %s", metres(t.Left))
		}
		if t.Radius > l.c.Extent.Radius {
			l.no("target", i, "radius", "must be within extent.radius, %s", metres(l.c.Extent.Radius))
		}
	}
}

// mostSensors is how many depths all sensors may have: each is a column of
// sensors.csv, with a row a step.
const mostSensors = 5000

func (l *loader) checkSensors() {
	n := 0
	for i, s := range l.c.Sensors {
		if n += len(s.Depths); n > mostSensors {
			l.no("sensor", i, "depth", "makes more than %d sensors in all", mostSensors)
			return
		}
		seen := map[float64]bool{}
		for j, x := range s.Depths {
			if seen[x] {
				l.no("sensor", i, "depth", "must not hold a depth twice: %s", metres(x))
				break
			}
			seen[x] = true
			if j < len(s.Labels) && len(s.Labels[j]) > longestName {
				l.no("sensor", i, "depth", "holds a number longer than %d signs", longestName)
				break
			}
			if x > l.c.Domain.Bottom {
				l.no("sensor", i, "depth", "must be above domain.bottom, %s", metres(l.c.Domain.Bottom))
				break
			}
		}
		if l.c.View == Section && (s.X < l.c.Domain.Left || s.X > l.c.Domain.Right) {
			l.no("sensor", i, "x", "must be within domain.left and domain.right")
		}
	}
}

func (l *loader) checkDomain() {
	d := l.c.Domain
	if d.Left >= d.Right {
		l.no("domain", 0, "right", "must be right of left, %s", metres(d.Left))
		return
	}
	if l.c.View == Plan {
		return // see checkPlanDomain
	}
	// The outermost of all, so that one edge gives one fault.
	left, right, bottom := inf, -inf, 0.0
	for _, t := range l.c.Targets {
		if l.c.View == Section {
			left, right = least(left, t.Left), most(right, t.Right)
		}
		bottom = most(bottom, t.Bottom)
	}
	for _, e := range l.c.Electrodes {
		if l.c.View == Section {
			half := e.Radius + e.Width/2
			left, right = least(left, e.X-half), most(right, e.X+half)
		}
		bottom = most(bottom, e.Bottom)
	}
	for _, h := range l.c.Heats {
		if l.c.View == Section {
			left, right = least(left, h.Left), most(right, h.Right)
		}
		bottom = most(bottom, h.Bottom)
	}
	for _, m := range l.c.Conductors {
		if l.c.View == Section {
			left, right = least(left, m.Left), most(right, m.Right)
		}
		bottom = most(bottom, m.Bottom)
	}
	for _, a := range l.c.Arrays {
		if t := l.c.Targets; l.c.View == Section && len(t) > 0 {
			left, right = least(left, t[0].Left-a.Outboard-a.Radius), most(right, t[0].Right+a.Outboard+a.Radius)
		}
		bottom = most(bottom, a.Bottom)
	}
	all := "of all targets and electrodes; they"
	switch heats, metal := len(l.c.Heats) > 0, len(l.c.Conductors) > 0; {
	case heats && metal:
		all = "of all targets, electrodes, heats and conductors; they"
	case heats:
		all = "of all targets, electrodes and heats; they"
	case metal:
		all = "of all targets, electrodes and conductors; they"
	}
	if left <= d.Left {
		l.no("domain", 0, "left", "must be left %s begin at x = %s", all, metres(left))
	}
	if right >= d.Right {
		l.no("domain", 0, "right", "must be right %s end at x = %s", all, metres(right))
	}
	if bottom >= d.Bottom {
		l.no("domain", 0, "bottom", "must be below the bottom %s end at %s", all, metres(bottom))
	}
}

// least and most pass over NaN.
func least(a, b float64) float64 {
	if b < a {
		return b
	}
	return a
}

func most(a, b float64) float64 {
	if b > a {
		return b
	}
	return a
}

// mostFields is how many stored fields a run may have.
const mostFields = 5000

func (l *loader) checkOutput() {
	o, end := l.c.Output, l.c.Time.Duration
	if end/o.FieldsEvery > mostFields {
		given := ""
		if !l.has("output", 0, "fields_every") {
			given = "is left at " + findKey("output.fields_every").def + "; "
		}
		l.no("output", 0, "fields_every", given+"must be at least %s d: a run stores at most %d fields", about(end/mostFields/day), mostFields)
	}
	for i, t := range o.FieldsAt {
		if t > end {
			in := l.element("output", "fields_at", i)
			in.refuse("must be within time.duration, " + about(end/day) + " d")
		}
	}
}
