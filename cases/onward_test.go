package cases

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// asRun puts a case as a results folder holds it into a file.
func asRun(t *testing.T, text string, sets ...string) (file, held string) {
	t.Helper()
	x, _ := mustParse(t, text, sets...).Expand()
	var b bytes.Buffer
	if err := x.WriteTOML(&b); err != nil {
		t.Fatal(err)
	}
	file = filepath.Join(t.TempDir(), "case.toml")
	if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	return file, b.String()
}

// beside puts a case to go on with beside that of a run.
func beside(t *testing.T, file, text string) string {
	t.Helper()
	next := filepath.Join(filepath.Dir(file), "next.toml")
	if err := os.WriteFile(next, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return next
}

// TestGoOnWithAnotherCase: a case to go on with may differ in what drives the ground from
// the state's day on, rows added and taken away; all else is a fault at its line, all at
// once, and so is what would have acted before.
func TestGoOnWithAnotherCase(t *testing.T) {
	const (
		stay  = ": the state depends on it; run the case from power-on"
		since = "must not be before day 20, to which the run has come"
	)
	file, held := asRun(t, wiredSection+"[[water_added]]\nelectrode = \"R\"\nrate = \"1 L/min\"\nfrom = \"2 d\"\nto = \"12 d\"\n[[water_added]]\nelectrode = \"R\"\nrate = \"2 L/min\"\n")
	longer := strings.Replace(held, `duration = "20 d"`, `duration = "40 d"`, 1)
	if longer == held {
		t.Fatalf("the duration is not found in\n%s", held)
	}
	as := ` as in ` + file + stay
	sub := func(pairs ...string) string {
		text := longer
		for i := 0; i < len(pairs); i += 2 {
			if !strings.Contains(text, pairs[i]) {
				t.Fatalf("there is no %q in\n%s", pairs[i], text)
			}
			text = strings.Replace(text, pairs[i], pairs[i+1], 1)
		}
		return text
	}
	for _, c := range []struct {
		name  string
		text  string
		sets  []string
		edges bool
		off   float64 // [d]
		want  []string
	}{
		{name: "only longer", text: longer},
		{name: "as long", text: held, want: []string{`time.duration = 20 d: must be after day 20, to which the run has come`}},
		{name: "the case as it was written", text: wiredSection + "[[water_added]]\nelectrode = \"R\"\nrate = \"1 L/min\"\nfrom = \"2 d\"\nto = \"12 d\"\n[[water_added]]\nelectrode = \"R\"\nrate = \"2 L/min\"\n", sets: []string{"time.duration=60 d"}},
		{name: "rows added", text: longer + "[[change]]\nat = \"25 d\"\nvoltage = \"10 V\"\n[[change]]\nat = \"20 d\"\nelectrode = \"P\"\nvoltage = \"10 V\"\n[[water_added]]\nelectrode = \"R\"\nrate = \"1 L/min\"\nfrom = \"20 d\"\n[control]\nsetpoint = \"70 degC\"\n", edges: true},
		{name: "rows taken away", text: regexp.MustCompile(`(?s)\[\[water_added\]\].*?\[time\]`).ReplaceAllString(strings.Replace(longer, "[[change]]\nat = \"3 d\"\nvoltage = \"50 V\"\n", "", 1), "[time]"), edges: true},
		{name: "rows too early", text: longer + "[[change]]\nat = \"19 d\"\nvoltage = \"10 V\"\n[[change]]\nat = \"3 d\"\nelectrode = \"P\"\nvoltage = \"10 V\"\n[[water_added]]\nelectrode = \"R\"\nrate = \"1 L/min\"\n[[water_added]]\nelectrode = \"R\"\nrate = \"1 L/min\"\nfrom = \"19.9 d\"\n", edges: true,
			want: []string{`change[2].at = 19 d: ` + since + ": " + file + " has no such change", `change[3].at = 3 d: ` + since,
				"water_added[3].from: is left out, which makes it day 0: " + since + ": " + file + " has no such row", `water_added[4].from = 19.9 d: ` + since}},
		{name: "water that was over, and ends too early", text: sub(`to = "12 d"`, `to = "21 d"`), want: []string{`water_added[1].to = 21 d: must stay day 12: it was over before day 20, to which the run has come`}},
		{name: "water that ended", text: sub("[[water_added]]\nelectrode = \"R\"\nrate = \"2 L/min\"", "[[water_added]]\nto = \"15 d\"\nelectrode = \"R\"\nrate = \"2 L/min\""), want: []string{`water_added[2].to = 15 d: ` + since}},
		{name: "water that ends from now on", text: sub("[[water_added]]\nelectrode = \"R\"\nrate = \"2 L/min\"", "[[water_added]]\nto = \"20 d\"\nelectrode = \"R\"\nrate = \"1 L/min\""), edges: true},
		{name: "what must stay", text: sub("porosity = 0.45", "porosity = 0.4", `phases = 3`, `phases = 1`, "growth = 1.2\n", "growth = 1.1\n", `x = "6 m"`, `x = "6.5 m"`, "[[heat]]\n", "[[sensor]]\nname = \"T\"\nx = \"1 m\"\ndepth = \"2 m\"\n[[heat]]\n"), sets: []string{"mesh.finest=1 m"},
			want: []string{"layer.clay.porosity = 0.4: must stay 0.45" + as, `electrode.R.x = 6.5 m: must stay 6 m` + as,
				"sensor.T: must not be added: " + file + " has none of that name" + stay, "supply.phases = 1: must stay 3" + as, "mesh.growth = 1.1: must stay 1.2" + as, "--set mesh.finest=1 m: must stay as it is" + stay}},
		{name: "a body less", text: sub(regexp.MustCompile(`(?s)\[\[heat\]\].*?\n\n`).FindString(longer), ""), want: []string{"heat.drum: is missing; must stay" + as}},
		{name: "another view", text: sub(`view = "section"`, `view = "plan"`), want: []string{"extent.top"}},
		{name: "off before", text: longer, sets: []string{"supply.off=19 d"}, want: []string{"--set supply.off=19 d: " + since}},
		{name: "off now", text: longer, sets: []string{"supply.off=20 d"}},
		{name: "off for good", text: longer, off: 8, sets: []string{"supply.off=30 d"}, want: []string{"--set supply.off=30 d: must stay left out: the supply went off for good on day 8"}},
		{name: "not TOML", text: longer + "[[change]\n", want: []string{"is not TOML"}},
	} {
		reached := Reached{20 * day, nan}
		if c.off > 0 {
			reached.Off = c.off * day
		}
		next := beside(t, file, c.text)
		r, err := LoadResumed(file, next, c.sets, reached)
		if err == nil {
			if c.want != nil {
				t.Errorf("%s: nothing is refused, want\n%s", c.name, strings.Join(c.want, "\n"))
			} else if r.Edges != c.edges {
				t.Errorf("%s: at the edges: %v, want %v", c.name, r.Edges, c.edges)
			}
			continue
		}
		lines := strings.Split(err.Error(), "\n")
		if c.name == "another view" {
			lines = lines[:1]
		}
		for i, line := range lines {
			at := strings.HasPrefix(line, "--set ") || regexp.MustCompile("^"+regexp.QuoteMeta(next)+"(:[0-9]+)?: ").MatchString(line)
			if len(lines) != len(c.want) || !at || !strings.Contains(line, c.want[i]) {
				t.Errorf("%s:\n%v\nwant\n%s", c.name, err, strings.Join(c.want, "\n"))
				break
			}
		}
	}
}

// TestGoOnWithAnArray: the case as written, its array not yet electrodes, goes on, and is
// refused at the array's line where that makes other electrodes.
func TestGoOnWithAnArray(t *testing.T) {
	file, _ := asRun(t, wiredArray)
	next := beside(t, file, wiredArray+"[[change]]\nat = \"30 d\"\nelectrode = \"E\"\nvoltage = \"20 V\"\n")
	if _, err := LoadResumed(file, next, []string{"time.duration=40 d"}, Reached{20 * day, nan}); err != nil {
		t.Error(err)
	}
	next = beside(t, file, strings.Replace(wiredArray, `radius = "0.1 m"`, `radius = "0.12 m"`, 1)+"[[change]]\nat = \"10 d\"\nelectrode = \"E\"\nvoltage = \"20 V\"\n")
	_, err := LoadResumed(file, next, []string{"time.duration=40 d"}, Reached{20 * day, nan})
	if err == nil || strings.Count(err.Error(), "\n") != 1 || !strings.Contains(err.Error(), `array[1]: makes an electrode E1 whose radius is 0.12 m: it must stay 0.1 m as in `+file) ||
		!strings.Contains(err.Error(), `change[2].at = 10 d: must not be before day 20`) {
		t.Errorf("another radius of an array, and a change of it too early, said\n%v", err)
	}

	file, _ = asRun(t, wiredArray, "mesh.growth=1.1")
	next = beside(t, file, wiredArray)
	_, err = LoadResumed(file, next, []string{"time.duration=40 d"}, Reached{20 * day, nan})
	if want := next + ":47: mesh.growth: is left out, which makes it 1.2: must stay 1.1 as in " + file + ": the state depends on it; run the case from power-on"; err == nil || err.Error() != want {
		t.Errorf("a key left out said\n%v\nwant\n%s", err, want)
	}
}

// TestIntervalMayBeginLater: an interval of extraction between edges of the cells leaves
// them; one that would move them is refused with the edges that are nearest; an interval
// that cells were made for stays. In a plan it moves none.
func TestIntervalMayBeginLater(t *testing.T) {
	reached := Reached{20 * day, nan}
	file, held := asRun(t, wiredSection, "steam.fate=rising")
	c := mustParse(t, held)
	g, err := c.grid()
	if err != nil {
		t.Fatal(err)
	}
	set := func(at float64) string { return length.format(at) }
	for _, ends := range [][2]float64{{g.Z[1], g.Z[3]}, {g.Z[2] + 4e-6, g.Z[5] - 4e-6}, {2, 2.5}} {
		r, err := LoadResumed(file, "", []string{"time.duration=40 d", "steam.top=" + set(ends[0]), "steam.bottom=" + set(ends[1])}, reached)
		if err != nil {
			t.Errorf("an interval between edges: %v", err)
			continue
		}
		x, _ := r.Expand()
		p, err := x.Build()
		if err != nil {
			t.Fatal(err)
		}
		if p.Ground.Grid.NZ != g.NZ || !r.Edges || !(p.Ground.Vapour.Top < p.Ground.Vapour.Bottom) {
			t.Errorf("an interval between edges makes %d rows of %d; at the edges: %v; %v", p.Ground.Grid.NZ, g.NZ, r.Edges, p.Ground.Vapour)
		}
	}
	middle := (g.Z[2] + g.Z[3]) / 2
	_, err = LoadResumed(file, "", []string{"time.duration=40 d", "steam.top=" + set(middle), "steam.bottom=2 m"}, reached)
	if want := "--set steam.top=" + set(middle) + ": must be an edge of the cells, which stay: the nearest are "; err == nil || strings.Count(err.Error(), "\n") != 0 || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("an interval that is not between edges said %v, want %s…", err, want)
	} else if near := regexp.MustCompile(`[0-9.]+ m`).FindAllString(strings.TrimPrefix(err.Error(), want), -1); len(near) != 2 {
		t.Errorf("it names the edges %q", near)
	} else if _, err := LoadResumed(file, "", []string{"time.duration=40 d", "steam.top=" + near[0], "steam.bottom=2 m"}, reached); err != nil {
		t.Errorf("the edge that it names, %s, said %v", near[0], err)
	}

	file, _ = asRun(t, wiredSection, "steam.fate=rising", "steam.top="+set(middle), "steam.bottom=2 m")
	for _, sets := range [][]string{{"steam.top=0.5 m"}} {
		_, err := LoadResumed(file, "", append(sets, "time.duration=40 d"), reached)
		if err == nil || !strings.HasPrefix(err.Error(), "--set "+sets[0]+": must stay ") || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q of an interval that the cells are made for said %v", sets, err)
		}
	}
	for _, set := range []string{"steam.capture_share=0.5", "steam.fate=extracted"} {
		if _, err := LoadResumed(file, "", []string{"time.duration=40 d", set}, reached); err != nil {
			t.Errorf("%s said %v", set, err)
		}
	}

	file, _ = asRun(t, layeredPlan, "steam.fate=rising")
	if _, err := LoadResumed(file, "", []string{"time.duration=400 d", "steam.top=0.111 m", "steam.bottom=0.333 m"}, reached); err != nil {
		t.Errorf("an interval above a plan: %v", err)
	}
}

