//dossier:chapter Symmetries of whole cases

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// Properties of whole cases: a case file of random ground, electrodes, supply and
// surface goes through the loader, is built and run, and run again in another
// form of which the equations say what must come out. Meshes are coarse: an
// identity of the equations holds on any mesh.

// seed draws the cases of the property tests; each test adds its own number, and
// each message names the case's own.
const seed = 20240501

// measure is how a case file writes its numbers: unit by unit, SI or US.
type measure struct {
	length, temperature, duration, film, insulation, conductivity, capacity, resistivity, contact func(v float64) string
}

// written returns a writer that divides by a unit's factor; all digits are kept.
func written(factor float64, unit string) func(float64) string {
	return func(v float64) string { return fmt.Sprintf("\"%.17g %s\"", v/factor, unit) }
}

// si and us write one case in the two systems. Factors: 1 ft = 0.3048 m, 1 BTU =
// 1055.05585262 J, 1 °F = 5/9 K.
// Source: NIST SP 811 (2008), appendix B.8 (from memory).
func si() measure {
	return measure{
		length: written(1, "m"), temperature: written(1, "degC"), duration: written(day, "d"), film: written(1, "W/m2/K"), insulation: written(1, "m2*K/W"),
		conductivity: written(1, "W/m/K"), capacity: written(1e6, "MJ/m3/K"), resistivity: written(1, "ohm*m"), contact: written(1, "ohm*m2"),
	}
}

func us() measure {
	const foot, btu, hour, degree = 0.3048, 1055.05585262, 3600.0, 5.0 / 9
	m := si()
	m.length = written(foot, "ft")
	m.temperature = func(v float64) string { return fmt.Sprintf("\"%.17g degF\"", v/degree+32) }
	m.duration = written(hour, "h")
	m.film = written(btu/hour/(foot*foot)/degree, "BTU/h/ft2/degF")
	m.insulation = written(foot*foot*hour*degree/btu, "ft2*h*degF/BTU")
	m.conductivity = written(btu/hour/foot/degree, "BTU/h/ft/degF")
	m.capacity = written(btu/(foot*foot*foot)/degree, "BTU/ft3/degF")
	m.resistivity = written(foot, "ohm*ft")
	return m
}

// wish is what a property asks of its random cases.
type wish struct {
	view           cases.View // "": either
	dry            bool       // no water boils
	noWaterTable   bool       // one boiling point at all depths
	plates         bool       // of electrodes only plates: no rods' correction
	phases         int        // 0: any
	constantSigma  bool
	noCurrentLimit bool // no limit of current
	noLimit        bool // none of power either
}

// drawn is one random case as text, in either system.
type drawn struct {
	name  string
	rise  float64 // [K] wanted of its zone
	volts float64 // that bring it about
	parts []func(m measure) string

	limited        [2]bool // has a limit of power, of current
	power, current float64 // [W], [A] the limits; 0: none
	dry            bool
}

// supply sets the voltage at which the power into cold ground would warm the zone
// alone by the rise wanted, and limits of power and current a little above what it
// draws then, to act in warm ground. Where nothing boils, no cell alone would warm by
// more than 150 K: hot ground draws three times the power, a test may raise the voltage,
// and no run comes near 2000 °C, where the program gives up.
func (d *drawn) supply(t *testing.T) {
	t.Helper()
	p, err := d.load(t, si()).Build()
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Start(p)
	if err != nil {
		t.Fatal(err)
	}
	g := p.Ground
	capacity := 0.0 // [J/K] of the zone
	for _, c := range p.Targets[0].Zone.Cells(g.Grid) {
		capacity += g.Grid.Volume[c] * g.Stores[c/g.Grid.NX].Capacity
	}
	power := d.rise * capacity / p.Duration
	if d.dry {
		for c, q := range r.State.Joule { // [W/V²]
			power = math.Min(power, 150*g.Grid.Volume[c]*g.Stores[c/g.Grid.NX].Capacity/p.Duration*r.State.Power/q)
		}
	}
	d.volts = math.Sqrt(power / r.State.Power)
	if d.limited[0] {
		d.power = 1.1 * power
	}
	if d.limited[1] {
		for b := range p.Electric.Bodies {
			d.current = math.Max(d.current, 1.2*d.volts*cmplx.Abs(r.State.Current[b])/p.Electric.Bodies[b].Rods)
		}
	}
}

