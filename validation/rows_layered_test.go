//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// site is rows of finite rods, one beside the other at +1 and −1 V in turn.
type site struct {
	name              string
	earth             earth
	top, length, s, a float64 // [m]
	d                 float64 // [m] from row to row
	rows              int
}

// layersOf returns layers between depths in half metres.
func layersOf(depths []int, sigma ...float64) earth {
	return earth{sigma: sigma, bottom: depths, unit: 0.5}
}

// both returns the current [A] of the first row's rods by the section view and by
// boundary elements.
func (c *site) both(t *testing.T) (got, want float64) {
	t.Helper()
	y := array{earth: c.earth, top: c.top, length: c.length, a: c.a, s: c.s, cells: 4}
	var phase []complex128
	for i := range c.rows {
		y.x, y.offset = append(y.x, float64(i)*c.d), append(y.offset, 0)
		y.phase = append(y.phase, float64(1-2*(i%2)))
		phase = append(phase, complex(y.phase[i], 0))
	}
	var bottoms []float64
	for _, b := range c.earth.bottom {
		bottoms = append(bottoms, float64(b)*c.earth.unit)
	}
	return real(rows(t, c.top, c.length, c.s, c.a, y.x, y.offset, phase, append(bottoms, far), c.earth.sigma, 300)[0]), y.currents(t)[0]
}

// TestFiniteRowsOfManyShapes: finite rows of many shapes draw what boundary elements
// say, in even ground. Two rows of rods 2 m below the surface of even ground, lengths
// of 0.23 to 1.1 spacings, spacings of 14 to 56 radii.
// Source: boundary elements in three dimensions with flat ends (rods_reference_test.go).
// Tolerance 2 % for rods of 7 radii and more, and the project's bar of 4 % for shorter
// ones. The 2 % is an estimate, no bound: a line on the axis stands for a wall with a
// flat end, which is wrong over a length of the order of a at each end, (a/ℓ)² of the
// current.
func TestFiniteRowsOfManyShapes(t *testing.T) {
	const s = 4.267
	var curves []curve
	for _, ratio := range []float64{14, 28, 56} {
		line := curve{Label: fmt.Sprintf("spacing %g radii", ratio)}
		for _, long := range []float64{0.23, 0.35, 0.5, 0.7, 0.9, 1.1} {
			c := site{"", even(1), 2, long * s, s, s / ratio, 0.86 * s, 2}
			got, want := c.both(t)
			bar := 0.02
			if long*ratio < 7 {
				bar = 0.04
			}
			hold(t, check{fmt.Sprintf("current of a rod %.3g spacings long, spacing %.4g radii, two rows", long, ratio),
				"boundary elements in three dimensions", got, want, "A", bar * want})
			line.X, line.Y = append(line.X, long), append(line.Y, 100*(got/want-1))
		}
		curves = append(curves, line)
	}
	draw(t, "rows-finite", "Two rows of rods in even ground: error of the current", "length / spacing [-]", "error [%]", false, curves...)
}

