package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
)

// halves runs a case for some days without a break, with an output halfway, and the same in
// two, on one processor and then on two, and returns the two folders.
func halves(t *testing.T, file, half, whole string, sets ...string) (unbroken, resumed string) {
	t.Helper()
	dir := t.TempDir()
	unbroken, resumed = filepath.Join(dir, "unbroken"), filepath.Join(dir, "resumed")
	args := []string{"-q", "--no-figures", "-o"}
	for _, s := range sets {
		args = append([]string{"--set", s}, args...)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	first := filepath.Join(dir, "first")
	must(t, done, slices.Concat([]string{"run", file, "--set", "time.duration=" + whole, "--set", `output.fields_at=["` + half + `"]`}, args, []string{unbroken})...)
	// The case of the first half is the unbroken one's but for its end: the ground is as large.
	args = []string{"-q", "--no-figures", "-o"}
	must(t, done, slices.Concat([]string{"run", filepath.Join(unbroken, "case.toml"), "--set", "time.duration=" + half}, args, []string{first})...)
	before := contents(t, first)
	runtime.GOMAXPROCS(1)
	must(t, done, slices.Concat([]string{"resume", first, "--set", "time.duration=" + whole}, args, []string{resumed})...)
	if after := contents(t, first); after != before {
		t.Errorf("the folder that a run goes on from has changed")
	}
	noStage(t, dir)
	return unbroken, resumed
}

// contents is all that a folder holds.
func contents(t *testing.T, dir string) string {
	var b strings.Builder
	for _, name := range files(t, dir) {
		b.WriteString(name + "\x00" + read(t, dir, name) + "\x00")
	}
	return b.String()
}

// TestResumeIsTheUnbroken: the folder of a run that ended and went on is byte by byte that
// of one run, but for run.json, state included: a section, a cell that dries, a plan with
// ground above and below, a thermostat.
func TestResumeIsTheUnbroken(t *testing.T) {
	for _, c := range []struct {
		file, half, whole string
		sets              []string
	}{
		{yard, "0.5 d", "1 d", []string{"mesh.finest=24 in", "time.power_on=2026-05-01"}},
		{cell, "1 d", "2 d", []string{"mesh.finest=6 in", "supply.voltage=300 V", "layer.silt.inflow=none"}},
		{"../../cases/tank-circle.toml", "1 d", "2 d", []string{"mesh.finest=4 ft", "domain.duration=2 d"}},
		{"../../cases/warm-zone.toml", "10 d", "20 d", []string{"mesh.finest=4 ft"}},
	} {
		t.Run(filepath.Base(c.file), func(t *testing.T) {
			a, b := halves(t, c.file, c.half, c.whole, c.sets...)
			sameFolders(t, a, b)
			x, y := runOf(t, a), runOf(t, b)
			if x.Steps != y.Steps || x.Refused != y.Refused || !y.Finished || x.TimeD != y.TimeD {
				t.Errorf("run.json of the unbroken run is %+v, of the resumed %+v", x, y)
			}
		})
	}
}

// TestResumeOfInterrupted: a run that was interrupted says how to go on, and goes on from
// its last step to its end; the history holds each time once, in order; an interrupted
// resumption can itself be gone on with.
func TestResumeOfInterrupted(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	var stderr bytes.Buffer
	args := slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	if code := run(ctx, args, &bytes.Buffer{}, &cancels{buffer: &stderr, at: "day 1", cancel: cancel}); code != interrupted {
		t.Fatalf("the run ended with %d and said\n%s", code, stderr.String())
	}
	if want := "soiljoule resume " + out + " goes on\n"; !strings.HasSuffix(stderr.String(), want) {
		t.Errorf("an interrupted run said\n%s\nwant at its end: %s", stderr.String(), want)
	}
	stderr.Reset()
	ctx, cancel = context.WithCancel(t.Context())
	defer cancel()
	if code := run(ctx, []string{"resume", out, "--no-figures"}, &bytes.Buffer{}, &cancels{buffer: &stderr, at: "day 2", cancel: cancel}); code != interrupted {
		t.Fatalf("the resumed run ended with %d and said\n%s", code, stderr.String())
	}
	if strings.Contains(stderr.String(), "day 0") {
		t.Errorf("the progress of a run that goes on begins at its start:\n%s", stderr.String())
	}
	must(t, done, "resume", out+"-resumed", "--no-figures", "-q")
	last := out + "-resumed-resumed"
	r := runOf(t, last)
	if !r.Finished || r.TimeD != 3 {
		t.Errorf("the run that went on twice says day %g, finished %v", r.TimeD, r.Finished)
	}
	lines := strings.Split(strings.TrimSuffix(read(t, last, "history.csv"), "\n"), "\n")
	if len(lines) != r.Steps+2 {
		t.Errorf("history.csv has %d lines, want the head, the start and %d steps", len(lines), r.Steps)
	}
	if !strings.HasPrefix(read(t, last, "history.csv"), read(t, out, "history.csv")) {
		t.Error("history.csv does not begin with the rows of the run that was gone on from")
	}
	var index []struct{ File string }
	if err := json.Unmarshal([]byte(read(t, last, "fields", "index.json")), &index); err != nil {
		t.Fatal(err)
	}
	var named []string
	for _, e := range index {
		named = append(named, e.File)
	}
	there := files(t, filepath.Join(last, "fields"))
	slices.Sort(named)
	if want := slices.DeleteFunc(there, func(s string) bool { return s == "index.json" }); !slices.Equal(named, want) {
		t.Errorf("index.json names\n%s\nof\n%s", named, want)
	}
}

// cancels is a stderr that cancels when a word is written to it.
type cancels struct {
	buffer *bytes.Buffer
	at     string
	cancel func()
}

func (c *cancels) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte(c.at)) {
		c.cancel()
	}
	return c.buffer.Write(p)
}

