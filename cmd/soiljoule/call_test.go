package main

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// outcome is what one command line did.
type outcome struct {
	code     int
	out, err string
}

// call runs one command line.
func call(t *testing.T, args ...string) outcome {
	t.Helper()
	var out, err bytes.Buffer
	code := run(t.Context(), args, &out, &err)
	return outcome{code, out.String(), err.String()}
}

// must fails the test unless the command line ended with exit code want.
func must(t *testing.T, want int, args ...string) outcome {
	t.Helper()
	o := call(t, args...)
	if o.code != want {
		t.Fatalf("soiljoule %s ended with %d, want %d; it said:\n%s", strings.Join(args, " "), o.code, want, o.err)
	}
	return o
}

// coarse is what makes a demo case a run of a fraction of a second.
func coarse(file string) []string {
	finest := map[string]string{"paved-yard": "12 in", "electrode-cell": "6 in", "four-plates": "25 cm",
		"tank-circle": "2 ft", "tank-circle-depth": "12 in", "bedrock-bench": "12 in", "warm-zone": "12 in"}
	name := strings.TrimSuffix(filepath.Base(file), ".toml")
	return []string{file, "--set", "mesh.finest=" + finest[name], "--set", "time.duration=3 d", "--set", "output.fields_at=[]", "--no-figures"}
}

const (
	yard   = "../../cases/paved-yard.toml"
	cell   = "../../cases/electrode-cell.toml"
	plates = "../../cases/four-plates.toml"
)

// runInto runs a case coarsely into dir and wants it to succeed.
func runInto(t *testing.T, dir, file string, more ...string) outcome {
	t.Helper()
	return must(t, done, slices.Concat([]string{"run"}, coarse(file), []string{"-o", dir}, more)...)
}

// write puts text into a new file of the test's own folder.
func write(t *testing.T, dir, name, text string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func read(t *testing.T, elem ...string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(elem...))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// runJSON is what the tests read of run.json.
type runJSON struct {
	Finished    bool    `json:"finished"`
	TimeD       float64 `json:"time_d"`
	WallSeconds float64 `json:"wall_seconds"`
	Steps       int     `json:"steps"`
	Refused     int     `json:"refused"`
	CaseHash    string  `json:"case_hash"`
	Version     string  `json:"version"`
}

func runOf(t *testing.T, dir string) runJSON {
	t.Helper()
	var r runJSON
	if err := json.Unmarshal([]byte(read(t, dir, "run.json")), &r); err != nil {
		t.Fatalf("run.json of %s does not decode: %v", dir, err)
	}
	return r
}

// files lists the files below dir with slashes, sorted.
func files(t *testing.T, dir string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		out = append(out, filepath.ToSlash(rel))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

// sameFolders fails for every file that two results folders do not share byte
// by byte; run.json, which holds the wall time, may differ.
func sameFolders(t *testing.T, a, b string) {
	t.Helper()
	in, other := files(t, a), files(t, b)
	if !slices.Equal(in, other) {
		t.Errorf("the folders hold different files:\n%s\n%s", strings.Join(in, " "), strings.Join(other, " "))
		return
	}
	for _, name := range in {
		if name == "run.json" {
			continue
		}
		if x, y := read(t, a, name), read(t, b, name); x != y {
			t.Errorf("%s differs between two runs that must be equal: %s", name, firstDifference(x, y))
		}
	}
}

// firstDifference shows the first line that differs, for text.
func firstDifference(a, b string) string {
	if strings.ContainsRune(a, 0) {
		return "(binary)"
	}
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return "\n" + x[i] + "\n" + y[i]
		}
	}
	return "one has more lines"
}

// noStage fails if a folder that was being written is left in dir.
func noStage(t *testing.T, dir string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if strings.Contains(e.Name(), ".part-") || strings.Contains(e.Name(), ".old-") {
			t.Errorf("%s is left in %s, want nothing but the results", e.Name(), dir)
		}
	}
}
