//dossier:chapter Heat carried by water

//go:build validate

package validation

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/materials"
)

// plumeCase is a plan of a slab 990 m thick between ground that takes next to no heat, with
// a small square of set power in its middle and groundwater at an angle.
func plumeCase(f float64, degrees float64) string {
	return fmt.Sprintf(`title = "plume"
view = "plan"
extent = { top = "10 m", bottom = "1000 m" }
mesh.finest = "%g m"
domain = { left = "-11 m", right = "11 m", front = "-11 m", back = "11 m", bottom = "1001 m" }
site = { ambient = "10 degC", water_table = "0 m" }
surface.air = "10 degC"
time.duration = "30 d"
steam.boiling = false
[[layer]]
name = "lid"
bottom = "10 m"
resistivity = "25 ohm*m"
thermal_conductivity = "0.01 W/m/K"
heat_capacity = "0.05 MJ/m3/K"
porosity = 0
saturation = 0
[[layer]]
name = "sand"
bottom = "1000 m"
resistivity = "25 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = 0.4
saturation = 1
groundwater = "60 mm/d"
groundwater_direction = "%g deg"
[[layer]]
name = "floor"
bottom = "1001 m"
resistivity = "25 ohm*m"
thermal_conductivity = "0.01 W/m/K"
heat_capacity = "0.05 MJ/m3/K"
porosity = 0
saturation = 0
[[target]]
name = "zone"
outline = [["-3.6 m", "-3.6 m"], ["3.6 m", "-3.6 m"], ["3.6 m", "3.6 m"], ["-3.6 m", "3.6 m"]]
temperature = "60 degC"
[[heat]]
name = "source"
power = "1 kW"
outline = [["%[3]g m", "%[3]g m"], ["%[4]g m", "%[3]g m"], ["%[4]g m", "%[4]g m"], ["%[3]g m", "%[4]g m"]]
`, 0.3*f, degrees, -0.15*f, 0.15*f)
}

// movingLine is the rise [-] of a line source of heat from 0 on in flowing water, over
// q′/(4πλ), at a place r [m] off, s [m] of it downstream:
//
//	exp(vs/2α) ∫_0^t exp(−r²/(4ατ) − v²τ/(4α)) dτ/τ
//
// by Simpson's rule in ln τ, whose integrand is below e^(−1e3) at the lower end.
func movingLine(s, r, v, alpha, t float64) float64 {
	const n = 4000
	lo, hi := math.Log(r*r/(4*alpha)/1e3), math.Log(t)
	sum := 0.0
	for i := range n + 1 {
		tau := math.Exp(lo + (hi-lo)*float64(i)/n)
		w := 2.0 + 2*float64(i%2)
		if i == 0 || i == n {
			w = 1
		}
		sum += w * math.Exp(v*s/(2*alpha)-r*r/(4*alpha*tau)-v*v*tau/(4*alpha))
	}
	return sum * (hi - lo) / n / 3
}

// TestPlumeAtAnAngle: in a plan, built from its text, groundwater that flows at 30° to the
// mesh draws the heat of a line source into the plume of the closed form, 30 days on.
// T − T₀ = q′/(4πλ) exp(vs/2α) ∫₀ᵗ exp(−r²/4ατ − v²τ/4α) dτ/τ, v = q ρ_w c_w/C.
// Source: Carslaw & Jaeger (1959), §10.7 (from memory).
// Cells are 0.075 m, a thirteenth of 2α/v. The two finest meshes differ by Δ; at order 2
// the finer is off by Δ/3, and the safety factor is 3, as the slopes' limiter lets the order
// seen on these meshes be higher. What the ground above and below takes, 2√(λCt/π)·2/(Cb) = 3e-5, is left out; water's heat
// capacity stands still to 1e-4 over the tenth of a kelvin.
func TestPlumeAtAnAngle(t *testing.T) {
	const lambda, heat, degrees = 1.5, 2.5e6, 30
	const seconds = 30 * day
	q := 0.06 / day
	h0, _ := tables.Enthalpy(materials.Celsius + 10)
	h1, _ := tables.Enthalpy(materials.Celsius + 10 + little)
	v := q * materials.RhoWater * (h1 - h0) / little / heat
	scale := 1000 / 990.0 / (4 * math.Pi * lambda) // [K]
	at := [][2]float64{{-1, 0}, {1, 0}, {3, 0}, {1, 1}, {1, -1}, {0, 2}}
	var got [3][]float64
	for m, f := range []float64{1, 0.5, 0.25} {
		p := caseOf(t, plumeCase(f, degrees))
		p.Settings.Tolerance = 2e-4 * f * f
		g := p.Ground.Grid
		u := finished(t, p).State.T
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		for _, a := range at {
			x, y := a[0]*cos-a[1]*sin, a[0]*sin+a[1]*cos
			column := make([]float64, g.NX)
			for i := range column {
				line := make([]float64, g.NZ)
				for k := range line {
					line[k] = u[g.Index(i, k)] - p.Ground.Ambient
				}
				column[i] = along(g.ZC, line, y)
			}
			got[m] = append(got[m], along(g.XC, column, x)/scale)
		}
	}
	coarse, fine := 0.0, 0.0
	for i := range at {
		coarse, fine = math.Max(coarse, math.Abs(got[1][i]-got[0][i])), math.Max(fine, math.Abs(got[2][i]-got[1][i]))
	}
	t.Logf("meshes differ by %.3g and %.3g, order %.2f", coarse, fine, order(coarse, fine))
	if !(order(coarse, fine) > 1.6) {
		t.Errorf("meshes of 0.3, 0.15 and 0.075 m differ by %.3g and %.3g, want second order or better", coarse, fine)
	}
	for i, a := range at {
		hold(t, check{fmt.Sprintf("rise %g m downstream and %g m beside a line source in water at 30° in a plan, over q′/4πλ", a[0], a[1]), "Carslaw & Jaeger 1959 §10.7",
			got[2][i], movingLine(a[0], math.Hypot(a[0], a[1]), v, lambda/heat, seconds), "-", math.Min(0.01, fine) + 1e-4})
	}
}
