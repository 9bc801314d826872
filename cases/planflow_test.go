package cases

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/physics"
)

// flowingPlan is a plan whose slab, 2 to 4 m deep, runs through a quarter of sand and
// three quarters of clay, with gravel below it.
var flowingPlan = strings.Replace(soundPlan, "[[layer]]\n", `[[layer]]
name = "sand"
bottom = "2.5 m"
resistivity = "60 ohm*m"
thermal_conductivity = "1.75 W/m/K"
heat_capacity = "2 MJ/m3/K"
porosity = 0.25
saturation = 0.6
[[layer]]
name = "gravel"
bottom = "20 m"
resistivity = "60 ohm*m"
thermal_conductivity = "1.75 W/m/K"
heat_capacity = "2.2 MJ/m3/K"
porosity = 0.25
saturation = 1
[[layer]]
`, 1)

func init() {
	// The clay of the base comes last there; here it lies between.
	parts := strings.SplitN(flowingPlan, "[[layer]]\n", 4)
	clay, rest, _ := strings.Cut(parts[3], "[[target]]")
	clay = strings.Replace(clay, "name = \"clay\"\n", "name = \"clay\"\nbottom = \"6 m\"\n", 1)
	flowingPlan = parts[0] + "[[layer]]\n" + parts[1] + "[[layer]]\n" + clay + "[[layer]]\n" + strings.Replace(parts[2], "bottom = \"20 m\"\n", "", 1) + "[[target]]" + rest
}

// TestSlabWater: a plan's groundwater is that of its layers by thickness, as vectors: a
// quarter of 0.4 along x and three quarters of 0.4 along y are 0.1 and 0.3; equal and
// opposite fluxes cancel; what flows below the slab is left out and said to be.
func TestSlabWater(t *testing.T) {
	for _, c := range []struct {
		sets []string
		x, y float64 // [m/yr]
	}{
		{nil, 0, 0},
		{[]string{"layer.sand.groundwater=0.4 m/yr", "layer.clay.groundwater=0.4 m/yr", "layer.clay.groundwater_direction=90 deg"}, 0.1, 0.3},
		{[]string{"layer.sand.groundwater=0.4 m/yr", "layer.sand.groundwater_direction=-120 deg"}, -0.05, -0.05 * math.Sqrt(3)},
		{[]string{"layer.sand.groundwater=-0.4 m/yr", "layer.sand.groundwater_direction=360 deg"}, -0.1, 0},
		{[]string{"layer.sand.groundwater=0.9 m/yr", "layer.clay.groundwater=0.3 m/yr", "layer.clay.groundwater_direction=180 deg"}, 0, 0},
		{[]string{"layer.gravel.groundwater=5 m/yr"}, 0, 0},
	} {
		d, _ := mustParse(t, flowingPlan, c.sets...).Expand()
		x, y := d.slabFlux()
		if x, y = x*year, y*year; math.Abs(x-c.x)+math.Abs(y-c.y) > 1e-11 {
			t.Errorf("%q: the slab's flux is %.15g, %.15g m/yr, want %g, %g", c.sets, x, y, c.x, c.y)
		}
		if still := math.Abs(c.x)+math.Abs(c.y) == 0; d.Flows() == still {
			t.Errorf("%q: water flows: %v", c.sets, d.Flows())
		}
		all := strings.Join(d.Cautions(), "\n")
		for says, want := range map[string]bool{
			"averaged over the slab":             c.x != 0 || c.y != 0,
			"taken to stand still":               c.sets == nil,
			`"gravel", outside the slab`:         len(c.sets) == 1,
			"Not modelled: dipping layers":       true,
			"fractures, groundwater and buoyant": false,
		} {
			if strings.Contains(all, says) != want {
				t.Errorf("%q: the cautions say %q: %v, want %v", c.sets, says, !want, want)
			}
		}
	}
}

