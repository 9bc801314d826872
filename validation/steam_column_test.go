//dossier:chapter Boiling

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/physics"
	"soiljoule/solver"
)

// steamColumn boils from a metre down; what condenses above stays until the pores are
// full. It fills with heat in some seven days, then steam leaves at the surface, and its
// own ground is dry after some sixteen.
var steamColumn = column{
	soil: halfWet(1), depth: 3, top: 1, power: 500, film: 12, days: []float64{4, 7, 12, 20}, cell: 0.1, fixed: 3600,
	vapour: physics.Vapour{Rising: true},
}

// halfWet is ground with a field capacity [-].
func halfWet(field float64) materials.Soil {
	s := wetColumn.soil
	s.Saturation, s.FieldCapacity = 0.6, field
	s.HeatCapacity = 2.3e6
	return s
}

// captured returns the column with an extraction interval.
func (c column) captured(top, bottom, share float64) column {
	c.vapour.Top, c.vapour.Bottom, c.vapour.Capture = top, bottom, share
	return c
}

// steamColumns are the fates of steam that rises.
var steamColumns = []struct {
	name string
	column
}{
	{"no extraction", steamColumn},
	{"an interval that takes nothing", steamColumn.captured(0.4, 0.7, 0)},
	{"an interval that takes half", steamColumn.captured(0.4, 0.7, 0.5)},
	{"an interval that takes all", steamColumn.captured(0.4, 0.7, 1)},
}

// TestExplicitSteamColumnKeepsItsLedgers: the explicit program that says where steam
// condenses keeps its own ledgers, converges as its steps shrink, and gives the hand's
// numbers: of steam that comes to an interval the share is captured; what the interval
// takes all of does not reach the surface; what takes nothing changes nothing. The cell
// that steam has just come to warms by 1000 W/m² over 0.1 m of 2.3 MJ/(m³·K), 16 K an
// hour, so a quarter of a step of five minutes shows as 0.4 K or as 1000 W/m² × 80 s =
// 0.35 kg/m³ of steam in 0.1 m; both are held to half as much again.
// Source: conservation.
func TestExplicitSteamColumnKeepsItsLedgers(t *testing.T) {
	var ends []*explicit
	for _, c := range steamColumns {
		long, x := c.reference(t, c.cell, 0.2)
		holdExplicit(t, c.name, x)
		short, _ := c.reference(t, c.cell, 0.05)
		kelvin, water, where := c.apart(long, short)
		hold(t, check{c.name + ": what shorter steps change, at " + where, source1, kelvin, 0, "K", 0.6})
		hold(t, check{c.name + ": what shorter steps change in the water", source1, water, 0, "kg/m3", 0.6})
		t.Logf("%s: steam %.4g kg, captured %.4g, surface %.4g, condensed %.4g", c.name, x.steam, x.captured, x.surface, x.condensed)
		ends = append(ends, x)
	}
	hold(t, check{"steam at the surface above an interval that takes all", "hand", ends[3].surface, 0, "kg", 0})
	hold(t, check{"steam captured by an interval that takes nothing", "hand", ends[1].captured, 0, "kg", 0})
	hold(t, check{"steam at the surface above an interval that takes nothing", "as without", ends[1].surface, ends[0].surface, "kg", 0})
	if x := ends[0]; x.surface < 40 || x.condensed < 300 {
		t.Errorf("%.3g kg leave at the surface and %.3g kg condense, want 40 and 300 kg: else the column says too little", x.surface, x.condensed)
	}
}

// TestSteamRisesAndCondensesAsAnExplicitProgramSays: steam that boils off below warms and
// wets the cells above it one after another, drips back where the pores are full, and
// leaves at an interval or at the surface, as another program says that takes short
// explicit steps; and what the column loses in water is what left as steam. Steps of an
// hour; a cell may err by ten times the step's 0.1 K, in water by what that boils, and
// may hold or lack one step's condensate, 785 W/m² × 1 h in 0.1 m, that goes down in the
// next. Masses: 0.3 K of the column, as steam.
// Source: own explicit enthalpy method, in validation/explicit_test.go; conservation.
func TestSteamRisesAndCondensesAsAnExplicitProgramSays(t *testing.T) {
	for i, c := range steamColumns {
		want, x := c.reference(t, c.cell, 0.05)
		got := c.run(t)
		kelvin, water, where := c.apart(got, want)
		hold(t, check{c.name + ": largest difference of temperature, at " + where, source1, kelvin, 0, "K", 1})
		// The uppermost condensing cell takes what the surface loses at the boiling point:
		// 90 K through 0.05 m of 1.6 W/(m·K) and the film.
		drip := 785 * 3600 / latentHeat / c.cell
		hold(t, check{c.name + ": largest difference of water", source1, water, 0, "kg/m3", c.soil.HeatCapacity/latentHeat + drip})
		mass := 0.3 * c.soil.HeatCapacity / latentHeat * c.depth
		for j := range got {
			l, w := &got[j].ledger, &want[j].ledger
			on := fmt.Sprintf("%s, day %g: ", c.name, c.days[j])
			hold(t, check{on + "steam captured", source1, l.SteamMass.Captured, w.SteamMass.Captured, "kg", mass})
			hold(t, check{on + "steam at the surface", source1, l.SteamMass.Surface, w.SteamMass.Surface, "kg", mass})
			hold(t, check{on + "steam condensed", source1, l.Condensed, w.Condensed, "kg", mass + 0.01*w.Condensed})
			hold(t, check{on + "heat lost at the surface", source1, l.LossSurface, w.LossSurface, "J", 0.3*c.soil.HeatCapacity*c.depth + 2e-3*w.LossSurface})
			// By hand, from the fields alone: no water flows in, so what is gone is steam.
			gone := 0.0
			for _, w := range got[j].W {
				gone += c.cell * (x.found - w)
			}
			hold(t, check{on + "water that the column lost", "hand", gone, l.SteamMass.Captured + l.SteamMass.Surface, "kg", 1e-8 * c.depth * x.found})
			hold(t, check{on + "heat that the steam took", iapws, l.SteamHeat.Captured + l.SteamHeat.Surface, gone * (steamHolds - coldHolds), "J", 1e-6*gone*steamHolds + 1e-3})
			hold(t, check{on + "latent heat of what condensed", iapws, l.CondensedLatent, l.Condensed * latentHeat, "J", 1e-6*l.Condensed*latentHeat + 1e-3})
		}
		if i == 0 || i == 2 {
			c.drawProfiles(t, fmt.Sprintf("steam-column-%d", i), "A column whose steam rises, "+c.name+", against an explicit program (lines)", got, want)
		}
	}
}

