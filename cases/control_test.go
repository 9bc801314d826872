package cases

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soiljoule/physics"
	"soiljoule/solver"
)

// controlled is sound with every way to limit and to switch its supply.
var controlled = strings.Replace(sound, `[[sensor]]`, `kva_limit = "150 kVA"
outages = "outages.csv"
[[change]]
at = "10 d"
kva_limit = "100 kVA"
[control]
setpoint = "131 degF"
deadband = "2 degF"
follow = "T1@8ft"
[[sensor]]`, 1)

// meteredCase is sound driven by a meter.
var meteredCase = strings.Replace(sound, `[[sensor]]`, `metered = "power.csv"
delivered_share = "95 %"
[[sensor]]`, 1)

var brokenControls = []broken{
	{
		name:  "setpoint missing, deadband too narrow, sensor unknown",
		base:  controlled,
		edits: []edit{{"setpoint = \"131 degF\"\n", ""}, {"2 degF", "0.05 degF"}, {"T1@8ft", "T1@9ft"}},
		want: `
yard.toml:58: control.setpoint: is missing; must be a temperature with its unit, such as "12 degF" or "12 degC"
yard.toml:59: control.deadband = 0.05 degF: must be at least 0.05 K: a threshold is met to 0.01 K, and a narrower band would switch on that error
yard.toml:60: control.follow = T1@9ft: must be "mean", "coldest" or a sensor; sensors are T1, T1@4ft and T1@8ft`,
	},
	{
		name:  "a temperature for a difference, a number for a word",
		base:  controlled,
		edits: []edit{{"\"2 degF\"", "\"2 m\""}, {"\"T1@8ft\"", "3"}},
		want: `
yard.toml:60: control.deadband = 2 m: is a length; must be a temperature difference in K, degC or degF
yard.toml:61: control.follow = 3: must be "mean", "coldest" or the name of a sensor`,
	},
	{
		name:  "a sensor named as a word of its own",
		base:  controlled,
		edits: []edit{{"T1@8ft", "mean"}, {"name = \"T1\"", "name = \"mean\""}},
		want: `
yard.toml:61: control.follow = mean: is a word of its own and the name of a sensor: name the sensor otherwise`,
	},
	{
		name:  "no sensor at all",
		base:  soundAxis,
		edits: []edit{{"[time]", "[control]\nsetpoint = \"60 degC\"\nfollow = \"T1\"\n[time]"}},
		want: `
yard.toml:35: control.follow = T1: must be "mean", "coldest" or a sensor; the case has no [[sensor]]`,
	},
	{
		name:  "kilowatts for an apparent power, none at all",
		base:  controlled,
		edits: []edit{{"150 kVA", "150 kW"}, {"100 kVA", "0 kVA"}},
		want: `
yard.toml:53: supply.kva_limit = 150 kW: is a power; must be an apparent power in VA or kVA
yard.toml:57: change[1].kva_limit = 0 kVA: must be > 0`,
	},
	{
		name:  "outages with faults",
		base:  controlled,
		edits: []edit{{"outages.csv", "broken-outages.csv"}},
		want: `
testdata/broken-outages.csv:3: to_d = 3: belongs to an outage that begins before the one before it has ended, on day 2
testdata/broken-outages.csv:4: to_d = 4: must be later than the row's from
testdata/broken-outages.csv:5: has 2 columns; must have 3, as the first row
testdata/broken-outages.csv:6: to_d = x: must be a number
testdata/broken-outages.csv:7: from_d = 6: must be later than the row before`,
	},
	{
		name:  "outages that are none, a meter that is a number",
		base:  controlled,
		edits: []edit{{"\"outages.csv\"", "\"3 d\"\nmetered = \"3 kW\""}},
		want: `
yard.toml:54: supply.outages = 3 d: must be the name of a .csv file
yard.toml:55: supply.metered = 3 kW: must be the name of a .csv file`,
	},
	{
		name:  "outages without their columns, a meter that is not there",
		base:  controlled,
		edits: []edit{{"outages.csv", "power.csv"}},
		sets:  []string{"supply.metered=none.csv"},
		want: `
yard.toml:54: supply.outages = power.csv: must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off
yard.toml:58: control: must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off
testdata/power.csv:2: the first row must name the columns from_d, from_h, from_s or from_date and to_d, to_h, to_s or to_date
--set supply.metered=none.csv: there is no file testdata/none.csv`,
	},
	{
		name:  "switched beside a meter",
		base:  meteredCase,
		edits: []edit{{"[[sensor]]", "outages = \"outages.csv\"\n[[change]]\nat = \"3 d\"\non = false\n[control]\nsetpoint = \"50 degC\"\n[[sensor]]"}},
		want: `
yard.toml:55: supply.outages = outages.csv: must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off
yard.toml:58: change[1].on = false: must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off
yard.toml:59: control: must not stand beside supply.metered, whose power is followed as it was: write rows of 0 where the supply is off`,
	},
	{
		name:  "a meter that does not cover the run",
		base:  meteredCase,
		edits: []edit{{"power.csv", "short-power.csv"}},
		want: `
yard.toml:53: supply.metered = short-power.csv: begins on day 0.04167; must begin at power-on, day 0, or before (with a row of 0 where the supply is off)
yard.toml:53: supply.metered = short-power.csv: ends on day 10; must go on to time.duration, day 70 (with a row of 0 where the supply is off)`,
	},
	{
		name:  "a share of nothing, and more than all",
		edits: []edit{{"[[sensor]]", "delivered_share = 0.9\n[[sensor]]"}},
		want: `
yard.toml:53: supply.delivered_share = 0.9: acts on nothing: it is of supply.metered, which is not given`,
	},
	{
		name: "more than all of it",
		base: meteredCase,
		sets: []string{"supply.delivered_share=120 %"},
		want: `--set supply.delivered_share=120 %: must be > 0 and at most 1 (a fraction; 1.2 % is 0.012)`,
	},
	{
		name:  "control of nothing",
		base:  heated,
		edits: []edit{{"[time]", "[control]\nsetpoint = \"50 degC\"\n[time]"}},
		want: `
yard.toml:40: control: controls nothing: the case has neither [[electrode]] nor [[array]]`,
	},
}

