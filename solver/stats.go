package solver

import "soiljoule/materials"

// Stats counts the work of a run.
type Stats struct {
	Steps               int `json:"steps"`
	RefusedError        int `json:"refused_error"`    // local error too large
	RefusedCoupling     int `json:"refused_coupling"` // potential and heat disagreed
	RefusedHeat         int `json:"refused_heat"`     // heat and boiling did not settle
	Newton              int `json:"newton_rounds"`
	Potentials          int `json:"potential_solves"`
	HeatIterations      int `json:"heat_iterations"`
	PotentialIterations int `json:"potential_iterations"`

	LargestResidual float64 `json:"largest_residual"` // of a potential, relative

	// Cells that at some accepted step lay outside the range of the water tables,
	// where they are extrapolated: the largest number at one time.
	Above180C int `json:"cells_above_180C"`
	Below0C   int `json:"cells_below_0C"`
}

// Refused returns the number of refused steps.
func (s *Stats) Refused() int { return s.RefusedError + s.RefusedCoupling + s.RefusedHeat }

func (r *run) countOutside() {
	above, below := 0, 0
	for _, t := range r.state.T {
		if t > materials.TableMax {
			above++
		} else if t < materials.TableMin {
			below++
		}
	}
	r.stats.Above180C = max(r.stats.Above180C, above)
	r.stats.Below0C = max(r.stats.Below0C, below)
}
