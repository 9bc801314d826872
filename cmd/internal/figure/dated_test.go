package figure

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestTablesWithAndWithoutDates: a column of dates in the tables of a run, as one whose date of
// power-on is known has in all of them and one of an older program in history.csv alone, changes
// no byte of a figure.
func TestTablesWithAndWithoutDates(t *testing.T) {
	drawn := func(dates bool) map[string][]byte {
		dir, n := cooling(t, "off")
		for _, name := range []string{"history", "balance", "electrodes", "sensors", "steam", "water", "surface"} {
			if !dates {
				break
			}
			path := filepath.Join(dir, name+".csv")
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			rows := strings.SplitAfter(string(data), "\n")
			for i, row := range rows {
				date := ",2026-05-01T12:00:00,"
				if strings.HasPrefix(row, "time_d") {
					date = ",date,"
				}
				rows[i] = strings.Replace(row, ",", date, 1)
			}
			writeFile(t, dir, name+".csv", []byte(strings.Join(rows, "")))
		}
		files, err := drawAt(t.Context(), coarse, dir, n.c, Options{})
		if err != nil {
			t.Fatal(err)
		}
		out := map[string][]byte{}
		for _, path := range files {
			if out[filepath.Base(path)], err = os.ReadFile(path); err != nil {
				t.Fatal(err)
			}
		}
		return out
	}
	dated, plain := drawn(true), drawn(false)
	for _, name := range []string{"cool.svg", "ledger.svg", "sensors.svg", "share.svg", "steam.svg", "supply.svg", "surface.svg", "water.svg"} {
		if dated[name] == nil {
			t.Errorf("a run whose tables have dates has no %s", name)
		}
	}
	if len(dated) != len(plain) {
		t.Errorf("with dates %d files are drawn, without %d", len(dated), len(plain))
	}
	for name := range plain {
		if !bytes.Equal(dated[name], plain[name]) {
			t.Errorf("%s is another where the tables have dates", name)
		}
	}
}
