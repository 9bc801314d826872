package solver

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"strconv"

	"soiljoule/solver/keep"
)

// Snapshot is a run between two steps: all that the steps to come depend on, beside the
// problem.
type Snapshot struct {
	keep.Store

	// Changed says that something beside the supply, the duration and the outputs is not as
	// it was, such as the surface: the rates at the snapshot are then those of the problem,
	// and the control of steps begins anew.
	Changed bool
}

// Time returns when it was taken [s].
func (s *Snapshot) Time() (float64, error) { return s.Float("state.Time") }

// ErrSnapshot is wrapped by the error of a snapshot that is not of the problem.
var ErrSnapshot = errors.New("the state is not one of this case")

// Resume goes on from a snapshot, as Run from the ground as found, and keeps none of its
// arrays. The problem may
// differ from that of the snapshot in all but its grid, stores, bodies and targets. What
// it records begins with the first step that it takes. Where the snapshot is that of a
// run's end or of one of its outputs, and the problem the same, so are the bytes of what
// follows.
func Resume(ctx context.Context, p *Problem, from *Snapshot, rec Recorder) (*Report, error) {
	was, err := settingOf(from)
	if err != nil {
		return &Report{}, err
	}
	// The setting that the snapshot was taken under has its place in the run, though no time.
	withWas := *p
	last := was
	last.At = math.Inf(1)
	withWas.Supply = append(append([]Setting{}, p.Supply...), last)
	r := newRun(&withWas)
	defer r.done()
	if err := r.restore(from, was); err != nil {
		return &Report{}, err
	}
	from.Arrays = nil // of as much memory as the run's own
	if err := r.record(nil, false); err != nil {
		return &r.report, err
	}
	return r.onward(ctx, rec)
}

// settingOf returns the setting that a snapshot was taken under.
func settingOf(s *Snapshot) (Setting, error) {
	var was Setting
	if err := s.Get("setting", &was); err != nil {
		return was, fmt.Errorf("%w: %w", ErrSnapshot, err)
	}
	return was, nil
}

// sameSetting says whether two settings ask the same of the supply.
func sameSetting(a, b Setting) bool {
	var x, y keep.Store
	x.Put("", &a, "At")
	y.Put("", &b, "At")
	return maps.Equal(x.Values, y.Values)
}

// kept names what a snapshot holds. What is left out of a struct is workspace, is the
// problem's, or follows from the rest.
func (r *run) kept(do func(name string, at any, skip ...string) error) error {
	list := []struct {
		name string
		at   any
		skip []string
	}{
		{"setting", &r.setting, nil},
		{"state", r.state, stateLeft},
		{"rates", &r.rate0, nil},
		{"control", &r.taken, controlLeft},
		{"thermostat", &r.thermostat, thermostatLeft},
		{"meter", &r.meter, meterLeft},
		{"sources", &r.sources, sourcesLeft},
		{"ledger", &r.ledger, nil},
		{"stats", &r.stats, nil},
		{"report", &r.report, reportLeft},
		{"cooling", &r.cooling, nil},
	}
	for _, e := range list {
		if err := do(e.name, e.at, e.skip...); err != nil {
			return err
		}
	}
	if k := r.charge; k != nil {
		if err := do("charge", k, chargeLeft...); err != nil {
			return err
		}
		if err := do("last", k.last); err != nil {
			return err
		}
		if err := do("before", k.before); err != nil {
			return err
		}
	}
	for i, t := range r.targets {
		if err := do("target"+strconv.Itoa(i+1), t, trackerLeft...); err != nil {
			return err
		}
	}
	return nil
}

// The fields that a snapshot leaves out, by struct.
var (
	stateLeft      = []string{"Re", "Im", "Joule", "SolvedAt"} // those of the last solution
	controlLeft    = []string{"tolerance", "fixed", "longest"}
	thermostatLeft = []string{"Thermostat", "followed", "from", "to", "next", "tries"}
	meterLeft      = []string{"Meter", "mean", "slope", "misplaced", "rates"}
	sourcesLeft    = []string{"constant", "varying", "now", "shown", "mean", "slope", "misplaced", "quarter"}
	reportLeft     = []string{"Before", "State", "Setting", "Ledger", "Targets", "Output", "Stats", "Need", "Switching", "Imposed", "Crossing", "Snapshot"}
	chargeLeft     = []string{"law", "system", "pcg", "feed", "own", "iterations", "new", "sigma", "rhs", "scale", "trial", "last", "before", "tried", "triedBend", "triedPowerBend"}
	trackerLeft    = []string{"wanted", "target", "ground", "cells", "volumes", "volume", "least"}
)

// snapshot returns the run as it is between two steps. It shares the run's arrays.
func (r *run) snapshot() *Snapshot {
	s := &Snapshot{}
	_ = r.kept(func(name string, at any, skip ...string) error {
		s.Put(name, at, skip...)
		return nil
	})
	s.Values["metered"] = strconv.FormatBool(r.meter.Meter != nil)
	return s
}

