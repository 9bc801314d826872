//dossier:chapter Boiling

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// The columns whose lowest part makes steam for the ground above it, which conducts next
// to nothing: half a metre of power below 2.5 m.
const (
	frontPower  = 800.0 // [W/m³]
	frontHeated = 0.5   // [m]
	frontCell   = 0.1   // [m]
)

func frontColumn(field float64) column {
	soil := halfWet(field)
	soil.Saturation, soil.HeatCapacity = 0.4, 1.9e6
	soil.ThermalConductivity, soil.ThermalConductivityDry = 1e-7, 1e-7
	return column{soil: soil, depth: 3, top: 3 - frontHeated, power: frontPower, film: 12, days: []float64{3, 6.5}, cell: frontCell, fixed: 3600,
		vapour: physics.Vapour{Rising: true}}
}

// frontNumbers are the hand's: steam of mass flux m = P/latent, P = power × heated length,
// comes to ground at T₀ and warms it to T_b. With w the condensate that this leaves
// [kg/m³],
//
//	w (h_v − h_w0) = C_s (T_b − T₀) + (W + w)(h_wb − h_w0),  so  w = E_b(W)/latent
//
// E_b(W) what the ground as found holds at T_b. The front so moves at
//
//	v = m/w = P/E_b(W)
//
// whether the condensate stays behind it or drips to where it boils again, for then the
// ground behind is as found and hot, and stands after the time t at P t/E_b(W) above the
// lower edge of the heat. The heated half metre makes 0.9 m of it before it is dry.
func (c *column) frontNumbers() (condensate, speed float64) {
	found := c.soil.Porosity * c.soil.Saturation * 998.2
	solids := c.soil.HeatCapacity - found*coldSlope
	hot := solids*(boilsAt-atStart) + found*(liquidHolds-coldHolds)
	return hot / latentHeat, c.power * (c.depth - c.top) / hot
}

// front is where a front of a profile's temperature stands above the column's lower edge
// [m]: what its cells' rises are of the whole, and how many above the heat are neither
// hot nor cold. Those with heat may be a little below the boiling point: what drips there
// from the front's own cell is colder.
func (c *column) front(p profile) (position float64, between int) {
	for i, T := range p.T {
		share := (T - atStart) / (boilsAt - atStart)
		position += c.cell * math.Min(share, 1)
		if share > 1e-3 && share < 1-1e-3 && (float64(i)+0.5)*c.cell < c.top {
			between++
		}
	}
	return position, between
}

// holdFront holds profiles to the closed form. The cell of the front is read from its
// temperature for the share of its heat: its capacity grows with the condensate by w c_w
// of 2.2 MJ/(m³·K), 15 %, which puts the one off the other by 0.15 × ¼ of a cell at most.
func (c *column) holdFront(t *testing.T, name string, got []profile, behind float64) {
	t.Helper()
	w, v := c.frontNumbers()
	found := c.soil.Porosity * c.soil.Saturation * 998.2
	for j, p := range got {
		on := fmt.Sprintf("%s, day %g: ", name, c.days[j])
		position, between := c.front(p)
		hold(t, check{on + "front of condensing steam above the heat's lower edge", "P t/E_b(W)", position, v * c.days[j] * day, "m", c.cell / 20})
		if between > 1 {
			t.Errorf("%s%d cells are neither at the start's temperature nor at the boiling point, want one: nothing conducts", on, between)
		}
		// In the middle between the heat and the front: six printed digits of the
		// enthalpies, and the step's condensate that has not yet gone down.
		i := int((c.top - (position-frontHeated)/2) / c.cell)
		tol := 1e-3 * w
		if behind == found {
			tol = c.power * frontHeated * 3600 / latentHeat / c.cell
		}
		hold(t, check{on + "water behind the front", "E_b(W)/latent", p.W[i], behind, "kg/m3", tol})
		hold(t, check{on + "water ahead of the front", "as found", p.W[2], found, "kg/m3", 1e-9 * found})
	}
	if speed := (func() float64 { a, _ := c.front(got[1]); b, _ := c.front(got[0]); return a - b })() / (c.days[1] - c.days[0]) / day; speed > 0 {
		// Two positions, each within a twentieth of a cell.
		hold(t, check{name + ": speed of the front", "P/E_b(W)", speed * day, v * day, "m/d", 2 * c.cell / 20 / (c.days[1] - c.days[0])})
	}
}

// frontColumns are the front whose condensate stays and the one whose condensate drips.
func frontColumns() map[string]float64 {
	return map[string]float64{"condensate stays": 1, "condensate drips": 0}
}

