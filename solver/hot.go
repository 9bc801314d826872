package solver

import (
	"errors"
	"fmt"
)

// hottest is the temperature [K] at which a run ends. Soils melt between some
// 1100 and 1700 °C (common practice, no source); no law of this program reaches
// so far, and a conductivity that rises with temperature at a held voltage would
// take the ground to any temperature, by ever shorter steps.
const hottest = 2273.15

// ErrHot is wrapped by the error of a run whose ground grew hotter than any soil.
var ErrHot = errors.New("the ground passes 2000 °C, where soil has melted and no law here holds")

// checkHot looks at the state that was just accepted.
func (r *run) checkHot() error {
	for c, t := range r.state.T {
		if t > hottest {
			g := r.ground.Grid
			return fmt.Errorf("t = %.6g d, at x or r = %.4g m, %.4g m deep: %w; lower the voltage or the power, or set a limit",
				r.state.Time/86400, g.XC[c%g.NX], g.ZC[c/g.NX], ErrHot)
		}
	}
	return nil
}
