//dossier:chapter Electrodes and rows

package validation

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"soiljoule/mesh"
)

// orders is how many multipoles of a rod the references below have: what is left out falls
// by (a/2d)² an order, d from the axis to the boundary.
const orders = 12

// rodTerms puts into terms, of 1 + 2·orders, the potentials at (x, y) of the multipoles of
// a rod at (x0, y0): −ln r and (a/r)ⁿ cos nθ, (a/r)ⁿ sin nθ, times factor.
func rodTerms(terms []float64, x, y, x0, y0, a, factor float64) {
	r, theta := math.Hypot(x-x0, y-y0), math.Atan2(y-y0, x-x0)
	terms[0] -= factor * math.Log(r)
	for n := 1; n <= orders; n++ {
		sin, cos := math.Sincos(float64(n) * theta)
		p := factor * math.Pow(a/r, float64(n))
		terms[2*n-1] += p * cos
		terms[2*n] += p * sin
	}
}

// besideBoundary returns the current [A/m] of two rods at ±1 V, dist apart along a straight
// boundary, both d from it in ground of sigma [S/m], the ground beyond having beyond:
// multipoles u about both rods, in the rods' ground u and k times its mirror image,
//
//	φ = u(x, y) + k·u(−x, y),   k = (σ₁ − σ₂)/(σ₁ + σ₂)
//
// fitted to 1 V at points round the wall of one; the other is its opposite by symmetry.
func besideBoundary(t *testing.T, d, dist, a, sigma, beyond float64) float64 {
	t.Helper()
	if d == 0 {
		return math.Pi * (sigma + beyond) / math.Acosh(dist/2/a)
	}
	const points = 8 * orders
	k := (sigma - beyond) / (sigma + beyond)
	m, one := mat.NewDense(points, 1+2*orders, nil), mat.NewVecDense(points, nil)
	for p := range points {
		sin, cos := math.Sincos(2 * math.Pi * (float64(p) + 0.5) / points)
		x, y := a*cos, a*sin
		row := m.RawRowView(p)
		rodTerms(row, x, y, 0, 0, a, 1)
		rodTerms(row, 2*d-x, y, 0, 0, a, k)
		rodTerms(row, x, dist-y, 0, 0, a, -1)
		rodTerms(row, 2*d-x, dist-y, 0, 0, a, -k)
		one.SetVec(p, 1)
	}
	var c mat.VecDense
	if err := c.SolveVec(m, one); err != nil {
		t.Fatal(err)
	}
	return 2 * math.Pi * sigma * c.AtVec(0)
}

// twoRods returns the current [A/m] of the first of two rods at ±1 V that stand dist apart
// along y at x, on cells of hx by h with lines at offset of them, even out to reach, in ground
// of sigma [S/m] by the middle of a cell.
func twoRods(t *testing.T, x, dist, a, hx, h, reach float64, offset [2]float64, sigma func(x, y float64) float64) float64 {
	t.Helper()
	g := mesh.NewSection(lines(0, offset[0], reach, hx, hx, 1, 60*dist), lines(0, offset[1], reach, h, h, 1, 60*dist), 1)
	p := slabOf(t, g, []cylinder{{x: x, y: dist / 2, a: a, v: 1}, {x: x, y: -dist / 2, a: a, v: -1}})
	for c := range p.sigma {
		p.sigma[c] = sigma(g.XC[c%g.NX], g.ZC[c/g.NX])
	}
	return real(p.solve(t).current[0])
}

