package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestCoolingRunTells: a run whose supply goes off for good says when, and how long the
// target took to cool, the same in summary, tables and the folder's own case.
func TestCoolingRunTells(t *testing.T) {
	type told struct {
		Off       *float64 `json:"power_off_day"`
		Mean40    *float64 `json:"days_off_to_mean_40C"`
		Hottest40 *float64 `json:"days_off_to_hottest_40C"`
		Mean30    *float64 `json:"days_off_to_mean_30C"`
		Hottest30 *float64 `json:"days_off_to_hottest_30C"`
		Held      *float64 `json:"days_to_held"`
		Max       float64  `json:"target_max_C"`
		MeanKW    float64  `json:"power_mean_kW"`
		Energy    float64  `json:"energy_in_kWh"`
	}
	summary := func(dir string) (s told) {
		if err := json.Unmarshal([]byte(read(t, dir, "summary.json")), &s); err != nil {
			t.Fatal(err)
		}
		return s
	}
	dir := t.TempDir()
	out, again := filepath.Join(dir, "out"), filepath.Join(dir, "again")
	text := must(t, done, "run", cell, "-o", out, "--no-figures", "-q", "--set", "mesh.finest=12 in", "--set", "mesh.wall=6 in", "--set", "time.duration=3 yr", "--set", "output.fields_every=100 d",
		"--set", "target[1].temperature=45 degC", "--set", "target[1].hold=2 d", "--set", "supply.off=held").out
	s := summary(out)
	if s.Off == nil || s.Held == nil || math.Abs(*s.Off-*s.Held) > 1e-9 {
		t.Fatalf("summary.json has power off on day %v, and the target held on day %v, want one day:\n%s", s.Off, s.Held, text)
	}
	for _, want := range []string{"Power off for good: day ", "  at or below 40 °C (104 °F): mean ", " d after it, hottest place ", "  at or below 30 °C (86 °F): mean ", "  when cooled ground is sampled or used again, qualified persons decide on site",
		", until power-off", "  - Ground that has cooled is not therefore clean, dry or sound"} {
		if !strings.Contains(text, want) {
			t.Errorf("the summary does not say %q:\n%s", want, text)
		}
	}
	if s.Mean40 == nil || s.Hottest40 == nil || s.Mean30 == nil || s.Hottest30 == nil || !(0 < *s.Mean40 && *s.Mean40 < *s.Hottest40 && *s.Hottest40 < *s.Hottest30 && *s.Mean40 < *s.Mean30) {
		t.Fatalf("the days of cooling are %v %v %v %v", s.Mean40, s.Hottest40, s.Mean30, s.Hottest30)
	}
	// The history's line through each day is at the day's temperature, to its twelve digits.
	days := column(t, out, "history.csv", "time_d")
	for _, c := range []struct {
		name  string
		after float64
		want  float64
	}{{"target_mean_C", *s.Mean40, 40}, {"target_max_C", *s.Hottest40, 40}, {"target_mean_C", *s.Mean30, 30}, {"target_max_C", *s.Hottest30, 30}} {
		temps := column(t, out, "history.csv", c.name)
		at := *s.Off + c.after
		i, _ := slices.BinarySearch(days, at)
		got := temps[i-1] + (temps[i]-temps[i-1])*(at-days[i-1])/(days[i]-days[i-1])
		if math.Abs(got-c.want) > 1e-8 {
			t.Errorf("%s is %.12g on day %.6g, want %g", c.name, got, at, c.want)
		}
	}
	volts, power, high := column(t, out, "history.csv", "voltage_V"), column(t, out, "history.csv", "power_kW"), column(t, out, "history.csv", "target_max_C")
	for i, day := range days {
		if off := day >= *s.Off*(1-1e-9); off != (volts[i] == 0) || off != (power[i] == 0) {
			t.Errorf("on day %.4f the supply is at %g V and %g kW, off on day %.4f", day, volts[i], power[i], *s.Off)
		}
	}
	if got := high[len(high)-1]; math.Abs(got-s.Max) > 1e-9 {
		t.Errorf("target_max_C is %v in summary.json and %v in the history's last row", s.Max, got)
	}
	if want := s.Energy / (*s.Off * 24); math.Abs(s.MeanKW-want) > 1e-9*want {
		t.Errorf("the mean power is %v kW, want the %v kW until power-off", s.MeanKW, want)
	}
	if head := strings.SplitN(read(t, out, "history.csv"), "\n", 2)[0]; !strings.HasSuffix(head, ",target_max_C") {
		t.Errorf("the history's columns are %s, want target_max_C last", head)
	}
	if !strings.Contains(read(t, out, "case.toml"), "off = \"held\"\n") {
		t.Error("the folder's case.toml does not switch off when held")
	}
	must(t, done, "run", filepath.Join(out, "case.toml"), "-o", again, "--no-figures", "-q")
	for _, name := range []string{"case.toml", "history.csv", "summary.json"} {
		if read(t, out, name) != read(t, again, name) {
			t.Errorf("%s differs where the folder's own case is run", name)
		}
	}

	// Too short for any of it; and a case that never goes off tells nothing.
	short := runInto(t, filepath.Join(dir, "short"), cell, "--set", "supply.off=held").out
	if s := summary(filepath.Join(dir, "short")); s.Off != nil || s.Mean40 != nil || !strings.Contains(short, "Power off when silt cell is held: not in 3 d") || !strings.Contains(read(t, dir, "short", "summary.json"), `"power_off_day": null`) {
		t.Errorf("a run too short for power off tells %v %v:\n%s", s.Off, s.Mean40, short)
	}
	early := runInto(t, filepath.Join(dir, "early"), cell, "--set", "supply.off=36 h").out
	if s := summary(filepath.Join(dir, "early")); s.Off == nil || *s.Off != 1.5 || !strings.Contains(early, "Power off for good: day 1.50") || !strings.Contains(early, "not in 1.5 d after it") && s.Hottest30 == nil {
		t.Errorf("a run that goes off on day 1.5 of 3 tells %v:\n%s", s.Off, early)
	}
	never := runInto(t, filepath.Join(dir, "never"), cell).out
	if strings.Contains(never, "ower off") || strings.Contains(read(t, dir, "never", "summary.json"), "power_off") || strings.Contains(never, "cooled") {
		t.Errorf("a run that never goes off tells of it:\n%s", never)
	}
}
