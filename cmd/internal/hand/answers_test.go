package hand

import (
	"math"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
)

// value is a result of an answer by name, or a cell of its table by label and column.
func value(t *testing.T, a *Answer, name string, columnOf int) float64 {
	t.Helper()
	for _, r := range a.Results {
		if r.Name == name && r.SI != nil {
			return *r.SI
		}
	}
	if a.Table != nil {
		for _, r := range a.Table.Rows {
			if r.Label == name {
				return *r.Values[columnOf]
			}
		}
	}
	t.Fatalf("%s has no result or row %q", a.Name, name)
	return 0
}

// TestAnswersPrintWhatTheyShould: the numbers printed are those asked for, in the units said.
// Source: own arithmetic, the same as of the functions' own tests, each to half a unit of
// its last digit unless a sentence says else.
func TestAnswersPrintWhatTheyShould(t *testing.T) {
	for _, c := range []struct {
		name   string
		args   []string
		what   string
		column int
		want   float64
		tol    float64
	}{
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m", "length=16 ft"}, "as given", 2, 4.51, 0.005},                 // A/m
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m", "length=16 ft", "voltage=200 V"}, "as given", 8, 52.8, 0.05}, // kW, all six
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m"}, "as given", 4, 49.8, 0.05},                                  // W/m³ of the hexagon
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m", "phases=3"}, "as given", 4, 71.0, 0.05},
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m", "phases=3", "voltage=130 V"}, "phase to phase", 0, 225, 0.5},
		// 13 °C by the linear law, 1 + 0.0187·(−12).
		{"ring", []string{"diameter=30 ft", "resistivity=30 ohm*m"}, "ambient, linear law", 1, 30 / 0.7756, 1e-9},
		{"grid", []string{"spacing=14 ft", "resistivity=25 ohm*m", "length=6 ft", "count=36", "voltage=130 V"}, "as given", 8,
			36 * 130 * 130 * 2 * math.Pi * 6 * foot / (25 * math.Log(0.566*28)) / 1e3, 0.1}, // 0.566 has three digits: 0.03 %
		{"grid", []string{"spacing=14 ft", "resistivity=25 ohm*m", "voltage=130 V"}, "as given", 4,
			130 * 130 * 2 * math.Pi / (25 * math.Log(0.566*28)) / (math.Sqrt(3) / 2 * math.Pow(14*foot, 2)), 0.05},
		{"rows", []string{"distance=14 ft", "spacing=14 ft", "phases=1", "resistivity=25 ohm*m"}, "pole to pole", 0, 200, 0},
		// The short formula, less what the nearest rows' harmonics add: −ln(1 − e^(−2π))/π is 6e-4 of 0.48.
		{"rows", []string{"distance=14 ft", "spacing=14 ft", "phases=1", "resistivity=25 ohm*m"}, "V/(ρI′)", 0, 0.25 + math.Log(14/math.Pi)/(2*math.Pi), 1e-3},
		{"rod", []string{"bottom=10 m", "radius=15 cm", "resistivity=50 ohm*m"}, "as given", 2, 3.649422, 0.5e-6},
		{"rod", []string{"bottom=10 m", "radius=15 cm", "resistivity=50 ohm*m"}, "as given", 5, 100 * 100 / 3.649422 / 1e3, 1e-6},
		{"resistivity", []string{"resistivity=25 ohm*m"}, "hot", 3, 2.4, 0.05}, // σ(100)/σ(25)
		{"resistivity", []string{"resistivity=25 ohm*m"}, "hot", 4, 3.2, 0.05},
		{"loss", []string{"thickness=5 ft"}, "share lost", 0, 70.4, 0.05 + 1e-2}, // α = 7.5e-7 exactly: 70.45
		{"loss", []string{"thickness=5 ft"}, "heat needed over heat without loss", 0, 3.4, 0.05},
		{"loss", []string{"thickness=20 ft"}, "heat needed over heat without loss", 0, 1.4, 0.05},
		// 1 °C a day with 2.6 MJ/(m³·K) is 30 W/m³.
		{"heat-up", []string{"power_density=30.1 W/m3", "thickness=1000 m", "heat_capacity=2.6 MJ/m3/K"}, "warming at the start, per day", 0, 1, 0.005},
		{"heat-up", []string{"power_density=30.1 W/m3", "thickness=1000 m", "heat_capacity=2.6 MJ/m3/K"}, "days without loss", 0, 87, 0.5},
		// The function's own number, held by its own test: which inputs go where.
		{"cool-down", []string{"thickness=6 m", "temperature=93 degC", "until=40 degC", "thermal_conductivity=2 W/m/K", "heat_capacity=2.5 MJ/m3/K"},
			"days until the mean is there", 0, CoolDownTime(8e-7, 6, 27.0/80) / days, 1e-9},
		{"heated-area", []string{"power=500 kW", "thickness=5 m", "temperature=93 degC", "thermal_conductivity=2 W/m/K", "heat_capacity=2.5 MJ/m3/K", "time=100 d"}, "heated area", 0, 2206.536413, 1e-6},
		{"heated-area", []string{"power=500 kW", "thickness=5 m", "temperature=93 degC", "thermal_conductivity=2 W/m/K", "heat_capacity=2.5 MJ/m3/K", "time=100 d"}, "share of the heat in the layer", 0, 57.2064996, 1e-6},
		{"cover", []string{"depth=1 m", "film=10 W/m2/K", "cover=1 m2*K/W"}, "loss", 0, 48, 0.5},
		// Half a metre at 1 and half at 0.5 W/(m·K).
		{"cover", []string{"depth=1 m", "pavement=50 cm", "pavement_conductivity=0.5 W/m/K", "thermal_conductivity=1 W/m/K"}, "resistance of the ground between", 0, 1.5, 1e-9},
		// 54.07 kWh/yd³, which is 70.72 kWh/m³, of 0.65·2.2 + 0.35·4.18 MJ/(m³·K) and 88 K.
		{"energy", []string{"volume=1000 yd3", "heat_capacity=2.893 MJ/m3/K", "ambient=12 degC"}, "warming", 0, 70.72, 0.005},
		{"energy", []string{"volume=1000 yd3", "heat_capacity=2.893 MJ/m3/K", "ambient=12 degC"}, "warming", 1, 54070, 5},
		// Boiling and replacing takes 2.62 MJ/kg of 0.4·0.3·998.2 kg/m³.
		{"energy", []string{"heat_capacity=2.9 MJ/m3/K"}, "with replacement", 0, (2.9*87 + 2.62*0.12*998.2) / 3.6, 0.005 * 0.12 * 998.2 / 3.6},
		{"groundwater", []string{"flow=1 gpm"}, "power taken", 0, 22.4, 0.05},
		{"groundwater", []string{"flow=1 gpm"}, "heat taken in a day", 0, 22.4 * 24, 0.05 * 24},
		{"groundwater", []string{"flux=0.3 ft/d", "area=10 m2"}, "power taken", 0, 3.77, 0.005 + 4e-3}, // 0.1 %, as the enthalpy differs from 4.18 MJ/(m³·K)
		{"groundwater", []string{"flux=0.3 ft/d", "area=10 m2"}, "heat per area of the face", 0, 377, 0.5 + 0.4},
		{"boiling", []string{"depth=37 ft", "water_table=7 ft"}, "boiling point", 0, 118.7, 0.05},
		{"boiling", []string{"depth=10 ft", "water_table=none", "vacuum=5 inHg"}, "boiling point", 0, 94.9, 0.05},
	} {
		a, err := Find(c.name).WorkOut(nil, c.args)
		if err != nil {
			t.Errorf("hand %s %v: %v", c.name, c.args, err)
			continue
		}
		near(t, "hand "+c.name+" "+c.what, value(t, a, c.what, c.column), c.want, c.tol)
	}
	// The table says of the time it found what its first lines say.
	a, err := Find("heat-up").WorkOut(nil, []string{"power_density=60 W/m3", "thickness=5 ft", "temperature=40 degC"})
	if err != nil {
		t.Fatal(err)
	}
	days := value(t, a, "days to the mean", 0)
	before, after := a.Table.Rows[0].Values, a.Table.Rows[0].Values
	for _, r := range a.Table.Rows {
		if *r.Values[0] <= days {
			before = r.Values
		} else {
			after = r.Values
			break
		}
	}
	if !(*before[1] < 40 && *after[1] > 40 && *before[0] < days && days < *after[0]) {
		t.Errorf("heat-up finds day %.3g for 40 °C, between %.3g °C on day %g and %.3g °C on day %g", days, *before[1], *before[0], *after[1], *after[0])
	}
}

// TestLayersSideBySide: the ground of an interval in layers of their own laws conducts, at
// any temperature, as the layers side by side.
// Source: conductances in parallel, each layer by its own linear law; seven digits are kept.
func TestLayersSideBySide(t *testing.T) {
	c, err := cases.Load("../../../cases/paved-yard.toml", []string{"layer.silt.temperature_coefficient=0.01 1/K", "layer.clay.resistivity_at=13 degC"})
	if err != nil {
		t.Fatal(err)
	}
	a, err := Find("grid").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	w := materials.NewWater()
	for _, row := range a.Table.Rows {
		if row.Label != "ambient, linear law" && row.Label != "hot, linear law" {
			continue
		}
		T, conduct := *row.Values[0]+zeroC, 0.0
		for _, p := range c.Parts(c.Arrays[0].Top, c.Arrays[0].Bottom) {
			soil := p.Layer.Soil()
			conduct += p.Thickness() / p.Layer.Resistivity * soil.Conductivity(w).FactorT(T, math.Inf(1))
		}
		want := (c.Arrays[0].Bottom - c.Arrays[0].Top) / conduct
		near(t, "resistivity of the interval, "+row.Label, *row.Values[1], want, 1e-6*want)
	}
}