// TestBrokenControls: each broken way to limit, switch or drive prints exactly this.
func TestBrokenControls(t *testing.T) {
	for _, base := range []string{controlled, meteredCase} {
		if got := parseBroken(t, broken{base: base}); got != "" {
			t.Fatalf("a sound case has faults:\n%s", got)
		}
	}
	for _, b := range brokenControls {
		t.Run(b.name, func(t *testing.T) {
			if got, want := parseBroken(t, b), strings.TrimSpace(b.want); got != want {
				t.Errorf("printed\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// TestControlComesBack: a case with each of the keys is written and read again to the
// same bits; one without control is written without it.
func TestControlComesBack(t *testing.T) {
	for _, text := range []string{controlled, meteredCase, sound} {
		c := mustParse(t, text)
		var b bytes.Buffer
		if err := c.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		sameCase(t, mustParse(t, b.String()), c)
		if got, want := strings.Contains(b.String(), "[control]"), text == controlled; got != want {
			t.Errorf("case.toml has [control]: %v, want %v", got, want)
		}
	}
}

// TestOutagesAmongChanges: settings and outages become one row of settings, each on its
// own time; what a change sets within an outage holds when it ends. By hand: outages from
// before the start to day 1, from day 2 to 5 and from there to day 6, one at the very
// end and one after it; changes on days 3 and 6.
func TestOutagesAmongChanges(t *testing.T) {
	at, tap := 3.0, 90.0
	c := mustParse(t, sound)
	c.Changes = []Change{{At: at * day, Voltage: &tap}, {At: 6 * day, ApparentLimit: &at}}
	c.Supply.Outages.Spans = []Outage{{-day, day}, {2 * day, 5 * day}, {5 * day, 6 * day}, {70 * day, 71 * day}, {80 * day, 81 * day}}
	type row struct {
		day, volts, kva float64
		outage          bool
	}
	want := []row{{0, 130, inf, true}, {1, 130, inf, false}, {2, 130, inf, true}, {3, 90, inf, true}, {5, 90, inf, true}, {6, 90, 3, false}, {70, 90, 3, true}}
	var got []row
	for _, s := range c.Settings() {
		got = append(got, row{s.At / day, s.Voltage, s.ApparentLimit, s.Outage})
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("the settings are\n%v\nwant\n%v", got, want)
	}
}

// TestTooManyOutages: a file with more outages than a run may look through is refused.
func TestTooManyOutages(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []int{mostOutages, mostOutages + 1} {
		var b strings.Builder
		b.WriteString("from_s,to_s\n")
		for i := range n {
			fmt.Fprintf(&b, "%d,%d\n", 2*i, 2*i+1)
		}
		if err := os.WriteFile(filepath.Join(dir, "outages.csv"), []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
		_, err := Parse("yard.toml", []byte(controlled), dir, nil)
		if refused := err != nil; refused != (n > mostOutages) {
			t.Errorf("%d outages are refused: %v (%v)", n, refused, err)
		}
	}
}

// TestFollow: mean, coldest, one depth of a sensor and the bare name of one with two
// depths, its coldest, in ground that cools by 1 K a metre of depth and warms by 2 K a
// metre across: within a layer a linear field is read exactly, and its mean is that at
// the target's middle, 45 ft across and 10.5 ft deep. Ten digits of rounding.
func TestFollow(t *testing.T) {
	follow := func(what string) float64 {
		c := mustParse(t, strings.ReplaceAll(controlled, `"8 ft"]`, `"6 ft"]`), "control.follow="+what)
		c, _ = c.Expand()
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		g := p.Ground.Grid
		s := physics.NewState(g.Cells(), 0)
		for c := range s.T {
			s.T[c] = 280 + 2*g.XC[c%g.NX] - g.ZC[c/g.NX]
		}
		if allocates := testing.AllocsPerRun(3, func() { p.Thermostat.Follow(s) }); allocates > 0 {
			t.Errorf("following %s allocates %v times, want 0", what, allocates)
		}
		if what == "coldest" { // the node nearest to the target's lower left corner
			z := p.Targets[0].Zone
			return p.Thermostat.Follow(s) - (280 + 2*g.XC[z.I0] - g.ZC[z.K1-1])
		}
		return p.Thermostat.Follow(s)
	}
	x := 280 + 2*22*Foot
	for what, want := range map[string]float64{"mean": 280 + 2*45*Foot - 10.5*Foot, "coldest": 0, "T1@6ft": x - 6*Foot, "T1@4ft": x - 4*Foot, "T1": x - 6*Foot} {
		if got := follow(what); !(math.Abs(got-want) <= 3e-8) {
			t.Errorf("following %s gives %.12g K, want %.12g K", what, got, want)
		}
	}
}

// TestDelivered: the meter's mean, peak and share, by hand of power.csv: 1500 W at the
// start, 2500 W at 240 h, 0 at 1680 h.
func TestDelivered(t *testing.T) {
	c := mustParse(t, meteredCase)
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := p.Meter.Power(0, 1680*hour), 0.95*(2000*240.0+1250*1440)/1680; math.Abs(got-want) > 1e-12*want {
		t.Errorf("the mean delivered power is %.15g W, want %.15g W", got, want)
	}
	for _, span := range []struct{ from, to, watts, at float64 }{{0, 1680, 2500, 240}, {0, 120, 2000, 120}, {960, 1680, 1250, 960}, {240, 240, 2500, 240}} {
		watts, at := p.Meter.Peak(span.from*hour, span.to*hour)
		if math.Abs(watts-0.95*span.watts) > 1e-9 || at != span.at*hour {
			t.Errorf("between %g and %g h the peak is %.12g W at %g h, want %g W at %g h", span.from, span.to, watts, at/hour, 0.95*span.watts, span.at)
		}
	}
	if allocates := testing.AllocsPerRun(3, func() { p.Meter.Peak(0, 1680*hour) }); allocates > 0 {
		t.Errorf("a peak allocates %v times, want 0", allocates)
	}
}

// TestControlledRuns: cases as users write them run: where the supply is switched the
// followed temperature lies at its threshold, to the 0.01 K of a crossing; no power flows in an outage; and a meter's energy
// is in the ledger, of 20 days by the rows of power.csv.
func TestControlledRuns(t *testing.T) {
	build := func(sets ...string) *solver.Problem {
		text := strings.Replace(wiredCell, "[[heat]]", "[[sensor]]\nname = \"T\"\nr = \"1 m\"\ndepth = \"3 m\"\n[[heat]]", 1)
		text = text[:strings.Index(text, "[[heat]]")] + text[strings.Index(text, "[supply]"):]
		return builtFrom(t, text, append([]string{"mesh.finest=0.3 m", "time.duration=40 d"}, sets...)...)
	}
	p := build("control.setpoint=25 degC", "control.deadband=0.5 K", "control.follow=T", "supply.outages=outages.csv")
	switches, outages, off := 0, 0, false
	last, err := solver.Run(t.Context(), p, reports(func(r *solver.Report) {
		if n := r.Switching.Switches; n > switches {
			switches, off = n, !off
			past := p.Thermostat.Follow(r.State) - 298.15 - 0.5
			if !off {
				past = 298.15 - 0.5 - p.Thermostat.Follow(r.State)
			}
			if past < 0 || past > 0.01 {
				t.Errorf("on day %.3f it switches, off: %v, %.4f K past its threshold, want 0 to 0.01", r.State.Time/day, off, past)
			}
			if off != (r.State.Limit == physics.Setpoint) && !r.Setting.Outage {
				t.Errorf("on day %.3f it is off: %v, and %q holds the supply", r.State.Time/day, off, r.State.Limit)
			}
		}
		if r.Setting.Outage {
			outages++
			if r.State.Voltage != 0 || r.State.Limit != physics.Outage {
				t.Errorf("on day %.3f, in an outage, the voltage is %g V and %q holds it", r.State.Time/day, r.State.Voltage, r.State.Limit)
			}
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if outages == 0 || last.Switching.Switches < 3 {
		t.Errorf("%d rows in outages, %d switches: the test sees less than it says", outages, last.Switching.Switches)
	}
	p = build("supply.metered=power.csv", "supply.delivered_share=0.9")
	last, err = solver.Run(t.Context(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	at40 := 2500 * (1 - (960.0-240)/1440)
	if want := 0.9 * hour * (2000*240 + (2500+at40)/2*720); math.Abs(last.Ledger.In-want) > 1e-9*want {
		t.Errorf("the ledger has %.15g J in, the meter's rows %.15g J", last.Ledger.In, want)
	}
}

// reports calls a function for every report.
type reports func(*solver.Report)

func (f reports) Record(r *solver.Report) error { f(r); return nil }
