// Package record writes the results folder of a run: fields, histories, the
// ledger and the summary.
//
// A folder is whole or absent: everything is written beside it under a temporary
// name, which is renamed when the run ends, finished or interrupted.
package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"soiljoule/materials"
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
}

// Sensor is a place whose temperature is recorded.
type Sensor struct {
	Label string
	X, Z  float64 // [m]
}

// ErrFinished is wrapped by Create's error when the folder holds a finished run.
var ErrFinished = errors.New("holds a finished run")

// ErrForeign is wrapped by Create's error when the folder is not a results
// folder and not empty.
var ErrForeign = errors.New("is not empty and not a results folder")

// Folder records a run. Its methods are not safe for concurrent use.
type Folder struct {
	plan    Plan
	problem *solver.Problem
	stage   string   // where files are written until Finish
	lock    *os.File // says that the stage is in use
	started time.Time

	history, balance, electrodes, sensors, steam table
	index                                        []fieldEntry
	summary                                      Summary
	last                                         float64 // time of the last fields [s]
	saturation                                   []float64
}

// entries is what a results folder holds; anything else in one is the user's.
var entries = []string{"case.toml", "summary.json", "summary.txt", "history.csv", "balance.csv", "electrodes.csv",
	"sensors.csv", "steam.csv", "air.csv", "fields", "mesh", "run.json", "figures"}

// Check says whether a run may write to dir: nil, or an error that wraps
// ErrFinished or ErrForeign or names what stands in the way.
func Check(dir string, force bool) error {
	if _, err := place(dir); err != nil {
		return err
	}
	list, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case len(list) == 0:
		return nil
	}
	data, err := os.ReadFile(filepath.Join(dir, "run.json"))
	if err != nil {
		return fmt.Errorf("%s %w", dir, ErrForeign)
	}
	var run struct{ Finished bool }
	if json.Unmarshal(data, &run) == nil && run.Finished && !force {
		return fmt.Errorf("%s %w; --force replaces it", dir, ErrFinished)
	}
	return nil
}

// Create starts a folder for the problem's run.
func Create(plan Plan, p *solver.Problem) (*Folder, error) {
	dir, err := place(plan.Dir)
	if err != nil {
		return nil, err
	}
	plan.Dir = dir
	if err := Check(plan.Dir, plan.Force); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(plan.Dir), 0o777); err != nil {
		return nil, err
	}
	sweep(plan.Dir)
	stage, err := os.MkdirTemp(filepath.Dir(plan.Dir), filepath.Base(plan.Dir)+stageInfix+"*")
	if err != nil {
		return nil, err
	}
	f := &Folder{plan: plan, problem: p, stage: stage, started: time.Now(), last: -1,
		saturation: make([]float64, p.Ground.Grid.Cells())}
	if f.lock, err = hold(stage); err == nil {
		err = os.Chmod(stage, 0o755) // a temporary folder is private, a results folder is not
	}
	if err == nil {
		err = f.open()
	}
	if err != nil {
		f.Abandon()
		return nil, err
	}
	return f, nil
}

// place returns dir as the absolute path that results are renamed to, links
// resolved, or an error where nothing can be renamed to it.
func place(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		abs = real
	}
	here, err := os.Getwd()
	if err == nil {
		if real, err := filepath.EvalSymlinks(here); err == nil {
			here = real
		}
	}
	if dir == "" || abs == here || filepath.Dir(abs) == abs {
		return "", fmt.Errorf("%q cannot be replaced as a whole; name a folder below it", dir)
	}
	return abs, nil
}

const (
	stageInfix = ".part-"
	lockName   = ".lock"
)

// sweep removes what killed runs left beside dir.
func sweep(dir string) {
	left, _ := filepath.Glob(globQuote(dir) + stageInfix + "*") // the pattern is well formed
	for _, path := range left {
		if abandoned(path) {
			os.RemoveAll(path)
		}
	}
}

func globQuote(s string) string {
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(s)
}

