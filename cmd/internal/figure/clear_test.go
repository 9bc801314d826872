package figure

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// drum is buried metal of a plan, round.
func drum(x, y, radius float64) cases.Conductor {
	return cases.Conductor{Name: "drum", Center: [2]float64{x, y}, Radius: radius,
		Left: x - radius, Right: x + radius, Front: y - radius, Back: y + radius, Top: 2, Bottom: 6}
}

// wall is buried metal of a plan, a box.
func wall(name string, left, right, front, back float64) cases.Conductor {
	return cases.Conductor{Name: name, Outline: [][2]float64{{left, front}, {right, front}, {right, back}, {left, back}},
		Left: left, Right: right, Front: front, Back: back, Top: 2, Bottom: 6}
}

// TestLayoutLabelsHideNothing: wherever a drum stands among a ring of electrodes, no name in
// the plan of the layout lies on it, on a pipe, on an electrode or on another name.
func TestLayoutLabelsHideNothing(t *testing.T) {
	s := newStyle("si")
	for _, at := range [][2]float64{{11, 8.5}, {12.5, 7.5}, {9, 7}, {13, 9}, {12, 7}, {10, 5}, {14, 7.6}} {
		c := planCase()
		c.Electrodes = append(c.Electrodes, cases.Electrode{Name: "E7", Phase: "N", X: 11, Y: 7, Top: 2, Bottom: 6, Radius: 0.15})
		c.Conductors = []cases.Conductor{drum(at[0], at[1], 0.28), wall("pipe", 2, 20, 2, 2.3), wall("sheet wall", 16, 16.3, 4, 10)}
		f := &folder{c: c}
		w, _ := f.siteBox()
		q := panel{vg.Rectangle{Max: vg.Point{X: 250, Y: vg.Length(250 / (w.right - w.left) * (w.bottom - w.top))}},
			axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom}}
		var labels []placed
		d := &drawing{width: q.Max.X, height: q.Max.Y, paint: func(p *pen) { labels = p.fromAbove(f, q, f.siteRods(w), w) }}
		d.image(s, 72)
		metal := f.metalFromAbove(q, w)
		if len(metal) != 3 || len(labels) < 7 {
			t.Fatalf("drum at %v: %d bodies of metal drawn, %d names, want 3 and those of seven electrodes at least", at, len(metal), len(labels))
		}
		for i, l := range labels {
			for _, m := range metal {
				// Its box for a wall and a drum alike: a diamond's corners are free of it.
				if !m.small && overlap(l.at, m.at, 0) {
					t.Errorf("drum at %v: %s lies on %s", at, l.text, m.name)
				}
				if mid := m.at.Min.Add(m.at.Max).Scale(0.5); m.small && overlap(l.at, around(mid, 3), 0) {
					t.Errorf("drum at %v: %s lies on the drum", at, l.text)
				}
			}
			for _, e := range c.Electrodes {
				if overlap(l.at, around(vg.Point{X: q.atX(e.X), Y: q.atY(e.Y)}, 4), 0) {
					t.Errorf("drum at %v: %s lies on electrode %s", at, l.text, e.Name)
				}
			}
			for _, o := range labels[:i] {
				if overlap(l.at, o.at, 0) {
					t.Errorf("drum at %v: %s and %s overlap", at, l.text, o.text)
				}
			}
		}
	}
}

