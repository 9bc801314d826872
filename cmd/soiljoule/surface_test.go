package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestSurfaceInSummary: summary.txt tells the largest voltages along the ground's surface
// in one line, with what they are not in the next two; without electrodes it has none.
func TestSurfaceInSummary(t *testing.T) {
	dir := t.TempDir()
	block := func(text string) string {
		_, after, found := strings.Cut(text, "\nGround surface, RMS from the supply's neutral: ")
		if !found {
			return ""
		}
		lines, _, _ := strings.Cut(after, "\n\n")
		return lines
	}
	const measured = "\n  a qualified person measures on site before anyone enters; local codes decide"
	for _, c := range []struct{ name, file, set, begins, says string }{
		{"yard", yard, "output.units=us", "at most ", " V/m) over 1 m from x "},
		{"cell", cell, "output.units=si", "at most ", " V/ft) over 1 m from r "},
		{"rows", yard, "output.units=si", "at most ", "\n  for screening only: rods of a row are averaged along it, and the step is larger near a rod that reaches close to the surface; bare metal, casings, pipes and wet ground are left out"},
		{"rod", cell, "output.units=us", "at most ", "\n  for screening only: one rod's alone; its neighbours' phases, bare metal, casings, pipes and wet ground are left out"},
		{"off", cell, "supply.voltage=0 V", "at most 0 V; step 0 V/", " over 1 m\n"},
	} {
		o := runInto(t, filepath.Join(dir, c.name), c.file, "--set", c.set)
		if got := block(o.out); !strings.HasPrefix(got, c.begins) || !strings.Contains(got, c.says) || !strings.HasSuffix(got, measured) {
			t.Errorf("%s: the summary says of the surface\n%s\nwant it to begin %q, to say %q and to end %q", c.name, got, c.begins, c.says, measured)
		}
		if !strings.Contains(o.out, "Voltages along the ground's surface are for screening only: ") {
			t.Errorf("%s: the cautions do not say what the voltages along the surface are for", c.name)
		}
	}
	write(t, dir, "ring.csv", ringSeries)
	o := must(t, done, "run", write(t, dir, "ring.toml", strings.Replace(ring, "FILE", "ring.csv", 1)), "--no-figures", "-o", filepath.Join(dir, "ring"))
	if got := block(o.out); got != "" || !strings.Contains(o.out, "Step, touch and stray voltages are not computed") {
		t.Errorf("without electrodes the summary says of the surface %q, want nothing, and a caution that nothing is computed", got)
	}
}
