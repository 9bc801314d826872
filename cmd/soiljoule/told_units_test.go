package main

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestCheckTellsBothSystems: check tells every length and temperature in the case's own
// units and in the others in brackets: what is left without the brackets has none of those.
// Its JSON is the same, in SI, whatever the case's units. By hand: the yard's rods end at
// 13.5 ft, those of the circle in a slab that ends at 23 ft. Water boils at 99.97 °C under an
// atmosphere (steam tables, from memory), and at 94.93 °C, 202.9 °F, under 84.4 kPa, what 5
// inHg leave of it.
func TestCheckTellsBothSystems(t *testing.T) {
	if testing.Short() {
		t.Skip("no run: nothing happens at the same time")
	}
	demo := func(name string) string { return filepath.Join("..", "..", "cases", name+".toml") }
	inner := regexp.MustCompile(`\([^()]*\)`)
	alone := map[string]*regexp.Regexp{
		"us": regexp.MustCompile(`\d (m|mm|m/d|°C)([ ,.:;)]|$)`),
		"si": regexp.MustCompile(`\d (ft|ft/d|°F)([ ,.:;)]|$)|\d in apart`),
	}
	seconds := regexp.MustCompile(`"estimated_seconds": .*`)
	for _, c := range []struct {
		file   string
		sets   []string
		us, si []string
	}{
		{demo("paved-yard"), []string{"domain.bottom=20 ft", "site.ambient=-5 degC", "mesh.finest=9 in", "target[1].bottom=13.1 ft"},
			[]string{"water boils at 212.0 °F (100.0 °C) at the water table", "too near: domain.bottom: 6.50 ft (1.98 m) beyond", "2000 @ 77 °F (25 °C)", "(23 °F, -5 °C)", "77 to 212 °F (25 to 100 °C)", "1.2 in (30.5 mm) apart"},
			[]string{"water boils at 100.0 °C (212.0 °F) at the water table", "too near: domain.bottom: 1.98 m (6.50 ft) beyond", "2000 @ 25 °C (77 °F)", "(-5 °C, 23 °F)", "25 to 100 °C (77 to 212 °F)", "30.5 mm (1.2 in) apart"}},
		{demo("warm-zone"), []string{"control.setpoint=160 degC", "domain.right=70 ft", "target[1].temperature=150 degC"},
			[]string{"setpoint, 320 °F (160 °C)", "at 302.0 °F (150.0 °C)", "that water carries a front"}, []string{"setpoint, 160 °C (320 °F)", "at 150.0 °C (302.0 °F)"}},
		{demo("tank-circle"), []string{"domain.bottom=40 ft", "domain.left=-30 ft", "mesh.finest=6 ft", "extent.bottom=23 ft", "surface.infiltration=0.1 in/d", "layer[2].groundwater=0.02 ft/d"},
			[]string{"too near: domain.bottom: 17.00 ft (5.18 m)", "8 ft (2.438 m) to 23 ft (7.01 m)", "Cells of 6 ft (1.829 m)"}, []string{"too near: domain.bottom: 5.18 m (17.00 ft)", "Cells of 1.829 m (6 ft)"}},
		{drained(t, t.TempDir()), []string{"mesh.wall=2 in"},
			[]string{"between 202.9 °F (94.9 °C) on day 1 and", "between 7 and 12 ft (2.13 and 3.66 m) deep", "wall cells of"}, []string{"between 94.9 °C (202.9 °F) on day 1 and", "between 2.13 and 3.66 m (7 and 12 ft) deep"}},
	} {
		json := map[string]string{}
		for units, wants := range map[string][]string{"us": c.us, "si": c.si} {
			args := []string{"check", c.file, "--set", "output.units=" + units}
			for _, s := range c.sets {
				args = append(args, "--set", s)
			}
			out := must(t, done, args...).out
			for _, want := range wants {
				if !strings.Contains(out, want) {
					t.Errorf("%s in %s: check does not say %q:\n%s", filepath.Base(c.file), units, want, out)
				}
			}
			for _, line := range strings.Split(out, "\n") {
				bare := line
				for inner.MatchString(bare) {
					bare = inner.ReplaceAllString(bare, "")
				}
				if bad := alone[units].FindString(bare); bad != "" {
					t.Errorf("%s in %s: %q stands first or alone in\n%s", filepath.Base(c.file), units, bad, line)
				}
			}
			json[units] = seconds.ReplaceAllString(must(t, done, append(args, "--json")...).out, "")
		}
		if json["us"] != json["si"] {
			t.Errorf("%s: the JSON of check differs with output.units", filepath.Base(c.file))
		}
	}
}

// TestZeroHasNoSign: what rounds to nothing is written without a sign, all else with its own.
func TestZeroHasNoSign(t *testing.T) {
	for _, c := range []struct {
		v, largest float64
		want       string
	}{{-0.4, 1e5, "0"}, {-0.6, 1e5, "-1"}, {0, 1e5, "0"}, {-10, 1e5, "-10"}, {-0.004, 200, "0.0"}, {-0.06, 200, "-0.1"}, {-100, 200, "-100.0"}} {
		if got := amount(c.v, c.largest); got != c.want {
			t.Errorf("amount(%g, %g) = %q, want %q", c.v, c.largest, got, c.want)
		}
	}
}