// TestSmallMetalIsNoPhase: the mark of small metal has another shape than that of any phase,
// and is named apart from metal drawn to size.
func TestSmallMetalIsNoPhase(t *testing.T) {
	s := newStyle("si")
	const side = 24
	middle := vg.Point{X: side / 2, Y: side / 2}
	ink := func(paint func(p *pen)) (points int, at [side * side]bool) {
		m := (&drawing{width: side, height: side, paint: paint}).image(s, 72)
		for i := range at {
			r, _, _, _ := m.At(i%side, i/side).RGBA()
			if at[i] = r < 0xc000; at[i] {
				points++
			}
		}
		return points, at
	}
	all, metal := ink(func(p *pen) { p.metalFigure(vg.Rectangle{Max: middle.Scale(2)}, diamond(middle)) })
	for _, phase := range []string{"A", "B", "C", "D", "E", "F", "N"} {
		_, mark := ink(func(p *pen) { p.phaseShape(phase, middle, 5.5) })
		differ := 0
		for i := range metal {
			if metal[i] != mark[i] {
				differ++
			}
		}
		// Black stripes, or corners, where the other has none: a quarter of the diamond.
		if differ < all/4 {
			t.Errorf("small metal and phase %s differ in %d of %d dots, want a quarter at least", phase, differ, all)
		}
	}
	c := planCase()
	c.Conductors = []cases.Conductor{drum(12.5, 7.5, 0.28)}
	for _, one := range []struct {
		metal cases.Conductor
		small bool
	}{{drum(12.5, 7.5, 0.28), true}, {drum(12.5, 7.5, 1.2), false}, {wall("pipe", 2, 20, 2, 2.3), false}} {
		c.Conductors = []cases.Conductor{one.metal}
		text := svgOf(t, &folder{c: c}, "layout")
		if small, sized := strings.Contains(text, ">small buried metal<"), strings.Contains(text, ">buried metal<"); small != one.small || sized == one.small {
			t.Errorf("%s of %g m: named as small metal %v, to size %v, want one: small %v", one.metal.Name, one.metal.Radius, small, sized, one.small)
		}
	}
}

// svgOf draws the layout, or another figure of a folder, and returns its text.
func svgOf(t *testing.T, f *folder, name string) string {
	t.Helper()
	s := newStyle("si")
	for _, k := range kinds() {
		if k.name == name {
			d, err := k.make(f, s)
			if err != nil {
				t.Fatal(err)
			}
			data, err := d.svg(s)
			if err != nil {
				t.Fatal(err)
			}
			return string(data)
		}
	}
	t.Fatalf("no figure %s", name)
	return ""
}

// TestEveryBodyIsInTheLegend: whatever stands in the ground is named under each figure that
// shows it.
func TestEveryBodyIsInTheLegend(t *testing.T) {
	full := func(n invented) invented {
		c := n.c
		c.Site.WaterTable = 3
		c.Steam = cases.Steam{Boiling: true, Fate: "rising", Top: 2.1, Bottom: 2.4}
		c.Layers[0].SteamBarrier = true
		c.WaterAdded = []cases.WaterAdded{{Electrode: c.Electrodes[0].Name, Rate: 1}}
		if c.View == cases.Section {
			c.Conductors = []cases.Conductor{{Name: "sheet", Left: 8, Right: 8.3, Top: 1, Bottom: 4}}
			c.Heats = []cases.Heat{{Name: "mat", Left: 15, Right: 17, Top: 1, Bottom: 2}}
		} else {
			c.Conductors = []cases.Conductor{drum(12.5, 7.5, 0.28), wall("pipe", 2, 20, 2, 2.3)}
		}
		return n
	}
	ground := []string{"electrode", "electrode, water added", "set power", "buried metal", "water table", "steam extracted", "steam barrier", "silt zone, target 95 °C (203 °F)"}
	above := []string{"electrode", "electrode, water added", "set power", "buried metal", "sensor", "square, target 80 °C (176 °F)", "other targets"}
	for _, c := range []struct {
		n     invented
		want  map[string][]string
		never string
	}{
		{full(paved()), map[string][]string{
			"section":    append(slices.Clone(ground), "95 °C"),
			"saturation": ground, "profiles": ground,
			"layout": {"electrode in section", "electrode in section, water added", "electrode, water added", "set power", "buried metal", "water table", "sensor",
				"steam extracted", "steam barrier", "phase A: 12", "phase B: 12", "phase C: 12"},
		}, "small buried metal"},
		{full(invented{planCase(), everyFive(60), 1}), map[string][]string{
			"plan": append(slices.Clone(above), "80 °C"),
			"days": append(slices.Clone(above), "not reached"), "power": above, "saturation": above,
			"layout": {"small buried metal", "buried metal", "metal from the front", "set power", "sensor", "other targets", "water table",
				"electrode in section", "electrode, water added", "phase A: 1", "phase F: 1"},
		}, "neutral"},
	} {
		for i := range c.n.c.Electrodes {
			if c.n.c.View == cases.Section && i%2 == 1 {
				c.n.c.Electrodes[i].RodOffset = 12.1 * ft
			}
		}
		f, err := openFolder(writeFolder(t, c.n), c.n.c)
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range c.want {
			text := svgOf(t, f, name)
			for _, one := range want {
				if !strings.Contains(text, ">"+one+"<") {
					t.Errorf("%s: %s does not name %q", c.n.c.View, name, one)
				}
			}
			if strings.Contains(text, c.never) {
				t.Errorf("%s: %s names %q, of which there is none", c.n.c.View, name, c.never)
			}
		}
	}
}

