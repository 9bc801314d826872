//dossier:chapter Symmetries of whole cases

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// planYard is uneven ground seen from above: five rods of three phases, one with a tap of its
// own and one with a limit, all under a power limit; one is switched off on day 1 and another
// on day 2, when the first comes on again at a higher voltage; a body of set power; and metal
// a side of which is too near the other's for both to be cell edges.
const planYard = `title = "Yard and its images"
note = "Invented scenario."
view = "plan"
[site]
ambient = "12 degC"
water_table = "1 m"
[extent]
top = "2 m"
bottom = "6 m"
[surface]
air = "12 degC"
[[layer]]
name = "sand"
bottom = "3 m"
resistivity = "60 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.2 MJ/m3/K"
porosity = 0.35
saturation = 1.0
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.4 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
%s[supply]
phases = 3
voltage = "120 V"
voltage_basis = "phase to neutral"
power_limit = "14 kW"
[[change]]
at = "1 d"
electrode = "P4"
on = false
[[change]]
at = "2 d"
electrode = "P4"
on = true
[[change]]
at = "2 d"
electrode = "P1"
on = false
[[change]]
at = "2 d"
voltage = "140 V"
[steam]
boiling = false
[time]
duration = "4 d"
[mesh]
finest = "0.4 m"
`

// planImage is how a plan is written: its places turned, its phases renamed, its tables in
// another order.
type planImage struct {
	name   string
	turn   func(x, y float64) (float64, float64)
	phases string // those that A, B and C become
	order  []int  // of the electrodes
}

// written returns planYard's image.
func (m planImage) written() string {
	at := func(x, y float64) string {
		x, y = m.turn(x, y)
		return fmt.Sprintf("[\"%.17g m\", \"%.17g m\"]", x, y)
	}
	outline := func(corners ...[2]float64) string {
		var out []string
		for _, p := range corners {
			out = append(out, at(p[0], p[1]))
		}
		return "[" + strings.Join(out, ", ") + "]"
	}
	box := func(l, r, f, b float64) string {
		return outline([2]float64{l, f}, [2]float64{r, f}, [2]float64{r, b}, [2]float64{l, b})
	}
	rods := []struct {
		x, y  float64
		phase int
		own   string
	}{
		{-2.2, -1.8, 0, ""}, {2.2, -2.2, 1, "voltage = \"90 V\"\n"}, {2.3, 1.9, 2, "current_limit = \"25 A\"\n"}, {-1.7, 2.2, 0, ""}, {0.2, 0.2, 1, ""},
	}
	text := "[[target]]\nname = \"zone\"\ntemperature = \"60 degC\"\noutline = " +
		outline([2]float64{-3, -3}, [2]float64{3, -3}, [2]float64{3, 1}, [2]float64{1, 3}, [2]float64{-3, 3}) + "\n"
	for _, i := range m.order {
		r := rods[i]
		x, y := m.turn(r.x, r.y)
		text += fmt.Sprintf("[[electrode]]\nname = \"P%d\"\nphase = %q\nx = \"%.17g m\"\ny = \"%.17g m\"\ntop = \"2 m\"\nbottom = \"6 m\"\nradius = \"0.15 m\"\n%s",
			i+1, m.phases[r.phase:r.phase+1], x, y, r.own)
	}
	text += "[[conductor]]\nname = \"pipe\"\noutline = " + box(-1.1, 0.3, -4.6, -4.0) + "\n"
	text += "[[heat]]\nname = \"heater\"\npower = \"0.5 kW\"\noutline = " + box(-2.9, -2.2, 0.1, 0.9) + "\n"
	return fmt.Sprintf(planYard, text)
}