// text is the case file.
func (d *drawn) text(m measure) string {
	var b strings.Builder
	for _, p := range d.parts {
		b.WriteString(p(m))
	}
	return b.String()
}

// draw draws a case. Places are multiples of 1/8 m, so that few lie closer than a
// cell, and so that moving the origin by whole metres changes no distance.
func (w wish) draw(rng *rand.Rand, name string) *drawn {
	d := &drawn{name: name, volts: 1}
	step := func(lo, hi float64) float64 { return math.Round((lo+(hi-lo)*rng.Float64())*8) / 8 }
	either := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	log := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	flip := func() bool { return rng.IntN(2) == 0 }

	say := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		d.parts = append(d.parts, func(measure) string { return text })
	}
	put := func(key string, v float64, unit func(m measure) func(float64) string) {
		d.parts = append(d.parts, func(m measure) string { return key + " = " + unit(m)(v) + "\n" })
	}
	length := func(m measure) func(float64) string { return m.length }
	temperature := func(m measure) func(float64) string { return m.temperature }
	duration := func(m measure) func(float64) string { return m.duration }

	section := w.view == cases.Section
	say("title = %q\nview = %q\n", name, w.view)
	ambient := either(5, 20)
	say("[site]\n")
	put("ambient", ambient, temperature)
	put("elevation", either(-100, 2000), length)
	if w.noWaterTable || flip() {
		say("water_table = \"none\"\n")
	} else {
		put("water_table", step(0.5, 3), length)
	}
	say("[extent]\n")
	radius := step(1.5, 3)
	if section {
		put("length", step(5, 30), length)
	} else {
		put("radius", radius, length)
		say("count = %d\n", 1+rng.IntN(40))
	}
	say("[surface]\n")
	put("air", either(-10, 30), temperature)
	put("film", log(1, 40), func(m measure) func(float64) string { return m.film })
	put("cover", either(0, 0.6), func(m measure) func(float64) string { return m.insulation })

	top, bottom := step(1, 2), step(3, 4)
	z := 0.0
	for i, n := 0, 2+rng.IntN(3); i < n; i++ {
		say("[[layer]]\nname = \"L%d\"\n", i)
		if z += step(0.5, 2); i < n-1 {
			put("bottom", z, length)
		}
		porosity, saturation := either(0.1, 0.45), either(0.3, 1)
		put("resistivity", log(8, 200), func(m measure) func(float64) string { return m.resistivity })
		put("thermal_conductivity", either(0.6, 2.8), func(m measure) func(float64) string { return m.conductivity })
		put("heat_capacity", 4.2e6*porosity*saturation+either(0.7e6, 1.8e6), func(m measure) func(float64) string { return m.capacity })
		say("porosity = %.17g\nsaturation = %.17g\n", porosity, saturation)
		switch {
		case w.constantSigma:
			say("temperature_coefficient = \"0 1/K\"\n")
		case flip():
			say("temperature_law = \"viscosity\"\n")
		default:
			say("temperature_coefficient = \"%.17g 1/K\"\n", either(0.01, 0.025))
		}
		say("saturation_exponent = %.17g\ngrain_share = %.17g\n", either(1, 3), rng.Float64())
		say("inflow = %s\n", []string{`"none"`, `"unlimited"`, `"0.01 1/d"`}[rng.IntN(3)])
	}

	say("[[target]]\nname = \"zone\"\nshare = 0.8\n")
	put("top", top, length)
	put("bottom", bottom, length)
	put("temperature", either(40, 90), temperature)
	half := step(2, 4) // of the zone's width
	if section {
		put("left", -half, length)
		put("right", half, length)
	}

	phases := w.phases
	if phases == 0 {
		phases = []int{1, 3}[rng.IntN(2)]
	}
	rods, spacing := 1, 0.0
	if section {
		rods = 2 + rng.IntN(3)
		spacing = 2 * half / float64(rods)
	}
	for i := range rods {
		say("[[electrode]]\nname = \"E%d\"\n", i)
		phase := rng.IntN(min(3, phases+1))
		if i < 2 {
			phase = i // two at least, so that current flows
		}
		say("phase = %q\n", string(rune('A'+phase)))
		put("top", top-float64(rng.IntN(2))/2, length)
		put("bottom", bottom+float64(rng.IntN(2))/2, length)
		switch {
		case !section:
			put("radius", 0.125, length)
		case w.plates || flip():
			put("width", step(0.2, 0.4), length)
		default:
			put("radius", either(0.05, 0.12), length)
			put("rod_spacing", step(1.5, 4), length)
			put("rod_offset", step(0, 1), length)
		}
		if section {
			put("x", math.Round((-half+spacing*(float64(i)+0.5)+either(-0.1, 0.1)*spacing)*8)/8, length)
		}
		if flip() {
			put("contact_resistance", either(0, 2), func(m measure) func(float64) string { return m.contact })
		}
	}
	say("[supply]\nphases = %d\nvoltage_basis = \"phase to neutral\"\n", phases)
	d.parts = append(d.parts, func(measure) string { return fmt.Sprintf("voltage = \"%.17g V\"\n", d.volts) })
	d.rise = either(20, 60)
	if !w.dry {
		d.rise = either(60, 160)
	}
	d.limited, d.dry = [2]bool{flip() && !w.noLimit, flip() && !w.noCurrentLimit && !w.noLimit}, w.dry
	d.parts = append(d.parts, func(measure) string {
		s := ""
		if d.power > 0 {
			s = fmt.Sprintf("power_limit = \"%.17g kW\"\n", d.power/1e3)
		}
		if d.current > 0 {
			s += fmt.Sprintf("current_limit = \"%.17g A\"\n", d.current)
		}
		return s
	})
	say("[time]\n")
	put("duration", 14*day, duration)
	if flip() {
		say("[[change]]\non = false\n")
		put("at", 7*day, duration)
		factor := either(0.8, 1.3)
		d.parts = append(d.parts, func(measure) string {
			return fmt.Sprintf("[[change]]\non = true\nvoltage = \"%.17g V\"\n", factor*d.volts)
		})
		put("at", 9*day, duration)
	}
	say("[steam]\nboiling = %v\n", !w.dry)
	say("[domain]\n")
	put("bottom", bottom+2.5, length)
	if section {
		put("left", -half-2.5, length)
		put("right", half+2.5, length)
	}
	say("[mesh]\ngrowth = 1.3\n")
	put("finest", 0.5, length)
	return d
}

