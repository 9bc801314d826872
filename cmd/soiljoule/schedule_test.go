package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"soiljoule/cases"
)

// scheduled is the section of taps with all that may change of supply and site, but for a
// meter, which stands beside none of it.
var scheduled = strings.NewReplacer(`surface.air = "10 degC"`, `surface = { air = "air.csv", infiltration = "rain.csv" }`, `water_table = "2 m"`, `water_table = "table.csv"`).
	Replace(taps[:strings.Index(taps, "[[change]]")]) + `power_limit = "30 kW"
outages = "out.csv"
off = "110 d"
[[change]]
at = "10 d"
voltage = "130 V"
power_limit = "40 kW"
current_limit = "200 A"
[[change]]
at = "10 d"
electrode = "B1"
voltage = "100 V"
[[change]]
at = "115 d"
voltage = "90 V"
[[change]]
at = "130 d"
voltage = "90 V"
[[change]]
at = 2026-05-21T06:00:00
electrode = "B1"
on = false
[[change]]
at = 2026-05-21T06:00:00
electrode = "A1"
on = false
[[change]]
at = "30 d"
electrode = "B1"
on = true
current_limit = "50 A"
[[change]]
at = "30 d"
on = true
kva_limit = "90 kVA"
[control]
setpoint = "55 degC"
deadband = "2 K"
follow = "coldest"
[[water_added]]
electrode = "A1"
rate = "0.1 gpm"
from = "20 d"
to = "40 d"
[time]
duration = "120 d"
power_on = 2026-05-01
`

// scheduledFiles are the files that it names: eight outages within the run, the last of which
// the end cuts to 12 h, 12 + 6 + 24 + 5 · 12 = 102 h, and one after.
var scheduledFiles = map[string]string{
	"out.csv":   "from_d,to_d\n5,5.5\n12,12.25\n33,34\n50,50.5\n60,60.5\n61,61.5\n70,70.5\n119.5,121\n125,126\n",
	"air.csv":   "time_d,air_C\n0,10\n60,24\n120,12\n",
	"rain.csv":  "time_d,infiltration_mm_per_d\n0,0\n30,0\n31,5\n",
	"table.csv": "time_d,water_table_m\n0,2\n200,4\n",
}

const scheduledText = `schedule, to day 120, voltages RMS phase to neutral
  day 0 (2026-05-01)            supply on at 120 V, power limit 30 kW
  day 5 (2026-05-06)            outage of 12 h, to day 5.5
  day 10 (2026-05-11)           supply voltage 120 V → 130 V, power limit 30 kW → 40 kW, current limit none → 200 A; electrode B1 voltage 80 V → 100 V
  day 12 (2026-05-13)           outage of 6 h, to day 12.25
  day 20 (2026-05-21)           water added at A1 begins, 0.379 L/min (0.1 gpm) a rod
  day 20.25 (2026-05-21 06:00)  electrodes B1, A1 switched off
  day 30 (2026-05-31)           electrode B1 current limit none → 50 A, switched on; supply kVA limit none → 90 kVA, stays on
  day 33 (2026-06-03)           outage of 24 h, to day 34
  day 40 (2026-06-10)           water added at A1 ends
  day 50 (2026-06-20)           outage of 12 h, to day 50.5
  day 60 (2026-06-30)           outage of 12 h, to day 60.5, and 3 more
  day 110 (2026-08-19)          supply off for good
  day 115 (2026-08-24)          supply voltage 130 V → 90 V: no effect, the supply is off for good
  day 130 (2026-09-08)          supply voltage stays 90 V: no effect, at the end of the run or after it
  outages by out.csv: 8, 102 h in all, 3.54 % of the run, the longest 24 h from day 33; 1 after the end
  setpoint 55 °C (131 °F) ± 2 K (3.6 °F), on the coldest place of zone: off above 57 °C (134.6 °F), on again below 53 °C (127.4 °F)
  surface.air by air.csv: 3 rows, day 0 to 120; 10 °C (50 °F) to 24 °C (75.2 °F) in the run
  surface.infiltration by rain.csv: 3 rows, day 0 to 31; 0 m/d (0 ft/d) to 0.005 m/d (0.0164 ft/d) in the run
  site.water_table by table.csv: 2 rows, day 0 to 200; 2 m (6.562 ft) to 3.2 m (10.5 ft) in the run
`

