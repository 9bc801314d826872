package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"soiljoule/cases"
	"soiljoule/materials"
)

// schedule is what changes of the supply and the site from power-on to the end.
type schedule struct {
	EndDay   float64       `json:"end_d"`
	Basis    string        `json:"voltage_basis,omitempty"` // of the voltages in rows
	Rows     []scheduleRow `json:"rows"`
	Outages  *outageRows   `json:"outages,omitempty"`
	Setpoint *setpointRow  `json:"setpoint,omitempty"`
	Metered  *meteredRow   `json:"metered,omitempty"`
	Courses  []courseRow   `json:"courses,omitempty"`
	// The supply as given, and when that is.
	start, startDate string

	held bool // the supply goes off for good when the first target is held
}

// scheduleRow is all that changes at one time.
type scheduleRow struct {
	Day      float64         `json:"at_d"`
	Date     string          `json:"date,omitempty"`
	Events   []scheduleEvent `json:"events"`
	NoEffect string          `json:"no_effect,omitempty"` // why it changes nothing
	at       float64         // [s]
}

// scheduleEvent is one of them.
type scheduleEvent struct {
	Of   string `json:"of"` // supply, electrode, array or water_added
	Name string `json:"name,omitempty"`
	Key  string `json:"key"`
	// A number in Unit, true or false, or null: no limit. From is a list where the electrodes
	// of an array differ.
	From any    `json:"from"`
	To   any    `json:"to"`
	Unit string `json:"unit,omitempty"`
}

// outageRows are the outages of a file within the run.
type outageRows struct {
	File       string      `json:"file"`
	Hours      float64     `json:"hours"`
	Share      float64     `json:"share_of_time"`
	LongestH   float64     `json:"longest_h"`
	LongestDay float64     `json:"longest_at_d"`
	Beyond     int         `json:"after_the_end"` // rows that begin after the run
	Spans      []outageRow `json:"spans"`
}

type outageRow struct {
	From  float64 `json:"from_d"`
	To    float64 `json:"to_d"`
	Date  string  `json:"date,omitempty"`
	Hours float64 `json:"hours"`
}

// setpointRow is what [control] does.
type setpointRow struct {
	SetpointC float64 `json:"setpoint_C"`
	DeadbandK float64 `json:"deadband_K"`
	Follow    string  `json:"follow"`
	OffAboveC float64 `json:"off_above_C"`
	OnBelowC  float64 `json:"on_below_C"`
	on        string
}

// meteredRow is the power of a metered drive, from MeanKW to NothingH until power-off, else
// until the end of the run.
type meteredRow struct {
	File     string      `json:"file"`
	Rows     int         `json:"rows"`
	From     float64     `json:"from_d"`
	To       float64     `json:"to_d"`
	Share    float64     `json:"delivered_share"`
	MeanKW   float64     `json:"mean_kW"` // at the electrodes, as MaxKW
	MaxKW    float64     `json:"max_kW"`
	MaxDay   float64     `json:"max_day"`
	NothingH float64     `json:"at_0_kW_h"`
	UsualH   float64     `json:"usual_h"` // from row to row; 0: few rows
	Gaps     []outageRow `json:"gaps"`
	InGaps   float64     `json:"energy_in_gaps_share"`
}

// courseRow is what a file or twelve months tell of a number that changes with time.
type courseRow struct {
	Key   string  `json:"key"`
	File  string  `json:"file,omitempty"` // "": by month
	Rows  int     `json:"rows"`
	From  float64 `json:"from_d"` // of a file its first row, To its last
	To    float64 `json:"to_d"`
	Least float64 `json:"least"` // within the run, of months in the year
	Most  float64 `json:"most"`
	Unit  string  `json:"unit"`
}

// How many rows, outages and gaps a text lists; --json has all.
const (
	fewRows    = 30
	fewOutages = 5
	fewGaps    = 3
)

