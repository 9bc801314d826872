package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// drained is the template's cell for two days with a water table and a vacuum that change.
func drained(t *testing.T, dir string) string {
	t.Helper()
	write(t, dir, "levels.csv", "# invented\ntime_d,water_table_ft\n0,7\n2,12\n")
	write(t, dir, "blower.csv", "time_d,vacuum_inHg\n0.5,0\n1,5\n")
	text := must(t, done, "new", "axisymmetric").out
	table := text[strings.Index(text, "water_table"):]
	text = strings.Replace(text, table[:strings.Index(table, "\n")], `water_table = "levels.csv"`, 1)
	text = strings.Replace(text, `duration = "70 d"`, `duration = "2 d"`, 1)
	return write(t, dir, "site.toml", text+"\n[steam]\nvacuum = \"blower.csv\"\n")
}

// TestCaseWithPressureFilesRunsAgain: the files of water table and vacuum go into the
// folder, so that case.toml still runs where the folder stands alone.
func TestCaseWithPressureFilesRunsAgain(t *testing.T) {
	dir := t.TempDir()
	at := filepath.Join(dir, "site")
	if err := os.Mkdir(at, 0o777); err != nil {
		t.Fatal(err)
	}
	path := drained(t, at)
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	must(t, done, "run", path, "--set", "mesh.finest=8 in", "--no-figures", "-o", a)
	for name, of := range map[string]string{"water-table.csv": "levels.csv", "vacuum.csv": "blower.csv"} {
		if read(t, a, name) != read(t, at, of) {
			t.Errorf("%s of the folder is not %s as it was", name, of)
		}
	}
	if err := os.RemoveAll(at); err != nil {
		t.Fatal(err)
	}
	must(t, done, "run", filepath.Join(a, "case.toml"), "--no-figures", "-o", b)
	sameFolders(t, a, b)
	must(t, done, "run", filepath.Join(a, "case.toml"), "--set", "site.water_table=none", "--set", "steam.vacuum=0 kPa", "--no-figures", "--force", "-o", b)
	for _, name := range files(t, b) {
		if name == "water-table.csv" || name == "vacuum.csv" {
			t.Errorf("the folder of a run without it keeps %s of the run before", name)
		}
	}
}

// TestCheckTellsBoilingPoints: check lists the boiling points at power-on and at their
// extremes.
// Source: job map: 94.9 °C under 5 inHg of vacuum at sea level; water under air alone boils
// at 99.97 °C; within the last digit of each, 0.05 K.
func TestCheckTellsBoilingPoints(t *testing.T) {
	path := drained(t, t.TempDir())
	said := must(t, done, "check", path, "--json").out
	var got checked
	if err := json.Unmarshal([]byte(said), &got); err != nil {
		t.Fatal(err)
	}
	var row *boilRow
	for i := range got.Boils {
		if got.Boils[i].Place == "the water table of power-on" {
			row = &got.Boils[i]
		}
	}
	if row == nil {
		t.Fatalf("check tells no boiling point at the water table: %+v", got.Boils)
	}
	// 7 ft deep, dry from the start of the drawdown on.
	if math.Abs(row.DepthM-2.1336) > 1e-9 || math.Abs(row.StartC-99.97) > 0.05 || math.Abs(row.LeastC-94.9) > 0.05 || row.LeastDay != 1 || math.Abs(row.MostC-99.97) > 0.05 {
		t.Errorf("check says %+v, want 99.97 °C at 2.1336 m and 94.9 °C from day 1 on", *row)
	}
	for _, want := range []string{"on day 0, between 94.9 °C (202.9 °F) on day 1 and", "the deepest water table, of day 2, 3.658 m (12 ft) deep", "The water table moves", "Vacuum, at most 16.93 kPa"} {
		if out := must(t, done, "check", path).out; !strings.Contains(out, want) {
			t.Errorf("check does not say %q:\n%s", want, out)
		}
	}
}
