package cases

import (
	"strings"
	"testing"
)

// added is a row of water at an electrode of the sound cases.
func added(electrode, rest string) []edit {
	return []edit{{"[time]", "[[water_added]]\nelectrode = \"" + electrode + "\"\nrate = \"1 gpm\"\n" + rest + "[time]"}}
}

// brokenSteam are faults of steam and of water added, told with the line and what is
// allowed.
var brokenSteam = []broken{
	{
		name:  "an interval with one end",
		edits: []edit{{"[time]", "[steam]\nfate = \"rising\"\ntop = \"3 ft\"\n[time]"}},
		want: `
yard.toml:57: steam.bottom: is missing; the interval in which steam is extracted needs both its depths`,
	},
	{
		name:  "an interval with the other end",
		edits: []edit{{"[time]", "[steam]\nbottom = \"3 ft\"\n[time]"}},
		want: `
yard.toml:57: steam.top: is missing; the interval in which steam is extracted needs both its depths`,
	},
	{
		name:  "an interval upside down, and a share in per cent",
		edits: []edit{{"[time]", "[steam]\ntop = \"6 ft\"\nbottom = \"3 ft\"\ncapture_share = 90\n[time]"}},
		want: `
yard.toml:59: steam.bottom = 3 ft: must be below the top, 1.829 m (6 ft)
yard.toml:60: steam.capture_share = 90: must be between 0 and 1 (a fraction; 90 % is 0.9)`,
	},
	{
		name:  "an interval thinner than any row",
		edits: []edit{{"[time]", "[steam]\ntop = \"1 m\"\nbottom = \"1.0005 m\"\n[time]"}},
		want: `
yard.toml:59: steam.bottom = 1.0005 m: makes it 0.0005 m (0.00164 ft) thick; must be at least 1 mm`,
	},
	{
		name:  "a share of no interval",
		edits: []edit{{"[time]", "[steam]\nfate = \"rising\"\ncapture_share = \"90 %\"\n[time]"}},
		want: `
yard.toml:59: steam.capture_share = 90 %: acts on nothing: it is of the interval from steam.top to steam.bottom, which is not given`,
	},
	{
		name:  "an interval below the layers",
		edits: []edit{{"[time]", "[steam]\ntop = \"3 ft\"\nbottom = \"31 ft\"\n[time]"}, {"name = \"clay\"\n", "name = \"clay\"\nbottom = \"30 ft\"\n"}},
		want: `
yard.toml:60: steam.bottom = 31 ft: must be within the layers, which end at 9.144 m (30 ft)`,
	},
	{
		name:  "an interval below the modelled ground",
		edits: []edit{{"[time]", "[steam]\ntop = \"30 ft\"\nbottom = \"31 ft\"\n[domain]\nbottom = \"30 ft\"\n[time]"}},
		want: `
yard.toml:58: steam.top = 30 ft: is below the modelled ground, which ends at 9.144 m (30 ft): no steam comes there`,
	},
	{
		name:  "an interval in the slab of a plan",
		base:  soundPlan,
		edits: []edit{{"[time]", "[steam]\ntop = \"1 m\"\nbottom = \"2.1 m\"\n[time]"}},
		want: `
yard.toml:59: steam.bottom = 2.1 m: must not be below extent.top, 2 m (6.562 ft): of a plan the interval is above the slab, where its steam comes through`,
	},
	{
		name:  "a barrier that boils, and a field capacity below what stays when dry",
		edits: []edit{{"porosity = 0.35", "porosity = 0.35\nfield_capacity = 0.04"}, {"porosity = 0.45", "porosity = 0.45\nsteam_barrier = true"}},
		want: `
yard.toml:18: layer.sand.field_capacity = 0.04: must be at least dry_saturation, 0.05: drier ground does not drain
yard.toml:26: layer.clay.steam_barrier = true: must be false of a layer that holds ground of the first target, zone: it boils there, and its steam must leave`,
	},
	{
		name:  "a field capacity of nothing",
		edits: []edit{{"porosity = 0.35\nsaturation = 0.5", "porosity = 0\nsaturation = 0\nfield_capacity = 0.2"}},
		want: `
yard.toml:19: layer.sand.field_capacity = 0.2: must not be given where the porosity is 0`,
	},
	{
		name:  "water at an electrode that is not there",
		edits: added("e3", ""),
		want: `
yard.toml:58: water_added[1].electrode = e3: must be the name of an electrode; nearest is E1; there are E1 and E2`,
	},
	{
		name:  "water at an array's electrode that is not there",
		base:  soundArray,
		edits: added("E99", ""),
		want: `
yard.toml:48: water_added[1].electrode = E99: must be the name of an electrode; nearest is E9; there are E1, E2, E3, E4, E5 and 4 more; or of an array, for each of its electrodes: E`,
	},
	{
		name:  "water that ends before it begins",
		edits: added("E1", "from = \"9 d\"\nto = \"9 d\"\n"),
		want: `
yard.toml:61: water_added[1].to = 9 d: must be later than from, 9 d`,
	},
	{
		name:  "water that ends before a date, of which there is none",
		edits: added("E1", "to = 2026-05-01\n"),
		want: `
yard.toml:60: water_added[1].to = 2026-05-01: is a date, which needs time.power_on; or write "12 d" since power-on`,
	},
	// Water boils at 100.0 °C under 101 325 Pa and 0.3 m of water: the boiling point at the
	// rods' upper end, 8 ft, with the water table at 7 ft.
	{
		name:  "water hotter than boiling, and a rate without a unit",
		edits: []edit{{"[time]", "[[water_added]]\nelectrode = \"E1\"\nrate = 2\n[[water_added]]\nelectrode = \"E2\"\nrate = \"2 L/min\"\ntemperature = \"101 degC\"\n[time]"}},
		want: `
yard.toml:59: water_added[1].rate = 2: needs its unit: write "2 gpm" or "2 L/min"
yard.toml:63: water_added[2].temperature = 101 degC: must be below the boiling point at the electrode's upper end, 100.8 °C: hotter water would flash as it leaves the bore`,
	},
	// From day 2 on 40 inH2O, 9.964 kPa, are taken off the 104.31 kPa there: at 3.5 kPa a
	// kelvin 2.8 K of the 100.8 °C.
	{
		name:  "water that a vacuum lets flash later",
		edits: append(added("E1", "temperature = \"99.9 degC\"\n"), edit{"[time]", "[steam]\nvacuum = \"vacuum.csv\"\n[time]"}),
		want: `
yard.toml:60: water_added[1].temperature = 99.9 degC: must be below the boiling point at the electrode's upper end, 97.99 °C on day 2: hotter water would flash as it leaves the bore`,
	},
	{
		name:  "water where nothing boils",
		edits: append(added("E1", ""), edit{"[time]", "[steam]\nboiling = false\n[time]"}),
		want:  `yard.toml:57: water_added[1]: must not stand where nothing boils (steam.boiling = false): water is not followed there`,
	},
	{
		name:  "water that is ice",
		edits: append(added("E1", ""), edit{`ambient = "55.4 degF"`, `ambient = "-3 degC"`}),
		want: `
yard.toml:57: water_added[1].temperature: is left at site.ambient, -3 °C; must be at least 0 °C`,
	},
	{
		name:  "water into ground without pores",
		edits: append(added("E1", ""), edit{"porosity = 0.45\nsaturation = 1.0", "porosity = 0\nsaturation = 1.0"}),
		want: `
yard.toml:58: water_added[1].electrode = E1: stands in ground without pores, which takes no water`,
	},
	{
		name:  "water of a flux",
		edits: []edit{{"[time]", "[[water_added]]\nelectrode = \"E1\"\nrate = \"1 ft/d\"\n[time]"}},
		want: `
yard.toml:59: water_added[1].rate = 1 ft/d: is a water flux; must be a flow in m3/s, m3/h, L/s, L/min, L/h or gpm`,
	},
	{
		name:  "water without an electrode in the case",
		base:  heated,
		edits: added("E1", ""),
		want:  `yard.toml:40: water_added[1]: adds water at nothing: the case has neither [[electrode]] nor [[array]]`,
	},
}

