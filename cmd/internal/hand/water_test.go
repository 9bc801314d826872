package hand

import (
	"fmt"
	"math"
	"testing"
)

// TestBoilingPointAtDepth: the boiling point below the water table, at altitude and
// under vacuum.
// Source: boiling_depth.csv (IAPWS R7-97 by another implementation), its last digit; own
// arithmetic: a table in feet to 0.1 °C, and 94.9 °C both at 5000 ft (84.3 kPa) and
// with 5 inHg of vacuum at sea level.
func TestBoilingPointAtDepth(t *testing.T) {
	for _, r := range referenceTable(t, "boiling_depth.csv") {
		z := num(t, r[0])
		// 1.01325 bar and the column to the table's last digit, 0.5 Pa: 2e-5 K.
		near(t, fmt.Sprintf("boiling point %g m below the table [°C]", z), BoilingPoint(z+2, 2, 0, 0)-zeroC, num(t, r[2]), 0.0005+2e-5)
		near(t, fmt.Sprintf("pressure %g m below the table [kPa]", z), Pressure(z, 0, 0, 0)/1e3, num(t, r[1]), 0.0005+1e-9)
	}
	for feet, want := range map[float64]float64{0: 100.0, 5: 103.9, 10: 107.4, 20: 113.5, 30: 118.7, 40: 123.3, 50: 127.5, 60: 131.2, 80: 137.8, 100: 143.6} {
		near(t, fmt.Sprintf("boiling point at %g ft [°C]", feet), BoilingPoint(feet*foot, 0, 0, 0)-zeroC, want, 0.05)
	}
	near(t, "boiling point at 5000 ft [°C]", BoilingPoint(10, math.Inf(1), 5000*foot, 0)-zeroC, 94.9, 0.05)
	near(t, "boiling point under 5 inHg [°C]", BoilingPoint(10, math.Inf(1), 0, 5*3386.389)-zeroC, 94.9, 0.05)
}

// TestGroundwaterTakesHeat: one gallon a minute warmed from 15 to 100 °C takes 22.4 kW;
// by flux 13, 38, 126, 377 and 1255 W/m² at 0.01, 0.03, 0.1, 0.3 and 1 ft/d and 85 K.
// Source: own arithmetic, with water of 4.18 MJ/(m³·K): its half digit and 0.1 %, by which
// the enthalpies differ from that constant.
func TestGroundwaterTakesHeat(t *testing.T) {
	heat := WaterHeat(zeroC+15, zeroC+100)
	near(t, "1 gpm [kW]", gpm*heat/1e3, 22.4, 0.05)
	for i, u := range []float64{0.01, 0.03, 0.1, 0.3, 1} {
		want := []float64{13, 38, 126, 377, 1255}[i]
		near(t, fmt.Sprintf("flux of %g ft/d [W/m²]", u), u*foot/days*heat, want, 0.5+1e-3*want)
	}
}

// TestGroundNeed: warming and boiling a cubic metre of saturated ground.
// Source: trade figures worked in Python: C = 0.65·2.2 + 0.35·4.18 MJ/(m³·K) from 12 to 100 °C is
// 70.72 kWh/m³, and boiling 30 % of the water of 0.35, 958.4 kg/m³ at 2256.5 kJ/kg, is 63.08;
// here water has 998.2 kg/m³, as in a run. Own arithmetic: each kilogram that boils at 100
// and is replaced at 13 °C takes 2.62 MJ.
func TestGroundNeed(t *testing.T) {
	n := GroundNeed(0.65*2.2e6+0.35*4.18e6, zeroC+12, zeroC+100, 0.35, 1, 0.3)
	near(t, "warming [kWh/m³]", n.Warm/kWh, 70.72, 0.005)
	// 2256.5 at 99.97 °C against 2256.4 at 100 °C, and half a digit.
	near(t, "boiling [kWh/m³]", n.Latent/kWh*958.4/998.2, 63.08, 0.005+63.08*1e-4)
	near(t, "water boiled [kg/m³]", n.Water, 0.35*0.3*998.2, 1e-9)
	m := GroundNeed(2.9e6, zeroC+13, zeroC+100, 0.4, 1, 0.3)
	near(t, "boiling and replacing a kilogram [MJ/kg]", (m.Latent+m.Replace)/m.Water/1e6, 2.62, 0.005)
}
