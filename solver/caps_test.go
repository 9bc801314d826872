package solver

import (
	"context"
	"math"
	"runtime"
	"slices"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// slab is a plan 3 m thick under 2 m of soil and a pavement, over endless rock: two
// plates at its ends, nx by ny cells between, and a target that is a square turned by 45
// degrees. Water that boils is replaced at an inflow [1/s].
func slab(t testing.TB, nx, ny int, days, inflow float64) *Problem {
	t.Helper()
	const thickness = 3.0
	even := func(n int, length float64) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			e[i] = length * float64(i) / float64(n)
		}
		return e
	}
	g := mesh.NewPlan(even(nx, 12), even(ny, 10), thickness)
	clay := &materials.Soil{Name: "clay", Resistivity: 20, ResistivityAt: 298.15, TemperatureCoeff: 0.0187, SaturationExponent: 2,
		ResidualConductivity: 0.05, Porosity: 0.4, Saturation: 1, DrySaturation: 0.05,
		ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.8e6}
	gr, err := physics.NewGround(g, physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: 2, Boiling: true, Depth: 4}, materials.NewWater(),
		[]*materials.Soil{clay}, []float64{far},
		func(int, float64) physics.WaterSupply {
			return physics.WaterSupply{Removable: 0.3, Inflow: inflow, Refill: 1e-6}
		})
	if err != nil {
		t.Fatal(err)
	}
	plate := func(name string, phase complex128, x0, x1 float64) physics.Body {
		return physics.Body{Name: name, Label: name, Phase: phase, Rods: 1, Zone: g.Box(name, x0, x1, 3, 7)}
	}
	e, err := physics.NewElectric(g, []physics.Body{plate("A", 1, 0, 1), plate("B", -1, 11, 12)}, false)
	if err != nil {
		t.Fatal(err)
	}
	zone := g.Polygon("square", [][2]float64{{6, 1.1}, {9.7, 5}, {6, 8.9}, {2.3, 5}})
	p := problem(gr, e, zone, days, 400)
	p.Settings.Tolerance = 0.02
	caps := physics.NewCaps(thickness, days*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}},
		[]physics.Slice{{Thickness: 3, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})
	caps.Top = 2.3
	p.Heat = physics.NewHeat(g, physics.HeatBoundary{Film: 12, Cover: 0.1, Air: func(float64) float64 { return 283.15 },
		Below: physics.Held{On: true, Temperature: 288.15}, Sides: physics.Held{On: true, Temperature: 288.15}, Caps: caps})
	return p
}

// capsHeat returns the heat that the columns of a problem hold [J], from their
// temperatures alone: above, 2 m of 2 MJ/(m³·K) and then 2.1, below, 3 m of 2.8 and then
// 2.3, beyond 288.15 K.
func capsHeat(p *Problem, s *State) float64 {
	c := p.Heat.Columns
	g := p.Ground.Grid
	above, below := c.Nodes()
	sum := 0.0
	for k := range g.NZ {
		for i := range g.NX {
			up, down := c.Profile(s.Caps, i, k)
			heat, z := 0.0, 0.0
			for j, t := range up {
				z += above[j]
				capacity := 2e6
				if z > 2+1e-9 {
					capacity = 2.1e6
				}
				heat += capacity * above[j] * (t - 288.15)
			}
			z = 0
			for j, t := range down {
				z += below[j]
				capacity := 2.8e6
				if z > 3+1e-9 {
					capacity = 2.3e6
				}
				heat += capacity * below[j] * (t - 288.15)
			}
			sum += heat * (g.X[i+1] - g.X[i]) * (g.Z[k+1] - g.Z[k])
		}
	}
	return sum
}

