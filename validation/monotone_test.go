//dossier:chapter What more of it must do

package validation

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// What more of one thing must do to another, on random cases. Not held, because it is
// false: more inflow of groundwater, later. Where the wall of a rod would dry, inflow
// keeps it conducting, and the target is reached with inflow and not without:
// TestDryingWallStallsTheJob.

// pairs runs a property that compares a case with one of more, and holds that it
// failed in none.
type pairs struct {
	rows  [][]string
	wrong int
}

// add books one pair: rising says whether the second must be the larger.
func (p *pairs) add(t *testing.T, d *drawn, what, unit string, less, more float64, rising bool) {
	t.Helper()
	p.rows = append(p.rows, []string{d.name, fmt.Sprintf("%.5g %s", less, unit), fmt.Sprintf("%.5g %s", more, unit)})
	if !(more > less == rising && more != less) {
		p.wrong++
		t.Errorf("%s: %s goes from %.7g to %.7g %s, want it to %s", d.name, what, less, more, unit, map[bool]string{true: "rise", false: "fall"}[rising])
	}
}

// hold makes the table and the check. A property that compared less than half of its
// n cases says too little.
func (p *pairs) hold(t *testing.T, n int, claim, source string, head ...string) {
	t.Helper()
	if len(p.rows) < (n+1)/2 {
		t.Errorf("%s: only %d of %d random cases could be compared, want half of them or more", claim, len(p.rows), n)
	}
	table(t, claim, append([]string{"case"}, head...), p.rows)
	hold(t, check{claim + ": random cases in which it does not", source, float64(p.wrong), 0, "", 0})
}

// inStillAir sets the air to the ground's own temperature, so that what the surface
// loses is what heating brings there.
func inStillAir(c *cases.Case) *cases.Case {
	c = copied(c)
	c.Surface.Air = cases.Air{Constant: c.Site.Ambient}
	return c
}

// overshoot is by how much a field lies above another anywhere [K].
func overshoot(low, high outcome) float64 {
	worst := 0.0
	for c := range low.State.T {
		worst = math.Max(worst, low.State.T[c]-high.State.T[c])
	}
	return worst
}

// TestMoreFilmLosesMore: three times the film takes more heat through the surface, and
// leaves no cell warmer; resistance laid on top takes less, and leaves none colder.
//
// Where σ does not follow T that is the comparison principle of the heat equation; the
// time step does not keep it to the last digit, so a cell may err by the local error
// of 10 times the tolerance. Where σ follows T, only the totals are held, which is what
// these random cases show and no theorem: a warmer layer takes current from others.
// Source: comparison principle of the heat equation (Protter & Weinberger 1967, from
// memory).
func TestMoreFilmLosesMore(t *testing.T) {
	var film, cover pairs
	worst := 0.0
	for i, constant := range []bool{true, false} {
		wish{dry: true, constantSigma: constant, noLimit: true}.properties(t, uint64(21+i), few, func(d *drawn, c *cases.Case) {
			c = inStillAir(c)
			bare := finish(t, c, settled)
			windy, covered := copied(c), copied(c)
			windy.Surface.Film *= 3
			covered.Surface.Cover += 0.5
			w, v := finish(t, windy, settled), finish(t, covered, settled)
			kWh := func(o outcome) float64 { return o.Ledger.LossSurface / 3.6e6 }
			film.add(t, d, "what the surface loses under three times the film", "kWh", kWh(bare), kWh(w), true)
			cover.add(t, d, "what the surface loses under 0.5 m2*K/W more", "kWh", kWh(bare), kWh(v), false)
			if constant {
				worst = math.Max(worst, math.Max(overshoot(w, bare), overshoot(bare, v)))
			}
		})
	}
	film.hold(t, 2*few, "three times the film loses more through the surface", "comparison principle", "film as drawn", "three times")
	cover.hold(t, 2*few, "more resistance on top loses less through the surface", "comparison principle", "as drawn", "0.5 m2*K/W more")
	hold(t, check{"largest rise of a cell under more film or less cover, σ constant", "comparison principle", worst, 0, "K", 10 * settled})
}

