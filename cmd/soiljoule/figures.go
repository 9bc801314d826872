package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"soiljoule/cases"
	"soiljoule/cmd/internal/figure"
)

func figures(_ context.Context, args []string, stdout, stderr io.Writer) int {
	f := flags("figures")
	only := f.String("only", "", "")
	units := f.String("units", "", "")
	words, ok := parse("figures", f, args, 1, "one results folder", stderr)
	if !ok {
		return wrong
	}
	if *units != "" && *units != "si" && *units != "us" {
		fmt.Fprintf(stderr, "soiljoule figures: --units = %s: must be si or us\n", *units)
		return wrong
	}
	c, err := cases.Load(filepath.Join(words[0], "case.toml"), nil)
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule figures: %v\n", err)
		return wrong
	}
	opt := figure.Options{Units: *units}
	if *only != "" {
		opt.Only = strings.Split(*only, ",")
		for _, name := range opt.Only {
			if !slices.Contains(figure.Names(), name) {
				fmt.Fprintf(stderr, "soiljoule figures: --only = %s: must be of %s\n", name, strings.Join(figure.Names(), ", "))
				return wrong
			}
		}
	}
	return draw(words[0], c, opt, stdout, stderr)
}

// draw draws the figures of a folder and lists their files on stdout.
func draw(dir string, c *cases.Case, opt figure.Options, stdout, stderr io.Writer) int {
	files, err := figure.Draw(dir, c, opt)
	for _, name := range files {
		fmt.Fprintln(stdout, name)
	}
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule figures: %v\n", err)
		return failed
	}
	return done
}
