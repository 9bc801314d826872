//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// lineImpedance returns V/(ρI′) [-] of a rod of radius a among endless rows of
// line currents, s along each row and d from row to row, every other row shifted
// by half of s where shifted, phase after phase of so many.
//
// A row of line currents I′ raises −ρI′/(4π)·ln(2cosh(2πx/s) − 2cos(2πy/s)); on one
// of its own rods that is, averaged round the wall, −ρI′/(2π)·ln(2πa/s), as the other
// rods' mean round the wall is their value at the axis. Far rows grow as 2πjd/s, whose sum with
// phases is Abel's, Σ j·cos(jθ) = −1/(4 sin²(θ/2)); the rest falls as e^(−2πjd/s).
// Source: superposition of line currents; the row's sum from sin's product (from
// memory).
func lineImpedance(d, s, a float64, shifted bool, phases int) float64 {
	theta := 2 * math.Pi / float64(max(phases, 2))
	z := ownRow(a, s) + d/s*math.Pi/(2*math.Pow(math.Sin(theta/2), 2))
	for j := 1; j < 200; j++ {
		z += 2 * math.Cos(theta*float64(j)) * otherRow(float64(j)*d, s, shifted && j%2 == 1)
	}
	return z / (2 * math.Pi)
}

// ownRow returns what a row raises on one of its own rods, in ρI′/(2π).
func ownRow(a, s float64) float64 { return -math.Log(2 * math.Pi * a / s) }

// otherRow returns what a row raises on a rod x away, beside one of its own or
// between two, in ρI′/(2π) and less its even growth −πx/s.
func otherRow(x, s float64, between bool) float64 {
	q := math.Exp(-2 * math.Pi * x / s)
	if between {
		return -math.Log1p(q)
	}
	return -math.Log(-math.Expm1(-2 * math.Pi * x / s))
}

// cylinderImpedance returns lineImpedance less what the current's unevenness round
// the rods takes off. The potential of the others about a rod at 0 is, in ρI′/(2π),
// the real part of c₁z + c₂z² + …, with cₙ = Σ q/(n·zₖⁿ) over the others at zₖ of
// phases q. A cylinder of one potential answers each term by its multipole,
// −cₙ(a²/z)ⁿ, and those of the others lower its potential by n·cₙ²a²ⁿ: of two
// cylinders at D, (a/D)², the first term of acosh(D/2a) less ln(D/a). Rods in pairs
// about every rod leave out c₁.
// Source: expansion in multipoles about a circle (textbook).
func cylinderImpedance(d, s, a float64, shifted bool, phases int) float64 {
	c := quadrupole(d, s, shifted, phases)
	return lineImpedance(d, s, a, shifted, phases) - 2*c*c*math.Pow(a, 4)/(2*math.Pi)
}

// quadrupole returns c₂ [1/m²] of a lattice. Along a row Σ 1/(z + ks)² = (π/s)²/sin²(πz/s),
// on its own rods π²/(3s²); z = ±ijd makes that real, so that the phases ahead and
// behind add up to a cosine.
func quadrupole(d, s float64, shifted bool, phases int) float64 {
	theta := 2 * math.Pi / float64(max(phases, 2))
	sum := 1.0 / 3 // of 1/z², in (π/s)²
	for j := 1; j < 200; j++ {
		u := math.Pi * float64(j) * d / s
		row := -math.Pow(math.Sinh(u), -2)
		if shifted && j%2 == 1 {
			row = math.Pow(math.Cosh(u), -2)
		}
		sum += 2 * math.Cos(theta*float64(j)) * row
	}
	return sum / 2 * math.Pow(math.Pi/s, 2)
}

