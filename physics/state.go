package physics

// State is the unknowns of a run at one time, as parallel slices with one value
// a cell, and the potential that goes with them, per volt of supply.
type State struct {
	Time float64   // [s] since power-on
	T    []float64 // [K] temperature
	E    []float64 // [J/m³] heat stored, from liquid water and soil at the ambient temperature
	W    []float64 // [kg/m³] liquid water per volume of ground
	Caps []float64 // [K] temperature of the ground above and below a level slab, see Columns; nil: none

	// The potential as last solved for; nil: no electrodes. A run solves for it where
	// the heat has moved enough, and at every output.
	Re, Im   []float64 // [-] phasor of the potential per volt; Im nil: no imaginary part
	Joule    []float64 // [W/V²] Joule heat by cell, per volt squared
	SolvedAt float64   // [s] for whose T and W the three hold

	// At Time, extrapolated from the potentials before where none was solved for.
	Current []complex128 // [A/V] by body, out of it
	Power   float64      // [W/V²] Re Σ V·I* of the bodies
	Rim     complex128   // [A/V] current that leaves through a held rim

	Voltage float64 // [V] phase to neutral, RMS, within the limits; 0: off
	Limit   Limit   // what holds the voltage down

	// By body, nil where all are as the supply. Potential is that of the last solution.
	Potential []complex128 // [-] its potential per volt of Voltage
	Fed       []float64    // [W/V²] Re V·I*, of which Power is the sum
	Bound     []Limit      // what holds its own voltage down
	Pickup    []float64    // [A/V] that buried metal picks up and gives off (Electric.PickupTo), of the last solution; nil: there is none
}

// Limit names what keeps the voltage below the setting, or sets it.
type Limit string

// The limits; "" is none.
const (
	NoLimit       Limit = ""
	PowerLimit    Limit = "power"
	CurrentLimit  Limit = "current"
	OwnLimit      Limit = "own current" // of one body, beside the others
	ApparentLimit Limit = "kva"
	Off           Limit = "off"      // planned
	Outage        Limit = "outage"   // off
	Setpoint      Limit = "setpoint" // off: the thermostat's temperature is reached
	Metered       Limit = "metered"  // the voltage is what a metered power needs
)

// HoldsBack says whether the limit is one of the supply's own, which lowers the
// voltage of a supply that is on.
func (l Limit) HoldsBack() bool {
	return l == PowerLimit || l == CurrentLimit || l == ApparentLimit
}

// NewState returns a state of zeros for n cells and so many bodies, without a
// potential.
func NewState(n, bodies int) *State {
	v := func() []float64 { return make([]float64, n) }
	return &State{T: v(), E: v(), W: v(), Current: make([]complex128, bodies)}
}
