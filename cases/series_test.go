package cases

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestSeriesKeepTheirFiles: a case holds the bytes of the files that it named as
// they were read, whatever becomes of the files.
func TestSeriesKeepTheirFiles(t *testing.T) {
	dir := t.TempDir()
	// No line ends as the program writes it, nor does the last.
	air, power := "# invented\r\ntime_d,air_C\r\n0,4\r\n90,7", "time_h,power_kW\n0,1\n\n9000,2\n"
	text := strings.NewReplacer(`"12 degC"`, `"air.csv"`, `"power.csv"`, `"drum.csv"`).Replace(heated)
	for name, data := range map[string]string{"air.csv": air, "drum.csv": power, "case.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Load(filepath.Join(dir, "case.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, is := range map[string]struct{ got, want string }{"air": {string(c.Surface.Air.Text), air}, "power": {string(c.Heats[0].Power.Text), power}} {
		if is.got != is.want {
			t.Errorf("the case's file of %s is kept as %q, want %q", name, is.got, is.want)
		}
	}
}

// TestSeriesAreReadWhole: a file of as many bytes as may be read is read to its last
// row, whatever its lines end with; one of a byte more is refused, never cut.
func TestSeriesAreReadWhole(t *testing.T) {
	for _, end := range []string{"\n", "\r\n"} {
		for _, last := range []string{"", end} {
			rows := []string{"time_h,power_kW"}
			for i := range 200 {
				rows = append(rows, strconv.Itoa(i)+",1")
			}
			text := strings.Join(rows, end) + last
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, "power.csv"), []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
			for _, short := range []int{0, 1, 2, 3, 100} {
				l := &loader{dir: dir, c: &Case{}, forSeries: len(text) - short}
				series, kept := readSeries(input{l: l, key: findKey("heat.power")}, "power.csv", powerSeries)
				if short == 0 {
					if len(l.faults) > 0 || len(series) != 200 || string(kept) != text {
						t.Errorf("lines end with %q, the last with %q: of %d bytes, the most, %d are kept, of 200 rows %d, with the faults %v", end, last, len(text), len(kept), len(series), l.faults)
					}
					if l.forSeries != 0 {
						t.Errorf("after %d of %d bytes were read %d are left, want none", len(text), len(text), l.forSeries)
					}
				} else if len(l.faults) != 1 || !strings.Contains(l.faults[0].Allowed, "is larger than") {
					t.Errorf("lines end with %q, the last with %q: a file %d bytes too large gives the faults %v, want one of its size", end, last, short, l.faults)
				}
			}
		}
	}
}

