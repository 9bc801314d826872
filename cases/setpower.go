package cases

import "math"

// SetPower is the sum of all bodies of set power against time, straight from row to
// row as each of them is: its rows are the rows of all.
type SetPower struct{ sum powerSum }

// SetPower returns the set power of the case; nil: it has none.
func (c *Case) SetPower() *SetPower {
	if len(c.Heats) == 0 {
		return nil
	}
	var series [][]PowerPoint
	for i := range c.Heats {
		p := &c.Heats[i].Power
		rows := p.Series
		if len(rows) == 0 {
			rows = []PowerPoint{{Time: 0, Power: p.Constant}}
		}
		series = append(series, rows)
	}
	// In pairs, so that a row is touched as often as the bodies can be halved.
	for len(series) > 1 {
		var fewer [][]PowerPoint
		for i := 0; i < len(series); i += 2 {
			if i+1 < len(series) {
				fewer = append(fewer, together(series[i], series[i+1]))
			} else {
				fewer = append(fewer, series[i])
			}
		}
		series = fewer
	}
	return &SetPower{newPowerSum(&Power{Series: series[0]})}
}

// together returns the sum of two series, level beyond their rows.
func together(a, b []PowerPoint) []PowerPoint {
	sa, sb := powerSum{rows: a}, powerSum{rows: b}
	out := make([]PowerPoint, 0, len(a)+len(b))
	for i, j := 0, 0; i < len(a) || j < len(b); {
		t := math.Inf(1)
		if i < len(a) {
			t = a[i].Time
		}
		if j < len(b) {
			t = math.Min(t, b[j].Time)
		}
		for i < len(a) && a[i].Time <= t {
			i++
		}
		for j < len(b) && b[j].Time <= t {
			j++
		}
		out = append(out, PowerPoint{t, sa.at(t) + sb.at(t)})
	}
	return out
}

// At returns the set power [W] at a time [s].
func (p *SetPower) At(t float64) float64 { return p.sum.at(t) }

// Energy returns the heat [J] set between two times [s].
func (p *SetPower) Energy(from, to float64) float64 { return p.sum.until(to) - p.sum.until(from) }

// Peak returns the largest set power [W] between two times [s], both included, and
// when it is first reached, but for rounding.
func (p *SetPower) Peak(from, to float64) (watts, at float64) {
	watts, at = p.At(from), from
	rows := p.Rows(from, to)
	for _, r := range rows {
		watts = math.Max(watts, r.Power)
	}
	for _, r := range rows {
		if r.Power >= watts*(1-1e-12) {
			return watts, r.Time
		}
	}
	return watts, at
}

// Rows returns the set power between two times [s]: its value at either, and its own
// rows between them.
func (p *SetPower) Rows(from, to float64) []PowerPoint {
	rows := []PowerPoint{{from, p.At(from)}}
	for i := p.sum.row(from) + 1; i < len(p.sum.rows) && p.sum.rows[i].Time < to; i++ {
		rows = append(rows, p.sum.rows[i])
	}
	if to > from {
		rows = append(rows, PowerPoint{to, p.At(to)})
	}
	return rows
}