// scheduleOf returns the schedule of check's JSON.
func scheduleOf(t *testing.T, args ...string) schedule {
	t.Helper()
	var out struct {
		Schedule schedule `json:"schedule"`
	}
	if err := json.Unmarshal([]byte(must(t, done, append([]string{"check", "--json"}, args...)...).out), &out); err != nil {
		t.Fatal(err)
	}
	return out.Schedule
}

// TestScheduleTellsAll: check lists all that changes, in the order of time, from what to what:
// text and JSON of a case with every kind but a meter, by hand; README shows the text.
func TestScheduleTellsAll(t *testing.T) {
	dir := t.TempDir()
	for name, text := range scheduledFiles {
		write(t, dir, name, text)
	}
	path := write(t, dir, "all.toml", scheduled)
	text := must(t, done, "check", path).out
	if !strings.Contains(text, "\n\n"+scheduledText+"\n") {
		t.Errorf("check says\n%s\nwant\n%s", text, scheduledText)
	}
	for _, l := range strings.Split(scheduledText, "\n") {
		if !strings.Contains(read(t, "../../README.md"), l+"\n") {
			t.Errorf("README does not show %q", l)
		}
	}
	s := scheduleOf(t, path)
	if o := s.Outages; o == nil || len(o.Spans) != 8 || o.Beyond != 1 || math.Abs(o.Hours-102) > 1e-9 || math.Abs(o.Share-102.0/2880) > 1e-12 || o.LongestH != 24 || o.LongestDay != 33 ||
		o.Spans[7].From != 119.5 || o.Spans[7].To != 120 || o.Spans[0].Date != "2026-05-06T00:00:00" {
		t.Errorf("the outages are %+v", o)
	}
	if p := s.Setpoint; p == nil || math.Abs(p.SetpointC-55) > 1e-9 || p.DeadbandK != 2 || p.Follow != "coldest" || math.Abs(p.OffAboveC-57) > 1e-9 || math.Abs(p.OnBelowC-53) > 1e-9 {
		t.Errorf("the setpoint is %+v", p)
	}
	if len(s.Courses) != 3 || s.Courses[2].Key != "site.water_table" || math.Abs(s.Courses[2].Most-3.2) > 1e-12 || s.Metered != nil || s.Basis != "phase to neutral" || s.EndDay != 120 {
		t.Errorf("the schedule is %+v", s)
	}
	var said []string
	for _, r := range s.Rows {
		for _, e := range r.Events {
			said = append(said, fmt.Sprintf("%g %s %s/%s %s %v>%v %s%s", r.Day, r.Date[:10], e.Of, e.Name, e.Key, e.From, e.To, e.Unit, r.NoEffect))
		}
	}
	want := []string{"10 2026-05-11 supply/ voltage 120>130 V", "10 2026-05-11 supply/ power_limit 30>40 kW", "10 2026-05-11 supply/ current_limit <nil>>200 A", "10 2026-05-11 electrode/B1 voltage 80>100 V",
		"20 2026-05-21 water_added/A1 rate 0>0.3785411784 L/min", "20.25 2026-05-21 electrode/B1 on true>false ", "20.25 2026-05-21 electrode/A1 on true>false ",
		"30 2026-05-31 electrode/B1 current_limit <nil>>50 A", "30 2026-05-31 electrode/B1 on false>true ", "30 2026-05-31 supply/ kva_limit <nil>>90 kVA", "30 2026-05-31 supply/ on true>true ",
		"40 2026-06-10 water_added/A1 rate 0.3785411784>0 L/min", "110 2026-08-19 supply/ off false>true ",
		"115 2026-08-24 supply/ voltage 130>90 Vthe supply is off for good", "130 2026-09-08 supply/ voltage 90>90 Vat the end of the run or after it"}
	if strings.Join(said, "\n") != strings.Join(want, "\n") {
		t.Errorf("JSON has\n%s\nwant\n%s", strings.Join(said, "\n"), strings.Join(want, "\n"))
	}
	if us := must(t, done, "check", path, "--set", "output.units=us").out; !strings.Contains(us, "off above 134.6 °F (57 °C)") || !strings.Contains(us, "6.562 ft (2 m) to 10.5 ft (3.2 m) in the run") {
		t.Errorf("in US units check says\n%s", us)
	}
}