// TestLongerRunHasTheSameCells: a water table that moves on beyond the end of a run is one
// with which it goes on, in cells that end where it will come to; its file is compared by
// what it holds, not by its name.
func TestLongerRunHasTheSameCells(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	const rows = "time_d,water_table_m\n0,2\n60,3.1\n"
	put("water-table.csv", rows)
	file := put("case.toml", strings.Replace(wiredSection, `water_table = "2 m"`, `water_table = "water-table.csv"`, 1)+"[domain]\nleft = \"-10 m\"\nright = \"18 m\"\nbottom = \"12 m\"\n")
	c, err := Load(file, nil)
	if err != nil {
		t.Fatal(err)
	}
	reached := Reached{20 * day, nan}
	longer := []string{"time.duration=50 d"}
	put("as it was.csv", rows)
	put("other.csv", strings.Replace(rows, "3.1", "3.2", 1))
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	r, err := LoadResumed(file, beside(t, file, strings.Replace(string(text), "water-table.csv", "as it was.csv", 1)), longer, reached)
	if err != nil {
		t.Fatal(err)
	}
	before, err := c.grid()
	if err != nil {
		t.Fatal(err)
	}
	after, err := r.grid()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(before.Z, after.Z) || !onEdge(before.Z, 3.1) {
		t.Errorf("rows end at\n%v\nand in the longer run at\n%v", before.Z, after.Z)
	}
	next := beside(t, file, strings.Replace(string(text), "water-table.csv", "other.csv", 1))
	_, err = LoadResumed(file, next, longer, reached)
	if want := next + ":5: site.water_table = other.csv: must stay the same file as in " + file + ": the state depends on it; run the case from power-on"; err == nil || err.Error() != want {
		t.Errorf("another water table said\n%v\nwant\n%s", err, want)
	}
}