// TestPlanLedgerCloses: the ledger of a plan closes to rounding, that of a zone which
// cuts cells too, whether the ground stays wet, boils or dries, and what it says is
// stored and lost is what the temperatures say. By conservation: the fluxes that are
// booked are those that move heat. What a stage rounds off is at most half a unit in the
// last place, 1.1e-16, of the heat that the columns hold above 0 K, whose temperatures it
// works on: that, stage by stage, is the tolerance, and 1e-12 of the energy in for the zone.
func TestPlanLedgerCloses(t *testing.T) {
	for _, c := range []struct {
		name   string
		inflow float64
		set    bool
	}{{"with inflow", far, false}, {"drying", 0, false}, {"with set power", 1e-7, true}} {
		p := slab(t, 24, 20, 50, c.inflow)
		if c.set {
			p = swinging(t, p)
		}
		want := 3 * 2 * 3.7 * 3.9
		if got := p.Targets[0].Zone.Volume(p.Ground.Grid); math.Abs(got/want-1) > 1e-13 {
			t.Errorf("a square of diagonals 7.4 and 7.8 m, 3 m thick, has %.15g m³, want %.15g m³", got, want)
		}
		content := capsHeat(p, &State{Caps: constant(p.Heat.Columns.Size(), 2*288.15)})
		boiled, dried := false, false
		r, err := Run(context.Background(), p, each(func(r *Report) {
			l := &r.Ledger
			if l.In == 0 {
				return
			}
			if tol := 2 * 1.1e-16 * content * float64(r.Stats.Steps); !(math.Abs(l.Residual) <= tol) {
				t.Errorf("%s, day %.3f: %.2g J of %.2g J are missing, want rounding, below %.2g J", c.name, r.State.Time/day, l.Residual, l.In, tol)
			}
			if share := math.Abs(l.Zone.Residual / l.In); !(share <= 1e-12) {
				t.Errorf("%s, day %.3f: a share of %.2g is missing in the zone, want 1e-12", c.name, r.State.Time/day, share)
			}
			boiled = boiled || l.Steam > 0
			dried = dried || r.Stats.Dried > 0
		}))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if !boiled || c.inflow == 0 && !dried {
			t.Errorf("%s: boiled %v, dried %v: the test sees less than it says", c.name, boiled, dried)
		}
		l, s := &r.Ledger, r.State
		g := p.Ground.Grid
		slabHeat, zoneHeat := 0.0, 0.0
		for k := range g.NZ {
			for i := range g.NX {
				n := g.Index(i, k)
				q := g.Volume[n] * p.Ground.Store(n).Energy(s.T[n], s.W[n])
				slabHeat += q
				zoneHeat += p.Targets[0].Zone.Weight(i, k) * q
			}
		}
		caps := capsHeat(p, s)
		if !(caps > 0.05*l.In) {
			t.Errorf("%s: the columns hold %.3g of %.3g J put in: the test sees less than it says", c.name, caps, l.In)
		}
		if got, want := l.StoredOutside, slabHeat-zoneHeat+caps; math.Abs(got-want) > 1e-11*l.In {
			t.Errorf("%s: %.15g J are stored outside, the temperatures say %.15g J", c.name, got, want)
		}
		if got, want := l.StoredTarget, zoneHeat; math.Abs(got-want) > 1e-11*l.In {
			t.Errorf("%s: %.15g J are stored in the zone, the temperatures say %.15g J", c.name, got, want)
		}
		t.Logf("%s: %d steps, share missing %.2g, of the zone %.2g; In %.4g J, caps %.3g, surface %.3g, below %.3g, sides %.3g", c.name, r.Stats.Steps, l.Share(), l.Zone.Residual/l.In, l.In, caps/l.In, l.LossSurface/l.In, l.LossBelow/l.In, l.LossSides/l.In)
	}
}

// TestPlanBooksTheFringe: what current past the ends of short electrodes heats above and
// below the slab, 0.4 of the slab's Joule heat, is in the energy in and is found in the
// columns, with what the slab itself gives them, through a stop of the supply and under a
// meter; set power has none. By conservation, to 1e-12 of what the columns hold above 0 K, which is some
// thousand times their rounding in a run of some hundred steps.
func TestPlanBooksTheFringe(t *testing.T) {
	for _, metered := range []bool{false, true} {
		fringeIsBooked(t, metered)
	}
}

