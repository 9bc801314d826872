package cases

import (
	"fmt"
	"slices"
)

// longGap is how many times the usual distance of a meter's rows is a gap.
const longGap = 5

// Gaps are where rows of a metered power are missing and a straight line stands for them.
type Gaps struct {
	Usual float64      // [s] the median of the rows' distances
	Spans [][2]float64 // [s] from and to
	Share float64      // [-] of all the file's energy that lies in them
}

// MeterGaps returns the rows of the metered power that are further apart than longGap times
// their median, unless both have no power. A file of few rows is drawn by hand and has none.
func (c *Case) MeterGaps() Gaps {
	rows := c.Supply.Metered.Series
	var apart []float64
	for i := 1; i < len(rows); i++ {
		apart = append(apart, rows[i].Time-rows[i-1].Time)
	}
	if len(apart) < 10 {
		return Gaps{}
	}
	slices.Sort(apart)
	g := Gaps{Usual: apart[len(apart)/2]}
	energy, all := 0.0, 0.0
	for i := 1; i < len(rows); i++ {
		a, b := rows[i-1], rows[i]
		e := (a.Power + b.Power) / 2 * (b.Time - a.Time)
		all += e
		if b.Time-a.Time > longGap*g.Usual && e != 0 {
			energy += e
			g.Spans = append(g.Spans, [2]float64{a.Time, b.Time})
		}
	}
	if energy > 0 {
		g.Share = energy / all
	}
	return g
}

// gapCaution names them.
func (c *Case) gapCaution() []string {
	g := c.MeterGaps()
	if len(g.Spans) == 0 {
		return nil
	}
	longest := g.Spans[0]
	for _, s := range g.Spans {
		if s[1]-s[0] > longest[1]-longest[0] {
			longest = s
		}
	}
	gaps := "a gap"
	if n := len(g.Spans); n > 1 {
		gaps = fmt.Sprintf("%d gaps, the longest", n)
	}
	return []string{fmt.Sprintf("The rows of supply.metered, as a rule %.3g h apart, have %s from day %.4g to day %.4g: the power there is taken as a straight line, %.2g %% of all the file's energy.",
		g.Usual/3600, gaps, longest[0]/86400, longest[1]/86400, 100*g.Share)}
}
