package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"soiljoule/cases"
	"soiljoule/mesh"
)

// TestUsageErrors: a command line that is wrong ends with 2, one line on stderr
// that says what would be right, and nothing on stdout.
func TestUsageErrors(t *testing.T) {
	t.Chdir(t.TempDir()) // a default results folder must not land in the tree
	for _, c := range []struct {
		args string
		want string // in the line on stderr
	}{
		{"warm", `unknown command "warm": must be new, check, run, resume, figures, hand, keys or version`},
		{"new", "0 words given: wants a view"},
		{"new elevation", "view elevation: must be section, axisymmetric or plan"},
		{"new section axisymmetric", "2 words given"},
		{"check", "0 words given: wants one case file"},
		{"check a.toml b.toml", "2 words given: wants one case file"},
		{"check nowhere.toml", "nowhere.toml"},
		{"check --colour a.toml", "-colour"},
		{"run", "wants one case file"},
		{"run nowhere.toml", "nowhere.toml"},
		{"run a.toml --quick", "-quick"},
		{"run a.toml -o", "-o"},
		{"figures", "wants one results folder"},
		{"figures nowhere", "nowhere"},
		{"figures nowhere --units metric", "--units = metric: must be si or us"},
		{"keys mush", "section mush: unknown"},
		{"keys mesh time", "wants at most one section"},
	} {
		o := must(t, wrong, strings.Fields(c.args)...)
		if !strings.Contains(o.err, c.want) || strings.Count(o.err, "\n") != 1 {
			t.Errorf("soiljoule %s said on stderr %q, want one line with %q", c.args, o.err, c.want)
		}
		if o.out != "" {
			t.Errorf("soiljoule %s wrote %q on stdout, want nothing", c.args, o.out)
		}
	}
	if list, _ := os.ReadDir("."); len(list) > 0 {
		t.Errorf("a wrong command line left %s behind, want nothing", list[0].Name())
	}
}

// TestUsage: without a command the usage is a complaint, on request an answer.
func TestUsage(t *testing.T) {
	if o := must(t, wrong); o.err != usage || o.out != "" {
		t.Errorf("soiljoule alone wrote %q on stdout and %q on stderr, want the usage on stderr", o.out, o.err)
	}
	for _, word := range []string{"help", "-h", "--help"} {
		if o := must(t, done, word); o.out != usage || o.err != "" {
			t.Errorf("soiljoule %s wrote %q on stderr, want the usage on stdout alone", word, o.err)
		}
	}
	if o := must(t, done, "version"); o.out != "soiljoule "+version+"\n" {
		t.Errorf("soiljoule version printed %q, want the version alone", o.out)
	}
	for _, name := range []string{"new", "check", "run", "figures", "hand", "keys", "version"} {
		if !strings.Contains(usage, "\n  soiljoule "+name) {
			t.Errorf("the usage does not tell of the command %s", name)
		}
	}
}

// TestBrokenCase: every fault of a case on its own line in the order of the
// file, then those of --set; exit 2; no results folder.
func TestBrokenCase(t *testing.T) {
	dir := t.TempDir()
	text := must(t, done, "new", "section").out
	for _, e := range [][2]string{
		{`porosity             = 0.40`, `porosity             = 40`},
		{`radius  = "6 in"`, `radius  = "-6 in"`},
		{`finest = "3 in"`, `finnest = "3 in"`},
		{`duration = "70 d"`, `duration = 70`},
	} {
		if !strings.Contains(text, e[0]) {
			t.Fatalf("the template of a section has no line %q to break", e[0])
		}
		text = strings.Replace(text, e[0], e[1], 1)
	}
	path := write(t, dir, "broken.toml", text)
	lineOf := func(s string) int { return 1 + strings.Count(text[:strings.Index(text, s)], "\n") }
	want := []string{
		fmt.Sprintf("%s:%d: layer.silt.porosity = 40: must be between 0 and ", path, lineOf("= 40\n")),
		fmt.Sprintf("%s:%d: array[1].radius = -6 in: must be > 0", path, lineOf("-6 in")),
		fmt.Sprintf("%s:%d: time.duration = 70: ", path, lineOf("duration = 70")),
		fmt.Sprintf("%s:%d: mesh.finnest: unknown key; nearest is finest", path, lineOf("finnest")),
		"--set site.elevation=high: ",
	}
	for _, command := range []string{"check", "run"} {
		args := []string{command, path, "--set", "site.elevation=high"}
		if command == "run" {
			args = append(args, "-o", filepath.Join(dir, "out"))
		}
		o := must(t, wrong, args...)
		got := strings.Split(strings.TrimSuffix(o.err, "\n"), "\n")
		if len(got) != len(want) {
			t.Errorf("soiljoule %s of a case with %d faults printed %d lines:\n%s", command, len(want), len(got), o.err)
			continue
		}
		for i, w := range want {
			if !strings.HasPrefix(got[i], w) {
				t.Errorf("soiljoule %s printed as fault %d\n%s\nwant a line that begins\n%s", command, i+1, got[i], w)
			}
		}
		if o.out != "" {
			t.Errorf("soiljoule %s of a broken case wrote %q on stdout, want nothing", command, o.out)
		}
	}
	if got := files(t, dir); len(got) != 1 {
		t.Errorf("a broken case left files: %s, want only the case", strings.Join(got, " "))
	}
}

