package figure

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// TestRampIsEven: the map of colours stays displayable, falls in lightness all
// the way, and takes equal steps of colour.
func TestRampIsEven(t *testing.T) {
	r := newRamp()
	first := r[1].distance(r[0])
	for i, c := range r {
		red, green, blue := c.rgb()
		if min(red, green, blue) < 0 || max(red, green, blue) > 1 {
			t.Errorf("colour %d %+v is not displayable: rgb %.3f %.3f %.3f", i, c, red, green, blue)
		}
		if i == 0 {
			continue
		}
		if c.l >= r[i-1].l {
			t.Errorf("lightness does not fall at %d: %.2f after %.2f", i, c.l, r[i-1].l)
		}
		// Corners of the path are cut by at most one step: there, a chord of two
		// part-steps, at worst √½ of a step for a right angle.
		if d := c.distance(r[i-1]); d > first*1.001 || d < first*0.7 {
			t.Errorf("step %d is %.3f, the first %.3f", i, d, first)
		}
	}
}

// TestLedgerNeighboursPartInGrey: bands that can touch differ by more than ten in
// lightness, four times what is just told apart side by side.
func TestLedgerNeighboursPartInGrey(t *testing.T) {
	apart := func(a, b ledgerTerm) {
		if d := math.Abs(a.color.l - b.color.l); d < 10 {
			t.Errorf("%s and %s differ by %.0f in lightness, want at least 10", a.text, b.text, d)
		}
	}
	for _, fates := range []bool{false, true} {
		terms := ledgerTerms(fates)
		for i := 1; i < len(terms); i++ {
			apart(terms[i-1], terms[i])
		}
	}
	// Two of the three ways that steam takes are drawn, whichever.
	terms := ledgerTerms(true)
	for _, pair := range [][2]int{{1, 3}, {1, 4}, {2, 4}, {3, 5}} {
		apart(terms[pair[0]], terms[pair[1]])
	}
}

func TestSpread(t *testing.T) {
	for _, c := range []struct {
		want, out []vg.Length
		lo, hi    vg.Length
		fits      bool
	}{
		{[]vg.Length{10, 50, 90}, []vg.Length{10, 50, 90}, 0, 100, true},  // nothing to do
		{[]vg.Length{50, 50}, []vg.Length{45, 55}, 0, 100, true},          // shared evenly
		{[]vg.Length{52, 50, 48}, []vg.Length{60, 50, 40}, 0, 100, true},  // order kept
		{[]vg.Length{0, 2}, []vg.Length{0, 10}, 0, 100, true},             // pushed off the edge
		{[]vg.Length{99, 98, 97}, []vg.Length{100, 90, 80}, 0, 100, true}, // and off the other
		{[]vg.Length{5, 5, 5}, []vg.Length{0, 10, 20}, 0, 15, false},      // no room
		{nil, nil, 0, 100, true},
	} {
		out, fits := spread(c.want, 10, c.lo, c.hi)
		if fits != c.fits || len(out) != len(c.out) {
			t.Errorf("spread(%v) in [%v, %v] = %v, %v; want %v, %v", c.want, c.lo, c.hi, out, fits, c.out, c.fits)
			continue
		}
		for i := range out {
			if fits && math.Abs(float64(out[i]-c.out[i])) > 1e-9 {
				t.Errorf("spread(%v) in [%v, %v] = %v, want %v", c.want, c.lo, c.hi, out, c.out)
				break
			}
		}
	}
}

// TestPlacedLabelsAreApart: labels of a bundle of lines do not touch.
func TestPlacedLabelsAreApart(t *testing.T) {
	p := &pen{fonts: newStyle("si").fonts}
	bounds := vg.Rectangle{Max: vg.Point{X: 300, Y: 200}}
	var curves []curve
	for i := range 8 {
		var l []vg.Point
		for x := 0.0; x <= 300; x += 5 {
			l = append(l, vg.Point{X: vg.Length(x), Y: vg.Length(100 + float64(i-4)*x/12)})
		}
		curves = append(curves, curve{[][]vg.Point{l}, "day 30"})
	}
	boxes, _ := p.placeLabels(curves, body, bounds, nil)
	for i, a := range boxes {
		if a == (vg.Rectangle{}) {
			t.Errorf("no label for line %d", i+1)
			continue
		}
		if a.Min.X < 0 || a.Max.X > 300 || a.Min.Y < 0 || a.Max.Y > 200 {
			t.Errorf("label %d at %v lies outside %v", i+1, a, bounds)
		}
		for j, b := range boxes[:i] {
			if overlap(a, b, 0) {
				t.Errorf("labels %d and %d overlap: %v, %v", j+1, i+1, b, a)
			}
		}
	}
}

