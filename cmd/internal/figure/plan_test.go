package figure

import (
	"image/color"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"

	"soiljoule/cases"
)

// TestPlanIsNorthUp: in a panel of a plan y grows up the page and x to the right, for
// marks and for the bands under them alike.
func TestPlanIsNorthUp(t *testing.T) {
	const side = 100
	w := box{10, 14, 20, 28}
	canvas := vgimg.NewWith(vgimg.UseWH(side, side), vgimg.UseDPI(72))
	p := newPen(newStyle("si"), canvas, side, side)
	q := panel{vg.Rectangle{Max: vg.Point{X: side, Y: side}}, axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom}}
	black := color.RGBA{0, 0, 0, 255}
	p.bands(q, w, func(x, y float64) float64 {
		if x > 13 && y > 26 { // the upper right eighth
			return 1
		}
		return math.NaN()
	}, func(float64) color.RGBA { return black })
	at := func(x, y float64) bool { // whether the page is dark at a place of the plan
		r, _, _, _ := canvas.Image().At(int(q.atX(x)), int(side-q.atY(y))).RGBA() // rows of an image run down
		return r < 0x8000
	}
	for _, c := range []struct {
		x, y float64
		dark bool
	}{{13.6, 27.5, true}, {13.6, 20.5, false}, {10.4, 27.5, false}, {10.4, 20.5, false}, {13.1, 26.3, true}} {
		if got := at(c.x, c.y); got != c.dark {
			t.Errorf("the page is dark at x = %g, y = %g: %v, want %v", c.x, c.y, got, c.dark)
		}
	}
	if q.backX(q.atX(12.3)) != 12.3 || math.Abs(q.backY(q.atY(21.7))-21.7) > 1e-12 {
		t.Errorf("12.3, 21.7 on the page comes back as %g, %g", q.backX(q.atX(12.3)), q.backY(q.atY(21.7)))
	}
}

// TestTilesAreTrueToScale: whatever the ground's shape, a panel has its proportions,
// all panels fit, and no arrangement that may be chosen has larger ones.
func TestTilesAreTrueToScale(t *testing.T) {
	for _, c := range []struct {
		wide, deep    float64
		n             int
		columns, rows int
	}{
		{40, 40, 4, 2, 2},
		{100, 20, 4, 1, 3},
		{20, 100, 4, 3, 1},
		{40, 40, 1, 1, 1},
		{100, 20, 2, 1, 2},
		{20, 100, 2, 2, 1},
		{1, 1000, 4, 3, 1},
	} {
		got := tile(box{5, 5 + c.wide, -3, -3 + c.deep}, c.n)
		if got.columns != c.columns || got.rows != c.rows {
			t.Errorf("%g × %g m in %d panels: %d columns, %d rows; want %d and %d", c.wide, c.deep, c.n, got.columns, got.rows, c.columns, c.rows)
		}
		// Two roundings of each length.
		if a, b := float64(got.width)/c.wide, float64(got.height)/c.deep; math.Abs(a/b-1) > 1e-12 {
			t.Errorf("%g × %g m: %g points a metre across, %g along", c.wide, c.deep, a, b)
		}
		if w := vg.Length(got.columns)*(got.width+tileGap) - tileGap; w > tilesAcross*(1+1e-9) || got.total() > tilesDown*(1+1e-9) {
			t.Errorf("%g × %g m: panels take %g × %g points, more than there are", c.wide, c.deep, w, got.total())
		}
	}
}

