package physics

import (
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/mesh"
)

const testDay = 86400.0

// bare is the columns of one cell of 1 m² whose slab is so thin that it is its face:
// b/(6λ) of 1e-9 m²·K/W.
func bare(duration float64, above, below []Slice, b HeatBoundary) *Columns {
	const thickness = 1e-9
	b.Caps = NewCaps(thickness, duration, above, below)
	if b.Air == nil {
		b.Air = func(float64) float64 { return 0 }
	}
	h := NewHeat(mesh.NewPlan([]float64{0, 1}, []float64{0, 1}, thickness), b)
	h.SetAir(0, 0)
	for k := range h.Grid.NZ {
		h.Columns.joinRow([]float64{1.0 / 6}, k)
	}
	return h.Columns
}

// drive takes columns that are 0 K throughout at the start through equal TR-BDF2 steps
// under a face temperature, and calls at after each with the heat that has gone into
// each side [J/m²] by the steps' quadrature.
func drive(c *Columns, duration float64, steps int, face func(t float64) float64, fringe func(t float64) float64, at func(t float64, flux, heat [2]float64)) {
	const gamma, d, w = 2 - math.Sqrt2, 1 - math.Sqrt2/2, math.Sqrt2 / 4
	rows := c.grid.NZ
	now, next := make([]float64, c.Size()), make([]float64, c.Size())
	r0, r1 := c.NewRates(), c.NewRates()
	c.Start(now, &r0, 0)
	cells := make([]float64, c.grid.Cells())
	power := make([]float64, c.grid.Cells())
	dt := duration / float64(steps)
	var heat [2]float64
	for n := range steps {
		t := float64(n) * dt
		stage := func(t, blend float64) {
			fill(cells, face(t))
			if fringe != nil {
				fill(power, fringe(t))
			}
			c.Factor(&r1, d*dt)
			c.KnownRows(next, now, &r0, blend, 0, rows)
			c.FringeRows(&r1, 0.25, power, nil, 0, rows)
			c.OutsideRows(next, &r1, 0, rows)
			c.CloseRows(next, &r1, cells, 0, 0, rows)
		}
		stage(t+gamma*dt, 0)
		for s := range heat {
			heat[s] += w * dt * (r0.Face[s][0] + r1.Face[s][0])
		}
		stage(t+dt, w/d)
		for s := range heat {
			heat[s] += d * dt * r1.Face[s][0]
		}
		now, next = next, now
		r0, r1 = r1, r0
		at(t+dt, [2]float64{r0.Face[0][0], r0.Face[1][0]}, heat)
	}
}

// TestColumnsFollowTheKernel: an endless column takes what endless ground takes from a
// face that warms, holds and cools, from a day to ten years.
// Source: Carslaw & Jaeger (1959), §2.5 and Duhamel's integral (from memory): a face
// that begins to rise by s K/s at t₀ takes 2 s (t−t₀)^½ λ/√(πα), whose integral is
// (4/3) s (t−t₀)^(3/2) λ/√(πα); what changes its slope again adds such a term.
// The bars are those of the design: 0.5 % of the heat, 2 % of the greatest flux.
func TestColumnsFollowTheKernel(t *testing.T) {
	const lambda, capacity = 2.0, 2.5e6
	ground := []Slice{{math.Inf(1), lambda, capacity}}
	kernel := lambda / math.Sqrt(math.Pi*lambda/capacity)
	for _, c := range []struct {
		name           string
		duration, span float64 // [d] that the columns are made for, of the history
	}{
		{"a day", 1, 1}, {"a week", 7, 7}, {"60 days", 60, 60}, {"a year", 365, 365}, {"ten years", 3650, 3650},
		{"a day of ten years", 3650, 1}, {"60 days of ten years", 3650, 60},
	} {
		span := c.span * testDay
		type bend struct{ at, slope float64 }
		bends := []bend{{0, 1}, {0.4 * span, -1}, {0.7 * span, -2}, {0.8 * span, 1.5}}
		face := func(t float64) (v float64) {
			for _, b := range bends {
				v += b.slope * math.Max(0, t-b.at)
			}
			return v
		}
		columns := bare(c.duration*testDay, nil, ground, HeatBoundary{})
		var mostFlux, mostHeat, fluxError, heatError float64
		drive(columns, span, 2000, face, nil, func(t float64, flux, heat [2]float64) {
			var f, q float64
			for _, b := range bends {
				x := math.Max(0, t-b.at)
				f += kernel * 2 * b.slope * math.Sqrt(x)
				q += kernel * 4 / 3 * b.slope * x * math.Sqrt(x)
			}
			mostFlux, mostHeat = math.Max(mostFlux, math.Abs(f)), math.Max(mostHeat, math.Abs(q))
			fluxError = math.Max(fluxError, math.Abs(flux[1]-f))
			heatError = math.Max(heatError, math.Abs(heat[1]-q))
		})
		_, nodes := columns.Nodes()
		t.Logf("%s: %d nodes, the first %.3g m long: %.3f %% of the greatest flux, %.3f %% of the heat", c.name, len(nodes), nodes[0], 100*fluxError/mostFlux, 100*heatError/mostHeat)
		if got := fluxError / mostFlux; !(got < 0.02) {
			t.Errorf("%s: the flux is wrong by %.3g of its greatest value, want below 0.02", c.name, got)
		}
		if got := heatError / mostHeat; !(got < 0.005) {
			t.Errorf("%s: the heat is wrong by %.3g of its greatest value, want below 0.005", c.name, got)
		}
	}
}

