package hand

import (
	"fmt"
	"math"
	"testing"
)

const (
	slabAlpha = 8e-7  // [m²/s] of analytic_values.csv
	slabC     = 2.5e6 // [J/(m³·K)]
)

// TestLossShare: the share of a thin zone's heat that has left it, and the temperatures
// in it.
// Source: slab source averaged over the slab: 7.52, 23.71, 47.11, 57.94, 77.89, 83.75 %
// computed with mpmath, half a unit of the last digit; analytic_values.csv A4 and A4m.
func TestLossShare(t *testing.T) {
	for i, fo := range []float64{0.01, 0.1, 0.5, 1, 5, 10} {
		want := []float64{7.52, 23.71, 47.11, 57.94, 77.89, 83.75}[i]
		near(t, fmt.Sprintf("100 LossShare(%g)", fo), 100*LossShare(fo), want, 0.005)
	}
	const q, h, time = 100.0, 6.0, 100 * days
	fo := slabAlpha * time / (h * h)
	scale := q * time / slabC
	for id, c := range map[string]struct {
		text string
		got  float64
	}{
		"A4m": {"mean over |x|<3 m, t=100 d", scale * (1 - LossShare(fo))},
		"A4":  {"x=0.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", scale * SlabRise(0, fo)},
		"A4 ": {"x=3.0 m, L=3 m (6 m thick), q=100 W/m3, t=100 d", scale * SlabRise(0.5, fo)},
	} {
		if id == "A4 " {
			id = "A4"
		}
		want := analytic(t, id, c.text)
		near(t, id+" "+c.text, c.got, want, tenDigits(want))
	}
	// Both ends of the curve: 0.752 √F, with 4/(3√π) = 0.7523, and a share kept of 1/√(πF).
	near(t, "LossShare at 1e-6", LossShare(1e-6), 4/(3*math.Sqrt(math.Pi))*1e-3, 1e-12)
	near(t, "share kept at 1e8 times √(πF)", KeptShare(1e8)*math.Sqrt(math.Pi*1e8), 1, 1e-4)
	// Series and integrals meet at x = ½, αt/H² = 1; the integrals lose two digits there.
	near(t, "share kept across αt/H² = 1", KeptShare(1+1e-12)-KeptShare(1-1e-12), 0, 1e-12)
}

// TestLossByThickness: the table of loss by thickness and days.
// Source: own arithmetic at α = 7.5e-7 m²/s (a crude column), to its printed tenth; a few
// of its rows.
func TestLossByThickness(t *testing.T) {
	for _, c := range []struct {
		feet float64
		want [5]float64
		edge float64
	}{
		{3, [5]float64{69.5, 77.2, 80.9, 83.2, 86.0}, 0.92},
		{5, [5]float64{55.2, 65.3, 70.4, 73.8, 77.9}, 0.87},
		{20, [5]float64{17.2, 24.2, 29.4, 33.5, 39.7}, 0.60},
		{50, [5]float64{6.9, 9.7, 11.9, 13.8, 16.9}, 0.50},
	} {
		for i, d := range []float64{30, 60, 90, 120, 180} {
			fo := 7.5e-7 * d * days / (c.feet * foot * c.feet * foot)
			near(t, fmt.Sprintf("share lost by %g ft in %g d [%%]", c.feet, d), 100*LossShare(fo), c.want[i], 0.05+1e-9)
			if d == 90 {
				near(t, fmt.Sprintf("edge over middle of %g ft", c.feet), SlabRise(0.5, fo)/SlabRise(0, fo), c.edge, 0.005+1e-9)
			}
		}
	}
}

// TestHeatUpTime: at the time it gives the slab's mean is there; without loss in thick
// ground it is C ΔT/q.
// Source: the definition; the limit.
func TestHeatUpTime(t *testing.T) {
	for _, h := range []float64{0.01, 0.3, 1.5, 6, 1000} {
		for _, q := range []float64{1e-3, 30, 200, 1e6} {
			const rise = 85.0
			time := HeatUpTime(q, slabC, slabAlpha, h, rise)
			got := q * time / slabC * KeptShare(slabAlpha*time/(h*h))
			// Sixty halvings of a factor of two leave rounding alone.
			near(t, fmt.Sprintf("mean rise at HeatUpTime(%g W/m³, %g m)", q, h), got/rise, 1, 1e-13)
		}
	}
	bare := slabC * 85 / 1e4
	near(t, "HeatUpTime of a thick slab, fast", HeatUpTime(1e4, slabC, slabAlpha, 1000, 85)/bare, 1, 1e-3)
}

