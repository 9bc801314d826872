package record

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// bench is invented dry ground of four by three cells without electrodes, with
// 2 kW put into one of them, and two targets that overlap.
func bench(t *testing.T) *solver.Problem {
	t.Helper()
	g := mesh.NewSection([]float64{0, 1, 2, 3, 5}, []float64{0, 1, 2, 4}, 10)
	soil := &materials.Soil{Name: "sand", Resistivity: 100, ResistivityAt: 283.15, SaturationExponent: 2,
		ThermalConductivity: 1.5, ThermalConductivityDry: 1.5, HeatCapacity: 2e6}
	gr, err := physics.NewGround(g, physics.Site{Ambient: 283.15, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		[]*materials.Soil{soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	imposed := make([]float64, g.Cells())
	imposed[g.Index(1, 1)] = 2000
	zone := mesh.Zone{Name: "zone", I0: 1, I1: 3, K0: 1, K1: 3}
	core := mesh.Zone{Name: "core", I0: 1, I1: 4, K0: 1, K1: 2}
	return &solver.Problem{Ground: gr, Imposed: imposed, Watched: zone,
		Heat:     physics.NewHeat(g, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 283.15 }}),
		Targets:  []solver.Target{{Zone: zone, Temperature: 283.65, Share: 0.3}, {Zone: core, Temperature: 283.16, Share: 0.9}},
		Duration: 2 * day, Outputs: []float64{0.5 * day, 2 * day}}
}

func plan(dir string) Plan {
	return Plan{Dir: dir, Case: []byte("title = \"Bench\"\n"), CaseHash: "0", Version: "test",
		Sensors: []Sensor{{"T1", 1.5, 1.5}, {"a, b", 0.5, 0.5}}, Targets: []string{"zone", "core"}, SetPower: steady(2000)}
}

// steady is a set power [W] that never changes.
type steady float64

func (p steady) At(float64) float64                       { return float64(p) }
func (p steady) Energy(from, to float64) float64          { return float64(p) * (to - from) }
func (p steady) Peak(from, _ float64) (watts, at float64) { return float64(p), from }

// ran runs the bench into a folder and returns its summary.
func ran(t *testing.T, p Plan) *Summary {
	t.Helper()
	problem := bench(t)
	f, err := Create(p, problem)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	s, err := f.Finish(r, true, []string{"invented"}, func(*Summary) string { return "text\n" })
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func text(t *testing.T, elem ...string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(elem...))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// array reads a .npy file of float64 in C order, by the format's own page: magic,
// version, length of the header, a Python dictionary, the numbers.
func array(t *testing.T, path string) (values []float64, shape string) {
	t.Helper()
	data := []byte(text(t, path))
	if len(data) < 12 || string(data[:8]) != "\x93NUMPY\x02\x00" {
		t.Fatalf("%s does not begin as a .npy file of version 2", path)
	}
	start := 12 + int(binary.LittleEndian.Uint32(data[8:]))
	head := string(data[12:start])
	if !strings.Contains(head, "'descr': '<f8'") || !strings.Contains(head, "'fortran_order': False") || head[len(head)-1] != '\n' {
		t.Fatalf("%s has the header %q, want float64 in C order", path, head)
	}
	_, after, _ := strings.Cut(head, "'shape': (")
	shape, _, _ = strings.Cut(after, ")")
	values = make([]float64, (len(data)-start)/8)
	if err := binary.Read(bytes.NewReader(data[start:]), binary.LittleEndian, values); err != nil {
		t.Fatal(err)
	}
	return values, shape
}

// TestFieldsAreWhatTheRunHad: arrays read back are the run's own numbers, down
// first, and the index tells of each.
func TestFieldsAreWhatTheRunHad(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	problem := bench(t)
	var last []float64
	f, err := Create(plan(dir), problem)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range r.State.T {
		last = append(last, k-273.15)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	g := problem.Ground.Grid
	got, shape := array(t, filepath.Join(dir, "fields", "temperature_0002d.npy"))
	if shape != "3, 4" || !slices.Equal(got, last) {
		t.Errorf("the last temperatures read back as %v of shape (%s), want %v of shape (3, 4)", got, shape, last)
	}
	if got, shape = array(t, filepath.Join(dir, "mesh", "x_edges.npy")); shape != "5," || !slices.Equal(got, g.X) {
		t.Errorf("x_edges reads back as %v of shape (%s), want %v", got, shape, g.X)
	}
	if got, _ = array(t, filepath.Join(dir, "mesh", "z_edges.npy")); !slices.Equal(got, g.Z) {
		t.Errorf("z_edges reads back as %v, want %v", got, g.Z)
	}
	if got, _ = array(t, filepath.Join(dir, "mesh", "zone.npy")); !slices.Equal(got, []float64{0, 0, 0, 0, 0, 1, 1, 2, 0, 1, 1, 0}) {
		t.Errorf("zone reads back as %v, want 1 in the first target, 2 in the rest of the second", got)
	}
	got, _ = array(t, filepath.Join(dir, "fields", "power_density_0000d.npy"))
	for c, q := range got {
		if want := problem.Imposed[c] / g.Volume[c]; q != want {
			t.Errorf("cell %d has a power density of %v W/m³, want the imposed %v", c, q, want)
		}
	}
	for n, name := range []string{"days_to_target", "days_to_target_2"} {
		got, _ := array(t, filepath.Join(dir, "fields", name+".npy"))
		for c, d := range got {
			// The same division, so the same bits.
			if want := r.Targets[n].Crossing[c] / day; d != want && !(math.IsNaN(d) && math.IsNaN(want)) {
				t.Errorf("%s has %v d in cell %d, want %v", name, d, c, want)
			}
		}
	}
	if got, _ := array(t, filepath.Join(dir, "fields", "boiling_point.npy")); !math.IsNaN(got[0]) {
		t.Errorf("the boiling point where boiling is off is %v, want NaN", got[0])
	}

	var index []fieldEntry
	if err := json.Unmarshal([]byte(text(t, dir, "fields", "index.json")), &index); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range index {
		names = append(names, e.File)
		if e.Shape != [2]int{3, 4} {
			t.Errorf("index.json gives %s the shape %v, want 3 down and 4 across", e.File, e.Shape)
		}
		if strings.HasPrefix(e.File, "temperature_0000.5d") && (e.TimeD == nil || *e.TimeD != 0.5 || e.Unit != "degC") {
			t.Errorf("index.json gives %s the time %v and the unit %q, want half a day and degC", e.File, e.TimeD, e.Unit)
		}
	}
	list, err := os.ReadDir(filepath.Join(dir, "fields"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if e.Name() != "index.json" && !slices.Contains(names, e.Name()) {
			t.Errorf("index.json does not tell of %s", e.Name())
		}
	}
	if len(list) != len(names)+1 {
		t.Errorf("index.json tells of %d files and the folder holds %d beside it", len(names), len(list)-1)
	}
}

// TestSummaryIsTheRuns: what summary.json says follows from the run's numbers,
// and a day that was not reached is null.
func TestSummaryIsTheRuns(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	s := ran(t, plan(dir))
	var got map[string]any
	if err := json.Unmarshal([]byte(text(t, dir, "summary.json")), &got); err != nil {
		t.Fatal(err)
	}
	// 2 kW for two days are 96 kWh, into 60 m³: the sum of equal steps, rounded.
	for key, want := range map[string]float64{"energy_in_kWh": 96, "power_mean_kW": 0, "power_max_kW": 0, "power_first_kW": 0,
		"set_energy_kWh": 96, "set_power_mean_kW": 2, "set_power_max_kW": 2, "set_power_first_kW": 2, "set_power_last_kW": 2, "set_power_max_day": 0,
		"target_volume_m3": 60, "energy_density_kWh_per_m3": 1.6, "energy_density_kWh_per_yd3": 1.6 * 0.764554857984} {
		if v, ok := got[key].(float64); !ok || math.Abs(v-want) > 1e-11*want {
			t.Errorf("summary.json has %s = %v, want %v", key, got[key], want)
		}
	}
	if got["days_to_share_100"] != nil || got["days_to_held"] == nil {
		t.Errorf("summary.json has days_to_share_100 = %v and days_to_held = %v, want null for what was not reached and a day for what was", got["days_to_share_100"], got["days_to_held"])
	}
	targets, _ := got["targets"].(map[string]any)
	if len(targets) != 2 || targets["core"] == nil || *s.Targets["zone"].DaysToTarget != *s.DaysToTarget {
		t.Errorf("summary.json has the targets %v, want zone, with the headline's day, and core", targets)
	}
	if text(t, dir, "summary.txt") != "text\n" {
		t.Errorf("summary.txt is not the text that was given")
	}
}

// TestSensorsAreReadings: the last row of sensors.csv is what the last state reads at
// the sensors' places, between nodes, at the surface and outside, in °C. Twelve digits
// are printed.
func TestSensorsAreReadings(t *testing.T) {
	problem := bench(t)
	p := plan(filepath.Join(t.TempDir(), "out"))
	p.Sensors = []Sensor{{"between", 2.2, 1.9}, {"surface", 1.4, 0}, {"outside", 7, 9}}
	f, err := Create(p, problem)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimSpace(text(t, p.Dir, "sensors.csv")), "\n")
	last := strings.Split(rows[len(rows)-1], ",")
	for i, s := range p.Sensors {
		want := problem.Ground.Reading(s.X, s.Z).Temperature(r.State.T) - 273.15
		if got, err := strconv.ParseFloat(last[i+1], 64); err != nil || math.Abs(got-want) > 1e-10 {
			t.Errorf("sensors.csv ends with %s for %s, want %.12g °C", last[i+1], s.Label, want)
		}
	}
}

// TestTablesQuote: a name with a comma in it stays one column.
func TestTablesQuote(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	ran(t, plan(dir))
	head, _, _ := strings.Cut(text(t, dir, "sensors.csv"), "\n")
	if want := `time_d,T1_C,"a, b_C"`; head != want {
		t.Errorf("sensors.csv begins %s, want %s", head, want)
	}
	var q table
	q.line("plain", `say "so"`, "two\nlines")
	if want := "plain,\"say \"\"so\"\"\",\"two\nlines\"\n"; q.String() != want {
		t.Errorf("a row is written %q, want %q", q.String(), want)
	}
}

// TestDates: with a power-on every table of times, of which a run with electrodes has all, has a
// second column of dates, which are time_d later to the second, through the end of February of a
// leap year; but for it the tables are what they are without.
func TestDates(t *testing.T) {
	tables := func(powerOn time.Time) map[string][][]string {
		dir := filepath.Join(t.TempDir(), "out")
		p := plan(dir)
		p.PowerOn, p.SetPower = powerOn, nil
		problem := wired(t, fed(0, 40))
		f, err := Create(p, problem)
		if err != nil {
			t.Fatal(err)
		}
		r, err := solver.Run(t.Context(), problem, f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err != nil {
			t.Fatal(err)
		}
		names, err := filepath.Glob(filepath.Join(dir, "*.csv"))
		if err != nil {
			t.Fatal(err)
		}
		out := map[string][][]string{}
		for _, path := range names {
			name := filepath.Base(path)
			if out[name], err = csv.NewReader(strings.NewReader(text(t, dir, name))).ReadAll(); err != nil {
				t.Fatal(err)
			}
		}
		return out
	}
	from := time.Date(2032, 2, 28, 12, 0, 0, 0, time.UTC)
	dated, plain := tables(from), tables(time.Time{})
	if len(dated) != 7 {
		t.Errorf("a run has the tables %v, want seven", slices.Sorted(maps.Keys(dated)))
	}
	for name, rows := range dated {
		if got := rows[0][:2]; !slices.Equal(got, []string{"time_d", "date"}) {
			t.Errorf("%s begins with the columns %s, want time_d and date", name, got)
			continue
		}
		if got, want := rows[len(rows)-1][1], "2032-03-01T12:00:00"; got != want {
			t.Errorf("%s ends on %s, want %s: two days after noon of 28 February", name, got, want)
		}
		for i, row := range rows {
			if i > 0 {
				days, err := strconv.ParseFloat(row[0], 64)
				date, errDate := time.Parse("2006-01-02T15:04:05", row[1])
				// A date is to the second, so within half of one.
				if off := date.Sub(from).Seconds() - days*86400; err != nil || errDate != nil || math.Abs(off) > 0.5+1e-6 {
					t.Errorf("%s: day %s is dated %s, %g s off", name, row[0], row[1], off)
				}
			}
			rows[i] = slices.Delete(row, 1, 2)
		}
		if !reflect.DeepEqual(rows, plain[name]) {
			t.Errorf("%s without its dates is not what it is without a power-on", name)
		}
	}
}

// TestDayNames: four digits and what is left of a day, sorted as they follow.
func TestDayNames(t *testing.T) {
	names := []string{"0000d", "0000.5d", "0001d", "0030d", "0030.041667d", "0365.25d", "12000d"}
	for i, d := range []float64{0, 0.5, 1, 30, 30 + 1.0/24, 365.25, 12000} {
		if got := dayName(d); got != names[i] {
			t.Errorf("day %v is named %s, want %s", d, got, names[i])
		}
	}
}

// TestCheckFolder: what a run may write to.
func TestCheckFolder(t *testing.T) {
	at := t.TempDir()
	folder := func(name string, files map[string]string) string {
		dir := filepath.Join(at, name)
		if err := os.MkdirAll(dir, 0o777); err != nil {
			t.Fatal(err)
		}
		for f, s := range files {
			if err := os.WriteFile(filepath.Join(dir, f), []byte(s), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		return dir
	}
	finished := folder("finished", map[string]string{"run.json": `{"finished": true}`})
	for _, c := range []struct {
		what, dir string
		force     bool
		want      error
	}{
		{"nothing", filepath.Join(at, "new"), false, nil},
		{"an empty folder", folder("empty", nil), false, nil},
		{"an unfinished run", folder("unfinished", map[string]string{"run.json": `{"finished": false}`}), false, nil},
		{"a finished run", finished, false, ErrFinished},
		{"a finished run, forced", finished, true, nil},
		{"something else", folder("foreign", map[string]string{"letter.txt": ""}), false, ErrForeign},
		{"something else, forced", filepath.Join(at, "foreign"), true, ErrForeign},
	} {
		if err := checkPlace(c.dir, c.force); !errors.Is(err, c.want) || (err == nil) != (c.want == nil) {
			t.Errorf("checkPlace of %s gives %v, want %v", c.what, err, c.want)
		}
	}
	file := filepath.Join(finished, "run.json")
	if err := checkPlace(file, true); err == nil {
		t.Error("checkPlace of a file gives no error")
	}
}

// TestFolderAppearsAtTheEnd: until the run ends nothing stands under the
// folder's name, and abandoning leaves nothing at all.
func TestFolderAppearsAtTheEnd(t *testing.T) {
	at := t.TempDir()
	dir := filepath.Join(at, "deep", "out")
	problem := bench(t)
	f, err := Create(plan(dir), problem)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("before the run is finished its folder exists (%v), want nothing under that name", err)
	}
	f.Abandon(nil)
	if list, _ := os.ReadDir(filepath.Dir(dir)); len(list) > 0 {
		t.Errorf("an abandoned run leaves %s", list[0].Name())
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err == nil {
		t.Error("an abandoned folder was finished without an error")
	}
}

// TestFinishedMeanwhile: a folder that another run finished meanwhile is not
// replaced.
func TestFinishedMeanwhile(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	problem := bench(t)
	f, err := Create(plan(dir), problem)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "run.json")
	if err := os.WriteFile(other, []byte(`{"finished": true, "version": "other"}`), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); !errors.Is(err, ErrFinished) {
		t.Errorf("finishing into a folder finished meanwhile gives %v, want ErrFinished", err)
	}
	if got := text(t, other); !strings.Contains(got, "other") {
		t.Errorf("the other run's run.json is now %s", got)
	}
	if _, err := os.Stat(filepath.Join(f.stage.results(), "summary.json")); err != nil {
		t.Errorf("the run that found its place taken is lost: %v", err)
	}
}

// TestTwoRunsAtOnce: a second run to the same folder leaves the first alone.
func TestTwoRunsAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	p := plan(dir)
	first, err := Create(p, bench(t))
	if err != nil {
		t.Fatal(err)
	}
	second, err := Create(p, bench(t))
	if err != nil {
		t.Fatal(err)
	}
	second.Abandon(nil)
	if _, err := os.Stat(filepath.Join(first.stage.results(), "case.toml")); err != nil {
		t.Errorf("the first run's files are gone: %v", err)
	}
	first.Abandon(nil)
}

// TestNoPlace: a folder that cannot be replaced as a whole is refused before
// the run, not after.
func TestNoPlace(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, dir := range []string{"", ".", "/", "sub/.."} {
		if f, err := Create(plan(dir), bench(t)); err == nil {
			f.Abandon(nil)
			t.Errorf("Create accepts the folder %q", dir)
		}
	}
}

// TestRefusedAsGiven: a folder that may not be written is refused as such, under the
// name it was given.
func TestRefusedAsGiven(t *testing.T) {
	at := t.TempDir()
	t.Chdir(at)
	tree(t, at, map[string]string{"out/run.json": other, "letters/a.txt": "mine", "file": "mine"})
	for dir, want := range map[string]error{"out": ErrFinished, "letters": ErrForeign, "file": nil, "file/out": nil, ".": nil} {
		f, err := Create(plan(dir), bench(t))
		if err == nil {
			f.Abandon(nil)
		}
		var refused Refused
		if !errors.As(err, &refused) || want != nil && !errors.Is(err, want) || strings.Contains(err.Error(), at) || !strings.Contains(err.Error(), dir) {
			t.Errorf("Create refuses the folder %s with %v, want a refusal (%v) that names it so", dir, err, want)
		}
	}
	lies(t, "refused", at, map[string]string{"out/run.json": other, "letters/a.txt": "mine", "file": "mine"})
}

// TestLinkedFolder: a link to a folder stays a link, and the folder gets the
// results.
func TestLinkedFolder(t *testing.T) {
	at := t.TempDir()
	real, link := filepath.Join(at, "real"), filepath.Join(at, "link")
	if err := os.Mkdir(real, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(real, link); err != nil {
		t.Skip("no links here: ", err)
	}
	ran(t, plan(link))
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is no link any more (%v)", err)
	}
	if _, err := os.Stat(filepath.Join(real, "run.json")); err != nil {
		t.Errorf("the linked folder has no results: %v", err)
	}
}

// TestFilesLostMeanwhile: a run whose early files are gone or cut short at its end
// fails, rather than leave a folder that lacks them.
func TestFilesLostMeanwhile(t *testing.T) {
	for what, harm := range map[string]func(path string) error{
		"removed":   os.Remove,
		"cut short": func(path string) error { return os.Truncate(path, 1) },
	} {
		for _, name := range []string{"case.toml", "mesh/zone.npy", "fields/temperature_0000d.npy"} {
			at := t.TempDir()
			problem := bench(t)
			f, err := Create(plan(filepath.Join(at, "out")), problem)
			if err != nil {
				t.Fatal(err)
			}
			r, err := solver.Run(t.Context(), problem, f)
			if err != nil {
				t.Fatal(err)
			}
			if err := harm(filepath.Join(f.stage.results(), name)); err != nil {
				t.Fatal(err)
			}
			if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err == nil || !strings.Contains(err.Error(), name) {
				t.Errorf("a run whose %s was %s meanwhile ends with %v, want an error that names it", name, what, err)
			}
			if list, _ := os.ReadDir(at); len(list) > 0 {
				t.Errorf("a run whose %s was %s meanwhile leaves %s", name, what, list[0].Name())
			}
		}
	}
}

// TestFilesBeside: files that the case names go into the folder by their base
// names.
func TestFilesBeside(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	p := plan(dir)
	p.Beside = map[string][]byte{"air.csv": []byte("time_d,air_C\n0,10\n")}
	ran(t, p)
	if got := text(t, dir, "air.csv"); got != "time_d,air_C\n0,10\n" {
		t.Errorf("air.csv in the folder is %q", got)
	}
}

// TestNumbers: twelve digits, and no more than needed.
func TestNumbers(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 130: "130", 1.0 / 3: "0.333333333333", -2.5e-13: "-2.5e-13", 1e21: "1e+21"} {
		if got := num(v); got != want {
			t.Errorf("%v is written %s, want %s", v, got, want)
		}
		if back, err := strconv.ParseFloat(num(v), 64); err != nil || math.Abs(back-v) > 5e-12*math.Abs(v) { // half of the twelfth digit at worst
			t.Errorf("%v reads back as %v", v, back)
		}
	}
	if got := fmt.Sprint(finite(math.NaN()), finite(math.Inf(1))); got != "<nil> <nil>" {
		t.Errorf("NaN and ∞ become %s, want null", got)
	}
}
