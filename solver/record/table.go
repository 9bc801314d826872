package record

import (
	"strconv"
	"strings"
)

// table is a CSV being filled.
type table struct{ strings.Builder }

func (t *table) head(cols ...string) { t.row(cols...) }

func (t *table) row(cells ...string) {
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

// num prints a number with twelve digits: past any use, short of rounding noise.
func num(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }
