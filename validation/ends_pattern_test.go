//dossier:chapter Plans

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"soiljoule/physics"
	"soiljoule/solver"
)

// rodsApart is rods in layers, and what boundary elements in three dimensions say leaves
// their panels.
type rodsApart struct {
	array
	stands []stand
	panel  []panel
	charge []complex128 // [A] by rod and panel, at 1 V
}

// ringOfRods is six of them on a circle about the origin, each at its phase.
type ringOfRods struct {
	rodsApart
	radius float64 // [m] of the circle
	phases int
}

// at returns where a rod stands, and its phase.
func (r *ringOfRods) at(i int) (x, y float64, phase string) {
	sin, cos := math.Sincos(math.Pi / 3 * float64(i))
	return r.radius * cos, r.radius * sin, string(rune('A' + i%r.phases))
}

// solve finds the panels' currents. All rods are alike but for a turn of phase from each to
// the next, by one sixth or one third of a circle: so one rod's are enough.
func (r *ringOfRods) solve(t *testing.T) {
	t.Helper()
	r.panel = r.panels()
	n := len(r.panel)
	a := mat.NewDense(2*n, 2*n, nil)
	for i := range 6 {
		x, y, phase := r.at(i)
		block := r.between(r.panel, math.Hypot(x-r.radius, y), 0)
		turn := physics.Phasor(r.phases, phase)
		for k := range n {
			for l := range n {
				re, im := real(turn)*block.At(k, l), imag(turn)*block.At(k, l)
				a.Set(k, l, a.At(k, l)+re)
				a.Set(k, n+l, a.At(k, n+l)-im)
				a.Set(n+k, l, a.At(n+k, l)+im)
				a.Set(n+k, n+l, a.At(n+k, n+l)+re)
			}
		}
	}
	b, q := mat.NewVecDense(2*n, nil), mat.NewVecDense(2*n, nil)
	for k := range n {
		b.SetVec(k, 1) // phase A
	}
	if err := q.SolveVec(a, b); err != nil {
		t.Fatal(err)
	}
	for i := range 6 {
		x, y, phase := r.at(i)
		r.stands = append(r.stands, stand{x, y, phase})
		for k := range n {
			r.charge = append(r.charge, physics.Phasor(r.phases, phase)*complex(q.AtVec(k), q.AtVec(n+k)))
		}
	}
}

// seen returns the images of a panel at the layer of an observer: for one above it those of
// the observer seen from the panel, by reciprocity.
func (r *rodsApart) seen(observer int, p *panel) []panelImage {
	var out []panelImage
	if observer >= p.layer {
		for _, m := range r.earth.images(observer, p.layer) {
			out = append(out, panelImage{m.factor, m.sign*p.z0 + m.at, m.sign*p.z1 + m.at})
		}
		return out
	}
	for _, m := range r.earth.images(p.layer, observer) {
		out = append(out, panelImage{m.factor, m.sign * (p.z0 - m.at), m.sign * (p.z1 - m.at)})
	}
	return out
}

// panelImage is a piece of a line from one depth to another [m] and its factor [m/S].
type panelImage struct{ factor, z0, z1 float64 }

// density returns the power density at a place [W/m³ at 1 V], the mean over the rods'
// length: σ|E|² at the middles of 60 parts. Panels are four lines, or points, at a rod's
// wall: round it that is exact to the fourth power of radius over distance.
func (r *rodsApart) density(x, y float64) float64 {
	const parts = 60
	images := map[[2]int][]panelImage{}
	sum := 0.0
	for part := range parts {
		z := r.top + (float64(part)+0.5)/parts*r.length
		layer := r.earth.layer(z)
		var ex, ey, ez complex128
		for k := range r.panel {
			p := &r.panel[k]
			key := [2]int{layer, k}
			if images[key] == nil {
				images[key] = r.seen(layer, p)
			}
			around := math.Sqrt(p.square())
			for i, at := range r.stands {
				q := r.charge[i*len(r.panel)+k] / (4 * math.Pi * 4)
				for side := range 4 {
					sin, cos := math.Sincos(math.Pi/4 + math.Pi/2*float64(side))
					dx, dy := x-at.x-around*cos, y-at.y-around*sin
					rho2 := dx*dx + dy*dy
					across, down := 0.0, 0.0 // −∂φ/∂ρ over ρ, −∂φ/∂z
					for _, m := range images[key] {
						u0, u1 := z-m.z0, z-m.z1
						r0, r1 := math.Sqrt(rho2+u0*u0), math.Sqrt(rho2+u1*u1)
						if u0 == u1 {
							across += m.factor / (r0 * r0 * r0)
							down += m.factor * u0 / (r0 * r0 * r0)
							continue
						}
						across += m.factor / (u0 - u1) * (u0/r0 - u1/r1) / rho2
						down += m.factor / (u0 - u1) * (1/r1 - 1/r0)
					}
					ex += q * complex(across*dx, 0)
					ey += q * complex(across*dy, 0)
					ez += q * complex(down, 0)
				}
			}
		}
		e2 := real(ex*cmplx.Conj(ex) + ey*cmplx.Conj(ey) + ez*cmplx.Conj(ez))
		sum += r.earth.sigma[layer] * e2 / parts
	}
	return sum
}

