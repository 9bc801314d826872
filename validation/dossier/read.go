package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// event is one line of `go test -json` (go doc test2json).
type event struct {
	Action, Package, Test, Output, Key, Value, ImportPath string
	Elapsed                                               float64
}

// check is a number held against a source, as hold in ../check_test.go hands it.
type check struct {
	Claim, Source, Unit string
	Got, Want, Tol      float64
}

// share is the part of the tolerance that the error takes up [-].
func (c check) share() float64 {
	d := math.Abs(c.Got - c.Want)
	if d == 0 {
		return 0
	}
	return d / c.Tol
}

// relative returns error and tolerance with their unit: shares of the value wanted
// where that is not zero.
func (c check) relative() (err, tol float64, unit string) {
	if c.Want == 0 {
		return c.Got, c.Tol, c.Unit
	}
	s := 100 / math.Abs(c.Want)
	return (c.Got - c.Want) * s, c.Tol * s, "%"
}

type curve struct {
	Label  string
	X, Y   []float64
	Points bool
}

type figure struct {
	Name, Title, X, Y string
	Log               bool
	Curves            []curve
}

type table struct {
	Title string
	Head  []string
	Rows  [][]string
}

// miss is a bar that the program does not meet.
type miss struct{ Claim, Asked, Found string }

// test is what one test claimed. Subtests count as their parent's.
type test struct {
	name    string
	elapsed float64 // [s]
	skipped string  // why, if so
	partly  bool    // a part of it was skipped
	checks  []check
	figures []figure
	tables  []table
	misses  []miss
	output  []string          // kept to be shown if the test fails
	parts   map[string]string // of attributes not yet whole, by subtest and key
	unheard int               // lines of attributes that came as output and not as attributes
}

// fuzzing is the last report of one fuzz target.
type fuzzing struct {
	seconds           float64
	executions, found int
}

// report is a whole run.
type report struct {
	tests  map[string]*test
	failed []string // names of tests and packages
	fuzz   map[string]fuzzing
}

// Such a line closes the stream of a fuzz target, and names the target before.
var fuzzLine = regexp.MustCompile(`^fuzz: elapsed: ([0-9hms.]+), execs: (\d+) .*new interesting: (\d+)`)

// read collects a stream and prints a row a check, and what a failed test said.
func read(in io.Reader, stdout io.Writer) (*report, error) {
	r := &report{tests: map[string]*test{}, fuzz: map[string]fuzzing{}}
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 64<<20) // a figure is one line
	packages := map[string][]string{}
	for lines.Scan() {
		if !strings.HasPrefix(lines.Text(), "{") { // go itself, before any test
			fmt.Fprintln(stdout, lines.Text())
			continue
		}
		var e event
		if err := json.Unmarshal(lines.Bytes(), &e); err != nil {
			return nil, fmt.Errorf("not a stream of go test -json: %w", err)
		}
		if e.Action == "build-output" {
			fmt.Fprint(stdout, e.Output)
		}
		if e.Action == "build-fail" {
			r.failed = append(r.failed, e.ImportPath)
		}
		if e.Test == "" {
			packages[e.Package] = append(packages[e.Package], e.Output)
			if e.Action == "fail" {
				r.failed = append(r.failed, e.Package)
				fmt.Fprint(stdout, strings.Join(packages[e.Package], ""))
			}
			continue
		}
		if err := r.take(e, stdout); err != nil {
			return nil, fmt.Errorf("%s: %w", e.Test, err)
		}
	}
	return r, lines.Err()
}