// load reads a drawn case in a measure, arrays expanded and all defaults filled in.
func (d *drawn) load(t *testing.T, m measure) *cases.Case {
	t.Helper()
	c, err := cases.Parse(d.name+".toml", []byte(d.text(m)), t.TempDir(), nil)
	if err != nil {
		t.Fatalf("%s is refused: %v\n%s", d.name, err, d.text(m))
	}
	c, _ = c.Expand()
	return c
}

// copied returns a case that shares nothing with c which a property test changes.
func copied(c *cases.Case) *cases.Case {
	out := *c
	out.Layers, out.Targets, out.Electrodes, out.Changes = slices.Clone(c.Layers), slices.Clone(c.Targets), slices.Clone(c.Electrodes), slices.Clone(c.Changes)
	out.Output.FieldsAt = slices.Clone(c.Output.FieldsAt)
	return &out
}

// outcome is a run to its end.
type outcome struct {
	*solver.Report
	problem *solver.Problem
	cold    float64 // [W/V²] power into the ground as found
}

// firstPower keeps the power of the first report.
type firstPower float64

func (f *firstPower) Record(r *solver.Report) error {
	if *f == 0 {
		*f = firstPower(r.State.Power)
	}
	return nil
}

// finish builds and runs a case to its end, at a tolerance [K], at its own (0) or in
// equal steps (equalSteps). Each change is made to the built problem.
func finish(t *testing.T, c *cases.Case, tolerance float64, changes ...func(p *solver.Problem)) outcome {
	t.Helper()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case tolerance == equalSteps:
		p.Settings = solver.Settings{FixedStep: p.Duration / stepCount, Tolerance: heatLeft / 1e-4, Potential: fieldLeft, MaxCoupled: 50}
	case tolerance > 0:
		p.Settings.Tolerance = tolerance
	}
	for _, change := range changes {
		change(p)
	}
	var cold firstPower
	r, err := solver.Run(t.Context(), p, &cold)
	if err != nil {
		t.Fatalf("%s does not run to its end: %v", c.File, err)
	}
	return outcome{r, p, float64(cold)}
}

