// Command soiljoule computes the electrical heating of soil from a case file.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ends := []os.Signal{syscall.SIGTERM}
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGHUP} {
		if !signal.Ignored(s) { // as nohup and shells do for what outlives them
			ends = append(ends, s)
		}
	}
	ctx, stop := signal.NotifyContext(context.Background(), ends...)
	signal.Ignore(syscall.SIGPIPE) // a reader that went away ends no run; the write says so
	go func() {                    // a second signal ends the program at once
		<-ctx.Done()
		stop()
	}()
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// Exit codes.
const (
	done        = 0
	failed      = 1   // the run failed
	wrong       = 2   // the case or the command is wrong
	interrupted = 130 // the last accepted step is on disk
)

const usage = `soiljoule computes the electrical resistance heating of soil from a case file.

  soiljoule new VIEW                 a commented case that runs, on stdout (section, axisymmetric, plan)
  soiljoule check CASE [--json] [--figure FILE.png]
                                     mesh, layers, rows, cold ohms and amperes, what is too near;
                                     the layout drawn, with FILE.svg and FILE.csv beside it
  soiljoule run CASE [-o DIR] [--set path=value …] [--force] [--no-figures] [--json] [-q]
                                     run it into a results folder (default: the case's name)
  soiljoule resume DIR [--case NEW.toml] [-o OUT] [--set path=value …] [--force] [--no-figures] [--json] [-q]
                                     go on from where the run in DIR has come to, into OUT (default:
                                     DIR-resumed), with the history from power-on; DIR stays as it is;
                                     NEW.toml: DIR/case.toml changed where --set may, rows added too
  soiljoule figures DIR [--only profiles,share] [--units si|us]
                                     draw a folder's figures again
  soiljoule hand [NAME key=value …] [--case FILE] [--json]
                                     closed forms in an instant; without NAME the list of them
  soiljoule keys [SECTION]           every key of a case file, or of one section; "keys units"
  soiljoule version

Exit: 0 done, 1 the run failed, 2 the case or the command is wrong, 130 interrupted.
Estimates for review by licensed practice; they clear nothing.
`

// command is one word of the command line.
type command func(ctx context.Context, args []string, stdout, stderr io.Writer) int

func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	commands := map[string]command{
		"new": newCase, "check": check, "run": runCase, "resume": resume, "figures": figures, "hand": byHand, "keys": keys, "version": printVersion,
	}
	if len(args) == 0 {
		fmt.Fprint(stderr, usage)
		return wrong
	}
	switch args[0] {
	case "help", "-h", "--help":
		fmt.Fprint(stdout, usage)
		return done
	}
	for _, a := range args[1:] {
		if (a == "-h" || a == "--help") && args[0] != "hand" { // which has help of its own for each NAME
			fmt.Fprint(stdout, usage)
			return done
		}
	}
	c, ok := commands[args[0]]
	if !ok {
		fmt.Fprintf(stderr, "soiljoule: unknown command %q: must be new, check, run, resume, figures, hand, keys or version\n", args[0])
		return wrong
	}
	out := &output{w: stdout}
	code := c(ctx, args[1:], out, stderr)
	if out.err == nil {
		return code
	}
	if args[0] == "run" || args[0] == "resume" || !errors.Is(out.err, syscall.EPIPE) { // who reads the head of a list has enough
		fmt.Fprintf(stderr, "soiljoule %s: stdout: %v\n", args[0], out.err)
	}
	return max(code, failed)
}

// output is stdout. It takes everything, so that a command ends as it would, and
// keeps the first error.
type output struct {
	w   io.Writer
	err error
}

func (o *output) Write(p []byte) (int, error) {
	if o.err == nil {
		_, o.err = o.w.Write(p)
	}
	return len(p), nil
}