// schedule finds what changes: drawn is the case as written, c the expanded one.
func (r *checked) schedule(drawn, c *cases.Case, layouts []cases.Layout) {
	s := &schedule{EndDay: c.Time.Duration / 86400, Rows: []scheduleRow{}}
	r.Schedule = s
	if len(c.Electrodes) > 0 {
		s.Basis = c.Supply.VoltageBasis
		s.start, s.startDate = givenSupply(&c.Supply), dateOf(c, 0)
		s.changes(drawn, c, layouts)
		s.outages(c)
		s.setpoint(c)
		s.metered(c)
		s.held = c.Supply.Off.Held
	}
	s.water(drawn)
	s.courses(c)
	slices.SortStableFunc(s.Rows, func(a, b scheduleRow) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	for i := range s.Rows {
		row := &s.Rows[i]
		row.Day, row.Date = row.at/86400, dateOf(c, row.at)
		switch off := c.Supply.Off.At; {
		case row.at >= c.Time.Duration:
			row.NoEffect = "at the end of the run or after it"
		case off > 0 && row.at >= off && row.Events[0].Key != "off" && row.Events[0].Of != "water_added": // water needs no supply
			row.NoEffect = "the supply is off for good"
		}
	}
}

// dateOf returns the date and time of a moment [s], "" where the case has no dates.
func dateOf(c *cases.Case, t float64) string {
	if c.Time.PowerOn.IsZero() {
		return ""
	}
	return c.Time.PowerOn.Add(time.Duration(math.Round(t)) * time.Second).Format("2006-01-02T15:04:05")
}

// row adds what changes at a time [s].
func (s *schedule) row(at float64, e ...scheduleEvent) {
	if len(e) == 0 {
		return
	}
	if n := len(s.Rows); n > 0 && s.Rows[n-1].at == at {
		s.Rows[n-1].Events = append(s.Rows[n-1].Events, e...)
		return
	}
	s.Rows = append(s.Rows, scheduleRow{at: at, Events: e})
}

// limit returns a limit over a unit; nil: there is none.
func limit(v, unit float64) any {
	if math.IsInf(v, 1) || !(v > 0) {
		return nil
	}
	return v / unit
}

// circuit is what one electrode is set to.
type circuit struct {
	voltage any // [V] in the supply's basis; nil: the supply's
	limit   any // [A]; nil: none
	on      any // true or false
}

// changes follows the planned changes, in order of time.
func (s *schedule) changes(drawn, c *cases.Case, layouts []cases.Layout) {
	supply := c.Supply
	on := true
	own := make([]circuit, len(c.Electrodes))
	at := map[string]int{}
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		own[i].on, at[e.Name] = true, i
		if e.Voltage != nil {
			own[i].voltage = *e.Voltage
		}
		if e.CurrentLimit != nil {
			own[i].limit = *e.CurrentLimit
		}
	}
	array := map[string]cases.Layout{}
	for _, l := range layouts {
		array[l.Array] = l
	}
	for i := range drawn.Changes {
		ch := &drawn.Changes[i]
		var events []scheduleEvent
		if ch.Electrode == "" {
			add := func(key, unit string, from, to any) {
				events = append(events, scheduleEvent{Of: "supply", Key: key, From: from, To: to, Unit: unit})
			}
			if ch.Voltage != nil {
				add("voltage", "V", supply.Voltage, *ch.Voltage)
				supply.Voltage = *ch.Voltage
			}
			if ch.PowerLimit != nil {
				add("power_limit", "kW", limit(supply.PowerLimit, 1e3), *ch.PowerLimit/1e3)
				supply.PowerLimit = *ch.PowerLimit
			}
			if ch.CurrentLimit != nil {
				add("current_limit", "A", limit(supply.CurrentLimit, 1), *ch.CurrentLimit)
				supply.CurrentLimit = *ch.CurrentLimit
			}
			if ch.ApparentLimit != nil {
				add("kva_limit", "kVA", limit(supply.ApparentLimit, 1e3), *ch.ApparentLimit/1e3)
				supply.ApparentLimit = *ch.ApparentLimit
			}
			if ch.On != nil {
				add("on", "", on, *ch.On)
				on = *ch.On
			}
			s.row(ch.At, events...)
			continue
		}
		of, from, to := "electrode", at[ch.Electrode], at[ch.Electrode]+1
		if l, ok := array[ch.Electrode]; ok {
			of, from, to = "array", l.From, l.To
		}
		// each sets one thing of every electrode that takes it, and tells what it was.
		each := func(key, unit string, neutral bool, value any, thing func(o *circuit) *any) {
			var was []any
			for b := from; b < to; b++ {
				if c.Electrodes[b].Phase == "N" && !neutral {
					continue
				}
				p := thing(&own[b])
				v := *p
				if v == nil && key == "voltage" {
					v = supply.Voltage
				}
				if !slices.Contains(was, v) {
					was = append(was, v)
				}
				*p = value
			}
			e := scheduleEvent{Of: of, Name: ch.Electrode, Key: key, From: was, To: value, Unit: unit}
			switch len(was) {
			case 0: // the neutral alone
				return
			case 1:
				e.From = was[0]
			}
			events = append(events, e)
		}
		if ch.Voltage != nil {
			each("voltage", "V", false, *ch.Voltage, func(o *circuit) *any { return &o.voltage })
		}
		if ch.CurrentLimit != nil {
			each("current_limit", "A", false, *ch.CurrentLimit, func(o *circuit) *any { return &o.limit })
		}
		if ch.On != nil {
			each("on", "", true, *ch.On, func(o *circuit) *any { return &o.on })
		}
		s.row(ch.At, events...)
	}
	if off := c.Supply.Off.At; off > 0 {
		s.Rows = append(s.Rows, scheduleRow{at: off, Events: []scheduleEvent{{Of: "supply", Key: "off", From: false, To: true}}})
	}
}

