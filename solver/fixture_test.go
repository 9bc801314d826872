package solver

import (
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// far is the size of a cell that nothing bounds, and a limit that is none.
var far = math.Inf(1)

const day = 86400.0

// yard is invented ground for tests of the loop: sand above a water table at
// 2 m, clay below, at 15 °C under air of 10 °C.
func yard(t testing.TB, g *mesh.Grid, inflow float64) *physics.Ground {
	t.Helper()
	soil := func(name string, rho, saturation float64) *materials.Soil {
		return &materials.Soil{Name: name, Resistivity: rho, ResistivityAt: 298.15, TemperatureCoeff: 0.0187, SaturationExponent: 2,
			ResidualConductivity: 0.05, Porosity: 0.4, Saturation: saturation, DrySaturation: 0.05,
			ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.8e6}
	}
	gr, err := physics.NewGround(g, physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: 2, Boiling: true}, materials.NewWater(),
		[]*materials.Soil{soil("sand", 150, 0.5), soil("clay", 20, 1)}, []float64{2, far},
		func(l int, _ float64) physics.WaterSupply {
			return physics.WaterSupply{Removable: 0.3, Inflow: inflow * float64(l), Refill: 1e-6}
		})
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

func edges(t testing.TB, marks ...mesh.Mark) []float64 {
	t.Helper()
	e, err := mesh.Grade(marks, 1.3, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func problem(gr *physics.Ground, e *physics.Electric, zone mesh.Zone, days, voltage float64) *Problem {
	return &Problem{Ground: gr, Electric: e,
		Heat:     physics.NewHeat(gr.Grid, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 283.15 }}),
		Supply:   []Setting{{Voltage: voltage, PowerLimit: far, CurrentLimit: far, On: true}},
		Targets:  []Target{{Zone: zone, Temperature: 368.15, Share: 0.5}},
		Watched:  zone,
		Duration: days * day, Outputs: []float64{days * day}}
}

// cell is one rod on the axis of a cell whose rim is at 0 V: some 200 cells,
// whose wall boils within a day and, with an inflow [1/s] of 0, dries.
func cell(t testing.TB, days, inflow float64) *Problem {
	t.Helper()
	r := edges(t, mesh.Mark{At: 0, Size: 0.1}, mesh.Mark{At: 0.15, Size: 0.05}, mesh.Mark{At: 2, Size: far})
	z := edges(t, mesh.Mark{At: 0, Size: 0.4}, mesh.Mark{At: 2, Size: 0.2}, mesh.Mark{At: 2.5, Size: 0.2}, mesh.Mark{At: 4.5, Size: 0.2}, mesh.Mark{At: 8, Size: far})
	g := mesh.NewAxisymmetric(r, z, 10)
	e, err := physics.NewElectric(g, []physics.Body{{Name: "E1", Label: "A", Phase: 1, Rods: 10, Zone: g.Box("", 0, 0.15, 2.5, 4.5)}}, true)
	if err != nil {
		t.Fatal(err)
	}
	return problem(yard(t, g, inflow), e, g.Box("", 0, 2, 2.5, 4.5), days, 130)
}

// section is six rows of rods on three phases: complex potentials and row
// couplings.
func section(t testing.TB, days, inflow float64) *Problem {
	t.Helper()
	const d, s, w = 2.0, 3.5, 0.4
	xm := []mesh.Mark{{At: -5, Size: far}, {At: 15, Size: far}}
	for i := range 6 {
		xm = append(xm, mesh.Mark{At: float64(i)*d - w/2, Size: w}, mesh.Mark{At: float64(i)*d + w/2, Size: w})
	}
	z := edges(t, mesh.Mark{At: 0, Size: 0.7}, mesh.Mark{At: 2, Size: 0.5}, mesh.Mark{At: 2.5, Size: 0.5}, mesh.Mark{At: 4.5, Size: 0.5}, mesh.Mark{At: 9, Size: far})
	g := mesh.NewSection(edges(t, xm...), z, 20)
	var bodies []physics.Body
	for i := range 6 {
		x := float64(i) * d
		bodies = append(bodies, physics.Body{Name: string(rune('1' + i)), Label: string(rune('A' + i%3)), Phase: cmplx.Exp(complex(0, -2*math.Pi*float64(i%3)/3)), Rods: 20 / s,
			Zone: g.Box("", x-w/2, x+w/2, 2.5, 4.5),
			Row:  &physics.Row{X: x, Spacing: s, Offset: s / 2 * float64(i%2), Radius: 0.15, Top: 2.5, Bottom: 4.5}})
	}
	e, err := physics.NewElectric(g, bodies, false)
	if err != nil {
		t.Fatal(err)
	}
	return problem(yard(t, g, inflow), e, g.Box("", 0, 10, 2.5, 4.5), days, 130)
}

// each calls a function for every report.
type each func(*Report)

func (f each) Record(r *Report) error { f(r); return nil }

// begun is a run at its start.
func begun(t testing.TB, p *Problem) *run {
	t.Helper()
	r := newRun(p)
	t.Cleanup(r.done)
	if err := r.begin(); err != nil {
		t.Fatal(err)
	}
	return r
}

func steps(t testing.TB, r *run, n int) {
	t.Helper()
	for range n {
		if err := r.advance(); err != nil {
			t.Fatal(err)
		}
	}
}
