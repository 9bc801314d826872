package cases

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"soiljoule/materials"
)

// layeredPlan is soundPlan with 0.5 m of sand above 1.5 m of clay in its slab, and sand
// above and clay below that.
var layeredPlan = strings.Replace(soundPlan, "[[layer]]", `[[layer]]
name = "sand"
bottom = "2.5 m"
resistivity = "60 ohm*m"
resistivity_at = "10 degC"
temperature_coefficient = "0.025 1/K"
thermal_conductivity = "1.75 W/m/K"
heat_capacity = "2.2 MJ/m3/K"
porosity = 0.25
saturation = 0.6
removable_water = 0.5
inflow = "0.04 1/d"
[[layer]]`, 1)

// TestSlabOfOneLayer: a slab within one layer is that layer's ground.
func TestSlabOfOneLayer(t *testing.T) {
	x, _ := mustParse(t, soundPlan).Expand()
	got, want := x.slab(), x.Layers[0]
	want.Inflow = Inflow{Kind: InflowNone} // there is no water table
	if !math.IsNaN(got.FieldCapacity) || !math.IsNaN(want.FieldCapacity) {
		t.Errorf("the slab's field capacity is %g, want it left as found", got.FieldCapacity)
	}
	got.FieldCapacity, want.FieldCapacity = 0, 0
	if got != want {
		t.Errorf("the slab is\n%+v, want\n%+v", got, want)
	}
	if text := x.slabCaution(); text != nil {
		t.Errorf("a slab of one layer has the caution %q", text)
	}
}

// TestSlabOfTwoLayers: the slab conducts current and heat as its layers side by side at
// every temperature, and holds their heat and their water. The sums are of conductances
// in parallel; the linear law is linear in them.
func TestSlabOfTwoLayers(t *testing.T) {
	x, _ := mustParse(t, layeredPlan).Expand()
	slab, water := x.slab(), materials.NewWater()
	sand, clay := x.Layers[0].Soil(), x.Layers[1].Soil()
	soil := slab.Soil()
	sigma := func(s *materials.Soil, at float64) float64 {
		return s.Conductivity(water).FactorT(at, math.Inf(1)) / s.Resistivity
	}
	for _, at := range []float64{273.15, 286.15, 298.15, 350, 400} {
		want := 0.25*sigma(sand, at) + 0.75*sigma(clay, at)
		if got := sigma(soil, at); !(math.Abs(got/want-1) < 1e-13) { // some ten roundings
			t.Errorf("at %g K the slab conducts %.15g S/m, its layers side by side %.15g", at, got, want)
		}
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"heat conductivity", slab.ThermalConductivity, 0.25*1.75 + 0.75*1.35},
		{"heat capacity", slab.HeatCapacity, 0.25*2.2e6 + 0.75*3e6},
		{"porosity", slab.Porosity, 0.25*0.25 + 0.75*0.45},
		{"water", soil.WaterHeld(slab.Saturation), 0.25*sand.WaterHeld(0.6) + 0.75*clay.WaterHeld(1)},
		{"removable water", slab.RemovableWater * slab.Porosity * slab.Saturation, 0.25*0.25*0.6*0.5 + 0.75*0.45*0.3},
		// Clay above the water table has no inflow; sand's counts by its pores.
		{"inflow", slab.Inflow.Rate * slab.Porosity, 0.25 * 0.25 * round13(0.04/day)},
	} {
		if !near(c.got/c.want, 1) {
			t.Errorf("%s of the slab is %.15g, of its layers %.15g", c.what, c.got, c.want)
		}
	}
	// At 13 °C: sand 1/60·(1 + 0.025·3), clay 1/15·(1 − 0.0187·12).
	times := (1 - 0.0187*12) / 15 / ((1 + 0.025*3) / 60)
	text := strings.Join(x.slabCaution(), "\n")
	for _, want := range []string{"sand (25 %) and clay (75 %)", fmt.Sprintf("differ %.3g times", times), "inflow differ"} {
		if !strings.Contains(text, want) {
			t.Errorf("the caution does not say %q: %s", want, text)
		}
	}
}