// spread is the largest difference of two fields.
func spread(a, b []float64) float64 {
	if len(a) != len(b) {
		return math.Inf(1)
	}
	worst := 0.0
	for i := range a {
		if d := math.Abs(a[i] - b[i]); !(d <= worst) {
			worst = d
		}
	}
	return worst
}

// hottest is the largest rise above the start [K].
func (o outcome) hottest() float64 { return slices.Max(o.State.T) - o.problem.Ground.Ambient }

// tally holds a property over many cases: the largest of each number, and the
// ledgers.
type tally struct {
	kelvin, mean, water, energy, cold, ledger, peak float64
	boiled, cells, steps, n                         int
}

// ran counts the runs of one case.
func (y *tally) ran(runs ...outcome) {
	y.n++
	for _, o := range runs {
		y.ledger = math.Max(y.ledger, math.Abs(o.Ledger.Share()))
		y.peak = math.Max(y.peak, o.hottest())
		y.cells = max(y.cells, o.problem.Ground.Grid.Cells())
		y.steps = max(y.steps, o.Stats.Steps)
	}
	if runs[0].Ledger.Steam > 0 {
		y.boiled++
	}
}

// multiple is by how much a run's totals differ from another's where the equations
// say so: its energy, the water in a cell, its power per volt squared.
type multiple struct{ energy, water, perVolt float64 }

var same = multiple{1, 1, 1}

// compare takes the largest differences of two runs whose cells answer one to one;
// b has m times the energy and water of a.
func (y *tally) compare(a, b outcome, m multiple) {
	y.ran(a, b)
	y.kelvin = math.Max(y.kelvin, spread(a.State.T, b.State.T))
	water := make([]float64, len(b.State.W))
	for c, w := range b.State.W {
		water[c] = w / m.water
	}
	y.water = math.Max(y.water, spread(a.State.W, water))
	y.mean = math.Max(y.mean, math.Abs(a.Targets[0].Mean-b.Targets[0].Mean))
	y.cold = math.Max(y.cold, math.Abs(b.cold/m.perVolt/a.cold-1))
	y.energy = math.Max(y.energy, math.Abs(a.Ledger.In-b.Ledger.In/m.energy)/math.Max(a.Ledger.In, 1))
}

// describe logs what the cases were, and returns the claim as checks begin it: without
// what changes from run to run of a changed program.
func (y *tally) describe(t *testing.T, claim string) string {
	t.Helper()
	t.Logf("%s: %d random cases of up to %d cells and %d steps, %d of which boil, hottest %.0f K", claim, y.n, y.cells, y.steps, y.boiled, y.peak)
	return fmt.Sprintf("%s, %d random cases: ", claim, y.n)
}

// holdEqual holds two runs to the last bit.
func (y *tally) holdEqual(t *testing.T, claim, source string) {
	t.Helper()
	claim = y.describe(t, claim)
	hold(t, check{claim + "largest difference of temperature", source, y.kelvin, 0, "K", 0})
	hold(t, check{claim + "largest difference of water", source, y.water, 0, "kg/m3", 0})
	hold(t, check{claim + "largest difference of energy in, share", source, y.energy, 0, "", 0})
	hold(t, check{claim + "largest difference of cold power, share", source, y.cold, 0, "", 0})
	y.holdLedger(t, claim)
}

// Tolerances [K]: settled is that at which runs of one case and of more are compared,
// rough that at which runs are whose every bit must agree, whatever the steps.
const (
	settled = 1e-2
	rough   = 0.5
)

// equalSteps asks finish for so many equal steps instead, six hours where nothing
// scales time, with solves so tight that next to nothing is left of them.
const (
	equalSteps = -1
	stepCount  = 56
	heatLeft   = 1e-11 // [K] rms of a stage's heat solve
	fieldLeft  = 1e-12 // [-] of the currents that electrodes would drive into ground at 0 V
)

