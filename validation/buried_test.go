//dossier:chapter Conduction

package validation

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// The rod of the tests: 300 W/m along the axis, as a column of radius 0.02 m.
const (
	rodPower  = 300.0 // [W/m]
	rodRadius = 0.02  // [m]
	rodTime   = 100 * day

	rodRows   = 0.25 // [m] the finest
	rodGrowth = 1.3
)

// tableRod names a row of the table.
const tableRod = "r=%.1f m, z=%.1f m, source 0-10 m, 300 W/m, t=100 d, fixed-T surface"

// rodSource is the finite line source from depth top to bottom,
//
//	T = (q′/4πk) ∫ [erfc(d₁/s)/d₁ ∓ erfc(d₂/s)/d₂] du,  d₁,₂² = r² + (z ∓ u)²,  s = 2√(αt),
//
// image being −1 below a surface held at the ground's temperature, +1 below an
// insulated one, 0 in endless ground.
// Source: Carslaw & Jaeger (1959), §10.4-10.5 (from memory).
func rodSource(t *testing.T, r, z, top, bottom, image float64) float64 {
	t.Helper()
	s := 2 * math.Sqrt(diffusivity*rodTime)
	point := func(d float64) float64 { return math.Erfc(d/s) / d }
	return rodPower / (4 * math.Pi * conductivity) * romberg(t, func(u float64) float64 {
		return point(math.Hypot(r, z-u)) + image*point(math.Hypot(r, z+u))
	}, top, bottom, 1e-11)
}

// TestRodFormulaGivesTheTable: the quadrature by which rods are judged gives the
// table's values (A8). Tolerance: its ten digits and the quadrature's 1e-11.
// Source: testdata/analytic_values.csv, A8.
func TestRodFormulaGivesTheTable(t *testing.T) {
	for _, c := range []struct{ r, z float64 }{{1, 5}, {3, 5}, {1, 1}} {
		want, unit, where := closedForm(t, "A8", fmt.Sprintf(tableRod, c.r, c.z))
		hold(t, check{fmt.Sprintf("quadrature of the finite line source at r = %g m, z = %g m", c.r, c.z), where, rodSource(t, c.r, c.z, 0, 10, -1), want, unit, 5.1e-10*want + 1e-10})
	}
}

// TestBuriedRod: the ground round a buried rod of set power warms as round a finite
// line source. A rod of set power round which the ground is axisymmetric, for 100
// days: from the held surface to 10 m, the table's values; and from 2 to 8 m, below a
// held and below an insulated surface.
//
// The line is a column of radius a. Its field outside is the mean of the line's over
// its disc, T + (a²/8)(∂²T/∂r² + ∂T/∂r/r) + …, and there the bracket is
// (1/α)∂T/∂t − ∂²T/∂z²: less than 2 (q′/4πk)(1/αt + 1/d²), d the distance to the
// nearest end or 1 m. It is allowed for with d = 1 m.
// Source: Carslaw & Jaeger (1959), §10.4-10.5 (from memory); values A8.
// Tolerance: Richardson's on three meshes, see refined, and the disc.
func TestBuriedRod(t *testing.T) {
	const strength = rodPower / (4 * math.Pi * conductivity)
	const disc = rodRadius * rodRadius / 8 * 2 * strength * (1/(diffusivity*rodTime) + 1)
	const scale = 120.0 // [K] at the rod's wall, (q′/4πk) E₁(a²/4αt) of an endless one less its ends
	const ends = 2e-5   // [K]
	for _, c := range []struct {
		name        string
		boundary    physics.HeatBoundary
		top, bottom float64
		image       float64
		spots       []spot
	}{
		{"from a held surface to 10 m", heldSurface, 0, 10, -1, []spot{{"", 1, 5}, {"", 3, 5}, {"", 1, 1}}},
		{"2 to 8 m below a held surface", heldSurface, 2, 8, -1, []spot{{"", 1, 5}, {"", 3, 5}, {"", 1, 1}, {"", 1, 9}}},
		{"2 to 8 m below an insulated surface", insulated, 2, 8, 1, []spot{{"", 1, 5}, {"", 3, 5}, {"", 1, 1}, {"", 1, 0}}},
	} {
		profile, depth := curve{Label: "program, rings from 0.01 m", Points: true}, 0.0
		got := refined(t, 1e-3*scale, func(f float64) []float64 {
			// Images in the ends of the ground stand 17 m and more from the spots: less
			// than strength · erfc(3.2)/17 m · 1 m each, below ends.
			r, err := mesh.Grade([]mesh.Mark{{At: 0, Size: rodRadius * f}, {At: rodRadius, Size: rodRadius * f}, {At: 12, Size: math.Inf(1)}}, math.Pow(rodGrowth, f), 10000)
			if err != nil {
				t.Fatal(err)
			}
			marks := []mesh.Mark{{At: 0, Size: rodRows * f}, {At: c.top, Size: rodRows * f}, {At: c.bottom, Size: rodRows * f}, {At: c.bottom + 9, Size: math.Inf(1)}}
			z, err := mesh.Grade(marks, math.Pow(rodGrowth, f), 10000)
			if err != nil {
				t.Fatal(err)
			}
			g := mesh.NewAxisymmetric(r, z, 1)
			rod := g.Box("rod", 0, rodRadius, c.top, c.bottom)
			zone := g.Box("zone", 0, 3, 0, c.bottom)
			run := conduction{grid: g, boundary: c.boundary, imposed: heated(g, rod, rodPower/(math.Pi*rodRadius*rodRadius)), zone: zone, duration: rodTime, tolerance: 200 * stepTolerance(f, scale)}
			rep, _ := run.run(t)
			u := rises(rep.State)
			if f == 0.5 {
				k := g.Row(5)
				depth = g.ZC[k]
				for i, x := range g.XC {
					if x > 2*rodRadius && x < 8 {
						profile.X, profile.Y = append(profile.X, x), append(profile.Y, u[g.Index(i, k)])
					}
				}
			}
			ln := make([]float64, g.NX) // near the axis the field is a parabola of ln r
			for i, x := range g.XC {
				ln[i] = math.Log(x)
			}
			var out []float64
			for _, s := range c.spots {
				column := make([]float64, g.NZ)
				for k := range column {
					column[k] = along(ln, u[k*g.NX:(k+1)*g.NX], math.Log(s.x))
				}
				out = append(out, along(g.ZC, column, s.z))
			}
			return out
		})
		got.demoTol += disc + ends
		got.halfTol += disc + ends
		got.names = [2]string{"rings from 0.02 m, rows from 0.25 m", "half of these"}
		for i, s := range c.spots {
			want, where := rodSource(t, s.x, s.z, c.top, c.bottom, c.image), "finite line source, Carslaw & Jaeger 1959 sec. 10.4-10.5"
			if c.top == 0 { // the table's own
				want, _, where = closedForm(t, "A8", fmt.Sprintf(tableRod, s.x, s.z))
			}
			got.hold(t, i, fmt.Sprintf("rod %s, at r = %g m, z = %g m", c.name, s.x, s.z), where, want, "K", 1e-9*want)
		}
		formula := curve{Label: "finite line source", X: profile.X}
		for _, x := range profile.X {
			formula.Y = append(formula.Y, rodSource(t, x, depth, c.top, c.bottom, c.image))
		}
		draw(t, "rod-"+strings.ReplaceAll(c.name, " ", "-"), fmt.Sprintf("Rod of 300 W/m, %s, after 100 d, at z = %.3g m", c.name, depth), "distance from the axis [m]", "temperature rise [K]", false, formula, profile)
	}
}

