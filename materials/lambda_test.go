package materials

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// sampleSoil draws ground by a law, found at a random saturation.
func sampleSoil(rng *rand.Rand) Soil {
	s := silt()
	s.Porosity = 0.05 + 0.6*rng.Float64()
	s.Saturation = rng.Float64()
	s.ThermalConductivity = 0.3 + 3*rng.Float64()
	s.Kind = Kind(rng.IntN(2))
	s.ThermalLaw = ThermalLaw(rng.IntN(3))
	s.Texture = Texture(rng.IntN(4))
	if rng.IntN(3) == 0 {
		s.ThermalConductivityDry = s.ThermalConductivity * (0.05 + 0.95*rng.Float64())
	}
	return s
}

// TestLambdaProperties: by each law, of each texture and kind, λ is as found at S₀ and
// dry at 0, never falls with S nor jumps, stays between the dry value and the larger of
// that found and that of pores full between quartz grains, counts S outside 0 to 1 as the
// nearer end, and is the same by slices.
func TestLambdaProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	seen := map[string]int{}
	for range 1000 {
		s := sampleSoil(rng)
		l := s.Thermal()
		law, _ := s.LambdaLaw()
		seen[law]++
		what := fmt.Sprintf("lambda by %s (kind %d), found %.4g at S0 = %.4g, at", law, s.Kind, s.ThermalConductivity, s.Saturation)
		dry := s.ThermalConductivityDry
		if dry == 0 {
			dry = s.LambdaDry()
		}
		// λ_found comes back through Ke(S₀)/Ke(S₀), or exp(ln(found/dry)): the logarithm is up
		// to some 3 and the power's rounding is that of its argument.
		near(t, what+" S0", l.Lambda(s.Saturation), s.ThermalConductivity, 1e-14)
		near(t, what+" 0", l.Lambda(0), dry, 0)
		most := max(s.ThermalConductivity, SaturatedJohansen(quartzLambda, s.Porosity))
		const n = 200
		S, dst := make([]float64, n+1), make([]float64, n+1)
		for i := range S {
			S[i] = float64(i) / n
		}
		l.LambdaTo(dst, S)
		// Largest slope of a Kersten number: κ at 0 (4.6; of peat 1/κ at 1), 3.0 or 1.6 of the
		// tangents; times what Ke(S₀) scales it to. The exponential's is ln(λ/dry)/S₀ · λ.
		steep := 4.6 * (s.ThermalConductivity - dry) / min(1, min(s.Saturation, 0.6*s.Saturation))
		if s.ThermalLaw == ThermalGeometricMean {
			steep = math.Log(s.ThermalConductivity/dry) / s.Saturation * most
		}
		for i := range S {
			near(t, fmt.Sprintf("%s %g by slices", what, S[i]), dst[i], l.Lambda(S[i]), 0)
			if !(dst[i] >= dry && dst[i] <= most) {
				t.Fatalf("%s %g is %g, want from %g to %g W/(m K)", what, S[i], dst[i], dry, most)
			}
			if i == 0 {
				continue
			}
			if rise := dst[i] - dst[i-1]; !(rise >= -1e-15 && rise <= steep/n*(1+1e-9)+1e-14) {
				t.Fatalf("%s %g rises by %g over a step of %g, want from 0 to %g", what, S[i], rise, 1./n, steep/n)
			}
		}
		near(t, what+" 1.1", l.Lambda(1.1), l.Lambda(1), 0)
		near(t, what+" -0.1", l.Lambda(-0.1), l.Lambda(0), 0)
		l.LambdaTo(dst[:2], []float64{1.1, -0.1})
		near(t, what+" 1.1 by slices", dst[0], l.Lambda(1), 0)
		near(t, what+" -0.1 by slices", dst[1], l.Lambda(0), 0)
	}
	if len(seen) != 8 { // four κ and that of crushed rock, two logarithms and the mean
		t.Errorf("%d laws were drawn, want 8: %v", len(seen), seen)
	}
}

