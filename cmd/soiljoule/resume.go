package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"soiljoule/cases"
	"soiljoule/solver/record"
)

// resume goes on from where the run of a results folder has come to.
func resume(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	r, dir, ok := recordingFlags("resume", args, "one results folder", stderr)
	if !ok {
		return wrong
	}
	if r.dir == "" {
		r.dir = resumed(dir)
	}
	if within(r.dir, dir) {
		fmt.Fprintf(stderr, "soiljoule resume: -o %s is the folder that the run goes on from, or in it, which stays as it is: name another\n", r.dir)
		return wrong
	}
	from, err := record.ReadState(dir)
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule resume: %v\n", err)
		return wrong
	}
	c, err := cases.LoadResumed(filepath.Join(dir, "case.toml"), r.next, r.sets, cases.Reached{Time: from.Time, Off: from.Off})
	if err != nil {
		fmt.Fprintln(stderr, err)
		return wrong
	}
	from.Snapshot.Changed = c.Edges
	return r.carryOut(ctx, c.Case, from, stdout, stderr)
}

// resumed names the folder that a run from dir goes on into where none is named.
func resumed(dir string) string {
	dir = filepath.Clean(dir)
	if base := filepath.Base(dir); base == "." || base == ".." {
		if abs, err := filepath.Abs(dir); err == nil {
			dir = abs
		}
	}
	return dir + "-resumed"
}

// within says whether path is dir or lies in it, links resolved.
func within(path, dir string) bool {
	is, err := os.Stat(dir)
	if err != nil {
		return false
	}
	path, err = filepath.Abs(path)
	for err == nil {
		if at, err := os.Stat(path); err == nil && os.SameFile(at, is) {
			return true
		}
		up := filepath.Dir(path)
		if up == path {
			break
		}
		path = up
	}
	return false
}