// TestSeriesShareTheirBound: the files of a case are bounded together.
func TestSeriesShareTheirBound(t *testing.T) {
	dir := t.TempDir()
	text := "time_h,power_kW\r\n0,1\r\n1,2\r\n"
	if err := os.WriteFile(filepath.Join(dir, "power.csv"), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	l := &loader{dir: dir, c: &Case{}, forSeries: 2*len(text) + 1}
	in := input{l: l, key: findKey("heat.power")}
	for i := range 5 {
		readSeries(in, "power.csv", powerSeries)
		if want := max(0, i-1); len(l.faults) != want {
			t.Fatalf("after %d readings of a file, where two may be read, there are %d faults (%v), want %d", i+1, len(l.faults), l.faults, want)
		}
	}
}

// TestSeriesByDate: a column of dates says what one of days since power-on says, in every kind
// of series, however a date is written; beside times, as in a history, dates say nothing.
func TestSeriesByDate(t *testing.T) {
	dir := t.TempDir()
	// Power-on is 2026-05-01 at 06:00; 36 h later is the evening of the next day (own count).
	byDate := []string{"2026-05-01", "2026-05-01T12:00", "2026-05-01 12:30:00", "2026-05-02T18:00:00", "2026-06-01T06:00:00.5"}
	hours := []float64{-6, 6, 6.5, 36, 31*24 + 0.5/3600}
	for path, of := range map[string]struct {
		kind   seriesKind
		column string
		value  func(i int) string
	}{
		"surface.air":          {airSeries, "air_C", strconv.Itoa},
		"surface.infiltration": {rainSeries, "infiltration_mm_per_d", strconv.Itoa},
		"heat.power":           {powerSeries, "power_kW", strconv.Itoa},
		"supply.metered":       {powerSeries, "power_kW", strconv.Itoa},
		"site.water_table":     {tableSeries, "water_table_m", strconv.Itoa},
		"steam.vacuum":         {vacuumSeries, "vacuum_kPa", strconv.Itoa},
		"supply.outages":       {outageSeries, "to_date", func(i int) string { return byDate[i+1] }},
	} {
		text := of.kind.dates + "," + of.column + "\n"
		for i := range byDate[1:] {
			text += byDate[i] + "," + of.value(i) + "\n"
		}
		rows, faults := seriesOf(t, dir, path, text, of.kind)
		if len(faults) > 0 || len(rows) != len(byDate)-1 {
			t.Errorf("%s: %q gives %d rows and the faults %v, want %d rows", path, text, len(rows), faults, len(byDate)-1)
			continue
		}
		for i, row := range rows {
			if row.time != hours[i]*3600 {
				t.Errorf("%s: %s is %g s from power-on, want %g", path, byDate[i], row.time, hours[i]*3600)
			}
			if of.column == "to_date" && row.value != hours[i+1]*3600 {
				t.Errorf("%s: an outage lasts to %g s from power-on, want %g", path, row.value, hours[i+1]*3600)
			}
		}
	}
	rows, faults := seriesOf(t, dir, "heat.power", "date,time_h,power_kW\nno date,1,5\n", powerSeries)
	if len(faults) > 0 || len(rows) != 1 || rows[0].time != 3600 {
		t.Errorf("beside time_h, a column date gives the rows %v and the faults %v, want one row at 3600 s", rows, faults)
	}
}

// TestBrokenSeriesByDate: dates that cannot be read say what is allowed.
func TestBrokenSeriesByDate(t *testing.T) {
	dir := t.TempDir()
	for text, want := range map[string]string{
		"date,air_C\n5/1/2026,4\n":               "2: date = 5/1/2026: must be a date on the site's clock, such as 2026-05-01 or 2026-05-01T14:00:00, between the years 1900 and 2200",
		"date,air_C\n2026-02-29,4\n":             "2: date = 2026-02-29: must be a date on the site's clock",
		"date,air_C\n2026-05-01T00:00:00Z,4\n":   "2: date = 2026-05-01T00:00:00Z: must be a date on the site's clock",
		"date,air_C\n2026-05-02,4\n2026-05-01,4": "3: date = 2026-05-01: must be later than the row before",
		"date,date,air_C\n2026-05-02,1,4\n":      "1: names two columns of times, date and date; must name one",
		"time_d,air_C\n2026-05-02,4\n":           "2: time_d = 2026-05-02: must be a number of days since power-on; a column of dates is named date",
		"air_C,day\n4,2026-05-02\n":              "1: the first row must name the columns time_d or date and air_C, air_F or air_K",
	} {
		rows, faults := seriesOf(t, dir, "surface.air", text, airSeries)
		if len(faults) != 1 || !strings.HasPrefix(faults[0].String(), filepath.Join(dir, "series.csv")+":"+want) {
			t.Errorf("%q gives the rows %v and the faults %v, want one that says %q", text, rows, faults, want)
		}
	}
	text := strings.Replace(heated, `"12 degC"`, `"air.csv"`, 1)
	for name, data := range map[string]string{"air.csv": "date,air_C\n2026-05-01,4\n", "case.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Load(filepath.Join(dir, "case.toml"), nil); err == nil || !strings.Contains(err.Error(), "air.csv:1: a column of dates needs time.power_on in the case; or give times since power-on") {
		t.Errorf("dates in a case without time.power_on give %v, want a fault that names it", err)
	}
}

// seriesOf reads a text as a series of a case that begins on 2026-05-01 at 06:00.
func seriesOf(t *testing.T, dir, path, text string, kind seriesKind) ([]point, Faults) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, "series.csv"), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	l := &loader{dir: dir, c: &Case{Time: Time{PowerOn: time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC)}}, pos: locate(""), forSeries: mostSeriesBytes}
	rows, _ := readSeries(input{l: l, key: findKey(path), path: path, loc: path, raw: "series.csv"}, "series.csv", kind)
	return rows, l.faults
}
