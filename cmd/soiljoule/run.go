package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"

	"soiljoule/cases"
	"soiljoule/cmd/internal/figure"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// recording is what run and resume have in common.
type recording struct {
	word    string // the command's
	dir     string // where the results go
	force   bool
	figures bool
	json    bool
	quiet   bool
	sets    list
	next    string // the case to go on with, of resume; "": that of the folder
}

// recordingFlags reads the flags of a command that runs a case.
func recordingFlags(word string, args []string, what string, stderr io.Writer) (r *recording, of string, ok bool) {
	r = &recording{word: word}
	f := flags(word)
	f.Var(&r.sets, "set", "")
	if word == "resume" {
		f.StringVar(&r.next, "case", "", "")
	}
	dir := f.String("o", "", "")
	force := f.Bool("force", false, "")
	noFigures := f.Bool("no-figures", false, "")
	asJSON := f.Bool("json", false, "")
	quiet := f.Bool("q", false, "")
	words, ok := parse(word, f, args, 1, what, stderr)
	if !ok {
		return nil, "", false
	}
	r.dir, r.force, r.figures, r.json, r.quiet = *dir, *force, !*noFigures, *asJSON, *quiet
	return r, words[0], true
}

func runCase(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	r, file, ok := recordingFlags("run", args, "one case file", stderr)
	if !ok {
		return wrong
	}
	if r.dir == "" {
		r.dir = strings.TrimSuffix(filepath.Base(file), ".toml")
		if r.dir == "" {
			r.dir = "results" // of a file named .toml
		}
	}
	c, err := cases.Load(file, r.sets)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return wrong
	}
	return r.carryOut(ctx, c, nil, stdout, stderr)
}

// carryOut runs a case into its results folder, from the ground as found or from where an
// earlier run of it has come to.
func (r *recording) carryOut(ctx context.Context, c *cases.Case, from *record.Earlier, stdout, stderr io.Writer) int {
	c, _ = c.Expand()
	problem, err := c.Build()
	if err != nil {
		fmt.Fprintln(stderr, err)
		return wrong
	}
	// fail says that the run failed before its results stood in their place.
	fail := func(err error) int {
		fmt.Fprintf(stderr, "soiljoule %s: %v%s\n", r.word, err, remedy(err))
		return failed
	}
	plan, err := planOf(c)
	if err != nil {
		return fail(err)
	}
	plan.Dir, plan.Force, plan.Earlier = r.dir, r.force, from
	folder, err := record.Create(plan, problem)
	var refused record.Refused
	switch {
	case errors.As(err, &refused):
		fmt.Fprintf(stderr, "soiljoule %s: -o %v\n", r.word, refused)
		return wrong
	case errors.Is(err, record.ErrState):
		fmt.Fprintf(stderr, "soiljoule %s: %v\n", r.word, err)
		return wrong
	case err != nil:
		return fail(err)
	}
	bar := newProgress(stderr, c, r.quiet)
	told := &recorders{folder: folder, bar: bar}
	var report *solver.Report
	var runErr error
	if from == nil {
		report, runErr = solver.Run(ctx, problem, told)
	} else {
		bar.begin(from.Time)
		report, runErr = solver.Resume(ctx, problem, from.Snapshot, told)
	}
	bar.done()
	if errors.Is(runErr, solver.ErrSnapshot) {
		fmt.Fprintf(stderr, "soiljoule %s: %v\n", r.word, folder.Abandon(fmt.Errorf("%s %w: %w", from.Dir, record.ErrState, runErr)))
		return wrong
	}
	if report.State == nil { // it failed before the start was recorded
		return fail(folder.Abandon(r.placed(c, 0, runErr)))
	}
	if bad := bar.recordErr; bad != nil { // the disk is full, say: nothing to keep
		bad = fmt.Errorf("stopped on day %.4g, nothing is kept: %w", report.State.Time/86400, bad)
		return fail(folder.Abandon(bad))
	}

	cautions := append(c.Cautions(), resultCautions(c, report)...)
	cautions = append(cautions, coldCaution(folder.CurrentFirst())...)
	for _, near := range c.TooNear() {
		cautions = append(cautions, "The modelled ground may end too near. "+near+".")
	}
	text := ""
	summary, err := folder.Finish(report, runErr == nil, cautions, func(s *record.Summary) string {
		text = summaryText(c, s, report, runErr)
		return text
	})
	if err != nil {
		return fail(err)
	}
	if r.json {
		data, _ := json.MarshalIndent(summary, "", "  ") // a struct of numbers and strings
		fmt.Fprintf(stdout, "%s\n", data)
	} else {
		fmt.Fprint(stdout, text)
	}
	at, goesOn := report.State.Time, report.Snapshot != nil
	// The run's own fields are no longer wanted: what figures take need not come on top of them.
	report = nil
	return r.conclude(ctx, c, folder, at, goesOn, runErr, stderr)
}

