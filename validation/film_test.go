//dossier:chapter The surface

package validation

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"soiljoule/physics"
)

// TestSurfaceFilm: a half-space cools through a surface film as the closed form says.
// A half-space below air 10 K colder, film 5 W/(m²·K).
//
//	T = ΔT [erfc ξ − exp(hx/k + h²αt/k²) erfc(ξ + h√(αt)/k)],  ξ = x/2√(αt)
//
// Source: Carslaw & Jaeger (1959), §2.7 (from memory); values A3.
func TestSurfaceFilm(t *testing.T) {
	const h, scale = 5.0, 10.0
	filmCase := func(f float64, b physics.HeatBoundary) []float64 {
		g := downward(demoAxis(t, f, 20, 0))
		b.Air = constantAir(atStart - scale)
		c := conduction{grid: g, boundary: b, zone: g.Box("zone", 0, 1, 0, 5), duration: 30 * day, tolerance: stepTolerance(f, scale)}
		rep, _ := c.run(t)
		u := rises(rep.State)
		// The ground's face: film and half a cell in series.
		half := conductivity / g.ZC[0]
		face := (half*u[0] - h*scale) / (half + h)
		return []float64{face, along(g.ZC, u, 1), along(g.ZC, u, 3)}
	}
	rows := []string{"x=0.0 m, t=30 d, h=5 W/m2K, air 10 K colder", "x=1.0 m, t=30 d, h=5 W/m2K, air 10 K colder", "x=3.0 m, t=30 d, h=5 W/m2K, air 10 K colder"}
	film := refined(t, 1e-3*scale, func(f float64) []float64 { return filmCase(f, physics.HeatBoundary{Film: h}) })
	film.holdClosedForms(t, "A3", 0, rows...)

	// A film of 10 and a cover of 0.1 m²·K/W in series let through what a film of 5
	// does.
	cover := refined(t, 1e-3*scale, func(f float64) []float64 { return filmCase(f, physics.HeatBoundary{Film: 2 * h, Cover: 1 / (2 * h)}) })
	for i, name := range rows {
		want, unit, source := closedForm(t, "A3", name)
		cover.hold(t, i, name+", half of it a cover", source, want, unit, 1e-8)
	}
}

// TestSurfaceFollowsWarmingAir: the ground below a surface that follows warming air
// warms as the closed form says. Air that warms evenly by 40 K in 100 days, over a
// surface that follows it: T = 4Rt i²erfc(x/2√(αt)), R the rate.
// Source: Carslaw & Jaeger (1959), §2.5, surface temperature R tⁿ with n = 1 (from memory).
func TestSurfaceFollowsWarmingAir(t *testing.T) {
	const rise = 40.0
	depths := []float64{1, 2, 5}
	got := refined(t, 1e-3*rise, func(f float64) []float64 {
		g := downward(demoAxis(t, f, 35, 0)) // 6.7 diffusion lengths
		b := heldSurface
		b.Air = func(time float64) float64 { return atStart + rise*time/(100*day) }
		c := conduction{grid: g, boundary: b, zone: g.Box("zone", 0, 1, 0, 5), duration: 100 * day, tolerance: stepTolerance(f, rise)}
		rep, _ := c.run(t)
		u := rises(rep.State)
		return []float64{along(g.ZC, u, depths[0]), along(g.ZC, u, depths[1]), along(g.ZC, u, depths[2])}
	})
	for i, x := range depths {
		want := 4 * rise * i2erfc(x/(2*math.Sqrt(diffusivity*100*day)))
		got.hold(t, i, []string{"1 m", "2 m", "5 m"}[i]+" below a surface warmed by 40 K in 100 d", "Carslaw & Jaeger 1959 sec. 2.5", want, "K", 0)
	}
}

// inverse is f(t) of a Laplace transform F(p), by the midpoint rule on Talbot's
// contour with 24 points. It converges as 3.89⁻ᴺ, 7e-15 here, while the largest
// e^z on the contour, e^(0.171 N) = 60, lifts rounding to as much.
// Source: Talbot, J. Inst. Math. Appl. 23, 97 (1979); Trefethen, Weideman &
// Schmelzer, BIT 46, 653 (2006), the contour's three numbers (from memory; held to
// known transforms below).
func inverse(t float64, F func(p complex128) complex128) float64 {
	const n, a, b, c, d = 24, 0.5017, 0.6407, 0.6122, 0.2645
	sum := 0.0
	for k := range n / 2 {
		theta := math.Pi * float64(2*k+1) / n
		sin, cos := math.Sincos(b * theta)
		z := complex(n*(a*theta*cos/sin-c), n*d*theta)
		dz := complex(n*(a*cos/sin-a*b*theta/(sin*sin)), n*d)
		sum += imag(cmplx.Exp(z) * F(z/complex(t, 0)) * dz)
	}
	return 2 * sum / (n * t)
}

