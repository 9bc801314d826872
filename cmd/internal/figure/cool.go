package figure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/plot/vg"
)

// cooledTo are the temperatures [°C] whose day after power-off is told.
var cooledTo = []float64{40, 30}

// mostCooling is how many sensors the figure of cooling draws.
const mostCooling = 6

// cool draws how the ground cools: the first target's mean, its hottest place and the
// sensors, against the days since the supply went off for good.
func cool(f *folder, s style) (*drawing, error) {
	in, err := f.readTable("history.csv")
	if err != nil {
		return nil, err
	}
	off, err := f.offForGood(in)
	if err != nil {
		return nil, err
	}
	cols, err := in.columns("time_d", "target_mean_C")
	if err != nil {
		return nil, err
	}
	first := slices.IndexFunc(cols[0], func(t float64) bool { return t >= off })
	days := since(cols[0][first:], off)
	if len(days) < 2 {
		return nil, fmt.Errorf("the run ends as the supply goes off: %w", errNothing)
	}
	list := []trace{{column: "target_mean_C", text: "target, mean", x: days, y: cols[1][first:], width: 2.4, shade: 1}}
	if hot, err := in.column("target_max_C"); err == nil {
		list = append(list, trace{column: "target_max_C", text: "target, hottest", x: days, y: hot[first:], width: 2.4, shade: 0.8, dash: 1})
	}
	out := &table{file: "cool.csv"}
	out.add("days_off", days)
	for _, t := range list {
		out.add(t.column, t.y)
	}
	notes := []string{}
	for _, level := range cooledTo {
		text := "At or below " + s.temperature2(level) + ":"
		for i, t := range list {
			if i > 0 {
				text += ","
			}
			text += " " + []string{"mean", "hottest"}[i]
			if d := cooled(t.x, t.y, level); math.IsNaN(d) {
				text += " not in " + short(days[len(days)-1]) + " d"
			} else {
				text += " after " + short(d) + " d"
			}
		}
		notes = append(notes, text+".")
	}
	places, left, err := f.coolingSensors(off, days, out)
	if err != nil {
		return nil, err
	}
	list = append(list, places...)
	if left > 0 {
		notes = append(notes, fmt.Sprintf("Not drawn: %d more sensors.", left))
	}
	// The levels are named at their ends, as the curves are: beside the lines there is
	// often no room clear of all curves.
	lines := slices.Clone(list[:len(list)-len(places)])
	for _, level := range cooledTo {
		lines = append(lines, trace{text: s.temperature2(level), x: []float64{0, days[len(days)-1]}, y: []float64{level, level}, width: 0.8, dash: 4, ink: grey(35)})
	}
	lines = append(lines, places...)
	all := [][]float64{cooledTo}
	for _, t := range list {
		all = append(all, t.y)
	}
	lo, hi, _ := bounds(all...)
	c := chart{title: "Temperature", units: s.temperature[:], traces: lines, y: widen(lo, hi, 5), height: 235}
	since := f.c.Time.PowerOn
	if !since.IsZero() {
		since = since.Add(time.Duration(off * 24 * float64(time.Hour)))
	}
	total := headHeight + chartsHeight([]chart{c}) + f.datesHeight() + vg.Length(len(notes))*lineHeight + footHeight + 8
	paint := func(p *pen) {
		p.heading(f, "Cooling after power off", fmt.Sprintf("off on day %s, to day %s", short(off), short(off+days[len(days)-1])), "cool")
		p.charts(s, []chart{c}, axis{lo: 0, hi: days[len(days)-1]}, "days since power off", since, p.Max.Y-headHeight)
		p.notes(notes)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// coolingSensors returns the sensors' temperatures after power-off, at most so many, and
// how many are left out; out gets all rows that it has days for.
func (f *folder) coolingSensors(off float64, days []float64, out *table) (list []trace, left int, err error) {
	var labels []string
	for _, sensor := range f.c.Sensors {
		labels = append(labels, sensor.Labels...)
	}
	if len(labels) == 0 {
		return nil, 0, nil
	}
	in, err := f.readTable("sensors.csv")
	if err != nil {
		return nil, 0, err
	}
	t, err := in.column("time_d")
	if err != nil {
		return nil, 0, err
	}
	first := slices.IndexFunc(t, func(t float64) bool { return t >= off })
	if first < 0 || !slices.Equal(since(t[first:], off), days) {
		return nil, 0, errors.New("sensors.csv: its days are not those of history.csv")
	}
	n := min(len(labels), mostCooling)
	for i := range n {
		// Evenly through the list, from its first to its last.
		label := labels[0]
		if n > 1 {
			label = labels[i*(len(labels)-1)/(n-1)]
		}
		v, err := in.column(label + "_C")
		if err != nil {
			return nil, 0, err
		}
		list = append(list, trace{column: label + "_C", text: printable(label), x: days, y: v[first:], width: 1.2, shade: 0.1 + 0.5*float64(i)/mostCooling, dash: 2 + i})
		out.add(label+"_C", v[first:])
	}
	return list, len(labels) - n, nil
}

// offForGood returns the day from which on the supply is off to the end, as planned and
// not by an outage or a thermostat, which may come on again.
func (f *folder) offForGood(history *table) (float64, error) {
	never := fmt.Errorf("the supply does not go off for good: %w", errNothing)
	if len(f.c.Electrodes) == 0 {
		return 0, never
	}
	cols, err := history.columns("time_d", "power_kW")
	if err != nil {
		return 0, err
	}
	days, power := cols[0], cols[1]
	i := len(days)
	for i > 0 && power[i-1] == 0 {
		i--
	}
	if i == 0 || i == len(days) { // never on, or on at the end
		return 0, never
	}
	why, err := f.heldBy()
	if err != nil {
		return 0, err
	}
	end, planned := days[len(days)-1], false
	for _, b := range why.bars {
		// A row holds up to the next time: the last has no length.
		if s := b.spans[len(b.spans)-1]; s[1] >= end {
			if b.name != "off" {
				return 0, never
			}
			planned = true
		}
	}
	if !planned {
		return 0, never
	}
	return days[i], nil
}

// since returns times from another on.
func since(t []float64, from float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = v - from
	}
	return out
}

// cooled returns the time from which on v stays at or below level, between the rows
// linear; NaN: it does not by the end.
func cooled(t, v []float64, level float64) float64 {
	n := len(v) - 1
	for n >= 0 && v[n] <= level {
		n--
	}
	switch {
	case n == len(v)-1:
		return math.NaN()
	case n < 0:
		return t[0]
	}
	return t[n] + (t[n+1]-t[n])*(v[n]-level)/(v[n]-v[n+1])
}
