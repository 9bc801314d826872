package cases

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// FuzzUnits: any text is a finite quantity that is written so that it reads back to
// the same bits, or is refused with a reason on one line; in every dimension.
func FuzzUnits(f *testing.F) {
	for _, s := range []string{"18 ft", "7 ft 6 in", "-3.5e-2 degF", "25 Ω·m", "12 W/(m·K)", "0.04 S/m", "1,200 V", "1e999 m", "−5 °C", "9' 6\"", "3 m²K/W", "/", "5 m/", "1 BTU/h·ft·°F", "0x1p4 m", "1_0 m", "nan m", ".5 d", "5. d"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, d := range dimensions {
			v, u, err := d.parse(text)
			if err != nil {
				if s := (Fault{File: "case.toml", Line: 1, Key: "layer.x", Given: oneLineOr(text), Allowed: err.Error()}).String(); strings.ContainsAny(s, "\n\r\x00") || len(s) > 1000 {
					t.Fatalf("%s %q is refused by %q, want one short line", d.name, text, s)
				}
				continue
			}
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%s %q is %g, want a finite number", d.name, text, v)
			}
			if _, ok := d.find(u.name); !ok {
				t.Fatalf("%s %q is in %q, which is no unit of it", d.name, text, u.name)
			}
			again, _, err := d.parse(d.format(v))
			if err != nil || again != v {
				t.Fatalf("%s %q is %g, written %q, read back %g (%v)", d.name, text, v, d.format(v), again, err)
			}
		}
	})
}

// FuzzSeries: any bytes as the file of a series give rows in order of time, with
// finite values in the key's range, or faults of one line each and at most its ends.
func FuzzSeries(f *testing.F) {
	dir := f.TempDir()
	for _, name := range []string{"air.csv", "broken-air.csv", "no-column.csv", "power.csv", "broken-power.csv", "short-power.csv", "rain.csv", "broken-rain.csv", "water-table.csv", "broken-table.csv", "vacuum.csv"} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, s := range []string{"", "\ufefftime_d,air_K\r\n0,280\r\n1,281", "air_C,time_d,air_F\n1,2,3\n", "time_d,air_C\n1e400,1\n-1e5,1\n0,0x1p3\n", "time_s,power_W\n1e9,1\n1e9,2\n", "time_d,air_C\n2,\n0\n0,", "#\n\n,\n", "date,air_C\n2026-05-01,1\n2026-05-01 14:00,2\n", "time_d,date,power_kW\n0,x,1\n"} {
		f.Add([]byte(s))
	}
	kinds := map[string]seriesKind{"surface.air": airSeries, "heat.power": powerSeries, "surface.infiltration": rainSeries, "site.water_table": tableSeries, "steam.vacuum": vacuumSeries}
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(filepath.Join(dir, "series.csv"), data, 0o666); err != nil {
			t.Fatal(err)
		}
		for path, kind := range kinds {
			k := findKey(path)
			l := &loader{file: "case.toml", dir: dir, c: &Case{Time: Time{PowerOn: time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)}}, pos: locate(""), forSeries: mostSeriesBytes}
			rows, _ := readSeries(input{l: l, key: k, path: path, loc: path, raw: "series.csv"}, "series.csv", kind)
			if len(rows) == 0 && len(l.faults) == 0 {
				t.Fatalf("%q as %s gives neither rows nor a fault", data, path)
			}
			for _, fault := range l.faults {
				if s := fault.String(); strings.ContainsAny(s, "\n\r\x00") || len(s) > 1000+len(dir) {
					t.Fatalf("%q is refused by %q, want one short line", data, s)
				}
			}
			if len(l.faults) > 0 { // no more than where it begins and ends, if that
				if len(rows) != 0 && (len(rows) != 2 || rows[1].time < rows[0].time || !math.IsNaN(rows[0].value) || !math.IsNaN(rows[1].value)) {
					t.Fatalf("%q has faults and gives the rows %v, want none or where it begins and ends", data, rows)
				}
				continue
			}
			base, _ := kind.of.find(kind.base)
			for i, r := range rows {
				if i > 0 && r.time <= rows[i-1].time || math.IsNaN(r.time) {
					t.Fatalf("%q has row %d at %g s after %g s", data, i, r.time, rows[i-1].time)
				}
				if no := k.span.refuse(r.value, base); no != "" || math.IsNaN(r.value) {
					t.Fatalf("%q has the value %g in row %d, which %s", data, r.value, i, no)
				}
			}
		}
	})
}
