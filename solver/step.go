package solver

import (
	"errors"
	"fmt"
	"math"

	"soiljoule/solver/linear"
)

// TR-BDF2 as a three-stage, L-stable Runge–Kutta method with rates at t, t + γΔt
// and t + Δt; the two implicit stages share one matrix.
// Source: Hosea & Shampine, Appl. Numer. Math. 20, 21 (1996) (from memory).
const (
	gamma = 2 - math.Sqrt2
	dd    = gamma / 2      // weight of a stage's own rate
	ww    = math.Sqrt2 / 4 // weight of the two earlier rates in the last stage
	// Weights of the third-order formula less those of the method.
	est0 = (1 - 4*ww) / 3
	est1 = 1.0 / 3
	est2 = -2 * dd / 3
)

// errRefused is wrapped by errors for which a shorter step is the cure.
var errRefused = errors.New("step refused")

// step tries one TR-BDF2 step of length dt from r.state into r.next:
//
//	γ stage:     y_γ     = y_n + d Δt (f_n + f_γ)
//	last stage:  y_{n+1} = y_n + w Δt (f_n + f_γ) + d Δt f_{n+1}
//
// with y = (E, W), f = (heat in − F h_v, R − F). A refused step leaves r.state and
// its rates as they were. The error returned is that of E/C [K].
func (r *run) step(dt float64) (norm, error) {
	h := dd * dt
	r.refillFor(dt)
	r.setSources(dt)

	for c := range r.eStar {
		f := r.first
		r.eStar[c] = r.state.E[c] + h*(f.heat[c]-f.steam[c]*r.steamHeat[c])
		r.wStar[c] = r.state.W[c] + h*(f.inflow[c]-f.steam[c]) + 2*h*r.refill[c]
	}
	r.predict(r.state, r.history, gamma*dt)
	r.stageSources(gamma)
	if err := r.stage(&r.rate1, r.state.Time+gamma*dt, dt); err != nil {
		return norm{}, err
	}
	r.middle, r.next = r.next, r.middle

	for c := range r.eStar {
		f, m := r.first, &r.rate1
		r.eStar[c] = r.state.E[c] + ww*dt*(f.heat[c]+m.heat[c]-(f.steam[c]+m.steam[c])*r.steamHeat[c])
		r.wStar[c] = r.state.W[c] + ww*dt*(f.inflow[c]+m.inflow[c]-f.steam[c]-m.steam[c]) + dt*r.refill[c]
	}
	r.predict(r.middle, r.state, (1-gamma)*dt)
	r.stageSources(1)
	if err := r.stage(&r.rate2, r.state.Time+dt, dt); err != nil {
		return norm{}, err
	}
	return r.estimate(dt)
}

// stage solves one implicit stage, at time t of a step of dt [s], into r.next:
// heat and boiling with a Joule heat that is predicted, then the potential at the
// temperatures found, again while the two disagree by more than a share of the
// tolerance. The last heat found is the one booked, so the power in the ledger is
// the power at the electrodes, limits included.
func (r *run) stage(f *rates, t, dt float64) error {
	n, h := r.next, dd*dt
	n.Time = t
	r.heat.SetAir(t, dt)
	r.ground.SaturationTo(r.saturation, n.W) // as predicted
	r.heat.Assemble(r.ground, r.saturation)
	r.heat.DiagonalTo(r.diagonal)
	r.startHeat(h)
	for round := 1; ; round++ {
		r.powerTo(r.power, n)
		if err := r.solveHeat(h); err != nil {
			return err
		}
		if r.electric == nil {
			break
		}
		if err := r.solvePotential(n); err != nil {
			return err
		}
		r.powerTo(r.scratch, n)
		for c, p := range r.scratch {
			r.scratch[c] = (p - r.power[c]) * r.perHeat[c] * h
		}
		d := r.watched(r.scratch)
		share := 0.1 * r.set.Tolerance
		if d.rms <= share && d.max <= 10*share {
			break
		}
		if round == r.set.MaxCoupled || math.IsNaN(d.rms) {
			r.stats.RefusedCoupling++
			return fmt.Errorf("%w: Joule heat and temperature disagree by %.3g K rms, %.3g K in one cell, after %d rounds", errRefused, d.rms, d.max, round)
		}
	}
	r.powerTo(r.power, n)
	r.close(f, h)
	return nil
}

