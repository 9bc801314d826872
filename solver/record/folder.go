// Package record writes the results folder of a run: fields, histories, the
// ledger and the summary.
//
// A folder is whole or absent: everything is written into a stage beside it,
// which is renamed when the run ends, finished or interrupted.
package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"soiljoule/physics"
	"soiljoule/solver"
)

// Plan says what a folder records beside what the problem holds.
type Plan struct {
	Dir      string // the folder
	Force    bool   // replace a finished run's
	Case     []byte // case.toml, as understood
	CaseHash string
	Beside   map[string][]byte // files that case.toml refers to, by name
	Version  string
	PowerOn  time.Time // zero: no dates
	Sensors  []Sensor
	Targets  []string // names, in the problem's order
	SetPower SetPower // what is set in all, on the site; nil: nothing
	Earlier  *Earlier // the folder that the run goes on from; nil: it begins
}

// SetPower is a power [W] that is set against time [s].
type SetPower interface {
	At(t float64) float64
	Energy(from, to float64) float64 // [J]
	// Peak returns the largest between two times, both included, and when it is
	// first reached.
	Peak(from, to float64) (watts, at float64)
}

// Sensor is a place whose temperature is recorded, as physics.Reading tells it.
type Sensor struct {
	Label string
	X, Z  float64 // [m]
}

// Folder records a run. Its methods are not safe for concurrent use.
type Folder struct {
	plan    Plan
	problem *solver.Problem
	stage   *stage // where files are written until Finish
	started time.Time
	written map[string]int64 // bytes by file
	kept    string

	history, balance, electrodes, sensors, steam, water table
	surface                                             *surface // nil: no electrodes, or a plan
	index                                               []fieldEntry
	summary                                             Summary
	last                                                float64            // time of the last fields [s]
	told                                                float64            // time of the last row of history [s]
	buffer                                              []float64          // by cell, of the field being written
	readings                                            []*physics.Reading // by sensor of the plan
	pores                                               float64            // [kg] of water that fill those of the first target
}

// Create starts a folder for the problem's run. Its error is a Refused where the
// plan's folder may not be written.
func Create(plan Plan, p *solver.Problem) (*Folder, error) {
	dir, err := place(plan.Dir)
	if err != nil {
		return nil, Refused{err}
	}
	sweep(dir) // may bring back a finished run
	// Refused under the name that was given.
	if err := checkPlace(plan.Dir, plan.Force); err != nil {
		return nil, Refused{err}
	}
	plan.Dir = dir
	if err := os.MkdirAll(filepath.Dir(plan.Dir), 0o777); err != nil {
		return nil, noPlace(plan.Dir, err)
	}
	stage, err := newStage(plan.Dir)
	if err != nil {
		return nil, noPlace(plan.Dir, err)
	}
	f := &Folder{plan: plan, problem: p, stage: stage, started: time.Now(), last: -1, written: map[string]int64{},
		surface: newSurface(p), buffer: make([]float64, p.Ground.Grid.Cells()), pores: poreWater(p)}
	for _, s := range plan.Sensors {
		f.readings = append(f.readings, p.Ground.Reading(s.X, s.Z))
	}
	if err := f.open(); err != nil {
		return nil, f.Abandon(err)
	}
	if e := plan.Earlier; e != nil {
		if err := f.takeUp(e); err != nil {
			return nil, f.Abandon(err)
		}
	}
	if unmovable(plan.Dir, stage.results()) {
		return nil, f.Abandon(fmt.Errorf(whole, dir))
	}
	return f, nil
}

// andLeft returns one line for an error and, if there is one, what it left.
func andLeft(err, left error) error {
	if left == nil {
		return err
	}
	return fmt.Errorf("%w; and %w", err, left)
}

