package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"soiljoule/cases"
	"soiljoule/cmd/internal/figure"
)

// layoutName says what is wrong with the name of the layout's file, if it was given.
func layoutName(f *flag.FlagSet, name string, stderr io.Writer) bool {
	given := false
	f.Visit(func(one *flag.Flag) { given = given || one.Name == "figure" })
	if base := filepath.Base(name); given && (!strings.HasSuffix(base, ".png") || base == ".png") {
		fmt.Fprintf(stderr, "soiljoule check: --figure = %s: must end in .png; .svg and .csv of that name are written beside it\n", name)
		return false
	}
	return true
}

// drawLayout draws the layout of an expanded case and lists its files on stderr.
func drawLayout(name string, c *cases.Case, stderr io.Writer) int {
	p, err := planOf(c)
	if err == nil {
		var files []string
		files, err = figure.Layout(name, p.CaseHash, c, figure.Options{})
		if len(files) > 0 {
			fmt.Fprintf(stderr, "layout in %s\n", strings.Join(files, ", "))
		}
	}
	if err == nil {
		return done
	}
	fmt.Fprintf(stderr, "soiljoule check: --figure: %v\n", err)
	if errors.Is(err, figure.ErrTaken) {
		return wrong
	}
	return failed
}
