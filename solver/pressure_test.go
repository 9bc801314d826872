package solver

import (
	"context"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// flashing is one row of wet, insulated ground 8.5 m deep without inflow, found at the
// boiling point of its water table at the start, under a power [W/m³] and a table that
// moves.
func flashing(t testing.TB, table func(t float64) float64, power, days float64, turns ...float64) *Problem {
	t.Helper()
	const depth = 8.5
	g := mesh.NewSection([]float64{0, 1, 2, 3}, []float64{8, 9}, 1)
	site := physics.Site{AirPressure: 101325, WaterTable: table(0), Boiling: true}
	site.Ambient = materials.SaturationTemperature(site.Pressure(depth))
	site.TableAt = table
	site.SupplyAt = func(int, float64, float64) physics.WaterSupply { return physics.WaterSupply{} }
	soil := &materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: 293.15, SaturationExponent: 2, Porosity: 0.4, Saturation: 1,
		DrySaturation: 0.05, ThermalConductivity: 1.6, HeatCapacity: 2.9e6}
	gr, err := physics.NewGround(g, site, materials.NewWater(), []*materials.Soil{soil}, []float64{far}, nil)
	if err != nil {
		t.Fatal(err)
	}
	imposed := make([]float64, g.Cells())
	for c := range imposed {
		imposed[c] = power * g.Volume[c]
	}
	whole := g.Box("block", 0, 3, 8, 9)
	return &Problem{Ground: gr, Imposed: imposed, Watched: whole, Duration: days * day, Turns: turns,
		Heat:    physics.NewHeat(g, physics.HeatBoundary{Film: 1e-12, Air: func(float64) float64 { return site.Ambient }}),
		Targets: []Target{{Zone: whole, Temperature: math.NaN(), Share: 1}}}
}

// ramp is a table that goes from one depth [m] to another between two times [s].
func ramp(a, b, from, to float64) func(float64) float64 {
	return func(t float64) float64 { return a + (b-a)*math.Min(math.Max((t-from)/(to-from), 0), 1) }
}

// TestFallingTableFlashes: hot ground whose water table falls gives up as steam the heat
// by which it then is too hot, neither more nor less, follows the boiling point down, and
// the ledgers of heat and water close; run again, the problem gives the same.
//
// Source: heat balance of the block at its boiling point, C_s dT + W dh_w = h_lv dW, in
// closed form where C_s, c_w and h_lv are constant:
//
//	W₂ + C_s/c_w = (W₁ + C_s/c_w) exp(−c_w (T₁ − T₂)/h_lv)
//
// with those of the middle, 107.96 °C: h_lv = 2235.23 kJ/kg, and c_w = 4.2309 kJ/(kg·K), the
// rise of h_w along saturation (IAPWS R7-97, between rows of
// validation/testdata/water_saturation.csv). Both run nearly straight over the 16 K: that
// the middle stands for all leaves some 3e-5, their digits as much. While the table falls the ground is at its boiling point to rounding. Where it
// passes the ground the boiling point stops within a step, and the steam of that step goes
// by its earlier rate with a weight of 0.35 (√2/4): of the 0.55 K by which the boiling
// point falls in half a day, the ground may then be 0.2 K too cool.
func TestFallingTableFlashes(t *testing.T) {
	var turns []float64
	for d := 2.0; d <= 22; d += 0.5 {
		turns = append(turns, d*day)
	}
	p := flashing(t, ramp(1, 9, 2*day, 22*day), 0, 30, turns...)
	store := &p.Ground.Stores[0]
	hot := store.BoilingPoint
	solids, found := store.Solids, store.Found
	var steam [2]float64
	for again := range steam {
		cooled := 0.0
		r, err := Run(context.Background(), p, each(func(r *Report) {
			tb := p.Ground.BoilingPoint(0)
			near := 1e-9
			if r.State.Time > 20.5*day { // the table passes 8.5 m on day 20.75
				near = 0.2
			}
			if d := math.Abs(r.State.T[0] - tb); !(d <= near) {
				t.Errorf("day %.3f: the ground has %.9g K and boils at %.9g K, want it at its boiling point", r.State.Time/day, r.State.T[0], tb)
			}
			if r.State.Time < 2*day && r.SteamRate != 0 {
				t.Errorf("day %.3f: %.3g kg/s of steam before the table falls", r.State.Time/day, r.SteamRate)
			}
			cooled = hot - r.State.T[0]
			if share := math.Abs(r.Ledger.Share()); !(share <= 1e-10) {
				t.Errorf("day %.3f: %.2g of the ledger are missing", r.State.Time/day, share)
			}
		}))
		if err != nil {
			t.Fatal(err)
		}
		steam[again] = found - r.State.W[0]
		const latent, heat = 2235.23e3, 4230.9
		want := (found + solids/heat) * -math.Expm1(-heat*cooled/latent)
		if got := steam[again]; !(math.Abs(got/want-1) <= 1e-4) {
			t.Errorf("a cubic metre that cools by %.3f K has lost %.6g kg of water, want %.6g kg within 1e-4", cooled, got, want)
		}
		if cooled < 14 || cooled > 18 {
			t.Errorf("the ground cooled by %.3f K, want about 16 K: under 0.1747 MPa water boils at 116.0 °C, under 0.1013 at 100.0 °C", cooled)
		}
	}
	if steam[0] != steam[1] {
		t.Errorf("run again the problem gives %.17g and not %.17g kg/m³ of steam", steam[1], steam[0])
	}
}

// TestRisingTableStopsBoiling: heated ground at its boiling point gives no steam while its
// water table has risen and the ground warms after it, and steams again when it has come to
// the boiling point that it then has.
// Source: heat balance: from the rise on C ΔT/Q. ΔT is 6.18 K from 99.97 °C to that of 2.5 m
// of water, 125.8 kPa, by IAPWS R7-97; C the solids and 384 kg/m³ of water, what four days
// of 100 W/m³ left, at 4.223 kJ/(kg·K). A step of 0.05 d tells when; that in which the rise
// begins gives steam by its earlier rate with a weight of 0.35, which takes as long to make
// good.
func TestRisingTableStopsBoiling(t *testing.T) {
	const power, rise, step = 100.0, 4 * day, day / 20
	p := flashing(t, ramp(8.5, 6, rise, rise+day), power, 9)
	p.Settings.FixedStep = step
	quiet, again := math.NaN(), math.NaN() // [s] since when there is none, and is again
	_, err := Run(context.Background(), p, each(func(r *Report) {
		at, steams := r.State.Time, r.SteamRate > 0
		switch {
		case at > 0 && at <= rise && !steams:
			t.Errorf("day %.3f: no steam before the rise", at/day)
		case at > rise && math.IsNaN(quiet) && !steams:
			quiet = at
		case !math.IsNaN(quiet) && math.IsNaN(again) && steams:
			again = at
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if !(quiet <= rise+2*step*(1+1e-9)) {
		t.Errorf("the steam stops on day %.3f, want within two steps of day 4", quiet/day)
	}
	s := &p.Ground.Stores[0]
	want := rise + (s.Solids+384*4223)*6.18/power
	if !(math.Abs(again-want) <= 1.4*step) {
		t.Errorf("there is steam again from day %.3f on, want from day %.3f ± %.2g", again/day, want/day, 1.4*step/day)
	}
}
