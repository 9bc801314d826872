package main

import (
	"fmt"

	"soiljoule/cases"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// coolDown tells when the supply went off for good, and how the first target cooled.
func coolDown(line func(string, ...any), c *cases.Case, s *record.Summary) {
	o := s.Cooling
	switch {
	case o == nil:
		return
	case o.PowerOffDay == nil && c.Supply.Off.Held:
		line("Power off when %s is held: not in %.4g d", c.Targets[0].Name, s.Powers.EndDay)
		return
	case o.PowerOffDay == nil:
		line("Power off: not in %.4g d", s.Powers.EndDay)
		return
	}
	line("Power off for good: day %.2f%s", *o.PowerOffDay, onDate(c, *o.PowerOffDay))
	u := unitsOf(c)
	for i, days := range [][2]*float64{{o.Mean40, o.Hottest40}, {o.Mean30, o.Hottest30}} {
		line("  at or below %s: mean %s, hottest place %s", u.temperature(solver.CoolTo[i]), after(days[0], s, *o.PowerOffDay), after(days[1], s, *o.PowerOffDay))
	}
	line("  when cooled ground is sampled or used again, qualified persons decide on site")
}

// after writes so many days after power-off; nil: not in this run.
func after(days *float64, s *record.Summary, off float64) string {
	if days == nil {
		return fmt.Sprintf("not in %.4g d after it", s.Powers.EndDay-off)
	}
	return fmt.Sprintf("%.4g d after it", *days)
}

// offRow is when the supply goes off for good.
type offRow struct {
	Day  *float64 `json:"day"`
	Held bool     `json:"when_held"` // the first target, for target.hold
}

// off tells when the supply goes off for good.
func (r *checked) off(c *cases.Case) {
	off := c.Supply.Off
	if off == (cases.Off{}) {
		return
	}
	r.Off = &offRow{Held: off.Held}
	if !off.Held {
		day := off.At / 86400
		r.Off.Day = &day
	}
}
