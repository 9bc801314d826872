package materials

import (
	"fmt"
	"math"
	"testing"
)

// TestSaturationLine: 37 rows from 5 to 180 °C.
// Source: water_saturation.csv: IAPWS R7-97(2012) and R12-08 by an independent
// implementation, not by this package.
func TestSaturationLine(t *testing.T) {
	rows := 0
	for _, r := range readTable(t, "water_saturation.csv") {
		if r["kind"] != "saturation" {
			continue
		}
		rows++
		T := r.num(t, "T_K")
		p := SaturationPressure(T)
		vl, _, cp := Region1(p, T)
		vv, hv := Region2(p, T)
		for _, c := range []struct {
			column string
			got    float64
			digits int // printed; half a unit of the last is the tolerance
		}{
			{"p_MPa", p / 1e6, 9},
			{"rho_liq_kg_m3", LiquidDensity(T), 7},
			{"h_liq_kJ_kg", LiquidEnthalpy(T) / 1e3, 7},
			{"cp_liq_kJ_kgK", cp / 1e3, 6},
			{"mu_liq_Pa_s", Viscosity(LiquidDensity(T), T), 6},
			{"rho_vap_kg_m3", 1 / vv, 7},
			{"h_vap_kJ_kg", VapourEnthalpy(T) / 1e3, 7},
			{"mu_vap_Pa_s", Viscosity(1/vv, T), 6},
			{"latent_kJ_kg", LatentHeat(T) / 1e3, 7},
		} {
			want := r.num(t, c.column)
			near(t, fmt.Sprintf("%s at %s degC", c.column, r["T_degC"]), c.got, want, halfDigit(want, c.digits))
		}
		if hv != VapourEnthalpy(T) || 1/vl != LiquidDensity(T) {
			t.Errorf("at %g K the saturation line and the regions disagree", T)
		}
	}
	if rows != 37 {
		t.Errorf("%d saturation rows were compared, want 37", rows)
	}
}

// TestBoilingBelowWaterTable: hydrostatic pressure of water of constant density.
// Source: boiling_depth.csv: IAPWS R7-97(2012) by an independent implementation.
func TestBoilingBelowWaterTable(t *testing.T) {
	for _, r := range readTable(t, "boiling_depth.csv") {
		d := r.num(t, "depth_below_water_table_m")
		p := AirPressure(0) + RhoWater*Gravity*d
		// Printed to 1 Pa and to 0.001 K; 0.05 K is the bar stated for the table, and
		// half a unit of the last digit is what an exact implementation reaches.
		near(t, fmt.Sprintf("pressure [kPa] %g m below the water table", d), p/1e3, r.num(t, "p_kPa"), 0.5e-3+1e-9)
		near(t, fmt.Sprintf("boiling point [degC] %g m below the water table", d), SaturationTemperature(p)-Celsius, r.num(t, "T_boil_water_degC"), 0.5e-3+1e-6)
		near(t, fmt.Sprintf("latent heat [kJ/kg] %g m below the water table", d), LatentHeat(SaturationTemperature(p))/1e3, r.num(t, "latent_kJ_kg"), 0.5e-2+1e-6)
	}
}

// TestAirPressure: the standard atmosphere.
// Source: US Standard Atmosphere 1976, Table I by geometric altitude, and its
// tropopause, 226.32 hPa at a geopotential altitude of 11 km; from memory. Half a
// unit of the digits given: the two standards' gas constants differ by 7e-7, which
// is below that.
func TestAirPressure(t *testing.T) {
	const tropopause = 6356766 * 11e3 / (6356766 - 11e3) // geometric altitude [m]
	for _, c := range []struct{ z, hPa, tol float64 }{
		{0, 1013.25, 1e-9}, {1000, 898.76, 5e-3}, {2000, 795.01, 5e-3}, {3000, 701.21, 5e-3}, {5000, 540.48, 5e-3}, {tropopause, 226.32, 5e-3},
	} {
		near(t, fmt.Sprintf("AirPressure(%g m) [hPa]", c.z), AirPressure(c.z)/100, c.hPa, c.tol)
	}
}

// TestBoilingAtElevation: numbers of the trade. 84.3 kPa and 94.9 °C at 5000 ft;
// with a vacuum of 5 inHg at sea level 94.9 °C too.
// Source: ISO 2533 and IAPWS R7-97(2012) by an independent calculation, printed to
// 0.1 of each unit, hence half of that. 1 inHg = 3386.39 Pa (NIST SP 811).
func TestBoilingAtElevation(t *testing.T) {
	p := AirPressure(5000 * 0.3048)
	near(t, "air pressure [kPa] at 5000 ft", p/1e3, 84.3, 0.05)
	near(t, "boiling point [degC] at 5000 ft", SaturationTemperature(p)-Celsius, 94.9, 0.05)
	near(t, "boiling point [degC] at sea level under 5 inHg of vacuum", SaturationTemperature(AirPressure(0)-5*3386.39)-Celsius, 94.9, 0.05)
}

