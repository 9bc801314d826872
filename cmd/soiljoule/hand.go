package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"soiljoule/cases"
	"soiljoule/cmd/internal/hand"
)

// byHand is the command `hand`: closed forms, without a run.
func byHand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	f := flags("hand")
	asJSON := f.Bool("json", false, "")
	file := f.String("case", "", "")
	help := f.Bool("help", false, "")
	f.BoolVar(help, "h", false, "")
	words, ok := parse("hand", f, args, anyWords, "", stderr)
	if !ok {
		return wrong
	}
	refuse := func(format string, a ...any) int {
		fmt.Fprintf(stderr, "soiljoule hand: "+format+"\n", a...)
		return wrong
	}
	var one *hand.Calculation
	if len(words) > 0 {
		if one = hand.Find(words[0]); one == nil {
			return refuse("unknown calculation %.60q: must be one of %s", words[0], strings.Join(hand.Names(), ", "))
		}
	}
	switch {
	case *help && one != nil:
		one.Describe(stdout)
		return done
	case *help || one == nil && *file == "" && !*asJSON:
		hand.List(stdout)
		return done
	case one == nil && *file == "":
		return refuse("--json wants a calculation or --case FILE")
	}
	var c *cases.Case
	if *file != "" {
		var err error
		if c, err = cases.Load(*file, nil); err != nil {
			fmt.Fprintln(stderr, err)
			return wrong
		}
	}
	var shown interface{ Print(io.Writer) }
	if one == nil {
		shown = hand.FromCase(c)
	} else {
		a, err := one.WorkOut(c, words[1:])
		if err != nil {
			fmt.Fprintln(stderr, err)
			return wrong
		}
		shown = a
	}
	if !*asJSON {
		shown.Print(stdout)
		return done
	}
	e := json.NewEncoder(stdout)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(shown); err != nil {
		return refuse("%v", err)
	}
	return done
}
