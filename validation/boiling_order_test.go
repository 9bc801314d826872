//dossier:chapter Orders of convergence

package validation

import (
	"context"
	"fmt"
	"math"
	"sort"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// What is left of second order where cells begin to boil, and where they run dry.
// There the rates are not smooth: temperature as a function of the heat held has a
// kink at the boiling point and another where the water ends. What comes of it is
// measured on the demo's electrode cell, against steps four times as short as the
// shortest.

// boilingRun is one run of the demo's electrode cell at equal steps: what it shows
// at times that every run has in common.
type boilingRun struct {
	steps   int
	problem *solver.Problem
	started []float64 // [s] by cell, when it first stood at the boiling point; NaN: never
	seen    []seen
	dried   int
}

// seen is what a run shows at one time.
type seen struct {
	mean   float64   // [K] of the target
	energy float64   // [J] in
	power  float64   // [W]
	field  []float64 // [K]
	boils  int       // cells that stand at the boiling point
}

// Record keeps what the comparison needs.
func (b *boilingRun) Record(r *solver.Report) error {
	s := r.State
	n := 0
	for c, T := range s.T {
		if tb := b.problem.Ground.BoilingPoint(c); T >= tb-1e-9 {
			n++
			if math.IsNaN(b.started[c]) {
				b.started[c] = s.Time
			}
		}
	}
	b.dried = max(b.dried, r.Stats.Dried)
	if r.Output && s.Time > 0 {
		b.seen = append(b.seen, seen{r.Targets[0].Mean, r.Ledger.In, s.Power * s.Voltage * s.Voltage, append([]float64(nil), s.T...), n})
	}
	return nil
}

// boilingCell runs the electrode cell for so many days in so many equal steps, and
// looks at it at each fifth of them. Settings are the program's own, but for as many
// potentials a stage as it takes: a step that is refused cannot be shortened here.
func boilingCell(t *testing.T, days, steps int, sets ...string) *boilingRun {
	t.Helper()
	c, err := cases.Load("../cases/electrode-cell.toml", append(sets, fmt.Sprintf("time.duration=%d d", days)))
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	p.Outputs = nil
	for i := range 5 {
		p.Outputs = append(p.Outputs, p.Duration*float64(i+1)/5)
	}
	p.Settings = solver.Settings{FixedStep: p.Duration / float64(steps), MaxCoupled: 100}
	b := &boilingRun{steps: steps, problem: p}
	for range p.Ground.Grid.Cells() {
		b.started = append(b.started, math.NaN())
	}
	if _, err := solver.Run(context.Background(), p, b); err != nil {
		t.Fatalf("%d steps in %d days: %v", steps, days, err)
	}
	return b
}

// against returns the errors of a run against a finer one: each the mean square
// over the five times, relative for energy and power.
func (b *boilingRun) against(fine *boilingRun) (errs [4]float64) {
	n := float64(len(fine.seen))
	v := b.problem.Ground.Grid.Volume
	whole := total(v)
	for i, f := range fine.seen {
		s := b.seen[i]
		d := [4]float64{s.mean - f.mean, s.energy/f.energy - 1, s.power/f.power - 1, 0}
		for c := range f.field {
			e := s.field[c] - f.field[c]
			d[3] += v[c] / whole * e * e
		}
		d[3] = math.Sqrt(d[3])
		for j := range d {
			errs[j] += d[j] * d[j] / n
		}
	}
	for j := range errs {
		errs[j] = math.Sqrt(errs[j])
	}
	return errs
}

var boilingErrors = [4]string{"mean temperature [K]", "energy in [-]", "power [-]", "temperature of all cells, rms [K]"}

// kinks is a study of steps: the electrode cell for some days, at a number of steps
// that is halved so many times.
type kinks struct {
	days, first, halvings int
	sets                  []string
}

// run returns the number of steps and each quantity's errors, and the reference.
func (k *kinks) run(t *testing.T) (steps []int, errs [4][]float64, fine *boilingRun) {
	t.Helper()
	fine = boilingCell(t, k.days, k.first<<(k.halvings+2), k.sets...)
	for i := range k.halvings + 1 {
		b := boilingCell(t, k.days, k.first<<i, k.sets...)
		steps = append(steps, b.steps)
		for j, e := range b.against(fine) {
			errs[j] = append(errs[j], e)
		}
	}
	return steps, errs, fine
}

// hold holds each quantity's mean order, and hands the orders of each halving and a
// figure to the dossier.
func (k *kinks) hold(t *testing.T, name, title string) *boilingRun {
	t.Helper()
	steps, errs, fine := k.run(t)
	var curves []curve
	var rows [][]string
	for j, e := range errs {
		what := boilingErrors[j]
		row := []string{what}
		for i := 1; i < len(e); i++ {
			row = append(row, fmt.Sprintf("%.2f", order(e[i-1], e[i])))
		}
		rows = append(rows, row)
		curves = append(curves, curve{Label: what, Y: e})
		holdKinks(t, title+", "+what, "the same at steps four times finer", e)
	}
	head := []string{"order of"}
	for i := 1; i < len(steps); i++ {
		head = append(head, fmt.Sprintf("%d to %d steps", steps[i-1], steps[i]))
	}
	table(t, "Order at each halving, "+title, head, rows)
	drawSteps(t, name, "Step halved "+title, "error: K, or share", float64(k.days)*day, steps, curves)
	return fine
}

// holdKinks holds the mean order over all halvings where rates have kinks.
//
// T is a continuous function of the heat held, with kinks; a step over a kink errs
// by θΔt² times the change of slope, with θ by where in the step the kink falls. So
// the errors of all kinks together go as Δt², but not evenly: the mean of many θ
// may differ between two numbers of steps, by a factor of 4 at most where they are
// some tens of the same sign, which over five halvings is log₂4/5 = 0.4 of order.
// A reference that is no finer than a quarter of the finest step makes the order
// log₂(16/15)/5 = 0.02 too high. The project's bar is the lower end, 1.6.
func holdKinks(t *testing.T, claim, source string, errs []float64) {
	t.Helper()
	var orders []float64
	for i := 1; i < len(errs); i++ {
		orders = append(orders, order(errs[i-1], errs[i]))
	}
	t.Logf("%s: errors %.3g, orders %.2f", claim, errs, orders)
	n := len(orders)
	hold(t, check{fmt.Sprintf("mean order over %d halvings, %s", n, claim), source, order(errs[0], errs[n]) / float64(n), 2, "", 0.4})
}

// begun says how many cells came to boil, and in how many of the coarsest steps one
// did for the first time.
func (k *kinks) begun(b *boilingRun) (cells, steps int) {
	in := map[int]bool{}
	for _, at := range b.started {
		if !math.IsNaN(at) {
			cells++
			in[int(math.Ceil(at/day*float64(k.first)/float64(k.days)-1e-9))] = true
		}
	}
	return cells, len(in)
}

// TestOrderInTimeThroughBoiling: the electrode cell on 4 in cells, whose wall comes
// to boil cell after cell for ten days, in steps of 16 hours and in steps halved
// five times: target mean, energy, power and field keep an order of 1.6 or better.
// Source: none outside: the order is what Hosea & Shampine (1996) promise where
// rates are smooth, and the reference is the program's at shorter steps.
func TestOrderInTimeThroughBoiling(t *testing.T) {
	k := kinks{10, 15, 5, []string{"mesh.finest=4 in", "mesh.wall=4 in"}}
	fine := k.hold(t, "boiling-order", "through boiling")
	cells, steps := k.begun(fine)
	t.Logf("%d of %d cells came to boil, in %d of the %d coarsest steps", cells, len(fine.started), steps, k.first)
	// The project's bar is for cells that begin one after another: with fewer
	// kinks, or all in one step, the order would say little.
	if cells < 40 || steps < 10 {
		t.Errorf("in %d days %d cells came to boil in %d of %d steps, want at least 40 cells in 10 steps", k.days, cells, steps, k.first)
	}
}

// The same against closed forms: rows of ground between two plates, each its own
// soil and its own current, with almost no conduction between them, come to boil
// one after another. In a row of resistivity ρ at T₀, pore water W₀, voltage V over
// a length L, P₀ = V²/(ρL²) and with the heat E(u) = C_s u + W₀[h_w(T₀ + u) − h_w(T₀)],
//
//	warming   dE/dt = P₀(1 + au):       t(u) = ∫₀ᵘ E′/(P₀(1 + au)) du
//	boiling   P_b = P₀(1 + au_b), water replaced:  power P_b for ever
//	          not replaced, σ straight in W from 1 down to res at W_dry:
//	          f = e^(−(t − t_b)/τ),  τ = latent (W₀ − W_dry)/((1 − res) P_b)
//	dry       from t_d = t_b + τ ln(1/res) on power res·P_b
//
// so energy in, steam and the time at which each row boils and dries are known.
const (
	rowCount    = 100
	rowLength   = 4.0   // [m] between the plates
	rowVolts    = 400.0 // [V]
	rowPorosity = 0.1
	rowDry      = 0.05 // [-] share of the pores
	rowResidual = 0.05 // [-] share of σ left when dry
	rowDuration = 20 * day
)

// rowLaw is what the rows have in common. The boiling point and the enthalpies
// there are the program's own, to all digits: the printed six, which other tests
// hold them to, would hide errors of the step below 1e-6.
type rowLaw struct {
	water                *materials.Water
	rise                 float64       // [K] u_b
	steam, latent        float64       // [J/kg] h_v − h_w(T₀); h_v − h_w(T_b)
	h0, cold, held, goes float64       // h_w(T₀) and its slope; [kg/m³] W₀; W₀ − W_dry
	at                   [1025]float64 // [s·W/m³] t(u)·P₀ at equal steps of u up to boiling
}

// newRowLaw integrates t(u) by Simpson's rule, exact to rounding for a function as
// smooth as this.
func newRowLaw() *rowLaw {
	tb := materials.SaturationTemperature(101325)
	l := &rowLaw{water: materials.NewWater(), rise: tb - atStart, held: rowPorosity * materials.RhoWater}
	l.h0, l.cold = l.water.Enthalpy(atStart)
	hot, _ := l.water.Enthalpy(tb)
	l.steam, l.latent = materials.VapourEnthalpy(tb)-l.h0, materials.VapourEnthalpy(tb)-hot
	l.goes = l.held * (1 - rowDry)
	n := len(l.at) - 1
	du := l.rise / float64(n)
	for i := range n {
		u := du * float64(i)
		l.at[i+1] = l.at[i] + du/6*(l.slope(u)+4*l.slope(u+du/2)+l.slope(u+du))
	}
	return l
}

// slope is dt/du·P₀ = E′/(1 + au).
func (l *rowLaw) slope(u float64) float64 {
	_, c := l.water.Enthalpy(atStart + u)
	return (capacity - l.held*l.cold + l.held*c) / (1 + runawayCoefficient*u)
}

// stored is E(u) [J/m³].
func (l *rowLaw) stored(u float64) float64 {
	h, _ := l.water.Enthalpy(atStart + u)
	return (capacity-l.held*l.cold)*u + l.held*(h-l.h0)
}

// energy returns the energy in [J/m³] and the steam [kg/m³] at a time of a row that
// boils at another, its water replaced or not.
func (l *rowLaw) energy(time, boils float64, replaced bool) (in, steam float64) {
	power := l.at[len(l.at)-1] / boils // P₀
	if time < boils {
		i := sort.SearchFloat64s(l.at[:], time*power)
		u := l.rise / float64(len(l.at)-1) * float64(i)
		for range 3 { // from a node nearby: t(u) once more by Simpson from there
			at := l.at[i]
			v := l.rise / float64(len(l.at)-1) * float64(i)
			at += (u - v) / 6 * (l.slope(v) + 4*l.slope((u+v)/2) + l.slope(u))
			u += (time*power - at) / l.slope(u)
		}
		return l.stored(u), 0
	}
	boiling := power * (1 + runawayCoefficient*l.rise)
	in, time = l.stored(l.rise), time-boils
	if replaced {
		return in + boiling*time, boiling * time / l.steam
	}
	tau := l.latent * l.goes / ((1 - rowResidual) * boiling)
	if dries := tau * math.Log(1/rowResidual); time > dries {
		return in + l.latent*l.goes + rowResidual*boiling*(time-dries), l.goes
	}
	steam = l.goes / (1 - rowResidual) * -math.Expm1(-time/tau)
	return in + l.latent*steam, steam
}

// rowsSeen is what a run of rows shows: energy in [J] and steam [kg] at each
// twentieth of the time.
type rowsSeen struct{ got [][2]float64 }

// Record keeps them.
func (r *rowsSeen) Record(rep *solver.Report) error {
	if rep.Output && rep.State.Time > 0 {
		r.got = append(r.got, [2]float64{rep.Ledger.In, rep.Ledger.Steam})
	}
	return nil
}

// boilingRows runs the rows in so many equal steps, and returns the errors of energy
// and of steam in the mean square over twenty times, as shares of the last.
func boilingRows(t *testing.T, steps int, replaced bool) (errs [2]float64) {
	t.Helper()
	supply := physics.WaterSupply{Removable: 1}
	if replaced {
		supply = physics.WaterSupply{Inflow: math.Inf(1)}
	}
	law := newRowLaw()
	var times []float64
	for i := range 20 {
		times = append(times, rowDuration*float64(i+1)/20)
	}
	want := make([][2]float64, len(times))
	var soils []*materials.Soil
	var bottoms []float64
	var boils, dries []bool
	for i := range rowCount {
		// The first boils at 8 % of the time, the last would at 105 %.
		at := rowDuration * (0.08 + 0.97*float64(i)/(rowCount-1))
		power := law.at[len(law.at)-1] / at
		_, gone := law.energy(rowDuration, at, replaced)
		boils = append(boils, at <= rowDuration)
		dries = append(dries, !replaced && gone == law.goes)
		soils = append(soils, &materials.Soil{Name: fmt.Sprint("row ", i), Resistivity: rowVolts * rowVolts / (rowLength * rowLength * power),
			ResistivityAt: atStart, TemperatureCoeff: runawayCoefficient, SaturationExponent: 1, ResidualConductivity: rowResidual,
			Porosity: rowPorosity, Saturation: 1, DrySaturation: rowDry, ThermalConductivity: 1e-9, ThermalConductivityDry: 1e-9, HeatCapacity: capacity})
		bottoms = append(bottoms, float64(i+1))
		for j, time := range times {
			in, steam := law.energy(time, at, replaced)
			want[j][0] += rowLength * in
			want[j][1] += rowLength * steam
		}
	}
	bottoms[rowCount-1] = math.Inf(1)
	g := mesh.NewSection([]float64{-plateWidth, 0, rowLength, rowLength + plateWidth}, equalEdges(rowCount, rowCount), 1)
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1), Boiling: true}, materials.NewWater(),
		soils, bottoms, func(int, float64) physics.WaterSupply { return supply })
	if err != nil {
		t.Fatal(err)
	}
	e, err := physics.NewElectric(g, []physics.Body{
		{Name: "live", Phase: 1, Rods: 1, Zone: mesh.Zone{I1: 1, K1: rowCount}},
		{Name: "neutral", Phase: 0, Rods: 1, Zone: mesh.Zone{I0: 2, I1: 3, K1: rowCount}},
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	b := insulated
	b.Air = constantAir(atStart)
	var seen rowsSeen
	rep, err := solver.Run(context.Background(), &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Electric: e, Supply: on(rowVolts),
		Watched: mesh.Zone{I0: 1, I1: 2, K1: rowCount}, Duration: rowDuration, Outputs: times,
		Settings: solver.Settings{FixedStep: rowDuration / float64(steps), Tolerance: 1e-5, MaxCoupled: 200}}, &seen)
	if err != nil {
		t.Fatalf("%d steps: %v", steps, err)
	}
	for k := range rowCount {
		c := g.Index(1, k)
		T, tb := rep.State.T[c], gr.BoilingPoint(c)
		if T >= tb != boils[k] || T > tb != dries[k] {
			t.Errorf("%d steps: row %d ends at %.6g K; it boils at %.6g K, and by its closed form it %s by then", steps, k, T, tb,
				map[[2]bool]string{{false, false}: "does not", {true, false}: "does", {true, true}: "has dried"}[[2]bool{boils[k], dries[k]}])
		}
	}
	last := want[len(want)-1]
	for j, w := range want {
		for q := range errs {
			e := (seen.got[j][q] - w[q]) / last[q]
			errs[q] += e * e / float64(len(want))
		}
	}
	for q := range errs {
		errs[q] = math.Sqrt(errs[q])
	}
	return errs
}

