package cases

import (
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"soiljoule/materials"
)

// Exact factors to SI, by definition of the unit.
//
// Source: NIST Special Publication 811 (2008), Appendix B.8, from memory; the
// BTU is that of the International Table. Conventional inches of mercury and of
// water are given there to seven digits.
const (
	Foot       = 0.3048             // [m]
	Inch       = Foot / 12          // [m]
	Yard       = 3 * Foot           // [m]
	CubicYard  = Yard * Yard * Yard // [m³]
	Pound      = 0.45359237         // [kg]
	BTU        = 1055.05585262      // [J]
	Gallon     = 3.785411784e-3     // [m³] US liquid
	InchOfHg   = 3386.389           // [Pa] conventional
	Fahrenheit = 5.0 / 9.0          // [K] a degree of it

	inH2O = 249.0889          // [Pa] conventional
	psi   = 6894.757293168361 // [Pa]
	hour  = 3600.0            // [s]
	day   = 86400.0           // [s]
	year  = 365.25 * day      // [s] the Julian year
	zeroC = materials.Celsius // [K]
	zeroF = 459.67            // [degF] from absolute zero to 0 °F
)

// unit is one unit of a dimension: SI value = (number + shift) × factor.
type unit struct {
	name          string // as messages and listings write it
	factor, shift float64
}

// dimension is what a quantity measures.
type dimension struct {
	name   string   // "length"
	phrase string   // "a length"
	units  []unit   // the first is the SI unit, of factor 1
	ask    []string // the units that a message proposes, customary first
	print  string   // the unit that a case is written in; the SI unit if empty
}