// TestNewRuns: what `new` prints goes through check and a coarse run.
func TestNewRuns(t *testing.T) {
	for _, view := range []string{"section", "axisymmetric", "plan"} {
		o := must(t, done, "new", view)
		if o.err != "" {
			t.Errorf("soiljoule new %s wrote %q on stderr, want nothing", view, o.err)
		}
		dir := t.TempDir()
		path := write(t, dir, "site.toml", o.out)
		must(t, done, "check", path)
		out := filepath.Join(dir, "out")
		must(t, done, "run", path, "--set", "mesh.finest=12 in", "--set", "time.duration=2 d", "--no-figures", "-q", "-o", out)
		if r := runOf(t, out); !r.Finished || r.TimeD != 2 {
			t.Errorf("the %s that new prints ran to day %g, finished %v; want day 2, finished", view, r.TimeD, r.Finished)
		}
	}
}

// TestCheckDemos: check of each demo case tells what to compare with a drawing,
// with the closed form beside the model, within two seconds.
func TestCheckDemos(t *testing.T) {
	for _, c := range []struct {
		file, rows string
		log        float64 // of the closed form: I = 2πV·Σ(ℓ/ρ)/log
	}{
		{yard, "array E: 9 rows 7 ft (2.134 m) apart, rods 24.25 ft (7.391 m) apart in a row, 3.7 rods a row in 90 ft (27.43 m), 33 in all",
			math.Log(0.566 * 14 / 0.5)},
		{cell, "array E: one rod of it, in the circle of its own ground, radius 2.24 m (7.351 ft)",
			math.Log(14 * math.Sqrt(math.Sqrt(3)/(2*math.Pi)) / 0.5)},
	} {
		want := 2 * math.Pi * 130 * conducts(t, c.file) / c.log
		started := time.Now()
		o := must(t, done, "check", c.file)
		// The owner's wish; here it takes about a tenth of it.
		if d := time.Since(started); d > slower*2*time.Second {
			t.Errorf("check of %s took %v, want at most 2 s", c.file, d)
		}
		if o.err != "" {
			t.Errorf("check of %s wrote %q on stderr, want nothing", c.file, o.err)
		}
		for _, want := range []string{c.rows, "mesh  ", "silt  ", "as given  ambient (", "100 °C", "cold power ", "closed form: ", "boundaries: none too near", "cautions\n", "They clear nothing"} {
			if !strings.Contains(o.out, want) {
				t.Errorf("check of %s does not print %q; it printed\n%s", c.file, want, o.out)
			}
		}
		rods := 0
		for _, line := range strings.Split(o.out, "\n") {
			f := strings.Fields(line)
			if len(f) < 5 || !strings.HasPrefix(f[0], "E") || len(f[1]) != 1 {
				continue
			}
			rods++
			model, err1 := strconv.ParseFloat(f[len(f)-3], 64)
			closed, err2 := strconv.ParseFloat(f[len(f)-1], 64)
			if err1 != nil || err2 != nil {
				t.Errorf("check of %s prints the electrode line %q, want numbers in its last three columns", c.file, line)
				continue
			}
			// Half the last printed digit, 0.005 A, and the three digits of 0.566:
			// 0.0005/0.566 over the logarithm of 2.76 is 0.03 %.
			if tol := 0.005 + 0.0004*want; math.Abs(closed-want) > tol {
				t.Errorf("check of %s gives %s a closed form of %.2f A, want %.3f ± %.3f A", c.file, f[0], closed, want, tol)
			}
			// The closed forms leave out what leaves past the ends of rods of 6 and 16 ft,
			// 14 ft from their neighbours: more current, not twice as much.
			if model < closed || model > 1.6*closed {
				t.Errorf("check of %s gives %s %.2f A by the model and %.2f A by closed form, want the model above it by at most 60 %%", c.file, f[0], model, closed)
			}
		}
		if n := map[string]int{yard: 9, cell: 1}[c.file]; rods != n {
			t.Errorf("check of %s lists %d electrodes, want %d", c.file, rods, n)
		}
	}
}

