package record

import (
	"testing"

	"soiljoule/cases"
)

// TestUnitsAreThoseOfCases: a folder's pounds, yards and gallons are those that a case is
// read in, to the last bit; this package may not import them.
func TestUnitsAreThoseOfCases(t *testing.T) {
	for _, u := range []struct {
		name         string
		here, inCase float64
	}{
		{"pound [kg]", kgPerPound, cases.Pound},
		{"cubic yard [m³]", yard3, cases.CubicYard},
		{"gallon [m³]", gallon, cases.Gallon},
	} {
		if u.here != u.inCase {
			t.Errorf("%s is %.17g here and %.17g in cases", u.name, u.here, u.inCase)
		}
	}
}
