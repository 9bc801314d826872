package record

import (
	"time"

	"soiljoule/physics"
	"soiljoule/solver"
)

// surfaceFile is the potential along the ground's surface at the times of the fields.
const surfaceFile = "surface.csv"

// mostPlaces is how many places along the surface a time of surface.csv has, but for
// those where electrodes reach it: of a finer mesh every second or so, by number, so
// that places stay dense where cells are small.
const mostPlaces = 300

// surface follows the potential along the ground's surface.
type surface struct {
	reading        *physics.SurfacePotential
	across         string       // the first letter of its places' column
	places         []int        // of the reading, that surface.csv has
	phi            []complex128 // [-] by place of the reading
	step, gradient []float64    // [V], [V/m]
}

// newSurface returns the surface of a problem; nil where nothing is at a potential, or
// in a level slab, which does not know the potential above it.
func newSurface(p *solver.Problem) *surface {
	if p.Electric == nil || p.Ground.Grid.Level {
		return nil
	}
	r := physics.NewSurfacePotential(p.Ground, p.Electric)
	n := len(r.X)
	s := &surface{reading: r, across: "x", phi: make([]complex128, n), step: make([]float64, n), gradient: make([]float64, n)}
	if p.Ground.Grid.Cylindrical {
		s.across = "r"
	}
	every := (n + mostPlaces - 1) / mostPlaces
	for i := range n {
		if i%every == 0 || i == n-1 || r.Electrode(i) {
			s.places = append(s.places, i)
		}
	}
	return s
}

// rows returns the lines of surface.csv for one report, below their head if it is the
// first; with dates where power-on has one.
func (s *surface) rows(st *solver.State, powerOn time.Time, first bool) string {
	t := table{powerOn: powerOn}
	if first {
		t.head(s.across+"_m", "potential_V", "step_V_per_m", "gradient_V_per_m")
	}
	s.reading.PotentialTo(s.phi, st)
	s.reading.StepTo(s.step, s.phi)
	s.reading.GradientTo(s.gradient, s.phi)
	v := st.Voltage
	for _, i := range s.places {
		t.row(st.Time, num(s.reading.X[i]), num(abs(s.phi[i])*v), num(s.step[i]*v/physics.Pace), num(s.gradient[i]*v))
	}
	return t.String()
}

// SurfaceMax is the largest voltages along the ground's surface, over the steps at whose end
// the potential was solved for; nil: without electrodes, and where and when of what never
// was above zero.
type SurfaceMax struct {
	PotentialMaxV   *float64 `json:"surface_potential_max_V"`
	PotentialMaxDay *float64 `json:"surface_potential_max_day"`
	PotentialMaxXM  *float64 `json:"surface_potential_max_x_m"`
	StepMaxVPerM    *float64 `json:"surface_step_max_V_per_m"`
	StepMaxDay      *float64 `json:"surface_step_max_day"`
	StepMaxXM       *float64 `json:"surface_step_max_x_m"` // where it starts, towards larger x
}

// follow takes a step's largest into account.
func (m *SurfaceMax) follow(s *surface, st *solver.State) {
	if st.SolvedAt != st.Time {
		return
	}
	s.reading.PotentialTo(s.phi, st)
	more := func(value, when, where **float64, v, at float64) {
		if *value == nil {
			*value = new(float64)
		}
		// A plateau peaks where it begins, not where rounding puts it.
		if v <= **value*(1+1e-9) {
			return
		}
		if *when == nil {
			*when, *where = new(float64), new(float64)
		}
		**value, **when, **where = v, st.Time/day, at
	}
	v, x := s.reading.MaxPotential(s.phi)
	more(&m.PotentialMaxV, &m.PotentialMaxDay, &m.PotentialMaxXM, v*st.Voltage, x)
	v, x = s.reading.MaxStep(s.phi)
	more(&m.StepMaxVPerM, &m.StepMaxDay, &m.StepMaxXM, v*st.Voltage/physics.Pace, x)
}