// restore puts the run where a snapshot was taken, under the setting was, and lets what
// is no more as it was there change.
func (r *run) restore(from *Snapshot, was Setting) error {
	metered := strconv.FormatBool(r.meter.Meter != nil)
	if from.Values["metered"] != metered {
		return fmt.Errorf("%w: a metered drive is taken up or left, which no run does on its way", ErrSnapshot)
	}
	r.ground.Start(r.state)
	rain := r.fillRain(from)
	if r.columns != nil { // they keep the ground as found
		r.assemble(r.state.W)
		r.columns.Start(r.state.Caps, &r.rate0.caps, r.ground.Ambient)
	}
	r.fillNew(from)
	if err := r.kept(from.Get); err != nil {
		return fmt.Errorf("%w: %w", ErrSnapshot, err)
	}
	copy(r.next.T, r.state.T)
	if r.sources.varying != nil {
		copy(r.sources.now, r.sources.start)
	}
	r.control = r.newControl()
	r.control.dt, r.control.last, r.control.refused, r.control.tried = r.taken.dt, r.taken.last, r.taken.refused, r.taken.tried
	if h := &r.thermostat; h.Thermostat != nil {
		h.followed = h.Follow(r.state)
	}
	r.use(was)
	if r.charge != nil {
		r.show(r.state)
	}
	r.beginPressure(r.state.Time)
	for _, t := range r.targets {
		t.keepWanted()
	}
	r.heat.SetAir(r.state.Time, 0)
	r.assemble(r.state.W)
	if rain != nil {
		rain()
	}
	if err := r.renew(); err != nil {
		return err
	}
	if from.Changed {
		r.rejoin()
	}
	if err := r.takeUp(was); err != nil {
		return err
	}
	return r.goOff()
}

// fillNew adds to a snapshot of bodies that were all as the supply what bodies with
// settings of their own have.
func (r *run) fillNew(from *Snapshot) {
	if r.charge == nil || r.charge.feed == nil || from.Arrays["last.potential"] != nil {
		return
	}
	bodies := r.charge.law.Bodies
	var phases, fed []float64
	current := from.Arrays["state.Current"]
	for b := range bodies {
		re, im := real(bodies[b].Phase), imag(bodies[b].Phase)
		phases = append(phases, re, im)
		p := 0.0
		if len(current) == 2*len(bodies) {
			p = re*current[2*b] + im*current[2*b+1]
		}
		fed = append(fed, p)
		from.Values["state.Bound["+strconv.Itoa(b)+"]"] = from.Values["state.Limit"]
	}
	from.Values["state.Bound.len"] = strconv.Itoa(len(bodies))
	for _, of := range []string{"last", "before"} {
		from.Arrays[of+".potential"], from.Arrays[of+".fed"] = phases, fed
	}
	from.Arrays["state.Potential"], from.Arrays["state.Fed"] = phases, fed
}

// renew lets what is kept from step to step for the sake of speed alone follow from the
// state: the conductances, the set-up that solves with them, responses to start from. A
// run does so at each output, so that one which goes on from there does as it would.
func (r *run) renew() error {
	k := r.charge
	if k == nil {
		return nil
	}
	r.warmEnds()
	if err := r.conduct(r.state); err != nil {
		return r.dated(err)
	}
	if k.own {
		k.pcg.Factor(k.system)
	}
	k.new = 0
	if k.feed != nil {
		for _, kept := range k.feed.kept {
			clear(kept)
		}
	}
	return nil
}

// rejoin moves the rates at the state to those of a problem that is not as it was: heat
// that flows in and out at the edges, power that is set.
func (r *run) rejoin() {
	if r.columns != nil {
		r.columns.Restate(r.state.Caps, &r.rate0.caps)
		_, r.rate0.surface, r.rate0.below = r.columns.Totals()
		r.rate0.rained, r.rate0.drained = r.columns.Rained(&r.rate0.caps)
	} else {
		r.predictPower(r.state)
		r.heat.NetTo(r.residual, r.state.T)
		before, after := r.eStar, r.mistake // both are set anew in the next step
		for c, v := range r.volume {
			before[c], after[c] = v*r.rate0.heat[c], r.residual[c]+r.power[c]
		}
		r.jump(&r.rate0, before, after)
		boiling := r.rate0.boiling
		r.rate0.flows = r.flowsAt(r.state)
		r.rate0.boiling = boiling
	}
	r.control.restart(r.watchedRate())
}

// takeUp puts the problem's own setting in force, and lets a thermostat that is another
// than before switch.
func (r *run) takeUp(was Setting) error {
	h, now := &r.thermostat, r.settingAt(r.state.Time)
	if h.Thermostat != nil && math.IsNaN(h.Reached) && h.followed >= h.Setpoint {
		h.Reached = r.state.Time
	}
	off := h.off
	switch {
	case h.Thermostat == nil:
		off = false
	case h.beyond(h.followed) >= 0:
		off = !off
		h.Switches++
	}
	if sameSetting(was, now) && off == h.off {
		r.setting = now
		return nil
	}
	if k := r.charge; k != nil && h.off && !off && k.feed == nil { // the ground has cooled since
		if err := r.solvePotential(r.state); err != nil {
			return r.dated(err)
		}
		k.take()
		r.show(r.state)
	}
	return r.switchBy(func() {
		h.off = off
		r.use(now)
	})
}