// TestRodsBesideABoundary: two rods on, or beside, a straight boundary between grounds that
// conduct 1 : 2, 1 : 5 and 1 : 20, on either side of it, 0 to 4 cells away and a third of a
// radius from the wall at least, draw the current of cylinders there: to 0.5, 2 and 3 %.
// Source: multipoles about each and their mirror images, own derivation; on the boundary, by
// symmetry, acosh(D/2a) of the mean conductivity.
// Bars: those of 1 : 2 and 1 : 5 are asked of the program. What is left is what others'
// fields and the rod's own hold beyond a dipole: those of the boundary near by in proportion
// to k = 1/3, 2/3 and 0.9, and to the share of V/I within a cell or two.
func TestRodsBesideABoundary(t *testing.T) {
	const a = 1.0
	head := []string{"cells [a]", "σ there", "σ beyond"}
	places := []float64{0, 0.25, 0.5, 0.75, 1, 1.5, 2, 4}
	for _, d := range places {
		head = append(head, fmt.Sprintf("%g cells off: error [%%]", d))
	}
	var rows [][]string
	for _, ratio := range []float64{2, 5, 20} {
		worst, bar := 0.0, map[float64]float64{2: 0.5, 5: 2, 20: 3}[ratio]
		for _, m := range []struct{ hx, h, dist float64 }{{1, 1, 14}, {2, 2, 14}, {2, 4, 28}, {4, 4, 28}, {9, 9, 28}} {
			for _, side := range [][2]float64{{1, ratio}, {ratio, 1}} {
				row := []string{fmt.Sprintf("%g × %g", m.hx, m.h), fmt.Sprint(side[0]), fmt.Sprint(side[1])}
				for n, cells := range places {
					d := cells * m.hx * a
					if d > 0 && d < 1.33*a {
						row = append(row, "–")
						continue
					}
					want := besideBoundary(t, d, m.dist*a, a, side[0], side[1])
					got := twoRods(t, -d, m.dist*a, a, m.hx*a, m.h*a, m.dist/2*a+8*m.h*a, [2]float64{0, 0.1 + 0.1*float64(n)}, func(x, _ float64) float64 {
						if x > 0 {
							return side[1]
						}
						return side[0]
					})
					e := 100 * (got/want - 1)
					row = append(row, fmt.Sprintf("%.2f", e))
					if worst = math.Max(worst, math.Abs(e)); !(math.Abs(e) < bar) {
						t.Errorf("cells of %g × %g a, %g of them from a boundary, %g S/m there and %g beyond: the current is %.2f %% off, want below %g %%", m.hx, m.h, cells, side[0], side[1], e, bar)
					}
				}
				rows = append(rows, row)
			}
		}
		hold(t, check{fmt.Sprintf("largest error of a current, rods beside a boundary of 1 : %g", ratio), "multipoles and their images", worst, 0, "%", bar})
	}
	table(t, "Sub-grid rods beside a straight boundary", head, rows)
}

// TestRodsInHotGround: rods each in ground that is hottest, or driest, at its wall and even
// from a few cells on draw the current of that ground in series.
// Source: V/I = 1/(2π) ∫ dr/(r σ) from a to D, σ = 1 + (s − 1) exp(−r²/c²): by Simpson's rule;
// a circle of 2 c about a rod is at one potential to 2 c/D of the field there, whose square is 1 %
// of the part of V/I outside it at most.
// Tolerance: that, and the cell of the rod, which has the mean of σ where σ₀ = s is at its
// wall: by |s − 1| (h/c)²/(6 s) of itself.
func TestRodsInHotGround(t *testing.T) {
	const a, dist = 1.0, 60.0
	head := []string{"σ at the wall over σ beyond", "c [cells]", "cells of a: error [%]", "of 2 a", "of 4 a"}
	var rows [][]string
	for _, s := range []float64{0.2, 0.5, 2, 5} {
		for _, wide := range []float64{2, 3} {
			row := []string{fmt.Sprint(s), fmt.Sprint(wide)}
			for _, h := range []float64{1, 2, 4} {
				c := wide * h * a
				ground := func(r2 float64) float64 { return 1 + (s-1)*math.Exp(-r2/(c*c)) }
				const pieces = 2000
				ohms := 0.0
				for i := range pieces + 1 {
					weight := []float64{2, 4}[i%2]
					if i == 0 || i == pieces {
						weight = 1
					}
					ohms += weight / ground(math.Exp(2*math.Log(dist)*float64(i)/pieces))
				}
				ohms *= math.Log(dist/a) / pieces / 3 / (2 * math.Pi)
				got := twoRods(t, 0, dist, a, h*a, h*a, dist/2+8*h*a, [2]float64{0.3, 0.45}, func(x, y float64) float64 {
					mean := 0.0
					for n := range 64 { // of the cell, where cells are even
						u, v := ((float64(n%8)+0.5)/8-0.5)*h*a, ((float64(n/8)+0.5)/8-0.5)*h*a
						far := math.Abs(y) - dist/2
						if y < 0 {
							v = -v
						}
						mean += ground((x+u)*(x+u)+(far+v)*(far+v)) / 64
					}
					return mean
				})
				e := 100 * (got*ohms - 1)
				row = append(row, fmt.Sprintf("%.2f", e))
				tol := 0.01 + math.Abs(s-1)/(wide*wide*6*s)
				hold(t, check{fmt.Sprintf("current of rods in ground of %g at their walls, 1 beyond %g cells of %g a", s, wide, h), "in series", got, 1 / ohms, "A/m", tol / ohms})
			}
			rows = append(rows, row)
		}
	}
	table(t, "Sub-grid rods in hot or dry ground of their own", head, rows)
}