// TestPlanHoldsTheFront: downstream, in both directions, a plan's ground is modelled
// farther by the travel of the front of heat, q·ρ_w c_w/C·t with C = (2 + 3·3)/4 =
// 2.75 MJ/(m³·K) and 4.19 MJ/(m³·K) for water at 13 °C (steam tables, from memory), to
// 0.2 % for its digits; upstream it is not, and it is never more than 100 m; where it is
// given and too near check says so.
func TestPlanHoldsTheFront(t *testing.T) {
	sides := func(sets ...string) [4]float64 {
		c, _ := mustParse(t, flowingPlan, sets...).Expand()
		left, right, _ := c.Bounds()
		front, back := c.ends()
		return [4]float64{-left, right, -front, back}
	}
	still := sides()
	travel := 0.1 * 4.19 / 2.75 * 70 // [m] of 0.1 m/d
	flow := func(metres, degrees float64) []string {
		out := []string{}
		for _, l := range []string{"sand", "clay"} {
			out = append(out, fmt.Sprintf("layer.%s.groundwater=%s m/s", l, digits(metres/day)), fmt.Sprintf("layer.%s.groundwater_direction=%g deg", l, degrees))
		}
		return out
	}
	for _, c := range []struct {
		metres, degrees float64
		want            [4]float64 // farther left, right, front, back
	}{
		{0.1, 0, [4]float64{0, travel, 0, 0}},
		{0.1, 90, [4]float64{0, 0, 0, travel}},
		{-0.1, 90, [4]float64{0, 0, travel, 0}},
		{0.1, 210, [4]float64{travel * math.Sqrt(3) / 2, 0, travel / 2, 0}},
		{3, 0, [4]float64{0, 100, 0, 0}},
	} {
		got := sides(flow(c.metres, c.degrees)...)
		for i, side := range []string{"left", "right", "front", "back"} {
			if d := got[i] - still[i]; !(math.Abs(d-c.want[i]) <= 2e-3*c.want[i]+1e-9) {
				t.Errorf("%g m/d towards %g°: the %s moves out by %.5g m, want %.5g m", c.metres, c.degrees, side, d, c.want[i])
			}
		}
	}
	near := func(sets ...string) string {
		c, _ := mustParse(t, flowingPlan, sets...).Expand()
		return strings.Join(c.TooNear(), "\n")
	}
	if got := near(flow(0.1, 90)...); got != "" {
		t.Errorf("a plan's ground by default is too near: %s", got)
	}
	if got := near(append(flow(0.1, 90), "domain.back=20 m")...); !strings.Contains(got, "domain.back") || !strings.Contains(got, "water carries") || strings.Contains(got, "domain.front") {
		t.Errorf("too near is said to be %q, want domain.back for what water carries", got)
	}
}

// TestPlanOfOnePhaseWithTaps: two taps of one phase have a return path in a plan; rods
// at one x are not one conductor for that.
func TestPlanOfOnePhaseWithTaps(t *testing.T) {
	p := builtFrom(t, soundPlan, "electrode.E2.phase=A", "electrode.E2.voltage=60 V", "electrode.E2.x=2 m", "electrode.E2.y=5 m")
	if own := p.Supply[0].Bodies; own == nil || own[1].Voltage != 60 || !math.IsNaN(own[0].Voltage) {
		t.Errorf("the bodies' own settings are %+v, want 60 V of the second alone", own)
	}
}

// TestPlanMetal: metal of a plan fills the cells whose middles are in its figure;
// a strip as wide as a cell is one cell wide, and one of no cell is refused with the key.
func TestPlanMetal(t *testing.T) {
	metal := func(outline string) string { return withAll(soundPlan, "[[conductor]]\nname = \"m\"\n"+outline) }
	sheet := metal("outline = [[\"0.137 m\", \"10 m\"], [\"8 m\", \"10 m\"], [\"8 m\", \"10.3048 m\"], [\"0.137 m\", \"10.3048 m\"]]\n")
	p := builtFrom(t, sheet)
	g := p.Ground.Grid
	z := p.Electric.Bodies[2].Zone
	if z.K1-z.K0 != 1 || z.Share != nil || math.Abs(g.X[z.I0]-0.137) > 0.16 || math.Abs(g.X[z.I1]-8) > 0.16 || math.Abs((g.Z[z.K0]+g.Z[z.K1])/2-10.15) > 0.16 {
		t.Errorf("a sheet one cell thick fills x from %g to %g m, y from %g to %g m", g.X[z.I0], g.X[z.I1], g.Z[z.K0], g.Z[z.K1])
	}
	disc := builtFrom(t, metal("center = [\"4 m\", \"12 m\"]\nradius = \"1.5 m\"\n"))
	g, z = disc.Ground.Grid, disc.Electric.Bodies[2].Zone
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			// Places on the circle itself may round to either side.
			if d := math.Hypot(g.XC[i]-4, g.ZC[k]-12) - 1.5; math.Abs(d) > 1e-8 && (d < 0) != (z.Weight(i, k) == 1) {
				t.Errorf("the cell %.3g m beyond the circle has weight %g", d, z.Weight(i, k))
			}
		}
	}
	// Two cells beyond a corner of the zone, from which the mesh goes on, and a cell across.
	c, _ := mustParse(t, metal("center = [\"9.6096 m\", \"6.6096 m\"]\nradius = \"0.1525 m\"\n")).Expand()
	if _, err := c.Build(); err == nil || !strings.Contains(err.Error(), "conductor.m: holds the middle of no cell") {
		t.Errorf("a circle over the corners of four cells ends with %v", err)
	}
}

