//dossier:chapter Plans

//go:build validate

package validation

import (
	"fmt"
	"testing"
)

// TestRoundTripOfHeat: after 20 days the ground midway between alternating rows of short rods
// is as warm by plan as by section, on average over the slab.
//
// Source: the section, as in TestRoundTripOfHeatWhenCold. Tolerance 10 % of the rise, half
// of what the section's power there is held to: midway a section heats more than rods do
// while cold, by 11 to 14 %, and a plan as its rods come to draw more. +0.23 K of 4.5 K and
// −0.07 K of 3.7 K were found. As the ground warms the views part: a section averages along a
// row, and its rods do not see that the ground beside them is warmer than the row. Line
// sources of 125 W/m, half of a rod's power, make that some 30 K in 20 days,
// 125/(4π 1.6) (ln(4αt/a²) − 0.58), and the half of a rod's resistance that lies there
// follows by 1.9 % a kelvin. So the plan's rods draw no less than the section's by then, and
// at most 1 + 0.5 × 0.019 × 30 = 1.3 times that: 1.13 and 1.16 were found.
func TestRoundTripOfHeat(t *testing.T) {
	var rows [][]string
	for _, length := range []float64{3, 1.8} {
		h := heatedRows{apart: 4, inRow: 4, top: 2, length: length, rods: 15, finest: 0.2, days: 20}
		_, s := h.run(t, false)
		_, p := h.run(t, true)
		name := fmt.Sprintf(", rods %g m long, day 20", length)
		hold(t, check{"mean temperature rise midway between rows by plan" + name, "the section's", p.rise, s.rise, "K", 0.1 * s.rise})
		hold(t, check{"current of a rod in the middle by plan over the section's" + name, "the section's, and what rods warm beside them", p.current / s.current, 1.15, "-", 0.15})
		rows = append(rows, []string{fmt.Sprintf("%g", length), fmt.Sprintf("%.2f, %.2f", s.rise, p.rise), fmt.Sprintf("%.2f, %.2f", s.current, p.current), fmt.Sprintf("%.2f, %.2f", s.power, p.power)})
	}
	table(t, "Rows of short rods by section and by plan after 20 days, 30 Ω·m, 60 V", []string{"rods' length, m", "rise midway, K", "current, A", "power density midway, W/m³"}, rows)
}