// TestJohansenJoin: from the origin Ke follows the tangent of Johansen's logarithm to where
// they meet, in value and slope, and above it is the published one. By hand, they meet at
// 10^(1/ln 10 − 1) = e/10 = 0.2718 of fine
// soil, where Ke = 1/ln 10 = 0.4343; e/10^(1/0.7) = 0.1013 of coarse, 0.7/ln 10 = 0.3040.
func TestJohansenJoin(t *testing.T) {
	for _, c := range []struct {
		texture  Texture
		join, ke float64
		law      func(S float64) float64
	}{
		{TextureFine, math.E / 10, 1 / math.Ln10, KerstenFine},
		{TextureSand, math.E / math.Pow(10, 1/0.7), 0.7 / math.Ln10, KerstenCoarse},
		{TextureGravel, math.E / math.Pow(10, 1/0.7), 0.7 / math.Ln10, KerstenCoarse},
	} {
		s := silt()
		// A hundredth of the range, so that the cap at quartz is not reached.
		s.ThermalLaw, s.Texture, s.ThermalConductivity, s.ThermalConductivityDry = ThermalJohansen, c.texture, 1.01, 1
		l := s.Thermal()
		ke := func(S float64) float64 { return (l.Lambda(S) - 1) / 0.01 }
		// λ near 1 is rounded to 1e-16, its hundredth by 1e-14.
		near(t, fmt.Sprintf("Ke of texture %d at its join", c.texture), ke(c.join), c.ke, 1e-13)
		for _, S := range []float64{1.0001 * c.join, 0.3, 0.5, 0.8, 1} {
			near(t, fmt.Sprintf("Ke of texture %d at %g", c.texture, S), ke(S), c.law(S), 1e-13)
		}
		for _, share := range []float64{0, 0.25, 0.5, 0.99} {
			near(t, fmt.Sprintf("Ke of texture %d at %g of its join", c.texture, share), ke(share*c.join), share*c.ke, 1e-13)
		}
		// One-sided slopes over d differ by Ke″·d/2 = ke·d/(2·join²), at most 0.3/0.02 · d.
		const d = 1e-5
		below, above := (ke(c.join)-ke(c.join-d))/d, (ke(c.join+d)-ke(c.join))/d
		near(t, fmt.Sprintf("slope of Ke of texture %d above its join", c.texture), above, below, 20*d+1e-8)
	}
}

// TestGeometricMeanOfVolumes: rock of a conductivity λ_r with water and air in its pores,
// found at any saturation, has at any other the geometric mean by volume, and dry that of
// rock and air: 3.0 W/(m·K) found full at a porosity of 0.12 becomes 3.0·(0.024/0.57)^0.12 =
// 2.0514 when dry (by hand: 0.12·ln 23.75 = 0.38011, e^−0.38011 = 0.68379).
func TestGeometricMeanOfVolumes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 300 {
		rock, n, S0 := 1+6*rng.Float64(), 0.3*rng.Float64(), 0.01+0.99*rng.Float64()
		mean := func(S float64) float64 {
			return math.Pow(rock, 1-n) * math.Pow(0.57, n*S) * math.Pow(0.024, n*(1-S))
		}
		s := silt()
		s.Kind, s.ThermalLaw, s.Porosity, s.Saturation, s.ThermalConductivity = KindRock, ThermalGeometricMean, n, S0, mean(S0)
		l := s.Thermal()
		most := max(mean(S0), SaturatedJohansen(quartzLambda, n))
		for _, S := range []float64{0, 0.2, S0, 0.7, 1} {
			// Powers of numbers up to 7 and a logarithm scaled by 1/S₀ ≤ 100: 1e-16·100·3.
			near(t, fmt.Sprintf("geometric mean of rock %g at S = %g, found at %g", rock, S, S0), l.Lambda(S), min(mean(S), most), 1e-13*most)
		}
	}
	s := silt()
	s.Kind, s.ThermalLaw, s.Porosity, s.ThermalConductivity = KindRock, ThermalGeometricMean, 0.12, 3
	near(t, "dry value of the sandstone", s.LambdaDry(), 2.0514, 6e-5)
}