var (
	length = &dimension{name: "length", phrase: "a length", ask: []string{"ft", "m"}, units: []unit{
		{"m", 1, 0}, {"cm", 0.01, 0}, {"mm", 0.001, 0}, {"ft", Foot, 0}, {"in", Inch, 0}, {"yd", Yard, 0}}}
	temperature = &dimension{name: "temperature", phrase: "a temperature", ask: []string{"degF", "degC"}, units: []unit{
		{"K", 1, 0}, {"degC", 1, zeroC}, {"degF", Fahrenheit, zeroF}}}
	difference = &dimension{name: "temperature difference", phrase: "a temperature difference", ask: []string{"degF", "K"}, units: []unit{
		{"K", 1, 0}, {"degC", 1, 0}, {"degF", Fahrenheit, 0}}}
	duration = &dimension{name: "time", phrase: "a time", ask: []string{"d"}, print: "d", units: []unit{
		{"s", 1, 0}, {"min", 60, 0}, {"h", hour, 0}, {"d", day, 0}, {"yr", year, 0}}}
	power = &dimension{name: "power", phrase: "a power", ask: []string{"kW"}, print: "kW", units: []unit{
		{"W", 1, 0}, {"kW", 1000, 0}}}
	apparent = &dimension{name: "apparent power", phrase: "an apparent power", ask: []string{"kVA"}, units: []unit{
		{"VA", 1, 0}, {"kVA", 1000, 0}}}
	voltage = &dimension{name: "voltage", phrase: "a voltage", ask: []string{"V"}, units: []unit{
		{"V", 1, 0}, {"kV", 1000, 0}}}
	current = &dimension{name: "current", phrase: "a current", ask: []string{"A"}, units: []unit{
		{"A", 1, 0}}}
	resistivity = &dimension{name: "resistivity", phrase: "a resistivity", ask: []string{"ohm*m"}, units: []unit{
		{"ohm*m", 1, 0}, {"ohm*cm", 0.01, 0}, {"ohm*ft", Foot, 0}}}
	contact = &dimension{name: "contact resistance", phrase: "a contact resistance", ask: []string{"ohm*m2"}, units: []unit{
		{"ohm*m2", 1, 0}, {"ohm*ft2", Foot * Foot, 0}}}
	conductivity = &dimension{name: "thermal conductivity", phrase: "a thermal conductivity", ask: []string{"BTU/h/ft/degF", "W/m/K"}, units: []unit{
		{"W/m/K", 1, 0}, {"BTU/h/ft/degF", BTU / hour / Foot / Fahrenheit, 0}}}
	capacity = &dimension{name: "heat capacity", phrase: "a heat capacity", ask: []string{"BTU/ft3/degF", "MJ/m3/K"}, print: "MJ/m3/K", units: []unit{
		{"J/m3/K", 1, 0}, {"MJ/m3/K", 1e6, 0}, {"BTU/ft3/degF", BTU / (Foot * Foot * Foot) / Fahrenheit, 0}}}
	insulation = &dimension{name: "thermal resistance", phrase: "a thermal resistance", ask: []string{"ft2*h*degF/BTU", "m2*K/W"}, units: []unit{
		{"m2*K/W", 1, 0}, {"ft2*h*degF/BTU", Foot * Foot * hour * Fahrenheit / BTU, 0}}}
	film = &dimension{name: "film coefficient", phrase: "a film coefficient", ask: []string{"BTU/h/ft2/degF", "W/m2/K"}, units: []unit{
		{"W/m2/K", 1, 0}, {"BTU/h/ft2/degF", BTU / hour / (Foot * Foot) / Fahrenheit, 0}}}
	flux = &dimension{name: "water flux", phrase: "a water flux", ask: []string{"ft/d", "m/yr"}, units: []unit{
		{"m/s", 1, 0}, {"m/yr", 1 / year, 0}, {"ft/d", Foot / day, 0}, {"in/d", Inch / day, 0}, {"m/d", 1 / day, 0}, {"mm/d", 1e-3 / day, 0}, {"mm/h", 1e-3 / hour, 0}, {"cm/s", 0.01, 0}}}
	flow = &dimension{name: "flow", phrase: "a flow", ask: []string{"gpm", "L/min"}, print: "L/min", units: []unit{
		{"m3/s", 1, 0}, {"m3/h", 1 / hour, 0}, {"L/s", 1e-3, 0}, {"L/min", 1e-3 / 60, 0}, {"L/h", 1e-3 / hour, 0}, {"gpm", Gallon / 60, 0}}}
	pressure = &dimension{name: "pressure", phrase: "a pressure", ask: []string{"psi", "kPa"}, units: []unit{
		{"Pa", 1, 0}, {"kPa", 1000, 0}, {"bar", 1e5, 0}, {"mbar", 100, 0}, {"psi", psi, 0}, {"inHg", InchOfHg, 0}, {"inH2O", inH2O, 0}}}
	perKelvin = &dimension{name: "temperature coefficient", phrase: "a share per degree", ask: []string{"1/degF", "1/K"}, units: []unit{
		{"1/K", 1, 0}, {"1/degF", 1 / Fahrenheit, 0}}}
	rate = &dimension{name: "rate", phrase: "a rate in pore volumes per time", ask: []string{"1/d"}, print: "1/d", units: []unit{
		{"1/s", 1, 0}, {"1/h", 1 / hour, 0}, {"1/d", 1 / day, 0}, {"1/yr", 1 / year, 0}}}
	angle = &dimension{name: "angle", phrase: "an angle", ask: []string{"deg"}, print: "deg", units: []unit{
		{"rad", 1, 0}, {"deg", math.Pi / 180, 0}}}
	area = &dimension{name: "area", phrase: "an area", ask: []string{"ft2", "m2"}, units: []unit{
		{"m2", 1, 0}, {"ft2", Foot * Foot, 0}, {"yd2", Yard * Yard, 0}}}
	volume = &dimension{name: "volume", phrase: "a volume", ask: []string{"yd3", "m3"}, units: []unit{
		{"m3", 1, 0}, {"yd3", Yard * Yard * Yard, 0}, {"ft3", Foot * Foot * Foot, 0}}}
	powerDensity = &dimension{name: "power density", phrase: "a power per volume", ask: []string{"W/yd3", "W/m3"}, units: []unit{
		{"W/m3", 1, 0}, {"W/yd3", 1 / (Yard * Yard * Yard), 0}}}
)

// dimensions in the order of `keys units`.
var dimensions = []*dimension{length, temperature, difference, duration, power, apparent, voltage, current,
	resistivity, contact, conductivity, capacity, insulation, film, flux, flow, pressure, perKelvin, rate, angle, area, volume, powerDensity}