// TestChords: where a line enters and leaves a target, by hand.
func TestChords(t *testing.T) {
	// An L: 6 × 3 with 3 × 2 on its right half.
	l := cases.Target{Outline: [][2]float64{{0, 0}, {6, 0}, {6, 5}, {3, 5}, {3, 3}, {0, 3}}}
	// A U, open to the top: 6 × 4 less the middle 2 × 3.
	u := cases.Target{Outline: [][2]float64{{0, 0}, {6, 0}, {6, 4}, {4, 4}, {4, 1}, {2, 1}, {2, 4}, {0, 4}}}
	disc := cases.Target{Center: [2]float64{10, 20}, Radius: 5}
	for _, c := range []struct {
		name string
		t    cases.Target
		cut  cut
		want [][2]float64
	}{
		{"L along x", l, cut{letter: "x", at: 2}, [][2]float64{{0, 6}}},
		{"L along x, above the step", l, cut{letter: "x", at: 4}, [][2]float64{{3, 6}}},
		{"L along y", l, cut{letter: "y", at: 1}, [][2]float64{{0, 3}}},
		{"U along x, both arms", u, cut{letter: "x", at: 2}, [][2]float64{{0, 2}, {4, 6}}},
		{"U past it", u, cut{letter: "x", at: 5}, nil},
		{"disc along x, 3 off its middle", disc, cut{letter: "x", at: 23}, [][2]float64{{6, 14}}},
		{"disc along y, 4 off its middle", disc, cut{letter: "y", at: 6}, [][2]float64{{17, 23}}},
		{"disc past it", disc, cut{letter: "y", at: 16}, nil},
	} {
		if got := chords(c.t, c.cut); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// TestCutPlace: a plan is cut through the middle of its target, and where that is no part
// of it through the place farthest from all sides; by hand.
func TestCutPlace(t *testing.T) {
	target := func(outline [][2]float64, right, back float64) cases.Target {
		return cases.Target{Outline: outline, Right: right, Back: back}
	}
	// An L of 4 × 8 with 8 × 2 on its right: the line from (2, 2) to (2, 6) is 2 m from its
	// sides, and nothing is farther, for beside it the inner corner (4, 2) is nearer.
	l := target([][2]float64{{0, 0}, {12, 0}, {12, 2}, {4, 2}, {4, 8}, {0, 8}}, 12, 8)
	x, y, name := cutPlace(l)
	// The raster is a sixtieth of 12 × 8 m.
	if name != "widest part" || math.Abs(x-2) > 0.11 || y < 1.9 || y > 6.1 {
		t.Errorf("an L is cut through its %s at %.3g, %.3g; want its widest part, x = 2, y from 2 to 6", name, x, y)
	}
	box := target([][2]float64{{0, 0}, {12, 0}, {12, 8}, {0, 8}}, 12, 8)
	if x, y, name := cutPlace(box); x != 6 || y != 4 || name != "middle" {
		t.Errorf("a box is cut through its %s at %g, %g; want the middle, 6, 4", name, x, y)
	}
	disc := cases.Target{Center: [2]float64{5, 7}, Radius: 2, Left: 3, Right: 7, Front: 5, Back: 9}
	if x, y, name := cutPlace(disc); x != 5 || y != 7 || name != "middle" {
		t.Errorf("a disc is cut through its %s at %g, %g; want the middle, 5, 7", name, x, y)
	}
}

// TestSharesOfAPlanByArea: the cells' parts of a target sum to its area.
func TestSharesOfAPlanByArea(t *testing.T) {
	n := invented{planCase(), []float64{0, 60}, 1}
	f, err := openFolder(writeFolder(t, n), n.c)
	if err != nil {
		t.Fatal(err)
	}
	g, err := f.readGrid()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{36, math.Pi * 4} { // 6 m square; radius 2 m
		weigh, sum := f.weights(n.c.Targets[i], g), 0.0
		for k := range g.zc {
			for i := range g.xc {
				sum += weigh(i, k)
			}
		}
		// Some thousand cells, each to rounding.
		if math.Abs(sum-want) > 1e-10*want {
			t.Errorf("%s covers %.12g m², want %.12g", n.c.Targets[i].Name, sum, want)
		}
	}
}

// TestDaysMapOfNothing: where nothing was reached the map says so and is drawn; in
// between, days are those of the cells that have one.
func TestDaysMapOfNothing(t *testing.T) {
	n := invented{planCase(), []float64{0, 60}, 0}
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"days"}}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "days.svg"))
	if err != nil || !strings.Contains(string(data), "not reached in 60 d") {
		t.Errorf("days.svg of a plan that stays cold (%v) does not say that it was not reached", err)
	}
	nan := math.NaN()
	field := nodes{[]float64{0, 1, 2}, []float64{0, 1}, []float64{10, 20, nan, 30, 40, nan}}
	for _, c := range []struct{ x, y, want float64 }{
		{0.5, 0.5, 25},  // the mean of four
		{1.25, 0, 20},   // a neighbour without
		{1.5, 0.5, 30},  // two of four
		{0.25, 1, 32.5}, // along an edge
	} {
		if got := field.among(c.x, c.y); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("among at %g, %g = %g, want %g", c.x, c.y, got, c.want)
		}
	}
	if got := field.among(2, 0.5); !bad(got) {
		t.Errorf("among nodes without a day: %g, want none", got)
	}
}

