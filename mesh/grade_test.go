package mesh

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Any axis keeps its promises: marks are edges to the bit, no cell is larger
// than a mark asks beside it, no neighbours differ by more than MaxGrowth.
func TestGradeKeepsItsPromises(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for trial := range 2000 {
		n := 2 + rng.IntN(12)
		marks := make([]Mark, n)
		for j := range marks {
			marks[j] = Mark{At: 100 * rng.Float64(), Size: math.Pow(10, -3+3*rng.Float64())}
			if rng.IntN(3) == 0 {
				marks[j].Size = math.Inf(1)
			}
		}
		marks[0].Size = 0.05 // one finite size at least
		growth := 1.05 + 0.25*rng.Float64()
		edges, err := Grade(marks, growth, 1_000_000)
		if err != nil {
			t.Fatalf("trial %d: Grade: %v", trial, err)
		}
		worst := 1.0
		for i := 2; i < len(edges); i++ {
			a, b := edges[i-1]-edges[i-2], edges[i]-edges[i-1]
			worst = math.Max(worst, math.Max(a/b, b/a))
		}
		// Differences of edges up to 100 m at 1 mm carry 1e-11 relative rounding.
		if worst > MaxGrowth*(1+1e-9) {
			t.Errorf("trial %d: Grade(%v, %.3f): neighbours differ by %.4f, want at most %g", trial, marks, growth, worst, MaxGrowth)
		}
		for _, m := range marks {
			j := EdgeAt(edges, m.At)
			if math.Abs(edges[j]-m.At) > 1e-7 { // a billionth of the axis joins marks
				t.Errorf("trial %d: mark at %g is not an edge; nearest is %g", trial, m.At, edges[j])
			}
			for _, c := range []int{j - 1, j} {
				if c >= 0 && c+1 < len(edges) && edges[c+1]-edges[c] > m.Size*growth*(1+1e-9) {
					t.Errorf("trial %d: cell of %g beside a mark that asks for %g", trial, edges[c+1]-edges[c], m.Size)
				}
			}
		}
	}
}

func TestGradeRefusesTooMany(t *testing.T) {
	_, err := Grade([]Mark{{0, 1e-6}, {1000, 1e-6}}, 1.001, 500)
	if !errors.Is(err, ErrTooMany) {
		t.Errorf("Grade of a micrometre axis with at most 500 cells: error %v, want ErrTooMany", err)
	}
}

// Volumes and areas are those of the solid: a cylinder's and a block's, exact
// up to rounding of sums of n terms, n·ε.
func TestGridMeasures(t *testing.T) {
	r, _ := Grade([]Mark{{0, 0.05}, {0.15, 0.05}, {4, math.Inf(1)}}, 1.2, 1000)
	z, _ := Grade([]Mark{{0, 0.1}, {7, 0.3}}, 1.2, 1000)
	g := NewAxisymmetric(r, z, 3)
	sum := 0.0
	for _, v := range g.Volume {
		sum += v
	}
	want := 3 * math.Pi * 16 * 7
	if tol := float64(g.Cells()) * 2.3e-16 * want; math.Abs(sum-want) > tol {
		t.Errorf("volume of three cylinders r = 4 m, 7 m deep: got %.15g m³, want %.15g ± %.1g", sum, want, tol)
	}
	top, side := 0.0, 0.0
	for _, a := range g.Top.Area {
		top += a
	}
	for _, a := range g.Right.Area {
		side += a
	}
	if math.Abs(top-3*math.Pi*16) > 1e-10 || math.Abs(side-3*2*math.Pi*4*7) > 1e-10 {
		t.Errorf("areas of the cylinders: top %.12g, side %.12g m²", top, side)
	}
}

// A radial face carries a current that spreads from the axis exactly: the
// resistances of n shells add to ln(b/a)/(2πL) (Carslaw & Jaeger 1959, §7.2,
// from memory).
func TestRadialResistanceIsExact(t *testing.T) {
	g := NewAxisymmetric([]float64{0.1, 0.3, 0.5, 1.1, 2}, []float64{0, 2}, 1)
	sum := g.Left.Distance[0]/g.Left.Area[0] + g.Right.Distance[0]/g.Right.Area[0]
	for i := range g.NX - 1 {
		sum += (g.Across.Before[i] + g.Across.After[i]) / (g.Outline[i+1] * g.Height[0])
	}
	want := math.Log(2/0.1) / (2 * math.Pi * 2)
	if math.Abs(sum-want) > 1e-14 { // ten roundings of numbers below 0.3
		t.Errorf("radial resistance from 0.1 to 2 m: got %.16g 1/m, want %.16g", sum, want)
	}
}

// A linear field comes back exactly between nodes.
func TestAtIsBilinear(t *testing.T) {
	g := NewSection([]float64{0, 1, 3, 4, 8}, []float64{0, 0.5, 2, 5}, 1)
	f := make([]float64, g.Cells())
	for k, z := range g.ZC {
		for i, x := range g.XC {
			f[g.Index(i, k)] = 2*x - 3*z + 0.5*x*z
		}
	}
	for _, p := range [][2]float64{{0.5, 0.25}, {2.2, 1.7}, {6, 3.5}, {1, 0.9}} {
		want := 2*p[0] - 3*p[1] + 0.5*p[0]*p[1]
		if got := g.At(f, p[0], p[1]); math.Abs(got-want) > 1e-13 {
			t.Errorf("At(%g, %g) of a bilinear field: got %.15g, want %.15g", p[0], p[1], got, want)
		}
	}
}
