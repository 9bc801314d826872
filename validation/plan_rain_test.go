//dossier:chapter Plans

package validation

import (
	"context"
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/physics"
	"soiljoule/solver"
)

// inchADay is a rate of rain [m/s].
const inchADay = 0.0254 / day

// TestRainOnAPlanIsASectionOfOneColumn: rain costs a slab in a plan what it costs the same
// slab in a section of one column, whose rows resolve the slab and the ground above and
// below it: the slab's mean rise, and how much of the heat put in leaves at the surface and
// is in the slab.
//
// Up to 0.3 in/d, which carries 0.54 times what the slab conducts, the bars are 1 % of the rise
// from day 100 on, a plan's own half percent and as much for the rain, and 2 % before, and half a
// point of the heat. 1 in/d carries 1.8 times that, and until the slab has settled under it
// a plan has it settled already: what water takes is 2.5 points high at most, and the rise 2 % low.
// Source: the section's own rows, on half the demo's cells. The bars are choices.
func TestRainOnAPlanIsASectionOfOneColumn(t *testing.T) {
	const thick, depth, q, film, cover, cold = 3.0, 2.0, 60.0, 12.0, 0.15, -5.0
	times := []float64{30, 100, 300}
	bars := []float64{0.02, 0.01, 0.01}
	var rows [][]string
	for _, inches := range []float64{0, 0.1, 0.3, 1} {
		flow := physics.Flow{Rain: raining(inches * inchADay)}
		values := func(c conduction) (out [][3]float64) {
			c.zone, c.duration, c.tolerance = c.grid.Box("slab", 0, 4, depth, depth+thick), times[len(times)-1]*day, 1e-3
			if c.grid.Level {
				c.zone = c.grid.Box("slab", 0, 4, 0, 3)
			}
			c.imposed = heated(c.grid, c.zone, q)
			p := c.problem(t)
			if inches > 0 {
				p.Heat.Carry(p.Ground, flow)
			}
			for _, d := range times {
				p.Outputs = append(p.Outputs, d*day)
			}
			if _, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
				if r.Output && r.State.Time > 0 {
					l := &r.Ledger
					out = append(out, [3]float64{r.Targets[0].Mean - atStart, 100 * (l.LossSurface - l.WaterIn) / l.In, 100 * l.Zone.Water / l.In})
				}
			})); err != nil {
				t.Fatal(err)
			}
			return out
		}
		b := physics.HeatBoundary{Film: film, Cover: cover, Air: constantAir(atStart + cold)}
		b.Caps = physics.NewCaps(thick, times[len(times)-1]*day, []physics.Slice{{Thickness: depth, Conductivity: conductivity, Capacity: capacity}}, endlessGround)
		b.Caps.Top = depth
		plan := values(conduction{grid: small(thick), boundary: b})
		b.Caps = nil
		section := values(conduction{grid: downward(demoAxis(t, 0.5, 45, 0, depth, depth+thick)), boundary: b})
		for i, d := range times {
			where := fmt.Sprintf(" in rain of %g in/d on day %g", inches, d)
			bar, points := bars[i], 0.5
			if inches == 1 {
				bar, points = 0.02, 2.5
			}
			hold(t, check{"mean rise of a plan's slab" + where, "a section of one column", plan[i][0], section[i][0], "K", bar * section[i][0]})
			hold(t, check{"net heat lost at the surface of a plan" + where, "a section of one column", plan[i][1], section[i][1], "% of the heat", 0.5})
			hold(t, check{"heat that water takes out of a plan's slab" + where, "a section of one column", plan[i][2], section[i][2], "% of the heat", points})
			rows = append(rows, []string{fmt.Sprint(inches), fmt.Sprint(d), fmt.Sprintf("%.2f", plan[i][0]), fmt.Sprintf("%.2f", section[i][0]),
				fmt.Sprintf("%.2f", plan[i][2]), fmt.Sprintf("%.2f", section[i][2])})
		}
	}
	table(t, "A slab of 3 m, 2 m deep, heated by 60 W/m³, in rain 5 K colder than the ground", []string{"rain [in/d]", "day", "plan, rise [K]", "section, rise [K]", "plan, by water [%]", "section, by water [%]"}, rows)
}

// rainedColumn is an independent program for heat in a level stack of layers under rain:
// equal cells, central differences for water's heat, implicit Euler in time.
type rainedColumn struct {
	dz                     float64
	lambda, capacity, heat []float64 // by cell: [W/(m·K)], [J/(m³·K)], [W/m³]
	outer                  float64   // [m²·K/W] above the surface
	air                    float64   // [K] rise of the air
	temperature            []float64 // [K] rise by cell
	lost, out              float64   // [J/m²]
}

// step goes on by dt [s] under rain of a capacity w [W/(m²·K)].
func (c *rainedColumn) step(w, dt float64) {
	n := len(c.temperature)
	lower, diagonal, upper, right := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	g := func(i int) float64 { return 2 / (c.dz/c.lambda[i] + c.dz/c.lambda[i+1]) }
	top := 1 / (c.outer + c.dz/(2*c.lambda[0]))
	for i := range n {
		store := c.capacity[i] * c.dz / dt
		diagonal[i] += store
		right[i] += store*c.temperature[i] + c.heat[i]*c.dz
		if i == n-1 {
			diagonal[i] += w
			break
		}
		diagonal[i] += g(i) + w/2
		upper[i] = -g(i) + w/2
		lower[i+1] = -g(i) - w/2
		diagonal[i+1] += g(i) - w/2
	}
	diagonal[0] += top
	right[0] += top*c.air + w*c.air
	for i := 1; i < n; i++ {
		m := lower[i] / diagonal[i-1]
		diagonal[i] -= m * upper[i-1]
		right[i] -= m * right[i-1]
	}
	c.temperature[n-1] = right[n-1] / diagonal[n-1]
	for i := n - 2; i >= 0; i-- {
		c.temperature[i] = (right[i] - upper[i]*c.temperature[i+1]) / diagonal[i]
	}
	c.lost += top * (c.temperature[0] - c.air) * dt
	c.out += w * c.temperature[n-1] * dt
}