// TestLineCurrentsGiveTheKnownLattices: the sums over rows give the potential of
// two rods alone when the others are far, that of one rank of rods of alternating
// poles, a checkered lattice's, and the effective radius 0.566 p of a triangular
// three-phase grid.
// Sources: two line currents, ln(D/a)/(2π) each; a rank of alternating line
// currents, whose potential is ln|tan(πz/2d)|, ln(2d/(πa))/(2π) (both textbook); the
// factor 0.566, from sums over up to 91 electrodes, good to half its last digit.
// Tolerances: two rows D apart, their rods s = 100 D apart: a pair ks away adds
// ½ln(1 + (D/ks)²) at most, all of them (D/s)²·π²/6, 1.6e-4 of the logarithm's unit.
// Ranks 20 d apart: the field of a rank falls as e^(−πs/d), nothing is left but
// rounding, 1e-12. The same for the quadrupole that a rod of a checkered or a triangular
// lattice sees, which turned by a quarter or a third is itself: none. That of a square
// lattice of alternating rows is summed rod by rod, 1/z² over 121 by 121: their halved
// edges leave no more than of the potential.
func TestLineCurrentsGiveTheKnownLattices(t *testing.T) {
	const p, a = 4.2672, 0.1524
	factor := a / p * math.Exp(2*math.Pi*lineImpedance(p/2, p*math.Sqrt(3), a, true, 3))
	const apart = 1.5
	pair := ownRow(a, 100*apart) - (otherRow(apart, 100*apart, false) - math.Pi*apart/(100*apart))
	hold(t, check{"V/(ρI′) of two rods whose rows' others are far", "two line currents", pair / (2 * math.Pi), math.Log(apart/a) / (2 * math.Pi), "", math.Pow(math.Pi/100, 2) / 6 / (2 * math.Pi)})
	hold(t, check{"V/(ρI′) of a rank of rods of alternating poles", "line currents, ln|tan(πz/2d)|", lineImpedance(apart, 20*apart, a, false, 1), math.Log(2*apart/(math.Pi*a)) / (2 * math.Pi), "", 1e-12})
	hold(t, check{"effective radius of a triangular three-phase grid, in spacings", "line currents summed over 91 electrodes", factor, 0.566, "", 0.0005})
	// A square lattice of two poles, checkered: rows shifted by half of s, d = s/2.
	// Its rods sit at the corners of squares of side s/√2, alternating along both.
	// Checked by summing ring after ring of squares, each neutral.
	const s = 2.0
	sum, square := -math.Log(a), 0.0
	const rings = 60
	for i := -rings; i <= rings; i++ {
		for j := -rings; j <= rings; j++ {
			if i == 0 && j == 0 {
				continue
			}
			w := 1.0 // cells on the edge of the square count by halves and quarters, so that the whole is neutral
			if i == -rings || i == rings {
				w /= 2
			}
			if j == -rings || j == rings {
				w /= 2
			}
			sum -= w * float64(1-2*((i+j)&1)) * math.Log(s/math.Sqrt2*math.Hypot(float64(i), float64(j)))
			z := complex(float64(j), float64(i)) * p
			square += w * float64(1-2*(i&1)) * real(1/(2*z*z))
		}
	}
	// The fields of the halved edge cells fall as the fourth power of the ring.
	hold(t, check{"V/(ρI′) of a checkered lattice", "summed rod by rod over 121 by 121", lineImpedance(s/2, s, a, true, 1), sum / (2 * math.Pi), "", 1e-3 * sum / (2 * math.Pi)})
	hold(t, check{"quadrupole of a checkered lattice, in 1/s²", "symmetry by a quarter turn", quadrupole(s/2, s, true, 1) * s * s, 0, "", 1e-12})
	hold(t, check{"quadrupole of a triangular three-phase grid, in 1/p²", "symmetry by a third of a turn", quadrupole(p/2, p*math.Sqrt(3), true, 3) * p * p, 0, "", 1e-12})
	hold(t, check{"quadrupole of alternating rows, square, in 1/p²", "summed rod by rod over 121 by 121", quadrupole(p, p, false, 1) * p * p, square * p * p, "", 1e-3 * math.Abs(square*p*p)})
}

