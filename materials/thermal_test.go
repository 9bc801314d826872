package materials

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestThermalWorkedExamples: conductivity of three soils step by step, and the
// mixing rule of heat capacities.
// Source: soils_thermal.csv: formulas of Johansen 1975, Côté & Konrad 2005 and
// de Vries 1963, worked independently.
func TestThermalWorkedExamples(t *testing.T) {
	rows := 0
	for _, r := range readTable(t, "soils_thermal.csv") {
		if r["kind"] != "worked_example" {
			continue
		}
		rows++
		want := r.num(t, "value")
		cond := r["condition"]
		if r["item"] == "volumetric heat capacity" {
			// porosity 0.35, saturated, solids 2.2 MJ/(m3 K), water 4.18 MJ/(m3 K). Our
			// water has 4.1747 at 25 °C: 0.0053 less, in 0.35 of the volume.
			soil := Soil{Porosity: 0.35, Saturation: 1, HeatCapacity: want * 1e6}
			solids, err := soil.SolidsCapacity(NewWater(), Celsius+25)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "SolidsCapacity [J/(m3 K)]", solids, 0.65*2.2e6, 0.35*0.0054e6)
			continue
		}
		// The solids of a Côté & Konrad row are those of the Johansen row above it.
		var q, density, S, kappa float64
		switch {
		case strings.HasPrefix(cond, "medium sand"):
			q, density, S, kappa = 0.8, 1600, 1, 3.55
			if strings.Contains(cond, "Ke=0.6") {
				S = 0.3
			}
		case strings.HasPrefix(cond, "silt loam"):
			q, density, S, kappa = 0.25, 1400, 0.6, KappaFine
		case strings.HasPrefix(cond, "clay"):
			q, density, S, kappa = 0.1, 1300, 1, KappaFine
		default:
			t.Fatalf("the worked example %q is not known here", cond)
		}
		porosity := 1 - density/2700
		solids := SolidsJohansen(q)
		saturated := SaturatedJohansen(solids, porosity)
		var dry, ke float64
		if strings.HasPrefix(r["item"], "Johansen") {
			dry, ke = DryJohansen(density), KerstenFine(S)
			if strings.HasPrefix(cond, "medium sand") {
				ke = KerstenCoarse(S)
			}
			near(t, cond+": porosity", porosity, r.param(t, "condition", "n"), 1e-6)
			near(t, cond+": lambda_s", solids, r.param(t, "condition", "lambda_s"), 1e-6)
			near(t, cond+": lambda_sat", saturated, r.param(t, "condition", "lambda_sat"), 1e-6)
		} else {
			dry, ke = DryCoteKonrad(0.75, 1.20, porosity), KerstenCoteKonrad(kappa, S)
		}
		// Six decimals are printed: half a unit is 5e-7, and 1e-6 the table's own bar.
		near(t, cond+": lambda_dry", dry, r.param(t, "condition", "lambda_dry"), 1e-6)
		near(t, cond+": Ke", ke, r.param(t, "condition", "Ke"), 1e-6)
		near(t, cond+": "+r["item"]+" [W/(m K)]", MixKersten(dry, saturated, ke), want, 1e-6)
	}
	if rows != 9 {
		t.Errorf("%d worked examples were compared, want 9", rows)
	}
}

// TestThermalWorkedSilt: λ(S) of a layer found at S₀ is the worked silt loam.
// Source: soils_thermal.csv, "silt loam" row of Côté & Konrad 2005: λ_dry 0.198282,
// λ_sat 1.301490, κ 1.90, λ(0.6) 1.014943 W/(m·K).
func TestThermalWorkedSilt(t *testing.T) {
	for _, c := range []struct{ S0, found float64 }{{1, 1.301490}, {0.6, 1.014943}} {
		s := Soil{Porosity: 0.481481, Saturation: c.S0, ThermalConductivity: c.found, ThermalConductivityDry: 0.198282}
		l := s.Thermal()
		// Half a unit of the sixth decimal, times Ke(1)/Ke(0.6) = 1.35.
		near(t, fmt.Sprintf("lambda(0.6) of silt loam found at %g", c.S0), l.Lambda(0.6), 1.014943, 1e-6)
		near(t, fmt.Sprintf("lambda(1) of silt loam found at %g", c.S0), l.Lambda(1), 1.301490, 2e-6)
	}
}

