//dossier:chapter Plans

package validation

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver"
)

// tankCircle is a ring of six electrodes in six phases, 8 to 24 ft deep in wet silt, at a
// limit of 45 kW.
const tankCircle = `
title = "ring"
view = "plan"
site = { ambient = "12 degC", elevation = "0 ft", water_table = "6 ft", resistivity_at = "25 degC" }
extent = { top = "8 ft", bottom = "24 ft" }
surface = { air = "12 degC", film = "12 W/m2/K", cover = "0 m2*K/W" }
supply = { phases = 6, voltage = "200 V", voltage_basis = "phase to neutral", power_limit = "45 kW" }
time.duration = "90 d"
mesh.finest = "2 ft"
[[layer]]
name = "fill"
bottom = "5 ft"
resistivity = "120 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.0 MJ/m3/K"
porosity = 0.38
saturation = 0.5
[[layer]]
name = "silt"
bottom = "25 ft"
resistivity = "30 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.42
saturation = 1.0
[[layer]]
name = "clay"
resistivity = "12 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.46
saturation = 1.0
[[target]]
name = "silt in the ring"
center = ["0 ft", "0 ft"]
radius = "15 ft"
temperature = "100 degC"
[[array]]
pattern = "ring"
center = ["0 ft", "0 ft"]
diameter = "30 ft"
count = 6
top = "8 ft"
bottom = "24 ft"
radius = "6 in"
`

// TestFringeBoilsAtItsOwnDepth: the heat of current that fringes past short rods, and of a
// slab that is hotter, brings the ground above and below a plan's slab to the boiling point
// of its own depth and not past it: over 90 days of a ring in six phases and of the template
// of a plan no node there is above it. Where nothing boils it is hundreds of kelvins. The
// boiling points are set to a node where a step ends, so they are met but for how two
// computations of them round, 1e-9 K.
//
// What boils is found at a step's end, to the first order in the step: with a tenth of
// the tolerance, in some 1.8 times the steps, it is the same to 0.1 % of the energy in,
// three times the change seen.
// Source: boiling points of IAPWS R7-97 at the pressure of the air and the water above;
// conservation.
func TestFringeBoilsAtItsOwnDepth(t *testing.T) {
	if !long {
		t.Skip("make validate runs it")
	}
	const source = "IAPWS R7-97 at the node's own depth"
	template, err := cases.Template("plan")
	if err != nil {
		t.Fatal(err)
	}
	template = strings.Replace(template, `finest = "1 ft"`, `finest = "2 ft"`, 1)
	type plan struct {
		name, text                    string
		elevation, top, bottom, table float64 // [ft]
	}
	run := func(c plan, tolerance float64) (steam float64) {
		const ft = 0.3048
		p := caseOf(t, c.text)
		p.Settings.Tolerance = tolerance
		g := p.Ground.Grid
		above, below := p.Heat.Columns.Nodes()
		var point []float64 // [K] above the slab and then below
		add := func(z float64) {
			point = append(point, materials.SaturationTemperature(materials.AirPressure(c.elevation*ft)+998.2*9.80665*math.Max(0, z-c.table*ft)))
		}
		z := c.top * ft
		for _, dz := range above {
			add(z - dz/2)
			z -= dz
		}
		z = c.bottom * ft
		for _, dz := range below {
			add(z + dz/2)
			z += dz
		}
		over := math.Inf(-1)
		r, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
			for cell := range r.State.T {
				for j, b := range point {
					v := r.State.Caps[(cell/g.NX*len(point)+j)*g.NX+cell%g.NX]
					over = math.Max(over, v-b)
				}
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		l := &r.Ledger
		hold(t, check{fmt.Sprintf("%s, tolerance %g K: hottest node above or below the slab, beyond its boiling point", c.name, tolerance), source, over, 0, "K", 1e-9})
		t.Logf("%d steps, above at most %.1f °C, below %.1f °C; of the energy in %.4f is steam, %.4f from above and below; ledger %.1g",
			r.Stats.Steps, r.Stats.HottestAbove-273.15, r.Stats.HottestBelow-273.15, l.SteamOut/l.In, l.SteamBeyond/l.In, l.Share())
		if !(l.SteamBeyond > 0.02*l.In) {
			t.Errorf("%s: %.3g of the energy in boils above and below: the test sees less than it says", c.name, l.SteamBeyond/l.In)
		}
		// Rounding, as in the solver's own tests of a plan's ledger.
		if !(math.Abs(l.Share()) < 1e-12) || !(math.Abs(l.Water.Residual) < 1e-9*l.Steam) {
			t.Errorf("%s: the ledger is open by %.2g of the energy in, and by %.2g kg of water", c.name, l.Share(), l.Water.Residual)
		}
		return l.SteamOut / l.In
	}
	run(plan{"template", template, 300, 7, 17, 7}, 0.1)
	ring := plan{"ring", tankCircle, 0, 8, 24, 6}
	coarse, fine := run(ring, 0.1), run(ring, 0.01)
	hold(t, check{"ring: share of the energy in that is steam, against a tenth of the tolerance", "own, finer steps", coarse, fine, "-", 0.001})
}