// TestColumnsReachTheirSteadyState: in time a column lets through what its layers, cover
// and film let through in series, above, and its layers to a held end below; beyond an
// insulated end nothing.
// Source: resistances in series. After 40 times what diffuses through them, e^(−40·π²/4)
// of the start is left, and the rest is rounding.
func TestColumnsReachTheirSteadyState(t *testing.T) {
	layers := []Slice{{2, 1.2, 2e6}, {0.002, 0.05, 1e5}, {0.3, 1.7, 2.1e6}}
	const film, cover = 8.0, 0.4
	soil := 2/1.2 + 0.002/0.05 + 0.3/1.7
	const last = 40 * 2.3 * 2.3 / 4e-7 // [s]
	for _, c := range []struct {
		name         string
		above, below []Slice
		held         bool
		want         [2]float64
	}{
		{"layers", layers, layers, true, [2]float64{10 / (soil + cover + 1/film), 10 / soil}},
		{"an insulated end", layers, layers, false, [2]float64{10 / (soil + cover + 1/film), 0}},
		{"no ground above or below", nil, nil, false, [2]float64{10 / (cover + 1/film), 0}},
	} {
		columns := bare(last, c.above, c.below, HeatBoundary{Film: film, Cover: cover, Below: Held{c.held, 0}})
		var flux [2]float64
		drive(columns, last, 400, func(float64) float64 { return 10 }, nil, func(_ float64, f, _ [2]float64) { flux = f })
		for s, want := range c.want {
			// b/(6λ) is 1e-9 m²·K/W, of which at most two are in series.
			if got := flux[s]; !(math.Abs(got-want) <= 1e-8*math.Abs(want)+1e-12) {
				t.Errorf("%s: side %d lets %.12g W/m² through, want %.12g W/m²", c.name, s, got, want)
			}
		}
		_, surface, below := columns.Totals()
		if math.Abs(surface-c.want[0]) > 1e-8*c.want[0] || math.Abs(below-c.want[1]) > 1e-8*c.want[1]+1e-12 {
			t.Errorf("%s: %.12g W and %.12g W leave at the ends, want %.12g W and %.12g W", c.name, surface, below, c.want[0], c.want[1])
		}
	}
}

