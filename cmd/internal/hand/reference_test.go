package hand

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// referenceTable reads a table of validation/testdata by lines; its first lines name
// the sources.
func referenceTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "validation", "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// analytic is the value of a row of analytic_values.csv.
func analytic(t *testing.T, id, text string) float64 {
	t.Helper()
	for _, r := range referenceTable(t, "analytic_values.csv") {
		if r[0] == id && r[1] == text {
			return num(t, r[3])
		}
	}
	t.Fatalf("analytic_values.csv has no row %s %q", id, text)
	return 0
}

func num(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// near fails in a sentence if got is further from want than tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.10g, want %.10g ± %.2g (off by %.2g)", what, got, want, tol, got-want)
	}
}

// tenDigits is half a unit of the tenth digit, to which analytic_values.csv is printed.
func tenDigits(v float64) float64 {
	return 0.5 * math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-9)
}
