//dossier:chapter Plans

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// caseOf builds a case from its text.
func caseOf(t *testing.T, text string) *solver.Problem {
	t.Helper()
	c, err := cases.Parse("case.toml", []byte(text), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// evenGround is 25 Ω·m everywhere, as a case writes it.
const evenGround = `
site = { ambient = "25 degC", water_table = "none" }
surface.air = "25 degC"
time.duration = "1 d"
steam.boiling = false
supply = { phases = 3, voltage = "100 V", voltage_basis = "phase to neutral" }
[[layer]]
name = "even"
resistivity = "25 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = 0.4
saturation = 1
`

// rowsText writes electrodes at x = 0, 3 … 15 m on phases A B C A B C, with what else
// they need.
func rowsText(more string) string {
	var b strings.Builder
	for i, phase := range "ABCABC" {
		fmt.Fprintf(&b, "[[electrode]]\nname = \"E%d\"\nphase = \"%c\"\nx = \"%d m\"\nradius = \"0.1 m\"\n%s\n", i+1, phase, 3*i, more)
	}
	return b.String()
}

// TestPlanAndSectionDrawAlike: rows of long rods in even ground carry the same current in
// a plan, where each rod stands by itself, as in a section, where a row is a sheet with
// the correction of its rods. The plan is a strip one spacing wide: its insulated sides
// mirror the rods into endless rows. The section's rods are 120 m long, forty spacings,
// and their ends add some s/ℓ = 2 %: it is compared by its difference from one of half
// the length, I(120 m) − I(60 m), in which what the ends add is gone.
//
// Both carry the same field but for harmonics of the rods in the other rows, e^(−2π) =
// 0.2 % at one spacing, which the section leaves out, and for the section's mesh: cells
// of 5 cm at a sheet that leads its current off to one side cost 0.3 % of it, as four
// times larger ones cost 2 %. The bar of 1 % is twice their sum.
// Source: the method of images; the bar is a choice.
func TestPlanAndSectionDrawAlike(t *testing.T) {
	plan := caseOf(t, "title = \"plan\"\nview = \"plan\"\nextent = { top = \"10 m\", bottom = \"11 m\" }\nmesh.finest = \"0.25 m\"\ndomain = { left = \"-40 m\", right = \"55 m\", front = \"0 m\", back = \"3 m\" }"+
		evenGround+"[[target]]\nname = \"zone\"\noutline = [[\"0 m\", \"1 m\"], [\"15 m\", \"1 m\"], [\"15 m\", \"2 m\"], [\"0 m\", \"2 m\"]]\ntemperature = \"90 degC\"\n"+
		rowsText("y = \"1.5 m\"\ntop = \"10 m\"\nbottom = \"11 m\""))
	plan.Electric.Ends = nil // endless rods
	amps := func(p *solver.Problem) []float64 {
		r, err := solver.Start(p)
		if err != nil {
			t.Fatal(err)
		}
		var out []float64
		for b, i := range r.State.Current {
			out = append(out, cmplx.Abs(i)*r.State.Voltage/p.Electric.Bodies[b].Rods)
		}
		return out
	}
	section := func(bottom int) []float64 {
		return amps(caseOf(t, "title = \"section\"\nview = \"section\"\nextent.length = \"3 m\"\nmesh = { finest = \"0.05 m\", growth = 1.2 }\ndomain = { left = \"-40 m\", right = \"55 m\", bottom = \"220 m\" }"+
			evenGround+"[[target]]\nname = \"zone\"\nleft = \"0 m\"\nright = \"15 m\"\ntop = \"20 m\"\nbottom = \"60 m\"\ntemperature = \"90 degC\"\n"+
			rowsText(fmt.Sprintf("rod_spacing = \"3 m\"\ntop = \"20 m\"\nbottom = \"%d m\"", 20+bottom))))
	}
	got, long, short := amps(plan), section(120), section(60)
	for i := range got {
		if want := (long[i] - short[i]) / 60; !(math.Abs(got[i]/want-1) < 0.01) {
			t.Errorf("row %d: %.5g A a rod and metre in the plan, %.5g in the section: %.2f %% apart, want 1 %% at most", i+1, got[i], want, 100*(got[i]/want-1))
		}
	}
}

// lPlan is a plan from its text: an L of triangular grid in two layers of ground.
const lPlan = `title = "L"
view = "plan"
extent = { top = "2 m", bottom = "4 m" }
mesh.finest = "0.5 m"
site = { ambient = "12 degC", water_table = "2 m" }
surface.air = "8 degC"
time.duration = "20 d"
[[layer]]
name = "sand"
bottom = "2.5 m"
resistivity = "60 ohm*m"
thermal_conductivity = "1.75 W/m/K"
heat_capacity = "2.2 MJ/m3/K"
porosity = 0.25
saturation = 0.6
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.3 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
outline = [["0 m", "0 m"], ["12 m", "1 m"], ["11 m", "7 m"], ["6 m", "6 m"], ["5 m", "11 m"], ["0 m", "10 m"]]
temperature = "boiling"
[[array]]
pattern = "triangular"
spacing = "3 m"
outboard = "0.5 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
[[heat]]
name = "spot"
power = "2 kW"
center = ["3 m", "3 m"]
radius = "1 m"
[supply]
phases = PHASES
voltage = "160 V"
voltage_basis = "phase to neutral"
power_limit = "40 kW"
`

// TestPlanFromItsText: a plan built from its text runs with boiling, a limit, set power,
// short rods and two layers in its slab, and its ledger closes as all do: to 1e-8 of the
// energy in. Currents sum to nothing and the zone has the outline's volume: identities,
// to the rounding of their sums and the tolerance of the linear solver.
// Source: conservation; the shoelace rule.
func TestPlanFromItsText(t *testing.T) {
	for _, phases := range []string{"1", "3", "6"} {
		p := caseOf(t, strings.Replace(lPlan, "PHASES", phases, 1))
		if got, want := p.Targets[0].Zone.Volume(p.Ground.Grid), 2*91.5; !(math.Abs(got/want-1) < 1e-12) {
			t.Errorf("%s phases: the zone has %.15g m³, its outline %.15g", phases, got, want)
		}
		boiled := false
		r, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
			boiled = boiled || r.Ledger.SteamOut > 0
			var sum complex128
			largest := 0.0
			for _, i := range r.State.Current {
				sum += i
				largest = math.Max(largest, cmplx.Abs(i))
			}
			if r.Output && !(cmplx.Abs(sum) < 1e-6*largest) {
				t.Errorf("%s phases, day %.3g: currents sum to %.3g of the largest", phases, r.State.Time/86400, cmplx.Abs(sum)/largest)
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(r.Ledger.Share()) < 1e-8) {
			t.Errorf("%s phases: the ledger is open by %.3g of the energy in", phases, r.Ledger.Share())
		}
		if !boiled {
			t.Errorf("%s phases: nothing boiled in 20 d at 40 kW, no test of boiling", phases)
		}
		t.Logf("%s phases: ledger %.1g, %d electrodes, fringe %.3f", phases, r.Ledger.Share(), len(p.Electric.Bodies), p.Electric.Fringed().Factor)
	}
}