// TestCapturingAllIsExtraction: an interval that is the whole column and takes all gives
// what taking steam out where it forms gives: the same state after the same steps, but
// for what the heat solves leave, 1e-5 K rms a stage and ten times that in one cell, over
// 480 steps of two stages at worst all one way: 0.1 K, and what that boils.
// Source: the two are one model.
func TestCapturingAllIsExtraction(t *testing.T) {
	all := steamColumn.captured(0, steamColumn.depth, 1)
	none := steamColumn
	none.vapour = physics.Vapour{}
	got, want := all.run(t), none.run(t)
	kelvin, water, where := all.apart(got, want)
	hold(t, check{"capture of all against extraction: largest difference of temperature, at " + where, "the two are one model", kelvin, 0, "K", 0.1})
	hold(t, check{"capture of all against extraction: largest difference of water", "the two are one model", water, 0, "kg/m3", 0.1 * all.soil.HeatCapacity / latentHeat})
	a, b := got[len(got)-1].ledger, want[len(want)-1].ledger
	hold(t, check{"capture of all against extraction: steam captured", "the two are one model", a.SteamMass.Captured, b.SteamMass.Captured, "kg", 1e-3 * b.Steam})
	hold(t, check{"steam captured under extraction", "all of it", b.SteamMass.Captured, b.Steam, "kg", 1e-9 * b.Steam})
	hold(t, check{"capture of all: steam at the surface", "none is left to rise", a.SteamMass.Surface, 0, "kg", 1e-9 * a.Steam})
	// A cell that runs dry in a step gives back what its first stages took too much: counted
	// as condensing, some of a step's steam once a cell. 0.8 kg/m³ an hour of 220.
	hold(t, check{"capture of all: steam condensed", "none is left to condense", a.Condensed, 0, "kg", 0.8 / 220 * a.Steam})
}

// TestSteamHeldUnderABarrier: steam that comes to a barrier without an opening spreads to
// the end of the ground below it and is counted there; nothing above the barrier warms
// but by conduction, and once the ground below stands at its boiling point what is held
// is the power over the latent heat.
// Source: conservation; IAPWS R7-97(2012).
func TestSteamHeldUnderABarrier(t *testing.T) {
	c := steamColumn
	barrier := c.soil
	barrier.Name, barrier.SteamBarrier = "barrier", true
	c.days = []float64{10, 11}
	p := c.problem(t)
	g := p.Ground.Grid
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1), Boiling: true}, materials.NewWater(),
		[]*materials.Soil{&barrier, &c.soil}, []float64{1, math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 1} })
	if err != nil {
		t.Fatal(err)
	}
	gr.Vapour = c.vapour
	p.Ground = gr
	held, rate := []float64{}, 0.0
	last, err := solver.Run(t.Context(), p, recorder(func(r *solver.Report) {
		if r.Output && r.State.Time > 0 {
			held, rate = append(held, r.Ledger.SteamMass.Held), r.Steam.Held
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	// Ground below has stood at its boiling point for five days, and a half-space held
	// 90 K warmer for t takes λΔT/√(παt) = 150 W/m² after 5 d (λ = 1.6 W/(m·K), C =
	// 2.3 MJ/(m³·K)): less where the last half cell below dries, more while it was younger.
	most, least := (1000-100.0)/latentHeat, (1000-250.0)/latentHeat
	hold(t, check{"steam held under a barrier, mean of a day", "power less conduction", (held[1] - held[0]) / day, (most + least) / 2, "kg/s", (most - least) / 2})
	hold(t, check{"rate of steam held, last step", "its ledger", rate, (held[1] - held[0]) / day, "kg/s", 0.02 * rate})
	hold(t, check{"steam above a barrier", "none rises into it", last.Ledger.SteamMass.Surface + last.Ledger.SteamMass.Captured, 0, "kg", 1e-9 * held[1]})
	for k := range g.NZ {
		if z := g.ZC[k]; z < 1 && last.State.W[k] > p.Ground.Stores[k].Found*(1+1e-9) {
			t.Errorf("%.3g m deep, in the barrier, there are %.6g kg/m3 of water, found %.6g: steam condensed there", z, last.State.W[k], p.Ground.Stores[k].Found)
		}
	}
}
