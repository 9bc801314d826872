package figure

import (
	"fmt"
	"strings"
	"testing"

	"soiljoule/cases"
)

// TestHeldBy: the bars are the spans of days in which a name stands in limited_by, of any
// electrode; spans that meet are one, and no name is lost, also one that is not known; off
// is all electrodes, else some. By hand.
func TestHeldBy(t *testing.T) {
	dir := t.TempDir()
	rows := "time_d,electrode,phase,voltage_V,current_A,power_kW,limited_by\n"
	for _, r := range []string{"0,E1:outage", "0,E2:outage", "1,E1:", "1,E2:current", "2,E1:power", "2,E2:current", "3,E1:power", "3,E2:", "4,E1:other", "4,E2:", "6,E1:outage", "7,E1:off", "7,E2:off", "7,pipe:", "8,E1:off", "8,E2:", "9,E1:"} {
		at, by, _ := strings.Cut(r, ":")
		rows += at + "," + map[bool]string{true: "-", false: "A"}[strings.Contains(at, "pipe")] + ",1,1,1," + by + "\n"
	}
	writeFile(t, dir, "electrodes.csv", []byte(rows))
	h, err := (&folder{dir: dir}).heldBy()
	if err != nil {
		t.Fatal(err)
	}
	want := "[{power kW limit [[2 4]]} {current A limit [[1 3]]} {outage outage [[0 1] [6 7]]} {off off [[7 8]]} {some off some off [[8 9]]} {other other [[4 6]]}]"
	if got := fmt.Sprint(h.bars); got != want {
		t.Errorf("the bars are\n%s\nwant\n%s", got, want)
	}
	if h, err := (&folder{dir: t.TempDir()}).heldBy(); err != nil || h.height() != 0 {
		t.Errorf("a folder without the table has bars %v, error %v", h, err)
	}
	for _, bad := range []string{"", "time_d,x\n0,1\n", "time_d,limited_by\nx,off\n"} {
		writeFile(t, dir, "electrodes.csv", []byte(bad))
		if _, err := (&folder{dir: dir}).heldBy(); err == nil || !strings.Contains(err.Error(), "electrodes.csv") {
			t.Errorf("of a table %q the error is %v, want one that names it", bad, err)
		}
	}
}

// TestHeldByPartOff: an electrode that is off while others are on is not the supply's being
// off, nor is metal, which is never switched, a sign that it is on; by hand.
func TestHeldByPartOff(t *testing.T) {
	dir := t.TempDir()
	rows := "time_d,electrode,phase,voltage_V,current_A,power_kW,limited_by\n" +
		"0,E1,A,1,1,1,off\n0,E2,B,1,1,1,\n0,pipe,-,1,0,0,\n" +
		"1,E1,A,1,1,1,off\n1,E2,B,1,1,1,power\n1,pipe,-,1,0,0,\n" +
		"3,E1,A,1,1,1,off\n3,E2,B,1,1,1,off\n3,pipe,-,1,0,0,\n" +
		"4,E1,A,1,1,1,\n4,E2,B,1,1,1,\n4,pipe,-,1,0,0,\n"
	writeFile(t, dir, "electrodes.csv", []byte(rows))
	h, err := (&folder{dir: dir}).heldBy()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(h.bars), "[{power kW limit [[1 3]]} {off off [[3 4]]} {some off some off [[0 3]]}]"; got != want {
		t.Errorf("the bars are\n%s\nwant\n%s", got, want)
	}
}

// TestSwitchedCurves: where the supply goes off or on, and where a setting begins, as here
// on day 5 and a third, the curves fall and rise at once; by hand.
func TestSwitchedCurves(t *testing.T) {
	third := 5.33333333333 // as the history has it
	days := []float64{0, 1, 2, 3, 4, third, 6}
	curves := []load{{x: days, y: []float64{9, 8, 0, 0, 7, 4, 5}}, {x: days, y: []float64{3, 3, 0, 0, 3, 2, 2}}}
	switched(curves, &plan{days: []float64{0, 16. / 3}}, nil)
	if got, want := fmt.Sprint(curves[0].x, curves[0].y), fmt.Sprintf("[0 1 2 2 3 4 4 %[1]v %[1]v 6] [9 8 8 0 0 0 7 7 4 5]", third); got != want {
		t.Errorf("the curve is %s, want %s", got, want)
	}
}

// TestSwitchedElectrodeUnderAMeter: where a [[change]] switches one electrode while a metered
// power is followed, voltage, current and apparent power jump at once and the power keeps the
// meter's slope; where the supply goes off although the meter goes on, all fall at once, and
// where the meter itself goes to nothing none does. By hand.
func TestSwitchedElectrodeUnderAMeter(t *testing.T) {
	days := []float64{0, 1, 2, 3, 4, 5}
	c := &cases.Case{Electrodes: []cases.Electrode{{Name: "E1"}, {Name: "E2"}}}
	off, volts := false, 50.0
	c.Changes = []cases.Change{{At: 2 * day, Electrode: "E2", On: &off}, {At: 3 * day, Voltage: &volts}}
	settings, err := planned(c, days)
	if err != nil {
		t.Fatal(err)
	}
	draw := func(metered []float64, volts ...float64) []load {
		curves := []load{{name: "power_kW", x: days, y: metered}, {name: "voltage_V", x: days, y: volts}, {name: "current_max_A", x: days, y: volts}}
		switched(curves, settings, metered)
		return curves
	}
	const rises = "[0 1 2 2 3 4 5] [9 8 8 6 5 4 3]"
	got := draw([]float64{1, 2, 3, 4, 5, 6}, 9, 8, 6, 5, 4, 3)
	for i, want := range []string{"[0 1 2 3 4 5] [1 2 3 4 5 6]", rises, rises} {
		if now := fmt.Sprint(got[i].x, got[i].y); now != want {
			t.Errorf("%s with E2 switched off on day 2 is %s, want %s", got[i].name, now, want)
		}
	}
	if got, want := fmt.Sprint(draw([]float64{1, 2, 3, 4, 5, 6}, 9, 8, 6, 5, 0, 0)[1].y), "[9 8 8 6 5 5 0 0]"; got != want {
		t.Errorf("the voltage of a supply that goes off for good on day 4 is %s, want %s", got, want)
	}
	if got, want := fmt.Sprint(draw([]float64{1, 2, 3, 4, 0, 0}, 9, 8, 6, 5, 0, 0)[1].y), "[9 8 8 6 5 0 0]"; got != want {
		t.Errorf("the voltage while the meter goes to 0 until day 4 is %s, want %s", got, want)
	}
}
