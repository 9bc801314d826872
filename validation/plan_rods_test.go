package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
	"time"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// plan is a level slab with rods: its grid and what is solved there.
type plan struct {
	law     *physics.Electric
	sigma   []float64
	current []complex128
	q       []float64
	power   float64
	solves  int
}

func solvePlan(t testing.TB, g *mesh.Grid, sigma float64, bodies []physics.Body, tol float64) plan {
	t.Helper()
	e, err := physics.NewElectric(g, bodies, false)
	if err != nil {
		t.Fatal(err)
	}
	p := plan{law: e, sigma: make([]float64, g.Cells()), current: make([]complex128, len(bodies)), q: make([]float64, g.Cells())}
	for c := range p.sigma {
		p.sigma[c] = sigma
	}
	p.solve(t, tol)
	return p
}

func (p *plan) solve(t testing.TB, tol float64) {
	t.Helper()
	e := p.law
	g := e.Grid
	if err := e.Assemble(p.sigma); err != nil {
		t.Fatal(err)
	}
	held := make([]bool, g.Cells())
	for c, b := range e.BodyOf {
		held[c] = b >= 0
	}
	s := &linear.System{NX: g.NX, NZ: g.NZ, Across: e.Across, Down: e.Down, Held: held}
	for _, r := range e.Rods {
		s.Blocks = append(s.Blocks, linear.Block{Cells: r.Cell, Part: r.Part, Y: r.Y})
	}
	pcg := linear.NewPCG(g.NX, g.NZ, nil)
	pcg.Factor(s)
	rhs := make([]float64, g.Cells())
	part := func(of func(complex128) float64) []float64 {
		phi := make([]float64, g.Cells())
		e.ImposeTo(phi, rhs, of)
		scale := pcg.Residual(phi, s, rhs, nil)
		st, err := pcg.SolveTo(phi, s, rhs, linear.Settings{Tolerance: tol * scale, MaxIterations: 2000})
		if err != nil {
			t.Fatal(err)
		}
		pcg.Balance(phi)
		p.solves += st.Iterations
		return phi
	}
	re := part(func(z complex128) float64 { return real(z) })
	im := part(func(z complex128) float64 { return imag(z) })
	p.power, _ = e.HeatTo(p.q, p.current, re, im)
}

// around returns edges of even cells of h from −reach to reach about from, which grow by
// the factor beyond to far.
func around(from, reach, h, growth, far float64) []float64 {
	n := int(math.Ceil(reach / h))
	var out []float64
	for x, d := from-float64(n)*h, h; x > from-far; d *= growth {
		out = append([]float64{x - d*growth}, out...)
		x -= d * growth
	}
	for i := -n; i <= n; i++ {
		out = append(out, from+float64(i)*h)
	}
	for x, d := from+float64(n)*h, h; x < from+far; d *= growth {
		x += d * growth
		out = append(out, x)
	}
	return out
}

func TestExplore(t *testing.T) {
	type layout struct {
		name string
		rods []cylinder
		d    float64
	}
	a := 0.1524
	ring := func(r float64, phases int) []cylinder {
		var c []cylinder
		for i := range 6 {
			s, co := math.Sincos(math.Pi / 3 * float64(i))
			v := physics.Phasor(6, string(rune('A'+i)))
			if phases == 3 {
				v = physics.Phasor(3, string(rune('A'+i%3)))
			}
			c = append(c, cylinder{x: r * co, y: r * s, a: a, v: v})
		}
		return c
	}
	lattice := func(s float64) []cylinder {
		var c []cylinder
		for j := -2; j <= 2; j++ {
			for i := -4; i <= 4; i++ {
				x, y := s*(float64(i)+float64(j)/2), s*float64(j)*math.Sqrt(3)/2
				if math.Hypot(x, y) < 2.01*s {
					c = append(c, cylinder{x: x, y: y, a: a, v: physics.Phasor(3, string(rune('A'+((i-j)%3+3)%3)))})
				}
			}
		}
		return c
	}
	pair := func(d, angle float64) []cylinder {
		s, c := math.Sincos(angle)
		return []cylinder{{x: -d / 2 * c, y: -d / 2 * s, a: a, v: 1}, {x: d / 2 * c, y: d / 2 * s, a: a, v: -1}}
	}
	for _, f := range []float64{10, 14, 28} {
		d := f * a
		for _, l := range []layout{{"ring6", ring(d, 6), d}, {"ring3", ring(d, 3), d}, {"lattice", lattice(d), d}, {"pair0", pair(d, 0), d}, {"pair30", pair(d, 0.5), d}, {"pair90", pair(d, math.Pi/2), d}} {
			ref := multipoles{rods: l.rods, order: 5}
			ref.solve(t)
			for _, h := range []float64{0.25*a, a, 2 * a, d / 3} {
				for _, mesh2 := range []string{"square", "oblong", "graded"} {
					if h < a && (f > 14 || l.name == "lattice") {
						continue
					}
					worst, worstP, it := 0.0, 0.0, 0
					t0 := time.Now()
					tries := 3
					for k := range tries {
						ox, oy := h*math.Mod(float64(k)*0.618034, 1), h*math.Mod(float64(k)*0.754878, 1)
						hx, hy := h, h
						if mesh2 == "oblong" {
							hx /= 2
						}
						reach := 2.1*d + 4*h
						gx, gy := around(ox, reach, hx, 1.25, 60*d), around(oy, reach, hy, 1.25, 60*d)
						if mesh2 == "graded" {
							gx, gy = around(ox, h/2, h/3, 1.2, 60*d), around(oy-0.3*d, h/2, h/3, 1.15, 60*d)
							_ = gx
							capAt(gx, h)
						}
						var bodies []physics.Body
						for i, c := range l.rods {
							bodies = append(bodies, physics.Body{Name: fmt.Sprint(i), Phase: c.v, Rods: 1, Rod: &physics.Rod{X: c.x, Y: c.y, Radius: a}})
						}
						p := solvePlan(t, mesh.NewSection(gx, gy, 1), 1, bodies, 1e-9)
						for i := range l.rods {
							worst = math.Max(worst, cmplx.Abs(p.current[i]/ref.current(i)-1))
						}
						worstP = math.Max(worstP, math.Abs(p.power/ref.power()-1))
						it += p.solves
					}
					t.Logf("d/a %g %s h/a %.3g %s: current %.3f %% power %.3f %% iterations %d %v", f, l.name, h/a, mesh2, 100*worst, 100*worstP, it/tries, time.Since(t0))
				}
			}
		}
	}
}

func capAt(x []float64, h float64) {}
