package physics

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// drawndown is ground of three rows, nodes at 1, 5 and 10 m, whose water table falls from
// 0 to 8 m within ten days while a vacuum grows to 20 kPa; below the table whatever boils
// is replaced.
func drawndown(t *testing.T) *Ground {
	t.Helper()
	const days = 86400.0
	soil := &materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: 293.15, SaturationExponent: 2, Porosity: 0.4, Saturation: 1,
		DrySaturation: 0.05, ThermalConductivity: 1.6, HeatCapacity: 2.9e6}
	part := func(t float64) float64 { return math.Min(t/(10*days), 1) }
	site := Site{Ambient: 285.15, AirPressure: 101325, Boiling: true,
		TableAt:  func(t float64) float64 { return 8 * part(t) },
		VacuumAt: func(t float64) float64 { return 20e3 * part(t) },
		SupplyAt: func(_ int, z, table float64) WaterSupply {
			if z > table {
				return WaterSupply{Inflow: math.Inf(1), Refill: 1e-6}
			}
			return WaterSupply{}
		}}
	g := mesh.NewSection([]float64{0, 1, 2}, []float64{0, 2, 8, 12}, 1)
	gr, err := NewGround(g, site, materials.NewWater(), []*materials.Soil{soil}, []float64{math.Inf(1)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// TestGroundFollowsItsPressure: a row boils at what the air, less the vacuum, and the
// water above it then press, and its steam takes what evaporation takes there; times may
// come in any order. Whether a row lies below the table, and so its inflow, changes with
// Begin alone.
// Source: IAPWS R7-97(2012) by reference boiling_depth.csv: under 1, 5 and 10 m of water
// 102.579, 111.404, 120.087 °C and 2249.64, 2225.89, 2201.91 kJ/kg; the same by the steam
// tables at 81.325 kPa and at 81.325 kPa + 2 m of water = 100.903 kPa, 94.01 and 99.86 °C
// (from the table's logarithm between 90 and 95, 95 and 99.974 °C). Half a unit of the last
// digit, 0.02 K for the logarithm; 0.1 kJ/kg for the water tables' own.
func TestGroundFollowsItsPressure(t *testing.T) {
	const days = 86400.0
	gr := drawndown(t)
	for _, at := range []struct {
		day    float64
		points [3]float64 // [°C]
		tol    float64
		latent [3]float64 // [kJ/kg]; 0: not asked
	}{
		{0, [3]float64{102.579, 111.404, 120.087}, 6e-4, [3]float64{2249.64, 2225.89, 2201.91}},
		{10, [3]float64{93.93, 93.93, 99.86}, 0.01, [3]float64{}},
		{0, [3]float64{102.579, 111.404, 120.087}, 6e-4, [3]float64{2249.64, 2225.89, 2201.91}},
		{30, [3]float64{93.93, 93.93, 99.86}, 0.01, [3]float64{}},
	} {
		gr.At(at.day * days)
		for k, want := range at.points {
			s := &gr.Stores[k]
			if got := s.BoilingPoint - materials.Celsius; !(math.Abs(got-want) <= at.tol) {
				t.Errorf("day %g, row %d: it boils at %.4f °C, want %.3f ± %g", at.day, k, got, want, at.tol)
			}
			if want := at.latent[k]; want > 0 && !(math.Abs(s.Latent()/1e3-want) <= 0.1) {
				t.Errorf("day %g, row %d: evaporation takes %.3f kJ/kg, want %.2f ± 0.1", at.day, k, s.Latent()/1e3, want)
			}
			if !s.Below || math.IsInf(s.Inflow, 1) != s.Below {
				t.Errorf("day %g, row %d: At changed what lies below the water table: %v, inflow %g", at.day, k, s.Below, s.Inflow)
			}
		}
	}
	for _, at := range []struct {
		day   float64
		below [3]bool
	}{{1.25, [3]bool{false, true, true}}, {10, [3]bool{false, false, true}}, {0, [3]bool{true, true, true}}} { // on day 1.25 the table lies at a node
		gr.Begin(at.day * days)
		for k, want := range at.below {
			s := &gr.Stores[k]
			if s.Below != want || math.IsInf(s.Inflow, 1) != want || s.Refill > 0 != want || !s.WasBelow {
				t.Errorf("day %g, row %d: below the table %v, inflow %g, refill %g, below it at the start %v, want %v and true", at.day, k, s.Below, s.Inflow, s.Refill, s.WasBelow, want)
			}
		}
	}
	if n := testing.AllocsPerRun(20, func() { gr.Begin(3e5); gr.At(4e5) }); n > 0 {
		t.Errorf("a change of pressure allocates %g times, want never", n)
	}
}

// TestConstantPressureLeavesTheGround: without a course neither Begin nor At touch a store.
func TestConstantPressureLeavesTheGround(t *testing.T) {
	gr := drawndown(t)
	gr.site.TableAt, gr.site.VacuumAt = nil, nil
	for k := range gr.Stores {
		gr.Stores[k].BoilingPoint, gr.Stores[k].Below = 1, false
	}
	gr.Begin(1e6)
	gr.At(1e6)
	for k := range gr.Stores {
		if s := &gr.Stores[k]; s.BoilingPoint != 1 || s.Below {
			t.Errorf("row %d was set to boil at %g K, below the table %v", k, s.BoilingPoint, s.Below)
		}
	}
}

// TestReadingFollowsTheBoilingPoint: a sensor in ground at its boiling point reads no more
// than that, as it then is.
func TestReadingFollowsTheBoilingPoint(t *testing.T) {
	gr := drawndown(t)
	r := gr.Reading(1, 5)
	for _, day := range []float64{0, 10, 4} {
		gr.At(day * 86400)
		field := make([]float64, gr.Grid.Cells())
		for c := range field {
			field[c] = gr.BoilingPoint(c) - 0.02 // a little short of boiling
		}
		field[gr.Grid.Index(0, 1)] = gr.BoilingPoint(gr.Grid.Index(0, 1))
		if got, tb := r.Temperature(field), gr.Stores[1].BoilingPoint; !(got <= tb && got >= tb-0.02) {
			t.Errorf("day %g: the reading is %.5f K, want at most the boiling point, %.5f K", day, got, tb)
		}
	}
}

// TestColumnsFollowTheBoilingPoint: what boils above and below a slab does so at the point
// of the step's start.
// Source: the function given.
func TestColumnsFollowTheBoilingPoint(t *testing.T) {
	ground := []Slice{{0.5, 2, 2.5e6}}
	caps := NewCaps(1, 1e6, ground, ground)
	caps.Passing, caps.Top = falling(0.5, 1, 1), 0.5
	caps.BoilAt = func(z, t float64) Boil { return Boil{Point: 300 + z + t/1e5, Steam: 2e6, Latent: 1.5e6} }
	caps.Boil = func(z float64) Boil { return caps.BoilAt(z, 0) }
	g := mesh.NewPlan([]float64{0, 1}, []float64{0, 1}, 1)
	c := NewHeat(g, HeatBoundary{Film: 12, Air: func(float64) float64 { return 283.15 }, Caps: caps}).Columns
	for _, at := range []float64{0, 5e5, 0} {
		c.Begin(at)
		for s := range c.sides {
			for j, z := range c.sides[s].depth {
				if got, want := c.sides[s].boil[j].Point, 300+z+at/1e5; got != want {
					t.Errorf("t = %g s: the node at %.3f m boils at %.9g K, want %.9g", at, z, got, want)
				}
			}
		}
	}
}