// TestOutlineOfAll: the outline of boxes together is as long as the edge of the unit cells
// that they cover, counted cell by cell, and passes between a covered and a free one.
func TestOutlineOfAll(t *testing.T) {
	const n = 12
	random := rand.New(rand.NewPCG(7, 11))
	for range 50 {
		var list []vg.Rectangle
		var grid [n + 2][n + 2]bool // with a free rim
		for range 1 + random.IntN(5) {
			x, y := random.IntN(n-1), random.IntN(n-1)
			w, h := 1+random.IntN(n-1-x), 1+random.IntN(n-1-y)
			list = append(list, vg.Rectangle{Min: vg.Point{X: vg.Length(x), Y: vg.Length(y)}, Max: vg.Point{X: vg.Length(x + w), Y: vg.Length(y + h)}})
			for i := x; i < x+w; i++ {
				for k := y; k < y+h; k++ {
					grid[i+1][k+1] = true
				}
			}
		}
		want := 0
		for i := range n + 1 {
			for k := range n + 1 {
				if grid[i][k] != grid[i+1][k] {
					want++
				}
				if grid[i][k] != grid[i][k+1] {
					want++
				}
			}
		}
		got := 0.0
		for _, e := range outlineOfAll(list) {
			got += math.Abs(float64(e[1].X-e[0].X)) + math.Abs(float64(e[1].Y-e[0].Y))
			if e[0].X != e[1].X && e[0].Y != e[1].Y {
				t.Errorf("a side from %v to %v is neither level nor upright", e[0], e[1])
			}
		}
		if got != float64(want) { // whole numbers
			t.Errorf("the outline of %v is %g long, want %d", list, got, want)
		}
	}
}

// TestStripesFillTheirFigure: stripes lie in the figure, and their length times their
// distance is its area, as of any cut into strips (Cavalieri).
func TestStripesFillTheirFigure(t *testing.T) {
	box := cornersOf(vg.Rectangle{Min: vg.Point{X: 3, Y: 4}, Max: vg.Point{X: 63, Y: 34}})
	el := []vg.Point{{X: 0, Y: 0}, {X: 60, Y: 0}, {X: 60, Y: 20}, {X: 20, Y: 20}, {X: 20, Y: 50}, {X: 0, Y: 50}}
	for _, c := range []struct {
		corners []vg.Point
		area    float64
	}{{box, 60 * 30}, {el, 60*20 + 20*30}} {
		const pitch = 0.5
		sum := 0.0
		for _, l := range stripes(c.corners, pitch) {
			sum += math.Hypot(float64(l[1].X-l[0].X), float64(l[1].Y-l[0].Y))
			if l[0].Y > l[1].Y {
				t.Errorf("a stripe from %v to %v falls to the right", l[0], l[1])
			}
		}
		// The middles of strips are exact where the width is linear; at each of six corners at
		// most one strip of 85 across the figure, 0.5 × 70 of area, is off by half of that.
		if got := sum * pitch; math.Abs(got-c.area) > 6*0.5*0.5*70/2 {
			t.Errorf("stripes cover %.1f, the figure %.1f", got, c.area)
		}
	}
}

