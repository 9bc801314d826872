package materials

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// silt is a layer with every usual choice.
func silt() Soil {
	return Soil{
		Name: "silt", Source: Source{"choice", ""},
		Resistivity: 25, ResistivityAt: Celsius + 25, TemperatureCoeff: TemperatureCoeffDefault,
		SaturationExponent: SaturationExponentDefault, ResidualConductivity: ResidualConductivityDefault,
		Porosity: 0.4, Saturation: 1, DrySaturation: DrySaturationDefault,
		ThermalConductivity: 1.6, HeatCapacity: 2.9e6,
	}
}

// TestTemperatureLinear: from 25 to 100 °C the linear law with 0.0187 1/K gives
// 1 + 0.0187 × 75 = 2.4025, by hand.
func TestTemperatureLinear(t *testing.T) {
	s := silt()
	c := s.Conductivity(NewWater())
	// b + aT cancels two numbers near 6: some roundings of 6.
	near(t, "linear f_T(100 degC)", c.FactorT(Celsius+100, 1e3), 2.4025, 1e-14)
	near(t, "linear f_T(25 degC)", c.FactorT(Celsius+25, 1e3), 1, 1e-14)
	near(t, "linear f_T(120 degC) with boiling at 100 degC", c.FactorT(Celsius+120, Celsius+100), 2.4025, 1e-14)
	near(t, "linear f_T(-60 degC)", c.FactorT(Celsius-60, 1e3), temperatureFloor, 0)
	near(t, "sigma(25 degC) [S/m] as found", c.Sigma(Celsius+25, 1, 1e3), 1./25, 1e-15)
}

// TestTemperatureViscosity: μ(25 °C)/μ(T) from the columns of the saturation table.
// Source: water_saturation.csv: IAPWS R12-08 by an independent implementation.
func TestTemperatureViscosity(t *testing.T) {
	s := silt()
	s.TemperatureLaw = LawViscosity
	w := NewWater()
	c := s.Conductivity(w)
	ref := math.NaN()
	table := readTable(t, "water_saturation.csv")
	for _, r := range table {
		if r["T_degC"] == "25" {
			ref = r.num(t, "mu_liq_Pa_s")
		}
	}
	for _, r := range table {
		if r["kind"] != "saturation" {
			continue
		}
		T, mu := r.num(t, "T_K"), r.num(t, "mu_liq_Pa_s")
		// Six digits are printed in each viscosity: half a unit of the sixth of both.
		tol := ref / mu * (halfDigit(ref, 6)/ref + halfDigit(mu, 6)/mu)
		near(t, fmt.Sprintf("viscosity f_T(%s degC)", r["T_degC"]), c.FactorT(T, 1e3), ref/mu, tol)
	}
	near(t, "viscosity f_T(100 degC), as the trade rounds it", c.FactorT(Celsius+100, 1e3), 3.2, 0.05)
	near(t, "viscosity f_T(-60 degC)", c.FactorT(Celsius-60, 1e3), temperatureFloor, 0)
}

// TestBrineBetweenTheLaws: measured brine rises by 2.54 from 25 to 100 °C, between
// the two laws offered. A check of plausibility: brine in a beaker is not soil.
// Source: electrical.csv: Sen & Goode, Geophysics 57:89, 1992.
func TestBrineBetweenTheLaws(t *testing.T) {
	w := NewWater()
	s := silt()
	low := s.Conductivity(w).FactorT(Celsius+100, 1e3)
	s.TemperatureLaw = LawViscosity
	high := s.Conductivity(w).FactorT(Celsius+100, 1e3)
	rows := 0
	for _, r := range readTable(t, "electrical.csv") {
		if r["item"] != "sigma_w(100)/sigma_w(25)" {
			continue
		}
		rows++
		if v := r.num(t, "value"); !(low < v && v < high) {
			t.Errorf("brine of %s rises %g times from 25 to 100 degC, want between the linear law's %g and the viscosity law's %g", r["condition"], v, low, high)
		}
	}
	if rows != 4 {
		t.Errorf("%d brine rows were compared, want 4", rows)
	}
}

// TestArchie: the ratio of two saturations of one soil.
// Source: electrical.csv: Archie 1942 (formula from memory), worked rows.
func TestArchie(t *testing.T) {
	var full, half float64
	for _, r := range readTable(t, "electrical.csv") {
		if r["item"] != "worked: sigma/sigma_w" {
			continue
		}
		if r.param(t, "condition", "phi") == 0.35 {
			if r.param(t, "condition", "S") == 1 {
				full = r.num(t, "value")
			} else {
				half = r.num(t, "value")
			}
		}
	}
	s := silt()
	s.ResidualConductivity, s.DrySaturation = 0, 0 // the bare law
	c := s.Conductivity(NewWater())
	// Eight decimals: half a unit over 0.0518 is 1e-7 of the ratio.
	near(t, "f_S(0.5) of Archie's law", c.FactorS(0.5), half/full, 1e-7*half/full)
	// The same soil found half full: the law goes on above s = 1.
	s.Saturation = 0.5
	near(t, "f_S(1) of Archie's law found at 0.5", s.Conductivity(NewWater()).FactorS(1), full/half, 1e-7*full/half)
}

