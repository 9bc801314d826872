//dossier:chapter A measured test: a heated rod in sand

package validation

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"sort"
	"strconv"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

const (
	heatedRodCase = "testdata/field/heated-rod.toml"
	rodRecord     = "Cimmino & Bernier (2015), Geothermics 56, 60: record read in the validation data of an open building-energy model library"
	ringsOf       = "boundary elements, testdata/field/rod_boundary.py"
)

// readColumns reads numbers of a CSV by column; what is no number is NaN.
func readColumns(t *testing.T, file string) map[string][]float64 {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]float64{}
	for i, name := range rows[0] {
		for _, row := range rows[1:] {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				v = math.NaN()
			}
			out[name] = append(out[name], v)
		}
	}
	return out
}

// rodRun is a run of the heated rod: the mean rise over its wall [K] by hour.
type rodRun struct {
	hours, rise []float64
	steps       int
	energy      float64 // [J] in, by the ledger
}

// rodReports is a function that takes reports.
type rodReports func(*solver.Report)

func (f rodReports) Record(r *solver.Report) error { f(r); return nil }

// heatedRod runs the case file with settings, as `run --set` would.
func heatedRod(t *testing.T, sets ...string) *rodRun {
	t.Helper()
	c, err := cases.Load(heatedRodCase, sets)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	h := c.Heats[0]
	g := p.Ground.Grid
	rod := g.Box("", 0, h.Radius, h.Top, h.Bottom)
	out := &rodRun{}
	rep, err := solver.Run(context.Background(), p, rodReports(func(r *solver.Report) {
		mean := 0.0
		for k := rod.K0; k < rod.K1; k++ {
			mean += (g.Z[k+1] - g.Z[k]) * r.State.T[g.Index(rod.I1-1, k)]
		}
		out.hours = append(out.hours, r.State.Time/3600)
		out.rise = append(out.rise, mean/(h.Bottom-h.Top)-c.Site.Ambient)
	}))
	if err != nil {
		t.Fatal(err)
	}
	out.steps, out.energy = rep.Stats.Steps, rep.Ledger.In
	return out
}

// at returns the rise at an hour at which a step ends.
func (r *rodRun) at(t *testing.T, hour float64) float64 {
	t.Helper()
	i := sort.SearchFloat64s(r.hours, hour-1e-6)
	if i == len(r.hours) || math.Abs(r.hours[i]-hour) > 1e-6 {
		t.Fatalf("no step of the heated rod ends at %g h", hour)
	}
	return r.rise[i]
}

// coarseRod is the case on cells twice as long, which stays within a few seconds.
var coarseRod = []string{"mesh.finest=1.2 mm", "mesh.growth=1.3"}

