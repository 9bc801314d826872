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
	Field           float64 // [kg/m³] that does not drain above the water table
	Inflow          float64 // [kg/(m³·s)] largest; 0: none; +Inf: whatever boils is replaced
	Refill          float64 // [kg/(m³·s)] of a cell that has cooled
	LiquidAtBoiling float64 // [J/kg] h_w(T_b) − h_w(T₀)
	Steam           float64 // [J/kg] h_v(T_b) − h_w(T₀): what a kilogram of steam takes out

	// Below and WasBelow say whether the row lies below the water table, as of
	// Ground.Begin, and did at the start.
	Below, WasBelow bool

	water  *materials.Water
	t0, h0 float64
	level  bool // of a level grid, in which nothing lies below a cell
}

// Brim returns the most water that stays in a cell over a stage [kg/m³]; what comes
// beyond is displaced to the groundwater. Above the water table there is no such limit:
// there water that the ground does not hold sinks to the cells below, see Percolate.
func (s *Store) Brim() float64 {
	switch {
	case s.Below && s.WasBelow:
		return s.Found
	case s.Below:
		return s.Pores
	case s.level:
		return s.Field
	}
	return math.Inf(1)
}

// Liquid returns the enthalpy of liquid water at t [K] less that at T₀ [J/kg].
func (s *Store) Liquid(t float64) float64 {
	h, _ := s.water.Enthalpy(t)
	return h - s.h0
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

// temperature returns T with Energy(T, w) = e, and dT/dE there, to 1e-11 K. Within a
// kelvin of the tables, T = node + x, h_w is the cubic c₀ + c₁x + c₂x² + c₃x³, and
//
//	x = y − βx² − γx³,  y = (e − Energy(node, w))/C,  β = wc₂/C,  γ = wc₃/C,  C = C_s + wc₁
//
// is iterated: what is wrong shrinks by 2β < 6e-4 a time. If x turns out to lie in
// another kelvin, that one's cubic is next.
func (s *Store) temperature(e, w, guess float64) (t, slope float64) {
	if w == 0 {
		slope = 1 / s.Solids
		return s.t0 + e*slope, slope
	}
	// Beyond the cubic's ends the slope of h_w goes on without a jump, but its curvature
	// does not: over this distance that is 3e-12 K at most, at 0 °C, and 6e-8 of dT/dE.
	const near = 1e-4 // [K]
	t = guess
	for range 3 {
		c, node := s.water.EnthalpyCubic(t)
		if c == nil {
			break
		}
		inverse := 1 / (s.Solids + w*c[1])
		y := (e - s.Solids*(node-s.t0) - w*(c[0]-s.h0)) * inverse
		beta, gamma := w*c[2]*inverse, w*c[3]*inverse
		x := t - node
		x = y - x*x*(beta+gamma*x)
		x = y - x*x*(beta+gamma*x)
		x = y - x*x*(beta+gamma*x)
		x = y - x*x*(beta+gamma*x)
		t = node + x
		if x > -near && x < 1+near {
			return t, inverse / (1 + x*(2*beta+3*gamma*x))
		}
	}
	return s.newton(e, w, guess)
}

// newton is temperature from any start, outside the tables too. h_w is nearly linear,
// so Newton's method reaches rounding in a few steps.
func (s *Store) newton(e, w, guess float64) (t, slope float64) {
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
	Over   float64 // [kg/m³] displaced to the groundwater, at T
	Slope  float64 // [m³·K/J] dT/de; 0 on the boiling plateau
	// Cost is the heat that makes a kilogram of steam more on the plateau [J/kg]; +Inf:
	// heat warms what flows in. Off the plateau 0, or below zero where all the water of a
	// dry cell leaves as steam.
	Cost float64
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
//
// Water beyond the brim is displaced at the cell's temperature, so it changes W and not T.
func (s *Store) Respond(e, w, dt, guess float64) Response {
	r := s.withSteam(e, w, dt, guess)
	if brim := s.Brim(); r.W > brim {
		r.Over, r.W = r.W-brim, brim
	}
	return r
}

// withSteam is Respond without a brim: water is kept, however much there is.
func (s *Store) withSteam(e, w, dt, guess float64) Response {
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

// Responses is what the cells of a ground do, as Response by cell; Taken is the heat that
// steam and displaced water take, less what steam brings [J/m³]. T holds the temperatures
// to begin from. Where nothing boils (Ground.Boils), all but T and Slope may be nil.
type Responses struct{ T, W, Steam, Inflow, Over, Taken, Slope []float64 }

// RespondRows sets r to Respond of the cells of rows k0 ≤ k < k1, see Balance for such
// methods. r.W may be w itself.
func (g *Ground) RespondRows(r Responses, e, w []float64, dt float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		for _, run := range g.runs[k] {
			part := func(v []float64) []float64 {
				if v == nil {
					return nil
				}
				return v[run.From:run.To]
			}
			g.Stores[run.Store].respondAll(Responses{part(r.T), part(r.W), part(r.Steam), part(r.Inflow), part(r.Over), part(r.Taken), part(r.Slope)},
				e[run.From:run.To], w[run.From:run.To], dt)
		}
	}
}

// respondAll is Respond for cells of one store.
func (s *Store) respondAll(r Responses, e, w []float64, dt float64) {
	n := len(e)
	w, t, slope := w[:n], r.T[:n], r.Slope[:n]
	solids := s.Solids * (s.BoilingPoint - s.t0) // atBoiling less the water's part
	if r.Steam == nil {
		if !math.IsInf(s.BoilingPoint, 1) {
			panic("physics: ground that boils without a place for its steam")
		}
		for c, e := range e {
			t[c], slope[c] = s.temperature(e, w[c], t[c])
		}
		if r.W != nil {
			copy(r.W, w)
		}
		return
	}
	left, steam, inflow, over, taken, brim := r.W[:n], r.Steam[:n], r.Inflow[:n], r.Over[:n], r.Taken[:n], s.Brim()
	for c, e := range e {
		water := w[c]
		if water >= s.Dry && water <= brim && e <= solids+water*s.LiquidAtBoiling {
			t[c], slope[c] = s.temperature(e, water, t[c])
			left[c], steam[c], inflow[c], over[c], taken[c] = water, 0, 0, 0, 0
			continue
		}
		a := s.Respond(e, water, dt, t[c])
		t[c], left[c], steam[c], inflow[c], over[c], slope[c] = a.T, a.W, a.Steam, a.Inflow, a.Over, a.Slope
		taken[c] = s.taken(a)
	}
}

// taken returns the heat that a response takes with it [J/m³].
func (s *Store) taken(a Response) float64 {
	q := a.Steam * s.Steam
	if a.Over > 0 {
		q += a.Over * s.Liquid(a.T)
	}
	return q
}

// respond is withSteam for a cell that holds no less water than Dry.
func (s *Store) respond(e, w, dt, guess float64) Response {
	if e <= s.atBoiling(w) || math.IsInf(s.BoilingPoint, 1) {
		t, slope := s.temperature(e, w, guess)
		return Response{T: t, W: w, Slope: slope}
	}
	plateau := Response{T: s.BoilingPoint, Cost: s.Latent()}

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
	plateau.Cost = s.Steam
	if m < 0 {
		plateau.Cost = math.Inf(1)
		m = 0
		in = (e - s.atBoiling(w)) / s.LiquidAtBoiling
		plateau.W = w + in
	}
	if most := s.Inflow * dt; in > most {
		in = most
		plateau.Cost = s.Latent()
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
	return Response{T: t, W: s.Dry, Steam: m, Inflow: in, Slope: slope, Cost: -1}
}