// rodCase is the table's rod as a case file, in the units that a user mixes.
const rodCase = `title = "Rod below a held surface"
question = "How warm is the ground round it after 100 days?"
view = "axisymmetric"

[site]
ambient = "50 degF"
water_table = "none"

[extent]
radius = "12 m"

[surface]
air = "10 degC"
film = "1000000 W/m2/K"   # held: 2 micrometres of this ground

[[layer]]
name = "ground"
resistivity = "50 ohm*m"
thermal_conductivity = "2 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = "30 %"
saturation = 0
source = "choice, no source"

[[target]]
name = "the rod itself"
radius = "5 cm"
top = "0 m"
bottom = "10 m"
temperature = "90 degC"

[[heat]]
name = "rod"
power = "3000 W"
radius = "5 cm"
top = "0 m"
bottom = "10 m"

[steam]
boiling = false

[domain]
bottom = "19 m"

[time]
duration = "2400 h"
`

// TestBuriedRodAsACaseFile: a case file of a buried rod gives the table's values. The
// rod from the held surface to 10 m again, from a case file on: the table's values
// come out of what a user would write.
// Source: as TestBuriedRod, values A8.
// Tolerance: as there, with a disc of 5 cm.
func TestBuriedRodAsACaseFile(t *testing.T) {
	const radius, scale = 0.05, 100.0 // [m], [K] at the rod's wall
	const strength = rodPower / (4 * math.Pi * conductivity)
	const other = radius*radius/8*2*strength*(1/(diffusivity*rodTime)+1) + 2e-5 // [K] disc and ends
	path := filepath.Join(t.TempDir(), "rod.toml")
	if err := os.WriteFile(path, []byte(rodCase), 0o666); err != nil {
		t.Fatal(err)
	}
	spots := []spot{{"", 1, 5}, {"", 3, 5}, {"", 1, 1}}
	got := refined(t, 1e-3*scale, func(f float64) []float64 {
		set := []string{fmt.Sprintf("mesh.finest=%g cm", 5*f), fmt.Sprintf("mesh.growth=%g", math.Pow(rodGrowth, f)), fmt.Sprintf("time.tolerance=%g K", 4*f*f*f)}
		c, err := cases.Load(path, set)
		if err != nil {
			t.Fatal(err)
		}
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		rep, err := solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, u := p.Ground.Grid, rises(rep.State)
		ln := make([]float64, g.NX)
		for i, x := range g.XC {
			ln[i] = math.Log(x)
		}
		var out []float64
		for _, s := range spots {
			column := make([]float64, g.NZ)
			for k := range column {
				column[k] = along(ln, u[k*g.NX:(k+1)*g.NX], math.Log(s.x))
			}
			out = append(out, along(g.ZC, column, s.z))
		}
		return out
	})
	got.demoTol += other
	got.halfTol += other
	got.names = [2]string{"cells from 5 cm", "half of these"}
	for i, s := range spots {
		want, unit, source := closedForm(t, "A8", fmt.Sprintf(tableRod, s.x, s.z))
		got.hold(t, i, fmt.Sprintf("rod of a case file, from a held surface to 10 m, at r = %g m, z = %g m", s.x, s.z), source, want, unit, 1e-9*want)
	}
}