// TestTableAgainstEquations: the tables between their nodes.
func TestTableAgainstEquations(t *testing.T) {
	w := NewWater()
	var worstL, worstF float64
	for i := range 180*32 + 1 {
		T := TableMin + float64(i)/32
		h, _ := w.Enthalpy(T)
		worstL = max(worstL, math.Abs(h-LiquidEnthalpy(T)))
		f, _ := w.Fluidity(T)
		worstF = max(worstF, math.Abs(f*Viscosity(LiquidDensity(T), T)-1))
	}
	// A cubic on a cell of 1 K with exact ends is off by at most f⁗ · (1 K)⁴/384. For
	// the liquid f⁗ is largest at 0 °C, where cp's curve is sharpest: the error of
	// 7.5e-5 J/kg seen here means 0.03 J/(kg·K⁴), and 0.1 is a bound, so 3e-4 J/kg; 1e-3
	// leaves room for the slopes' own error. Both lie far below the 1e-2 J/kg (1e-7 of
	// 100 kJ/kg) that the heat balance needs.
	near(t, "largest error of the liquid's table [J/kg]", worstL, 0, 1e-3)
	// Fluidity near 0 °C goes as exp(0.034 ΔT), so f⁗/f ≈ 0.034⁴ = 1.3e-6 and the
	// error 3.5e-9; 1e-8 has room for the curve's sharper bend at 0 °C.
	near(t, "largest relative error of the fluidity's table", worstF, 0, 1e-8)
	t.Logf("largest errors: liquid %.2g J/kg, fluidity %.2g", worstL, worstF)
}

// TestTableSlope: the liquid's slope along the saturation line against the
// thermodynamic identity dh′/dT = cp + (v − T ∂v/∂T) dp/dT, in which only cp is
// large and comes from its own second derivative.
// Source: Maxwell relation; cp of IAPWS R7-97(2012) region 1.
func TestTableSlope(t *testing.T) {
	w := NewWater()
	for T := 273.4; T < 453; T += 0.53 {
		const d = 0.05
		p := SaturationPressure(T)
		v, _, cp := Region1(p, T)
		up, _, _ := Region1(p, T+d)
		down, _, _ := Region1(p, T-d)
		dpdT := (SaturationPressure(T+d) - SaturationPressure(T-d)) / (2 * d)
		_, got := w.Enthalpy(T)
		// Difference quotients of v (1e-6 relative) enter a term of at most 20 J/(kg·K),
		// the cubic's slope is off by f⁗·(1 K)³·√3/216 < 8e-4 J/(kg·K) with f⁗ < 0.1.
		near(t, fmt.Sprintf("dh/dT [J/(kg K)] of the table at %g K", T), got, cp+(v-T*(up-down)/(2*d))*dpdT, 1e-3)
	}
}

// TestTableDerivative: each curve's slope is that of its value, also outside.
func TestTableDerivative(t *testing.T) {
	w := NewWater()
	for name, f := range map[string]func(float64) (float64, float64){"Enthalpy": w.Enthalpy, "Fluidity": w.Fluidity} {
		for T := 240.03; T < 500; T += 0.117 {
			const d = 1e-3
			up, _ := f(T + d)
			down, _ := f(T - d)
			v, slope := f(T)
			// A cubic's difference quotient is off by c₃d², a slope that turns within 2d at a
			// node by some c₂d; both scale with the slope (1e-2/K at most, so 1e-5 relative).
			// Rounding adds 2ε·value/d.
			near(t, fmt.Sprintf("slope of %s at %g K", name, T), slope, (up-down)/(2*d), 1e-5*math.Abs(slope)+4e-16*math.Abs(v)/d)
		}
	}
}

// TestTableSmooth: rising everywhere, and one value and one slope at every node.
func TestTableSmooth(t *testing.T) {
	w := NewWater()
	for name, f := range map[string]func(float64) (float64, float64){"Enthalpy": w.Enthalpy, "Fluidity": w.Fluidity} {
		last := math.Inf(-1)
		for i := -40 * 16; i < 300*16; i++ {
			T := TableMin + float64(i)/16
			v, slope := f(T)
			if !(v > last && slope > 0) {
				t.Fatalf("%s at %g K is %g with slope %g, want rising (a step below it is %g)", name, T, v, slope, last)
			}
			last = v
		}
		for i := range curveCells + 1 {
			T := TableMin + float64(i)
			below, slopeBelow := f(math.Nextafter(T, 0))
			above, slopeAbove := f(T)
			// The cubic's coefficients carry rounding of the node values, some 10 ε of the
			// largest value; T itself steps by 6e-14 K.
			scale, _ := f(TableMax)
			near(t, fmt.Sprintf("%s just below the node at %g K", name, T), below, above, 20*2.3e-16*scale+1e-13*slopeAbove)
			near(t, fmt.Sprintf("slope of %s just below the node at %g K", name, T), slopeBelow, slopeAbove, 40*2.3e-16*scale+1e-13*slopeAbove)
		}
		if v, slope := f(math.NaN()); !math.IsNaN(v) {
			t.Errorf("%s(NaN) is %g with slope %g, want NaN", name, v, slope)
		}
		// The straight lines outside: twice the distance, twice the difference.
		for _, c := range []struct{ end, out float64 }{{TableMin, -15}, {TableMax, 120}} {
			v0, s0 := f(c.end)
			v1, s1 := f(c.end + c.out)
			near(t, fmt.Sprintf("%s %g K outside", name, c.out), v1, v0+s0*c.out, 1e-13*math.Abs(s0*c.out)+1e-15*math.Abs(v0))
			near(t, fmt.Sprintf("slope of %s %g K outside", name, c.out), s1, s0, 1e-13*s0)
		}
	}
}

// TestInfiniteTemperature: an overflow gives no index out of range.
func TestInfiniteTemperature(t *testing.T) {
	w := NewWater()
	for _, T := range []float64{math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64} {
		w.Enthalpy(T)
	}
}

func BenchmarkEnthalpy(b *testing.B) {
	w := NewWater()
	T := make([]float64, 4096)
	for i := range T {
		T[i] = 283 + 95*float64(i*2654435761%4096)/4096
	}
	sum := 0.0
	b.ResetTimer()
	for i := range b.N {
		h, d := w.Enthalpy(T[i&4095])
		sum += h + d
	}
	if sum == 0 {
		b.Fatal("the sum of all enthalpies is zero")
	}
}

func BenchmarkNewWater(b *testing.B) {
	for range b.N {
		NewWater()
	}
}