// TestFiniteRowsInLayers: finite rows in layers draw what boundary elements say. Rows
// of rods that a conductive layer holds, that fill it, that go through boundaries up
// and down, and that pass through a resistive layer, at ratios of 2 to 10.
// Source: boundary elements in three dimensions, layers through images (Tagg; Sunde
// 1949), rods_reference_test.go.
// Tolerance 3 %, against the project's bar of 8 %. It is an estimate, no bound: the
// correction takes the harmonics as e^(−k|x|)·f(z), whose decay along z is √2 too fast.
// A boundary acts through it on what an end takes back of the drop, s/(6ℓ) of
// ln(s/2πa) or a third at ℓ = 0.25 s; a quarter of √2 − 1 of that is 3 %.
func TestFiniteRowsInLayers(t *testing.T) {
	const s, d, a = 4.267, 3.658, 0.1524
	rows := [][]string{}
	for _, c := range []site{
		{"held in 1 S/m between 0.1, half a metre to spare", layersOf([]int{3, 13}, 0.1, 1, 0.1), 2, 4, s, a, d, 2},
		{"held in 1 S/m between 0.2, a metre to spare", layersOf([]int{4, 16}, 0.2, 1, 0.2), 3, 4, s, a, d, 2},
		{"short, held in 1 S/m between 0.1", layersOf([]int{3, 7}, 0.1, 1, 0.1), 2, 1.07, s, a, d, 2},
		{"short, held in 1 S/m between 0.2", layersOf([]int{3, 8}, 0.2, 1, 0.2), 2, 1.5, s, a, d, 2},
		{"across a boundary, 0.2 over 1 S/m", layersOf([]int{8}, 0.2, 1), 2, 4, s, a, d, 2},
		{"across a boundary, 1 over 0.2 S/m, thin", layersOf([]int{8}, 1, 0.2), 2, 4, s, s / 56, d, 2},
		{"across a boundary, 1 over 0.2 S/m, thick", layersOf([]int{8}, 1, 0.2), 2, 4, s, s / 14, d, 2},
		{"short, across a boundary, 0.1 over 1 S/m", layersOf([]int{6}, 0.1, 1), 2.25, 1.5, s, a, d, 2},
		{"short, across a boundary, 1 over 0.1 S/m", layersOf([]int{6}, 1, 0.1), 2.25, 1.5, s, a, d, 2},
		{"held in 0.2 S/m between 1, half a metre to spare", layersOf([]int{3, 13}, 1, 0.2, 1), 2, 4, s, a, d, 2},
		{"through 0.2 S/m between 1", layersOf([]int{6, 10}, 1, 0.2, 1), 2, 4, s, a, d, 2},
		{"through 0.1 S/m between 1, l = 1.1 s", layersOf([]int{6, 8}, 1, 0.1, 1), 2, 4.7, s, a, d, 2},
	} {
		rows = append(rows, c.hold(t, 0.03))
	}
	table(t, "Rows of finite rods in layers", []string{"case", "length / spacing", "spacing / radius", "rows", "error [%]"}, rows)
}

// hold holds a site's current to a share of it and returns its row of the table.
func (c *site) hold(t *testing.T, share float64) []string {
	t.Helper()
	got, want := c.both(t)
	hold(t, check{"current of a rod in layers, " + c.name, "boundary elements in three dimensions", got, want, "A", share * want})
	return []string{c.name, fmt.Sprintf("%.2f", c.length/c.s), fmt.Sprintf("%.0f", c.s/c.a), fmt.Sprint(c.rows), fmt.Sprintf("%.2f", 100*(got/want-1))}
}

// TestRodsThatFillALayer: rods that fill a conductive layer draw what boundary
// elements say. Rows of rods whose ends lie on the boundaries of a conductive layer,
// two rows and four, long and short, from the surface and deep. With 1/σ of the depth
// and an even current they drew up to 14 % too much, where the resistive ground beyond
// the ends keeps the current from leaving there.
// Source: boundary elements in three dimensions, layers through images.
// Tolerance 3 %, as in TestFiniteRowsInLayers, against the project's bar of 8 %.
func TestRodsThatFillALayer(t *testing.T) {
	const s, d, a = 4.267, 3.658, 0.1524
	rows := [][]string{}
	for _, c := range []site{
		{"fill 1 S/m between 0.5", layersOf([]int{4, 12}, 0.5, 1, 0.5), 2, 4, s, a, d, 2},
		{"fill 1 S/m between 0.2", layersOf([]int{4, 12}, 0.2, 1, 0.2), 2, 4, s, a, d, 2},
		{"fill 1 S/m between 0.1", layersOf([]int{4, 12}, 0.1, 1, 0.1), 2, 4, s, a, d, 2},
		{"short, fill 1 S/m between 0.5", layersOf([]int{4, 6}, 0.5, 1, 0.5), 2, 1, s, a, d, 2},
		{"short, fill 1 S/m between 0.2", layersOf([]int{4, 6}, 0.2, 1, 0.2), 2, 1, s, a, d, 2},
		{"short, far apart, fill 1 S/m between 0.2", layersOf([]int{8, 12}, 0.2, 1, 0.2), 4, 2, 7.391, a, 2.134, 2},
		{"four rows, fill 1 S/m between 0.2", layersOf([]int{4, 12}, 0.2, 1, 0.2), 2, 4, s, a, d, 4},
		{"from the surface, fill 1 S/m over 0.2", layersOf([]int{8}, 1, 0.2), 0, 4, s, a, d, 2},
	} {
		rows = append(rows, c.hold(t, 0.03))
	}
	table(t, "Rows of rods that fill a conductive layer", []string{"case", "length / spacing", "spacing / radius", "rows", "error [%]"}, rows)
}

