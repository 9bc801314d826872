package solver

import (
	"context"
	"math"
	"testing"

	"soiljoule/physics"
)

// TestFringeBoilsBesideASlab: under a constant supply, a stop of it, and a meter that
// falls silent and starts again, no node above or below a plan's slab passes its boiling
// point, by the fringe or by what a hotter slab conducts there; what comes beyond is in the
// ledger as steam with the water that replaces it, and heat, water and the columns' own content close.
//
// Columns: by conservation, the fringe's heat less its steam and what the slab gives, to
// 1e-12 of what they hold above 0 K, as without steam. Nodes: a step leaves none above its
// boiling point, so there is no tolerance.
func TestFringeBoilsBesideASlab(t *testing.T) {
	for _, name := range []string{"constant", "stopped", "metered"} {
		const days, fringe = 30.0, 3.0 // so much that the slab is the cooler
		p := slab(t, 12, 10, days, far)
		g := p.Ground.Grid
		p.Targets[0].Zone = g.Box("all", 0, 12, 0, 10)
		p.Electric.Fringe = 1 + fringe
		caps := physics.NewCaps(3, days*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}},
			[]physics.Slice{{Thickness: 3, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})
		caps.Passing, caps.Top = falling(2.3, 3, 0.8), 2.3
		const point = 365.0 // one everywhere, below the slab's
		caps.Boil = func(float64) physics.Boil { return physics.Boil{Point: point, Steam: 2.6e6, Latent: 2.25e6} }
		p.Heat = physics.NewHeat(g, physics.HeatBoundary{Air: func(float64) float64 { return 283.15 }, Caps: caps})
		switch name {
		case "stopped":
			on, off := p.Supply[0], p.Supply[0]
			off.At, off.On, on.At = 14*day, false, 16*day
			p.Supply = append(p.Supply, off, on)
		case "metered":
			p.Meter = fiveMinutes(days+1, 150).meter()
		}
		tol := 1e-12 * capsHeat(p, &State{Caps: constant(p.Heat.Columns.Size(), 2*288.15)})
		over, boiling, mass, last := math.Inf(-1), 0, 0.0, 0.0
		r, err := Run(context.Background(), p, each(func(r *Report) {
			mass += r.SteamRate * (r.State.Time - last)
			last = r.State.Time
			l := &r.Ledger
			want := fringe/(1+fringe)*l.In + l.Zone.Top + l.Zone.Bottom - l.SteamBeyond
			if got := capsHeat(p, r.State); !(math.Abs(got-want) <= tol) {
				t.Errorf("%s, day %.3f: the columns hold %.12g J, want the fringe's heat less its steam and what the slab gives, %.12g J within %.2g J", name, r.State.Time/day, got, want, tol)
			}
			if !(math.Abs(l.Residual) <= tol) || !(math.Abs(l.Water.Residual)*2.6e6 <= tol) {
				t.Errorf("%s, day %.3f: %.2g J and %.2g kg are missing, want rounding, below %.2g J", name, r.State.Time/day, l.Residual, l.Water.Residual, tol)
			}
			nodes := len(r.State.Caps) / g.Cells()
			for c := range r.State.T {
				for j := range nodes {
					v := r.State.Caps[(c/g.NX*nodes+j)*g.NX+c%g.NX]
					over = math.Max(over, v-point)
					if v > point-1 {
						boiling++
					}
				}
			}
		}))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		l := &r.Ledger
		if over > 0 {
			t.Errorf("%s: a node passes its boiling point by %.3g K", name, over)
		}
		if math.Abs(mass/l.Steam-1) > 1e-12 {
			t.Errorf("%s: the steam rate of the steps makes %.12g kg, the ledger has %.12g kg", name, mass, l.Steam)
		}
		slabSteam := (l.SteamOut - l.SteamBeyond) / p.Ground.Stores[0].Steam
		if got, want := l.Steam-slabSteam, l.SteamBeyond/2.6e6; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s: %.9g kg of steam are not the slab's, want %.9g kg", name, got, want)
		}
		if got, want := l.Latent, slabSteam*p.Ground.Stores[0].Latent()+l.SteamBeyond/2.6e6*2.25e6; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s: evaporation takes %.9g J, want %.9g J", name, got, want)
		}
		if boiling == 0 || !(l.SteamBeyond > 0.1*l.In) {
			t.Errorf("%s: %.3g of the energy in boils above and below: the test sees less than it says", name, l.SteamBeyond/l.In)
		}
		if up, down := r.Stats.HottestAbove, r.Stats.HottestBelow; !(up > point-5 && up < 400 && down > point-5 && down < 400) || !(r.Stats.ShallowestBoil < 2.3) {
			t.Errorf("%s: the hottest above and below are %.5g K and %.5g K, boiling from %.3g m down", name, up, down, r.Stats.ShallowestBoil)
		}
		t.Logf("%s: %d steps, over by %.3g K, %.3g of the energy in is steam from above and below, residual %.2g J of %.2g J", name, r.Stats.Steps, over, l.SteamBeyond/l.In, l.Residual, tol)
	}
}