// holdClose holds two runs of each case to what their solves leave.
//
// Where nothing boils, the runs take the same equal steps. What a stage's heat solve
// leaves, heatLeft rms over all cells and a hundred times that in one, no later step
// makes larger, for heat only spreads: two stages, 56 steps, two runs. Both runs settle
// the potential in the same rounds, to a share of the heat, and so of at most 200 K, as
// of the power into cold ground, below. Numbers that are scaled, moved or read in other units are rounded to
// 1e-12 at worst, a lesser share. What is left grows by less than e through σ(T).
//
// Where water boils, a cell that switches a step earlier makes the steps after it
// others, and the two are two answers of the tolerance: 0.1 K by default in the
// zone's mean, ten times that in a single cell, each.
//
// The power into cold ground errs by Σ φ r ≤ √n |r|, with r at most 1e-10 of the
// currents that the electrodes would drive into ground at 0 V, fieldLeft where nothing
// boils: less than a hundred times those that flow where cells next to them are more
// than a hundredth of the way. So √1000 × 100 × 1e-10 = 3e-7, and 3e-9.
func (y *tally) holdClose(t *testing.T, claim, source string) {
	t.Helper()
	claim = y.describe(t, claim)
	power := 3e3 * 1e-10
	if y.boiled > 0 {
		hold(t, check{claim + "largest difference of the zone's mean", source, y.mean, 0, "K", 2 * 0.1})
		hold(t, check{claim + "largest difference of a cell", source, y.kelvin, 0, "K", 2 * 10 * 0.1})
	} else {
		if y.steps != stepCount {
			t.Errorf("%sa run took %d steps, want %d equal ones", claim, y.steps, stepCount)
		}
		power = 3e3 * fieldLeft
		hold(t, check{claim + "largest difference of a cell", source, y.kelvin, 0, "K", (2*2*stepCount*100*heatLeft + power*200) * math.E})
	}
	hold(t, check{claim + "largest difference of cold power, share", source, y.cold, 0, "", power})
	y.holdLedger(t, claim)
}

// holdLedger holds the ledgers of all runs of a property.
func (y *tally) holdLedger(t *testing.T, claim string) {
	t.Helper()
	// Conservation is by construction, and each potential is balanced so that V·I is the
	// heat: what is left is the rounding of sums over cells and steps.
	hold(t, check{claim + "largest residual of a ledger, share", "conservation of energy", y.ledger, 0, "", 1e-9})
}

// properties runs a property over so many random cases, half of them round an axis
// where the wish leaves the view open.
func (w wish) properties(t *testing.T, number uint64, n int, each func(d *drawn, c *cases.Case)) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, number))
	t.Logf("cases of seed %d, %d", seed, number)
	for i := range n {
		v := w
		if v.view == "" {
			v.view = []cases.View{cases.Section, cases.Axisymmetric}[i%2]
		}
		d := v.draw(rng, fmt.Sprintf("case %d of seed %d, %d", i, seed, number))
		d.supply(t)
		each(d, d.load(t, si()))
	}
}

// mirrored returns the case with left and right exchanged.
func mirrored(c *cases.Case) *cases.Case {
	m := copied(c)
	m.Domain.Left, m.Domain.Right = -c.Domain.Right, -c.Domain.Left
	for i := range m.Targets {
		m.Targets[i].Left, m.Targets[i].Right = -c.Targets[i].Right, -c.Targets[i].Left
	}
	for i := range m.Electrodes {
		m.Electrodes[i].X = -c.Electrodes[i].X
	}
	return m
}

// TestMirroredCaseGivesMirroredFields: a case and its mirror image warm alike, rows
// of rods, plates, limits, outages and boiling included.
// Source: none needed: the equations know no left and right. Bounds: holdClose.
func TestMirroredCaseGivesMirroredFields(t *testing.T) {
	for i, dry := range []bool{true, false} {
		var y tally
		wish{view: cases.Section, dry: dry}.properties(t, uint64(1+i), few, func(d *drawn, c *cases.Case) {
			a, b := finish(t, c, toleranceFor(dry)), finish(t, mirrored(c), toleranceFor(dry))
			g := a.problem.Ground.Grid
			turn := func(f []float64) []float64 {
				out := make([]float64, len(f))
				for c := range f {
					out[c] = f[g.Index(g.NX-1-c%g.NX, c/g.NX)]
				}
				return out
			}
			b.State.T, b.State.W = turn(b.State.T), turn(b.State.W)
			y.compare(a, b, same)
		})
		y.holdClose(t, "a case and its mirror image, boiling "+map[bool]string{true: "off", false: "on"}[dry], "symmetry of the equations")
	}
}

