package main

import (
	"fmt"
	"math/cmplx"

	"soiljoule/cases"
	"soiljoule/physics"
	"soiljoule/solver"
)

// mostCold is the cold current of one rod [A] beyond which input is likely wrong: common
// practice, no source.
const mostCold = 1000

// Less than these in a whole site is the rounding of one that takes nothing.
const (
	leastEnergy = 1.0  // [J]
	leastPower  = 1e-6 // [W]
)

// largestRod returns the largest current of one rod [A] of a state.
func largestRod(p *solver.Problem, s *solver.State) float64 {
	most := 0.0
	if p.Electric == nil {
		return 0
	}
	for b := range p.Electric.Bodies {
		most = max(most, cmplx.Abs(s.Current[b])*s.Voltage/p.Electric.Bodies[b].Rods)
	}
	return most
}

// coldCaution names a cold current [A] of one rod that no rod carries.
func coldCaution(amps float64) []string {
	if amps <= mostCold {
		return nil
	}
	return []string{fmt.Sprintf("A rod carries %.4g A cold, more than %d A: no usual cable or rod does. Look at voltage, resistivity and their units, and at supply.current_limit.", amps, mostCold)}
}

// offBecause says why the electrodes of a case take no power at a report.
func offBecause(c *cases.Case, r *solver.Report) string {
	switch limit := r.State.Limit; {
	case limit == physics.Setpoint:
		return "[control] holds the supply off, as the ground is above its setpoint"
	case limit == physics.Outage:
		return "the supply is off by supply.outages"
	case r.Cooling.Off() && r.OffAt == 0:
		return "supply.off is held, and the first target was held from the start"
	case limit == physics.Off && c.Supply.Metered.File != "":
		return "the metered power of supply.metered is 0"
	case limit == physics.Metered && r.State.Voltage == 0:
		return "the metered power of supply.metered begins at 0"
	case limit == physics.Off:
		return "the supply is off by a [[change]]"
	case r.Setting.Reference() == 0:
		return "no voltage is set"
	}
	return "all electrodes are off, those that are on are on one phase, or the ground between them passes no current"
}

// idleCaution names a run in which no energy came in.
func idleCaution(c *cases.Case, r *solver.Report) []string {
	if len(c.Electrodes) == 0 || r.Ledger.In > leastEnergy || r.Stats.Steps == 0 {
		return nil
	}
	return []string{"No energy came in: " + offBecause(c, r) + "."}
}
