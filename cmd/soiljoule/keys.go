package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"soiljoule/cases"
)

func newCase(_ context.Context, args []string, stdout, stderr io.Writer) int {
	words, ok := parse("new", flags("new"), args, 1, "a view: section, axisymmetric or plan", stderr)
	if !ok {
		return wrong
	}
	text, err := cases.Template(words[0])
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule new: %v\n", err)
		return wrong
	}
	fmt.Fprint(stdout, text)
	return done
}

func keys(_ context.Context, args []string, stdout, stderr io.Writer) int {
	f := flags("keys")
	markdown := f.Bool("markdown", false, "")
	section := ""
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		section, args = args[0], args[1:]
	}
	if _, ok := parse("keys", f, args, 0, "at most one section", stderr); !ok {
		return wrong
	}
	var err error
	if *markdown {
		err = cases.WriteKeysMarkdown(stdout)
	} else {
		err = cases.WriteKeys(stdout, section)
	}
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule keys: %v\n", err)
		return wrong
	}
	return done
}

// version is what run.json says a folder was made with.
const version = "0.1.0"

func printVersion(_ context.Context, _ []string, stdout, _ io.Writer) int {
	fmt.Fprintln(stdout, "soiljoule", version)
	return done
}