// TestExplicitFrontMovesAsTheLatentHeatDictates: the explicit program moves a condensation
// front as the closed form says: with the condensate left behind it, or dripping to the
// heat.
// Source: energy balance; IAPWS R7-97(2012).
func TestExplicitFrontMovesAsTheLatentHeatDictates(t *testing.T) {
	for _, name := range []string{"condensate stays", "condensate drips"} {
		c := frontColumn(frontColumns()[name])
		got, x := c.reference(t, c.cell, 0.25)
		holdExplicit(t, name, x)
		behind := x.found
		if c.soil.FieldCapacity > 0 {
			w, _ := c.frontNumbers()
			behind += w
		}
		c.holdFront(t, "explicit, "+name, got, behind)
	}
}

// TestSteamFrontMovesAsTheLatentHeatDictates: steam that rises at a constant rate into
// cold ground that conducts nothing moves a front at P/E_b(W), the power over what the
// ground as found holds at its boiling point, hot and wetter by E_b(W)/latent behind,
// untouched ahead; where condensate drips, as wet as found, and the heated ground does
// not dry.
// Source: energy balance; IAPWS R7-97(2012).
func TestSteamFrontMovesAsTheLatentHeatDictates(t *testing.T) {
	for _, name := range []string{"condensate stays", "condensate drips"} {
		c := frontColumn(frontColumns()[name])
		got := c.run(t)
		found := c.soil.Porosity * c.soil.Saturation * 998.2
		w, v := c.frontNumbers()
		behind := found
		if c.soil.FieldCapacity > 0 {
			behind += w
		}
		c.holdFront(t, name, got, behind)
		for j, p := range got {
			on := fmt.Sprintf("%s, day %g: ", name, c.days[j])
			heated, above := 0.0, 0.0
			for i, water := range p.W {
				if z := (float64(i) + 0.5) * c.cell; z > c.top {
					heated += c.cell * (found - water)
				} else {
					above += c.cell * (water - found)
				}
			}
			// Mass that boils below is mass that condenses above: nothing leaves.
			hold(t, check{on + "water gained above against water lost below", "conservation", above, heated, "kg", 1e-8 * c.depth * found})
			hold(t, check{on + "steam out of the ground", "none comes to the top", p.ledger.Steam, 0, "kg", 0})
			if behind == found {
				// Steam of one step condenses in it and comes back in the next: two steps'
				// are on their way at most.
				hold(t, check{on + "water that the heated ground lacks", "what drips comes back", heated, 0, "kg", 2 * c.power * frontHeated * 3600 / latentHeat})
				continue
			}
			// The heat above came with steam alone.
			hold(t, check{on + "water gained above", "front × E_b(W)/latent", above, (v*c.days[j]*day - frontHeated) * w, "kg", 1e-3 * above})
			// Condensing is counted stage by stage: a cell that comes to boil in a step takes
			// more in its first stages than it keeps, by its share of a step in the hours that
			// it takes to fill. 9.4 hours a cell, an hour a step: 0.03 at most.
			hold(t, check{on + "steam condensed", "conservation", p.ledger.Condensed, above, "kg", 0.03 * above})
		}
	}
}

// The heat pipe: half a metre of ground makes steam at 2.5 to 3 m; the ground above,
// which conducts 2 W/(m·K) wet or dry, loses heat to cold air through a film.
const (
	pipePower        = 360.0 // [W/m³]
	pipeConductivity = 2.0   // [W/(m·K)]
	pipeFilm         = 10.0  // [W/(m²·K)]
	pipeDays         = 160.0
)

func pipeColumn() column {
	c := frontColumn(0)
	c.soil.ThermalConductivity, c.soil.ThermalConductivityDry = pipeConductivity, pipeConductivity
	c.power, c.film, c.fixed = pipePower, pipeFilm, 0
	c.days = nil
	// Outputs bound the steps, and with them the condensate that is still on its way.
	for d := 2.0; d <= pipeDays; d += 2 {
		c.days = append(c.days, d)
	}
	return c
}