// open writes what is known before the first step: the case and its files, the mesh, the tables'
// heads.
func (f *Folder) open() error {
	for _, d := range []string{"fields", "mesh"} {
		if err := os.Mkdir(filepath.Join(f.stage.results(), d), 0o777); err != nil {
			return err
		}
	}
	if err := f.write("case.toml", f.plan.Case); err != nil {
		return err
	}
	for name, data := range f.plan.Beside {
		if err := f.write(filepath.Base(name), data); err != nil {
			return err
		}
	}
	if err := f.meshFiles(); err != nil {
		return err
	}
	for _, t := range f.tables() {
		t.powerOn = f.plan.PowerOn
	}
	cols := []string{"power_kW", "voltage_V", "current_max_A", "target_mean_C", "target_min_C", "share_at_target", "energy_in_kWh"}
	if limitsApparent(f.problem) {
		cols = append(cols, "apparent_kVA")
	}
	if f.plan.SetPower != nil {
		cols = append(cols, "set_power_kW", "set_power_max_kW")
	}
	cols = append(cols, "target_max_C")
	f.history.head(cols...)
	f.balance.head("energy_in_kWh", "water_in_kWh", "stored_target_kWh", "stored_outside_kWh", "steam_out_kWh",
		"loss_surface_kWh", "loss_below_kWh", "loss_sides_kWh", "carried_by_water_kWh", "latent_kWh", "residual_kWh")
	f.electrodes.head("electrode", "phase", "voltage_V", "current_A", "power_kW", "limited_by")
	f.steam.head(steamColumns...)
	f.water.head(waterColumns...)
	cols = nil
	for _, s := range f.plan.Sensors {
		cols = append(cols, s.Label+"_C")
	}
	f.sensors.head(cols...)
	return nil
}

// Record adds an accepted step.
func (f *Folder) Record(r *solver.Report) error {
	s := r.State
	l := &r.Ledger
	var mean, low, high, share float64
	if len(r.Targets) > 0 {
		mean, low, high, share = r.Targets[0].Mean-celsius, r.Targets[0].Min-celsius, r.Targets[0].Max-celsius, r.Targets[0].Share
	}
	v2 := s.Voltage * s.Voltage
	power, amps, most := s.Power*v2/1e3, 0.0, ""
	if e := f.problem.Electric; e != nil {
		amps, most = largest(s, e.Bodies)
		for b := range e.Bodies {
			body := &e.Bodies[b]
			i := rodCurrent(s, body, b)
			if body.Floating {
				i = picked(s, body, b)
			}
			v, p, by := fedAs(s, body, b)
			f.electrodes.row(s.Time, body.Name, body.Label, num(v), num(i), num(p*v2/body.Rods/1e3), string(by))
		}
	}
	cells := []string{num(power), num(supplied(r)), num(amps), num(mean), num(low), num(share), num(l.In / kWh)}
	kVA := 0.0
	if e := f.problem.Electric; e != nil {
		kVA = physics.ApparentPower(e.Bodies, s.Potential, s.Current) * v2 / 1e3
	}
	if limitsApparent(f.problem) {
		cells = append(cells, num(kVA))
	}
	if set := f.plan.SetPower; set != nil {
		// A step may pass over a pulse: its peak is told as well.
		peak, _ := set.Peak(f.told, s.Time)
		cells = append(cells, num(set.At(s.Time)/1e3), num(peak/1e3))
		f.told = s.Time
	}
	cells = append(cells, num(high))
	f.history.row(s.Time, cells...)
	f.balance.row(s.Time, num(l.In/kWh), num(l.WaterIn/kWh), num(l.StoredTarget/kWh), num(l.StoredOutside/kWh), num(l.SteamOut/kWh),
		num(l.LossSurface/kWh), num(l.LossBelow/kWh), num(l.LossSides/kWh), num(l.CarriedByWater/kWh), num(l.Latent/kWh), num(l.Residual/kWh))
	f.steam.row(s.Time, f.steamRow(r)...)
	f.water.row(s.Time, waterRow(r)...)
	cells = nil
	for _, r := range f.readings {
		cells = append(cells, num(r.Temperature(s.T)-celsius))
	}
	f.sensors.row(s.Time, cells...)
	f.summary.step(r, power, amps, most, kVA)
	if f.surface != nil {
		f.summary.follow(f.surface, s)
	}
	f.summary.stepBodies(r, f.problem.Electric)
	if e := f.problem.Electric; e != nil {
		f.summary.stepPhases(r, e)
	}
	if r.Output {
		return f.fields(r)
	}
	return nil
}

