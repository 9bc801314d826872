package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const output = `goos: linux
cpu: a processor
BenchmarkCycle/cells=10000/procs=1-2   	     727	    500000 ns/op	       395.1 bytes/cell	        50 ns/cell	       0 B/op
BenchmarkCycle/cells=10000/procs=1-2   	     727	    400000 ns/op	       395.1 bytes/cell	        40 ns/cell	       0 B/op
BenchmarkCycle/cells=1000000/procs=1-2 	       4	  90000000 ns/op	       643.2 bytes/cell	        90 ns/cell
BenchmarkRun/four-plates/cells=1e+04/procs=2 	       1	 250000000 ns/op	      9782 cells	        29.00 steps	         0.2500 s/run
PASS
ok  	soiljoule/solver/linear	15.930s
`

// The report has the quickest of the counts, seconds of what the benchmark is about, and
// the figure that it links.
func TestReport(t *testing.T) {
	out := filepath.Join(t.TempDir(), "cost.md")
	var stdout, stderr bytes.Buffer
	if code := run([]string{"-o", out, "-note", "Taken by night."}, strings.NewReader(output), &stdout, &stderr); code != 0 {
		t.Fatalf("exit %d: %s", code, stderr.String())
	}
	got, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"(a processor)", "\nTaken by night.\n",
		"\n## Cycle\n\n| what | cells | seconds | ns a cell | bytes a cell that it must move |\n|---|---|---|---|---|\n",
		"\n| procs=1 | 10000 | 0.0004 | 40 | 395 |\n| procs=1 | 1000000 | 0.09 | 90 | 643 |\n",
		"\n## Run\n\n| what | cells | seconds | steps |\n|---|---|---|---|\n| four-plates, procs=2 | 9782 | 0.25 | 29 |\n",
	} {
		if !strings.Contains(string(got), want) {
			t.Errorf("the report lacks %q:\n%s", want, got)
		}
	}
	picture, err := os.ReadFile(filepath.Join(filepath.Dir(out), "figures", "cost.png"))
	if err != nil || !bytes.HasPrefix(picture, []byte("\x89PNG")) {
		t.Errorf("the figure is %d bytes, %v, want a PNG", len(picture), err)
	}
	if stdout.String() != output {
		t.Error("the benchmarks' output is not passed on")
	}
}

// A stream without a benchmark, or with one that failed, or that the figure has no use
// for, writes nothing.
func TestNoReport(t *testing.T) {
	for name, in := range map[string]string{"none": "PASS\n", "failed": output + "FAIL\tsoiljoule/solver\n", "none drawn": "BenchmarkOther-2 \t 1 \t 5 ns/op\n"} {
		out := filepath.Join(t.TempDir(), "cost.md")
		var stderr bytes.Buffer
		if code := run([]string{"-o", out}, strings.NewReader(in), &bytes.Buffer{}, &stderr); code != 1 || stderr.Len() == 0 {
			t.Errorf("%s: exit %d with %q, want 1 and a reason", name, code, stderr.String())
		}
		if _, err := os.Stat(out); err == nil {
			t.Errorf("%s: a report was written", name)
		}
	}
}