// TestHeatedRodWarmsAsMeasured: a pipe heated by its metered power for 168 h in dry
// sand warms its wall as 22 thermocouples on it say.
// Source: Cimmino & Bernier (2015), as the rows of heated-rod.csv tell; the set-up in
// heated-rod.toml. Geometry, the sand's conductivity and capacity, and the power are as
// stated there; nothing is fitted.
// The bar is the set-up's: ±5 % of conductivity (not stated whether measured apart) is
// 2.2 K at the end, ±10 % of capacity 0.4 K at 5 h, a surface cooled by air and not held
// 1.6 K, together 2.7 K as root of their squares: 1.2 K is less than half of that.
// Before 5 h, 2 K: the pipe and its
// fluid have a heat capacity that is not stated. Before 1 h nothing is compared.
//
// Held as well is the equation, apart from the set-up: the same rod by boundary
// elements, which have no mesh of the ground and no time steps (rod_boundary.csv; its
// own error, by fewer rings, is in its second column). The bar of 0.21 K is half a per
// cent of the rise at the end.
//
// A finite-volume solution made for this comparison elsewhere stands in the table
// beside, and is not held: it lies 0.2 to 0.6 K above the boundary elements, and at
// 168 h above what the mean power of the last day keeps up for ever, 4.736 K/W times
// that mean, as summed below. That is a sign and no bound: the power of the last hour,
// which the wall feels most, is 1 % above the day's mean.
func TestHeatedRodWarmsAsMeasured(t *testing.T) {
	r := heatedRod(t, coarseRod...)
	record := readColumns(t, "testdata/field/heated-rod.csv")
	bars := readColumns(t, "testdata/field/heated-rod-check.csv")
	rings := readColumns(t, "testdata/field/rod_boundary.csv")

	var rows [][]string
	most, at := 0.0, 0.0 // from the finite volumes made elsewhere
	for i, hour := range bars["time_h"] {
		got := r.at(t, hour)
		claim := fmt.Sprintf("rise of the rod's wall at %g h", hour)
		hold(t, check{claim, rodRecord, got, bars["measured_rise_K"][i], "K", bars["measured_bar_K"][i]})
		if rings["time_h"][i] != hour {
			t.Fatalf("row %d of rod_boundary.csv is for %g h, not %g h", i+1, rings["time_h"][i], hour)
		}
		hold(t, check{claim, ringsOf, got, rings["rise_K"][i], "K", bars["model_bar_K"][i]})
		if d := got - bars["reference_isothermal_K"][i]; math.Abs(d) > math.Abs(most) {
			most, at = d, hour
		}
		cell := func(v float64) string { return fmt.Sprintf("%.2f", v) }
		rows = append(rows, []string{fmt.Sprintf("%g", hour), cell(bars["measured_rise_K"][i]), cell(got), cell(rings["rise_K"][i]),
			cell(bars["reference_isothermal_K"][i]), cell(bars["reference_uniform_flux_K"][i])})
	}
	table(t, "Rise of the wall of the heated rod [K]. The finite-volume solutions were made for this comparison elsewhere; the one of uniform flux is an upper bound.",
		[]string{"hour", "measured", "program", "boundary elements", "finite volumes", "finite volumes, uniform flux"}, rows)

	last := len(record["time_s"]) - 1
	mean := 0.0 // [W] of the last day
	for i := last; i > 0 && record["time_s"][i] > record["time_s"][last]-day; i-- {
		mean += (record["time_s"][i] - record["time_s"][i-1]) * (record["power_W"][i] + record["power_W"][i-1]) / 2 / day
	}
	atRest := rings["rise_K"][slices.IndexFunc(rings["time_h"], func(h float64) bool { return math.IsInf(h, 1) })]
	keepsUp, elsewhere := atRest*mean, bars["reference_isothermal_K"][len(bars["time_h"])-1]
	t.Logf("the last day's mean power is %.4f W, which keeps up %.2f K; finite volumes made elsewhere have %.2f K at 168 h", mean, keepsUp, elsewhere)
	hold(t, check{"by how much the finite volumes made elsewhere at 168 h fall short of what the last day's mean power keeps up for ever", "boundary elements at rest, and trapezoids of the record",
		math.Max(0, keepsUp-elsewhere), 0, "K", 0})

	misses(t, "rise of the heated rod's wall against a finite-volume solution made for this comparison elsewhere", "0.21 K",
		fmt.Sprintf("up to %.2f K, at %g h; that solution lies above what the mean power of the last day keeps up for ever, %.2f K (%.4f K/W by boundary elements at rest), so boundary elements are held instead", most, at, keepsUp, atRest))

	// The record's own trapezoids, summed here row by row.
	want := 0.0
	for i := 1; i < len(record["time_s"]); i++ {
		want += (record["time_s"][i] - record["time_s"][i-1]) * (record["power_W"][i] + record["power_W"][i-1]) / 2
	}
	// Rounding of some thousand sums, 1e-13; the ledger is to hold the record to 1e-9.
	hold(t, check{"energy in of the metered power, by the ledger", "trapezoids of the record", r.energy / 1e6, want / 1e6, "MJ", 1e-9 * want / 1e6})

	var hours, misfit []float64
	for i, h := range r.hours {
		if h >= 1 {
			hours = append(hours, h)
			misfit = append(misfit, r.rise[i]-rowsAt(record["time_s"], record["rise_K"], h*3600))
		}
	}
	scaled := make([]float64, len(record["time_s"]))
	for i, s := range record["time_s"] {
		scaled[i] = s / 3600
	}
	draw(t, "heated-rod", "Rise of the wall of a heated rod in dry sand, measured and computed", "time [h]", "rise [K]", false,
		curve{"measured", scaled, record["rise_K"], false}, curve{"program", r.hours, r.rise, false},
		curve{"boundary elements", rings["time_h"][:len(bars["time_h"])], rings["rise_K"][:len(bars["time_h"])], true})
	draw(t, "heated-rod-misfit", "Program less measurement: the wall of a heated rod in dry sand", "time [h]", "misfit [K]", false,
		curve{"program − measured", hours, misfit, false},
		curve{"bar", []float64{1, 5, 5, 168}, []float64{2, 2, 1.2, 1.2}, false}, curve{"bar, below", []float64{1, 5, 5, 168}, []float64{-2, -2, -1.2, -1.2}, false})
}