// TestSectionIsNearTrueScale: panels of a section stand as they are nearer to true scale,
// and within the page.
func TestSectionIsNearTrueScale(t *testing.T) {
	for _, c := range []struct {
		wide, deep float64
		stacked    bool
		least      float64 // of the vertical over the level scale
		most       float64
	}{
		{24, 6, true, 1, 1.5},     // the paved yard's
		{18, 13, true, 0.6, 1},    // stacked elements
		{6, 12, false, 1, 1},      // half a cell
		{2.24, 10, false, 0.6, 1}, // a rod's cell
		{11, 14, false, 1, 1.5},   // the tank circle's
	} {
		l := arrange(box{5, 5 + c.wide, 0, c.deep}, 3, groundWidth)
		if l.stacked != c.stacked || l.exaggeration < c.least || l.exaggeration > c.most {
			t.Errorf("%g × %g m: stacked %v, scale × %g; want %v, × %g to %g", c.wide, c.deep, l.stacked, l.exaggeration, c.stacked, c.least, c.most)
		}
		// Two roundings of each length.
		if got := float64(l.panelHeight) / c.deep / (float64(l.panelWidth) / c.wide); math.Abs(got/l.exaggeration-1) > 1e-12 {
			t.Errorf("%g × %g m: drawn × %g, told × %g", c.wide, c.deep, got, l.exaggeration)
		}
		if got := 3*l.panelWidth + 2*12; !l.stacked && got > 280+1e-9 {
			t.Errorf("%g × %g m: panels take %g points, more than there are", c.wide, c.deep, got)
		}
	}
}

// TestNothingStandsOnTheFrame: metal that ends near the window's side is seen whole, and a
// sensor there has room for its cross; what is far off changes nothing.
func TestNothingStandsOnTheFrame(t *testing.T) {
	c := planCase()
	n := invented{c, []float64{0, 60}, 1}
	f, err := openFolder(writeFolder(t, n), c)
	if err != nil {
		t.Fatal(err)
	}
	g, err := f.readGrid()
	if err != nil {
		t.Fatal(err)
	}
	before, err := f.window(g)
	if err != nil {
		t.Fatal(err)
	}
	c.Conductors = []cases.Conductor{wall("sheet", before.right-0.1, before.right+0.1, 4, 10), wall("far", 1e3, 1001, 0, 1)}
	c.Sensors = append(c.Sensors, cases.Sensor{Name: "rim", X: 11, Y: before.bottom, Labels: []string{"rim"}})
	after, err := f.window(g)
	if err != nil {
		t.Fatal(err)
	}
	if after.right < before.right+0.2 || after.right > before.right+2 {
		t.Errorf("a sheet to x = %g: the window reaches to %g, was %g; want a little beyond the sheet", before.right+0.1, after.right, before.right)
	}
	if after.bottom < before.bottom+0.2 || after.left != before.left || after.top != before.top {
		t.Errorf("a sensor on the upper side of %+v: the window is %+v, want it larger there alone", before, after)
	}
}