// TestSlabUnderWater: inflow left to the water table is decided by the middle of each
// layer's part of the slab, for all by the greater part of the pores.
func TestSlabUnderWater(t *testing.T) {
	for table, want := range map[string]InflowKind{"1 m": InflowUnlimited, "3.2 m": InflowUnlimited, "3.3 m": InflowRate, "4 m": InflowRate} {
		x, _ := mustParse(t, layeredPlan, "site.water_table="+table).Expand()
		if got := x.slab().Inflow.Kind; got != want { // the clay's middle is at 3.25 m
			t.Errorf("with the water table at %s the slab's inflow is of kind %d, want %d", table, got, want)
		}
	}
}

// TestPlanAxis: whatever is asked, cells within the zone are no larger than mesh.finest
// nor smaller than what whole cells of four fifths of it allow, neighbours differ by at
// most 1.3, the axis ends where it should, and that of the mirror image is its own.
func TestPlanAxis(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	for trial := range 3000 {
		fine := math.Pow(10, -1.5+2*rng.Float64())
		c := &Case{Mesh: Mesh{Finest: fine, Growth: 1.02 + 0.28*rng.Float64(), MaxCells: 1e6}}
		var at []float64
		for range 2 + rng.IntN(8) {
			at = append(at, 40*rng.Float64())
		}
		lo, hi := 40*rng.Float64(), 40*rng.Float64()
		if lo > hi {
			lo, hi = hi, lo
		}
		if trial%4 == 0 {
			lo, hi = math.Inf(1), math.Inf(-1) // no electrode
		}
		first, last := -math.Pow(10, -3+5*rng.Float64()), 40+math.Pow(10, -3+5*rng.Float64())
		if trial%3 == 0 {
			at = append(at, 40-at[0], at[0]) // across the middle of some, and again
		}
		if trial%7 == 0 {
			at, lo, hi = []float64{20 - fine, 20 + fine}, 20-4*fine, 20+4*fine // a narrow figure alone
		}
		ranks := [][]float64{at[:1], nil, at[1:]}
		if trial%2 == 0 {
			ranks = [][]float64{at, nil, nil}
		}
		e, err := c.planAxis(first, last, lo, hi, ranks)
		if err != nil {
			t.Fatalf("trial %d: %v", trial, err)
		}
		turned := make([][]float64, len(ranks))
		for k, rank := range ranks {
			for _, x := range rank {
				turned[k] = append([]float64{-x}, turned[k]...)
			}
		}
		m, err := c.planAxis(-last, -first, -hi, -lo, turned)
		if err != nil || len(m) != len(e) {
			t.Fatalf("trial %d: mirrored, in another order, the axis has %d edges of %d (%v)", trial, len(m), len(e), err)
		}
		for i, x := range e {
			if got := -m[len(m)-1-i]; math.Abs(got-x) > 1e-9*(last-first) {
				t.Fatalf("trial %d: mirrored, the edge at %.9g is at %.9g", trial, x, got)
			}
		}
		if e[0] != first || e[len(e)-1] != last {
			t.Fatalf("trial %d: the axis is from %g to %g, want %g to %g", trial, e[0], e[len(e)-1], first, last)
		}
		for i := 1; i < len(e); i++ {
			size := e[i] - e[i-1]
			if inside := e[i] > math.Min(lo, slices.Min(at)) && e[i-1] < math.Max(hi, slices.Max(at)); inside && (size > fine*(1+1e-9) || size < 0.8*fine*(1-1e-9) && last-first > 8*fine) {
				t.Fatalf("trial %d: a cell of %g at %g, want %g at most and four fifths of it at least", trial, size, e[i], fine)
			}
			if i > 1 {
				if r := size / (e[i-1] - e[i-2]); !(math.Max(r, 1/r) <= 1.3*(1+1e-9)) {
					t.Fatalf("trial %d: neighbours at %g differ by %g", trial, e[i-1], r)
				}
			}
		}
	}
}