// TestIsolines: the field x + z is linear, so its lines are exact; a cone gives
// one closed ring, within the error of linear interpolation.
func TestIsolines(t *testing.T) {
	n := nodes{x: []float64{0, 1, 3, 4, 6}, z: []float64{0, 2, 3, 5}}
	for _, z := range n.z {
		for _, x := range n.x {
			n.v = append(n.v, x+z)
		}
	}
	lines := n.isolines(4.5)
	if len(lines) != 1 {
		t.Fatalf("x + z = 4.5 gave %d lines, want 1", len(lines))
	}
	for _, p := range lines[0] {
		// One rounding each in weight and point: a few ε of 6.
		if d := math.Abs(p[0] + p[1] - 4.5); d > 4*6*0x1p-52 {
			t.Errorf("point %v lies %g off x + z = 4.5", p, d)
		}
	}
	const h = 0.05
	var ring nodes
	for v := -1.0; v < 1+h/2; v += h {
		ring.x, ring.z = append(ring.x, v), append(ring.z, v)
	}
	for _, z := range ring.z {
		for _, x := range ring.x {
			ring.v = append(ring.v, math.Hypot(x, z))
		}
	}
	lines = ring.isolines(0.5)
	if len(lines) != 1 {
		t.Fatalf("a cone's level gave %d lines, want one ring", len(lines))
	}
	r := lines[0]
	if r[0] != r[len(r)-1] {
		t.Errorf("the ring is open: %v to %v", r[0], r[len(r)-1])
	}
	for _, p := range r {
		// The distance's curvature along an edge is at most 1/r = 2, so linear
		// interpolation is off by at most h²·2/8; the slope along a crossed edge
		// is at least about √½, which turns that into the distance moved.
		if d := math.Abs(math.Hypot(p[0], p[1]) - 0.5); d > h*h*2/8*math.Sqrt2 {
			t.Errorf("point %v is %.2g off the circle", p, d)
		}
	}
}

func TestSpacedEntries(t *testing.T) {
	var list []entry
	for d := 0.0; d <= 70; d += 5 {
		list = append(list, entry{Days: &d})
	}
	days := func(l []entry) (out []float64) {
		for _, e := range l {
			out = append(out, *e.Days)
		}
		return out
	}
	for _, c := range []struct {
		list  []entry
		n     int
		after bool
		want  []float64
	}{
		{list, 3, false, []float64{0, 35, 70}},
		{list[1:], 3, true, []float64{25, 45, 70}},
		{list[:2], 7, false, []float64{0, 5}},
		{list, 1, true, []float64{70}},
		{list[:4], 3, false, []float64{0, 5, 15}},
	} {
		if got := days(spacedEntries(c.list, c.n, 0, c.after)); !slices.Equal(got, c.want) {
			t.Errorf("%d of %v: days %v, want %v", c.n, days(c.list), got, c.want)
		}
	}
}

// TestProfilePlace: a row of electrodes in the middle of the target moves the
// profile halfway to the next; rows to its sides do not.
func TestProfilePlace(t *testing.T) {
	c := sectionCase()
	f := &folder{c: c}
	x, z := inventedEdges(c)
	g := &grid{x: x, z: z, xc: centres(x), zc: centres(z)}
	if at, why := f.profilePlace(g, box{}); math.Abs(at-41.5*ft) > 1e-9 || why != "between electrodes" {
		t.Errorf("nine rows: x = %.3f ft, %s; want 41.5 ft, between electrodes", at/ft, why)
	}
	c.Electrodes = slices.Delete(c.Electrodes, 4, 5)
	if at, why := f.profilePlace(g, box{}); math.Abs(at-45*ft) > 1e-9 || why != "middle of the target" {
		t.Errorf("without the middle row: x = %.3f ft, %s; want 45 ft, middle of the target", at/ft, why)
	}
	f.c = roundCase()
	x, z = inventedEdges(f.c)
	g = &grid{x: x, z: z, xc: centres(x), zc: centres(z)}
	if at, _ := f.profilePlace(g, box{}); math.Abs(at-(0.5*ft+2.24)/2) > 1e-9 {
		t.Errorf("one rod: r = %.3f m, want %.3f", at, (0.5*ft+2.24)/2)
	}
}

