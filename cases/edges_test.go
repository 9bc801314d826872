package cases

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/physics"
	"soiljoule/solver"
)

// TestEdgesBesideImages: what closed edges add to the potential above the ends of an array
// is what fieldReach and edgeError say of it, against the images of line currents ±q in all
// planes: those of a box of the reach B 0.86 of 3 % of the largest, those of the bottom
// alone and of one side alone π²/12 and a quarter of it.
//
// Source: method of images. A column of line currents and its images in surface and bottom is
// ln|2 sin|, exact; columns beside it fall as e^(−πx/bottom), or without a bottom, in pairs
// that change sign, as 1/m²: 20 and 400 of them leave less than 1e-5.
//
// Tolerance: the uniform field is the first term of the images, at twice the edge's distance
// and beyond; the next is smaller by the square of what they are images of over that, W wide
// and 2D high: (W² + 4D²)/(2·distance)². 0.859 is that sum's first term to 0.2 %.
func TestEdgesBesideImages(t *testing.T) {
	// added returns what images in the planes at ±side and in the surface and the plane at
	// bottom, either of which may be left out by infinity, add at (w/2, 0), for q/(2π) = 1.
	added := func(w, d, side, bottom float64) float64 {
		column := func(x, z float64) float64 { // a line current, its images in surface and bottom, seen from (0, 0)
			if math.IsInf(bottom, 1) {
				return -2 * math.Log(math.Hypot(x, z))
			}
			// Periods of 2·bottom down: ln|2 sin(π(z + ix)/(2·bottom))|.
			a := cmplx.Abs(cmplx.Sin(complex(math.Pi*z/(2*bottom), math.Pi*x/(2*bottom))))
			return -2 * math.Log(2*a)
		}
		periods := 400
		switch {
		case math.IsInf(side, 1):
			periods = 0
		case !math.IsInf(bottom, 1):
			periods = 20
		}
		sum := 0.0
		for m := -periods; m <= periods; m++ {
			shift := 0.0 // 2·side·m, also where there are no sides
			if m != 0 {
				shift = 2 * side * float64(m)
			}
			sign := 1.0 // ± change places in every other image
			if m%2 != 0 {
				sign = -1
			}
			sum += sign * (column(w/2+shift-w/2, d) - column(-w/2+shift-w/2, d))
		}
		return sum - (-2*math.Log(d) + 2*math.Log(math.Hypot(w, d)))
	}
	for _, w := range []float64{1, 2, 5, 20} {
		const d = 1.0
		b := w / math.Sqrt(edgeShare*math.Log(1+w*w/(d*d)))
		most := math.Log(1 + w*w/(d*d))
		for _, c := range []struct {
			what         string
			side, bottom float64
			want         float64
		}{{"all edges", b, b, 0.859 * edgeShare}, {"the bottom", inf, b, edgeError(bottomShare, b, b)}, {"the bottom at 0.6 of it", inf, 0.6 * b, edgeError(bottomShare, b, 0.6*b)}, {"both sides", b, inf, 2 * math.Pi * math.Pi / 48 * edgeShare}} {
			got := added(w, d, c.side, c.bottom) / most
			t.Logf("W = %g D, B = %.3g W, %s: %.5f of the largest, want %.5f", w, b/w, c.what, got, c.want)
			near := 2 * math.Min(c.side, c.bottom)
			if tol := 0.002 + (w*w+4*d*d)/(near*near); !(math.Abs(got/c.want-1) <= tol) {
				t.Errorf("W = %g D: %s add %.5f of the largest, want %.5f within %.2g of it", w, c.what, got, c.want, tol)
			}
		}
	}
}

// TestEdgesTakeLittle: cold, the closed edges of a section that are left to the case change
// no current by 1 % and no voltage along the surface, over the array and a third of its
// width beside it, by more than 4 % of its largest, against edges three times as far; the
// largest itself changes by less than 3 %. What edges add falls with the square of their
// distance, so that eight ninths of it show.
//
// Tolerance: 3 % is what the reach is made for, of two line currents at the ends of even
// ground; layers, three phases that do not mix evenly and the middles of rods that stand
// for their ends add to that.
func TestEdgesTakeLittle(t *testing.T) {
	for _, c := range []struct {
		name, file string
		sets       []string
	}{
		{"nine rows in layers", "paved-yard.toml", nil},
		{"three rows in layers", "paved-yard.toml", []string{"target[1].right=32 ft"}},
		{"nine rows, clay below that conducts worse", "paved-yard.toml", []string{"layer.clay.resistivity=200 ohm*m"}},
		{"two poles", "paved-yard.toml", []string{"supply.phases=1", "target[1].right=54 ft"}},
		{"stacked elements", "bedrock-bench.toml", []string{"mesh.finest=1 ft"}},
	} {
		var current, phi [2][]complex128
		var left, right, bottom float64
		var x *Case
		for i := range current {
			sets := append([]string{"mesh.finest=6 in"}, c.sets...)
			if i == 1 {
				middle := (left + right) / 2
				sets = append(sets, fmt.Sprintf("domain.left=%g m", middle+3*(left-middle)), fmt.Sprintf("domain.right=%g m", middle+3*(right-middle)), fmt.Sprintf("domain.bottom=%g m", 3*bottom))
			}
			loaded, err := Load(c.file, sets)
			if err != nil {
				t.Fatal(err)
			}
			x, _ = loaded.Expand()
			left, right, bottom = x.Bounds()
			p, err := x.Build()
			if err != nil {
				t.Fatal(err)
			}
			r, err := solver.Start(p)
			if err != nil {
				t.Fatal(err)
			}
			current[i] = r.State.Current
			s := physics.NewSurfacePotential(p.Ground, p.Electric)
			at := make([]complex128, len(s.X))
			s.PotentialTo(at, r.State)
			width, _, middle := x.electrodesAcross()
			k := 0
			for j := -100; j <= 100; j++ {
				want := middle + width*float64(j)/120
				for s.X[k+1] < want {
					k++
				}
				f := complex((want-s.X[k])/(s.X[k+1]-s.X[k]), 0)
				phi[i] = append(phi[i], at[k]*(1-f)+at[k+1]*f)
			}
		}
		worst, largest, off := 0.0, 0.0, 0.0
		var most [2]float64
		for _, i := range current[1] {
			largest = math.Max(largest, cmplx.Abs(i))
		}
		for b, i := range current[1] {
			if cmplx.Abs(i) > 1e-6*largest { // not switched off
				worst = math.Max(worst, cmplx.Abs(current[0][b]-i)/cmplx.Abs(i))
			}
		}
		for j := range phi[0] {
			off = math.Max(off, cmplx.Abs(phi[0][j]-phi[1][j]))
			for i := range most {
				most[i] = math.Max(most[i], cmplx.Abs(phi[i][j]))
			}
		}
		off /= most[1]
		t.Logf("%s: currents %.2f %%, surface %.2f %% of its largest, which is %+.2f %% off", c.name, 100*worst, 100*off, 100*(most[0]/most[1]-1))
		if worst > 0.01 || off > 0.04 || math.Abs(most[0]/most[1]-1) > 0.03 {
			t.Errorf("%s: the edges left to the case change a current by %.2f %%, the surface by %.2f %% of its largest, the largest by %.2f %%: want 1, 4 and 3 %%", c.name, 100*worst, 100*off, 100*(most[0]/most[1]-1))
		}
	}
}
