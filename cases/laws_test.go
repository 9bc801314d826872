package cases

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestLawsRefused: what a kind of ground does not have, and ground that conducts heat
// better dry than as found, is refused with what is allowed.
func TestLawsRefused(t *testing.T) {
	for _, c := range []struct {
		sets []string
		says string // "": accepted
	}{
		{[]string{"layer.sand.kind=rock", "layer.sand.texture=sand"}, "--set layer.sand.texture=sand: is no key of rock"},
		{[]string{"layer.sand.kind=rock", "layer.sand.conductivity_law=geometric-mean"}, ""},
		{[]string{"layer.sand.kind=rock", "layer.sand.conductivity_law=johansen"}, ""},
		{[]string{"layer.sand.conductivity_law=geometric-mean"}, `--set layer.sand.conductivity_law=geometric-mean: must be "cote-konrad" or "johansen"`},
		{[]string{"layer.sand.texture=peat"}, ""},
		{[]string{"layer.sand.texture=peat", "layer.sand.conductivity_law=johansen"}, `--set layer.sand.texture=peat: needs conductivity_law = "cote-konrad"`},
		{[]string{"layer.sand.texture=loam"}, `--set layer.sand.texture=loam: must be "fine", "sand", "gravel" or "peat"`},
		{[]string{"layer.sand.kind=ice"}, `--set layer.sand.kind=ice: must be "soil" or "rock"`},
		{[]string{"layer.sand.conductivity_law=somerton"}, `--set layer.sand.conductivity_law=somerton: must be "cote-konrad", "johansen" or "geometric-mean"`},
		{[]string{"layer.sand.thermal_conductivity_dry=1.51 W/m/K"}, "--set layer.sand.thermal_conductivity_dry=1.51 W/m/K: must be at most thermal_conductivity, 1.5 W/m/K"},
		{[]string{"layer.sand.thermal_conductivity_dry=1.5 W/m/K"}, ""},
	} {
		_, err := Parse("case.toml", []byte(wiredSection), ".", c.sets)
		switch {
		case c.says == "" && err != nil:
			t.Errorf("%q is refused: %v", c.sets, err)
		case c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%q gives %v, want %q", c.sets, err, c.says)
		case c.says != "" && strings.Count(err.Error(), "\n") > 0:
			t.Errorf("%q gives more than one fault: %v", c.sets, err)
		}
	}
}

// TestLawsComeBack: a case as understood, of rock and peat that conduct as badly as a file
// may say, loads again to the same case.
func TestLawsComeBack(t *testing.T) {
	for _, sets := range [][]string{
		{"layer.sand.kind=rock"},
		{"layer.sand.kind=rock", "layer.sand.thermal_conductivity=0.01 W/m/K", "layer.sand.porosity=0.95", "layer.sand.saturation=1", "layer.sand.heat_capacity=5 MJ/m3/K"},
		{"layer.sand.kind=rock", "layer.sand.conductivity_law=cote-konrad"},
		{"layer.sand.texture=peat", "layer.clay.texture=gravel", "layer.clay.conductivity_law=johansen"},
	} {
		c, _ := mustParse(t, wiredSection, sets...).Expand()
		var b bytes.Buffer
		if err := c.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		sameCase(t, mustParse(t, b.String()), c)
	}
}

