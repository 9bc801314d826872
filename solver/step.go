package solver

import (
	"errors"
	"fmt"
	"math"
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
// with y = (E, W), f = (heat in − F h_v + F_in h_v,in, R − F + F_in). A refused step leaves r.state and
// its rates as they were. The error returned is that of E/C [K].
func (r *run) step(dt float64) (norm, error) {
	if k := r.charge; k != nil {
		k.tried, k.triedBend, k.triedPowerBend = false, k.bend, k.powerBend
	}
	r.beginPressure(r.state.Time)
	r.warmEnds()
	r.keepOut()
	copy(r.next.T, r.state.T) // where the search begins
	r.stiff = true
	r.first = &r.rate0
	r.setSources(dt)
	r.refillFor(dt)
	r.setSeepage(dt)
	r.setMeter(dt)
	r.expectBoil(dt)
	r.loop.dt = dt

	r.loop.second = false
	r.rows(r.do.begin)
	r.stageSources(gamma)
	r.meter.stage(gamma)
	err := r.stage(r.state.Time+gamma*dt, dt)
	r.letIn()
	if err != nil {
		return norm{}, err
	}
	r.rate1 = r.rate2.flows
	r.keepSteam(ww * dt)

	r.loop.second = true
	r.rows(r.do.begin)
	r.stageSources(1)
	r.meter.stage(1)
	if err := r.stage(r.state.Time+dt, dt); err != nil {
		return norm{}, err
	}
	if !r.raise(dt) {
		r.steam.expected.Again = true
		defer func() { r.steam.expected.Again = false }()
		return r.step(dt)
	}
	return r.estimate()
}

// beginRows sets what a stage knows from the start, E* and W*, an estimate of its e,
// as if the rate of heat went on as it is, and of W, by the rates it has. Before the
// last stage rate2 holds the γ stage's rates, and what they count in the error.
func (r *run) beginRows(k0, k1 int) {
	dt, h := r.loop.dt, dd*r.loop.dt
	f, m := r.first, &r.rate2
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		if !r.loop.second {
			r.eStar[c] = r.state.E[c] + h*f.heat[c]
			r.next.E[c] = r.eStar[c] + h*f.heat[c]
			r.mistake[c] = dt * est0 * f.heat[c]
			continue
		}
		r.eStar[c] = r.state.E[c] + ww*dt*(f.heat[c]+m.heat[c])
		r.next.E[c] = r.eStar[c] + h*(m.heat[c]+(1-gamma)/gamma*(m.heat[c]-f.heat[c]))
		r.mistake[c] += dt * est1 * m.heat[c]
	}
	r.warmRows(k0, k1)
	if !r.boils {
		return
	}
	for k := k0; k < k1; k++ {
		for _, run := range r.ground.Runs(k) {
			s := &r.ground.Stores[run.Store]
			for c := run.From; c < run.To; c++ {
				var taken, w, rate float64
				if !r.loop.second {
					taken = h * f.vapour[c]
					r.wStar[c] = r.state.W[c] + h*f.water[c] + 2*h*r.given[c]
					w, rate = r.state.W[c], gamma*dt*(f.water[c]+r.given[c])
				} else {
					taken = ww * dt * (f.vapour[c] + m.vapour[c])
					r.wStar[c] = r.state.W[c] + ww*dt*(f.water[c]+m.water[c]) + dt*r.given[c]
					w, rate = r.next.W[c], (1-gamma)*dt*(m.water[c]+r.given[c])
				}
				if r.rising != nil && r.loop.second {
					r.rising.net[c] = ww * dt * (f.steam[c] + m.steam[c])
				}
				r.eStar[c] -= taken
				r.next.E[c] -= taken
				r.next.W[c] = math.Max(math.Min(s.Dry, w), w+rate)
			}
		}
	}
}

// stage solves one implicit stage, at time t of a step of dt [s], into r.next, and
// leaves its rates in rate2: heat and boiling with a Joule heat that is extrapolated,
// then, where that is not sure enough, the potential at the temperatures found, again
// while the two disagree by more than a share of the tolerance. The last heat found is
// the one booked, so the power in the ledger is the power at the electrodes, limits
// included.
func (r *run) stage(t, dt float64) error {
	r.ground.At(t)
	n, h := r.next, dd*dt
	n.Time = t
	r.loop.h = h
	r.heat.SetAir(t, dt)
	if r.boils {
		r.assemble(n.W) // as predicted
	}
	if r.columns != nil {
		r.columns.Factor(&r.rate2.caps, h)
		r.columnLoop(r.do.known)
	}
	r.predictPower(n)
	solve := r.unsure(t)
	for round := 1; ; round++ {
		if err := r.solveHeat(); err != nil {
			return err
		}
		if !solve {
			break
		}
		since, predicted := r.charge.since(t), n.Power
		if err := r.solvePotential(n); err != nil {
			return err
		}
		d := r.compare(n)
		if round == 1 {
			r.charge.triedBend = d.size() / h / since
			r.charge.triedPowerBend = math.Abs(predicted/n.Power-1) / since
		}
		share := coupled * r.set.Tolerance
		if d.size() <= share {
			break
		}
		if round >= r.set.MaxCoupled || math.IsNaN(d.rms) {
			r.stats.RefusedCoupling++
			return fmt.Errorf("%w: Joule heat and temperature disagree by %.3g K rms, %.3g K in one cell, after %d rounds", errRefused, d.rms, d.max, round)
		}
	}
	r.close(h)
	return nil
}

