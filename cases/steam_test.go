package cases

import (
	"math"
	"slices"
	"sort"
	"strings"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// watered returns a case with water added at an electrode.
func watered(text, electrode string) string {
	return strings.Replace(text, "[time]", "[[water_added]]\nelectrode = \""+electrode+"\"\nrate = \"2 L/min\"\n[time]", 1)
}

func addedOf(f func(p *solver.Problem, a *physics.Added) float64) reading {
	return func(p *solver.Problem) float64 { return f(p, &p.Added[0]) }
}

// soughtAt returns where water goes on the mean, by its share: across, or down.
func soughtAt(down bool) reading {
	return addedOf(func(p *solver.Problem, a *physics.Added) float64 {
		g, sum := p.Ground.Grid, 0.0
		for j, c := range a.Cells {
			at := g.XC[c%g.NX]
			if down {
				at = g.ZC[c/g.NX]
			}
			sum += a.Share[j] * at
		}
		return sum
	})
}

// wiredSteam holds the keys of steam and of water added to their place in the problem.
func wiredSteam() []wired {
	s, cell, level := wiredSection, watered(wiredCell, "E"), watered(wiredPlan, "P")
	row := watered(wiredSection, "R")
	vapour := func(f func(v *physics.Vapour) float64) reading {
		return func(p *solver.Problem) float64 { return f(&p.Ground.Vapour) }
	}
	top := vapour(func(v *physics.Vapour) float64 { return v.Top })
	bottom := vapour(func(v *physics.Vapour) float64 { return v.Bottom })
	capture := vapour(func(v *physics.Vapour) float64 { return v.Capture })
	rate := addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.Rate })
	between := []string{"steam.fate=rising", "steam.top=1 m", "steam.bottom=1.5 m"}
	const d = 86400.0
	litre := 998.2e-3 / 60 // [kg/s] a litre a minute of water at 998.2 kg/m³
	return []wired{
		{key: "steam.fate", base: s, set: "steam.fate=rising", what: "steam that rises", got: vapour(func(v *physics.Vapour) float64 { return one(v.Rising) }), want: 1},
		{key: "steam.top", base: s, with: between, set: "steam.top=0.4 m", what: "top of the interval [m]", got: top, want: 0.4},
		{key: "steam.bottom", base: s, with: between, set: "steam.bottom=1.7 m", what: "bottom of the interval [m]", got: bottom, want: 1.7},
		{key: "steam.capture_share", base: s, with: between, set: "steam.capture_share=80 %", what: "share captured", got: capture, want: 0.8},
		{key: "steam.top", base: wiredPlan, with: between, set: "steam.top=0.4 m", what: "top of the interval of a plan [m]", got: top, want: 0.4},
		{key: "steam.bottom", base: wiredPlan, with: between, set: "steam.bottom=2 m", what: "bottom of the interval of a plan [m]", got: bottom, want: 2},
		{key: "layer.field_capacity", base: s, set: "layer.sand.field_capacity=0.6", what: "field capacity of the laws", got: soilOf(0, func(s *materials.Soil) float64 { return s.FieldCapacity }), want: 0.6},
		{key: "layer.field_capacity", base: wiredPlan, with: []string{"layer.clay.saturation=0.5"}, set: "layer.clay.field_capacity=0.6", what: "field capacity of the slab", got: soilOf(0, func(s *materials.Soil) float64 { return s.FieldCapacity }), want: 0.6},
		{key: "layer.steam_barrier", base: s, with: []string{"target.zone.top=2.5 m"}, set: "layer.sand.steam_barrier=true", what: "a barrier", got: soilOf(0, func(s *materials.Soil) float64 { return one(s.SteamBarrier) }), want: 1},

		// A gallon is 231 cubic inches; there are ten rods 2 m apart in 20 m, a plate is one.
		{key: "water_added.rate", base: row, set: "water_added[1].rate=3 gpm", what: "water at ten rods of a row [kg/s]", got: rate, want: 10 * 3 * 231 * 0.0254 * 0.0254 * 0.0254 * 998.2 / 60},
		{key: "water_added.electrode", base: row, set: "water_added[1].electrode=P", what: "water at the plate [kg/s]", got: rate, want: 2 * litre},
		{key: "water_added.temperature", base: row, set: "water_added[1].temperature=33 degC", what: "temperature [K]", got: addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.Temperature }), want: 306.15},
		{key: "water_added.from", base: row, set: "water_added[1].from=2 d", what: "begin [s]", got: addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.From }), want: 2 * d},
		{key: "water_added.to", base: row, set: "water_added[1].to=9 d", what: "end [s]", got: addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.To }), want: 9 * d},
		{key: "extent.length", base: row, set: "extent.length=35 m", what: "water at 17.5 rods [kg/s]", got: rate, want: 17.5 * 2 * litre},
		{key: "extent.count", base: cell, set: "extent.count=12", what: "water at twelve rods [kg/s]", got: rate, want: 12 * 2 * litre},
		{key: "site.ambient", base: row, set: "site.ambient=21 degC", what: "temperature left to the ground [K]", got: addedOf(func(_ *solver.Problem, a *physics.Added) float64 { return a.Temperature }), want: 294.15},
		// Evenly along the active interval.
		{key: "electrode.top", base: cell, set: "electrode.E.top=3 m", what: "depth that water goes to on the mean [m]", got: soughtAt(true), want: 3.5, tol: 1e-12},
		// Of a rod from 1.5 to 4 m, 2 of 2.5 m are in the slab.
		{key: "electrode.top", base: level, set: "electrode.P.top=1.5 m", what: "water in the slab [kg/s]", got: rate, want: 0.8 * 2 * litre},
		// The weights of a rod have its place for their mean.
		{key: "electrode.x", base: level, set: "electrode.P.x=2.3 m", what: "x that water goes to on the mean [m]", got: soughtAt(false), want: 2.3, tol: 1e-9},
		{key: "electrode.y", base: level, set: "electrode.P.y=2.6 m", what: "y that water goes to on the mean [m]", got: soughtAt(true), want: 2.6, tol: 1e-9},
	}
}

