package cases

import (
	"fmt"
	"slices"
)

// longGap is how many times the usual distance of a meter's rows is a gap.
const longGap = 5

// gapCaution names where rows of a metered power are missing and a straight line stands for
// them: rows further apart than longGap times their median, unless both have no power.
func (c *Case) gapCaution() []string {
	rows := c.Supply.Metered.Series
	var apart []float64
	for i := 1; i < len(rows); i++ {
		apart = append(apart, rows[i].Time-rows[i-1].Time)
	}
	if len(apart) < 10 { // drawn by hand
		return nil
	}
	slices.Sort(apart)
	usual := apart[len(apart)/2]
	n, at, energy, all := 0, 0, 0.0, 0.0
	for i := 1; i < len(rows); i++ {
		a, b := rows[i-1], rows[i]
		e := (a.Power + b.Power) / 2 * (b.Time - a.Time)
		all += e
		if !(b.Time-a.Time > longGap*usual) || e == 0 {
			continue
		}
		n, energy = n+1, energy+e
		if at == 0 || b.Time-a.Time > rows[at].Time-rows[at-1].Time {
			at = i
		}
	}
	if n == 0 {
		return nil
	}
	gaps := "a gap"
	if n > 1 {
		gaps = fmt.Sprintf("%d gaps, the longest", n)
	}
	return []string{fmt.Sprintf("The rows of supply.metered, as a rule %.3g h apart, have %s from day %.4g to day %.4g: the power there is taken as a straight line, %.2g %% of all the file's energy.",
		usual/3600, gaps, rows[at-1].Time/86400, rows[at].Time/86400, 100*energy/all)}
}
