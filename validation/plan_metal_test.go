//dossier:chapter Plans

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// platesAway is how far [m] the plates of discBetweenPlates and its sides stand away.
const platesAway = 40.0

// discBetweenPlates is the field of a floating disc of radius 1 m in the middle of a level
// slab of 1 S/m between two plates, ±1 V/m far off, on cells of h near it, and the law of
// charge; its middle is shift cells off an edge between columns and one between rows.
func discBetweenPlates(t *testing.T, h float64, shift [2]float64) (*solver.State, *physics.Electric) {
	t.Helper()
	const far = platesAway
	axis := func(shift float64) []float64 {
		out := graded(t, mesh.Mark{At: -far, Size: math.Inf(1)}, mesh.Mark{At: -2.5 + shift, Size: h})
		for x := -2.5 + shift + h; x < 2.5+shift-h/2; x += h {
			out = append(out, x)
		}
		return append(out, graded(t, mesh.Mark{At: 2.5 + shift, Size: h}, mesh.Mark{At: far, Size: math.Inf(1)})...)
	}
	x, y := axis(shift[0]*h), axis(shift[1]*h)
	x = append(append([]float64{-far - 1}, x...), far+1)
	g := mesh.NewPlan(x, y, 1)
	gr := ground(t, g, []float64{math.Inf(1)}, []float64{1})
	return startedBy(t, gr, []physics.Body{
		{Name: "left", Label: "A", Phase: far, Rods: 1, Zone: g.Box("", -far-1, -far, -far, far)},
		{Name: "right", Label: "B", Phase: -far, Rods: 1, Zone: g.Box("", far, far+1, -far, far)},
		{Name: "disc", Label: "-", Rods: 1, Floating: true, Zone: g.Circle("", 0, 0, 1)}}, false, 1, nil)
}

// discField is what discBetweenPlates solves, where the ground is:
//
//	φ = −E x (1 − a²/r²),   E = 1/(1 − f),   f = πa²/(80 m)²
//
// E is the field beside a square array of such discs, which the plates and sides mirror.
// Source: Jackson, Classical Electrodynamics, §3 problems; Rayleigh, Phil. Mag. 34, 481
// (1892), dipole term (both from memory); the next term of the array's is (a/80 m)⁴.
func discField(x, y float64) float64 {
	const f = math.Pi / (4 * platesAway * platesAway)
	return -x * (1 - 1/(x*x+y*y)) / (1 - f)
}

// ringCase is a plan of a ring of six, three phases, 6 m across in even ground of 25 Ω·m
// whose conductivity stands still, far from its edges, with more text.
func ringCase(finest float64, more string) string {
	return fmt.Sprintf(`title = "ring"
view = "plan"
extent = { top = "4 m", bottom = "24 m" }
mesh.finest = "%g m"
domain = { left = "-180 m", right = "180 m", front = "-180 m", back = "180 m" }
site = { ambient = "25 degC", water_table = "none" }
surface.air = "25 degC"
time.duration = "2 d"
steam.boiling = false
supply = { phases = 3, voltage = "100 V", voltage_basis = "phase to neutral" }
[[layer]]
name = "even"
resistivity = "25 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = 0.4
saturation = 1
temperature_coefficient = "0 1/K"
[[target]]
name = "zone"
center = ["0.1 m", "0.2 m"]
radius = "4 m"
temperature = "90 degC"
[[array]]
pattern = "ring"
center = ["0.1 m", "0.2 m"]
diameter = "6 m"
top = "4 m"
bottom = "24 m"
radius = "0.1 m"
%s`, finest, more)
}

// cylindersOf returns the rods of a problem as cylinders at its supply's phasors [V].
func cylindersOf(p *solver.Problem, volts float64) []cylinder {
	var out []cylinder
	for _, b := range p.Electric.Bodies {
		if b.Rod != nil {
			out = append(out, cylinder{x: b.Rod.X, y: b.Rod.Y, a: b.Rod.Radius, v: b.Phase * complex(volts, 0)})
		}
	}
	return out
}

