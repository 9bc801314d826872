package main

import (
	"fmt"
	"math"
	"strconv"

	"soiljoule/cases"
	"soiljoule/materials"
)

// units prints quantities in both systems, the case's own first.
type units struct{ us bool }

func unitsOf(c *cases.Case) units { return units{c.Output.Units == "us"} }

func (u units) pair(us, si string) string {
	if u.us {
		return us + " (" + si + ")"
	}
	return si + " (" + us + ")"
}

// temperature prints kelvin.
func (u units) temperature(k float64) string {
	c := k - materials.Celsius
	return u.pair(fmt.Sprintf("%.4g °F", c*1.8+32), fmt.Sprintf("%.4g °C", c))
}

// tenths prints a temperature [°C] with one decimal.
func (u units) tenths(c float64) string {
	return u.pair(fmt.Sprintf("%.1f °F", c*1.8+32), fmt.Sprintf("%.1f °C", c))
}

// layerHeads are heads of the table of layers: of the boiling points, and of what is at
// 100 °C, in two lines.
func (u units) layerHeads() (boils, hot, orHot string) {
	if u.us {
		return "boils at °F (°C)", "212 °F", "(100 °C)"
	}
	return "boils at °C (°F)", "100 °C", "(212 °F)"
}

// length prints metres.
func (u units) length(m float64) string {
	m = unrounded(m)
	return u.pair(fmt.Sprintf("%.4g ft", m/cases.Foot), fmt.Sprintf("%.4g m", m))
}

// unrounded returns a length without what is only the rounding of places, nor the sign of
// a zero.
func unrounded(m float64) float64 {
	if math.Abs(m) < 1e-9 {
		return 0
	}
	return m
}

// grouped prints v to so many significant digits, of ten thousand or more in groups of
// three.
func grouped(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) < 1000 {
		return fmt.Sprintf("%.*g", digits, v)
	}
	// Rounded to its digits, then written without an exponent.
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if math.Abs(v) < 10000 {
		return s
	}
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

// seconds prints a time that someone waits.
func seconds(s float64) string {
	switch {
	case s < 90:
		return fmt.Sprintf("%.2g s", s)
	case s < 90*60:
		return fmt.Sprintf("%.2g min", s/60)
	case s < 90*3600:
		return fmt.Sprintf("%.2g h", s/3600)
	}
	return fmt.Sprintf("%.0f d", s/86400)
}

// step prints a step voltage, in volts over one metre.
func (u units) step(perM float64) string {
	return u.pair(fmt.Sprintf("%.3g V/ft", perM*cases.Foot), fmt.Sprintf("%.3g V/m", perM)) + " over 1 m"
}

// density prints kWh per m³.
func (u units) density(perM3 float64) string {
	return u.pair(fmt.Sprintf("%.4g kWh/yd3", perM3*yard3), fmt.Sprintf("%.4g kWh/m3", perM3))
}

// volume prints m³.
func (u units) volume(m3 float64) string {
	return u.pair(fmt.Sprintf("%.4g yd3", m3/yard3), fmt.Sprintf("%.4g m3", m3))
}

const yard3 = cases.CubicYard // [m³]

// speed writes a speed [m/d] in the case's units, and in the others.
func (u units) speed(v float64) string {
	if u.us {
		return fmt.Sprintf("%.3g ft/d (%.3g m/d)", v/cases.Foot, v)
	}
	return fmt.Sprintf("%.3g m/d (%.3g ft/d)", v, v/cases.Foot)
}

// rain prints a flux of v [m/d] as rain gauges have it.
func (u units) rain(v float64) string {
	if u.us {
		return fmt.Sprintf("%.3g in/d (%.3g mm/d)", v/cases.Inch, v*1e3)
	}
	return fmt.Sprintf("%.3g mm/d (%.3g in/d)", v*1e3, v/cases.Inch)
}

// between prints a range of depths.
func (u units) between(a, b float64) string {
	a, b = unrounded(a), unrounded(b)
	if u.us {
		return fmt.Sprintf("%.3g–%.3g ft (%.3g–%.3g m)", a/cases.Foot, b/cases.Foot, a, b)
	}
	return fmt.Sprintf("%.3g–%.3g m (%.3g–%.3g ft)", a, b, a/cases.Foot, b/cases.Foot)
}
