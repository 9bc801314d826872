package cases

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestDomainHoldsTheFront: downstream the ground is modelled farther by the travel of the
// front of heat, 0.1 m/d · ρ_w c_w/C = 0.1·4.185/3 for 20 d in the clay and 4.185/2.5 in the
// sand, 0.1 % for the digits of ρ_w c_w, the other way by none; never more than 100 m.
// Infiltration goes down so far where no water table stops it. A body of set power stands
// for what heats the ground: the field of electrodes reaches farther than that.
func TestDomainHoldsTheFront(t *testing.T) {
	cut := func(text, from, to string) string {
		return text[:strings.Index(text, from)] + text[strings.Index(text, to):]
	}
	drum := cut(cut(wiredSection, "[[electrode]]", "[[heat]]"), "[supply]", "[time]")
	bounds := func(sets ...string) [3]float64 {
		c, _ := mustParse(t, drum, sets...).Expand()
		left, right, bottom := c.Bounds()
		return [3]float64{left, right, bottom}
	}
	day := 86400.
	perDay := func(metres float64) string { return digits(metres/day) + " m/s" }
	clay, sand := 0.1*4.185/3*20, 0.1*4.185/2.5*20
	for _, c := range []struct {
		sets []string
		want [3]float64
	}{
		{[]string{"layer.clay.groundwater=" + perDay(0.1)}, [3]float64{0, clay, 0}},
		{[]string{"layer.clay.groundwater=" + perDay(-0.1)}, [3]float64{-clay, 0, 0}},
		{[]string{"layer.clay.groundwater=" + perDay(-0.1), "layer.sand.groundwater=" + perDay(0.1)}, [3]float64{-clay, sand, 0}},
		{[]string{"layer.clay.groundwater=10 ft/d"}, [3]float64{0, 85.05, 0}}, // 3.048·4.185/3·20
		{[]string{"layer.clay.groundwater=10 ft/d", "time.duration=25 d"}, [3]float64{0, 100, 0}},
		{[]string{"surface.infiltration=" + perDay(0.1)}, [3]float64{}},
		{[]string{"surface.infiltration=" + perDay(0.1), "site.water_table=5 m"}, [3]float64{0, 0, 1}},
		{[]string{"surface.infiltration=" + perDay(0.1), "site.water_table=none"}, [3]float64{0, 0, sand}},
	} {
		still := bounds()
		if last := c.sets[len(c.sets)-1]; strings.HasPrefix(last, "time.duration") { // which heat reaches with
			still = bounds(last)
		}
		got := bounds(c.sets...)
		for i, side := range []string{"left", "right", "bottom"} {
			if d := got[i] - still[i]; !(math.Abs(d-c.want[i]) <= 2e-3*math.Abs(c.want[i])) {
				t.Errorf("%q: the %s moves by %.5g m, want %.5g m", c.sets, side, d, c.want[i])
			}
		}
	}
	near := func(sets ...string) string {
		c, _ := mustParse(t, drum, sets...).Expand()
		return strings.Join(c.TooNear(), "\n")
	}
	if got := near("layer.clay.groundwater=" + perDay(0.1)); got != "" {
		t.Errorf("a domain by default is too near: %s", got)
	}
	for _, sets := range [][]string{{"layer.clay.groundwater=10 ft/d", "domain.right=40 m"}, {"layer.clay.groundwater=10 ft/d", "time.duration=60 d"}} {
		if got := near(sets...); !strings.Contains(got, "domain.right") || !strings.Contains(got, "water carries") || strings.Contains(got, "domain.left") {
			t.Errorf("%q: too near is said to be %q, want domain.right for what water carries", sets, got)
		}
	}
}

// TestSpeeds: the seepage velocity is the Darcy flux over the porosity, and a front of
// heat moves at ρ_w c_w/C of the flux.
func TestSpeeds(t *testing.T) {
	c := mustParse(t, wiredSection, "layer.clay.groundwater=-0.9 m/yr")
	l := &c.Layers[1]
	year := 365.25 * 86400
	if got := l.Seepage() * year; math.Abs(got+2) > 1e-9 {
		t.Errorf("the seepage velocity is %.12g m/yr, want -0.9/0.45", got)
	}
	// 4.195 kJ/(kg·K) at 10 °C (steam tables, from memory), to its last digit.
	if got, want := l.Front(c.Site.Ambient)*year, -0.9*998.2*4195/3e6; math.Abs(got/want-1) > 3e-4 {
		t.Errorf("a front of heat moves at %.7g m/yr, want %.7g", got, want)
	}
}

// TestInfiltrationKeepsItsFile: a case holds the bytes of the file that it named.
func TestInfiltrationKeepsItsFile(t *testing.T) {
	dir := t.TempDir()
	rain := "time_d,infiltration_mm_per_d\r\n0,1\n50,86.4"
	text := strings.Replace(wiredSection, `air = "8 degC"`, "air = \"8 degC\"\ninfiltration = \"rain.csv\"", 1)
	for name, data := range map[string]string{"rain.csv": rain, "case.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Load(filepath.Join(dir, "case.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	i := &c.Surface.Infiltration
	if string(i.Text) != rain || len(i.Series) != 2 || i.Series[1].Rate != 1e-6 {
		t.Errorf("the file is kept as %q and read as %v", i.Text, i.Series)
	}
	// A straight line from 1 to 86.4 mm/d.
	if got, want := i.Mean(50*86400), (1+86.4)/2*1e-3/86400; math.Abs(got/want-1) > 1e-12 {
		t.Errorf("its mean is %.15g m/s, want %.15g", got, want)
	}
}