// solveHeat finds the stage's temperatures for the heat in r.power, by Newton's
// method on the heat e that each cell would hold if no steam left:
//
//	V (e − E*)/h = Σ G (T_n − T) + Q,   T = T(e) of Store.Respond
//
// A boiling cell has dT/de = 0: its T is held while the others' stay a symmetric
// system. Cells switch on e, never on T.
func (r *run) solveHeat(h float64) error {
	n := r.next
	toKelvin := h // residuals are in W; perHeat makes them K/s
	for round := 0; ; round++ {
		r.respond(h)
		r.heat.NetTo(r.net, n.T)
		for c, v := range r.volume {
			r.residual[c] = v*(r.eStar[c]-r.e[c])/h + r.net[c] + r.power[c]
			r.scratch[c] = r.residual[c] * r.perHeat[c] * toKelvin
		}
		left := r.whole(r.scratch)
		r.stats.Newton++
		// After some rounds a very thin cell may still keep the rounding of its fluxes.
		if left.rms <= r.heatTolerance && (left.max <= 100*r.heatTolerance || round >= 6) {
			return nil
		}
		if math.IsNaN(left.rms) || round == 25 {
			r.stats.RefusedHeat++
			return fmt.Errorf("%w: heat and boiling did not settle in %d rounds: %.3g K left", errRefused, round, left.rms)
		}
		sys := r.heatSystem
		r.linearise(h)
		clear(r.delta)
		r.heatPCG.Factor(sys)
		st, err := r.heatPCG.SolveTo(r.delta, sys, r.residual, linear.Settings{
			Tolerance: math.Max(0.1*r.heatTolerance, 1e-4*left.rms) / h, Weight: r.heatWeight, MaxIterations: 5000})
		r.stats.HeatIterations += st.Iterations
		if err != nil {
			return fmt.Errorf("heat: %w", err)
		}
		sys.ApplyTo(r.net, r.delta)
		for c, v := range r.volume {
			if s := r.slope[c]; s > 0 {
				r.e[c] += r.delta[c] / s
			} else {
				r.e[c] += h / v * (r.residual[c] - r.net[c])
			}
		}
	}
}

// linearise sets the diagonal and the held rows of the heat matrix from dT/de.
func (r *run) linearise(h float64) {
	for c, v := range r.volume {
		s := r.slope[c]
		r.heatSystem.Held[c] = s == 0
		r.heatSystem.Diag[c] = r.diagonal[c]
		if s > 0 {
			r.heatSystem.Diag[c] += v / (s * h)
		}
	}
}

// startHeat sets the first estimate of e from the predicted temperatures: the
// energy at T for cells that do not boil, the heat that flows in for those that do.
func (r *run) startHeat(h float64) {
	n := r.next
	r.heat.NetTo(r.net, n.T)
	r.powerTo(r.power, n)
	for c := range r.e {
		s := r.ground.Store(c)
		w := r.wStar[c]
		switch {
		case n.T[c] < s.BoilingPoint:
			r.e[c] = s.Energy(n.T[c], w)
		case n.T[c] > s.BoilingPoint:
			r.e[c] = s.Energy(n.T[c], s.Dry) + (w-s.Dry)*s.Steam
		default:
			r.e[c] = math.Max(s.Energy(s.BoilingPoint, w), r.eStar[c]+h*(r.net[c]+r.power[c])/r.volume[c])
		}
	}
}

// respond sets T, W, steam, inflow and dT/de of every cell from e.
func (r *run) respond(h float64) {
	n := r.next
	for c := range r.e {
		a := r.ground.Store(c).Respond(r.e[c], r.wStar[c], h, n.T[c])
		n.T[c], n.W[c], r.slope[c] = a.T, a.W, a.Slope
		r.steam[c], r.inflow[c] = a.Steam, a.Inflow
	}
}

