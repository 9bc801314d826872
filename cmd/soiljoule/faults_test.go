package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"soiljoule/cases"
)

// brokenWriter is a stdout that takes nothing.
type brokenWriter struct{ err error }

func (b brokenWriter) Write([]byte) (int, error) { return 0, b.err }

// TestStdoutThatFails: a result that could not be printed is a failure, and a run
// whose stdout fails still has its folder with its figures and says where.
func TestStdoutThatFails(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	args := append([]string{"run", "-q", "-o", out}, coarse(cell)...)
	for _, cause := range []error{syscall.ENOSPC, syscall.EPIPE} {
		drawn := cause == syscall.EPIPE // once is enough
		if drawn {
			args = slices.DeleteFunc(args, func(a string) bool { return a == "--no-figures" })
		}
		var stderr bytes.Buffer
		code := run(t.Context(), append(args, "--force"), brokenWriter{cause}, &stderr)
		want := "results in " + out + "\nsoiljoule run: stdout: " + cause.Error() + "\n"
		if code != failed || stderr.String() != want {
			t.Errorf("a run whose stdout gives %v ended with %d and said\n%swant 1 and\n%s", cause, code, stderr.String(), want)
		}
		if !runOf(t, out).Finished || slices.Contains(files(t, out), "figures/supply.png") != drawn {
			t.Errorf("a run whose stdout gives %v left %s, want it finished, with figures if they were asked for", cause, files(t, out))
		}
		// Of the other commands only stdout is the result; a reader that has enough needs no word.
		for _, words := range [][]string{{"keys"}, {"new", "section"}, {"version"}, {"check", cell}, {"check", cell, "--json"}, {"figures", out, "--only", "ledger"}} {
			stderr.Reset()
			code := run(t.Context(), words, brokenWriter{cause}, &stderr)
			want := "soiljoule " + words[0] + ": stdout: " + cause.Error() + "\n"
			if cause == syscall.EPIPE {
				want = ""
			}
			if code != failed || !strings.HasSuffix(stderr.String(), want) || strings.Count(stderr.String(), "\n") > 1 {
				t.Errorf("soiljoule %s with a stdout that gives %v ended with %d and said %q, want a failure and %q", strings.Join(words, " "), cause, code, stderr.String(), want)
			}
		}
	}
}

// TestInterruptedFigures: a run that is interrupted when it is over keeps its
// results, draws no further figure, and says how to draw them.
func TestInterruptedFigures(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	args := slices.DeleteFunc(append([]string{"run", "-o", out}, coarse(cell)...), func(a string) bool { return a == "--no-figures" })
	var stdout bytes.Buffer
	stderr := &stopAt{word: "100 %", cancel: cancel}
	code := run(ctx, args, &stdout, stderr)
	if code != interrupted || !strings.Contains(stderr.String(), "draw the rest with: soiljoule figures "+out+"\n") {
		t.Errorf("a run interrupted before its figures ended with %d and said\n%swant 130 and how to draw them", code, stderr.String())
	}
	if !runOf(t, out).Finished || slices.ContainsFunc(files(t, out), func(f string) bool { return strings.HasPrefix(f, "figures/") }) {
		t.Errorf("a run interrupted before its figures left %s, want it finished and without figures", files(t, out))
	}
	noStage(t, dir)
}

// TestInterruptedLeavesFinished: an interrupted run does not replace a finished
// one, not even with --force; its last accepted step is beside it.
func TestInterruptedLeavesFinished(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	runInto(t, out, cell)
	before := read(t, out, "run.json")
	o := interrupt(t, out, " %  day", "--force")
	if read(t, out, "run.json") != before {
		t.Errorf("an interrupted run with --force has replaced a finished one; it said\n%s", o.err)
	}
	lines := strings.Split(strings.TrimSuffix(o.err, "\n"), "\n")
	_, kept, _ := strings.Cut(lines[len(lines)-2], "results in ")
	if filepath.Dir(filepath.Dir(kept)) != dir || !strings.HasSuffix(lines[len(lines)-1], "the last accepted step is in "+kept+"; soiljoule resume "+kept+" goes on") ||
		!strings.Contains(o.err, out+" holds a finished run, which an unfinished one does not replace\n") {
		t.Fatalf("an interrupted run that replaces nothing said\n%swant why, and where it is", o.err)
	}
	runInto(t, out, cell, "--force") // which sweeps what was killed, and only that
	if r := runOf(t, kept); r.Finished || r.TimeD <= 0 {
		t.Errorf("the interrupted run's own run.json says day %g, finished %v", r.TimeD, r.Finished)
	}
}

// TestFiguresWithoutSpace: what keeps all figures from being written is one line.
func TestFiguresWithoutSpace(t *testing.T) {
	if testing.Short() {
		t.Skip("draws seven figures, one after the other")
	}
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	runInto(t, out, cell)
	if err := os.RemoveAll(filepath.Join(out, "figures")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"sensors", "profiles", "section", "share", "ledger", "supply", "surface"} {
		if err := os.MkdirAll(filepath.Join(out, "figures", name+".png.part"), 0o777); err != nil { // no file can have that name
			t.Fatal(err)
		}
		// The folder is not empty, or it would be taken for a file left behind.
		if err := os.Mkdir(filepath.Join(out, "figures", name+".png.part", "x"), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	o := must(t, failed, "figures", out)
	if strings.Count(o.err, "\n") != 1 || !strings.Contains(o.err, ", and so 6 more; mend that and draw them with: soiljoule figures "+out) {
		t.Errorf("seven figures that fail for one reason are told as %q, want one line", o.err)
	}
}

// TestAirIsAsItWasRead: a file of air temperatures that changes after it was read
// is recorded as it was read.
func TestAirIsAsItWasRead(t *testing.T) {
	dir := t.TempDir()
	const before, after = "time_d,air_C\n0,10\n90,20\n", "time_d,air_C\n0,-40\n"
	air := write(t, dir, "air of a year.csv", before)
	c, err := cases.Load(cell, []string{"surface.air=" + air})
	if err != nil {
		t.Fatal(err)
	}
	for _, change := range []func() error{
		func() error { return os.WriteFile(air, []byte(after), 0o666) },
		func() error { return os.Remove(air) },
	} {
		if err := change(); err != nil {
			t.Fatal(err)
		}
		p, err := planOf(c)
		if err != nil || string(p.Beside[airFile]) != before {
			t.Errorf("air temperatures changed after they were read are recorded as %q (%v), want %q", p.Beside[airFile], err, before)
		}
	}
}

// TestRemedies: each cause that a user can mend is told with what to do.
func TestRemedies(t *testing.T) {
	for cause, want := range map[error]string{
		syscall.ENOSPC: "free some space", syscall.EDQUOT: "free some space", syscall.EROFS: "can be written", syscall.EACCES: "can be written",
		syscall.ENOENT: "removed it while the run went on", errors.New("other"): "",
	} {
		if got := remedy(&os.PathError{Op: "write", Path: "a", Err: cause}); !strings.Contains(got, want) || (want == "") != (got == "") {
			t.Errorf("the remedy of %v is %q, want %q in it", cause, got, want)
		}
	}
}
