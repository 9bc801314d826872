package cases

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// Control switches the supply by a temperature of the ground.
type Control struct {
	Setpoint float64 // [K]; NaN: there is no control
	Deadband float64 // [K] either side
	Follow   string  // "mean", "coldest", or a sensor's name or label
}

// On reports whether there is control.
func (c *Control) On() bool { return !math.IsNaN(c.Setpoint) && c.Deadband > 0 }

// Outages are the times in which the supply is off, as a file tells.
type Outages struct {
	File  string   // the CSV's name as written, "" if none
	Spans []Outage // in order, none reaching into the next
	Text  []byte   // File as it was read
}

// Outage is one of them.
type Outage struct {
	From, To float64 // [s] since power-on
}

var controlSection = func() section {
	s := single("control", "switches the supply off at a temperature, and on again", func(c *Case) *Control { return &c.Control })
	s.given = func(c *Case) bool { return c.Control.On() }
	return s
}()

const apparentMeaning = "apparent power of the whole zone, at the electrodes: over the phases, volts times amperes of all the phase's electrodes together"

// leastDeadband [K] is five times what a step may pass a threshold by: a narrower band
// would switch on the error of its own crossings.
const leastDeadband = 0.05

// mostOutages is how many outages a case may have: each ends two steps, and a step
// looks through them.
const mostOutages = 10000

var outageSeries = seriesKind{times: []column{{"from_d", "d"}, {"from_h", "h"}, {"from_s", "s"}}, values: []column{{"to_d", "d"}, {"to_h", "h"}, {"to_s", "s"}},
	of: duration, base: "d", wrong: func(before, row point) string {
		switch {
		case row.value <= row.time:
			return "must be later than the row's from"
		case row.time < before.value:
			return "belongs to an outage that begins before the one before it has ended, on day " + about(before.value/day)
		}
		return ""
	}}

// outages is a file of outages, at an *Outages.
type outages struct{}

func (outages) wants(*key) string { return "the name of a .csv file" }

func (outages) read(in input, dst any) {
	file, ok := csvName(in)
	if !ok {
		return
	}
	p := dst.(*Outages)
	p.File = file
	var rows []point
	rows, p.Text = readSeries(in, file, outageSeries)
	if len(rows) > mostOutages {
		in.refuse(fmt.Sprintf("has %d outages; must have at most %d", len(rows), mostOutages))
		return
	}
	for _, row := range rows {
		p.Spans = append(p.Spans, Outage{row.time, row.value})
	}
}

func (outages) write(_ *key, src any) string { return fileName(src.(*Outages).File) }

func (outages) column(*key) (string, string) { return "d, h or s", "a .csv file" }

// metered is a file of power against time, at a *Power.
type metered struct{}

func (metered) wants(*key) string { return "the name of a .csv file" }

func (metered) read(in input, dst any) {
	if _, ok := csvName(in); ok {
		powers{}.read(in, dst)
	}
}

func (metered) write(_ *key, src any) string { return fileName(src.(*Power).File) }

func (metered) column(k *key) (string, string) { return k.unit, k.span.text() + " in a .csv file" }

// csvName returns the name of a file, or refuses what is none.
func csvName(in input) (string, bool) {
	s, ok := in.raw.(string)
	if !ok || !strings.HasSuffix(strings.ToLower(s), ".csv") {
		in.wrongKind()
		return "", false
	}
	return s, true
}

// fileName writes a file's name as whoever writes the case puts it beside it.
func fileName(file string) string {
	if file == "" {
		return ""
	}
	return quote(baseName(file))
}

// followKind is what the thermostat follows, at a *string; which sensors there are is
// checked when all are read.
type followKind struct{}

func (followKind) wants(*key) string { return `"mean", "coldest" or the name of a sensor` }

func (followKind) read(in input, dst any) {
	s, ok := in.raw.(string)
	if !ok || strings.TrimSpace(s) == "" {
		in.wrongKind()
		return
	}
	*dst.(*string) = s
}

func (followKind) write(_ *key, src any) string { return quote(*src.(*string)) }

func (followKind) column(*key) (string, string) { return "word", "mean | coldest | a sensor" }