// TestWaterIsAddedAfterPowerOff: the supply that goes off for good does not stop water that is
// added. check says so, and the run lets in what rate, rods and time come to.
func TestWaterIsAddedAfterPowerOff(t *testing.T) {
	dir := t.TempDir()
	path := write(t, dir, "late.toml", taps[:strings.Index(taps, "[[change]]")]+`off = "1 d"
[[change]]
at = "2 d"
voltage = "90 V"
[[water_added]]
electrode = "A1"
rate = "0.6 L/min"
from = "1 d"
to = "3 d"
[time]
duration = "4 d"
`)
	text := must(t, done, "check", path).out
	for _, want := range []string{" begins, 0.6 L/min (0.159 gpm) a rod\n", "added at A1 ends\n", ": no effect, the supply is off for good\n"} {
		if strings.Count(text, want) != 1 {
			t.Errorf("check does not say %q once:\n%s", want, text)
		}
	}
	out := filepath.Join(dir, "out")
	must(t, done, "run", path, "-o", out, "-q", "--no-figures")
	var summary struct {
		AddedKg float64 `json:"added_kg"`
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &summary); err != nil {
		t.Fatal(err)
	}
	// Five rods, 4 m apart in 20 m; a litre of water of 0 to 30 °C is 0.9956 to 1.0000 kg (IAPWS R7-97).
	litres := 0.6 * 5 * 2 * 1440
	if kg := summary.AddedKg; !(kg >= 0.9956*litres && kg <= litres) {
		t.Errorf("the run lets in %.6g kg; %g L should be", kg, litres)
	}
}

