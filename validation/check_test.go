// Package validation holds the program's claims against something outside it:
// closed forms, published tables, worked examples. Each test is named for its
// claim and opens with its source; sources.md lists them.
package validation

import (
	"encoding/json"
	"math"
	"os"
	"testing"
	"unicode/utf8"
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
// that is not zero, hands it to the dossier, and fails in a sentence when the
// number is off.
func hold(t *testing.T, c check) {
	t.Helper()
	scale, mark := 1.0, c.unit
	if c.want != 0 {
		scale, mark = math.Abs(c.want)/100, "%"
	}
	t.Logf("CHECK | %s | %s | got %.7g | want %.7g %s | error %.3g %s | tolerance %.3g %s", c.claim, c.source, c.got, c.want, c.unit,
		(c.got-c.want)/scale, mark, c.tol/scale, mark)
	attr(t, "check", map[string]any{"claim": c.claim, "source": c.source, "got": c.got, "want": c.want, "unit": c.unit, "tol": c.tol})
	if !(math.Abs(c.got-c.want) <= c.tol) {
		t.Errorf("%s is %.8g %s, want %.8g within %.3g (%s)", c.claim, c.got, c.unit, c.want, c.tol, c.source)
	}
}

// curve is one line of a figure, or a row of points.
type curve struct {
	Label  string    `json:"label"`
	X      []float64 `json:"x"`
	Y      []float64 `json:"y"`
	Points bool      `json:"points"`
}

// draw hands the dossier a figure: title and axes with their units, logarithmic
// if asked, its curves. The name is its file's.
func draw(t *testing.T, name, title, x, y string, logarithmic bool, curves ...curve) {
	t.Helper()
	attr(t, "figure", map[string]any{"name": name, "title": title, "x": x, "y": y, "log": logarithmic, "curves": curves})
}

// table hands the dossier a table for which a check a row is too little: column
// heads, then rows of as many cells.
func table(t *testing.T, title string, head []string, rows [][]string) {
	t.Helper()
	attr(t, "table", map[string]any{"title": title, "head": head, "rows": rows})
}

// misses tells the dossier of a bar that the program does not meet: what was asked
// and what is found. The bound that a test holds instead is a check of its own.
func misses(t *testing.T, claim, asked, found string) {
	t.Helper()
	t.Logf("MISSED | %s | asked: %s | found: %s", claim, asked, found)
	attr(t, "miss", map[string]any{"claim": claim, "asked": asked, "found": found})
}

// attr writes one attribute of the test where the dossier is being collected:
// go test -json carries it, and elsewhere it would only be noise. It goes in parts,
// because go test cuts a longer line and loses it: "+" before a part says that more
// follows, "." that none does.
func attr(t *testing.T, key string, value any) {
	t.Helper()
	if os.Getenv("SOILJOULE_DOSSIER") == "" {
		return
	}
	b, err := json.Marshal(value)
	if err != nil {
		t.Fatalf("%s of %s: %v", key, t.Name(), err)
	}
	const most = 2000 // bytes of a part; go test cuts at 4096
	for len(b) > most {
		n := most
		for !utf8.RuneStart(b[n]) {
			n--
		}
		t.Attr(key, "+"+string(b[:n]))
		b = b[n:]
	}
	t.Attr(key, "."+string(b))
}

// order returns the observed order of convergence between successive errors of
// a halved quantity.
func order(coarse, fine float64) float64 { return math.Log2(coarse / fine) }
