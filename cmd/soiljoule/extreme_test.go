package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

// smallCell is one rod in the circle of its own ground, some 300 cells.
const smallCell = `title = "Small cell"
note  = "Invented scenario."
view  = "axisymmetric"
[site]
ambient     = "13 degC"
water_table = "2 m"
[extent]
radius = "2.2 m"
count  = 10
[surface]
air  = "12 degC"
film = "12 W/m2/K"
[[layer]]
name                 = "sand"
bottom               = "2 m"
resistivity          = "150 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity        = "2.1 MJ/m3/K"
porosity             = 0.35
saturation           = 0.5
[[layer]]
name                 = "silt"
bottom               = "7 m"
resistivity          = "25 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity        = "2.9 MJ/m3/K"
porosity             = 0.4
saturation           = 1.0
[[layer]]
name                 = "clay"
resistivity          = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity        = "3.0 MJ/m3/K"
porosity             = 0.45
saturation           = 1.0
[[target]]
name        = "zone"
top         = "2 m"
bottom      = "7 m"
temperature = "95 degC"
[[electrode]]
name               = "E1"
phase              = "A"
top                = "2 m"
bottom             = "7 m"
radius             = "15 cm"
contact_resistance = "0 ohm*m2"
[supply]
phases        = 3
voltage       = "130 V"
voltage_basis = "phase to neutral"
[[sensor]]
name  = "wall"
r     = "20 cm"
depth = ["0 m", "4 m"]
[time]
duration = "20 d"
[mesh]
finest = "15 cm"
`

// smallRows is three rows of rods in the same ground, some 1000 cells.
var smallRows = strings.NewReplacer(
	`view  = "axisymmetric"`, `view  = "section"`,
	"radius = \"2.2 m\"\ncount  = 10", `length = "20 m"`,
	"name        = \"zone\"", "name        = \"zone\"\nleft        = \"0 m\"\nright       = \"6 m\"",
	smallCell[strings.Index(smallCell, "[[electrode]]"):strings.Index(smallCell, "[supply]")], row("E1", "A", "1 m")+row("E2", "B", "3 m")+row("E3", "C", "5 m"),
	`r     = "20 cm"`, `x     = "2 m"`,
	`finest = "15 cm"`, `finest = "50 cm"`,
).Replace(smallCell)

func row(name, phase, x string) string {
	return "[[electrode]]\nname               = \"" + name + "\"\nphase              = \"" + phase + "\"\nx                  = \"" + x +
		"\"\ntop                = \"2 m\"\nbottom             = \"7 m\"\nradius             = \"10 cm\"\nrod_spacing        = \"4 m\"\ncontact_resistance = \"0 ohm*m2\"\n"
}

// extreme is a case that is legal and unusual.
type extreme struct {
	name string
	base string
	sets []string
	edit [2]string // old, new; the text of the case
	code int
	want string // on stdout if the run is done, else on stderr
}

