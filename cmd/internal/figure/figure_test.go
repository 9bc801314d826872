package figure

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"soiljoule/cases"
)

var update = flag.Bool("update", false, "rewrite the golden images in testdata")

// everyFive returns days 0, 5, … up to end.
func everyFive(end float64) []float64 {
	var d []float64
	for t := 0.0; t <= end; t += 5 {
		d = append(d, t)
	}
	return d
}

// coarse is a resolution [1/in] for tests that need pictures, not fine ones: at
// 60 a letter is still ten dots high, so a moved label shows.
const coarse = 60

// coarsest is for those that only count files: nothing can be read at it.
const coarsest = 16

func paved() invented { return invented{sectionCase(), everyFive(70), 1} }
func deep() invented {
	return invented{roundCase(), append([]float64{0, 0.5}, everyFive(60)[1:]...), 1}
}

// TestDrawAll draws every figure of runs of every kind, the degenerate ones
// included, and holds each file to being whole.
func TestDrawAll(t *testing.T) {
	bare := paved()
	bare.c.Layers, bare.c.Electrodes, bare.c.Changes = nil, nil, nil
	bare.c.Site.WaterTable = math.Inf(1)
	crowded := paved()
	crowded.c.Title = strings.Repeat("a title longer than a line ", 5)
	crowded.c.Sensors = nil
	for i := range 8 {
		s := cases.Sensor{Name: fmt.Sprintf("String %d", i+1), X: float64(10 + i)}
		for z := 1.0; z < 10; z++ {
			s.Depths, s.Labels = append(s.Depths, z), append(s.Labels, fmt.Sprintf("%s@%gm", s.Name, z))
		}
		crowded.c.Sensors = append(crowded.c.Sensors, s)
	}
	for name, n := range map[string]invented{
		"section":        paved(),
		"axisymmetric":   deep(),
		"plan":           {planCase(), everyFive(60), 1},
		"never heated":   {sectionCase(), everyFive(70), 0},
		"one field":      {sectionCase(), []float64{70}, 1},
		"only the start": {roundCase(), []float64{0}, 0},
		"bare case":      bare,
		"crowded case":   crowded,
		"moving table":   moving(),
	} {
		for _, units := range []string{"si", "us"} {
			if units == "us" && name != "section" && name != "axisymmetric" {
				continue
			}
			t.Run(name+" "+units, func(t *testing.T) {
				t.Parallel()
				dir := writeFolder(t, n)
				resolution := coarse
				if name == "section" && units == "si" { // the files as a run has them
					resolution = dpi
				}
				files, err := drawAt(t.Context(), resolution, dir, n.c, Options{Units: units})
				if err != nil {
					t.Fatal(err)
				}
				var want []string
				for _, figure := range namesOf(n) {
					for _, ext := range []string{".png", ".svg", ".csv"} {
						want = append(want, filepath.Join(dir, "figures", figure+ext))
					}
				}
				if !slices.Equal(files, want) {
					t.Fatalf("Draw returned %v, want %v", files, want)
				}
				there, err := filepath.Glob(filepath.Join(dir, "figures", "*"))
				if err != nil || len(there) != len(want) {
					t.Errorf("figures/ holds %v, want %d files and no temporary one", there, len(want))
				}
				for _, f := range files {
					checkWhole(t, f, resolution)
				}
			})
		}
	}
}

// namesOf returns the figures that an invented run has.
func namesOf(n invented) []string {
	c := n.c
	return slices.DeleteFunc(Names(), func(name string) bool {
		switch name {
		case "plan", "days", "power":
			return c.View != cases.Plan
		case "section":
			return c.View == cases.Plan
		case "surface":
			return c.View == cases.Plan || len(c.Electrodes) == 0
		case "steam", "water":
			return n.power == 0
		case "saturation": // what dries lies at electrodes
			return n.power == 0 || len(n.days) < 2 || len(c.Electrodes) == 0
		case "cool": // on to the end
			return true
		}
		return false
	})
}