// outages sums those that begin within the run, each as far as that goes.
func (s *schedule) outages(c *cases.Case) {
	o := &c.Supply.Outages
	if o.File == "" {
		return
	}
	s.Outages = &outageRows{File: o.File, Spans: []outageRow{}}
	for _, span := range o.Spans {
		from, to := math.Max(0, span.From), math.Min(span.To, c.Time.Duration)
		if span.From >= c.Time.Duration {
			s.Outages.Beyond++
		}
		if to <= from {
			continue
		}
		row := outageRow{From: from / 86400, To: to / 86400, Date: dateOf(c, from), Hours: (to - from) / 3600}
		s.Outages.Spans = append(s.Outages.Spans, row)
		s.Outages.Hours += row.Hours
		if row.Hours > s.Outages.LongestH {
			s.Outages.LongestH, s.Outages.LongestDay = row.Hours, row.From
		}
	}
	s.Outages.Share = s.Outages.Hours * 3600 / c.Time.Duration
}

// setpoint takes what [control] keeps, and where it switches.
func (s *schedule) setpoint(c *cases.Case) {
	if k := &c.Control; k.On() {
		s.Setpoint = &setpointRow{k.Setpoint - materials.Celsius, k.Deadband, k.Follow,
			k.Setpoint + k.Deadband - materials.Celsius, k.Setpoint - k.Deadband - materials.Celsius, followed(c)}
	}
}

// metered sums the power of a metered drive, as it comes to the electrodes until power-off.
func (s *schedule) metered(c *cases.Case) {
	p := c.Delivered()
	if p == nil {
		return
	}
	rows, end := c.Supply.Metered.Series, c.Time.Duration
	if off := c.Supply.Off.At; off > 0 {
		end = min(end, off)
	}
	m := &meteredRow{File: c.Supply.Metered.File, Rows: len(rows), From: rows[0].Time / 86400, To: rows[len(rows)-1].Time / 86400,
		Share: c.Supply.DeliveredShare, MeanKW: p.Energy(0, end) / end / 1e3, Gaps: []outageRow{}}
	watts, at := p.Peak(0, end)
	m.MaxKW, m.MaxDay = watts/1e3, at/86400
	within := p.Rows(0, end)
	for i := 1; i < len(within); i++ {
		if a, b := within[i-1], within[i]; a.Power == 0 && b.Power == 0 {
			m.NothingH += (b.Time - a.Time) / 3600
		}
	}
	g := c.MeterGaps()
	m.UsualH, m.InGaps = g.Usual/3600, g.Share
	for _, span := range g.Spans {
		m.Gaps = append(m.Gaps, outageRow{From: span[0] / 86400, To: span[1] / 86400, Date: dateOf(c, span[0]), Hours: (span[1] - span[0]) / 3600})
	}
	s.Metered = m
}

