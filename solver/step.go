package solver

import (
	"errors"
	"fmt"
	"math"

	"soiljoule/physics"
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
	return r.estimate(dt)
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
		if err := r.solveHeat(h); err != nil {
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

// assemble sets the conductances of heat for water w.
func (r *run) assemble(w []float64) {
	r.ground.SaturationTo(r.scratch, w)
	r.rows(r.do.assemble)
	r.stiff = true
}

func (r *run) assembleRows(k0, k1 int) {
	b := <-r.buffers
	r.heat.AssembleRows(r.ground, r.scratch, b, k0, k1)
	r.buffers <- b
}

// solveHeat finds the stage's temperatures for the heat in r.power, by Newton's
// method on the heat e that each cell would hold if no steam left:
//
//	V (e − E*)/h = Σ G (T_n − T) + Q,   T = T(e) of Store.Respond
//
// A boiling cell has dT/de = 0: its T is held while the others' stay a symmetric
// system. Cells switch on e, never on T. e is kept in r.next.E.
func (r *run) solveHeat(h float64) error {
	if r.columns != nil {
		r.rows(r.do.outside)
	}
	r.loop.rates = &r.rate2
	for round := 0; ; round++ {
		r.respond()
		r.rows(r.do.residual)
		sum, most := r.totals()
		short := norm{math.Sqrt(sum / r.totalVolume), most}
		r.stats.Newton++
		// After some rounds a very thin cell may still keep the rounding of its fluxes.
		if short.rms <= r.heatTolerance && (short.max <= 100*r.heatTolerance || round >= 6) {
			return nil
		}
		if math.IsNaN(short.rms) || round == 25 {
			r.stats.RefusedHeat++
			return fmt.Errorf("%w: heat and boiling did not settle in %d rounds: %.3g K left", errRefused, round, short.rms)
		}
		if err := r.heatStep(math.Max(0.1*r.heatTolerance, r.forRound()*short.rms), r.rising != nil); err != nil {
			return fmt.Errorf("heat: %w", err)
		}
		r.rows(r.do.update)
		if r.rising != nil {
			r.lower()
		}
	}
}

// heatStep sets delta to what the heat matrix gives for the residual, to within a
// tolerance [K]; lifting: what boiling cells get goes up as steam.
func (r *run) heatStep(tolerance float64, lifting bool) error {
	r.rows(r.do.linearise)
	changed, held := r.totals()
	r.held = held > 0
	if changed > 0 || r.stiff || r.pcg.Serves() != r.heatSystem {
		r.pcg.Factor(r.heatSystem)
		r.stiff = false
	}
	clear(r.delta)
	lifting = lifting && r.held
	if lifting || r.heat.Moves() {
		return r.unsymmetricStep(tolerance, lifting)
	}
	st, err := r.pcg.SolveTo(r.delta, r.heatSystem, r.residual, r.heatSettings(tolerance))
	r.stats.HeatIterations += st.Iterations
	return err
}

// heatSettings ends a solve within a tolerance [K]: a residual of r warms its cell by
// h r/(V C), over the volume an rms of no more than h √(Σ r²/V)/(least C · √volume).
func (r *run) heatSettings(tolerance float64) linear.Settings {
	return linear.Settings{Tolerance: tolerance * r.leastCapacity * math.Sqrt(r.totalVolume) / r.loop.h, Over: r.volume, MaxIterations: 5000}
}

// respond sets T, W, dT/de, and what steam and inflow come to in the stage, from e: per
// volume, in the arrays of r.loop.rates whose rates they become.
func (r *run) respond() {
	if r.rising != nil {
		r.rise()
		return
	}
	r.rows(r.do.respond)
}

func (r *run) respondRows(k0, k1 int) {
	r.ground.RespondRows(r.responses(), r.next.E, r.wStar, r.loop.h, k0, k1)
}

func (r *run) responses() physics.Responses {
	n, f := r.next, r.loop.rates
	return physics.Responses{T: n.T, W: n.W, Steam: f.steam, Inflow: f.inflow, Over: r.over, Taken: f.vapour, Slope: r.slope}
}

// residualRows sets residual to what a stage's heat is short of, and part and most to
// its size as the cells would warm.
func (r *run) residualRows(k0, k1 int) {
	h := r.loop.h
	r.heat.NetRows(r.residual, r.next.T, k0, k1)
	for k := k0; k < k1; k++ {
		res, v, p := r.row(r.residual, k), r.row(r.volume, k), r.row(r.power, k)
		star, e := r.row(r.eStar, k), r.row(r.next.E, k)
		sum, most := 0.0, 0.0
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for i := run.From - k*r.grid.NX; i < run.To-k*r.grid.NX; i++ {
				res[i] += v[i]*(star[i]-e[i])/h + p[i]
				t := res[i] * h / (v[i] * capacity)
				sum += v[i] * t * t
				most = max(most, math.Abs(t))
			}
		}
		r.part[k], r.most[k] = sum, most
	}
}

// lineariseRows sets the diagonal and the held cells of the heat matrix from dT/de,
// and part to how many of these are others than before, or how much stiffer or
// softer the cells have become: from one in a hundred on it counts.
func (r *run) lineariseRows(k0, k1 int) {
	sys, h := r.heatSystem, r.loop.h
	diag := r.scratch
	r.heat.DiagonalRows(diag, k0, k1)
	for k := k0; k < k1; k++ {
		changed, some := 0, 0.0
		for c := k * r.grid.NX; c < (k+1)*r.grid.NX; c++ {
			s := r.slope[c]
			held := s == 0
			if held != sys.Held[c] {
				sys.Held[c] = held
				changed++
			}
			if held {
				some = 1
			}
			d := diag[c]
			if s > 0 {
				d += r.volume[c] / (s * h)
			}
			if math.Abs(d-sys.Diag[c]) > 0.01*d {
				changed++
			}
			sys.Diag[c] = d
		}
		r.part[k], r.most[k] = float64(changed), some
	}
}

// updateRows takes delta into e: by dT/de, or, in a boiling cell, whose T stays, by
// what flows to it more, which then is its residual.
func (r *run) updateRows(k0, k1 int) {
	sys, h := r.heatSystem, r.loop.h
	if r.heat.Moves() {
		r.bringRows(k0, k1)
	}
	for k := k0; k < k1; k++ {
		for c := k * r.grid.NX; c < (k+1)*r.grid.NX; c++ {
			if s := r.slope[c]; s > 0 {
				r.next.E[c] += r.delta[c] / s
			} else {
				r.residual[c] += sys.Inflow(c, r.delta)
				r.next.E[c] += h / r.volume[c] * r.residual[c]
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

// estimate returns the local error of the step in kelvin: the difference to the
// third-order formula, of the heat that came in (a boiling cell's T shows none),
// filtered by the stage's own matrix so that stiff parts do not shout.
func (r *run) estimate(dt float64) (norm, error) {
	r.rows(r.do.mistake)
	for c, q := range r.sources.misplaced {
		r.residual[c] += q / r.loop.h
	}
	r.meterMisplaced()
	if err := r.heatStep(1e-3*r.set.Tolerance, false); err != nil {
		return norm{}, fmt.Errorf("error estimate: %w", err)
	}
	r.rows(r.do.shown)
	return r.watched(r.delta), nil
}

func (r *run) mistakeRows(k0, k1 int) {
	h, dt := r.loop.h, r.loop.dt
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		r.residual[c] = r.volume[c] * (r.mistake[c] + dt*est2*r.rate2.heat[c]) / h
	}
}

// shownRows sets delta of boiling cells to their error as it would warm them.
func (r *run) shownRows(k0, k1 int) {
	h := r.loop.h
	for k := k0; k < k1; k++ {
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for c := run.From; c < run.To; c++ {
				if r.heatSystem.Held[c] {
					r.delta[c] = r.residual[c] * h / (r.volume[c] * capacity)
				}
			}
		}
	}
}

// rates is the right side of the equations at one stage, as the stage used it.
type rates struct {
	heat []float64 // [W/m³] conduction, Joule heat and heat that water carries in, before steam leaves
	// The rest is nil where nothing boils.
	water  []float64 // [kg/(m³·s)] liquid gained by boiling, condensing, inflow and what is displaced
	vapour []float64 // [W/m³] heat that steam takes less what it brings, and that displaced water takes
	steam  []float64 // [kg/(m³·s)] F; where steam rises F − F_in
	inflow []float64 // [kg/(m³·s)] what replaces boiled water, refill apart
	caps   physics.CapRates
	flows
}

// copyFrom makes f's values those of from.
func (f *rates) copyFrom(from *rates) {
	copy(f.heat, from.heat)
	copy(f.water, from.water)
	copy(f.vapour, from.vapour)
	copy(f.steam, from.steam)
	copy(f.inflow, from.inflow)
	f.caps.CopyFrom(&from.caps)
	f.flows = from.flows
}

func newRates(p *Problem) rates {
	v := func() []float64 { return make([]float64, p.Ground.Grid.Cells()) }
	f := rates{heat: v()}
	if p.Ground.Boils() {
		f.water, f.vapour, f.steam, f.inflow = v(), v(), v(), v()
	}
	if k := p.Heat.Columns; k != nil {
		f.caps = k.NewRates()
	}
	return f
}
