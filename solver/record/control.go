package record

import (
	"math"

	"soiljoule/solver"
)

// What a folder calls the files of the supply that case.toml refers to.
const (
	OutagesFile = "outages.csv"
	MeteredFile = "metered.csv"
)

// Apparent is the apparent power of a supply that has a limit of it, cold and at most.
type Apparent struct {
	FirstKVA float64 `json:"apparent_first_kVA"`
	MaxKVA   float64 `json:"apparent_max_kVA"`
}

// Switching is what the thermostat and outages did up to the time reached.
type Switching struct {
	Switches       int      `json:"setpoint_switches"`
	ShareOfTimeOn  float64  `json:"share_of_time_on"`
	DaysToSetpoint *float64 `json:"days_to_setpoint"` // nil: not reached, or there is no thermostat
}

// Need is the largest voltage that a metered power needed, phase to neutral.
type Need struct {
	VoltageV   float64 `json:"metered_voltage_max_V"`
	VoltageDay float64 `json:"metered_voltage_max_day"`
}

// limitsApparent says whether some setting of a problem limits the apparent power.
func limitsApparent(p *solver.Problem) bool {
	for i := range p.Supply {
		if s := p.Supply[i].ApparentLimit; p.Electric != nil && s > 0 && !math.IsInf(s, 1) {
			return true
		}
	}
	return false
}

// hasOutages says whether some setting of a problem is an outage.
func hasOutages(p *solver.Problem) bool {
	for i := range p.Supply {
		if p.Supply[i].Outage {
			return true
		}
	}
	return false
}

// control fills in what is told of a supply that is limited, switched or driven so.
func (s *Summary) control(p *solver.Problem, r *solver.Report) {
	if p.Thermostat != nil || hasOutages(p) {
		s.Switching = &Switching{Switches: r.Switching.Switches, DaysToSetpoint: finite(r.Switching.Reached / day)}
		if s.timeD > 0 {
			s.ShareOfTimeOn = r.Switching.OnTime / (s.timeD * day)
		}
	}
	if p.Meter != nil {
		// A step may pass over a peak of the meter's.
		n, l := &r.Need, &s.Powers
		s.Need = &Need{n.Voltage.Most, n.Voltage.At / day}
		s.PowerMaxKW, l.Peak, l.PeakDay = n.Power.Most/1e3, n.Power.Most/1e3, n.Power.At/day
		s.CurrentMaxA, l.PeakA, l.PeakADay, l.PeakAAt = n.Current.Most, n.Current.Most, n.Current.At/day, ""
		l.PeakKVA, l.PeakKVADay = n.Apparent.Most/1e3, n.Apparent.At/day
	}
	if limitsApparent(p) {
		s.Apparent = &Apparent{s.Powers.FirstKVA, s.Powers.PeakKVA}
	}
}
