//dossier:chapter Conduction

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// layered fills a grid with soils down to their bottoms [m]; boiling is off.
func layered(t *testing.T, g *mesh.Grid, soils []materials.Soil, bottoms []float64) *physics.Ground {
	t.Helper()
	var list []*materials.Soil
	for i := range soils {
		list = append(list, &soils[i])
	}
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		list, bottoms, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}

// pair is a layer of some thickness on ground without end.
type pair struct {
	k, c  [2]float64 // [W/(m·K)], [J/(m³·K)] of the layer and of what lies below
	thick float64    // [m]
}

func (p *pair) String() string {
	return fmt.Sprintf("%g over %g W/(m K), %g over %g MJ/(m3 K)", p.k[0], p.k[1], p.c[0]/1e6, p.c[1]/1e6)
}

// length is the diffusion length 2√(αt) in part i [m].
func (p *pair) length(i int, time float64) float64 {
	return 2 * math.Sqrt(p.k[i]/p.c[i]*time)
}

// effusivity is √(kC) of part i.
func (p *pair) effusivity(i int) float64 { return math.Sqrt(p.k[i] * p.c[i]) }

// mirror is what the interface sends back of a flux from above: (e₁ − e₂)/(e₁ + e₂).
func (p *pair) mirror() float64 {
	a, b := p.effusivity(0), p.effusivity(1)
	return (a - b) / (a + b)
}

// run runs a column of the pair, cells as in demoAxis, and returns its grid and rises.
func (p *pair) run(t *testing.T, f, end, duration, tolerance float64, b physics.HeatBoundary, power func(g *mesh.Grid) []float64) (*mesh.Grid, []float64) {
	t.Helper()
	g := downward(demoAxis(t, f, end, 0, p.thick))
	c := conduction{grid: g, boundary: b, zone: g.Box("zone", 0, 1, 0, 2*p.thick), duration: duration, tolerance: tolerance}
	if power != nil {
		c.imposed = power(g)
	}
	problem := c.problem(t)
	problem.Ground = layered(t, g, []materials.Soil{plainSoil(p.k[0], p.c[0], 50, 0), plainSoil(p.k[1], p.c[1], 50, 0)}, []float64{p.thick, math.Inf(1)})
	rep, err := solver.Run(context.Background(), problem, nil)
	if err != nil {
		t.Fatal(err)
	}
	return g, rises(rep.State)
}

// at returns the field at a depth, from the nodes of one part; on the interface from
// the two nodes beside it, whose fluxes to it are one.
func (p *pair) at(g *mesh.Grid, u []float64, z float64) float64 {
	first := mesh.EdgeAt(g.Z, p.thick) // of what lies below
	switch {
	case z == p.thick:
		a := p.k[0] / (g.Z[first] - g.ZC[first-1])
		b := p.k[1] / (g.ZC[first] - g.Z[first])
		return (a*u[first-1] + b*u[first]) / (a + b)
	case z < p.thick:
		return along(g.ZC[:first], u[:first], z)
	}
	return along(g.ZC[first:], u[first:], z)
}

// contrasts are ten in conductivity and three in capacity, in either order.
var contrasts = []pair{
	{k: [2]float64{0.4, 4}, c: [2]float64{1e6, 3e6}, thick: 1},
	{k: [2]float64{4, 0.4}, c: [2]float64{3e6, 1e6}, thick: 1},
	{k: [2]float64{0.4, 4}, c: [2]float64{3e6, 1e6}, thick: 1},
}

// layersEnd is where the ground ends [m]: 34 m are 5.3 of the longest diffusion length
// below the layer, and erfc(5.3) is 7e-14.
const layersEnd = 35.0