// slabTransform is the transform of the temperature at depth z of a half-space that is
// heated at q between two depths below a film to air at the ground's temperature,
//
//	T̄ = (q/p) ∫ [e^(−κ|z−z′|) + R e^(−κ(z+z′))] dz′/(2kκ),  κ = √(p/α),  R = (κ − h/k)/(κ + h/k)
//
// Source: Carslaw & Jaeger (1959), §14.2 (from memory): the plane source's Green
// function of a half-space with radiation at its surface, before inversion.
func slabTransform(q, film, top, bottom, z float64) func(p complex128) complex128 {
	return func(p complex128) complex128 {
		kappa := cmplx.Sqrt(p / diffusivity)
		e := func(x float64) complex128 { return cmplx.Exp(-kappa * complex(x, 0)) }
		direct := e(math.Abs(z-top)) - e(math.Abs(bottom-z))
		if z > bottom {
			direct = -direct
		} else if z > top {
			direct = 2 - e(z-top) - e(bottom-z)
		}
		reflected := complex(-1, 0) // a film without resistance: a held surface
		if !math.IsInf(film, 1) {
			h := complex(film/conductivity, 0)
			reflected = (kappa - h) / (kappa + h)
		}
		return complex(q, 0) / p * (direct + reflected*(e(z+top)-e(z+bottom))) / (2 * conductivity * kappa * kappa)
	}
}

// TestInversionGivesKnownTransforms: the inversion by which films and layers are
// judged gives transforms whose originals are tabled: a film that is switched on (A3),
// and a slab below a held (A5) and an insulated surface (A5i).
// Tolerance: ten printed digits and 1e-12 of the scale for the inversion.
// Source: Carslaw & Jaeger (1959), by testdata/analytic_values.csv, A3, A5, A5i.
func TestInversionGivesKnownTransforms(t *testing.T) {
	for i, x := range []float64{0, 1, 3} {
		want, unit, source := closedForm(t, "A3", []string{"x=0.0 m, t=30 d, h=5 W/m2K, air 10 K colder", "x=1.0 m, t=30 d, h=5 W/m2K, air 10 K colder", "x=3.0 m, t=30 d, h=5 W/m2K, air 10 K colder"}[i])
		got := inverse(30*day, func(p complex128) complex128 {
			kappa := cmplx.Sqrt(p / diffusivity)
			return -10 * (5 / conductivity) / (p * (kappa + 5/conductivity)) * cmplx.Exp(-kappa*complex(x, 0))
		})
		hold(t, check{fmt.Sprintf("inverted transform of a film switched on, x = %g m", x), source, got, want, unit, 5e-10*math.Abs(want) + 1e-11})
	}
	const q, time, where = 100.0, 100 * day, ", source 2-8 m, q=100 W/m3, t=100 d"
	for _, c := range []struct {
		id, name string
		film, z  float64
	}{
		{"A5", "fixed-T surface, z=1.0 m" + where, math.Inf(1), 1}, {"A5", "fixed-T surface, z=5.0 m" + where, math.Inf(1), 5}, {"A5", "fixed-T surface, z=10.0 m" + where, math.Inf(1), 10},
		{"A5i", "insulated surface, z=0.0 m" + where, 0, 0}, {"A5i", "insulated surface, z=1.0 m" + where, 0, 1}, {"A5i", "insulated surface, z=5.0 m" + where, 0, 5},
	} {
		want, unit, source := closedForm(t, c.id, c.name)
		got := inverse(time, slabTransform(q, c.film, 2, 8, c.z))
		hold(t, check{"inverted transform of a slab, " + c.name, source, got, want, unit, 5e-10*want + 1e-12*q*time/capacity})
	}
}

