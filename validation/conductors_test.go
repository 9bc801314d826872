//dossier:chapter Electrodes and rows

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"

	"soiljoule/cases"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// own returns settings of n bodies that are all as the supply, but for what change does.
func own(n int, change func(b []solver.BodySetting)) []solver.BodySetting {
	b := make([]solver.BodySetting, n)
	for i := range b {
		b[i] = solver.BodySetting{Voltage: math.NaN(), CurrentLimit: far}
	}
	change(b)
	return b
}

// started returns the cold state of bodies in ground at a voltage, with settings of their
// own.
func started(t *testing.T, gr *physics.Ground, bodies []physics.Body, rim bool, voltage float64, settings []solver.BodySetting) *solver.State {
	t.Helper()
	s, _ := startedBy(t, gr, bodies, rim, voltage, settings)
	return s
}

// startedBy returns what started does, and the law of charge that it was solved by.
func startedBy(t *testing.T, gr *physics.Ground, bodies []physics.Body, rim bool, voltage float64, settings []solver.BodySetting) (*solver.State, *physics.Electric) {
	t.Helper()
	e, err := physics.NewElectric(gr.Grid, bodies, rim)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Start(&solver.Problem{
		Ground: gr, Electric: e,
		Heat:     physics.NewHeat(gr.Grid, physics.HeatBoundary{Film: 1, Air: func(float64) float64 { return 298.15 }}),
		Supply:   []solver.Setting{{Voltage: voltage, PowerLimit: far, CurrentLimit: far, On: true, Bodies: settings}},
		Watched:  gr.Grid.Box("", gr.Grid.X[0], gr.Grid.X[gr.Grid.NX], 0, gr.Grid.Z[gr.Grid.NZ]),
		Duration: 1, Outputs: []float64{1}})
	if err != nil {
		t.Fatal(err)
	}
	return r.State, e
}

// TestBarInAUniformField: a floating square bar in a uniform field bends it as a cylinder
// does whose radius is the square's logarithmic capacity, 0.590170 of its side: in the
// middle of a square between two plates it adds to the current the share that a square
// array of such cylinders adds to the conductivity,
//
//	σ_e/σ = (1 + f)/(1 − f),   f = πc²/L²
//
// and it floats at the mean of the plates.
// Source: Rayleigh, Phil. Mag. 34, 481 (1892), dipole term, with the square's transfinite
// diameter c = Γ(1/4)²/(4π^(3/2)) of its side (Pólya & Szegő), which by the symmetry of a
// quarter turn is its whole polarizability; both from memory.
// Tolerance 0.1 % of what the bar adds: what the dipole term leaves out goes as (c/L)⁴ =
// 3e-5 times the lattice's sum of 3.2 and 6, 0.06 %; and the cells' error falls fourfold as
// they are halved, from 0.12 % at an eighth of the side to 0.03 %.
func TestBarInAUniformField(t *testing.T) {
	const size, side = 8.0, 1.0
	c := math.Pow(math.Gamma(0.25), 2) / (4 * math.Pow(math.Pi, 1.5)) * side
	f := math.Pi * c * c / (size * size)
	want := 2 * f / (1 - f)
	var errs []float64
	for _, n := range []int{4, 8, 16} {
		h := side / float64(n)
		cells := int(size / h)
		x, z := []float64{-h}, []float64{}
		for i := range cells + 1 {
			x = append(x, float64(i)*h)
			z = append(z, float64(i)*h)
		}
		x = append(x, size+h)
		g := mesh.NewSection(x, z, 1)
		gr := ground(t, g, []float64{far}, []float64{1})
		bar := physics.Body{Name: "bar", Label: "-", Rods: 1, Floating: true, Zone: g.Box("", (size-side)/2, (size+side)/2, (size-side)/2, (size+side)/2)}
		s := started(t, gr, []physics.Body{
			{Name: "left", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("", -h, 0, 0, size)},
			{Name: "right", Label: "N", Rods: 1, Zone: g.Box("", size, size+h, 0, size)}, bar}, false, 1, nil)
		added := real(s.Current[0]) - 1 // of 1 S/m in a square: 1 A without the bar
		errs = append(errs, math.Abs(added/want-1))
		if n == 16 {
			hold(t, check{"what a floating square bar adds to the current between plates, cells of a sixteenth", "Rayleigh 1892, logarithmic capacity of the square", added, want, "of the current", 0.001 * want})
		}
		hold(t, check{fmt.Sprintf("potential of the bar, cells of 1/%d of its side", n), "symmetry", real(s.Potential[2]), 0.5, "of the plates'", 1e-9})
		hold(t, check{fmt.Sprintf("net current of the bar, cells of 1/%d", n), "no phase feeds it", cmplx.Abs(s.Current[2]), 0, "of the plates'", 1e-12})
	}
	t.Logf("errors of what the bar adds: %.3g", errs)
	if !(errs[2] < errs[1] && errs[1] < errs[0]) {
		t.Errorf("the errors of what the bar adds, %.3g, do not fall with the cells", errs)
	}
}