// TestWallOfTwoLayers: steady heat through two layers, a film and a cover is exact on
// any mesh. Steady heat through two layers, film and cover in series: the field is a
// broken line, which the two half-resistances of a face carry exactly on any mesh.
//
//	flux = ΔT / (1/h + R + l₁/k₁ + l₂/k₂)
//
// Source: resistances in series, Carslaw & Jaeger (1959), §3.2 (from memory).
// Tolerance: what each heat solve leaves, as in TestHeatLeavesThroughFilmAsItMust, and
// rounding of sums near 300 K.
func TestWallOfTwoLayers(t *testing.T) {
	const hot, film, cover, upper, whole = 60.0, 8.0, 0.25, 1.3, 4.0
	for _, p := range contrasts[:2] {
		g := downward(demoAxis(t, 2, whole, 0, upper))
		b := physics.HeatBoundary{Film: film, Cover: cover, Air: constantAir(atStart + hot), Below: physics.Held{On: true, Temperature: atStart}}
		c := conduction{grid: g, boundary: b, zone: mesh.Zone{I1: 1, K1: g.NZ}, duration: 50000 * day, fixed: 500 * day, tolerance: 1e-6}
		problem := c.problem(t)
		problem.Ground = layered(t, g, []materials.Soil{plainSoil(p.k[0], p.c[0], 50, 0), plainSoil(p.k[1], p.c[1], 50, 0)}, []float64{upper, math.Inf(1)})
		rep, err := solver.Run(context.Background(), problem, nil)
		if err != nil {
			t.Fatal(err)
		}
		flux := hot / (1/film + cover + upper/p.k[0] + (whole-upper)/p.k[1])
		worst := 0.0
		for i, u := range rises(rep.State) {
			z := g.ZC[i]
			want := hot - flux*(1/film+cover+z/p.k[0])
			if z > upper {
				want = flux * (whole - z) / p.k[1]
			}
			worst = math.Max(worst, math.Abs(u-want))
		}
		const tol = 1e-8 + 1e-9 // [K]
		hold(t, check{"largest error of steady heat through two layers, " + p.String(), "resistances in series", worst, 0, "K", tol})
		// The same share of the flux, and rounding: tol over the least resistance on
		// the way.
		hold(t, check{"steady heat through two layers, " + p.String(), "resistances in series", -problem.Heat.Outflow(physics.Surface, rep.State.T), flux, "W/m2", tol / (1/film + cover)})
	}
}

// TestHeatCrossesFromWarmedGround: heat crosses from warmed ground into other ground
// as the contact of two half-spaces says. Below 1 m the ground is heated evenly at 100
// W/m³, above it is not and the surface is far: two half-spaces in contact, of which
// one warms evenly. Counted from the interface,
//
//	unheated  T = (qt/C₂) m₂ 4 i²erfc(x/2√(α₁t)),   m₂ = e₂/(e₁ + e₂),  e = √(kC)
//	heated    T = (qt/C₂) [1 − m₁ 4 i²erfc(x/2√(α₂t))],  m₁ = 1 − m₂
//
// the time integral of two half-spaces brought into contact, at any time: the
// interface keeps m₂ of what the far ground has.
// Source: Carslaw & Jaeger (1959), §2.15 (from memory), integrated over time.
// Tolerance: Richardson's on three meshes, see refined.
func TestHeatCrossesFromWarmedGround(t *testing.T) {
	const q, time = 100.0, 30 * day
	for _, p := range contrasts {
		p.thick = 30
		scale := q * time / p.c[1]
		spots := []float64{-1, -0.3, 0, 0.3, 1} // [m] below the interface
		got := refined(t, 1e-3*scale, func(f float64) []float64 {
			g, u := p.run(t, f, 60, time, stepTolerance(f, scale), insulated, func(g *mesh.Grid) []float64 {
				return heated(g, g.Box("warmed", 0, 1, p.thick, 60), q)
			})
			var out []float64
			for _, x := range spots {
				out = append(out, p.at(g, u, p.thick+x))
			}
			return out
		})
		m2 := p.effusivity(1) / (p.effusivity(0) + p.effusivity(1))
		for i, x := range spots {
			want := scale * m2 * 4 * i2erfc(-x/p.length(0, time))
			if x > 0 {
				want = scale * (1 - (1-m2)*4*i2erfc(x/p.length(1, time)))
			}
			got.hold(t, i, fmt.Sprintf("contact with warmed ground, %s, %g m below the interface", p.String(), x), "Carslaw & Jaeger 1959 sec. 2.15, integrated", want, "K", 0)
		}
	}
}

