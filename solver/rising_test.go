package solver

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// lets steam rise in a problem.
func rises(p *Problem, v physics.Vapour) *Problem {
	v.Rising = true
	p.Ground.Vapour = v
	return p
}

// barred makes the sand above the water table a barrier; bores: that the electrodes
// reach through.
func barred(p *Problem, bores bool) *Problem {
	p.Ground.Soils[0].SteamBarrier = true
	v := physics.Vapour{}
	if bores {
		for _, b := range p.Electric.Bodies {
			z := b.Zone
			z.K0 = 0
			v.Bores = append(v.Bores, z)
		}
	}
	return rises(p, v)
}

// dripped adds water at the first electrode, from day 3 to day 12, warmer than the ground.
func dripped(p *Problem, rate float64) *Problem {
	z := p.Electric.Bodies[0].Zone
	a := physics.Added{Name: "1", Rate: rate, Temperature: 300, From: 3 * day, To: 12 * day}
	for k := z.K0; k < z.K1; k++ {
		a.Cells = append(a.Cells, p.Ground.Grid.Index(z.I1, k))
	}
	for range a.Cells {
		a.Share = append(a.Share, 1/float64(len(a.Cells)))
	}
	p.Added = []physics.Added{a}
	return p
}

// rained lets rain sink in, by day only.
func rained(p *Problem) *Problem {
	p.Heat.Carry(p.Ground, physics.Flow{Rain: func(from, to float64) float64 {
		return 1e-7 * (1 - (math.Cos(2*math.Pi*to/day)-math.Cos(2*math.Pi*from/day))/(2*math.Pi)*day/math.Max(to-from, 1))
	}})
	return p
}

// drained lets the sand hold more water than it has, and the clay less.
func drained(p *Problem) *Problem {
	for k := range p.Ground.Stores {
		s := &p.Ground.Stores[k]
		s.Field = 0.6 * s.Pores
	}
	return p
}

func waters(t *testing.T) map[string]func() *Problem {
	return map[string]func() *Problem{
		"a section":                       func() *Problem { return rises(section(t, 15, far), physics.Vapour{}) },
		"a cell":                          func() *Problem { return rises(cell(t, 15, far), physics.Vapour{}) },
		"a cell that dries":               func() *Problem { return rises(cell(t, 15, 0), physics.Vapour{}) },
		"half taken out":                  func() *Problem { return rises(cell(t, 15, far), physics.Vapour{Top: 2.1, Bottom: 3, Capture: 0.5}) },
		"under a barrier":                 func() *Problem { return barred(section(t, 15, far), false) },
		"under a barrier with bores":      func() *Problem { return barred(section(t, 15, far), true) },
		"under a barrier round an axis":   func() *Problem { return barred(cell(t, 15, far), false) },
		"through a bore":                  func() *Problem { return barred(cell(t, 15, far), true) },
		"rain":                            func() *Problem { return rained(section(t, 15, far)) },
		"rain on steam":                   func() *Problem { return drained(rained(rises(section(t, 15, far), physics.Vapour{}))) },
		"water added":                     func() *Problem { return dripped(cell(t, 15, far), 0.06) },
		"water added to what dries":       func() *Problem { return dripped(cell(t, 15, 0), 0.06) },
		"water added, steam, rain, drain": func() *Problem { return drained(rained(dripped(rises(cell(t, 15, 0), physics.Vapour{}), 0.06))) },
		"the supply on and off": func() *Problem {
			p := rises(cell(t, 15, far), physics.Vapour{})
			p.Supply = append(p.Supply, Setting{At: 8 * day, Voltage: 130, PowerLimit: far, CurrentLimit: far}, Setting{At: 9 * day, Voltage: 130, PowerLimit: far, CurrentLimit: far, On: true})
			return p
		},
	}
}

// TestWaterAndHeatOfSteamClose: with steam that rises, is taken out, held under a barrier,
// with water that is added, rains and drains, the energy, the target's and the water's
// ledger close, and what the state holds is what they say. What each problem is for does
// happen in it.
// Source: conservation of mass and energy. Rounding: 1e-16 of the sums a step, some 300
// steps, the water's with 1e-11 K of the temperatures found.
func TestWaterAndHeatOfSteamClose(t *testing.T) {
	alone(t)
	for name, make := range waters(t) {
		p := make()
		g := p.Ground
		report, err := Run(t.Context(), p, each(func(r *Report) {
			l := r.Ledger
			if s := math.Abs(l.Share()); !(s < 1e-10) {
				t.Errorf("%s, day %.3f: the energy ledger misses %.2g of its scale", name, r.State.Time/day, s)
			}
			if s := math.Abs(l.Water.Share()); !(s < 1e-10) {
				t.Errorf("%s, day %.3f: the water ledger misses %.2g of its scale", name, r.State.Time/day, s)
			}
			if d := math.Abs(l.Zone.Residual); !(d <= 1e-9*l.scale) {
				t.Errorf("%s, day %.3f: the target's ledger misses %.2g J of %.2g J", name, r.State.Time/day, d, l.scale)
			}
			for c, w := range r.State.W {
				s := g.Store(c)
				if !(w >= s.Dry*(1-1e-12)) || w > s.Brim()*(1+1e-12) {
					t.Fatalf("%s, day %.3f: cell %d holds %.9g kg/m3 of water, of %.9g to %.9g", name, r.State.Time/day, c, w, s.Dry, s.Brim())
				}
				if tb := s.BoilingPoint; r.State.T[c] > tb+1e-9 && w > s.Dry*(1+1e-9) {
					t.Fatalf("%s, day %.3f: cell %d holds water at %.6g K beyond its boiling point", name, r.State.Time/day, c, r.State.T[c]-tb)
				}
			}
		}))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		l := report.Ledger
		for what, did := range map[string]bool{
			"steam condensed":        l.Condensed > 0 == g.Vapour.Rising,
			"steam was taken out":    l.SteamMass.Captured > 0 == (!g.Vapour.Rising || g.Vapour.Capture > 0),
			"steam was held":         l.SteamMass.Held == 0 || name == "under a barrier" || name == "under a barrier round an axis",
			"rain":                   l.Water.Rain > 0 == p.Heat.Rains(),
			"water added":            math.Abs(l.Water.Added-9*day*0.06*float64(len(p.Added))) < 1e-6,
			"steps few refused":      report.Stats.Refused()*4 < report.Stats.Steps,
			"some boiled in the end": l.ZoneBoiled > 0,
		} {
			if !did {
				t.Errorf("%s: %s, not as the problem has it: %+v %+v, %d of %d steps refused", name, what, l.SteamMass, l.Water, report.Stats.Refused(), report.Stats.Steps)
			}
		}
	}
}