// TestRowsAgainstLatticesOfManySpacings: rows of endless rods draw what line currents
// on lattices draw. Rows of endless rods against line currents on lattices, spacing
// over radius from 10 to 60: alternating rows square and oblong, aligned and
// staggered, and the triangular three-phase grid.
// Source: superposition of line currents, summed in this file.
// The project's bar is 1 %, for d ≥ 0.86 s and for the triangular rows. Between
// sheets the field is even, which the mesh carries exactly, and the harmonics of a
// row are its correction's closed form, so only the array's end is left: rows in
// series with Z = s/(2π)·ln(s/(2πa)) and with each other are a ladder, on which a
// disturbance falls from row to row by λ, λ + 1/λ = 2 + d/Z. Tolerance 4 λ^(n/2) for
// n rows, and 1e-6 for rounding and the potential's residual.
// Both sides take the current as even round each rod. At the closest spacing the
// current is held as well against rods as cylinders, within the project's 1 %: their
// quadrupoles, which fall as (a/s)⁴, raise it by 0.04 % at most there, and what is
// left out, c₃ and c₂'s answer to itself, is of the order of (a/s)⁶ and less.
func TestRowsAgainstLatticesOfManySpacings(t *testing.T) {
	third := cmplx.Exp(complex(0, -2*math.Pi/3))
	two, three := []complex128{1, -1}, []complex128{1, third, third * third}
	const p = 4.2672
	var curves []curve
	for _, c := range []struct {
		name  string
		d, s  float64
		phase []complex128
		shift bool
	}{
		{"alternating, square", p, p, two, false},
		{"alternating, d = 0.86 s", 0.866 * p, p, two, false},
		{"alternating, d = 1.5 s", 1.5 * p, p, two, false},
		{"alternating, d = 0.86 s, staggered", 0.866 * p, p, two, true},
		{"triangular three-phase", p / 2, p * math.Sqrt(3), three, true},
	} {
		line := curve{Label: c.name, Points: true}
		for _, ratio := range []float64{10, 14, 20, 28, 40, 60} {
			a := p / ratio
			phases := 1
			if len(c.phase) == 3 {
				phases = 3
			}
			want := 1 / lineImpedance(c.d, c.s, a, c.shift, phases)
			got := middleOfEndlessRows(t, c.d, c.s, a, c.phase, c.shift)
			half := 1 + c.d/(c.s/math.Pi*math.Log(c.s/(2*math.Pi*a))) // (λ + 1/λ)/2
			fall := half - math.Sqrt(half*half-1)
			tolerance := 4*math.Pow(fall, 4*float64(len(c.phase))) + 1e-6
			hold(t, check{fmt.Sprintf("current a metre of rod, %s, spacing %.4g radii", c.name, ratio), "line currents on a lattice", got, want, "A", tolerance * want})
			if ratio == 10 {
				want := 1 / cylinderImpedance(c.d, c.s, a, c.shift, phases)
				t.Logf("%s: cylinders draw %.4f %% more than line currents", c.name, 100*(want*lineImpedance(c.d, c.s, a, c.shift, phases)-1))
				hold(t, check{fmt.Sprintf("current a metre of rod, %s, spacing %.4g radii, uneven round the rods", c.name, ratio), "line currents and quadrupoles on a lattice", got, want, "A", 0.01 * want})
			}
			line.X, line.Y = append(line.X, ratio), append(line.Y, 100*(got/want-1))
		}
		curves = append(curves, line)
	}
	draw(t, "rows-endless", "Rows of endless rods: error of the current", "spacing / radius [-]", "error [%]", false, curves...)
}

// middleOfEndlessRows returns the current a metre [A] of the middle one of eight
// periods of rows of endless rods in ground of 1 S/m at 1 V.
func middleOfEndlessRows(t *testing.T, d, s, a float64, phase []complex128, shifted bool) float64 {
	t.Helper()
	n := 8 * len(phase)
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(i) * d
	}
	g := endless(t, x, s)
	var bodies []physics.Body
	for i := range x {
		along := 0.0
		if shifted && i%2 == 1 {
			along = s / 2
		}
		bodies = append(bodies, physics.Body{Name: fmt.Sprint("row ", i), Label: "A", Phase: phase[i%len(phase)], Rods: 1,
			Zone: g.Box("", x[i]-0.0381, x[i]+0.0381, 0, 1),
			Row:  &physics.Row{X: x[i], Spacing: s, Offset: along, Radius: a, Top: -1e9, Bottom: 1e9}})
	}
	return cmplx.Abs(cold(t, ground(t, g, []float64{far}, []float64{1}), bodies, false)[n/2])
}

// endless returns a slab, insulated above and below, with a column for each row at
// x: rods through its whole depth are without end. Beside the rows 60 m of open
// ground, as a mirror would do for two phases only.
func endless(t *testing.T, x []float64, s float64) *mesh.Grid {
	const w = 0.0762
	m := []mesh.Mark{{At: x[0] - 60, Size: far}, {At: x[len(x)-1] + 60, Size: far}}
	for _, v := range x {
		m = append(m, mesh.Mark{At: v - w/2, Size: w}, mesh.Mark{At: v + w/2, Size: w})
	}
	return mesh.NewSection(graded(t, m...), []float64{0, 0.5, 1}, s)
}