// TestThinPlateAcrossTheField: a floating plate along an equipotential changes the current
// by its own thickness taken out of the way, and nothing at all as it thins.
// Source: Ohm's law, L/(L − d).
// The grid carries a uniform field exactly: 1e-9 is for the residual of 1e-10.
func TestThinPlateAcrossTheField(t *testing.T) {
	for _, d := range []float64{0.5, 0.01} {
		x := graded(t, mesh.Mark{At: -0.1, Size: 0.1}, mesh.Mark{At: 0, Size: 0.25}, mesh.Mark{At: 2, Size: 0.25}, mesh.Mark{At: 2 + d, Size: 0.25}, mesh.Mark{At: 8, Size: 0.25}, mesh.Mark{At: 8.1, Size: 0.1})
		g := mesh.NewSection(x, []float64{0, 0.5, 1}, 1)
		gr := ground(t, g, []float64{far}, []float64{1})
		s := started(t, gr, []physics.Body{
			{Name: "left", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("", -0.1, 0, 0, 1)},
			{Name: "right", Label: "N", Rods: 1, Zone: g.Box("", 8, 8.1, 0, 1)},
			{Name: "plate", Label: "-", Rods: 1, Floating: true, Zone: g.Box("", 2, 2+d, 0, 1)}}, false, 1, nil)
		hold(t, check{fmt.Sprintf("current past a floating plate %g m thick across the field", d), "Ohm's law", real(s.Current[0]), 1 / (8 - d), "A", 1e-9})
		hold(t, check{fmt.Sprintf("potential of the plate %g m thick", d), "Ohm's law", real(s.Potential[2]), (6 - d) / (8 - d), "of the plates'", 1e-9})
	}
}