// TestPlanDrawsWhatIsThere: plan.csv holds the cells of the picture by their places, and
// a plan asked for its section says why it has none.
func TestPlanDrawsWhatIsThere(t *testing.T) {
	n := invented{planCase(), []float64{0, 30, 60}, 1}
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"plan"}}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "plan.csv"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	head := slices.IndexFunc(lines, func(l string) bool { return l == "x_m,y_m,day_30_C,day_60_C" })
	if head < 0 {
		t.Fatalf("plan.csv begins %q, want the columns x_m,y_m,day_30_C,day_60_C", lines[:min(3, len(lines))])
	}
	for _, l := range lines[head+1:] {
		var x, y, early, late float64
		if _, err := fmt.Sscanf(l, "%g,%g,%g,%g", &x, &y, &early, &late); err != nil {
			t.Fatalf("%q: %v", l, err)
		}
		// The file has six digits or more of temperatures below 115 °C.
		if want := inventedTemperature(n, x, y, 60); math.Abs(late-want) > 1e-2 {
			t.Fatalf("at %g, %g on day 60 plan.csv holds %g °C, the field %g", x, y, late, want)
		}
	}
	for _, name := range []string{"section", "surface"} {
		if _, err := Draw(t.Context(), dir, n.c, Options{Only: []string{name}}); !errors.Is(err, errNothing) {
			t.Errorf("a plan asked for %s says %v, want that there is nothing to draw", name, err)
		}
	}
}

// checkWhole fails unless a file reads to its end as what its name says.
func checkWhole(t *testing.T, path string, resolution int) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	switch filepath.Ext(path) {
	case ".png":
		img, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if got, want := img.Bounds().Dx(), 13*resolution/2; got != want {
			t.Errorf("%s is %d dots wide, want %d over 6.5 in", path, got, want)
		}
	case ".svg":
		d := xml.NewDecoder(bytes.NewReader(data))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
		}
		name := strings.TrimSuffix(filepath.Base(path), ".svg")
		for _, want := range []string{"case 01234567", "data " + name + ".csv"} {
			if !bytes.Contains(data, []byte(want)) {
				t.Errorf("%s does not say %q", path, want)
			}
		}
		data = regexp.MustCompile(`"data:[^"]*"`).ReplaceAll(data, nil) // letters of an image mean nothing
		for _, never := range []string{"NaN", "Inf"} {
			if bytes.Contains(data, []byte(never)) {
				t.Errorf("%s says %s", path, never)
			}
		}
	case ".csv":
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		least := 2
		if filepath.Base(path) == "layout.csv" { // of a case without electrodes
			least = 1
		}
		if err != nil || len(rows) < least {
			t.Errorf("%s: %d rows, %v; want a header and a row at least", path, len(rows), err)
		}
	}
}

func TestDrawTwiceIsByteEqual(t *testing.T) {
	if testing.Short() {
		t.Skip("draws every figure four times")
	}
	for i, n := range []invented{deep(), paved()} {
		if !long && i > 0 {
			continue
		}
		dir := writeFolder(t, n)
		read := func() map[string][]byte {
			o := Options{}
			if !long {
				o.Only = []string{"section", "profiles", "ledger", "steam"}
			}
			files, err := Draw(t.Context(), dir, n.c, o)
			if err != nil {
				t.Fatal(err)
			}
			all := map[string][]byte{}
			for _, f := range files {
				if all[f], err = os.ReadFile(f); err != nil {
					t.Fatal(err)
				}
			}
			return all
		}
		first, second := read(), read()
		for f := range first {
			if !bytes.Equal(first[f], second[f]) {
				t.Errorf("%s: %s differs between two drawings of one folder", n.c.Title, filepath.Base(f))
			}
		}
	}
}