// TestResumeUnderOtherSettings: what is set holds from the state's day on, and the tables
// of before stay to the letter.
func TestResumeUnderOtherSettings(t *testing.T) {
	dir := t.TempDir()
	out, on := filepath.Join(dir, "out"), filepath.Join(dir, "on")
	runInto(t, out, cell)
	must(t, done, "resume", out, "-o", on, "-q", "--no-figures", "--set", "time.duration=5 d", "--set", "supply.voltage=20 V", "--set", "surface.film=3 W/m2/K")
	before, after := read(t, out, "history.csv"), read(t, on, "history.csv")
	more, ok := strings.CutPrefix(after, before)
	if !ok || more == "" {
		t.Fatalf("the history of the resumed run does not go on that of the first:\n%s", firstDifference(before, after))
	}
	for _, row := range strings.Split(strings.TrimSuffix(more, "\n"), "\n") {
		if volts := strings.Split(row, ",")[2]; volts != "20" {
			t.Errorf("a step of the resumed run has %s V, want 20: %s", volts, row)
		}
	}
	if text := read(t, on, "case.toml"); !strings.Contains(text, "voltage = \"20 V\"") || !strings.Contains(text, "duration = \"5 d\"") {
		t.Errorf("case.toml of the resumed run does not hold its settings:\n%s", text)
	}
	// It has a finished run's rights.
	o := must(t, wrong, "resume", out, "-o", on, "--set", "time.duration=6 d")
	if !strings.Contains(o.err, "holds a finished run; --force replaces it") {
		t.Errorf("resuming into a finished run's folder said %s", o.err)
	}
	must(t, done, "resume", out, "-o", on, "-q", "--force", "--no-figures", "--set", "time.duration=4 d")
}