// images sums a series of images Σ mirrorⁿ term(n) until they no longer count.
func images(mirror float64, term func(n float64) float64) float64 {
	sum, weight := 0.0, 1.0
	for n := 0.0; n < 1000; n++ {
		v := weight * term(n)
		sum += v
		if n > 2 && math.Abs(v) < 1e-16*math.Abs(sum) {
			break
		}
		weight *= mirror
	}
	return sum
}

// flux100 is T at depth z below a surface that takes 100 W/m², by images in the
// interface, whose share sent back is m = (e₁ − e₂)/(e₁ + e₂), l₁,₂ = 2√(α₁,₂t):
//
//	layer  (F l₁/k₁) Σ mⁿ [ierfc((2nb + z)/l₁) + m ierfc((2(n+1)b − z)/l₁)]
//	below  (F l₁/k₁) (1 + m) Σ mⁿ ierfc((2n+1)b/l₁ + (z − b)/l₂)
//
// held100 is the same for a surface 100 K warmer from the start on,
//
//	layer  ΔT Σ (−m)ⁿ [erfc((2nb + z)/l₁) + m erfc((2(n+1)b − z)/l₁)]
//	below  ΔT (1 + m) Σ (−m)ⁿ erfc((2n+1)b/l₁ + (z − b)/l₂)
//
// Source: Carslaw & Jaeger (1959), §12.8 (from memory); held to the inversion of the
// transforms below.
func (p *pair) flux100(z, time float64) float64 {
	m, a, b := p.mirror(), p.length(0, time), p.thick
	scale := 100 * a / p.k[0]
	if z > b {
		return scale * (1 + m) * images(m, func(n float64) float64 { return ierfc((2*n+1)*b/a + (z-b)/p.length(1, time)) })
	}
	return scale * images(m, func(n float64) float64 { return ierfc((2*n*b+z)/a) + m*ierfc((2*(n+1)*b-z)/a) })
}

func (p *pair) held100(z, time float64) float64 {
	m, a, b := p.mirror(), p.length(0, time), p.thick
	if z > b {
		return 100 * (1 + m) * images(-m, func(n float64) float64 { return math.Erfc((2*n+1)*b/a + (z-b)/p.length(1, time)) })
	}
	return 100 * images(-m, func(n float64) float64 { return math.Erfc((2*n*b+z)/a) + m*math.Erfc((2*(n+1)*b-z)/a) })
}

// transforms are those of flux100 and held100, from the two parts' general solutions,
//
//	T̄₁ = A e^(−κ₁z) + B e^(κ₁z),  T̄₂ = D e^(−κ₂(z−b)),
//
// with temperature and flux one at the interface, which the images know nothing of.
func (p *pair) transforms(z float64) (flux, held func(s complex128) complex128) {
	field := func(s complex128, top func(k1, ratio complex128) complex128) complex128 {
		k1 := cmplx.Sqrt(s * complex(p.c[0]/p.k[0], 0))
		k2 := cmplx.Sqrt(s * complex(p.c[1]/p.k[1], 0))
		// T₁ and T₁′ at the interface for D = 1, and from there A and B.
		slope := -complex(p.k[1]/p.k[0], 0) * k2
		b := complex(p.thick, 0)
		A, B := (1-slope/k1)/2*cmplx.Exp(k1*b), (1+slope/k1)/2*cmplx.Exp(-k1*b)
		D := top(k1, B/A) / A
		if z > p.thick {
			return D * cmplx.Exp(-k2*complex(z-p.thick, 0))
		}
		return D * (A*cmplx.Exp(-k1*complex(z, 0)) + B*cmplx.Exp(k1*complex(z, 0)))
	}
	flux = func(s complex128) complex128 {
		return field(s, func(k1, ratio complex128) complex128 { return 100 / s / (complex(p.k[0], 0) * k1 * (1 - ratio)) })
	}
	held = func(s complex128) complex128 {
		return field(s, func(_, ratio complex128) complex128 { return 100 / s / (1 + ratio) })
	}
	return flux, held
}

