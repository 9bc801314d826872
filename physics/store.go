package physics

import (
	"math"

	"soiljoule/materials"
)

// Store is the heat and water that one row's ground or an insert can hold, per
// volume. All enthalpies count from liquid water at the ambient temperature T₀, so
// water that flows in at ambient brings none.
type Store struct {
	BoilingPoint    float64 // [K] T_b; +Inf: boiling is off
	Solids          float64 // [J/(m³·K)] C_s, bulk capacity less that of the found water
	Capacity        float64 // [J/(m³·K)] bulk, as found
	Pores           float64 // [kg/m³] φρ_w, water that fills the pores
	Found           float64 // [kg/m³] at the start
	Floor           float64 // [kg/m³] inflow begins when boiling has taken W here
	Dry             float64 // [kg/m³] only here may T pass T_b
	Inflow          float64 // [kg/(m³·s)] largest; 0: none; +Inf: whatever boils is replaced
	Refill          float64 // [kg/(m³·s)] of a cell that has cooled
	LiquidAtBoiling float64 // [J/kg] h_w(T_b) − h_w(T₀)
	Steam           float64 // [J/kg] h_v(T_b) − h_w(T₀): what a kilogram of steam takes out

	water  *materials.Water
	t0, h0 float64
}

// Latent returns the heat of evaporation at the boiling point [J/kg].
func (s *Store) Latent() float64 { return s.Steam - s.LiquidAtBoiling }

// Energy returns the heat stored [J/m³] at temperature t [K] with w [kg/m³] of
// water:
//
//	E = C_s (T − T₀) + W [h_w(T) − h_w(T₀)]
func (s *Store) Energy(t, w float64) float64 {
	h, _ := s.water.Enthalpy(t)
	return s.Solids*(t-s.t0) + w*(h-s.h0)
}

// atBoiling is Energy at the boiling point.
func (s *Store) atBoiling(w float64) float64 {
	return s.Solids*(s.BoilingPoint-s.t0) + w*s.LiquidAtBoiling
}

// temperature returns T with Energy(T, w) = e, and dT/dE there. h_w is nearly
// linear, so Newton's method from any start reaches rounding in a few steps.
func (s *Store) temperature(e, w, guess float64) (t, slope float64) {
	t = guess
	for range 12 {
		h, c := s.water.Enthalpy(t)
		slope = 1 / (s.Solids + w*c)
		d := (e - s.Solids*(t-s.t0) - w*(h-s.h0)) * slope
		t += d
		if math.Abs(d) < 1e-11 {
			break
		}
	}
	return t, slope
}

// Response is what a cell does with its heat over one implicit stage.
type Response struct {
	T     float64 // [K]
	W     float64 // [kg/m³] water left
	Steam float64 // [kg/m³] that leaves in the stage; below zero only as the
	// quadrature's closing term in a cell that ran dry
	Inflow float64 // [kg/m³] that comes in
	Slope  float64 // [m³·K/J] dT/de; 0 on the boiling plateau
}

// Respond solves one cell's boiling over a stage of length dt [s]: e [J/m³] is
// the heat it would hold if no steam left, w [kg/m³] its water before steam
// leaves and inflow comes. It is the complementarity
//
//	0 ≤ F ⟂ T_b − T ≥ 0,  W ≥ its floor
//
// solved in closed form for a given e, so T is a function of e that never falls:
// it rises to T_b, stays there while there is water to boil, and rises again
// only when the cell is dry. The three ends of the store:
//
//  1. unlimited inflow: W stops at Floor, each kilogram that boils costs
//     h_v − h_w(T₀) because cold water replaces it;
//  2. limited inflow: past the limit W falls on to Dry;
//  3. none: W falls to Dry, then T passes T_b.
func (s *Store) Respond(e, w, dt, guess float64) Response {
	if w < s.Dry {
		// Steam extrapolated from the step's start took more than there was: put
		// it back, with its enthalpy.
		back := w - s.Dry
		r := s.respond(e-back*s.Steam, s.Dry, dt, guess)
		r.Steam += back
		return r
	}
	return s.respond(e, w, dt, guess)
}

func (s *Store) respond(e, w, dt, guess float64) Response {
	if e <= s.atBoiling(w) || math.IsInf(s.BoilingPoint, 1) {
		t, slope := s.temperature(e, w, guess)
		return Response{T: t, W: w, Slope: slope}
	}
	plateau := Response{T: s.BoilingPoint}

	// Boiling from what is here.
	m := (e - s.atBoiling(w)) / s.Latent()
	if s.Inflow == 0 || w-m >= s.Floor {
		if w-m >= s.Dry {
			plateau.Steam, plateau.W = m, w-m
			return plateau
		}
		return s.dried(e, w, 0, guess)
	}

	// Inflow holds W at the floor: e − m·h_v = E_b(Floor). A cell already below
	// its floor first spends its heat on warming what comes in.
	m = (e - s.atBoiling(s.Floor)) / s.Steam
	in := s.Floor - w + m
	plateau.W = s.Floor
	if m < 0 {
		m = 0
		in = (e - s.atBoiling(w)) / s.LiquidAtBoiling
		plateau.W = w + in
	}
	if most := s.Inflow * dt; in > most {
		in = most
		m = math.Max(0, (e-s.atBoiling(w+in))/s.Latent())
		plateau.W = w + in - m
		if plateau.W < s.Dry {
			return s.dried(e, w, in, guess)
		}
	}
	plateau.Steam, plateau.Inflow = m, in
	return plateau
}

// dried is a cell whose water ran out in the stage.
func (s *Store) dried(e, w, in, guess float64) Response {
	m := w + in - s.Dry
	t, slope := s.temperature(e-m*s.Steam, s.Dry, math.Max(guess, s.BoilingPoint))
	return Response{T: t, W: s.Dry, Steam: m, Inflow: in, Slope: slope}
}