// TestDatesOfDays: dates under days are those of the calendar, with the year where it
// changes, and stand apart.
func TestDatesOfDays(t *testing.T) {
	p := &pen{fonts: newStyle("si").fonts}
	from := time.Date(2027, 12, 15, 0, 0, 0, 0, time.UTC)
	wide := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: 380, Y: 10}}, x: axis{hi: 80}}
	var got []string
	for _, d := range p.dates(wide, wide.x.ticks(plain, 4), from) {
		got = append(got, d.label)
	}
	// 2028 is a leap year: 16 days of December, 31, 29, and four of March.
	if want := []string{"15 Dec", "4 Jan 2028", "24 Jan", "13 Feb", "4 Mar"}; !slices.Equal(got, want) {
		t.Errorf("days 0 to 80 from 2027-12-15 are %q, want %q", got, want)
	}
	for _, width := range []vg.Length{30, 100, 200, 300, 400} {
		q := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: width, Y: 10}}, x: axis{hi: 50}}
		list := p.dates(q, q.x.ticks(plain, across(width)), from)
		if len(list) == 0 {
			t.Errorf("%g points: no date", width)
		}
		for i := 1; i < len(list); i++ {
			if q.atX(list[i].v)-q.atX(list[i-1].v) < (p.width(body, list[i].label)+p.width(body, list[i-1].label))/2 {
				t.Errorf("%g points: %s and %s run into each other", width, list[i-1].label, list[i].label)
			}
		}
	}
	// Quarters of a day have one date.
	short := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: 380, Y: 10}}, x: axis{hi: 1}}
	if list := p.dates(short, short.x.ticks(plain, 5), from); len(list) != 2 {
		t.Errorf("a day has the dates %v, want two", list)
	}
}

// TestLabelsSpareTheTargetsLine: of the isotherms' labels none but its own lies on the
// target's line, and none on an electrode.
func TestLabelsSpareTheTargetsLine(t *testing.T) {
	n := paved()
	f, err := openFolder(writeFolder(t, n), n.c)
	if err != nil {
		t.Fatal(err)
	}
	s := newStyle("us")
	g, saved, w, err := f.plane()
	if err != nil {
		t.Fatal(err)
	}
	fields, err := f.readFields(saved, g)
	if err != nil {
		t.Fatal(err)
	}
	q := panel{vg.Rectangle{Max: vg.Point{X: 280, Y: 120}}, axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom, down: true}}
	seen := 0
	for _, one := range fields[1:] {
		lines := isotherms(f.goalOf(g, nil), q, g.nodes(one.v), newBands(10, 115, s))
		reached := len(lines[0].lines) > 0
		taken := f.marks(q, w, one.time)
		var labels []placed
		d := &drawing{width: 280, height: 120, paint: func(p *pen) { labels = p.nameIsotherms(named(lines, s, false), reached, q, taken) }}
		d.image(s, 36)
		for _, l := range labels {
			seen++
			if slices.ContainsFunc(taken, func(r vg.Rectangle) bool { return overlap(l.at, r, 0) }) {
				t.Errorf("day %g: %s lies on an electrode", one.time, l.text)
			}
			if reached && l.text != "203" && slices.ContainsFunc(lines[0].lines, func(line []vg.Point) bool { return len(clipTo(l.at, line)) > 0 }) {
				t.Errorf("day %g: %s lies on the target's line", one.time, l.text)
			}
		}
	}
	if seen < 5 {
		t.Errorf("%d labels on %d days, want five at least", seen, len(fields)-1)
	}
}

// TestCrowdedLabelsAreLeftOut: the target's line is named, and of the others those whose
// label, 14 points high, would lie neither on it nor on two more; by hand.
func TestCrowdedLabelsAreLeftOut(t *testing.T) {
	q := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: 200, Y: 130}}}
	for _, c := range []struct {
		heights []vg.Length // of level lines, the target's first
		want    []int       // which are named
	}{
		{[]vg.Length{50, 20, 80, 110}, []int{0, 1, 2, 3}},
		{[]vg.Length{50, 55, 80, 110}, []int{0, 2, 3}},    // the second on the target's
		{[]vg.Length{50, 90, 95, 110}, []int{0, 1, 2, 3}}, // each on one more
		{[]vg.Length{50, 80, 83, 86, 110}, []int{0, 4}},   // each on two more
		{[]vg.Length{50, 46, 48, 52, 54}, []int{0}},       // all on the target's
	} {
		var curves []curve
		for i, y := range c.heights {
			curves = append(curves, curve{[][]vg.Point{{{X: 0, Y: y}, {X: 200, Y: y}}}, string(rune('0' + i))})
		}
		var labels []placed
		d := &drawing{width: 200, height: 130, paint: func(p *pen) { labels = p.nameIsotherms(curves, true, q, nil) }}
		d.image(newStyle("si"), 36)
		var got []int
		for i, l := range labels {
			got = append(got, int(l.text[0]-'0'))
			for _, o := range labels[:i] {
				if overlap(l.at, o.at, 0) {
					t.Errorf("lines at %v: labels %s and %s overlap", c.heights, o.text, l.text)
				}
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("lines at %v: those named are %v, want %v", c.heights, got, c.want)
		}
	}
}