// TestTapsByAdmittance: plates with taps of their own, one switched off, and a pipe pass the
// currents and float at the potentials that the admittance matrix of the same ground gives,
// which is symmetric: measured by supplies that feed one plate alone, solved here.
// Source: Kirchhoff's laws on I = Y V; reciprocity.
// Each potential is solved to a residual of 1e-10 of the currents into ground at 0 V, some
// ten times those between plates: 1e-8 of the largest.
func TestTapsByAdmittance(t *testing.T) {
	x := graded(t, mesh.Mark{At: 0, Size: 0.25}, mesh.Mark{At: 12, Size: 0.25})
	z := graded(t, mesh.Mark{At: 0, Size: 0.25}, mesh.Mark{At: 6, Size: 0.25})
	place := [][4]float64{{1, 1.5, 1, 3}, {4, 4.5, 2, 4}, {7, 7.5, 1, 3}, {10, 10.5, 2, 5}, {5, 6, 4.7, 5.2}}
	for _, p := range place {
		x, z = withEdges(x, p[0], p[1]), withEdges(z, p[2], p[3])
	}
	g := mesh.NewSection(x, z, 5)
	gr := ground(t, g, []float64{2.5, far}, []float64{0.01, 0.05})
	bodies := func(phase func(b int) complex128) []physics.Body {
		var out []physics.Body
		for b, p := range place {
			out = append(out, physics.Body{Name: fmt.Sprint(b), Label: "A", Phase: phase(b), Rods: 1, Zone: g.Box("", p[0], p[1], p[2], p[3])})
		}
		return out
	}
	n := len(place)
	y := mat.NewDense(n, n, nil)
	most := 0.0
	for j := range n {
		s := started(t, gr, bodies(func(b int) complex128 {
			if b == j {
				return 1
			}
			return 0
		}), false, 1, nil)
		for i, a := range s.Current {
			y.Set(i, j, real(a))
			most = math.Max(most, real(a))
		}
	}
	for i := range n {
		for j := range i {
			hold(t, check{fmt.Sprintf("admittance between bodies %d and %d", i, j), "reciprocity", y.At(i, j), y.At(j, i), "S", 1e-8 * most})
		}
	}
	tap := []float64{100, 60, 100, 0, 0} // 3 is switched off, 4 floats
	phasor := func(b int) complex128 { return physics.Phasor(3, string(rune('A'+b%3))) }
	with := bodies(func(b int) complex128 {
		if b == 4 {
			return 0
		}
		return phasor(b)
	})
	with[4].Floating = true
	s := started(t, gr, with, false, 100, own(n, func(b []solver.BodySetting) { b[1].Voltage, b[3].Off = 60, true }))

	v := mat.NewDense(n, 2, nil)
	for b := range 3 {
		v.SetRow(b, []float64{tap[b] * real(phasor(b)), tap[b] * imag(phasor(b))})
	}
	var driven, x2 mat.Dense
	driven.Mul(y, v)
	driven.Scale(-1, &driven)
	if err := x2.Solve(y.Slice(3, 5, 3, 5), driven.Slice(3, 5, 0, 2)); err != nil {
		t.Fatal(err)
	}
	v.SetRow(3, x2.RawRowView(0))
	v.SetRow(4, x2.RawRowView(1))
	var amps mat.Dense
	amps.Mul(y, v)
	largest := mat.Norm(&amps, 1)
	for b := range n {
		volts := s.Potential[b] * complex(s.Voltage, 0)
		i := s.Current[b] * complex(s.Voltage, 0)
		hold(t, check{fmt.Sprintf("current of body %d, real part", b), "Y V, dense", real(i), amps.At(b, 0), "A", 1e-8 * largest})
		hold(t, check{fmt.Sprintf("current of body %d, imaginary part", b), "Y V, dense", imag(i), amps.At(b, 1), "A", 1e-8 * largest})
		hold(t, check{fmt.Sprintf("potential of body %d, real part", b), "Y V, dense", real(volts), v.At(b, 0), "V", 1e-6})
		hold(t, check{fmt.Sprintf("potential of body %d, imaginary part", b), "Y V, dense", imag(volts), v.At(b, 1), "V", 1e-6})
	}
}

// withEdges moves the edges nearest to two places there.
func withEdges(edges []float64, at ...float64) []float64 {
	for _, a := range at {
		edges[mesh.EdgeAt(edges, a)] = a
	}
	return edges
}

