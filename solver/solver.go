package solver

import (
	"context"
	"errors"
	"fmt"
	"math"

	"soiljoule/physics"
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
	Need    Need // of a metered drive

	Switching Switching

	// Before is what the electrodes took as the step ended, before anything switched: State
	// has what holds from then on. Where nothing switched the two are one.
	Before Load

	OffAt   float64 // [s] when the supply went off for good; NaN: not yet
	Cooling Cooling

	SteamRate  float64   // [kg/s] mean over the step, out of the ground
	Steam      SteamFate // [kg/s] SteamRate by where it went
	Condensing float64   // [kg/s] mean over the step, in the ground
	// Imposed is, by cell, the power set at this time [W]; nil: none.
	Imposed []float64
	// Crossing is, by cell, the time [s] at which it first reached the first
	// target's temperature; NaN: not yet.
	Crossing []float64

	// Snapshot is what Resume goes on from, in the last report; nil: nothing can.
	Snapshot *Snapshot
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
	return r.onward(ctx, rec)
}

// onward steps to the end, and returns the last report with a snapshot of the run, or
// without one where an accepted step could not be brought to its end.
func (r *run) onward(ctx context.Context, rec Recorder) (*Report, error) {
	err := r.steps(ctx, rec)
	if r.whole {
		r.report.Snapshot = r.snapshot()
	}
	return &r.report, err
}

// steps steps to the end of the problem's duration and records each accepted step.
func (r *run) steps(ctx context.Context, rec Recorder) error {
	for r.state.Time < r.problem.Duration {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := r.advance(); err != nil {
			return err
		}
		output := r.atOutput()
		if err := r.record(rec, output); err != nil {
			return err
		}
		if output {
			if err := r.renew(); err != nil {
				return err
			}
		}
	}
	return nil
}