// TestRodsBetweenInsulatorsAreEndless: rods that fill a layer between two that hardly
// conduct draw, a metre, what endless rods draw, however short they are.
// Source: line currents of two endless rows, V/(ρI′) = d/(2s) + [ln(s/2πa) +
// ln(1 − e^(−2πd/s))]/(2π) (closed form).
// The ground beyond has 1e-6 of the layer's σ, which carries less than 1e-4 of the
// current. Tolerance 2 %, as for the whole current in even ground: here the correction's
// own shape of the current, uneven where the true one is even, is what is wrong.
func TestRodsBetweenInsulatorsAreEndless(t *testing.T) {
	const s, d, a = 4.267, 3.658, 0.1524
	metre := 1 / (d/(2*s) + (math.Log(s/(2*math.Pi*a))+math.Log(-math.Expm1(-2*math.Pi*d/s)))/(2*math.Pi))
	for _, length := range []float64{1, 2, 4, 8} {
		got := real(rows(t, 2, length, s, a, []float64{0, d}, []float64{0, 0}, []complex128{1, -1}, []float64{2, 2 + length, far}, []float64{1e-6, 1, 1e-6}, 60)[0])
		hold(t, check{fmt.Sprintf("current of a rod that fills a layer %g m thick between insulators", length), "line currents of two endless rows", got, metre * length, "A", 0.02 * metre * length})
	}
}

// TestEndsOnABetterLayer: rods that just fill a resistive layer touch the better ground
// beyond with their flat ends, and draw more for it than the correction knows, which
// counts the wall alone: it comes out low, and by no more than the ends could take by
// themselves.
// Source: boundary elements in three dimensions; a disc on ground of σ takes 4σa of
// current a volt, Holm, Electric Contacts (1967) (from memory).
// Tolerance: two such discs and the 3 % of TestFiniteRowsInLayers below the reference,
// those 3 % above it.
func TestEndsOnABetterLayer(t *testing.T) {
	const s, d, a = 4.267, 3.658, 0.1524
	rows := [][]string{}
	for _, c := range []site{
		{"fill 0.5 S/m between 1", layersOf([]int{4, 12}, 1, 0.5, 1), 2, 4, s, a, d, 2},
		{"fill 0.2 S/m between 1", layersOf([]int{4, 12}, 1, 0.2, 1), 2, 4, s, a, d, 2},
	} {
		got, want := c.both(t)
		ends := 2 * 4 * c.earth.sigma[0] * a
		hold(t, check{"current of a rod in layers, " + c.name + ", low by no more than its two ends could take", "boundary elements in three dimensions; discs", got, want, "A", 0.03*want + ends})
		if got > 1.03*want {
			t.Errorf("a rod in layers, %s, draws %.4g A, want at most 3 %% more than the reference's %.4g A", c.name, got, want)
		}
		if math.Abs(got/want-1) > 0.08 {
			misses(t, "current of rods whose flat ends lie on a better layer, "+c.name, "8 % in layered ground", fmt.Sprintf("%.1f %%", 100*(got/want-1)))
		}
		rows = append(rows, []string{c.name, fmt.Sprintf("%.3f", got), fmt.Sprintf("%.3f", want), fmt.Sprintf("%.2f", 100*(got/want-1))})
	}
	table(t, "Rods whose ends lie on a better layer: what the row correction misses", []string{"case", "section view [A]", "three dimensions [A]", "error [%]"}, rows)
}