func fringeIsBooked(t *testing.T, metered bool) {
	const fringe = 0.4
	p := swinging(t, slab(t, 24, 20, 20, far))
	g := p.Ground.Grid
	p.Targets[0].Zone = g.Box("all", 0, 12, 0, 10)
	p.Electric.Fringe = 1 + fringe
	caps := physics.NewCaps(3, 20*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}},
		[]physics.Slice{{Thickness: 3, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})
	caps.Passing = falling(0, 3, 0.8)
	// Without film and held ends nothing leaves the columns.
	p.Heat = physics.NewHeat(g, physics.HeatBoundary{Air: func(float64) float64 { return 283.15 }, Caps: caps})
	on, off := p.Supply[0], p.Supply[0]
	off.At, off.On = 6*day, false
	on.At = 9 * day
	if metered {
		p.Varying, p.Meter = nil, fiveMinutes(21, 150).meter()
	} else {
		p.Supply = append(p.Supply, off, on)
	}
	tol := 1e-12 * capsHeat(p, &State{Caps: constant(p.Heat.Columns.Size(), 2*288.15)})
	reports := 0
	r, err := Run(context.Background(), p, each(func(r *Report) {
		if reports++; reports%20 != 0 {
			return
		}
		l, power := &r.Ledger, constant(g.Cells(), 0)
		if p.Varying != nil {
			p.Varying(power, 0, r.State.Time)
		}
		set := 0.0
		for _, q := range power {
			set += q * r.State.Time
		}
		want := fringe/(1+fringe)*(l.In-set) + l.Zone.Top + l.Zone.Bottom
		if got := capsHeat(p, r.State); !(math.Abs(got-want) <= tol) {
			t.Errorf("day %.3f: the columns hold %.12g J, want the fringe's heat and what the slab gives, %.12g J within %.2g J", r.State.Time/day, got, want, tol)
		}
		if !(math.Abs(l.Residual) <= tol) {
			t.Errorf("day %.3f: %.2g J of %.2g J are missing, want rounding, below %.2g J", r.State.Time/day, l.Residual, l.In, tol)
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if metered {
		if want := p.Meter.Power(0, 20*day) * 20 * day; math.Abs(r.Ledger.In/want-1) > 1e-9 {
			t.Errorf("a meter of %.12g J brings in %.12g J", want, r.Ledger.In)
		}
	}
	if reports < 60 || r.Stats.Potentials >= 2*r.Stats.Steps || r.Ledger.Steam == 0 {
		t.Errorf("%d reports, %d potentials, %.3g kg of steam: the test sees less than it says", reports, r.Stats.Potentials, r.Ledger.Steam)
	}
	t.Logf("%d steps, %d potentials, residual %.2g J of %.4g J, tolerance %.2g J", r.Stats.Steps, r.Stats.Potentials, r.Ledger.Residual, r.Ledger.In, tol)
}

// TestPlanStepAllocates: a warm step of a plan with columns allocates nothing.
func TestPlanStepAllocates(t *testing.T) {
	for _, p := range []*Problem{slab(t, 24, 20, 60, far), withFringe(slab(t, 24, 20, 60, far), 60), risingSlab(slab(t, 24, 20, 60, far), 60)} {
		r := begun(t, p)
		steps(t, r, 30)
		if p.Ground.Vapour.Rising && r.ledger.Condensed == 0 {
			t.Error("no steam condenses: the test sees less than it says")
		}
		if got := testing.AllocsPerRun(12, func() { steps(t, r, 1) }); got != 0 {
			t.Errorf("a step of a plan on day %.2f allocates %.1f times, want 0", r.state.Time/day, got)
		}
		if r.beyond > 0 && r.ledger.SteamBeyond == 0 {
			t.Error("no fringe boils: the test sees less than it says")
		}
	}
}

// TestPlanRefusedStepLeavesNoTrace: tries of a plan that do not stand leave its columns
// as they were, and a run goes on from there to the same bits as without them.
func TestPlanRefusedStepLeavesNoTrace(t *testing.T) {
	for _, make := range []func() *Problem{func() *Problem { return slab(t, 12, 10, 60, 0) },
		func() *Problem { return withFringe(swinging(t, slab(t, 12, 10, 60, far)), 60) },
		func() *Problem { return risingSlab(slab(t, 12, 10, 60, far), 60) },
		func() *Problem { return rainedOn(risingSlab(slab(t, 12, 10, 60, 0), 60), showers) }} {
		plain, tried := begun(t, make()), begun(t, make())
		for range 5 {
			steps(t, plain, 6)
			steps(t, tried, 6)
			before, caps := snap(tried), slices.Clone(tried.state.Caps)
			for _, factor := range []float64{30, 1, 0.1} {
				_, _ = tried.step(factor * tried.control.dt)
				if d := before.differs(snap(tried)); d != "" || !slices.Equal(caps, tried.state.Caps) {
					t.Fatalf("on day %.3f a step that was tried and not taken has changed %s or the columns", tried.state.Time/day, d)
				}
			}
		}
		steps(t, plain, 3)
		steps(t, tried, 3)
		if d := snap(plain).differs(snap(tried)); d != "" || !slices.Equal(plain.state.Caps, tried.state.Caps) {
			t.Errorf("on day %.3f a run with tries in between differs in %s or in the columns from one without", tried.state.Time/day, d)
		}
	}
}

// TestPlanBytesDoNotDependOnProcessors: a plan's fields, columns and ledger are the same
// to the last bit on one, two and three processors. By definition: rows have one owner.
// 6000 cells are above the number from which loops are shared.
func TestPlanBytesDoNotDependOnProcessors(t *testing.T) {
	sameOnProcessors(t, 12, func() *Problem { return withFringe(slab(t, 100, 60, 60, far), 60) })
}

// sameOnProcessors holds a plan to that after n steps.
func sameOnProcessors(t *testing.T, count int, plan func() *Problem) {
	t.Helper()
	var want snapshot
	var caps []float64
	for _, n := range []int{1, 2, 3} {
		before := runtime.GOMAXPROCS(n)
		r := begun(t, plan())
		steps(t, r, count)
		got := snap(r)
		runtime.GOMAXPROCS(before)
		if n == 1 {
			want, caps = got, slices.Clone(r.state.Caps)
			continue
		}
		if d := want.differs(got); d != "" || !slices.Equal(caps, r.state.Caps) {
			t.Errorf("on %d processors a plan differs in %s or in its columns from one processor's", n, d)
		}
	}
}

// TestPlanIsSecondOrderInTime: slab, columns and losses of a plan under power and air
// that change smoothly are of second order in the step: halving it divides by four what
// the next halving changes. By definition of order.
func TestPlanIsSecondOrderInTime(t *testing.T) {
	const days = 20.0
	var values [][]float64
	for _, n := range []int{64, 128, 256, 512, 1024} {
		p := slab(t, 6, 5, days, 0)
		p.Electric = nil
		caps := physics.NewCaps(3, days*day, []physics.Slice{{Thickness: 0.4, Conductivity: 1.2, Capacity: 2e6}}, []physics.Slice{{Thickness: far, Conductivity: 1.5, Capacity: 2.8e6}})
		p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Caps: caps,
			Air: func(t float64) float64 { return 288.15 - 8*math.Pow(math.Sin(math.Pi*t/(days*day)), 4) }})
		g := p.Ground.Grid
		p.Varying = func(dst []float64, from, to float64) {
			// 60 W/m³ · sin⁴ by its integral: sin⁴x = 3/8 − cos 2x/2 + cos 4x/8
			w := math.Pi / (days * day)
			at := func(t float64) float64 { return 3*t/8 - math.Sin(2*w*t)/(4*w) + math.Sin(4*w*t)/(32*w) }
			mean := math.Pow(math.Sin(w*from), 4)
			if to > from {
				mean = (at(to) - at(from)) / (to - from)
			}
			for c := range dst {
				dst[c] = 60 * g.Volume[c] * mean * (1 + float64(c%g.NX)/10)
			}
		}
		p.Settings = Settings{FixedStep: days * day / float64(n), Tolerance: 1e-6}
		r, err := Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		up, down := p.Heat.Columns.Profile(r.State.Caps, 3, 2)
		values = append(values, []float64{r.State.T[7], r.State.T[20], up[0], up[len(up)-1], down[0], down[12],
			r.Ledger.LossSurface / 1e7, r.Ledger.StoredOutside / 1e7})
	}
	names := []string{"T of a cell", "T of another", "the first node above", "the last", "the first below", "one deeper", "loss at the surface", "heat outside"}
	// The next order shows most in a node whose error changes its sign early in the run: 0.1
	// with 256 steps, and half of it with twice as many.
	for j, name := range names {
		for n := 3; n < len(values); n++ {
			a, b := values[n-1][j]-values[n-2][j], values[n][j]-values[n-1][j]
			if order := math.Log2(math.Abs(a / b)); !(math.Abs(order-2) <= 0.1) {
				t.Errorf("%s: halving the step to 1/%d of the run shows an order of %.3f (changes %.3g, %.3g), want 2.0 ± 0.1", name, 64<<n, order, a, b)
			} else {
				t.Logf("%s: order %.3f", name, order)
			}
		}
	}
}

// withFringe gives slab's electrodes a fringe of 0.3, which soon boils the ground above
// and below, at 300 K.
func withFringe(p *Problem, days float64) *Problem {
	p.Electric.Fringe = 1.3
	caps := physics.NewCaps(3, days*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}}, []physics.Slice{{Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})
	caps.Passing = falling(0, 3, 0.8)
	caps.Boil = func(float64) physics.Boil { return physics.Boil{Point: 300, Steam: 2.6e6, Latent: 2.25e6} }
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 283.15 }, Caps: caps})
	return p
}

