package record

import (
	"soiljoule/solver"
)

// Cooling is when the supply of a problem that says so went off for good, and how many
// days after that the first target's mean and its hottest cell were down to 40 and 30 °C;
// nil: not in this run.
type Cooling struct {
	PowerOffDay *float64 `json:"power_off_day"`
	Mean40      *float64 `json:"days_off_to_mean_40C"`
	Hottest40   *float64 `json:"days_off_to_hottest_40C"`
	Mean30      *float64 `json:"days_off_to_mean_30C"`
	Hottest30   *float64 `json:"days_off_to_hottest_30C"`
}

// goesOff says whether a problem's supply goes off for good.
func goesOff(p *solver.Problem) bool { return p.OffAt > 0 || p.OffWhenHeld }

// cooling fills in what is told of a supply that goes off for good. The mean power is
// then that of the time before.
func (s *Summary) cooling(p *solver.Problem, r *solver.Report) {
	if !goesOff(p) {
		return
	}
	c := &r.Cooling
	s.Cooling = &Cooling{PowerOffDay: finite(r.OffAt / day), Mean40: finite(c.Mean[0] / day), Hottest40: finite(c.Hottest[0] / day),
		Mean30: finite(c.Mean[1] / day), Hottest30: finite(c.Hottest[1] / day)}
}

// powered returns the days until the supply went off for good, or all of the run.
func (s *Summary) powered(r *solver.Report) float64 {
	if r.Cooling.Off() {
		return r.OffAt / day
	}
	return s.timeD
}