// TestCurrentAlongRods: the current lies along a rod as boundary elements say. How the
// current of a rod lies along it, in even ground, across a boundary, and where the rod
// fills a conductive layer: its ends carry more.
// Source: boundary elements in three dimensions, an end's own current counted to the
// last stretch beside it.
// Tolerance 2 % of the rod's whole current in even ground and across a boundary, 3 % in
// the filled layer: what TestFiniteRowsOfManyShapes and TestFiniteRowsInLayers allow
// the whole current, here to each stretch. With an even current in the correction the
// last 0.15 m of a 2 m rod had 4 % of it too little.
func TestCurrentAlongRods(t *testing.T) {
	const a, top = 0.1524, 2.0
	for _, c := range []struct {
		name         string
		length, s, d float64
		earth        earth
		share        float64
	}{
		{"4.88 m long, even ground", 4.88, 7.391, 2.134, even(1), 0.02},
		{"2 m long, even ground", 2, 4.267, 3.658, even(1), 0.02},
		{"4 m long, across 0.2 over 1 S/m", 4, 4.267, 3.658, layersOf([]int{8}, 0.2, 1), 0.02},
		{"2 m long, fills 1 S/m between 0.2", 2, 4.267, 3.658, layersOf([]int{4, 8}, 0.2, 1, 0.2), 0.03},
	} {
		bottom := top + c.length
		cuts := []float64{top, top + 0.15, top + 0.3, top + 0.6, top + c.length/2, bottom - 0.6, bottom - 0.3, bottom - 0.15, bottom}
		want := c.earth.alongRod(t, cuts, a, c.s, c.d)
		got := viewAlongRod(t, c.earth, cuts, a, c.s, c.d)
		whole := total(want)
		var middles, view, three []float64
		for k := range want {
			hold(t, check{fmt.Sprintf("current of a rod from %.2f to %.2f m of it, %s", cuts[k]-top, cuts[k+1]-top, c.name),
				"boundary elements in three dimensions", got[k], want[k], "A", c.share * whole})
			height := cuts[k+1] - cuts[k]
			middles = append(middles, (cuts[k]+cuts[k+1])/2-top)
			view, three = append(view, got[k]/height), append(three, want[k]/height)
		}
		if c.length == 4.88 {
			draw(t, "rows-along", "Current along a rod of two rows in even ground, 1 V", "depth below its top [m]", "current [A/m]", false,
				curve{Label: "section view", X: middles, Y: view, Points: true}, curve{Label: "three dimensions", X: middles, Y: three})
		}
	}
}

// alongRod returns the current [A] of a rod of the first of two rows between cuts, by
// boundary elements.
func (e earth) alongRod(t *testing.T, cuts []float64, a, s, d float64) []float64 {
	t.Helper()
	top, bottom := cuts[0], cuts[len(cuts)-1]
	y := array{earth: e, top: top, length: bottom - top, a: a, s: s, cells: 6}
	panels := y.panels()
	n := len(panels)
	p, q, v := y.between(panels, 0, 0), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	p.Sub(p, y.between(panels, d, 0)) // the other row is the first one's negative
	for i := range n {
		v.SetVec(i, 1)
	}
	if err := q.SolveVec(p, v); err != nil {
		t.Fatal(err)
	}
	out := make([]float64, len(cuts)-1)
	for i, p := range panels {
		switch {
		case p.width() > 0:
			for k := range out {
				out[k] += q.AtVec(i) * max(0, min(p.z1, cuts[k+1])-max(p.z0, cuts[k])) / p.width()
			}
		case p.z0 == top:
			out[0] += q.AtVec(i)
		default:
			out[len(out)-1] += q.AtVec(i)
		}
	}
	return out
}

// viewAlongRod is alongRod by the section view: a rod cut into elements draws what the
// whole one draws (TestRodCutIntoElements).
func viewAlongRod(t *testing.T, e earth, cuts []float64, a, s, d float64) []float64 {
	t.Helper()
	const w = 0.0762
	x := []float64{0, d}
	xm := []mesh.Mark{{At: -300, Size: far}, {At: 300, Size: far}}
	for _, at := range x {
		xm = append(xm, mesh.Mark{At: at - w/2, Size: w}, mesh.Mark{At: at + w/2, Size: w})
	}
	zm := []mesh.Mark{{At: 0, Size: far}, {At: 300, Size: far}}
	for _, at := range cuts {
		zm = append(zm, mesh.Mark{At: at, Size: w / 2})
	}
	var bottoms []float64
	for _, b := range e.bottom {
		bottoms = append(bottoms, float64(b)*e.unit)
		zm = append(zm, mesh.Mark{At: float64(b) * e.unit, Size: w})
	}
	g := mesh.NewSection(graded(t, xm...), graded(t, zm...), s)
	var bodies []physics.Body
	for i, at := range x {
		for k := range len(cuts) - 1 {
			bodies = append(bodies, physics.Body{Name: fmt.Sprint(i, k), Label: "A", Phase: complex(1-2*float64(i), 0), Rods: 1,
				Zone: g.Box("", at-w/2, at+w/2, cuts[k], cuts[k+1]),
				Row:  &physics.Row{X: at, Spacing: s, Radius: a, Top: cuts[k], Bottom: cuts[k+1]}})
		}
	}
	current := cold(t, ground(t, g, append(bottoms, far), e.sigma), bodies, false)
	out := make([]float64, len(cuts)-1)
	for k := range out {
		out[k] = real(current[k])
	}
	return out
}

