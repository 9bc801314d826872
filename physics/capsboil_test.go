package physics

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// TestBoilAt: ground boils by the pressure at its own depth, and a kilogram of steam takes
// what water at ambient must be given; beyond the critical pressure, or with boiling off,
// it does not.
// Source: saturation at 0.2 MPa is 120.21 °C, at 0.101325 MPa 99.97 °C with h_v = 2675.5
// and h_v − h_w = 2256.5 kJ/kg; water at 13 °C has 54.7 kJ/kg (steam tables, from memory).
// Half a unit of the last digit, 0.005 K and 0.05 kJ/kg, and 0.1 kJ/kg for the water
// tables' own, whose liquid is not under pressure.
func TestBoilAt(t *testing.T) {
	water := materials.NewWater()
	s := Site{Ambient: 286.15, AirPressure: 101325, WaterTable: 2, Boiling: true}
	b := s.BoilAt(water, 1)
	for _, c := range []struct {
		name           string
		got, want, tol float64
	}{
		{"the boiling point above the water table [K]", b.Point, 373.12, 0.005},
		{"the steam's heat [kJ/kg]", b.Steam / 1e3, 2675.5 - 54.7, 0.2},
		{"the latent heat [kJ/kg]", b.Latent / 1e3, 2256.5, 0.2},
		{"the boiling point under 0.2 MPa [K]", s.BoilAt(water, 2+(2e5-101325)/(materials.RhoWater*materials.Gravity)).Point, 393.36, 0.006},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s is %.6g, want %.6g ± %g", c.name, c.got, c.want, c.tol)
		}
	}
	off := s
	off.Boiling = false
	for _, b := range []Boil{off.BoilAt(water, 1), s.BoilAt(water, 3000)} {
		if !math.IsInf(b.Point, 1) {
			t.Errorf("ground that cannot boil does at %g K", b.Point)
		}
	}
}

// TestFringeBoilsTheRest: columns heated evenly between a face and ends that let nothing
// through warm to their boiling point and stay there, and what heat comes then is steam.
// By hand: 0.5 m above and 0.5 m below of 2.5 MJ/(m³·K), a reach far beyond both, so each
// takes half of 0.25·500 W/m² and warms by 5e-5 K/s, to 40 K in 8e5 s. The
// face follows them, so nothing is conducted. With a step of 1e4 s the switch is hit
// exactly; the reach of 1e6 m leaves 1e-6 of unevenness.
func TestFringeBoilsTheRest(t *testing.T) {
	const thickness, dt, duration = 1e-9, 1e4, 1.2e6
	ground := []Slice{{0.5, 2, 2.5e6}}
	caps := NewCaps(thickness, duration, ground, ground)
	caps.Top = 0.5
	caps.Passing = falling(caps.Top, thickness, 1e6)
	deepest := 0.0
	caps.Boil = func(z float64) Boil {
		deepest = max(deepest, z)
		return Boil{Point: 40, Steam: 2e6, Latent: 1.5e6}
	}
	h := NewHeat(mesh.NewPlan([]float64{0, 1}, []float64{0, 1}, thickness), HeatBoundary{Caps: caps, Air: func(float64) float64 { return 0 }})
	h.SetAir(0, 0)
	c := h.Columns
	c.joinRow([]float64{1.0 / 6}, 0)
	if !(deepest > 0.9 && deepest < 1) {
		t.Errorf("the deepest node asks for the boiling point at %g m, want just above the bottom, 1 m deep", deepest)
	}
	const gamma, d, w = 2 - math.Sqrt2, 1 - math.Sqrt2/2, math.Sqrt2 / 4
	now, next := make([]float64, c.Size()), make([]float64, c.Size())
	r0, r1 := c.NewRates(), c.NewRates()
	c.Start(now, &r0, 0)
	c.FringeRows(&r0, 0.25, []float64{500}, nil, 0, 1)
	var steam CapSteam
	rise := make([]CapSteam, 1)
	for n := range int(duration / dt) {
		at := float64(n) * dt
		for i, tau := range []float64{gamma, 1} {
			if i == 0 {
				c.ExpectRows(now, &Expected{Time: dt, Rates: &r0, Cells: []float64{min(40, 5e-5*at)}, Fringe: r0.Fringe, Vapour: &Vapour{}}, 0, 1)
			}
			c.Factor(&r1, d*dt)
			c.KnownRows(next, now, &r0, []float64{0, w / d}[i], 0, 1)
			c.FringeRows(&r1, 0.25, []float64{500}, nil, 0, 1)
			c.OutsideRows(next, &r1, 0, 1)
			c.CloseRows(next, &r1, []float64{min(40, 5e-5*(at+tau*dt))}, 0, 0, 1)
		}
		c.RiseBelowRows(next, rise, &Vapour{}, 0, dt, 0, 1)
		c.RiseAboveRows(next, &r1, rise, &Vapour{}, 0, dt, 0, 1)
		if v := c.Vapour(); v.Captured != v.Boiled || v.Surface != (CapSteam{}) || v.Condensed != (CapSteam{}) {
			t.Fatalf("steam that is extracted where it forms does %+v", v)
		}
		steam = steam.Plus(1, c.Vapour().Boiled)
		now, next = next, now
		r0, r1 = r1, r0
		want := min(40, 5e-5*(at+dt))
		for j, got := range now {
			if math.Abs(got-want) > 1e-4 {
				t.Fatalf("node %d is %.9g K after %g s, want %.9g K", j, got, at+dt, want)
			}
		}
	}
	// 125 W/m² in all for 1.2e6 s, less what 1 m of ground takes: 2.5e6·40 J.
	heat := 125*duration - 2.5e6*40
	for _, q := range [][2]float64{{steam.Heat, heat}, {steam.Mass, heat / 2e6}, {steam.Latent, heat / 2e6 * 1.5e6}} {
		if math.Abs(q[0]/q[1]-1) > 1e-5 {
			t.Errorf("the steam is %+v, want %.6g J", steam, heat)
		}
	}
	if above, below, shallow := c.Hottest(); math.Abs(above-40) > 1e-4 || math.Abs(below-40) > 1e-4 || !(shallow > 0 && shallow < 0.1) {
		t.Errorf("the hottest nodes are %g and %g K, and it boils from %g m down; want 40 K and the uppermost node", above, below, shallow)
	}
}