// endless returns the same of rods without end through ground of the mean conductivity, as
// six lines: with phases that turn alike from each to the next
//
//	I = V/Σ_j p_j e^(iθ_j),   p_j = −ln(d_j)/(2πσ), d_0 = a.
func (r *ringOfRods) endless(mean, x, y float64) float64 {
	var p complex128
	for i := range 6 {
		rx, ry, phase := r.at(i)
		d := math.Hypot(rx-r.radius, ry)
		if i == 0 {
			d = r.a
		}
		p -= physics.Phasor(r.phases, phase) * complex(math.Log(d)/(2*math.Pi*mean), 0)
	}
	var ex, ey complex128
	for i := range 6 {
		rx, ry, phase := r.at(i)
		dx, dy := x-rx, y-ry
		e := physics.Phasor(r.phases, phase) / p / complex(2*math.Pi*mean*(dx*dx+dy*dy), 0)
		ex, ey = ex+e*complex(dx, 0), ey+e*complex(dy, 0)
	}
	return mean * real(ex*cmplx.Conj(ex)+ey*cmplx.Conj(ey))
}

// planHeat returns the plan of the ring on cells of a size [m], and its heat by cell when cold: of
// rods of finite length, and of rods without end.
func (r *ringOfRods) planHeat(t *testing.T, finest float64) (p *solver.Problem, heat [2][]float64) {
	t.Helper()
	top, length, a, earth := r.top, r.length, r.a, r.earth
	var b strings.Builder
	fmt.Fprintf(&b, "title = \"ring\"\nview = \"plan\"\nextent = { top = \"%g m\", bottom = \"%.9g m\" }\nmesh.finest = \"%g m\"\ndomain = { left = \"-80 m\", right = \"80 m\", front = \"-80 m\", back = \"80 m\" }", top, top+length, finest)
	head, layer, _ := strings.Cut(strings.Replace(evenGround, "phases = 3", fmt.Sprintf("phases = %d", r.phases), 1), "[[layer]]")
	b.WriteString(head)
	for l, sigma := range earth.sigma {
		text := strings.Replace(strings.Replace(layer, "\"25 ohm*m\"", fmt.Sprintf("\"%.9g ohm*m\"", 1/sigma), 1), "\"even\"", fmt.Sprintf("\"L%d\"", l), 1)
		if l < len(earth.bottom) {
			text += fmt.Sprintf("bottom = \"%.9g m\"\n", float64(earth.bottom[l])*earth.unit)
		}
		b.WriteString("[[layer]]" + text)
	}
	b.WriteString("[[target]]\nname = \"zone\"\ncenter = [\"0 m\", \"0 m\"]\nradius = \"2 m\"\ntemperature = \"90 degC\"\n")
	for i := range 6 {
		x, y, phase := r.at(i)
		fmt.Fprintf(&b, "[[electrode]]\nname = \"E%d\"\nphase = \"%s\"\nx = \"%.12g m\"\ny = \"%.12g m\"\nradius = \"%g m\"\ntop = \"%g m\"\nbottom = \"%.9g m\"\n", i+1, phase, x, y, a, top, top+length)
	}
	p = caseOf(t, b.String())
	for k := range heat {
		if k == 1 {
			p = caseOf(t, b.String())
			p.Electric.Ends = nil // rods without end
		}
		s, err := solver.Start(p)
		if err != nil {
			t.Fatal(err)
		}
		heat[k] = s.State.Joule
	}
	return p, heat
}

