package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPlacesThatCannotBe: a place where no results folder can be is told of in one
// true line with what to do, before the run. A file in the way used to be told in the
// system's words, and a place that takes no folders as one from which something had
// been removed.
func TestPlacesThatCannotBe(t *testing.T) {
	dir := t.TempDir()
	file := write(t, dir, "sec.toml", "mine\n")
	link := filepath.Join(dir, "link")
	if err := os.Symlink(filepath.Join(dir, "nowhere"), link); err != nil {
		t.Fatal(err)
	}
	cases := []struct {
		place, says string
		exit        int
	}{
		{file, "-o " + file + " is no folder but a file; name a folder, or one that is not there yet", wrong},
		{filepath.Join(file, "a", "b"), "cannot be: " + file + " is no folder but a file; name a folder", wrong},
		{link, "-o " + link + " is a link to nothing; name a folder", wrong},
		{filepath.Join(link, "a"), "cannot be: " + link + " is a link to nothing; name a folder", wrong},
	}
	if _, err := os.Stat("/proc/self"); err == nil { // takes no folders, whoever asks
		cases = append(cases, struct {
			place, says string
			exit        int
		}{"/proc/x", "/proc/x cannot be made: no such file or directory; name another place with -o", failed})
	}
	for _, c := range cases {
		o := must(t, c.exit, "run", cell, "-o", c.place, "-q")
		if !strings.Contains(o.err, c.says) || strings.Count(o.err, "\n") != 1 || o.out != "" {
			t.Errorf("run -o %s says %q and prints %q, want one line with %q and nothing", c.place, o.err, o.out, c.says)
		}
	}
	if read(t, dir, "sec.toml") != "mine\n" {
		t.Error("the file in the way was touched")
	}
}