// constant returns n equal values.
func constant(n int, v float64) []float64 {
	f := make([]float64, n)
	for i := range f {
		f[i] = v
	}
	return f
}

// BenchmarkPlanStep is a warm step of a slab of 40 000 cells with columns and without.
func BenchmarkPlanStep(b *testing.B) {
	for _, c := range []struct {
		name string
		caps bool
	}{{"caps", true}, {"none", false}} {
		b.Run(c.name, func(b *testing.B) {
			p := slab(b, 200, 200, 90, far)
			if !c.caps {
				p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Air: func(float64) float64 { return 283.15 }})
			}
			p.Settings.FixedStep = day / 4
			r := newRun(p)
			defer r.done()
			if err := r.begin(); err != nil {
				b.Fatal(err)
			}
			steps(b, r, 8)
			b.ResetTimer()
			steps(b, r, b.N)
			if c.caps {
				b.ReportMetric(float64(len(r.state.Caps)/len(r.state.T)), "nodes/cell")
			}
		})
	}
}

// BenchmarkColumns is the loops of one step over the columns of 40 000 cells.
func BenchmarkColumns(b *testing.B) {
	r := newRun(slab(b, 200, 200, 3650, far))
	defer r.done()
	if err := r.begin(); err != nil {
		b.Fatal(err)
	}
	steps(b, r, 2)
	b.Run("step", func(b *testing.B) {
		for range b.N {
			for _, second := range []bool{false, true} {
				r.loop.second = second
				r.columns.Factor(&r.rate2.caps, 3600)
				r.columnLoop(r.do.known)
				r.rows(r.do.outside)
				r.columnLoop(r.do.columns)
			}
		}
	})
}

