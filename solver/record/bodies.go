package record

import (
	"soiljoule/physics"
	"soiljoule/solver"
)

// Metal is the potential of buried metal against the neutral, and the current that it picks
// up in one place and gives off in another (physics.Electric.PickupTo), RMS.
type Metal struct {
	Name    string  `json:"name"`
	FirstV  float64 `json:"potential_first_V"`
	MaxV    float64 `json:"potential_max_V"`
	MaxDay  float64 `json:"potential_max_day"`
	FirstA  float64 `json:"through_first_A"`
	MaxA    float64 `json:"through_max_A"`
	MaxADay float64 `json:"through_max_day"`
}

// OwnLimit is the first day on which an electrode's own current limit held it.
type OwnLimit struct {
	Electrode string
	Day       float64
}

// supplied returns the supply's voltage [V] within the limits, phase to neutral: 0 where
// it is set to that and only electrodes have one of their own.
func supplied(r *solver.Report) float64 {
	if r.Setting.Voltage == 0 {
		return 0
	}
	return r.State.Voltage
}

// fedAs returns the potential [V] of body b against the neutral, the power that it takes
// per volt squared of the supply [W/V²], and what holds its voltage down.
func fedAs(s *physics.State, body *physics.Body, b int) (volts, power float64, by physics.Limit) {
	if s.Potential != nil && isOpen(s, body, b) {
		return abs(s.Potential[b]) * s.Voltage, 0, s.Bound[b]
	}
	if s.Potential != nil {
		return abs(s.Potential[b]) * s.Voltage, s.Fed[b], s.Bound[b]
	}
	if body.Phase != 0 {
		volts = s.Voltage
	}
	return volts, real(body.Phase)*real(s.Current[b]) + imag(body.Phase)*imag(s.Current[b]), s.Limit
}

// isOpen reports whether no net current passes body b, whatever is left of one by rounding:
// buried metal, or an electrode switched off alone.
func isOpen(s *physics.State, body *physics.Body, b int) bool {
	return body.Floating || s.Bound != nil && s.Bound[b] == physics.Off
}

// rodCurrent returns the current [A] of one rod of body b; 0: it is open.
func rodCurrent(s *physics.State, body *physics.Body, b int) float64 {
	if isOpen(s, body, b) {
		return 0
	}
	return abs(s.Current[b]) * s.Voltage / body.Rods
}

// alike is by how much, relative, currents of rods may differ that are alike but for
// rounding.
const alike = 1e-9

// largest returns the largest current of one rod [A], and the first body, in the case's
// order, that has it but for rounding; "": there is no current.
func largest(s *physics.State, bodies []physics.Body) (amps float64, name string) {
	for b := range bodies {
		amps = max(amps, rodCurrent(s, &bodies[b], b))
	}
	if !(amps > 0) {
		return amps, ""
	}
	for b := range bodies {
		if rodCurrent(s, &bodies[b], b) >= amps*(1-alike) {
			return amps, bodies[b].Name
		}
	}
	return amps, ""
}

// picked returns the current [A] that body b, buried metal, picks up and gives off: of one
// cell in an axisymmetric view.
func picked(s *physics.State, body *physics.Body, b int) float64 {
	return s.Pickup[b] * s.Voltage / body.Rods
}

// stepBodies follows buried metal and electrodes' own limits.
func (s *Summary) stepBodies(r *solver.Report, e *physics.Electric) {
	n := r.State
	if n.Potential == nil {
		return
	}
	t, metal := n.Time/day, 0
	for b := range e.Bodies {
		body := &e.Bodies[b]
		if body.Floating {
			v, i := abs(n.Potential[b])*n.Voltage, picked(n, body, b)
			if metal == len(s.Conductors) {
				s.Conductors = append(s.Conductors, Metal{Name: body.Name, FirstV: v, FirstA: i})
			}
			// As of power, a plateau peaks where it begins.
			m := &s.Conductors[metal]
			if v > m.MaxV*(1+1e-9) {
				m.MaxV, m.MaxDay = v, t
			}
			if i > m.MaxA*(1+1e-9) {
				m.MaxA, m.MaxADay = i, t
			}
			metal++
		}
		if n.Bound[b] == physics.OwnLimit && !s.Powers.ownHeld(body.Name) {
			s.Powers.Own = append(s.Powers.Own, OwnLimit{body.Name, t})
		}
	}
}

// stepPhases follows the largest current of a phase, as of power: just before a switch too.
func (s *Summary) stepPhases(r *solver.Report, e *physics.Electric) {
	t := r.State.Time / day
	amps, of := physics.LineCurrent(e.Bodies, r.State.Current)
	amps *= r.State.Voltage
	if t == 0 && of >= 0 {
		s.PhaseFirstA, s.Powers.PhaseFirst = amps, e.Bodies[of].Label
	}
	if t > 0 && r.Before.Line > amps {
		amps, of = r.Before.Line, r.Before.LineOf
	}
	if of >= 0 && amps > s.PhaseMaxA*(1+1e-9) {
		s.PhaseMaxA, s.Powers.PhasePeak, s.Powers.PhasePeakDay = amps, e.Bodies[of].Label, t
	}
}

func (p *Powers) ownHeld(electrode string) bool {
	for _, o := range p.Own {
		if o.Electrode == electrode {
			return true
		}
	}
	return false
}