// TestBoundaryElementsAgreeAtRest: the two boundary elements, which were written apart,
// give the heated rod the same rise at rest below an insulated surface: that of the
// rods that carry current, at σ for k, and that of the heated rod.
// Source: rod_boundary.csv, its row at rest, column insulated_K.
// Tolerance: what each changes by fewer panels, 12 to 6 a radius here and 64 to 40 along
// the side there (its column other_K, of the held surface), 3e-5 together; three times
// that, the safety factor where the order of convergence is not known (Roache, J. Fluids
// Eng. 133(11), 2011, 115501): 1e-4.
func TestBoundaryElementsAgreeAtRest(t *testing.T) {
	at := func(cells int) float64 {
		y := single(even(0.262), 0.019, 0.4, 0.00629, cells)
		return 1 / y.currents(t)[0]
	}
	rings := readColumns(t, "testdata/field/rod_boundary.csv")
	i := slices.IndexFunc(rings["time_h"], func(h float64) bool { return math.IsInf(h, 1) })
	want, got := rings["insulated_K"][i], at(12)
	changes := math.Abs(got/at(6)-1) + math.Abs(rings["other_K"][i]/rings["rise_K"][i]-1)
	hold(t, check{"rise at rest of the heated rod for 1 W, surface insulated, boundary elements of rods with current", ringsOf, got, want, "K", 3 * changes * want})
}

// rowsAt returns y at x, straight between rows.
func rowsAt(xs, ys []float64, x float64) float64 {
	i := min(max(sort.SearchFloat64s(xs, x), 1), len(xs)-1)
	return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
}

// TestSurfaceCoolsTheHeatedRod: insulating the surface warms the rod's wall by what
// boundary elements say: the loss through the surface is on, and of the right size.
// Here for the first day; the whole week is among the longer tests.
// Source: rod_boundary.csv, columns insulated_K less rise_K, for ground without end;
// the modelled ground ends 3 m away here.
// Tolerance: two runs on one mesh, whose errors of half a per cent (above) are shares
// of their rises: half a per cent of the warmer rise.
func TestSurfaceCoolsTheHeatedRod(t *testing.T) { holdSurface(t, 24) }

func holdSurface(t *testing.T, end float64) {
	duration := fmt.Sprintf("%g h", end)
	far := append([]string{"extent.radius=3 m", "domain.bottom=3 m", "time.duration=" + duration, "output.fields_every=" + duration, "output.fields_at=[]"}, append(coarseRod, "time.tolerance=0.05 K")...)
	held := heatedRod(t, far...)
	insulated := heatedRod(t, append(far, "surface.film=0.000001 W/m2/K")...)
	rings := readColumns(t, "testdata/field/rod_boundary.csv")
	i := slices.Index(rings["time_h"], end)
	hold(t, check{fmt.Sprintf("rise of the rod's wall at %g h that an insulated surface adds", end), ringsOf,
		insulated.at(t, end) - held.at(t, end), rings["insulated_K"][i] - rings["rise_K"][i], "K", 0.005 * rings["insulated_K"][i]})
}
