package main

import (
	"flag"
	"fmt"
	"io"
	"strings"
)

// list is a flag that may be given several times.
type list []string

func (l *list) String() string     { return strings.Join(*l, " ") }
func (l *list) Set(v string) error { *l = append(*l, v); return nil }

// anyWords is a number of words that parse does not check.
const anyWords = -1

// parse reads flags and words in any order and checks the number of words. It
// has said what is wrong when it returns false.
func parse(name string, f *flag.FlagSet, args []string, words int, what string, stderr io.Writer) ([]string, bool) {
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	var got []string
	for {
		if err := f.Parse(args); err != nil {
			fmt.Fprintf(stderr, "soiljoule %s: %v\n", name, err)
			return nil, false
		}
		args = f.Args()
		if len(args) == 0 {
			break
		}
		got = append(got, args[0])
		args = args[1:]
	}
	if words != anyWords && len(got) != words {
		fmt.Fprintf(stderr, "soiljoule %s: %d words given: wants %s\n", name, len(got), what)
		return nil, false
	}
	return got, true
}

func flags(name string) *flag.FlagSet { return flag.NewFlagSet(name, flag.ContinueOnError) }