// find returns the unit that is spelled so, in any of the accepted spellings.
func (d *dimension) find(spelling string) (unit, bool) {
	want := canonical(spelling)
	for pass := 0; pass < 2; pass++ {
		for _, u := range d.units {
			if canonical(u.name) == want {
				return u, true
			}
		}
		// "W/m-K" and "BTU/h·ft·°F" as commonly printed: what follows the bar
		// is all below it. The key's dimension leaves no other reading.
		if head, tail, ok := strings.Cut(tidy(spelling), "/"); ok {
			want = canonical(head + "/" + strings.ReplaceAll(tail, "*", "/"))
		}
	}
	return unit{}, false
}

// names returns the dimension's units as prose: "m, cm, mm, ft, in or yd".
func (d *dimension) names() string {
	names := make([]string, len(d.units))
	for i, u := range d.units {
		names[i] = u.name
	}
	return list(names, "or")
}

// examples returns a number with each of the proposed units: "12 ft" or "12 m".
func (d *dimension) examples(number string) string {
	texts := make([]string, len(d.ask))
	for i, u := range d.ask {
		texts[i] = `"` + number + " " + u + `"`
	}
	return list(texts, "or")
}

// toSI converts x in unit u. A conversion is rounded to 13 significant digits,
// so that a case in feet and °F and the same case in metres and °C give equal
// bits; a number already in the SI unit is kept as it is.
func (u unit) toSI(x float64) float64 {
	if u.factor == 1 && u.shift == 0 {
		return x
	}
	return round13((x + u.shift) * u.factor)
}

// fromSI is the inverse of toSI.
func (u unit) fromSI(v float64) float64 {
	if u.factor == 1 && u.shift == 0 {
		return v
	}
	return round13(v/u.factor - u.shift)
}

// round13 rounds x to 13 significant digits.
func round13(x float64) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 12, 64), 64)
	if err != nil { // only by overflow, and an infinite x is refused by the caller
		return x
	}
	return y
}

// spellings rewrites what people type into the plain signs of the unit names.
var spellings = strings.NewReplacer(
	"·", "*", "⋅", "*", "×", "*", "•", "*", "-", "*", "^", "",
	"²", "2", "³", "3", "Ω", "ohm", "\u2126", "ohm", "Ohms", "ohm", "Ohm", "ohm", "ohms", "ohm",
	"℃", "degC", "℉", "degF", "°", "deg", "º", "deg", "˚", "deg")

// brackets matches a bracketed denominator, as in W/(m·K).
var brackets = regexp.MustCompile(`/\(([^()]*)\)`)

// tidy returns a unit in plain signs, without spaces or brackets.
func tidy(s string) string {
	s = spellings.Replace(s)
	var b strings.Builder
	for _, word := range strings.Fields(s) {
		before := b.String()
		joined := before == "" || strings.HasSuffix(before, "deg") || strings.ContainsAny(before[len(before)-1:], "*/(") ||
			strings.ContainsAny(word[:1], "*/)")
		if !joined {
			b.WriteByte('*')
		}
		b.WriteString(word)
	}
	return brackets.ReplaceAllStringFunc(b.String(), func(m string) string {
		return "/" + strings.ReplaceAll(m[2:len(m)-1], "*", "/")
	})
}

// canonical returns a unit's tidy spelling with its factors in one order and
// each factor in one spelling, so that equal units are equal strings.
func canonical(s string) string {
	var above, below []string
	bars := strings.Split(tidy(s), "/")
	for i, part := range bars {
		for j, f := range strings.Split(part, "*") {
			switch f {
			case "": // "m/" is no unit, nor equal to one
				f = "?"
			case "hr":
				f = "h"
			case "Btu":
				f = "BTU"
			case "C", "degC":
				f = "degC"
				if len(bars) > 1 {
					f = "K" // below a bar a degree Celsius is a kelvin
				}
			case "F":
				f = "degF"
			}
			if i > 0 && j == 0 {
				below = append(below, f)
			} else {
				above = append(above, f)
			}
		}
	}
	sort.Strings(above)
	sort.Strings(below)
	return strings.Join(above, "*") + "/" + strings.Join(below, "/")
}

