package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
)

// TestCommandsCanBePasted: the command that a message tells reaches the program from a
// shell as it was meant, whatever the folder is called. Against the system's sh.
func TestCommandsCanBePasted(t *testing.T) {
	sh, err := exec.LookPath("sh")
	if err != nil {
		t.Skip("no shell here: ", err)
	}
	for _, dir := range []string{"out", "/tmp/out", "results of may", "it's", "a$HOME", "`id`", `a\b`, `a"b`, "a;b", "a&b", "*", "~", "größe", "a#b", "'", ""} {
		got, err := exec.Command(sh, "-c", `soiljoule() { printf '%s|' "$@"; }; `+again(dir)).Output()
		if want := "figures|" + dir + "|"; err != nil || string(got) != want {
			t.Errorf("the shell makes %q of %s (%v), want %q", got, again(dir), err, want)
		}
	}
	if got := again("/tmp/out-1"); got != "soiljoule figures /tmp/out-1" {
		t.Errorf("a plain folder is told as %s, want no quotes", got)
	}
}

// TestUndrawn: figures that fail for one reason of the system are told of once, with
// the command that draws them; those with reasons of their own a line each.
func TestUndrawn(t *testing.T) {
	full := func(name string) error { return &os.PathError{Op: "write", Path: name, Err: syscall.ENOSPC} }
	other := errors.New("share: no rows")
	for _, c := range []struct {
		err  error
		want string
	}{
		{other, "share: no rows"},
		{errors.Join(full("a")), full("a").Error() + "; mend that and draw them with: soiljoule figures 'my out'"},
		{errors.Join(full("a"), full("b"), full("c")), full("a").Error() + ", and so 2 more; mend that and draw them with: soiljoule figures 'my out'"},
		{errors.Join(full("a"), other), full("a").Error() + "\nshare: no rows"},
		{errors.Join(other, fmt.Errorf("b: %w", other)), "share: no rows\nb: share: no rows"},
	} {
		if got := undrawn(c.err, "my out"); got != c.want {
			t.Errorf("%q is told as\n%s\nwant\n%s", strings.ReplaceAll(c.err.Error(), "\n", "; "), got, c.want)
		}
	}
}