// TestRisingStepAllocates: a step in which steam rises and water sinks allocates nothing.
func TestRisingStepAllocates(t *testing.T) {
	alone(t)
	for name, make := range waters(t) {
		r := begun(t, make())
		steps(t, r, 30)
		if got := testing.AllocsPerRun(12, func() { steps(t, r, 1) }); got != 0 {
			t.Errorf("%s: a step on day %.2f allocates %.1f times, want 0", name, r.state.Time/day, got)
		}
	}
}

// TestRisingTriesLeaveNoTrace: steps that are tried and not taken change no bit of a run
// in which steam rises.
func TestRisingTriesLeaveNoTrace(t *testing.T) {
	alone(t)
	for name, make := range waters(t) {
		plain, tried := begun(t, make()), begun(t, make())
		for range 4 {
			steps(t, plain, 8)
			steps(t, tried, 8)
			before := snap(tried)
			for _, factor := range []float64{30, 1, 0.1} {
				_, _ = tried.step(factor * tried.control.dt)
				if d := before.differs(snap(tried)); d != "" {
					t.Fatalf("%s: on day %.3f a step that was not taken has changed %s", name, tried.state.Time/day, d)
				}
			}
		}
		steps(t, plain, 3)
		steps(t, tried, 3)
		if d := snap(plain).differs(snap(tried)); d != "" {
			t.Errorf("%s: on day %.3f a run with tries in between differs in %s from one without", name, tried.state.Time/day, d)
		}
	}
}

// boiled is 90 by 80 cells of wet ground, a part of which a set power boils within a day.
func boiled(t *testing.T) *Problem {
	t.Helper()
	even := func(n int) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			e[i] = 0.1 * float64(i)
		}
		return e
	}
	g := mesh.NewSection(even(90), even(80), 1)
	p := problem(yard(t, g, far), nil, g.Box("", 3, 6, 4, 6), 2, 0)
	p.Supply = nil
	p.Imposed = make([]float64, g.Cells())
	for k := 40; k < 60; k++ {
		for i := 30; i < 60; i++ {
			p.Imposed[g.Index(i, k)] = 200
		}
	}
	return p
}

// TestRisingDoesNotKnowItsWorkers: one, two and three processors give the same bytes, on
// a grid that is large enough to be shared.
func TestRisingDoesNotKnowItsWorkers(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first []float64
	var ledger Ledger
	for n := 1; n <= 3; n++ {
		runtime.GOMAXPROCS(n)
		r := begun(t, rises(boiled(t), physics.Vapour{}))
		for r.state.Time < 0.6*day {
			steps(t, r, 1)
		}
		if n == 1 {
			first, ledger = slices.Clone(r.state.T), r.ledger
			if ledger.Condensed == 0 {
				t.Fatal("no steam condenses where the test needs it")
			}
			continue
		}
		if !slices.Equal(first, r.state.T) || ledger != r.ledger {
			t.Errorf("%d processors give other bytes than one", n)
		}
	}
}

// TestAllTakenOutIsExtracted: steam that rises through an extraction interval as deep as
// the ground, which takes all, leaves what steam leaves that is extracted where it forms.
// The two solve the same equations by other roads, to 1e-4 of the step's tolerance of
// 0.1 K, which some hundred steps may add up.
func TestAllTakenOutIsExtracted(t *testing.T) {
	for _, make := range []func() *Problem{func() *Problem { return cell(t, 15, far) }, func() *Problem { return section(t, 15, far) }} {
		a, err := Run(t.Context(), make(), nil)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Run(t.Context(), rises(make(), physics.Vapour{Top: -1, Bottom: 100, Capture: 1}), nil)
		if err != nil {
			t.Fatal(err)
		}
		if b.Ledger.Condensed != 0 || b.Ledger.SteamMass.Surface != 0 {
			t.Errorf("%g kg condensed and %g kg came to the surface, want none", b.Ledger.Condensed, b.Ledger.SteamMass.Surface)
		}
		for c, want := range a.State.T {
			if got := b.State.T[c]; !(math.Abs(got-want) < 1e-3) {
				t.Errorf("cell %d has %.6f K, extracted %.6f K", c, got, want)
			}
		}
		if d := b.Ledger.SteamOut/a.Ledger.SteamOut - 1; !(math.Abs(d) < 1e-4) {
			t.Errorf("steam takes %.2g more heat out than extracted", d)
		}
	}
}