// TestPlanKeysAreListed: the listing says to which views a key belongs, and the other
// default that a plan has.
func TestPlanKeysAreListed(t *testing.T) {
	var b bytes.Buffer
	if err := WriteKeysMarkdown(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"`top` | m | required | 0 to 10000 | depth of the slab's upper side; the ground above takes heat, column by column (plan only)",
		"`outline` | list of x, y in m | (with a circle) | 3 to 200 corners | its corners in turn, each x and y (plan only)",
		"`center` | x, y in m | (of a grid) | -100000 to 100000 | x and y of a ring's middle (plan only)",
		"`x` | m | required | -100000 to 100000 | place across the section or plan (not in the axisymmetric view)",
		"`depth` | m | required | 0 to 10000 | one depth, or a list of them (not in the plan view)",
		"`finest` | m | 3 in; plan 1 ft |",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the listing of keys does not hold %q", want)
		}
	}
	if got := mustParse(t, soundPlan).Mesh.Finest; got != Foot {
		t.Errorf("mesh.finest of a plan is left at %g m, want 1 ft", got)
	}
}

// TestPlanCautions: what a plan leaves out is said, and what it has not is not said of it.
func TestPlanCautions(t *testing.T) {
	crowded := strings.Replace(strings.Replace(soundGrid, "spacing = \"3 m\"", "name = \"E\"\nspacing = \"0.4 m\"", 1), "15 cm", "2 cm", 1) // of more than mostFringed rods
	for _, c := range []struct {
		base       string
		sets       []string
		has, hasNo []string
	}{
		{soundPlan, nil,
			[]string{"none flows sideways there", "Heat beyond the boiling point of its own depth boils there", "such ground never dries", "slab, in the layers as found: with all of them fed, power is", "times by electrode. It is worked out anew for what is on", "less midway between them", "Pattern and part are those of the ground as found with all electrodes fed", "Potentials are those of a slab"},
			[]string{"another active interval", "Unequal numbers", "Layers within the slab", "two rods of one row", "A bore or plate", "reaches into the depths", "Nothing boils there", "stays so through the run", "uniform ground", "nearest to the middle", "Metal in the ground", "as by rods without end"}},
		{soundPlan, []string{"steam.boiling=false", "target.zone.temperature=90 degC"}, []string{"as found. Nothing boils there."}, []string{"beyond the boiling point of its own depth"}},
		{soundPlan, []string{"electrode.E1.voltage=90 V"}, nil, []string{"stays so through the run"}},
		{soundPlan + "[[conductor]]\nname = \"drum\"\ncenter = [\"4.5 m\", \"3.4 m\"]\nradius = \"0.3 m\"\n", nil, []string{"Metal in the ground passes no current above and below the slab, and where the heat of short rods lies is as without it."}, nil},
		{crowded, nil, []string{"as of the 250 nearest to the middle, all fed, in the layers as found", "heated as by rods without end", "stay colder than this plan says"}, []string{"worked out anew", "stays so through the run", "Pattern and part", "uniform ground"}},
		{crowded + "[[change]]\nat = \"9 d\"\non = false\n", nil, nil, []string{"stays so through the run"}},
		{crowded + "[[change]]\nat = \"9 d\"\nelectrode = \"E1\"\non = false\n", nil, []string{"Of so many electrodes that factor stays so through the run"}, nil},
		{soundPlan, []string{"electrode.E1.bottom=3.5 m"}, []string{"1 electrode has another active interval than the slab, 2 m"}, nil},
		{soundGrid, []string{"array[1].spacing=4 m"}, []string{"Unequal numbers of electrodes a phase (A 2, B 1, C 2)", "with the neutral floating"}, nil},
		{soundGrid, []string{"array[1].spacing=4 m", "supply.neutral=grounded"}, []string{"Unequal numbers", "with no electrode on the neutral"}, []string{"with the neutral floating"}},
	} {
		x, _ := mustParse(t, c.base, c.sets...).Expand()
		text := strings.Join(x.Cautions(), "\n")
		for _, want := range c.has {
			if !strings.Contains(text, want) {
				t.Errorf("%q: the cautions do not say %q:\n%s", c.sets, want, text)
			}
		}
		for _, not := range c.hasNo {
			if strings.Contains(text, not) {
				t.Errorf("%q: the cautions say %q:\n%s", c.sets, not, text)
			}
		}
	}
}

