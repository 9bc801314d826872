package cases

import (
	"math"
	"strings"
	"testing"
)

// TestUnits: each spelling gives the SI value worked out from the definitions
// of foot, pound, BTU and degree.
//
// Source: NIST Special Publication 811 (2008), Appendix B.8, from memory, to
// the seven digits printed there (hence the tolerance of 5e-7, half a unit of
// the seventh); values that are exact by definition are held to equal bits.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		dim   *dimension
		text  string
		want  float64
		exact bool
	}{
		{length, "18 ft", 5.4864, true},
		{length, "7 ft 6 in", 2.286, true},
		{length, "7ft6in", 2.286, true},
		{length, "-1 ft 6 in", -0.4572, true},
		{length, "−1 ft", -0.3048, true},
		{length, "3 in", 0.0762, true},
		{length, "2 yd", 1.8288, true},
		{length, "5cm", 0.05, true},
		{length, "12 mm", 0.012, true},
		{length, "1e3 m", 1000, true},
		{length, ".5 m", 0.5, true},
		{temperature, "203 degF", 368.15, true},
		{temperature, "95 degC", 368.15, true},
		{temperature, "95 °C", 368.15, true},
		{temperature, "95 C", 368.15, true},
		{temperature, "203°F", 368.15, true},
		{temperature, "203 F", 368.15, true},
		{temperature, "203 deg F", 368.15, true},
		{temperature, "95 ℃", 368.15, true},
		{temperature, "-40 degF", 233.15, true},
		{temperature, "-40 degC", 233.15, true},
		{temperature, "368.15 K", 368.15, true},
		{difference, "18 degF", 10, true},
		{difference, "10 °C", 10, true},
		{difference, "10 K", 10, true},
		{duration, "30 d", 2592000, true},
		{duration, "1.5 h", 5400, true},
		{duration, "1.5 hr", 5400, true},
		{duration, "2 min", 120, true},
		{duration, "1 yr", 31557600, true},
		{power, "150 kW", 150000, true},
		{apparent, "150 kVA", 150000, true},
		{voltage, "0.48 kV", 480, true},
		{current, "25 A", 25, true},
		{resistivity, "25 ohm*m", 25, true},
		{resistivity, "25 ohm-m", 25, true},
		{resistivity, "2500 ohm-cm", 25, true},
		{flux, "8.64 m/d", 1e-4, true},
		{flux, "36 mm/h", 1e-5, true},
		{flux, "0.01 cm/s", 1e-4, true},
		{flow, "3.6 m3/h", 1e-3, true},
		{flow, "3.6 L/h", 1e-6, true},
		{flow, "2 L/s", 2e-3, true},
		{pressure, "0.9 bar", 90000, true},
		{pressure, "300 mbar", 30000, true},
		{resistivity, "25 Ω·m", 25, true},
		{resistivity, "25 \u2126·m", 25, true},
		{resistivity, "25 ohm m", 25, true},
		{resistivity, "25 m*ohm", 25, true},
		{resistivity, "100 ohm*ft", 30.48, true},
		{contact, "0.5 ohm*m²", 0.5, true},
		{conductivity, "1.6 W/m/K", 1.6, true},
		{conductivity, "1.6 W/(m·K)", 1.6, true},
		{conductivity, "1.6 W/m-K", 1.6, true},
		{conductivity, "1.6 W/m/°C", 1.6, true},
		{conductivity, "1 BTU/h/ft/degF", 1.730735, false},
		{conductivity, "1 BTU/(h·ft·°F)", 1.730735, false},
		{conductivity, "1 Btu/hr-ft-F", 1.730735, false},
		{capacity, "2.9 MJ/m3/K", 2.9e6, true},
		{capacity, "2.9 MJ/(m³·K)", 2.9e6, true},
		{capacity, "1 BTU/ft3/degF", 67066.10, false},
		{insulation, "1 m2*K/W", 1, true},
		{insulation, "1 m²·K/W", 1, true},
		{insulation, "1 ft2*h*degF/BTU", 0.1761102, false},
		{insulation, "1 ft²·h·°F/BTU", 0.1761102, false},
		{film, "12 W/m2/K", 12, true},
		{film, "1 BTU/h/ft2/degF", 5.678263, false},
		{flux, "1 ft/d", 0.3048 / 86400, false},
		{flux, "31557600 m/yr", 1, true},
		{flux, "1 in/d", 0.0254 / 86400, false},
		{flux, "86.4 mm/d", 1e-6, true},
		{flow, "1 gpm", 6.309020e-5, false},
		{flow, "60 L/min", 1e-3, true},
		{pressure, "1 psi", 6894.757, false},
		{pressure, "1 inHg", 3386.389, false},
		{pressure, "1 inH2O", 249.0889, false},
		{pressure, "101.325 kPa", 101325, true},
		{perKelvin, "0.0187 1/K", 0.0187, true},
		{perKelvin, "0.0187 1/°C", 0.0187, true},
		{perKelvin, "0.01 1/degF", 0.018, true},
		{rate, "0.02 1/d", 0.02 / 86400, false},
		{rate, "3600 1/h", 1, true},
		{rate, "2 1/s", 2, true},
		{rate, "31557600 1/yr", 1, true},
		{angle, "180 deg", math.Pi, false},
	} {
		got, _, err := c.dim.parse(c.text)
		if err != nil {
			t.Errorf("parse(%q) as %s: %v", c.text, c.dim.name, err)
			continue
		}
		if c.exact && got != c.want {
			t.Errorf("parse(%q) as %s = %.17g, want exactly %.17g", c.text, c.dim.name, got, c.want)
		}
		if rel := math.Abs(got/c.want - 1); rel > 5e-7 {
			t.Errorf("parse(%q) as %s = %.9g, want %.9g within 5e-7", c.text, c.dim.name, got, c.want)
		}
	}
}

