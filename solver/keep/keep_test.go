package keep

import (
	"errors"
	"math"
	"strings"
	"testing"
)

type word string

type inner struct {
	hidden float64
	Face   [2][]float64
}

type outer struct {
	inner
	X      float64
	n      int
	on     bool
	by     word
	z      complex128
	at     *float64
	Fields []float64
	Phasor []complex128
	Rows   []inner
	Words  []word
	left   func()
}

// TestRoundTrip: every kind of field comes back to its bits: NaN, infinities, −0 and the
// smallest number among them.
func TestRoundTrip(t *testing.T) {
	place := math.Copysign(0, -1)
	a := outer{inner: inner{hidden: math.SmallestNonzeroFloat64, Face: [2][]float64{{1, math.NaN()}, {}}}, X: math.Inf(-1), n: -7, on: true, by: "power",
		z: complex(0.1, math.Inf(1)), at: &place, Fields: []float64{1. / 3}, Phasor: []complex128{complex(1e300, -2)},
		Rows: []inner{{hidden: 3}, {hidden: math.NaN()}}, Words: []word{"", "own current"}}
	var s Store
	s.Put("a", &a, "left")
	b := outer{inner: inner{Face: [2][]float64{make([]float64, 2), {}}}, Fields: make([]float64, 1), Phasor: make([]complex128, 1), left: func() {}}
	if err := s.Get("a", &b, "left"); err != nil {
		t.Fatal(err)
	}
	same := func(what string, x, y float64) {
		if math.Float64bits(x) != math.Float64bits(y) {
			t.Errorf("%s came back as %v, want %v", what, y, x)
		}
	}
	same("an unexported number", a.hidden, b.hidden)
	same("the infinity", a.X, b.X)
	same("the pointer's −0", *a.at, *b.at)
	same("an array's NaN", a.Face[0][1], b.Face[0][1])
	same("a third", a.Fields[0], b.Fields[0])
	same("a row's number", a.Rows[1].hidden, b.Rows[1].hidden)
	if a.n != b.n || !b.on || b.by != a.by || a.z != b.z || a.Phasor[0] != b.Phasor[0] || len(b.Words) != 2 || b.Words[1] != a.Words[1] || b.left == nil {
		t.Errorf("came back as %+v, want %+v", b, a)
	}
}

// TestGetRefuses: what is missing or of another shape is an error and no panic.
func TestGetRefuses(t *testing.T) {
	full := func() *Store {
		var s Store
		s.Put("a", &outer{Rows: make([]inner, 2), Fields: make([]float64, 3)}, "left")
		return &s
	}
	for name, c := range map[string]struct {
		spoil func(s *Store)
		want  error
	}{
		"no number":    {func(s *Store) { delete(s.Values, "a.X") }, ErrMissing},
		"no array":     {func(s *Store) { delete(s.Arrays, "a.Fields") }, ErrMissing},
		"a word":       {func(s *Store) { s.Values["a.X"] = "much" }, ErrShape},
		"short":        {func(s *Store) { s.Arrays["a.Fields"] = make([]float64, 2) }, ErrShape},
		"no length":    {func(s *Store) { delete(s.Values, "a.Rows.len") }, ErrMissing},
		"many rows":    {func(s *Store) { s.Values["a.Rows.len"] = "1000000000000" }, ErrShape},
		"fewer than 0": {func(s *Store) { s.Values["a.Rows.len"] = "-1" }, ErrShape},
		"no pointer":   {func(s *Store) { delete(s.Values, "a.at.set") }, ErrMissing},
		"half a z":     {func(s *Store) { delete(s.Values, "a.z.im") }, ErrMissing},
	} {
		s := full()
		c.spoil(s)
		err := s.Get("a", &outer{Fields: make([]float64, 3)}, "left")
		if !errors.Is(err, c.want) || !strings.HasPrefix(err.Error(), "a.") {
			t.Errorf("%s: Get says %v, want an error that names the field and %q", name, err, c.want)
		}
	}
}