// TestRainBeginsOverAWarmColumn: rain that begins on day 30 over ground that a thin sheet has
// warmed takes out of it what an independent program of fine cells says: heat lost at the
// surface and by water until day 60, and the sheet's rise then, in layers, at 0.3, 1 and 5
// in/d, above a water table that lets all pass.
//
// Source: rainedColumn, its cells 1 cm and its steps an hour; with 2 cm and two hours the
// numbers move by 0.1 %. The bar is the columns' own, 0.5 % of the heat put in, and of the rise.
func TestRainBeginsOverAWarmColumn(t *testing.T) {
	const sheet, q, film, cover, air, begins, ends = 0.1, 600.0, 12.0, 0.1, -4.0, 30 * day, 60 * day
	above := []physics.Slice{{Thickness: 1.2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}}
	below := []physics.Slice{{Thickness: 1, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: 4, Conductivity: conductivity, Capacity: capacity}}
	for _, inches := range []float64{0.3, 1, 5} {
		g := small(sheet)
		zone := g.Box("sheet", 0, 4, 0, 3)
		b := physics.HeatBoundary{Film: film, Cover: cover, Air: constantAir(atStart + air), Caps: physics.NewCaps(sheet, ends, above, below)}
		b.Caps.Top = 1.5
		c := conduction{grid: g, boundary: b, imposed: heated(g, zone, q), zone: zone, duration: ends, tolerance: 1e-2}
		rate := inches * inchADay
		p := c.flowing(t, physics.Flow{Rain: func(from, to float64) float64 {
			if to == from {
				return map[bool]float64{true: rate}[from >= begins]
			}
			return rate * math.Max(0, to-math.Max(from, begins)) / (to - from)
		}})
		p.Turns = []float64{begins}
		r := finished(t, p)

		var x rainedColumn
		x.dz, x.outer, x.air = 0.01, cover+1/film, air
		add := func(thick, lambda, capacity, heat float64) {
			for range int(math.Round(thick / x.dz)) {
				x.lambda, x.capacity, x.heat = append(x.lambda, lambda), append(x.capacity, capacity), append(x.heat, heat)
			}
		}
		for i := len(above) - 1; i >= 0; i-- {
			add(above[i].Thickness, above[i].Conductivity, above[i].Capacity, 0)
		}
		first := len(x.lambda)
		add(sheet, conductivity, capacity, q)
		for _, s := range below {
			add(s.Thickness, s.Conductivity, s.Capacity, 0)
		}
		x.temperature = make([]float64, len(x.lambda))
		const hour = 3600.0
		_, c0 := tables.Enthalpy(atStart)
		for n := range int(ends / hour) {
			w := 0.0
			if float64(n)*hour >= begins {
				w = materials.RhoWater * rate * c0
			}
			x.step(w, hour)
		}
		rise := 0.0
		for _, u := range x.temperature[first : first+10] {
			rise += u / 10
		}
		l, put := &r.Ledger, q*sheet*ends
		share := func(joule float64) float64 { return 100 * joule / put }
		area := l.In / put
		where := fmt.Sprintf(", rain of %g in/d from day 30 on, on day 60", inches)
		hold(t, check{"rise of a heated sheet" + where, "fine cells", r.Targets[0].Mean - atStart, rise, "K", 0.005 * rise})
		hold(t, check{"heat lost at the surface" + where, "fine cells", share(l.LossSurface / area), share(x.lost), "% of the heat", 0.5})
		hold(t, check{"heat that leaves with the water" + where, "fine cells", share(l.CarriedByWater / area), share(x.out), "% of the heat", 0.5})
	}
}

// TestInchOfRainADayTakes74W: 74 W/m² put into a slab warm an inch of rain a day by 60 K, once
// the ground has settled and nothing is lost at the surface.
// Source: w ρ_w c_w ΔT = 0.0254/86400 · 998.2 · 4190 · 60 = 73.8 W/m², common practice; c_w at
// 10 °C is 4192 J/(kg·K) (steam tables, from memory). The bar, 0.2 %, is c_w's digits and
// what 2000 days leave of the start.
func TestInchOfRainADayTakes74W(t *testing.T) {
	const thick, flux, last = 0.5, 73.8, 2000 * day
	g := small(thick)
	zone := g.Box("slab", 0, 4, 0, 3)
	layer := []physics.Slice{{Thickness: 1, Conductivity: conductivity, Capacity: capacity}}
	b := physics.HeatBoundary{Film: 1e-6, Air: constantAir(atStart), Caps: physics.NewCaps(thick, last, layer, layer)}
	b.Caps.Top = 1
	c := conduction{grid: g, boundary: b, imposed: heated(g, zone, flux/thick), zone: zone, duration: last, tolerance: 1e-2}
	p := c.flowing(t, physics.Flow{Rain: raining(inchADay)})
	r := finished(t, p)
	_, below := p.Heat.Columns.Profile(r.State.Caps, 1, 1)
	hold(t, check{"rise of an inch of rain a day that takes 73.8 W/m²", "ρ_w c_w w ΔT", below[len(below)-1] - atStart, 60, "K", 0.12})
}
