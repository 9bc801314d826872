//dossier:chapter Electrodes and rows

package validation

import (
	"math"
	"math/cmplx"
	"path/filepath"
	"testing"

	"soiljoule/cases"
	"soiljoule/physics"
	"soiljoule/solver"
)

// TestSurfaceOfThePavedYard: over nine rows of three phases in five layers, cold, the rows'
// currents, the potential along the surface and its steps over a metre are those of rods in
// three dimensions, averaged along the rows, on ground without end near by, and on that which
// is modelled by default.
//
// Source: boundary elements with images for surface and layers (rods_reference_test.go); a
// row's mean is a sheet's, −ln R/(2πs) of each panel and image.
//
// Tolerances: currents 2 %, as Limits in README has rows in layers. Potentials and steps go
// as the currents; the sides, at 137 m, add to them what a dipole leaves at the ends of the
// rows, (11/137)² = 0.6 %, of a field that is half of the largest there: 2 %. By default the
// edges may change the potential by 0.86 · 3 % of its largest (TestEdgesBesideImages in
// cases): 2.6 % and what far edges are allowed less what they add there, 1.4: 4 %. Steps are
// differences of a field that edges change evenly, by 2.6 % of the largest over half the
// width of the rows, 8.5 m, a tenth of the largest step: 2 %, as on far sides.
func TestSurfaceOfThePavedYard(t *testing.T) {
	if !long {
		t.Skip("boundary elements in five layers: make validate runs it")
	}
	const volts = 130.0
	var y *yard
	for _, ground := range []struct {
		name                   string
		sets                   []string
		current, surface, step float64 // tolerances
	}{
		{"far sides", []string{"domain.left=-450 ft", "domain.right=540 ft", "domain.bottom=450 ft"}, 0.02, 0.02, 0.02},
		{"as by default", nil, 0.02, 0.04, 0.02},
	} {
		c, err := cases.Load(filepath.Join("..", "cases", "paved-yard.toml"), ground.sets)
		if err != nil {
			t.Fatal(err)
		}
		c, _ = c.Expand()
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		r, err := solver.Start(p)
		if err != nil {
			t.Fatal(err)
		}
		if y == nil {
			y = yardOf(t, c)
		}
		worst := 0.0
		for i, want := range y.current {
			got := r.State.Current[i] / complex(p.Electric.Bodies[i].Rods, 0)
			worst = math.Max(worst, cmplx.Abs(got-want)/cmplx.Abs(want))
		}
		s := physics.NewSurfacePotential(p.Ground, p.Electric)
		phi, step := make([]complex128, len(s.X)), make([]float64, len(s.X))
		s.PotentialTo(phi, r.State)
		s.StepTo(step, phi)
		var most, off, steepest, stepOff float64
		var got, want curve
		got.Label, got.Points, want.Label = "program", true, "rods in three dimensions"
		for i, x := range s.X {
			if x < -1 || x > 27.5 { // the rows' length and 4 ft
				continue
			}
			v := y.at(x)
			most, off = math.Max(most, cmplx.Abs(v)), math.Max(off, cmplx.Abs(phi[i]-v))
			w := cmplx.Abs(y.at(x+1) - v)
			steepest, stepOff = math.Max(steepest, w), math.Max(stepOff, math.Abs(step[i]-w))
			got.X, got.Y = append(got.X, x), append(got.Y, volts*cmplx.Abs(phi[i]))
			want.X, want.Y = append(want.X, x), append(want.Y, volts*cmplx.Abs(v))
		}
		if ground.sets != nil {
			draw(t, "yard-surface", "Paved yard, cold: along the surface", "x [m]", "V RMS from the supply's neutral", false, got, want)
		}
		t.Logf("%s: currents %.4f, potential %.4f, steps %.4f; at most %.2f V, %.2f V/m", ground.name, worst, off/most, stepOff/steepest, volts*most, volts*steepest)
		hold(t, check{"paved yard, cold, " + ground.name + ": largest error of a row's current, of itself", yardSource, worst, 0, "", ground.current})
		hold(t, check{"paved yard, cold, " + ground.name + ": largest error of the potential along the surface, of its largest", yardSource, off / most, 0, "", ground.surface})
		hold(t, check{"paved yard, cold, " + ground.name + ": largest error of a step over a metre, of the largest", yardSource, stepOff / steepest, 0, "", ground.step})
	}
}

const yardSource = "boundary elements in three dimensions, with images"

// yard is rows of rods in layers, per volt of the supply.
type yard struct {
	array
	far     complex128   // potential of the ground far away
	current []complex128 // [A] of one rod by row
	charge  []complex128 // [A] by row and panel
	seen    [][]panelImage
}

// yardOf solves for the paved yard's rows, at 13 °C.
func yardOf(t *testing.T, c *cases.Case) *yard {
	t.Helper()
	const inch = 0.0254
	y := &yard{array: array{top: 90 * inch, length: 72 * inch, a: 6 * inch, s: c.Electrodes[0].RodSpacing, cells: 3,
		earth: earth{unit: 4 * inch, bottom: []int{1, 3, 24, 39}}}}
	for _, rho := range []float64{2000, 800, 150, 25, 15} {
		y.earth.sigma = append(y.earth.sigma, (1+0.0187*(13-25))/rho)
	}
	var phase []complex128
	for i, e := range c.Electrodes {
		y.x, y.offset = append(y.x, e.X), append(y.offset, float64(i%2)*y.s/2)
		phase = append(phase, physics.Phasor(3, e.Phase))
	}
	for _, unit := range []complex128{1, 1i} {
		y.phase = nil
		for _, v := range phase {
			y.phase = append(y.phase, real(v*cmplx.Conj(unit)))
		}
		q, far := y.charges(t)
		if y.charge == nil {
			y.charge = make([]complex128, len(q))
		}
		for k, q := range q {
			y.charge[k] += unit * complex(q, 0)
		}
		y.far += unit * complex(far, 0)
	}
	panels := y.panels()
	apart := rodsApart{array: y.array}
	for k := range panels {
		y.seen = append(y.seen, apart.seen(0, &panels[k]))
	}
	y.current = make([]complex128, len(phase))
	for i := range phase {
		for k := range panels {
			y.current[i] += y.charge[i*len(panels)+k]
		}
	}
	return y
}

// at is the potential on the surface at x, the mean along the rows.
func (y *yard) at(x float64) complex128 {
	v := y.far
	for i, row := range y.x {
		for k, images := range y.seen {
			sum := 0.0
			for _, m := range images {
				sum += m.factor / (2 * math.Pi * y.s) * math.Log(2*y.s/math.Hypot(x-row, (m.z0+m.z1)/2))
			}
			v += complex(sum, 0) * y.charge[i*len(y.seen)+k]
		}
	}
	return v
}
