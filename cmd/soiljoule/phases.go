package main

import (
	"fmt"
	"math/cmplx"
	"strings"

	"soiljoule/cases"
	"soiljoule/solver"
)

// phaseRow is what `check` says of one phase, or of the neutral.
type phaseRow struct {
	Phase string  `json:"phase"`
	Count int     `json:"count"`   // electrodes; of a section, rows
	Amps  float64 `json:"model_A"` // RMS, in the conductor that feeds all of them
}

// phases sums the cold currents of each phase's electrodes as phasors: that is what its
// conductor carries. Electrodes of one phase in unlike surroundings are not quite in step
// with each other, and those on the neutral may cancel.
func (r *checked) phases(c *cases.Case, p *solver.Problem) []phaseRow {
	var out []phaseRow
	for _, n := range c.PhaseCounts() {
		var sum complex128
		for b := range p.Electric.Bodies {
			if p.Electric.Bodies[b].Label == n.Phase && !p.Electric.Bodies[b].Floating {
				sum += r.cold.Current[b]
			}
		}
		out = append(out, phaseRow{n.Phase, n.Count, cmplx.Abs(sum) * r.cold.Voltage})
	}
	return out
}

// phasesText tells them in one line.
func phasesText(rows []phaseRow) string {
	var texts []string
	for _, n := range rows {
		texts = append(texts, fmt.Sprintf("%s %d (%.1f A together)", n.Phase, n.Count, n.Amps))
	}
	return strings.Join(texts, ", ")
}
