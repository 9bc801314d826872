package figure

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"soiljoule/cases"
)

// TestSetPowerStandsApart: what is set has a panel of its own, by its own rows, so
// that a pulse between two steps is drawn and the supply's power stays below its
// limit; both used to be one line.
func TestSetPowerStandsApart(t *testing.T) {
	n := paved()
	n.c.Heats = []cases.Heat{{Name: "box", Left: 6, Right: 7, Top: 3, Bottom: 4, ThermalConductivity: math.NaN(),
		Power: cases.Power{Series: []cases.PowerPoint{{Time: 0, Power: 5e3}, {Time: 30.1 * day, Power: 5e3}, {Time: 30.12 * day, Power: 100e3}, {Time: 30.14 * day, Power: 5e3}, {Time: 100 * day, Power: 5e3}}}}}
	dir := writeFolder(t, n)
	if _, err := Draw(t.Context(), dir, n.c, Options{Only: []string{"supply"}}); err != nil {
		t.Fatal(err)
	}
	svg, err := os.ReadFile(filepath.Join(dir, "figures", "supply.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{">kW, set<", ">set power<", ">kW<"} {
		if !strings.Contains(string(svg), want) {
			t.Errorf("the figure does not say %s", want)
		}
	}
	f := &folder{dir: dir}
	drawn, err := f.readTable("figures/supply.csv")
	if err != nil {
		t.Fatal(err)
	}
	history, err := f.readTable("history.csv")
	if err != nil {
		t.Fatal(err)
	}
	cols, err := drawn.columns("time_d", "power_kW", "set_power_kW")
	if err != nil {
		t.Fatal(err)
	}
	was, err := history.column("power_kW")
	if err != nil {
		t.Fatal(err)
	}
	var supplied []float64
	for _, v := range cols[1] {
		if !math.IsNaN(v) {
			supplied = append(supplied, v)
		}
	}
	if len(supplied) != len(was) {
		t.Fatalf("supply.csv has %d rows of the supply's power, want the history's %d", len(supplied), len(was))
	}
	for i, v := range was {
		if math.Abs(supplied[i]-v) > 1e-9*math.Abs(v) { // ten digits
			t.Errorf("row %d of the supply's power is %v kW, want the history's %v", i+1, supplied[i], v)
		}
	}
	if at := slices.Index(cols[0], 30.12); at < 0 || cols[2][at] != 100 || slices.Max(cols[2]) != 100 {
		t.Errorf("supply.csv does not hold the pulse of 100 kW on day 30.12, but at most %v kW", slices.Max(cols[2]))
	}
	if !slices.IsSorted(cols[0]) {
		t.Error("the days of supply.csv fall")
	}
}

// TestManyRowsKeepTheirPeaks: of a series with more rows than the page has dots, each
// part of time keeps its least and its largest.
func TestManyRowsKeepTheirPeaks(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var rows []cases.PowerPoint
	const n, end = 200000, 100.0
	for i := range n {
		rows = append(rows, cases.PowerPoint{Time: end * day * float64(i) / (n - 1), Power: 1e3 * rng.ExpFloat64()})
	}
	c := &cases.Case{Heats: []cases.Heat{{Power: cases.Power{Series: rows}}}}
	days, kilowatts := setRows(c.SetPower(), 0, end)
	if len(days) > 4*(mostSet+1) || !slices.IsSorted(days) {
		t.Errorf("%d rows are drawn by %d points, in order %v; want at most %d, in order", n, len(days), slices.IsSorted(days), 4*(mostSet+1))
	}
	extremes := func(days, kilowatts []float64) (low, high [mostSet]float64) {
		for i := range low {
			low[i], high[i] = math.Inf(1), math.Inf(-1)
		}
		for i, d := range days {
			k := min(int(mostSet*d/end), mostSet-1)
			low[k], high[k] = min(low[k], kilowatts[i]), max(high[k], kilowatts[i])
		}
		return low, high
	}
	var allDays, all []float64
	for _, r := range rows {
		allDays, all = append(allDays, r.Time/day), append(all, r.Power/1e3)
	}
	low, high := extremes(days, kilowatts)
	wantLow, wantHigh := extremes(allDays, all)
	if low != wantLow || high != wantHigh {
		t.Error("some part of the time has lost its least or its largest power")
	}
}

// TestSupplyTellsTheBasis: the figure's volts are those to the neutral; a case that gives
// them from phase to phase finds the factor below, √3 with three phases.
func TestSupplyTellsTheBasis(t *testing.T) {
	for _, basis := range []string{"phase to phase", "phase to neutral"} {
		n := paved()
		n.c.Supply.VoltageBasis = basis
		dir := writeFolder(t, n)
		if _, err := Draw(t.Context(), dir, n.c, Options{Only: []string{"supply"}}); err != nil {
			t.Fatal(err)
		}
		svg, err := os.ReadFile(filepath.Join(dir, "figures", "supply.svg"))
		if err != nil {
			t.Fatal(err)
		}
		if has := strings.Contains(string(svg), "1.732 times as many V."); has != (basis == "phase to phase") {
			t.Errorf("%s: the figure tells the factor: %v", basis, has)
		}
	}
}