// TestResumeRefuses: whatever is wrong with folder or settings is said in one line each,
// with exit code 2, and nothing is made.
func TestResumeRefuses(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	runInto(t, out, cell)
	spoiled := func(name string, change func(path string)) string {
		path, err := os.MkdirTemp(dir, "spoiled")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.CopyFS(path, os.DirFS(out)); err != nil {
			t.Fatal(err)
		}
		change(filepath.Join(path, name))
		return path
	}
	gone := func(path string) {
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
	}
	put := func(text string) func(string) {
		return func(path string) {
			if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	later := []string{"--set", "time.duration=4 d"}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{out}, fmt.Sprintf("%s:%d: time.duration = 3 d: must be after day 3, to which the run has come", filepath.Join(out, "case.toml"), lineOf(t, filepath.Join(out, "case.toml"), "duration"))},
		{[]string{out, "--set", "time.duration=2 d"}, "--set time.duration=2 d: must be after day 3, to which the run has come"},
		{[]string{out, "--set", "time.duration=4 d", "--set", "mesh.finest=1 ft"}, "--set mesh.finest=1 ft: must stay as it is"},
		{append([]string{out, "-o", out}, later...), "is the folder that the run goes on from"},
		{append([]string{out, "-o", filepath.Join(out, "more", "on")}, later...), "is the folder that the run goes on from, or in it"},
		{append([]string{dir}, later...), "it is no results folder"},
		{append([]string{filepath.Join(dir, "none")}, later...), "it is no folder"},
		{append([]string{cell}, later...), "it is no folder"},
		{nil, "0 words given: wants one results folder"},
		{append([]string{spoiled("state", gone)}, later...), "it holds no state/"},
		{append([]string{spoiled("state/state.T.npy", gone)}, later...), "state/state.T.npy is missing"},
		{append([]string{spoiled("history.csv", gone)}, later...), "history.csv is missing"},
		{append([]string{spoiled("sensors.csv", put("time_d\n"))}, later...), "sensors.csv is not as the run left it"},
		{append([]string{spoiled("case.toml", func(path string) {
			put(strings.Replace(read(t, path), "porosity", "porosity ", 1))(path)
		})}, later...), "case.toml is not as the run left it"},
		{append([]string{spoiled("case.toml", func(path string) { put(read(t, path) + "\n")(path) })}, later...), "case.toml is not as the run left it; change a case that goes on by --set"},
		{append([]string{spoiled("state/state.json", put(`{"format": "soiljoule state", "version": 2}`))}, later...), "is of version 2, this program reads 1"},
		{append([]string{spoiled("state/state.json", put(`{"version": 1}`))}, later...), "is not a state of this program"},
		{append([]string{spoiled("state/state.json", func(path string) {
			put(strings.Replace(read(t, path), `"control.dt": "`, `"control.dt": "1`, 1))(path)
		})}, later...), "state/state.json is not as a run left it"},
	} {
		before := len(files(t, dir))
		o := call(t, append([]string{"resume"}, c.args...)...)
		if o.code != wrong || o.out != "" || strings.Count(o.err, "\n") != 1 || !strings.Contains(o.err, c.want) {
			t.Errorf("resume %s ended with %d and said\n%s\nwant 2 and a line with: %s", strings.Join(c.args, " "), o.code, o.err, c.want)
		}
		if after := len(files(t, dir)); after != before {
			t.Errorf("resume %s has made files", strings.Join(c.args, " "))
		}
	}
}

