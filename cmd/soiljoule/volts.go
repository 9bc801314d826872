package main

import (
	"fmt"
	"strings"

	"soiljoule/cases"
	"soiljoule/physics"
)

// basisVolts writes a voltage [V, RMS phase to neutral], and beside it that between
// phases where the case gives its voltages so.
func basisVolts(s cases.Supply, v float64) string {
	if s.VoltageBasis == "phase to phase" {
		return fmt.Sprintf("%.4g V (%.4g V phase to phase)", v, s.BetweenPhases(v))
	}
	return fmt.Sprintf("%.4g V", v)
}

// suppliedText tells the supply's voltage cold, and by which limit it is held back from
// which power: all currents go with the one voltage, unless electrodes have their own.
func (r *checked) suppliedText() string {
	text := fmt.Sprintf("%.4g V RMS phase to neutral", r.supplied)
	if r.supply.VoltageBasis == "phase to phase" {
		text += fmt.Sprintf(" (%.4g V phase to phase)", r.supply.BetweenPhases(r.supplied))
	}
	if r.cold.Limit == physics.Metered {
		return text + ", as metered, no limit applied"
	}
	text += ", limits included"
	if !r.cold.Limit.HoldsBack() || r.supplied <= 0 {
		return text
	}
	text += fmt.Sprintf(": held back by the %s limit from %s", strings.Replace(string(r.cold.Limit), "kva", "kVA", 1), basisVolts(r.supply, r.set))
	if r.alike {
		times := r.set / r.supplied
		text += fmt.Sprintf(" and %.1f kW", r.ColdKW*times*times)
	}
	return text
}
