package main

import (
	"fmt"
	"math"

	"soiljoule/cases"
	"soiljoule/cmd/internal/hand"
	"soiljoule/physics"
	"soiljoule/solver"
)

// checkedPlan is what `check` says of a plan alone.
type checkedPlan struct {
	TopM          float64    `json:"top_m"`
	BottomM       float64    `json:"bottom_m"`
	Phases        []phaseRow `json:"phases"`
	NearestLeastM float64    `json:"nearest_least_m"` // from electrode to electrode; 0: there are no two
	NearestMostM  float64    `json:"nearest_most_m"`
	Fringe        float64    `json:"fringe"`       // power of the finite rods over that of the slab, all fed; 1: none
	FringeLeast   float64    `json:"fringe_least"` // the same of current, by electrode
	FringeMost    float64    `json:"fringe_most"`
	Groundwater   *water     `json:"groundwater,omitempty"` // mean of the slab's layers
}

// plan counts the electrodes of a plan.
func (r *checked) plan(c *cases.Case, p *solver.Problem) {
	if c.View != cases.Plan {
		return
	}
	out := &checkedPlan{TopM: c.Extent.Top, BottomM: c.Extent.Bottom, Fringe: 1, FringeLeast: 1, FringeMost: 1}
	if p.Electric != nil {
		f := p.Electric.Fringed()
		out.Fringe, out.FringeLeast, out.FringeMost = f.Factor, f.Least, f.Most
	}
	out.Phases = r.phases(c, p)
	for _, d := range c.Nearest() {
		if math.IsInf(d, 1) {
			continue
		}
		if out.NearestLeastM == 0 || d < out.NearestLeastM {
			out.NearestLeastM = d
		}
		out.NearestMostM = max(out.NearestMostM, d)
	}
	slab := c.SlabWater()
	out.Groundwater = groundwater(&slab, c.Site.Ambient, c.View)
	r.Plan = out
}

// printPlan prints the slab and the electrodes by phase.
func (r *checked) printPlan(line func(string, ...any), u units) {
	p := r.Plan
	line("slab    %s", u.between(p.TopM, p.BottomM))
	if p.Groundwater != nil {
		line("        groundwater, mean of its layers: %s", p.Groundwater.text(u))
	}
	if len(p.Phases) == 0 {
		return
	}
	line("phases  %s", phasesText(p.Phases))
	if p.NearestLeastM > 0 {
		line("        nearest neighbours %s to %s apart", u.length(p.NearestLeastM), u.length(p.NearestMostM))
	}
	by := fmt.Sprintf("%.3f", p.FringeLeast)
	if most := fmt.Sprintf("%.3f", p.FringeMost); most != by {
		by += " to " + most
	}
	line("        finite rods over the slab's: power %.3f, current %s by electrode, all fed", p.Fringe, by)
}

// planArray tells how an array of a plan was laid out.
func planArray(u units, a *cases.Array, l cases.Layout, phases int) string {
	if a.Pattern == "ring" {
		text := fmt.Sprintf("array %s: ring of %d electrodes, %s across", l.Array, a.Count, u.length(a.Diameter))
		if a.CenterNeutral {
			text += ", and one on the neutral in its middle"
		}
		return text
	}
	text := fmt.Sprintf("array %s: %d electrodes, %s, %s apart: compare with your drawing before you trust a total", l.Array, l.Rods, a.Pattern, u.length(a.Spacing))
	switch {
	case phases == 1 && a.Pattern == "triangular":
		text += "; rows alternate between the two poles: four of six neighbours differ"
	case phases == 3 && a.Pattern == "rectangular":
		text += "; the four neighbours differ in phase, two of the four diagonal ones do not"
	}
	return text
}

// planClosedForm returns V/(ρI′) of the electrodes of a plan, for endless rods or for
// rods of finite length that carry so many times as much, and says what it is; 0: there
// is none. Of a grid it is an interior electrode's, which have the least of all.
func planClosedForm(drawn *cases.Case, fringe physics.Fringe) (perMetre float64, text string) {
	if len(drawn.Arrays) != 1 || len(drawn.Electrodes) > 0 {
		return 0, ""
	}
	a := &drawn.Arrays[0]
	times, finite := fringe.Least, "; times %.3f, the least of the electrodes, for rods of finite length"
	if a.Pattern == "ring" {
		times, finite = fringe.Factor, "; times %.3f for rods of finite length"
	}
	if times == 0 {
		times = 1
	}
	finite = fmt.Sprintf(finite, times)
	switch {
	case a.Pattern == "ring": // the one in its middle is at the neutral's potential, and carries nothing
		phases := drawn.Supply.Phases
		if phases == 1 {
			phases = 2
		}
		x := hand.RingLog(a.Count, phases, a.Diameter, a.Radius)
		return x / (2 * math.Pi * times), fmt.Sprintf("ring of endless rods in uniform ground, I = 2πV·Σ(ℓ/ρ)/ln(%.4g R/a)", math.Exp(x)*2*a.Radius/a.Diameter) + finite
	case a.Pattern == "rectangular" && drawn.Supply.Phases == 6: // its lines of one phase are not staggered by a half
		return 0, ""
	}
	distance, along := lines(a, drawn.Supply.Phases)
	x := physics.RowsImpedance(distance, along, a.Radius, true, drawn.Supply.Phases)
	return x / times, fmt.Sprintf("interior electrode of an endless %s grid of endless rods, I = 2πV·Σ(ℓ/ρ)/ln(%.3g s/a)", a.Pattern, math.Exp(2*math.Pi*x)*a.Radius/a.Spacing) + finite + "; those at the edge differ"
}

// lines returns how far apart the lines of one phase lie that a plan's grid is made of, and
// its electrodes in a line [m], as an array's phases go on from place to place. Each line is
// staggered to the next by half of that.
func lines(a *cases.Array, phases int) (distance, along float64) {
	s := a.Spacing
	switch {
	case a.Pattern == "rectangular": // the diagonals
		return s / math.Sqrt2, s * math.Sqrt2
	case phases == 1: // the rows along nearest neighbours
		return s * math.Sqrt(3) / 2, s
	}
	return s / 2, s * math.Sqrt(3)
}