// TestWhereShortRodsHeat: the power density of a plan's slab with a ring of six short rods,
// over that of the same rods without end, is what rods of finite length have on average over
// their length: at the middle, half way out, midway between neighbours, outside the ring and
// 0.5 m from a rod; of three and of six phases, rods of 0.6 and 2 radii of the ring, in even
// ground and in layers of 1 : 5 that the rods end in or go through.
//
// Source: boundary elements in three dimensions, with images for surface and layers; lines
// without end. Tolerance 3 %: power goes as the square of currents, of which the lines' are
// 0.3 % (TestFiniteCurrentsOfFlatEnds) and the reference's 0.2 % off; the dipole that
// neighbours raise on a rod, which endless lines and elements leave out alike, is (a/d)² of
// its field, 0.1 %. What the slab has in all, its electrodes' power less what passes the
// planes of their ends, and its cells do not show, lies beside the rods, where they cannot
// show it: so the places are the same on cells of 0.4 m, four radii of these rods, but for
// 0.5 m from a rod, which is beside it on those. The middle of three phases, where there is
// no heat, is left out. Heat laid where rods without end have it would be 20 to 80 % off.
func TestWhereShortRodsHeat(t *testing.T) {
	const radius, a, top, unit = 3.0, 0.1, 1.0, 0.1
	var rows [][]string
	for _, ratio := range []float64{0.6, 2} {
		length := ratio * radius
		bottom := int(math.Round((top + length) / unit))
		for _, ground := range []struct {
			name  string
			earth earth
			mean  float64
		}{
			{"even", earth{sigma: []float64{0.04}, unit: unit}, 0.04},
			{"worse above and below", earth{sigma: []float64{0.008, 0.04, 0.008}, bottom: []int{10, bottom}, unit: unit}, 0.04},
			{"better below", earth{sigma: []float64{0.04, 0.2}, bottom: []int{bottom}, unit: unit}, 0.04},
			{"two layers along the rods", earth{sigma: []float64{0.02, 0.06}, bottom: []int{(10 + bottom) / 2}, unit: unit}, 0.04},
		} {
			for _, phases := range []int{3, 6} {
				layered := len(ground.earth.bottom) > 0
				if phases == 3 && layered || few < 20 && ratio == 2 && (phases == 3 || layered) {
					continue
				}
				r := ringOfRods{rodsApart: rodsApart{array: array{earth: ground.earth, top: top, length: length, a: a, cells: 3}}, radius: radius, phases: phases}
				r.solve(t)
				for _, finest := range []float64{0.2, 0.4} {
					on := ""
					if finest > 0.2 {
						if layered && few < 20 {
							continue
						}
						on = ", on cells of 0.4 m"
					}
					p, heat := r.planHeat(t, finest)
					g := p.Ground.Grid
					mean, n := 0.0, 0.0 // of the ln of got over want
					var off []float64
					var names []string
					for _, place := range []struct {
						name string
						x, y float64
					}{
						{"middle", 0, 0},
						{"half way out", radius / 2, 0},
						{"midway between neighbours", radius * math.Cos(math.Pi/6) * math.Cos(math.Pi/6), radius * math.Cos(math.Pi/6) * math.Sin(math.Pi/6)},
						{"half a radius outside", 1.5 * radius * math.Cos(math.Pi/6), 1.5 * radius * math.Sin(math.Pi/6)},
						{"0.5 m from a rod", radius - 0.5, 0},
					} {
						if phases == 3 && place.x == 0 || finest > 0.2 && place.name == "0.5 m from a rod" {
							continue
						}
						i, k := 0, 0
						for g.X[i+1] < place.x {
							i++
						}
						for g.Z[k+1] < place.y {
							k++
						}
						x, y, c := g.XC[i], g.ZC[k], k*g.NX+i
						want := r.density(x, y) / r.endless(ground.mean, x, y)
						got := heat[0][c] / heat[1][c]
						hold(t, check{fmt.Sprintf("power density over that of rods without end, %s, rods %g radii long, %d phases, %s ground%s", place.name, ratio, phases, ground.name, on), "boundary elements in three dimensions", got, want, "-", 0.03 * want})
						off, names, mean, n = append(off, math.Log(got/want)), append(names, place.name), mean+math.Log(got/want), n+1
						rows = append(rows, []string{fmt.Sprintf("%g", ratio), fmt.Sprint(phases), ground.name, fmt.Sprint(finest), place.name, fmt.Sprintf("%.3f", want), fmt.Sprintf("%.3f", got), fmt.Sprintf("%+.2f %%", 100*(got/want-1))})
					}
					for i, o := range off {
						hold(t, check{fmt.Sprintf("the same over the mean of all places, %s, rods %g radii long, %d phases, %s ground%s", names[i], ratio, phases, ground.name, on), "boundary elements in three dimensions", math.Exp(o - mean/n), 1, "-", 0.03})
					}
				}
			}
		}
	}
	table(t, "Power density of a ring of six short rods over that of rods without end", []string{"length over radius", "phases", "ground", "cells, m", "place", "reference", "plan", "off by"}, rows)
}
