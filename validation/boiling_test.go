//dossier:chapter Boiling

package validation

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// Water at the saturation line.
// Source: IAPWS R7-97(2012), rows of testdata/water_saturation.csv at 99.974 °C
// (101.325 kPa) and at 10 °C, where the ground starts.
const (
	boilsAt     = 373.124   // [K]
	steamHolds  = 2675531.0 // [J/kg] h_v
	liquidHolds = 418989.5  // [J/kg] h_w
	latentHeat  = 2256542.0 // [J/kg]
	coldHolds   = 42021.09  // [J/kg] h_w at 10 °C
	coldSlope   = 4195.83   // [J/(kg·K)] at 10 °C
	// The water that dry ground keeps warms from 100 to some 160 °C at
	// (675.5747 − 419.0992)/60 kJ/(kg·K). It is 6.5 % of the block's capacity, and an
	// end 10 K elsewhere moves its mean by 0.5 %: 3e-4 of the whole.
	hotSlope = 4274.6
)

// The block that boils: 0.40 of pores, full; dry at 0.05 of them.
const (
	blockPower    = 100.0 // [W/m³]
	blockCapacity = 2.9e6 // [J/(m³·K)]
	blockPores    = 0.40 * materials.RhoWater
	blockDry      = 0.05 * blockPores
)

// block is a wet, evenly heated and insulated block of 3 × 2 cells and 6 m³.
func block(t *testing.T, supply physics.WaterSupply, power, duration, step float64) *solver.Problem {
	t.Helper()
	g := mesh.NewSection([]float64{0, 1, 2, 3}, []float64{0, 1, 2}, 1)
	whole := g.Box("block", 0, 3, 0, 2)
	soil := &materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: atStart, SaturationExponent: 2, Porosity: 0.40, Saturation: 1,
		DrySaturation: 0.05, ThermalConductivity: 1.6, HeatCapacity: blockCapacity}
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1), Boiling: true}, materials.NewWater(),
		[]*materials.Soil{soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return supply })
	if err != nil {
		t.Fatal(err)
	}
	b := insulated
	b.Air = constantAir(atStart)
	return &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Imposed: heated(g, whole, power), Watched: whole, Duration: duration,
		Targets: []solver.Target{{Zone: whole, Temperature: math.NaN(), Share: 1}}, Settings: solver.Settings{FixedStep: step}}
}

// timeToBoil is how long the block takes to boil [s]: the heat of solids and water.
func timeToBoil() float64 {
	solids := blockCapacity - blockPores*coldSlope
	return (solids*(boilsAt-atStart) + blockPores*(liquidHolds-coldHolds)) / blockPower
}

// plateau follows a block's first and last time at the boiling point, and the
// worst that its ledger was open.
type plateau struct {
	first, last float64 // [s]
	open        float64
	after, at   []float64 // [K], [s] temperatures once past the boiling point and their times
	steam       float64   // [kg/s] in the latest step
}

func (p *plateau) Record(r *solver.Report) error {
	const near = 0.002 // [K] twice the last digit of boilsAt
	switch T := r.State.T[0]; {
	case math.Abs(T-boilsAt) <= near:
		if p.first == 0 {
			p.first = r.State.Time
		}
		p.last = r.State.Time
	case T > boilsAt:
		p.after, p.at = append(p.after, T), append(p.at, r.State.Time)
	}
	p.open = math.Max(p.open, math.Abs(r.Ledger.Share()))
	p.steam = r.SteamRate
	return nil
}

func (p *plateau) run(t *testing.T, problem *solver.Problem) *solver.Report {
	t.Helper()
	rep, err := solver.Run(context.Background(), problem, p)
	if err != nil {
		t.Fatal(err)
	}
	return rep
}

const iapws = "IAPWS R7-97(2012) by testdata/water_saturation.csv"