// TestMeansBetweenTheirBounds: each wet rock's conductivity lies between that of its parts
// in series and in parallel (Wiener's bounds, 1912, from memory), at every saturation.
func TestMeansBetweenTheirBounds(t *testing.T) {
	for _, rock := range []float64{1, 2.5, 5, 7.7} {
		for _, n := range []float64{0.02, 0.12, 0.3} {
			s := silt()
			s.Kind, s.ThermalLaw, s.Porosity = KindRock, ThermalGeometricMean, n
			s.ThermalConductivity = SaturatedJohansen(rock, n)
			l := s.Thermal()
			for S := 0.0; S <= 1; S += 0.125 {
				parallel := (1-n)*rock + n*S*0.57 + n*(1-S)*0.024
				series := 1 / ((1-n)/rock + n*S/0.57 + n*(1-S)/0.024)
				if v := l.Lambda(S); !(v > series && v < parallel) {
					t.Errorf("rock of %g W/(m K), porosity %g, at S = %g conducts %g, want between %g in series and %g in parallel", rock, n, S, v, series, parallel)
				}
			}
		}
	}
}

// TestDryValuesByLaw: formulas at a porosity of 0.4, by hand: crushed rock, 1.70·10^−0.72 =
// 0.3239 and 0.039·0.4^−2.2 = 0.2928; peat, 0.30·10^−0.348 = 0.1346; mineral soil 0.2431;
// none above the value found.
func TestDryValuesByLaw(t *testing.T) {
	for _, c := range []struct {
		name string
		soil Soil
		want float64
	}{
		{"crushed rock by Côté & Konrad", Soil{Kind: KindRock}, 0.3239},
		{"crushed rock by Johansen", Soil{Kind: KindRock, ThermalLaw: ThermalJohansen}, 0.2928},
		{"peat", Soil{Texture: TexturePeat}, 0.1346},
		{"gravel", Soil{Texture: TextureGravel}, 0.2431},
		{"silt by Johansen", Soil{ThermalLaw: ThermalJohansen}, 0.2431},
	} {
		for _, found := range []float64{1.5, 0.1} {
			s := c.soil
			s.Porosity, s.Saturation, s.ThermalConductivity = 0.4, 0.8, found
			near(t, fmt.Sprintf("dry %s, found %g", c.name, found), s.LambdaDry(), min(c.want, found), 6e-5)
		}
	}
	s := Soil{Kind: KindRock, ThermalLaw: ThermalJohansen, ThermalConductivity: 2}
	near(t, "dry crushed rock without pores", s.LambdaDry(), 2, 0)
}

// TestDryFormulasAgree: what DryConductivity says of the two dry formulas of mineral soil:
// they differ by at most 14 % at porosities of 0.25 to 0.6.
func TestDryFormulasAgree(t *testing.T) {
	worst := 0.0
	for n := 0.25; n <= 0.6; n += 0.01 {
		worst = max(worst, math.Abs(DryCoteKonrad(0.75, 1.2, n)/DryJohansen(2700*(1-n))-1))
	}
	if !(worst < 0.14 && worst > 0.13) {
		t.Errorf("the dry formulas differ by up to %.3g, want 0.13 to 0.14", worst)
	}
}

// TestLambdaOfGroundFoundNearlyDry: ground found so dry that no law scales from it keeps
// its value, and no law gives a number that is none.
func TestLambdaOfGroundFoundNearlyDry(t *testing.T) {
	w := NewWater()
	for _, S0 := range []float64{0, math.SmallestNonzeroFloat64, 1e-300, 1e-12, 1e-9, 1e-6, 0.037, 0.1} {
		for law := range ThermalLaw(3) {
			s := silt()
			s.Kind, s.ThermalLaw, s.Saturation, s.DrySaturation = KindRock, law, S0, 0
			l := s.Thermal()
			most := max(1.6, SaturatedJohansen(quartzLambda, 0.4))
			for _, S := range []float64{0, S0, 0.05, 0.5, 1} {
				if v := l.Lambda(S); !(v > 0 && v <= most) {
					t.Errorf("found at S0 = %g law %d gives %g at S = %g, want from 0 to %g", S0, law, v, S, most)
				}
			}
			if v := l.Lambda(1); S0 < leastSaturation && v != 1.6 {
				t.Errorf("found at S0 = %g law %d gives %g when full, want the value found", S0, law, v)
			}
			for _, S := range []float64{0, S0, 1} {
				if v := s.Conductivity(w).FactorS(S); math.IsNaN(v) {
					t.Errorf("found at S0 = %g f_S is no number at S = %g", S0, S)
				}
			}
		}
	}
}

