package figure

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// cooling is an invented run whose supply goes off for the reason given after day 40, and
// whose target then cools from 100 °C by half every 20 days, its hottest place from 110.
func cooling(t *testing.T, reason string) (string, invented) {
	n := paved()
	dir := writeFolder(t, n)
	history := "time_d,power_kW,voltage_V,current_max_A,target_mean_C,target_min_C,share_at_target,energy_in_kWh,target_max_C\n"
	electrodes := "time_d,electrode,phase,voltage_V,current_A,power_kW,limited_by\n"
	sensors := "time_d"
	for _, s := range n.c.Sensors {
		sensors += "," + strings.Join(s.Labels, "_C,") + "_C"
	}
	columns := strings.Count(sensors, ",")
	sensors += "\n"
	for d := 0.0; d <= 100; d += 0.5 {
		power, by, left := 100.0, "power", 1.0
		if d >= 40 {
			power, by, left = 0, reason, math.Exp2(-(d-40)/20)
		}
		history += fmt.Sprintf("%g,%g,100,5,%g,20,0.5,1,%g\n", d, power, 100*left, 110*left)
		electrodes += fmt.Sprintf("%g,E1,A,100,5,%g,%s\n%g,E2,B,0,0,0,off\n", d, power, by, d)
		sensors += fmt.Sprint(d) + strings.Repeat(fmt.Sprintf(",%g", 90*left), columns) + "\n"
	}
	writeFile(t, dir, "history.csv", []byte(history))
	writeFile(t, dir, "electrodes.csv", []byte(electrodes))
	writeFile(t, dir, "sensors.csv", []byte(sensors))
	return dir, n
}

// TestCoolCountsFromPowerOff: the days until 40 and 30 °C are those of the decay, and the
// table begins as the supply goes off.
func TestCoolCountsFromPowerOff(t *testing.T) {
	dir, n := cooling(t, "off")
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"cool"}, Units: "us"}); err != nil {
		t.Fatal(err)
	}
	svg, err := os.ReadFile(filepath.Join(dir, "figures", "cool.svg"))
	if err != nil {
		t.Fatal(err)
	}
	// 20·log₂(100/40) = 26.44 d and 29.19 d from 110 °C, 34.74 and 37.49 d for 30 °C. A line
	// through the two rows about a crossing, Δ = 0.5 d apart on a decay of rate k = ln 2/20, is
	// late by at most kΔ²/8 = 0.001 d.
	for _, want := range []string{"off on day 40, to day 100", "104 °F (40 °C): mean after 26.4 d, hottest after 29.2 d.", "86 °F (30 °C): mean after 34.7 d, hottest after 37.5 d.", "Not drawn: 7 more sensors."} {
		if !strings.Contains(string(svg), want) {
			t.Errorf("cool.svg does not say %q", want)
		}
	}
	// Each level has its name at its line, whatever the curves leave free.
	for _, level := range []string{">104 °F (40 °C)<", ">86 °F (30 °C)<"} {
		if !strings.Contains(string(svg), level) {
			t.Errorf("cool.svg does not name the line of %s", level)
		}
	}
	tab, err := (&folder{dir: dir, c: n.c}).readTable("figures/cool.csv")
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(tab.names[:4], ","); got != "days_off,target_mean_C,target_max_C,T1@4ft_C" || len(tab.names) != 3+mostCooling || tab.cols[0][0] != 0 || tab.cols[1][0] != 100 {
		t.Errorf("cool.csv has the columns %v, its first row day %g at %g °C; want days from power-off, the first 0 at 100 °C", tab.names, tab.cols[0][0], tab.cols[1][0])
	}
}

// TestCoolOnlyWhereOffForGood: what a thermostat or an outage switches off may come on
// again, and electrodes that are off by themselves do not make it otherwise.
func TestCoolOnlyWhereOffForGood(t *testing.T) {
	for _, reason := range []string{"setpoint", "outage"} {
		dir, n := cooling(t, reason)
		if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"cool"}}); !errors.Is(err, errNothing) {
			t.Errorf("off by %s at the end: %v, want nothing to draw", reason, err)
		}
	}
}

// TestCooled: the last crossing counts, as a seasonal swing may warm the ground again.
func TestCooled(t *testing.T) {
	days := []float64{0, 10, 20, 30, 40}
	for _, c := range []struct {
		v    []float64
		want float64
	}{
		{[]float64{50, 40, 30, 20, 10}, 10},
		{[]float64{50, 30, 20, 10, 10}, 5},
		{[]float64{50, 30, 45, 35, 30}, 25},
		{[]float64{30, 20, 20, 20, 20}, 0},
		{[]float64{80, 70, 60, 50, 41}, math.NaN()},
		{[]float64{80, 70, 60, 30, 41}, math.NaN()},
	} {
		if got := cooled(days, c.v, 40); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%v °C over %v d stay at or below 40 °C from day %g, want %g", c.v, days, got, c.want)
		}
	}
}
