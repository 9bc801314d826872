package main

import (
	"fmt"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
)

// readmeLine is a number that README tells of a run: what a pattern's group finds in the
// run's output, put into a format, is there to the letter.
type readmeLine struct{ pattern, format string }

// holdReadme runs a demo case and wants its lines in README.
func holdReadme(t *testing.T, name, set string, lines ...readmeLine) {
	t.Helper()
	readme := "\n" + read(t, "..", "..", "README.md")
	args := []string{"run", "../../cases/" + name + ".toml", "-o", filepath.Join(t.TempDir(), "out"), "-q", "--no-figures"}
	if set != "" {
		args = append(args, "--set", set)
	}
	out := must(t, done, args...).out
	for _, l := range lines {
		m := regexp.MustCompile("(?m)" + l.pattern).FindStringSubmatch(out)
		if m == nil {
			t.Errorf("the run of %s %s says nothing like %q:\n%s", name, set, l.pattern, out)
			continue
		}
		if want := fmt.Sprintf(l.format, m[1]); !strings.Contains(readme, want) {
			t.Errorf("README.md does not hold %q of the run of %s %s", strings.TrimSpace(want), name, set)
		}
	}
}

// onlyHere skips a test of printed digits on processors that round otherwise than that
// which README was written on: of two places that mirror each other either may be the
// coldest then.
func onlyHere(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("runs demo cases in full")
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("README's digits are of amd64")
	}
}

// TestReadmeShowsRuns: what README shows of the first demo case is what the program
// prints, and so are its numbers of the tank circle.
func TestReadmeShowsRuns(t *testing.T) {
	onlyHere(t)
	out := must(t, done, "run", yard, "-q", "--no-figures", "-o", filepath.Join(t.TempDir(), "out")).out
	if !strings.Contains(read(t, "..", "..", "README.md"), "```\n"+out+"```\n") {
		t.Errorf("README.md does not hold what `soiljoule run cases/paved-yard.toml` prints:\n%s", out)
	}
	holdReadme(t, "tank-circle", "",
		readmeLine{`^(90 % of silt in the ring at .*: day [0-9.]+)$`, "\n%s "},
		readmeLine{`(coldest .*)$`, "\n%s\n"})
	holdReadme(t, "tank-circle-depth", "",
		readmeLine{`^(90 % of silt in the ring at .*: day [0-9.]+)$`, "\n%s\n"},
		readmeLine{`(left through its top [0-9.]+ %, bottom [0-9.]+ %)`, "\n%s "})
}
