package solver

import (
	"errors"
	"fmt"

	"soiljoule/physics"
)

// hottest is the temperature [K] at which a run ends. Soils melt between some
// 1100 and 1700 °C (common practice, no source); no law of this program reaches
// so far, and a conductivity that rises with temperature at a held voltage would
// take the ground to any temperature, by ever shorter steps.
const hottest = 2273.15

// ErrHot is wrapped by the error of a run in which something grew hotter than that.
var ErrHot = errors.New("passes 2000 °C, where no law here holds")

// checkHot looks at the state that was just accepted.
func (r *run) checkHot() error {
	for c, t := range r.state.T {
		if t > hottest {
			g := r.ground.Grid
			what, remedy := "the ground, of melted soil,", "lower the voltage or the power, or set a limit"
			if r.charge == nil {
				remedy = "lower the set power"
			}
			if b := r.insertAt(c); b != nil {
				what, remedy = fmt.Sprintf("%q, a body of set power,", b.Name), "lower its power"
			}
			place := fmt.Sprintf("x or r = %.4g m, %.4g m deep", g.XC[c%g.NX], g.ZC[c/g.NX])
			if g.Level {
				place = fmt.Sprintf("x = %.4g m, y = %.4g m", g.XC[c%g.NX], g.ZC[c/g.NX])
			}
			return fmt.Errorf("t = %.6g d, at %s: %s %w; %s", r.state.Time/86400, place, what, ErrHot, remedy)
		}
	}
	return nil
}

// insertAt returns the body in which cell c lies; nil: in none.
func (r *run) insertAt(c int) *physics.Insert {
	if !r.ground.InInsert(c) {
		return nil
	}
	i, k := c%r.ground.Grid.NX, c/r.ground.Grid.NX
	for j := len(r.ground.Inserts) - 1; j >= 0; j-- { // the later one holds
		b := &r.ground.Inserts[j]
		if b.Zone.Contains(i, k) {
			return b
		}
	}
	return nil
}