// water adds when water begins and ends to be let in, of a case as written.
func (s *schedule) water(c *cases.Case) {
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		rate := w.Rate * 60e3
		event := func(at float64, from, to float64) {
			s.Rows = append(s.Rows, scheduleRow{at: at, Events: []scheduleEvent{{Of: "water_added", Name: w.Electrode, Key: "rate", From: from, To: to, Unit: "L/min"}}})
		}
		if w.From > 0 {
			event(w.From, 0, rate)
		}
		if !math.IsInf(w.To, 1) {
			event(w.To, rate, 0)
		}
	}
}

// courses adds the numbers that files, or months, give against time.
func (s *schedule) courses(c *cases.Case) {
	end := c.Time.Duration
	add := func(key, file, unit string, points []cases.CoursePoint, in func(float64) float64) {
		if len(points) == 0 {
			return
		}
		w := courseRow{Key: key, File: file, Rows: len(points), From: points[0].Time / 86400, To: points[len(points)-1].Time / 86400, Unit: unit}
		least, most := rangeOf(points, end)
		w.Least, w.Most = in(least), in(most)
		s.Courses = append(s.Courses, w)
	}
	celsius := func(k float64) float64 { return k - materials.Celsius }
	if a := &c.Surface.Air; len(a.Monthly) > 0 && len(a.Series) == 0 {
		s.Courses = append(s.Courses, courseRow{Key: "surface.air", Rows: len(a.Monthly), To: s.EndDay, Least: celsius(slices.Min(a.Monthly)), Most: celsius(slices.Max(a.Monthly)), Unit: "degC"})
	}
	var points []cases.CoursePoint
	for _, p := range c.Surface.Air.Series {
		points = append(points, cases.CoursePoint{Time: p.Time, Value: p.Temperature})
	}
	add("surface.air", c.Surface.Air.File, "degC", points, celsius)
	points = nil
	for _, p := range c.Surface.Infiltration.Series {
		points = append(points, cases.CoursePoint{Time: p.Time, Value: p.Rate})
	}
	add("surface.infiltration", c.Surface.Infiltration.File, "m/d", points, func(v float64) float64 { return v * 86400 })
	add("site.water_table", c.Site.Table.File, "m", c.Site.Table.Series, func(v float64) float64 { return v })
	add("steam.vacuum", c.Steam.VacuumCourse.File, "kPa", c.Steam.VacuumCourse.Series, func(v float64) float64 { return v / 1e3 })
	for i := range c.Heats {
		points = nil
		for _, p := range c.Heats[i].Power.Series {
			points = append(points, cases.CoursePoint{Time: p.Time, Value: p.Power})
		}
		add("heat."+c.Heats[i].Name+".power", c.Heats[i].Power.File, "kW", points, func(v float64) float64 { return v / 1e3 })
	}
}

// rangeOf returns the least and the largest value between power-on and end [s] of what runs
// straight from row to row and is level beyond them.
func rangeOf(points []cases.CoursePoint, end float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	note := func(v float64) { least, most = math.Min(least, v), math.Max(most, v) }
	at := func(t float64) float64 {
		i := 0
		for i < len(points) && points[i].Time <= t {
			i++
		}
		switch i {
		case 0:
			return points[0].Value
		case len(points):
			return points[i-1].Value
		}
		a, b := points[i-1], points[i]
		return a.Value + (b.Value-a.Value)*(t-a.Time)/(b.Time-a.Time)
	}
	note(at(0))
	note(at(end))
	for _, p := range points {
		if p.Time >= 0 && p.Time <= end {
			note(p.Value)
		}
	}
	return least, most
}

// givenSupply writes the supply as given.
func givenSupply(s *cases.Supply) string {
	if s.Metered.File != "" {
		return "supply on, as metered"
	}
	text := fmt.Sprintf("supply on at %.4g V", s.Voltage)
	for _, l := range []struct {
		what, unit string
		v          any
	}{{"power limit", "kW", limit(s.PowerLimit, 1e3)}, {"current limit", "A a rod", limit(s.CurrentLimit, 1)}, {"kVA limit", "kVA", limit(s.ApparentLimit, 1e3)}} {
		if l.v != nil {
			text += fmt.Sprintf(", %s %.4g %s", l.what, l.v, l.unit)
		}
	}
	return text
}