// toleranceFor is equalSteps where nothing boils, else the case's own.
func toleranceFor(dry bool) float64 {
	if dry {
		return equalSteps
	}
	return 0
}

// TestRowInACutColumnStaysInItsMiddle: a row whose column the mesh cuts stays in its
// middle. A row of rods between two equal plates, its column one cell, or cut by the
// mesh in two or three, even or not. With its current in the first cell alone the row
// would stand a quarter of the column off its place, the currents 2 to 6 % off.
//
// Even cuts keep the mirror image: the plates' currents are equal but for the
// solve, whose residual of 1e-10 of the currents that the electrodes would drive
// into ground at 0 V, ten times those that flow and more, is summed over some 2,000
// cells at worst: √2000 × 10 × 1e-10 = 5e-8. Any cut keeps the row's current: the
// column's width hardly matters, 0.7 % from 2 to 30 cm.
// Source: symmetry of the equations; the width as measured for the project's design.
func TestRowInACutColumnStaysInItsMiddle(t *testing.T) {
	currents := func(cuts ...float64) []complex128 {
		x := append([]float64{-0.15}, cuts...)
		x = append(x, 0.15)
		for side := 0.15; side < 6; side += 0.15 {
			x = append([]float64{-side - 0.15}, append(x, side+0.15)...)
		}
		z := equalEdges(5, 25)
		g := mesh.NewSection(x, z, 1)
		row := g.Box("row", -0.15, 0.15, 1, 4)
		if got := row.I1 - row.I0; got != len(cuts)+1 {
			t.Fatalf("the row's column has %d cells, want %d", got, len(cuts)+1)
		}
		return cold(t, ground(t, g, []float64{math.Inf(1)}, []float64{0.04}), []physics.Body{
			{Name: "left", Phase: -1, Rods: 1, Zone: g.Box("left", -3.15, -3, 1, 4)},
			{Name: "row", Phase: 1, Rods: 1, Zone: row, Row: &physics.Row{X: 0, Spacing: 3, Radius: 0.1, Top: 1, Bottom: 4}},
			{Name: "right", Phase: -1, Rods: 1, Zone: g.Box("right", 3, 3.15, 1, 4)},
		}, false)
	}
	whole := currents()
	for _, cuts := range [][]float64{{}, {0}, {-0.05, 0.05}, {0.06}, {-0.1, 0.02}} {
		i := currents(cuts...)
		name := fmt.Sprintf("column cut at %v m", cuts)
		if len(cuts) == 0 || cuts[0] == -cuts[len(cuts)-1] {
			hold(t, check{"current of the right plate over that of the left, " + name, "symmetry of the equations", cmplx.Abs(i[2] / i[0]), 1, "", 5e-8})
		}
		hold(t, check{"current of the row over that of a whole column, " + name, "design: the column's width hardly matters", cmplx.Abs(i[1] / whole[1]), 1, "", 0.007})
	}
}

// TestPhasesExchangedChangeNothing: two poles exchanged turn every potential's sign,
// to the last bit; three phases exchanged, in turn or two of them, turn or reflect
// the phasors.
// Source: none needed: the equations do not know a phase's name.
func TestPhasesExchangedChangeNothing(t *testing.T) {
	renamed := func(c *cases.Case, names map[string]string) *cases.Case {
		out := copied(c)
		for i := range out.Electrodes {
			out.Electrodes[i].Phase = names[c.Electrodes[i].Phase]
		}
		return out
	}
	const source = "symmetry of the equations"
	var poles, phases tally
	wish{view: cases.Section, phases: 1}.properties(t, 3, few, func(d *drawn, c *cases.Case) {
		poles.compare(finish(t, c, rough), finish(t, renamed(c, map[string]string{"A": "B", "B": "A"}), rough), same)
	})
	poles.holdEqual(t, "two poles exchanged", source)
	turns := []map[string]string{{"A": "B", "B": "C", "C": "A"}, {"A": "B", "B": "A", "C": "C"}, {"A": "A", "B": "C", "C": "B"}}
	i := 0
	wish{view: cases.Section, phases: 3, dry: true}.properties(t, 4, few, func(d *drawn, c *cases.Case) {
		phases.compare(finish(t, c, equalSteps), finish(t, renamed(c, turns[i%len(turns)]), equalSteps), same)
		i++
	})
	phases.holdClose(t, "three phases exchanged", source)
}