// TestRowsThatBoilAndDryKeepTheirOrderInTime: rows of cells that boil and dry one
// after another keep their order in time. A hundred rows between two plates come to
// boil one after another over twenty days, water replaced or not; in the second case
// the first 27 dry too. Steps of a day, halved five times: energy and steam against
// the closed form above rowCount, at twenty times.
// Source: ordinary differential equations; enthalpies by IAPWS R7-97(2012).
func TestRowsThatBoilAndDryKeepTheirOrderInTime(t *testing.T) {
	var curves []curve
	var steps []int
	for i := range 6 {
		steps = append(steps, 20<<i)
	}
	for _, replaced := range []bool{true, false} {
		name := "rows that boil, water replaced"
		if !replaced {
			name = "rows that boil and dry"
		}
		var errs [2][]float64
		for _, n := range steps {
			e := boilingRows(t, n, replaced)
			for q := range errs {
				errs[q] = append(errs[q], e[q])
			}
		}
		for q, what := range []string{"energy in", "steam"} {
			holdKinks(t, name+", "+what, "ordinary differential equations", errs[q])
			curves = append(curves, curve{Label: name + ", " + what, Y: errs[q]})
		}
	}
	drawSteps(t, "rows-order", "Step halved, rows that boil and dry", "rms error, share of the last", rowDuration, steps, curves)
}