// TestPlanTurned: a plan whose x and y are exchanged warms and loses heat as before, its
// sides included. By symmetry, to the tolerance that a solve leaves, 1e-4 of the step's.
func TestPlanTurned(t *testing.T) {
	run := func(turned bool) *Report {
		x, y := []float64{0, 1, 1.5, 3, 4, 7}, []float64{0, 0.7, 2, 2.5, 5}
		outline := [][2]float64{{0.5, 0.3}, {6, 1}, {3.2, 4.4}}
		power := func(x, y float64) float64 { return 40 * (1 + x/7 + 2*y/5) }
		at := power
		if turned {
			x, y = y, x
			at = func(x, y float64) float64 { return power(y, x) }
			for i, p := range outline {
				outline[i] = [2]float64{p[1], p[0]}
			}
		}
		g := mesh.NewPlan(x, y, 3)
		gr := slab(t, 4, 4, 30, 0).Ground
		gr, err := physics.NewGround(g, physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: far, Depth: 4}, gr.Water, gr.Soils, []float64{far},
			func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
		if err != nil {
			t.Fatal(err)
		}
		p := problem(gr, nil, g.Polygon("triangle", outline), 30, 0)
		p.Heat = physics.NewHeat(g, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 280 }, Sides: physics.Held{On: true, Temperature: 288.15},
			Caps: physics.NewCaps(3, 30*day, []physics.Slice{{Thickness: 1, Conductivity: 1.2, Capacity: 2e6}}, []physics.Slice{{Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})})
		p.Imposed = make([]float64, g.Cells())
		for c := range p.Imposed {
			p.Imposed[c] = g.Volume[c] * at(g.XC[c%g.NX], g.ZC[c/g.NX])
		}
		p.Settings.FixedStep = day
		r, err := Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	a, b := run(false), run(true)
	if a.Ledger.LossSides < 0.05*a.Ledger.In || a.Ledger.Zone.Sides < 0.05*a.Ledger.Zone.Joule {
		t.Errorf("%.3g J of %.3g J leave through the sides: the test sees less than it says", a.Ledger.LossSides, a.Ledger.In)
	}
	for _, c := range []struct {
		name string
		a, b float64
	}{
		{"heat in", a.Ledger.In, b.Ledger.In}, {"loss at the sides", a.Ledger.LossSides, b.Ledger.LossSides}, {"loss at the surface", a.Ledger.LossSurface, b.Ledger.LossSurface},
		{"heat through the zone's sides", a.Ledger.Zone.Sides, b.Ledger.Zone.Sides}, {"heat through the zone's top", a.Ledger.Zone.Top, b.Ledger.Zone.Top},
		{"mean rise", a.Targets[0].Mean - 288.15, b.Targets[0].Mean - 288.15}, {"least rise", a.Targets[0].Min - 288.15, b.Targets[0].Min - 288.15},
	} {
		if !(math.Abs(c.a-c.b) <= 1e-5*math.Abs(c.a)) {
			t.Errorf("%s is %.12g, with x and y exchanged %.12g", c.name, c.a, c.b)
		}
	}
	if a.Targets[0].MinX != b.Targets[0].MinZ || a.Targets[0].MinZ != b.Targets[0].MinX {
		t.Errorf("the coldest place is (%g, %g), with x and y exchanged (%g, %g)", a.Targets[0].MinX, a.Targets[0].MinZ, b.Targets[0].MinX, b.Targets[0].MinZ)
	}
}

