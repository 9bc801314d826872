package main

import (
	"fmt"
	"strings"

	"soiljoule/cases"
	"soiljoule/solver"
)

// firstOn returns a problem as it were if the first setting of its supply that is on began the run,
// in ground as found, and when that setting begins [s]; nil where none is on before the end, and of a
// metered drive, which nothing but its own power switches off.
func firstOn(p *solver.Problem) (*solver.Problem, float64) {
	until := p.Duration
	if p.OffAt > 0 {
		until = min(until, p.OffAt)
	}
	for _, s := range p.Supply {
		if p.Meter != nil || s.At >= until {
			break
		}
		if s.On && !s.Outage && anyFed(p, &s) {
			at := s.At
			one := *p
			s.At = 0
			one.Supply, one.OffAt = []solver.Setting{s}, 0
			return &one, at
		}
	}
	return nil, 0
}

// anyFed reports whether a setting has a voltage, and an electrode on it.
func anyFed(p *solver.Problem, s *solver.Setting) bool {
	if s.Reference() == 0 {
		return false
	}
	for b := range p.Electric.Bodies {
		if !p.Electric.Bodies[b].Floating && (b >= len(s.Bodies) || !s.Bodies[b].Off) {
			return true
		}
	}
	return false
}

// lateStart solves for what the supply gives in ground as found when it is first on, where it
// gives nothing at power-on, of which report is. It returns the problem and the report that
// cold loads are of: those given where there is no such moment.
func (r *checked) lateStart(c *cases.Case, p *solver.Problem, report *solver.Report) (*solver.Problem, *solver.Report) {
	if p.Electric == nil || fedPower(report) >= leastPower {
		return p, report
	}
	none := "No cold power: " + offBecause(c, report)
	late, at := firstOn(p)
	if late == nil || at == 0 {
		if rises := firstRise(c.Supply.Metered.Series); rises > 0 && rises < c.Time.Duration {
			none += "; it first rises from 0 on " + theDay(c, rises/86400)
		}
		r.Cautions = append(r.Cautions, none+".")
		return p, report
	}
	day := at / 86400
	first, err := solver.Start(late)
	switch {
	case err != nil:
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s; what it takes from %s on cannot be told, as cold loads of ground as found: %s.", none, theDay(c, day), strings.TrimPrefix(err.Error(), "t = 0 d: ")))
		return p, report
	case fedPower(first) < leastPower:
		r.Cautions = append(r.Cautions, none+".")
		return p, report
	}
	r.ColdDay, r.coldOn = day, theDay(c, day)
	r.Cautions = append(r.Cautions, fmt.Sprintf("No power at power-on: %s. It first flows on %s: volts, amperes and power here are those of a cold start then, in ground as found.", offBecause(c, report), r.coldOn))
	return late, first
}

// firstRise returns when a metered power leaves the 0 that it begins at [s]; 0: it does not begin
// at 0, or never leaves it.
func firstRise(rows []cases.PowerPoint) float64 {
	for i := 1; i < len(rows) && rows[i-1].Power == 0; i++ {
		if rows[i].Power > 0 {
			return max(0, rows[i-1].Time)
		}
	}
	return 0
}

// fedPower is the power [W] that the electrodes take at a report.
func fedPower(r *solver.Report) float64 {
	return r.State.Power * r.State.Voltage * r.State.Voltage
}