// begin puts the ground at its start and finds the rates there.
func (r *run) begin() error {
	r.beginPressure(0)
	r.warmEnds()
	r.ground.Start(r.state)
	copy(r.next.T, r.state.T)
	r.use(r.settingAt(0))
	r.beginControl()
	if k := r.charge; k != nil {
		if err := r.solvePotential(r.state); err != nil {
			return r.dated(err)
		}
		k.take()
		r.show(r.state)
		if err := r.meterNeeds(0); err != nil {
			return err
		}
	}
	r.heat.SetAir(0, 0)
	r.assemble(r.state.W)
	r.predictPower(r.state)
	if r.columns != nil {
		r.columns.Start(r.state.Caps, &r.rate0.caps, r.ground.Ambient)
		r.setFringe(&r.rate0)
	}
	r.heat.NetTo(r.residual, r.state.T)
	for c, v := range r.volume {
		r.rate0.heat[c] = (r.residual[c] + r.power[c]) / v
	}
	r.rate0.flows = r.flowsAt(r.state)
	r.ledger = newLedger(r)
	r.control = r.newControl()
	r.control.start(r.watchedRate())
	for _, t := range r.targets {
		t.start(r.state)
	}
	return r.goOff()
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
		dt := r.toOff(r.toCrossing(r.control.propose(r.state.Time, r.nextStop())))
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
		if r.passes(dt) || r.passesOff(dt) {
			r.stats.Redone++
			continue
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
	r.whole = false
	if stop := r.nextStop(); math.Abs(r.next.Time-stop) <= 1e-9*stop {
		if k := r.charge; k != nil && k.tried && k.trial.time == r.next.Time {
			k.trial.time = stop
		}
		r.next.Time = stop
	}
	r.ledger.book(r, dt)
	r.report.Steam = SteamFate{}.plus(1/dt, r.ledger.stepSteam)
	r.report.SteamRate, r.report.Condensing = r.report.Steam.Total(), r.ledger.stepCondensed/dt
	r.state, r.next = r.next, r.state
	if k := r.charge; k != nil {
		k.take()
		r.show(r.state)
		r.report.Before = r.load(r.state)
	}
	r.rate0, r.rate2 = r.rate2, r.rate0
	r.settleSeepage()
	r.settleRates(dt)
	r.settleColumns()
	if r.sources.varying != nil {
		r.sources.settle()
	}
	r.meter.settle()
	r.stats.Steps++
	r.countExtremes()
	if err := r.checkHot(); err != nil {
		return err
	}
	if err := r.ledger.check(r.set.LedgerTolerance); err != nil {
		return r.dated(err)
	}
	for _, t := range r.targets { // of a step that stands only
		t.step(r.next, r.state)
	}
	if err := r.controlled(dt); err != nil {
		return err
	}
	if s := r.settingAt(r.state.Time); s.At != r.setting.At {
		if err := r.switchBy(func() { r.use(s) }); err != nil {
			return err
		}
	}
	if r.nextAdded(r.next.Time) == r.state.Time { // water began or ended to be added
		r.control.restart(r.watchedRate())
	}
	return r.goOff()
}

// use puts a setting in force.
func (r *run) use(s Setting) {
	r.setting = s
	if r.charge != nil && r.charge.feed != nil {
		r.charge.feed.set(&r.setting)
	}
}

// switchBy lets the supply change at the state's time: the power jumps, and with it the
// steam of cells that boil. Where bodies have settings of their own the potential jumps
// too, and is solved for.
func (r *run) switchBy(change func()) error {
	r.predictPower(r.state)
	before, fringe := r.scratch, r.fringe()
	own := r.charge != nil && r.charge.feed != nil
	if own { // a solve writes the scratch field; this one is set anew in the next step
		before = r.eStar
	}
	copy(before, r.power)
	change()
	if own {
		if err := r.solvePotential(r.state); err != nil {
			return r.dated(err)
		}
		r.charge.take()
		r.show(r.state)
	}
	r.predictPower(r.state)
	r.jump(&r.rate0, before, r.power)
	r.jumpFringe(&r.rate0, fringe)
	r.rate0.flows = r.rate0.flows.withPowerOf(r, r.state)
	if r.charge != nil {
		r.charge.forget()
	}
	r.control.restart(r.watchedRate())
	return nil
}

// show lets the state have the potential last solved for.
func (r *run) show(n *State) {
	s := r.charge.last
	n.Re, n.Im, n.Joule, n.SolvedAt = s.re, s.im, s.joule, s.time
}

// dated returns an error with the time of the state.
func (r *run) dated(err error) error { return fmt.Errorf("t = %.6g d: %w", r.state.Time/86400, err) }

// failed returns the error of a run that cannot go on with a step of dt [s]: when, why, and what
// to try.
func (r *run) failed(dt float64, err error) error {
	if errors.Is(err, errOwn) {
		return r.dated(err)
	}
	return fmt.Errorf("t = %.6g d, step of %.3g s: %w; try a larger time.tolerance or mesh.finest", r.state.Time/86400, dt, err)
}

// settingAt returns the setting in force from time t on.
func (r *run) settingAt(t float64) Setting {
	s := Setting{PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1)}
	last := -1 // settings may be many, and long
	for i := range r.problem.Supply {
		if r.problem.Supply[i].At <= t {
			last = i
		}
	}
	if last >= 0 {
		s = r.problem.Supply[last]
	}
	return s
}

// nextStop returns the next time at which a step must end.
func (r *run) nextStop() float64 {
	stop := r.problem.Duration
	if due := r.offDue(); due > r.state.Time {
		stop = math.Min(stop, due)
	}
	for i := range r.problem.Supply {
		if at := r.problem.Supply[i].At; at > r.state.Time {
			stop = math.Min(stop, at)
		}
	}
	for _, t := range r.problem.Outputs {
		if t > r.state.Time {
			stop = math.Min(stop, t)
			break
		}
	}
	return math.Min(math.Min(stop, r.nextTurn()), r.nextAdded(r.state.Time))
}

// stops says whether a step that ends at time t ends on a stop.
func (r *run) stops(t float64) bool { return t >= r.nextStop()*(1-1e-9) }

// atOutput says whether the state is one whose fields are wanted.
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

// record completes the report of the state and hands it to rec, if there is one.
func (r *run) record(rec Recorder, output bool) error {
	p := &r.report
	r.showMeter()
	r.taken, r.whole = r.control, true
	p.State, p.Setting, p.Ledger, p.Output, p.Stats = r.state, r.setting, r.ledger, output, r.stats
	for i, t := range r.targets {
		p.Targets[i] = t.status(r.state)
	}
	p.Switching, p.Need = r.thermostat.Switching, r.meter.need
	if len(p.Targets) > 0 {
		r.cooling.follow(r.state.Time, p.Targets[0].Mean, p.Targets[0].Max)
	}
	p.OffAt, p.Cooling = r.cooling.At, r.cooling
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
