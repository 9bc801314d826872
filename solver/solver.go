package solver

import (
	"context"
	"errors"
	"fmt"
	"math"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// State is the unknowns that a run steps.
type State = physics.State

// Recorder takes what a run reports: the start and each accepted step. A
// Recorder must not keep the report's slices beyond the call.
type Recorder interface {
	Record(*Report) error
}

// Report is the run at one time, after an accepted step or at the start.
type Report struct {
	State   *State
	Setting Setting // in force at this time
	Ledger  Ledger
	Targets []TargetStatus
	Output  bool // fields are wanted: an output time, the start or the end
	Stats   Stats

	SteamRate float64 // [kg/s] mean over the step
	// Imposed is, by cell, the power set at this time [W]; nil: none.
	Imposed []float64
	// Crossing is, by cell, the time [s] at which it first reached the first
	// target's temperature; NaN: not yet.
	Crossing []float64
}

// ErrLedger is wrapped by the error of a run whose ledger did not close.
var ErrLedger = errors.New("the energy ledger is open")

// Run steps the problem from the ground as found to its duration, recording the
// start and every accepted step. It checks ctx once a step: a run that is
// cancelled returns ctx's error, its last accepted step recorded. The last
// report is returned in any case.
func Run(ctx context.Context, p *Problem, rec Recorder) (*Report, error) {
	r := newRun(p)
	defer r.done()
	if err := r.begin(); err != nil {
		return &r.report, err
	}
	if err := r.record(rec, true); err != nil {
		return &r.report, err
	}
	for r.state.Time < p.Duration {
		if err := ctx.Err(); err != nil {
			return &r.report, err
		}
		if err := r.advance(); err != nil {
			return &r.report, err
		}
		if err := r.record(rec, r.atOutput()); err != nil {
			return &r.report, err
		}
	}
	return &r.report, nil
}

// run is the state of a run and its workspace: a step allocates nothing but the small dense
// matrices of rows at one depth.
type run struct {
	problem *Problem
	set     Settings
	grid    *mesh.Grid
	ground  *physics.Ground
	heat    *physics.Heat
	charge  *charge // nil: no electrodes
	sources sources
	setting Setting
	control control
	team    *linear.Team

	state, next  *State
	rate0, rate2 rates
	rate1        flows  // of the γ stage, whose rates by cell are summed at once
	first        *rates // that the step began with: rate0, or as the set power begins it

	// By cell.
	eStar, wStar []float64 // a stage's known part [J/m³], [kg/m³]
	slope        []float64 // dT/de
	refill       []float64 // [kg/(m³·s)]
	refilled     float64   // [kg/s] all of it
	mistake      []float64 // of the step [J/m³]
	power        []float64 // [W]
	residual     []float64 // [W]
	delta        []float64 // [K]
	scratch      []float64

	boils                      bool // something may: else there is neither steam nor inflow, and W stays
	volume                     []float64
	watchedVolume, totalVolume float64
	leastCapacity              float64 // [J/(m³·K)] of any cell
	heatTolerance              float64 // [K]

	pcg            *linear.PCG
	stiff          bool // the heat matrix has other conductances than pcg was set up for
	heatSystem     *linear.System
	mostIterations int // of one solve for the potential

	part, most []float64      // by row, of sums and greatest values
	buffers    chan []float64 // of two rows, for who assembles conductances
	loop       loop
	do         loops

	ledger  Ledger
	targets []*tracker
	stats   Stats
	report  Report
}

// loop is what a loop over rows is given.
type loop struct {
	h, dt  float64 // [s]
	state  *State
	joule  []float64 // [W/V²]
	square float64   // [V²]
	a, b   *solution
	u      float64
	zone   mesh.Zone
	field  []float64
	rates  *rates
	second bool // the last stage of a step
}

// loops are the loops over rows k0 ≤ k < k1, as values made once: a step makes none.
type loops struct {
	begin, assemble, respond, residual, linearise, update, close, sum, mistake, shown, size func(k0, k1 int)
	extrapolate, supply, saturation, sigma, conduct, joule, guess, compare                  func(k0, k1 int)
}

func newRun(p *Problem) *run {
	g := p.Ground.Grid
	n := g.Cells()
	v := func() []float64 { return make([]float64, n) }
	bodies := 0
	if p.Electric != nil {
		bodies = len(p.Electric.Bodies)
	}
	r := &run{problem: p, set: p.Settings.withDefaults(), grid: g, ground: p.Ground, heat: p.Heat, sources: newSources(p, n),
		state: physics.NewState(n, bodies), next: physics.NewState(0, bodies), boils: p.Ground.Boils(),
		eStar: v(), slope: v(), mistake: v(), power: v(), residual: v(), delta: v(),
		volume: g.Volume, mostIterations: 20000, leastCapacity: math.Inf(1), part: make([]float64, g.NZ), most: make([]float64, g.NZ),
	}
	r.rate0, r.rate2 = newRates(n, r.boils), newRates(n, r.boils)
	r.next.T, r.next.E = v(), v()
	if r.boils {
		r.next.W, r.wStar, r.refill = v(), v(), v()
	} else {
		r.next.W, r.wStar = r.state.W, r.state.W
	}
	for k := range g.NZ {
		for _, run := range r.ground.Runs(k) {
			for c := run.From; c < run.To; c++ {
				r.totalVolume += g.Volume[c]
			}
			r.leastCapacity = math.Min(r.leastCapacity, r.ground.Stores[run.Store].Capacity)
		}
	}
	r.watchedVolume = p.Watched.Volume(g)
	// A heat solve is left when it no longer matters beside the step's error;
	// what remains stays in the state, not in the ledger.
	r.heatTolerance = 1e-3 * r.set.Tolerance
	r.heatSystem = &linear.System{NX: g.NX, NZ: g.NZ, Across: r.heat.Across, Down: r.heat.Down, Diag: v(), Held: make([]bool, n)}
	if p.Electric != nil {
		r.charge = newCharge(p.Electric)
	}
	r.team = linear.NewTeam()
	r.pcg = linear.NewPCG(g.NX, g.NZ, r.team)
	r.scratch = r.pcg.Workspace()
	if r.charge != nil {
		// σ and the right side are wanted while the heat's fields are not.
		r.charge.pcg, r.charge.sigma, r.charge.rhs = r.pcg, r.delta, r.residual
		if n <= twoSetUps {
			r.charge.pcg = linear.NewPCG(g.NX, g.NZ, r.team)
			r.charge.own = true
		}
	}
	r.buffers = make(chan []float64, r.team.Size())
	for range r.team.Size() {
		r.buffers <- make([]float64, 2*g.NX)
	}
	r.doLoops()
	for i := range p.Targets {
		r.targets = append(r.targets, newTracker(&p.Targets[i], p.Ground))
	}
	r.stats.ShallowestBoil = math.Inf(1)
	r.report.Targets = make([]TargetStatus, len(p.Targets))
	return r
}

// twoSetUps is up to how many cells charge and heat have a solver each, whose set-ups
// serve for several solves. Beyond, they take turns with one, for the sake of memory,
// 110 bytes a cell.
const twoSetUps = 300000

// done lets the team go.
func (r *run) done() { r.team.Close() }

func (r *run) doLoops() {
	r.do = loops{begin: r.beginRows, assemble: r.assembleRows,
		respond: r.respondRows, residual: r.residualRows, linearise: r.lineariseRows, update: r.updateRows, close: r.closeRows, sum: r.sumRows,
		mistake: r.mistakeRows, shown: r.shownRows, size: r.sizeRows,
		extrapolate: r.extrapolateRows, supply: r.supplyRows, saturation: r.saturationRows, sigma: r.sigmaRows, conduct: r.conductRows,
		joule: r.jouleRows, guess: r.guessRows, compare: r.compareRows}
}

// rows shares a loop over the grid's rows among the team.
func (r *run) rows(do func(k0, k1 int)) { r.team.Rows(r.grid.NZ, r.grid.NX, 1, do) }

// row returns row k of a field.
func (r *run) row(field []float64, k int) []float64 { return field[k*r.grid.NX : (k+1)*r.grid.NX] }

// totals returns the sum of part and the greatest of most.
func (r *run) totals() (sum, most float64) {
	for k, v := range r.part {
		sum += v
		most = math.Max(most, r.most[k])
	}
	return sum, most
}

// begin puts the ground at its start and finds the rates there.
func (r *run) begin() error {
	r.ground.Start(r.state)
	copy(r.next.T, r.state.T)
	r.setting = r.settingAt(0)
	if k := r.charge; k != nil {
		if err := r.solvePotential(r.state); err != nil {
			return err
		}
		k.take()
		r.show(r.state)
	}
	r.heat.SetAir(0, 0)
	r.assemble(r.state.W)
	r.predictPower(r.state)
	r.heat.NetTo(r.residual, r.state.T)
	for c, v := range r.volume {
		r.rate0.heat[c] = (r.residual[c] + r.power[c]) / v
	}
	r.rate0.flows = r.flowsAt(r.state)
	r.ledger = newLedger(r)
	r.control = newControl(r.set, r.problem.Duration)
	r.control.start(r.watchedRate())
	for _, t := range r.targets {
		t.start(r.state)
	}
	return nil
}

// watchedRate returns how fast the watched zone warms, rms [K/s].
func (r *run) watchedRate() float64 {
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			capacity := r.ground.Stores[run.Store].Capacity
			for c := run.From; c < run.To; c++ {
				r.scratch[c] = r.rate0.heat[c] / capacity
			}
		}
	}
	return r.watched(r.scratch).rms
}

