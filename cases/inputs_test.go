package cases

import (
	"math"
	"strings"
	"testing"
)

// TestReadInputs: inputs are read with the units, ranges and messages of a case file;
// defaults fill in, and every fault is told at once, of a missing input last.
func TestReadInputs(t *testing.T) {
	inputs := []Input{
		{Name: "depth", Of: OfLength, Unit: "m", Low: 0, High: 100, Word: "none", Meaning: "m"},
		{Name: "share", Of: OfShare, Low: 0, High: 1, Default: "50 %", Meaning: "m"},
		{Name: "count", Of: OfNumber, Low: 0, High: 10, Above: true, Left: "one", Meaning: "m"},
		{Name: "phases", Wholes: []int{3, 6}, Default: "3", Meaning: "m"},
		{Name: "rows", Words: []string{"aligned", "staggered"}, Default: "aligned", Meaning: "m"},
		{Name: "rise", Of: OfTemperature, Unit: "degC", Low: 0, High: 180, Default: "212 degF", Meaning: "m"},
	}
	v, faults := ReadInputs("hand x", inputs, []string{" depth = 7 ft 6 in ", "phases=6"})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for name, want := range map[string]float64{"depth": 2.286, "share": 0.5, "count": nan, "phases": 6, "rise": 373.15} {
		if got := v.Number(name); got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%s reads as %g, want %g", name, got, want)
		}
	}
	if v.Word("rows") != "aligned" || v.Given("rows") || !v.Given("depth") || v.Text("phases") != "6" {
		t.Errorf("rows = %q (given: %v), depth given: %v, phases written %q", v.Word("rows"), v.Given("rows"), v.Given("depth"), v.Text("phases"))
	}
	if v, _ := ReadInputs("hand x", inputs, []string{"depth=none"}); !math.IsInf(v.Number("depth"), 1) {
		t.Errorf("depth=none reads as %g, want +Inf", v.Number("depth"))
	}
	_, faults = ReadInputs("hand x", inputs, []string{"share=50", "count=0", "phases=3.0", "rows=both", "rise=200 degC", "rise=1 degC", "depht=1 m"})
	want := []string{
		"hand x: share = 50: must be between 0 and 1 (a fraction; 50 % is 0.5)",
		"hand x: count = 0: must be > 0",
		"hand x: phases = 3.0: must be 3 or 6",
		`hand x: rows = both: must be "aligned" or "staggered"`,
		"hand x: rise = 200 degC: must be between 0 and 180 degC",
		"hand x: rise = 1 degC: is given twice",
		"hand x: depht: unknown input; nearest is depth; inputs are depth, share, count, phases, rows, rise",
		`hand x: depth: is missing; must be a length with its unit, such as "12 ft" or "12 m", or "none"`,
	}
	if got := faults.Error(); got != strings.Join(want, "\n") {
		t.Errorf("the faults are\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
	for _, q := range []Quantity{OfNumber, OfShare, OfLength, OfArea, OfVolume, OfTemperature, OfTime, OfPower, OfPowerDensity, OfVoltage, OfResistivity,
		OfConductivity, OfHeatCapacity, OfInsulation, OfFilm, OfWaterFlux, OfFlow, OfPressure, OfPerKelvin} {
		if q != OfNumber && q != OfShare && q.dimension() == nil {
			t.Errorf("%s is no dimension", q)
		}
		in := Input{Name: "x", Of: q, Low: 0, High: 1e9}
		if d := q.dimension(); d != nil {
			in.Unit = d.units[0].name
		}
		if v, faults := ReadInputs("hand x", []Input{in}, []string{"x=" + q.Text(1.0/3)}); len(faults) > 0 || v.Number("x") != 1.0/3 {
			t.Errorf("%s: what Text writes, %q, reads as %g, %v", q, q.Text(1.0/3), v.Number("x"), faults)
		}
	}
}
