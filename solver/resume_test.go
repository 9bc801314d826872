package solver

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"soiljoule/physics"
)

// copied returns a snapshot that shares nothing with the run it came from.
func copied(s *Snapshot) *Snapshot {
	c := &Snapshot{}
	c.Values, c.Arrays = maps.Clone(s.Values), map[string][]float64{}
	for name, a := range s.Arrays {
		c.Arrays[name] = slices.Clone(a)
	}
	return c
}

// unlike names the first thing in which two snapshots differ by a bit, "" for none.
func unlike(a, b *Snapshot) string {
	for _, name := range slices.Sorted(maps.Keys(a.Values)) {
		if v, ok := b.Values[name]; !ok || v != a.Values[name] {
			return fmt.Sprintf("%s: %q and %q", name, a.Values[name], v)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(a.Arrays)) {
		x, y := a.Arrays[name], b.Arrays[name]
		if !slices.EqualFunc(x, y, func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) }) {
			return name
		}
	}
	if len(a.Values) != len(b.Values) || len(a.Arrays) != len(b.Arrays) {
		return "what they hold"
	}
	return ""
}

// until gives a problem outputs on these days, and the last of them as its end.
func until(p *Problem, days ...float64) *Problem {
	p.Outputs = nil
	for _, d := range days {
		p.Outputs = append(p.Outputs, d*day)
	}
	p.Duration = days[len(days)-1] * day
	return p
}

// rowsOf keeps of each report what a history shows.
type rowsOf []string

func (h *rowsOf) Record(r *Report) error {
	*h = append(*h, fmt.Sprint(r.State.Time, r.State.Voltage, r.State.Power, r.State.Current, r.State.T[0], r.Ledger, r.Stats, r.Targets[0].Mean, r.Targets[0].Share, r.Targets[0].Held, r.SteamRate, r.Switching, r.Need, r.Output))
	return nil
}

// TestResumedRunIsTheUnbroken: a run that ends and goes on leaves, bit by bit, what a run
// without a break leaves that has an output there: rows and the state at the end, whatever
// of the two is on one processor and the other on two. Sections on three phases, cells
// that boil and that dry, plans with ground above and below, with and without heat of the
// fringe, thermostats, meters, limits of bodies of their own, groundwater and rain, power
// that is set and swings, lean runs, equal steps.
func TestResumedRunIsTheUnbroken(t *testing.T) {
	followed := func(p *Problem, set, band float64) *Problem {
		zone := p.Targets[0].Zone
		cells, volume := zone.Cells(p.Ground.Grid), zone.Volume(p.Ground.Grid)
		p.Thermostat = &Thermostat{Setpoint: set + 273.15, Deadband: band, Follow: func(s *State) float64 {
			sum := 0.0
			for _, c := range cells {
				sum += p.Ground.Grid.Volume[c] * s.T[c]
			}
			return sum / volume
		}}
		return p
	}
	with := func(p *Problem, change func(p *Problem)) *Problem { change(p); return p }
	for _, c := range []struct {
		name string
		make func() *Problem
		days float64 // of the whole
	}{
		{"section", func() *Problem { return section(t, 20, far) }, 8},
		{"cell that boils", func() *Problem { return cell(t, 20, far) }, 12},
		{"cell that dries", func() *Problem { return cell(t, 20, 0) }, 6},
		{"plan", func() *Problem { return slab(t, 12, 10, 20, 0) }, 8},
		{"plan with a fringe", func() *Problem { return withFringe(slab(t, 12, 10, 20, far), 20) }, 8},
		{"plan in rain", func() *Problem {
			return rainedOn(tableAt(risingSlab(slab(t, 12, 10, 20, 0), 20), ramp(7, 1, 2*day, 20*day)), showers)
		}, 8},
		{"short rods of their own", func() *Problem { return shortRods(t, 20) }, 7},
		{"thermostat", func() *Problem { return followed(cell(t, 40, far), 60, 2) }, 30},
		{"meter", func() *Problem {
			return with(cell(t, 40, far), func(p *Problem) { p.Meter = fiveMinutes(40, 30).meter() })
		}, 12},
		{"bodies of their own", func() *Problem { return fed(t, 20) }, 4},
		{"lean bodies of their own", func() *Problem { return with(fed(t, 20), func(p *Problem) { p.Settings.Lean = true }) }, 2}, // in two where a setting begins
		{"groundwater", func() *Problem { return streaming(section(t, 20, far)) }, 6},
		{"rain", func() *Problem { return streaming(cell(t, 20, 0)) }, 6},
		{"set power", func() *Problem { return swinging(t, cell(t, 20, far)) }, 6},
		{"lean", func() *Problem { return with(cell(t, 20, 0), func(p *Problem) { p.Settings.Lean = true }) }, 6},
		{"equal steps", func() *Problem { return with(cell(t, 20, far), func(p *Problem) { p.Settings.FixedStep = 7000 }) }, 2},
		{"steam that rises", waters(t)["a cell"], 12},
		{"steam, water added, rain that drains", waters(t)["water added, steam, rain, drain"], 14},
		{"steam under a barrier with bores", waters(t)["under a barrier with bores"], 12},
		{"power off when held", func() *Problem {
			return with(cell(t, 20, far), func(p *Problem) {
				p.OffWhenHeld, p.Targets[0].Share, p.Targets[0].Temperature, p.Targets[0].Hold = true, 0.2, 333.15, day
			})
		}, 16},
	} {
		t.Run(c.name, func(t *testing.T) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
			var whole, broken rowsOf
			a, err := Run(context.Background(), until(c.make(), c.days/2, c.days), &whole)
			if err != nil {
				t.Fatal(err)
			}
			runtime.GOMAXPROCS(2)
			b, err := Run(context.Background(), until(c.make(), c.days/2), &broken)
			if err != nil {
				t.Fatal(err)
			}
			half := len(broken)
			b, err = Resume(context.Background(), until(c.make(), c.days/2, c.days), copied(b.Snapshot), &broken)
			if err != nil {
				t.Fatal(err)
			}
			for i, row := range whole {
				if i >= len(broken) || broken[i] != row {
					t.Fatalf("row %d of %d differs, %d were before the break:\n%s\n%s", i, len(whole), half, row, append(broken, make(rowsOf, len(whole))...)[i])
				}
			}
			if d := unlike(a.Snapshot, b.Snapshot); d != "" {
				t.Errorf("the states at the end differ in %s", d)
			}
			if len(whole) <= half || len(whole) != len(broken) {
				t.Errorf("%d rows, of which %d before the break; unbroken %d", len(broken), half, len(whole))
			}
		})
	}
}

