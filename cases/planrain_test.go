package cases

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// TestRainOnAPlan: where a plan's slab lies above the water table, or there is none, its
// ground is modelled deeper by the travel of the front of heat, q·ρ_w c_w/C in the layer where that
// is fastest, up to the table and 100 m; its steps end on the rows of a file; and the
// cautions say where the rain goes and when it is strong. twinPlan's slab is from 2 to 4 m in
// ground of at least 2.5 MJ/(m³·K); ρ_w c_w is 4.18 to 4.19 MJ/(m³·K), 0.2 %.
func TestRainOnAPlan(t *testing.T) {
	find := func(sets ...string) (c *Case, bottom float64, said string) {
		c, _ = mustParse(t, twinPlan, sets...).Expand()
		_, _, bottom = c.Bounds()
		return c, bottom, strings.Join(c.Cautions(), "\n")
	}
	dry, still, said := find()
	if dry.Flows() || strings.Contains(said, "Infiltration") {
		t.Error("a plan without rain speaks of it")
	}
	least := math.Inf(1)
	for _, l := range dry.Layers {
		least = math.Min(least, l.HeatCapacity)
	}
	days := dry.Time.Duration / day
	for _, x := range []struct {
		rate      float64 // [m/d]
		table     string
		deeper    float64
		says, not string
	}{
		{0.01, "none", 0.01 * 4.186e6 / least * days, "the ground below, where it leaves", "strong"},
		{0.01, "1 m", 0, "to the water table, where it leaves; it does not come to the slab", "takes of it"},
		{0.01, "2.2 m", 0, "as the water table is above the slab's middle; it does not come to the slab", "takes of it"},
		{0.01, "5 m", math.Min(1, 0.01*4.186e6/least*days), "the ground below to the water table", "strong"},
		{1, "none", math.Min(100, 1*4.186e6/least*days), "strong for a slab so thick", "does not come"},
	} {
		mm := digits(1000 * x.rate)
		c, bottom, said := find("surface.infiltration="+mm+" mm/d", "site.water_table="+x.table)
		if d := bottom - still; !(math.Abs(d-x.deeper) <= 2e-3*x.deeper+1e-9) {
			t.Errorf("%g m/d, table %s: the ground is %.5g m deeper, want %.5g m", x.rate, x.table, d, x.deeper)
		}
		if !c.Flows() || !strings.Contains(said, x.says) || strings.Contains(said, x.not) {
			t.Errorf("%g m/d, table %s: flows %v, the cautions are\n%s\nwant %q, not %q", x.rate, x.table, c.Flows(), said, x.says, x.not)
		}
		if len(c.TooNear()) > 0 {
			t.Errorf("%g m/d, table %s: too near by default: %v", x.rate, x.table, c.TooNear())
		}
	}
	near, _, _ := find("surface.infiltration=200 mm/d", "domain.bottom=12 m")
	if got := strings.Join(near.TooNear(), "\n"); !strings.Contains(got, "rain carries a front") {
		t.Errorf("a bottom in the front's way is said to be too near by %q", got)
	}
	rows, _, _ := find("surface.infiltration=rain.csv", "time.duration=15 d")
	if got := rows.turns(); !slices.Equal(got, []float64{10 * day}) {
		t.Errorf("steps end at %v s, want on day 10 of rain.csv", got)
	}
}