// checkControl refuses control and drives that cannot be, or contradict each other.
func (l *loader) checkControl() {
	c := l.c
	if l.tree["control"] != nil {
		if !l.needsSupply() {
			l.no("control", 0, "", "controls nothing: the case has neither [[electrode]] nor [[array]]")
		}
		if c.Control.Deadband < leastDeadband*(1-1e-9) {
			l.no("control", 0, "deadband", "must be at least %s K: a threshold is met to 0.01 K, and a narrower band would switch on that error", about(leastDeadband))
		}
		l.checkFollow()
	}
	meter := &c.Supply.Metered
	if meter.File == "" {
		if s := c.Supply.DeliveredShare; l.has("supply", 0, "delivered_share") && s < 1 {
			l.no("supply", 0, "delivered_share", "acts on nothing: it is of supply.metered, which is not given")
		}
		return
	}
	l.checkSpan("supply", 0, "metered", meter.Series, "the supply")
	const why = "must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off"
	if l.tree["control"] != nil {
		l.no("control", 0, "", why)
	}
	if c.Supply.Outages.File != "" {
		l.no("supply", 0, "outages", why)
	}
	const own = "must not stand beside supply.metered: a limit of one electrode would turn down power that was metered; give it a voltage of its own"
	for i := range c.Electrodes {
		if l.has("electrode", i, "current_limit") {
			l.no("electrode", i, "current_limit", own)
		}
	}
	for i := range c.Changes {
		alone := c.Changes[i].Electrode != ""
		if !alone && l.has("change", i, "on") {
			l.no("change", i, "on", why)
		}
		if alone && l.has("change", i, "current_limit") {
			l.no("change", i, "current_limit", own)
		}
	}
}

// checkFollow refuses a thermostat that follows nothing, or one of two.
func (l *loader) checkFollow() {
	follow := l.c.Control.Follow
	var names []string
	for i := range l.c.Sensors {
		s := &l.c.Sensors[i]
		if s.Name == "" {
			return // refused already
		}
		if s.Name == follow && (follow == "mean" || follow == "coldest") {
			l.no("control", 0, "follow", "is a word of its own and the name of a sensor: name the sensor otherwise")
			return
		}
		if s.Name == follow {
			return
		}
		names = append(names, s.Name)
		for _, depth := range s.Labels { // the depths as written, as yet without the name
			if label := s.Name + "@" + depth; label == follow {
				return
			} else if len(names) < 20 {
				names = append(names, label)
			}
		}
	}
	if follow == "" || follow == "mean" || follow == "coldest" {
		return
	}
	there := "the case has no [[sensor]]"
	if len(names) > 0 {
		there = "sensors are " + enumerate(names)
	}
	l.no("control", 0, "follow", `must be "mean", "coldest" or a sensor; %s`, there)
}

// Settings returns the supply from 0 on: as planned, and the outages.
func (c *Case) Settings() []solver.Setting { return c.withOutages(c.settings()) }

// withOutages puts the outages into the settings, which are in order of time: in one the
// supply is off, whatever else it is set to.
func (c *Case) withOutages(planned []solver.Setting) []solver.Setting {
	spans := c.Supply.Outages.Spans
	if len(spans) == 0 {
		return planned
	}
	var times []float64
	for _, s := range planned {
		times = append(times, s.At)
	}
	for _, o := range spans {
		times = append(times, math.Max(0, o.From), math.Max(0, o.To))
	}
	slices.Sort(times)
	var out []solver.Setting
	for i, t := range slices.Compact(times) {
		for len(planned) > 1 && planned[1].At <= t {
			planned = planned[1:]
		}
		for len(spans) > 1 && spans[0].To <= t {
			spans = spans[1:]
		}
		s := planned[0]
		s.At, s.Outage = t, spans[0].From <= t && t < spans[0].To
		if i > 0 && s.At > c.Time.Duration {
			break
		}
		out = append(out, s)
	}
	return out
}