// advance makes one accepted step, whatever refusals it takes.
func (r *run) advance() error {
	for {
		dt := r.control.propose(r.state.Time, r.nextStop())
		norm, err := r.step(dt)
		switch {
		case errors.Is(err, errRefused):
			if r.control.fixed > 0 || !r.control.shorten() {
				return r.failed(dt, err)
			}
			continue
		case err != nil:
			return r.failed(dt, err)
		}
		if !r.control.accept(norm) {
			r.stats.RefusedError++
			if r.control.stuck() {
				return r.failed(dt, fmt.Errorf("error %.3g K rms, %.3g K in one cell", norm.rms, norm.max))
			}
			continue
		}
		return r.take(dt)
	}
}

// take makes the step that was tried the run's own.
func (r *run) take(dt float64) error {
	if stop := r.nextStop(); math.Abs(r.next.Time-stop) <= 1e-9*stop {
		r.next.Time = stop
	}
	r.ledger.book(r, dt)
	r.report.SteamRate = r.ledger.stepSteam / dt
	for _, t := range r.targets {
		t.step(r.state, r.next)
	}
	r.state, r.next = r.next, r.state
	if k := r.charge; k != nil {
		k.take()
		r.show(r.state)
	}
	r.rate0, r.rate2 = r.rate2, r.rate0
	if r.sources.varying != nil {
		r.sources.settle()
	}
	r.stats.Steps++
	r.countExtremes()
	if err := r.checkHot(); err != nil {
		return err
	}
	if err := r.ledger.check(r.set.LedgerTolerance); err != nil {
		return fmt.Errorf("t = %.6g d: %w", r.state.Time/86400, err)
	}
	if s := r.settingAt(r.state.Time); s != r.setting {
		r.switchTo(s)
	}
	return nil
}