// TestBlockWithoutInflowBoilsItsWaterAway: at constant power the plateau lasts
// latent heat × water that can go / power; then the dry block warms on.
// Source: energy balance; IAPWS R7-97(2012).
func TestBlockWithoutInflowBoilsItsWaterAway(t *testing.T) {
	length := latentHeat * (blockPores - blockDry) / blockPower
	step := length / 500
	var p plateau
	rep := p.run(t, block(t, physics.WaterSupply{Removable: 0.3}, blockPower, timeToBoil()+1.1*length, step))
	// The heat of a uniform block grows evenly, which the quadrature carries
	// exactly: what is left is that a change is seen at the end of a step.
	hold(t, check{"time to boil of an insulated block", iapws, p.first, timeToBoil(), "s", step})
	hold(t, check{"boiling plateau without inflow", iapws, p.last - p.first, length, "s", step})
	// Six printed digits of the latent heat and the enthalpies.
	hold(t, check{"steam from a block that boiled dry", "pore water less what stays", rep.Ledger.Steam, 6 * (blockPores - blockDry), "kg", 6 * blockPores * 1e-9})
	hold(t, check{"latent part of the steam's heat", iapws, rep.Ledger.Latent, rep.Ledger.Steam * latentHeat, "J", 1e-6 * rep.Ledger.Steam * latentHeat})
	n := len(p.after)
	if n < 20 {
		t.Fatalf("%d steps beyond the boiling point, want at least 20", n)
	}
	solids := blockCapacity - blockPores*coldSlope + blockDry*hotSlope
	want := blockPower * (p.at[n-1] - p.at[1]) / solids
	hold(t, check{"rise of the dry block", "energy balance", p.after[n-1] - p.after[1], want, "K", 3e-4 * want})
	hold(t, check{"largest open share of the ledger over all steps, block dry", "bookkeeping", p.open, 0, "", 1e-8})
}

// TestBlockWithUnlimitedInflowStaysAtTheBoilingPoint: a block whose water is replaced
// as it boils stays at its boiling point. For ever, and each kilogram costs h_v(T_b) −
// h_w(T₀), because cold water replaces it.
// Source: energy balance; IAPWS R7-97(2012).
func TestBlockWithUnlimitedInflowStaysAtTheBoilingPoint(t *testing.T) {
	const removable = 0.3
	length := latentHeat * removable * blockPores / blockPower // until inflow begins
	var p plateau
	duration := timeToBoil() + 30*length
	rep := p.run(t, block(t, physics.WaterSupply{Removable: removable, Inflow: math.Inf(1), Refill: 1e-6}, blockPower, duration, length/20))
	if len(p.after) > 0 {
		t.Errorf("a block with unlimited inflow passed the boiling point in %d steps, to %.6g K", len(p.after), p.after[len(p.after)-1])
	}
	hold(t, check{"last time at the boiling point, inflow unlimited", "design: for ever", p.last, duration, "s", 0})
	hold(t, check{"heat per kilogram of steam, inflow unlimited", iapws, 6 * blockPower / p.steam, steamHolds - coldHolds, "J/kg", 1e-6 * steamHolds})
	hold(t, check{"water left, inflow unlimited", "its floor", rep.State.W[0], (1 - removable) * blockPores, "kg/m3", 1e-9 * blockPores})
	hold(t, check{"largest open share of the ledger over all steps, inflow unlimited", "bookkeeping", p.open, 0, "", 1e-8})
	want := (duration-timeToBoil()-length)*blockPower*6/(steamHolds-coldHolds) + 6*removable*blockPores
	hold(t, check{"steam in all, inflow unlimited", iapws, rep.Ledger.Steam, want, "kg", 2e-6 * want})
}

