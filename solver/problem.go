// Package solver steps the coupled problem in time: potential, Joule heat,
// conduction with its losses, boiling. Loops over the grid's rows are shared among the
// processors, and the bytes of a result do not depend on how many there are. The
// package knows no file and no figure.
package solver

import (
	"math"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// Problem is all that a run needs.
type Problem struct {
	Ground   *physics.Ground
	Heat     *physics.Heat
	Electric *physics.Electric // nil: no electrodes
	Imposed  []float64         // [W] set power by cell, from the start to the end; nil: none
	Varying  Source            // set power that changes with time, on top of Imposed; nil: none

	Supply     []Setting   // in order of time, the first at 0
	Thermostat *Thermostat // nil: none
	Meter      *Meter      // drives the supply in place of its voltage; nil: none

	// The supply goes off for good at OffAt [s], 0 or NaN: never, and where OffWhenHeld when
	// the first target's share has been kept for its Hold, if that is earlier.
	OffAt       float64
	OffWhenHeld bool

	Added []physics.Added // water let in at electrodes

	Targets []Target // the first is the treatment zone

	// Watched is where the time error is measured: the treatment zone with a
	// margin.
	Watched mesh.Zone

	Duration float64   // [s]
	Outputs  []float64 // [s] times at which a step must end and fields are wanted, increasing
	Turns    []float64 // [s] further times at which a step must end, increasing: where what changes with time does not run straight
	Settings Settings
}

// Setting is the supply from At on.
type Setting struct {
	At           float64 // [s]
	Voltage      float64 // [V] phase to neutral, RMS
	PowerLimit   float64 // [W] of all electrodes; +Inf: none
	CurrentLimit float64 // [A] of one rod; +Inf: none
	// ApparentLimit is of the apparent power of all electrodes, physics.ApparentPower
	// [VA]; 0 or +Inf: none.
	ApparentLimit float64
	On            bool
	Outage        bool          // the supply is off whatever On says
	Bodies        []BodySetting // by body of Electric, on top of that; nil: all as the supply
}

// BodySetting is what one body has of its own.
type BodySetting struct {
	Voltage float64 // [V] phase to neutral, RMS; NaN: the supply's
	// CurrentLimit [A] is of one rod, held by lowering its own voltage; +Inf: none. It is met
	// where the potential is solved for; between, to what the power may be wrong by there,
	// some parts in 1e4.
	CurrentLimit float64
	Off          bool // not connected: no net current flows
}

// Reference returns the voltage [V] that phasors are per volt of: the supply's, or where
// that is 0 the largest of a body's own; 0: there is none.
func (s *Setting) Reference() float64 {
	v := s.Voltage
	if v > 0 {
		return v
	}
	for i := range s.Bodies {
		if own := s.Bodies[i].Voltage; own > v {
			v = own
		}
	}
	return v
}

// body returns what body b has of its own.
func (s *Setting) body(b int) BodySetting {
	if b < len(s.Bodies) {
		return s.Bodies[b]
	}
	return BodySetting{Voltage: math.NaN(), CurrentLimit: math.Inf(1)}
}

// Target is a zone that is to reach a temperature.
type Target struct {
	Zone        mesh.Zone
	Temperature float64 // [K]; NaN: boiling, that is T_b − 0.01 K
	Share       float64 // [-] of its volume
	Hold        float64 // [s] for which that share must then be kept
}

// Settings are the numerical choices of a run; each zero value stands for the
// default beside it.
type Settings struct {
	Tolerance  float64 // [K] local error of a step, rms over the watched zone; 0.1
	FixedStep  float64 // [s] take equal steps of this length, whatever their error; one that cannot be solved ends the run; 0: adaptive
	Potential  float64 // [-] residual of the potential, relative to its right side; 1e-7 at a Tolerance of 0.1 K, in proportion, but 1e-10 at least
	MaxCoupled int     // potential solves a stage before a step is refused; 6
	// Lean keeps less by cell and sets solvers up more often: slower, for many cells. Runs
	// of more than 300 000 are lean without being told.
	Lean bool
	// LedgerTolerance is the largest share of the ledger that may be missing; 1e-8.
	LedgerTolerance float64
}

// withDefaults returns the settings with every zero value replaced by its default.
func (s Settings) withDefaults() Settings {
	def := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	def(&s.Tolerance, 0.1)
	// A heat that is wrong by a part in 1e5 throughout moves a rise of 100 K by a hundredth
	// of the tolerance. The residual is less than the gradient's error by what the field
	// is at the electrodes over what it is elsewhere: a factor of 100 is for that.
	def(&s.Potential, math.Max(1e-10, 1e-6*s.Tolerance))
	def(&s.LedgerTolerance, 1e-8)
	if s.MaxCoupled == 0 {
		s.MaxCoupled = 6
	}
	return s
}

// Threshold returns the temperature [K] at which cell c counts as having reached
// the target.
func (t *Target) Threshold(g *physics.Ground, c int) float64 {
	if math.IsNaN(t.Temperature) {
		return g.BoilingPoint(c) - 0.01
	}
	return t.Temperature
}
