package cases

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/materials"
	"soiljoule/physics"
	"soiljoule/solver"
)

// builtFrom returns the problem of a text.
func builtFrom(t *testing.T, text string, sets ...string) *solver.Problem {
	t.Helper()
	c, _ := mustParse(t, text, sets...).Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// wired is one key set away from its base, and where it must arrive.
type wired struct {
	key  string
	base string
	with []string // of the base as well
	set  string
	what string
	got  reading
	want float64
	tol  float64 // 0: of rounding, 1e-12 of the value
}

// wiredKeys holds each key's arrival in SI, worked by hand from the units' factors.
func wiredKeys() []wired {
	s, a, r := wiredSection, wiredArray, wiredCell
	level := wiredPlan
	rodAt := func(b int, f func(*physics.Rod) float64) reading {
		return bodyOf(b, func(_ *solver.Problem, b *physics.Body) float64 { return f(b.Rod) })
	}
	thick := func(p *solver.Problem) float64 { return p.Ground.Grid.Outline[0] }
	volume := func(target int) reading {
		return func(p *solver.Problem) float64 { return p.Targets[target].Zone.Volume(p.Ground.Grid) }
	}
	inCircle := func(p *solver.Problem) (i0, i1, k0, k1 int) {
		z := p.Targets[1].Zone
		return z.I0, z.I1, z.K0, z.K1
	}
	const d = 86400.0
	resistance := 1e-9 // the difference of resistances below 3 m²·K/W, each to 1e-15
	return []wired{
		{key: "site.ambient", base: s, set: "site.ambient=21 degC", what: "ground at the start [K]", got: func(p *solver.Problem) float64 { return p.Ground.Ambient }, want: 294.15},
		// The pressure at 2000 m is 79 495 Pa (U.S. Standard Atmosphere 1976) and water boils at
		// 93.49 °C under 80 kPa (steam tables), by 3.4e-4 K/Pa less below: 93.31 °C, to its last digit.
		// Both from memory.
		{key: "site.elevation", base: s, set: "site.elevation=2000 m", what: "boiling point above the water table [K]", got: func(p *solver.Problem) float64 { return p.Ground.BoilingPoint(0) }, want: 366.46, tol: 0.02},
		{key: "site.water_table", base: s, set: "site.water_table=3 m", what: "depth from which inflow is unlimited [m]", got: func(p *solver.Problem) float64 {
			for k := range p.Ground.Grid.NZ {
				if math.IsInf(p.Ground.Stores[k].Inflow, 1) {
					return p.Ground.Grid.Z[k]
				}
			}
			return math.NaN()
		}, want: 3},
		// water-table.csv falls from 2 m on day 4 to 4 m on day 14.
		{key: "site.water_table", base: s, set: "site.water_table=water-table.csv", what: "depth from which inflow is unlimited on day 9 [m]", got: func(p *solver.Problem) float64 {
			p.Ground.Begin(9 * d)
			for k := range p.Ground.Grid.NZ {
				if math.IsInf(p.Ground.Stores[k].Inflow, 1) {
					return p.Ground.Grid.ZC[k]
				}
			}
			return math.NaN()
		}, want: 3, tol: 0.25}, // within a cell
		{key: "site.water_table", base: s, with: []string{"site.water_table=4 m"}, set: "site.water_table=water-table.csv", what: "water table of the mesh at the start [m]", got: func(p *solver.Problem) float64 {
			g := p.Ground.Grid
			for k := range g.NZ {
				if p.Ground.Stores[k].WasBelow {
					return g.Z[k]
				}
			}
			return math.NaN()
		}, want: 2},
		{key: "site.water_table", base: level, set: "site.water_table=water-table.csv", what: "water above the slab's middle on day 4 [m]", got: func(p *solver.Problem) float64 {
			p.Ground.Begin(4 * d)
			pressure := materials.SaturationPressure(p.Ground.BoilingPoint(0))
			return (pressure - materials.AirPressure(0)) / (materials.RhoWater * materials.Gravity)
		}, want: 1, tol: 1e-5},
		{key: "site.water_table", base: level, set: "site.water_table=water-table.csv", what: "unlimited inflow into the slab on day 8.9 [d], its middle at 3 m", got: func(p *solver.Problem) float64 {
			p.Ground.Begin(8.9 * d)
			before := math.IsInf(p.Ground.Stores[0].Inflow, 1)
			p.Ground.Begin(9.1 * d)
			return one(before && p.Ground.Stores[0].Inflow == 0)
		}, want: 1},
		{key: "site.resistivity_at", base: s, set: "site.resistivity_at=15 degC", what: "reference of sand [K]", got: soilOf(0, func(s *materials.Soil) float64 { return s.ResistivityAt }), want: 288.15},

		{key: "extent.length", base: s, set: "extent.length=35 m", what: "volume over cross-section [m]", got: func(p *solver.Problem) float64 {
			v := 0.0
			for _, c := range p.Ground.Grid.Volume {
				v += c
			}
			g := p.Ground.Grid
			return v / ((g.X[g.NX] - g.X[0]) * (g.Z[g.NZ] - g.Z[0]))
		}, want: 35},
		{key: "extent.length", base: s, set: "extent.length=35 m", what: "rods 2 m apart", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return b.Rods }), want: 17.5},
		{key: "extent.radius", base: r, set: "extent.radius=3 m", what: "outer edge [m]", got: sideOf("right", ofAll), want: 3},
		{key: "extent.rim", base: wiredPair, set: "extent.rim=insulated", what: "a rim at 0 V", got: func(p *solver.Problem) float64 { return one(p.Electric.Outer) }, want: 0},
		{key: "extent.count", base: r, set: "extent.count=12", what: "rods", got: bodyOf(0, func(_ *solver.Problem, b *physics.Body) float64 { return b.Rods }), want: 12},
		{key: "extent.count", base: r, set: "extent.count=12", what: "target's volume over π·2.5²·2 m³", got: func(p *solver.Problem) float64 {
			return p.Targets[0].Zone.Volume(p.Ground.Grid) / (math.Pi * 2.5 * 2.5 * 2)
		}, want: 12},

		{key: "surface.air", base: s, set: "surface.air=3 degC", what: "air [K]", got: airOf(0), want: 276.15},
		// Half-way between its rows of 10 °C on day 0 and 20 °C on day 30.
		{key: "surface.air", base: s, set: "surface.air=air.csv", what: "air of a series on day 15 [K]", got: airOf(15 * d), want: 288.15},
		// Over the 20 days round day 30: ten from 16.67 to 20 °C, ten at 20 °C.
		{key: "surface.air", base: s, set: "surface.air=air.csv", what: "mean air of a step of 20 days round day 30 [K]", got: func(p *solver.Problem) float64 {
			p.Heat.SetAir(30*d, 20*d)
			return p.Heat.Exchanges[0].Outside
		}, want: 273.15 + (55./3+20)/2},
		{key: "surface.film", base: s, set: "surface.film=5 W/m2/K", what: "resistance above ground [m²·K/W]", got: aboveGround(1.5), want: 0.2, tol: resistance},
		{key: "surface.cover", base: s, set: "surface.cover=2 m2*K/W", what: "resistance above ground [m²·K/W]", got: aboveGround(1.5), want: 2 + 1/12., tol: resistance},

		{key: "surface.infiltration", base: s, set: "surface.infiltration=864 mm/d", what: "heat that rain 10 K warmer brings [W/m²]", with: []string{"surface.air=20 degC"}, got: rainHeat(0, 1), want: 998.2 * 1e-5 * 4.19e3 * 10, tol: 1},
		// Half of its 0.1 in/d on day 5.
		{key: "surface.infiltration", base: s, set: "surface.infiltration=rain.csv", what: "heat that rain 10 K warmer brings on day 5 [W/m²]", with: []string{"surface.air=20 degC"}, got: rainHeat(5*d, 1), want: 998.2 * 0.05 * 0.0254 / d * 4.19e3 * 10, tol: 0.003},
		// Over the four days round day 10: two from 0.08 to 0.1 in/d, two at 0.1.
		{key: "surface.infiltration", base: s, set: "surface.infiltration=rain.csv", what: "heat that rain 10 K warmer brings in a step of 4 days [W/m²]", with: []string{"surface.air=20 degC"}, got: rainHeat(8*d, 4*d), want: 998.2 * 0.095 * 0.0254 / d * 4.19e3 * 10, tol: 0.003},

		{key: "layer.bottom", base: s, set: "layer.sand.bottom=3 m", what: "top of the clay [m]", got: func(p *solver.Problem) float64 {
			for k, l := range p.Ground.Layer {
				if l == 1 {
					return p.Ground.Grid.Z[k]
				}
			}
			return math.NaN()
		}, want: 3},
		{key: "layer.resistivity", base: s, set: "layer.sand.resistivity=33 ohm*m", what: "resistivity [Ω·m]", got: soilOf(0, func(s *materials.Soil) float64 { return s.Resistivity }), want: 33},
		{key: "layer.thermal_conductivity", base: s, set: "layer.sand.thermal_conductivity=1.1 W/m/K", what: "thermal conductivity [W/(m·K)]", got: soilOf(0, func(s *materials.Soil) float64 { return s.ThermalConductivity }), want: 1.1},
		{key: "layer.heat_capacity", base: s, set: "layer.sand.heat_capacity=2.2 MJ/m3/K", what: "capacity as found [J/(m³·K)]", got: storeOf(0, func(s *physics.Store) float64 { return s.Capacity }), want: 2.2e6},
		{key: "layer.porosity", base: s, set: "layer.sand.porosity=0.3", what: "water that fills the pores over ρ_w", got: storeOf(0, func(s *physics.Store) float64 { return s.Pores / materials.RhoWater }), want: 0.3},
		{key: "layer.porosity", base: s, set: "layer.sand.porosity=0.3", what: "porosity of the laws", got: soilOf(0, func(s *materials.Soil) float64 { return s.Porosity }), want: 0.3},
		{key: "layer.saturation", base: s, set: "layer.sand.saturation=0.7", what: "water found over that which fills the pores", got: storeOf(0, func(s *physics.Store) float64 { return s.Found / s.Pores }), want: 0.7},
		{key: "layer.saturation", base: s, set: "layer.sand.saturation=0.7", what: "saturation of the laws", got: soilOf(0, func(s *materials.Soil) float64 { return s.Saturation }), want: 0.7},
		{key: "layer.resistivity_at", base: s, set: "layer.sand.resistivity_at=12 degC", what: "reference of sand [K]", got: soilOf(0, func(s *materials.Soil) float64 { return s.ResistivityAt }), want: 285.15},
		{key: "layer.temperature_law", base: s, set: "layer.sand.temperature_law=viscosity", what: "the viscosity's law", got: soilOf(0, func(s *materials.Soil) float64 { return one(s.TemperatureLaw == materials.LawViscosity) }), want: 1},
		// σ at 80 °C over that at 25 °C is the ratio of the water's viscosities, 0.890 to 0.354 mPa·s
		// (steam tables, from memory), to half of their last digits; the linear law gives 2.03.
		{key: "layer.temperature_law", base: s, set: "layer.sand.temperature_law=viscosity", what: "σ at 80 °C over that at 25 °C", got: func(p *solver.Problem) float64 {
			sigma := func(kelvin float64) float64 {
				n := p.Ground.Grid.Cells()
				out, temps, sat := make([]float64, n), make([]float64, n), make([]float64, n)
				for c := range temps {
					temps[c], sat[c] = kelvin, 0.5
				}
				p.Ground.SigmaTo(out, temps, sat)
				return out[0]
			}
			return sigma(353.15) / sigma(298.15)
		}, want: 0.890 / 0.354, tol: 0.01},
		{key: "layer.temperature_coefficient", base: s, set: "layer.sand.temperature_coefficient=0.025 1/K", what: "coefficient [1/K]", got: soilOf(0, func(s *materials.Soil) float64 { return s.TemperatureCoeff }), want: 0.025},
		{key: "layer.saturation_exponent", base: s, set: "layer.sand.saturation_exponent=1.4", what: "exponent", got: soilOf(0, func(s *materials.Soil) float64 { return s.SaturationExponent }), want: 1.4},
		{key: "layer.grain_share", base: s, set: "layer.sand.grain_share=0.25", what: "share", got: soilOf(0, func(s *materials.Soil) float64 { return s.GrainShare }), want: 0.25},
		{key: "layer.removable_water", base: s, set: "layer.sand.removable_water=0.7", what: "water at which inflow begins, over that found", got: storeOf(0, func(s *physics.Store) float64 { return s.Floor / s.Found }), want: 0.3},
		{key: "layer.residual_conductivity", base: s, set: "layer.sand.residual_conductivity=0.2", what: "share left when dry", got: soilOf(0, func(s *materials.Soil) float64 { return s.ResidualConductivity }), want: 0.2},
		{key: "layer.inflow", base: s, set: "layer.sand.inflow=0.432 1/d", what: "inflow [1/s]", got: storeOf(0, func(s *physics.Store) float64 { return s.Inflow / s.Pores }), want: 5e-6},
		{key: "layer.inflow", base: s, set: "layer.sand.inflow=unlimited", what: "unlimited inflow above the water table", got: storeOf(0, func(s *physics.Store) float64 { return one(math.IsInf(s.Inflow, 1)) }), want: 1},
		{key: "layer.inflow", base: s, set: "layer.clay.inflow=none", what: "inflow below the water table", got: storeOf(1, func(s *physics.Store) float64 { return s.Inflow }), want: 0},
		{key: "layer.refill_rate", base: s, set: "layer.clay.refill_rate=0.432 1/d", what: "refill [1/s]", got: storeOf(1, func(s *physics.Store) float64 { return s.Refill / s.Pores }), want: 5e-6},
		{key: "layer.dry_saturation", base: s, set: "layer.sand.dry_saturation=0.2", what: "water of dry ground over that which fills the pores", got: storeOf(0, func(s *physics.Store) float64 { return s.Dry / s.Pores }), want: 0.2},
		{key: "layer.dry_saturation", base: s, set: "layer.sand.dry_saturation=0.2", what: "dry saturation of the laws", got: soilOf(0, func(s *materials.Soil) float64 { return s.DrySaturation }), want: 0.2},
		{key: "layer.groundwater", base: s, set: "layer.sand.groundwater=-8.64 ft/d", what: "heat that the sand's water takes out at the left, 10 K warm [W/m]", got: groundwaterHeat(0), want: 998.2 * 8.64 * 0.3048 / d * 4.19e3 * 10 * 2.5, tol: 10},
		{key: "layer.groundwater", base: s, with: []string{"domain.bottom=12 m"}, set: "layer.clay.groundwater=0.1 m/yr", what: "heat that the clay's water takes out at the right, 10 K warm [W/m]", got: groundwaterHeat(1), want: 998.2 * 0.1 / (365.25 * d) * 4.19e3 * 10 * (12 - 2.5), tol: 0.005},
		{key: "layer.thermal_conductivity_dry", base: s, set: "layer.sand.thermal_conductivity_dry=0.33 W/m/K", what: "thermal conductivity when dry [W/(m·K)]", got: soilOf(0, func(s *materials.Soil) float64 { return s.ThermalConductivityDry }), want: 0.33},
		// Sand of 1.5 W/(m·K) found half full at a porosity of 0.4. As rock it loses 0.57/0.024
		// to the 0.2 of its water; crushed, it has 1.7·10^(−1.8·0.4) when dry.
		{key: "layer.kind", base: s, set: "layer.sand.kind=rock", what: "thermal conductivity when dry [W/(m·K)]", got: lambdaOf(0, 0), want: 1.5 * math.Pow(0.024/0.57, 0.2)},
		{key: "layer.kind", base: s, set: "layer.sand.kind=rock", what: "saturation that does not drain", got: soilOf(0, func(s *materials.Soil) float64 { return s.FieldCapacity }), want: 1},
		{key: "layer.kind", base: s, with: []string{"layer.sand.conductivity_law=cote-konrad"}, set: "layer.sand.kind=rock", what: "thermal conductivity of crushed rock when dry [W/(m·K)]", got: lambdaOf(0, 0), want: 1.7 * math.Pow(10, -1.8*0.4)},
		// Ke of Johansen is log S + 1 of fine and 0.7 log S + 1 of coarse ground; of Côté &
		// Konrad κS/(1 + (κ − 1)S). Dry, sand has (0.135·1620 + 64.7)/(2700 − 0.947·1620).
		{key: "layer.conductivity_law", base: s, set: "layer.sand.conductivity_law=johansen", what: "thermal conductivity when full [W/(m·K)]", got: lambdaOf(0, 1), want: sandDry + (1.5-sandDry)/(math.Log10(0.5)+1)},
		{key: "layer.conductivity_law", base: s, with: []string{"layer.sand.kind=rock"}, set: "layer.sand.conductivity_law=johansen", what: "thermal conductivity of crushed rock when dry [W/(m·K)]", got: lambdaOf(0, 0), want: 0.039 * math.Pow(0.4, -2.2)},
		{key: "layer.texture", base: s, set: "layer.sand.texture=sand", what: "thermal conductivity when full [W/(m·K)]", got: lambdaOf(0, 1), want: sandDry + (1.5-sandDry)*(1+2.55*0.5)/(3.55*0.5)},
		{key: "layer.texture", base: s, set: "layer.sand.texture=gravel", what: "thermal conductivity when full [W/(m·K)]", got: lambdaOf(0, 1), want: sandDry + (1.5-sandDry)*(1+3.6*0.5)/(4.6*0.5)},
		{key: "layer.texture", base: s, with: []string{"layer.sand.conductivity_law=johansen"}, set: "layer.sand.texture=sand", what: "thermal conductivity when full [W/(m·K)]", got: lambdaOf(0, 1), want: sandDry + (1.5-sandDry)/(0.7*math.Log10(0.5)+1)},
		{key: "layer.texture", base: s, set: "layer.sand.texture=peat", what: "thermal conductivity when dry [W/(m·K)]", got: lambdaOf(0, 0), want: 0.3 * math.Pow(10, -0.87*0.4)},

		{key: "target.left", base: s, set: "target.zone.left=-1 m", what: "left [m]", got: sideOf("left", ofTarget), want: -1},
		{key: "target.right", base: s, set: "target.zone.right=9 m", what: "right [m]", got: sideOf("right", ofTarget), want: 9},
		{key: "target.radius", base: r, set: "target.zone.radius=2 m", what: "radius [m]", got: sideOf("right", ofTarget), want: 2},
		{key: "target.top", base: s, set: "target.zone.top=1.5 m", what: "top [m]", got: sideOf("top", ofTarget), want: 1.5},
		{key: "target.bottom", base: s, set: "target.zone.bottom=5 m", what: "bottom [m]", got: sideOf("bottom", ofTarget), want: 5},
		{key: "target.temperature", base: s, set: "target.zone.temperature=77 degC", what: "temperature [K]", got: func(p *solver.Problem) float64 { return p.Targets[0].Temperature }, want: 350.15},
		{key: "target.temperature", base: s, set: "target.zone.temperature=boiling", what: "a target that boils", got: func(p *solver.Problem) float64 { return one(math.IsNaN(p.Targets[0].Temperature)) }, want: 1},
		{key: "target.share", base: s, set: "target.zone.share=0.5", what: "share", got: func(p *solver.Problem) float64 { return p.Targets[0].Share }, want: 0.5},
		{key: "target.hold", base: s, set: "target.zone.hold=2 d", what: "hold [s]", got: func(p *solver.Problem) float64 { return p.Targets[0].Hold }, want: 2 * d},

		// Rows of a triangular array of three phases: √3 spacings from rod to rod, half a spacing apart,
		// every other one shifted by half its rods' distance.
		{key: "array.pattern", base: a, set: "array[1].pattern=rectangular", what: "rods of the second row apart [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Spacing }), want: 4},
		{key: "array.pattern", base: a, set: "array[1].pattern=rectangular", what: "shift of the second row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Offset }), want: 0},
		{key: "array.spacing", base: a, set: "array[1].spacing=5 m", what: "rods of the second row apart [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Spacing }), want: 5 * math.Sqrt(3)},
		{key: "array.spacing", base: a, set: "array[1].spacing=5 m", what: "shift of the second row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Offset }), want: 2.5 * math.Sqrt(3)},
		{key: "array.spacing", base: a, set: "array[1].spacing=5 m", what: "rows apart [m]", got: func(p *solver.Problem) float64 {
			return p.Electric.Bodies[1].Row.X - p.Electric.Bodies[0].Row.X
		}, want: 2.5},
		{key: "array.top", base: a, set: "array[1].top=1.5 m", what: "top [m]", got: rowOf(0, func(r *physics.Row) float64 { return r.Top }), want: 1.5},
		{key: "array.bottom", base: a, set: "array[1].bottom=5 m", what: "bottom [m]", got: rowOf(0, func(r *physics.Row) float64 { return r.Bottom }), want: 5},
		{key: "array.radius", base: a, set: "array[1].radius=0.08 m", what: "radius [m]", got: rowOf(0, func(r *physics.Row) float64 { return r.Radius }), want: 0.08},
		// Seven rows 2 m apart fit between -2 and 10 m, five between 0 and 8 m.
		{key: "array.outboard", base: a, set: "array[1].outboard=2 m", what: "rows", got: func(p *solver.Problem) float64 { return float64(len(p.Electric.Bodies)) }, want: 7},
		{key: "array.outboard", base: a, set: "array[1].outboard=2 m", what: "first row [m]", got: rowOf(0, func(r *physics.Row) float64 { return r.X }), want: -2},

		{key: "array.voltage", base: a, set: "array[1].voltage=70 V", what: "tap of the array's last [V]", got: ownOf(0, 4, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70},

		{key: "electrode.phase", base: s, set: "electrode.R.phase=C", what: "imaginary part 240° behind A", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return imag(b.Phase) }), want: math.Sqrt(3) / 2},
		{key: "electrode.top", base: s, set: "electrode.P.top=1.5 m", what: "top of the plate [m]", got: sideOf("top", ofPlate), want: 1.5},
		{key: "electrode.top", base: s, set: "electrode.R.top=1.5 m", what: "top of the row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Top }), want: 1.5},
		{key: "electrode.bottom", base: s, set: "electrode.P.bottom=5 m", what: "bottom of the plate [m]", got: sideOf("bottom", ofPlate), want: 5},
		{key: "electrode.bottom", base: s, set: "electrode.R.bottom=5 m", what: "bottom of the row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Bottom }), want: 5},
		{key: "electrode.x", base: s, set: "electrode.P.x=1.5 m", what: "left of the plate [m]", got: sideOf("left", ofPlate), want: 1.25},
		{key: "electrode.x", base: s, set: "electrode.R.x=7 m", what: "row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.X }), want: 7},
		{key: "electrode.radius", base: s, set: "electrode.R.radius=0.08 m", what: "radius of the row's rods [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Radius }), want: 0.08},
		{key: "electrode.radius", base: r, set: "electrode.E.radius=0.3 m", what: "radius of the rod [m]", got: sideOf("right", ofPlate), want: 0.3},
		{key: "electrode.rod_spacing", base: s, set: "electrode.R.rod_spacing=2.5 m", what: "rods apart [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Spacing }), want: 2.5},
		{key: "electrode.rod_spacing", base: s, set: "electrode.R.rod_spacing=2.5 m", what: "rods in 20 m", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return b.Rods }), want: 8},
		{key: "electrode.rod_offset", base: s, set: "electrode.R.rod_offset=0.7 m", what: "start of the row [m]", got: rowOf(1, func(r *physics.Row) float64 { return r.Offset }), want: 0.7},
		{key: "electrode.width", base: s, set: "electrode.P.width=1 m", what: "right of the plate [m]", got: sideOf("right", ofPlate), want: 1.5},
		{key: "electrode.contact_resistance", base: s, set: "electrode.P.contact_resistance=0.03 ohm*m2", what: "of the plate [Ω·m²]", got: bodyOf(0, func(_ *solver.Problem, b *physics.Body) float64 { return b.Contact }), want: 0.03},
		{key: "electrode.contact_resistance", base: s, set: "electrode.R.contact_resistance=0.03 ohm*m2", what: "of the row [Ω·m²]", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return b.Contact }), want: 0.03},
		{key: "electrode.contact_resistance", base: r, set: "electrode.E.contact_resistance=0.03 ohm*m2", what: "of the rod [Ω·m²]", got: bodyOf(0, func(_ *solver.Problem, b *physics.Body) float64 { return b.Contact }), want: 0.03},

		{key: "electrode.voltage", base: s, set: "electrode.R.voltage=70 V", what: "tap [V]", got: ownOf(0, 1, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70},
		{key: "electrode.voltage", base: s, set: "electrode.R.voltage=70 V", what: "tap after a change of the supply [V]", got: ownOf(1, 1, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70},
		{key: "electrode.voltage", base: s, with: []string{"supply.voltage_basis=phase to phase"}, set: "electrode.R.voltage=70 V", what: "tap to neutral [V]", got: ownOf(0, 1, func(b solver.BodySetting) float64 { return b.Voltage }), want: 70 / math.Sqrt(3)},
		{key: "electrode.current_limit", base: s, set: "electrode.R.current_limit=8 A", what: "limit [A]", got: ownOf(0, 1, func(b solver.BodySetting) float64 { return b.CurrentLimit }), want: 8},

		{key: "conductor.left", base: wiredPipe, set: "conductor.pipe.left=2.5 m", what: "left [m]", got: sideOf("left", ofMetal), want: 2.5},
		{key: "conductor.right", base: wiredPipe, set: "conductor.pipe.right=4 m", what: "right [m]", got: sideOf("right", ofMetal), want: 4},
		{key: "conductor.radius", base: wiredCasing, set: "conductor.casing.radius=1.5 m", what: "radius [m]", got: sideOf("right", ofMetal), want: 1.5},
		{key: "conductor.inner_radius", base: wiredCasing, set: "conductor.casing.inner_radius=0.5 m", what: "inner radius [m]", got: sideOf("left", ofMetal), want: 0.5},
		{key: "conductor.center", base: wiredDrum, set: `conductor.drum.center=["13 m","23 m"]`, what: "left of the metal [m]", got: sideOf("left", ofMetal), want: 11},
		{key: "conductor.center", base: wiredDrum, set: `conductor.drum.center=["13 m","23 m"]`, what: "front of the metal [m]", got: sideOf("top", ofMetal), want: 21},
		{key: "conductor.radius", base: wiredDrum, set: "conductor.drum.radius=2.5 m", what: "back of the metal [m]", got: sideOf("bottom", ofMetal), want: 26.5},
		{key: "conductor.outline", base: wiredSheet, set: `conductor.sheet.outline=[["10 m","20 m"],["14 m","20 m"],["14 m","27 m"],["10 m","27 m"]]`, what: "back of the metal [m]", got: sideOf("bottom", ofMetal), want: 27},
		{key: "conductor.top", base: wiredPipe, set: "conductor.pipe.top=4.5 m", what: "top [m]", got: sideOf("top", ofMetal), want: 4.5},
		{key: "conductor.bottom", base: wiredPipe, set: "conductor.pipe.bottom=6 m", what: "bottom [m]", got: sideOf("bottom", ofMetal), want: 6},

		{key: "heat.power", base: s, set: "heat.drum.power=5 kW", what: "power of all cells [W]", got: func(p *solver.Problem) float64 {
			sum := 0.0
			for _, q := range p.Imposed {
				sum += q
			}
			return sum
		}, want: 5000},
		{key: "heat.left", base: s, set: "heat.drum.left=2 m", what: "left [m]", got: sideOf("left", ofHeat), want: 2},
		{key: "heat.right", base: s, set: "heat.drum.right=4 m", what: "right [m]", got: sideOf("right", ofHeat), want: 4},
		{key: "heat.radius", base: r, set: "heat.ring.radius=2 m", what: "radius [m]", got: sideOf("right", ofHeat), want: 2},
		{key: "heat.inner_radius", base: r, set: "heat.ring.inner_radius=0.5 m", what: "inner radius [m]", got: sideOf("left", ofHeat), want: 0.5},
		{key: "heat.top", base: s, set: "heat.drum.top=1 m", what: "top [m]", got: sideOf("top", ofHeat), want: 1},
		{key: "heat.bottom", base: s, set: "heat.drum.bottom=3.5 m", what: "bottom [m]", got: sideOf("bottom", ofHeat), want: 3.5},
		{key: "heat.thermal_conductivity", base: s, set: "heat.drum.thermal_conductivity=7 W/m/K", what: "conductivity [W/(m·K)]", got: func(p *solver.Problem) float64 { return p.Ground.Inserts[0].Conductivity }, want: 7},
		{key: "heat.heat_capacity", base: s, set: "heat.drum.heat_capacity=1.7 MJ/m3/K", what: "capacity [J/(m³·K)]", got: func(p *solver.Problem) float64 { return p.Ground.Inserts[0].Capacity }, want: 1.7e6},

		{key: "supply.phases", base: s, set: "supply.phases=6", what: "real part of B, 60° behind A", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return real(b.Phase) }), want: 0.5},
		{key: "supply.phases", base: s, set: "supply.phases=1", what: "real part of B, 180° behind A", got: bodyOf(1, func(_ *solver.Problem, b *physics.Body) float64 { return real(b.Phase) }), want: -1},
		{key: "supply.voltage", base: s, set: "supply.voltage=77 V", what: "voltage [V]", got: settingOf(0, func(s solver.Setting) float64 { return s.Voltage }), want: 77},
		{key: "supply.voltage_basis", base: s, set: "supply.voltage_basis=phase to phase", what: "voltage to neutral [V]", got: settingOf(0, func(s solver.Setting) float64 { return s.Voltage }), want: 100 / math.Sqrt(3)},
		{key: "supply.voltage_basis", base: s, set: "supply.voltage_basis=phase to phase", what: "changed voltage to neutral [V]", got: settingOf(1, func(s solver.Setting) float64 { return s.Voltage }), want: 50 / math.Sqrt(3)},
		{key: "supply.voltage_basis", base: s, with: []string{"supply.phases=1"}, set: "supply.voltage_basis=phase to phase", what: "voltage of one of two poles [V]", got: settingOf(0, func(s solver.Setting) float64 { return s.Voltage }), want: 50},
		{key: "supply.power_limit", base: s, set: "supply.power_limit=12 kW", what: "limit [W]", got: settingOf(0, func(s solver.Setting) float64 { return s.PowerLimit }), want: 12000},
		{key: "supply.power_limit", base: s, set: "supply.power_limit=12 kW", what: "limit after a change that leaves it [W]", got: settingOf(1, func(s solver.Setting) float64 { return s.PowerLimit }), want: 12000},
		{key: "supply.current_limit", base: s, set: "supply.current_limit=9 A", what: "limit [A]", got: settingOf(0, func(s solver.Setting) float64 { return s.CurrentLimit }), want: 9},

		{key: "supply.kva_limit", base: s, set: "supply.kva_limit=12 kVA", what: "limit [VA]", got: settingOf(0, func(s solver.Setting) float64 { return s.ApparentLimit }), want: 12000},
		// Rows of day 2 to 5 and of 120 h, day 5, to 144 h, and a change between.
		{key: "supply.off", base: s, set: "supply.off=12.5 d", what: "power off [s]", got: func(p *solver.Problem) float64 { return p.OffAt }, want: 12.5 * d},
		{key: "supply.off", base: s, with: []string{"time.power_on=2026-05-01"}, set: "supply.off=2026-05-11T12:00:00", what: "power off on a date [s]", got: func(p *solver.Problem) float64 { return p.OffAt }, want: 10.5 * d},
		{key: "supply.off", base: s, set: "supply.off=held", what: "power off when held", got: func(p *solver.Problem) float64 { return one(p.OffWhenHeld) }, want: 1},
		{key: "supply.outages", base: s, set: "supply.outages=outages.csv", what: "begin of the first outage [s]", got: settingOf(1, func(s solver.Setting) float64 { return s.At * one(s.Outage) }), want: 2 * d},
		{key: "supply.outages", base: s, set: "supply.outages=outages.csv", what: "settings in an outage", got: func(p *solver.Problem) float64 {
			n := 0.0
			for _, s := range p.Supply {
				n += one(s.Outage)
			}
			return n
		}, want: 3},
		// Between 1500 W at the start and 2500 W at 240 h.
		{key: "supply.metered", base: s, set: "supply.metered=power.csv", what: "metered power at 120 h [W]", got: meteredAt(120 * hour), want: 2000},
		{key: "supply.delivered_share", base: s, with: []string{"supply.metered=power.csv"}, set: "supply.delivered_share=80 %", what: "delivered power at 120 h [W]", got: meteredAt(120 * hour), want: 1600},

		{key: "change.at", base: s, set: "change[1].at=5 d", what: "time [s]", got: settingOf(1, func(s solver.Setting) float64 { return s.At }), want: 5 * d},
		{key: "change.voltage", base: s, set: "change[1].voltage=140 V", what: "voltage [V]", got: settingOf(1, func(s solver.Setting) float64 { return s.Voltage }), want: 140},
		{key: "change.power_limit", base: s, set: "change[1].power_limit=3 kW", what: "limit [W]", got: settingOf(1, func(s solver.Setting) float64 { return s.PowerLimit }), want: 3000},
		{key: "change.current_limit", base: s, set: "change[1].current_limit=4 A", what: "limit [A]", got: settingOf(1, func(s solver.Setting) float64 { return s.CurrentLimit }), want: 4},
		{key: "change.kva_limit", base: s, set: "change[1].kva_limit=4 kVA", what: "limit [VA]", got: settingOf(1, func(s solver.Setting) float64 { return s.ApparentLimit }), want: 4000},
		{key: "change.electrode", base: s, set: "change[1].electrode=R", what: "tap of R [V]", got: ownOf(1, 1, func(b solver.BodySetting) float64 { return b.Voltage }), want: 50},
		{key: "change.electrode", base: s, with: []string{"change[1].electrode=P"}, set: "change[1].electrode=R", what: "the supply's voltage less the tap of R [V]", got: func(p *solver.Problem) float64 { return p.Supply[1].Voltage - p.Supply[1].Bodies[1].Voltage }, want: 50},
		{key: "change.current_limit", base: s, with: []string{"change[1].electrode=R"}, set: "change[1].current_limit=4 A", what: "limit of R [A]", got: ownOf(1, 1, func(b solver.BodySetting) float64 { return b.CurrentLimit }), want: 4},
		{key: "change.on", base: s, with: []string{"change[1].electrode=R"}, set: "change[1].on=false", what: "R on", got: ownOf(1, 1, func(b solver.BodySetting) float64 { return one(!b.Off) }), want: 0},
		{key: "change.on", base: s, set: "change[1].on=false", what: "on", got: settingOf(1, func(s solver.Setting) float64 { return one(s.On) }), want: 0},

		// Steam tables, from memory, have 998.2 kg/m³ at 20 °C and 4.19 kJ/(kg·K) from 10 to
		// 20 °C, to its last digit; 1e-5 m/s at 60° goes half along x and √3/2 along y.
		{key: "layer.groundwater", base: level, set: "layer.clay.groundwater=864 mm/d", what: "heat that water 10 K warmer carries along x [W/m²]", got: levelHeat(false), want: 998.2 * 1e-5 * 4.19e3 * 10, tol: 1},
		{key: "layer.groundwater_direction", base: level, with: []string{"layer.clay.groundwater=864 mm/d"}, set: "layer.clay.groundwater_direction=60 deg", what: "heat that water 10 K warmer carries along x [W/m²]", got: levelHeat(false), want: 998.2 * 1e-5 * 4.19e3 * 10 / 2, tol: 0.5},
		{key: "layer.groundwater_direction", base: level, with: []string{"layer.clay.groundwater=864 mm/d"}, set: "layer.clay.groundwater_direction=60 deg", what: "heat that water 10 K warmer carries along y [W/m²]", got: levelHeat(true), want: 998.2 * 1e-5 * 4.19e3 * 10 * math.Sqrt(3) / 2, tol: 1},
		{key: "extent.top", base: level, set: "extent.top=1.5 m", what: "thickness of the slab [m]", got: thick, want: 2.5},
		{key: "extent.bottom", base: level, set: "extent.bottom=5 m", what: "thickness of the slab [m]", got: thick, want: 3},
		{key: "extent.bottom", base: level, set: "extent.bottom=5 m", what: "depth [m]", got: func(p *solver.Problem) float64 { return p.Ground.Depth(0) }, want: 3.5},
		{key: "target.outline", base: level, set: `target.zone.outline=[["0 m","0 m"],["9 m","0 m"],["0 m","6 m"]]`, what: "volume [m³]", got: volume(0), want: 2 * 9 * 6 / 2},
		{key: "target.center", base: level, set: `target.circle.center=["21 m","15 m"]`, what: "left side of the circle [m]", got: sideOf("left", inCircle), want: 18},
		{key: "target.center", base: level, set: `target.circle.center=["21 m","15 m"]`, what: "front of the circle [m]", got: sideOf("top", inCircle), want: 12},
		{key: "target.radius", base: level, set: `target.circle.radius=4 m`, what: "volume [m³]", got: volume(1), want: 2 * math.Pi * 16},
		{key: "array.count", base: level, set: "array.R.count=9", what: "electrodes", got: func(p *solver.Problem) float64 { return float64(len(p.Electric.Bodies)) }, want: 11},
		{key: "array.center", base: level, set: `array.R.center=["20.5 m","14.25 m"]`, what: "x of the ring's first [m]", got: rodAt(2, func(r *physics.Rod) float64 { return r.X }), want: 23.5},
		{key: "array.center", base: level, set: `array.R.center=["20.5 m","14.25 m"]`, what: "y of the ring's first [m]", got: rodAt(2, func(r *physics.Rod) float64 { return r.Y }), want: 14.25},
		{key: "array.diameter", base: level, set: "array.R.diameter=5 m", what: "x of the ring's first [m]", got: rodAt(2, func(r *physics.Rod) float64 { return r.X }), want: 22.5},
		{key: "array.radius", base: level, set: "array.R.radius=0.2 m", what: "radius of the ring's first [m]", got: rodAt(2, func(r *physics.Rod) float64 { return r.Radius }), want: 0.2},
		{key: "array.center_neutral", base: level, set: "array.R.center_neutral=true", what: "electrodes at 0 V", got: func(p *solver.Problem) float64 {
			n := 0.0
			for _, b := range p.Electric.Bodies {
				n += one(b.Phase == 0)
			}
			return n
		}, want: 1},
		{key: "array.spacing", base: strings.Replace(level, "pattern = \"ring\"\ncenter = [\"20 m\", \"14 m\"]\ndiameter = \"6 m\"", "pattern = \"triangular\"\nspacing = \"2 m\"\noutboard = \"1 m\"", 1),
			with: []string{"electrode.P.y=-4 m", "electrode.Q.y=-4 m"}, set: "array.R.spacing=3 m", what: "electrodes beside each other [m]", got: func(p *solver.Problem) float64 {
				return p.Electric.Bodies[3].Rod.X - p.Electric.Bodies[2].Rod.X
			}, want: 3},
		{key: "electrode.x", base: level, set: "electrode.P.x=2.25 m", what: "x of the rod [m]", got: rodAt(0, func(r *physics.Rod) float64 { return r.X }), want: 2.25},
		{key: "electrode.y", base: level, set: "electrode.P.y=2.75 m", what: "y of the rod [m]", got: rodAt(0, func(r *physics.Rod) float64 { return r.Y }), want: 2.75},
		{key: "electrode.radius", base: level, set: "electrode.P.radius=0.2 m", what: "radius of the rod [m]", got: rodAt(0, func(r *physics.Rod) float64 { return r.Radius }), want: 0.2},
		{key: "heat.outline", base: level, set: `heat.strip.outline=[["-1 m","24 m"],["3 m","24 m"],["3 m","28 m"],["-1 m","28 m"]]`, what: "left of the set power [m]", got: sideOf("left", ofHeat), want: -1},
		{key: "heat.outline", base: level, set: `heat.strip.outline=[["0 m","24 m"],["3 m","24 m"],["3 m","28 m"],["0 m","28 m"]]`, what: "back of the set power [m]", got: sideOf("bottom", ofHeat), want: 28},
		{key: "heat.center", base: wiredSpot, set: `heat.strip.center=["1.5 m","27 m"]`, what: "front of the set power [m]", got: sideOf("top", ofHeat), want: 25},
		{key: "heat.radius", base: wiredSpot, set: "heat.strip.radius=2.5 m", what: "back of the set power [m]", got: sideOf("bottom", ofHeat), want: 28.5},
		{key: "domain.left", base: level, set: "domain.left=-9 m", what: "left of the plan [m]", got: sideOf("left", ofAll), want: -9},
		{key: "domain.right", base: level, set: "domain.right=44 m", what: "right of the plan [m]", got: sideOf("right", ofAll), want: 44},
		{key: "domain.front", base: level, set: "domain.front=-9 m", what: "front of the plan [m]", got: sideOf("top", ofAll), want: -9},
		{key: "domain.back", base: level, set: "domain.back=44 m", what: "back of the plan [m]", got: sideOf("bottom", ofAll), want: 44},
		// 3√(αt) below the slab in 80 days, α = 1.2/3e6 m²/s of the clay.
		{key: "domain.duration", base: level, set: "domain.duration=80 d", what: "depth of the columns below the slab [m]", got: func(p *solver.Problem) float64 {
			_, below := p.Heat.Columns.Nodes()
			sum := 0.0
			for _, size := range below {
				sum += size
			}
			return sum
		}, want: 3 * math.Sqrt(1.2/3e6*80*d)},
		{key: "domain.sides", base: level, set: "domain.sides=6 degC", what: "temperature held at all four sides [K]", got: heldAt(physics.Sides, 4), want: 279.15},
		{key: "mesh.finest", base: level, set: "mesh.finest=0.6 m", what: "width of a cell of the zone [m]", got: func(p *solver.Problem) float64 {
			g, i := p.Ground.Grid, p.Targets[0].Zone.I0
			return g.X[i+1] - g.X[i]
		}, want: 0.6},
		{key: "control.setpoint", base: s, set: "control.setpoint=45 degC", what: "setpoint [K]", got: thermostatOf(func(t *solver.Thermostat) float64 { return t.Setpoint }), want: 318.15},
		{key: "control.deadband", base: s, with: []string{"control.setpoint=45 degC"}, set: "control.deadband=0.9 degF", what: "deadband [K]", got: thermostatOf(func(t *solver.Thermostat) float64 { return t.Deadband }), want: 0.5},
		// Of ground at 300 K with 290 K in the target's first cell.
		{key: "control.follow", base: s, with: []string{"control.setpoint=45 degC"}, set: "control.follow=coldest", what: "temperature followed [K]", got: followedOf, want: 290},

		// The field is 280 K + 2 K/m·x − 1 K/m·y at the sensor, and at the zone's middle.
		{key: "control.follow", base: level, with: []string{"control.setpoint=45 degC", "sensor.T.x=3.3 m"}, set: "control.follow=T", what: "temperature followed at a sensor of a plan [K]", got: followedLinear, want: 280 + 2*3.3 - 1.7},
		{key: "control.follow", base: level, with: []string{"control.setpoint=45 degC", "control.follow=T"}, set: "control.follow=mean", what: "mean followed in a plan [K]", got: followedLinear, want: 280 + 2*4.5 - 3},
		{key: "steam.boiling", base: s, set: "steam.boiling=false", what: "a boiling point", got: func(p *solver.Problem) float64 { return one(!math.IsInf(p.Ground.BoilingPoint(0), 1)) }, want: 0},
		// 5 inHg leave 84 393 Pa, under which water boils at 94.9 °C (job map; IAPWS R7-97).
		{key: "steam.vacuum", base: s, set: "steam.vacuum=5 inHg", what: "boiling point above the water table [K]", got: func(p *solver.Problem) float64 { return p.Ground.BoilingPoint(0) }, want: 368.05, tol: 0.05},
		{key: "steam.vacuum", base: s, set: "steam.vacuum=vacuum.csv", what: "vacuum on day 1 [inH2O]", got: vacuumOf(1*d, 0), want: 20, tol: 1e-3},
		{key: "steam.vacuum", base: s, set: "steam.vacuum=vacuum.csv", what: "vacuum held after the last row [inH2O]", got: vacuumOf(19*d, 0), want: 40, tol: 1e-3},
		{key: "steam.vacuum", base: level, set: "steam.vacuum=40 inH2O", what: "vacuum on a plan's slab [inH2O]", got: vacuumOf(0, 0), want: 40, tol: 1e-3},

		{key: "time.duration", base: s, set: "time.duration=33 d", what: "duration [s]", got: func(p *solver.Problem) float64 { return p.Duration }, want: 33 * d},
		// January and July have 31 days: the month's own value holds at noon of the 16th.
		{key: "time.power_on", base: s, with: []string{wiredMonths, "time.power_on=2026-01-16T12:00:00"}, set: "time.power_on=2026-07-16T12:00:00", what: "air at power-on [K]", got: airOf(0), want: 280.15},
		{key: "time.tolerance", base: s, set: "time.tolerance=0.9 degF", what: "tolerance [K]", got: func(p *solver.Problem) float64 { return p.Settings.Tolerance }, want: 0.5},

		{key: "domain.left", base: s, set: "domain.left=-7 m", what: "left [m]", got: sideOf("left", ofAll), want: -7},
		{key: "domain.right", base: s, set: "domain.right=19 m", what: "right [m]", got: sideOf("right", ofAll), want: 19},
		{key: "domain.bottom", base: s, set: "domain.bottom=11 m", what: "bottom [m]", got: sideOf("bottom", ofAll), want: 11},
		{key: "domain.below", base: s, set: "domain.below=5 degC", what: "temperature held below [K]", got: heldAt(physics.Below, 1), want: 278.15},
		{key: "domain.sides", base: s, set: "domain.sides=6 degC", what: "temperature held at both sides [K]", got: heldAt(physics.Sides, 2), want: 279.15},

		{key: "mesh.finest", base: s, set: "mesh.finest=0.5 m", what: "width of a row's column [m]", got: bodyOf(1, func(p *solver.Problem, b *physics.Body) float64 {
			return p.Ground.Grid.X[b.Zone.I1] - p.Ground.Grid.X[b.Zone.I0]
		}), want: 0.5},
		{key: "mesh.wall", base: r, set: "mesh.wall=0.03 m", what: "largest cell at the rod's wall [m], by the first fit below its bound", got: wallCellOf, want: 0.03, tol: 0.003},
		{key: "mesh.wall", base: r, with: []string{"mesh.finest=0.02 m"}, set: "mesh.finest=0.005 m", what: "largest cell at the rod's wall where mesh.finest is less [m]", got: wallCellOf, want: 0.005, tol: 0.0005},
		{key: "mesh.wall", base: r, with: []string{"layer.clay.inflow=unlimited"}, set: "layer.clay.inflow=none", what: "largest cell at a wall that may dry [m]", got: wallCellOf, want: 0.015, tol: 0.0015},

		{key: "output.fields_every", base: s, set: "output.fields_every=7 d", what: "first fields [s]", got: func(p *solver.Problem) float64 { return p.Outputs[0] }, want: 7 * d},
		{key: "output.fields_at", base: s, set: `output.fields_at=["1 d"]`, what: "first fields [s]", got: func(p *solver.Problem) float64 { return p.Outputs[0] }, want: d},
	}
}

// notWired are the keys that do not arrive in the problem, and where they act.
var notWired = map[string]string{
	"view":           "not one number: all views are among the bases",
	"supply.neutral": "says whether a phase N may be: TestBroken",
	"sensor.x":       "read from the fields by the recorder",
	"sensor.r":       "read from the fields by the recorder",
	"sensor.y":       "read from the fields by the recorder",
	"sensor.depth":   "read from the fields by the recorder",
	"mesh.growth":    "a bound, not a value: TestMeshKeysAct",
	"mesh.max_cells": "refuses: TestMeshKeysAct",
	"output.units":   "of summary and figures, not of the run",
}

// TestEachKeyActs: every key with a number or a choice, set away from its base,
// arrives in the problem that the solver steps, in SI, in each view that it belongs to; a
// key new to the schema fails here until it is listed. That the base has another value says that the test can
// fail.
func TestEachKeyActs(t *testing.T) {
	held := map[string]bool{}
	built := map[string]*solver.Problem{}
	problem := func(base string, sets ...string) *solver.Problem {
		id := base + strings.Join(sets, "\n")
		if built[id] == nil {
			built[id] = builtFrom(t, base, sets...)
		}
		return built[id]
	}
	all := append(append(wiredKeys(), wiredSteam()...), wiredViews()...)
	all = append(all, carried(all)...)
	for _, w := range all {
		held[w.key] = true
		held[w.key+" "+string(viewOf(w.base))] = true
		tol := w.tol
		if tol == 0 {
			tol = 1e-12 * math.Abs(w.want)
		}
		if before := w.got(problem(w.base, w.with...)); math.Abs(before-w.want) <= tol {
			t.Errorf("%s: %s is %.10g before it is set, no test of the key", w.set, w.what, before)
		}
		if got := w.got(problem(w.base, append(append([]string(nil), w.with...), w.set)...)); !(math.Abs(got-w.want) <= tol) {
			t.Errorf("%s: %s is %.12g in the problem, want %.12g within %.2g", w.set, w.what, got, w.want, tol)
		}
	}
	for i := range schema {
		k := &schema[i]
		switch k.kind.(type) {
		case textKind, nameKind: // nothing is computed from them
			continue
		}
		if why := notWired[k.path]; held[k.path] == (why != "") {
			t.Errorf("%s must be held to its place in the problem or be listed with where it acts; held: %v, listed: %q", k.path, held[k.path], why)
		}
	}
	for i := range schema {
		for _, view := range views {
			k := &schema[i]
			pair := k.path + " " + view
			if why := notWiredIn[pair]; held[k.path] && k.in(View(view)) && held[pair] == (why != "") {
				t.Errorf("%s must be held to its place in the problem of that view too, or be listed; held: %v, listed: %q", pair, held[pair], why)
			}
		}
	}
	for path := range notWired {
		if findKey(path) == nil {
			t.Errorf("%s is listed and is no key", path)
		}
	}
	if !problem(wiredPlan).Ground.Grid.Level {
		t.Error("the grid of a plan is not level")
	}
	for view, want := range map[string]bool{wiredSection: false, wiredCell: true, wiredPlan: false} {
		if got := problem(view).Ground.Grid.Cylindrical; got != want {
			t.Errorf("the grid of\n%s\nis round an axis: %v, want %v", view[:60], got, want)
		}
	}
}

// TestMeshKeysAct: cells beside a target's side are as wide as mesh.finest and not
// half of it, neighbouring cells differ by no more than mesh.growth, by less
// where less is allowed, and no case has more cells than mesh.max_cells.
func TestMeshKeysAct(t *testing.T) {
	rounding := 1e-9 // of edges near 30 m and cells of 0.25 m: 1e-13, and 1e4 of them
	wide, narrow := ratioOf(builtFrom(t, wiredSection, "mesh.growth=1.3")), ratioOf(builtFrom(t, wiredSection, "mesh.growth=1.1"))
	if !(narrow <= 1.1+rounding && wide <= 1.3+rounding && wide > 1.1) {
		t.Errorf("the largest ratio of neighbouring cells is %.6g with mesh.growth = 1.1 and %.6g with 1.3, want no more, and more than 1.1 with 1.3", narrow, wide)
	}
	// A cell that grows from the side as h = finest + ln(growth)·x is one step of ∫dx/h long.
	grown := (1.2 - 1) / math.Log(1.2)
	for _, finest := range []float64{0.25, 0.5} {
		p := builtFrom(t, wiredSection, fmt.Sprintf("mesh.finest=%g m", finest))
		g, i := p.Ground.Grid, p.Targets[0].Zone.I1
		for _, w := range []float64{g.X[i] - g.X[i-1], g.X[i+1] - g.X[i]} {
			if !(w <= finest*grown+rounding && w > finest/2) {
				t.Errorf("with mesh.finest = %g m a cell beside the target's right side is %.6g m wide, want at most %.4g of it, and more than a half", finest, w, grown)
			}
		}
	}
	p := builtFrom(t, wiredSection)
	c, _ := mustParse(t, wiredSection).Expand()
	for _, fewer := range []int{0, 1} {
		c.Mesh.MaxCells = p.Ground.Grid.Cells() - fewer
		_, err := c.Build()
		if refused := err != nil && strings.Contains(err.Error(), "mesh.max_cells"); refused != (fewer == 1) {
			t.Errorf("a case of %d cells with mesh.max_cells = %d is refused: %v, want %v (%v)", p.Ground.Grid.Cells(), c.Mesh.MaxCells, refused, fewer == 1, err)
		}
	}
}
