package physics

import (
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/materials"
)

func randomStore(rng *rand.Rand, water *materials.Water) Store {
	t0, tb := 283.15+10*rng.Float64(), 363.15+40*rng.Float64()
	h0, c0 := water.Enthalpy(t0)
	hb, _ := water.Enthalpy(tb)
	s := Store{water: water, t0: t0, h0: h0, BoilingPoint: tb, Solids: 1e6 + 1e6*rng.Float64(),
		Pores: 100 + 300*rng.Float64(), LiquidAtBoiling: hb - h0, Steam: materials.VapourEnthalpy(tb) - h0}
	s.Found = s.Pores * rng.Float64()
	s.Dry = math.Min(s.Found, s.Pores*0.05)
	s.Floor = math.Max(s.Dry, s.Found*(0.5+0.5*rng.Float64()))
	s.Capacity = s.Solids + s.Found*c0
	switch rng.IntN(3) {
	case 1:
		s.Inflow = math.Inf(1)
	case 2:
		s.Inflow = 1e-4 * rng.Float64() * s.Pores
	}
	return s
}

// Whatever the heat and the water, a cell's response keeps both to rounding, T
// never falls as heat is added, it never jumps, and water boils nowhere below
// the boiling point nor superheats above it: the complementarity, checked from
// its definition rather than from the branches that solve it.
func TestRespondIsTheComplementarity(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	water := materials.NewWater()
	for range 3000 {
		s := randomStore(rng, water)
		w := s.Dry + (s.Found-s.Dry)*rng.Float64()
		if rng.IntN(4) == 0 {
			w = s.Dry * rng.Float64() // overshot
		}
		dt := 1e5 * rng.Float64()
		last := math.Inf(-1)
		top := 2 * (s.atBoiling(s.Found) + s.Found*s.Steam)
		const n = 400
		for i := range n {
			e := top * float64(i) / n
			r := s.Respond(e, w, dt, s.t0)
			scale := math.Max(e, w*s.Steam) + 1
			// A dozen roundings of terms of this scale; T itself is found to 1e-11 K.
			tol := 1e-12*scale + s.Capacity*1e-9
			if d := math.Abs(s.Energy(r.T, r.W) - (e - r.Steam*s.Steam)); d > tol {
				t.Fatalf("Respond(e=%g, w=%g): heat %g J/m³ missing, allowed %g (%+v)", e, w, d, tol, s)
			}
			if d := math.Abs(w + r.Inflow - r.Steam - r.W); d > 1e-12*(w+r.Inflow+math.Abs(r.Steam)) {
				t.Fatalf("Respond(e=%g, w=%g): water %g kg/m³ missing", e, w, d)
			}
			if r.T < last-1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): T falls from %g to %g as heat is added (%+v)", e, w, last, r.T, s)
			}
			if rise := top / n / s.Solids * 1.0001; r.T > last+rise && i > 0 {
				t.Fatalf("Respond(e=%g, w=%g): T jumps from %g to %g, steepest possible %g (%+v)", e, w, last, r.T, rise, s)
			}
			last = r.T
			closing := math.Min(0, w-s.Dry)
			if r.Steam < closing-1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): steam %g below zero", e, w, r.Steam)
			}
			if r.Steam > closing+1e-9 && r.T < s.BoilingPoint-1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): boils %g kg/m³ at %g K below T_b = %g", e, w, r.Steam, r.T, s.BoilingPoint)
			}
			if r.T > s.BoilingPoint+1e-9 && r.W > s.Dry+1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): superheats to %g K with %g kg/m³ of water left above dry", e, w, r.T, r.W-s.Dry)
			}
			if r.Inflow < -1e-12 || r.Inflow > s.Inflow*dt+1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): inflow %g outside 0 to %g", e, w, r.Inflow, s.Inflow*dt)
			}
			if r.Inflow > 1e-9 && r.W > math.Max(s.Floor, 0)+1e-9 {
				t.Fatalf("Respond(e=%g, w=%g): inflow %g above the floor", e, w, r.Inflow)
			}
		}
	}
}

// The temperature of a heat is that which has it, and dT/dE the slope there, in the
// water's tables and beyond, from any start, at and about the tables' own nodes as
// between them. T is held to 1e-11 K and four roundings of 500 K. The slope changes by
// 6e-4 of itself a kelvin at most; it may be that of the cubic beside, over the 1e-4 K
// for which that one is taken.
func TestTemperatureInvertsEnergy(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	water := materials.NewWater()
	for range 200000 {
		s := randomStore(rng, water)
		s.Solids *= math.Pow(10, -4*rng.Float64()*float64(rng.IntN(2)))
		want := materials.TableMin - 30 + 260*rng.Float64()
		if rng.IntN(3) == 0 { // at a node or close to one
			want = materials.TableMin + float64(rng.IntN(int(materials.TableMax-materials.TableMin)+1)) + (rng.Float64()-0.5)*math.Pow(10, -float64(rng.IntN(15)))
		}
		w := s.Found * float64(rng.IntN(8)) / 7
		guess := want + 2*(rng.Float64()-0.5)*math.Pow(10, 2-float64(rng.IntN(12)))
		if rng.IntN(50) == 0 {
			guess = 1e4 * (rng.Float64() - 0.2)
		}
		got, slope := s.temperature(s.Energy(want, w), w, guess)
		_, c := water.Enthalpy(want)
		if tol := 1e-11 + 4*2.3e-16*500; math.Abs(got-want) > tol {
			t.Fatalf("temperature of %g J/m³ from %g K, C_s = %g, w = %g: %.15g K, want %.15g ± %.1g", s.Energy(want, w), guess, s.Solids, w, got, want, tol)
		}
		if exact := 1 / (s.Solids + w*c); math.Abs(slope-exact) > 6e-8*exact {
			t.Fatalf("dT/dE at %.15g K, C_s = %g, w = %g: %.15g, want %.15g", want, s.Solids, w, slope, exact)
		}
	}
}

// A kilogram that boils where inflow replaces it costs 2.62 MJ at 100 °C from
// ground at 13 °C, and 16 % over the latent heat: steam tables, 2675.6 − 54.6
// = 2621.0 kJ/kg and 2256.5 (IAPWS R7-97; h of liquid at 13 °C from memory of the
// table's 15 °C row, 62.98 − 2·4.19).
func TestFedBoilingCostsColdWater(t *testing.T) {
	water := materials.NewWater()
	h0, _ := water.Enthalpy(286.15)
	hb, _ := water.Enthalpy(373.15)
	s := Store{water: water, t0: 286.15, h0: h0, BoilingPoint: 373.15, Solids: 1e6, Pores: 400, Found: 400,
		Floor: 280, Dry: 20, Inflow: math.Inf(1), LiquidAtBoiling: hb - h0, Steam: materials.VapourEnthalpy(373.15) - h0}
	e := s.atBoiling(280)
	r := s.Respond(e+1e6, 280, 1000, 373.15)
	cost := 1e6 / r.Steam
	if math.Abs(cost-2621.0e3) > 0.5e3 { // half a unit of the last digit used above
		t.Errorf("a kilogram boiled with inflow costs %.1f kJ, want 2621.0 ± 0.5", cost/1e3)
	}
	if r.W != 280 {
		t.Errorf("water held at the floor: got %g, want 280", r.W)
	}
}