const number = `(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?`

var (
	numberUnit = regexp.MustCompile(`^([+-]?` + number + `)\s*(\S.*)?$`)
	feetInches = regexp.MustCompile(`^([+-]?)(` + number + `)\s*ft\s*(` + number + `)\s*in$`)
)

// plain trims s and gives it an ASCII minus sign.
func plain(s string) string {
	return strings.ReplaceAll(strings.TrimSpace(s), "−", "-")
}

// parse reads a number with its unit, such as "18 ft" or "7 ft 6 in", and
// returns it in SI units, with the unit it was given in. The error says what is
// allowed instead.
func (d *dimension) parse(text string) (float64, unit, error) {
	const longest = 100 // more than any number and unit; keeps a hostile file cheap
	s := plain(text)
	if len(s) > longest {
		return 0, unit{}, fmt.Errorf("must be %s such as %s", d.phrase, d.examples("12"))
	}
	if m := feetInches.FindStringSubmatch(s); m != nil && d == length {
		ft, err1 := strconv.ParseFloat(m[2], 64)
		in, err2 := strconv.ParseFloat(m[3], 64)
		v := round13(ft*Foot + in*Inch)
		if err1 != nil || err2 != nil || math.IsInf(v, 0) {
			return 0, unit{}, fmt.Errorf("must be a finite number")
		}
		if m[1] == "-" {
			v = -v
		}
		return v, unit{"ft", Foot, 0}, nil
	}
	m := numberUnit.FindStringSubmatch(s)
	if m == nil {
		return 0, unit{}, fmt.Errorf("must be %s, a number and its unit, such as %s", d.phrase, d.examples("12"))
	}
	x, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, unit{}, fmt.Errorf("must be a finite number")
	}
	if m[2] == "" {
		return 0, unit{}, fmt.Errorf("needs its unit: write %s", d.examples(m[1]))
	}
	if strings.HasPrefix(m[2], ",") {
		return 0, unit{}, fmt.Errorf("must have a point for decimals and no other separator, as in %s", d.examples("1234.5"))
	}
	u, ok := d.find(m[2])
	if !ok {
		return 0, unit{}, d.refuse(x, m[2])
	}
	v := u.toSI(x)
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, unit{}, fmt.Errorf("must be a finite number")
	}
	return v, u, nil
}

// refuse says why x in this unit is not of dimension d.
func (d *dimension) refuse(x float64, spelling string) error {
	if d == resistivity && canonical(spelling) == canonical("S/m") && x > 0 {
		return fmt.Errorf("is a conductivity; its reciprocal is the resistivity: write %q", about(1/x)+" ohm*m")
	}
	if d == power {
		if _, ok := apparent.find(spelling); ok {
			return fmt.Errorf("is an apparent power; must be a power in %s", d.names())
		}
	}
	for _, other := range dimensions {
		if _, ok := other.find(spelling); ok {
			return fmt.Errorf("is %s; must be %s in %s", other.phrase, d.phrase, d.names())
		}
	}
	if d == length && strings.ContainsAny(spelling, "'\"′″’”") {
		return fmt.Errorf("has marks for feet or inches; write them as in \"7 ft 6 in\"")
	}
	return fmt.Errorf("unit %s is not known; must be %s in %s", oneLine(spelling), d.phrase, d.names())
}

// format writes v [SI] with the shortest digits that parse reads back to the
// same bits: in the dimension's printing unit where that is exact, else in SI.
func (d *dimension) format(v float64) string {
	if d.print != "" {
		if u, ok := d.find(d.print); ok {
			// Twelve digits first: a value that a person wrote comes back as written.
			for _, number := range []string{strconv.FormatFloat(u.fromSI(v), 'g', 12, 64), digits(u.fromSI(v))} {
				text := number + " " + u.name
				if back, _, err := d.parse(text); err == nil && back == v {
					return text
				}
			}
		}
	}
	return digits(v) + " " + d.units[0].name
}