// TestWaterTableSignIsSeen: the sign of the water table stands where no electrode hides it.
func TestWaterTableSignIsSeen(t *testing.T) {
	c := sectionCase()
	f := &folder{c: c}
	q := panel{vg.Rectangle{Max: vg.Point{X: 280, Y: 120}}, axis{lo: 4.9, hi: 23}, axis{lo: 0, hi: 6, down: true}}
	c.Site.WaterTable = 3 // the electrodes reach through it
	tip := f.waterTip(q, q.atY(3), f.standing(q, box{4.9, 23, 0, 6}))
	for i, r := range f.standing(q, box{4.9, 23, 0, 6}) {
		if overlap(around(tip.Add(vg.Point{Y: 4}), 4), r, 0) {
			t.Errorf("the sign at %v lies on electrode %d, %v", tip, i+1, r)
		}
	}
}

// TestGroundwaterIsTold: the layout tells the layer through which most groundwater flows,
// in a plan of the slab's alone, and which way.
func TestGroundwaterIsTold(t *testing.T) {
	c := planCase()
	c.Layers = []cases.Layer{{Name: "sand", Bottom: 1.5, Groundwater: 3e-6}, {Name: "silt", Bottom: 5, Groundwater: 1e-7, GroundwaterDirection: 0.5},
		{Name: "gravel", Bottom: math.Inf(1), Groundwater: -4e-7, GroundwaterDirection: 1}}
	f := &folder{c: c}
	if l, to := f.flowing(); l == nil || l.Name != "gravel" || to != 1+math.Pi {
		t.Errorf("most flows in %+v towards %g, want gravel, turned about: 1 + π", l, to)
	}
	// 4e-7 m/s × 86400 s.
	if text := svgOf(t, f, "layout"); !strings.Contains(text, ">groundwater<") || !strings.Contains(text, ">0.03 m/d<") || !strings.Contains(text, ">in gravel<") {
		t.Error("the layout does not tell 0.03 m/d of groundwater in gravel")
	}
	c.View = cases.Section
	if l, to := f.flowing(); l == nil || l.Name != "sand" || to != 0 {
		t.Errorf("of a section most flows in %+v towards %g, want sand, along x", l, to)
	}
	c.Layers = planCase().Layers
	if l, _ := f.flowing(); l != nil {
		t.Errorf("still water flows in %+v", l)
	}
}

// TestWideCellIsCut: a cell that goes on far beyond what heats is drawn to 1.6 times that.
func TestWideCellIsCut(t *testing.T) {
	c := roundCase()
	c.Extent.Radius, c.Electrodes = 20, nil
	c.Targets = []cases.Target{{Name: "core", Radius: 4, Top: 2, Bottom: 7, Temperature: 368.15, Share: 0.9}}
	c.Heats = []cases.Heat{{Name: "ring", InnerRadius: 4, Radius: 5, Top: 2, Bottom: 7}}
	g := &grid{x: []float64{0, 1, 2, 5, 10, 20}, z: []float64{0, 2, 5, 10, 20}}
	w, err := (&folder{c: c}).window(g)
	if err != nil || w.right != 1.6*5 {
		t.Errorf("the window reaches to %g m, %v; want 8", w.right, err)
	}
	c.Extent.Radius = 6
	g.x = []float64{0, 1, 2, 5, 6}
	if w, err := (&folder{c: c}).window(g); err != nil || w.right != 6 {
		t.Errorf("of a cell of 6 m the window reaches to %g m, %v; want all", w.right, err)
	}
}