// TestColumnsFitTheirLayers: nodes of a side end where its layers do, no neighbours are
// further apart in √α than the ratio, an endless layer reaches four diffusion lengths
// beyond the slab, and a thin sheet is one node. By definition.
func TestColumnsFitTheirLayers(t *testing.T) {
	slices := []Slice{{1.5, 1.2, 2e6}, {0.005, 0.04, 4e4}, {0.2, 1.7, 2.1e6}, {math.Inf(1), 2, 2.5e6}}
	columns := bare(60*testDay, nil, slices, HeatBoundary{})
	_, nodes := columns.Nodes()
	z, j, zeta, before := 0.0, 0, 0.0, 0.0
	for _, s := range slices[:3] {
		end := z + s.Thickness
		from := j
		for ; j < len(nodes) && z < end-1e-9; j++ {
			z += nodes[j]
			long := nodes[j] / math.Sqrt(s.Conductivity/s.Capacity)
			if j > from && !(long/before < 1.2*(1+1e-9) && long > before) {
				t.Errorf("node %d is %.4g √s long after one of %.4g √s, want up to 1.2 times", j, long, before)
			}
			before, zeta = long, zeta+long
		}
		if math.Abs(z-end) > 1e-12 {
			t.Errorf("a node ends at %.12g m where a layer ends at %.12g m", z, end)
		}
		if s.Thickness == 0.005 && j-from > 3 {
			t.Errorf("a sheet of 5 mm takes %d nodes, want 3 at most", j-from)
		}
	}
	for _, dz := range nodes[j:] {
		zeta += dz / math.Sqrt(2/2.5e6)
	}
	if want := 4 * math.Sqrt(60*testDay); math.Abs(zeta/want-1) > 1e-12 {
		t.Errorf("endless ground ends at %.12g √s, want %.12g √s", zeta, want)
	}
}

// TestFringeHeatsBothSides: a fringe heats the columns by its share of the slab's heat,
// as exp(−z/0.8 m) and alike above and below where both are endless, less above where the
// surface is near; what the columns hold then is what was put in, less what the slab's
// face takes. By conservation, and the integral of that.
func TestFringeHeatsBothSides(t *testing.T) {
	ground := []Slice{{math.Inf(1), 2, 2.5e6}}
	for _, c := range []struct {
		above []Slice
		want  float64 // above over below
	}{{ground, 1}, {[]Slice{{0.5, 2, 2.5e6}}, -math.Expm1(-0.5 / 0.8)}} {
		const thickness = 1e-9
		caps := NewCaps(thickness, 30*testDay, c.above, ground)
		caps.Passing = falling(caps.Top, thickness, 0.8)
		h := NewHeat(mesh.NewPlan([]float64{0, 2}, []float64{0, 3}, thickness), HeatBoundary{Caps: caps, Air: func(float64) float64 { return 0 }})
		h.SetAir(0, 0)
		h.Columns.joinRow([]float64{1.0 / 6}, 0)
		sum := [2]float64{}
		for s := range h.Columns.sides {
			for _, p := range h.Columns.sides[s].profile {
				sum[s] += p
			}
		}
		// The endless side ends at 4 √(αt) = 5.8 m, 7.2 times the reach.
		if got := sum[0] / sum[1]; math.Abs(sum[0]+sum[1]-1) > 1e-14 || math.Abs(got/c.want-1) > 2*math.Exp(-7.1) {
			t.Errorf("of the fringe %.12g goes above and %.12g below, want a ratio of %.6g and 1 together", sum[0], sum[1], c.want)
		}
		var into float64
		drive(h.Columns, 30*testDay, 60, func(t float64) float64 { return 3 * math.Sin(t/1e5) },
			func(t float64) float64 { return 1000 * (1 + math.Sin(t/2e5)) }, func(t float64, _, heat [2]float64) {
				// drive sums the heat by cell area: of two and three metres.
				into = 6 * (heat[0] + heat[1])
			})
		// The quadrature of the slab's heat, as the steps have it.
		const gamma, d, w = 2 - math.Sqrt2, 1 - math.Sqrt2/2, math.Sqrt2 / 4
		power := func(t float64) float64 { return 1000 * (1 + math.Sin(t/2e5)) }
		dt, put := 30*testDay/60, 0.0
		for n := range 60 {
			t := float64(n) * dt
			// drive starts from rates without a fringe.
			first := power(t)
			if n == 0 {
				first = 0
			}
			put += 0.25 * dt * (w*(first+power(t+gamma*dt)) + d*power(t+dt))
		}
		stored, surface, below := h.Columns.Totals()
		if surface != 0 || below != 0 {
			t.Errorf("insulated ends let %g W and %g W through", surface, below)
		}
		if got := stored - into; math.Abs(got/put-1) > 1e-11 {
			t.Errorf("the columns hold %.12g J more than their faces took, want the fringe's heat of %.12g J", got, put)
		}
	}
}