// conducts returns Σ ℓ/ρ [S] of a case's array over its active interval, at the
// ground's own temperature by the linear law, ρ = ρ_given/(1 + a (T − T_given)).
func conducts(t *testing.T, file string) float64 {
	t.Helper()
	c, err := cases.Load(file, nil)
	if err != nil {
		t.Fatal(err)
	}
	sum, top := 0.0, 0.0
	for _, l := range c.Layers {
		if d := math.Min(l.Bottom, c.Arrays[0].Bottom) - math.Max(top, c.Arrays[0].Top); d > 0 {
			sum += d / l.Resistivity * (1 + l.TemperatureCoeff*(c.Site.Ambient-l.ResistivityAt))
		}
		top = l.Bottom
	}
	return sum
}

// TestCheckJSON: check --json is the same as one JSON object.
func TestCheckJSON(t *testing.T) {
	for _, file := range []string{yard, cell, plates} {
		o := must(t, done, "check", file, "--json")
		d := json.NewDecoder(strings.NewReader(o.out))
		d.DisallowUnknownFields()
		var got checked
		if err := d.Decode(&got); err != nil {
			t.Errorf("check --json of %s does not decode: %v", file, err)
			continue
		}
		if d.More() || o.err != "" {
			t.Errorf("check --json of %s writes more than one object", file)
		}
		if m := got.Mesh; m.Cells != m.Across*m.Down || m.Cells == 0 || m.Growth > mesh.MaxGrowth*(1+1e-9) { // rounding of the edges
			t.Errorf("check --json of %s has a mesh of %d × %d = %d cells that grow by %.4f, want the product and at most 1.3", file, m.Across, m.Down, m.Cells, m.Growth)
		}
		total := 0.0
		for _, e := range got.Electrodes {
			total += e.Rods * e.ModelA * e.ModelA * e.ModelOhm / 1e3
		}
		// |V||I| is the power where the current is in phase: by symmetry in the cell,
		// of two poles, and in the section of three phases to the second order of a small
		// angle, seen as 3e-3.
		if math.Abs(total-got.ColdKW) > 0.01*got.ColdKW {
			t.Errorf("check --json of %s has a cold power of %.4f kW, and I²R of its rods is %.4f kW, want them within 1 %%", file, got.ColdKW, total)
		}
		text := must(t, done, "check", file).out
		if !strings.Contains(text, fmt.Sprintf("cold power %.1f kW", got.ColdKW)) {
			t.Errorf("check --json of %s has cold_power_kW %.4f, and check prints another", file, got.ColdKW)
		}
	}
}

// TestKeys: the keys of a case file, of one section, and the units.
func TestKeys(t *testing.T) {
	all := must(t, done, "keys").out
	one := must(t, done, "keys", "mesh").out
	units := must(t, done, "keys", "units").out
	for _, s := range []string{"site", "extent", "surface", "layer", "target", "array", "electrode", "supply", "change", "sensor", "steam", "time", "domain", "mesh", "output"} {
		one := must(t, done, "keys", s).out
		if !strings.Contains(one, "["+s+"]") || !strings.Contains(one, "meaning") {
			t.Errorf("keys %s printed %q, want the section's name and a column of meanings", s, one)
		}
		for _, line := range strings.Split(strings.TrimSpace(one), "\n")[2:] {
			if name := strings.Fields(line)[0]; !strings.Contains(all, "\n"+name) {
				t.Errorf("keys does not list %s.%s, which keys %s does", s, name, s)
			}
		}
	}
	if !strings.Contains(one, "finest") || strings.Contains(one, "porosity") {
		t.Errorf("keys mesh printed %q, want the keys of [mesh] alone", one)
	}
	for _, want := range []string{"ft", "0.3048 m", "degF", "459.67", "kW", "ohm*ft", "BTU/h/ft/degF", "inHg"} {
		if !strings.Contains(units, want) {
			t.Errorf("keys units does not list %q", want)
		}
	}
	if o := must(t, done, "keys", "--markdown"); !strings.Contains(o.out, "| ") {
		t.Errorf("keys --markdown printed %q, want a table", o.out)
	}
}