// TestRodsOfTheirOwnInAPlan: in a plan one electrode of a ring is switched off on day 1,
// another has a tap and a third a limit of its own from then on, by name: the first passes
// no current and floats, and the others' currents are those of cylinders of which one floats.
// The limit is met and the ledger closes.
// Source: multipoles about each cylinder; Kirchhoff. Bar 1 %, as of all rods, of the
// largest current; 1e-9 is for the residuals.
func TestRodsOfTheirOwnInAPlan(t *testing.T) {
	const limit = 130.0
	p := caseOf(t, ringCase(0.5, `[[change]]
at = "1 d"
electrode = "E2"
on = false
[[change]]
at = "1 d"
electrode = "E4"
voltage = "70 V"
[[change]]
at = "1 d"
electrode = "E5"
current_limit = "130 A"
`))
	p.Electric.Ends = nil // endless rods
	var last *solver.State
	ledger := 0.0
	if _, err := solver.Run(context.Background(), p, reports(func(r *solver.Report) {
		ledger = math.Max(ledger, math.Abs(r.Ledger.Share()))
		last = r.State
	})); err != nil {
		t.Fatal(err)
	}
	hold(t, check{"share of the energy that the ledger misses, a plan's rod switched off", "the program's promise", ledger, 0, "", 1e-8})
	// The tap of E5 is such that it carries its limit: |I| falls with it.
	solve := func(s float64) *multipoles {
		rods := cylindersOf(p, 100)
		rods[1].floating = true
		rods[3].v *= 0.7
		rods[4].v *= complex(s, 0)
		m := &multipoles{rods: rods, order: 6}
		m.solve(t)
		return m
	}
	const scale = 20 / 25.0 // of thickness and conductivity
	lo, hi := 0.0, 1.0
	if full := scale * cmplx.Abs(solve(1).current(4)); !(full > 1.05*limit) {
		t.Fatalf("E5 carries %.4g A without its limit: no test of it", full)
	}
	for range 40 {
		if mid := (lo + hi) / 2; scale*cmplx.Abs(solve(mid).current(4)) > limit {
			hi = mid
		} else {
			lo = mid
		}
	}
	want := solve(lo)
	largest, total := 0.0, 0i
	amps := func(b int) complex128 { return last.Current[b] * complex(last.Voltage, 0) }
	for b := range 6 {
		largest = math.Max(largest, cmplx.Abs(amps(b)))
		total += amps(b)
	}
	hold(t, check{"current of the rod switched off, of the largest", "it is open", cmplx.Abs(amps(1)) / largest, 0, "-", 1e-9})
	hold(t, check{"sum of a plan's currents, of the largest", "Kirchhoff", cmplx.Abs(total) / largest, 0, "-", 1e-9})
	hold(t, check{"current of the rod with a limit of its own", "the limit", cmplx.Abs(amps(4)), limit, "A", 1e-9 * limit})
	for b := range 6 {
		hold(t, check{fmt.Sprintf("current of E%d beside an open rod, off that of cylinders, of the largest", b+1), "multipoles, one cylinder floating", cmplx.Abs(amps(b)-complex(scale, 0)*want.current(b)) / largest, 0, "-", 0.01})
	}
	// As the currents', of the voltage of the phases.
	hold(t, check{"potential of the rod switched off, off that of the cylinder", "multipoles, one cylinder floating", cmplx.Abs(last.Potential[1]*complex(last.Voltage, 0) - want.rods[1].v), 0, "V", 1})
}