// TestCoolDown: a hot slab cools as the closed form says, in its middle, at its edge and
// on the mean, and CoolDownTime finds the time again.
// Source: analytic_values.csv A6; the mean by Simpson's rule over the slab.
func TestCoolDown(t *testing.T) {
	const h, time = 6.0, 200 * days
	fo := slabAlpha * time / (h * h)
	for text, got := range map[string]float64{
		"x=0.0 m, half-thickness 3 m, 80 K, t=200 d": 80 * CoolingRise(0, fo),
		"x=3.0 m, half-thickness 3 m, 80 K, t=200 d": 80 * CoolingRise(0.5, fo),
		"x=5.0 m, half-thickness 3 m, 80 K, t=200 d": 80 * CoolingRise(5.0/6, fo),
	} {
		want := analytic(t, "A6", text)
		near(t, "A6 "+text, got, want, tenDigits(want))
	}
	for _, fo := range []float64{0.01, 0.1, 1, 30} {
		const n = 2000
		sum := 0.0
		for i := range n + 1 {
			w := 2.0 + 2*float64(i%2)
			if i == 0 || i == n {
				w = 1
			}
			sum += w * CoolingRise(float64(i)/n-0.5, fo)
		}
		// Simpson's error: (1/n)⁴/180 of a fourth derivative of order 1/fo².
		near(t, fmt.Sprintf("CoolingMean(%g)", fo), CoolingMean(fo), sum/(3*n), 1e-12/(fo*fo)*10+1e-14)
		// A root to sixty halvings of a logarithm; flat ends magnify rounding.
		back := CoolDownTime(slabAlpha, h, CoolingMean(fo)) * slabAlpha / (h * h)
		near(t, fmt.Sprintf("αt/H² of CoolDownTime where the mean is that of %g", fo), back/fo, 1, 1e-9)
	}
}

// TestHeatedArea: the area that a constant heat rate keeps hot, and the share kept.
// Source: Marx & Langenheim (1959); analytic_values.csv A16 and A16e, by Laplace
// inversion; the asymptotes t_D − 4 t_D^1.5/(3√π) and 2√(t_D/π) − 1.
func TestHeatedArea(t *testing.T) {
	for d, td := range map[int]string{30: "0.2644898", 100: "0.88163265", 365: "3.2179592"} {
		area, share := HeatedArea(500e3, 80, 5, 2.8e6, 2, 2.5e6, float64(d)*days)
		want := analytic(t, "A16", fmt.Sprintf("heated area, t=%d d, 500 kW, dT=80 K, h=5 m", d))
		near(t, fmt.Sprintf("heated area on day %d", d), area, want, tenDigits(want))
		want = analytic(t, "A16e", fmt.Sprintf("heat efficiency at t=%d d (t_D=%s)", d, td))
		near(t, fmt.Sprintf("share kept on day %d", d), share, want, tenDigits(want))
	}
	// The next terms are t_D²/2 and 1/√(π t_D).
	near(t, "G at 1e-10 over its asymptote", marx(1e-10)/(1e-10-4*1e-15/(3*math.Sqrt(math.Pi))), 1, 1e-9)
	near(t, "G at 1e10", marx(1e10), 2*math.Sqrt(1e10/math.Pi)-1, 1e-5)
	// Series and closed form, product and continued fraction, meet.
	for _, td := range []float64{0.25, 36} {
		near(t, fmt.Sprintf("G across %g", td), marx(td*(1+1e-12))/marx(td*(1-1e-12)), 1, 1e-11)
	}
}

// TestSurfaceLoss: steady loss from 100 °C at 1 m under covers.
// Source: own arithmetic, k = 1.5 W/(m·K), air 15 °C: 111, 67, 48, 31, 23 W/m² at R 0, 0.5, 1, 2, 3,
// which its film of 10 W/(m²·K) gives; half a unit.
func TestSurfaceLoss(t *testing.T) {
	for i, r := range []float64{0, 0.5, 1, 2, 3} {
		near(t, fmt.Sprintf("SurfaceLoss under R %g", r), SurfaceLoss(85, 10, r, 1/1.5), []float64{111, 67, 48, 31, 23}[i], 0.5)
	}
}
