//dossier:chapter Boiling

package validation

import (
	"math"
	"testing"
)

// TestAddedWaterKeepsAWallWet: water let in at the wall of a rod at a rate above what boils
// there keeps the wall's ring as wet as found, and the rest goes down; the ring next to it
// dries later, and more current flows, as the explicit program says; at a rate below that,
// the wall dries later than without. Bounds as in TestWallDriesAsARadialIntegrationSays;
// the wall's ring may hold one step's water that has not yet gone down.
// Source: own explicit radial integration, in validation/explicit_test.go; conservation.
func TestAddedWaterKeepsAWallWet(t *testing.T) {
	w := wallCell{parts: 10, growth: 1.15, days: 20}
	without := w.run(t)
	for _, c := range []struct {
		name string
		rate float64 // [kg/s]; a ring of a/10 with 18 A takes 51 W, 2e-5 kg/s with water from 10 °C
	}{{"more water than boils", 4e-5}, {"less water than boils", 8e-6}} {
		w.added = c.rate
		want, got := w.explicit(t, 0.4), w.run(t)
		got.hold(t, c.name, want, w.days)
		l := &got.ledger.Water
		hold(t, check{c.name + ": water added", "rate × time", l.Added, c.rate * w.days * day, "kg", 1e-9 * l.Added})
		hold(t, check{c.name + ": water that its ledger misses", "conservation", l.Added - l.Stored - l.Steam - l.ToGroundwater, 0, "kg", 1e-8 * l.Added})
		if got.charge() < 1.02*without.charge() {
			t.Errorf("with %s the charge is %.5g A*s, without %.5g: want a fiftieth more", c.name, got.charge(), without.charge())
		}
		if c.rate > 2e-5 {
			least := math.Inf(1)
			for _, W := range got.wall {
				least = math.Min(least, W)
			}
			found := 0.4 * 998.2
			// Ring and water of one stage: 51 W × some hours are a per cent of its water.
			hold(t, check{c.name + ": least water of the wall's ring", "as found", least, found, "kg/m3", 0.02 * found})
			continue
		}
		hold(t, check{c.name + ": day on which the wall's ring is dry", sourceWall, got.dries(0.999) / day, want.dries(0.999) / day, "d", 0.01 * want.dries(0.999) / day})
		if a, b := got.dries(0.999), without.dries(0.999); !(a > b) {
			t.Errorf("with %s the wall's ring is dry on day %.4g, without on day %.4g: want later", c.name, a/day, b/day)
		}
	}
}
