// Command cost turns the output of go test -bench, on stdin, into a report: a table a
// benchmark, and a figure of time against cells beside it. It exits 1 where a benchmark
// failed or none came, and writes nothing then.
package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("cost", flag.ContinueOnError)
	flags.SetOutput(stderr)
	out := flags.String("o", "validation/cost.md", "write the report to this `file`, its figure into figures/ beside it")
	note := flags.String("note", "", "a `sentence` on how the times were taken, for the report")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	if err := report(*out, *note, stdin, stdout); err != nil {
		fmt.Fprintln(stderr, "cost:", err)
		return 1
	}
	return 0
}

func report(out, note string, stdin io.Reader, stdout io.Writer) error {
	r, err := read(io.TeeReader(stdin, stdout))
	if err != nil {
		return err
	}
	picture, err := r.figure()
	if err != nil {
		return err
	}
	folder := filepath.Join(filepath.Dir(out), "figures")
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	return errors.Join(os.WriteFile(filepath.Join(folder, "cost.png"), picture, 0o666), os.WriteFile(out, r.markdown(note), 0o666))
}

// result is one benchmark's numbers by unit, of the quickest of its counts: what others
// do on a machine only adds to a time.
type result struct {
	name   string // without Benchmark and the processors that go test appends
	values map[string]float64
}

// results are in the order in which they came.
type results struct {
	machine string
	all     []*result
}

var line = regexp.MustCompile(`^Benchmark(\S+?)(?:-\d+)?\s+\d+\s+(.*)$`)

func read(in io.Reader) (*results, error) {
	r := &results{}
	byName := map[string]*result{}
	failed := false
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		s := lines.Text()
		if cpu, ok := strings.CutPrefix(s, "cpu: "); ok {
			r.machine = cpu
		}
		failed = failed || strings.HasPrefix(s, "FAIL") || strings.HasPrefix(s, "--- FAIL")
		m := line.FindStringSubmatch(s)
		if m == nil {
			continue
		}
		b := &result{m[1], map[string]float64{}}
		fields := strings.Fields(m[2])
		for i := 0; i+1 < len(fields); i += 2 {
			v, err := strconv.ParseFloat(fields[i], 64)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", m[1], err)
			}
			b.values[fields[i+1]] = v
		}
		switch had := byName[m[1]]; {
		case had == nil:
			byName[m[1]] = b
			r.all = append(r.all, b)
		case b.seconds() < had.seconds():
			had.values = b.values
		}
	}
	switch {
	case lines.Err() != nil:
		return nil, lines.Err()
	case failed:
		return nil, errors.New("a benchmark failed")
	case len(r.all) == 0:
		return nil, errors.New("no benchmark came")
	}
	return r, nil
}

// seconds is what the benchmark is about: a step or a run where it says so, else an
// operation.
func (b *result) seconds() float64 {
	for _, unit := range []string{"s/step", "s/run"} {
		if v, ok := b.values[unit]; ok {
			return v
		}
	}
	return 1e-9 * b.values["ns/op"]
}

var cellsOf = regexp.MustCompile(`cells=([0-9.e+]+)`)

// cells is the number that the benchmark reports, or else that of its name.
func (b *result) cells() float64 {
	if v, ok := b.values["cells"]; ok {
		return v
	}
	m := cellsOf.FindStringSubmatch(b.name)
	if m == nil {
		return 0
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0
	}
	return v
}

// told are the columns of a table after seconds, where a benchmark has them.
var told = []struct{ unit, head string }{
	{"ns/cell", "ns a cell"},
	{"bytes/cell", "bytes a cell that it must move"},
	{"triad-ns/cell", "ns a cell that the triad takes for them"},
	{"of-triad", "times the triad"},
	{"iterations", "iterations"},
	{"steps", "steps"},
	{"ns/cell/step", "ns a cell and step"},
}

func (r *results) markdown(note string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `# What a solve costs

Written by `+"`make cost`"+` from one run of the benchmarks; of several counts the quickest is given. Times are of this machine (%s) and of that hour: compare within the page. No test holds them.

Bytes a cell are what the sweeps of a loop must read and write, each number once a sweep, coarse grids too; the comment at each benchmark says what is counted. The triad, a = b + s·c over arrays of 64 MB in one thread, is what memory gives at its best, measured in the same run. Where a grid fits into cache a loop may be quicker than that. "procs" is how many processors Go may use.

![Time against cells](figures/cost.png)
`, r.machine)
	if note != "" {
		fmt.Fprintf(&b, "\n%s\n", note)
	}
	var groups []string
	of := map[string][]*result{}
	for _, v := range r.all {
		group, _, _ := strings.Cut(v.name, "/")
		if !slices.Contains(groups, group) {
			groups = append(groups, group)
		}
		of[group] = append(of[group], v)
	}
	for _, group := range groups {
		fmt.Fprintf(&b, "\n## %s\n\n| what | cells | seconds |", group)
		under := "\n|---|---|---|"
		var units []string
		for _, t := range told {
			if slices.ContainsFunc(of[group], func(v *result) bool { _, ok := v.values[t.unit]; return ok }) {
				units = append(units, t.unit)
				fmt.Fprintf(&b, " %s |", t.head)
				under += "---|"
			}
		}
		fmt.Fprintln(&b, under)
		for _, v := range of[group] {
			cells := ""
			if n := v.cells(); n > 0 {
				cells = fmt.Sprintf("%.0f", n)
			}
			fmt.Fprintf(&b, "| %s | %s | %s |", v.what(), cells, digits(v.seconds()))
			for _, unit := range units {
				s := ""
				if x, ok := v.values[unit]; ok {
					s = digits(x)
				}
				fmt.Fprintf(&b, " %s |", s)
			}
			fmt.Fprintln(&b)
		}
	}
	return b.Bytes()
}

// digits prints three digits, and all before the point.
func digits(v float64) string {
	if math.Abs(v) >= 100 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3g", v)
}

// what is a name without the benchmark and the cells.
func (b *result) what() string {
	_, rest, _ := strings.Cut(b.name, "/")
	var parts []string
	for _, s := range strings.Split(rest, "/") {
		if s != "" && !strings.HasPrefix(s, "cells=") {
			parts = append(parts, strings.ReplaceAll(s, "_", " "))
		}
	}
	return strings.Join(parts, ", ")
}