// TestDataBesideFigure: each CSV holds the numbers of the folder that its figure
// draws.
func TestDataBesideFigure(t *testing.T) {
	n := paved()
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{}); err != nil {
		t.Fatal(err)
	}
	f := &folder{dir: dir, c: n.c}
	read := func(name string) *table {
		tab, err := f.readTable(name)
		if err != nil {
			t.Fatal(err)
		}
		return tab
	}
	for name, want := range map[string]string{
		"sensors":  "time_d,T1@4ft_C,T1@8ft_C,T1@10.5ft_C,T1@13ft_C,T1@16ft_C,T2@4ft_C,T2@8ft_C,T2@10.5ft_C,T2@13ft_C,T2@16ft_C,T3@4ft_C,T3@10.5ft_C,T3@16ft_C",
		"profiles": "depth_m,day_0_C,day_10_C,day_25_C,day_35_C,day_45_C,day_60_C,day_70_C,boiling_C",
		"section":  "x_m,depth_m,day_25_C,day_45_C,day_70_C",
		"share":    "time_d,share_1_percent",
		"ledger":   "time_d,energy_and_water_in_kWh,stored_target_kWh,stored_outside_kWh,captured_kWh,surface_kWh,held_kWh,loss_surface_kWh,loss_below_kWh,loss_sides_kWh,carried_by_water_kWh",
		"supply":   "time_d,power_kW,voltage_V,current_max_A,power_limit_kW,voltage_set_V,current_limit_A",
		"surface":  "time_d,x_m,potential_V,step_V_per_m",
		// Without what is zero throughout: nothing is held and no rain falls.
		"steam":      "time_d,steam_kg_per_h,captured_kg_per_h,surface_kg_per_h,condensing_kg_per_h,steam_kg,captured_kg,surface_kg,condensed_kg,pore_volumes_boiled",
		"water":      "time_d,recharge_kg,added_kg,steam_kg,to_groundwater_kg,stored_kg,residual_kg",
		"saturation": "x_m,depth_m,day_0,day_35,day_70",
	} {
		if got := strings.Join(read("figures/"+name+".csv").names, ","); got != want {
			t.Errorf("%s.csv has the columns\n%s, want\n%s", name, got, want)
		}
	}
	same := func(name string, got, want []float64, scale float64) {
		t.Helper()
		if len(got) != len(want) {
			t.Fatalf("%s: %d rows, want %d", name, len(got), len(want))
		}
		for i := range got {
			// Ten digits are written: half a unit of the tenth.
			if math.Abs(got[i]-scale*want[i]) > 1e-9*math.Abs(scale*want[i]) {
				t.Errorf("%s row %d = %g, want %g", name, i+1, got[i], scale*want[i])
				return
			}
		}
	}
	col := func(tab *table, name string) []float64 {
		t.Helper()
		c, err := tab.column(name)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	same("share.csv", col(read("figures/share.csv"), "share_1_percent"), col(read("history.csv"), "share_at_target"), 100)
	same("ledger.csv", col(read("figures/ledger.csv"), "stored_target_kWh"), col(read("balance.csv"), "stored_target_kWh"), 1)
	same("ledger.csv", col(read("figures/ledger.csv"), "surface_kWh"), col(read("steam.csv"), "surface_kWh"), 1)
	same("steam.csv", col(read("figures/steam.csv"), "condensing_kg_per_h"), col(read("steam.csv"), "condensing_kg_per_h"), 1)
	same("water.csv", col(read("figures/water.csv"), "stored_kg"), col(read("water.csv"), "stored_kg"), 1)
	same("sensors.csv", col(read("figures/sensors.csv"), "T2@8ft_C"), col(read("sensors.csv"), "T2@8ft_C"), 1)
	same("supply.csv", col(read("figures/supply.csv"), "power_kW"), col(read("history.csv"), "power_kW"), 1)
	sec := read("figures/section.csv")
	x, z, hot := col(sec, "x_m"), col(sec, "depth_m"), col(sec, "day_70_C")
	want := make([]float64, len(x))
	for i := range x {
		want[i] = inventedTemperature(n, x[i], z[i], 70)
	}
	same("section.csv", hot, want, 1)
	wet := read("figures/saturation.csv")
	x, z = col(wet, "x_m"), col(wet, "depth_m")
	for i := range x {
		want[i] = inventedSaturation(n, x[i], z[i], 35)
	}
	same("saturation.csv", col(wet, "day_35"), want, 1)
}

func TestDrawOnly(t *testing.T) {
	n := paved()
	dir := writeFolder(t, n)
	files, err := Draw(t.Context(), dir, n.c, Options{Only: []string{"share", "ledger"}})
	if err != nil || len(files) != 6 {
		t.Errorf("Draw of two figures wrote %v, %v; want six files", files, err)
	}
	for _, c := range []struct {
		opt  Options
		want string
	}{
		{Options{Only: []string{"shares"}}, "shares: unknown figure; known are sensors, profiles, section, plan, days, power, share, ledger, steam, water, saturation, cool, supply, surface, layout"},
		{Options{Units: "metric"}, "units = metric: must be si or us"},
	} {
		if files, err := Draw(t.Context(), dir, n.c, c.opt); err == nil || err.Error() != c.want || files != nil {
			t.Errorf("Draw with %+v gave %v and %q, want %q", c.opt, files, err, c.want)
		}
	}
}