// TestBlockWithLimitedInflowDriesMoreSlowly: a block with less inflow than boils away
// dries, and later than one without. Inflow is half of what would hold the water at
// its floor. With R the inflow and F the steam, both per volume,
//
//	heat at the boiling point   q = F h_v + (R − F) h_w(T_b)   (from h_w(T₀))
//	so water falls at           F − R = (q − R h_v)/latent
//
// below the floor, and the dry block warms with q − R h_v, its inflow boiling at
// once. The plateau lasts latent × (found − floor)/q + latent × (floor − dry)/(q − R h_v).
// Source: energy balance; IAPWS R7-97(2012).
func TestBlockWithLimitedInflowDriesMoreSlowly(t *testing.T) {
	const removable = 0.3
	const steam = steamHolds - coldHolds
	const inflow = 0.5 * blockPower / steam // [kg/(m³·s)]
	const floor = (1 - removable) * blockPores
	length := latentHeat*removable*blockPores/blockPower + latentHeat*(floor-blockDry)/(blockPower-inflow*steam)
	step := length / 500
	var p plateau
	rep := p.run(t, block(t, physics.WaterSupply{Removable: removable, Inflow: inflow / blockPores, Refill: 1e-6}, blockPower, timeToBoil()+1.1*length, step))
	hold(t, check{"boiling plateau with limited inflow", iapws, p.last - p.first, length, "s", step})
	n := len(p.after)
	if n < 20 {
		t.Fatalf("%d steps beyond the boiling point, want at least 20", n)
	}
	solids := blockCapacity - blockPores*coldSlope + blockDry*hotSlope
	want := (blockPower - inflow*steam) * (p.at[n-1] - p.at[1]) / solids
	hold(t, check{"rise of the dry block with inflow", "energy balance", p.after[n-1] - p.after[1], want, "K", 3e-4 * want})
	hold(t, check{"steam once dry, inflow limited", "all that flows in", p.steam, 6 * inflow, "kg/s", 1e-9 * inflow})
	hold(t, check{"water balance, inflow limited", "steam less inflow is what the block lost", rep.Ledger.Steam - rep.Ledger.Water.Recharge, 6 * (blockPores - blockDry), "kg", 6 * blockPores * 1e-9})
	hold(t, check{"largest open share of the ledger over all steps, inflow limited", "bookkeeping", p.open, 0, "", 1e-8})
}

// TestPowerOfCondensate: 142 kW boils one US gallon of condensate a minute:
// 3.7854 L/min × 0.998 kg/L × 2256.5 kJ/kg = 142.1 kW.
// Source: arithmetic with IAPWS R7-97(2012); the gallon is 231 cubic inches.
func TestPowerOfCondensate(t *testing.T) {
	const total = 142e3 // [W] in the block's 6 m³
	warm := timeToBoil() * blockPower / (total / 6)
	var p plateau
	p.run(t, block(t, physics.WaterSupply{Removable: 0.3}, total/6, 1.5*warm, warm/20))
	const gallon = 231 * 0.0254 * 0.0254 * 0.0254 // [m³]
	gpm := p.steam * 60 / materials.RhoWater / gallon
	// 142 is printed to three digits, ±0.35 %; condensate is measured at 20 °C, give
	// or take 0.5 % of density.
	hold(t, check{"condensate of 142 kW on the plateau", "latent heat, " + iapws, gpm, 1.0, "gpm", 0.01})
}

// TestBoilingPointRisesWithDepth: a column below its water table, heated until all
// of it boils, stands at the boiling point of the water above each node.
// Source: IAPWS R7-97(2012) region 4, by testdata/boiling_depth.csv.
func TestBoilingPointRisesWithDepth(t *testing.T) {
	f, err := os.Open("testdata/boiling_depth.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	// Cells 0.2 m high centred on the table's depths, and one between each two.
	z := []float64{0}
	var depths, want []float64
	for _, row := range rows[2:] { // below the header and depth 0, which no node has
		d, err1 := strconv.ParseFloat(row[0], 64)
		T, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		depths, want = append(depths, d), append(want, T)
		z = append(z, d-0.1, d+0.1)
	}
	g := downward(z)
	whole := mesh.Zone{I1: 1, K1: g.NZ}
	soil := &materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: atStart, SaturationExponent: 2, Porosity: 0.4, Saturation: 1,
		DrySaturation: 0.05, ThermalConductivity: 1.6, HeatCapacity: 2.9e6}
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: 0, Boiling: true}, materials.NewWater(),
		[]*materials.Soil{soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply {
			return physics.WaterSupply{Removable: 0.3, Inflow: math.Inf(1), Refill: 1e-6}
		})
	if err != nil {
		t.Fatal(err)
	}
	b := insulated
	b.Air = constantAir(atStart)
	// 2.9 MJ/(m³·K) × 133 K / 100 W/m³ = 45 days to boil at 30 m.
	rep, err := solver.Run(context.Background(), &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Imposed: heated(g, whole, 100), Watched: whole, Duration: 60 * day}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range depths {
		// Half a unit of the printed digit, and that of water density × gravity in the
		// pressure, 1e-7 of it.
		hold(t, check{fmt.Sprintf("temperature of boiling ground %g m below the water table", d), "IAPWS R7-97(2012)", rep.State.T[2*i+1] - materials.Celsius, want[i], "degC", 6e-4})
	}
}

