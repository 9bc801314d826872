package solver

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// rodSlab is a ring of six sub-grid rods in six phases, whose ground is the yard's: a section
// lying down, as far as the operators know.
func rodSlab(t testing.TB, days float64) *Problem {
	t.Helper()
	x := edges(t, mesh.Mark{At: 0, Size: far}, mesh.Mark{At: 8, Size: 0.5}, mesh.Mark{At: 16, Size: 0.5}, mesh.Mark{At: 24, Size: far})
	g := mesh.NewSection(x, x, 4)
	var bodies []physics.Body
	for i := range 6 {
		sin, cos := math.Sincos(math.Pi / 3 * float64(i))
		label := string(rune('A' + i))
		bodies = append(bodies, physics.Body{Name: "E" + label, Label: label, Phase: physics.Phasor(6, label), Rods: 1,
			Rod: &physics.Rod{X: 12.1 + 2.5*cos, Y: 12.2 + 2.5*sin, Radius: 0.15}})
	}
	e, err := physics.NewElectric(g, bodies, false)
	if err != nil {
		t.Fatal(err)
	}
	return problem(yard(t, g, far), e, g.Box("", 9, 15, 9, 15), days, 200)
}

// A warm step of a slab with rods allocates nothing, its ledger closes and its rods boil
// the ground about them; with two workers all is the same to the last bit.
func TestRodsInSteps(t *testing.T) {
	alone(t)
	r := begun(t, rodSlab(t, 60))
	steps(t, r, 10)
	if got := testing.AllocsPerRun(12, func() { steps(t, r, 1) }); got != 0 {
		t.Errorf("a step of a slab with rods on day %.2f allocates %.1f times, want 0", r.state.Time/day, got)
	}
	var last [2]*State
	var boiled float64
	for i, workers := range []int{1, 2} {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(workers))
		worst := 0.0
		_, err := Run(t.Context(), rodSlab(t, 40), each(func(r *Report) {
			worst = math.Max(worst, math.Abs(r.Ledger.Share()))
			boiled = r.Ledger.Steam
			s := *r.State
			s.T, s.Current = slices.Clone(s.T), slices.Clone(s.Current)
			last[i] = &s
		}))
		if err != nil {
			t.Fatal(err)
		}
		// The loop allows 1e-8; rounding alone gives what is seen here, 1e-11.
		if worst > 1e-9 {
			t.Errorf("%d workers: the ledger's largest residual is %.2g of its scale, want at most 1e-9", workers, worst)
		}
	}
	if boiled == 0 {
		t.Error("nothing boiled, so the test sees less than it says")
	}
	if last[0].Time != last[1].Time || !slices.Equal(last[0].T, last[1].T) || !slices.Equal(last[0].Current, last[1].Current) {
		t.Error("two workers end with other temperatures or currents than one")
	}
}