// conclude draws the figures of a run whose results stand in their place, tells where that is
// and, of a run that ended early at a time [s], why and how to go on.
func (r *recording) conclude(ctx context.Context, c *cases.Case, folder *record.Folder, at float64, goesOn bool, runErr error, stderr io.Writer) int {
	stopped := errors.Is(runErr, context.Canceled)
	kept, in := folder.Kept(), cmp.Or(folder.Kept(), folder.Dir())
	onward := ""
	if goesOn {
		onward = "; soiljoule resume " + quoted(cmp.Or(kept, r.dir)) + " goes on"
	}
	drawn := done
	if r.figures && !stopped { // who stops a run does not wait for its figures
		debug.FreeOSMemory()
		drawn = draw(ctx, in, c, figure.Options{}, io.Discard, stderr)
	}
	where := r.dir
	if kept != "" {
		where = kept
		fmt.Fprintf(stderr, "soiljoule %s: %s holds a finished run, which an unfinished one does not replace\n", r.word, r.dir)
	}
	fmt.Fprintf(stderr, "results in %s\n", where)
	switch {
	case runErr == nil:
		return drawn
	case stopped:
		fmt.Fprintf(stderr, "soiljoule %s: interrupted at day %.4g; the last accepted step is in %s%s\n", r.word, at/86400, where, onward)
		return interrupted
	default:
		fmt.Fprintf(stderr, "soiljoule %s: %v%s\n", r.word, r.placed(c, at, fmt.Errorf("%s: %w", c.File, runErr)), onward)
		return failed
	}
}

// placed returns the error of a run at a time [s]; that of an electrode's own current limit,
// which could not be held, with the place where the limit stands.
func (r *recording) placed(c *cases.Case, at float64, err error) error {
	own := solver.Unheld(err)
	if own == "" {
		return err
	}
	return errors.New(ownPlace(c.File, r.sets)(own, at, strings.TrimPrefix(err.Error(), c.File+": ")))
}

// remedy says what to do about an error of the results folder, if that is known.
func remedy(err error) string {
	switch {
	case errors.Is(err, record.ErrKept):
		return "" // nothing is lost
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "; free some space, or name another place with -o, and run again"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return "; name a place that can be written with -o"
	case errors.Is(err, record.ErrPlace):
		return "; name another place with -o"
	case errors.Is(err, fs.ErrNotExist):
		return "; something removed it while the run went on: run again"
	}
	return ""
}

// airFile is what a folder calls the case's air temperatures.
const airFile = "air.csv"

// rainFile is what it calls the case's infiltration.
const rainFile = "infiltration.csv"

// tableFile and vacuumFile are what it calls the case's water table and vacuum.
const (
	tableFile  = "water-table.csv"
	vacuumFile = "vacuum.csv"
)

// planOf says what the folder of an expanded case records.
func planOf(c *cases.Case) (record.Plan, error) {
	beside := map[string][]byte{}
	copied := *c
	copied.Heats = slices.Clone(c.Heats)
	bring := func(file *string, text []byte, as string) {
		if *file != "" {
			beside[as], *file = text, as
		}
	}
	bring(&copied.Surface.Air.File, c.Surface.Air.Text, airFile)
	bring(&copied.Supply.Outages.File, c.Supply.Outages.Text, record.OutagesFile)
	bring(&copied.Supply.Metered.File, c.Supply.Metered.Text, record.MeteredFile)
	bring(&copied.Surface.Infiltration.File, c.Surface.Infiltration.Text, rainFile)
	bring(&copied.Site.Table.File, c.Site.Table.Text, tableFile)
	bring(&copied.Steam.VacuumCourse.File, c.Steam.VacuumCourse.Text, vacuumFile)
	for i := range copied.Heats {
		power := &copied.Heats[i].Power
		bring(&power.File, power.Text, record.HeatFile(i))
	}
	c = &copied
	var toml bytes.Buffer
	if err := c.WriteTOML(&toml); err != nil {
		return record.Plan{}, err
	}
	sum := sha256.Sum256(toml.Bytes())
	p := record.Plan{Case: toml.Bytes(), CaseHash: hex.EncodeToString(sum[:]), Version: version, PowerOn: c.Time.PowerOn, Beside: beside}
	for _, s := range c.Sensors {
		if c.View == cases.Plan {
			p.Sensors = append(p.Sensors, record.Sensor{Label: s.Labels[0], X: s.X, Z: s.Y})
		}
		for j, z := range s.Depths {
			p.Sensors = append(p.Sensors, record.Sensor{Label: s.Labels[j], X: s.X, Z: z})
		}
	}
	for _, t := range c.Targets {
		p.Targets = append(p.Targets, t.Name)
	}
	if set := c.SetPower(); set != nil { // a nil pointer is no nil interface
		p.SetPower = set
	}
	return p, nil
}

// recorders passes reports to the folder and then to the progress line.
type recorders struct {
	folder *record.Folder
	bar    *progress
}

func (b *recorders) Record(r *solver.Report) error {
	if err := b.folder.Record(r); err != nil {
		b.bar.recordErr = err
		return err
	}
	b.bar.show(r)
	return nil
}
