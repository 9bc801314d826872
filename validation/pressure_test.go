//dossier:chapter Boiling

package validation

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"soiljoule/cases"
	"soiljoule/materials"
)

// TestVacuumAndWaterTableSetTheBoilingPoint: a case whose vacuum and water table, given
// as numbers or on a day of their files, leave the pressure of a depth below an open water
// table boils as there.
// Source: IAPWS R7-97(2012) region 4, by testdata/boiling_depth.csv; hydrostatics.
func TestVacuumAndWaterTableSetTheBoilingPoint(t *testing.T) {
	f, err := os.Open("testdata/boiling_depth.csv")
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
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	const (
		table  = 3.0  // [m]
		vacuum = 16.9 // [kPa] 5 inHg are 16.93
	)
	more := vacuum * 1e3 / (materials.RhoWater * materials.Gravity) // [m] of water that make up for it
	for _, row := range rows[1:] {
		d, err1 := strconv.ParseFloat(row[0], 64)
		want, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		middle := table + d + more
		text := func(table, vacuum string) string {
			return fmt.Sprintf(`title = "Slab"
view = "plan"
site = { ambient = "10 degC", water_table = "%s" }
extent = { top = "%.12g m", bottom = "%.12g m" }
surface.air = "8 degC"
steam.vacuum = "%s"
time.duration = "20 d"
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.2 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
center = ["0 m", "0 m"]
radius = "3 m"
temperature = "60 degC"
[[heat]]
name = "block"
center = ["0 m", "0 m"]
radius = "3 m"
power = "2 kW"
`, table, middle-0.5, middle+0.5, vacuum)
		}
		// On day 10 the files' lines are where the numbers are; water in feet, vacuum in inches
		// of mercury.
		write("table.csv", fmt.Sprintf("time_d,water_table_ft\n0,0\n20,%.12g\n", 2*table/0.3048))
		write("vacuum.csv", fmt.Sprintf("time_d,vacuum_inHg\n5,0\n15,%.12g\n", 2*vacuum*1e3/3386.389))
		for name, c := range map[string]struct {
			text string
			at   float64
		}{
			"numbers": {text(fmt.Sprintf("%.12g m", table), fmt.Sprintf("%.12g kPa", vacuum)), 0},
			"files":   {text("table.csv", "vacuum.csv"), 10 * 86400},
		} {
			loaded, err := cases.Load(write("case.toml", c.text), nil)
			if err != nil {
				t.Fatal(err)
			}
			p, err := loaded.Build()
			if err != nil {
				t.Fatal(err)
			}
			p.Ground.Begin(c.at)
			// Half a unit of the table's last digit, and 1e-6 K for the digits written.
			if got := p.Ground.BoilingPoint(0) - materials.Celsius; !(math.Abs(got-want) <= 5.1e-4) {
				t.Errorf("%s: %.4f m below a water table at %g m under %g kPa of vacuum it boils at %.5f °C, want %.3f within half its last digit", name, d+more, table, vacuum, got, want)
			}
			if got := loaded.BoilingPoint(middle, c.at); !(math.Abs(got-p.Ground.BoilingPoint(0)) <= 1e-9) { // rounding of the depth
				t.Errorf("%s: the case tells %.9g K, the ground has %.9g K", name, got, p.Ground.BoilingPoint(0))
			}
		}
	}
}