// TestWaxmanSmits: the share of the grain surfaces is B·Qv/(σ_w + B·Qv) when full.
// Source: electrical.csv: Waxman & Smits 1968, Waxman & Thomas 1974 (formula from
// memory), worked rows.
func TestWaxmanSmits(t *testing.T) {
	sigma := map[float64]float64{}
	var g float64
	for _, r := range readTable(t, "electrical.csv") {
		if r["kind"] != "waxman_smits" || r["item"] != "worked: sigma" {
			continue
		}
		sw, qv := r.param(t, "condition", "sigma_w"), r.param(t, "condition", "Qv")
		if sw != 0.1 {
			continue // one saturation only: no ratio
		}
		b := 3.83 * (1 - 0.83*math.Exp(-sw/2))
		g = b * qv / (sw + b*qv)
		sigma[r.param(t, "condition", "S")] = r.num(t, "value")
	}
	s := silt()
	s.GrainShare, s.ResidualConductivity, s.DrySaturation = g, 0, 0
	want := sigma[0.5] / sigma[1]
	// Eight decimals: half a unit over 0.0203 is 2.5e-7, over 0.0502 1e-7.
	near(t, "f_S(0.5) of Waxman & Smits's law", s.Conductivity(NewWater()).FactorS(0.5), want, 3.5e-7*want)
}

// TestSaturationFactorProperties: on random soils f_S has its two ends, does not
// fall with S, has no jump, and the slices give what the scalars give.
func TestSaturationFactorProperties(t *testing.T) {
	w := NewWater()
	rng := rand.New(rand.NewPCG(1, 2))
	exponents := []float64{1, 2, 1.5, 3}
	for k := range 2000 {
		s := silt()
		s.SaturationExponent = exponents[k%4]
		if k%8 >= 4 {
			s.SaturationExponent = 1 + 3*rng.Float64()
		}
		s.GrainShare = rng.Float64()
		if k%10 == 0 {
			s.GrainShare = float64(k / 10 % 2) // the two ends
		}
		s.ResidualConductivity = rng.Float64()
		s.Saturation = 0.02 + 0.98*rng.Float64()
		s.DrySaturation = 0.3 * rng.Float64()
		s.TemperatureLaw = TemperatureLaw(k % 2)
		c := s.Conductivity(w)
		what := fmt.Sprintf("f_S with n = %.4g, g = %.3g, S0 = %.4g, S_dry = %.4g, residual %.3g at", s.SaturationExponent, s.GrainShare, s.Saturation, s.DrySaturation, s.ResidualConductivity)
		if s.Saturation <= s.DrySaturation {
			for _, S := range []float64{0, s.DrySaturation, s.Saturation, 1} {
				near(t, fmt.Sprintf("%s S = %g", what, S), c.FactorS(S), 1, 0)
			}
			continue
		}
		// Roundings of s are stretched by spread = (1 − res)/(1 − law(s_dry)), which is large
		// where S₀ lies just above S_dry.
		tol := 1e-15 * (4 + 8*c.spread)
		near(t, what+" S0", c.FactorS(s.Saturation), 1, tol)
		near(t, what+" S_dry", c.FactorS(s.DrySaturation), s.ResidualConductivity, tol)
		near(t, what+" zero", c.FactorS(0), s.ResidualConductivity, tol)

		const n = 400
		T, S, dst := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
		for i := range S {
			S[i], T[i] = float64(i)/n, Celsius+150*rng.Float64()
		}
		const Tb = Celsius + 100
		c.SigmaTo(dst, T, S, Tb)
		// The largest slope of law(s) is at its largest s: n sⁿ⁻¹ for s ≥ 1 bounds it for
		// n ≥ 2, and near s_dry (n−1) s_dryⁿ⁻² + 1 does for n < 2.
		top := max(c.perS0, 1)
		e := s.SaturationExponent
		steep := c.spread * c.perS0 * (e*math.Pow(top, e-1) + e*max(math.Pow(top, e-2), math.Pow(c.sDry, e-2)))
		for i := range S {
			f := c.FactorS(S[i])
			near(t, fmt.Sprintf("SigmaTo cell %d", i), dst[i], c.Sigma(T[i], S[i], Tb), 4e-15*max(c.spread, 1)*max(dst[i], 1))
			if i == 0 {
				continue
			}
			rise := f - c.FactorS(S[i-1])
			if !(rise >= -tol && rise <= steep/n+tol) {
				t.Fatalf("%s S = %g rises by %g over a step of %g, want from 0 to %g (no fall, no jump)", what, S[i], rise, 1./n, steep/n)
			}
		}
	}
}

func TestSigmaToPanicsOnLengths(t *testing.T) {
	defer func() {
		if r, _ := recover().(string); !strings.HasPrefix(r, "materials: ") {
			t.Errorf("SigmaTo with slices of different length panics with %q, want a message that starts with materials:", r)
		}
	}()
	s := silt()
	s.Conductivity(NewWater()).SigmaTo(make([]float64, 3), make([]float64, 3), make([]float64, 2), Celsius+100)
}

func BenchmarkSigmaTo(b *testing.B) {
	const n = 100_000
	T, S, dst := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range T {
		T[i], S[i] = 283+95*float64(i)/n, 1-0.9*float64(i)/n
	}
	w := NewWater()
	for _, law := range []TemperatureLaw{LawLinear, LawViscosity} {
		for _, exponent := range []float64{1, 2, 1.7} {
			s := silt()
			s.TemperatureLaw, s.SaturationExponent, s.GrainShare = law, exponent, 0.3
			c := s.Conductivity(w)
			b.Run(fmt.Sprintf("%v/n=%g", law, exponent), func(b *testing.B) {
				for range b.N {
					c.SigmaTo(dst, T, S, 373.12)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/cell")
			})
		}
	}
}