// TestDryingFrontMoves: ground found at its boiling point, its surface held ΔT
// hotter: it dries from the surface inwards, as the one-phase problem of Stefan
// with the latent heat of the pore water,
//
//	s(t) = 2μ√(αt),  μ exp(μ²) erf(μ) = St/√π,  St = C_dry ΔT/(W·latent)
//	T − T_b = ΔT [1 − erf(x/2√(αt))/erf μ]
//
// once the front, counted by the partly boiled cell's share, has passed 100 cells.
// The conduction to the cell that boils goes to its node, so the distance is off by
// at most half a cell, and the front with it: 0.5 %.
// Source: Carslaw & Jaeger (1959), §11.2 (from memory); values A13.
func TestDryingFrontMoves(t *testing.T) {
	const cell, cells, k, dry = 0.01, 130, 2.0, 1.5e6 // [m], [-], [W/(m·K)], [J/(m³·K)]
	for _, c := range []struct {
		name       string
		st, excess float64 // [-], [K]
	}{
		{"one-phase Stefan problem, St=0.1: lambda", 0.1, 30},
		{"one-phase Stefan problem, St=0.5: lambda", 0.5, 60},
		{"one-phase Stefan problem, St=1.0: lambda", 1.0, 60},
	} {
		mu, _, source := closedForm(t, "A13", c.name)
		water := materials.NewWater()
		hot := materials.SaturationTemperature(101325)
		_, slope := water.Enthalpy(hot)
		held := dry * c.excess / (latentHeat * c.st) // [kg/m³] of water
		g := downward(equalEdges(cell*cells, cells))
		soil := &materials.Soil{Name: "wet", Resistivity: 50, ResistivityAt: hot, SaturationExponent: 2, Porosity: held / materials.RhoWater, Saturation: 1,
			ThermalConductivity: k, ThermalConductivityDry: k, HeatCapacity: dry + held*slope}
		gr, err := physics.NewGround(g, physics.Site{Ambient: hot, AirPressure: 101325, WaterTable: math.Inf(1), Boiling: true}, water,
			[]*materials.Soil{soil}, []float64{math.Inf(1)}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{Removable: 1} })
		if err != nil {
			t.Fatal(err)
		}
		alpha := k / dry
		duration := 1.05 * 1.05 / (4 * mu * mu * alpha) // front at 1.05 m
		b := heldSurface
		b.Air = constantAir(hot + c.excess)
		rep, err := solver.Run(context.Background(), &solver.Problem{Ground: gr, Heat: physics.NewHeat(g, b), Watched: mesh.Zone{I1: 1, K1: cells}, Duration: duration}, nil)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%+v", rep.Stats)
		front := 0.0
		for _, w := range rep.State.W {
			front += cell * (1 - w/held)
		}
		hold(t, check{fmt.Sprintf("drying front after 105 cells, St = %g", c.st), source, front, 1.05, "m", cell / 2})
		u := make([]float64, cells)
		for i, T := range rep.State.T {
			u[i] = T - hot
		}
		want := c.excess * (1 - math.Erf(0.5*mu)/math.Erf(mu))
		// The gradient there is at most ΔT/s · 2μ exp(−μ²/4)/(√π erf μ) ≤ 1.3 ΔT/s,
		// and x/s as uncertain as s.
		hold(t, check{fmt.Sprintf("temperature halfway to the drying front, St = %g", c.st), source, along(g.ZC, u, 1.05/2), want, "K", 1.3 * c.excess * 0.5 * (cell / 2) / 1.05})
	}
}
