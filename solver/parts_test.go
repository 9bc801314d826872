package solver

import (
	"context"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// parted is a box of ground, 3 by 2 m and 4 m along, at 20 °C over a bottom held at
// 60 °C, between sides held at -5 °C, under air of 12 °C: every part of the ledger has
// a size of its own, and two have another sign. Nothing boils, so the thermal
// conductivity stays as found, 1.5 W/(m·K), and no heat is put in.
func parted(t *testing.T, dt float64) *Problem {
	t.Helper()
	level := func(n int, length float64) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			e[i] = length * float64(i) / float64(n)
		}
		return e
	}
	g := mesh.NewSection(level(12, 3), level(8, 2), 4)
	gr, err := physics.NewGround(g, physics.Site{Ambient: 293.15, AirPressure: 101325, WaterTable: far}, materials.NewWater(),
		[]*materials.Soil{{Name: "even", Resistivity: 50, ResistivityAt: 298.15, SaturationExponent: 2, ResidualConductivity: 0.05,
			Porosity: 0.4, Saturation: 0.5, DrySaturation: 0.05, ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.5e6}},
		[]float64{far}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	p := problem(gr, nil, g.Box("", 0.75, 1.75, 0.5, 1.75), 3, 0)
	p.Heat = physics.NewHeat(g, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 285.15 },
		Below: physics.Held{On: true, Temperature: 333.15}, Sides: physics.Held{On: true, Temperature: 268.15}})
	p.Settings.FixedStep = dt
	return p
}

// partedFlows returns the heat [W] that leaves the ground of parted through each side,
// and its zone through top, bottom and sides, by Fourier's law from cell to cell and
// from the outermost cells to what is held there, written out from the box's numbers
// alone: 12 by 8 cells of 0.25 m.
func partedFlows(temperature []float64) (out [6]float64) {
	const nx, nz, h, length, lambda = 12, 8, 0.25, 4.0, 1.5
	at := func(i, k int) float64 { return temperature[k*nx+i] }
	face := lambda * h * length / h           // [W/K] between two cells
	edge := lambda * h * length / (h / 2)     // from a cell to its face
	film := h * length / (h/2/lambda + 1./12) // and through the film
	for i := range nx {
		out[0] += film * (at(i, 0) - 285.15)
		out[1] += edge * (at(i, nz-1) - 333.15)
	}
	for k := range nz {
		out[2] += edge * (at(0, k) + at(nx-1, k) - 2*268.15)
	}
	for i := 3; i < 7; i++ { // the zone: columns 3 to 6, rows 2 to 6
		out[3] += face * (at(i, 2) - at(i, 1))
		out[4] += face * (at(i, 6) - at(i, 7))
	}
	for k := 2; k < 7; k++ {
		out[5] += face * (at(3, k) - at(2, k) + at(6, k) - at(7, k))
	}
	return out
}

// TestLedgerParts: what the ledger books for each side of the ground and of the zone
// is the integral of that side's flux, and no other's.
// Source: Fourier's law, integrated by the trapezoidal rule over equal steps.
// Both integrals are of second order in the step: that of the rule over twice the
// step differs from it by three times its own error to leading order, and the
// step's quadrature has an error of the same order, so that difference is the
// tolerance: the largest among the parts, for in one the leading order may cancel.
// It must be below a hundredth of what lies between any two parts, so
// that none can pass for another.
func TestLedgerParts(t *testing.T) {
	names := [6]string{"LossSurface", "LossBelow", "LossSides", "Zone.Top", "Zone.Bottom", "Zone.Sides"}
	const steps = 1000
	const dt = 3 * day / steps
	var fine, coarse [6]float64
	n := 0
	r, err := Run(context.Background(), parted(t, dt), each(func(r *Report) {
		w := dt
		if n == 0 || n == steps {
			w = dt / 2
		}
		for j, q := range partedFlows(r.State.T) {
			fine[j] += w * q
			if n%2 == 0 {
				coarse[j] += 2 * w * q
			}
		}
		n++
	}))
	if err != nil {
		t.Fatal(err)
	}
	if n != steps+1 {
		t.Fatalf("%d equal steps of %g s were reported %d times, want once each and the start", steps, dt, n)
	}
	l := &r.Ledger
	got := [6]float64{l.LossSurface, l.LossBelow, l.LossSides, l.Zone.Top, l.Zone.Bottom, l.Zone.Sides}
	tol := 0.0
	for j := range names {
		tol = math.Max(tol, math.Abs(coarse[j]-fine[j]))
	}
	for j, name := range names {
		if !(math.Abs(got[j]-fine[j]) <= tol) {
			t.Errorf("%s is %.8g J after 3 days, want the integral of its flux, %.8g J, within %.2g J", name, got[j], fine[j], tol)
		}
		t.Logf("%s is %.8g J, %.2g J from the integral of its flux, tolerance %.2g J", name, got[j], got[j]-fine[j], tol)
		for i, other := range names {
			if apart := math.Abs(fine[j] - fine[i]); i != j && !(tol < apart/100) {
				t.Errorf("%s and %s lie %.3g J apart, want more than a hundred times the tolerance of %.2g J", name, other, apart, tol)
			}
		}
	}
}

// TestLedgerScale: where nothing is put in and nothing stored, the ledger's residual
// counts against the heat that warms the zone by 1 K.
// The zone of parted is 1 by 1.25 m and 4 m along, of 2.5 MJ/(m³·K): 12.5 MJ.
func TestLedgerScale(t *testing.T) {
	p := parted(t, day)
	p.Heat = physics.NewHeat(p.Ground.Grid, physics.HeatBoundary{Film: 12, Air: func(float64) float64 { return 293.15 }})
	r, err := Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	l := r.Ledger
	if stored := math.Abs(l.StoredTarget + l.StoredOutside); l.In != 0 || stored > 1 {
		t.Fatalf("ground in rest takes in %g J and stores %g J", l.In, stored)
	}
	// A sum of 20 cells' reciprocals: 1e-13.
	l.Residual = 12.5
	if got := l.Share(); math.Abs(got/1e-6-1) > 1e-13 {
		t.Errorf("12.5 J missing in ground in rest are a share of %.12g, want 1e-6 of the 12.5 MJ that warm the zone by 1 K", got)
	}
}

// TestLatent: of the steam's enthalpy the ledger names as latent what evaporation
// takes. The rod's ground boils between the water table and 6 m below it, under 101 to
// 160 kPa, where a kilogram takes 2257 to 2221 kJ; all its enthalpy above that of
// water at 15 °C is some 2610.
// Source: steam tables, from memory.
func TestLatent(t *testing.T) {
	r, err := Run(context.Background(), cell(t, 2, 1e-6), nil)
	if err != nil {
		t.Fatal(err)
	}
	if l := r.Ledger; !(l.Steam > 0) || l.Latent < 2221e3*l.Steam || l.Latent > 2257e3*l.Steam {
		t.Errorf("%.6g J of latent heat leave with %.6g kg of steam, want 2221 to 2257 kJ/kg", l.Latent, l.Steam)
	}
}