// holdPipe holds the last profile to the steady state: all the power P [W/m²] goes up
// as steam, condenses where the ground falls below T_b, and is conducted from there,
//
//	T = min(T_b, T_air + P (z/λ + 1/h))
//
// which the nodes carry exactly. The front comes to its place as exp(−t/τ), τ = E_b s/P
// = 12 d at most, over more than 100 d: 90 K × e^(−8) = 0.03 K; a step errs by 0.1 K.
func (c *column) holdPipe(t *testing.T, name string, p profile) {
	t.Helper()
	flux := c.power * frontHeated
	most, where := 0.0, 0.0
	for i, T := range p.T {
		z := (float64(i) + 0.5) * c.cell
		want := math.Min(boilsAt, atStart+flux*(z/pipeConductivity+1/c.film))
		if d := math.Abs(T - want); d > most {
			most, where = d, z
		}
	}
	hold(t, check{fmt.Sprintf("%s: largest difference from the steady profile, at %.2f m", name, where), "min(T_b, T_air + P (z/λ + 1/h))", most, 0, "K", 0.2})
}

// TestExplicitHeatPipeComesToItsSteadyState: the explicit program's heat pipe under a
// cover comes to the closed form.
// Source: energy balance.
func TestExplicitHeatPipeComesToItsSteadyState(t *testing.T) {
	c := pipeColumn()
	got, x := c.reference(t, c.cell, 0.25)
	holdExplicit(t, "heat pipe", x)
	c.holdPipe(t, "explicit heat pipe", got[len(got)-1])
}

// TestHeatPipeHoldsItsLayerAtTheBoilingPoint: below a cold cover steam rises, condenses
// and drips back: the layer stands at the boiling point up to where the cover conducts
// what the steam brings, the latent heat of what condenses is the power below, as is the
// heat through the cover, and the water of the ground stays what it was.
// Source: energy balance; IAPWS R7-97(2012).
func TestHeatPipeHoldsItsLayerAtTheBoilingPoint(t *testing.T) {
	c := pipeColumn()
	got := c.run(t)
	end := got[len(got)-1]
	c.holdPipe(t, "heat pipe", end)
	flux := c.power * frontHeated
	before := got[len(got)-6] // ten days before the end
	hold(t, check{"heat pipe: heat through the cover, last ten days", "the power below", (end.ledger.LossSurface - before.ledger.LossSurface) / (10 * day), flux, "W", 0.005 * flux})
	hold(t, check{"heat pipe: latent heat of what condenses, last ten days", "the power below", (end.ledger.CondensedLatent - before.ledger.CondensedLatent) / (10 * day), flux, "W", 0.01 * flux})
	hold(t, check{"heat pipe: rate of condensing, last step", iapws, end.report.Condensing * latentHeat, flux, "W", 0.01 * flux})
	hold(t, check{"heat pipe: steam out of the ground", "none comes to the top", end.ledger.Steam, 0, "kg", 0})
	hold(t, check{"heat pipe: water of the ground", "as found", end.ledger.Water.Stored, 0, "kg", 1e-8 * c.depth * c.soil.WaterHeld(c.soil.Saturation)})
	for j, p := range got {
		for i, T := range p.T {
			if T > boilsAt+0.01 {
				t.Fatalf("%.2f m deep stands at %.6g K on day %g, above the boiling point: the drip did not keep it wet", (float64(i)+0.5)*c.cell, T, c.days[j])
			}
		}
	}
}