// TestNothingToDraw: a figure without anything to show is left out, and an error
// only if it was asked for.
func TestNothingToDraw(t *testing.T) {
	n := paved()
	n.c.Sensors = nil
	dir := writeFolder(t, n)
	files, err := drawAt(t.Context(), coarse, dir, n.c, Options{})
	if err != nil || len(files) != 3*(len(namesOf(n))-1) {
		t.Errorf("without sensors Draw gave %d files, %v; want all other figures of the view", len(files), err)
	}
	if _, err := os.Stat(filepath.Join(dir, "figures", "sensors.png")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("sensors.png: %v, want it absent", err)
	}
	want := "figure sensors: the case has no sensors: nothing to draw"
	if _, err := Draw(t.Context(), dir, n.c, Options{Only: []string{"sensors"}}); err == nil || err.Error() != want {
		t.Errorf("asked for by name: %v, want %q", err, want)
	}
}

// TestBrokenFolder: whatever is wrong with a file, Draw says which file, draws
// the figures that do not need it, and does not panic.
func TestBrokenFolder(t *testing.T) {
	n := paved()
	cut := func(t *testing.T, dir, name string, keep int) {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		writeFile(t, dir, name, data[:min(keep, len(data))])
	}
	remove := func(t *testing.T, dir, name string) {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name, file string
		harm       func(t *testing.T, dir, file string)
		says       string
		drawn      int // figures that do not depend on it
	}{
		{"no run.json", "run.json", remove, "does not exist", 0},
		{"cut run.json", "run.json", func(t *testing.T, dir, f string) { cut(t, dir, f, 10) }, "unexpected end", 0},
		{"no hash", "run.json", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("{}")) }, "no case_hash", 0},
		{"no history", "history.csv", remove, "does not exist", 9},
		{"empty history", "history.csv", func(t *testing.T, dir, f string) { cut(t, dir, f, 0) }, "empty file", 9},
		{"header only", "history.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,power_kW\n")) }, "no rows", 9},
		{"a missing column", "history.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,power_kW\n0,1\n")) }, "no column", 9},
		{"a word for a number", "balance.csv", func(t *testing.T, dir, f string) {
			writeFile(t, dir, f, []byte("time_d,energy_in_kWh\n0,0\n1,many\n"))
		}, ":3: energy_in_kWh = many: must be a number", 10},
		{"time runs back", "balance.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,energy_in_kWh\n2,0\n1,0\n")) }, ":3: time_d = 1: must be finite and not less", 10},
		{"a ragged row", "balance.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,energy_in_kWh\n0\n")) }, "wrong number of fields", 10},
		{"no summary", "summary.json", remove, "does not exist", 9},
		{"no index", "fields/index.json", remove, "does not exist", 8},
		{"a cut field", "fields/temperature_0070d.npy", func(t *testing.T, dir, f string) { cut(t, dir, f, 1000) }, "cut off", 9},
		{"a cut header", "fields/temperature_0070d.npy", func(t *testing.T, dir, f string) { cut(t, dir, f, 40) }, "", 9},
		{"another mesh's field", "fields/temperature_0070d.npy", func(t *testing.T, dir, f string) { writeNpy(t, dir, f, make([]float64, 6), 2, 3) }, "the mesh has", 9},
		{"edges out of order", "mesh/z_edges.npy", func(t *testing.T, dir, f string) { writeNpy(t, dir, f, []float64{0, 2, 1}) }, "edge 3 = 1 m: must be finite and > 2 m", 8},
		{"no surface", "surface.csv", remove, "does not exist", 10},
		{"another view's surface", "surface.csv", func(t *testing.T, dir, f string) {
			writeFile(t, dir, f, []byte("time_d,r_m,potential_V,step_V_per_m\n0,1,2,3\n"))
		}, "no column x_m", 10},
		{"a missing sensor", "sensors.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,T1@4ft_C\n0,13\n")) }, "no column T1@8ft_C", 10},
		{"no steam", "steam.csv", remove, "does not exist", 9},
		{"steam without its ways", "steam.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,steam_kg_per_h\n0,1\n")) }, "no column captured_kg", 9},
		{"other steps' steam", "steam.csv", func(t *testing.T, dir, f string) {
			steam, _ := inventedWater(n, make([]float64, inventedSteps+1))
			writeFile(t, dir, f, append(bytes.ReplaceAll(steam, []byte(",0,0,0,0,"), []byte(",1,1,0,0,")), "71,1,1,1,1,0,0,0,1,1,1,1,1,1,1,1,1,1\n"...))
		}, "its days are not those of balance.csv", 10},
		{"no water", "water.csv", remove, "does not exist", 10},
		{"water without its rain", "water.csv", func(t *testing.T, dir, f string) { writeFile(t, dir, f, []byte("time_d,recharge_kg\n0,1\n")) }, "no column rain_kg", 10},
		{"a cut saturation", "fields/saturation_0035d.npy", func(t *testing.T, dir, f string) { cut(t, dir, f, 1000) }, "cut off", 10},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := writeFolder(t, n)
			c.harm(t, dir, c.file)
			files, err := drawAt(t.Context(), coarsest, dir, n.c, Options{})
			if err == nil || !strings.Contains(err.Error(), c.file) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("error %v, want one that names %s and says %q", err, c.file, c.says)
			}
			if len(files) != 3*c.drawn {
				t.Errorf("%d files, want the %d figures that do not need %s: %v", len(files), c.drawn, c.file, files)
			}
			for _, f := range files {
				checkWhole(t, f, coarsest)
			}
		})
	}
}

