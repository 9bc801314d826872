//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// TestCurrentThroughADisc: a floating disc in a uniform field E picks up at one half of its
// side what it gives off at the other, 4σEa for each metre of thickness, twice what the
// ground in its place would pass; it is what the faces that take up carry, and what those
// that give off do.
// Source: as discField, the flux through the middle of a conducting cylinder.
// Tolerance h²/4 of it, as TestDiscInAUniformField derives for the current through one half,
// 0.4 % at an eighth of the radius. Sums over the same faces in another order: 1e-12. Net,
// 1e-9: the promise.
func TestCurrentThroughADisc(t *testing.T) {
	const f = math.Pi / (4 * platesAway * platesAway)
	places := append(offsets(8), [2]float64{}, [2]float64{0.31, 0})
	for _, h := range []float64{1. / 4, 1. / 8} {
		var worst, faces, net float64
		for _, p := range places {
			s, e := discBetweenPlates(t, h, p)
			in, out := enters(s, e, 2)
			got := s.Pickup[2]
			worst = math.Max(worst, math.Abs(got*(1-f)/4-1))
			faces = math.Max(faces, math.Abs(2*got/(in+out)-1))
			net = math.Max(net, math.Abs(in-out)/in)
		}
		of := fmt.Sprintf(" through a floating disc, the worst of %d places, cells of %g a", len(places), h)
		hold(t, check{"error of the current" + of, "4σEa", worst, 0, "of it", h * h / 4})
		hold(t, check{"current" + of + ", off the mean of what its faces take up and give off", "Kirchhoff", faces, 0, "of it", 1e-12})
		hold(t, check{"net current over that" + of, "no phase feeds it", net, 0, "-", 1e-9})
	}
}

// TestCurrentThroughADiscInATurningField: in a field of fixed size that turns, as phases
// make in their midst, the flux 2σE into a disc is as large at every place of its side, and
// the sum of sizes, 2πσEa, is π/2 of what any half of it takes up, 4σEa: the most that it
// can be above the current through a cut.
// Source: as discField, two of them at right angles a quarter of a period apart.
// Tolerance h²/4, as TestDiscInAUniformField. The field across is that along, mirrored in
// the diagonal of a grid that is its own mirror image.
func TestCurrentThroughADiscInATurningField(t *testing.T) {
	const far, h = platesAway, 1. / 8
	axis := graded(t, mesh.Mark{At: -far, Size: math.Inf(1)}, mesh.Mark{At: -2.5, Size: h})
	for x := -2.5 + h; x < 2.5-h/2; x += h {
		axis = append(axis, x)
	}
	axis = append(axis, graded(t, mesh.Mark{At: 2.5, Size: h}, mesh.Mark{At: far, Size: math.Inf(1)})...)
	axis = append(append([]float64{-far - 1}, axis...), far+1)
	g := mesh.NewPlan(axis, axis, 1)
	s, e := startedBy(t, ground(t, g, []float64{math.Inf(1)}, []float64{1}), []physics.Body{
		{Name: "left", Label: "A", Phase: far, Rods: 1, Zone: g.Box("", -far-1, -far, -far-1, far+1)},
		{Name: "right", Label: "B", Phase: -far, Rods: 1, Zone: g.Box("", far, far+1, -far-1, far+1)},
		{Name: "disc", Label: "-", Rods: 1, Floating: true, Zone: g.Circle("", 0, 0, 1)}}, false, 1, nil)
	across := make([]float64, g.Cells())
	for c := range across {
		across[c] = s.Re[g.Index(c/g.NX, c%g.NX)]
	}
	pickup := make([]float64, 3)
	e.PickupTo(pickup, s.Re, across)
	f := math.Pi / (2 * far * (2*far + 2))
	hold(t, check{"current through a disc in a turning field, cells of 1/8 a", "2πσEa", pickup[2] * (1 - f), 2 * math.Pi, "A/V", 2 * math.Pi * h * h / 4})
	hold(t, check{"of that, over the current in a field that does not turn", "π/2", pickup[2] / s.Pickup[2], math.Pi / 2, "-", math.Pi / 2 * h * h / 4})
}

// TestCurrentThroughABar: a floating square bar of a section in a uniform field E passes
// through its middle what the cylinder does that has its logarithmic capacity c for a radius,
//
//	I = 4σEcℓ,   c = Γ(1/4)²/(4π^(3/2)) of its side
//
// for a length ℓ: the map of its outside to that of a circle keeps flux.
// Source: as TestBarInAUniformField, with E = Ē/(1 − f) of a square array of such bars.
// Tolerance (h/side)², 1.6 % at an eighth: corners' fluxes are those of their field, and
// cells are second order; the array's next term is 0.06 %.
func TestCurrentThroughABar(t *testing.T) {
	const size, side, long = 8.0, 1.0, 3.0
	c := math.Pow(math.Gamma(0.25), 2) / (4 * math.Pow(math.Pi, 1.5)) * side
	f := math.Pi * c * c / (size * size)
	want := 4 * c * long / size / (1 - f)
	for _, n := range []int{8, 16} {
		h := side / float64(n)
		x, z := []float64{-h}, []float64{}
		for i := range int(size/h) + 1 {
			x = append(x, float64(i)*h)
			z = append(z, float64(i)*h)
		}
		x = append(x, size+h)
		g := mesh.NewSection(x, z, long)
		s := started(t, ground(t, g, []float64{far}, []float64{1}), []physics.Body{
			{Name: "left", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("", -h, 0, 0, size)},
			{Name: "right", Label: "N", Rods: 1, Zone: g.Box("", size, size+h, 0, size)},
			{Name: "bar", Label: "-", Rods: 1, Floating: true, Zone: g.Box("", (size-side)/2, (size+side)/2, (size-side)/2, (size+side)/2)}}, false, 1, nil)
		hold(t, check{fmt.Sprintf("current through a floating square bar, cells of 1/%d of its side", n), "logarithmic capacity of the square", s.Pickup[2], want, "A/V", want * h * h / (side * side)})
	}
}

// TestCurrentThroughAPlate: a floating plate along an equipotential passes on all of the
// current of the plates that it lies between.
// Source: Ohm's law, as TestThinPlateAcrossTheField.
// The grid carries a uniform field exactly: 1e-9 is for the residual of 1e-10.
func TestCurrentThroughAPlate(t *testing.T) {
	x := graded(t, mesh.Mark{At: -0.1, Size: 0.1}, mesh.Mark{At: 0, Size: 0.25}, mesh.Mark{At: 2, Size: 0.25}, mesh.Mark{At: 2.5, Size: 0.25}, mesh.Mark{At: 8, Size: 0.25}, mesh.Mark{At: 8.1, Size: 0.1})
	g := mesh.NewSection(x, []float64{0, 0.5, 1}, 1)
	s := started(t, ground(t, g, []float64{far}, []float64{1}), []physics.Body{
		{Name: "left", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("", -0.1, 0, 0, 1)},
		{Name: "right", Label: "N", Rods: 1, Zone: g.Box("", 8, 8.1, 0, 1)},
		{Name: "plate", Label: "-", Rods: 1, Floating: true, Zone: g.Box("", 2, 2.5, 0, 1)}}, false, 1, nil)
	hold(t, check{"current through a floating plate across the field", "Ohm's law", s.Pickup[2], 1 / 7.5, "A/V", 1e-9})
}
