//dossier:chapter Boiling

package validation

import (
	"context"
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// column is wet ground from the surface down, heated evenly between two depths.
type column struct {
	soil             materials.Soil
	depth, top       float64 // [m] of the lower edge; below top there is heat
	power            float64 // [W/m³]
	film             float64 // [W/(m²·K)] to air at the ground's temperature at the start; 0: none
	vapour           physics.Vapour
	days             []float64
	cell             float64 // [m]
	tolerance, fixed float64 // of the solver, as solver.Settings
}

// wetColumn loses heat at its surface and boils dry from below.
var wetColumn = column{
	soil: materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: atStart, SaturationExponent: 2, Porosity: 0.4, Saturation: 0.8, DrySaturation: 0.05,
		ThermalConductivity: 1.6, ThermalConductivityDry: 0.4, HeatCapacity: 2.6e6},
	depth: 3, power: 200, film: 12, days: []float64{10, 20, 40, 58}, cell: 0.1,
}

func (c *column) edges(cell float64) []float64 {
	return equalEdges(c.depth, int(math.Round(c.depth/cell)))
}

// explicit returns the column for the explicit program.
func (c *column) explicit(t *testing.T, cell float64) *explicit {
	t.Helper()
	z := c.edges(cell)
	x := newExplicit(t, c.soil, z, false)
	x.film, x.rising, x.capture = c.film, c.vapour.Rising, c.vapour.Capture
	if x.rising {
		x.field = math.Max(x.found, c.soil.FieldCapacity*c.soil.Porosity*998.2)
	}
	for i := range x.E {
		node := (z[i] + z[i+1]) / 2
		if node > c.top {
			x.power[i] = c.power * x.volume[i]
		}
		x.captures[i] = node > c.vapour.Top && node < c.vapour.Bottom
	}
	return x
}

// problem returns the column for the program under test.
func (c *column) problem(t *testing.T) *solver.Problem {
	t.Helper()
	g := downward(c.edges(c.cell))
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1), Boiling: true}, materials.NewWater(),
		[]*materials.Soil{&c.soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 1} })
	if err != nil {
		t.Fatal(err)
	}
	gr.Vapour = c.vapour
	whole := mesh.Zone{I1: 1, K1: g.NZ}
	p := &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, physics.HeatBoundary{Film: c.film, Air: constantAir(atStart)}),
		Imposed: heated(g, g.Box("heated", 0, 1, c.top, c.depth), c.power), Watched: whole, Duration: c.days[len(c.days)-1] * day,
		Targets:  []solver.Target{{Zone: whole, Temperature: math.NaN(), Share: 1}},
		Settings: solver.Settings{Tolerance: c.tolerance, FixedStep: c.fixed}}
	for _, d := range c.days {
		p.Outputs = append(p.Outputs, d*day)
	}
	return p
}

// profile is the column at one time.
type profile struct {
	T, W   []float64 // [K], [kg/m³]
	ledger solver.Ledger
	report solver.Report
}