// TestHeatedSlabUnderAFilm: a heated slab under a film and a cover warms, and loses
// through them, what the inverted transform says. 2 to 8 m deep at 100 W/m³ for 100
// days, air at the ground's temperature, through films of 5 W/(m²·K), which holds the
// surface nearly, 0.5, which nearly insulates it, and half of that in series with as
// much of a cover: temperatures at the surface, above, in and below the slab; the heat
// that leaves, h T(0, t), and its integral by the ledger.
// Source: Carslaw & Jaeger (1959), §14.2 (from memory), by inversion.
// Tolerance: Richardson's on three meshes, see refined; 1e-11 of the scale for the
// inversion, two roots of p deeper than the tabled ones.
func TestHeatedSlabUnderAFilm(t *testing.T) {
	const q, top, bottom, time = 100.0, 2.0, 8.0, 100 * day
	const scale = q * time / capacity
	depths := []float64{0, 1, 5, 10}
	var lines []curve
	for _, c := range []struct {
		name        string
		film, cover float64
		effective   float64 // [W/(m²·K)]
	}{
		{"a film of 5 W/(m2 K)", 5, 0, 5},
		{"a film of 0.5 W/(m2 K)", 0.5, 0, 0.5},
		{"a film of 1 W/(m2 K) on a cover of 1 m2 K/W", 1, 1, 0.5},
	} {
		var flux, lost [3]float64
		level := 0
		points := curve{Label: "program, " + c.name, Points: true}
		got := refined(t, 1e-3*scale, func(f float64) []float64 {
			g := downward(demoAxis(t, f, 33, 0, top, bottom))
			zone := g.Box("slab", 0, 1, top, bottom)
			run := conduction{grid: g, boundary: physics.HeatBoundary{Film: c.film, Cover: c.cover}, imposed: heated(g, zone, q), zone: zone, duration: time, tolerance: stepTolerance(f, scale)}
			rep, p := run.run(t)
			u := rises(rep.State)
			flux[level], lost[level] = p.Heat.Outflow(physics.Surface, rep.State.T), rep.Ledger.LossSurface
			if level++; f == 1 {
				points.X, points.Y = g.ZC, u
			}
			// The ground's face: film and half a cell in series.
			half := conductivity / g.ZC[0]
			out := []float64{u[0] * half / (half + c.effective)}
			for _, z := range depths[1:] {
				out = append(out, along(g.ZC, u, z))
			}
			return out
		})
		const source = "half-space with radiation, Carslaw & Jaeger 1959 sec. 14.2, inverted"
		for i, z := range depths {
			got.hold(t, i, fmt.Sprintf("heated slab under %s, z = %g m", c.name, z), source, inverse(time, slabTransform(q, c.effective, top, bottom, z)), "K", 1e-11*scale)
		}
		want := c.effective * inverse(time, slabTransform(q, c.effective, top, bottom, 0))
		level = 0
		got = refined(t, 1e-3*want, func(float64) []float64 { level++; return flux[level-1 : level] })
		got.hold(t, 0, "heat that leaves through "+c.name+" after 100 d", source, want, "W/m2", 1e-11*scale*c.effective)
		want = c.effective * inverse(time, func(p complex128) complex128 { return slabTransform(q, c.effective, top, bottom, 0)(p) / p })
		level = 0
		got = refined(t, 1e-3*want, func(float64) []float64 { level++; return lost[level-1 : level] })
		got.hold(t, 0, "heat lost through "+c.name+" in 100 d, by the ledger", source, want, "J/m2", 1e-11*scale*c.effective*time)

		if c.cover == 0 {
			formula := curve{Label: "closed form, " + c.name}
			for z := 0.0; z <= 14; z += 0.5 {
				formula.X, formula.Y = append(formula.X, z), append(formula.Y, inverse(time, slabTransform(q, c.effective, top, bottom, z)))
			}
			for points.X[len(points.X)-1] > 14 {
				points.X, points.Y = points.X[:len(points.X)-1], points.Y[:len(points.Y)-1]
			}
			lines = append(lines, formula, points)
		}
	}
	draw(t, "slab-under-film", "Slab heated 2 to 8 m below a film, 100 d at 100 W/m³", "depth [m]", "temperature rise [K]", false, lines...)
}

// TestHeatLeavesThroughFilmAsItMust: the steady heat of a column leaves through film
// and cover in series. The steady state of a column that is heated evenly below a film
// and a cover and insulated elsewhere. All heat leaves through the top, so T at depth
// z of a column of depth D is
//
//	T − T_air = qD (1/h + R) + (q/k)(Dz − z²/2) + qh_c²/8k,  h_c the cell's height,
//
// the last term being how far the scheme's value, on equal cells, stands above the
// node's own: integrate twice, and sum the same fluxes over cells.
// Source: conservation, integrated twice.
func TestHeatLeavesThroughFilmAsItMust(t *testing.T) {
	const q, depth, film, cover, n = 20.0, 4.0, 5.0, 0.4, 16
	g := downward(equalEdges(depth, n))
	whole := g.Box("zone", 0, 1, 0, depth)
	// The slowest mode decays in D²/α·4/π² (1 + 2k/hD…) < 500 d: 100 of these.
	c := conduction{grid: g, boundary: physics.HeatBoundary{Film: film, Cover: cover}, imposed: heated(g, whole, q), zone: whole,
		duration: 50000 * day, fixed: 500 * day, tolerance: 1e-6}
	rep, p := c.run(t)
	cell := depth / n
	// Left by each heat solve, relaxed at once in steps this long: 1e-4 of the
	// tolerance, 100 times that in one cell; and rounding of sums near 300 K.
	const tol = 1e-8 + 1e-9
	worst := 0.0
	for k, u := range rises(rep.State) {
		z := g.ZC[k]
		want := q*depth*(1/film+cover) + q/conductivity*(depth*z-z*z/2) + q*cell*cell/(8*conductivity)
		worst = math.Max(worst, math.Abs(u-want))
	}
	hold(t, check{"largest error of a steady heated column below film and cover, rise 53 to 128 K", "integrated twice, with the scheme's own term", worst, 0, "K", tol})
	hold(t, check{"heat through film and cover in the steady state", "all the heat put in", p.Heat.Outflow(physics.Surface, rep.State.T), q * depth, "W", tol * capacity * depth / (500 * day * 0.2)})
}
