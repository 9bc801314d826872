package main

import (
	"encoding/csv"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestSummaryNamesTheLargestCurrent: the electrode and the day of the largest current in
// summary.txt are those of the largest in electrodes.csv; and where the case has dates, the
// days on which a target is reached and has been held are told with theirs.
func TestSummaryNamesTheLargestCurrent(t *testing.T) {
	text := strings.Replace(ringOfSix, "[supply]", "[[electrode]]\nname = \"M\"\nphase = \"A\"\ntop = \"8 ft\"\nbottom = \"24 ft\"\nradius = \"0.2 m\"\nx = \"2 m\"\ny = \"1 m\"\n[supply]", 1)
	text = strings.Replace(text, "temperature = \"boiling\"", "temperature = \"25.1 degC\"\nshare = 0.1\nhold = \"1 d\"", 1)
	text = strings.Replace(text, "[time]", "[time]\npower_on = 2026-03-30", 1)
	path := write(t, t.TempDir(), "ring.toml", text)
	out := must(t, done, "run", path, "-o", path+".out", "--no-figures", "-q", "--set", "mesh.finest=2 ft").out
	rows, err := csv.NewReader(strings.NewReader(read(t, filepath.Join(path+".out", "electrodes.csv")))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	electrode, current := slices.Index(rows[0], "electrode"), slices.Index(rows[0], "current_A")
	name, day, most := "", 0.0, 0.0
	for _, r := range rows[1:] {
		amps, _ := strconv.ParseFloat(r[current], 64)
		if amps > most {
			most, name = amps, r[electrode]
			day, _ = strconv.ParseFloat(r[0], 64)
		}
	}
	if want := fmt.Sprintf("%.1f A on day %.1f (2026-04-02) at %s\n", most, day, name); !strings.Contains(out, want) {
		t.Errorf("the summary does not say %q:\n%s", want, out)
	}
	// Reached on the first day, held on the second; power-on is at midnight.
	lines := strings.SplitN(out, "\n", 3)
	if !strings.HasSuffix(lines[0], "(2026-03-30)") || !strings.HasPrefix(lines[1], "held for 1 d: day 1.") || !strings.HasSuffix(lines[1], "(2026-03-31)") {
		t.Errorf("the summary begins\n%s\n%s\nwant the dates 2026-03-30 and 2026-03-31", lines[0], lines[1])
	}
}
