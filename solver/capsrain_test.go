package solver

import (
	"context"
	"math"
	"strings"
	"testing"

	"soiljoule/physics"
)

// rainedOn lets rain come to a plan at a rate [m/s] with a mean between two times.
func rainedOn(p *Problem, mean func(from, to float64) float64) *Problem {
	p.Heat.Carry(p.Ground, physics.Flow{Rain: mean})
	return p
}

// showers is 8 mm a day in the first half of every fourth day, as a mean between two times.
func showers(from, to float64) float64 {
	const rate = 0.008 / day
	sum := func(t float64) float64 {
		whole := math.Floor(t / (4 * day))
		return rate * (whole*2*day + math.Min(2*day, t-whole*4*day))
	}
	if to == from {
		return rate * map[bool]float64{true: 1}[math.Mod(from, 4*day) < 2*day]
	}
	return (sum(to) - sum(from)) / (to - from)
}

// steady is 4 mm a day, always.
func steady(from, to float64) float64 { return 0.004 / day }

// deep is no water table.
func deep(float64) float64 { return far }

// dryPlan takes the rain from slab, in 20 days.
func dryPlan(p *Problem) {
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Cover: 0.1, Air: func(float64) float64 { return 283.15 },
		Below: physics.Held{On: true, Temperature: 288.15}, Sides: physics.Held{On: true, Temperature: 288.15},
		Caps: physics.NewCaps(3, 20*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}},
			[]physics.Slice{{Thickness: 3, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})})
}

// TestRainThatEndsMovesNoHeat: a plan in rain that goes on without it has, an hour later, its
// nodes next to the slab within 0.2 K of one that rain still comes to. The slab's profile is
// without rain another at once, and its faces with it, by a kelvin: that makes 0.14 K here.
// Rates still counted with the heat of rain from 0 K, 55 W/m² for 0.35 of an hour into a node of
// 34 kJ/(m²·K), would be kelvins. The bar is a choice.
func TestRainThatEndsMovesNoHeat(t *testing.T) {
	first, err := Run(t.Context(), until(rainedOn(tableAt(slab(t, 12, 10, 20, 0), deep), steady), 3), nil)
	if err != nil {
		t.Fatal(err)
	}
	var nodes [2][]float64
	for k := range nodes {
		p := until(tableAt(slab(t, 12, 10, 20, 0), deep), 3, 3+1./24)
		if k == 0 {
			p = rainedOn(p, steady)
		}
		last, err := Resume(t.Context(), p, copied(first.Snapshot), nil)
		if err != nil {
			t.Fatal(err)
		}
		up, down := p.Heat.Columns.Profile(last.State.Caps, 6, 5)
		nodes[k] = []float64{up[0], down[0]}
	}
	for s := range 2 {
		d := nodes[1][s] - nodes[0][s]
		t.Logf("side %d: %.3g K", s, d)
		if math.Abs(d) > 0.2 {
			t.Errorf("side %d: without rain the node at the slab is %.3g K from where it is with it, want 0.2 K", s, d)
		}
	}
}

// tableAt puts a plan's water table elsewhere: of its slab from 2.3 m to 5.3 m.
func tableAt(p *Problem, table func(t float64) float64) *Problem {
	site := physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: table(0), Boiling: true, Depth: 3.8, TableAt: table,
		SupplyAt: func(int, float64, float64) physics.WaterSupply {
			return physics.WaterSupply{Removable: 0.3, Refill: 1e-6}
		}}
	gr, err := physics.NewGround(p.Ground.Grid, site, p.Ground.Water, p.Ground.Soils, []float64{far},
		func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 0.3, Refill: 1e-6} })
	if err != nil {
		panic(err)
	}
	gr.Vapour, p.Ground = p.Ground.Vapour, gr
	return p
}

