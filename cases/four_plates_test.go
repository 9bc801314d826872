package cases

import (
	"math"
	"testing"
)

// TestFourPlatesHaveConstantProperties: in the ground of the case, which has no pores,
// heat capacity and thermal conductivity are those of the file at any temperature and
// the electrical conductivity is σ₂₅ (1 + 0.02 (T − 25 °C)), past 100 °C too.
// By hand from the case's header. Rounding of a few products: 1e-12 of each.
func TestFourPlatesHaveConstantProperties(t *testing.T) {
	c, err := Load("four-plates.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	ground, g := p.Ground, p.Ground.Grid
	near := func(what string, k int, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s in row %d, at %.3g m, is %.14g, want %.14g", what, k, g.ZC[k], got, want)
		}
	}
	n := g.Cells()
	temperature, water, saturation := make([]float64, n), make([]float64, n), make([]float64, n)
	lambda, sigma := make([]float64, n), make([]float64, n)
	for _, celsius := range []float64{0, 12, 25, 90, 150} {
		for i := range temperature {
			temperature[i] = celsius + 273.15
		}
		ground.SaturationTo(saturation, water)
		ground.LambdaTo(lambda, saturation)
		ground.SigmaTo(sigma, temperature, saturation)
		for k, z := range g.ZC {
			l := 0
			for l < 3 && z > []float64{3, 9, 12}[l] {
				l++
			}
			cell := g.Index(0, k)
			store := ground.Store(cell)
			r := store.Respond([]float64{2.2e6, 2.9e6, 3.1e6, 2.7e6}[l]*(celsius-12), store.Found, 3600, 285.15)
			near("the temperature of the heat that its capacity takes", k, r.T, celsius+273.15)
			if r.Steam != 0 || store.Found != 0 {
				t.Errorf("row %d holds %g kg/m³ of water and gives %g kg/m³ of steam, want none", k, store.Found, r.Steam)
			}
			near("λ", k, lambda[cell], []float64{1.2, 1.6, 1.4, 2.2}[l])
			near("σ", k, sigma[cell], []float64{0.008, 0.025, 0.05, 0.012}[l]*(1+0.02*(celsius-25)))
		}
	}
	// Poles of +110 V and −110 V by turns.
	for b, want := range []complex128{1, -1, 1, -1} {
		if got := p.Electric.Bodies[b].Phase; got != want || p.Supply[0].Voltage != 110 {
			t.Errorf("plate %d stands at %v times %g V, want %v times 110 V", b+1, got, p.Supply[0].Voltage, want)
		}
	}
}