// print writes the schedule; where nothing changes, one line.
func (s *schedule) print(line func(string, ...any), u units) {
	if len(s.Rows) == 0 && s.Outages == nil && s.Setpoint == nil && s.Metered == nil && len(s.Courses) == 0 && !s.held {
		line("schedule: nothing changes from power-on to the end, day %.6g", s.EndDay)
		return
	}
	line("")
	head := "schedule, to day %.6g"
	if s.Basis != "" {
		head += ", voltages RMS " + s.Basis
	}
	line(head, s.EndDay)
	lines := s.lines(u)
	width := 0
	for _, l := range lines {
		width = max(width, len(l[0]))
	}
	for i, l := range lines {
		if i == fewRows && len(lines) > fewRows+1 {
			line("  and %d more, the last on %s", len(lines)-i, lines[len(lines)-1][0])
			break
		}
		line("  %-*s  %s", width, l[0], l[1])
	}
	if s.held {
		line("  supply off for good when the first target is held")
	}
	if o := s.Outages; o != nil {
		text := fmt.Sprintf("outages by %s: %d, %.4g h in all, %.3g %% of the run", o.File, len(o.Spans), o.Hours, 100*o.Share)
		if len(o.Spans) > 1 {
			text += fmt.Sprintf(", the longest %.4g h from day %.6g", o.LongestH, o.LongestDay)
		}
		if o.Beyond > 0 {
			text += fmt.Sprintf("; %d after the end", o.Beyond)
		}
		line("  %s", text)
	}
	if k := s.Setpoint; k != nil {
		line("  setpoint %s ± %.3g K (%.3g °F), %s: off above %s, on again below %s", u.temperature(k.SetpointC+materials.Celsius), k.DeadbandK, 1.8*k.DeadbandK,
			k.on, u.temperature(k.OffAboveC+materials.Celsius), u.temperature(k.OnBelowC+materials.Celsius))
	}
	if m := s.Metered; m != nil {
		line("  %s", m.text())
	}
	for i := range s.Courses {
		line("  %s", s.Courses[i].text(u))
	}
}

