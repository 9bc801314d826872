package cases

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"soiljoule/materials"
)

// TestPressureKeepsItsFiles: a case holds the bytes of the files of water table and
// vacuum, and reads them straight between rows and level beyond.
func TestPressureKeepsItsFiles(t *testing.T) {
	dir := t.TempDir()
	table, vacuum := "time_d,water_table_m\r\n10,2\n20,4", "# invented\ntime_d,vacuum_inHg\n0,0\n4,5\n"
	text := strings.Replace(wiredSection, `water_table = "2 m"`, `water_table = "levels.csv"`, 1) + "[steam]\nvacuum = \"blower.csv\"\n"
	for name, data := range map[string]string{"levels.csv": table, "blower.csv": vacuum, "case.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Load(filepath.Join(dir, "case.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if string(c.Site.Table.Text) != table || string(c.Steam.VacuumCourse.Text) != vacuum {
		t.Errorf("the files are kept as %q and %q", c.Site.Table.Text, c.Steam.VacuumCourse.Text)
	}
	for _, at := range []struct{ day, table, vacuum float64 }{{-3, 2, 0}, {0, 2, 0}, {1, 2, 1.25}, {10, 2, 5}, {15, 3, 5}, {20, 4, 5}, {99, 4, 5}} {
		if got := c.TableAt(at.day * day); math.Abs(got-at.table) > 1e-12 {
			t.Errorf("day %g: the water table is %.15g m deep, want %g", at.day, got, at.table)
		}
		if got := c.VacuumAt(at.day * day); math.Abs(got-at.vacuum*InchOfHg) > 5e-3 {
			t.Errorf("day %g: the vacuum is %.9g Pa, want %.9g", at.day, got, at.vacuum*InchOfHg)
		}
	}
	if least, leastAt, most, mostAt := c.TableRange(); least != 2 || leastAt != 0 || most != 4 || mostAt != 20*day {
		t.Errorf("the table is between %g m at %g s and %g m at %g s, want 2 m at first, 4 m on day 20", least, leastAt, most, mostAt)
	}
}

// TestStepsFollowThePressure: steps end where water table and vacuum turn within the run,
// and so often between that the pressure changes by no more than 2 kPa; a constant one
// asks for none, nor does one that turns too often, of which a caution tells.
func TestStepsFollowThePressure(t *testing.T) {
	if ends := builtFrom(t, wiredSection, "steam.vacuum=9 kPa").Turns; len(ends) > 0 {
		t.Errorf("a constant vacuum ends steps at %v", ends)
	}
	c := mustParse(t, wiredSection, "site.water_table=water-table.csv", "steam.vacuum=vacuum.csv")
	ends := c.stepEnds()
	for _, want := range []float64{2 * day, 3 * day, 4 * day, 14 * day} {
		if !slices.Contains(ends, want) {
			t.Errorf("no step ends on day %g: %v", want/day, ends)
		}
	}
	from := 0.0
	for _, to := range append(ends, c.Time.Duration) {
		change := math.Abs(c.VacuumAt(to)-c.VacuumAt(from)) + materials.RhoWater*materials.Gravity*math.Abs(c.TableAt(to)-c.TableAt(from))
		if !(to > from) || change > 2000*(1+1e-6) {
			t.Errorf("between %g and %g s the pressure changes by %g Pa, want at most 2000 in time that goes on", from, to, change)
		}
		from = to
	}
	// 9.96 kPa until day 2 and 19.6 kPa of water until day 14: five parts and ten, and day 3.
	if len(ends) != 5+1+1+10 {
		t.Errorf("%d times end steps, want 17: %v", len(ends), ends)
	}
	for i := range 1500 {
		c.Steam.VacuumCourse.Series = append(c.Steam.VacuumCourse.Series, CoursePoint{3*day + float64(i+1), float64(i%2) * 5000})
	}
	if ends := c.stepEnds(); ends != nil || !strings.Contains(strings.Join(c.pressureCautions(), "\n"), "too often for steps to follow") {
		t.Errorf("a vacuum that goes up and down 1500 times ends %d steps, want none and a caution", len(ends))
	}
}

// TestALongerRunBeginsAlike: a run that ends sooner has the rows of the mesh and, until its
// end, the ends of steps of one that goes on past more rows of the water table: either may
// go on from where the other has come to.
func TestALongerRunBeginsAlike(t *testing.T) {
	sets := []string{"site.water_table=water-table.csv", "steam.vacuum=vacuum.csv", "target.zone.bottom=3.7 m", "domain.bottom=9 m"}
	long := builtFrom(t, wiredSection, append(sets, "time.duration=20 d")...)
	for _, days := range []float64{2.5, 9} {
		short := builtFrom(t, wiredSection, append(sets, fmt.Sprintf("time.duration=%g d", days))...)
		if !slices.Equal(short.Ground.Grid.Z, long.Ground.Grid.Z) {
			t.Errorf("rows of a run of %g d end at\n%v, of 20 d at\n%v", days, short.Ground.Grid.Z, long.Ground.Grid.Z)
		}
		n, _ := slices.BinarySearch(long.Turns, days*day)
		if !slices.Equal(short.Turns, long.Turns[:n]) || n == 0 {
			t.Errorf("steps of a run of %g d end at\n%v, of 20 d at\n%v", days, short.Turns, long.Turns)
		}
	}
}

// TestTheMeshHasTheWaterTables: rows meet at the water table of the start, the highest
// and the deepest.
func TestTheMeshHasTheWaterTables(t *testing.T) {
	g := builtFrom(t, wiredSection, "site.water_table=water-table.csv", "target.zone.bottom=3.7 m").Ground.Grid
	for _, want := range []float64{2, 4} {
		if !slices.ContainsFunc(g.Z, func(z float64) bool { return math.Abs(z-want) < 1e-9 }) {
			t.Errorf("no row ends at %g m: %v", want, g.Z)
		}
	}
}

// TestPressureOutsideTheTables: ground so deep that its water, at any time of the run,
// would be beyond the critical point is refused before it runs.
// Source: 22.064 MPa (IAPWS), less 0.1 of the air: 2243 m of water at 998.2 kg/m³.
func TestPressureOutsideTheTables(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "up.csv"), []byte("time_d,water_table_m\n0,1000\n10,0\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	build := func(table, bottom string) error {
		c, err := Parse("deep.toml", []byte(wiredSection), dir, []string{"site.water_table=" + table, "domain.bottom=" + bottom})
		if err != nil {
			t.Fatal(err)
		}
		_, err = c.Build()
		return err
	}
	if err := build("1000 m", "2500 m"); err != nil {
		t.Errorf("under 1500 m of water: %v", err)
	}
	if err := build("up.csv", "2500 m"); err == nil || !strings.Contains(err.Error(), "on day 10") {
		t.Errorf("under 2500 m of water on day 10: %v, want a refusal that names the day", err)
	}
}

// TestPressureAllocatesNothing: a step of a section and of a plan whose water table and
// vacuum change takes no memory for it.
func TestPressureAllocatesNothing(t *testing.T) {
	for name, base := range map[string]string{"section": wiredSection, "plan": wiredPlan} {
		p := builtFrom(t, base, "site.water_table=water-table.csv", "steam.vacuum=vacuum.csv")
		n := testing.AllocsPerRun(10, func() {
			p.Ground.Begin(5 * day)
			p.Ground.At(5.5 * day)
			if c := p.Heat.Columns; c != nil {
				c.Begin(5 * day)
			}
		})
		if n > 0 {
			t.Errorf("%s: %g allocations, want none", name, n)
		}
	}
}