// run returns the profiles on the column's days by the program under test.
func (c *column) run(t *testing.T) (out []profile) {
	t.Helper()
	open, water := 0.0, 0.0
	last, err := solver.Run(context.Background(), c.problem(t), recorder(func(r *solver.Report) {
		open = math.Max(open, math.Abs(r.Ledger.Share()))
		water = math.Max(water, math.Abs(r.Ledger.Water.Residual))
		if r.Output && r.State.Time > 0 {
			out = append(out, profile{append([]float64(nil), r.State.T...), append([]float64(nil), r.State.W...), r.Ledger, *r})
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != len(c.days) {
		t.Fatalf("%d outputs, want %d", len(out), len(c.days))
	}
	t.Logf("%d steps, %d refused", last.Stats.Steps, last.Stats.Refused())
	hold(t, check{"largest open share of the ledger of a column", "bookkeeping", open, 0, "", 1e-8})
	hold(t, check{"most water that a column's ledger misses", "bookkeeping", water, 0, "kg", 1e-8 * c.depth * c.soil.WaterHeld(1)})
	return out
}

// reference returns the profiles by the explicit program on cells of a length, mean over
// what lies in the column's own cells, and the program at the end.
func (c *column) reference(t *testing.T, cell, share float64) (out []profile, last *explicit) {
	t.Helper()
	x := c.explicit(t, cell)
	n := int(math.Round(c.cell / cell))
	for _, d := range c.days {
		x.until(d*day, share)
		p := profile{T: make([]float64, len(x.T)/n), W: make([]float64, len(x.T)/n)}
		for i := range x.T {
			p.T[i/n] += x.T[i] / float64(n)
			p.W[i/n] += x.W[i] / float64(n)
		}
		p.ledger.Steam, p.ledger.LossSurface, p.ledger.Condensed = x.steam, x.lost, x.condensed
		p.ledger.SteamMass = solver.SteamFate{Captured: x.captured, Surface: x.surface}
		out = append(out, p)
	}
	return out, x
}

// apart returns the largest difference of temperature and of water between profiles, and
// where and when the former is.
func (c *column) apart(a, b []profile) (kelvin, water float64, where string) {
	for j := range a {
		for i := range a[j].T {
			if d := math.Abs(a[j].T[i] - b[j].T[i]); d > kelvin {
				kelvin, where = d, fmt.Sprintf("%.2f m on day %g", (float64(i)+0.5)*c.cell, c.days[j])
			}
			water = math.Max(water, math.Abs(a[j].W[i]-b[j].W[i]))
		}
	}
	return kelvin, water, where
}

// drawProfiles hands the dossier the temperature and the saturation of both programs.
func (c *column) drawProfiles(t *testing.T, name, title string, got, want []profile) {
	t.Helper()
	var T, S []curve
	pores := c.soil.Porosity * 998.2
	for j, d := range c.days {
		var z, t0, s0, t1, s1 []float64
		for i := range got[j].T {
			z = append(z, (float64(i)+0.5)*c.cell)
			t0, s0 = append(t0, want[j].T[i]-273.15), append(s0, want[j].W[i]/pores)
			t1, s1 = append(t1, got[j].T[i]-273.15), append(s1, got[j].W[i]/pores)
		}
		label := fmt.Sprintf("day %g", d)
		T = append(T, curve{label + ", explicit", z, t0, false}, curve{label, z, t1, true})
		S = append(S, curve{label + ", explicit", z, s0, false}, curve{label, z, s1, true})
	}
	draw(t, name+"-temperature", title, "depth [m]", "temperature [°C]", false, T...)
	draw(t, name+"-saturation", title, "depth [m]", "saturation [-]", false, S...)
}

// holdExplicit holds a run of the explicit program to its own ledgers, which are kept
// apart from its fields: heat to what six printed digits of the enthalpies leave, and
// water to rounding.
func holdExplicit(t *testing.T, claim string, x *explicit) {
	t.Helper()
	mass, heat := x.stored()
	hold(t, check{claim + ": share of the heat that the explicit program misses", "conservation", (x.joule - x.lost - x.steam*(steamHolds-coldHolds) - x.groundHeat - heat) / x.joule, 0, "", 1e-6})
	hold(t, check{claim + ": water that the explicit program misses", "conservation", x.water - x.steam - x.ground - mass, 0, "kg", 1e-6})
}

// TestBoilingColumnAgainstAnExplicitProgram: a column heated evenly, losing heat at its
// surface, boils and dries from below as another program says that takes short explicit
// steps. On the same cells the two differ by their steps alone: 0.1 K rms and ten times
// that in one cell is what a step may err by, here held over all steps: 0.2 K, and
// 2 K × C/latent of water. Cells a quarter as long move what the mean of a cell is where
// the slope jumps by 100 K/m at the drying front, h/8 × 100 K/m = 1.3 K, and the front
// within a cell by 0.016 of it, held to a twentieth.
// Source: own explicit enthalpy method, in validation/explicit_test.go; IAPWS R7-97(2012)
// by testdata/water_saturation.csv.
func TestBoilingColumnAgainstAnExplicitProgram(t *testing.T) {
	c := wetColumn
	got := c.run(t)
	same, x := c.reference(t, c.cell, 0.25)
	fine, y := c.reference(t, c.cell/4, 0.25)
	holdExplicit(t, "boiling column", x)
	holdExplicit(t, "boiling column, cells a quarter", y)
	shorter, _ := c.reference(t, c.cell, 0.05)

	kelvin, water, _ := c.apart(same, shorter)
	// First order: a fifth of the step leaves a fifth of the error.
	hold(t, check{"boiling column: what shorter steps of the explicit program change", source1, kelvin, 0, "K", 0.05})
	hold(t, check{"boiling column: what shorter steps of the explicit program change in the water", source1, water, 0, "kg/m3", 0.1})
	kelvin, water, where := c.apart(got, same)
	step := 2 * c.soil.HeatCapacity / latentHeat // [kg/m³] that 2 K boil
	hold(t, check{"boiling column: largest difference of temperature on the same cells, at " + where, source1, kelvin, 0, "K", 0.2})
	hold(t, check{"boiling column: largest difference of water on the same cells", source1, water, 0, "kg/m3", step})
	kelvin, water, where = c.apart(got, fine)
	hold(t, check{"boiling column: largest difference of temperature on cells a quarter as long, at " + where, source1, kelvin, 0, "K", 1.3 + 0.2})
	hold(t, check{"boiling column: largest difference of water on cells a quarter as long", source1, water, 0, "kg/m3", (x.found-x.dry)/20 + step})
	last := got[len(got)-1].ledger
	// 0.3 K of the whole column, as steam: three steps' error of its mean.
	hold(t, check{"boiling column: steam", source1, last.Steam, y.steam, "kg", 0.3 * c.soil.HeatCapacity / latentHeat * c.depth})
	gone := 0.0
	for _, w := range got[len(got)-1].W {
		gone += c.cell * (x.found - w)
	}
	hold(t, check{"boiling column: water that it lost", "conservation", gone, last.Steam, "kg", 1e-8 * c.depth * x.found})
	hold(t, check{"boiling column: heat lost at the surface", source1, last.LossSurface, y.lost, "J", 2e-3 * y.lost})
	if dried := got[len(got)-1].T[len(got[0].T)-1] - boilsAt; dried < 50 {
		t.Errorf("the deepest cell ends %.3g K above the boiling point, want 50 K: else it did not dry", dried)
	}
	c.drawProfiles(t, "boiling-column", "A column that boils, steam extracted, against an explicit program (lines)", got, fine)
}

const source1 = "own explicit enthalpy method"