// close books the stage: e from the fluxes that cross faces, so what leaves one
// cell enters another whatever the residual of the solve, and the rates for the
// stages and the ledger that follow.
func (r *run) close(f *rates, h float64) {
	n := r.next
	r.heat.NetTo(r.net, n.T)
	f.flows = r.flowsAt(n)
	for c, v := range r.volume {
		f.heat[c] = (r.net[c] + r.power[c]) / v
		r.e[c] = r.eStar[c] + h*f.heat[c]
	}
	r.respond(h)
	for c := range r.e {
		n.E[c] = r.e[c] - r.steam[c]*r.steamHeat[c]
		f.steam[c] = r.steam[c] / h
		f.inflow[c] = r.inflow[c] / h
	}
}

// predict sets r.next from a state and an earlier one, extrapolated by ahead
// seconds. Temperatures stop at the boiling point from either side.
func (r *run) predict(from, before *State, ahead float64) {
	n := r.next
	n.CopyFrom(from)
	span := from.Time - before.Time
	if span <= 0 {
		return
	}
	u := ahead / span
	for c := range n.T {
		t := from.T[c] + u*(from.T[c]-before.T[c])
		if tb := r.ground.Store(c).BoilingPoint; from.T[c] <= tb {
			t = math.Min(t, tb)
		} else {
			t = math.Max(t, tb)
		}
		n.T[c] = t
		n.W[c] = math.Max(0, from.W[c]+u*(from.W[c]-before.W[c]))
		n.Joule[c] = math.Max(0, from.Joule[c]+u*(from.Joule[c]-before.Joule[c]))
		n.Re[c] = from.Re[c] + u*(from.Re[c]-before.Re[c])
		n.Im[c] = from.Im[c] + u*(from.Im[c]-before.Im[c])
	}
	n.Power = 0
	for _, q := range n.Joule {
		n.Power += q
	}
	r.loadWithin(n)
}

// refillFor sets the rate at which cells that boiled water away and have cooled
// fill again during a step of dt: their layer's rate, reached 1 K below the
// boiling point so that a cell at the edge of boiling does not flicker, and never
// more than they lack.
func (r *run) refillFor(dt float64) {
	for c := range r.refill {
		s := r.ground.Store(c)
		r.refill[c] = 0
		if s.Inflow > 0 && r.state.W[c] < s.Found {
			ramp := math.Min(math.Max(s.BoilingPoint-r.state.T[c], 0), 1)
			r.refill[c] = ramp * math.Min(s.Refill, (s.Found-r.state.W[c])/dt)
		}
	}
}

// estimate returns the local error of the step in kelvin: the difference to the
// third-order formula, of the heat that came in (a boiling cell's T shows none),
// filtered by the stage's own matrix so that stiff parts do not shout.
func (r *run) estimate(dt float64) (norm, error) {
	h := dd * dt
	for c, v := range r.volume {
		e := dt * (est0*r.first.heat[c] + est1*r.rate1.heat[c] + est2*r.rate2.heat[c])
		r.residual[c] = v * e / h
		r.delta[c] = 0
	}
	for c, q := range r.sources.misplaced {
		r.residual[c] += q / h
	}
	r.linearise(h)
	r.heatPCG.Factor(r.heatSystem)
	st, err := r.heatPCG.SolveTo(r.delta, r.heatSystem, r.residual, linear.Settings{
		Tolerance: 1e-3 * r.set.Tolerance / h, Weight: r.heatWeight, MaxIterations: 5000})
	r.stats.HeatIterations += st.Iterations
	if err != nil {
		return norm{}, fmt.Errorf("error estimate: %w", err)
	}
	for c, held := range r.heatSystem.Held {
		if held {
			r.delta[c] = r.residual[c] * h * r.perHeat[c]
		}
	}
	return r.watched(r.delta), nil
}

// rates is the right side of the equations at one stage, as the stage used it.
type rates struct {
	heat   []float64 // [W/m³] conduction and Joule heat in, before steam leaves
	steam  []float64 // [kg/(m³·s)] F
	inflow []float64 // [kg/(m³·s)] what replaces it, refill apart
	flows
}

// copyFrom makes f's values those of from.
func (f *rates) copyFrom(from *rates) {
	copy(f.heat, from.heat)
	copy(f.steam, from.steam)
	copy(f.inflow, from.inflow)
	f.flows = from.flows
}

func newRates(n int) rates {
	v := func() []float64 { return make([]float64, n) }
	return rates{heat: v(), steam: v(), inflow: v()}
}
