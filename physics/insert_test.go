package physics

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// bar is ten cells in a row, 1 m² across, the ground at 15 °C with an insert in
// cells 4 and 5.
func bar(t *testing.T) (*mesh.Grid, *Ground) {
	t.Helper()
	var x []float64
	for i := range 11 {
		x = append(x, float64(i)*0.1)
	}
	g := mesh.NewSection(x, []float64{0, 1}, 1)
	soil := &materials.Soil{Name: "clay", Resistivity: 20, ResistivityAt: 288.15, SaturationExponent: 2, ResidualConductivity: 0.05, Porosity: 0.4, Saturation: 1, DrySaturation: 0.05,
		ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.8e6}
	gr, err := NewGround(g, Site{Ambient: 288.15, AirPressure: 101325, WaterTable: 0, Boiling: true}, materials.NewWater(), []*materials.Soil{soil}, []float64{math.Inf(1)},
		func(int, float64) WaterSupply { return WaterSupply{Removable: 0.3, Inflow: math.Inf(1)} })
	if err != nil {
		t.Fatal(err)
	}
	gr.Insert(Insert{Name: "steel", Zone: g.Box("", 0.4, 0.6, 0, 1), Conductivity: 40, Capacity: 3.6e6})
	return g, gr
}

// TestInsertHasItsOwnMaterial: conductivity and store of an insert are its own, those
// of the ground beside it the ground's; it starts dry and warms by its own capacity.
func TestInsertHasItsOwnMaterial(t *testing.T) {
	g, gr := bar(t)
	s := NewState(g.Cells(), 0)
	gr.Start(s)
	sat, lambda, sigma := make([]float64, 10), make([]float64, 10), make([]float64, 10)
	gr.SaturationTo(sat, s.W)
	gr.LambdaTo(lambda, sat)
	gr.SigmaTo(sigma, s.T, sat)
	for c := range 10 {
		in := c == 4 || c == 5
		if gr.InInsert(c) != in {
			t.Errorf("cell %d is in the insert: %v, want %v", c, !in, in)
		}
		wantS, wantL, wantC := 1.0, 1.5, 1/20.0
		if in {
			wantS, wantL, wantC = 0, 40, insertSigma
		}
		if math.Abs(sat[c]-wantS) > 1e-12 || math.Abs(lambda[c]-wantL) > 1e-12 || math.Abs(sigma[c]-wantC) > 1e-12 {
			t.Errorf("cell %d has S = %v, λ = %v W/(m·K), σ = %v S/m, want %v, %v, %v", c, sat[c], lambda[c], sigma[c], wantS, wantL, wantC)
		}
	}
	// 200 K above the start, far beyond the boiling point of the ground's water.
	if r := gr.Store(4).Respond(200*3.6e6, 0, 1, 300); math.Abs(r.T-488.15) > 1e-9 || r.Steam != 0 || r.W != 0 {
		t.Errorf("the insert with 720 MJ/m³ in it is %+v, want 488.15 K, no steam", r)
	}
}

// TestInsertStopsTheCurrent: between two plates with an insert across the bar no
// current flows that a history could show, whose digits are twelve.
func TestInsertStopsTheCurrent(t *testing.T) {
	g, gr := bar(t)
	e, err := NewElectric(g, []Body{{Name: "A", Phase: 1, Rods: 1, Zone: g.Box("", 0, 0.1, 0, 1)}, {Name: "B", Phase: -1, Rods: 1, Zone: g.Box("", 0.9, 1, 0, 1)}}, false)
	if err != nil {
		t.Fatal(err)
	}
	s := NewState(10, 2)
	gr.Start(s)
	sat, sigma := make([]float64, 10), make([]float64, 10)
	gr.SaturationTo(sat, s.W)
	gr.SigmaTo(sigma, s.T, sat)
	if err := e.Assemble(sigma); err != nil {
		t.Fatal(err)
	}
	resistance := 0.0
	for _, cond := range e.Across {
		resistance += 1 / cond
	}
	// By hand: 0.2 m of 1e-14 S/m, and 0.6 m of ground, which is nothing beside it.
	if want := 0.2 / insertSigma; math.Abs(resistance-want) > 1e-9*want {
		t.Errorf("the bar has %v ohm, want %v", resistance, want)
	}
	if bare := 0.8 * 20; resistance < 1e12*bare {
		t.Errorf("the bar with an insert has %v ohm, less than 1e12 times the %v without", resistance, bare)
	}
}

// TestInsertTakesNoneOfARowsOwnDrop: the drop of a row lies in the ground about its
// rods. An insert beside them leaves it as it is in even ground, takes none of its
// heat, and the heat of the drop stays the power that goes into it.
// By hand: an insert of 1e-14 S/m that took a share of 1e-7 of the drop would make
// it 1e5 times as much. Rounding over some ten columns: 1e-12.
func TestInsertTakesNoneOfARowsOwnDrop(t *testing.T) {
	x := []float64{-20, -2, -1, -0.5, -0.3, -0.05, 0.05, 0.3, 1, 2, 20}
	g := mesh.NewSection(x, []float64{0, 1, 2, 3, 4, 20}, 6)
	row := Body{Name: "row", Phase: 1, Rods: 2, Zone: g.Box("", -0.05, 0.05, 1, 4), Row: &Row{Spacing: 3, Radius: 0.1, Top: 1, Bottom: 4}}
	slab := Insert{Name: "slab", Zone: g.Box("", -0.5, -0.3, 2, 3)}
	build := func(inserts ...Insert) *Electric {
		e, err := NewElectric(g, []Body{row}, false, inserts...)
		if err != nil {
			t.Fatal(err)
		}
		sigma := make([]float64, g.Cells())
		for c := range sigma {
			sigma[c] = 0.05
		}
		for i := range inserts {
			for _, c := range inserts[i].Zone.Cells(g) {
				sigma[c] = insertSigma
			}
		}
		if err := e.Assemble(sigma); err != nil {
			t.Fatal(err)
		}
		return e
	}
	bare, with := build(), build(slab)
	for i := range with.Couples {
		if got, want := with.Couples[i].Y[0], bare.Couples[i].Y[0]; math.Abs(got-want) > 1e-12*want {
			t.Errorf("the row joins its column at level %d with %v S beside an insert, want %v S as without", with.Couples[i].Level, got, want)
		}
	}
	q, current, zero := make([]float64, g.Cells()), make([]complex128, 1), make([]float64, g.Cells())
	with.coupleHeat(q, current, zero, zero)
	sum := 0.0
	for _, v := range q {
		sum += v
	}
	if want := real(current[0]); math.Abs(sum-want) > 1e-12*want {
		t.Errorf("the drop's heat at 1 V sums to %v W, want the current, %v A", sum, want)
	}
	for _, c := range slab.Zone.Cells(g) {
		if q[c] != 0 {
			t.Errorf("the insert's cell %d takes %v W of the row's own heat, want none", c, q[c])
		}
	}
}
