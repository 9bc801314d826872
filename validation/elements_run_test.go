//go:build validate

//dossier:chapter A second program

package validation

import (
	"context"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// TestMeshTendsToFiniteElements: on meshes of h, h/2 and h/4 (growth's logarithm
// halved too, so every cell is) this program's powers and temperatures tend to the
// finite elements' until these's own error shows, and on the finest mesh every point
// is within 0.3 % of its own rise.
// Source: as TestFiniteElementsAgree. At a plate's corner the potential goes as
// r^(2/3), its energy on cells of equal shape as h^(4/3) (Strang & Fix (1973), An
// Analysis of the Finite Element Method, ch. 8, from memory); with the corners' factors
// that is of second order, as all else is, but for what the factors leave. Orders from
// 4/3 to 2 are therefore right, and the table's error, doubt in
// both, widens the band: an error e known to ±d makes log2 uncertain by d/(e ln 2).
func TestMeshTendsToFiniteElements(t *testing.T) {
	fine, half := elementsTables(t)
	inner, flanks := elementsPoints(t, fine)
	const last = 40.0
	var cells, power, temperature []float64
	var rows [][]string
	var got *elementsTable
	for i, sets := range [][]string{
		{"mesh.finest=4 cm", "mesh.growth=1.2"},
		{"mesh.finest=2 cm", fmt.Sprintf("mesh.growth=%.9f", math.Sqrt(1.2))},
		{"mesh.finest=1 cm", fmt.Sprintf("mesh.growth=%.9f", math.Sqrt(math.Sqrt(1.2)))},
	} {
		began := time.Now()
		var n int
		// In steps so short that their error is small beside that of the finest cells.
		got, n = elementsRun(t, fine, append(sets, "time.tolerance=0.005 K")...)
		t.Logf("h/%d: %d cells in %.1f s", 1<<i, n, time.Since(began).Seconds())
		sum := 0.0
		for _, p := range inner {
			sum += math.Pow(got.rise(t, p, last)/fine.rise(t, p, last)-1, 2)
		}
		cells = append(cells, float64(n))
		power = append(power, math.Abs(got.at(t, "power_W", last)/fine.at(t, "power_W", last)-1))
		temperature = append(temperature, math.Sqrt(sum/float64(len(inner))))
		worst, share := worstPoint(t, got, fine, append(inner, flanks...), elementsDays[0], nil)
		rows = append(rows, []string{[]string{"h", "h/2", "h/4"}[i], fmt.Sprintf("%d", n), fmt.Sprintf("%.4f", 100*power[i]), fmt.Sprintf("%.4f", 100*temperature[i]),
			fmt.Sprintf("%.3f at x = %g m, z = %g m", 100*share, worst.x, worst.z)})
	}
	holdElements(t, got, fine, inner, nil, "h/4")
	for _, d := range elementsDays {
		for _, p := range flanks { // fixed places of the table
			rise := fine.rise(t, p, d)
			hold(t, check{fmt.Sprintf("day %g, h/4: temperature rise at (%g, %g) m, beside the heated ground", d, p.x, p.z), elementsSource,
				got.rise(t, p, d), rise, "K", elementsBar*rise + elementsError(t, fine, half, p.column, d)})
		}
	}

	doubt := elementsError(t, fine, half, "power_W", last) / fine.at(t, "power_W", last)
	mean := 0.0
	for _, p := range inner {
		mean += elementsError(t, fine, half, p.column, last) / fine.rise(t, p, last) / float64(len(inner))
	}
	for _, e := range []struct {
		name  string
		err   []float64
		doubt float64
	}{{"power", power, doubt}, {"temperature rise, root mean square of the inner points,", temperature, mean}} {
		for i := range 2 {
			slack := e.doubt / math.Ln2 * (1/e.err[i] + 1/e.err[i+1])
			hold(t, check{fmt.Sprintf("order of the error in %s on day 40, from %s", e.name, []string{"h to h/2", "h/2 to h/4"}[i]), elementsSource,
				order(e.err[i], e.err[i+1]), (4./3 + 2) / 2, "", 1./3 + slack})
		}
	}
	table(t, "Two plates in three layers, day 40: this program's distance from finite elements", []string{"mesh", "cells", "power [%]", "rise, root mean square [%]", "worst point on day 10 [% of its rise]"}, rows)
	guide := func(e float64) []float64 {
		return []float64{e, e * math.Pow(cells[2]/cells[0], -2./3)}
	}
	draw(t, "elements-convergence", "Two plates in three layers: distance from finite elements", "cells", "share of the value on day 40", true,
		curve{Label: "power", X: cells, Y: power},
		curve{Label: "temperature rise", X: cells, Y: temperature},
		curve{Label: "order 4/3 in the cell's length", X: []float64{cells[0], cells[2]}, Y: guide(1.3 * power[0])})
}

// TestFiniteElementsAfresh: the script gives its table again, and this program
// agrees with the fresh run as with the table kept.
// Source: testdata/elements.edp, run here with FreeFEM.
// The run is of half the mesh and four times the step of the kept table, to end in
// half a minute. Its own error is what the same run, kept as elements_coarse.csv, is
// from the kept table, with that table's own on top: on each day the largest among
// the points of a group, and the largest share among powers and currents, because at one
// point or in one current the error may pass through zero. Another build's triangles may
// lie otherwise, which moves the answer by as much as its mesh error and no more.
func TestFiniteElementsAfresh(t *testing.T) {
	program, err := exec.LookPath("FreeFem++")
	if err != nil {
		t.Skip("no FreeFem++ here (Debian package freefem++): testdata/elements.edp is not run afresh, its table stands")
	}
	fine, half := elementsTables(t)
	coarse := readElements(t, "testdata/elements_coarse.csv")
	inner, flanks := elementsPoints(t, fine)
	file := filepath.Join(t.TempDir(), "fresh.csv")
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	began := time.Now()
	out, err := exec.CommandContext(ctx, program, "-nw", "-v", "0", "testdata/elements.edp", "-m", "1.5", "-dt", "1", "-out", file).CombinedOutput()
	if err != nil {
		t.Fatalf("FreeFem++ testdata/elements.edp: %v\n%s", err, out)
	}
	t.Logf("FreeFem++ in %.1f s: %s", time.Since(began).Seconds(), out)
	fresh := readElements(t, file)
	began = time.Now()
	got, cells := elementsRun(t, fine)
	t.Logf("this program in %.1f s on %d cells", time.Since(began).Seconds(), cells)

	own := func(column string, d float64) float64 {
		return math.Abs(coarse.at(t, column, d)-fine.at(t, column, d)) + elementsError(t, fine, half, column, d)
	}
	const keptTable = "the kept table, testdata/elements.csv"
	for _, d := range elementsDays {
		largest := func(points []point) float64 { // own error of a group [K]
			most := 0.0
			for _, q := range points {
				most = math.Max(most, own(q.column, d))
			}
			return most
		}
		share := 0.0
		for _, l := range elementsLoads {
			share = math.Max(share, own(l.column, d)/math.Abs(fine.at(t, l.column, d)))
		}
		t.Logf("day %g: the coarse finite elements are within %.2g K between the plates, %.2g K beside them, and %.2g %% of powers and currents", d, largest(inner), largest(flanks), 100*share)
		for _, group := range []struct {
			name   string
			points []point
		}{{"between the plates", inner}, {"beside the heated ground", flanks}} {
			var p point
			most := -1.0
			for _, q := range group.points {
				if r := math.Abs(fresh.rise(t, q, d) - fine.rise(t, q, d)); !(r <= most) {
					p, most = q, r
				}
			}
			t.Logf("day %g: of %d points %s (%g, %g) m is furthest off", d, len(group.points), group.name, p.x, p.z)
			hold(t, check{fmt.Sprintf("day %g: fresh run's rise at the point %s that is furthest off", d, group.name),
				keptTable, fresh.rise(t, p, d), fine.rise(t, p, d), "K", 2 * largest(group.points)})
		}
		for _, l := range elementsLoads {
			v := math.Abs(fine.at(t, l.column, d))
			hold(t, check{fmt.Sprintf("day %g: fresh run's %s", d, l.name), keptTable, fresh.at(t, l.column, d), fine.at(t, l.column, d), l.unit, 2 * share * v})
			hold(t, check{fmt.Sprintf("day %g: %s, this program against the fresh run", d, l.name), elementsSource, got.at(t, l.column, d), fresh.at(t, l.column, d), l.unit,
				(elementsBar + 2*share) * v})
		}
		for _, p := range inner {
			if a, b, most := got.rise(t, p, d), fresh.rise(t, p, d), 2*largest(inner); math.Abs(a-b) > elementsBar*b+most {
				t.Errorf("on day %g the rise at (%g, %g) m is %.5g K, want the fresh finite elements' %.5g K within 0.3 %% and twice their own error, %.3g K", d, p.x, p.z, a, b, most)
			}
		}
	}
}
