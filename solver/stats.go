package solver

import (
	"math"

	"soiljoule/materials"
)

// Stats counts the work of a run.
type Stats struct {
	Steps               int `json:"steps"`
	RefusedError        int `json:"refused_error"`                // local error too large
	RefusedCoupling     int `json:"refused_coupling"`             // potential and heat disagreed
	RefusedHeat         int `json:"refused_heat"`                 // heat and boiling did not settle
	Redone              int `json:"redone_to_setpoint,omitempty"` // passed a threshold of the thermostat, and were shortened to it
	Newton              int `json:"newton_rounds"`
	Potentials          int `json:"potential_solves"`
	HeatIterations      int `json:"heat_iterations"`
	PotentialIterations int `json:"potential_iterations"`

	LargestResidual float64 `json:"largest_residual"` // of a potential, relative

	// Cells that at some accepted step lay outside the range of the water tables,
	// where they are extrapolated: the largest number at one time.
	Above180C int `json:"cells_above_180C"`
	Below0C   int `json:"cells_below_0C"`

	// The most cells that had dried out at one accepted step, and the least depth
	// [m] at which the ground boiled at any; +Inf: nowhere.
	Dried          int     `json:"cells_dried"`
	ShallowestBoil float64 `json:"-"`

	// When [s] and where [m] a cell dried out first, the uppermost and leftmost of those
	// of one step: across, and the depth, or y of a plan. Where Dried is 0, none did.
	DriedAt float64 `json:"-"`
	DriedX  float64 `json:"-"`
	DriedZ  float64 `json:"-"`

	// The highest temperature [K] of the ground above and below a level slab at any
	// accepted step; −Inf: there is none.
	HottestAbove, HottestBelow float64 `json:"-"`
}

// Refused returns the number of refused steps.
func (s *Stats) Refused() int { return s.RefusedError + s.RefusedCoupling + s.RefusedHeat }

// countExtremes looks for cells that a caution must name.
func (r *run) countExtremes() {
	above, below, dried := 0, 0, 0
	for c, t := range r.state.T {
		s := r.ground.Store(c)
		switch {
		case r.ground.InInsert(c): // no water
		case t > materials.TableMax:
			above++
		case t < materials.TableMin-1e-6: // ground at 0 °C throughout has its rounding
			below++
		}
		if s.Found > s.Dry && r.state.W[c] <= s.Dry*(1+1e-9) {
			dried++
			if r.stats.Dried == 0 && dried == 1 {
				r.stats.DriedAt, r.stats.DriedX, r.stats.DriedZ = r.state.Time, r.grid.XC[c%r.grid.NX], r.grid.ZC[c/r.grid.NX]
			}
		}
		if t >= s.BoilingPoint-0.01 {
			r.stats.ShallowestBoil = math.Min(r.stats.ShallowestBoil, r.ground.Depth(r.ground.Row(c)))
		}
	}
	if r.columns != nil {
		up, down, boiled := r.columns.Hottest()
		r.stats.HottestAbove, r.stats.HottestBelow = max(r.stats.HottestAbove, up), max(r.stats.HottestBelow, down)
		r.stats.ShallowestBoil = min(r.stats.ShallowestBoil, boiled)
	}
	r.stats.Above180C = max(r.stats.Above180C, above)
	r.stats.Below0C = max(r.stats.Below0C, below)
	r.stats.Dried = max(r.stats.Dried, dried)
}
