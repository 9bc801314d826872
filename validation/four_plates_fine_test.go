//dossier:chapter A second program

//go:build validate && unix

package validation

import (
	"context"
	"fmt"
	"math"
	"syscall"
	"testing"
	"time"

	"soiljoule/cases"
	"soiljoule/physics"
	"soiljoule/solver"
)

// platesRun runs the case in this process, changed, and returns what its sensors read at
// every step, and the cells.
func platesRun(t *testing.T, change func(*cases.Case)) (columns map[string][]float64, cells int) {
	t.Helper()
	c, err := cases.Load("../cases/four-plates.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	change(c)
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	var readings []*physics.Reading
	for _, q := range fourPlatesPoints {
		readings = append(readings, p.Ground.Reading(q.x, q.z))
	}
	columns = map[string][]float64{}
	steps, began, used := 0, time.Now(), processTime(t)
	if _, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
		columns["time_d"] = append(columns["time_d"], r.State.Time/day)
		for i, q := range fourPlatesPoints {
			name := plateSensor(q.x, q.z)
			columns[name] = append(columns[name], readings[i].Temperature(r.State.T)-273.15)
		}
		steps++
	})); err != nil {
		t.Fatalf("four plates do not run to their end: %v", err)
	}
	cells = p.Ground.Grid.Cells()
	t.Logf("finest %g m, growth %.4f, tolerance %g K: %d × %d = %d cells, %d steps, %.2f s of processors in %.2f s", c.Mesh.Finest, c.Mesh.Growth, c.Time.Tolerance,
		p.Ground.Grid.NX, p.Ground.Grid.NZ, cells, steps-1, (processTime(t) - used).Seconds(), time.Since(began).Seconds())
	return columns, cells
}

// processTime returns the time of processors that this process has used.
func processTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// plateHalved is the case with cells of half the size everywhere, which halves the logarithm
// of their growth too, and a tenth of the tolerance.
func plateHalved(c *cases.Case) {
	c.Mesh.Finest /= 2
	c.Mesh.Growth = math.Sqrt(c.Mesh.Growth)
	c.Mesh.MaxCells *= 4
	c.Time.Tolerance /= 10
}

// TestFourPlatesConverges: the case as it stands, and on about 400 × 300 cells, differs
// from itself on cells of half the size with a tenth of the tolerance by at most 0.2 % of
// the temperature rise; the larger mesh too is within 0.2 % of finite elements.
// Source: as TestFourPlates; halving takes no source but the program.
// Cells half as large leave a quarter of an error of second order, a local error a tenth
// as large takes steps 10^(1/3) shorter and leaves 10^(-2/3) of theirs. The difference is
// then three quarters of the error or more, and the bar bounds the error by 0.27 %. A rise
// below 1 K is held as there.
func TestFourPlatesConverges(t *testing.T) {
	reference := readPlates(t, fourPlatesReference)
	want := risesOf(t, reference, "day", plateElements)
	var rows [][]string
	for _, m := range []struct {
		name   string
		change func(*cases.Case)
	}{
		{"the case's own mesh", func(*cases.Case) {}},
		{"a mesh of 0.0375 m and growth 1.02", func(c *cases.Case) { c.Mesh.Finest, c.Mesh.Growth = 0.0375, 1.02 }},
	} {
		columns, cells := platesRun(t, m.change)
		got := risesOf(t, columns, "time_d", plateSensor)
		if m.name == "the case's own mesh" {
			drawFourPlates(t, columns, reference)
		} else {
			if math.Abs(float64(cells)/120000-1) > 0.05 {
				t.Errorf("%s has %d cells, want about 120 000", m.name, cells)
			}
			got.hold(t, ", "+m.name, fourPlatesSource, want, fourPlatesOwn)
		}
		finer, fineCells := platesRun(t, func(c *cases.Case) { m.change(c); plateHalved(c) })
		for _, row := range got.hold(t, ", "+m.name+" against half of it", "the program on cells of half the size", risesOf(t, finer, "time_d", plateSensor), 0) {
			rows = append(rows, append([]string{fmt.Sprintf("%d, %d", cells, fineCells)}, row...))
		}
	}
	table(t, "Four plates in four layers: this program, and on cells of half the size with a tenth of the tolerance",
		[]string{"cells", "place", "day", "rise [K]", "rise on the finer mesh [K]", "difference [% of the rise, or of 1 K]"}, rows)
}

// drawFourPlates draws the sensors of a run and the finite elements' temperatures.
func drawFourPlates(t *testing.T, columns, reference map[string][]float64) {
	t.Helper()
	var curves []curve
	for _, p := range fourPlatesPoints {
		at := fmt.Sprintf("x = %g m, z = %g m", p.x, p.z)
		curves = append(curves,
			curve{Label: at, X: columns["time_d"], Y: columns[plateSensor(p.x, p.z)]},
			curve{Label: "finite elements, " + at, X: reference["day"], Y: reference[plateElements(p.x, p.z)], Points: true})
	}
	draw(t, "four-plates", "Four plates in four layers: this program and finite elements", "time [d]", "temperature [°C]", false, curves...)
}