// TestZonePartsCloseTheirLedger: what a zone of parts of cells gives off is Σ w times
// what its cells give off, on a grid that stands and on a level one; parts that are all 1
// are a box's. By the sum over faces, to rounding.
func TestZonePartsCloseTheirLedger(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, level := range []bool{false, true} {
		x, z := []float64{0, 0.4, 1, 1.3, 2, 2.2}, []float64{0, 1, 1.2, 2, 2.4}
		g := mesh.NewSection(x, z, 3)
		b := HeatBoundary{Film: 5, Below: Held{true, 280}, Sides: Held{true, 285}, Air: func(float64) float64 { return 270 }}
		if level {
			g = mesh.NewPlan(x, z, 3)
			b.Caps = NewCaps(3, testDay, []Slice{{1, 2, 2e6}}, []Slice{{2, 1, 2e6}})
		}
		h := NewHeat(g, b)
		h.SetAir(0, 0)
		for j := range h.Across {
			h.Across[j] = rng.Float64()
		}
		for j := range h.Down {
			h.Down[j] = rng.Float64()
		}
		for i := range h.Exchanges {
			for j := range h.Exchanges[i].G {
				h.Exchanges[i].G[j] = rng.Float64()
				if at := h.Exchanges[i].OutsideAt; at != nil {
					at[j] = 270 + 30*rng.Float64()
				}
			}
		}
		u, net := make([]float64, g.Cells()), make([]float64, g.Cells())
		for c := range u {
			u[c] = 280 + 50*rng.Float64()
		}
		h.NetTo(net, u)
		for _, zone := range []mesh.Zone{{I0: 1, I1: 4, K0: 1, K1: 3}, {I1: 5, K1: 4}, {I0: 3, I1: 5, K0: 0, K1: 2}} {
			box := h.ZoneOutflow(zone, u)
			zone.Share = make([]float64, (zone.I1-zone.I0)*(zone.K1-zone.K0))
			fill(zone.Share, 1)
			ones := h.ZoneOutflow(zone, u)
			for _, d := range []float64{box.Top - ones.Top, box.Bottom - ones.Bottom, box.Sides - ones.Sides} {
				if math.Abs(d) > 1e-11 {
					t.Errorf("level %v: a box gives off %+v, its parts of 1 %+v", level, box, ones)
				}
			}
			for j := range zone.Share {
				zone.Share[j] = rng.Float64()
			}
			want := 0.0
			for k := range g.NZ {
				for i := range g.NX {
					want -= zone.Weight(i, k) * net[g.Index(i, k)]
				}
			}
			if out := h.ZoneOutflow(zone, u); math.Abs(out.Top+out.Bottom+out.Sides-want) > 1e-11 {
				t.Errorf("level %v: a zone gives off %+v, together %.15g W, want %.15g W", level, out, out.Top+out.Bottom+out.Sides, want)
			}
			if out := h.ZoneOutflow(zone, u); level {
				var up float64
				e := h.Exchanges[len(h.Exchanges)-2]
				for j, c := range e.Cell {
					up += zone.Weight(c%g.NX, c/g.NX) * e.G[j] * (u[c] - e.OutsideAt[j])
				}
				if math.Abs(out.Top-up) > 1e-11 {
					t.Errorf("a level zone's top gives off %.12g W, want what the columns above take, %.12g W", out.Top, up)
				}
			}
		}
	}
}

