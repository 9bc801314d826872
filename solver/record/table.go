package record

import (
	"strconv"
	"strings"
	"time"
)

// table is a CSV of times being filled: its first column is time_d, and its second date where
// the date of power-on is known.
type table struct {
	strings.Builder
	powerOn time.Time // zero: no dates
}

// head writes the names of the columns, those after the time's.
func (t *table) head(cols ...string) {
	first := []string{"time_d"}
	if !t.powerOn.IsZero() {
		first = append(first, "date")
	}
	t.line(append(first, cols...)...)
}

// row writes what holds at a time [s] since power-on.
func (t *table) row(at float64, cells ...string) {
	first := []string{num(at / day)}
	if !t.powerOn.IsZero() {
		date := t.powerOn.Add(time.Duration(at * float64(time.Second)).Round(time.Second))
		first = append(first, date.Format("2006-01-02T15:04:05"))
	}
	t.line(append(first, cells...)...)
}

func (t *table) line(cells ...string) {
	for i, c := range cells {
		if i > 0 {
			t.WriteByte(',')
		}
		if strings.ContainsAny(c, ",\"\n\r") {
			c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
		}
		t.WriteString(c)
	}
	t.WriteByte('\n')
}

// num prints a number with twelve digits: past any use, short of rounding noise. A zero has
// no sign.
func num(v float64) string {
	if v == 0 {
		v = 0
	}
	return strconv.FormatFloat(v, 'g', 12, 64)
}
