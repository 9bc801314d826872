package hand

import (
	"math"
	"strconv"

	"soiljoule/cases"
	"soiljoule/materials"
)

// measure is how a quantity is printed: number = SI × factor + shift.
type measure struct {
	si, us            string
	factorSI, shiftSI float64
	factorUS, shiftUS float64
}

// same is a measure whose unit serves both systems.
func same(unit string, factor float64) measure { return measure{unit, unit, factor, 0, factor, 0} }

// both is a measure with one unit a system.
func both(si string, factorSI float64, us string, factorUS float64) measure {
	return measure{si, us, factorSI, 0, factorUS, 0}
}

const (
	days  = 86400.0           // [s] a day
	hour  = 3600.0            // [s]
	kWh   = 3.6e6             // [J]
	foot  = cases.Foot        // [m]
	yard3 = cases.CubicYard   // [m³]
	btu   = cases.BTU         // [J]
	degF  = cases.Fahrenheit  // [K]
	gpm   = cases.Gallon / 60 // [m³/s]
	zeroC = materials.Celsius // [K]
)

var (
	plainNumber    = same("-", 1)
	percent        = same("%", 100)
	metres         = both("m", 1, "ft", 1/foot)
	smallMetres    = both("m", 1, "in", 12/foot)
	squareMetres   = both("m2", 1, "ft2", 1/(foot*foot))
	cubicMetres    = both("m3", 1, "yd3", 1/yard3)
	celsius        = measure{"°C", "°F", 1, -zeroC, 1.8, -459.67}
	kelvins        = both("K", 1, "°F", 1.8)
	inDays         = same("d", 1/days)
	volts          = same("V", 1)
	amperes        = same("A", 1)
	ohms           = same("ohm", 1)
	ohmMetres      = both("ohm*m", 1, "ohm*ft", 1/foot)
	amperesAMetre  = both("A/m", 1, "A/ft", foot)
	wattsAMetre    = both("W/m", 1, "W/ft", foot)
	kilowatts      = same("kW", 1e-3)
	perVolume      = both("W/m3", 1, "W/yd3", yard3)
	wattsASquare   = both("W/m2", 1, "BTU/h/ft2", hour*foot*foot/btu)
	heatConduction = both("W/m/K", 1, "BTU/h/ft/degF", hour*foot*degF/btu)
	heatStore      = both("MJ/m3/K", 1e-6, "BTU/ft3/degF", foot*foot*foot*degF/btu)
	resistance     = both("m2*K/W", 1, "ft2*h*degF/BTU", btu/(foot*foot*hour*degF))
	filmRate       = both("W/m2/K", 1, "BTU/h/ft2/degF", hour*foot*foot*degF/btu)
	perKelvin      = both("1/K", 1, "1/degF", degF)
	energyKWh      = both("kWh", 1/kWh, "MMBTU", 1/(1e6*btu))
	heatPerVolume  = both("kWh/m3", 1/kWh, "kWh/yd3", yard3/kWh)
	waterFlux      = both("m/yr", 365.25*days, "ft/d", days/foot)
	waterFlow      = both("L/min", 60e3, "gpm", 1/gpm)
	pascals        = both("kPa", 1e-3, "inHg", 1/cases.InchOfHg)
	massPerVolume  = both("kg/m3", 1, "lb/yd3", yard3/cases.Pound)
)

// in converts v [SI] to both systems, to twelve digits; nil for what is not finite.
func (m measure) in(v float64) (si, us *float64) {
	a, b := v*m.factorSI+m.shiftSI, v*m.factorUS+m.shiftUS
	if !finite(a) || !finite(b) {
		return nil, nil
	}
	a, b = twelve(a), twelve(b)
	return &a, &b
}

// twelve rounds to twelve digits: 212 °F and not 211.99999999999994.
func twelve(x float64) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 11, 64), 64)
	if err != nil {
		return x
	}
	return y
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// value is v [SI] under a name.
func (m measure) value(name string, v float64) Value {
	si, us := m.in(v)
	return Value{Name: name, SI: si, Unit: m.si, US: us, UnitUS: m.us}
}