// thermostat returns the case's control of its supply; nil: none.
func (c *Case) thermostat(ground *physics.Ground, zone mesh.Zone) *solver.Thermostat {
	if !c.Control.On() || len(c.Electrodes) == 0 {
		return nil
	}
	t := &solver.Thermostat{Setpoint: c.Control.Setpoint, Deadband: c.Control.Deadband}
	cells, volumes := zone.Cells(ground.Grid), zone.Volumes(ground.Grid)
	switch c.Control.Follow {
	case "mean":
		volume := zone.Volume(ground.Grid)
		t.Follow = func(s *solver.State) float64 {
			sum := 0.0
			for _, cell := range cells {
				sum += volumes[cell] * s.T[cell]
			}
			return sum / volume
		}
	case "coldest":
		cells = insideMost(zone, ground.Grid)
		t.Follow = func(s *solver.State) float64 {
			low := math.Inf(1)
			for _, cell := range cells {
				low = math.Min(low, s.T[cell])
			}
			return low
		}
	default:
		var at []*physics.Reading
		for _, s := range c.Sensors {
			if c.View == Plan && s.Name == c.Control.Follow {
				at = append(at, ground.Reading(s.X, s.Y))
			}
			for j, z := range s.Depths {
				if s.Name == c.Control.Follow || s.Labels[j] == c.Control.Follow {
					at = append(at, ground.Reading(s.X, z))
				}
			}
		}
		t.Follow = func(s *solver.State) float64 {
			low := math.Inf(1)
			for _, r := range at {
				low = math.Min(low, r.Temperature(s.T))
			}
			return low
		}
	}
	return t
}

// insideMost returns the cells that may be a zone's coldest, as solver.TargetState has
// them: those at least half inside, or the ones that are most.
func insideMost(zone mesh.Zone, g *mesh.Grid) []int {
	weight := func(c int) float64 { return zone.Weight(c%g.NX, c/g.NX) }
	least := 0.0
	cells := zone.Cells(g)
	for _, c := range cells {
		least = math.Max(least, math.Min(weight(c), 0.5))
	}
	return slices.DeleteFunc(cells, func(c int) bool { return weight(c) < least })
}

// meter returns the case's metered drive; nil: none.
func (c *Case) meter() *solver.Meter {
	if c.Supply.Metered.File == "" || len(c.Electrodes) == 0 {
		return nil
	}
	d := c.Delivered()
	return &solver.Meter{Power: d.sum.mean, Peak: d.peak}
}

// Delivered returns the metered power that reaches the electrodes; nil: the voltage
// drives.
func (c *Case) Delivered() *SetPower {
	m := &c.Supply.Metered
	if m.File == "" {
		return nil
	}
	rows := make([]PowerPoint, len(m.Series))
	for i, r := range m.Series {
		rows[i] = PowerPoint{r.Time, r.Power * c.Supply.DeliveredShare}
	}
	return &SetPower{newPowerSum(&Power{Series: rows})}
}

// peak is Peak, and allocates nothing.
func (p *SetPower) peak(from, to float64) (watts, at float64) {
	watts, at = p.At(from), from
	note := func(w, t float64) {
		if w > watts {
			watts, at = w, t
		}
	}
	for i := p.sum.row(from) + 1; i < len(p.sum.rows) && p.sum.rows[i].Time < to; i++ {
		note(p.sum.rows[i].Power, p.sum.rows[i].Time)
	}
	note(p.At(to), to)
	return watts, at
}

// controlCautions names control and outages that do other than they seem to.
func (c *Case) controlCautions() []string {
	var out []string
	if c.Control.On() && c.Control.Setpoint+c.Control.Deadband <= c.Site.Ambient {
		out = append(out, fmt.Sprintf("The setpoint, %s, with its deadband is not above the ground as found: the supply is off from the start.", c.toldTemperature("%.4g", c.Control.Setpoint)))
	}
	if c.Control.On() && c.Steam.Boiling {
		depth := c.Targets[0].Bottom
		if c.View == Plan {
			depth = (c.Extent.Top + c.Extent.Bottom) / 2
		}
		if _, _, tb, _ := c.BoilingRange(depth); c.Control.Setpoint+c.Control.Deadband > tb {
			out = append(out, fmt.Sprintf("The setpoint, %s, with its deadband lies above the boiling point of the first target, at most %s: ground that holds water does not pass that, so the supply may never switch off.", c.toldTemperature("%.4g", c.Control.Setpoint), c.toldTemperature("%.1f", tb)))
		}
	}
	if s := c.Supply.Outages.Spans; len(s) > 0 && s[len(s)-1].From >= c.Time.Duration {
		n := 0
		for _, o := range s {
			if o.From >= c.Time.Duration {
				n++
			}
		}
		out = append(out, fmt.Sprintf("%d of %d rows of supply.outages begin after the end of the run.", n, len(s)))
	}
	if c.Supply.Metered.File != "" {
		out = append(out, "The voltage follows the metered power: neither supply.voltage nor a limit holds it back, and current and voltage tell of the model's ground, not of the meter.")
	}
	return append(out, c.gapCaution()...)
}