// TestLayerOnOtherGround: a layer on other ground warms as its images say. A layer of
// 1 m on ground that conducts ten times as much or a tenth, with three times or a
// third of its capacity, for 30 days: 100 W/m² through its surface, and its surface
// taken 100 K higher. Temperatures at the surface, in the layer, at the interface and
// below.
// Source: images, Carslaw & Jaeger (1959), §12.8 (from memory), held to an inversion.
// Tolerance: Richardson's on three meshes, see refined.
func TestLayerOnOtherGround(t *testing.T) {
	const time = 30 * day
	depths := []float64{0, 0.5, 1, 1.5, 3}
	var lines []curve
	for _, p := range contrasts {
		for _, z := range depths {
			flux, held := p.transforms(z)
			// The series are summed to rounding, and the inversion is good to 1e-12 of
			// its scale.
			hold(t, check{fmt.Sprintf("images of a flux against the transform, %s, z = %g m", p.String(), z), "Laplace inversion", p.flux100(z, time), inverse(time, flux), "K", 1e-11 * p.flux100(0, time)})
			hold(t, check{fmt.Sprintf("images of a held surface against the transform, %s, z = %g m", p.String(), z), "Laplace inversion", p.held100(z, time), inverse(time, held), "K", 1e-9})
		}
		scale := p.flux100(0, time)
		got := refined(t, 1e-3*scale, func(f float64) []float64 {
			g, u := p.run(t, f, layersEnd, time, stepTolerance(f, scale), insulated, func(g *mesh.Grid) []float64 {
				w := make([]float64, g.Cells())
				w[0] = 100 // the balance of a cell cannot tell power from a flux through its face
				return w
			})
			out := []float64{u[0] + 100*g.ZC[0]/p.k[0]}
			for _, z := range depths[1:] {
				out = append(out, p.at(g, u, z))
			}
			return out
		})
		for i, z := range depths {
			got.hold(t, i, fmt.Sprintf("100 W/m2 into a layer of 1 m, %s, z = %g m", p.String(), z), "images, Carslaw & Jaeger 1959 sec. 12.8", p.flux100(z, time), "K", 0)
		}

		b := heldSurface
		b.Air = constantAir(atStart + 100)
		points := curve{Label: "program, " + p.String(), Points: true}
		got = refined(t, 1e-3*100, func(f float64) []float64 {
			g, u := p.run(t, f, layersEnd, time, stepTolerance(f, 100), b, nil)
			if f == 1 {
				for i, z := range g.ZC {
					if z < 5 {
						points.X, points.Y = append(points.X, z), append(points.Y, u[i])
					}
				}
			}
			var out []float64
			for _, z := range depths[1:] {
				out = append(out, p.at(g, u, z))
			}
			return out
		})
		formula := curve{Label: "images, " + p.String()}
		for z := 0.0; z <= 5; z += 0.125 {
			formula.X, formula.Y = append(formula.X, z), append(formula.Y, p.held100(z, time))
		}
		lines = append(lines, formula, points)
		for i, z := range depths[1:] {
			got.hold(t, i, fmt.Sprintf("layer of 1 m below a surface 100 K warmer, %s, z = %g m", p.String(), z), "images, Carslaw & Jaeger 1959 sec. 12.8", p.held100(z, time), "K", 0)
		}
	}
	draw(t, "layer-held", "A layer of 1 m on other ground, surface 100 K warmer for 30 d", "depth [m]", "temperature rise [K]", false, lines...)
}
