package cases

import (
	"math"
	"strings"
	"testing"
)

// TestEndsOnBetterGround: rods that just fill a resistive layer are named in a
// caution, those that reach into the better ground below or lie in the conductive
// layer are not.
func TestEndsOnBetterGround(t *testing.T) {
	for _, c := range []struct {
		bottom, resistivity string
		want                bool
	}{
		{"3 m", "8 ohm*m", true},
		{"3.04 m", "20 ohm*m", true},
		{"3 m", "30 ohm*m", false},
		{"3 m", "200 ohm*m", false},
		{"3.2 m", "8 ohm*m", false},
	} {
		text := strings.Replace(plateAndRow, "top = \"1 m\"\nbottom = \"3 m\"\nradius", "top = \"1 m\"\nbottom = \""+c.bottom+"\"\nradius", 1)
		text = strings.Replace(text, "[[target]]", "[[layer]]\nname = \"below\"\nresistivity = \""+c.resistivity+"\"\nthermal_conductivity = \"1.6 W/m/K\"\nheat_capacity = \"2.9 MJ/m3/K\"\nporosity = 0.4\nsaturation = 1.0\n[[target]]", 1)
		text = strings.Replace(text, "name = \"silt\"\n", "name = \"silt\"\nbottom = \"3 m\"\n", 1)
		parsed, err := Parse("case.toml", []byte(text), ".", nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(parsed.Cautions(), "\n"), "boundary to ground that conducts better"); got != c.want {
			t.Errorf("rods to %s in 40 ohm*m to 3 m over %s: a caution is %v, want %v", c.bottom, c.resistivity, got, c.want)
		}
	}
}

