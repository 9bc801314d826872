// Package validation holds the program's claims against something outside it:
// closed forms, published tables, worked examples. Each test is named for its
// claim and opens with its source; sources.md lists them.
package validation

import (
	"math"
	"testing"
)

// check is one number held against a source.
type check struct {
	claim  string  // what is claimed, with the place and time of the number
	source string  // work and where in it
	got    float64 // from the program
	want   float64 // from the source
	unit   string
	tol    float64 // absolute, in unit; derived beside the call
}

// hold logs the check as one row, error and tolerance as shares of want where
// that is not zero, and fails in a sentence when the number is off.
func hold(t *testing.T, c check) {
	t.Helper()
	scale, mark := 1.0, c.unit
	if c.want != 0 {
		scale, mark = math.Abs(c.want)/100, "%"
	}
	t.Logf("CHECK | %s | %s | got %.7g | want %.7g %s | error %.3g %s | tolerance %.3g %s", c.claim, c.source, c.got, c.want, c.unit,
		(c.got-c.want)/scale, mark, c.tol/scale, mark)
	if !(math.Abs(c.got-c.want) <= c.tol) {
		t.Errorf("%s is %.8g %s, want %.8g within %.3g (%s)", c.claim, c.got, c.unit, c.want, c.tol, c.source)
	}
}

// order returns the observed order of convergence between successive errors of
// a halved quantity.
func order(coarse, fine float64) float64 { return math.Log2(coarse / fine) }
