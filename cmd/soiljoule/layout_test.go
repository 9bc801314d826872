package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestCheckDrawsLayout: check --figure writes three files by one stem and tells of them
// on stderr; stdout is the same as without. Without the flag it writes nothing.
func TestCheckDrawsLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("draws three layouts")
	}
	dir := t.TempDir()
	for name, file := range map[string]string{"ring": write(t, dir, "ring.toml", ringOfSix), "yard": yard, "cell": cell} {
		for _, json := range []string{"", "--json"} {
			args := strings.Fields("check " + file + " " + json)
			bare := must(t, done, args...)
			if list, err := filepath.Glob(filepath.Join(dir, "*.png")); err != nil || len(list) != 0 {
				t.Fatalf("check without --figure left %v, %v", list, err)
			}
			stem := filepath.Join(dir, name+json)
			drawn := must(t, done, append(args, "--figure", stem+".png")...)
			// The estimate of the time a run takes is from the clock.
			if a, b := withoutEstimate(bare.out), withoutEstimate(drawn.out); a != b {
				t.Errorf("%s: with --figure check prints\n%s\nwithout\n%s", name, b, a)
			}
			if want := "layout in " + stem + ".png, " + stem + ".svg, " + stem + ".csv\n"; drawn.err != want {
				t.Errorf("%s: check --figure says on stderr %q, want %q", name, drawn.err, want)
			}
			for _, ext := range []string{".png", ".svg", ".csv"} {
				if info, err := os.Stat(stem + ext); err != nil || info.Size() == 0 {
					t.Errorf("%s%s: %v, want a file", stem, ext, err)
				}
				os.Remove(stem + ext)
			}
		}
	}
}

// withoutEstimate drops the lines that tell how long a run takes.
func withoutEstimate(text string) string {
	var kept []string
	for line := range strings.Lines(text) {
		if !strings.Contains(line, "a run of about") && !strings.Contains(line, `"estimated_seconds"`) {
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "")
}

// TestCheckFigureRefusals: a name that is none, a place that is not there, and files
// that are somebody else's.
func TestCheckFigureRefusals(t *testing.T) {
	dir := t.TempDir()
	file := write(t, dir, "ring.toml", ringOfSix)
	air := write(t, dir, "air.csv", "time_d,air_F\n0,50\n")
	for _, c := range []struct {
		name string
		code int
		says string
	}{
		{"", wrong, "--figure = : must end in .png"},
		{"site.jpg", wrong, "--figure = site.jpg: must end in .png"},
		{".png", wrong, "must end in .png"},
		{filepath.Join(dir, "air.png"), wrong, air + " is there and was not drawn by this program"},
		{filepath.Join(dir, "nowhere", "site.png"), failed, "no such file or directory"},
	} {
		o := must(t, c.code, "check", file, "--figure", c.name)
		if o.out != "" || !strings.Contains(o.err, c.says) || strings.Count(o.err, "\n") != 1 {
			t.Errorf("--figure %q: stdout %q, stderr %q; want nothing and one line with %q", c.name, o.out, o.err, c.says)
		}
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 2 {
		t.Errorf("refused figures left %v, %v; want the case and its air temperatures alone", list, err)
	}
}
