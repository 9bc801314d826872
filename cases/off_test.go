package cases

import (
	"bytes"
	"math"
	"testing"
)

// TestOffWrites: each way to switch off, and a wall's cell, is written as it was read, and
// what is left out stays out.
func TestOffWrites(t *testing.T) {
	for _, sets := range [][]string{nil, {"supply.off=held"}, {"supply.off=14 d"}, {"supply.off=0.7 yr", "mesh.wall=0.4 in"}} {
		c, _ := mustParse(t, wiredCell, sets...).Expand()
		var b bytes.Buffer
		if err := c.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		again := mustParse(t, b.String())
		sameCase(t, again, c)
		if again.Supply.Off != c.Supply.Off || len(sets) == 0 && (again.Supply.Off != (Off{}) || !math.IsNaN(again.Mesh.Wall)) {
			t.Errorf("%q: power off is read again as %+v of %+v, and the wall's cell as %g m", sets, again.Supply.Off, c.Supply.Off, again.Mesh.Wall)
		}
	}
}