var extremes = []extreme{
	{name: "plain", base: smallCell},
	{name: "plain rows", base: smallRows},
	{name: "no water", base: smallCell, sets: []string{"layer.sand.saturation=0", "layer.silt.saturation=0", "layer.clay.saturation=0"}},
	{name: "no water rows", base: smallRows, sets: []string{"layer.sand.saturation=0", "layer.silt.saturation=0", "layer.clay.saturation=0"}},
	{name: "no pores", base: smallCell, sets: []string{"layer.silt.porosity=0"}},
	{name: "all pores", base: smallCell, sets: []string{"layer.silt.porosity=0.95", "layer.silt.heat_capacity=4.1 MJ/m3/K"}},
	{name: "0.01 ohm m", base: smallCell, sets: []string{"layer.silt.resistivity=0.01 ohm*m"}},
	{name: "0.01 ohm m rows", base: smallRows, sets: []string{"layer.silt.resistivity=0.01 ohm*m"}},
	{name: "1e6 ohm m", base: smallCell, sets: []string{"layer.silt.resistivity=1e6 ohm*m"}, want: "not reached"},
	{name: "1e6 ohm m everywhere", base: smallRows, sets: []string{"layer.sand.resistivity=1e6 ohm*m", "layer.silt.resistivity=1e6 ohm*m", "layer.clay.resistivity=1e6 ohm*m"}, want: "not reached"},
	{name: "eight decades", base: smallCell, sets: []string{"layer.sand.resistivity=1e6 ohm*m", "layer.silt.resistivity=0.01 ohm*m", "layer.clay.resistivity=1e6 ohm*m"}},
	{name: "eight decades the other way", base: smallRows, sets: []string{"layer.sand.resistivity=0.01 ohm*m", "layer.silt.resistivity=1e6 ohm*m", "layer.clay.resistivity=0.01 ohm*m"}},
	{name: "layer of a millimetre", base: smallCell, sets: []string{"layer.sand.bottom=7 m", "layer.silt.bottom=7.001 m"}},
	{name: "layer of a millimetre on top", base: smallRows, sets: []string{"layer.sand.bottom=1 mm"}},
	{name: "conducting film", base: smallCell, sets: []string{"layer.sand.bottom=3 m", "layer.silt.bottom=3.001 m", "layer.silt.resistivity=0.01 ohm*m"}},
	{name: "3000 days", base: smallCell, sets: []string{"time.duration=3000 d", "output.fields_every=1000 d"}},
	{name: "a century", base: smallCell, sets: []string{"time.duration=100 yr"}, code: wrong, want: "output.fields_every: is left at 5 d; must be at least 7.305 d: a run stores at most 5000 fields"},
	{name: "deeper than the steam tables", base: smallCell, sets: []string{"target.zone.top=2900 m", "target.zone.bottom=3000 m"}, code: wrong, want: "outside the range of the steam tables; model less depth, or let nothing boil"},
	{name: "deeper than the steam tables, nothing boils", base: smallCell, sets: []string{"target.zone.top=2900 m", "target.zone.bottom=3000 m"}, edit: [2]string{"[time]", "[steam]\nboiling = false\n[time]"}, want: "not reached"},
	{name: "a second", base: smallCell, sets: []string{"time.duration=1 s"}, want: "not reached"},
	{name: "a picosecond", base: smallCell, sets: []string{"time.duration=1e-12 s"}, want: "not reached"},
	{name: "0 V", base: smallCell, sets: []string{"supply.voltage=0 V"}, want: "not reached"},
	{name: "0 V rows", base: smallRows, sets: []string{"supply.voltage=0 V"}, want: "not reached"},
	{name: "50 kV", base: smallCell, sets: []string{"supply.voltage=50 kV"}, code: failed, want: "passes 2000 °C"},
	{name: "50 kV limited", base: smallCell, sets: []string{"supply.voltage=50 kV", "supply.power_limit=30 kW"}},
	{name: "a milliwatt", base: smallCell, sets: []string{"supply.power_limit=0.001 W"}, want: "not reached"},
	{name: "a nanoampere", base: smallRows, sets: []string{"supply.current_limit=1e-9 A"}, want: "not reached"},
	{name: "no boiling at 2 kV", base: smallCell, edit: [2]string{"[time]", "[steam]\nboiling = false\n[time]"}, sets: []string{"supply.voltage=2 kV"}, code: failed, want: "passes 2000 °C"},
	{name: "rod above the water", base: smallCell, sets: []string{"site.water_table=30 m"}},
	{name: "rod below the water", base: smallCell, sets: []string{"site.water_table=0 m"}},
	{name: "rod through the water table", base: smallRows, sets: []string{"site.water_table=4.5 m"}},
	{name: "no water table", base: smallCell, sets: []string{"site.water_table=none"}},
	{name: "water table at the bottom", base: smallCell, edit: [2]string{"[time]", "[domain]\nbottom = \"12 m\"\n[time]"}, sets: []string{"site.water_table=12 m"}},
	{name: "target at the surface", base: smallCell, sets: []string{"target.zone.top=0 m"}},
	{name: "target at the surface rows", base: smallRows, sets: []string{"target.zone.top=0 m", "target.zone.bottom=1 m"}},
	{name: "rod at the surface", base: smallCell, sets: []string{"electrode.E1.top=0 m"}},
	{name: "target of a millimetre", base: smallCell, sets: []string{"target.zone.top=4 m", "target.zone.bottom=4.001 m"}},
	{name: "target of a millimetre across", base: smallRows, sets: []string{"target.zone.left=2 m", "target.zone.right=2.001 m"}},
	{name: "target of a nanometre", base: smallCell, sets: []string{"target.zone.top=4 m", "target.zone.bottom=4.000000001 m"}, code: wrong, want: "target.zone.bottom=4.000000001 m: makes it 1e-09 m (3.281e-09 ft) thick; must be at least 1 mm"},
	{name: "target beside everything", base: smallRows, sets: []string{"target.zone.left=40 m", "target.zone.right=41 m"}, want: "not reached"},
	{name: "target below the domain's heat", base: smallCell, sets: []string{"target.zone.top=80 m", "target.zone.bottom=90 m"}, want: "not reached"},
	{name: "target colder than the ground", base: smallCell, sets: []string{"target.zone.temperature=-20 degC"}, want: "day 0.0"},
	{name: "target of the bore", base: smallCell, edit: [2]string{`name        = "zone"`, "name        = \"zone\"\nradius      = \"15 cm\""}},
	{name: "cells larger than the ground", base: smallCell, sets: []string{"mesh.finest=10 m"}},
	{name: "cells larger than the ground rows", base: smallRows, sets: []string{"mesh.finest=1.9 m"}},
	{name: "one cell down", base: smallCell, sets: []string{"mesh.finest=10 m", "electrode.E1.top=0 m", "electrode.E1.bottom=6 m", "target.zone.top=0 m", "target.zone.bottom=6 m", "layer.sand.bottom=20 m", "layer.silt.bottom=21 m", "site.water_table=none"},
		edit: [2]string{"[time]", "[domain]\nbottom = \"6.5 m\"\n[time]"}},
	{name: "bore of a millimetre", base: smallCell, sets: []string{"electrode.E1.radius=1 mm", "time.duration=2 d"}},
	{name: "bore of a millimetre, a fine mesh", base: smallCell, sets: []string{"electrode.E1.radius=1 mm", "mesh.finest=1 mm", "time.duration=1 h"}},
	{name: "bore of a micrometre", base: smallCell, sets: []string{"electrode.E1.radius=1e-6 m"}, code: wrong, want: "must be at least 1 mm"},
	{name: "electrode of a micrometre", base: smallRows, sets: []string{"electrode.E1.bottom=2.000001 m"}, code: wrong, want: "must be at least 1 mm"},
	{name: "electrode of a millimetre", base: smallCell, sets: []string{"electrode.E1.bottom=2.001 m", "time.duration=2 d"}},
	{name: "rods of a millimetre", base: smallRows, sets: []string{"electrode.E1.radius=1 mm", "electrode.E2.radius=1 mm", "electrode.E3.radius=1 mm"}},
	{name: "bore nearly the cell", base: smallCell, sets: []string{"electrode.E1.radius=2.19 m"}},
	{name: "contact of a megohm", base: smallCell, sets: []string{"electrode.E1.contact_resistance=1e6 ohm*m2"}, want: "not reached"},
	{name: "contact of a megohm in one row", base: smallRows, sets: []string{"electrode.E2.contact_resistance=1e6 ohm*m2"}},
	{name: "film of nothing", base: smallCell, sets: []string{"surface.film=1e-9 W/m2/K"}},
	{name: "film of a million", base: smallCell, sets: []string{"surface.film=1e6 W/m2/K"}},
	{name: "cover of a thousand", base: smallRows, sets: []string{"surface.cover=1000 m2*K/W"}},
	{name: "boiling at 5000 m", base: smallCell, sets: []string{"site.elevation=5000 m", "supply.voltage=200 V", "target.zone.temperature=boiling"}},
	{name: "boiling below the sea", base: smallRows, sets: []string{"site.elevation=-500 m", "supply.voltage=300 V", "target.zone.temperature=boiling"}},
	{name: "found nearly boiling", base: smallCell, sets: []string{"site.ambient=95 degC", "site.elevation=1000 m", "site.water_table=none"}},
	{name: "found above boiling", base: smallCell, sets: []string{"site.ambient=95 degC", "site.elevation=5000 m", "site.water_table=none"}},
	{name: "found frozen", base: smallCell, sets: []string{"site.ambient=-50 degC"}},
	{name: "air of 60 degrees on ice", base: smallRows, sets: []string{"site.ambient=-50 degC", "surface.air=60 degC", "surface.film=1e6 W/m2/K"}},
	{name: "steep law", base: smallCell, sets: []string{"layer.silt.temperature_coefficient=0.04 1/K", "layer.silt.resistivity_at=100 degC"}},
	{name: "steep law below its zero", base: smallCell, sets: []string{"layer.silt.temperature_coefficient=0.04 1/K", "layer.silt.resistivity_at=100 degC", "site.ambient=-50 degC"}},
	{name: "nothing left when dry", base: smallCell, sets: []string{"layer.silt.residual_conductivity=1e-6", "layer.silt.inflow=none", "supply.voltage=300 V"}},
	{name: "all left when dry", base: smallCell, sets: []string{"layer.silt.residual_conductivity=1", "layer.silt.inflow=none", "supply.voltage=300 V"}, code: failed, want: "passes 2000 °C"},
	{name: "dry when wet", base: smallCell, sets: []string{"layer.silt.dry_saturation=1", "layer.silt.inflow=none", "supply.voltage=300 V", "time.duration=10 d"}},
	{name: "dry to the last drop", base: smallCell, sets: []string{"layer.silt.dry_saturation=0", "layer.silt.residual_conductivity=1e-6", "layer.silt.inflow=none", "supply.voltage=300 V"}},
	{name: "all removable", base: smallCell, sets: []string{"layer.silt.removable_water=1", "supply.voltage=300 V"}},
	{name: "none removable", base: smallCell, sets: []string{"layer.silt.removable_water=0", "supply.voltage=300 V"}},
	{name: "steep saturation", base: smallCell, sets: []string{"layer.silt.saturation_exponent=10", "layer.silt.inflow=none", "supply.voltage=300 V"}},
	{name: "inflow of a thousand a day", base: smallCell, sets: []string{"layer.silt.inflow=1000 1/d", "layer.silt.refill_rate=1000 1/d", "supply.voltage=300 V"}},
	{name: "inflow of nothing", base: smallCell, sets: []string{"layer.silt.inflow=0 1/d", "supply.voltage=300 V"}},
	{name: "held hot below and beside", base: smallRows, edit: [2]string{"[time]", "[domain]\nbelow = \"400 degC\"\nsides = \"400 degC\"\n[time]"}},
	{name: "light ground", base: smallCell, sets: []string{"layer.sand.heat_capacity=0.05 MJ/m3/K", "layer.sand.saturation=0", "layer.sand.thermal_conductivity=20 W/m/K"}},
	{name: "coarse tolerance", base: smallCell, sets: []string{"time.tolerance=5 K", "supply.voltage=300 V"}},
	{name: "fine tolerance", base: smallCell, sets: []string{"time.tolerance=0.001 K", "time.duration=1 d"}},
	{name: "a thousandth of a cell", base: smallCell, sets: []string{"extent.count=0.001"}},
	{name: "a millimetre of site", base: smallRows, sets: []string{"extent.length=1 mm"}},
}

// runExtreme runs one, and holds what it leaves to the promises of every run.
func runExtreme(t *testing.T, x extreme) outcome {
	t.Helper()
	text := x.base
	if x.edit[0] != "" {
		if !strings.Contains(text, x.edit[0]) {
			t.Fatalf("the case has no %q", x.edit[0])
		}
		text = strings.Replace(text, x.edit[0], x.edit[1], 1)
	}
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	args := []string{"run", write(t, dir, "extreme.toml", text), "-o", out, "-q", "--no-figures"}
	for _, s := range x.sets {
		args = append(args, "--set", s)
	}
	o := must(t, x.code, args...)
	said := o.out
	if x.code != done {
		said = strings.Replace(o.err, "results in "+out+"\n", "", 1)
		if n := strings.Count(said, "\n"); n != 1 {
			t.Errorf("the run ended with %d and %d lines, want one clear line:\n%s", o.code, n, said)
		}
	}
	if !strings.Contains(said, x.want) || strings.Contains(o.out+o.err, "NaN") {
		t.Errorf("the run says\n%s%swant %q in it, and no number that is none", o.out, o.err, x.want)
	}
	if x.code != wrong {
		wholeFolder(t, out, text)
	}
	return o
}

// TestExtremes: cases that are legal and unusual end in a result with a closed
// ledger, or in one clear line.
func TestExtremes(t *testing.T) {
	if testing.Short() {
		t.Skip("runs some seventy cases")
	}
	for i, x := range extremes {
		if !long && i%8 != 0 {
			continue
		}
		t.Run(x.name, func(t *testing.T) {
			runExtreme(t, x)
		})
	}
}

// TestGroundWithoutPores: the resistivity of a layer is that as found, pores or not:
// ground that holds no water cannot have dried.
func TestGroundWithoutPores(t *testing.T) {
	path := write(t, t.TempDir(), "case.toml", smallCell)
	amperes := func(porosity string) float64 {
		t.Helper()
		var c struct {
			Electrodes []struct {
				A float64 `json:"model_A"`
			} `json:"electrodes"`
		}
		o := must(t, done, "check", path, "--json", "--set", "layer.silt.porosity="+porosity)
		if err := json.Unmarshal([]byte(o.out), &c); err != nil {
			t.Fatal(err)
		}
		return c.Electrodes[0].A
	}
	// Nothing but the porosity differs, and the cold current does not know it: equal
	// but for the rounding of S = W/(φρ) and its power.
	if got, want := amperes("0"), amperes("0.4"); got < want*(1-1e-9) || got > want*(1+1e-9) {
		t.Errorf("a rod in ground of porosity 0 draws %g A cold, want the %g A of porosity 0.4 at the same resistivity", got, want)
	}
}