// coupled is the share of the tolerance by which Joule heat and temperature may
// disagree at a stage.
const coupled = 0.1

// left is the share of the tolerance that an extrapolated heat may be wrong by, over all
// the time since the last solution, and leftPower the share of itself that its power may.
const (
	left      = 0.1
	leftPower = 1e-3
)

// unsure says whether the potential must be solved for at time t: an extrapolated heat
// may be too wrong there, or the fields are wanted. Twice what is expected counts: the
// heat bends more where the ground begins to boil or to dry.
func (r *run) unsure(t float64) bool {
	k := r.charge
	if k == nil {
		return false
	}
	if r.cooling.Off() { // no voltage ever after, so no potential
		return false
	}
	if r.set.FixedStep > 0 || r.stops(t) {
		return true
	}
	if r.off() {
		return false
	}
	_, b := k.newest()
	heat, power := k.expected(t)
	return !(2*heat*(t-b.time) <= left*r.set.Tolerance && 2*power <= leftPower)
}

// compare returns by how much the heat of the potential just solved for would warm the
// ground otherwise than that in r.power, over a stage, and puts it there, with what goes
// beyond the slab.
func (r *run) compare(n *State) norm {
	r.loop.square, r.loop.joule = n.Voltage*n.Voltage, r.charge.trial.joule
	r.beyond = r.charge.trial.beyond
	r.rows(r.do.compare)
	return r.watched(r.scratch)
}

// compareRows is compare for some rows: it sets scratch to the difference [K] and power to the
// heat of the potential [W].
func (r *run) compareRows(k0, k1 int) {
	h, v2 := r.loop.h, r.loop.square
	for k := k0; k < k1; k++ {
		joule, power, d := r.row(r.loop.joule, k), r.row(r.power, k), r.row(r.scratch, k)
		volume := r.row(r.volume, k)
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for i := run.From - k*r.grid.NX; i < run.To-k*r.grid.NX; i++ {
				p := v2 * joule[i]
				if r.sources.now != nil {
					p += r.sources.now[k*r.grid.NX+i]
				}
				d[i] = (p - power[i]) * h / (volume[i] * capacity)
				power[i] = p
			}
		}
	}
}

// close books the stage: e from the fluxes that cross faces, so what leaves one
// cell enters another whatever the residual of the solve, and the rates for the
// stages and the ledger that follow.
func (r *run) close(h float64) {
	r.heat.NetTo(r.residual, r.next.T)
	if r.columns != nil {
		r.columnLoop(r.do.columns)
	}
	r.rate2.flows = r.flowsAt(r.next)
	r.rows(r.do.close)
	r.respond()
	if r.boils {
		r.rate2.boiling = r.boilingAt(&r.rate2, h)
		r.rows(r.do.sum)
		if r.rising != nil && r.loop.second {
			r.rows(r.do.net)
		}
	}
}

// closeRows sets the rate of heat [W/m³] and e [J/m³] from the fluxes in residual [W].
func (r *run) closeRows(k0, k1 int) {
	h := r.loop.h
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		heat := (r.residual[c] + r.power[c]) / r.volume[c]
		r.rate2.heat[c] = heat
		r.next.E[c] = r.eStar[c] + h*heat
	}
}

// sumRows takes the steam's heat from e, so that what is left is E, and turns what the
// stage came to into rates.
func (r *run) sumRows(k0, k1 int) {
	h, f := r.loop.h, r.loop.rates
	u := r.rising
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		if u != nil {
			f.steam[c] -= u.Arrived[c]
		}
		r.next.E[c] -= f.vapour[c]
		f.water[c] = (r.next.W[c] - r.wStar[c]) / h
		f.vapour[c] /= h
		f.steam[c] /= h
		f.inflow[c] /= h
	}
}

// netRows adds the last stage's part to the net steam of the step.
func (r *run) netRows(k0, k1 int) {
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		r.rising.net[c] += r.loop.h * r.rate2.steam[c]
	}
}

// refillFor sets the rate at which cells that boiled water away and have cooled
// fill again during a step of dt: their layer's rate, reached 1 K below the
// boiling point so that a cell at the edge of boiling does not flicker, and never
// more than they lack.
func (r *run) refillFor(dt float64) {
	if !r.boils {
		return
	}
	clear(r.given)
	r.refilled = 0
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			s := &r.ground.Stores[run.Store]
			full := s.Found
			if s.Below {
				full = s.Brim()
			}
			for c := run.From; c < run.To; c++ {
				if s.Inflow > 0 && r.state.W[c] < full {
					ramp := math.Min(math.Max(s.BoilingPoint-r.state.T[c], 0), 1)
					r.given[c] = ramp * math.Min(s.Refill, (full-r.state.W[c])/dt)
					r.refilled += r.given[c] * r.volume[c]
				}
			}
		}
	}
}
