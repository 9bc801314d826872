//dossier:chapter Plans

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/mesh"
)

// TestWideRingsAreColdInTheMiddle: the wider a ring of six in six phases, the colder its
// middle. Of all the power, spread over the electrode circle, the middle has
// 1.5/ln(2√3 R/a), which falls slowly; at one voltage its watts fall faster than 1/R², to
// less than a sixth from 30 to 66 ft.
// Source: superposition of line currents, V = ρI′ ln(2√3 R/a)/(2π); in the middle
// E = 3ρI′/(2πR) in x and as much in y a quarter of a period later (own derivation, as in
// TestRingOfSixInAPlan). That rings wider than 20 m stay cold
// in the middle is common practice, no source: with 200 V in 30 Ω·m the middle of one
// warms, before any loss, by less than a third of a kelvin a day.
// Tolerance: 1.5 % as in TestRingOfSixInAPlan, the mesh's in the middle at h = R/9, and the
// currents' 0.5 % twice, for the mean and the middle go with their square: 2.5 %.
func TestWideRingsAreColdInTheMiddle(t *testing.T) {
	const a, rho, foot, capacity = 0.1524, 30.0, 0.3048, 2.9e6 // [m], [Ω·m], [m], [J/(m³·K)]
	last, lastWatts := math.Inf(1), math.Inf(1)
	for _, diameter := range []float64{20, 30, 40, 20 / foot, 100} {
		r := diameter / 2 * foot
		x := lines(0, 0.5, 3*r, r/9, r/9, 1, 100*r)
		g := mesh.NewSection(x, x, 1)
		middle := g.Index(g.Column(0), g.Row(0))
		p := slabOf(t, g, ringOf(r, a, 6, false))
		for c := range p.sigma {
			p.sigma[c] = 1 / rho
		}
		p.solve(t)
		watts := 200 * 200 * p.q[middle] / g.Volume[middle]
		share := watts / (200 * 200 * p.power / (math.Pi * r * r))
		log := math.Log(2 * math.Sqrt(3) * r / a)
		want := 1.5 / log
		hold(t, check{fmt.Sprintf("middle of a ring %.3g ft across over all power spread over the electrode circle", diameter), "1.5/ln(2√3 R/a), line currents", share, want, "-", 0.025 * want})
		wantWatts := 18 * 200 * 200 / (rho * r * r * log * log)
		hold(t, check{fmt.Sprintf("middle of a ring %.3g ft across at 200 V", diameter), "18V²/(ρR² ln²(2√3 R/a)), line currents", watts, wantWatts, "W/m³", 0.025 * wantWatts})
		if !(share < last && watts < lastWatts) {
			t.Errorf("a ring %.3g ft across has a share of %.4g in its middle and %.4g W/m³, no less than a narrower one", diameter, share, watts)
		}
		last, lastWatts = share, watts
		if perDay := watts * 86400 / capacity; math.Abs(diameter*foot-20) < 1e-9 && !(perDay < 1.0/3) {
			t.Errorf("the middle of a ring 20 m across warms by %.3g K a day, want less than a third of a kelvin", perDay)
		}
	}
}