func (r *report) take(e event, stdout io.Writer) error {
	name, _, sub := strings.Cut(e.Test, "/")
	t := r.tests[name]
	if t == nil {
		t = &test{name: name, parts: map[string]string{}}
		r.tests[name] = t
	}
	switch e.Action {
	case "attr":
		t.unheard--
		// An attribute comes in parts, "+" before each but the last, "." before that.
		id := e.Test + " " + e.Key
		if e.Value == "" {
			return fmt.Errorf("an empty part of a %s", e.Key)
		}
		value := t.parts[id] + e.Value[1:]
		if e.Value[0] == '+' {
			t.parts[id] = value
			return nil
		}
		delete(t.parts, id)
		switch e.Key {
		case "check":
			var c check
			if err := json.Unmarshal([]byte(value), &c); err != nil {
				return err
			}
			t.checks = append(t.checks, c)
			d, tol, unit := c.relative()
			fmt.Fprintf(stdout, "CHECK | %s | %s | %s | got %.7g | want %.7g %s | error %.3g %s | tolerance %.3g %s\n",
				name, c.Claim, c.Source, c.Got, c.Want, c.Unit, d, unit, tol, unit)
		case "figure":
			var f figure
			if err := json.Unmarshal([]byte(value), &f); err != nil {
				return err
			}
			t.figures = append(t.figures, f)
		case "table":
			var b table
			if err := json.Unmarshal([]byte(value), &b); err != nil {
				return err
			}
			t.tables = append(t.tables, b)
		case "miss":
			var m miss
			if err := json.Unmarshal([]byte(value), &m); err != nil {
				return err
			}
			t.misses = append(t.misses, m)
			fmt.Fprintf(stdout, "MISSED | %s | %s | asked: %s | found: %s\n", name, m.Claim, m.Asked, m.Found)
		}
	case "output":
		if strings.HasPrefix(e.Output, "=== ATTR") {
			t.unheard++
		}
		t.output = append(t.output, e.Output)
		if m := fuzzLine.FindStringSubmatch(e.Output); m != nil {
			execs, _ := strconv.Atoi(m[2]) // digits, by the expression
			found, _ := strconv.Atoi(m[3])
			r.fuzz[name] = fuzzing{seconds(m[1]), execs, found}
		}
	case "fail":
		r.failed = append(r.failed, e.Test)
		if !sub {
			fmt.Fprint(stdout, strings.Join(t.output, ""))
		}
	case "skip":
		if sub {
			t.partly = true
		} else {
			t.skipped = skipReason(t.output)
		}
	}
	if !sub && e.Elapsed > 0 {
		t.elapsed = e.Elapsed
	}
	return nil
}

// skipReason is what the test said last before it was skipped.
func skipReason(output []string) string {
	for i := len(output) - 1; i >= 0; i-- {
		s := strings.TrimSpace(output[i])
		if s != "" && !strings.HasPrefix(s, "---") && !strings.HasPrefix(s, "===") {
			if _, said, ok := strings.Cut(s, ".go:"); ok {
				_, s, _ = strings.Cut(said, ": ")
			}
			return s
		}
	}
	return "it gave no reason"
}

// seconds reads the duration that the fuzzer prints, such as 1m0s.
func seconds(s string) float64 {
	var total, part float64
	for rest := s; rest != ""; {
		i := strings.IndexAny(rest, "hms")
		if i < 0 {
			break
		}
		part, _ = strconv.ParseFloat(rest[:i], 64)
		total += part * map[byte]float64{'h': 3600, 'm': 60, 's': 1}[rest[i]]
		rest = rest[i+1:]
	}
	return total
}

// err says why the run proves nothing, or is nil.
func (r *report) err() error {
	if len(r.failed) > 0 {
		return fmt.Errorf("failed: %s", strings.Join(r.failed, ", "))
	}
	var past []error
	for _, t := range r.sorted() {
		if t.unheard > 0 {
			past = append(past, fmt.Errorf("%s: %d of its attributes were cut on their way", t.name, t.unheard))
		}
		for id := range t.parts {
			past = append(past, fmt.Errorf("%s: the last part never came", id))
		}
		for _, c := range t.checks {
			if !(math.Abs(c.Got-c.Want) <= c.Tol) {
				past = append(past, fmt.Errorf("%s: %s is past its tolerance, and the test passed", t.name, c.Claim))
			}
		}
	}
	if r.counts().checks == 0 {
		past = append(past, errors.New("no check came: is SOILJOULE_DOSSIER=1 set, and -json?"))
	}
	return errors.Join(past...)
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func (r *report) sorted() []*test {
	var all []*test
	for _, name := range sortedKeys(r.tests) {
		all = append(all, r.tests[name])
	}
	return all
}

type counts struct{ checks, tests, sources, figures, tables, misses int }

func (r *report) counts() counts {
	var n counts
	sources := map[string]bool{}
	for _, t := range r.tests {
		if len(t.checks) > 0 {
			n.tests++
		}
		n.checks += len(t.checks)
		n.figures += len(t.figures)
		n.tables += len(t.tables)
		n.misses += len(t.misses)
		for _, c := range t.checks {
			sources[c.Source] = true
		}
	}
	n.sources = len(sources)
	return n
}
