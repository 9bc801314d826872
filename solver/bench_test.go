package solver_test

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// meshes are the cases' meshes of some 10⁴, 10⁵ and 10⁶ cells, of one growth, and
// whether to run the whole case on them: boiling ground takes more steps on smaller cells.
var meshes = []struct {
	file, finest string
	cells        int // about
	whole        bool
}{
	{"four-plates", "249 mm", 1e4, true}, {"four-plates", "34.2 mm", 1e5, true}, {"four-plates", "2.73 mm", 1e6, true},
	{"paved-yard", "152 mm", 1e4, true}, {"paved-yard", "28.2 mm", 1e5, true}, {"paved-yard", "2.97 mm", 1e6, false},
	{"electrode-cell", "28.4 mm", 1e4, true}, {"electrode-cell", "2.67 mm", 1e5, false},
}

// eachMesh calls f for the meshes, or those that can be run whole, with one processor and
// with two; in short tests for those of at most so many cells, with one.
func eachMesh(b *testing.B, whole bool, most int, f func(b *testing.B, file, finest string)) {
	for _, m := range meshes {
		if whole && !m.whole || testing.Short() && m.cells > most {
			continue
		}
		processors := min(2, runtime.NumCPU())
		if testing.Short() {
			processors = 1
		}
		for procs := 1; procs <= processors; procs++ {
			b.Run(fmt.Sprintf("%s/cells=%.0e/procs=%d", m.file, float64(m.cells), procs), func(b *testing.B) {
				before := runtime.GOMAXPROCS(procs)
				defer runtime.GOMAXPROCS(before)
				f(b, m.file, m.finest)
			})
		}
	}
}

func build(b *testing.B, file, finest string) *solver.Problem {
	b.Helper()
	c, err := cases.Load("../cases/"+file+".toml", []string{"mesh.finest=" + finest, "mesh.growth=1.03", "mesh.max_cells=2000000"})
	if err != nil {
		b.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		b.Fatal(err)
	}
	return p
}

// watch times the steps of a run between its warm-th and its last.
type watch struct {
	b          *testing.B
	warm, last int
	stop       func()
}

func (w *watch) Record(r *solver.Report) error {
	switch r.Stats.Steps {
	case w.warm:
		w.b.StartTimer()
	case w.last:
		w.b.StopTimer()
		w.stop()
	}
	return nil
}

// BenchmarkStep is a step in time, refusals and potentials with it, of a run's third to
// tenth.
func BenchmarkStep(b *testing.B) {
	const warm, last = 2, 10
	eachMesh(b, false, 1e5, func(b *testing.B, file, finest string) {
		cells := 0
		b.StopTimer()
		b.ResetTimer()
		for range b.N {
			p := build(b, file, finest)
			cells = p.Ground.Grid.Cells()
			ctx, stop := context.WithCancel(context.Background())
			_, err := solver.Run(ctx, p, &watch{b, warm, last, stop})
			stop()
			if !errors.Is(err, context.Canceled) {
				b.Fatalf("the run ended with %v before its step %d", err, last)
			}
		}
		step := b.Elapsed().Seconds() / float64(b.N*(last-warm))
		b.ReportMetric(0, "ns/op") // of several steps: left out
		b.ReportMetric(step, "s/step")
		b.ReportMetric(1e9*step/float64(cells), "ns/cell")
		b.ReportMetric(float64(cells), "cells")
	})
}

// BenchmarkRun is a whole case, start and end with it, its fields and histories given to
// nobody.
func BenchmarkRun(b *testing.B) {
	eachMesh(b, true, 1e4, func(b *testing.B, file, finest string) {
		cells, steps := 0, 0
		for b.Loop() {
			p := build(b, file, finest)
			r, err := solver.Run(context.Background(), p, nil)
			if err != nil {
				b.Fatal(err)
			}
			cells, steps = p.Ground.Grid.Cells(), r.Stats.Steps
		}
		run := b.Elapsed().Seconds() / float64(b.N)
		b.ReportMetric(run, "s/run")
		b.ReportMetric(float64(steps), "steps")
		b.ReportMetric(1e9*run/float64(cells*steps), "ns/cell/step")
		b.ReportMetric(float64(cells), "cells")
	})
}