// TestResumedUnderAnotherSupply: what is asked of the supply anew holds from the moment
// on; the ledger goes on closed; history before it stays.
func TestResumedUnderAnotherSupply(t *testing.T) {
	for name, c := range map[string]struct {
		make   func() *Problem
		change func(p *Problem)
		edges  bool
	}{
		"voltage":        {func() *Problem { return cell(t, 20, far) }, func(p *Problem) { p.Supply[0].Voltage = 65 }, false},
		"off":            {func() *Problem { return cell(t, 20, 0) }, func(p *Problem) { p.Supply[0].On = false }, false},
		"own limits":     {func() *Problem { return section(t, 20, far) }, func(p *Problem) { p.Supply[0].Bodies = own(6, func(b []BodySetting) { b[3].CurrentLimit = 60 }) }, false},
		"no own limits":  {func() *Problem { return fed(t, 20) }, func(p *Problem) { p.Supply[0].Bodies, p.Supply = nil, p.Supply[:1] }, false},
		"film":           {func() *Problem { return section(t, 20, far) }, film, true},
		"film on a plan": {func() *Problem { return slab(t, 12, 10, 20, 0) }, filmOfPlan, true},
		"rain begins":    {func() *Problem { return tableAt(slab(t, 12, 10, 20, 0), deep) }, func(p *Problem) { rainedOn(p, showers) }, true},
		"rain ends":      {func() *Problem { return rainedOn(tableAt(slab(t, 12, 10, 20, 0), deep), steady) }, dryPlan, true},
		"thermostat": {func() *Problem { return cell(t, 20, far) }, func(p *Problem) {
			p.Thermostat = &Thermostat{Setpoint: 280, Deadband: 1, Follow: func(s *State) float64 { return s.T[0] }}
		}, false},
	} {
		first, err := Run(t.Context(), until(c.make(), 3), nil)
		if err != nil {
			t.Fatal(name, err)
		}
		from := copied(first.Snapshot)
		from.Changed = c.edges
		p := until(c.make(), 3, 6)
		c.change(p)
		var voltage []float64
		last, err := Resume(t.Context(), p, from, each(func(r *Report) { voltage = append(voltage, r.State.Voltage) }))
		if err != nil {
			t.Fatal(name, err)
		}
		// Each step's own ledger is held to 1e-8 by the run; over the whole it is some 1e-10.
		if s := last.Ledger.Share(); math.Abs(s) > 1e-9 {
			t.Errorf("%s: the ledger misses %.3g", name, s)
		}
		if last.State.Time != 6*day || len(voltage) == 0 {
			t.Errorf("%s: it ends on day %g after %d steps", name, last.State.Time/day, len(voltage))
		}
		switch {
		case name == "voltage" && voltage[0] != 65, (name == "off" || name == "thermostat") && voltage[0] != 0:
			t.Errorf("%s: the first step ends at %g V", name, voltage[0])
		case name == "own limits":
			if i := math.Hypot(real(last.State.Current[3]), imag(last.State.Current[3])) * last.State.Voltage / (20 / 3.5); math.Abs(i-60) > 60*1e-3 {
				t.Errorf("%s: an electrode held to 60 A passes %.4g A", name, i)
			}
		}
	}
}