// TestRainOnAPlanIsBooked: with rain that comes and goes, energy, water and the target's own
// ledger of a plan close at every step, while it boils, dries, cools with the supply off, steam rises,
// groundwater flows through the slab, and the table lies below, in or above the slab or
// goes through it; rain is its rate by area and time, and where the slab dries above the table it
// keeps some. By conservation: the bound is 1e-9 of the energy in, and of the water.
func TestRainOnAPlanIsBooked(t *testing.T) {
	at := func(z float64) func(float64) float64 { return func(float64) float64 { return z } }
	for _, c := range []struct {
		name    string
		table   func(t float64) float64
		rising  bool
		off     bool
		across  float64 // [m/s]
		crosses bool    // ever
		keeps   bool
	}{
		{"table below the ground", at(far), false, false, 0, true, true},
		{"table below the slab", at(7), true, false, 0, true, true},
		{"table at the slab's foot, off", at(5.35), true, true, 0, true, true},
		{"table above the slab", at(1), true, false, 0, false, false},
		{"table above the slab, steady rain", at(1), true, false, 0, false, false},
		{"table at the surface", at(0), false, false, 0, false, false},
		{"table through the slab", ramp(7, 1, 8*day, 30*day), true, false, 0, true, true},
		{"groundwater", at(7), false, true, 1e-7, true, true},
	} {
		const days = 40.0
		p := slab(t, 12, 10, days, 0)
		if c.rising {
			p = risingSlab(p, days)
		}
		p = tableAt(p, c.table)
		if c.off {
			p.OffAt = 30 * day
		}
		mean := showers
		if strings.Contains(c.name, "steady") { // the rates of one step are the next one's
			mean = steady
		}
		f := physics.Flow{Rain: mean}
		if c.across != 0 {
			f.Across = constant(p.Ground.Grid.NZ, c.across)
		}
		p.Heat.Carry(p.Ground, f)
		worst, boiled := 0.0, false
		r, err := Run(context.Background(), p, each(func(r *Report) {
			l := &r.Ledger
			if l.In == 0 {
				return
			}
			for _, share := range []float64{l.Share(), l.Zone.Residual / l.In, l.Water.Residual / math.Max(l.Water.Rain, l.Water.scale)} {
				worst = math.Max(worst, math.Abs(share))
			}
			boiled = boiled || l.Steam > 0
		}))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if !(worst <= 1e-9) {
			t.Errorf("%s: a share of %.2g is missing, want 1e-9", c.name, worst)
		}
		l := &r.Ledger
		if want := 998.2 * mean(0, days*day) * days * day * 120; math.Abs(l.Water.Rain/want-1) > 1e-9 {
			t.Errorf("%s: %.12g kg of rain, want %.12g kg", c.name, l.Water.Rain, want)
		}
		if !boiled {
			t.Errorf("%s: nothing boils: the test sees less than it says", c.name)
		}
		if (math.Abs(l.Zone.Water) > 1e-6*l.In) != (c.crosses || c.across != 0) {
			t.Errorf("%s: water takes %.3g J out of the zone of %.3g J", c.name, l.Zone.Water, l.In)
		}
		if brings := l.WaterIn != 0; brings == (c.table(0) == 0) {
			t.Errorf("%s: rain brings %.3g J", c.name, l.WaterIn)
		}
		// What condenses in the columns drains, and counts as no rain.
		kept := (l.Water.Rain - l.Water.ToGroundwater + l.Condensed) / l.Water.Rain
		if c.keeps && !(kept > 0.05) || !c.keeps && !(kept < 1e-9) {
			t.Errorf("%s: %.3g of the rain stay in the slab, want some: %v", c.name, kept, c.keeps)
		}
		t.Logf("%s: %d steps, %d refused; missing %.2g; rain %.4g kg, of which stays %.3g; brought %.3g, carried out %.3g, out of the zone %.3g of the energy in", c.name, r.Stats.Steps, r.Stats.Refused(), worst,
			l.Water.Rain, kept, l.WaterIn/l.In, l.CarriedByWater/l.In, l.Zone.Water/l.In)
	}
}

// TestRainOnAPlanAllocates: a warm step of a plan in rain allocates nothing.
func TestRainOnAPlanAllocates(t *testing.T) {
	r := begun(t, rainedOn(slab(t, 24, 20, 60, far), showers))
	defer r.done()
	steps(t, r, 20)
	if n := testing.AllocsPerRun(5, func() { steps(t, r, 1) }); n > 0 {
		t.Errorf("a step allocates %g times, want none", n)
	}
}
