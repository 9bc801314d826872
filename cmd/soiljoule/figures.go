package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"unicode"

	"soiljoule/cases"
	"soiljoule/cmd/internal/figure"
)

func figures(ctx context.Context, args []string, stdout, stderr io.Writer) int {
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
	return draw(ctx, words[0], c, opt, stdout, stderr)
}

// draw draws the figures of a folder and lists their files on stdout.
func draw(ctx context.Context, dir string, c *cases.Case, opt figure.Options, stdout, stderr io.Writer) int {
	files, err := figure.Draw(ctx, dir, c, opt)
	for _, name := range files {
		fmt.Fprintln(stdout, name)
	}
	switch {
	case err == nil:
		return done
	case errors.Is(err, context.Canceled):
		fmt.Fprintf(stderr, "soiljoule figures: interrupted after %d files; draw the rest with: %s\n", len(files), again(dir))
		return interrupted
	}
	fmt.Fprintf(stderr, "soiljoule figures: %s\n", undrawn(err, dir))
	return failed
}

// undrawn says why figures were not drawn: one figure's reason a line, and what the
// system had against all of them once, with the command that draws them again.
func undrawn(err error, dir string) string {
	var cause syscall.Errno
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok || !errors.As(err, &cause) {
		return err.Error()
	}
	all := joined.Unwrap()
	for _, e := range all {
		if !errors.Is(e, cause) {
			return err.Error()
		}
	}
	text := all[0].Error()
	if n := len(all) - 1; n > 0 {
		text += fmt.Sprintf(", and so %d more", n)
	}
	return text + "; mend that and draw them with: " + again(dir)
}

// again is the command that draws a folder's figures, to be pasted into a shell.
func again(dir string) string { return "soiljoule figures " + quoted(dir) }

// quoted returns a folder's name as a shell takes it for one word.
func quoted(dir string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("/._-+,:@", r)
	}
	if dir == "" || strings.ContainsFunc(dir, func(r rune) bool { return !plain(r) }) {
		return "'" + strings.ReplaceAll(dir, "'", `'\''`) + "'"
	}
	return dir
}
