package cases

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
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