func (f *Folder) open() error {
	for _, d := range []string{"fields", "mesh"} {
		if err := os.Mkdir(filepath.Join(f.stage, d), 0o777); err != nil {
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
	dated := !f.plan.PowerOn.IsZero()
	date := func(cols ...string) []string {
		if dated {
			return slices.Insert(cols, 1, "date")
		}
		return cols
	}
	f.history.head(date("time_d", "power_kW", "voltage_V", "current_max_A", "target_mean_C", "target_min_C", "share_at_target", "energy_in_kWh")...)
	f.balance.head("time_d", "energy_in_kWh", "water_in_kWh", "stored_target_kWh", "stored_outside_kWh", "steam_out_kWh",
		"loss_surface_kWh", "loss_below_kWh", "loss_sides_kWh", "carried_by_water_kWh", "latent_kWh", "residual_kWh")
	f.electrodes.head("time_d", "electrode", "phase", "voltage_V", "current_A", "power_kW", "limited_by")
	f.steam.head("time_d", "steam_kg_per_h", "condensate_gpm", "steam_kg")
	cols := []string{"time_d"}
	for _, s := range f.plan.Sensors {
		cols = append(cols, s.Label+"_C")
	}
	f.sensors.head(cols...)
	return nil
}

const (
	day     = 86400.0
	kWh     = 3.6e6
	celsius = materials.Celsius
	// kilograms an hour of condensate in a US gallon a minute: 0.2271247 m³/h
	// (NIST SP 811, 231 in³) of water at the model's density
	kgPerHourInGPM = 0.2271247070400 * materials.RhoWater
)

// Record adds an accepted step.
func (f *Folder) Record(r *solver.Report) error {
	s := r.State
	t := s.Time / day
	l := &r.Ledger
	var mean, low, share float64
	if len(r.Targets) > 0 {
		mean, low, share = r.Targets[0].Mean-celsius, r.Targets[0].Min-celsius, r.Targets[0].Share
	}
	v2 := s.Voltage * s.Voltage
	power, amps := s.Power*v2/1e3, 0.0
	if e := f.problem.Electric; e != nil {
		for b := range e.Bodies {
			body := &e.Bodies[b]
			i := abs(s.Current[b]) * s.Voltage / body.Rods
			p := real(body.Phase)*real(s.Current[b]) + imag(body.Phase)*imag(s.Current[b])
			amps = math.Max(amps, i)
			v := s.Voltage
			if body.Phase == 0 {
				v = 0
			}
			f.electrodes.row(num(t), body.Name, body.Label, num(v), num(i), num(p*v2/body.Rods/1e3), string(s.Limit))
		}
	}
	for _, q := range r.Imposed {
		power += q / 1e3
	}
	cells := []string{num(t)}
	if !f.plan.PowerOn.IsZero() {
		cells = append(cells, f.plan.PowerOn.Add(time.Duration(s.Time*float64(time.Second)).Round(time.Second)).Format("2006-01-02T15:04:05"))
	}
	f.history.row(append(cells, num(power), num(s.Voltage), num(amps), num(mean), num(low), num(share), num(l.In/kWh))...)
	f.balance.row(num(t), num(l.In/kWh), num(l.WaterIn/kWh), num(l.StoredTarget/kWh), num(l.StoredOutside/kWh), num(l.SteamOut/kWh),
		num(l.LossSurface/kWh), num(l.LossBelow/kWh), num(l.LossSides/kWh), num(l.CarriedByWater/kWh), num(l.Latent/kWh), num(l.Residual/kWh))
	rate := r.SteamRate * 3600
	f.steam.row(num(t), num(rate), num(rate/kgPerHourInGPM), num(l.Steam))
	cells = []string{num(t)}
	for _, at := range f.plan.Sensors {
		cells = append(cells, num(f.problem.Ground.Grid.At(s.T, at.X, at.Z)-celsius))
	}
	f.sensors.row(cells...)
	f.summary.step(r, power, amps, rate)
	if r.Output {
		return f.fields(r)
	}
	return nil
}

func abs(z complex128) float64 { return math.Hypot(real(z), imag(z)) }

// Finish completes the folder from the last report and puts it in its place;
// finished is false for a run that was interrupted or failed. write makes
// summary.txt from the summary.
func (f *Folder) Finish(r *solver.Report, finished bool, cautions []string, text func(*Summary) string) (*Summary, error) {
	if err := f.finish(r, finished, cautions, text); err != nil {
		f.Abandon()
		return nil, err
	}
	if err := f.settle(); err != nil {
		return nil, fmt.Errorf("%w; the results are whole in %s", err, f.stage)
	}
	return &f.summary, nil
}

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
	for name, t := range map[string]*table{"history.csv": &f.history, "balance.csv": &f.balance,
		"electrodes.csv": &f.electrodes, "sensors.csv": &f.sensors, "steam.csv": &f.steam} {
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
	return f.writeJSON("run.json", run)
}

// settle puts the staged folder where the plan wants it. What the user added to
// an earlier folder of that name stays in it.
func (f *Folder) settle() error {
	dir := f.plan.Dir
	f.lock.Close()
	if err := os.Remove(filepath.Join(f.stage, lockName)); err != nil {
		return err
	}
	if err := Check(dir, f.plan.Force); err != nil {
		return err
	}
	list, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return os.Rename(f.stage, dir)
	}
	if err != nil {
		return err
	}
	old := f.stage + "-old"
	if err := os.Rename(dir, old); err != nil {
		return err
	}
	if err := os.Rename(f.stage, dir); err != nil {
		return errors.Join(err, os.Rename(old, dir))
	}
	for _, e := range list {
		if !slices.Contains(entries, e.Name()) {
			to := filepath.Join(dir, e.Name())
			if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
				if err := os.Rename(filepath.Join(old, e.Name()), to); err != nil {
					return err
				}
			}
		}
	}
	return os.RemoveAll(old)
}

// Abandon removes what was staged.
func (f *Folder) Abandon() {
	if f.lock != nil {
		f.lock.Close()
	}
	os.RemoveAll(f.stage)
}

// Dir returns where the results are put, as an absolute path.
func (f *Folder) Dir() string { return f.plan.Dir }

func (f *Folder) write(name string, data []byte) error {
	return os.WriteFile(filepath.Join(f.stage, name), data, 0o666)
}

func (f *Folder) writeJSON(name string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return f.write(name, append(data, '\n'))
}

// table is a CSV being filled.
type table struct{ strings.Builder }

func (t *table) head(cols ...string) { t.row(cols...) }

func (t *table) row(cells ...string) {
	for i, c := range cells {
		if i > 0 {
			t.WriteByte(',')
		}
		if strings.ContainsAny(c, ",\"\n\r") {
			c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
		}
		t.WriteString(c)
	}
	t.WriteByte('\n')
}

// num prints a number with twelve digits: past any use, short of rounding noise.
func num(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }

var _ solver.Recorder = (*Folder)(nil)
