package cases

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestMeterWithGaps: rows of a meter that are missing are told, the longest gap by its days
// and what a straight line stands for as a share of the energy; by hand. Rows that a pause
// without power leaves out, or that are few, are none.
func TestMeterWithGaps(t *testing.T) {
	hours := func(power func(h int) float64, without ...int) string {
		text := "time_h,power_kW\n"
		for h := 0; h <= 240; h++ {
			missing := false
			for i := 0; i+1 < len(without); i += 2 {
				missing = missing || h > without[i] && h < without[i+1]
			}
			if !missing {
				text += fmt.Sprintf("%d,%g\n", h, power(h))
			}
		}
		return text
	}
	flat := func(int) float64 { return 12 }
	night := func(h int) float64 {
		if h >= 48 && h <= 96 {
			return 0
		}
		return 12
	}
	for _, c := range []struct{ name, rows, want string }{
		{"whole", hours(flat), ""},
		{"five hours", hours(flat, 24, 29), ""},
		{"six hours", hours(flat, 24, 30), "have a gap from day 1 to day 1.25: the power there is taken as a straight line, 2.5 % of all"},
		{"two", hours(flat, 24, 30, 48, 72), "have 2 gaps, the longest from day 2 to day 3: the power there is taken as a straight line, 12 % of all"}, // 30 of 240 h
		{"a pause", hours(night, 48, 96), ""},
		{"by hand", "time_h,power_kW\n0,12\n1,12\n2,12\n240,12\n", ""},
	} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "power.csv"), []byte(c.rows), 0o666); err != nil {
			t.Fatal(err)
		}
		k, err := Parse("yard.toml", []byte(meteredCase), dir, []string{"time.duration=10 d"})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		got := strings.Join(k.controlCautions(), "\n")
		if c.want == "" && strings.Contains(got, "straight line") || !strings.Contains(got, c.want) {
			t.Errorf("%s: the cautions are\n%s\nwant %q", c.name, got, c.want)
		}
	}
}
