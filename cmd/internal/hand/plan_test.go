package hand

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soiljoule/cases"
)

const plan = `title = "Plan"
note = "Invented scenario."
view = "plan"
site = { ambient = "10 degC", water_table = "none", resistivity_at = "10 degC" }
extent = { top = "2 m", bottom = "7 m" }
surface.air = "10 degC"
[[layer]]
name = "sand"
bottom = "4 m"
resistivity = "60 ohm*m"
thermal_conductivity = "2 W/m/K"
heat_capacity = "2 MJ/m3/K"
porosity = 0.3
saturation = 0.5
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.4
saturation = 1
[[target]]
name = "circle"
center = ["0 m", "0 m"]
radius = "4 m"
temperature = "90 degC"
[[array]]
ARRAY
top = "2 m"
bottom = "7 m"
radius = "10 cm"
[supply]
phases = PHASES
voltage = "100 V"
voltage_basis = "phase to neutral"
[time]
duration = "50 d"
`

func load(t *testing.T, text string, sets ...string) *cases.Case {
	t.Helper()
	path := filepath.Join(t.TempDir(), "case.toml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := cases.Load(path, sets)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestPlanByHand: a plan gives what a section does: its ring or grid, the slab between its
// depths, the volume of its figure.
// Source: own arithmetic on the case: 2 m of 60 Ω·m beside 3 m of 20 Ω·m carry Σℓ/ρ = 0.1833 S,
// at a voltage V the ring's I = 2πV Σℓ/ρ/ln(2√3 R/a), of three phases √3/2 in place of 2√3;
// heat crosses 2/2 + 3/1 m²K/W; a circle of 4 m, 5 m deep, is 80π m³. Seven digits are handed on.
func TestPlanByHand(t *testing.T) {
	const ring = "pattern = \"ring\"\ncenter = [\"0 m\", \"0 m\"]\ndiameter = \"6 m\""
	carry := 2.0/60 + 3.0/20
	for phases, log := range map[string]float64{"6": 2 * math.Sqrt(3) * 30, "3": math.Sqrt(3) / 2 * 30} {
		c := load(t, strings.NewReplacer("ARRAY", ring, "PHASES", phases).Replace(plan))
		a, err := Find("ring").WorkOut(c, nil)
		if err != nil {
			t.Fatal(err)
		}
		want := 100 * 2 * math.Pi * carry / math.Log(log)
		near(t, phases+" phases: current of one rod as given [A]", *a.Table.Rows[0].Values[5], want, 1e-6*want)
		if s := FromCase(c); len(s.Calculations) < 7 {
			t.Errorf("the plan allows %d calculations, want at least 7; without %+v", len(s.Calculations), s.Without)
		}
	}
	c := load(t, strings.NewReplacer("ARRAY", "pattern = \"triangular\"\nspacing = \"3 m\"", "PHASES", "3").Replace(plan))
	grid, err := Find("grid").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * 2 * math.Pi * carry / math.Log(0.5660*30)
	near(t, "current of one rod of the grid as given [A]", *grid.Table.Rows[0].Values[5], want, 1e-4*want)
	// Of a triangular grid at 3 m with its middle a quarter between two places of a row and half
	// between two rows, 3 + 3 places lie within 3.78 m at y = ±1.30 m, 1 + 1 within 0.89 m at ±3.90 m.
	if rods, _ := rodsOf(c); rods["count"] != 8.0 {
		t.Errorf("the array has %v rods, want 8", rods["count"])
	}
	volume, ok := volumeOf(c)
	near(t, "volume [m³]", volume, 80*math.Pi, 1e-9)
	slab, _ := slabOf(c)
	if !ok || math.Abs(slab["thermal_conductivity"].(float64)-5.0/4) > 1e-12 || math.Abs(slab["heat_capacity"].(float64)-2.6e6) > 1e-6 {
		t.Errorf("the slab is %v, want 1.25 W/m/K and 2.6 MJ/m3/K", slab)
	}
	for _, name := range []string{"ring", "rows"} {
		if _, err := Find(name).WorkOut(c, nil); err == nil {
			t.Errorf("hand %s takes a triangular array of a plan", name)
		}
	}
}

// TestRingAroundNeutralByHand: an electrode on the neutral in the middle of a ring, where the
// potential is 0, carries nothing: the ring's answer is that without it, and half of the power
// is outside the ring as without it.
// Source: own derivation, superposition: Σ I cos(jπ/3) over the six is 0. Seven digits are handed on.
func TestRingAroundNeutralByHand(t *testing.T) {
	const ring = "pattern = \"ring\"\ncenter = [\"0 m\", \"0 m\"]\ndiameter = \"8 m\"\ncenter_neutral = true"
	c := load(t, strings.NewReplacer("ARRAY", ring, "PHASES", "6\nneutral = \"grounded\"\npower_limit = \"20 kW\"").Replace(plan))
	a, err := Find("ring").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * 2 * math.Pi * (2.0/60 + 3.0/20) / math.Log(2*math.Sqrt(3)*40)
	near(t, "current of one rod as given [A]", *a.Table.Rows[0].Values[5], want, 1e-6*want)
	f, why := Find("heat-up").fill(c)
	if f["share"] != 0.5 {
		t.Errorf("heat-up takes a share of %v of the power into the circle, want 0.5 %s", f["share"], why)
	}
}

// TestWaterByHand: groundwater of a section's layers goes through the face of its target.
// Source: own arithmetic: 3 of 5 m carry 1 m/d, through 5 × 20 m: 60 m³/d. Seven digits are
// handed on.
func TestWaterByHand(t *testing.T) {
	text := strings.NewReplacer("ARRAY", "pattern = \"rectangular\"\nspacing = \"4 m\"", "PHASES", "3", `view = "plan"`, `view = "section"`,
		`extent = { top = "2 m", bottom = "7 m" }`, `extent = { length = "20 m" }`, "center = [\"0 m\", \"0 m\"]\nradius = \"4 m\"", "left = \"-8 m\"\nright = \"8 m\"\ntop = \"2 m\"\nbottom = \"7 m\"",
		`water_table = "none"`, `water_table = "4 m"`).Replace(plan)
	c := load(t, text, `layer.clay.groundwater="1000 mm/d"`)
	a, err := Find("groundwater").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range a.Results {
		if r.Name == "flow" {
			near(t, "flow [L/min]", *r.SI, 60e3/1440, 1e-5)
			return
		}
	}
	t.Errorf("there is no flow in %+v", a.Results)
}
