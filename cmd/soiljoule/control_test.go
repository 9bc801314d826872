package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestControlledRunTells: a run with a limit of apparent power, an outage and a thermostat
// says in summary, tables and figure what held it, and its folder's case runs again to the
// same bytes.
func TestControlledRunTells(t *testing.T) {
	dir := t.TempDir()
	file := write(t, dir, "down.csv", "from_h,to_h\n3,6\n")
	out, again := filepath.Join(dir, "out"), filepath.Join(dir, "again")
	sets := []string{"--set", "supply.kva_limit=100 kVA", "--set", "supply.outages=" + file,
		"--set", "control.setpoint=15 degC", "--set", "control.deadband=0.5 K", "--set", "control.follow=wall"}
	text := runInto(t, out, cell, sets...).out
	for _, want := range []string{"limits 100 kVA", "apparent 100 kVA cold, at most 100 kVA on day 0.0", "setpoint 15 °C (59 °F) ± 0.5 K (0.9 °F), on wall: first reached on day ", "times\n  on for ", "held back by the kVA limit first on day 0.0"} {
		if !strings.Contains(text, want) {
			t.Errorf("the summary does not say %q:\n%s", want, text)
		}
	}
	var s struct {
		Switches *int     `json:"setpoint_switches"`
		On       float64  `json:"share_of_time_on"`
		Reached  *float64 `json:"days_to_setpoint"`
		First    float64  `json:"apparent_first_kVA"`
		Max      float64  `json:"apparent_max_kVA"`
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	if s.Switches == nil || *s.Switches < 2 || s.Reached == nil || !(*s.Reached > 0 && *s.Reached < 3) || !(s.On > 0.05 && s.On < 0.95) {
		t.Errorf("summary.json has %+v: want two switches or more, a day and a share of time", s)
	}
	// The history has twelve digits.
	kVA, volts := column(t, out, "history.csv", "apparent_kVA"), column(t, out, "history.csv", "voltage_V")
	if got := slices.Max(kVA); math.Abs(got-100) > 1e-9 || math.Abs(s.First-100) > 1e-9 || math.Abs(s.Max-100) > 1e-9 {
		t.Errorf("the apparent power is at most %v kVA in the history, %v kVA first and %v kVA at most in the summary, want 100", got, s.First, s.Max)
	}
	days, on := column(t, out, "history.csv", "time_d"), 0.0
	for i := 1; i < len(days); i++ {
		if volts[i-1] > 0 {
			on += days[i] - days[i-1]
		}
	}
	if math.Abs(on/3-s.On) > 1e-9 {
		t.Errorf("the supply is on for %v of the time, the history says %v", s.On, on/3)
	}
	held := map[string]int{}
	for _, row := range strings.Split(strings.TrimSpace(read(t, out, "electrodes.csv")), "\n")[1:] {
		held[row[strings.LastIndexByte(row, ',')+1:]]++
	}
	for _, by := range []string{"kva", "setpoint", "outage"} {
		if held[by] == 0 {
			t.Errorf("no row of electrodes.csv is limited by %s: %v", by, held)
		}
	}
	if got := read(t, out, "outages.csv"); got != read(t, file) {
		t.Errorf("the folder's outages.csv is %q", got)
	}
	must(t, done, "run", filepath.Join(out, "case.toml"), "-o", again, "--no-figures", "-q")
	for _, name := range []string{"case.toml", "history.csv", "electrodes.csv", "outages.csv", "summary.txt"} {
		if read(t, out, name) != read(t, again, name) {
			t.Errorf("%s differs where the folder's own case is run", name)
		}
	}
	must(t, done, "figures", out, "--only", "supply")
	svg := read(t, out, "figures", "supply.svg")
	for _, want := range []string{">kVA<", ">kVA limit<", ">setpoint<", ">outage<", ">limit 100<"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the figure does not say %s", want)
		}
	}
}

// TestMeteredRunTells: a run that follows a meter has the meter's energy and largest power
// to the digits of its tables, names the voltage that this needs, cautions where it is
// more than is set, and runs again from its folder.
func TestMeteredRunTells(t *testing.T) {
	dir := t.TempDir()
	rows := "time_h,power_kW\n"
	energy := 0.0
	for i := range 72*12 + 1 {
		p := 120 + 60*math.Sin(float64(i)/40)
		rows += fmt.Sprintf("%.10g,%.6f\n", float64(i)/12, p)
		w := 1.0 / 12
		if i == 0 || i == 72*12 {
			w /= 2
		}
		energy += p * w
	}
	file := write(t, dir, "meter.csv", rows)
	out, again := filepath.Join(dir, "out"), filepath.Join(dir, "again")
	text := runInto(t, out, cell, "--set", "supply.metered="+file, "--set", "supply.delivered_share=90 %", "--set", "supply.power_limit=100 kW", "--set", "supply.voltage=20 V").out
	for _, want := range []string{"metered  power of supply.metered, delivered share 0.9: needs at most ", "supply.voltage is ", "of one rod), as metered: no limit applied of 100 kW\n", "asks of the supply more than its set voltage, first on day 0.00", "asks of the supply more than its power limit, first on day 0.00"} {
		if !strings.Contains(text, want) {
			t.Errorf("the summary does not say %q:\n%s", want, text)
		}
	}
	var s struct {
		Energy float64 `json:"energy_in_kWh"`
		Max    float64 `json:"power_max_kW"`
		Volts  float64 `json:"metered_voltage_max_V"`
	}
	if err := json.Unmarshal([]byte(read(t, out, "summary.json")), &s); err != nil {
		t.Fatal(err)
	}
	// The rows are written to 1e-6 kW of 120: their sum to 1e-8 at worst, by chance less.
	if want := 0.9 * energy; math.Abs(s.Energy-want) > 1e-8*want || math.Abs(s.Max-0.9*180) > 0.01 || !(s.Volts > 20) {
		t.Errorf("summary.json has %.12g kWh, at most %v kW and %v V; want %.12g kWh, 162 kW and more than 20 V", s.Energy, s.Max, s.Volts, want)
	}
	must(t, done, "run", filepath.Join(out, "case.toml"), "-o", again, "--no-figures", "-q")
	if read(t, out, "metered.csv") != rows || read(t, out, "history.csv") != read(t, again, "history.csv") {
		t.Error("the folder's own case does not run to the same history, or its metered.csv is not the file that was read")
	}
	must(t, done, "figures", out, "--only", "supply")
	svg := read(t, out, "figures", "supply.svg")
	for _, want := range []string{">metered<", "metered in grey"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the figure does not say %s", want)
		}
	}
}