// TestUnitsRefused: what is not a finite number with a unit of the dimension.
func TestUnitsRefused(t *testing.T) {
	for _, c := range []struct {
		dim  *dimension
		text string
	}{
		{length, ""}, {length, "ft"}, {length, "12"}, {length, "nan m"}, {length, "inf m"}, {length, "1e999 m"},
		{length, "12 ft2"}, {length, "12 FT"}, {length, "1,000 ft"}, {length, "0x10 m"}, {length, "1_000 m"},
		{length, "7 ft 6"}, {length, "7 ft -6 in"}, {length, "12 m/"}, {length, "12 *m"}, {length, "12 ()"},
		{length, "1/2 in"}, {length, "12 Ω"}, {length, strings.Repeat("9", 200) + " m"}, {length, "12 m m"},
		{temperature, "95 °"}, {temperature, "95 1/K"}, {resistivity, "4 S/m"}, {resistivity, "4 mS/cm"},
		{rate, "0.02"}, {rate, "0.02 d"}, {power, "3 kVA"},
	} {
		if got, _, err := c.dim.parse(c.text); err == nil {
			t.Errorf("parse(%q) as %s = %g, want it refused", c.text, c.dim.name, got)
		}
	}
}

// TestUnitsRoundTrip: what format writes, parse reads back to the same bits,
// for numbers of any length.
func TestUnitsRoundTrip(t *testing.T) {
	for _, d := range dimensions {
		for _, x := range []float64{0, 1, 0.3048, 1.0 / 3, math.Pi * 1e5, 1e-9, 6.048e6, 1.5e12, 273.15 + 1.0/7} {
			text := d.format(x)
			if back, _, err := d.parse(text); err != nil || back != x {
				t.Errorf("%s: format(%.17g) = %q, parse of that = %.17g, %v", d.name, x, text, back, err)
			}
		}
	}
}

// TestUnitsDistinct: no two units of a dimension read alike, and the first is
// the SI unit.
func TestUnitsDistinct(t *testing.T) {
	for _, d := range dimensions {
		seen := map[string]string{}
		for i, u := range d.units {
			if other, ok := seen[canonical(u.name)]; ok {
				t.Errorf("%s: %s reads as %s", d.name, u.name, other)
			}
			seen[canonical(u.name)] = u.name
			if i == 0 && (u.factor != 1 || u.shift != 0) {
				t.Errorf("%s: the first unit %s has factor %g, shift %g, want 1 and 0", d.name, u.name, u.factor, u.shift)
			}
		}
		for _, ask := range d.ask {
			if _, ok := d.find(ask); !ok {
				t.Errorf("%s: proposes unit %s, which it does not have", d.name, ask)
			}
		}
	}
}
