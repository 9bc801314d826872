package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/sbinet/npyio"
)

// TestPlanFolder: the folder of a plan has its edges along y, rows of fields from the
// least y on, cells in the first target that holds half of them, and its coldest place
// by x and y.
func TestPlanFolder(t *testing.T) {
	dir := t.TempDir()
	text := must(t, done, "new", "plan").out
	// A second target round the first's lower right corner, which cuts cells.
	const second = "[[target]]\nname = \"corner\"\ncenter = [\"60 ft\", \"0 ft\"]\nradius = \"13 ft\"\ntemperature = \"boiling\"\n[[array]]"
	file := write(t, dir, "plan.toml", strings.Replace(text, "[[array]]", second, 1))
	out := filepath.Join(dir, "out")
	o := must(t, done, "run", file, "-o", out, "--no-figures", "--set", "mesh.finest=2.5 ft", "--set", "time.duration=4 d")
	for _, name := range []string{"mesh/z_edges.npy", "surface.csv"} {
		if _, err := os.Stat(filepath.Join(out, filepath.FromSlash(name))); err == nil {
			t.Errorf("a plan's folder holds %s", name)
		}
	}
	array := func(name string) []float64 {
		t.Helper()
		data, err := os.Open(filepath.Join(out, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		defer data.Close()
		var v []float64
		if err := npyio.Read(data, &v); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return v
	}
	x, y := array("mesh/x_edges.npy"), array("mesh/y_edges.npy")
	nx, ny := len(x)-1, len(y)-1
	zone, layer, hot := array("mesh/zone.npy"), array("mesh/layer.npy"), array("fields/temperature_0004d.npy")
	if nx == ny || len(zone) != nx*ny || len(hot) != nx*ny {
		t.Fatalf("%d × %d cells, zone.npy has %d and the temperature %d; want them to agree and the two to differ", nx, ny, len(zone), len(hot))
	}
	if slices.Max(layer) != 0 || slices.Min(layer) != 0 {
		t.Errorf("layer.npy has values from %g to %g, want 0, the one slab", slices.Min(layer), slices.Max(layer))
	}
	const ft = 0.3048
	inL := func(x, y float64) bool { // the template's first target, in feet
		return x >= 0 && x <= 60 && y >= 0 && y <= 30 || x >= 30 && x <= 60 && y >= 0 && y <= 50
	}
	inCorner := func(x, y float64) bool { return math.Hypot(x-60, y) <= 13 }
	part := func(i, k int, in func(x, y float64) bool) float64 { // by 20 × 20 places in the cell
		const n, each = 20, 1.0 / 20
		sum := 0.0
		for a := range n {
			for b := range n {
				if in((x[i]+(x[i+1]-x[i])*(float64(a)+0.5)*each)/ft, (y[k]+(y[k+1]-y[k])*(float64(b)+0.5)*each)/ft) {
					sum++
				}
			}
		}
		return sum / (n * n)
	}
	coldest, at := math.Inf(1), 0
	for k := range ny {
		for i := range nx {
			a, b := part(i, k, inL), part(i, k, inCorner)
			// A side along the cell's is told to one of 20 places, a slanted one better.
			if math.Abs(a-0.5) < 0.1 || math.Abs(b-0.5) < 0.1 {
				continue
			}
			want := 0.0
			switch {
			case a > 0.5:
				want = 1
			case b > 0.5:
				want = 2
			}
			if got := zone[k*nx+i]; got != want {
				t.Fatalf("zone.npy has %g in row %d, column %d, x %.1f ft and y %.1f ft; want %g", got, k, i, (x[i]+x[i+1])/2/ft, (y[k]+y[k+1])/2/ft, want)
			}
			if want == 1 && hot[k*nx+i] < coldest {
				coldest, at = hot[k*nx+i], k*nx+i
			}
		}
	}
	var s map[string]any
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	if _, there := s["target_min_z_m"]; there {
		t.Error("summary.json of a plan has target_min_z_m")
	}
	number := func(key string) float64 {
		t.Helper()
		v, ok := s[key].(float64)
		if !ok {
			t.Fatalf("summary.json: %s = %v, want a number", key, s[key])
		}
		return v
	}
	i, k := at%nx, at/nx
	// The cell is the same one; its middle and its temperature are to rounding.
	for key, want := range map[string]float64{"target_min_x_m": (x[i] + x[i+1]) / 2, "target_min_y_m": (y[k] + y[k+1]) / 2, "target_min_C": coldest,
		// 60 × 30 ft and 30 × 20 ft of the 10 ft from 7 to 17 ft deep.
		"target_volume_m3": (60*30 + 30*20) * 10 * ft * ft * ft} {
		if got := number(key); math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("summary.json: %s = %.12g, want %.12g", key, got, want)
		}
	}
	for _, want := range []string{"left to the ground above ", "%, below ", ", y ", " at x ", "Ground above the slab at most ", " kWh of the steam are from there"} {
		if !strings.Contains(o.out, want) {
			t.Errorf("summary.txt does not say %q:\n%s", want, o.out)
		}
	}
	if head, _, _ := strings.Cut(read(t, out, "sensors.csv"), "\n"); head != "time_d,T1_C" {
		t.Errorf("sensors.csv has the columns %s, want time_d,T1_C", head)
	}
}
