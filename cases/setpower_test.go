package cases

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// pulse holds steady but for half an hour on day 30, in which no step need end.
var pulse = []PowerPoint{{0, 5e3}, {30 * day, 5e3}, {30.02 * day, 100e3}, {30.04 * day, 5e3}, {70 * day, 5e3}}

// TestSetPowerPeaksWhereItsRowsDo: the peak is that of the rows up to the time asked
// for, also within the last row, and of the sum where several bodies are fed. By hand.
func TestSetPowerPeaksWhereItsRowsDo(t *testing.T) {
	if p := (&Case{}).SetPower(); p != nil {
		t.Errorf("a case without bodies has the set power %v, want none", p)
	}
	one := (&Case{Heats: []Heat{{Power: Power{Series: pulse}}}}).SetPower()
	three := (&Case{Heats: []Heat{{Power: Power{Series: pulse}}, {Power: Power{Constant: 2e3}},
		{Power: Power{Series: []PowerPoint{{-day, 0}, {29 * day, 30e3}, {30.03 * day, 0}, {70 * day, 0}}}}}}).SetPower()
	for _, c := range []struct {
		p            *SetPower
		from, to     float64 // [d]
		watts, atDay float64
	}{
		{one, 0, 70, 100e3, 30.02},
		{one, 0, 30, 5e3, 0},
		{one, 0, 30.01, 52.5e3, 30.01},
		{one, 30.03, 40, 52.5e3, 30.03},
		{one, 31, 31, 5e3, 31},
		// The third falls by 30 kW in 1.03 d and stands at 0.01/1.03 of it then.
		{three, 0, 70, 102e3 + 30e3*0.01/1.03, 30.02},
		{three, 0, 29.5, 37e3, 29},
	} {
		watts, at := c.p.Peak(c.from*day, c.to*day)
		// Lines between times of 3e6 s round to 1e-9 of a slope of 55 W/s.
		if math.Abs(watts-c.watts) > 1e-6 || math.Abs(at/day-c.atDay) > 1e-9 {
			t.Errorf("from day %g to %g the set power peaks at %.9g W on day %.9g, want %.9g W on day %.9g", c.from, c.to, watts, at/day, c.watts, c.atDay)
		}
	}
	// 5 kW and 2 kW for 70 d, a triangle of 95 kW over 0.04 d, and from power-on a
	// trapezoid of 1 kW to 30 kW over 29 d with the triangle behind it.
	want := (7e3*70 + 95e3*0.02 + 15.5e3*29 + 15e3*1.03) * day
	if got := three.Energy(0, 70*day); math.Abs(got-want) > 1e-12*want {
		t.Errorf("three bodies give %.15g J in 70 d, want %.15g J", got, want)
	}
	rows := three.Rows(0, 30.03*day)
	var days []float64
	for _, r := range rows {
		days = append(days, r.Time/day)
	}
	for i, want := range []float64{0, 29, 30, 30.02, 30.03} {
		if len(days) != 5 || math.Abs(days[i]-want) > 1e-9 {
			t.Fatalf("the rows of three bodies up to day 30.03 stand on the days %v, want 0, 29, 30, 30.02, 30.03", days)
		}
	}
}

// TestPeakOfAMeteredRecord: the metered power of a heated rod, some eight hundred rows that never
// rest, peaks where its own largest row stands, sought here row by row.
// Source: the record's file.
func TestPeakOfAMeteredRecord(t *testing.T) {
	const folder = "../validation/testdata/field/"
	c, err := Load(folder+"heated-rod.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(folder + "heated-rod.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	most, when := 0.0, 0.0
	for _, row := range rows[1:] {
		s, errS := strconv.ParseFloat(row[0], 64)
		w, errW := strconv.ParseFloat(row[1], 64)
		if rows[0][0] != "time_s" || rows[0][1] != "power_W" || errS != nil || errW != nil {
			t.Fatalf("row %v under %v is not one of seconds and watts", row, rows[0])
		}
		if s <= c.Time.Duration && w > most {
			most, when = w, s
		}
	}
	if watts, at := c.SetPower().Peak(0, c.Time.Duration); watts != most || at != when {
		t.Errorf("the record's power peaks at %v W at %v s, want its largest row, %v W at %v s", watts, at, most, when)
	}
}