// TestWetValueIsHeld: a value found too high for its saturation is held at that of quartz
// when wet, and AtMost says so; another is not.
func TestWetValueIsHeld(t *testing.T) {
	s := silt()
	s.Saturation, s.ThermalConductivity = 0.2, 1.5
	quartz := math.Pow(7.7, 0.6) * math.Pow(0.57, 0.4)
	v, held := s.Thermal().AtMost()
	near(t, "wet value held", v, quartz, 1e-14)
	if !held {
		t.Error("1.5 W/(m K) at a saturation of 0.2 is not said to be held, though it leads to 4.1")
	}
	s.Texture = TextureGravel
	if v, held := s.Thermal().AtMost(); held || v >= quartz {
		t.Errorf("the same in gravel is said to be held: %v at %g, want not, below %g", held, v, quartz)
	}
}

// TestOverfullCounts: a cell that holds more water than its pores conducts current as a
// full one, by scalars and by slices, whatever the exponent.
func TestOverfullCounts(t *testing.T) {
	w := NewWater()
	for _, n := range []float64{1, 2, 1.7} {
		for _, S0 := range []float64{0.4, 1} {
			s := silt()
			s.SaturationExponent, s.GrainShare, s.Saturation = n, 0.3, S0
			c := s.Conductivity(w)
			dst := make([]float64, 2)
			c.SigmaTo(dst, []float64{300, 300}, []float64{1, 1.02}, 373)
			near(t, fmt.Sprintf("f_S(1.02) with n = %g found at %g", n, S0), c.FactorS(1.02), c.FactorS(1), 0)
			near(t, fmt.Sprintf("sigma at S = 1.02 with n = %g found at %g", n, S0), dst[1], dst[0], 0)
			if !(c.FactorS(0.99) < c.FactorS(1)) {
				t.Errorf("f_S with n = %g found at %g does not rise up to full pores", n, S0)
			}
		}
	}
}

// TestLawsAreNamed: every law and dry value has a name that tells it from the others.
func TestLawsAreNamed(t *testing.T) {
	var names []string
	for _, s := range []Soil{{}, {Texture: TextureGravel}, {Texture: TextureSand}, {Texture: TexturePeat}, {ThermalLaw: ThermalJohansen}, {ThermalLaw: ThermalJohansen, Texture: TextureSand},
		{Kind: KindRock}, {Kind: KindRock, ThermalLaw: ThermalJohansen}, {Kind: KindRock, ThermalLaw: ThermalGeometricMean}} {
		law, dry := s.LambdaLaw()
		if name := law + "; " + dry; law == "" || dry == "" || slices.Contains(names, name) {
			t.Errorf("the law of %+v is named %q, as another", s, name)
		} else {
			names = append(names, name)
		}
	}
	if all := strings.Join(names, "\n"); strings.Count(all, "1.90") != 1 || strings.Count(all, "S = 0.1\n")+strings.Count(all, "S = 0.1;") < 1 || !strings.Contains(all, "S = 0.27") {
		t.Errorf("the names do not tell κ and where Johansen's logarithm ends:\n%s", all)
	}
}

func BenchmarkLambdaTo(b *testing.B) {
	const n = 100_000
	S, dst := make([]float64, n), make([]float64, n)
	for i := range S {
		S[i] = float64(i) / n
	}
	for law := range ThermalLaw(3) {
		s := silt()
		s.Kind, s.ThermalLaw = KindRock, law
		l := s.Thermal()
		name, _ := s.LambdaLaw()
		b.Run(name, func(b *testing.B) {
			for range b.N {
				l.LambdaTo(dst, S)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/cell")
		})
	}
}
