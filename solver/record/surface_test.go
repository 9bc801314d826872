package record

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// wired is the bench without its set power, with two plates in it that the settings
// feed.
func wired(t *testing.T, supply ...solver.Setting) *solver.Problem {
	t.Helper()
	p := bench(t)
	p.Imposed = nil
	g := p.Ground.Grid
	e, err := physics.NewElectric(g, []physics.Body{
		{Name: "A", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("A", 0, 1, 1, 2)},
		{Name: "B", Label: "B", Phase: -1, Rods: 1, Zone: g.Box("B", 2, 3, 2, 4)},
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	p.Electric, p.Supply = e, supply
	return p
}

func fed(at, volts float64) solver.Setting {
	return solver.Setting{At: at, Voltage: volts, PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1), On: true}
}

// finished runs a problem into a folder of its own, and returns the folder's plan.
func finished(t *testing.T, p *solver.Problem) Plan {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	plan := plan(dir)
	plan.SetPower = nil
	f, err := Create(plan, p)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(t.Context(), p, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	return plan
}

// recorded runs a problem into a folder and returns its summary.json and the rows of
// surface.csv, nil where there is none.
func recorded(t *testing.T, p *solver.Problem) (summary map[string]any, rows [][]float64) {
	t.Helper()
	dir := finished(t, p).Dir
	if err := json.Unmarshal([]byte(text(t, dir, "summary.json")), &summary); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, surfaceFile)); err != nil {
		return summary, nil
	}
	cells, err := csv.NewReader(strings.NewReader(text(t, dir, surfaceFile))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Join(cells[0], ","), "time_d,x_m,potential_V,step_V_per_m,gradient_V_per_m"; got != want {
		t.Errorf("surface.csv has the columns %s, want %s", got, want)
	}
	for _, line := range cells[1:] {
		var row []float64
		for _, c := range line {
			v, err := strconv.ParseFloat(c, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return summary, rows
}

// TestSurfaceIsFollowedBetweenOutputs: two hundred volts for a fifth of a day between two
// outputs show in the summary and not in surface.csv, which has the forty volts of its
// own times. Potentials are in proportion to the voltage in ground that hardly warms: some
// 0.1 K by 1 kW in 60 m³, 2 % a kelvin, so five times to within 1 %.
func TestSurfaceIsFollowedBetweenOutputs(t *testing.T) {
	s, rows := recorded(t, wired(t, fed(0, 40), fed(1.1*day, 200), fed(1.3*day, 40)))
	if len(rows) != 3*4 {
		t.Fatalf("surface.csv has %d rows, want the four columns at three times", len(rows))
	}
	var potential, step float64
	for i, r := range rows {
		potential, step = math.Max(potential, r[2]), math.Max(step, r[3])
		if wantTime, wantX := []float64{0, 0.5, 2}[i/4], []float64{0.5, 1.5, 2.5, 4}[i%4]; r[0] != wantTime || r[1] != wantX {
			t.Errorf("row %d is of day %g at %g m, want day %g at %g m", i+1, r[0], r[1], wantTime, wantX)
		}
	}
	for name, outputs := range map[string]float64{"potential_max_V": potential, "step_max_V_per_m": step} {
		got, _ := s["surface_"+name].(float64)
		kind, _, _ := strings.Cut(name, "_V")
		day, _ := s["surface_"+kind+"_day"].(float64)
		if outputs <= 0 || math.Abs(got-5*outputs) > 0.01*5*outputs || day < 1.1 || day > 1.3 {
			t.Errorf("summary.json has %s = %g on day %g, and surface.csv at most %g; want five times that between day 1.1 and 1.3", name, got, day, outputs)
		}
	}
}

// TestSurfaceIsThatOfTheFields: the voltage and step of a row follow from the potential
// in the two upper rows of the fields of its time. In even ground the surface is at
// V₀ − (V₁ − V₀) z₀²/(z₁² − z₀²), here V₀ − (V₁ − V₀)/8; over the plate in the second row
// the second node stands at its face, at 1 m, so it is V₀ − (V₁ − V₀)/3. Twelve digits.
func TestSurfaceIsThatOfTheFields(t *testing.T) {
	p := wired(t, fed(0, 40))
	var last []float64
	s, rows := recorded(t, p)
	r, err := solver.Run(t.Context(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		v0, v1, share := r.State.Re[i], r.State.Re[4+i], 1/8.
		if i == 0 {
			share = 1 / 3.
		}
		last = append(last, 40*(v0-(v1-v0)*share))
	}
	x := []float64{0.5, 1.5, 2.5, 4}
	for i, row := range rows[8:] {
		if want := math.Abs(last[i]); math.Abs(row[2]-want) > 1e-10*want {
			t.Errorf("at %g m the last row has %.12g V, want %.12g", x[i], row[2], want)
		}
		want := 0.0 // to the last node, and beyond it level
		if i < 2 {
			want = math.Abs(last[i+1] - last[i])
		} else if i == 2 {
			want = math.Abs(last[3]-last[2]) / 1.5
		}
		if math.Abs(row[3]-want) > 1e-10*40 {
			t.Errorf("at %g m the last row has a step of %.12g V/m, want %.12g", x[i], row[3], want)
		}
	}
	if s["surface_potential_max_x_m"] != 0.5 {
		t.Errorf("the largest potential is at %v m, want above the shallow plate, 0.5 m", s["surface_potential_max_x_m"])
	}
}

// TestSurfaceWithoutVoltage: without electrodes there is no surface.csv and the summary's
// values are null; electrodes without voltage leave zeros, at no place and time.
func TestSurfaceWithoutVoltage(t *testing.T) {
	keys := []string{"surface_potential_max_V", "surface_potential_max_day", "surface_potential_max_x_m", "surface_step_max_V_per_m", "surface_step_max_day", "surface_step_max_x_m"}
	s, rows := recorded(t, bench(t))
	for _, key := range keys {
		if v, there := s[key]; v != nil || !there || rows != nil {
			t.Errorf("without electrodes summary.json has %s = %v (there %v) and surface.csv %d rows, want null and no file", key, v, there, len(rows))
		}
	}
	s, rows = recorded(t, wired(t, fed(0, 0)))
	for i, key := range keys {
		var want any
		if i%3 == 0 {
			want = 0.0
		}
		if s[key] != want {
			t.Errorf("without voltage summary.json has %s = %v, want %v", key, s[key], want)
		}
	}
	for _, r := range rows {
		if r[2] != 0 || r[3] != 0 || r[4] != 0 {
			t.Errorf("without voltage surface.csv has the row %v, want zeros", r)
		}
	}
	if len(rows) == 0 {
		t.Error("without voltage surface.csv has no rows")
	}
}

// TestSurfaceIsThinned: of a mesh of many columns surface.csv keeps few hundred places, the
// ends and the electrodes that reach the surface among them.
func TestSurfaceIsThinned(t *testing.T) {
	for _, n := range []int{4, 299, 300, 301, 2000} {
		x := make([]float64, n+1)
		for i := range x {
			x[i] = float64(i)
		}
		p := bench(t)
		p.Ground.Grid = mesh.NewSection(x, []float64{0, 1, 2, 4}, 10)
		g := p.Ground.Grid
		e, err := physics.NewElectric(g, []physics.Body{{Name: "A", Phase: 1, Rods: 1, Zone: g.Box("A", 1, 3, 0, 1)}}, false)
		if err != nil {
			t.Fatal(err)
		}
		p.Electric = e
		places := newSurface(p).places
		has := map[int]bool{}
		for i, at := range places {
			has[at] = true
			if i > 0 && at <= places[i-1] {
				t.Fatalf("%d columns: places are not in order: %v", n, places)
			}
		}
		if len(places) > mostPlaces+3 || n <= mostPlaces && len(places) != n || !has[0] || !has[1] || !has[2] || !has[n-1] {
			t.Errorf("%s: %d places, want all up to %d, the ends and the electrode", fmt.Sprint(n, " columns"), len(places), mostPlaces)
		}
	}
}