// switchTo puts a new setting in force at the state's time: the power jumps,
// and with it the steam of cells that boil.
func (r *run) switchTo(s Setting) {
	r.predictPower(r.state)
	copy(r.scratch, r.power)
	r.setting = s
	r.predictPower(r.state)
	r.jump(&r.rate0, r.scratch, r.power)
	r.rate0.flows = r.rate0.flows.withPower(r)
	if r.charge != nil {
		r.charge.forget()
	}
	r.control.restart(r.watchedRate())
}

// show lets the state have the potential last solved for.
func (r *run) show(n *State) {
	s := r.charge.last
	n.Re, n.Im, n.Joule, n.SolvedAt = s.re, s.im, s.joule, s.time
}

func (r *run) failed(dt float64, err error) error {
	return fmt.Errorf("t = %.6g d, step of %.3g s: %w; try a larger time.tolerance or mesh.finest", r.state.Time/86400, dt, err)
}

// settingAt returns the setting in force from time t on.
func (r *run) settingAt(t float64) Setting {
	s := Setting{PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1)}
	for _, c := range r.problem.Supply {
		if c.At <= t {
			s = c
		}
	}
	return s
}

// nextStop returns the next time at which a step must end.
func (r *run) nextStop() float64 {
	stop := r.problem.Duration
	for _, s := range r.problem.Supply {
		if s.At > r.state.Time {
			stop = math.Min(stop, s.At)
		}
	}
	for _, t := range r.problem.Outputs {
		if t > r.state.Time {
			stop = math.Min(stop, t)
			break
		}
	}
	return stop
}