// TestSteamLeavesWithTheEnthalpyOfTheTop: below the water table ground boils hotter with depth,
// and steam that rises into ground of a lower boiling point condenses there or passes on
// with the enthalpy of where it formed: in a column all at its boiling points, without
// conduction, what leaves at the surface is what the cells boil, and each kilogram took
// the enthalpy of the last cell that it left.
// Source: conservation; IAPWS R7-97(2012) by testdata/boiling_depth.csv.
func TestSteamLeavesWithTheEnthalpyOfTheTop(t *testing.T) {
	c := frontColumn(1)
	c.days = []float64{10, 20}
	z := c.edges(c.cell)
	g := downward(z)
	soil := c.soil
	soil.Saturation, soil.HeatCapacity = 1, 2.9e6
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: 0, Boiling: true}, materials.NewWater(),
		[]*materials.Soil{&soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 1} })
	if err != nil {
		t.Fatal(err)
	}
	gr.Vapour = physics.Vapour{Rising: true}
	whole := mesh.Zone{I1: 1, K1: g.NZ}
	const power = 300.0 // [W/m³] everywhere: 2.6e8/300 = 10 d to boil, 35 d to dry
	b := insulated
	b.Air = constantAir(atStart)
	var mass, heat []float64
	last, err := solver.Run(t.Context(), &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Imposed: heated(g, whole, power), Watched: whole, Duration: 20 * day,
		Outputs: []float64{14 * day}, Targets: []solver.Target{{Zone: whole, Temperature: math.NaN(), Share: 1}}}, recorder(func(r *solver.Report) {
		if r.Output && r.State.Time > 0 {
			mass, heat = append(mass, r.Ledger.SteamMass.Surface), append(heat, r.Ledger.SteamHeat.Surface)
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	hold(t, check{"largest open share of the ledger, hotter with depth", "bookkeeping", last.Ledger.Share(), 0, "", 1e-8})
	top := &gr.Stores[0]
	out := mass[1] - mass[0]
	hold(t, check{"heat per kilogram at the surface, hotter with depth", "h_v(T_b) − h_w(T₀) of the uppermost cell", (heat[1] - heat[0]) / out, top.Steam, "J/kg", 1e-6 * top.Steam})
	// All stand at T_b, so the power boils: with h_v of the top and liquid left behind at
	// h_w of each, whose mean T_b is 1.5 m of water, some 3.7 K, above the top's: latent
	// of the top less the liquid's 3.7 K × 4.22 kJ/(kg·K) in part, 0.7 %.
	hold(t, check{"steam at the surface, hotter with depth", "power over latent heat", out, power * 3 * 6 * day / latentHeat, "kg", 0.01 * power * 3 * 6 * day / latentHeat})
}

// TestSteamBelowTheTableDisplacesWater: below the water table pores are full, so what
// condenses there displaces as much water, at the cell's temperature, to the groundwater.
// Without conduction a cell that steam of enthalpy h_v brings from T₀ to its boiling point
// so takes, per volume,
//
//	w = ∫ (C_s + W h_w′(T)) dT / (h_v − h_w(T))
//
// stays full, and the mass displaced is what the heated ground boiled. A step of an hour
// warms the front's cell by some 8 K, and where in it the water leaves is open:
// 8 K × 4.2 kJ/(kg·K) of 2.45 MJ/kg, 1.4 %.
// Source: energy balance; IAPWS R7-97(2012).
func TestSteamBelowTheTableDisplacesWater(t *testing.T) {
	c := frontColumn(1)
	g := downward(c.edges(c.cell))
	soil := c.soil
	soil.Saturation, soil.HeatCapacity = 1, 2.9e6
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: 0, Boiling: true}, tables,
		[]*materials.Soil{&soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 1} })
	if err != nil {
		t.Fatal(err)
	}
	gr.Vapour = physics.Vapour{Rising: true}
	whole := mesh.Zone{I1: 1, K1: g.NZ}
	b := insulated
	b.Air = constantAir(atStart)
	last, err := solver.Run(t.Context(), &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Imposed: heated(g, g.Box("heated", 0, 1, c.top, c.depth), frontPower),
		Watched: whole, Duration: 8 * day, Settings: solver.Settings{FixedStep: 3600}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	found, solids := soil.Porosity*998.2, soil.HeatCapacity-soil.Porosity*998.2*coldSlope
	boiled, want, hot := 0.0, 0.0, 0
	for k, T := range last.State.T {
		if g.ZC[k] > c.top {
			boiled += c.cell * (found - last.State.W[k])
			continue
		}
		if T > gr.Stores[k].BoilingPoint-1e-3 {
			hot++
		}
		if w := last.State.W[k]; math.Abs(w-found) > 0.02*found {
			t.Errorf("%.2f m deep, above the heat and below the water table, there are %.5g kg/m3 of water, want the %.5g that fill the pores", g.ZC[k], w, found)
		}
		from := gr.Stores[min(k+1, g.NZ-1)].BoilingPoint // the steam left the cell below
		vapour := materials.VapourEnthalpy(from)
		const n = 200
		for i := range n {
			u := atStart + (T-atStart)*(float64(i)+0.5)/n
			h, slope := tables.Enthalpy(u)
			want += c.cell * (solids + found*slope) * (T - atStart) / n / (vapour - h)
		}
	}
	if hot < 5 {
		t.Fatalf("%d cells above the heat stand at their boiling points, want 5", hot)
	}
	l := &last.Ledger
	hold(t, check{"water that condensing steam displaces below the table", "∫ (C_s + W h_w′) dT/(h_v − h_w)", l.Water.ToGroundwater, want, "kg", 0.014 * want})
	// What the front's cell took in the last step may be on its way.
	hold(t, check{"water displaced against water boiled away", "conservation", l.Water.ToGroundwater, boiled, "kg", frontPower*frontHeated*3600/latentHeat + 1e-8*boiled})
	hold(t, check{"steam displacing water: steam out of the ground", "none comes to the top", l.Water.Steam, 0, "kg", 0})
	hold(t, check{"steam displacing water: open share of the ledger", "bookkeeping", l.Share(), 0, "", 1e-8})
}