// TestPlanReach: the modelled ground goes 3√(αt), and as far as the potential asks, beyond
// zone and electrodes on all four sides, and check tells where it does not. Two rods of
// radius a at a distance d in the middle of a circle of radius B lose the share
//
//	d²/(2 B² ln(d/a))
//
// of their power, and of the next order a third of (d/2B)⁴ of that, 6e-5. Source: the image
// of a dipole in a circle.
func TestPlanReach(t *testing.T) {
	x, _ := mustParse(t, soundPlan).Expand()
	// α = 1.35/3e6 m²/s; 70 d: 4.95 m. Electrodes are 5 m apart, the square as large as the circle.
	r, want := x.Reach(), math.Sqrt(25/(2*sidesShare*math.Log(5/0.15)))*math.Sqrt(math.Pi)/2-2.5
	if math.Abs(r.Heat-3*math.Sqrt(1.35/3e6*70*86400)) > 1e-12 || math.Abs(r.Potential/want-1) > 1e-4 {
		t.Errorf("the reach is %+v, want 4.95 m and %.6g m", r, want)
	}
	far := r.Potential
	if d := x.Domain; !near(d.Left, -far) || !near(d.Right, 9+far) || !near(d.Front, -far) || !near(d.Back, 6+far) || !near(d.Bottom, 4+r.Heat) {
		t.Errorf("the modelled ground is %+v, want %.4g m beyond the zone, 8.95 m deep", d, far)
	}
	if got := x.TooNear(); got != nil {
		t.Errorf("too near: %q", got)
	}
	x, _ = mustParse(t, soundPlan, "domain.back=13 m", "domain.bottom=5 m").Expand()
	if got := x.TooNear(); len(got) != 2 || !strings.HasPrefix(got[0], "domain.bottom: 1.00 m") || !strings.HasPrefix(got[1], fmt.Sprintf("domain.back: 7.00 m (22.97 ft) beyond zone and electrodes, %.2f m (%.2f ft) less than what keeps", far-7, (far-7)/0.3048)) {
		t.Errorf("too near: %q, want the bottom and the back", got)
	}
}

// TestPlanGroundBoilsWhereItHoldsWater: each node above and below a plan's slab boils at
// its own depth, but not in a layer without water, nor where boiling is off. A slab that
// begins at the surface over 1 mm of ground, or is
// run for no time to speak of, still has ground for what fringes.
func TestPlanGroundBoilsWhereItHoldsWater(t *testing.T) {
	water := materials.NewWater()
	dry := "[[layer]]\nname = \"rock\"\nbottom = \"1 m\"\nresistivity = \"100 ohm*m\"\nthermal_conductivity = \"2 W/m/K\"\nheat_capacity = \"2 MJ/m3/K\"\nporosity = 0\nsaturation = 0\n"
	c, _ := mustParse(t, strings.Replace(soundPlan, "[[layer]]", dry+"[[layer]]", 1), "site.water_table=1 m").Expand()
	caps := c.caps(nil, water)
	if got := caps.Boil(0.5); !math.IsInf(got.Point, 1) {
		t.Errorf("a layer without water boils at %g K", got.Point)
	}
	// 7 m of water on 101.3 kPa: 169.9 kPa, 115.2 °C (steam tables, from memory).
	if got := caps.Boil(8).Point; math.Abs(got-273.15-115.2) > 0.1 {
		t.Errorf("7 m below the water table it boils at %.2f °C, want 115.2 °C", got-273.15)
	}
	c.Steam.Boiling = false
	if got := c.caps(nil, water).Boil(8); !math.IsInf(got.Point, 1) {
		t.Errorf("with boiling off it boils at %g K", got.Point)
	}
	for _, set := range []string{"domain.bottom=4.001 m", "time.duration=1e-30 d"} {
		x, _ := mustParse(t, soundPlan, "extent.top=0 m", set).Expand()
		if _, err := x.Build(); err != nil {
			t.Errorf("%s: %v", set, err)
		}
	}
}
