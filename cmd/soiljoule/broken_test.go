package main

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// brokenDir holds case files as users have them, each with one slip that its
// first line names, and beside each the exact text that is printed for it. The
// texts are judged by reading: the line is that of the slip, and the words say
// what is allowed there.
const brokenDir = "../../cases/testdata/broken"

// TestBrokenFiles: each of the broken files prints exactly the text beside it on
// stderr and nothing on stdout, and ends with 2.
func TestBrokenFiles(t *testing.T) {
	t.Chdir(brokenDir)
	paths, err := filepath.Glob("*.toml")
	if err != nil || len(paths) < 40 {
		t.Fatalf("%s holds %d case files (%v), want at least 40", brokenDir, len(paths), err)
	}
	texts, _ := filepath.Glob("*.txt")
	if len(texts) != len(paths) {
		t.Errorf("%d texts stand beside %d case files, want one each", len(texts), len(paths))
	}
	for _, path := range paths {
		name := strings.TrimSuffix(path, ".toml")
		t.Run(name, func(t *testing.T) {
			want, err := os.ReadFile(name + ".txt")
			if err != nil {
				t.Fatal(err)
			}
			o := must(t, wrong, "check", path)
			if o.err != string(want) || o.out != "" {
				t.Errorf("soiljoule check %s printed\n%son stderr and %q on stdout, want on stderr alone\n%s", path, o.err, o.out, want)
			}
			// The same of a file whose lines end as some editors end them.
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			crlf := write(t, t.TempDir(), path, strings.ReplaceAll(string(data), "\n", "\r\n"))
			for _, series := range []string{"air-temp.csv", "air-rows.csv"} {
				write(t, filepath.Dir(crlf), series, read(t, series))
			}
			here := filepath.Dir(crlf) + string(filepath.Separator)
			if got := strings.ReplaceAll(must(t, wrong, "check", crlf).err, here, ""); got != o.err {
				t.Errorf("with CRLF at its lines' ends %s prints\n%swant\n%s", path, got, o.err)
			}
			// A line that is named exists.
			for _, line := range strings.Split(strings.TrimSpace(o.err), "\n") {
				at := strings.SplitN(line, ":", 3)
				data, err := os.ReadFile(at[0])
				if err != nil {
					t.Fatalf("%q names no file: %v", line, err)
				}
				if n, err := strconv.Atoi(at[1]); err == nil && (n < 1 || n > 1+strings.Count(string(data), "\n")) {
					t.Errorf("%q names line %d of a file with %d", line, n, strings.Count(string(data), "\n"))
				}
			}
		})
	}
}

func itoa(n int) string { return strconv.Itoa(n) }
