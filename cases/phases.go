package cases

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"soiljoule/physics"
)

// phaseCautions names phases without any electrode, and phases that have unlike numbers of
// them; of is what is counted.
func (c *Case) phaseCautions(of string) []string {
	counts := c.PhaseCounts()
	low, high := math.MaxInt, 0
	var texts, used []string
	has := map[string]bool{}
	for _, p := range counts {
		texts = append(texts, fmt.Sprintf("%s %d", p.Phase, p.Count))
		if has[p.Phase] = true; p.Phase != "N" {
			used = append(used, p.Phase)
			low, high = min(low, p.Count), max(high, p.Count)
		}
	}
	var out, idle []string
	for i := range poles(c.Supply.Phases) {
		if name := string(rune('A' + i)); !has[name] {
			idle = append(idle, name)
		}
	}
	if len(idle) > 0 && len(used) > 0 {
		out = append(out, fmt.Sprintf("No electrode is on phase %s: the supply is loaded on %s alone.", list(idle, "or"), list(used, "and")))
	}
	if low < high {
		text := "Unequal numbers of " + of + " a phase (" + strings.Join(texts, ", ") + "): the phases draw unequal currents. The voltages are imposed all the same"
		if !c.onNeutral() {
			why := "with the neutral floating"
			if c.Supply.Neutral != "floating" {
				why = "with no electrode on the neutral"
			}
			text += "; " + why + ", the potential of the ground far from the electrodes is not the neutral's"
		}
		out = append(out, text+".")
	}
	return out
}

// BetweenPhases returns v [V, RMS phase to neutral] as volts in the supply's basis, the
// inverse of PhaseVoltage.
func (s Supply) BetweenPhases(v float64) float64 { return v / s.PhaseVoltage(1) }

// mostBetween returns the largest voltage between two electrodes that are each at v [V, RMS
// phase to neutral].
func (c *Case) mostBetween(v float64) float64 {
	most := 0.0
	counts := c.PhaseCounts()
	for j := range counts {
		for i := range counts[:j] {
			most = max(most, cmplx.Abs(physics.Phasor(c.Supply.Phases, counts[i].Phase)-physics.Phasor(c.Supply.Phases, counts[j].Phase)))
		}
	}
	return most * v
}

// lateCaution names changes of the supply that the run ends before, and those at its end,
// which its last row shows.
func (c *Case) lateCaution() []string {
	first, end := inf, false
	for i := range c.Changes {
		switch at := c.Changes[i].At; {
		case at > c.Time.Duration:
			first = math.Min(first, at)
		case at == c.Time.Duration:
			end = true
		}
	}
	var out []string
	if end {
		out = append(out, fmt.Sprintf("A [[change]] on day %.4g, when the run ends, heats nothing: the last rows and the last load of the summary are those after it.", c.Time.Duration/day))
	}
	if first < inf {
		out = append(out, fmt.Sprintf("[[change]] from day %.4g on change nothing: the run ends on day %.4g.", first/day, c.Time.Duration/day))
	}
	return out
}