// TestEqualAreaCellAgainstTheLattice: the equal-area cell draws more than the grid it
// stands for, by what the closed forms say. A rod of a triangular grid, cut out as the
// circle of equal area with its rim at 0 V, R = 0.525 p, takes ln(0.566 p/a)/ln(R/a)
// of its current in the three-phase grid: 2 to 5 % too much, 2 to 3 % from p = 25 a.
// Sources: coaxial cylinders, 2πσ/ln(R/a) (closed form); line currents on the
// triangular lattice, summed in this file; √(√3/(2π)) = 0.525 by equal areas.
// Tolerances: the view's logarithmic distances carry a radial current exactly, so
// 1e-8, the potential's residual and rounding, against the closed form; and as much of
// the ratio of the two closed forms for the excess, 1e-6 of a per cent and a little.
func TestEqualAreaCellAgainstTheLattice(t *testing.T) {
	const p = 4.2672
	rim := p * math.Sqrt(math.Sqrt(3)/(2*math.Pi))
	var x, y []float64
	for _, ratio := range []float64{10, 14, 20, 28, 40, 60} {
		a := p / ratio
		r := graded(t, mesh.Mark{At: 0, Size: a}, mesh.Mark{At: a, Size: a / 4}, mesh.Mark{At: rim, Size: far})
		g := mesh.NewAxisymmetric(r, []float64{0, 0.5, 1}, 1)
		got := real(cold(t, ground(t, g, []float64{far}, []float64{1}), []physics.Body{{Name: "rod", Label: "A", Phase: 1, Rods: 1, Zone: g.Box("rod", 0, a, 0, 1)}}, true)[0])
		coaxial := 2 * math.Pi / math.Log(rim/a)
		hold(t, check{fmt.Sprintf("current a metre of the equal-area cell, spacing %.4g radii", ratio), "coaxial cylinders", got, coaxial, "A", 1e-8 * coaxial})
		lattice := 1 / lineImpedance(p/2, p*math.Sqrt(3), a, true, 3)
		hold(t, check{fmt.Sprintf("by how much it exceeds the three-phase grid's, spacing %.4g radii", ratio), "coaxial cylinders over line currents on the triangular lattice", 100 * (got/lattice - 1), 100 * (coaxial/lattice - 1), "%", 100 * 1e-8 * coaxial / lattice})
		x, y = append(x, ratio), append(y, 100*(got/lattice-1))
	}
	draw(t, "equal-area-cell", "The equal-area cell: excess of its current over the three-phase grid's", "spacing / radius [-]", "excess [%]", false, curve{Label: "axisymmetric view", X: x, Y: y})
}

// squareBar is the side of the square that has the potential of a circle of radius
// 1 outside: its outer conformal radius is Γ(¼)²/(4π^1.5) of its side.
var squareBar = 4 * math.Pow(math.Pi, 1.5) / math.Pow(math.Gamma(0.25), 2)

// bars returns the currents a metre [A] of bars of round radius a along y, at
// places [m] in ground of 1 S/m, with so many cells a side.
func bars(t *testing.T, places [][2]float64, phase []complex128, a float64, cells int) []complex128 {
	t.Helper()
	const reach = 100.0
	side := a * squareBar
	h := side / float64(cells)
	marks, edges := [2][]mesh.Mark{}, [2][]float64{}
	for axis := range marks {
		marks[axis] = []mesh.Mark{{At: -reach, Size: far}, {At: reach, Size: far}}
		for _, at := range places {
			marks[axis] = append(marks[axis], mesh.Mark{At: at[axis] - side/2, Size: h}, mesh.Mark{At: at[axis] + side/2, Size: h})
		}
		if axis == 1 {
			for i := range marks[axis] {
				marks[axis][i].At += reach // depth
			}
		}
		var err error
		// Twice the cells everywhere: half the size at a bar, and the root of the growth.
		if edges[axis], err = mesh.Grade(marks[axis], math.Pow(1.16, 4/float64(cells)), 100000); err != nil {
			t.Fatal(err)
		}
	}
	g := mesh.NewSection(edges[0], edges[1], 1)
	var bodies []physics.Body
	for i, at := range places {
		bodies = append(bodies, physics.Body{Name: fmt.Sprint("bar ", i), Label: "A", Phase: phase[i], Rods: 1,
			Zone: g.Box("", at[0]-side/2, at[0]+side/2, reach+at[1]-side/2, reach+at[1]+side/2)})
	}
	return cold(t, ground(t, g, []float64{far}, []float64{1}), bodies, false)
}

