//dossier:chapter The surface

package validation

import (
	"math"
	"testing"

	"soiljoule/physics"
)

// TestSurfaceFilm: a half-space below air 10 K colder, film 5 W/(m²·K).
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

// TestSurfaceFollowsWarmingAir: air that warms evenly by 40 K in 100 days, over a
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

// TestHeatLeavesThroughFilmAsItMust: the steady state of a column that is heated
// evenly below a film and a cover and insulated elsewhere. All heat leaves through
// the top, so T at depth z of a column of depth D is
//
//	T − T_air = qD (1/h + R) + (q/k)(Dz − z²/2) + qh_c²/8k,  h_c the cell's height,
//
// the last term being how far the scheme's value, on equal cells, stands above the
// node's own: integrate twice, and sum the same fluxes over cells.
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