// TestBrokenSteam: each prints exactly this.
func TestBrokenSteam(t *testing.T) {
	for _, b := range brokenSteam {
		t.Run(b.name, func(t *testing.T) {
			if got, want := parseBroken(t, b), strings.TrimSpace(b.want); got != want {
				t.Errorf("printed\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// TestTooMuchWaterOfArrays: rows of water that an array makes more than a case may have
// are refused, not read.
func TestTooMuchWaterOfArrays(t *testing.T) {
	row := "[[water_added]]\nelectrode = \"E\"\nrate = \"1 gpm\"\n"
	got := parseBroken(t, broken{base: soundArray, edits: []edit{{"[time]", strings.Repeat(row, 300) + "[time]"}}})
	if want := "yard.toml:47: water_added[1]: is one of more than 2000 rows that those of arrays come to; make them fewer"; got != want {
		t.Errorf("300 rows of water at an array of nine print\n%s\nwant\n%s", got, want)
	}
}

// TestNoBarrierInAPlan: a plan refuses a barrier and says why.
func TestNoBarrierInAPlan(t *testing.T) {
	got := parseBroken(t, broken{base: soundPlan, edits: []edit{{"saturation = 1.0", "saturation = 1.0\nsteam_barrier = true"}}})
	want := "yard.toml:19: layer.clay.steam_barrier = true: not a key of this view (plan): steam of a plan's slab rises in the column of ground above it and does not spread; keys of [[layer]] are "
	if !strings.HasPrefix(got, want) {
		t.Errorf("printed\n%s\nwant\n%s…", got, want)
	}
}