// TestInsertBehindARow: a solid body half a metre behind a row of rods takes the little
// current from it that flowed where it stands.
// Source: an insulating ellipse in an even field adds the heat σE²·(A + πh²/4) to what
// ground without it has, h its size across the field and A its area: its hydrodynamic
// mass, Lamb, Hydrodynamics (1932), §71 (from memory). The field of the two sheets in
// even ground is J/π·[atan(ℓ/2D) − atan(ℓ/2(D + d))], J the current per area.
// Tolerance: as much as the estimate, between none and twice of it. What a rectangle
// takes lies between the ellipses in it and round it, 0.96 and 1.91 of the estimate, the
// larger √2 times as long and wide. All of it is 0.6 % of the current.
func TestInsertBehindARow(t *testing.T) {
	const s, d, a, w, top, length = 3.0, 4.0, 0.1, 0.1, 60.0, 4.0
	const left, right, height = -0.6, -0.4, 1.0
	xm := []mesh.Mark{{At: -200, Size: far}, {At: 200, Size: far}, {At: left, Size: w / 2}, {At: right, Size: w / 2}}
	for _, at := range []float64{0, d} {
		xm = append(xm, mesh.Mark{At: at - w/2, Size: w}, mesh.Mark{At: at + w/2, Size: w})
	}
	middle := top + length/2
	g := mesh.NewSection(graded(t, xm...), graded(t, mesh.Mark{At: 0, Size: far}, mesh.Mark{At: top, Size: w / 2}, mesh.Mark{At: middle - height/2, Size: w / 2},
		mesh.Mark{At: middle + height/2, Size: w / 2}, mesh.Mark{At: top + length, Size: w / 2}, mesh.Mark{At: 200, Size: far}), s)
	body := physics.Insert{Name: "slab", Zone: g.Box("", left, right, middle-height/2, middle+height/2), Conductivity: 1, Capacity: 2e6}
	drawn := func(inserts ...physics.Insert) float64 {
		gr := ground(t, g, []float64{far}, []float64{1})
		for _, b := range inserts {
			gr.Insert(b)
		}
		var bodies []physics.Body
		for i, at := range []float64{0, d} {
			bodies = append(bodies, physics.Body{Name: fmt.Sprint(i), Label: "A", Phase: complex(1-2*float64(i), 0), Rods: 1, Zone: g.Box("", at-w/2, at+w/2, top, top+length),
				Row: &physics.Row{X: at, Spacing: s, Radius: a, Top: top, Bottom: top + length}})
		}
		e, err := physics.NewElectric(g, bodies, false, gr.Inserts...)
		if err != nil {
			t.Fatal(err)
		}
		state := physics.NewState(g.Cells(), len(bodies))
		gr.Start(state)
		saturation, sigma := make([]float64, g.Cells()), make([]float64, g.Cells())
		gr.SaturationTo(saturation, state.W)
		gr.SigmaTo(sigma, state.T, saturation)
		solved := solvePotential(t, e, sigma, 1e-10)
		hold(t, check{fmt.Sprintf("V·I less heat as a share of it, rows with %d inserts", len(inserts)), "Tellegen's theorem", (solved.power - total(solved.heat)) / solved.power, 0, "", 1e-8})
		return real(solved.current[0])
	}
	bare, with := drawn(), drawn(body)
	behind := -(left + right) / 2
	field := bare / (s * length) / math.Pi * (math.Atan(length/(2*behind)) - math.Atan(length/(2*(behind+d))))
	lost := field * field * s * ((right-left)*height + math.Pi*height*height/4) / (2 * bare)
	hold(t, check{"share of a row's current that a body of 0.2 × 1 m, 0.5 m behind it, takes", "hydrodynamic mass of an ellipse", 1 - with/bare, lost, "", lost})
}