// TestLevelGroundIsOneSoil: a level grid has one soil and one boiling point, that of its
// depth, in all rows, and a body whose outline cuts cells fills those it has half of.
// Source: by definition; 10 m of water over a table at 2 m boil at 120 °C under 198 kPa
// (IAPWS R7-97, Store's own test).
func TestLevelGroundIsOneSoil(t *testing.T) {
	gr, _, _, _ := mixed(t, rand.New(rand.NewPCG(1, 1)), false)
	g := mesh.NewPlan(gr.Grid.X, gr.Grid.Z, 4)
	level, err := NewGround(g, Site{Ambient: 285.15, AirPressure: 101325, WaterTable: 2, Boiling: true, Depth: 12}, gr.Water, gr.Soils, []float64{4, math.Inf(1)},
		func(soil int, z float64) WaterSupply {
			if soil != 0 || z != 12 {
				t.Errorf("water of soil %d at %g m is asked for, want soil 0 at 12 m", soil, z)
			}
			return WaterSupply{}
		})
	if err != nil {
		t.Fatal(err)
	}
	for k := range g.NZ {
		if level.Layer[k] != 0 || level.Stores[k].BoilingPoint != level.Stores[0].BoilingPoint || level.Depth(k) != 12 {
			t.Errorf("row %d has soil %d, boils at %g K, %g m deep", k, level.Layer[k], level.Stores[k].BoilingPoint, level.Depth(k))
		}
	}
	if tb := level.BoilingPoint(0); math.Abs(tb-393.15) > 0.6 {
		t.Errorf("ground 10 m below the water table boils at %.2f K, want some 393 K", tb)
	}
	zone := g.Circle("tank", (g.X[0]+g.X[g.NX])/2, (g.Z[0]+g.Z[g.NZ])/2, 1.1)
	level.Insert(Insert{Name: "tank", Zone: zone, Conductivity: 20, Capacity: 3e6})
	cut := 0
	for k := range g.NZ {
		for i := range g.NX {
			w := zone.Weight(i, k)
			if in := level.InInsert(g.Index(i, k)); in != (w >= 0.5) {
				t.Errorf("cell (%d, %d) of which %.3f lies in a body: in it %v", i, k, w, in)
			}
			if w > 0 && w < 0.5 {
				cut++
			}
		}
		last := k * g.NX
		for _, r := range level.Runs(k) {
			if r.From != last || r.To <= r.From {
				t.Errorf("row %d has runs %v", k, level.Runs(k))
			}
			last = r.To
		}
		if last != (k+1)*g.NX {
			t.Errorf("row %d ends at cell %d", k, last)
		}
	}
	if cut == 0 {
		t.Error("the body cuts no cell by less than half: the test sees less than it says")
	}
}

// TestReadingLevel: a reading in a level grid is the cubic along x and y alike: it reads
// a product of cubics exactly, and the same with x and y exchanged. By the degree of the
// polynomial; values of some 400 K have a rounding of 1e-13 K a term.
func TestReadingLevel(t *testing.T) {
	gr, _, _, _ := mixed(t, rand.New(rand.NewPCG(2, 1)), false)
	x, y := gr.Grid.X, gr.Grid.Z
	cubic := func(s float64) float64 { return 1 + 0.3*s - 0.02*s*s + 0.001*s*s*s }
	read := func(x, y []float64, f func(x, y float64) float64, px, py float64) float64 {
		g := mesh.NewPlan(x, y, 4)
		level, err := NewGround(g, Site{Ambient: 285.15, AirPressure: 101325, WaterTable: 2, Depth: 5}, gr.Water, gr.Soils, []float64{4, math.Inf(1)},
			func(int, float64) WaterSupply { return WaterSupply{} })
		if err != nil {
			t.Fatal(err)
		}
		field := make([]float64, g.Cells())
		for k := range g.NZ {
			for i := range g.NX {
				field[g.Index(i, k)] = f(g.XC[i], g.ZC[k])
			}
		}
		return level.Reading(px, py).Temperature(field)
	}
	for _, p := range [][2]float64{{1.2, 4.1}, {2.3, 2.2}, {0.05, 3.9}, {3.3, 4.0}} {
		want := 280 + cubic(p[0])*cubic(p[1])
		got := read(x, y, func(x, y float64) float64 { return 280 + cubic(x)*cubic(y) }, p[0], p[1])
		turned := read(y, x, func(x, y float64) float64 { return 280 + cubic(x)*cubic(y) }, p[1], p[0])
		if math.Abs(got-want) > 1e-11 || math.Abs(turned-want) > 1e-11 {
			t.Errorf("at (%g, %g) m a level grid reads %.14g K, with x and y exchanged %.14g K, want %.14g K", p[0], p[1], got, turned, want)
		}
	}
}

// falling returns the heat of a fringe beyond a slab that falls with the distance z from it
// as exp(−z/reach), alike above and below.
func falling(top, thickness, reach float64) func(depth float64) float64 {
	return func(depth float64) float64 {
		return math.Exp(-max(top-depth, depth-top-thickness, 0) / reach)
	}
}