// stops says whether a step that ends at time t ends on a stop.
func (r *run) stops(t float64) bool { return t >= r.nextStop()*(1-1e-9) }

func (r *run) atOutput() bool {
	t := r.state.Time
	if t >= r.problem.Duration {
		return true
	}
	for _, o := range r.problem.Outputs {
		if o == t {
			return true
		}
	}
	return false
}

func (r *run) record(rec Recorder, output bool) error {
	p := &r.report
	p.State, p.Setting, p.Ledger, p.Output, p.Stats = r.state, r.setting, r.ledger, output, r.stats
	for i, t := range r.targets {
		p.Targets[i] = t.status(r.state)
	}
	p.Imposed = r.sources.constant
	if r.sources.varying != nil {
		p.Imposed = r.sources.shown
		r.sources.at(r.state.Time, p.Imposed)
	}
	if len(r.targets) > 0 {
		p.Crossing = r.targets[0].crossing
	}
	if rec == nil {
		return nil
	}
	return rec.Record(p)
}

// norm is the size of a field in kelvin.
type norm struct{ rms, max float64 } // max: of cells at their boiling point or beyond it a share, hot

// hot is what the error of a cell at its boiling point or beyond counts among the
// largest. A wall that dries cell by cell has an error of some kelvins in one cell of a
// thousand, gone a step later. With 1 for 0.1 it takes four times the steps, for a mean
// temperature of the zone that is the same to 1e-3 K after 60 days.
const hot = 0.1

// size is what is held to a tolerance: the rms, or a tenth of the largest.
func (n norm) size() float64 { return math.Max(n.rms, n.max/10) }

// watched returns the norm of a field over the watched zone, weighted by volume.
func (r *run) watched(field []float64) norm {
	r.loop.zone, r.loop.field = r.problem.Watched, field
	r.rows(r.do.size)
	sum, most := r.totals()
	return norm{math.Sqrt(sum / r.watchedVolume), most}
}

// sizeRows sums the squares of a field over a zone. A value that is no number makes
// both numbers none.
func (r *run) sizeRows(k0, k1 int) {
	z := r.loop.zone
	for k := k0; k < k1; k++ {
		r.part[k], r.most[k] = 0, 0
		if k < z.K0 || k >= z.K1 {
			continue
		}
		v, f := r.row(r.volume, k)[z.I0:z.I1], r.row(r.loop.field, k)[z.I0:z.I1]
		sum, most := 0.0, 0.0
		for i, x := range f {
			sum += v[i] * x * x
			most = max(most, math.Abs(x))
		}
		if r.boils && most > 0 {
			most = r.mostOf(k, z)
		}
		r.part[k], r.most[k] = sum, most
	}
}

// mostOf returns the largest of a row's values in a zone, those of hot cells as they count.
func (r *run) mostOf(k int, z mesh.Zone) float64 {
	most, base := 0.0, k*r.grid.NX
	for _, run := range r.ground.Runs(k) {
		boiling := r.ground.Stores[run.Store].BoilingPoint
		for c := max(run.From, base+z.I0); c < min(run.To, base+z.I1); c++ {
			x := math.Abs(r.loop.field[c])
			if r.next.T[c] >= boiling {
				x *= hot
			}
			most = max(most, x)
		}
	}
	return most
}