func abs(z complex128) float64 { return math.Hypot(real(z), imag(z)) }

// Finish completes the folder from the last report and puts it in its place;
// finished is false for a run that was interrupted or failed: such a one does
// not replace a finished run, and Kept tells where it is. text makes summary.txt
// from the summary.
func (f *Folder) Finish(r *solver.Report, finished bool, cautions []string, text func(*Summary) string) (*Summary, error) {
	if err := f.finish(r, finished, cautions, text); err != nil {
		return nil, f.Abandon(err)
	}
	if !finished && errors.Is(checkPlace(f.plan.Dir, false), ErrFinished) {
		f.stage.keep()
		f.kept = f.stage.results()
		return &f.summary, nil
	}
	if err := f.stage.settle(f.plan.Force); err != nil {
		return nil, err
	}
	return &f.summary, nil
}

// finish writes what is known only when the run has ended, run.json last.
func (f *Folder) finish(r *solver.Report, finished bool, cautions []string, text func(*Summary) string) error {
	if r.State != nil && r.State.Time > f.last {
		if err := f.fields(r); err != nil {
			return err
		}
	}
	if err := f.crossings(r); err != nil {
		return err
	}
	f.summary.end(f, r, cautions)
	for name, t := range f.tables() {
		if err := f.write(name, []byte(t.String())); err != nil {
			return err
		}
	}
	if err := f.writeJSON("fields/index.json", f.index); err != nil {
		return err
	}
	if err := f.writeJSON("summary.json", &f.summary); err != nil {
		return err
	}
	if err := f.write("summary.txt", []byte(text(&f.summary))); err != nil {
		return err
	}
	if r.Snapshot != nil {
		if err := f.writeState(r.Snapshot); err != nil {
			return err
		}
	}
	run := struct {
		Version     string  `json:"version"`
		CaseHash    string  `json:"case_hash"`
		Finished    bool    `json:"finished"`
		TimeD       float64 `json:"time_d"`
		WallSeconds float64 `json:"wall_seconds"`
		Cells       int     `json:"cells"`
		Refused     int     `json:"refused"`
		solver.Stats
	}{f.plan.Version, f.plan.CaseHash, finished, f.summary.timeD, time.Since(f.started).Seconds(), f.problem.Ground.Grid.Cells(), r.Stats.Refused(), r.Stats}
	if err := f.writeJSON("run.json", run); err != nil {
		return err
	}
	return f.verify()
}

// verify returns an error if a file is not as it was written: a run can be long,
// and what cleans up temporary files does not know of it.
func (f *Folder) verify() error {
	for _, name := range slices.Sorted(maps.Keys(f.written)) {
		path := filepath.Join(f.stage.results(), name)
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		if n := f.written[name]; info.Size() != n {
			return fmt.Errorf("%s has %d bytes, of %d that were written", path, info.Size(), n)
		}
	}
	return nil
}

// Abandon removes what was staged. It returns why, with what it could not remove.
func (f *Folder) Abandon(why error) error {
	left := f.stage.remove()
	if why == nil {
		return left
	}
	return andLeft(why, left)
}

// Kept returns where Finish left an unfinished run whose place a finished one
// holds; "": in its place.
func (f *Folder) Kept() string { return f.kept }

// CurrentFirst returns the largest current of one rod at power-on [A].
func (f *Folder) CurrentFirst() float64 { return f.summary.CurrentFirstA }

// Dir returns where the results are put, as an absolute path.
func (f *Folder) Dir() string { return f.plan.Dir }

func (f *Folder) write(name string, data []byte) error {
	f.written[name] = int64(len(data))
	return os.WriteFile(filepath.Join(f.stage.results(), name), data, 0o666)
}

// add appends data to a file, which need not be there yet.
func (f *Folder) add(name, data string) error {
	file, err := os.OpenFile(filepath.Join(f.stage.results(), name), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	if _, err := file.WriteString(data); err != nil {
		file.Close()
		return err
	}
	f.written[name] += int64(len(data))
	return file.Close()
}

func (f *Folder) writeJSON(name string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return f.write(name, append(data, '\n'))
}

var _ solver.Recorder = (*Folder)(nil)