// TestResumedAsTheSupplyGoesOff: a run that goes on at the moment its supply is to go off,
// or later, gets no more power; going off is a part of the step before, which knew nothing of it.
func TestResumedAsTheSupplyGoesOff(t *testing.T) {
	for _, off := range []float64{3 * day, 2 * day} {
		first, err := Run(t.Context(), until(cell(t, 20, far), 3), nil)
		if err != nil {
			t.Fatal(err)
		}
		p := until(cell(t, 20, far), 3, 6)
		p.OffAt = off
		last, err := Resume(t.Context(), p, copied(first.Snapshot), nil)
		if err != nil {
			t.Fatal(err)
		}
		if last.Ledger.In != first.Ledger.In || last.Cooling.At != 3*day {
			t.Errorf("off on day %g: %.9g J have come in by day 6, %.9g J by day 3, and the supply is off since day %g", off/day, last.Ledger.In, first.Ledger.In, last.Cooling.At/day)
		}
	}
}

// film lays a cover on a problem's ground and lets the air be warmer.
func film(p *Problem) {
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Cover: 1, Air: func(float64) float64 { return 300 }})
}

// filmOfPlan is film for slab, in 20 days.
func filmOfPlan(p *Problem) {
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Cover: 1, Air: func(float64) float64 { return 300 },
		Below: physics.Held{On: true, Temperature: 288.15}, Sides: physics.Held{On: true, Temperature: 288.15},
		Caps: physics.NewCaps(3, 20*day, []physics.Slice{{Thickness: 2, Conductivity: 1.2, Capacity: 2e6}, {Thickness: 0.3, Conductivity: 1.7, Capacity: 2.1e6}},
			[]physics.Slice{{Thickness: 3, Conductivity: 1.5, Capacity: 2.8e6}, {Thickness: far, Conductivity: 2.5, Capacity: 2.3e6}})})
}