// TestScheduleIsTheRuns: what the rows come to is what the solver is given from each time on,
// by the settings of the case, whose own code makes them otherwise.
func TestScheduleIsTheRuns(t *testing.T) {
	dir := t.TempDir()
	for name, text := range scheduledFiles {
		write(t, dir, name, text)
	}
	path := write(t, dir, "all.toml", scheduled)
	c, err := cases.Load(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	x, _ := c.Expand()
	s := scheduleOf(t, path)
	number := func(v any, scale float64) float64 {
		if v == nil {
			return math.Inf(1)
		}
		return v.(float64) * scale
	}
	looked := 0
	for _, set := range x.Settings() {
		voltage, kW, amps, b1, outage := 120.0, 30e3, math.Inf(1), 80.0, false
		b1on := true
		for _, r := range s.Rows {
			if r.Day*86400 > set.At+1e-6 {
				break
			}
			for _, e := range r.Events {
				switch e.Of + e.Name + e.Key {
				case "supplyvoltage":
					voltage = number(e.To, 1)
				case "supplypower_limit":
					kW = number(e.To, 1e3)
				case "supplycurrent_limit":
					amps = number(e.To, 1)
				case "electrodeB1voltage":
					b1 = number(e.To, 1)
				case "electrodeB1on":
					b1on = e.To.(bool)
				}
			}
		}
		for _, o := range s.Outages.Spans {
			outage = outage || o.From*86400 <= set.At+1e-6 && set.At < o.To*86400-1e-6
		}
		if set.Voltage != voltage || set.PowerLimit != kW || set.CurrentLimit != amps || set.Outage != outage && set.At < 120*86400 || set.Bodies[1].Voltage != b1 || set.Bodies[1].Off == b1on {
			t.Errorf("from day %g on the run has %+v; the schedule %g V, %g W, %g A, outage %v, B1 %g V, on %v", set.At/86400, set, voltage, kW, amps, outage, b1, b1on)
		}
		looked++
	}
	if looked < 18 {
		t.Errorf("%d settings are looked at", looked)
	}
}

// TestScheduleOfAMeter: the metered drive's first and last row, mean, largest, hours at 0 kW
// and gaps, by hand: rows an hour apart of 12 and 24 kW in turn, 0 from hour 100 to 149, and
// none between hours 170 and 210, of which half reaches the electrodes.
func TestScheduleOfAMeter(t *testing.T) {
	dir := t.TempDir()
	rows := "time_h,power_kW\n"
	for h := 0; h <= 240; h++ {
		p := 12 + 12*(h%2)
		if h >= 100 && h < 150 {
			p = 0
		}
		if h <= 170 || h >= 210 {
			rows += fmt.Sprintf("%d,%d\n", h, p)
		}
	}
	write(t, dir, "meter.csv", rows)
	path := write(t, dir, "metered.toml", strings.NewReplacer("current_limit = \"18 A\"\n", "", `duration = "4 d"`, `duration = "10 d"`).Replace(taps))
	args := []string{path, "--set", "supply.metered=meter.csv", "--set", "supply.delivered_share=0.5"}
	// Trapezoids of an hour: 18 each of hours 0 to 99; 12 from 99 (24 kW) to 100 (0); none to 149;
	// 6 to 150 (12 kW); 18 each to 170; a line at 12 kW over 40 h; 18 each from 210 to 240.
	energy := 99*18.0 + 12 + 6 + 20*18 + 40*12 + 30*18
	m := scheduleOf(t, args...).Metered
	if m == nil || m.Rows != 202 || m.From != 0 || m.To != 10 || math.Abs(m.MeanKW-0.5*energy/240) > 1e-9 || m.MaxKW != 12 || math.Abs(m.MaxDay-1.0/24) > 1e-12 || math.Abs(m.NothingH-49) > 1e-9 ||
		m.UsualH != 1 || len(m.Gaps) != 1 || math.Abs(m.Gaps[0].Hours-40) > 1e-9 || math.Abs(m.InGaps-480/energy) > 1e-9 {
		t.Errorf("the meter is %+v, want a mean of %g kW", m, 0.5*energy/240)
	}
	// Off after 72 h: 18 each until then, none at 0.
	if m := scheduleOf(t, append(args, "--set", "supply.off=3 d")...).Metered; math.Abs(m.MeanKW-9) > 1e-9 || m.MaxKW != 12 || m.NothingH != 0 || m.Rows != 202 {
		t.Errorf("off on day 3 the meter is %+v, want a mean of 9 kW", m)
	}
	want := fmt.Sprintf("  day 0  supply on, as metered\n  day 1  electrode B1 switched off\n  day 3  electrode B1 switched on\n  metered by meter.csv: 202 rows, day 0 to 10; at the electrodes mean %.4g kW, at most 12 kW on day 0.04167, delivered share 0.5; at 0 kW for 49 h; rows as a rule 1 h apart, 1 gap: day 7.08333 to 8.75, %.2g %% of the file's energy\n", 0.5*energy/240, 100*480/energy)
	if text := must(t, done, append([]string{"check"}, args...)...).out; !strings.Contains(text, want) {
		t.Errorf("check says\n%s\nwant\n%s", text, want)
	}
}

// TestScheduleIsShort: a case in which nothing changes has one line of it, and one with many
// changes and outages the first, how many more, and the last; JSON has all. What an array is
// changed from is told of each of its electrodes.
func TestScheduleIsShort(t *testing.T) {
	if text := must(t, done, "check", yard).out; !strings.Contains(text, "\nschedule: nothing changes from power-on to the end, day 70\n\n") {
		t.Errorf("check of the paved yard says\n%s", text)
	}
	dir := t.TempDir()
	many := strings.NewReplacer("current_limit = \"18 A\"\n", "", `duration = "4 d"`, `duration = "100 d"`).Replace(taps)
	i := strings.Index(many, "[time]")
	changes := ""
	for d := 4; d < 90; d++ {
		changes += fmt.Sprintf("[[change]]\nat = \"%d d\"\nvoltage = \"%d V\"\n", d, 100+d)
	}
	path := write(t, dir, "many.toml", many[:i]+changes+many[i:])
	text := must(t, done, "check", path).out
	// A line of the start, two of B1's switch, 86 of the voltage: 30 are printed.
	if !strings.Contains(text, "\n  day 30  supply voltage 129 V → 130 V\n  and 59 more, the last on day 89\n") {
		t.Errorf("check of many changes says\n%s", text)
	}
	if n := len(scheduleOf(t, path).Rows); n != 88 {
		t.Errorf("JSON has %d rows of many changes, want 88", n)
	}
	arrays := `[[array]]
name = "W"
pattern = "rectangular"
spacing = "3 m"
top = "5 m"
bottom = "6 m"
radius = "0.1 m"
[[change]]
at = "1 d"
electrode = "W1"
voltage = "60 V"
[[change]]
at = "2 d"
electrode = "W"
voltage = "70 V"
on = false
`
	path = write(t, dir, "array.toml", many[:strings.Index(many, "[[change]]")]+arrays+many[i:])
	text = must(t, done, "check", path).out
	if want := "  day 1  electrode W1 voltage 120 V → 60 V\n  day 2  array W voltage 60 V or 120 V → 70 V, switched off\n"; !strings.Contains(text, want) {
		t.Errorf("check of an array's change says\n%s\nwant\n%s", text, want)
	}
}