// TestUnusual: layers outside what is measured are named with the number, layers just
// inside are not. Of the sand, 0.2 of its volume is water, 0.998·4.19·0.2 = 0.837 MJ/(m³·K)
// at 10 °C (steam tables, from memory), 0.6 is solids.
func TestUnusual(t *testing.T) {
	sand := func(sets ...string) []string {
		for i := range sets {
			sets[i] = "layer.sand." + sets[i]
		}
		return sets
	}
	quartz := math.Pow(7.7, 0.6) * math.Pow(0.57, 0.4)
	for _, c := range []struct {
		says    string
		in, out []string
		number  string
	}{
		{"to the solids", sand("heat_capacity=2.41 MJ/m3/K"), sand("heat_capacity=2.39 MJ/m3/K"), "2.62"},
		{"to the solids", sand("heat_capacity=1.91 MJ/m3/K"), sand("heat_capacity=1.92 MJ/m3/K"), "1.79"},
		{"which is measured of soil", sand("thermal_conductivity=4.6 W/m/K", "saturation=1"), sand("thermal_conductivity=4.5 W/m/K", "saturation=1"), "0.12 to 4.6"},
		{"which is measured of soil", sand("thermal_conductivity=0.11 W/m/K"), sand("thermal_conductivity=0.13 W/m/K"), "0.11"},
		{"which is measured of rock", sand("kind=rock", "thermal_conductivity=9.4 W/m/K"), sand("kind=rock", "thermal_conductivity=9.3 W/m/K"), "0.42 to 9.3"},
		{"rock has that is not loose", sand("kind=rock", "porosity=0.36"), sand("kind=rock", "porosity=0.35"), "0.36"},
		{"rock has that is not loose", sand("kind=rock", "porosity=0.36"), sand("porosity=0.36"), "0.36"},
		// Ke of silt and clay at 0.1 is 0.19/1.09: 0.65 found leads to 2.58 when wet, 0.7 to 2.86.
		{"than quartz could have", sand("thermal_conductivity=0.7 W/m/K", "saturation=0.1"), sand("thermal_conductivity=0.65 W/m/K", "saturation=0.1"), fmt.Sprintf("held at %.3g", quartz)},
		{"than quartz could have", sand("thermal_conductivity=0.7 W/m/K", "saturation=0.1"), sand("thermal_conductivity=0.7 W/m/K", "saturation=0.1", "texture=gravel"), "look at texture"},
		{"that of a law of soil", sand("porosity=0.19", "heat_capacity=2.2 MJ/m3/K"), sand("porosity=0.2"), "0.19"},
		{"that of a law of soil", sand("porosity=0.19"), sand("porosity=0.19", "kind=rock"), "0.19"},
		{"that of a law of soil", sand("porosity=0.19"), sand("porosity=0.19", "thermal_conductivity_dry=1 W/m/K"), "0.19"},
		{"that of a law of soil", sand("porosity=0.19"), sand("porosity=0.19", "saturation=0"), "0.19"},
	} {
		find := func(sets []string) string {
			for _, line := range mustParse(t, wiredSection, sets...).unusual() {
				if strings.Contains(line, c.says) {
					return line
				}
			}
			return ""
		}
		if got := find(c.in); !strings.HasPrefix(got, "layer.sand: ") || !strings.Contains(got, c.number) {
			t.Errorf("with %q is said %q, want a line of the sand with %q", c.in, got, c.number)
		}
		if got := find(c.out); got != "" {
			t.Errorf("with %q is said %q, want nothing", c.out, got)
		}
	}
}

// TestSlabOfUnlikeLaws: a slab of layers with laws that differ has the one of the layer
// that carries more heat, and the caution says so.
func TestSlabOfUnlikeLaws(t *testing.T) {
	for _, c := range []struct {
		sets []string
		want string
	}{ // sand has a quarter of the slab, clay 1.35 W/(m·K)
		{[]string{"layer.sand.kind=rock", "layer.sand.thermal_conductivity=4 W/m/K"}, "soil cote-konrad fine"},
		{[]string{"layer.sand.kind=rock", "layer.sand.thermal_conductivity=4.1 W/m/K"}, "rock geometric-mean fine"},
		{[]string{"layer.clay.texture=gravel", "layer.clay.conductivity_law=johansen"}, "soil johansen gravel"},
	} {
		x, _ := mustParse(t, layeredPlan, c.sets...).Expand()
		slab := x.slab()
		if got := slab.Kind + " " + slab.ConductivityLaw + " " + slab.Texture; got != c.want {
			t.Errorf("with %q the slab is of %q, want %q", c.sets, got, c.want)
		}
		if text := strings.Join(x.slabCaution(), "\n"); !strings.Contains(text, "conductivity_law") {
			t.Errorf("with %q the slab's caution does not name conductivity_law: %s", c.sets, text)
		}
	}
}