// TestRodsInPatchyGround: rods in ground that differs from cell to cell by up to 1 : 5 draw
// what they draw on cells of a sixth, in the same ground, which the first knows as well.
// Source: its own finer cells, where a rod's kernel lies in one patch or two; rods beside one
// boundary are held by the test of these. Tolerance: 3 %, the cells' own error where four
// patches meet, a rod or not: on cells of a third, a sixth and a twelfth currents still rise by
// 0.7, 0.4 and 0.2 %.
func TestRodsInPatchyGround(t *testing.T) {
	const a, dist = 1.0, 18.0
	for _, h := range []float64{3, 6} {
		worst := 0.0
		for n, offset := range offsets(few) {
			patch := func(x, y float64) float64 {
				i, j := math.Floor((x-offset[0]*h)/h), math.Floor((y-offset[1]*h)/h)
				if math.Abs(x) > 2*dist || math.Abs(y) > 2*dist { // where cells grow
					return 2
				}
				u := math.Sin(12.9898*i+78.233*j+float64(n)) * 43758.5453
				return math.Pow(5, u-math.Floor(u))
			}
			got := twoRods(t, 0, dist, a, h, h, 2*dist+3*h, offset, patch)
			want := twoRods(t, 0, dist, a, h/6, h/6, 2*dist+3*h, [2]float64{offset[0] * 6, offset[1] * 6}, patch)
			if e := 100 * (got/want - 1); math.Abs(e) > math.Abs(worst) {
				worst = e
			}
		}
		hold(t, check{fmt.Sprintf("largest error of a current, patches of 1 : 5, cells of %g a", h), "the same on cells of a sixth", worst, 0, "%", 3})
	}
}

// TestDryRingByItsCells: a ring that conducts a fifth, as wide as the rod is thick, and ends
// sharply counts as the mean of its cells: the current is too high where cells are wide, and
// converges with them to that of the ring and the ground beyond in series.
// Source: V/I = [ln(c/a)/σ₁ + ln(D/c)]/(2π), a circle being at one potential to (c/D)², of the
// part beyond 0.1 %. Tolerance: a cell at the ring's edge has the mean of both, which conducts
// better than they do in series, so that the ring is as if thinner by half a cell at most: of the
// ring's part of V/I h/(c − a)/2, of first order in h.
func TestDryRingByItsCells(t *testing.T) {
	const a, c, dist, dry = 1.0, 3.0, 60.0, 0.2
	inner := math.Log(c/a) / dry
	want := 2 * math.Pi / (inner + math.Log(dist/c))
	var found []string
	for _, h := range []float64{2, 1, 0.5} {
		got := twoRods(t, 0, dist, a, h, h, dist/2+8, [2]float64{0.3, 0.45}, func(x, y float64) float64 {
			within := 0.0
			for n := range 256 {
				u, v := ((float64(n%16)+0.5)/16-0.5)*h, ((float64(n/16)+0.5)/16-0.5)*h
				if math.Hypot(x+u, math.Abs(y+v)-dist/2) < c {
					within += 1.0 / 256
				}
			}
			return 1 + (dry-1)*within
		})
		found = append(found, fmt.Sprintf("%.1f %% on cells of %g a", 100*(got/want-1), h))
		hold(t, check{fmt.Sprintf("current of rods of radius a in a ring of a fifth out to 3 a, cells of %g a", h), "in series", got, want, "A/m",
			want * (0.01 + h/(c-a)/2*inner/(inner+math.Log(dist/c)))})
	}
	misses(t, "current of rods in a sharp dry ring out to three radii", "2 %", strings.Join(found, ", "))
}