func TestPlannedLimits(t *testing.T) {
	c := roundCase() // 200 V from phase to phase, 60 A
	off := false
	volts := 100.0
	c.Changes = []cases.Change{{At: 10 * 86400, Voltage: &volts}, {At: 20 * 86400, On: &off}, {At: 99 * 86400}}
	l, err := planned(c, []float64{0, 60})
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[float64]float64{0: 200 / math.Sqrt(3), 9.9: 200 / math.Sqrt(3), 10: 100 / math.Sqrt(3), 20: 0, 60: 0} {
		if got := l.at(1, day); math.Abs(got-want) > 1e-9 {
			t.Errorf("voltage set on day %g is %g V, want %g", day, got, want)
		}
	}
	if got := l.at(2, 30); got != 60 {
		t.Errorf("current limit %g A, want 60", got)
	}
	if got := l.at(0, 30); !math.IsNaN(got) {
		t.Errorf("power limit %g kW, want none", got)
	}
	c.Changes[1].At = 0
	if _, err := planned(c, []float64{0, 60}); err == nil {
		t.Error("changes out of order: no error")
	}
}

// TestOtherShares: half a target above its temperature is 50 %, by area in a
// section, by volume round an axis.
func TestOtherShares(t *testing.T) {
	n := deep()
	n.days = []float64{60}
	n.c.Targets[1] = cases.Target{Name: "shell", Radius: math.NaN(), Top: 5, Bottom: 10, Temperature: 373.15}
	dir := writeFolder(t, n)
	f := &folder{dir: dir, c: n.c}
	g, err := f.readGrid()
	if err != nil {
		t.Fatal(err)
	}
	v := make([]float64, len(g.xc)*len(g.zc))
	var inner float64
	for k := range g.zc {
		for i := range g.xc {
			if i < 12 {
				v[k*len(g.xc)+i] = 100
				inner = g.x[i+1]
			}
		}
	}
	writeNpy(t, dir, "fields/temperature_0060d.npy", v, len(g.zc), len(g.xc))
	got, days, err := f.otherShares()
	if err != nil {
		t.Fatal(err)
	}
	want := 100 * inner * inner / (2.24 * 2.24)
	if len(days) != 1 || math.Abs(got[0][0]-want) > 1e-9 {
		t.Errorf("share %v %% on days %v, want %.3f %% on day 60", got, days, want)
	}
}