// TestInterruptedRunGoesOn: from any accepted step a run can be gone on with: it comes to
// the end, its ledger closed, within the tolerance of the run that was not interrupted.
func TestInterruptedRunGoesOn(t *testing.T) {
	want, err := Run(t.Context(), until(cell(t, 20, far), 6), nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	n := 0
	half, err := Run(ctx, until(cell(t, 20, far), 6), each(func(*Report) {
		if n++; n == 40 {
			stop()
		}
	}))
	if !errors.Is(err, context.Canceled) || half.Snapshot == nil {
		t.Fatalf("an interrupted run ends with %v and a snapshot %v", err, half.Snapshot != nil)
	}
	got, err := Resume(t.Context(), until(cell(t, 20, far), 6), copied(half.Snapshot), nil)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := got.Targets[0].Mean, want.Targets[0].Mean; math.Abs(a-b) > 0.1 {
		t.Errorf("the zone ends at %.4f K, uninterrupted at %.4f", a, b)
	}
	if s := got.Ledger.Share(); math.Abs(s) > 1e-9 {
		t.Errorf("the ledger misses %.3g", s)
	}
}

// TestSnapshotOfAnotherProblem: a snapshot that lacks something or is of other ground is an
// error that says so, and no panic.
func TestSnapshotOfAnotherProblem(t *testing.T) {
	alone(t)
	first, err := Run(t.Context(), until(cell(t, 20, far), 1), nil)
	if err != nil {
		t.Fatal(err)
	}
	refused := func(what string, p *Problem, s *Snapshot) {
		t.Helper()
		if _, err := Resume(t.Context(), p, s, nil); !errors.Is(err, ErrSnapshot) {
			t.Errorf("%s: Resume says %v, want ErrSnapshot", what, err)
		}
	}
	refused("a section", section(t, 2, far), copied(first.Snapshot))
	refused("nothing", cell(t, 2, far), &Snapshot{})
	metered := cell(t, 2, far)
	metered.Meter = fiveMinutes(2, 1).meter()
	refused("a meter", metered, copied(first.Snapshot))
	for i, name := range slices.Sorted(maps.Keys(first.Snapshot.Values)) {
		if i%7 != 0 { // each is read in the same way
			continue
		}
		s := copied(first.Snapshot)
		delete(s.Values, name)
		refused("without "+name, cell(t, 2, far), s)
	}
	for name := range first.Snapshot.Arrays {
		s := copied(first.Snapshot)
		s.Arrays[name] = s.Arrays[name][1:]
		refused("with a short "+name, cell(t, 2, far), s)
	}
}

// TestSnapshotForgetsNothing: every field of the structs that a run is made of is either
// in its snapshot or named here, or where a snapshot leaves it out, as what it is:
// workspace, the problem's own, or what follows from the rest.
func TestSnapshotForgetsNothing(t *testing.T) {
	inSnapshot := strings.Fields("setting state rate0 taken thermostat meter sources ledger stats report charge targets cooling")
	workspace := strings.Fields("problem set grid ground heat seepage control team columns steam next rate2 rate1 first begun rising offEvent " +
		"eStar wStar slope given over drowned held refilled mistake power residual delta scratch beyond boils volume watchedVolume totalVolume leastCapacity heatTolerance " +
		"pcg gmres stiff heatSystem mostIterations part most buffers loop do whole")
	for i := range reflect.TypeFor[run]().NumField() {
		name := reflect.TypeFor[run]().Field(i).Name
		if slices.Contains(inSnapshot, name) == slices.Contains(workspace, name) {
			t.Errorf("the run has a field %s: give it a line in run.kept, or name it here as workspace", name)
		}
	}
	// What is left out of these is listed beside kept; that each of them is a field still:
	for name, c := range map[string]struct {
		of   reflect.Type
		left []string
	}{
		"State": {reflect.TypeFor[State](), stateLeft}, "control": {reflect.TypeFor[control](), controlLeft}, "thermostat": {reflect.TypeFor[thermostat](), thermostatLeft},
		"meter": {reflect.TypeFor[meter](), meterLeft}, "sources": {reflect.TypeFor[sources](), sourcesLeft}, "Report": {reflect.TypeFor[Report](), reportLeft},
		"charge": {reflect.TypeFor[charge](), chargeLeft}, "tracker": {reflect.TypeFor[tracker](), trackerLeft},
	} {
		for _, field := range c.left {
			if _, ok := c.of.FieldByName(field); !ok {
				t.Errorf("a snapshot leaves out %s.%s, which there is not", name, field)
			}
		}
	}
	// And all else is there, with the name of its field.
	rep, err := Run(t.Context(), until(fed(t, 20), 1), nil)
	if err != nil {
		t.Fatal(err)
	}
	holds := func(name string) bool {
		if _, ok := rep.Snapshot.Arrays[name]; ok {
			return true
		}
		for value := range rep.Snapshot.Values {
			if value == name || strings.HasPrefix(value, name+".") || strings.HasPrefix(value, name+"[") {
				return true
			}
		}
		for array := range rep.Snapshot.Arrays {
			if strings.HasPrefix(array, name+"[") {
				return true
			}
		}
		return false
	}
	for name, c := range map[string]struct {
		of   reflect.Type
		left []string
	}{
		"state": {reflect.TypeFor[State](), append(slices.Clone(stateLeft), "Caps")}, "rates": {reflect.TypeFor[rates](), []string{"caps"}},
		"control": {reflect.TypeFor[control](), controlLeft}, "ledger": {reflect.TypeFor[Ledger](), nil}, "stats": {reflect.TypeFor[Stats](), nil},
		"charge": {reflect.TypeFor[charge](), chargeLeft}, "last": {reflect.TypeFor[solution](), nil}, "target1": {reflect.TypeFor[tracker](), trackerLeft},
		"meter": {reflect.TypeFor[meter](), meterLeft}, "thermostat": {reflect.TypeFor[thermostat](), thermostatLeft},
	} {
		for i := range c.of.NumField() {
			if field := c.of.Field(i).Name; !slices.Contains(c.left, field) && !holds(name+"."+field) {
				t.Errorf("the snapshot does not hold %s.%s", name, field)
			}
		}
	}
}

// TestFailedRunGoesOn: a run that ends in a step that cannot be solved leaves a snapshot of
// the step before, from which one without the fault goes on to its end.
func TestFailedRunGoesOn(t *testing.T) {
	power := func(spoilt float64) *Problem {
		p := until(cell(t, 20, far), 2)
		p.Varying = func(dst []float64, from, to float64) {
			if to > day {
				dst[0] += spoilt
			}
		}
		return p
	}
	failed, err := Run(t.Context(), power(math.NaN()), nil)
	if err == nil || failed.Snapshot == nil {
		t.Fatalf("a power that is no number ends with %v and a snapshot %v", err, failed.Snapshot != nil)
	}
	// Steps that were tried beyond day 1 leave no trace: it is the state before them.
	if failed.State.Time > day || failed.State.Time < 0.5*day {
		t.Errorf("the last step that stands is of day %g, want the last before day 1", failed.State.Time/day)
	}
	last, err := Resume(t.Context(), power(0), copied(failed.Snapshot), nil)
	if err != nil {
		t.Fatal(err)
	}
	if s := last.Ledger.Share(); last.State.Time != 2*day || math.Abs(s) > 1e-9 {
		t.Errorf("it goes on to day %g, the ledger misses %.3g", last.State.Time/day, s)
	}
}

// TestPowerOffAtTheBreak: a run that goes on with power off on the very day that it has
// come to goes off there, and leaves after it, bit by bit, what one without a break leaves
// that was to go off then; so does a hold that is over on that day or was before.
func TestPowerOffAtTheBreak(t *testing.T) {
	for name, make := range map[string]func() *Problem{
		"section":          func() *Problem { return section(t, 20, far) },
		"cell that boils":  func() *Problem { return cell(t, 20, 0) },
		"plan":             func() *Problem { return withFringe(slab(t, 12, 10, 20, far), 20) },
		"steam that rises": waters(t)["a cell"],
		"thermostat": func() *Problem {
			p := cell(t, 40, far)
			p.Thermostat = &Thermostat{Setpoint: 400, Deadband: 1, Follow: func(s *State) float64 { return s.T[0] }}
			return p
		},
	} {
		off := func(p *Problem) *Problem { p.OffAt = 4 * day; return p }
		var whole, rest rowsOf
		a, err := Run(t.Context(), off(until(make(), 4, 8)), &whole)
		if err != nil {
			t.Fatal(name, err)
		}
		first, err := Run(t.Context(), until(make(), 4), nil)
		if err != nil {
			t.Fatal(name, err)
		}
		b, err := Resume(t.Context(), off(until(make(), 4, 8)), copied(first.Snapshot), &rest)
		if err != nil {
			t.Fatal(name, err)
		}
		if n := len(whole) - len(rest); len(rest) == 0 || n <= 0 || !slices.Equal(whole[n:], rest) || b.OffAt != 4*day {
			t.Errorf("%s: off on day %g, and of %d rows of the unbroken run the last are not the %d of the resumed", name, b.OffAt/day, len(whole), len(rest))
		}
		if d := unlike(a.Snapshot, b.Snapshot); d != "" {
			t.Errorf("%s: the states at the end differ in %s", name, d)
		}
		// A hold that was over before ends in power off at once, which is the same.
		p := until(make(), 4, 8)
		p.OffWhenHeld = true
		q := until(make(), 4)
		p.Targets[0].Temperature, q.Targets[0].Temperature = 1, 1
		first, err = Run(t.Context(), q, nil)
		if err != nil {
			t.Fatal(name, err)
		}
		rest = nil
		if b, err = Resume(t.Context(), p, first.Snapshot, &rest); err != nil {
			t.Fatal(name, err)
		}
		if b.OffAt != 4*day || b.Ledger.In != a.Ledger.In {
			t.Errorf("%s: with its hold over it went off on day %g, %g J in, want day 4 and %g J", name, b.OffAt/day, b.Ledger.In, a.Ledger.In)
		}
	}
}