// TestNumbersMissing: gaps and fields without a number give gaps or a reason.
func TestNumbersMissing(t *testing.T) {
	n := paved()
	dir := writeFolder(t, n)
	nan := make([]float64, 0)
	x, z := inventedEdges(n.c)
	for range (len(x) - 1) * (len(z) - 1) {
		nan = append(nan, math.NaN())
	}
	for _, d := range n.days {
		writeNpy(t, dir, fmt.Sprintf("fields/temperature_%04gd.npy", d), nan, len(z)-1, len(x)-1)
	}
	writeNpy(t, dir, "fields/boiling_point.npy", nan, len(z)-1, len(x)-1)
	writeFile(t, dir, "history.csv", []byte("time_d,power_kW,voltage_V,current_max_A,share_at_target\n0,,,,\n1,,NaN,,\n"))
	// The ledger has no gaps: the heat of steam, in the last four columns, is there.
	for name, kept := range map[string]int{"steam.csv": 4, "water.csv": 0} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSpace(string(data)), "\n")
		for i, empty := range map[int]string{2: "", len(lines) - 1: "NaN"} {
			cells := strings.Split(lines[i], ",")
			for j := 1; j < len(cells)-kept; j++ {
				cells[j] = empty
			}
			lines[i] = strings.Join(cells, ",")
		}
		writeFile(t, dir, name, []byte(strings.Join(lines, "\n")))
	}
	writeNpy(t, dir, "fields/saturation_0035d.npy", nan, len(z)-1, len(x)-1)
	writeFile(t, dir, "surface.csv", []byte("time_d,x_m,potential_V,step_V_per_m\n0,1,,NaN\n0,2,,\n0,3,1,\n0,4,2,1\n0,5,3,0\n1,1,,NaN\n"))
	files, err := drawAt(t.Context(), coarse, dir, n.c, Options{})
	if err != nil {
		t.Error(err)
	}
	for _, f := range files {
		checkWhole(t, f, coarse)
	}
}

// TestCutNpy: a .npy file cut anywhere is an error, never a panic.
func TestCutNpy(t *testing.T) {
	dir := t.TempDir()
	writeNpy(t, dir, "whole.npy", []float64{1, 2, 3, 4, 5, 6}, 2, 3)
	data, err := os.ReadFile(filepath.Join(dir, "whole.npy"))
	if err != nil {
		t.Fatal(err)
	}
	f := &folder{dir: dir}
	if v, shape, err := f.readNpy("whole.npy"); err != nil || !slices.Equal(v, []float64{1, 2, 3, 4, 5, 6}) || !slices.Equal(shape, []int{2, 3}) {
		t.Fatalf("whole file: %v, shape %v, %v", v, shape, err)
	}
	for n := range data {
		writeFile(t, dir, "cut.npy", data[:n])
		if _, _, err := f.readNpy("cut.npy"); err == nil {
			t.Errorf("cut after %d of %d bytes: no error", n, len(data))
		}
	}
}

func TestUnfinishedRunSaysSo(t *testing.T) {
	n := paved()
	dir := writeFolder(t, n)
	writeJSON(t, dir, "run.json", map[string]any{"case_hash": "sha256:fedcba9876543210", "finished": false})
	if _, err := Draw(t.Context(), dir, n.c, Options{Only: []string{"share"}}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "share.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"unfinished run", "case fedcba98"} {
		if !bytes.Contains(data, []byte(want)) {
			t.Errorf("share.svg does not say %q", want)
		}
	}
}

// TestIndexAsWritten: fields of no one time have null for their day.
func TestIndexAsWritten(t *testing.T) {
	var list []entry
	if err := json.Unmarshal([]byte(`[{"file":"boiling_point.npy","quantity":"boiling_point","unit":"degC","time_d":null,"shape":[2,3]}]`), &list); err != nil || list[0].Days != nil {
		t.Errorf("entry %+v, %v; want no day", list, err)
	}
}

