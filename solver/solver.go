package solver

import (
	"context"
	"errors"
	"fmt"
	"math"

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
	problem  *Problem
	set      Settings
	ground   *physics.Ground
	heat     *physics.Heat
	electric *physics.Electric
	sources  sources
	setting  Setting
	control  control

	state, middle, next *State
	history             *State // an earlier state, to extrapolate from
	rate0, rate1, rate2 rates
	first               *rates // that the step began with: rate0, or as the set power begins it

	eStar, wStar, e          []float64 // a stage's known part, and its heat before steam leaves
	slope, steam, inflow     []float64
	refill                   []float64
	power, net, residual     []float64
	delta, diagonal, scratch []float64
	saturation, sigma, rhs   []float64

	volume, perHeat, steamHeat []float64 // V [m³], 1/(VC) [K/J], h_v [J/kg] by cell
	watchedCells               []int
	totalVolume, watchedVolume float64
	heatTolerance              float64 // [K]
	heatWeight                 []float64

	mostIterations           int // of one solve for the potential
	heatSystem, chargeSystem *linear.System
	heatPCG, chargePCG       *linear.PCG

	ledger  Ledger
	targets []*tracker
	stats   Stats
	report  Report
}

func newRun(p *Problem) *run {
	g := p.Ground.Grid
	n := g.Cells()
	v := func() []float64 { return make([]float64, n) }
	bodies := 0
	if p.Electric != nil {
		bodies = len(p.Electric.Bodies)
	}
	st := func() *State { return physics.NewState(n, bodies) }
	r := &run{problem: p, set: p.Settings.withDefaults(), ground: p.Ground, heat: p.Heat, electric: p.Electric, sources: newSources(p, n),
		state: st(), middle: st(), next: st(), history: st(),
		rate0: newRates(n), rate1: newRates(n), rate2: newRates(n),
		eStar: v(), wStar: v(), e: v(), slope: v(), steam: v(), inflow: v(), refill: v(),
		power: v(), net: v(), residual: v(), delta: v(), diagonal: v(), scratch: v(), saturation: v(), sigma: v(), rhs: v(),
		volume: g.Volume, perHeat: v(), steamHeat: v(), heatWeight: v(), mostIterations: 20000,
	}
	for c := range n {
		s := r.ground.Store(c)
		r.perHeat[c] = 1 / (g.Volume[c] * s.Capacity)
		r.steamHeat[c] = s.Steam
		r.totalVolume += g.Volume[c]
	}
	for c, k := range r.perHeat {
		r.heatWeight[c] = g.Volume[c] / r.totalVolume * k * k
	}
	r.watchedCells = p.Watched.Cells(g)
	r.watchedVolume = p.Watched.Volume(g)
	// A heat solve is left when it no longer matters beside the step's error;
	// what remains stays in the state, not in the ledger.
	r.heatTolerance = 1e-4 * r.set.Tolerance
	r.heatSystem = &linear.System{NX: g.NX, NZ: g.NZ, Across: r.heat.Across, Down: r.heat.Down, Diag: v(), Held: make([]bool, n)}
	r.heatPCG = linear.NewPCG(g.NX, g.NZ)
	if r.electric != nil {
		held := make([]bool, n)
		for c, b := range r.electric.BodyOf {
			held[c] = b >= 0
		}
		r.chargeSystem = &linear.System{NX: g.NX, NZ: g.NZ, Across: r.electric.Across, Down: r.electric.Down,
			Diag: v(), Held: held, Blocks: make([]linear.Block, len(r.electric.Couples))}
		r.chargePCG = linear.NewPCG(g.NX, g.NZ)
	}
	for i := range p.Targets {
		r.targets = append(r.targets, newTracker(&p.Targets[i], p.Ground))
	}
	r.stats.ShallowestBoil = math.Inf(1)
	r.report.Targets = make([]TargetStatus, len(p.Targets))
	return r
}

// begin puts the ground at its start and finds the rates there.
func (r *run) begin() error {
	r.ground.Start(r.state)
	r.setting = r.settingAt(0)
	if r.electric != nil {
		if err := r.solvePotential(r.state); err != nil {
			return err
		}
	}
	r.history.CopyFrom(r.state)
	r.heat.SetAir(0, 0)
	r.ground.SaturationTo(r.saturation, r.state.W)
	r.heat.Assemble(r.ground, r.saturation)
	r.powerTo(r.power, r.state)
	r.heat.NetTo(r.net, r.state.T)
	for c, v := range r.volume {
		r.rate0.heat[c] = (r.net[c] + r.power[c]) / v
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
	for c := range r.scratch {
		r.scratch[c] = r.rate0.heat[c] * r.volume[c] * r.perHeat[c]
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
	r.history, r.state, r.middle, r.next = r.middle, r.next, r.state, r.history
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
	r.powerTo(r.power, r.state)
	r.setting = s
	r.loadWithin(r.state)
	r.powerTo(r.scratch, r.state)
	r.jump(&r.rate0, r.power, r.scratch)
	copy(r.power, r.scratch)
	r.rate0.flows = r.rate0.flows.withPower(r)
	r.history.CopyFrom(r.state)
	r.control.restart(r.watchedRate())
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
type norm struct{ rms, max float64 }

// watched returns the norm of a field over the watched zone, weighted by volume.
func (r *run) watched(field []float64) norm {
	var n norm
	for _, c := range r.watchedCells {
		n.rms += r.volume[c] * field[c] * field[c]
		n.max = math.Max(n.max, math.Abs(field[c]))
	}
	n.rms = math.Sqrt(n.rms / r.watchedVolume)
	return n
}

// whole is watched over all cells.
func (r *run) whole(field []float64) norm {
	var n norm
	for c, v := range r.volume {
		n.rms += v * field[c] * field[c]
		n.max = math.Max(n.max, math.Abs(field[c]))
	}
	n.rms = math.Sqrt(n.rms / r.totalVolume)
	return n
}
