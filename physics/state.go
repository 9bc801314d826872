package physics

// State is the unknowns of a run at one time, as parallel slices with one value
// a cell, and the potential that goes with them, per volt of supply.
type State struct {
	Time float64   // [s] since power-on
	T    []float64 // [K] temperature
	E    []float64 // [J/m³] heat stored, from liquid water and soil at the ambient temperature
	W    []float64 // [kg/m³] liquid water per volume of ground

	Re, Im  []float64    // [-] phasor of the potential per volt
	Joule   []float64    // [W/V²] Joule heat by cell, per volt squared
	Current []complex128 // [A/V] by body, out of it
	Power   float64      // [W/V²] Re Σ V·I* of the bodies
	Rim     complex128   // [A/V] current that leaves through a held rim

	Voltage float64 // [V] phase to neutral, RMS, within the limits; 0: off
	Limit   Limit   // what holds the voltage down
}

// Limit names what keeps the voltage below the setting.
type Limit string

// The limits; "" is none.
const (
	NoLimit      Limit = ""
	PowerLimit   Limit = "power"
	CurrentLimit Limit = "current"
	Off          Limit = "off"
)

// NewState returns a state of zeros for n cells and so many bodies.
func NewState(n, bodies int) *State {
	v := func() []float64 { return make([]float64, n) }
	return &State{T: v(), E: v(), W: v(), Re: v(), Im: v(), Joule: v(), Current: make([]complex128, bodies)}
}

// CopyFrom sets s to o, value by value.
func (s *State) CopyFrom(o *State) {
	fields, from := s.fields(), o.fields()
	for i, f := range fields {
		copy(f, from[i])
	}
	copy(s.Current, o.Current)
	s.Time, s.Power, s.Rim, s.Voltage, s.Limit = o.Time, o.Power, o.Rim, o.Voltage, o.Limit
}

func (s *State) fields() [6][]float64 { return [...][]float64{s.T, s.E, s.W, s.Re, s.Im, s.Joule} }