// TestResumeOfCutFiles: whatever file of a state is cut, wherever, or has a byte of it
// turned, resume says one line and ends with 2.
func TestResumeOfCutFiles(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	runInto(t, out, plates, "--set", "time.duration=1 d")
	names := append([]string{"case.toml", "history.csv", "fields/index.json"}, files(t, out)...)
	for i, name := range names {
		if !strings.HasPrefix(name, "state/") && i >= 3 {
			continue
		}
		path := filepath.Join(out, name)
		whole := []byte(read(t, path))
		for _, n := range []int{0, 1, 7, 12, 40, len(whole) / 2, len(whole) - 1, len(whole), len(whole) + 1} {
			data := slices.Clone(whole)
			switch {
			case n < len(whole):
				data = data[:n]
			case n == len(whole):
				data[n/3] ^= 1
			default:
				data = append(data, '\n')
			}
			if name == "state/state.json" && n > len(whole)-2 && n != len(whole) {
				continue // an end of line more or less changes nothing
			}
			if err := os.WriteFile(path, data, 0o666); err != nil {
				t.Fatal(err)
			}
			o := call(t, "resume", out, "-o", filepath.Join(dir, "on"), "--no-figures", "-q", "--set", "time.duration=2 d")
			if o.code != wrong || strings.Count(o.err, "\n") != 1 || !strings.Contains(o.err, "cannot be gone on from") {
				t.Errorf("with %d of %d bytes of %s resume ended with %d and said\n%s", n, len(whole), name, o.code, o.err)
			}
		}
		if err := os.WriteFile(path, whole, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	must(t, done, "resume", out, "-o", filepath.Join(dir, "on"), "--no-figures", "-q", "--set", "time.duration=2 d")
}

// TestResumeWithAnotherCase: a copy of the folder's case with rows added and files of its
// own goes on as it says, settings on top; what must stay is refused at its line, all at
// once, and nothing is made.
func TestResumeWithAnotherCase(t *testing.T) {
	dir := t.TempDir()
	out, on, aside := filepath.Join(dir, "out"), filepath.Join(dir, "on"), filepath.Join(dir, "aside")
	runInto(t, out, cell)
	if err := os.Mkdir(aside, 0o777); err != nil {
		t.Fatal(err)
	}
	held := read(t, out, "case.toml")
	write(t, aside, "warm.csv", "time_d,air_C\n0,5\n9,25\n")
	at := func(text, what string) int {
		return 1 + strings.Count(text[:strings.Index(text, what)], "\n")
	}
	swap := func(text, from, to string) string {
		if !strings.Contains(text, from) {
			t.Fatalf("there is no %q in\n%s", from, text)
		}
		return strings.Replace(text, from, to, 1)
	}
	text := swap(held, `duration = "3 d"`, `duration = "5 d"`)
	text = regexp.MustCompile(`(?m)^air = .*$`).ReplaceAllString(text, `air = "warm.csv"`)
	next := write(t, aside, "next.toml", text+"\n[[change]]\nat = \"4 d\"\nvoltage = \"20 V\"\n[[water_added]]\nelectrode = \"E1\"\nrate = \"1 L/min\"\nfrom = \"3 d\"\n")
	o := call(t, "resume", out, "--case", next, "-o", on, "-q", "--no-figures", "--set", "supply.off=4.5 d")
	if o.code != done {
		t.Fatalf("resume --case ended with %d and said\n%s\nthe case:\n%s", o.code, o.err, text)
	}
	rows, ok := strings.CutPrefix(read(t, on, "history.csv"), read(t, out, "history.csv"))
	if !ok {
		t.Error("the history does not go on that of before")
	}
	volts := map[string]bool{}
	for _, row := range strings.Split(strings.TrimSpace(rows), "\n") {
		volts[strings.Split(row, ",")[2]] = true
	}
	if !volts["20"] || !volts["0"] || len(volts) != 3 {
		t.Errorf("the steps that follow are at %v V, want those of before, 20 and 0", volts)
	}
	if r := runOf(t, on); !r.Finished || r.TimeD != 5 {
		t.Errorf("run.json says day %g, finished %v", r.TimeD, r.Finished)
	}
	if read(t, on, "air.csv") != read(t, aside, "warm.csv") {
		t.Error("the air of the run that goes on is not that beside its case")
	}
	// What came out is a folder like any other.
	must(t, done, "resume", on, "-q", "--no-figures", "--set", "time.duration=5.5 d")

	bad := swap(swap(held, "growth = 1.2", "growth = 1.1"), "porosity = ", "porosity = 0.1 # ")
	file := write(t, aside, "bad.toml", bad+"\n[[change]]\nat = \"2 d\"\non = false\n")
	before := len(files(t, dir))
	o = call(t, "resume", out, "--case", file, "-o", filepath.Join(dir, "no"))
	if lines := strings.Split(strings.TrimSuffix(o.err, "\n"), "\n"); o.code != wrong || o.out != "" || len(lines) != 4 ||
		!strings.HasPrefix(lines[0], fmt.Sprintf("%s:%d: layer.", file, at(bad, "porosity = 0.1"))) ||
		lines[2] != fmt.Sprintf("%s:%d: mesh.growth = 1.1: must stay 1.2 as in %s: the state depends on it; run the case from power-on", file, at(bad, "growth = 1.1"), filepath.Join(out, "case.toml")) ||
		!strings.HasSuffix(lines[3], "at = 2 d: must not be before day 3, to which the run has come: "+filepath.Join(out, "case.toml")+" has no such change") {
		t.Errorf("a case that may not go on ended with %d and said\n%s", o.code, o.err)
	}
	if after := len(files(t, dir)); after != before {
		t.Error("a case that may not go on has made files")
	}
	if o := call(t, "run", cell, "--case", next); o.code != wrong || !strings.Contains(o.err, "-case") {
		t.Errorf("run --case ended with %d and said %s", o.code, o.err)
	}
	if o := call(t, "resume", out, "--case", filepath.Join(dir, "none.toml")); o.code != wrong || !strings.Contains(o.err, "none.toml") || strings.Count(o.err, "\n") != 1 {
		t.Errorf("resume with a case that is not there ended with %d and said %s", o.code, o.err)
	}
}

// TestResumeIntoPowerOff: a run that goes on with power off on the day that it has come to
// leaves the bytes of the unbroken run, but for run.json and what shows this very moment,
// in the one before it switches and in the other after: its rows and fields of the supply,
// the largest values of a run, the sums of these files.
func TestResumeIntoPowerOff(t *testing.T) {
	dir := t.TempDir()
	whole, first, on := filepath.Join(dir, "whole"), filepath.Join(dir, "first"), filepath.Join(dir, "on")
	quiet := []string{"-q", "--no-figures", "-o"}
	base := []string{cell, "--set", "mesh.finest=6 in", "--set", `output.fields_at=["1 d"]`}
	must(t, done, slices.Concat([]string{"run"}, base, []string{"--set", "time.duration=2 d", "--set", "supply.off=1 d"}, quiet, []string{whole})...)
	must(t, done, slices.Concat([]string{"run", filepath.Join(whole, "case.toml"), "--set", "time.duration=1 d", "--set", "supply.off=50 d"}, quiet, []string{first})...)
	must(t, done, slices.Concat([]string{"resume", first, "--set", "time.duration=2 d", "--set", "supply.off=1 d"}, quiet, []string{on})...)
	moment := regexp.MustCompile(`(?m)^(1,| *"(power_max|current_max|surface_(potential|step)_max)).*\n`)
	for _, name := range files(t, whole) {
		switch name {
		case "run.json", "summary.txt", "state/state.json", "fields/potential_re_0001d.npy", "fields/power_density_0001d.npy":
			continue
		}
		a, b := moment.ReplaceAllString(read(t, whole, name), ""), moment.ReplaceAllString(read(t, on, name), "")
		if a != b {
			t.Errorf("%s differs from the unbroken run's:\n%s", name, firstDifference(a, b))
		}
	}
	if len(files(t, whole)) != len(files(t, on)) {
		t.Errorf("%d files, unbroken %d", len(files(t, on)), len(files(t, whole)))
	}
}

// lineOf returns the number of the first line of a file that begins with a key.
func lineOf(t *testing.T, path, key string) int {
	t.Helper()
	for i, line := range strings.Split(read(t, path), "\n") {
		if strings.HasPrefix(line, key) {
			return i + 1
		}
	}
	t.Fatalf("%s has no key %s", path, key)
	return 0
}