// TestDrumInARing: a drum among the rods of a plan, built from its text, floats at the
// potential that a floating cylinder has there, and the rods' currents are those beside it.
// Source: multipoles about each cylinder. Tolerances: 0.1 % of the currents, a tenth of what
// rods are held to, as these stand far apart beside their cells, (h/D)²/12 = 5e-4 of a mutual;
// the potential of ground beside the drum is off by h²/4a of the field at most (see
// TestDiscInAUniformField), 0.02 m of one that rises from 0 in the middle of the ring to the
// drum's 4.0 V at 0.85 m, 0.09 V, and by as much of the phases' 100 V as the currents, 0.1 V: 0.2 V.
func TestDrumInARing(t *testing.T) {
	p := caseOf(t, ringCase(0.25, "[[conductor]]\nname = \"drum\"\ncenter = [\"0.9 m\", \"0.5 m\"]\nradius = \"0.8 m\"\n"))
	p.Electric.Ends = nil // endless rods
	r, err := solver.Start(p)
	if err != nil {
		t.Fatal(err)
	}
	s := r.State
	m := &multipoles{rods: append(cylindersOf(p, 100), cylinder{x: 0.9, y: 0.5, a: 0.8, floating: true}), order: 10}
	m.solve(t)
	largest := cmplx.Abs(m.current(0))
	for b := range 6 {
		got := s.Current[b] * complex(s.Voltage*25/20, 0)
		hold(t, check{fmt.Sprintf("current of E%d beside a drum, off that of cylinders, of the largest", b+1), "multipoles, one cylinder floating", cmplx.Abs(got-m.current(b)) / largest, 0, "-", 0.001})
	}
	got := s.Potential[6] * complex(s.Voltage, 0)
	t.Logf("the drum floats at %.4g, a cylinder at %.4g V", got, m.rods[6].v)
	if !(cmplx.Abs(m.rods[6].v) > 3) {
		t.Errorf("the cylinder floats at %.3g V, no test against 0.2 V", m.rods[6].v)
	}
	hold(t, check{"potential of a drum in a ring, off that of a cylinder", "multipoles, one cylinder floating", cmplx.Abs(got - m.rods[6].v), 0, "V", 0.2})
	hold(t, check{"net current of the drum, of the largest", "no phase feeds it", cmplx.Abs(s.Current[6]) / cmplx.Abs(s.Current[0]), 0, "-", 1e-9})
}

// TestMetalThatIsNoBox: an electrode in the shape of an L, one outline, draws what two boxes
// of its phase that touch draw together, and the ground about it is at the same potentials.
// Both have a contact resistance, so that the flux at no corner is helped.
// Source: two bodies of one potential that touch are one. Tolerance: the residual of 1e-10.
func TestMetalThatIsNoBox(t *testing.T) {
	x := graded(t, mesh.Mark{At: 0, Size: 0.5}, mesh.Mark{At: 12, Size: 0.5})
	for _, at := range []float64{3, 4, 6, 9, 10} {
		x = withEdges(x, at)
	}
	g := mesh.NewPlan(x, x, 2)
	gr := ground(t, g, []float64{math.Inf(1)}, []float64{0.04})
	far := physics.Body{Name: "B", Label: "B", Phase: -1, Rods: 1, Contact: 0.3, Zone: g.Box("", 9, 10, 3, 9)}
	whole := physics.Body{Name: "L", Label: "A", Phase: 1, Rods: 1, Contact: 0.3, Zone: g.Polygon("", [][2]float64{{3, 3}, {6, 3}, {6, 4}, {4, 4}, {4, 9}, {3, 9}})}
	upright, foot := whole, whole
	upright.Name, upright.Zone = "I", g.Box("", 3, 4, 3, 9)
	foot.Name, foot.Zone = "_", g.Box("", 4, 6, 3, 4)
	one := started(t, gr, []physics.Body{far, whole}, false, 1, nil)
	two := started(t, gr, []physics.Body{far, upright, foot}, false, 1, nil)
	hold(t, check{"current of an electrode in the shape of an L", "two boxes that touch", real(one.Current[1]), real(two.Current[1] + two.Current[2]), "A", 1e-9})
	worst := 0.0
	for c := range one.Re {
		worst = math.Max(worst, math.Abs(one.Re[c]-two.Re[c]))
	}
	hold(t, check{"potential about it, largest difference", "two boxes that touch", worst, 0, "of the electrodes'", 1e-8})
}
