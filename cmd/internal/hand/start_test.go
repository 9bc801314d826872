package hand

import (
	"math"
	"strings"
	"testing"
)

// named returns an input or a result of an answer [SI].
func named(t *testing.T, a *Answer, name string) float64 {
	t.Helper()
	for _, in := range a.Inputs {
		if in.Name == name && in.SI != nil {
			return *in.SI
		}
	}
	for _, r := range a.Results {
		if r.Name == name {
			return *r.SI
		}
	}
	t.Fatalf("%s has no %s: %+v", a.Name, name, a.Inputs)
	return 0
}

// TestPlanWaterByHand: groundwater of a plan's slab goes through the face of its target across
// the flow, at the size of its layers' mean as vectors.
// Source: own arithmetic. 3 of 5 m carry 1 m/d towards 30°, so 0.6 m/d through 5 m × the circle's
// 8 m: 24 m³/d. With 0.5 m/d towards 0° in the other 2 m and 1 m/d towards 90° in the 3 m the
// mean is (0.2, 0.6) m/d, 0.6325; across it a rectangle of 6 by 2 m along x and y is
// (6·0.6 + 2·0.2)/0.6325 m wide: 5·(6·0.6 + 2·0.2) = 20 m³/d. Seven digits are handed on.
func TestPlanWaterByHand(t *testing.T) {
	text := strings.NewReplacer("ARRAY", "pattern = \"triangular\"\nspacing = \"3 m\"", "PHASES", "3", `water_table = "none"`, `water_table = "1 m"`).Replace(plan)
	flow := func(want float64, note string, text string, sets ...string) {
		t.Helper()
		a, err := Find("groundwater").WorkOut(load(t, text, sets...), nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "flow [L/min]", named(t, a, "flow"), want/1.44, 1e-6*want)
		if len(a.Notes) != 1 || !strings.Contains(a.Notes[0], note) {
			t.Errorf("the notes are %q, want %q", a.Notes, note)
		}
	}
	flow(24, "towards 30° counter-clockwise from +x; the face is the target's width across it, 8 m (26.25 ft)", text, "layer.clay.groundwater=1000 mm/d", "layer.clay.groundwater_direction=30 deg")
	flow(24, "towards -150°", text, "layer.clay.groundwater=-1000 mm/d", "layer.clay.groundwater_direction=30 deg")
	box := strings.Replace(text, "center = [\"0 m\", \"0 m\"]\nradius = \"4 m\"", `outline = [["-3 m", "-1 m"], ["3 m", "-1 m"], ["3 m", "1 m"], ["-3 m", "1 m"]]`, 1)
	flow(20, "towards 71.57°", box, "layer.clay.groundwater=1000 mm/d", "layer.clay.groundwater_direction=90 deg", "layer.sand.groundwater=500 mm/d")
	// Fluxes that cancel are none.
	c := load(t, text, "layer.clay.groundwater=1000 mm/d", "layer.clay.groundwater_direction=180 deg", "layer.sand.groundwater=1500 mm/d")
	if _, err := Find("groundwater").WorkOut(c, nil); err == nil || !strings.Contains(err.Error(), "no groundwater flows through its target") {
		t.Errorf("of fluxes that cancel: %v", err)
	}
}

// TestHandReadsTheStart: of a supply that changes hand takes what holds at power-on, a change
// of day 0 included, and says how many follow, and what it leaves out.
// Source: own arithmetic: amperes go with the voltage; 40 kW in 80π m³.
func TestHandReadsTheStart(t *testing.T) {
	text := strings.NewReplacer("ARRAY", "pattern = \"triangular\"\nspacing = \"3 m\"", "PHASES", "3\npower_limit = \"20 kW\"").Replace(plan)
	amps := func(text string) (float64, string) {
		t.Helper()
		a, err := Find("grid").WorkOut(load(t, text), nil)
		if err != nil {
			t.Fatal(err)
		}
		return *a.Table.Rows[0].Values[5], strings.Join(a.Notes, "\n")
	}
	plain, said := amps(text)
	if strings.Contains(said, "change") {
		t.Errorf("of a case without changes the notes are %q", said)
	}
	const later = "[[change]]\nat = \"9 d\"\nvoltage = \"90 V\"\n[[change]]\nat = \"5 d\"\nvoltage = \"80 V\"\n"
	const follow = "the supply is that of power-on; 2 [[change]] from day 5 on not read: `soiljoule check` lists them"
	for _, c := range []struct {
		changes string
		times   float64
		notes   []string
	}{
		{later, 1, []string{follow}},
		{"[[change]]\nat = \"0 d\"\nvoltage = \"150 V\"\n" + later, 1.5, []string{follow}},
		{"[[change]]\nat = \"0 d\"\nelectrode = \"E\"\nvoltage = \"50 V\"\n", 0.5, nil},
		{"[[change]]\nat = \"0 d\"\nelectrode = \"E2\"\nvoltage = \"50 V\"\n", 1, []string{"1 [[change]] of single electrodes at power-on left out"}},
		{"[[change]]\nat = \"0 d\"\non = false\n", 1, []string{"a [[change]] has this switched off at power-on: worked out as if it were on"}},
		{"[[change]]\nat = \"0 d\"\nelectrode = \"E\"\non = false\n", 1, []string{"a [[change]] has this switched off at power-on: worked out as if it were on"}},
		// Of two arrays the one that is on.
		{"[[change]]\nat = \"0 d\"\nelectrode = \"F\"\non = false\n[[array]]\nname = \"F\"\npattern = \"ring\"\ncenter = [\"0 m\", \"0 m\"]\ndiameter = \"1 m\"\ntop = \"2 m\"\nbottom = \"3 m\"\nradius = \"10 cm\"\n", 1,
			[]string{"left out, as a [[change]] has it switched off at power-on: array F"}},
	} {
		got, said := amps(text + c.changes)
		near(t, c.changes+": A", got, c.times*plain, 1e-9*plain)
		for _, want := range c.notes {
			if !strings.Contains(said, want) {
				t.Errorf("after\n%s\nthe notes are %q, want %q", c.changes, said, want)
			}
		}
		if n := strings.Count(said, "[[change]]"); n != len(c.notes) {
			t.Errorf("after\n%s\nthe notes name changes %d times, want %d: %q", c.changes, n, len(c.notes), said)
		}
	}
	c := load(t, text+"[[change]]\nat = \"0 d\"\npower_limit = \"40 kW\"\n[[change]]\nat = \"7 d\"\non = false\n")
	a, err := Find("heat-up").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "power density [W/m³]", named(t, a, "power_density"), 40e3/(80*math.Pi), 1e-4)
	if said := strings.Join(a.Notes, "\n"); !strings.Contains(said, "1 [[change]] from day 7 on not read") {
		t.Errorf("the notes of heat-up are %q", said)
	}
	// The sheet says the same, and an argument that goes before the case takes nothing from it.
	found := false
	for _, x := range FromCase(c).Calculations {
		found = found || x.Name == "heat-up" && strings.Contains(strings.Join(x.Notes, "\n"), "from day 7 on not read")
	}
	if !found {
		t.Error("the sheet does not say which setting it uses")
	}
	if a, err = Find("heat-up").WorkOut(c, []string{"power_density=50 W/m3"}); err != nil || len(a.Notes) != 0 {
		t.Errorf("with its own power density: notes %q, %v", a.Notes, err)
	}
}