func TestTicks(t *testing.T) {
	labels := func(marks []tick) (out []string) {
		for _, m := range marks {
			out = append(out, m.label)
		}
		return out
	}
	for _, c := range []struct {
		a    axis
		u    unit
		n    int
		want []string
	}{
		{axis{lo: 0, hi: 70}, plain, 8, []string{"0", "10", "20", "30", "40", "50", "60", "70"}},
		{axis{lo: 10, hi: 110}, fahrenheit, 5, []string{"50", "100", "150", "200"}},
		{axis{lo: 0, hi: 1}, plain, 5, []string{"0.0", "0.2", "0.4", "0.6", "0.8", "1.0"}},
		{axis{lo: -60000, hi: 120000}, plain, 4, []string{"-50 000", "0", "50 000", "100 000"}},
		{axis{lo: 0, hi: 3.048}, foot, 2, []string{"0", "5", "10"}},
	} {
		if got := labels(c.a.ticks(c.u, c.n)); !slices.Equal(got, c.want) {
			t.Errorf("ticks of %+v in %q, at most %d: %q, want %q", c.a, c.u.name, c.n, got, c.want)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range [][2]string{
		{depthLabel("T1@10.5ft"), "10.5 ft"},
		{depthLabel("T1@7ft6in"), "7 ft 6 in"},
		{depthLabel("near"), "near"},
		{short(95), "95"}, {short(6.7056), "6.71"}, {short(1234.5), "1234"}, {short(0.5), "0.5"}, {short(-0.001), "0"}, {short(203), "203"},
		{dayName(30), "30"}, {dayName(0.5), "0.5"},
		{printable("a\x00b\tc"), "abc"},
	} {
		if c[0] != c[1] {
			t.Errorf("got %q, want %q", c[0], c[1])
		}
	}
}

// TestStackReachesEnergy: with a gain at the surface that turns into a loss, the
// bands meet without a jump, stand on the gain, and end at the energy supplied.
func TestStackReachesEnergy(t *testing.T) {
	values := [][]float64{{0, 60, 90}, {0, 50, 100}, {0, -10, 10}}
	lows, highs, gains := stack(values, 3)
	for i, want := range []float64{0, 100, 200} {
		if got := highs[2][i]; got != want {
			t.Errorf("step %d: the stack ends at %g kWh, want %g", i, got, want)
		}
		if lows[0][i] != gains[2][i] || lows[1][i] != highs[0][i] || lows[2][i] != highs[1][i] {
			t.Errorf("step %d: bands %v to %v leave gaps over %v", i, lows, highs, gains)
		}
	}
	if want := []float64{0, -10, 0}; !slices.Equal(gains[2], want) {
		t.Errorf("gain line %v, want %v", gains[2], want)
	}
}

// TestOpenedBands: ground far hotter than boiling shares one last band; ground
// just above it does not.
func TestOpenedBands(t *testing.T) {
	b := newBands(13, 119, newStyle("si"))
	for _, c := range []struct {
		hi   float64
		n    int
		open bool
	}{{118, 11, false}, {125, 12, false}, {210, 12, true}} {
		o := b.opened(c.hi)
		if n := len(o.levels) - 1; n != c.n || o.open != c.open {
			t.Errorf("up to %g °C: %d bands, open %v; want %d, %v", c.hi, n, o.open, c.n, c.open)
		}
		if got := o.band(c.hi); c.open && got != c.n-1 {
			t.Errorf("%g °C is in band %d, want the last", c.hi, got)
		}
	}
}

// TestBoilingFront: the front is where the ground is at its boiling point, which
// rises with depth.
func TestBoilingFront(t *testing.T) {
	q := panel{vg.Rectangle{Max: vg.Point{X: 40, Y: 40}}, axis{lo: 0, hi: 4}, axis{lo: 0, hi: 4, down: true}}
	n := nodes{x: []float64{0, 1, 2, 3, 4}, z: []float64{0, 1, 2, 3, 4}}
	boil := n
	for _, z := range n.z {
		for _, x := range n.x {
			b := 100 + 3*z
			boil.v = append(boil.v, b)
			n.v = append(n.v, b+min(0, 10*(2-x))) // boils up to x = 2
		}
	}
	list := isotherms(goal{math.NaN(), &boil}, q, n, newBands(70, 120, newStyle("si")))
	if !list[0].target || len(list[0].lines) != 1 {
		t.Fatalf("the first isotherm is %+v, want one boiling front", list[0])
	}
	for _, p := range list[0].lines[0] {
		// 0.01 K below boiling at 10 K/m, ten points to the metre.
		if math.Abs(float64(p.X)-20.01) > 1e-9 {
			t.Errorf("the front passes %v, want x = 20.01", p)
		}
	}
	if got := named(list, newStyle("si"), true)[0].text; got != "boiling" {
		t.Errorf("the front is named %q, want boiling", got)
	}
}

// TestLabelsOfTicksStandApart: labels below a panel that would run into each other are left
// out, evenly; the first stays, and so do all where there is room.
func TestLabelsOfTicksStandApart(t *testing.T) {
	p := &pen{fonts: newStyle("si").fonts}
	days := axis{hi: 3000}
	marks := days.ticks(plain, 6) // 0, 500 … 3000
	wide := p.width(body, "3000")
	for _, c := range []struct {
		width vg.Length // of the panel
		want  int
	}{{6*wide + 6*4, 1}, {6*wide + 6*2, 2}, {3*wide + 3*4, 2}, {3*wide + 3*2, 3}, {1, 7}} {
		q := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: c.width, Y: 10}}, x: days}
		if got := p.apart(q, marks, 3); got != c.want {
			t.Errorf("in %.4g points one label of %d is written, want one of %d", c.width, got, c.want)
		}
	}
}