// TestWaterGoesToTheWall: water at a rod on the axis goes to the ring of cells just
// outside it, at a plate to both sides of it, at a row of rods to its column, over the
// depth of the active interval, and by cells' height; shares together are the whole.
// What is solid or has no pores takes none of it.
func TestWaterGoesToTheWall(t *testing.T) {
	sealed := strings.Replace(watered(wiredCell, "E"), "radius = \"1.5 m\"\ninner_radius = \"1 m\"", "radius = \"1.5 m\"\ninner_radius = \"0.15 m\"\nthermal_conductivity = \"40 W/m/K\"\nheat_capacity = \"3 MJ/m3/K\"", 1)
	// The clay begins at 2.5 m.
	tight := strings.Replace(watered(wiredSection, "R"), "heat_capacity = \"3 MJ/m3/K\"\nporosity = 0.45", "heat_capacity = \"3 MJ/m3/K\"\nporosity = 0", 1)
	type span struct{ from, to float64 }
	for _, c := range []struct {
		name, text string
		across     []span // the columns
		down       []span // the depths
	}{
		{"rod on the axis", watered(wiredCell, "E"), []span{{0.15, 0.3}}, []span{{2, 4}}},
		{"plate", watered(wiredSection, "P"), []span{{0.25, 0.75}, {1.25, 1.75}}, []span{{2, 4}}},
		{"row of rods", watered(wiredSection, "R"), []span{{5.75, 6.25}}, []span{{2, 4}}},
		{"rod in a solid ring from 2.5 to 3 m", sealed, []span{{0.15, 0.3}}, []span{{2, 2.5}, {3, 4}}},
		{"row of rods that reaches into ground without pores", tight, []span{{5.75, 6.25}}, []span{{2, 2.5}}},
	} {
		p := builtFrom(t, c.text)
		a, g := &p.Added[0], p.Ground.Grid
		in := func(spans []span, from, to float64) bool {
			for _, s := range spans {
				if from >= s.from-1e-9 && to <= s.to+1e-9 {
					return true
				}
			}
			return false
		}
		height := 0.0
		for _, s := range c.down {
			height += (s.to - s.from) * float64(len(c.across))
		}
		sum := 0.0
		for j, cell := range a.Cells {
			i, k := cell%g.NX, cell/g.NX
			sum += a.Share[j]
			if !in(c.across, g.X[i], g.X[i+1]) || !in(c.down, g.Z[k], g.Z[k+1]) {
				t.Errorf("%s: water goes to %.4g to %.4g m across, %.4g to %.4g m down, want %v and %v", c.name, g.X[i], g.X[i+1], g.Z[k], g.Z[k+1], c.across, c.down)
			}
			if want := (g.Z[k+1] - g.Z[k]) / height; math.Abs(a.Share[j]-want) > 1e-12 {
				t.Errorf("%s: a cell of %.4g m takes %.6g of the water, want %.6g", c.name, g.Z[k+1]-g.Z[k], a.Share[j], want)
			}
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: cells take %.15g of the water together, want all", c.name, sum)
		}
	}
}

// TestIntervalIsOfWholeRows: the depths of the interval in which steam is extracted are
// edges of the mesh, so that no row is in it by half.
func TestIntervalIsOfWholeRows(t *testing.T) {
	for _, base := range []string{wiredSection, wiredCell} {
		g := builtFrom(t, base, "steam.fate=rising", "steam.top=0.77 m", "steam.bottom=1.41 m").Ground.Grid
		if still := builtFrom(t, base, "steam.top=0.77 m", "steam.bottom=1.41 m").Ground.Grid; !slices.Equal(g.Z, still.Z) {
			t.Errorf("rows end at %v where steam rises, at %v where not: a run that goes on could not change steam.fate", g.Z, still.Z)
		}
		for _, at := range []float64{0.77, 1.41} {
			near := math.Inf(1)
			for _, z := range g.Z {
				near = math.Min(near, math.Abs(z-at))
			}
			if near > 1e-9 {
				t.Errorf("the edge nearest to %g m is %.3g m from it, want one there", at, near)
			}
		}
	}
}