// TestLabelsAtKeepApart: labels of a crowd of marks touch neither a mark nor each other,
// and those that have no room are left out.
func TestLabelsAtKeepApart(t *testing.T) {
	p := &pen{fonts: newStyle("si").fonts}
	bounds := vg.Rectangle{Max: vg.Point{X: 200, Y: 200}}
	var marks []vg.Rectangle
	var texts []string
	for i := range 8 {
		for j := range 8 {
			marks = append(marks, around(vg.Point{X: 12 + 25*vg.Length(i), Y: 12 + 25*vg.Length(j)}, 3))
			texts = append(texts, "E10")
		}
	}
	list := p.labelsAt(body, marks, texts, bounds, marks)
	if len(list) == 0 || len(list) == len(marks) {
		t.Errorf("%d of %d labels placed, want some, as they are wider than the marks are apart", len(list), len(marks))
	}
	for i, a := range list {
		for _, m := range marks {
			if overlap(a.at, m, 0) {
				t.Errorf("label %d at %v lies on a mark at %v", i+1, a.at, m)
			}
		}
		for _, b := range list[:i] {
			if overlap(a.at, b.at, 0) {
				t.Errorf("labels at %v and %v overlap", a.at, b.at)
			}
		}
	}
	// In a mark that holds it, the label is in its middle.
	if list := p.labelsAt(body, []vg.Rectangle{around(vg.Point{X: 50, Y: 50}, 12)}, []string{"A"}, bounds, nil); len(list) != 1 || list[0].at.Min.Add(list[0].at.Max).Scale(0.5) != (vg.Point{X: 50, Y: 50}) {
		t.Errorf("a letter in a large mark: %+v, want it in the middle", list)
	}
}

// TestLedgerOfAPlanTellsItsLosses: what left the target up, down and sideways stands
// under a plan's ledger, a gain with its sign; a section's has it not.
func TestLedgerOfAPlanTellsItsLosses(t *testing.T) {
	for _, c := range []struct {
		n    invented
		told bool
	}{{invented{planCase(), []float64{0, 60}, 1}, true}, {paved(), false}} {
		dir := writeFolder(t, c.n)
		if _, err := drawAt(t.Context(), coarse, dir, c.n.c, Options{Only: []string{"ledger"}}); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(filepath.Join(dir, "figures", "ledger.svg"))
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(string(data), "out of the target: above 120, below -8.25, at its sides 1235 kWh"); got != c.told {
			t.Errorf("%s: the ledger tells what left the target: %v, want %v", c.n.c.Title, got, c.told)
		}
	}
}

// TestPowerAtTheStartAndLast: the power figure shows the first field that has heat and
// the last, and its bands hold all but the weakest.
func TestPowerAtTheStartAndLast(t *testing.T) {
	n := invented{planCase(), everyFive(60), 1}
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"power"}}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "power.csv"))
	if err != nil {
		t.Fatal(err)
	}
	// No heat after day 54: of every fifth day, 50 is the last with some.
	if head, _, _ := strings.Cut(string(data), "\n"); head != "x_m,y_m,day_0_W_per_m3,day_50_W_per_m3" {
		t.Errorf("power.csv has the columns %s, want those of days 0 and 50", head)
	}
	for _, c := range []struct {
		top  float64
		want []float64
	}{
		{730, []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}},
		{1000, []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}},
		{0.03, []float64{5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05}},
	} {
		got := decades(c.top)
		same := len(got) == len(c.want)
		for i := range got {
			same = same && math.Abs(got[i]/c.want[i]-1) < 1e-9
		}
		if !same {
			t.Errorf("bands up to %g: %v, want %v", c.top, got, c.want)
		}
	}
	n.power = 0
	if _, err := Draw(t.Context(), writeFolder(t, n), n.c, Options{Only: []string{"power"}}); err == nil || !strings.Contains(err.Error(), "nothing to draw") {
		t.Errorf("power of a run without any: %v, want that there is nothing to draw", err)
	}
}
