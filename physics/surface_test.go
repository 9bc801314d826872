package physics

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// conducting is dry level ground of the given electrical conductivities [S/m] down to
// the bottoms [m].
func conducting(t *testing.T, g *mesh.Grid, bottoms []float64, sigma ...float64) *Ground {
	t.Helper()
	var soils []*materials.Soil
	for _, s := range sigma {
		soils = append(soils, &materials.Soil{Name: "ground", Resistivity: 1 / s, ResistivityAt: 293.15, SaturationExponent: 2,
			ThermalConductivity: 1, ThermalConductivityDry: 1, HeatCapacity: 2e6})
	}
	gr, err := NewGround(g, Site{Ambient: 293.15, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(), soils, append(bottoms, math.Inf(1)),
		func(int, float64) WaterSupply { return WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// found is the ground's state as found, with a potential at the nodes; im nil: real.
func found(gr *Ground, re, im func(x, z float64) float64) *State {
	n := NewState(gr.Grid.Cells(), 0)
	gr.Start(n)
	n.Re = sampled(gr.Grid, re)
	if im != nil {
		n.Im = sampled(gr.Grid, im)
	}
	return n
}

// along returns the surface's reading of a ground with bodies, and its values.
func along(t *testing.T, gr *Ground, bodies []Body, rim bool, n *State) (*SurfacePotential, []complex128) {
	t.Helper()
	e, err := NewElectric(gr.Grid, bodies, rim)
	if err != nil {
		t.Fatal(err)
	}
	s := NewSurfacePotential(gr, e)
	phi := make([]complex128, len(s.X))
	s.PotentialTo(phi, n)
	return s, phi
}

// TestSurfaceIsReadToFourthOrder: the potential at the surface comes from the two upper
// nodes with an error of fourth order in the cells, in even and growing cells, and
// where the first row is a layer of its own. The potential is harmonic without slope at the
// surface, cos(kx)·cosh(kz) in the first layer, and below its bottom f, with one
// potential and one current across it,
//
//	cos(kx)·[cosh(kf)·cosh(k(z − f)) + (σ₀/σ₁)·sinh(kf)·sinh(k(z − f))]
//
// Source: separation of variables. Tolerance of the order 0.1: the next term of the
// error is (k·cells)² smaller, at most 0.03 of it on the coarser of the finer pair, which
// moves the order by 0.04. The upper nodes alone would give 2, and so would a parabola
// that takes no notice of a boundary below the first row.
func TestSurfaceIsReadToFourthOrder(t *testing.T) {
	const k = 1.0
	for _, c := range []struct {
		name          string
		growth, ratio float64 // of the rows' heights; σ₀/σ₁ from the first row's bottom on
	}{
		{"even cells", 1, 1}, {"cells that grow", 1.3, 1}, {"a first row that conducts five times better", 1, 5}, {"one that conducts a fifth", 1.3, 0.2},
	} {
		miss := func(h float64) float64 {
			z := []float64{0, h, h * (1 + c.growth), h * (1 + c.growth + c.growth*c.growth)}
			g := mesh.NewSection(edges(12, 6, 1), z, 1)
			gr := conducting(t, g, []float64{h}, 1, 1/c.ratio)
			v := func(x, z float64) float64 {
				down := math.Cosh(k * z)
				if z > h {
					down = math.Cosh(k*h)*math.Cosh(k*(z-h)) + c.ratio*math.Sinh(k*h)*math.Sinh(k*(z-h))
				}
				return math.Cos(k*x) * down
			}
			s, phi := along(t, gr, nil, false, found(gr, v, nil))
			worst := 0.0
			for i, x := range s.X {
				worst = math.Max(worst, cmplx.Abs(phi[i]-complex(math.Cos(k*x), 0)))
			}
			return worst
		}
		coarse, fine := miss(0.1), miss(0.05)
		if got := math.Log2(coarse / fine); math.Abs(got-4) > 0.1 {
			t.Errorf("%s: the surface's potential converges with order %.3f (errors %.3g and %.3g), want 4 ± 0.1", c.name, got, coarse, fine)
		}
	}
}

// TestSurfaceAboveABody: over a body that begins in the second row the parabola ends at
// the body's face, behind its contact resistance: V = P − σ₀R″·V′ there. Exact for a
// parabola, but for the rounding of a few operations.
// Source: definition of a contact resistance.
func TestSurfaceAboveABody(t *testing.T) {
	const bend, at, sigma = 0.3, 2.0, 0.05 // [1/m²], [-] at the surface, [S/m]
	for _, contact := range []float64{0, 0.7} {
		g := mesh.NewSection(edges(4, 4, 1), []float64{0, 0.4, 1, 2}, 1)
		gr := conducting(t, g, nil, sigma)
		body := at + bend*0.4*0.4 + sigma*contact*2*bend*0.4
		v := func(_, z float64) float64 {
			if z > 0.4 {
				return body
			}
			return at + bend*z*z
		}
		_, phi := along(t, gr, []Body{{Name: "plate", Phase: complex(body, 0), Rods: 1, Contact: contact, Zone: mesh.Zone{I1: 4, K0: 1, K1: 2}}}, false, found(gr, v, nil))
		for i, p := range phi {
			if math.Abs(real(p)-at) > 1e-14*at {
				t.Errorf("contact %g: above the plate, place %d, the surface is at %v, want %v", contact, i+1, real(p), at)
			}
		}
	}
}

// TestElectrodeAtTheSurfaceCountsAtItsPotential: a plate and a row of rods that reach
// the surface are at their own potential there, and no other place is.
func TestElectrodeAtTheSurfaceCountsAtItsPotential(t *testing.T) {
	g := mesh.NewSection(edges(10, 10, 1), edges(6, 6, 1), 5)
	gr := conducting(t, g, nil, 0.05)
	bodies := []Body{
		{Name: "plate", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("plate", 1, 2, 0, 3)},
		{Name: "row", Label: "B", Phase: Phasor(3, "B"), Rods: 1, Zone: g.Box("row", 7, 8, 0, 3), Row: &Row{X: 7.5, Spacing: 5, Radius: 0.1, Bottom: 3}},
		{Name: "deep", Label: "C", Phase: Phasor(3, "C"), Rods: 1, Zone: g.Box("deep", 4, 5, 2, 3), Row: &Row{X: 4.5, Spacing: 5, Radius: 0.1, Top: 2, Bottom: 3}},
	}
	n := found(gr, func(float64, float64) float64 { return 0.25 }, func(float64, float64) float64 { return 0.5 })
	for k := range 3 { // as a solved potential has it
		n.Re[g.Index(1, k)], n.Im[g.Index(1, k)] = 1, 0
	}
	s, phi := along(t, gr, bodies, false, n)
	for i, p := range phi {
		want, reaches := complex(0.25, 0.5), false
		switch i {
		case 1:
			want, reaches = 1, true
		case 7:
			want, reaches = Phasor(3, "B"), true
		}
		if cmplx.Abs(p-want) > 1e-15 || s.Electrode(i) != reaches {
			t.Errorf("place %d is at %v, an electrode %v; want %v, %v", i+1, p, s.Electrode(i), want, reaches)
		}
	}
}

// TestStepsAreOverOneMetre: of a phasor that rises evenly the step is its rise over one
// metre wherever the feet stand, less within a metre of the edge, where the ground that
// is modelled ends, and the gradient is its slope. Rounding of a few operations on
// values up to 20.
func TestStepsAreOverOneMetre(t *testing.T) {
	g := mesh.NewSection(edges(17, 9, 1.1), []float64{0, 1}, 1)
	gr := conducting(t, g, nil, 0.05)
	n := found(gr, func(x, _ float64) float64 { return 0.3 + 1.2*x }, func(x, _ float64) float64 { return 2 - 1.6*x })
	s, phi := along(t, gr, nil, false, n)
	step, gradient := make([]float64, len(s.X)), make([]float64, len(s.X))
	s.StepTo(step, phi)
	s.GradientTo(gradient, phi)
	for i, x := range s.X {
		if want := 2 * math.Min(1, s.X[len(s.X)-1]-x); math.Abs(step[i]-want) > 1e-13 || math.Abs(gradient[i]-2) > 1e-13 {
			t.Errorf("at x = %.3f m the step is %v and the gradient %v, want %v and 2", x, step[i], gradient[i], want)
		}
	}
}

// TestMaxStepIsOfAllPlaces: no start between the nodes has a larger step than MaxStep
// finds, and one has it. Scanned at 1e5 starts: between two of them the step changes by
// at most twice the steepest slope times their distance.
func TestMaxStepIsOfAllPlaces(t *testing.T) {
	for seed := range 5 {
		a := float64(seed)
		g := mesh.NewSection(edges(9+seed, 7, 1.2), []float64{0, 1}, 1)
		gr := conducting(t, g, nil, 0.05)
		n := found(gr, func(x, _ float64) float64 { return math.Sin(3*x + a) }, func(x, _ float64) float64 { return math.Cos(2.3*x + a*a) })
		s, phi := along(t, gr, nil, false, n)
		most, at := s.MaxStep(phi)
		const starts = 100000
		from, to := s.X[0], s.X[len(s.X)-1]
		scanned := 0.0
		for j := range starts + 1 {
			scanned = math.Max(scanned, s.step(phi, from+(to-from)*float64(j)/starts))
		}
		steepest := 0.0
		gradient := make([]float64, len(s.X))
		s.GradientTo(gradient, phi)
		for _, v := range gradient {
			steepest = math.Max(steepest, v)
		}
		if scanned > most*(1+1e-14) || most-scanned > 2*steepest*(to-from)/starts || math.Abs(s.step(phi, at)-most) > 0 {
			t.Errorf("seed %d: the largest step is %v from x = %v, scanned %v", seed, most, at, scanned)
		}
	}
}

// TestHeldRimIsAPlace: a rim held at 0 V is the last place of the surface.
func TestHeldRimIsAPlace(t *testing.T) {
	g := mesh.NewAxisymmetric(edges(6, 3, 1.2), edges(3, 3, 1), 1)
	gr := conducting(t, g, nil, 0.05)
	n := found(gr, func(x, _ float64) float64 { return 3 - x }, nil)
	s, phi := along(t, gr, nil, true, n)
	if last := len(s.X) - 1; s.X[last] != 3 || phi[last] != 0 || last != g.NX || s.Electrode(last) {
		t.Errorf("the last place is at r = %v m and %v, want the rim at 3 m and 0", s.X[last], phi[last])
	}
	if v, at := s.MaxPotential(phi); at != s.X[0] || math.Abs(v-(3-s.X[0])) > 1e-15 {
		t.Errorf("the largest potential is %v at r = %v, want %v at the first place", v, at, 3-s.X[0])
	}
	// From the second node, one metre on: straight between nodes and to the rim.
	if got, want := s.step(phi, 2.2), 0.8; math.Abs(got-want) > 1e-14 {
		t.Errorf("from r = 2.2 m, beyond the rim, the step is %v, want %v to the rim", got, want)
	}
}

// TestSurfaceAllocatesNothing: a run reads it at every step.
func TestSurfaceAllocatesNothing(t *testing.T) {
	g := mesh.NewSection(edges(20, 9, 1.1), edges(5, 3, 1), 1)
	gr := conducting(t, g, nil, 0.05)
	n := found(gr, func(x, _ float64) float64 { return x }, nil)
	s, phi := along(t, gr, nil, false, n)
	if got := testing.AllocsPerRun(10, func() {
		s.PotentialTo(phi, n)
		s.MaxStep(phi)
		s.MaxPotential(phi)
	}); got != 0 {
		t.Errorf("reading the surface allocates %s, want nothing", fmt.Sprint(got))
	}
}