// TestTouchingElementsAreOneRod: a rod in two or three elements that touch is as
// long as all of them and ends where the last ends; elements of another phase or
// radius, or with ground between, are rods of their own.
func TestTouchingElementsAreOneRod(t *testing.T) {
	const ends, short = "boundary to ground that conducts better", "shorter than"
	row := plateAndRow[strings.LastIndex(plateAndRow, "[[electrode]]"):strings.Index(plateAndRow, "[supply]")]
	layered := strings.Replace(plateAndRow, "name = \"silt\"\n", "name = \"silt\"\nbottom = \"3 m\"\n", 1)
	layered = strings.Replace(layered, "[[target]]", "[[layer]]\nname = \"below\"\nresistivity = \"8 ohm*m\"\nthermal_conductivity = \"1.6 W/m/K\"\nheat_capacity = \"2.9 MJ/m3/K\"\nporosity = 0.4\nsaturation = 1.0\n[[target]]", 1)
	type element struct{ top, bottom, phase, radius string }
	for _, c := range []struct {
		name, spacing string
		elements      []element
		ends, short   string // rows that the caution counts; "": no caution
	}{
		{"one element to the boundary", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"another below it", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}, {"3 m", "5 m", "B", "0.1 m"}}, "", ""},
		{"the lower first, in feet", "2 m", []element{{"3 m", "5 m", "B", "0.1 m"}, {"1 m", "9.84251968503937 ft", "B", "0.1 m"}}, "", ""},
		{"another phase below it", "2 m", []element{{"1 m", "2.9 m", "B", "0.1 m"}, {"3 m", "5 m", "A", "0.1 m"}}, "", ""},
		{"a wider one below it", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}, {"3 m", "5 m", "B", "0.12 m"}}, "1 rows", ""},
		{"a gap, then to the boundary", "2 m", []element{{"1 m", "1.8 m", "B", "0.1 m"}, {"2 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"two that touch at the better ground's edge from above", "2 m", []element{{"1 m", "2 m", "B", "0.1 m"}, {"2 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"a short element", "6 m", []element{{"1 m", "2 m", "B", "0.1 m"}}, "", "1 rows"},
		{"two short elements that touch", "6 m", []element{{"1 m", "2 m", "B", "0.1 m"}, {"2 m", "2.8 m", "B", "0.1 m"}}, "", ""},
		{"two short elements apart", "6 m", []element{{"1 m", "1.8 m", "B", "0.1 m"}, {"2 m", "2.8 m", "B", "0.1 m"}}, "", "2 rows"},
		{"three that touch and are short", "20 m", []element{{"2 m", "2.8 m", "B", "0.1 m"}, {"1 m", "1.5 m", "B", "0.1 m"}, {"1.5 m", "2 m", "B", "0.1 m"}}, "", "1 rows"},
	} {
		text := layered
		rows := ""
		for i, e := range c.elements {
			rows += strings.NewReplacer(`"R"`, `"R`+string(rune('1'+i))+`"`, `"B"`, `"`+e.phase+`"`, `"1 m"`, `"`+e.top+`"`, `"3 m"`, `"`+e.bottom+`"`, `"0.1 m"`, `"`+e.radius+`"`, `"2 m"`, `"`+c.spacing+`"`).Replace(strings.Replace(row, `x = "0.1 m"`, `x = "0.11 m"`, 1))
		}
		text = strings.Replace(text, row, rows, 1)
		parsed, err := Parse("case.toml", []byte(text), ".", nil)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for _, w := range []struct{ caution, want string }{{ends, c.ends}, {short, c.short}} {
			got := ""
			for _, line := range parsed.Cautions() {
				if strings.Contains(line, w.caution) {
					got = line
				}
			}
			if w.want == "" && got != "" || !strings.HasPrefix(got, w.want) {
				t.Errorf("%s: the caution of rods %q is %q, want it to begin with %q", c.name, w.caution, got, w.want)
			}
		}
	}
}

// TestBetterGroundIsNamed: the caution of rods that end on better ground gives the
// largest ratio of the case, and says so where it is beyond what was held.
func TestBetterGroundIsNamed(t *testing.T) {
	for _, c := range []struct {
		below, ratio string
		beyond       bool
	}{
		{"20 ohm*m", "up to 2 times", false},
		{"8 ohm*m", "up to 5 times", false},
		{"7.9 ohm*m", "up to 5.06 times", true},
		{"1 ohm*m", "up to 40 times", true},
	} {
		text := strings.Replace(plateAndRow, "name = \"silt\"\n", "name = \"silt\"\nbottom = \"3 m\"\n", 1)
		text = strings.Replace(text, "[[target]]", "[[layer]]\nname = \"below\"\nresistivity = \""+c.below+"\"\nthermal_conductivity = \"1.6 W/m/K\"\nheat_capacity = \"2.9 MJ/m3/K\"\nporosity = 0.4\nsaturation = 1.0\n[[target]]", 1)
		got := variant{text, nil}.cautionOf(t, "boundary to ground that conducts better")
		if !strings.Contains(got, c.ratio) || strings.Contains(got, "beyond five it is not known") != c.beyond {
			t.Errorf("rods that end on ground of %s below 40 ohm*m: the caution is %q, want one with %q, and that it is not known: %v", c.below, got, c.ratio, c.beyond)
		}
	}
}

// TestGroundBelowZeroHoldsLiquid: ground from −20 °C to 20 °C takes up heat as one
// whose water is liquid throughout, as the caution says: within a tenth of its heat
// capacity, the change of the water's own. Had its ice to melt, it would take up
// porosity × 1000 kg/m³ × 334 kJ/kg more (heat of fusion, from memory): more than the
// capacity times 40 K here.
func TestGroundBelowZeroHoldsLiquid(t *testing.T) {
	c, _ := mustParse(t, heated, "site.ambient=-20 degC").Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	s := p.Ground.Store(0)
	took := s.Energy(293.15, s.Found) - s.Energy(253.15, s.Found)
	if want := 3.0e6 * 40; math.Abs(took-want) > 0.1*want {
		t.Errorf("clay takes up %.4g J/m³ from −20 to 20 °C, want its capacity × 40 K, %.4g J/m³, to a tenth", took, want)
	}
}

// variant is a case of the tests with some keys set.
type variant struct {
	text string
	sets []string
}

// cautionOf returns the cautions of an expanded case that hold the words, a line each.
func (v variant) cautionOf(t *testing.T, words string) string {
	t.Helper()
	c, _ := mustParse(t, v.text, v.sets...).Expand()
	var out []string
	for _, s := range c.Cautions() {
		if strings.Contains(s, words) {
			out = append(out, s)
		}
	}
	return strings.Join(out, "\n")
}

// TestCautions: each caution is said of a case just inside its condition, with the
// number that it names, and not of one just outside.
// The conditions are choices of the program.
func TestCautions(t *testing.T) {
	second := func(text, kind string) string {
		return strings.Replace(text, "[[heat]]", "[[electrode]]\nname = \"S\"\nphase = \"C\"\ntop = \"2 m\"\nbottom = \"4 m\"\nx = \"7.5 m\"\n"+kind+"\n[[heat]]", 1)
	}
	s := func(sets ...string) variant { return variant{wiredSection, sets} }
	cell := func(sets ...string) variant { return variant{wiredCell, sets} }
	pair := func(sets ...string) variant { return variant{wiredPair, sets} }
	array := func(sets ...string) variant { return variant{wiredArray, sets} }
	rows := func(sets ...string) variant {
		return variant{second(wiredSection, "radius = \"0.1 m\"\nrod_spacing = \"2 m\""), sets}
	}
	plan := func(sets ...string) variant { return variant{soundPlan, sets} }
	ring := func(sets ...string) variant {
		text := strings.Replace(soundGrid, `pattern = "triangular"`, `pattern = "ring"`, 1)
		return variant{strings.Replace(text, `spacing = "3 m"`, "center = [\"4 m\", \"3 m\"]\ndiameter = \"4 m\"", 1), sets}
	}
	between := func(sets ...string) []string {
		return append([]string{"steam.fate=rising", "steam.top=1 m", "steam.bottom=1.5 m"}, sets...)
	}
	sealed := func(sets ...string) variant { // by the sand, which ends on 2.5 m
		return variant{wiredSection, append([]string{"target.zone.top=2.5 m", "layer.sand.steam_barrier=true"}, sets...)}
	}
	water := func(sets ...string) variant { return variant{watered(wiredSection, "R"), sets} }
	neutral := strings.Replace(wiredSection, `phase = "A"`, `phase = "N"`, 1)
	unpowered := s("supply.voltage=0 V", "change[1].voltage=0 V")
	for _, c := range []struct {
		says    string
		in, out variant
		number  string // that the caution names
	}{
		// The largest voltage of supply and changes counts, from phase to neutral: 400/√3 = 231.
		{"lethal", s("supply.voltage=60 V", "change[1].voltage=0 V"), unpowered, " 60 V"},
		{"lethal", s("supply.voltage=0 V", "change[1].voltage=60 V"), unpowered, " 60 V"},
		{"lethal", s("supply.voltage=100 V", "change[1].voltage=40 V"), unpowered, " 100 V"},
		{"lethal", s("supply.voltage=100 V", "change[1].voltage=400 V", "supply.voltage_basis=phase to phase"), unpowered, " 231 V"},

		{"lethal", s("supply.voltage=0 V", "change[1].voltage=0 V", "electrode.P.voltage=60 V"), unpowered, " 60 V"},
		// What is metered is not held to supply.voltage.
		{"lethal", variant{meteredCase, []string{"supply.voltage=0 V"}}, unpowered, "the voltage that the metered power asks for"},

		{"changes nothing: no electrode is on the neutral", s("supply.neutral=grounded"), variant{neutral, []string{"supply.neutral=grounded"}}, ""},
		{"changes nothing: no electrode is on the neutral", s("supply.neutral=grounded"), s(), ""},

		// Electrodes are 5 m apart.
		{"a third of the distance", plan("mesh.finest=1.67 m"), plan("mesh.finest=1.66 m"), "1.67 m"},
		// Opposite electrodes of six on three phases are on one; of six on six they are not.
		{"whose middle takes no power", ring("array[1].count=6"), ring("array[1].count=6", "supply.phases=6"), "common practice"},
		{"whose middle takes no power", ring("array[1].count=6", "supply.phases=1"), plan(), ""},
		{"falls from them towards its middle", ring("array[1].count=6", "supply.phases=6"), ring("array[1].count=6"), "common practice"},

		{"found at saturation", s("layer.sand.saturation=0.975"), s("layer.sand.saturation=0.985"), "0.975"},
		{"found at saturation", s("site.water_table=2.4 m"), s("site.water_table=2.6 m"), "0.5"},

		// air.csv ends on day 30.
		{"rows of surface.air", s("surface.air=air.csv", "time.duration=31 d"), s("surface.air=air.csv", "time.duration=30 d"), "day 30"},
		{"rows of surface.air", s("surface.air=air.csv", "time.duration=31 d"), s("time.duration=31 d"), "day 31"},

		// Rods of 2 m that are 8.7 and 8.69 m apart: 0.2299 and 0.2301 of their spacing. The
		// shortest held against three dimensions have 0.23 (validation, rods in even and layered ground).
		{"row correction was tested", s("electrode.R.rod_spacing=8.7 m"), s("electrode.R.rod_spacing=8.69 m"), "0.230"},
		{"unlike rod spacing", rows("electrode.S.rod_spacing=2.1 m"), rows(), ""},
		{"plates that run on", variant{second(wiredSection, "width = \"0.5 m\""), nil}, array(), "2"},
		{"plate conducts heat", s(), array(), ""},
		{"between two rods of one row", array(), cell(), ""},

		// A tenth of the bore of 0.15 m is 0.015 m.
		{"its wall cells", cell("mesh.wall=0.0151 m"), cell("mesh.wall=0.015 m"), "0.0151"},
		{"its wall cells", cell("mesh.wall=0.0151 m"), cell("mesh.wall=0.0151 m", "steam.boiling=false"), "0.015 m"},
		{"its wall cells", cell("mesh.wall=0.0151 m"), cell("mesh.wall=0.0151 m", "mesh.finest=0.015 m"), "E may dry"},
		{"its wall cells", cell("mesh.wall=0.0151 m"), cell(), "E may dry"},
		{"its wall cells", cell("mesh.wall=0.0151 m", "site.water_table=2.5 m"), cell("mesh.wall=0.0151 m", "site.water_table=2 m"), "E may dry"},
		{"its wall cells", cell("mesh.wall=0.0151 m", "site.water_table=2 m", "layer.clay.inflow=0.02 1/d"), cell("mesh.wall=0.0151 m", "layer.clay.inflow=unlimited"), "E may dry"},

		{"qualified persons decide on site", s("supply.off=10 d"), s(), "cooled"},
		{"qualified persons decide on site", s("supply.off=held"), s(), "cooled"},
		{"is not before the end of the run", s("supply.off=20 d"), s("supply.off=19.9 d"), "day 20"},
		{"are for after supply.off", s("supply.off=3 d"), s("supply.off=3.1 d"), "1 of 1"},
		{"0 V rim", pair(), pair("extent.rim=insulated"), ""},

		{"Boiling is off", s("steam.boiling=false"), s(), ""},
		{"taken as extracted", s(), s("steam.boiling=false"), ""},
		{"taken as extracted", s(), s("steam.fate=rising"), "where it forms"},
		{"rise straight up its column", s("steam.fate=rising"), s(), "sideways, air"},
		{"rise straight up its column", s("steam.fate=rising"), s("steam.fate=rising", "steam.boiling=false"), "bores"},
		{"rise straight up the column of ground above", plan("steam.fate=rising"), plan(), "slab"},
		{"No interval of extraction", s("steam.fate=rising"), s(between()...), "surface"},
		{"captures, 0.8, is an assumption", s(between("steam.capture_share=0.8")...), s(between()...), "wells"},
		// Electrodes begin at 2 m; the interval is from 1 to 1.5 m.
		{"below the top of what is heated", s(between("steam.bottom=3 m", "steam.top=2.01 m")...), s(between("steam.bottom=3 m", "steam.top=2 m")...), "2.01 m"},
		{"the interval from steam.top to steam.bottom: changes nothing", s(between("steam.fate=extracted")...), s(between()...), `"extracted"`},
		{"the interval from steam.top to steam.bottom: changes nothing", s(between("steam.boiling=false")...), s(between()...), "boiling is off"},
		{"and layer.sand.steam_barrier: change nothing", sealed(between("steam.fate=extracted")...), sealed(between()...), "interval"},
		{"Beneath a barrier (sand)", sealed("steam.fate=rising"), s("steam.fate=rising"), "both sides alike"},
		{"No electrode crosses", sealed("steam.fate=rising", "electrode.R.top=2.5 m", "electrode.P.top=3 m"), sealed("steam.fate=rising", "electrode.P.top=3 m"), "sand"},
		{"no modelled ground below", s("steam.fate=rising", "layer.clay.steam_barrier=true", "layer.sand.bottom=4 m"), sealed("steam.fate=rising"), "clay"},
		{"is not above the saturation as found", s("layer.sand.field_capacity=0.5"), s("layer.sand.field_capacity=0.51"), "layer.sand.field_capacity, 0.5"},
		{"Water added leaves an electrode evenly", water(), s(), "goes on along its level"},
		{"Water added leaves an electrode evenly", water(), water("water_added[1].rate=0 L/min"), "goes on along its level"},
		// The water table is at 2 m, the rods reach to 4 m; sand ends at 2.5 m.
		{"with unlimited inflow beside part", water(), water("site.water_table=4 m"), "1 electrode with"},
		{"with unlimited inflow beside part", water("layer.sand.inflow=none"), water("layer.sand.inflow=none", "layer.clay.inflow=none"), "emptied"},
		{"with unlimited inflow beside part", water("layer.clay.inflow=none"), water("layer.sand.inflow=0.1 1/d", "layer.clay.inflow=0.1 1/d"), "emptied"},
		{"beyond the slab: what goes out", variant{watered(wiredPlan, "P"), []string{"electrode.P.top=1.9 m"}}, variant{watered(wiredPlan, "P"), nil}, "1 electrode with water added reaches"},
		// Water at 12 °C: ten rods of 2 L/min take 20·0.9982/60·(2676 − 50) = 874 kW at 100 °C.
		{"To boil all of the water added", water("supply.power_limit=800 kW"), water("supply.power_limit=950 kW"), "more than the power limit, 800 kW"},
		{"A plan does not show how rising steam", plan("steam.fate=rising"), plan(), "whole"},
		{"A plan does not show how rising steam", plan("steam.fate=rising"), s("steam.fate=rising"), ""},
		{"rows of [[water_added]] begin after", water("water_added.from=20 d"), water("water_added.from=19.9 d"), "1 of 1"},
		// Water boils at 99.97 °C under 101 325 Pa (steam tables, from memory), and at 100.1 °C
		// only under 0.48 m of it: the target's top lies at the water table.
		{"above the boiling point at its top", s("target.zone.temperature=100.1 degC"), s("target.zone.temperature=99.8 degC"), "100.1"},
		{"above the boiling point at its top", s("target.zone.temperature=100.1 degC"), s("target.zone.temperature=100.1 degC", "site.water_table=1 m"), "100.0"},
		{"above the boiling point at its top", s("target.zone.temperature=100.1 degC"), s("target.zone.temperature=100.1 degC", "steam.boiling=false"), ""},
		{"above the boiling point at its top", s("target.zone.temperature=100.1 degC"), s("target.zone.temperature=boiling"), ""},

		// A plan knows its middle alone. A setpoint that wet ground cannot pass never switches.
		{"in the slab's middle, which stands for all", plan("target[1].temperature=160 degC"), plan(), "160"},
		{"may never switch off", variant{controlled, []string{"control.setpoint=160 degC"}}, variant{controlled, nil}, "160"},
		{"may never switch off", variant{controlled, []string{"control.setpoint=160 degC"}}, variant{controlled, []string{"control.setpoint=160 degC", "steam.boiling=false"}}, ""},

		// A run of 20 d.
		{"is not above the ground as found", s("target.zone.temperature=13 degC", "site.ambient=13 degC"), s("target.zone.temperature=13.01 degC", "site.ambient=13 degC"), "reached from the start"},
		{"longer than the run", s("target.zone.hold=20.1 d"), s("target.zone.hold=20 d"), "20.1 d"},
		// A run of 20 d. wiredSection has its change on day 3.
		{"change nothing: the run ends on", s("change[1].at=20.1 d"), s("change[1].at=20 d"), "from day 20.1 on"},
		{"when the run ends, heats nothing", s("change[1].at=20 d"), s("change[1].at=20.1 d"), "on day 20"},
		{"when the run ends, heats nothing", s("change[1].at=20 d"), s("change[1].at=19.9 d"), "on day 20"},
		// Rods on A and B of two poles; of three phases C has none.
		{"No electrode is on phase", s("supply.phases=3"), s("supply.phases=1"), "on phase C: the supply is loaded on A and B alone"},

		{"law measured up to 30", s(), variant{heated, nil}, "linear"},
		{"viscosity in 1", s("layer.clay.temperature_law=viscosity"), s(), "linear in 1"},
		{"reaches into the depths", s("target.zone.top=4 m", "target.zone.bottom=6 m"), s("target.zone.top=3.9 m", "target.zone.bottom=6 m"), "zone"},
		{"Set power", s(), array(), "drum"},
		{"computed as if its water were liquid", s("site.ambient=-20 degC"), s("site.ambient=0 degC"), "Below 0 °C (32 °F): the ground at the start (-20 °C, -4 °F)."},
		{"computed as if its water were liquid", s("surface.air=-0.5 degC"), s("surface.air=0 degC"), "Below 0 °C (32 °F): the air (-0.5 °C, 31.1 °F)."},
		{"computed as if its water were liquid", s("surface.air=5 degF", "output.units=us"), s("surface.air=32 degF", "output.units=us"), "Below 32 °F (0 °C): the air (5 °F, -15 °C)."},
		{"computed as if its water were liquid", s("domain.below=-1 degC"), s("domain.below=1 degC"), "domain.below (-1 °C, 30.2 °F)"},
		{"computed as if its water were liquid", s("domain.sides=-2 degC"), s("domain.sides=2 degC"), "domain.sides (-2 °C, 28.4 °F)"},
		// frost.csv has a frost on day 15, and one long before power-on.
		{"computed as if its water were liquid", s("surface.air=frost.csv", "time.duration=20 d"), s("surface.air=frost.csv", "time.duration=10 d"), "the air (-3 °C, 26.6 °F)"},
		{"Rock counts with", s("layer.sand.kind=rock"), s("layer.sand.texture=gravel"), `"sand"`},
		{"Darcy flux given by layer", s("layer.clay.groundwater=0.01 ft/d"), s(), ""},
		{"above the water table: it flows", s("layer.sand.groundwater=0.01 ft/d"), s("layer.clay.groundwater=0.01 ft/d"), `"sand"`},
		{"Groundwater is taken to stand still", s(), s("layer.clay.groundwater=0.01 ft/d"), ""},
		{"Infiltration goes straight down", s("surface.infiltration=0.01 in/d"), s(), "to the water table"},
		{"Infiltration goes straight down", s("surface.infiltration=0.01 in/d", "site.water_table=none"), s("surface.infiltration=0 in/d"), "leaves below"},
		// rain.csv ends on day 20.
		{"The rows of surface.infiltration", s("surface.infiltration=rain.csv", "time.duration=21 d"), s("surface.infiltration=rain.csv"), "day 20"},
		// water-table.csv ends on day 14, between 2 and 4 m; vacuum.csv on day 3, at 40 inH2O = 9.964 kPa.
		{"The water table moves", s("site.water_table=water-table.csv"), s(), "between 2 and 4 m"},
		{"The rows of site.water_table end", s("site.water_table=water-table.csv"), s("site.water_table=water-table.csv", "time.duration=14 d"), "day 14"},
		{"Vacuum, at most", s("steam.vacuum=vacuum.csv"), s(), "9.964 kPa"},
		{"The rows of steam.vacuum end", s("steam.vacuum=vacuum.csv"), s("steam.vacuum=9 kPa"), "day 3"},
		{"steam.vacuum changes nothing", s("steam.vacuum=9 kPa", "steam.boiling=false"), s("steam.vacuum=9 kPa"), ""},
		// Under 4 m of table and no vacuum the top at 2 m boils at 99.97 °C; with the table at 1 m at
		// 102.6 °C until day 4, the highest.
		{"above the boiling point at its top", s("steam.vacuum=vacuum.csv", "target.zone.temperature=100.1 degC"), s("steam.vacuum=vacuum.csv", "target.zone.temperature=99.8 degC"), "100.0 °C (212.0 °F) at the highest, on day 0"},
		// At most 9.964 kPa of vacuum, from day 2 on: 91.36 kPa boil water at 97.1 °C (steam tables,
		// from memory).
		{"above the least boiling point at its top", s("steam.vacuum=vacuum.csv", "target.zone.temperature=99.8 degC"), s("steam.vacuum=vacuum.csv", "target.zone.temperature=97 degC"), "97.1 °C (206.8 °F) on day 2"},
		{"above the least boiling point at its top", s("steam.vacuum=vacuum.csv", "target.zone.temperature=99.8 degC"), s("target.zone.temperature=99.8 degC"), ""},
		{"that of a law of soil", s("layer.sand.porosity=0.19"), s("layer.sand.porosity=0.2"), "layer.sand"},
		// 0.039·0.05^−2.2 is 28 W/(m·K), and 0.039·0.3^−2.2 is 0.55.
		{"by a law of crushed rock", s("layer.sand.kind=rock", "layer.sand.conductivity_law=johansen", "layer.sand.porosity=0.05"), s("layer.sand.kind=rock", "layer.sand.conductivity_law=johansen", "layer.sand.porosity=0.3"), "layer.sand"},
		{"by a law of crushed rock", s("layer.sand.kind=rock", "layer.sand.conductivity_law=johansen", "layer.sand.porosity=0.05"), s("layer.sand.kind=rock", "layer.sand.porosity=0.05"), "drying then changes nothing"},
		{"by a law of crushed rock", s("layer.sand.kind=rock", "layer.sand.conductivity_law=cote-konrad", "layer.sand.porosity=0.05", "layer.sand.thermal_conductivity=1 W/m/K"), s("layer.sand.kind=rock", "layer.sand.conductivity_law=cote-konrad", "layer.sand.porosity=0.05", "layer.sand.thermal_conductivity=1 W/m/K", "layer.sand.thermal_conductivity_dry=0.9 W/m/K"), ""},
		// A bore is twice its radius of 0.1 m wide; the smallest of the case counts.
		{"wider than the bore", array("mesh.finest=0.201 m"), array("mesh.finest=0.2 m"), "0.201 m (0.6594 ft), are wider than the bore, 0.2 m (0.6562 ft)"},
		{"wider than the bore", rows("electrode.S.radius=0.05 m", "mesh.finest=0.11 m"), rows("electrode.S.radius=0.05 m", "mesh.finest=0.1 m"), "0.1 m (0.3281 ft)"},
	} {
		if got := c.in.cautionOf(t, c.says); got == "" || !strings.Contains(got, c.number) {
			t.Errorf("%q inside its condition, %q: the caution is %q, want one that names %q", c.says, c.in.sets, got, c.number)
		}
		if got := c.out.cautionOf(t, c.says); got != "" {
			t.Errorf("%q outside its condition, %q: the caution is %q, want none", c.says, c.out.sets, got)
		}
	}
}
