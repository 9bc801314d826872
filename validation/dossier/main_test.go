package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// stream makes lines of go test -json: action, test, key and value by turns.
func stream(events ...event) string {
	var b strings.Builder
	for _, e := range events {
		line, err := json.Marshal(e)
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(&b, "%s\n", line)
	}
	return b.String()
}

func attr(test, key, value string) event {
	return event{Action: "attr", Package: "p", Test: test, Key: key, Value: "." + value}
}

const (
	good   = `{"claim":"mean over |x|<3 m","source":"a book","got":1.001,"want":1,"unit":"K","tol":0.01}`
	zero   = `{"claim":"residual","source":"conservation","got":1e-12,"want":0,"unit":"","tol":1e-8}`
	past   = `{"claim":"wrong","source":"a book","got":2,"want":1,"unit":"K","tol":0.01}`
	aCurve = `{"name":"a-curve","title":"T","x":"t [d]","y":"T [K]","log":true,"curves":[{"label":"ours","x":[1,10,100],"y":[0,2,3]},{"label":"theirs","x":[1,10],"y":[1,-2],"points":true}]}`
	aTable = `{"title":"Two rows.","head":["a","b"],"rows":[["1","x|y"],["2","z"]]}`
)

// tests writes a folder of tests with one file and returns it.
func tests(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	src := `//dossier:chapter Heat

package v

import "testing"

// TestMean: the mean of J. Doe's slab is right.
//
//	mean = 1
//
// Source: Carslaw & Jaeger (1959), §2.11 (from memory). The tolerance is half a digit.
func TestMean(t *testing.T) {}

// TestClosed: the ledger closes. More words.
// Sources: conservation.
func TestClosed(t *testing.T) {}

// TestBare: it names none.
func TestBare(t *testing.T) {}
`
	if err := os.WriteFile(filepath.Join(dir, "heat_test.go"), []byte(src), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir
}

func whole() string {
	return stream(attr("TestMean", "check", good),
		event{Action: "attr", Test: "TestMean/sub", Key: "figure", Value: "+" + aCurve[:50]}, attr("TestMean", "check", zero),
		attr("TestMean/sub", "figure", aCurve[50:]), attr("TestMean", "table", aTable),
		event{Action: "pass", Test: "TestMean", Elapsed: 0.5}, attr("TestClosed", "check", zero), attr("TestClosed", "miss", `{"claim":"the slab's end","asked":"1 %","found":"3 %"}`),
		event{Action: "output", Test: "FuzzParse", Output: "fuzz: elapsed: 1m1s, execs: 1200 (20/sec), new interesting: 3 (total: 45)\n"},
		event{Action: "pass", Test: "TestClosed"})
}

// TestDossier: what the tests handed over stands in the dossier, and the next run
// agrees with it until a claim is gone or new.
func TestDossier(t *testing.T) {
	dir, from := t.TempDir(), tests(t)
	file := filepath.Join(dir, "dossier.md")
	stale := filepath.Join(dir, "figures", "stale.png")
	if err := os.MkdirAll(filepath.Dir(stale), 0o777); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "figures", "other.png")
	for name, text := range map[string]string{stale: "", other: "", file: "![old](figures/stale.png)"} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var out, errs bytes.Buffer
	if code := run([]string{"-o", file, "-tests", from}, strings.NewReader(whole()), &out, &errs); code != 0 {
		t.Fatalf("exit %d: %s", code, &errs)
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"**3 checks** in 2 tests; 1 tables, 1 figures. They name 2 things",
		"| the slab's end | 1 % | 3 % | [TestClosed](#testclosed) |",
		"| [The mean of J. Doe's slab is right](#testmean) | Carslaw & Jaeger (1959), §2.11 (from memory) | 2 | 0.1 % | 1 % | 0.1 | [1](figures/a-curve.png) |",
		`| mean over \|x\|&lt;3 m | 1.001 | 1 | K | 0.1 % | 1 % | 0.1 | a book |`,
		"| residual | 1e-12 | 0 |  | 1e-12 | 1e-08 | 0.0001 | conservation |",
		"```\nmean = 1\n```", "| FuzzParse | 61 | 1200 | 3 |", `| 1 | x\|y |`, "![T](figures/a-curve.png)",
	} {
		if !strings.Contains(string(b), want) {
			t.Errorf("the dossier lacks\n%s\nIt is:\n%s", want, b)
		}
	}
	if _, err := os.Stat(stale); err == nil {
		t.Error("a figure that no test draws is still there")
	}
	if _, err := os.Stat(other); err != nil {
		t.Errorf("a figure that no dossier had is gone: %v", err)
	}
	f, err := os.Open(filepath.Join(dir, "figures", "a-curve.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := png.Decode(f); err != nil {
		t.Error(err)
	}

	closed := stream(attr("TestClosed", "check", zero))
	for _, c := range []struct{ stream, want string }{
		{whole(), ""},
		{stream(attr("TestMean", "check", good), attr("TestMean", "check", zero)), "TestClosed is in the dossier and did not run"},
		{closed + stream(attr("TestMean", "check", good), attr("TestMean", "check", zero), attr("TestMean", "check", zero)), `TestMean: "residual" is not in the dossier`},
		{closed + stream(attr("TestMean", "check", zero)), `TestMean: "mean over \\|x\\|&lt;3 m" is in the dossier, and no test claims it`},
		{closed + stream(attr("TestMean", "check", strings.Replace(good, "1.001", "1.0015", 1)), attr("TestMean", "check", zero)), ""},
		{closed + stream(attr("TestMean", "check", strings.Replace(good, "1.001", "1.0025", 1)), attr("TestMean", "check", zero)), "the dossier has 1.001 against 1, the tests 1.0025 against 1"},
		{closed + stream(attr("TestNew", "check", good)), "TestNew"},
	} {
		errs.Reset()
		code := run([]string{"-against", file}, strings.NewReader(c.stream), &out, &errs)
		if (code == 0) != (c.want == "") || !strings.Contains(errs.String(), c.want) {
			t.Errorf("against the dossier: exit %d, %q; want %q", code, &errs, c.want)
		}
	}
}

// TestNothingProven: a run that failed, or claims nothing, writes nothing.
func TestNothingProven(t *testing.T) {
	for _, c := range []struct{ name, stream, want string }{
		{"empty", "", "no check came"},
		{"failed", stream(attr("TestMean", "check", good), event{Action: "fail", Test: "TestMean"}), "failed: TestMean"},
		{"not built", stream(event{Action: "build-fail", ImportPath: "p"}), "failed: p"},
		{"past", stream(attr("TestMean", "check", past)), "past its tolerance"},
		{"no source", stream(attr("TestBare", "check", good)), "names no source"},
		{"no doc", stream(attr("TestUnknown", "check", good)), "no file of the tests has it"},
		{"bad name", stream(attr("TestMean", "check", good), attr("TestMean", "figure", `{"name":"../x"}`)), "lower-case"},
		{"bad curve", stream(attr("TestMean", "check", good), attr("TestMean", "figure", `{"name":"x","curves":[{"label":"c","x":[1],"y":[]}]}`)), "1 x and 0 y"},
		{"cut", stream(attr("TestMean", "check", good), event{Action: "output", Test: "TestMean", Output: "=== ATTR  TestMean check ." + good + "\n"}, event{Action: "output", Test: "TestMean", Output: "=== ATTR  TestMean figure .{"}), "were cut on their way"},
		{"part", stream(attr("TestMean", "check", good), event{Action: "attr", Test: "TestMean", Key: "figure", Value: "+{"}), "never came"},
		{"no stream", "{", "not a stream"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			var out, errs bytes.Buffer
			code := run([]string{"-o", filepath.Join(dir, "dossier.md"), "-tests", tests(t)}, strings.NewReader(c.stream), &out, &errs)
			if code != 1 || !strings.Contains(errs.String(), c.want) {
				t.Errorf("exit %d, %q; want 1 and %q", code, &errs, c.want)
			}
			if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
				t.Errorf("it left %v (%v)", left, err)
			}
		})
	}
}

// TestSentence: a sentence ends at a stop, not at an initial.
func TestSentence(t *testing.T) {
	for in, want := range map[string]string{
		"One. Two.":               "One. Two", // too short a start to be one
		"The first of them. Two.": "The first of them",
		"Roache, J. Fluids Eng. 133(11), 2011. Half a digit.":    "Roache, J. Fluids Eng. 133(11), 2011",
		"closed form, sec. 11.2 of the second edition; A13. The": "closed form, sec. 11.2 of the second edition; A13",
	} {
		if got := sentence(in); got != want {
			t.Errorf("sentence(%q) = %q, want %q", in, got, want)
		}
	}
}