// TestElectrodesOpenABarrier: steam passes a barrier in the place of each electrode that
// crosses its lower face, on 2.5 m here, and of no other.
func TestElectrodesOpenABarrier(t *testing.T) {
	sets := []string{"steam.fate=rising", "target.zone.top=2.5 m", "layer.sand.steam_barrier=true"}
	for _, c := range []struct {
		name, text string
		sets       []string
		at         []float64 // r or x of the electrodes that open it [m]
	}{
		{"a plate and a row of rods", wiredSection, sets, []float64{1, 6}},
		{"the row alone", wiredSection, append(sets, "electrode.P.top=2.5 m"), []float64{6}},
		{"a rod on the axis", strings.Replace(wiredCell, "[[layer]]", "[[layer]]\nname = \"sand\"\nbottom = \"2.5 m\"\nresistivity = \"90 ohm*m\"\nthermal_conductivity = \"1.5 W/m/K\"\nheat_capacity = \"2.1 MJ/m3/K\"\nporosity = 0.35\nsaturation = 0.5\n[[layer]]", 1), sets, []float64{0}},
		{"steam that does not rise", wiredSection, sets[1:], nil},
	} {
		p := builtFrom(t, c.text, c.sets...)
		g := p.Ground.Grid
		k := mesh.EdgeAt(g.Z, 2.5)
		if got := len(p.Ground.Vapour.Bores); got != len(c.at) {
			t.Errorf("%s: %d electrodes open the barrier, want %d", c.name, got, len(c.at))
			continue
		}
		for j, x := range c.at {
			i := sort.SearchFloat64s(g.X, x+1e-9) - 1
			if b := p.Ground.Vapour.Bores[j]; !b.Contains(i, k) || !b.Contains(i, k-1) || b.Contains(b.I1, k) {
				t.Errorf("%s: the opening at %g m is columns %d to %d, rows %d to %d, want column %d in it, above and below row %d", c.name, x, b.I0, b.I1, b.K0, b.K1, i, k)
			}
		}
	}
}

// TestWaterOfAnArray: water at an array is added at each of its electrodes, and the case
// as understood names them.
func TestWaterOfAnArray(t *testing.T) {
	c := mustParse(t, watered(wiredArray, "E"))
	x, _ := c.Expand()
	if len(x.WaterAdded) != len(x.Electrodes) || len(x.Electrodes) != 5 {
		t.Fatalf("%d rows of water for %d electrodes, want 5 and 5", len(x.WaterAdded), len(x.Electrodes))
	}
	for i := range x.WaterAdded {
		if got, want := x.WaterAdded[i].Electrode, x.Electrodes[i].Name; got != want {
			t.Errorf("row %d of water is at %s, want %s", i+1, got, want)
		}
	}
	if p := builtFrom(t, watered(wiredArray, "E")); len(p.Added) != 5 {
		t.Errorf("the problem has %d electrodes with water, want 5", len(p.Added))
	}
}

// TestSlabKeepsItsLayersWater: the field capacity of a slab of two layers is that of both
// by pore volume, of the one that does not give it as found.
func TestSlabKeepsItsLayersWater(t *testing.T) {
	x, _ := mustParse(t, layeredPlan).Expand()
	sand, clay := &x.Layers[0], &x.Layers[1]
	sand.FieldCapacity = (1 + sand.Saturation) / 2
	slab := x.slab()
	want := (0.25*sand.Porosity*sand.FieldCapacity + 0.75*clay.Porosity*clay.Saturation) / (0.25*sand.Porosity + 0.75*clay.Porosity)
	if got := slab.FieldCapacity; math.Abs(got-want) > 1e-14 {
		t.Errorf("the slab's field capacity is %.15g, want %.15g", got, want)
	}
	sand.FieldCapacity, sand.Kind = math.NaN(), "rock"
	want = (0.25*sand.Porosity + 0.75*clay.Porosity*clay.Saturation) / (0.25*sand.Porosity + 0.75*clay.Porosity)
	if slab = x.slab(); math.Abs(slab.FieldCapacity-want) > 1e-14 {
		t.Errorf("with rock, whose pores keep all their water, it is %.15g, want %.15g", slab.FieldCapacity, want)
	}
}

// TestBoilingAGallonAMinute: 142 kW boil a gallon a minute.
// A fact of the trade (common practice, no source), of water at its boiling point; 1 % is
// its last digit. Water at 99.5 °C takes 0.1 % more.
func TestBoilingAGallonAMinute(t *testing.T) {
	x, _ := mustParse(t, watered(wiredSection, "R"), "water_added.rate=1 gpm", "water_added.temperature=99.5 degC", "electrode.R.top=0.1 m", "site.water_table=4 m").Expand()
	if got := x.BoilPower(&x.WaterAdded[0]) / 1e3; math.Abs(got-142) > 1.42 {
		t.Errorf("a gallon a minute takes %.4g kW to boil, want 142 kW within 1 %%", got)
	}
}