// beforeGround returns the current a metre [A/m] of a rod of the first of two endless rows at
// 0 and d, +1 and −1 V, aligned, s apart in their rows: σ of 1 S/m between them, and
// from a distance beyond them on that of the ground outside. Their columns are w wide and
// lie between the rows; the rows of cells end 40 m off.
func beforeGround(t *testing.T, s, a, d, w, beyond, outside float64) float64 {
	t.Helper()
	const length = 1e9 // [m] one level of the mesh
	marks := []mesh.Mark{{At: -40, Size: far}, {At: d + 40, Size: far}, {At: 0, Size: w}, {At: w, Size: w}, {At: d - w, Size: w}, {At: d, Size: w}}
	if beyond > 0 {
		marks = append(marks, mesh.Mark{At: -beyond, Size: w}, mesh.Mark{At: d + beyond, Size: w})
	}
	g := mesh.NewSection(graded(t, marks...), []float64{0, length}, s)
	row := func(x, left, volts float64) physics.Body {
		return physics.Body{Name: fmt.Sprint(x), Phase: complex(volts, 0), Rods: 1, Zone: g.Box("", left, left+w, 0, length),
			Row: &physics.Row{X: x, Spacing: s, Radius: a, Bottom: length}}
	}
	e, err := physics.NewElectric(g, []physics.Body{row(0, 0, 1), row(d, d-w, -1)}, false)
	if err != nil {
		t.Fatal(err)
	}
	sigma := make([]float64, g.Cells())
	for i, x := range g.XC {
		sigma[i] = 1
		if x < -beyond || x > d+beyond {
			sigma[i] = outside
		}
	}
	return real(solvePotential(t, e, sigma, 1e-12).current[0]) / length
}

// TestRowsBetweenTwoGrounds: endless rows that stand on the boundaries of a slab, better
// or poorer ground outside, from an insulator on: the ground beside a row conducts on
// both sides of it.
// Source: line currents; the harmonics of a row between σ₁ and σ₂ have no current
// through its plane and meet (σ₁ + σ₂)/2, so V/I′ = (d − w)/(2sσ₂) + ln(s/2πa)/(π(σ₁ + σ₂)),
// d − w from node to node.
// What the other row's harmonics do is left out: e^(−2πd/s)/2π = 6e-7 of V/I′, which is
// 1 Ω·m at least, and at most twice that beside an insulator. With the potential's
// residual 2e-6.
func TestRowsBetweenTwoGrounds(t *testing.T) {
	const s, a, d, w = 2.0, 0.1, 4.0, 0.1
	for _, outside := range []float64{1e-9, 0.1, 1, 10} {
		want := 1 / ((d-w)/(2*s) + math.Log(s/(2*math.Pi*a))/(math.Pi*(1+outside)))
		hold(t, check{fmt.Sprintf("current a metre of endless rows on the boundaries of 1 S/m and %g S/m", outside), "line currents", beforeGround(t, s, a, d, w, 0, outside), want, "A/m", 2e-6 * want})
	}
}

// TestPoorGroundOnOneSideAtMostDoublesTheDrop: ground that hardly conducts begins at a
// distance beyond two endless rows. What it does to a row is at most what the nearest
// does, which doubles the row's own drop.
// Source: line currents and their mirror images in the walls; a wall at the row itself
// is the row and its image in one place, that is twice the drop.
// Bounds: not above the images' current by more than the 2e-6 of
// TestRowsBetweenTwoGrounds, and not below that of the doubled drop. The correction
// counts such ground in series with the whole side, wherever it begins, so that it lies
// at the lower bound until it feels none of it: up to 14 % low.
func TestPoorGroundOnOneSideAtMostDoublesTheDrop(t *testing.T) {
	const s, a, d, w = 2.0, 0.1, 4.0, 0.1
	own := math.Log(s/(2*math.Pi*a)) / (2 * math.Pi)
	beside := func(x float64) float64 { return -math.Log(-math.Expm1(-2*math.Pi*x/s)) / (2 * math.Pi) }
	var rows [][]string
	for _, beyond := range []float64{0.2, 0.5, 1, 2, 3} {
		sheet := (d - w) / (2 * s)
		images := beside(2*beyond) - beside(d) - 2*beside(d+2*beyond) + beside(2*d+2*beyond)
		got, most, least := beforeGround(t, s, a, d, w, beyond, 1e-9), (1+2e-6)/(sheet+own+images), (1-2e-6)/(sheet+2*own)
		hold(t, check{fmt.Sprintf("current a metre of endless rows with 1e-9 S/m from %g m beyond them, between images and twice the drop", beyond),
			"line currents and their images", got, (most + least) / 2, "A/m", (most - least) / 2})
		rows = append(rows, []string{fmt.Sprint(beyond), fmt.Sprintf("%.4f", got), fmt.Sprintf("%.4f", most), fmt.Sprintf("%.4f", least), fmt.Sprintf("%.1f", 100*(got/most-1))})
	}
	table(t, "Poor ground beyond rows: what the row correction makes too much of", []string{"distance [m]", "section view [A/m]", "images [A/m]", "twice the drop [A/m]", "error [%]"}, rows)
}
