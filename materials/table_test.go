package materials

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// row is one line of a reference table, by column.
type row map[string]string

// readTable reads a reference table of validation/testdata. Its header comment
// names the sources.
func readTable(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "validation", "testdata", name))
	if err != nil {
		t.Fatalf("the reference table cannot be opened: %v", err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatalf("the reference table %s cannot be read: %v", name, err)
	}
	rows := make([]row, 0, len(lines)-1)
	for _, line := range lines[1:] {
		m := row{}
		for i, column := range lines[0] {
			m[column] = line[i]
		}
		rows = append(rows, m)
	}
	return rows
}

// num is the number in a column.
func (r row) num(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s of row %v holds no number: %v", column, r, err)
	}
	return v
}

// param is the number after "name=" in a column of prose.
func (r row) param(t *testing.T, column, name string) float64 {
	t.Helper()
	m := regexp.MustCompile(`\b` + name + `=([0-9.]+)`).FindStringSubmatch(r[column])
	if m == nil {
		t.Fatalf("%q of row %v names no %s", column, r, name)
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatalf("%s in %q is no number: %v", name, r[column], err)
	}
	return v
}

// halfDigit is half a unit of the n-th significant digit of v, plus rounding of v.
func halfDigit(v float64, n int) float64 {
	return 0.5*math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-float64(n-1)) + 1e-14*math.Abs(v)
}

// near fails in a sentence if got is further from want than tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.10g, want %.10g ± %.2g (off by %.2g)", what, got, want, tol, got-want)
	}
}