// TestLayerSplitInTwoIsOneLayer: a layer cut into two of the same soil, at a depth
// where the mesh has an edge anyway, changes no bit.
// Source: none needed.
func TestLayerSplitInTwoIsOneLayer(t *testing.T) {
	var y tally
	wish{}.properties(t, 5, few, func(d *drawn, c *cases.Case) {
		depths := []float64{c.Targets[0].Top, c.Targets[0].Bottom}
		for _, e := range c.Electrodes {
			depths = append(depths, e.Top, e.Bottom)
		}
		cut := copied(c)
		for _, z := range depths {
			for i, l := range cut.Layers {
				above := 0.0
				if i > 0 {
					above = cut.Layers[i-1].Bottom
				}
				if z > above && z < l.Bottom {
					upper := l
					upper.Name, upper.Bottom = fmt.Sprintf("%s to %g m", l.Name, z), z
					cut.Layers = slices.Insert(cut.Layers, i, upper)
					break
				}
			}
		}
		if len(cut.Layers) == len(c.Layers) {
			t.Fatalf("%s: no layer was cut", d.name)
		}
		y.compare(finish(t, c, rough), finish(t, cut, rough), same)
	})
	y.holdEqual(t, "layers cut into layers of the same soil", "invariance of the equations")
}

// shifted returns the case with the origin of x moved.
func shifted(c *cases.Case, by float64) *cases.Case {
	m := copied(c)
	m.Domain.Left, m.Domain.Right = c.Domain.Left+by, c.Domain.Right+by
	for i := range m.Targets {
		m.Targets[i].Left, m.Targets[i].Right = c.Targets[i].Left+by, c.Targets[i].Right+by
	}
	for i := range m.Electrodes {
		m.Electrodes[i].X = c.Electrodes[i].X + by
	}
	return m
}

// TestOriginOfXDoesNotMatter: the origin of x does not matter. A case a kilometre
// further along x. Places are multiples of 1/8 m there too, but edges between them
// round to 1e-13 m instead of 1e-16: of cells of 0.1 m a part in 1e12, far below what
// the solves leave.
// Source: none needed.
func TestOriginOfXDoesNotMatter(t *testing.T) {
	var y tally
	wish{view: cases.Section, dry: true}.properties(t, 6, few, func(d *drawn, c *cases.Case) {
		y.compare(finish(t, c, equalSteps), finish(t, shifted(c, 1024), equalSteps), same)
	})
	y.holdClose(t, "the origin of x moved by 1024 m", "invariance of the equations")
}

// TestHalfASymmetricSectionIsHalfOfIt: the half of a symmetric section is half of it.
// A section that is its own mirror image, and its right half alone with its left edge,
// through which neither heat nor current passes, on the line between. Plates only: a
// row of rods spreads its heat over the line, and beyond an edge it cannot.
// Source: the method of images.
func TestHalfASymmetricSectionIsHalfOfIt(t *testing.T) {
	var y tally
	wish{view: cases.Section, plates: true, dry: true}.properties(t, 7, few, func(d *drawn, c *cases.Case) {
		half := shifted(c, 1-c.Targets[0].Left)
		half.Domain.Left = 0
		half.Targets[0].Left = 0
		// A target one cell wide at the line makes the cells there alike.
		strip := half.Targets[0]
		strip.Name, strip.Right = "strip", half.Mesh.Finest
		half.Targets = append(half.Targets, strip)

		whole := copied(half)
		whole.Domain.Left = -half.Domain.Right
		whole.Targets[0].Left = -half.Targets[0].Right
		strip.Name, strip.Left, strip.Right = "other strip", -half.Mesh.Finest, 0
		whole.Targets = append(whole.Targets, strip)
		for _, e := range half.Electrodes {
			e.Name, e.X = "mirror of "+e.Name, -e.X
			whole.Electrodes = append(whole.Electrodes, e)
		}
		whole.Supply.PowerLimit *= 2

		everywhere := func(p *solver.Problem) { p.Watched = mesh.Zone{I1: p.Ground.Grid.NX, K1: p.Ground.Grid.NZ} }
		a, b := finish(t, half, equalSteps, everywhere), finish(t, whole, equalSteps, everywhere)
		g, w := a.problem.Ground.Grid, b.problem.Ground.Grid
		if w.NX != 2*g.NX || w.NZ != g.NZ {
			t.Fatalf("%s: the whole has %d × %d cells, its half %d × %d", d.name, w.NX, w.NZ, g.NX, g.NZ)
		}
		for _, column := range []func(i int) int{func(i int) int { return g.NX + i }, func(i int) int { return g.NX - 1 - i }} {
			s := *b.State
			s.T, s.W = make([]float64, g.Cells()), make([]float64, g.Cells())
			for c := range s.T {
				from := w.Index(column(c%g.NX), c/g.NX)
				s.T[c], s.W[c] = b.State.T[from], b.State.W[from]
			}
			r := *b.Report
			r.State = &s
			y.compare(a, outcome{&r, b.problem, b.cold}, multiple{energy: 2, water: 1, perVolt: 2})
		}
	})
	y.n /= 2 // each case was compared on both sides
	y.holdClose(t, "the halves of a symmetric section and one of them alone", "method of images")
}

