// Command dossier turns the tests' own numbers into a report. It reads the stream
// of `go test -json` on stdin, where each check, figure and table is an attribute
// of its test (see attr in ../check_test.go), prints a row a check, and with -o
// writes the whole as Markdown with its figures beside it. It exits 1 when a test
// failed or none ran, and writes nothing then.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("dossier", flag.ContinueOnError)
	flags.SetOutput(stderr)
	out := flags.String("o", "", "write the dossier to this `file`, its figures into figures/ beside it")
	against := flags.String("against", "", "fail where this `file`, a dossier, lacks a check of this run, holds one that its test no longer makes, or has another number")
	tests := flags.String("tests", "validation", "`folder` of the tests, for their claims and chapters")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	fail := func(err error) int {
		fmt.Fprintln(stderr, "dossier:", err)
		return 1
	}
	r, err := read(stdin, stdout)
	if err != nil {
		return fail(err)
	}
	if err := r.err(); err != nil {
		return fail(err)
	}
	n := r.counts()
	fmt.Fprintf(stdout, "%d checks in %d tests, all within their tolerances; %d bars missed\n", n.checks, n.tests, n.misses)
	if *against != "" {
		old, err := os.ReadFile(*against)
		if err != nil {
			return fail(err)
		}
		if err := r.agrees(string(old)); err != nil {
			return fail(fmt.Errorf("%s is not of these tests (make dossier writes it anew):\n%w", *against, err))
		}
	}
	if *out == "" {
		return 0
	}
	docs, err := readDocs(*tests)
	if err != nil {
		return fail(err)
	}
	if err := r.write(*out, docs); err != nil {
		return fail(err)
	}
	fmt.Fprintf(stdout, "written: %s, %d figures in %s\n", *out, n.figures, filepath.Join(filepath.Dir(*out), "figures"))
	return 0
}