// TestGolden compares some figures, dot by dot, with images that a person has
// looked at. Rounding of sums differs between processors, so only there where
// the images were made.
func TestGolden(t *testing.T) {
	if testing.Short() {
		t.Skip("draws every golden figure")
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("the golden images were made on amd64")
	}
	seen := invented{planCase(), everyFive(60), 1}
	withMetal := invented{planCase(), []float64{0, 60}, 1}
	withMetal.c.Heats = nil
	withMetal.c.Conductors = []cases.Conductor{drum(12.5, 7.5, 0.28), drum(9.5, 6, 0.9), wall("pipe", 2, 40, 2, 2.3), wall("sheet wall", 17, 17.3, 4, 10)}
	for name, n := range map[string]invented{"profiles": paved(), "section": paved(), "ledger": deep(), "surface": paved(),
		"steam": paved(), "water": paved(), "saturation": deep(),
		"layout": paved(), "plan": seen, "days": seen, "power": seen, "profiles-plan": seen, "layout-plan": seen, "layout-metal": withMetal} {
		t.Run(name, func(t *testing.T) {
			dir := writeFolder(t, n)
			f, err := openFolder(dir, n.c)
			if err != nil {
				t.Fatal(err)
			}
			s := newStyle(n.c.Output.Units)
			figure, _, _ := strings.Cut(name, "-")
			var d *drawing
			for _, k := range kinds() {
				if k.name == figure {
					if d, err = k.make(f, s); err != nil {
						t.Fatal(err)
					}
				}
			}
			got := d.image(s, coarse)
			path := filepath.Join("testdata", name+".png")
			if *update {
				data, err := d.png(s, coarse)
				if err != nil {
					t.Fatal(err)
				}
				if err := os.MkdirAll("testdata", 0o777); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, data, 0o666); err != nil {
					t.Fatal(err)
				}
				return
			}
			file, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			want, err := png.Decode(file)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, name, got, want)
		})
	}
}

// compare fails with the place and number of differing dots, and leaves the new
// image and one of the differences in the test's artifacts.
func compare(t *testing.T, name string, got, want image.Image) {
	t.Helper()
	if got.Bounds() != want.Bounds() {
		t.Fatalf("%s is %v, the golden image %v; look at it and run with -update if it is right", name, got.Bounds(), want.Bounds())
	}
	diff := image.NewGray(got.Bounds())
	count := 0
	var where image.Rectangle
	for y := got.Bounds().Min.Y; y < got.Bounds().Max.Y; y++ {
		for x := got.Bounds().Min.X; x < got.Bounds().Max.X; x++ {
			diff.SetGray(x, y, color.Gray{255})
			if color.RGBAModel.Convert(got.At(x, y)) != color.RGBAModel.Convert(want.At(x, y)) {
				count++
				diff.SetGray(x, y, color.Gray{0})
				where = where.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	if count == 0 {
		return
	}
	for suffix, img := range map[string]image.Image{"": got, "-difference": diff} {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		writeFile(t, t.ArtifactDir(), name+suffix+".png", b.Bytes())
	}
	t.Errorf("%s differs from its golden image in %d dots within %v; images in %s (kept with -artifacts); run with -update if it is right", name, count, where, t.ArtifactDir())
}

// TestShareNamesEachTarget: with several targets, each curve has its own
// temperature, and every threshold says whose it is.
func TestShareNamesEachTarget(t *testing.T) {
	n := paved()
	n.c.Targets = append(n.c.Targets,
		cases.Target{Name: "hot spot", Left: 35 * ft, Right: 55 * ft, Top: 9 * ft, Bottom: 12 * ft, Temperature: 360.15, Share: 0.9},
		cases.Target{Name: "core", Left: 40 * ft, Right: 50 * ft, Top: 10 * ft, Bottom: 12 * ft, Temperature: math.NaN(), Boiling: true, Share: 0.9})
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"share"}, Units: "si"}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "share.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Share of each target at its temperature", "hot spot,", "87 °C (189 °F)", "95 °C (203 °F)", ">boiling<"} {
		if !bytes.Contains(data, []byte(want)) {
			t.Errorf("share.svg does not say %q", want)
		}
	}
	// Once at its curve, and once at each of 50, 90 and 100 %.
	if got := bytes.Count(data, []byte("silt zone,")); got != 4 {
		t.Errorf("share.svg names the first target %d times, want 4", got)
	}
}