// ownCase is invented ground with an array, an electrode of its own tap and limit, and a
// pipe; one of the array is switched off for a while, and has a limit afterwards.
const ownCase = `title = "Pipe and taps"
note = "Invented scenario."
view = "section"
[site]
ambient = "13 degC"
water_table = "2 m"
[extent]
length = "20 m"
[surface]
air = "12 degC"
[[layer]]
name = "sand"
bottom = "2.5 m"
resistivity = "100 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = 0.4
saturation = 0.5
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.2 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
left = "0 m"
right = "12 m"
top = "2 m"
bottom = "4 m"
temperature = "60 degC"
[[array]]
pattern = "triangular"
spacing = "4 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
[[electrode]]
name = "X"
phase = "A"
x = "15 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
rod_spacing = "6.928203230275509 m"
voltage = "110 V"
current_limit = "5 A"
[[conductor]]
name = "pipe"
left = "4.7 m"
right = "5.3 m"
top = "0.8 m"
bottom = "1.3 m"
[supply]
phases = 3
voltage = "130 V"
voltage_basis = "phase to neutral"
power_limit = "60 kW"
[[change]]
at = "3 d"
electrode = "E3"
on = false
[[change]]
at = "6 d"
electrode = "E3"
on = true
current_limit = "20 A"
[time]
duration = "12 d"
[mesh]
finest = "0.25 m"
`

// TestOwnSettingsEndToEnd: a case with a pipe, a tap and a limit of one electrode, and
// another switched off for three days, closes its ledger; currents sum to 0, pipe and dead
// electrode pass none, limits are met and not passed, and the heat is Σ V·I.
// Source: Kirchhoff's and Tellegen's laws; the program's promises of 1e-9 and 1e-8.
func TestOwnSettingsEndToEnd(t *testing.T) {
	c, err := cases.Parse("own.toml", []byte(ownCase), ".", nil)
	if err != nil {
		t.Fatal(err)
	}
	x, _ := c.Expand()
	p, err := x.Build()
	if err != nil {
		t.Fatal(err)
	}
	body := map[string]int{}
	for b := range p.Electric.Bodies {
		body[p.Electric.Bodies[b].Name] = b
	}
	const day = 86400
	ledger, sum, dead, most, heat, met := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	if _, err := solver.Run(context.Background(), p, reports(func(r *solver.Report) {
		s := r.State
		ledger = math.Max(ledger, math.Abs(r.Ledger.Share()))
		largest, total := 0.0, 0i
		for _, i := range s.Current {
			largest = math.Max(largest, cmplx.Abs(i))
			total += i
		}
		sum = math.Max(sum, cmplx.Abs(total)/largest)
		dead = math.Max(dead, cmplx.Abs(s.Current[body["pipe"]])/largest)
		if d := s.Time / day; d >= 3 && d < 6 {
			dead = math.Max(dead, cmplx.Abs(s.Current[body["E3"]])/largest)
		}
		if s.SolvedAt != s.Time {
			return
		}
		for name, limit := range map[string]float64{"X": 5, "E3": 20} {
			b := body[name]
			if name == "E3" && s.Time < 6*day {
				continue
			}
			i := cmplx.Abs(s.Current[b]) * s.Voltage / p.Electric.Bodies[b].Rods / limit
			most = math.Max(most, i-1)
			if s.Bound[b] == physics.OwnLimit {
				met = math.Max(met, math.Abs(i-1))
			}
		}
		q := 0.0
		for _, w := range s.Joule {
			q += w
		}
		heat = math.Max(heat, math.Abs(q/s.Power-1))
	})); err != nil {
		t.Fatal(err)
	}
	hold(t, check{"share of the energy that the ledger misses, pipe and taps", "the program's promise", ledger, 0, "", 1e-8})
	hold(t, check{"sum of the currents, of the largest", "Kirchhoff", sum, 0, "", 1e-9})
	hold(t, check{"current of the pipe and of the dead electrode, of the largest", "they are open", dead, 0, "", 1e-9})
	hold(t, check{"current above an own limit, share", "the limit", math.Max(0, most), 0, "", 1e-9})
	hold(t, check{"current off an own limit that holds, share", "the limit", met, 0, "", 1e-9})
	hold(t, check{"heat of the cells off Σ V·I, share", "Tellegen", heat, 0, "", 1e-9})
}

// reports is a function that takes reports.
type reports func(*solver.Report)

func (f reports) Record(r *solver.Report) error { f(r); return nil }