// TestFigureGaps: distances of figures by hand, and the width of strips.
func TestFigureGaps(t *testing.T) {
	square := func(x, y, a float64) figure {
		return figure{outline: [][2]float64{{x, y}, {x + a, y}, {x + a, y + a}, {x, y + a}}}
	}
	circle := func(x, y, r float64) figure { return figure{center: [2]float64{x, y}, radius: r} }
	for _, c := range []struct {
		a, b figure
		want float64
	}{
		{square(0, 0, 1), square(3, 0, 1), 2},
		{square(0, 0, 1), square(4, 5, 1), 5},
		{square(0, 0, 4), square(1, 1, 1), 0}, // one within the other
		{square(0, 0, 1), circle(0.5, 4, 1), 2},
		{square(0, 0, 9), circle(4, 4, 1), 0},
		{circle(0, 0, 1), circle(3, 4, 2), 2},
		{figure{outline: [][2]float64{{-1, 1}, {2, 1}, {2, 2}, {-1, 2}}}, figure{outline: [][2]float64{{0, 0}, {1, 0}, {1, 3}, {0, 3}}}, 0}, // a cross
	} {
		if d, e := c.a.gap(c.b, inf), c.b.gap(c.a, inf); math.Abs(d-c.want) > 1e-12 || math.Abs(e-c.want) > 1e-12 {
			t.Errorf("the gap of %v and %v is %g and %g, want %g", c.a, c.b, d, e, c.want)
		}
	}
	bent := figure{outline: [][2]float64{{0, 0}, {10, 0}, {10, 10}, {9.5, 10}, {9.5, 0.5}, {0, 0.5}}}
	for _, c := range []struct {
		f         figure
		want, tol float64
	}{
		{square(2, 3, 1.5), 1.5, 1e-12},
		{figure{outline: [][2]float64{{0, 0}, {3, 4}, {3 - 0.4, 4 + 0.3}, {-0.4, 0.3}}}, 0.5, 1e-12},
		{circle(1, 1, 2), 4, 0},
		{bent, 0.5, 1e-12}, // 19.5 long in its middle line: area 9.75, circumference 40
	} {
		if got := c.f.strip(); math.Abs(got-c.want) > c.tol {
			t.Errorf("the strip of %v is %.15g m wide, want %g", c.f, got, c.want)
		}
	}
}

// TestFollowInAPlan: the mean that a thermostat follows counts the cells that a circle cuts
// by what is inside: half of a plan 10 K warmer than the other makes it 5 K warmer, and an
// even one makes it no other; a sensor is read where it stands, the coldest is one of the
// cells at least half inside. By symmetry; rounding.
func TestFollowInAPlan(t *testing.T) {
	circle := strings.Replace(soundPlan, "outline = [\n  [\"0 m\", \"0 m\"],\n  [\"9 m\", \"0 m\"],\n  [\"9 m\", \"6 m\"],\n  [\"0 m\", \"6 m\"],\n]", "center = [\"4.5 m\", \"3 m\"]\nradius = \"3.1 m\"", 1)
	for _, c := range []struct {
		follow string
		at     func(x, y float64) float64
		want   float64
	}{
		{"mean", func(x, y float64) float64 { return 300 }, 300},
		{"mean", func(x, y float64) float64 { return 300 + 10*math.Round(0.5+math.Copysign(0.5, y-3)) }, 305},
		{"T1", func(x, y float64) float64 { return 280 + 2*x - y }, 280 + 2*4 - 3},
		{"coldest", func(x, y float64) float64 { return 280 + math.Hypot(x-4.5, y-3) }, 280},
		// Beyond the circle it is cold: only cells mostly outside are there.
		{"coldest", func(x, y float64) float64 {
			if math.Hypot(x-4.5, y-3) > 3.15 {
				return 200
			}
			return 300
		}, 300},
	} {
		p := builtFrom(t, circle, "target.core.center=[\"4.5 m\",\"3 m\"]", "mesh.finest=31 cm", "control.setpoint=60 degC", "control.follow="+c.follow)
		g := p.Ground.Grid
		if p.Targets[0].Zone.Share == nil {
			t.Fatal("the target cuts no cell")
		}
		s := physics.NewState(g.Cells(), 0)
		for i := range s.T {
			s.T[i] = c.at(g.XC[i%g.NX], g.ZC[i/g.NX])
		}
		tol := 1e-9
		if c.follow == "coldest" && c.want == 280 {
			tol = 0.22 // half a cell's diagonal
		}
		if got := p.Thermostat.Follow(s); math.Abs(got-c.want) > tol {
			t.Errorf("following %s reads %.12g K, want %g", c.follow, got, c.want)
		}
	}
}