// lines returns the rows, with the first of the outages among them: when, and what.
func (s *schedule) lines(u units) [][2]string {
	type timed struct {
		at   float64 // [d]
		text [2]string
	}
	var all []timed
	when := func(day float64, date string) string {
		text := fmt.Sprintf("day %.6g", day)
		if date != "" {
			text += " (" + strings.Replace(strings.TrimSuffix(strings.TrimSuffix(date, "T00:00:00"), ":00"), "T", " ", 1) + ")"
		}
		return text
	}
	for i := range s.Rows {
		row := &s.Rows[i]
		text := row.text(u)
		if row.NoEffect != "" {
			text += ": no effect, " + row.NoEffect
		}
		all = append(all, timed{row.Day, [2]string{when(row.Day, row.Date), text}})
	}
	if o := s.Outages; o != nil {
		for i, span := range o.Spans {
			text := fmt.Sprintf("outage of %.4g h, to day %.6g", span.Hours, span.To)
			if n := len(o.Spans) - fewOutages; i == fewOutages-1 && n > 0 {
				text += fmt.Sprintf(", and %d more", n)
			}
			if i < fewOutages {
				all = append(all, timed{span.From, [2]string{when(span.From, span.Date), text}})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b timed) int { return cmp.Compare(a.at, b.at) })
	var out [][2]string
	if s.start != "" {
		out = append(out, [2]string{when(0, s.startDate), s.start})
	}
	for _, x := range all {
		out = append(out, x.text)
	}
	return out
}

// text says what changes: electrodes of which the same is said together.
func (r *scheduleRow) text(u units) string {
	type said struct{ of, what string }
	var subjects []said
	names := map[said][]string{}
	for i := 0; i < len(r.Events); {
		e := &r.Events[i]
		var parts []string
		j := i
		for ; j < len(r.Events) && r.Events[j].Of == e.Of && r.Events[j].Name == e.Name; j++ {
			parts = append(parts, r.Events[j].text(u))
		}
		i = j
		key := said{e.Of, strings.Join(parts, ", ")}
		if names[key] == nil {
			subjects = append(subjects, key)
		}
		names[key] = append(names[key], e.Name)
	}
	var out []string
	for _, k := range subjects {
		of := k.of
		switch of {
		case "supply":
			of += " "
		case "water_added":
			of = "water added at " + few(names[k]) + " "
		default:
			if n := names[k]; len(n) > 1 {
				of += "s"
			}
			of += " " + few(names[k]) + " "
		}
		out = append(out, of+k.what)
	}
	return strings.Join(out, "; ")
}

// text says what one thing changes from, and to.
func (e *scheduleEvent) text(u units) string {
	switch e.Key {
	case "off":
		return "off for good"
	case "on":
		word := map[any]string{true: "on", false: "off"}
		if e.From == e.To {
			return "stays " + word[e.To]
		}
		return "switched " + word[e.To]
	case "rate":
		if to := e.To.(float64); to > 0 {
			return "begins, " + u.flow(to) + " a rod"
		}
		return "ends"
	}
	value := func(v any) string {
		if v == nil {
			return "none"
		}
		return fmt.Sprintf("%.4g %s", v, e.Unit)
	}
	name := strings.Replace(strings.ReplaceAll(e.Key, "_", " "), "kva", "kVA", 1)
	from := ""
	if was, ok := e.From.([]any); ok {
		var each []string
		for _, v := range was {
			each = append(each, value(v))
		}
		from = fewest(each)
	} else {
		from = value(e.From)
	}
	if e.From == nil && e.To == nil || from == value(e.To) {
		return name + " stays " + value(e.To)
	}
	return name + " " + from + " → " + value(e.To)
}

// fewest joins the first of alternatives.
func fewest(words []string) string {
	if len(words) > 4 {
		return fmt.Sprintf("%s, %s or %d others", words[0], words[1], len(words)-2)
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// several counts things.
func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// text tells of a metered drive.
func (m *meteredRow) text() string {
	text := fmt.Sprintf("metered by %s: %s, day %.6g to %.6g; at the electrodes mean %s, at most %s on day %.4g", m.File, several(m.Rows, "row"), m.From, m.To,
		kilowatts(m.MeanKW), kilowatts(m.MaxKW), m.MaxDay)
	if m.Share != 1 {
		text += fmt.Sprintf(", delivered share %.4g", m.Share)
	}
	if m.NothingH > 0 {
		text += fmt.Sprintf("; at 0 kW for %.4g h", m.NothingH)
	}
	switch n := len(m.Gaps); {
	case m.UsualH == 0:
	case n == 0:
		text += fmt.Sprintf("; rows as a rule %.3g h apart, no gaps", m.UsualH)
	default:
		var first []string
		for _, g := range m.Gaps[:min(n, fewGaps)] {
			first = append(first, fmt.Sprintf("day %.6g to %.6g", g.From, g.To))
		}
		text += fmt.Sprintf("; rows as a rule %.3g h apart, %s: %s", m.UsualH, several(n, "gap"), strings.Join(first, ", "))
		if n > fewGaps {
			text += fmt.Sprintf(" and %d more", n-fewGaps)
		}
		text += fmt.Sprintf(", %.2g %% of the file's energy", 100*m.InGaps)
	}
	return text
}

// kilowatts writes a power [kW], in W below 1 kW.
func kilowatts(kW float64) string {
	if kW > 0 && kW < 1 {
		return fmt.Sprintf("%.4g W", kW*1e3)
	}
	return fmt.Sprintf("%.4g kW", kW)
}

// text tells of what a file or months give against time.
func (w *courseRow) text(u units) string {
	value := func(v float64) string {
		switch w.Unit {
		case "degC":
			return u.temperature(v + materials.Celsius)
		case "m":
			return u.length(v)
		case "m/d":
			return u.speed(v)
		case "kPa":
			return u.pair(fmt.Sprintf("%.3g inHg", v*1e3/cases.InchOfHg), fmt.Sprintf("%.4g kPa", v))
		}
		return kilowatts(v)
	}
	if w.File == "" {
		return fmt.Sprintf("%s by month: %s to %s", w.Key, value(w.Least), value(w.Most))
	}
	return fmt.Sprintf("%s by %s: %s, day %.6g to %.6g; %s to %s in the run", w.Key, w.File, several(w.Rows, "row"), w.From, w.To, value(w.Least), value(w.Most))
}