// TestTargetCountsParts: a target's mean, share and crossings count cells by the part of
// them that lies in it, and the coldest is one that does for at least half. By hand: four
// cells of 1 m³ of which 1, 1/2, 1/4 and 1/4 lie in the target, 2 m³ in all.
func TestTargetCountsParts(t *testing.T) {
	g := mesh.NewPlan([]float64{0, 1, 2, 3, 4}, []float64{0, 1}, 1)
	gr := slab(t, 4, 4, 30, 0).Ground
	gr, err := physics.NewGround(g, physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: far}, gr.Water, gr.Soils, []float64{far},
		func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	zone := mesh.Zone{I1: 4, K1: 1, Share: []float64{1, 0.5, 0.25, 0.25}}
	k := newTracker(&Target{Zone: zone, Temperature: 350, Share: 0.75}, gr)
	a, b := &State{T: []float64{300, 300, 300, 300}}, &State{Time: 100, T: []float64{360, 340, 310, 375}}
	k.start(a)
	k.step(a, b)
	s := k.status(b)
	// (360 + 340/2 + 310/4 + 375/4)/2; the first and the last cell, 1.25 m³, are at 350 K.
	if want := (360 + 170 + 77.5 + 93.75) / 2; math.Abs(s.Mean-want) > 1e-12*want || math.Abs(s.Share-0.625) > 1e-15 {
		t.Errorf("mean %.12g K and share %.12g, want %.12g K and 0.625", s.Mean, s.Share, want)
	}
	if s.Min != 340 || s.MinX != 1.5 {
		t.Errorf("the coldest is %g K at x = %g m, want 340 K at 1.5 m: of the two cells that are at least half inside", s.Min, s.MinX)
	}
	c := &State{Time: 200, T: []float64{360, 360, 310, 375}}
	k.step(b, c)
	// The second cell crosses half-way, and with it the share is 1.75/2.
	if s := k.status(c); s.Held != 150 {
		t.Errorf("three quarters are reached at %g s, want 150 s", s.Held)
	}
}

// falling returns the heat of a fringe beyond a slab that falls with the distance z from it
// as exp(−z/reach), alike above and below.
func falling(top, thickness, reach float64) func(depth float64) float64 {
	return func(depth float64) float64 {
		return math.Exp(-max(top-depth, depth-top-thickness, 0) / reach)
	}
}