// TestBarsAgainstLineElectrodes: bars in the section draw what two cylinders and rings
// of electrodes draw. Two parallel cylinders, and three and six electrodes on a ring
// at three and six phases, as bars in the section view.
// Sources: 2πσ/(2·acosh(D/2a)) a volt between them, bipolar coordinates; power of
// line currents on a ring, from the matrix of their logarithms (textbook, computed
// elsewhere), testdata/analytic_values.csv A19, A20. The bars are squares of the
// cylinders' outer conformal radius, Γ(¼)²/(4π^1.5) = 0.59017 of the side (Pólya &
// Szegő 1951, from memory).
//
// On the ring the table's line currents leave out the cylinders' dipoles, which add
// 2πσa²|E|² an electrode to the power, E the field of the others per volt (as
// acosh(D/2a) = ln(D/a) − (a/D)² says of two cylinders): added here, 0.05 to 0.4 %.
//
// Tolerance 0.4 %: the mesh, extrapolated from two, each cell cut in four, with 4/3,
// the order of two-point fluxes at a square's corner; with the corners' factors the order
// is 2, and what is of order 2 is so carried too far by a third of its change, which is
// 0.16 % at most from four to eight cells a side; a square's fourfold field, (side/D)⁴ or 0.01 % at ten sides;
// insulated edges at W = 100 m, whose images raise V by (D/W)²·π²/48 of I/(πσ), below
// 0.02 %. A pair 1 m apart of radius 0.2 m is left out: there (side/D)⁴ is 1 %.
func TestBarsAgainstLineElectrodes(t *testing.T) {
	extrapolated := func(places [][2]float64, phase []complex128, a float64) float64 {
		power := func(cells int) float64 {
			sum := 0.0
			for i, c := range bars(t, places, phase, a, cells) {
				sum += real(phase[i] * cmplx.Conj(c))
			}
			return sum
		}
		coarse, fine := power(4), power(8)
		return fine + (fine-coarse)/(math.Pow(2, 4.0/3)-1)
	}
	for _, c := range []struct {
		spacing, a float64
		name       string
	}{
		{5, 0.15, "two parallel cylinders, spacing 5.0 m, radius 0.15 m: conductance per length / sigma"},
		{3, 0.05, "two parallel cylinders, spacing 3.0 m, radius 0.05 m: conductance per length / sigma"},
	} {
		want, unit, source := closedForm(t, "A19", c.name)
		// At ±1 V: power 4 V² per conductance.
		got := extrapolated([][2]float64{{-c.spacing / 2, 0}, {c.spacing / 2, 0}}, []complex128{1, -1}, c.a) / 4
		hold(t, check{c.name, source, got, want, unit, 0.004 * want})
	}
	for _, c := range []struct {
		n    int
		ring float64
		name string
	}{
		{3, 2.5, "3 line electrodes on a ring of radius 2.5 m, radius 0.15 m, 3-phase: total power per length / (sigma V_ph^2)"},
		{6, 2.5, "6 line electrodes on a ring of radius 2.5 m, radius 0.15 m, 6-phase: total power per length / (sigma V_ph^2)"},
		{6, 5, "6 line electrodes on a ring of radius 5 m, radius 0.15 m, 6-phase: total power per length / (sigma V_ph^2)"},
	} {
		var places [][2]float64
		var phase []complex128
		for i := range c.n {
			angle := 2 * math.Pi * float64(i) / float64(c.n)
			places = append(places, [2]float64{c.ring * math.Cos(angle), c.ring * math.Sin(angle)})
			phase = append(phase, cmplx.Exp(complex(0, -angle)))
		}
		want, unit, source := closedForm(t, "A20", c.name)
		// N electrodes of current want/N: the field on the first, in the plane.
		var across, along complex128
		for i := 1; i < c.n; i++ {
			dx, dz := places[0][0]-places[i][0], places[0][1]-places[i][1]
			field := phase[i] * complex(want/float64(c.n)/(2*math.Pi*(dx*dx+dz*dz)), 0)
			across += field * complex(dx, 0)
			along += field * complex(dz, 0)
		}
		square := real(across)*real(across) + imag(across)*imag(across) + real(along)*real(along) + imag(along)*imag(along)
		want += float64(c.n) * 2 * math.Pi * 0.15 * 0.15 * square
		hold(t, check{c.name + ", with the cylinders' dipoles", source, extrapolated(places, phase, 0.15), want, unit, 0.004 * want})
	}
}
