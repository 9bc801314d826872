package cases

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"soiljoule/physics"
	"soiljoule/solver"
)

// stretch is one of time [s].
type stretch struct{ from, to float64 }

// idle returns when the supply is on and drives no current, as all electrodes that are on are
// at one potential and no edge is at another, in order. The last may be the run's end alone.
func (c *Case) idle() []stretch {
	end := c.Time.Duration
	if off := c.Supply.Off.At; off > 0 {
		end = math.Min(end, off)
	}
	var out []stretch
	settings := c.Settings()
	for i := range settings {
		s := &settings[i]
		from, to := s.At, end
		if i+1 < len(settings) {
			to = math.Min(to, settings[i+1].At)
		}
		if from > to || from == to && to < c.Time.Duration || !s.On || s.Outage || c.drivesCurrent(s) {
			continue
		}
		if n := len(out); n > 0 && out[n-1].to == from {
			out[n-1].to = to
		} else {
			out = append(out, stretch{from, to})
		}
	}
	return out
}

// drivesCurrent reports whether a setting puts two potentials to the ground. One without a
// voltage has none to begin with, and counts as driving.
func (c *Case) drivesCurrent(s *solver.Setting) bool {
	if s.Reference() == 0 {
		return true
	}
	rim := c.View == Axisymmetric && c.Extent.Rim == "neutral"
	var first complex128
	known := rim
	for i := range c.Electrodes {
		own := solver.BodySetting{Voltage: nan}
		if s.Bodies != nil {
			own = s.Bodies[i]
		}
		if own.Off {
			continue
		}
		v := own.Voltage
		if math.IsNaN(v) {
			v = s.Voltage
		}
		at := complex(v, 0) * physics.Phasor(c.Supply.Phases, c.Electrodes[i].Phase)
		if known && cmplx.Abs(at-first) > 1e-9*s.Reference() {
			return true
		}
		first, known = at, true
	}
	return false
}

// toldStretches names the first of some stretches of time, and how many more there are.
func toldStretches(some []stretch) string {
	text := fmt.Sprintf("From day %.4g to day %.4g", some[0].from/day, some[0].to/day)
	switch n := len(some) - 1; {
	case n == 1:
		text += ", and once more,"
	case n > 1:
		text += fmt.Sprintf(", and %d times more,", n)
	}
	return text
}

// idleCaution names when the supply is on and drives no current.
func (c *Case) idleCaution() []string {
	if len(c.Electrodes) == 0 || c.Supply.Metered.File != "" {
		return nil
	}
	some := slices.DeleteFunc(c.idle(), func(s stretch) bool { return s.from == s.to })
	if len(some) == 0 {
		return nil
	}
	return []string{toldStretches(some) + " the supply is on and drives no current: all electrodes that are switched on, if any, are at one potential."}
}

// checkMeteredReturn refuses metered power at a time at which no voltage drives a current.
func (l *loader) checkMeteredReturn() {
	if l.c.Supply.Metered.File == "" {
		return
	}
	x, _ := l.c.Expand()
	power := x.Delivered()
	for _, s := range x.idle() {
		if power.sum.mean(s.from, s.to) > 0 {
			when := fmt.Sprintf("between day %.4g and day %.4g", s.from/day, s.to/day)
			if s.from == s.to {
				when = fmt.Sprintf("on day %.4g", s.to/day)
			}
			l.no("supply", 0, "metered", "has power %s, when all electrodes that are switched on, if any, are at one potential and no current flows: keep another on, or write rows of 0 there", when)
			return
		}
	}
}