// TestPotentialsAddUpAndAreReciprocal: potentials add up and are reciprocal. The
// currents that volts on one electrode drive into another are those that volts there
// drive back; and what phasors on all electrodes drive is the sum of what each drives
// alone.
//
// A current errs by at most √n |r|, r what the solver left of the field of one volt
// elsewhere (TestFloatingSupplyHasNoNetCurrent); the sum by Σ |V| of that.
// Source: Green's reciprocity; linearity of the law of charge.
func TestPotentialsAddUpAndAreReciprocal(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 108))
	least, across, sums, pairs, widest := math.Inf(1), 0, 0.0, 0.0, 0.0 // sums and pairs in units of their bounds
	wish{view: cases.Section}.properties(t, 8, few, func(d *drawn, c *cases.Case) {
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		e, g := p.Electric, p.Ground
		n := g.Grid.Cells()
		s, sigma := physics.NewState(n, len(e.Bodies)), make([]float64, n)
		g.Start(s)
		for c := range s.T {
			s.T[c] += 60 * rng.Float64()
		}
		wet := make([]float64, n)
		g.SaturationTo(wet, s.W)
		g.SigmaTo(sigma, s.T, wet)
		apply := func(volts []complex128) (*solved, float64) {
			for b := range e.Bodies {
				e.Bodies[b].Phase = volts[b]
			}
			s := solvePotential(t, e, sigma, 1e-11)
			return s, math.Sqrt(float64(n)) * math.Hypot(s.residual[0], s.residual[1])
		}
		m := len(e.Bodies)
		single, left := make([][]complex128, m), make([]float64, m)
		size := 0.0
		for a := range m {
			volts := make([]complex128, m)
			volts[a] = 1
			s, bound := apply(volts)
			single[a], left[a] = slices.Clone(s.current), bound
			size = math.Max(size, cmplx.Abs(s.current[a]))
		}
		volts := make([]complex128, m)
		allowed := 0.0
		for b := range volts {
			volts[b] = complex(rng.NormFloat64(), rng.NormFloat64())
			allowed += cmplx.Abs(volts[b]) * left[b]
		}
		all, bound := apply(volts)
		for b := range m {
			sum := complex(0, 0)
			for a := range m {
				sum += volts[a] * single[a][b]
			}
			sums = math.Max(sums, cmplx.Abs(all.current[b]-sum)/(allowed+bound+1e-13*size))
			for a := range b {
				across++
				least = math.Min(least, cmplx.Abs(single[a][b])/size)
				pairs = math.Max(pairs, cmplx.Abs(single[a][b]-single[b][a])/(left[a]+left[b]+1e-13*size))
				widest = math.Max(widest, (left[a]+left[b])/size)
			}
		}
	})
	t.Logf("%d pairs of electrodes, the least current between two %.2g of the largest, bounds at most %.2g of it", across, least, widest)
	if least < 100*widest {
		t.Errorf("the least current between two electrodes is %.2g of the largest, too little beside what the solves leave, %.2g, to say anything", least, widest)
	}
	hold(t, check{"largest current there less current back, in units of its bound", "Green's reciprocity", pairs, 0, "", 1})
	hold(t, check{"largest current under all voltages less the sum of each alone, in units of its bound", "linearity", sums, 0, "", 1})
}
