package cases

import (
	"math"
	"strconv"
	"strings"
)

// Quantity is what a number measures, and so the units it may be given in.
type Quantity string

// The quantities of an [Input]. OfNumber and OfShare have no unit; a share may be
// given in per cent.
const (
	OfNumber       Quantity = "number"
	OfShare        Quantity = "share"
	OfLength       Quantity = "length"
	OfArea         Quantity = "area"
	OfVolume       Quantity = "volume"
	OfTemperature  Quantity = "temperature"
	OfTime         Quantity = "time"
	OfPower        Quantity = "power"
	OfPowerDensity Quantity = "power density"
	OfVoltage      Quantity = "voltage"
	OfResistivity  Quantity = "resistivity"
	OfConductivity Quantity = "thermal conductivity"
	OfHeatCapacity Quantity = "heat capacity"
	OfInsulation   Quantity = "thermal resistance"
	OfFilm         Quantity = "film coefficient"
	OfWaterFlux    Quantity = "water flux"
	OfFlow         Quantity = "flow"
	OfPressure     Quantity = "pressure"
	OfPerKelvin    Quantity = "temperature coefficient"
)

// dimension returns the quantity's dimension, nil if it has no unit.
func (q Quantity) dimension() *dimension {
	for _, d := range dimensions {
		if d.name == string(q) {
			return d
		}
	}
	return nil
}

// Text writes v [SI] as a value of the quantity that reads back to the same bits:
// "4.2672 m".
func (q Quantity) Text(v float64) string {
	if d := q.dimension(); d != nil {
		return d.format(v)
	}
	return digits(v)
}

// Input declares one value that a command takes as name=value, in the way a key of
// the case file is declared: the same units, ranges and messages.
type Input struct {
	Name      string
	Of        Quantity
	Words     []string // one of these instead of a number; Of is then ""
	Wholes    []int    // one of these whole numbers; Of is then ""
	Word      string   // a word allowed in place of the number: it reads as +Inf
	Unit      string   // of the range; "" for a bare number
	Low, High float64  // the range, in Unit
	Above     bool     // Low itself is not allowed
	Default   string   // as a user would write it
	Left      string   // where there is no default: what leaving it out means; "": it is required
	Meaning   string
}

// key returns the declaration that reads the input.
func (in *Input) key() *key {
	k := &key{path: in.Name, unit: in.Unit, span: span{lo: in.Low, hi: in.High, above: in.Above, set: true},
		required: in.Default == "" && in.Left == "", def: in.Default, left: in.Left, meaning: in.Meaning}
	switch d := in.Of.dimension(); {
	case in.Words != nil:
		k.kind = wordKind(in.Words)
	case in.Wholes != nil:
		k.kind = wholeKind(in.Wholes)
	case in.Of == OfShare:
		k.kind = shareKind{}
	case d == nil:
		k.kind = bareKind{}
	default:
		k.kind = quantity{dim: d, word: in.Word}
	}
	return k
}

// Columns returns the input's row of a listing: name, unit, default, range, meaning.
func (in *Input) Columns() []string { return in.key().columns() }

// Values are inputs as read, by name.
type Values struct {
	command string
	number  map[string]float64
	word    map[string]string
	text    map[string]string // as given
}

// Number returns a number [SI]; NaN where an input without a default was left out.
// A whole number is a number too.
func (v *Values) Number(name string) float64 { return v.number[name] }

// Word returns a word.
func (v *Values) Word(name string) string { return v.word[name] }

// Given reports whether the input was given, and not left to its default.
func (v *Values) Given(name string) bool { _, ok := v.text[name]; return ok }

// Text returns the input as it was given, "" if it was not.
func (v *Values) Text(name string) string { return v.text[name] }

// Fault is a fault of an input that was read, in the shape of the others. One that
// was left out has no value to show.
func (v *Values) Fault(name, allowed string) Fault {
	return Fault{File: v.command, Key: name, Given: oneLineOr(v.text[name]), Allowed: allowed}
}

// longestInput [bytes] is more than any value, and keeps a hostile one cheap.
const longestInput = 200

// ReadInputs reads the arguments of a command, each name=value, with every default
// filled in. The faults are all there are, in the order of the arguments and then of
// the inputs that are missing; the values read without one are there all the same,
// the others NaN or "". The command's name opens each message.
func ReadInputs(command string, inputs []Input, args []string) (*Values, Faults) {
	v := &Values{command: command, number: map[string]float64{}, word: map[string]string{}, text: map[string]string{}}
	l := &loader{file: command, c: &Case{}, pos: &positions{values: map[string]string{}}}
	names := make([]string, len(inputs))
	byName := map[string]*Input{}
	for i := range inputs {
		names[i] = inputs[i].Name
		byName[names[i]] = &inputs[i]
	}
	for _, arg := range args {
		name, text, ok := strings.Cut(arg, "=")
		name = strings.TrimSpace(name)
		in := byName[name]
		switch {
		case !ok:
			l.add(Fault{File: command, Key: oneLineOr(arg), Allowed: `is no input: write name=value, such as ` + example(inputs)})
		case in == nil:
			l.add(Fault{File: command, Key: show(name), Allowed: "unknown input;" + nearestOf(name, names) + " inputs are " + strings.Join(names, ", ")})
		case v.Given(name):
			l.add(Fault{File: command, Key: name, Given: oneLine(text), Allowed: "is given twice"})
		case len(text) > longestInput:
			v.text[name], v.number[name] = text, nan
			l.add(Fault{File: command, Key: name, Given: oneLine(text), Allowed: "is too long"})
		default:
			v.text[name], l.pos.values[name] = text, text
			v.read(l, in, setting(strings.TrimSpace(text)))
		}
	}
	for i := range inputs {
		in := &inputs[i]
		k := in.key()
		switch {
		case v.Given(in.Name):
		case k.required:
			l.add(Fault{File: command, Key: in.Name, Allowed: "is missing; must be " + k.kind.wants(k)})
			v.number[in.Name] = nan
		case in.Default != "":
			v.read(l, in, setting(in.Default))
		default:
			v.number[in.Name] = nan
		}
	}
	for i := range l.faults {
		l.faults[i].Line = 0 // a command line has none
	}
	return v, l.faults
}

// read reads one input; what is refused stays NaN or "".
func (v *Values) read(l *loader, in *Input, raw any) {
	k := in.key()
	from := input{l: l, key: k, path: in.Name, loc: in.Name, raw: raw}
	switch kind := k.kind.(type) {
	case wordKind:
		word := ""
		k.kind.read(from, &word)
		v.word[in.Name] = word
	case wholeKind:
		n := math.MinInt
		k.kind.read(from, &n)
		if v.number[in.Name] = float64(n); n == math.MinInt {
			v.number[in.Name] = nan
		}
	default:
		x := nan
		if q, ok := kind.(quantity); ok && q.word != "" {
			k.kind.read(from, worded{number: &x, blank: inf})
		} else {
			k.kind.read(from, &x)
		}
		v.number[in.Name] = x
	}
}

// example shows how the first input would be written.
func example(inputs []Input) string {
	in := &inputs[0]
	switch d := in.Of.dimension(); {
	case in.Words != nil:
		return in.Name + "=" + in.Words[0]
	case in.Wholes != nil:
		return in.Name + "=" + strconv.Itoa(in.Wholes[0])
	case d != nil:
		return in.Name + `="12 ` + d.ask[0] + `"`
	}
	return in.Name + "=0.5"
}
