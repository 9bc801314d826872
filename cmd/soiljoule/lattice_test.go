package main

import (
	"math"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/physics"
)

// TestPlanClosedForms: the closed form beside a plan's electrodes is that of the endless grid
// with its phases. Held against Fourier's sum for the same grid: each rod's field less that of
// a charge spread as exp(−(r/η)²) ends within η, so all other rods give, at one,
//
//	V/(ρI′) = ln(1/a)/(2π) + Σ exp(−(Kη/2)²)/(A K²) − (γ/2 − ln η)/(2π),
//
// K over the grid's wave numbers moved by those of the phases, A the ground of a rod. With
// η = 0.15 of a spacing what is left at the nearest neighbour is E1(44)/(4π), below 1e-20.
//
// For two poles on a square grid the constant is √2/(πG), G = 0.8346268 Gauss's constant (own
// derivation, by theta functions at τ = i).
func TestPlanClosedForms(t *testing.T) {
	const radius, eta, euler = 0.03, 0.15, 0.57721566490153286 // the first two of a spacing
	// Phases go on by p/n of a turn along a row, by q/n to the next.
	sum := func(triangular bool, p, q, n float64) float64 {
		skew, height := 0.0, 1.0 // the step to the next row
		if triangular {
			skew, height = 0.5, math.Sqrt(3)/2
		}
		total := (math.Log(1/radius) - euler/2 + math.Log(eta)) / (2 * math.Pi)
		for i := -20; i <= 20; i++ { // exp(−(19·2π·0.15/2)²) beyond
			for j := -20; j <= 20; j++ {
				x := 2 * math.Pi * (float64(i) + p/n)
				y := (2*math.Pi*(float64(j)+q/n) - x*skew) / height
				k := math.Hypot(x, y)
				total += math.Exp(-k*k*eta*eta/4) / (height * k * k)
			}
		}
		return total
	}
	for _, c := range []struct {
		pattern string
		phases  int
		want    float64
		says    string // "": none to three digits worked out elsewhere
	}{
		{"rectangular", 1, math.Log(math.Sqrt2/(math.Pi*0.8346268416740732)/radius) / (2 * math.Pi), "ln(0.539 s/a)"},
		{"rectangular", 1, sum(false, 1, 1, 2), ""},
		{"rectangular", 3, sum(false, 1, 1, 3), ""},
		{"triangular", 1, sum(true, 0, 1, 2), ""},
		{"triangular", 3, sum(true, 2, 1, 3), "ln(0.566 s/a)"},
		{"triangular", 6, sum(true, 2, 1, 6), ""},
	} {
		drawn := &cases.Case{Arrays: []cases.Array{{Pattern: c.pattern, Spacing: 4, Radius: 4 * radius}}, Supply: cases.Supply{Phases: c.phases}}
		got, text := planClosedForm(drawn, physics.Fringe{Factor: 1.7, Least: 1.5, Most: 2})
		// Both sums go to rounding; the rows' stop at 60, where nothing is left.
		if math.Abs(got*1.5-c.want) > 1e-9 || !strings.Contains(text, c.says) {
			t.Errorf("a %s grid with %d phases has V/(ρI′) = %.10g over 1.5, %q; want %.10g and %q", c.pattern, c.phases, got*1.5, text, c.want, c.says)
		}
	}
	if got, text := planClosedForm(&cases.Case{Arrays: []cases.Array{{Pattern: "rectangular", Spacing: 4, Radius: 0.1}}, Supply: cases.Supply{Phases: 6}}, physics.Fringe{}); got != 0 || text != "" {
		t.Errorf("six phases on a rectangular grid have the closed form %g, %q; want none", got, text)
	}
}