// TestPlanAndItsImages: a plan turned by quarters, mirrored, with its phases exchanged and
// its electrodes in another order, warms alike, with each electrode's current, power and
// potential the same at every step: taps, limits, switching, metal, set power and short rods
// included.
// Source: symmetry of the equations.
//
// As in holdClose, equal steps: what a heat solve leaves by cell, two stages and two runs,
// and what 3e-9 of the power, as solved for, makes of a rise. Currents, powers and potentials
// are held to 1e-8 of the largest: those 3e-9, as much of what the rods' own fields are
// solved to, 1e-9 (patch.solve), and of what a difference of temperature makes of them, 2 %
// a kelvin.
func TestPlanAndItsImages(t *testing.T) {
	const steps, source = 8, "symmetry of the equations"
	type row struct{ volts, amps, watts float64 }
	run := func(m planImage) (outcome, []map[string]row) {
		c, err := cases.Parse("images.toml", []byte(m.written()), ".", nil)
		if err != nil {
			t.Fatalf("%s: %v", m.name, err)
		}
		x, _ := c.Expand()
		p, err := x.Build()
		if err != nil {
			t.Fatal(err)
		}
		p.Settings = solver.Settings{FixedStep: p.Duration / steps, Tolerance: heatLeft / 1e-4, Potential: fieldLeft, MaxCoupled: 50}
		var rows []map[string]row
		rec := recorder(func(r *solver.Report) {
			all, v := map[string]row{}, r.State.Voltage
			for b := range p.Electric.Bodies {
				all[p.Electric.Bodies[b].Name] = row{cmplx.Abs(r.State.Potential[b]) * v, cmplx.Abs(r.State.Current[b]) * v, r.State.Fed[b] * v * v}
			}
			rows = append(rows, all)
		})
		r, err := solver.Run(t.Context(), p, rec)
		if err != nil {
			t.Fatalf("%s: %v", m.name, err)
		}
		return outcome{r, p, 0}, rows
	}
	asIs := func(x, y float64) (float64, float64) { return x, y }
	a, want := run(planImage{"as it is", asIs, "ABC", []int{0, 1, 2, 3, 4}})
	if held := want[0]["P3"]; math.Abs(held.amps-25) > 1e-6 {
		t.Errorf("P3 takes %.9g A, want its limit, 25 A; the test asks less than it says", held.amps)
	}
	ga := a.problem.Ground.Grid
	for _, m := range []planImage{
		{"phases exchanged, another order", asIs, "BAC", []int{4, 2, 0, 3, 1}},
		{"a quarter", func(x, y float64) (float64, float64) { return -y, x }, "BCA", []int{0, 1, 2, 3, 4}},
		{"left and right", func(x, y float64) (float64, float64) { return -x, y }, "ABC", []int{0, 1, 2, 3, 4}},
		{"along a diagonal", func(x, y float64) (float64, float64) { return -y, -x }, "ACB", []int{3, 4, 2, 1, 0}},
	} {
		b, got := run(m)
		gb := b.problem.Ground.Grid
		if gb.Cells() != ga.Cells() || len(got) != len(want) {
			t.Errorf("%s: %d cells and %d reports, want the %d and %d of the plan as it is", m.name, gb.Cells(), len(got), ga.Cells(), len(want))
			continue
		}
		kelvin, volts, amps, watts := 0.0, 0.0, 0.0, 0.0
		for c := range ga.Cells() {
			i, k := c%ga.NX, c/ga.NX
			x, y := m.turn((ga.X[i]+ga.X[i+1])/2, (ga.Z[k]+ga.Z[k+1])/2)
			kelvin = math.Max(kelvin, math.Abs(a.State.T[c]-b.State.T[gb.Index(gb.Column(x), gb.Row(y))]))
		}
		for i := range want {
			for name, w := range want[i] {
				g := got[i][name]
				volts = math.Max(volts, math.Abs(g.volts-w.volts)/120)
				amps = math.Max(amps, math.Abs(g.amps-w.amps)/50)
				watts = math.Max(watts, math.Abs(g.watts-w.watts)/14e3)
			}
		}
		hold(t, check{m.name + ": largest difference of a cell", source, kelvin, 0, "K", (2*2*steps*100*heatLeft + 3e-9*a.hottest()) * math.E})
		hold(t, check{m.name + ": largest difference of a potential, share", source, volts, 0, "", 1e-8})
		hold(t, check{m.name + ": largest difference of a current, share", source, amps, 0, "", 1e-8})
		hold(t, check{m.name + ": largest difference of an electrode's power, share", source, watts, 0, "", 1e-8})
	}
}
