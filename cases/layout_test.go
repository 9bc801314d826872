package cases

import (
	"math"
	"strings"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// near reports whether x is within rounding of want.
func near(x, want float64) bool { return math.Abs(x-want) <= 1e-12*math.Max(1, math.Abs(want)) }

// arrayCell is the cell of one rod of an array: its radius is left to the array's.
var arrayCell = strings.NewReplacer("[extent]\nradius = \"2.5 m\"\n", "[extent]\n",
	"[[electrode]]\nname = \"E\"\nphase = \"A\"\n", "[[array]]\npattern = \"triangular\"\nspacing = \"4 m\"\n").Replace(wiredCell)

// TestArrayInASection: rows of one phase each, as many as fit the 8 m of the target,
// centred on it. A triangular array of spacing s has them s/2 apart for three
// phases, √3·s from rod to rod; for two poles (√3/2)·s apart, s from rod to rod. In
// both every other row is shifted by half. A rectangular one has s for both.
// Source: the triangular lattice, drawn.
func TestArrayInASection(t *testing.T) {
	for _, c := range []struct {
		sets                 []string
		rows                 int
		first, apart, across float64 // [m]
		shift                float64 // [m] of the second row
		phases               string
	}{
		{nil, 5, 0, 2, 4 * math.Sqrt(3), 2 * math.Sqrt(3), "ABCAB"},
		{[]string{"supply.phases=6"}, 5, 0, 2, 4 * math.Sqrt(3), 2 * math.Sqrt(3), "ABCDE"},
		{[]string{"supply.phases=1"}, 3, 4 - 2*math.Sqrt(3), 2 * math.Sqrt(3), 4, 2, "ABA"},
		{[]string{"array[1].pattern=rectangular"}, 3, 0, 4, 4, 0, "ABC"},
	} {
		x, layouts := mustParse(t, wiredArray, c.sets...).Expand()
		if l := layouts[0]; l.Rows != c.rows || !near(l.RowDistance, c.apart) || !near(l.RodSpacing, c.across) || !near(l.RodsPerRow, 20/c.across) || l.Interleaved != (c.shift > 0) {
			t.Errorf("%q: the array is laid out as %+v, want %d rows %g m apart with rods %g m apart in 20 m, every other shifted: %v", c.sets, l, c.rows, c.apart, c.across, c.shift > 0)
		}
		if len(x.Electrodes) != c.rows {
			t.Errorf("%q: the array has %d rows, want %d", c.sets, len(x.Electrodes), c.rows)
			continue
		}
		for i, e := range x.Electrodes {
			shift := c.shift * float64(i%2)
			if !near(e.X, c.first+float64(i)*c.apart) || !near(e.RodSpacing, c.across) || !near(e.RodOffset, shift) || e.Phase != c.phases[i:i+1] ||
				e.Top != 2 || e.Bottom != 4 || e.Radius != 0.1 {
				t.Errorf("%q: row %d is %+v, want phase %s at %g m, rods of 0.1 m from 2 to 4 m, %g m apart from %g m on", c.sets, i+1, e, c.phases[i:i+1], c.first+float64(i)*c.apart, c.across, shift)
			}
		}
	}
}

// TestArrayInACell: the rod of the array, in a circle whose area is one rod's share of
// the plan: (√3/2)·s² of a triangular lattice, s² of a rectangular one.
func TestArrayInACell(t *testing.T) {
	for set, area := range map[string]float64{"array[1].pattern=triangular": math.Sqrt(3) / 2 * 16, "array[1].pattern=rectangular": 16} {
		x, _ := mustParse(t, arrayCell, set).Expand()
		if got := math.Pi * x.Extent.Radius * x.Extent.Radius; !near(got, area) {
			t.Errorf("%s: a cell of an array of 4 m has %.12g m², want %.12g", set, got, area)
		}
		if e := x.Electrodes[0]; len(x.Electrodes) != 1 || e.Phase != "A" || e.Top != 2 || e.Bottom != 4 || e.Radius != 0.15 {
			t.Errorf("%s: the electrodes are %+v, want one of phase A and 0.15 m from 2 to 4 m", set, x.Electrodes)
		}
	}
	if x, _ := mustParse(t, arrayCell, "extent.radius=3 m").Expand(); x.Extent.Radius != 3 {
		t.Errorf("extent.radius = 3 m beside an array is %g m", x.Extent.Radius)
	}
}

// TestReach: the ground is modelled beyond zone, electrodes and bodies by 3√(αt), α the
// largest of the layers, and in a section, from the middle of the electrodes at the surface,
// as far as their field asks: W/√(0.03 ln(1 + W²/D²)), W their width and D the depth of
// their middle (TestEdgesBesideImages has where that comes from). Under a rod on an axis it
// is twice its length, or the radius of its cell where that is more. Sand has
// α = 1.5/2.5e6 = 6e-7 m²/s, clay 4e-7.
func TestReach(t *testing.T) {
	field := func(w, d float64) float64 { return w / math.Sqrt(0.03*math.Log(1+w*w/(d*d))) }
	drum := wiredSection[:strings.Index(wiredSection, "[[electrode]]")] + wiredSection[strings.Index(wiredSection, "[[heat]]"):strings.Index(wiredSection, "[supply]")] + "[time]\nduration = \"20 d\"\n[mesh]\nfinest = \"0.25 m\"\n"
	stacked := strings.Replace(wiredSection, "width = \"0.5 m\"", "radius = \"0.1 m\"\nrod_spacing = \"2 m\"", 1)
	heat := 3 * math.Sqrt(6e-7*20*day)
	long := 3 * math.Sqrt(6e-7*4000*day)
	for _, c := range []struct {
		text                string
		sets                []string
		left, right, bottom float64
	}{
		{wiredSection, nil, 3.375 - field(5.25, 3), 3.375 + field(5.25, 3), field(5.25, 3)}, // P is half a metre wide
		{wiredSection, []string{"electrode.P.bottom=10 m"}, 3.375 - field(5.25, 6), 3.375 + field(5.25, 6), field(5.25, 6)},
		{wiredSection, []string{"time.duration=4000 d"}, -long, 8 + long, 4 + long},
		{stacked, []string{"electrode.R.x=1 m", "electrode.R.top=5 m", "electrode.R.bottom=7 m"}, 1 - 6/math.Sqrt(0.03), 1 + 6/math.Sqrt(0.03), 6 / math.Sqrt(0.03)},
		{wiredSection, []string{"heat.drum.left=-40 m", "heat.drum.right=-39 m"}, -40 - heat, 3.375 + field(5.25, 3), field(5.25, 3)},
		{wiredSection, []string{"electrode.R.x=3000 m"}, 3000.75/2 - 2000, 3000.75/2 + 2000, 2000}, // not beyond what boiling is known for
		{drum, nil, -heat, 8 + heat, 4 + heat},
		{drum, []string{"target.zone.left=10 m", "target.zone.right=12 m", "heat.drum.left=10.5 m", "heat.drum.right=11.5 m"}, 10 - heat, 12 + heat, 4 + heat},
		{wiredCell, nil, 0, 2.5, 8},
		{wiredCell, []string{"extent.radius=5 m"}, 0, 5, 9},
		{wiredCell, []string{"heat.ring.top=5 m", "heat.ring.bottom=6 m"}, 0, 2.5, 10},
	} {
		x, _ := mustParse(t, c.text, c.sets...).Expand()
		left, right, bottom := x.Bounds()
		if !near(left, c.left) || !near(right, c.right) || !near(bottom, c.bottom) {
			t.Errorf("%q: ground is modelled from %.10g to %.10g m and down to %.10g m, want %.10g, %.10g and %.10g", c.sets, left, right, bottom, c.left, c.right, c.bottom)
		}
		if got := x.TooNear(); got != nil {
			t.Errorf("%q: sides left to the reach are too near: %q", c.sets, got)
		}
	}
	x, _ := mustParse(t, wiredSection).Expand()
	left, right, bottom := x.Bounds()
	g := builtFrom(t, wiredSection).Ground.Grid
	if !near(g.X[0], left) || !near(g.X[g.NX], right) || !near(g.Z[g.NZ], bottom) {
		t.Errorf("the mesh is from %g to %g m and down to %g m, want %g, %g and %g", g.X[0], g.X[g.NX], g.Z[g.NZ], left, right, bottom)
	}
}

// TestWatched: the time error is measured in the first target with a margin of one
// spacing of the electrodes, and in bodies of set power: to the nearest edges.
func TestWatched(t *testing.T) {
	for _, c := range []struct {
		text                     string
		sets                     []string
		left, right, top, bottom float64
	}{
		{wiredSection, nil, -5, 13, 0, 9},
		{wiredSection, []string{"electrode.R.x=2.5 m", "heat.drum.left=-9 m", "heat.drum.right=-8 m", "electrode.R.rod_spacing=3.4641016 m"}, -9, 10, 0, 6}, // 2 m
		{wiredArray, nil, -4, 12, 0, 8}, // √3·4 m from rod to rod over √3
		{wiredCell, nil, 0, 2.5, 0, 6.5},
	} {
		p := builtFrom(t, c.text, c.sets...)
		g, w := p.Ground.Grid, p.Watched
		for _, side := range []struct {
			name  string
			edges []float64
			i     int
			want  float64
		}{{"left", g.X, w.I0, c.left}, {"right", g.X, w.I1, c.right}, {"top", g.Z, w.K0, c.top}, {"bottom", g.Z, w.K1, c.bottom}} {
			if want := mesh.EdgeAt(side.edges, side.want); side.i != want {
				t.Errorf("%q: %s of the watched zone is %.6g m, want the edge nearest to %g m, %.6g m", c.sets, side.name, side.edges[side.i], side.want, side.edges[want])
			}
		}
	}
}

// TestMeshFollowsTheGround: the water table is a cell's edge; cells are twice
// mesh.finest beside a layer's boundary and four times beneath the surface, each
// grown by (growth − 1)/ln(growth) at most, as beside a target, and more than half.
func TestMeshFollowsTheGround(t *testing.T) {
	grown := (1.2 - 1) / math.Log(1.2)
	g := builtFrom(t, wiredSection, "site.water_table=8.123 m", "layer.sand.bottom=7 m").Ground.Grid
	if got := g.Z[mesh.EdgeAt(g.Z, 8.123)]; got != 8.123 {
		t.Errorf("the edge nearest to a water table at 8.123 m is at %.10g m", got)
	}
	deep := strings.NewReplacer("\"2 m\"", "\"22 m\"", "\"4 m\"", "\"24 m\"", "\"2.5 m\"\nbottom = \"3 m\"", "\"22.5 m\"\nbottom = \"23 m\"").Replace(wiredCell)
	shallow := builtFrom(t, deep).Ground.Grid
	k := mesh.EdgeAt(g.Z, 7)
	for _, c := range []struct {
		what       string
		wide, size float64
	}{{"above a layer's boundary", g.Z[k] - g.Z[k-1], 0.5}, {"below a layer's boundary", g.Z[k+1] - g.Z[k], 0.5}, {"beneath the surface", shallow.Z[1], 0.4}} {
		if !(c.wide <= c.size*grown && c.wide > c.size/2) {
			t.Errorf("the cell %s is %.4g m high, want at most %.4g times %g m and more than half", c.what, c.wide, grown, c.size)
		}
	}
}

// TestBoilingUnderWater: water boils at 120.21 °C under 200 kPa (steam tables, from
// memory), which is the air's pressure and 10.06 m of water. From there the boiling
// point rises by RT²/(Lp) = 1.62e-4 K/Pa; the next term is below 0.05 K within 10 kPa,
// a metre of a cell.
func TestBoilingUnderWater(t *testing.T) {
	g := builtFrom(t, wiredSection).Ground
	k := mesh.EdgeAt(g.Grid.Z, 12.06)
	over := 101325 + 1000*9.80665*(g.Grid.ZC[k]-2) - 200e3
	if math.Abs(over) > 10e3 {
		t.Fatalf("the cell at %.3g m is %.3g Pa from 200 kPa", g.Grid.ZC[k], over)
	}
	// ρ_w of cold water may be taken 0.2 % less: 200 Pa, 0.03 K.
	if got, want := g.BoilingPoint(g.Grid.Index(0, k)), 393.36+1.62e-4*over; math.Abs(got-want) > 0.1 {
		t.Errorf("water boils at %.2f K at %.3g m, 2 m of it dry, want %.2f within 0.1 K", got, g.Grid.ZC[k], want)
	}
}

// TestDryConductivityLeftToTheLaw: it is that of the layer's own porosity and
// conductivity; the law is held in package materials.
func TestDryConductivityLeftToTheLaw(t *testing.T) {
	if got, want := builtFrom(t, wiredSection).Ground.Soils[0].ThermalConductivityDry, materials.DryConductivity(0.4, 1.5); got != want {
		t.Errorf("sand of porosity 0.4 and 1.5 W/(m·K) is taken to have %.6g W/(m·K) when dry, want %.6g", got, want)
	}
}

// TestTooNearAndNearFaces: sides nearer than the reach of heat, 3.05 m, or of the field
// are named with what they lack and, of the field, with what they may do; faces nearer than
// a quarter of mesh.finest with their distance, others are not. The field of P and R asks
// 25.601 m from x = 3.375 m, so that a bottom at 13 m is worth 3 % · π²/12 · (25.601/13)² =
// 9.6 % of the surface's largest, a side 13.125 m away 3 %/4 · (25.601/13.125)² = 2.9 %,
// and currents a tenth.
func TestTooNearAndNearFaces(t *testing.T) {
	x, _ := mustParse(t, wiredSection, "domain.left=-9.75 m", "domain.right=10.5 m", "domain.bottom=13 m").Expand()
	lines := strings.Join(x.TooNear(), "\n")
	for _, want := range []string{"domain.right: 2.50 m (8.20 ft) beyond zone and electrodes, 0.55 m (1.82 ft) less than 3√(αt)",
		"domain.bottom: 13.00 m (42.65 ft) below the surface, 12.60 m (41.34 ft) less", "off by some 9.6 % of the largest", "outer electrodes by some 0.96 %",
		"domain.left: 13.12 m (43.06 ft) from the middle of the electrodes, 12.48 m (40.93 ft) less", "off by some 2.9 % of the largest",
		"domain.right: 7.12 m (23.38 ft) from the middle of the electrodes, 18.48 m (60.62 ft) less"} {
		if !strings.Contains(lines, want) {
			t.Errorf("sides too near for heat, for the field or both: %q is missing in\n%s", want, lines)
		}
	}
	if n := strings.Count(lines, "domain."); n != 4 {
		t.Errorf("%d lines, want 4:\n%s", n, lines)
	}
	x, _ = mustParse(t, wiredCell, "domain.bottom=7 m").Expand()
	if lines := strings.Join(x.TooNear(), "\n"); !strings.Contains(lines, "1.00 m (3.28 ft) less than the field of the rods asks") {
		t.Errorf("a bottom 1 m short of twice 2 m under a rod: %q", lines)
	}
	x, _ = mustParse(t, wiredSection).Expand()
	if got := x.TooNear(); len(got) > 0 {
		t.Errorf("sides left to the reach are too near: %q", got)
	}
	for set, said := range map[string]bool{"target.zone.bottom=4.062 m": true, "target.zone.bottom=4.063 m": false} {
		x, _ := mustParse(t, wiredSection, set).Expand()
		if got := strings.Join(x.NearFaces(), "\n"); strings.Contains(got, "62 mm (2.44 in) apart") != said || said != (got != "") {
			t.Errorf("%s beside electrodes to 4 m, cells of 0.25 m: faces said to be near are %q, want some: %v", set, got, said)
		}
	}
}