// TestMoreVoltsAreSooner: a fifth more voltage, without limits, warms the zone more
// and brings nine tenths of the share that the lower voltage reaches by the end to the
// target's temperature sooner. With limits the power may be the same, and where the wall
// dries it may be less; neither is here.
//
// Where σ does not follow T the heat of every cell is V² times its own, and the
// comparison principle holds in every cell: none is colder, but for ten times the
// tolerance as in TestMoreFilmLosesMore. Where σ follows T the principle says nothing,
// for a layer that warms takes current from others; that the zone as a whole is then
// warmer sooner is what these random cases show, and no theorem.
// Source: comparison principle of the heat equation (Protter & Weinberger 1967, from
// memory); where σ follows T, common practice, no source.
func TestMoreVoltsAreSooner(t *testing.T) {
	holdMoreVolts(t, 25, true, ", σ constant", "comparison principle")
	holdMoreVolts(t, 23, false, ", σ following temperature", "common practice, no source")
}

func holdMoreVolts(t *testing.T, number uint64, constant bool, suffix, source string) {
	t.Helper()
	var mean, day pairs
	worst := 0.0
	wish{dry: true, constantSigma: constant, noLimit: true}.properties(t, number, few, func(d *drawn, c *cases.Case) {
		c = inStillAir(c)
		first := finish(t, c, settled)
		var zone []float64
		cells := first.problem.Targets[0].Zone.Cells(first.problem.Ground.Grid)
		for _, cell := range cells {
			zone = append(zone, first.State.T[cell])
		}
		slices.Sort(zone)
		c.Targets[0].Temperature, c.Targets[0].Boiling = zone[len(zone)/4], false // in three quarters of the cells reached
		higher := copied(c)
		higher.Supply.Voltage *= 1.2
		for i := range higher.Changes {
			if v := higher.Changes[i].Voltage; v != nil {
				u := *v * 1.2
				higher.Changes[i].Voltage = &u
			}
		}
		a, b := finish(t, c, settled), finish(t, higher, settled)
		reached := func(o outcome) float64 {
			g := o.problem.Ground.Grid
			return solver.Quantile(o.Crossing, cells, g.Volume, 0.9*a.Targets[0].Share) / 86400
		}
		mean.add(t, d, "the zone's mean under 1.2 times the voltage", "K", a.Targets[0].Mean, b.Targets[0].Mean, true)
		day.add(t, d, "the day of nine tenths of the share under 1.2 times the voltage", "d", reached(a), reached(b), false)
		worst = math.Max(worst, overshoot(a, b))
	})
	mean.hold(t, few, "more voltage warms the zone more"+suffix, source, "as drawn", "1.2 times")
	day.hold(t, few, "more voltage is sooner"+suffix, source, "as drawn", "1.2 times")
	if constant {
		hold(t, check{"largest fall of a cell under more voltage" + suffix, source, worst, 0, "K", 10 * settled})
	}
}

// TestWiderZonesLoseLessAtTheirSides: twice the rows on twice the width, of one
// pattern: the sides' share of the zone's heat falls, for they are the same two sides.
// Source: geometry; common practice, no source.
func TestWiderZonesLoseLessAtTheirSides(t *testing.T) {
	var sides pairs
	wish{view: cases.Section, dry: true, phases: 1, noLimit: true}.properties(t, 24, 2*few, func(d *drawn, c *cases.Case) {
		c = inStillAir(c)
		width := c.Targets[0].Right - c.Targets[0].Left
		wide := copied(c)
		wide.Targets[0].Right += width
		wide.Domain.Right += width
		for _, e := range c.Electrodes {
			e.Name, e.X = e.Name+" again", e.X+width
			wide.Electrodes = append(wide.Electrodes, e)
		}
		a, b := finish(t, c, settled), finish(t, wide, settled)
		share := func(o outcome) float64 { return 100 * o.Ledger.Zone.Sides / o.Ledger.Zone.Joule }
		if share(a) <= 0 {
			t.Logf("%s: heat enters through the sides: its electrodes' field is outside", d.name)
			return
		}
		sides.add(t, d, "the sides' share of a zone twice as wide", "%", share(a), share(b), false)
	})
	sides.hold(t, 2*few, "a wider zone loses a smaller share at its sides", "common practice, no source", "as drawn", "twice as wide")
}