// TestDryConductivity: the silt loam's dry value by Johansen, and the cap.
// Source: soils_thermal.csv: λ_dry 0.184617 at 1400 kg/m³, porosity 0.481481.
func TestDryConductivity(t *testing.T) {
	near(t, "DryConductivity(0.481481, 1.6)", DryConductivity(0.481481, 1.6), 0.184617, 1e-6)
	near(t, "DryConductivity(0.05, 0.9), of pavement", DryConductivity(0.05, 0.9), 0.9, 0)
}

// TestThermalProperties: on random soils λ is as found at S₀, dry at 0, and never
// falls with S; the slice form gives the same.
func TestThermalProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 1000 {
		s := silt()
		s.Porosity = 0.05 + 0.6*rng.Float64()
		s.Saturation = rng.Float64()
		s.ThermalConductivity = 0.3 + 3*rng.Float64()
		l := s.Thermal()
		// λ(S₀) scales a difference by Ke(S₀)/Ke(S₀): a few roundings of λ.
		near(t, "lambda(S0)", l.Lambda(s.Saturation), s.ThermalConductivity, 1e-14)
		near(t, "lambda(0)", l.Lambda(0), DryConductivity(s.Porosity, s.ThermalConductivity), 0)
		S, dst := make([]float64, 101), make([]float64, 101)
		for i := range S {
			S[i] = float64(i) / 100
		}
		l.LambdaTo(dst, S)
		for i := range S {
			near(t, fmt.Sprintf("LambdaTo at S = %g", S[i]), dst[i], l.Lambda(S[i]), 0)
			if i > 0 && dst[i] < dst[i-1] {
				t.Fatalf("lambda falls from %g to %g W/(m K) at S = %g, want no fall", dst[i-1], dst[i], S[i])
			}
		}
	}
	s := silt()
	s.Saturation = 0
	near(t, "lambda(0.5) of a soil found without water", s.Thermal().Lambda(0.5), s.ThermalConductivity, 0)
}

// TestSolidsCapacity: solids and water together have the capacity given, and a
// capacity below the water's own is refused.
// Source: cp of water at 15 °C, 4189.4 J/(kg·K): water_saturation.csv, IAPWS R7-97(2012).
func TestSolidsCapacity(t *testing.T) {
	w := NewWater()
	s := silt()
	got, err := s.SolidsCapacity(w, Celsius+15)
	if err != nil {
		t.Fatalf("SolidsCapacity of %q at 15 degC fails: %v", s.Name, err)
	}
	// 2.9e6 − 0.4 × 998.2 × 4189.43; cp is printed to 0.01, and the slope along the
	// saturation line differs from cp by v dp/dT, 0.1 J/(kg·K): times 399 kg/m³, 50.
	near(t, "SolidsCapacity [J/(m3 K)] of silt at 15 degC", got, 2.9e6-0.4*998.2*4189.43, 50)
	s.HeatCapacity = 1.6e6
	if _, err := s.SolidsCapacity(w, Celsius+15); !errors.Is(err, ErrHeatCapacity) {
		t.Errorf("SolidsCapacity of a soil that holds more heat in its water than in all is %v, want ErrHeatCapacity", err)
	}
	s.HeatCapacity = math.NaN()
	if _, err := s.SolidsCapacity(w, Celsius+15); err == nil {
		t.Error("SolidsCapacity of a NaN heat capacity is accepted, want an error")
	}
}
